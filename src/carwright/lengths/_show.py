"""Millimetres to text, in the reader's style and with no more digits than the measurement supports."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from carwright.problems import InputError, Problem

Style = Literal["fraction", "inch", "mm", "scale"]
"""Fraction to 1/64 with the remainder in thousandths; decimal inches; millimetres; the prototype's size."""

_INCH_MM: Final = 25.4
_INCH_PLACES: Final = 3
_MM_PLACES: Final = 2
_FINEST_INCH_PLACES: Final = 4
_FINEST_MM_PLACES: Final = 3
_EXACT_PLACES: Final = 6
_LAST_PLACES: Final = 9
_EXACTLY: Final = 1e-10


@dataclass(frozen=True, slots=True)
class Nearest:
    """The nearest size of some series.

    Args:
        text: that size as it is written.
        error_mm: that size less the length asked for; above it is positive.
    """

    text: str
    error_mm: float


def number_in(mm: float, units: Literal["in", "mm"], *, signed: bool = False, tolerance_mm: float | None = None) -> str:
    """Return ``mm`` as a bare number in ``units``: three decimals of an inch, two of a millimetre.

    Args:
        mm: length, finite.
        units: "in" or "mm".
        signed: put a plus sign before what is above zero.
        tolerance_mm: ± of the measurement; the last digit shown stands in the place of its first digit, at finest
            0.0001 in or 0.001 mm. None or 0 leaves the usual digits.
    """
    value, usual, finest, tolerance = (
        (mm / _INCH_MM, _INCH_PLACES, _FINEST_INCH_PLACES, (tolerance_mm or 0.0) / _INCH_MM)
        if units == "in"
        else (mm, _MM_PLACES, _FINEST_MM_PLACES, tolerance_mm or 0.0)
    )
    return _fixed(value, _places(tolerance, usual, finest), signed=signed)


def show_in(mm: float, units: Literal["in", "mm"], *, signed: bool = False, tolerance_mm: float | None = None) -> str:
    """Return ``mm`` as it stands in a sentence, ``0.278 in`` or ``7.06 mm``; arguments as for ``number_in``.

    Example:
        >>> show_in(7.0612, "in"), show_in(-0.0762, "in", signed=True), show_in(7.0612, "mm")
        ('0.278 in', '-0.003 in', '7.06 mm')
    """
    return f"{number_in(mm, units, signed=signed, tolerance_mm=tolerance_mm)} {units}"


def exact_in(mm: float, units: Literal["in", "mm"]) -> str:
    """Return ``mm`` with its unit and as many decimals as say it exactly, in the other unit where that needs far fewer.

    Example:
        >>> exact_in(0.254, "in"), exact_in(0.00635, "in"), exact_in(1.5, "in")
        ('0.010 in', '0.00025 in', '1.50 mm')
    """
    other: Literal["in", "mm"] = "mm" if units == "in" else "in"
    for unit, most in ((units, _EXACT_PLACES), (other, _EXACT_PLACES), (units, _LAST_PLACES)):
        value, usual = (mm / _INCH_MM, _INCH_PLACES) if unit == "in" else (mm, _MM_PLACES)
        for places in range(usual, most + 1):
            text = _fixed(value, places, signed=False)
            if abs(float(text) - value) < _EXACTLY:
                return f"{text} {unit}"
    return f"{_fixed(mm / _INCH_MM if units == 'in' else mm, _LAST_PLACES, signed=False)} {units}"


def show(
    mm: float,
    style: Style,
    *,
    ratio: float | None = None,
    tolerance_mm: float | None = None,
    signed: bool = False,
    units: Literal["in", "mm"] = "in",
) -> str:
    r"""Return ``mm`` in one style; ``parse_length`` reads each of them back.

    Args:
        mm: length at model size, finite.
        style: see ``Style``.
        ratio: prototype over model, > 0; needed by "scale" only.
        tolerance_mm: ± of the measurement, which bounds the digits; None or 0 leaves the usual ones.
        signed: put a plus sign before what is above zero.
        units: for "scale" only: "in" gives feet and inches, "mm" gives metres.

    Raises:
        InputError: a scale size is asked for without a ratio.

    Example:
        >>> show(34.2138, "fraction"), show(141.6, "scale", ratio=87.1)
        ('1 11/32 in + 0.003', '40\' 5.6" scale')
    """
    if style == "inch":
        return show_in(mm, "in", signed=signed, tolerance_mm=tolerance_mm)
    if style == "mm":
        return show_in(mm, "mm", signed=signed, tolerance_mm=tolerance_mm)
    if style == "fraction":
        return _fraction(mm, tolerance_mm or 0.0, signed=signed)
    if ratio is None or not ratio > 0:
        raise InputError(Problem("no scale is known here, so a scale length cannot be shown", mend="Name the scale."))
    if units == "mm":
        metres = mm * ratio / 1000
        return f"{_fixed(metres, _places((tolerance_mm or 0.0) * ratio / 1000, 2, 2), signed=signed)} m scale"
    return _feet(mm * ratio / _INCH_MM, (tolerance_mm or 0.0) * ratio / _INCH_MM, signed=signed)


def nearest_fraction(mm: float, denominator: int = 64) -> Nearest:
    """Return the nearest fraction of an inch with that denominator, in lowest terms, and its error.

    Args:
        mm: length, finite.
        denominator: parts of an inch, >= 1.

    Example:
        >>> nearest_fraction(9.9314).text
        '25/64 in'
    """
    parts = round(mm / _INCH_MM * denominator)
    return Nearest(f"{_mixed(parts, denominator)} in", parts * _INCH_MM / denominator - mm)


def nearest_of(mm: float, sizes_mm: Sequence[float], units: Literal["in", "mm"]) -> Nearest:
    """Return the nearest of some sizes, the smaller of two equally near, as ``show_in`` writes it.

    Args:
        mm: length, finite.
        sizes_mm: at least one size.
        units: "in" or "mm".

    Example:
        >>> nearest_of(1.16, (0.762, 1.016, 1.524), "in").text
        '0.040 in'
    """
    size = min(sizes_mm, key=lambda each: (abs(each - mm), each))
    return Nearest(show_in(size, units), size - mm)


def thousandths(mm: float) -> str:
    """Return an error of ``mm`` in thousandths of an inch, signed, to a tenth: ``-0.4``."""
    return _fixed(mm / _INCH_MM * 1000, 1, signed=True)


def scale_inches(mm: float, ratio: float) -> str:
    """Return an error of ``mm`` at model size in inches of the prototype, signed, to a hundredth: ``-0.03``."""
    return _fixed(mm / _INCH_MM * ratio, 2, signed=True)


def _places(tolerance: float, usual: int, finest: int) -> int:
    if tolerance <= 0:
        return usual
    # The allowance keeps 0.001 in, which is a rounded 0.0254 mm over 25.4, from falling into the next decade.
    return min(finest, max(0, -math.floor(math.log10(tolerance) + 1e-9)))


def _fixed(value: float, places: int, *, signed: bool) -> str:
    text = f"{value:.{places}f}"
    if float(text) == 0.0:
        return text.lstrip("-")
    return f"+{text}" if signed and value > 0 else text


def _mixed(parts: int, denominator: int) -> str:
    sign = "-" if parts < 0 else ""
    whole, rest = divmod(abs(parts), denominator)
    if rest == 0:
        return f"{sign}{whole}"
    common = math.gcd(rest, denominator)
    fraction = f"{rest // common}/{denominator // common}"
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"


def _fraction(mm: float, tolerance_mm: float, *, signed: bool) -> str:
    tolerance = tolerance_mm / _INCH_MM
    denominator = 64
    while denominator > 1 and tolerance >= 1 / denominator - 1e-9:  # half of the next step is still within the ±
        denominator //= 2
    parts = round(mm / _INCH_MM * denominator)
    text = f"{_mixed(parts, denominator)} in"
    if signed and parts > 0:
        text = f"+{text}"
    if tolerance >= 0.5 / 64 - 1e-9:
        return text
    rest = _fixed(mm / _INCH_MM - parts / denominator, _places(tolerance, _INCH_PLACES, _INCH_PLACES), signed=False)
    if float(rest) == 0.0:
        return text
    return f"{text} - {rest[1:]}" if rest.startswith("-") else f"{text} + {rest}"


def _feet(inches: float, tolerance: float, *, signed: bool) -> str:
    steps = 10 if _places(tolerance, 1, 1) else 1
    count = round(abs(inches) * steps)
    feet, rest = divmod(count, 12 * steps)
    sign = "" if count == 0 else "-" if inches < 0 else "+" if signed else ""
    whole, part = divmod(rest, steps)
    small = f'{whole}.{part}"' if part else f'{whole}"'
    return f"{sign}{feet}' {small} scale" if feet else f"{sign}{small} scale"
