"""Usual sizes of what can be bought, for a plan where the owner's shelf was not written down."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Literal

from carwright.reference.choices import practice_value
from carwright.reference.leaves import leaf, number_text
from carwright.reference.store import entry
from carwright.working import Working, derive

__all__ = ["usual_rods", "usual_screw_lengths", "usual_sheets", "usual_washers"]


@lru_cache(maxsize=4)
def usual_sheets(units: Literal["in", "mm"]) -> tuple[Working, ...]:
    """Return the usual thicknesses of styrene sheet, mm, thinnest first, each with the usual tolerance of its maker.

    Args:
        units: "in" for the inch series, "mm" for the metric one; they are not the same sheets.
    """
    stored = entry("workshop", "stock", "sheet", f"thickness_{units}")
    percent = practice_value("sheet_tolerance_percent")
    found = []
    for place, size in enumerate(stored.value if isinstance(stored.value, tuple) else ()):
        if isinstance(size, int | float):
            words = f"{number_text(size)} {units} sheet"
            plain = replace(leaf(stored, words, stored=units, value=float(size)), key=f"{stored.key}.{place}")
            tolerance = derive(f"tolerance of {words}", "t*p/100", t=plain, p=percent)
            found.append(replace(plain, tolerance=tolerance, distribution="normal"))
    return tuple(found)


@lru_cache(maxsize=1)
def usual_washers() -> tuple[Working, ...]:
    """Return the usual thicknesses of truck washers, mm, thinnest first.

    The sizes are customary ones for HO in inches; a metric shop is offered the same, since no other list was found.
    """
    tolerance = practice_value("washer_tolerance")
    found = []
    for name in ("thin", "thick"):
        plain = leaf(entry("standards", "practice", "washers", name), f"{name} washer", stored="in")
        found.append(replace(plain, tolerance=tolerance, distribution="normal"))
    return tuple(found)


@lru_cache(maxsize=1)
def usual_rods() -> tuple[Working, ...]:
    """Return the usual diameters of styrene rod, mm, thinnest first.

    The sizes are customary ones in inches; a metric shop is offered the same, since no other list was found.
    """
    return _listed("shapes", "rod", "in", "rod")


@lru_cache(maxsize=4)
def usual_screw_lengths(units: Literal["in", "mm"]) -> tuple[Working, ...]:
    """Return the usual lengths of small machine screws, mm, shortest first.

    Args:
        units: "in" for the inch series, "mm" for the metric one.
    """
    return _listed("screw_lengths", f"length_{units}", units, "screw")


def _listed(table: str, name: str, unit: Literal["in", "mm"], what: str) -> tuple[Working, ...]:
    stored = entry("workshop", "stock", table, name)
    return tuple(
        replace(
            leaf(stored, f"{number_text(size)} {unit} {what}", stored=unit, value=float(size)),
            key=f"{stored.key}.{place}",
        )
        for place, size in enumerate(stored.value if isinstance(stored.value, tuple) else ())
        if isinstance(size, int | float)
    )
