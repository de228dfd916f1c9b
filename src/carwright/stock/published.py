"""Cutting plans as the JSON that is published; lengths in mm, areas in mm².

A sheet lies with its length along x. Layouts that are alike stand there once, with their count.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from typing import Any

from carwright.stock.batch import Batch, Group, total_cost
from carwright.stock.records import (
    Area,
    BarLayout,
    Purchase,
    SheetCut,
    SheetFilling,
    SheetLayout,
    Stage,
)
from carwright.stock.shares import Lacking

__all__ = ["batch_json", "filling_json"]

_APART = ("name", "form", "quantity", "thickness_mm", "length_mm", "width_mm")
_INDEX = re.compile(r"\[(\d+)\]$")


def _number(value: Decimal | None) -> int | float | None:
    if value is None:
        return None
    return int(value) if value == value.to_integral_value() else float(value)


def batch_json(batch: Batch, waiting: list[str]) -> dict[str, Any]:
    """Return a batch as plain JSON values; ``waiting`` are pieces whose measurements are missing."""
    both = total_cost(batch)
    groups = [_group_json(group) for group in batch.groups]
    return {
        "status": batch.status,
        "cost": None if both is None else _number(both[0]),
        "bound": None if both is None else _number(both[1]),
        "work_used": round(sum(group.plan.work_used for group in batch.groups), 6),
        "waste_fraction": _waste_fraction(batch),
        "layouts": [layout for group in groups for layout in group["layouts"]],
        "buy": [row for group in groups for row in group["buy"]] + [_lacking_json(each) for each in batch.lacking],
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
        "left_out": list(batch.left_out),
        "not_planned": [
            dict(zip(_APART, (each.name, each.kind, each.quantity, *each.sizes_mm), strict=True))
            for each in batch.apart
        ],
    }


def _lacking_json(each: Lacking) -> dict[str, Any]:
    """Return the least stock that would serve a piece for which there is nothing."""
    return {
        "name": each.least("mm"),
        "packs": None,
        "pieces": None,
        "cost": None,
        "for": each.line.name,
        "quantity": each.line.quantity,
        "form": each.form,
        "material": each.line.material,
        "thickness_mm": each.thickness_mm,
        "width_mm": each.width_mm,
        "length_mm": each.length_mm,
        "widest_mm": each.widest_mm or None,
    }


def _waste_fraction(batch: Batch) -> float | None:
    """Return what is neither piece nor kept offcut as a part of the stock taken, by volume; None where none is."""
    waste = taken = 0.0
    for group in batch.groups:
        section = group.section
        per = section.thickness_mm
        if section.form == "strip":
            per *= section.width_mm
        elif section.form != "sheet":
            per *= section.thickness_mm * math.pi / 4
        for layout in group.plan.layouts:
            taken += per * layout.length_mm * (layout.width_mm if isinstance(layout, SheetLayout) else 1.0)
        if group.plan.waste is not None:
            waste += per * group.plan.waste.value
    return waste / taken if taken else None


def _group_json(group: Group) -> dict[str, Any]:
    plan, section = group.plan, group.section
    gap = None if plan.cost is None else float(plan.cost - plan.bound)
    return {
        "form": section.form,
        "material": section.material,
        "thickness_mm": section.thickness_mm,
        "width_mm": section.width_mm or None,
        "narrowest_mm": group.narrowest_mm,
        "kerf_mm": group.kerf_mm,
        "status": plan.status,
        "measure": plan.measure,
        "cost": _number(plan.cost),
        "bound": _number(plan.bound),
        "gap": gap,
        "waste": _stage_json(plan.waste),
        "offcut": _stage_json(plan.offcut),
        "layouts": _layouts_json(group),
        "buy": [_buy_json(each) for each in plan.buy],
        "unpriced": list(group.unpriced),
        "sanded": [{"name": name, "width_mm": width} for name, width in group.sanded],
        "near": [{"name": name, "wanted_mm": wanted} for name, wanted in group.near],
        "work_used": plan.work_used,
    }


def _stage_json(stage: Stage | None) -> dict[str, Any] | None:
    return None if stage is None else {"value": stage.value, "bound": stage.bound, "status": stage.status}


def _buy_json(each: Purchase) -> dict[str, Any]:
    return {"name": each.stock, "packs": each.packs, "pieces": each.quantity, "cost": _number(each.cost)}


def _layouts_json(group: Group) -> list[dict[str, Any]]:
    """Return the layouts, those alike once with their count, each with the place of its stock in the shelf's table."""
    keys = dict(group.rows)
    told = []
    for layout, count in group.layouts:
        plain = _bar_json(layout, group.kerf_mm) if isinstance(layout, BarLayout) else _sheet_json(layout)
        index = _INDEX.search(keys.get(layout.stock, ""))
        told.append(
            {"stock": layout.stock, "stock_index": int(index[1]) if index is not None else 0, "count": count, **plain}
        )
    return told


def _bar_json(bar: BarLayout, kerf_mm: float) -> dict[str, Any]:
    ends = [piece.start_mm + piece.length_mm for piece in bar.pieces]
    squaring = [bar.pieces[0].start_mm - kerf_mm] if bar.pieces and bar.pieces[0].start_mm > kerf_mm + 1e-9 else []
    cuts = squaring + [end for end in ends if end < bar.length_mm - 1e-6]
    left = bar.length_mm - bar.offcut_mm
    return {
        "length_mm": bar.length_mm,
        "pieces": [{"name": p.name, "x_mm": p.start_mm, "length_mm": p.length_mm} for p in bar.pieces],
        "cuts": [{"n": n, "at_mm": at} for n, at in enumerate(cuts, 1)],
        "offcuts": [{"x_mm": left, "length_mm": bar.offcut_mm, "keep": bar.kept}] if bar.offcut_mm > 0 else [],
        "bought": bar.bought,
    }


def _area_json(area: Area) -> dict[str, float]:
    return {"x_mm": area.y_mm, "y_mm": area.x_mm, "length_mm": area.length_mm, "width_mm": area.width_mm}


def _cut_json(cut: SheetCut) -> dict[str, Any]:
    """Return a cut: the axis that it runs along, its place on the other one, where it begins and how long it is."""
    x0, y0, x1, y1 = cut.y0_mm, cut.x0_mm, cut.y1_mm, cut.x1_mm
    along = "x" if abs(y1 - y0) < abs(x1 - x0) else "y"
    return {
        "n": cut.number,
        "along": along,
        "at_mm": y0 if along == "x" else x0,
        "x_mm": min(x0, x1),
        "y_mm": min(y0, y1),
        "span_mm": abs(x1 - x0) if along == "x" else abs(y1 - y0),
    }


def _sheet_json(sheet: SheetLayout) -> dict[str, Any]:
    return {
        "length_mm": sheet.length_mm,
        "width_mm": sheet.width_mm,
        "pieces": [{"name": p.name, **_area_json(p.area), "turned": p.turned} for p in sheet.pieces],
        "cuts": [_cut_json(cut) for cut in sheet.cuts],
        "offcuts": [{**_area_json(a), "keep": k < sheet.kept} for k, a in enumerate(sheet.remainders)],
        "bought": sheet.bought,
    }


def filling_json(filling: SheetFilling) -> dict[str, Any]:
    """Return the filling of one sheet as plain JSON values."""
    return {
        "status": filling.status,
        "value": _number(filling.value),
        "value_bound": _number(filling.value_bound),
        "layouts": [{"stock": filling.layout.stock, "stock_index": 0, "count": 1, **_sheet_json(filling.layout)}],
        "work_used": filling.work_used,
    }
