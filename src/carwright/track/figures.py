"""What is measured on cars that stand on a path: throws, truck and coupler angles, gap, and a link that buckles.

Everything is for many places at once. Angles are magnitudes in radians here; lengths are mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from carwright.track.path import Floats, Path
from carwright.track.placing import CarEnd, Joint, Standing, Vehicle, coupled

__all__ = ["Buckled", "Throws", "body_gap", "buckled", "pushed_together", "swing_of", "throws", "truck_swing"]


@dataclass(frozen=True, slots=True)
class Throws:
    """How far a body's side midway between its trucks (in) and its outer corner (out) stand from the centre line, mm.

    ``bare`` leaves half the width out; a figure whose size is not known is None.
    """

    in_bare: Floats
    into: Floats | None
    out_bare: Floats | None
    out: Floats | None


def throws(path: Path, standing: Standing, car: Vehicle) -> Throws:
    """Return a car's throws.

    In is the side to which the middle between the trucks stands off the line. On a straight both sides are alike.
    """
    half_width = None if car.width_mm is None else car.width_mm / 2.0
    between = (car.a.truck_mm - car.b.truck_mm) / 2.0
    points: list[tuple[float, float]] = [(between, 0.0)]
    if half_width is not None:
        points += [(between, half_width), (between, -half_width)]
    if car.length_mm is not None:
        for end in (car.length_mm / 2.0, -car.length_mm / 2.0):
            points.append((end, 0.0))
            if half_width is not None:
                points += [(end, half_width), (end, -half_width)]
    off = offsets(path, standing, points)[1]
    side = np.where(off[0] < 0.0, -1.0, 1.0)
    into = out_bare = out = None
    at = 1
    if half_width is not None:
        into = np.maximum(side * off[1], side * off[2])
        at = 3
    if car.length_mm is not None:
        step = 1 if half_width is None else 3
        out_bare = np.maximum(-side * off[at], -side * off[at + step])
        if half_width is not None:
            corners = -side * np.stack([off[at + 1], off[at + 2], off[at + 4], off[at + 5]])
            out = np.max(corners, axis=0)
    return Throws(np.abs(off[0]), into, out_bare, out)


def offsets(path: Path, standing: Standing, points: list[tuple[float, float]]) -> tuple[Floats, Floats]:
    """Return where points of the body are: length along the path, and how far to the left of it, mm.

    Args:
        path: the track.
        standing: the car.
        points: along the car and to the left, mm from mid-car. They are the first axis of what is returned.
    """
    local = np.array([complex(x, y) for x, y in points]).reshape(-1, *([1] * standing.s_first.ndim))
    place = standing.middle[None] + standing.axis[None] * local
    guess = standing.s_middle[None] + np.real(local)
    finite = np.isfinite(place)
    s = path.nearest(np.where(finite, place, 0.0), np.where(finite, guess, 0.0))
    there, direction = path.at(s)
    off = np.imag((place - there) * np.conj(direction))
    return np.where(finite, s, np.nan), np.where(finite, off, np.nan)


def truck_swing(standing: Standing) -> tuple[Floats, Floats]:
    """Return how far trucks A and B are turned against the body, radians, to the left positive."""
    return np.angle(standing.truck_a / standing.axis), np.angle(standing.truck_b / standing.axis)


def body_gap(joint: Joint, front: Vehicle, rear: Vehicle) -> Floats | None:
    """Return the least distance between the outlines of two coupled bodies, mm; negative is how deep they overlap."""
    if front.length_mm is None or front.width_mm is None or rear.length_mm is None or rear.width_mm is None:
        return None
    found: list[Floats] = []
    for one, other, car, against, end in (
        (joint.front, joint.rear, front, rear, -1.0),
        (joint.rear, joint.front, rear, front, 1.0),
    ):
        assert car.length_mm is not None
        assert car.width_mm is not None
        assert against.length_mm is not None
        assert against.width_mm is not None
        for side in (0.5, -0.5):
            corner = one.middle + one.axis * complex(end * car.length_mm / 2.0, side * car.width_mm)
            local = (corner - other.middle) * np.conj(other.axis)
            along = np.abs(local.real) - against.length_mm / 2.0
            across = np.abs(local.imag) - against.width_mm / 2.0
            outside = np.hypot(np.maximum(along, 0.0), np.maximum(across, 0.0))
            found.append(np.where((along < 0.0) & (across < 0.0), np.maximum(along, across), outside))
    least: Floats = np.min(np.stack(found), axis=0)
    return least


def swing_of(end: CarEnd) -> float | None:
    """Return how far a coupler may swing to one side, radians, if it is known."""
    return None if end.swing_deg is None else math.radians(end.swing_deg)


@dataclass(frozen=True, slots=True)
class Buckled:
    """A link that buckles in a push until a stop is met: its length (mm), and the push's angle to each car's axis."""

    link_mm: Floats
    angle_front: Floats
    angle_rear: Floats


def buckled(joint: Joint, front: CarEnd, rear: CarEnd, *, slack_mm: float = 0.0) -> Buckled | None:
    """Return what a push makes of a link, or None where a coupler's swing is not known.

    Each head goes aside by its own angle, l1 sin f1 = l2 sin f2, until the first of the two shanks meets a stop. That
    shank then is as stiff as its car; the other is free, so that the push runs along it. Both ways of buckling are
    tried: the shorter link and the greater angles count.

    Args:
        joint: the cars, with the link straight.
        front: the front car's coupler.
        rear: the rear car's.
        slack_mm: by which the heads run together.
    """
    limit_front, limit_rear = swing_of(front), swing_of(rear)
    if limit_front is None or limit_rear is None or front.link_mm is None or rear.link_mm is None:
        return None
    l1 = max(front.link_mm - front.travel_mm - slack_mm / 2.0, 1e-3)
    l2 = max(rear.link_mm - rear.travel_mm - slack_mm / 2.0, 1e-3)
    lengths, fronts, rears = [], [], []
    for way in (1.0, -1.0):
        room_front = np.clip(limit_front - way * joint.angle_front, 0.0, math.pi / 2.0)
        room_rear = np.clip(limit_rear + way * joint.angle_rear, 0.0, math.pi / 2.0)
        aside_front, aside_rear = l1 * np.sin(room_front), l2 * np.sin(room_rear)
        aside = np.minimum(aside_front, aside_rear)
        fold_front, fold_rear = np.arcsin(aside / l1), np.arcsin(np.minimum(aside / l2, 1.0))
        stops_front = aside_front <= aside_rear
        turn = np.where(stops_front, -way * fold_rear, way * fold_front)
        lengths.append(l1 * np.cos(fold_front) + l2 * np.cos(fold_rear))
        fronts.append(np.abs(joint.angle_front + turn))
        rears.append(np.abs(joint.angle_rear + turn))
    return Buckled(np.minimum(lengths[0], lengths[1]), np.maximum(fronts[0], fronts[1]), np.maximum(rears[0], rears[1]))


def pushed_together(
    path: Path, joint: Joint, front: Vehicle, rear: Vehicle, *, slack_mm: float = 0.0
) -> tuple[Joint, Buckled] | None:
    """Return two cars with their link buckled in a push, or None where a coupler's swing is not known."""
    first = buckled(joint, front.b, rear.a, slack_mm=slack_mm)
    if first is None:
        return None
    closer = coupled(path, joint.front, front, rear, first.link_mm, joint)
    second = buckled(closer, front.b, rear.a, slack_mm=slack_mm)
    assert second is not None
    return coupled(path, joint.front, front, rear, second.link_mm, closer), second
