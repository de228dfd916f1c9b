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
        ("3.925 in", 100 / (3.925 * 25.4)),
        ('3.925"', 100 / (3.925 * 25.4)),
        ("3.925", 100 / (3.925 * 25.4)),
        ("4.01 in of 4 in", 4 / 4.01),
        ("101.2 of 4 in", 101.6 / 101.2),
        ("100.1 at 1.0031", 1.0031 * 100 / 100.1),
        ("90", 100 / 90),
        ("110", 100 / 110),
    ],
)
def test_factor_is_bar_over_reading(text: str, factor: float) -> None:
    """The factor is what the bar should be over what it measured, times the factor of the page that was measured."""
    assert factor_from(text, option="--printed-x") == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["", "abc", "89.9", "110.1", "-100", "nan", "inf", "1e2", "100 cm", "997", "100 of 5 in"]
)
def test_other_readings_are_refused(text: str) -> None:
    """What is no length, or more than a tenth out, is refused with the place, the text and what is accepted."""
    with pytest.raises(InputError) as caught:
        factor_from(text, option="--printed-y")
    problem = caught.value.problems[0]
    assert problem.key == "--printed-y"
    assert problem.value == text
    assert "90 to 110 mm" in problem.accepted
    assert problem.mend


def test_page_says_for_whom_it_was_printed() -> None:
    """The words on the page name the printer and both factors, to four decimals."""
    assert Correction(1.0031, 0.9987, "Shed").said() == "printed for: Shed, x 1.0031, y 0.9987"
    assert Correction().said() == "printed without correction"
