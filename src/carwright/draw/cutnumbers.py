"""Where the numbers of cuts stand: on the cut or at its end, and where that would hide something, outside with a line.

All in millimetres of paper. What stands already is a list of rectangles, to which each number is added.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from carwright.draw.cutwords import act_number
from carwright.draw.glyphs import CAP_HEIGHT
from carwright.draw.model import LETTER_MM, XY, Balloon, Line, Mark, Polyline, Text
from carwright.draw.strokes import BALLOON_MM, Box, balloon_box
from carwright.stock.acts import Act
from carwright.stock.records import Area

__all__ = ["BESIDE_MM", "Numbers", "room_mm"]

BESIDE_MM: Final = (30.0, 32.0)
"""Room that a diagram needs beside what it shows, across the page and up it: numbers, dimensions, the caption."""

_AWAY_MM: Final = 0.8
_ROW_MM: Final = 2 * BALLOON_MM + 0.6
_COLUMN_MM: Final = 8.5
_PAGE_MM: Final = 170.0
"""Further columns of numbers stand left of what is narrower than that with them."""

_HIDDEN_MM2: Final = 0.25
"""Of words or another number that a number may hide."""

_CROSSED_MM: Final = 25.0
"""A line that crosses words or a number is as bad as one so much longer."""

_LONGEST_MM: Final = 30.0
"""Of a line that only keeps a number off other cuts."""

_STEPS: Final = 14
_SHARES: Final = (0.5, 0.25, 0.75, 0.1, 0.9)
_DOT_MM: Final = 0.55


def room_mm(part: Area, scale: float) -> tuple[float, float]:
    """Return how wide and high a diagram of a part of a sheet becomes on paper, numbers and dimensions with it."""
    return part.length_mm * scale + BESIDE_MM[0], part.width_mm * scale + BESIDE_MM[1]


@dataclass(slots=True)
class Numbers:
    """The numbers of a diagram.

    Args:
        scale: of it; 1.0 is true size.
        part: what it shows of the sheet.
        acts: all that it shows.
        taken: what stands there already, paper mm.
    """

    scale: float
    part: Area
    acts: Sequence[Act]
    taken: list[Box] = field(default_factory=list)
    lines: list[tuple[int, Box]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Keep the places of the two dimensions free, and note where every cut runs."""
        edge, k = self._edge, self.scale
        middle = (edge.bottom_mm + edge.top_mm) / 2
        self.taken.append(Box(edge.left_mm, edge.bottom_mm - 11.0, edge.right_mm, edge.bottom_mm - 7.0))
        self.taken.append(Box(edge.right_mm + 8.3, edge.bottom_mm, edge.right_mm + 9.7, edge.top_mm))
        self.taken.append(Box(edge.right_mm + 3.0, middle - 2.2, edge.right_mm + 15.0, middle + 2.2))
        for act in self.acts:
            for cut in act.cuts:
                xs, ys = sorted((cut.y0_mm * k, cut.y1_mm * k)), sorted((cut.x0_mm * k, cut.x1_mm * k))
                self.lines.append((act.first, Box(xs[0], ys[0], xs[1], ys[1])))

    @property
    def _edge(self) -> Box:
        k, part = self.scale, self.part
        left, low = part.y_mm * k, part.x_mm * k
        return Box(left, low, left + part.length_mm * k, low + part.width_mm * k)

    def marks(self, act: Act) -> Iterator[Mark]:
        """Yield an act's number, and the line to its cut where it stands away from it."""
        text = act_number(act)
        place = min(self._near(act, text), key=lambda at: self._hidden(balloon_box(at, text)))
        covered = self._hidden(balloon_box(place, text)) > _HIDDEN_MM2
        if covered or self._over_lines(act, balloon_box(place, text)):
            found = self._led(self._tips(act), text)
            if found is not None and (covered or math.dist(*found) <= _LONGEST_MM):
                place, tip = found
                yield from self._leader(place, tip)
        self.taken.append(balloon_box(place, text))
        yield Balloon(layer="text", at=self._on_sheet(place), text=text, title=text)

    def key_marks(self, key: str, area: Area) -> Iterator[Mark]:
        """Yield the letter of a piece too small for it: outside, with a line to its middle, or over it if need be."""
        k = self.scale
        x, y = (area.y_mm + area.length_mm / 2) * k, (area.x_mm + area.width_mm / 2) * k
        shares = [share - 0.5 for share in _SHARES]
        along = area.length_mm >= area.width_mm
        tips = [
            XY(x + share * area.length_mm * k * along, y + share * area.width_mm * k * (not along)) for share in shares
        ]
        place, tip = self._led(tips, key) or (tips[0], None)
        if tip is not None:
            yield from self._leader(place, tip)
        self.taken.append(balloon_box(place, key))
        at = self._on_sheet(XY(place.x_mm, place.y_mm - CAP_HEIGHT * LETTER_MM / 2))
        yield Text(layer="text", at=at, text=key, anchor="middle", bold=True, ground=True)

    def _leader(self, place: XY, tip: XY) -> Iterator[Mark]:
        """Yield the line from a number or letter to what it is of, with a dot at its end."""
        self.taken += _along(tip, place)
        yield Line(layer="dimension", start=self._on_sheet(tip), end=self._on_sheet(place))
        yield Polyline(layer="dimension", points=tuple(map(self._on_sheet, _dot(tip))), fill="ink")

    def _on_sheet(self, at: XY) -> XY:
        return XY(at.x_mm / self.scale, at.y_mm / self.scale)

    def _hidden(self, box: Box) -> float:
        """Return how much of what stands already a rectangle would hide, mm²."""
        hidden = 0.0
        for other in self.taken:
            wide = min(box.right_mm, other.right_mm) - max(box.left_mm, other.left_mm)
            if wide > 0:
                hidden += wide * max(0.0, min(box.top_mm, other.top_mm) - max(box.bottom_mm, other.bottom_mm))
        return hidden

    def _over_lines(self, act: Act, box: Box) -> bool:
        """Return whether a number would stand on another act's cut, so that it might be taken for that one's."""
        inner = box.grown(-0.4)
        return any(
            line.left_mm < inner.right_mm
            and line.right_mm > inner.left_mm
            and line.bottom_mm < inner.top_mm
            and line.top_mm > inner.bottom_mm
            for first, line in self.lines
            if first != act.first
        )

    def _ends(self, act: Act) -> list[tuple[XY, XY]]:
        """Return the ends of an act's cuts on paper, at most of three of them."""
        k = self.scale
        every = max(1, len(act.cuts) // 3)
        return [(XY(c.y0_mm * k, c.x0_mm * k), XY(c.y1_mm * k, c.x1_mm * k)) for c in act.cuts[::every][:3]]

    def _near(self, act: Act, text: str) -> Iterator[XY]:
        """Yield places for a cut's number at its end or on it, the best first."""
        k = self.scale
        xs = [x * k for cut in act.cuts for x in (cut.y0_mm, cut.y1_mm)]
        ys = [y * k for cut in act.cuts for y in (cut.x0_mm, cut.x1_mm)]
        left, right, low, top = min(xs), max(xs), min(ys), max(ys)
        half, high, edge = balloon_box(XY(0.0, 0.0), text).width_mm / 2, BALLOON_MM, self._edge
        if act.across:
            x = (left + right) / 2
            if abs(top - edge.top_mm) < 0.1:
                yield XY(x, top + high + _AWAY_MM)
            if abs(low - edge.bottom_mm) < 0.1:
                yield XY(x, low - high - _AWAY_MM)
            for share in (1.0, 0.0, 0.85, 0.15, 0.7, 0.3, 0.5):
                yield XY(x, low + high * (1 - 2 * share) + (top - low) * share)
        else:
            y = (low + top) / 2
            if abs(left - edge.left_mm) < 0.1:
                yield XY(left - half - _AWAY_MM, y)
            if abs(right - edge.right_mm) < 0.1:
                yield XY(right + half + _AWAY_MM, y)
            for share in (0.0, 1.0, 0.15, 0.85, 0.3, 0.7, 0.5):
                yield XY(left + half * (1 - 2 * share) + (right - left) * share, y)

    def _led(self, tips: Iterable[XY], text: str) -> tuple[XY, XY] | None:
        """Return a free place outside what is drawn, and the one of some points to which a line leads."""
        best: tuple[XY, XY] | None = None
        least = math.inf
        pairs = [(math.dist(place, tip), place, tip) for tip in tips for place in self._outside(tip, text)]
        for length, place, tip in sorted(pairs):
            if length >= least:
                break
            if self._hidden(balloon_box(place, text)) > 0.0:
                continue
            worth = length + _CROSSED_MM * self._crossed(place, tip)
            if worth < least:
                best, least = (place, tip), worth
        return best

    def _tips(self, act: Act) -> Iterator[XY]:
        for start, end in self._ends(act):
            for share in _SHARES:
                x = start.x_mm + (end.x_mm - start.x_mm) * share
                yield XY(x, start.y_mm + (end.y_mm - start.y_mm) * share)

    def _outside(self, tip: XY, text: str) -> Iterator[XY]:
        """Yield places round what is drawn, in rows and columns."""
        edge = self._edge
        half = balloon_box(XY(0.0, 0.0), text).width_mm / 2
        columns = 1 + max(0, min(3, int((_PAGE_MM - edge.width_mm) / _COLUMN_MM)))
        for step in range(-_STEPS, _STEPS + 1):
            y = min(max(tip.y_mm + step * _ROW_MM / 2, edge.bottom_mm), edge.top_mm)
            x = min(max(tip.x_mm + step * _ROW_MM / 2, edge.left_mm), edge.right_mm)
            for column in range(columns):
                yield XY(edge.left_mm - half - _AWAY_MM - column * _COLUMN_MM, y)
            for row in range(2):
                yield XY(x, edge.top_mm + BALLOON_MM + _AWAY_MM + row * _ROW_MM)
            yield XY(edge.right_mm + half + _AWAY_MM, y)
            yield XY(x, edge.bottom_mm - BALLOON_MM - _AWAY_MM)

    def _crossed(self, start: XY, end: XY) -> int:
        """Return how many words and numbers a line from a number to its cut crosses."""
        left, right = sorted((start.x_mm, end.x_mm))
        low, high = sorted((start.y_mm, end.y_mm))
        near = [
            box
            for box in self.taken
            if box.right_mm > left and box.left_mm < right and box.top_mm > low and box.bottom_mm < high
        ]
        many = max(2, int(math.dist(start, end) / 0.7))
        points = [
            (start.x_mm + (end.x_mm - start.x_mm) * n / many, start.y_mm + (end.y_mm - start.y_mm) * n / many)
            for n in range(many + 1)
        ]
        return sum(
            any(box.left_mm < x < box.right_mm and box.bottom_mm < y < box.top_mm for x, y in points) for box in near
        )


def _along(start: XY, end: XY) -> Iterator[Box]:
    """Yield small rectangles along a line, so that no later number hides it."""
    many = max(1, int(math.dist(start, end) / 1.5))
    for n in range(1, many):
        x, y = start.x_mm + (end.x_mm - start.x_mm) * n / many, start.y_mm + (end.y_mm - start.y_mm) * n / many
        yield Box(x - 0.35, y - 0.35, x + 0.35, y + 0.35)


def _dot(at: XY) -> Iterator[XY]:
    for turn in range(8):
        angle = math.pi * turn / 4
        yield XY(at.x_mm + _DOT_MM * math.cos(angle), at.y_mm + _DOT_MM * math.sin(angle))
