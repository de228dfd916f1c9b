"""In which order colours are sprayed.

Before a colour is sprayed, whatever has its own colour already and is reached by the spray goes under tape. Tape may
not stay on for longer than about a day and most paints wait longer before they take tape, so every colour masks anew.
An order is judged, one thing after the other, by

1. paints that spoil what lies beneath them, since no saving of tape is worth that;
2. paint that is much lighter than spray that lies under it, and does not cover it in thin coats, unless the owner lets
   light go where it will;
3. how often the car is masked, for every time costs a wait until the paint takes tape;
4. how many surfaces are covered in all, each time counted anew, for each costs minutes;
5. dark before light anywhere; then the order in which the scheme names them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from carwright.finish.reach import reaches

__all__ = ["Masking", "Scheme", "best_order", "judged", "lightness", "masked_before", "shows_through"]

_LIGHTNESS: Final = {
    word: place
    for place, words in enumerate(
        (
            "white",
            "cream ivory",
            "yellow silver aluminium aluminum",
            "orange tan wood",
            "grey gray",
            "red green blue",
            "brown rust oxide",
            "black",
        )
    )
    for word in words.split()
}
"""Colour words from light to dark; our own choice of order, by eye."""

_MUCH_LIGHTER: Final = 2
"""Steps of lightness from which a colour does not cover a darker one in thin coats; our own choice."""

Scheme = Mapping[str, Sequence[str]]


def lightness(colour: str) -> int | None:
    """Return a colour's place from light, 0, to dark, by the last word of it that is known; None where none is.

    Oxide red is as dark as brown.
    """
    words = colour.lower().split()
    known = [_LIGHTNESS[word] for word in reversed(words) if word in _LIGHTNESS]
    return _LIGHTNESS["oxide"] if "oxide" in words else next(iter(known), None)


@dataclass(frozen=True, slots=True)
class Masking:
    """An order of colours with what it costs.

    Args:
        order: the colours.
        spoilt: how many times a paint goes over one that it spoils.
        dark_under: how many times much lighter paint goes over spray of darker.
        times: how often the car is masked.
        covered: how many surfaces are covered, each time counted anew.
        dark_first: pairs of colours of which the darker comes first.
    """

    order: tuple[str, ...]
    spoilt: int
    dark_under: int
    times: int
    covered: int
    dark_first: int


def masked_before(
    colour: str, done: Sequence[str], scheme: Scheme, apart: Collection[str] = ("trucks",)
) -> tuple[str, ...]:
    """Return what goes under tape before a colour is sprayed on a car that has some others already."""
    return reaches(scheme[colour], (each for under in done for each in scheme[under]), apart)


def _never(over: str, below: str) -> bool:
    return False


def judged(
    order: Sequence[str],
    scheme: Scheme,
    *,
    apart: Collection[str] = ("trucks",),
    spoils: Callable[[str, str], bool] = _never,
) -> Masking:
    """Return what an order of all colours costs; the arguments are those of ``best_order``."""
    costs = [_cost(colour, order[:place], scheme, apart, spoils) for place, colour in enumerate(order)]
    spoilt, dark_under, times, covered, dark_first = (sum(each) for each in zip(*costs, strict=True))
    return Masking(tuple(order), spoilt, dark_under, times, covered, dark_first)


def _cost(
    colour: str, done: Sequence[str], scheme: Scheme, apart: Collection[str], spoils: Callable[[str, str], bool]
) -> tuple[int, int, int, int, int]:
    covered = len(masked_before(colour, done, scheme, apart))
    beneath = [each for each in done if reaches(scheme[each], scheme[colour], apart)]
    spoilt = sum(spoils(colour, each) for each in beneath)
    return spoilt, sum(shows_through(each, colour) for each in beneath), covered > 0, covered, sum(
        _darker(each, colour) for each in done
    )  # fmt: skip


def shows_through(below: str, over: str) -> bool:
    """Return whether a colour is known to be so much lighter than one below that thin coats do not cover it."""
    first, second = lightness(below), lightness(over)
    return first is not None and second is not None and first - second >= _MUCH_LIGHTER


def _darker(one: str, other: str) -> bool:
    """Return whether the first colour is known to be darker."""
    first, second = lightness(one), lightness(other)
    return first is not None and second is not None and first > second


def best_order(
    scheme: Scheme,
    *,
    apart: Collection[str] = ("trucks",),
    light_first: bool = True,
    spoils: Callable[[str, str], bool] = _never,
) -> Masking:
    """Return the best order of all: the search is exact, from the best order of small sets of colours up.

    Args:
        scheme: each colour with its surfaces, at most ten.
        apart: surfaces that are painted off the car.
        light_first: dark spray under light paint counts before masking does.
        spoils: tells whether a first colour spoils a second that lies beneath it.
    """
    colours = tuple(scheme)
    best: dict[int, tuple[tuple[int, ...], tuple[int, ...]]] = {0: ((0, 0, 0, 0, 0), ())}
    for done in range(1 << len(colours)):
        cost, order = best[done]
        for at, colour in enumerate(colours):
            if done >> at & 1:
                continue
            before = [each for n, each in enumerate(colours) if done >> n & 1]
            spoilt, dark, times, covered, first = _cost(colour, before, scheme, apart, spoils)
            step = (spoilt, dark if light_first else 0, times, covered, first)
            way = (tuple(a + b for a, b in zip(cost, step, strict=True)), (*order, at))
            there = done | 1 << at
            best[there] = min(best.get(there, way), way)
    return judged([colours[each] for each in best[(1 << len(colours)) - 1][1]], scheme, apart=apart, spoils=spoils)
