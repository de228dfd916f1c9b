"""Two revisions side by side: what was measured otherwise, and what moved because of it, what matters first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from carwright.car.keys import key_named
from carwright.car.model import ENDS
from carwright.web.choicewords import choice_said
from carwright.web.moved import Move, Turned, moves_of, turned_of
from carwright.web.planning import Planner
from carwright.web.readings import texts_of
from carwright.web.words import label_of

__all__ = ["Comparison", "KeyChange", "comparison_of", "key_changes"]

_MATTER: Final = (
    *(f"ride.{end}.{what}" for what in ("coupler_height_mm", "error_mm", "pass_probability") for end in ENDS),
    "ride.pass_probability",
    "steady.radius_mm",
    "weight.target_g",
    "weight.present_g",
    "weight.to_fit_g",
    "weight.to_add_g",
)
"""Paths of the results that a car is judged by, in the order in which they are told."""


@dataclass(frozen=True, slots=True)
class KeyChange:
    """One place of the file: its letter and name, what stood there, what stands there; "" for nothing."""

    slot: str
    letter: str
    name: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """What is different between two revisions of a car; of what moved, ``moves`` are judged by and ``rest`` is not."""

    keys: tuple[KeyChange, ...]
    moves: tuple[Move, ...]
    turned: tuple[Turned, ...]
    rest: tuple[Move, ...]


def comparison_of(planner: Planner, older: bytes, newer: bytes, shelf: bytes) -> Comparison:
    """Return what changed from one document to another, both planned with one shelf behind them.

    Raises:
        InputError: one of them cannot be read.
    """
    keys = key_changes(older, newer)
    before, after = (planner.plan(each, {}, shelf)[1] for each in (older, newer))
    moved = {each.path: each for each in moves_of(before, after)}
    moves = tuple(moved[path] for path in _MATTER if path in moved)
    told = {(each.name, each.where, each.old, each.new): each for each in reversed(moved.values())}
    said = {each.name for each in moves}
    rest = tuple(each for each in reversed(told.values()) if each.name not in said)
    return Comparison(keys, moves, turned_of(before.findings, after.findings), rest)


def key_changes(older: bytes, newer: bytes) -> tuple[KeyChange, ...]:
    """Return what was typed otherwise in one document than in another.

    Raises:
        InputError: one of them is no car file.
    """
    old, new = texts_of(older), texts_of(newer)
    keys = []
    for slot in {**old, **new}:
        was, now = old.get(slot, ""), new.get(slot, "")
        if was != now:
            key = key_named(slot)
            letter = key.letter if key is not None else ""
            name = label_of(slot, lettered=False) or slot
            keys.append(KeyChange(slot, letter, name, choice_said(slot, was), choice_said(slot, now)))
    return tuple(keys)
