"""Outlines of the whole car, from the side, the end and below, drawn from its own numbers.

Third-angle arrangement, end B to the right: the side view shows the car's left side. A line whose measurement is
wanting is dashed; trucks that are missing from the car are drawn in phantom lines.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

from carwright.car.model import Car, End
from carwright.draw.carshape import CarShape, Size
from carwright.draw.model import XY, Circle, Drawing, Group, Layer, Line, Mark, Polyline, Text
from carwright.draw.placed import Corner, below, from_end, from_side, mark_of, shadows
from carwright.pieces import Piece

__all__ = ["below_marks", "end_marks", "end_view", "rectangle", "side_marks", "side_view"]

_SIGN: dict[End, float] = {"a": -1.0, "b": 1.0}


def rectangle(left: float, low: float, right: float, high: float) -> tuple[XY, ...]:
    """Return the four corners of a rectangle, anticlockwise from the lower left."""
    return XY(left, low), XY(right, low), XY(right, high), XY(left, high)


def side_view(car: Car, shape: CarShape, pieces: tuple[Piece, ...] = (), *, scale: float = 1.0) -> Drawing:
    """Return the car from its left side, end B to the right, on the rail.

    What of ``pieces`` hangs below the side sill is seen under it.
    """
    half = shape.length.mm / 2
    top = shape.sill.mm + shape.height.mm
    marks = (
        *_hanging(pieces, shape.sill.mm, from_side, lambda at: at.y_mm),
        *side_marks(car, shape),
        *_on_the_wall(pieces, from_side, lambda at: at.y_mm),
        Text(XY(-half, top + 3.5 / scale), "A", anchor="middle", layer="text", bold=True),
        Text(XY(half, top + 3.5 / scale), "B", anchor="middle", layer="text", bold=True),
    )
    return Drawing(
        "side", "Side", "The car from its left side, end B to the right, standing on the rail.", marks, scale
    )


def _hanging(
    pieces: tuple[Piece, ...], sill_mm: float, view: Callable[[Corner], XY], depth: Callable[[Corner], float]
) -> list[Mark]:
    """Return what is seen of the underframe below the side sill.

    Bolsters and coupler boxes are drawn with the trucks and couplers.
    """
    under = tuple(piece for piece in pieces if not piece.name.startswith(_NOT_SEEN) and piece.pose.z_mm is not None)
    marks: list[Mark] = []
    for shadow in shadows(under, view, depth):
        outline = below(shadow.outline, sill_mm, closed=shadow.closed)
        if len(outline) > 1:
            marks.append(mark_of(replace(shadow, outline=outline)))
    return marks


def _on_the_wall(
    pieces: tuple[Piece, ...], view: Callable[[Corner], XY], depth: Callable[[Corner], float]
) -> list[Mark]:
    """Return the grab irons on this side of the car."""
    irons = tuple(each for each in pieces if each.name.startswith("grab_iron") and each.pose.z_mm is not None)
    return [mark_of(shadow) for shadow in shadows(irons, view, depth) if shadow.depth_mm > 0.0]


_NOT_SEEN = ("grab_iron", "floor", "bolster", "screw_block", "coupler_box", "clip")


def end_view(car: Car, shape: CarShape, pieces: tuple[Piece, ...] = (), *, scale: float = 1.0) -> Drawing:
    """Return the car from its B end, standing on the rails; what of ``pieces`` hangs below the sill is seen."""
    alt = "The car from its B end, standing on the rails, with the opening for the coupler."
    hanging = _hanging(pieces, shape.sill.mm, from_end, lambda at: -at.x_mm)
    irons = _on_the_wall(pieces, from_end, lambda at: -at.x_mm)
    return Drawing("end", "End B", alt, (*hanging, *end_marks(car, shape), *irons), scale)


def side_marks(car: Car, shape: CarShape) -> tuple[Mark, ...]:
    """Return the marks of the side view: x = 0 at mid-car, y = 0 at the rail top."""
    half = shape.length.mm / 2
    sill, top = shape.sill.mm, shape.sill.mm + shape.height.mm
    body_layer = _pen("outline", shape.length, shape.height)
    reach = half + shape.length.mm * 0.06
    marks: list[Mark] = [
        Line(XY(-reach, 0.0), XY(reach, 0.0), layer="outline", title="Rail top"),
        _box(-half, sill, half, top, body_layer, "body", "Body"),
    ]
    low, high = min(e.mm for e in (shape.floor_under.a, shape.floor_under.b)), sill + shape.lip.mm
    inner = shape.inside_length.mm / 2
    if high > low and shape.lip.known:
        floor = rectangle(-inner, low, inner, high)
        marks.append(Polyline(floor, layer="hidden", part="floor", title="Floor, behind the side sill"))
    if shape.house:
        eave = top - 0.045 * shape.height.mm
        marks.append(Line(XY(-half, eave), XY(half, eave), layer="thin" if body_layer == "outline" else "hidden"))
    for end in ("a", "b"):
        marks.append(_truck_side(car, shape, end))
        marks.append(_coupler_side(car, shape, end))
    return tuple(marks)


def end_marks(car: Car, shape: CarShape) -> tuple[Mark, ...]:
    """Return the marks of the end view: x = 0 on the centre line, y = 0 at the rail top."""
    half = shape.width.mm / 2
    sill, top = shape.sill.mm, shape.sill.mm + shape.height.mm
    opening = 0.62 * shape.box_width.b.mm
    notch = sill + shape.notch.mm
    body_layer = _pen("outline", shape.width, shape.height)
    notch_layer = _pen("outline", shape.notch)
    corners = (XY(-opening, sill), XY(-half, sill), XY(-half, top), XY(half, top), XY(half, sill), XY(opening, sill))
    gauge = shape.gauge_mm / 2
    rail = 0.07 * shape.gauge_mm
    marks: list[Mark] = [
        Polyline(corners, False, layer=body_layer, part="body", title="Body, end B"),
        Line(XY(-opening, notch), XY(opening, notch), layer=notch_layer, part="end_notch", title="Top of the opening"),
        *(
            Line(XY(x, sill), XY(x, notch), layer="wanting", part="end_notch", title="Opening, width not measured")
            for x in (-opening, opening)
        ),
        Line(XY(0.0, -0.2 * rail), XY(0.0, top + 0.05 * shape.height.mm), layer="centre"),
    ]
    for side in (-1.0, 1.0):
        near, far = sorted((side * gauge, side * (gauge + rail)))
        marks.append(Polyline(rectangle(near, -1.6 * rail, far, 0.0), layer="thin", title="Rail"))
        tread = shape.wheel.b.mm
        inner, outer = sorted((side * (gauge - 0.03 * shape.gauge_mm), side * (gauge + 0.12 * shape.gauge_mm)))
        pen = _truck_pen(car, shape.wheel.b)
        marks.append(Polyline(rectangle(inner, 0.0, outer, tread), layer=pen, part="truck_b", title="Wheel"))
    line = shape.coupler_height.b
    size = 0.28 * shape.box_width.b.mm
    head = rectangle(-size, line.mm - size, size, line.mm + size)
    marks.append(Polyline(head, layer=_coupler_pen(car, line), part="coupler_b", title="Coupler head, end B"))
    return tuple(marks)


def below_marks(car: Car, shape: CarShape) -> tuple[Mark, ...]:
    """Return the marks of the view from below: x = 0 at mid-car, y = 0 on the centre line, the left side up."""
    half, wide = shape.length.mm / 2, shape.width.mm / 2
    inner, across = shape.inside_length.mm / 2, shape.inside_width.mm / 2
    inside = _pen("thin", shape.inside_length, shape.inside_width)
    reach = half + shape.length.mm * 0.03
    marks: list[Mark] = [
        _box(-half, -wide, half, wide, _pen("outline", shape.length, shape.width), "body", "Body"),
        _box(-inner, -across, inner, across, inside, "floor", "Where the floor goes"),
        Line(XY(-reach, 0.0), XY(reach, 0.0), layer="centre"),
    ]
    for end in ("a", "b"):
        sign = _SIGN[end]
        pivot = sign * (half - shape.inset.at(end).mm)
        base, width = shape.wheelbase.at(end).mm, shape.truck_width.at(end).mm / 2
        long = base / 2 + 0.35 * shape.wheel.at(end).mm
        pen = _truck_pen(car, shape.inset.at(end), shape.wheelbase.at(end))
        truck: list[Mark] = [
            Polyline(rectangle(pivot - long, y - 0.12 * width, pivot + long, y + 0.12 * width), layer=pen)
            for y in (-width, width)
        ]
        for axle in (-base / 2, base / 2):
            truck.append(Line(XY(pivot + axle, -width), XY(pivot + axle, width), layer=pen))
        marks.append(Group(tuple(truck), part=f"truck_{end}", title=f"Truck {end.upper()}"))
        reach_in = sign * (half - shape.pivot_inset.at(end).mm)
        face = reach_in + sign * shape.coupler_length.at(end).mm
        thin = 0.16 * shape.box_width.at(end).mm
        near, far = sorted((reach_in, face))
        pen = _coupler_pen(car, shape.pivot_inset.at(end), shape.coupler_length.at(end))
        marks.append(
            Polyline(
                rectangle(near, -thin, far, thin), layer=pen, part=f"coupler_{end}", title=f"Coupler {end.upper()}"
            )
        )
    return tuple(marks)


def _box(left: float, low: float, right: float, high: float, layer: Layer, part: str, title: str) -> Polyline:
    return Polyline(rectangle(left, low, right, high), layer=layer, part=part, title=title)


def _pen(layer: Layer, *sizes: Size) -> Layer:
    return layer if all(size.known for size in sizes) else "wanting"


def _missing(car: Car, word: str) -> bool:
    return any(word in each.casefold() for each in car.info.missing)


def _truck_pen(car: Car, *sizes: Size) -> Layer:
    return _pen("phantom" if _missing(car, "truck") else "thin", *sizes)


def _coupler_pen(car: Car, *sizes: Size) -> Layer:
    return _pen("phantom" if _missing(car, "coupler") else "thin", *sizes)


def _truck_side(car: Car, shape: CarShape, end: Literal["a", "b"]) -> Group:
    pivot = _SIGN[end] * (shape.length.mm / 2 - shape.inset.at(end).mm)
    base, wheel = shape.wheelbase.at(end).mm, shape.wheel.at(end).mm
    seat, under = shape.seat.at(end), shape.floor_under.at(end)
    pen = _truck_pen(car, shape.inset.at(end), shape.wheelbase.at(end), shape.wheel.at(end))
    marks: list[Mark] = []
    for axle in (pivot - base / 2, pivot + base / 2):
        marks.append(Circle(XY(axle, wheel / 2), wheel / 2, layer=pen))
        marks.append(Circle(XY(axle, wheel / 2), 0.09 * wheel, layer=pen))
    top, low = min(seat.mm, 0.82 * wheel), 0.28 * wheel
    long = base / 2 + 0.3 * wheel
    frame = (
        XY(pivot - long, 0.38 * wheel),
        XY(pivot - 0.2 * base, low),
        XY(pivot + 0.2 * base, low),
        XY(pivot + long, 0.38 * wheel),
        XY(pivot + long, 0.66 * wheel),
        XY(pivot + 0.24 * base, top),
        XY(pivot - 0.24 * base, top),
        XY(pivot - long, 0.66 * wheel),
    )
    marks.append(Polyline(frame, layer=pen))
    if under.mm > seat.mm:
        block = 0.16 * base
        bolster = rectangle(pivot - block, seat.mm, pivot + block, under.mm)
        marks.append(Polyline(bolster, layer=_pen("hidden", seat, under), part=f"bolster_{end}", title="Body bolster"))
    height = max(under.mm, wheel) + 0.25 * wheel
    marks.append(Line(XY(pivot, 0.1 * wheel), XY(pivot, height), layer="centre"))
    return Group(tuple(marks), part=f"truck_{end}", title=f"Truck {end.upper()}")


def _coupler_side(car: Car, shape: CarShape, end: Literal["a", "b"]) -> Group:
    sign = _SIGN[end]
    half = shape.length.mm / 2
    pivot = sign * (half - shape.pivot_inset.at(end).mm)
    length, line = shape.coupler_length.at(end).mm, shape.coupler_height.at(end)
    face = pivot + sign * length
    thick = 0.2 * shape.box_height.at(end).mm
    pen = _coupler_pen(car, shape.pivot_inset.at(end), shape.coupler_length.at(end), line)
    neck = face - sign * 0.2 * length
    inside = sign * half
    start, stop = sorted((inside, neck))
    if stop - start < 0.05:
        start, stop = sorted((pivot, neck))
    left, right = sorted((neck, face))
    tall = 1.9 * thick
    marks: tuple[Mark, ...] = (
        Polyline(rectangle(start, line.mm - thick, stop, line.mm + thick), layer=pen),
        Polyline(rectangle(left, line.mm - tall, right, line.mm + tall), layer=pen),
    )
    return Group(marks, part=f"coupler_{end}", title=f"Coupler {end.upper()}")
