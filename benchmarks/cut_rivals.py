"""What cutting plans are compared with: the rules every textbook has, two models for solvers, and a rectangle packer.

They are written the straightforward way, by the book, and are given a few seconds of the clock each.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from benchmarks.contest import Outcome
from benchmarks.cut_families import BarTask, SheetTask

__all__ = ["arc_flow", "best_fit", "constraint_model", "first_fit", "packer"]

SECONDS = 3.0
"""Of the clock, for the model solvers on one task."""
_MOST_ARCS = 150_000


def first_fit(task: BarTask) -> Outcome:
    """Return first-fit decreasing: each piece, longest first, into the first bar in use that has room."""
    return _fit(task, tightest=False)


def best_fit(task: BarTask) -> Outcome:
    """Return best-fit decreasing: each piece, longest first, into the fullest bar in use that has room."""
    return _fit(task, tightest=True)


def _fit(task: BarTask, *, tightest: bool) -> Outcome:
    """Return the cheaper of three rules of which bar to open: least cost for its length, shortest, longest."""
    pieces = [length for length, number in sorted(task.items, reverse=True) for _ in range(number)]
    openings = (
        sorted(task.stocks, key=lambda stock: (stock[1] / stock[0], stock[0])),
        sorted(task.stocks),
        sorted(task.stocks, reverse=True),
    )
    costs = [cost for stocks in openings if (cost := _opened(pieces, stocks, task.kerf, tightest=tightest)) is not None]
    return Outcome(min(costs, default=None))


def _opened(
    pieces: Sequence[int], stocks: Sequence[tuple[int, int, int | None]], kerf: int, *, tightest: bool
) -> int | None:
    left = [count for _, _, count in stocks]
    rooms: list[int] = []
    cost = 0
    for piece in pieces:
        fits = [b for b, room in enumerate(rooms) if room >= piece + kerf]
        if fits:
            rooms[min(fits, key=lambda b: rooms[b]) if tightest else fits[0]] -= piece + kerf
            continue
        for s, (length, price, _) in enumerate(stocks):
            if length >= piece and left[s] != 0:
                left[s] = None if left[s] is None else left[s] - 1  # type: ignore[operator]  # None was asked for
                rooms.append(length - piece)
                cost += price
                break
        else:
            return None
    return cost


def constraint_model(task: BarTask) -> Outcome:
    """Return what CP-SAT finds: how many of each piece are in each bar, and which stock each bar is."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    most = _bars_needed(task)
    caps = [length + task.kerf for length, _, _ in task.stocks]
    taken = [[model.new_bool_var("") for _ in task.stocks] for _ in range(most)]
    held = [[model.new_int_var(0, number, "") for _, number in task.items] for _ in range(most)]
    for b in range(most):
        model.add_at_most_one(taken[b])
        length = sum((size + task.kerf) * held[b][i] for i, (size, _) in enumerate(task.items))
        model.add(length <= sum(cap * taken[b][s] for s, cap in enumerate(caps)))
        if b and len(task.stocks) == 1:
            model.add_implication(taken[b][0], taken[b - 1][0])
    for i, (_, number) in enumerate(task.items):
        model.add(sum(held[b][i] for b in range(most)) == number)
    for s, (_, _, count) in enumerate(task.stocks):
        if count is not None:
            model.add(sum(taken[b][s] for b in range(most)) <= count)
    model.minimize(sum(task.stocks[s][1] * taken[b][s] for b in range(most) for s in range(len(task.stocks))))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = SECONDS
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return Outcome(round(solver.objective_value) if found else None, math.ceil(solver.best_objective_bound - 1e-6))


def _bars_needed(task: BarTask) -> int:
    """Return how many bars are surely enough: those of first-fit decreasing into the shortest that hold each piece."""
    shortest = min((s for s in task.stocks if s[2] is None and s[0] >= task.items[0][0]), default=max(task.stocks))
    rooms: list[int] = []
    for length, number in task.items:
        for _ in range(number):
            for b, room in enumerate(rooms):
                if room >= length + task.kerf:
                    rooms[b] -= length + task.kerf
                    break
            else:
                rooms.append(shortest[0] - length)
    return len(rooms) + sum(count or 0 for _, _, count in task.stocks)


def arc_flow(task: BarTask) -> Outcome:
    """Return what SCIP finds with the arc-flow program: bars are paths from 0 along arcs as long as pieces.

    J. M. Valério de Carvalho, Annals of Operations Research 86 (1999), with an arc back to 0 from the end of each
    stock; pieces come longest first on a path. Too large a net is not tried.
    """
    from ortools.linear_solver import pywraplp

    ends = sorted({length + task.kerf for length, _, _ in task.stocks})
    nodes = {0}
    arcs: list[tuple[int, int, int]] = []
    items = sorted(task.items, reverse=True)
    for i, (size, number) in enumerate(items):
        step = size + task.kerf
        seen: set[int] = set()
        frontier = set(nodes)
        for _ in range(number):
            frontier = {at for at in frontier if at + step <= ends[-1]} - seen
            if not frontier:
                break
            arcs += [(at, at + step, i) for at in frontier]
            seen |= frontier
            frontier = {at + step for at in frontier}
            nodes |= frontier
        if len(arcs) > _MOST_ARCS:
            return Outcome(None)
    solver = pywraplp.Solver.CreateSolver("SCIP")
    solver.SetTimeLimit(int(1000 * SECONDS))
    infinity = solver.infinity()
    places = sorted(nodes | set(ends))
    flow = {at: solver.Constraint(0.0, 0.0) for at in places}
    enough = [solver.Constraint(float(number), infinity) for _, number in items]
    for start, end, i in arcs:
        x = solver.IntVar(0.0, float(items[i][1]), "")
        flow[start].SetCoefficient(x, -1.0)
        flow[end].SetCoefficient(x, 1.0)
        enough[i].SetCoefficient(x, 1.0)
    for here, there in pairwise(places):
        waste = solver.NumVar(0.0, infinity, "")
        flow[here].SetCoefficient(waste, -1.0)
        flow[there].SetCoefficient(waste, 1.0)
    objective = solver.Objective()
    objective.SetMinimization()
    most = _bars_needed(task)
    for length, cost, count in task.stocks:
        bars = solver.IntVar(0.0, float(most if count is None else count), "")
        flow[length + task.kerf].SetCoefficient(bars, -1.0)
        flow[0].SetCoefficient(bars, 1.0)
        objective.SetCoefficient(bars, float(cost))
    status = solver.Solve()
    found = status in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE)
    return Outcome(round(objective.Value()), math.ceil(objective.BestBound() - 1e-6)) if found else Outcome(None)


def packer(task: SheetTask) -> Outcome:
    """Return what the registry's rectangle packer does, sheet by sheet: the largest piece that still goes in, again.

    For values the pieces come by value for their area. It packs without regard to edge-to-edge cuts, which is an
    advantage over whoever must cut.
    """
    waiting = [(w, h, value) for w, h, number, value in task.items for _ in range(number)]
    waiting.sort(key=lambda piece: (-piece[2] / (piece[0] * piece[1]), -piece[0] * piece[1]))
    sheets = 0
    while waiting:
        inside: list[tuple[int, int]] = []
        left: list[tuple[int, int, int]] = []
        value = 0
        failed: set[tuple[int, int]] = set()
        for w, h, worth in waiting:
            ways = [] if (w, h) in failed else [(w, h), (h, w)] if task.turn else [(w, h)]
            way = next((each for each in ways if _packs([*inside, each], task.sheet)), None)
            if way is None:
                failed.add((w, h))
                left.append((w, h, worth))
            else:
                inside.append(way)
                value += worth
        if task.valued:
            return Outcome(value)
        sheets += 1
        waiting = left
    return Outcome(sheets)


def _packs(sizes: list[tuple[int, int]], sheet: tuple[int, int]) -> bool:
    import rpack  # type: ignore[import-untyped]  # it ships no types

    if sum(w * h for w, h in sizes) > sheet[0] * sheet[1]:
        return False
    try:
        rpack.pack(sizes, max_width=sheet[0], max_height=sheet[1])
    except rpack.PackingImpossibleError:
        return False
    return True
