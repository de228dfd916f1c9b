"""Cutting plans as the JSON that is published; lengths in mm, areas in mm²."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from carwright.stock.batch import Batch, Group, total_cost
from carwright.stock.records import (
    Area,
    BarLayout,
    Purchase,
    SheetFilling,
    SheetLayout,
    Stage,
)

__all__ = ["batch_json", "filling_json"]


def _number(value: Decimal | None) -> int | float | None:
    if value is None:
        return None
    return int(value) if value == value.to_integral_value() else float(value)


def batch_json(batch: Batch, waiting: list[str]) -> dict[str, Any]:
    """Return a batch as plain JSON values; lengths in mm, areas in mm²."""
    both = total_cost(batch)
    groups = [_group_json(group) for group in batch.groups]
    return {
        "status": batch.status,
        "cost": None if both is None else _number(both[0]),
        "bound": None if both is None else _number(both[1]),
        "work_used": round(sum(group.plan.work_used for group in batch.groups), 6),
        "layouts": [layout for group in groups for layout in group["layouts"]],
        "buy": [row for group in groups for row in group["buy"]]
        + [
            {"name": each.least, "packs": None, "pieces": None, "cost": None, "for": each.line.name}
            for each in batch.lacking
        ],
        "groups": groups,
        "laminated": [
            {
                "name": each.name,
                "layers_mm": list(each.layers_mm),
                "thickness_mm": each.thickness_mm,
                "wanted_mm": each.wanted_mm,
            }
            for each in batch.laminations
        ],
        "waiting": waiting,
    }


def _group_json(group: Group) -> dict[str, Any]:
    plan, section = group.plan, group.section
    gap = None if plan.cost is None else float(plan.cost - plan.bound)
    return {
        "form": section.form,
        "material": section.material,
        "thickness_mm": section.thickness_mm,
        "width_mm": section.width_mm or None,
        "narrowest_mm": group.narrowest_mm,
        "status": plan.status,
        "measure": plan.measure,
        "cost": _number(plan.cost),
        "bound": _number(plan.bound),
        "gap": gap,
        "waste": _stage_json(plan.waste),
        "offcut": _stage_json(plan.offcut),
        "layouts": [
            _bar_json(layout) if isinstance(layout, BarLayout) else _sheet_json(layout) for layout in plan.layouts
        ],
        "buy": [_buy_json(each) for each in plan.buy],
        "work_used": plan.work_used,
    }


def _stage_json(stage: Stage | None) -> dict[str, Any] | None:
    return None if stage is None else {"value": stage.value, "bound": stage.bound, "status": stage.status}


def _buy_json(each: Purchase) -> dict[str, Any]:
    return {"name": each.stock, "packs": each.packs, "pieces": each.quantity, "cost": _number(each.cost)}


def _bar_json(bar: BarLayout) -> dict[str, Any]:
    return {
        "stock": bar.stock,
        "length_mm": bar.length_mm,
        "pieces": [{"name": p.name, "start_mm": p.start_mm, "length_mm": p.length_mm} for p in bar.pieces],
        "offcut_mm": bar.offcut_mm,
        "kept": bar.kept,
        "bought": bar.bought,
    }


def _area_json(area: Area) -> dict[str, float]:
    return {"x_mm": area.x_mm, "y_mm": area.y_mm, "width_mm": area.width_mm, "length_mm": area.length_mm}


def _sheet_json(sheet: SheetLayout) -> dict[str, Any]:
    return {
        "stock": sheet.stock,
        "width_mm": sheet.width_mm,
        "length_mm": sheet.length_mm,
        "pieces": [{"name": p.name, **_area_json(p.area), "turned": p.turned} for p in sheet.pieces],
        "cuts": [
            {"number": c.number, "x0_mm": c.x0_mm, "y0_mm": c.y0_mm, "x1_mm": c.x1_mm, "y1_mm": c.y1_mm}
            for c in sheet.cuts
        ],
        "remainders": [{**_area_json(a), "kept": k < sheet.kept} for k, a in enumerate(sheet.remainders)],
        "bought": sheet.bought,
    }


def filling_json(filling: SheetFilling) -> dict[str, Any]:
    """Return the filling of one sheet as plain JSON values."""
    return {
        "status": filling.status,
        "value": _number(filling.value),
        "value_bound": _number(filling.value_bound),
        "layouts": [_sheet_json(filling.layout)],
        "work_used": filling.work_used,
    }
