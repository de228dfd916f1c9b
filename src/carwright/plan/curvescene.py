"""Places for the pictures of a study: swept room, cars at their worst, angles along the track, a truck touching.

Everything is in millimetres of the model, x and y as the path has them (it begins at the origin and heads along x, y to
the left), but for what says otherwise. The drawings only write it down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from carwright.plan.curvemodel import CurveAnswer
from carwright.plan.curvestudy import Study
from carwright.plan.curvetrack import train_mm
from carwright.plan.touching import TouchAnswer, touching_now
from carwright.track.envelope import swept
from carwright.track.layout import reverse_between_straights
from carwright.track.path import Path
from carwright.track.placing import Joint, Standing, Vehicle, coupled, stand
from carwright.track.sweep import Trace
from carwright.track.tangents import reverse_peaks

__all__ = [
    "Bent",
    "CarPlaced",
    "Offsets",
    "Pair",
    "Swept",
    "Tangents",
    "Touching",
    "bent",
    "bent_in_reverse",
    "offsets_along",
    "pair_at_worst",
    "swept_room",
    "tangents",
    "touching",
]

Place = tuple[float, float]
Outline = tuple[Place, ...]

_BESIDE_MM: Final = 4.0
"""Between two points of a centre line as drawn."""


@dataclass(frozen=True, slots=True)
class CarPlaced:
    """A car from above: outlines of body and trucks, and the truck pivots."""

    body: Outline
    trucks: tuple[Outline, Outline]
    pivots: tuple[Place, Place]
    axles: tuple[tuple[Place, Place], ...]


@dataclass(frozen=True, slots=True)
class Swept:
    """The swept room along the track: centre line, its two borders, and the car at a few places."""

    line: Outline
    left: Outline
    right: Outline
    cars: tuple[CarPlaced, ...]


@dataclass(frozen=True, slots=True)
class Offsets:
    """The swept room unrolled: how far it reaches to the left and right of the centre line, both positive.

    Args:
        at_mm: stations along the track.
        left_mm: at each of them.
        right_mm: likewise.
        half_width_mm: of the car standing on a straight.
        free_mm: what a standard keeps free on each side; None where the data has no such figure.
    """

    at_mm: tuple[float, ...]
    left_mm: tuple[float, ...]
    right_mm: tuple[float, ...]
    half_width_mm: float
    free_mm: float | None


@dataclass(frozen=True, slots=True)
class Pair:
    """Two coupled cars where a coupler swings farthest.

    Args:
        front: the first car.
        rear: the second.
        line: centre line of the track near them.
        pivots: of the front car's coupler and of the rear car's.
        heads: where the two couplers meet.
        straight: tip of each coupler if it hung straight.
        angles_deg: of the two couplers, magnitudes.
        limits_deg: how far each may swing; None where it is not known.
        at_mm: along the track to the middle of the first car.
    """

    front: CarPlaced
    rear: CarPlaced
    line: Outline
    pivots: tuple[Place, Place]
    heads: Place
    straight: tuple[Place, Place]
    angles_deg: tuple[float, float]
    limits_deg: tuple[float | None, float | None]
    at_mm: float


@dataclass(frozen=True, slots=True)
class Bent:
    """Coupler angles along the track (degrees, signed), and the track itself as curvature in 1/mm, left positive."""

    front: Trace
    rear: Trace
    limits_deg: tuple[float | None, float | None]
    peak_deg: float
    peak_at_mm: float
    curvature: tuple[Place, ...]
    length_mm: float


@dataclass(frozen=True, slots=True)
class Tangents:
    """Greatest coupler angle in a reverse curve against the straight between its halves."""

    lengths_mm: tuple[float, ...]
    angles_deg: tuple[float, ...]
    radius_mm: float
    limit_deg: float | None
    steady_deg: float | None


@dataclass(frozen=True, slots=True)
class Touching:
    """A truck at the moment of touching, in the car's frame (x to the A end).

    Args:
        answer: which truck, what, at which angle.
        pivot: of the truck.
        truck: its parts, turned.
        straight: the same parts, not turned.
        part: what is touched.
        body: outline of the body; empty where it is not known.
        left: whether the truck is turned to the left.
    """

    answer: TouchAnswer
    pivot: Place
    truck: tuple[Outline, ...]
    straight: tuple[Outline, ...]
    part: tuple[Outline, ...]
    body: Outline
    left: bool


def _place(value: complex) -> Place:
    return float(value.real), float(value.imag)


def _box(middle: complex, axis: complex, length: float, width: float) -> Outline:
    return tuple(
        _place(middle + axis * complex(along * length / 2.0, across * width / 2.0))
        for along, across in ((1, 1), (-1, 1), (-1, -1), (1, -1))
    )


def _car(standing: Standing, car: Vehicle, at: int, gauge: float, truck: tuple[float, float] | None) -> CarPlaced:
    middle, axis = complex(standing.middle[at]), complex(standing.axis[at])
    length = car.length_mm if car.length_mm is not None else car.base_mm
    width = car.width_mm if car.width_mm is not None else 2.0 * gauge
    trucks, pivots, axles = [], [], []
    for end, pivot, direction in (
        (car.a, complex(standing.pivot_a[at]), complex(standing.truck_a[at])),
        (car.b, complex(standing.pivot_b[at]), complex(standing.truck_b[at])),
    ):
        long, wide = truck if truck is not None else (end.wheelbase_mm * 1.4, gauge * 1.2)
        trucks.append(_box(pivot, direction, long, wide))
        pivots.append(_place(pivot))
        for way in (0.5, -0.5):
            axle = pivot + direction * way * end.wheelbase_mm
            axles.append((_place(axle + direction * 0.5j * gauge), _place(axle - direction * 0.5j * gauge)))
    return CarPlaced(_box(middle, axis, length, width), (trucks[0], trucks[1]), (pivots[0], pivots[1]), tuple(axles))


def _truck_size(answer: CurveAnswer) -> tuple[float, float] | None:
    truck = answer.plan.car.trucks.a
    if truck.frame_length is None or truck.width is None:
        return None
    return truck.frame_length.value, truck.width.value


def _line(path: Path, start: float, stop: float) -> Outline:
    s = np.linspace(start, stop, max(math.ceil((stop - start) / _BESIDE_MM), 2))
    return tuple(_place(complex(each)) for each in path.at(s)[0])


def _gauge(study: Study) -> float:
    return 16.5 if study.gauge is None else study.gauge.value


def swept_room(answer: CurveAnswer, *, cars: int = 6) -> Swept | None:
    """Return the room that the car sweeps along the track; None where its size is not known.

    Args:
        answer: the study.
        cars: at how many places the car itself is shown.
    """
    study = answer.alone
    if study is None:
        return None
    car, path = study.vehicles()[0], study.path()
    room = swept(path, car)
    if room is None:
        return None
    place, direction = path.at(room.at_mm)
    left, right = place + 1j * direction * room.left_mm, place - 1j * direction * room.right_mm
    first = np.linspace(car.base_mm, path.length_mm, cars)
    with np.errstate(all="ignore"):
        standing = stand(path, first, car)
    shown = [n for n in range(cars) if np.isfinite(standing.middle[n])]
    return Swept(
        _line(path, 0.0, path.length_mm),
        tuple(_place(complex(each)) for each in left),
        tuple(_place(complex(each)) for each in right),
        tuple(_car(standing, car, n, _gauge(study), _truck_size(answer)) for n in shown),
    )


def offsets_along(answer: CurveAnswer) -> Offsets | None:
    """Return the swept room as distances from the centre line; None where the car's size is not known."""
    study = answer.alone
    if study is None:
        return None
    car, path = study.vehicles()[0], study.path()
    room = swept(path, car)
    if room is None or car.width_mm is None:
        return None
    free = next((each.limit for each in answer.findings if each.check == "clearance_structure"), None)
    return Offsets(
        tuple(float(each) for each in room.at_mm),
        tuple(float(each) for each in room.left_mm),
        tuple(float(each) for each in room.right_mm),
        car.width_mm / 2.0,
        None if free is None else free.value,
    )


def _worst_coupler(study: Study) -> str | None:
    known = [name for name in ("coupler_front", "coupler_rear") if name in study.sweep().peaks]
    return max(known, key=lambda name: study.sweep().peaks[name].value, default=None)


def pair_at_worst(answer: CurveAnswer) -> Pair | None:
    """Return both cars where a coupler swings farthest; None where they cannot be coupled for want of sizes."""
    study = answer.study
    if study is None or study.other is None:
        return None
    name = _worst_coupler(study)
    first, second = study.vehicles()
    if name is None or second is None:
        return None
    path, peak = study.path(), study.sweep().peaks[name]
    with np.errstate(all="ignore"):
        joint: Joint = coupled(path, stand(path, np.array([peak.s_first_mm]), first), first, second)
    gauge, truck = _gauge(study), _truck_size(answer)
    pivot, ahead = joint.front.coupler(first.b, at_a=False)
    hook, behind = joint.rear.coupler(second.a, at_a=True)
    assert first.b.link_mm is not None
    assert second.a.link_mm is not None
    share = first.b.link_mm / (first.b.link_mm + second.a.link_mm)
    heads = complex(pivot[0]) + share * (complex(hook[0]) - complex(pivot[0]))
    start = float(joint.rear.s_last[0]) - 0.25 * first.base_mm
    stop = float(joint.front.s_first[0]) + 0.25 * first.base_mm
    return Pair(
        _car(joint.front, first, 0, gauge, truck),
        _car(joint.rear, second, 0, gauge, truck),
        _line(path, start, stop),
        (_place(complex(pivot[0])), _place(complex(hook[0]))),
        _place(heads),
        (
            _place(complex(pivot[0]) + 2.2 * first.b.link_mm * complex(ahead[0])),
            _place(complex(hook[0]) + 2.2 * second.a.link_mm * complex(behind[0])),
        ),
        (abs(math.degrees(float(joint.angle_front[0]))), abs(math.degrees(float(joint.angle_rear[0])))),
        (first.b.swing_deg, second.a.swing_deg),
        peak.at_mm,
    )


def bent(answer: CurveAnswer) -> Bent | None:
    """Return both couplers' angles along the track; None where the cars cannot be coupled for want of sizes."""
    return None if answer.study is None else _bent(answer.study)


def bent_in_reverse(answer: CurveAnswer) -> Bent | None:
    """Return both couplers' angles along a bare reverse curve of the track's least radius; None where not known."""
    study = answer.study
    if study is None or answer.radius is None:
        return None
    first, second = study.vehicles()
    segments = reverse_between_straights(answer.radius, train_mm=train_mm(first, second))
    return _bent(replace(study, segments=segments, _sweeps={}, _radii={}, _moving={}, _rooms={}))


def _bent(study: Study) -> Bent | None:
    name = _worst_coupler(study)
    sweep = study.sweep()
    if name is None or "coupler_front" not in sweep.traces:
        return None
    first, second = study.vehicles()
    assert second is not None
    path = study.path()
    if not math.isfinite(sweep.peaks[name].value):
        return None
    signed = sweep.traces[name]
    near = min(range(len(signed.at_mm)), key=lambda n: abs(signed.at_mm[n] - sweep.peaks[name].at_mm))
    peak = math.copysign(sweep.peaks[name].value, signed.values[near])
    return Bent(
        sweep.traces["coupler_front"],
        sweep.traces["coupler_rear"],
        (first.b.swing_deg, second.a.swing_deg),
        peak,
        sweep.peaks[name].at_mm,
        _curvature(path),
        path.length_mm,
    )


def _curvature(path: Path) -> tuple[Place, ...]:
    """Return curvature along a path as corners of a line: places just before and just behind each joint."""
    s: list[float] = []
    for start, stop in zip(path.joints_mm, path.joints_mm[1:], strict=False):
        s += [start + 1e-6, (start + stop) / 2.0, stop - 1e-6]
    places = np.array(s)
    hair = 1e-3
    ahead, behind = path.at(places + hair)[1], path.at(places - hair)[1]
    middle = np.angle(ahead / behind) / (2.0 * hair)
    # At a joint half of the short stretch lies on the next leg: ask wholly within the leg instead.
    for n, place in enumerate(s):
        inside = place + 2e-3 if n % 3 == 0 else place - 2e-3
        one, two = path.at(np.array([inside + hair, inside - hair]))[1]
        middle[n] = float(np.angle(one / two)) / (2.0 * hair)
    return tuple((place, float(value)) for place, value in zip(s, middle, strict=True))


def tangents(answer: CurveAnswer, *, count: int = 25) -> Tangents | None:
    """Return what a straight between two curves of opposite hand does; None where the cars cannot be coupled.

    Args:
        answer: the study; the curves have its least radius.
        count: how many lengths of straight, from none to a car's length.
    """
    study = answer.study
    if study is None or study.other is None or answer.radius is None:
        return None
    first, second = study.vehicles()
    if second is None:
        return None
    lengths = tuple(float(each) for each in np.linspace(0.0, 1.1 * (first.length_mm or first.base_mm), count))
    swings = [each for each in (first.b.swing_deg, second.a.swing_deg) if each is not None]
    steady = answer.steady.coupler_angle if answer.steady is not None else None
    return Tangents(
        lengths,
        reverse_peaks(first, second, radius_mm=answer.radius.value, tangents_mm=lengths),
        answer.radius.value,
        min(swings) if swings else None,
        None if steady is None else steady.value,
    )


def touching(answer: CurveAnswer) -> tuple[Touching, ...]:
    """Return each truck at the moment of touching each part that it touches as the radius shrinks, the widest first."""
    known = [each for each in answer.touching if each.angle is not None and each.radius is not None]
    known.sort(key=lambda each: -each.radius.value if each.radius is not None else 0.0)
    found = (_touching(answer, each) for each in known)
    return tuple(each for each in found if each is not None)


def _touching(answer: CurveAnswer, touch: TouchAnswer) -> Touching | None:
    if touch.angle is None or answer.alone is None:
        return None
    found = touching_now(answer.plan, answer.alone.car, touch)
    if found is None:
        return None
    pivot, parts, obstacle, to_left = found
    turn = math.radians(touch.angle.value) * (1.0 if to_left else -1.0)
    swing = complex(math.cos(turn), math.sin(turn))
    moved = tuple(tuple(_place(pivot + swing * complex(x, y)) for x, y in part) for part in parts)
    straight = tuple(tuple(_place(pivot + complex(x, y)) for x, y in part) for part in parts)
    body: Outline = ()
    car = answer.plan.car.body
    if car.length is not None and car.width is not None:
        body = _box(0j, 1 + 0j, car.length.value, car.width.value)
    return Touching(touch, (pivot, 0.0), moved, straight, obstacle, body, to_left)
