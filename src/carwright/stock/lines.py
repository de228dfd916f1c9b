"""Cutting strips, rods and wires: pieces out of bars at the least cost, then least waste, then the longest offcut.

A bar of length L, squared at both ends, gives the pieces p1 ... pn where p1 + ... + pn + k (n - 1) <= L - 2 s: the last
cut may fall on the end. What is left behind the last cut is the offcut.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from carwright.lengths import Units
from carwright.problems import InputError, Problem
from carwright.stock.packs import in_packs
from carwright.stock.purchases import widen
from carwright.stock.records import (
    BarLayout,
    LengthPiece,
    LengthPlan,
    LengthStock,
    PlacedLength,
    Purchase,
    Stage,
    Status,
)
from carwright.stock.whole import (
    MOST_PIECES,
    bad_kerf,
    bad_length,
    bad_quantity,
    bad_stock,
    bad_time,
    both_units,
    whole_costs,
    whole_lengths,
)
from carwright.stock.work import Work

if TYPE_CHECKING:
    from carwright.stock.columns import BarProblem

__all__ = ["cut_lengths"]


def cut_lengths(
    pieces: Sequence[LengthPiece],
    stocks: Sequence[LengthStock],
    *,
    kerf_mm: float = 0.0,
    squaring_mm: float = 0.0,
    keep_mm: float = 0.0,
    time: float = 10.0,
    watch: Callable[[], bool] | None = None,
    deadline_ms: Callable[[], int] | None = None,
    units: Units = "mm",
) -> LengthPlan:
    """Return how to cut ``pieces`` from ``stocks``: least cost, then least waste, then the longest offcut.

    The same input gives the same plan. Only the first aim is proven as a rule; the other two carry their own bounds.

    Args:
        pieces: what is wanted, at most 20 000 in all.
        stocks: what there is; where none has a cost, the length of stock taken is minimised instead.
        kerf_mm: width of the cut, >= 0; 0 for a knife or shear.
        squaring_mm: what comes off each end of a stock that is no offcut, >= 0.
        keep_mm: least length of an offcut that is worth keeping, >= 0.
        time: most units of counted work, about a second each on two cores, > 0.
        watch: asked now and then whether to go on; False ends the search with the best found.
        deadline_ms: ms that a step which cannot be interrupted may last; with it the plan depends on the clock.
        units: those that stand first where a problem tells a size.

    Returns:
        The plan. Where limited stock cannot serve, its status is "infeasible", ``buy`` names the cheapest purchase, and
        the layouts show the pieces cut from the shelf and the purchase together.

    Raises:
        InputError: a length, count or cost is out of range, or a piece is longer than every stock.

    Example:
        >>> plan = cut_lengths(
        ...     [LengthPiece("sill", 85, 4), LengthPiece("beam", 31, 3)],
        ...     [LengthStock("strip", 350, None, Decimal("1.20"))],
        ...     kerf_mm=0.5,
        ... )
        >>> plan.status, plan.cost, [len(bar.pieces) for bar in plan.layouts]
        ('optimal', Decimal('2.40'), [4, 3])

    Source:
        Column generation: P. C. Gilmore, R. E. Gomory, Operations Research 9 (1961) and 11 (1963). Filling bar by bar:
        the minimum bin slack rule of J. N. D. Gupta, J. C. Ho (1999). From memory of the literature; what is proven is
        proven by the bound reckoned in whole numbers.
    """
    _check(pieces, stocks, kerf_mm=kerf_mm, squaring_mm=squaring_mm, keep_mm=keep_mm, time=time)
    measure: Literal["cost", "length_mm"] = "length_mm" if all(s.cost is None for s in stocks) else "cost"
    if not pieces:
        nothing = Stage(0.0, 0.0, "optimal")
        return LengthPlan("optimal", measure, Decimal(0), Decimal(0), nothing, nothing, (), (), 0.0)
    task = _Task(pieces, stocks, kerf_mm, squaring_mm, keep_mm, measure, units)
    task.refuse_what_fits_nothing()
    work = Work(time, watch, deadline_ms)
    return in_packs(
        task.solve(work),
        stocks,
        needed=sum(piece.length_mm * piece.quantity for piece in pieces),
        size=lambda stock: stock.length_mm,
        again=lambda more: cut_lengths(
            pieces,
            more,
            kerf_mm=kerf_mm,
            squaring_mm=squaring_mm,
            keep_mm=keep_mm,
            time=time / 10,
            watch=watch,
            deadline_ms=deadline_ms,
            units=units,
        ),
    )


def _check(
    pieces: Sequence[LengthPiece],
    stocks: Sequence[LengthStock],
    *,
    kerf_mm: float,
    squaring_mm: float,
    keep_mm: float,
    time: float,
) -> None:
    problems: list[Problem] = []
    for piece in pieces:
        problems += bad_length(f"the length of piece {piece.name}", piece.length_mm, "length")
        problems += bad_quantity(f"piece {piece.name}", piece.quantity, "quantity")
    total = sum(piece.quantity for piece in pieces)
    if not problems and total > MOST_PIECES:
        problems += bad_quantity("all pieces together", total, "quantity")
    for stock in stocks:
        problems += bad_length(f"the length of stock {stock.name}", stock.length_mm, "length")
        problems += bad_stock(stock.name, stock.count, stock.cost)
    for what, value in (("the kerf", kerf_mm), ("the squaring cut", squaring_mm), ("the least offcut", keep_mm)):
        problems += bad_length(what, value, what.split()[-1], zero=True)
    if not problems:
        problems += bad_kerf(kerf_mm, [stock.length_mm for stock in stocks])
    problems += bad_time(time)
    if problems:
        raise InputError(problems)


class _Task:
    """One plan on its way from millimetres to whole numbers and back."""

    def __init__(
        self,
        pieces: Sequence[LengthPiece],
        stocks: Sequence[LengthStock],
        kerf_mm: float,
        squaring_mm: float,
        keep_mm: float,
        measure: Literal["cost", "length_mm"],
        units: Units,
    ) -> None:
        self.units = units
        self.pieces = tuple(pieces)
        self.stocks = tuple(stock for stock in stocks if stock.count != 0 or not stock.offcut)
        self.kerf_mm, self.squaring_mm, self.keep_mm, self.measure = kerf_mm, squaring_mm, keep_mm, measure
        usable = [stock.length_mm - (0.0 if stock.offcut else 2 * squaring_mm) for stock in self.stocks]
        small, large, self.unit_mm = whole_lengths(
            [*(piece.length_mm for piece in pieces), kerf_mm], [max(0.0, each) for each in usable]
        )
        self.lengths, self.kerf, self.usable = small[:-1], small[-1], large
        if measure == "cost":
            self.costs, self.step = whole_costs([stock.cost or Decimal(0) for stock in self.stocks])
        else:
            # Taken by length: tenths of a micrometre, shown as millimetres.
            self.costs, self.step = whole_costs([Decimal(str(round(s.length_mm, 4))) for s in self.stocks])

    def refuse_what_fits_nothing(self) -> None:
        """Raise InputError for pieces longer than every stock, with the least purchase that would serve."""
        longest = max(self.usable, default=0)
        over = sorted(
            {(p.name, p.length_mm) for p, whole in zip(self.pieces, self.lengths, strict=True) if whole > longest}
        )
        if not over:
            return
        need_mm = max(length for _, length in over) + 2 * self.squaring_mm
        raise InputError(
            Problem(
                f"piece {name} is longer than any stock" if self.stocks else f"there is no stock for piece {name}",
                value=both_units(length, units=self.units),
                accepted=f"up to {both_units(longest * self.unit_mm, units=self.units)}",
                mend=f"Buy at least one of {both_units(need_mm, units=self.units)} or longer, or leave the piece out.",
                key="length",
            )
            for name, length in over
        )

    def solve(self, work: Work) -> LengthPlan:
        """Solve on the shelf; where no plan is found there, on the shelf and what can be bought."""
        import numpy as np

        from carwright.stock.bars import solve_bars
        from carwright.stock.columns import BarProblem
        from carwright.stock.tidying import tidy

        work.cost_unit = float(self.step)
        kinds = sorted({each + self.kerf for each in self.lengths}, reverse=True)
        place = {length: i for i, length in enumerate(kinds)}
        d = np.zeros(len(kinds), np.int64)
        for piece, length in zip(self.pieces, self.lengths, strict=True):
            d[place[length + self.kerf]] += piece.quantity
        w = np.array(kinds, np.int64)
        caps = np.array([each + self.kerf for each in self.usable], np.int64)
        costs = np.array(self.costs, np.int64)
        counts = np.array([-1 if stock.count is None else stock.count for stock in self.stocks], np.int64)
        problem = BarProblem(w, d, caps, costs, counts)
        answer = solve_bars(problem, work)
        sources, dearer = list(range(len(self.stocks))), 0
        if answer.bars is None:
            problem, sources, dearer = self._with_purchases(problem)
            answer = solve_bars(problem, work)
        if answer.bars is None:
            return LengthPlan("unknown", self.measure, None, Decimal(0), None, None, (), (), round(work.used, 6))
        tidied = tidy(problem, answer.bars, kerf=self.kerf, keep=round(self.keep_mm / self.unit_mm), work=work)
        chosen = tidied.bars.stocks.tolist()
        layouts = self._layouts(tidied.bars.fills.tolist(), chosen, kinds, sources)
        cost = sum((self.step * self.costs[sources[s]] for s in chosen), Decimal(0))
        proven = tidied.bars.cost <= answer.bound
        status: Status = "optimal" if proven else "feasible"
        bound = self.step * answer.bound
        must_buy = any(bar.bought for bar in layouts)
        if must_buy:
            # A bound at the price of the cheapest purchase proves that the shelf alone cannot do it.
            status = "infeasible" if answer.bound >= dearer else "unknown"
            bound = cost if proven else Decimal(0)
        squared_mm = sum(bar.length_mm for bar in layouts) - sum(self.usable[sources[s]] for s in chosen) * self.unit_mm
        return LengthPlan(
            status,
            self.measure,
            cost,
            bound,
            _stage(tidied.waste, tidied.least_waste, self.unit_mm, squared_mm),
            _stage(tidied.offcut, tidied.longest_offcut, self.unit_mm, 0.0),
            layouts,
            self._buy(layouts) if must_buy else (),
            round(work.used, 6),
        )

    def _with_purchases(self, problem: BarProblem) -> tuple[BarProblem, list[int], int]:
        """Return the problem with limited stock also to be bought, which of ours each stock is, and the least price."""
        import numpy as np

        from carwright.stock.columns import BarProblem

        holds = [[length <= usable for usable in self.usable] for length in set(self.lengths)]
        more = widen(self.costs, problem.counts.tolist(), [stock.offcut for stock in self.stocks], holds)
        wanted = list(more.stocks)
        widened = BarProblem(
            problem.w,
            problem.d,
            np.concatenate([problem.caps, problem.caps[wanted]]),
            np.concatenate([problem.costs, np.array(more.prices, np.int64)]),
            np.concatenate([problem.counts, np.full(len(wanted), -1, np.int64)]),
        )
        return widened, [*range(len(self.stocks)), *wanted], more.least

    def _layouts(
        self, fills: Sequence[Sequence[int]], chosen: Sequence[int], kinds: Sequence[int], sources: Sequence[int]
    ) -> tuple[BarLayout, ...]:
        """Return the bars as they are cut, shelf first, each kind of stock together, fullest first."""
        waiting: dict[int, list[str]] = {length: [] for length in kinds}
        sizes = dict(zip((each + self.kerf for each in self.lengths), (p.length_mm for p in self.pieces), strict=True))
        for piece, length in zip(self.pieces, self.lengths, strict=True):
            waiting[length + self.kerf] += [piece.name] * piece.quantity
        for names in waiting.values():
            names.reverse()
        layouts = []
        order = sorted(
            range(len(fills)),
            key=lambda b: (
                chosen[b],
                -sum(n * w for n, w in zip(fills[b], kinds, strict=True)),
                [-n for n in fills[b]],
            ),
        )
        for b in order:
            stock = self.stocks[sources[chosen[b]]]
            start = 0.0 if stock.offcut else self.squaring_mm
            placed = []
            for length, count in zip(kinds, fills[b], strict=True):
                for _ in range(count):
                    size = sizes[length]
                    placed.append(PlacedLength(waiting[length].pop(), round(start, 6), size))
                    start += size + self.kerf_mm
            gap = self.usable[sources[chosen[b]]] + self.kerf - sum(n * w for n, w in zip(fills[b], kinds, strict=True))
            offcut_mm = round(max(0, gap - self.kerf) * self.unit_mm, 6)
            kept = offcut_mm > 0 and offcut_mm >= self.keep_mm
            layouts.append(
                BarLayout(stock.name, stock.length_mm, tuple(placed), offcut_mm, kept, chosen[b] >= len(self.stocks))
            )
        return tuple(layouts)

    def _buy(self, layouts: Sequence[BarLayout]) -> tuple[Purchase, ...]:
        numbers: dict[str, int] = {}
        for bar in layouts:
            if bar.bought:
                numbers[bar.stock] = numbers.get(bar.stock, 0) + 1
        prices = {stock.name: stock.cost for stock in self.stocks}
        return tuple(
            Purchase(name, number, number, None if (price := prices[name]) is None else price * number)
            for name, number in numbers.items()
        )


def _stage(value: int, bound: int, unit_mm: float, more_mm: float) -> Stage:
    """Return a stage in mm; it is proven where value and bound meet."""
    status: Status = "optimal" if value == bound else "feasible"
    return Stage(round(value * unit_mm + more_mm, 6), round(bound * unit_mm + more_mm, 6), status)
