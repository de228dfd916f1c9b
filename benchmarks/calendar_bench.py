"""Calendars in a warm process: six cars on thirty evenings beside the greedy one, and shops beside a plain model."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

from tests.calendar.batches import batch

from benchmarks.harness import Measured, measure
from carwright.calendar.batch import Batch, Calendar
from carwright.calendar.shop import Shop, ShopAnswer, ShopStep
from carwright.calendar.shopsolve import solve_shop
from carwright.calendar.solve import earliest_calendar, make_calendar

__all__ = ["benches", "seeded_shop"]

SEEDS = range(1, 21)
AGAIN = 3
"""Of so many seeds the plan is made again after a missed evening."""

SHOPS = (101, 103, 105, 107)


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


def _missed(lot: Batch, made: Calendar) -> tuple[Batch, dict[tuple[str, str], date]]:
    """Return the batch on its fourth evening, which was missed, with what was done before, and the days of it all."""
    places = {(each.step.car, each.step.id): each for each in made.placed}
    gone = {each.start for each in lot.evenings[:4]}
    steps = []
    for step in lot.steps:
        place = places[step.car, step.id]
        done = place.evening is not None and place.evening < 3
        steps.append(replace(step, done_at=place.end) if done else step)
    left = tuple(each for each in lot.evenings if each.start not in gone)
    return Batch(tuple(steps), left, lot.rules), {key: each.start.date() for key, each in places.items()}


def benches() -> Iterator[Measured]:
    """Yield a calendar of each seed beside the greedy one, plans made again, and shops beside a plain model."""
    for seed in SEEDS:
        lot = batch(seed)
        made, greedy = make_calendar(lot), earliest_calendar(lot)
        said = f"{made.status}, ends {made.last_day}, not before {made.bound}, greedy {greedy and greedy.last_day}"
        yield measure(f"six cars, seed {seed}: {said}", lambda lot=lot: make_calendar(lot), runs=1, warm_up=0)
        if seed <= AGAIN:
            later, days = _missed(lot, made)
            again = make_calendar(later, work=4.0, before=days)
            said = f"{again.status}, moved {again.moved and again.moved.value} min"
            yield measure(
                f"an evening missed, seed {seed}: {said}",
                lambda later=later, days=days: make_calendar(later, work=4.0, before=days),
                runs=1,
                warm_up=0,
            )
    ours, plain = [], []
    for seed in SHOPS:
        shop = seeded_shop(15, 10, times=seed, orders=seed + 1000)
        answers: list[ShopAnswer] = []
        measured = measure("", lambda shop=shop, answers=answers: answers.append(solve_shop(shop)), runs=1, warm_up=0)
        most, least = _plain(shop, measured.median_ms / 1000.0)
        ours.append(answers[0].makespan / answers[0].bound - 1.0)
        plain.append(most / least - 1.0)
        gaps = f"gap {ours[-1]:.3f}, plain model in the same time {plain[-1]:.3f}"
        mean = f"mean so far {sum(ours) / len(ours):.3f} and {sum(plain) / len(plain):.3f}"
        yield replace(measured, name=f"job shop 15 x 10, seed {seed}: {gaps}; {mean}")
