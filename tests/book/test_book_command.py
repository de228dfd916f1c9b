"""The command book, as a user types it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.draw.cars import BOXCAR

from carwright.cli.main import main


@pytest.fixture
def car(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A car file in a folder of its own, which is where the command runs; nothing of the user's is touched."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CARWRIGHT_DATA", str(tmp_path / "data"))
    path = tmp_path / "box.toml"
    path.write_text(BOXCAR)
    return path


def test_a_book_beside_the_car(car: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without more the book is written here, named after the car file, and the status tells what the plan's does."""
    status = main(["book", str(car)])
    assert status == main(["plan", str(car), "--json", "--out", "plan.json"])
    assert (tmp_path / "box-book.pdf").read_bytes().startswith(b"%PDF")
    assert "wrote box-book.pdf" in capsys.readouterr().out


def test_out_names_a_file_or_a_folder(car: Path, tmp_path: Path) -> None:
    """A name with an ending is the file, one without is a folder, made where it is wanting."""
    main(["book", str(car), "--out", "books"])
    assert (tmp_path / "books" / "box-book.pdf").exists()
    main(["book", str(car), "--out", "mine/one.pdf", "--paper", "a4"])
    assert (tmp_path / "mine" / "one.pdf").exists()


@pytest.mark.parametrize("out", ["box.toml", "notes.txt"])
def test_nothing_else_is_written_over(car: Path, tmp_path: Path, out: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A file whose name does not end as a book's does is never written over: status 2, the file as it was."""
    (tmp_path / "notes.txt").write_text("mine")
    before = (tmp_path / out).read_bytes()
    assert main(["book", str(car), "--out", out]) == 2
    assert (tmp_path / out).read_bytes() == before
    assert "--out" in capsys.readouterr().err


def test_json_tells_file_steps_and_verdict(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With --json one object tells path, paper, how many steps and holds, the verdict and the correction."""
    main(["book", str(car), "--json", "--printed-x", "99.5"])
    told = json.loads(capsys.readouterr().out)
    assert told["path"] == "box-book.pdf"
    assert told["paper"] == "letter"
    assert told["steps"] > told["holds"] > 5
    assert told["correction"]["x"] == pytest.approx(100 / 99.5)


def test_a_bar_that_cannot_be_is_refused(car: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A reading of a bar that is far out ends with 2 and leaves no file."""
    assert main(["book", str(car), "--printed-y", "12 mm"]) == 2
    assert "--printed-y" in capsys.readouterr().err
    assert not (tmp_path / "box-book.pdf").exists()
