"""The floor from below: the plan with its dimensions, and the template.

Seen from below, end B to the right and the left side up: what is at x along the car stands at -x on the paper, what is
y to the left stands y up. Places along the car are told from mid-car, where the cross line is scribed, so every number
is one that the plan holds.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from carwright.car.model import Car
from carwright.draw.carshape import CarShape
from carwright.draw.geartable import gear_letters, gear_table
from carwright.draw.glyphs import width_mm
from carwright.draw.labels import needs_words, number, spread
from carwright.draw.model import (
    LETTER_MM,
    XY,
    CentreMark,
    Circle,
    Dimension,
    Drawing,
    Group,
    Layer,
    Line,
    Mark,
    Ordinate,
    Polyline,
    Role,
    Text,
)
from carwright.draw.outline import rectangle
from carwright.draw.placed import from_below, gear_pieces, mark_of, on_top, shadows
from carwright.draw.section import SECTION_LETTERS, section_places
from carwright.draw.settle import Tag, settled, spot_of
from carwright.draw.strokes import Box
from carwright.lengths import number_in
from carwright.pieces import Hole
from carwright.plan.model import Plan
from carwright.working import Working

__all__ = ["end_arrow", "floor_corners", "floor_plan", "floor_template", "hole_letters", "holes_waiting"]

_LABEL_GAP_MM = 4.2
_ROW_MM = 4.6
_MIDDLE_MM = 0.005
"""What is nearer to mid-car is told by the 0 there: half of the last place shown in millimetres."""

_FACE = "underside toward this paper"


@dataclass(frozen=True, slots=True)
class _Floor:
    """The floor's corners as seen from below, its half sizes, and whether they were measured."""

    corners: tuple[XY, ...]
    half_length: float
    half_width: float
    known: bool


def floor_corners(plan: Plan, shape: CarShape) -> _Floor:
    """Return the floor as seen from below; a rectangle of usual size, not known, where its size is not."""
    corners = tuple(XY(-at.x_mm.value, at.y_mm.value) for at in plan.floor.outline)
    if corners:
        half = max(abs(at.x_mm) for at in corners)
        wide = max(abs(at.y_mm) for at in corners)
        return _Floor(corners, half, wide, True)
    length = plan.floor.length.value if plan.floor.length is not None else shape.inside_length.mm
    width = plan.floor.width.value if plan.floor.width is not None else shape.inside_width.mm
    return _Floor(rectangle(-length / 2, -width / 2, length / 2, width / 2), length / 2, width / 2, False)


def hole_letters(holes: tuple[Hole, ...]) -> dict[str, str]:
    """Return a small letter for each hole, the same for holes of one drill and purpose."""
    letters: dict[tuple[str, str], str] = {}
    found: dict[str, str] = {}
    for hole in holes:
        kind = (hole.purpose, hole.drill)
        letters.setdefault(kind, "abcdefghjklmnprstuvwxyz"[len(letters) % 23])
        found[hole.name] = letters[kind]
    return found


def floor_plan(plan: Plan, shape: CarShape, *, scale: float = 1.0, legend: bool = True) -> Drawing:
    """Return the floor from below with its dimensions, bolsters, blocks, holes, and the body around it.

    Without ``legend`` the list of holes and gear beneath it is left out, for where a table tells it.
    """
    car, units = plan.car, plan.car.info.units
    floor = floor_corners(plan, shape)
    half_body, wide_body = shape.length.mm / 2, shape.width.mm / 2
    body_known = shape.length.known and shape.width.known
    marks: list[Mark] = [
        Polyline(
            rectangle(-half_body, -wide_body, half_body, wide_body),
            layer="thin" if body_known else "wanting",
            part="body",
            title="Body, over its sides and ends",
        ),
        Polyline(
            floor.corners,
            layer="outline" if floor.known else "wanting",
            role="cut",
            part="floor",
            title=_floor_title(plan),
        ),
        *_centre_lines(floor, scale),
    ]
    marks += _underside(plan)
    letters = hole_letters(plan.holes)
    marks += _old_holes(plan)
    for hole in plan.holes:
        if hole.piece == "floor":
            marks.extend(_hole(hole, shape, layer="outline"))
    for end in ("a", "b"):
        if not any(piece.name == f"coupler_box_{end}" for piece in plan.pieces):
            marks.extend(_coupler(car, shape, end))
    marks += _cutting_planes(plan, max(wide_body, floor.half_width), scale)
    edge = max(wide_body, floor.half_width)
    marks.extend(_ordinates(plan, shape, edge + 15.0 / scale, edge, scale))
    low = -edge - 9.0 / scale
    marks.append(
        Dimension(
            XY(-floor.half_length, -floor.half_width),
            XY(floor.half_length, -floor.half_width),
            "x",
            low,
            number(plan.floor.length, units),
            layer="dimension" if plan.floor.length is not None else "wanting",
            part="floor",
        )
    )
    far = max(half_body, floor.half_length)
    marks.append(
        Dimension(
            XY(-half_body, -wide_body),
            XY(half_body, -wide_body),
            "x",
            low - 8.0 / scale,
            number(car.body.length, units),
            letter="A",
            layer="dimension" if car.body.length is not None else "wanting",
            part="body",
            key="body.length",
        )
    )
    marks.append(
        Dimension(
            XY(-floor.half_length, -floor.half_width),
            XY(-floor.half_length, floor.half_width),
            "y",
            -far - 9.0 / scale,
            number(plan.floor.width, units),
            layer="dimension" if plan.floor.width is not None else "wanting",
            part="floor",
        )
    )
    width = car.body.width
    marks.append(
        Dimension(
            XY(half_body, -wide_body),
            XY(half_body, wide_body),
            "y",
            far + 13.0 / scale,
            number(width, units) if width is not None else "?",
            letter="B",
            layer="dimension" if width is not None else "wanting",
            part="body",
            key="body.width",
        )
    )
    marks += _end_letters(far + 3.5 / scale, edge, scale)
    tags = (*_gear_tags(plan, scale), *_hole_tags(plan, shape, letters, scale), *_member_tags(plan, floor, scale))
    marks += settled(tags, marks, scale)
    if legend:
        marks += _legend(plan, low - 17.0 / scale, -half_body, scale)
    alt = "The floor from below, end B to the right, with its size, bolsters, holes and the body around it."
    return Drawing("plan", "Floor, from below", alt, tuple(marks), scale, tuple(_wanting(plan)))


def floor_template(plan: Plan, shape: CarShape, *, holes: bool, words_at: Sequence[float] = (0.0,)) -> Drawing:
    """Return the floor true to size from below: the outline to cut to, and with ``holes`` where to drill.

    A hole whose place is not known is dashed at its usual place, without a centre to prick, and named. The words that
    say which face and which end it is stand about each of ``words_at`` (mm from mid-car, to the right).
    """
    floor = floor_corners(plan, shape)
    layer: Layer = "template" if floor.known else "wanting"
    marks: list[Mark] = [
        Polyline(floor.corners, layer=layer, role="cut", part="floor", title=_floor_title(plan)),
        *_centre_lines(floor, 1.0),
    ]
    if plan.floor.corner is not None and floor.known:
        marks.extend(_crossed_corners(plan, floor))
    if holes:
        marks.extend(_drilling(plan, shape, floor))
    marks.extend(_which_end(floor, words_at))
    what = "drilling template" if holes else "floor template"
    alt = f"The {what}, true to size, as seen from below, end B to the right."
    name = "drilling" if holes else "template"
    return Drawing(name, what.capitalize(), alt, tuple(marks))


def _floor_title(plan: Plan) -> str:
    units = plan.car.info.units
    return f"Floor, {number(plan.floor.length, units)} by {number(plan.floor.width, units)} {units} finished"


def _wanting(plan: Plan) -> list[str]:
    notes: list[str] = []
    if plan.floor.needs:
        notes.append(f"Floor: dashed, needs {needs_words(plan.floor.needs)}.")
    notes.extend(f"{words[:1].upper()}{words[1:]}." for words in holes_waiting(plan))
    return notes


def holes_waiting(plan: Plan) -> tuple[str, ...]:
    """Return one clause for each set of holes in the floor that wait for the same measurements."""
    waiting: dict[tuple[str, ...], list[str]] = {}
    for hole in plan.holes:
        if hole.piece == "floor" and (hole.x_mm is None or hole.needs):
            waiting.setdefault(hole.needs, []).append(_hole_words(hole))
    return tuple(
        f"{', '.join(names)}: do not drill yet: needs {needs_words(needs)}" for needs, names in waiting.items()
    )


def _hole_words(hole: Hole) -> str:
    words = hole.name.replace("_", " ")
    return words[:-1] + words[-1].upper() if words.endswith((" a", " b")) else words


def _centre_lines(floor: _Floor, scale: float) -> tuple[Mark, ...]:
    over = 4.0 / scale
    return (
        Line(XY(-floor.half_length - over, 0.0), XY(floor.half_length + over, 0.0), layer="centre", part="centre_line"),
        Line(XY(0.0, -floor.half_width - over), XY(0.0, floor.half_width + over), layer="centre", part="mid_car"),
    )


def _underside(plan: Plan) -> list[Mark]:
    """Return the pieces on and under the floor: the lower ones hide the upper, what lies on top of it is dashed."""
    above = tuple(piece for piece in plan.pieces if on_top(piece))
    under = tuple(piece for piece in plan.pieces if piece.name != "floor" and not on_top(piece))
    marks: list[Mark] = [mark_of(each, hidden=True) for each in shadows(above, from_below, lambda at: -at.z_mm)]
    return marks + [mark_of(each) for each in shadows(under, from_below, lambda at: -at.z_mm)]


def _place(hole: Hole, shape: CarShape) -> XY:
    """Return where a hole stands on the paper; at its usual place where its own is not known."""
    if hole.x_mm is not None:
        return XY(-hole.x_mm.value, hole.y_mm.value)
    end: Literal["a", "b"] = "a" if hole.name.endswith("_a") else "b"
    inset = shape.pivot_inset.at(end) if hole.name.startswith("coupler") else shape.inset.at(end)
    along = shape.length.mm / 2 - inset.mm
    return XY(-along if end == "a" else along, hole.y_mm.value)


def _hole(hole: Hole, shape: CarShape, *, layer: Layer) -> tuple[Mark, ...]:
    at, radius = _place(hole, shape), hole.diameter_mm.value / 2
    waits = hole.x_mm is None or bool(hole.needs)
    title = f"Hole for {_hole_words(hole)}: {hole.drill}, {hole.purpose}"
    role: Role = "show" if waits else "drill"
    circle = Circle(at, radius, layer="wanting" if waits else layer, role=role, part=hole.name, title=title)
    if waits:
        return (circle,)
    return circle, CentreMark(at, radius, 1.6, layer="template_inner", part=hole.name, title=title)


def _old_holes(plan: Plan) -> list[Mark]:
    """Return the old holes of the floor that are plugged or used, dashed, and round each its plug."""
    marks: list[Mark] = []
    for each in plan.repairs:
        if each.site.piece != "floor":
            continue
        at = XY(-each.site.x.value, each.site.y.value)
        title = f"Old hole: {each.site.what}"
        marks.append(Circle(at, each.site.diameter.value / 2, layer="hidden", part=each.site.name, title=title))
        if each.plug is None:
            continue
        half = each.plug.size.value / 2
        title = f"{each.plug.form.capitalize()} in {each.site.what}"
        if each.plug.form == "patch":
            corners = rectangle(at.x_mm - half, at.y_mm - half, at.x_mm + half, at.y_mm + half)
            marks.append(Polyline(corners, layer="thin", part=each.site.name, title=title))
        else:
            marks.append(Circle(at, half, layer="thin", part=each.site.name, title=title))
    return marks


def _letter(hole: Hole, at: XY, letter: str, scale: float) -> Text:
    """Return the hole's letter, beside it toward mid-car."""
    toward = -1.0 if at.x_mm > 0 else 1.0
    off = hole.diameter_mm.value / 2 + 0.7 / scale
    place = XY(at.x_mm + toward * off, at.y_mm + off)
    anchor: Literal["start", "end"] = "start" if toward > 0 else "end"
    return Text(place, letter, anchor=anchor, ground=True, layer="text", part=hole.name)


def _legend(plan: Plan, top: float, left: float, scale: float) -> list[Mark]:
    """Return what the dimensions leave unsaid, below them: kinds of holes at the left, other pieces from the middle."""
    letters = hole_letters(plan.holes)
    said: dict[str, str] = {}
    for hole in plan.holes:
        if hole.piece == "floor":
            said.setdefault(letters[hole.name], f"{hole.drill}, {hole.purpose}")
    marks: list[Mark] = []
    for row, (letter, words) in enumerate(said.items()):
        y = top - _ROW_MM * row / scale
        marks.append(Text(XY(left, y), letter, bold=True, layer="text"))
        marks.append(Text(XY(left + 3.4 / scale, y), words, layer="text"))
    widest = max((width_mm(words, LETTER_MM) for words in said.values()), default=0.0)
    pieces = _piece_words(plan)
    second = left + (3.4 + widest + 6.0) / scale
    if gear_pieces(plan):
        # holes and sizes under one another at the left, so that the brake gear's table has room beside them
        second = left
        widest = max(3.4 + widest, *(width_mm(words, LETTER_MM) for words in pieces), 0.0)
        marks += gear_table(plan, XY(left + (widest + 9.0) / scale, top), scale)
        top -= _ROW_MM * len(said) / scale
    for row, words in enumerate(pieces):
        marks.append(Text(XY(second, top - _ROW_MM * row / scale), words, layer="text"))
    return marks


def _piece_words(plan: Plan) -> tuple[str, ...]:
    """Return one line for each size of bolster and screw block, corner and lug notch."""
    units = plan.car.info.units
    found: list[str] = []
    for piece in plan.pieces:
        if not piece.name.startswith(("bolster", "screw_block")):
            continue  # the list of pieces tells the rest
        what = "Screw block, on top of the floor" if on_top(piece) else "Bolster"
        size = f"{number(piece.length_mm, units)} × {number(piece.width_mm, units)}"
        found.append(f"{what}: {size}, {number(piece.thickness_mm, units)} high")
    if plan.floor.corner is not None:
        along, across = (number(each, units) for each in plan.floor.corner)
        found.append(f"Corners off the floor: {along} along, {across} across")
    for lug in plan.car.body.lugs:
        if lug.length is not None and lug.depth is not None:
            found.append(f"Notch for {lug.name or 'a lug'}: {number(lug.length, units)} × {number(lug.depth, units)}")
    kinds = {piece.name.rpartition("_")[0] for piece in plan.pieces}
    told = [f"{weight} numbers: {kind}s" for weight, kind in _MEMBERS if kind in kinds]
    return tuple(dict.fromkeys((*found, *("; ".join(told).capitalize(),) * bool(told))))


_MEMBERS = (("bold", "crossbearer"), ("light", "crosstie"))
"""How the numbers of a frame's members across the car are set."""


def _hole_tags(plan: Plan, shape: CarShape, letters: Mapping[str, str], scale: float) -> Iterator[Tag]:
    """Yield the letter of each hole in the floor, with the hole that it is for."""
    for hole in plan.holes:
        if hole.piece == "floor":
            at, radius = _place(hole, shape), hole.diameter_mm.value / 2
            around = (XY(at.x_mm - radius, at.y_mm - radius), XY(at.x_mm + radius, at.y_mm + radius))
            yield Tag(_letter(hole, at, letters[hole.name], scale), spot_of(around, scale))


def _gear_tags(plan: Plan, scale: float) -> Iterator[Tag]:
    """Yield the letter of each part of the brake gear: in its middle, or beside one that is narrower."""
    letters = gear_letters(plan)
    for shadow in shadows(gear_pieces(plan), from_below, lambda at: -at.z_mm):
        letter, part = letters[shadow.piece.name], shadow.piece.name
        spot = spot_of(shadow.outline, scale)
        wide = width_mm(letter, LETTER_MM)
        if spot.width_mm > wide + 1.0 and spot.height_mm > LETTER_MM + 0.8:
            at = XY((spot.left_mm + spot.right_mm) / 2 / scale, (spot.bottom_mm + spot.top_mm - 1.6) / 2 / scale)
            yield Tag(Text(at, letter, anchor="middle", ground=True, layer="text", part=part), spot)
        else:
            at = XY((spot.right_mm + 0.6) / scale, (spot.top_mm - 2.2) / scale)
            yield Tag(Text(at, letter, ground=True, layer="text", part=part), spot)


def _member_tags(plan: Plan, floor: _Floor, scale: float) -> Iterator[Tag]:
    """Yield the number of each crossbearer and crosstie, between sill and edge; beside it anywhere will do."""
    for piece in plan.pieces:
        kind, _, label = piece.name.rpartition("_")
        if kind in ("crossbearer", "crosstie") and label.isdigit():
            bold = kind == "crossbearer"
            x, edge = -piece.pose.x_mm.value * scale, floor.half_width * scale
            at = XY((x + 1.0) / scale, -0.62 * floor.half_width)
            text = Text(at, label, bold=bold, size_mm=2.4, ground=True, layer="text", part=piece.name)
            beside = 1.6 + width_mm(label, 2.4, bold=bold) / 2
            levels = (-0.62, -0.8, -0.45, 0.62, 0.8, 0.45, -0.3, 0.3)
            more = tuple(XY(x + side * beside, level * edge) for level in levels for side in (1.0, -1.0))
            yield Tag(text, Box(x - 0.5, -edge, x + 0.5, edge), more)


def _cutting_planes(plan: Plan, edge: float, scale: float) -> list[Mark]:
    """Return the planes of the sections: a thick dash at each side, an arrow the way one looks, and the letter."""
    marks: list[Mark] = []
    for where, plane in section_places(plan).items():
        x, letter = -plane.x_mm, SECTION_LETTERS[where]
        for side in (-1.0, 1.0):
            near, far = side * (edge + 1.2 / scale), side * (edge + 4.6 / scale)
            tip = XY(x - 4.4 / scale, far)
            head = (tip, XY(tip.x_mm + 2.0 / scale, far + 0.45 / scale), XY(tip.x_mm + 2.0 / scale, far - 0.45 / scale))
            at = XY(x + 1.0 / scale, far - 1.05 / scale)
            marks += [
                Line(XY(x, near), XY(x, far), layer="outline", part=f"section_{where}", title=f"Section {letter}"),
                Line(XY(x, far), tip, layer="dimension", part=f"section_{where}"),
                Polyline(head, True, "ink", layer="dimension", part=f"section_{where}"),
                Text(at, letter, bold=True, layer="text", part=f"section_{where}"),
            ]
    return marks


def _coupler(car: Car, shape: CarShape, end: Literal["a", "b"]) -> tuple[Mark, ...]:
    if car.coupler.at(end).mount == "truck":
        return ()
    sign = 1.0 if end == "b" else -1.0
    tip = shape.length.mm / 2
    back = tip - shape.box_length.at(end).mm
    half = shape.box_width.at(end).mm / 2
    left, right = sorted((sign * back, sign * tip))
    known = shape.box_length.at(end).known and shape.box_width.at(end).known
    box = Polyline(rectangle(left, -half, right, half), layer="phantom" if known else "wanting")
    return (Group((box,), part=f"coupler_box_{end}", title=f"Coupler box {end.upper()}, for place"),)


def _ordinates(plan: Plan, shape: CarShape, line: float, foot: float, scale: float) -> list[Mark]:
    """Return the places of holes and cross members along the car, told from mid-car, their labels spread in a line."""
    units = plan.car.info.units
    told: list[tuple[float, str, bool, str]] = [(0.0, "0", True, "")]
    for hole in plan.holes:
        if hole.piece != "floor":
            continue
        waits = hole.x_mm is None
        text = "?" if hole.x_mm is None else _from_middle(hole.x_mm, units)
        told.append((_place(hole, shape).x_mm, text, not waits, hole.name))
    for piece in plan.pieces:
        # a cross member's flange stands about its middle
        if piece.name.startswith(("crossbearer_", "crosstie_")) and piece.name.endswith("_flange"):
            x = piece.pose.x_mm
            if abs(x.value) > _MIDDLE_MM:
                told.append((-x.value, _from_middle(x, units), True, piece.name.removesuffix("_flange")))
    told = sorted({(round(x, 6), text): (x, text, known, name) for x, text, known, name in told}.values())
    places = spread([each[0] * scale for each in told], _LABEL_GAP_MM)
    return [
        Ordinate(
            XY(x, foot),
            XY(place / scale, line),
            "x",
            text,
            layer="dimension" if known else "wanting",
            part=name,
        )
        for (x, text, known, name), place in zip(told, places, strict=True)
    ]


def _from_middle(x: Working, units: Literal["in", "mm"]) -> str:
    """Return a distance from mid-car; what stands alike on both sides is told alike, whatever its last bit."""
    if x.kind == "typed":
        return number(x, units).lstrip("-")
    return number_in(round(abs(x.value), 6), units)


def _end_letters(far: float, edge: float, scale: float) -> list[Mark]:
    drop = 1.5 / scale
    return [
        Text(XY(-far, edge + drop), "A", anchor="middle", bold=True, layer="text"),
        Text(XY(far, edge + drop), "B", anchor="middle", bold=True, layer="text"),
    ]


def _crossed_corners(plan: Plan, floor: _Floor) -> list[Mark]:
    assert plan.floor.corner is not None
    along, across = (each.value for each in plan.floor.corner)
    marks: list[Mark] = []
    for sx in (-1.0, 1.0):
        for sy in (-1.0, 1.0):
            tip = XY(sx * floor.half_length, sy * floor.half_width)
            inner = XY(tip.x_mm - sx * along, tip.y_mm - sy * across)
            marks.append(Line(XY(inner.x_mm, tip.y_mm), tip, layer="template_inner", title="Cut away"))
            marks.append(Line(XY(tip.x_mm, inner.y_mm), tip, layer="template_inner", title="Cut away"))
            marks.append(Line(inner, tip, layer="template_inner", title="Cut away"))
    return marks


def _which_end(floor: _Floor, words_at: Sequence[float]) -> list[Mark]:
    """Return the ends' letters, and at each place the arrow toward end B and the words that say which face this is."""
    inside = _words_inside(floor)
    if inside:
        far, level = floor.half_length - 7.0, floor.half_width - 5.0
        y = -floor.half_width + 2.8
    else:
        far, level, y = floor.half_length + 7.0, -1.05, -floor.half_width - 7.0
    marks: list[Mark] = [
        Text(XY(-far, level), "A", anchor="middle", bold=True, layer="text"),
        Text(XY(far, level), "B", anchor="middle", bold=True, layer="text"),
    ]
    for middle in words_at:
        marks += end_arrow(middle, y, _FACE)
    return marks


def end_arrow(middle: float, level: float, words: str) -> list[Mark]:
    """Return the arrow toward end B to the right of ``middle``, and to its left the words that say which face this is.

    Args:
        middle: mm from mid-car, to the right.
        level: of the words' foot, mm from the centre line.
        words: which face.
    """
    start, tip, shaft = middle + 15.6, middle + 27.0, level + 1.05
    head = (XY(tip, shaft), XY(tip - 2.6, shaft + 0.52), XY(tip - 2.6, shaft - 0.52))
    return [
        Text(XY(middle + 3.0, level), "to end B", layer="text"),
        Line(XY(start, shaft), XY(tip - 2.0, shaft), layer="dimension"),
        Polyline(head, True, "ink", layer="dimension", title="Toward end B"),
        Text(XY(middle - 3.0, level), words, anchor="end", layer="text"),
    ]


def _words_inside(floor: _Floor) -> bool:
    """Return whether the words fit inside the outline with air around them."""
    return width_mm(_FACE, LETTER_MM) + 16.0 <= floor.half_length and floor.half_width >= 9.0


def _drilling(plan: Plan, shape: CarShape, floor: _Floor) -> list[Mark]:
    letters = hole_letters(plan.holes)
    marks: list[Mark] = _old_holes(plan)
    for hole in plan.holes:
        if hole.piece != "floor":
            continue
        marks.extend(_hole(hole, shape, layer="template"))
        waits = hole.x_mm is None or bool(hole.needs)
        letter = f"{letters[hole.name]} ?" if waits else letters[hole.name]
        marks.append(_letter(hole, _place(hole, shape), letter, 1.0))
    low = -floor.half_width - (8.0 if _words_inside(floor) else 14.0)
    for row, words in enumerate(holes_waiting(plan)):
        at = XY(-floor.half_length, low - 5.0 * row)
        marks.append(Text(at, words, bold=True, layer="text"))
    return marks
