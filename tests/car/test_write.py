"""Writing car files: comments, marks and line ends survive; what is written is read back; nothing is half written."""

from __future__ import annotations

import itertools
import os
import stat
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carwright.car.keys import Key, keys
from carwright.car.read import read_car
from carwright.car.write import Written, new_car_text, save, set_values
from carwright.problems import InputError

BOXCAR = (Path(__file__).resolve().parents[2] / "src/carwright/demo/boxcar.toml").read_bytes()


def test_only_the_changed_lines_differ() -> None:
    """Every line but the changed ones stays as it was, comments and their columns too."""
    new = set_values(BOXCAR, {"body.width": "1.2505", "trucks.a.seat_height": "0.280", "body.inside_width[1]": "1.150"})
    old_lines, new_lines = BOXCAR.decode().split("\n"), new.decode().split("\n")
    assert len(old_lines) == len(new_lines)
    assert [(a, b) for a, b in zip(old_lines, new_lines, strict=True) if a != b] == [
        (
            'width = "1.250"              # over the sides, at the sill',
            'width = "1.2505"             # over the sides, at the sill',
        ),
        (
            'inside_width = ["1.156", "1.153", "1.149"]    # B end, middle, A end, at the height of the floor',
            'inside_width = ["1.156", "1.150", "1.149"]    # B end, middle, A end, at the height of the floor',
        ),
        (
            'seat_height = "0.278"        # this truck is lower',
            'seat_height = "0.280"        # this truck is lower',
        ),
    ]


def test_sections_are_made_as_needed() -> None:
    """A value for an end, a new piece and one more washer make their sections, each behind an empty line."""
    changes: Mapping[str, Written] = {
        "trucks.b.washers": ["0.010"],
        "found.a.coupler_height": "0.388",
        "piece[0].name": "floor",
        "piece[0].drop": True,
        "shelf.washer[1].thickness": "0.015",
    }
    new = set_values(BOXCAR, changes)
    car = read_car(new)
    assert [each.key for each in car.trucks.b.washers] == ["trucks.b.washers[0]"]
    assert car.trucks.a.washers == ()
    assert car.pieces[0].drop
    assert len(car.shelf.washers) == 2
    lines = new.decode().split("\n")
    assert not [one for one, two in itertools.pairwise(lines) if two.startswith("[") and one.strip()]


def test_a_value_is_taken_out() -> None:
    """None takes a key out, and is no mistake where the key was not there."""
    new = set_values(BOXCAR, {"body.height": None, "found.weight": None, "body.inside_length[1]": None})
    car = read_car(new)
    assert car.body.height is None
    assert len(car.body.inside_length) == 1
    assert b"found" not in new


@pytest.mark.parametrize("text", ["5' 6\" scale", 'say "no"', "back\\slash", "tab\there", "½ ″ ′ é 漢", "''\"\"", ""])
def test_any_text_is_written(text: str) -> None:
    """Quotes, primes, backslashes and signs of any script are written so that they are read back."""
    assert tomllib.loads(set_values(BOXCAR, {"car.name": text}).decode())["car"]["name"] == text


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("ends", [b"\n", b"\r\n"])
def test_mark_and_line_ends_survive(mark: bytes, ends: bytes) -> None:
    """A byte-order mark and the file's line ends stay as they were found."""
    data = mark + BOXCAR.replace(b"\n", ends)
    new = set_values(data, {"body.width": "1.251", "trucks.b.seat_height": "0.29"})
    assert new.startswith(mark + b"# A double-door")
    assert new.count(b"\n") == new.count(ends)
    assert read_car(new).trucks.b.seat_height is not None
    assert set_values(data, {}) == data


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ("body.lip_deph", "there is no such key"),
        ("shop.sheet[0].thickness", "there is no such key"),
        ("shelf.sheet[7].thickness", "there is nothing at this place of the list"),
        ("body.length[2]", "there is no list at this place"),
    ],
)
def test_a_place_that_is_not_there(place: str, said: str) -> None:
    """A place that the file cannot have is refused, and nothing is changed."""
    with pytest.raises(InputError) as caught:
        set_values(BOXCAR, {place: "1"})
    assert [each.problem for each in caught.value.problems] == [said]


def test_a_broken_file_is_not_changed() -> None:
    """A file that is not TOML is refused."""
    with pytest.raises(InputError, match="it is not TOML"):
        set_values(b"[body\nx = 1", {"body.width": "1"})


@pytest.mark.parametrize(
    "document",
    [
        b"",
        b"# only a note",
        b'trucks.a.seat_height = "0.278"\n',
        b'trucks = { a = { seat_height = "0.278" } }\n',
        b'[trucks.a]\nseat_height = "0.278"\n',
        b'[trucks]\nrock = 3\n[body]\nwall = "0.045"\n[trucks.a]\nseat_height = "0.278"\n',
        b'[trucks]\nseat_height = { a = "0.278" }\n',
        b'[[shelf.sheet]]\nthickness = "0.03"\n[trucks]\nrock = 3',
    ],
)
def test_every_way_of_writing_can_be_changed(document: bytes) -> None:
    """However a file is laid out, the new values are read back from it, or it is refused and stays whole."""
    changes: Mapping[str, Written] = {"trucks.b.seat_height": "0.29", "car.year": 1948, "coupler.b.shim": "0.01"}
    if b"seat_height = {" in document:
        changes = {"trucks.seat_height.b": "0.29", "car.year": 1948, "coupler.b.shim": "0.01"}
    car = read_car(set_values(document, changes))
    assert car.trucks.b.seat_height is not None
    assert car.trucks.b.seat_height.text == "0.29"
    assert car.info.year == 1948
    assert car.coupler.b.shim is not None


def _example(key: Key) -> Any:
    return key.example


ANSWERED = [key for key in keys() if not key.section.endswith("[]")]


@settings(max_examples=60)
@given(st.sets(st.sampled_from([key.path for key in ANSWERED]), max_size=8))
def test_what_is_written_is_read_back(paths: set[str]) -> None:
    """For any set of keys, the values written into an empty file are those that are read from it."""
    changes = {path: next(key.example for key in keys() if key.path == path) for path in sorted(paths)}
    new = set_values(b"# note\n", changes)
    tree = tomllib.loads(new.decode())
    for path, value in changes.items():
        node: Any = tree
        for part in path.split("."):
            node = node[part]
        assert node == value
    assert new.startswith(b"# note\n")


def test_a_new_file_is_an_empty_car() -> None:
    """A new file without answers says nothing about the car, and names every key that is asked behind a #."""
    text = new_car_text({})
    assert read_car(text) == read_car("")
    assert "[[shelf.taken]]" not in text
    for key in keys():
        if not key.program:
            assert f"# {key.name} = " in text
            assert key.letter in text
    assert max(map(len, text.split("\n"))) <= 120


def test_a_new_file_holds_its_answers() -> None:
    """What was answered is read back from a new file, ends and rows too; "" and None are not written."""
    answers: Mapping[str, Written] = {
        "car.name": 'A 5" car',
        "car.year": 1948,
        "body.length": "6 1/8",
        "body.inside_width": ["1.156", "1.153", "1.149"],
        "body.height": "",
        "body.wall": None,
        "trucks.seat_height": "0.284",
        "trucks.a.seat_height": "0.278",
        "shelf.sheet[0].thickness": "0.030",
        "shelf.sheet[1].thickness": "0.015",
    }
    car = read_car(new_car_text(answers))
    assert (car.info.name, car.info.year) == ('A 5" car', 1948)
    assert [each.text for each in car.body.inside_width] == ["1.156", "1.153", "1.149"]
    assert car.body.height is None
    assert car.trucks.a.seat_height is not None
    assert car.trucks.a.seat_height.text == "0.278"
    assert len(car.shelf.sheets) == 2
    with pytest.raises(InputError, match="there is no such key"):
        new_car_text({"body.nothing": "1"})


def test_every_example_is_accepted() -> None:
    """The example of every key, all in one file, is a car without a problem."""
    answers: dict[str, Written] = {}
    for key in keys():
        place = key.path.replace("[]", "[0]")
        if key.path not in ("trucks.inset", "body.diagonals"):
            answers[place] = key.example if key.kind not in ("flag",) else key.example == "true"
    car = read_car(new_car_text(answers))
    assert car.body.lugs
    assert car.shelf.ballast[0].form == "sheet"


def test_saving_replaces_whole_files(tmp_path: Path) -> None:
    """A saved file has the new content and the old mode; no temporary file stays behind."""
    path = tmp_path / "car.toml"
    path.write_bytes(b"old")
    path.chmod(0o640)
    save(path, b"new")
    assert path.read_bytes() == b"new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [each.name for each in tmp_path.iterdir()] == ["car.toml"]


def test_saving_follows_a_link(tmp_path: Path) -> None:
    """A link stays a link; what it points to is written."""
    target = tmp_path / "shop" / "car.toml"
    target.parent.mkdir()
    target.write_bytes(b"old")
    link = tmp_path / "car.toml"
    link.symlink_to(target)
    save(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"


def test_a_failed_save_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the new file cannot be put in place, the old one is untouched and nothing else is left."""
    path = tmp_path / "car.toml"
    path.write_bytes(b"old")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(InputError, match="the file cannot be written: no space left on device"):
        save(path, b"new")
    assert path.read_bytes() == b"old"
    assert [each.name for each in tmp_path.iterdir()] == ["car.toml"]
    with pytest.raises(InputError, match="the file cannot be written"):
        save(tmp_path / "nowhere" / "car.toml", b"new")
