"""The cutting of a batch on paper: what comes from what, every sheet and bar drawn, each cut in its order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from carwright.book.cautions import CAUTIONS
from carwright.car.model import Shelf
from carwright.draw.blocks import Block, Caution, Heading, Note, Page, Paper, Picture, Prose, Table
from carwright.draw.cutdetails import sheet_pictures
from carwright.draw.cutdiagrams import bars_diagram
from carwright.draw.cutnumbers import room_mm
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
    fitting_words,
    form_words,
    lacking_words,
    lamination_words,
    money_words,
    piece_words,
    proof_words,
    purchase_words,
    section_words,
    stages_words,
    stock_words,
)
from carwright.draw.heads import SCALES, fits, said_scale
from carwright.draw.model import Drawing
from carwright.draw.pdf import field_mm, pdf
from carwright.lengths import Units, number_in, show_in
from carwright.pieces import Piece
from carwright.plan.model import Plan
from carwright.reference import basis_words, practice_value
from carwright.stock.acts import acts_of
from carwright.stock.batch import Batch, Group, cut_batch
from carwright.stock.demand import SAME_MM, Lamination, Section, names_in, set_apart, wanted_of_plan
from carwright.stock.records import Area, SheetLayout
from carwright.working import Working, chosen

__all__ = ["Cutting", "as_cut", "cutting_of", "cutting_pages", "cutting_pdf", "stock_taken"]

_PICTURE_MM: Final = 120.0
"""Most of a page's height for one diagram: its cuts stand below it."""

_DETAIL_MM: Final = 200.0

_SAME_MM: Final = 1e-6

_RULES: Final = (
    ("cut_through", "Sheet to be cut through, up to"),
    ("narrowest_trim", "Narrowest strip cut off such sheet"),
    ("saw_from", "Sheet to be sawn, from"),
    ("narrowest_snap", "Narrowest strip that snaps, in thicknesses"),
    ("snap_edge", "Left on each edge of a piece, to be sanded off"),
)


@dataclass(frozen=True, slots=True)
class Cutting:
    """How a car's pieces are cut from a shelf.

    Args:
        batch: the plans.
        waiting: pieces whose measurements are missing.
        drawn: whether the book has every sheet and every cut, not only what is taken and bought.
    """

    batch: Batch
    waiting: tuple[str, ...]
    drawn: bool = True


def cutting_of(plan: Plan, shelf: Shelf | None = None, *, drawn: bool = True) -> Cutting:
    """Return how a plan's pieces are cut by knife.

    Args:
        plan: the car's.
        shelf: from which they are cut; None for the car's own.
        drawn: whether the book has every sheet and every cut.

    Raises:
        InputError: the shelf's stock cannot be cut: see ``cut_batch``.
    """
    lines, waiting = wanted_of_plan(plan.pieces, holes=plan.holes)
    stock = plan.car.shelf if shelf is None else shelf
    batch = cut_batch(lines, stock, snapped=True, units=plan.car.info.units)
    return Cutting(replace(batch, apart=set_apart(plan.pieces)), tuple(waiting), drawn)


def as_cut(plan: Plan, batch: Batch) -> Plan:
    """Return a plan whose pieces are of the layers that a cutting takes, and that buys no stock for them by itself.

    A piece of which another thickness is taken, or that is laminated, has its layers anew; its sizes stay as planned,
    since what is taken lies within its limits.
    """
    laminated: dict[str, list[Lamination]] = {}
    for each in batch.laminations:
        for name in names_in(each.name):
            laminated.setdefault(name, []).append(each)
    taken = batch.taken
    pieces = tuple(
        replace(piece, layers_mm=_layers_as_cut(piece, laminated.get(piece.name, ()), taken[piece.name]))
        if piece.name in taken and piece.form == "plate"
        else piece
        for piece in plan.pieces
    )
    return replace(plan, pieces=pieces, buy=tuple(line for line in plan.buy if not line.cut))


def _layers_as_cut(
    piece: Piece, laminated: Sequence[Lamination], taken: Sequence[tuple[Section, float]]
) -> tuple[Working, ...]:
    assert piece.thickness_mm is not None
    sheets = [section.thickness_mm for section, _ in taken if section.form == "sheet"]
    note = "as the cutting takes it from the shelf"
    layers: list[Working] = []
    for planned in piece.layers_mm or (piece.thickness_mm,):
        found = next((each for each in laminated if abs(each.wanted_mm - planned.value) < _SAME_MM), None)
        if found is not None:
            layers += [chosen(thick, "layer of the cutting", "mm", note=note) for thick in found.layers_mm]
            continue
        near = min(sheets, key=lambda thick: abs(thick - planned.value), default=planned.value)
        same = abs(near - planned.value) < 1e-9 or abs(near - planned.value) > SAME_MM
        layers.append(planned if same else chosen(near, "layer of the cutting", "mm", note=note))
    return tuple(layers)


def stock_taken(batch: Batch, units: Units) -> tuple[tuple[str, str], ...]:
    """Return each stock that a cutting takes from, and how many pieces come of it."""
    told = []
    for group in batch.groups:
        many = sum(len(layout.pieces) * times for layout, times in group.layouts)
        words = form_words(group.section, units)
        told.append((f"{words.capitalize()}, {group.section.material}", f"{many} piece{'' if many == 1 else 's'}"))
    return tuple(told)


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
    """Return the pages on cutting: one for the whole, then the diagrams, at one scale but for what is crowded."""
    wide, _ = field_mm(paper, bars=False)
    scale = _common_scale(batch, units, wide)
    told = "inches" if units == "in" else "millimetres"
    foot = f"lengths in {told}, along the stock by across it"
    what = f"lengths in {told}"
    pages = [Page("Cutting", who, what, tuple(_summary(batch, units, waiting)), bars=False, foot=foot)]
    foot = f"{foot}; drawn {said_scale(scale)} where no scale is named"
    for title, is_sheet in (("Sheets to cut", True), ("Strips, rods and wires to cut", False)):
        groups = [
            (number, group)
            for number, group in enumerate(batch.groups, 1)
            if (group.section.form == "sheet") == is_sheet
        ]
        blocks = tuple(block for number, group in groups for block in _group(group, units, scale, wide, number))
        if blocks:
            pages.append(Page(title, who, what, blocks, bars=False, foot=foot))
    return tuple(pages)


def _common_scale(batch: Batch, units: Units, wide_mm: float) -> float:
    """Return the largest scale, true size at most, at which every diagram fits a page."""
    high_mm = _PICTURE_MM + 60.0
    sheets = [Area(0.0, 0.0, layout.width_mm, layout.length_mm) for group in batch.groups for layout, _ in group.sheets]
    bars = [group for group in batch.groups if group.bars]
    for scale in (each for each in SCALES if each <= 1.0):
        rooms = [room_mm(whole, scale) for whole in sheets]
        if all(wide <= wide_mm and high <= high_mm for wide, high in rooms) and all(
            fits(bars_diagram(group, units, name="", scale=scale), wide_mm, high_mm) for group in bars
        ):
            return scale
    return SCALES[-1]


# -------------------------------------------------------------------------------------------------------- the whole


def _summary(batch: Batch, units: Units, waiting: Sequence[str]) -> Iterator[Block]:
    rows = tuple(
        (
            section_words(group.section, units),
            str(len(group.plan.layouts)),
            "" if group.plan.cost is None or group.plan.measure != "cost" else money_words(group.plan.cost),
            proof_words(group),
            stages_words(group, units),
        )
        for group in batch.groups
    )
    if rows:
        heads = ("Stock", "Taken", "Cost", "Proof", "Waste and what stays")
        yield Table(heads, rows, (48.0, 14.0, 15.0, 36.0, 0.0), (False, True, True, False, False))
    else:
        yield Prose("Nothing of it can be cut from this shelf.")
    cost = cost_words(batch)
    if cost:
        yield Prose(cost)
    yield from _buy(batch, units)
    yield from _layers(batch, units)
    yield from _left(batch, units)
    if batch.left_out:
        yield Note(f"Left out of this cutting: {', '.join(map(called, batch.left_out))}.")
    if waiting:
        yield Note(f"Not asked for, because measurements are missing: {', '.join(map(called, waiting))}.")
    rules = _rules(batch, units)
    if rules:
        yield Heading("Rules that the layouts keep")
        yield Table(("Rule", "Value", "Basis"), rules, (0.0, 24.0, 62.0), (False, True, False))
    yield Caution(CAUTIONS["knife"])


def _buy(batch: Batch, units: Units) -> Iterator[Block]:
    rows = [
        (
            f"{purchase_words(purchase)} {bought_words(purchase, group)}",
            section_words(group.section, units),
            "" if purchase.cost is None else money_words(purchase.cost),
        )
        for group in batch.groups
        for purchase in group.plan.buy
    ]
    rows += [(each.least, f"for {each.waiting}", "") for each in lacking_words(batch.lacking, units)]
    rows += [(f"{each.what}; {each.why}", f"for {each.names}", "") for each in apart_words(batch.apart, units)]
    if rows:
        yield Heading("To buy")
        yield Table(("What", "Of", "Cost"), tuple(rows), (0.0, 62.0, 18.0), (False, False, True))


def _layers(batch: Batch, units: Units) -> Iterator[Block]:
    for heading, layers, found in (
        ("To laminate", "Layers", batch.layered),
        ("Of another thickness, near enough for looks", "Of", batch.substituted),
    ):
        if found:
            yield Heading(heading)
            rows = tuple(lamination_words(each, units) for each in found)
            heads = ("Piece", layers, "Make", "Wanted")
            yield Table(heads, rows, (0.0, 60.0, 22.0, 22.0), (False, False, True, True))


def _left(batch: Batch, units: Units) -> Iterator[Block]:
    rows: dict[tuple[str, str], int] = {}
    for group in batch.groups:
        name = section_words(group.section, units)
        for layout, many in group.layouts:
            if isinstance(layout, SheetLayout):
                sizes = [area_words(area, units) for area in layout.remainders[: layout.kept]]
            else:
                sizes = [number_in(layout.offcut_mm, units)] if layout.kept and layout.offcut_mm else []
            for size in sizes:
                rows[name, size] = rows.get((name, size), 0) + many
    if rows:
        yield Heading("Offcuts to keep")
        told = tuple((name, size, str(many)) for (name, size), many in rows.items())
        yield Table(("Of", "Size", "How many"), told, (0.0, 60.0, 22.0), (False, True, True))


def _rules(batch: Batch, units: Units) -> tuple[tuple[str, str, str], ...]:
    """Return the rules that the layouts really keep, each with its value and what it rests on."""
    by_hand = [group for group in batch.groups if group.narrowest_mm > 0]
    kept = {
        "cut_through": bool(by_hand),
        "narrowest_trim": not all(group.snaps for group in by_hand),
        "saw_from": any(group.snaps for group in by_hand),
        "narrowest_snap": any(group.snaps for group in by_hand),
        "snap_edge": any(group.oversize for group in batch.groups),
    }

    def shown(value: Working) -> str:
        return show_in(value.value, units) if value.unit == "mm" else f"{value.value:g}"

    return tuple(
        (words, shown(value), basis_words(value.basis) if value.basis else "our own choice")
        for name, words in _RULES
        if kept[name]
        for value in [practice_value(name)]
    )


# ---------------------------------------------------------------------------------------------------------- sections


def _group(group: Group, units: Units, scale: float, wide_mm: float, number: int) -> Iterator[Block]:
    if group.section.form != "sheet":
        drawing = bars_diagram(group, units, name=f"cut-{number}", scale=scale)
        yield Heading(drawing.title)
        yield Picture(drawing, centred=False)
        yield from _letters(drawing)
        rows = tuple(
            (str(many), stock_words(bar.stock) + (", to be bought" if bar.bought else ""), bar_words(bar, units))
            for bar, many in group.bars
        )
        yield Table(("How many", "From", "Cut, in order"), rows, (20.0, 50.0, 0.0), (True, False, False))
        if group.sanded or group.near:
            yield Note(fitting_words(group, units))
        return
    for place, (layout, many) in enumerate(group.sheets, 1):
        yield from _sheet(layout, group, units, scale, wide_mm, times=many, name=f"cut-{number}-{place}")
    if group.outlines:
        yield Note(PAIRS)


def _letters(drawing: Drawing) -> Iterator[Block]:
    """Yield what the letters of a diagram stand for."""
    if drawing.notes:
        yield Note(f"In the diagram: {'; '.join(drawing.notes)}.")


def _sheet(
    layout: SheetLayout, group: Group, units: Units, scale: float, wide_mm: float, *, times: int, name: str
) -> Iterator[Block]:
    """Yield a sheet's diagram, details where the pieces lie close together, and its cuts in order."""
    pictures = sheet_pictures(
        layout, group, units, name=name, times=times, scale=scale, wide_mm=wide_mm, high_mm=_DETAIL_MM
    )
    for place, drawing in enumerate(pictures):
        same = not place and drawing.scale == scale
        yield Heading(drawing.title if same else f"{drawing.title}, {said_scale(drawing.scale)}")
        yield Picture(drawing, centred=False)
        yield from _letters(drawing)
    yield Note("; ".join(piece_words(layout, units)) + ".")
    acts = acts_of(layout, kerf_mm=group.kerf_mm)
    if acts:
        rows = tuple((act_number(act), act_words(act, units)) for act in acts)
        yield Table(("Cut", "How"), rows, (18.0, 0.0), (True, False))
