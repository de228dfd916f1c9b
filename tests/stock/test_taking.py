"""A plan taken from the shelf: nothing is lost, nothing taken twice, and undone it is what it was."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from importlib import resources

import pytest
from tests.stock.checking import check_sheet

from carwright.car.model import RodStock, Sheet, Shelf, Strip
from carwright.car.read import read_car, read_shelf
from carwright.plan import make_plan
from carwright.problems import InputError
from carwright.stock import LengthPlan, SheetPlan
from carwright.stock.batch import Batch, cut_batch
from carwright.stock.demand import Section, Wanted, stock_sections, wanted_of_plan
from carwright.stock.piecelist import read_pieces
from carwright.stock.shelfdocument import with_plan, without_plan
from carwright.stock.taking import plan_identity, take, taken, undone

DEMO = resources.files("carwright.demo")
CARS = ("n_car", "gondola", "flat_car")


@pytest.fixture(scope="module")
def demo() -> tuple[Shelf, list[Wanted], Batch]:
    """Give the demonstration's shelf, what three of its cars want, and the plan."""
    shelf = read_shelf(DEMO.joinpath("shelf.toml").read_bytes())
    lines: list[Wanted] = []
    for name in CARS:
        car = read_car(DEMO.joinpath(f"{name}.toml").read_bytes(), shelf=shelf)
        lines += wanted_of_plan(make_plan(car).pieces, car=name)[0]
    return shelf, lines, cut_batch(lines, shelf, snapped=True)


def content(shelf: Shelf) -> dict[Section, float]:
    """Return what lies on a shelf of each section: mm of bars, mm² of sheet."""
    found: dict[Section, float] = {}
    for section, rows in stock_sections(shelf).items():
        for row in rows:
            wide = row.width.value if isinstance(row, Sheet) and row.width else 1.0
            found[section] = found.get(section, 0.0) + (row.count or 0) * wide * (row.length.value if row.length else 0)
    return found


def test_the_batch_of_the_demonstration_shows_each_way(demo: tuple[Shelf, list[Wanted], Batch]) -> None:
    """It laminates, uses an offcut and limited stock up, buys one pack, and serves every line."""
    shelf, _, batch = demo
    assert any(len(each.layers_mm) > 1 for each in batch.laminations)
    assert not batch.lacking
    used = Counter(layout.stock for group in batch.groups for layout in group.plan.layouts)
    offcut = next(row for row in shelf.sheets if row.left_over)
    assert used[offcut.name] == 1
    limited = next(row for row in shelf.sheets if row.name == "sheet 15 thou")
    assert used[limited.name] == limited.count == 1
    (buy,) = [row for group in batch.groups for row in group.plan.buy]
    assert (buy.stock, buy.packs, buy.quantity, str(buy.cost)) == ("wire 10 thou", 1, 5, "1.60")


def test_what_is_taken_is_pieces_waste_and_offcuts(demo: tuple[Shelf, list[Wanted], Batch]) -> None:
    """In each section shelf and purchase before are pieces, waste and shelf after, to 0.01 mm; and the rest is planned.

    Pieces and remainders of each sheet are those that its numbered cuts leave (``check_sheet``), not only what is said.
    """
    shelf, lines, batch = demo
    taking = take(shelf, batch, plan="a plan", bought=True)
    after = taken(shelf, taking)
    bought = {row.stock: row.quantity for group in batch.groups for row in group.plan.buy}
    rows = {row.name: row for row in shelf.cuttable}
    start, end = content(shelf), content(after)
    cut: Counter[str] = Counter()
    for group in batch.groups:
        plan = group.plan
        assert plan.waste is not None
        if isinstance(plan, SheetPlan):
            pieces = [p.area.width_mm * p.area.length_mm for layout in plan.layouts for p in layout.pieces]
            for layout in plan.layouts:
                check_sheet(layout, narrowest_mm=group.narrowest_mm)
        else:
            pieces = [p.length_mm for layout in plan.layouts for p in layout.pieces]
        cut.update(p.name for layout in plan.layouts for p in layout.pieces)
        more = sum(n * rows[name].length.value for name, n in bought.items() if rows[name].length
                   and any(row.stock == name for row in plan.buy))  # fmt: skip
        assert start[group.section] + more == pytest.approx(
            end[group.section] + sum(pieces) + plan.waste.value, abs=0.01
        )
        if isinstance(plan, LengthPlan):
            # By hand: squaring takes 1/16 in at both ends of what is new, a knife nothing, and short ends are lost.
            short = sum(layout.offcut_mm for layout in plan.layouts if not layout.kept)
            assert plan.waste.value == pytest.approx(2 * 25.4 / 16 * len(plan.layouts) + short, abs=0.01)
    wanted = Counter({line.name: 0 for line in lines})
    for line in lines:
        layers = [each for each in batch.laminations if each.name == line.name and each.wanted_mm == line.thickness_mm]
        wanted[line.name] += line.quantity * (len(layers[0].layers_mm) if layers else 1)
    assert cut == wanted
    rest = read_pieces("name,material,thickness,length\nrod,phosphor bronze,0.010,3\n", units="in")
    (group,) = cut_batch(rest, after).groups
    assert (group.plan.status, len(group.plan.layouts)) == ("optimal", 1)
    assert undone(after, taking) == shelf


def test_the_file_says_what_the_records_say(demo: tuple[Shelf, list[Wanted], Batch]) -> None:
    """Written into the file, every count is the same and every offcut's size within 0.01 mm; undone, every byte."""
    shelf, _, batch = demo
    data = DEMO.joinpath("shelf.toml").read_bytes()
    taking = take(shelf, batch, plan="a plan", bought=True)
    new = with_plan(data, taking, on="today")
    said, there = taken(shelf, taking), read_shelf(new)
    for one, other in zip(_rows(said), _rows(there), strict=True):
        assert one[:2] == other[:2]
        assert one[2:] == pytest.approx(other[2:], abs=0.01)
    back = without_plan(new)
    assert (back.document, back.exact) == (data, True)


def _rows(shelf: Shelf) -> list[tuple[object, ...]]:
    found = []
    for row in shelf.cuttable:
        thick = row.diameter if isinstance(row, RodStock) else row.thickness
        wide = row.width if isinstance(row, (Sheet, Strip)) else None
        sizes = [each.value if each is not None else 0.0 for each in (row.length, wide, thick)]
        found.append((row.name, row.count, *sizes))
    return sorted(found, key=str)


def test_a_plan_is_of_one_shelf(demo: tuple[Shelf, list[Wanted], Batch]) -> None:
    """Unbought stock is not taken, nor anything from another shelf, and no plan undone whose offcut was used."""
    shelf, _, batch = demo
    with pytest.raises(InputError, match="needs stock that must be bought"):
        take(shelf, batch, plan="p")
    taking = take(shelf, batch, plan="p", bought=True)
    after = taken(shelf, taking)
    with pytest.raises(InputError, match="not the one of the plan"):
        taken(after, taking)
    with pytest.raises(InputError, match="not the one of the plan"):
        take(Shelf(), batch, plan="p", bought=True)
    used = replace(after, sheets=tuple(replace(row, count=0) if row.of == "p" else row for row in after.sheets))
    with pytest.raises(InputError, match="were used since"):
        undone(used, taking)


def test_a_wish_is_known_again() -> None:
    """The same files in another order are one wish; another kerf, content or name is another."""
    both = [("a", "1"), ("b", "2")]
    one = plan_identity(both, kerf_mm=0.0, rotate=True, snapped=True)
    assert one == plan_identity(both[::-1], kerf_mm=0.0, rotate=True, snapped=True)
    others = [
        plan_identity(both, kerf_mm=0.2, rotate=True, snapped=True),
        plan_identity([("a", "1"), ("c", "2")], kerf_mm=0.0, rotate=True, snapped=True),
        plan_identity([("a", "1"), ("b", "3")], kerf_mm=0.0, rotate=True, snapped=True),
    ]
    assert len({one, *others}) == 4
