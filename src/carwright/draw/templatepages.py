"""The floor's templates on paper: both on one sheet where they fit, else each on its own, split where too long."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise
from typing import Final

from carwright.draw.bars import Correction
from carwright.draw.blocks import Block, Caution, Heading, Hold, Note, Page, Paper, Picture, Prose, Table
from carwright.draw.floorplan import floor_template, hole_letters, holes_waiting
from carwright.draw.heads import page, plan_shape
from carwright.draw.labels import needs_words, number
from carwright.draw.model import XY, Drawing, Line, Mark, Text
from carwright.draw.pdf import field_mm
from carwright.draw.strokes import bounds, ink
from carwright.lengths import number_in
from carwright.plan.model import Plan

__all__ = ["laid", "match_note", "template_pages"]

_OVERLAP_MM: Final = 8.0
"""Of a part of a split template beyond its match line, on paper."""

_TEMPLATE_WORDS_MM: Final = 94.0
"""Room for the words around two templates on one page: lines, heading, table's head, three frames."""

_CUT_WORDS_MM: Final = 52.0
_DRILL_WORDS_MM: Final = 60.0
_MATCH_MM: Final = 10.0
"""Of a match line and its words beyond the template."""


def template_pages(plan: Plan, paper: Paper, correction: Correction) -> list[Page]:
    """Return the sheets with the outline to cut to and the holes to drill, true to size."""
    shape = plan_shape(plan)
    outline, drilling = (floor_template(plan, shape, holes=holes) for holes in (False, True))
    cut, drill = _cut_words(plan), _drill_blocks(plan)
    hold = Hold("Cut and drill nothing from this page until all four bars measure true.")
    caution = Caution(
        "Many light strokes with a fresh blade, away from the hand that holds the rule; drill by hand, on wood, "
        "never held in the fingers."
    )
    box, boxed = bounds(ink(outline)), bounds(ink(drilling))
    wide, high = field_mm(paper)
    across, up = correction.x, correction.y
    waits = 1.5 * bool(holes_waiting(plan))
    rows = len(set(hole_letters(plan.holes).values()))
    both = (
        (box.height_mm + boxed.height_mm) * up
        + _TEMPLATE_WORDS_MM
        + 5.5 * rows
        + 12.0 * (waits + bool(plan.floor.needs))
    )
    if max(box.width_mm, boxed.width_mm) * across + 1.0 <= wide and both <= high:
        blocks = [
            *cut,
            Picture(outline, True),
            Heading("Drilling template"),
            Picture(drilling, True),
            *drill,
            caution,
            hold,
        ]
        return [page(plan, "Floor templates, true size", blocks)]
    pages: list[Page] = []
    for holes, title, before, after, words_mm in (
        (False, "Floor template, true size", cut, [], _CUT_WORDS_MM),
        (True, "Drilling template, true size", [], drill, _DRILL_WORDS_MM + 5.5 * rows + 12.0 * waits),
    ):
        make = partial(floor_template, plan, shape, holes=holes)
        landscape, pictures = laid(make, paper, correction, words_mm)
        for count, picture in enumerate(pictures):
            last = count == len(pictures) - 1
            part = f", part {count + 1} of {len(pictures)}" if len(pictures) > 1 else ""
            extra = [match_note(plan)] if len(pictures) > 1 else []
            blocks = [*(before if count == 0 else []), picture, *extra, *(after if last else []), caution, hold]
            pages.append(page(plan, title + part, blocks, landscape=landscape))
    return pages


def laid(
    make: Callable[..., Drawing], paper: Paper, correction: Correction, words_mm: float
) -> tuple[bool, list[Picture]]:
    """Return whether a template lies along the paper, and its parts: as few as can be with ``words_mm`` below them."""
    box = bounds(ink(make()))
    ways: list[tuple[bool, int, bool]] = []
    for landscape in (False, True):
        wide, high = field_mm(paper, landscape=landscape)
        mine = correction.on(landscape=landscape)
        whole = box.width_mm * mine.x + 1.0 <= wide
        room = wide / mine.x - 2 * _OVERLAP_MM - 1.0
        count = 1 if whole else math.ceil(box.width_mm / room)
        tall = (box.height_mm + (0.0 if whole else _MATCH_MM)) * mine.y + words_mm
        ways.append((tall > high, count, landscape))
    _, count, landscape = min(ways)
    if count == 1:
        return landscape, [Picture(make(), True)]
    step = box.width_mm / count
    edges = [box.left_mm + step * place for place in range(count + 1)]
    drawing = make(words_at=[(left + right) / 2 for left, right in pairwise(edges)])
    matched = _match_lines(edges[1:-1], box.bottom_mm, box.top_mm)
    marked = replace(drawing, marks=(*drawing.marks, *matched))
    over = [0.5, *[_OVERLAP_MM] * (count - 1), 0.5]
    windows = [(edges[place] - over[place], edges[place + 1] + over[place + 1]) for place in range(count)]
    return landscape, [Picture(marked, True, window_mm=window) for window in windows]


def _match_lines(lines: Sequence[float], low: float, high: float) -> list[Mark]:
    marks: list[Mark] = []
    for place, x in enumerate(lines):
        marks.append(Line(XY(x, low - 4.0), XY(x, high + 4.0), layer="template_inner", title=f"Match line {place + 1}"))
        marks.append(Text(XY(x, high + 4.6), f"match {place + 1}", anchor="middle", layer="text"))
    return marks


def match_note(plan: Plan) -> Note:
    """Return how the parts of a split template are laid together."""
    length = number(plan.floor.length, plan.car.info.units)
    return Note(
        "Lay the parts with their match lines on one another and the long centre line in one line; then measure the "
        f"floor over both parts with a rule before cutting: {length} {plan.car.info.units}."
    )


def _cut_words(plan: Plan) -> list[Block]:
    floor, units = plan.floor, plan.car.info.units
    if floor.stays:
        return [Prose("The floor is there and stays; this is its outline.")]
    words = (
        f"Cut to the middle of the line, finished {number(floor.length, units)} × {number(floor.width, units)} {units}."
    )
    if floor.layers:
        sizes = " + ".join(number(layer, units) for layer in floor.layers)
        count = "One piece" if len(floor.layers) == 1 else f"{len(floor.layers)} layers, underside first"
        words = f"{count}: {sizes} {units} sheet. {words}"
    blocks: list[Block] = [
        Prose(words),
        Note(
            "Drawn as seen from below: with the paper stuck on, the face under the paper is the underside of the floor."
        ),
    ]
    if floor.needs:
        blocks.append(Caution(f"Do not cut on a dashed line: needs {needs_words(floor.needs)}.", word="Not yet"))
    return blocks


def _drill_blocks(plan: Plan) -> list[Block]:
    units = plan.car.info.units
    holes = [hole for hole in plan.holes if hole.piece == "floor"]
    letters = hole_letters(plan.holes)
    rows: dict[str, tuple[str, ...]] = {}
    count: dict[str, int] = {}
    for hole in holes:
        letter = letters[hole.name]
        count[letter] = count.get(letter, 0) + 1
        percent = f"{hole.thread_percent.value:.0f} %" if hole.thread_percent is not None else ""
        turns = f"{hole.turns.value:.1f}" if hole.turns is not None else "?" if hole.tap else ""
        size = number_in(hole.diameter_mm.value, units)
        rows.setdefault(letter, (letter, hole.purpose, hole.drill, size, percent, turns))
    table = Table(
        ("Hole", "For", "Drill", "mm" if units == "mm" else "Inch", "Thread", "Turns held", "How many"),
        tuple((*row, str(count[letter])) for letter, row in rows.items()),
        (11.0, 0.0, 20.0, 16.0, 16.0, 22.0, 20.0),
        (False, False, False, True, True, True, True),
    )
    blocks: list[Block] = [table] if rows else []
    waits = holes_waiting(plan)
    if waits:
        words = "; ".join(waits).replace("do not drill yet: ", "")
        blocks.append(Caution(f"{words[:1].upper()}{words[1:]}.", word="Do not drill yet"))
    if holes and not plan.floor.stays and len(plan.floor.layers) > 1:
        blocks.append(
            Hold(
                "Solvent from the edges, flat between weights for 24 hours; then caliper the blank and enter it before "
                "any hole.",
                places=("floor, as measured",),
            )
        )
    return blocks
