"""Holes for wire, by hand: the drill, and how long a bore at an angle is."""

from __future__ import annotations

from importlib import resources

import pytest

from carwright.car.read import read_car
from carwright.fasten.wires import bore_length, wire_hole
from carwright.plan import make_plan
from carwright.working import typed

INCH = 25.4


def test_a_bore_at_45_degrees_is_the_diagonal_of_its_wall() -> None:
    """A wall of 0.015 in drilled at 45 degrees: the diagonal of a square of that side, 0.015 x sqrt 2 = 0.02121 in."""
    wall = typed(0.015 * INCH, "wall", key="wall")
    angle = typed(45.0, "angle", key="angle", unit="deg")
    assert bore_length("a hole", wall, angle).value / INCH == pytest.approx(0.015 * 2**0.5)


def test_a_bore_at_60_degrees_is_twice_its_wall() -> None:
    """Half an equilateral triangle: at 60 degrees from straight down the drill passes twice the wall."""
    wall = typed(1.0, "wall", key="wall")
    angle = typed(60.0, "angle", key="angle", unit="deg")
    assert bore_length("a hole", wall, angle).value == pytest.approx(2.0)


def test_the_train_lines_bore_into_the_sill_of_the_worked_car() -> None:
    """It enters a web of 0.015 in at 45 degrees and is 0.0212 in long, through #76 of 0.020 in for wire of 0.019 in."""
    text = resources.files("carwright.demo").joinpath("boxcar.toml").read_text(encoding="utf-8")
    holes = [hole for hole in make_plan(read_car(text)).holes if hole.angle_deg is not None]
    assert len(holes) == 2
    for hole in holes:
        assert hole.depth_mm is not None
        assert hole.depth_mm.value / INCH == pytest.approx(0.0212132, abs=1e-6)
        assert hole.drill == "#76"


def test_the_drill_for_a_wire_leaves_a_thousandth() -> None:
    """0.019 in wire and 0.001 in of clearance (our choice): #76, 0.0200 in by the drill table."""
    found = wire_hole(typed(0.019 * INCH, "wire", key="wire"), "in")
    assert found is not None
    assert found.drill.name == "#76"
    assert found.drill.diameter_mm / INCH == pytest.approx(0.020)
