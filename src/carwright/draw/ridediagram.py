"""The ride-height diagram: each end cut lengthwise, every layer of the stack at its height above the rail top.

Whole-number scale. End A has its coupler to the left, end B to the right, as in every view. Heights are ordinates from
the rail top, spread so that no two labels touch; the target stands with its tolerance band where the coupler's head is.
What hangs on a missing measurement is dashed at a usual place, with a question mark and the measurement's name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from carwright.car.keys import key_named
from carwright.car.model import End
from carwright.draw.carshape import CarShape
from carwright.draw.labels import needs_letters, needs_words, number, spread
from carwright.draw.model import (
    XY,
    Circle,
    Dimension,
    Drawing,
    Fill,
    Group,
    Hatch,
    Layer,
    Line,
    Mark,
    Ordinate,
    Pattern,
    Polyline,
    Text,
)
from carwright.draw.strokes import bounds, ink
from carwright.plan.model import Plan
from carwright.ride.model import EndRide
from carwright.working import Working, derive

__all__ = ["ride_diagram", "ride_scale"]

_GAP_MM = 4.4
"""Between two height labels, on paper."""

_LABELS_MM = 48.0
"""Room for the labels of one end, on paper."""

_HEAD_MM = 26.0
"""Room before the coupler's head for its height and target, on paper."""


@dataclass(frozen=True, slots=True)
class _Place:
    """One end's places along the section, from the truck's pivot outwards positive, in mm."""

    pivot: float
    end: float
    coupler_pivot: float
    face: float
    inner: float
    bolster_half: float


def ride_scale(plan: Plan, shape: CarShape, *, width_mm: float, height_mm: float) -> float:
    """Return the greatest whole-number scale (or 1 : 2, 1 : 3 ...) at which both ends fit one above the other."""
    scales = (*(float(k) for k in range(10, 0, -1)), *(1.0 / k for k in range(2, 12)))
    for scale in scales:
        box = bounds(ink(ride_diagram(plan, shape, scale=scale)))
        if box.width_mm <= width_mm and box.height_mm <= height_mm:
            return scale
    return scales[-1]


def ride_diagram(plan: Plan, shape: CarShape, *, scale: float, letters: bool = False) -> Drawing:
    """Return both ends, A above B, at ``scale`` (mm on paper for one of the model).

    With ``letters`` the measurements K to N of each end stand on it as dimensions.
    """
    a, b = _places(plan, shape, "a"), _places(plan, shape, "b")
    outward, inward = _HEAD_MM / scale, _LABELS_MM / scale
    middle_a = (-(a.face + outward) - (a.inner - inward)) / 2
    middle_b = ((b.inner - inward) + (b.face + outward)) / 2
    shift = middle_a - middle_b
    lower = tuple(_end(plan, shape, "b", XY(shift, 0.0), scale, letters))
    told = max((mark.label.y_mm for mark in lower if isinstance(mark, Ordinate)), default=0.0)
    high = max(_top(plan, shape, "b") + (32.0 if letters else 14.0) / scale, told + (20.0 if letters else 6.0) / scale)
    marks = (
        Group(tuple(_end(plan, shape, "a", XY(0.0, high), scale, letters)), part="end_a"),
        Group(lower, part="end_b"),
    )
    alt = "Both ends cut lengthwise, with every layer between rail and coupler at its height above the rail top."
    return Drawing("ride", f"Ride height, {_said(scale)}", alt, marks, scale, tuple(_wanting(plan)))


def _said(scale: float) -> str:
    return f"{scale:.0f} : 1" if scale >= 1.0 else f"1 : {1.0 / scale:.0f}"


def _wanting(plan: Plan) -> list[str]:
    return [
        f"End {ride.end.upper()}: dashed, needs {needs_words(ride.needs)}."
        for ride in (plan.ride.ends.a, plan.ride.ends.b)
        if ride.needs
    ]


def _top(plan: Plan, shape: CarShape, end: End) -> float:
    thick = plan.floor.thickness.value if plan.floor.thickness is not None else shape.lip.mm - shape.notch.mm
    return max(shape.floor_under.at(end).mm + max(thick, 0.0) * 2.6, shape.wheel.at(end).mm)


def _places(plan: Plan, shape: CarShape, end: End) -> _Place:
    outward = shape.inset.at(end).mm
    pivot_in = shape.pivot_inset.at(end).mm
    bolster = next((piece for piece in plan.pieces if piece.name == f"bolster_{end}"), None)
    half = bolster.length_mm.value / 2 if bolster is not None else 0.16 * shape.wheelbase.at(end).mm
    coupler = outward - pivot_in
    return _Place(0.0, outward, coupler, coupler + shape.coupler_length.at(end).mm, -half * 1.9, half)


class _Section:
    """Draws one end; x runs outwards from the truck's pivot, and is turned over for end A."""

    def __init__(self, plan: Plan, shape: CarShape, end: End, base: XY, scale: float, *, letters: bool = False) -> None:
        self.plan, self.shape, self.end, self.base, self.scale = plan, shape, end, base, scale
        self.letters = letters
        self.sign = 1.0 if end == "b" else -1.0
        self.place = _places(plan, shape, end)
        self.ride: EndRide = plan.ride.ends.at(end)
        self.known = self.ride.floor_underside is not None
        self.marks: list[Mark] = []
        self.heights: list[tuple[float, float, str, str, bool, str]] = []

    def at(self, along: float, height: float) -> XY:
        return XY(self.base.x_mm + self.sign * along, self.base.y_mm + height)

    def box(
        self,
        near: float,
        low: float,
        far: float,
        high: float,
        *,
        layer: Layer = "outline",
        pattern: Pattern | None = None,
        fill: Fill = "none",
        ground: bool = False,
        part: str = "",
        title: str = "",
    ) -> None:
        corners = (self.at(near, low), self.at(far, low), self.at(far, high), self.at(near, high))
        if ground:
            self.marks.append(Polyline(corners, True, "paper", layer="hatch", part=part, title=title))
        if pattern is not None and layer != "wanting":
            self.marks.append(Hatch(corners, pattern, layer="hatch", part=part, title=title))
        self.marks.append(Polyline(corners, True, fill, layer=layer, part=part, title=title))

    def line(self, start: tuple[float, float], end: tuple[float, float], layer: Layer, title: str = "") -> None:
        self.marks.append(Line(self.at(*start), self.at(*end), layer=layer, title=title))

    def height(self, along: float, height: float, text: str, words: str, *, known: bool = True, key: str = "") -> None:
        self.heights.append((along, height, text, words, known, key))


def _end(plan: Plan, shape: CarShape, end: End, base: XY, scale: float, letters: bool) -> list[Mark]:
    section = _Section(plan, shape, end, base, scale, letters=letters)
    place = section.place
    reach = place.face + (_HEAD_MM - 4.0) / scale
    section.line((place.inner, 0.0), (reach, 0.0), "outline", "Rail top")
    section.height(place.inner, 0.0, "0", "rail top")
    _wheel(section)
    _stack(section)
    top = _floor(section)
    _coupler(section)
    _target(section)
    _labels(section)
    if letters:
        section.marks.extend(_letters(section))
    name = section.at(reach, top + 4.0 / scale)
    section.marks.append(
        Text(name, f"End {end.upper()}", anchor="end" if end == "b" else "start", bold=True, layer="text", size_mm=3.6)
    )
    return section.marks


def _wheel(section: _Section) -> None:
    shape, end = section.shape, section.end
    wheel, base = shape.wheel.at(end), shape.wheelbase.at(end)
    layer: Layer = "thin" if wheel.known and base.known else "wanting"
    centre = section.at(base.mm / 2, wheel.mm / 2)
    section.marks.append(Circle(centre, wheel.mm / 2, layer=layer, part=f"wheel_{end}", title="Wheel"))
    reach = wheel.mm / 2 + 1.5 / section.scale
    section.line((base.mm / 2 - reach, wheel.mm / 2), (base.mm / 2 + reach, wheel.mm / 2), "centre")
    section.line((base.mm / 2, wheel.mm / 2 - reach), (base.mm / 2, wheel.mm / 2 + reach), "centre")


def _stack(section: _Section) -> None:
    """Draw truck bolster, washers and body bolster, each layer labelled at its top."""
    plan, shape, end = section.plan, section.shape, section.end
    units, place = plan.car.info.units, section.place
    half = place.bolster_half
    layers = [layer for layer in section.ride.stack if layer.name != "coupler"]
    seat = layers[0].top if layers else None
    seat_mm = seat.value if seat is not None else shape.seat.at(end).mm
    known = seat is not None
    pen: Layer = "outline" if known else "wanting"
    chamfer = 0.3 * half
    low = seat_mm * 0.42
    block = (
        section.at(-half * 0.95, seat_mm),
        section.at(half * 0.95, seat_mm),
        section.at(half * 0.95, low + chamfer),
        section.at(half * 0.95 - chamfer, low),
        section.at(-half * 0.95 + chamfer, low),
        section.at(-half * 0.95, low + chamfer),
    )
    part = f"truck_bolster_{end}"
    if known:
        section.marks.append(Hatch(block, "paired", layer="hatch", part=part, title="Truck bolster"))
    section.marks.append(Polyline(block, layer=pen, part=part, title="Truck bolster"))
    words = "truck seat" if known else f"truck seat, needs {needs_letters(('trucks.seat_height',))}"
    reading = plan.car.trucks.at(end).seat_height
    key = reading.key if reading is not None else "trucks.seat_height"
    section.height(-half * 0.95, seat_mm, number(seat, units), words, known=known, key=key)
    built = plan.car.underframe.build_bolster.at(end)
    below = seat_mm
    for count, layer in enumerate(layers[1:]):
        washer = layer.name.startswith("washer")
        wide = 0.5 * half if washer else half
        pattern: Pattern = ("single", "single_back")[count % 2] if built else "dots"
        section.box(
            -wide,
            layer.bottom.value,
            wide,
            layer.top.value,
            layer="thin" if washer else "outline",
            pattern=None if washer else pattern,
            fill="ink" if washer else "none",
            part=f"{'washer' if washer else 'bolster'}_{end}",
            title=layer.name.capitalize(),
        )
        below = layer.top.value
        if layer is not layers[-1] or washer:
            section.height(-wide, layer.top.value, number(layer.top, units), _short(layer.name))
    under = shape.floor_under.at(end).mm
    if not any(layer.name.startswith("bolster") for layer in layers) and under > below:
        section.box(-half, below, half, under, layer="wanting", part=f"bolster_{end}", title="Body bolster, wanting")
    text = number(section.ride.floor_underside, units)
    wanting = [path for path in section.ride.needs if path in ("trucks.seat_height", "underframe.bolster")]
    words = f"underside, needs {needs_letters(wanting)}" if wanting else "floor underside"
    section.height(place.inner, under, text, words, known=section.known)
    section.line((0.0, low - 2.0 / section.scale), (0.0, under + 3.0 / section.scale), "centre", "Truck pivot")


def _short(name: str) -> str:
    return name.replace(" A", "").replace(" B", "").replace(",", "")


def _slope(section: _Section) -> float:
    """Return the rise of the floor's underside for one mm outwards; 0 while it is not known."""
    ends = section.plan.ride.ends
    a, b = ends.a.floor_underside, ends.b.floor_underside
    here, other = (a, b) if section.end == "a" else (b, a)
    pivots = (ends.a.x_pivot, ends.b.x_pivot)
    if here is None or other is None or pivots[0] is None or pivots[1] is None:
        return 0.0
    return (here.value - other.value) / (pivots[0].value - pivots[1].value)


def _floor(section: _Section) -> float:
    """Draw the floor's layers, end wall and sill; return how high the drawing reaches above the rail."""
    plan, shape, place = section.plan, section.shape, section.place
    units, slope = plan.car.info.units, _slope(section)
    under = shape.floor_under.at(section.end).mm
    wall = plan.car.body.end_wall.value if plan.car.body.end_wall is not None else 0.3 * place.bolster_half
    stop = place.end - wall
    layers: tuple[Working, ...] = plan.floor.layers or ((plan.floor.thickness,) if plan.floor.thickness else ())
    pen: Layer = "outline" if section.known else "wanting"
    level = 0.0
    sums: list[Working] = []
    for count, layer in enumerate(layers):
        low, high = under + level, under + level + layer.value
        corners = (
            section.at(place.inner, low + slope * place.inner),
            section.at(stop, low + slope * stop),
            section.at(stop, high + slope * stop),
            section.at(place.inner, high + slope * place.inner),
        )  # open at the inner end, where the drawing is cut off
        title = f"Floor layer {count + 1}, {number(layer, units)}"
        if section.known:
            pattern: Pattern = "single" if count % 2 == 0 else "single_back"
            section.marks.append(Hatch(corners, pattern, layer="hatch", part="floor", title=title))
        section.marks.append(Polyline(corners, False, layer=pen, part="floor", title=title))
        level += layer.value
        sums.append(layer)
        if section.ride.floor_underside is not None:
            told = _height_over(section.ride.floor_underside, sums)
            words = "floor top" if count == len(layers) - 1 else f"floor layer {count + 1}"
            section.height(place.inner, under + level + slope * place.inner, number(told, units), words)
    if not layers:
        thick = max(shape.lip.mm - shape.notch.mm, 0.03 * under)
        section.box(place.inner, under, stop, under + thick, layer="wanting", part="floor", title="Floor, wanting")
        level = thick
    top = under + level * 2.2
    end_low = under + slope * place.end
    known = plan.car.body.end_wall is not None and plan.car.body.length is not None
    wall_pen: Layer = "outline" if known else "wanting"
    sides = ((stop, top), (stop, end_low), (place.end, end_low), (place.end, top))
    outline = tuple(section.at(along, height) for along, height in sides)
    if known:
        section.marks.append(Hatch(outline, "single_back", layer="hatch", part="end_wall", title="End wall"))
    section.marks.append(Polyline(outline, False, layer=wall_pen, part="end_wall", title="End wall"))
    section.line((stop - 1.0 / section.scale, top), (place.end + 1.0 / section.scale, top), "thin", "Cut off here")
    over = 1.4 / section.scale
    section.line((place.inner, under - over), (place.inner, under + level + over), "thin", "Cut off here")
    return top


def _height_over(underside: Working, layers: Sequence[Working]) -> Working:
    told = underside
    for layer in layers:
        told = derive("top of a floor layer", "u + t", u=told, t=layer)
    return told


def _coupler(section: _Section) -> None:
    plan, shape, end, place = section.plan, section.shape, section.end, section.place
    units, ride = plan.car.info.units, section.ride
    box_high, box_long = shape.box_height.at(end).mm, shape.box_length.at(end).mm
    line = shape.coupler_height.at(end).mm
    known = ride.coupler_height is not None
    truck_mounted = plan.car.coupler.at(end).mount == "truck"
    pen: Layer = "outline" if known else "wanting"
    if not truck_mounted:
        face = ride.mounting_face.value if ride.mounting_face is not None else line + shape.drop.at(end).mm
        front = place.end
        box_pen = pen if shape.box_height.at(end).known and shape.box_length.at(end).known else "wanting"
        section.box(
            front - box_long,
            face - box_high,
            front,
            face,
            layer=box_pen,
            ground=pen == box_pen == "outline",
            part=f"coupler_{end}",
            title="Coupler box",
        )
        section.height(place.inner, face, number(ride.mounting_face, units), "mounting face", known=known)
        if plan.car.coupler.at(end).shim is not None and ride.mounting_face is not None:
            shim = plan.car.coupler.at(end).shim
            assert shim is not None
            section.box(
                front - box_long,
                face,
                front,
                face + shim.value,
                pattern="single_back",
                part=f"shim_{end}",
                title="Shim",
            )
    thick = 0.17 * box_high
    told = line
    if plan.car.coupler.at(end).mount == "pocket":
        line -= 1.2 * thick  # what is told is the top of the opening, and the shank lies in the middle of it
        section.line((place.coupler_pivot, told), (place.face, told), "thin", "Top of the pocket's opening")
    neck = place.face - 0.3 * (place.face - place.coupler_pivot)
    start = place.coupler_pivot - thick
    section.box(start, line - thick, neck, line + thick, layer=pen, fill="paper", part=f"coupler_{end}", title="Shank")
    head = 2.1 * thick
    section.box(neck, line - head, place.face, line + head, layer=pen, part=f"coupler_{end}", title="Coupler head")
    pivot = place.coupler_pivot
    section.line((pivot, line - 3.2 * thick), (pivot, line + 4.2 * thick), "centre", "Coupler pivot")


def _target(section: _Section) -> None:
    """Draw the target with its tolerance band before the head, and the coupler's own height."""
    plan, ride, place, scale = section.plan, section.ride, section.place, section.scale
    units = plan.car.info.units
    line = section.shape.coupler_height.at(section.end).mm
    pocket = plan.car.coupler.at(section.end).mount == "pocket"
    far = place.face + 5.6 / scale
    if ride.target is not None and ride.limit is not None:
        low, high = ride.target.value - ride.limit.value, ride.target.value + ride.limit.value
        near, stop = place.face + 9.0 / scale, place.face + 21.0 / scale
        section.box(near, low, stop, high, layer="band", fill="band", title="Target with its tolerance")
        for edge in (low, high):
            section.line((near, edge), (stop, edge), "thin")
        section.line((near, ride.target.value), (stop, ride.target.value), "centre", "Target")
        said = f"{number(ride.target, units)} ± {number(ride.limit, units)}"
        over = max(high, line + 0.36 * section.shape.box_height.at(section.end).mm)
        at = section.at(place.face + (27.0 if section.letters else 21.0) / scale, over + 1.4 / scale)
        section.marks.append(
            Text(at, said, anchor="end" if section.sign > 0 else "start", layer="text", title="Target")
        )
    if not pocket:
        section.line((place.coupler_pivot, line), (far + 1.5 / scale, line), "centre", "Coupler centre line")
    known = ride.coupler_height is not None
    section.marks.append(
        Dimension(
            section.at(place.face, 0.0),
            section.at(place.face, line),
            "y",
            section.at(far, 0.0).x_mm,
            number(ride.coupler_height, units),
            layer="dimension" if known else "wanting",
            part=f"coupler_{section.end}",
        )
    )


def _letters(section: _Section) -> list[Mark]:
    """Return the measurements K to N of one end where they are taken."""
    shape, end, place, k = section.shape, section.end, section.place, section.scale
    coupler, units = section.plan.car.coupler.at(end), section.plan.car.info.units
    line, under = shape.coupler_height.at(end).mm, shape.floor_under.at(end).mm
    marks: list[Mark] = []

    def letter(
        path: str, reading: Working | None, start: XY, stop: XY, axis: Literal["x", "y"], line_at_mm: float
    ) -> None:
        key = key_named(path)
        marks.append(
            Dimension(
                start,
                stop,
                axis,
                line_at_mm,
                number(reading, units),
                letter=key.letter if key is not None else "",
                layer="dimension" if reading is not None else "wanting",
                key=reading.key if reading is not None else path,
            )
        )

    across = section.at(-1.5 * place.bolster_half, 0.0).x_mm
    layers = section.plan.car.underframe.bolster.at(end)
    height = layers[0] if len(layers) == 1 else None
    if layers and height is None:
        height = replace(layers[0], value=sum(each.value for each in layers), text="", key="underframe.bolster")
    seat, top = (section.at(-place.bolster_half, each) for each in (shape.seat.at(end).mm, under))
    letter("underframe.bolster", height, seat, top, "y", across)
    if coupler.mount == "body":
        ride = section.ride
        face = ride.mounting_face.value if ride.mounting_face is not None else line + shape.drop.at(end).mm
        high, low = section.at(place.end, face), section.at(place.face, line)
        letter("coupler.drop", coupler.drop, high, low, "y", section.at(place.face + 35.0 / k, 0.0).x_mm)
    pivot = section.at(place.coupler_pivot, 0.0)
    foot = section.base.y_mm
    letter("coupler.pivot_inset", coupler.pivot_inset, pivot, section.at(place.end, 0.0), "x", foot - 6.0 / k)
    letter("coupler.length", coupler.length, pivot, section.at(place.face, 0.0), "x", foot - 13.0 / k)
    return marks


def _labels(section: _Section) -> None:
    """Stack the heights at the inner side, in order, none touching."""
    scale, place = section.scale, section.place
    told = sorted(section.heights, key=lambda each: each[1])
    spots = spread([each[1] * scale for each in told], _GAP_MM)
    lift = max(0.0, -spots[0]) if spots else 0.0
    for (along, height, text, words, known, key), spot in zip(told, spots, strict=True):
        section.marks.append(
            Ordinate(
                section.at(along, height),
                section.at(place.inner - 10.0 / scale, (spot + lift) / scale),
                "y",
                text,
                words,
                layer="dimension" if known else "wanting",
                key=key,
            )
        )
