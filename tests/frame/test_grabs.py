"""Grab irons and sill steps: their wire and their holes, against what the safety appliance rules say of real cars."""

from __future__ import annotations

import pytest

from carwright.car.read import read_car
from carwright.plan import Plan, make_plan
from carwright.problems import InputError

INCH = 25.4
CAR = """
[car]
name = "A car with irons"
scale = "HO"
type = "GB"

[body]
length = "6.000"
width = "1.250"
inside_length = "5.800"
inside_width = "1.160"
wall = "0.045"
end_wall = "0.100"
lip_depth = "0.180"
end_notch = "0.135"
height = "0.700"
"""
SIDE = """
[[body.grab]]
name = "ladder"
side = "left"
x = "-2.800"
up = "0.150"
count = 3
spacing = "0.210"
length = "0.200"
wire = "0.012"
"""


def _plan(*tables: str) -> Plan:
    return make_plan(read_car("".join((CAR, *tables)).encode(), file="car.toml"))


def _finding(plan: Plan, check: str) -> str:
    return next(each.verdict for each in plan.findings if each.check == check)


def test_two_holes_a_tread_at_their_heights() -> None:
    """Three treads 0.210 in apart from 0.150 in up, legs 0.200 in apart about -2.800: six holes, by addition."""
    holes = [hole for hole in _plan(SIDE).holes if hole.purpose == "grab iron"]
    assert [hole.piece for hole in holes] == ["left_side"] * 6
    places = [((hole.x_mm.value if hole.x_mm else 0.0) / INCH, hole.y_mm.value / INCH) for hole in holes]
    wanted = [(x, up) for up in (0.150, 0.360, 0.570) for x in (-2.700, -2.900)]
    assert places == [pytest.approx(each) for each in wanted]
    assert {round(hole.depth_mm.value / INCH, 6) for hole in holes if hole.depth_mm} == {0.045}


def test_the_drill_lets_the_wire_slide() -> None:
    """Wire of 0.012 in takes 0.001 in of clearance: 0.013 in, which is #81 in the drill table."""
    hole = next(hole for hole in _plan(SIDE).holes if hole.purpose == "grab iron")
    assert (hole.drill, round(hole.diameter_mm.value / INCH, 4)) == ("#81", 0.013)


def test_an_iron_without_sizes_is_as_the_rules_had_it() -> None:
    """The data: 16 in clear between legs, 5/8 in wire, 2 1/2 in clear of the car; at 1:87.1 by division."""
    plan = _plan('\n[[body.grab]]\nside = "A end"\nx = "0.4"\nup = "0.2"\n')
    wire = next(piece for piece in plan.pieces if piece.name == "grab_iron_1")
    assert wire.diameter_mm is not None
    assert wire.diameter_mm.value == pytest.approx(0.625 * INCH / 87.1)
    assert wire.length_mm.value == pytest.approx((16 + 0.625) * INCH / 87.1)
    leg = (2.5 + 0.3125) * INCH / 87.1 + 0.100 * INCH
    assert wire.width_mm.value == pytest.approx(leg)
    assert wire.cut_length_mm is not None
    assert wire.cut_length_mm.value == pytest.approx((16.625 * INCH / 87.1) + 2 * leg)
    assert wire.pose.x_mm.value == pytest.approx(3.0 * INCH + 2.8125 * INCH / 87.1 - leg / 2)


def test_turned_end_for_end_stands_across_the_car() -> None:
    """What is at -2.800 on the left stands at +2.800 on the right, by half a turn about the car's middle."""
    plan = _plan(SIDE.replace('side = "left"', 'side = "left"\nturned = true'))
    wire = next(piece for piece in plan.pieces if piece.name == "grab_iron_1")
    poses = (wire.pose, *wire.also)
    assert wire.quantity.value == len(poses) == 6
    left, right = poses[0], poses[3]
    assert (right.x_mm.value, right.y_mm.value) == pytest.approx((-left.x_mm.value, -left.y_mm.value))
    assert abs(right.rz_deg.value - left.rz_deg.value) == 180.0


def test_a_step_hangs_from_the_side_sill() -> None:
    """Its holes stand in the middle of the sill's 0.045 in, two for the step, and its tread hangs 8 in scale clear."""
    plan = _plan('\n[[body.grab]]\nkind = "step"\nside = "right"\nx = "2.5"\nwire = "0.015"\n')
    holes = [hole for hole in plan.holes if hole.purpose == "sill step"]
    assert [hole.piece for hole in holes] == ["right_side_sill"] * 2
    assert [hole.edge_mm.value / INCH for hole in holes if hole.edge_mm] == pytest.approx([0.0225, 0.0225])
    wire = next(piece for piece in plan.pieces if piece.name == "sill_step_1")
    assert wire.width_mm.value == pytest.approx(8 * INCH / 87.1 + 0.0075 * INCH + 0.060 * INCH)


def test_a_hole_in_no_wall_is_told() -> None:
    """A ladder whose leg lies beyond the corner fails, one too near the top is to be watched, one inside is ok."""
    assert _finding(_plan(SIDE), "grab_iron_1") == "ok"
    assert _finding(_plan(SIDE.replace("-2.800", "-2.950")), "grab_iron_1") == "fail"
    assert _finding(_plan(SIDE.replace('up = "0.150"', 'up = "0.275"')), "grab_iron_1") == "watch"


def test_a_place_not_measured_is_unknown() -> None:
    """Without x no hole is drilled, and the finding names the measurement."""
    plan = _plan(SIDE.replace('x = "-2.800"\n', ""))
    assert _finding(plan, "grab_iron_1") == "unknown"
    assert not [hole for hole in plan.holes if hole.purpose == "grab iron"]


def test_a_step_on_an_end_is_refused() -> None:
    """A sill step hangs from a side; the error names the key and what is accepted."""
    with pytest.raises(InputError) as refused:
        _plan('\n[[body.grab]]\nkind = "step"\nside = "A end"\nx = "0.2"\n')
    (problem,) = refused.value.problems
    assert (problem.key, problem.accepted) == ("body.grab[0].side", "left or right")


def test_irons_do_not_foul_what_is_planned() -> None:
    """The legs end at the inner face of the wall, so no iron shares room with the floor or anything else."""
    plan = _plan(SIDE.replace('side = "left"', 'side = "left"\nturned = true'))
    assert not [each.check for each in plan.findings if "grab_iron" in each.check and each.check.startswith("clash")]
