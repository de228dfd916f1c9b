"""What is done already and what has an appointment: a car, its step and a moment, put onto the steps of a batch."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Literal

from carwright.findings import Finding
from carwright.finish.steps import Step
from carwright.problems import InputError, Problem

__all__ = ["Said", "marked", "step_named"]


@dataclass(frozen=True, slots=True)
class Said:
    """One line of what somebody wrote down.

    Args:
        car: the car's name.
        step: name of the step, its title, or what is done where the car has that once ("prime").
        when: when the step ended, or when it is to start.
        kind: which of the two.
        key: where it stands.
        file: in which file.
    """

    car: str
    step: str
    when: datetime
    kind: Literal["done", "appointment"]
    key: str = ""
    file: str = ""


def marked(
    steps: Sequence[Step], said: Sequence[Said], zone: tzinfo, now: datetime | None = None
) -> tuple[tuple[Step, ...], tuple[Finding, ...]]:
    """Return the steps with what is done and what has an appointment, and what is to be said about it.

    What a done step waited for is taken as done in time for it. A step that was done outside its windows is told.

    Args:
        steps: of every car.
        said: what was written down; moments without a zone are told on the wall's clock in ``zone``.
        zone: the time zone of the evenings.
        now: nothing can have been done later; None where that is not known.

    Raises:
        InputError: a car or step that is not there, one that is named twice, something done after ``now``,
            an appointment before it.
    """
    problems: list[Problem] = []
    found = {(each.car, each.id): each for each in steps}
    named: set[tuple[str, str]] = set()
    for each in said:
        when = _told(each.when, zone)
        key = _found(each, steps, problems)
        if key is None:
            continue
        if key in named:
            problems.append(Problem("this step is named twice", each.step, key=each.key, file=each.file))
        elif each.kind == "done" and now is not None and when > now:
            mend = "Plan from a later day, or correct the moment."
            problem = f"{each.car}: {each.step} cannot be done before it is time"
            problems.append(
                Problem(problem, f"{when:%Y-%m-%d %H:%M}", f"up to {now:%Y-%m-%d %H:%M}", mend, each.key, each.file)
            )
        named.add(key)
        if each.kind == "done":
            found[key] = replace(found[key], done_at=when, fixed_start=None)
        else:
            found[key] = replace(found[key], fixed_start=when)
    for step in found.values():
        at = step.fixed_start
        if at is not None and step.done_at is None and now is not None and _told(at, zone) < now:
            mend = "Say that it is done, or give it another moment."
            problem = f"{step.car}: {step.title} has an appointment that is past"
            problems.append(Problem(problem, f"{at:%Y-%m-%d %H:%M}", f"from {now:%Y-%m-%d %H:%M} on", mend))
    if problems:
        raise InputError(problems)
    taken = list(_filled(found))
    return tuple(found[each.car, each.id] for each in steps), (*taken, *_outside(found))


def _told(moment: datetime, zone: tzinfo) -> datetime:
    """Return a moment with its zone."""
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=zone)


def step_named(text: str, steps: Sequence[Step], *, key: str) -> tuple[str, str]:
    """Return the step of a text as "Boxcar: First coat", or its name or title alone where only one car has that.

    Args:
        text: car, colon, and the step's name, title or act.
        steps: of every car.
        key: option or key where the text stands, for the problem.

    Raises:
        InputError: there is no such step, or several cars have one.
    """
    problems: list[Problem] = []
    for at in (n for n, sign in enumerate(text) if sign in ":/"):
        tried: list[Problem] = []
        said = Said(text[:at], text[at + 1 :], datetime.min, "done", key)
        found = _found(said, steps, tried)
        if found is not None:
            return found
        problems = problems or tried
    every = [_found(Said(car, text, datetime.min, "done"), steps, []) for car in dict.fromkeys(e.car for e in steps)]
    fits = [each for each in every if each is not None]
    if len(fits) == 1:
        return fits[0]
    if fits:
        accepted = ", ".join(f"{car}: {step}" for car, step in fits)
        raise InputError(Problem("several cars have such a step", text, accepted, key=key))
    mend = "Give the car and the step, as: Boxcar: first coat"
    raise InputError(
        problems
        or Problem(
            "there is no such step",
            text,
            ", ".join(f"{each.car}: {each.id}" for each in steps[:3]) + " ...",
            mend,
            key=key,
        )
    )


def _found(said: Said, steps: Sequence[Step], problems: list[Problem]) -> tuple[str, str] | None:
    """Return which step is meant, or None with a problem noted."""

    def told(text: str) -> str:
        return " ".join(text.replace("_", " ").casefold().split())

    cars = {told(each.car): each.car for each in steps}
    car = cars.get(told(said.car))
    if car is None:
        near = difflib.get_close_matches(told(said.car), cars, n=1)
        mend = f"Did you mean {cars[near[0]]}?" if near else ""
        problems.append(
            Problem("there is no such car", said.car, ", ".join(cars.values()), mend, f"{said.key}.car", said.file)
        )
        return None
    own = [each for each in steps if each.car == car]
    wanted = told(said.step)
    for name in ("id", "title", "act"):
        fits = [each for each in own if told(getattr(each, name)) == wanted]
        if len(fits) == 1:
            return car, fits[0].id
    words = {told(each.id): each.id for each in own} | {told(each.title): each.id for each in own}
    near = difflib.get_close_matches(wanted, words, n=1)
    mend = f"Did you mean {words[near[0]]}?" if near else ""
    accepted = ", ".join(each.id for each in own)
    problems.append(Problem(f"{car} has no such step", said.step, accepted, mend, f"{said.key}.step", said.file))
    return None


def _filled(found: dict[tuple[str, str], Step]) -> Iterator[Finding]:
    """Put an end to every step that a done one waited for, and yield what was so taken as done."""
    left = [each for each in found.values() if each.done_at is not None]
    while left:
        step = left.pop()
        if step.done_at is None:
            continue
        begun = step.done_at - timedelta(minutes=step.hands_min)
        for wait in step.waits:
            before = found.get((step.car, wait.after))
            if before is not None and before.done_at is None:
                opens = min((each.opens_min for each in wait.windows), default=0)
                done = replace(before, done_at=begun - timedelta(minutes=opens), fixed_start=None)
                found[step.car, wait.after] = done
                left.append(done)
                because = f"{step.car}: {before.title} is taken as done, because {step.title} is."
                yield Finding("taken_as_done", "ok", because, unit="")


def _outside(found: dict[tuple[str, str], Step]) -> Iterator[Finding]:
    """Yield a finding for every step that was done in none of its windows."""
    for step in found.values():
        for wait in step.waits:
            before = found.get((step.car, wait.after))
            if step.done_at is None or before is None or before.done_at is None:
                continue
            waited = (step.done_at.astimezone(UTC) - before.done_at.astimezone(UTC)) / timedelta(minutes=1)
            waited -= step.hands_min
            if not any(
                each.opens_min <= waited and (each.closes_min is None or waited <= each.closes_min)
                for each in wait.windows
            ):
                because = (
                    f"{step.car}: {step.title} was done {waited / 60:.1f} h after {before.title}, "
                    "outside every window of its wait."
                )
                mend = "Look at it in raking light, and let it cure, before you go on."
                yield Finding("outside_window", "watch", because, mend=mend, unit="")
