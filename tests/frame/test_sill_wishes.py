"""The centre sill as a whole is moved and resized by its name in the file, and nothing of it is passed over."""

from __future__ import annotations

from importlib import resources

import pytest

from carwright.car.read import read_car
from carwright.plan import Plan, make_plan

PIECES = ("center_sill_top", "center_sill_bottom", "center_sill_side_left", "center_sill_side_right")


def _plan(table: str) -> Plan:
    text = resources.files("carwright.demo").joinpath("boxcar.toml").read_text(encoding="utf-8")
    return make_plan(read_car(f'{text}\n[[piece]]\nname = "center_sill"\n{table}\n'.encode(), file="car.toml"))


def test_the_whole_sill_moves_along_the_car() -> None:
    """A place of 0.3 in moves every plate of the sill to 0.3 in toward A, and the sill then stands in bolster A."""
    plan = _plan('x = "0.3"')
    for piece in plan.pieces:
        if piece.name in PIECES:
            assert piece.pose.x_mm.value == pytest.approx(0.3 * 25.4)
    fails = {each.check for each in plan.findings if each.verdict == "fail"}
    assert {f"clash_bolster_a_{name}" for name in PIECES} <= fails


def test_the_whole_sill_takes_a_length() -> None:
    """A sill of 4.0 in is 4.0 in long in each of its plates, and clears both bolsters."""
    plan = _plan('length = "4.0"')
    lengths = [piece.length_mm.value for piece in plan.pieces if piece.name in PIECES]
    assert lengths == pytest.approx([101.6] * len(PIECES))
    assert not [each.check for each in plan.findings if "center_sill" in each.check and each.verdict == "fail"]


def test_a_place_to_the_side_is_said_not_to_be_used() -> None:
    """The sill stays on the centre line, and a finding says that y is not used."""
    plan = _plan('y = "0.1"')
    assert "piece_center_sill" in {each.check for each in plan.findings if each.verdict == "watch"}
