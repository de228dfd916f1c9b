"""Laws that hold for every car on every track: mirrors, reversed trains, straight as the limit, buckled links, rooms.

Cars and tracks are drawn at random (seeded by the library); no figure of the program's own is used as an answer.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.plan.cars import demo

from carwright.car.read import read_car
from carwright.plan.curvedocument import curve_document
from carwright.plan.curves import curve_study
from carwright.track.envelope import swept
from carwright.track.figures import buckled
from carwright.track.limits import least_radii, radius_of_truck_swing, smallest_radius
from carwright.track.path import Arc, Easement, Leg, Path
from carwright.track.placing import CarEnd, Vehicle, coupled, stand, turned_about
from carwright.track.sweep import along
from carwright.track.tangents import reverse_peaks
from carwright.working import evaluate, typed


def end(truck: float, base: float, coupler: float, link: float, swing: float = 15.0) -> CarEnd:
    """Return one end of a car."""
    return CarEnd(truck, base, coupler, link, swing)


def like(
    half: float = 57.0, base: float = 19.0, coupler: float = 71.0, link: float = 10.0, swing: float = 15.0
) -> Vehicle:
    """Return a car alike at both ends."""
    one = end(half, base, coupler, link, swing)
    return Vehicle(one, one, 2.0 * (coupler + 6.0), 31.0)


_ENDS = st.builds(end, st.floats(45, 70), st.floats(15, 30), st.floats(72, 85), st.floats(8, 16))
_CARS = st.builds(Vehicle, _ENDS, _ENDS, st.floats(175, 190), st.floats(25, 40))
_TURNS = st.lists(
    st.tuples(st.floats(60, 300), st.floats(400, 900), st.sampled_from([-1.0, 0.0, 1.0])), min_size=1, max_size=4
)

FIGURES = ("throw_in", "throw_out", "truck_a", "truck_b", "coupler_front", "coupler_rear", "gap")


def track(turns: list[tuple[float, float, float]], hand: float = 1.0, *, back: bool = False) -> Path:
    """Return a track of arcs between two long straights; ``hand`` -1 mirrors it, ``back`` runs it the other way."""
    legs: list[Leg] = [Arc(length, hand * way / radius) for length, radius, way in turns]
    if back:
        legs = [Arc(leg.length_mm, -leg.curvature_per_mm) for leg in reversed(legs) if isinstance(leg, Arc)]
    return Path([Arc(450.0), *legs, Arc(450.0)])


@settings(max_examples=12, deadline=None)
@given(one=_CARS, two=_CARS, turns=_TURNS)
def test_a_mirrored_path_gives_mirrored_answers(
    one: Vehicle, two: Vehicle, turns: list[tuple[float, float, float]]
) -> None:
    """The worst of every figure is the same on the track's mirror picture, and at the same place."""
    left, right = along(track(turns), one, two), along(track(turns, -1.0), one, two)
    for name in FIGURES:
        assert left.peaks[name].value == pytest.approx(right.peaks[name].value, abs=1e-5), name


@settings(max_examples=12, deadline=None)
@given(one=_CARS, two=_CARS, turns=_TURNS)
def test_reversing_the_train_changes_nothing(
    one: Vehicle, two: Vehicle, turns: list[tuple[float, float, float]]
) -> None:
    """Run backwards, last car first and each turned about, the train has the same angles and the same least gap."""
    there = along(track(turns), one, two)
    back = along(track(turns, back=True), turned_about(two), turned_about(one))
    assert there.peaks["coupler_front"].value == pytest.approx(back.peaks["coupler_rear"].value, abs=1e-4)
    assert there.peaks["coupler_rear"].value == pytest.approx(back.peaks["coupler_front"].value, abs=1e-4)
    assert there.peaks["gap"].value == pytest.approx(back.peaks["gap"].value, abs=1e-4)


@settings(max_examples=10, deadline=None)
@given(car=_CARS)
def test_a_very_large_radius_gives_zero(car: Vehicle) -> None:
    """On 10 km of radius nothing turns, and both throws are half the width."""
    found = along(track([(400.0, 1.0e7, 1.0)]), car, car).peaks
    assert car.width_mm is not None
    for name in ("truck_a", "truck_b", "coupler_front", "coupler_rear"):
        assert found[name].value < 0.01
    for name in ("throw_in", "throw_out"):
        assert found[name].value == pytest.approx(car.width_mm / 2.0, abs=0.01)


@settings(max_examples=10, deadline=None)
@given(half=st.floats(50, 70), link=st.floats(6, 14), radius=st.floats(400, 900))
def test_couplers_over_the_trucks_do_not_peak(half: float, link: float, radius: float) -> None:
    """Pivoted over the truck centres they turn no further at entry or in a bare reverse than on the steady curve.

    With a wheelbase of almost nothing the pivots lie on the line itself, and the law is exact but for the link.
    """
    car = Vehicle(end(half, 0.5, half, link), end(half, 0.5, half, link), 2.0 * half + 10.0, 20.0)
    steady = math.degrees(math.asin(half / radius) + math.asin(link / radius))
    for turns in ([(700.0, radius, 1.0)], [(700.0, radius, 1.0), (700.0, radius, -1.0)]):
        assert along(track(turns), car, car).peaks["coupler_front"].value == pytest.approx(steady, abs=0.02)


def test_a_longer_straight_between_curves_never_makes_it_worse() -> None:
    """The peak of a reverse curve falls as the straight grows, from the bare reverse's to that of a lone curve."""
    car = like()
    peaks = reverse_peaks(car, car, radius_mm=450.0, tangents_mm=(0.0, 30.0, 60.0, 90.0, 120.0, 400.0))
    assert all(later <= before + 1e-6 for before, later in pairwise(peaks))
    lone = along(track([(900.0, 450.0, 1.0)]), car, car).peaks["coupler_front"].value
    assert peaks[-1] == pytest.approx(lone, abs=1e-3)


def test_a_longer_easement_lowers_the_peak() -> None:
    """With ever longer easements the entry peak falls toward the steady angle."""
    car, peaks = like(), []
    for length in (1.0, 200.0, 600.0, 2000.0):
        legs = [Arc(500.0), Easement(450.0, length, True), Arc(800.0, 1 / 450.0), Easement(450.0, length, True, True)]
        peaks.append(along(Path([*legs, Arc(500.0)]), car, car).peaks["coupler_front"].value)
    rho_p = math.sqrt(450.0**2 - 19.0**2 / 4.0)
    y = math.sqrt(rho_p**2 - 57.0**2)
    steady = math.degrees(math.atan(71.0 / y) + math.asin(10.0 / math.hypot(71.0, y)))
    assert peaks == sorted(peaks, reverse=True)
    assert steady - 1e-3 <= peaks[-1] < steady + 0.3 < peaks[0]


def test_the_least_radius_is_the_one_that_just_passes() -> None:
    """Placed on the least radius the coupler stands at its stop; 1 mm sharper it is beyond, 1 mm wider within."""
    car = like()
    bites = {(each.what, each.place): each.radius_mm for each in least_radii(car, car)}
    radius = bites["coupler_front", "entry"]
    for change, beyond in ((-1.0, True), (1.0, False)):
        peak = along(track([(900.0, radius + change, 1.0)]), car, car).peaks["coupler_front"].value
        assert (peak > 15.0) is beyond
    reverse = bites["coupler_front", "reverse"]
    turns = [(900.0, reverse, 1.0), (900.0, reverse, -1.0)]
    assert along(track(turns), car, car).peaks["coupler_front"].value == pytest.approx(15.0, abs=3e-3)
    assert bites["coupler_front", "steady"] < radius < reverse


def test_the_steady_least_radius_by_the_closed_form() -> None:
    """On the steady curve the least radius solves atan(x/y) + asin(l/rho) = swing, found here by halving, to 0.1 mm."""
    car = like()

    def angle(radius: float) -> float:
        y = math.sqrt(radius**2 - 19.0**2 / 4.0 - 57.0**2)
        return math.degrees(math.atan(71.0 / y) + math.asin(10.0 / math.hypot(71.0, y)))

    low, high = smallest_radius(car) * 1.05, 2000.0
    for _ in range(100):
        middle = (low + high) / 2.0
        low, high = (middle, high) if angle(middle) > 15.0 else (low, middle)
    found = next(each for each in least_radii(car, car, places=("steady",)) if each.what == "coupler_front")
    assert found.radius_mm == pytest.approx(high, abs=0.1)


@settings(max_examples=30)
@given(half=st.floats(40, 110), base=st.floats(10, 40), radius=st.floats(300, 1500))
def test_a_trucks_turn_and_its_radius_are_one_another(half: float, base: float, radius: float) -> None:
    """The radius of a truck's turn on a radius is that radius."""
    car = like(half, base, half + 20.0)
    turn = math.degrees(math.asin(half / math.sqrt(radius**2 - base**2 / 4.0)))
    assert radius_of_truck_swing(turn, car) == pytest.approx(radius, rel=1e-9)


@settings(max_examples=20, deadline=None)
@given(l1=st.floats(6, 16), l2=st.floats(6, 16), d1=st.floats(4, 25), d2=st.floats(4, 25))
def test_a_buckled_link_by_hand_on_a_straight(l1: float, l2: float, d1: float, d2: float) -> None:
    """On a straight the heads go aside by the lesser of l sin(swing); the link is the sum of two shadows.

    h = min(l1 sin d1, l2 sin d2); length sqrt(l1^2 - h^2) + sqrt(l2^2 - h^2). The shank that is not at its stop carries
    the push: asin(h/l2) where the front one stops, asin(h/l1) where the rear one does.
    """
    front, rear = end(57.0, 19.0, 71.0, l1, d1), end(57.0, 19.0, 71.0, l2, d2)
    one, two = Vehicle(front, front), Vehicle(rear, rear)
    path = Path([Arc(2000.0)])
    joint = coupled(path, stand(path, np.array([1000.0]), one), one, two)
    found = buckled(joint, front, rear)
    assert found is not None
    a, b = l1 * math.sin(math.radians(d1)), l2 * math.sin(math.radians(d2))
    h = min(a, b)
    assert found.link_mm[0] == pytest.approx(math.sqrt(l1**2 - h**2) + math.sqrt(l2**2 - h**2), abs=1e-6)
    free = math.asin(h / l2) if a <= b else math.asin(h / l1)
    assert found.angle_front[0] == pytest.approx(free, abs=1e-6)


@settings(max_examples=8, deadline=None)
@given(car=_CARS, turns=_TURNS)
def test_the_swept_room_reaches_as_far_as_the_throws(car: Vehicle, turns: list[tuple[float, float, float]]) -> None:
    """The farthest border of the room is the greater throw, to what stands between two places."""
    path = track(turns)
    room, peaks = swept(path, car, step_mm=5.0), along(path, car).peaks
    assert room is not None
    farthest = max(float(np.max(room.left_mm)), float(np.max(room.right_mm)))
    # Never farther than it is; short of it by no more than half a step sees of a corner's peak or a side's sag.
    assert farthest <= max(peaks["throw_in"].value, peaks["throw_out"].value) + 0.05
    assert farthest >= max(peaks["throw_in"].value, peaks["throw_out"].value) - 0.2


def test_moved_readings_move_the_study_as_its_working_says() -> None:
    """A reading moved in the car file gives the figure that the old working gives with that reading moved."""
    radius = typed(457.2, "radius", key="--radius", text="18 in")
    text = demo("boxcar.toml")
    before = curve_document(curve_study(read_car(text), radius=radius))
    moved = text.replace('centers = "4 1/2"', 'centers = "4.600"').replace('length = "0.39" ', 'length = "0.40" ')
    after = curve_document(curve_study(read_car(moved), radius=radius))
    change = {"trucks.centers": 4.6 * 25.4, "coupler.length": 0.40 * 25.4}
    for path in ("worst.truck_angle_deg", "worst.coupler_angle_deg", "worst.body_gap_mm", "worst.throw_in_mm"):
        assert evaluate(before.find(path), change) == pytest.approx(after.find(path).value, abs=2e-3), path
        assert after.find(path).value != pytest.approx(before.find(path).value, abs=1e-4), path
