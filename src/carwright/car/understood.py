"""Texts that are more than a name: what a car file says in words and the program must understand."""

from __future__ import annotations

from typing import Final

from carwright import reference
from carwright.car.scheme import read_scheme
from carwright.problems import InputError, Problem

__all__ = ["OTHER", "check_words"]

OTHER: Final = "other"
"""The kind of a car that is none of those that the tables know."""


def check_words(path: str, text: str) -> None:
    """Refuse a text under a key that must be understood: the kind of car, the colour scheme.

    Args:
        path: the key's path; under any other key every text will do.
        text: what was typed, not empty.

    Raises:
        InputError: it cannot be understood; each problem says what is accepted, with an example.
    """
    if path == "finish.scheme":
        read_scheme(text)
    elif path == "car.type" and text.casefold() != OTHER and reference.car_kind(text) is None:
        near = reference.near_kinds(text)
        words = ", ".join(each.replace("_", " ") for each in reference.car_kinds())
        raise InputError(
            Problem(
                "no such kind of car is known",
                text[:80],
                f"a class such as XM, FM, GB, HM or TM, or a plain word ({words}), or {OTHER}",
                (f"Did you mean {' or '.join(near)}? " if near else "")
                + f"Write {OTHER} where none fits: nothing is then designed by the custom of a kind.",
                path,
            )
        )
