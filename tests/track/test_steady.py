"""Steady throws, angles and gap against the design's own figures and against cars placed with plain geometry.

The oracle builds the thing itself: two axles on a circle make a truck, two trucks found by bisection carry a body, the
body is a rectangle of ``shapely``, and a second car is turned round the curve's centre until the two coupler pivots are
a straight link apart. Angles and gaps are then measured on the drawing; no formula of the program is used.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon
from tests.ride.planned import INCH, known, plan_of

from carwright.track.steady import Steady, steady
from carwright.working import Working, typed


@dataclass(frozen=True)
class Sizes:
    """A car's sizes that matter on a curve, in mm."""

    half_centers: float
    wheelbase: float
    length: float
    width: float
    pivot: float
    link: float


def solved(car: Sizes, radius: float) -> Steady | None:
    """Return the program's figures."""

    def leaf(name: str, value: float) -> Working:
        return typed(value, name, key=name)

    return steady(
        radius=leaf("radius", radius),
        half_centers=leaf("half_centers", car.half_centers),
        wheelbase=leaf("wheelbase", car.wheelbase),
        length=leaf("length", car.length),
        width=leaf("width", car.width),
        pivot=leaf("pivot", car.pivot),
        link=leaf("link", car.link),
    )


def bisected(f: Callable[[float], float], low: float, high: float) -> float:
    """Return where a rising function is zero, by halving."""
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if f(middle) < 0 else (low, middle)
    return (low + high) / 2


def turned(point: complex, angle: float) -> complex:
    """Return a point turned about the origin."""
    return point * complex(math.cos(angle), math.sin(angle))


@dataclass(frozen=True)
class Placed:
    """A car on a circle round the origin, by its points."""

    body: Polygon
    axis: complex
    truck_axis: complex
    front: complex
    rear: complex

    def round(self, angle: float) -> Placed:
        corners = [turned(complex(x, y), angle) for x, y in self.body.exterior.coords[:-1]]
        return Placed(
            Polygon([(each.real, each.imag) for each in corners]),
            turned(self.axis, angle),
            turned(self.truck_axis, angle),
            turned(self.front, angle),
            turned(self.rear, angle),
        )


def placed(car: Sizes, radius: float) -> Placed:
    """Return a car with its trucks on a circle of that radius round the origin."""
    half = bisected(lambda t: abs(radius * (turned(1, t) - turned(1, -t))) - car.wheelbase, 0.0, math.pi / 2)
    axles = radius * turned(1, half), radius * turned(1, -half)
    truck, truck_axis = (axles[0] + axles[1]) / 2, axles[0] - axles[1]
    spread = bisected(lambda t: abs(truck * (turned(1, t) - turned(1, -t))) - 2 * car.half_centers, 0.0, math.pi / 2)
    front, rear = turned(truck, spread), turned(truck, -spread)
    middle, axis = (front + rear) / 2, (front - rear) / abs(front - rear)
    across = axis * 1j
    corners = [
        middle + sx * car.length / 2 * axis + sy * car.width / 2 * across
        for sx, sy in ((1, 1), (-1, 1), (-1, -1), (1, -1))
    ]
    body = Polygon([(each.real, each.imag) for each in corners])
    return Placed(body, axis, turned(truck_axis, spread), middle + car.pivot * axis, middle - car.pivot * axis)


def angle_between(a: complex, b: complex) -> float:
    """Return the angle between two directions, in degrees, 0 to 180."""
    return abs(math.degrees(math.atan2((a.conjugate() * b).imag, (a.conjugate() * b).real)))


def test_the_worked_cars_figures() -> None:
    """The design's own figures on 18 in, not a published check: in 19.563, out 18.589, truck 7.182°, coupler 10.188°.

    The gap between two such cars is 1.696 mm.
    """
    plan = plan_of(
        {
            "car.scale": "HO",
            "car.radius": "18 in",
            "body.length": "6 1/8",
            "body.width": "1.250",
            "trucks.centers": "4 1/2",
            "trucks.wheelbase": "66 in scale",
            "coupler.pivot_inset": "0.25",
            "coupler.length": "0.39",
        }
    )
    found = plan.steady
    assert found is not None
    assert known(found.radius) == pytest.approx(18 * INCH)
    assert known(found.throw_in) == pytest.approx(19.563, abs=5e-4)
    assert known(found.throw_out) == pytest.approx(18.589, abs=5e-4)
    assert known(found.truck_angle) == pytest.approx(7.182, abs=5e-4)
    assert known(found.coupler_angle) == pytest.approx(10.188, abs=5e-4)
    assert known(found.body_gap) == pytest.approx(1.696, abs=5e-4)


def test_the_worked_cars_figures_by_hand() -> None:
    """Each step on paper, in mm: b = 66/87.1 in, a = 57.15, R = 457.2.

    b = 19.2468; rho_p² = 457.2² - 9.6234² = 209031.84 - 92.61 = 208939.23; y0 = sqrt(208939.23 - 3266.12) = 453.512;
    in 457.2 - 453.512 + 15.875 = 19.563; truck asin(57.15/457.099) = 7.182°;
    x_p = 71.4375, rho = sqrt(5103.3 + 205673.1) = 459.104; coupler atan(71.4375/453.512) + asin(9.906/459.104)
    = 8.9516 + 1.2364 = 10.188°.
    """
    found = solved(Sizes(57.15, 66 / 87.1 * 25.4, 155.575, 31.75, 71.4375, 9.906), 457.2)
    assert found is not None
    y0 = math.sqrt(457.2**2 - 9.6234**2 - 57.15**2)
    assert y0 == pytest.approx(453.512, abs=1e-3)
    assert known(found.throw_in) == pytest.approx(457.2 - 453.512 + 15.875, abs=1e-3)
    assert known(found.truck_angle) == pytest.approx(math.degrees(math.asin(57.15 / 457.0987)), abs=1e-4)
    assert known(found.coupler_angle) == pytest.approx(8.9516 + 1.2364, abs=5e-4)


_SIZES = st.builds(
    Sizes,
    half_centers=st.floats(20, 110),
    wheelbase=st.floats(10, 40),
    length=st.floats(60, 300),
    width=st.floats(15, 45),
    pivot=st.floats(25, 148),
    link=st.floats(5, 20),
)


@settings(max_examples=60)
@given(car=_SIZES, radius=st.floats(250, 1200))
def test_random_cars_against_cars_placed_on_a_circle(car: Sizes, radius: float) -> None:
    """Throws, truck angle, coupler angle and gap are those measured on two cars placed with plain geometry."""
    assume(car.half_centers < car.length / 2)
    assume(car.half_centers / 2 < car.pivot < car.length / 2)
    found = solved(car, radius)
    assert found is not None
    first = placed(car, radius)
    origin = Point(0, 0)
    assert known(found.throw_in) == pytest.approx(radius - first.body.distance(origin), abs=1e-7)
    farthest = max(math.hypot(x, y) for x, y in first.body.exterior.coords)
    assert known(found.throw_out) == pytest.approx(farthest - radius, abs=1e-7)
    assert known(found.throw_in_bare) == pytest.approx(known(found.throw_in) - car.width / 2, abs=1e-9)
    assert known(found.truck_angle) == pytest.approx(angle_between(first.truck_axis, first.axis), abs=1e-7)
    reach = 2 * math.atan2(car.pivot, abs((first.front + first.rear) / 2))
    apart = bisected(lambda t: abs(first.round(t).rear - first.front) - 2 * car.link, reach, reach + 1.0)
    second = first.round(apart)
    link = second.rear - first.front
    assert abs(link) == pytest.approx(2 * car.link, abs=1e-9)
    assert known(found.coupler_angle) == pytest.approx(angle_between(first.axis, link), abs=1e-6)
    if known(found.body_gap) > 1e-9:
        assert known(found.body_gap) == pytest.approx(first.body.distance(second.body), abs=1e-6)
    else:
        assert first.body.distance(second.body) == pytest.approx(0.0, abs=1e-6)


def test_trucks_at_unlike_insets_throw_the_longer_end_further() -> None:
    """With trucks 0.5 and 1.1 in from the ends the B end reaches further out than on a car whose trucks are centred.

    By hand on 18 in: pivots 4.4 apart, a = 2.2, their middle 0.3 in from mid-car to A; b = 0.75, rho_p² = 324 - 0.1406,
    y0 = sqrt(323.8594 - 4.84) = 17.8611. B end 3.3 from that middle: hypot(3.3, 17.8611 + 0.6) - 18 = 0.7537.
    """
    plan = plan_of(
        {
            "car.radius": "18 in",
            "body.length": "6.000",
            "body.width": "1.200",
            "trucks.a.inset": "0.500",
            "trucks.b.inset": "1.100",
            "trucks.wheelbase": "0.750",
        }
    )
    assert plan.steady is not None
    y0 = math.sqrt(18**2 - 0.75**2 / 4 - 2.2**2)
    assert known(plan.steady.throw_out) / INCH == pytest.approx(math.hypot(3.3, y0 + 0.6) - 18, abs=1e-6)


def test_a_wide_curve_leaves_little() -> None:
    """On a curve of 20 m the throw in is half the width and the versed sine, and the angles are next to nothing."""
    found = solved(Sizes(57.15, 19.25, 155.575, 31.75, 71.4375, 9.906), 20_000.0)
    assert found is not None
    assert known(found.throw_in) == pytest.approx(15.875 + 57.15**2 / 40_000, abs=0.01)  # versed sine a²/2R
    assert known(found.truck_angle) == pytest.approx(math.degrees(57.15 / 20_000), abs=1e-4)
    assert known(found.body_gap) == pytest.approx(2 * (9.906 - (155.575 / 2 - 71.4375)), abs=0.25)


def test_a_radius_that_the_trucks_cannot_stand_on() -> None:
    """Truck centres wider than the curve across have no place on it, and that fails."""
    assert solved(Sizes(100.0, 20.0, 240.0, 30.0, 100.0, 10.0), 95.0) is None


@pytest.mark.parametrize(
    ("missing", "lost"),
    [
        ("body.width", {"throw_in", "throw_out", "body_gap"}),
        ("coupler.length", {"coupler_angle", "body_gap"}),
        ("coupler.pivot_inset", {"coupler_angle", "body_gap"}),
    ],
)
def test_what_a_missing_measurement_takes_away(missing: str, lost: set[str]) -> None:
    """A missing measurement takes only what hangs on it, and is named."""
    values = {
        "car.radius": "18 in",
        "body.length": "6.000",
        "body.width": "1.200",
        "trucks.centers": "4.000",
        "trucks.wheelbase": "0.750",
        "coupler.pivot_inset": "0.250",
        "coupler.length": "0.400",
    }
    whole = plan_of(values).steady
    found = plan_of({k: v for k, v in values.items() if k != missing}).steady
    assert whole is not None
    assert found is not None
    assert whole.needs == ()
    assert missing in found.needs
    names = ("throw_in", "throw_out", "throw_in_bare", "throw_out_bare", "truck_angle", "coupler_angle", "body_gap")
    assert {name for name in names if getattr(found, name) is None} == lost


def test_without_a_radius_there_is_nothing_steady() -> None:
    """No radius in the file, no figures and an ``unknown``."""
    plan = plan_of({"body.length": "6.000", "trucks.centers": "4.000"})
    assert plan.steady is None
    assert next(each for each in plan.findings if each.check == "steady_curve").verdict == "unknown"


def test_the_swing_of_the_pocket_is_the_limit() -> None:
    """A head that moves 0.10 in each way on a 0.39 in shank swings asin(0.10/0.39) = 14.86°; 0.05 in allow 7.37°."""
    values = {
        "car.radius": "18 in",
        "body.length": "6 1/8",
        "body.width": "1.250",
        "trucks.centers": "4 1/2",
        "trucks.wheelbase": "0.758",
        "coupler.pivot_inset": "0.25",
        "coupler.length": "0.39",
    }
    for play, swing, verdict in (("0.10", 14.86, "ok"), ("0.05", 7.37, "fail")):
        finding = next(
            each for each in plan_of(values | {"coupler.side_play": play}).findings if each.check == "steady_curve"
        )
        assert known(finding.limit) == pytest.approx(swing, abs=5e-3)
        assert finding.verdict == verdict
