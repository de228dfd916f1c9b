"""What ± means: the typed one, else the larger of instrument and last place typed; names and wholes have none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from carwright.lengths import Reading
from carwright.working import Working, of

THOU = 0.0254
"""A thousandth of an inch, in mm."""

Read = Callable[..., Reading]

TABLE: tuple[tuple[str, str, float, str, str, str], ...] = (
    # text, taken, ± in thousandths of an inch, distribution, instrument, where the ± comes from
    ("0.284", "outside", 1.0, "rect", "outside", "instrument"),
    ("0.284", "depth", 2.0, "rect", "depth", "instrument"),
    ("0.284", "inside", 2.0, "rect", "inside", "instrument"),
    ("0.284", "height", 2.0, "rect", "height", "instrument"),
    ("0.284", "rule", 1000 / 128, "rect", "rule", "instrument"),
    ("0.28", "outside", 10.0, "rect", "outside", "text"),
    ("0.2840", "outside", 1.0, "rect", "outside", "instrument"),
    ("0.3", "depth", 100.0, "rect", "depth", "text"),
    ("6 1/8", "outside", 1000 / 128, "rect", "outside", "text"),
    ("6 1/2", "outside", 1000 / 128, "rect", "outside", "text"),
    ("3/128", "outside", 1000 / 128, "rect", "outside", "text"),
    ("6 1/8 rule", "outside", 1000 / 128, "rect", "rule", "instrument"),
    ("6.125 rule", "depth", 1000 / 128, "rect", "rule", "instrument"),
    ("6.1 rule", "depth", 100.0, "rect", "rule", "text"),
    ("6 rule", "outside", 1000 / 128, "rect", "rule", "instrument"),
    ("6 in caliper", "depth", 2.0, "rect", "depth", "instrument"),
    ("12.70 mm", "outside", 1.0, "rect", "outside", "instrument"),
    ("12.7 mm", "outside", 0.1 / THOU, "rect", "outside", "text"),
    ("1.27 cm", "outside", 0.1 / THOU, "rect", "outside", "text"),
    ("7.5 thou", "outside", 1.0, "rect", "outside", "instrument"),
    ("1 11/32 in + 0.003", "outside", 1.0, "rect", "outside", "instrument"),
    ("1' 2.5\"", "outside", 100.0, "rect", "outside", "text"),
    ("6", "outside", 0.0, "nominal", "nominal", "nominal"),
    ("18 in", "depth", 0.0, "nominal", "nominal", "nominal"),
    ("12 mm", "outside", 0.0, "nominal", "nominal", "nominal"),
    ("30 thou", "outside", 0.0, "nominal", "nominal", "nominal"),
    ("1' 2\"", "outside", 0.0, "nominal", "nominal", "nominal"),
    ("40' 6\" scale", "outside", 0.0, "nominal", "nominal", "nominal"),
    ("40.5' scale", "outside", 0.0, "nominal", "nominal", "nominal"),
    ("0.284", "nominal", 0.0, "nominal", "nominal", "nominal"),
    ("0.284 in ± 0.002", "outside", 2.0, "normal", "typed", "typed"),
    ("0.284 in ± 0.0002", "depth", 0.2, "normal", "typed", "typed"),
    ("0.284 in ± 0.002 rect", "outside", 2.0, "rect", "typed", "typed"),
    ("0.284 in ± 0.002 tri", "outside", 2.0, "tri", "typed", "typed"),
    ("0.284 in ± 0.002 normal", "outside", 2.0, "normal", "typed", "typed"),
    ("0.284 in ± 0.05 mm", "outside", 0.05 / THOU, "normal", "typed", "typed"),
    ("6 in ± 1/64", "outside", 1000 / 64, "normal", "typed", "typed"),
    ("0.284 ± 2 thou", "outside", 2.0, "normal", "typed", "typed"),
    ("12.7 mm ± 0.1", "outside", 0.1 / THOU, "normal", "typed", "typed"),
    ("30 thou ± 1", "outside", 1.0, "normal", "typed", "typed"),
    ("40' scale ± 0.002", "outside", 2.0, "normal", "typed", "typed"),
    ("6 1/8 rule ± 0.01", "outside", 10.0, "normal", "typed", "typed"),
    ("0.284 ± 0", "outside", 0.0, "nominal", "typed", "typed"),
)


@pytest.mark.parametrize(("text", "taken", "thousandths", "distribution", "instrument", "source"), TABLE)
def test_a_reading_knows_its_doubt(
    read: Read, text: str, taken: str, thousandths: float, distribution: str, instrument: str, source: str
) -> None:
    """The ± of a reading, its shape, its instrument and where it comes from are those of the table."""
    reading = read(text, taken=taken)
    assert reading.tolerance_mm == pytest.approx(thousandths * THOU, abs=1e-12)
    assert (reading.distribution, reading.instrument, reading.tolerance_from) == (distribution, instrument, source)


@pytest.mark.parametrize(
    ("text", "middle_in", "half_in"),
    [
        ("0.284 +0.002/-0.001", 0.2845, 0.0015),
        ("0.284 +0.004/-0", 0.286, 0.002),
        ("0.284 +0/-0.004", 0.282, 0.002),
        ("0.284 +0.002/-0.002", 0.284, 0.002),
        ("1 1/4 in +0.002/-0.001 rect", 1.2505, 0.0015),
    ],
)
def test_an_uneven_tolerance_is_moved_to_its_middle(read: Read, text: str, middle_in: float, half_in: float) -> None:
    """+b/-c becomes the value in the middle of its range, ± half of the range."""
    reading = read(text)
    assert reading.mm == pytest.approx(middle_in * 25.4, abs=1e-12)
    assert reading.tolerance_mm == pytest.approx(half_in * 25.4, abs=1e-12)


def test_measured_with_a_rule_makes_every_reading_one_by_rule(read: Read) -> None:
    """Measured with a rule a decimal is good to 1/128 in, and "caliper" behind one value takes that one out."""
    assert read("0.284", taken="depth", measured_with="rule").tolerance_mm == pytest.approx(25.4 / 128)
    assert read("0.284 caliper", taken="depth", measured_with="rule").tolerance_mm == pytest.approx(0.0508)
    assert read("0.284", taken="nominal", measured_with="rule").tolerance_mm == 0.0


@pytest.mark.parametrize(
    ("text", "resolution_mm"),
    [("0.284", THOU), ("0.28 in", 0.254), ("6 1/8", 25.4 / 64), ("12.7 mm", 0.1), ("6", None), ("6 mm", None)],
)
def test_the_last_place_typed_is_kept(read: Read, text: str, resolution_mm: float | None) -> None:
    """A reading remembers one unit of its last place: a decimal's, 1/64 in for a fraction, none for a whole number."""
    found = read(text).resolution_mm
    assert found is None if resolution_mm is None else found == pytest.approx(resolution_mm, abs=1e-12)


@dataclass(frozen=True)
class _Drill:
    diameter: Working


def _drill(text: str) -> _Drill | None:
    made = {"#61": 0.039, "F": 0.257}.get(text)
    leaf = of(25.4, "a tolerance", key="t", source="invented for this test", basis="practice")
    return (
        None
        if made is None
        else _Drill(of(made * 25.4, text, key=text, source="", basis="seen", tolerance=leaf, distribution="rect"))
    )


@pytest.mark.parametrize("text", ["#61", "# 61", "No. 61", "no 61 drill", "№61", "#061"])
def test_a_drill_by_number_is_its_diameter(read: Read, text: str) -> None:
    """#61 is the diameter that the table gives, nominal, with the table's own tolerance where it has one."""
    reading = read(text, drill=_drill)
    assert reading.mm == pytest.approx(0.039 * 25.4, abs=1e-9)
    assert (reading.tolerance_mm, reading.distribution, reading.tolerance_from) == (25.4, "rect", "nominal")
    assert reading.unit_typed == "drill"


def test_a_drill_by_letter_is_its_diameter(read: Read) -> None:
    """A letter drill is read where the text says that it is one."""
    assert read("letter F", drill=_drill).mm == read("F drill", drill=_drill).mm == pytest.approx(0.257 * 25.4)


def test_a_tolerance_typed_behind_a_drill_outranks_the_table(read: Read) -> None:
    """``#61 ± 0.0005`` has the typed ±, in the file's unit."""
    reading = read("#61 ± 0.0005", drill=_drill)
    assert (reading.tolerance_mm, reading.distribution) == (pytest.approx(0.0127), "normal")
