"""What a finish is made of: paints with what is known of them, passes of the gun, stripping, and conflicts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from carwright.car.model import Paint
from carwright.reference.finishing import PaintFamily
from carwright.working import Working

__all__ = ["Coating", "Conditions", "Conflict", "Mend", "Pass", "Role", "Rung", "StripDecision", "StripReason"]

Role = Literal["primer", "colour", "gloss", "flat", "clear", "barrier", "weathering"]
"""What a coat is for."""


@dataclass(frozen=True, slots=True)
class Coating:
    """A coat, its paint and where it goes.

    Args:
        colour: as the scheme names it; "primer", "gloss" and the like for those coats.
        surfaces: which get it; empty for all.
        family: of the paint; of an unknown one that which waits longest.
        role: what it is for.
        paint: the owner's, or None.
        place: its place among the owner's paints.
        known: the owner, or for a primer common practice, says which family it is.
    """

    colour: str
    surfaces: tuple[str, ...]
    family: PaintFamily
    role: Role = "colour"
    paint: Paint | None = None
    place: int = 0
    known: bool = True


@dataclass(frozen=True, slots=True)
class Pass:
    """One coat of one colour with what lies under tape meanwhile.

    Args:
        coating: what is sprayed.
        masked: surfaces under tape.
        beneath: colours that lie under it where it is sprayed, the primer first, then the spray of earlier colours.
        seals: colour misted along the tape, with the surfaces along whose edges; empty where nothing is masked.
        seal_because: why so.
        steps: ids of its steps, masking and unmasking among them.
    """

    coating: Coating
    masked: tuple[str, ...]
    beneath: tuple[str, ...]
    seals: tuple[tuple[str, tuple[str, ...]], ...]
    seal_because: str
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StripReason:
    """Why old paint comes off or stays.

    Args:
        id: "heavy", "uneven", "cover", "glue", "family", or "even", "covers", "agrees" for what speaks against it.
        because: a clause without a full stop.
        source: how it is known.
        strips: whether it speaks for stripping.
    """

    id: str
    because: str
    source: str
    strips: bool


@dataclass(frozen=True, slots=True)
class Rung:
    """One stripper of the ladder.

    Args:
        agent: its name in the data.
        name: in plain words.
        status: "worked" for this car, "next" to be tried, "later" where the one before fails, "failed" or "attacked" by
            the log, "unfit" for the plastic or the paint.
        because: why it stands there.
        first_check: minutes until it is looked at, on a hidden spot and in the bath.
        opens: minutes from which the paint may be off.
        limit: minutes by which the part has to be out.
        source: how its times are known.
    """

    agent: str
    name: str
    status: Literal["worked", "next", "later", "failed", "attacked", "unfit"]
    because: str
    first_check: Working
    opens: Working
    limit: Working
    source: str


@dataclass(frozen=True, slots=True)
class StripDecision:
    """Whether old paint comes off.

    Args:
        verdict: "strip", "keep", "bare" where there is none, or "unknown": test first.
        reasons: what speaks for it and against it.
        needs: keys of what is not known and would decide.
        ladder: strippers from the mildest for the plastic on, what is left out at the end.
        warmest: degrees Celsius that no bath may have.
    """

    verdict: Literal["strip", "keep", "bare", "unknown"]
    reasons: tuple[StripReason, ...]
    needs: tuple[str, ...]
    ladder: tuple[Rung, ...]
    warmest: Working

    @property
    def rung(self) -> Rung | None:
        """Return the stripper to take: what worked, else the next to be tried; None where there is none."""
        return next((each for each in self.ladder if each.status in ("worked", "next")), None)


@dataclass(frozen=True, slots=True)
class Mend:
    """What cures a conflict.

    Args:
        kind: "order", "family", "barrier", "wait", "strip" or "test".
        words: what to do, a sentence.
    """

    kind: Literal["order", "family", "barrier", "wait", "strip", "test"]
    words: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """A paint over one that it does not agree with, or of which nothing is known.

    Args:
        over: the coat above.
        below: the coat beneath; "old paint" for what was there.
        families: of both, the upper first.
        verdict: "fail", "watch" or "unknown".
        because: a sentence.
        mends: what cures it, the best first.
        source: of the verdict.
        cured: a barrier coat lies between them in this finish.
    """

    over: str
    below: str
    families: tuple[str, str]
    verdict: Literal["fail", "watch", "unknown"]
    because: str
    mends: tuple[Mend, ...]
    source: str
    cured: bool = False


@dataclass(frozen=True, slots=True)
class Conditions:
    """How warm and damp it is where the paint dries; None where nothing was said."""

    celsius: Working | None = None
    humidity: Working | None = None
