"""What a swinging truck touches first: flat outlines turned about the truck's pivot until they meet.

A truck's parts and what hangs under the car are outlines from above with a height: a part meets an obstacle only where
its top, raised by the truck's rock, is above the obstacle's lower face. Two outlines that turn against each other are
looked at ring by ring: at each distance from the pivot both fill certain angles, and the least angle between them over
all distances is the angle of touching. Between the corners and the nearest points of their edges it changes one way
only, so that it is enough to look there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

__all__ = ["Obstacle", "Outline", "Touch", "TruckPart", "first_touch", "turning_room"]

Outline = tuple[tuple[float, float], ...]
"""Corners of a closed outline, mm: along the car, to the left."""

_SAME_MM: Final = 1e-6
_SAME_RAD: Final = 1e-9
MOST_DEG: Final = 90.0
"""No truck turns farther."""


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Something that a truck may touch, in the car's frame, mm above the rail.

    Args:
        name: of the part.
        outline: from above; None where its place or size is not known.
        bottom_mm: its lower face at its lowest; None where it is not known.
        needs: keys of the measurements that are missing.
    """

    name: str
    outline: Outline | None
    bottom_mm: float | None
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TruckPart:
    """A part of a truck, in the truck's frame (origin at its pivot), level and straight.

    Args:
        name: "side frame" or "wheel".
        outline: from above.
        top_mm: its top above the rail.
        rise_mm: by which its highest point rises as the truck rocks to its stop.
        wheel_mm: diameter over the flange where the part is a wheel, else 0: then only as much of its length counts
            as stands higher than the obstacle's lower face.
    """

    name: str
    outline: Outline
    top_mm: float
    rise_mm: float = 0.0
    wheel_mm: float = 0.0

    def above(self, height_mm: float) -> Outline | None:
        """Return the outline of what stands above ``height_mm`` with the truck rocked, or None where nothing does."""
        top = self.top_mm + self.rise_mm
        if height_mm >= top - _SAME_MM:
            return None
        if not self.wheel_mm:
            return self.outline
        radius = self.wheel_mm / 2.0
        over = height_mm - (top - radius)
        half = radius if over <= 0.0 else math.sqrt(max(radius * radius - over * over, 0.0))
        middle = (min(x for x, _ in self.outline) + max(x for x, _ in self.outline)) / 2.0
        low, high = min(y for _, y in self.outline), max(y for _, y in self.outline)
        return ((middle - half, low), (middle + half, low), (middle + half, high), (middle - half, high))


@dataclass(frozen=True, slots=True)
class Touch:
    """Whether and at which angle a truck touches a part.

    Args:
        obstacle: the part's name.
        part: what of the truck touches it; "" where nothing does.
        angle_deg: least swing to either side at which they touch; 0 where they meet straight ahead; infinity where
            they never do.
        left_deg: the same, to the left alone.
        right_deg: to the right alone.
        needs: what is missing, where nothing can be said.
    """

    obstacle: str
    part: str
    angle_deg: float
    left_deg: float = math.inf
    right_deg: float = math.inf
    needs: tuple[str, ...] = ()


def first_touch(
    parts: Sequence[TruckPart], obstacle: Obstacle, *, pivot_mm: float, needs: tuple[str, ...] = ()
) -> Touch:
    """Return where a truck first touches an obstacle as it swings.

    Args:
        parts: of the truck.
        obstacle: in the car's frame.
        pivot_mm: truck's pivot from mid-car, to the A end positive.
        needs: what the truck's own sizes still need; with any, a touch that is not found is not known either.
    """
    if obstacle.outline is None or obstacle.bottom_mm is None:
        return Touch(obstacle.name, "", math.inf, needs=(*obstacle.needs, *needs))
    moved = tuple((x - pivot_mm, y) for x, y in obstacle.outline)
    least = Touch(obstacle.name, "", math.inf, needs=needs)
    for part in parts:
        own = part.above(obstacle.bottom_mm)
        if own is None:
            continue
        left, right = turning_room(own, moved)
        angle = min(left, right)
        if angle < least.angle_deg:
            least = Touch(obstacle.name, part.name, angle, left, right)
    return least


def turning_room(turning: Outline, fixed: Outline) -> tuple[float, float]:
    """Return by how many degrees an outline can turn about the origin, left and right, before it meets another.

    Infinity beyond 90 degrees, zeros where they overlap already.

    Args:
        turning: outline that turns, at least three corners.
        fixed: outline that stays.

    Example:
        >>> bar = ((-10.0, -1.0), (10.0, -1.0), (10.0, 1.0), (-10.0, 1.0))
        >>> post = ((-1.0, 5.0), (1.0, 5.0), (1.0, 20.0), (-1.0, 20.0))
        >>> [round(each, 3) for each in turning_room(bar, post)]
        [67.38, 67.38]
        >>> stop = ((8.0, 3.0), (9.0, 3.0), (9.0, 20.0), (8.0, 20.0))
        >>> [round(each, 3) for each in turning_room(bar, stop)]
        [12.384, inf]
    """
    far = max(math.hypot(x, y) for x, y in turning)
    if _box_away(fixed) > far + _SAME_MM:
        return math.inf, math.inf
    near, far = _reach(turning)
    fixed_near, fixed_far = _reach(fixed)
    low, high = max(near, fixed_near), min(far, fixed_far)
    if low > high + _SAME_MM:
        return math.inf, math.inf
    left = right = math.inf
    for radius in _rings(turning, fixed, low, high):
        own, other = _filled(turning, radius), _filled(fixed, radius)
        for start, stop in own:
            for there, end in other:
                to_left = (there - stop) % math.tau
                to_right = (start - end) % math.tau
                if _overlap(start, stop, there, end):
                    return 0.0, 0.0
                left, right = min(left, to_left), min(right, to_right)
    return _degrees(left), _degrees(right)


def _box_away(outline: Outline) -> float:
    """Return how far the box round an outline is from the origin."""
    x, y = [each[0] for each in outline], [each[1] for each in outline]
    return math.hypot(max(min(x), -max(x), 0.0), max(min(y), -max(y), 0.0))


def _degrees(angle: float) -> float:
    found = math.degrees(angle)
    return found if found <= MOST_DEG else math.inf


def _overlap(start: float, stop: float, there: float, end: float) -> bool:
    """Return whether two ranges of angle, each from its first to its last, share more than an end."""
    width, other = stop - start, end - there
    return (there - start) % math.tau < width - _SAME_RAD or (start - there) % math.tau < other - _SAME_RAD


def _reach(outline: Outline) -> tuple[float, float]:
    """Return the least and the greatest distance of an outline from the origin."""
    if _inside(outline, 0.0, 0.0):
        return 0.0, max(math.hypot(x, y) for x, y in outline)
    nearest = min(_foot(one, two)[0] for one, two in _edges(outline))
    return nearest, max(math.hypot(x, y) for x, y in outline)


def _edges(outline: Outline) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    return list(zip(outline, (*outline[1:], outline[0]), strict=True))


def _foot(one: tuple[float, float], two: tuple[float, float]) -> tuple[float, float]:
    """Return the least distance of an edge from the origin, and where along it (0 to 1) that is."""
    dx, dy = two[0] - one[0], two[1] - one[1]
    square = dx * dx + dy * dy
    at = 0.0 if square == 0.0 else min(max(-(one[0] * dx + one[1] * dy) / square, 0.0), 1.0)
    return math.hypot(one[0] + at * dx, one[1] + at * dy), at


def _rings(turning: Outline, fixed: Outline, low: float, high: float) -> list[float]:
    """Return the distances at which the room may be least: corners and feet, a hair inside and outside of each."""
    places = {low, high}
    for outline in (turning, fixed):
        for one, two in _edges(outline):
            places.add(math.hypot(*one))
            places.add(_foot(one, two)[0])
    hair = 1e-9 * max(high, 1.0)
    kept = sorted(each for each in places if low <= each <= high)
    near = [each + way * hair for each in kept for way in (-1.0, 1.0) if low <= each + way * hair <= high]
    middles = [(one + two) / 2.0 for one, two in pairwise(kept)]
    return sorted({*near, *middles}) or [(low + high) / 2.0]


def _filled(outline: Outline, radius: float) -> list[tuple[float, float]]:
    """Return the ranges of angle that an outline fills on the circle of ``radius`` round the origin."""
    crossings: list[float] = []
    for (x1, y1), (x2, y2) in _edges(outline):
        dx, dy = x2 - x1, y2 - y1
        a, b, c = dx * dx + dy * dy, x1 * dx + y1 * dy, x1 * x1 + y1 * y1 - radius * radius
        root = b * b - a * c
        if a == 0.0 or root <= 0.0:
            continue
        for sign in (-1.0, 1.0):
            at = (-b + sign * math.sqrt(root)) / a
            if 0.0 <= at <= 1.0:
                crossings.append(math.atan2(y1 + at * dy, x1 + at * dx))
    if not crossings:
        return [(0.0, math.tau)] if _inside(outline, radius, 0.0) else []
    crossings.sort()
    ranges = []
    for start, stop in zip(crossings, (*crossings[1:], crossings[0] + math.tau), strict=True):
        middle = (start + stop) / 2.0
        if stop > start and _inside(outline, radius * math.cos(middle), radius * math.sin(middle)):
            ranges.append((start, stop))
    return ranges


def _inside(outline: Outline, x: float, y: float) -> bool:
    found = False
    for (x1, y1), (x2, y2) in _edges(outline):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            found = not found
    return found
