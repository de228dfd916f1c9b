"""How a finish is said on screen, in the book and on the page alike: strip or not, times, waits, numbers of acts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from carwright.findings import listed
from carwright.finish.steps import Wait, Window
from carwright.reference.citation import basis_words

__all__ = ["STRIP_TOLD", "numbers_told", "time_told", "waits_told"]

STRIP_TOLD: Final = {
    "strip": "Strip the old paint.",
    "keep": "Leave the old paint on.",
    "bare": "There is no old paint.",
    "unknown": "Whether the old paint comes off is not known: test first.",
}
"""What was decided about old paint, by its verdict."""

_BASIS: Final = {
    "seen": "published",
    "practice": "common practice",
    "memory": "from memory",
    "derived": "worked out",
}


def numbers_told(numbers: Sequence[int]) -> str:
    """Return the numbers of acts as they are told: "act 2", "acts 3 and 4", "acts 5 to 9"."""
    first, last = numbers[0], numbers[-1]
    if first == last:
        return f"act {first}"
    if len(numbers) > 2 and list(numbers) == list(range(first, last + 1)):
        return f"acts {first} to {last}"
    return f"acts {listed(str(each) for each in numbers)}"


def waits_told(waits: Sequence[Wait], numbers: Mapping[str, int], *, sources: bool = False) -> tuple[str, ...]:
    """Return waits as sentences, each with how it is known; those that differ in the act alone are one.

    Args:
        waits: of a step; one without a reason only orders the acts, and is not told.
        numbers: of each step by its id.
        sources: name the document, not only what kind of knowledge it is.
    """
    alike: dict[tuple[str, str, str], list[int]] = {}
    for wait in waits:
        if wait.because:
            spans = " or ".join(_span(each) for each in wait.windows)
            known = _document(wait) if sources else _known(wait)
            alike.setdefault((spans, wait.because, known), []).append(numbers[wait.after])
    return tuple(
        f"{spans[:1].upper()}{spans[1:]} after {numbers_told(sorted(after))}: {because} ({known})."
        for (spans, because, known), after in alike.items()
    )


def _document(wait: Wait) -> str:
    if not wait.basis:
        return wait.source or "as you wish"
    if wait.basis == "seen":
        return f"published: {wait.source.split('; edition not seen')[0]}"
    return wait.source if basis_words(wait.basis) in wait.source else f"{basis_words(wait.basis)}: {wait.source}"


def _known(wait: Wait) -> str:
    if "own estimate" in wait.source:
        return "an estimate"
    if wait.basis:
        return _BASIS[wait.basis]
    told = ("label", "your label"), ("finish.log", "your log"), (_BASIS["practice"], _BASIS["practice"])
    return next((words for word, words in told if word in wait.source), "an estimate")


def _span(window: Window) -> str:
    opens, closes = window.opens_min, window.closes_min
    if closes is None:
        return f"not before {time_told(opens)}" if opens else "at once or later"
    return f"{time_told(opens)} to {time_told(closes)}" if opens else f"within {time_told(closes)}"


def time_told(minutes: float) -> str:
    """Return a time in the largest unit that a label would print."""
    minutes = round(minutes)
    if minutes >= 60 and minutes % 60 == 0:
        hours = minutes // 60
        return f"{hours // 24} days" if hours >= 72 and hours % 24 == 0 else f"{hours} h"
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60} min"
