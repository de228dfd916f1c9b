"""Readings that do not go together are told before anything is built from them."""

from __future__ import annotations

from importlib import resources

import pytest

from carwright.car.read import read_car
from carwright.plan import Plan, make_plan
from carwright.problems import InputError
from carwright.reference import car_kind, practice_value


def _plan(*changes: tuple[str, str]) -> Plan:
    text = resources.files("carwright.demo").joinpath("boxcar.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return make_plan(read_car(text.encode(), file="car.toml"))


def _checks(plan: Plan) -> dict[str, str]:
    return {each.check: each.mend for each in plan.findings if each.verdict != "ok"}


SLIPS = (
    "truck_screw",
    "coupler_screw",
    "reading_a",
    "reading_b",
    "seats_differ",
    "inside_ends",
    "walls_ends",
    "shell_mass",
)


def test_a_missing_part_misspelled() -> None:
    """The word "truks" among the missing parts is refused, with the word that was meant; an own word is not."""
    with pytest.raises(InputError) as refused:
        _plan(('"trucks"', '"truks"'))
    assert str(refused.value).count("Did you mean") == 1
    assert 'car.missing: no part is called "truks"' in str(refused.value)
    assert 'Did you mean "trucks"?' in str(refused.value)
    _plan(('"trucks"', '"trucks", "roof walk"'))


def test_a_car_read_rightly_has_no_slip() -> None:
    """The demonstration's car, whose coupler stands low, is not told to be measured again."""
    assert not set(SLIPS) & set(_checks(_plan()))


def test_a_slipped_decimal_is_named_with_what_was_meant() -> None:
    """A drop of 0.58 for 0.058 puts the coupler below the rail; the finding names the reading and 0.058."""
    told = _checks(_plan(('drop = "0.062"', 'drop = "0.58"')))
    for end in "ab":
        assert "L coupler drop, typed 0.58, perhaps meant as 0.058 in" in told[f"reading_{end}"]
        assert "J truck seat" not in told[f"reading_{end}"]


def test_readings_are_all_named_where_no_single_point_explains_it() -> None:
    """A seat read 0.075 low is no slipped decimal: each height of that end is to be measured again."""
    told = _checks(_plan(('seat_height = "0.278"', 'seat_height = "0.209"')))
    assert all(word in told["reading_a"] for word in ("J truck seat height 0.209", "K body bolster", "L coupler drop"))
    assert "0.209" in told["seats_differ"]
    assert "0.284" in told["seats_differ"]


def test_a_width_typed_for_a_length_leaves_walls_that_no_shell_has() -> None:
    """The width at C leaves walls of (6.125 - 1.215)/2 = 2.455 in at the ends, and that fails."""
    plan = _plan(('inside_length = ["5.906", "5.904"]', 'inside_length = "1.215"'))
    (found,) = (each for each in plan.findings if each.check == "walls_ends")
    assert found.verdict == "fail"
    assert found.value is not None
    assert found.value.value == pytest.approx(2.455 * 25.4)
    assert "C inside length" in found.because


def test_sides_of_very_unlike_length_are_measured_again() -> None:
    """0.744 in between the two inside lengths is a slip, not a shell that leans."""
    plan = _plan(('inside_length = ["5.906", "5.904"]', 'inside_length = ["5.160", "5.904"]'))
    assert "again" in _checks(plan)["inside_ends"]


def test_a_thread_that_is_not_known_is_said() -> None:
    """A screw written "2-65" gets no hole, and the finding offers 2-56; "256" is 2-56, as it is said."""
    assert "truck_screw" not in _checks(_plan(('screw = "2-56"', 'screw = "256"')))
    told = _checks(_plan(('screw = "2-56"', 'screw = "2-65"')))
    assert "2-56" in told["truck_screw"]


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("single-sheathed boxcar", "box"),
        ("box, single sheathed", "box"),
        ("flat-bottom gondola", "gondola"),
        ("3-dome tank car", "tank"),
        ("zeppelin", None),
    ],
)
def test_a_plain_description_is_understood_by_the_word_that_names_the_car(words: str, kind: str | None) -> None:
    """The last known word of a description names the kind of car, as in plain English."""
    assert car_kind(words) == kind


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("type", "XMX", "XM"),
        ("type", "banana", "gondola"),
        ("scheme", "banana purple", "sides grey, roof and ends black"),
    ],
)
def test_words_that_are_not_understood_are_refused_with_what_is(key: str, text: str, said: str) -> None:
    """A kind of car or a scheme that nobody can read is refused with its line and key, and with what would be read."""
    stood = {"type": "XM", "scheme": "sides grey, roof and ends black, door red, underframe brown"}[key]
    with pytest.raises(InputError) as refused:
        _plan((f'{key} = "{stood}"', f'{key} = "{text}"'))
    (problem,) = refused.value.problems
    assert problem.key in ("car.type", "finish.scheme")
    assert problem.line
    assert said in problem.accepted + problem.mend


def test_another_kind_of_car_is_called_other() -> None:
    """A car that none of the words fit is called other, and no custom is applied to it."""
    assert _plan(('type = "XM"', 'type = "other"')).kind is None


def test_the_brake_drawn_is_told_with_its_reason() -> None:
    """Built 1926 means K, which ended after the year modelled; without a year built the choice is to be confirmed."""
    told = {each.check: each for each in _plan().findings}
    assert told["brake"].verdict == "watch"
    assert "car.built" in told["brake"].mend
    built = {each.check: each for each in _plan(("year = 1948", "year = 1948\nbuilt = 1926")).findings}
    assert built["brake"].verdict == "ok"
    assert "K" in built["brake"].because


def test_what_is_not_on_the_shelf_is_asked_for_once() -> None:
    """Rod and wire of the brake gear are bought; wire on the shelf within a tenth of the size is used."""
    names = [each.name for each in _plan().buy]
    assert "styrene rod" in names
    assert "phosphor bronze wire" in names
    text = '\n[[shelf.wire]]\ndiameter = "0.0185"\nmaterial = "brass"\n\n[[shelf.washer]]'
    lines = [each for each in _plan(("\n[[shelf.washer]]", text)).buy if each.name == "phosphor bronze wire"]
    share = practice_value("looks_percent").value / 100
    assert all(abs(0.0185 * 25.4 - line.size.value) > share * line.size.value for line in lines if line.size)
    assert len(lines) == sum(name == "phosphor bronze wire" for name in names) - 1


def test_a_change_of_wheels_buys_four_wheelsets() -> None:
    """A car on two trucks runs on four wheelsets, and all are changed or none."""
    text = resources.files("carwright.demo").joinpath("n_car.toml").read_bytes()
    lines = {each.name: each.quantity.value for each in make_plan(read_car(text, file="n.toml")).buy}
    assert lines["36 in wheelsets"] == 4


def test_ounces_of_a_shell_that_are_too_many_are_doubted() -> None:
    """A shell of 17 oz is 482 g, four times the finished car of 115 g: the finding says how weights are typed."""
    told = _checks(_plan(('mass = "14 g"', 'mass = "17 oz"')))
    assert "28.35 g" in told["shell_mass"]
