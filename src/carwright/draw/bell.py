"""How sure one coupler's height is: its spread against the limits, with worst case and root sum square beneath.

The curve is a normal one of the same standard deviation; what of it lies outside a limit is inked.
"""

from __future__ import annotations

import math
from typing import Final, Literal

from carwright.draw.glyphs import width_mm as words_mm
from carwright.draw.labels import signed
from carwright.draw.model import XY, Drawing, Line, Mark, Polyline, Text
from carwright.draw.outline import rectangle

__all__ = ["bell"]

_HIGH_MM: Final = 20.0
_STEPS: Final = 120
_SPREAD: Final = 3.2
"""Standard deviations that the curve is drawn to, each way: beyond it, its ink would be thinner than its pen."""


def bell(
    *,
    title: str,
    error_mm: float,
    limit_mm: float,
    sigma_mm: float,
    worst_mm: float,
    rss_mm: float,
    units: Literal["in", "mm"],
    width_mm: float,
    cured_mm: float | None = None,
) -> Drawing:
    """Return the curve.

    Args:
        title: whose height it is.
        error_mm: nominal error, high positive.
        limit_mm: half of what is accepted.
        sigma_mm: standard deviation.
        worst_mm: half-width of the worst case.
        rss_mm: half-width of the root sum square.
        units: of the figures.
        width_mm: of the drawing on paper.
        cured_mm: error after the best of the ways to stand, or None.
    """
    reach = max(limit_mm * 1.35, *(abs(each) + 1.1 * worst_mm for each in (error_mm, cured_mm or 0.0)))
    k = (width_mm - 4.0) / (2 * reach)
    sigma = max(sigma_mm, 0.4 / k)
    band = rectangle(-limit_mm * k, 0.0, limit_mm * k, _HIGH_MM + 5.0)
    marks: list[Mark] = [Polyline(band, True, "band", layer="band", title="Accepted")]
    for side in (-1.0, 1.0):
        x = side * limit_mm * k
        marks.append(Line(XY(x, 0.0), XY(x, _HIGH_MM + 5.0), layer="outline", title="Limit"))
        at, words = XY(x, -4.2), signed(side * limit_mm, units)
        marks.append(Text(at, words, anchor="middle", layer="text"))
        name = XY(x - side * 0.8, _HIGH_MM + 6.2)
        anchor: Literal["start", "end"] = "start" if side < 0 else "end"
        marks.append(Text(name, "low limit" if side < 0 else "high limit", anchor=anchor, size_mm=2.6, layer="text"))
    marks.append(Line(XY(-reach * k, 0.0), XY(reach * k, 0.0), layer="outline"))
    marks.append(Line(XY(0.0, -0.8), XY(0.0, _HIGH_MM + 4.0), layer="centre", title="Where it should stand"))
    marks.append(Text(XY(0.0, -4.2), "0", anchor="middle", layer="text"))
    marks += _outside(error_mm, sigma, limit_mm, k)
    curve = tuple(XY(x * k, _density(x, error_mm, sigma) * _HIGH_MM) for x in _along(error_mm, sigma))
    marks.append(Polyline(curve, False, layer="outline", title="As the file says it"))
    marks.append(Text(XY(error_mm * k, _HIGH_MM + 1.2), "now", anchor="middle", bold=True, ground=True, layer="text"))
    if cured_mm is not None:
        after = tuple(XY(x * k, _density(x, cured_mm, sigma) * _HIGH_MM) for x in _along(cured_mm, sigma))
        marks.append(Polyline(after, False, layer="hidden", title="With the first way to stand"))
        clear = abs(cured_mm - error_mm) * k > 14.0
        at = XY(cured_mm * k, _HIGH_MM + 1.2 if clear else 0.55 * _HIGH_MM)
        marks.append(Text(at, "way 1", anchor="middle", ground=True, layer="text"))
    for row, (words, half) in enumerate((("worst case", worst_mm), ("root sum square", rss_mm))):
        y = -8.6 - 5.0 * row
        marks.append(Line(XY((error_mm - half) * k, y), XY((error_mm + half) * k, y), layer="outline", title=words))
        for end in (-half, half):
            marks.append(Line(XY((error_mm + end) * k, y - 0.9), XY((error_mm + end) * k, y + 0.9), layer="thin"))
        marks.append(_beside(words, (error_mm - half) * k, (error_mm + half) * k, y, reach * k))
    alt = f"{title}: the spread of its error against the limits, with worst case and root sum square."
    return Drawing("bell", title, alt, tuple(marks))


def _beside(words: str, left: float, right: float, y: float, reach: float) -> Text:
    """Return the words of a bar: breaking it where it is long enough, else behind or before it, inside the drawing."""
    size = 2.6
    long = words_mm(words, size)
    if right - left > long + 8.0:
        return Text(XY((left + right) / 2, y - 0.9), words, anchor="middle", size_mm=size, ground=True, layer="text")
    if right + 1.4 + long < reach:
        return Text(XY(right + 1.4, y - 0.9), words, size_mm=size, layer="text")
    return Text(XY(left - 1.4, y - 0.9), words, anchor="end", size_mm=size, layer="text")


def _density(x: float, middle: float, sigma: float) -> float:
    """Return the normal curve's height as a part of its greatest."""
    return math.exp(-(((x - middle) / sigma) ** 2) / 2)


def _along(middle: float, sigma: float) -> list[float]:
    return [middle + sigma * _SPREAD * (2 * step / _STEPS - 1) for step in range(_STEPS + 1)]


def _outside(middle: float, sigma: float, limit: float, k: float) -> list[Mark]:
    """Return the parts of the curve beyond the limits, inked."""
    marks: list[Mark] = []
    for side in (-1.0, 1.0):
        beyond = [x for x in _along(middle, sigma) if x * side > limit]
        if len(beyond) > 1:
            first = max(beyond, key=lambda x: -x * side)
            edge = side * limit
            points = sorted({edge, *beyond}) if abs(first - edge) > 1e-9 else sorted(beyond)
            under = [XY(points[0] * k, 0.0), *(XY(x * k, _density(x, middle, sigma) * _HIGH_MM) for x in points)]
            shape = (*under, XY(points[-1] * k, 0.0))
            marks.append(Polyline(shape, True, "ink", layer="thin", title="Outside of the limit"))
    return marks
