"""Every number of a study answers why: found again from its leaves, moving with each of them, and with nothing else."""

from __future__ import annotations

import pytest
from tests.plan.cars import demo
from tests.plan.moving import moved_text
from tests.track.test_curve_orders import TRACK, long_car

from carwright.car.model import Car
from carwright.car.read import read_car
from carwright.plan import Document
from carwright.plan.curvedocument import curve_document
from carwright.plan.curves import curve_study
from carwright.track.trackfile import read_track
from carwright.working import Working, evaluate, leaves, typed

YARD = """
[track]
scale = "HO"
[[track.segment]]
straight = "20 in"
[[track.segment]]
easement = "left"
radius = "22 in"
length = "5 in"
[[track.segment]]
curve = "left"
radius = "22 in"
angle = 20
[[track.segment]]
easement = "left"
radius = "22 in"
length = "5 in"
out = true
[[track.segment]]
straight = "3 in"
[[track.segment]]
turnout = "right"
frog = 4
points = "0.7 in"
[[track.segment]]
straight = "30 in"
"""


def on_radius(text: str) -> Document:
    """Return the study of a car file's text on 18 in."""
    radius = typed(457.2, "radius", key="--radius", text="18 in")
    return curve_document(curve_study(read_car(text, file="car.toml"), radius=radius))


def on_track(track: str, neighbour: Car | None = None) -> Document:
    """Return the study of the worked car on a track, alone with its like or with another car."""
    car = read_car(demo("boxcar.toml"), file="car.toml")
    return curve_document(curve_study(car, track=read_track(track, file="t.toml"), neighbour=neighbour, file="t.toml"))


def worst_numbers(document: Document) -> dict[str, Working]:
    """Return the worst figures and their places."""
    return {path: each for path, each in document.numbers() if path.startswith("worst.")}


def idle_leaves(numbers: dict[str, Working], steps: tuple[float, ...] = (3e-3, 0.3)) -> list[tuple[str, str]]:
    """Return which leaves move which numbers by nothing, whatever part of them they are moved by, to either side."""
    return [
        (path, leaf.key or leaf.name)
        for path, working in numbers.items()
        for leaf in leaves(working)
        if leaf.kind != "reference" and not any(_moves(working, leaf, way * step) for step in steps for way in (1, -1))
    ]


def _moves(working: Working, leaf: Working, part: float) -> bool:
    """Return whether a leaf moved by a part of itself moves a number; a car that then cannot be does not count."""
    try:
        return not abs(evaluate(working, {leaf.key: leaf.value * (1.0 + part)}) - working.value) <= 1e-6
    except ZeroDivisionError:
        return True  # they meet straight ahead: on every radius
    except (ValueError, StopIteration):
        return False


CASES = {
    "radius": lambda: on_radius(demo("boxcar.toml")),
    "yard": lambda: on_track(YARD),
    "neighbour": lambda: on_track(TRACK, long_car()),
}


@pytest.mark.parametrize("case", CASES)
def test_what_cannot_move_a_worst_figure_is_not_in_its_working(case: str) -> None:
    """Each leaf of a worst figure and of its place moves it; found again from its leaves it is the number told."""
    numbers = worst_numbers(CASES[case]())
    assert len(numbers) == 16
    for path, working in numbers.items():
        assert evaluate(working) == pytest.approx(working.value, rel=1e-9, abs=1e-9), path
    assert not idle_leaves(numbers, steps=(3e-3, 1e-2))


def test_what_cannot_move_a_least_radius_is_not_in_its_working() -> None:
    """Each leaf of the least radii of two cars moves it, of cars that are not alike, too."""
    document = on_track(TRACK, long_car())
    numbers = {name: document.find(f"verdicts.{name}.least_radius_mm") for name in ("pulled", "pushed")}
    for name, working in numbers.items():
        assert evaluate(working) == pytest.approx(working.value, rel=1e-9), name
    assert not idle_leaves(numbers, steps=(1e-2,))


def test_straights_and_other_curves_move_places_only() -> None:
    """On one radius no straight enters a worst figure; the one before the curve enters each place behind it."""
    for path, working in worst_numbers(on_radius(demo("boxcar.toml"))).items():
        names = {leaf.name for leaf in leaves(working)}
        assert ("straight before and behind the curve" in names) == path.endswith("_at_mm"), path
        assert ("radius" in names) != path.endswith("_at_mm"), path


@pytest.mark.parametrize(
    "key",
    [
        "trucks.centers",
        "trucks.wheelbase",
        "body.length",
        "body.width",
        "coupler.pivot_inset",
        "coupler.length",
        "coupler.side_play",
    ],
)
def test_a_reading_moved_in_the_file_moves_what_holds_it_and_nothing_else(key: str) -> None:
    """The study of the changed file gives what the old workings give, and numbers without the reading stay."""
    text = demo("boxcar.toml")
    before = worst_numbers(on_radius(text))
    reading = next(leaf for each in before.values() for leaf in leaves(each) if leaf.key == key)
    value = reading.value * 1.004
    after = worst_numbers(on_radius(moved_text(text, reading, value=value, tolerance=None, ratio=87.1)))
    for path, working in before.items():
        # Straights are as long as the train: the same leaves of both are chosen anew.
        chosen = {leaf.key: leaf.value for leaf in leaves(after[path]) if leaf.kind == "chosen"}
        held = key in {leaf.key for leaf in leaves(working)}
        expected = evaluate(working, {**chosen, key: value} if held else chosen)
        near = 1e-9 if path.endswith("_at_mm") else 1e-5
        assert after[path].value == pytest.approx(expected, abs=near), path


def test_the_swept_room_is_published_with_its_working() -> None:
    """Each reach is found again from leaves that all move it; on the straight only the width does.

    On the curve the room is the steady throws' closed form (chords in a circle) to 0.01 mm.
    """
    document = on_radius(demo("boxcar.toml"))
    rows = document.as_json()["envelope"]
    assert isinstance(rows, list)
    assert 100 <= len(rows) <= 121
    numbers = {path: each for path, each in document.numbers() if path.startswith("envelope.")}
    assert len(numbers) == 3 * len(rows)
    some = {path: each for path, each in numbers.items() if int(path.split(".")[1]) % 9 == 0}
    for path, working in some.items():
        assert evaluate(working) == pytest.approx(working.value, rel=1e-9, abs=1e-9), path
    assert not [each for each in idle_leaves(some, steps=(1e-3,)) if not each[0].endswith("at_mm")]
    assert {leaf.key for leaf in leaves(document.find("envelope.0.left_mm"))} == {"body.width"}
    for side, throw in (("left", "throw_in_mm"), ("right", "throw_out_mm")):
        most = max(each.value for path, each in numbers.items() if path.endswith(f"{side}_mm"))
        assert most == pytest.approx(document.find(f"steady.{throw}").value, abs=0.01)
