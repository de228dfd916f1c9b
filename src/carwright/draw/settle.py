"""Where small letters stand in a crowded view: each beside what it names, on no other letter, number or arrow.

A letter has a first choice; where something is in the way the places round what it names are tried, near ones first,
and from farther off a thin line leads to it. What costs least is taken: to lie on words or an arrow is ruled out, to
break another part's outline costs by the length that is broken. Letters are settled one after the other, in the order
in which they are given.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from carwright.draw.model import XY, Drawing, Layer, Line, Mark, Text
from carwright.draw.strokes import Box, Curve, Disc, Ink, Words, extent, ink
from carwright.records import quickly_made

__all__ = ["Tag", "settled", "spot_of"]

_CELL_MM: Final = 2.5
_CLEAR_MM: Final = 0.4
"""Round a letter, as the ground beneath it has."""

_MIDDLE: Final = 0.27
"""From a letter's foot to the middle of what it fills, in its own size."""

_NEVER: Final = 1000.0
_LIGHT: Final = 0.6
_HEAVY: Final = 2.5
_WEIGHTS: Final[dict[Layer, float]] = {"outline": 3.0, "wire": 3.0, "dimension": 3.0, "hatch": 0.3, "centre": _LIGHT}
"""What a millimetre of a line costs that a letter breaks, where it is not a part's thin outline."""

_FAINT: Final[frozenset[Layer]] = frozenset({"hidden", "phantom", "wanting"})
_NEAR_MM: Final = 0.2
_OFF_MM: Final = (2.5, 4.5, 7.0, 10.0)
"""How far from what it names a letter is put that has a line to it."""

_ROUND: Final = tuple((math.cos(math.radians(a)), math.sin(math.radians(a))) for a in range(0, 360, 30))
_LED_MM: Final = 1.1
"""From so far off a line leads to what is named."""


@quickly_made
@dataclass(frozen=True, slots=True)
class Tag:
    """A letter and what it names.

    Args:
        text: as it stands by preference, in the drawing's millimetres.
        spot: what it names, in mm on paper.
        more: middles of other places that are as good, in mm on paper, the better first.
    """

    text: Text
    spot: Box
    more: tuple[XY, ...] = ()


def spot_of(points: Iterable[XY], scale: float) -> Box:
    """Return the rectangle on paper round some points of a drawing."""
    xs, ys = zip(*points, strict=True)
    return Box(min(xs) * scale, min(ys) * scale, max(xs) * scale, max(ys) * scale)


def settled(tags: Sequence[Tag], marks: Sequence[Mark], scale: float) -> list[Mark]:
    """Return the letters in their places, with a line to what is named where one stands off.

    Args:
        tags: the more important first.
        marks: everything else of the view.
        scale: of the drawing.
    """
    field = _Field(ink(Drawing("", "", "", tuple(marks), scale)))
    return [mark for tag in tags for mark in _settled(tag, field, scale)]


def _settled(tag: Tag, field: _Field, k: float) -> Iterator[Mark]:
    box = _room(tag.text, k)
    best, cost = box, field.cost(box)
    if cost > 0.0:
        for middle, extra in _places(tag, box):
            if extra >= cost:
                break  # what comes after costs no less
            there = _about(middle, box)
            found = extra + field.cost(there, cost - extra)
            if found < cost and _off_mm(there, tag.spot) > _LED_MM:
                found += field.crossed(*_lead(there, tag.spot))
            if found < cost:
                best, cost = there, found
    field.take(best)
    if best is box:
        yield tag.text
        return
    x, y = (best.left_mm + best.right_mm) / 2, (best.bottom_mm + best.top_mm) / 2 - _MIDDLE * tag.text.size_mm
    yield replace(tag.text, at=XY(x / k, y / k), anchor="middle")
    if _off_mm(best, tag.spot) > _LED_MM:
        start, end = (XY(at.x_mm / k, at.y_mm / k) for at in _lead(best, tag.spot))
        yield Line(start, end, layer="dimension", part=tag.text.part, title=tag.text.title)


def _room(text: Text, k: float) -> Box:
    """Return what a text fills on paper, with the air round it."""
    at = XY(text.at.x_mm * k, text.at.y_mm * k)
    words = Words(
        at, text.text, text.size_mm, text.anchor, text.bold, text.turn_deg, layer="text", role="show", part="", title=""
    )
    return extent(words).grown(_CLEAR_MM)


def _about(middle: XY, box: Box) -> Box:
    wide, high = box.width_mm / 2, box.height_mm / 2
    return Box(middle.x_mm - wide, middle.y_mm - high, middle.x_mm + wide, middle.y_mm + high)


def _places(tag: Tag, box: Box) -> Iterator[tuple[XY, float]]:
    """Yield middles for a letter, each with what it costs to stand there, which never falls."""
    spot, wide, high = tag.spot, box.width_mm / 2, box.height_mm / 2
    for middle in tag.more:
        yield middle, 0.0
    x, y = (spot.left_mm + spot.right_mm) / 2, (spot.bottom_mm + spot.top_mm) / 2
    if spot.width_mm > 2 * wide and spot.height_mm > 2 * high:
        yield XY(x, y), 0.0
    left, right = spot.left_mm - wide - _NEAR_MM, spot.right_mm + wide + _NEAR_MM
    low, top = spot.bottom_mm - high - _NEAR_MM, spot.top_mm + high + _NEAR_MM
    levels = (y, spot.top_mm - high, spot.bottom_mm + high) if spot.height_mm > 2 * high else (y,)
    yield from ((XY(along, level), 0.5) for level in levels for along in (right, left))
    yield from ((XY(x, level), 0.5) for level in (top, low))
    yield from ((XY(along, level), 0.8) for level in (top, low) for along in (right, left))
    for off in _OFF_MM:
        for c, s in _ROUND:
            across, up = (spot.width_mm / 2 + wide + off) * c, (spot.height_mm / 2 + high + off) * s
            yield XY(x + across, y + up), 1.5 + 0.4 * off


def _off_mm(box: Box, spot: Box) -> float:
    """Return how far apart two rectangles are, 0 where they meet."""
    across = max(spot.left_mm - box.right_mm, box.left_mm - spot.right_mm, 0.0)
    return math.hypot(across, max(spot.bottom_mm - box.top_mm, box.bottom_mm - spot.top_mm, 0.0))


def _lead(box: Box, spot: Box) -> tuple[XY, XY]:
    """Return the ends of the line from a letter to what it names, a little inside of that."""
    x, y = (box.left_mm + box.right_mm) / 2, (box.bottom_mm + box.top_mm) / 2
    inset = min(0.6, spot.width_mm / 2, spot.height_mm / 2)
    inner = spot.grown(-inset)
    end = XY(_between(x, inner.left_mm, inner.right_mm), _between(y, inner.bottom_mm, inner.top_mm))
    return XY(_between(end.x_mm, box.left_mm, box.right_mm), _between(end.y_mm, box.bottom_mm, box.top_mm)), end


def _between(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


class _Field:
    """What stands in a view already, cut into upright strips so that few of them are to be asked."""

    def __init__(self, pieces: Iterable[Ink]) -> None:
        self._strips: dict[int, list[tuple[float, float, float, float, float]]] = {}
        for piece in pieces:
            if isinstance(piece, Words):
                if piece.text.strip():
                    self.take(extent(piece))
            elif isinstance(piece, Disc | Curve):
                self._line(extent(piece), _NEVER if piece.layer == "text" else _HEAVY)
            elif piece.fill == "ink":
                self.take(extent(piece))
            elif not (piece.fill in ("paper", "band") and piece.layer in ("text", "hatch")):
                weight = _LIGHT if piece.layer in _FAINT else _WEIGHTS.get(piece.layer, 1.5)
                for start, end in pairwise((*piece.points, *piece.points[:1]) if piece.closed else piece.points):
                    self._stroke(start, end, weight)

    def take(self, box: Box) -> None:
        """Let nothing else stand in a rectangle."""
        self._line(box, _NEVER)

    def _line(self, box: Box, weight: float) -> None:
        for strip in range(math.floor(box.left_mm / _CELL_MM), math.floor(box.right_mm / _CELL_MM) + 1):
            self._put(strip, box.left_mm, box.bottom_mm, box.right_mm, box.top_mm, weight)

    def _put(self, strip: int, left: float, bottom: float, right: float, top: float, weight: float) -> None:
        self._strips.setdefault(strip, []).append((left, bottom, right, top, weight))

    def _stroke(self, start: XY, end: XY, weight: float) -> None:
        (x0, y0), (x1, y1) = sorted((start, end))
        first, last = math.floor(x0 / _CELL_MM), math.floor(x1 / _CELL_MM)
        for strip in range(first, last + 1):
            left, right = max(x0, strip * _CELL_MM), min(x1, (strip + 1) * _CELL_MM)
            up = (y1 - y0) / (x1 - x0) if last > first else 0.0
            ys = (y0 + (left - x0) * up, y0 + (right - x0) * up) if last > first else (y0, y1)
            self._put(strip, left, min(ys), right, max(ys), weight)

    def cost(self, box: Box, enough: float = math.inf) -> float:
        """Return what it costs to clear a rectangle; what is more than ``enough`` is not told to the end."""
        low_x, low_y, high_x, high_y = box.left_mm, box.bottom_mm, box.right_mm, box.top_mm
        total = 0.0
        for strip in range(math.floor(low_x / _CELL_MM), math.floor(high_x / _CELL_MM) + 1):
            for left, bottom, right, top, weight in self._strips.get(strip, ()):
                if left <= high_x and right >= low_x and bottom <= high_y and top >= low_y:
                    across = min(high_x, right) - max(low_x, left)
                    total += weight * max(across, min(high_y, top) - max(low_y, bottom))
                    if total >= enough:
                        return total
        return total

    def crossed(self, start: XY, end: XY) -> float:
        """Return what it costs to draw a thin line: nothing, but never over words or an arrow."""
        total = 0.0
        for share in (0.1, 0.3, 0.5, 0.7, 0.9):
            x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
            for left, bottom, right, top, weight in self._strips.get(math.floor(x / _CELL_MM), ()):
                if weight == _NEVER and left < x < right and bottom < y < top:
                    total += _NEVER
        return total
