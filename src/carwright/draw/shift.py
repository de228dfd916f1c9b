"""Marks moved on the paper: the same mark, its places shifted."""

from __future__ import annotations

from dataclasses import replace

from carwright.draw.model import (
    XY,
    Arc,
    Balloon,
    CentreMark,
    Circle,
    Dimension,
    Group,
    Hatch,
    Leader,
    Line,
    Mark,
    Ordinate,
    Polyline,
    Ring,
    Text,
)

__all__ = ["shifted"]


def shifted(mark: Mark, dx: float, dy: float) -> Mark:
    """Return the mark moved by ``dx`` to the right and ``dy`` up, in model millimetres."""

    def at(place: XY) -> XY:
        return XY(place.x_mm + dx, place.y_mm + dy)

    if isinstance(mark, Group):
        return replace(mark, marks=tuple(shifted(each, dx, dy) for each in mark.marks))
    if isinstance(mark, Line):
        return replace(mark, start=at(mark.start), end=at(mark.end))
    if isinstance(mark, Polyline):
        return replace(mark, points=tuple(at(each) for each in mark.points))
    if isinstance(mark, Hatch):
        holes = tuple(tuple(at(each) for each in hole) for hole in mark.holes)
        return replace(mark, outline=tuple(at(each) for each in mark.outline), holes=holes)
    if isinstance(mark, Dimension):
        line = mark.line_at_mm + (dy if mark.axis == "x" else dx)
        return replace(mark, start=at(mark.start), end=at(mark.end), line_at_mm=line)
    if isinstance(mark, Ordinate):
        return replace(mark, point=at(mark.point), label=at(mark.label))
    if isinstance(mark, Leader):
        return replace(mark, tip=at(mark.tip), elbow=at(mark.elbow))
    if isinstance(mark, Circle | Arc | CentreMark):
        return replace(mark, centre=at(mark.centre))
    if isinstance(mark, Text | Ring | Balloon):
        return replace(mark, at=at(mark.at))
    raise TypeError(f"no way is known to move a {type(mark).__name__}")
