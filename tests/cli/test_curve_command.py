"""``carwright curve``: what it prints, its status, and what it says to bad input."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path

import pytest

from carwright.cli.main import main

TRACK = """[track]
scale = "HO"
[[track.segment]]
straight = "24 in"
[[track.segment]]
curve = "left"
radius = "30 in"
angle = 60
[[track.segment]]
straight = "24 in"
"""


@pytest.fixture
def car(tmp_path: Path) -> str:
    """Return the path of the demonstration's boxcar in a folder of its own."""
    place = tmp_path / "boxcar.toml"
    place.write_bytes(resources.files("carwright.demo").joinpath("boxcar.toml").read_bytes())
    return str(place)


def test_a_curve_too_sharp_fails(car: str, capsys: pytest.CaptureFixture[str]) -> None:
    """On 18 in the boxcar does not go round pulled: status 1, and the page names the part and the least radius."""
    assert main(["curve", car, "--radius", "18 in"]) == 1
    said = capsys.readouterr().out
    assert "pulled                           FAIL     19.0  coupler B" in said
    assert all(len(line) <= 80 for line in said.splitlines())


@pytest.mark.parametrize(("radius", "doubted"), [("2.4", True), ("12.2 in", True), ("12.3 in", False)])
def test_a_radius_that_is_likelier_a_slip_is_doubted(
    car: str, radius: str, doubted: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    """A radius under twice the car's length, by hand 2 x 6.125 = 12.25 in, is told to be measured or typed again."""
    main(["curve", car, "--radius", radius])
    said = " ".join(capsys.readouterr().out.split())
    assert ("is less than twice the length of the car, 6.125 in" in said) == doubted
    assert ("A radius of 2.4 in" in said) == (radius == "2.4")


def test_json_has_the_published_keys(car: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``--json`` gives steady, worst with places, limits, four verdicts and findings; a gentle track passes."""
    track = tmp_path / "t.toml"
    track.write_text(TRACK, encoding="utf-8")
    assert main(["curve", car, "--track", str(track), "--json"]) == 0
    given = json.loads(capsys.readouterr().out)
    assert set(given) >= {"steady", "worst", "limits", "verdicts", "findings"}
    assert set(given["verdicts"]) == {"alone", "pulled", "pushed", "coupled"}
    for name in ("throw_in", "throw_out", "truck_angle", "coupler_angle", "body_gap"):
        assert f"{name}_at_mm" in given["worst"]
    assert {"what", "part", "radius_mm", "at_deg"} <= set(given["limits"][0])


def test_why_leads_to_the_readings(car: str, capsys: pytest.CaptureFixture[str]) -> None:
    """``--why`` shows the working of a figure down to the car file's lines."""
    assert main(["curve", car, "--radius", "18 in", "--why", "verdicts.alone.least_radius_mm"]) == 0
    assert "trucks.centers, line 36" in " ".join(capsys.readouterr().out.split())


def test_a_named_neighbour_is_told(car: str, capsys: pytest.CaptureFixture[str]) -> None:
    """``--with`` couples the car to another one by name."""
    main(["curve", car, "--with", car, "--radius", "30 in"])
    assert "with Double-door boxcar" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--radius", "2 in"], "smaller than half the truck centres"),
        (["--radius", "wide"], "--radius"),
        (["--radius", "18 in", "--track", "x"], "one of --radius and --track"),
        (["--track", "nowhere.toml"], "there is no such file"),
    ],
)
def test_bad_input_is_named(car: str, words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Input that cannot be used ends with status 2 and one clear line."""
    assert main(["curve", car, *words]) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("place", ["/proc/none/x.svg", "/proc/x.svg"])
def test_a_picture_that_cannot_be_placed_names_its_own_option(
    place: str, car: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where --draw names a place that cannot be written, the error is about --draw."""
    assert main(["curve", car, "--radius", "24 in", "--draw", place]) == 2
    said = capsys.readouterr().err
    assert "--draw" in said
    assert "--out" not in said
