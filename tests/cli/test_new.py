"""``carwright new``: a commented car file, never over another without being told."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from carwright.car.keys import keys
from carwright.car.read import read_car
from carwright.cli.main import main


def test_every_key_stands_there_with_its_question(tmp_path: Path) -> None:
    """The new file has each key's letter and question, and reads as a car of which nothing is known."""
    path = tmp_path / "car.toml"
    assert main(["new", str(path)]) == 0
    text = " ".join(path.read_text(encoding="utf-8").replace("\n#     ", " ").split())
    for key in keys():
        if key.program:
            continue
        assert f"# {key.letter} {' '.join(key.question.split())}" in text, key.path
    car = read_car(path.read_bytes())
    assert car.body.length is None
    assert main(["plan", str(path)]) == 0


def test_what_was_said_is_filled_in(tmp_path: Path) -> None:
    """Name, scale, units, standard and type given as options stand in the file, a hostile name too."""
    path = tmp_path / "мой вагон №1.toml"
    name = '"Quoted" \\ #{} <b> \' \u202e end'
    words = ["new", str(path), "--name", name, "--scale", "H0", "--units", "mm", "--standard", "NEM", "--type", "box"]
    assert main(words) == 0
    info = read_car(path.read_bytes()).info
    assert (info.name, info.scale, info.units, info.standard, info.type) == (name, "H0", "mm", "NEM", "box")


def test_a_file_that_is_there_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that is there is not written over: status 2, the way out named; with --replace it is."""
    path = tmp_path / "car.toml"
    path.write_text("# mine\n", encoding="utf-8")
    assert main(["new", str(path)]) == 2
    error = capsys.readouterr().err
    assert "there is such a file already" in error
    assert "--replace" in error
    assert path.read_text(encoding="utf-8") == "# mine\n"
    assert main(["new", str(path), "--replace"]) == 0
    assert path.read_text(encoding="utf-8").startswith("# A car file.")


@pytest.mark.parametrize(
    ("words", "named"),
    [(["--scale", "Q"], "--scale: there is no such scale"), (["--units", "cm"], "--units")],
    ids=["scale", "units"],
)
def test_an_option_that_cannot_be(
    words: list[str], named: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An unknown scale or unit ends with 2, named by its option, and no file is written."""
    path = tmp_path / "car.toml"
    assert main(["new", str(path), *words]) == 2
    assert named in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file in a folder that is not there is refused with the system's reason, status 2."""
    assert main(["new", str(tmp_path / "none" / "car.toml")]) == 2
    assert "cannot be written: no such file or directory" in capsys.readouterr().err


def test_what_was_written_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--json tells the file and the answers that stand in it."""
    path = tmp_path / "car.toml"
    assert main(["new", str(path), "--name", "Gondola", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"file": str(path), "answers": {"car.name": "Gondola"}}
