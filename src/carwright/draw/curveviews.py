"""Pictures of a car on a curve: the room it sweeps, the couplers at their worst, their angle along the track, a touch.

Views from above have the track's own scale; charts are drawn in paper millimetres at 1 : 1. Lengths are told in the
reader's unit, angles to a tenth of a degree.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Final, Literal

from carwright.draw.curvecharts import angle_chart, room_chart, tangent_chart
from carwright.draw.model import XY, Arc, Circle, Drawing, Hatch, Layer, Line, Mark, Placed, Polyline, Sheet, Text
from carwright.draw.strokes import bounds, ink
from carwright.pieces import said_piece
from carwright.plan.curvemodel import CurveAnswer
from carwright.plan.curvescene import CarPlaced, Pair, Swept, Touching, pair_at_worst, swept_room, touching

__all__ = ["curve_drawings", "curve_sheet", "pair_view", "room_view", "touch_views"]

Units = Literal["in", "mm"]

_SCALES: Final = (4.0, 3.0, 2.0, 1.0, *(1.0 / n for n in (2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50, 100)))
_WIDE_MM: Final = 178.0
_HIGH_MM: Final = 120.0
_MARGIN_MM: Final = 8.0
_NAME_MM: Final = 4.2
_BETWEEN_MM: Final = 11.0
_TOUCH: Final = "curve_touch_"


def curve_drawings(answer: CurveAnswer) -> tuple[Drawing, ...]:
    """Return every picture of a study that its sizes allow, in the order in which they are read."""
    found: list[Drawing | None] = [
        room_view(answer),
        room_chart(answer),
        pair_view(answer),
        angle_chart(answer),
        angle_chart(answer, reverse=True),
        tangent_chart(answer),
        *touch_views(answer),
    ]
    return tuple(each for each in found if each is not None)


def room_view(answer: CurveAnswer, *, wide_mm: float = _WIDE_MM, high_mm: float = _HIGH_MM) -> Drawing | None:
    """Return the room that the car sweeps along the track, at the largest scale that fits; None where not known."""
    room = swept_room(answer)
    return None if room is None else _fitted(lambda scale: _room(room, scale), wide_mm, high_mm)


def pair_view(answer: CurveAnswer, *, wide_mm: float = _WIDE_MM, high_mm: float = 80.0) -> Drawing | None:
    """Return both cars where a coupler swings farthest; None where they cannot be coupled for want of sizes."""
    pair = pair_at_worst(answer)
    return None if pair is None else _fitted(lambda scale: _pair(pair, scale), wide_mm, high_mm)


def touch_views(answer: CurveAnswer, *, wide_mm: float = 85.0, high_mm: float = 60.0) -> tuple[Drawing, ...]:
    """Return each truck at the moment of touching each part that it touches, the widest radius first."""
    return tuple(_fitted(partial(_touch, touch), wide_mm, high_mm) for touch in touching(answer))


def curve_sheet(answer: CurveAnswer) -> Sheet | None:
    """Return all pictures of a study on one ground, each under its name; None where there is none."""
    drawings = curve_drawings(answer)
    if not drawings:
        return None
    rows = [drawings[n : n + 1] for n in range(len(drawings)) if not drawings[n].name.startswith(_TOUCH)]
    touches = [each for each in drawings if each.name.startswith(_TOUCH)]
    rows += [tuple(touches[n : n + 2]) for n in range(0, len(touches), 2)]
    half = _WIDE_MM / 2.0 + _MARGIN_MM / 2.0
    placed: list[Placed] = []
    top = -_MARGIN_MM
    for row in rows:
        boxes = [bounds(ink(each)) for each in row]
        for place, (drawing, box) in enumerate(zip(row, boxes, strict=True)):
            left = _MARGIN_MM + place * half
            name = Text(XY(left, top - _NAME_MM), drawing.title, size_mm=_NAME_MM, bold=True, layer="text")
            placed.append(Placed(Drawing(f"{drawing.name}_name", "", "", (name,)), XY(0.0, 0.0)))
            placed.append(Placed(drawing, XY(left - box.left_mm, top - _NAME_MM - 3.0 - box.top_mm)))
        top -= max(box.height_mm for box in boxes) + _BETWEEN_MM
    widest = max(bounds(ink(each)).width_mm for each in drawings)
    height = -top
    moved = tuple(replace(each, at=XY(each.at.x_mm, each.at.y_mm + height)) for each in placed)
    return Sheet("curve", max(_WIDE_MM, widest) + 2.0 * _MARGIN_MM, height, moved)


def _fitted(make: Callable[[float], Drawing], wide_mm: float, high_mm: float) -> Drawing:
    """Return a view at the largest scale at which it fits."""
    for scale in _SCALES:
        drawing = make(scale)
        box = bounds(ink(drawing))
        if box.width_mm <= wide_mm and box.height_mm <= high_mm:
            return drawing
    return drawing


def _said(scale: float) -> str:
    return "true size" if scale == 1.0 else f"{scale:.0f} : 1" if scale > 1.0 else f"1 : {1.0 / scale:.0f}"


def _points(places: Sequence[tuple[float, float]]) -> tuple[XY, ...]:
    return tuple(XY(x, y) for x, y in places)


def _car(car: CarPlaced, *, body: Layer, trucks: Layer, part: str) -> list[Mark]:
    marks: list[Mark] = [Polyline(_points(car.body), layer=body, part=part, title="Body")]
    for outline in car.trucks:
        marks.append(Polyline(_points(outline), layer=trucks, part=f"{part}_truck", title="Truck"))
    for one, two in car.axles:
        marks.append(Line(XY(*one), XY(*two), layer="thin", part=f"{part}_axle", title="Axle"))
    return marks


def _room(room: Swept, scale: float) -> Drawing:
    border = (*room.left, *reversed(room.right))
    marks: list[Mark] = [Polyline(_points(border), fill="band", layer="band", part="room", title="Room that is swept")]
    for line in (room.left, room.right):
        marks.append(Polyline(_points(line), closed=False, layer="outline", part="room", title="Border of the room"))
    marks.append(Polyline(_points(room.line), closed=False, layer="centre", part="track", title="Middle of the track"))
    for n, car in enumerate(room.cars):
        marks += [Polyline(_points(car.body), layer="thin", part=f"car_{n + 1}", title="The car")]
    alt = "The track from above with the room that the car sweeps on both sides of its middle."
    return Drawing("curve_room", f"Room along the track, {_said(scale)}", alt, tuple(marks), scale)


def _pair(pair: Pair, scale: float) -> Drawing:
    """Return the ends of both cars that are coupled, turned so that the first lies to the left, A end outward."""
    one, two = complex(*pair.front.pivots[0]), complex(*pair.front.pivots[1])
    turn = -(one - two) / abs(one - two)
    origin = complex(*pair.heads)

    def at(place: tuple[float, float]) -> XY:
        moved = (complex(*place) - origin) / turn
        return XY(moved.real, moved.imag)

    def car(given: CarPlaced) -> CarPlaced:
        def all_of(places: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
            return tuple((at(each).x_mm, at(each).y_mm) for each in places)

        trucks = (all_of(given.trucks[0]), all_of(given.trucks[1]))
        pivots = all_of(given.pivots)
        axles = tuple((all_of((a, b))[0], all_of((a, b))[1]) for a, b in given.axles)
        return CarPlaced(all_of(given.body), trucks, (pivots[0], pivots[1]), axles)

    reach = 0.42 * abs(complex(*pair.front.body[0]) - complex(*pair.front.body[1]))
    near = tuple(place for each in pair.line if abs((place := at(each)).x_mm) <= reach)
    marks: list[Mark] = [Polyline(near, closed=False, layer="centre", part="track", title="Middle of the track")]
    for given, part in ((pair.front, "first_car"), (pair.rear, "second_car")):
        for mark in _car(car(given), body="outline", trucks="phantom", part=part):
            if isinstance(mark, Polyline):
                cut = _cut(mark.points, -reach, reach)
                if len(cut) >= 3:
                    marks.append(replace(mark, points=cut))
            elif isinstance(mark, Line) and abs(mark.start.x_mm) <= reach and abs(mark.end.x_mm) <= reach:
                marks.append(mark)
    hook, other = at(pair.pivots[0]), at(pair.pivots[1])
    for pivot, tip in zip(pair.pivots, pair.straight, strict=True):
        marks.append(Line(at(pivot), at(tip), layer="hidden", part="straight_ahead", title="Coupler, straight ahead"))
    marks.append(Line(hook, other, layer="wire", part="link", title="Both couplers under pull"))
    for pivot in (hook, other):
        marks.append(Circle(pivot, 0.8 / scale, "paper", layer="outline", part="coupler_pivot", title="Coupler pivot"))
    low = min(each.y_mm for mark in marks if isinstance(mark, Polyline) and mark.closed for each in mark.points)
    for pivot, angle, limit, name, anchor in (
        (hook, pair.angles_deg[0], pair.limits_deg[0], "coupler B of the first car", "end"),
        (other, pair.angles_deg[1], pair.limits_deg[1], "coupler A of the second", "start"),
    ):
        beyond = " of a swing that is not known" if limit is None else f", the pocket allows {limit:.1f}°"
        word = Text(
            XY((-2.0 if anchor == "end" else 2.0) / scale, low - 6.0 / scale),
            f"{name}: {angle:.1f}°{beyond}",
            anchor="end" if anchor == "end" else "start",
            layer="text",
        )
        marks.append(word)
        marks.append(_arc(pivot, hook if pivot is other else other, at(pair.straight[0 if pivot is hook else 1])))
    alt = "Two coupled cars from above where a coupler swings farthest, with both couplers' angles."
    return Drawing("curve_pair", f"Couplers at their worst, {_said(scale)}", alt, tuple(marks), scale)


def _arc(pivot: XY, other: XY, straight: XY) -> Arc:
    """Return the arc between a coupler's straight-ahead line and the link."""
    one = math.degrees(math.atan2(other.y_mm - pivot.y_mm, other.x_mm - pivot.x_mm))
    two = math.degrees(math.atan2(straight.y_mm - pivot.y_mm, straight.x_mm - pivot.x_mm))
    if (two - one) % 360.0 > 180.0:
        one, two = two, one
    radius = 0.85 * math.hypot(straight.x_mm - pivot.x_mm, straight.y_mm - pivot.y_mm)
    return Arc(pivot, radius, one % 360.0, one % 360.0 + (two - one) % 360.0, layer="thin", part="angle", title="Angle")


def _touch(touch: Touching, scale: float) -> Drawing:
    """Return a truck and the part it touches, near that truck only; end B lies to the right."""

    def at(place: tuple[float, float]) -> XY:
        return XY(-place[0], -place[1])  # from above, with A to the left

    marks: list[Mark] = []
    pivot = at(touch.pivot)
    reach = 1.6 * max(abs(complex(*each) - complex(*touch.pivot)) for outline in touch.truck for each in outline)
    for outline in touch.part:
        near = _cut(tuple(at(each) for each in outline), pivot.x_mm - reach, pivot.x_mm + reach)
        if len(near) >= 3:
            marks.append(Hatch(near, "single", layer="hatch", part="touched", title=touch.answer.part))
            marks.append(Polyline(near, layer="outline", part="touched", title=touch.answer.part))
    if touch.body:
        body = _cut(tuple(at(each) for each in touch.body), pivot.x_mm - reach, pivot.x_mm + reach)
        marks.append(Polyline(body, layer="thin", part="body", title="Body"))
    for outline in touch.straight:
        marks.append(Polyline(tuple(at(each) for each in outline), layer="phantom", part="straight", title="Straight"))
    for outline in touch.truck:
        marks.append(Polyline(tuple(at(each) for each in outline), layer="outline", part="truck", title="Truck"))
    marks.append(Circle(pivot, 1.0 / scale, "paper", layer="outline", part="pivot", title="Pivot"))
    angle = touch.answer.angle
    turn = cmath.rect(reach * 0.8, math.radians(angle.value if angle is not None else 0.0) * (1 if touch.left else -1))
    for end in (complex(reach * 0.8, 0.0), turn):
        layer: Layer = "centre" if end is not turn else "thin"
        marks.append(
            Line(
                XY(pivot.x_mm - end.real, pivot.y_mm - end.imag),
                XY(pivot.x_mm + end.real, pivot.y_mm + end.imag),
                layer=layer,
                part="axis",
                title="Truck's axis",
            )
        )
    part = said_piece(touch.answer.part)
    said = f"{angle.value:.1f}°" if angle is not None else ""
    low = min(each.y_mm for mark in marks if isinstance(mark, Polyline) for each in mark.points)
    side = XY(pivot.x_mm - reach - 2.0 / scale, pivot.y_mm - 1.0 / scale)
    marks.append(Text(side, "toward A", anchor="end", layer="text"))
    words = f"truck {touch.answer.end.upper()}: its {touch.answer.by} meets the {part} at {said}"
    marks.append(Text(XY(pivot.x_mm, low - 6.0 / scale), words, anchor="middle", layer="text"))
    alt = f"Truck {touch.answer.end.upper()} from above, turned until it touches the {part}."
    letter, name = touch.answer.end, touch.answer.part.lower().replace(" ", "_")
    title = f"Truck {letter.upper()} against {part}, {_said(scale)}"
    return Drawing(f"{_TOUCH}{letter}_{name}", title, alt, tuple(marks), scale)


def _cut(outline: tuple[XY, ...], left: float, right: float) -> tuple[XY, ...]:
    """Return what of an outline lies between two upright lines."""
    kept = list(outline)
    for line, way in ((left, 1.0), (right, -1.0)):
        given, kept = kept, []
        for one, two in zip(given, (*given[1:], *given[:1]), strict=True):
            one_in, two_in = way * (one.x_mm - line) >= 0.0, way * (two.x_mm - line) >= 0.0
            if one_in:
                kept.append(one)
            if one_in != two_in:
                part = (line - one.x_mm) / (two.x_mm - one.x_mm)
                kept.append(XY(line, one.y_mm + part * (two.y_mm - one.y_mm)))
    return tuple(kept)
