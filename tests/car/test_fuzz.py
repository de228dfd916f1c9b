"""Whatever bytes come in, a car or an InputError comes out, and soon."""

from __future__ import annotations

import contextlib
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carwright.car.read import read_car, read_shelf
from carwright.car.write import set_values
from carwright.problems import InputError, Problem

FOLDER = Path(__file__).resolve().parents[2] / "src/carwright/demo"
DEMO = [path.read_bytes() for path in sorted(FOLDER.glob("*.toml"))]
MARKS = "\" ' [ ] [[ ]] { } = # . , \"\"\" ''' \\ “ ½ 1/0 nan -inf 1e999 99999999999999999999 true 1979-05-27 0x + -"
FRAGMENTS = st.sampled_from(
    [
        *(mark.encode() for mark in MARKS.split()),
        *(b"\n", b"\r", b" ", b"\t", b"\x00", b"\xff", b"\xef\xbb\xbf", b"\xc2\xa0"),
        *(
            b"a.b.c = 1\n",
            b"[a]\n",
            b"body = 1\n",
            b"[trucks.a]\n",
            b"[[body]]\n",
            b"[[trucks.a]]\n",
            b"shelf.sheet = 3\n",
        ),
    ]
)


def problems_of(data: bytes) -> list[Problem]:
    """Return the problems that reading, and then changing, ``data`` gives; only an InputError may come out."""
    found: list[Problem] = []
    for act in (
        lambda: read_car(data, file="f.toml"),
        lambda: read_shelf(data, file="f.toml"),
        lambda: set_values(data, {"body.length": "6", "trucks.a.washers": ["0.01"]}),
    ):
        try:
            act()
        except InputError as error:
            found.extend(error.problems)
    return found


def outcome(data: bytes) -> None:
    """Hold that every problem of ``data`` is worded, and its value short enough to be shown."""
    for each in problems_of(data):
        assert each.problem
        assert len(each.value) <= 161
        assert str(each)


@settings(max_examples=300)
@given(st.binary(max_size=300))
def test_any_bytes(data: bytes) -> None:
    """Random bytes give a car or an InputError."""
    outcome(data)


@settings(max_examples=200)
@given(st.text(max_size=200))
def test_any_text(text: str) -> None:
    """Random text, surrogates too, gives a car or an InputError."""
    outcome(text.encode("utf-8", "surrogatepass"))


@settings(max_examples=300)
@given(
    st.sampled_from(DEMO),
    st.lists(st.tuples(st.integers(0, 3000), st.integers(0, 12), FRAGMENTS), min_size=1, max_size=6),
)
def test_a_damaged_file(data: bytes, damage: list[tuple[int, int, bytes]]) -> None:
    """A real file with pieces cut out and others put in gives a car or an InputError."""
    for at, cut, fragment in damage:
        data = data[:at] + fragment + data[at + cut :]
    outcome(data)


@settings(max_examples=100)
@given(st.sampled_from(DEMO), st.integers(0, 3000))
def test_a_truncated_file(data: bytes, end: int) -> None:
    """A real file cut off anywhere gives a car or an InputError."""
    outcome(data[:end])


@pytest.mark.parametrize(
    "data",
    [
        b"[\n" * 300_000,
        b"x = [\n" * 150_000,
        b"x = " + b"'''\n" * 200_000,
        b'x = "' + b"\\" * 900_000,
        b" " * 999_000 + b"x",
        b"a = 1\n" * 160_000,
        b"[a]\n" * 240_000,
        b"[[shelf.sheet]]\n" * 60_000,
        b"x" * 3999 + b"\n" + b"x" * 3999 + b"\n",
        (b" " * 3990 + b"x\n") * 250,
        (b"x =" + b" " * 3980 + b"y\n") * 250,
        (b"x = [" + b'",' * 1900 + b"\n") * 250,
        b"x = [" + b'",\n' * 330_000,
        b"[body]\nlength = " + b'"6",' * 900 + b"\n",
        b"[body] " + b"length = 6 " * 350,
    ],
    ids=range(15),
)
def test_a_hostile_file_is_soon_refused(data: bytes) -> None:
    """A file made to take long is answered within five seconds, where the least is a few hundredths."""
    start = time.perf_counter()
    with contextlib.suppress(InputError):
        read_car(data)
    assert time.perf_counter() - start < 60
