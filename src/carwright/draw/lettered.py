"""The views of a car for a screen, each with the letters of the measurements that show in it.

They are drawn so that the whole view is about ``SCREEN_MM`` wide on its paper: a page stretches them to the room that
it has, and letters then have the same size in every view. They are not to any named scale.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final, Literal

from carwright.car.keys import key_named
from carwright.car.model import ENDS, End
from carwright.draw.carshape import CarShape
from carwright.draw.exploded import exploded
from carwright.draw.floorplan import floor_corners, floor_plan
from carwright.draw.heads import plan_shape
from carwright.draw.labels import number
from carwright.draw.model import XY, Dimension, Drawing, Layer, Mark, Text
from carwright.draw.outline import end_view, side_view
from carwright.draw.ridediagram import ride_diagram
from carwright.draw.section import sections
from carwright.draw.settle import Tag, settled
from carwright.draw.sheet import curve_letters
from carwright.draw.shift import shifted
from carwright.draw.strokes import Box, bounds, ink
from carwright.plan.model import Plan
from carwright.working import Working

__all__ = ["SCREEN_MM", "SCREEN_VIEWS", "ScreenView", "screen_drawing"]

ScreenView = Literal["side", "end", "section", "ride", "exploded", "parts"]
"""What a page shows of a car; ``side`` has the floor from below beneath it, ``parts`` a truck and a coupler."""

SCREEN_VIEWS: Final[tuple[ScreenView, ...]] = ("side", "end", "section", "ride", "exploded", "parts")
"""Every view, in the order in which they are offered."""

SCREEN_MM: Final = 150.0
"""Width on paper that a view is meant to have, so that letters come out alike."""

_CAPTION_MM: Final = 3.8
_BELOW: Final = "turned over, wheels to you: the car's left side is on top, its right below"
_DIMENSIONS_MM: Final = 54.0
"""Room beside a car for its dimensions, on paper."""


def screen_drawing(plan: Plan, view: ScreenView) -> Drawing:
    """Return one view of a planned car, lettered."""
    shape = plan_shape(plan)
    if view == "side":
        return _side_and_below(plan, shape)
    if view == "end":
        return _end(plan, shape)
    if view == "section":
        return _widened(sections(plan, shape, scale=(SCREEN_MM - 84.0) / shape.width.mm))
    if view == "ride":
        inset = max(shape.inset.at(end).mm + shape.coupler_length.at(end).mm for end in ENDS)
        return ride_diagram(plan, shape, scale=(SCREEN_MM - 88.0) / (1.5 * inset), letters=True)
    if view == "parts":
        return curve_letters(plan.car)
    return exploded(plan, scale=(SCREEN_MM - 84.0) / shape.length.mm)


def _side_and_below(plan: Plan, shape: CarShape) -> Drawing:
    """Return the car from its left side and its floor from below beneath it, mid-car over mid-car."""
    k = (SCREEN_MM - _DIMENSIONS_MM) / shape.length.mm
    side = side_view(plan.car, shape, plan.pieces, scale=k)
    half, wide = shape.length.mm / 2, shape.width.mm / 2
    sill, top = shape.sill.mm, shape.sill.mm + shape.height.mm
    trucks, units, body = plan.car.trucks, plan.car.info.units, plan.car.body
    pivots = {"a": -half + shape.inset.a.mm, "b": half - shape.inset.b.mm}
    marks: list[Mark] = [each for each in side.marks if not isinstance(each, Text)]
    marks.append(_caption("Side", XY(-half, top + 11.5 / k)))
    marks.append(_letter("body.length", body.length, XY(-half, top), XY(half, top), "x", top + 7.0 / k, units))
    marks.append(
        _letter(
            "trucks.centers",
            trucks.a.centers or trucks.b.centers,
            XY(pivots["a"], 0.0),
            XY(pivots["b"], 0.0),
            "x",
            -6.5 / k,
            units,
        )
    )
    near, far = half + 9.0 / k, half + 18.0 / k
    for sign, end in ((-1.0, "a"), (1.0, "b")):
        truck = trucks.a if end == "a" else trucks.b
        seat = shape.seat.a.mm if end == "a" else shape.seat.b.mm
        at = pivots[end]
        marks.append(
            _letter("trucks.seat_height", truck.seat_height, XY(at, 0.0), XY(at, seat), "y", sign * near, units)
        )
    marks.append(_letter("body.height", body.height, XY(half, sill), XY(half, top), "y", far, units))
    marks += _coupler_height(plan, shape, "a", -far, k)
    marks += _coupler_height(plan, shape, "b", far + 9.0 / k, k)
    marks += settled(tuple(_end_tags(shape, k)), marks, k)
    floor = floor_plan(plan, shape, scale=k, legend=False)
    down = -(wide + 44.0 / k)
    marks.append(_caption("From below", XY(-half, down + wide + 30.0 / k)))
    marks.append(Text(XY(-half + 24.0 / k, down + wide + 30.0 / k), _BELOW, layer="text"))
    below = [each for each in floor.marks if not (isinstance(each, Dimension) and each.key == "body.length")]
    cut = floor_corners(plan, shape)
    low = -max(wide, cut.half_width) - 18.0 / k
    inner, across = shape.inside_length.mm / 2, shape.inside_width.mm / 2
    below.append(
        _letter(
            "body.inside_length", _least(body.inside_length), XY(-inner, -across), XY(inner, -across), "x", low, units
        )
    )
    left = -max(half, cut.half_length) - 18.5 / k
    below.append(
        _letter(
            "body.inside_width", _least(body.inside_width), XY(-inner, -across), XY(-inner, across), "y", left, units
        )
    )
    marks += [shifted(each, 0.0, down) for each in below]
    alt = "The car from its left side, end B to the right, and beneath it its floor from below, with the measurements."
    return Drawing("side", "Side and below", alt, tuple(marks), k, floor.notes)


def _coupler_height(plan: Plan, shape: CarShape, end: End, x: float, k: float) -> Iterator[Mark]:
    """Yield a coupler's height as a dimension at ``x``; one that fails is drawn in the heavy pen, and says so."""
    height, half = plan.ride.ends.at(end).coupler_height, shape.length.mm / 2
    fails = any(each.check == f"coupler_height_{end}" and each.verdict == "fail" for each in plan.findings)
    pulled = XY(-half if end == "a" else half, shape.coupler_height.at(end).mm)
    layer: Layer = "wanting" if height is None else "outline" if fails else "dimension"
    text = number(height, plan.car.info.units)
    yield Dimension(XY(pulled.x_mm, 0.0), pulled, "y", x, text, layer=layer, part=f"coupler_{end}")
    if fails:
        yield Text(XY(x, -8.4 / k), "fails", anchor="middle", bold=True, layer="text", part=f"coupler_{end}")


def _end_tags(shape: CarShape, k: float) -> Iterator[Tag]:
    """Yield the letters of both ends beside the body; where a dimension is in the way, higher or farther in."""
    half, sill, top = shape.length.mm / 2 * k, shape.sill.mm * k, (shape.sill.mm + shape.height.mm) * k
    for name, sign in (("A", -1.0), ("B", 1.0)):
        text = Text(XY(sign * (half + 4.0) / k, (top - 4.0) / k), name, anchor="middle", bold=True, layer="text")
        outside = tuple(XY(sign * (half + out), top + up) for up in (2.2, 3.8) for out in (3.2, 4.2, 5.2, 2.4))
        within = tuple(XY(sign * (half - 3.5), top - down) for down in (4.0, 7.0) if top - down > sill + 3.0)
        yield Tag(text, Box(sign * half - 6.0, sill, sign * half + 6.0, top + 4.0), (*outside, *within))


def _end(plan: Plan, shape: CarShape) -> Drawing:
    tall = shape.sill.mm + shape.height.mm
    k = 62.0 / tall
    view = end_view(plan.car, shape, plan.pieces, scale=k)
    half, sill, top = shape.width.mm / 2, shape.sill.mm, tall
    body, units = plan.car.body, plan.car.info.units
    notch = sill + shape.notch.mm
    marks: list[Mark] = [
        *view.marks,
        _letter("body.width", body.width, XY(-half, top), XY(half, top), "x", top + 7.0 / k, units),
        _letter("body.height", body.height, XY(-half, sill), XY(-half, top), "y", -half - 9.0 / k, units),
        _letter("body.end_notch", body.end_notch, XY(half, sill), XY(half, notch), "y", half + 9.0 / k, units),
        _caption("End B", XY(-SCREEN_MM / 2 / k, top + 12.0 / k)),
    ]
    return _widened(replace(view, marks=tuple(marks), scale=k))


def _widened(drawing: Drawing) -> Drawing:
    """Return a drawing at least as wide as the others, so that its letters come out no larger."""
    box = bounds(ink(drawing))
    short = (SCREEN_MM - box.width_mm) / 2
    if short <= 0.0:
        return drawing
    edges = (box.left_mm - short, box.right_mm + short)
    middle = (box.top_mm + box.bottom_mm) / 2
    white = tuple(Text(XY(x / drawing.scale, middle / drawing.scale), " ", layer="text") for x in edges)
    return replace(drawing, marks=(*drawing.marks, *white))


def _least(readings: Sequence[Working]) -> Working | None:
    return min(readings, key=lambda each: each.value) if readings else None


def _caption(text: str, at: XY) -> Text:
    return Text(at, text, size_mm=_CAPTION_MM, bold=True, layer="text")


def _letter(
    path: str,
    reading: Working | None,
    start: XY,
    end: XY,
    axis: Literal["x", "y"],
    line_at_mm: float,
    units: Literal["in", "mm"],
) -> Dimension:
    key = key_named(path)
    return Dimension(
        start,
        end,
        axis,
        line_at_mm,
        number(reading, units),
        letter=key.letter if key is not None else "",
        layer="dimension" if reading is not None else "wanting",
        key=reading.key if reading is not None else path,
    )
