"""Cutting plans as lines on a terminal, and their cuts as a list."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from decimal import Decimal
from itertools import groupby

from carwright.car.shelfcsv import guarded
from carwright.cli.page import wrapped
from carwright.draw.cutwords import (
    PAIRS,
    act_number,
    act_words,
    apart_words,
    area_words,
    bar_words,
    bought_words,
    called,
    cost_words,
    count_words,
    fitting_words,
    freed_words,
    lacking_words,
    lamination_words,
    money_words,
    piece_words,
    proof_words,
    purchase_words,
    saw_words,
    section_words,
    stages_words,
    stock_words,
    tool_words,
)
from carwright.lengths import Units, number_in
from carwright.stock.acts import acts_of
from carwright.stock.batch import Batch, Group
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
    if batch.substituted:
        yield "Of another thickness, near enough for what only has to look right"
        for each in batch.substituted:
            name, _, made, wanted = lamination_words(each, units)
            yield from wrapped(f"{name}: {made}, wanted {wanted}", first="  ", rest="    ")
        yield ""
    if batch.layered:
        yield "Laminate"
        for each in batch.layered:
            name, layers, made, wanted = lamination_words(each, units)
            yield from wrapped(f"{name}: {layers} = {made}, wanted {wanted}", first="  ", rest="    ")
        yield ""
    if batch.must_buy:
        yield "Buy"
        for group in batch.groups:
            for purchase in group.plan.buy:
                yield from wrapped(buy_words(purchase, group, units), first="  ", rest="    ")
        for missing in lacking_words(batch.lacking, units):
            yield from wrapped(f"{missing.least}, for {missing.waiting}", first="  ", rest="    ")
        if batch.lacking:
            yield from wrapped(
                "Put it on the shelf (carwright shelf add) and plan again; or leave a piece out: --leave-out NAME",
                first="  ",
                rest="  ",
            )
        yield ""
    if batch.apart:
        yield "Wanted too, and not planned here"
        for piece in apart_words(batch.apart, units):
            yield from wrapped(f"{piece.names}: {piece.what}; {piece.why}", first="  ", rest="    ")
        yield ""
    if batch.left_out:
        yield from wrapped(f"Left out of this cutting: {', '.join(map(called, batch.left_out))}")
        yield ""
    if waiting:
        yield from wrapped(f"Not asked for, because measurements are missing: {', '.join(map(called, waiting))}")
        yield ""
    yield from wrapped(cost_words(batch))
    yield from wrapped(_CAUTION)


def buy_words(purchase: Purchase, group: Group, units: Units) -> str:
    """Return what is to be bought, of which section, and its price where it is known."""
    price = "" if purchase.cost is None else f", {money_words(purchase.cost)}"
    return f"{purchase_words(purchase)} {bought_words(purchase, group)} ({section_words(group.section, units)}){price}"


def _group_lines(group: Group, units: Units) -> Iterator[str]:
    plan = group.plan
    cost = f"cost {money_words(plan.cost or Decimal(0))}" if plan.measure == "cost" else "no price known"
    told = f"{section_words(group.section, units)}: {len(plan.layouts)} taken, {cost}, {proof_words(group)}"
    yield from wrapped(told, rest="  ")
    yield from wrapped(tool_words(group, units), first="  ", rest="  ")
    number = 1
    for layout, count in group.layouts:
        placed = f"{number}" if count == 1 else f"{number} to {number + count - 1}"
        number += count
        bought = " (to be bought)" if layout.bought else ""
        if isinstance(layout, BarLayout):
            told = f"{placed}. {stock_words(layout.stock)}{bought}: {bar_words(layout, units)}"
            yield from wrapped(told, first="  ", rest=_IN)
        else:
            yield from _sheet_lines(placed, layout, units, bought, kerf_mm=group.kerf_mm)
    for note in (PAIRS if group.outlines else "", fitting_words(group, units)):
        if note:
            yield from wrapped(note, first="  ", rest="  ")
    if plan.waste is not None:
        yield from wrapped(stages_words(group, units), first="  ", rest="  ")


def _sheet_lines(placed: str, sheet: SheetLayout, units: Units, bought: str, *, kerf_mm: float = 0.0) -> Iterator[str]:
    whole = Area(0.0, 0.0, sheet.width_mm, sheet.length_mm)
    yield from wrapped(
        f"{placed}. {stock_words(sheet.stock)}{bought}, {area_words(whole, units)}: "
        f"{count_words(len(sheet.pieces), 'piece')}, {count_words(len(sheet.cuts), 'cut')}",
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

    Sheets and bars that are cut alike stand there once, with how many there are (``alike``). A bar is squared at its
    first end, where it is no offcut; then each piece is measured from the end that was cut last. Rows without a number
    are what is left (``rest``), to be kept or not.
    """
    to = io.StringIO()
    rows = csv.writer(to, lineterminator="\n")
    rows.writerow(
        [
            "stock",
            "number",
            "alike",
            "cut",
            "way",
            f"from_edge_{units}",
            "times",
            f"part_{units}",
            f"kerf_{units}",
            "piece",
        ]
    )
    for group in batch.groups:
        section, number = section_words(group.section, units), 1
        kerf = number_in(group.kerf_mm, units)
        for layout, alike in group.layouts:
            head = [guarded(f"{section}, {stock_words(layout.stock)}"), number, alike]
            number += alike
            if isinstance(layout, BarLayout):
                for number_of, way, size, times, piece in _bar_rows(layout, units):
                    rows.writerow([*head, number_of, way, size, times, "", kerf if number_of else "", piece])
                continue
            for act in acts_of(layout, kerf_mm=group.kerf_mm):
                way = "across" if act.across else "along"
                size = area_words(act.parts[0], units)
                step, times = number_in(act.step_mm, units), act.times * len(act.parts)
                rows.writerow([*head, act_number(act), way, step, times, size, kerf, guarded(freed_words(act))])
            for at, area in enumerate(layout.remainders):
                rest = "keep" if at < layout.kept else "waste"
                rows.writerow([*head, "", "rest", "", 1, area_words(area, units), "", rest])
    return to.getvalue()


def _bar_rows(bar: BarLayout, units: Units) -> Iterator[tuple[str, str, str, int, str]]:
    """Yield number, way, length, times and piece of each cut of a bar, alike ones that follow each other once."""
    cut = 0
    start = bar.pieces[0].start_mm if bar.pieces else 0.0
    if start > 0:
        cut = 1
        yield "1", "square", number_in(start, units), 1, ""
    # A piece that ends where the bar does is there without a cut.
    ends = bool(bar.pieces) and bar.pieces[-1].start_mm + bar.pieces[-1].length_mm > bar.length_mm - 1e-3
    off = bar.pieces[:-1] if ends else bar.pieces
    runs = [list(run) for _, run in groupby(off, key=lambda piece: (piece.name, piece.length_mm))]
    for run in runs:
        first, cut = cut + 1, cut + len(run)
        number = str(first) if first == cut else f"{first}\u2013{cut}"
        yield number, "off", number_in(run[0].length_mm, units), len(run), guarded(called(run[0].name))
    if ends:
        yield "", "rest", number_in(bar.pieces[-1].length_mm, units), 1, guarded(called(bar.pieces[-1].name))
    if bar.offcut_mm:
        yield "", "rest", number_in(bar.offcut_mm, units), 1, "keep" if bar.kept else "waste"


def filling_lines(filling: SheetFilling, units: Units, *, kerf_mm: float = 0.0) -> Iterator[str]:
    """Yield the page for one sheet filled for its value."""
    said = "proven the greatest" if filling.status == "optimal" else f"the best found; at most {filling.value_bound}"
    yield f"Value {filling.value}, {said}"
    if kerf_mm:
        yield from wrapped(saw_words(kerf_mm, units), first="  ", rest="  ")
    yield from _sheet_lines("1", filling.layout, units, "", kerf_mm=kerf_mm)
