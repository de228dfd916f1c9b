"""How far a hole stands from the edge of its piece, and from another hole."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from carwright.pieces import Point
from carwright.working import Working, derive, settled

__all__ = ["apart", "nearest_edge"]


def apart(name: str, x: Working, y: Working, other_x: Working, other_y: Working) -> Working:
    """Return the distance between two places of one piece, mm; what is nought in both is left out."""
    dx, dy = abs(x.value - other_x.value), abs(y.value - other_y.value)
    if not dy and not y.value:
        return settled(derive(name, "abs(x - o)", x=x, o=other_x))
    if not dx and not x.value:
        return settled(derive(name, "abs(y - o)", y=y, o=other_y))
    return settled(derive(name, "hypot(x - o, y - p)", x=x, o=other_x, y=y, p=other_y))


def nearest_edge(name: str, outline: Sequence[Point], x: Working, y: Working) -> Working | None:
    """Return the distance from a hole's centre to the nearest finished edge, mm; negative outside the piece.

    Args:
        name: of the number.
        outline: corners of the piece in order; the first is not repeated. Fewer than three give None.
        x: of the centre, in the piece's frame, mm.
        y: likewise.
    """
    if len(outline) < 3:
        return None
    sign = "" if _inside(outline, x.value, y.value) else "-"
    found: list[Working] = []
    for a, b in pairwise((*outline, outline[0])):
        ax, ay, bx, by = a.x_mm.value, a.y_mm.value, b.x_mm.value, b.y_mm.value
        length = math.hypot(bx - ax, by - ay)
        if length == 0.0:
            continue
        along = ((x.value - ax) * (bx - ax) + (y.value - ay) * (by - ay)) / length**2
        if not 0.0 < along < 1.0:
            end = a if along <= 0.0 else b
            found.append(derive(name, f"{sign}hypot(x - e, y - f)", x=x, e=end.x_mm, y=y, f=end.y_mm))
        elif ax == bx:
            found.append(derive(name, f"{sign}abs(x - e)", x=x, e=a.x_mm))
        elif ay == by:
            found.append(derive(name, f"{sign}abs(y - e)", y=y, e=a.y_mm))
        else:
            formula = f"{sign}abs((c - a)*(b - y) - (a - x)*(d - b))/hypot(c - a, d - b)"
            found.append(derive(name, formula, x=x, y=y, a=a.x_mm, b=a.y_mm, c=b.x_mm, d=b.y_mm))
    nearest = min(found, key=lambda each: abs(each.value), default=None)
    return None if nearest is None else settled(nearest)


def _inside(outline: Sequence[Point], x: float, y: float) -> bool:
    """Return whether a place lies inside an outline, by how often a line from it crosses the outline."""
    crossings = 0
    for a, b in pairwise((*outline, outline[0])):
        ax, ay, bx, by = a.x_mm.value, a.y_mm.value, b.x_mm.value, b.y_mm.value
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            crossings += 1
    return crossings % 2 == 1
