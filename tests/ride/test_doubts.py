"""Worst case, root sum square, and what to measure better: by hand, and against a library of linear error propagation.

Definitions are the design's own: worst case = sum of |s t|, rss = sqrt of the sum of (s t)^2, whatever the shapes;
shares go by variance, t²/3 rectangular, t²/4 normal, t²/6 triangular. The library is ``uncertainties``: linear
propagation by automatic differentiation of the heights written down once more in the test.
"""

from __future__ import annotations

import math

import pytest
import uncertainties
from tests.ride.planned import INCH, end_of, inches, known, plan_of
from tests.ride.test_chance import AGREED

from carwright.car.model import ENDS

DOUBTED = {
    "car.scale": "HO",
    "body.length": "6.000 ± 0.010 rect",
    "trucks.centers": "4.000 ± 0.008 rect",
    "trucks.seat_height": "0.300 ± 0.002 rect",
    "coupler.drop": "0.060 ± 0.0015 tri",
    "coupler.pivot_inset": "0.300 ± 0.010 rect",
    "coupler.length": "0.400 ± 0.005 rect",
    "underframe.bolster": "0.150 ± 0.001 normal",
}
"""The level car with every doubt written out: a = 2.0, c = 3.1, l = (3.1 + 2.0)/4 = 1.275 and 1 - l = -0.275."""


def test_worst_case_and_rss_of_a_level_car_by_hand() -> None:
    """Seats and bolsters count 1.275 and 0.275 times, the drop once; on a level floor no place along the car enters.

    worst: (1.275 + 0.275)(0.002 + 0.001) + 0.0015 = 1.55 x 0.003 + 0.0015 = 0.00615.
    rss²: (1.275² + 0.275²)(0.002² + 0.001²) + 0.0015² = 1.70125 x 5e-6 + 2.25e-6 = 1.075625e-5; rss 0.0032797.
    """
    plan = plan_of(DOUBTED)
    for end in ENDS:
        assert inches(end_of(plan, end).worst_case) == pytest.approx(0.00615, abs=1e-9)
        assert inches(end_of(plan, end).rss) == pytest.approx(math.sqrt(1.075625e-5), abs=1e-9)


def test_layers_of_one_sheet_are_one_contributor_called_by_the_sheet() -> None:
    """Two bolsters of two layers, all typed 0.075, hang on one sheet's thickness, and it is called by the sheet."""
    shares = {share.name for share in end_of(plan_of(DOUBTED | {"underframe.bolster": ["0.075", "0.075"]}), "b").shares}
    assert "0.075 sheet of 4 layers" in shares
    assert not any("bolster" in name for name in shares)


def test_shares_of_a_level_car_by_hand() -> None:
    """The seat at A has 70.6 percent of the doubt of A's coupler.

    Variances in 1e-6 in²: seats 1.275² 4/3 = 2.1675 and 0.275² 4/3 = 0.10083, bolsters 1.275²/4 and 0.275²/4, drop
    2.25/6. Sum 2.1675 + 0.100833 + 0.406406 + 0.018906 + 0.375 = 3.068646; 2.1675/3.068646 = 0.706.
    """
    shares = {share.name: known(share.share) for share in end_of(plan_of(DOUBTED), "a").shares}
    total = 2.1675 + 0.275**2 * 4 / 3 + 1.275**2 / 4 + 0.275**2 / 4 + 0.375
    assert shares == {
        "truck seat A": pytest.approx(2.1675 / total, abs=1e-9),
        "truck seat B": pytest.approx(0.275**2 * 4 / 3 / total, abs=1e-9),
        "bolster A": pytest.approx(1.275**2 / 4 / total, abs=1e-9),
        "bolster B": pytest.approx(0.275**2 / 4 / total, abs=1e-9),
        "drop of coupler A": pytest.approx(0.375 / total, abs=1e-9),
    }
    assert next(iter(shares)) == "truck seat A"  # the first is what to measure better
    assert sum(shares.values()) == pytest.approx(1.0, abs=1e-12)


def test_a_typed_value_for_both_ends_is_two_things() -> None:
    """Two trucks, bolsters and couplers of one typed size err on their own: A's drop is no doubt of B."""
    plan = plan_of(DOUBTED)
    names = {each.name for each in plan.ride.contributors}
    assert {"truck seat A", "truck seat B", "bolster A", "bolster B", "drop of coupler A", "drop of coupler B"} == names
    assert "drop of coupler A" not in {share.name for share in end_of(plan, "b").shares}


@pytest.mark.parametrize("by_inset", [False, True])
def test_a_sloping_floor_against_a_library_of_error_propagation(by_inset: bool) -> None:
    """On a sloping floor places along the car enter too: every sensitivity is that of automatic differentiation."""
    values = DOUBTED | {"trucks.a.seat_height": "0.260 ± 0.003 rect", "coupler.b.shim": "0.010 ± 0.0008 rect"}
    wheels = {"trucks.wheel_diameter": "0.380 ± 0.002 rect", "trucks.wheels": "0.384 ± 0.003 normal"}
    washer = {"trucks.b.washers": ["0.010 ± 0.001 normal"]}
    values = values | wheels | washer
    u = uncertainties.ufloat
    length, drops = u(6.0, 0.010), [u(0.060, 0.0015), u(0.060, 0.0015)]
    if by_inset:
        del values["trucks.centers"]
        values |= {"trucks.a.inset": "1.000 ± 0.006 rect", "trucks.b.inset": "1.200 ± 0.007 rect"}
        x_a, x_b = length / 2 - u(1.0, 0.006), -(length / 2 - u(1.2, 0.007))
    else:
        centers = u(4.0, 0.008)
        x_a, x_b = centers / 2, -centers / 2
    f_a = length / 2 - u(0.300, 0.010) + u(0.400, 0.005)
    f_b = -(length / 2 - u(0.300, 0.010) + u(0.400, 0.005))
    rise = [(u(0.384, 0.003) - u(0.380, 0.002)) / 2 for _ in ENDS]
    h_a = u(0.260, 0.003) + rise[0] + u(0.150, 0.001)
    h_b = u(0.300, 0.002) + rise[1] + u(0.010, 0.001) + u(0.150, 0.001)
    slope = (h_a - h_b) / (x_a - x_b)
    oracle = {
        "a": h_b + slope * (f_a - x_b) - drops[0],
        "b": h_b + slope * (f_b - x_b) - drops[1] - u(0.010, 0.0008),
    }
    plan = plan_of(values)
    for end in ENDS:
        result = end_of(plan, end)
        assert inches(result.coupler_height) == pytest.approx(oracle[end].nominal_value, abs=1e-9)
        assert inches(result.rss) == pytest.approx(oracle[end].std_dev, rel=1e-6)
        parts = [abs(part) for part in oracle[end].error_components().values()]
        assert inches(result.worst_case) == pytest.approx(sum(parts), rel=1e-6)


def test_sheet_of_both_bolsters_is_one_doubt() -> None:
    """Layers cut from one sheet err together: two layers at each end count as 2 (l + 1 - l) = 2 times one doubt.

    Wanted at each end 0.451 - 0.300 = 0.151: two layers of 0.0755 fit exactly; ± 0.001 of the sheet moves each height
    0.002, against (1.275 + 0.275) x 2 x 0.001 = 0.0031 if every layer were its own.
    """
    values = DOUBTED | {"underframe.bolster": "build"}
    plan = plan_of(values, '[[shelf.sheet]]\nthickness = "0.0755 ± 0.001 rect"\n')
    seats, drop = 1.55 * 0.002, 0.0015
    for end in ENDS:
        assert inches(end_of(plan, end).coupler_height) == pytest.approx(0.391, abs=1e-9)
        assert inches(end_of(plan, end).worst_case) == pytest.approx(seats + drop + 0.002, abs=1e-9)
        rss = math.sqrt(1.70125 * 4e-6 + 2.25e-6 + 4e-6)
        assert inches(end_of(plan, end).rss) == pytest.approx(rss, abs=1e-9)


def test_a_thicker_sheet_lifts_both_ends_alike() -> None:
    """Where two layers at each end come from one sheet, a thicker sheet lifts both couplers twice as much."""
    plan = plan_of(DOUBTED | {"underframe.bolster": "build"}, '[[shelf.sheet]]\nthickness = "0.0755 ± 0.001 rect"\n')
    (sheet,) = [each for each in plan.ride.contributors if each.reading.key.startswith("shelf.sheet")]
    assert (known(sheet.at_a), known(sheet.at_b)) == (pytest.approx(2.0), pytest.approx(2.0))


def test_nominal_parts_have_no_doubt() -> None:
    """A wish and a size by name add nothing to the doubt."""
    plan = plan_of(
        {k: v.partition(" ±")[0] for k, v in DOUBTED.items()}
        | {
            "trucks.seat_height": "0.300 ± 0.002 rect",
            "coupler.drop": "#53",
            "underframe.bolster": "#23",
        }
    )
    assert {share.name for share in end_of(plan, "a").shares} == {"truck seat A", "truck seat B"}


@pytest.mark.parametrize(("target", "near"), [("0.3925", 0.9), ("0.3945", 0.35)])
def test_the_chance_of_a_level_car_by_its_own_variables(target: str, near: float) -> None:
    """The chance at both ends is that of the doubts written out by hand, by convolution, against ± 0.005 in."""
    from tests.ride.convolution import convolved

    from carwright.ride.chance import Doubt

    plan = plan_of(DOUBTED | {"coupler.target_height": target, "coupler.tolerance": "0.005"})
    t = INCH / 1000
    by_hand = [
        Doubt(1.275, -0.275, 2 * t, "rect"),
        Doubt(-0.275, 1.275, 2 * t, "rect"),
        Doubt(1.275, -0.275, 1 * t, "normal"),
        Doubt(-0.275, 1.275, 1 * t, "normal"),
        Doubt(-1, 0, 1.5 * t, "tri"),
        Doubt(0, -1, 1.5 * t, "tri"),
    ]
    low = (0.390 - float(target)) * INCH
    exact = convolved(by_hand, error_a_mm=low, error_b_mm=low, limit_a_mm=5 * t, limit_b_mm=5 * t)
    assert exact == pytest.approx(near, abs=0.1)
    assert known(plan.ride.pass_probability) == pytest.approx(exact, abs=AGREED)
