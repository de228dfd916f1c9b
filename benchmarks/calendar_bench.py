"""Calendars in a warm process: six cars on thirty evenings beside the greedy one, and shops beside a plain model."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tests.calendar.batches import batch

from benchmarks.harness import Measured, measure
from carwright.calendar.shop import Shop, ShopStep
from carwright.calendar.shopsolve import solve_shop
from carwright.calendar.solve import earliest_calendar, make_calendar

__all__ = ["benches", "seeded_shop"]

SEEDS = range(1, 21)


def _lots(seed: int) -> Iterator[float]:
    while True:
        seed = seed * 16807 % 2147483647
        yield seed / 2147483647


def seeded_shop(jobs: int, machines: int, *, times: int, orders: int) -> Shop:
    """Return a shop by the published scheme (E. Taillard, EJOR 64 (1993)): minutes 1 to 99, machines shuffled."""
    lots = _lots(times)
    minutes = [[1 + int(next(lots) * 99) for _ in range(machines)] for _ in range(jobs)]
    lots, rows = _lots(orders), []
    for n in range(jobs):
        order = list(range(machines))
        for k in range(machines):
            other = k + int(next(lots) * (machines - k))
            order[k], order[other] = order[other], order[k]
        rows.append(tuple(ShopStep(m, minutes[n][k]) for k, m in enumerate(order)))
    return Shop(tuple(str(n) for n in range(machines)), (1,) * machines, tuple(rows))


def _plain(shop: Shop, seconds: float) -> tuple[int, int]:
    """Return makespan and bound of the model as one writes it down, two workers by the clock."""
    from ortools.sat.python import cp_model

    model: Any = cp_model.CpModel()
    horizon = sum(step.minutes for job in shop.jobs for step in job)
    end = model.new_int_var(0, horizon, "")
    machines: dict[int | None, list[Any]] = {}
    for job in shop.jobs:
        before: Any = 0
        for step in job:
            start = model.new_int_var(0, horizon, "")
            model.add(start >= before)
            machines.setdefault(step.facility, []).append(model.new_fixed_size_interval_var(start, step.minutes, ""))
            before = start + step.minutes
        model.add(end >= before)
    for intervals in machines.values():
        model.add_no_overlap(intervals)
    model.minimize(end)
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = seconds
    solver.solve(model)
    return round(solver.objective_value), round(solver.best_objective_bound)


def benches() -> Iterator[Measured]:
    """Yield a calendar of each seed, with how it ends beside the greedy one; and shops with both gaps in their name."""
    for seed in SEEDS:
        lot = batch(seed)
        made, greedy = make_calendar(lot), earliest_calendar(lot)
        said = f"{made.status}, ends {made.last_day}, not before {made.bound}, greedy {greedy and greedy.last_day}"
        yield measure(f"six cars, seed {seed}: {said}", lambda lot=lot: make_calendar(lot), runs=1, warm_up=0)
    for seed in (101, 103, 105):
        shop = seeded_shop(15, 10, times=seed, orders=seed + 1000)
        answer, (most, least) = solve_shop(shop), _plain(shop, 10.0)
        gaps = f"gap {answer.makespan / answer.bound - 1:.3f}, plain model {most / least - 1:.3f}"
        yield measure(f"job shop 15 x 10, seed {seed}: {gaps}", lambda shop=shop: solve_shop(shop), runs=1, warm_up=0)
