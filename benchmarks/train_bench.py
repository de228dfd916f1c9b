"""A train of a hundred cars in a warm process: all alike, and each unlike its neighbours, on a curve and a track."""

from __future__ import annotations

from collections.abc import Iterator

from benchmarks.harness import Measured, Promise, measure
from carwright.plan.train import train_study
from carwright.plan.traindocument import train_document
from carwright.track.trackfile import read_track
from carwright.weight.amounts import grade_of
from carwright.weight.consist import read_consist
from carwright.working import typed

__all__ = ["benches"]

_HEAD = '[train]\nlocomotive_pull = "3 N"\n'
TRACK = """
[[track.segment]]
straight = "60 in"
[[track.segment]]
easement = "left"
radius = "24 in"
length = "10 in"
[[track.segment]]
curve = "left"
radius = "24 in"
angle = 90
[[track.segment]]
straight = "8 in"
[[track.segment]]
curve = "right"
radius = "20 in"
angle = 60
[[track.segment]]
straight = "60 in"
"""


def unlike(many: int) -> str:
    """Return a consist in which no two cars have the same size."""
    cars = "".join(
        f'\n[[train.car]]\nname = "Car"\nmass = "{70 + n % 40} g"\nlength = "{4.5 + 0.03 * n:.2f}"\n'
        f'pivot_inset = "0.25"\ncenters = "{3.2 + 0.025 * n:.3f}"\n'
        for n in range(many)
    )
    return _HEAD + cars


def benches() -> Iterator[Measured]:
    """Yield the study from the consist's text to its JSON."""
    alike = unlike(1) + "count = 100\n"
    track, grade = read_track(TRACK), grade_of("2.5%")
    radius = typed(457.2, "radius", key="--radius", text="18 in")

    def on_track(text: str) -> None:
        train_document(train_study(read_consist(text), {}, grade=grade, track=track)).as_json()

    def on_radius(text: str) -> None:
        train_document(train_study(read_consist(text), {}, grade=grade, radius=radius)).as_json()

    promise = (Promise("median_ms", 500),)
    yield measure("train of 100 cars alike, on a radius", lambda: on_radius(alike), runs=7, promises=promise)
    yield measure("train of 100 cars alike, on a track", lambda: on_track(alike), runs=7, promises=promise)
    yield measure("train of 100 unlike cars, on a track", lambda: on_track(unlike(100)), runs=7, promises=promise)
