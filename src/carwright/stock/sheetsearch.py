"""Guillotine cutting in whole numbers: the fewest or cheapest sheets, and the most valuable filling of one sheet.

Many pieces are laid by insertion, again and again; a single sheet is filled by a best-first search with a bound by
dynamic programming, which ends with a proof. Where the insertions leave a gap, sheets filled by that search make a pool
from which an integer program chooses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from carwright.stock.columns import BarProblem, Reach
from carwright.stock.programs import cover
from carwright.stock.sheetbounds import SheetProblem, Vector, area_bound, sheets_bound
from carwright.stock.sheetcolumns import STEP, SheetMaster, best_of_sheet, kinds_of
from carwright.stock.work import UNIT, Work

__all__ = ["Laid", "SheetAnswer", "ValueAnswer", "fill_one", "solve_sheets", "tidy_sheets"]

_FIRST_ROUNDS = 240
_MORE_ROUNDS = 4_000
_TIDY_ROUNDS = 400
_DIVES = 6
_DIVE_ROUNDS = 30
_ROOM = 1_500_000
_FILL_STEPS = 60_000


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Pieces in sheets: (n, 5) sheet (-1 for none), x, y, width, height of each piece, and the kind of each sheet."""

    places: Vector
    sheets: Vector
    cost: int


@dataclass(frozen=True, slots=True, eq=False)
class SheetAnswer:
    """The best plan found, None where none was, and the bound that no plan is below."""

    laid: Laid | None
    bound: int


@dataclass(frozen=True, slots=True, eq=False)
class ValueAnswer:
    """The best filling of one sheet found, its value, and the bound that no filling is above."""

    laid: Laid
    value: int
    bound: int


def solve_sheets(problem: SheetProblem, work: Work) -> SheetAnswer:
    """Return the cheapest plan that the work allows, with a proven bound; every piece fits some kind of sheet."""
    n = len(problem.w)
    top = int(problem.costs.max()) * n
    as_bars = BarProblem(np.ones(n, np.int64), np.ones(n, np.int64), problem.sw, problem.costs, problem.counts)
    reach = Reach(as_bars, top)
    bound = reach.up(*area_bound(problem))
    best = _inserted(problem, bound, _FIRST_ROUNDS, 1, work)
    if best is None or best.cost > bound:
        bound = max(bound, reach.up(_count_bound(problem, best.cost if best else top + 1)))
    seed = 1
    while (best is None or best.cost > bound) and not work.over() and seed < 6:
        seed += 1
        best = _cheaper(best, _inserted(problem, bound, _MORE_ROUNDS, seed, work))
    if best is not None:
        best = _downsized(problem, best, work)
    if best is not None and best.cost > bound and not work.over():
        return _pooled(problem, best, bound, reach, work)
    return SheetAnswer(best, bound)


def _cheaper(one: Laid | None, other: Laid | None) -> Laid | None:
    if one is None or (other is not None and other.cost < one.cost):
        return other
    return one


def _count_bound(problem: SheetProblem, enough: int) -> int:
    """Return a cost from the number of sheets: exact for one kind; for several, of the largest at the least price."""
    least = int(problem.costs.min())
    if least <= 0:
        return 0
    if len(problem.sw) > 1:
        widest = SheetProblem(
            problem.w,
            problem.h,
            problem.turn,
            np.array([problem.sw.max()]),
            np.array([problem.sh.max()]),
            np.array([1]),
            np.array([-1]),
        )
        return least * sheets_bound(widest, 0, -(-enough // least))
    return least * sheets_bound(problem, 0, -(-enough // least))


def _inserted(problem: SheetProblem, bound: int, rounds: int, seed: int, work: Work) -> Laid | None:
    from carwright.stock.sheetkernels import insertion

    n = len(problem.w)
    rate = problem.costs / (problem.sw.astype(np.float64) * problem.sh)
    rounds = max(24, min(rounds, int(work.left * UNIT / _round_steps(n) / 4)))
    places, sheets, cost, short, done = insertion(
        problem.w,
        problem.h,
        problem.turn,
        problem.sw,
        problem.sh,
        problem.costs,
        rate,
        problem.counts,
        problem.least,
        bound,
        rounds,
        seed,
        problem.w,
        0,
    )
    work.spend(_round_steps(n) * done)
    return None if short else Laid(places, sheets, int(cost))


def _round_steps(n: int) -> float:
    """Return the steps of work of one round of insertion; measured."""
    return 200.0 * n + 4.0 * n * n


def tidy_sheets(problem: SheetProblem, laid: Laid, work: Work) -> Laid:
    """Return a plan of the same cost whose largest free rectangle is as large as a few insertions make it."""
    tidied = _inserted(problem, -1, _TIDY_ROUNDS, 1, work)
    return tidied if tidied is not None and tidied.cost == laid.cost else laid


def _downsized(problem: SheetProblem, laid: Laid, work: Work) -> Laid:
    """Return the plan with every sheet exchanged for a cheaper kind that its pieces fit too."""
    if len(problem.sw) == 1:
        return laid
    places, sheets = laid.places.copy(), laid.sheets.copy()
    free = problem.counts.copy()
    for s in sheets.tolist():
        if free[s] > 0:
            free[s] -= 1
    for b in range(len(sheets)):
        inside = np.flatnonzero(places[:, 0] == b)
        for s in np.argsort(problem.costs, kind="stable").tolist():
            if problem.costs[s] >= problem.costs[sheets[b]] or work.over():
                break
            if free[s] == 0:
                continue
            part = SheetProblem(
                problem.w[inside],
                problem.h[inside],
                problem.turn[inside],
                problem.sw[[s]],
                problem.sh[[s]],
                problem.costs[[s]],
                np.ones(1, np.int64),
                problem.least,
            )
            if not part.fits().all():
                continue
            found = _inserted(part, int(problem.costs[s]), _FIRST_ROUNDS, 1, work)
            if found is None:
                continue
            places[inside] = found.places
            places[inside, 0] = b
            if problem.counts[sheets[b]] >= 0:
                free[sheets[b]] += 1
            if free[s] > 0:
                free[s] -= 1
            sheets[b] = s
            break
    return Laid(places, sheets, int(problem.costs[sheets].sum()))


def _pooled(problem: SheetProblem, best: Laid, bound: int, reach: Reach, work: Work) -> SheetAnswer:
    """Return the best choice from a pool of sheets, and what the linear program over all layouts says no plan is below.

    The pool: sheets of the best plan; sheets filled one after the other as full as can be with what is left, large
    pieces counting a little more than their area, how much more differing from pass to pass; and those that the linear
    program asks for.
    """
    kinds = kinds_of(problem)
    size = len(kinds.size)
    # Only demand, costs and counts of it are used: what a sheet holds is for the layouts to say.
    task = BarProblem(np.ones(size, np.int64), kinds.demand, problem.sw, problem.costs, problem.counts)
    master = SheetMaster(task, work, sheets=problem, kinds=kinds)
    for b, sheet in enumerate(best.sheets.tolist()):
        inside = np.flatnonzero(best.places[:, 0] == b)
        master.add_layout(sheet, np.column_stack([kinds.which[inside], best.places[inside, 1:]]))
    for power in (1.0, 1.02, 1.05, 1.1, 1.2, 0.97, 1.4):
        left, counts = kinds.demand.copy(), problem.counts.copy()
        while left.any() and not work.over():
            filled = _fullest(problem, kinds.size, left, counts, power, work)
            if filled is None:
                break
            fill, sheet, layout = filled
            master.add_layout(sheet, layout)
            left -= fill
            if counts[sheet] > 0:
                counts[sheet] -= 1
    best = _chosen(problem, master, best, bound, work)
    if best.cost > bound and not work.over():
        _, proven = master.price(enough=best.cost, reach=reach)
        bound = max(bound, reach.up(proven))
        best = _chosen(problem, master, best, bound, work)
    for barred in range(_DIVES):
        if best.cost <= bound or work.over():
            break
        _dive(master, barred)
        best = _chosen(problem, master, best, bound, work)
    return SheetAnswer(best, bound)


def _dive(master: SheetMaster, seed: int) -> None:
    """Fix layouts one after the other by the linear program, most used first, and find new ones for what is left.

    ``seed`` 0 takes the layout used most, others one further down the list at the first steps.
    """
    d, counts = master.problem.d.copy(), master.problem.counts.copy()
    while d.any() and not master.work.over():
        master.restrict(d, counts)
        master.price(rounds=_DIVE_ROUNDS)
        used = sorted(master.used(), key=lambda each: (-each[1], each[0]))
        if not used:
            return
        k, share = used[min(seed, len(used) - 1)]
        seed //= 2
        column = master.columns[k]
        times = min(max(1, int(share + 1e-6)), *(int(d[i]) // int(column.fill[i]) for i in np.flatnonzero(column.fill)))
        if counts[column.stock] >= 0:
            times = min(times, int(counts[column.stock]))
            counts[column.stock] -= times
        d -= times * column.fill


def _chosen(problem: SheetProblem, master: SheetMaster, best: Laid, bound: int, work: Work) -> Laid:
    """Return the cheapest plan out of the layouts found so far, or the best one where none is cheaper."""
    work.tell(best.cost, bound)
    if best.cost <= bound or work.over():
        return best
    fills = np.array([column.fill for column in master.columns])
    stocks = np.array([column.stock for column in master.columns], np.int64)
    found, _ = cover(master.problem, fills, stocks, least=bound, most=best.cost - 1, work=work, trimmed=False)
    return best if found is None else _assembled(problem, master, found.fills, found.stocks)


def _assembled(problem: SheetProblem, master: SheetMaster, fills: Vector, stocks: Vector) -> Laid:
    """Return the plan of the chosen sheets; what they hold too much of is left out."""
    waiting = [np.flatnonzero(master.kinds.which == k).tolist() for k in range(len(master.kinds.size))]
    places = np.full((len(problem.w), 5), -1, np.int64)
    for b, (fill, stock) in enumerate(zip(fills, stocks.tolist(), strict=True)):
        for kind, x, y, w, h in master.layouts[stock, fill.tobytes()].tolist():
            if waiting[kind]:
                places[waiting[kind].pop()] = (b, x, y, w, h)
    used = np.unique(places[:, 0])
    places[:, 0] = np.searchsorted(used, places[:, 0])
    return Laid(places, stocks[used], int(problem.costs[stocks[used]].sum()))


def _fullest(
    problem: SheetProblem, kinds: Vector, left: Vector, counts: Vector, power: float, work: Work
) -> tuple[Vector, int, Vector] | None:
    """Return (fill, sheet, layout) of the sheet that is cheapest for the area that it takes of what is left."""
    best: tuple[float, Vector, int, Vector] | None = None
    alive = np.flatnonzero(left)
    for s in np.flatnonzero(counts != 0).tolist():
        area = kinds[alive, 0] * kinds[alive, 1]
        worth = np.maximum(1, (area / area.max()) ** power * 1e6).astype(np.int64)
        found = best_of_sheet(
            kinds[alive],
            worth,
            left[alive],
            (int(problem.sw[s]), int(problem.sh[s])),
            problem.least,
            _FILL_STEPS,
            work,
        )
        layout = found[2]
        if not len(layout):
            continue
        fill = np.zeros(len(kinds), np.int64)
        np.add.at(fill, alive[layout[:, 0]], 1)
        rate = float(problem.costs[s]) / float(fill @ (kinds[:, 0] * kinds[:, 1]))
        if best is None or rate < best[0]:
            best = rate, fill, s, np.column_stack([alive[layout[:, 0]], layout[:, 1:]])
    return None if best is None else best[1:]


def fill_one(problem: SheetProblem, worth: Vector, work: Work) -> ValueAnswer:
    """Return the most valuable filling of one sheet of the first kind; pieces are single, ``worth`` (n) of each."""
    from carwright.stock.sheetkernels import insertion

    n = len(problem.w)
    fits = problem.fits()[:, 0]
    table = np.stack([problem.w, problem.h, problem.turn.astype(np.int64), worth], axis=1)
    kinds, which = np.unique(table, axis=0, return_inverse=True)
    which = which.reshape(-1)
    size = (int(problem.sw[0]), int(problem.sh[0]))
    most = np.bincount(which, weights=fits, minlength=len(kinds)).astype(np.int64)
    value, bound, layout = best_of_sheet(
        kinds[:, :3], kinds[:, 3], most, size, problem.least, int(work.left * UNIT / STEP), work, room=_ROOM
    )
    places = np.full((n, 5), -1, np.int64)
    waiting = [np.flatnonzero((which == k) & fits).tolist()[::-1] for k in range(len(kinds))]
    for kind, x, y, w, h in layout.tolist():
        places[waiting[kind].pop()] = (0, x, y, w, h)
    if value < bound:
        # The search was cut short: what insertion finds may be better.
        order = np.flatnonzero(fits)
        laid, _, less, _, done = insertion(
            problem.w[order],
            problem.h[order],
            problem.turn[order],
            problem.sw[:1],
            problem.sh[:1],
            np.ones(1, np.int64),
            np.ones(1),
            np.ones(1, np.int64),
            problem.least,
            -bound,
            _MORE_ROUNDS,
            1,
            worth[order],
            1,
        )
        work.spend(_round_steps(n) * done)
        if -less > value:
            value = int(-less)
            places[:] = -1
            places[order] = laid
    return ValueAnswer(Laid(places, np.zeros(1, np.int64), int(problem.costs[0])), value, bound)
