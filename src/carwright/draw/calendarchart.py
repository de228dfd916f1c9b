"""The picture of a calendar: a row for each car, a column for each day, acts where they happen, waits between."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from carwright.calendar.batch import Calendar, Placed
from carwright.draw.model import XY, Drawing, Line, Mark, Polyline, Text

__all__ = ["calendar_chart"]

_DAY_MM: Final = 9.0
_ROW_MM: Final = 9.0
_LETTERS: Final = {
    "strip": "x",
    "wash": "w",
    "repair": "r",
    "prime": "P",
    "coat": "C",
    "mask": "m",
    "seal": "s",
    "unmask": "u",
    "gloss": "G",
    "letter": "L",
    "set": "t",
    "flat": "F",
    "weather": "W",
    "fit": "f",
    "hold": "?",
}


def calendar_chart(made: Calendar) -> Drawing:
    """Return the batch as a picture; where nothing could be placed, one that says so."""
    if not made.placed or made.last_day is None:
        words = Text(XY(0.0, 0.0), "no calendar", layer="text")
        return Drawing("calendar", "Calendar", "No calendar was found.", (words,))
    cars = list(dict.fromkeys(each.step.car for each in sorted(made.placed, key=lambda each: each.step.car)))
    first = min(each.start.date() for each in made.placed)
    days = (made.last_day - first).days + 1
    marks: list[Mark] = _ground(first, days, len(cars))
    for row, car in enumerate(cars):
        y = -row * _ROW_MM
        marks.append(Text(XY(-2.0, y - 0.5 * _ROW_MM - 1.0), car, anchor="end", layer="text"))
        cells: dict[int, list[Placed]] = {}
        for each in made.placed:
            if each.step.car == car:
                cells.setdefault((each.start.date() - first).days, []).append(each)
        used = sorted(cells)
        for one, two in pairwise(used):
            middle = y - 0.5 * _ROW_MM
            wait = (XY((one + 1) * _DAY_MM, middle), XY(two * _DAY_MM, middle))
            marks.append(Line(*wait, layer="hidden", part=car, title=f"{car}: waiting"))
        for day, acts in sorted(cells.items()):
            marks += _cell(day * _DAY_MM, y, car, acts)
    key = ", ".join(f"{letter} {act}" for act, letter in _LETTERS.items() if _met(made, act))
    alt = f"{len(cars)} cars from {first} to {made.last_day}: on which day each act happens."
    return Drawing("calendar", f"Calendar to {made.last_day}", alt, tuple(marks), notes=(key, "broken line: waiting"))


def _met(made: Calendar, act: str) -> bool:
    return any(each.step.act == act for each in made.placed)


def _ground(first: date, days: int, rows: int) -> list[Mark]:
    low = -rows * _ROW_MM
    marks: list[Mark] = [
        Line(XY(0.0, -row * _ROW_MM), XY(days * _DAY_MM, -row * _ROW_MM), layer="band", part="days")
        for row in range(rows + 1)
    ]
    for n in range(days + 1):
        x = n * _DAY_MM
        day = first + timedelta(days=n)
        monday = day.weekday() == 0
        marks.append(Line(XY(x, 3.0 if monday else 0.0), XY(x, low), layer="thin" if monday else "band", part="days"))
        if n < days and (monday or n == 0):
            marks.append(Text(XY(x + 0.8, 1.0), f"{day:%d.%m.}", layer="text", size_mm=2.6))
    return marks


def _cell(x: float, y: float, car: str, acts: list[Placed]) -> list[Mark]:
    title = "; ".join(f"{each.start:%H:%M} {each.step.title}" for each in acts)
    corners = (
        XY(x + 0.5, y - 0.8),
        XY(x + _DAY_MM - 0.5, y - 0.8),
        XY(x + _DAY_MM - 0.5, y - _ROW_MM + 0.8),
        XY(x + 0.5, y - _ROW_MM + 0.8),
    )
    letters = "".join(_LETTERS[each.step.act] for each in acts)
    at = XY(x + 0.5 * _DAY_MM, y - 0.5 * _ROW_MM - 0.8)
    size = min(2.8, (_DAY_MM - 1.6) / (0.62 * len(letters)))
    return [
        Polyline(corners, fill="band", layer="thin", part=car, title=f"{car}, {title}"),
        Text(at, letters, anchor="middle", layer="text", size_mm=size),
    ]
