"""Buying in packs: how few of which packs make a limited shelf serve, at the least price."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TypeVar

from carwright.stock.records import (
    BarLayout,
    LengthPlan,
    LengthStock,
    Purchase,
    SheetLayout,
    SheetPlan,
    SheetStock,
)

__all__ = ["in_packs"]

S = TypeVar("S", LengthStock, SheetStock)
P = TypeVar("P", LengthPlan, SheetPlan)

_MOST_TRIALS = 40
_MOST_BASKETS = 4000


def in_packs(
    plan: P,
    stocks: Sequence[S],
    *,
    needed: float,
    size: Callable[[S], float],
    again: Callable[[Sequence[S]], P],
) -> P:
    """Return a plan that must buy with its purchase in whole packs, the cheapest that can be found.

    Baskets of packs are tried from the cheapest on: the shelf with the packs in it is a shelf without purchases. The
    first basket that serves is the cheapest, and proven so where each one before it is proven not to serve.

    Args:
        plan: made of ``stocks`` as if each piece of stock could be bought by itself.
        stocks: with their packs.
        needed: length (area) of all pieces together.
        size: length (area) of a stock.
        again: makes the plan of other stocks, with less work for each trial than the first plan had.

    Returns:
        ``plan`` itself where nothing must be bought, or no pack holds more than one.
    """
    if not plan.buy or all(stock.pack == 1 for stock in stocks):
        return plan
    basket = Counter({row.stock: -(-row.quantity // _named(stocks, row.stock).pack) for row in plan.buy})
    best, least, used = plan, Decimal(0), plan.work_used
    prices = [_price(stock, plan, size) for stock in stocks]
    known = {stock.name: price for stock, price in zip(stocks, prices, strict=True) if price is not None}
    proven = plan.status == "infeasible" and len(known) == len(stocks)
    failed: list[Counter[str]] = []
    trials = 0
    for cost, tried in _baskets(known) if len(known) == len(stocks) else ():
        if cost >= _total(basket, known):
            break
        if not tried or any(tried <= other for other in failed):
            continue
        more = [_stocked(stock, tried[stock.name]) for stock in stocks]
        if all(stock.count is not None for stock in more) and needed > 1e-6 + sum(
            size(stock) * (stock.count or 0) for stock in more
        ):
            continue
        if trials == _MOST_TRIALS:
            proven = False
            break
        trials += 1
        found = again(more)
        used += found.work_used
        if found.cost is not None and not found.buy:
            best, basket = _bought(found, stocks), tried
            break
        if found.status == "infeasible":
            failed.append(tried)
        else:
            proven = False
    if proven and plan.measure == "cost":
        least = _total(basket, known)
    return _priced(best, plan, stocks, basket, least, round(used, 6))


def _named(stocks: Sequence[S], name: str) -> S:
    return next(stock for stock in stocks if stock.name == name)


def _price(stock: S, plan: P, size: Callable[[S], float]) -> Decimal | None:
    """Return what a pack costs in the plan's measure; 0 for what is not bought; None where it is not known."""
    if stock.count is None or stock.offcut:
        return Decimal(0)
    if plan.measure != "cost":
        return Decimal(str(round(size(stock), 2))) * stock.pack
    if stock.pack_price is not None:
        return stock.pack_price or None
    return None if not stock.cost else stock.cost * stock.pack


def _total(basket: Counter[str], prices: dict[str, Decimal]) -> Decimal:
    return sum((prices[name] * packs for name, packs in basket.items()), Decimal(0))


def _stocked(stock: S, packs: int) -> S:
    """Return a stock with so many packs put beside what lies there; nothing more of it is then sold in packs."""
    return stock if stock.count is None else replace(stock, count=stock.count + packs * stock.pack, pack=1)


def _baskets(prices: dict[str, Decimal]) -> Iterator[tuple[Decimal, Counter[str]]]:
    """Yield baskets of packs, the cheapest first, the empty one too."""
    sold = [name for name, price in prices.items() if price > 0]
    heap: list[tuple[Decimal, tuple[int, ...]]] = [(Decimal(0), (0,) * len(sold))]
    for _ in range(_MOST_BASKETS):
        if not heap:
            return
        cost, packs = heapq.heappop(heap)
        yield cost, Counter({name: number for name, number in zip(sold, packs, strict=True) if number})
        last = max((k for k, number in enumerate(packs) if number), default=0)
        for at in range(last, len(sold)):
            one_more = (*packs[:at], packs[at] + 1, *packs[at + 1 :])
            heapq.heappush(heap, (cost + prices[sold[at]], one_more))


def _bought(plan: P, stocks: Sequence[S]) -> P:
    """Return a plan of the shelf with packs in it, where what goes beyond the shelf is marked as bought."""
    left = {stock.name: stock.count for stock in stocks}
    layouts: list[BarLayout | SheetLayout] = []
    for layout in plan.layouts:
        there = left[layout.stock]
        if there is not None:
            left[layout.stock] = there - 1
        layouts.append(replace(layout, bought=there is not None and there <= 0))
    return replace(plan, layouts=tuple(layouts))  # type: ignore[arg-type]  # of the kind that the plan had


def _priced(best: P, first: P, stocks: Sequence[S], basket: Counter[str], least: Decimal, used: float) -> P:
    """Return the plan with its basket as what to buy, and with its cost: the shelf's share and the packs."""
    money = first.measure == "cost"
    stock_of = {stock.name: stock for stock in stocks}
    needed = Counter(layout.stock for layout in best.layouts if layout.bought)
    buy = []
    for name in needed:
        stock = stock_of[name]
        packs = -(-needed[name] // stock.pack)
        price = stock.pack_price if stock.pack_price is not None else stock.cost and stock.cost * stock.pack
        buy.append(Purchase(name, packs * stock.pack, packs, None if price is None else price * packs))
    cost = first.cost
    if money:
        cost = sum((each.cost or Decimal(0) for each in buy), Decimal(0)) + sum(
            (stock_of[layout.stock].cost or Decimal(0) for layout in best.layouts if not layout.bought), Decimal(0)
        )
    return replace(best, status=first.status, cost=cost, bound=least, buy=tuple(buy), work_used=used)
