"""A plan is never worse than what somebody finds by the usual rule of thumb, nor better than its own bound."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from carwright.stock import LengthPiece, LengthStock, SheetPiece, SheetStock, cut_lengths, cut_sheets

WIDE, LONG = 150.0, 300.0


def best_fit_decreasing(lengths: list[int], bar: int, kerf: int) -> int:
    """Return how many bars the longest-first rule takes, each piece put where the least is left."""
    left: list[int] = []
    for length in sorted(lengths, reverse=True):
        fitting = [at for at, room in enumerate(left) if room >= length + kerf]
        if fitting:
            at = min(fitting, key=lambda each: left[each])
            left[at] -= length + kerf
        else:
            left.append(bar + kerf - length - kerf)
    return len(left)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(20, 700), st.integers(1, 12)), min_size=1, max_size=12),
    st.sampled_from([0, 3]),
)
def test_bars_are_never_more_than_best_fit_decreasing_takes(pieces: list[tuple[int, int]], kerf: int) -> None:
    """Bars of 1000 at a cost of 1: the plan takes no more than best-fit decreasing, and no fewer than its bound."""
    wanted = [LengthPiece(f"p{at}", length, many) for at, (length, many) in enumerate(pieces)]
    plan = cut_lengths(wanted, [LengthStock("bar", 1000.0, None, Decimal(1))], kerf_mm=kerf, time=0.3)
    rule = best_fit_decreasing([length for length, many in pieces for _ in range(many)], 1000, kerf)
    assert plan.cost is not None
    assert plan.bound <= plan.cost == len(plan.layouts) <= rule


def shelves(pieces: list[tuple[int, int, int]]) -> int:
    """Return how many sheets the rule of shelves takes: highest first, side by side, a new shelf when one is full."""
    sheets: list[float] = []
    shelf_room, shelf_height = 0.0, 0.0
    for width, height in sorted(((w, h) for w, h, many in pieces for _ in range(many)), key=lambda each: -each[1]):
        if width > shelf_room:
            if not sheets or sheets[-1] < height:
                sheets.append(LONG)
            sheets[-1] -= height
            shelf_room, shelf_height = WIDE, float(height)
        assert height <= shelf_height
        shelf_room -= width
    return len(sheets)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(8, 140), st.integers(8, 200), st.integers(1, 4)), min_size=1, max_size=8))
def test_sheets_are_never_more_than_shelves_take(pieces: list[tuple[int, int, int]]) -> None:
    """Sheets of 150 by 300, pieces not turned: no more than next-fit shelves take, and no fewer than the bound."""
    wanted = [SheetPiece(f"p{at}", w, h, many, turn=False) for at, (w, h, many) in enumerate(pieces)]
    plan = cut_sheets(wanted, [SheetStock("sheet", WIDE, LONG, None, Decimal(1))], time=0.3)
    assert plan.cost is not None
    assert plan.bound <= plan.cost == len(plan.layouts) <= shelves(pieces)
