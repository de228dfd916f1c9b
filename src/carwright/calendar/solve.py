"""Putting a batch on evenings: the last day, then colour changes, then evenings used, each proven or with its bound.

Work is counted, not timed. A deadline is tried from below: the waits narrow each task to where it can stand, and a
model with so early an end is either filled, which proves the day, or shown to be empty, which raises the bound.
Where that takes too long the search goes down from the best calendar that is there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any, Final

from carwright.calendar.batch import Batch, Calendar, Placed, Session, Stage
from carwright.calendar.frame import FOREVER, Frame, Spans, framed, narrowed
from carwright.calendar.greedy import drawn_starts, earliest_starts
from carwright.calendar.model import Model
from carwright.calendar.sound import checked, clock_findings, why_not

__all__ = ["earliest_calendar", "make_calendar"]

Starts = tuple[int, ...]

_ROUNDS: Final = 5
"""Calendars that are drawn for one unit of work."""

_TURNS: Final = 12
"""How often cars are put anew without an earlier end before it is left."""


def make_calendar(batch: Batch, *, work: float = 8.0, before: Mapping[tuple[str, str], date] | None = None) -> Calendar:
    """Return when each step of a batch happens.

    Args:
        batch: steps, free evenings and facilities; ``done_at`` of a step says that it is done.
        work: units of work, > 0; one is about a second.
        before: day of each step, by car and step, in a calendar that was made before, of which as little as possible is
            to move: the sum of hands-on minutes that change their day is then made least, after the last day and before
            everything else.

    Raises:
        InputError: a step or an evening that cannot be used; every slip at once.
    """
    checked(batch)
    frame = framed(batch)
    spans, empty = narrowed(frame, [task.spans for task in frame.tasks])
    if empty is not None:
        return _nothing(batch, why_not(frame, empty))
    if not frame.tasks:
        return _made(frame, (), Stage(0, 0), Stage(0, 0), Stage(0, 0), None)
    days = sorted(set(frame.days))
    order = {n: days.index(day) for n, day in enumerate(frame.days)}
    starts, last = _last_day(frame, order, work=work * 0.6)
    if starts is None:
        return _nothing(batch, why_not(frame, None), proven=last.bound < 0)
    ends = max(end for (_, end), day in zip(frame.evenings, frame.days, strict=True) if days.index(day) <= last.value)
    spans, _ = narrowed(frame, [task.spans for task in frame.tasks], ends)
    model = Model(frame, spans)
    moved = None
    if before is not None:
        at = _moved(frame, starts, before)
        starts, moved = _less(model, starts, _moves(model, before), at, work=work * 0.4)
    at = len(_sessions(frame, starts))
    starts, changes = _less(model, starts, sum(model.loaded.values()), at, work=work * 0.25)
    at = len({frame.evening_of(each) for each in starts})
    starts, used = _less(model, starts, sum(model.used.values()), at, work=work * 0.15)
    return _made(frame, _tidied(frame, starts, work=work * 0.1), last, changes, used, moved)


def earliest_calendar(batch: Batch) -> Calendar | None:
    """Return the calendar of always doing next what can be done first; None where that ends before a closed window."""
    checked(batch)
    frame = framed(batch)
    starts = earliest_starts(frame)
    if starts is None:
        return None
    sessions, evenings = len(_sessions(frame, starts)), len({frame.evening_of(each) for each in starts})
    return _made(frame, starts, Stage(0, -1), Stage(sessions, 0), Stage(evenings, 0), None)


def _last_day(frame: Frame, order: Mapping[int, int], *, work: float) -> tuple[Starts | None, Stage]:
    """Return starts with the earliest last day found, that day's number in a row, and the bound; -1: there is none."""
    free = [task.spans for task in frame.tasks]
    ends: dict[int, int] = {}
    for (_, end), day in zip(frame.evenings, order.values(), strict=True):
        ends[day] = max(ends.get(day, 0), end)
    known = earliest_starts(frame)
    left = work
    if known is None:
        spans, _ = narrowed(frame, free)
        found = Model(frame, spans).search(None, work=work * 0.4, hint=None)
        left -= found.work
        if found.starts is None:
            return None, Stage(0, -1 if found.outcome == "none" else 0)
        known = found.starts
    drawn = drawn_starts(frame, rounds=max(1, round(work * _ROUNDS)))
    if drawn is not None and _value(frame, order, drawn) < _value(frame, order, known):
        known = drawn
    value = _value(frame, order, known)
    bound = min(order.values())
    for day in range(bound, value):
        bound = day
        spans, empty = narrowed(frame, free, ends[day])
        if empty is not None or _too_much(frame, spans):
            continue
        found = Model(frame, spans).search(None, work=min(0.15 * work, left), hint=known)
        left -= found.work
        if found.starts is not None:
            return found.starts, Stage(day, day)
        if found.outcome == "open":
            break
    else:
        return known, Stage(value, value)
    known, left = _nearer(frame, order, ends, known, bound, work=left)
    value = _value(frame, order, known)
    while bound < value and left > 0:
        spans, _ = narrowed(frame, free, ends[bound])
        found = Model(frame, spans).search(None, work=left, hint=known)
        left -= found.work
        if found.starts is not None:
            return found.starts, Stage(bound, bound)
        if found.outcome != "none":
            break
        bound += 1
    return known, Stage(value, min(bound, value))


def _value(frame: Frame, order: Mapping[int, int], starts: Starts) -> int:
    return max(order[frame.evening_of(each)] for each in starts)


def _nearer(
    frame: Frame, order: Mapping[int, int], ends: Mapping[int, int], starts: Starts, bound: int, *, work: float
) -> tuple[Starts, float]:
    """Return a calendar that ends earlier where one is found, and the work that is left.

    The cars that are finished last, and one or two others in turn, are put anew with the last day cut off, while the
    rest stays where it is.
    """
    cars = list(dict.fromkeys(task.step.car for task in frame.tasks))
    left, tried = work, 0
    while left > 0.4 * work and _value(frame, order, starts) > bound and tried < _TURNS:
        value = _value(frame, order, starts)
        late = {
            task.step.car
            for start, task in zip(starts, frame.tasks, strict=True)
            if order[frame.evening_of(start)] == value
        }
        others = [car for car in cars if car not in late]
        more = max(0, 3 - len(late)) + (tried >= len(cars))
        moving = late | {others[(tried * 2 + n) % len(others)] for n in range(min(more, len(others)))}
        spans: list[Spans] = [
            task.spans if task.step.car in moving else ((start, start),)
            for start, task in zip(starts, frame.tasks, strict=True)
        ]
        tried += 1
        spans, empty = narrowed(frame, spans, ends[value - 1])
        if empty is not None:
            continue
        found = Model(frame, spans).search(None, work=0.08 * work, hint=starts)
        left -= found.work
        if found.starts is not None:
            starts, tried = found.starts, 0
    return starts, left


def _too_much(frame: Frame, spans: Sequence[Spans]) -> bool:
    """Whether the tasks that can only be in some stretch of evenings have more minutes than it has."""
    rules = frame.batch.rules
    reach = [(frame.evening_of(each[0][0]), frame.evening_of(each[-1][1])) for each in spans]
    room = [rules.hands * (end - first) for first, end in frame.evenings]
    for first in sorted({each[0] for each in reach}):
        need, colours, free = 0, set(), 0
        inside = sorted((last, n) for n, (low, last) in enumerate(reach) if low >= first)
        reached = first
        for last, n in inside:
            need += frame.tasks[n].minutes
            colours.add(frame.tasks[n].colour)
            while reached <= last:
                free += room[reached]
                reached += 1
            if need + len(colours - {-1}) * (rules.setup_min + rules.cleaning_min) > free:
                return True
    return False


def _less(model: Model, starts: Starts, aim: Any, value: int, *, work: float) -> tuple[Starts, Stage]:
    """Return a calendar with less of ``aim``, which is ``value`` so far, and hold the model to what was reached."""
    if isinstance(aim, int):
        return starts, Stage(aim, aim)
    found = model.search(aim, work=work, hint=starts)
    bound = max(0, found.bound)
    if found.starts is not None and found.value <= value:
        starts, value = found.starts, found.value
        bound = value if found.outcome == "best" else bound
    model.model.add(aim <= value)
    return starts, Stage(value, min(bound, value))


def _moved(frame: Frame, starts: Starts, before: Mapping[tuple[str, str], date]) -> int:
    """Return the hands-on minutes that are not on the day on which they were before."""
    return sum(
        task.minutes
        for start, task in zip(starts, frame.tasks, strict=True)
        if before.get((task.step.car, task.step.id), frame.day_of(start)) != frame.day_of(start)
    )


def _moves(model: Model, before: Mapping[tuple[str, str], date]) -> Any:
    """Return what ``_moved`` counts as an expression of the model."""
    terms = []
    for n, task in enumerate(model.frame.tasks):
        day = before.get((task.step.car, task.step.id))
        if day is not None:
            same = [on for evening, on in model.on[n].items() if model.frame.days[evening] == day]
            terms.append(task.minutes * (1 - sum(same)))
    return sum(terms)


def _tidied(frame: Frame, starts: Starts, *, work: float) -> Starts:
    """Return the same evenings with everything on them as early as it can be."""
    spans = []
    for start, task in zip(starts, frame.tasks, strict=True):
        first, end = frame.evenings[frame.evening_of(start)]
        spans.append(
            tuple((max(low, first), min(high, end)) for low, high in task.spans if low < end and high >= first)
        )
    left, empty = narrowed(frame, spans)
    if empty is not None:
        return starts
    model = Model(frame, left)
    found = model.search(sum(model.starts) - sum(each[0][0] for each in left), work=work, hint=starts)
    return found.starts or starts


def _sessions(frame: Frame, starts: Starts) -> list[tuple[int, int, int]]:
    """Return (first minute, end, colour) of every spray session, set-up and cleaning within it."""
    rules = frame.batch.rules
    by: dict[tuple[int, int], list[int]] = {}
    for n, start in enumerate(starts):
        if frame.tasks[n].colour >= 0:
            by.setdefault((frame.tasks[n].colour, frame.evening_of(start)), []).append(n)
    found = []
    for (colour, _), tasks in by.items():
        first = min(starts[n] for n in tasks) - rules.setup_min
        end = max(starts[n] + frame.tasks[n].minutes for n in tasks) + rules.cleaning_min
        found.append((first, end, colour))
    return sorted(found)


def _made(frame: Frame, starts: Starts, last: Stage, changes: Stage, used: Stage, moved: Stage | None) -> Calendar:
    like = frame.batch.evenings[0].start
    days = sorted(set(frame.days))
    placed = []
    ends: dict[tuple[str, str], datetime] = {}
    for step in frame.batch.steps:
        if step.done_at is not None:
            ends[step.car, step.id] = step.done_at
    for start, task in zip(starts, frame.tasks, strict=True):
        ends[task.step.car, task.step.id] = frame.moment(start + task.minutes, like)
    at = {(task.step.car, task.step.id): start for start, task in zip(starts, frame.tasks, strict=True)}
    for step in frame.batch.steps:
        key = (step.car, step.id)
        end = ends[key]
        if step.done_at is not None:
            placed.append(Placed(step, end - timedelta(minutes=step.hands_min), end, None))
            continue
        begin = frame.moment(at[key], like)
        windows = []
        for wait in step.waits:
            waited = frame.minute(begin) - frame.minute(ends[step.car, wait.after])
            windows.append(
                next(
                    n
                    for n, each in enumerate(wait.windows)
                    if each.opens_min <= waited <= (FOREVER if each.closes_min is None else each.closes_min)
                )
            )
        placed.append(Placed(step, begin, end, frame.own[frame.evening_of(at[key])], tuple(windows)))
    placed.sort(key=lambda each: (each.start, each.step.car, each.step.id))
    sessions = tuple(
        Session(frame.colours[colour], frame.moment(first, like), frame.moment(end, like))
        for first, end, colour in _sessions(frame, starts)
    )
    last_day = max((each.start.date() for each in placed), default=None)
    bound = min(last_day, days[last.bound]) if starts and last_day is not None and last.bound >= 0 else last_day
    made = Calendar(
        "optimal" if last.proven else "feasible", last_day, bound, changes, used, moved, tuple(placed), sessions
    )
    return replace(made, findings=clock_findings(made))


def _nothing(batch: Batch, findings: Any, *, proven: bool = True) -> Calendar:
    return Calendar("infeasible", None, None, Stage(0, 0), Stage(0, 0), None, (), (), tuple(findings))
