"""What a cutting plan is made of: pieces wanted, stock on hand, layouts, what is left, what is to be bought.

Words: a *stage* is one of the aims of a plan, each followed only as far as the one before it allows; *measure* is what
the first stage minimises: the cost, or, where no stock has a cost, the length or area of stock taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

__all__ = [
    "Area",
    "BarLayout",
    "LengthPiece",
    "LengthPlan",
    "LengthStock",
    "PlacedLength",
    "PlacedSheet",
    "Purchase",
    "SheetCut",
    "SheetFilling",
    "SheetLayout",
    "SheetPiece",
    "SheetPlan",
    "SheetStock",
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
        pack: pieces in a pack, >= 1; what must be bought is bought in packs.
        pack_price: of a pack; None for that many times the cost.
    """

    name: str
    length_mm: float
    count: int | None = None
    cost: Decimal | None = None
    offcut: bool = False
    pack: int = 1
    pack_price: Decimal | None = None


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
    """Stock to be bought: its name, how many of it, in how many packs, and what those cost, None where not known.

    ``quantity`` is what the packs hold: at least what the plan needs.
    """

    stock: str
    quantity: int
    packs: int
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
        cost: sum over the bars taken, in the measure; where packs must be bought, with their price instead of the
            price of the bars taken out of them. None without a plan.
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


@dataclass(frozen=True, slots=True)
class SheetPiece:
    """Rectangles wanted of one size.

    Args:
        name: of the piece; several may have the same.
        width_mm: size across the sheet when it is not turned, > 0.
        length_mm: size along the sheet when it is not turned, > 0.
        quantity: how many; of a filling the most that may be cut.
        turn: whether it may be turned by a quarter; False where the grain or a scribed face says no.
        value: what one is worth in a filling, > 0; unused elsewhere.
    """

    name: str
    width_mm: float
    length_mm: float
    quantity: int = 1
    turn: bool = True
    value: Decimal | None = None


@dataclass(frozen=True, slots=True)
class SheetStock:
    """Sheets of one size: name, width and length in mm; the rest as of ``LengthStock``."""

    name: str
    width_mm: float
    length_mm: float
    count: int | None = None
    cost: Decimal | None = None
    offcut: bool = False
    pack: int = 1
    pack_price: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle in a sheet: its corner nearest the sheet's corner, its size across and along, in mm."""

    x_mm: float
    y_mm: float
    width_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class PlacedSheet:
    """One piece in a sheet: where it lies, its size as it lies there, and whether it is turned."""

    name: str
    area: Area
    turned: bool


@dataclass(frozen=True, slots=True)
class SheetCut:
    """One edge-to-edge cut of a part of the sheet: its number in cutting order, and its ends; a kerf lies beyond it."""

    number: int
    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """One sheet and what is cut from it.

    Args:
        stock: name of the stock.
        width_mm: of the sheet, along x.
        length_mm: of the sheet, along y.
        pieces: by place, nearest the corner first.
        cuts: in cutting order.
        remainders: what is left over, largest first.
        kept: how many of the remainders, from the first, are worth keeping.
        bought: whether the sheet is not on the shelf and must be bought.
    """

    stock: str
    width_mm: float
    length_mm: float
    pieces: tuple[PlacedSheet, ...]
    cuts: tuple[SheetCut, ...]
    remainders: tuple[Area, ...]
    kept: int
    bought: bool = False


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """How rectangles are cut from sheets; as ``LengthPlan``, with areas in mm² for waste and offcut."""

    status: Status
    measure: Literal["cost", "area_mm2"]
    cost: Decimal | None
    bound: Decimal
    waste: Stage | None
    offcut: Stage | None
    layouts: tuple[SheetLayout, ...]
    buy: tuple[Purchase, ...]
    work_used: float


@dataclass(frozen=True, slots=True)
class SheetFilling:
    """The most valuable filling of one sheet: its value, and the bound that no filling is above."""

    status: Status
    value: Decimal
    value_bound: Decimal
    layout: SheetLayout
    work_used: float
