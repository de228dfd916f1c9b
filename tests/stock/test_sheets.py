"""Cutting sheets: published instances, brute force, laws, hand-cut limits, and what is refused."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.stock.checking import check_sheet, check_sheets

from carwright.problems import InputError
from carwright.stock import SheetPiece, SheetStock, cut_sheets, fill_sheet

CGCUT1 = (
    (8, 4, 2, 66),
    (3, 7, 1, 35),
    (8, 2, 3, 24),
    (3, 4, 5, 17),
    (3, 3, 2, 11),
    (3, 2, 2, 8),
    (2, 1, 1, 2),
)
"""Length, width, most copies, value; sheet 15 x 10: the first instance of N. Christofides, C. Whitlock, Operations
Research 25 (1977), as it stands in the OR-Library, from memory. The published best value of guillotine cuts is 244."""


def test_the_first_published_instance_gives_its_best_value() -> None:
    """The smallest instance of Christofides and Whitlock gives 244, proven, without turning pieces."""
    pieces = [
        SheetPiece(f"p{i}", w, h, most, turn=False, value=Decimal(value))
        for i, (w, h, most, value) in enumerate(CGCUT1)
    ]
    filling = fill_sheet(pieces, SheetStock("sheet", 15, 10))
    check_sheet(filling.layout)
    assert (filling.status, filling.value, filling.value_bound) == ("optimal", 244, 244)


def best_value_by_force(kinds: tuple[tuple[int, int, int], ...], width: int, height: int, kerf: int) -> int:
    """Return the greatest value by trying every cut at every place and every share of the copies, single copies only.

    Trusted because it does nothing but try; kinds are (width, height, value), one copy of each, none turned.
    """

    @cache
    def best(w: int, h: int, left: frozenset[int]) -> int:
        top = max((kinds[i][2] for i in left if kinds[i][0] <= w and kinds[i][1] <= h), default=0)
        if len(left) < 2 or not top:
            return top
        members = sorted(left)
        for size in range(1, len(members)):
            for some in itertools.combinations(members, size):
                one, other = frozenset(some), left - frozenset(some)
                for at in range(1, w):
                    top = max(top, best(at, h, one) + best(max(0, w - at - kerf), h, other))
                for at in range(1, h):
                    top = max(top, best(w, at, one) + best(w, max(0, h - at - kerf), other))
        return top

    return best(width, height, frozenset(range(len(kinds))))


@given(
    st.lists(st.tuples(st.integers(1, 7), st.integers(1, 7), st.integers(1, 20)), min_size=1, max_size=5),
    st.integers(5, 9),
    st.integers(5, 9),
    st.integers(0, 1),
)
@settings(max_examples=25, deadline=None)
def test_small_fillings_are_as_good_as_brute_force(
    kinds: list[tuple[int, int, int]], width: int, height: int, kerf: int
) -> None:
    """Up to five pieces in one sheet: the value is that of trying every cut, and is proven."""
    pieces = [SheetPiece(f"p{i}", w, h, turn=False, value=Decimal(v)) for i, (w, h, v) in enumerate(kinds)]
    filling = fill_sheet(pieces, SheetStock("sheet", width, height), kerf_mm=kerf)
    check_sheet(filling.layout, kerf_mm=kerf)
    values = {piece.name: piece.value for piece in pieces}
    assert filling.value == sum((values[p.name] or Decimal(0) for p in filling.layout.pieces), Decimal(0))
    assert filling.status == "optimal"
    assert filling.value == best_value_by_force(tuple(kinds), width, height, kerf)


@st.composite
def tasks(draw: st.DrawFn) -> tuple[list[SheetPiece], list[SheetStock], float, float]:
    """Draw pieces, one to three kinds of sheet, a kerf or a narrowest strip."""
    side = st.integers(20, 300).map(lambda n: n / 5)
    pieces = [
        SheetPiece(f"p{i}", draw(side), draw(side), draw(st.integers(1, 4)), draw(st.booleans()))
        for i in range(draw(st.integers(1, 7)))
    ]
    stocks = [SheetStock("new", 101.6, 254.0, None, draw(st.sampled_from([None, Decimal("1.85")])))]
    for k in range(draw(st.integers(0, 2))):
        stocks.append(SheetStock(f"left {k}", draw(side) + 20, draw(side) + 20, 1, Decimal("0.10"), offcut=True))
    kerf, narrow = draw(st.sampled_from([(0.0, 0.0), (0.4, 0.0), (0.0, 2.286)]))
    return pieces, stocks, kerf, narrow


@given(tasks())
@settings(max_examples=40, deadline=None)
def test_every_plan_comes_apart_by_its_cuts(task: tuple[list[SheetPiece], list[SheetStock], float, float]) -> None:
    """Every piece is cut once, each numbered cut runs from edge to edge, no strip is too narrow, the areas add up."""
    pieces, stocks, kerf, narrow = task
    plan = cut_sheets(pieces, stocks, kerf_mm=kerf, narrowest_mm=narrow, keep_width_mm=6, keep_length_mm=25, time=0.2)
    check_sheets(plan, pieces, stocks, kerf_mm=kerf, narrowest_mm=narrow)
    assert plan == cut_sheets(
        pieces, stocks, kerf_mm=kerf, narrowest_mm=narrow, keep_width_mm=6, keep_length_mm=25, time=0.2
    )


def test_pieces_that_fill_sheets_are_found_again() -> None:
    """Three sheets cut into pieces edge to edge are packed into three sheets again, proven."""
    sizes = [(40, 60), (60, 35), (60, 25), (40, 40), (30, 40), (30, 40)]
    pieces = [SheetPiece(f"p{i}", w, h, 3) for i, (w, h) in enumerate(sizes)]
    stocks = [SheetStock("sheet", 100, 100, None, Decimal(2))]
    plan = cut_sheets(pieces, stocks)
    check_sheets(plan, pieces, stocks)
    assert (plan.status, plan.cost) == ("optimal", 6)


def test_a_turned_piece_saves_a_sheet_only_where_it_may_turn() -> None:
    """Two pieces of 60 x 40 come out of 60 x 80 as they lie; of 40 x 60 only if they may be turned."""
    stocks = [SheetStock("sheet", 60, 80, None, Decimal(1))]
    for turn, sheets in ((True, 1), (False, 2)):
        pieces = [SheetPiece("side", 40, 60, 2, turn)]
        plan = cut_sheets(pieces, stocks)
        check_sheets(plan, pieces, stocks)
        assert (plan.status, plan.cost) == ("optimal", sheets)


def test_no_strip_narrower_than_snaps_is_cut_off() -> None:
    """A piece of 99 goes to the sheet of 120, not to that of 100, where a strip of 3 is the narrowest that snaps."""
    pieces = [SheetPiece("floor", 99, 200)]
    stocks = [SheetStock("close", 100, 200, 1, Decimal(1)), SheetStock("wide", 120, 200, 1, Decimal(5))]
    assert [each.stock for each in cut_sheets(pieces, stocks).layouts] == ["close"]
    plan = cut_sheets(pieces, stocks, narrowest_mm=3)
    check_sheets(plan, pieces, stocks, narrowest_mm=3)
    assert [each.stock for each in plan.layouts] == ["wide"]


def test_a_shelf_that_cannot_serve_names_the_purchase() -> None:
    """Three pieces that need a sheet each, from a shelf of two: infeasible, and one sheet is to be bought."""
    pieces = [SheetPiece("floor", 60, 200, 3)]
    stocks = [SheetStock("sheet", 100, 250, 2, Decimal("2.50"))]
    plan = cut_sheets(pieces, stocks)
    check_sheets(plan, pieces, stocks)
    assert plan.status == "infeasible"
    assert [(each.stock, each.quantity, each.cost) for each in plan.buy] == [("sheet", 1, Decimal("2.50"))]


def test_what_remains_is_one_large_piece() -> None:
    """Four pieces of 25 x 50 leave half a sheet of 100 x 100 in one piece, proven."""
    plan = cut_sheets(
        [SheetPiece("step", 25, 50, 4)],
        [SheetStock("sheet", 100, 100, None, Decimal(1))],
        keep_width_mm=10,
        keep_length_mm=10,
    )
    assert plan.offcut is not None
    assert (plan.offcut.value, plan.offcut.status) == (5000, "optimal")


def refused() -> Iterator[tuple[SheetPiece, SheetStock, dict[str, float], str]]:
    """Yield input that cannot be used, with words of the answer."""
    sheet = SheetStock("sheet", 150, 300, 2, Decimal(1))
    fine = SheetPiece("floor", 60, 140)
    yield SheetPiece("floor", 151, 200), sheet, {}, "piece floor is wider than any sheet"
    yield SheetPiece("floor", 200, 100, turn=False), sheet, {}, "not turned"
    yield SheetPiece("floor", 0, 140), sheet, {}, "the width of piece floor cannot be used"
    yield SheetPiece("floor", 60, -1), sheet, {}, "the length of piece floor cannot be used"
    yield SheetPiece("floor", 60, 140, 1_000_000), sheet, {}, "the quantity of piece floor cannot be used"
    yield SheetPiece("floor", 60, 140, 2_001), sheet, {}, "so many rectangles"
    yield fine, SheetStock("sheet", 150, 300, -2), {}, "the count of stock sheet is negative"
    yield fine, sheet, {"kerf_mm": 150}, "the kerf is wider than the stock"
    yield fine, sheet, {"kerf_mm": 0.3, "narrowest_mm": 2}, "snapped by hand or cut with a saw, not both"


@pytest.mark.parametrize(("piece", "stock", "options", "words"), list(refused()))
def test_input_that_cannot_be_cut_is_refused(
    piece: SheetPiece, stock: SheetStock, options: dict[str, float], words: str
) -> None:
    """Sizes, counts and kerfs without sense, and a piece that fits no sheet, are said to be so."""
    with pytest.raises(InputError, match=words):
        cut_sheets([piece], [stock], **options)


def test_a_piece_without_value_cannot_be_weighed() -> None:
    """Filling a sheet for the greatest value asks for the value that is missing."""
    with pytest.raises(InputError, match="piece floor has no value"):
        fill_sheet([SheetPiece("floor", 60, 140)], SheetStock("sheet", 150, 300))
