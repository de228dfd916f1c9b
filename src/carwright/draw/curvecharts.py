"""Charts of a study: coupler angle along the track over a strip of the track, and what a straight between curves does.

Drawn in paper millimetres. The range that the pocket allows is a tint between two wide lines; the line of the couplers
is the widest thing in it; words stand on the thing they name.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from carwright.draw.model import XY, Circle, Drawing, Line, Mark, Polyline, Text
from carwright.lengths import number_in
from carwright.plan.curvemodel import CurveAnswer
from carwright.plan.curvescene import Bent, bent, bent_in_reverse, offsets_along, tangents

__all__ = ["angle_chart", "room_chart", "tangent_chart"]

Units = Literal["in", "mm"]

WIDE_MM: Final = 150.0
HIGH_MM: Final = 62.0
_STRIP: Final = 16.0
_TICK: Final = 1.6


@dataclass(frozen=True, slots=True)
class _Axes:
    """A frame on the paper: values to places."""

    left: float
    right: float
    low: float
    high: float
    bottom_mm: float = 0.0
    wide_mm: float = WIDE_MM
    high_mm: float = HIGH_MM

    def at(self, x: float, y: float) -> XY:
        return XY(
            (x - self.left) / (self.right - self.left) * self.wide_mm,
            self.bottom_mm + (y - self.low) / (self.high - self.low) * self.high_mm,
        )


def _told(length_mm: float, units: Units) -> str:
    """Return a length along the track to a tenth of an inch or a millimetre: nobody lays track closer."""
    return f"{length_mm / 25.4:.1f} in" if units == "in" else f"{length_mm:.0f} mm"


def _step(span: float, count: float) -> float:
    """Return a round distance of ticks (1, 2, 5 and their tens), about ``count`` to the span."""
    raw = span / count
    power = 10.0 ** math.floor(math.log10(raw))
    return next(each * power for each in (1.0, 2.0, 5.0, 10.0) if each * power >= raw * 0.999)


def _ticks(low: float, high: float, step: float) -> list[float]:
    first = math.ceil(low / step - 1e-9)
    return [n * step for n in range(first, math.floor(high / step + 1e-9) + 1)]


def _length_axis(axes: _Axes, units: Units, y_mm: float, words: str) -> list[Mark]:
    """Return a scale of lengths below a chart, in the reader's unit."""
    unit = 25.4 if units == "in" else 1.0
    marks: list[Mark] = [Line(XY(0.0, y_mm), XY(axes.wide_mm, y_mm), layer="thin", part="scale")]
    for each in _ticks(
        axes.left / unit, axes.right / unit, _step((axes.right - axes.left) / unit, max(axes.wide_mm / 18.0, 3.0))
    ):
        x = axes.at(each * unit, 0.0).x_mm
        marks.append(Line(XY(x, y_mm), XY(x, y_mm - _TICK), layer="thin", part="scale"))
        marks.append(Text(XY(x, y_mm - 5.0), f"{each:g}", anchor="middle", layer="text"))
    marks.append(Text(XY(axes.wide_mm / 2.0, y_mm - 9.5), f"{words}, {units}", anchor="middle", layer="text"))
    return marks


def _angle_axis(axes: _Axes, *, signed: bool) -> list[Mark]:
    marks: list[Mark] = []
    for each in _ticks(axes.low, axes.high, _step(axes.high - axes.low, max(axes.high_mm / 10.0, 3.0))):
        place = axes.at(axes.left, each)
        marks.append(Line(place, XY(place.x_mm - _TICK, place.y_mm), layer="thin", part="scale"))
        sign = "+" if signed and each > 0 else ""
        said = f"{sign}{each:g}°".replace("-", "\u2212")
        marks.append(Text(XY(place.x_mm - 2.6, place.y_mm - 1.0), said, anchor="end", layer="text"))
    return marks


def _limits(axes: _Axes, low: float, high: float, words: str) -> list[Mark]:
    """Return the allowed range as a tint between two wide lines, named at its upper edge."""
    corners = (axes.at(axes.left, low), axes.at(axes.right, low), axes.at(axes.right, high), axes.at(axes.left, high))
    marks: list[Mark] = [Polyline(corners, fill="band", layer="band", part="allowed", title=words)]
    for value in (low, high):
        if axes.low < value < axes.high and value != 0.0:
            marks.append(
                Line(axes.at(axes.left, value), axes.at(axes.right, value), layer="outline", part="limit", title=words)
            )
    place = axes.at(axes.left, high)
    marks.append(Text(XY(place.x_mm + 1.5, place.y_mm - 4.0), words, layer="text", ground=True, toned=True))
    return marks


def _curve(axes: _Axes, x: Sequence[float], y: Sequence[float]) -> tuple[XY, ...]:
    """Return a line as drawn: what lies on the straight between its neighbours is left out."""
    places = [axes.at(a, b) for a, b in zip(x, y, strict=True)]
    kept = places[:1]
    for n in range(1, len(places) - 1):
        one, here, two = kept[-1], places[n], places[n + 1]
        cross = (here.x_mm - one.x_mm) * (two.y_mm - one.y_mm) - (here.y_mm - one.y_mm) * (two.x_mm - one.x_mm)
        if abs(cross) > 0.01 or here.x_mm - one.x_mm > 3.0:
            kept.append(here)
    return (*kept, *places[-1:])


def angle_chart(
    answer: CurveAnswer,
    *,
    reverse: bool = False,
    wide_mm: float = WIDE_MM,
    high_mm: float = HIGH_MM,
) -> Drawing | None:
    """Return both couplers' angle over the place of the first car, above a strip of the track; None where unknown.

    Args:
        answer: the study.
        reverse: on a bare reverse curve of the track's least radius, in place of the track itself.
        wide_mm: width of the frame.
        high_mm: its height.
    """
    given = bent_in_reverse(answer) if reverse else bent(answer)
    if given is None:
        return None
    units = answer.plan.car.info.units
    swings = [each for each in given.limits_deg if each is not None]
    most = max([abs(given.peak_deg), *swings]) * 1.15
    axes = _Axes(0.0, given.length_mm, -most, most, _STRIP + 8.0, wide_mm, high_mm)
    marks: list[Mark] = []
    if swings:
        least = min(swings)
        marks += _limits(axes, -least, least, f"the pocket allows {least:.1f}°")
    marks.append(Line(axes.at(0.0, 0.0), axes.at(given.length_mm, 0.0), layer="thin", part="zero"))
    marks += _angle_axis(axes, signed=True)
    for trace, layer, words in (
        (given.rear, "thin", "coupler A of the second car"),
        (given.front, "wire", "coupler B of the first car"),
    ):
        line = _curve(axes, trace.at_mm, trace.values)
        layered: Literal["thin", "wire"] = "wire" if layer == "wire" else "thin"
        marks.append(Polyline(line, closed=False, layer=layered, part=words.replace(" ", "_"), title=words))
    peak = axes.at(given.peak_at_mm, given.peak_deg)
    marks.append(Circle(peak, 1.0, "paper", layer="outline", part="peak", title="Worst"))
    place = _told(given.peak_at_mm, units)
    side = peak.x_mm > 0.6 * axes.wide_mm
    said = f"{abs(given.peak_deg):.1f}° with the first car at {place}"
    up = 2.4 if given.peak_deg > 0 else -4.6
    words_at = XY(peak.x_mm + (-2.5 if side else 2.5), peak.y_mm + up)
    marks.append(Text(words_at, said, anchor="end" if side else "start", bold=True, layer="text", ground=True))
    top = axes.at(0.0, most).y_mm
    marks.append(
        Text(XY(0.0, top + 6.5), "wide: coupler B of the first car; thin: coupler A of the second", layer="text")
    )
    marks += _strip(given, axes)
    marks += _length_axis(axes, units, -2.0, "along the track to the middle of the first car")
    if reverse:
        alt = "Angle of both couplers along a bare reverse curve, with what the pocket allows and the worst place."
        return Drawing("curve_reverse", "Coupler angle along a bare reverse curve", alt, tuple(marks))
    alt = "Angle of both couplers along the track, with what the pocket allows and the worst place."
    return Drawing("curve_angle", "Coupler angle along the track", alt, tuple(marks))


def _strip(given: Bent, axes: _Axes) -> list[Mark]:
    """Return the track as a strip: left up, right down, the sharper the farther from the middle."""
    sharpest = max((abs(each) for _, each in given.curvature), default=0.0) or 1.0
    middle = _STRIP / 2.0 + 1.0
    marks: list[Mark] = [
        Line(XY(0.0, middle), XY(axes.wide_mm, middle), layer="centre", part="track", title="Straight")
    ]
    line = tuple(
        XY(axes.at(place, 0.0).x_mm, middle + bend / sharpest * (_STRIP / 2.0 - 1.5)) for place, bend in given.curvature
    )
    marks.append(Polyline(line, closed=False, layer="outline", part="track", title="The track: left up, right down"))
    marks.append(Text(XY(-2.6, middle + 2.4), "left", anchor="end", layer="text"))
    marks.append(Text(XY(-2.6, middle - 4.4), "right", anchor="end", layer="text"))
    return marks


def room_chart(answer: CurveAnswer, *, wide_mm: float = WIDE_MM, high_mm: float = HIGH_MM) -> Drawing | None:
    """Return how far the car reaches to both sides of the track's middle, over the place; None where not known."""
    given = offsets_along(answer)
    if given is None:
        return None
    units = answer.plan.car.info.units
    unit = 25.4 if units == "in" else 1.0
    far = max(*given.left_mm, *given.right_mm, given.free_mm or 0.0) * 1.25
    axes = _Axes(0.0, given.at_mm[-1], -far / unit, far / unit, 0.0, wide_mm, high_mm)
    left = tuple(axes.at(s, y / unit) for s, y in zip(given.at_mm, given.left_mm, strict=True))
    right = tuple(axes.at(s, -y / unit) for s, y in zip(given.at_mm, given.right_mm, strict=True))
    marks: list[Mark] = [Polyline((*left, *reversed(right)), fill="band", layer="band", part="room", title="Room")]
    middle = (axes.at(0.0, 0.0), axes.at(axes.right, 0.0))
    marks.append(Line(*middle, layer="centre", part="track", title="Middle of the track"))
    for line in (left, right):
        marks.append(Polyline(line, closed=False, layer="outline", part="room", title="Border of the room"))
    for side in (1.0, -1.0):
        half = side * given.half_width_mm / unit
        ends = (axes.at(0.0, half), axes.at(axes.right, half))
        marks.append(Line(*ends, layer="hidden", part="half_width", title="Half the car's width"))
        if given.free_mm is not None:
            free = side * given.free_mm / unit
            ends = (axes.at(0.0, free), axes.at(axes.right, free))
            marks.append(Line(*ends, layer="thin", part="free", title="Kept free by the standard"))
    step = _step(2.0 * far / unit, max(high_mm / 10.0, 3.0))
    marks.append(Line(axes.at(0.0, axes.low), axes.at(0.0, axes.high), layer="thin", part="scale"))
    for each in _ticks(axes.low, axes.high, step):
        place = axes.at(0.0, each)
        marks.append(Line(place, XY(place.x_mm - _TICK, place.y_mm), layer="thin", part="scale"))
        marks.append(Text(XY(place.x_mm - 2.6, place.y_mm - 1.0), f"{abs(each):g}", anchor="end", layer="text"))
    for words, values, sign, lift in (("left", given.left_mm, 1.0, 1.6), ("right", given.right_mm, -1.0, -4.6)):
        most = max(values)
        there = axes.at(given.at_mm[values.index(most)], sign * most / unit)
        x = min(max(there.x_mm, 22.0), wide_mm - 22.0)
        said = f"{words} {number_in(most, units)} {units}"
        marks.append(Text(XY(x, there.y_mm + lift), said, anchor="middle", bold=True, layer="text"))
    if given.free_mm is not None:
        place = axes.at(axes.right, given.free_mm / unit)
        said = f"kept free {number_in(given.free_mm, units)}"
        marks.append(Text(XY(place.x_mm - 1.5, place.y_mm + 1.2), said, anchor="end", layer="text"))
    marks += _length_axis(axes, units, 0.0, "along the track")
    alt = "How far the car reaches to the left and right of the track's middle, along the track."
    return Drawing("curve_offsets", "Room beside the track", alt, tuple(marks))


def tangent_chart(answer: CurveAnswer, *, wide_mm: float = WIDE_MM, high_mm: float = HIGH_MM) -> Drawing | None:
    """Return the worst coupler angle in a reverse curve over the straight between its halves; None where unknown."""
    given = tangents(answer)
    if given is None or not all(math.isfinite(each) for each in given.angles_deg):
        return None
    units = answer.plan.car.info.units
    most = max([*given.angles_deg, given.limit_deg or 0.0]) * 1.15
    axes = _Axes(0.0, given.lengths_mm[-1], 0.0, most, 0.0, wide_mm, high_mm)
    marks: list[Mark] = []
    if given.limit_deg is not None:
        marks += _limits(axes, 0.0, given.limit_deg, f"the pocket allows {given.limit_deg:.1f}°")
    marks += _angle_axis(axes, signed=False)
    marks.append(Line(axes.at(0.0, 0.0), axes.at(0.0, most), layer="thin", part="scale"))
    if given.steady_deg is not None:
        start, stop = axes.at(0.0, given.steady_deg), axes.at(axes.right, given.steady_deg)
        marks.append(Line(start, stop, layer="hidden", part="steady", title="Steady curve"))
        said = f"steady curve {given.steady_deg:.1f}°"
        marks.append(Text(XY(stop.x_mm - 1.5, stop.y_mm - 4.0), said, anchor="end", layer="text", ground=True))
    line = _curve(axes, given.lengths_mm, given.angles_deg)
    marks.append(Polyline(line, closed=False, layer="wire", part="angle", title="Worst coupler angle"))
    first = axes.at(0.0, given.angles_deg[0])
    last = axes.at(axes.right, given.angles_deg[-1])
    bare, eased = f"bare reverse {given.angles_deg[0]:.1f}°", f"{given.angles_deg[-1]:.1f}°"
    marks.append(Text(XY(first.x_mm + 4.0, first.y_mm + 1.0), bare, bold=True, layer="text"))
    at = XY(last.x_mm - 1.5, last.y_mm + 2.0)
    marks.append(Text(at, eased, anchor="end", bold=True, layer="text", ground=True))
    typed = answer.radius.text if answer.radius is not None else ""
    radius = typed if any(sign.isalpha() for sign in typed) else _told(given.radius_mm, units)
    marks += _length_axis(axes, units, 0.0, f"straight between two curves of {radius}, one left and one right")
    alt = "Worst coupler angle in a reverse curve against the length of straight between its halves."
    return Drawing("curve_tangent", "What a straight between reverse curves does", alt, tuple(marks))
