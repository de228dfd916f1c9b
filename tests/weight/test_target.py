"""Weights by hand: what the rules ask, what is there, what is still to come.

NMRA RP-20.1 (as copied in the data: HO 1 oz and 1/2 oz for each inch of body; N 1/2 oz and 0.15 oz) and NEM 302 (2015:
0.4 g/mm over buffers in H0) are checked as values in the reference tests; here the plan's sums are worked by hand.
One ounce avoirdupois is 28.349523125 g exactly (the international pound of 1959).
"""

from __future__ import annotations

import pytest
from tests.ride.planned import known, plan_of

from carwright.plan import Plan

OUNCE = 28.349523125
BODY = {"car.scale": "HO", "body.length": "6.250", "body.mass": "22 g"}


def verdict_of(plan: Plan) -> str:
    """Return the verdict on the weight."""
    return next(each for each in plan.findings if each.check == "weight").verdict


def test_rp_20_1_by_hand() -> None:
    """A body of 6.250 in asks 1 + 6.25/2 = 4.125 oz = 116.94 g in HO, its body's length and not that over couplers."""
    weight = plan_of(BODY | {"body.over_buffers": "6.600"}).weight
    assert (weight.rule, weight.length_used) == ("RP-20.1", "body")
    assert known(weight.target) == pytest.approx(4.125 * OUNCE, abs=1e-9)
    assert known(weight.target) == pytest.approx(116.94, abs=0.005)


def test_rp_20_1_in_n_by_hand() -> None:
    """RP-20.1 in N: 1/2 oz and 0.15 oz an inch; 3.100 in ask 0.965 oz = 27.36 g."""
    weight = plan_of({"car.scale": "N", "body.length": "3.100"}).weight
    assert known(weight.target) == pytest.approx((0.5 + 0.15 * 3.1) * OUNCE, abs=1e-9)
    assert known(weight.target) == pytest.approx(27.36, abs=0.005)


def test_nem_302_by_hand() -> None:
    """NEM 302 in H0: 0.4 g for each mm over buffers; 152.5 mm ask 61.0 g, and without that length nothing is known."""
    car = {"car.scale": "H0", "car.standard": "NEM", "car.units": "mm", "body.length": "139.0"}
    weight = plan_of(car | {"body.over_buffers": "152.5"}).weight
    assert (weight.rule, weight.length_used) == ("NEM 302", "over buffers")
    assert known(weight.target) == pytest.approx(61.0, abs=1e-9)
    without = plan_of(car)
    assert without.weight.target is None
    assert "body.over_buffers" in without.weight.needs
    assert verdict_of(without) == "unknown"


def test_a_rule_may_be_chosen_against_the_standard() -> None:
    """An NMRA car may be weighed by NEM 302, and a target of one's own outranks both."""
    assert plan_of(BODY | {"weight.rule": "NEM 302", "body.over_buffers": "6.500"}).weight.rule == "NEM 302"
    own = plan_of(BODY | {"weight.target": "120 g"}).weight
    assert (own.rule, known(own.target)) == ("own", 120.0)


def test_what_is_there_and_what_is_to_come_by_hand() -> None:
    """Shell 22 g; trucks and couplers missing: 2 x 8.5 + 2 x 1.2 = 19.4 g to fit; 116.94 - 41.4 = 75.54 g to add."""
    values = BODY | {"trucks.mass": "8.5 g", "coupler.mass": "1.2 g", "car.missing": ["trucks", "couplers"]}
    weight = plan_of(values).weight
    assert known(weight.present) == pytest.approx(22.0)
    assert known(weight.to_fit) == pytest.approx(19.4)
    assert known(weight.to_add) == pytest.approx(4.125 * OUNCE - 41.4, abs=1e-9)
    assert weight.needs == ()


def test_a_light_car_says_how_much_to_add_by_hand() -> None:
    """A car 75.54 g short is watched and says so in both units (75.54 g / 28.3495 = 2.66 oz); 2 g short is not."""
    values = BODY | {"trucks.mass": "8.5 g", "coupler.mass": "1.2 g"}
    light = next(each for each in plan_of(values).findings if each.check == "weight")
    assert light.verdict == "watch"
    assert light.because.startswith("Add 75.5 g (2.66 oz). ")
    near = plan_of(values | {"body.mass": "95.5 g"})
    assert known(near.weight.to_add) == pytest.approx(4.125 * OUNCE - 114.9)
    assert verdict_of(near) == "ok"


def test_what_is_not_missing_is_present() -> None:
    """Trucks that are there count as present, and ends may differ: 22 + 8.5 + 9.1 + 2 x 1.2 = 42.0 g."""
    values = BODY | {"trucks.a.mass": "8.5 g", "trucks.b.mass": "9.1 g", "coupler.mass": "1.2 g"}
    weight = plan_of(values).weight
    assert known(weight.present) == pytest.approx(42.0)
    assert known(weight.to_fit) == pytest.approx(0.0)


def test_a_weight_found_on_the_scale_outranks_the_sum_of_parts() -> None:
    """With the whole car weighed at 60 g its parts are not counted again."""
    values = BODY | {"found.weight": "60 g", "trucks.mass": "8.5 g", "coupler.mass": "1.2 g"}
    weight = plan_of(values).weight
    assert known(weight.present) == pytest.approx(60.0)
    assert known(weight.to_add) == pytest.approx(4.125 * OUNCE - 60.0, abs=1e-9)


def test_the_floor_still_to_be_cut_weighs_by_hand() -> None:
    """Styrene at 1.04 g/cm3: 5.790 x 1.090 x 0.060 in = 6.2053 cm3, 6.4535 g."""
    values = BODY | {
        "body.inside_length": "5.800",
        "body.inside_width": "1.100",
        "underframe.layers": ["0.060"],
    }
    weight = plan_of(values).weight
    by_hand = 5.790 * 1.090 * 0.060 * 2.54**3 * 1.04
    assert by_hand == pytest.approx(6.4535, abs=1e-3)
    assert known(weight.to_fit) == pytest.approx(by_hand, abs=1e-9)


def test_a_floor_that_stays_is_not_weighed_twice() -> None:
    """A kept floor is part of the shell on the scale, so it adds nothing to what is to be fitted."""
    values = BODY | {
        "body.inside_length": "5.800",
        "body.inside_width": "1.100",
        "body.floor": "kept",
        "body.floor_thickness": "0.060",
    }
    assert known(plan_of(values).weight.to_fit) == pytest.approx(0.0)


def test_an_unweighed_part_is_named_and_not_counted_as_nothing() -> None:
    """Without the trucks' mass the sum says what it leaves out."""
    weight = plan_of(BODY | {"coupler.mass": "1.2 g"}).weight
    assert "trucks.mass" in weight.needs


def test_a_car_that_is_too_heavy_is_watched() -> None:
    """A shell of 150 g for a target of 116.94 g is over, and a watch: it seldom matters (common practice)."""
    plan = plan_of(BODY | {"body.mass": "150 g", "trucks.mass": "8 g", "coupler.mass": "1 g"})
    assert known(plan.weight.to_add) < 0
    assert verdict_of(plan) == "watch"
