"""Saves of one car beside each other put into one: what each changed, where they differ, and the file with all of it.

A *matter* is what is kept or changed as a whole: one key with its ends and its several readings, or the rows of a
section that may stand several times, because a row has no name of its own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from carwright.car.keys import key_named, path_of, section_named
from carwright.car.read import read_car
from carwright.car.write import set_values
from carwright.problems import InputError, Problem
from carwright.web.choicewords import choice_said
from carwright.web.readings import changes_of, texts_of

if TYPE_CHECKING:
    from carwright.shop import Revision

__all__ = ["Joining", "Matter", "joined", "joining_of"]

_ROW: Final = re.compile(r"^([a-z_.]+)\[\d+\]\.")
_NOTHING: Final = "nothing"


@dataclass(frozen=True, slots=True)
class Matter:
    """What more than one save changed, each otherwise.

    Args:
        path: the key's path, or the section's for rows.
        name: what it is called.
        letter: on the measuring sheet, or "".
        before: what stood there, in words.
        choices: number of the revision and what stands in it, in words.
    """

    path: str
    name: str
    letter: str
    before: str
    choices: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class Joining:
    """What several saves changed against the revision that all go back to.

    Args:
        changes: path of each matter that only one save changed, or all alike, to that save's number.
        disputed: those that were changed to different things.
    """

    changes: Mapping[str, int]
    disputed: tuple[Matter, ...]


def joining_of(base: Revision, saves: Sequence[Revision]) -> Joining:
    """Return what each save changed, and where they differ.

    Raises:
        InputError: one of the files is no car file.
    """
    old = _matters(texts_of(base.data))
    sides = [(each.number, _matters(texts_of(each.data))) for each in saves]
    changes: dict[str, int] = {}
    disputed: list[Matter] = []
    for path in dict.fromkeys(path for matters in (old, *(each for _, each in sides)) for path in matters):
        was = old.get(path, {})
        moved = [(number, now) for number, matters in sides if (now := matters.get(path, {})) != was]
        if moved and all(now == moved[0][1] for _, now in moved):
            changes[path] = moved[0][0]
        elif moved:
            key, section = key_named(path), section_named(f"{path}[]")
            name = key.called if key is not None else section.title if section is not None else path
            told = tuple((number, _told(now)) for number, now in moved)
            disputed.append(Matter(path, name, key.letter if key is not None else "", _told(was), told))
    return Joining(changes, tuple(disputed))


def joined(base: Revision, saves: Sequence[Revision], chosen: Mapping[str, int]) -> bytes:
    """Return the file of the first save with what the others changed.

    Args:
        base: the revision that all go back to.
        saves: at least two; the comments of the first are kept.
        chosen: path of each matter in dispute to the number of the save whose value is to stand.

    Raises:
        InputError: something in dispute is not chosen, or the file with all of it is no car; nothing is then kept.
    """
    found = joining_of(base, saves)
    open_ = [each.name for each in found.disputed if chosen.get(each.path) not in dict(each.choices)]
    if open_:
        raise InputError(
            Problem(
                "it is not said which value shall stand",
                ", ".join(open_)[:200],
                "one of the saves for each reading that was changed in both",
                "Choose for each of them; nothing was changed.",
                key="choose",
            )
        )
    texts = {each.number: texts_of(each.data) for each in saves}
    taken = {**found.changes, **{each.path: chosen[each.path] for each in found.disputed}}
    first = saves[0]
    wanted = {slot: text for slot, text in texts[first.number].items() if taken.get(_matter(slot)) is None}
    for number, own in texts.items():
        wanted.update({slot: text for slot, text in own.items() if taken.get(_matter(slot)) == number})
    now = texts[first.number]
    data = first.data
    typed = {slot: wanted.get(slot, "") for slot in {**now, **wanted} if wanted.get(slot, "") != now.get(slot, "")}
    if typed:
        data = set_values(data, changes_of(now, typed))
    read_car(data)
    if texts_of(data) != wanted:
        raise InputError(
            Problem(
                "the saves cannot be put into one, because rows were taken out",
                mend="Go on with one of them, and enter there what the other has; nothing was changed.",
                key="number",
            )
        )
    return data


def _matter(slot: str) -> str:
    row = _ROW.match(slot)
    return row[1] if row is not None else path_of(slot)


def _matters(texts: Mapping[str, str]) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for slot, text in texts.items():
        if text:
            found.setdefault(_matter(slot), {})[slot] = text
    return found


def _told(texts: Mapping[str, str]) -> str:
    parts = []
    for slot, text in texts.items():
        end = re.search(r"\.([ab])(?:\.|\[|$)", slot)
        said = choice_said(slot, text)
        parts.append(f"{end[1].upper()} {said}" if end is not None else said)
    return "; ".join(parts) or _NOTHING
