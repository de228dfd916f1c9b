"""Bounds on how many equal sheets a set of rectangles needs, and on what any sheets for them cost.

All are reckoned in whole numbers. They hold for any layout, with edge-to-edge cuts or without.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["SheetProblem", "area_bound", "sheets_bound"]

Vector = npt.NDArray[np.int64]

_MOST_SCALES = 60
"""Dual feasible functions tried for each side; more cost time and hardly raise a bound."""
_CLIQUE_STEPS = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class SheetProblem:
    """Rectangles out of sheets in whole numbers, the kerf added to both sides of every piece and sheet.

    Args:
        w: widths of the pieces, one by one.
        h: heights.
        turn: whether a piece may be turned by a quarter.
        sw: widths of the kinds of sheet.
        sh: heights.
        costs: cost of one sheet of each kind.
        counts: how many there are of each; -1 for any number.
        least: narrowest strip that may be cut off, 0 for any.
    """

    w: Vector
    h: Vector
    turn: npt.NDArray[np.bool_]
    sw: Vector
    sh: Vector
    costs: Vector
    counts: Vector
    least: int = 0

    def fits(self) -> npt.NDArray[np.bool_]:
        """Return (pieces, sheets): whether a piece can be cut from a sheet of that kind at all."""
        straight = self._holds(self.w, self.h)
        return straight | (self._holds(self.h, self.w) & self.turn[:, None])

    def _holds(self, w: Vector, h: Vector) -> npt.NDArray[np.bool_]:
        across = self.sw[None, :] - w[:, None]
        along = self.sh[None, :] - h[:, None]
        fine = (across >= 0) & (along >= 0)
        if self.least:
            fine &= ((across == 0) | (across >= self.least)) & ((along == 0) | (along >= self.least))
        return np.asarray(fine)


def area_bound(problem: SheetProblem) -> tuple[int, int]:
    """Return, as a fraction, what the pieces' area costs in the sheets that are cheapest for their area."""
    need = sum(int(w) * int(h) for w, h in zip(problem.w.tolist(), problem.h.tolist(), strict=True))
    rows = [
        (cost, w * h, count)
        for cost, w, h, count in zip(
            problem.costs.tolist(), problem.sw.tolist(), problem.sh.tolist(), problem.counts.tolist(), strict=True
        )
    ]
    total = 0
    for cost, area, count in sorted(rows, key=lambda row: row[0] / row[1]):
        if count < 0 or count * area >= need:
            return total * area + need * cost, area
        total += cost * count
        need -= area * count
    return total, 1


def sheets_bound(problem: SheetProblem, kind: int, enough: int) -> int:
    """Return how many sheets of one kind the pieces need at the least; it stops looking at ``enough``.

    Three bounds: area seen through dual feasible functions (J. Carlier, F. Clautiaux, A. Moukrim, Computers & OR 34,
    2007); pieces of which no two share a sheet; and pieces of which no three do, paired as well as can be (M. A.
    Boschetti, A. Mingozzi, 4OR 1, 2003, have bounds of both kinds). From memory of the literature; each is a proof by
    itself, stated beside its code.
    """
    width, height = int(problem.sw[kind]), int(problem.sh[kind])
    best = _dual(problem, width, height)
    if best < enough:
        best = max(best, _conflicts(problem, width, height, enough))
    return best


def _dual(problem: SheetProblem, width: int, height: int) -> int:
    """Return the greatest sum over the pieces of f(w) g(h) / (f(W) g(H)), rounded up.

    A dual feasible function gives any lengths that fit a side together at most the side's own value, so that products
    of two of them fit an area.
    """
    across, full_across = _functions(np.concatenate([problem.w, problem.h]), width)
    along, full_along = _functions(np.concatenate([problem.h, problem.w]), height)
    n = len(problem.w)
    best = 0
    for f, full_f in zip(across, full_across, strict=True):
        straight = f[None, :n] * along[:, :n]
        # A piece that fits one way only counts that way; else the way in which it counts for less.
        turned = f[None, n:] * along[:, n:]
        can_turn = problem.turn & (problem.h <= width) & (problem.w <= height)
        can_stay = (problem.w <= width) & (problem.h <= height)
        value = np.where(can_turn & can_stay, np.minimum(straight, turned), np.where(can_turn, turned, straight))
        sums = value.sum(axis=1)
        best = max(best, int((-(-sums // (full_f * full_along))).max()))
    return best


def _functions(sizes: Vector, side: int) -> tuple[Vector, Vector]:
    """Return dual feasible functions of a side (f, sizes) and the value of the side itself (f).

    For a parameter k: sizes below k count nothing and those above side - k wholly; or sizes count in steps of k, those
    above one half by what they leave.
    """
    inner = np.unique(np.minimum(sizes, side - sizes))
    inner = inner[(inner > 0) & (2 * inner <= side)]
    inner = np.unique(np.concatenate([inner, inner + 1]))
    inner = inner[2 * inner <= side]
    if len(inner) > _MOST_SCALES:
        inner = inner[np.linspace(0, len(inner) - 1, _MOST_SCALES).astype(np.int64)]
    rows = [np.minimum(sizes, side)]
    full = [side]
    for k in inner.tolist():
        rows.append(np.where(sizes > side - k, side, np.where(sizes < k, 0, sizes)))
        full.append(side)
        steps = side // k
        rest = np.maximum(side - sizes, 0)
        rows.append(
            np.where(2 * sizes > side, 2 * (steps - rest // k), np.where(2 * sizes == side, steps, 2 * (sizes // k)))
        )
        full.append(2 * steps)
    return np.array(rows, np.int64), np.array(full, np.int64)


def _conflicts(problem: SheetProblem, width: int, height: int, enough: int) -> int:
    n = len(problem.w)
    apart = np.ones((n, n), np.bool_)
    for w1, h1, may1 in ((problem.w, problem.h, np.ones(n, np.bool_)), (problem.h, problem.w, problem.turn)):
        for w2, h2, may2 in ((problem.w, problem.h, np.ones(n, np.bool_)), (problem.h, problem.w, problem.turn)):
            inside = ((w1 <= width) & (h1 <= height) & may1)[:, None] & ((w2 <= width) & (h2 <= height) & may2)[None, :]
            beside = (w1[:, None] + w2[None, :] <= width) | (h1[:, None] + h2[None, :] <= height)
            apart &= ~(inside & beside)
    np.fill_diagonal(apart, val=False)
    best = _clique(apart)
    if best >= enough:
        return best
    # Pieces of which three have more area than a sheet: a sheet holds two of them at most.
    area = problem.w * problem.h
    order = np.argsort(-area, kind="stable")
    for size in range(n, 2, -1):
        if int(area[order[size - 3 : size]].sum()) > width * height:
            return max(best, size - _matching(~apart, order[:size].tolist()))
    return best


def _clique(apart: npt.NDArray[np.bool_]) -> int:
    """Return the size of a large set of pieces of which no two share a sheet: the largest, if few steps find it."""
    n = len(apart)
    rows = [sum(1 << j for j in np.flatnonzero(apart[i]).tolist()) for i in range(n)]
    order = sorted(range(n), key=lambda i: -rows[i].bit_count())
    best = 0
    steps = 0

    def grow(size: int, allowed: int) -> None:
        nonlocal best, steps
        best = max(best, size)
        steps += 1
        for i in order:
            if steps > _CLIQUE_STEPS or size + allowed.bit_count() <= best:
                return
            if allowed >> i & 1:
                grow(size + 1, allowed & rows[i])
                allowed &= ~(1 << i)

    grow(0, (1 << n) - 1)
    return best


def _matching(together: npt.NDArray[np.bool_], members: list[int]) -> int:
    """Return a bound from above on how many pairs of these pieces can share sheets: the greatest matching.

    Solved as an integer program, whose linear bound is enough where the search does not end.
    """
    from ortools.linear_solver import pywraplp

    solver = pywraplp.Solver.CreateSolver("SCIP")
    solver.SetSolverSpecificParametersAsString("limits/totalnodes = 200\n")
    rows = {i: solver.Constraint(0.0, 1.0) for i in members}
    objective = solver.Objective()
    objective.SetMaximization()
    for position, i in enumerate(members):
        for j in members[position + 1 :]:
            if together[i, j]:
                pair = solver.BoolVar("")
                rows[i].SetCoefficient(pair, 1.0)
                rows[j].SetCoefficient(pair, 1.0)
                objective.SetCoefficient(pair, 1.0)
    solver.Solve()
    return int(objective.BestBound() + 1e-6)
