"""Buying in packs: the price of the packs decides, checked against trying every basket."""

from __future__ import annotations

import itertools
from decimal import Decimal

import pytest

from carwright.stock import LengthPiece, LengthStock, Purchase, SheetPiece, SheetStock, cut_lengths, cut_sheets


def test_a_pack_of_five_costs_the_pack() -> None:
    """Of six bars wanted two lie there: the four that lack are bought as one pack of five, at the pack's price."""
    stock = LengthStock("bar", 100, 2, Decimal("0.50"), pack=5, pack_price=Decimal("2.25"))
    plan = cut_lengths([LengthPiece("sill", 60, 6)], [stock])
    assert (plan.status, plan.buy) == ("infeasible", (Purchase("bar", 5, 1, Decimal("2.25")),))
    assert plan.cost == Decimal("3.25")
    assert [layout.bought for layout in plan.layouts] == [False, False, True, True, True, True]


def test_a_stock_of_which_none_is_left_can_be_bought() -> None:
    """A count of 0 is stock that is known and gone: it is bought, not refused."""
    plan = cut_lengths([LengthPiece("sill", 60, 2)], [LengthStock("bar", 130, 0, Decimal(1))])
    assert (plan.status, plan.buy) == ("infeasible", (Purchase("bar", 1, 1, Decimal(1)),))
    sheets = cut_sheets([SheetPiece("floor", 60, 50, 2)], [SheetStock("sheet", 60, 100, 0, Decimal(2), pack=3)])
    assert (sheets.status, sheets.buy) == ("infeasible", (Purchase("sheet", 3, 1, Decimal(6)),))


@pytest.mark.parametrize(
    ("packs", "wanted"),
    [
        # Long bars are cheaper by the piece, but a pack holds ten of them: three short ones are the cheaper basket.
        (((100, 1, 4, "1.10"), (200, 0, 10, "15.00")), 5),
        (((100, 0, 2, "2.10"), (150, 1, 3, "4.00"), (320, 0, 1, "4.50")), 9),
        (((90, 2, 6, "3.00"), (130, 0, 4, "3.10")), 7),
    ],
)
def test_the_basket_is_the_cheapest(packs: tuple[tuple[float, int, int, str], ...], wanted: int) -> None:
    """No basket of packs costs less: every one is tried with pieces of 60 counted by hand, as many as fit each bar."""
    stocks = [
        LengthStock(
            f"bar {length:g}",
            length,
            count,
            round(Decimal(price) / size, 4),
            pack=size,
            pack_price=Decimal(price),
        )
        for length, count, size, price in packs
    ]
    plan = cut_lengths([LengthPiece("sill", 60, wanted)], stocks)
    bought = sum((row.cost or Decimal(0) for row in plan.buy), Decimal(0))
    cheapest = min(
        sum(number * Decimal(price) for number, (_, _, _, price) in zip(basket, packs, strict=True))
        for basket in itertools.product(range(6), repeat=len(packs))
        if sum(
            (count + n * size) * int(length // 60) for n, (length, count, size, _) in zip(basket, packs, strict=True)
        )
        >= wanted
    )
    assert (plan.status, bought, plan.bound) == ("infeasible", cheapest, cheapest)
