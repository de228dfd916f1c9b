"""Pictures of a car's weight: its ballast and the room for it from the side and from below, and the forces on it.

Third-angle arrangement, end B to the right. Room is dashed, ballast hatched as metal, with the number of its row in the
table. Forces are arrows whose length goes with the force, all of one picture at one scale.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Final

from carwright.car.model import ENDS
from carwright.draw.blocks import Block, Columns, Heading, Picture
from carwright.draw.carshape import CarShape
from carwright.draw.heads import SCALES, fits, said_scale
from carwright.draw.model import XY, Circle, Drawing, Hatch, Layer, Line, Mark, Polyline, Text
from carwright.draw.outline import below_marks, end_marks, rectangle, side_marks
from carwright.draw.shift import shifted
from carwright.draw.strokes import bounds, ink
from carwright.plan.weighmodel import WeighAnswer
from carwright.weight.ballast import Placed
from carwright.weight.cavities import Cavity
from carwright.working import Working

__all__ = ["forces_blocks", "forces_view", "pull_view", "room_below", "room_side", "weight_drawing"]

_LONGEST_MM: Final = 24.0
"""The longest arrow, on paper."""
_HEAD_MM: Final = 2.6
_CENTRE_MM: Final = 1.8
"""Radius of the mark of a centre of gravity, on paper."""
_APART_MM: Final = 9.0


def _fitted(make: Callable[[float], Drawing], width_mm: float, height_mm: float, most: float) -> Drawing:
    """Return a drawing at the largest whole-number scale, ``most`` at most, at which it fits."""
    for scale in (k for k in SCALES if k <= most):
        drawing = make(scale)
        if fits(drawing, width_mm, height_mm):
            return drawing
    return make(SCALES[-1])


def room_side(
    answer: WeighAnswer, shape: CarShape, *, width_mm: float = 170.0, height_mm: float = 90.0, most: float = 2.0
) -> Drawing:
    """Return the car from its left side with its ballast, the room for more of it, and its centre of gravity."""

    def made(scale: float) -> Drawing:
        marks: list[Mark] = [*side_marks(answer.plan.car, shape)]
        for each in answer.cavities:
            (left, right), (low, high) = _along(each), _heights(each)
            marks.append(_room(each, rectangle(left, low, right, high)))
        for number, placed in enumerate(answer.placed, start=1):
            middle, length, deep = -placed.x.value, _used_length(placed), _depth(placed)
            box = rectangle(
                middle - length / 2.0, placed.z.value - deep / 2.0, middle + length / 2.0, placed.z.value + deep / 2.0
            )
            marks += _ballast(placed, box, number, scale, words=False)
            over = box[0].y_mm - 4.0 / scale if placed.cavity.hung else box[2].y_mm + 1.2 / scale
            marks.append(Text(XY(middle, over), str(number), anchor="middle", layer="text", bold=True, ground=True))
        middle_place = answer.centre
        if middle_place.x is not None and middle_place.z is not None:
            marks += _centre_mark(XY(-middle_place.x.value, middle_place.z.value), scale)
        return Drawing(
            "weight_side",
            f"Ballast from the side, {said_scale(scale)}",
            "The car from its left side with its ballast hatched, room for more dashed, and its centre of gravity.",
            tuple(marks),
            scale,
        )

    return _fitted(made, width_mm, height_mm, most)


def room_below(
    answer: WeighAnswer, shape: CarShape, *, width_mm: float = 170.0, height_mm: float = 70.0, most: float = 2.0
) -> Drawing:
    """Return the car from below with its ballast and the room for more of it."""

    def made(scale: float) -> Drawing:
        marks: list[Mark] = [*below_marks(answer.plan.car, shape)]
        for each in answer.cavities:
            for y in _sides(each):
                half = each.width.value / 2.0
                left, right = _along(each)
                marks.append(_room(each, rectangle(left, y - half, right, y + half)))
        for number, placed in enumerate(answer.placed, start=1):
            middle, length = -placed.x.value, _used_length(placed)
            half = _used_width(placed) / 2.0
            for side, y in enumerate(_sides(placed.cavity)):
                box = rectangle(middle - length / 2.0, y - half, middle + length / 2.0, y + half)
                marks += _ballast(placed, box, number, scale, words=side == 0 or not placed.cavity.pair)
        return Drawing(
            "weight_below",
            f"Ballast from below, {said_scale(scale)}",
            "The car from below with its ballast hatched and room for more dashed.",
            tuple(marks),
            scale,
        )

    return _fitted(made, width_mm, height_mm, most)


def forces_view(
    answer: WeighAnswer, shape: CarShape, *, width_mm: float = 170.0, height_mm: float = 90.0, most: float = 2.0
) -> Drawing | None:
    """Return the free-body diagram from the side: the car's weight and what each truck carries; None while unknown."""
    loads, whole, middle = answer.loads, answer.whole, answer.centre
    if loads is None or whole is None or middle.x is None or middle.z is None:
        return None
    weigh, place = whole, XY(-middle.x.value, middle.z.value)

    def made(scale: float) -> Drawing:
        per_g = _LONGEST_MM / scale / max(weigh.value, 1e-9)
        marks: list[Mark] = [*side_marks(answer.plan.car, shape)]
        marks += _centre_mark(place, scale)
        foot, top = place.y_mm + _CENTRE_MM / scale, place.y_mm + _CENTRE_MM / scale + weigh.value * per_g
        marks += _arrow(XY(place.x_mm, top), XY(place.x_mm, foot), scale, "weight")
        above = XY(place.x_mm + 2.0 / scale, top - 3.0 / scale)
        marks.append(Text(above, f"car {weigh.value:.1f} g", layer="text", ground=True))
        for end in ENDS:
            pivot = answer.plan.ride.ends.at(end).x_pivot
            if pivot is None:
                continue
            load = loads.at(end)
            tail = XY(-pivot.value, -load.value * per_g)
            marks += _arrow(tail, XY(-pivot.value, 0.0), scale, f"truck_{end}")
            side = XY(tail.x_mm + 2.0 / scale, tail.y_mm)
            marks.append(Text(side, f"truck {end.upper()} {load.value:.1f} g", layer="text", ground=True))
        return Drawing(
            "weight_forces",
            f"Forces at rest, {said_scale(scale)}; arrows {_LONGEST_MM / weigh.value * 10.0:.1f} mm for 10 g",
            "The car from its left side with its weight at the centre of gravity and the load on each truck, to scale.",
            tuple(marks),
            scale,
        )

    return _fitted(made, width_mm, height_mm, most)


def pull_view(
    answer: WeighAnswer, shape: CarShape, *, width_mm: float = 80.0, height_mm: float = 90.0, most: float = 2.0
) -> Drawing | None:
    """Return the free-body diagram from end B as the car tips on the curve; None without a curve or while unknown."""
    curved, whole, middle = answer.curved, answer.whole, answer.centre
    pulls, angles, gauge = curved.pulls, curved.angles, answer.gauge
    ends = answer.plan.ride.ends
    heights = (ends.a.coupler_height, ends.b.coupler_height)
    if pulls is None or angles is None or whole is None or gauge is None or middle.z is None or None in heights:
        return None
    weight_n = whole.value / 1000.0 * 9.80665
    sides = [pulls.tip.value * math.sin(math.radians(each.value)) for each in (angles.a, angles.b)]
    across = sum(sides)
    height = _mean_height(heights, sides, across)
    place = XY(0.0 if middle.y is None else -middle.y.value, middle.z.value)
    inner = XY(-gauge.value / 2.0, 0.0)

    def made(scale: float) -> Drawing:
        per_n = _LONGEST_MM / scale / max(weight_n, across)
        marks: list[Mark] = [*end_marks(answer.plan.car, shape)]
        marks += _centre_mark(place, scale)
        foot, top = place.y_mm + _CENTRE_MM / scale, place.y_mm + _CENTRE_MM / scale + weight_n * per_n
        marks += _arrow(XY(place.x_mm, top), XY(place.x_mm, foot), scale, "weight")
        marks += _arrow(XY(inner.x_mm, -weight_n * per_n), inner, scale, "inner_rail")
        out = shape.width.mm / 2.0
        pulled = XY(-out - across * per_n, height)
        marks += _arrow(XY(-out, height), pulled, scale, "couplers")
        held = XY(inner.x_mm - across * per_n, -3.0 / scale)
        marks += _arrow(held, XY(inner.x_mm, -3.0 / scale), scale, "flange")
        told = (
            (XY(place.x_mm + 2.0 / scale, top - 3.0 / scale), f"car {weight_n:.2f} N", False),
            (XY(inner.x_mm + 2.0 / scale, -weight_n * per_n), f"inner rail {weight_n:.2f} N", False),
            (XY(-out - 1.0 / scale, height + 2.0 / scale), f"couplers {across:.2f} N aside", True),
            (XY(inner.x_mm - 1.0 / scale, -8.5 / scale), f"rail {across:.2f} N", True),
        )
        for at, words, before in told:
            marks.append(Text(at, words, anchor="end" if before else "start", layer="text", ground=True))
        return Drawing(
            "weight_pull",
            f"Tipping {curved.where} at {pulls.tip.value:.2f} N, {said_scale(scale)}",
            "The car from end B as it tips: its weight, the side pull of the couplers, and the inner rail, to scale.",
            tuple(marks),
            scale,
        )

    return _fitted(made, width_mm, height_mm, most)


def _mean_height(heights: tuple[Working | None, Working | None], sides: list[float], across: float) -> float:
    """Return the height at which the side pull of both couplers acts together, mm."""
    a, b = heights
    assert a is not None
    assert b is not None
    return (a.value * sides[0] + b.value * sides[1]) / across


def forces_blocks(answer: WeighAnswer, shape: CarShape, width_mm: float) -> tuple[Block, ...]:
    """Return both free-body diagrams beside each other, or the one that is known, or nothing."""
    forces = forces_view(answer, shape, width_mm=width_mm * 0.54, height_mm=80.0)
    pull = pull_view(answer, shape, width_mm=width_mm * 0.40, height_mm=80.0)
    if forces is None:
        return ()
    left: tuple[Block, ...] = (Heading(forces.title), Picture(forces))
    if pull is None:
        return left
    return (Columns(left, (Heading(pull.title), Picture(pull)), 0.55),)


def weight_drawing(answer: WeighAnswer, shape: CarShape) -> Drawing:
    """Return everything that is known of a car's weight as one drawing at true size."""
    huge = 1e6
    views = [
        room_side(answer, shape, width_mm=huge, height_mm=huge, most=1.0),
        room_below(answer, shape, width_mm=huge, height_mm=huge, most=1.0),
        forces_view(answer, shape, width_mm=huge, height_mm=huge, most=1.0),
        pull_view(answer, shape, width_mm=huge, height_mm=huge, most=1.0),
    ]
    marks: list[Mark] = []
    low = 0.0
    for each in views:
        if each is None:
            continue
        box = bounds(ink(each))
        name = Text(XY(box.left_mm, box.top_mm + 2.0), each.title, bold=True, layer="text")
        down = low - box.top_mm
        marks += [shifted(mark, 0.0, down) for mark in (*each.marks, name)]
        low -= box.height_mm + _APART_MM
    alt = "Ballast and room for it from the side and from below, and the forces on the car, to scale."
    return Drawing("weight", "Weight and balance", alt, tuple(marks))


def _sides(cavity: Cavity) -> tuple[float, ...]:
    """Return where a cavity's middles are across the car as seen from below, left side up."""
    return (cavity.y.value, -cavity.y.value) if cavity.pair else (cavity.y.value,)


def _along(cavity: Cavity) -> tuple[float, float]:
    half = cavity.length.value / 2.0
    return -cavity.x.value - half, -cavity.x.value + half


def _heights(cavity: Cavity) -> tuple[float, float]:
    base, high = cavity.base.value, cavity.height.value
    return (base - high, base) if cavity.hung else (base, base + high)


def _used_length(placed: Placed) -> float:
    """Return how long the ballast in a cavity is over all its pieces, mm."""
    if placed.length is None or placed.width is None:
        return placed.cavity.length.value
    across = max(1, math.floor(placed.cavity.width.value / placed.width.value + 1e-6))
    sides = 2 if placed.cavity.pair else 1
    along = max(1, round(placed.count.value / (placed.layers * sides * across)))
    return min(placed.length.value * along, placed.cavity.length.value)


def _used_width(placed: Placed) -> float:
    return placed.cavity.width.value


def _depth(placed: Placed) -> float:
    return placed.thickness.value * placed.layers


def _room(cavity: Cavity, box: tuple[XY, ...]) -> Polyline:
    return Polyline(box, layer="hidden", part=cavity.name, title=f"Room {cavity.where}")


def _ballast(placed: Placed, box: tuple[XY, ...], number: int, scale: float, *, words: bool) -> Iterator[Mark]:
    title = f"{number}: {placed.mass.value:.1f} g of {placed.stock.name} {placed.cavity.where}"
    yield Hatch(box, "paired", layer="hatch", part=placed.cavity.name, title=title)
    yield Polyline(box, layer="outline", part=placed.cavity.name, title=title)
    if words:
        middle = XY((box[0].x_mm + box[2].x_mm) / 2.0, (box[0].y_mm + box[2].y_mm) / 2.0 - 1.1 / scale)
        yield Text(middle, str(number), anchor="middle", layer="text", bold=True, ground=True)


def _centre_mark(at: XY, scale: float) -> Iterator[Mark]:
    """Yield the mark of a centre of gravity: a circle with crossed lines and two quarters filled."""
    radius = _CENTRE_MM / scale
    yield Circle(at, radius, "paper", layer="dimension", part="centre_of_gravity", title="Centre of gravity")
    for start in (0.0, 180.0):
        wedge = [at, *(_on(at, radius, start + step * 15.0) for step in range(7))]
        yield Polyline(tuple(wedge), layer="text", fill="ink", part="centre_of_gravity", title="Centre of gravity")


def _on(at: XY, radius: float, degrees: float) -> XY:
    angle = math.radians(degrees)
    return XY(at.x_mm + radius * math.cos(angle), at.y_mm + radius * math.sin(angle))


def _arrow(tail: XY, tip: XY, scale: float, part: str) -> Iterator[Mark]:
    """Yield a force: a wide line from tail to tip with a filled head."""
    length = math.hypot(tip.x_mm - tail.x_mm, tip.y_mm - tail.y_mm)
    if length <= 0.0:
        return
    ux, uy = (tip.x_mm - tail.x_mm) / length, (tip.y_mm - tail.y_mm) / length
    head = min(_HEAD_MM / scale, length)
    neck = XY(tip.x_mm - ux * head, tip.y_mm - uy * head)
    half = 0.35 * head
    layer: Layer = "outline"
    yield Line(tail, neck, layer=layer, part=part, title=part.replace("_", " "))
    wings = (XY(neck.x_mm - uy * half, neck.y_mm + ux * half), XY(neck.x_mm + uy * half, neck.y_mm - ux * half))
    yield Polyline((tip, *wings), layer="thin", fill="ink", part=part, title=part.replace("_", " "))
