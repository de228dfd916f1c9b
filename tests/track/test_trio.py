"""Cars between unlike neighbours: against the closed form of a steady curve, and two cars swept along a track."""

from __future__ import annotations

import math

import pytest

from carwright.track.path import Arc, Path
from carwright.track.placing import CarEnd, Vehicle
from carwright.track.sweep import along
from carwright.track.trio import Trio, hardest, steadily

RADIUS = 457.2


def car(length: float, centers: float, *, base: float = 19.0, link: float = 9.9, on_truck: bool = False) -> Vehicle:
    """Return a car alike at both ends, its couplers' pivots 6 mm from them."""
    end = CarEnd(centers / 2.0, base, length / 2.0 - 6.0, link, on_truck=on_truck)
    return Vehicle(end, end, length, 31.0)


def steady_angle(one: Vehicle, other: Vehicle) -> float:
    """Return the angle of ``one``'s coupler to ``other`` on the steady curve, degrees, from plane geometry.

    Both pivots lie on circles about the curve's centre; the link is the third side of a triangle with their radii.
    """

    def circle(each: Vehicle) -> tuple[float, float]:
        pivots = RADIUS**2 - each.a.wheelbase_mm**2 / 4.0
        axis = math.sqrt(pivots - each.a.truck_mm**2)
        assert each.a.coupler_mm is not None
        return math.hypot(each.a.coupler_mm, axis), math.atan2(each.a.coupler_mm, axis)

    mine, turn = circle(one)
    theirs, _ = circle(other)
    assert one.a.link_mm is not None
    assert other.a.link_mm is not None
    link = one.a.link_mm + other.a.link_mm
    inner = math.acos((mine**2 + link**2 - theirs**2) / (2.0 * mine * link))
    return math.degrees(turn) + 90.0 - math.degrees(inner)


@pytest.mark.parametrize("lengths", [(150.0, 150.0, 150.0), (150.0, 280.0, 120.0), (280.0, 110.0, 150.0)])
def test_on_a_steady_curve_the_angles_are_those_of_a_triangle(lengths: tuple[float, float, float]) -> None:
    """Long beside short: both couplers' angles agree with the closed form to 0.0001 degree."""
    ahead, own, behind = (car(each, each * 0.72) for each in lengths)
    found = steadily([Trio(ahead, own, behind, 10.0, 10.0)], RADIUS)[0]
    assert found.angle_a_deg == pytest.approx(steady_angle(own, ahead), abs=1e-4)
    assert found.angle_b_deg == pytest.approx(steady_angle(own, behind), abs=1e-4)


def test_one_coupler_alone_is_found_where_a_sweep_of_two_cars_finds_it() -> None:
    """With nothing on one coupler, the worst of the other is the sweep's own peak for the two cars, to 0.001 degree."""
    bend = 1.0 / RADIUS
    path = Path([Arc(900.0), Arc(700.0, bend), Arc(60.0), Arc(700.0, -bend), Arc(900.0)])
    first, second = car(190.0, 137.0), car(130.0, 90.0)
    swept = along(path, first, second)
    rear = hardest(path, [Trio(first, second, second, 10.0, 0.0)])[0]
    assert abs(rear.angle_a_deg) == pytest.approx(swept.peaks["coupler_rear"].value, abs=1e-3)
    front = hardest(path, [Trio(first, first, second, 0.0, 10.0)])[0]
    assert abs(front.angle_b_deg) == pytest.approx(swept.peaks["coupler_front"].value, abs=1e-3)


def test_a_mirrored_track_draws_as_hard() -> None:
    """Left and right exchanged, and the same cars turned end for end in reversed order, change nothing."""
    bend = 1.0 / RADIUS
    legs = [Arc(900.0), Arc(500.0, bend), Arc(900.0)]
    path, mirrored = Path(legs), Path([Arc(each.length_mm, -each.curvature_per_mm) for each in legs])
    ahead, own, behind = car(150.0, 110.0), car(220.0, 160.0), car(120.0, 84.0)
    one = hardest(path, [Trio(ahead, own, behind, 10.0, 9.0)])[0]
    other = hardest(mirrored, [Trio(ahead, own, behind, 10.0, 9.0)])[0]
    back = hardest(path, [Trio(behind, own, ahead, 9.0, 10.0)])[0]
    assert (other.angle_a_deg, other.angle_b_deg) == pytest.approx((one.angle_a_deg, one.angle_b_deg), abs=1e-4)
    assert (back.angle_b_deg, back.angle_a_deg) == pytest.approx((one.angle_a_deg, one.angle_b_deg), abs=2e-3)


def test_many_cars_at_once_are_each_as_if_alone() -> None:
    """Cars of unlike length, some with couplers on their trucks, give the same together and one by one."""
    bend = 1.0 / RADIUS
    path = Path([Arc(900.0), Arc(500.0, bend), Arc(900.0)])
    cars = [car(length, 0.7 * length, on_truck=length > 200.0) for length in (110.0, 150.0, 190.0, 230.0)]
    trios = [Trio(a, b, c, 10.0, 10.0) for a in cars for b in cars for c in cars[:2]]
    together = hardest(path, trios)
    for place in range(0, len(trios), 5):
        alone = hardest(path, [trios[place]])[0]
        assert together[place].angle_a_deg == pytest.approx(alone.angle_a_deg, abs=1e-4)
        assert together[place].angle_b_deg == pytest.approx(alone.angle_b_deg, abs=1e-4)
