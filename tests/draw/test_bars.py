"""Bars, and the correction that a reading of them calls for."""

from __future__ import annotations

import pytest

from carwright.draw.bars import Correction, bar, factor_from
from carwright.draw.model import Line
from carwright.problems import InputError


@pytest.mark.parametrize(("length", "way"), [(100.0, "across"), (101.6, "across"), (100.0, "up"), (101.6, "up")])
def test_end_lines_stand_the_length_apart(length: float, way: str) -> None:
    """The middles of a bar's end lines are 100 mm, or 4 in of 25.4 mm, apart, across or up."""
    lines = [mark for mark in bar(length, way=way).marks if isinstance(mark, Line)]  # type: ignore[arg-type]
    first, last = lines
    if way == "across":
        assert last.start.x_mm - first.start.x_mm == pytest.approx(length, abs=1e-12)
    else:
        assert last.start.y_mm - first.start.y_mm == pytest.approx(length, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "factor"),
    [
        ("100", 1.0),
        ("99.7", 100 / 99.7),
        ("99.7 mm", 100 / 99.7),
        ("99,7 mm", 100 / 99.7),
        ("3.925 in of 100 mm", 100 / (3.925 * 25.4)),
        ('3.925" of 100 mm', 100 / (3.925 * 25.4)),
        ("3.925 of 100 mm", 100 / (3.925 * 25.4)),
        ("3.921 in of 3.937 in", 100 / (3.921 * 25.4)),
        ("3,921 in of 3,94 in", 100 / (3.921 * 25.4)),
        ("101.2 of 101.6 mm", 101.6 / 101.2),
        ("101.2 of 4.0 in", 101.6 / 101.2),
        ("4.01 in of 4 in", 4 / 4.01),
        ("4.01 of 4 in", 4 / 4.01),
        ('4.01 in of 4"', 4 / 4.01),
        ("101.2 of 4 in", 101.6 / 101.2),
        ("101.2 mm of 100 mm", 100 / 101.2),
        ("100.1 at 1.0031", 1.0031 * 100 / 100.1),
        ("100.1 drawn 0.31 % larger", 1.0031 * 100 / 100.1),
        ("99.9 drawn as it is", 100 / 99.9),
        ("100.1 mm of 100 mm drawn 0,31% smaller", 0.9969 * 100 / 100.1),
        ("95", 100 / 95),
        ("105 of 100 mm", 100 / 105),
    ],
)
def test_factor_is_bar_over_reading(text: str, factor: float) -> None:
    """The factor is what the bar should be over what it measured, times the factor of the page that was measured."""
    assert factor_from(text, option="--printed-x") == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    ["", "abc", "94.9", "106.7", "94.9 of 100 mm", "3.79 in of 4 in", "-100", "nan", "inf", "1e2", "100 cm", "997",
     "100 of 5 in", "104 of 100 mm at 0.98"],
)  # fmt: skip
def test_other_readings_are_refused(text: str) -> None:
    """What is no length, or more than a twentieth out, is refused with the place, the text and what is accepted."""
    with pytest.raises(InputError) as caught:
        factor_from(text, option="--printed-y")
    problem = caught.value.problems[0]
    assert problem.key == "--printed-y"
    assert problem.value == text
    assert "95 to 105 mm" in problem.accepted
    assert problem.mend


@pytest.mark.parametrize("text", ["4.01", "4.01 in", '4.01"', "3.93", "3.925 in", "3.97", "101.6", "100.7 mm", "102.4",
                                  "103", "4,01 in", "4.01 at 1.002", "4.01 drawn 0.20 % larger"])  # fmt: skip
def test_a_reading_that_may_be_of_either_bar_must_name_it(text: str) -> None:
    """Every reading in inches, and any nearer to 4 in than to 100 mm, is refused with both answers ready to type.

    Hand: 4.01 in is 100.25 % of the 4 in bar and 101.85 % of the 100 mm bar; taken as the latter it made a 5.60 in
    floor 5.50 in. The answers that are offered are then understood, and differ by 101.6/100.
    """
    with pytest.raises(InputError) as caught:
        factor_from(text, option="--printed-x")
    problem = caught.value.problems[0]
    assert "which bar" in problem.problem
    inch, metric = (each.strip('"') for each in problem.accepted.split(", or "))
    assert inch.split(" of ")[1].startswith("4 in")
    as_inch, as_metric = (factor_from(each, option="--printed-x") for each in (inch, metric))
    assert as_inch / as_metric == pytest.approx(1.016)


@pytest.mark.parametrize(("x", "warned"), [(1.0, False), (100 / 98.1, False), (100 / 97.9, True), (100 / 102.1, True)])
def test_a_print_fitted_to_the_page_is_suspected(x: float, warned: bool) -> None:
    """A print more than 2 % out along one axis is told to be, likely, one fitted to its page; a lesser one is not."""
    note = Correction(x, 1.0).note()
    assert ("fitted to the page" in note) == warned
    assert ("100 %" in note) == warned


def test_page_says_for_whom_it_was_printed() -> None:
    """The words on the page name the printer and how much larger or smaller was drawn, to a hundredth of a percent.

    What it says of an edge is understood behind a reading of that page: one that measures true changes nothing.
    """
    shed = Correction(1.0031, 0.9987, "Shed")
    assert shed.said() == (
        "drawn 0.31 % larger along the short edge, 0.13 % smaller along the long, to make up for the printer Shed"
    )
    assert Correction().said() == "drawn for a printer that prints true"
    assert [factor_from(f"100 {each}", option="--printed-x") for each in shed.drawn] == pytest.approx([1.0031, 0.9987])
