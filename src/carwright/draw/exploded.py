"""The underframe taken apart: pieces lifted off the floor in the order in which they go on, each with its name.

The car lies as it does on the bench, roof down: underside up, end B to the right. It is a true axonometric view
(parallel lines stay parallel): turned about the upright by ``_TURN_DEG``, tipped toward the reader by ``_TIP_DEG``.
Each storey is lifted clear of the one below; thin chain lines at the trucks' pivots say where it comes down.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from carwright.draw.labels import spread
from carwright.draw.model import XY, Drawing, Group, Layer, Line, Mark, Polyline, Text
from carwright.draw.piecelist import piece_rows
from carwright.draw.placed import Corner, around, corners_of, turned, underframe_of, words_of
from carwright.draw.settle import Tag, settled
from carwright.draw.strokes import Box
from carwright.pieces import Hole, Piece, Pose
from carwright.plan.model import Plan

__all__ = ["axonometric", "exploded"]

_TURN_DEG: Final = 12.0
_TIP_DEG: Final = 32.0
_CLEAR: Final = 0.34
"""Between two storeys, as a part of the floor's depth on paper."""

_STOREYS: Final[tuple[tuple[str, ...], ...]] = (
    ("screw_block", "retention_block"),
    ("floor",),
    ("bolster", "center_sill", "end_sill", "clip"),
    ("crossbearer", "crosstie"),
    ("train_line",),
    ("brake", "hand_brake", "step", "block_"),
    ("coupler_box",),
)
"""Beginnings of the names of what is on each storey, from the bench up; what fits none goes with the brake gear."""

_GAP_MM: Final = 4.6
_WIDE_FROM_MM: Final = 1.0
"""Pieces thinner than this on paper have thin edges, or they would be nothing but ink."""

_ROUND: Final = 20


@dataclass(frozen=True, slots=True)
class _Tip:
    """Where the line of a name begins, the name, and on which side it stands (1 right, -1 left)."""

    at: XY
    words: str
    side: float


@dataclass(frozen=True, slots=True)
class _Face:
    outline: tuple[XY, ...]
    depth: float


def axonometric(at: Corner, lift: float = 0.0) -> XY:
    """Return where a corner lies on the paper, the car upside down and lifted by ``lift`` mm, in mm of the model."""
    turn, tip = math.radians(_TURN_DEG), math.radians(_TIP_DEG)
    x, y, z = -at.x_mm, at.y_mm, lift - at.z_mm
    return XY(
        x * math.cos(turn) + y * math.sin(turn),
        (-x * math.sin(turn) + y * math.cos(turn)) * math.sin(tip) + z * math.cos(tip),
    )


def _away(x: float, y: float, z: float) -> float:
    """Return how far a place is from the reader along the line of sight; of two the greater is hidden."""
    turn, tip = math.radians(_TURN_DEG), math.radians(_TIP_DEG)
    return (x * math.sin(turn) + y * math.cos(turn)) * math.cos(tip) + z * math.sin(tip)


def _storey(piece: Piece) -> int:
    for place, starts in enumerate(_STOREYS):
        if piece.name.startswith(starts):
            return place
    return 5


def exploded(plan: Plan, *, scale: float = 1.0) -> Drawing:
    """Return the exploded view; pieces whose height is not known yet are left out."""
    pieces = [piece for piece in underframe_of(plan) if piece.pose.z_mm is not None and piece.thickness_mm is not None]
    alt = "The underframe taken apart, underside up, end B to the right, each piece over the place it goes to."
    if not pieces:
        nothing = Text(XY(0.0, 0.0), "Nothing to take apart yet: no piece has its height.", layer="text")
        return Drawing("exploded", "Exploded view", alt, (nothing,), scale)
    lifts = _lifts(pieces)
    marks: list[Mark] = list(_pivot_lines(plan, lifts))
    for piece in pieces:
        if _storey(piece) in lifts:
            marks += [_drawn(piece, pose, lifts[_storey(piece)], scale) for pose in (piece.pose, *piece.also)]
    order = {piece.name: place for place, piece in enumerate(pieces)}
    bodies = sorted(
        (mark for mark in marks if isinstance(mark, Group)),
        key=lambda mark: (_storey(pieces[order[mark.part]]), _height(pieces[order[mark.part]])),
    )
    lines = [mark for mark in marks if not isinstance(mark, Group)]
    names = _names(plan, pieces, lifts, scale)
    others = (*lines, *bodies, *names)
    letters = settled(tuple(_end_letters(pieces, lifts, scale)), others, scale)
    return Drawing("exploded", "Exploded view", alt, (*others, *letters), scale)


def _height(piece: Piece) -> float:
    """Return how high a piece lies on the bench: the lower on the car, the higher."""
    return max(-at.z_mm for at in corners_of(piece, piece.pose))


def _lifts(pieces: list[Piece]) -> dict[int, float]:
    """Return how far each storey that is there is lifted, mm: by as much as the one below it takes on the paper."""
    tip = math.radians(_TIP_DEG)
    across = max(abs(at.y_mm) for piece in pieces for at in corners_of(piece, piece.pose)) * 2
    step = across * math.sin(tip) * (1.0 + _CLEAR) / math.cos(tip)
    present = sorted({_storey(piece) for piece in pieces})
    return {storey: place * step for place, storey in enumerate(present)}


def _prism(piece: Piece, pose: Pose) -> Iterator[list[Corner]]:
    """Yield the faces of a piece, each as its corners."""
    assert piece.thickness_mm is not None
    thick = piece.thickness_mm.value
    if piece.form == "rod":
        radius, half = piece.width_mm.value / 2, piece.length_mm.value / 2
        turns = [2 * math.pi * place / _ROUND for place in range(_ROUND)]
        rings = [
            [turned(pose, x, radius * math.cos(a), radius + radius * math.sin(a)) for a in turns] for x in (-half, half)
        ]
        yield from rings
        return
    low = [turned(pose, at.x_mm.value, at.y_mm.value, 0.0) for at in piece.outline_mm]
    high = [turned(pose, at.x_mm.value, at.y_mm.value, thick) for at in piece.outline_mm]
    yield low
    yield high
    for a, b in zip(range(len(low)), (*range(1, len(low)), 0), strict=True):
        yield [low[a], low[b], high[b], high[a]]


def _drawn(piece: Piece, pose: Pose, lift: float, scale: float) -> Group:
    """Return one piece in one place: its outline, filled with the paper's white, and the edges of its near faces."""
    title = words_of(piece)
    if piece.path_mm:
        path = tuple(axonometric(at, lift) for at in corners_of(piece, pose))
        layer: Layer = "wire" if piece.name.startswith("train_line") else "thin"
        return Group((Polyline(path, False, layer=layer),), part=piece.name, title=title)
    pen: Layer = "outline" if _thickness(piece) * scale >= _WIDE_FROM_MM else "thin"
    if piece.needs:
        pen = "wanting"
    elif not piece.made and piece.name != "floor":
        pen = "phantom"
    faces = [_face(face, lift) for face in _prism(piece, pose)]
    faces.sort(key=lambda face: -face.depth)
    silhouette = around(tuple(axonometric(at, lift) for at in corners_of(piece, pose)))
    marks: list[Mark] = []
    if piece.form == "rod":
        marks.append(Polyline(silhouette, True, "paper", layer=pen))
        marks.append(Polyline(faces[-1].outline, True, "paper", layer=pen))
    else:
        marks += [Polyline(face.outline, True, "paper", layer=pen) for face in faces]
    marks += [Polyline(_ring(at, pose, piece, lift), layer=pen) for at in piece.holes if at.x_mm is not None]
    return Group(tuple(marks), part=piece.name, title=title)


def _ring(hole: Hole, pose: Pose, piece: Piece, lift: float) -> tuple[XY, ...]:
    assert hole.x_mm is not None
    assert piece.thickness_mm is not None
    x, y, radius = hole.x_mm.value, hole.y_mm.value, hole.diameter_mm.value / 2
    near = min((0.0, piece.thickness_mm.value), key=lambda z: _depth([turned(pose, x, y, z)]))
    turns = [2 * math.pi * place / _ROUND for place in range(_ROUND)]
    return tuple(
        axonometric(turned(pose, x + radius * math.cos(a), y + radius * math.sin(a), near), lift) for a in turns
    )


def _thickness(piece: Piece) -> float:
    return piece.thickness_mm.value if piece.thickness_mm is not None else 0.0


def _depth(corners: list[Corner]) -> float:
    return sum(_away(at.x_mm, at.y_mm, at.z_mm) for at in corners) / len(corners)


def _face(corners: list[Corner], lift: float) -> _Face:
    return _Face(tuple(axonometric(at, lift) for at in corners), _depth(corners))


def _pivot_lines(plan: Plan, lifts: dict[int, float]) -> Iterator[Mark]:
    """Yield the lines along which the storeys come down: at both trucks' pivots."""
    highest = max(lifts.values())
    for bolster in (piece for piece in plan.pieces if piece.name in ("bolster_a", "bolster_b")):
        if bolster.pose.z_mm is None:
            continue
        at = Corner(bolster.pose.x_mm.value, 0.0, bolster.pose.z_mm.value)
        low, high = axonometric(at, min(lifts.values()) - 3.0), axonometric(at, highest + 6.0)
        yield Line(low, high, layer="centre", title="Truck pivot")


def _names(plan: Plan, pieces: list[Piece], lifts: dict[int, float], scale: float) -> list[Mark]:
    """Return one name for each row of the list of pieces, beside the view, with a line to a piece of that row."""
    by_name = {piece.name: piece for piece in pieces}
    told: list[_Tip] = []
    for row in piece_rows(plan):
        mine = [by_name[name] for name in row.pieces if name in by_name]
        if mine:
            many = f", {row.many}" if row.many > 1 else ""
            told.append(_tip_of(mine, lifts, f"{row.name}{many}"))
    for piece in pieces:
        if piece.name == "coupler_box_b":
            told.append(_tip_of([piece], lifts, "Coupler boxes, as bought"))
        elif piece.name == "floor" and piece.quantity.value < 1:
            told.append(_tip_of([piece], lifts, "Floor, it stays"))
    far = [axonometric(at, 0.0).x_mm for piece in pieces for at in corners_of(piece, piece.pose)]
    left, right = min(far) - 10.0 / scale, max(far) + 10.0 / scale
    marks: list[Mark] = []
    for side, edge in ((-1.0, left), (1.0, right)):
        mine_here = sorted((tip for tip in told if tip.side == side), key=lambda tip: tip.at.y_mm)
        spots = spread([tip.at.y_mm * scale for tip in mine_here], _GAP_MM)
        for tip, spot in zip(mine_here, spots, strict=True):
            marks += _label(tip, XY(edge, spot / scale), scale)
    return marks


def _label(tip: _Tip, at: XY, scale: float) -> list[Mark]:
    """Return a name beside the view and the line from it to its piece."""
    s = tip.side
    start = XY(tip.at.x_mm + s * 1.0 / scale, tip.at.y_mm)
    jog = XY(at.x_mm - s * 6.0 / scale, tip.at.y_mm)
    line = Polyline(
        (start, jog, XY(at.x_mm - s * 2.5 / scale, at.y_mm), XY(at.x_mm - s * 0.8 / scale, at.y_mm)),
        False,
        layer="dimension",
    )
    anchor: Literal["start", "end"] = "start" if s > 0 else "end"
    return [line, Text(XY(at.x_mm, at.y_mm - 1.05 / scale), tip.words, anchor=anchor, layer="text")]


def _tip_of(mine: list[Piece], lifts: dict[int, float], words: str) -> _Tip:
    """Return the corner from which the line to the name is the shorter: the leftmost or the rightmost one."""
    places = [
        axonometric(at, lifts[_storey(piece)])
        for piece in mine
        for pose in (piece.pose, *piece.also)
        for at in corners_of(piece, pose)
    ]
    left, right = min(places, key=lambda at: at.x_mm), max(places, key=lambda at: at.x_mm)
    return _Tip(right, words, 1.0) if right.x_mm >= -left.x_mm - 1e-6 else _Tip(left, words, -1.0)


def _end_letters(pieces: list[Piece], lifts: dict[int, float], scale: float) -> Iterator[Tag]:
    """Yield the letters of both ends at the floor's corners, below them where nothing is in the way."""
    floor = next((piece for piece in pieces if piece.name == "floor"), pieces[0])
    lift = lifts[_storey(floor)]
    half = floor.length_mm.value / 2
    height = floor.pose.z_mm.value if floor.pose.z_mm is not None else 0.0
    low = -floor.width_mm.value / 2
    a, b = axonometric(Corner(half, low, height), lift), axonometric(Corner(-half, low, height), lift)
    for name, at, out in (("A", a, -1.0), ("B", b, 1.0)):
        text = Text(XY(at.x_mm, at.y_mm - 5.0 / scale), name, anchor="middle", bold=True, layer="text")
        x, y = at.x_mm * scale, at.y_mm * scale
        more = tuple(XY(x + out * off, y + up) for up in (-4.0, -2.0, 0.0, -6.0) for off in (2.5, 4.0, 5.5, -3.0))
        yield Tag(text, Box(x - 6.0, y - 8.0, x + 6.0, y + 2.0), more)
