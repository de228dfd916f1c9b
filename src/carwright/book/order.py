"""The order of work: its steps and hold points, how they are numbered, and how pieces are named in them.

Words: a *hold* is a point where work stops until something was measured or seen and written down; a step is
*irreversible* when what it does cannot be taken back (a cut, a hole, a joint, paint). The rule that the order keeps:
every irreversible step names the holds that protect it, and each of them stands before it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final, Literal

from carwright.book.cautions import Caution
from carwright.car.model import ENDS
from carwright.draw.labels import number
from carwright.draw.piecelist import piece_rows
from carwright.findings import listed
from carwright.pieces import Piece
from carwright.plan.model import Plan
from carwright.working import Working

__all__ = ["CUT_AFTER", "Order", "Part", "Step", "both", "by_part", "named", "names", "rows", "told"]

Part = Literal[
    "Before the first cut",
    "Floor",
    "Old holes",
    "Bolsters and screw blocks",
    "Heights",
    "Holes",
    "Underframe",
    "Train line and brake gear",
    "Brake gear",
    "Grab irons and steps",
    "Weight",
    "Last check and paint",
]
"""Headings of the order of work."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step.

    Args:
        number: from 1, in the order of work.
        name: stable name ("drill_trucks"); holds have one too.
        part: heading that it stands under.
        text: what to do, in full sentences.
        pieces: names of the plan's pieces that it is about.
        irreversible: whether it cannot be taken back.
        hold: whether it is a hold point.
        needs: numbers of the holds that must be passed before; each is smaller than ``number``.
        places: at a hold, what is to be written down.
        caution: what can hurt.
    """

    number: int
    name: str
    part: Part
    text: str
    pieces: tuple[str, ...] = ()
    irreversible: bool = False
    hold: bool = False
    needs: tuple[int, ...] = ()
    places: tuple[str, ...] = ()
    caution: Caution = ""


CUT_AFTER: Final = ("bars", "settled", "measured", "sheet")
"""Holds before any cut."""


@dataclass(slots=True)
class Order:
    """Numbers the steps as they are added, and finds each hold's number by its name."""

    part: Part = "Before the first cut"
    done: list[Step] = field(default_factory=list)
    holds: dict[str, int] = field(default_factory=dict)

    def hold(self, name: str, text: str, *places: str, pieces: tuple[str, ...] = ()) -> None:
        """Add a hold point."""
        number = len(self.done) + 1
        self.holds[name] = number
        self.done.append(Step(number, name, self.part, text, pieces, hold=True, places=places))

    def act(
        self,
        name: str,
        text: str,
        *,
        after: tuple[str, ...],
        pieces: tuple[str, ...] = (),
        caution: Caution = "",
        irreversible: bool = True,
    ) -> None:
        """Add a step; holds in ``after`` that this car does not have are left out."""
        number = len(self.done) + 1
        needs = tuple(sorted(self.holds[each] for each in dict.fromkeys(after) if each in self.holds))
        self.done.append(Step(number, name, self.part, text, pieces, irreversible, needs=needs, caution=caution))


def named(plan: Plan, *starts: str) -> tuple[Piece, ...]:
    """Return the pieces that are made and whose names begin so."""
    return tuple(piece for piece in plan.pieces if piece.name.startswith(starts) and piece.made)


def names(pieces: tuple[Piece, ...]) -> tuple[str, ...]:
    """Return the pieces' names."""
    return tuple(piece.name for piece in pieces)


def rows(plan: Plan, pieces: tuple[Piece, ...]) -> str:
    """Return the pieces as the list of pieces calls them, with how many of each."""
    wanted = set(names(pieces))
    called = [
        row.name[:1].lower() + row.name[1:] + (f" ({row.many})" if row.many > 1 else "")
        for row in piece_rows(plan)
        if wanted & set(row.pieces)
    ]
    return listed(called)


def told(plan: Plan, working: Working | None) -> str:
    """Return a length with its unit as it is told; "?" for None."""
    units = plan.car.info.units
    return "?" if working is None else f"{number(working, units)} {units}"


def both(plan: Plan, take: str) -> str:
    """Return a height of both ends: "A 0.380 in, B 0.388 in"."""
    heights = []
    for end in ENDS:
        found: Working | None = getattr(plan.ride.ends.at(end), take)
        heights.append(f"{end.upper()} {told(plan, found)}")
    return ", ".join(heights)


def by_part(steps: tuple[Step, ...]) -> Iterator[tuple[Part, tuple[Step, ...]]]:
    """Yield the steps by heading, in order."""
    parts = dict.fromkeys(step.part for step in steps)
    for part in parts:
        yield part, tuple(step for step in steps if step.part == part)
