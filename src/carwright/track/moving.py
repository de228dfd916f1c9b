"""Which sizes move a worst figure: each is moved a little, and the figure looked at again near its worst place.

A number's working holds only what can move it. A car that stands wholly on the straight while the one before it enters
the curve, say, has truck centres that move nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from carwright.track.path import Floats, Path
from carwright.track.placing import CarEnd, Vehicle, coupled, stand
from carwright.track.sweep import car_figures, pair_figures

__all__ = ["Spot", "moving_sizes"]

_WINDOW: Final = np.linspace(-3.0, 3.0, 21)
"""Places looked at round a worst one, mm: as far as its place moves with a size by a hundredth."""

_STEP: Final = 0.01
_STILL: Final = 1e-5
"""Degrees or mm: what moves less does not move; places are solved to far below it."""

_OF_END: Final = {
    "truck": "truck_mm",
    "wheelbase": "wheelbase_mm",
    "coupler": "coupler_mm",
    "link": "link_mm",
    "swing": "swing_deg",
    "travel": "travel_mm",
}


@dataclass(frozen=True, slots=True)
class Spot:
    """A figure of a sweep and where it is at its worst: length along the path to the first axle, mm."""

    figure: str
    s_first_mm: float


def moving_sizes(
    path: Path, spots: Sequence[Spot], car: Vehicle, other: Vehicle | None, *, slack_mm: float
) -> tuple[tuple[frozenset[str], frozenset[str], bool], ...]:
    """Return for each spot the sizes of the first and of the second car that move it, and whether slack does.

    Args:
        path: the track.
        spots: figures at their worst.
        car: the front car.
        other: the rear car, or None.
        slack_mm: by which the heads run together in a push.

    Returns:
        Sizes by name: "truck_a", "wheelbase_a", "coupler_a", "link_a", "swing_a", "travel_a", likewise b; "length",
        "width".
    """
    with np.errstate(all="ignore"):  # a car that cannot stand somewhere comes out as not a number
        before = _worst_near(path, spots, car, other, slack_mm)
        first: list[set[str]] = [set() for _ in spots]
        second: list[set[str]] = [set() for _ in spots]
        for found, one, front in ((first, car, True), (second, other, False)):
            for name in () if one is None else _known(one):
                assert one is not None
                for step in (_STEP, -_STEP):  # the lesser of two stops moves a figure to one side only
                    moved = _moved(one, name, step)
                    pair = (moved, other) if front else (car, moved)
                    after = _worst_near(path, spots, pair[0], pair[1], slack_mm)
                    for place in np.flatnonzero(~(np.abs(after - before) <= _STILL)):
                        found[place].add(name)
        after = _worst_near(path, spots, car, other, slack_mm + _STEP)
        slides = ~(np.abs(after - before) <= _STILL)
    return tuple(
        (frozenset(one), frozenset(two), bool(slid)) for one, two, slid in zip(first, second, slides, strict=True)
    )


def _known(car: Vehicle) -> tuple[str, ...]:
    names = [name for name in ("length", "width") if getattr(car, f"{name}_mm") is not None]
    for letter, end in (("a", car.a), ("b", car.b)):
        names += [f"{what}_{letter}" for what, field in _OF_END.items() if getattr(end, field) is not None]
    return tuple(names)


def _moved(car: Vehicle, name: str, step: float) -> Vehicle:
    """Return the car with one size larger by a part of it."""
    if name == "length" and car.length_mm is not None:
        return replace(car, length_mm=car.length_mm * (1.0 + step))
    if name == "width" and car.width_mm is not None:
        return replace(car, width_mm=car.width_mm * (1.0 + step))
    what, _, letter = name.rpartition("_")
    end: CarEnd = car.a if letter == "a" else car.b
    size: float = getattr(end, _OF_END[what])
    change: dict[str, Any] = {_OF_END[what]: size * (1.0 + step) if size else abs(step)}
    longer = replace(end, **change)
    return replace(car, a=longer) if letter == "a" else replace(car, b=longer)


def _worst_near(path: Path, spots: Sequence[Spot], car: Vehicle, other: Vehicle | None, slack_mm: float) -> Floats:
    """Return the greatest value of each spot's figure near it; a gap is negated."""
    s = np.array([spot.s_first_mm for spot in spots])[:, None] + _WINDOW[None, :]
    standing = stand(path, s, car)
    figures = car_figures(path, standing, car)
    if other is not None:
        push = any("push" in spot.figure for spot in spots)
        joint = coupled(path, standing, car, other)
        figures |= pair_figures(path, joint, car, other, slack_mm=slack_mm, push=push)
    found = np.full(len(spots), np.nan)
    for row, spot in enumerate(spots):
        values = figures.get(spot.figure)
        if values is not None and np.any(np.isfinite(values[row])):
            found[row] = np.nanmax(values[row])
    return found
