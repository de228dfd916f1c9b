"""Cutting plans: pieces wanted out of material on hand, proven best where that can be done.

The solver's libraries are imported only when a plan is made.
"""

from __future__ import annotations

from carwright.stock.lines import cut_lengths
from carwright.stock.records import (
    Area,
    BarLayout,
    LengthPiece,
    LengthPlan,
    LengthStock,
    PlacedLength,
    PlacedSheet,
    Purchase,
    SheetCut,
    SheetFilling,
    SheetLayout,
    SheetPiece,
    SheetPlan,
    SheetStock,
    Stage,
    Status,
)
from carwright.stock.sheets import cut_sheets, fill_sheet

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
    "cut_lengths",
    "cut_sheets",
    "fill_sheet",
]
