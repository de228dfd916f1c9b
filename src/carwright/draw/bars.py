"""Is this print true? Bars of 100 mm and 4 in, and what to do when they are not.

Each bar is measured between the *middles* of its two end lines, so that the pen's width does not enter. On a page they
stand both ways, because printers err differently along and across.

Print correction: a bar that should be *b* long and printed *m* long calls for everything true-size to be drawn b/m as
large on that axis, the bars of the next print with it, which then measure true. It is applied once, where a true-size
picture is laid on a page, and nowhere else: never in a model, an SVG, a DXF or JSON.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from carwright.draw.model import XY, Drawing, Line, Mark, Polyline, Text
from carwright.problems import InputError, Problem

__all__ = ["BARS_MM", "Correction", "bar", "factor_from"]

BARS_MM: Final = (100.0, 101.6)
"""The two bars: 100 mm and 4 in."""

_WIDE_MM: Final = 2.0
_LEAST_PERCENT: Final = 90.0
_MOST_PERCENT: Final = 110.0
_INCH_MM: Final = 25.4
_ROUNDING: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Correction:
    """What one printer needs: factors along x (across the page) and y (up the page), 1.0 for a true printer."""

    x: float = 1.0
    y: float = 1.0
    printer: str = ""

    @property
    def is_none(self) -> bool:
        """Return whether nothing is corrected."""
        return self.x == 1.0 and self.y == 1.0

    def said(self) -> str:
        """Return the words that stand on every page printed with it."""
        if self.is_none and not self.printer:
            return "printed without correction"
        name = f"printed for: {self.printer}, " if self.printer else "printed with correction: "
        return f"{name}x {self.x:.4f}, y {self.y:.4f}"


def bar(length_mm: float, *, way: Literal["across", "up"]) -> Drawing:
    """Return one bar, its first end line at the origin; a field of it is 10 mm, or half an inch.

    Args:
        length_mm: one of ``BARS_MM``.
        way: "across" the page or "up" it.
    """
    metric = length_mm == BARS_MM[0]
    field = 10.0 if metric else _INCH_MM / 2
    words = "100 mm" if metric else "4 in"
    upright = way == "up"

    def at(along: float, over: float) -> XY:
        return XY(-over, along) if upright else XY(along, over)

    count = round(length_mm / field)
    solid = [_box(at, place * field, (place + 1) * field, fill="ink") for place in range(0, count, 2)]
    ends = [Line(at(along, -1.4), at(along, _WIDE_MM + 1.4), layer="template") for along in (0.0, length_mm)]
    label = at(length_mm / 2, _WIDE_MM + 1.2 if upright else -3.6)
    text = Text(
        label,
        words,
        anchor="middle",
        turn_deg=90 if upright else 0,
        layer="text",
    )
    marks: tuple[Mark, ...] = (*solid, _box(at, 0.0, length_mm, fill="none"), *ends, text)
    name = f"bar-{'100mm' if metric else '4in'}-{way}"
    return Drawing(name, words, f"Bar of {words} {way} the page, measured between the middles of its end lines.", marks)


def factor_from(text: str, *, option: str) -> float:
    """Return the factor that a reading of a printed bar calls for.

    Forms: ``99.7`` (millimetres, or inches when it could only be inches), ``99.7 mm``, ``3.926 in``; with ``of 4 in``
    behind it was the 4 in bar; with ``at 1.0031`` the page that was measured was itself printed with that factor.

        factor = bar / reading x factor of the page measured

    Args:
        text: the reading as typed.
        option: name of the option, for the report.

    Raises:
        InputError: it is not a length, or not between 90 and 110 % of the bar.

    Example:
        >>> round(factor_from("99.69", option="--printed-x"), 4)
        1.0031
        >>> round(factor_from("100.1 at 1.0031", option="--printed-x"), 4)
        1.0021
    """
    accepted = "90 to 110 mm for the 100 mm bar, as in 99.7, 99.7 mm or 3.925 in; 3.6 to 4.4 in with: of 4 in"
    pattern = r"\s*(\d+(?:\.\d*)?|\.\d+)\s*(mm|in|\")?\s*(?:of\s+(100\s*mm|4\s*in))?\s*(?:at\s+(\d(?:\.\d*)?))?\s*"
    found = re.fullmatch(pattern, text.replace(",", ".", 1))
    if found is None:
        raise InputError(_problem("this is not a reading of a printed bar", text, accepted, option))
    reading = float(found[1])
    wanted = BARS_MM[1] if (found[3] or "").startswith("4") else BARS_MM[0]
    inches = found[2] in ("in", '"') or (found[2] is None and reading < _INCH_MM)
    percent = reading * (_INCH_MM if inches else 1.0) / wanted * 100.0
    page = float(found[4]) if found[4] else 1.0
    if not _LEAST_PERCENT - _ROUNDING <= percent <= _MOST_PERCENT + _ROUNDING:
        raise InputError(_problem("a printed bar cannot be so far out", text, accepted, option))
    factor = page * 100.0 / percent
    if not 100.0 / _MOST_PERCENT - _ROUNDING <= factor <= 100.0 / _LEAST_PERCENT + _ROUNDING:
        raise InputError(_problem("with the page's own factor the correction is too great", text, accepted, option))
    return factor


def _problem(problem: str, text: str, accepted: str, option: str) -> Problem:
    mend = "Print a page, set the printer to 100 % (not to fit the page), and measure the 100 mm bar between the "
    return Problem(problem, text, accepted, mend + "middles of its end lines.", key=option)


def _box(at: Callable[[float, float], XY], near: float, far: float, *, fill: Literal["none", "ink"]) -> Polyline:
    corners = (at(near, 0.0), at(far, 0.0), at(far, _WIDE_MM), at(near, _WIDE_MM))
    return Polyline(corners, True, fill, layer="template_inner")
