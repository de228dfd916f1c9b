"""The key table: every key is complete, the letters are the fixed ones, near misses are found."""

from __future__ import annotations

import re
from dataclasses import fields

import pytest

from carwright import reference
from carwright.car import model
from carwright.car.keys import (
    Key,
    key_named,
    keys,
    near,
    path_of,
    picture_points,
    section_named,
    sections,
)

FIXED_LETTERS = {
    "A": "body.length",
    "B": "body.width",
    "C": "body.inside_length",
    "D": "body.inside_width",
    "E": "body.lip_depth",
    "F": "body.end_notch",
    "G": "body.height",
    "H": "trucks.centers",
    "J": "trucks.seat_height",
    "K": "underframe.bolster",
    "L": "coupler.drop",
    "M": "coupler.pivot_inset",
    "N": "coupler.length",
}


def test_letters_are_fixed() -> None:
    """A to N, without I, stand for the thirteen main measurements."""
    assert {key.letter: key.path for key in keys() if key.letter in FIXED_LETTERS} == FIXED_LETTERS


def test_every_letter_is_used_once() -> None:
    """No two keys share a letter, and none is I, O or Q."""
    letters = [key.letter for key in keys()]
    assert len(set(letters)) == len(letters)
    assert not [letter for letter in letters if letter[0] in "IOQ" or not re.fullmatch(r"[A-Z]\d*", letter)]


def test_the_eleven_on_which_most_hangs() -> None:
    """The eleven on which most hangs are the lettered thirteen of the sheet without B and G, which truly only draw."""
    assert sorted(key.letter for key in keys() if key.first) == ["A", "C", "D", "E", "F", "H", "J", "K", "L", "M", "N"]


@pytest.mark.parametrize("key", keys(), ids=lambda key: key.path)
def test_a_key_is_complete(key: Key) -> None:
    """Every key has a question, how to measure it, a default and, where it is a number, a range and a picture."""
    assert key.question.endswith("?")
    assert key.how.endswith(".")
    assert key.default
    assert section_named(key.section) is not None
    assert len(key.how) <= 200
    if key.kind in ("length", "lengths"):
        assert len(re.findall(r"\.(?:\s|$)", key.how)) <= 3
        assert key.taken in ("outside", "inside", "depth", "height", "rule", "nominal")
        assert (
            key.picture is not None
            or key.path in {"car.radius", "shelf.keep_length", "shelf.keep_width"}
            or (key.path.startswith("shelf."))
        )
    if key.kind in ("length", "lengths", "mass", "angle", "count", "year"):
        assert key.low is not None
        assert key.high is not None
        assert key.low < key.high
        assert key.low >= 0 or key.negative
    if key.kind in ("lengths", "texts", "windows"):
        assert key.upto > 1
    if key.most:
        assert key_named(key.most) is not None
        assert key.clash
    if key.picture is not None:
        points = picture_points()[key.picture.view]
        assert key.picture.start in points
        assert key.picture.end in points
        assert key.picture.start != key.picture.end


def test_how_a_key_is_taken() -> None:
    """Ledge, opening, drop and boss are taken by depth rod, the seat above the rail, the inside with inside jaws."""
    taken = {key.path: key.taken for key in keys()}
    assert {taken[path] for path in ("body.lip_depth", "body.end_notch", "coupler.drop", "trucks.boss_height")} == {
        "depth"
    }
    assert taken["trucks.seat_height"] == "height"
    assert {taken["body.inside_length"], taken["body.inside_width"]} == {"inside"}
    assert taken["underframe.bolster"] == "outside"


def test_every_way_of_taking_has_an_instrument() -> None:
    """Every way of taking but a wish has an instrument in the reference data."""
    for taken in {key.taken for key in keys()} - {"", "nominal"}:
        assert reference.instrument(taken).value > 0


def test_every_key_has_a_place_in_the_car() -> None:
    """Each key of a single section is a field of its record, so nothing that can be typed is lost."""
    records = {
        "car": model.CarInfo,
        "body": model.Body,
        "trucks": model.Truck,
        "coupler": model.Coupler,
        "underframe": model.Underframe,
        "weight": model.WeightWish,
        "gauge": model.GaugeReadings,
        "finish": model.Finish,
        "paint[]": model.Paint,
        "piece[]": model.PieceChange,
        "body.lug[]": model.Lug,
    }
    for section, record in records.items():
        known = {each.name for each in fields(record)}
        assert not {key.name for key in keys() if key.section == section} - known


@pytest.mark.parametrize(
    ("place", "path"),
    [
        ("trucks.a.seat_height", "trucks.seat_height"),
        ("trucks.b.washers[1]", "trucks.washers"),
        ("found.coupler_height.a", "found.coupler_height"),
        ("body.lug[2].x", "body.lug[].x"),
        ("shop.sheet[0].thickness", "shelf.sheet[].thickness"),
        ("body.inside_width[1]±", "body.inside_width"),
    ],
)
def test_a_place_has_a_path(place: str, path: str) -> None:
    """The place of a value in a file leads back to its key."""
    assert path_of(place) == path
    assert key_named(place) is key_named(path)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("body.lip_deph", ("body.lip_depth",)),
        ("body.Lip_Depth", ("body.lip_depth",)),
        ("trucks.seatheight", ("trucks.seat_height",)),
        ("body.seat_height", ("trucks.seat_height",)),
        ("car.drop", ("coupler.drop", "piece[].drop", "shelf.coupler[].drop")),
        ("body.qqqq", ()),
    ],
)
def test_near_misses(typed: str, meant: tuple[str, ...]) -> None:
    """A mistyped key finds the one that was meant; one in the wrong section finds its home; nonsense finds nothing."""
    assert near(typed) == meant


def test_ranges_go_with_the_scale() -> None:
    """A range at HO is 87.1/160 of itself in N; a washer has the same size in every scale."""
    seat, washer = key_named("trucks.seat_height"), key_named("trucks.washers")
    assert seat is not None
    assert washer is not None
    assert seat.limits(160.0) == pytest.approx((4 * 87.1 / 160, 14 * 87.1 / 160))
    assert washer.limits(160.0) == (0.02, 8)


def test_sections_are_all_used() -> None:
    """Every section holds a key."""
    assert {key.section for key in keys()} == {section.path for section in sections()}
