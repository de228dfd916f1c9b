"""Cuts as somebody makes them: in which part, from which edge, alike ones together."""

from __future__ import annotations

import random

import pytest

from carwright.draw.cutwords import act_words
from carwright.stock.acts import acts_of
from carwright.stock.records import Area, PlacedSheet, SheetCut, SheetLayout, SheetPiece, SheetStock
from carwright.stock.sheets import cut_sheets


def _layout(*cuts: tuple[float, float, float, float]) -> SheetLayout:
    numbered = tuple(SheetCut(number, *ends) for number, ends in enumerate(cuts, 1))
    return SheetLayout("sheet", 60.0, 100.0, (), numbered, (), 0)


def test_a_sheet_taken_apart_by_hand() -> None:
    """A sheet 100 by 60: across at 40; that part along in three of 20; the middle strip of 20 by 40 across at 10."""
    acts = acts_of(_layout((0, 40, 60, 40), (20, 0, 20, 40), (40, 0, 40, 40), (20, 10, 40, 10)))
    assert [(act.first, act.last, act.across, act.step_mm, act.times) for act in acts] == [
        (1, 1, True, 40.0, 1),
        (2, 3, False, 20.0, 2),
        (4, 4, True, 10.0, 1),
    ]
    assert acts[1].parts == (Area(0.0, 0.0, 60.0, 40.0),)
    assert acts[2].parts == (Area(20.0, 0.0, 20.0, 40.0),)


def test_parts_alike_are_cut_with_one_setting_of_the_fence() -> None:
    """Two strips of 20 that are both cut at 15 are one act over two parts."""
    acts = acts_of(_layout((20, 0, 20, 100), (40, 0, 40, 100), (0, 15, 20, 15), (20, 15, 40, 15)))
    assert [(act.first, act.last, len(act.parts)) for act in acts] == [(1, 2, 1), (3, 4, 2)]


def test_a_kerf_lies_beyond_its_cut() -> None:
    """With a kerf of 2 the second strip of 20 begins at 22: both cuts are one act of 20."""
    acts = acts_of(_layout((20, 0, 20, 100), (42, 0, 42, 100)), kerf_mm=2.0)
    assert [(act.first, act.last, act.step_mm) for act in acts] == [(1, 2, 20.0)]


def test_a_trim_may_take_less_than_the_saw() -> None:
    """A saw of 2 that cuts at 40 and again at 41 takes one more off the part beyond, which then begins at 43."""
    layout = _layout((0, 40, 60, 40), (0, 41, 60, 41), (20, 43, 20, 100))
    acts = acts_of(layout, kerf_mm=2.0)
    assert [(act.first, act.step_mm) for act in acts] == [(1, 40.0), (2, -1.0), (3, 20.0)]
    assert acts[2].parts == (Area(0.0, 43.0, 60.0, 57.0),)
    assert "trim its left end by less than the saw takes" in act_words(acts[1], "mm")


def test_a_cut_that_stops_halfway_is_refused() -> None:
    """A cut over half of the sheet goes through no part from edge to edge."""
    with pytest.raises(ValueError, match="cut 1 goes through no part"):
        acts_of(_layout((0, 40, 30, 40)))


@pytest.mark.parametrize("seed", range(8))
def test_every_cut_of_a_plan_is_in_one_act(seed: int) -> None:
    """Whatever is laid out, its acts hold every cut once, in the order of their numbers, edge to edge."""
    draw = random.Random(seed)  # noqa: S311 - seeded on purpose, nothing is secret
    kerf = draw.choice([0.0, 0.4])
    pieces = [
        SheetPiece(f"p{i}", draw.uniform(3, 60), draw.uniform(3, 90), draw.randint(1, 4))
        for i in range(draw.randint(2, 9))
    ]
    plan = cut_sheets(pieces, [SheetStock("sheet", 152.4, 304.8)], kerf_mm=kerf, time=0.2)
    for layout in plan.layouts:
        acts = acts_of(layout, kerf_mm=kerf)
        assert [cut.number for act in acts for cut in act.cuts] == [cut.number for cut in layout.cuts]
        assert all(act.times * len(act.parts) == len(act.cuts) for act in acts)
        assert all(_whole(piece, layout) for piece in layout.pieces)


def _whole(piece: PlacedSheet, layout: SheetLayout) -> bool:
    """Return whether no cut goes through a piece."""
    here = piece.area
    for cut in layout.cuts:
        x, y = (cut.x0_mm + cut.x1_mm) / 2, (cut.y0_mm + cut.y1_mm) / 2
        upright = abs(cut.x0_mm - cut.x1_mm) < 1e-6
        through = here.x_mm + 0.01 < x < here.x_mm + here.width_mm - 0.01 if upright else (
            here.y_mm + 0.01 < y < here.y_mm + here.length_mm - 0.01
        )  # fmt: skip
        low, high = sorted((cut.y0_mm, cut.y1_mm) if upright else (cut.x0_mm, cut.x1_mm))
        start = here.y_mm if upright else here.x_mm
        size = here.length_mm if upright else here.width_mm
        if through and low < start + size - 0.01 and high > start + 0.01:
            return False
    return True
