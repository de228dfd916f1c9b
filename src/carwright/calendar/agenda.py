"""What is done on an evening, act by act: colours loaded and cleaned out, what is checked first, what stands drying."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from carwright.calendar.batch import Batch, Calendar, Placed, Session, later

__all__ = ["Act", "Agenda", "Drying", "agendas", "by_evening"]


@dataclass(frozen=True, slots=True)
class Act:
    """One act of an evening; ``placed`` is None where the spray gun is loaded or cleaned, as ``words`` say."""

    start: datetime
    end: datetime
    words: str
    placed: Placed | None = None


@dataclass(frozen=True, slots=True)
class Drying:
    """A car on the rack, from the end of a step until it is dry or is taken off to go on."""

    placed: Placed
    until: datetime


@dataclass(frozen=True, slots=True)
class Agenda:
    """One evening.

    Args:
        start: when hands begin, or the gun is loaded.
        end: when the last hands end.
        acts: in the order of time.
        minutes: of work, loading and cleaning among them.
        checks: steps of earlier evenings whose hold points stand before what is done now, those alike together.
        later: steps of this evening whose hold points are looked at on a later one.
        standing: what stands on the rack as the evening begins.
        left: what stands there when it ends.
        free_from: when the time begins that is kept free for a damp day; None for an appointment outside the evenings.
    """

    start: datetime
    end: datetime
    acts: tuple[Act, ...]
    minutes: int
    checks: tuple[tuple[Placed, ...], ...]
    later: tuple[Placed, ...]
    standing: tuple[Drying, ...]
    left: tuple[Drying, ...]
    free_from: datetime | None


def by_evening(calendar: Calendar) -> list[list[Placed]]:
    """Return what is still to be done, an evening at a time."""
    days: dict[object, list[Placed]] = {}
    for each in calendar.placed:
        if each.step.done_at is None:
            days.setdefault(each.evening if each.evening is not None else each.start, []).append(each)
    return sorted(days.values(), key=lambda each: each[0].start)


def agendas(calendar: Calendar, batch: Batch) -> tuple[Agenda, ...]:
    """Return every evening on which something is done, in the order of time."""
    places = {(each.step.car, each.step.id): each for each in calendar.placed}
    drying = tuple(_drying(calendar))
    return tuple(_agenda(acts, calendar, batch, places, drying) for acts in by_evening(calendar))


def _agenda(
    placed: list[Placed],
    calendar: Calendar,
    batch: Batch,
    places: dict[tuple[str, str], Placed],
    drying: tuple[Drying, ...],
) -> Agenda:
    rules = batch.rules
    sessions = [each for each in calendar.sessions if _within(each, placed)]
    acts = [Act(each.start, each.end, each.step.title, each) for each in placed]
    for each in sessions:
        if rules.setup_min:
            acts.append(Act(each.start, later(each.start, rules.setup_min), f"Load {each.colour}"))
        if rules.cleaning_min:
            acts.append(Act(later(each.end, -rules.cleaning_min), each.end, f"Clean the gun of {each.colour}"))
    acts.sort(key=lambda each: (each.start, each.end))
    minutes = sum(each.step.hands_min for each in placed)
    minutes += len(sessions) * (rules.setup_min + rules.cleaning_min)
    start, end = acts[0].start, max(each.end for each in acts)
    checks: dict[tuple[str, str], dict[str, Placed]] = {}
    for now in placed:
        for wait in now.step.waits:
            before = places[now.step.car, wait.after]
            if before.end <= start and before.step.hold_point:
                checks.setdefault((before.step.hold_point, before.step.title), {})[now.step.car] = before
    followed = {
        (each.step.car, wait.after): each.start <= end
        for each in reversed(calendar.placed)
        for wait in each.step.waits
        if each.step.done_at is None
    }
    held = (each for each in placed if not followed.get((each.step.car, each.step.id), True))
    evening = None if placed[0].evening is None else batch.evenings[placed[0].evening]
    free_from = None
    if evening is not None:
        last = (evening.end.astimezone(UTC) - evening.start.astimezone(UTC)) * (1.0 - rules.slack)
        free_from = (evening.start.astimezone(UTC) + last).astimezone(evening.start.tzinfo)
    return Agenda(
        start,
        end,
        tuple(acts),
        minutes,
        tuple(tuple(alike.values()) for alike in checks.values()),
        tuple(held),
        tuple(each for each in drying if each.placed.end < start < each.until),
        tuple(each for each in drying if each.placed.end <= end < each.until),
        free_from,
    )


def _within(session: Session, placed: list[Placed]) -> bool:
    """Return whether a session sprays one of the steps of an evening."""
    return any(
        each.step.colour == session.colour and session.start <= each.start and each.end <= session.end
        for each in placed
    )


def _drying(calendar: Calendar) -> Iterator[Drying]:
    """Yield each car on the rack: until it is dry, or what waits for it takes it off."""
    for each in calendar.placed:
        if each.step.rack_min:
            taken = [
                other.start
                for other in calendar.placed
                if other.step.car == each.step.car and any(wait.after == each.step.id for wait in other.step.waits)
            ]
            yield Drying(each, min([later(each.end, each.step.rack_min), *taken]))
