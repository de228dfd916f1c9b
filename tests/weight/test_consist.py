"""Consists as they are written, with every slip named, and what a train says where something is missing."""

from __future__ import annotations

import json
import re
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from carwright.car.read import read_car
from carwright.cli.main import main
from carwright.cli.show_train import train_lines
from carwright.draw.trainchart import train_chart
from carwright.findings import Finding
from carwright.plan.train import train_study
from carwright.plan.traindocument import train_document
from carwright.plan.trainmodel import TrainAnswer
from carwright.plan.weighing import weigh
from carwright.problems import InputError, Problem
from carwright.track.trackfile import read_track
from carwright.weight.amounts import grade_of, pull_of
from carwright.weight.consist import read_consist
from carwright.working import evaluate, leaves, typed

ROOT = Path(__file__).resolve().parents[2]
CAR = '[[train.car]]\nname = "Hopper"\nmass = "110 g"\nlength = "5.6"\npivot_inset = "0.25"\ncenters = "4.0"\n'
SHORT = CAR.replace("Hopper", "Caboose").replace("5.6", "4.1").replace('"4.0"', '"2.6"').replace("110", "70")
BOXCAR = resources.files("carwright.demo").joinpath("boxcar.toml").read_text(encoding="utf-8")
TRACK = (
    '[[track.segment]]\nstraight = "30 in"\n[[track.segment]]\ncurve = "left"\nradius = "20 in"\nangle = 60\n'
    '[[track.segment]]\nturnout = "right"\nfrog = 6\n[[track.segment]]\nstraight = "30 in"\n'
)


def schema(package: str, name: str) -> dict[str, Any]:
    """Return a published schema."""
    found: dict[str, Any] = json.loads(resources.files(package).joinpath("schema", name).read_text(encoding="utf-8"))
    return found


def study(
    text: str, *, grade: str = "1%", track: str = "", inches: float | None = 20.0, pushed: bool = False
) -> TrainAnswer:
    """Return a train's study; the demonstration's boxcar is the only file there is."""
    radius = None if inches is None or track else typed(inches * 25.4, "radius", key="--radius", text=f"{inches} in")
    return train_study(
        read_consist(text),
        {"boxcar.toml": read_car(BOXCAR)},
        grade=grade_of(grade),
        radius=radius,
        track=read_track(track) if track else None,
        pushed=pushed,
    )


def found(answer: TrainAnswer, check: str) -> Finding:
    """Return a finding by its name."""
    return next(each for each in answer.findings if each.check == check)


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        ("", "train", "no train"),
        ("[train]\n", "train.car", "no cars"),
        ("[train]\ncar = []\n", "train.car", "no cars"),
        ("[train]\nlocomotive_pul = 1\n" + CAR, "train.locomotive_pul", "Did you mean locomotive_pull?"),
        ("[train]\n" + CAR + "lenth = 4\n", "train.car[1].lenth", "Did you mean length?"),
        ("[train]\n" + CAR + "count = 0\n", "train.car[1].count", "1 to 500"),
        ("[train]\n" + CAR + "count = 501\n", "train.car[1].count", "1 to 500"),
        ("[train]\n" + CAR + 'load = "-5 g"\n', "train.car[1].load", "negative"),
        ("[train]\n" + CAR.replace("110 g", "-110 g"), "train.car[1].mass", "negative"),
        ("[train]\n" + CAR.replace("110 g", "0 g"), "train.car[1].mass", "5 to 1000 g"),
        ("[train]\n" + CAR.replace("110 g", "2 kg"), "train.car[1].mass", "5 to 1000 g"),
        ("[train]\n" + CAR + 'rolling = "250 %"\n', "train.car[1].rolling", "0.2 to 10 %"),
        ("[train]\n" + CAR.replace('"4.0"', '"5.7"'), "train.car[1].centers", "less than its length"),
        ("[train]\nlocomotive_pull = 150\n" + CAR, "train.locomotive_pull", "150 g"),
        ("[train]\nlocomotive_pull = 0\n" + CAR, "train.locomotive_pull", "over 0"),
        ('[train]\nscale = "HOO"\n' + CAR, "train.scale", "Did you mean"),
        ("[train]\n[[train.car]]\n", "train.car[1]", "says nothing of itself"),
        ('[train]\n[[train.car]]\nfile = "a.toml"\nlength = 5\n', "train.car[1].length", "sizes there"),
        ("[train]\n" + CAR + "[cars]\n", "cars", "no such section"),
    ],
)
def test_slips_are_named_with_what_is_accepted(text: str, key: str, words: str) -> None:
    """Each slip is refused under its own key, with the range, the nearest name or what to write."""
    with pytest.raises(InputError) as caught:
        read_consist(text, file="train.toml")
    said = {each.key: f"{each.problem} {each.accepted} {each.mend}" for each in caught.value.problems}
    assert key in said
    assert words in said[key]


def test_all_slips_are_told_at_once() -> None:
    """Two slips in two cars are two problems, each with its line."""
    with pytest.raises(InputError) as caught:
        read_consist("[train]\n" + CAR + "count = 0\n" + CAR + "lenth = 3\n")
    assert [each.line for each in caught.value.problems] == [8, 15]


@pytest.mark.parametrize("text", ["250%", "-1%", "steep", "11", "1:0"])
def test_a_grade_that_cannot_be_is_refused_with_the_range_and_why(text: str) -> None:
    """250 % is refused with 0 to 10 % and the reason; so is a grade downward, and what is no number."""
    with pytest.raises(InputError) as caught:
        grade_of(text)
    problem = caught.value.problems[0]
    assert problem.key == "--grade"
    if text == "250%":
        assert problem.accepted == "0 to 10 %"
        assert problem.mend.startswith("Wheels that only adhere")


@pytest.mark.parametrize(
    ("text", "newtons"), [("1.2 N", 1.2), (1.2, 1.2), ("1,2 N", 1.2), ("100 g", 0.980665), ("4 oz", 1.112055403815125)]
)
def test_pulls_are_newtons_or_what_a_balance_shows(text: str | float, newtons: float) -> None:
    """A spring balance marked in grams or ounces shows mass times 9.80665 m/s2, exact by definition."""
    assert pull_of(text, "pull", high_n=20.0, key="k").value == pytest.approx(newtons, rel=1e-12)


def test_a_bare_share_is_taken_for_rolling() -> None:
    """0.02 and 2 and "2 %" say the same: nothing rolls on 0.02 %."""
    values = []
    for text in ("0.02", "2", '"2 %"'):
        rolling = read_consist(f"[train]\nrolling = {text}\n{CAR}").rolling
        assert rolling is not None
        values.append(rolling.value)
    assert values == pytest.approx([2.0, 2.0, 2.0])


def test_a_missing_mass_is_unknown_and_never_nothing() -> None:
    """Without one car's mass its drag, the pulls before it and the sum are unknown, and the key is named."""
    answer = study("[train]\nlocomotive_pull = 1\n" + CAR + CAR.replace('mass = "110 g"\n', "") + CAR)
    assert [car.pull is None for car in answer.cars] == [True, True, False]
    assert answer.drag is None
    unknown = found(answer, "locomotive_pull")
    assert unknown.verdict == "unknown"
    assert unknown.needs == ("train.car[2].mass",)


def test_a_missing_size_is_named_for_the_cars_that_it_touches() -> None:
    """Without truck centres a car and its neighbours cannot be placed; drags and pulls are there all the same."""
    answer = study("[train]\n" + CAR + CAR.replace('centers = "4.0"\n', "") + CAR + CAR)
    assert [car.tip is None for car in answer.cars] == [True, True, True, False]
    assert answer.drag is not None
    assert "train.car[2].centers" in found(answer, "tipping_unknown").needs


def test_without_a_curve_tipping_is_unknown_and_on_the_straight_nothing_tips() -> None:
    """No track given is not a straight one: the first is unknown, the second ok, and neither has a tipping pull."""
    none = study("[train]\n" + CAR, inches=None)
    assert found(none, "tipping").verdict == "unknown"
    straight = study("[train]\n" + CAR * 3, track='[[track.segment]]\nstraight = "80 in"\n')
    assert found(straight, "tipping").verdict == "ok"
    assert all(car.tip is None for car in straight.cars)


def test_a_weak_locomotive_is_told_how_many_cars_to_leave() -> None:
    """110 g at 2 % up 1 % drag 0.03236 N each: 0.33 N take ten of twelve."""
    answer = study("[train]\nlocomotive_pull = 0.33\n" + CAR + "count = 12\n")
    failed = found(answer, "locomotive_pull")
    assert failed.verdict == "fail"
    assert failed.mend.startswith("Leave off the last 2 cars")


def test_a_car_far_from_the_middle_in_ounces_per_inch_is_named() -> None:
    """Four cars of 0.693 oz/in and one of 30 g: 0.189 oz/in, 73 % less; 30 % are usual."""
    answer = study("[train]\n" + (CAR + "count = 4\n") + CAR.replace("110 g", "30 g").replace("Hopper", "Light"))
    light = answer.cars[4].ounces
    assert light is not None
    assert light.value == pytest.approx(30 / 28.349523125 / 5.6)
    outlier = found(answer, "weight_per_inch")
    assert outlier.verdict == "watch"
    assert "Light" in outlier.because


def test_a_car_file_gives_sizes_heights_and_the_finished_weight() -> None:
    """The demonstration's boxcar by its file: 115.17 g by its rule, tipping at 2.70 N between its likes on 18 in."""
    answer = study('[train]\n[[train.car]]\nfile = "boxcar.toml"\ncount = 3\n', inches=18.0)
    middle = answer.cars[1]
    assert middle.kind.mass is not None
    assert middle.tip is not None
    assert middle.kind.mass.value == pytest.approx(28.349523125 * (1 + 0.5 * 6.125), rel=1e-9)
    assert middle.tip.value == pytest.approx(2.70, abs=0.02)


def test_a_car_that_does_not_reach_its_weight_is_said() -> None:
    """The demonstration's flat car is taken at what it should weigh; its ballast leaves it short, as by weigh."""
    flat = read_car(resources.files("carwright.demo").joinpath("flat_car.toml").read_bytes())
    row = '[train]\n[[train.car]]\nfile = "flat_car.toml"\n'
    answer = train_study(read_consist(row), {"flat_car.toml": flat})
    told = found(answer, "finished_weight")
    short = weigh(flat).short
    assert short is not None
    assert told.verdict == "watch"
    assert told.value is not None
    assert told.value.value == pytest.approx(short.value)
    assert f"{short.value:.1f} g less" in told.because
    weighed = train_study(read_consist(row + 'mass = "94.6 g"\n'), {"flat_car.toml": flat})
    assert "finished_weight" not in {each.check for each in weighed.findings}


def test_a_turned_car_has_its_ends_exchanged() -> None:
    """Turned about, each end's height and pivot stand at the other end."""
    text = '[train]\n[[train.car]]\nfile = "boxcar.toml"\n[[train.car]]\nfile = "boxcar.toml"\nturned = true\n'
    one, other = study(text).kinds
    assert one.heights.a is not None
    assert other.heights.b is not None
    assert one.heights.a.value == other.heights.b.value
    assert one.shape.sizes["coupler_a"].value == other.shape.sizes["coupler_b"].value


@pytest.mark.parametrize(
    ("a", "b", "share"), [("turns", "rocks", 0.5), ("turns", "turns", 1.0), ("rocks", "rocks", None)]
)
def test_what_lifts_a_wheel_goes_by_how_the_trucks_are_set(a: str, b: str, share: float | None) -> None:
    """Three points lift a wheel at half of what tips the car, a stiff car only then; with both loose nobody knows."""
    car = read_car(BOXCAR.replace("[trucks.a]", f'[trucks.b]\nsetting = "{b}"\n[trucks.a]\nsetting = "{a}"'))
    consist = read_consist('[train]\n[[train.car]]\nfile = "x.toml"\ncount = 3\n')
    radius = typed(457.2, "radius", key="--radius", text="18 in")
    middle = train_study(consist, {"x.toml": car}, radius=radius).cars[1]
    assert middle.tip is not None
    if share is None:
        assert middle.lift is None
    else:
        assert middle.lift is not None
        assert middle.lift.value == pytest.approx(share * middle.tip.value)


def test_a_car_of_another_scale_and_too_tight_or_short_a_track_are_refused() -> None:
    """An N train does not take an HO car, no car stands on less than half its truck centres, three must fit."""
    with pytest.raises(InputError, match="the train in N"):
        study('[train]\nscale = "N"\n[[train.car]]\nfile = "boxcar.toml"\n')
    with pytest.raises(InputError, match="half the truck centres"):
        study("[train]\n" + CAR, inches=1.9)
    with pytest.raises(InputError, match="three coupled cars do not fit"):
        study("[train]\n" + CAR, track='[[track.segment]]\nstraight = "12 in"\n')


@pytest.mark.parametrize(("track", "pushed"), [("", False), (TRACK, False), ("", True)])
def test_the_json_keeps_to_its_schema_and_every_number_answers_why(track: str, pushed: bool) -> None:
    """Each number has a path of its own, walks down to leaves with a source, and is found again from them alone."""
    text = '[train]\nlocomotive_pull = "2 N"\nlocomotive_mass = "400 g"\n[[train.car]]\nfile = "boxcar.toml"\n'
    answer = study(text + CAR + "swing = 9\ncount = 3\n" + SHORT, track=track, pushed=pushed)
    document = train_document(answer)
    published = schema("carwright.plan", "train.json")
    Draft202012Validator.check_schema(published)
    Draft202012Validator(published).validate(document.as_json())
    numbers = list(document.numbers())
    assert len(numbers) == len(dict(numbers))
    for path, working in numbers:
        assert document.find(path) is working, path
        assert evaluate(working) == pytest.approx(working.value, rel=1e-9, abs=1e-9), path
        for leaf in leaves(working):
            assert leaf.kind in ("typed", "reference", "chosen"), path
            assert leaf.key, path
            assert leaf.kind != "chosen" or leaf.note, path


@pytest.mark.parametrize(
    ("key", "old", "new"),
    [
        ("train.car[1].mass", '"110 g"', '"120 g"'),
        ("train.car[1].length", '"5.6"', '"5.9"'),
        ("train.car[1].centers", '"4.0"', '"3.8"'),
        ("train.car[1].pivot_inset", '"0.25"', '"0.30"'),
        ("train.car[1].count", "count = 3", "count = 5"),
    ],
)
@pytest.mark.parametrize("track", ["", TRACK])
def test_a_moved_reading_moves_the_numbers_as_their_working_says(key: str, old: str, new: str, track: str) -> None:
    """Another mass, length, pivot or count: the new train's margins are what the old workings give for it."""
    text = "[train]\n" + CAR + "count = 3\n" + SHORT.replace("mass", 'height = "0.385"\nmass')
    assert old in text
    before, after = study(text, track=track), study(text.replace(old, new, 1), track=track)
    moved = {"train.car[1].mass": 120.0, "train.car[1].length": 5.9 * 25.4, "train.car[1].centers": 3.8 * 25.4}
    moved |= {"train.car[1].pivot_inset": 0.30 * 25.4, "train.car[1].count": 5.0}
    for place in (0, 1, -1):
        one, other = before.cars[place], after.cars[place]
        assert one.margin is not None
        assert other.margin is not None
        assert evaluate(one.margin, {key: moved[key]}) == pytest.approx(other.margin.value, rel=1e-5)


def test_the_published_consist_schema_takes_what_the_program_takes() -> None:
    """The recipe's consist is valid by the schema, and a car without a word of itself is not."""
    published = schema("carwright.weight", "consist.json")
    Draft202012Validator.check_schema(published)
    page = (ROOT / "docs" / "howto.md").read_text(encoding="utf-8")
    block = re.search(r"<!-- file: coal.toml -->\s*```toml\n(.*?)```", page, re.DOTALL)
    assert block is not None
    assert read_consist(block[1]).many == 31
    validator = Draft202012Validator(published)
    validator.validate(tomlkit.parse(block[1]).unwrap())
    assert not validator.is_valid({"train": {"car": [{}]}})
    assert not validator.is_valid({"train": {"car": []}})


def test_the_picture_names_the_car_that_tips() -> None:
    """A light car at the head has a ring at its pull, and its name stands at its tipping pull."""
    light = CAR.replace("Hopper", "Flat").replace("110 g", "20 g")
    drawing = train_chart(study("[train]\n" + light + CAR + "count = 30\n"))
    assert drawing is not None
    titles = [getattr(mark, "title", "") for mark in drawing.marks]
    assert "Flat tips" in titles
    assert any("Flat tips at" in getattr(mark, "text", "") for mark in drawing.marks)


def test_the_command_reads_files_beside_the_consist(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A car file is looked for where the consist is; a missing one is one JSON error with the consist's line."""
    folder = tmp_path / "trains"
    folder.mkdir()
    (folder / "boxcar.toml").write_text(BOXCAR, encoding="utf-8")
    text = '[train]\n[[train.car]]\nfile = "boxcar.toml"\n'
    (folder / "one.toml").write_text(text, encoding="utf-8")
    (folder / "two.toml").write_text(text + '[[train.car]]\nfile = "gone.toml"\n', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["train", "trains/one.toml", "--radius", "18 in", "--json", "--draw", "pull.svg"]) == 0
    assert json.loads(capsys.readouterr().out)["cars"][0]["drag_n"] == pytest.approx(0.02259, abs=1e-4)
    assert (tmp_path / "pull.svg").read_text(encoding="utf-8").startswith("<")
    assert main(["train", "trains/two.toml", "--json"]) == 2
    errors = json.loads(capsys.readouterr().err)["errors"]
    assert [(each["key"], each["line"], each["value"]) for each in errors] == [
        ("train.car[2].file", 4, "gone.toml"),
    ]


_VALUES = st.sampled_from(
    ['"3"', "3", "0", "-1", "true", "[1, 2]", "{a = 1}", '"x"', '""', "1e400", "nan", "[]", '"100 g"', '"3 N"', "5.5"]
)
_KEYS = st.sampled_from(
    [
        "name",
        "scale",
        "standard",
        "units",
        "locomotive_pull",
        "locomotive_mass",
        "rolling",
        "count",
        "turned",
        "mass",
        "load",
        "length",
        "centers",
        "pivot_inset",
        "height",
        "wheelbase",
        "side_play",
        "swing",
        "bogus",
        "car",
    ]
)
_LINES = st.lists(
    st.one_of(
        st.tuples(_KEYS, _VALUES).map(lambda pair: f"{pair[0]} = {pair[1]}"),
        st.sampled_from(["[train]", "[[train.car]]", "[train.car]", "[[train]]", *CAR.strip().splitlines()[1:]]),
    ),
    max_size=9,
)


@settings(max_examples=120, deadline=None)
@given(lines=_LINES)
def test_whatever_is_written_is_a_train_or_a_named_slip(lines: list[str]) -> None:
    """Any lines of a consist in any order give an answer whose page fits 80 columns, or problems with a key each."""
    text = "[train]\n" + "\n".join(lines) + "\n"
    problems: tuple[Problem, ...] = ()
    try:
        page = list(train_lines(study(text)))
    except InputError as error:
        page, problems = [], error.problems
    assert bool(page) != bool(problems)
    assert all(each.problem and each.key for each in problems)
    assert all(len(line) <= 80 for line in page)
