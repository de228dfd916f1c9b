"""From a plan to drawings and sheets of paper: which views there are, at which scale, and what stands beside them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise
from typing import Final, Literal

from carwright.car.model import Car, Ends
from carwright.draw.bars import Correction
from carwright.draw.carshape import CarShape, car_shape
from carwright.draw.floorplan import floor_plan, floor_template, hole_letters, holes_waiting
from carwright.draw.labels import needs_words, number
from carwright.draw.model import XY, Drawing, Line, Mark, Placed, Sheet, Text
from carwright.draw.outline import end_view, side_view
from carwright.draw.pdf import Block, Caution, Heading, Hold, Note, Page, Paper, Picture, Prose, Table, field_mm
from carwright.draw.piecelist import piece_rows
from carwright.draw.ridediagram import ride_diagram, ride_scale
from carwright.draw.strokes import bounds, ink
from carwright.lengths import number_in
from carwright.plan.model import Plan
from carwright.ride.model import EndRide
from carwright.working import Working

__all__ = ["VIEWS", "View", "drawing_of", "overview", "pages_of", "plan_shape", "said_scale", "who_and_what"]

View = Literal["plan", "side", "end", "ride", "template"]
"""What can be drawn."""

VIEWS: Final[tuple[View, ...]] = ("plan", "side", "end", "ride", "template")

_OVERLAP_MM: Final = 8.0
"""Of a part of a split template beyond its match line, on paper."""

_TEMPLATE_WORDS_MM: Final = 94.0
"""Room for the words around two templates on one page: lines, heading, table's head, three frames."""

_CUT_WORDS_MM: Final = 52.0
_DRILL_WORDS_MM: Final = 60.0
_MATCH_MM: Final = 10.0
"""Of a match line and its words beyond the template."""

_EDGE_MM: Final = 6.0
_APART_MM: Final = 10.0
_NAME_MM: Final = 3.8

_SCALES: Final = (3.0, 2.0, 1.0, 1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 8, 1 / 10)


def plan_shape(plan: Plan) -> CarShape:
    """Return the car's outline with the heights that the plan found."""
    a, b = plan.ride.ends.a, plan.ride.ends.b
    return car_shape(
        plan.car,
        floor_underside=Ends(a.floor_underside, b.floor_underside),
        coupler_height=Ends(a.coupler_height, b.coupler_height),
    )


def drawing_of(plan: Plan, view: View) -> Drawing:
    """Return one view for SVG and DXF: all at 1 : 1 but the ride-height diagram, which is at a whole-number scale."""
    shape = plan_shape(plan)
    if view == "plan":
        return floor_plan(plan, shape)
    if view == "side":
        return side_view(plan.car, shape, plan.pieces)
    if view == "end":
        return end_view(plan.car, shape)
    if view == "ride":
        return ride_diagram(plan, shape, scale=ride_scale(plan, shape, width_mm=170.0, height_mm=150.0))
    return replace(floor_template(plan, shape, holes=True), name="template")


def overview(plan: Plan) -> Sheet:
    """Return side, end, plan and ride height on one sheet as large as they need, for a screen.

    Third-angle arrangement: the end beside the side view at its B end, the plan from below beneath it, mid-car over
    mid-car. Each view has its name at its top left.
    """
    side, end, floor, ride = (_named(drawing_of(plan, view)) for view in ("side", "end", "plan", "ride"))
    around = {drawing.name: bounds(ink(drawing)) for drawing in (side, end, floor, ride)}
    left = _EDGE_MM - min(around["side"].left_mm, around["plan"].left_mm)
    right = left + max(around["side"].right_mm, around["plan"].right_mm)
    places = {"ride": XY(_EDGE_MM - around["ride"].left_mm, _EDGE_MM - around["ride"].bottom_mm)}
    over = places["ride"].y_mm + around["ride"].top_mm + _APART_MM
    places["plan"] = XY(left, over - around["plan"].bottom_mm)
    over = places["plan"].y_mm + around["plan"].top_mm + _APART_MM
    places["side"] = XY(left, over - min(around["side"].bottom_mm, around["end"].bottom_mm))
    places["end"] = XY(right + _APART_MM - around["end"].left_mm, places["side"].y_mm)
    views = tuple(Placed(drawing, places[drawing.name]) for drawing in (side, end, floor, ride))
    width = max(places[name].x_mm + box.right_mm for name, box in around.items()) + _EDGE_MM
    height = max(places[name].y_mm + box.top_mm for name, box in around.items()) + _EDGE_MM
    return Sheet("drawings", width, height, views)


def _named(drawing: Drawing) -> Drawing:
    box = bounds(ink(drawing))
    at = XY(box.left_mm / drawing.scale, (box.top_mm + 2.0) / drawing.scale)
    name = Text(at, drawing.title, size_mm=_NAME_MM, bold=True, layer="text")
    return replace(drawing, marks=(*drawing.marks, name))


def pages_of(
    plan: Plan, views: Sequence[View], *, paper: Paper = "letter", correction: Correction | None = None
) -> tuple[Page, ...]:
    """Return the sheets for some views, in the order given.

    Args:
        plan: the plan.
        views: which of them.
        paper: the paper, which decides scales and where a long template is split.
        correction: the printer's; what is drawn true size must still fit with it.
    """
    pages: list[Page] = []
    right = correction or Correction()
    for view in views:
        if view == "plan":
            pages.append(_plan_page(plan, paper, right))
            if len(plan.pieces) > 1:
                pages.append(_pieces_page(plan))
        elif view in ("side", "end"):
            outlines = tuple(each for each in views if each in ("side", "end"))
            if view == outlines[0]:
                pages.append(_outline_page(plan, paper, outlines, right))
        elif view == "ride":
            pages.append(_ride_page(plan, paper))
        else:
            pages.extend(_template_pages(plan, paper, right))
    return tuple(pages)


def who_and_what(car: Car) -> tuple[str, str]:
    """Return the two lines at the head of a sheet: the car's name, and its scale and units."""
    ratio = f", 1 : {car.info.ratio.value:g}" if car.info.ratio is not None else ""
    units = "inches" if car.info.units == "in" else "millimetres"
    return car.info.name or "Car without a name", f"{car.info.scale}{ratio}, lengths in {units}"


def said_scale(scale: float) -> str:
    """Return a scale in words: ``true size``, ``3 : 1``, ``1 : 2``."""
    if math.isclose(scale, 1.0):
        return "true size"
    return f"{scale:.0f} : 1" if scale > 1.0 else f"1 : {1.0 / scale:.0f}"


def _page(plan: Plan, title: str, blocks: Sequence[Block], *, landscape: bool = False) -> Page:
    who, what = who_and_what(plan.car)
    return Page(title, who, what, tuple(blocks), landscape)


def _fits(drawing: Drawing, width: float, height: float) -> bool:
    box = bounds(ink(drawing))
    return box.width_mm + 1.0 <= width and box.height_mm + 1.0 <= height


def _room(paper: Paper, correction: Correction) -> tuple[float, float]:
    """Return the room on a sheet lying along, for drawings that the correction may enlarge."""
    wide, high = field_mm(paper, landscape=True)
    return wide / max(correction.x, 1.0), high / max(correction.y, 1.0)


def _plan_page(plan: Plan, paper: Paper, correction: Correction) -> Page:
    shape = plan_shape(plan)
    wide, high = _room(paper, correction)
    scale = next((k for k in _SCALES if _fits(floor_plan(plan, shape, scale=k), wide, high - 32.0)), _SCALES[-1])
    drawing = floor_plan(plan, shape, scale=scale)
    blocks: list[Block] = [Picture(drawing, scale == 1.0), _floor_table(plan)]
    blocks.extend(Note(words) for words in drawing.notes)
    return _page(plan, f"Floor from below, {said_scale(scale)}", blocks, landscape=True)


def _pieces_page(plan: Plan) -> Page:
    """Return the list of what is cut besides the floor's layers."""
    rows = tuple(
        (row.name, str(row.many), row.along, row.across, row.thick, "", row.material) for row in piece_rows(plan)
    )
    heads = ("Piece", "How many", "Along", "Across", "Thick", "", "Material")
    table = Table(heads, rows, (0.0, 22.0, 22.0, 22.0, 22.0, 6.0, 34.0), (False, True, True, True, True, False, False))
    note = Note("Finished sizes; a wire's length is along its bends, its thickness its diameter.")
    return _page(plan, "Pieces to make", (table, note))


def _floor_table(plan: Plan) -> Table:
    floor, units = plan.floor, plan.car.info.units
    layers = " + ".join(number(layer, units) for layer in floor.layers) or "?"
    if floor.stays:
        rows: tuple[tuple[str, ...], ...] = (
            (
                "As found, it stays",
                number(floor.length, units),
                number(floor.width, units),
                number(floor.thickness, units),
            ),
        )
    else:
        thickness = f"{layers} = {number(floor.thickness, units)}" if len(floor.layers) > 1 else layers
        rows = (
            ("Cut", number(floor.cut_length, units), number(floor.cut_width, units), thickness),
            (
                "Finished",
                number(floor.length, units),
                number(floor.width, units),
                f"wanted {number(floor.wanted_thickness, units)}",
            ),
        )
    heads = ("Floor", "Length", "Width", "", "Thickness, underside first")
    spaced = tuple((*row[:3], "", row[3]) for row in rows)
    return Table(heads, spaced, (40.0, 28.0, 28.0, 8.0, 0.0), (False, True, True, False, False))


def _outline_page(plan: Plan, paper: Paper, views: Sequence[View], correction: Correction) -> Page:
    """Return side and end, or one of them, on one sheet at one scale."""
    shape = plan_shape(plan)
    wide, high = _room(paper, correction)

    def made(scale: float) -> list[Drawing]:
        return [
            side_view(plan.car, shape, plan.pieces, scale=scale)
            if view == "side"
            else end_view(plan.car, shape, scale=scale)
            for view in views
        ]

    def fits(scale: float) -> bool:
        boxes = [bounds(ink(drawing)) for drawing in made(scale)]
        tall = sum(box.height_mm + 6.0 for box in boxes)
        return max(box.width_mm for box in boxes) + 1.0 <= wide and tall <= high - 10.0

    scale = next((k for k in _SCALES if fits(k)), _SCALES[-1])
    note = Note("Dashed: hidden, or not measured and drawn at a usual size. Dash and two dots: missing from the car.")
    title = " and ".join(drawing.title for drawing in made(scale)).replace("and End", "and end")
    pictures = [Picture(drawing, scale == 1.0) for drawing in made(scale)]
    return _page(plan, f"{title}, {said_scale(scale)}", (*pictures, note), landscape=True)


def _ride_page(plan: Plan, paper: Paper) -> Page:
    shape = plan_shape(plan)
    wide, high = field_mm(paper)
    drawing = ride_diagram(plan, shape, scale=ride_scale(plan, shape, width_mm=wide - 2.0, height_mm=high - 72.0))
    blocks: list[Block] = [
        Picture(drawing, drawing.scale == 1.0),
        Heading("Heights above the rail top"),
        _height_table(plan),
    ]
    for finding in plan.findings:
        if finding.check.startswith("coupler_height"):
            blocks.append(Note(f"{finding.verdict.capitalize()}: {finding.because} {finding.mend}".strip()))
    return _page(plan, f"Ride height, {said_scale(drawing.scale)}", blocks)


def _height_table(plan: Plan) -> Table:
    units = plan.car.info.units
    a, b = plan.ride.ends.a, plan.ride.ends.b

    def row(name: str, take: str, *, signed: bool = False) -> tuple[str, str, str]:
        def told(ride: EndRide) -> str:
            found: Working | None = getattr(ride, take)
            if found is None:
                return "?"
            return number_in(found.value, units, signed=True).replace("-", "\u2212") if signed else number(found, units)

        return name, told(a), told(b)

    rows = (
        row("Floor underside, at the truck", "floor_underside"),
        row("Mounting face, at the pulling face", "mounting_face"),
        row("Pocket top" if a.measured_at == "pocket top" else "Coupler centre line", "coupler_height"),
        row("Where it should stand", "target"),
        row("Error", "error", signed=True),
        row("Doubt, worst case ±", "worst_case"),
        row("Doubt, root sum square ±", "rss"),
    )
    return Table(("", "End A", "End B"), rows, (0.0, 26.0, 26.0), (False, True, True))


def _template_pages(plan: Plan, paper: Paper, correction: Correction) -> list[Page]:
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
        return [_page(plan, "Floor templates, true size", blocks)]
    pages: list[Page] = []
    for holes, title, before, after, words_mm in (
        (False, "Floor template, true size", cut, [], _CUT_WORDS_MM),
        (True, "Drilling template, true size", [], drill, _DRILL_WORDS_MM + 5.5 * rows + 12.0 * waits),
    ):
        make = partial(floor_template, plan, shape, holes=holes)
        landscape, pictures = _laid(make, paper, correction, words_mm)
        for count, picture in enumerate(pictures):
            last = count == len(pictures) - 1
            part = f", part {count + 1} of {len(pictures)}" if len(pictures) > 1 else ""
            extra = [_match_note(plan)] if len(pictures) > 1 else []
            blocks = [*(before if count == 0 else []), picture, *extra, *(after if last else []), caution, hold]
            pages.append(_page(plan, title + part, blocks, landscape=landscape))
    return pages


def _laid(
    make: Callable[..., Drawing], paper: Paper, correction: Correction, words_mm: float
) -> tuple[bool, list[Picture]]:
    """Return whether a template lies along the paper, and its parts: as few as can be with ``words_mm`` below them."""
    box = bounds(ink(make()))
    ways: list[tuple[bool, int, bool]] = []
    for landscape in (False, True):
        wide, high = field_mm(paper, landscape=landscape)
        whole = box.width_mm * correction.x + 1.0 <= wide
        room = wide / correction.x - 2 * _OVERLAP_MM - 1.0
        count = 1 if whole else math.ceil(box.width_mm / room)
        tall = (box.height_mm + (0.0 if whole else _MATCH_MM)) * correction.y + words_mm
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


def _match_note(plan: Plan) -> Note:
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
                "any hole. Floor, as measured: ____________"
            )
        )
    return blocks
