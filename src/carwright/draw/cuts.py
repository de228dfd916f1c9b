"""Pieces cut by an upright plane across the car: what of each layer the saw would show.

A flat piece is a prism: its outline, less its holes, between the faces of each of its layers. In the piece's own frame
the plane is n . p = d. Where it runs along the plate's thickness it meets the outline in a line and the cut is that
line times the thickness; else each face meets the plane in a line, and the cut is what of the outline lies between the
two. A rod is cut in a circle, a wire in a dot.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

from carwright.draw.model import XY
from carwright.draw.placed import Corner, from_end, turned
from carwright.pieces import Hole, Piece, Pose

__all__ = ["Cut", "cuts_at"]

_PARALLEL: Final = 1e-9
"""Below this a direction has no part along another: the rounding of a double."""

_FAR_MM: Final = 1e4
_ROUND: Final = 48
"""Corners of a circle in a cut."""


@dataclass(frozen=True, slots=True)
class Cut:
    """What the plane shows of one layer of a piece, as seen from end B.

    Args:
        piece: that is cut.
        layer: which of its layers, the lowest 0.
        outline: closed.
        holes: closed outlines of what is not there.
        wire: whether it is a wire, to be drawn solid.
    """

    piece: Piece
    layer: int
    outline: tuple[XY, ...]
    holes: tuple[tuple[XY, ...], ...] = ()
    wire: bool = False

    @property
    def low_mm(self) -> float:
        """Return its lowest height above the rail."""
        return min(at.y_mm for at in self.outline)

    @property
    def high_mm(self) -> float:
        """Return its greatest height above the rail."""
        return max(at.y_mm for at in self.outline)


def cuts_at(pieces: Sequence[Piece], holes: Sequence[Hole], x_mm: float) -> tuple[Cut, ...]:
    """Return every cut of the plane at ``x_mm`` from mid-car, toward A positive.

    Args:
        pieces: with their poses; one without a height is left out.
        holes: all of the plan's; one through the floor goes on through the screw block on top of it.
        x_mm: where the plane is.
    """
    found: list[Cut] = []
    for piece in pieces:
        for pose in (piece.pose, *piece.also):
            if pose.z_mm is None or piece.thickness_mm is None:
                continue
            if piece.path_mm:
                found.extend(_wire(piece, pose, x_mm))
            elif piece.form == "rod":
                found.extend(_rod(piece, pose, x_mm))
            else:
                found.extend(_plate(piece, pose, _holes_of(piece, holes), x_mm))
    return tuple(found)


def _holes_of(piece: Piece, holes: Sequence[Hole]) -> list[tuple[float, float, float]]:
    """Return place and radius of each hole of a piece, in its own frame."""
    own = [(h.x_mm.value, h.y_mm.value, h.diameter_mm.value / 2) for h in piece.holes if h.x_mm is not None]
    for hole in holes:
        if piece.name == f"screw_block_{hole.name}" and hole.x_mm is not None:
            along, across = hole.x_mm.value - piece.pose.x_mm.value, hole.y_mm.value - piece.pose.y_mm.value
            own.append((along, across, hole.diameter_mm.value / 2))
    return own


def _normal(pose: Pose) -> tuple[float, float, float]:
    """Return the car's lengthwise direction in the piece's own frame."""
    zero = turned(pose, 0.0, 0.0, 0.0).x_mm
    return (
        turned(pose, 1.0, 0.0, 0.0).x_mm - zero,
        turned(pose, 0.0, 1.0, 0.0).x_mm - zero,
        turned(pose, 0.0, 0.0, 1.0).x_mm - zero,
    )


def _plate(piece: Piece, pose: Pose, holes: list[tuple[float, float, float]], x_mm: float) -> Iterator[Cut]:
    from shapely import make_valid
    from shapely.geometry import LineString, Point, Polygon

    assert piece.thickness_mm is not None
    # An outline of sizes that cannot be built may cross itself; what area it has is still drawn.
    region: Any = make_valid(Polygon([(at.x_mm.value, at.y_mm.value) for at in piece.outline_mm]))
    for along, across, radius in holes:
        region = region.difference(Point(along, across).buffer(radius, quad_segs=_ROUND // 4))
    nx, ny, nz = _normal(pose)
    d = x_mm - pose.x_mm.value
    level = math.hypot(nx, ny)
    low = 0.0
    thick = [layer.value for layer in piece.layers_mm]
    if not thick or not math.isclose(sum(thick), piece.thickness_mm.value, abs_tol=1e-6):
        thick = [piece.thickness_mm.value]
    for layer, height in enumerate(thick):
        high = low + height
        if abs(nz) < _PARALLEL:
            foot, along_line = (nx * d / level**2, ny * d / level**2), (-ny / level, nx / level)
            ends = [(foot[0] + s * along_line[0], foot[1] + s * along_line[1]) for s in (-_FAR_MM, _FAR_MM)]
            for line in _lines(region.intersection(LineString(ends))):
                (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
                corners = ((x0, y0, low), (x1, y1, low), (x1, y1, high), (x0, y0, high))
                yield Cut(piece, layer, tuple(from_end(turned(pose, *at)) for at in corners))
        else:
            part: Any = region
            if level < _PARALLEL:
                if not min(low, high) - 1e-9 <= d / nz <= max(low, high) + 1e-9:
                    low = high
                    continue
            else:
                part = region.intersection(
                    _strip(nx / level, ny / level, (d - nz * low) / level, (d - nz * high) / level)
                )
            for each in _polygons(part):
                rings = [
                    tuple(from_end(turned(pose, x, y, (d - nx * x - ny * y) / nz)) for x, y in list(ring.coords)[:-1])
                    for ring in (each.exterior, *each.interiors)
                ]
                yield Cut(piece, layer, rings[0], tuple(rings[1:]))
        low = high


def _strip(ux: float, uy: float, first: float, last: float) -> Any:
    from shapely.geometry import Polygon

    return Polygon(
        [
            (ux * s - uy * far, uy * s + ux * far)
            for s, far in ((first, -_FAR_MM), (last, -_FAR_MM), (last, _FAR_MM), (first, _FAR_MM))
        ]
    )


def _lines(found: Any) -> list[Any]:
    return [each for each in getattr(found, "geoms", [found]) if each.geom_type == "LineString" and each.length > 1e-6]


def _polygons(found: Any) -> list[Any]:
    return [each for each in getattr(found, "geoms", [found]) if each.geom_type == "Polygon" and each.area > 1e-9]


def _rod(piece: Piece, pose: Pose, x_mm: float) -> Iterator[Cut]:
    nx, ny, nz = _normal(pose)
    radius = (piece.diameter_mm or piece.width_mm).value / 2
    half, d = piece.length_mm.value / 2, x_mm - pose.x_mm.value
    if abs(nx) < 0.1 or abs(d) > half:
        return
    points: list[Corner] = []
    for place in range(_ROUND):
        a = 2 * math.pi * place / _ROUND
        y, z = radius * math.cos(a), radius + radius * math.sin(a)
        points.append(turned(pose, (d - ny * y - nz * z) / nx, y, z))
    yield Cut(piece, 0, tuple(from_end(at) for at in points))


def _wire(piece: Piece, pose: Pose, x_mm: float) -> Iterator[Cut]:
    radius = (piece.diameter_mm or piece.width_mm).value / 2
    path = [turned(pose, at.x_mm.value, at.y_mm.value, radius) for at in piece.path_mm]
    for start, end in pairwise(path):
        if (start.x_mm - x_mm) * (end.x_mm - x_mm) >= 0:
            continue
        share = (x_mm - start.x_mm) / (end.x_mm - start.x_mm)
        y = start.y_mm + share * (end.y_mm - start.y_mm)
        z = start.z_mm + share * (end.z_mm - start.z_mm)
        ring = tuple(
            XY(-y + radius * math.cos(2 * math.pi * k / 16), z + radius * math.sin(2 * math.pi * k / 16))
            for k in range(16)
        )
        yield Cut(piece, 0, ring, wire=True)
        return
