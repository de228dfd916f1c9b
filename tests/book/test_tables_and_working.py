"""Cut table, drill table and appendix: nothing of the plan is left out, nothing stands there unexplained."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from tests.book.cars import AWKWARD, CARS, DEMO, plan_named

from carwright.book.cautions import caution_entries
from carwright.book.contents import book_pages
from carwright.book.cutpages import as_cut, cutting_of
from carwright.book.needed import material_blocks, tool_blocks
from carwright.book.tables import cut_blocks, drill_blocks
from carwright.book.workings import main_numbers, source_blocks, working_blocks
from carwright.car.read import read_shelf
from carwright.cli.show_cut import batch_lines
from carwright.draw.blocks import Block, Columns, Facts, Note, Table
from carwright.draw.piecelist import piece_rows
from carwright.lengths import number_in
from carwright.reference import basis_words
from carwright.stock.demand import names_in
from carwright.working import leaves


def _tables(blocks: tuple[Block, ...]) -> list[Table]:
    return [block for block in blocks if isinstance(block, Table)]


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_cut_table_counts_every_piece(name: str) -> None:
    """The cut table's counts add up to the quantities of the plan's pieces."""
    plan = plan_named(name)
    wanted = sum(int(piece.quantity.value) for piece in plan.pieces if piece.made)
    assert sum(int(row[1]) for row in _tables(cut_blocks(plan))[0].rows) == wanted


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_what_is_cut_from_sheet_has_the_allowance_that_the_cut_table_tells(name: str) -> None:
    """Each plate of sheet is cut larger by 0.005 in for each edge; thick blocks of one piece are sawn."""
    for piece in plan_named(name).pieces:
        if not piece.made or piece.form != "plate" or piece.quantity.value < 1:
            continue
        if piece.name.startswith(("bolster_", "retention_block")) and not piece.layers_mm:
            assert piece.cut_length_mm in (None, piece.length_mm)
            continue
        assert piece.cut_length_mm is not None, piece.name
        assert piece.cut_width_mm is not None, piece.name
        assert piece.cut_length_mm.value - piece.length_mm.value == pytest.approx(0.254, abs=1e-9), piece.name
        assert piece.cut_width_mm.value - piece.width_mm.value == pytest.approx(0.254, abs=1e-9), piece.name


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_drill_table_counts_every_hole(name: str) -> None:
    """The drill table's counts add up to the plan's holes, as often as the pieces that they are in are made."""
    plan = plan_named(name)
    quantity = {piece.name: max(1, int(piece.quantity.value)) for piece in plan.pieces}
    wanted = sum(quantity.get(hole.piece, 1) for hole in plan.holes)
    assert sum(int(row[-1]) for row in _tables(drill_blocks(plan))[0].rows) == wanted


def test_drill_table_has_number_inch_and_millimetre() -> None:
    """A #50 drill stands with 0.070 in and 1.78 mm (published number-drill table: 0.0700 in)."""
    rows = _tables(drill_blocks(plan_named("boxcar")))[0].rows
    (row, *_) = [row for row in rows if row[3] == "#50"]
    assert row[4:6] == ("0.070", "1.78")


@pytest.mark.parametrize("name", CARS)
def test_lines_of_the_working_refer_to_earlier_lines_only(name: str) -> None:
    """A number in brackets is that of a line above, so that the working can be read from the top."""
    tables = _tables(working_blocks(plan_named(name)))
    for table in tables:
        for place, row in enumerate(table.rows, 1):
            assert row[0] == str(place)
            for number in re.findall(r"= \((\d+)\) ", row[2]):
                assert int(number) < place, row


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_every_reading_and_value_of_the_main_numbers_is_listed(name: str) -> None:
    """Each typed reading stands by its key, each published value with its basis in words, each choice by name."""
    plan = plan_named(name)
    blocks = source_blocks(plan)
    cells = [cell for table in _tables(blocks) for row in table.rows for cell in row]
    joined = " | ".join([*cells, *(block.text for block in blocks if isinstance(block, Note))])
    for number in main_numbers(plan):
        for leaf in leaves(number):
            if leaf.kind == "typed":
                assert leaf.key.removesuffix("±") in cells, leaf.key  # a reading's ± is a column of its row
            elif leaf.kind == "reference":
                assert leaf.name in joined, leaf.name
                assert leaf.source in joined, leaf.source
                assert basis_words(leaf.basis) == "" or basis_words(leaf.basis) in joined
            elif not leaf.name.startswith(("quantity", "rank", "parts")):
                assert leaf.name.replace("_", " ") in joined, leaf.name


def test_every_known_hazard_is_told_with_its_source() -> None:
    """Each caution of the data has a hazard, a control and a source in words."""
    entries = caution_entries()
    assert {"knives", "solvent vapour", "ca glue", "ca accelerator", "lead handling"} <= {each[0] for each in entries}
    assert all(all(part for part in each) for each in entries)


@pytest.mark.parametrize("name", CARS)
def test_cover_names_every_sheet_drill_and_tap(name: str) -> None:
    """What lies on the bench before the first cut is what the pieces are cut from and the holes are made with."""
    plan = plan_named(name)
    stock, kit = material_blocks(plan), tool_blocks(plan)
    pieces = [piece for piece in plan.pieces if piece.made and piece.quantity.value >= 1]
    if not stock:
        assert not [piece for piece in pieces if piece.thickness_mm is not None]
        return
    material, halves = stock[1], kit[1]
    assert isinstance(material, Facts)
    assert isinstance(halves, Columns)
    tools = [pair for half in (*halves.left, *halves.right) if isinstance(half, Facts) for pair in half.pairs]
    told = sum(int(words.split()[0]) for _, words in material.pairs)
    wanted = sum(
        int(piece.quantity.value) * (max(1, len(piece.layers_mm)) if piece.form == "plate" else 1)
        for piece in pieces
        if piece.thickness_mm is not None
    )
    assert told == wanted
    rows = dict(tools)
    assert set(rows.get("Drills", "").split(", ")) - {""} == {hole.drill for hole in plan.holes}
    assert set(rows.get("Taps", "").split(", ")) - {""} == {hole.tap for hole in plan.holes if hole.tap}


@pytest.mark.parametrize("name", CARS)
def test_the_appendix_speaks_to_readers(name: str) -> None:
    """The last pages use no name from inside the program or its data, and no line works out a bare nought."""
    plan = plan_named(name)
    blocks = (*working_blocks(plan), *source_blocks(plan))
    told = [block.text for block in blocks if isinstance(block, Note)]
    for table in _tables(blocks):
        # keys of the car file stand in the second column of the readings, and in the working
        told += [cell for row in table.rows for cell in row if table.heads[1] != "Key"]
        assert not any(row[2] == "0" for row in table.rows if table.heads[1:] == ("What", "How", "Gives"))
    inside = re.compile(r"\b[a-z]+_[a-z_]+\b(?!±)|\.toml|\brepositor|\bexcerpt\b|\bmessage \d|\bthis file\b")
    for words in told:
        found = inside.search(re.sub(r"\b(?:body|car|trucks|coupler|underframe|shelf|weight)\.[\w.\[\]±]+", "", words))
        assert found is None, words


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_every_reading_of_the_file_is_listed_once(name: str) -> None:
    """What was typed of the car stands in one of two lists, whether a number hangs on it or not."""
    plan = plan_named(name)
    lists = [table for table in _tables(source_blocks(plan)) if table.heads[1] == "Key"]
    keys = [row[1] for table in lists for row in table.rows]
    assert len(keys) == len(set(keys))
    for given in (plan.car.body.length, plan.car.body.wall, plan.car.body.height, plan.car.trucks.a.frame_top):
        if given is not None and given.kind == "typed":
            assert given.key in keys


def test_cut_table_and_cutting_tell_of_the_same_stock() -> None:
    """With its cutting in it the book names, for every piece, the layers that `carwright cut` takes from that shelf.

    The shelf has no sheet of 0.020: it is replaced or laminated, and only a layer of a height waits for its own.
    """
    plan = plan_named("gondola")
    shelf = read_shelf(
        '[[shelf.sheet]]\nmaterial = "styrene"\nthickness = "0.0152 in"\nlength = "12 in"\nwidth = "6 in"\ncount = 9\n'
        '[[shelf.sheet]]\nmaterial = "styrene"\nthickness = "0.030 in"\nlength = "12 in"\nwidth = "6 in"\ncount = 9\n'
    )
    cutting = cutting_of(plan, shelf)
    pages = book_pages(plan, cutting=cutting)
    rows = {row[0]: row for row in _tables(next(page for page in pages if page.title == "Cut table").blocks)[0].rows}
    cut = as_cut(plan, cutting.batch)
    told = {name: row.stock for row in piece_rows(cut) for name in row.pieces}
    whole = {each.name: each for each in plan.pieces if len(each.layers_mm) < 2}
    taken = {each.name: each.layers_mm for each in cutting.batch.laminations if each.name in whole}
    assert taken
    for name, layers in taken.items():
        assert told[name] == "sheet " + " + ".join(number_in(each, "in") for each in layers)
    assert {row[2] for row in rows.values()} == set(told.values())
    strips = read_shelf(
        '[[shelf.strip]]\nmaterial = "styrene"\ncount = 9\n'
        'thickness = "0.020 in"\nwidth = "0.067 in"\nlength = "14 in"\n'
    )
    both = cutting_of(plan, replace(shelf, strips=strips.strips))
    narrow = {name for name, found in both.batch.taken.items() if {each.form for each, _ in found} == {"strip"}}
    assert narrow
    rows = {row.name: row.pieces for row in piece_rows(plan)}
    for name, _, stock, size, *_ in _tables(cut_blocks(as_cut(plan, both.batch), cutting=both.batch))[0].rows:
        if set(rows[name]) <= narrow:
            assert stock == "strip 0.020 × 0.067"
            assert size in {number_in(long, "in") for each in rows[name] for _, long in both.batch.taken[each]}
    lacking = {line.line.name for line in cutting.batch.lacking}
    assert {name for name, stock in told.items() if "0.020" in stock} <= lacking
    assert not any(word in line.name for line in cut.buy for word in ("sheet", "rod", "wire"))


def test_a_book_with_a_shelf_alone_says_what_is_taken_and_bought() -> None:
    """Without the pages of cuts the book has the first page on cutting, with the plan's own layers to laminate."""
    plan = plan_named("gondola")
    cutting = cutting_of(plan, drawn=False)
    pages = book_pages(plan, cutting=cutting)
    titles = [page.title for page in pages]
    assert "Cutting" in titles
    assert "Sheets to cut" not in titles
    floor = next(piece for piece in plan.pieces if piece.name == "floor")
    (told,) = [each for each in cutting.batch.laminations if each.name == "floor"]
    assert told.layers_mm == tuple(layer.value for layer in floor.layers_mm)
    alone = next(page for page in book_pages(plan) if page.title == "Cut table").blocks
    assert any(isinstance(each, Note) and "own list of stock" in each.text for each in alone)


@pytest.mark.parametrize("name", ["gondola", "n_car"])
def test_no_piece_vanishes_from_a_cutting(name: str) -> None:
    """What is made is cut, has nothing on the shelf, waits, or is named with why no plan is made: screen and book."""
    plan = plan_named(name)
    cutting = cutting_of(plan, drawn=False)
    batch = cutting.batch
    told = {one for line in batch.lacking for one in names_in(line.line.name)} | batch.taken.keys()
    told |= {*cutting.waiting, *(each.name for each in batch.apart)}
    assert {piece.name for piece in plan.pieces if piece.made and piece.quantity.value >= 1} == told
    apart = {"brake_valve", "bolster_a", "bolster_b"} if name == "gondola" else set()  # the other builds its bolsters
    assert {each.name for each in batch.apart} == apart
    page = next(page for page in book_pages(plan, cutting=cutting) if page.title == "Cutting")
    bought = " ".join(" ".join(row) for table in _tables(page.blocks) for row in table.rows if table.heads[0] == "What")
    screen = " ".join(batch_lines(batch, [], "in"))
    for each in batch.apart:
        assert each.name.replace("_", " ") in bought
        assert each.name.replace("_", " ") in screen
