"""An independent check of cutting plans: only what the plan's own records say, in plain arithmetic."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from carwright.stock import (
    LengthPiece,
    LengthPlan,
    LengthStock,
    SheetLayout,
    SheetPiece,
    SheetPlan,
    SheetStock,
)

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


def check_sheet(layout: SheetLayout, *, kerf_mm: float = 0.0, narrowest_mm: float = 0.0) -> None:
    """Fail unless the numbered cuts, done one after the other, leave exactly the pieces and remainders.

    Trusted because it knows nothing of the search: it holds the parts of the sheet in a list, and each cut must run
    from edge to edge of one part, through no piece, and leave no strip that is too narrow.
    """
    parts = [(0.0, 0.0, layout.width_mm, layout.length_mm)]
    for cut in layout.cuts:
        across = abs(cut.y0_mm - cut.y1_mm) <= LINE_MM
        assert across or abs(cut.x0_mm - cut.x1_mm) <= LINE_MM
        for k, (x0, y0, x1, y1) in enumerate(parts):
            low, high, near, far, at = (x0, x1, y0, y1, cut.y0_mm) if across else (y0, y1, x0, x1, cut.x0_mm)
            ends = (cut.x0_mm, cut.x1_mm) if across else (cut.y0_mm, cut.y1_mm)
            edge_to_edge = abs(ends[0] - low) <= LINE_MM and abs(ends[1] - high) <= LINE_MM
            if edge_to_edge and near + LINE_MM < at < far - LINE_MM:
                assert at - near >= narrowest_mm - LINE_MM
                assert far - at >= narrowest_mm - LINE_MM
                beyond = min(far, at + kerf_mm)
                first, second = (
                    ((x0, y0, x1, at), (x0, beyond, x1, y1)) if across else ((x0, y0, at, y1), (beyond, y0, x1, y1))
                )
                parts[k : k + 1] = [first, second]
                break
        else:
            raise AssertionError(f"cut {cut.number} does not run from edge to edge of a part")
    wide = [part for part in parts if part[2] - part[0] > LINE_MM and part[3] - part[1] > LINE_MM]
    areas = [piece.area for piece in layout.pieces] + list(layout.remainders)
    assert len(areas) == len(wide)
    for area in areas:
        said = (area.x_mm, area.y_mm, area.x_mm + area.width_mm, area.y_mm + area.length_mm)
        same = [part for part in wide if all(abs(a - b) <= 2 * LINE_MM for a, b in zip(said, part, strict=True))]
        assert same, f"the cuts leave no part of {said}"
        wide.remove(same[0])


def check_sheets(
    plan: SheetPlan,
    pieces: Sequence[SheetPiece],
    stocks: Sequence[SheetStock],
    *,
    kerf_mm: float = 0.0,
    narrowest_mm: float = 0.0,
) -> None:
    """Fail unless every piece is cut once in its size, each sheet comes apart as said, and the sums hold."""
    wanted: Counter[tuple[str, float, float]] = Counter()
    for piece in pieces:
        wanted[piece.name, piece.width_mm, piece.length_mm] += piece.quantity
    cut: Counter[tuple[str, float, float]] = Counter()
    may_turn = {piece.name: piece.turn for piece in pieces}
    used: Counter[str] = Counter()
    stock_of = {stock.name: stock for stock in stocks}
    for layout in plan.layouts:
        stock = stock_of[layout.stock]
        assert (layout.width_mm, layout.length_mm) == (stock.width_mm, stock.length_mm)
        used[layout.stock] += not layout.bought
        check_sheet(layout, kerf_mm=kerf_mm, narrowest_mm=narrowest_mm)
        for placed in layout.pieces:
            size = (placed.area.width_mm, placed.area.length_mm)
            assert may_turn[placed.name] or not placed.turned
            cut[(placed.name, *(size[::-1] if placed.turned else size))] += 1
    assert cut == wanted
    for name, number in used.items():
        limit = stock_of[name].count
        assert limit is None or number <= limit
    assert plan.cost is not None
    if plan.measure == "cost":
        assert plan.cost == sum((stock_of[each.stock].cost or Decimal(0) for each in plan.layouts), Decimal(0))
    assert plan.bound <= plan.cost
    assert (plan.status == "optimal") <= (plan.bound == plan.cost)
    assert bool(plan.buy) == any(each.bought for each in plan.layouts)
    assert plan.waste is not None
    area = sum(each.width_mm * each.length_mm for each in plan.layouts)
    pieces_area = sum(p.width_mm * p.length_mm * p.quantity for p in pieces)
    kept = sum(a.width_mm * a.length_mm for each in plan.layouts for a in each.remainders[: each.kept])
    assert abs(area - pieces_area - kept - plan.waste.value) <= 0.01
