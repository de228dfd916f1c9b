"""Pieces as solids in the frame of the floor, and the room that two of them share.

Every solid is a prism: an outline extruded along its own z and then turned and moved. A plate is one, a rod is a prism
of many sides along its own x, a wire one for each straight stretch; a frame is made of nothing else. The floor's frame
has its origin on the floor's underside at mid-car and z up, so that parts that touch on the drawing touch here too,
however the car stands on its trucks.

Two prisms are compared by the cheapest test that is exact: two boxes square to each other by their sides; parallel
ones by the area that their outlines share (a geometry library) times the height that they share; all others by a solid
library. Outlines of round parts are inscribed, so that parts that lie against each other do not meet.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

from carwright.pieces import Piece, Pose
from carwright.records import quickly_made
from carwright.working import Working

__all__ = [
    "TOUCH_MM",
    "Overlap",
    "Prism",
    "Turn",
    "Vector",
    "apart",
    "cylinder",
    "numbers_of",
    "overlap",
    "prisms_of",
    "solids_of",
    "turn_of",
]

Turn = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]
"""A rotation by rows."""

Vector = tuple[float, float, float]

_SIDES = 16
"""Sides of a round part: its volume comes out 2.6 percent small, which no verdict hangs on."""

_CIRCLE = tuple((math.cos(turn), math.sin(turn)) for turn in (2.0 * math.pi * i / _SIDES for i in range(_SIDES)))

_SQUARE = 1e-9
"""How far a rotation's entries may be from 0 and 1 and still count as square: some thousand rounding errors."""

TOUCH_MM = 0.005
"""Parts that share less than this in any direction only touch: half of what the finest caliper here can tell."""


@dataclass(frozen=True, slots=True)
class Overlap:
    """What two solids share: its volume, mm3, and its least extent, mm."""

    volume_mm3: float
    depth_mm: float


@quickly_made
@dataclass(frozen=True, slots=True, eq=False)
class Prism:
    """An outline in its own x and y, from ``low`` to ``high`` along its own z, turned and moved; mm.

    ``lows`` and ``highs`` are the corners of the box around it, in the floor's frame.
    """

    outline: tuple[tuple[float, float], ...]
    low: float
    high: float
    turn: Turn
    place: Vector
    lows: Vector
    highs: Vector

    @classmethod
    def made(cls, outline: Sequence[tuple[float, float]], low: float, high: float, turn: Turn, place: Vector) -> Prism:
        """Return the prism with the box around it."""
        lows, highs = [], []
        for (to_x, to_y, to_z), start in zip(turn, place, strict=True):
            plane = [to_x * x + to_y * y for x, y in outline]
            near, far = to_z * low, to_z * high
            lows.append(start + min(plane) + min(near, far))
            highs.append(start + max(plane) + max(near, far))
        return cls(tuple(outline), low, high, turn, place, _vector(lows), _vector(highs))

    @property
    def is_box(self) -> bool:
        """Return whether the outline is a rectangle along its own axes."""
        return len(self.outline) == 4 and len({round(x, 9) for x, _ in self.outline}) == 2 == len(
            {round(y, 9) for _, y in self.outline}
        )


def _vector(values: Sequence[float]) -> Vector:
    return (values[0], values[1], values[2])


@lru_cache(maxsize=1024)
def turn_of(rx_deg: float, ry_deg: float, rz_deg: float) -> Turn:
    """Return the rotation about the fixed axes x, then y, then z."""
    (sa, ca), (sb, cb), (sc, cc) = (_sin_cos(angle) for angle in (rx_deg, ry_deg, rz_deg))
    return (
        (cc * cb, cc * sb * sa - sc * ca, cc * sb * ca + sc * sa),
        (sc * cb, sc * sb * sa + cc * ca, sc * sb * ca - cc * sa),
        (-sb, cb * sa, cb * ca),
    )


def _sin_cos(angle_deg: float) -> tuple[float, float]:
    """Return sine and cosine, exact at quarter turns."""
    quarter = {0.0: (0.0, 1.0), 90.0: (1.0, 0.0), -90.0: (-1.0, 0.0), 180.0: (0.0, -1.0)}.get(angle_deg)
    return quarter or (math.sin(math.radians(angle_deg)), math.cos(math.radians(angle_deg)))


def _along(turn: Turn, x: float, y: float, z: float) -> Vector:
    return _vector([row[0] * x + row[1] * y + row[2] * z for row in turn])


def cylinder(start: Vector, axis: Vector, length: float, radius: float) -> Prism:
    """Return a round prism from ``start`` along a unit vector; mm."""
    side = (0.0, 0.0, 1.0) if abs(axis[2]) < 0.9 else (1.0, 0.0, 0.0)
    u = _unit(_cross(side, axis))
    v = _cross(axis, u)
    turn: Turn = (
        (u[0], v[0], axis[0]),
        (u[1], v[1], axis[1]),
        (u[2], v[2], axis[2]),
    )
    return Prism.made([(radius * c, radius * s) for c, s in _CIRCLE], 0.0, length, turn, start)


def _cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _unit(a: Vector) -> Vector:
    size = math.sqrt(a[0] * a[0] + a[1] * a[1] + a[2] * a[2])
    return (a[0] / size, a[1] / size, a[2] / size)


def numbers_of(piece: Piece, pose: Pose) -> dict[str, Working]:
    """Return the numbers that a piece at one of its places is made of, by symbol; empty where it hangs nowhere yet.

    "x0", "y0" ... are its corners, or a wire's course, "t" its thickness or diameter, "l" a rod's length, "px", "py",
    "pd" its place, down from the floor, and "rx", "ry", "rz" its turns on a level floor.
    """
    if piece.thickness_mm is None or pose.drop_mm is None:
        return {}
    inputs = {"t": piece.thickness_mm}
    if piece.form == "rod":
        inputs["l"] = piece.length_mm
    else:
        for n, point in enumerate(piece.path_mm or piece.outline_mm):
            inputs[f"x{n}"], inputs[f"y{n}"] = point.x_mm, point.y_mm
    turns = pose.level_deg or (pose.rx_deg, pose.ry_deg, pose.rz_deg)
    return (
        inputs
        | dict(zip(("rx", "ry", "rz"), turns, strict=True))
        | {
            "px": pose.x_mm,
            "py": pose.y_mm,
            "pd": pose.drop_mm,
        }
    )


def prisms_of(values: Mapping[str, float], *, form: str) -> tuple[Prism, ...]:
    """Return the prisms of a piece from its numbers.

    Args:
        values: of the symbols of ``numbers_of``.
        form: the piece's form.
    """
    turn = turn_of(values["rx"], values["ry"], values["rz"])
    place = (values["px"], values["py"], -values["pd"])
    radius = values["t"] / 2.0

    def at(x: float, y: float, z: float) -> Vector:
        dx, dy, dz = _along(turn, x, y, z)
        return (place[0] + dx, place[1] + dy, place[2] + dz)

    if form == "rod":
        start = at(-values["l"] / 2.0, 0.0, radius)
        return (cylinder(start, _along(turn, 1.0, 0.0, 0.0), values["l"], radius),)
    corners: list[tuple[float, float]] = []
    while f"x{len(corners)}" in values:
        corners.append((values[f"x{len(corners)}"], values[f"y{len(corners)}"]))
    if form == "wire":
        stretches = []
        for (x1, y1), (x2, y2) in pairwise(corners):
            length = math.hypot(x2 - x1, y2 - y1)
            axis = _along(turn, (x2 - x1) / length, (y2 - y1) / length, 0.0)
            stretches.append(cylinder(at(x1, y1, radius), axis, length, radius))
        return tuple(stretches)
    return (Prism.made(corners, 0.0, values["t"], turn, place),)


def solids_of(piece: Piece, pose: Pose) -> tuple[Prism, ...]:
    """Return a piece at one of its places as prisms; empty where it hangs nowhere yet."""
    numbers = numbers_of(piece, pose)
    return prisms_of({symbol: each.value for symbol, each in numbers.items()}, form=piece.form) if numbers else ()


def apart(first: Prism, second: Prism) -> bool:
    """Return whether the boxes around two prisms do not share more than a touch."""
    (ax, ay, az), (bx, by, bz) = first.lows, second.lows
    (afx, afy, afz), (bfx, bfy, bfz) = first.highs, second.highs
    return (
        ax + TOUCH_MM >= bfx
        or bx + TOUCH_MM >= afx
        or ay + TOUCH_MM >= bfy
        or by + TOUCH_MM >= afy
        or az + TOUCH_MM >= bfz
        or bz + TOUCH_MM >= afz
    )


def overlap(first: Prism, second: Prism) -> Overlap | None:
    """Return what two prisms share, or None where they share nothing or only touch."""
    if apart(first, second):
        return None
    relative = _relative(first.turn, second.turn)
    moved = _along(_transposed(first.turn), *(b - a for a, b in zip(first.place, second.place, strict=True)))
    flat = all(abs(entry) < _SQUARE or abs(abs(entry) - 1.0) < _SQUARE for row in relative for entry in row)
    if flat and first.is_box and second.is_box:
        return _boxes(first, Prism.made(second.outline, second.low, second.high, relative, moved))
    if abs(abs(relative[2][2]) - 1.0) < _SQUARE:
        return _parallel(first, second, relative, moved)
    return _solids(first, second)


def _relative(first: Turn, second: Turn) -> Turn:
    rows = [_vector([sum(first[k][i] * second[k][j] for k in range(3)) for j in range(3)]) for i in range(3)]
    return (rows[0], rows[1], rows[2])


def _transposed(turn: Turn) -> Turn:
    return (
        (turn[0][0], turn[1][0], turn[2][0]),
        (turn[0][1], turn[1][1], turn[2][1]),
        (turn[0][2], turn[1][2], turn[2][2]),
    )


def _boxes(first: Prism, second: Prism) -> Overlap | None:
    """Return what two boxes share; ``second`` is told in the first one's own axes."""
    xs, ys = [x for x, _ in first.outline], [y for _, y in first.outline]
    lows, highs = (min(xs), min(ys), first.low), (max(xs), max(ys), first.high)
    sides = [
        min(high, other_high) - max(low, other_low)
        for low, high, other_low, other_high in zip(lows, highs, second.lows, second.highs, strict=True)
    ]
    return _shared(sides[0] * sides[1] * sides[2], min(sides))


def _shared(volume: float, depth: float) -> Overlap | None:
    return Overlap(volume, depth) if depth > TOUCH_MM and volume > 0.0 else None


def _parallel(first: Prism, second: Prism, relative: Turn, moved: Vector) -> Overlap | None:
    heights = sorted(moved[2] + relative[2][2] * z for z in (second.low, second.high))
    height = min(first.high, heights[1]) - max(first.low, heights[0])
    if height <= TOUCH_MM:
        return None
    from shapely import Polygon

    outline = [
        (moved[0] + relative[0][0] * x + relative[0][1] * y, moved[1] + relative[1][0] * x + relative[1][1] * y)
        for x, y in second.outline
    ]
    common = _valid(Polygon(first.outline)).intersection(_valid(Polygon(outline)))
    if common.is_empty:
        return None
    left, low, right, high = common.bounds
    return _shared(common.area * height, min(height, right - left, high - low))


def _valid(outline: Any) -> Any:
    """Return an outline that does not cross itself: sizes that cannot be built may give one that does."""
    return outline if outline.is_valid else outline.buffer(0)


def _solids(first: Prism, second: Prism) -> Overlap | None:
    common = _solid(first) ^ _solid(second)
    volume = common.volume()
    if volume <= 0.0:
        return None
    # the shared body's extents along both parts' own axes and the car's: the least is how far they reach in
    depth = math.inf
    for turn in (first.turn, second.turn, _LEVEL):
        rows = _transposed(turn)
        box = common.transform([[*row, 0.0] for row in rows]).bounding_box()
        depth = min(depth, *(box[i + 3] - box[i] for i in range(3)))
    return _shared(volume, depth)


_LEVEL: Turn = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def _solid(prism: Prism) -> Any:
    from manifold3d import CrossSection, Manifold

    made = Manifold.extrude(CrossSection([list(prism.outline)]), prism.high - prism.low)
    place = [a + b for a, b in zip(prism.place, _along(prism.turn, 0.0, 0.0, prism.low), strict=True)]
    return made.transform([[*row, at] for row, at in zip(prism.turn, place, strict=True)])
