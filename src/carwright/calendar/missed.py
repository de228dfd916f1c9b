"""Waits that were missed: the step before is done, and every window has closed by now; the step is done late, and soon.

What is left of such a wait is that its step comes after the other one. All else is planned on, and a finding says what
to look at before the step is done late.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from carwright.calendar.batch import Batch
from carwright.calendar.byevening import split
from carwright.calendar.edges import span_words
from carwright.calendar.frame import Frame, narrowed
from carwright.calendar.greedy import some_starts
from carwright.findings import Finding
from carwright.finish.steps import AT_ONCE_OR_LATER, Step, Wait

__all__ = ["relieved", "soonest"]

_BATH = "Take it out now, and look whether the plastic is soft or crazed before anything else"
_TAPE = "Pull the tape slowly, look for glue, and mask anew"
_ANEW = "Pull the tape now, wait until the coat takes another, and mask anew before it"
_COAT = "The label's window has closed: let it cure, scuff, and test first"
_ELSE = "Look it over before you go on"
_MARK = "or mark when it was really done."
_COATS = ("prime", "coat", "seal", "gloss", "flat", "weather")


def relieved(batch: Batch) -> tuple[Batch, frozenset[tuple[str, str]], tuple[Finding, ...]]:
    """Return a batch with every missed wait open for good, car and name of each late step, and a finding for each.

    Args:
        batch: which ``checked`` has found sound.
    """
    now = batch.begins.astimezone(UTC)
    found = {(each.car, each.id): each for each in batch.steps}
    steps: list[Step] = []
    late: set[tuple[str, str]] = set()
    findings: list[Finding] = []
    anew: set[tuple[str, str]] = set()
    for each in batch.steps:
        step = _taped_anew(each, found, anew)
        due = [] if step.done_at is not None else list(_missed(step, found, now))
        missed = {wait for wait, _, _ in due}
        steps.append(
            replace(
                step,
                waits=tuple(_opened(each) if each in missed else each for each in step.waits),
            )
            if due
            else step
        )
        if due:
            late.add((step.car, step.id))
            anew |= {(step.car, step.id) for each in missed if each.late}
            findings.append(_late(step, *min(due, key=lambda each: each[2]), found))
    return replace(batch, steps=tuple(steps)), frozenset(late), tuple(findings)


def _opened(wait: Wait) -> Wait:
    """Return a missed wait as it is kept: in its windows without the tape, or where there are none at once."""
    if wait.late:
        return replace(wait, windows=wait.late, late=())
    return replace(wait, windows=AT_ONCE_OR_LATER, because="its last window has closed", source="")


def _taped_anew(step: Step, found: dict[tuple[str, str], Step], anew: set[tuple[str, str]]) -> Step:
    """Return a step that pulls tape off without its wait for the first masking, where the tape is set anew before."""
    if step.act != "unmask" or not anew & {(step.car, each.after) for each in step.waits}:
        return step
    waits = tuple(
        replace(each, windows=AT_ONCE_OR_LATER, because="the tape was set anew", source="")
        if found[step.car, each.after].act == "mask"
        else each
        for each in step.waits
    )
    return replace(step, waits=waits)


def _missed(step: Step, found: dict[tuple[str, str], Step], now: datetime) -> Iterator[tuple[Wait, int, datetime]]:
    """Yield each wait of a step that no window keeps from now on, with its last minute and that moment."""
    for wait in step.waits:
        ended = found[step.car, wait.after].done_at
        limits = [each.closes_min for each in wait.windows]
        known = [each for each in limits if each is not None]
        if ended is None or len(known) < len(limits):
            continue
        closes = ended.astimezone(UTC) + timedelta(minutes=max(known))
        if closes < now:
            yield wait, max(known), closes.astimezone(ended.tzinfo)


def _late(step: Step, wait: Wait, minutes: int, due: datetime, found: dict[tuple[str, str], Step]) -> Finding:
    before = found[step.car, wait.after]
    taped = "mask" in (step.act, before.act) or step.act == "unmask"
    act = (
        _ANEW
        if wait.late
        else _BATH
        if step.act == "strip"
        else _TAPE
        if taped
        else _COAT
        if step.act in _COATS
        else _ELSE
    )
    limit = f"{minutes // 60} h" if minutes % 60 == 0 and 60 <= minutes <= 4320 else span_words(minutes)
    because = (
        f"{step.car}: {step.title or step.id} was due by {due:%a %Y-%m-%d %H:%M} "
        f"({limit} after {before.title or before.id})."
    )
    return Finding(f"late_{step.id}", "fail", because, mend=f"{act}; {_MARK}", unit="")


def soonest(frame: Frame, late: frozenset[tuple[str, str]]) -> Frame:
    """Return a batch with each late step held to the first evening on which it can be with all else.

    Args:
        frame: the batch.
        late: car and name of each step that is late.
    """
    for n, task in enumerate(frame.tasks):
        if (task.step.car, task.step.id) not in late:
            continue
        spans, empty = narrowed(frame, [each.spans for each in frame.tasks])
        if empty is not None:
            return frame
        for _, part in sorted(split(frame, spans[n]).items()):
            held = replace(task, spans=part)
            tried = replace(frame, tasks=(*frame.tasks[:n], held, *frame.tasks[n + 1 :]))
            if some_starts(tried) is not None:
                frame = tried
                break
    return frame
