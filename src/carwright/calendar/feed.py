"""A calendar as an iCalendar file (RFC 5545): an event for each evening, alarms for the edges of its windows.

An evening keeps its name (UID) when the calendar is made again, so that a calendar program that takes the new file
in moves the old events; an evening that is no longer used is struck out. What the clock on the wall shows goes out in
UTC where its zone is known, and as it is (floating) where it is not.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any, Final

from carwright.calendar.agenda import Agenda, agendas
from carwright.calendar.batch import Batch, Calendar
from carwright.calendar.edges import Edges, day_words, edges_of, late_words, moment_words

__all__ = ["icalendar_of"]

_WARNED_MIN: Final = 15
"""How long before a window closes the alarm sounds."""

_QUIET: Final = (22, 7)
"""No alarm sounds between these hours: it waits for the morning, or comes the evening before."""

_FIRST: Final = datetime(2026, 1, 1, tzinfo=UTC)
"""From here an event's sequence is counted, in minutes: made again later, it outranks what was made before."""


def icalendar_of(
    calendar: Calendar,
    batch: Batch,
    *,
    today: date | None = None,
    gone: Iterable[date] = (),
    name: str = "Paint shop",
) -> bytes:
    """Return the calendar as a file that a calendar program opens, the same bytes for the same input.

    Args:
        calendar: what is told.
        batch: what it was made for.
        today: the day or moment at which it is made, its stamp; without it, the day of the first step.
        gone: days of a calendar made before; those on which nothing was done and nothing will be are struck out.
        name: how the calendar program calls it.
    """
    import icalendar

    stamp = _stamp(today or min((each.start.date() for each in calendar.placed), default=_FIRST.date()), batch)
    made = icalendar.Calendar()
    made.add("prodid", "-//Carwright//paint calendar//EN")
    made.add("version", "2.0")
    made.add("x-wr-calname", name)
    edges = edges_of(calendar)
    used: dict[date, int] = {}
    for evening in agendas(calendar, batch):
        first = evening.start
        used[first.date()] = used.get(first.date(), 0) + 1
        event = _event(_uid(name, f"{first:%Y-%m-%d}", str(used[first.date()])), stamp)
        cars = dict.fromkeys(each.placed.step.car for each in evening.acts if each.placed is not None)
        event.add("dtstart", _written(first))
        event.add("dtend", _written(evening.end))
        event.add("summary", _clean(f"Paint shop: {', '.join(cars)}"))
        event.add("description", _clean("\n".join(_lines(evening, edges))))
        for text, moment in _alarms(evening, edges):
            event.add_component(_alarm(text, moment, first))
        made.add_component(event)
    done = {each.end.date() for each in calendar.placed if each.step.done_at is not None}
    for day in sorted(set(gone) - used.keys() - done):
        event = _event(_uid(name, f"{day:%Y-%m-%d}", "1"), stamp)
        event.add("dtstart", day)
        event.add("summary", "Paint shop: nothing")
        event.add("status", "CANCELLED")
        made.add_component(event)
    found: bytes = made.to_ical()
    return found


def _stamp(made: date, batch: Batch) -> datetime:
    """Return a day's midnight in UTC; a moment as it is, or where it has no zone on the evenings' clock."""
    if not isinstance(made, datetime):
        return datetime.combine(made, datetime.min.time(), UTC)
    zone = batch.evenings[0].start.tzinfo if batch.evenings else UTC
    return (made if made.tzinfo is not None else made.replace(tzinfo=zone)).astimezone(UTC)


def _event(uid: str, stamp: datetime) -> Any:
    import icalendar

    event = icalendar.Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp)
    event.add("sequence", max(0, (stamp - _FIRST) // timedelta(minutes=1)))
    return event


def _written(moment: datetime) -> datetime:
    """Return a moment as it is written: floating where no zone was named."""
    return moment.replace(tzinfo=None) if moment.tzinfo is UTC else moment.astimezone(UTC)


def _alarm(text: str, moment: datetime, first: datetime) -> Any:
    """Return an alarm; RFC 5545 has an alarm's own moment in UTC, a floating one counts from its event."""
    import icalendar

    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", _clean(text))
    if moment.tzinfo is UTC:
        alarm.add("trigger", moment - first)
    else:
        alarm.add("trigger", moment.astimezone(UTC), parameters={"VALUE": "DATE-TIME"})
    return alarm


def _clean(text: str) -> str:
    """Return a text without the signs that RFC 5545 (3.1) keeps out of one."""
    return "".join(each for each in text if each in "\n\t" or (each >= " " and each != "\x7f"))


def _uid(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:32] + "@carwright"


def _lines(evening: Agenda, edges: Mapping[tuple[str, str], Edges]) -> Iterator[str]:
    yield f"{evening.minutes} minutes at work"
    for alike in evening.checks:
        yield f"check first: {alike[0].step.hold_point}: {', '.join(each.step.car for each in alike)}"
    for act in evening.acts:
        if act.placed is None:
            yield f"{act.start:%H:%M} {act.words}"
            continue
        step = act.placed.step
        yield f"{act.start:%H:%M} {step.car}: {step.title} ({step.hands_min} min)"
        late = late_words(edges[step.car, step.id], act.start)
        if late:
            yield f"      {late}"
        if step.hold_point and act.placed not in evening.later:
            yield f"      check: {step.hold_point}"


def _alarms(evening: Agenda, edges: Mapping[tuple[str, str], Edges]) -> Iterator[tuple[str, datetime]]:
    """Yield what an alarm says and when: as the window opens that is used, and a while before it closes."""
    for each in (act.placed for act in evening.acts if act.placed is not None):
        own = edges[each.step.car, each.step.id]
        name = f"{each.step.car}: {each.step.title}"
        if own.opens is not None:
            moment = _awake(own.opens, later=True)
            yield f"{name}: may begin from {day_words(own.opens)}, {own.opens:%H:%M}", min(moment, each.start)
        if own.closes is not None:
            moment = _awake(own.closes - timedelta(minutes=_WARNED_MIN), later=False)
            said = moment_words(own.closes, each.start)
            again = "" if own.again is None else f"; if that is missed, from {moment_words(own.again, each.start)}"
            yield f"{name}: begin by {said}{again}", moment


def _awake(moment: datetime, *, later: bool) -> datetime:
    """Return a moment out of the quiet hours."""
    late, early = _QUIET
    if early <= moment.hour < late:
        return moment
    clear = moment.replace(minute=0)
    if later:
        return clear.replace(hour=early) + timedelta(days=moment.hour >= late)
    return clear.replace(hour=late) - timedelta(days=moment.hour < early)
