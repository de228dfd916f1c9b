"""Weight in a warm process: one car weighed, and ballast chosen for twelve cavities from eight materials."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import replace
from importlib import resources

from benchmarks.harness import Measured, Promise, measure
from carwright.car.read import read_car
from carwright.plan.weighing import weigh
from carwright.weight.choice import Filling, Task, choose

__all__ = ["benches"]

_SHEETS = ((0.8, 11.34), (1.6, 11.34), (3.2, 11.34), (1.0, 7.85), (2.0, 7.85), (3.0, 8.49), (1.5, 10.0), (3.0, 6.9))
"""Thickness in mm and density in g/cm3 of eight stocks: lead, steel, brass, putty, shot."""


def _task(seed: int) -> tuple[Task, list[Filling]]:
    """Return twelve cavities of an HO car, some in pairs, and every filling of them in up to six layers."""
    draw = random.Random(seed)  # noqa: S311 - seeded on purpose, nothing is secret
    fillings: list[Filling] = []
    along = []
    for cavity in range(12):
        area, high, base = draw.uniform(80, 800), draw.uniform(2, 8), draw.uniform(8, 30)
        sides = draw.choice((1, 2))
        along.append(draw.uniform(-60, 60) / 57.0)
        for stock, (thick, density) in enumerate(_SHEETS):
            layer = area * thick * density / 1000.0 * sides
            for k in range(1, min(6, int(high / thick)) + 1):
                fillings.append(
                    Filling(cavity, stock, layer * k, base + k * thick / 2.0, k * sides, least_g=layer * (k - 1))
                )
    task = Task(75.0, tuple(along), (0.0,) * 12, 2.0, 0.0, 5.0, 3.81, (math.inf,) * len(_SHEETS))
    return task, fillings


def benches() -> Iterator[Measured]:
    """Yield the boxcar weighed, and the choice of ballast for three cars of twelve cavities."""
    car = read_car(resources.files("carwright.demo").joinpath("boxcar.toml").read_bytes(), file="boxcar.toml")
    yield measure("weigh the boxcar", lambda: weigh(car), runs=21, promises=(Promise("median_ms", 50),))
    for seed in (1, 2, 3):
        task, fillings = _task(seed)
        assert choose(task, fillings).proven
        yield measure(
            f"ballast for 12 cavities from 8 materials, proven, case {seed}",
            lambda task=task, fillings=fillings: choose(task, fillings),  # type: ignore[misc]  # bound now, not later
            runs=5,
            promises=(Promise("median_ms", 1000),),
        )
        draw = random.Random(seed)  # noqa: S311 - seeded on purpose, nothing is secret
        scarce = replace(task, supply_g=tuple(draw.uniform(5, 25) for _ in _SHEETS))
        yield measure(
            f"the same from a shelf that runs out, case {seed}",
            lambda task=scarce, fillings=fillings: choose(task, fillings),  # type: ignore[misc]  # bound now, not later
            runs=3,
        )
