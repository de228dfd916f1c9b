"""A shell and nothing else: the floor's outline is true, and what to buy is said in figures worked by hand.

Target 0.391 in ± 0.010 in HO (NMRA S-2 as quoted; the tolerance is common practice). Where the coupler is not there
either its drop is taken as the usual 1/16 in of a centred one (common practice), and said so.
"""

from __future__ import annotations

import pytest
from tests.ride.planned import end_of, inches, plan_of

from carwright.plan import BuyLine, Plan

SHELL = {
    "car.scale": "HO",
    "car.type": "XM",
    "car.missing": ["underframe", "trucks", "couplers", "weight"],
    "body.length": "5.860",
    "body.inside_length": ["5.644", "5.641"],
    "body.inside_width": ["1.121", "1.119", "1.122"],
    "body.lip_depth": "0.192",
    "body.end_notch": "0.131",
}


def line_of(plan: Plan, name: str) -> BuyLine:
    """Return a line of the shopping list."""
    return next(line for line in plan.buy if line.name == name)


def test_the_floors_outline_is_there_without_a_truck() -> None:
    """By hand: 5.641 - 0.010 = 5.631 by 1.119 - 0.010 = 1.109, a rectangle of four corners round mid-car."""
    plan = plan_of(SHELL)
    (floor,) = [piece for piece in plan.pieces if piece.name == "floor"]
    corners = {(round(inches(p.x_mm), 9), round(inches(p.y_mm), 9)) for p in floor.outline_mm}
    assert corners == {(sx * 2.8155, sy * 0.5545) for sx in (1, -1) for sy in (1, -1)}
    assert all(hole.x_mm is None and hole.needs for hole in floor.holes)


def test_nothing_is_pretended_about_heights() -> None:
    """Both heights are unknown and name the seat among what is missing; nothing fails for want of a measurement."""
    plan = plan_of(SHELL)
    for end in ("a", "b"):
        assert end_of(plan, end).coupler_height is None  # type: ignore[arg-type]
        finding = next(each for each in plan.findings if each.check == f"coupler_height_{end}")
        assert finding.verdict == "unknown"
        assert "trucks.seat_height" in finding.needs
    assert plan.alternatives == ()
    assert "fail" not in {finding.verdict for finding in plan.findings}


def test_what_seat_and_bolster_must_make_with_the_usual_coupler() -> None:
    """By hand: 0.391 + 0.0625 = 0.4535 in at each end, 0.4435 to 0.4635 would do, and the assumption is said."""
    plan = plan_of(SHELL)
    line = line_of(plan, "seat height + body bolster at each end")
    assert line.quantity.value == 2
    assert inches(line.size) == pytest.approx(0.4535, abs=1e-9)
    assert (inches(line.low), inches(line.high)) == (pytest.approx(0.4435), pytest.approx(0.4635))
    assert "common practice" in line.because


def test_what_seat_and_bolster_must_make_with_the_coupler_in_hand() -> None:
    """Drop 0.058, a shim of 0.010 at A, a shank 0.020 up at B: A 0.391 + 0.058 + 0.010, B 0.391 + 0.058 - 0.020."""
    plan = plan_of(SHELL | {"coupler.drop": "0.058", "coupler.a.shim": "0.010", "coupler.b.shank_offset": "0.020"})
    assert inches(line_of(plan, "seat height + body bolster at A").size) == pytest.approx(0.459, abs=1e-9)
    assert inches(line_of(plan, "seat height + body bolster at B").size) == pytest.approx(0.429, abs=1e-9)


def test_a_truck_in_hand_leaves_the_bolster() -> None:
    """With seats of 0.290 the bolsters must be 0.391 + 0.058 - 0.290 = 0.159 in; with those both ends are on target."""
    known_so_far = SHELL | {"coupler.drop": "0.058", "trucks.seat_height": "0.290"}
    line = line_of(plan_of(known_so_far), "body bolster at each end")
    assert inches(line.size) == pytest.approx(0.159, abs=1e-9)
    whole = known_so_far | {
        "underframe.bolster": "0.159",
        "trucks.centers": "4.200",
        "coupler.pivot_inset": "0.260",
        "coupler.length": "0.380",
    }
    plan = plan_of(whole)
    assert [line.name for line in plan.buy if "bolster" in line.name] == []
    assert inches(end_of(plan, "a").error) == pytest.approx(0.0, abs=1e-9)


def test_a_bolster_in_hand_leaves_the_truck() -> None:
    """With a bolster of 0.150 the truck's seat must be 0.391 + 0.058 - 0.150 = 0.299 in."""
    plan = plan_of(SHELL | {"coupler.drop": "0.058", "underframe.bolster": "0.150"})
    assert inches(line_of(plan, "truck at each end, by its seat height").size) == pytest.approx(0.299, abs=1e-9)
