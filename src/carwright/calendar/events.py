"""Free evenings from an iCalendar file (RFC 5545): events that repeat, those left out and moved, free/busy answers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

from carwright.calendar.batch import Evening
from carwright.problems import InputError, Problem

__all__ = ["read_events", "zone_named"]


def read_events(data: bytes, *, file: str, today: date | None = None) -> tuple[tuple[Evening, ...], tzinfo | None]:
    """Return the free evenings of an iCalendar file, and the time zone that it is told in; None where it names none.

    Every event is a free evening, whatever it is called and whether or not it shows as busy; so is what a free/busy
    answer calls free. A moment without a zone is where the clocks never change. What repeats without an end is followed
    for a year.

    Args:
        data: the file.
        file: its name, for the problems.
        today: earlier evenings are left out.

    Raises:
        InputError: it is no calendar, or an event has no hours, no end, or a time zone that nobody knows.
    """
    found = _opened(data, file)
    problems: list[Problem] = []
    evenings: list[Evening] = []
    named = str(found.get("X-WR-TIMEZONE", "")).strip()
    zone = zone_named(named)
    events = [each for each in found.walk("VEVENT") if str(each.get("STATUS", "")).upper() != "CANCELLED"]
    replaced = {
        (str(each.get("UID")), _aware(each.decoded("RECURRENCE-ID")))
        for each in found.walk("VEVENT")
        if "RECURRENCE-ID" in each and not isinstance(each["RECURRENCE-ID"], str)
    }
    for event in events:
        name = str(event.get("SUMMARY", event.get("UID", "an event")))
        span = _span(event, name, file, problems)
        if span is None:
            continue
        start, end = span
        if start.tzinfo is not None and zone is None:
            zone = start.tzinfo
        lasts = end.astimezone(UTC) - start.astimezone(UTC) if start.tzinfo is not None else end - start
        try:
            for begun, over in _instances(event, start, lasts, today):
                if "RECURRENCE-ID" in event or (str(event.get("UID")), _aware(begun)) not in replaced:
                    evenings.append(Evening(_aware(begun), _aware(over)))
        except (ValueError, TypeError, AttributeError, OverflowError) as slip:
            problems.append(Problem(f"how {name} repeats cannot be read", str(slip)[:80], key="RRULE", file=file))
    shared = found.walk("VFREEBUSY")
    evenings += [each for one in shared for each in _free(one)]
    if shared and not evenings and not problems:
        mend = "Export the evenings on which you are free, as events or as FBTYPE=FREE."
        problems.append(Problem("it says when you are busy, and not when you are free", mend=mend, file=file))
    if problems:
        raise InputError(problems)
    return tuple(evenings), zone


def _opened(data: bytes, file: str) -> Any:
    """Return the calendar that a file holds.

    Raises:
        InputError: it is none, breaks off, or is no text in UTF-8.
    """
    import icalendar

    accepted = "iCalendar, BEGIN:VCALENDAR to END:VCALENDAR"
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        mend = "Export it again, as iCalendar in UTF-8."
        raise InputError(Problem("this is not a calendar file: it is no text in UTF-8", mend=mend, file=file)) from None
    if "BEGIN:VCALENDAR" in text and "END:VCALENDAR" not in text:
        mend = "It breaks off before its end: export it again."
        raise InputError(Problem("this is not a calendar file that is whole", "", accepted, mend, file=file))
    try:
        found = icalendar.Calendar.from_ical(text)
    except (ValueError, KeyError, IndexError):
        raise InputError(Problem("this is not a calendar file", accepted=accepted, file=file)) from None
    if getattr(found, "name", "") != "VCALENDAR":
        raise InputError(Problem("this is not a calendar file", accepted=accepted, file=file))
    return found


def zone_named(name: str) -> tzinfo | None:
    """Return the time zone of a name, or None where there is none of it."""
    try:
        return ZoneInfo(name) if name else None
    except (KeyError, ValueError, OSError):
        return None


def _span(event: Any, name: str, file: str, problems: list[Problem]) -> tuple[datetime, datetime] | None:
    """Return an event's beginning and end, or None with a problem noted."""
    for word in ("DTSTART", "DTEND", "RECURRENCE-ID"):
        if isinstance(event.get(word), str):  # kept as it was typed, because it cannot be read
            mend = "Mend it in your calendar, and export it again."
            problem = f"{name} is at a time that does not exist"
            problems.append(Problem(problem, event[word][:80], "20261124T193000", mend, key=word, file=file))
            return None
    try:
        start = event.decoded("DTSTART")
        whole = not isinstance(start, datetime)
        end = start if whole else _end(event, start)
    except (ValueError, KeyError, TypeError):
        problems.append(Problem(f"{name} has no time that can be read", key="DTSTART", file=file))
        return None
    if whole or (end is not None and not isinstance(end, datetime)):
        mend = "Give it hours, or take it out."
        problems.append(Problem(f"{name} lasts whole days", str(start)[:10], "an event with hours", mend, file=file))
        return None
    if end is None:
        problems.append(Problem(f"{name} has no end", accepted="an event with DTEND or DURATION", file=file))
        return None
    zone = str(event["DTSTART"].params.get("TZID", ""))
    if zone and start.tzinfo is None:
        accepted = "a zone that the file describes, or one like Europe/Berlin"
        problems.append(Problem(f"{name} is in a time zone that is not known", zone, accepted, file=file))
        return None
    if (start.tzinfo is None) != (end.tzinfo is None) or end <= start:
        problems.append(Problem(f"{name} ends before it begins", str(end), f"after {start}", file=file))
        return None
    return start, end


def _aware(moment: Any) -> datetime:
    """Return a moment with a zone; one without is where the clocks never change."""
    found: datetime = moment if isinstance(moment, datetime) else datetime.combine(moment, time())
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)


def _end(event: Any, start: datetime) -> Any:
    """Return when an event ends, or None where it does not say."""
    if "DTEND" in event:
        return event.decoded("DTEND")
    return _after(start, event.decoded("DURATION")) if "DURATION" in event else None


def _after(start: datetime, lasts: timedelta) -> datetime:
    """Return a moment so much later: days on the calendar, hours as they pass (RFC 5545, 3.3.6)."""
    later = start + timedelta(days=lasts.days)
    rest = timedelta(seconds=lasts.seconds)
    return later + rest if start.tzinfo is None else (later.astimezone(UTC) + rest).astimezone(start.tzinfo)


def _instances(
    event: Any, start: datetime, lasts: timedelta, today: date | None
) -> Iterator[tuple[datetime, datetime]]:
    """Yield beginning and end of each time of an event that repeats, those left out left out.

    Each lasts as long as the first, in hours that pass (RFC 5545, 3.8.5.3).
    """
    from dateutil.rrule import rruleset, rrulestr

    def told(moment: datetime) -> datetime:
        return moment.replace(tzinfo=start.tzinfo) if moment.tzinfo is None or start.tzinfo is None else moment

    every = rruleset()
    for rule in _several(event.get("RRULE")):
        if not isinstance(rule, str) and any(each < 1 for each in rule.get("INTERVAL", ())):
            raise ValueError("INTERVAL is less than 1")  # it would stay on one day without end
        every.rrule(rrulestr(_until(rule.to_ical().decode(), start), dtstart=start))
    every.rdate(start)
    own: dict[datetime, datetime] = {}
    for each in _dates(event, "RDATE"):
        if isinstance(each, tuple):
            begun, end = each
            own[told(begun)] = _after(told(begun), end) if isinstance(end, timedelta) else told(end)
        else:
            own[told(each if isinstance(each, datetime) else datetime.combine(each, start.time()))] = start
    for begun in own:
        every.rdate(begun)
    days = set()
    for each in _dates(event, "EXDATE"):
        if isinstance(each, datetime):
            every.exdate(told(each))
        else:
            days.add(each)
    least = None if today is None else datetime.combine(today, time(), start.tzinfo)
    until = (least or start) + timedelta(days=366)
    for n, each in enumerate(every):
        if each > until or n > 20_000:
            return
        if (least is None or each >= least) and each.date() not in days:
            yield each, own[each] if own.get(each, start) != start else _after(each, lasts)


def _several(given: Any) -> list[Any]:
    return given if isinstance(given, list) else [given] if given is not None else []


def _dates(event: Any, word: str) -> Iterator[Any]:
    """Yield the days, moments and periods of a property that may be there several times."""
    for group in _several(event.get(word)):
        for each in group.dts:
            yield each.dt


def _until(rule: str, start: datetime) -> str:
    """Return a rule whose last moment is told as its event's are.

    Many programs write a day where RFC 5545 (3.3.10) wants a moment in UTC: the whole day is then meant.
    """
    found = re.search(r"UNTIL=(\d{8})(T\d{6})?(Z?)", rule)
    if found is None:
        return rule
    last = datetime.strptime(found[1] + (found[2] or "T235959"), "%Y%m%dT%H%M%S")  # its zone is set below
    if start.tzinfo is not None:
        aware = last.replace(tzinfo=UTC if found[3] else start.tzinfo)
        last = aware.astimezone(UTC)
    told = f"{last:%Y%m%dT%H%M%S}{'' if start.tzinfo is None else 'Z'}"
    return rule.replace(found[0], f"UNTIL={told}")


def _free(shared: Any) -> Iterator[Evening]:
    """Yield the stretches of time that a free/busy answer calls free."""
    for group in _several(shared.get("FREEBUSY")):
        for each in group if isinstance(group, list) else [group]:
            if str(each.params.get("FBTYPE", "BUSY")).upper() == "FREE":
                begun, end = each.dt
                over = _after(begun, end) if isinstance(end, timedelta) else end
                if over > begun:
                    yield Evening(_aware(begun), _aware(over))
