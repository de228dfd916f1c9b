"""Grades, rolling resistance and pulls as people write them: "2.5%", "1:40", "1.2 N", "120 g", "4 oz"."""

from __future__ import annotations

import re
from typing import Final

from carwright.lengths import parse_mass
from carwright.problems import InputError, Problem
from carwright.reference import practice_value
from carwright.working import Working, typed

__all__ = ["grade_of", "percent_of", "pull_of"]

_NUMBER: Final = r"(\d+(?:[.,]\d+)?|[.,]\d+)"
_PERCENT: Final = re.compile(rf"([-+]?)\s*{_NUMBER}\s*(?:%|percent|per cent)?\Z", re.IGNORECASE)
_RATIO: Final = re.compile(rf"([-+]?)\s*{_NUMBER}\s*(?:in|:|/)\s*{_NUMBER}\Z", re.IGNORECASE)
_NEWTON: Final = re.compile(rf"([-+]?)\s*{_NUMBER}\s*(?:n|newtons?)?\Z", re.IGNORECASE)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def percent_of(
    text: str | int | float,
    name: str,
    *,
    low: float,
    high: float,
    reason: str,
    key: str,
    line: int | None = None,
    shares: bool = False,
) -> Working:
    """Return what a text says in percent: "2.5 %", "2.5", "1:40", "1 in 40".

    Args:
        text: as typed.
        name: what it is, in words.
        low: least accepted, percent.
        high: greatest accepted, percent.
        reason: why that range, one sentence.
        key: of the leaf and of a problem.
        line: of the file.
        shares: whether a bare number too small for a percentage is a share of one: 0.02 for 2 %.

    Raises:
        InputError: it is none of these, or outside the range.
    """
    plain = str(text).strip()
    share, ratio = _PERCENT.match(plain), _RATIO.match(plain)
    value: float | None = None
    if share is not None:
        value = _number(share[2]) * (-1.0 if share[1] == "-" else 1.0)
    elif ratio is not None and _number(ratio[3]) > 0.0:
        value = 100.0 * _number(ratio[2]) / _number(ratio[3]) * (-1.0 if ratio[1] == "-" else 1.0)
    if value is None:
        raise InputError(
            Problem(f"this is not a {name}", plain[:80], 'percent: "2.5 %" or "1:40"', "", key=key, line=line)
        )
    if shares and ratio is None and plain[-1].isdigit() and 0.0 < value < low <= 100.0 * value <= high:
        value *= 100.0
    if not low <= value <= high:
        mend = reason
        if value > high and low <= value / 100.0 <= high:
            mend += f' Did you mean "{value / 100.0:g} %"?'
        elif 0.0 < value < low and low <= 100.0 * value <= high:
            mend += f' Did you mean "{100.0 * value:g} %"?'
        size = "steep" if "grade" in name else "great"
        said = f"too {size}" if value > high else "less than nothing" if value < 0.0 else "too small"
        raise InputError(
            Problem(f"the {name} is {said}", plain[:80], f"{low:g} to {high:g} %", mend, key=key, line=line)
        )
    return typed(value, name, "percent", key=key, text=plain, line=line)


def grade_of(text: str, *, key: str = "--grade") -> Working:
    """Return an upward grade, percent; 0 is level.

    Raises:
        InputError: it is not a grade, or steeper than wheels that only adhere can haul a train up.
    """
    steepest = practice_value("grade_steepest")
    reason = f"Wheels that only adhere do not haul a train up more than {steepest.value:g} %."
    if text.strip().startswith("-"):
        reason = "Downhill a train pushes; give the grade upward, or 0."
    return percent_of(text, "grade", low=0.0, high=steepest.value, reason=reason, key=key)


def pull_of(text: str | int | float, name: str, *, high_n: float, key: str, line: int | None = None) -> Working:
    """Return a pull in newtons: "1.2 N" or 1.2, or the reading of a spring balance: "120 g", "4 oz".

    Args:
        text: as typed; a bare number is newtons.
        name: what it is, in words.
        high_n: greatest accepted, N.
        key: of the leaf and of a problem.
        line: of the file.

    Raises:
        InputError: it is none of these, not more than nothing, or too great.
    """
    plain = str(text).strip()
    newtons = _NEWTON.match(plain)
    accepted = f"over 0 to {high_n:.3g} N"
    if newtons is not None:
        value = _number(newtons[2]) * (-1.0 if newtons[1] == "-" else 1.0)
    else:
        try:
            mass = parse_mass(plain, allow_negative=True).value
        except InputError:
            raise InputError(
                Problem(f"this is not a {name}", plain[:80], '"1.2 N", "120 g" or "4 oz"', "", key=key, line=line)
            ) from None
        value = mass / 1000.0 * practice_value("standard_gravity").value
    if not 0.0 < value <= high_n:
        mend = "Pull it at the coupler with a spring balance until its wheels slip."
        grams = value / 1000.0 * practice_value("standard_gravity").value
        if newtons is not None and 0.0 < grams <= high_n:
            mend = f'A bare number is newtons; if the balance shows grams, write "{plain} g".'
        raise InputError(
            Problem(
                f"the {name} is too {'great' if value > 0 else 'small'}", plain[:80], accepted, mend, key=key, line=line
            )
        )
    return typed(value, name, "n", key=key, text=plain, line=line)
