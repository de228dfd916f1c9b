"""Whatever is given in place of a file: what is wrong, where and how to mend it, and status 2."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.conftest import demo_car

from carwright.cli.main import main

BROKEN: dict[str, tuple[bytes, str]] = {
    "a picture": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "not a text"),
    "another encoding": ("[car]\nname = 'é'\n".encode("utf-16"), "saved as UTF-16"),
    "prose": (b"# Notes\n\nThe car stands well.\n", "neither a section, a key with its value, nor a comment"),
    "too much": (b"a" * 3_000_000, "at most 1000000 bytes"),
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
