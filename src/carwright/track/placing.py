"""Cars placed on a path: axles on the centre line, bodies on their truck pivots, cars coupled pivot to pivot.

A truck's two axles sit on the path, the wheelbase apart in a straight line; its pivot is midway between them. A body
rides two pivots. Two cars are joined by a straight link from coupler pivot to coupler pivot. Everything is solved for
many places at once; a place that has no solution comes out as not a number.

Ends: A leads, so that a car's B end is coupled to the next car's A end. Angles are signed, to the left positive.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from carwright.track.path import Complexes, Floats, Path

__all__ = [
    "CarEnd",
    "Joint",
    "Standing",
    "Vehicle",
    "coupled",
    "coupled_ahead",
    "stand",
    "turned_about",
]

_CLOSE_MM: Final = 1e-7
"""Error of a distance at which a place counts as found: a thousandth of what is asked of an angle, over a wheelbase."""

_NEARLY_MM: Final = 1e-5
_MOST_STEPS: Final = 14


@dataclass(frozen=True, slots=True)
class CarEnd:
    """One end of a car, lengths in mm.

    Args:
        truck_mm: mid-car to the truck's pivot, > 0.
        wheelbase_mm: of the truck, > 0.
        coupler_mm: mid-car to the coupler's pivot, on straight track; None where it is not known.
        link_mm: coupler pivot to pulling face; None where it is not known.
        swing_deg: how far the coupler may swing to one side; None where it is not known.
        on_truck: whether the coupler turns with the truck.
        travel_mm: how far the head can be pushed in.
    """

    truck_mm: float
    wheelbase_mm: float
    coupler_mm: float | None = None
    link_mm: float | None = None
    swing_deg: float | None = None
    on_truck: bool = False
    travel_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A car as far as a curve is concerned; ``length_mm`` over the body's ends, ``width_mm`` over its sides."""

    a: CarEnd
    b: CarEnd
    length_mm: float | None = None
    width_mm: float | None = None

    @property
    def base_mm(self) -> float:
        """Return the distance from the first axle to the last on straight track."""
        return self.a.truck_mm + self.b.truck_mm + (self.a.wheelbase_mm + self.b.wheelbase_mm) / 2.0

    def coupled_mm(self, other: Vehicle) -> float | None:
        """Return the distance from mid-car to the mid-car of ``other`` behind it on straight track, if it is known."""
        b, a = self.b, other.a
        if b.coupler_mm is None or b.link_mm is None or a.coupler_mm is None or a.link_mm is None:
            return None
        return b.coupler_mm + b.link_mm + a.link_mm + a.coupler_mm


def turned_about(car: Vehicle) -> Vehicle:
    """Return the car facing the other way: its B end leads."""
    return Vehicle(car.b, car.a, car.length_mm, car.width_mm)


@dataclass(frozen=True, slots=True)
class Standing:
    """A car at many places. ``s_…`` are lengths along the path, directions point toward the A end."""

    s_first: Floats
    s_second: Floats
    s_third: Floats
    s_last: Floats
    pivot_a: Complexes
    pivot_b: Complexes
    truck_a: Complexes
    truck_b: Complexes
    middle: Complexes
    axis: Complexes

    @property
    def s_middle(self) -> Floats:
        """Return the length along the path midway between the trucks: where the car is said to be."""
        found: Floats = (self.s_first + self.s_second + self.s_third + self.s_last) / 4.0
        return found

    def coupler(self, end: CarEnd, *, at_a: bool) -> tuple[Complexes, Complexes]:
        """Return the coupler's pivot, and the direction in which it points when it hangs straight."""
        assert end.coupler_mm is not None
        outward = 1.0 if at_a else -1.0
        if not end.on_truck:
            return self.middle + self.axis * (outward * end.coupler_mm), outward * self.axis
        pivot, axis = (self.pivot_a, self.truck_a) if at_a else (self.pivot_b, self.truck_b)
        return pivot + axis * (outward * (end.coupler_mm - end.truck_mm)), outward * axis


def _truck(
    path: Path, s: Floats, wheelbase_mm: float, guess: Floats | None = None
) -> tuple[Complexes, Complexes, Floats]:
    """Return pivot and direction of a truck whose leading axle is at ``s``, and where its other axle is."""
    front, _ = path.at(s)
    back = s - wheelbase_mm if guess is None else guess
    for _ in range(_MOST_STEPS):
        there, direction = path.at(back)
        along = front - there
        distance = np.abs(along)
        error = distance - wheelbase_mm
        step = error * distance / np.maximum(np.real(along * np.conj(direction)), 1e-2 * wheelbase_mm)
        step = np.clip(step, -wheelbase_mm, wheelbase_mm)
        back = back + step
        if _settled(error, _NEARLY_MM):
            # So small a step runs along the tangent to far below what is asked; the path need not be asked again.
            there = there + direction * step
            break
    along = front - there
    return (front + there) / 2.0, along / np.abs(along), back


def _settled(error: Floats, close_mm: float = _CLOSE_MM) -> bool:
    """Return whether every place that can be found has been."""
    greatest = float(np.max(np.abs(error), initial=0.0))
    if math.isnan(greatest):
        greatest = float(np.nanmax(np.abs(error), initial=0.0))
    return greatest < close_mm


def stand(path: Path, s_first: Floats, car: Vehicle, near: Standing | None = None) -> Standing:
    """Return a car standing with its first axle at each of ``s_first``.

    Args:
        path: the track.
        s_first: lengths along it, mm.
        car: the car, A end leading.
        near: the same car nearly there, to begin from.
    """
    pivot_a, truck_a, s_second = _truck(
        path, s_first, car.a.wheelbase_mm, None if near is None else s_first + (near.s_second - near.s_first)
    )
    between = car.a.truck_mm + car.b.truck_mm
    if near is None:
        s = s_second + car.a.wheelbase_mm / 2.0 - between + car.b.wheelbase_mm / 2.0
        offset: Floats | None = None
    else:
        s = s_first + (near.s_third - near.s_first)
        offset = near.s_last - near.s_third
    for _ in range(_MOST_STEPS):
        pivot_b, truck_b, s_last = _truck(path, s, car.b.wheelbase_mm, None if offset is None else s + offset)
        offset = s_last - s
        along = pivot_a - pivot_b
        distance = np.abs(along)
        error = distance - between
        step = error * distance / np.maximum(np.real(along * np.conj(truck_b)), 1e-2 * between)
        s = s + np.clip(step, -between, between)
        if _settled(error):
            break
    # Where no place was found the error stays: such a car cannot stand there.
    bad = ~(np.abs(error) < 1e-6)
    axis = along / distance
    middle = pivot_a - axis * car.a.truck_mm
    middle = np.where(bad, complex(np.nan, np.nan), middle)
    return Standing(s_first, s_second, s, s_last, pivot_a, pivot_b, truck_a, truck_b, middle, axis)


@dataclass(frozen=True, slots=True)
class Joint:
    """Two coupled cars at many places: the front car's B coupler and the rear car's A coupler.

    ``angle_front`` and ``angle_rear`` are the link's to each coupler's straight-ahead direction, in radians;
    ``link_mm`` is its length.
    """

    front: Standing
    rear: Standing
    angle_front: Floats
    angle_rear: Floats
    link_mm: Floats


def coupled(
    path: Path,
    front: Standing,
    car: Vehicle,
    other: Vehicle,
    link_mm: Floats | float | None = None,
    near: Joint | None = None,
) -> Joint:
    """Return ``other`` coupled behind a car that stands already.

    Args:
        path: the track.
        front: the front car.
        car: the front car's sizes.
        other: the rear car's sizes.
        link_mm: pivot to pivot; without it the lengths of both couplers.
        near: the same two cars nearly there, to begin from.
    """
    assert car.b.link_mm is not None
    assert other.a.link_mm is not None
    wanted = np.broadcast_to(
        np.asarray(car.b.link_mm + other.a.link_mm if link_mm is None else link_mm, dtype=np.float64),
        front.s_first.shape,
    )
    pivot, straight = front.coupler(car.b, at_a=False)
    apart = car.coupled_mm(other)
    assert apart is not None
    s = front.s_middle - apart + other.a.truck_mm + other.a.wheelbase_mm / 2.0

    def error(at: Floats, near: Standing | None) -> tuple[Floats, Standing, Complexes, Complexes]:
        rear = stand(path, at, other, near)
        hook, ahead = rear.coupler(other.a, at_a=True)
        return np.abs(pivot - hook) - wanted, rear, hook, ahead

    if near is not None:
        s = near.rear.s_first + near.link_mm - wanted
    return _joined(front, s, None if near is None else near.rear, error, pivot, straight, wanted)


def coupled_ahead(path: Path, rear: Standing, car: Vehicle, other: Vehicle) -> Joint:
    """Return ``other`` coupled ahead of a car that stands already, pulled straight.

    Args:
        path: the track.
        rear: the car that stands.
        car: its sizes.
        other: the sizes of the car ahead.

    Returns:
        A joint whose ``front`` is the car that stands and whose ``rear`` is the one ahead of it; the angles are those
        at the standing car's A coupler and at the other's B coupler.
    """
    assert car.a.link_mm is not None
    assert other.b.link_mm is not None
    wanted = np.broadcast_to(np.asarray(car.a.link_mm + other.b.link_mm, dtype=np.float64), rear.s_first.shape)
    pivot, straight = rear.coupler(car.a, at_a=True)
    apart = other.coupled_mm(car)
    assert apart is not None
    s = rear.s_middle + apart + other.a.truck_mm + other.a.wheelbase_mm / 2.0

    def error(at: Floats, near: Standing | None) -> tuple[Floats, Standing, Complexes, Complexes]:
        ahead = stand(path, at, other, near)
        hook, pointing = ahead.coupler(other.b, at_a=False)
        # A car ahead that is too far away moves back: the sign makes it the same search as for one behind.
        return wanted - np.abs(pivot - hook), ahead, hook, pointing

    return _joined(rear, s, None, error, pivot, straight, wanted)


def _joined(
    front: Standing,
    s: Floats,
    near: Standing | None,
    error: Callable[[Floats, Standing | None], tuple[Floats, Standing, Complexes, Complexes]],
    pivot: Complexes,
    straight: Complexes,
    wanted: Floats,
) -> Joint:
    """Close the link by the secant method: the rear car moves until it is as long as it should be."""
    miss, rear, hook, ahead = error(s, near)
    previous, before = s, miss
    s = s + miss
    for _ in range(_MOST_STEPS):
        miss, rear, hook, ahead = error(s, rear)
        if _settled(miss):
            break
        rise = np.where(
            np.abs(s - previous) > 1e-13, (miss - before) / np.where(s == previous, 1.0, s - previous), -1.0
        )
        rise = np.where(np.abs(rise) < 0.05, -1.0, rise)
        previous, before = s, miss
        s = s - np.clip(miss / rise, -50.0, 50.0)
    link = hook - pivot
    front_angle = np.angle(link / straight)
    rear_angle = np.angle(-link / ahead)
    bad = ~(np.abs(miss) < 1e-6)
    return Joint(
        front,
        rear,
        np.where(bad, np.nan, front_angle),
        np.where(bad, np.nan, rear_angle),
        wanted,
    )
