"""The choice of ballast against brute force, and its laws.

The oracle lists every way to leave each cavity empty or give it one filling, and asks for each of them a linear program
(scipy's, which the program does not use) what its amounts can reach. It is to be trusted because it leaves nothing out.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence

import numpy as np
import pytest
from scipy.optimize import linprog

from carwright.weight.choice import Choice, Filling, Task, choose

ANY = math.inf


def task_of(need: float, along: Sequence[float], stocks: int, **more: object) -> Task:
    """Return a task with cavities in the middle across and no end of stocks, but for what ``more`` says."""
    values: dict[str, object] = {
        "need_g": need,
        "along": tuple(along),
        "across": (0.0,) * len(along),
        "lean_along_g": 0.0,
        "lean_across_g": 0.0,
        "balance_g": 2.0,
        "height_mm": 1.0,
        "supply_g": (ANY,) * stocks,
    }
    return Task(**(values | more))  # type: ignore[arg-type]  # the names are those of the record


def brute(task: Task, fillings: Sequence[Filling]) -> tuple[float, float, float, int]:
    """Return shortfall, excess of the loads, mean height of the lowest ballast, and fewest pieces within the band."""
    cavities = sorted({each.cavity for each in fillings})
    supports = [
        [each for each in picked if each is not None]
        for picked in itertools.product(*[[None, *(f for f in fillings if f.cavity == c)] for c in cavities])
    ]

    def best(aim: str, held: dict[str, float], support: list[Filling]) -> float | None:
        n = len(support)
        under, beyond = [1.0, 1.0, 0, 0, 0, 0], [0, 0, 1.0, 1.0, 1.0, 1.0]
        rows = {
            "under": [0.0] * n + under,
            "beyond": [0.0] * n + beyond,
            "moment": [each.z_mm for each in support] + [0.0] * 6,
        }
        upper, right = [], []
        for name, most in held.items():
            upper.append(rows[name])
            right.append(most)
        for lever, lean, (up, down) in (
            (task.along, task.lean_along_g, (2, 3)),
            (task.across, task.lean_across_g, (4, 5)),
        ):
            moved = [lever[each.cavity] for each in support]
            for sign, side in ((1.0, up), (-1.0, down)):
                aside = [0.0] * 6
                aside[side] = -1.0
                upper.append([sign * each for each in moved] + aside)
                right.append(task.balance_g - sign * lean)
        for stock, supply in enumerate(task.supply_g):
            if math.isfinite(supply):
                upper.append([float(each.stock == stock) for each in support] + [0.0] * 6)
                right.append(supply)
        equal = [[1.0] * n + [1.0, -1.0, 0, 0, 0, 0]]
        bounds = [(each.mass_g if each.counted else 0.0, each.mass_g) for each in support] + [(0, None)] * 6
        found = linprog(rows[aim], A_ub=np.array(upper), b_ub=right, A_eq=equal, b_eq=[task.need_g], bounds=bounds)
        return float(found.fun) if found.status == 0 else None

    def least(aim: str, held: dict[str, float]) -> float:
        values = [value for support in supports if (value := best(aim, held, support)) is not None]
        return min(values)

    short = least("under", {})
    held = {"under": short + 1e-6}
    beyond = least("beyond", held)
    held["beyond"] = beyond + 1e-6
    lowest = least("moment", held)
    placed = task.need_g - short
    held["moment"] = lowest + task.height_mm * placed + 1e-6 * max(1.0, lowest)
    pieces = min(
        sum(each.pieces for each in support) for support in supports if best("under", held, support) is not None
    )
    return short, beyond, lowest, pieces


def random_case(seed: int) -> tuple[Task, list[Filling]]:
    """Return a small task: three cavities, two sheets and, in every third one, nuts or little on the shelf."""
    draw = random.Random(seed)  # noqa: S311 - seeded on purpose, nothing is secret
    fillings: list[Filling] = []
    for cavity in range(3):
        area, base = draw.uniform(200, 900), draw.uniform(8, 14)
        for stock, (thick, density) in enumerate(((0.8, 11.34), (1.6, 11.34), (2.0, 7.85))[: 2 + seed % 2]):
            layer = area * thick * density / 1000.0
            fillings += [
                Filling(cavity, stock, layer * k, base + k * thick / 2.0, k, least_g=layer * (k - 1)) for k in (1, 2)
            ]
        if seed % 3 == 0:
            fillings += [Filling(cavity, 3, 1.7 * k, base + 1.0, k, counted=True) for k in (1, 3)]
    most = sum(max(each.mass_g for each in fillings if each.cavity == c) for c in range(3))
    supply = (draw.uniform(5, 20), ANY, ANY, ANY) if seed % 3 == 1 else (ANY,) * 4
    return (
        task_of(
            draw.uniform(0.3, 1.1) * most,
            [draw.uniform(-1, 1) for _ in range(3)],
            4,
            lean_along_g=draw.uniform(-4, 4),
            across=tuple(draw.uniform(-0.1, 0.1) for _ in range(3)),
            supply_g=supply,
        ),
        fillings,
    )


@pytest.mark.parametrize("seed", range(8))
def test_every_step_is_as_good_as_brute_force(seed: int) -> None:
    """Shortfall, loads, height and pieces are each the least that any filling of the cavities reaches."""
    task, fillings = random_case(seed)
    found = choose(task, fillings)
    short, beyond, lowest, pieces = brute(task, fillings)
    assert found.proven
    assert abs(found.short_g) == pytest.approx(short, abs=1e-3)
    assert found.least_moment_gmm == pytest.approx(lowest, rel=1e-4)
    assert found.beyond_g <= beyond + 1e-3
    assert found.pieces == pieces


@pytest.mark.parametrize("seed", range(8))
def test_a_choice_can_be_built(seed: int) -> None:
    """Each cavity holds one filling and no more than it takes, counted ones whole, no stock beyond the shelf."""
    task, fillings = random_case(seed)
    found = choose(task, fillings)
    cavities = [each.filling.cavity for each in found.used]
    assert len(cavities) == len(set(cavities))
    for each in found.used:
        assert each.mass_g <= each.filling.mass_g + 1e-6
        assert not each.filling.counted or each.mass_g == pytest.approx(each.filling.mass_g, abs=1e-5)
    for stock, supply in enumerate(task.supply_g):
        assert sum(each.mass_g for each in found.used if each.filling.stock == stock) <= supply + 1e-6


def test_ballast_goes_low_before_it_goes_into_few_pieces() -> None:
    """10 g fit under the floor in two pieces or the roof in one: with a millimetre of band they go under the floor."""
    fillings = [Filling(0, 0, 12.0, 10.0, 2), Filling(1, 0, 12.0, 40.0, 1)]
    found = choose(task_of(10.0, (0.0, 0.0), 1), fillings)
    assert [(each.filling.cavity, round(each.mass_g, 4)) for each in found.used] == [(0, 10.0)]
    near = [Filling(0, 0, 12.0, 10.0, 2), Filling(1, 0, 12.0, 10.8, 1)]
    assert choose(task_of(10.0, (0.0, 0.0), 1), near).pieces == 1


def test_what_does_not_fit_is_said_to_the_gram() -> None:
    """Two cavities that hold 12 g and 5 g leave 3 g of 20 g missing."""
    found = choose(task_of(20.0, (0.0, 0.0), 1), [Filling(0, 0, 12.0, 10.0, 1), Filling(1, 0, 5.0, 10.0, 1)])
    assert found.short_g == pytest.approx(3.0, abs=1e-5)
    assert found.proven


def test_nuts_are_used_whole() -> None:
    """2 g each: 7 g wanted are met by three or four of them, a gram off either way."""
    fillings = [Filling(0, 0, 2.0 * n, 10.0, n, counted=True) for n in range(1, 6)]
    found = choose(task_of(7.0, (0.0,), 1), fillings)
    assert abs(found.short_g) == pytest.approx(1.0, abs=1e-5)


def test_a_lean_is_made_good_where_it_can_be() -> None:
    """A car 8 g heavier at A gets its 20 g so that both trucks carry alike: 6 g at A, 14 g at B."""
    fillings = [Filling(0, 0, 20.0, 10.0, 1), Filling(1, 0, 20.0, 10.0, 1)]
    found: Choice = choose(task_of(20.0, (1.0, -1.0), 1, lean_along_g=8.0), fillings)
    assert [round(each.mass_g, 4) for each in found.used] == [6.0, 14.0]
    assert found.beyond_g == 0.0


def test_nothing_is_chosen_where_nothing_is_wanted() -> None:
    """A car that is heavy enough, or has no room, gets no ballast."""
    assert choose(task_of(-3.0, (0.0,), 1), [Filling(0, 0, 5.0, 10.0, 1)]).used == ()
    empty = choose(task_of(3.0, (), 1), [])
    assert (empty.used, empty.short_g) == ((), 3.0)
