"""The order of the cuts of a sheet: edge to edge, large remainders off first, never a strip that will not snap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

__all__ = ["Box", "CutTree", "cut_tree"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in whole numbers: its corner nearest the origin, and the one farthest from it."""

    x0: int
    y0: int
    x1: int
    y1: int


@dataclass(frozen=True, slots=True)
class CutTree:
    """The cuts of a sheet in order, each a line through the part that it is made in, and the rectangles left over.

    A cut is (part, across, at): across True is a line of constant y, False one of constant x.
    """

    cuts: tuple[tuple[Box, bool, int], ...]
    remainders: tuple[Box, ...]


def cut_tree(sheet: Box, pieces: Sequence[Box], *, least: int = 0) -> CutTree | None:
    """Return the cuts that take a sheet apart into its pieces, or None if edge-to-edge cuts cannot.

    In every part the strip without pieces that has the largest area goes first, so that it stays whole; then the cuts
    between pieces. Strips that come off one after the other in the same direction are cut before any of them is cut
    again: the fence is set once. Each cut leaves strips of at least ``least`` on both sides.
    """
    dead: set[Box] = set()

    def take_apart(part: Box, inside: tuple[Box, ...]) -> _Taken | None:
        if not inside:
            return _Taken((part,))
        if len(inside) == 1 and inside[0] == part:
            return _Taken(())
        if part in dead:
            return None
        for across, at in _candidates(part, inside, least):
            near, far = _halves(part, across, at)
            first = take_apart(near, tuple(box for box in inside if (box.y1 if across else box.x1) <= at))
            if first is None:
                continue
            second = take_apart(far, tuple(box for box in inside if (box.y0 if across else box.x0) >= at))
            if second is not None:
                return _Taken((*first.remainders, *second.remainders), (part, across, at), first, second)
        dead.add(part)
        return None

    found = take_apart(sheet, tuple(pieces))
    return None if found is None else CutTree(tuple(_in_order(found)), found.remainders)


@dataclass(frozen=True, slots=True)
class _Taken:
    """A part taken apart: what is left over of it, its first cut and what lies on both sides; None without a cut."""

    remainders: tuple[Box, ...]
    cut: tuple[Box, bool, int] | None = None
    near: _Taken | None = None
    far: _Taken | None = None


def _in_order(taken: _Taken | None) -> Iterator[tuple[Box, bool, int]]:
    """Yield the cuts: all that take strips off the same part in one direction, then those of each strip."""
    strips: list[_Taken | None] = []
    way = None if taken is None or taken.cut is None else taken.cut[1]
    while taken is not None and taken.cut is not None and taken.cut[1] == way:
        yield taken.cut
        strips.append(taken.near)
        taken = taken.far
    if strips:
        for each in (*strips, taken):
            yield from _in_order(each)


def _halves(part: Box, across: bool, at: int) -> tuple[Box, Box]:
    if across:
        return Box(part.x0, part.y0, part.x1, at), Box(part.x0, at, part.x1, part.y1)
    return Box(part.x0, part.y0, at, part.y1), Box(at, part.y0, part.x1, part.y1)


def _candidates(part: Box, inside: tuple[Box, ...], least: int) -> Iterator[tuple[bool, int]]:
    """Yield the cuts that go through no piece, those that free the largest empty strip first."""
    found: list[tuple[int, bool, int]] = []
    for across in (False, True):
        spans = [(box.y0, box.y1) if across else (box.x0, box.x1) for box in inside]
        low, high = (part.y0, part.y1) if across else (part.x0, part.x1)
        other = part.x1 - part.x0 if across else part.y1 - part.y0
        for at in sorted({end for span in spans for end in span}):
            if at - low < max(1, least) or high - at < max(1, least):
                continue
            if any(start < at < end for start, end in spans):
                continue
            empty = 0
            if all(end <= at for _, end in spans):
                empty = (high - at) * other
            elif all(start >= at for start, _ in spans):
                empty = (at - low) * other
            found.append((-empty, across, at))
    for _, across, at in sorted(found):
        yield across, at
