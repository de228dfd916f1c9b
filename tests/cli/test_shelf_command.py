"""``carwright shelf`` and ``cut --take``: the shelf's file is changed whole or not at all, and back again."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path
from typing import Any

import pytest

from carwright.car.read import read_shelf
from carwright.cli.main import main

SHELF = """# my shelf
[shelf]
units = "in"
squaring = "1/16"

[[shelf.sheet]]
name = "thin"
thickness = "0.015"   # measured
width = "6"
length = "12"
count = 2             # counted on Sunday
cost = "1.40"

[[shelf.sheet]]
name = "end of a thick sheet"
thickness = "0.030"
width = "2.5"
length = "7"
count = 1
offcut = true

# strips
[[shelf.strip]]
name = "strip"
thickness = "0.040"
width = "0.060"
length = "14"
count = "2"
pack = 4
pack_price = "1.60"
place = "=drawer 3"
# the end"""

PIECES = """name,thickness,width,length,quantity
roof,0.030,1.25,3,2
step,0.015,0.25,0.5,24
sill,0.040 x 0.060,,5.5,{sills}
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a folder with a shelf, and lists of pieces that it serves and does not serve."""
    (tmp_path / "shelf.toml").write_text(SHELF, encoding="utf-8")
    (tmp_path / "fits.csv").write_text(PIECES.format(sills=3), encoding="utf-8")
    (tmp_path / "buys.csv").write_text(PIECES.format(sills=6), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Return status, output and errors of a command."""
    status = main(words)
    said = capsys.readouterr()
    return status, said.out, said.err


def test_a_plan_is_taken_once_and_undone_to_the_byte(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Stock goes down beside its notes, offcuts appear, a second time changes nothing, and undoing gives every byte."""
    for ends in ("\n", "\r\n"):
        shelf = shop / "shelf.toml"
        before = SHELF.replace("\n", ends).encode()
        shelf.write_bytes(before)
        status, out, _ = run(capsys, "cut", "fits.csv", "--shelf", "shelf.toml", "--take")
        assert status == 0
        assert "1 x thin, 1 left" in out
        taken = shelf.read_bytes()
        assert b"count = 1             # counted on Sunday" in taken
        rows = read_shelf(taken)
        assert [(row.count, row.left_over) for row in rows.sheets] == [(1, False), (0, True), (1, True), (1, True)]
        assert [row.count for row in rows.strips] == [0, 1, 1]
        status, out, _ = run(capsys, "cut", "fits.csv", "--shelf", "shelf.toml", "--take", "--json")
        assert (status, json.loads(out)["already"], shelf.read_bytes()) == (0, True, taken)
        status, out, _ = run(capsys, "shelf", "undo", "shelf.toml")
        assert (status, shelf.read_bytes()) == (0, before)
        assert "again what it was before" in out


def test_what_must_be_bought_is_not_taken_unasked(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A plan that must buy is taken with --bought only: the pack comes onto the shelf and what is left of it stays."""
    status, out, _ = run(capsys, "cut", "buys.csv", "--shelf", "shelf.toml", "--take")
    assert (status, (shop / "shelf.toml").read_text(encoding="utf-8")) == (1, SHELF)
    assert "Not taken" in out
    status, out, _ = run(capsys, "cut", "buys.csv", "--shelf", "shelf.toml", "--take", "--bought", "--json")
    said = json.loads(out)["taken"]["drawn"][-1]
    assert (status, said) == (0, {"name": "strip", "taken": 3, "bought": 4, "left": 3})
    status, out, _ = run(capsys, "cut", "buys.csv", "--shelf", "shelf.toml", "--take", "--again", "--bought")
    assert status == 0
    (plan,) = re.findall(r"plan ([0-9a-f]+-2):", out)
    assert run(capsys, "shelf", "undo", "shelf.toml", plan.removesuffix("-2"))[0] == 2
    assert run(capsys, "shelf", "undo", "shelf.toml", plan)[0] == 0
    assert run(capsys, "shelf", "undo", "shelf.toml")[0] == 0
    assert (shop / "shelf.toml").read_text(encoding="utf-8") == SHELF
    status, _, err = run(capsys, "shelf", "undo", "shelf.toml")
    assert (status, "there is no cutting plan left to undo. Every plan that was taken" in err) == (2, True)


def test_how_many_lie_there_is_never_made_up(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An empty count is refused, a bad one says what is accepted, none is told to be as many as wanted."""
    row = ["shelf", "add", "shelf.toml", "strip", "thickness=0.020", "width=0.030", "length=14"]
    status, _, err = run(capsys, *row, "count=")
    assert (status, "count=any for as many as wanted" in err) == (2, True)
    status, _, err = run(capsys, *row, "count=-2")
    assert (status, "a whole number such as 2, or any. Count again" in err) == (2, True)
    assert (shop / "shelf.toml").read_text(encoding="utf-8") == SHELF
    assert "no count was given: as many as wanted" in run(capsys, *row)[1]


def test_a_used_offcut_keeps_its_plan_from_being_undone(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """After an offcut of a plan was taken by hand, undoing says so and changes nothing; notes made since are kept."""
    run(capsys, "cut", "fits.csv", "--shelf", "shelf.toml", "--take")
    shelf = shop / "shelf.toml"
    shelf.write_text(shelf.read_text(encoding="utf-8") + "# a note made since\n", encoding="utf-8")
    left = re.search(r'"(offcut \S+ x \S+ of thin)"', shelf.read_text(encoding="utf-8"))
    assert left is not None
    assert run(capsys, "shelf", "take", "shelf.toml", left[1])[0] == 0
    changed = shelf.read_bytes()
    status, _, err = run(capsys, "shelf", "undo", "shelf.toml")
    assert (status, shelf.read_bytes()) == (2, changed)
    assert "were used since" in err
    shelf.write_bytes(changed.replace(b"count = 0\noffcut = true\nof", b"count = 1\noffcut = true\nof"))
    status, out, _ = run(capsys, "shelf", "undo", "shelf.toml", "--json")
    assert (status, json.loads(out)["exact"]) == (0, False)
    assert shelf.read_text(encoding="utf-8") == SHELF + "\n# a note made since\n"


@pytest.mark.parametrize("step", ["os.fsync", "pathlib.Path.replace"])
@pytest.mark.parametrize("trouble", [KeyboardInterrupt, OSError("no space left")])
def test_an_interrupted_taking_leaves_the_shelf(
    shop: Path, monkeypatch: pytest.MonkeyPatch, step: str, trouble: BaseException
) -> None:
    """Disk full or key pressed, before or at the renaming: the shelf is as it was, and nothing lies beside it."""

    def fail(*_: Any) -> None:
        raise trouble

    with monkeypatch.context() as patched:
        patched.setattr(step, fail)
        try:
            status: object = main(["cut", "fits.csv", "--shelf", "shelf.toml", "--take"])
        except SystemExit as ended:
            status = ended.code
        assert status in (2, 130)
    assert (shop / "shelf.toml").read_text(encoding="utf-8") == SHELF
    assert sorted(path.name for path in shop.iterdir()) == ["buys.csv", "fits.csv", "shelf.toml"]


def test_a_shelf_goes_through_a_spreadsheet_unchanged(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exported, imported into a new file and exported again the list is the same, and no cell begins a formula."""
    run(capsys, "shelf", "add", "shelf.toml", "coupler", "shank_offset=-0.020", "name='@home", "count=any")
    assert run(capsys, "shelf", "export", "shelf.toml", "--out", "one.csv")[0] == 0
    assert run(capsys, "shelf", "import", "new.toml", "one.csv")[0] == 0
    assert run(capsys, "shelf", "export", "new.toml", "--out", "two.csv")[0] == 0
    first = (shop / "one.csv").read_text(encoding="utf-8")
    assert first == (shop / "two.csv").read_text(encoding="utf-8")
    assert "'=drawer 3" in first
    assert "'-0.020" in first
    assert not [cell for line in first.splitlines() for cell in line.split(",") if cell[:1] in tuple("=+-@")]
    old, new = (read_shelf((shop / name).read_bytes()) for name in ("shelf.toml", "new.toml"))
    assert [row.place for row in new.strips] == ["=drawer 3"]
    assert [(r.name, r.shank_offset.value) for r in new.couplers if r.shank_offset] == [("'@home", -0.508)]
    assert [(r.name, r.count, r.cost, r.offcut) for r in old.sheets] == [
        (r.name, r.count, r.cost, r.offcut) for r in new.sheets
    ]


def test_a_list_changes_what_it_names_and_loses_nothing(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A list changes rows by name, adds the others and leaves the rest; the same list again changes nothing."""
    (shop / "list.csv").write_text(
        "table;name;thickness;width;length;count;place\nsheet;thin;0.0155;6;12;7;\nsheet;new;0.060;6;12;1;shed\n",
        encoding="utf-8",
    )
    status, out, _ = run(capsys, "shelf", "import", "shelf.toml", "list.csv", "--json")
    assert (status, json.loads(out)["added"], json.loads(out)["changed"]) == (0, 1, 1)
    text = (shop / "shelf.toml").read_text(encoding="utf-8")
    assert 'thickness = "0.0155"   # measured' in text
    assert "count = 7             # counted on Sunday" in text
    assert len(read_shelf(text).sheets) == 3
    run(capsys, "shelf", "import", "shelf.toml", "list.csv")
    assert (shop / "shelf.toml").read_text(encoding="utf-8") == text
    listed = run(capsys, "shelf", "list", "shelf.toml")[1]
    assert "new, 0.060 thick, 12 × 6, in shed" in listed


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["add", "shelf.toml", "sheet", "thickness=0"], "thickness"),
        (["add", "shelf.toml", "sheet", "thickness=0.02", "count=-1"], "count"),
        (["add", "shelf.toml", "sheet", "thicknes=0.02"], "Did you mean thickness?"),
        (["add", "shelf.toml", "shet", "thickness=0.02"], "Did you mean sheet?"),
        (["take", "shelf.toml", "thin", "3"], "there are not so many of thin"),
        (["take", "shelf.toml", "thick", "1"], "nothing on the shelf has this name"),
        (["take", "shelf.toml", "thin", "-1"], "this is no number to take"),
        (["undo", "shelf.toml"], "there is no cutting plan left to undo"),
        (["import", "shelf.toml", "bad.csv"], "bad.csv, line 3, count"),
        (["import", "shelf.toml", "torn.csv"], "the list cannot be read"),
        (["import", "shelf.toml", "mm.csv"], "not the same unit"),
        (["import", "shelf.toml", "wrong.csv"], "line 2, diameter: sheet has no diameter"),
        (["list", "torn.toml"], "torn.toml, line 2"),
        (["list", "none.toml"], "there is no such file"),
        (["export", "shelf.toml", "x.csv"], "takes fewer words"),
    ],
)
def test_slips_end_with_2_and_lose_nothing(
    shop: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    """Zero sizes, negative counts, names unknown, torn lists and files, other units: told, and the shelf as it was."""
    (shop / "bad.csv").write_text("table,name,thickness,count\nsheet,a,0.02,1\nsheet,b,0.02,-4\n", encoding="utf-8")
    (shop / "torn.csv").write_text('table,name\nsheet,"a\n', encoding="utf-8")
    (shop / "mm.csv").write_text("table,units,thickness\nshelf,mm,\nsheet,,1\n", encoding="utf-8")
    (shop / "wrong.csv").write_text("table,thickness,diameter\nsheet,0.02,1\n", encoding="utf-8")
    (shop / "torn.toml").write_text('[[shelf.sheet]]\nthickness = "0.0\n', encoding="utf-8")
    status, _, err = run(capsys, "shelf", *words)
    assert status == 2
    assert said in err
    assert (shop / "shelf.toml").read_text(encoding="utf-8") == SHELF


def test_a_long_shelf_is_taken_from_at_once(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Writing a plan into a shelf of 2000 lines takes less than a second."""
    from carwright.stock.shelfdocument import with_plan, without_plan
    from carwright.stock.taking import Drawn, Offcut, Taking

    rows = "".join(
        f'\n[[shelf.sheet]]\nname = "s {n}"\nthickness = "0.02"\nwidth = "6"\nlength = "12"\ncount = 2\n'
        for n in range(286)
    )
    path = shop / "long.toml"
    path.write_text(f"[shelf]{rows}", encoding="utf-8")
    assert len(path.read_text(encoding="utf-8").splitlines()) >= 2000
    drawn = tuple(Drawn(f"shop.sheet[{n}]", f"s {n}", 2, 0, 1) for n in range(0, 286, 9))
    taking = Taking("0123456789ab", 32, drawn, (Offcut("shop.sheet[9]", "offcut", 50.0, 60.0, 2),))
    times = []
    for _ in range(3):
        document = path.read_bytes()
        begin = time.perf_counter()
        new = with_plan(document, taking, on="now")
        times.append(time.perf_counter() - begin)
        assert without_plan(new).document == document
    assert min(times) < 1
