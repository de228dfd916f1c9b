"""From marks to ink: every mark taken apart into lines, discs and words in paper millimetres, y up.

This is the one place that knows how a dimension is laid out: number upright, breaking the line; slim filled arrows;
extension lines clear of the part by 1 mm; arrows outside when the number does not fit (ASME's drawing practice, from
memory; the sizes are this program's own). What is written afterwards, and measured for its bounds, is only this.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

from carwright.draw.glyphs import CAP_HEIGHT, width_mm
from carwright.draw.model import (
    ARROW_MM,
    LAYERS,
    LETTER_MM,
    XY,
    Arc,
    Balloon,
    CentreMark,
    Circle,
    Dimension,
    Drawing,
    Fill,
    Hatch,
    Layer,
    Leader,
    Line,
    Mark,
    Ordinate,
    Pattern,
    Polyline,
    Ring,
    Role,
    Text,
    walk,
)
from carwright.records import quickly_made

__all__ = [
    "BALLOON_MM",
    "FINE",
    "Box",
    "Curve",
    "Disc",
    "Ink",
    "Path",
    "Words",
    "balloon_box",
    "bounds",
    "extent",
    "hatch_lines",
    "ink",
    "loose_ink",
    "moved",
]

GAP_MM: Final = 1.0
"""From the part to the beginning of an extension line."""

OVERRUN_MM: Final = 1.4
"""Of an extension line beyond the dimension line."""

RING_MM: Final = 2.5
"""Radius of a ringed letter."""

BALLOON_MM: Final = 2.0
"""Half the height of a step's number in black."""
_STEP_MM: Final = 2.8
"""Size of a step's number."""

_LONG: Final = 3
_LONG_RING_MM: Final = 3.2
"""From so many signs on a letter stands in a wider ring."""

TAIL_MM: Final = 4.5
"""Line behind an arrow that stands outside."""

FINE: Final = (1.0, 0.4, 0.2)
"""Dashes by fineness, as a part of their layer's."""

_FINE_BELOW_MM: Final = (42.0, 12.0)
_CLEAR_MM: Final = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class _Inked:
    layer: Layer
    role: Role
    part: str
    title: str
    key: str = ""


@quickly_made
@dataclass(frozen=True, slots=True)
class Path(_Inked):
    """Straight lines; ``fineness`` 1 or 2 has its layer's dashes at ``FINE`` of that, for what is small.

    ``colour`` fills it in place of ``fill`` where there are colours.
    """

    points: tuple[XY, ...]
    closed: bool = False
    fill: Fill = "none"
    fineness: int = 0
    colour: str = ""


@quickly_made
@dataclass(frozen=True, slots=True)
class Curve(_Inked):
    """Part of a circle, anticlockwise."""

    centre: XY
    radius_mm: float
    start_deg: float
    end_deg: float


@quickly_made
@dataclass(frozen=True, slots=True)
class Disc(_Inked):
    """A circle; ``fineness`` as for a path, ``dashed`` for a ring whose letter is still to be measured."""

    centre: XY
    radius_mm: float
    fill: Fill = "none"
    fineness: int = 0
    dashed: bool = False


@quickly_made
@dataclass(frozen=True, slots=True)
class Words(_Inked):
    """Words on one line; ``at`` is on the base line."""

    at: XY
    text: str
    size_mm: float
    anchor: Literal["start", "middle", "end"]
    bold: bool
    turn_deg: Literal[0, 90]
    quiet: bool = False
    knocked: bool = False


Ink = Path | Curve | Disc | Words
"""What a writer has to know how to write."""


@quickly_made
@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on paper, in mm."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float

    @property
    def width_mm(self) -> float:
        """Return its width."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """Return its height."""
        return self.top_mm - self.bottom_mm

    def grown(self, by_mm: float) -> Box:
        """Return the box with ``by_mm`` more on every side."""
        return Box(self.left_mm - by_mm, self.bottom_mm - by_mm, self.right_mm + by_mm, self.top_mm + by_mm)

    def meets(self, other: Box) -> bool:
        """Return whether the two share any area."""
        return (
            self.left_mm < other.right_mm
            and other.left_mm < self.right_mm
            and self.bottom_mm < other.top_mm
            and other.bottom_mm < self.top_mm
        )


def ink(drawing: Drawing) -> tuple[Ink, ...]:
    """Return everything that is to be drawn, in the order of the layers' table and otherwise as it was given."""
    order = {name: place for place, name in enumerate(LAYERS)}
    taken = [piece for mark in walk(drawing.marks) for piece in _apart(mark, drawing.scale)]
    return tuple(sorted(taken, key=lambda piece: order[piece.layer]))


def loose_ink(marks: Iterable[Mark], scale: float) -> Iterator[Ink]:
    """Return what is to be drawn of marks that are no groups, in no order: for who asks only where."""
    return (piece for mark in marks for piece in _apart(mark, scale))


def bounds(pieces: Iterable[Ink], *, words: bool = True) -> Box:
    """Return the least rectangle around everything (pens included), or around all but the words."""
    edges = [_edges(piece) for piece in pieces if words or not isinstance(piece, Words)]
    if not edges:
        return Box(0.0, 0.0, 0.0, 0.0)
    lefts, bottoms, rights, tops = zip(*edges, strict=True)
    return Box(min(lefts), min(bottoms), max(rights), max(tops))


def extent(piece: Ink) -> Box:
    """Return the rectangle that one piece of ink fills."""
    return Box(*_edges(piece))


def _edges(piece: Ink) -> tuple[float, float, float, float]:
    """Return left, bottom, right and top of what one piece of ink fills."""
    if isinstance(piece, Words):
        length = width_mm(piece.text, piece.size_mm, bold=piece.bold)
        before = {"start": 0.0, "middle": length / 2, "end": length}[piece.anchor]
        deep, high = 0.24 * piece.size_mm, 0.78 * piece.size_mm
        if "/" in piece.text:
            deep, high = 0.42 * piece.size_mm, 1.1 * piece.size_mm
        x, y = piece.at
        if piece.turn_deg == 90:
            return x - high, y - before, x + deep, y - before + length
        return x - before, y - deep, x - before + length, y + high
    pen = LAYERS[piece.layer].width_mm / 2
    if isinstance(piece, Path):
        xs, ys = zip(*piece.points, strict=True)
        return min(xs) - pen, min(ys) - pen, max(xs) + pen, max(ys) + pen
    x, y = piece.centre
    out = piece.radius_mm + pen
    return x - out, y - out, x + out, y + out


def moved(pieces: Iterable[Ink], by: XY) -> tuple[Ink, ...]:
    """Return the ink moved to the right and up, in mm on paper."""
    dx, dy = by

    def shift(at: XY) -> XY:
        return XY(at.x_mm + dx, at.y_mm + dy)

    done: list[Ink] = []
    for piece in pieces:
        if isinstance(piece, Path):
            done.append(replace(piece, points=tuple(shift(at) for at in piece.points)))
        elif isinstance(piece, Words):
            done.append(replace(piece, at=shift(piece.at)))
        elif isinstance(piece, Curve):
            done.append(replace(piece, centre=shift(piece.centre)))
        else:
            done.append(replace(piece, centre=shift(piece.centre)))
    return tuple(done)


def hatch_lines(
    outline: tuple[XY, ...], holes: tuple[tuple[XY, ...], ...], pattern: Pattern
) -> Iterator[tuple[XY, XY]]:
    """Yield the lines (for ``dots`` the dots, as lines without length) that fill an outline, holes left out.

    Even-odd rule on each line of the pattern; the lines of one pattern lie on one grid, so that two areas that touch
    carry on.
    """
    if pattern == "dots":
        step = 1.6
        for turn, row in enumerate(_steps(outline, 0.0, step)):
            for inside in _crossings(outline, holes, 0.0, row):
                first = math.ceil((inside[0] + 0.3) / step) * step + (turn % 2) * step / 2
                while first < inside[1] - 0.3:
                    yield XY(first, row), XY(first, row)
                    first += step
        return
    angle = {"single": 45.0, "single_back": 135.0, "paired": 45.0}[pattern]
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    for row in _steps(outline, angle, 1.4):
        for offset in (0.0, 0.35) if pattern == "paired" else (0.0,):
            for near, far in _crossings(outline, holes, angle, row + offset):
                t = row + offset
                yield XY(near * c - t * s, near * s + t * c), XY(far * c - t * s, far * s + t * c)


def _steps(outline: tuple[XY, ...], angle: float, step: float) -> Iterator[float]:
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    across = [at.y_mm * c - at.x_mm * s for at in outline]
    count = math.ceil(min(across) / step)
    while count * step < max(across):
        yield count * step
        count += 1


def _crossings(
    outline: tuple[XY, ...], holes: tuple[tuple[XY, ...], ...], angle: float, row: float
) -> Iterator[tuple[float, float]]:
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    along: list[float] = []
    for loop in (outline, *holes):
        turned = [(at.x_mm * c + at.y_mm * s, at.y_mm * c - at.x_mm * s) for at in loop]
        for (u0, v0), (u1, v1) in zip(turned, turned[1:] + turned[:1], strict=True):
            if (v0 <= row) != (v1 <= row):
                along.append(u0 + (u1 - u0) * (row - v0) / (v1 - v0))
    along.sort()
    yield from zip(along[0::2], along[1::2], strict=False)


def _fineness(layer: Layer, length_mm: float) -> int:
    """Return how fine a line's dashes are by its longest piece, so that even a small outline shows its corners."""
    if not LAYERS[layer].dashes_mm:
        return 0
    return sum(length_mm < bound for bound in _FINE_BELOW_MM)


_EXPLAINS: Final = (Dimension, Ordinate, Leader)


class _Pencil:
    """Draws the pieces of one mark, in paper millimetres."""

    def __init__(self, mark: Mark) -> None:
        self.mark = mark
        self.done: list[Ink] = []

    def path(self, *points: XY, layer: Layer | None = None, closed: bool = False, fill: Fill = "none") -> None:
        m = self.mark
        explains = isinstance(m, _EXPLAINS) and m.layer != "wanting"
        on = layer or ("dimension" if explains else m.layer)
        fine = 0
        if LAYERS[on].dashes_mm:
            fine = _fineness(on, max(math.dist(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)))
        colour = m.colour if isinstance(m, Polyline) else ""
        self.done.append(
            Path(points, closed, fill, fine, colour, layer=on, role=m.role, part=m.part, title=m.title, key=m.key)
        )

    def disc(self, centre: XY, radius_mm: float, *, fill: Fill = "none", dashed: bool = False) -> None:
        m = self.mark
        on: Layer = "text" if isinstance(m, Dimension | Ring) else m.layer
        fine = _fineness(on, 2 * math.pi * radius_mm)
        self.done.append(
            Disc(centre, radius_mm, fill, fine, dashed, layer=on, role=m.role, part=m.part, title=m.title, key=m.key)
        )

    def words(
        self,
        at: XY,
        text: str,
        *,
        size_mm: float = LETTER_MM,
        anchor: Literal["start", "middle", "end"] = "start",
        bold: bool = False,
        turn_deg: Literal[0, 90] = 0,
        quiet: bool = False,
        knocked: bool = False,
    ) -> None:
        m = self.mark
        words = Words(
            at,
            text,
            size_mm,
            anchor,
            bold,
            turn_deg,
            quiet,
            knocked,
            layer="text",
            role="show",
            part=m.part,
            title=m.title,
            key=m.key,
        )
        self.done.append(words)

    def arrow(self, tip: XY, toward_deg: float) -> None:
        """Draw an arrow whose point is at ``tip`` and which points toward ``toward_deg``."""
        a = math.radians(toward_deg)
        c, s = math.cos(a), math.sin(a)
        half = 0.2 * ARROW_MM
        base = XY(tip.x_mm - ARROW_MM * c, tip.y_mm - ARROW_MM * s)
        self.path(
            tip,
            XY(base.x_mm - half * s, base.y_mm + half * c),
            XY(base.x_mm + half * s, base.y_mm - half * c),
            layer="dimension",
            closed=True,
            fill="ink",
        )


def _apart(mark: Mark, k: float) -> list[Ink]:
    """Take one mark apart; ``k`` is the drawing's scale."""
    pencil = _Pencil(mark)
    if isinstance(mark, Line):
        pencil.path(_on(mark.start, k), _on(mark.end, k))
    elif isinstance(mark, Polyline):
        pencil.path(*(_on(at, k) for at in mark.points), closed=mark.closed, fill=mark.fill)
    elif isinstance(mark, Circle):
        pencil.disc(_on(mark.centre, k), mark.radius_mm * k, fill=mark.fill)
    elif isinstance(mark, Arc):
        pencil.done.append(
            Curve(
                _on(mark.centre, k),
                mark.radius_mm * k,
                mark.start_deg,
                mark.end_deg,
                layer=mark.layer,
                role=mark.role,
                part=mark.part,
                title=mark.title,
                key=mark.key,
            )
        )
    elif isinstance(mark, Hatch):
        outline = tuple(_on(at, k) for at in mark.outline)
        holes = tuple(tuple(_on(at, k) for at in hole) for hole in mark.holes)
        if not holes:
            ground = Path(
                outline, True, "paper", layer="hatch", role="show", part=mark.part, title=mark.title, key=mark.key
            )
            pencil.done.append(ground)
        for start, end in hatch_lines(outline, holes, mark.pattern):
            if start == end:
                pencil.disc(start, 0.12, fill="ink")
            else:
                pencil.path(start, end)
    elif isinstance(mark, Text):
        _text(pencil, mark, k)
    elif isinstance(mark, CentreMark):
        x, y = _on(mark.centre, k)
        reach = mark.radius_mm * k + mark.reach_mm
        pencil.path(XY(x - reach, y), XY(x + reach, y))
        pencil.path(XY(x, y - reach), XY(x, y + reach))
    elif isinstance(mark, Leader):
        _leader(pencil, mark, k)
    elif isinstance(mark, Balloon):
        _balloon(pencil, _on(mark.at, k), mark.text)
    elif isinstance(mark, Ring):
        _ring(pencil, _on(mark.at, k), mark.letter, dashed=mark.dashed)
    elif isinstance(mark, Dimension):
        _dimension(pencil, mark, k)
    elif isinstance(mark, Ordinate):
        _ordinate(pencil, mark, k)
    return pencil.done


def _on(at: XY, k: float) -> XY:
    return XY(at.x_mm * k, at.y_mm * k)


def _text(pencil: _Pencil, mark: Text, k: float) -> None:
    at = _on(mark.at, k)
    pencil.words(at, mark.text, size_mm=mark.size_mm, anchor=mark.anchor, bold=mark.bold, turn_deg=mark.turn_deg)
    if mark.ground:
        words = pencil.done.pop()
        _clear(pencil, extent(words).grown(0.4), fill="band" if mark.toned else "paper")
        pencil.done.append(words)


def _clear(pencil: _Pencil, box: Box, *, fill: Fill = "paper") -> None:
    corners = (
        XY(box.left_mm, box.bottom_mm),
        XY(box.right_mm, box.bottom_mm),
        XY(box.right_mm, box.top_mm),
        XY(box.left_mm, box.top_mm),
    )
    m = pencil.mark
    pencil.done.append(Path(corners, True, fill, layer="text", role="show", part=m.part, title=m.title, key=m.key))


def _leader(pencil: _Pencil, mark: Leader, k: float) -> None:
    tip, elbow = _on(mark.tip, k), _on(mark.elbow, k)
    away = 1.0 if elbow.x_mm >= tip.x_mm else -1.0
    shelf = XY(elbow.x_mm + 3.0 * away, elbow.y_mm)
    pencil.path(tip, elbow, shelf, layer="dimension")
    pencil.arrow(tip, math.degrees(math.atan2(tip.y_mm - elbow.y_mm, tip.x_mm - elbow.x_mm)))
    pencil.words(
        XY(shelf.x_mm + 1.0 * away, shelf.y_mm - CAP_HEIGHT * LETTER_MM / 2),
        mark.text,
        anchor="start" if away > 0 else "end",
    )


def _ring(pencil: _Pencil, centre: XY, letter: str, *, dashed: bool) -> None:
    pencil.disc(centre, RING_MM if len(letter) < _LONG else _LONG_RING_MM, fill="paper", dashed=dashed)
    size = LETTER_MM if len(letter) == 1 else 2.8
    pencil.words(XY(centre.x_mm, centre.y_mm - CAP_HEIGHT * size / 2), letter, size_mm=size, anchor="middle", bold=True)


def balloon_box(centre: XY, text: str) -> Box:
    """Return the rectangle that a step's number fills, in paper millimetres."""
    half = max(BALLOON_MM, width_mm(text, _STEP_MM, bold=True) / 2 + 1.0)
    return Box(centre.x_mm - half, centre.y_mm - BALLOON_MM, centre.x_mm + half, centre.y_mm + BALLOON_MM)


def _balloon(pencil: _Pencil, centre: XY, text: str) -> None:
    box = balloon_box(centre, text)
    straight = box.width_mm / 2 - BALLOON_MM
    turns = [math.radians(-90.0 + 15.0 * step) for step in range(13)]
    right = [XY(BALLOON_MM * math.cos(a) + straight, BALLOON_MM * math.sin(a)) for a in turns]
    around = (*right, *(XY(-at.x_mm, -at.y_mm) for at in right))
    pencil.path(
        *(XY(centre.x_mm + at.x_mm, centre.y_mm + at.y_mm) for at in around), layer="text", closed=True, fill="ink"
    )
    low = XY(centre.x_mm, centre.y_mm - CAP_HEIGHT * _STEP_MM / 2)
    pencil.words(low, text, size_mm=_STEP_MM, anchor="middle", bold=True, knocked=True)


def _dimension(pencil: _Pencil, mark: Dimension, k: float) -> None:
    upright = mark.axis == "y"

    def at(along: float, across: float) -> XY:
        return XY(across, along) if upright else XY(along, across)

    ends = [(e.y_mm * k, e.x_mm * k) if upright else (e.x_mm * k, e.y_mm * k) for e in (mark.start, mark.end)]
    ends.sort()
    low, high = ends[0][0], ends[1][0]
    line = mark.line_at_mm * k
    for along, foot in ends:
        away = math.copysign(1.0, line - foot)
        if abs(line - foot) > GAP_MM:
            pencil.path(at(along, foot + away * GAP_MM), at(along, line + away * OVERRUN_MM))
    room = high - low
    number = width_mm(mark.text, LETTER_MM)
    ring = 2 * RING_MM + 0.8 if mark.letter else 0.0
    tall = max(LETTER_MM * (1.5 if "/" in mark.text else 1.0), 2 * RING_MM if mark.letter else 0.0)
    need = (tall if upright else number + ring) + 2 * _CLEAR_MM
    if upright and mark.letter and mark.text:
        need = tall + LETTER_MM + 2 * _CLEAR_MM
    if not mark.text and mark.letter:
        need = 2 * RING_MM + 0.4
    middle = (low + high) / 2
    quarter = 90.0 if upright else 0.0
    if room >= need + 2 * ARROW_MM + 1.0:
        pencil.path(at(low, line), at(middle - need / 2, line))
        pencil.path(at(middle + need / 2, line), at(high, line))
        pencil.arrow(at(low, line), quarter + 180.0)
        pencil.arrow(at(high, line), quarter)
        place = middle
    else:
        pencil.path(at(low - TAIL_MM, line), at(low, line))
        pencil.path(at(high, line), at(high + TAIL_MM, line))
        pencil.arrow(at(low, line), quarter)
        pencil.arrow(at(high, line), quarter + 180.0)
        place = middle if room >= need + 0.4 else high + TAIL_MM + need / 2
    _number(pencil, mark, at(place, line), number, upright=upright, outside=place != middle)


def _number(pencil: _Pencil, mark: Dimension, middle: XY, number: float, *, upright: bool, outside: bool) -> None:
    """Write letter and number about ``middle``: side by side, or one over the other on an upright line.

    One that stands ``outside`` of what it measures may stand on the part, whose lines then break round it.
    """
    drop = CAP_HEIGHT * LETTER_MM / 2
    written = len(pencil.done)
    _written(pencil, mark, middle, number, drop, upright=upright)
    if outside:
        words = [each for each in pencil.done[written:] if isinstance(each, Words)]
        late, pencil.done[written:] = pencil.done[written:], []
        for each in words:
            _clear(pencil, extent(each).grown(0.2))
        pencil.done += late


def _written(pencil: _Pencil, mark: Dimension, middle: XY, number: float, drop: float, *, upright: bool) -> None:
    if mark.letter and mark.text and upright:
        _ring(pencil, XY(middle.x_mm, middle.y_mm + LETTER_MM / 2 + 0.3), mark.letter, dashed=mark.layer == "wanting")
        pencil.words(XY(middle.x_mm, middle.y_mm - RING_MM - drop - 0.5), mark.text, anchor="middle")
        return
    if mark.letter:
        across = RING_MM * 2 + 0.8 if mark.text else RING_MM * 2
        left = middle.x_mm - (across + (number if mark.text else 0.0)) / 2
        _ring(pencil, XY(left + RING_MM, middle.y_mm), mark.letter, dashed=mark.layer == "wanting")
        if mark.text:
            pencil.words(XY(left + across, middle.y_mm - drop), mark.text)
        return
    pencil.words(XY(middle.x_mm, middle.y_mm - drop), mark.text, anchor="middle")


def _ordinate(pencil: _Pencil, mark: Ordinate, k: float) -> None:
    foot, label = _on(mark.point, k), _on(mark.label, k)
    drop = CAP_HEIGHT * LETTER_MM / 2
    if mark.axis == "y":
        away = math.copysign(1.0, label.x_mm - foot.x_mm)
        start = XY(foot.x_mm + away * GAP_MM, foot.y_mm)
        jog, end = XY(label.x_mm - away * 6.0, foot.y_mm), XY(label.x_mm - away * 3.0, label.y_mm)
        pencil.path(start, jog, end, XY(label.x_mm - away * 0.8, label.y_mm))
        anchor: Literal["start", "end"] = "start" if away > 0 else "end"
        pencil.words(XY(label.x_mm, label.y_mm - drop), mark.text, anchor=anchor, bold=True)
        if mark.words:
            beside = away * (max(width_mm(mark.text, LETTER_MM, bold=True), 8.4) + 1.6)
            pencil.words(XY(label.x_mm + beside, label.y_mm - drop), mark.words, anchor=anchor, quiet=True)
        return
    away = math.copysign(1.0, label.y_mm - foot.y_mm)
    start = XY(foot.x_mm, foot.y_mm + away * GAP_MM)
    jog, end = XY(foot.x_mm, label.y_mm - away * 4.5), XY(label.x_mm, label.y_mm - away * 2.0)
    pencil.path(start, jog, end, XY(label.x_mm, label.y_mm - away * 0.8))
    text = f"{mark.text}  {mark.words}" if mark.words else mark.text
    pencil.words(XY(label.x_mm + drop, label.y_mm), text, anchor="start" if away > 0 else "end", turn_deg=90)
