"""Cutting plans as lines on a terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

from carwright.lengths import Units, number_in
from carwright.stock.batch import Batch, Group, total_cost
from carwright.stock.records import (
    BarLayout,
    Purchase,
    SheetFilling,
    SheetLayout,
)

if TYPE_CHECKING:
    from carwright.stock.demand import Section

__all__ = ["batch_lines", "buy_words", "filling_lines"]

_WORDS = {
    "optimal": "proven the cheapest",
    "feasible": "the best found",
    "infeasible": "the shelf cannot serve: buy",
    "unknown": "not proven; buy",
}


def batch_lines(batch: Batch, waiting: list[str], units: Units) -> Iterator[str]:
    """Yield the page for a terminal: section by section what is cut from what, then what to buy."""
    for group in batch.groups:
        yield from _group_lines(group, units)
        yield ""
    single = [each for each in batch.laminations if len(each.layers_mm) == 1]
    if single:
        yield "Of another thickness, near enough for what only has to look right"
        for each in single:
            yield f"  {each.name}: {_size(each.thickness_mm, units)}, wanted {_size(each.wanted_mm, units)}"
        yield ""
    if len(batch.laminations) > len(single):
        yield "Laminate"
        for each in batch.laminations:
            if len(each.layers_mm) == 1:
                continue
            layers = " + ".join(_size(layer, units) for layer in each.layers_mm)
            yield f"  {each.name}: {layers} = {_size(each.thickness_mm, units)}, wanted {_size(each.wanted_mm, units)}"
        yield ""
    if batch.lacking or any(group.plan.buy for group in batch.groups):
        yield "Buy"
        for group in batch.groups:
            for purchase in group.plan.buy:
                yield f"  {buy_words(purchase, group.section, units)}"
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


def buy_words(purchase: Purchase, section: Section, units: Units) -> str:
    """Return what is to be bought, of which section, and its price where it is known."""
    price = "" if purchase.cost is None else f", {purchase.cost}"
    return f"{_packs(purchase)} {purchase.stock} ({_section(section, units)}){price}"


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
