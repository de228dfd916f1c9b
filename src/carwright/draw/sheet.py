"""The measuring sheet: the car's outline with a ringed letter at each size, and a box for each reading.

The outline is the car's own as far as it is known. Sizes that no outline shows (ledge, bolster, coupler) stand on a cut
through one end, which is the same for every car and not to scale. What is asked, and how it is measured, comes from the
table of questions. What was measured already stands in its box as it was typed; a ring that is dashed waits for its
reading. A second page asks for what only a curve needs to know.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from carwright.car.keys import Key, sheet_letters
from carwright.car.model import Car, End
from carwright.draw.carshape import CarShape, car_shape
from carwright.draw.curvesheet import curve_keys, curve_picture
from carwright.draw.glyphs import shortened, width_mm
from carwright.draw.model import XY, Circle, Dimension, Drawing, Hatch, Layer, Line, Mark, Polyline, Text
from carwright.draw.outline import below_marks, rectangle, side_marks
from carwright.draw.pdf import Blank, Block, Card, Cards, Note, Page, Paper, Picture, field_mm
from carwright.draw.shift import shifted
from carwright.draw.strokes import bounds, ink
from carwright.draw.views import who_and_what
from carwright.lengths import number_in
from carwright.working import Working

__all__ = ["curve_letters", "curve_page_keys", "measuring_pages", "wanted_keys"]

_BOX_MM: Final = 7.2
_LABEL_MM: Final = 3.8
_FILLED_MM: Final = 5.6
_COLUMNS_MM: Final = 67.6
"""Width of a row's ring, boxes, unit and gutters."""

_BOXES_MM: Final = 48.0
_TEXT_MM: Final = 8.5 * 25.4 / 72.0
_GAP_MM: Final = 8.0
_CUT_LEFT_MM: Final = 15.0
_CUT_HIGH_MM: Final = 52.0

Layers = Mapping[str, Layer]
"""The letters to be drawn, each on the layer of what is wanting or of what is known."""


@dataclass(frozen=True, slots=True)
class _Row:
    """A question of the sheet with the places of its readings: label and what was typed there, "" where nothing was."""

    key: Key
    places: tuple[tuple[str, str], ...]

    @property
    def wanting(self) -> bool:
        """Return whether a reading is missing."""
        return any(not typed for _, typed in self.places)

    @property
    def boxes(self) -> tuple[Blank, ...]:
        """Return a box for each place; what is complete stands in one, as it would be typed."""
        if self.wanting:
            return tuple(Blank(label, shortened(typed, _BOXES_MM / 3, _TEXT_MM)) for label, typed in self.places)
        ends = [f"{label.removeprefix('end ')} {typed}" for label, typed in self.places if label.startswith("end ")]
        said = " ".join(ends) or ", ".join(typed for _, typed in self.places)
        return (Blank("", shortened(said, _BOXES_MM - 2.0, _TEXT_MM)),)

    @property
    def bare(self) -> bool:
        """Return whether the unit behind the boxes says something that stands in none of them."""
        return self.wanting or any(re.fullmatch(r"[0-9][0-9\s.,/+-]*", typed) for _, typed in self.places)


def wanted_keys(car: Car) -> tuple[Key, ...]:
    """Return the questions A to N that this car has not answered and that it needs, in the order of their letters."""
    return tuple(row.key for row in _rows(car) if row.wanting)


def curve_page_keys(car: Car) -> tuple[Key, ...]:
    """Return the questions of the second page, for a curve, that this car has not answered."""
    return tuple(row.key for row in _curve_rows(car) if row.wanting)


def _typed(reading: Working | None, units: Literal["in", "mm"]) -> str:
    """Return a reading as it was typed; "" where there is none."""
    return "" if reading is None else reading.text or number_in(reading.value, units)


def _at_ends(a: str, b: str) -> tuple[tuple[str, str], ...]:
    return (("", a),) if a and a == b else (("end A", a), ("end B", b))


def _listed(readings: Sequence[str], *names: str) -> tuple[tuple[str, str], ...]:
    if not readings:
        return tuple((name, "") for name in names)
    named = names if len(readings) == len(names) else (names[0], names[-1])
    return tuple(zip(named, readings, strict=False)) if len(readings) > 1 else (("", readings[0]),)


def _rows(car: Car) -> tuple[_Row, ...]:
    """Return the questions A to N that are asked of such a car, each with what is known of it."""
    body, frame, trucks, couplers, units = car.body, car.underframe, car.trucks, car.coupler, car.info.units
    on_body = couplers.a.mount != "truck" or couplers.b.mount != "truck"
    new_floor = body.floor == "new"

    def alone(reading: Working | None) -> tuple[tuple[str, str], ...]:
        return (("", _typed(reading, units)),)

    def ends(a: Working | None, b: Working | None) -> tuple[tuple[str, str], ...]:
        return _at_ends(_typed(a, units), _typed(b, units))

    def bolster(end: End) -> str:
        layers = ", ".join(_typed(layer, units) for layer in frame.bolster.at(end))
        return "build" if frame.build_bolster.at(end) else layers

    centers = _typed(trucks.a.centers, units)
    if not centers and trucks.a.inset is not None and trucks.b.inset is not None:
        centers = "by the inset"
    known: dict[str, tuple[tuple[str, str], ...]] = {
        "A": alone(body.length),
        "B": alone(body.width),
        "C": _listed([_typed(each, units) for each in body.inside_length], "left", "right"),
        "D": _listed([_typed(each, units) for each in body.inside_width], "at B", "middle", "at A"),
        "E": alone(body.lip_depth),
        "F": alone(body.end_notch),
        "G": alone(body.height),
        "H": (("", centers),),
        "J": ends(trucks.a.seat_height, trucks.b.seat_height),
        "K": _at_ends(bolster("a"), bolster("b")),
        "L": ends(couplers.a.drop, couplers.b.drop),
        "M": ends(couplers.a.pivot_inset, couplers.b.pivot_inset),
        "N": ends(couplers.a.length, couplers.b.length),
    }
    left_out = ("" if new_floor else "CDEF") + ("" if on_body else "JKLMN") + ("F" if body.ledge == "under" else "")
    return tuple(_Row(key, known[key.letter]) for key in sheet_letters() if key.letter not in left_out)


def _curve_rows(car: Car) -> tuple[_Row, ...]:
    """Return the questions of the second page, each with what is known of it."""

    def typed(key: Key, end: End) -> str:
        record = car.trucks.at(end) if key.section == "trucks" else car.coupler.at(end)
        instead = {"rock": "play", "side_play": "swing", "wheel_diameter": "wheels"}.get(key.name, key.name)
        return _typed(getattr(record, key.name) or getattr(record, instead), car.info.units)

    return tuple(_Row(key, _at_ends(typed(key, "a"), typed(key, "b"))) for key in curve_keys())


def curve_letters(car: Car) -> Drawing:
    """Return truck and coupler with the letters that only a curve asks for, dashed where they are wanting."""
    return curve_picture({row.key.path: "wanting" if row.wanting else "dimension" for row in _curve_rows(car)})


def measuring_pages(car: Car, *, paper: Paper = "letter") -> tuple[Page, ...]:
    """Return the measuring sheet: a page for letters A to N, and one for what only a curve needs."""
    rows = _rows(car)
    who, what = who_and_what(car)
    wide, high = field_mm(paper)
    room = high - 9.0 - sum(_row_mm(row, wide) for row in rows)
    shape = car_shape(car)
    letters: Layers = {row.key.letter: "wanting" if row.wanting else "dimension" for row in rows}
    drawing = _fitted(lambda scale: _outlines(car, letters, scale), shape, wide, room)
    told = "Pencil each reading in as you read it; a fraction, decimals or a unit of your own are all read."
    if not any(row.wanting for row in rows):
        told = (
            "Letters A to N are all answered, as they were typed. What else the plan would like to know, the plan says."
        )
    first = Page("Measuring sheet", who, what, (Picture(drawing), Note(told), _cards(rows, car)))
    more = _curve_rows(car)
    blocks: tuple[Block, ...] = (
        Picture(curve_letters(car)),
        Note("Only a curve asks for these: how trucks and couplers turn, and what they meet. They can wait."),
        _cards(more, car),
    )
    return (first, Page("Measuring sheet: for curves", who, what, blocks))


def _cards(rows: Sequence[_Row], car: Car) -> Cards:
    unit = {"length": car.info.units, "lengths": car.info.units, "angle": "°"}
    return Cards(
        tuple(
            Card(
                row.key.letter,
                row.key.question,
                row.key.how if row.wanting else "",
                row.boxes,
                unit[row.key.kind] if row.bare else "",
                row.wanting,
            )
            for row in rows
        )
    )


def _row_mm(row: _Row, wide: float) -> float:
    """Return how high a row of the sheet is: its words beside the boxes, or the boxes."""
    size = _TEXT_MM
    text = width_mm(f"{row.key.question} ", size, bold=True)
    if row.wanting:
        text += width_mm(row.key.how, size)
    lines = math.ceil(text / (wide - _COLUMNS_MM) + 0.2)
    boxes = (_BOX_MM if row.wanting else _FILLED_MM) + (_LABEL_MM if len(row.boxes) > 2 else 0.0)
    return max(boxes, lines * 1.14 * size) + 1.5


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


def _outlines(car: Car, letters: Layers, scale: float) -> Drawing:
    """Return the side above, below beneath, and the cut through one end to the right."""
    shape = car_shape(car)
    half, wide_half = shape.length.mm / 2, shape.width.mm / 2
    gap = _GAP_MM / scale
    down = -(1.9 * gap + wide_half)
    marks: list[Mark] = [*side_marks(car, shape), *_moved(below_marks(car, shape), 0.0, down)]
    marks += _side_letters(letters, shape, gap)
    marks += _below_letters(letters, shape, gap, down)
    top = shape.sill.mm + shape.height.mm
    if {"E", "F", "J", "K", "L", "M", "N"} & letters.keys():
        left = half * 1.12 + 2.2 * gap + _CUT_LEFT_MM / scale
        middle = (top + down - wide_half) / 2
        marks += _moved(_cut(letters, scale), left, middle - _CUT_HIGH_MM / 2 / scale)
    alt = "The car from the side and below, and a cut through one end, with a letter at each size to be measured."
    return Drawing("sheet", "Measuring sheet", alt, tuple(marks), scale)


def _moved(marks: tuple[Mark, ...] | list[Mark], dx: float, dy: float) -> list[Mark]:
    """Return marks moved to the right and up."""
    return [shifted(mark, dx, dy) for mark in marks]


def _lettered(
    letters: Layers,
    letter: str,
    start: XY,
    end: XY,
    axis: Literal["x", "y"],
    line: float,
) -> list[Mark]:
    if letter not in letters:
        return []
    return [Dimension(start, end, axis, line, "", letter, layer=letters[letter], part=letter)]


def _side_letters(letters: Layers, shape: CarShape, gap: float) -> list[Mark]:
    half, top = shape.length.mm / 2, shape.sill.mm + shape.height.mm
    pivot_a, pivot_b = -half + shape.inset.a.mm, half - shape.inset.b.mm
    return [
        *_lettered(letters, "A", XY(-half, top), XY(half, top), "x", top + 0.8 * gap),
        *_lettered(letters, "H", XY(pivot_a, 0.0), XY(pivot_b, 0.0), "x", -0.9 * gap),
        *_end_names(pivot_a, pivot_b, gap),
        *_lettered(letters, "G", XY(-half, shape.sill.mm), XY(-half, top), "y", -half - 0.9 * gap),
    ]


def _end_names(pivot_a: float, pivot_b: float, gap: float) -> list[Mark]:
    """Return the names of the car's ends, outside the trucks, between the side and the view from below."""
    away, line = 0.2 * gap, 0.42 * gap
    at = -1.0 * gap
    return [
        Text(XY(pivot_a - away, at), "end A", anchor="end", bold=True, layer="text"),
        Text(XY(pivot_b + away, at), "end B", bold=True, layer="text"),
        Text(XY(pivot_b + away, at - line), "hand brake", layer="text"),
    ]


def _below_letters(letters: Layers, shape: CarShape, gap: float, down: float) -> list[Mark]:
    inner, across = shape.inside_length.mm / 2, shape.inside_width.mm / 2
    low = down - shape.width.mm / 2
    half = shape.length.mm / 2
    left = -half * 1.06 - 0.9 * gap
    return [
        *_lettered(letters, "C", XY(-inner, down - across), XY(inner, down - across), "x", low - 0.8 * gap),
        *_lettered(letters, "D", XY(-inner, down - across), XY(-inner, down + across), "y", left),
        *_lettered(letters, "B", XY(half, low), XY(half, down + shape.width.mm / 2), "y", half * 1.06 + 0.9 * gap),
    ]


def _cut(letters: Layers, scale: float) -> list[Mark]:
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
