"""``carwright cut``: the page, JSON, status, diagrams, and what is refused."""

from __future__ import annotations

import json
import math
import os
import random
import signal
import threading
import time
from importlib import resources
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from carwright.cli.main import main

SHELF = """
[shelf]
units = "mm"
[[shelf.strip]]
name = "bar"
thickness = "1"
width = "2"
length = "100"
count = 2
cost = "1"
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder with a shelf of two bars and a list of three pieces, in which the command runs."""
    (tmp_path / "shelf.toml").write_text(SHELF, encoding="utf-8")
    (tmp_path / "pieces.csv").write_text("name,thickness,length,quantity\nsill,1,60,2\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_batch_that_the_shelf_serves_ends_with_0(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two pieces from two bars: optimal, cost and bound 2, and the diagrams are written."""
    assert main(["cut", "pieces.csv", "--shelf", "shelf.toml", "--json", "--draw", "pics", "--paper", "A4"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["status"], said["cost"], said["bound"]) == ("optimal", 2, 2)
    assert [(each["stock"], each["stock_index"], each["count"]) for each in said["layouts"]] == [("bar", 0, 2)]
    assert sorted(path.name for path in (shop / "pics").iterdir()) == [
        "cut-1.dxf",
        "cut-1.svg",
        "cuts.csv",
        "cutting.pdf",
    ]


def test_a_batch_that_must_buy_ends_with_1(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Three pieces from two bars: infeasible, one bar to buy, status 1, also on the page."""
    (shop / "pieces.csv").write_text("name,thickness,length,quantity\nsill,1,60,3\n", encoding="utf-8")
    assert main(["cut", "pieces.csv", "--shelf", "shelf.toml", "--json"]) == 1
    said = json.loads(capsys.readouterr().out)
    assert (said["status"], said["buy"]) == ("infeasible", [{"name": "bar", "packs": 1, "pieces": 1, "cost": 1}])
    assert main(["cut", "pieces.csv", "--shelf", "shelf.toml"]) == 1
    assert "1 x bar" in capsys.readouterr().out


def test_the_clock_may_end_the_search(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With --wall there is still a whole plan."""
    assert main(["cut", "pieces.csv", "--shelf", "shelf.toml", "--wall", "0.5", "--json"]) == 0
    assert sum(each["count"] for each in json.loads(capsys.readouterr().out)["layouts"]) == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["pieces.csv"], "no shelf is named"),
        (["pieces.csv", "--shelf", "shelf.toml", "--kerf", "200 mm"], "the kerf is wider than the stock"),
        (["pieces.csv", "--shelf", "shelf.toml", "--time", "0"], "so much work cannot be asked for"),
        (["pieces.csv", "--shelf", "shelf.toml", "--one-sheet"], "the shelf has no sheet to fill"),
        (["none.csv", "--shelf", "shelf.toml"], "there is no such file"),
    ],
)
def test_slips_end_with_2(shop: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str) -> None:
    """A missing shelf, a kerf wider than the stock, no work, no sheet and no file are told in one line each."""
    assert shop.exists()
    assert main(["cut", *words]) == 2
    assert said in capsys.readouterr().err


def test_ctrl_c_keeps_the_best_plan(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A signal in the midst of a search that is allowed ten minutes ends it with a whole plan and a bound below it."""
    draw = random.Random(4)  # noqa: S311 - seeded on purpose, nothing is secret
    lines = "".join(f"p{i},1,{draw.randint(200, 2800) / 10},1\n" for i in range(300))
    (shop / "pieces.csv").write_text("name,thickness,length,quantity\n" + lines, encoding="utf-8")
    bars = [(300, '"any"', 3), (600, '"any"', 6), (1000, '"any"', 10), (160.1, "1", 1.601), (144.3, "1", 1.443)]
    (shop / "shelf.toml").write_text(
        '[shelf]\nunits = "mm"\n'
        + "".join(
            f'[[shelf.strip]]\nname = "bar {length}"\nthickness = "1"\nwidth = "2"\nlength = "{length}"\n'
            f'count = {count}\ncost = "{cost}"\n'
            for length, count, cost in bars
        ),
        encoding="utf-8",
    )
    before = signal.getsignal(signal.SIGINT)

    def press() -> None:
        while signal.getsignal(signal.SIGINT) is before and not over.is_set():
            time.sleep(0.01)
        time.sleep(0.5)
        if signal.getsignal(signal.SIGINT) is not before:
            os.kill(os.getpid(), signal.SIGINT)

    over = threading.Event()
    thread = threading.Thread(target=press)
    thread.start()
    began = time.monotonic()
    status = main(["cut", "pieces.csv", "--shelf", "shelf.toml", "--kerf", "0.3", "--time", "600", "--json"])
    took = time.monotonic() - began
    over.set()
    thread.join()
    said = json.loads(capsys.readouterr().out)
    assert status == 0
    assert said["status"] in ("feasible", "optimal")
    assert said["bound"] <= said["cost"]
    assert sum(len(bar["pieces"]) for bar in said["layouts"]) == 300
    assert took < 120
    assert signal.getsignal(signal.SIGINT) is before


def test_what_the_plan_asks_for_is_bought_put_on_the_shelf_and_taken(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A car's narrow flanges ask for strip; strip of the next size sold goes on the shelf; the plan is taken, once."""
    car = resources.files("carwright.demo").joinpath("gondola.toml").read_bytes()
    (shop / "gondola.toml").write_bytes(car)
    sheets = "".join(
        f'[[shelf.sheet]]\nname = "sheet {t}"\nthickness = "{t}"\nwidth = "6"\nlength = "12"\ncount = 2\ncost = "2"\n'
        for t in ("0.020", "0.030")
    )
    (shop / "rack.toml").write_text(f'[shelf]\nunits = "in"\n{sheets}', encoding="utf-8")
    wish = ["cut", "gondola.toml", "--shelf", "rack.toml"]
    assert main([*wish, "--take", "--bought", "--json"]) == 1
    said = json.loads(capsys.readouterr().out)
    assert said["taken"] is None
    flange = next(each for each in said["buy"] if each["for"] == "crosstie_1_flange")
    assert flange["form"] == "strip"
    assert flange["width_mm"] == pytest.approx(0.029 * 25.4, abs=0.02)
    for each in said["buy"]:
        thickness = f"{each['thickness_mm'] / 25.4:.3f}"
        # Strip and wire are sold in whole hundredths and thousandths of an inch: common practice.
        kind = ["wire", f"diameter={thickness}"]
        if each["form"] == "strip":
            kind = ["strip", f"thickness={thickness}", f"width={math.ceil(each['width_mm'] / 0.254) / 100}"]
        row = ["shelf", "add", "rack.toml", *kind, f"material={each['material']}", "length=14", "count=3"]
        assert main(row) == 0
    capsys.readouterr()
    assert main([*wish, "--take"]) == 0
    page = capsys.readouterr().out
    assert "Taken from rack.toml" in page
    assert "sand its width" in page
    left = (shop / "rack.toml").read_bytes()
    assert main([*wish, "--take"]) == 0
    assert capsys.readouterr().out.startswith("Taken already, on ")
    assert (shop / "rack.toml").read_bytes() == left


def test_a_plan_is_never_blocked_by_one_piece(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What nothing serves is left out by name; that is another wish than all of it, and the page tells it."""
    (shop / "pieces.csv").write_text("name,thickness,length\nsill,1,60\npin,5,60\n", encoding="utf-8")
    assert main(["cut", "pieces.csv", "--shelf", "shelf.toml", "--json"]) == 1
    whole = json.loads(capsys.readouterr().out)
    assert main(["cut", "pieces.csv", "--shelf", "shelf.toml", "--leave-out", "pin", "--json"]) == 0
    part = json.loads(capsys.readouterr().out)
    assert part["left_out"] == ["pin"]
    assert part["plan"] != whole["plan"]
    assert main(["cut", "pieces.csv", "--shelf", "shelf.toml", "--leave-out", "pin", "--take"]) == 0
    assert "Left out of this cutting: pin" in capsys.readouterr().out
    assert main(["cut", "pieces.csv", "--shelf", "shelf.toml", "--only", "pin", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["left_out"] == ["sill"]
    assert main(["cut", "pieces.csv", "--shelf", "shelf.toml", "--leave-out", "pim"]) == 2
    assert "Did you mean pin?" in capsys.readouterr().err


def test_every_answer_keeps_to_the_schema(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A plan, one that must buy and lacks a piece, one taken, one taken already, and a filled sheet are valid."""
    schema = json.loads(resources.files("carwright.stock").joinpath("schema/cutting.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    sheet = '[[shelf.sheet]]\nthickness = "0.5"\nwidth = "60"\nlength = "90"\ncount = 1\n'
    (shop / "shelf.toml").write_text(SHELF + sheet, encoding="utf-8")
    lists = {
        "fits.csv": "sill,1,,60,2,\npanel,0.5,20,30,3,\n",
        "buys.csv": "sill,1,,60,3,\npin,5,,60,1,\nrib,0.5,0.4,20,2,\n",
        "worth.csv": "panel,0.5,20,30,3,4\n",
    }
    for name, rows in lists.items():
        (shop / name).write_text(f"name,thickness,width,length,quantity,value\n{rows}", encoding="utf-8")
    wishes = (
        ["fits.csv"],
        ["buys.csv", "--snap"],
        ["buys.csv", "--snap", "--take", "--bought"],
        ["fits.csv", "--kerf", "0.3", "--take"],
        ["fits.csv", "--kerf", "0.3", "--take"],
        ["worth.csv", "--one-sheet"],
    )
    for wish in wishes:
        assert main(["cut", *wish, "--shelf", "shelf.toml", "--json"]) in (0, 1)
        said = json.loads(capsys.readouterr().out)
        assert [f"{each.json_path}: {each.message}" for each in Draft202012Validator(schema).iter_errors(said)] == []
