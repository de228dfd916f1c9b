"""The small picture of a measurement: where it is taken, on a sketch that is the same for every car.

A picture belongs to a key of the car file: a view and two of its points (``car/keys.toml``). Sketches are in
millimetres on paper, not to any scale; they are drawn so that each point shows, and nothing hangs on their proportions.
A car's side has end A at the left, as the car's own drawings have it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from carwright.car.keys import Key
from carwright.draw.model import XY, Circle, Dimension, Drawing, Hatch, Layer, Line, Mark, Polyline, Ring, Text
from carwright.draw.outline import rectangle

__all__ = ["SKETCHES", "Sketch", "measurement_picture", "stock_picture"]

_OFF_MM: Final = 6.5
"""From a sketch's edge to the line of a dimension."""


@dataclass(frozen=True, slots=True)
class Sketch:
    """One view: what is drawn, and where its points are; ``along`` has those told by x, ``up`` those told by y."""

    what: str
    marks: tuple[Mark, ...]
    along: Mapping[str, XY]
    up: Mapping[str, XY]


def measurement_picture(key: Key) -> Drawing | None:
    """Return the picture of a key's measurement with its letter, None for what is no size."""
    if key.picture is None:
        return None
    sketch = SKETCHES[key.picture.view]()
    start, end = key.picture.start, key.picture.end
    alt = f"{key.letter}, {key.called}, shown on a sketch: {sketch.what}."
    marks = (*sketch.marks, *_told(sketch, start, end, key))
    return Drawing(f"measure-{key.path.replace('[]', '').replace('.', '-')}", key.called, alt, marks)


def stock_picture(table: str) -> Drawing | None:
    """Return the sketch of a kind of stock with its measures named in words, None for a kind that has none.

    Args:
        table: of the shelf: sheet, strip, rod, tube, wire, washer or ballast.
    """
    found = _STOCKS.get(table)
    if found is None:
        return None
    what, marks = found(table)
    return Drawing(f"stock-{table}", f"Measures of {table}", f"A sketch of {what} with its measures.", marks)


def _flat(table: str) -> tuple[str, tuple[Mark, ...]]:
    wide = 7.0 if table == "strip" else 20.0
    marks = (
        _box(0, 0, 44, wide), _box(0, -12, 44, -10),
        _word(XY(0, wide), XY(44, wide), "x", wide + _OFF_MM, "length"),
        _word(XY(44, 0), XY(44, wide), "y", 44 + _OFF_MM, "width"),
        _word(XY(44, -12), XY(44, -10), "y", 44 + _OFF_MM, "thickness"),
    )  # fmt: skip
    return f"{table} from above and on its edge", marks


def _round(table: str) -> tuple[str, tuple[Mark, ...]]:
    marks: tuple[Mark, ...] = (
        _box(0, -4, 36, 4), _lying(-3, 39, 0, "centre"), Circle(XY(50, 0), 4, layer="outline"),
        _word(XY(0, 4), XY(36, 4), "x", 4 + _OFF_MM, "length"),
        _word(XY(50, -4), XY(50, 4), "y", 58 + _OFF_MM, "diameter"),
    )  # fmt: skip
    if table == "tube":
        marks += (
            Circle(XY(50, 0), 2.6, layer="outline"), _lying(0, 36, 2.6, "hidden"), _lying(0, 36, -2.6, "hidden"),
            _word(XY(47.4, 0), XY(52.6, 0), "x", -4 - _OFF_MM, "bore"),
        )  # fmt: skip
    return f"{table} from its side and its end", marks


def _ring(table: str) -> tuple[str, tuple[Mark, ...]]:
    marks = (
        Circle(XY(0, 0), 9, layer="outline"), Circle(XY(0, 0), 3.5, layer="outline"),
        _lying(-11, 11, 0, "centre"), _standing(0, -11, 11), _box(28, -9, 30.5, 9),
        _word(XY(-3.5, 0), XY(3.5, 0), "x", -9 - _OFF_MM, "hole"),
        _word(XY(28, 9), XY(30.5, 9), "x", 9 + _OFF_MM, "thickness"),
    )  # fmt: skip
    return f"a {table} from above and on its edge", marks


def _word(a: XY, b: XY, axis: Literal["x", "y"], line_at_mm: float, word: str) -> Dimension:
    return Dimension(a, b, axis, line_at_mm, word, layer="dimension")


def _told(sketch: Sketch, start: str, end: str, key: Key) -> tuple[Mark, ...]:
    for axis, points in (("x", sketch.along), ("y", sketch.up)):
        if start in points and end in points:
            return (_dimension(sketch, points[start], points[end], "x" if axis == "x" else "y", key),)
    every = {**sketch.along, **sketch.up}
    a, b = every[start], every[end]
    middle = XY((a.x_mm + b.x_mm) / 2, (a.y_mm + b.y_mm) / 2)
    return (Line(a, b, layer="dimension", key=key.path), Ring(middle, key.letter, layer="text", key=key.path))


def _dimension(sketch: Sketch, a: XY, b: XY, axis: Literal["x", "y"], key: Key) -> Dimension:
    left, low, right, high = _extent(sketch)
    if axis == "x":
        above = (a.y_mm + b.y_mm) / 2 > (low + high) / 2
        line = high + _OFF_MM if above else low - _OFF_MM
    else:
        line = left - _OFF_MM if (a.x_mm + b.x_mm) / 2 < (left + right) / 2 else right + _OFF_MM
    return Dimension(a, b, axis, line, "", key.letter, layer="dimension", key=key.path)


def _extent(sketch: Sketch) -> tuple[float, float, float, float]:
    places = [point for mark in sketch.marks for point in _points(mark)]
    xs, ys = [each.x_mm for each in places], [each.y_mm for each in places]
    return min(xs), min(ys), max(xs), max(ys)


def _points(mark: Mark) -> tuple[XY, ...]:
    if isinstance(mark, Polyline):
        return mark.points
    if isinstance(mark, Line):
        return mark.start, mark.end
    if isinstance(mark, Circle):
        c, r = mark.centre, mark.radius_mm
        return XY(c.x_mm - r, c.y_mm - r), XY(c.x_mm + r, c.y_mm + r)
    return ()


def _box(left: float, low: float, right: float, high: float, layer: Layer = "outline") -> Polyline:
    return Polyline(rectangle(left, low, right, high), layer=layer)


def _cut(left: float, low: float, right: float, high: float, *, metal: bool = False) -> tuple[Mark, ...]:
    hatch = Hatch(rectangle(left, low, right, high), "paired" if metal else "single", layer="hatch")
    return hatch, _box(left, low, right, high)


def _lying(x0: float, x1: float, y: float, layer: Layer = "outline") -> Line:
    return Line(XY(x0, y), XY(x1, y), layer=layer)


def _standing(x: float, y0: float, y1: float, layer: Layer = "centre") -> Line:
    return Line(XY(x, y0), XY(x, y1), layer=layer)


def _said(x: float, y: float, text: str) -> Text:
    return Text(XY(x, y), text, anchor="middle", layer="text", bold=True)


@lru_cache(maxsize=1)
def _side() -> Sketch:
    wheels = [Circle(XY(x, 2.6), 2.6, layer="thin") for x in (-23.0, -15.0, 15.0, 23.0)]
    frames = [_box(x - 6.5, 1.8, x + 6.5, 4.2, "thin") for x in (-19.0, 19.0)]
    body = _box(-30, 6, 30, 24)
    inside = Polyline(rectangle(-27.5, 6, 27.5, 22), layer="hidden")
    buffers = [_box(x, 7.5, x + 2.5, 9.5, "thin") for x in (-32.5, 30.0)]
    block = _box(-6, 13, 8, 17, "thin")
    marks = (
        _lying(-36, 36, 0), *wheels, *frames, body, inside, *buffers, block,
        *(_standing(x, -1, 10) for x in (-19.0, 19.0)), _said(-33.5, 22, "A"), _said(33.5, 22, "B"),
    )  # fmt: skip
    along = {
        "end_a": XY(-30, 24), "end_b": XY(30, 24), "buffer_a": XY(-32.5, 8.5), "buffer_b": XY(32.5, 8.5),
        "inside_a": XY(-27.5, 22), "inside_b": XY(27.5, 22), "middle": XY(0, 6), "truck_a": XY(-19, 0),
        "truck_b": XY(19, 0), "axle_b1": XY(15, 2.6), "axle_b2": XY(23, 2.6), "frame_b1": XY(12.5, 2),
        "frame_b2": XY(25.5, 2), "block_from": XY(-6, 13), "block_to": XY(8, 13),
    }  # fmt: skip
    up = {
        "rail": XY(30, 0), "sill": XY(30, 6), "roof": XY(30, 24), "ledge": XY(27.5, 9), "notch_top": XY(30, 11),
        "floor_under": XY(27.5, 9), "bolster_under": XY(19, 6), "seat": XY(19, 5), "block_bottom": XY(8, 13),
        "block_top": XY(8, 17), "coupler_line": XY(32, 8),
    }  # fmt: skip
    return Sketch("a car from its side", marks, along, up)


@lru_cache(maxsize=1)
def _end() -> Sketch:
    marks = (
        _lying(-16, 16, 0), _box(-12, 6, 12, 30), Polyline(rectangle(-9.5, 6, 9.5, 27.5), layer="hidden"),
        _box(-4, 6, 4, 11, "thin"), *(_box(x - 1, 0, x + 1, 5.5, "thin") for x in (-6.5, 6.5)), _standing(0, 2, 32),
    )  # fmt: skip
    along = {"left": XY(-12, 30), "right": XY(12, 30), "inside_left": XY(-9.5, 6), "inside_right": XY(9.5, 6)}
    up = {
        "rail": XY(12, 0), "sill": XY(12, 6), "notch_top": XY(4, 11), "roof": XY(12, 30), "coupler_line": XY(4, 8),
    }  # fmt: skip
    return Sketch("a car from its end", marks, along, up)


@lru_cache(maxsize=1)
def _below() -> Sketch:
    marks = (
        _box(-30, -10, 30, 10), _box(-27, -7.5, 27, 7.5), _lying(-34, 34, 0, "centre"), _standing(0, -12, 12),
        *(_box(x - 2, -7.5, x + 2, 7.5, "thin") for x in (-19.0, 19.0)),
        _box(9.4, -7.5, 10.6, 7.5, "thin"), _box(4.6, -7.5, 5.2, 7.5, "thin"),
        _box(-12, 2.5, -5, 6, "thin"), _box(-26, 6, -21, 7.5, "thin"),
        Polyline((XY(27, 7.5), XY(27, 5), XY(24.5, 7.5)), layer="thin"), _box(-14, -6, -9, -3, "phantom"),
        _standing(-24.5, -6.5, 6.5, "phantom"), _said(-33.5, 8, "A"), _said(33.5, 8, "B"),
    )  # fmt: skip
    along = {
        "end_a": XY(-30, -10), "end_b": XY(30, -10), "inside_a": XY(-27, -7.5), "inside_b": XY(27, -7.5),
        "middle": XY(0, 0), "truck_a": XY(-19, 0), "truck_b": XY(19, 0), "crossbearer": XY(10, 0),
        "crosstie": XY(4.9, 0), "lug_a": XY(-26, 7.5), "lug_b": XY(-21, 7.5), "lug_middle": XY(-23.5, 7.5),
        "block_a": XY(-12, 6), "block_b": XY(-5, 6), "block_middle": XY(-8.5, 4.2), "piece": XY(-11.5, -4.5),
        "square_tip": XY(-24.5, -6.5), "notch_along": XY(24.5, 7.5), "corner_b_left": XY(27, 7.5),
    }  # fmt: skip
    up = {
        "left": XY(30, 10), "right": XY(30, -10), "inside_left": XY(27, 7.5), "inside_right": XY(27, -7.5),
        "center_line": XY(-30, 0), "block_left": XY(-12, 6), "block_right": XY(-12, 2.5), "block_middle": XY(-12, 4.2),
        "piece": XY(-14, -4.5), "lug_face": XY(-21, 6), "notch_across": XY(27, 5), "square_heel": XY(-24.5, 6.5),
        "corner_a_right": XY(-27, -7.5), "corner_b_right": XY(27, -7.5),
        "square_tip": XY(-24.5, -6.5), "lug_middle": XY(-21, 6.7),
    }  # fmt: skip
    return Sketch("a car from below", marks, along, up)


@lru_cache(maxsize=1)
def _section() -> Sketch:
    marks = (
        _lying(-18, 18, -12),
        *_cut(-15, 0, -13, 18), *_cut(13, 0, 15, 18), *_cut(-15, 18, 15, 20), *_cut(-12.5, 5, 12.5, 6.5),
        *_cut(-12.5, 6.5, 12.5, 8), *_cut(-3.5, 8, 3.5, 11), *_cut(-8, -1, 8, 5), _box(-13, 8, -11, 10, "thin"),
        _box(11, 8, 13, 10, "thin"), Circle(XY(10.5, 1.8), 0.8, layer="wire"), _box(-5, -5, 5, -1, "phantom"),
    )  # fmt: skip
    along = {"left": XY(-15, 0), "wall_in": XY(-13, 0), "inside_left": XY(-12.5, 5), "inside_right": XY(12.5, 5)}
    up = {
        "sill": XY(15, 0), "ledge": XY(13, 8), "notch_top": XY(13, 9), "roof": XY(15, 20), "floor_under": XY(12.5, 5),
        "floor_top": XY(12.5, 8), "bolster_under": XY(8, -1), "bolster_top": XY(8, 5), "block_top": XY(3.5, 11),
        "train_line": XY(10.5, 1.8), "rail": XY(15, -12), "layer_under": XY(12.5, 5), "layer_top": XY(12.5, 6.5),
    }  # fmt: skip
    return Sketch("a car cut across at a truck", marks, along, up)


@lru_cache(maxsize=1)
def _truck() -> Sketch:
    frame = (XY(-16, 4), XY(-16, 8), XY(-6, 15), XY(6, 15), XY(16, 8), XY(16, 4), XY(5, 4), XY(4, 2.5), XY(-4, 2.5),
             XY(-5, 4))  # fmt: skip
    marks = (
        _lying(-21, 62, 0), *(Circle(XY(x, 6), 6, layer="thin") for x in (-10.0, 10.0)), Polyline(frame),
        *_cut(-3.5, 6, 3.5, 11, metal=True), *(_box(x - 1.1, 0, x + 1.1, 12, "thin") for x in (35.0, 51.0)),
        *_cut(31.5, 6, 54.5, 11, metal=True), _box(28.5, 4, 31.5, 15.5), _box(54.5, 4, 57.5, 15.5),
        _box(40, 11, 46, 12.6, "thin"), _lying(29.5, 56.5, 5, "thin"), _box(41.8, 3.5, 44.2, 12.6, "hidden"),
        _box(41, 15.6, 45, 16.6, "thin"), _box(42.2, 17.5, 43.8, 26, "thin"), _box(41.2, 26, 44.8, 27.5, "thin"),
        Line(XY(28.5, 12.2), XY(57.5, 18.8), layer="hidden"), _standing(43, -1, 29),
    )  # fmt: skip
    along = {
        "frame_b1": XY(-16, 4), "frame_b2": XY(16, 4), "axle_b1": XY(-10, 6), "axle_b2": XY(10, 6),
        "frame_left": XY(28.5, 4), "frame_right": XY(57.5, 4), "boss_left": XY(40, 12.6), "boss_right": XY(46, 12.6),
        "hole_left": XY(41.8, 3.5), "hole_right": XY(44.2, 3.5), "axle_left": XY(29.5, 5), "axle_right": XY(56.5, 5),
    }  # fmt: skip
    up = {
        "rail": XY(-16, 0), "seat": XY(-3.5, 11), "frame_top": XY(-6, 15), "tread_under": XY(-10, 0),
        "tread_top": XY(-10, 12), "bolster_under": XY(54.5, 6), "bolster_top": XY(54.5, 11), "boss_top": XY(46, 12.6),
        "rocked": XY(57.5, 18.8), "screw_head": XY(44.8, 26), "screw_tip": XY(43.8, 17.5),
        "washer_under": XY(45, 15.6), "washer_top": XY(45, 16.6),
    }  # fmt: skip
    return Sketch("a truck from its side and its end", marks, along, up)


@lru_cache(maxsize=1)
def _coupler() -> Sketch:
    marks = (
        _lying(-18, 24, -14), *_cut(-18, 8, 8, 11), _box(-14, 2, 6, 8), _box(-6, 3.6, 16, 6.4, "thin"),
        _box(16, 1.5, 20, 8.5, "thin"), _lying(-16, 24, 5, "centre"), Line(XY(-6, 5), XY(20, 1.5), layer="hidden"),
        _standing(-6, 0, 13), _standing(8, 0, 13, "thin"), _box(-11, 2, -9.6, 11, "thin"),
        _box(-12, 1, -8.6, 2, "thin"),
        Line(XY(17.5, 1.5), XY(17.5, -9), layer="wire"), _standing(17.5, 1.5, 8.5, "phantom"),
        _box(-14, 24, 6, 34), Circle(XY(-6, 29), 1.2, layer="thin"), _box(-6, 27.7, 16, 30.3, "thin"),
        _box(16, 25.8, 20, 32.2, "thin"), _lying(-8, 24, 29, "centre"),
        Line(XY(-6, 29), XY(19.5, 22.5), layer="hidden"),
    )  # fmt: skip
    along = {
        "end": XY(8, 11), "pivot": XY(-6, 11), "face": XY(20, 8.5), "screw": XY(-10.3, 11), "pushed_in": XY(17.5, 8.5),
        "box_back": XY(-14, 34), "box_front": XY(6, 34),
    }  # fmt: skip
    up = {
        "mounting_face": XY(8, 8), "center_line": XY(20, 5), "box_left": XY(-14, 34), "box_right": XY(-14, 24),
        "box_under": XY(-14, 2), "box_top": XY(-14, 8), "head_middle": XY(20, 29), "head_left": XY(19.5, 22.5),
        "shim_top": XY(8, 9.5), "recess_top": XY(8, 9.5), "shank": XY(16, 3.6), "drooped": XY(20, 1.5),
        "rail": XY(20, -14), "pin_tip": XY(17.5, -9), "opening_top": XY(8, 9), "screw": XY(-10.3, 11),
    }  # fmt: skip
    return Sketch("a coupler in its box, from the side and from below", marks, along, up)


@lru_cache(maxsize=1)
def _stock() -> Sketch:
    lean = 8.0
    top = (XY(0, 4), XY(44, 4), XY(44 + lean, 14), XY(lean, 14))
    front, flank = _box(0, 0, 44, 4), Polyline((XY(44, 0), XY(44 + lean, 10), XY(44 + lean, 14), XY(44, 4)))
    marks = (Polyline(top), front, flank, Circle(XY(22 + lean / 2, 9), 2.2, layer="thin"))
    along = {"left": XY(0, 0), "right": XY(44, 0), "hole_left": XY(23.8, 9), "hole_right": XY(28.2, 9)}
    up = {"under": XY(0, 0), "top": XY(0, 4), "near": XY(44, 4), "far": XY(44 + lean, 14)}
    return Sketch("a piece of stock, lying", marks, along, up)


@lru_cache(maxsize=1)
def _gauge() -> Sketch:
    marks = (
        Line(XY(-30, 0), XY(20, 0), layer="outline"), Line(XY(-30, 6), XY(-8, 0), layer="outline"),
        _box(-24, 7, -8, 12, "thin"), _lying(-30, 20, 9.5, "centre"), Line(XY(-14, 7), XY(-14, 2), layer="wire"),
        *(_box(x - 1.2, 0, x + 1.2, 12, "thin") for x in (36.0, 54.0)), _lying(30, 60, 0), _lying(36, 54, 6, "thin"),
        _box(38.2, -3, 39.2, 2.5, "thin"), _standing(14, -2, 4, "thin"), _standing(-8, -2, 4, "thin"),
    )  # fmt: skip
    along = {
        "start": XY(-8, 0), "stop": XY(14, 0), "check_left": XY(37.2, 0), "check_right": XY(55.2, 0),
        "span_left": XY(37.2, 12), "span_right": XY(52.8, 12),
    }  # fmt: skip
    up = {"rail": XY(-8, 0), "raised": XY(-30, 6), "pin_tip": XY(-14, 2), "center_line": XY(-8, 9.5)}
    return Sketch("track for rolling and a pair of wheels", marks, along, up)


SKETCHES: Final[Mapping[str, Callable[[], Sketch]]] = {
    "side": _side,
    "end": _end,
    "below": _below,
    "section": _section,
    "truck": _truck,
    "coupler": _coupler,
    "shelf": _stock,
    "gauge": _gauge,
}
"""Every view of a small picture, by its name in the table of keys."""

_STOCKS: Final[Mapping[str, Callable[[str], tuple[str, tuple[Mark, ...]]]]] = {
    "sheet": _flat,
    "strip": _flat,
    "rod": _round,
    "tube": _round,
    "wire": _round,
    "washer": _ring,
    "ballast": _flat,
}
