"""What is customary and published of paints: families, what goes over what, and the times between acts."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from carwright.reference.citation import Entry
from carwright.reference.store import entry, under

__all__ = ["Compatibility", "PaintFamily", "compatibility", "customary", "families"]


@dataclass(frozen=True, slots=True)
class PaintFamily:
    """A family of paints; each entry tells its own basis and document.

    Args:
        id: "lacquer", "enamel", "acrylic" or "two_part".
        touch_dry: minutes until it no longer takes dust, the longest.
        mask_after: hours until it carries tape, the longest.
        forbidden_from: hours after a coat from which the next one may not follow.
        forbidden_to: hours after which it may again; both 0 where any time will do.
    """

    id: str
    touch_dry: Entry
    mask_after: Entry
    forbidden_from: Entry
    forbidden_to: Entry


@dataclass(frozen=True, slots=True)
class Compatibility:
    """Whether one family goes over another.

    Args:
        verdict: "ok", "ok_after_cure", "risky" or "no", with its source.
        wait: hours that the lower one needs.
    """

    verdict: Entry
    wait: Entry


@lru_cache(maxsize=1)
def families() -> dict[str, PaintFamily]:
    """Return every family by its id."""
    return {
        name: PaintFamily(
            name,
            row["touch_dry_minutes.high"],
            row["mask_after_hours.high"],
            row["recoat.forbidden_from_hours"],
            row["recoat.forbidden_to_hours"],
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


def customary(*path: str) -> Entry:
    """Return a value of the customary order of work: ``customary("schedule_defaults", "gloss_to_decal_hours")``."""
    return entry("finishing", *path)
