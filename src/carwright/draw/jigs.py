"""Jigs that help: a board on which wire is bent over the drawing, and a plate that finds a hole's place every time.

Both are drawn true to size. The bending board shows the wire as bent, with a pin in the inside of each bend. The
spotting plate has two fences, against which a web's upper edge and its inner end are pushed; its one hole guides the
drill. It helps where three or more pieces have a hole at the same place.
"""

from __future__ import annotations

import math
from typing import Final, Literal

from carwright.car.model import Grab
from carwright.draw.labels import number
from carwright.draw.model import XY, CentreMark, Circle, Dimension, Drawing, Group, Line, Mark, Polyline, Text
from carwright.draw.outline import rectangle
from carwright.draw.piecelist import piece_rows
from carwright.draw.pieceviews import many_words, packed
from carwright.draw.placed import words_of
from carwright.draw.strokes import bounds, ink
from carwright.pieces import Hole, Piece
from carwright.plan.model import Plan
from carwright.working import Working, derive

__all__ = ["jig_sheets"]

_BOARD_MM: Final = 8.0
_PIN_MM: Final = 1.0
_FENCE_MM: Final = 3.0
_HELPS_FROM: Final = 3
_PLATE_MM: Final = 8.0


def jig_sheets(plan: Plan, *, width_mm: float, height_mm: float) -> tuple[Drawing, ...]:
    """Return the jigs on as many drawings as they need; none where none helps."""
    views = [_bending(plan, piece) for piece in plan.pieces if piece.form == "wire" and len(piece.path_mm) > 2]
    views += [_spotting(plan, alike) for alike in _alike(plan)]
    views += [_wall_plate(plan, place) for place in _walls(plan)]
    alt = "Jigs true to size: a board for bending the wire, and plates for spotting holes."
    return packed("jigs", "Jigs, true size", alt, views, width_mm=width_mm, height_mm=height_mm)


def _walls(plan: Plan) -> list[tuple[Hole, ...]]:
    """Return the holes in a wall of each grab iron or ladder, at the first side that it is on."""
    found: dict[str, list[Hole]] = {}
    for hole in plan.holes:
        if hole.name.startswith("grab_iron") and hole.x_mm is not None:
            found.setdefault(hole.name.rsplit("_", 2)[0], []).append(hole)
    return [tuple(hole for hole in each if hole.piece == each[0].piece) for each in found.values()]


def _wall_plate(plan: Plan, holes: tuple[Hole, ...]) -> tuple[Mark, ...]:
    """Return a plate that is held on a wall: a fence under the sill, a middle line for the mark, two holes a tread."""
    units = plan.car.info.units
    along = [hole.x_mm for hole in holes if hole.x_mm is not None]
    middle = (min(each.value for each in along) + max(each.value for each in along)) / 2
    half = max(each.value for each in along) - middle
    high = max(hole.y_mm.value for hole in holes)
    wide, top = max(_PLATE_MM, half + 4.0), high + 4.0
    marks: list[Mark] = [
        Polyline(rectangle(-wide, -_FENCE_MM, wide, top), layer="template", role="cut", title="Plate"),
        Line(XY(-wide, 0.0), XY(wide, 0.0), layer="template", title="Fence under the sill"),
        Line(XY(0.0, -_FENCE_MM), XY(0.0, top), layer="centre", title="Middle of the iron"),
        Text(XY(-wide + 1.0, -2.2), "fence", size_mm=2.4, layer="text"),
    ]
    for hole in holes:
        assert hole.x_mm is not None
        at, radius = XY(hole.x_mm.value - middle, hole.y_mm.value), hole.diameter_mm.value / 2
        marks.append(Circle(at, radius, layer="template", role="drill", part=hole.name, title=hole.purpose))
        marks.append(CentreMark(at, radius, 1.6, layer="template_inner"))
    apart = derive("between both legs", "a - b", a=max(along, key=_value), b=min(along, key=_value))
    marks.append(
        Dimension(XY(-half, 0.0), XY(half, 0.0), "x", -_FENCE_MM - 5.5, number(apart, units), layer="dimension")
    )
    heights = sorted({round(hole.y_mm.value, 6): hole.y_mm for hole in holes}.items())
    for place, (_, up) in enumerate(heights):
        off = -wide - 7.0 - 9.0 * place
        marks.append(Dimension(XY(-wide, 0.0), XY(-wide, up.value), "y", off, number(up, units), layer="dimension"))
    grab = plan.car.body.grabs[int(holes[0].name.split("_")[2]) - 1]
    box = bounds(ink(Drawing("jig", "", "", tuple(marks))))
    note = f"hole {holes[0].drill}; its middle line {_said_place(grab, units)}"
    marks.append(Text(XY(box.left_mm, box.top_mm + 6.8), f"Plate for {grab.name}", bold=True, layer="text"))
    marks.append(Text(XY(box.left_mm, box.top_mm + 2.4), note, layer="text"))
    return (Group(tuple(marks), part="wall_plate"),)


def _said_place(grab: Grab, units: Literal["in", "mm"]) -> str:
    """Return where an iron's middle is: "2.810 toward B from mid-car, left side"."""
    if grab.x is None:
        return "not known yet"
    off = number(grab.x, units).lstrip("-")
    end = grab.side.endswith("end")
    way = ("left" if grab.x.value > 0 else "right") if end else ("A" if grab.x.value > 0 else "B")
    return f"{off} toward {way} from {'the centre line' if end else 'mid-car'}, {grab.side}{'' if end else ' side'}"


def _value(size: Working) -> float:
    return size.value


def _bending(plan: Plan, wire: Piece) -> tuple[Mark, ...]:
    units = plan.car.info.units
    path = [XY(-at.x_mm.value, at.y_mm.value) for at in wire.path_mm]
    left, right = min(at.x_mm for at in path) - _BOARD_MM, max(at.x_mm for at in path) + _BOARD_MM
    low, high = min(at.y_mm for at in path) - _BOARD_MM, max(at.y_mm for at in path) + _BOARD_MM
    marks: list[Mark] = [
        Polyline(rectangle(left, low, right, high), layer="thin", title="Board, any offcut"),
        Polyline(tuple(path), False, layer="wire", part=wire.name, title=words_of(wire)),
    ]
    reach = wire.diameter_mm.value / 2 if wire.diameter_mm is not None else 0.0
    turns = [_turn_deg(*three) for three in zip(path, path[1:], path[2:], strict=False)]
    once = len(turns) > 1 and max(turns) - min(turns) < 1e-6
    if once:
        marks.append(Text(XY((left + right) / 2, low + 1.4), f"bend {turns[0]:.0f}°", anchor="middle", layer="text"))
    for before, at, after in zip(path, path[1:], path[2:], strict=False):
        inside = _inside(before, at, after, reach + _PIN_MM / 2)
        marks.append(Circle(inside, _PIN_MM / 2, fill="ink", layer="thin", title="Pin"))
        if not once:
            words = f"bend {_turn_deg(before, at, after):.0f}°"
            marks.append(Text(XY(at.x_mm, low + 1.4), words, anchor="middle", layer="text"))
    marks.append(
        Dimension(
            XY(min(at.x_mm for at in path), low),
            XY(max(at.x_mm for at in path), low),
            "x",
            low - 5.5,
            number(wire.length_mm, units),
            layer="dimension",
        )
    )
    title = f"Bending board for {words_of(wire).lower().replace(' a', ' A').replace(' b', ' B')}"
    note = f"wire {number(wire.thickness_mm, units)}, {number(wire.cut_length_mm, units)} long before it is bent"
    marks.append(Text(XY(left, high + 6.8), title, bold=True, layer="text"))
    marks.append(Text(XY(left, high + 2.4), note, layer="text"))
    return (Group(tuple(marks), part=f"jig_{wire.name}"),)


def _inside(before: XY, at: XY, after: XY, off: float) -> XY:
    """Return where the pin stands: on the bisector of the bend, on its inner side, ``off`` from the wire's middle."""

    def unit(end: XY) -> tuple[float, float]:
        length = math.dist(at, end)
        return (end.x_mm - at.x_mm) / length, (end.y_mm - at.y_mm) / length

    (ax, ay), (bx, by) = unit(before), unit(after)
    x, y = ax + bx, ay + by
    length = math.hypot(x, y)
    if length < 1e-9:
        return XY(at.x_mm, at.y_mm + off)
    half = math.acos(max(-1.0, min(1.0, ax * bx + ay * by))) / 2
    away = off / math.sin(half)
    return XY(at.x_mm + x / length * away, at.y_mm + y / length * away)


def _turn_deg(before: XY, at: XY, after: XY) -> float:
    first = math.atan2(at.y_mm - before.y_mm, at.x_mm - before.x_mm)
    second = math.atan2(after.y_mm - at.y_mm, after.x_mm - at.x_mm)
    return abs((math.degrees(second - first) + 180.0) % 360.0 - 180.0)


def _alike(plan: Plan) -> list[list[tuple[Piece, Hole]]]:
    """Return the cross members' holes that stand alike from upper edge and inner end, where there are several."""
    found: dict[tuple[int, int, str], list[tuple[Piece, Hole]]] = {}
    for piece in plan.pieces:
        if not piece.name.startswith(("crossbearer", "crosstie")):
            continue
        for hole in piece.holes:
            if hole.x_mm is not None:
                inner = piece.length_mm.value / 2 + hole.x_mm.value
                upper = piece.width_mm.value / 2 - hole.y_mm.value
                key = (round(inner * 1e3), round(upper * 1e3), hole.drill)
                found.setdefault(key, []).append((piece, hole))
    return [each for each in found.values() if sum(int(p.quantity.value) for p, _ in each) >= _HELPS_FROM]


def _spotting(plan: Plan, alike: list[tuple[Piece, Hole]]) -> tuple[Mark, ...]:
    """Return the plate as seen from end B: upper edge above, inner end at the right."""
    units = plan.car.info.units
    piece, hole = max(alike, key=lambda each: each[0].width_mm.value)
    assert hole.x_mm is not None
    inner = derive("from the inner end", "L/2 + x", L=piece.length_mm, x=hole.x_mm)
    upper = derive("from the upper edge", "W/2 - y", W=piece.width_mm, y=hole.y_mm)
    long, deep = max(16.0, inner.value + 8.0), max(9.0, piece.width_mm.value + 3.0)
    at, radius = XY(-inner.value, -upper.value), hole.diameter_mm.value / 2
    marks: list[Mark] = [
        Polyline(rectangle(-long, -deep, _FENCE_MM, _FENCE_MM), layer="template", role="cut", title="Plate"),
        Line(XY(-long, 0.0), XY(0.0, 0.0), layer="template", title="Fence for the upper edge"),
        Line(XY(0.0, 0.0), XY(0.0, -deep), layer="template", title="Fence for the inner end"),
        Circle(at, radius, layer="template", role="drill", part=hole.name, title=hole.purpose),
        CentreMark(at, radius, 1.6, layer="template_inner"),
        Dimension(XY(-inner.value, -deep), XY(0.0, -deep), "x", -deep - 5.5, number(inner, units), layer="dimension"),
        Dimension(XY(-long, 0.0), XY(-long, -upper.value), "y", -long - 7.0, number(upper, units), layer="dimension"),
        Text(XY(-long + 1.0, 0.7), "fence", size_mm=2.4, layer="text"),
    ]
    names = {p.name for p, _ in alike}
    rows = [row for row in piece_rows(plan) if names & set(row.pieces)]
    many = many_words(sum(row.many for row in rows))
    title = f"Spotting plate, {hole.drill}"
    note = f"for {' and '.join(row.name[:1].lower() + row.name[1:] for row in rows)}: {many}"
    box = bounds(ink(Drawing("jig", "", "", tuple(marks))))
    marks.append(Text(XY(box.left_mm, box.top_mm + 6.8), title, bold=True, layer="text"))
    marks.append(Text(XY(box.left_mm, box.top_mm + 2.4), note, layer="text"))
    return (Group(tuple(marks), part="spotting_plate"),)
