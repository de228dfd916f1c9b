"""Pieces true to size, their jigs, and the exploded view."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from tests.book.cars import AWKWARD, DEMO, plan_named
from tests.draw.dxf_reader import entities

from carwright.draw.dxf import plain_dxf
from carwright.draw.exploded import axonometric, exploded
from carwright.draw.jigs import jig_sheets
from carwright.draw.model import Circle, Polyline, walk
from carwright.draw.piecelist import piece_rows
from carwright.draw.pieceviews import many_words, piece_sheets
from carwright.draw.placed import Corner
from carwright.draw.strokes import bounds, ink
from carwright.draw.views import drawing_of

SHEET = (170.0, 190.0)


def _spread(places: list[float]) -> float:
    return max(places) - min(places)


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_every_row_of_the_list_is_drawn_true(name: str) -> None:
    """Each row but the floor has one outline on the sheets, as long and as wide as the plan's, to a micrometre."""
    plan = plan_named(name)
    by_name = {piece.name: piece for piece in plan.pieces}
    drawn = {
        mark.part: mark
        for sheet in piece_sheets(plan, width_mm=SHEET[0], height_mm=SHEET[1])
        for mark in walk(sheet.marks)
        if isinstance(mark, Polyline) and mark.role == "cut"
    }
    for row in piece_rows(plan):
        piece = by_name[row.pieces[0]]
        if piece.name == "floor" or piece.form == "wire" or piece.needs:
            continue
        along = [at.x_mm for at in drawn[piece.name].points]
        across = [at.y_mm for at in drawn[piece.name].points]
        assert max(along) - min(along) == pytest.approx(_spread([at.x_mm.value for at in piece.outline_mm]), abs=1e-3)
        assert max(across) - min(across) == pytest.approx(_spread([at.y_mm.value for at in piece.outline_mm]), abs=1e-3)


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_sheets_hold_what_is_on_them(name: str) -> None:
    """No sheet of pieces or jigs is larger than its paper, and no two views on it overlap."""
    plan = plan_named(name)
    for make in (piece_sheets, jig_sheets):
        for sheet in make(plan, width_mm=SHEET[0], height_mm=SHEET[1]):
            box = bounds(ink(sheet))
            assert box.width_mm <= SHEET[0] + 0.5
            assert box.height_mm <= SHEET[1] + 0.5
            parts: dict[str, list[object]] = {}
            for each in ink(sheet):
                parts.setdefault(each.part.split("|")[0], []).append(each)
            groups = [bounds(each) for key, each in parts.items() if key in {p.name for p in plan.pieces}]  # type: ignore[arg-type]  # ink
            for place, first in enumerate(groups):
                assert not any(first.meets(other) for other in groups[place + 1 :])


@pytest.mark.parametrize("name", DEMO)
def test_pieces_of_the_demonstrations_cars_take_two_sheets(name: str) -> None:
    """On Letter, pieces low or narrow stand beside and under others, so that two sheets hold them all."""
    assert len(piece_sheets(plan_named(name), width_mm=SHEET[0], height_mm=SHEET[1])) <= 2


def test_cutters_file_of_the_pieces_has_every_outline_and_hole() -> None:
    """The plain DXF has one closed line for each row that is cut from sheet, and each of their holes once."""
    plan = plan_named("boxcar")
    found = entities(plain_dxf(drawing_of(plan, "pieces")))
    by_name = {piece.name: piece for piece in plan.pieces}
    shown = [by_name[row.pieces[0]] for row in piece_rows(plan) if row.pieces[0] != "floor"]
    outlines = [piece for piece in shown if piece.form != "wire"]
    assert sum(each.kind == "LWPOLYLINE" for each in found) == len(outlines)
    assert sum(each.kind == "CIRCLE" for each in found) == sum(len(piece.holes) for piece in outlines)


def test_bending_board_has_its_pin_inside_the_bend() -> None:
    """The pin touches the wire's inner side: its centre is half a wire and half a pin from both legs."""
    plan = plan_named("boxcar")
    wire = next(piece for piece in plan.pieces if piece.name == "train_line_a")
    (sheet, *_) = jig_sheets(plan, width_mm=SHEET[0], height_mm=SHEET[1])
    marks = list(walk(sheet.marks))
    path = next(m for m in marks if isinstance(m, Polyline) and m.part == "train_line_a")
    pin = next(m for m in marks if isinstance(m, Circle) and m.title == "Pin" and m.part == "jig_train_line_a")
    assert wire.diameter_mm is not None
    wanted = wire.diameter_mm.value / 2 + pin.radius_mm
    for (x0, y0), (x1, y1) in pairwise(path.points):
        length = math.dist((x0, y0), (x1, y1))
        across = abs((x1 - x0) * (pin.centre.y_mm - y0) - (y1 - y0) * (pin.centre.x_mm - x0)) / length
        assert across == pytest.approx(wanted, abs=1e-6)


def test_spotting_plate_puts_the_hole_where_the_webs_have_it() -> None:
    """From the fences the plate's hole is as far as the webs' from inner end and upper edge: 0.020 and 0.035 in."""
    plan = plan_named("boxcar")
    marks = [m for sheet in jig_sheets(plan, width_mm=SHEET[0], height_mm=SHEET[1]) for m in walk(sheet.marks)]
    hole = next(m for m in marks if isinstance(m, Circle) and m.role == "drill")
    inner = next(m for m in marks if m.title == "Fence for the inner end")
    upper = next(m for m in marks if m.title == "Fence for the upper edge")
    web = next(piece for piece in plan.pieces if piece.name == "crosstie_1")
    (bored,) = web.holes
    assert bored.x_mm is not None
    from_end = web.length_mm.value / 2 + bored.x_mm.value
    from_edge = web.width_mm.value / 2 - bored.y_mm.value
    assert inner.start.x_mm - hole.centre.x_mm == pytest.approx(from_end)  # type: ignore[attr-defined]  # a line
    assert upper.start.y_mm - hole.centre.y_mm == pytest.approx(from_edge)  # type: ignore[attr-defined]  # a line


def test_exploded_view_is_a_true_axonometry() -> None:
    """The squares of the three axes' lengths on paper add up to 2, as for any view along a line (Gauss's theorem)."""
    origin = axonometric(Corner(0.0, 0.0, 0.0))
    axes = [axonometric(Corner(*at)) for at in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))]
    square = sum((axis.x_mm - origin.x_mm) ** 2 + (axis.y_mm - origin.y_mm) ** 2 for axis in axes)
    assert square == pytest.approx(2.0)


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_exploded_view_names_every_row(name: str) -> None:
    """Each row of the list of pieces has its name beside the exploded view."""
    plan = plan_named(name)
    words = {getattr(mark, "text", "") for mark in walk(exploded(plan).marks)}
    for row in piece_rows(plan):
        piece = next(each for each in plan.pieces if each.name == row.pieces[0])
        if piece.pose.z_mm is not None:
            assert any(text.startswith(row.name) for text in words), row.name


def test_small_numbers_are_words() -> None:
    """One to twelve are written out, more in figures."""
    assert (many_words(1), many_words(12), many_words(13)) == ("one", "twelve", "13")
