"""The picture of a batch: a row for each car, a column for each evening that is used, the days between drawn short.

Solid is hands at work, in the paint's own colour where there is one. Below, a thin line is a wait up to the tick at
which its window opens, an open bar is the window, hatched is the middle of a wait in which nothing may be sprayed, a
heavy tick is a late edge.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Final

from carwright.calendar.agenda import Agenda, agendas
from carwright.calendar.batch import Batch, Calendar, Placed
from carwright.calendar.edges import Edges, edges_of, late_words
from carwright.draw.glyphs import shortened
from carwright.draw.model import LETTER_MM, XY, Drawing, Hatch, Line, Mark, Polyline, Text
from carwright.draw.shift import shifted
from carwright.draw.strokes import bounds, ink
from carwright.finish.steps import Act

__all__ = ["batch_chart"]

_WIDE_MM: Final = 35.0
"""An evening."""

_APART_MM: Final = 4.0
_EACH_DAY_MM: Final = 0.8
_MOST_APART_MM: Final = 8.0
"""Between evenings: a little more for each day."""

_NAMES_MM: Final = 40.0
_IN_A_ROW: Final = 5
_ACT_MM: Final = 4.0
_LANE_MM: Final = 1.8
_LINE_MM: Final = 3.7
_EDGE_MM: Final = 1.6
_ROWS_APART_MM: Final = 7.0
_LEGEND: Final = (
    "Upper lane: hands at work, in the paint's colour. Lower lane: line, waiting; open bar, the next act may begin;",
    "hatched, it must not; heavy tick, it must have begun. Shaded are evenings; days between them are drawn short.",
)

_PAINT: Final[Mapping[str, str]] = {
    "white": "#f3f1ea",
    "cream": "#e9dfbf",
    "ivory": "#e9e2c8",
    "yellow": "#d8ab2f",
    "silver": "#b9bcbd",
    "orange": "#c8642a",
    "tan": "#b59a72",
    "wood": "#9c8363",
    "primer": "#a9adab",
    "grey": "#84898b",
    "gray": "#84898b",
    "oxide red": "#7c3b2d",
    "red": "#a3322a",
    "green": "#3d5b46",
    "blue": "#33507c",
    "rust": "#8a4b2a",
    "brown": "#5b4335",
    "black": "#222222",
    "gloss": "#ffffff",
    "flat": "#ffffff",
    "clear": "#ffffff",
}
"""What a paint looks like on a screen, by the last of its words that is known; our own choice, by eye."""

_WORDS: Final[Mapping[Act, str]] = {"mask": "mask", "seal": "seal the tape", "unmask": "tape off", "letter": "letter"}
_SPRAYED: Final = ("prime", "coat")


def batch_chart(made: Calendar, batch: Batch) -> Drawing:
    """Return the whole batch as one picture, its rows of evenings one under the other."""
    evenings = agendas(made, batch)
    if not evenings or made.last_day is None:
        words = Text(XY(0.0, 0.0), "no calendar", layer="text")
        return Drawing("calendar", "Calendar", "No calendar was found.", (words,))
    cars = list(dict.fromkeys(each.step.car for each in sorted(made.placed, key=lambda each: each.step.car)))
    edges = edges_of(made)
    marks: list[Mark] = []
    top = 0.0
    for n in range(0, len(evenings), _IN_A_ROW):
        row = tuple(_Row(evenings[n : n + _IN_A_ROW], made, cars, edges).marks())
        box = bounds(ink(Drawing("row", "", "", row)))
        marks += [shifted(mark, 0.0, top - box.top_mm) for mark in row]
        top -= box.height_mm + _ROWS_APART_MM
    marks += [Text(XY(0.0, top - n * _LINE_MM), words, layer="text") for n, words in enumerate(_LEGEND)]
    alt = (
        f"{len(cars)} cars on {len(evenings)} evenings up to {made.last_day}: what is done when, and what it waits for."
    )
    return Drawing("calendar", f"Calendar to {made.last_day}", alt, tuple(marks))


@dataclass(frozen=True, slots=True)
class _Knot:
    """A moment and its place along the row."""

    at: datetime
    x_mm: float


class _Row:
    """One row of evenings."""

    def __init__(
        self,
        evenings: Sequence[Agenda],
        made: Calendar,
        cars: Sequence[str],
        edges: Mapping[tuple[str, str], Edges],
    ) -> None:
        self.evenings, self.made, self.cars, self.edges = evenings, made, cars, edges
        self.ends = {(each.step.car, each.step.id): each.end.astimezone(UTC) for each in made.placed}
        self.knots: list[_Knot] = []
        self.lefts: list[float] = []
        longest = max(each.end - each.start for each in evenings)
        x = _NAMES_MM
        before: datetime | None = None
        for each in evenings:
            if before is not None:
                days = (each.start.date() - before.date()).days
                x += min(_APART_MM + _EACH_DAY_MM * days, _MOST_APART_MM)
            self.lefts.append(x)
            start, end = each.start.astimezone(UTC), (each.start + longest).astimezone(UTC)
            self.knots += [_Knot(start, x), _Knot(end, x + _WIDE_MM)]
            x += _WIDE_MM
            before = each.start
        self.right = x

    def x(self, moment: datetime) -> float:
        """Return where a moment stands; what is before or after the row stands a little outside of it."""
        at = moment.astimezone(UTC)
        if at <= self.knots[0].at:
            return self.knots[0].x_mm - (_EDGE_MM if at < self.knots[0].at else 0.0)
        for one, two in pairwise(self.knots):
            if at <= two.at:
                share = (at - one.at) / (two.at - one.at) if two.at > one.at else 1.0
                return one.x_mm + share * (two.x_mm - one.x_mm)
        return self.right + _EDGE_MM

    def marks(self) -> Iterator[Mark]:
        """Yield everything drawn, from the heads of the evenings down."""
        heights = [self._height(car) for car in self.cars]
        gun = max(sum(each.placed is None and each.words.startswith("Load") for each in e.acts) for e in self.evenings)
        top = -(_ACT_MM + gun * _LINE_MM + 3.0) if gun else 0.0
        low = top - sum(heights)
        for each, left in zip(self.evenings, self.lefts, strict=True):
            yield Polyline(
                _box(left, low, left + _WIDE_MM, 0.0), fill="band", layer="band", part="evening", title="evening"
            )
            head = f"{each.start:%a} {each.start.day} {each.start:%b}"
            yield Text(XY(left, 6.2), head, bold=True, layer="text", size_mm=3.4)
            yield Text(XY(left, 1.8), f"{each.start:%H:%M}, {each.minutes} min", layer="text")
        if gun:
            yield from self._gun()
        y = top
        for car, height in zip(self.cars, heights, strict=True):
            yield Line(XY(0.0, y), XY(self.right, y), layer="thin", part="rows")
            name = shortened(car, _NAMES_MM - 3.0, LETTER_MM, bold=True)
            yield Text(XY(0.0, y - 4.6), name, bold=True, layer="text")
            yield from self._car(car, y)
            y -= height
        yield Line(XY(0.0, low), XY(self.right, low), layer="thin", part="rows")

    def _on(self, car: str) -> list[list[Placed]]:
        return [
            [act.placed for act in each.acts if act.placed is not None and act.placed.step.car == car]
            for each in self.evenings
        ]

    def _height(self, car: str) -> float:
        most = max(len(acts) for acts in self._on(car))
        return _ACT_MM + _LANE_MM + 3.2 + max(most, 1) * _LINE_MM

    def _gun(self) -> Iterator[Mark]:
        yield Text(XY(0.0, -4.6), "spray gun", layer="text")
        for each, left in zip(self.evenings, self.lefts, strict=True):
            loads = [act for act in each.acts if act.placed is None and act.words.startswith("Load")]
            for n, act in enumerate(loads):
                colour = act.words.removeprefix("Load ")
                session = next(s for s in self.made.sessions if s.start == act.start and s.colour == colour)
                box = _box(self.x(session.start), -1.0 - _ACT_MM, self.x(session.end), -1.0)
                title = f"{colour}, {session.start:%H:%M} to {session.end:%H:%M}"
                yield Polyline(box, layer="thin", colour=_paint(colour), part="gun", title=title)
                words = shortened(f"{act.start:%H:%M} {colour}", _WIDE_MM - 1.0, LETTER_MM)
                yield Text(XY(left + 0.6, -1.0 - _ACT_MM - (n + 0.8) * _LINE_MM), words, layer="text")

    def _car(self, car: str, y: float) -> Iterator[Mark]:
        up, low = y - 1.0, y - 1.0 - _ACT_MM
        own = [each for each in self.made.placed if each.step.car == car]
        lane = (low - 0.6, low - 0.6 - _LANE_MM)
        for each in own:
            yield from self._waits(each, lane)
        for acts, left in zip(self._on(car), self.lefts, strict=True):
            for n, each in enumerate(acts):
                title = f"{each.step.title}, {each.start:%H:%M} to {each.end:%H:%M}"
                right = max(self.x(each.end), self.x(each.start) + 0.7)
                box = _box(self.x(each.start), low, right, up)
                colour = _paint(each.step.colour) if each.step.colour else ""
                yield Polyline(box, fill="ink", layer="thin", colour=colour, part=car, title=title)
                words = shortened(f"{each.start:%H:%M} {_short(each)}", _WIDE_MM - 1.0, LETTER_MM)
                yield Text(XY(left + 0.6, lane[1] - (n + 0.9) * _LINE_MM), words, layer="text")

    def _waits(self, placed: Placed, lane: tuple[float, float]) -> Iterator[Mark]:
        """Yield the wait before a step that opens last, and its late edge."""
        edge = self.edges.get((placed.step.car, placed.step.id))
        if edge is None or edge.wait is None:
            return
        up, low = lane
        middle = (up + low) / 2.0
        end = self.ends[placed.step.car, edge.wait.after]
        start = placed.start.astimezone(UTC)
        at = end
        title = edge.wait.because or f"wait before {placed.step.title}"
        for window in sorted(edge.wait.windows, key=lambda each: each.opens_min):
            opens = end + timedelta(minutes=window.opens_min)
            closes = None if window.closes_min is None else end + timedelta(minutes=window.closes_min)
            if at < min(opens, start):
                left, right = self.x(at), self.x(min(opens, start))
                if at == end:
                    yield from self._line(left, right, middle, up, low, placed.step.car, title)
                elif right - left > 0.2:
                    box = _box(left, low, right, up)
                    said = f"not between {at:%d %b %H:%M} and {opens:%d %b %H:%M} UTC"
                    yield Hatch(box, "single", layer="hatch", part=placed.step.car, title=said)
                    yield Polyline(box, layer="thin", part=placed.step.car, title=said)
            last = start if closes is None else min(start, closes)
            if opens < last and self.x(last) - self.x(opens) > 0.2:
                yield Polyline(
                    _box(self.x(opens), low, self.x(last), up), layer="thin", part=placed.step.car, title="may begin"
                )
            at = last
            if at >= start:
                break
        if edge.closes is not None and self._inside(edge.closes):
            x = self.x(edge.closes)
            said = f"{placed.step.title}: {late_words(edge, placed.start)}"
            yield Line(XY(x, up + 0.6), XY(x, low - 0.6), layer="wire", part=placed.step.car, title=said)

    def _line(
        self, left: float, right: float, middle: float, up: float, low: float, car: str, title: str
    ) -> Iterator[Mark]:
        if right - left > 0.2:
            yield Line(XY(left, middle), XY(right, middle), layer="thin", part=car, title=title)
            if right <= self.right:
                yield Line(XY(right, up), XY(right, low), layer="thin", part=car, title=title)

    def _inside(self, moment: datetime) -> bool:
        return self.knots[0].at <= moment.astimezone(UTC) <= self.knots[-1].at


def _box(left: float, low: float, right: float, up: float) -> tuple[XY, ...]:
    return XY(left, low), XY(right, low), XY(right, up), XY(left, up)


def _paint(colour: str) -> str:
    """Return what a colour looks like; white where none of its words is known."""
    words = colour.lower().split()
    for first in range(len(words)):
        known = _PAINT.get(" ".join(words[first:]))
        if known is not None:
            return known
    return "#ffffff"


def _short(placed: Placed) -> str:
    """Return a step in as few words as tell it in the row of its car."""
    step = placed.step
    if step.act in _SPRAYED and step.colour:
        again = step.title.lower().startswith("second") or step.id.endswith("_again")
        return f"{step.colour}, again" if again else step.colour
    if step.act == "mask" and step.surfaces:
        return f"mask {', '.join(step.surfaces)}"
    if step.act in ("fit", "hold", "repair"):
        return step.title
    return _WORDS.get(step.act, step.act)
