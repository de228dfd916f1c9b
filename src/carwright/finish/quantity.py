"""How much wet paint a surface takes: area, film, solids and what goes past it; and how many bottles that is.

A litre of paint with ``v`` percent of solids covers ``v * 10 / d`` square metres with a dry film of ``d`` micrometres
(the theoretical spreading rate of the paint trade); spraying divides that by what arrives.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from carwright.problems import InputError, Problem
from carwright.reference.coverage import Range
from carwright.working import Working, derive, typed

__all__ = ["Needed", "bottles", "needed", "spreading_rate", "volume_of"]

_SOURCE: Final = "theoretical spreading rate, paint trade pages: solids in percent × 10 / dry film in µm"
_ML: Final = {"ml": 1.0, "cl": 10.0, "l": 1000.0, "floz": 29.5735295625, "oz": 29.5735295625}
"""Millilitres in a unit; a fluid ounce is that of the United States, 1/128 of a gallon of 231 cubic inches."""
_VOLUME: Final = re.compile(r"(\d+(?:[.,]\d+)?|[.,]\d+)\s*(ml|cl|l|fl\.?\s*oz|oz)\.?\Z", re.IGNORECASE)
_MOST_ML: Final = 5000.0


@dataclass(frozen=True, slots=True)
class Needed:
    """Paint for all coats of one layer.

    Args:
        rate: square metres that a litre covers with one coat, nothing lost; with the middle of what is customary.
        likely: wet paint with the middle of film, solids and loss, ml.
        most: the same with the thickest film, the least solids and the greatest loss, ml.
    """

    rate: Working
    likely: Working
    most: Working


def spreading_rate(share: Working, film: Working) -> Working:
    """Return how much a litre covers when nothing is lost, m2.

    Args:
        share: volume solids, percent.
        film: of one coat when dry, um.
    """
    return derive("what a litre covers, nothing lost", "v*10/d", "m2_per_l", source=_SOURCE, v=share, d=film)


def needed(area: Working, film: Range, share: Range | Working, loss: Range, *, name: str) -> Needed:
    """Return the wet paint for an area.

    Args:
        area: of all coats together, mm2.
        film: of one coat when dry, um.
        share: volume solids, percent; a single working where the owner knows them.
        loss: what goes past, percent.
        name: of the paint.
    """
    middle = share if isinstance(share, Working) else _middle(share)
    least = share if isinstance(share, Working) else share.low
    rate = spreading_rate(middle, _middle(film))
    likely = _wet(f"{name} needed", area, rate, _middle(loss))
    most = _wet(f"{name} needed at most", area, spreading_rate(least, film.high), loss.high)
    return Needed(rate, likely, most)


def _middle(found: Range) -> Working:
    name = found.low.name.removesuffix(", least")
    return derive(name, "(a + b)/2", found.low.unit, note="the middle of what is usual", a=found.low, b=found.high)


def _wet(name: str, area: Working, rate: Working, loss: Working) -> Working:
    return derive(name, "S/c/(1 - l/100)/1000", "ml", S=area, c=rate, l=loss)


def bottles(most: Working, contents: Working, left: Working | None, *, name: str) -> Working:
    """Return how many bottles or cans are to be bought so that the most that may be needed is there, 0 or more.

    Args:
        most: that is needed, ml.
        contents: of one, ml; over 0.
        left: what the owner has, ml.
        name: of the paint.
    """
    words = f"bottles of {name} to buy"
    if left is None:
        return derive(words, "-floor(-m/b)", "count", note="whole ones", m=most, b=contents)
    return derive(words, "max(0, -floor(-(m - h)/b))", "count", note="whole ones", m=most, h=left, b=contents)


def volume_of(text: str, name: str, *, key: str, file: str = "", empty: bool = False) -> Working:
    """Return a volume of paint as people write it, ml: "17 ml", "400 ml", "3 fl oz"; ``empty`` takes nothing as well.

    Raises:
        InputError: it is no volume, has no unit, or is none that paint is sold in.
    """
    plain = text.strip()
    found = _VOLUME.match(plain)
    if found is None:
        raise InputError(
            Problem("this is no volume", plain[:80], "17 ml, 0.4 l, 3 fl oz", "Give it with its unit.", key, file)
        )
    value = float(found[1].replace(",", ".")) * _ML[re.sub(r"[\s.]", "", found[2].lower())]
    if not (0.0 < value <= _MOST_ML or (empty and value == 0.0)):
        told = "no bottle holds that much" if value else "a bottle holds more than nothing"
        raise InputError(Problem(told, plain[:80], "over 0 to 5 l", "", key, file))
    return typed(value, name, "ml", key=key, text=plain)
