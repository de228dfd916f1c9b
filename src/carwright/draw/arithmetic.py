"""Working as it stands on paper: arithmetic in the signs of the trade, numbers with as many digits as add up."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from carwright.draw.labels import chance_said, is_chance
from carwright.lengths import number_in
from carwright.working import Working

__all__ = ["BASIS_WORDS", "UNIT_WORDS", "digits", "inches", "on_paper", "put_in", "value_said"]

BASIS_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {"seen": "read", "memory": "from memory", "practice": "common practice", "derived": "worked out"}
)
"""How a reference value is known, in words."""

UNIT_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {"deg": "°", "mm2": "mm²", "um": "µm", "m2_per_l": "m²/l", "n": "N", "count": "", "ratio": "", "year": ""}
)
"""Units of workings that are written otherwise than they are named."""

_SYMBOL: Final = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


def on_paper(formula: str) -> str:
    """Return program arithmetic as it is written on paper: times signs, squares, no brackets round a single thing."""
    text = formula.replace("**2", "²").replace("**3", "³").replace("*", "×")
    text = re.sub(r"\s*×\s*", " × ", text)
    text = re.sub(r"\(\(([^()]*)\)\)", r"(\1)", text)
    text = re.sub(r"(?<![A-Za-z0-9_])\(([A-Za-z0-9_.]+)\)", r"\1", text)
    return re.sub(r"^\(([^()]*)\)$", r"\1", text)


def digits(value: float) -> str:
    """Return a number to four decimals, below one to four figures, without idle zeros: enough to add up on paper."""
    if abs(value) < 1e-9:
        return "0"
    if not 5e-5 <= abs(value) < 1e15:
        return f"{value:.4g}"
    places = 4 if abs(value) >= 1 else 3 - math.floor(math.log10(abs(value)))
    return f"{value:.{places}f}".rstrip("0").rstrip(".")


def inches(mm: float) -> str:
    """Return a length in inches with its unit, to a ten-thousandth."""
    return f"{number_in(mm, 'in', tolerance_mm=0.001)} in"


def value_said(working: Working, units: Literal["in", "mm"]) -> str:
    """Return a value with its unit; a length in mm and, where that is another, in the reader's unit."""
    if working.unit == "mm":
        own = f" = {inches(working.value)}" if units == "in" else ""
        return f"{digits(working.value)} mm{own}"
    if is_chance(working):
        return chance_said(working)
    unit = UNIT_WORDS.get(working.unit, working.unit)
    return f"{digits(working.value)}{'' if unit == '°' else ' '}{unit}".rstrip()


def put_in(working: Working) -> str:
    """Return the formula with the numbers in place of its symbols, negative ones in brackets."""

    def number(found: re.Match[str]) -> str:
        each = working.inputs.get(found.group())
        if each is None:
            return found.group()
        text = digits(each.value)
        return f"({text})" if text.startswith("-") else text

    return on_paper(_SYMBOL.sub(number, working.formula))
