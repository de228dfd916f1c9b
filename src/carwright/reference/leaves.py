"""Turning stored values into leaves of a working."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from carwright.reference.citation import Entry
from carwright.working import Working, of

__all__ = ["INCH_MM", "exact_mm", "leaf", "number_text"]

INCH_MM = Fraction("25.4")
"""One inch in millimetres, exactly."""

_TO_MM: dict[str, Fraction] = {"mm": Fraction(1), "in": INCH_MM}


def number_text(value: float) -> str:
    """Return a stored number as it was written: the shortest decimal that is the same number, without an exponent."""
    text = format(Decimal(repr(float(value))), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def exact_mm(value: float, unit: str) -> float:
    """Return a stored length in millimetres, converted from its decimal digits exactly and rounded once.

    Args:
        value: the number as stored.
        unit: "mm" or "in".
    """
    return float(Fraction(number_text(value)) * _TO_MM[unit])


def leaf(entry: Entry, name: str, unit: str = "mm", *, stored: str = "", value: float | None = None) -> Working:
    """Return a stored number as a leaf.

    Args:
        entry: the stored value.
        name: what it is, in words.
        unit: unit of the leaf; a length stored in inches or millimetres becomes millimetres.
        stored: unit it is stored in, where the table's own is not that of this value.
        value: the number to use where the entry holds a list or a fraction.
    """
    number = entry.number if value is None else value
    given = stored or entry.unit.split(";")[0].split(",")[0].strip()
    shown = f"{number_text(number)} {given}".strip() if given not in ("ratio",) else f"1:{number_text(number)}"
    return of(
        exact_mm(number, given) if unit == "mm" else number,
        name,
        unit,
        key=entry.key,
        source=str(entry.citation),
        basis=entry.citation.basis,
        note=entry.note,
        text=shown,
    )
