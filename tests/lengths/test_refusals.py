"""What is not a length is refused in plain words, with the nearest text that would have been one."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from carwright.lengths import Reading, parse_length
from carwright.problems import InputError

Read = Callable[..., Reading]

ACCEPTED = "a length such as 1-11/32, 0.284 in, 12.7 mm, 30 thou, #61 or 40' 6\" scale"

REFUSALS: tuple[tuple[object, str, str], ...] = (
    (
        "1,250",
        "a comma with three digits behind it can be read two ways",
        'Write "1.250" or "1250".',
    ),
    (
        "1,250 mm",
        "a comma with three digits behind it can be read two ways",
        'Write "1.250 mm" or "1250 mm".',
    ),
    ("1,250.5", "this is not a length", 'Did you mean "1250.5"?'),
    ("1.250,5 mm", "this is not a length", 'Did you mean "1250.5 mm"?'),
    ("1/0", "a fraction over zero has no value", "Write the fraction with the number of parts below the line."),
    ("6 1/0 in", "a fraction over zero has no value", "Write the fraction with the number of parts below the line."),
    (
        "1 40/32",
        "the fraction behind a whole number must be less than one",
        'Did you mean "2 8/32", or "40/32" alone?',
    ),
    ("-0.5", "a length here cannot be negative", "Write it without the minus sign."),
    ("−½ in", "a length here cannot be negative", "Write it without the minus sign."),
    ("", "no length is given", "Type a length, or leave the key out where it is not known."),
    ("  \u00a0", "no length is given", "Type a length, or leave the key out where it is not known."),
    ("nan", "a length must be a finite number", "Leave the key empty where it is not known."),
    ("-inf", "a length must be a finite number", "Leave the key empty where it is not known."),
    (float("nan"), "a length must be a finite number", "Leave the key empty where it is not known."),
    (float("inf"), "a length must be a finite number", "Leave the key empty where it is not known."),
    (True, "this is not a length", "Write the length in quotes."),
    (None, "this is not a length", "Write the length in quotes."),
    ([1.0], "this is not a length", "Write the length in quotes."),
    ("12.7 nm", '"nm" is not a unit that is known here', 'Did you mean "12.7 mm"?'),
    ("12.7 inchs", '"inchs" is not a unit that is known here', 'Did you mean "12.7 in"?'),
    (
        "5 mil",
        '"mil" can be read two ways',
        'Write "5 thou" for thousandths of an inch, or "5 mm".',
    ),
    ("6.", "this is not a length", 'Did you mean "6"?'),
    ("6 and 1/8", "this is not a length", 'Did you mean "6 1/8"?'),
    ("6 - 1/8", "this is not a length", 'Did you mean "6-1/8"?'),
    ("6--1/8", "this is not a length", 'Did you mean "6-1/8"?'),
    ("6 1\\8", "this is not a length", 'Did you mean "6 1/8"?'),
    ("O.o3O", "this is not a length", 'Did you mean "0.030"?'),
    ("~0.284 in", "this is not a length", 'Did you mean "0.284 in"?'),
    ("5.906, 5.904", "this is not a length", 'Did you mean "5.906"?'),
    ("1e3", "this is not a length", 'Did you mean "1000"?'),
    ("about right", "this is not a length", 'Write for example "0.284 in".'),
    ("40 scale", "a scale length needs its unit", 'Write "40 ft scale", "40 in scale" or "40 m scale".'),
    ("5' 14\"", "inches behind feet must be less than 12", "Carry the twelves over to the feet."),
    (
        "5.5' 6\"",
        "feet with inches behind them must be whole",
        "Write the whole length in feet or in inches.",
    ),
    (
        "0.3 ± 0.1 mm",
        "the ± is in mm and the value before it has no unit",
        "Write the unit behind both.",
    ),
    (
        "0.284 rect",
        '"rect" says how a ± is spread, and there is none',
        'Write "0.284 ± 0.002 rect".',
    ),
    ("0.284 ± much", "what stands behind the ± is not a length", 'Write for example "0.284 in ± 0.002".'),
    (
        "0.284 + 0.003",
        "a remainder in thousandths stands only behind a fraction",
        'Write "0.284 ± 0.003" for a ±.',
    ),
    ("2000 m", "this is longer than a kilometre", "Check the unit and the number of digits."),
    ("9" * 81, "this is too long for a length", "Use at most 80 characters."),
)


@pytest.mark.parametrize(("given", "problem", "mend"), REFUSALS)
def test_a_refusal_says_what_is_wrong_and_how_to_mend_it(read: Read, given: object, problem: str, mend: str) -> None:
    """Each slip is named in its own words, with what is accepted and the way out."""
    with pytest.raises(InputError) as caught:
        read(given, name="body.length")
    (found,) = caught.value.problems
    assert (found.problem, found.mend) == (problem, mend)
    assert (found.accepted, found.key) == (ACCEPTED, "body.length")


def test_a_refusal_reads_as_one_sentence_after_another(read: Read) -> None:
    """The whole message stands in the order key, problem, value, accepted, mend."""
    with pytest.raises(InputError) as caught:
        read("6 - 1/8", name="body.length")
    assert str(caught.value) == (
        'body.length: this is not a length: got "6 - 1/8"; accepted: a length such as 1-11/32, 0.284 in, 12.7 mm, '
        '30 thou, #61 or 40\' 6" scale. Did you mean "6-1/8"?'
    )


def test_what_is_proposed_would_have_been_accepted(read: Read) -> None:
    """Every text that a refusal proposes in quotes is itself read without trouble."""
    for given, _, mend in REFUSALS:
        for proposed in mend.split('"')[1::2]:
            assert read(proposed).mm >= 0, (given, proposed)


def test_a_scale_length_without_a_scale_is_refused() -> None:
    """Scale feet have no size where no scale is known, and the refusal says so."""
    with pytest.raises(InputError, match="no scale is known here"):
        parse_length("40' scale")


@pytest.mark.parametrize(("text", "near"), [("#999", "#3"), ("#4", "#3"), ("#0", "#1"), ("letter Q", "#1")])
def test_an_unknown_drill_is_answered_with_a_near_one(read: Read, text: str, near: str) -> None:
    """A drill that the table does not hold is refused with the nearest number below it."""
    with pytest.raises(InputError) as caught:
        read(text, drill=lambda name: name in {"#1", "#2", "#3"} or None)
    assert caught.value.problems[0].mend == f'Did you mean "{near}"?'


def test_an_unknown_instrument_is_refused(read: Read) -> None:
    """Readings with an instrument that has no ± in the data are refused, not taken as exact."""
    with pytest.raises(InputError, match='the instrument "laser" is not known'):
        read("0.284", measured_with="laser")


def test_a_long_text_is_cut_in_its_refusal(read: Read) -> None:
    """A text too long to be a length is not thrown back whole at the reader."""
    with pytest.raises(InputError) as caught:
        read("x" * 100_000)
    assert caught.value.problems[0].value == "x" * 60 + "…"
