"""The iCalendar file that is written, against the rules of RFC 5545, by hand and by a library."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime

import icalendar
from tests.calendar.test_calendar import step

from carwright.calendar.batch import Batch, Calendar
from carwright.calendar.evenings import read_evenings
from carwright.calendar.feed import icalendar_of
from carwright.calendar.solve import make_calendar
from carwright.finish.steps import Wait, Window

RULE = b'zone = "Europe/Berlin"\n[[evening]]\nfrom = "19:00"\nto = "21:30"\nfirst = 2026-03-28\nlast = 2026-04-10\n'
TITLE = "Fit ladders, rods; \\ and\nBügel \u2013 \u4e2d\u6587 " + "ä" * 60


def made() -> tuple[Batch, Calendar]:
    """Return two steps of a car with every sign in its title that has to be escaped, the second with both edges."""
    free = read_evenings([("e.toml", RULE)])
    car = "Böx, \u201eneu\u201c; 1"
    first = replace(step("one", 10, car=car), title=f"{TITLE}\x07", hold_point="even, no dust; dry\nhard")
    second = replace(step("two", 10, Wait("one", (Window(60, 90), Window(2880))), car=car), title=f"{TITLE} again")
    lot = Batch((first, second), free.evenings, free.rules)
    return lot, make_calendar(lot, work=1)


def test_lines_are_folded_between_signs_and_texts_escaped() -> None:
    """RFC 5545, 3.1: CRLF, at most 75 octets, no sign cut in two, no control signs; 3.3.11: escapes."""
    lot, calendar = made()
    data = icalendar_of(calendar, lot, today=date(2026, 3, 20))
    lines = data.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 for line in lines)
    assert b"\n" not in b"".join(lines)
    assert all(line.decode("utf-8").isprintable() for line in lines)
    whole = data.decode().replace("\r\n ", "")
    described = re.search(r"^DESCRIPTION:(.*)$", whole, re.MULTILINE)
    assert described is not None
    text = described[1].removesuffix("\r")
    assert not re.search(r"[\\,;]", re.sub(r"\\[\\,;n]", "", text))
    (event,) = icalendar.Calendar.from_ical(data).walk("VEVENT")
    assert TITLE in str(event["DESCRIPTION"])
    assert str(event["SUMMARY"]) == "Paint shop: Böx, \u201eneu\u201c; 1"


def test_alarms_at_both_edges_are_moments_in_utc() -> None:
    """RFC 5545, 3.8.6.3: its own moment says VALUE=DATE-TIME, in UTC; it opens at 20:10 and closes at 20:40 CET."""
    lot, calendar = made()
    data = icalendar_of(calendar, lot, today=date(2026, 3, 20))
    assert re.findall(rb"TRIGGER[^\r]*", data) == [
        b"TRIGGER;VALUE=DATE-TIME:20260328T191000Z",
        b"TRIGGER;VALUE=DATE-TIME:20260328T192500Z",
    ]


def test_made_again_it_keeps_its_names_and_outranks_what_was_made_before() -> None:
    """RFC 5545, 3.8.4.7 and 3.8.7.4: UID stays, SEQUENCE grows, within a day too; DTSTAMP is the moment in UTC."""
    lot, calendar = made()
    found = []
    for when in (date(2026, 3, 27), datetime(2026, 3, 27, 20, 15), datetime(2026, 3, 27, 20, 30)):
        (event,) = icalendar.Calendar.from_ical(icalendar_of(calendar, lot, today=when)).walk("VEVENT")
        found.append(event)
    assert len({str(each["UID"]) for each in found}) == 1
    assert found[1].decoded("DTSTAMP") == datetime(2026, 3, 27, 19, 15, tzinfo=UTC)
    assert found[0]["SEQUENCE"] < found[1]["SEQUENCE"] < found[2]["SEQUENCE"]
