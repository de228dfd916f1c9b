"""Free evenings from iCalendar files, as RFC 5545 and the programs that write them have it."""

from __future__ import annotations

from datetime import UTC, date

import pytest

from carwright.calendar.evenings import read_evenings
from carwright.problems import InputError

EVENING = "DTSTART;TZID=Europe/Berlin:20261020T190000\nDTEND;TZID=Europe/Berlin:20261020T210000"
WORKSHOP = """BEGIN:VTIMEZONE
TZID:Workshop
BEGIN:DAYLIGHT
DTSTART:20070311T020000
RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=2SU
TZOFFSETFROM:-0600
TZOFFSETTO:-0500
END:DAYLIGHT
BEGIN:STANDARD
DTSTART:20071104T020000
RRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=1SU
TZOFFSETFROM:-0500
TZOFFSETTO:-0600
END:STANDARD
END:VTIMEZONE
"""


def file_of(*events: str, lead: str = "") -> bytes:
    """Return an iCalendar file with these events."""
    told = "".join(f"BEGIN:VEVENT\nUID:1\nDTSTAMP:20260101T000000Z\nSUMMARY:free\n{e}\nEND:VEVENT\n" for e in events)
    text = f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//test//EN\n{lead}{told}END:VCALENDAR\n"
    return text.replace("\n", "\r\n").encode()


def starts(data: bytes, today: date | None = None) -> list[str]:
    """Return the starts of a file's evenings, on the wall's clock, with the hour of UTC."""
    found = read_evenings([("free.ics", data)], today=today).evenings
    return [f"{each.start:%m-%d %H:%M}/{each.start.astimezone(UTC):%H}" for each in found]


@pytest.mark.parametrize(
    ("data", "found"),
    [
        # RFC 5545, 3.3.10: a recurring event keeps its hour on the wall over a change of the clocks, here in October.
        (file_of(f"{EVENING}\nRRULE:FREQ=WEEKLY;COUNT=2"), ["10-20 19:00/17", "10-27 19:00/18"]),
        # 3.3.10: UNTIL as a moment in UTC; and as many programs write it, as a day.
        (file_of(f"{EVENING}\nRRULE:FREQ=WEEKLY;UNTIL=20261027T180000Z"), ["10-20 19:00/17", "10-27 19:00/18"]),
        (file_of(f"{EVENING}\nRRULE:FREQ=WEEKLY;UNTIL=20261027"), ["10-20 19:00/17", "10-27 19:00/18"]),
        # 3.8.5.1: left out by moment in a zone or in UTC; and as some programs write it, by day.
        (file_of(f"{EVENING}\nRRULE:FREQ=WEEKLY;COUNT=2\nEXDATE:20261020T170000Z"), ["10-27 19:00/18"]),
        (file_of(f"{EVENING}\nRRULE:FREQ=WEEKLY;COUNT=2\nEXDATE;VALUE=DATE:20261020"), ["10-27 19:00/18"]),
        # 3.8.5.2: further times, as periods.
        (
            file_of(f"{EVENING}\nRDATE;VALUE=PERIOD;TZID=Europe/Berlin:20261022T200000/PT3H"),
            ["10-20 19:00/17", "10-22 20:00/18"],
        ),
        # 3.8.4.4: one time of it on another day; and struck out.
        (
            file_of(
                f"{EVENING}\nRRULE:FREQ=WEEKLY;COUNT=2",
                "RECURRENCE-ID;TZID=Europe/Berlin:20261027T190000\nDTSTART;TZID=Europe/Berlin:20261028T190000\n"
                "DTEND;TZID=Europe/Berlin:20261028T210000",
            ),
            ["10-20 19:00/17", "10-28 19:00/18"],
        ),
        (
            file_of(
                f"{EVENING}\nRRULE:FREQ=WEEKLY;COUNT=2", f"RECURRENCE-ID:20261020T170000Z\nSTATUS:CANCELLED\n{EVENING}"
            ),
            ["10-27 19:00/18"],
        ),
        # 3.6.5: a zone that the file describes itself; 8 March 2026 is the US change.
        (
            file_of(
                "DTSTART;TZID=Workshop:20260302T190000\nDURATION:PT2H\nRRULE:FREQ=WEEKLY;COUNT=2", lead=WORKSHOP
            ),
            ["03-02 19:00/01", "03-09 19:00/00"],
        ),
        # Floating times stay what the clock on the wall shows; moments in UTC are told in the zone that the file names.
        (file_of("DTSTART:20261020T190000\nDTEND:20261020T210000"), ["10-20 19:00/19"]),
        (
            file_of("DTSTART:20261020T170000Z\nDTEND:20261020T190000Z", lead="X-WR-TIMEZONE:Europe/Berlin\n"),
            ["10-20 19:00/17"],
        ),
    ],
)  # fmt: skip
def test_events_stand_where_their_clock_puts_them(data: bytes, found: list[str]) -> None:
    """Repeating, left out, moved, in zones of their own, floating: each evening at its hour, and no other."""
    assert starts(data) == found


def test_an_evening_over_the_night_of_a_change_lasts_its_hours() -> None:
    """RFC 5545, 3.8.5.3 and 3.3.6: six hours from 23:00 end at 4:00 on the night that has 25 hours."""
    for end in ("DTEND;TZID=Europe/Berlin:20261018T050000", "DURATION:PT6H"):
        event = f"DTSTART;TZID=Europe/Berlin:20261017T230000\n{end}\nRRULE:FREQ=WEEKLY;COUNT=2"
        found = read_evenings([("free.ics", file_of(event))]).evenings
        assert [f"{each.end:%H:%M}" for each in found] == ["05:00", "04:00"]


def test_what_a_free_busy_answer_calls_free_are_evenings() -> None:
    """RFC 5545, 3.6.4: periods of FBTYPE=FREE count, busy ones do not; with those alone the file is refused."""
    text = (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\nBEGIN:VFREEBUSY\r\nUID:1\r\n"
        "DTSTAMP:20260101T000000Z\r\nFREEBUSY;FBTYPE=FREE:20261020T180000Z/PT2H,20261022T180000Z/20261022T200000Z\r\n"
        "FREEBUSY:20261023T180000Z/PT2H\r\nEND:VFREEBUSY\r\nEND:VCALENDAR\r\n"
    )
    assert starts(text.encode()) == ["10-20 18:00/18", "10-22 18:00/18"]
    with pytest.raises(InputError) as caught:
        read_evenings([("busy.ics", text.replace("FREE:", "BUSY:").encode())])
    assert "when you are busy, and not when you are free" in str(caught.value)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"<html>sign in</html>", "not a calendar file"),
        (file_of(EVENING)[:-20], "breaks off"),
        (file_of(EVENING).replace(b"free", b"fr\xe9e"), "no text in UTF-8"),
        (file_of("DTSTART;VALUE=DATE:20261020"), "free lasts whole days"),
        (file_of("DTSTART:20261020T190000"), "free has no end"),
        (file_of("DTSTART;TZID=Nowhere:20261020T190000\nDURATION:PT1H"), "free is in a time zone that is not known"),
        (file_of(f"{EVENING}\nRRULE:FREQ=FORTNIGHTLY"), "how free repeats cannot be read"),
        (file_of(), "no evening is free"),
    ],
)  # fmt: skip
def test_files_that_cannot_be_used_are_refused_with_the_event(data: bytes, said: str) -> None:
    """Each names the file or the event, and what is wrong with it."""
    with pytest.raises(InputError) as caught:
        read_evenings([("free.ics", data)])
    assert said in str(caught.value)
