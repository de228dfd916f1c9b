"""What a study says beside the four verdicts: standards, mounting, pushes, pictures, and its published form."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from jsonschema import Draft202012Validator
from tests.plan.cars import demo

from carwright.car.read import read_car
from carwright.cli.main import main
from carwright.draw.curveviews import curve_drawings
from carwright.findings import Finding
from carwright.plan.curvedocument import curve_document
from carwright.plan.curvemodel import CurveAnswer
from carwright.plan.curves import curve_study
from carwright.reference.clearances import track_centers
from carwright.track.trackfile import read_track
from carwright.working import typed

ROOT = Path(__file__).resolve().parents[2]
CARS = ("boxcar.toml", "n_car.toml", "h0_car.toml")
ACCEPTANCE = sorted((ROOT / "tests" / "acceptance" / "cars").glob("*.toml"))


def schema(package: str, name: str) -> dict[str, Any]:
    """Return a published schema."""
    found: dict[str, Any] = json.loads(resources.files(package).joinpath("schema", name).read_text(encoding="utf-8"))
    return found


def study(text: str, inches: float | None = None) -> CurveAnswer:
    """Return a car's study on its own radius, or on one in inches."""
    radius = None if inches is None else typed(inches * 25.4, "radius", key="--radius", text=f"{inches} in")
    return curve_study(read_car(text, file="car.toml"), radius=radius)


def found(answer: CurveAnswer, check: str) -> Finding:
    """Return a study's finding by its name."""
    return next(each for each in answer.findings if each.check == check)


@pytest.mark.parametrize("name", CARS)
def test_each_study_keeps_to_its_schema(name: str) -> None:
    """The JSON of each demonstration car's study has the keys of its published schema, and no others."""
    published = schema("carwright.plan", "curve.json")
    Draft202012Validator.check_schema(published)
    Draft202012Validator(published).validate(curve_document(study(demo(name))).as_json())


@pytest.mark.parametrize("car", ACCEPTANCE, ids=lambda path: path.stem)
def test_awkward_cars_are_studied_or_named(car: Path) -> None:
    """Every awkward car gets four verdicts on 24 in; what cannot be said is unknown, and nothing falls over."""
    answer = study(car.read_text(encoding="utf-8"), 24.0)
    assert [each.name for each in answer.verdicts] == ["alone", "pulled", "pushed", "coupled"]
    curve_drawings(answer)


def test_a_track_file_keeps_to_its_schema() -> None:
    """The page's own track is valid by the published schema, and a curve without a radius is not."""
    published = schema("carwright.track", "track.json")
    Draft202012Validator.check_schema(published)
    page = (ROOT / "docs" / "curve.md").read_text(encoding="utf-8")
    block = re.search(r"<!-- file: loop.track.toml -->\s*```toml\n(.*?)```", page, re.DOTALL)
    assert block is not None
    assert read_track(block[1]).segments
    validator = Draft202012Validator(published)
    validator.validate(tomlkit.parse(block[1]).unwrap())
    assert not validator.is_valid({"track": {"segment": [{"curve": "left", "angle": 9}]}})


def test_couplers_are_left_on_the_trucks_where_the_body_does_not_reach() -> None:
    """Where 19 in are wanted and 18 are there, the answer is to leave them on the trucks; on 24 in nothing is said."""
    said = found(study(demo("boxcar.toml"), 18.0), "curve_mount")
    assert said.verdict == "watch"
    assert "leave them on the trucks" in said.because
    assert said.limit is not None
    assert said.limit.value / 25.4 == pytest.approx(19.02, abs=0.02)
    assert not [each for each in study(demo("boxcar.toml"), 24.0).findings if each.check == "curve_mount"]


def test_couplers_on_trucks_are_told_from_where_the_body_is_right_and_turn_them_in_a_push() -> None:
    """On the trucks the couplers reach round 18 in; the radius for the body is named, and a push is worth a look."""
    body = '[coupler]\nmount = "body"'
    assert body in demo("boxcar.toml")
    text = demo("boxcar.toml").replace(body, '[coupler]\nmount = "truck"\nheight = "0.385"')
    answer = study(text, 18.0)
    assert answer.verdict("pulled").verdict == "ok"
    mount, push = found(answer, "curve_mount"), found(answer, "push_side")
    assert mount.verdict == "ok"
    assert "19.0 in" in mount.because
    assert push.verdict == "watch"
    assert "turns it" in push.because


def test_rooms_of_the_standards_and_what_the_data_does_not_hold() -> None:
    """A NEM car is held against NEM 102 and 103, an HO car against the gauge for a straight; N has nothing: unknown.

    By hand: 14.5 prototype feet are 14.5 x 304.8/87.1 = 50.741 mm in HO, half of it 25.371 mm (a magazine's figure).
    """
    room = found(study(demo("h0_car.toml")), "clearance_structure")
    assert room.verdict == "ok"
    assert "NEM 10" in room.source
    gauge = found(study(demo("boxcar.toml"), 24.0), "clearance_structure")
    assert gauge.verdict == "ok"
    assert gauge.limit is not None
    assert gauge.limit.value == pytest.approx(25.371, abs=1e-3)
    assert found(study(demo("boxcar.toml"), 5.0), "clearance_structure").verdict == "unknown"
    assert found(study(demo("n_car.toml")), "clearance_structure").verdict == "unknown"


def test_tracks_side_by_side_by_nem_112_and_s_8() -> None:
    """Where the room that two cars take is less than NEM 112's 46 mm on the straight they pass on a curve, too.

    A large car by S-8: on 574 in in O, half the curvature of the table's 287 in, half of 3.375 - 3.25 in is added.
    """
    tracks = found(study(demo("h0_car.toml")), "track_centers")
    assert tracks.verdict == "ok"
    assert tracks.limit is not None
    assert tracks.limit.value == pytest.approx(46.0)
    given = track_centers("O", "NMRA", typed(574 * 25.4, "radius", key="--radius", text="574 in"))
    assert given is not None
    assert given.distance.value / 25.4 == pytest.approx(3.25 + 0.125 / 2.0)


def test_radii_that_standards_name() -> None:
    """In HO the data's seven radii stand in order; NEM 111's four are multiples of the gauge: 22, 25, 30, 35 times."""
    said = found(study(demo("boxcar.toml"), 24.0), "radius_class").because
    places = [said.index(f"{each} in (") for each in ("16.5", "18", "22", "24", "32", "40")]
    assert places == sorted(places)
    nem = found(study(demo("h0_car.toml")), "radius_class").because
    assert all(f"{times * 16.5:g} mm" in nem for times in (22, 25, 30, 35))


def test_the_popular_ratio_is_a_line_beside_the_geometry() -> None:
    """It is common practice, always ok, and stands beside a failing verdict without softening it."""
    answer = study(demo("boxcar.toml"), 18.0)
    assert found(answer, "curve_ratio").source == "common practice"
    assert answer.verdict("pulled").verdict == "fail"


def test_slack_shortens_a_push_and_leaves_a_pull_alone() -> None:
    """With the heads run together the bodies come closer in a push; under pull the gap is what it was."""
    car, radius = read_car(demo("boxcar.toml")), typed(609.6, "radius", key="--radius", text="24 in")
    slack = typed(1.0, "slack between the heads", key="--slack", text="1 mm")
    tight, loose = curve_study(car, radius=radius), curve_study(car, radius=radius, slack=slack)
    assert loose.worst["gap"].value == pytest.approx(tight.worst["gap"].value, abs=1e-6)
    assert loose.worst["gap_pushed"].value < tight.worst["gap_pushed"].value - 0.5


@pytest.mark.parametrize("name", CARS)
def test_every_picture_is_drawn(name: str) -> None:
    """Each car gets its six pictures and one of each part that a truck touches, with words for those who do not see."""
    answer = study(demo(name))
    drawings = curve_drawings(answer)
    names = [each.name for each in drawings]
    six = ["curve_room", "curve_offsets", "curve_pair", "curve_angle", "curve_reverse", "curve_tangent"]
    assert names[:6] == six
    touched = {
        f"curve_touch_{each.end}_{each.part.lower().replace(' ', '_')}" for each in answer.touching if each.radius
    }
    assert set(names[6:]) == touched
    assert len(names[6:]) == len(touched) > 10
    assert all(each.alt.endswith(".") and each.marks for each in drawings)


def test_the_pictures_go_into_one_file(tmp_path: Path) -> None:
    """``--draw`` writes one SVG that is well-formed, and refuses a name that is none and the car file itself."""
    car = tmp_path / "car.toml"
    car.write_text(demo("boxcar.toml"), encoding="utf-8")
    place = tmp_path / "curve.svg"
    assert main(["curve", str(car), "--radius", "18 in", "--draw", str(place), "--out", str(tmp_path / "page")]) == 1
    root = ET.fromstring(place.read_text(encoding="utf-8"))  # noqa: S314 - our own writer's output
    assert root.tag.endswith("svg")
    assert "coupler B of the first car: 15.7°" in "".join(root.itertext())
    assert main(["curve", str(car), "--radius", "18 in", "--draw", str(tmp_path / "curve.png")]) == 2


def test_a_name_with_signs_of_markup_stays_text(tmp_path: Path) -> None:
    """A hostile name and track reach the file as words only."""
    text = demo("boxcar.toml").replace('name = "Double-door boxcar"', 'name = "<script>&\\"x"')
    car, place = tmp_path / "car.toml", tmp_path / "curve.svg"
    car.write_text(text, encoding="utf-8")
    main(["curve", str(car), "--radius", "18 in", "--draw", str(place), "--out", str(tmp_path / "page")])
    root = ET.fromstring(place.read_text(encoding="utf-8"))  # noqa: S314 - our own writer's output
    assert not [each for each in root.iter() if each.tag.endswith("script")]


_STRAIGHT = '[[track.segment]]\nstraight = "24 in"\n'


@pytest.mark.parametrize(
    ("segments", "words"),
    [
        ('[[track.segment]]\nstraight = "6 in"\n', "segment 1 after 152 mm: it is shorter than the train"),
        (
            f'{_STRAIGHT}[[track.segment]]\ncurve = "left"\nradius = "2 in"\nangle = 90\n{_STRAIGHT}',
            "segment 2: the radius is smaller than half the truck centres",
        ),
        (f'{_STRAIGHT}[[track.segment]]\nturnout = "left"\nfrog = 1\n{_STRAIGHT}', "segment 2: one arc to that frog"),
        (f'{_STRAIGHT}[[track.segment]]\nturnout = "left"\n{_STRAIGHT}', "segment 2, a turnout, has no frog"),
        (
            f'{_STRAIGHT}[[track.segment]]\ncurve = "left"\nradius = "18 in"\nangle = 361\n{_STRAIGHT}',
            "segment 2 turns by more than a full circle",
        ),
        (
            f'{_STRAIGHT}[[track.segment]]\neasement = "left"\nradius = "18 in"\nlength = "8 in"\n{_STRAIGHT}',
            "segment 2: the easement ends on a curve, and segment 3 is a straight: the curvature has a gap",
        ),
        (
            (
                f'{_STRAIGHT}[[track.segment]]\neasement = "left"\nradius = "18 in"\nlength = "8 in"\n'
                f'[[track.segment]]\ncurve = "right"\nradius = "18 in"\nangle = 9\n{_STRAIGHT}'
            ),
            "segment 2: the easement curves left and segment 3 curves right: the curvature reverses",
        ),
    ],
)
def test_a_track_that_cannot_be_ends_the_command_with_two(
    segments: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command names file, line and segment of each slip on the standard error, prints no page and ends with 2."""
    car, track = tmp_path / "car.toml", tmp_path / "track.toml"
    car.write_text(demo("boxcar.toml"), encoding="utf-8")
    track.write_text(f'[track]\nscale = "HO"\n{segments}', encoding="utf-8")
    assert main(["curve", str(car), "--track", str(track)]) == 2
    said = capsys.readouterr()
    told = " ".join(said.err.split())
    assert not said.out
    assert words in told
    assert "track.toml, line " in told


def test_a_car_that_cannot_be_placed_is_a_finding() -> None:
    """Between half the truck centres and hypot(a, b/2) the trucks do not stand: verdicts fail and nothing falls over.

    Half the centres are 2.25 in; hypot(57.15, 9.623) mm = 57.955 mm = 2.2817 in.
    """
    answer = study(demo("boxcar.toml"), 2.27)
    alone = answer.verdict("alone")
    assert alone.verdict == "fail"
    assert alone.least_radius is not None
    assert alone.least_radius.value == pytest.approx(57.955, abs=2e-3)
    assert found(answer, "curve_pulled").verdict == "fail"
    curve_drawings(answer)
