"""What is customary and published of paints: families, what goes over what, times, strippers, and what can hurt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from carwright.reference.citation import Entry
from carwright.reference.store import entry, under

__all__ = [
    "PLASTICS",
    "Barrier",
    "Caution",
    "Compatibility",
    "Glue",
    "PaintFamily",
    "Stripper",
    "Weathering",
    "adjoining",
    "barriers",
    "cautions",
    "compatibility",
    "customary",
    "families",
    "glues",
    "resistance_words",
    "strippers",
    "weatherings",
]

PLASTICS: Final = ("polystyrene", "abs", "san_clear", "cast_resin", "acetal")
"""Plastics that the table of strippers knows; brass, which it knows too, is none."""


@dataclass(frozen=True, slots=True)
class PaintFamily:
    """A family of paints; each entry tells its own basis and document.

    Args:
        id: "lacquer", "enamel", "acrylic" or "two_part".
        flash_first: minutes between thin coats, the shortest, or None where no source has it.
        flash_off: likewise, the longest.
        touch_dry: minutes until it no longer takes dust, the longest.
        handle: hours until it may be handled, the longest.
        mask_after: hours until it carries tape, the longest.
        other_over: hours until another family may follow, the longest.
        cured: days until it is cured, the longest.
        forbidden_from: hours after a coat from which the next one may not follow.
        forbidden_to: hours after which it may again; both 0 where any time will do.
        later_from: hours after which a coat may follow that missed the flash-off, or None.
        later_to: hours until which it may.
    """

    id: str
    flash_first: Entry | None
    flash_off: Entry | None
    touch_dry: Entry
    handle: Entry
    mask_after: Entry
    other_over: Entry
    cured: Entry
    forbidden_from: Entry
    forbidden_to: Entry
    later_from: Entry | None
    later_to: Entry | None


@dataclass(frozen=True, slots=True)
class Compatibility:
    """Whether one family goes over another.

    Args:
        verdict: "ok", "ok_after_cure", "risky" or "no", with its source.
        wait: hours that the lower one needs.
    """

    verdict: Entry
    wait: Entry

    @property
    def good(self) -> bool:
        """Return whether it goes over the other, if need be after a wait."""
        return self.verdict.value in ("ok", "ok_after_cure")


@dataclass(frozen=True, slots=True)
class Stripper:
    """What takes paint off.

    Args:
        id: its name in the data.
        name: in plain words.
        removes: what it takes off, in words.
        on: verdict for each plastic ("ok", "watch", "avoid", "never"), by the plastic's name in the data.
        first_check: hours until it is looked at first.
        low: hours that it takes at the least.
        high: likewise, at the most.
        limit: hours after which the part has to be out.
    """

    id: str
    name: str
    removes: Entry
    on: Mapping[str, Entry]
    first_check: Entry
    low: Entry
    high: Entry
    limit: Entry

    def takes(self, family: str, *, old: bool = False) -> str:
        """Return what is said of paint of a family ("some lacquer"), or "" where nothing is said, of ``old`` paint."""
        words = self.removes.value if isinstance(self.removes.value, tuple) else (self.removes.words,)
        said = [str(each) for each in words]
        found = [each for each in said if family in each or each.startswith("everything")]
        return next((each for each in found if not (old and each.startswith("fresh"))), "")


@dataclass(frozen=True, slots=True)
class Glue:
    """A kind of joint with its name in words, and the strippers that loosen it."""

    id: str
    name: str
    loosened_by: Entry


@dataclass(frozen=True, slots=True)
class Barrier:
    """A coat that goes between paints that do not agree: over any of ``under``, beneath any of ``over``.

    Args:
        name: in words.
        family: of paint that it is, or "" where it is none of the table's.
        over: families that may go over it.
        under: families that it keeps from what goes over it.
        wait: hours until paint may go over it.
    """

    name: Entry
    family: str
    over: tuple[str, ...]
    under: tuple[str, ...]
    wait: Entry


@dataclass(frozen=True, slots=True)
class Weathering:
    """A way of weathering.

    Args:
        id: its name in the data.
        name: in words.
        carrier: the stripper of the table that it is thinned with, or "".
        family: of the paint that it leaves, or "".
        dry: hours until the next may go over it, where no family says so, or None.
        loose: whether it comes off with handling until a coat lies over it.
    """

    id: str
    name: Entry
    carrier: str
    family: str
    dry: Entry | None
    loose: bool


@dataclass(frozen=True, slots=True)
class Caution:
    """What can hurt, and what keeps it from doing so.

    Args:
        id: its name in the data.
        when: to what it applies ("spray", "solvent", "two_part", "strip", "old_paint", "knife").
        hazard: what can happen.
        controls: what to do, each in a few words.
        source: document and basis.
    """

    id: str
    when: tuple[str, ...]
    hazard: str
    controls: tuple[str, ...]
    source: str


def _texts(stored: Entry | None) -> tuple[str, ...]:
    if stored is None:
        return ()
    return tuple(str(each) for each in stored.value) if isinstance(stored.value, tuple) else (stored.words,)


@lru_cache(maxsize=1)
def families() -> dict[str, PaintFamily]:
    """Return every family by its id."""
    return {
        name: PaintFamily(
            name,
            row.get("flash_off_minutes.low"),
            row.get("flash_off_minutes.high"),
            row["touch_dry_minutes.high"],
            row["handle_hours.high"],
            row["mask_after_hours.high"],
            row["other_family_over_after_hours.high"],
            row["full_cure_days.high"],
            row["recoat.forbidden_from_hours"],
            row["recoat.forbidden_to_hours"],
            row.get("recoat.later_from_hours"),
            row.get("recoat.later_to_hours"),
        )
        for name, row in under("finishing", "family").items()
    }


@lru_cache(maxsize=32)
def compatibility(over: str, below: str) -> Compatibility | None:
    """Return what is known of one family over another, or None where nothing is."""
    for row in under("finishing", "compatibility").values():
        if (row["over"].value, row["under"].value) == (over, below):
            return Compatibility(row["verdict"], row["wait_hours"])
    return None


@lru_cache(maxsize=1)
def strippers() -> tuple[Stripper, ...]:
    """Return every stripper in the order of the data."""
    return tuple(
        Stripper(
            name,
            row["called"].words if "called" in row else name.replace("_", " "),
            row["removes"],
            {each: row[each] for each in (*PLASTICS, "brass")},
            row["soak_hours.first_check"],
            row["soak_hours.typical_low"],
            row["soak_hours.typical_high"],
            row["soak_hours.limit"],
        )
        for name, row in under("finishing", "strippers", "agent").items()
    )


def resistance_words(plastic: str) -> Entry | None:
    """Return what is published of a plastic's resistance, or None where nothing was read."""
    names = {"abs": "ABS", "san_clear": "styrene-acrylonitrile"}
    for row in under("finishing", "strippers", "resistance").values():
        if row["plastic"].value == names.get(plastic, plastic):
            return row["statement"]
    return None


@lru_cache(maxsize=1)
def glues() -> dict[str, Glue]:
    """Return the kinds of joints by their ids."""
    return {
        name: Glue(name, row["name"].words, row["loosened_by"])
        for name, row in under("finishing", "glue", "kind").items()
    }


@lru_cache(maxsize=1)
def barriers() -> tuple[Barrier, ...]:
    """Return the coats that go between paints, in the order of the data: the first that fits is taken."""
    return tuple(
        Barrier(
            row["name"],
            "".join(_texts(row.get("family"))),
            _texts(row["over"]),
            _texts(row["under"]),
            row["wait_hours.value"],
        )
        for row in under("finishing", "barrier").values()
    )


@lru_cache(maxsize=1)
def weatherings() -> dict[str, Weathering]:
    """Return the ways of weathering by their ids."""
    return {
        name: Weathering(
            name,
            row["name"],
            "".join(_texts(row.get("carrier"))),
            "".join(_texts(row.get("family"))),
            row.get("dry_hours.value"),
            "loose" in row and bool(row["loose"].value),
        )
        for name, row in under("finishing", "weathering", "kind").items()
    }


@lru_cache(maxsize=1)
def adjoining() -> dict[str, frozenset[str]]:
    """Return each surface with those that share an edge with it."""
    return {name: frozenset(_texts(row["adjoins"])) for name, row in under("finishing", "surfaces", "surface").items()}


@lru_cache(maxsize=1)
def cautions() -> tuple[Caution, ...]:
    """Return what can hurt in painting, in the order of the data."""
    return tuple(
        Caution(name, _texts(row["when"]), row["hazard"].words, _texts(row["controls"]), str(row["hazard"].citation))
        for name, row in under("finishing", "caution").items()
        if "when" in row
    )


def customary(*path: str) -> Entry:
    """Return a value of the customary order of work: ``customary("schedule_defaults", "gloss_to_decal_hours")``."""
    return entry("finishing", *path)
