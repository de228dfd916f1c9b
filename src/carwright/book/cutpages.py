"""The cutting of a batch on paper: what comes from what, every sheet and bar drawn, each cut in its order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from carwright.book.cautions import CAUTIONS
from carwright.draw.blocks import Block, Caution, Heading, Note, Page, Paper, Picture, Prose, Table
from carwright.draw.cutdetails import sheet_pictures
from carwright.draw.cutdiagrams import cut_drawings
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
from carwright.draw.heads import SCALES, fits, said_scale
from carwright.draw.pdf import field_mm, pdf
from carwright.lengths import Units, number_in, show_in
from carwright.plan.model import Plan
from carwright.reference import basis_words, practice_value
from carwright.stock.acts import acts_of
from carwright.stock.batch import Batch, Group, cut_batch, total_cost
from carwright.stock.demand import wanted_of_plan
from carwright.stock.records import BarLayout, SheetLayout
from carwright.working import Working

__all__ = ["Cutting", "cutting_of", "cutting_pages", "cutting_pdf"]

_PICTURE_MM: Final = 120.0
"""Most of a page's height for one diagram: its cuts stand below it."""

_DETAIL_MM: Final = 200.0

_RULES: Final = (
    ("cut_through", "Sheet to be cut through, up to"),
    ("narrowest_trim", "Narrowest strip cut off such sheet"),
    ("saw_from", "Sheet to be sawn, from"),
    ("narrowest_snap", "Narrowest strip that snaps, in thicknesses"),
    ("snap_edge", "Left on each snapped edge, to be sanded off"),
)


@dataclass(frozen=True, slots=True)
class Cutting:
    """How a car's pieces are cut from its shelf, and the pieces whose measurements are missing."""

    batch: Batch
    waiting: tuple[str, ...]


def cutting_of(plan: Plan) -> Cutting:
    """Return how a plan's pieces are cut from the car's own shelf, by knife.

    Raises:
        InputError: the shelf's stock cannot be cut: see ``cut_batch``.
    """
    lines, waiting = wanted_of_plan(plan.pieces)
    return Cutting(cut_batch(lines, plan.car.shelf, snapped=True), tuple(waiting))


def cutting_pdf(batch: Batch, units: Units, *, who: str, waiting: Sequence[str] = (), paper: Paper = "letter") -> bytes:
    """Return the cutting of a batch as a PDF file of its own.

    Args:
        batch: the plans.
        units: of the sizes on it.
        who: cars and lists that are cut, for the head.
        waiting: pieces whose measurements are missing.
        paper: "letter" or "a4".
    """
    pages = cutting_pages(batch, units, who=who, waiting=waiting, paper=paper)
    return pdf(pages, title=f"Cutting: {who}", paper=paper, foot="Carwright, cutting")


def cutting_pages(
    batch: Batch, units: Units, *, who: str = "", waiting: Sequence[str] = (), paper: Paper = "letter"
) -> tuple[Page, ...]:
    """Return the pages on cutting: one for the whole, then the diagrams, all at one scale."""
    wide, _ = field_mm(paper, bars=False)
    scale = _common_scale(batch, units, wide)
    told = "inches" if units == "in" else "millimetres"
    foot = f"lengths in {told}, along the stock by across it"
    what = f"lengths in {told}"
    pages = [Page("Cutting", who, what, tuple(_summary(batch, units, waiting)), bars=False, foot=foot)]
    foot = f"{foot}; drawn {said_scale(scale)}"
    for title, is_sheet in (("Sheets to cut", True), ("Strips, rods and wires to cut", False)):
        groups = [group for group in batch.groups if (group.section.form == "sheet") == is_sheet]
        blocks = tuple(block for group in groups for block in _group(batch, group, units, scale, wide))
        if blocks:
            pages.append(Page(title, who, what, blocks, bars=False, foot=foot))
    return tuple(pages)


def _common_scale(batch: Batch, units: Units, wide_mm: float) -> float:
    """Return the largest scale, true size at most, at which every diagram fits a page."""
    for scale in (each for each in SCALES if each <= 1.0):
        if all(fits(drawing, wide_mm, _PICTURE_MM + 60.0) for drawing in cut_drawings(batch, units, scale=scale)):
            return scale
    return SCALES[-1]


# -------------------------------------------------------------------------------------------------------- the whole


def _summary(batch: Batch, units: Units, waiting: Sequence[str]) -> Iterator[Block]:
    rows = tuple(
        (
            section_words(group.section, units),
            str(len(group.plan.layouts)),
            "" if group.plan.cost is None or group.plan.measure != "cost" else f"{group.plan.cost}",
            STATUS_WORDS[group.plan.status],
            stages_words(group, units),
        )
        for group in batch.groups
    )
    if rows:
        heads = ("Stock", "Taken", "Cost", "Proof", "Waste and what stays")
        yield Table(heads, rows, (48.0, 14.0, 15.0, 36.0, 0.0), (False, True, True, False, False))
    else:
        yield Prose("Nothing of it can be cut from this shelf.")
    both = total_cost(batch)
    if both is not None and rows:
        yield Prose(f"Cost of what is taken: {both[0]}. No plan costs less than {both[1]}.")
    yield from _buy(batch, units)
    yield from _layers(batch, units)
    yield from _left(batch, units)
    if waiting:
        yield Note(f"Not asked for, because measurements are missing: {', '.join(waiting)}.")
    yield Heading("Rules that the layouts keep")
    yield _rules(units)
    yield Caution(CAUTIONS["knife"])


def _buy(batch: Batch, units: Units) -> Iterator[Block]:
    rows = [
        (
            f"{purchase_words(purchase)} {purchase.stock}",
            section_words(group.section, units),
            "" if purchase.cost is None else f"{purchase.cost}",
        )
        for group in batch.groups
        for purchase in group.plan.buy
    ]
    rows += [(least, f"for {names}", "") for least, names in lacking_words(batch.lacking)]
    if rows:
        yield Heading("To buy")
        yield Table(("What", "Of", "Cost"), tuple(rows), (0.0, 62.0, 18.0), (False, False, True))


def _layers(batch: Batch, units: Units) -> Iterator[Block]:
    for heading, layered in (("To laminate", True), ("Of another thickness, near enough for looks", False)):
        rows = tuple(
            (
                called(each.name),
                " + ".join(number_in(layer, units) for layer in each.layers_mm),
                number_in(each.thickness_mm, units),
                number_in(each.wanted_mm, units),
            )
            for each in batch.laminations
            if (len(each.layers_mm) > 1) == layered
        )
        if rows:
            yield Heading(heading)
            heads = ("Piece", "Layers" if layered else "Of", "Make", "Wanted")
            yield Table(heads, rows, (0.0, 60.0, 22.0, 22.0), (False, False, True, True))


def _left(batch: Batch, units: Units) -> Iterator[Block]:
    rows: dict[tuple[str, str], int] = {}
    for group in batch.groups:
        name = section_words(group.section, units)
        for layout in group.plan.layouts:
            if isinstance(layout, SheetLayout):
                sizes = [area_words(area, units) for area in layout.remainders[: layout.kept]]
            else:
                sizes = [number_in(layout.offcut_mm, units)] if layout.kept and layout.offcut_mm else []
            for size in sizes:
                rows[name, size] = rows.get((name, size), 0) + 1
    if rows:
        yield Heading("Offcuts to keep")
        told = tuple((name, size, str(many)) for (name, size), many in rows.items())
        yield Table(("Of", "Size", "How many"), told, (0.0, 60.0, 22.0), (False, True, True))


def _rules(units: Units) -> Table:
    def shown(value: Working) -> str:
        return show_in(value.value, units) if value.unit == "mm" else f"{value.value:g}"

    rows = []
    for name, words in _RULES:
        value = practice_value(name)
        rows.append((words, shown(value), basis_words(value.basis) if value.basis else "our own choice"))
    return Table(("Rule", "Value", "Basis"), tuple(rows), (0.0, 24.0, 62.0), (False, True, False))


# ---------------------------------------------------------------------------------------------------------- sections


def _group(batch: Batch, group: Group, units: Units, scale: float, wide_mm: float) -> Iterator[Block]:
    if group.section.form != "sheet":
        for drawing in cut_drawings(replace(batch, groups=(group,)), units, scale=scale):
            yield Heading(drawing.title)
            yield Picture(drawing, centred=False)
        bars = [layout for layout in group.plan.layouts if isinstance(layout, BarLayout)]
        rows = tuple(
            (str(bars.count(bar)), bar.stock + (", to be bought" if bar.bought else ""), bar_words(bar, units))
            for bar in dict.fromkeys(bars)
        )
        yield Table(("How many", "From", "Cut, in order"), rows, (20.0, 50.0, 0.0), (True, False, False))
        return
    layouts = [layout for layout in group.plan.layouts if isinstance(layout, SheetLayout)]
    if group.outlines:
        yield Note(PAIRS)
    for place, layout in enumerate(dict.fromkeys(layouts), 1):
        yield from _sheet(layout, group, units, scale, wide_mm, times=layouts.count(layout), name=f"sheet-{place}")


def _sheet(
    layout: SheetLayout, group: Group, units: Units, scale: float, wide_mm: float, *, times: int, name: str
) -> Iterator[Block]:
    """Yield a sheet's diagram, details where the pieces lie close together, and its cuts in order."""
    pictures = sheet_pictures(
        layout, group, units, name=name, times=times, scale=scale, wide_mm=wide_mm, high_mm=_DETAIL_MM
    )
    for place, drawing in enumerate(pictures):
        yield Heading(f"{drawing.title}, {said_scale(drawing.scale)}" if place else drawing.title)
        yield Picture(drawing, centred=False)
    yield Note("; ".join(piece_words(layout, units)) + ".")
    acts = acts_of(layout, kerf_mm=group.kerf_mm)
    if acts:
        rows = tuple((act_number(act), act_words(act, units)) for act in acts)
        yield Table(("Cut", "How"), rows, (18.0, 0.0), (True, False))
