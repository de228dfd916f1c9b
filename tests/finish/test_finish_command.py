"""``carwright finish``: the page, the JSON, the working behind a number, and the list of steps for the calendar."""

from __future__ import annotations

import json
import math
from importlib.resources import files
from pathlib import Path

import pytest
from tests.finish.painted import SCHEME

from carwright.calendar.steplist import read_steps
from carwright.cli.main import main

OWN = """[car]
name = "a \\"b\\""
scale = "HO"
[finish]
scheme = "{}"
order = ["grey", "black"]
old_coat = "heavy"
[[paint]]
colour = "grey"
family = "enamel"
[[paint]]
colour = "black"
family = "{}"
"""


def written(folder: Path, family: str = "lacquer") -> str:
    """Return the name of a car file that was written into a folder."""
    car = folder / "car.toml"
    car.write_text(OWN.format(SCHEME, family), encoding="utf-8")
    return str(car)


def test_the_calendar_reads_the_steps(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The list written for the calendar holds the steps, windows and surfaces of the JSON; status 1 for a conflict."""
    steps = tmp_path / "steps.toml"
    assert main(["finish", written(tmp_path), "--steps", str(steps), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    read = read_steps(steps.read_bytes(), file="steps.toml")
    assert [each.id for each in read] == [each["id"] for each in told["steps"]]
    assert [[[[w.opens_min, w.closes_min] for w in wait.windows] for wait in step.waits] for step in read] == [
        [wait["windows_min"] for wait in step["waits"]] for step in told["steps"]
    ]
    assert [each.hands_min for each in read] == [each["hands_min"] for each in told["steps"]]
    assert (told["times_masked"], told["surfaces_covered"]) == (1, 1)
    assert told["strip"]["with"] == "alkaline_household_cleaner"
    assert told["labels_first"]


def test_the_page_says_it_all(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Decision, tape, waits with their basis, estimates, conflicts and cautions stand on it, in 80 columns."""
    assert main(["finish", written(tmp_path)]) == 1
    page = capsys.readouterr().out
    for words in ("Strip the old paint", "under tape: sides", "common practice", "~", "FAIL", "respirator", "local"):
        assert words in page
    assert max(map(len, page.splitlines())) <= 80
    assert main(["finish", written(tmp_path, "enamel"), "--plain", "--json"]) == 0
    acts = {each["act"] for each in json.loads(capsys.readouterr().out)["steps"]}
    assert not {"gloss", "letter", "set"} & acts


def test_what_is_only_misted_is_told_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A barrier's clear acrylic stands in no table of amounts; that it has to be there is said."""
    car = Path(written(tmp_path))
    car.write_text(car.read_text().replace("[[paint]]", "barrier = true\n[[paint]]", 1), encoding="utf-8")
    main(["finish", str(car)])
    assert "Have at hand too, for mist only: clear acrylic." in capsys.readouterr().out


def test_why_goes_down_to_label_and_data(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A wait leads to the published hours, minutes of masking to a count and an estimate; a wrong path is refused."""
    car = written(tmp_path)
    assert main(["finish", car, "--why", "steps.colour_1_again.waits.0.windows_min.1.0"]) == 0
    told = capsys.readouterr().out
    assert "48" in told
    assert "enamel label" in told
    assert main(["finish", car, "--why", "steps.mask_2.hands_min"]) == 0
    assert "estimate" in capsys.readouterr().out
    assert main(["finish", car, "--why", "steps.mask_9.hands_min"]) == 2
    assert "--why list" in capsys.readouterr().err


def test_the_command_draws_reckons_and_says_why(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Drawings of each act, the paint as JSON and on the screen, and the chain behind one amount."""
    car = tmp_path / "boxcar.toml"
    demo = (files("carwright.demo") / "boxcar.toml").read_text(encoding="utf-8")
    car.write_text(demo.replace('contents = "15 ml"', 'contents = "2 ml"\nsolids = 30', 1), encoding="utf-8")
    assert main(["finish", str(car), "--draw", str(tmp_path / "masks"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    drawn = {each.name for each in (tmp_path / "masks").iterdir()}
    assert [each for each in drawn if each.endswith("-boxcar-masks.pdf")]
    assert {each.removesuffix(".svg") for each in drawn if each.endswith(".svg")} == {
        each.removesuffix(".dxf") for each in drawn if each.endswith(".dxf")
    }
    grey = next(each for each in told["paint_needed"] if each["name"] == "grey")
    assert grey["solids_percent"] == {"low": 30, "high": 30}
    assert grey["to_buy"] == math.ceil(grey["at_most_ml"] / 2)
    assert main(["finish", str(car)]) == 0
    assert f"to buy: {grey['to_buy']} of 2 ml" in capsys.readouterr().out
    assert main(["finish", str(car), "--why", "paint_needed.grey.needed_ml"]) == 0
    page = capsys.readouterr().out
    assert "paint[0].solids" in page
    assert "body.height" in page


def test_drawings_never_go_over_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A folder that is a file is refused with the option that named it."""
    car = tmp_path / "boxcar.toml"
    car.write_bytes((files("carwright.demo") / "boxcar.toml").read_bytes())
    assert main(["finish", str(car), "--draw", str(car)]) == 2
    assert "--draw" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('humidity = "140 %"', "line 7, finish.humidity: this is no relative humidity"),
        ('temperature = "-5 C"', "line 7, finish.temperature: this is no temperature of a room"),
        ('weathering = ["powder", "rust"]', "line 7, finish.weathering[1]: there is no such way of weathering"),
        ('apart = ["chimney"]', "line 7, finish.apart[0]: there is no such part of a car"),
        ('glue_dry = [["5 h", "2 h"]]', "line 7, finish.glue_dry[0]: the window closes before it opens"),
        ('glue_dry = [["1 h", "3 h"], ["2 h", "none"]]', "glue_dry[1]: the window opens before the one before it"),
        ('[[paint]]\ncolour = "red"\nfamily = "laquer"', "line 9, paint[0].family: there is no such family"),
        ('[[finish.log]]\nagent = "gin"\nresult = "failed"', "line 8, finish.log[0].agent: there is no such stripper"),
    ],
)
def test_bad_input_is_named_with_its_line(
    line: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What only the planning of the finish finds wrong is named with file, line and key, as slips of the file are."""
    car = tmp_path / "car.toml"
    car.write_text(
        '[car]\nname = "x"\nscale = "HO"\n[finish]\nscheme = "sides red"\nold_coat = "none"\n' + line, encoding="utf-8"
    )
    assert main(["finish", str(car)]) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.startswith(f"{car}, line ")


def test_warmth_is_told_in_the_unit_it_was_typed_in(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """64 F is too cold for paint made for 65 to 85 °F (the supplier's page of the data), and is told so in °F."""
    car = tmp_path / "car.toml"
    car.write_text('[car]\nname = "x"\nscale = "HO"\n[finish]\nscheme = "sides red"\ntemperature = "64 F"\n')
    assert main(["finish", str(car)]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "The room has 64 °F; air-drying paint is made for 65 to 85 °F. warmth: 1.0 °F beyond the limit" in page
