"""Why a step starts when it does: what it waits for, and what stands in the way of every earlier start.

An earlier start is tried with everything else where it is, and judged by the rules that every answer is checked by; so
what is said here is never a guess about the search, which weighs many calendars at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from carwright.calendar.batch import Batch, Calendar, Evening, Placed, Session, later
from carwright.calendar.edges import day_words, edges_of, late_words, moment_words, wait_words
from carwright.calendar.missed import relieved
from carwright.calendar.sound import calendar_slips, step_words
from carwright.findings import listed

__all__ = ["Because", "because_of"]

_MINUTE = timedelta(minutes=1)
_MOST_EVENINGS = 8
"""So many evenings before the one that was taken are looked at, the last of them."""


@dataclass(frozen=True, slots=True)
class Because:
    """Why a step starts when it does.

    Args:
        placed: the step in its place.
        waits: what it waits for, each a sentence with its moments, its reason and its source.
        between: what stands in the way of an earlier start, an evening or a stretch of one each.
        late: by when it must have begun, or "".
    """

    placed: Placed
    waits: tuple[str, ...]
    between: tuple[str, ...]
    late: str


def because_of(calendar: Calendar, batch: Batch, placed: Placed) -> Because:
    """Return why a step of a calendar starts when it does.

    Args:
        calendar: where the step is.
        batch: what it was made for.
        placed: one of the calendar's.
    """
    edges = edges_of(calendar)
    if placed.step.done_at is not None:
        return Because(placed, (f"It was done by {day_words(placed.end)}, {placed.end:%H:%M}.",), (), "")
    places = {(each.step.car, each.step.id): each for each in calendar.placed}
    waits = tuple(_waits(placed, places))
    late = late_words(edges[placed.step.car, placed.step.id], placed.start)
    said = f"It must not begin {late.removeprefix('not ')}." if late else ""
    if placed.step.fixed_start is not None:
        return Because(placed, waits, ("It has an appointment then.",), said)
    return Because(placed, waits, tuple(_between(calendar, relieved(batch)[0], placed, places)), said)


def _waits(placed: Placed, places: dict[tuple[str, str], Placed]) -> Iterator[str]:
    """Yield each wait with the end that it counts from, the moment at which its window opens, reason and source."""
    if not placed.step.waits:
        yield "It waits for nothing."
    for wait, which in zip(placed.step.waits, placed.windows, strict=True):
        before = places[placed.step.car, wait.after]
        opens = later(before.end, wait.windows[which].opens_min)
        title = before.step.title[:1].lower() + before.step.title[1:]
        words = wait_words(wait, title) or f"after {title}"
        ended = moment_words(before.end, placed.start)
        told = f"{words}, which ends {ended}"
        if opens > before.end:
            told += f": from {moment_words(opens, placed.start)}"
        known = f" ({wait.source.removesuffix(', no source')})" if wait.source else ""
        because = f"; {wait.because}{known}" if wait.because else known
        yield f"{told[:1].upper()}{told[1:]}{because}."


def _between(calendar: Calendar, batch: Batch, placed: Placed, places: dict[tuple[str, str], Placed]) -> Iterator[str]:
    """Yield what stands in the way on each evening from the first moment that the waits allow."""
    ready = _ready(placed, places)
    evenings = [each for each in batch.evenings if each.start < placed.start and (ready is None or ready < each.end)]
    if ready is not None and placed.start <= ready:
        yield "It starts at the first moment that its waits allow."
        return
    if not evenings or (len(evenings) == 1 and evenings[0].start == placed.start):
        yield "It starts at the first free moment."
        return
    for evening in evenings[-_MOST_EVENINGS:]:
        yield from _on(calendar, batch, placed, evening, ready)
    if placed.start in {each.start for each in batch.evenings}:
        yield f"{day_words(placed.start)}: it is the first act of the evening."


def _ready(placed: Placed, places: dict[tuple[str, str], Placed]) -> datetime | None:
    """Return the first moment that is in a window of each wait; None where nothing is waited for.

    Every wait opens some window at one of a few moments; the first of them that all allow is the one.
    """
    spans = [
        [
            (
                later(places[placed.step.car, wait.after].end, each.opens_min),
                None if each.closes_min is None else later(places[placed.step.car, wait.after].end, each.closes_min),
            )
            for each in wait.windows
        ]
        for wait in placed.step.waits
    ]
    moments = sorted(opens for some in spans for opens, _ in some)
    for at in moments:
        if all(any(opens <= at and (closes is None or at <= closes) for opens, closes in some) for some in spans):
            return at
    return None


def _on(calendar: Calendar, batch: Batch, placed: Placed, evening: Evening, ready: datetime | None) -> Iterator[str]:
    """Yield what stands in the way on one evening, stretch by stretch, or that nothing does."""
    rules, step = batch.rules, placed.step
    ahead, behind = (rules.setup_min, rules.cleaning_min) if step.colour else (0, 0)
    first = evening.start if ready is None else max(evening.start, ready)
    end = later(
        evening.start,
        int((evening.end.astimezone(UTC) - evening.start.astimezone(UTC)) / _MINUTE * (1.0 - rules.slack) + 1e-9),
    )
    last = min(later(end, -step.hands_min - behind), later(placed.start, -1))
    day = day_words(evening.start)
    if first > last and placed.start > end:
        free = f"the time kept free for a damp day begins at {end:%H:%M}" if rules.slack else f"it ends at {end:%H:%M}"
        yield f"{day}: its waits are over at {first:%H:%M}, and {free}."
        return
    others = [each for each in calendar.placed if each is not placed]
    moments = {first, later(evening.start, ahead)}
    for each in others:
        moments |= {each.end, later(each.end, ahead)}
    for session in calendar.sessions:
        moments |= {session.end, later(session.end, ahead), later(session.start, rules.setup_min)}
    told: list[tuple[datetime, str]] = []
    for at in sorted(each for each in moments if first <= each <= last):
        there = replace(placed, start=at, end=later(at, step.hands_min))
        every = (*others, there)
        tried = replace(calendar, placed=every, sessions=_sessions(batch, every))
        slips = calendar_slips(batch, tried)
        reason = _reason(slips, tried, there) if slips else ""
        if not told or told[-1][1] != reason:
            told.append((at, reason or _gained(calendar, tried, there)))
        if not reason:
            break
    for at, reason in told:
        yield f"{day}, from {at:%H:%M}: {reason}."


def _gained(calendar: Calendar, tried: Calendar, there: Placed) -> str:
    """Return what is said of a start at which nothing stands in the way."""
    step = there.step
    if len(tried.sessions) > len(calendar.sessions):
        return f"it could be then, with {step.colour} loaded once more"
    if all(each is there or each.start.date() != there.start.date() for each in tried.placed):
        return "it could be then, with one more evening used"
    return "it could be then as well; the last car is not finished earlier by it"


def _reason(slips: Sequence[str], tried: Calendar, there: Placed) -> str:
    """Return in words why a step cannot be where it is tried."""
    own = step_words(there.step)
    busy = [
        step_words(each.step).split(",")[0]
        for each in tried.placed
        if each is not there and each.step.done_at is None and each.start < there.end and there.start < each.end
    ]
    gun = [each for each in tried.sessions if each.colour != there.step.colour and _meets(each, tried, there)]
    for slip in slips:
        if slip.startswith("hands is over"):
            if busy:
                return f"hands are at {busy[0]}"
            if not gun:
                return (
                    f"the gun is being loaded with {there.step.colour}"
                    if there.step.colour
                    else "the gun is being loaded"
                )
            return f"the gun is being loaded with {gun[0].colour} or cleaned of it"
    for slip in slips:
        word = slip.split(" is over its places")[0]
        if word == "gun":
            return f"the gun holds {listed(dict.fromkeys(each.colour for each in gun)) or 'another colour'}"
        if word != slip:
            return f"every place of the {word} is taken"
    for slip in slips:
        if slip.startswith(f"{own} starts"):
            return "none of its windows is open"
        if " starts " in slip:
            return f"{slip.split(' starts ')[0]} would then stand outside its windows"
        if slip.startswith("the gun stands too long"):
            return slip.replace("stands", "would stand", 1)
    return "the gun could no longer be loaded and cleaned within the evening"


def _meets(session: Session, tried: Calendar, there: Placed) -> bool:
    """Return whether a session lies on the one that the step is in."""
    mine = next(
        (
            each
            for each in tried.sessions
            if each.colour == there.step.colour and each.start <= there.start and there.end <= each.end
        ),
        None,
    )
    first, end = (there.start, there.end) if mine is None else (mine.start, mine.end)
    return session.start < end and first < session.end


def _sessions(batch: Batch, placed: Sequence[Placed]) -> tuple[Session, ...]:
    """Return the gun's sessions for steps in their places: each colour once an evening."""
    by: dict[tuple[str, object], list[Placed]] = {}
    for each in placed:
        if each.step.colour and each.step.done_at is None:
            evening = next((n for n, e in enumerate(batch.evenings) if e.start <= each.start < e.end), each.start)
            by.setdefault((each.step.colour, evening), []).append(each)
    return tuple(
        Session(
            colour,
            later(min(each.start for each in some), -batch.rules.setup_min),
            later(max(each.end for each in some), batch.rules.cleaning_min),
        )
        for (colour, _), some in by.items()
    )
