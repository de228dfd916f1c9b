"""Heights of both couplers by hand: the rigid beam, the stack at each end, and every part that may stand in it.

Every figure of this module is worked in the test from the file's own inches; nothing comes from the program. The
lever is statics of a rigid beam on two supports. Which part raises and which lowers a coupler is common practice.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.ride.planned import INCH, LEVEL, end_of, error, height, inches, known, mirrored, plan_of

from carwright.car.model import ENDS, End

EXACT = 1e-9
"""In inches: the sums are the same arithmetic, in another order."""

SECTION_5 = {
    "car.scale": "HO",
    "body.length": "6 1/8",
    "trucks.centers": "4 1/2",
    "trucks.seat_height": "0.284",
    "trucks.a.seat_height": "0.278",
    "coupler.drop": "0.062",
    "coupler.pivot_inset": "0.25",
    "coupler.length": "0.39",
    "underframe.bolster": "0.165",
}
"""The invented car that the design follows, as far as its heights go (our own figures, not a published check)."""


def test_the_level_car_by_hand() -> None:
    """A car alike at both ends stands at seat + bolster - drop: 0.300 + 0.150 - 0.060 = 0.390 in, 0.001 low."""
    plan = plan_of(LEVEL)
    for end in ENDS:
        assert inches(end_of(plan, end).floor_underside) == pytest.approx(0.450, abs=EXACT)
        assert inches(end_of(plan, end).mounting_face) == pytest.approx(0.450, abs=EXACT)
        assert height(plan, end) == pytest.approx(0.390, abs=EXACT)
        assert error(plan, end) == pytest.approx(-0.001, abs=EXACT)


def test_the_worked_car_by_hand() -> None:
    """The design's car stands 0.011 in low at A and 0.003 in low at B (own figures), each step kept here.

    a = 4.5/2 = 2.25;  c = 6.125/2 - 0.25 + 0.39 = 3.2025;  overhang c - a = 0.9525.
    underside A 0.278 + 0.165 = 0.443;  B 0.284 + 0.165 = 0.449;  slope (0.443 - 0.449)/4.5 = -0.001333.
    face A 0.443 - 0.001333 x 0.9525 = 0.44173, less 0.062 = 0.37973, error -0.01127.
    face B 0.449 + 0.001333 x 0.9525 = 0.45027, less 0.062 = 0.38827, error -0.00273.
    """
    plan = plan_of(SECTION_5)
    assert inches(end_of(plan, "a").x_face) == pytest.approx(3.2025, abs=EXACT)
    assert inches(end_of(plan, "b").x_face) == pytest.approx(-3.2025, abs=EXACT)
    assert inches(end_of(plan, "a").mounting_face) == pytest.approx(0.44173, abs=EXACT)
    assert inches(end_of(plan, "b").mounting_face) == pytest.approx(0.45027, abs=EXACT)
    assert error(plan, "a") == pytest.approx(-0.01127, abs=EXACT)
    assert error(plan, "b") == pytest.approx(-0.00273, abs=EXACT)
    assert plan.ride.worse == "a"


def test_the_worked_cars_washer_by_hand() -> None:
    """One 0.010 in washer at A brings that car to +0.001 at A and -0.005 at B (own figures).

    A rises 0.010 x (3.2025 + 2.25)/4.5 = 0.012117, so -0.01127 + 0.012117 = +0.000847;
    B sinks 0.010 x (3.2025 - 2.25)/4.5 = 0.002117, so -0.00273 - 0.002117 = -0.004847.
    """
    plan = plan_of(SECTION_5 | {"trucks.a.washers": ["0.010"]})
    assert error(plan, "a") == pytest.approx(0.000847, abs=5e-7)
    assert error(plan, "b") == pytest.approx(-0.004847, abs=5e-7)
    first = plan_of(SECTION_5, '[[shelf.washer]]\nthickness = "0.010"\ncount = 20\n').alternatives[0]
    assert [known(each) for each in first.washers.a] == [pytest.approx(0.254)]
    assert first.washers.b == ()
    assert (inches(first.error.a), inches(first.error.b)) == (
        pytest.approx(0.000847, abs=5e-7),
        pytest.approx(-0.004847, abs=5e-7),
    )


@settings(max_examples=20)
@given(
    washer=st.integers(5, 60),
    half_centers=st.integers(1500, 2450),
    inset=st.integers(100, 500),
    length=st.integers(200, 700),
)
def test_the_washers_lever(washer: int, half_centers: int, inset: int, length: int) -> None:
    """A washer t at A raises coupler A by t(c + a)/2a and lowers B by t(c - a)/2a, whatever the car's sizes."""
    a, t = half_centers / 1000, washer / 1000
    c = 3.0 - inset / 1000 + length / 1000
    sizes = {
        "trucks.centers": f"{2 * half_centers / 1000:.3f}",
        "coupler.pivot_inset": f"{inset / 1000:.3f}",
        "coupler.length": f"{length / 1000:.3f}",
    }
    without = plan_of(LEVEL | sizes)
    fitted = plan_of(LEVEL | sizes | {"trucks.a.washers": [f"{t:.3f}"]})
    assert height(fitted, "a") - height(without, "a") == pytest.approx(t * (c + a) / (2 * a), abs=EXACT)
    assert height(fitted, "b") - height(without, "b") == pytest.approx(-t * (c - a) / (2 * a), abs=EXACT)


def test_trucks_at_unlike_insets_are_a_beam_too() -> None:
    """With trucks 0.7 in (A) and 1.1 in (B) from the ends, x_A = 2.3, x_B = -1.9, pulling faces at 3.1 and -3.1.

    Seats 0.310 and 0.296: slope (0.460 - 0.446)/4.2 = 1/300;
    coupler A 0.446 + (3.1 + 1.9)/300 - 0.060 = 0.402667;  B 0.446 + (-3.1 + 1.9)/300 - 0.060 = 0.382.
    """
    values = {k: v for k, v in LEVEL.items() if k != "trucks.centers"}
    plan = plan_of(
        values
        | {
            "trucks.a.inset": "0.700",
            "trucks.b.inset": "1.100",
            "trucks.a.seat_height": "0.310",
            "trucks.b.seat_height": "0.296",
        }
    )
    assert inches(end_of(plan, "a").x_pivot) == pytest.approx(2.3, abs=EXACT)
    assert inches(end_of(plan, "b").x_pivot) == pytest.approx(-1.9, abs=EXACT)
    assert height(plan, "a") == pytest.approx(0.402666667, abs=1e-8)
    assert height(plan, "b") == pytest.approx(0.382, abs=EXACT)
    assert known(plan.ride.lever.a) == pytest.approx((3.1 + 1.9) / 4.2, abs=1e-12)
    assert known(plan.ride.lever.b) == pytest.approx((-3.1 + 1.9) / 4.2, abs=1e-12)


@pytest.mark.parametrize(
    ("key", "text", "change"),
    [
        ("coupler.a.shim", "0.015", -0.015),  # between floor and coupler: lowers
        ("coupler.a.recess", "0.020", 0.020),  # let into the floor: raises
        ("coupler.a.shank_offset", "0.031", 0.031),  # upward offset: raises
        ("coupler.a.shank_offset", "-0.031", -0.031),
        ("coupler.a.droop", "0.004", -0.004),  # a head that hangs: lowers
        ("coupler.a.drop", "0.055", 0.005),  # 0.060 before
    ],
)
def test_what_moves_one_coupler_alone(key: str, text: str, change: float) -> None:
    """A shim lowers, a recess raises, a shank offset goes with its sign: one to one there, nothing at the other end."""
    before, after = plan_of(LEVEL), plan_of(LEVEL | {key: text})
    assert height(after, "a") - height(before, "a") == pytest.approx(change, abs=EXACT)
    assert height(after, "b") == pytest.approx(height(before, "b"), abs=EXACT)


def test_a_screw_block_moves_nothing() -> None:
    """A screw block lies on top of the floor, so both couplers stay where they were."""
    with_block = plan_of(LEVEL | {"underframe.screw_block": "0.100"})
    assert [height(with_block, end) for end in ENDS] == [height(plan_of(LEVEL), end) for end in ENDS]


def test_new_wheels_count_half() -> None:
    """Wheels 0.024 in larger in diameter raise a level car by half of that, 0.012 in, at both ends."""
    measured = LEVEL | {"trucks.wheel_diameter": "0.380"}
    before, after = plan_of(measured), plan_of(measured | {"trucks.wheels": "0.404"})
    for end in ENDS:
        assert height(after, end) - height(before, end) == pytest.approx(0.012, abs=EXACT)


def test_new_wheels_at_one_end_work_through_the_lever() -> None:
    """Larger wheels under truck A alone, +0.020 in, lift it 0.010: A by 0.010 x 5.1/4 = 0.01275, B by -0.00275."""
    measured = LEVEL | {"trucks.wheel_diameter": "0.380"}
    before, after = plan_of(measured), plan_of(measured | {"trucks.a.wheels": "0.400"})
    assert height(after, "a") - height(before, "a") == pytest.approx(0.01275, abs=EXACT)
    assert height(after, "b") - height(before, "b") == pytest.approx(-0.00275, abs=EXACT)


def test_layers_of_a_bolster_add_up() -> None:
    """A bolster of three layers is as high as their sum; a gap-filling glue adds 0.002 in a joint (common practice)."""
    layers = LEVEL | {"underframe.bolster": ["0.080", "0.040", "0.030"]}
    assert height(plan_of(layers), "a") == pytest.approx(0.300 + 0.150 - 0.060, abs=EXACT)
    glued = plan_of(layers | {"underframe.glue": "gap-filling"})
    assert height(glued, "a") == pytest.approx(0.300 + 0.150 + 2 * 0.002 - 0.060, abs=EXACT)


@pytest.mark.parametrize("end", ENDS)
def test_a_coupler_on_its_truck_knows_no_body(end: End) -> None:
    """A coupler on its truck stands as measured, plus half a change of wheels and its offset; no bolster enters."""
    values = LEVEL | {
        "coupler.mount": "truck",
        "coupler.height": "0.380",
        "coupler.shank_offset": "0.005",
        "trucks.wheel_diameter": "0.380",
        "trucks.wheels": "0.390",
        "trucks.a.seat_height": "0.200",
        "trucks.a.washers": ["0.030"],
    }
    plan = plan_of(values)
    assert height(plan, end) == pytest.approx(0.380 + 0.005 + 0.005, abs=EXACT)
    assert end_of(plan, end).mounting_face is None


def test_a_coupler_on_its_truck_at_one_end_only() -> None:
    """With A on its truck, raising truck A moves A by nothing and the body's coupler at B by t(c - a)/2a downward."""
    values = LEVEL | {"coupler.a.mount": "truck", "coupler.a.height": "0.388"}
    before, after = plan_of(values), plan_of(values | {"trucks.a.washers": ["0.020"]})
    assert height(after, "a") == pytest.approx(0.388, abs=EXACT)
    assert height(after, "b") - height(before, "b") == pytest.approx(-0.020 * 1.1 / 4.0, abs=EXACT)


def test_a_pocket_is_compared_at_the_top_of_its_opening() -> None:
    """A pocket at 8.10 + 2.10 - 1.75 = 8.45 mm stands 0.05 mm below the 8.5 mm of NEM 362 (quoted in NEM 004)."""
    plan = plan_of(
        {
            "car.scale": "H0",
            "car.standard": "NEM",
            "car.units": "mm",
            "body.length": "150.0",
            "trucks.centers": "100.0",
            "trucks.seat_height": "8.10",
            "underframe.bolster": "2.10",
            "coupler.mount": "pocket",
            "coupler.drop": "1.75",
            "coupler.pivot_inset": "7.5",
            "coupler.length": "16.5",
        }
    )
    for end in ENDS:
        result = end_of(plan, end)
        assert result.measured_at == "pocket top"
        assert known(result.coupler_height) == pytest.approx(8.45, abs=EXACT)
        assert known(result.error) == pytest.approx(-0.05, abs=EXACT)
        assert known(result.limit) == pytest.approx(0.2, abs=EXACT)


def test_a_pocket_is_never_held_against_a_centre_line() -> None:
    """A pocket under a standard that gives a centre line has no target until the owner gives one."""
    pocket = LEVEL | {"coupler.mount": "pocket"}
    assert end_of(plan_of(pocket), "a").error is None
    verdicts = {f.check: f.verdict for f in plan_of(pocket).findings}
    assert verdicts["coupler_height_a"] == verdicts["coupler_height_b"] == "unknown"
    owned = plan_of(pocket | {"coupler.target_height": "0.392"})
    assert error(owned, "a") == pytest.approx(-0.002, abs=EXACT)
    assert end_of(owned, "a").measured_at == "pocket top"


def test_the_owners_gauge_outranks_the_data() -> None:
    """Against the owner's 0.395 ± 0.004 in the level car at 0.390 is 0.005 low and outside."""
    plan = plan_of(LEVEL | {"coupler.target_height": "0.395", "coupler.tolerance": "0.004"})
    assert error(plan, "a") == pytest.approx(-0.005, abs=EXACT)
    assert inches(end_of(plan, "a").limit) == pytest.approx(0.004, abs=EXACT)
    assert {f.check: f.verdict for f in plan.findings}["coupler_height_a"] == "fail"


def test_ends_exchanged_exchange_the_results() -> None:
    """Swapping everything that stands at A and at B swaps heights, errors and doubts, and nothing else."""
    values = LEVEL | {
        "trucks.a.seat_height": "0.293",
        "trucks.b.washers": ["0.005"],
        "coupler.a.shim": "0.004",
        "coupler.b.droop": "0.002",
        "underframe.b.bolster": "0.160",
        "coupler.a.pivot_inset": "0.270",
    }
    plan, turned = plan_of(values), plan_of(mirrored(values))
    for end, other in (("a", "b"), ("b", "a")):
        here, there = plan.ride.ends.at(end), turned.ride.ends.at(other)
        for name in ("floor_underside", "mounting_face", "coupler_height", "error", "worst_case", "rss"):
            assert known(getattr(here, name)) == pytest.approx(known(getattr(there, name)), abs=1e-12), name
        assert known(here.pass_probability) == pytest.approx(known(there.pass_probability), abs=0.003)
    assert known(plan.ride.pass_probability) == pytest.approx(known(turned.ride.pass_probability), abs=0.003)
    assert {plan.ride.worse, turned.ride.worse} == {"a", "b"}


def test_a_car_alike_at_both_ends_is_alike_in_its_results() -> None:
    """On a car that is its own mirror image both ends have one height, one doubt and one chance."""
    ride = plan_of(LEVEL).ride
    assert known(ride.ends.a.coupler_height) == known(ride.ends.b.coupler_height)
    assert known(ride.ends.a.rss) == pytest.approx(known(ride.ends.b.rss), abs=1e-12)
    assert known(ride.ends.a.pass_probability) == pytest.approx(known(ride.ends.b.pass_probability), abs=0.003)


def test_the_plain_result_is_the_worse_ends() -> None:
    """The plain keys of the plan repeat the end with the larger error, A on a tie."""
    assert plan_of(LEVEL).ride.worse == "a"
    assert plan_of(LEVEL | {"trucks.b.seat_height": "0.280"}).ride.worse == "b"
    assert plan_of(LEVEL | {"trucks.a.seat_height": "0.280"}).ride.worse == "a"


@pytest.mark.parametrize(
    ("key", "needs"),
    [
        ("trucks.seat_height", "trucks.seat_height"),
        ("underframe.bolster", "underframe.bolster"),
        ("coupler.drop", "coupler.drop"),
    ],
)
def test_a_missing_part_is_named_and_not_guessed(key: str, needs: str) -> None:
    """Without a part of the stack the height is unknown and the part is named."""
    plan = plan_of({k: v for k, v in LEVEL.items() if k != key})
    for end in ENDS:
        assert end_of(plan, end).coupler_height is None
        assert needs in end_of(plan, end).needs


def test_the_mounting_face_of_common_practice() -> None:
    """A centred coupler 1/16 in below its face wants the face at 29/64 in: 0.453125 - 0.0625 = 0.390625 in.

    That is 0.000375 in, 0.0004 in rounded, below 0.391 in (common practice, no document).
    """
    plan = plan_of(LEVEL | {"trucks.seat_height": "19/64", "underframe.bolster": "5/32", "coupler.drop": "1/16"})
    assert inches(end_of(plan, "a").mounting_face) == pytest.approx(29 / 64, abs=EXACT)
    assert height(plan, "a") == pytest.approx(0.390625, abs=EXACT)
    assert error(plan, "a") == pytest.approx(-0.000375, abs=EXACT)
    assert round(known(end_of(plan, "a").error) / INCH, 4) == -0.0004
