"""The picture of a batch: a row for each car, a column for each evening that is used, the days between drawn short.

Solid is hands at work, in the paint's own colour where there is one. Below, a thin line is a wait up to the tick at
which its window opens, an open bar is the window, hatched is the middle of a wait in which nothing may be sprayed, a
heavy tick is a late edge. Waits that overlap have a lane each, words that are long have as many lines as they need:
however full an evening is, nothing is cut short and nothing lies on anything else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Final

from carwright.calendar.agenda import Agenda, agendas
from carwright.calendar.batch import Batch, Calendar, Placed
from carwright.calendar.edges import Edges, edges_of, late_words
from carwright.draw.glyphs import in_lines, width_mm
from carwright.draw.model import LETTER_MM, XY, Drawing, Hatch, Line, Mark, Polyline, Text
from carwright.draw.shift import shifted
from carwright.draw.strokes import bounds, ink
from carwright.finish.steps import Act

__all__ = ["batch_chart"]

_WIDE_MM: Final = (38.0, 60.0)
"""An evening, at least and at most."""

_MINUTE_MM: Final = 0.17
"""A minute of the longest evening, between these."""

_ACROSS_MM: Final = 245.0
"""The whole picture, at most."""

_APART_MM: Final = 4.0
_EACH_DAY_MM: Final = 0.8
_MOST_APART_MM: Final = 8.0
"""Between evenings: a little more for each day."""

_NAMES_MM: Final = 40.0
_ACT_MM: Final = 4.0
_LANE_MM: Final = 1.8
_TICK_MM: Final = 0.6
"""What a late edge stands out of its lane, above and below."""

_BETWEEN_MM: Final = 0.8
"""Lanes, and a lane and words."""

_LINE_MM: Final = 3.7
_EDGE_MM: Final = 1.6
_ROWS_APART_MM: Final = 7.0
_LEGEND: Final = (
    "Upper lane: hands at work, in the paint's colour. Lanes below: line, waiting; open bar, the next act may begin;",
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
    longest = max(each.end - each.start for each in evenings)
    least, most = _WIDE_MM
    wide = min(max(least, longest / timedelta(minutes=1) * _MINUTE_MM), most)
    many = int((_ACROSS_MM - _NAMES_MM + _MOST_APART_MM) / (wide + _MOST_APART_MM))
    marks: list[Mark] = []
    top = 0.0
    for n in range(0, len(evenings), many):
        row = tuple(_Row(evenings[n : n + many], made, cars, edges, longest, wide).marks())
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


@dataclass(frozen=True, slots=True)
class _Track:
    """What one car has in a row of evenings.

    Args:
        acts: its acts, those at the same time in lanes of their own.
        waits: what it waits for, likewise.
        words: for each evening its lines, each with how far it is set in.
        name: its name in lines.
    """

    car: str
    acts: tuple[tuple[Placed, ...], ...]
    waits: tuple[tuple[Placed, ...], ...]
    words: tuple[tuple[tuple[float, str], ...], ...]
    name: tuple[str, ...]

    @property
    def words_mm(self) -> float:
        """Return how far below its upper line the words begin."""
        lanes = len(self.waits) * (_LANE_MM + 2 * _TICK_MM + _BETWEEN_MM)
        return 1.0 + len(self.acts) * (_ACT_MM + _BETWEEN_MM) + lanes + _BETWEEN_MM

    @property
    def height_mm(self) -> float:
        """Return how high the car's row is."""
        words = self.words_mm + max((len(each) for each in self.words), default=0) * _LINE_MM
        return max(words, len(self.name) * _LINE_MM + 2.0) + 2.0


class _Row:
    """One row of evenings."""

    def __init__(
        self,
        evenings: Sequence[Agenda],
        made: Calendar,
        cars: Sequence[str],
        edges: Mapping[tuple[str, str], Edges],
        longest: timedelta,
        wide: float,
    ) -> None:
        self.evenings, self.made, self.edges, self.wide = evenings, made, edges, wide
        self.ends = {(each.step.car, each.step.id): each.end.astimezone(UTC) for each in made.placed}
        self.knots: list[_Knot] = []
        self.lefts: list[float] = []
        x = _NAMES_MM
        before: datetime | None = None
        for n, each in enumerate(evenings):
            if before is not None:
                days = (each.start.date() - before.date()).days
                x += min(_APART_MM + _EACH_DAY_MM * days, _MOST_APART_MM)
            self.lefts.append(x)
            start = each.start.astimezone(UTC)
            if self.knots:
                start = max(start, self.knots[-1].at)
            end = max(each.start.astimezone(UTC) + longest, each.end.astimezone(UTC))
            if n + 1 < len(evenings):
                end = max(start, min(end, evenings[n + 1].start.astimezone(UTC)))
            self.knots += [_Knot(start, x), _Knot(end, x + wide)]
            x += wide
            before = each.start
        self.right = x
        tracks = (self._track(car) for car in cars)
        self.tracks = tuple(each for each in tracks if each.acts or each.waits)

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
        loads = [self._loads(each) for each in self.evenings]
        gun = max(len(lines) for _, lines in loads)
        top = -(_ACT_MM + gun * _LINE_MM + 3.6) if gun else 0.0
        low = top - sum(each.height_mm for each in self.tracks)
        for each, left in zip(self.evenings, self.lefts, strict=True):
            yield Polyline(
                _box(left, low, left + self.wide, 0.0), fill="band", layer="band", part="evening", title="evening"
            )
            head = f"{each.start:%a} {each.start.day} {each.start:%b}"
            yield Text(XY(left, 6.2), head, bold=True, layer="text", size_mm=3.4)
            yield Text(XY(left, 1.8), f"{each.start:%H:%M}, {each.minutes} min", layer="text")
        if gun:
            yield Text(XY(0.0, -4.6), "spray gun", layer="text")
            for (marks, lines), left in zip(loads, self.lefts, strict=True):
                yield from marks
                yield from _told(lines, left, -1.8 - _ACT_MM)
        y = top
        for track in self.tracks:
            yield Line(XY(0.0, y), XY(self.right, y), layer="thin", part="rows")
            for n, words in enumerate(track.name):
                yield Text(XY(0.0, y - 4.6 - n * _LINE_MM), words, bold=True, layer="text")
            yield from self._car(track, y)
            y -= track.height_mm
        yield Line(XY(0.0, low), XY(self.right, low), layer="thin", part="rows")

    def _track(self, car: str) -> _Track:
        own = [each for each in self.made.placed if each.step.car == car]
        on = [
            [act.placed for act in each.acts if act.placed is not None and act.placed.step.car == car]
            for each in self.evenings
        ]
        acts = [each for some in on for each in some]
        return _Track(
            car,
            _laned((self.x(each.start), self.x(each.end), each) for each in acts),
            _laned(each for each in (self._waited(placed) for placed in own) if each is not None),
            tuple(tuple(self._lines((each.start, _short(each)) for each in some)) for some in on),
            in_lines(car, _NAMES_MM - 3.0, LETTER_MM, bold=True),
        )

    def _lines(self, said: Iterable[tuple[datetime, str]]) -> Iterator[tuple[float, str]]:
        """Yield what is done from which moment on, in lines as wide as an evening; further ones are set in."""
        for start, words in said:
            inset = width_mm(f"{start:%H:%M} ", LETTER_MM)
            first, *more = in_lines(words, self.wide - 1.4 - inset, LETTER_MM)
            yield 0.0, f"{start:%H:%M} {first}"
            for line in more:
                yield inset, line

    def _loads(self, evening: Agenda) -> tuple[list[Mark], tuple[tuple[float, str], ...]]:
        """Return the boxes of an evening's spray sessions, and their lines."""
        marks: list[Mark] = []
        said = []
        acts = [each.placed for each in evening.acts if each.placed is not None and each.placed.step.colour]
        for session in self.made.sessions:
            own = (each for each in acts if each.step.colour == session.colour)
            if any(session.start <= each.start and each.end <= session.end for each in own):
                box = _box(self.x(session.start), -1.0 - _ACT_MM, self.x(session.end), -1.0)
                title = f"{session.colour}, {session.start:%H:%M} to {session.end:%H:%M}"
                marks.append(Polyline(box, layer="thin", colour=_paint(session.colour), part="gun", title=title))
                said.append((session.start, session.colour))
        return marks, tuple(self._lines(said))

    def _car(self, track: _Track, y: float) -> Iterator[Mark]:
        up = y - 1.0
        for lane in track.acts:
            for each in lane:
                title = f"{each.step.title}, {each.start:%H:%M} to {each.end:%H:%M}"
                colour = _paint(each.step.colour) if each.step.colour else ""
                box = _box(self.x(each.start), up - _ACT_MM, self.x(each.end), up)
                yield Polyline(box, fill="ink", layer="thin", colour=colour, part=track.car, title=title)
            up -= _ACT_MM + _BETWEEN_MM
        for lane in track.waits:
            up -= _TICK_MM
            for each in lane:
                yield from self._waits(each, (up, up - _LANE_MM))
            up -= _LANE_MM + _TICK_MM + _BETWEEN_MM
        for lines, left in zip(track.words, self.lefts, strict=True):
            yield from _told(lines, left, y - track.words_mm)

    def _waited(self, placed: Placed) -> tuple[float, float, Placed] | None:
        """Return from where to where the wait before a step is drawn; None where nothing of it is in this row."""
        edge = self.edges.get((placed.step.car, placed.step.id))
        if edge is None or edge.wait is None:
            return None
        left, right = self.x(self.ends[placed.step.car, edge.wait.after]), self.x(placed.start)
        if edge.closes is not None and self._inside(edge.closes):
            left, right = min(left, self.x(edge.closes)), max(right, self.x(edge.closes))
        return (left, right + _CLEAR_MM, placed) if right - left > _LEAST_MM else None

    def _waits(self, placed: Placed, lane: tuple[float, float]) -> Iterator[Mark]:
        """Yield the wait before a step that opens last, and its late edge."""
        edge = self.edges[placed.step.car, placed.step.id]
        if edge.wait is None:
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
                elif right - left > _LEAST_MM:
                    box = _box(left, low, right, up)
                    shut, again = (each.astimezone(placed.start.tzinfo) for each in (at, opens))
                    said = f"not between {shut:%d %b %H:%M} and {again:%d %b %H:%M}"
                    yield Hatch(box, "single", layer="hatch", part=placed.step.car, title=said)
                    yield Polyline(box, layer="thin", part=placed.step.car, title=said)
            last = start if closes is None else min(start, closes)
            if opens < last and self.x(last) - self.x(opens) > _LEAST_MM:
                yield Polyline(
                    _box(self.x(opens), low, self.x(last), up), layer="thin", part=placed.step.car, title="may begin"
                )
            at = last
            if at >= start:
                break
        if edge.closes is not None and self._inside(edge.closes):
            x = self.x(edge.closes)
            said = f"{placed.step.title}: {late_words(edge, placed.start)}"
            yield Line(XY(x, up + _TICK_MM), XY(x, low - _TICK_MM), layer="wire", part=placed.step.car, title=said)

    def _line(
        self, left: float, right: float, middle: float, up: float, low: float, car: str, title: str
    ) -> Iterator[Mark]:
        if right - left > _LEAST_MM:
            yield Line(XY(left, middle), XY(right, middle), layer="thin", part=car, title=title)
            if right <= self.right:
                yield Line(XY(right, up), XY(right, low), layer="thin", part=car, title=title)

    def _inside(self, moment: datetime) -> bool:
        return self.knots[0].at <= moment.astimezone(UTC) <= self.knots[-1].at


_LEAST_MM: Final = 0.2
"""Shorter than this nothing is drawn of a wait."""

_CLEAR_MM: Final = 1.0
"""Between two waits in one lane."""


def _laned(spans: Iterable[tuple[float, float, Placed]]) -> tuple[tuple[Placed, ...], ...]:
    """Return what lies from one place to another in as few lanes as it needs not to lie on one another."""
    lanes: list[tuple[float, list[Placed]]] = []
    for left, right, each in sorted(spans, key=lambda span: (span[0], span[1])):
        at = next((n for n, (end, _) in enumerate(lanes) if end <= left + 1e-6), None)
        if at is None:
            lanes.append((right, [each]))
        else:
            lanes[at] = (right, [*lanes[at][1], each])
    return tuple(tuple(some) for _, some in lanes)


def _told(lines: Sequence[tuple[float, str]], left: float, top: float) -> Iterator[Text]:
    """Yield lines of words within an evening, from ``top`` down."""
    for n, (inset, words) in enumerate(lines):
        yield Text(XY(left + 0.7 + inset, top - (n + 0.8) * _LINE_MM), words, layer="text")


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
    if step.act in ("strip", "fit", "hold", "repair"):
        return step.title.split(",")[0]
    return _WORDS.get(step.act, step.act)
