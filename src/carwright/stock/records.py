"""What a cutting plan is made of: pieces wanted, stock on hand, layouts, what is left, what is to be bought.

Words: a *stage* is one of the aims of a plan, each followed only as far as the one before it allows; *measure* is what
the first stage minimises: the cost, or, where no stock has a cost, the length or area of stock taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

__all__ = [
    "BarLayout",
    "LengthPiece",
    "LengthPlan",
    "LengthStock",
    "PlacedLength",
    "Purchase",
    "Stage",
    "Status",
]

Status = Literal["optimal", "feasible", "infeasible", "unknown"]
"""Proven best; the best found, with a bound; proven that the stock cannot serve; neither a plan nor a proof."""


@dataclass(frozen=True, slots=True)
class LengthPiece:
    """Pieces wanted of one length.

    Args:
        name: of the piece; several may have the same.
        length_mm: finished length, > 0.
        quantity: how many, >= 1.
    """

    name: str
    length_mm: float
    quantity: int = 1


@dataclass(frozen=True, slots=True)
class LengthStock:
    """Strips, rods or wires of one length.

    Args:
        name: of the stock, different for each.
        length_mm: its length as it lies there, > 0.
        count: how many there are, >= 0; None for any number.
        cost: of one, >= 0; None where it is not known.
        offcut: whether it is one that was left over; its ends are square already.
    """

    name: str
    length_mm: float
    count: int | None = None
    cost: Decimal | None = None
    offcut: bool = False


@dataclass(frozen=True, slots=True)
class PlacedLength:
    """One piece in a bar: where it begins, in mm from the bar's first end, and its length."""

    name: str
    start_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class BarLayout:
    """One bar of stock and what is cut from it, in cutting order.

    Args:
        stock: name of the stock.
        length_mm: of the bar as it lies there.
        pieces: longest first; the first begins behind the squaring cut.
        offcut_mm: what is left behind the last cut, 0 where nothing is; it is at the bar's end.
        kept: whether the offcut is long enough to keep.
        bought: whether the bar is not on the shelf and must be bought.
    """

    stock: str
    length_mm: float
    pieces: tuple[PlacedLength, ...]
    offcut_mm: float
    kept: bool
    bought: bool = False


@dataclass(frozen=True, slots=True)
class Purchase:
    """Stock to be bought: its name, how many, and what they cost, None where that is not known."""

    stock: str
    quantity: int
    cost: Decimal | None


@dataclass(frozen=True, slots=True)
class Stage:
    """An aim behind the first: its value in mm (mm² for sheets), the bound of it, and whether it is proven best.

    The bound holds among the plans that are as good in the aims before.
    """

    value: float
    bound: float
    status: Status


@dataclass(frozen=True, slots=True)
class LengthPlan:
    """How pieces are cut from bars.

    Args:
        status: speaks of the measure alone.
        measure: "cost", or "length_mm" where no stock has a cost.
        cost: sum over the bars taken, in the measure; with what must be bought. None without a plan.
        bound: no plan has less.
        waste: what is neither piece nor kept offcut, in mm: kerf, squaring, short ends. None without a plan.
        offcut: the longest kept offcut, in mm. None without a plan.
        layouts: one for each bar.
        buy: what the shelf lacks; empty unless the status is "infeasible" (or "unknown").
        work_used: units of counted work, about a second each on two cores.
    """

    status: Status
    measure: Literal["cost", "length_mm"]
    cost: Decimal | None
    bound: Decimal
    waste: Stage | None
    offcut: Stage | None
    layouts: tuple[BarLayout, ...]
    buy: tuple[Purchase, ...]
    work_used: float
