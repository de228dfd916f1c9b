"""The measuring sheet: the car's outline with a ringed letter at each size still to be measured, and a box for each.

The outline is the car's own as far as it is known. Sizes that no outline shows (ledge, bolster, coupler) stand on a cut
through one end, which is the same for every car and not to scale. What is asked, and how it is measured, comes from the
table of questions.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, Literal

from carwright.car.keys import Key, sheet_letters
from carwright.car.model import Car
from carwright.draw.carshape import CarShape, car_shape
from carwright.draw.glyphs import width_mm
from carwright.draw.model import XY, Circle, Dimension, Drawing, Hatch, Layer, Line, Mark, Polyline, Text
from carwright.draw.outline import below_marks, rectangle, side_marks
from carwright.draw.pdf import Block, Card, Cards, Note, Page, Paper, Picture, Prose, field_mm
from carwright.draw.shift import shifted
from carwright.draw.strokes import bounds, ink
from carwright.draw.views import who_and_what
from carwright.working import Working

__all__ = ["measuring_pages", "wanted_keys"]

_BOX_MM: Final = 7.6
_GAP_MM: Final = 8.0
_CUT_LEFT_MM: Final = 15.0
_CUT_HIGH_MM: Final = 52.0


def wanted_keys(car: Car) -> tuple[Key, ...]:
    """Return the questions A to N that this car has not answered and that it needs, in the order of their letters."""
    found = _answers(car)
    return tuple(key for key in sheet_letters() if not found[key.letter])


def _answers(car: Car) -> dict[str, bool]:
    """Return for each letter whether it is answered, or not asked of such a car."""
    body, trucks, couplers = car.body, car.trucks, car.coupler
    on_body = couplers.a.mount != "truck" or couplers.b.mount != "truck"

    def both(a: Working | None, b: Working | None) -> bool:
        return a is not None and b is not None

    built = car.underframe.build_bolster
    bolster = all(car.underframe.bolster.at(end) or built.at(end) for end in ("a", "b"))
    placed = both(trucks.a.centers, trucks.b.centers) or both(trucks.a.inset, trucks.b.inset)
    new_floor = body.floor == "new"
    return {
        "A": body.length is not None,
        "B": body.width is not None,
        "C": bool(body.inside_length) or not new_floor,
        "D": bool(body.inside_width) or not new_floor,
        "E": body.lip_depth is not None or not new_floor,
        "F": body.end_notch is not None or not new_floor or body.ledge == "under",
        "G": body.height is not None,
        "H": placed,
        "J": both(trucks.a.seat_height, trucks.b.seat_height) or not on_body,
        "K": bolster or not on_body,
        "L": both(couplers.a.drop, couplers.b.drop) or not on_body,
        "M": both(couplers.a.pivot_inset, couplers.b.pivot_inset) or not on_body,
        "N": both(couplers.a.length, couplers.b.length) or not on_body,
    }


def measuring_pages(car: Car, *, paper: Paper = "letter") -> tuple[Page, ...]:
    """Return the measuring sheet; one page, whatever is wanting."""
    wanted = wanted_keys(car)
    who, what = who_and_what(car)
    if not wanted:
        done = Prose("Letters A to N are all measured. What else the plan would like to know, the plan says.")
        return (Page("Measuring sheet", who, what, (Picture(_outlines(car, (), 0.9)), done)),)
    wide, high = field_mm(paper)
    room = high - 9.0 - sum(_row_mm(key, wide) for key in wanted)
    shape = car_shape(car)
    letters = tuple(key.letter for key in wanted)
    drawing = _fitted(lambda scale: _outlines(car, letters, scale), shape, wide, room)
    unit = "in" if car.info.units == "in" else "mm"
    cards = tuple(Card(key.letter, key.question, key.how, unit) for key in wanted)
    blocks: tuple[Block, ...] = (
        Picture(drawing),
        Note("Pencil each reading in as you read it; a fraction, decimals or a unit of your own are all read."),
        Cards(cards),
    )
    return (Page("Measuring sheet", who, what, blocks),)


def _row_mm(key: Key, wide: float) -> float:
    """Return how high a row of the sheet is: its words beside the box, or the box."""
    size = 8.5 * 25.4 / 72.0
    text = width_mm(f"{key.question} ", size, bold=True) + width_mm(key.how, size)
    lines = math.ceil(text / (wide - 56.0) + 0.2)
    return max(_BOX_MM, lines * 1.14 * size) + 1.5


def _fitted(make: Callable[[float], Drawing], shape: CarShape, wide: float, room: float) -> Drawing:
    """Return the drawing at the greatest scale, by steps of a twentieth, that fits."""
    scale = min(1.0, 100.0 / (shape.length.mm * 1.12))
    while scale > 0.05:
        drawing = make(scale)
        box = bounds(ink(drawing))
        if box.width_mm + 1.0 <= wide and box.height_mm + 1.0 <= room:
            return drawing
        scale *= 0.95
    return make(scale)


def _outlines(car: Car, letters: tuple[str, ...], scale: float) -> Drawing:
    """Return the side above, below beneath, and the cut through one end to the right."""
    shape = car_shape(car)
    half, wide_half = shape.length.mm / 2, shape.width.mm / 2
    gap = _GAP_MM / scale
    down = -(1.9 * gap + wide_half)
    marks: list[Mark] = [*side_marks(car, shape), *_moved(below_marks(car, shape), 0.0, down)]
    marks += _side_letters(letters, shape, gap)
    marks += _below_letters(letters, shape, gap, down)
    top = shape.sill.mm + shape.height.mm
    if {"E", "F", "J", "K", "L", "M", "N"} & set(letters):
        left = half * 1.12 + 2.2 * gap + _CUT_LEFT_MM / scale
        middle = (top + down - wide_half) / 2
        marks += _moved(_cut(letters, scale), left, middle - _CUT_HIGH_MM / 2 / scale)
    alt = "The car from the side and below, and a cut through one end, with a letter at each size to be measured."
    return Drawing("sheet", "Measuring sheet", alt, tuple(marks), scale)


def _moved(marks: tuple[Mark, ...] | list[Mark], dx: float, dy: float) -> list[Mark]:
    """Return marks moved to the right and up."""
    return [shifted(mark, dx, dy) for mark in marks]


def _lettered(
    letters: tuple[str, ...],
    letter: str,
    start: XY,
    end: XY,
    axis: Literal["x", "y"],
    line: float,
) -> list[Mark]:
    if letter not in letters:
        return []
    return [Dimension(start, end, axis, line, "", letter, layer="wanting", part=letter)]


def _side_letters(letters: tuple[str, ...], shape: CarShape, gap: float) -> list[Mark]:
    half, top = shape.length.mm / 2, shape.sill.mm + shape.height.mm
    pivot_a, pivot_b = -half + shape.inset.a.mm, half - shape.inset.b.mm
    return [
        *_lettered(letters, "A", XY(-half, top), XY(half, top), "x", top + 0.8 * gap),
        *_lettered(letters, "H", XY(pivot_a, 0.0), XY(pivot_b, 0.0), "x", -0.9 * gap),
        *_lettered(letters, "G", XY(-half, shape.sill.mm), XY(-half, top), "y", -half - 0.9 * gap),
    ]


def _below_letters(letters: tuple[str, ...], shape: CarShape, gap: float, down: float) -> list[Mark]:
    inner, across = shape.inside_length.mm / 2, shape.inside_width.mm / 2
    low = down - shape.width.mm / 2
    half = shape.length.mm / 2
    left = -half * 1.06 - 0.9 * gap
    return [
        *_lettered(letters, "C", XY(-inner, down - across), XY(inner, down - across), "x", low - 0.8 * gap),
        *_lettered(letters, "D", XY(-inner, down - across), XY(-inner, down + across), "y", left),
        *_lettered(letters, "B", XY(half, low), XY(half, down + shape.width.mm / 2), "y", half * 1.06 + 0.9 * gap),
    ]


def _cut(letters: tuple[str, ...], scale: float) -> list[Mark]:
    """Return the cut through one end, in paper millimetres: end of the car at 44, rail at 0."""

    def at(x: float, y: float) -> XY:
        return XY(x / scale, y / scale)

    def box(left: float, low: float, right: float, high: float, *, layer: Layer = "outline") -> Polyline:
        return Polyline(rectangle(left / scale, low / scale, right / scale, high / scale), layer=layer)

    def hatched(
        left: float, low: float, right: float, high: float, pattern: Literal["single", "paired", "dots"]
    ) -> Hatch:
        corners = rectangle(left / scale, low / scale, right / scale, high / scale)
        return Hatch(corners, pattern, layer="hatch")

    marks: list[Mark] = [
        Line(at(-3.0, 0.0), at(58.0, 0.0), layer="outline", title="Rail top"),
        Circle(at(24.0, 6.5), 6.5 / scale, layer="thin"),
        hatched(8.0, 7.0, 16.0, 15.0, "paired"),
        box(8.0, 7.0, 16.0, 15.0),
        hatched(7.5, 15.0, 16.5, 28.0, "dots"),
        box(7.5, 15.0, 16.5, 28.0),
        hatched(0.0, 28.0, 41.5, 32.0, "single"),
        box(0.0, 28.0, 41.5, 32.0),
        hatched(41.5, 28.0, 44.0, 45.0, "single"),
        box(41.5, 28.0, 44.0, 45.0),
        Line(at(0.0, 15.0), at(44.0, 15.0), layer="thin", title="Bottom of the side sill"),
        Line(at(44.0, 15.0), at(44.0, 28.0), layer="thin", title="End, beside the coupler opening"),
        Line(at(0.0, 15.0), at(0.0, 37.0), layer="thin", title="Cut off here"),
        box(30.0, 13.2, 43.4, 28.0, layer="thin"),
        Polyline(rectangle(33.0 / scale, 18.8 / scale, 50.0 / scale, 22.2 / scale), True, "paper", layer="thin"),
        box(50.0, 17.0, 54.5, 24.0, layer="thin"),
        Line(at(28.0, 20.5), at(58.0, 20.5), layer="centre", title="Coupler centre line"),
        Line(at(34.6, 11.5), at(34.6, 29.8), layer="centre", title="Coupler pivot"),
        Text(at(0.0, 48.0), "Cut through one end, not to scale", layer="text"),
    ]
    marks += _lettered(letters, "E", at(0.0, 15.0), at(0.0, 32.0), "y", -11.5 / scale)
    marks += _lettered(letters, "F", at(0.0, 15.0), at(0.0, 28.0), "y", -4.6 / scale)
    marks += _lettered(letters, "J", at(8.0, 0.0), at(8.0, 15.0), "y", 3.4 / scale)
    marks += _lettered(letters, "K", at(7.5, 15.0), at(7.5, 28.0), "y", 3.4 / scale)
    marks += _lettered(letters, "L", at(44.0, 28.0), at(54.5, 20.5), "y", 60.5 / scale)
    marks += _lettered(letters, "M", at(34.6, 13.2), at(44.0, 15.0), "x", 9.4 / scale)
    marks += _lettered(letters, "N", at(34.6, 13.2), at(54.5, 17.0), "x", 3.3 / scale)
    return marks
