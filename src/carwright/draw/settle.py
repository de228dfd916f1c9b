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
from functools import lru_cache
from itertools import pairwise
from typing import Final

from carwright.draw.model import LETTER_MM, XY, Circle, Dimension, Group, Layer, Line, Mark, Ordinate, Polyline, Text
from carwright.draw.strokes import Box, Curve, Disc, Ink, Words, extent, loose_ink
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
_GROUNDS: Final = ("paper", "band")
_CLEARED: Final = ("text", "hatch")
"""A ground in one of these layers is what stands behind words: it breaks nothing."""

_NEAR_MM: Final = 0.2
_OFF_MM: Final = (2.5, 4.5, 7.0, 10.0)
"""How far from what it names a letter is put that has a line to it."""

_ROUND: Final = tuple((math.cos(math.radians(a)), math.sin(math.radians(a))) for a in range(0, 360, 30))
_BESIDE_MM: Final = 8.0
"""As far as a dimension's arrows, tails and letter reach beyond its ends, its number apart."""

_DECIMALS: Final = 2
"""Of millimetres on paper, to which places are found."""

_LED_MM: Final = 1.1
"""From so far off a line leads to what is named."""


_Stroke = tuple[float, float, float, float, float, bool]
"""A line from one place to another, or a rectangle that is filled; what a millimetre of it costs; which it is."""


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

    Places are found to 0.01 mm, and kept for what stands in the same places to that grain: while one number of a
    car changes, most of a view does not.

    Args:
        tags: the more important first.
        marks: everything else of the view.
        scale: of the drawing.
    """
    rooms = [_room(tag.text, scale) for tag in tags]
    reaches = [_reach(tag, room) for tag, room in zip(tags, rooms, strict=True)]
    ground = tuple(_strokes(_within(marks, reaches, scale), scale))
    wanted = tuple((_grained(room), _grained(tag.spot), tag.more) for tag, room in zip(tags, rooms, strict=True))
    found = zip(tags, wanted, _places(wanted, ground), strict=True)
    return [mark for tag, (room, spot, _), place in found for mark in _put(tag, room, spot, place, scale)]


def _grained(box: Box) -> Box:
    return Box(*(round(each, _DECIMALS) for each in (box.left_mm, box.bottom_mm, box.right_mm, box.top_mm)))


def _reach(tag: Tag, box: Box) -> Box:
    """Return everything on paper that a letter of the size of ``box`` may come to stand on, and a line to it."""
    spot = tag.spot
    off = _OFF_MM[-1] + max(box.width_mm, box.height_mm)
    xs = (spot.left_mm - off, spot.right_mm + off, box.left_mm, box.right_mm, *(at.x_mm for at in tag.more))
    ys = (spot.bottom_mm - off, spot.top_mm + off, box.bottom_mm, box.top_mm, *(at.y_mm for at in tag.more))
    return Box(min(xs), min(ys), max(xs), max(ys)).grown(box.width_mm + box.height_mm)


def _within(marks: Iterable[Mark], reaches: Sequence[Box], k: float) -> Iterator[Mark]:
    """Yield the marks without groups, and without those that no letter reaches."""
    for mark in marks:
        if isinstance(mark, Group):
            yield from _within(mark.marks, reaches, k)
            continue
        points, around = _rough(mark, k)
        if not points:
            yield mark
            continue
        xs, ys = zip(*points, strict=True)
        left, low, right, top = min(xs) * k - around, min(ys) * k - around, max(xs) * k + around, max(ys) * k + around
        for each in reaches:
            if left < each.right_mm and right > each.left_mm and low < each.top_mm and top > each.bottom_mm:
                yield mark
                break


def _rough(mark: Mark, k: float) -> tuple[tuple[XY, ...], float]:
    """Return places of a mark and how far from them it may have ink, in mm on paper; no places where it is not said."""
    if isinstance(mark, Polyline):
        return mark.points, 0.0
    if isinstance(mark, Line):
        return (mark.start, mark.end), 0.0
    if isinstance(mark, Circle):
        return (mark.centre,), mark.radius_mm * k
    if isinstance(mark, Text):
        return (mark.at,), (len(mark.text) + 1) * mark.size_mm
    if isinstance(mark, Ordinate):
        return (mark.point, mark.label), _BESIDE_MM + (len(mark.text) + len(mark.words)) * LETTER_MM
    if isinstance(mark, Dimension):
        at = mark.line_at_mm
        line = XY(at, mark.start.y_mm) if mark.axis == "y" else XY(mark.start.x_mm, at)
        return (mark.start, mark.end, line), _BESIDE_MM + len(mark.text) * LETTER_MM
    return (), 0.0


def _put(tag: Tag, room: Box, spot: Box, place: Box, k: float) -> Iterator[Mark]:
    """Yield a letter in its place, and the line to what it names where it stands off."""
    if place == room:
        yield tag.text
        return
    x, y = (place.left_mm + place.right_mm) / 2, (place.bottom_mm + place.top_mm) / 2 - _MIDDLE * tag.text.size_mm
    yield replace(tag.text, at=XY(x / k, y / k), anchor="middle")
    if _off_mm(place, spot) > _LED_MM:
        start, end = (XY(at.x_mm / k, at.y_mm / k) for at in _lead(place, spot))
        yield Line(start, end, layer="dimension", part=tag.text.part, title=tag.text.title)


@lru_cache(maxsize=48)
def _places(wanted: tuple[tuple[Box, Box, tuple[XY, ...]], ...], ground: tuple[_Stroke, ...]) -> tuple[Box, ...]:
    """Return where each letter comes to stand; of each is told its room by preference, what it names, other places."""
    field = _Field(ground)
    found = []
    for room, spot, more in wanted:
        best, cost = room, field.cost(room)
        if cost > 0.0:
            for middle, extra in _middles(room, spot, more):
                if extra >= cost:
                    break  # what comes after costs no less
                there = _about(middle, room)
                taken = extra + field.cost(there, cost - extra)
                if taken < cost and _off_mm(there, spot) > _LED_MM:
                    taken += field.crossed(*_lead(there, spot))
                if taken < cost:
                    best, cost = there, taken
        field.take(best)
        found.append(best)
    return tuple(found)


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


def _middles(box: Box, spot: Box, more: Sequence[XY]) -> Iterator[tuple[XY, float]]:
    """Yield middles for a letter, each with what it costs to stand there, which never falls."""
    wide, high = box.width_mm / 2, box.height_mm / 2
    for middle in more:
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


def _strokes(marks: Iterable[Mark], k: float) -> Iterator[_Stroke]:
    """Yield what stands in a view already, of marks that are no groups."""
    other = []
    for mark in marks:
        if isinstance(mark, Line):
            yield from _along((mark.start, mark.end), k, mark.layer)
        elif isinstance(mark, Polyline) and mark.fill != "ink":
            if not (mark.fill in _GROUNDS and mark.layer in _CLEARED):
                yield from _along((*mark.points, mark.points[0]) if mark.closed else mark.points, k, mark.layer)
        else:
            other.append(mark)
    for piece in loose_ink(other, k):
        if isinstance(piece, Words):
            if piece.text.strip():
                yield _filled(piece, _NEVER)
        elif isinstance(piece, Disc | Curve):
            yield _filled(piece, _NEVER if piece.layer == "text" else _HEAVY)
        elif piece.fill == "ink":
            yield _filled(piece, _NEVER)
        elif not (piece.fill in _GROUNDS and piece.layer in _CLEARED):
            yield from _along((*piece.points, piece.points[0]) if piece.closed else piece.points, 1.0, piece.layer)


def _along(points: Iterable[XY], k: float, layer: Layer) -> Iterator[_Stroke]:
    weight = _LIGHT if layer in _FAINT else _WEIGHTS.get(layer, 1.5)
    for start, end in pairwise([(round(x * k, _DECIMALS), round(y * k, _DECIMALS)) for x, y in points]):
        yield (*start, *end, weight, False)


def _filled(piece: Ink, weight: float) -> _Stroke:
    box = _grained(extent(piece))
    return box.left_mm, box.bottom_mm, box.right_mm, box.top_mm, weight, True


class _Field:
    """What stands in a view already, cut into upright strips so that few of them are to be asked."""

    def __init__(self, strokes: Iterable[_Stroke]) -> None:
        self._strips: dict[int, list[tuple[float, float, float, float, float]]] = {}
        for x0, y0, x1, y1, weight, filled in strokes:
            if filled:
                self._line(Box(x0, y0, x1, y1), weight)
            elif (x0, y0) <= (x1, y1):
                self._stroke(x0, y0, x1, y1, weight)
            else:
                self._stroke(x1, y1, x0, y0, weight)

    def take(self, box: Box) -> None:
        """Let nothing else stand in a rectangle."""
        self._line(box, _NEVER)

    def _line(self, box: Box, weight: float) -> None:
        for strip in range(math.floor(box.left_mm / _CELL_MM), math.floor(box.right_mm / _CELL_MM) + 1):
            self._put(strip, box.left_mm, box.bottom_mm, box.right_mm, box.top_mm, weight)

    def _put(self, strip: int, left: float, bottom: float, right: float, top: float, weight: float) -> None:
        self._strips.setdefault(strip, []).append((left, bottom, right, top, weight))

    def _stroke(self, x0: float, y0: float, x1: float, y1: float, weight: float) -> None:
        first, last = math.floor(x0 / _CELL_MM), math.floor(x1 / _CELL_MM)
        if first == last:
            self._put(first, x0, *((y0, x1, y1) if y0 <= y1 else (y1, x1, y0)), weight)
            return
        up = (y1 - y0) / (x1 - x0)
        left, low = x0, y0
        for strip in range(first, last + 1):
            right = x1 if strip == last else (strip + 1) * _CELL_MM
            high = y0 + (right - x0) * up
            self._put(strip, left, *((low, right, high) if low <= high else (high, right, low)), weight)
            left, low = right, high

    def cost(self, box: Box, enough: float = math.inf) -> float:
        """Return what it costs to clear a rectangle; what is more than ``enough`` is not told to the end."""
        low_x, low_y, high_x, high_y = box.left_mm, box.bottom_mm, box.right_mm, box.top_mm
        total = 0.0
        for strip in range(math.floor(low_x / _CELL_MM), math.floor(high_x / _CELL_MM) + 1):
            for left, bottom, right, top, weight in self._strips.get(strip, ()):
                if left <= high_x and right >= low_x and bottom <= high_y and top >= low_y:
                    across = (right if right < high_x else high_x) - (left if left > low_x else low_x)
                    up = (top if top < high_y else high_y) - (bottom if bottom > low_y else low_y)
                    total += weight * (across if across > up else up)
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
