"""Holes against edges and each other, by hand; 1.5 screw diameters and one drill diameter are common practice."""

from __future__ import annotations

import re
from importlib import resources

import pytest
from tests.fasten.cars import found, kept

from carwright.car.read import read_car
from carwright.plan import make_plan

INCH = 25.4


def test_the_nearest_two_holes_in_the_floor() -> None:
    """Truck at 2.000 and coupler at 2.700: 0.700 less half of #50, 0.035, are 0.665; 1.5 x 0.086 = 0.129 is wanted."""
    finding = found(kept(), "holes_apart_floor")
    assert finding.verdict == "ok"
    assert finding.value is not None
    assert finding.limit is not None
    assert finding.value.value / INCH == pytest.approx(0.665)
    assert finding.limit.value / INCH == pytest.approx(0.129)


def test_two_holes_too_near_each_other() -> None:
    """A coupler's screw 0.900 from the end stands at 2.100: 0.100 - 0.035 = 0.065 in from the truck's rim."""
    finding = found(kept("", ("[coupler]\n", '[coupler]\nscrew_inset = "0.900"\n')), "holes_apart_floor")
    assert finding.verdict == "watch"
    assert finding.margin is not None
    assert finding.margin.value / INCH == pytest.approx(0.065 - 0.129)


def test_every_hole_knows_its_edge() -> None:
    """In a car with retention screws no hole that is drilled straight is without its distance to the edge."""
    text = resources.files("carwright.demo").joinpath("n_car.toml").read_text(encoding="utf-8")
    plan = make_plan(read_car(text))
    assert any(hole.name.startswith("retention") for hole in plan.holes)
    assert [
        hole.name for hole in plan.holes if hole.edge_mm is None and hole.x_mm is not None and not hole.angle_deg
    ] == []
    assert [each.check for each in plan.findings if each.check.startswith("edge_") and each.verdict != "ok"] == []


def test_a_bolster_too_narrow_for_its_hole() -> None:
    """A bolster 0.150 along the car leaves 0.075 beside the #43 hole, which wants its own 0.089."""
    finding = found(kept("", ("[underframe]\n", '[underframe]\nbolster_width = "0.150"\n')), "edge_truck_a_bolster")
    assert finding.verdict == "watch"
    assert finding.margin is not None
    assert finding.margin.value / INCH == pytest.approx(0.075 - 0.089)


@pytest.mark.parametrize("name", ["boxcar", "n_car", "h0_car"])
def test_a_bolster_too_narrow_for_its_hole_names_the_width_that_frees_it(name: str) -> None:
    """The mend of a hole too near both edges of its bolster gives a size and a key; written so, the edge is ok."""
    text = resources.files("carwright.demo").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    narrow = text.replace("[underframe]\n", '[underframe]\nbolster_width = "0.12 in"\n')
    found = next(each for each in make_plan(read_car(narrow)).findings if each.check == "edge_truck_a_bolster")
    told = re.fullmatch(r".*make it at least (\S+ (?:in|mm)) long: underframe\.bolster_width\.", found.mend)
    assert told is not None, found.mend
    wider = narrow.replace('bolster_width = "0.12 in"', f'bolster_width = "{told[1]}"')
    assert "edge_truck_a_bolster" not in {each.check for each in make_plan(read_car(wider)).findings}
