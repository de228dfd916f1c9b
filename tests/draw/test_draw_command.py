"""The commands draw and sheet, as a user types them."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest
from tests.draw.cars import BOXCAR, HOSTILE, SHELL

from carwright.cli.main import main


@pytest.fixture
def car(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A car file in a folder of its own, which is where the command runs; nothing of the user's is touched."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CARWRIGHT_DATA", str(tmp_path / "data"))
    path = tmp_path / "box.toml"
    path.write_text(BOXCAR)
    return path


def _names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.is_file())


def test_every_view_in_every_format(car: Path, tmp_path: Path) -> None:
    """All views give an SVG and a DXF each, a second DXF for cutters, and one PDF and one SVG of all."""
    assert main(["draw", str(car), "--format", "svg,dxf,pdf", "--out", "drawings"]) in (0, 1)
    assert _names(tmp_path / "drawings") == [
        "box-drawings.pdf",
        "box-drawings.svg",
        "box-end.dxf",
        "box-end.svg",
        "box-exploded.dxf",
        "box-exploded.svg",
        "box-pieces-cut.dxf",
        "box-pieces.dxf",
        "box-pieces.svg",
        "box-plan.dxf",
        "box-plan.svg",
        "box-ride.dxf",
        "box-ride.svg",
        "box-section.dxf",
        "box-section.svg",
        "box-setting-out.dxf",
        "box-setting-out.svg",
        "box-side.dxf",
        "box-side.svg",
        "box-template-cut.dxf",
        "box-template.dxf",
        "box-template.svg",
        "box-weight.dxf",
        "box-weight.svg",
    ]


def test_one_view_into_one_file(car: Path, tmp_path: Path) -> None:
    """A single view and format go into the very file named, its folder made."""
    assert main(["draw", str(car), "--view", "plan", "--format", "svg", "--out", "new/folder/p.svg"]) in (0, 1)
    assert (tmp_path / "new/folder/p.svg").read_text().startswith("<svg")


def test_written_again_over_its_own(car: Path, tmp_path: Path) -> None:
    """A second run writes over the first's file and gives the same bytes."""
    words = ["draw", str(car), "--view", "template", "--format", "pdf", "--out", "t.pdf"]
    main(words)
    first = (tmp_path / "t.pdf").read_bytes()
    main(words)
    assert (tmp_path / "t.pdf").read_bytes() == first


@pytest.mark.parametrize("out", ["box.toml", "notes.txt"])
def test_nothing_else_is_written_over(car: Path, tmp_path: Path, out: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A file whose name does not end as a drawing's does is never written over: status 2, the file as it was."""
    (tmp_path / "notes.txt").write_text("mine")
    before = (tmp_path / out).read_bytes()
    assert main(["draw", str(car), "--view", "plan", "--format", "svg", "--out", out]) == 2
    assert (tmp_path / out).read_bytes() == before
    assert "--out" in capsys.readouterr().err


def test_json_lists_the_files(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With --json the files are listed with view, format and path, and the correction that was applied."""
    main(["draw", str(car), "--view", "plan", "--format", "svg", "--json", "--printed-x", "99.5"])
    told = json.loads(capsys.readouterr().out)
    assert told["files"] == [{"view": "plan", "format": "svg", "path": "box-plan.svg", "replaced": False}]
    assert told["correction"]["x"] == pytest.approx(100 / 99.5)
    assert told["correction"]["y"] == 1.0


def test_a_named_printer_is_remembered(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What was typed once for a named printer counts for its next print, and not for another's."""
    words = ["draw", str(car), "--view", "plan", "--format", "svg", "--json"]
    main([*words, "--printer", "Shed", "--printed-x", "99.5"])
    main([*words, "--printer", "Shed"])
    main(words)
    answers = capsys.readouterr().out.replace("}\n{", "}\x00{").split("\x00")
    factors = [json.loads(each)["correction"]["x"] for each in answers]
    assert factors == pytest.approx([100 / 99.5, 100 / 99.5, 1.0])


def test_a_printer_that_was_never_stored_is_an_error(
    car: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A printer's name that nothing is remembered of ends with 2, names those that are, and the likeliest of them."""
    words = ["draw", str(car), "--view", "plan", "--format", "svg"]
    assert main([*words, "--printer", "shed"]) == 2
    assert "none is yet" in capsys.readouterr().err
    for name in ("Front shed", "Club"):
        assert main([*words, "--printer", name, "--printed-y", "99.5"]) in (0, 1)
    (tmp_path / "box-plan.svg").unlink()
    capsys.readouterr()
    assert main([*words, "--printer", "front shet"]) == 2
    told = capsys.readouterr().err
    assert '"Club", "Front shed"' in told
    assert 'Did you mean "Front shed"?' in told
    assert _names(tmp_path) == ["box.toml"]


def test_a_great_correction_comes_with_a_warning(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A print 3 % out is corrected as asked, and told to be likely one fitted to its page, in words and in JSON."""
    words = ["draw", str(car), "--view", "plan", "--printed-x", "97"]
    main(words)
    told = " ".join(capsys.readouterr().out.split())
    assert "3.0 % too short along the short edge: this looks like a print fitted to the page. Print at 100 %" in told
    main([*words, "--json"])
    assert "fitted to the page" in json.loads(capsys.readouterr().out)["correction"]["note"]


def test_correction_never_reaches_svg_or_dxf(car: Path, tmp_path: Path) -> None:
    """SVG and DXF are the same with a correction as without."""
    for folder, extra in (("a", []), ("b", ["--printed-x", "95", "--printed-y", "104 of 100 mm"])):
        main(["draw", str(car), "--format", "svg,dxf", "--out", folder, *extra])
    for name in _names(tmp_path / "a"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


@pytest.mark.parametrize(
    "words",
    [
        ["--format", "png"],
        ["--format", ""],
        ["--printed-x", "80"],
        ["--printed-x", "4.01"],
        ["--printed-y", "about right"],
        ["--printer", ""],
        ["--view", "roof"],
        ["--paper", "a3"],
    ],
)
def test_bad_options_are_told(car: Path, tmp_path: Path, words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """A slip in an option is status 2 with the option's name, and nothing is written."""
    assert main(["draw", str(car), *words]) == 2
    assert words[0] in capsys.readouterr().err
    assert _names(tmp_path) == ["box.toml"]


def test_a_hostile_car_reaches_every_file_as_text(tmp_path: Path, car: Path) -> None:
    """Quotes, markup, right-to-left letters and a name too long go through every format and the sheet."""
    car.write_text(HOSTILE, encoding="utf-8")
    assert main(["draw", str(car), "--format", "svg,dxf,pdf", "--out", "h"]) in (0, 1)
    assert main(["sheet", str(car), "--out", "h/sheet.pdf"]) == 0
    assert len(_names(tmp_path / "h")) == 25


def test_a_file_name_of_odd_signs_stays_in_its_folder(tmp_path: Path, car: Path) -> None:
    """A car file with blanks, quotes and brackets in its name gives drawings with a plain one, in the folder meant."""
    odd = car.with_name('my "car" <1>; rm -rf ..toml')
    odd.write_text(SHELL)
    assert main(["draw", str(odd), "--view", "plan", "--format", "svg", "--out", "d"]) in (0, 1)
    assert _names(tmp_path / "d") == ["my-car-1-rm--rf-plan.svg"]


def test_sheet_names_what_is_to_be_measured(car: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The sheet is a PDF, and the command names the letters on it."""
    car.write_text(SHELL)
    assert main(["sheet", str(car)]) == 0
    assert "A, B, G, H, J, K, L, M, N" in capsys.readouterr().out
    assert (tmp_path / "box-sheet.pdf").read_bytes().startswith(b"%PDF")


def test_no_file_is_left_half_written(car: Path, tmp_path: Path) -> None:
    """Where one of the files cannot be placed, none of them is written."""
    (tmp_path / "out" / "box-plan.dxf").mkdir(parents=True)
    assert main(["draw", str(car), "--view", "plan", "--format", "svg,dxf", "--out", "out"]) == 2
    assert _names(tmp_path / "out") == []


def test_several_views_make_one_pdf_and_a_file_each(car: Path, tmp_path: Path) -> None:
    """--view takes a list with commas: its PDF has those views' sheets, each SVG is one view, in the order drawn."""
    assert main(["draw", str(car), "--view", "ride, section", "--format", "pdf,svg"]) in (0, 1)
    assert _names(tmp_path) == ["box-drawings.pdf", "box-ride.svg", "box-section.svg", "box.toml"]
    assert len(pypdfium2.PdfDocument(tmp_path / "box-drawings.pdf")) == 2


def test_a_view_that_is_none_is_met_with_the_nearest(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A slip in a list of views ends with 2, the slip, the nearest view, and all of them."""
    assert main(["draw", str(car), "--view", "section,rode"]) == 2
    told = capsys.readouterr().err
    assert '--view: there is no such view: got "rode"' in told
    assert "Did you mean ride?" in told
    assert "exploded" in told


def test_sheet_tells_the_letters_of_both_pages(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command names what is still wanting on each page, for people and for programs."""
    assert main(["sheet", str(car)]) == 0
    said = capsys.readouterr().out
    assert "Letters A to N are all answered" in said
    assert "Only for curves, on its second page: R5, R8, R9, R10, S3." in said
    assert main(["sheet", str(car), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["letters"], told["curve_letters"]) == ([], ["R5", "R8", "R9", "R10", "S3"])


def test_cars_of_other_folders_keep_their_drawings_apart(
    car: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two car files of one name in two folders give files of two names; what is written over is said."""
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "car.toml").write_text(SHELL)
        for words in (["draw", "--view", "plan", "--format", "svg"], ["sheet"], ["book"]):
            main([words[0], f"{folder}/car.toml", *words[1:]])
    found = [f"{folder}-car-{what}" for folder in "ab" for what in ("book.pdf", "plan.svg", "sheet.pdf")]
    assert _names(tmp_path) == sorted([*found, car.name])
    capsys.readouterr()
    main(["draw", "a/car.toml", "--view", "plan", "--format", "svg"])
    assert "wrote a-car-plan.svg, over the one that was there" in capsys.readouterr().out


def test_a_failing_check_is_named_beside_its_status(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whoever sees status 1 reads on the screen which check fails, in the words of the plan."""
    car.write_text(BOXCAR.replace('bolster = "0.165"', 'bolster = "0.300"'))
    assert main(["plan", str(car), "--json"]) == 1
    failing = [each["because"] for each in json.loads(capsys.readouterr().out)["findings"] if each["verdict"] == "fail"]
    for words in (["draw", "--view", "plan"], ["book"]):
        assert main([words[0], str(car), *words[1:]]) == 1
        said = " ".join(capsys.readouterr().out.split())
        assert all(f"FAIL {because}" in said for because in failing)


def test_a_correction_is_explained(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What a correction draws larger is said in words, and along which edge of the paper."""
    main(["draw", str(car), "--view", "plan", "--printed-x", "99.6"])
    told = " ".join(capsys.readouterr().out.split())
    assert "Drawn 0.40 % larger along the short edge, as it is along the long, to make up for the printer." in told
