"""Calendars as lines on a terminal and as JSON, and the JSON read back."""

from __future__ import annotations

import json
import shlex
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from carwright.book.routesheets import caution_words
from carwright.calendar.agenda import Agenda, agendas
from carwright.calendar.batch import Batch, Calendar, Placed, Stage
from carwright.calendar.because import Because
from carwright.calendar.edges import Edges, edges_of, late_words, moment_words, wait_words
from carwright.calendar.shop import Shop, ShopAnswer
from carwright.cli.page import plain, wrapped
from carwright.finish.steps import HANDS
from carwright.problems import InputError, Problem

__all__ = [
    "Before",
    "Look",
    "because_json",
    "because_lines",
    "calendar_json",
    "calendar_lines",
    "days_before",
    "shop_lines",
]

Before = Mapping[tuple[str, str], date]
"""Day of each step, by car and step, in a calendar that was made before."""

_MOST_MOVED: Final = 12
"""So many acts that moved are told one by one."""


@dataclass(frozen=True, slots=True)
class Look:
    """How many findings of a car's finish are to be looked at.

    Args:
        car: its name.
        file: the car file.
        watch: findings to watch.
        unknown: findings for which something is not known.
    """

    car: str
    file: str
    watch: int
    unknown: int


@dataclass(frozen=True, slots=True)
class _Move:
    """A step that is on another day than in the calendar made before."""

    placed: Placed
    day: date


def _moves(made: Calendar, before: Before) -> list[_Move]:
    """Return every step that moved, in the order of the days on which they were."""
    found = [
        _Move(each, day)
        for each in made.placed
        if each.step.done_at is None
        and (day := before.get((each.step.car, each.step.id))) is not None
        and day != each.start.date()
    ]
    return sorted(found, key=lambda each: (each.day, each.placed.start))


def calendar_json(made: Calendar, looks: Sequence[Look] = (), before: Before | None = None) -> dict[str, Any]:
    """Return a calendar as plain JSON values; moments in ISO 8601 with their offset from UTC.

    Args:
        made: the calendar.
        looks: of each car whose finish has something to watch or unknown.
        before: day of each step, by car and step, in the calendar made before.
    """
    titles = {(each.step.car, each.step.id): each.step.title for each in made.placed}
    edges = edges_of(made)
    return {
        "status": made.status,
        "last_day": None if made.last_day is None else made.last_day.isoformat(),
        "bound": None if made.bound is None else made.bound.isoformat(),
        "colour_changes": made.colour_changes.value,
        "colour_changes_bound": made.colour_changes.bound,
        "evenings_used": made.evenings_used.value,
        "evenings_used_bound": made.evenings_used.bound,
        "moved_min": None if made.moved is None else made.moved.value,
        "moved": [
            {
                "car": each.placed.step.car,
                "step": each.placed.step.id,
                "title": each.placed.step.title,
                "from": each.day.isoformat(),
                "to": each.placed.start.date().isoformat(),
            }
            for each in _moves(made, before or {})
        ],
        "last_day_before": max(before.values()).isoformat() if before else None,
        "steps": [_step_json(each, titles, edges.get((each.step.car, each.step.id), Edges())) for each in made.placed],
        "sessions": [
            {"colour": each.colour, "start": each.start.isoformat(), "end": each.end.isoformat()}
            for each in made.sessions
        ],
        "findings": [
            {"check": each.check, "verdict": each.verdict, "because": each.because, "mend": each.mend}
            for each in made.findings
        ],
        "finish": [{"car": each.car, "watch": each.watch, "unknown": each.unknown} for each in looks],
    }


def _step_json(placed: Placed, titles: Mapping[tuple[str, str], str], edges: Edges) -> dict[str, Any]:
    step = placed.step
    waits = (wait_words(each, titles[step.car, each.after]) for each in step.waits)
    return {
        "car": step.car,
        "step": step.id,
        "act": step.act,
        "title": step.title,
        "facility": step.facilities[0].facility if step.facilities else HANDS,
        "colour": step.colour or None,
        "start": placed.start.isoformat(),
        "end": placed.end.isoformat(),
        "minutes": step.hands_min,
        "window": "; ".join(filter(None, waits)),
        "not_before": _iso(edges.opens),
        "not_after": _iso(edges.closes),
        "again_from": _iso(edges.again),
        "done": step.done_at is not None,
        "hold_point": step.hold_point,
    }


def _iso(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat()


def calendar_lines(
    made: Calendar, batch: Batch, looks: Sequence[Look] = (), before: Before | None = None
) -> Iterator[str]:
    """Yield the page: the answer, then a sheet for each evening with its acts and checks.

    Args:
        made: the calendar.
        batch: what it was made for.
        looks: of each car whose finish has something to watch or unknown.
        before: day of each step, by car and step, in the calendar made before.
    """
    for finding in made.findings:
        yield from wrapped(f"{finding.verdict}: {finding.because} {finding.mend}".rstrip())
    for look in looks:
        count = ", ".join(f"{n} {word}" for n, word in ((look.watch, "to watch"), (look.unknown, "unknown")) if n)
        yield from wrapped(f"{look.car}: {count}; carwright finish {shlex.quote(look.file)} tells them")
    if made.last_day is None:
        return
    tail = "proven the earliest" if made.status == "optimal" else f"the best found; none ends before {made.bound}"
    yield f"The last car is finished on {made.last_day}, {tail}"
    yield f"Colours loaded {_stage(made.colour_changes)}; evenings used {_stage(made.evenings_used)}"
    if made.moved is not None:
        yield from _moved_lines(made, made.moved.value, made.last_day, before or {})
    yield from _finished(made)
    edges = edges_of(made)
    for each in agendas(made, batch):
        yield from _evening_lines(each, edges)
    caution = caution_words(each.step for each in made.placed if each.step.done_at is None)
    if caution:
        yield ""
        yield from wrapped(f"Caution: {caution} Labels and safety sheets come before this page.")


def _moved_lines(made: Calendar, minutes: int, last: date, before: Before) -> Iterator[str]:
    """Yield where the last day moved, and which acts, each from its day to its day."""
    if before:
        was = max(before.values())
        where = "stays on" if was == last else f"moved from {was:%a} {was} to"
        yield f"The last day {where} {last:%a} {last}"
    yield f"Moved to another evening: {minutes} minutes of work"
    moves = _moves(made, before)
    for each in moves[:_MOST_MOVED]:
        step, start = each.placed.step, each.placed.start
        yield from wrapped(
            f"{step.car}: {step.title}, from {each.day:%a} {each.day} to {start:%a %Y-%m-%d}", first="  ", rest="      "
        )
    if len(moves) > _MOST_MOVED:
        yield f"  and {len(moves) - _MOST_MOVED} more"


def because_lines(told: Because) -> Iterator[str]:
    """Yield why a step starts when it does."""
    step, start = told.placed.step, told.placed.start
    yield from wrapped(f"{step.car}: {step.title}")
    yield f"  {start:%A %Y-%m-%d}, {start:%H:%M} to {told.placed.end:%H:%M}"
    for head, lines in (
        ("What it waits for", told.waits),
        ("Why not earlier, with everything else where it is", told.between),
        ("By when", (told.late,) if told.late else ()),
    ):
        if lines:
            yield ""
            yield head
        for line in lines:
            yield from wrapped(line, first="  ")


def because_json(told: Because) -> dict[str, Any]:
    """Return the same as plain JSON values."""
    step = told.placed.step
    return {
        "car": step.car,
        "step": step.id,
        "title": step.title,
        "start": told.placed.start.isoformat(),
        "end": told.placed.end.isoformat(),
        "waits": list(told.waits),
        "not_earlier": list(told.between),
        "late": told.late,
    }


def _stage(stage: Stage) -> str:
    times = f"{stage.value}"
    return times if stage.proven else f"{times} (at least {stage.bound})"


def _finished(made: Calendar) -> Iterator[str]:
    """Yield on which day each car is finished."""
    last: dict[str, datetime] = {}
    for each in made.placed:
        last[each.step.car] = max(last.get(each.step.car, each.end), each.end)
    yield ""
    yield "Finished"
    for car, end in sorted(last.items(), key=lambda each: (each[1], each[0])):
        yield from wrapped(plain(car), first=f"  {end:%a %Y-%m-%d}  ")


def _evening_lines(evening: Agenda, edges: Mapping[tuple[str, str], Edges]) -> Iterator[str]:
    acts = sum(each.placed is not None for each in evening.acts)
    yield ""
    yield f"{evening.start:%A %Y-%m-%d}: {evening.minutes} minutes at work, {acts} act{'s' * (acts != 1)}"
    behind = " " * 15
    for alike in evening.checks:
        step = alike[0].step
        cars = ", ".join(each.step.car for each in alike)
        yield from wrapped(f"check first: {step.hold_point} (after {step.title}): {cars}", first="  [ ]          ")
    for act in evening.acts:
        lead = f"  {act.start:%H:%M}-{act.end:%H:%M}  "
        if act.placed is None:
            yield from wrapped(act.words.lower(), first=lead)
            continue
        step = act.placed.step
        yield from wrapped(f"{step.car}: {act.words}", first=lead)
        own = edges[step.car, step.id]
        early = "" if own.opens is None else f"not before {moment_words(own.opens, act.start)}"
        late = late_words(own, act.start)
        if early or late:
            yield from wrapped("; ".join(filter(None, (early, late))), first=behind)
        if step.hold_point and act.placed not in evening.later:
            yield from wrapped(f"check: {step.hold_point}", first=behind)
    if evening.left:
        cars = ", ".join(f"{e.placed.step.car} until {moment_words(e.until, evening.end)}" for e in evening.left)
        yield from wrapped(f"on the drying rack when you leave: {cars}", first=behind)


def days_before(data: bytes, *, file: str) -> Before:
    """Return the day of each step, by car and step, from the JSON of a calendar that was made before.

    Raises:
        InputError: it is no such JSON.
    """
    try:
        found = json.loads(data.decode("utf-8-sig"))
        return {(each["car"], each["step"]): datetime.fromisoformat(each["start"]).date() for each in found["steps"]}
    except (ValueError, KeyError, TypeError, RecursionError):
        mend = "Write one with: carwright calendar ... --json --out FILE"
        raise InputError(Problem("this is no calendar made before", mend=mend, file=file)) from None


def shop_lines(shop: Shop, answer: ShopAnswer) -> Iterator[str]:
    """Yield the page of a bare problem: how long it takes, then each job's steps with start, end and facility."""
    if answer.status == "optimal":
        yield f"{answer.makespan} minutes, proven the shortest"
    else:
        yield f"{answer.makespan} minutes, the best found; none is shorter than {answer.bound}"
    for n, (job, starts) in enumerate(zip(shop.jobs, answer.starts, strict=True), 1):
        yield ""
        yield f"job {n}"
        for k, (step, start) in enumerate(zip(job, starts, strict=True), 1):
            facility = "" if step.facility is None else f"  {shop.facilities[step.facility]}"
            yield f"  step {k:>3}  {start:>7} to {start + step.minutes:>7}{facility}"
