"""Drills by number, letter, fraction and millimetre: each stored once."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from carwright.reference.citation import Entry
from carwright.reference.leaves import INCH_MM, leaf
from carwright.reference.store import ReferenceFault, under
from carwright.working import Working, of

__all__ = ["Drill", "DrillKind", "drill_named", "drills", "nearest_drill", "smallest_drill_at_least"]

DrillKind = Literal["number", "letter", "fraction", "metric"]


@dataclass(frozen=True, slots=True)
class Drill:
    """A drill that can be bought.

    Args:
        name: "#50", "A", "5/64 in" or "1.60 mm".
        kind: the series it belongs to.
        diameter: mm.
    """

    name: str
    kind: DrillKind
    diameter: Working

    @property
    def diameter_mm(self) -> float:
        """Return the diameter, mm."""
        return self.diameter.value


def _inch_drills(table: str, kind: DrillKind, sign: str) -> list[Drill]:
    found = []
    for name, values in under("workshop", "drills", table, "rows").items():
        label = f"{sign}{name}"
        found.append(Drill(label, kind, leaf(values["diameter"], f"drill {label}")))
    return found


def _made(stored: Entry, name: str, kind: DrillKind, size_mm: Fraction) -> Drill:
    diameter = of(
        float(size_mm),
        f"drill {name}",
        key=f"{'.'.join(stored.path[:3])}.{name}",
        source=str(stored.citation),
        basis=stored.citation.basis,
        note=stored.note,
        text=name,
    )
    return Drill(name, kind, diameter)


def _fractions() -> list[Drill]:
    found = []
    for values in under("workshop", "drills", "fractional", "rows").values():
        stored = values["name"]
        found.append(_made(stored, f"{stored.words} in", "fraction", Fraction(stored.words) * INCH_MM))
    return found


def _metric() -> list[Drill]:
    found = []
    for row in under("workshop", "drills", "metric_series", "rows").values():
        start, end = (round(row[side].number * 10) for side in ("from", "to"))
        plus = row["tenths_plus"].value
        for tenth in range(start, end):
            for more in plus if isinstance(plus, tuple) else ():
                size = Fraction(tenth, 10) + Fraction(str(more))
                found.append(_made(row["from"], f"{float(size):.2f} mm", "metric", size))
    return found


@lru_cache(maxsize=1)
def drills() -> tuple[Drill, ...]:
    """Return every drill: numbers, letters, fractions to 1/4 in and millimetre sizes to 13.9 mm."""
    return (
        *_inch_drills("number", "number", "#"),
        *_inch_drills("letter", "letter", ""),
        *_fractions(),
        *_metric(),
    )


@lru_cache(maxsize=1)
def _by_name() -> dict[str, Drill]:
    return {each.name: each for each in drills()}


_NUMBER = re.compile(r"(?:#|no\.?|number)?\s*(\d{1,2})", re.IGNORECASE)
_FRACTION = re.compile(r'(\d{1,2})\s*/\s*(\d{1,2})\s*(?:in|inch|")?', re.IGNORECASE)
_METRIC = re.compile(r"(\d*[.,]?\d+)\s*mm", re.IGNORECASE)


def drill_named(text: str) -> Drill | None:
    """Return the drill that a text names, or None.

    Accepted: "#50", "No. 50", "50"; "A"; "5/64", "5/64 in"; "1.6 mm", "1.60 mm".
    """
    word = text.strip()
    if re.fullmatch(r"[A-Za-z]", word):
        return _by_name().get(word.upper())
    if match := _NUMBER.fullmatch(word):
        return _by_name().get(f"#{int(match[1])}")
    if match := _FRACTION.fullmatch(word):
        over = int(match[2])
        return _by_name().get(f"{Fraction(int(match[1]), over)} in") if over else None
    if match := _METRIC.fullmatch(word):
        return _by_name().get(f"{float(match[1].replace(',', '.')):.2f} mm")
    return None


def _of_kinds(kinds: Iterable[DrillKind]) -> list[Drill]:
    wanted = frozenset(kinds)
    return [each for each in drills() if each.kind in wanted]


def nearest_drill(diameter_mm: float, kinds: Iterable[DrillKind] = ("number",)) -> Drill:
    """Return the drill whose diameter is nearest; of two equally near, the smaller.

    Args:
        diameter_mm: the hole wanted.
        kinds: series to choose from, at least one.
    """
    chosen = _of_kinds(kinds)
    if not chosen:
        raise ReferenceFault("workshop", "drills", "no series of drills was named")
    return min(chosen, key=lambda each: (abs(each.diameter_mm - diameter_mm), each.diameter_mm))


def smallest_drill_at_least(diameter_mm: float, kinds: Iterable[DrillKind] = ("number",)) -> Drill | None:
    """Return the smallest drill that is no smaller than a diameter in mm, or None where the series ends below it."""
    enough = [each for each in _of_kinds(kinds) if each.diameter_mm >= diameter_mm - _SAME_MM]
    return min(enough, key=lambda each: each.diameter_mm, default=None)


_SAME_MM = 1e-9
"""Two diameters nearer than this are one: far below any drill's step, far above the rounding of a double."""
