"""Cars on a curve in a warm process: a long track with two coupled cars, and a sweep for the least radius."""

from __future__ import annotations

import math
from collections.abc import Iterator

from benchmarks.harness import Measured, Promise, measure
from carwright.track.limits import least_radii
from carwright.track.path import Arc, Easement, Leg, Path
from carwright.track.placing import CarEnd, Vehicle
from carwright.track.sweep import along

__all__ = ["benches"]

_END = CarEnd(57.15, 19.247, 71.4375, 9.906, math.degrees(math.asin(0.10 / 0.39)))
CAR = Vehicle(_END, _END, 155.575, 31.75)
RADIUS_MM = 457.2


def _track(rounds: int) -> Path:
    """Return a track of about 2 m for each round: curves both ways, straights and easements."""
    bend = 1.0 / RADIUS_MM
    once: list[Leg] = [
        Arc(700.0, bend),
        Arc(200.0),
        Easement(RADIUS_MM, 200.0, False),
        Arc(400.0, -bend),
        Easement(RADIUS_MM, 200.0, False, True),
        Arc(216.0),
    ]
    return Path([Arc(500.0), *(once * rounds)])


def benches() -> Iterator[Measured]:
    """Yield two cars along 12 m, placed every 5 mm and refined; the same on half of it; the least radii."""
    long, half = _track(6), _track(3)
    yield measure(
        f"two coupled cars along {long.length_mm / 1000:.1f} m, every 5 mm, peaks refined",
        lambda: along(long, CAR, CAR),
        runs=11,
        promises=(Promise("median_ms", 300),),
    )
    yield measure(
        f"the same along {half.length_mm / 1000:.1f} m",
        lambda: along(half, CAR, CAR),
        runs=11,
    )
    yield measure(
        "least radius to 1 mm, where a curve begins",
        lambda: least_radii(CAR, CAR, places=("entry",)),
        runs=7,
        promises=(Promise("median_ms", 500),),
    )
    yield measure(
        "least radii on the steady curve, at its beginning and in a bare reverse",
        lambda: least_radii(CAR, CAR),
        runs=3,
    )
