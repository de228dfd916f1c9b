"""``carwright plan --take N``: a way to stand is written into the car file, and the file then stands so."""

from __future__ import annotations

import json
import shutil
import tempfile
from pathlib import Path
from typing import Any, NoReturn

import pytest
from tests.cli.conftest import GAUGED, UNLIKE, all_cars, demo_car
from tests.plan.cars import CARS

from carwright.car.read import read_car
from carwright.cli.main import main
from carwright.plan import Plan, make_plan
from carwright.plan.taking import take_way


def plan_of(path: Path) -> Plan:
    """Return the plan of a file on the disk."""
    return make_plan(read_car(path.read_bytes()))


@pytest.mark.parametrize("name", sorted(set(all_cars()) - {"gauged"}))
def test_the_file_then_stands_as_was_promised(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Once a way is taken, its plan gives the heights and the chance that were promised: each way, each car."""
    original = tmp_path / "original.toml"
    original.write_text(all_cars()[name], encoding="utf-8")
    ways = plan_of(original).alternatives
    assert len(ways) > 1
    for way in ways:
        path = tmp_path / "car.toml"
        shutil.copy(original, path)
        assert main(["plan", str(path), "--take", f"{way.rank.value:.0f}"]) in (0, 1)
        after = plan_of(path)
        for end in ("a", "b"):
            height = after.ride.ends.a.coupler_height if end == "a" else after.ride.ends.b.coupler_height
            assert height is not None
            promised = way.coupler_height.a if end == "a" else way.coupler_height.b
            assert height.value == pytest.approx(promised.value, abs=1e-5), (way.name, end)
        chance = after.ride.pass_probability
        assert chance is not None
        assert chance.value == pytest.approx(way.pass_probability.value, abs=1e-9), way.name
        said = capsys.readouterr().out
        assert max(len(line) for line in said.splitlines() if not line.startswith("    carwright")) <= 80


@pytest.mark.parametrize("name", sorted(set(all_cars()) - {"gauged"}))
def test_only_what_changes_is_changed(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Taking a way keeps every comment and every line that it does not touch."""
    path = tmp_path / "car.toml"
    path.write_text(all_cars()[name], encoding="utf-8")
    before = path.read_text(encoding="utf-8").splitlines()
    main(["plan", str(path), "--take", "1", "--json"])
    changed = {each["key"].rpartition(".")[2] for each in json.loads(capsys.readouterr().out)["changes"]}
    after = path.read_text(encoding="utf-8").splitlines()
    lost = [line for line in before if line not in after]
    assert {line.split("=")[0].strip() for line in lost} <= changed
    assert all("#" not in line or line.split("#")[1] in "\n".join(after) for line in lost)


def test_what_was_written_is_said(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The first cure of the boxcar is one washer at A: old and new value and the new heights are told, status 0."""
    assert main(["plan", str(boxcar), "--take", "1"]) == 0
    said = capsys.readouterr().out
    assert "way 1, one 0.010 in washer at A" in " ".join(said.split())
    assert "  trucks.a.washers: not given -> 0.010\n" in said
    assert "  error, high is +               +0.001   -0.005  in\n" in said
    assert 'washers = ["0.010"]' in boxcar.read_text(encoding="utf-8")


def test_the_same_for_other_programs(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--json tells the file, each key with old and new text, and promised and new heights, which agree."""
    assert main(["plan", str(boxcar), "--take", "1", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["file"], found["rank"], found["name"]) == (str(boxcar), 1, "one 0.010 in washer at A")
    assert found["changes"] == [{"key": "trucks.a.washers", "old": None, "new": "0.010"}]
    assert found["coupler_height_mm"] == pytest.approx(found["promised_mm"], abs=1e-3)


def test_the_car_as_it_is_changes_nothing(boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Taking the car as it is leaves the file byte for byte and says that there is nothing to change."""
    before = boxcar.read_bytes()
    as_it_is = next(way for way in plan_of(boxcar).alternatives if way.as_it_is)
    assert main(["plan", str(boxcar), "--take", f"{as_it_is.rank.value:.0f}"]) == 1
    assert "nothing to change" in capsys.readouterr().out
    assert boxcar.read_bytes() == before


@pytest.mark.parametrize("number", ["0", "-1", "99"])
def test_a_number_out_of_range(number: str, boxcar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A way that is not in the list ends with 2 and the range that there is; the file stays."""
    before = boxcar.read_bytes()
    most = len(plan_of(boxcar).alternatives)
    assert main(["plan", str(boxcar), f"--take={number}"]) == 2
    assert f'got "{number}"; accepted: 1 to {most}' in capsys.readouterr().err
    assert boxcar.read_bytes() == before


def test_no_ways_yet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A car whose heights are not known has no ways to stand: that ends with 2 and says why."""
    path = tmp_path / "car.toml"
    path.write_text("", encoding="utf-8")
    assert main(["plan", str(path), "--take", "1"]) == 2
    assert "heights are not known yet" in capsys.readouterr().err


def test_a_bolster_in_layers_is_written_as_a_list(tmp_path: Path) -> None:
    """A laminated bolster is written as the list of its layers, lowest first, and read back as such."""
    path = tmp_path / "car.toml"
    whole = demo_car("boxcar")
    path.write_text(whole[: whole.index("[[shelf.sheet]]")], encoding="utf-8")  # the usual sheets stand in for a shelf
    ways = plan_of(path).alternatives
    way = next(each for each in ways if any(isinstance(value, tuple) and key.endswith("bolster")
                                            for key, value in each.changes))  # fmt: skip
    assert main(["plan", str(path), "--take", f"{way.rank.value:.0f}"]) in (0, 1)
    car = read_car(path.read_bytes())
    assert [each.value for each in car.underframe.bolster.a] == [each.value for each in way.bolster_layers.a]
    assert [each.value for each in car.underframe.bolster.b] == [each.value for each in way.bolster_layers.b]


def test_a_shim_of_both_ends_taken_out_at_one_stays_at_the_other(tmp_path: Path) -> None:
    """Where one key gives both ends their shim, taking it out at one end moves it under the other end's key."""
    path = tmp_path / "car.toml"
    path.write_text(UNLIKE.replace('bolster = "0.175"', 'bolster = "0.150"'), encoding="utf-8")
    ways = plan_of(path).alternatives
    one_sided = [
        way
        for way in ways
        if [key for key, value in way.changes if value is None and key.endswith("shim")]
        in (["coupler.a.shim"], ["coupler.b.shim"])
    ]
    assert one_sided
    assert main(["plan", str(path), "--take", f"{one_sided[0].rank.value:.0f}"]) in (0, 1)
    car = read_car(path.read_bytes())
    shims = [car.coupler.a.shim, car.coupler.b.shim]
    assert [each.text for each in shims if each is not None] == ["0.020"]


def test_a_gauged_height_is_taken_out_and_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A height found was of the old stack: taking a way removes it, tells it, and asks for the gauge again."""
    path = tmp_path / "car.toml"
    path.write_text(GAUGED, encoding="utf-8")
    promised = plan_of(path).alternatives[0].error
    main(["plan", str(path), "--take", "1"])
    said = capsys.readouterr().out
    assert "found.coupler_height.a: 0.375 -> taken out" in said
    assert "Couplers, as promised" in said
    assert "gauge both couplers again" in " ".join(said.split())
    assert f"{promised.b.value / 25.4:+.3f}" in said
    assert read_car(path.read_bytes()).found.ends.a.coupler_height is None


def test_a_folder_that_cannot_be_written(
    boxcar: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where the folder refuses a new file, the command ends with 2, says so, and the car file is as it was."""

    def refuse(*_: Any, **__: Any) -> NoReturn:
        raise PermissionError(13, "Permission denied")

    before = boxcar.read_bytes()
    monkeypatch.setattr(tempfile, "mkstemp", refuse)
    assert main(["plan", str(boxcar), "--take", "1"]) == 2
    assert "cannot be written: permission denied" in capsys.readouterr().err
    assert boxcar.read_bytes() == before
    assert [each.name for each in boxcar.parent.iterdir()] == ["boxcar.toml"]


def test_line_ends_and_mark_of_the_file_stay(boxcar: Path) -> None:
    """A file with CRLF and a byte-order mark keeps both when a way is taken."""
    boxcar.write_bytes(b"\xef\xbb\xbf" + demo_car("boxcar").replace("\n", "\r\n").encode())
    assert main(["plan", str(boxcar), "--take", "1"]) == 0
    data = boxcar.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf")
    assert data.count(b"\n") == data.count(b"\r\n")


@pytest.mark.parametrize("name", sorted({*CARS} - {"gauged", "gauged at A", "empty", "body only", "no trucks"}))
def test_every_kind_of_car_then_stands_as_was_promised(name: str) -> None:
    """Whatever the car, its plan with a way written in has the promised heights, and the very chance that was told."""
    document = CARS[name].encode()
    car = read_car(document)
    for number, way in enumerate(make_plan(car).alternatives, start=1):
        ride = take_way(car, document, number).plan.ride
        assert ride.pass_probability is not None
        assert ride.pass_probability.value == pytest.approx(way.pass_probability.value, abs=1e-9), way.name
        for height, promised in (
            (ride.ends.a.coupler_height, way.coupler_height.a),
            (ride.ends.b.coupler_height, way.coupler_height.b),
        ):
            assert height is not None
            assert height.value == pytest.approx(promised.value, abs=1e-6), way.name


def test_a_bolster_to_be_built_stays_so_where_it_comes_out_the_same() -> None:
    """A cure of trucks alone leaves `build` in the file where the plan laminates the same bolster afterwards."""
    document = CARS["n_car"].encode()
    car = read_car(document)
    ways = make_plan(car).alternatives
    number = next(at for at, way in enumerate(ways, start=1) if way.name == "one 0.010 in washer at each end")
    taken = take_way(car, document, number)
    assert [each.key for each in taken.changes] == ["trucks.a.washers", "trucks.b.washers"]
    assert b'bolster = "build"' in taken.document


def test_what_is_written_down_has_the_units_and_the_doubt_it_was_reckoned_with() -> None:
    """A built bolster or a recess that is written stands in the file's units, with the doubt of its sheet."""
    document = CARS["built bolster"].encode()
    car = read_car(document)
    ways = make_plan(car).alternatives
    number = next(at for at, way in enumerate(ways, start=1) if any("recess" in key for key, _ in way.changes))
    texts = [each.new for each in take_way(car, document, number).changes]
    assert any("in ±" in each for each in texts)
    assert not any("mm" in each for each in texts)


def test_a_gauged_car_is_told_what_its_parts_alone_say(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The promise of a gauged car rests on the gauge; what the plan says without it stands beside the promise."""
    path = tmp_path / "car.toml"
    path.write_text(CARS["gauged"], encoding="utf-8")
    main(["plan", str(path), "--take", "1"])
    said = " ".join(capsys.readouterr().out.split())
    ride = plan_of(path).ride
    assert ride.ends.a.error is not None
    assert f"from the parts alone: error {ride.ends.a.error.value / 25.4:+.3f} in at A" in said
