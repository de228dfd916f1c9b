"""The edges of the windows that a calendar keeps, as moments: not before, by when, and what must not be between.

All waits of a step together leave it stretches of time in which it may start. The calendar has put it into one of
them; the stretch behind that is where it may start if this one is missed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from carwright.calendar.batch import Calendar, Placed
from carwright.calendar.frame import FOREVER, Span, Spans, meet
from carwright.finish.steps import Wait

__all__ = ["Edges", "day_words", "edges_of", "late_words", "moment_words", "span_words", "wait_words"]

_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Edges:
    """When a step may start.

    Args:
        opens: as its window opens, where that is later than the end of what it waits for; else None.
        closes: the last moment at which it may start, or None.
        again: when it may start if that was missed; None where it never may, or need not.
        wait: the wait that opens last, or that closes first where none opens late; None where nothing is waited for.
    """

    opens: datetime | None = None
    closes: datetime | None = None
    again: datetime | None = None
    wait: Wait | None = None


def edges_of(calendar: Calendar) -> dict[tuple[str, str], Edges]:
    """Return the edges of every step that is still to be done, by car and step."""
    ends = {(each.step.car, each.step.id): each.end for each in calendar.placed}
    return {(each.step.car, each.step.id): _edges(each, ends) for each in calendar.placed if each.step.done_at is None}


def _edges(placed: Placed, ends: dict[tuple[str, str], datetime]) -> Edges:
    begun = placed.start.astimezone(UTC)

    def moment(minutes: int) -> datetime:
        return (begun + minutes * _MINUTE).astimezone(placed.start.tzinfo)

    free: Spans = ((-FOREVER, FOREVER),)
    ready = -FOREVER
    used: list[tuple[int, int, Wait]] = []
    for wait, which in zip(placed.step.waits, placed.windows, strict=True):
        end = round((ends[placed.step.car, wait.after].astimezone(UTC) - begun) / _MINUTE)
        ready = max(ready, end)
        windows = sorted(
            (end + each.opens_min, FOREVER if each.closes_min is None else end + each.closes_min)
            for each in wait.windows
        )
        free = meet(free, _apart(windows))
        window = wait.windows[which]
        used.append((end + window.opens_min, FOREVER if window.closes_min is None else end + window.closes_min, wait))
    at = next((n for n, (low, high) in enumerate(free) if low <= 0 <= high), None)
    if at is None or not used:
        return Edges()
    opens, closes = free[at]
    last = max(used, key=lambda each: each[0])
    first = min(used, key=lambda each: each[1])
    return Edges(
        moment(opens) if opens > ready else None,
        moment(closes) if closes < FOREVER else None,
        moment(free[at + 1][0]) if closes < FOREVER and at + 1 < len(free) else None,
        last[2] if opens > ready else first[2],
    )


def _apart(spans: Sequence[Span]) -> Spans:
    """Return spans, sorted, with those that lie on one another or touch as one."""
    found: list[Span] = []
    for low, high in spans:
        if found and low <= found[-1][1] + 1:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return tuple(found)


def day_words(moment: datetime) -> str:
    """Return a day as it stands above an evening: "Thursday 26 November"."""
    return f"{moment:%A} {moment.day} {moment:%B}"


def moment_words(moment: datetime, seen: datetime) -> str:
    """Return a moment as it is said on the day of another: "20:10", "Sat 19:10", "Sat 5 December 19:10".

    Example:
        >>> moment_words(datetime(2026, 11, 28, 19, 10), datetime(2026, 11, 26, 20, 0))
        'Sat 19:10'
    """
    apart = abs((moment.date() - seen.date()).days)
    if apart == 0:
        return f"{moment:%H:%M}"
    return f"{moment:%a} {moment:%H:%M}" if apart < 6 else f"{moment:%a} {moment.day} {moment:%B} {moment:%H:%M}"


def late_words(edges: Edges, seen: datetime) -> str:
    """Return the late edge of a step: "not between 20:10 and Sat 19:10", "not after 20:10"; "" where there is none."""
    if edges.closes is None:
        return ""
    closes = moment_words(edges.closes, seen)
    if edges.again is None:
        return f"not after {closes}"
    return f"not between {closes} and {moment_words(edges.again, seen)}"


def span_words(minutes: int) -> str:
    """Return minutes as they are said: "45 min", "2 h", "3 days".

    Example:
        >>> span_words(90), span_words(120), span_words(4320)
        ('90 min', '2 h', '3 days')
    """
    if minutes % 1440 == 0 and minutes >= 2880:
        return f"{minutes // 1440} days"
    return f"{minutes // 60} h" if minutes % 60 == 0 and minutes else f"{minutes} min"


def wait_words(wait: Wait, title: str) -> str:
    """Return every window of a wait: "within 1 h, or 48 h or more after First coat"; "" where any time will do.

    Args:
        wait: the wait.
        title: what the step is called that it counts from.
    """
    said = list(_windows(wait))
    return f"{', or '.join(said)} after {title}" if said else ""


def _windows(wait: Wait) -> Iterator[str]:
    for each in wait.windows:
        if each.closes_min is not None:
            opens = f"{span_words(each.opens_min)} to " if each.opens_min else "within "
            yield f"{opens}{span_words(each.closes_min)}"
        elif each.opens_min:
            yield f"{span_words(each.opens_min)} or more"
