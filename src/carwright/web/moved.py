"""What moved between two plans: results, verdicts, and the words for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from carwright.draw.labels import chance_said, short_name
from carwright.findings import Finding, Verdict, listed
from carwright.lengths import LENGTH_TOL_MM
from carwright.plan import Plan, document_of
from carwright.web.figures import Units, unit_word, value_text
from carwright.working import Working

__all__ = ["Move", "Turned", "moves_of", "said_of", "short_said", "turned_of"]

_LEFT_OUT: Final = ("findings.", "ride.alternatives.", "ride.coupler", "ride.shares.", "ride.floor", "ride.mounting")
"""Told elsewhere, or the worse end's once more."""

_PARTS_LEFT_OUT: Final = (".outline_mm.", ".pose.", ".also.", ".shares.")
"""Corners and attitudes in space, which the drawing shows and nobody reads as a number."""

_RESULTS: Final = ("ride.", "floor.", "weight.", "steady.")


@dataclass(frozen=True, slots=True)
class Move:
    """One number that moved: its path, its name, what it was and what it is, as written; "?" where it is not known."""

    path: str
    name: str
    old: str
    new: str
    unit: str

    @property
    def where(self) -> str:
        """Return the piece or hole that it is of, in words; "" where there is none or the name says it already."""
        parts = self.path.split(".")
        words = short_name(parts[1]) if parts[0] in ("pieces", "holes") and len(parts) > 2 else ""
        return "" if words in self.name else words


@dataclass(frozen=True, slots=True)
class Turned:
    """One check that ends otherwise than it did."""

    name: str
    old: Verdict | None
    new: Verdict | None


def moves_of(before: Plan, after: Plan) -> tuple[Move, ...]:
    """Return every published number that moved by more than a length's tolerance, results before pieces."""
    units = after.car.info.units
    old, new = (dict(document_of(plan).numbers()) for plan in (before, after))
    found = list(_moves(old, new, units))
    return tuple(sorted(found, key=lambda each: not each.path.startswith(_RESULTS)))


def _moves(old: Mapping[str, Working], new: Mapping[str, Working], units: Units) -> Iterator[Move]:
    for path in dict.fromkeys((*new, *old)):
        if path.startswith(_LEFT_OUT) or any(part in path for part in _PARTS_LEFT_OUT):
            continue
        was, now = old.get(path), new.get(path)
        known = now if now is not None else was
        assert known is not None
        if was is not None and now is not None and abs(was.value - now.value) <= LENGTH_TOL_MM:
            continue
        texts = [_text(path, each, units) for each in (was, now)]
        if texts[0] != texts[1]:
            yield Move(path, known.name.replace("_", " "), texts[0], texts[1], unit_word(known.unit, units))


def _text(path: str, working: Working | None, units: Units) -> str:
    """Return a number as written; a chance that rounds to certainty is not told as certain."""
    if working is not None and path.endswith("pass_probability"):
        return chance_said(working)
    return value_text(working, units)


def turned_of(before: tuple[Finding, ...], after: tuple[Finding, ...]) -> tuple[Turned, ...]:
    """Return the checks whose verdict is another one."""
    old = {each.check: each.verdict for each in before}
    new = {each.check: each.verdict for each in after}
    names = dict.fromkeys((*new, *old))
    return tuple(
        Turned(short_name(name), old.get(name), new.get(name)) for name in names if old.get(name) != new.get(name)
    )


def short_said(moves: tuple[Move, ...], turned: tuple[Turned, ...]) -> str:
    """Return how much moved, counted and no more.

    Example:
        >>> short_said((), (Turned("brake", "ok", "watch"),))
        '1 verdict turned.'
    """
    told = [
        f"{len(each)} {word}{'s' if len(each) > 1 else ''} {done}"
        for each, word, done in ((moves, "result", "moved"), (turned, "verdict", "turned"))
        if each
    ]
    return f"{', '.join(told)}." if told else "No result moved."


def said_of(moves: tuple[Move, ...], turned: tuple[Turned, ...]) -> str:
    """Return how much moved, in one sentence.

    Example:
        >>> said_of((), ())
        'No result moved.'
    """
    parts = []
    if moves:
        parts.append("1 result moved" if len(moves) == 1 else f"{len(moves)} results moved")
    changed = [each for each in turned if each.old is not None and each.new is not None]
    if changed:
        told = [f"{each.name}, {each.old} to {each.new}" for each in changed[:3]]
        more = f" and {len(changed) - 3} more" if len(changed) > 3 else ""
        parts.append(f"{len(changed)} verdict{'s' if len(changed) > 1 else ''}: {'; '.join(told)}{more}")
    came = [each.name for each in turned if each.old is None]
    if came:
        parts.append(f"new: {listed(came[:3])}{' and more' if len(came) > 3 else ''}")
    if not parts:
        return "No result moved."
    return " and ".join(parts) + "."
