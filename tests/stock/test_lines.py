"""Cutting strips, rods and wires: published examples, brute force, laws, and what is refused."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.stock.checking import check_lengths

from carwright.problems import InputError
from carwright.stock import LengthPiece, LengthStock, cut_lengths

PAPER_MILL = (
    (1380, 22),
    (1520, 25),
    (1560, 12),
    (1710, 14),
    (1820, 18),
    (1880, 18),
    (1930, 20),
    (2000, 10),
    (2050, 12),
    (2100, 14),
    (2140, 16),
    (2150, 18),
    (2200, 20),
)
"""Widths in mm and numbers of rolls, from master rolls of 5600 mm: the paper-mill example of the encyclopedia article
on the cutting-stock problem, as remembered."""


def pieces_of(sizes: Sequence[tuple[float, int]]) -> list[LengthPiece]:
    """Return pieces named by their number."""
    return [LengthPiece(f"piece {i}", float(length), number) for i, (length, number) in enumerate(sizes)]


def test_the_paper_mill_needs_73_master_rolls() -> None:
    """The paper-mill example is cut from 73 rolls, proven, with 0.401 % waste, as it is published."""
    pieces, stocks = pieces_of(PAPER_MILL), [LengthStock("master roll", 5600, None, Decimal(1))]
    plan = cut_lengths(pieces, stocks)
    check_lengths(plan, pieces, stocks)
    assert (plan.status, plan.cost) == ("optimal", 73)
    left = sum(bar.offcut_mm for bar in plan.layouts)
    assert round(100 * left / (73 * 5600), 3) == 0.401


def test_raws_of_100_inches_are_453() -> None:
    """97 rolls of 45, 610 of 36, 395 of 31 and 211 of 14 from raws of 100 take 453 raws, as the textbook finds.

    V. Chvátal, Linear Programming (1983), chapter 13, from memory; the linear program's value there is 452.25.
    """
    pieces = pieces_of([(45, 97), (36, 610), (31, 395), (14, 211)])
    stocks = [LengthStock("raw", 100, None, Decimal(1))]
    plan = cut_lengths(pieces, stocks)
    check_lengths(plan, pieces, stocks)
    assert (plan.status, plan.cost, plan.bound) == ("optimal", 453, 453)


def test_triplets_are_packed_without_any_waste() -> None:
    """Pieces made by cutting 20 bars of 1000 into three, by Falkenauer's scheme, fit 20 bars again, proven.

    E. Falkenauer, Journal of Heuristics 2 (1996): first piece 380 to 490, second 250 to half of what is left.
    """
    sizes = []
    for k in range(20):
        first = 380 + 37 * k % 111
        second = 250 + 13 * k % ((1000 - first) // 2 - 249)
        sizes += [(first, 1), (second, 1), (1000 - first - second, 1)]
    pieces, stocks = pieces_of(sizes), [LengthStock("bar", 1000, None, Decimal(1))]
    plan = cut_lengths(pieces, stocks)
    check_lengths(plan, pieces, stocks)
    assert (plan.status, plan.cost) == ("optimal", 20)


def best_by_force(lengths: tuple[int, ...], stocks: tuple[tuple[int, int, int], ...], kerf: int) -> int | None:
    """Return the least cost by trying, for every set of pieces, every bar that the first of them could be in.

    Trusted because it does nothing but try: stocks are (length, count, cost), pieces at most eight.
    """

    @cache
    def least(left: frozenset[int], counts: tuple[int, ...]) -> int | None:
        if not left:
            return 0
        first, *others = sorted(left)
        best: int | None = None
        for size in range(len(others) + 1):
            for more in itertools.combinations(others, size):
                held = sum(lengths[i] for i in (first, *more)) + kerf * size
                for s, (length, _, cost) in enumerate(stocks):
                    if held <= length and counts[s] > 0:
                        rest = least(left - {first, *more}, tuple(c - (k == s) for k, c in enumerate(counts)))
                        if rest is not None and (best is None or rest + cost < best):
                            best = rest + cost
        return best

    return least(frozenset(range(len(lengths))), tuple(count for _, count, _ in stocks))


@st.composite
def small_tasks(draw: st.DrawFn) -> tuple[tuple[int, ...], tuple[tuple[int, int, int], ...], int]:
    """Draw up to seven pieces, up to three limited stocks, and a kerf."""
    lengths = tuple(draw(st.lists(st.integers(5, 60), min_size=1, max_size=7)))
    stocks = tuple(
        draw(
            st.lists(
                st.tuples(st.integers(60, 120), st.integers(1, 4), st.integers(0, 9)),
                min_size=1,
                max_size=3,
            )
        )
    )
    return lengths, stocks, draw(st.integers(0, 3))


@given(small_tasks())
@settings(max_examples=60, deadline=None)
def test_small_tasks_are_solved_as_brute_force_solves_them(
    task: tuple[tuple[int, ...], tuple[tuple[int, int, int], ...], int],
) -> None:
    """Up to seven pieces from limited stocks: the cost is that of trying everything, and so is what is infeasible."""
    lengths, rows, kerf = task
    pieces = pieces_of([(length, 1) for length in lengths])
    stocks = [LengthStock(f"s{i}", float(a), n, Decimal(c)) for i, (a, n, c) in enumerate(rows)]
    plan = cut_lengths(pieces, stocks, kerf_mm=kerf)
    check_lengths(plan, pieces, stocks, kerf_mm=kerf)
    best = best_by_force(lengths, rows, kerf)
    if best is None:
        assert plan.status == "infeasible"
        assert plan.buy
    else:
        assert (plan.status, plan.cost) == ("optimal", best)


@st.composite
def tasks(draw: st.DrawFn) -> tuple[list[LengthPiece], list[LengthStock], float, float, float]:
    """Draw pieces in 0.1 mm and 1/64 in, several stocks, kerf, squaring cut and least offcut."""
    sizes = st.one_of(st.integers(20, 900).map(lambda n: n / 10), st.integers(10, 200).map(lambda n: n * 25.4 / 64))
    pieces = [LengthPiece(f"p{i}", draw(sizes), draw(st.integers(1, 6))) for i in range(draw(st.integers(1, 8)))]
    stocks = [LengthStock("new", 355.6, None, draw(st.sampled_from([None, Decimal("1.25")])))]
    for k in range(draw(st.integers(0, 2))):
        stocks.append(LengthStock(f"left {k}", draw(sizes) + 5, 1, Decimal(0), offcut=True))
    return pieces, stocks, draw(st.sampled_from([0.0, 0.3, 0.381])), draw(st.sampled_from([0.0, 1.5])), 25.4


@given(tasks())
@settings(max_examples=40, deadline=None)
def test_every_plan_holds_together(task: tuple[list[LengthPiece], list[LengthStock], float, float, float]) -> None:
    """Every piece is cut once, nothing lies outside its bar, stock is conserved, and no cost is below the bound."""
    pieces, stocks, kerf, square, keep = task
    plan = cut_lengths(pieces, stocks, kerf_mm=kerf, squaring_mm=square, keep_mm=keep, time=0.5)
    check_lengths(plan, pieces, stocks, kerf_mm=kerf, squaring_mm=square, keep_mm=keep)
    assert plan == cut_lengths(pieces, stocks, kerf_mm=kerf, squaring_mm=square, keep_mm=keep, time=0.5)


def test_an_offcut_goes_before_new_stock() -> None:
    """A piece that fits an offcut that costs nothing is not cut from a new strip."""
    plan = cut_lengths(
        [LengthPiece("step", 40)],
        [LengthStock("new", 350, None, Decimal("1.10")), LengthStock("left", 41, 1, Decimal(0), offcut=True)],
        kerf_mm=0.3,
    )
    assert [bar.stock for bar in plan.layouts] == ["left"]


def test_what_is_left_stays_in_one_piece() -> None:
    """Of two plans with two bars each, the one with all that is left in one long offcut is chosen, and proven so.

    By hand: 60 + 40 fill one bar of 100, 30 and the offcut of 70 the other; the pieces are 130 of 200.
    """
    plan = cut_lengths(
        [LengthPiece("a", 60), LengthPiece("b", 40), LengthPiece("c", 30)],
        [LengthStock("bar", 100, None, Decimal(1))],
        keep_mm=5,
    )
    assert plan.offcut is not None
    assert (plan.offcut.value, plan.offcut.status) == (70, "optimal")


def test_three_thirds_of_an_inch_are_an_inch() -> None:
    """An exact fit stays one when the lengths have no end as decimals."""
    plan = cut_lengths([LengthPiece("third", 25.4 / 3, 3)], [LengthStock("inch", 25.4, 1)])
    assert plan.status == "optimal"
    assert len(plan.layouts) == 1


def test_without_costs_the_length_taken_is_least() -> None:
    """Where nothing has a cost, two bars of 50 are taken for two pieces of 45, not one of 120."""
    plan = cut_lengths([LengthPiece("a", 45, 2)], [LengthStock("long", 120), LengthStock("short", 50)])
    assert (plan.measure, plan.cost) == ("length_mm", Decimal(100))


def test_a_search_told_to_stop_gives_the_best_so_far() -> None:
    """A watch that says no at once still gets a whole plan, with a bound."""
    pieces, stocks = pieces_of(PAPER_MILL), [LengthStock("master roll", 5600, None, Decimal(1))]
    plan = cut_lengths(pieces, stocks, watch=lambda: False)
    check_lengths(plan, pieces, stocks)


def refused() -> Iterator[tuple[list[LengthPiece], list[LengthStock], float, str]]:
    """Yield input that cannot be used, with words of the answer."""
    bar = LengthStock("bar", 300, 2, Decimal(1))
    yield [LengthPiece("sill", 301)], [bar], 0.0, "piece sill is longer than any stock"
    yield [LengthPiece("sill", 0)], [bar], 0.0, "the length of piece sill cannot be used"
    yield [LengthPiece("sill", -4)], [bar], 0.0, "the length of piece sill cannot be used"
    yield [LengthPiece("sill", float("nan"))], [bar], 0.0, "the length of piece sill cannot be used"
    yield [LengthPiece("sill", 10, 0)], [bar], 0.0, "the quantity of piece sill cannot be used"
    yield [LengthPiece("sill", 10, 1_000_000)], [bar], 0.0, "the quantity of piece sill cannot be used"
    yield [LengthPiece("sill", 10)], [LengthStock("bar", 300, -1)], 0.0, "the count of stock bar is negative"
    yield [LengthPiece("sill", 10)], [LengthStock("bar", 300, 1, Decimal(-1))], 0.0, "the cost of stock bar"
    yield [LengthPiece("sill", 10)], [bar], 300.0, "the kerf is wider than the stock"
    yield [LengthPiece("sill", 10)], [bar], -0.1, "the kerf cannot be used"
    yield [LengthPiece("sill", 10)], [], 0.0, "there is no stock for piece sill"


@pytest.mark.parametrize(("pieces", "stocks", "kerf", "words"), list(refused()))
def test_input_that_cannot_be_cut_is_refused(
    pieces: list[LengthPiece], stocks: list[LengthStock], kerf: float, words: str
) -> None:
    """Sizes, counts, costs and kerfs without sense, and a piece longer than every stock, are said to be so."""
    with pytest.raises(InputError, match=words):
        cut_lengths(pieces, stocks, kerf_mm=kerf)


def test_a_piece_that_is_too_long_names_the_least_purchase() -> None:
    """The answer to a piece longer than every stock says how long a stock must be, squaring included."""
    with pytest.raises(InputError, match=r"Buy at least one of 303.00 mm \(11.929 in\) or longer"):
        cut_lengths([LengthPiece("sill", 301)], [LengthStock("bar", 300)], squaring_mm=1)
