"""Six awkward cars, each with its figures worked by hand beside it.

The cars are files in ``cars/``; every number of them is invented, and none is the demonstration's. What is asserted is
arithmetic on those files, step by step, in the file's own unit; the standards' heights (0.391 in; NEM 8.5 mm ± 0.2) and
the customary ± 0.010 in, fit and edge distances are checked elsewhere.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from shapely.geometry import Polygon
from tests.ride.planned import INCH, end_of, error, height, inches, known

from carwright.car.model import ENDS, End
from carwright.car.read import read_car
from carwright.car.write import set_values
from carwright.plan import Plan, make_plan
from carwright.ride.model import Alternative

CARS = Path(__file__).parent / "cars"
ALL = sorted(path.stem for path in CARS.glob("*.toml"))
EXACT = 1e-9


def plan_of_file(name: str) -> Plan:
    """Return the plan of one of the cars."""
    return make_plan(read_car((CARS / f"{name}.toml").read_bytes(), file=f"{name}.toml"))


def verdicts_of(plan: Plan) -> dict[str, str]:
    """Return each check's verdict."""
    return {finding.check: finding.verdict for finding in plan.findings}


def named(plan: Plan, name: str) -> Alternative:
    """Return a cure by its name."""
    return next(each for each in plan.alternatives if each.name == name)


def test_there_are_seven_files_for_six_cases() -> None:
    """Each case has its file, the floor that is there already two."""
    assert len(ALL) == 7


def test_trucks_of_unlike_seat_height() -> None:
    """By hand, in inches: a 2.05, c 2.875 - 0.280 + 0.370 = 2.965, overhang 0.915.

    Underside A 0.291 + 0.140 = 0.431, B 0.305 + 0.140 = 0.445; slope -0.014/4.1 = -0.003414634.
    A: 0.431 - 0.003414634 x 0.915 - 0.055 = 0.372875610, error -0.018124390.
    B: 0.445 + 0.003124390 - 0.055 = 0.393124390, error +0.002124390.
    A 0.015 washer at A: A + 0.015 x 5.015/4.1 = + 0.018347561 -> +0.000223171; B - 0.015 x 0.915/4.1 -> -0.001223171.
    """
    plan = plan_of_file("unlike_trucks")
    assert error(plan, "a") == pytest.approx(-0.018124390, abs=EXACT)
    assert error(plan, "b") == pytest.approx(0.002124390, abs=EXACT)
    assert verdicts_of(plan)["coupler_height_a"] == "fail"
    assert plan.alternatives[0].name == "one 0.015 in washer at A"
    assert inches(plan.alternatives[0].error.a) == pytest.approx(0.000223171, abs=EXACT)
    assert inches(plan.alternatives[0].error.b) == pytest.approx(-0.001223171, abs=EXACT)


def test_trucks_of_unlike_seat_height_on_the_curve_and_the_scale() -> None:
    """On 22 in, in mm: R 558.8, b 18.796, a 52.07: rho_p² = 312257.44 - 88.32, y0² = 312169.12 - 2711.28, y0 556.289.

    Throw in 558.8 - 556.289 + 14.986 = 17.497. RP-20.1: 1 + 5.75/2 = 3.875 oz = 109.85 g, there 19 + 18 = 37 g.
    """
    plan = plan_of_file("unlike_trucks")
    assert plan.steady is not None
    assert known(plan.steady.throw_in) == pytest.approx(17.497, abs=1e-3)
    assert known(plan.weight.target) == pytest.approx(3.875 * 28.349523125, abs=1e-9)
    assert known(plan.weight.present) == pytest.approx(37.0)


def test_already_shimmed_at_one_end() -> None:
    """By hand: a 2.3, c 3.15 - 0.300 + 0.410 = 3.26, overhang 0.96; truck A carries washers of 0.013 in.

    Underside A 0.305 + 0.013 + 0.152 = 0.470, B 0.457; slope 0.013/4.6 = 0.002826087; step 0.002713043.
    A: 0.472713043 - 0.060 = 0.412713043, error +0.021713043; B: 0.454286957 - 0.025 - 0.060 = 0.369286957, error
    -0.021713043: alike and opposite, since 0.470 - 0.060 - 0.391 = 0.019 and 0.457 - 0.085 - 0.391 = -0.019.
    Both washers out: A +0.006 (0.457 - 0.060 - 0.391), B 0.457 - 0.085 - 0.391 = -0.019.
    Washers out and the shim out: +0.006 at both ends.
    """
    plan = plan_of_file("shimmed_at_one_end")
    assert error(plan, "a") == pytest.approx(0.021713043, abs=EXACT)
    assert error(plan, "b") == pytest.approx(-0.021713043, abs=EXACT)
    assert (verdicts_of(plan)["coupler_height_a"], verdicts_of(plan)["coupler_height_b"]) == ("fail", "fail")
    cure = named(plan, "take out 2 washers at A; take out the shim at B")
    assert [inches(cure.error.at(end)) for end in ENDS] == [pytest.approx(0.006, abs=EXACT)] * 2
    assert (known(cure.parts), cure.on_hand) == (3.0, True)
    assert cure.shim.b is None
    assert cure.washers.a == ()


def test_an_offset_shank_and_a_shim_together() -> None:
    """By hand: both trucks alike, underside 0.272 + 0.146 = 0.418 at both ends.

    A: 0.418 - 0.012 shim = 0.406 face; - 0.064 + 0.047 = 0.389, error -0.002.
    B: 0.418 face; - 0.064 + 0.031 - 0.003 = 0.382, error -0.009.
    """
    plan = plan_of_file("offset_and_shim")
    assert inches(end_of(plan, "a").mounting_face) == pytest.approx(0.406, abs=EXACT)
    assert inches(end_of(plan, "b").mounting_face) == pytest.approx(0.418, abs=EXACT)
    assert error(plan, "a") == pytest.approx(-0.002, abs=EXACT)
    assert error(plan, "b") == pytest.approx(-0.009, abs=EXACT)
    assert plan.ride.worse == "b"
    assert verdicts_of(plan)["coupler_height_b"] == "watch"  # inside, but one time in three it would miss


def test_a_washer_under_a_car_with_offset_and_shim() -> None:
    """A 1.85, c 2.65 - 0.245 + 0.385 = 2.79: a 0.005 washer at B gives B + 0.005 x 4.64/3.7 = -0.002729730.

    A - 0.005 x 0.94/3.7 = -0.003270270.
    """
    cure = named(plan_of_file("offset_and_shim"), "one 0.005 in washer at B")
    assert inches(cure.error.b) == pytest.approx(-0.009 + 0.005 * 4.64 / 3.7, abs=EXACT)
    assert inches(cure.error.a) == pytest.approx(-0.002 - 0.005 * 0.94 / 3.7, abs=EXACT)


def test_new_wheels_of_another_diameter() -> None:
    """By hand, in mm: A rises (11.10 - 10.30)/2 = 0.40, B (11.10 - 10.50)/2 = 0.30.

    Underside A 7.52 + 0.40 + 2.30 = 10.22, B 10.12; a 36.3, c 60.7 - 6.8 + 15.9 = 69.8, overhang 33.5;
    slope 0.10/72.6, step 0.046143251. Pocket top A 10.22 + 0.046143251 - 1.62 = 8.646143251, error +0.146;
    B 10.12 - 0.046143251 - 1.62 = 8.453856749, error -0.046. Both inside ± 0.2.
    """
    plan = plan_of_file("new_wheels")
    assert known(end_of(plan, "a").floor_underside) == pytest.approx(10.22, abs=EXACT)
    assert known(end_of(plan, "b").floor_underside) == pytest.approx(10.12, abs=EXACT)
    assert known(end_of(plan, "a").error) == pytest.approx(0.146143251, abs=EXACT)
    assert known(end_of(plan, "b").error) == pytest.approx(-0.046143251, abs=EXACT)
    assert end_of(plan, "a").measured_at == "pocket top"
    assert known(plan.weight.target) == pytest.approx(0.4 * 135.9, abs=EXACT)  # NEM 302: 0.4 g for each mm over buffers


def test_a_tapered_shell_with_corner_lugs() -> None:
    """By hand: floor 5.731 - 0.010 = 5.721 by 1.117 - 0.010 = 1.107; wanted 0.197 - 0.122 = 0.075.

    Layers of 0.041 and 0.019: two make 0.082, 0.060 or 0.038, none within 0.005; three 0.041 + 0.019 + 0.019 = 0.079 is
    0.004 over, 0.057 and more are not; so three layers, 0.079. Four of 0.019 are 0.076, 0.001 over, but a layer more.
    Area 5.721 x 1.107 - 4 x 0.110 x 0.085 - 0.125 x 0.035 - 0.125 x 0.040 = 6.286372.
    Taper 1.131 - 1.117 = 0.014 and 5.744 - 5.731 = 0.013, both beyond 0.010.
    Lean (5.8484² - 5.8410²)/(4 x 5.744) = 0.0864986/22.976 = 0.003765, within 0.010.
    """
    plan = plan_of_file("tapered_with_lugs")
    floor = plan.floor
    assert (inches(floor.length), inches(floor.width)) == (pytest.approx(5.721), pytest.approx(1.107))
    assert [inches(layer) for layer in floor.layers] == [pytest.approx(each) for each in (0.041, 0.019, 0.019)]
    assert inches(floor.error) == pytest.approx(0.004, abs=EXACT)
    by_hand = 5.721 * 1.107 - 4 * 0.110 * 0.085 - 0.125 * (0.035 + 0.040)
    assert by_hand == pytest.approx(6.286372, abs=1e-6)
    assert known(floor.area) / INCH**2 == pytest.approx(by_hand, abs=EXACT)
    outline = Polygon([(inches(point.x_mm), inches(point.y_mm)) for point in floor.outline])
    assert outline.is_valid
    assert outline.area == pytest.approx(by_hand, abs=EXACT)
    verdicts = verdicts_of(plan)
    assert (verdicts["taper_width"], verdicts["taper_length"], verdicts["out_of_square"]) == ("watch", "watch", "ok")
    lean = next(finding for finding in plan.findings if finding.check == "out_of_square")
    assert inches(lean.value) == pytest.approx(0.0037647, abs=1e-6)


def test_the_tapered_shells_couplers_and_edges() -> None:
    """Heights 0.301 + 0.151 - 0.061 = 0.391, on target; coupler screws 2.990 - 0.390 = 2.600 from mid-car.

    The end of the floor is 2.8605 - 2.600 = 0.2605 away; the corner notch begins 2.7505 along and 0.4685 across, so
    sqrt(0.1505² + 0.4685²) = 0.492 away; the side 0.5535: the end is nearest.
    """
    plan = plan_of_file("tapered_with_lugs")
    assert [height(plan, end) for end in ENDS] == [pytest.approx(0.391, abs=EXACT)] * 2
    hole = next(each for each in plan.holes if each.name == "coupler_a")
    assert inches(hole.x_mm) == pytest.approx(2.600, abs=EXACT)
    assert inches(hole.edge_mm) == pytest.approx(0.2605, abs=EXACT)


def test_a_flat_car_whose_deck_is_its_floor() -> None:
    """By hand: the deck is 6.420 by 1.210 and is not cut; underside 0.298 + 0.149 = 0.447; couplers 0.389.

    Sill 0.447 + 0.115 - 0.140 = 0.422, 0.002 over the 0.420 wanted. Coupler screw 3.210 - 0.265 = 2.945 from mid-car,
    0.265 from the end. 0.115 in of deck is less than 1.5 x 0.086 = 0.129 for a 2-56 screw, and no block: fail.
    """
    plan = plan_of_file("flat_car")
    floor = plan.floor
    assert (floor.stays, floor.cut_length, floor.cut_width) == (True, None, None)
    assert (inches(floor.length), inches(floor.width)) == (pytest.approx(6.420), pytest.approx(1.210))
    piece = next(each for each in plan.pieces if each.name == "floor")
    assert (known(piece.quantity), piece.material) == (0.0, "as found")
    assert [error(plan, end) for end in ENDS] == [pytest.approx(-0.002, abs=EXACT)] * 2
    assert inches(plan.sill_heights.a) == pytest.approx(0.422, abs=EXACT)
    assert verdicts_of(plan)["sill_height"] == "ok"
    hole = next(each for each in plan.holes if each.name == "coupler_b")
    assert (inches(hole.x_mm), inches(hole.edge_mm)) == (
        pytest.approx(-2.945, abs=EXACT),
        pytest.approx(0.265, abs=EXACT),
    )
    assert inches(hole.depth_mm) == pytest.approx(0.115, abs=EXACT)
    assert verdicts_of(plan)["thread_depth_coupler_b"] == "fail"


def test_a_kept_metal_floor() -> None:
    """By hand: bolster 0.100 + 0.060, underside 0.289 + 0.160 = 0.449; face 0.458; couplers 0.395, 0.004 high.

    The floor stays at 0.032 and 5.790 by 1.118, is not cut and has no wanted thickness. It is of metal: a 2-56 screw
    finds 0.032 x 56 = 1.792 turns of the 3 wanted, a nut holds it, and no block of styrene is planned.
    """
    plan = plan_of_file("kept_metal_floor")
    floor = plan.floor
    assert (floor.stays, floor.wanted_thickness, floor.layers, floor.cut_length) == (True, None, (), None)
    assert inches(floor.thickness) == pytest.approx(0.032, abs=EXACT)
    assert (inches(floor.length), inches(floor.width)) == (pytest.approx(5.790), pytest.approx(1.118))
    assert [error(plan, end) for end in ENDS] == [pytest.approx(0.004, abs=EXACT)] * 2
    hole = next(each for each in plan.holes if each.name == "truck_a")
    assert inches(hole.depth_mm) == pytest.approx(0.032, abs=EXACT)
    assert known(hole.turns) == pytest.approx(1.792, abs=1e-9)
    held = next(each for each in plan.findings if each.check == "thread_depth_truck_a")
    assert (held.verdict, known(held.margin)) == ("watch", pytest.approx(1.792 - 3.0))
    assert "of metal" in held.because
    assert "nut" in held.mend
    assert not [piece.name for piece in plan.pieces if piece.name.startswith("screw_block")]
    assert not [each.check for each in plan.findings if "plastic" in each.because]
    bolster = next(each for each in plan.pieces if each.name == "bolster_b")
    assert inches(bolster.thickness_mm) == pytest.approx(0.160, abs=EXACT)


@pytest.mark.parametrize("name", ALL)
def test_a_cure_taken_is_the_car_that_was_promised(name: str) -> None:
    """Each of the first cures, written into the file and planned again, stands as it was told, to what is written.

    Sizes without a text of their own are written to 0.0001 mm.
    """
    document = (CARS / f"{name}.toml").read_bytes()
    before = make_plan(read_car(document))
    for each in before.alternatives[:4]:
        taken = set_values(document, dict(each.changes))
        assert taken == document if each.as_it_is else taken != document
        after = make_plan(read_car(taken))
        for end in ENDS:
            promised = known(each.coupler_height.at(end))
            assert known(after.ride.ends.at(end).coupler_height) == pytest.approx(promised, abs=1e-4), each.name


@pytest.mark.parametrize("name", ALL)
def test_a_cure_taken_keeps_its_chance(name: str) -> None:
    """Each of the first cures, written into the file and planned again, passes as likely as it was told.

    Layers cut from one sheet share its doubt before and after; both chances are sampled, each to 0.003.
    """
    document = (CARS / f"{name}.toml").read_bytes()
    for each in make_plan(read_car(document)).alternatives[:4]:
        after = make_plan(read_car(set_values(document, dict(each.changes))))
        assert known(after.ride.pass_probability) == pytest.approx(known(each.pass_probability), abs=0.006), each.name


@pytest.mark.parametrize("name", ALL)
def test_every_awkward_car_says_what_it_cannot_know(name: str) -> None:
    """No check passes without its number: what is ``ok`` has a value, and what is ``unknown`` names a measurement."""
    for finding in plan_of_file(name).findings:
        if finding.verdict == "ok":
            assert finding.value is not None, finding.check
        if finding.verdict == "unknown":
            assert finding.needs, finding.check
        assert finding.because.endswith("."), finding.check


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("end", ENDS)
def test_every_awkward_car_stands_on_its_layers(name: str, end: End) -> None:
    """The layers drawn from the rail up meet without a gap, up to the floor."""
    result = end_of(plan_of_file(name), end)
    stack = [layer for layer in result.stack if layer.name != "coupler"]
    assert stack[0].bottom.value == 0.0
    for below, above in pairwise(stack):
        assert below.top.value == pytest.approx(above.bottom.value, abs=1e-12)
    assert stack[-1].top.value == pytest.approx(known(result.floor_underside), abs=1e-12)
