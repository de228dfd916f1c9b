"""Integer programs over given columns, by branch and bound, with counted work."""

from __future__ import annotations

from typing import Literal

import numpy as np

from carwright.stock.columns import BarProblem, Bars, Vector
from carwright.stock.work import UNIT, Work

__all__ = ["cover"]

_NODE_STEPS = 100.0
"""Steps of work that a node costs for each column and row; measured, and given for the dear ones."""
_ITERATION_STEPS = 150.0
"""The same of an iteration for each column."""
_LARGE = 150_000
_LARGE_SETTINGS = """separating/maxroundsroot = 5
presolving/maxrestarts = 0
propagating/probing/maxprerounds = 0
branching/relpscost/initcand = 10
branching/relpscost/sbiterofs = 3000
"""
"""Columns by rows from which the solver's first node is kept short: by itself it would try every branch at length."""
_SHARE = 0.5


def cover(
    problem: BarProblem, fills: Vector, stocks: Vector, *, least: int, most: int, work: Work, trimmed: bool = True
) -> tuple[Bars | None, Literal["proven", "open"]]:
    """Return the cheapest plan over the given columns that costs ``least`` to ``most``, None if none was found.

    "proven" says that the search was whole: the plan is the cheapest over these columns, or none exists. The columns
    may hold more of a piece than is wanted; what is too much is left out of the plan's bars.

    Args:
        problem: the cutting problem.
        fills: columns (b, n).
        stocks: stock of each (b).
        least: no plan costs less.
        most: plans above are not wanted.
        work: counts what was done.
        trimmed: whether what is too much is taken out of the bars again; else they are the columns themselves.
    """
    if not len(fills):
        return None, "proven"
    from ortools.linear_solver import pywraplp

    solver = pywraplp.Solver.CreateSolver("SCIP")
    infinity = solver.infinity()
    size = (len(fills) + 100) * (len(problem.d) + 20)
    nodes = int(1 + _SHARE * work.left * UNIT / (_NODE_STEPS * size))
    settings = f"limits/totalnodes = {nodes}\nmisc/catchctrlc = TRUE\n"
    solver.SetSolverSpecificParametersAsString(settings + (_LARGE_SETTINGS if size > _LARGE else ""))
    if work.deadline_ms is not None:
        solver.SetTimeLimit(max(1, work.deadline_ms()))
    x = [solver.IntVar(0.0, float(each), "") for each in _most_times(problem, fills, stocks)]
    for i, wanted in enumerate(problem.d.tolist()):
        row = solver.Constraint(float(wanted), infinity)
        for b in np.flatnonzero(fills[:, i]).tolist():
            row.SetCoefficient(x[b], float(fills[b, i]))
    for s in np.flatnonzero(problem.counts >= 0).tolist():
        row = solver.Constraint(-infinity, float(problem.counts[s]))
        for b in np.flatnonzero(stocks == s).tolist():
            row.SetCoefficient(x[b], 1.0)
    objective = solver.Objective()
    objective.SetMinimization()
    ends = solver.Constraint(float(least), float(most))
    for b, s in enumerate(stocks.tolist()):
        objective.SetCoefficient(x[b], float(problem.costs[s]))
        ends.SetCoefficient(x[b], float(problem.costs[s]))
    status = solver.Solve()
    work.spend(_ITERATION_STEPS * (len(fills) + 100) * (50 + solver.iterations()))
    if status == pywraplp.Solver.INFEASIBLE:
        return None, "proven"
    if status != pywraplp.Solver.OPTIMAL and solver.nodes() < nodes:
        # Ended before its nodes were used up: by Ctrl-C, which the solver hears itself, or by the clock.
        work.stopped = True
    if status not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
        return None, "open"
    times = np.array([round(each.solution_value()) for each in x], np.int64)
    chosen = np.repeat(fills, times, axis=0)
    kinds = np.repeat(stocks, times)
    if bool((chosen.sum(axis=0) < problem.d).any()):
        return None, "open"
    bars = _trimmed(problem, chosen, kinds) if trimmed else Bars(chosen, kinds, int(problem.costs[kinds].sum()))
    return bars, "proven" if status == pywraplp.Solver.OPTIMAL else "open"


def _most_times(problem: BarProblem, fills: Vector, stocks: Vector) -> list[int]:
    """Return how often each column can be needed: until its last piece is covered, or its stock is used up."""
    most = []
    for fill, stock in zip(fills, stocks.tolist(), strict=True):
        held = np.flatnonzero(fill)
        times = max((-(-int(problem.d[i]) // int(fill[i])) for i in held), default=0)
        most.append(min(times, int(problem.counts[stock])) if problem.counts[stock] >= 0 else times)
    return most


def _trimmed(problem: BarProblem, fills: Vector, stocks: Vector) -> Bars:
    """Return the plan with what is too much taken out of its last bars, and bars left out that hold nothing."""
    fills = fills.copy()
    over = fills.sum(axis=0) - problem.d
    for b in range(len(fills) - 1, -1, -1):
        cut = np.minimum(over, fills[b])
        fills[b] -= cut
        over -= cut
    kept = fills.any(axis=1)
    return Bars(fills[kept], stocks[kept], int(problem.costs[stocks[kept]].sum()))
