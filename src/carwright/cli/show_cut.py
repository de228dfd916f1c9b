"""Cutting plans as lines on a terminal, and their cuts as a list."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator

from carwright.car.shelfcsv import guarded
from carwright.cli.page import wrapped
from carwright.draw.cutwords import (
    PAIRS,
    STATUS_WORDS,
    act_number,
    act_words,
    area_words,
    bar_words,
    called,
    lacking_words,
    piece_words,
    purchase_words,
    section_words,
    stages_words,
)
from carwright.lengths import Units, number_in
from carwright.stock.acts import acts_of
from carwright.stock.batch import Batch, Group, total_cost
from carwright.stock.demand import Section
from carwright.stock.records import (
    Area,
    BarLayout,
    Purchase,
    SheetFilling,
    SheetLayout,
)

__all__ = ["batch_lines", "buy_words", "cuts_csv", "filling_lines"]


_CAUTION = "Caution: fresh blade, light strokes, fingers behind the steel edge; eye protection when snapping."

_IN = "     "
"""Before what belongs to a sheet or bar."""


def batch_lines(batch: Batch, waiting: list[str], units: Units) -> Iterator[str]:
    """Yield the page for a terminal: section by section what is cut from what, then what to buy."""
    for group in batch.groups:
        yield from _group_lines(group, units)
        yield ""
    single = [each for each in batch.laminations if len(each.layers_mm) == 1]
    if single:
        yield "Of another thickness, near enough for what only has to look right"
        for each in single:
            made, wanted = number_in(each.thickness_mm, units), number_in(each.wanted_mm, units)
            yield f"  {called(each.name)}: {made}, wanted {wanted}"
        yield ""
    if len(batch.laminations) > len(single):
        yield "Laminate"
        for each in batch.laminations:
            if len(each.layers_mm) == 1:
                continue
            layers = " + ".join(number_in(layer, units) for layer in each.layers_mm)
            made, wanted = number_in(each.thickness_mm, units), number_in(each.wanted_mm, units)
            yield f"  {called(each.name)}: {layers} = {made}, wanted {wanted}"
        yield ""
    if batch.lacking or any(group.plan.buy for group in batch.groups):
        yield "Buy"
        for group in batch.groups:
            for purchase in group.plan.buy:
                yield f"  {buy_words(purchase, group.section, units)}"
        for least, names in lacking_words(batch.lacking):
            yield from wrapped(f"{least}, for {names}", first="  ", rest="    ")
        yield ""
    if waiting:
        yield from wrapped(f"Not asked for, because measurements are missing: {', '.join(map(called, waiting))}")
        yield ""
    both = total_cost(batch)
    if both is not None:
        yield f"Cost {both[0]}; no plan costs less than {both[1]}."
    yield from wrapped(_CAUTION)


def buy_words(purchase: Purchase, section: Section, units: Units) -> str:
    """Return what is to be bought, of which section, and its price where it is known."""
    price = "" if purchase.cost is None else f", {purchase.cost}"
    return f"{purchase_words(purchase)} {purchase.stock} ({section_words(section, units)}){price}"


def _group_lines(group: Group, units: Units) -> Iterator[str]:
    plan = group.plan
    said = STATUS_WORDS[plan.status]
    if plan.status == "feasible" and plan.cost is not None:
        said += f", at most {plan.cost - plan.bound} above the cheapest"
    cost = f"cost {plan.cost}" if plan.measure == "cost" else "no costs known: the least stock taken"
    told = f"{section_words(group.section, units)}: {len(plan.layouts)} taken, {cost}, {said}"
    yield from wrapped(told, rest="  ")
    counts: Counter[BarLayout | SheetLayout] = Counter(plan.layouts)
    number = 1
    for layout, count in counts.items():
        called = f"{number}" if count == 1 else f"{number} to {number + count - 1}"
        number += count
        bought = " (to be bought)" if layout.bought else ""
        if isinstance(layout, BarLayout):
            yield from wrapped(f"{called}. {layout.stock}{bought}: {bar_words(layout, units)}", first="  ", rest=_IN)
        else:
            yield from _sheet_lines(called, layout, units, bought, kerf_mm=group.kerf_mm)
    if group.outlines:
        yield from wrapped(PAIRS, first="  ")
    if plan.waste is not None:
        yield from wrapped(stages_words(group, units), first="  ")


def _sheet_lines(called: str, sheet: SheetLayout, units: Units, bought: str, *, kerf_mm: float = 0.0) -> Iterator[str]:
    whole = Area(0.0, 0.0, sheet.width_mm, sheet.length_mm)
    yield from wrapped(
        f"{called}. {sheet.stock}{bought}, {area_words(whole, units)}: "
        f"{len(sheet.pieces)} pieces, {len(sheet.cuts)} cuts",
        first="  ",
        rest=_IN,
    )
    for each in piece_words(sheet, units):
        yield from wrapped(each, first=_IN, rest=f"{_IN}  ")
    for area in sheet.remainders[: sheet.kept]:
        yield f"{_IN}keep: {area_words(area, units)}"
    acts = acts_of(sheet, kerf_mm=kerf_mm)
    room = max((len(act_number(act)) for act in acts), default=0)
    for act in acts:
        yield from wrapped(act_words(act, units), first=f"{_IN}{act_number(act):>{room}}  ")


def cuts_csv(batch: Batch, units: Units) -> str:
    """Return every cut in its order as CSV: of which stock, from which edge, how far, over which part, what comes off.

    Bars have a row for each piece, in the order in which they are cut.
    """
    to = io.StringIO()
    rows = csv.writer(to, lineterminator="\n")
    rows.writerow(["stock", "number", "cut", "way", f"from_edge_{units}", "times", f"part_{units}", "piece"])
    for group in batch.groups:
        section = section_words(group.section, units)
        layouts: tuple[BarLayout | SheetLayout, ...] = group.plan.layouts
        for number, layout in enumerate(layouts, 1):
            stock = guarded(f"{section}, {layout.stock}")
            if isinstance(layout, BarLayout):
                for at, piece in enumerate(layout.pieces, 1):
                    length = number_in(piece.length_mm, units)
                    rows.writerow([stock, number, at, "off", length, 1, "", guarded(piece.name)])
                continue
            for act in acts_of(layout, kerf_mm=group.kerf_mm):
                way = "across" if act.across else "along"
                size = area_words(act.parts[0], units)
                step = number_in(act.step_mm, units)
                rows.writerow([stock, number, act_number(act), way, step, act.times * len(act.parts), size, ""])
    return to.getvalue()


def filling_lines(filling: SheetFilling, units: Units, *, kerf_mm: float = 0.0) -> Iterator[str]:
    """Yield the page for one sheet filled for its value."""
    said = "proven the greatest" if filling.status == "optimal" else f"the best found; at most {filling.value_bound}"
    yield f"Value {filling.value}, {said}"
    yield from _sheet_lines("1", filling.layout, units, "", kerf_mm=kerf_mm)
