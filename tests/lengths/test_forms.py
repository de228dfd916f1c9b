"""Every way in which a length may be written, and the millimetres that it means, worked out by hand."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest

from carwright.lengths import Reading, parse_length

INCH = Fraction(254, 10)  # by definition
HO = Fraction(871, 10)

Read = Callable[..., Reading]

FORMS: tuple[tuple[str | int | float, Fraction], ...] = (
    ("1-11/32", Fraction(43, 32) * INCH),
    ("1 11/32 in", Fraction(43, 32) * INCH),
    ("1 11/32in.", Fraction(43, 32) * INCH),
    ("43/32", Fraction(43, 32) * INCH),
    ('23/64"', Fraction(23, 64) * INCH),
    ("23 / 64 inch", Fraction(23, 64) * INCH),
    ("1/3 in", Fraction(1, 3) * INCH),
    ("5/100", Fraction(1, 20) * INCH),
    (".030", Fraction(30, 1000) * INCH),
    ("0.030 in", Fraction(30, 1000) * INCH),
    ("+0.030", Fraction(30, 1000) * INCH),
    ("0.030''", Fraction(30, 1000) * INCH),
    ("30 thou", Fraction(30, 1000) * INCH),
    ("7.5 thou", Fraction(75, 10000) * INCH),
    ("12.7 mm", Fraction(127, 10)),
    ("12.7mm", Fraction(127, 10)),
    ("12.7 MM", Fraction(127, 10)),
    ("1.27 cm", Fraction(127, 10)),
    ("0.0127 m", Fraction(127, 10)),
    ("6,35 mm", Fraction(635, 100)),
    ("12,7", Fraction(127, 10) * INCH),
    ("0,250", Fraction(1, 4) * INCH),
    ("1234,567 mm", Fraction(1234567, 1000)),
    ("1,2500 mm", Fraction(125, 100)),
    ("6", 6 * INCH),
    ("6 in", 6 * INCH),
    (6, 6 * INCH),
    (0.284, Fraction(284, 1000) * INCH),
    (1e-05, Fraction(1, 100000) * INCH),
    ("1' 2\"", 14 * INCH),
    ("1' 2", 14 * INCH),
    ("1'-2 1/2\"", Fraction(29, 2) * INCH),
    ("2 ft", 24 * INCH),
    ("40' 6\" scale", 486 * INCH / HO),
    ("40'-6\" scale", 486 * INCH / HO),
    ("40' - 6\" scale", 486 * INCH / HO),
    ("40'6 scale", 486 * INCH / HO),
    ("40 ft. 6 in. scale", 486 * INCH / HO),
    ("5 ft 6 in scale", 66 * INCH / HO),
    ("5 foot 6 1/2 inches scale", Fraction(133, 2) * INCH / HO),
    ("33 in scale", 33 * INCH / HO),
    ('33" scale', 33 * INCH / HO),
    ("40 scale feet", 480 * INCH / HO),
    ("scale 40'", 480 * INCH / HO),
    ("40.5' scale", 486 * INCH / HO),
    ("1 m scale", 1000 / HO),
    ("1,5 m scale", 1500 / HO),
    ("1 11/32 in + 0.003", (Fraction(43, 32) + Fraction(3, 1000)) * INCH),
    ("1 11/32 in - 0.003", (Fraction(43, 32) - Fraction(3, 1000)) * INCH),
    ("6 + 0.003", (6 + Fraction(3, 1000)) * INCH),
    ("6 1/8 rule", Fraction(49, 8) * INCH),
    ('6 1/8" caliper', Fraction(49, 8) * INCH),
)


@pytest.mark.parametrize(("text", "exact_mm"), FORMS)
def test_each_form_is_read_exactly(read: Read, text: str | int | float, exact_mm: Fraction) -> None:
    """Every form means the fraction of a millimetre that hand arithmetic gives, and the float is its nearest."""
    reading = read(text)
    assert reading.exact == exact_mm
    assert reading.mm == float(exact_mm)
    assert reading.text == ("0.00001" if text == 1e-05 else str(text))


@pytest.mark.parametrize(
    ("fancy", "simple"),
    [
        ("½ in", "1/2 in"),
        ("1½", "1 1/2"),
        ("1 ½", "1 1/2"),
        ("6⅛″", '6 1/8"'),
        ("⅞", "7/8"),
        ("⅓ in", "1/3 in"),
        ("⅟64", "1/64"),
        ("1 11⁄32 in", "1 11/32 in"),
        ("1‑11/32", "1-11/32"),
        ("1–11/32", "1-11/32"),
        ("1′ 2″", "1' 2\""),
        ("40’ 6” scale", "40' 6\" scale"),
        ("40‘-6“ scale", "40'-6\" scale"),
        ("0.284\u00a0in", "0.284 in"),
        ("0.284\u202fin", "0.284 in"),
        ("1\u00a011/32", "1 11/32"),
        ("\ufeff0.284 in", "0.284 in"),
        ("  0.284\tin ", "0.284 in"),
        ("0.284 in +/− 0.002", "0.284 in ± 0.002"),
        ("0.284 in +- 0.002", "0.284 in ± 0.002"),
        ("0.284 in ±0.002", "0.284 in ± 0.002"),
        ("0.284±0.002", "0.284 ± 0.002"),
        ("0.284 +0.002 -0.001", "0.284 +0.002/-0.001"),
        ("0.284 -0.001/+0.002", "0.284 +0.002/-0.001"),
        ("0.284 in + 0.002 in / − 0.001 in", "0.284 +0.002/-0.001"),
        ("0.284 ± 0.002 triangular", "0.284 ± 0.002 tri"),
    ],
)
def test_other_spellings_mean_the_same(read: Read, fancy: str, simple: str) -> None:
    """Built-up fractions, primes, curly quotes, dashes and odd spaces mean what their plain spelling means."""
    one, other = read(fancy), read(simple)
    assert (one.exact, one.tolerance_mm, one.distribution) == (other.exact, other.tolerance_mm, other.distribution)


@pytest.mark.parametrize(
    ("text", "units", "mm"),
    [("12.7", "mm", 12.7), ("12.7", "in", 322.58), ("12.7 mm", "in", 12.7), ("0.5 in", "mm", 12.7), (8, "mm", 8.0)],
)
def test_a_bare_number_takes_the_units_of_its_file(read: Read, text: str | int, units: str, mm: float) -> None:
    """A number without a unit is in the file's unit, and one with a unit is not."""
    assert read(text, units=units).mm == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "inches"),
    [("-0.05", "-0.05"), ("− 1/2", "-0.5"), ("-1-1/2", "-1.5"), ("-1 1/2 in + 0.003", "-1.497"), ("-0", "0")],
)
def test_below_zero_is_read_where_it_has_a_meaning(read: Read, text: str, inches: str) -> None:
    """A minus sign is read for positions and offsets; a remainder in thousandths keeps its own sign."""
    assert read(text, allow_negative=True).exact == Fraction(inches) * INCH


def test_minus_nothing_is_no_negative_length(read: Read) -> None:
    """-0.0 is zero, not a length below zero."""
    assert read("-0.0").mm == 0.0


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("6", "in"),
        ("6 1/8 rule", "in"),
        ("30 thou", "thou"),
        ("1.27 cm", "cm"),
        ("1' 2\"", "ft"),
        ("40' scale", "ft scale"),
        ("33 in scale", "in scale"),
        ("1 m scale", "m scale"),
    ],
)
def test_the_unit_typed_is_kept(read: Read, text: str, unit: str) -> None:
    """A reading remembers the unit it was typed in, and whether it was a size of the prototype."""
    assert read(text).unit_typed == unit


def test_a_scale_length_follows_the_ratio() -> None:
    """40 ft in N is 12192 mm over 160, and 40 ft at 1:87 is longer than at 1:87.1."""
    assert parse_length("40' scale", ratio=160).mm == pytest.approx(12192 / 160, abs=1e-12)
    assert parse_length("40' scale", ratio=87).mm > parse_length("40' scale", ratio=87.1).mm
