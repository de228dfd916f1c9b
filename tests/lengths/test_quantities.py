"""Masses, angles and counts."""

from __future__ import annotations

import pytest

from carwright.lengths import parse_angle, parse_count, parse_mass
from carwright.problems import InputError

OUNCE_G = 28.349523125
"""The international avoirdupois ounce: 1/16 of 453.59237 g, exact by agreement of 1959 (from memory)."""


@pytest.mark.parametrize(
    ("text", "grams", "tolerance", "source"),
    [
        ("14 g", 14.0, 0.0, "nominal"),
        ("14", 14.0, 0.0, "nominal"),
        (14, 14.0, 0.0, "nominal"),
        ("14.0 g", 14.0, 0.1, "text"),
        ("14,5 g", 14.5, 0.1, "text"),
        ("0.12 kg", 120.0, 10.0, "text"),
        ("2 oz", 2 * OUNCE_G, 0.0, "nominal"),
        ("0.5 oz", OUNCE_G / 2, OUNCE_G / 10, "text"),
        ("1 1/2 oz", 1.5 * OUNCE_G, OUNCE_G / 128, "text"),
        ("½ oz", OUNCE_G / 2, OUNCE_G / 128, "text"),
        ("14 g ± 0.5", 14.0, 0.5, "typed"),
        ("2 oz ± 1 g", 2 * OUNCE_G, 1.0, "typed"),
        ("14 g +1/-0", 14.5, 0.5, "typed"),
    ],
)
def test_a_mass_is_grams(text: str | int, grams: float, tolerance: float, source: str) -> None:
    """A bare mass is grams; kilograms and ounces are converted exactly, and the ± goes with them."""
    found = parse_mass(text)
    assert (found.value, found.tolerance) == (pytest.approx(grams, abs=1e-12), pytest.approx(tolerance, abs=1e-12))
    assert (found.unit, found.tolerance_from) == ("g", source)


@pytest.mark.parametrize(
    ("text", "degrees", "tolerance"),
    [("15", 15.0, 0.0), ("15 deg", 15.0, 0.0), ("15°", 15.0, 0.0), ("14.9 degrees", 14.9, 0.1), ("15 ± 2", 15.0, 2.0)],
)
def test_an_angle_is_degrees(text: str, degrees: float, tolerance: float) -> None:
    """An angle is degrees with or without the sign; its last place is its ±."""
    found = parse_angle(text)
    assert (found.value, found.tolerance, found.unit) == (degrees, pytest.approx(tolerance), "deg")


@pytest.mark.parametrize(("text", "count"), [("2", 2), (2, 2), (" 60 ", 60), ("0", 0)])
def test_a_count_is_a_whole_number(text: str | int, count: int) -> None:
    """A count is read from text or number and has no unit."""
    assert parse_count(text) == count


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("2.5", 'a count must be whole: got "2.5"; accepted: a whole number such as 2. Did you mean "2"?'),
        (2.0, 'a count must be whole: got "2.0"; accepted: a whole number such as 2. Did you mean "2"?'),
        (
            "-2",
            'a count cannot be negative: got "-2"; accepted: a whole number such as 2. Count again; 0 is the least.',
        ),
        ("two", 'this is not a whole number: got "two"; accepted: a whole number such as 2. Write for example "2".'),
        (True, 'this is not a count: got "True"; accepted: a whole number such as 2. Write the count in quotes.'),
        (
            "9999999999",
            (
                'this count is too large: got "9999999999"; accepted: a whole number such as 2. '
                "Check the number of digits."
            ),
        ),
    ],
)
def test_what_is_no_count_is_refused(text: str, message: str) -> None:
    """A count that is broken, below zero, a word or a yes is refused in plain words."""
    with pytest.raises(InputError) as caught:
        parse_count(text)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "14 lb",
            (
                '"lb" is not a unit that is known here: got "14 lb"; accepted: a mass such as 14 g, 0.5 oz or 0.12 kg. '
                'Write "14 g" or "14 kg".'
            ),
        ),
        (
            "-14 g",
            (
                'a mass here cannot be negative: got "-14 g"; accepted: a mass such as 14 g, 0.5 oz or 0.12 kg. '
                "Write it without the minus sign."
            ),
        ),
        (
            "heavy",
            (
                'this is not a mass: got "heavy"; accepted: a mass such as 14 g, 0.5 oz or 0.12 kg. '
                'Write for example "14 g".'
            ),
        ),
        (
            "14 ± 0.1 oz",
            (
                'the ± is in oz and the value before it has no unit: got "14 ± 0.1 oz"; accepted: a mass such as 14 g, '
                "0.5 oz or 0.12 kg. Write the unit behind both."
            ),
        ),
    ],
)
def test_what_is_no_mass_is_refused(text: str, message: str) -> None:
    """A mass in an unknown unit, below zero or in words is refused in plain words."""
    with pytest.raises(InputError) as caught:
        parse_mass(text)
    assert str(caught.value) == message
