"""Single measures of real cars, and where their brake parts hang, in prototype inches; each with its basis."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from carwright.reference.citation import Entry
from carwright.reference.kinds import car_kind
from carwright.reference.leaves import leaf
from carwright.reference.store import ReferenceFault, entry, under
from carwright.working import Working

__all__ = ["BrakePart", "BrakeSet", "anatomy", "brake_set"]

_PROTOTYPE = "in prototype"


@lru_cache(maxsize=128)
def anatomy(topic: str, name: str) -> Working:
    """Return one measure of a real car: its single figure, else the typical one of its range.

    Args:
        topic: "cross_member", "ride", "air_brake", "end", "body_bolster", "appliance".
        name: id of the row ("bearer-depth-center").

    Returns:
        A leaf in prototype inches, or in degrees where the row is an angle.

    Raises:
        ReferenceFault: there is no such row, or it holds no single figure.

    Example:
        >>> anatomy("cross_member", "bearer-depth-center").text
        '12 in prototype'
    """
    for field in ("value", "typical"):
        row = under("anatomy", topic).get(name, {})
        if field in row:
            found = row[field]
            words = row["what"].words if "what" in row else name
            if found.unit == "deg":
                return leaf(found, words, "deg", stored="deg")
            return leaf(found, words, _PROTOTYPE, stored=_PROTOTYPE)
    raise ReferenceFault("anatomy", f"{topic}.{name}", "is asked for, but holds no single figure")


@dataclass(frozen=True, slots=True)
class BrakePart:
    """One part of the brake gear, in prototype inches; along the car from the middle, toward the B end positive.

    Args:
        name: "cylinder", "cylinder lever", "double reservoir", ...
        start: nearer the A end.
        stop: nearer the B end; a lever's is the same as its start.
        side: "one" or "other" side of the centre sill, or "across" it.
        offset: from the centre line.
        diameter: of what is round or nearly so; None of a lever.
        height: of its middle above the rail.
    """

    name: str
    start: Working
    stop: Working
    side: Literal["one", "other", "across"]
    offset: Working
    diameter: Working | None
    height: Working


@dataclass(frozen=True, slots=True)
class BrakeSet:
    """The parts of one kind of brake, as a car of the kind most likely had them."""

    name: str
    parts: tuple[BrakePart, ...]


def _inches(row: dict[str, Entry], field: str, words: str) -> Working:
    return leaf(row[field], words, _PROTOTYPE, stored=_PROTOTYPE)


def _side(words: str) -> Literal["one", "other", "across"]:
    if words == "one":
        return "one"
    return "other" if words == "other" else "across"


def _part(row: dict[str, Entry]) -> BrakePart:
    # the loader names a row by its part, so that the name stands in the path and not among the values
    name = row["from_in"].path[-2].replace("_", " ")
    return BrakePart(
        name,
        _inches(row, "from_in", f"{name}, A side, toward B from the middle"),
        _inches(row, "to_in", f"{name}, B side, toward B from the middle"),
        _side(row["side"].words),
        _inches(row, "offset_in", f"{name} from the centre line"),
        _inches(row, "diameter_in", f"diameter of the {name}") if "diameter_in" in row else None,
        _inches(row, "center_above_rail_in", f"middle of the {name} above the rail"),
    )


@lru_cache(maxsize=32)
def brake_set(kind: str, brake: Literal["K", "AB"]) -> BrakeSet | None:
    """Return the parts of a brake under a car of this kind, or None where the data has none.

    Args:
        kind: a word of ``car_kinds`` or anything ``car_kind`` understands.
        brake: "K" or "AB".
    """
    name = "k-combined" if brake == "K" else "ab-house"
    kinds = entry("anatomy", "default_brake", name, "applies_to").value
    if not isinstance(kinds, tuple) or car_kind(kind) not in kinds:
        return None
    rows = under("anatomy", "default_brake", name, "parts")
    return BrakeSet(name, tuple(_part(dict(row)) for row in rows.values()))
