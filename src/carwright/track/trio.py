"""A car between two others on a path: where its couplers draw it hardest to one side.

A coupler under a pull T draws its car toward the side to which it points: with T sin a, at the coupler's height h above
the rail. What counts is the sum s = h1 sin a1 + h2 sin a2 of both couplers, toward one side; it is looked for along the
whole path, for many cars of unlike length and neighbours at once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, cast

import numpy as np

from carwright.track.path import Arc, Floats, Path
from carwright.track.placing import CarEnd, Joint, Standing, Vehicle, coupled, coupled_ahead, stand
from carwright.track.sweep import Figures, peaks_of_rows

__all__ = ["SidePull", "Trio", "hardest", "steadily"]

STEP_MM: Final = 12.0
_WIDEST_STEP_MM: Final = 40.0
"""A step that no peak hides in: about the distance of two axles in a truck of any common car."""

_NARROW_MM: Final = 0.02
_PLACES: Final = 12_000
"""Places of all cars together from which on the steps grow, up to the widest."""


@dataclass(frozen=True, slots=True)
class Trio:
    """A car, the one ahead of it and the one behind it; all couplers' pivots and lengths must be known.

    Args:
        ahead: its B end faces the car.
        car: A end leading.
        behind: its A end faces the car.
        height_a_mm: of the car's A coupler above the rail.
        height_b_mm: of its B coupler; 0 where nothing hangs on it, so that it draws nowhere.
    """

    ahead: Vehicle
    car: Vehicle
    behind: Vehicle
    height_a_mm: float
    height_b_mm: float

    @property
    def base_mm(self) -> float:
        """Return the distance from the first axle of the three to the last on straight track."""
        before, after = self.ahead.coupled_mm(self.car), self.car.coupled_mm(self.behind)
        assert before is not None
        assert after is not None
        reach = self.ahead.a.truck_mm + self.ahead.a.wheelbase_mm / 2.0
        return reach + before + after + self.behind.b.truck_mm + self.behind.b.wheelbase_mm / 2.0


@dataclass(frozen=True, slots=True)
class SidePull:
    """Where a car is drawn hardest to one side.

    Args:
        angle_a_deg: of its A coupler, toward that side positive; not a number where the cars cannot stand.
        angle_b_deg: of its B coupler.
        at_mm: length along the path to the car's middle.
    """

    angle_a_deg: float
    angle_b_deg: float
    at_mm: float


def steadily(trios: Sequence[Trio], radius_mm: float) -> tuple[SidePull, ...]:
    """Return how each car is drawn to the inside of one steady curve.

    Args:
        trios: the cars.
        radius_mm: of the curve, more than half of any truck centres.
    """
    if not trios:
        return ()
    base = max(each.base_mm for each in trios)
    path = Path([Arc(4.0 * base, 1.0 / radius_mm)])
    found = []
    for rows in _alike(trios):
        mine = [trios[row] for row in rows]
        s = np.full((len(mine), 1), 2.0 * base)
        with np.errstate(all="ignore"):
            a, b, middle = _angles(path, s, mine)
        found += [(row, SidePull(float(a[n, 0]), float(b[n, 0]), float(middle[n, 0]))) for n, row in enumerate(rows)]
    return tuple(each for _, each in sorted(found, key=lambda pair: pair[0]))


def hardest(path: Path, trios: Sequence[Trio]) -> tuple[SidePull, ...]:
    """Return where along a path each car is drawn hardest to one side.

    Args:
        path: longer than any three of the cars, from the first axle to the last.
        trios: the cars.

    Notes:
        Places 12 mm apart (up to 40 for many unlike cars on a long path), then closed in on each of the two highest
        peaks to 0.02 mm.
    """
    found = []
    for rows in _alike(trios):
        found += list(zip(rows, _hardest(path, [trios[row] for row in rows]), strict=True))
    return tuple(each for _, each in sorted(found, key=lambda pair: pair[0]))


def _hardest(path: Path, trios: Sequence[Trio]) -> list[SidePull]:
    step = min(max(STEP_MM, path.length_mm * len(trios) / _PLACES), _WIDEST_STEP_MM)
    count = max(math.ceil(path.length_mm / step), 16) + 1
    s = np.broadcast_to(np.linspace(0.0, path.length_mm, count), (len(trios), count)).copy()
    high = np.array([[each.height_a_mm, each.height_b_mm] for each in trios])[:, :, None]

    def evaluate(at: Floats) -> Figures:
        a, b, _ = _angles(path, at, trios, within=True)
        return {"sum": np.abs(high[:, 0] * np.sin(np.radians(a)) + high[:, 1] * np.sin(np.radians(b)))}

    with np.errstate(all="ignore"):
        _, places = peaks_of_rows(evaluate, s, evaluate(s), ("sum",), brackets=2, narrow_mm=_NARROW_MM)["sum"]
        a, b, middle = _angles(path, places[:, None], trios, within=True)
    total = high[:, 0, 0] * np.sin(np.radians(a[:, 0])) + high[:, 1, 0] * np.sin(np.radians(b[:, 0]))
    sign = np.where(total < 0.0, -1.0, 1.0)
    return [
        SidePull(float(sign[n] * a[n, 0]), float(sign[n] * b[n, 0]), float(middle[n, 0])) for n in range(len(trios))
    ]


def _alike(trios: Sequence[Trio]) -> list[list[int]]:
    """Return the rows of the trios in groups whose couplers hang alike on body or truck."""
    groups: dict[tuple[bool, ...], list[int]] = {}
    for row, each in enumerate(trios):
        kind = (each.ahead.b.on_truck, each.car.a.on_truck, each.car.b.on_truck, each.behind.a.on_truck)
        groups.setdefault(kind, []).append(row)
    return list(groups.values())


def _angles(path: Path, s: Floats, trios: Sequence[Trio], *, within: bool = False) -> tuple[Floats, Floats, Floats]:
    """Return the angles of both couplers of each car, degrees, to the left positive, and where its middle is.

    Args:
        path: the track.
        s: where each car's first axle is, shape (cars, places).
        trios: the cars, with couplers that hang alike.
        within: whether a place at which an axle of the three is off the path counts as none.
    """
    car, ahead, behind = (_stacked([getattr(each, name) for each in trios]) for name in ("car", "ahead", "behind"))
    standing = stand(path, s, car)
    before, after = coupled_ahead(path, standing, car, ahead), coupled(path, standing, car, behind)
    a = np.degrees(before.angle_front)
    # The B coupler points backward: turning to its own left it turns to the train's right.
    b = -np.degrees(after.angle_front)
    if within:
        off = _off(path, before, after)
        a, b = np.where(off, np.nan, a), np.where(off, np.nan, b)
    return a, b, _middle(standing)


def _off(path: Path, before: Joint, after: Joint) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    found: np.ndarray[tuple[int, ...], np.dtype[np.bool_]] = (before.rear.s_first > path.length_mm) | (
        after.rear.s_last < 0.0
    )
    return found


def _middle(standing: Standing) -> Floats:
    return standing.s_middle


def _stacked(cars: Sequence[Vehicle]) -> Vehicle:
    """Return many cars as one whose sizes are columns, one row for each: placing is arithmetic, row by row."""

    def column(values: Sequence[float | None]) -> float:
        return cast("float", np.array(values, dtype=np.float64)[:, None])

    def end(letter: str) -> CarEnd:
        ends = [getattr(car, letter) for car in cars]
        return CarEnd(
            truck_mm=column([each.truck_mm for each in ends]),
            wheelbase_mm=column([each.wheelbase_mm for each in ends]),
            coupler_mm=column([each.coupler_mm for each in ends]),
            link_mm=column([each.link_mm for each in ends]),
            on_truck=ends[0].on_truck,
        )

    return Vehicle(end("a"), end("b"))
