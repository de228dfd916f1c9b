"""The batch in whole minutes: tasks, evenings and waits as numbers, and where each task can stand at all.

Minutes count real time from the start of the first evening, so that a change of the clocks needs no thought: an evening
is where the clock on the wall puts it, a wait is as long as it lasts. A *span* is (first, last) minute at which a
task may start, both included. An evening's minutes end early by the share that is kept free.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from carwright.calendar.batch import Batch, Evening, longest_idle
from carwright.finish.steps import RACK, Step

__all__ = ["Frame", "Link", "Span", "Spans", "Task", "framed", "meet", "narrowed"]

Span = tuple[int, int]
Spans = tuple[Span, ...]
Links = tuple["Link", ...]

FOREVER = 1 << 40
"""Later than anything."""


@dataclass(frozen=True, slots=True)
class Link:
    """A wait between two tasks: ``late`` starts in one of ``windows``, counted from the end of ``early``."""

    early: int
    late: int
    windows: Spans


@dataclass(frozen=True, slots=True)
class Task:
    """A step that is still to be done.

    Args:
        step: the step.
        minutes: hands-on minutes.
        colour: which colour is sprayed, by position in the frame's colours, or -1.
        spans: where it may start for all that is known of it alone, in the order of time.
    """

    step: Step
    minutes: int
    colour: int
    spans: Spans


@dataclass(frozen=True, slots=True)
class Frame:
    """The whole batch in minutes.

    Args:
        batch: what it is made from.
        origin: minute 0.
        evenings: (first, end) minute of each stretch of time that can be worked in, in order; end excluded.
        days: day of each evening, on the wall's calendar.
        own: for each of these, the batch's evening by position, or None for an appointment outside.
        tasks: what is still to be done.
        links: waits between tasks.
        held: facility, first and end minute of places that done steps still hold.
        colours: names of the colours.
        idles: for each colour how long a gun may stand loaded with it, minutes; None without an end.
    """

    batch: Batch
    origin: datetime
    evenings: tuple[Span, ...]
    days: tuple[date, ...]
    own: tuple[int | None, ...]
    tasks: tuple[Task, ...]
    links: Links
    held: tuple[tuple[str, int, int], ...]
    colours: tuple[str, ...]
    idles: tuple[int | None, ...]

    def minute(self, at: datetime) -> int:
        """Return the minute of a moment, rounded up."""
        return math.ceil((at.astimezone(UTC) - self.origin) / timedelta(minutes=1))

    def moment(self, minute: int, like: datetime) -> datetime:
        """Return the moment of a minute on the wall's clock where ``like`` is told."""
        return (self.origin + timedelta(minutes=minute)).astimezone(like.tzinfo)

    def evening_of(self, minute: int) -> int:
        """Return which stretch a minute lies in."""
        return next(n for n, (first, end) in enumerate(self.evenings) if first <= minute < end)

    def day_of(self, minute: int) -> date:
        """Return the day of the stretch that a minute lies in."""
        return self.days[self.evening_of(minute)]


def meet(one: Spans, two: Spans) -> Spans:
    """Return what lies in both.

    Example:
        >>> meet(((0, 5), (10, 20)), ((3, 12),))
        ((3, 5), (10, 12))
    """
    found, i, k = [], 0, 0
    while i < len(one) and k < len(two):
        low, high = max(one[i][0], two[k][0]), min(one[i][1], two[k][1])
        if low <= high:
            found.append((low, high))
        if one[i][1] < two[k][1]:
            i += 1
        else:
            k += 1
    return tuple(found)


def _joined(spans: Iterable[Span]) -> Spans:
    found: list[Span] = []
    for low, high in sorted(spans):
        if found and low <= found[-1][1] + 1:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return tuple(found)


def _after(spans: Spans, minutes: int, windows: Spans) -> Spans:
    """Return where the later task may start if the earlier one starts in ``spans``."""
    return _joined((low + minutes + opens, high + minutes + closes) for low, high in spans for opens, closes in windows)


def _before(spans: Spans, minutes: int, windows: Spans) -> Spans:
    """Return where the earlier task may start if the later one starts in ``spans``."""
    return _joined((low - minutes - closes, high - minutes - opens) for low, high in spans for opens, closes in windows)


def narrowed(frame: Frame, spans: Sequence[Spans], until: int = FOREVER) -> tuple[list[Spans], int | None]:
    """Return where each task can start with the waits kept, up to the minute ``until``, and a task that cannot be.

    Exact where no two waits meet in a circle, which is the rule: what is left of a chain is only what can be part of
    a whole one. The second is None where every task has a place.

    Args:
        frame: the batch.
        spans: where each task may start.
        until: tasks that start after this are too late.
    """
    left = [meet(each, ((-FOREVER, until),)) for each in spans]
    empty = next((n for n, each in enumerate(left) if not each), None)
    changed = empty is None
    while changed:
        changed = False
        for links, forward in ((frame.links, True), (frame.links[::-1], False)):
            for link in links:
                minutes = frame.tasks[link.early].minutes
                if forward:
                    at, found = link.late, _after(left[link.early], minutes, link.windows)
                else:
                    at, found = link.early, _before(left[link.late], minutes, link.windows)
                found = meet(left[at], found)
                if found != left[at]:
                    left[at] = found
                    changed = True
                    if not found:
                        return left, at
    return left, empty


def framed(batch: Batch) -> Frame:
    """Return a batch, which ``checked`` has found sound, in minutes."""
    origin = min(each.start for each in batch.evenings).astimezone(UTC)
    rules = batch.rules

    def minute(at: datetime) -> int:
        return math.ceil((at.astimezone(UTC) - origin) / timedelta(minutes=1))

    def worked(evening: Evening) -> Span:
        first, end = minute(evening.start), math.floor((evening.end.astimezone(UTC) - origin) / timedelta(minutes=1))
        return first, first + math.floor((end - first) * (1.0 - rules.slack) + 1e-9)

    stretches: list[tuple[Span, date, int | None]] = [
        (worked(each), each.start.date(), n) for n, each in enumerate(batch.evenings)
    ]
    todo = [step for step in batch.steps if step.done_at is None]
    for step in todo:
        if step.fixed_start is not None:
            ahead, behind = (rules.setup_min, rules.cleaning_min) if step.colour else (0, 0)
            first = minute(step.fixed_start)
            last = first + step.hands_min + behind
            for n, (span, day, own) in enumerate(stretches):
                if own is None or not span[0] <= first < minute(batch.evenings[own].end):
                    continue
                # An appointment may use the time that is kept free for a damp day.
                stretches[n] = ((span[0], max(span[1], last)), day, own)
                break
            else:
                stretches.append(((first - ahead, last), step.fixed_start.date(), None))
    stretches.sort(key=lambda each: each[0])
    evenings = tuple(each[0] for each in stretches)
    colours = tuple(sorted({step.colour for step in todo if step.colour}))
    number = {(step.car, step.id): n for n, step in enumerate(todo)}
    ended = {(step.car, step.id): minute(step.done_at) for step in batch.steps if step.done_at is not None}
    tasks, links = [], []
    for n, step in enumerate(todo):
        ahead, behind = (rules.setup_min, rules.cleaning_min) if step.colour else (0, 0)
        spans: Spans = tuple(
            (first + ahead, end - behind - step.hands_min)
            for (first, end), _, own in stretches
            if end - first >= ahead + step.hands_min + behind and (own is not None or step.fixed_start is not None)
        )
        if step.fixed_start is not None:
            spans = ((minute(step.fixed_start), minute(step.fixed_start)),)
        for wait in step.waits:
            windows = _joined(
                (each.opens_min, FOREVER if each.closes_min is None else each.closes_min) for each in wait.windows
            )
            if (step.car, wait.after) in ended:
                spans = meet(spans, _after(((ended[step.car, wait.after],) * 2,), 0, windows))
            else:
                links.append(Link(number[step.car, wait.after], n, windows))
        tasks.append(Task(step, step.hands_min, colours.index(step.colour) if step.colour else -1, spans))
    held = []
    for step in batch.steps:
        if step.done_at is not None:
            end = minute(step.done_at)
            taken_off = [
                minute(other.done_at) - other.hands_min
                for other in batch.steps
                if other.done_at is not None
                and other.car == step.car
                and any(wait.after == step.id for wait in other.waits)
            ]
            dry = min([end + step.rack_min, *taken_off])
            if dry > end:
                held.append((RACK, end, dry))
            held += [(use.facility, end, end + use.stays_min) for use in step.facilities if use.stays_min]
    return Frame(
        batch,
        origin,
        evenings,
        tuple(each[1] for each in stretches),
        tuple(each[2] for each in stretches),
        tuple(tasks),
        tuple(_in_order(links, len(tasks))),
        tuple(held),
        colours,
        tuple(longest_idle(batch, colour) for colour in colours),
    )


def _in_order(links: list[Link], many: int) -> list[Link]:
    """Return the waits so that those into a task come before those out of it."""
    rank = [0] * many
    for _ in range(many):
        changed = False
        for link in links:
            if rank[link.late] <= rank[link.early]:
                rank[link.late] = rank[link.early] + 1
                changed = True
        if not changed:
            break
    return sorted(links, key=lambda link: (rank[link.early], link.early, link.late))
