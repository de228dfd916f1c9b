"""Which wire serves for what only has to look right, and still slides through the holes that are drilled for it."""

from __future__ import annotations

from collections.abc import Sequence

from carwright.reference.choices import practice_value
from carwright.working import Working, derive

__all__ = ["wire_limits"]


def wire_limits(size: Working, bores: Sequence[Working]) -> tuple[Working, Working]:
    """Return the thinnest and the thickest wire that would do, mm; the wanted size itself always does.

    Args:
        size: the diameter wanted, mm.
        bores: diameters of the holes that it has to slide through, mm; empty where there is none.
    """
    near = practice_value("wire_near")
    low = derive("least wire that would do", "s*(1 - n)", s=size, n=near)
    looks = derive("greatest wire that would do", "s*(1 + n)", s=size, n=near)
    if not bores:
        return low, looks
    narrowest = min(bores, key=lambda each: each.value)
    slides = derive("thickest wire that slides", "d - c", d=narrowest, c=practice_value("wire_clearance"))
    return low, min(looks, slides if slides.value > size.value else size, key=lambda each: each.value)
