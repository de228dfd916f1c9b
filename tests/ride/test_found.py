"""A car that stands: what was gauged is where the reckoning starts, and the stack has to explain it.

Hand sums with the level car of ``planned``: l = 1.275 and 1 - l = -0.275; its parts add up to 0.390 in.
"""

from __future__ import annotations

import pytest
from tests.ride.planned import INCH, LEVEL, end_of, inches, known, plan_of

from carwright.car.model import ENDS
from carwright.ride.model import Alternative

FOUND = LEVEL | {"found.a.coupler_height": "0.376", "found.b.coupler_height": "0.389"}
WASHER = '[[shelf.washer]]\nthickness = "0.010"\ncount = 1\n[[shelf.sheet]]\nthickness = "0.250"\n'


def by_name(alternatives: tuple[Alternative, ...], name: str) -> Alternative:
    """Return the alternative of that name."""
    return next(each for each in alternatives if each.name == name)


def test_predicted_less_found() -> None:
    """Parts that add up to 0.390 in against gauged 0.376 and 0.389 in: 0.014 and 0.001 in more than was found."""
    plan = plan_of(FOUND)
    assert inches(end_of(plan, "a").predicted_minus_found) == pytest.approx(0.014, abs=1e-9)
    assert inches(end_of(plan, "b").predicted_minus_found) == pytest.approx(0.001, abs=1e-9)


def test_a_disagreement_beyond_the_tolerances_is_a_finding() -> None:
    """Stack and gauge may differ by both their tolerances together; 0.014 in at A is more, 0.001 at B is not."""
    verdicts = {finding.check: finding.verdict for finding in plan_of(FOUND).findings}
    assert verdicts["found_a"] == "watch"
    assert verdicts["found_b"] == "ok"


def test_the_limit_of_disagreement_is_both_tolerances_together() -> None:
    """Stack ± 0.00615 in (see test_doubts) and gauge ± 0.002 allow 0.00815: 0.0081 passes, 0.0083 does not."""
    from tests.ride.test_doubts import DOUBTED

    for found, verdict in (("0.3819", "ok"), ("0.3817", "watch")):
        values = DOUBTED | {"found.a.coupler_height": f"{found} ± 0.002 rect"}
        finding = next(each for each in plan_of(values).findings if each.check == "found_a")
        assert inches(finding.limit) == pytest.approx(0.00815, abs=1e-9)
        assert finding.verdict == verdict


def test_cures_start_from_what_was_gauged() -> None:
    """A 0.010 in washer at A lifts A from the gauged 0.376 in to 0.38875, and lowers B from 0.389 to 0.38625."""
    cure = by_name(plan_of(FOUND, WASHER).alternatives, "one 0.010 in washer at A")
    assert inches(cure.coupler_height.a) == pytest.approx(0.376 + 0.010 * 1.275, abs=1e-9)
    assert inches(cure.coupler_height.b) == pytest.approx(0.389 - 0.010 * 0.275, abs=1e-9)
    as_it_is = next(each for each in plan_of(FOUND, WASHER).alternatives if each.as_it_is)
    assert [inches(as_it_is.coupler_height.at(end)) for end in ENDS] == [
        pytest.approx(0.376, abs=1e-9),
        pytest.approx(0.389, abs=1e-9),
    ]


def test_a_gauged_end_carries_the_doubt_of_the_gauge_and_of_the_change_only() -> None:
    """Gauged to ± 0.002 rect, target 0.005 off, limit 0.006: 0.003 of 0.004 passes at each end, 0.75² together."""
    values = LEVEL | {
        "found.coupler_height": "0.386 ± 0.002 rect",
        "coupler.target_height": "0.391",
        "coupler.tolerance": "0.006",
    }
    as_it_is = next(each for each in plan_of(values, WASHER).alternatives if each.as_it_is)
    assert known(as_it_is.pass_probability) == pytest.approx(0.75**2, abs=0.003)


def test_a_washer_taken_out_of_a_gauged_car() -> None:
    """Taking the fitted 0.020 in washer out at A lowers A from the gauged 0.416 by 0.0255 to 0.3905."""
    values = LEVEL | {
        "trucks.a.washers": ["0.020"],
        "found.a.coupler_height": "0.416",
        "found.b.coupler_height": "0.385",
    }
    cure = by_name(plan_of(values, WASHER).alternatives, "take out the washer at A")
    assert inches(cure.coupler_height.a) == pytest.approx(0.416 - 0.020 * 1.275, abs=1e-9)
    assert inches(cure.coupler_height.b) == pytest.approx(0.385 + 0.020 * 0.275, abs=1e-9)


def test_a_car_gauged_at_one_end_only() -> None:
    """The end that was not gauged keeps the height of its stack, 0.390 in; the other starts from its gauge."""
    plan = plan_of(LEVEL | {"found.a.coupler_height": "0.379"}, WASHER)
    as_it_is = next(each for each in plan.alternatives if each.as_it_is)
    assert inches(as_it_is.coupler_height.a) == pytest.approx(0.379, abs=1e-9)
    assert inches(as_it_is.coupler_height.b) == pytest.approx(0.390, abs=1e-9)
    assert end_of(plan, "b").predicted_minus_found is None


def test_a_gauged_car_needs_no_stack() -> None:
    """With both heights gauged and the stack unknown, the heights are those gauged and are judged."""
    values = {k: v for k, v in FOUND.items() if k not in ("trucks.seat_height", "underframe.bolster")}
    plan = plan_of(values)
    assert inches(end_of(plan, "a").coupler_height) == pytest.approx(0.376, abs=1e-9)
    assert known(end_of(plan, "a").error) == pytest.approx((0.376 - 0.391) * INCH, abs=1e-9)
    assert {finding.check: finding.verdict for finding in plan.findings}["coupler_height_a"] == "fail"


def test_a_gauged_coupler_on_its_truck_rises_by_half_the_wheels() -> None:
    """Gauged at 0.372 in on its trucks with 33 in wheels, the car stands 1.5/87.1 in higher on 36 in wheels."""
    values = LEVEL | {
        "coupler.mount": "truck",
        "trucks.wheel_diameter": "33 in scale",
        "found.coupler_height": "0.372",
    }
    cure = next(each for each in plan_of(values, WASHER).alternatives if each.name.startswith("36 in wheels"))
    for end in ENDS:
        assert inches(cure.coupler_height.at(end)) == pytest.approx(0.372 + 1.5 / 87.1, abs=1e-9)
