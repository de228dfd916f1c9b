"""What is remembered of each printer."""

from __future__ import annotations

from pathlib import Path

import pytest

from carwright.draw.bars import Correction
from carwright.draw.printers import data_folder, known_printers, remember, remembered, remembered_or_new
from carwright.problems import InputError


def test_each_printer_has_its_own(tmp_path: Path) -> None:
    """What is kept under one name is found under it again, and other printers keep theirs."""
    remember(tmp_path, Correction(1.0031, 0.9987, "Shed"))
    remember(tmp_path, Correction(0.995, 1.0, 'Club "big" \u2116 2'))
    assert remembered(tmp_path, "Shed") == Correction(1.0031, 0.9987, "Shed")
    assert remembered(tmp_path, 'Club "big" \u2116 2').x == 0.995
    assert remembered_or_new(tmp_path, "Shed").x == 1.0031
    assert remembered_or_new(tmp_path, "new one") == Correction(1.0, 1.0, "new one")
    with pytest.raises(InputError):
        remembered(tmp_path, "new one")


def test_last_reading_replaces(tmp_path: Path) -> None:
    """A new correction takes the old one's place: it is applied once, never twice."""
    remember(tmp_path, Correction(1.01, 1.01, "Shed"))
    remember(tmp_path, Correction(1.002, 1.0, "Shed"))
    assert remembered(tmp_path, "Shed") == Correction(1.002, 1.0, "Shed")


@pytest.mark.parametrize("text", ["x = ", "[Shed]\nx = 3.0\ny = 1.0\n", "[Shed]\nx = 'a'\n", "Shed = 1"])
def test_a_spoilt_file_is_reported_and_kept(tmp_path: Path, text: str) -> None:
    """A file that cannot be used is named in the report, and writing does not destroy it."""
    (tmp_path / "printers.toml").write_text(text)
    with pytest.raises(InputError) as caught:
        remember(tmp_path, Correction(1.0, 1.0, "Shed"))
    assert "printers.toml" in caught.value.problems[0].file
    assert (tmp_path / "printers.toml").read_text() == text


@pytest.mark.parametrize("name", ["", "   ", "a" * 61, "a\x1b[2Jb"])
def test_a_name_must_be_one(tmp_path: Path, name: str) -> None:
    """An empty, endless or unprintable name is refused."""
    with pytest.raises(InputError):
        remembered(tmp_path, name)


def test_nothing_is_kept_where_nothing_was(tmp_path: Path) -> None:
    """A folder that does not exist yet knows no printer and is not made by asking."""
    assert known_printers(tmp_path / "none") == {}
    assert not (tmp_path / "none").exists()


def test_own_folder_outranks_the_platforms() -> None:
    """CARWRIGHT_DATA is taken where it is set, else each platform's usual place."""
    assert data_folder({"CARWRIGHT_DATA": "/x"}, "linux") == Path("/x")
    assert data_folder({"HOME": "/home/u"}, "linux") == Path("/home/u/.local/share/carwright")
    assert data_folder({"HOME": "/home/u", "XDG_DATA_HOME": "/d"}, "linux") == Path("/d/carwright")
    assert data_folder({"HOME": "/Users/u"}, "darwin") == Path("/Users/u/Library/Application Support/Carwright")
    assert data_folder({"USERPROFILE": "/u", "APPDATA": "/u/r"}, "win32") == Path("/u/r/Carwright")
