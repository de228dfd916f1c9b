"""Guillotine cutting in whole numbers: the fewest or cheapest sheets, and the most valuable filling of one sheet.

Many pieces are laid by insertion, again and again; a single sheet is filled by a best-first search with a bound by
dynamic programming, which ends with a proof. Where the insertions leave a gap, sheets filled by that search make a pool
from which an integer program chooses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from carwright.stock.columns import BarProblem, Reach
from carwright.stock.programs import cover
from carwright.stock.sheetbounds import SheetProblem, Vector, area_bound, sheets_bound
from carwright.stock.work import Work

__all__ = ["Laid", "SheetAnswer", "ValueAnswer", "fill_one", "solve_sheets", "tidy_sheets"]

_FIRST_ROUNDS = 240
_MORE_ROUNDS = 4_000
_TIDY_ROUNDS = 400
_ROOM = 60_000
_FILL_STEPS = 60_000
_MOST_CELLS = 400_000
_MOST_SIDE = 2_000_000


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
        best = _pooled(problem, best, bound, work)
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
    rounds = max(24, min(rounds, int(work.left * 1e9 / (40.0 * n * n) / 4)))
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
    work.spend(40.0 * n * n * done)
    return None if short else Laid(places, sheets, int(cost))


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


def _pooled(problem: SheetProblem, best: Laid, bound: int, work: Work) -> Laid:
    """Return the best choice from a pool of sheets: those of the best plan, and sheets filled one after the other.

    Each pass fills sheets as full as can be with what is left, large pieces counting a little more than their area,
    how much more differing from pass to pass.
    """
    kinds, which = np.unique(
        np.stack([problem.w, problem.h, problem.turn.astype(np.int64)], axis=1), axis=0, return_inverse=True
    )
    which = which.reshape(-1)
    demand = np.bincount(which, minlength=len(kinds))
    pool: dict[tuple[int, bytes], tuple[Vector, int, npt.NDArray[np.int64]]] = {}

    def keep(fill: Vector, sheet: int, layout: Vector) -> None:
        pool.setdefault((sheet, fill.tobytes()), (fill, sheet, layout))

    for b, sheet in enumerate(best.sheets.tolist()):
        inside = np.flatnonzero(best.places[:, 0] == b)
        keep(
            np.bincount(which[inside], minlength=len(kinds)),
            sheet,
            np.column_stack([which[inside], best.places[inside, 1:]]),
        )
    for power in (1.0, 1.02, 1.05, 1.1, 1.2, 0.97, 1.4):
        left, counts = demand.copy(), problem.counts.copy()
        while left.any() and not work.over():
            filled = _fullest(problem, kinds, left, counts, power, work)
            if filled is None:
                break
            fill, sheet, layout = filled
            keep(fill, sheet, layout)
            left -= fill
            if counts[sheet] > 0:
                counts[sheet] -= 1
        if work.over():
            break
    fills = np.array([each[0] for each in pool.values()])
    stocks = np.array([each[1] for each in pool.values()], np.int64)
    task = BarProblem(np.ones(len(kinds), np.int64), demand, problem.sw, problem.costs, problem.counts)
    chosen, _ = cover(task, fills, stocks, least=bound, most=best.cost - 1, work=work, trimmed=False)
    if chosen is None:
        return best
    return _assembled(problem, which, demand, chosen.fills, chosen.stocks, pool)


def _assembled(
    problem: SheetProblem,
    which: Vector,
    demand: Vector,
    fills: Vector,
    stocks: Vector,
    pool: dict[tuple[int, bytes], tuple[Vector, int, Vector]],
) -> Laid:
    """Return the plan of the chosen sheets; what they hold too much of is left out."""
    waiting = [np.flatnonzero(which == k).tolist() for k in range(len(demand))]
    places = np.full((len(problem.w), 5), -1, np.int64)
    for b, (fill, stock) in enumerate(zip(fills, stocks.tolist(), strict=True)):
        for kind, x, y, w, h in pool[stock, fill.tobytes()][2].tolist():
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
        found = _one_sheet(
            kinds[alive, 0],
            kinds[alive, 1],
            kinds[alive, 2] > 0,
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
    value, bound, layout = _one_sheet(
        kinds[:, 0], kinds[:, 1], kinds[:, 2] > 0, kinds[:, 3], most, size, problem.least, int(4e7 * work.left), work
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
        work.spend(40.0 * n * n * done)
        if -less > value:
            value = int(-less)
            places[:] = -1
            places[order] = laid
    return ValueAnswer(Laid(places, np.zeros(1, np.int64), int(problem.costs[0])), value, bound)


def _one_sheet(
    w: Vector,
    h: Vector,
    turn: npt.NDArray[np.bool_],
    worth: Vector,
    most: Vector,
    size: tuple[int, int],
    least: int,
    limit: int,
    work: Work,
) -> tuple[int, int, Vector]:
    """Return (value, bound, layout (k, 5)): kind, x, y, width and height of each piece of the best filling."""
    from carwright.stock.sheetkernels import best_first, free_bound, outer_bound

    width, height = size
    turned = np.flatnonzero(turn & (w != h))
    bw, bh = np.concatenate([w, h[turned]]), np.concatenate([h, w[turned]])
    kind = np.concatenate([np.arange(len(w)), turned])
    fine = (bw <= width) & (bh <= height) & (most[kind] > 0)
    bw, bh, kind = bw[fine], bh[fine], kind[fine]
    if not len(bw):
        return 0, 0, np.zeros((0, 5), np.int64)
    scale = max(1, -(-max(width, height) // _MOST_SIDE))
    xs, ys = _places(bw, most[kind], width, scale), _places(bh, most[kind], height, scale)
    while len(xs) * len(ys) > _MOST_CELLS:
        # Whole steps of a coarser scale: pieces and sheet rounded down, so that the bound stays one.
        scale *= 2
        xs, ys = _places(bw, most[kind], width, scale), _places(bh, most[kind], height, scale)
    xat = np.searchsorted(xs, np.arange(width // scale + 1), side="right") - 1
    yat = np.searchsorted(ys, np.arange(height // scale + 1), side="right") - 1
    inner = free_bound(bw // scale, bh // scale, worth[kind], xs, ys, xat, yat)
    outer = outer_bound(inner, xs, ys, xat, yat)
    work.spend(2.0 * inner.size * (len(xs) + len(ys)))
    value, bound, tree, blocks, steps = best_first(
        bw, bh, worth[kind], kind, most, width, height, outer, xat, yat, scale, 0, _ROOM, limit, least
    )
    work.spend(15.0 * steps + 50.0 * blocks * len(most))
    return int(value), int(bound), _unfolded(tree, bw, bh, kind)


def _places(sizes: Vector, most: Vector, side: int, scale: int) -> Vector:
    """Return the places where a cut can fall: the sums of sizes within the side, 0, and the side, in steps of scale."""
    top = side // scale
    full = (1 << (top + 1)) - 1
    mask = 1
    for size, number in zip((sizes // scale).tolist(), most.tolist(), strict=True):
        left = min(number, top // size) if size else 0
        part = 1
        while left > 0:
            take = min(part, left)
            mask |= (mask << (size * take)) & full
            left -= take
            part *= 2
    mask |= 1 << top
    bits = np.frombuffer(mask.to_bytes(top // 8 + 1, "little"), np.uint8)
    return np.asarray(np.flatnonzero(np.unpackbits(bits, bitorder="little")[: top + 1]).astype(np.int64))


def _unfolded(tree: Vector, w: Vector, h: Vector, kind: Vector) -> Vector:
    """Return kind, x, y, width and height of every piece in a tree of blocks joined beside and above one another."""
    if not len(tree):
        return np.zeros((0, 5), np.int64)
    sizes: list[tuple[int, int]] = []
    for first, second, way in tree.tolist():
        if second < 0:
            sizes.append((int(w[first]), int(h[first])))
        elif way == 0:
            sizes.append((sizes[first][0] + sizes[second][0], max(sizes[first][1], sizes[second][1])))
        else:
            sizes.append((max(sizes[first][0], sizes[second][0]), sizes[first][1] + sizes[second][1]))
    rows = []
    stack = [(len(tree) - 1, 0, 0)]
    while stack:
        node, x, y = stack.pop()
        first, second, way = tree[node].tolist()
        if second < 0:
            rows.append((int(kind[first]), x, y, int(w[first]), int(h[first])))
        else:
            stack.append((first, x, y))
            stack.append((second, x + sizes[first][0], y) if way == 0 else (second, x, y + sizes[first][1]))
    return np.array(rows, np.int64)
