"""Pieces in their places: the outlines that they show from below, from the side and from the end.

A piece is a flat outline with a thickness, turned about x, then y, then z, and set down with the middle of its lower
face at its pose. What a view shows of it is the outline of its corners' shadow; a wire shows its centre line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from carwright.draw.model import XY, Group, Layer, Polyline
from carwright.pieces import Piece, Pose
from carwright.plan.model import Plan
from carwright.records import quickly_made

__all__ = [
    "Corner",
    "Shadow",
    "around",
    "below",
    "corners_of",
    "from_below",
    "from_end",
    "from_side",
    "gear_pieces",
    "mark_of",
    "on_top",
    "shadows",
    "turned",
    "underframe_of",
    "words_of",
]


_ROUND = 32
"""Corners that stand for a circle."""

_CIRCLE = tuple(
    (math.cos(2 * math.pi * place / _ROUND), math.sin(2 * math.pi * place / _ROUND)) for place in range(_ROUND)
)


@quickly_made
@dataclass(frozen=True, slots=True)
class Corner:
    """A corner in the car's frame, mm."""

    x_mm: float
    y_mm: float
    z_mm: float


@quickly_made
@dataclass(frozen=True, slots=True)
class Shadow:
    """What a view shows of one piece in one place; ``depth_mm`` is larger the nearer it is to the eye."""

    piece: Piece
    outline: tuple[XY, ...]
    closed: bool
    depth_mm: float


def from_below(at: Corner) -> XY:
    """Return a corner as seen from below, end B to the right and the left side up."""
    return XY(-at.x_mm, at.y_mm)


def from_side(at: Corner) -> XY:
    """Return a corner as seen from the car's left side, end B to the right, heights up."""
    return XY(-at.x_mm, at.z_mm)


def from_end(at: Corner) -> XY:
    """Return a corner as seen from end B, the car's left side to the left, heights up."""
    return XY(-at.y_mm, at.z_mm)


def turned(pose: Pose, x: float, y: float, z: float) -> Corner:
    """Return where a place in a piece's own frame is in the car's frame, mm."""
    return _turner(_Place.of(pose))(x, y, z)


class _Place(NamedTuple):
    """A pose as plain numbers, mm and degrees."""

    x: float
    y: float
    z: float
    rx: float
    ry: float
    rz: float

    @classmethod
    def of(cls, pose: Pose) -> _Place:
        z = pose.z_mm.value if pose.z_mm is not None else 0.0
        return cls(pose.x_mm.value, pose.y_mm.value, z, pose.rx_deg.value, pose.ry_deg.value, pose.rz_deg.value)


def _turner(place: _Place) -> Callable[[float, float, float], Corner]:
    """Return what turns places in a piece's own frame, x, y and z in mm, into the car's."""
    (cx, sx), (cy, sy), (cz, sz) = _turn(place.rx), _turn(place.ry), _turn(place.rz)
    left, aside, height = place.x, place.y, place.z

    def at(x: float, y: float, z: float) -> Corner:
        y, z = y * cx - z * sx, y * sx + z * cx
        x, z = x * cy + z * sy, -x * sy + z * cy
        return Corner(left + (x * cz - y * sz), aside + (x * sz + y * cz), height + z)

    return at


@lru_cache(maxsize=1024)
def _turn(degrees: float) -> tuple[float, float]:
    """Return cosine and sine; the corners of a piece are turned by the same few angles, a right one exactly."""
    quarters = degrees / 90.0
    if quarters.is_integer():
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters) % 4]
    return math.cos(math.radians(degrees)), math.sin(math.radians(degrees))


def corners_of(piece: Piece, pose: Pose) -> tuple[Corner, ...]:
    """Return the corners of a piece in one of its places, or the middle line of a wire."""
    thick = piece.thickness_mm.value if piece.thickness_mm is not None else 0.0
    if piece.path_mm or piece.form == "rod":
        at = _turner(_Place.of(pose))
        if piece.path_mm:
            return tuple(at(each.x_mm.value, each.y_mm.value, thick / 2) for each in piece.path_mm)
        half, radius = piece.length_mm.value / 2, piece.width_mm.value / 2
        return tuple(at(x, radius * c, radius + radius * s) for x in (-half, half) for c, s in _CIRCLE)
    return _plate_corners(
        tuple([(each.x_mm.value, each.y_mm.value) for each in piece.outline_mm]), thick, _Place.of(pose)
    )


@lru_cache(maxsize=512)
def _plate_corners(flat: tuple[tuple[float, float], ...], thick: float, place: _Place) -> tuple[Corner, ...]:
    at = _turner(place)
    return tuple(at(x, y, z) for z in (0.0, thick) for x, y in flat)


@lru_cache(maxsize=512)
def around(points: tuple[XY, ...]) -> tuple[XY, ...]:
    """Return the corners of the points' convex hull, anticlockwise (Andrew's monotone chain).

    Of a block that lies square most often: where the corners of the rectangle around all points are among them, it is
    that rectangle. Answers are kept: while one number of a car changes, most pieces stay where they are.
    """
    xs, ys = zip(*points, strict=True)
    left, low, right, high = min(xs), min(ys), max(xs), max(ys)
    if left < right and low < high and {(left, low), (right, low), (right, high), (left, high)} <= set(points):
        left, low, right, high = round(left, 6), round(low, 6), round(right, 6), round(high, 6)
        return XY(left, low), XY(right, low), XY(right, high), XY(left, high)
    order = sorted({(round(x, 6), round(y, 6)) for x, y in points})
    if len(order) < 3:
        return tuple(XY(*at) for at in order)

    def half(along: list[tuple[float, float]]) -> list[tuple[float, float]]:
        chain: list[tuple[float, float]] = []
        for at in along:
            x, y = at
            while len(chain) > 1:
                (ax, ay), (bx, by) = chain[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 1e-9:
                    break
                chain.pop()
            chain.append(at)
        return chain[:-1]

    return tuple(XY(*at) for at in (*half(order), *half(order[::-1])))


def shadows(
    pieces: tuple[Piece, ...], view: Callable[[Corner], XY], depth: Callable[[Corner], float]
) -> Iterator[Shadow]:
    """Yield each place of each piece as the view shows it, what is farthest from the eye first.

    Args:
        pieces: in any order.
        view: where a corner lies on the paper.
        depth: how near a corner is to the eye, mm.
    """
    found = []
    for piece in pieces:
        for pose in (piece.pose, *piece.also):
            corners = corners_of(piece, pose)
            points = tuple(map(view, corners))
            wire = bool(piece.path_mm)
            outline = points if wire else around(points)
            if len(outline) > 1:
                found.append(Shadow(piece, outline, not wire, max(map(depth, corners))))
    found.sort(key=lambda each: each.depth_mm)
    yield from found


def below(outline: tuple[XY, ...], level_mm: float, *, closed: bool) -> tuple[XY, ...]:
    """Return the part of a convex outline, or of a line, that lies below a level; empty where none does."""
    kept: list[XY] = []
    ends = zip(outline, (*outline[1:], outline[0]), strict=True) if closed else pairwise(outline)
    for start, end in ends:
        if start.y_mm <= level_mm:
            kept.append(start)
        if (start.y_mm - level_mm) * (end.y_mm - level_mm) < 0:
            share = (level_mm - start.y_mm) / (end.y_mm - start.y_mm)
            kept.append(XY(start.x_mm + share * (end.x_mm - start.x_mm), level_mm))
    if not closed and outline and outline[-1].y_mm <= level_mm:
        kept.append(outline[-1])
    return tuple(kept)


def underframe_of(plan: Plan) -> tuple[Piece, ...]:
    """Return the pieces without what is there already and stands wholly above the floor, inside the car."""
    floor = next((piece for piece in plan.pieces if piece.name == "floor"), None)
    if floor is None or floor.pose.z_mm is None or floor.thickness_mm is None:
        return plan.pieces
    top = floor.pose.z_mm.value + floor.thickness_mm.value
    return tuple(
        piece
        for piece in plan.pieces
        if piece.made or piece is floor or piece.pose.z_mm is None or piece.pose.z_mm.value < top
    )


def on_top(piece: Piece) -> bool:
    """Return whether a piece lies on top of the floor, where it is not seen from below."""
    return piece.name.startswith(("screw_block", "retention_block"))


def gear_pieces(plan: Plan) -> tuple[Piece, ...]:
    """Return the parts of the brake gear that have a place of their own: vessels, valve and levers, not the rods."""
    return tuple(
        piece
        for piece in plan.pieces
        if piece.made and piece.quantity.value >= 1 and piece.name.startswith("brake") and piece.form != "wire"
    )


def words_of(piece: Piece) -> str:
    """Return a piece's name as one says it."""
    words = piece.name.replace("_", " ").replace("center", "centre")
    if words.endswith((" a", " b")):
        words = words[:-1] + words[-1].upper()
    return words[:1].upper() + words[1:]


def mark_of(shadow: Shadow, *, hidden: bool = False) -> Group:
    """Return a piece's shadow as a mark: it hides what is behind it, a bought one is drawn as standing for position."""
    piece = shadow.piece
    layer: Layer = "thin"
    if piece.needs:
        layer = "wanting"
    elif hidden:
        layer = "hidden"
    elif piece.name.startswith("train_line"):
        layer = "wire"
    elif not piece.made:
        layer = "phantom"
    line = Polyline(shadow.outline, shadow.closed, "paper" if shadow.closed and not hidden else "none", layer=layer)
    return Group((line,), part=piece.name, title=words_of(piece))
