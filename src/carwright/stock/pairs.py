"""Two pieces alike out of one rectangle: the second turned by half a turn and pushed against the first.

Worth it where a piece tapers: two webs of a crossbearer, head to tail, need little more width than one. The pair is one
rectangle to whoever lays out the sheet; the cut between the two pieces is made when the rectangle is off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

__all__ = ["Outline", "Pair", "best_pair"]

Outline = tuple[tuple[float, float], ...]
"""Corners of a piece in mm, from the lower left corner of the rectangle around it: along it, across it."""

_WORTH: Final = 0.9
"""A pair is laid only where it needs less than that of two rectangles."""
_STEPS: Final = 96
_HALVINGS: Final = 30


@dataclass(frozen=True, slots=True)
class Pair:
    """Two outlines in one rectangle, both from its lower left corner.

    Args:
        length_mm: of the rectangle.
        width_mm: of the rectangle.
        first: the lower left one.
        second: the other, turned against it by half a turn.
    """

    length_mm: float
    width_mm: float
    first: Outline
    second: Outline


def best_pair(outline: Sequence[tuple[float, float]], *, gap_mm: float) -> Pair | None:
    """Return the smaller of the two rectangles that hold a piece twice, head to tail, or None where it gains little.

    Args:
        outline: corners of the piece in mm, in its own frame.
        gap_mm: least distance between the two, for sanding both edges.
    """
    left, low = min(x for x, _ in outline), min(y for _, y in outline)
    first = tuple((x - left, y - low) for x, y in outline)
    length, width = max(x for x, _ in first), max(y for _, y in first)
    turned = tuple((length - x, width - y) for x, y in first)
    found: list[Pair] = []
    for across in (True, False):
        for one, other in ((first, turned), (turned, first)):
            shift = _nearest(one, other, width if across else length, gap_mm, across=across)
            dx, dy = (0.0, shift) if across else (shift, 0.0)
            found.append(Pair(length + dx, width + dy, one, tuple((x + dx, y + dy) for x, y in other)))
    best = min(found, key=lambda each: each.length_mm * each.width_mm)
    alone = 2 * length * width
    return best if best.length_mm * best.width_mm < _WORTH * alone else None


def _nearest(one: Outline, other: Outline, size: float, gap_mm: float, *, across: bool) -> float:
    """Return the least move at which the other piece, coming from outside, is still ``gap_mm`` from the one."""
    from shapely import Polygon
    from shapely.affinity import translate

    still, moving = Polygon(one), Polygon(other)

    def clear(shift: float) -> bool:
        there = translate(moving, 0.0 if across else shift, shift if across else 0.0)
        if gap_mm > 0:
            return bool(still.distance(there) >= gap_mm - 1e-9)
        return bool(still.intersection(there).area < 1e-9)

    high = size + gap_mm
    low = high
    for step in range(1, _STEPS + 1):
        low = high * (1 - step / _STEPS)
        if not clear(low):
            break
    else:
        return 0.0  # both lie in the rectangle of one
    above = low + high / _STEPS
    for _ in range(_HALVINGS):
        middle = (low + above) / 2
        low, above = (low, middle) if clear(middle) else (middle, above)
    return above
