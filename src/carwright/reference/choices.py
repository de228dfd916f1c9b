"""Customary limits and our own choices, instruments and densities."""

from __future__ import annotations

import difflib
from functools import lru_cache

from carwright.problems import InputError, Problem
from carwright.reference.citation import Entry
from carwright.reference.leaves import exact_mm, leaf, number_text
from carwright.reference.store import FILES, ReferenceFault, find, under
from carwright.working import Basis, Working, of

__all__ = ["density", "instrument", "materials", "practice_text", "practice_value"]


def _stored(key: str, asked_by: str) -> tuple[Entry, float]:
    """Return the entry under a dotted key and its number; a last part that is a place picks from a list."""
    file, *parts = key.split(".")
    if file in FILES:
        found = find(file, *parts)
        if found is not None:
            return found, found.number
        listed = find(file, *parts[:-1])
        if listed is not None and isinstance(listed.value, tuple) and parts[-1].isdigit():
            number = listed.value[int(parts[-1])]
            if isinstance(number, int | float):
                return listed, float(number)
    raise ReferenceFault("choices", asked_by, f"takes its value from {key}, which is not there")


def _choice(name: str) -> dict[str, Entry]:
    found = under("choices", "choice").get(name)
    if found is None:
        raise ReferenceFault("choices", name, "is asked for, but is not there")
    return dict(found)


@lru_cache(maxsize=256)
def practice_value(name: str) -> Working:
    """Return a customary limit or a choice of ours, by its name in ``choices.toml``.

    Lengths come in mm, everything else in the stored unit. The note gives the reason.

    Raises:
        ReferenceFault: there is none of that name, or it is a text.

    Example:
        >>> practice_value("fit_paint").text
        '0.003 in'
    """
    choice = _choice(name)
    words = name.replace("_", " ")
    if "value" in choice:
        stored = choice["value"]
        return leaf(stored, words, "mm" if stored.unit in ("in", "mm") else stored.unit, stored=stored.unit)
    if "value_of" not in choice:
        raise ReferenceFault("choices", name, "is a text, not a number")
    named = choice["value_of"]
    stored, number = _stored(named.words, name)
    unit, factor_unit = _unit_of(stored)
    basis: Basis = stored.citation.basis
    return of(
        exact_mm(number, factor_unit) if factor_unit else number,
        words,
        "mm" if factor_unit else unit,
        key=named.words,
        source=str(stored.citation),
        basis=basis,
        note=named.note,
        text=f"{number_text(number)} {factor_unit or unit}".strip(),
    )


def _unit_of(stored: Entry) -> tuple[str, str]:
    """Return the unit of a stored value, and the same again where it is a length in in or mm."""
    last = stored.path[-1]
    for ending, unit in (
        ("_percent", "percent"),
        ("_diameters", ""),
        ("_thicknesses", ""),
        ("_mm", "mm"),
        ("_inch", "in"),
        ("_in", "in"),
    ):
        if last.endswith(ending):
            return (unit, unit) if unit in ("mm", "in") else (unit, "")
    if last.startswith("percent_"):
        return "percent", ""
    unit = stored.unit
    return (unit, unit) if unit in ("mm", "in") else (unit, "")


def practice_text(name: str) -> str:
    """Return a choice that is a text ("2-56").

    Raises:
        ReferenceFault: there is none of that name, or it is a number.
    """
    choice = _choice(name)
    if "text" not in choice:
        raise ReferenceFault("choices", name, "is a number, not a text")
    return choice["text"].words


def instrument(name: str, units: str = "in") -> Working:
    """Return the half-width ± of a reading, mm, by how it was taken.

    Args:
        name: "outside", "depth", "inside" (caliper), "height" (above the rail) or "rule".
        units: "in" or "mm": the unit in which ``text`` shows it; the value is the same.

    Raises:
        InputError: no such instrument.
    """
    known = [each.removeprefix("instrument_") for each in under("choices", "choice") if each.startswith("instrument_")]
    word = {"caliper": "outside"}.get(name.strip().lower(), name.strip().lower())
    if word not in known:
        near = difflib.get_close_matches(word, [*known, "caliper"], n=1)
        raise InputError(
            Problem(
                "there is no such instrument here",
                value=name,
                accepted=", ".join(known),
                mend=f"Did you mean {near[0]}?" if near else "",
                key="car.measured_with",
            )
        )
    found = practice_value(f"instrument_{word}")
    if units != "mm":
        return found
    return of(
        found.value,
        found.name,
        key=found.key,
        source=found.source,
        basis=found.basis,
        note=found.note,
        text=f"{found.value:.4f} mm",
    )


def materials() -> tuple[str, ...]:
    """Return the names under which a density is stored, the full ones first."""
    full: list[str] = []
    short: list[str] = []
    for name, values in under("workshop", "materials", "density", "rows").items():
        full.append(name.replace("_", " "))
        if "aliases" in values:
            short.extend(str(each) for each in _listed(values["aliases"]))
    return (*full, *short)


def _listed(stored: Entry) -> tuple[object, ...]:
    return stored.value if isinstance(stored.value, tuple) else (stored.value,)


def density(material: str) -> Working | None:
    """Return a material's density in g/cm3, or None where it is not known.

    Args:
        material: a plain name ("styrene", "brass", "lead shot") or the full one ("brass, cartridge (C26000)").
    """
    word = material.strip().lower()
    for name, values in under("workshop", "materials", "density", "rows").items():
        names = [name.replace("_", " ").lower()]
        if "aliases" in values:
            names.extend(str(each).lower() for each in _listed(values["aliases"]))
        if word in names:
            return leaf(values["value"], f"density of {material.strip()}", "g/cm3", stored="g/cm3")
    return None
