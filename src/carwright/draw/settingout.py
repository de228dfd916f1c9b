"""The setting-out template: where everything that is glued to the floor goes, true to size, to be pricked through.

Two drawings: the underside as seen from below, with bolsters, centre sill, the webs of crossbearers and crossties, and
the brake gear; and the top as seen from above, with the screw blocks. End B is to the right on both, so that either can
be stuck on its own face of the floor. Holes are not on it: the drilling template has them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from carwright.draw.carshape import CarShape
from carwright.draw.floorplan import end_arrow, floor_corners
from carwright.draw.glyphs import width_mm
from carwright.draw.labels import spread
from carwright.draw.model import LETTER_MM, XY, Drawing, Group, Layer, Line, Mark, Polyline, Text
from carwright.draw.placed import Corner, from_below, on_top, shadows, words_of
from carwright.draw.strokes import Box
from carwright.pieces import Piece
from carwright.plan.model import Plan

__all__ = ["Face", "from_above", "member_of", "set_out_on_top", "set_out_under", "setting_out"]

Face = Callable[[Corner], XY]
"""How a face of the floor is looked at: ``from_below`` or ``from_above``."""

_NOT_SET_OUT: Final = ("floor", "clip", "retention_block", "coupler_box", "train_line")
_ROW_MM: Final = 7.0
"""From the floor's edge to the row of names."""

_APART_MM: Final = 3.5
"""Between two names of a row."""

_NUMBER_MM: Final = 1.5
"""Width of a figure of a member's number."""

_INSIDE_FROM_MM: Final = 12.0
"""Half width of a floor from which the ends' letters stand inside its outline, in the corners."""


def from_above(at: Corner) -> XY:
    """Return a corner as seen from above, end B to the right and the left side down."""
    return XY(-at.x_mm, -at.y_mm)


def set_out_under(plan: Plan) -> tuple[Piece, ...]:
    """Return the pieces that are glued to the floor's underside or hang below it at a place of their own.

    Of the centre sill those that lie against the floor, of crossbearers and crossties the webs; wires, rods of wire and
    flanges find their place on other pieces.
    """
    under = [
        piece
        for piece in plan.pieces
        if piece.made
        and piece.quantity.value >= 1
        and piece.form != "wire"
        and not on_top(piece)
        and not piece.name.startswith(_NOT_SET_OUT)
        and not (piece.name.startswith(("crossbearer", "crosstie")) and piece.name.endswith("_flange"))
    ]
    lower = [piece for piece in under if piece.name.startswith("center_sill") and _lower_sill(piece)]
    upper = any(piece.name.startswith("center_sill") and piece not in lower for piece in under)
    return tuple(piece for piece in under if not (upper and piece in lower))


def _lower_sill(piece: Piece) -> bool:
    return "_bottom" in piece.name or "_flange" in piece.name


def set_out_on_top(plan: Plan) -> tuple[Piece, ...]:
    """Return the screw blocks, which are glued on top of the floor."""
    return tuple(
        piece
        for piece in plan.pieces
        if piece.name.startswith("screw_block") and piece.thickness_mm is not None and piece.thickness_mm.value > 0
    )


def member_of(piece: Piece) -> tuple[str, str]:
    """Return "crossbearer" or "crosstie" and its number, or two empty texts for any other piece."""
    kind, _, label = piece.name.rpartition("_")
    return (kind, label) if kind in ("crossbearer", "crosstie") and label.isdigit() else ("", "")


@dataclass(frozen=True, slots=True)
class _Name:
    """A name beside the floor, and the place at its piece from which the line to it starts."""

    tip: XY
    words: str


def setting_out(plan: Plan, shape: CarShape, *, top: bool = False, words_at: Sequence[float] = (0.0,)) -> Drawing:
    """Return the setting-out template of the floor's underside, or of its ``top``.

    Args:
        plan: the plan.
        shape: the car's outline.
        top: whether it is the top, as seen from above.
        words_at: about which places the words that say which face this is stand (mm from mid-car, to the right).
    """
    face: Face = from_above if top else from_below
    floor = floor_corners(plan, shape)
    outline = floor.corners if not top else tuple(XY(at.x_mm, -at.y_mm) for at in reversed(floor.corners))
    marks: list[Mark] = [
        Polyline(outline, layer="thin" if floor.known else "wanting", part="floor", title="Floor, finished size"),
        Line(XY(-floor.half_length - 4.0, 0.0), XY(floor.half_length + 4.0, 0.0), layer="centre", part="centre_line"),
        Line(XY(0.0, -floor.half_width - 3.0), XY(0.0, floor.half_width + 3.0), layer="centre", part="mid_car"),
    ]
    if top:
        blocks = tuple(_placed(set_out_on_top(plan), face))
        marks += [_mark(each, "template") for each in blocks]
        marks += [_block_name(each, floor.half_width) for each in blocks]
    else:
        marks += [_mark(each, "hidden") for each in _placed(set_out_on_top(plan), face)]
        under = set_out_under(plan)
        marks += [_mark(each, _pen(each.piece)) for each in _placed(under, face)]
        marks += _numbers(tuple(_placed(under, face)))
        for up in (True, False):
            marks += _names(_told(under, face, up=up), floor.half_width, up=up)
    inside = floor.half_width >= _INSIDE_FROM_MM
    far, level = (floor.half_length - 7.0, floor.half_width - 5.0) if inside else (floor.half_length + 7.0, -1.05)
    marks += [
        Text(XY(-far, level), "A", anchor="middle", bold=True, layer="text"),
        Text(XY(far, level), "B", anchor="middle", bold=True, layer="text"),
    ]
    low = -floor.half_width - (7.0 if top else _ROW_MM + 6.0)
    words = "top of the floor toward this paper" if top else "underside toward this paper"
    for middle in words_at:
        marks += end_arrow(middle, low, words)
    what = "top of the floor, from above" if top else "underside of the floor, from below"
    name = "setting-out-top" if top else "setting-out"
    alt = f"The setting-out template of the {what}, true to size, end B to the right."
    return Drawing(name, f"Setting-out template, {what}", alt, tuple(marks))


@dataclass(frozen=True, slots=True)
class _Spot:
    """The outline of one piece in one of its places."""

    piece: Piece
    outline: tuple[XY, ...]


def _placed(pieces: tuple[Piece, ...], face: Face) -> Iterator[_Spot]:
    for shadow in shadows(pieces, face, lambda at: -at.z_mm):
        yield _Spot(shadow.piece, shadow.outline)


def _pen(piece: Piece) -> Layer:
    """Return a piece's pen: fine for what is as narrow as a line, webs and the sill's sides."""
    return "template_inner" if member_of(piece)[0] or piece.name.startswith("center_sill") else "template"


def _mark(spot: _Spot, layer: Layer) -> Group:
    pen: Layer = "wanting" if spot.piece.needs else layer
    return Group((Polyline(spot.outline, layer=pen),), part=spot.piece.name, title=words_of(spot.piece))


def _block_name(spot: _Spot, half_width: float) -> Text:
    """Return whose screw a block holds, inside the floor: a truck's above the block, a coupler's below it."""
    low, high = min(at.y_mm for at in spot.outline), max(at.y_mm for at in spot.outline)
    words = words_of(spot.piece).removeprefix("Screw block ")
    x = (min(at.x_mm for at in spot.outline) + max(at.x_mm for at in spot.outline)) / 2
    free = half_width - high
    off = 1.2 if free >= 4.2 else free + 1.2
    if words.startswith("truck"):
        return Text(XY(x, high + off), words, anchor="middle", layer="text", part=spot.piece.name)
    edge = min(at.x_mm for at in spot.outline) + 0.8 if x < 0 else max(at.x_mm for at in spot.outline) - 0.8
    anchor: Literal["start", "end"] = "start" if x < 0 else "end"
    return Text(XY(edge, low - off - 2.1), words, anchor=anchor, layer="text", part=spot.piece.name)


def _numbers(spots: tuple[_Spot, ...]) -> list[Mark]:
    """Return the number of each crossbearer (bold) and crosstie (light) at both of its webs, where nothing else is."""
    marks: list[Mark] = []
    others = [_box_of(spot) for spot in spots if not member_of(spot.piece)[0]]
    for spot in spots:
        kind, label = member_of(spot.piece)
        if not kind:
            continue
        box = _box_of(spot)
        middle = (box.bottom_mm + box.top_mm) / 2
        boxes = [
            Box(left, level, left + _NUMBER_MM * len(label), level + 1.8)
            for part in (1.5, 1.2, 0.8, 0.6)
            for left in (box.right_mm + 0.8, box.left_mm - 0.8 - _NUMBER_MM * len(label))
            for level in (part * middle - 0.85,)
        ]
        free = next((each for each in boxes if not any(each.meets(other) for other in others)), boxes[0])
        at = XY(free.left_mm, free.bottom_mm)
        text = Text(at, label, size_mm=2.4, bold=kind == "crossbearer", layer="text")
        marks.append(Group((text,), part=spot.piece.name))
    return marks


def _box_of(spot: _Spot) -> Box:
    xs, ys = [at.x_mm for at in spot.outline], [at.y_mm for at in spot.outline]
    return Box(min(xs), min(ys), max(xs), max(ys))


def _told(pieces: tuple[Piece, ...], face: Face, *, up: bool) -> list[_Name]:
    """Return the names on one side of the drawing: bolsters above, the sill below, the rest on their own side."""
    found: list[_Name] = []
    sill = False
    for spot in _placed(pieces, face):
        name = spot.piece.name
        if member_of(spot.piece)[0]:
            continue
        xs, ys = [at.x_mm for at in spot.outline], [at.y_mm for at in spot.outline]
        middle = (max(ys) + min(ys)) / 2
        above = middle > 1e-6 or name.startswith("bolster")
        if name.startswith("center_sill"):
            if up or sill:
                continue
            sill = True
            found.append(_Name(XY(0.93 * min(xs), min(ys)), "centre sill"))
        elif above == up:
            words = words_of(spot.piece)
            tip = XY((min(xs) + max(xs)) / 2, max(ys) if up else min(ys))
            found.append(_Name(tip, words[:1].lower() + words[1:]))
    return sorted(found, key=lambda each: each.tip.x_mm)


def _names(names: list[_Name], half_width: float, *, up: bool) -> list[Mark]:
    """Return names in a row beside the floor, none touching, each with a line to its piece."""
    if not names:
        return []
    side = 1.0 if up else -1.0
    wide = [width_mm(each.words, LETTER_MM) for each in names]
    offsets = [0.0]
    for before, after in pairwise(wide):
        offsets.append(offsets[-1] + (before + after) / 2 + _APART_MM)
    spots = spread([each.tip.x_mm - off for each, off in zip(names, offsets, strict=True)], 0.0)
    marks: list[Mark] = []
    for each, spot, off in zip(names, spots, offsets, strict=True):
        at = spot + off
        row = side * (half_width + _ROW_MM)
        path = (each.tip, XY(each.tip.x_mm, side * (half_width + 2.5)), XY(at, row - side * 2.0), XY(at, row - side))
        marks.append(Polyline(path, False, layer="dimension"))
        level = row if up else row - 2.1
        marks.append(Text(XY(at, level), each.words, anchor="middle", layer="text"))
    return marks
