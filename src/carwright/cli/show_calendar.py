"""Calendars as lines on a terminal and as JSON, and the JSON read back."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import Any

from carwright.calendar.batch import Calendar, Placed, Stage
from carwright.calendar.feed import by_evening, window_words
from carwright.calendar.shop import Shop, ShopAnswer
from carwright.finish.steps import HANDS
from carwright.problems import InputError, Problem

__all__ = ["calendar_json", "calendar_lines", "days_before", "shop_lines"]


def calendar_json(made: Calendar) -> dict[str, Any]:
    """Return a calendar as plain JSON values; moments in ISO 8601 with their offset from UTC."""
    return {
        "status": made.status,
        "last_day": None if made.last_day is None else made.last_day.isoformat(),
        "bound": None if made.bound is None else made.bound.isoformat(),
        "colour_changes": made.colour_changes.value,
        "colour_changes_bound": made.colour_changes.bound,
        "evenings_used": made.evenings_used.value,
        "evenings_used_bound": made.evenings_used.bound,
        "moved_min": None if made.moved is None else made.moved.value,
        "steps": [_step_json(each) for each in made.placed],
        "sessions": [
            {"colour": each.colour, "start": each.start.isoformat(), "end": each.end.isoformat()}
            for each in made.sessions
        ],
        "findings": [
            {"check": each.check, "verdict": each.verdict, "because": each.because, "mend": each.mend}
            for each in made.findings
        ],
    }


def _step_json(placed: Placed) -> dict[str, Any]:
    step = placed.step
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
        "window": window_words(placed),
        "done": step.done_at is not None,
        "hold_point": step.hold_point,
    }


def calendar_lines(made: Calendar) -> Iterator[str]:
    """Yield the page: the answer, then a sheet for each evening with its acts and checks."""
    for finding in made.findings:
        yield f"{finding.verdict}: {finding.because} {finding.mend}".rstrip()
    if made.last_day is None:
        return
    tail = "proven the earliest" if made.status == "optimal" else f"the best found; none ends before {made.bound}"
    yield f"The last car is finished on {made.last_day}, {tail}"
    yield f"Colours loaded {_stage(made.colour_changes)}; evenings used {_stage(made.evenings_used)}"
    if made.moved is not None:
        yield f"Moved to another evening: {made.moved.value} minutes of work"
    for acts in by_evening(made):
        minutes = sum(each.step.hands_min for each in acts)
        first = acts[0].start
        yield ""
        yield f"{first:%A} {first:%Y-%m-%d}: {minutes} minutes at work, {len(acts)} act{'s' * (len(acts) != 1)}"
        for each in acts:
            colour = f" [{each.step.colour}]" if each.step.colour else ""
            window = window_words(each)
            yield (
                f"  {each.start:%H:%M}-{each.end:%H:%M}  {each.step.car}: {each.step.title}{colour}"
                + (f"  ({window})" if window else "")
            )
            if each.step.hold_point:
                yield f"               check: {each.step.hold_point}"


def _stage(stage: Stage) -> str:
    times = f"{stage.value}"
    return times if stage.proven else f"{times} (at least {stage.bound})"


def days_before(data: bytes, *, file: str) -> Mapping[tuple[str, str], date]:
    """Return the day of each step, by car and step, from the JSON of a calendar that was made before.

    Raises:
        InputError: it is no such JSON.
    """
    try:
        found = json.loads(data.decode("utf-8-sig"))
        return {(each["car"], each["step"]): datetime.fromisoformat(each["start"]).date() for each in found["steps"]}
    except (ValueError, KeyError, TypeError):
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
