"""A batch to be put on evenings, and the calendar that comes of it: the records, without how it is found."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Literal

from carwright.findings import Finding
from carwright.finish.steps import Step

__all__ = ["Batch", "Calendar", "Evening", "Placed", "Rules", "Session", "Stage", "Status", "later", "longest_idle"]

Status = Literal["optimal", "feasible", "infeasible", "unknown"]
"""``optimal``: proven; ``feasible``: every rule is kept, the bound stands beside it; ``infeasible``: there is none;
``unknown``: none was found, and none is ruled out."""


@dataclass(frozen=True, slots=True)
class Evening:
    """A stretch of free time, from ``start`` up to ``end``, both with their time zone."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Rules:
    """What there is to work with.

    Args:
        hands: pairs of hands, >= 1.
        booth: how many can spray at once, >= 1.
        rack: places on the drying rack, >= 0; None where there is no end of them.
        jigs: name and places (>= 1) of every jig.
        setup_min: minutes to load the gun before a spray session, >= 0.
        cleaning_min: minutes to clean it after, >= 0.
        idle_min: minutes that a loaded gun may stand without spraying, in all of one session, >= 0.
        slack: share of each evening, at its end, that is kept free for a damp day, 0 <= slack < 1.
    """

    hands: int = 1
    booth: int = 1
    rack: int | None = None
    jigs: tuple[tuple[str, int], ...] = ()
    setup_min: int = 10
    cleaning_min: int = 10
    idle_min: int = 45
    slack: float = 0.15


@dataclass(frozen=True, slots=True)
class Batch:
    """Steps of any number of cars, evenings in the order of time, and what there is to work with.

    ``since`` is the moment to plan from, with its time zone; None where that is the start of the first evening.
    """

    steps: tuple[Step, ...]
    evenings: tuple[Evening, ...]
    rules: Rules = field(default_factory=Rules)
    since: datetime | None = None

    @property
    def begins(self) -> datetime:
        """The moment from which on something can be done."""
        return self.evenings[0].start if self.since is None else min(self.since, self.evenings[0].start)


@dataclass(frozen=True, slots=True)
class Placed:
    """A step in its place.

    Args:
        step: the step.
        start: when hands begin.
        end: when they end.
        evening: which of the batch's evenings, by position; None for what is done or happens by appointment outside.
        windows: for each wait of the step which of its windows is used, by position.
    """

    step: Step
    start: datetime
    end: datetime
    evening: int | None
    windows: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Session:
    """The gun loaded with one colour, set-up and cleaning within ``start`` to ``end``."""

    colour: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Stage:
    """One aim of the calendar: what was reached, and what cannot be gone below."""

    value: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether nothing better exists."""
        return self.value <= self.bound


@dataclass(frozen=True, slots=True)
class Calendar:
    """When each step happens.

    Args:
        status: of the last day; see ``Status``.
        last_day: day of the last step; None where nothing could be placed.
        bound: no calendar ends on an earlier day; None likewise.
        colour_changes: how often the gun is loaded, the second aim.
        evenings_used: on how many evenings hands are needed, the third aim.
        moved: for a calendar made again: how much it differs from the one before, else None.
        placed: every step in the order of time, those that are done among them.
        sessions: spray sessions in the order of time.
        findings: what is to be said about it.
    """

    status: Status
    last_day: date | None
    bound: date | None
    colour_changes: Stage
    evenings_used: Stage
    moved: Stage | None
    placed: tuple[Placed, ...]
    sessions: tuple[Session, ...]
    findings: tuple[Finding, ...] = ()


def later(moment: datetime, minutes: int) -> datetime:
    """Return a moment so many minutes of real time later, on the same clock."""
    return (moment.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(moment.tzinfo)


def longest_idle(batch: Batch, colour: str) -> int | None:
    """Return for how many minutes a gun loaded with a colour may stand in one session, None without an end.

    As the rules say; but no shorter than coats of the colour have to wait for each other where that wait closes again,
    and without an end where two of its coats have appointments.
    """
    mine = [step for step in batch.steps if step.colour == colour and step.done_at is None]
    if sum(step.fixed_start is not None for step in mine) > 1:
        return None
    ids = {(step.car, step.id) for step in mine}
    closing = [
        window.opens_min
        for step in mine
        for wait in step.waits
        if (step.car, wait.after) in ids
        for window in wait.windows
        if window.closes_min is not None
    ]
    return max([batch.rules.idle_min, *closing])
