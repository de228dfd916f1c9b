"""The second page of the measuring sheet: a truck and a coupler, with a letter at each size that only a curve asks for.

The pictures are the same for every car and not to scale; what is asked comes from the table of questions.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from carwright.car.keys import Key, key_named
from carwright.draw.model import XY, Circle, Dimension, Drawing, Hatch, Layer, Line, Mark, Polyline, Text
from carwright.draw.outline import rectangle
from carwright.draw.shift import shifted

__all__ = ["curve_keys", "curve_picture"]

_PATHS: Final = (
    "trucks.wheelbase",
    "trucks.wheel_diameter",
    "trucks.width",
    "trucks.frame_length",
    "trucks.frame_top",
    "trucks.rock",
    "coupler.side_play",
    "coupler.box_length",
    "coupler.box_width",
    "coupler.box_height",
)
"""What ``carwright curve`` needs beyond the letters A to N, in the order in which it is asked."""

_APART_MM: Final = 58.0


def curve_keys() -> tuple[Key, ...]:
    """Return the keys of the second page, in order."""
    return tuple(key for path in _PATHS if (key := key_named(path)) is not None)


def curve_picture(layers: Mapping[str, Layer]) -> Drawing:
    """Return truck and coupler, each from two sides, with the letters of ``layers``.

    Args:
        layers: path of a key to the layer of its dimension: of what is wanting, or of what is known.
    """
    marks: list[Mark] = [*_truck_side(layers)]
    marks += [shifted(mark, _APART_MM, 0.0) for mark in _truck_end(layers)]
    marks += [shifted(mark, 2 * _APART_MM - 4.0, 0.0) for mark in _coupler(layers)]
    alt = "A truck from its side and its end, and a coupler in its box from below and from the side, lettered."
    return Drawing("curve-sheet", "Measuring sheet: for curves", alt, tuple(marks))


def _lettered(
    layers: Mapping[str, Layer], path: str, start: XY, end: XY, axis: Literal["x", "y"], line: float
) -> list[Mark]:
    key = key_named(path)
    if key is None or path not in layers:
        return []
    return [Dimension(start, end, axis, line, "", key.letter, layer=layers[path], part=key.letter, key=path)]


def _box(left: float, low: float, right: float, high: float, *, layer: Layer = "outline") -> Polyline:
    return Polyline(rectangle(left, low, right, high), layer=layer)


def _hatched(left: float, low: float, right: float, high: float, pattern: Literal["single", "paired"]) -> list[Mark]:
    return [Hatch(rectangle(left, low, right, high), pattern, layer="hatch"), _box(left, low, right, high)]


def _words(x: float, y: float, text: str) -> Text:
    return Text(XY(x, y), text, anchor="middle", layer="text")


def _truck_side(layers: Mapping[str, Layer]) -> list[Mark]:
    """Return a truck from its side: rail top at 0, axles at -10 and 10, bearing face at 11, top of the frame at 15."""
    return [
        _words(0.0, 27.0, "Truck from its side"),
        Line(XY(-21.0, 0.0), XY(21.0, 0.0), layer="outline", title="Rail top"),
        *(Circle(XY(x, 6.0), 6.0, layer="thin", title="Tread of a wheel") for x in (-10.0, 10.0)),
        *_hatched(-3.5, 6.0, 3.5, 11.0, "paired"),
        Polyline(
            (XY(-16, 4), XY(-16, 8), XY(-6, 15), XY(6, 15), XY(16, 8), XY(16, 4), XY(5, 4), XY(4, 2.5), XY(-4, 2.5),
             XY(-5, 4)),
            layer="outline",
        ),
        *_lettered(layers, "trucks.wheelbase", XY(-10.0, 6.0), XY(10.0, 6.0), "x", -4.6),
        *_lettered(layers, "trucks.frame_length", XY(-16.0, 4.0), XY(16.0, 4.0), "x", -12.0),
        *_lettered(layers, "trucks.frame_top", XY(-3.5, 11.0), XY(-6.0, 15.0), "y", -22.0),
        *_lettered(layers, "trucks.wheel_diameter", XY(10.0, 0.0), XY(10.0, 12.0), "y", 24.0),
    ]  # fmt: skip


def _truck_end(layers: Mapping[str, Layer]) -> list[Mark]:
    """Return a truck from its end, and dashed where its frame comes to when it rocks."""
    rocked = (XY(-14.5, 12.2), XY(14.5, 18.8))
    return [
        _words(0.0, 27.0, "from its end"),
        Line(XY(-18.0, 0.0), XY(18.0, 0.0), layer="outline", title="Rail top"),
        *(_box(x - 1.1, 0.0, x + 1.1, 12.0, layer="thin") for x in (-8.0, 8.0)),
        *_hatched(-11.5, 6.0, 11.5, 11.0, "paired"),
        *(_box(min(x, x + 3.0), 4.0, max(x, x + 3.0), 15.5) for x in (-14.5, 11.5)),
        Line(*rocked, layer="hidden", title="Top of the frame when the truck is rocked to its stop"),
        *_lettered(layers, "trucks.width", XY(-14.5, 4.0), XY(14.5, 4.0), "x", -4.6),
        *_lettered(layers, "trucks.rock", XY(14.5, 15.5), rocked[1], "y", 20.5),
    ]


def _coupler(layers: Mapping[str, Layer]) -> list[Mark]:
    """Return a coupler in its box: from below above, from the side beneath, the head to the right."""
    up, low = 15.0, -12.0
    return [
        _words(0.0, 27.0, "Coupler from below"),
        _box(-12.0, up - 5.0, 6.0, up + 5.0),
        Circle(XY(-6.0, up), 1.2, layer="thin", title="Pivot"),
        _box(-6.0, up - 1.3, 14.0, up + 1.3, layer="thin"),
        _box(14.0, up - 3.2, 17.5, up + 3.2, layer="thin"),
        Line(XY(-8.0, up), XY(20.0, up), layer="centre", title="Straight ahead"),
        Line(XY(-6.0, up), XY(17.0, up - 6.5), layer="hidden", title="Swung to its stop"),
        *_lettered(layers, "coupler.side_play", XY(17.5, up), XY(17.0, up - 6.5), "y", 24.0),
        *_lettered(layers, "coupler.box_width", XY(-12.0, up - 5.0), XY(-12.0, up + 5.0), "y", -18.0),
        *_lettered(layers, "coupler.box_length", XY(-12.0, up - 5.0), XY(6.0, up - 5.0), "x", up - 11.0),
        *_hatched(-15.0, low + 6.0, 10.0, low + 8.5, "single"),
        _box(-12.0, low, 6.0, low + 6.0),
        _box(2.0, low + 1.7, 14.0, low + 4.3, layer="thin"),
        _box(14.0, low - 0.5, 17.5, low + 6.5, layer="thin"),
        _words(1.0, low - 9.0, "and from the side, under the floor"),
        *_lettered(layers, "coupler.box_height", XY(-12.0, low), XY(-12.0, low + 6.0), "y", -18.0),
    ]
