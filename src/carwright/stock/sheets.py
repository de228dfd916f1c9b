"""Cutting sheets: rectangles by edge-to-edge cuts at the least cost, then with one large remainder.

With a kerf k each piece takes its size and k each way, and a sheet has its size and k: a cut may fall on the edge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from carwright.lengths import Units
from carwright.problems import InputError, Problem
from carwright.stock.guillotine import Box, cut_tree
from carwright.stock.packs import in_packs
from carwright.stock.purchases import widen
from carwright.stock.records import (
    Area,
    PlacedSheet,
    Purchase,
    SheetCut,
    SheetFilling,
    SheetLayout,
    SheetPiece,
    SheetPlan,
    SheetStock,
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
    from carwright.stock.sheetbounds import SheetProblem, Vector
    from carwright.stock.sheetsearch import Laid

__all__ = ["cut_sheets", "fill_sheet"]

_MOST_SHEET_PIECES = 2_000
"""Rectangles in one plan: a thousand sheets' worth; more is taken for a slip of the typist."""


def cut_sheets(
    pieces: Sequence[SheetPiece],
    stocks: Sequence[SheetStock],
    *,
    kerf_mm: float = 0.0,
    keep_width_mm: float = 0.0,
    keep_length_mm: float = 0.0,
    narrowest_mm: float = 0.0,
    time: float = 10.0,
    watch: Callable[[], bool] | None = None,
    deadline_ms: Callable[[], int] | None = None,
    units: Units = "mm",
) -> SheetPlan:
    """Return how to cut rectangles from sheets by edge-to-edge cuts: least cost, then one large remainder.

    The same input gives the same plan. Only the cost is proven as a rule; waste and remainder carry their own bounds.

    Args:
        pieces: what is wanted, at most 2 000 in all.
        stocks: what there is; where none has a cost, the area of sheet taken is minimised instead.
        kerf_mm: width of the cut, >= 0; 0 for a knife.
        keep_width_mm: least smaller side of a remainder that is worth keeping, >= 0.
        keep_length_mm: least larger side of one, >= 0.
        narrowest_mm: narrowest strip that a cut may leave on either side, >= 0; what snaps, where cuts are
            snapped. Only without a kerf.
        time: most units of counted work, about a second each on two cores, > 0.
        watch: asked now and then whether to go on; False ends the search with the best found.
        deadline_ms: ms that a step which cannot be interrupted may last; with it the plan depends on the clock.
        units: those that stand first where a problem tells a size.

    Returns:
        The plan. Where limited stock cannot serve, its status is "infeasible", ``buy`` names the purchase, and the
        layouts show the pieces cut from the shelf and the purchase together.

    Raises:
        InputError: a size, count or cost is out of range, or a piece fits no sheet.

    Example:
        >>> plan = cut_sheets(
        ...     [SheetPiece("floor", 64, 142, 2), SheetPiece("end", 31, 62, 4)],
        ...     [SheetStock("sheet", 152.4, 304.8, None, Decimal("2.10"))],
        ... )
        >>> plan.status, plan.cost, len(plan.layouts)
        ('optimal', Decimal('2.10'), 1)

    Source:
        Edge-to-edge cutting: P. C. Gilmore, R. E. Gomory, Operations Research 13 (1965), from memory. What is proven is
        proven by the bounds of ``sheetbounds``.
    """
    task = _Task(pieces, stocks, kerf_mm, keep_width_mm, keep_length_mm, narrowest_mm, time, units=units)
    if not pieces:
        nothing = Stage(0.0, 0.0, "optimal")
        return SheetPlan("optimal", task.measure, Decimal(0), Decimal(0), nothing, nothing, (), (), 0.0)
    return in_packs(
        task.solve(Work(time, watch, deadline_ms)),
        stocks,
        needed=sum(piece.width_mm * piece.length_mm * piece.quantity for piece in pieces),
        size=lambda stock: stock.width_mm * stock.length_mm,
        again=lambda more: cut_sheets(
            pieces,
            more,
            kerf_mm=kerf_mm,
            keep_width_mm=keep_width_mm,
            keep_length_mm=keep_length_mm,
            narrowest_mm=narrowest_mm,
            time=time / 10,
            watch=watch,
            deadline_ms=deadline_ms,
            units=units,
        ),
    )


def fill_sheet(
    pieces: Sequence[SheetPiece],
    stock: SheetStock,
    *,
    kerf_mm: float = 0.0,
    keep_width_mm: float = 0.0,
    keep_length_mm: float = 0.0,
    narrowest_mm: float = 0.0,
    time: float = 10.0,
    watch: Callable[[], bool] | None = None,
) -> SheetFilling:
    """Return the most valuable filling of one sheet: what an offcut can still give.

    Args:
        pieces: what may be cut, ``quantity`` the most of each, each with a ``value``; what does not fit is left out.
        stock: the sheet; one of it is filled.
        kerf_mm: as for ``cut_sheets``, like all that follow.
        keep_width_mm: least smaller side of a remainder worth keeping.
        keep_length_mm: least larger side of one.
        narrowest_mm: narrowest strip that a cut may leave.
        time: most units of counted work.
        watch: asked whether to go on.

    Raises:
        InputError: a size, count or value is out of range.

    Example:
        >>> filling = fill_sheet(
        ...     [SheetPiece("side", 30, 50, 2, value=Decimal(5)), SheetPiece("end", 30, 30, 9, value=Decimal(2))],
        ...     SheetStock("offcut", 60, 80),
        ... )
        >>> filling.status, filling.value
        ('optimal', Decimal('14'))
    """
    lacking = [piece for piece in pieces if piece.value is None or not piece.value.is_finite() or piece.value <= 0]
    if lacking:
        raise InputError(
            Problem(
                f"piece {piece.name} has no value",
                value="" if piece.value is None else str(piece.value),
                accepted="a number above 0",
                mend="Give each piece what it is worth.",
                key="value",
            )
            for piece in lacking
        )
    task = _Task(
        pieces, [replace(stock, count=1)], kerf_mm, keep_width_mm, keep_length_mm, narrowest_mm, time, some=True
    )
    return task.fill(Work(time, watch))


_SAME_MM = 1e-3
"""A side longer than another by less fits: the rounding of sizes to whole numbers."""


class _Task:
    """One plan on its way from millimetres to whole numbers and back."""

    def __init__(
        self,
        pieces: Sequence[SheetPiece],
        stocks: Sequence[SheetStock],
        kerf_mm: float,
        keep_width_mm: float,
        keep_length_mm: float,
        narrowest_mm: float,
        time: float,
        *,
        some: bool = False,
        units: Units = "mm",
    ) -> None:
        _check(pieces, stocks, kerf_mm, (keep_width_mm, keep_length_mm), narrowest_mm, time)
        self.kerf_mm = kerf_mm
        self.units = units
        self.keep = (keep_width_mm, keep_length_mm)
        self.stocks = tuple(stock for stock in stocks if stock.count != 0 or not stock.offcut)
        self.measure: Literal["cost", "area_mm2"] = (
            "area_mm2" if all(stock.cost is None for stock in self.stocks) else "cost"
        )
        small, large, self.unit_mm = whole_lengths(
            [side for piece in pieces for side in (piece.width_mm, piece.length_mm)] + [kerf_mm, narrowest_mm],
            [side for stock in self.stocks for side in (stock.width_mm, stock.length_mm)],
        )
        self.kerf, self.least = small[-2], small[-1]
        self.sizes = [(w + self.kerf, h + self.kerf) for w, h in zip(small[:-2:2], small[1:-2:2], strict=True)]
        self.usable = [(w + self.kerf, h + self.kerf) for w, h in zip(large[::2], large[1::2], strict=True)]
        if self.measure == "cost":
            self.costs, self.step = whole_costs([stock.cost or Decimal(0) for stock in self.stocks])
        else:
            self.costs, self.step = whole_costs([Decimal(str(round(s.width_mm * s.length_mm, 2))) for s in self.stocks])
        self.pieces = tuple(pieces)
        if not some:
            self._refuse_what_fits_nothing()

    def _single(self) -> list[int]:
        """Return the number of the kind of each single piece."""
        return [k for k, piece in enumerate(self.pieces) for _ in range(piece.quantity)]

    def _problem(self) -> SheetProblem:
        import numpy as np

        from carwright.stock.sheetbounds import SheetProblem

        single = self._single()
        return SheetProblem(
            np.array([self.sizes[k][0] for k in single], np.int64),
            np.array([self.sizes[k][1] for k in single], np.int64),
            np.array([self.pieces[k].turn for k in single], np.bool_),
            np.array([each[0] for each in self.usable], np.int64),
            np.array([each[1] for each in self.usable], np.int64),
            np.array(self.costs, np.int64),
            np.array([-1 if stock.count is None else stock.count for stock in self.stocks], np.int64),
            self.least,
        )

    def _fits(self, size: tuple[int, int], usable: tuple[int, int], *, turn: bool) -> bool:
        ways = [size, size[::-1]] if turn else [size]
        if min(size) < self.least:
            return False
        gaps = [(usable[0] - w, usable[1] - h) for w, h in ways]
        return any(all(gap == 0 or (gap > 0 and gap >= self.least) for gap in pair) for pair in gaps)

    def _refuse_what_fits_nothing(self) -> None:
        problems = []
        for piece, size in zip(self.pieces, self.sizes, strict=True):
            if any(self._fits(size, usable, turn=piece.turn) for usable in self.usable):
                continue
            listed = ", ".join(self._said(s.length_mm, s.width_mm) for s in self.stocks[:6]) or "none"
            way = "" if piece.turn else ", not turned"
            snap = f", all strips {self._said(self.least * self.unit_mm)} or wider so that they snap"
            problem, key = self._misfit(piece)
            problems.append(
                Problem(
                    f"piece {piece.name} {problem}",
                    value=f"{self._said(piece.length_mm, piece.width_mm)}{way}",
                    accepted=f"what these sheets hold{snap if self.least else ''}: {listed}",
                    mend="Cut it with a saw and give the kerf, or from strip of its width."
                    if min(size) < self.least
                    else f"Buy at least one of {self._said(piece.length_mm, piece.width_mm)} or larger, or leave the "
                    "piece out.",
                    key=key,
                )
            )
        if problems:
            raise InputError(problems)

    def _said(self, *sizes_mm: float) -> str:
        return both_units(*sizes_mm, units=self.units)

    def _misfit(self, piece: SheetPiece) -> tuple[str, str]:
        """Return in what a piece is larger than any sheet, and the column that says so; "" for neither alone."""
        if not self.stocks:
            return "has no sheet", ""
        sides = [(piece.length_mm, "length"), (piece.width_mm, "width")]
        long, short = sorted(sides, key=lambda each: -each[0]) if piece.turn else sides
        longest = max(max(s.width_mm, s.length_mm) if piece.turn else s.length_mm for s in self.stocks)
        widest = max(min(s.width_mm, s.length_mm) if piece.turn else s.width_mm for s in self.stocks)
        if long[0] > longest + _SAME_MM:
            return "is longer than any sheet", long[1]
        if short[0] > widest + _SAME_MM:
            return "is wider than any sheet", short[1]
        return "fits no sheet", ""

    def solve(self, work: Work) -> SheetPlan:
        """Solve on the shelf; where no plan is found there, on the shelf and what can be bought."""
        from carwright.stock.sheetsearch import solve_sheets, tidy_sheets

        work.cost_unit = float(self.step)
        problem = self._problem()
        answer = solve_sheets(problem, work)
        sources, dearer = list(range(len(self.stocks))), 0
        if answer.laid is None and any(stock.count is not None for stock in self.stocks):
            problem, sources, dearer = self._with_purchases(problem)
            answer = solve_sheets(problem, work)
        if answer.laid is None:
            return SheetPlan("unknown", self.measure, None, Decimal(0), None, None, (), (), round(work.used, 6))
        plain = self._layouts(answer.laid, sources)
        tidied = self._layouts(tidy_sheets(problem, answer.laid, work), sources)
        layouts = max(plain, tidied, key=_largest)
        cost = sum((self.step * self.costs[sources[s]] for s in answer.laid.sheets.tolist()), Decimal(0))
        proven = answer.laid.cost <= answer.bound
        status: Status = "optimal" if proven else "feasible"
        bound = self.step * answer.bound
        must_buy = any(sheet.bought for sheet in layouts)
        if must_buy:
            status = "infeasible" if answer.bound >= dearer else "unknown"
            bound = cost if proven else Decimal(0)
        return SheetPlan(
            status,
            self.measure,
            cost,
            bound,
            *self._stages(layouts),
            layouts,
            self._buy(layouts) if must_buy else (),
            round(work.used, 6),
        )

    def fill(self, work: Work) -> SheetFilling:
        """Fill one sheet."""
        import numpy as np

        from carwright.stock.sheetsearch import fill_one

        values, unit = whole_costs([piece.value or Decimal(0) for piece in self.pieces])
        problem = self._problem()
        answer = fill_one(problem, np.array([values[k] for k in self._single()], np.int64), work)
        (layout,) = self._layouts(answer.laid, [0])
        return SheetFilling(
            "optimal" if answer.value >= answer.bound else "feasible",
            unit * answer.value,
            unit * answer.bound,
            layout,
            round(work.used, 6),
        )

    def _with_purchases(self, problem: SheetProblem) -> tuple[SheetProblem, list[int], int]:
        """Return the problem with limited sheets also to be bought, which of ours each is, and the least price."""
        import numpy as np

        from carwright.stock.sheetbounds import SheetProblem

        more = widen(
            self.costs, problem.counts.tolist(), [stock.offcut for stock in self.stocks], problem.fits().tolist()
        )
        wanted = list(more.stocks)
        widened = SheetProblem(
            problem.w,
            problem.h,
            problem.turn,
            np.concatenate([problem.sw, problem.sw[wanted]]),
            np.concatenate([problem.sh, problem.sh[wanted]]),
            np.concatenate([problem.costs, np.array(more.prices, np.int64)]),
            np.concatenate([problem.counts, np.full(len(wanted), -1, np.int64)]),
            problem.least,
        )
        return widened, [*range(len(self.stocks)), *wanted], more.least

    def _layouts(self, laid: Laid, sources: Sequence[int]) -> tuple[SheetLayout, ...]:
        rows: list[list[tuple[int, Vector]]] = [[] for _ in laid.sheets]
        for kind, row in zip(self._single(), laid.places, strict=True):
            if row[0] >= 0:
                rows[int(row[0])].append((kind, row))
        kinds = laid.sheets.tolist()
        order = sorted(range(len(rows)), key=lambda b: (kinds[b], -sum(int(r[3] * r[4]) for _, r in rows[b]), b))
        return tuple(self._layout(rows[b], sources[kinds[b]], bought=kinds[b] >= len(self.stocks)) for b in order)

    def _layout(self, rows: Iterable[tuple[int, Vector]], source: int, *, bought: bool) -> SheetLayout:
        unit, kerf = self.unit_mm, self.kerf
        stock, (width, length) = self.stocks[source], self.usable[source]
        pieces, boxes = [], []
        for kind, row in sorted(rows, key=lambda each: (int(each[1][2]), int(each[1][1]))):
            _, x, y, w, h = (int(each) for each in row)
            piece = self.pieces[kind]
            turned = (w, h) != self.sizes[kind]
            across, along = (piece.length_mm, piece.width_mm) if turned else (piece.width_mm, piece.length_mm)
            pieces.append(PlacedSheet(piece.name, Area(_mm(x, unit), _mm(y, unit), across, along), turned))
            boxes.append(Box(x, y, x + w, y + h))
        tree = cut_tree(Box(0, 0, width, length), boxes, least=self.least)
        assert tree is not None, "the search lays pieces by edge-to-edge cuts only"
        cuts: list[SheetCut] = []
        for part, across_cut, at in tree.cuts:
            near, far_x, far_y = _mm(at - kerf, unit), _mm(part.x1 - kerf, unit), _mm(part.y1 - kerf, unit)
            ends = (_mm(part.x0, unit), near, far_x, near) if across_cut else (near, _mm(part.y0, unit), near, far_y)
            cuts.append(SheetCut(len(cuts) + 1, *ends))
        left = [
            Area(_mm(b.x0, unit), _mm(b.y0, unit), _mm(b.x1 - b.x0 - kerf, unit), _mm(b.y1 - b.y0 - kerf, unit))
            for b in tree.remainders
            if b.x1 - b.x0 > kerf and b.y1 - b.y0 > kerf
        ]
        kept = [area for area in left if self._keeps(area)]
        lost = [area for area in left if not self._keeps(area)]
        in_order = (*sorted(kept, key=_by_size), *sorted(lost, key=_by_size))
        return SheetLayout(
            stock.name, stock.width_mm, stock.length_mm, tuple(pieces), tuple(cuts), in_order, len(kept), bought
        )

    def _keeps(self, area: Area) -> bool:
        small, large = sorted((area.width_mm, area.length_mm))
        return small >= self.keep[0] and large >= self.keep[1]

    def _stages(self, layouts: Sequence[SheetLayout]) -> tuple[Stage, Stage]:
        """Return waste and largest remainder, in mm², with what areas alone allow."""
        sheet = sum(each.width_mm * each.length_mm for each in layouts)
        pieces = sum(p.area.width_mm * p.area.length_mm for each in layouts for p in each.pieces)
        kept = [area.width_mm * area.length_mm for each in layouts for area in each.remainders[: each.kept]]
        waste = max(0.0, round(sheet - pieces - sum(kept), 6))
        largest = round(max(kept, default=0.0), 6)
        least = min(p.area.width_mm * p.area.length_mm for each in layouts for p in each.pieces)
        room = max(each.width_mm * each.length_mm for each in layouts) - least
        bound = max(largest, round(min(room, sheet - pieces), 6))
        return (
            Stage(waste, 0.0, "optimal" if waste == 0 else "feasible"),
            Stage(largest, bound, "optimal" if largest == bound else "feasible"),
        )

    def _buy(self, layouts: Sequence[SheetLayout]) -> tuple[Purchase, ...]:
        prices = {stock.name: stock.cost for stock in self.stocks}
        names = [sheet.stock for sheet in layouts if sheet.bought]
        return tuple(
            Purchase(
                name,
                names.count(name),
                names.count(name),
                None if (price := prices[name]) is None else price * names.count(name),
            )
            for name in dict.fromkeys(names)
        )


def _mm(whole: int, unit_mm: float) -> float:
    return round(whole * unit_mm, 6)


def _by_size(area: Area) -> tuple[float, float, float]:
    return -area.width_mm * area.length_mm, area.y_mm, area.x_mm


def _largest(layouts: Sequence[SheetLayout]) -> float:
    return max((a.width_mm * a.length_mm for each in layouts for a in each.remainders[: each.kept]), default=0.0)


def _check(
    pieces: Sequence[SheetPiece],
    stocks: Sequence[SheetStock],
    kerf_mm: float,
    keep_mm: tuple[float, float],
    narrowest_mm: float,
    time: float,
) -> None:
    problems: list[Problem] = []
    for piece in pieces:
        problems += bad_length(f"the width of piece {piece.name}", piece.width_mm, "width")
        problems += bad_length(f"the length of piece {piece.name}", piece.length_mm, "length")
        problems += bad_quantity(f"piece {piece.name}", piece.quantity, "quantity")
    total = sum(piece.quantity for piece in pieces)
    if not problems and total > _MOST_SHEET_PIECES:
        problems.append(
            Problem(
                "so many rectangles cannot be laid out in one plan",
                value=str(total),
                accepted=f"up to {_MOST_SHEET_PIECES}",
                mend=f"Make several plans; strips of one width may be up to {MOST_PIECES}.",
                key="quantity",
            )
        )
    for stock in stocks:
        problems += bad_length(f"the width of stock {stock.name}", stock.width_mm, "width")
        problems += bad_length(f"the length of stock {stock.name}", stock.length_mm, "length")
        problems += bad_stock(stock.name, stock.count, stock.cost)
    for what, value in (
        ("the kerf", kerf_mm),
        ("the least width of a remainder", keep_mm[0]),
        ("the least length of a remainder", keep_mm[1]),
        ("the narrowest strip", narrowest_mm),
    ):
        problems += bad_length(what, value, what.removeprefix("the "), zero=True)
    if not problems:
        problems += bad_kerf(kerf_mm, [min(stock.width_mm, stock.length_mm) for stock in stocks])
    problems += bad_time(time)
    if kerf_mm > 0 and narrowest_mm > 0:
        problems.append(
            Problem(
                "strips are snapped by hand or cut with a saw, not both",
                value=f"kerf {kerf_mm:g} mm, narrowest strip {narrowest_mm:g} mm",
                accepted="one of them 0",
                key="kerf",
            )
        )
    if problems:
        raise InputError(problems)
