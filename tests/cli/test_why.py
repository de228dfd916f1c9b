"""``carwright plan --why``: the working of one number, on paper and as JSON."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.cli.conftest import all_cars, demo_car

from carwright.car.read import read_car
from carwright.cli.main import main
from carwright.cli.show_why import on_paper, why_json, why_lines
from carwright.plan import document_of, make_plan


def said(path: Path, why: str, capsys: pytest.CaptureFixture[str], *more: str) -> str:
    """Return what --why says."""
    assert main(["plan", str(path), "--why", why, *more]) == 0
    return capsys.readouterr().out


def test_a_derived_number_as_on_paper(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The floor's underside over truck A is told as formula, numbers put in, and result in mm and inches."""
    lines = said(boxcar, "ride.a.floor_underside_mm", capsys).splitlines()
    assert lines[0] == "ride.a.floor_underside_mm"
    assert lines[2:6] == [
        "floor underside at truck A",
        "= J + K",
        "= 7.0612 + 4.191",
        "= 11.2522 mm = 0.4430 in",
    ]


def test_a_typed_leaf_names_letter_key_line_text_and_tolerance(
    boxcar: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A reading is told with its letter, key, line, the text as typed, its ± and how it was taken."""
    page = " ".join(said(boxcar, "ride.a.floor_underside_mm", capsys).split())
    line = demo_car("boxcar").splitlines().index('seat_height = "0.278"        # this truck is lower') + 1
    assert (
        f'J = J truck seat height, trucks.a.seat_height, line {line}: "0.278" ± 0.002 in '
        "(caliper, height above the rail, rectangular) = 7.0612 mm = 0.2780 in"
    ) in page


def test_a_reference_leaf_names_document_and_basis(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The target of a coupler height is told with its document and that it was read in a quotation."""
    page = " ".join(said(boxcar, "ride.a.target_mm", capsys).split())
    assert "9.9314 mm = 0.3910 in" in page
    assert "NMRA Standard S-2" in page
    assert "read in a quotation" in page


def test_a_value_from_memory_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The N-scale height, known from memory, is never told as if it had been read."""
    path = tmp_path / "n.toml"
    path.write_text(demo_car("n_car"), encoding="utf-8")
    page = " ".join(said(path, "ride.a.target_mm", capsys).split())
    assert "from memory, not read" in page
    assert ", read" not in page.replace("not read", "")


def test_a_counted_number_says_that_the_program_chose_it(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The rank of a way to stand is a place in a list that the program made, and says so."""
    page = " ".join(said(boxcar, "ride.alternatives.1.rank", capsys).split())
    assert "rank: 1, chosen by the program: place in the order of ranking" in page


def test_a_working_met_twice_is_printed_once(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Truck A's pivot enters the error of coupler A twice; its formula is printed once and then referred to."""
    page = said(boxcar, "ride.a.error_mm", capsys)
    assert page.count("truck pivot A from mid-car") == 2
    assert len(re.findall(r"truck pivot A from mid-car: .* as in \(\d\) above", page)) == 1


def test_a_sampled_number_is_described(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A chance, which no line of arithmetic gives, is told in words, with everything that it was sampled from."""
    page = said(boxcar, "ride.pass_probability", capsys)
    assert "share of sampled cars" in page
    assert "trucks.a.seat_height" in page
    assert "coupler.drop" in page


@pytest.mark.parametrize("name", sorted(all_cars()))
def test_every_number_of_every_plan_is_told_within_80_columns(name: str) -> None:
    """Every path can be asked, no line of the answer is wider than 80 columns, and the result stands in it."""
    document = document_of(make_plan(read_car(all_cars()[name])))
    for path, working in document.numbers():
        lines = list(why_lines(path, working, "in"))
        assert max(map(len, lines)) <= 80, path
        assert why_json(path, working)["value"] == working.value


@pytest.mark.parametrize("name", ["boxcar", "h0_car"])
def test_a_formula_on_paper_is_the_formula_that_was_worked(name: str) -> None:
    """Brackets and signs left out on paper change nothing: worked as it is printed, each formula gives its value."""
    names = ("acos", "asin", "atan", "cos", "degrees", "floor", "hypot", "pi", "radians", "sin", "sqrt", "tan")
    vocabulary = {"abs": abs, "max": max, "min": min, **{each: getattr(math, each) for each in names}}
    checked = 0
    for _, working in document_of(make_plan(read_car(all_cars()[name]))).numbers():
        if working.is_leaf or working.function is not None:
            continue
        printed = on_paper(working.formula).replace("×", "*").replace("²", "**2").replace("³", "**3")
        values = {symbol: each.value for symbol, each in working.inputs.items()}
        worked = eval(printed, {"__builtins__": {}, **vocabulary}, values)  # noqa: S307 - our own formulas
        assert worked == pytest.approx(working.value, rel=1e-12, abs=1e-12), working.formula
        checked += 1
    assert checked > 100


def numbers_of(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield a number of a JSON working and every number below it."""
    yield node
    for each in node.get("inputs", {}).values():
        yield from numbers_of(each)


def test_the_json_of_a_working(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--why --json gives path, value, unit, name, formula and inputs, down to leaves with key, text, line and basis."""
    found = json.loads(said(boxcar, "ride.a.error_mm", capsys, "--json"))
    assert (found["path"], found["unit"], found["formula"]) == ("ride.a.error_mm", "mm", "h - T")
    assert found["value"] == pytest.approx(found["inputs"]["h"]["value"] - found["inputs"]["T"]["value"], abs=1e-12)
    for each in numbers_of(found):
        if each["kind"] == "derived":
            assert set(each) >= {"value", "unit", "name", "formula", "inputs", "note", "source"}
            assert each["inputs"]
        else:
            assert set(each) >= {"value", "unit", "name", "key", "text", "line", "source", "basis"}
    leaves = {each["key"]: each for each in numbers_of(found) if "key" in each}
    seat = leaves["trucks.a.seat_height"]
    assert (seat["kind"], seat["text"], seat["tolerance"]["value"]) == ("typed", "0.278", pytest.approx(0.0508))
    assert any(each["basis"] == "seen" for each in leaves.values() if each["kind"] == "reference")


def test_the_formulas_of_the_json_can_be_worked_by_another_program(
    boxcar: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each formula of the error of coupler A, worked as plain arithmetic from its inputs' values, gives its value."""
    found = json.loads(said(boxcar, "ride.a.error_mm", capsys, "--json"))
    for each in numbers_of(found):
        if each["kind"] == "derived":
            values = {symbol: one["value"] for symbol, one in each["inputs"].items()}
            assert eval(each["formula"], {"__builtins__": {}}, values) == pytest.approx(each["value"], abs=1e-9)  # noqa: S307 - our own formulas


def test_an_unknown_path_names_near_ones(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A mistyped path ends with 2 and the nearest paths that there are."""
    assert main(["plan", str(boxcar), "--why", "ride.a.eror_mm"]) == 2
    error = capsys.readouterr().err
    assert 'got "ride.a.eror_mm"' in error
    assert "ride.a.error_mm" in error


def test_a_path_of_more_than_one_number_names_those_below(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The path of a whole part of the plan ends with 2 and paths of numbers in it."""
    assert main(["plan", str(boxcar), "--why", "floor"]) == 2
    assert "such as floor.wanted_thickness_mm" in capsys.readouterr().err


def test_a_number_that_is_not_known_yet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Why a number is so cannot be told while a measurement is missing: that ends with 2 and says so."""
    path = tmp_path / "car.toml"
    path.write_text("", encoding="utf-8")
    assert main(["plan", str(path), "--why", "ride.a.error_mm"]) == 2
    assert "not known yet" in capsys.readouterr().err


def test_the_list_of_paths(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--why list names every number of the plan with its value, and each of its paths can be asked in turn."""
    document = document_of(make_plan(read_car(demo_car("boxcar"))))
    lines = said(boxcar, "list", capsys).splitlines()
    assert [line.split("  ")[0] for line in lines] == [path for path, _ in document.numbers()]
    as_json = json.loads(said(boxcar, "list", capsys, "--json"))["paths"]
    assert [each["path"] for each in as_json] == [path for path, _ in document.numbers()]
    assert all(document.find(each["path"]).value == each["value"] for each in as_json)


@pytest.mark.parametrize(
    ("asked", "offered"),
    [
        ("coupler height", "ride.a.coupler_height_mm"),
        ("ride.a.coupler_hight_mm", "one of ride.a.coupler_height_mm"),
        ("floor thickness", "one of floor.thickness_mm"),
        ("0.380", "ride.a.coupler_height_mm"),
        ("zzz", "the name of a number, such as"),
        ("0.383", "the name of a number, such as"),
    ],
)
def test_a_name_that_is_none_is_met_with_the_nearest(
    boxcar: Path, asked: str, offered: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Words, a slip or a value in place of a name end with 2, the nearest names, and how to list them all.

    The value: coupler A of the boxcar stands at 0.380 in, by hand as in the test of the page.
    """
    assert main(["plan", str(boxcar), "--why", asked]) == 2
    told = capsys.readouterr().err
    assert asked in told
    assert offered in told
    assert "`--why list` names every number" in told


def test_a_long_tree_is_cut_at_a_depth_and_says_so(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each of the over forty masses still to be fitted is named with its value; what lies deeper is counted."""
    main(["plan", str(boxcar), "--why", "weight.to_fit_g"])
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) < 210
    assert sum("mass of" in line for line in lines) > 40
    assert lines[-1].endswith("lines deeper are left out; --json tells them all.")
