"""The room around designed pieces: the box around each at each of its places, and the largest rectangle free of them.

A box is kept as plain numbers, since most are only looked at; a face of it that bounds a room is made a number with its
working when it is asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from carwright.pieces import Piece, Pose
from carwright.plan.inspace import Place, corners_in, reach_of
from carwright.working import Working, derived

__all__ = ["Bound", "Box", "Face", "Rectangle", "bound", "boxes_of", "free_rectangle", "mirrored", "solid_box"]

Face = Literal["x0", "x1", "y0", "y1", "z0", "z1"]
"""A face of a box: its lesser (0) or greater (1) side along an axis."""

_FACES: Final[tuple[Face, ...]] = ("x0", "x1", "y0", "y1", "z0", "z1")
_WORDS: Final = {
    "x0": "B side of",
    "x1": "A side of",
    "y0": "right side of",
    "y1": "left side of",
    "z0": "underside of",
    "z1": "top of",
}
_TOUCH_MM: Final = 1e-6
"""Boxes that overlap by less only touch."""


@dataclass(frozen=True, slots=True)
class Box:
    """The box around something, mm in the car's axes.

    Args:
        name: what it is around.
        low: least x, y, z.
        high: greatest x, y, z.
        piece: the piece in it, at ``pose``; None for what is not designed.
        pose: see there.
        faces: the six faces where there is no piece, in the order of ``Face``.
        mirrored: whether it is the picture of a box on the other side of the car.
    """

    name: str
    low: Place
    high: Place
    piece: Piece | None = None
    pose: Pose | None = None
    faces: tuple[Working, ...] = ()
    mirrored: bool = False

    def at(self, face: Face) -> float:
        """Return where a face is, mm."""
        return (self.low if face[1] == "0" else self.high)["xyz".index(face[0])]

    def working(self, face: Face) -> Working:
        """Return where a face is, as a number with its working."""
        if self.mirrored and face[0] == "y":
            found = replace(self, mirrored=False).working("y1" if face == "y0" else "y0")
            return derived(f"{found.name}, seen from the other side", "-y", {"y": found})
        if self.piece is None or self.pose is None:
            return self.faces[_FACES.index(face)]
        piece, pose = self.piece, self.pose
        assert piece.thickness_mm is not None
        assert pose.z_mm is not None
        inputs = corners_in(piece, pose, piece.thickness_mm, pose.z_mm)
        count, wire = len(piece.path_mm or piece.outline_mm), bool(piece.path_mm)
        side, axis = int(face[1]), "xyz".index(face[0])

        def again(*values: float) -> float:
            return reach_of(dict(zip(inputs, values, strict=True)), count, wire=wire)[side][axis]

        words = f"{_WORDS[face]} {self.name.replace('_', ' ')}"
        return derived(
            words, f"{face[0]} of its outermost corner, turned and moved into its place", inputs, function=again
        )


@dataclass(frozen=True, slots=True)
class Bound:
    """What bounds a room on one side: a number of its own, or a face of a box."""

    value: float
    source: Working | Box
    face: Face = "x0"

    def working(self) -> Working:
        """Return the place as a number with its working."""
        return self.source if isinstance(self.source, Working) else self.source.working(self.face)


def bound(place: Working) -> Bound:
    """Return a number as what bounds a room."""
    return Bound(place.value, place)


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle seen from above, with what bounds it."""

    x0: Bound
    x1: Bound
    y0: Bound
    y1: Bound

    @property
    def area_mm2(self) -> float:
        """Return its area."""
        return max(self.x1.value - self.x0.value, 0.0) * max(self.y1.value - self.y0.value, 0.0)


def boxes_of(pieces: Sequence[Piece]) -> Iterator[Box]:
    """Yield the box around every piece at every one of its places; what has no height or thickness yet is left out."""
    for piece in pieces:
        if piece.thickness_mm is None:
            continue
        count, wire = len(piece.path_mm or piece.outline_mm), bool(piece.path_mm)
        for pose in (piece.pose, *piece.also):
            if pose.z_mm is None:
                continue
            inputs = corners_in(piece, pose, piece.thickness_mm, pose.z_mm)
            low, high = reach_of({name: each.value for name, each in inputs.items()}, count, wire=wire)
            yield Box(piece.name, low, high, piece, pose)


def solid_box(name: str, faces: tuple[Working, Working, Working, Working, Working, Working]) -> Box:
    """Return the box of something measured, by its faces in the order of ``Face``."""
    x0, x1, y0, y1, z0, z1 = (each.value for each in faces)
    return Box(name, (x0, y0, z0), (x1, y1, z1), faces=faces)


def mirrored(box: Box) -> Box:
    """Return the picture of a box on the other side of the car."""
    low, high = (box.low[0], -box.high[1], box.low[2]), (box.high[0], -box.low[1], box.high[2])
    return replace(box, low=low, high=high, mirrored=not box.mirrored)


def free_rectangle(within: Rectangle, boxes: Sequence[Box]) -> Rectangle | None:
    """Return the largest rectangle inside another that no box reaches into, seen from above; None where there is none.

    Every largest one touches a box or a bound on each of its sides, so that only those places are tried.
    """
    x0, x1, y0, y1 = within.x0, within.x1, within.y0, within.y1
    inside = [
        each
        for each in boxes
        if each.low[0] < x1.value - _TOUCH_MM
        and each.high[0] > x0.value + _TOUCH_MM
        and each.low[1] < y1.value - _TOUCH_MM
        and each.high[1] > y0.value + _TOUCH_MM
    ]
    lefts = {x0.value: x0} | {
        each.high[0]: Bound(each.high[0], each, "x1") for each in inside if each.high[0] < x1.value
    }
    rights = {x1.value: x1} | {each.low[0]: Bound(each.low[0], each, "x0") for each in inside if each.low[0] > x0.value}
    inside.sort(key=lambda each: each.low[1])
    best, most = None, _TOUCH_MM
    for left in lefts.values():
        for right in rights.values():
            length = right.value - left.value
            if length * (y1.value - y0.value) <= most:
                continue
            edge = y0
            for box in inside:
                if box.low[0] >= right.value - _TOUCH_MM or box.high[0] <= left.value + _TOUCH_MM:
                    continue
                if length * (box.low[1] - edge.value) > most + _TOUCH_MM:
                    upper = y1 if box.low[1] >= y1.value else Bound(box.low[1], box, "y0")
                    best, most = Rectangle(left, right, edge, upper), length * (upper.value - edge.value)
                if box.high[1] > edge.value:
                    edge = Bound(box.high[1], box, "y1")
            if length * (y1.value - edge.value) > most + _TOUCH_MM:
                best, most = Rectangle(left, right, edge, y1), length * (y1.value - edge.value)
    return best
