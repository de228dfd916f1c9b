"""Whatever is given in place of a file: what is wrong, where and how to mend it, and status 2."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from tests.cli.conftest import demo_car

from carwright.cli.main import main

BROKEN: dict[str, tuple[bytes, str]] = {
    "a picture": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "not a text"),
    "another encoding": ("[car]\nname = 'é'\n".encode("utf-16"), "saved as UTF-16"),
    "prose": (b"# Notes\n\nThe car stands well.\n", "neither a section, a key with its value, nor a comment"),
    "too much": (b"a" * 3_000_000, "at most 1 MB"),
    "torn": (b'[car]\nname = "Torn\n[body]\nlength = ["', "saved or copied only in part"),
}


@pytest.mark.parametrize("command", ["plan", "draw", "book", "sheet", "weigh", "curve"])
@pytest.mark.parametrize("kind", BROKEN)
def test_what_is_no_car_file_is_named(
    command: str, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each command that takes a car file refuses anything else by its name, with what it is, and writes nothing."""
    monkeypatch.chdir(tmp_path)
    data, told = BROKEN[kind]
    Path("car.toml").write_bytes(data)
    assert main([command, "car.toml"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("car.toml")
    assert told in said.err
    assert [path.name for path in tmp_path.iterdir()] == ["car.toml"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["plan", "car.toml", "--shelf", "folder"], "folder: this is a folder; accepted: a shelf file"),
        (
            ["plan", "car.toml", "--shelf", "none.toml"],
            "there is no such file; accepted: the path of a shelf",
        ),
        (["new", "folder"], "this is a folder"),
        (["curve", "car.toml", "--radius", "24 in", "--draw", "folder/x.pdf"], "accepted: a name that ends in .svg."),
        (["shop", "export", "/proc/none/x", "--shop", "shed.carwright"], "export: the folder cannot be made"),
        (["shop", "backup", "/proc/x", "--shop", "shed.carwright"], "Name another place"),
        (["cut", "car.toml", "--draw", "/proc/none"], "--draw: the folder cannot be made"),
    ],
)
def test_the_option_that_was_given_is_the_one_that_is_named(
    words: list[str], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A place that cannot be read or written is told with the word by which it was given, and what would do."""
    monkeypatch.chdir(tmp_path)
    Path("folder").mkdir()
    Path("car.toml").write_text(demo_car("boxcar"), encoding="utf-8")
    if "--shop" in words:
        assert main(["shop", "import", "car.toml", "--shop", "shed.carwright"]) == 0
        capsys.readouterr()
    assert main(words) == 2
    assert told in capsys.readouterr().err


LIST = "name,thickness,width,length,quantity\nroof,0.015,1,2,3\n"
SHELF = '[[shelf.sheet]]\nname = "plain"\nthickness = "0.015"\nwidth = "6"\nlength = "12"\ncount = 2\n'
EVENT = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTART{start}\r\n"
    "DTEND:20261126T220000\r\nSUMMARY:free\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a folder with a car, a list of pieces, a shelf and evenings, and stand in it."""
    monkeypatch.chdir(tmp_path)
    Path("car.toml").write_text(demo_car("boxcar"), encoding="utf-8")
    Path("evenings.toml").write_text(demo_car("evenings"), encoding="utf-8")
    Path("list.csv").write_text(LIST, encoding="utf-8")
    Path("shelf.toml").write_text(SHELF, encoding="utf-8")
    Path("folder").mkdir()
    return tmp_path


def contents(folder: Path) -> dict[str, bytes]:
    """Return the files of a folder by name."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.mark.parametrize(
    "words",
    [
        "cut list.csv --shelf shelf.toml --out shelf.toml",
        "cut car.toml --out ./folder/../car.toml",
        "shelf export shelf.toml --out shelf.toml",
        "shelf import shelf.toml list.csv --out list.csv",
        "plan car.toml --out car.toml",
        "finish car.toml --steps car.toml",
        "calendar car.toml --evenings evenings.toml --ics evenings.toml",
        "calendar car.toml --evenings evenings.toml --sheets new.pdf --routes new.pdf",
    ],
)
def test_no_output_goes_over_what_is_read(words: str, bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that a command reads is never the one it writes, and two outputs never go into one file."""
    before = contents(bench)
    assert main(words.split()) == 2
    err = capsys.readouterr().err
    assert "would write over a file that is read" in err or "goes into this file too" in err
    assert "Choose another name with --" in err
    assert contents(bench) == before


@pytest.mark.parametrize(
    "words",
    [
        "cut list.csv --shelf shelf.toml --take",
        "shelf take shelf.toml plain 1",
        "shelf add shelf.toml wire diameter=0.01 count=1",
        "shelf add new.toml wire diameter=0.01 count=1",
    ],
)
def test_a_shelf_stays_where_what_was_done_cannot_be_written_down(
    words: str, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where --out cannot be written, nothing goes off the shelf and nothing comes onto it, as the message says."""
    before = contents(bench)
    assert main([*words.split(), "--out", "folder"]) == 2
    assert "nothing was written" in capsys.readouterr().err
    assert contents(bench) == before


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (LIST.encode("utf-16"), "list.csv: the list is saved as UTF-16"),
        (LIST.encode("utf-16-le"), "list.csv, line 1: the list is not a text"),
        (LIST.replace("roof", "Tür").encode("latin-1"), "list.csv, line 2: the list is not UTF-8"),
        (BROKEN["a picture"][0], "list.csv, line 3: the list is not a text"),
        (LIST.replace("roof", "ro\0of").encode(), "list.csv, line 2: the list is not a text"),
    ],
)
def test_a_list_that_is_no_text_is_named_so(
    data: bytes, told: str, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The cutting, the shelf and the shop refuse a list in another encoding alike, and keep nothing of it."""
    Path("list.csv").write_bytes(data)
    before = contents(bench)
    for words in ("cut list.csv --shelf shelf.toml", "shelf import shelf.toml list.csv"):
        assert main(words.split()) == 2
        assert told in capsys.readouterr().err
    assert contents(bench) == before
    assert main(["shop", "import", "list.csv", "--shop", "shed.carwright"]) == 2
    assert told in capsys.readouterr().err


@pytest.mark.parametrize(("sign", "comma"), [(";", ","), ("\t", ".")])
def test_a_list_may_have_semicolons_or_tabs(
    sign: str, comma: str, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A list with the signs, decimal commas and line ends of another country is cut as the plain one."""
    plain = "name,thickness,width,length,quantity,value\nroof,0.015,1,2,3,2.50\n"
    Path("plain.csv").write_text(plain, encoding="utf-8")
    other = plain.replace(",", sign).replace(".", comma).replace("\n", "\r\n")
    Path("list.csv").write_bytes(b"\xef\xbb\xbf" + other.encode())
    said = []
    for name in ("plain.csv", "list.csv"):
        assert main(["cut", name, "--shelf", "shelf.toml", "--one-sheet"]) == 0
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]
    assert "Value 7.5" in said[0]


def test_a_list_of_no_pieces_is_named(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A list that has only its first line is told by its name, with what is wanting."""
    (bench / "list.csv").write_text(LIST.partition("\n")[0], encoding="utf-8")
    assert main(["cut", "list.csv", "--shelf", "shelf.toml"]) == 2
    assert "list.csv, line 1: the list names its columns, and no piece" in capsys.readouterr().err


@pytest.mark.parametrize("price", ["-3", "1e99", "dear"])
def test_a_price_that_is_none_does_not_come_onto_the_shelf(
    price: str, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A price below nothing, beyond all measure or in words is refused when it is given, by hand and in a list."""
    Path("list.csv").write_text(f"table,diameter,cost\nwire,0.01,{price}\n", encoding="utf-8")
    before = contents(bench)
    for words in (f"shelf add shelf.toml wire diameter=0.01 cost={price}", "shelf import shelf.toml list.csv"):
        assert main(words.split()) == 2
        err = capsys.readouterr().err
        assert "cost: this" in err
        assert price in err
    assert "list.csv, line 2" in err
    assert contents(bench) == before


@pytest.mark.parametrize(
    ("name", "text", "words", "told"),
    [
        ("e.toml", "[shop]\nrack = " + "9" * 5000, "car.toml --evenings e.toml", "a number in it is too long"),
        ("e.toml", "[[evening]]\nfirst = 2026-02-30\n", "car.toml --evenings e.toml", "e.toml, line 2: this is not"),
        (
            "e.toml",
            '[[evening]]\nfrom = "18:00"\nto = "20:00"\nfirst = 9999-12-31\n',
            "car.toml --evenings e.toml",
            "evening[1].first: nobody works in that year",
        ),
        ("p.json", '{"facilities": {"a": ' + "9" * 5000 + "}}", "--problem p.json", "a number in it is too long"),
        ("b.json", "[" * 100_000, "car.toml --evenings evenings.toml --before b.json", "no calendar made before"),
        ("s.toml", "minutes = " + "9" * 5000, "s.toml --evenings evenings.toml", "s.toml, line 1"),
        ("e.ics", EVENT.format(start=":20260230T180000"), "car.toml --evenings e.ics", "a time that does not exist"),
        ("e.ics", EVENT.format(start=";TZID=Mars/Base:20261126T180000"), "car.toml --evenings e.ics", "Mars/Base"),
        (
            "e.ics",
            EVENT.format(start=":20261126T180000\r\nRECURRENCE-ID:20260230T180000"),
            "car.toml --evenings e.ics",
            "e.ics, RECURRENCE-ID: free is at a time that does not exist",
        ),
        (
            "e.ics",
            EVENT.format(start=":20261126T180000\r\nRRULE:FREQ=DAILY;INTERVAL=0"),
            "car.toml --evenings e.ics",
            "INTERVAL is less than 1",
        ),
        ("e.ics", EVENT[:90], "car.toml --evenings e.ics", "this is not a calendar file that is whole"),
    ],
)
def test_what_no_calendar_can_be_made_of_is_named(
    name: str, text: str, words: str, told: str, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Numbers of thousands of figures, days and time zones that do not exist, torn files: each by its name."""
    (bench / name).write_text(text, encoding="utf-8")
    assert main(["calendar", *words.split(), "--today", "2026-11-24"]) == 2
    err = capsys.readouterr().err
    assert err.startswith(name)
    assert told in err


def test_a_number_without_end_is_no_number_to_take(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A number of thousands of figures is refused as one that is no number, not told as a fault of the program."""
    assert main(["shelf", "take", "shelf.toml", "plain", "9" * 5000]) == 2
    assert "this is no number to take" in capsys.readouterr().err


def test_a_car_is_not_exported_over_what_only_its_file_says(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The shop writes a car's file over one that it knows, and over no other."""
    assert main(["shop", "import", "car.toml", "--shop", "shed.carwright"]) == 0
    words = ["shop", "export", "car.toml", "--car", "double-door-boxcar", "--shop", "shed.carwright"]
    assert main(words) == 0
    mine = (bench / "car.toml").read_bytes() + b"# measured again\n"
    (bench / "car.toml").write_bytes(mine)
    capsys.readouterr()
    assert main(words) == 2
    assert "car.toml: the shop does not know what stands in this file" in capsys.readouterr().err
    assert (bench / "car.toml").read_bytes() == mine


@pytest.mark.parametrize(
    ("line", "status", "told"),
    [
        ("shop account add ann --shop shed.carwright <&-", 2, "this pass phrase cannot be used"),
        ("shop account add ann --shop shed.carwright <noise", 2, "the pass phrase is no text"),
        ("shelf list shelf.toml >/dev/full", 2, "what is printed cannot be written: no space left on device"),
        ("shelf list shelf.toml >&-", 0, ""),
    ],
)
def test_a_closed_or_full_stream_is_no_fault_of_the_program(line: str, status: int, told: str, bench: Path) -> None:
    """What comes in or goes out closed, full or as noise is told as such; what goes nowhere is no trouble."""
    (bench / "noise").write_bytes(b"\xff\xfe\xfd" * 9)
    done = subprocess.run(
        ["sh", "-c", f'"{sys.executable}" -m carwright {line}'], capture_output=True, text=True, check=False
    )
    assert done.returncode == status, done.stderr
    assert told in done.stderr


def test_ctrl_c_is_said(bench: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Ctrl-C ends a command with status 130 and the word that it was stopped."""
    monkeypatch.setattr("carwright.cli.shelf._done", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
    assert main(["shelf", "list", "shelf.toml"]) == 130
    assert "carwright: stopped" in capsys.readouterr().err
