"""Cutting diagrams say what the plan says: every cut numbered once, every size, nothing written over anything."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from importlib import resources

import ezdxf
import pytest

from carwright.book.cutpages import cutting_pages
from carwright.car.read import read_shelf
from carwright.cli.show_cut import cuts_csv
from carwright.draw.blocks import Block, Picture, Table
from carwright.draw.cutdetails import sheet_pictures
from carwright.draw.cutdiagrams import Lettering, bars_diagram, cut_drawings
from carwright.draw.cutwords import act_number
from carwright.draw.dxf import reading_dxf
from carwright.draw.model import Balloon, Drawing, Line, Polyline, Text, walk
from carwright.draw.strokes import Box, balloon_box, extent, ink
from carwright.draw.svg import svg
from carwright.lengths import number_in
from carwright.stock.acts import acts_of
from carwright.stock.batch import Batch, cut_batch
from carwright.stock.piecelist import read_pieces
from carwright.stock.records import BarLayout, SheetLayout

PIECES = """name,thickness,width,length,quantity
floor,0.040,1.10,6.50,2
side,0.040,1.25,6.55,3
end,0.040,1.10,1.25,4
rib,0.040,0.125,1.25,40
stringer,0.060 x 0.060,,6.2,5
"""

SHELF = """
[[shelf.sheet]]
thickness = "0.040"
width = "6"
length = "12"
count = 3
cost = "2.10"
[[shelf.strip]]
thickness = "0.060"
width = "0.060"
length = "14"
count = "any"
cost = "0.45"
"""


@pytest.fixture(scope="module")
def batch() -> Batch:
    """Give a batch of a sheet full of pieces, many of them small, and strips."""
    return cut_batch(read_pieces(PIECES, file="pieces.csv", units="in"), read_shelf(SHELF.encode()), snapped=True)


def _sheets(batch: Batch) -> list[tuple[SheetLayout, Drawing]]:
    layouts = [each for group in batch.groups for each in dict.fromkeys(group.plan.layouts)]
    sheets = [each for each in layouts if isinstance(each, SheetLayout)]
    return list(zip(sheets, (d for d in cut_drawings(batch, "in") if d.name.count("-") == 2), strict=True))


def test_every_cut_is_a_line_with_its_number(batch: Batch) -> None:
    """Each cut of the plan is a line of its own place and length; each act has its number in black, once."""
    for layout, drawing in _sheets(batch):
        lines = [mark for mark in walk(drawing.marks) if isinstance(mark, Line) and mark.role == "score"]
        drawn = Counter(
            (round(m.start.y_mm, 3), round(m.start.x_mm, 3), round(m.end.y_mm, 3), round(m.end.x_mm, 3)) for m in lines
        )
        planned = Counter(tuple(round(n, 3) for n in (c.x0_mm, c.y0_mm, c.x1_mm, c.y1_mm)) for c in layout.cuts)
        assert drawn == planned
        numbers = [mark.text for mark in walk(drawing.marks) if isinstance(mark, Balloon)]
        assert numbers == [act_number(act) for act in acts_of(layout)]


def test_pieces_stand_where_the_plan_puts_them(batch: Batch) -> None:
    """Each piece is drawn true to size at its place, with its name as its part."""
    for layout, drawing in _sheets(batch):
        boxes = Counter(
            (m.part, round(m.points[0].x_mm, 3), round(m.points[0].y_mm, 3), round(m.points[2].x_mm, 3))
            for m in walk(drawing.marks)
            if isinstance(m, Polyline) and m.part
        )
        assert boxes == Counter(
            (p.name, round(p.area.y_mm, 3), round(p.area.x_mm, 3), round(p.area.y_mm + p.area.length_mm, 3))
            for p in layout.pieces
        )


def _words(drawing: Drawing) -> list[Box]:
    """Return the rectangles of all words and numbers on paper."""
    marks = tuple(mark for mark in walk(drawing.marks) if isinstance(mark, Text))
    alone = Drawing("words", "", "", marks, drawing.scale)
    return [extent(piece) for piece in ink(alone) if type(piece).__name__ == "Words"]


@pytest.mark.parametrize("scale", [1.0, 0.5])
def test_no_number_stands_on_words_of_a_sheet(batch: Batch, scale: float) -> None:
    """On sheets drawn true to size and at half size, no black number hides a name or another number."""
    for drawing in cut_drawings(batch, "in", scale=scale):
        balloons = [
            balloon_box(mark.at._replace(x_mm=mark.at.x_mm * scale, y_mm=mark.at.y_mm * scale), mark.text)
            for mark in walk(drawing.marks)
            if isinstance(mark, Balloon)
        ]
        names = _words(drawing)
        assert not [1 for box in balloons for name in names if box.grown(-0.3).meets(name.grown(-0.4))]
        assert not [1 for i, box in enumerate(balloons) for other in balloons[i + 1 :] if box.grown(-0.1).meets(other)]


def test_the_svg_is_true_to_size_and_the_dxf_has_every_cut(batch: Batch) -> None:
    """A sheet of 12 x 6 in is 304.8 x 152.4 mm in the SVG; the DXF, read back, has as many lines as cuts."""
    layout, drawing = _sheets(batch)[0]
    size = re.search(r'width="([\d.]+)mm"', svg(drawing))
    assert size is not None
    assert 304.8 < float(size[1]) < 304.8 + 40
    read = ezdxf.read(io.StringIO(reading_dxf(drawing).decode()))
    outlines = [each for each in read.modelspace().query("LINE") if each.dxf.layer == "OUTLINE"]
    assert len(outlines) == len(layout.cuts)
    xs = [x for each in read.modelspace().query("LWPOLYLINE") for x, *_ in each.get_points()]
    assert max(xs) - min(xs) == pytest.approx(304.8)


@pytest.mark.parametrize("least_mm", [1.7, 2.7])
def test_every_piece_is_named_or_has_a_letter(batch: Batch, least_mm: float) -> None:
    """Each piece stands in a picture by its name, or by a letter that its notes tell; no letter is too small."""
    letters = Lettering(least_mm, 2.7, 2.7)
    for group in batch.groups:
        pictures = [
            each
            for at, (layout, _) in enumerate(group.sheets)
            for each in sheet_pictures(
                layout, group, "in", name=f"s{at}", scale=0.45, wide_mm=168.0, high_mm=150.0, letters=letters
            )
        ]
        pictures += [bars_diagram(group, "in", name="bars", scale=0.3, letters=letters)] if group.bars else []
        told = Counter[str]()
        for drawing in pictures:
            texts = [mark for mark in walk(drawing.marks) if isinstance(mark, Text)]
            assert min(mark.size_mm for mark in texts) >= least_mm
            keys = dict(each.split(": ", 1) for each in drawing.notes)
            said = {mark.text for mark in texts}
            assert set(keys) <= said
            assert all(each in drawing.alt for each in drawing.notes)
            for name in {piece.name for layout in group.plan.layouts for piece in layout.pieces}:
                told[name] += any(re.search(rf"(^|\d x ){name}\b", each) for each in (*said, *keys.values()))
        assert all(told.values()), told


def test_bars_tell_where_each_cut_stands(batch: Batch) -> None:
    """Under a bar stand the running dimensions of its cuts, from its first end."""
    drawing = next(each for each in cut_drawings(batch, "in") if each.name.count("-") == 1)
    said = {mark.text for mark in walk(drawing.marks) if isinstance(mark, Text)}
    bars = [each for group in batch.groups for each in group.plan.layouts if isinstance(each, BarLayout)]
    assert {number_in(p.start_mm + p.length_mm, "in") for bar in bars for p in bar.pieces} <= said


def test_the_list_of_cuts_is_complete() -> None:
    """Every cut of the plan stands on the list once, each piece comes off once, and each bar is squared first."""
    shelf = read_shelf(f'[shelf]\nsquaring = "1/16"\n{SHELF}'.encode())
    made = cut_batch(read_pieces(PIECES, file="pieces.csv", units="in"), shelf, kerf_mm=0.3)
    rows = list(csv.DictReader(io.StringIO(cuts_csv(made, "in"))))
    assert len({tuple(row.values()) for row in rows}) == len(rows)
    cuts = pieces = 0
    for row in rows:
        times, alike = int(row["times"]), int(row["alike"])
        cuts += times * alike if row["way"] in ("across", "along") else 0
        if row["way"] == "off":
            pieces += times * alike
        elif row["way"] != "rest":
            names = [name for name in re.split(", | and ", row["piece"]) if name]
            pieces += alike * sum(int(many[1]) if (many := re.match(r"(\d+) x ", name)) else 1 for name in names)
    layouts = [layout for group in made.groups for layout in group.plan.layouts]
    assert cuts == sum(len(layout.cuts) for layout in layouts if isinstance(layout, SheetLayout))
    assert pieces == sum(len(layout.pieces) for layout in layouts)
    squared = [row for row in rows if row["way"] == "square"]
    assert [(row["from_edge_in"], row["cut"]) for row in squared] == [("0.062", "1")] * len(squared)
    assert sum(int(row["alike"]) for row in squared) == sum(isinstance(layout, BarLayout) for layout in layouts)
    assert {row["kerf_in"] for row in rows if row["cut"]} == {"0.012"}


def test_close_cuts_are_drawn_apart_and_numbered_once() -> None:
    """Forty slats of 0.04 in do not become one black bar: fine lines; and no number stands on another one's words."""
    lines = read_pieces(
        "name,thickness,width,length,quantity\nslat,0.040,0.04,3,24\npost,0.040,0.05,1.1,12\nrib,0.040,0.06,2.5,9\n",
        file="pieces.csv",
        units="in",
    )
    made = cut_batch(lines, read_shelf(SHELF.encode()))
    (group,) = made.groups
    (layout,) = group.plan.layouts
    assert isinstance(layout, SheetLayout)
    pictures = list(sheet_pictures(layout, group, "in", name="cut", scale=0.5, wide_mm=190.0, high_mm=200.0, times=1))
    numbers = [mark.text for drawing in pictures for mark in walk(drawing.marks) if isinstance(mark, Balloon)]
    assert sorted(numbers) == sorted(act_number(act) for act in acts_of(layout))
    for drawing in pictures:
        k = drawing.scale
        lines_drawn = [mark for mark in walk(drawing.marks) if isinstance(mark, Line) and mark.role == "score"]
        assert {mark.layer for mark in lines_drawn if mark.title != "cut 1"} <= {"thin", "hatch", "outline"}
        assert any(mark.layer != "outline" for mark in lines_drawn)
        boxes = [
            balloon_box(mark.at._replace(x_mm=mark.at.x_mm * k, y_mm=mark.at.y_mm * k), mark.text)
            for mark in walk(drawing.marks)
            if isinstance(mark, Balloon)
        ]
        assert not [1 for i, box in enumerate(boxes) for other in boxes[i + 1 :] if box.grown(-0.1).meets(other)]
        assert not [1 for box in boxes for name in _words(drawing) if box.grown(-0.3).meets(name.grown(-0.4))]


def test_diagrams_and_pages_say_how_to_cut() -> None:
    """Knife, saw with its kerf and side, and nippers stand on the diagrams; only rules that are kept are printed."""
    lines = read_pieces(PIECES, file="pieces.csv", units="in")
    shelf = read_shelf(SHELF.encode())
    said = {}
    for name, made in (
        ("knife", cut_batch(lines, shelf)),
        ("saw", cut_batch(lines, shelf, kerf_mm=0.254)),
        ("snap", cut_batch(lines, shelf, snapped=True)),
    ):
        drawn = [m.text for d in cut_drawings(made, "in") for m in walk(d.marks) if isinstance(m, Text)]
        first = cutting_pages(made, "in")[0].blocks
        rules = [
            row[0] for block in first if isinstance(block, Table) and block.heads[0] == "Rule" for row in block.rows
        ]
        said[name] = (drawn, rules)
    assert any(text.startswith("Scored with a knife on the line; strips too narrow") for text in said["knife"][0])
    assert "Scored with a knife on the line and snapped: nothing is lost." in said["snap"][0]
    assert any(text.startswith("Sawn, kerf 0.010: saw beyond the line") for text in said["saw"][0])
    assert said["knife"][1] == said["saw"][1] == []
    assert said["snap"][1] == [
        "Sheet to be cut through, up to",
        "Sheet to be sawn, from",
        "Narrowest strip that snaps, in thicknesses",
    ]


def _flat(blocks: tuple[Block, ...]) -> Iterator[Block]:
    yield from blocks


def test_overview_and_details_number_every_act_once() -> None:
    """On the pages of a batch of small pieces, each act is numbered on one diagram of its sheet, and listed once."""
    shelf = read_shelf(resources.files("carwright.demo").joinpath("shelf.toml").read_bytes())
    lines = read_pieces(
        "name,thickness,width,length,quantity\n"
        + "".join(f"web {n},0.015,{0.05 + 0.011 * n:.3f},{0.4 + 0.07 * (n % 5):.2f},3\n" for n in range(14)),
        file="pieces.csv",
        units="in",
    )
    made = cut_batch(lines, shelf, snapped=True)
    (layout,) = (each for group in made.groups for each in group.plan.layouts)
    assert isinstance(layout, SheetLayout)
    page = next(each for each in cutting_pages(made, "in") if each.title == "Sheets to cut")
    pictures = [block.drawing for block in _flat(page.blocks) if isinstance(block, Picture)]
    assert len(pictures) > 1
    numbers = [mark.text for drawing in pictures for mark in walk(drawing.marks) if isinstance(mark, Balloon)]
    wanted = [act_number(act) for act in acts_of(layout)]
    assert sorted(numbers) == sorted(wanted)
    (table,) = (block for block in page.blocks if isinstance(block, Table))
    assert [row[0] for row in table.rows] == wanted
