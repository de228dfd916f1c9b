"""Where the pieces stand in the car: axes, heights and the tilt of a floor on unlike trucks, by hand.

Axes as the design fixes them: origin mid-car on the rail top, x to the A end, y to the left, z up; a pose is the
middle of a piece's lower face, turned about y right-handed, so that a floor that rises toward A has a negative turn.
"""

from __future__ import annotations

import math

import pytest
from tests.frame.test_floor import SECTION_5, SHEETS
from tests.ride.planned import inches, known, plan_of

from carwright.pieces import Piece
from carwright.plan import Plan

STACK = {"trucks.seat_height": "0.284", "underframe.bolster": "0.165", "coupler.drop": "0.062"}
TILTED = SECTION_5 | STACK | {"trucks.a.seat_height": "0.320", "coupler.length": "0.39"}
"""Underside 0.485 over truck A and 0.449 over truck B, 4.5 apart: slope +0.008, 0.467 at mid-car."""


def piece_of(plan: Plan, name: str) -> Piece:
    """Return a piece by its name."""
    return next(piece for piece in plan.pieces if piece.name == name)


def test_a_level_floor_stands_on_its_bolsters() -> None:
    """Underside 0.284 + 0.165 = 0.449 in, no turn."""
    pose = piece_of(plan_of(SECTION_5 | STACK | {"coupler.length": "0.39"}, SHEETS), "floor").pose
    assert inches(pose.z_mm) == pytest.approx(0.449, abs=1e-9)
    assert (pose.x_mm.value, pose.y_mm.value) == (0.0, 0.0)
    assert (pose.rx_deg.value, pose.ry_deg.value, pose.rz_deg.value) == (0.0, 0.0, 0.0)


def test_a_floor_on_unlike_trucks_is_tilted_as_it_stands() -> None:
    """By hand: 0.467 in at mid-car, turned by -atan(0.008); turned so, it lies over both trucks where they hold it."""
    plan = plan_of(TILTED, SHEETS)
    pose = piece_of(plan, "floor").pose
    assert inches(pose.z_mm) == pytest.approx(0.467, abs=1e-9)
    assert pose.ry_deg.value == pytest.approx(-math.degrees(math.atan(0.008)), abs=1e-9)
    turn = math.radians(pose.ry_deg.value)
    for x, under in ((2.25, 0.485), (-2.25, 0.449)):
        # a point s along the piece comes to x = s cos, z = z0 - s sin
        s = x / math.cos(turn)
        assert inches(pose.z_mm) - s * math.sin(turn) == pytest.approx(under, abs=1e-9)


def test_a_floor_on_trucks_at_unlike_insets() -> None:
    """Pivots at 2.3 and -1.9, undersides 0.469 and 0.448: slope 0.021/4.2 = 0.005, at mid-car 0.448 + 1.9 x 0.005."""
    values = {k: v for k, v in (SECTION_5 | STACK).items() if k not in ("trucks.centers", "body.length")}
    values |= {
        "body.length": "6.000",
        "trucks.a.inset": "0.700",
        "trucks.b.inset": "1.100",
        "trucks.a.seat_height": "0.304",
        "trucks.b.seat_height": "0.283",
        "coupler.length": "0.39",
    }
    pose = piece_of(plan_of(values, SHEETS), "floor").pose
    assert inches(pose.z_mm) == pytest.approx(0.448 + 1.9 * 0.005, abs=1e-9)
    assert pose.ry_deg.value == pytest.approx(-math.degrees(math.atan(0.005)), abs=1e-9)


def test_bolsters_stand_each_on_its_own_truck() -> None:
    """By hand: bolster A from 0.320 to 0.485, bolster B from 0.284 to 0.449, over the pivots at ± 2.25."""
    plan = plan_of(TILTED, SHEETS)
    for end, x, seat in (("a", 2.25, 0.320), ("b", -2.25, 0.284)):
        piece = piece_of(plan, f"bolster_{end}")
        assert inches(piece.pose.x_mm) == pytest.approx(x, abs=1e-9)
        assert inches(piece.pose.z_mm) == pytest.approx(seat, abs=1e-9)
        assert inches(piece.thickness_mm) == pytest.approx(0.165, abs=1e-9)


def test_screw_blocks_lie_on_top_of_the_floor() -> None:
    """On a level floor of 0.045 in at 0.449 the blocks lie at 0.494 in, over their screws."""
    plan = plan_of(SECTION_5 | STACK | {"coupler.length": "0.39"}, SHEETS)
    block = piece_of(plan, "screw_block_truck_b")
    assert inches(block.pose.z_mm) == pytest.approx(0.494, abs=1e-9)
    assert inches(block.pose.x_mm) == pytest.approx(-2.25, abs=1e-9)


def test_a_block_at_the_end_stays_within_the_floor() -> None:
    """A block 0.375 long over a screw at 2.8125 would pass the end at 2.947, so it ends there: middle 2.7595."""
    plan = plan_of(SECTION_5 | STACK | {"coupler.length": "0.39"}, SHEETS)
    block = piece_of(plan, "screw_block_coupler_a")
    assert known(block.length_mm) / 25.4 == pytest.approx(0.375, abs=1e-9)
    assert inches(block.pose.x_mm) == pytest.approx(2.947 - 0.1875, abs=1e-9)
