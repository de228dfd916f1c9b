"""Designed pieces placed in space, as outlines from above with the height of their lower side.

A plate that lies flat is one outline. A plate on edge is cut into strips, each of which hangs as low as its own lowest
corner; a wire is its straight stretches. Turns are about x, then y, then z, as a piece's pose has them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Final

from carwright.pieces import Piece, Pose
from carwright.working import Working

__all__ = ["Place", "Values", "corners_in", "reach_of", "seen_from_above"]

Values = Mapping[str, float]
"""Numbers by symbol."""

Place = tuple[float, float, float]
"""x, y and z in the car, mm."""

Corners = tuple[tuple[float, float], ...]
Turn = tuple[tuple[float, float, float], ...]

_STRIPS: Final = 16


def corners_in(piece: Piece, pose: Pose, thickness: Working, height: Working) -> dict[str, Working]:
    """Return the numbers that a piece is made of at one of its places, by symbol.

    "x0", "y0" ... are its corners (a wire's course), "t" its thickness, "px", "py", "pz" its place and "rx", "ry", "rz"
    its turns.
    """
    inputs = {"t": thickness}
    for n, point in enumerate(piece.path_mm or piece.outline_mm):
        inputs[f"x{n}"], inputs[f"y{n}"] = point.x_mm, point.y_mm
    turns = {"rx": pose.rx_deg, "ry": pose.ry_deg, "rz": pose.rz_deg}
    return inputs | {"px": pose.x_mm, "py": pose.y_mm, "pz": height} | turns


def seen_from_above(values: Values, count: int, *, wire: bool) -> Iterator[tuple[Corners, float]]:
    """Yield outlines from above, mm from mid-car, each with the height of its lower side above the rail.

    Args:
        values: of the symbols of ``corners_in``.
        count: of corners.
        wire: whether they are a wire's course.
    """
    corners = [(values[f"x{n}"], values[f"y{n}"]) for n in range(count)]
    turn = _turns(values["rx"], values["ry"], values["rz"])
    lying = abs(turn[2][2]) > 0.5
    slabs = _stretches(corners, values["t"] / 2.0) if wire else [corners] if lying else _strips(corners, turn)
    for slab in slabs:
        placed = [_placed(turn, x, y, z, values) for x, y in slab for z in (0.0, values["t"])]
        hull = _hull([(x, y) for x, y, _ in placed])
        if len(hull) >= 3:
            yield hull, min(z for _, _, z in placed)


def _turns(rx_deg: float, ry_deg: float, rz_deg: float) -> Turn:
    """Return the turns about x, then y, then z as one matrix."""
    a, b, c = math.radians(rx_deg), math.radians(ry_deg), math.radians(rz_deg)
    ca, sa, cb, sb, cc, sc = math.cos(a), math.sin(a), math.cos(b), math.sin(b), math.cos(c), math.sin(c)
    return (
        (cc * cb, cc * sb * sa - sc * ca, cc * sb * ca + sc * sa),
        (sc * cb, sc * sb * sa + cc * ca, sc * sb * ca - cc * sa),
        (-sb, cb * sa, cb * ca),
    )


def _placed(turn: Turn, x: float, y: float, z: float, values: Values) -> tuple[float, float, float]:
    px, py, pz = (row[0] * x + row[1] * y + row[2] * z for row in turn)
    return px + values["px"], py + values["py"], pz + values["pz"]


def _strips(corners: list[tuple[float, float]], turn: Turn) -> list[list[tuple[float, float]]]:
    """Cut the outline of a plate on edge into strips along whichever of its own axes lies level."""
    along = 0 if abs(turn[2][0]) <= abs(turn[2][1]) else 1
    low, high = min(each[along] for each in corners), max(each[along] for each in corners)
    found = []
    for n in range(_STRIPS):
        start, stop = low + (high - low) * n / _STRIPS, low + (high - low) * (n + 1) / _STRIPS
        kept = _between(corners, along, start, stop)
        if kept:
            found.append(kept)
    return found


def _between(corners: list[tuple[float, float]], along: int, start: float, stop: float) -> list[tuple[float, float]]:
    """Return the corners of what of an outline lies between two lines across it."""
    kept: list[tuple[float, float]] = []
    for one, two in zip(corners, (*corners[1:], corners[0]), strict=True):
        if start - 1e-9 <= one[along] <= stop + 1e-9:
            kept.append(one)
        for line in (start, stop):
            if (one[along] - line) * (two[along] - line) < 0.0:
                part = (line - one[along]) / (two[along] - one[along])
                kept.append((one[0] + part * (two[0] - one[0]), one[1] + part * (two[1] - one[1])))
    return kept


def _stretches(line: list[tuple[float, float]], half: float) -> Iterator[list[tuple[float, float]]]:
    """Yield a wire stretch by stretch, each longer by half its thickness at both ends."""
    for one, two in pairwise(line):
        length = math.hypot(two[0] - one[0], two[1] - one[1])
        if length > 0.0:
            ex, ey = (two[0] - one[0]) / length * half, (two[1] - one[1]) / length * half
            yield [
                (one[0] - ex - ey, one[1] - ey + ex),
                (one[0] - ex + ey, one[1] - ey - ex),
                (two[0] + ex + ey, two[1] + ey - ex),
                (two[0] + ex - ey, two[1] + ey + ex),
            ]


def _hull(points: list[tuple[float, float]]) -> Corners:
    """Return the convex outline round some places, anticlockwise."""
    kept = sorted(set(points))
    if len(kept) < 3:
        return tuple(kept)

    def half(line: list[tuple[float, float]]) -> list[tuple[float, float]]:
        found: list[tuple[float, float]] = []
        for point in line:
            while len(found) > 1 and _turn(found[-2], found[-1], point) <= 1e-12:
                found.pop()
            found.append(point)
        return found[:-1]

    return (*half(kept), *half(kept[::-1]))


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def reach_of(values: Values, count: int, *, wire: bool) -> tuple[Place, Place]:
    """Return the box around a piece, mm in the car: its least and its greatest x, y and z.

    Args:
        values: of the symbols of ``corners_in``.
        count: of corners.
        wire: whether they are a wire's course.
    """
    corners = [(values[f"x{n}"], values[f"y{n}"]) for n in range(count)]
    turn = _turns(values["rx"], values["ry"], values["rz"])
    flat = [each for one in _stretches(corners, values["t"] / 2.0) for each in one] if wire else corners
    placed = [_placed(turn, x, y, z, values) for x, y in flat for z in (0.0, values["t"])]
    xs, ys, zs = zip(*placed, strict=True)
    return (min(xs), min(ys), min(zs)), (max(xs), max(ys), max(zs))
