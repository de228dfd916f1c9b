"""How numbers are written on a drawing, and where their labels stand so that none touch."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal

from carwright.car.keys import key_named
from carwright.lengths import number_in
from carwright.working import Working

_ID = re.compile(r"\b[a-z]+(?:_[a-z0-9]+)+\b")
"""The name of a piece or hole, which is written without spaces."""

__all__ = [
    "chance_said",
    "is_chance",
    "name_said",
    "needs_letters",
    "needs_words",
    "number",
    "short_name",
    "signed",
    "spread",
]


def number(reading: Working | None, units: Literal["in", "mm"]) -> str:
    """Return a length as it stands on a drawing: a fraction as it was typed, else decimals of its unit; "?" for None.

    Example:
        >>> from carwright.working import typed
        >>> number(typed(155.575, "length", key="body.length", text="6-1/8"), "in")
        '6 1/8'
        >>> number(None, "in")
        '?'
    """
    if reading is None:
        return "?"
    if reading.kind == "typed" and units == "in":
        found = re.fullmatch(r"\s*(?:(\d{1,3})[\s-]+)?(\d{1,3}/\d{1,3})\s*(?:in|\"|rule|caliper)?\s*", reading.text)
        if found:
            return f"{found[1]} {found[2]}" if found[1] else found[2]
    return number_in(reading.value, units)


def name_said(name: str) -> str:
    """Return the name of a number as one says it: a piece or hole in it in words.

    Example:
        >>> name_said("length of brake_rod_a"), name_said("area of a web")
        ('length of brake rod A', 'area of a web')
    """
    return _ID.sub(lambda found: short_name(found.group()), name)


def short_name(check: str) -> str:
    """Return a check's name, or a hole's or piece's, in words, its end as a capital: "coupler height A"."""
    words = check.replace("_", " ").replace("center", "centre")
    for end in ("a", "b"):
        words = words.replace(f" {end} ", f" {end.upper()} ")
        if words.endswith(f" {end}"):
            words = words[:-1] + end.upper()
    return words


def chance_said(chance: Working) -> str:
    """Return a chance as it stands in a table: two places; what rounds to certainty is not told as certain."""
    if chance.value >= 0.995:
        return "> 0.99"
    return "< 0.01" if chance.value < 0.005 else f"{chance.value:.2f}"


def is_chance(working: Working) -> bool:
    """Return whether a number is a chance: it is sampled, and has no doubt of its own."""
    return working.name.startswith("chance of ")


def signed(mm: float, units: Literal["in", "mm"]) -> str:
    """Return a length with its sign, the true minus for what is below zero.

    Example:
        >>> signed(-0.254, "in")
        '−0.010'
    """
    return number_in(mm, units, signed=True).replace("-", "\u2212")


def needs_words(needs: Sequence[str]) -> str:
    """Return the measurements that are wanting, each with its letter and plain name, in the order given.

    Example:
        >>> needs_words(("trucks.seat_height", "trucks.centers"))
        'J truck seat height, H truck centres'
    """
    words: list[str] = []
    for path in needs:
        key = key_named(path)
        said = path if key is None else f"{key.letter} {key.called}"
        if said not in words:
            words.append(said)
    return ", ".join(words)


def needs_letters(needs: Sequence[str]) -> str:
    """Return the letters alone of the measurements that are wanting.

    Example:
        >>> needs_letters(("trucks.seat_height", "trucks.centers"))
        'J, H'
    """
    found = [key_named(path) for path in needs]
    letters = [path if key is None else key.letter for path, key in zip(needs, found, strict=True)]
    return ", ".join(dict.fromkeys(letters))


def spread(places: Sequence[float], gap: float) -> tuple[float, ...]:
    """Return places for labels: as near as can be to those given (least squares), in order, and ``gap`` apart.

    Args:
        places: where the labels belong, in rising order.
        gap: least distance between two, same unit.

    Example:
        >>> spread((0.0, 1.0, 10.0), 4.0)
        (-1.5, 2.5, 10.0)
    """
    groups: list[list[float]] = []  # each: sum of offsets-corrected places, count
    for place in places:
        groups.append([place, 1.0])
        while len(groups) > 1:
            (sum_low, count_low), (sum_high, count_high) = groups[-2], groups[-1]
            low_end = sum_low / count_low + (count_low - 1) * gap / 2
            high_start = sum_high / count_high - (count_high - 1) * gap / 2
            if low_end + gap <= high_start + 1e-9:
                break
            groups[-2:] = [[sum_low + sum_high, count_low + count_high]]
    found: list[float] = []
    for total, count in groups:
        first = total / count - (count - 1) * gap / 2
        found.extend(first + place * gap for place in range(int(count)))
    return tuple(found)
