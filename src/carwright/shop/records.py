"""What the shop hands out: plain records, and the words for a car's way through the shop."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from types import MappingProxyType
from typing import Final, Literal, get_args

__all__ = [
    "CHECKLISTS",
    "MEASURED",
    "PHOTOGRAPHED",
    "STAGES",
    "STANDING",
    "CarCard",
    "CarState",
    "Change",
    "ChangeKind",
    "Digest",
    "Job",
    "Lot",
    "Measured",
    "Photo",
    "PhotoKind",
    "PhotoSize",
    "PlanMade",
    "Revision",
    "RevisionHead",
    "RevisionKind",
    "Saved",
    "Stage",
    "Stale",
    "Taken",
    "Tick",
    "joined_note",
    "next_open",
]

Stage = Literal["lot", "survey", "plan", "cut", "build", "finish", "gauge", "service"]
"""A stage of a car's way through the shop, in order from bought to running."""

STAGES: tuple[Stage, ...] = get_args(Stage)

CHECKLISTS: Mapping[Stage, tuple[str, ...]] = MappingProxyType(
    {
        "lot": ("Look the car over and photograph it as found", "List what is missing or broken"),
        "survey": ("Print the measuring sheet", "Measure the car and enter the sizes"),
        "plan": ("See to every finding that fails", "Choose a way to stand"),
        "cut": ("Check the printed scale", "Cut the pieces"),
        "build": ("Drill and glue the underframe", "Fit trucks and couplers"),
        "finish": ("Clean and prime", "Paint", "Letter", "Seal"),
        "gauge": ("Gauge both couplers", "Weigh the finished car", "Photograph it as left"),
        "service": ("Run it round the sharpest curve",),
    }
)
"""What is ticked off at each stage, in order; a common practice order, not a standard's."""


def next_open(stage: Stage, done: Collection[tuple[str, str]]) -> str:
    """Return the first job that is open at a stage or at one before it, "" where none is.

    Args:
        stage: where the car stands; an earlier stage that was left with open jobs is named beside its job.
        done: stage and job of what is ticked off.
    """
    for each in STAGES[: STAGES.index(stage) + 1]:
        for item in CHECKLISTS[each]:
            if (each, item) not in done:
                return item if each == stage else f"{item} (open since {each})"
    return ""


RevisionKind = Literal["added", "saved", "imported", "restored"]
"""How a revision came: the first of a car, a save, from a folder of files, from a saved copy."""

PhotoKind = Literal["as found", "as left"]

PHOTOGRAPHED: Mapping[PhotoKind, tuple[Stage, str]] = MappingProxyType(
    {
        "as found": ("lot", "Look the car over and photograph it as found"),
        "as left": ("gauge", "Photograph it as left"),
    }
)
"""The job that a photograph shows to be done, by its kind."""

Job = tuple[Stage, str, date]
"""A line of a stage's checklist that was done, and on which day."""

MEASURED: Final[tuple[Stage, str]] = ("survey", "Measure the car and enter the sizes")
"""The job that is done when nothing of the measuring sheet is wanting any more."""

STANDING: Final[tuple[Stage, str]] = ("plan", "Choose a way to stand")
"""The job that is done when a way to stand is taken."""

PhotoSize = Literal["original", "shown", "thumb"]

ChangeKind = Literal[
    "car", "revision", "choice", "stage", "tick", "photo", "shelf", "setting", "measured", "plan", "lot"
]


@dataclass(frozen=True, slots=True)
class RevisionHead:
    """One save, without its document.

    Args:
        number: counted from 1 within the car or shelf, never used twice.
        based_on: the revision that its author had before them; 0 for a first one.
        sha256: of the document, 64 lower-case hexadecimal digits.
        saved_at: in UTC.
        by: who saved it, or "".
        note: what was done, or "".
        kind: how it came.
    """

    number: int
    based_on: int
    sha256: str
    saved_at: datetime
    by: str
    note: str
    kind: RevisionKind

    @property
    def parents(self) -> tuple[int, ...]:
        """Return the revisions that it was made of: the one that it is based on, or all that were put into it."""
        joined = _JOINED.match(self.note)
        numbers = tuple(int(each) for each in joined[1].split(" and ")) if joined is not None else ()
        return numbers if self.based_on in numbers else (self.based_on,) if self.based_on else ()


def joined_note(numbers: Iterable[int]) -> str:
    """Return what the history says of a revision that several were put into; ``RevisionHead.parents`` reads it."""
    return f"Revisions {' and '.join(map(str, sorted(numbers)))} in one"


_JOINED: Final = re.compile(r"Revisions (\d{1,9}(?: and \d{1,9})+) in one\b")


@dataclass(frozen=True, slots=True)
class Revision(RevisionHead):
    """One save with its document, byte for byte as it was received."""

    data: bytes = field(repr=False)


@dataclass(frozen=True, slots=True)
class Saved:
    """What became of a save: it is always kept.

    Args:
        slug: of the car; "shelf" for the shelf.
        revision: number of what was saved, or of what was chosen.
        sha256: of its document.
        beside: every other revision that stands beside it and waits for a choice; () where it is the only one.
        change: place in the journal of changes.
    """

    slug: str
    revision: int
    sha256: str
    beside: tuple[int, ...]
    change: int


@dataclass(frozen=True, slots=True)
class Digest:
    """The short of a document's plan, as one version of the program with one edition of the references found it.

    Args:
        verdict: of the worst finding: "fail", "watch", "unknown", "ok"; "" where the document cannot be planned.
        sentence: of that finding.
        data: anything else worth keeping for this document, as the caller encodes it.
    """

    verdict: str
    sentence: str
    data: bytes = field(default=b"", repr=False)


@dataclass(frozen=True, slots=True)
class Tick:
    """One line of a stage's checklist: when it was done, or None, and a note."""

    stage: Stage
    item: str
    done_on: date | None
    note: str


@dataclass(frozen=True, slots=True)
class CarCard:
    """A car as the line shows it.

    Args:
        slug: short name in addresses, unique in the shop.
        name: as people say it.
        stage: where it stands.
        revision: number of its head.
        sha256: of the head's document.
        updated_at: of the last change to it, in UTC.
        next_step: the first job that is open at its stage or one before it; "" where none is.
        waits_for: what its owner said that it waits for, or "".
        worst: the worst finding, where it was reckoned for this document by this version and edition; without ``data``.
        beside: how many saves stand beside the head and wait for a choice.
    """

    slug: str
    name: str
    stage: Stage
    revision: int
    sha256: str
    updated_at: datetime
    next_step: str
    waits_for: str
    worst: Digest | None
    beside: int


@dataclass(frozen=True, slots=True)
class CarState:
    """Everything that is now so of one car.

    Args:
        head: the revision that counts.
        heads: the head first, then every save that stands beside it, oldest first.
        checklist: of every stage, in order.
    """

    slug: str
    name: str
    stage: Stage
    waits_for: str
    created_at: datetime
    updated_at: datetime
    head: Revision
    heads: tuple[Revision, ...]
    checklist: tuple[Tick, ...]

    @property
    def next_step(self) -> str:
        """Return the first job that is open at the car's stage or one before it, or ""."""
        return next_open(self.stage, {(each.stage, each.item) for each in self.checklist if each.done_on is not None})


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph of a car, without its bytes.

    Args:
        id: unique in the shop.
        kind: the car as it came, or as it was left.
        caption: what is to be seen, or "".
        added_at: in UTC.
        original_sha256: of the file as it was given.
    """

    id: int
    slug: str
    kind: PhotoKind
    caption: str
    added_at: datetime
    original_sha256: str


@dataclass(frozen=True, slots=True)
class Change:
    """One entry of the journal; ``number`` only ever grows.

    Args:
        slug: of the car it concerns; "" for the shop as a whole.
        revision: the number it made or chose, else 0.
    """

    number: int
    at: datetime
    kind: ChangeKind
    slug: str
    revision: int
    by: str


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading and when it was taken.

    Args:
        key: as it stands in the car file ("found.a.coupler_height").
        value: as it was typed; several readings of one thing with commas between.
        revision: the revision that it was taken with.
        taken_at: in UTC; of a reading typed into the file, when it was saved.
    """

    key: str
    value: str
    revision: int
    taken_at: datetime
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class Stale:
    """A reading that was taken before something changed that it hangs on: take it again.

    Args:
        reading: what was measured, and when.
        because: key of what changed since.
        old: what stood there when the reading was taken, "" for nothing.
        new: what stands there now, "" for nothing.
        revision: with which revision it changed.
        changed_at: when, in UTC.
    """

    reading: Measured
    because: str
    old: str
    new: str
    revision: int
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class PlanMade:
    """A plan that was made and kept: of which document, by which version, with which edition of the references.

    Args:
        id: unique in the shop.
        kind: what was made of it: "book", "templates", "plan"; the caller's word.
        sha256: of the car's document.
        data_sha256: of what was kept.
        shelf: hash of the shelf's file that it was made with, "" for none; None where that is not known.
    """

    id: int
    slug: str
    revision: int
    kind: str
    sha256: str
    version: str
    edition: str
    made_at: datetime
    by: str
    data_sha256: str
    shelf: str | None = None


@dataclass(frozen=True, slots=True)
class Lot:
    """Cars and parts that were bought together.

    Args:
        id: unique in the shop.
        bought_on: the day, or None.
        bought_for: what was paid, as typed.
        cars: short names of the cars that came in it.
    """

    id: int
    name: str
    bought_on: date | None
    bought_for: str
    note: str
    cars: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Taken:
    """A cutting plan that was taken from the shelf.

    Args:
        plan: its identity.
        revision: of the shelf, after it was taken.
        taken_at: in UTC.
        again: whether it had been taken before, so that this time nothing was.
    """

    plan: str
    revision: int
    taken_at: datetime
    by: str
    again: bool = False
