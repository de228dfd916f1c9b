"""Cars on a path: against the closed form, against laws that hold for every car, and the figures of the worked car.

Closed form: chords in a circle, as in ``tests/track/test_steady.py``. The worked car's entry and reverse figures are
our own and stand here as pins.
"""

from __future__ import annotations

import math

import pytest
from tests.plan.cars import demo

from carwright.car.model import Car
from carwright.car.read import read_car
from carwright.plan.curvedocument import curve_document, worst_of
from carwright.plan.curvemodel import CurveAnswer
from carwright.plan.curves import curve_study
from carwright.problems import InputError
from carwright.track.trackfile import read_track
from carwright.working import Working, evaluate, leaves, typed

INCH = 25.4

PAIR = {
    "throw_in": ("throw_in",),
    "throw_out": ("throw_out",),
    "truck_angle": ("truck_a", "truck_b"),
    "coupler_angle": ("coupler_front", "coupler_rear"),
    "body_gap": ("gap",),
}


def boxcar(*changes: tuple[str, str]) -> Car:
    """Return the worked car, changed."""
    text = demo("boxcar.toml")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return read_car(text, file="boxcar.toml")


def on_radius(inches: float, car: Car | None = None) -> CurveAnswer:
    """Return a car's study on one radius."""
    radius = typed(inches * INCH, "radius", key="--radius", text=f"{inches} in")
    return curve_study(car or boxcar(), radius=radius)


def on_track(text: str, car: Car | None = None) -> CurveAnswer:
    """Return a car's study on a track."""
    return curve_study(car or boxcar(), track=read_track(text, file="t.toml"), file="t.toml")


def curve(*segments: str) -> str:
    """Return a track of straights around some segments."""
    straight = '[[track.segment]]\nstraight = "24 in"\n'
    middle = "".join(f"[[track.segment]]\n{segment}\n" for segment in segments)
    return f'[track]\nscale = "HO"\n{straight}{middle}{straight}'


LONG = 'curve = "left"\nradius = "18 in"\nangle = 180'


def value(answer: CurveAnswer, name: str) -> float:
    """Return the worst of a published figure."""
    found, _ = worst_of(answer, PAIR[name])
    assert found is not None
    return found.value


@pytest.mark.parametrize("name", ["throw_in", "truck_angle", "body_gap"])
def test_on_a_long_curve_the_worst_is_the_steady_figure(name: str) -> None:
    """Figures that only grow into the curve end at the closed form: angles to 0.001 degrees, lengths to 0.001 mm."""
    answer = on_track(curve(LONG))
    steady: Working | None = getattr(answer.steady, name)
    assert steady is not None
    assert value(answer, name) == pytest.approx(steady.value, abs=1e-3)


def test_the_worked_car_on_eighteen_inches() -> None:
    """Our own figures: the coupler's angle peaks at 15.70 degrees where the curve begins, 10.188 when it is steady."""
    answer = on_radius(18.0)
    assert value(answer, "coupler_angle") == pytest.approx(15.70, abs=0.005)
    assert answer.steady is not None
    assert answer.steady.coupler_angle is not None
    assert answer.steady.coupler_angle.value == pytest.approx(10.188, abs=5e-4)


def test_the_worked_car_in_a_bare_reverse() -> None:
    """Our own figure: in a bare reverse curve of 18 in the same coupler turns 21.25 degrees."""
    answer = on_track(
        curve('curve = "left"\nradius = "18 in"\nangle = 90', 'curve = "right"\nradius = "18 in"\nangle = 90')
    )
    assert value(answer, "coupler_angle") == pytest.approx(21.25, abs=0.005)


@pytest.mark.parametrize(
    ("place", "inches"),
    [("on the steady curve", 12.3), ("where the curve begins", 19.0), ("in a bare reverse curve", 25.7)],
)
def test_least_radii_of_the_worked_car(place: str, inches: float) -> None:
    """Our own figures: a pocket that allows 14.86 degrees is enough from 12.3, 19.0 and 25.7 in."""
    limits = [each for each in on_radius(18.0).limits if each.what == f"coupler swing, {place}"]
    assert len(limits) == 2
    for limit in limits:
        assert limit.radius is not None
        assert limit.radius.value / INCH == pytest.approx(inches, abs=0.06)
        assert limit.at is not None
        assert limit.at.value == pytest.approx(math.degrees(math.asin(0.10 / 0.39)), abs=1e-9)


def test_a_mirrored_track_gives_mirrored_answers() -> None:
    """To the right is to the left: every figure is the same."""
    left, right = on_track(curve(LONG)), on_track(curve(LONG.replace("left", "right")))
    for name in PAIR:
        assert value(left, name) == pytest.approx(value(right, name), abs=1e-6), name


def test_a_very_large_radius_gives_next_to_nothing() -> None:
    """On a radius of 100 m the trucks turn and the couplers swing less than a tenth of a degree."""
    answer = on_radius(100_000 / INCH)
    assert value(answer, "truck_angle") < 0.1
    assert value(answer, "coupler_angle") < 0.1


def test_couplers_over_the_truck_centres_do_not_peak() -> None:
    """Pivoted over its truck a coupler's angle at entry and in a bare reverse is that of the steady curve."""
    car = boxcar(('pivot_inset = "0.25"', 'pivot_inset = "0.8125"'))
    answer = on_track(curve(LONG), car)
    assert answer.steady is not None
    assert answer.steady.coupler_angle is not None
    assert value(answer, "coupler_angle") == pytest.approx(answer.steady.coupler_angle.value, abs=0.02)


def test_a_long_easement_brings_the_entry_back_to_the_steady_value() -> None:
    """The longer the easement, the nearer the peak to the steady angle; with 100 in it is within 0.2 degrees."""
    peaks = []
    for length in (25, 100):
        ease = f'easement = "left"\nradius = "18 in"\nlength = "{length} in"'
        answer = on_track(curve(ease, LONG, f"{ease}\nout = true"))
        peaks.append(value(answer, "coupler_angle"))
    assert answer.steady is not None
    assert answer.steady.coupler_angle is not None
    steady = answer.steady.coupler_angle.value
    assert steady - 1e-3 <= peaks[1] < peaks[0] < 15.7
    assert peaks[1] <= steady + 0.2


def test_wider_truck_centres_throw_further_in() -> None:
    """Changing the truck centres moves the study as the closed form says: the trucks turn asin(a/rho)."""
    near, far = on_radius(18.0), on_radius(18.0, boxcar(('centers = "4 1/2"', 'centers = "4 3/4"')))
    rho = math.sqrt(18**2 - (66 / 87.1) ** 2 / 4)
    assert value(far, "truck_angle") == pytest.approx(math.degrees(math.asin(2.375 / rho)), abs=1e-3)
    assert value(far, "throw_in") > value(near, "throw_in")


def test_missing_sizes_are_unknown_and_never_fail() -> None:
    """A car of a name alone gets four unknown verdicts, and its limits name what is missing."""
    answer = curve_study(
        read_car('[car]\nname = "x"\n', file="x.toml"), radius=typed(457.2, "radius", key="--radius", text="18 in")
    )
    assert {each.verdict for each in answer.verdicts} == {"unknown"}
    assert "trucks.wheelbase" in {key for limit in answer.limits for key in limit.needs}
    assert "fail" not in {finding.verdict for finding in answer.findings}


def test_every_published_number_has_its_working() -> None:
    """Each number of the study walks down to readings or reference values, and is found again from them."""
    document = curve_document(on_radius(18.0))
    numbers = list(document.numbers())
    assert len(numbers) > 60
    for path, working in numbers:
        assert document.find(path) is working, path
        assert list(leaves(working)), path
    for path in (
        "worst.coupler_angle_deg",
        "worst.throw_in_mm",
        "verdicts.pulled.least_radius_mm",
        "steady.body_gap_mm",
    ):
        working = document.find(path)
        assert evaluate(working) == pytest.approx(working.value, rel=1e-9), path


@pytest.mark.parametrize(
    ("segment", "said"),
    [
        ('curve = "left"\nradius = "18 in"\nangle = 600', "segment 2"),
        ('curve = "left"\nradius = "-18 in"\nangle = 60', "segment 2"),
        ('curve = "left"\nangle = 60', "segment 2"),
        ('curve = "up"\nradius = "18 in"\nangle = 60', "segment 2"),
        ('turnout = "left"\nfrog = 0', "segment 2"),
        ('wiggle = "left"', "segment 2"),
    ],
)
def test_a_track_that_cannot_be_names_its_segment(segment: str, said: str) -> None:
    """Each slip of a track file is told with its segment and its line."""
    with pytest.raises(InputError) as caught:
        read_track(curve(segment), file="t.toml")
    assert any(said in each.problem or said in each.key or "segment[2]" in each.key for each in caught.value.problems)
    assert all(each.line for each in caught.value.problems)


def test_a_radius_smaller_than_half_the_truck_centres_is_refused() -> None:
    """No car stands on a circle that its trucks reach over."""
    with pytest.raises(InputError, match="smaller than half the truck centres"):
        on_radius(2.0)


def test_a_path_shorter_than_the_train_is_refused() -> None:
    """A track on which the two cars do not fit is named as such."""
    with pytest.raises(InputError, match="short"):
        on_track('[track]\nscale = "HO"\n[[track.segment]]\nstraight = "6 in"\n')
