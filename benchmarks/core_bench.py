"""The engine in a warm process: a plan from a car that was never seen before, and the chance of both ends."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from pathlib import Path

import numpy as np

import carwright
from benchmarks.harness import Measured, Promise, measure
from carwright.car.read import read_car
from carwright.plan import make_plan
from carwright.ride import chance
from carwright.ride.chance import Cloud, Doubt

__all__ = ["benches"]

CAR = Path(carwright.__file__).parent / "demo" / "boxcar.toml"

DOUBTS = (
    Doubt(1.21, -0.21, 0.0508, "rect"),
    Doubt(-0.21, 1.21, 0.0508, "rect"),
    Doubt(1.21, -0.21, 0.0254, "rect"),
    Doubt(-0.21, 1.21, 0.0254, "rect"),
    Doubt(-1.0, 0.0, 0.0508, "rect"),
    Doubt(0.0, -1.0, 0.0508, "rect"),
    Doubt(1.21, -0.21, 0.0254, "normal"),
    Doubt(-0.21, 1.21, 0.0254, "normal"),
    Doubt(0.5, -0.5, 0.02, "tri"),
    Doubt(0.3, 0.1, 0.02, "rect"),
)
ERROR_A, ERROR_B, LIMIT = -0.15, 0.12, 0.254


def _fresh_cars() -> Iterator[str]:
    """Yield car files that differ in a reading, so that no answer can have been kept from before."""
    text = CAR.read_text(encoding="utf-8")
    for number in count():
        yield text.replace('seat_height = "0.278"', f'seat_height = "{0.27 + number % 2000 * 1e-5:.5f}"')


def _plain(samples: int) -> float:
    """Return the same chance by a matrix of samples, one row a car and one column a doubt."""
    generator = np.random.default_rng(1)
    columns = []
    for doubt in DOUBTS:
        if doubt.distribution == "rect":
            columns.append(generator.uniform(-doubt.tolerance_mm, doubt.tolerance_mm, samples))
        elif doubt.distribution == "tri":
            columns.append(generator.triangular(-doubt.tolerance_mm, 0.0, doubt.tolerance_mm, samples))
        else:
            columns.append(generator.normal(0.0, doubt.tolerance_mm / 2, samples))
    matrix = np.stack(columns, axis=1)
    sensitivities = np.array([[doubt.at_a, doubt.at_b] for doubt in DOUBTS])
    deviations = matrix @ sensitivities
    inside = (np.abs(deviations[:, 0] + ERROR_A) <= LIMIT) & (np.abs(deviations[:, 1] + ERROR_B) <= LIMIT)
    return float(inside.mean())


def _lattice(samples: int) -> chance.Chance:
    return Cloud(DOUBTS, samples=samples).chance(
        error_a_mm=ERROR_A, error_b_mm=ERROR_B, limit_a_mm=LIMIT, limit_b_mm=LIMIT
    )


def _to_standard_error(wanted: float) -> int:
    """Return the least number of samples whose standard error, estimated from the shifts, is what is wanted."""
    samples = chance.SHIFTS * 64
    while _lattice(samples).standard_error > wanted:
        samples *= 2
    return samples


def benches() -> Iterator[Measured]:
    """Yield the plan of a fresh car, and the joint chance against plain sampling at the same number of samples."""
    cars = _fresh_cars()
    yield measure(
        "read and plan a fresh car",
        lambda: make_plan(read_car(next(cars), file="car.toml")),
        runs=200,
        warm_up=3,
        promises=(),
    )
    read = (read_car(text, file="car.toml") for text in cars)
    stock = [next(read) for _ in range(210)]
    waiting = iter(stock)
    yield measure(
        "plan a fresh car",
        lambda: make_plan(next(waiting)),
        runs=200,
        warm_up=3,
        promises=(Promise("median_ms", 40), Promise("p95_ms", 60)),
    )
    samples = _to_standard_error(0.001)
    yield measure(
        f"joint chance to a standard error of 0.001 ({samples} points)",
        lambda: _lattice(samples),
        runs=50,
        promises=(Promise("median_ms", 40),),
    )
    many = 1 << 18
    yield measure(
        f"joint chance of {many} cars",
        lambda: _lattice(many),
        runs=15,
        beside=("plain n x 10 matrix", lambda: _plain(many)),
        promises=(Promise("ratio", 3),),
    )
