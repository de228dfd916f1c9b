"""Putting a batch on evenings: the last day, then colour changes, then evenings used, each proven or with its bound.

Work is counted, not timed. Each aim is tried from below: what evenings alone rule out raises the bound at little cost;
then the whole model is either filled, which proves the value, or shown to be empty, which raises the bound again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import partial
from typing import Any, Final

from carwright.calendar.batch import Batch, Calendar, Placed, Session, Stage, Status
from carwright.calendar.byevening import ByEvening, Found
from carwright.calendar.frame import FOREVER, Frame, framed, narrowed
from carwright.calendar.greedy import earliest_starts, some_starts
from carwright.calendar.missed import relieved, soonest
from carwright.calendar.model import Model
from carwright.calendar.sound import checked, clock_findings, not_found, why_not
from carwright.findings import Finding

__all__ = ["earliest_calendar", "make_calendar"]

Starts = tuple[int, ...]

_DAY: Final = 0.7
"""Share of the work that the last day has."""

_GLANCE: Final = 0.06
"""Share of the last day's work in which evenings alone may rule out one day."""

_TRY: Final = 0.33
"""Share of the same that two days have by minutes."""

_NEAR: Final = 0.3
"""Share of a search's work that is spent near what evenings alone gave, one evening off and then two."""

_LEAST: Final = 0.1
"""Units of work with which a search is worth beginning."""

_TIDY: Final = 0.15
"""Share of the work that puts everything on its evening as early as can be."""

_BELOW: Final = 0.2
"""Share of an aim's work in which evenings alone raise its bound."""


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
    opened, late, findings = relieved(batch)
    made = _kept(soonest(framed(opened), late), work=work, before=before)
    return replace(made, findings=(*findings, *made.findings))


def _kept(frame: Frame, *, work: float, before: Mapping[tuple[str, str], date] | None) -> Calendar:
    """Return the calendar in which every wait is kept."""
    spans, empty = narrowed(frame, [task.spans for task in frame.tasks])
    if empty is not None:
        return _nothing("infeasible", why_not(frame, empty))
    if not frame.tasks:
        return _made(frame, (), Stage(0, 0), Stage(0, 0), Stage(0, 0), None)
    days = sorted(set(frame.days))
    order = {n: days.index(day) for n, day in enumerate(frame.days)}
    starts, last, left = _last_day(frame, order, work=work * _DAY)
    if starts is None:
        return _nothing("infeasible", why_not(frame, None)) if last.bound < 0 else _nothing("unknown", [not_found()])
    left += work * (1.0 - _DAY - _TIDY)
    ends = max(end for (_, end), day in zip(frame.evenings, frame.days, strict=True) if days.index(day) <= last.value)
    spans, _ = narrowed(frame, [task.spans for task in frame.tasks], ends)
    models = ByEvening(frame, spans), Model(frame, spans)
    moved = None
    if before is not None:
        at = _moved(frame, starts, before)
        starts, moved, rest = _less(models, starts, lambda model: _moves(model, before), at, work=left * 0.4)
        left = left * 0.6 + rest
    at = len(_sessions(frame, starts))
    starts, changes, rest = _less(models, starts, lambda model: sum(model.loaded.values()), at, work=left * 0.6)
    left = left * 0.4 + rest
    at = len({frame.evening_of(each) for each in starts})
    starts, used, _ = _less(models, starts, lambda model: sum(model.used.values()), at, work=left)
    return _made(frame, _tidied(frame, starts, work=work * _TIDY), last, changes, used, moved)


def earliest_calendar(batch: Batch) -> Calendar | None:
    """Return the calendar of always doing next what can be done first; None where that ends before a closed window."""
    checked(batch)
    opened, late, _ = relieved(batch)
    frame = soonest(framed(opened), late)
    starts = earliest_starts(frame)
    if starts is None:
        return None
    sessions, evenings = len(_sessions(frame, starts)), len({frame.evening_of(each) for each in starts})
    return _made(frame, starts, Stage(0, -1), Stage(sessions, 0), Stage(evenings, 0), None)


def _last_day(frame: Frame, order: Mapping[int, int], *, work: float) -> tuple[Starts | None, Stage, float]:
    """Return starts with the earliest last day found, that day's number in a row with its bound, and the work left.

    Evenings alone say which days are too early. From the first that they leave, days are tried by minutes, two at a
    time: that one, and the middle between it and the best that is known. What stays open is then narrowed from both
    ends. The bound is -1 where there is no calendar.
    """
    ends: dict[int, int] = {}
    for (_, end), day in zip(frame.evenings, order.values(), strict=True):
        ends[day] = max(ends.get(day, 0), end)
    known = some_starts(frame)
    value = max(ends) + 1 if known is None else _value(frame, order, known)
    bound = day = min(ends)
    left = work
    while day < value and left > 0.7 * work:
        found = _by_evenings(frame, ends[day], work=_GLANCE * work)
        left -= found.work
        if found.outcome == "best":
            break
        day += 1
        bound = day if found.outcome == "none" else bound
    while day < value and left > _LEAST:
        days = sorted({day, (day + value) // 2})
        some = min(_TRY * work, left)
        tried = _together([partial(_by_minutes, frame, ends[each], work=some) for each in days])
        left -= max(found.work for found in tried)
        day += 1
        for each, found in zip(days, tried, strict=True):
            if found.starts is not None and each < value:
                known, value = found.starts, each
            elif found.outcome == "none":
                bound = max(bound, each + 1)
                day = max(day, bound)
    moved = True
    while bound < value and left > _LEAST and moved:
        below = partial(_by_evenings, frame, ends[bound], work=left)
        above = partial(_by_minutes, frame, ends[value - 1], work=left)
        low, high = _together([below, above])
        left -= max(low.work, high.work)
        moved = low.outcome == "none" or high.outcome != "open"
        bound = value if high.outcome == "none" else bound + (low.outcome == "none")
        if high.starts is not None:
            known, value = high.starts, value - 1
    if known is None:
        return None, Stage(0, -1 if bound == value else 0), left
    return known, Stage(value, min(bound, value)), left


def _together(searches: Sequence[Callable[[], Found]]) -> list[Found]:
    """Return what searches give that run side by side, in their order: none of them hears of another."""
    with ThreadPoolExecutor(len(searches)) as pool:
        return [each.result() for each in [pool.submit(search) for search in searches]]


def _by_evenings(frame: Frame, until: int, *, work: float) -> Found:
    """Return whether evenings alone leave a calendar that has ended at the minute ``until``."""
    spans, empty = narrowed(frame, [task.spans for task in frame.tasks], until)
    if empty is not None:
        return Found("none", None, 0, 0, 0.0)
    return ByEvening(frame, spans).search(None, work=work)


def _by_minutes(frame: Frame, until: int, *, work: float) -> Found:
    """Return a calendar that has ended at the minute ``until``, or that there is none."""
    spans, empty = narrowed(frame, [task.spans for task in frame.tasks], until)
    if empty is not None:
        return Found("none", None, 0, 0, 0.0)
    coarse = ByEvening(frame, spans).search(None, work=work * 0.3)
    if coarse.outcome == "none":
        return coarse
    found = _descended(Model(frame, spans), None, coarse.starts, work=work - coarse.work)
    return replace(found, work=found.work + coarse.work)


def _descended(
    model: Model, aim: Any, around: Starts | None, *, work: float, least: int = 0, most: int | None = None
) -> Found:
    """Return the best calendar found, first near the evenings that evenings alone gave, then anywhere."""
    best: Found | None = None
    left = work
    for reach in (1, 2) if around is not None else ():
        if left <= _LEAST:
            break
        found = model.search(aim, work=min(_NEAR * work, left), least=least, most=most, near=(around or (), reach))
        left -= found.work
        if found.starts is not None:
            best, most = found, found.value - 1
            if aim is None or found.value <= least:
                return replace(found, work=work - left)
    if left > _LEAST:
        found = model.search(aim, work=left, least=least, most=most)
        left -= found.work
        if found.starts is not None or best is None:
            best = found
        elif found.outcome == "none":
            best = replace(best, outcome="best", bound=best.value)
        else:
            best = replace(best, bound=max(least, found.bound))
    return replace(best or Found("open", None, 0, least, 0.0), work=work - left)


def _value(frame: Frame, order: Mapping[int, int], starts: Starts) -> int:
    return max(order[frame.evening_of(each)] for each in starts)


def _less(
    models: tuple[ByEvening, Model], starts: Starts, aim: Callable[[ByEvening], Any], value: int, *, work: float
) -> tuple[Starts, Stage, float]:
    """Return a calendar with less of an aim, which is ``value`` so far, hold both models to it; and the work left."""
    coarse, model = models
    by_evening, by_minute = aim(coarse), aim(model)
    if isinstance(by_minute, int):
        return starts, Stage(value, value), work
    found = coarse.search(by_evening, work=work * _BELOW)
    bound, left = min(value, found.bound), work - found.work
    if bound < value and left > _LEAST:
        most = value - 1
        down, up = _together(
            [
                partial(_descended, model, by_minute, found.starts, work=left, least=bound, most=most),
                partial(model.search, by_minute, work=left, least=bound, most=most, how="core"),
            ]
        )
        left -= max(down.work, up.work)
        for each in (down, up):
            if each.outcome == "none":
                bound = value
            elif each.starts is not None and each.value < value:
                starts, value = each.starts, each.value
        bound = min(value, max(bound, down.bound, up.bound))
    coarse.model.add(by_evening <= value)
    model.model.add(by_minute <= value)
    return starts, Stage(value, bound), left


def _moved(frame: Frame, starts: Starts, before: Mapping[tuple[str, str], date]) -> int:
    """Return the hands-on minutes that are not on the day on which they were before."""
    return sum(
        task.minutes
        for start, task in zip(starts, frame.tasks, strict=True)
        if before.get((task.step.car, task.step.id), frame.day_of(start)) != frame.day_of(start)
    )


def _moves(model: ByEvening, before: Mapping[tuple[str, str], date]) -> Any:
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
    found = model.search(sum(model.starts) - sum(each[0][0] for each in left), work=work, how="linear")
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


def _nothing(status: Status, findings: Sequence[Finding]) -> Calendar:
    return Calendar(status, None, None, Stage(0, 0), Stage(0, 0), None, (), (), tuple(findings))
