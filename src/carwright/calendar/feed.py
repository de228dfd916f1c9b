"""A calendar as an iCalendar file (RFC 5545): an event for each evening, an alarm for each edge of a window."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from typing import Final

from carwright.calendar.batch import Calendar, Placed

__all__ = ["by_evening", "icalendar_of", "span_words", "window_words"]

_STAMP = datetime(2026, 1, 1, tzinfo=UTC)
"""Every event's stamp: the same calendar gives the same file."""

_WARNED_MIN: Final = 15
"""How long before a window closes the alarm sounds."""


def by_evening(calendar: Calendar) -> list[list[Placed]]:
    """Return what is still to be done, an evening at a time."""
    days: dict[object, list[Placed]] = {}
    for each in calendar.placed:
        if each.step.done_at is None:
            days.setdefault(each.evening if each.evening is not None else each.start, []).append(each)
    return sorted(days.values(), key=lambda each: each[0].start)


def span_words(minutes: int) -> str:
    """Return minutes as they are said: "45 min", "2 h", "3 days".

    Example:
        >>> span_words(90), span_words(120), span_words(4320)
        ('90 min', '2 h', '3 days')
    """
    if minutes % 1440 == 0 and minutes >= 2880:
        return f"{minutes // 1440} days"
    return f"{minutes // 60} h" if minutes % 60 == 0 and minutes else f"{minutes} min"


def window_words(placed: Placed) -> str:
    """Return the windows that a step keeps: "48 h or more after prime; within 1 h of first"."""
    said = []
    for wait, which in zip(placed.step.waits, placed.windows, strict=True):
        window = wait.windows[which]
        if window.closes_min is not None:
            opens = f"{span_words(window.opens_min)} to " if window.opens_min else "within "
            said.append(f"{opens}{span_words(window.closes_min)} after {wait.after}")
        elif window.opens_min:
            said.append(f"{span_words(window.opens_min)} or more after {wait.after}")
    return "; ".join(said)


def icalendar_of(calendar: Calendar, *, name: str = "Paint shop") -> bytes:
    """Return the calendar as a file that a calendar program opens, in UTC, the same bytes for the same calendar."""
    import icalendar

    made = icalendar.Calendar()
    made.add("prodid", "-//Carwright//paint calendar//EN")
    made.add("version", "2.0")
    made.add("x-wr-calname", name)
    ends = {(each.step.car, each.step.id): each.end for each in calendar.placed}
    for acts in by_evening(calendar):
        event = icalendar.Event()
        first, last = acts[0].start, max(each.end for each in acts)
        cars = ", ".join(dict.fromkeys(each.step.car for each in acts))
        event.add("uid", _uid(*(f"{each.step.car}.{each.step.id}" for each in acts)))
        event.add("dtstamp", _STAMP)
        event.add("dtstart", first.astimezone(UTC))
        event.add("dtend", last.astimezone(UTC))
        event.add("summary", f"Paint shop: {cars}")
        event.add("description", "\n".join(_lines(acts)))
        for text, moment in _edges(acts, ends):
            alarm = icalendar.Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", text)
            alarm.add("trigger", moment.astimezone(UTC))
            event.add_component(alarm)
        made.add_component(event)
    found: bytes = made.to_ical()
    return found


def _uid(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:32] + "@carwright"


def _lines(acts: list[Placed]) -> Iterator[str]:
    for each in acts:
        yield f"{each.start:%H:%M} {each.step.car}: {each.step.title} ({each.step.hands_min} min)"
        if each.step.hold_point:
            yield f"      check: {each.step.hold_point}"


def _edges(acts: list[Placed], ends: Mapping[tuple[str, str], datetime]) -> Iterator[tuple[str, datetime]]:
    """Yield what an alarm says and when: as a window opens that is used, and a quarter of an hour before it closes."""
    for each in acts:
        for wait, which in zip(each.step.waits, each.windows, strict=True):
            window = wait.windows[which]
            end = ends[each.step.car, wait.after].astimezone(UTC)
            name = f"{each.step.car}: {each.step.title}"
            if window.opens_min:
                yield f"{name}: may begin now", end + timedelta(minutes=window.opens_min)
            if window.closes_min is not None:
                before = min(_WARNED_MIN, window.closes_min)
                yield f"{name}: begin within {before} min", end + timedelta(minutes=window.closes_min - before)
