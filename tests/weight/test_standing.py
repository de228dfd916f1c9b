"""How a car stands on its wheels and what pull tips it: by hand, and against a linear program over the wheel loads.

The oracle knows nothing of the formulas: it looks for loads on the rails, none negative, that balance the car's weight
and the couplers' side pull, and for the greatest pull at which there are any. It is to be trusted because it is nothing
but the equations of balance of a rigid body.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import linprog

from carwright.car.model import Car, Ends, Truck
from carwright.weight.standing import (
    drag,
    gravity,
    lean,
    lever_of,
    many,
    pulls,
    rock_of,
    setting_of,
    truck_loads,
    wheel_loads,
)
from carwright.working import Working, typed

G = 9.80665


def reading(value: float, name: str, unit: str = "mm") -> Working:
    """Return a number as though it had been typed."""
    return typed(value, name, unit, key=f"test.{name.replace(' ', '_')}")


def both(value: float, name: str, unit: str = "mm") -> Ends[Working]:
    """Return the same number at both ends."""
    return Ends(reading(value, f"{name} a", unit), reading(value, f"{name} b", unit))


def most_pull(
    mass_g: float, x: float, pivots: tuple[float, float], gauge: float, side: tuple[float, float], *, solid: bool
) -> float:
    """Return the greatest pull, N, under which all wheels carry.

    Unknown are the pull and the loads on the inner and outer rail of each truck; upright forces, moments along the car
    and moments across it, about the middle of the track, balance.

    Args:
        mass_g: of the car.
        x: centre of gravity from mid-car, mm.
        pivots: of the trucks, mm.
        gauge: mm.
        side: for each coupler, its height times the sine of its angle, mm.
        solid: whether the body is stiff and neither truck rocks; else truck B carries alike on both sides.
    """
    weight = mass_g / 1000.0 * G
    a, b = pivots
    half = gauge / 2.0
    rows = [[0.0, 1.0, 1.0, 1.0, 1.0], [0.0, a, a, b, b], [-sum(side), half, -half, half, -half]]
    right = [weight, weight * x, 0.0]
    if not solid:
        rows.append([0.0, 0.0, 0.0, 1.0, -1.0])
        right.append(0.0)
    found = linprog([-1.0, 0, 0, 0, 0], A_eq=rows, b_eq=right, bounds=[(0, None)] * 5)
    assert found.status == 0
    return float(found.x[0])


def test_a_car_alike_at_both_ends_tips_at_w_g_over_4_h_sin_a_and_lifts_at_half_of_it() -> None:
    """T = 0.11517 kg x 9.80665 x 16.5 mm / (4 x 9.755 mm x sin 10.188 deg) = 2.70 N, and half of it lifts a wheel."""
    whole, gauge = reading(115.17, "whole", "g"), reading(16.5, "gauge")
    lever = lever_of(both(9.755, "height"), both(10.188, "angle", "deg"), "here")
    found = pulls(whole, reading(115.17 / 2.0, "load", "g"), gauge, lever, "here")
    assert found is not None
    by_hand = 0.11517 * G * 16.5 / (4.0 * 9.755 * math.sin(math.radians(10.188)))
    assert found.tip.value == pytest.approx(by_hand, rel=1e-12)
    assert found.tip.value == pytest.approx(2.70, abs=0.005)
    assert found.lift.value == pytest.approx(1.35, abs=0.005)
    arm = 9.755 * math.sin(math.radians(10.188))
    assert most_pull(115.17, 0.0, (57.0, -57.0), 16.5, (arm, arm), solid=True) == pytest.approx(by_hand, rel=1e-9)
    assert most_pull(115.17, 0.0, (57.0, -57.0), 16.5, (arm, arm), solid=False) == pytest.approx(by_hand / 2, rel=1e-9)


@pytest.mark.parametrize("x", [-11.0, 0.0, 7.5])
@pytest.mark.parametrize("angles", [(10.0, 10.0), (3.0, 14.0), (-4.0, 12.0)])
def test_unlike_ends_and_a_shifted_centre_agree_with_the_oracle(x: float, angles: tuple[float, float]) -> None:
    """Neither coupler heights and angles that differ nor weight toward one end part formulas and balance of wheels."""
    whole, gauge = reading(131.0, "whole", "g"), reading(16.5, "gauge")
    loads = truck_loads(whole, reading(x, "x"), Ends(reading(60.0, "pivot a"), reading(-52.0, "pivot b")))
    heights = Ends(reading(9.7, "height a"), reading(10.1, "height b"))
    lever = lever_of(heights, Ends(reading(angles[0], "angle a", "deg"), reading(angles[1], "angle b", "deg")), "here")
    found = pulls(whole, loads.a, gauge, lever, "here")
    assert found is not None
    side = (9.7 * math.sin(math.radians(angles[0])), 10.1 * math.sin(math.radians(angles[1])))
    assert found.tip.value == pytest.approx(most_pull(131.0, x, (60.0, -52.0), 16.5, side, solid=True), rel=1e-9)
    assert found.lift.value == pytest.approx(most_pull(131.0, x, (60.0, -52.0), 16.5, side, solid=False), rel=1e-9)


def test_couplers_that_draw_straight_or_outward_tip_nothing() -> None:
    """Without a lever there is no pull that tips a car to the inside."""
    whole, gauge = reading(100.0, "whole", "g"), reading(16.5, "gauge")
    for angle in (0.0, -5.0):
        assert pulls(whole, whole, gauge, lever_of(both(10.0, "height"), both(angle, "angle", "deg"), ""), "") is None


def test_trucks_carry_by_the_lever_law() -> None:
    """100 g, 6 mm toward A on trucks at +/- 60 mm: A carries 100 x 66/120 = 55 g, B 45 g."""
    loads = truck_loads(
        reading(100.0, "whole", "g"), reading(6.0, "x"), Ends(reading(60.0, "pivot a"), reading(-60.0, "pivot b"))
    )
    assert [loads.a.value, loads.b.value] == pytest.approx([55.0, 45.0])


def test_wheels_carry_the_whole_car_and_its_moment_across() -> None:
    """Loads of all eight wheels add up to the car, and left less right times half the gauge to its weight times y."""
    whole, y, gauge = reading(100.0, "whole", "g"), reading(1.5, "y"), reading(16.5, "gauge")
    loads = Ends(reading(55.0, "load a", "g"), reading(45.0, "load b", "g"))
    for carries in (Ends(True, True), Ends(True, False), Ends(False, True)):
        found = wheel_loads(loads, whole, y, gauge, carries)
        left = 2.0 * (found.a_left.value + found.b_left.value)
        right = 2.0 * (found.a_right.value + found.b_right.value)
        assert left + right == pytest.approx(100.0)
        assert (left - right) * 16.5 / 2.0 == pytest.approx(100.0 * 1.5)
    rocking = wheel_loads(loads, whole, y, gauge, Ends(True, False))
    assert rocking.b_left.value == pytest.approx(45.0 / 4.0) == pytest.approx(rocking.b_right.value)


def test_one_truck_turns_and_the_other_rocks_unless_the_file_says_otherwise() -> None:
    """A turns and B rocks; naming one end gives the other end what is left."""
    assert [setting_of(Car(), end) for end in ("a", "b")] == ["turns", "rocks"]
    car = Car(trucks=Ends(Truck(setting="rocks"), Truck()))
    assert [setting_of(car, end) for end in ("a", "b")] == ["rocks", "turns"]


def test_a_car_leans_only_when_the_truck_that_turns_cannot_hold_it() -> None:
    """50 g on a truck of 16.5 mm gauge hold 412 g mm: 100 g are upright 4 mm off the middle, at the stop 5 mm off."""
    car = Car(trucks=Ends(Truck(), Truck(rock=reading(3.0, "rock", "deg"))))
    load, whole, gauge = reading(50.0, "load", "g"), reading(100.0, "whole", "g"), reading(16.5, "gauge")
    upright = lean(car, load, whole, reading(4.0, "y"), gauge)
    leaning = lean(car, load, whole, reading(5.0, "y"), gauge)
    assert upright is not None
    assert upright.value == 0.0
    assert leaning is not None
    assert leaning.value == 3.0
    assert lean(Car(), load, whole, reading(5.0, "y"), gauge) is None


def test_play_at_the_side_of_a_truck_is_a_rock() -> None:
    """0.5 mm of play on each side of a bolster 25 mm wide: atan(2 x 0.5/25) = 2.29 degrees."""
    car = Car(trucks=Ends(Truck(), Truck(play=reading(0.5, "play"), width=reading(25.0, "width"))))
    rock = rock_of(car, "b")
    assert rock is not None
    assert rock.value == pytest.approx(math.degrees(math.atan(0.04)))


def test_drag_and_how_many_cars_by_hand() -> None:
    """120 g at 2 % rolling on a grade of 2.5 %: 0.12 x 9.80665 x 0.045 = 0.05296 N; 1.35 N draw 25 of them."""
    held = drag(
        reading(120.0, "mass", "g"), reading(2.0, "rolling", "percent"), reading(2.5, "grade", "percent"), None, "x"
    )
    assert held.value == pytest.approx(0.05296, abs=5e-6)
    number = many(reading(1.35, "pull", "n"), held, "cars")
    assert number is not None
    assert number.value == 25
    exact = many(reading(2.0, "pull", "n"), reading(0.5, "each", "n"), "cars")
    assert exact is not None
    assert exact.value == 4
    downhill = drag(
        reading(120.0, "mass", "g"), reading(2.0, "rolling", "percent"), reading(-3.0, "grade", "percent"), None, "x"
    )
    assert many(reading(1.35, "pull", "n"), downhill, "cars") is None


def test_standard_gravity_is_exact() -> None:
    """Standard gravity is 9.80665 m/s2 by definition (3rd CGPM, 1901; from memory)."""
    assert gravity().value == G
