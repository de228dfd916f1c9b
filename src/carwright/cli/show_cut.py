"""Cutting plans as lines on a terminal, and as JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from carwright.lengths import Units, number_in
from carwright.stock.batch import Batch, Group, total_cost
from carwright.stock.records import (
    Area,
    BarLayout,
    Purchase,
    SheetFilling,
    SheetLayout,
    Stage,
)

if TYPE_CHECKING:
    from carwright.stock.demand import Section

__all__ = ["batch_json", "batch_lines", "filling_json", "filling_lines"]

_WORDS = {
    "optimal": "proven the cheapest",
    "feasible": "the best found",
    "infeasible": "the shelf cannot serve: buy",
    "unknown": "not proven; buy",
}


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


def batch_lines(batch: Batch, waiting: list[str], units: Units) -> Iterator[str]:
    """Yield the page for a terminal: section by section what is cut from what, then what to buy."""
    for group in batch.groups:
        yield from _group_lines(group, units)
        yield ""
    if batch.laminations:
        yield "Laminate"
        for each in batch.laminations:
            layers = " + ".join(_size(layer, units) for layer in each.layers_mm)
            yield f"  {each.name}: {layers} = {_size(each.thickness_mm, units)}, wanted {_size(each.wanted_mm, units)}"
        yield ""
    if batch.lacking or any(group.plan.buy for group in batch.groups):
        yield "Buy"
        for group in batch.groups:
            for purchase in group.plan.buy:
                price = "" if purchase.cost is None else f", {purchase.cost}"
                yield f"  {_packs(purchase)} {purchase.stock} ({_section(group.section, units)}){price}"
        for lack in batch.lacking:
            yield f"  {lack.least}, for {lack.line.name}"
        yield ""
    if waiting:
        yield f"Not asked for, because measurements are missing: {', '.join(waiting)}"
        yield ""
    both = total_cost(batch)
    if both is not None:
        yield f"Cost {both[0]}; no plan costs less than {both[1]}."
    yield "Caution: fresh blade, light strokes, fingers behind the steel edge; eye protection when snapping."


def _packs(purchase: Purchase) -> str:
    """Return how many are bought: pieces, or packs and the pieces in each."""
    if purchase.packs == purchase.quantity:
        return f"{purchase.quantity} x"
    packs = "a pack" if purchase.packs == 1 else f"{purchase.packs} packs"
    return f"{packs} of {purchase.quantity // purchase.packs}:"


def _size(value_mm: float, units: Units) -> str:
    return number_in(value_mm, units)


def _section(section: Section, units: Units) -> str:
    size = _size(section.thickness_mm, units)
    if section.width_mm:
        size += f" x {_size(section.width_mm, units)}"
    return f"{section.material} {section.form} {size}"


def _group_lines(group: Group, units: Units) -> Iterator[str]:
    plan = group.plan
    said = _WORDS[plan.status]
    if plan.status == "feasible" and plan.cost is not None:
        said += f"; {plan.cost - plan.bound} above what is proven"
    cost = f"cost {plan.cost}" if plan.measure == "cost" else "no costs known: the least stock taken"
    yield f"{_section(group.section, units)}: {len(plan.layouts)} taken, {cost}, {said}"
    layouts: tuple[BarLayout | SheetLayout, ...] = plan.layouts
    for number, layout in enumerate(layouts, 1):
        bought = " (to be bought)" if layout.bought else ""
        if isinstance(layout, BarLayout):
            same = Counter((p.name, p.length_mm) for p in layout.pieces)
            cuts = ", ".join(
                f"{f'{many} x ' if many > 1 else ''}{name} {_size(length, units)}"
                for (name, length), many in same.items()
            )
            kept = "keep" if layout.kept else "waste"
            left = f"; left {_size(layout.offcut_mm, units)} ({kept})" if layout.offcut_mm else ""
            yield f"  {number}. {layout.stock}{bought}: {cuts}{left}"
        else:
            yield from _sheet_lines(number, layout, units, bought)


def _sheet_lines(number: int, sheet: SheetLayout, units: Units, bought: str) -> Iterator[str]:
    yield (
        f"  {number}. {sheet.stock}{bought}, {_size(sheet.width_mm, units)} x {_size(sheet.length_mm, units)}: "
        f"{len(sheet.pieces)} pieces, {len(sheet.cuts)} cuts"
    )
    alike = Counter((p.name, p.area.width_mm, p.area.length_mm, p.turned) for p in sheet.pieces)
    for (name, across, along, turned), many in alike.items():
        times = f"{many} x " if many > 1 else ""
        yield f"     {times}{name} {_size(across, units)} x {_size(along, units)}{', turned' if turned else ''}"
    for area in sheet.remainders[: sheet.kept]:
        yield f"     keep: {_size(area.width_mm, units)} x {_size(area.length_mm, units)}"


def filling_lines(filling: SheetFilling, units: Units) -> Iterator[str]:
    """Yield the page for one sheet filled for its value."""
    said = "proven the greatest" if filling.status == "optimal" else f"the best found; at most {filling.value_bound}"
    yield f"Value {filling.value}, {said}"
    yield from _sheet_lines(1, filling.layout, units, "")
