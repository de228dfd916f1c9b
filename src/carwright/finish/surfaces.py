"""The surfaces of a car that are painted: which a kind of car has, and under which name a scheme speaks of each."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Final

from carwright.car.scheme import REST
from carwright.findings import listed

__all__ = ["outside_of", "spoken_of", "surfaces_told"]

_COMMON: Final = ("sides", "ends", "underframe", "details")
_TOPS: Final = {"flat": ("deck",), "gondola": ("inside",), "hopper": ("inside",)}


def surfaces_told(surfaces: Iterable[str]) -> str:
    """Return surfaces as they stand in a sentence: "sides, ends and the rest"."""
    return listed("the rest" if each == REST else each for each in surfaces)


def outside_of(kind: str | None) -> tuple[str, ...]:
    """Return the surfaces that a car of this kind shows; its trucks are painted apart, its doors with the sides.

    Args:
        kind: as the plan names it ("box", "gondola", "flat"); None of an unknown one, which is taken for a house car.
    """
    return (*_COMMON[:2], *_TOPS.get(kind or "", ("roof",)), *_COMMON[2:])


def spoken_of(surface: str, named: Collection[str]) -> str:
    """Return the word under which a scheme gives a surface its colour, or "" where it gives none.

    Doors go with the sides where they are not named; what else is not named is the rest, where the scheme has one.

    Example:
        >>> spoken_of("doors", {"sides", "roof"}), spoken_of("deck", {"sides", "rest"}), spoken_of("deck", {"sides"})
        ('sides', 'rest', '')
    """
    if surface in named:
        return surface
    if surface == "doors":
        return spoken_of("sides", named)
    return REST if REST in named and surface != "trucks" else ""
