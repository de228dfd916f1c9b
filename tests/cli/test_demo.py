"""``carwright demo``: six cars, every format, one page."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ElementTree
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

import icalendar
import pypdfium2
import pytest

from carwright.car.read import read_shelf
from carwright.cli.demo import _made_shop, activation
from carwright.cli.main import main
from carwright.shop import open_shop

CARS = ("boxcar", "n_car", "h0_car", "gondola", "flat_car", "reefer")
NAMES = [
    "Double-door boxcar",
    "Composite gondola",
    "Covered bogie wagon",
    "Steel gondola",
    "Flat car",
    "Refrigerator car",
]
VIEWS = ("plan", "side", "end", "section", "exploded", "ride", "weight", "template", "setting-out", "pieces")


@dataclass(frozen=True, slots=True)
class Run:
    """One run of the demonstration: its folder, and what it said."""

    folder: Path
    said: str


def run(folder: Path, *options: str) -> Run:
    """Run the demonstration into a folder; it says nothing on standard error."""
    said, trouble = StringIO(), StringIO()
    with redirect_stdout(said), redirect_stderr(trouble):
        assert main(["demo", "--out", str(folder), *options]) == 1
    assert trouble.getvalue() == ""
    return Run(folder, said.getvalue())


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Give a run as everybody starts it."""
    return run(tmp_path_factory.mktemp("a demo ü"))


@pytest.fixture(scope="module")
def second(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Give a run into another folder that answers as JSON."""
    return run(tmp_path_factory.mktemp("again"), "--json")


@pytest.fixture
def made(first: Run) -> Path:
    """Give the folder of the first run."""
    return first.folder


@pytest.mark.parametrize("car", CARS)
def test_every_format_of_every_car(car: str, made: Path) -> None:
    """Each car's folder has its car file, text, JSON, drawings and book that open, and each view as SVG and DXF."""
    names = {each.name for each in (made / car).iterdir()}
    cut = {"template-cut.dxf", "pieces-cut.dxf"}
    assert names == {"car.toml", "plan.txt", "plan.json", "drawings.pdf", "book.pdf"} | cut | {
        f"{view}.{ending}" for view in VIEWS for ending in ("svg", "dxf")
    }
    assert len(pypdfium2.PdfDocument(made / car / "drawings.pdf")) >= 3
    assert len(pypdfium2.PdfDocument(made / car / "book.pdf")) >= 15
    for view in VIEWS:
        assert ElementTree.parse(made / car / f"{view}.svg").getroot().tag.endswith("svg")  # noqa: S314 - our own file
    for name in cut:
        assert (made / car / name).read_bytes().rstrip().endswith(b"EOF")


@pytest.mark.parametrize("car", CARS)
def test_the_json_is_that_of_the_car_file_beside_it(car: str, made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Planning the car file that was left gives the plan.json and plan.txt that were left."""
    main(["plan", str(made / car / "car.toml"), "--json"])
    assert json.loads(capsys.readouterr().out) == json.loads((made / car / "plan.json").read_text(encoding="utf-8"))
    main(["plan", str(made / car / "car.toml")])
    assert capsys.readouterr().out == (made / car / "plan.txt").read_text(encoding="utf-8")


def test_the_summary_fits_and_says_which_car_fails(first: Run) -> None:
    """The page names the six cars, fits 80 columns, and ends with what to try next."""
    lines = first.said.splitlines()
    for name in NAMES:
        assert name in lines
    assert max(len(line) for line in lines if not line.startswith(("    carwright", "    . "))) <= 80
    assert lines[-1].endswith("--take 1")


def test_a_second_run_writes_the_same_bytes(first: Run, second: Run) -> None:
    """Two runs leave files alike byte for byte, but for the folder's name in the text and the shop's moments."""
    for path in sorted(first.folder.rglob("*.*")):
        if path.name not in ("plan.txt", "shop.carwright"):
            assert (second.folder / path.relative_to(first.folder)).read_bytes() == path.read_bytes(), path.name


def test_a_shop_is_filled_once_and_the_page_says_how_to_open_it(first: Run) -> None:
    """The six cars stand at six stages of a shop; what was done in it since stays when the demonstration runs on."""
    path = first.folder / "shop.carwright"
    assert any("serve --shop" in line and line.endswith("--open") for line in first.said.splitlines())
    with open_shop(path, create=False) as shop:
        assert [shop.counts()[stage] for stage in ("survey", "plan", "cut", "build", "finish", "gauge")] == [1] * 6
        assert {each.name for each in shop.cars()} == set(NAMES)
        read_shelf(shop.shelf()[0])
        shop.set_stage("flat-car", "service")
    _made_shop(first.folder)
    with open_shop(path, create=False) as shop:
        assert (shop.counts()["service"], len(shop.cars())) == (1, 6)


def test_the_summary_as_json(second: Run) -> None:
    """--json tells each car's name, folder, files, verdict and heights."""
    cars = json.loads(second.said)["cars"]
    assert [each["name"] for each in cars] == NAMES
    assert [each["verdict"] for each in cars] == ["fail", "watch", "fail", "watch", "watch", "watch"]
    assert all((Path(each["folder"]) / file).is_file() for each in cars for file in each["files"])


def test_a_file_where_the_folder_should_be(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where a file stands in the way of the folder, the command ends with 2 and the system's reason."""
    blocked = tmp_path / "out"
    blocked.write_text("", encoding="utf-8")
    assert main(["demo", "--out", str(blocked)]) == 2
    assert "not a directory" in capsys.readouterr().err


@pytest.mark.parametrize("found", [True, False])
def test_it_says_how_the_shell_finds_the_command(found: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the command is not on the shell's path, what puts it there is told, from the folder one is in."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.prefix", str(tmp_path / ".venv"))
    monkeypatch.setattr("os.name", "posix")
    monkeypatch.setattr("shutil.which", lambda name: "/usr/bin/carwright" if found else None)
    assert activation() == ("" if found else ". .venv/bin/activate")


def test_three_cars_are_cut_out_of_one_shelf(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The plan that was left is that of the command it names, with a thing to buy and diagrams that open."""
    cutting = made / "cutting"
    cars = [str(made / name / "car.toml") for name in ("n_car", "gondola", "flat_car")]
    assert main(["cut", *cars, "--shelf", str(cutting / "shelf.toml"), "--json"]) == 1
    said = json.loads(capsys.readouterr().out)
    del said["plan"]
    assert said == json.loads((cutting / "cut.json").read_text(encoding="utf-8"))
    assert [(row["name"], row["packs"]) for row in said["buy"]] == [("wire 10 thou", 1)]
    assert "Laminate" in (cutting / "cut.txt").read_text(encoding="utf-8")
    diagrams = sorted(cutting.glob("*.svg"))
    assert len(diagrams) >= 13
    for diagram in diagrams:
        assert ElementTree.parse(diagram).getroot().tag.endswith("svg")  # noqa: S314 - our own file
        assert diagram.with_suffix(".dxf").read_bytes().rstrip().endswith(b"EOF")


def test_six_cars_are_painted_on_free_evenings(made: Path, second: Run, capsys: pytest.CaptureFixture[str]) -> None:
    """The calendar that was left is that of its command, proven; made again, nothing is on the missed evening."""
    folder = made / "calendar"
    cars = [str(made / name / "car.toml") for name in CARS]
    assert (
        main(["calendar", *cars, "--evenings", str(folder / "evenings.toml"), "--today", "2026-11-25", "--json"]) == 0
    )
    assert json.loads(capsys.readouterr().out) == json.loads((folder / "calendar.json").read_text(encoding="utf-8"))
    first, again = (
        json.loads((folder / f"{lead}calendar.json").read_text(encoding="utf-8")) for lead in ("", "again-")
    )
    told = json.loads(second.said)["calendar"]
    assert first["status"] == "optimal"
    assert {each["car"] for each in first["steps"]} == set(NAMES)
    days = [{each["start"][:10] for each in made["steps"]} for made in (first, again)]
    assert told["missed"] in days[0] - days[1]
    assert (told["last_day"], told["last_day_again"]) == (first["last_day"], again["last_day"])
    before = {
        each["step"] + each["car"]: each["start"] for each in first["steps"] if each["start"][:10] < told["missed"]
    }
    assert before == {each["step"] + each["car"]: each["start"] for each in again["steps"] if each["done"]}
    for lead in ("", "again-"):
        assert max(map(len, (folder / f"{lead}calendar.txt").read_text(encoding="utf-8").splitlines())) <= 80
        assert len(pypdfium2.PdfDocument(folder / f"{lead}routes.pdf")) >= 6
        assert len(pypdfium2.PdfDocument(folder / f"{lead}evenings.pdf")) >= 5
        assert ElementTree.parse(folder / f"{lead}calendar.svg").getroot().tag.endswith("svg")  # noqa: S314 - our own file
        events = icalendar.Calendar.from_ical((folder / f"{lead}paint.ics").read_bytes()).walk("VEVENT")
        assert any(event.walk("VALARM") for event in events)
        struck = [str(event.decoded("DTSTART")) for event in events if event.get("STATUS") == "CANCELLED"]
        assert min(struck, default="") == (told["missed"] if lead else "")
