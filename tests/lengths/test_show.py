"""Lengths as they are shown: styles, signs, and no more digits than the measurement supports."""

from __future__ import annotations

from typing import Literal

import pytest

from carwright.lengths import (
    Style,
    as_written,
    nearest_fraction,
    nearest_of,
    number_in,
    scale_inches,
    show,
    show_in,
    thousandths,
)
from carwright.problems import InputError

HO = 87.1


@pytest.mark.parametrize(
    ("inches", "style", "text"),
    [
        (1.347, "fraction", "1 11/32 in + 0.003"),
        (1.341, "fraction", "1 11/32 in - 0.003"),
        (1.34375, "fraction", "1 11/32 in"),
        (0.391, "fraction", "25/64 in"),
        (6.0, "fraction", "6 in"),
        (0.0, "fraction", "0 in"),
        (0.003, "fraction", "0 in + 0.003"),
        (-0.003, "fraction", "0 in - 0.003"),
        (-1.5, "fraction", "-1 1/2 in"),
        (5.9999, "fraction", "6 in"),
        (0.391, "inch", "0.391 in"),
        (6.0, "inch", "6.000 in"),
        (-0.0001, "inch", "0.000 in"),
        (0.391, "mm", "9.93 mm"),
        (486 / HO, "scale", "40' 6\" scale"),
        (480 / HO, "scale", "40' 0\" scale"),
        (33 / HO, "scale", "2' 9\" scale"),
        (6.25 / HO, "scale", '6.2" scale'),
        (11.99 / HO, "scale", "1' 0\" scale"),
        (-33 / HO, "scale", "-2' 9\" scale"),
        (0.0, "scale", '0" scale'),
    ],
)
def test_each_style_shows_a_length_in_its_own_way(inches: float, style: Style, text: str) -> None:
    """Fractions carry a remainder in thousandths; inches have three decimals, millimetres two, scale inches one."""
    assert show(inches * 25.4, style, ratio=HO) == text


@pytest.mark.parametrize(
    ("style", "tolerance_mm", "text"),
    [
        ("inch", None, "1.347 in"),
        ("inch", 0.0005 * 25.4, "1.3470 in"),
        ("inch", 0.001 * 25.4, "1.347 in"),
        ("inch", 0.002 * 25.4, "1.347 in"),
        ("inch", 25.4 / 128, "1.347 in"),
        ("inch", 0.01 * 25.4, "1.35 in"),
        ("inch", 2.54, "1.3 in"),
        ("inch", 25.4, "1 in"),
        ("mm", None, "34.21 mm"),
        ("mm", 0.005, "34.214 mm"),
        ("mm", 0.0254, "34.21 mm"),
        ("mm", 25.4 / 128, "34.2 mm"),
        ("mm", 1.0, "34 mm"),
        ("fraction", 0.0254, "1 11/32 in + 0.003"),
        ("fraction", 0.0508, "1 11/32 in + 0.003"),
        ("fraction", 25.4 / 128, "1 11/32 in"),
        ("fraction", 25.4 / 64, "1 11/32 in"),
        ("fraction", 25.4 / 32, "1 3/8 in"),
        ("fraction", 2.54, "1 3/8 in"),
        ("scale", None, "9' 9.3\" scale"),
        ("scale", 0.0254, "9' 9.3\" scale"),
        ("scale", 0.5, "9' 9\" scale"),
    ],
)
def test_no_more_digits_than_the_measurement_supports(style: Style, tolerance_mm: float | None, text: str) -> None:
    """The last digit shown stands in the place of the first digit of the ±; a coarse ± takes the remainder away."""
    assert show(1.347 * 25.4, style, ratio=HO, tolerance_mm=tolerance_mm) == text


def test_signs_are_shown_where_they_are_asked_for() -> None:
    """A signed length has its plus; nothing has neither sign, also when rounding makes it nothing."""
    assert show_in(0.0762, "in", signed=True) == "+0.003 in"
    assert show_in(-0.0762, "in", signed=True) == "-0.003 in"
    assert show_in(-0.001, "in", signed=True) == "0.000 in"
    assert show(25.4, "fraction", signed=True) == "+1 in"
    assert show(25.4, "scale", ratio=HO, signed=True) == "+7' 3.1\" scale"
    assert number_in(0.254, "mm", signed=True) == "+0.25"


def test_metres_of_the_prototype() -> None:
    """A reader in millimetres sees the prototype in metres: 141.7 mm times 87.1 is 12.34 m."""
    assert show(141.7, "scale", ratio=HO, units="mm") == "12.34 m scale"


def test_a_scale_size_needs_a_scale() -> None:
    """Asked for a scale size without a scale, the program says what is missing."""
    with pytest.raises(InputError, match="no scale is known here"):
        show(25.4, "scale")


@pytest.mark.parametrize(
    ("inches", "denominator", "text", "error_in"),
    [
        (0.391, 64, "25/64 in", -0.000375),
        (0.391, 32, "13/32 in", 0.01525),
        (1.347, 64, "1 11/32 in", -0.00325),
        (0.005, 64, "0 in", -0.005),
        (-0.5, 64, "-1/2 in", 0.0),
    ],
)
def test_the_nearest_fraction_comes_with_its_error(inches: float, denominator: int, text: str, error_in: float) -> None:
    """The nearest fraction stands in lowest terms; its error is the fraction less the length."""
    found = nearest_fraction(inches * 25.4, denominator)
    assert found.text == text
    assert found.error_mm == pytest.approx(error_in * 25.4, abs=1e-12)


def test_of_two_sizes_equally_near_the_smaller_is_taken() -> None:
    """Half-way between two sheets the thinner is named, with its error below zero."""
    found = nearest_of(0.75, (0.5, 1.0), "mm")
    assert (found.text, found.error_mm) == ("0.50 mm", -0.25)


def test_errors_are_shown_in_thousandths_and_scale_inches() -> None:
    """0.000375 in below is -0.4 thousandths and, times 87.1, -0.03 in of the prototype."""
    assert thousandths(-0.000375 * 25.4) == "-0.4"
    assert thousandths(-0.00001) == "0.0"
    assert scale_inches(-0.000375 * 25.4, HO) == "-0.03"


@pytest.mark.parametrize(
    ("text", "mm", "units", "said"),
    [
        ("2.2", 55.88, "in", "2.2 in"),
        ("6 1/8", 155.575, "in", "6 1/8 in"),
        ("380", 380.0, "mm", "380 mm"),
        ("18 in", 457.2, "mm", "18 in"),
        ("40' 6\" scale", 141.73, "in", "40' 6\" scale"),
        ("6 1/8 rule", 155.575, "in", "6 1/8 in"),
        (".453", 11.5, "in", ".453 in"),
        ("", 25.4, "in", "1.000 in"),
    ],
)
def test_a_length_in_its_owners_words_has_a_unit(text: str, mm: float, units: Literal["in", "mm"], said: str) -> None:
    """What was typed bare is shown with the unit it was taken in; what has one of its own stays as typed."""
    assert as_written(text, mm, units) == said
