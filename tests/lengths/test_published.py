"""Lengths against the outside world, the source beside each."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from carwright.lengths import nearest_fraction, parse_length, show

EQUIVALENTS = {
    "1/64": ".015625",
    "5/64": ".078125",
    "7/64": ".109375",
    "9/64": ".140625",
    "7/32": ".21875",
    "21/64": ".328125",
    "11/32": ".34375",
    "23/64": ".359375",
    "25/64": ".390625",
    "27/64": ".421875",
    "29/64": ".453125",
    "17/32": ".53125",
    "37/64": ".578125",
    "11/16": ".6875",
    "51/64": ".796875",
    "61/64": ".953125",
    "63/64": ".984375",
}
"""A selection from Table LXIII, "Decimal Equivalents Of Fractions Of An Inch", of a handbook on the principles and
practice of plumbing, read at chestofbooks.com, .../Principle-Practice/Decimal-Equivalents-Of-An-Inch.html."""

NUMBER_DRILLS = {
    "#1": "0.2280",
    "#2": "0.2210",
    "#3": "0.2130",
    "#4": "0.2090",
    "#7": "0.2010",
    "#10": "0.1935",
    "#21": "0.1590",
    "#25": "0.1495",
    "#80": "0.0135",
    "#43": "0.0890",
    "#50": "0.0700",
    "#60": "0.0400",
    "#61": "0.0390",
}
"""The American number drills, in inches. #1 to #25 read in a tool seller's chart of number drills, #80 in another
guide to them; #43 to #61 from memory. The standard behind both, ASME B94.11M, was not read."""


@pytest.mark.parametrize(("fraction", "decimal"), EQUIVALENTS.items())
def test_fractions_agree_with_a_printed_table_of_decimal_equivalents(fraction: str, decimal: str) -> None:
    """A fraction and its printed decimal are the same length, and the nearest 1/64 of the decimal is the fraction."""
    assert parse_length(fraction, taken="nominal").exact == parse_length(decimal, taken="nominal").exact
    assert nearest_fraction(float(Decimal(decimal)) * 25.4).text == f"{fraction} in"


@pytest.mark.parametrize(("name", "inches"), NUMBER_DRILLS.items())
def test_number_drills_agree_with_printed_charts(name: str, inches: str) -> None:
    """A number drill's name is read as the diameter that the charts print."""
    assert parse_length(name).mm == pytest.approx(float(inches) * 25.4, abs=1e-9)


def test_a_coupler_height_of_25_64_is_not_the_decimal_as_quoted() -> None:
    """25/64 in is 0.390625 in, 0.000375 below the quoted 0.391 (9.9314 mm), which the program never rounds to it."""
    quoted = parse_length("0.391 in", taken="nominal")
    assert quoted.exact == Fraction("0.391") * Fraction(254, 10)
    assert quoted.mm == pytest.approx(9.9314, abs=1e-9)
    near = nearest_fraction(quoted.mm)
    assert (near.text, near.error_mm) == ("25/64 in", pytest.approx(-0.000375 * 25.4, abs=1e-12))


def test_the_mounting_face_of_a_centred_coupler() -> None:
    """29/64 less 1/16 is 25/64: 0.3906 in, 0.0004 from the quoted height (common practice, no source)."""
    centre = parse_length("29/64", taken="nominal").exact - parse_length("1/16", taken="nominal").exact
    assert centre == parse_length("25/64", taken="nominal").exact
    assert float(Fraction("0.391") - centre / Fraction(254, 10)) == pytest.approx(0.0004, abs=0.00005)


def test_forty_feet_in_ho() -> None:
    """A 40-foot car is 5.511 in long at 1:87.1 and its 33 in wheel 0.379 in: 480 and 33 over 87.1, by long division."""
    assert show(parse_length("40' scale", ratio=87.1).mm, "inch") == "5.511 in"
    assert show(parse_length('33" scale', ratio=87.1).mm, "inch") == "0.379 in"


@pytest.mark.parametrize(
    ("taken", "units", "half_mm"),
    [
        ("outside", "in", 0.0254),
        ("depth", "in", 0.0508),
        ("inside", "in", 0.0508),
        ("height", "in", 0.0508),
        ("rule", "in", 25.4 / 128),
    ],
)
def test_the_instruments_of_the_data_are_those_of_the_bench(taken: str, units: str, half_mm: float) -> None:
    """Without other instruments a reading takes the half-widths of the reference data (common practice)."""
    reading = parse_length("0.2840 in", taken=taken, units=units)  # type: ignore[arg-type]  # words of the table above
    assert reading.tolerance_mm == pytest.approx(half_mm, abs=1e-9)
