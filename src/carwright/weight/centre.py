"""Masses in their places: the middle of a designed piece, and the centre of gravity of a whole car with its doubt.

The middle of a plate is that of its outline (the shoelace sum), half its thickness up; of a wire that of its course,
each stretch by its length. It is then turned and moved as the piece's pose has it: about x, then y, then z. Holes are
left out: together they weigh less than a tenth of a gram.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from carwright.pieces import Piece, Pose
from carwright.working import Working, derived

__all__ = ["Axis", "Part", "centre", "centre_doubt", "middle_of", "total"]

Axis = Literal["x", "y", "z"]
_AXES: Final[tuple[Axis, Axis, Axis]] = ("x", "y", "z")
_WORDS: Final[Mapping[Axis, str]] = {"x": "from mid-car", "y": "to the left", "z": "above the rail"}


@dataclass(frozen=True, slots=True)
class Part:
    """Something that has a mass, and where.

    Args:
        name: in words.
        mass: g.
        x: along the car from mid-car, mm.
        y: to the left, mm.
        z: above the rail, mm.
        doubt: of the height, mm, half-width; None where the height is not taken by guess.
    """

    name: str
    mass: Working
    x: Working
    y: Working
    z: Working
    doubt: Working | None = None


def total(name: str, masses: Sequence[Working]) -> Working:
    """Return the sum of some masses, g."""
    inputs = {f"m{i + 1}": mass for i, mass in enumerate(masses)}
    return derived(name, " + ".join(inputs) or "0", inputs, "g")


def centre(parts: Sequence[Part], axis: Axis, name: str) -> Working:
    """Return the centre of gravity of some parts along one axis, mm.

    r = (m1 r1 + m2 r2 + ...) / (m1 + m2 + ...)
    """
    inputs: dict[str, Working] = {}
    for i, part in enumerate(parts):
        inputs[f"m{i + 1}"] = part.mass
        inputs[f"{axis}{i + 1}"] = getattr(part, axis)
    count = range(1, len(parts) + 1)
    above, below = " + ".join(f"m{i}*{axis}{i}" for i in count), " + ".join(f"m{i}" for i in count)
    return derived(f"{name}, {_WORDS[axis]}", f"({above})/({below})", inputs)


def centre_doubt(parts: Sequence[Part], axis: Axis, where: Working, whole: Working) -> Working | None:
    """Return the half-width ± of the centre of gravity along one axis, mm; None where nothing that enters has a doubt.

    Heights count that are taken by guess, masses and places as they were read.

    Each part moves it by m/W for each mm of its own place, and by (r - R)/W for each g of its own mass; the squares of
    both add up.
    """
    inputs: dict[str, Working] = {"R": where, "W": whole}
    terms: list[str] = []
    for i, part in enumerate(parts, 1):
        place: Working = getattr(part, axis)
        if axis == "z" and part.doubt is not None:
            inputs |= {f"m{i}": part.mass, f"t{i}": part.doubt}
            terms.append(f"(m{i}*t{i})**2")
        if part.mass.tolerance is not None:
            inputs |= {f"r{i}": place, f"u{i}": part.mass.tolerance}
            terms.append(f"((r{i} - R)*u{i})**2")
        elif axis != "z" and place.tolerance is not None:
            inputs |= {f"m{i}": part.mass, f"t{i}": place.tolerance}
            terms.append(f"(m{i}*t{i})**2")
    if not any("R" in term for term in terms):
        del inputs["R"]
    if not terms:
        return None
    name = f"doubt of the centre of gravity, {_WORDS[axis]}"
    return derived(name, f"sqrt({' + '.join(terms)})/W", inputs, note="half-width")


def middle_of(piece: Piece) -> tuple[Working, Working, Working] | None:
    """Return the middle of all copies of a piece, mm in the car; None while its height or thickness is not known."""
    poses = (piece.pose, *piece.also)
    if piece.thickness_mm is None or any(pose.z_mm is None for pose in poses):
        return None
    wire = bool(piece.path_mm)
    points = piece.path_mm if wire else piece.outline_mm
    inputs = {"t": piece.thickness_mm}
    for i, point in enumerate(points):
        inputs |= {f"x{i}": point.x_mm, f"y{i}": point.y_mm}
    for i, pose in enumerate(poses):
        inputs |= {f"{name}{i}": each for name, each in _pose(pose).items()}
    found: list[Working] = []
    for place, axis in enumerate(_AXES):

        def again(*values: float, place: int = place) -> float:
            given = dict(zip(inputs, values, strict=True))
            corners = [(given[f"x{i}"], given[f"y{i}"]) for i in range(len(points))]
            x, y = _middle_of_line(corners) if wire else _middle_of_area(corners)
            own = (x, y, given["t"] / 2.0)
            moved = [_placed(own, {n: given[f"{n}{i}"] for n in _POSE})[place] for i in range(len(poses))]
            return sum(moved) / len(moved)

        found.append(
            derived(
                f"middle of {piece.name}, {_WORDS[axis]}",
                f"{axis} of the outline's middle, half the thickness up, turned and moved into its place",
                inputs,
                function=again,
            )
        )
    return found[0], found[1], found[2]


_POSE: Final = ("px", "py", "pz", "rx", "ry", "rz")


def _pose(pose: Pose) -> dict[str, Working]:
    assert pose.z_mm is not None
    values = (pose.x_mm, pose.y_mm, pose.z_mm, pose.rx_deg, pose.ry_deg, pose.rz_deg)
    return dict(zip(_POSE, values, strict=True))


def _middle_of_area(corners: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return the middle of a plane figure: A = Σ c / 2, x = Σ (x1 + x2) c / 6A, with c = x1 y2 - x2 y1."""
    area = x = y = 0.0
    for (x1, y1), (x2, y2) in zip(corners, (*corners[1:], corners[0]), strict=True):
        cross = x1 * y2 - x2 * y1
        area += cross
        x += (x1 + x2) * cross
        y += (y1 + y2) * cross
    return (x / (3.0 * area), y / (3.0 * area)) if area else (0.0, 0.0)


def _middle_of_line(course: Sequence[tuple[float, float]]) -> tuple[float, float]:
    length = x = y = 0.0
    for (x1, y1), (x2, y2) in pairwise(course):
        step = math.hypot(x2 - x1, y2 - y1)
        length += step
        x += (x1 + x2) * step / 2.0
        y += (y1 + y2) * step / 2.0
    return (x / length, y / length) if length else (0.0, 0.0)


def _placed(own: tuple[float, float, float], pose: Mapping[str, float]) -> tuple[float, float, float]:
    """Return a place of a piece in the car: turned about x, then y, then z, then moved."""
    x, y, z = own
    a, b, c = math.radians(pose["rx"]), math.radians(pose["ry"]), math.radians(pose["rz"])
    y, z = y * math.cos(a) - z * math.sin(a), y * math.sin(a) + z * math.cos(a)
    x, z = x * math.cos(b) + z * math.sin(b), -x * math.sin(b) + z * math.cos(b)
    x, y = x * math.cos(c) - y * math.sin(c), x * math.sin(c) + y * math.cos(c)
    return x + pose["px"], y + pose["py"], z + pose["pz"]
