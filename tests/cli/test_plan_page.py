"""``carwright plan``: the page, its width, its words, its exit status and its files."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from tests.cli.conftest import all_cars, demo_car

from carwright.cli.main import main


def page_of(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """Return the page that a car file gives."""
    path = tmp_path / "car.toml"
    path.write_text(text, encoding="utf-8")
    assert main(["plan", str(path)]) in (0, 1)
    return capsys.readouterr().out


def test_the_page_says_what_it_is_whether_it_is_right_and_what_to_do(
    boxcar: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Above all figures stand the car, what is missing, how the checks ended, and the next thing to do."""
    assert main(["plan", str(boxcar)]) == 1
    head = capsys.readouterr().out.splitlines()[:8]
    assert head[0] == "Double-door boxcar"
    assert head[1] == "HO 1:87.1, NMRA, type XM (box), modelled 1948, lengths in inches"
    assert head[2] == "Missing from the car: underframe, trucks, couplers and weight."
    assert head[4].startswith("Checks: 1 fails, ")
    assert head[5].startswith("Next: One 0.010 in washer at A")


def test_the_heights_of_the_worked_car(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Coupler A of the boxcar is 0.011 in low and B 0.003, by hand: a seat 0.006 lower at A through the lever.

    Hand: level at 0.284 + 0.165 - 0.062 = 0.387, 0.004 under 0.391. With a = 2.25 and c = 6.125/2 - 0.25 + 0.39 =
    3.2025 the 0.006 lowers A by 0.006 (c + a)/2a = 0.0073 and raises B by 0.006 (c - a)/2a = 0.0013.
    """
    main(["plan", str(boxcar)])
    page = capsys.readouterr().out
    assert "  height                          0.380    0.388\n" in page
    assert "  error, high is +               -0.011   -0.003\n" in page
    assert "  verdict                          FAIL       ok\n" in page


@pytest.mark.parametrize("name", sorted(all_cars()))
def test_no_line_is_wider_than_80_columns(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every page fits 80 columns; a command to type alone may be longer."""
    page = page_of(all_cars()[name], tmp_path, capsys)
    wide = [line for line in page.splitlines() if len(line) > 80 and not line.startswith("    carwright ")]
    assert wide == []


def test_an_empty_file_is_planned_as_far_as_it_goes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A car file in which nothing stands fails nothing, names what to measure by letter, and ends with 0."""
    path = tmp_path / "car.toml"
    path.write_text("", encoding="utf-8")
    assert main(["plan", str(path)]) == 0
    page = capsys.readouterr().out
    assert "Next: Measure A body length, C inside length, D inside width" in page
    assert "Both ends still need" in page
    assert max(map(len, page.splitlines())) <= 80


def test_a_height_from_memory_is_called_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The N-scale height is known from memory only: the page says so, and the car is watched, not failed."""
    page = page_of(demo_car("n_car"), tmp_path, capsys)
    should_be = next(line for line in page.splitlines() if line.startswith("  should be"))
    assert should_be.endswith("from memory")
    assert "FAIL" not in page


def test_a_customary_limit_is_called_so(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The accepted error of a coupler height is common practice, and stands so beside its figure."""
    main(["plan", str(boxcar)])
    accepted = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("  accepted"))
    assert accepted.split() == ["accepted", "±", "0.010", "0.010", "common", "practice"]


def test_the_page_speaks_the_units_of_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A car measured in millimetres is told in millimetres throughout."""
    page = page_of(demo_car("h0_car"), tmp_path, capsys)
    assert "lengths in millimetres" in page
    assert " in\n" not in page
    assert "inches" not in page


def test_findings_stand_worst_first_with_their_mend(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Under the last heading fail comes before watch, watch before ok, and what is not ok says how to mend it."""
    main(["plan", str(boxcar)])
    checks = capsys.readouterr().out.split("Checks, worst first\n")[1].splitlines()
    marks = [line.split()[0] for line in checks if line.startswith("  ") and line[2] != " "]
    order = ["FAIL", "watch", "unknown", "stale", "ok"]
    assert [order.index(each) for each in marks] == sorted(order.index(each) for each in marks)
    assert any(line.strip().startswith("Mend: One 0.010 in washer at A") for line in checks)


def test_the_place_of_a_hole_from_both(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Truck A's hole is 2.250 in from the middle and, the floor being 5.894 long, 0.697 from its end."""
    main(["plan", str(boxcar)])
    line = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("  truck A "))
    assert line.split() == ["truck", "A", "#50", "2-56", "+2.250", "0.697", "0.000", "0.135"]


def test_hostile_names_move_no_cursor(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A name with control sequences or a change of direction is escaped, and nothing else of the page changes."""
    name = "\x9b2J\u202e<script>#{}\u200b\U0001f682 'quoted'"
    text = demo_car("boxcar").replace('"Double-door boxcar"', f'"{name}"')
    hostile = page_of(text, tmp_path, capsys)
    plain = page_of(demo_car("boxcar"), tmp_path, capsys)
    assert all(each.isprintable() for each in hostile.replace("\n", ""))
    assert hostile.splitlines()[0].startswith("\\x9b2J\\u202e<script>#{}")
    assert hostile.splitlines()[1:] == plain.splitlines()[1:]


def test_names_of_files_with_spaces_and_other_letters(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A car file in a folder with spaces and letters of another alphabet is planned, and its command is quoted."""
    folder = tmp_path / "Wägen  и платформы"
    folder.mkdir()
    path = folder / "box car's.toml"
    path.write_text(demo_car("boxcar"), encoding="utf-8")
    out = folder / "пла н.txt"
    assert main(["plan", str(path), "--out", str(out)]) == 1
    assert capsys.readouterr().out == ""
    assert f"    carwright plan '{folder}/box car'\"'\"'s.toml' --take N\n" in out.read_text(encoding="utf-8")


def test_out_takes_the_json_too(boxcar: Path, tmp_path: Path) -> None:
    """--out with --json writes the plan as JSON, making the folder where it is wanting."""
    out = tmp_path / "new" / "plan.json"
    assert main(["plan", str(boxcar), "--json", "--out", str(out)]) == 1
    assert json.loads(out.read_text(encoding="utf-8"))["car"]["name"] == "Double-door boxcar"


def test_a_missing_file_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A car file that is not there ends with 2 and the way to make one."""
    path = tmp_path / "none.toml"
    assert main(["plan", str(path)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert said.err.startswith(f"{path}: there is no such file")
    assert "carwright new" in said.err


def test_all_problems_of_a_file_at_once_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With --json every problem of a car file is one object with file, line and key, on standard error."""
    path = tmp_path / "car.toml"
    path.write_text('[body]\nlength = "six"\nlip_depth = "4.78"\n', encoding="utf-8")
    assert main(["plan", str(path), "--json"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    errors = json.loads(said.err)["errors"]
    assert [(each["file"], each["line"], each["key"]) for each in errors] == [
        (str(path), 2, "body.length"),
        (str(path), 3, "body.lip_depth"),
    ]


def test_why_and_take_do_not_go_together(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--why with --take ends with 2 and changes nothing."""
    before = boxcar.read_bytes()
    assert main(["plan", str(boxcar), "--why", "list", "--take", "1"]) == 2
    assert "one of --why and --take at a time" in capsys.readouterr().err
    assert boxcar.read_bytes() == before


def test_a_shelf_of_the_shop_is_used(boxcar: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Washers that only the shop's shelf has are among the ways to stand."""
    shelf = tmp_path / "shelf.toml"
    shelf.write_text('[shelf]\nunits = "in"\n[[shelf.washer]]\nthickness = "0.012"\n', encoding="utf-8")
    assert main(["plan", str(boxcar), "--shelf", str(shelf)]) == 1
    assert "0.012 in washer" in capsys.readouterr().out


def test_a_plan_through_a_pipe_is_only_the_page(boxcar: Path) -> None:
    """Through a pipe there is no bar, no colour and nothing on standard error."""
    done = subprocess.run(
        [sys.executable, "-m", "carwright", "plan", str(boxcar)], capture_output=True, check=False, timeout=60
    )
    assert (done.returncode, done.stderr) == (1, b"")
    assert b"\x1b" not in done.stdout
    assert b"\r" not in done.stdout


SHELL = """[car]
units = "in"
[body]
length = "6.0"
inside_length = "5.9"
inside_width = "1.1"
lip_depth = "0.188"
end_notch = "0.142"
[trucks]
centers = "4.0"
seat_height = "0.28"
[coupler]
drop = "0.06"
pivot_inset = "0.3"
length = "0.4"
[underframe]
bolster = "build"
"""
"""A shell whose bolster is to be laminated; invented."""


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ('drop = "0.06"', "Both ends still need L coupler drop."),
        ('centers = "4.0"', "Both ends still need H truck centres."),
        ('seat_height = "0.28"', "Both ends still need J truck seat height."),
    ],
)
def test_a_bolster_to_be_built_is_not_to_be_measured(
    line: str, wanted: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With bolster = "build" only what its height waits for is asked for, never the bolster itself."""
    page = page_of(SHELL.replace(line, ""), tmp_path, capsys)
    assert wanted in page
    assert "K body bolster" not in page.partition("To buy")[0]


def test_one_end_without_its_drop_holds_up_a_bolster_to_be_built(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A built bolster at one end waits for both couplers: the drop missing at A is asked for at both ends."""
    page = page_of(SHELL.replace('drop = "0.06"', "") + '[coupler.b]\ndrop = "0.06"\n', tmp_path, capsys)
    assert "Both ends still need L coupler drop." in page


def test_a_shelf_without_sheets_is_told_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An empty [shelf] is told in one sentence: no sheet is written down, so usual sizes were taken."""
    page = " ".join(page_of(f"{SHELL}[shelf]\n", tmp_path, capsys).split())
    assert page.count("written down") == 1
    assert "No sheet is written down on the shelf, so usual sizes were taken." in page


def _shell_on(radius: str) -> str:
    return SHELL.replace("[body]", f'radius = "{radius}"\n[body]').replace("[trucks]", '[trucks]\nwheelbase = "0.5"')


@pytest.mark.parametrize(
    ("radius", "verdict", "said"),
    [
        ("2.2", "watch", "A radius of 2.2 in is less than twice the length of the car, 6.000 in"),
        ("1.98", "FAIL", "The car is too long for its trucks to stand on a radius of 1.98 in"),
        ("11.9", "watch", "A radius of 11.9 in is less than twice"),
        ("12", "", ""),
    ],
)
def test_a_radius_that_is_likelier_a_slip_is_doubted(
    radius: str, verdict: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A radius under twice the car's length is to be measured or typed again; every radius is told with its unit.

    Hand: twice 6.0 is 12 in; the trucks stand 4.0 in apart and need more than 2.0 in of radius.
    """
    page = " ".join(page_of(_shell_on(radius), tmp_path, capsys).split())
    assert f"{verdict} {said}" in page
    assert ("again, with its unit" in page) == bool(said)
    assert ("steady" in page) == (radius != "1.98")
    assert f"steady {radius} the" not in page
