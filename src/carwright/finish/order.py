"""In which order colours are sprayed so that the fewest surfaces are masked.

Before a colour is sprayed, every surface that has its own colour already is covered; what gets its colour later is not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

__all__ = ["best_order", "dark_under_light", "masked_surfaces"]

_LIGHTNESS: Final = {
    word: place
    for place, words in enumerate(
        (
            "white",
            "cream ivory",
            "yellow silver",
            "orange tan wood",
            "grey gray",
            "red green blue",
            "brown rust",
            "black",
        )
    )
    for word in words.split()
}
"""Colour words from light to dark; our own choice of order, by eye."""


def _lightness(colour: str) -> int | None:
    return next((_LIGHTNESS[word] for word in reversed(colour.lower().split()) if word in _LIGHTNESS), None)


def masked_surfaces(order: Sequence[str], scheme: Mapping[str, Sequence[str]]) -> int:
    """Return how many surfaces are covered, each time counted anew, when colours are sprayed in ``order``."""
    return sum(len(scheme[colour]) * (len(order) - place) for place, colour in enumerate(order, 1))


def dark_under_light(order: Sequence[str]) -> int:
    """Return the number of pairs of colours of which the darker comes first; unknown colours make no pair."""
    steps = [each for each in map(_lightness, order) if each is not None]
    return sum(earlier > later for at, earlier in enumerate(steps) for later in steps[at + 1 :])


def best_order(scheme: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """Return the order with the fewest masked surfaces; among those light under dark; among those as named.

    The search is exact: the best order of each set of colours, from the small sets up.
    """
    colours = tuple(scheme)
    best: dict[int, tuple[int, int, tuple[int, ...]]] = {0: (0, 0, ())}
    for done in range(1 << len(colours)):
        masked, dark, order = best[done]
        covered = sum(len(scheme[colours[each]]) for each in order)
        for at, colour in enumerate(colours):
            if not done >> at & 1:
                darker = sum(dark_under_light((colours[each], colour)) for each in order)
                way = (masked + covered, dark + darker, (*order, at))
                there = done | 1 << at
                best[there] = min(best.get(there, way), way)
    return tuple(colours[each] for each in best[(1 << len(colours)) - 1][2])
