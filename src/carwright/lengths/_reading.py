"""A length as people write it, with its tolerance, to millimetres at model size."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal, Protocol

from carwright.lengths._grammar import (
    LENGTH_TOL_MM,
    LONGEST_MM,
    Amount,
    Refusal,
    Spread,
    as_typed,
    plain,
    read_amount,
    split_sign,
    split_tolerance,
)
from carwright.lengths._show import show_in
from carwright.problems import InputError, Problem
from carwright.records import quickly_made
from carwright.working import Distribution, Working

Units = Literal["in", "mm"]
"""What a bare number is in."""

Taken = Literal["outside", "depth", "inside", "height", "rule", "nominal"]
"""How a reading is taken; it decides the instrument's ±."""

ToleranceFrom = Literal["typed", "text", "instrument", "nominal"]
"""Where a reading's ± comes from: typed behind it, its last place, its instrument; or there is none."""

UNITS: Final[Mapping[str, str]] = {
    '"': "in",
    "in": "in",
    "inch": "in",
    "inches": "in",
    "mm": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "thou": "thou",
    "thous": "thou",
    "thousandth": "thou",
    "thousandths": "thou",
    "cm": "cm",
    "centimetre": "cm",
    "centimetres": "cm",
    "centimeter": "cm",
    "centimeters": "cm",
    "m": "m",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "'": "ft",
    "ft": "ft",
    "foot": "ft",
    "feet": "ft",
}
"""Spelling to unit."""

_MM: Final[Mapping[str, tuple[int, int]]] = {
    "in": (127, 5),
    "mm": (1, 1),
    "thou": (127, 5000),
    "cm": (10, 1),
    "m": (1000, 1),
    "ft": (1524, 5),
}
"""Millimetres in a unit, exactly: 1 in = 25.4 mm by definition."""

ACCEPTED: Final = "a length such as 1-11/32, 0.284 in, 12.7 mm, 30 thou, #61 or 40' 6\" scale"
"""What every refusal says would have been accepted."""

_SIXTY_FOURTH_MM: Final = 25.4 / 64
_FEET_INCHES = re.compile(r"(.+?(?:'|ft\.?|feet|foot)) *-? *([0-9.,].*)")
_SCALE = re.compile(r"\bscale\b")
_INSTRUMENT = re.compile(r" *\b(ruler?|calipers?)$")
_REMAINDER = re.compile(r"(.+?) +([+-]) +([0-9]*\.[0-9]+)")
_DRILL = re.compile(r"(?:#|no\.?) *([0-9]{1,3})(?: *drill)?|letter ([a-z])(?: drill)?|([a-z]) drill")


_GROUPED = re.compile(r"([0-9]{1,3}(?:,[0-9]{3})+(?=\.)|[0-9]{1,3}(?:\.[0-9]{3})+(?=,))[.,]([0-9]+)")


class NamedDrill(Protocol):
    """What is wanted of a drill found by name."""

    @property
    def diameter(self) -> Working:
        """Return its diameter, in mm."""
        ...


@quickly_made
@dataclass(frozen=True, slots=True)
class Reading:
    """A length as it was read.

    Args:
        mm: the length at model size; with an uneven tolerance, the middle of its range.
        text: as typed.
        tolerance_mm: half-width ±; 0 for a nominal size.
        distribution: shape of that doubt; "nominal" where there is none.
        instrument: "outside", "depth", "inside", "height" or "rule" for what was measured (also where the last place
            typed is coarser than the instrument), "typed" where a ± was typed, "nominal" where nothing was measured.
        tolerance_from: which of these gave ``tolerance_mm``.
        exact: the length in mm, exactly.
        resolution_mm: one unit of the last place typed (1/64 in for a fraction), or None for a whole number or a name.
        unit_typed: "in", "mm", "thou", "cm", "m", "ft" (with inches or without), "drill"; with " scale" behind it for
            a size of the prototype. A bare number has the unit it was taken in.
    """

    mm: float
    text: str
    tolerance_mm: float
    distribution: Distribution
    instrument: str
    tolerance_from: ToleranceFrom
    exact: Fraction
    resolution_mm: float | None
    unit_typed: str


@dataclass(frozen=True, slots=True)
class _Context:
    units: Units
    ratio: float | None
    taken: Taken
    measured_with: str
    drill: Callable[[str], NamedDrill | None] | None
    instruments: Mapping[str, float] | None
    allow_negative: bool


def parse_length(
    text: str | int | float,
    *,
    units: Units = "in",
    ratio: float | None = None,
    taken: Taken = "outside",
    measured_with: str = "caliper",
    drill: Callable[[str], NamedDrill | None] | None = None,
    instruments: Mapping[str, float] | None = None,
    allow_negative: bool = False,
    name: str = "",
) -> Reading:
    """Return the length that ``text`` says, at model size, with its tolerance.

    Forms: ``1-11/32``, ``1 11/32 in``, ``23/64"``, ``.030``, ``30 thou``, ``12.7 mm``, ``1.27 cm``, ``6,35 mm``,
    ``1' 2"``, ``#61``, ``40' 6" scale``, ``33 in scale``, ``1 m scale``, ``1 11/32 in + 0.003``. Behind it may
    stand ``rule`` or ``caliper``, and behind that ``± 0.002``, ``+/- 0.002`` or ``+0.002/-0.001``, with ``rect``,
    ``normal`` or ``tri``.

    The ± is the typed one; else the larger of the instrument's and the text's last place (one unit of the last decimal,
    half of 1/64 in for any fraction). Whole numbers without a point, sizes by name and scale lengths are nominal,
    unless the text itself names an instrument: then somebody measured.

    Args:
        text: as typed; a number counts as if its shortest decimal form had been typed.
        units: unit of a bare number, and the class of the instruments.
        ratio: prototype over model (87.1), > 0; None where no scale is known: then scale lengths are refused.
        taken: how this reading is taken.
        measured_with: "caliper", or "rule", which makes every reading one by rule.
        drill: finds a drill by name ("#61"); by default, in the reference data.
        instruments: half-width ± in mm for each way of taking; by default, from the reference data.
        allow_negative: accept a length below zero (positions, offsets).
        name: the key or option that is read, for the refusal.

    Raises:
        InputError: the text cannot be used; its problem names what is accepted and the nearest text that would be.

    Notes:
        A bare ± takes the unit of its value. Behind a size by name or a scale length it is at model size,
        in ``units``.

    Example:
        >>> parse_length("0.284 in ± 0.002").mm
        7.2136
    """
    context = _Context(units, ratio, taken, measured_with, drill, instruments, allow_negative)
    typed = str(text)
    try:
        typed = as_typed(text, what="length")
        return _read(typed, context) if instruments is not None else _read_again(typed, context)
    except Refusal as refusal:
        mend = refusal.mend or _nearest(typed, context)
        value = typed if len(typed) <= 80 else typed[:60] + "…"
        raise InputError(Problem(refusal.problem, value, ACCEPTED, mend, key=name)) from None


@lru_cache(maxsize=1 << 12)
def _read_again(typed: str, context: _Context) -> Reading:
    """Return what ``_read`` does: whoever changes one number of a car reads all others again."""
    return _read(typed, context)


def _read(typed: str, context: _Context) -> Reading:
    body, spread = split_tolerance(plain(typed, what="length"))
    named = ""
    if body.endswith(("rule", "ruler", "caliper", "calipers")) and (found := _INSTRUMENT.search(body)):
        named, body = found[1], body[: found.start()]
    scale = False
    if "scale" in body and (found := _SCALE.search(body)):
        scale, body = True, f"{body[: found.start()].rstrip()} {body[found.end() :].lstrip()}".strip()
    sign, body = split_sign(body)
    if found := _DRILL.fullmatch(body):
        return _named_size(typed, found, spread, context)
    amount = _quantity(body, sign, context.units)
    unit = amount.unit or context.units
    if scale and not amount.unit:
        raise Refusal(
            "a scale length needs its unit", f'Write "{body} ft scale", "{body} in scale" or "{body} m scale".'
        )
    top, bottom = _MM["in" if amount.unit == "ft+in" else unit]
    numerator, denominator = sign * amount.numerator * top, amount.denominator * bottom
    if scale:
        shrink = _ratio(context.ratio)
        numerator, denominator = numerator * shrink.denominator, denominator * shrink.numerator
    exact = Fraction(numerator, denominator)
    resolution: float | None = None
    if amount.kind == "fraction":
        resolution = _SIXTY_FOURTH_MM
    elif amount.kind == "decimal":
        resolution = top / (bottom * 10**amount.places)
    if resolution is not None and scale:
        resolution /= float(_ratio(context.ratio))
    unit_typed = "ft" if amount.unit == "ft+in" else unit
    if spread is not None:
        inherited = context.units if scale else ("in" if unit_typed == "ft" else unit)
        half, shift = _typed_spread(spread, inherited, bare=not amount.unit, units=context.units)
        exact += shift
        doubt: tuple[float, Distribution, str, ToleranceFrom] = (
            float(half),
            (spread.shape or "normal") if half else "nominal",
            "typed",
            "typed",
        )
    else:
        doubt = _doubt(amount, resolution, scale=scale, named=named, context=context)
    _check_range(exact, context)
    if scale:
        unit_typed += " scale"
    return Reading(float(exact), typed, *doubt, exact, resolution, unit_typed)


def _quantity(body: str, sign: int, units: Units) -> Amount:
    """Return the amount in ``body``, still to be multiplied by ``sign``; feet with inches are inches, unit "ft+in".

    A remainder has a sign of its own: ``-1 1/2 in + 0.003`` is -1.497 in.
    """
    if (" + " in body or " - " in body) and (found := _REMAINDER.fullmatch(body)):
        base = read_amount(found[1], UNITS)
        if base is not None and (base.unit or units) == "in":
            if base.kind == "decimal":
                raise Refusal(
                    "a remainder in thousandths stands only behind a fraction",
                    f'Write "{found[1]} ± {found[3]}" for a ±.',
                )
            rest = read_amount(found[3], {})
            if rest is not None:
                total = base.exact + rest.exact * (sign if found[2] == "+" else -sign)
                return Amount(total.numerator, total.denominator, "decimal", rest.places, base.unit)
    amount = read_amount(body, UNITS)
    if amount is not None:
        return amount
    if ("'" in body or "f" in body) and (found := _FEET_INCHES.fullmatch(body)):
        feet = read_amount(found[1], UNITS)
        inches = read_amount(found[2], UNITS)
        if feet is not None and inches is not None and feet.unit == "ft" and inches.unit in {"", "in"}:
            if feet.kind != "whole":
                raise Refusal(
                    "feet with inches behind them must be whole", "Write the whole length in feet or in inches."
                )
            if inches.numerator >= 12 * inches.denominator:
                raise Refusal("inches behind feet must be less than 12", "Carry the twelves over to the feet.")
            return Amount(
                feet.numerator * 12 * inches.denominator + inches.numerator,
                inches.denominator,
                inches.kind,
                inches.places,
                "ft+in",
            )
    raise Refusal("this is not a length")


def _typed_spread(spread: Spread, inherited: str, *, bare: bool, units: Units) -> tuple[Fraction, Fraction]:
    """Return half the width and the shift to the middle, in mm, of a typed tolerance."""
    halves = []
    for part in (spread.plus, spread.minus):
        amount = read_amount(part, UNITS)
        if amount is None:
            raise Refusal("what stands behind the ± is not a length", 'Write for example "0.284 in ± 0.002".')
        unit = amount.unit or inherited
        if bare and amount.unit and amount.unit != units and (amount.unit, units) != ("thou", "in"):
            raise Refusal(
                f"the ± is in {amount.unit} and the value before it has no unit", "Write the unit behind both."
            )
        top, bottom = _MM[unit]
        halves.append(Fraction(amount.numerator * top, amount.denominator * bottom))
        if spread.plus == spread.minus:
            return halves[0], Fraction(0)
    plus, minus = halves
    return (plus + minus) / 2, (plus - minus) / 2


def _doubt(
    amount: Amount, resolution_mm: float | None, *, scale: bool, named: str, context: _Context
) -> tuple[float, Distribution, str, ToleranceFrom]:
    taken = _instrument_name(named, context)
    if not named and (scale or amount.kind == "whole" or taken == "nominal"):
        return 0.0, "nominal", "nominal", "nominal"
    place = 0.0 if resolution_mm is None else resolution_mm / (2 if amount.kind == "fraction" else 1)
    if taken == "nominal":
        taken = "outside"
    half = context.instruments[taken] if context.instruments is not None else _instrument_mm(taken, context.units)
    if place > half + LENGTH_TOL_MM:
        return place, "rect", taken, "text"
    return half, "rect", taken, "instrument"


def _instrument_name(named: str, context: _Context) -> str:
    if named.startswith("rule"):
        return "rule"
    if named or context.measured_with == "caliper":
        return context.taken
    if context.measured_with == "rule":
        return context.taken if context.taken == "nominal" else "rule"
    raise Refusal(f'the instrument "{context.measured_with}" is not known', 'Set measured_with to "caliper" or "rule".')


@lru_cache(maxsize=32)
def _instrument_mm(taken: str, units: Units) -> float:
    from carwright.reference import instrument  # late: reading data is not part of an import

    return float(instrument(taken, units).value)


def _ratio(ratio: float | None) -> Fraction:
    if ratio is None or not ratio > 0:
        raise Refusal(
            "no scale is known here, so a scale length has no size", "Name the scale, or write the model's size."
        )
    return _exact_ratio(ratio)


@lru_cache(maxsize=32)
def _exact_ratio(ratio: float) -> Fraction:
    return Fraction(repr(ratio))


def _named_size(typed: str, found: re.Match[str], spread: Spread | None, context: _Context) -> Reading:
    number, letter = found[1], found[2] or found[3]
    wanted = f"#{int(number)}" if number is not None else letter.upper()
    look_up = context.drill
    if look_up is None:
        from carwright.reference import drill_named  # late: reading data is not part of an import

        look_up = drill_named
    drill = look_up(wanted)
    if drill is None:
        near = next((f"#{n}" for n in range(int(number or 0), 0, -1) if look_up(f"#{n}") is not None), "#1")
        raise Refusal(f"no drill is called {wanted}", f'Did you mean "{near}"?')
    exact = Fraction(drill.diameter.value).limit_denominator(10**8)
    half, shift = Fraction(drill.diameter.tolerance_value), Fraction(0)
    shape: Distribution = drill.diameter.distribution
    source: ToleranceFrom = "nominal"
    if spread is not None:
        half, shift = _typed_spread(spread, context.units, bare=False, units=context.units)
        shape, source = ((spread.shape or "normal") if half else "nominal"), "typed"
    exact += shift
    return Reading(float(exact), typed, float(half), shape, source, source, exact, None, "drill")


def _check_range(exact: Fraction, context: _Context) -> None:
    if exact < 0 and not context.allow_negative:
        raise Refusal("a length here cannot be negative", "Write it without the minus sign.")
    if abs(exact) > LONGEST_MM:
        raise Refusal("this is longer than a kilometre", "Check the unit and the number of digits.")


def _ungrouped(text: str) -> str:
    """Return a number whose thousands are set apart, 1,250.5 or 1.250,5, without that; any other text as it is."""
    if found := _GROUPED.match(text):
        digits = re.sub(r"[.,]", "", found[1])
        return f"{digits}.{found[2]}{text[found.end() :]}"
    return text


def _written_out(text: str) -> str:
    """Return a number with an exponent as plain decimals, and any other text as it is."""
    found = re.fullmatch(r"([0-9.]{1,20})[eE]([+-]?[0-9]{1,2})", text)
    return (
        text if found is None or found[1].count(".") > 1 or found[1] == "." else format(Decimal(text).normalize(), "f")
    )


def _nearest(typed: str, context: _Context) -> str:
    """Return a sentence with the nearest text that would have been accepted."""
    text = typed.strip()[:80]
    swapped = text.replace("\\", "/").replace(" and ", " ").replace("&", " ").replace("_", " ").replace("--", "-")
    letters = re.sub(r"[oO](?=[.0-9])|(?<=[0-9.])[oO]", "0", swapped)
    letters = re.sub(r"[lI](?=[./0-9])|(?<=[0-9./])[lI]", "1", letters)
    tries = [
        _ungrouped(text),
        text.strip(" .,;:=()[]*~"),
        swapped,
        letters,
        re.sub(r" *([-/]) *", r"\1", letters),
        letters.replace(",", "."),
        _written_out(letters),
        *(letters[:end].strip(" .,;:+-/") for end in range(len(letters) - 1, 0, -1)),
    ]
    for each in tries:
        try:
            _read(each, context)
        except Refusal:
            continue
        return f'Did you mean "{each}"?'
    return 'Write for example "0.284 in".'


def as_written(text: str, mm: float, units: Units) -> str:
    """Return a length in its owner's own words, which claim no more than he measured, and never without a unit.

    Args:
        text: as typed; "" where nothing was.
        mm: what it was read as.
        units: what a bare number is in.

    Example:
        >>> as_written("2.2", 55.88, "in"), as_written("18 in", 457.2, "mm"), as_written("6 1/8 rule", 155.575, "in")
        ('2.2 in', '18 in', '6 1/8 in')
    """
    bare = _INSTRUMENT.sub("", text.strip())
    if re.fullmatch(r"[0-9.,][0-9\s.,/-]*", bare):
        return f"{bare} {units}"
    return text.strip() or show_in(mm, units)
