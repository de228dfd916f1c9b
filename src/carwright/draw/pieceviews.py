"""Every piece true to size with its dimensions and how many, packed on as few sheets as they need.

A piece is seen from its lower face: what lies flat under the car from below with end B to the right, what stands across
the car from end B. A rectangle has its two sizes. Where a piece has other corners or holes their places are told from
its left end and its upper edge. A piece too long for the sheet is drawn smaller and says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from carwright.draw.floorplan import hole_letters
from carwright.draw.glyphs import width_mm as words_mm
from carwright.draw.labels import number, spread
from carwright.draw.model import (
    LETTER_MM,
    XY,
    CentreMark,
    Circle,
    Dimension,
    Drawing,
    Group,
    Line,
    Mark,
    Ordinate,
    Polyline,
    Text,
)
from carwright.draw.piecelist import PieceRow, piece_rows
from carwright.draw.shift import shifted
from carwright.draw.strokes import Box, bounds, ink
from carwright.pieces import Piece
from carwright.plan.model import Plan
from carwright.working import Working, derive

__all__ = ["many_words", "packed", "piece_sheets"]

_GAP_MM: Final = 7.0
_LABEL_GAP_MM: Final = 4.2
_TITLE_OVER_MM: Final = 8.0
"""A title may reach this far beyond its view; a longer one takes two lines."""

_ALIKE_MM: Final = 1e-6
_WORDS: Final = (
    "none",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def many_words(count: int) -> str:
    """Return a small number in words."""
    return _WORDS[count] if 0 <= count < len(_WORDS) else str(count)


def piece_sheets(plan: Plan, *, width_mm: float, height_mm: float) -> tuple[Drawing, ...]:
    """Return the pieces but the floor, true to size, on as many drawings as they need.

    Args:
        plan: the plan.
        width_mm: room for a drawing, on paper.
        height_mm: likewise.
    """
    by_name = {piece.name: piece for piece in plan.pieces}
    letters = hole_letters(plan.holes)
    views: list[tuple[Mark, ...]] = []
    for row in piece_rows(plan):
        piece = by_name[row.pieces[0]]
        if piece.name != "floor" and not piece.needs:
            views.append(_piece_view(plan, row, piece, letters, width_mm))
    alt = "Pieces true to size, each with its dimensions and how many are made."
    return packed("pieces", "Pieces, true size", alt, views, width_mm=width_mm, height_mm=height_mm)


def packed(
    name: str, title: str, alt: str, views: Sequence[tuple[Mark, ...]], *, width_mm: float, height_mm: float
) -> tuple[Drawing, ...]:
    """Return views laid in rows, the highest first, each in the first place that has room for it.

    A row is as high as its first view; what is lower stands in columns, one view under another while they fit.

    Args:
        name: of the drawing; several get a number behind it.
        title: what stands above it.
        alt: what it shows.
        views: marks of each.
        width_mm: of a sheet.
        height_mm: of a sheet.
    """
    boxed = sorted(((marks, _box(marks)) for marks in views), key=lambda each: -round(each[1].height_mm, 3))
    sheets: list[_SheetRows] = []
    for marks, box in boxed:
        spot = next((found for each in sheets if (found := each.spot(box, width_mm, height_mm)) is not None), None)
        if spot is None:
            sheets.append(_SheetRows())
            spot = sheets[-1].start(box)
        sheet, at = spot
        sheet.marks += [shifted(mark, at.x_mm - box.left_mm, at.y_mm - box.top_mm) for mark in marks]
    made = [Drawing(name, title, alt, tuple(each.marks)) for each in sheets]
    if len(made) == 1:
        return tuple(made)
    return tuple(replace(each, name=f"{name}-{place + 1}") for place, each in enumerate(made))


@dataclass(slots=True)
class _Column:
    """Views of a row that stand one under another: the left edge, the width, and how far down they reach."""

    left_mm: float
    width_mm: float
    filled_mm: float


@dataclass(slots=True)
class _Row:
    """A row of views: where its upper edge is, how high it is, and its columns from the left."""

    top_mm: float
    height_mm: float
    columns: list[_Column] = field(default_factory=list)

    def place(self, box: Box, width_mm: float) -> XY | None:
        """Return the upper left corner of a place for a view, and take it; None where there is none."""
        for column in self.columns:
            down = column.filled_mm + _GAP_MM
            if box.width_mm <= column.width_mm + 1e-6 and down + box.height_mm <= self.height_mm + 1e-6:
                column.filled_mm = down + box.height_mm
                return XY(column.left_mm, self.top_mm - down)
        left = self.columns[-1].left_mm + self.columns[-1].width_mm + _GAP_MM if self.columns else 0.0
        if box.height_mm > self.height_mm + 1e-6 or (self.columns and left + box.width_mm > width_mm):
            return None
        self.columns.append(_Column(left, box.width_mm, box.height_mm))
        return XY(left, self.top_mm)


@dataclass(slots=True)
class _SheetRows:
    """A sheet as it fills: its rows from the top, and what is drawn on it."""

    rows: list[_Row] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)

    def spot(self, box: Box, width_mm: float, height_mm: float) -> tuple[_SheetRows, XY] | None:
        """Return this sheet and a place on it, in a row that is there or in a new one; None where it is full."""
        for row in self.rows:
            at = row.place(box, width_mm)
            if at is not None:
                return self, at
        top = self.rows[-1].top_mm - self.rows[-1].height_mm - _GAP_MM
        return self.start(box, top) if -top + box.height_mm <= height_mm else None

    def start(self, box: Box, top_mm: float = 0.0) -> tuple[_SheetRows, XY]:
        """Return this sheet and the first place of a new row."""
        row = _Row(top_mm, box.height_mm, [_Column(0.0, box.width_mm, box.height_mm)])
        self.rows.append(row)
        return self, XY(0.0, top_mm)


def _box(marks: Sequence[Mark]) -> Box:
    return bounds(ink(Drawing("view", "", "", tuple(marks))))


@dataclass(frozen=True, slots=True)
class _Place:
    """A place along or across a piece: where it is drawn, and its distance from the datum as it is told."""

    at_mm: float
    told: Working
    part: str = ""


def _piece_view(plan: Plan, row: PieceRow, piece: Piece, letters: dict[str, str], width_mm: float) -> tuple[Mark, ...]:
    units = plan.car.info.units
    k = _reduced(piece, width_mm)
    half, wide = piece.length_mm.value / 2 * k, _across(piece) / 2 * k
    stock = row.stock if row.stock.startswith("bolster") else f"{row.stock} {piece.material}"
    title = f"{row.name}: {stock.removeprefix('bolster ')}, {many_words(row.many)}"
    marks: list[Mark] = []
    if piece.form == "wire":
        marks.append(Line(XY(-half, 0.0), XY(half, 0.0), layer="wire", role="cut", title=title))
    else:
        outline = tuple(XY(-at.x_mm.value * k, at.y_mm.value * k) for at in piece.outline_mm)
        marks.append(Polyline(outline, layer="template", role="cut", title=title))
    if piece.form == "rod":
        over = half + 3.0
        marks.append(Line(XY(-over, 0.0), XY(over, 0.0), layer="centre"))
    for hole in piece.holes:
        if hole.x_mm is None:
            continue
        at, radius = XY(-hole.x_mm.value * k, hole.y_mm.value * k), hole.diameter_mm.value / 2 * k
        marks.append(Circle(at, radius, layer="template", role="drill", part=hole.name, title=hole.purpose))
        marks.append(CentreMark(at, radius, 1.2, layer="template_inner", part=hole.name))
    along, across = _places(piece, k)
    top = wide + (0.0 if not along else 14.0)
    marks += _along(along, half, wide, units)
    marks += _across_told(across, half, wide, units)
    left = -half - (12.5 if along else 6.5)
    foot = min([-wide - 5.5, *(mark.label.y_mm - 4.5 for mark in marks if isinstance(mark, Ordinate))])
    long = piece.cut_length_mm if piece.form == "wire" and piece.cut_length_mm is not None else piece.length_mm
    marks.append(Dimension(XY(-half, -wide), XY(half, -wide), "x", foot, number(long, units), layer="dimension"))
    if piece.form not in ("wire", "rod"):
        text = number(piece.width_mm, units)
        ends = XY(-half, -wide), XY(-half, wide)
        marks.append(Dimension(*ends, "y", left, text, layer="dimension"))
    box = _box(marks)
    lettered = sorted({letters[hole.name] for hole in piece.holes if hole.name in letters})
    words = [title]
    if words_mm(title, LETTER_MM, bold=True) > box.width_mm + _TITLE_OVER_MM:
        words = [row.name, title.removeprefix(f"{row.name}: ")]
    if lettered:
        hole = piece.holes[0]
        words.append(f"hole {', '.join(lettered)}: {hole.drill}")
    if k < 1.0:
        words.append(f"drawn 1 : {1 / k:.0f}, set it out from its dimensions")
    for count, line in enumerate(reversed(words)):
        at = XY(box.left_mm, max(box.top_mm, top) + 2.4 + 4.4 * count)
        marks.append(Text(at, line, bold=line is words[0], layer="text"))
    return (Group(tuple(marks), part=piece.name),)


def _reduced(piece: Piece, width_mm: float) -> float:
    room = width_mm - 30.0
    return next((k for k in (1.0, 1 / 2, 1 / 3, 1 / 4) if piece.length_mm.value * k <= room), 1 / 5)


def _across(piece: Piece) -> float:
    return 0.0 if piece.form == "wire" else piece.width_mm.value


def _places(piece: Piece, k: float) -> tuple[list[_Place], list[_Place]]:
    """Return the places to be told along and across, datum first; none where the two sizes say it all."""
    half, wide = piece.length_mm.value / 2, piece.width_mm.value / 2
    along: dict[int, _Place] = {}
    across: dict[int, _Place] = {}

    def tell(x: Working | None, y: Working, part: str) -> None:
        if x is not None and half - abs(x.value) > _ALIKE_MM:
            told = derive("from the left end", "L/2 - x", L=piece.length_mm, x=x)
            along.setdefault(round(x.value * 1e4), _Place(-x.value * k, told, part))
        if wide - abs(y.value) > _ALIKE_MM:
            told = derive("from the upper edge", "W/2 - y", W=piece.width_mm, y=y)
            across.setdefault(round(y.value * 1e4), _Place(y.value * k, told, part))

    if piece.form in ("plate", "block"):
        for hole in piece.holes:
            tell(hole.x_mm, hole.y_mm, hole.name)
        for at in piece.outline_mm:
            tell(at.x_mm, at.y_mm, piece.name)
    return list(along.values()), list(across.values())


def _along(places: list[_Place], half: float, wide: float, units: Literal["in", "mm"]) -> list[Mark]:
    if not places:
        return []
    told = sorted([(-half, "0", ""), *((each.at_mm, number(each.told, units), each.part) for each in places)])
    spots = spread([at for at, _, _ in told], _LABEL_GAP_MM)
    return [
        Ordinate(XY(at, wide), XY(spot, wide + 7.0), "x", text, layer="dimension", part=part)
        for (at, text, part), spot in zip(told, spots, strict=True)
    ]


def _across_told(places: list[_Place], half: float, wide: float, units: Literal["in", "mm"]) -> list[Mark]:
    if not places:
        return []
    told = sorted([(wide, "0", ""), *((each.at_mm, number(each.told, units), each.part) for each in places)])
    spots = spread([at for at, _, _ in told], _LABEL_GAP_MM)
    return [
        Ordinate(XY(half, at), XY(half + 9.0, spot), "y", text, layer="dimension", part=part)
        for (at, text, part), spot in zip(told, spots, strict=True)
    ]
