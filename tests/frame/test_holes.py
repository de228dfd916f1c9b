"""Holes, screw blocks and bolsters by hand.

#50 for 2-56, #43 to clear it, 1.5 screw diameters to an edge and 1.5, better 2, of hold in styrene are common practice;
0.0860 in and 56 threads to the inch are the unified thread's (checked against published tables elsewhere).
"""

from __future__ import annotations

from itertools import combinations_with_replacement

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.frame.test_floor import SECTION_5, SHEETS, finding_of
from tests.ride.planned import inches, known, plan_of

from carwright.pieces import Hole
from carwright.plan import Plan

MAJOR = 0.0860
STACK = {
    "trucks.seat_height": "0.284",
    "underframe.bolster": "0.165",
    "coupler.drop": "0.062",
    "coupler.length": "0.39",
}


def hole_of(plan: Plan, name: str) -> Hole:
    """Return a hole by its name."""
    return next(each for each in plan.holes if each.name == name)


def test_where_the_holes_are_by_hand() -> None:
    """Trucks at ± 4.5/2 = 2.25, couplers at ± (6.125/2 - 0.25) = 2.8125, all on the centre line."""
    plan = plan_of(SECTION_5, SHEETS)
    places = {"truck_a": 2.25, "truck_b": -2.25, "coupler_a": 2.8125, "coupler_b": -2.8125}
    for name, x in places.items():
        hole = hole_of(plan, name)
        assert (inches(hole.x_mm), inches(hole.y_mm)) == (pytest.approx(x, abs=1e-9), 0.0)
        assert (hole.piece, hole.drill, hole.tap) == ("floor", "#50", "2-56")
        assert inches(hole.diameter_mm) == pytest.approx(0.070, abs=1e-9)


def test_the_edge_distance_of_the_worked_car_by_hand() -> None:
    """Own figures: 5.894/2 - 2.8125 = 0.1345 in from the end; 1.5 x 0.0860 = 0.129 in are wanted: 0.0055 to spare."""
    plan = plan_of(SECTION_5, SHEETS)
    assert inches(hole_of(plan, "coupler_a").edge_mm) == pytest.approx(0.1345, abs=1e-9)
    assert inches(hole_of(plan, "truck_a").edge_mm) == pytest.approx(0.5695, abs=1e-9)
    assert finding_of(plan, "edge_coupler_a") == ("ok", pytest.approx(0.1345), pytest.approx(0.129))


def test_a_hole_too_near_the_edge_and_one_outside() -> None:
    """Inset 0.200 leaves 2.947 - 2.8625 = 0.0845, less than 0.129; inset 0.100 lies 0.0155 outside the floor."""
    near = plan_of(SECTION_5 | {"coupler.pivot_inset": "0.200"}, SHEETS)
    outside = plan_of(SECTION_5 | {"coupler.pivot_inset": "0.100"}, SHEETS)
    assert finding_of(near, "edge_coupler_a")[:2] == ("watch", pytest.approx(0.0845))
    assert finding_of(outside, "edge_coupler_a")[:2] == ("watch", pytest.approx(-0.0155))


def test_a_box_with_a_screw_of_its_own_place() -> None:
    """Where the box is screwed 0.400 in from the car's end, the hole is at 3.0625 - 0.400 = 2.6625."""
    plan = plan_of(SECTION_5 | {"coupler.screw_inset": "0.400"}, SHEETS)
    assert inches(hole_of(plan, "coupler_a").x_mm) == pytest.approx(2.6625, abs=1e-9)


def test_thread_and_turns_by_hand() -> None:
    """#50 leaves (0.0860 - 0.0700) x 56/1.299038 = 68.97 percent; 0.135 in of plastic hold 0.135 x 56 = 7.56 turns."""
    plan = plan_of(SECTION_5 | {"underframe.screw_block": "0.090"}, SHEETS)
    hole = hole_of(plan, "truck_a")
    assert known(hole.thread_percent) == pytest.approx((0.0860 - 0.0700) * 56 / 1.2990381 * 100, abs=1e-3)
    assert inches(hole.depth_mm) == pytest.approx(0.045 + 0.090, abs=1e-9)
    assert known(hole.turns) == pytest.approx(7.56, abs=1e-9)


@settings(max_examples=20)
@given(
    sizes=st.lists(st.integers(10, 90), min_size=1, max_size=3, unique=True),
    floor=st.integers(15, 200),
)
def test_screw_blocks_against_every_set_of_layers(sizes: list[int], floor: int) -> None:
    """A block brings the plastic to 2 screw diameters in the fewest layers, else to 1.5, else as near as four go."""
    shelf = "".join(f'[[shelf.sheet]]\nthickness = "{size / 1000:.3f}"\n' for size in sizes)
    plan = plan_of(SECTION_5 | {"underframe.layers": [f"{floor / 1000:.3f}"]}, shelf)
    depth = inches(hole_of(plan, "truck_a").depth_mm)
    blocks = [piece for piece in plan.pieces if piece.name == "screw_block_truck_a"]
    if floor / 1000 >= 2 * MAJOR:
        assert (blocks, depth) == ([], pytest.approx(floor / 1000, abs=1e-9))
        return
    totals = [
        (many, (floor + sum(layers)) / 1000)
        for many in range(1, 5)
        for layers in combinations_with_replacement(sizes, many)
    ]
    for diameters in (2.0, 1.5):
        enough = [each for each in totals if each[1] >= diameters * MAJOR - 1e-9]
        if enough:
            assert depth == pytest.approx(min(enough)[1], abs=1e-9)
            break
    else:
        assert depth == pytest.approx(max(total for _, total in totals), abs=1e-9)
    verdict = finding_of(plan, "thread_depth_truck_a")[0]
    assert verdict == ("ok" if depth >= 1.5 * MAJOR - 1e-9 else "fail")


def test_bolsters_lie_under_the_floor_over_the_trucks() -> None:
    """A 0.165 bolster stands from the seat at 0.284 up to the floor at 0.449, its middle over the truck at 2.25."""
    plan = plan_of(SECTION_5 | STACK, SHEETS)
    piece = next(each for each in plan.pieces if each.name == "bolster_a")
    assert inches(piece.thickness_mm) == pytest.approx(0.165, abs=1e-9)
    assert inches(piece.pose.x_mm) == pytest.approx(2.25, abs=1e-9)
    assert inches(piece.pose.z_mm) == pytest.approx(0.284, abs=1e-9)
    assert inches(piece.width_mm) == pytest.approx(1.139, abs=1e-9)
    assert hole_of(plan, "truck_a_bolster").drill == "#43"


def test_what_a_bolster_may_measure_by_hand() -> None:
    """Both couplers stay within ± 0.010 while bolster A is between two heights that planning again confirms.

    By hand: errors -0.004 at both ends; weights of truck A: l = (3.2025 + 2.25)/4.5 = 1.211667 at A, -0.211667 at B.
    A allows -0.006/1.211667 = -0.004952 to 0.014/1.211667 = 0.011554 in; B, which sinks as truck A rises, allows
    -0.014/0.211667 = -0.066142 to 0.006/0.211667 = 0.028346: A's is the narrower both ways.
    """
    plan = plan_of(SECTION_5 | STACK, SHEETS)
    piece = next(each for each in plan.pieces if each.name == "bolster_a")
    low, high = inches(piece.thickness_min_mm), inches(piece.thickness_max_mm)
    assert low == pytest.approx(0.165 - 0.006 / 1.2116667, abs=1e-6)
    assert high == pytest.approx(0.165 + 0.014 / 1.2116667, abs=1e-6)
    for size, worst in ((low, 0.010), (high, 0.010)):
        again = plan_of(SECTION_5 | STACK | {"underframe.a.bolster": f"{size:.9f}"}, SHEETS)
        errors = [abs(inches(again.ride.ends.at(end).error)) for end in ("a", "b")]
        assert max(errors) == pytest.approx(worst, abs=1e-6)


def test_holes_wait_for_their_measurements() -> None:
    """Without truck centres the truck's hole has no place and names what it needs; the coupler's is there."""
    plan = plan_of({k: v for k, v in SECTION_5.items() if k != "trucks.centers"}, SHEETS)
    truck = hole_of(plan, "truck_a")
    assert (truck.x_mm, truck.needs) == (None, ("trucks.centers",))
    assert hole_of(plan, "coupler_a").x_mm is not None


def test_metric_cars_take_metric_screws() -> None:
    """A car in millimetres without a screw named is drilled 1.60 mm for M2 (common practice)."""
    plan = plan_of(
        {
            "car.scale": "H0",
            "car.units": "mm",
            "body.length": "150.0",
            "body.inside_length": "145.0",
            "body.inside_width": "28.0",
            "body.lip_depth": "5.0",
            "body.end_notch": "3.5",
            "trucks.centers": "100.0",
        }
    )
    hole = hole_of(plan, "truck_a")
    assert (hole.tap, hole.drill) == ("M2", "1.60 mm")
