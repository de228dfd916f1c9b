"""Two cars that are not alike: both orders are looked at, and which of the two the study is about changes nothing."""

from __future__ import annotations

import math

import pytest
from tests.plan.cars import demo

from carwright.car.model import Car
from carwright.car.read import read_car
from carwright.plan.curvemodel import CurveAnswer
from carwright.plan.curves import curve_study
from carwright.track.trackfile import read_track
from carwright.working import typed

TRACK = """
[track]
scale = "HO"
[[track.segment]]
straight = "24 in"
[[track.segment]]
curve = "left"
radius = "20 in"
angle = 40
[[track.segment]]
curve = "right"
radius = "26 in"
angle = 60
[[track.segment]]
straight = "24 in"
"""

JOINT = ("coupler_front", "coupler_rear", "gap", "gap_pushed", "push_front", "push_rear")


def short_car() -> Car:
    """Return the worked car."""
    return read_car(demo("boxcar.toml"), file="short.toml")


def long_car() -> Car:
    """Return a longer car with other couplers at its two ends."""
    text = demo("boxcar.toml")
    for old, new in (
        ('name = "Double-door boxcar"', 'name = "Long flat"'),
        ('centers = "4 1/2"', 'centers = "5.2"'),
        ('length = "6 1/8"', 'length = "6.9"'),
        ("[underframe]\n", '[coupler.a]\npivot_inset = "0.31"\n\n[underframe]\n'),
    ):
        assert old in text, old
        text = text.replace(old, new)
    return read_car(text, file="long.toml")


def on_track(car: Car, other: Car) -> CurveAnswer:
    """Return a study of two cars on the track above."""
    return curve_study(car, track=read_track(TRACK, file="t.toml"), neighbour=other, file="t.toml")


def test_which_car_is_asked_about_changes_nothing_at_the_joint() -> None:
    """Asked about the one or the other, worst swings, gaps and pushes and the least radii are the same."""
    one, two = on_track(short_car(), long_car()), on_track(long_car(), short_car())
    for figures in (("coupler_front", "coupler_rear"), ("gap",), ("gap_pushed",), ("push_front", "push_rear")):
        sign = -1.0 if figures[0].startswith("gap") else 1.0
        ours = max(sign * one.worst[name].value for name in figures)
        theirs = max(sign * two.worst[name].value for name in figures)
        assert ours == pytest.approx(theirs, abs=1e-6), figures
    for name in ("pulled", "pushed", "coupled"):
        ours, theirs = one.verdict(name), two.verdict(name)
        assert ours.verdict == theirs.verdict
        assert ours.least_radius is not None
        assert theirs.least_radius is not None
        assert ours.least_radius.value == pytest.approx(theirs.least_radius.value, abs=1e-6)


def test_the_worse_order_is_told() -> None:
    """Every figure of the joint is the worse of both orders, and the orders differ on a track that is not alike."""
    answer = on_track(short_car(), long_car())
    assert len(answer.orders) == 2
    differ = False
    for name in JOINT:
        found = [study.sweep().peaks[name].value for study in answer.orders]
        worse = min(found) if name.startswith("gap") else max(found)
        assert answer.worst[name].value == pytest.approx(worse, abs=1e-9), name
        differ = differ or abs(found[0] - found[1]) > 0.01
    assert differ


def test_a_coupler_of_the_other_car_is_told_as_such() -> None:
    """Limits say whose coupler is at its stop."""
    parts = {limit.part for limit in on_track(short_car(), long_car()).limits if limit.what.startswith("coupler swing")}
    assert parts == {"coupler A", "coupler B", "other's coupler A", "other's coupler B"}


@pytest.mark.parametrize("centers", [4.3, 4.4, 4.5])
def test_truck_centres_move_the_verdict_as_the_closed_form_says(centers: float) -> None:
    """The sill is touched at one angle; the least radius alone is R = sqrt((a/sin t)^2 + b^2/4) of the new centres.

    Plane geometry of a chord in a circle: a half the truck centres, b the wheelbase. With the curve between the least
    radii of two cars the verdict itself changes sides.
    """
    text = demo("boxcar.toml").replace('centers = "4 1/2"', f'centers = "{centers}"')
    radius = typed(12.2 * 25.4, "radius", key="--radius", text="12.2 in")
    alone = curve_study(read_car(text), radius=radius, brief=True)
    sill = next(each for each in alone.touching if each.part == "side sill" and each.end == "a")
    assert sill.angle is not None
    half, base = centers * 25.4 / 2.0, 66.0 * 25.4 / 87.1
    wanted = math.sqrt((half / math.sin(math.radians(sill.angle.value))) ** 2 + base**2 / 4.0)
    least = alone.verdict("alone").least_radius
    assert least is not None
    assert least.value == pytest.approx(wanted, abs=1e-3)
    assert (alone.verdict("alone").verdict == "fail") == (wanted > 12.2 * 25.4)
