"""Cutting diagrams: each sheet, and all bars of a section, with pieces, numbered cuts and what remains.

A sheet lies with its length from left to right. Wide lines are cuts; each has its number in black where it begins,
several alike have one for all. A piece carries its name and its size; what is worth keeping has corner ticks; waste is
hatched. A piece too small for its name has a letter, and what that stands for is a note of the drawing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from carwright.draw.cutnumbers import Numbers
from carwright.draw.cutwords import area_words, called, section_words, stock_words, tool_words
from carwright.draw.glyphs import width_mm
from carwright.draw.model import XY, Dimension, Drawing, Hatch, Layer, Line, Mark, Polyline, Text
from carwright.draw.strokes import Box
from carwright.lengths import Units, number_in
from carwright.stock.acts import Act, acts_of
from carwright.stock.batch import Batch, Group
from carwright.stock.pairs import Outline
from carwright.stock.records import Area, BarLayout, PlacedSheet, SheetLayout

__all__ = [
    "PAPER",
    "Lettering",
    "Region",
    "bars_diagram",
    "crowded_regions",
    "cut_drawings",
    "sheet_diagram",
    "whole_sheet",
]

_BAR_MM: Final = 6.0
"""A bar is drawn so high on paper, whatever its section; its length is to scale."""
_ROW_MM: Final = 15.0
_NAME_MM: Final = 3.0
_TICK_MM: Final = 2.6
_SMALL_SHARE: Final = 0.6
_MANY_ACTS: Final = 6
"""A detail is drawn where so many acts are left in less than that share of the sheet."""
_BELOW_SHEET_MM: Final = 15.0
_BELOW_BARS_MM: Final = 6.0
"""Where the caption stands: below the sheet's dimension, and below the places of the last bar's cuts, on paper."""
_WIDE_PEN_MM: Final = 2.2
_THIN_PEN_MM: Final = 1.1
"""Least distance of two lines of the wide pen, and of the thin one, on paper; closer ones are drawn with the finest."""
_SAME_MM: Final = 2e-3
_LINE_MM: Final = 1.3
"""From one line of words to the next, in sizes of their letters."""


@dataclass(frozen=True, slots=True)
class Lettering:
    """Least sizes of letters: of names and sizes in a piece, and of what stands beside it, in mm of the drawing."""

    least_mm: float
    beside_mm: float
    note_mm: float


PAPER: Final = Lettering(1.7, 2.2, 2.6)
"""On paper, which is held as near as one likes."""


def cut_drawings(batch: Batch, units: Units = "mm", *, scale: float = 1.0) -> Iterator[Drawing]:
    """Yield a drawing for each kind of layout of sheets, and one for all bars of each other section.

    Args:
        batch: the plans.
        units: of the sizes on it.
        scale: 1.0 is true size.
    """
    for number, group in enumerate(batch.groups, 1):
        if group.section.form == "sheet":
            for place, (layout, times) in enumerate(group.sheets, 1):
                name = f"cut-{number}-{place}"
                drawing = sheet_diagram(layout, group, units, name=name, times=times, scale=scale, led=False)
                yield _with_notes(drawing, -_BELOW_SHEET_MM)
        else:
            below = -_ROW_MM * len(group.bars) + _BELOW_BARS_MM
            yield _with_notes(bars_diagram(group, units, name=f"cut-{number}", scale=scale), below)


def _with_notes(drawing: Drawing, caption_mm: float) -> Drawing:
    """Return a drawing that stands alone, with what its letters stand for under its caption."""
    lines = [
        Text(layer="text", at=XY(0.0, (caption_mm - at * 4.0) / drawing.scale), text=words, size_mm=PAPER.note_mm)
        for at, words in enumerate(drawing.notes, 1)
    ]
    return replace(drawing, marks=(*drawing.marks, *lines))


def _box(area: Area) -> tuple[XY, ...]:
    x0, y0, x1, y1 = area.y_mm, area.x_mm, area.y_mm + area.length_mm, area.x_mm + area.width_mm
    return XY(x0, y0), XY(x1, y0), XY(x1, y1), XY(x0, y1)


# ------------------------------------------------------------------------------------------------------------- sheets


@dataclass(frozen=True, slots=True)
class Region:
    """A part of a sheet, or all of it, with the acts that take it apart: what one diagram shows."""

    part: Area
    acts: tuple[Act, ...]


def whole_sheet(layout: SheetLayout, *, kerf_mm: float = 0.0) -> Region:
    """Return the whole of a sheet."""
    return Region(Area(0.0, 0.0, layout.width_mm, layout.length_mm), acts_of(layout, kerf_mm=kerf_mm))


def crowded_regions(region: Region, larger: Callable[[Region], bool]) -> tuple[Region, ...]:
    """Return the parts of a region that a detail shows better: small for the many acts in them.

    Args:
        region: what is looked through.
        larger: whether a part can be drawn at a larger scale.
    """
    found: list[Region] = []
    left = list(region.acts)
    while True:
        best: Region | None = None
        for act in left:
            part = act.parts[0]
            if len(act.parts) > 1 or _size_of(part) > _SMALL_SHARE * _size_of(region.part):
                continue
            inside = tuple(each for each in left if all(_within(one, part) for one in each.parts))
            if len(inside) < _MANY_ACTS or (best is not None and len(inside) <= len(best.acts)):
                continue
            if larger(Region(part, inside)):
                best = Region(part, inside)
        if best is None:
            return tuple(found)
        found.append(best)
        left = [act for act in left if act not in best.acts]


def _size_of(area: Area) -> float:
    return area.width_mm * area.length_mm


def _within(area: Area, part: Area) -> bool:
    """Return whether all of an area lies in a part."""
    return (
        area.x_mm > part.x_mm - _SAME_MM
        and area.y_mm > part.y_mm - _SAME_MM
        and area.x_mm + area.width_mm < part.x_mm + part.width_mm + _SAME_MM
        and area.y_mm + area.length_mm < part.y_mm + part.length_mm + _SAME_MM
    )


def _lies_in(area: Area, part: Area) -> bool:
    x, y = area.x_mm + area.width_mm / 2, area.y_mm + area.length_mm / 2
    return part.x_mm < x < part.x_mm + part.width_mm and part.y_mm < y < part.y_mm + part.length_mm


def sheet_diagram(
    layout: SheetLayout,
    group: Group,
    units: Units,
    *,
    name: str,
    times: int = 1,
    scale: float = 1.0,
    region: Region | None = None,
    apart: Sequence[Region] = (),
    letters: Lettering = PAPER,
    led: bool = True,
) -> Drawing:
    """Return the diagram of one sheet, or of a region of it.

    Args:
        layout: the sheet.
        group: of whose plan it is.
        units: of the sizes on it.
        name: of the drawing.
        times: how many are cut alike.
        scale: 1.0 is true size.
        region: what is drawn; all of the sheet without it.
        apart: regions in it that have diagrams of their own; what is in them is shown here, not named.
        letters: how small they may be.
        led: whether a line leads to a piece too small for a letter of its own; else only its title tells it.
    """
    shown = region or whole_sheet(layout, kerf_mm=group.kerf_mm)
    paper = _Paper(scale, shown.part, letters, led)
    mine = [piece for piece in layout.pieces if not any(_lies_in(piece.area, each.part) for each in apart)]
    paper.remainders(layout, units, [each.part for each in apart])
    paper.pieces(mine, units, group)
    paper.cuts(shown.acts)
    for each in apart:
        paper.marks += _tint(each.part)
        paper.words(each.part, ("see the detail", area_words(each.part, units)), ground=True)
    told = [act for act in shown.acts if not any(act in each.acts for each in apart)]
    numbers = Numbers(scale, shown.part, shown.acts, paper.taken)
    for act in told:
        paper.marks += numbers.marks(act)
    for key, area in paper.outside:
        paper.marks += numbers.key_marks(key, area)
    paper.marks += _overall(shown.part, units, scale)
    if region is None:
        paper.marks.append(_caption(group, units, -_BELOW_SHEET_MM, scale, letters))
    size = area_words(shown.part, units)
    if region is None:
        bought = ", to be bought" if layout.bought else ""
        many = f", {times} alike" if times > 1 else ""
        title = f"{section_words(group.section, units)}: {stock_words(layout.stock)}{bought}, {size}{many}"
    else:
        title = f"detail: the part {size} of {stock_words(layout.stock)}"
    alt = f"A sheet or part of {size} {units} with its pieces and {len(told)} numbered steps of cutting."
    return Drawing(name, title[:1].upper() + title[1:], alt + paper.told, tuple(paper.marks), scale, paper.notes)


def _pen(gap_mm: float) -> Layer:
    """Return the pen for lines so far apart on paper: narrow strips stay apart, and do not become one black bar."""
    return "outline" if gap_mm >= _WIDE_PEN_MM else "thin" if gap_mm >= _THIN_PEN_MM else "hatch"


def _caption(group: Group, units: Units, at_mm: float, scale: float, letters: Lettering) -> Text:
    """Return what the stock is cut with and on which side of the line, ``at_mm`` of paper above its lower edge."""
    return Text(layer="text", at=XY(0.0, at_mm / scale), text=tool_words(group, units), size_mm=letters.note_mm)


def _tint(area: Area) -> Iterator[Mark]:
    """Yield the frame of what a detail shows."""
    yield Polyline(layer="band", points=_box(area), fill="band")


def _blocks(pieces: Sequence[PlacedSheet], kerf_mm: float) -> list[tuple[PlacedSheet, ...]]:
    """Return the pieces in blocks: alike ones that lie side by side, so that one name serves for many small ones."""
    rows: list[tuple[PlacedSheet, ...]] = [(piece,) for piece in pieces]
    for along in (True, False):
        rows = _joined(rows, kerf_mm, along=along)
    return rows


def _joined(blocks: Sequence[tuple[PlacedSheet, ...]], kerf_mm: float, *, along: bool) -> list[tuple[PlacedSheet, ...]]:
    """Return the blocks with those joined that are alike and next to each other along the sheet, or across it."""

    def place(block: tuple[PlacedSheet, ...]) -> tuple[float, float]:
        here = block[0].area
        return (here.x_mm, here.y_mm) if along else (here.y_mm, here.x_mm)

    done: list[tuple[PlacedSheet, ...]] = []
    for block in sorted(blocks, key=place):
        if done and _next(done[-1], block, kerf_mm, along=along):
            done[-1] = (*done[-1], *block)
        else:
            done.append(block)
    return done


def _next(one: tuple[PlacedSheet, ...], other: tuple[PlacedSheet, ...], kerf_mm: float, *, along: bool) -> bool:
    first, last, here, there = one[0], other[0], _around(one), _around(other)
    if first.name != last.name or first.turned != last.turned or _size(first) != _size(last):
        return False
    if along:
        gap = there.y_mm - here.y_mm - here.length_mm
        level = abs(there.x_mm - here.x_mm) < _SAME_MM and abs(there.width_mm - here.width_mm) < _SAME_MM
    else:
        gap = there.x_mm - here.x_mm - here.width_mm
        level = abs(there.y_mm - here.y_mm) < _SAME_MM and abs(there.length_mm - here.length_mm) < _SAME_MM
    return level and -_SAME_MM < gap < kerf_mm + _SAME_MM


def _size(piece: PlacedSheet) -> tuple[float, float]:
    return round(piece.area.width_mm, 3), round(piece.area.length_mm, 3)


def _around(pieces: Sequence[PlacedSheet]) -> Area:
    """Return the rectangle around some pieces."""
    x0, y0 = min(p.area.x_mm for p in pieces), min(p.area.y_mm for p in pieces)
    x1 = max(p.area.x_mm + p.area.width_mm for p in pieces)
    y1 = max(p.area.y_mm + p.area.length_mm for p in pieces)
    return Area(x0, y0, x1 - x0, y1 - y0)


def _named(paper: _Paper, alike: tuple[PlacedSheet, ...], units: Units, *, paired: bool) -> None:
    first = alike[0]
    size = area_words(first.area, units)
    turned = ", turned" if first.turned else ""
    words = called(first.name)
    fine = _pen(min(first.area.width_mm, first.area.length_mm) * paper.scale)
    for piece in alike:
        paper.marks.append(
            Polyline(
                layer="thin" if fine == "outline" else fine,
                points=_box(piece.area),
                part=piece.name,
                title=f"{called(piece.name)}, {size}{turned}",
            )
        )
    if all(paper.fits(piece.area, (words,)) for piece in alike):
        for piece in alike:
            paper.words(piece.area, (words, f"{size}{turned}"), ground=paired)
        return
    many = f"{len(alike)} x " if len(alike) > 1 else ""
    whole = _around(alike)
    if not paper.words(whole, (f"{many}{words}", f"{size}{turned}"), ground=paired or len(alike) > 1):
        paper.key(whole, f"{words}, {size}{turned}", ground=paired or len(alike) > 1)


def _pair(piece: PlacedSheet, outlines: Sequence[Outline]) -> Iterator[Mark]:
    """Yield the outlines of the two pieces in a rectangle; turned, they lie across the sheet."""
    x0, y0 = piece.area.y_mm, piece.area.x_mm
    for outline in outlines:
        points = tuple(
            XY(x0 + piece.area.length_mm - y, y0 + x) if piece.turned else XY(x0 + x, y0 + y) for x, y in outline
        )
        yield Polyline(layer="thin", points=points, part=piece.name, title="one of a pair, head to tail")


def _ticks(area: Area, scale: float) -> Iterator[Mark]:
    """Yield the corner ticks of an offcut that is kept."""
    reach = min(_TICK_MM / scale, area.width_mm / 3, area.length_mm / 3)
    inset = min(0.8 / scale, reach / 3)
    x0, y0, x1, y1 = area.y_mm, area.x_mm, area.y_mm + area.length_mm, area.x_mm + area.width_mm
    for x, dx in ((x0 + inset, 1.0), (x1 - inset, -1.0)):
        for y, dy in ((y0 + inset, 1.0), (y1 - inset, -1.0)):
            corner = (XY(x + dx * reach, y), XY(x, y), XY(x, y + dy * reach))
            yield Polyline(layer="thin", points=corner, closed=False, title="keep")


def _overall(whole: Area, units: Units, scale: float) -> Iterator[Mark]:
    """Yield the size of what is drawn, below it and to its right."""
    away = 9.0 / scale
    x0, y0, x1, y1 = whole.y_mm, whole.x_mm, whole.y_mm + whole.length_mm, whole.x_mm + whole.width_mm
    long, wide = number_in(whole.length_mm, units), number_in(whole.width_mm, units)
    yield Dimension(layer="dimension", start=XY(x0, y0), end=XY(x1, y0), axis="x", line_at_mm=y0 - away, text=long)
    yield Dimension(layer="dimension", start=XY(x1, y0), end=XY(x1, y1), axis="y", line_at_mm=x1 + away, text=wide)


@dataclass(slots=True)
class _Paper:
    """What is on the sheet already: the marks, and where words and numbers stand, in paper millimetres."""

    scale: float
    part: Area
    letters: Lettering
    led: bool = True
    marks: list[Mark] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)
    keys: dict[str, str] = field(default_factory=dict)
    outside: list[tuple[str, Area]] = field(default_factory=list)

    @property
    def notes(self) -> tuple[str, ...]:
        """Return what each letter stands for."""
        return tuple(f"{key}: {words}" for words, key in self.keys.items())

    @property
    def told(self) -> str:
        """Return the same as a sentence, "" where every piece has its name."""
        return f" {'; '.join(self.notes)}." if self.keys else ""

    def _shown(self, area: Area) -> bool:
        return _lies_in(area, self.part)

    def remainders(self, layout: SheetLayout, units: Units, apart: Sequence[Area]) -> None:
        """Draw what is left over: with corner ticks and its size what is kept, hatched what is waste."""
        for at, area in enumerate(layout.remainders):
            if not self._shown(area) or any(_lies_in(area, each) for each in apart):
                continue
            if at < layout.kept:
                self.marks += _ticks(area, self.scale)
                self.words(area, ("keep", area_words(area, units)))
            else:
                self.marks.append(Hatch(layer="hatch", outline=_box(area), pattern="single", title="waste"))

    def pieces(self, pieces: Sequence[PlacedSheet], units: Units, group: Group) -> None:
        """Draw the pieces, small ones of a block under one name, and what is in a rectangle that holds a pair."""
        outlines = dict(group.outlines)
        for piece in pieces:
            if self._shown(piece.area):
                self.marks += _pair(piece, outlines.get(piece.name, ()))
        for alike in _blocks([piece for piece in pieces if self._shown(piece.area)], group.kerf_mm):
            _named(self, alike, units, paired=alike[0].name in outlines)

    def cuts(self, acts: Sequence[Act]) -> None:
        """Draw the edge of what is shown, and every cut."""
        self.marks.append(Polyline(layer="outline", points=_box(self.part)))
        for act in acts:
            layer = _pen(act.step_mm * self.scale)
            for cut in act.cuts:
                start, end = XY(cut.y0_mm, cut.x0_mm), XY(cut.y1_mm, cut.x1_mm)
                self.marks.append(Line(layer=layer, role="score", start=start, end=end, title=f"cut {cut.number}"))

    def _laid(self, area: Area, lines: Sequence[str]) -> tuple[float, bool] | None:
        """Return the size in which lines fit into a part, and whether they read upwards; None where they do not."""
        long, high = area.length_mm * self.scale, area.width_mm * self.scale
        for upright in (False, True):
            room, rise = (high, long) if upright else (long, high)
            widest = max(width_mm(line, 1.0, bold=at == 0) for at, line in enumerate(lines))
            size = min(_NAME_MM, (room - 1.2) / widest, (rise - 1.0) / (_LINE_MM * len(lines)))
            if size >= self.letters.least_mm:
                return size, upright
        return None

    def fits(self, area: Area, lines: Sequence[str]) -> bool:
        """Return whether lines can be read in a part of the sheet."""
        return self._laid(area, lines) is not None

    def key(self, area: Area, words: str, *, ground: bool = False) -> None:
        """Give a part a letter in the place of its words: in it, or to be led to it from outside."""
        if not self.led and not self.fits(area, ("m",)):
            return
        key = self.keys.setdefault(words, _letter(len(self.keys)))
        if not self.words(area, (key,), ground=ground):
            self.outside.append((key, area))

    def words(self, area: Area, lines: tuple[str, ...], *, ground: bool = False) -> bool:
        """Write lines into the middle of a part: all of them, or the first alone, or none; return whether any."""
        shown = lines
        laid = self._laid(area, shown)
        if laid is None:
            shown = lines[:1]
            laid = self._laid(area, shown)
        if laid is None:
            return False
        size, upright = round(laid[0], 2), laid[1]
        middle = XY(area.y_mm + area.length_mm / 2, area.x_mm + area.width_mm / 2)
        for at, line in enumerate(shown):
            down = (at - (len(shown) - 1) / 2) * _LINE_MM * size + 0.35 * size
            shift = down / self.scale
            place = XY(middle.x_mm + shift, middle.y_mm) if upright else XY(middle.x_mm, middle.y_mm - shift)
            self.marks.append(
                Text(
                    layer="text",
                    at=place,
                    text=line,
                    size_mm=size,
                    anchor="middle",
                    bold=at == 0,
                    turn_deg=90 if upright else 0,
                    ground=ground,
                )
            )
        half = max(width_mm(line, size, bold=at == 0) for at, line in enumerate(shown)) / 2
        rise = len(shown) * _LINE_MM * size / 2
        x, y = middle.x_mm * self.scale, middle.y_mm * self.scale
        wide, high = (rise, half) if upright else (half, rise)
        self.taken.append(Box(x - wide, y - high, x + wide, y + high))
        return True


_LETTERS: Final = "abcdefghjkmnpqrstuvwxyz"
"""Without those that are read as figures."""


def _letter(at: int) -> str:
    more, own = divmod(at, len(_LETTERS))
    return (_LETTERS[more - 1] if more else "") + _LETTERS[own]


# --------------------------------------------------------------------------------------------------------------- bars


def bars_diagram(group: Group, units: Units, *, name: str, scale: float = 1.0, letters: Lettering = PAPER) -> Drawing:
    """Return all bars of a section under each other; bars cut alike are drawn once."""
    paper = _Paper(scale, Area(0.0, 0.0, 0.0, 0.0), letters)
    marks: list[Mark] = []
    for row, (bar, times) in enumerate(group.bars):
        marks += _bar(bar, times, -row * _ROW_MM / scale, units, paper)
    marks.append(_caption(group, units, -_ROW_MM * len(group.bars) + _BELOW_BARS_MM, scale, letters))
    title = section_words(group.section, units)
    alt = f"{len(group.plan.layouts)} lengths of {title} with the pieces cut from each, in cutting order."
    return Drawing(name, title[:1].upper() + title[1:], alt + paper.told, tuple(marks), scale, paper.notes)


def _bar(bar: BarLayout, times: int, low: float, units: Units, paper: _Paper) -> Iterator[Mark]:
    """Yield one bar: its name above it, its pieces by name and length, where each cut stands below it."""
    scale, letters = paper.scale, paper.letters
    high = _BAR_MM / scale
    whole = Area(low, 0.0, high, bar.length_mm)
    bought = ", to be bought" if bar.bought else ""
    many = f"{times} x " if times > 1 else ""
    head = f"{many}{stock_words(bar.stock)}{bought}, {number_in(bar.length_mm, units)}"
    yield Text(layer="text", at=XY(0.0, low + high + 1.2 / scale), text=head, size_mm=letters.note_mm)
    first = bar.pieces[0].start_mm if bar.pieces else 0.0
    if first > 0:
        yield Hatch(layer="hatch", outline=_box(Area(low, 0.0, high, first)), pattern="single", title="squaring")
    end = told = 0.0
    for piece in bar.pieces:
        area = Area(low, piece.start_mm, high, piece.length_mm)
        size = number_in(piece.length_mm, units)
        yield Polyline(
            layer="outline", points=_box(area), part=piece.name, title=f"{called(piece.name)}, {size}", role="score"
        )
        words = called(piece.name)
        if not paper.words(area, (f"{words} {size}",)):
            paper.key(area, f"{words}, {size}")
        end = piece.start_mm + piece.length_mm
        place = number_in(end, units)
        room = width_mm(place, letters.beside_mm) / scale
        if end - told >= room or told == 0.0:
            yield Text(
                layer="text", at=XY(end, low - 3.0 / scale), text=place, size_mm=letters.beside_mm, anchor="middle"
            )
            told = end + 0.5 / scale
    rest = Area(low, end, high, max(0.0, bar.length_mm - end))
    if bar.kept and bar.offcut_mm:
        rest = Area(low, bar.length_mm - bar.offcut_mm, high, bar.offcut_mm)
        yield from _ticks(rest, scale)
        paper.words(rest, (f"keep {number_in(bar.offcut_mm, units)}",))
    elif rest.length_mm > 0.05:
        yield Hatch(layer="hatch", outline=_box(rest), pattern="single", title="waste")
    yield Polyline(layer="outline", points=_box(whole))
    yield from paper.marks
    paper.marks.clear()
