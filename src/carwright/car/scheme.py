"""A colour scheme in words: "sides grey, roof and ends black, door red, underframe brown"."""

from __future__ import annotations

import difflib
import re
from typing import Final

from carwright.problems import InputError, Problem

__all__ = ["REST", "read_scheme"]

REST: Final = "rest"
"""Everything that the scheme does not name."""

_SURFACES: Final = {
    "side": "sides",
    "sides": "sides",
    "end": "ends",
    "ends": "ends",
    "roof": "roof",
    "door": "doors",
    "doors": "doors",
    "deck": "deck",
    "inside": "inside",
    "underframe": "underframe",
    "trucks": "trucks",
    "details": "details",
    "rest": REST,
    "everything": REST,
    "all": REST,
}
_MOST_COLOURS: Final = 10
_EXAMPLE: Final = "sides grey, roof and ends black, door red, underframe brown"


def read_scheme(text: str, *, key: str = "finish.scheme", file: str = "") -> dict[str, tuple[str, ...]]:
    """Return each colour with the surfaces that get it, both in the order in which they are named.

    Args:
        text: parts of surfaces and a colour, with commas between; ``and`` or a comma joins surfaces of one colour.
        key: the key that it was typed under.
        file: the car file's name.

    Raises:
        InputError: every slip at once, each with the nearest word that would do.
    """
    problems: list[Problem] = []

    def slip(problem: str, value: str, mend: str = "") -> None:
        accepted = f"one or more of {', '.join(dict.fromkeys(_SURFACES.values()))}, then a colour"
        written = f"{mend} Write it as in: {_EXAMPLE}.".strip()
        problems.append(Problem(problem, value[:80], accepted, written, key, file))

    found: dict[str, list[str]] = {}
    named: set[str] = set()
    waiting: list[str] = []
    for clause in re.split(r"[,;]", text):
        words = clause.lower().split()
        if not words:
            continue
        surfaces, colour = _split(words)
        wrong = words[0] if not surfaces and not waiting else colour[1] if colour[:1] == ["and"] and colour[1:] else ""
        if wrong or (not surfaces and waiting):
            near = difflib.get_close_matches(wrong or words[0], _SURFACES, n=1)
            slip("no such part of a car", wrong or words[0], f"Did you mean {near[0]}?" if near else "")
            waiting = []
            continue
        for each in surfaces:
            if each in named:
                slip(f"{each} is given two colours", clause.strip(), "Name each part once.")
            named.add(each)
        waiting += surfaces
        if colour and not any(each.isalpha() for word in colour for each in word):
            slip("this is no colour", " ".join(colour))
            waiting = []
        elif joined := next((word for word in colour[1:] if word == "and" or word in _SURFACES), ""):
            wanting = "Give a part one colour." if joined == "and" else f"Put a comma before {joined}."
            slip("this is no one colour", " ".join(colour), wanting)
            waiting = []
        elif colour:
            found.setdefault(" ".join(colour), []).extend(waiting)
            waiting = []
    if waiting:
        slip("a colour is wanting", " and ".join(waiting))
    if not found and not problems:
        slip("there is no colour scheme", text)
    if len(found) > _MOST_COLOURS:
        slip(f"more than {_MOST_COLOURS} colours", str(len(found)))
    if problems:
        raise InputError(problems)
    return {colour: tuple(surfaces) for colour, surfaces in found.items()}


def _split(words: list[str]) -> tuple[list[str], list[str]]:
    """Return the surfaces at the head of a clause and the words behind them."""
    surfaces: list[str] = []
    at = 0
    while at < len(words):
        step = at + (words[at] == "and" and bool(surfaces))
        step += step < len(words) and words[step] == "the"
        if step >= len(words) or words[step] not in _SURFACES:
            break
        surfaces.append(_SURFACES[words[step]])
        at = step + 1
    return surfaces, words[at:]
