"""How numbers stand on a page: value, unit, stacked fractions, and what it was before it moved."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final, Literal

from markupsafe import Markup, escape

from carwright.draw.arithmetic import UNIT_WORDS
from carwright.lengths import number_in
from carwright.web.words import on_page
from carwright.working import Working

__all__ = ["NOTHING_LEFT", "NO_MARGIN", "Units", "margin_text", "mended", "stacked", "unit_word", "value_text"]

Units = Literal["in", "mm"]

NO_MARGIN: Final = "none"
NOTHING_LEFT: Final = 1e-6
"""A margin no larger than this, in its own unit, is none: lengths are exact to a millionth of a millimetre."""

_SQUARE_INCH_MM2: Final = 25.4**2
"""International inch of 25.4 mm exactly, by definition."""

_SIGNS: Final = "+\u2212"
_WAY: Final = re.compile(r"\bway (\d+) of the ways to stand")
_FRACTION: Final = re.compile(r"(?<![\w/.])(?:(\d{1,3}) )?(\d{1,3})/(\d{1,3})(?![\w/])")


@lru_cache(maxsize=1 << 12)
def stacked(text: str) -> Markup:
    """Return words as they stand on the page: a fraction is stacked, and is still ``1 5/32`` when it is copied."""
    return Markup(_FRACTION.sub(_stack, str(escape(on_page(text)))))  # noqa: S704 - escaped before the fractions are stacked


@lru_cache(maxsize=1 << 8)
def mended(text: str) -> Markup:
    """Return how to mend something, as ``stacked`` has it; a way to stand that it names leads to that way."""
    return Markup(_WAY.sub(r'<a href="#way-\1">way \1 of the ways to stand</a>', str(stacked(text))))  # noqa: S704 - escaped


def _stack(found: re.Match[str]) -> str:
    whole, above, below = found.groups()
    lead = f'{whole}<span class="sp"> </span>' if whole else ""
    figures = f'<span class="fr" data-n="{above}" data-d="{below}"><span>{above}/{below}</span></span>'
    return f'<span class="n">{lead}{figures}</span>'


def unit_word(unit: str, units: Units) -> str:
    """Return a unit as it is written: the reader's for a length or an area, ``°`` for degrees."""
    if unit == "mm2" and units == "in":
        return "in²"
    return units if unit == "mm" else UNIT_WORDS.get(unit, unit)


def value_text(working: Working | None, units: Units, *, signed: bool = False) -> str:
    """Return a number without its unit, in the reader's; "?" where it is not known."""
    if working is None:
        return "?"
    if working.unit == "mm":
        text = number_in(working.value, units, signed=signed)
    elif working.unit == "mm2" and units == "in":
        area = working.value / _SQUARE_INCH_MM2
        text = f"{area:+.3f}" if signed else f"{area:.3f}"
    elif working.unit in ("count", "year"):
        text = f"{working.value:+.0f}" if signed else f"{working.value:.0f}"
    else:
        places = {"deg": 1, "g": 1, "mm2": 0, "mm3": 0}.get(working.unit, 2)
        text = f"{working.value:+.{places}f}" if signed else f"{working.value:.{places}f}"
    return text.replace("-", "\u2212")


def margin_text(margin: Working | None, units: Units) -> str:
    """Return how far a finding is inside (+) or outside (-) its limit, with the sign only where it is outside.

    One that is too small to be written is told as less than the least that could be.
    """
    if margin is None:
        return ""
    if abs(margin.value) <= NOTHING_LEFT:
        return NO_MARGIN
    text = value_text(margin, units)
    return text if re.search("[1-9]", text) else f"<{text.lstrip(_SIGNS)[:-1]}1"
