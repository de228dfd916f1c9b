"""An independent check of cutting plans: only what the plan's own records say, in plain arithmetic."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from carwright.stock import LengthPiece, LengthPlan, LengthStock

LINE_MM = 1e-4
"""Sums of a hundred floats differ by far less; a pencil line is a thousand times as wide."""


def check_lengths(
    plan: LengthPlan,
    pieces: Sequence[LengthPiece],
    stocks: Sequence[LengthStock],
    *,
    kerf_mm: float = 0.0,
    squaring_mm: float = 0.0,
    keep_mm: float = 0.0,
) -> None:
    """Fail unless every piece is cut once, no bar holds more than it is long, and the sums are what the plan says."""
    stock_of = {stock.name: stock for stock in stocks}
    wanted = Counter({(p.name, p.length_mm): 0 for p in pieces})
    for piece in pieces:
        wanted[piece.name, piece.length_mm] += piece.quantity
    assert Counter((p.name, p.length_mm) for bar in plan.layouts for p in bar.pieces) == wanted
    used: Counter[str] = Counter()
    waste_mm = 0.0
    for bar in plan.layouts:
        stock = stock_of[bar.stock]
        assert bar.length_mm == stock.length_mm
        used[bar.stock] += not bar.bought
        square_mm = 0.0 if stock.offcut else squaring_mm
        at_mm = square_mm
        for number, piece in enumerate(bar.pieces):
            assert abs(piece.start_mm - (at_mm + (kerf_mm if number else 0.0))) <= LINE_MM
            at_mm = piece.start_mm + piece.length_mm
        end_mm = bar.length_mm - square_mm
        assert at_mm <= end_mm + LINE_MM
        assert abs(bar.offcut_mm - max(0.0, end_mm - at_mm - kerf_mm)) <= LINE_MM
        assert bar.kept == (bar.offcut_mm > 0 and bar.offcut_mm >= keep_mm)
        waste_mm += bar.length_mm - sum(p.length_mm for p in bar.pieces) - (bar.offcut_mm if bar.kept else 0.0)
    for name, number in used.items():
        limit = stock_of[name].count
        assert limit is None or number <= limit
    assert plan.waste is not None
    assert plan.offcut is not None
    assert abs(plan.waste.value - waste_mm) <= 100 * LINE_MM
    assert plan.waste.bound <= plan.waste.value + LINE_MM
    assert abs(plan.offcut.value - max((bar.offcut_mm for bar in plan.layouts if bar.kept), default=0.0)) <= LINE_MM
    assert plan.offcut.bound >= plan.offcut.value - LINE_MM
    if plan.measure == "cost":
        assert plan.cost == sum((stock_of[bar.stock].cost or Decimal(0) for bar in plan.layouts), Decimal(0))
    assert plan.cost is not None
    assert plan.bound <= plan.cost
    assert (plan.status == "optimal") <= (plan.bound == plan.cost)
    assert bool(plan.buy) == any(bar.bought for bar in plan.layouts)
