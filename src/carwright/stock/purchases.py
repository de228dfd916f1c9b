"""What to buy where the shelf is too small: limited stock may be bought too, at more than the whole shelf costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from carwright.stock.whole import MOST_STEPS, too_far_apart

__all__ = ["Widening", "widen"]


@dataclass(frozen=True, slots=True)
class Widening:
    """Stocks that may be bought: the number of each, its price in the problem, and the least of those prices."""

    stocks: tuple[int, ...]
    prices: tuple[int, ...]
    least: int


def widen(
    costs: Sequence[int], counts: Sequence[int], offcuts: Sequence[bool], holds: Sequence[Sequence[bool]]
) -> Widening:
    """Return which limited stocks may be bought, at prices of which the least is above all that lies on the shelf.

    Offcuts cannot be bought, unless a piece fits nothing else.

    Args:
        costs: of one of each stock.
        counts: how many there are; below 0 for any number.
        offcuts: whether a stock is one.
        holds: for each piece, which stocks it can be cut from.

    Raises:
        InputError: the prices would be too great to add exactly.
    """
    limited = [k for k, count in enumerate(counts) if count >= 0]
    wanted = [k for k in limited if not offcuts[k]]
    free = [k for k, count in enumerate(counts) if count < 0]
    if any(not any(row[k] for k in (*wanted, *free)) for row in holds):
        wanted = limited
    shelf = sum(costs[k] * counts[k] for k in limited)
    plain = [costs[k] or 1 for k in wanted]
    factor = shelf // min(plain) + 2
    if factor * max(plain) > MOST_STEPS:
        raise too_far_apart(f"{max(plain) // min(plain)} times the cheapest, beside a shelf of {shelf // min(plain)}")
    return Widening(tuple(wanted), tuple(price * factor for price in plain), min(plain) * factor)
