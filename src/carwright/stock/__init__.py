"""Cutting plans: pieces wanted out of material on hand, proven best where that can be done.

The solver's libraries are imported only when a plan is made.
"""

from __future__ import annotations

from carwright.stock.lines import cut_lengths
from carwright.stock.records import (
    BarLayout,
    LengthPiece,
    LengthPlan,
    LengthStock,
    PlacedLength,
    Purchase,
    Stage,
    Status,
)

__all__ = [
    "BarLayout",
    "LengthPiece",
    "LengthPlan",
    "LengthStock",
    "PlacedLength",
    "Purchase",
    "Stage",
    "Status",
    "cut_lengths",
]
