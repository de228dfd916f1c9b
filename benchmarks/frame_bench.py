"""Interference in a warm process: all pairs of the boxcar's parts, trucks swung and rocked, and a car with clashes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import carwright
from benchmarks.harness import Measured, Promise, measure
from carwright.car.model import Car, Ends
from carwright.car.read import read_car
from carwright.frame.underframe import usual_swing
from carwright.plan import Plan, make_plan
from carwright.plan.interference import Interference, interference
from carwright.ride.stack import spec_of

__all__ = ["benches"]

CAR = Path(carwright.__file__).parent / "demo" / "boxcar.toml"
SPOILED = '\n[[piece]]\nname = "center_sill"\nthickness = "0.147"\nwidth = "0.6"\n'
"""A sill so wide that cross members, train line and brake gear stand in it."""


def _again(plan: Plan) -> Interference:
    """Return the interference of a plan's pieces, reckoned again."""
    car = plan.car
    specs = Ends(spec_of(car, "a"), spec_of(car, "b"))
    return interference(car, plan.pieces, plan.holes, specs, plan.ride, usual_swing())


def _car(more: str = "") -> Car:
    return read_car(CAR.read_text(encoding="utf-8") + more, file="car.toml")


def benches() -> Iterator[Measured]:
    """Yield the interference of the boxcar, of the same with clashes, and the plan of the latter."""
    good, spoiled = make_plan(_car()), make_plan(_car(SPOILED))
    yield measure(
        f"interference of {good.interference.parts.value:.0f} parts, both trucks swung and rocked",
        lambda: _again(good),
        runs=50,
        promises=(Promise("median_ms", 100),),
    )
    yield measure(
        f"the same where {len(spoiled.interference.meetings)} pairs clash, with their mends",
        lambda: _again(spoiled),
        runs=11,
    )
