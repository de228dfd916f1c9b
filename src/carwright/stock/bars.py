"""One-dimensional cutting in whole numbers: greedy plans, linear bound, dives, and an integer program over columns."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from carwright.stock.columns import BarProblem, Bars, Master, Reach, Vector
from carwright.stock.programs import cover
from carwright.stock.work import Work

__all__ = ["BarAnswer", "solve_bars"]

_GREEDY_SEEDS = 40
_GREEDY_STEPS = 2000
_DIVE_SEEDS = 3
_WORTHY_COLUMNS = 3_000
_COVER_CELLS = 200_000
_WORTHY_STEPS = 20_000_000


@dataclass(frozen=True, slots=True, eq=False)
class BarAnswer:
    """The best plan found, None where none was, and the bound that no plan is below."""

    bars: Bars | None
    bound: int


@dataclass(slots=True)
class _Search:
    """The best plan so far and what is known of the bound."""

    problem: BarProblem
    work: Work
    best: Bars | None = None
    bound: int = 0
    plans: list[Bars] = field(default_factory=list)

    def done(self) -> bool:
        """Return whether the best plan is proven; whoever listens is told how far it is."""
        if self.best is not None:
            self.work.tell(self.best.cost, self.bound)
        return self.best is not None and self.best.cost <= self.bound

    def offer(self, fills: Vector, stocks: Vector) -> None:
        """Take a plan if it is cheaper than the best, its bars first moved to the cheapest stock that holds them."""
        stocks = _cheapest(self.problem, fills, stocks)
        cost = int(self.problem.costs[stocks].sum())
        if self.best is None or cost < self.best.cost:
            self.best = Bars(fills, stocks, cost)


def _cheapest(problem: BarProblem, fills: Vector, stocks: Vector) -> Vector:
    """Return the stocks with every bar, fullest first, moved to the cheapest one left that holds its pieces."""
    if len(problem.caps) == 1 or not len(stocks):
        return stocks
    free = problem.counts.copy()
    np.subtract.at(free, stocks[problem.counts[stocks] >= 0], 1)
    held = fills @ problem.w
    moved = stocks.copy()
    order = np.lexsort((problem.caps, problem.costs))
    for b in np.argsort(-held, kind="stable").tolist():
        for s in order.tolist():
            if problem.costs[s] >= problem.costs[moved[b]]:
                break
            if problem.caps[s] >= held[b] and free[s] != 0:
                if problem.counts[moved[b]] >= 0:
                    free[moved[b]] += 1
                if problem.counts[s] >= 0:
                    free[s] -= 1
                moved[b] = s
                break
    return moved


def solve_bars(problem: BarProblem, work: Work) -> BarAnswer:
    """Return the cheapest plan that the work allows, with a proven bound."""
    from carwright.stock.barkernels import best_fit

    search = _Search(problem, work)
    rate = problem.costs / problem.caps
    for order in (
        np.lexsort((problem.caps, rate)),
        np.lexsort((-problem.caps, rate)),
        np.argsort(problem.caps, kind="stable"),
        np.argsort(-problem.caps, kind="stable"),
        np.lexsort((problem.caps, problem.counts < 0)),
        np.lexsort((-problem.caps, problem.counts < 0)),
    ):
        fills, stocks, short = best_fit(problem.w, problem.d, problem.caps, order, problem.counts, False)
        if not short:
            search.offer(fills, stocks)
        work.spend(float(problem.d.sum()) * (1 + len(fills)))
    top = search.best.cost if search.best else int(problem.costs.max()) * int(problem.d.sum())
    reach = Reach(problem, top)
    search.bound = reach.up(*_material(problem))
    _greedy(search, range(_GREEDY_SEEDS))
    if search.done() or work.over():
        return BarAnswer(search.best, search.bound)
    master = Master(problem, work)
    for plan in search.plans:
        master.add_bars(plan)
    if search.best:
        master.add_bars(search.best)
    _, bound = master.price(enough=search.best.cost if search.best else None, reach=reach)
    search.bound = max(search.bound, reach.up(bound))
    if not search.done() and not work.over():
        _dive(search, master, reach, slips=2, share=0.3)
    if search.best is not None and not search.done() and not work.over():
        master.restrict(problem.d, problem.counts)
        master.price()
        columns = master.cheapest(_COVER_CELLS // (len(problem.d) + 20))
        fills = np.array([column.fill for column in columns])
        stocks = np.array([column.stock for column in columns], np.int64)
        bars, _ = cover(problem, fills, stocks, least=search.bound, most=search.best.cost - 1, work=work)
        if bars is not None:
            search.offer(bars.fills, bars.stocks)
    if not search.done() and not work.over():
        _settle(search, master, reach)
    if not search.done() and not work.over():
        _dive(search, master, reach, slips=5, share=1.0)
    return BarAnswer(search.best, search.bound)


def _settle(search: _Search, master: Master, reach: Reach) -> None:
    """Close the gap from below: is there a plan at the bound? If the integer program says no, the bound goes up."""
    problem, work = search.problem, search.work
    while search.best is not None and not search.done() and not work.over():
        # Few columns can be in a plan as cheap as that, which is what makes the question easy.
        found = master.worthy(search.bound + 1, _WORTHY_COLUMNS, _WORTHY_STEPS)
        if found is None:
            return
        bars, said = cover(problem, *found, least=search.bound, most=search.bound, work=work)
        if bars is not None:
            search.offer(bars.fills, bars.stocks)
        elif said == "proven":
            search.bound = reach.up(search.bound + 1)
        else:
            return


def _material(problem: BarProblem) -> tuple[int, int]:
    """Return, as a fraction, what the pieces' length costs in the stock that is cheapest for its length."""
    need = int(problem.w @ problem.d)
    ratio = sorted(
        zip(problem.costs.tolist(), problem.caps.tolist(), problem.counts.tolist(), strict=True),
        key=lambda each: each[0] / each[1],
    )
    total = 0
    for cost, cap, count in ratio:
        if count < 0 or count * cap >= need:
            return total * cap + need * cost, cap
        total += cost * count
        need -= cap * count
    return total, 1


def _greedy(search: _Search, seeds: range) -> None:
    from carwright.stock.barkernels import minimum_slack

    problem = search.problem
    for seed in seeds:
        if search.done() or search.work.over():
            return
        fills, stocks, cost, short = minimum_slack(
            problem.w, problem.d, problem.caps, problem.costs, problem.counts, seed, _GREEDY_STEPS
        )
        search.work.spend(50.0 * len(fills) * (len(problem.w) + 100))
        if not short:
            search.offer(fills, stocks)
            if seed < 6:
                search.plans.append(Bars(fills, stocks, cost))


@dataclass(slots=True)
class _Node:
    """Where a dive starts: what is fixed, what is left, and the columns barred on the way."""

    d: Vector
    counts: Vector
    fixed: list[tuple[Vector, int, int]]
    cost: int
    barred: frozenset[int]
    slips: int


def _dive(search: _Search, master: Master, reach: Reach, *, slips: int, share: float) -> None:
    """Fix columns one after the other by the linear program, best first; come back to other choices a few times."""
    problem = search.problem
    waiting = [_Node(problem.d.copy(), problem.counts.copy(), [], 0, frozenset(), 0)]
    end = search.work.used + share * search.work.left
    while waiting and not search.done() and not search.work.over() and search.work.used < end:
        waiting.sort(key=lambda node: (node.slips, int(node.d.sum())))
        node = waiting.pop(0)
        _descend(search, master, reach, node, waiting, slips)


def _descend(search: _Search, master: Master, reach: Reach, node: _Node, waiting: list[_Node], slips: int) -> None:
    problem = search.problem
    d, counts, cost = node.d.copy(), node.counts.copy(), node.cost
    fixed = list(node.fixed)
    barred = node.barred
    while d.any() and not search.work.over():
        master.restrict(d, counts, barred)
        best = search.best.cost if search.best else None
        value, _ = master.price(enough=best, reach=reach, fixed=cost)
        if best is not None and reach.up(cost + int(np.ceil(value - 1e-6))) >= best:
            return
        _complete(search, d, counts, fixed)
        if search.done():
            return
        used = sorted(master.used(), key=lambda each: (-each[1], each[0]))
        if not used:
            return
        whole = [(k, int(x + 1e-6)) for k, x in used if x + 1e-6 >= 1.0]
        if whole:
            chosen = whole
        else:
            k = used[0][0]
            chosen = [(k, 1)]
            if node.slips < slips:
                waiting.append(_Node(d.copy(), counts.copy(), list(fixed), cost, barred | {k}, node.slips + 1))
        for k, times in chosen:
            column = master.columns[k]
            times = min(times, *(int(d[i]) // int(column.fill[i]) for i in np.flatnonzero(column.fill)))
            if counts[column.stock] >= 0:
                times = min(times, int(counts[column.stock]))
            if times < 1:
                continue
            d -= times * column.fill
            if counts[column.stock] >= 0:
                counts[column.stock] -= times
            cost += times * int(problem.costs[column.stock])
            fixed.append((column.fill, column.stock, times))
    if not d.any():
        _offer(search, fixed, np.zeros((0, len(d)), np.int64), np.zeros(0, np.int64))


def _complete(search: _Search, d: Vector, counts: Vector, fixed: list[tuple[Vector, int, int]]) -> None:
    """Finish what is left greedily, and offer the plan."""
    from carwright.stock.barkernels import minimum_slack

    problem = search.problem
    for seed in range(_DIVE_SEEDS):
        fills, stocks, _, short = minimum_slack(problem.w, d, problem.caps, problem.costs, counts, seed, _GREEDY_STEPS)
        search.work.spend(50.0 * len(fills) * (len(problem.w) + 100))
        if not short:
            _offer(search, fixed, fills, stocks)


def _offer(search: _Search, fixed: list[tuple[Vector, int, int]], fills: Vector, stocks: Vector) -> None:
    rows = [np.repeat(fill[None, :], times, axis=0) for fill, _, times in fixed]
    kinds = [np.full(times, stock, np.int64) for _, stock, times in fixed]
    search.offer(np.concatenate([*rows, fills]), np.concatenate([*kinds, stocks]))
