"""Sheets turned so that their longer side lies across, as a diagram on a page shows them."""

from __future__ import annotations

from dataclasses import replace

from carwright.stock.batch import Batch, Group
from carwright.stock.records import Area, SheetCut, SheetLayout, SheetPlan

__all__ = ["lying", "lying_batch"]


def lying_batch(batch: Batch) -> Batch:
    """Return a batch with every sheet turned so that its longer side lies across; bars stay as they are."""
    return replace(batch, groups=tuple(_group(group) for group in batch.groups))


def _group(group: Group) -> Group:
    plan = group.plan
    if not isinstance(plan, SheetPlan):
        return group
    return replace(group, plan=replace(plan, layouts=tuple(lying(each) for each in plan.layouts)))


def lying(layout: SheetLayout) -> SheetLayout:
    """Return a layout turned by a quarter, clockwise, where the sheet is higher than wide; nothing is mirrored."""
    if layout.length_mm <= layout.width_mm:
        return layout
    across = layout.width_mm

    def area(of: Area) -> Area:
        return Area(of.y_mm, across - of.x_mm - of.width_mm, of.length_mm, of.width_mm)

    def cut(of: SheetCut) -> SheetCut:
        return replace(of, x0_mm=of.y0_mm, y0_mm=across - of.x0_mm, x1_mm=of.y1_mm, y1_mm=across - of.x1_mm)

    return replace(
        layout,
        width_mm=layout.length_mm,
        length_mm=across,
        pieces=tuple(replace(each, area=area(each.area)) for each in layout.pieces),
        remainders=tuple(area(each) for each in layout.remainders),
        cuts=tuple(cut(each) for each in layout.cuts),
    )
