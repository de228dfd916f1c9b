"""Free evenings from a simple rule in TOML or from an iCalendar file, and what there is to work with.

An evening is where the clock on the wall puts it: 19:00 stays 19:00 when the clocks change. Without a time zone the
clocks never change. Several files are one: evenings from a calendar program, the shop and what is done from another.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Final, Literal

from carwright.calendar.batch import Evening, Rules
from carwright.calendar.done import Said
from carwright.calendar.events import read_events, zone_named
from carwright.calendar.fields import Fields, table_of
from carwright.problems import InputError, Problem

__all__ = ["MOST_EVENINGS", "Free", "day_or_moment", "read_evenings"]

MOST_EVENINGS: Final = 400
_DAYS: Final = ("mo", "tu", "we", "th", "fr", "sa", "su")
_SETS: Final = {"daily": range(7), "weekdays": range(5), "weekends": range(5, 7), "weekend": range(5, 7)}
_OVER_NIGHT: Final = timedelta(hours=10)
"""So long an evening may be that ends after midnight; a longer one is a slip of the pen."""
_REACH: Final = timedelta(days=183)
"""How far a rule without a last day is followed: half a year."""


@dataclass(frozen=True, slots=True)
class Free:
    """What a batch is planned on.

    Args:
        evenings: in the order of time.
        rules: what there is to work with.
        zone: where the clock hangs; UTC itself where no zone was named.
        said: what is done already, and appointments.
        now: the moment to plan from, or None.
    """

    evenings: tuple[Evening, ...]
    rules: Rules
    zone: tzinfo
    said: tuple[Said, ...] = ()
    now: datetime | None = None


@dataclass(frozen=True, slots=True)
class _Part:
    """What one file says; ``rules`` and ``zone`` are None where it does not; ``typed``: the zone was named as such."""

    evenings: tuple[Evening, ...]
    rules: Rules | None
    zone: tzinfo | None
    said: tuple[Said, ...] = ()
    typed: bool = False


def day_or_moment(text: str, *, key: str) -> date:
    """Return a day, or a moment where a time stands behind it.

    Raises:
        InputError: it is neither.
    """
    try:
        return date.fromisoformat(text)
    except ValueError:
        try:
            return datetime.fromisoformat(text)
        except ValueError:
            raise InputError(Problem("this is no day", text, "2026-11-24, 2026-11-24T19:30", key=key)) from None


def read_evenings(files: Sequence[tuple[str, bytes]], *, today: date | None = None) -> Free:
    """Return the evenings of files: iCalendar where a name ends in .ics or the text begins like one, else TOML.

    Args:
        files: each with its name, for the problems, and its bytes.
        today: the day to plan from, or the moment; what is free of an evening begins then, and evenings before are
            gone. Without it all of them are there.

    Raises:
        InputError: one is neither, a rule cannot be used, two say what there is to work with, or no evening is free.
    """
    parts: list[_Part] = []
    problems: list[Problem] = []
    for name, data in files:
        try:
            calendar = name.lower().endswith(".ics") or data.lstrip().startswith(b"BEGIN:VCALENDAR")
            part = _from_events(data, name, today) if calendar else _from_rules(data, name, today)
        except InputError as trouble:
            problems += trouble.problems
            continue
        if part.rules is not None and any(each.rules is not None for each in parts):
            problems.append(Problem("two files say what there is to work with", key="shop", file=name))
        parts.append(part)
    if problems:
        raise InputError(problems)
    zone = next((each.zone for each in sorted(parts, key=lambda each: not each.typed) if each.zone is not None), UTC)
    now = None
    if today is not None:
        moment = today if isinstance(today, datetime) else datetime.combine(today, time())
        now = moment if moment.tzinfo is not None else moment.replace(tzinfo=zone)
    evenings = _apart(
        Evening(max(_told(each.start, zone), now or _told(each.start, zone)), _told(each.end, zone))
        for part in parts
        for each in part.evenings
        if now is None or _told(each.end, zone) > now
    )
    if not evenings:
        mend = "Give evenings that are still to come, or leave fewer of them out."
        last = files[-1][0] if files else ""
        raise InputError(Problem("no evening is free", accepted="one evening or more", mend=mend, file=last))
    rules = next((each.rules for each in parts if each.rules is not None), Rules())
    said = tuple(each for part in parts for each in part.said)
    return Free(evenings[:MOST_EVENINGS], rules, zone, said, now)


def _told(moment: datetime, zone: tzinfo) -> datetime:
    """Return a moment on the wall's clock in a zone; one without a zone of its own is what that clock shows."""
    return moment.replace(tzinfo=zone) if moment.tzinfo is UTC else moment.astimezone(zone)


def _apart(evenings: Iterator[Evening]) -> tuple[Evening, ...]:
    """Return the evenings in order, those that lie on one another as one."""
    found: list[Evening] = []
    for each in sorted(evenings, key=lambda each: (each.start, each.end)):
        if found and each.start < found[-1].end:
            found[-1] = Evening(found[-1].start, max(found[-1].end, each.end))
        else:
            found.append(each)
    return tuple(found)


def _from_events(data: bytes, file: str, today: date | None) -> _Part:
    evenings, zone = read_events(data, file=file, today=today)
    return _Part(evenings, None, zone)


def _from_rules(data: bytes, file: str, today: date | None) -> _Part:
    problems: list[Problem] = []
    table = table_of(data, file=file, what="a list of evenings")
    top = Fields(table, "", file, problems, "evening shop jig zone done appointment")
    zone: tzinfo | None = None
    name = top.text("zone")
    if name:
        zone = zone_named(name)
        if zone is None:
            top.slip("zone", "there is no such time zone", name, '"Europe/Berlin", "America/Chicago"')
    found: list[Evening] = []
    if not table:
        accepted = "[[evening]] with days, from, to, first, last, not; [shop]; [[done]]"
        top.slip("evening", "no evening is given", accepted=accepted)
    for n, row in enumerate(top.listed("evening"), 1):
        fields = Fields(row, f"evening[{n}]", file, problems, "days from to first last not")
        found += _rule(fields, zone or UTC, today)
    shop = Fields(table.get("shop", {}), "shop", file, problems, "hands booth rack setup cleaning idle damp")
    jigs = []
    for n, row in enumerate(top.listed("jig"), 1):
        jig = Fields(row, f"jig[{n}]", file, problems, "name places")
        jigs.append((jig.text("name", None), jig.whole("places", 1, 1)))
    usual = Rules()
    damp = shop.whole("damp", round(100 * usual.slack))
    if damp >= 100:
        shop.slip("damp", "so much cannot be kept free", str(damp), "percent, 0 to 99")
    rules = Rules(
        hands=shop.whole("hands", usual.hands, 1),
        booth=shop.whole("booth", usual.booth, 1),
        rack=shop.whole("rack", 0, 1) if "rack" in shop.table else None,
        jigs=tuple(jigs),
        setup_min=shop.minutes("setup", usual.setup_min),
        cleaning_min=shop.minutes("cleaning", usual.cleaning_min),
        idle_min=shop.minutes("idle", usual.idle_min),
        slack=min(damp, 99) / 100,
    )
    said = (*_said(top, "done", "when"), *_said(top, "appointment", "at"))
    if problems:
        raise InputError(problems)
    return _Part(tuple(found), rules if table.keys() & {"shop", "jig"} else None, zone, said, zone is not None)


def _said(top: Fields, kind: Literal["done", "appointment"], moment: str) -> Iterator[Said]:
    """Yield what is done or has an appointment, from the tables of that name."""
    for n, row in enumerate(top.listed(kind), 1):
        fields = Fields(row, f"{kind}[{n}]", top.file, top.problems, f"car step {moment}")
        car, step, when = fields.text("car", None), fields.text("step", None), fields.moment(moment)
        if when is None and moment not in fields.table:
            fields.slip(moment, "the moment is wanting", accepted='"2026-11-24 19:30"')
        if when is not None and car and step:
            yield Said(car, step, when, kind, fields.key, top.file)


def _rule(fields: Fields, zone: tzinfo, today: date | None) -> Iterator[Evening]:
    begin, end = fields.clock("from"), fields.clock("to")
    days = set()
    for each in fields.listed("days") or ["daily"]:
        for word in str(each).replace(",", " ").split():
            short = word.lower()
            if short in _SETS:
                days |= set(_SETS[short])
            elif short[:2] in _DAYS:
                days.add(_DAYS.index(short[:2]))
            else:
                fields.slip("days", "this is no day of the week", word, "mon, tue, wed, thu, fri, sat, sun, daily")
    day = today.date() if isinstance(today, datetime) else today
    first = fields.day("first", fields.table["first"]) if "first" in fields.table else day
    last = fields.day("last", fields.table["last"]) if "last" in fields.table else None
    left_out = {fields.day("not", each) for each in fields.listed("not")}
    if begin is not None and begin == end:
        fields.slip("to", "an evening has to end after it begins", str(end), f"after {begin}")
        return
    if begin is not None and end is not None and end < begin and _long(begin, end) > _OVER_NIGHT:
        hours = _long(begin, end) / timedelta(hours=1)
        noon = time(12)
        late = f"Did you mean {end.hour + 12}:{end:%M}? " if end < noon and begin < end.replace(end.hour + 12) else ""
        fields.slip(
            "to",
            f"to is before from, and past midnight that would be {hours:g} hours",
            f"{begin:%H:%M} to {end:%H:%M}",
            f"up to {_OVER_NIGHT // timedelta(hours=1)} hours past midnight",
            f"{late}For longer, give two rules: one up to 23:59, one from 00:00 on.",
        )
        return
    if first is None or begin is None or end is None:
        if "first" not in fields.table and today is None:
            fields.slip("first", "the first day is wanting", accepted="2026-11-24", mend="Give it, or name --today.")
        return
    last = first + _REACH if last is None else last
    if last < first:
        fields.slip("last", "the last day is before the first", str(last), f"{first} or later")
        return
    for n in range(min((last - first).days, 3660) + 1):
        day = first + timedelta(days=n)
        if day.weekday() in days and day not in left_out:
            yield Evening(*_on(day, begin, end, zone))


def _long(begin: time, end: time) -> timedelta:
    """Return how long an evening is on the clock that ends after midnight."""
    return datetime.combine(date(2000, 1, 2), end) - datetime.combine(date(2000, 1, 1), begin)


def _on(day: date, begin: time, end: time, zone: tzinfo) -> tuple[datetime, datetime]:
    """Return an evening's two moments; an end at or before its beginning is after midnight."""
    after = day if end > begin else day + timedelta(days=1)
    return datetime.combine(day, begin, zone), datetime.combine(after, end, zone)
