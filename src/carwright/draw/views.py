"""From a plan to drawings and sheets of paper: which views there are, at which scale, and what stands beside them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final, Literal

from carwright.draw.bars import Correction
from carwright.draw.blocks import Block, Heading, Note, Page, Paper, Picture, Table
from carwright.draw.exploded import exploded
from carwright.draw.floorplan import floor_plan, floor_template
from carwright.draw.heads import SCALES, fits, page, plan_shape, room, said_scale, who_and_what
from carwright.draw.jigs import jig_sheets
from carwright.draw.labels import number
from carwright.draw.model import XY, Drawing, Group, Placed, Sheet, Text
from carwright.draw.outline import end_view, side_view
from carwright.draw.piecelist import piece_rows
from carwright.draw.pieceviews import piece_sheets
from carwright.draw.ridediagram import ride_diagram, ride_scale
from carwright.draw.section import sections
from carwright.draw.settingout import set_out_on_top, setting_out
from carwright.draw.settingpages import setting_pages
from carwright.draw.shift import shifted
from carwright.draw.strokes import bounds, ink
from carwright.draw.templatepages import template_pages
from carwright.draw.weightviews import forces_blocks, room_below, room_side, weight_drawing
from carwright.lengths import number_in
from carwright.plan.model import Plan
from carwright.plan.weighing import weigh_plan
from carwright.ride.model import EndRide
from carwright.working import Working

__all__ = [
    "VIEWS",
    "View",
    "drawing_of",
    "overview",
    "pages_of",
    "pieces_page",
    "plan_shape",
    "said_scale",
    "who_and_what",
]

View = Literal["plan", "side", "end", "section", "exploded", "ride", "weight", "template", "setting-out", "pieces"]
"""What can be drawn."""

VIEWS: Final[tuple[View, ...]] = (
    "plan",
    "side",
    "end",
    "section",
    "exploded",
    "ride",
    "weight",
    "template",
    "setting-out",
    "pieces",
)

_EDGE_MM: Final = 6.0
_APART_MM: Final = 10.0
_NAME_MM: Final = 3.8


def drawing_of(plan: Plan, view: View) -> Drawing:
    """Return one view for SVG and DXF: all at 1 : 1 but ride height and sections, which are at whole-number scales."""
    shape = plan_shape(plan)
    if view == "plan":
        return floor_plan(plan, shape)
    if view == "side":
        return side_view(plan.car, shape, plan.pieces)
    if view == "end":
        return end_view(plan.car, shape, plan.pieces)
    if view == "section":
        return sections(plan, shape, scale=_section_scale(plan, 170.0, 200.0))
    if view == "exploded":
        return exploded(plan)
    if view == "ride":
        return ride_diagram(plan, shape, scale=ride_scale(plan, shape, width_mm=170.0, height_mm=150.0))
    if view == "weight":
        return weight_drawing(weigh_plan(plan, curved=True), shape)
    if view == "pieces":
        return _all_pieces(plan)
    if view == "setting-out":
        return _both_faces(plan)
    return replace(floor_template(plan, shape, holes=True), name="template")


def _both_faces(plan: Plan) -> Drawing:
    """Return the underside's setting-out template and beneath it the top's, on one drawing."""
    shape = plan_shape(plan)
    under = setting_out(plan, shape)
    if not set_out_on_top(plan):
        return under
    top = setting_out(plan, shape, top=True)
    down = bounds(ink(under)).bottom_mm - _APART_MM - bounds(ink(top)).top_mm
    moved = Group(tuple(shifted(mark, 0.0, down) for mark in top.marks))
    return replace(under, marks=(*under.marks, moved))


def _all_pieces(plan: Plan) -> Drawing:
    """Return every piece but the floor true to size on one drawing, as high as it needs."""
    sheets = piece_sheets(plan, width_mm=250.0, height_mm=1e6)
    if sheets:
        return sheets[0]
    nothing = Text(XY(0.0, 0.0), "No piece can be told yet.", layer="text")
    return Drawing("pieces", "Pieces", "No piece can be told yet.", (nothing,))


def _section_scale(plan: Plan, width_mm: float, height_mm: float) -> float:
    shape = plan_shape(plan)
    scales = [scale for scale in SCALES if fits(sections(plan, shape, scale=scale), width_mm, height_mm)]
    return scales[0] if scales else SCALES[-1]


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
    plan: Plan,
    views: Sequence[View],
    *,
    paper: Paper = "letter",
    correction: Correction | None = None,
    bars: bool = True,
) -> tuple[Page, ...]:
    """Return the sheets for some views, in the order given.

    Args:
        plan: the plan.
        views: which of them.
        paper: the paper, which decides scales and where a long template is split.
        correction: the printer's; what is drawn true size must still fit with it.
        bars: whether every sheet carries the bars; without it only those with something true to size.
    """
    pages: list[Page] = []
    right = correction or Correction()
    for view in views:
        if view == "plan":
            pages.append(_plan_page(plan, paper, right, bars=bars))
        elif view in ("side", "end"):
            outlines = tuple(each for each in views if each in ("side", "end"))
            if view == outlines[0]:
                pages.append(_outline_page(plan, paper, outlines, right, bars=bars))
        elif view == "section":
            pages.append(_section_page(plan, paper, right, bars=bars))
        elif view == "exploded":
            pages.append(_exploded_page(plan, paper, right, bars=bars))
        elif view == "ride":
            pages.append(_ride_page(plan, paper))
        elif view == "weight":
            pages.append(_weight_page(plan, paper))
        elif view == "template":
            pages.extend(template_pages(plan, paper, right))
        elif view == "setting-out":
            pages.extend(setting_pages(plan, paper, right))
        else:
            pages.extend(_piece_pages(plan, paper, right, listed=bars))
    return tuple(pages)


def _plan_page(plan: Plan, paper: Paper, correction: Correction, *, bars: bool) -> Page:
    shape = plan_shape(plan)
    waiting = len(floor_plan(plan, shape).notes)
    scale, bars = _scale(
        [k for k in SCALES if k <= 3.0],
        lambda k, wide, high: fits(floor_plan(plan, shape, scale=k), wide, high - 24.0 - 5.0 * waiting),
        paper,
        correction,
        bars=bars,
    )
    drawing = floor_plan(plan, shape, scale=scale)
    blocks: list[Block] = [Picture(drawing, scale == 1.0), _floor_table(plan)]
    blocks.extend(Note(words) for words in drawing.notes)
    return page(plan, f"Floor from below, {said_scale(scale)}", blocks, landscape=True, bars=bars)


def _scale(
    scales: Sequence[float],
    holds: Callable[[float, float, float], bool],
    paper: Paper,
    correction: Correction,
    *,
    bars: bool,
    landscape: bool = True,
) -> tuple[float, bool]:
    """Return the greatest scale that fits a sheet, and whether the sheet has bars: at true size it always has."""
    for scale in scales:
        with_bars = bars or scale == 1.0
        if holds(scale, *room(paper, correction, landscape=landscape, bars=with_bars)):
            return scale, with_bars
    return scales[-1], bars


def pieces_page(plan: Plan, *, bars: bool = True) -> Page:
    """Return the list of what is cut."""
    rows = tuple(
        (row.name, str(row.many), row.along, row.across, row.thick, "", row.material) for row in piece_rows(plan)
    )
    heads = ("Piece", "How many", "Along", "Across", "Thick", "", "Material")
    table = Table(heads, rows, (0.0, 22.0, 22.0, 22.0, 22.0, 6.0, 34.0), (False, True, True, True, True, False, False))
    note = Note("Finished sizes; a wire's length is along its bends, its thickness its diameter.")
    return page(plan, "Pieces to make", (table, note), bars=bars)


def _piece_pages(plan: Plan, paper: Paper, correction: Correction, *, listed: bool) -> list[Page]:
    """Return the list of the pieces, where wanted, every piece true to size, and the jigs."""
    pages: list[Page] = []
    if listed and piece_rows(plan):
        pages.append(pieces_page(plan))
    wide, high = room(paper, correction, landscape=False)
    long = max((each.length_mm.value for each in plan.pieces if each.made and each.name != "floor"), default=0.0)
    landscape = long + 30.0 > wide
    if landscape:
        wide, high = room(paper, correction)
    wide, high = wide - 2.0, high - 14.0
    pieces, jigs = (make(plan, width_mm=wide, height_mm=high) for make in (piece_sheets, jig_sheets))
    together: list[Block] = []
    if pieces and len(jigs) == 1:
        tall = sum(bounds(ink(each)).height_mm for each in (pieces[-1], jigs[0]))
        if tall + _HEADED_MM <= high:
            together = [Heading("Jigs"), Picture(jigs[0], True, centred=False), Note(_SEEN["Jigs"])]
    for what, drawings in (("Pieces", pieces), ("Jigs", () if together else jigs)):
        for count, drawing in enumerate(drawings):
            part = f", sheet {count + 1} of {len(drawings)}" if len(drawings) > 1 else ""
            last = together if what == "Pieces" and count == len(drawings) - 1 else []
            blocks: tuple[Block, ...] = (Picture(drawing, True, centred=False), Note(_SEEN[what]), *last)
            title = "Pieces and jigs" if last else what
            pages.append(page(plan, f"{title}, true size{part}", blocks, landscape=landscape))
    return pages


_HEADED_MM: Final = 24.0
"""Room for the heading and the note of the jigs under the pieces."""

_SEEN: Final = {
    "Pieces": (
        "Seen from below, or from end B what stands across the car. Numbers above and beside a piece are distances "
        "from its left end and its upper edge."
    ),
    "Jigs": "Boards and plates are any offcut. A dot is a pin; fences are glued along the lines, outside of them.",
}


def _section_page(plan: Plan, paper: Paper, correction: Correction, *, bars: bool) -> Page:
    shape = plan_shape(plan)
    scale, bars = _scale(
        SCALES,
        lambda k, wide, high: fits(sections(plan, shape, scale=k), wide, high - 14.0),
        paper,
        correction,
        bars=bars,
        landscape=False,
    )
    note = Note(
        "Seen from end B. Hatched: cut, layer by layer. Thin: what stands behind. Dashed: not measured. Dash and two "
        "dots: the truck, for its place. The planes stand on the floor from below as X and Y."
    )
    blocks = (Picture(sections(plan, shape, scale=scale), scale == 1.0), note)
    return page(plan, f"Sections, {said_scale(scale)}", blocks, bars=bars)


def _exploded_page(plan: Plan, paper: Paper, correction: Correction, *, bars: bool) -> Page:
    wide, high = room(paper, correction, bars=bars)
    # not to be measured, so that it may fill the sheet: the greatest scale that fits, by halving, to a fiftieth
    low, scale = 0.1, 4.0
    while scale - low > 0.02:
        middle = (low + scale) / 2
        low, scale = (middle, scale) if fits(exploded(plan, scale=middle), wide, high - 10.0) else (low, middle)
    scale = low
    note = Note(
        "Underside up, as it lies on the bench, end B to the right; the chain lines are the trucks' pivots. Not to be "
        "measured."
    )
    return page(plan, "Exploded view", (Picture(exploded(plan, scale=scale)), note), landscape=True, bars=bars)


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


def _outline_page(plan: Plan, paper: Paper, views: Sequence[View], correction: Correction, *, bars: bool) -> Page:
    """Return side and end, or one of them, on one sheet at one scale."""
    shape = plan_shape(plan)

    def made(scale: float) -> list[Drawing]:
        return [
            side_view(plan.car, shape, plan.pieces, scale=scale)
            if view == "side"
            else end_view(plan.car, shape, plan.pieces, scale=scale)
            for view in views
        ]

    def holds(scale: float, wide: float, high: float) -> bool:
        boxes = [bounds(ink(drawing)) for drawing in made(scale)]
        tall = sum(box.height_mm + 6.0 for box in boxes)
        return max(box.width_mm for box in boxes) + 1.0 <= wide and tall <= high - 10.0

    scale, bars = _scale([k for k in SCALES if k <= 3.0], holds, paper, correction, bars=bars)
    note = Note("Dashed: hidden, or not measured and drawn at a usual size. Dash and two dots: missing from the car.")
    title = " and ".join(drawing.title for drawing in made(scale)).replace("and End", "and end")
    pictures = [Picture(drawing, scale == 1.0) for drawing in made(scale)]
    return page(plan, f"{title}, {said_scale(scale)}", (*pictures, note), landscape=True, bars=bars)


def _ride_page(plan: Plan, paper: Paper) -> Page:
    shape = plan_shape(plan)
    wide, high = room(paper, Correction(), landscape=False)
    drawing = ride_diagram(plan, shape, scale=ride_scale(plan, shape, width_mm=wide - 2.0, height_mm=high - 72.0))
    blocks: list[Block] = [
        Picture(drawing, drawing.scale == 1.0),
        Heading("Heights above the rail top"),
        _height_table(plan),
    ]
    for finding in plan.findings:
        if finding.check.startswith("coupler_height"):
            blocks.append(Note(f"{finding.verdict.capitalize()}: {finding.because} {finding.mend}".strip()))
    return page(plan, f"Ride height, {said_scale(drawing.scale)}", blocks)


def _weight_page(plan: Plan, paper: Paper) -> Page:
    shape, answer = plan_shape(plan), weigh_plan(plan, curved=True)
    wide, _ = room(paper, Correction(), landscape=False)
    blocks: list[Block] = []
    for each in (room_side(answer, shape, width_mm=wide, height_mm=62.0), room_below(answer, shape, width_mm=wide)):
        blocks += [Heading(each.title), Picture(each)]
    blocks += forces_blocks(answer, shape, wide)
    return page(plan, "Weight and balance", blocks)


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
