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
from dataclasses import dataclass, replace
from typing import Final, Literal

from carwright.draw.model import XY, Drawing, Line, Mark, Polyline, Text
from carwright.problems import InputError, Problem

__all__ = ["BARS_MM", "Correction", "bar", "factor_from", "usable_factor"]

BARS_MM: Final = (100.0, 101.6)
"""The two bars: 100 mm and 4 in."""

_WIDE_MM: Final = 2.0
_LEAST_PERCENT: Final = 95.0
_MOST_PERCENT: Final = 105.0
_FITTED_PERCENT: Final = 2.0
"""Beyond this a printer is seldom to blame: the page was fitted to its paper (common practice)."""

_BARE_MOST_MM: Final = 100.58
"""A bare reading is of the 100 mm bar; above this, 99 % of 4 in, it might as well be of the 4 in bar."""

_NAMED_MM: Final = 0.3
"""100 mm may be called 3.94 in: so near a length names its bar, of two that are 1.6 mm apart."""

_INCH_MM: Final = 25.4
_ROUNDING: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Correction:
    """What one printer needs: factors along x (the paper's short edge) and y (its long edge), 1.0 for a true printer.

    They belong to the paper as it runs through the printer, so a page that lies along it has them the other way round.
    """

    x: float = 1.0
    y: float = 1.0
    printer: str = ""

    @property
    def is_none(self) -> bool:
        """Return whether nothing is corrected."""
        return self.x == 1.0 and self.y == 1.0

    def on(self, *, landscape: bool) -> Correction:
        """Return the factors across and up a page, which lies along the paper or stands on it."""
        return replace(self, x=self.y, y=self.x) if landscape else self

    @property
    def drawn(self) -> tuple[str, str]:
        """Return how what is true to size is drawn along the short and the long edge: ``drawn 0.40 % larger``.

        A hundredth of a percent is a hundredth of a millimetre in the 100 mm bar: finer than anybody measures it.
        """
        return _drawn(self.x), _drawn(self.y)

    def said(self) -> str:
        """Return the words that stand on every page printed with it."""
        if self.is_none:
            whose = f"the printer {self.printer}, which" if self.printer else "a printer that"
            return f"drawn for {whose} prints true"
        short, long = self.drawn
        whose = f"the printer {self.printer}" if self.printer else "the printer"
        return f"{short} along the short edge, {long.removeprefix('drawn ')} along the long, to make up for {whose}"

    def note(self) -> str:
        """Return a warning where the correction is so great that a page fitted to its paper is likelier; else ""."""
        off = {edge: 100.0 * (1.0 / factor - 1.0) for edge, factor in (("short", self.x), ("long", self.y))}
        far = [
            f"{abs(each):.1f} % too {'long' if each > 0 else 'short'} along the {edge} edge"
            for edge, each in off.items()
            if abs(each) > _FITTED_PERCENT + _ROUNDING
        ]
        if not far:
            return ""
        return (
            f"The bars came out {' and '.join(far)}: this looks like a print fitted to the page. "
            "Print at 100 %, actual size, and measure the bars again before you trust this one."
        )


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

    Forms: ``99.7`` or ``99.7 mm`` is of the 100 mm bar; ``3.93 in of 100 mm`` and ``4.01 in of 4 in`` name the bar, as
    every reading in inches and every one near 4 in must: one bar taken for the other spoils the print by 1.6 %. A bar
    is named in either unit, ``3.921 in of 3.937 in`` or ``101.2 of 101.6 mm``. With
    ``drawn 0.31 % larger`` behind it the page that was measured was itself drawn so; ``at 1.0031`` says the same.

        factor = bar / reading x factor of the page measured

    Args:
        text: the reading as typed.
        option: name of the option, for the report.

    Raises:
        InputError: it is not a length, it does not say which bar it is of where that must be said, or it is not between
            95 and 105 % of the bar.

    Example:
        >>> round(factor_from("99.69", option="--printed-x"), 4)
        1.0031
        >>> round(factor_from("4.01 in of 4 in", option="--printed-x"), 4)
        0.9975
        >>> round(factor_from("100.1 drawn 0.31 % larger", option="--printed-x"), 4)
        1.0021
    """
    accepted = "95 to 105 mm of the 100 mm bar, as 99.7 or 3.93 in of 100 mm; of the other, 4.01 in of 4 in"
    unit = r"\s*(mm|in|\")?\s*"
    typed, page_text, page = _page_measured(text.replace(",", ".", 1))
    pattern = rf"\s*(\d+(?:\.\d*)?|\.\d+){unit}(?:of\s+(\d+(?:[.,]\d*)?){unit})?\s*"
    found = re.fullmatch(pattern, typed)
    if found is None:
        raise InputError(_problem("this is not a reading of a printed bar", text, accepted, option))
    reading = float(found[1])
    inches = found[2] in ("in", '"') or (found[2] is None and reading < _INCH_MM)
    wide = reading * (_INCH_MM if inches else 1.0)
    named = found[3] is not None
    wanted = _bar_named(found[3], found[4] or "") if named else BARS_MM[0]
    if wanted is None:
        raise InputError(_problem("there is no bar of that length", text, accepted, option))
    percent = wide / wanted * 100.0
    likely = _least(BARS_MM[0]) <= wide <= _most(BARS_MM[1])
    if likely and not named and (inches or wide > _BARE_MOST_MM):
        raise InputError(_which_bar(text, found[1], "in" if inches else "mm", page_text, option))
    if not _least(100.0) <= percent <= _most(100.0):
        raise InputError(_problem("a printed bar cannot be so far out", text, accepted, option))
    factor = page * 100.0 / percent
    if not usable_factor(factor):
        raise InputError(
            _problem(
                "with what its page was drawn larger or smaller, the printer is too far out", text, accepted, option
            )
        )
    return factor


def _bar_named(number: str, unit: str) -> float | None:
    """Return the bar of a length in either unit, as near as it is written; None where there is none."""
    length = float(number.replace(",", "."))
    inches = unit in ("in", '"') or (not unit and length < _INCH_MM)
    length_mm = length * (_INCH_MM if inches else 1.0)
    return next((each for each in BARS_MM if abs(each - length_mm) <= _NAMED_MM), None)


def _drawn(factor: float) -> str:
    percent = round(100.0 * (factor - 1.0), 2)
    return f"drawn {abs(percent):.2f} % {'larger' if percent > 0 else 'smaller'}" if percent else "drawn as it is"


def _page_measured(text: str) -> tuple[str, str, float]:
    """Return a reading, what stands behind it of how its page was drawn, and the factor that this says."""
    found = re.fullmatch(
        r"(.*?)((?:at\s+(\d(?:\.\d*)?)|drawn\s+as\s+it\s+is|(?:drawn\s+)?(\d(?:[.,]\d*)?)\s*%\s*(larger|smaller))\s*)",
        text,
        re.DOTALL,
    )
    if found is None:
        return text, "", 1.0
    if found[3]:
        return found[1], found[2].strip(), float(found[3])
    percent = float((found[4] or "0").replace(",", "."))
    return found[1], found[2].strip(), 1.0 + (percent if found[5] == "larger" else -percent) / 100.0


def usable_factor(factor: float) -> bool:
    """Return whether a factor is one that a reading can call for."""
    return 100.0 / _MOST_PERCENT - _ROUNDING <= factor <= 100.0 / _LEAST_PERCENT + _ROUNDING


def _least(bar_mm: float) -> float:
    return bar_mm * _LEAST_PERCENT / 100.0 - _ROUNDING


def _most(bar_mm: float) -> float:
    return bar_mm * _MOST_PERCENT / 100.0 + _ROUNDING


def _which_bar(text: str, number: str, unit: str, page: str, option: str) -> Problem:
    """Return the question which of the two bars a reading is of, with both answers ready to type."""
    behind = f" {page}" if page else ""
    answers = [f'"{number} {unit} of {bar}{behind}"' for bar in ("4 in", "100 mm")]
    return Problem(
        "this does not say which bar it is of",
        text,
        f"{answers[0]}, or {answers[1]}",
        "There are two bars, 100 mm and 4 in, and one taken for the other spoils the print: name the one you measured.",
        key=option,
    )


def _problem(problem: str, text: str, accepted: str, option: str) -> Problem:
    mend = "Print a page, set the printer to 100 % (not to fit the page), and measure the 100 mm bar between the "
    return Problem(problem, text, accepted, mend + "middles of its end lines.", key=option)


def _box(at: Callable[[float, float], XY], near: float, far: float, *, fill: Literal["none", "ink"]) -> Polyline:
    corners = (at(near, 0.0), at(far, 0.0), at(far, _WIDE_MM), at(near, _WIDE_MM))
    return Polyline(corners, True, fill, layer="template_inner")
