"""Masses, angles and counts as people write them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from carwright.lengths._grammar import Refusal, as_typed, plain, read_amount, split_sign, split_tolerance
from carwright.problems import InputError, Problem
from carwright.working import Distribution

_MASS_UNITS: Final[Mapping[str, str]] = {
    **dict.fromkeys(("g", "gr", "gram", "grams", "gramme", "grammes"), "g"),
    **dict.fromkeys(("kg", "kilogram", "kilograms", "kilo", "kilos"), "kg"),
    **dict.fromkeys(("oz", "ounce", "ounces"), "oz"),
}
_GRAMS: Final[Mapping[str, Fraction]] = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "oz": Fraction(28349523125, 10**9),
}
"""Grams in a unit; 1 oz = 28.349523125 g exactly (the international avoirdupois ounce)."""

_ANGLE_UNITS: Final[Mapping[str, str]] = dict.fromkeys(("deg", "degree", "degrees", "°"), "deg")
_DEGREES: Final[Mapping[str, Fraction]] = {"deg": Fraction(1)}

_LOAD_UNITS: Final[Mapping[str, str]] = {
    **dict.fromkeys(("lb", "lbs", "pound", "pounds", "#"), "lb"),
    **dict.fromkeys(("ton", "tons", "short ton", "short tons"), "tons"),
    **dict.fromkeys(("t", "tonne", "tonnes", "metric ton", "metric tons"), "t"),
    **dict.fromkeys(("kg", "kilogram", "kilograms"), "kg"),
}
_TONS: Final[Mapping[str, Fraction]] = {
    "lb": Fraction(1, 2000),
    "tons": Fraction(1),
    "t": Fraction(10**8, 90718474),
    "kg": Fraction(10**5, 90718474),
}
"""Short tons in a unit: 2000 lb to the ton, 1 lb = 0.45359237 kg exactly (the international avoirdupois pound)."""

_LOAD: Final = 'a load such as 40, "40 tons" or "80000 lb"'

_LARGEST: Final = 10**9
"""No mass in grams, no angle and no count on a bench is larger."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A mass or an angle as it was read.

    Args:
        value: in ``unit``; with an uneven tolerance, the middle of its range.
        unit: "g" or "deg".
        text: as typed.
        tolerance: half-width ±, in ``unit``; 0 where nominal.
        distribution: shape of that doubt.
        tolerance_from: "typed" behind the value, "text" (its last place), or "nominal".
    """

    value: float
    unit: str
    text: str
    tolerance: float
    distribution: Distribution
    tolerance_from: Literal["typed", "text", "nominal"]


def parse_mass(text: str | int | float, *, allow_negative: bool = False, name: str = "") -> Quantity:
    """Return the mass that ``text`` says, in grams: ``14 g``, ``0.5 oz``, ``0.12 kg``; a bare number is grams.

    A ± may follow as behind a length. Without one, decimals are good to one unit of the last place typed, fractions to
    half of 1/64 of their unit, and whole numbers are nominal.

    Raises:
        InputError: the text cannot be used.

    Example:
        >>> parse_mass("2 oz").value
        56.69904625
    """
    return _parse(
        text, "g", "mass", _MASS_UNITS, _GRAMS, "a mass such as 14 g, 0.5 oz or 0.12 kg", allow_negative, name
    )


def show_mass(grams: float, units: Literal["in", "mm"]) -> str:
    """Return a mass as the bench weighs it, beside it ounces where the car is an inch car.

    Example:
        >>> show_mass(53.71, "in"), show_mass(53.71, "mm")
        ('53.7 g (1.89 oz)', '53.7 g')
    """
    return f"{grams:.1f} g" + (f" ({grams / float(_GRAMS['oz']):.2f} oz)" if units == "in" else "")


def parse_angle(text: str | int | float, *, allow_negative: bool = False, name: str = "") -> Quantity:
    """Return the angle that ``text`` says, in degrees: ``15``, ``15 deg``, ``15°``, ``7 1/2``; its ± as for a mass.

    Raises:
        InputError: the text cannot be used.
    """
    return _parse(
        text, "deg", "angle", _ANGLE_UNITS, _DEGREES, "an angle in degrees such as 15 or 7.5 deg", allow_negative, name
    )


def parse_count(text: str | int | float, *, name: str = "") -> int:
    """Return the whole number, 0 or more, that ``text`` says.

    Raises:
        InputError: it is not a whole number, is negative, or is over 1 000 000 000.
    """
    typed = str(text)
    try:
        typed = as_typed(text, what="count")
        body = plain(typed, what="count")
        sign, digits = split_sign(body)
        amount = read_amount(digits, {"": ""}) if digits else None
        if amount is None:
            raise Refusal("this is not a whole number", 'Write for example "2".')
        if amount.kind != "whole":
            raise Refusal("a count must be whole", f'Did you mean "{round(amount.exact)}"?')
        if sign < 0 and amount.numerator:
            raise Refusal("a count cannot be negative", "Count again; 0 is the least.")
        if amount.numerator > _LARGEST:
            raise Refusal("this count is too large", "Check the number of digits.")
    except Refusal as refusal:
        raise _input_error(refusal, typed, "a whole number such as 2", name) from None
    return amount.numerator


def parse_load(text: str | int | float, *, name: str = "") -> float:
    """Return the load that a car carried, in tons of 2000 lb: ``40``, ``40 tons``, ``80,000 lb``, ``36 t`` (metric).

    Raises:
        InputError: the text cannot be used.

    Example:
        >>> parse_load("80,000 lb"), parse_load(40), round(parse_load("36.3 t"), 1)
        (40.0, 40.0, 40.0)
    """
    typed = str(text)
    try:
        body = plain(as_typed(text, what="load"), what="load")
        body = re.sub(r"(?<=\d)[, ](?=\d{3}(?!\d))", "", body)
        found = re.fullmatch(r"([0-9.,/ -]*[0-9.])\s*([a-z# ]*)\.?", body)
        unit = _LOAD_UNITS.get(" ".join(found[2].split())) if found is not None and found[2] else "tons"
        if found is None or unit is None:
            raise Refusal("this is not a load")
        amount = read_amount(found[1], {})
        if amount is None:
            raise Refusal("this is not a load")
    except Refusal as refusal:
        refusal.mend = refusal.mend or 'Write for example "40 tons" or "80000 lb".'
        raise _input_error(refusal, typed, _LOAD, name) from None
    return float(amount.exact * _TONS[unit])


def _parse(
    text: str | int | float,
    unit: str,
    what: str,
    spellings: Mapping[str, str],
    factors: Mapping[str, Fraction],
    accepted: str,
    allow_negative: bool,
    name: str,
) -> Quantity:
    typed = str(text)
    try:
        typed = as_typed(text, what=what)
        body, spread = split_tolerance(plain(typed, what=what))
        sign, body = split_sign(body)
        amount = read_amount(body, spellings)
        if amount is None:
            raise Refusal(f"this is not {'an' if what == 'angle' else 'a'} {what}")
        factor = factors[amount.unit or unit]
        value = sign * amount.exact * factor
        half = Fraction(0)
        shape: Distribution = "nominal"
        source: Literal["typed", "text", "nominal"] = "nominal"
        if spread is not None:
            parts = []
            for part in (spread.plus, spread.minus):
                other = read_amount(part, spellings)
                if other is None:
                    raise Refusal(f"what stands behind the ± is not {'an' if what == 'angle' else 'a'} {what}")
                if other.unit and not amount.unit and other.unit != unit:
                    raise Refusal(
                        f"the ± is in {other.unit} and the value before it has no unit", "Write the unit behind both."
                    )
                parts.append(other.exact * (factors[other.unit] if other.unit else factor))
            half, value = (parts[0] + parts[1]) / 2, value + (parts[0] - parts[1]) / 2
            shape, source = ((spread.shape or "normal") if half else "nominal"), "typed"
        elif amount.kind == "decimal":
            half, shape, source = factor / 10**amount.places, "rect", "text"
        elif amount.kind == "fraction":
            half, shape, source = factor / 128, "rect", "text"
        if value < 0 and not allow_negative:
            raise Refusal(
                f"{'an' if what == 'angle' else 'a'} {what} here cannot be negative", "Write it without the minus sign."
            )
        if abs(value) > _LARGEST:
            raise Refusal(f"this {what} is too large", "Check the unit and the number of digits.")
    except Refusal as refusal:
        example = "14 g" if unit == "g" else "15 deg"
        refusal.mend = refusal.mend or f'Write for example "{example}".'
        raise _input_error(refusal, typed, accepted, name) from None
    return Quantity(float(value), unit, typed, float(half), shape, source)


def _input_error(refusal: Refusal, typed: str, accepted: str, name: str) -> InputError:
    value = typed if len(typed) <= 80 else typed[:60] + "…"
    return InputError(Problem(refusal.problem, value, accepted, refusal.mend, key=name))
