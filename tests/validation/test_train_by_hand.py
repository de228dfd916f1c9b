"""Trains by hand, against a linear program over the loads of the wheels, and against the custom of the trade.

Sources: drag of a car on a grade is m g (r + i), the common formula of train resistance with r the grade on which the
car just rolls. A body drawn aside tips where no loads on its wheels, none of them negative, balance it; the oracle
looks for such loads and knows no other formula. The custom: light cars run at the rear of a long train, because right
behind the locomotive they are pulled off the inside of a sharp curve ("string-lining", common practice).
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import linprog

from carwright.findings import Finding
from carwright.plan.train import train_study
from carwright.plan.trainmodel import TrainAnswer
from carwright.track.trackfile import read_track
from carwright.weight.amounts import grade_of
from carwright.weight.consist import read_consist
from carwright.working import typed

G = 9.80665
GAUGE_M = 0.0165

LIGHT = '\n[[train.car]]\nname = "Flat"\nmass = "25 g"\nlength = "6.1"\npivot_inset = "0.25"\ncenters = "4.5"\n'
HEAVY = (
    '\n[[train.car]]\nname = "Hopper"\nmass = "110 g"\nlength = "5.6"\npivot_inset = "0.25"\ncenters = "4.0"\n'
    "rolling = 1.5\ncount = 40\n"
)
HEAD = '[train]\nlocomotive_pull = "3 N"\n'
CURVE = """
[[track.segment]]
straight = "40 in"
[[track.segment]]
curve = "right"
radius = "18 in"
angle = 120
[[track.segment]]
straight = "40 in"
"""


def study(
    text: str, grade: str = "2.5%", inches: float | None = 18.0, track: str = "", *, pushed: bool = False
) -> TrainAnswer:
    """Return a train's study on one steady curve, or on a track."""
    radius = None if inches is None else typed(inches * 25.4, "radius", key="--radius", text=f"{inches} in")
    return train_study(
        read_consist(text),
        {},
        grade=grade_of(grade),
        radius=None if track else radius,
        track=read_track(track) if track else None,
        pushed=pushed,
    )


def found(answer: TrainAnswer, check: str) -> Finding:
    """Return a finding by its name."""
    return next(each for each in answer.findings if each.check == check)


def most_pull(mass_g: float, side_mm: float, *, rocks: bool) -> float:
    """Return the greatest pull, N, under which all wheels of a car carry; its load lies in the middle.

    Args:
        mass_g: of the car.
        side_mm: sum of its couplers' heights times the sines of their angles.
        rocks: whether one truck rocks, and so carries alike on both sides.
    """
    weight, half = mass_g / 1000.0 * G, GAUGE_M * 500.0
    rows = [[0.0, 1, 1, 1, 1], [0.0, 1, 1, -1, -1], [-side_mm, half, -half, half, -half]]
    right = [weight, 0.0, 0.0]
    if rocks:
        rows.append([0.0, 0, 0, 1, -1])
        right.append(0.0)
    answer = linprog([-1.0, 0, 0, 0, 0], A_eq=rows, b_eq=right, bounds=[(0, None)] * 5)
    assert answer.status == 0
    return float(answer.x[0])


def test_drag_and_pulls_by_hand() -> None:
    """A 25 g flat at 2 % and 40 hoppers of 110 g at 1.5 %, up 2.5 %: each m g (r + i), summed from the rear."""
    answer = study(HEAD + LIGHT + HEAVY)
    flat, hopper = 0.025 * G * 0.045, 0.110 * G * 0.040
    drags = [car.kind.drag.value for car in answer.cars if car.kind.drag is not None]
    assert drags == pytest.approx([flat, *[hopper] * 40])
    pulls = [car.pull.value for car in answer.cars if car.pull is not None]
    assert pulls == pytest.approx([flat + 40 * hopper, *[n * hopper for n in range(40, 0, -1)]])
    assert answer.drag is not None
    assert answer.drag.value == pytest.approx(flat + 40 * hopper)
    assert answer.mass is not None
    assert answer.mass.value == pytest.approx(25 + 4400)


@pytest.mark.parametrize(("grade", "percent"), [("2.5%", 2.5), ("1:40", 2.5), ("1 in 50", 2.0), ("0", 0.0)])
def test_worked_grades(grade: str, percent: float) -> None:
    """A grade of 1 in 40 is 2.5 %: 0.1 kg that rolls on 2 % drags 0.1 x 9.80665 x (0.02 + 0.025) = 0.04413 N."""
    text = '[train]\nrolling = "2 %"\n[[train.car]]\nmass = "100 g"\n'
    drag = study(text, grade, inches=None).drag
    assert drag is not None
    assert drag.value == pytest.approx(0.1 * G * (0.02 + percent / 100.0))


def test_the_steepest_grade_is_the_one_that_takes_all_of_the_pull() -> None:
    """Up the grade that is named the train drags exactly what the locomotive, less its own share, pulls."""
    text = HEAD.replace("3 N", '1.6 N"\nlocomotive_mass = "400 g') + HEAVY
    steepest = study(text, "1%").steepest
    assert steepest is not None
    again = study(text, f"{steepest.value!r}")
    assert again.drag is not None
    assert again.available is not None
    assert again.drag.value == pytest.approx(again.available.value, rel=1e-9)
    share = 1.6 / G * 100.0  # (P/g - sum of m r) / (sum of m), kilograms and percent
    assert steepest.value == pytest.approx((share - 4.4 * 1.5) / (4.4 + 0.4))


@pytest.mark.parametrize("track", ["", CURVE])
def test_tipping_and_lifting_agree_with_the_balance_of_the_wheels(track: str) -> None:
    """For cars at the head, in the middle and at the rear, on a radius and on a track, to a billionth."""
    answer = study(HEAD + LIGHT + HEAVY, track=track)
    for place in (0, 1, 20, 40):
        car = answer.cars[place]
        heights = (car.kind.heights.a, car.kind.heights.b)
        side = 0.0
        for height, angle in zip(heights, (car.angles.a, car.angles.b), strict=True):
            if height is not None and angle is not None:
                side += height.value * math.sin(math.radians(angle.value))
        assert car.kind.mass is not None
        assert car.tip is not None
        assert car.lift is not None
        assert car.tip.value == pytest.approx(most_pull(car.kind.mass.value, side, rocks=False), rel=1e-9)
        assert car.lift.value == pytest.approx(most_pull(car.kind.mass.value, side, rocks=True), rel=1e-9)


def test_like_cars_on_a_steady_curve_tip_at_w_g_over_4_h_sin_a() -> None:
    """By hand, 18 in: rho = 456.998, y = 453.41 mm; angle atan(64.77/453.41) + asin(9.906/458.01) = 9.3693 degrees."""
    answer = study(HEAD + HEAVY)
    car = answer.cars[10]
    wheelbase = 66 * 25.4 / 87.1
    axis = math.sqrt(457.2**2 - wheelbase**2 / 4 - 50.8**2)
    out = 2.8 * 25.4 - 0.25 * 25.4
    angle = math.degrees(math.atan(out / axis) + math.asin(0.39 * 25.4 / math.hypot(out, axis)))
    assert car.angles.a is not None
    assert car.tip is not None
    assert car.angles.a.value == pytest.approx(angle, abs=1e-6)
    by_hand = 0.110 * G * 16.5 / (4 * 0.391 * 25.4 * math.sin(math.radians(angle)))
    assert car.tip.value == pytest.approx(by_hand, rel=1e-6)


@pytest.mark.parametrize(("track", "many"), [("", 40), (CURVE, 40)])
def test_a_light_car_belongs_at_the_rear(track: str, many: int) -> None:
    """At the head of a long train up a grade on 18 in the flat tips; at the rear nothing does (common practice)."""
    heavy = HEAVY.replace("= 40", f"= {many}")
    head, rear = study(HEAD + LIGHT + heavy, track=track), study(HEAD + heavy + LIGHT, track=track)
    at_head = found(head, "tipping")
    assert at_head.verdict == "fail"
    assert at_head.because.startswith("Flat, right behind the locomotive, tips")
    assert "nearer the rear" in at_head.mend
    assert found(rear, "tipping").verdict == "ok"


def test_the_place_that_the_mend_names_is_the_last_that_holds() -> None:
    """With as many cars behind it as the mend allows the flat stands, with one more it tips."""
    mend = found(study(HEAD + LIGHT + HEAVY), "tipping").mend
    behind = int(mend.split("at most ")[1].split()[0])
    for many, verdict in ((behind, "ok"), (behind + 1, "fail")):
        parts = HEAVY.replace("count = 40", f"count = {40 - many}") + LIGHT + HEAVY.replace("= 40", f"= {many}")
        assert found(study(HEAD + parts), "tipping").verdict == verdict


def test_the_weight_that_the_mend_names_just_holds() -> None:
    """Brought to a gram more than named the flat stands at the head; a gram less and it tips."""
    mend = found(study(HEAD + LIGHT + HEAVY), "tipping").mend
    grams = int(mend.split("bring it to ")[1].split()[0])
    for mass, verdict in ((grams + 1, "ok"), (grams - 1, "fail")):
        text = HEAD + LIGHT.replace("25 g", f"{mass} g") + HEAVY
        assert found(study(text), "tipping").verdict == verdict


def test_where_a_curve_begins_cars_tip_sooner_than_on_the_steady_curve() -> None:
    """A bare straight into the same radius draws the couplers of an overhung car farther aside (known of such cars)."""
    steady, track = study(HEAD + HEAVY).cars[5].tip, study(HEAD + HEAVY, track=CURVE).cars[5].tip
    assert steady is not None
    assert track is not None
    assert track.value < steady.value


def test_a_push_by_hand() -> None:
    """Pushed, car n from the front carries n drags; couplers at asin(0.10/0.39) tip 110 g at W G / 4 h sin of it."""
    play = HEAVY.replace("rolling", 'side_play = "0.10"\nrolling')
    answer = study(HEAD + play, inches=None, pushed=True)
    hopper = 0.110 * G * 0.040
    assert [car.pull.value for car in answer.cars if car.pull is not None] == pytest.approx(
        [n * hopper for n in range(1, 41)]
    )
    by_hand = 0.110 * G * 16.5 / (4 * 0.391 * 25.4 * (0.10 / 0.39))
    assert answer.cars[0].tip is not None
    assert answer.cars[20].tip is not None
    assert answer.cars[20].tip.value == pytest.approx(by_hand, rel=1e-9)
    assert answer.cars[0].tip.value == pytest.approx(2 * by_hand, rel=1e-9)


def test_in_a_push_a_light_car_belongs_at_the_front() -> None:
    """The custom turned round: next to a locomotive that pushes the flat tips, at the head of the train it stands."""
    light, heavy = (each.replace("centers", 'side_play = "0.05"\ncenters') for each in (LIGHT, HEAVY))
    rear = found(study(HEAD + heavy + light, pushed=True), "tipping")
    assert rear.verdict == "fail"
    assert rear.because.startswith("Flat, right before the locomotive, tips")
    assert "nearer the front" in rear.mend
    assert found(study(HEAD + light + heavy, pushed=True), "tipping").verdict == "ok"


def test_a_push_needs_the_swing_of_the_couplers() -> None:
    """Without side play or swing what tips a car in a push is unknown, and the key is named."""
    answer = study(HEAD + HEAVY, pushed=True)
    assert answer.cars[0].tip is None
    assert "train.car[1].side_play" in found(answer, "tipping_unknown").needs
