"""The questions of the guided start, one after the other, as plain lines in and plain lines out.

Enter skips, ``?`` says how to measure, ``b`` goes back, ``q`` ends. Nothing moves the cursor, so that it
works through a pipe and reads aloud.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import TextIO

from carwright.car.keys import Key, Section, keys, sections
from carwright.cli.draft import Draft, answers_in
from carwright.cli.page import listed, plain, wrapped
from carwright.problems import InputError

__all__ = ["Asked", "Desk", "Went", "ask_all", "ask_groups"]

_SKIPPED_KINDS = frozenset({"windows"})
"""Kinds that are not asked: nobody types a list of pairs at a prompt."""


class Went(Enum):
    """How a question ended: by an answer, skipped, by going back, or by ending the questions."""

    ANSWERED = "answered"
    SKIPPED = "skipped"
    BACK = "back"
    ENDED = "ended"


@dataclass(frozen=True, slots=True)
class Asked:
    """A key to be asked for, at one place of the file; ``hint`` is said beneath its question."""

    key: Key
    place: str
    hint: str = ""


class Desk:
    """Where the questions are said and the answers read."""

    def __init__(self, heard: TextIO, said: TextIO) -> None:
        """Read answers from ``heard`` and say everything on ``said``."""
        self.heard = heard
        self.out = said
        self.echo = not heard.isatty()

    def say(self, lines: Iterable[str]) -> None:
        """Say some lines."""
        for line in lines:
            print(line, file=self.out)

    def hear(self, prompt: str) -> str | None:
        """Return one answer without the space around it, None where there are no more."""
        print(prompt, end="", file=self.out, flush=True)
        line = self.heard.readline()
        text = line.strip()
        if self.echo:
            print(plain(text), file=self.out)  # a pipe shows nothing of what was typed
        return text if line else None


def ask_all(desk: Desk, draft: Draft, asked: Sequence[Asked]) -> Went:
    """Ask for every key in order and save each answer at once.

    Returns:
        ``BACK`` where the user went back before the first of them, ``ENDED`` where he ended, else ``ANSWERED`` if
        there was an answer and ``SKIPPED`` if there was none.
    """
    at, any_answer = 0, False
    while at < len(asked):
        went = _ask(desk, draft, asked[at])
        if went is Went.ENDED:
            return went
        if went is Went.BACK:
            if at == 0:
                return went
            at -= 1
            continue
        any_answer |= went is Went.ANSWERED
        at += 1
    return Went.ANSWERED if any_answer else Went.SKIPPED


def _ask(desk: Desk, draft: Draft, asked: Asked) -> Went:
    key = asked.key
    present = draft.said(key, asked.place)
    desk.say(["", *wrapped(key.question, first=f"{key.letter:<4}")])
    if key.choices:
        desk.say(wrapped(f"One of: {', '.join(key.choices)}.", first="    "))
    if asked.hint:
        desk.say(wrapped(asked.hint, first="    "))
    enter = f"Enter keeps {plain(present)}" if present else "Enter skips"
    while True:
        text = desk.hear(f"    {_what(draft, key)} ({enter}): ")
        if text is None or text.casefold() == "q":
            return Went.ENDED
        if not text:
            return Went.ANSWERED if present else Went.SKIPPED
        if text.casefold() == "b":
            return Went.BACK
        if text == "?":
            desk.say(_help(draft, key))
            continue
        try:
            draft.put(answers_in(key, asked.place, text))
        except InputError as error:
            for each in error.problems:
                bare = replace(each, file="", line=None, column=None)
                desk.say(wrapped(str(bare), first="    "))
            continue
        return Went.ANSWERED


def _what(draft: Draft, key: Key) -> str:
    """Return what is to be typed, with the unit of a bare number."""
    unit = {"length": draft.car.info.units, "lengths": draft.car.info.units, "mass": "g", "angle": "degrees"}
    found = unit.get(key.kind, "yes or no" if key.kind == "flag" else "")
    return f"{key.called}, {found}" if found else key.called


def _help(draft: Draft, key: Key) -> list[str]:
    """Return how a key is measured and what may be typed."""
    lines = wrapped(key.how, first="    ")
    example = ", ".join(map(str, key.example)) if isinstance(key.example, (list, tuple)) else str(key.example)
    lines += wrapped(f"For example: {example}", first="    ")
    if key.kind == "lengths" and key.upto > 1:
        names = f": {', '.join(key.places)}" if key.places else ""
        lines += wrapped(
            f"One value, or {key.least or 1} to {key.upto} with a comma and a space between{names}.", first="    "
        )
    if key.ends:
        lines += wrapped("Where the ends differ: A first value B second value.", first="    ")
    lines += wrapped(f"Not given: {key.default}.", first="    ")
    return [*lines, "    Enter skips, b goes back, q ends; every answer is kept."]


def ask_groups(desk: Desk, draft: Draft) -> None:
    """Offer the rest of the keys by group until the user has had enough."""
    groups = _groups()
    desk.say(["", *wrapped("More can be measured, and none of it must be.")])
    for name, members in groups.items():
        desk.say(wrapped(members[0].what, first=f"    {name:<12}"))
    while True:
        text = desk.hear("Which group? (Enter ends): ")
        if not text or text.casefold() in ("q", "b"):
            return
        chosen = groups.get(text.casefold())
        if chosen is None:
            desk.say(wrapped(f'There is no group "{text}". Groups: {listed(groups)}.', first="    "))
            continue
        if any(_ask_section(desk, draft, section) is Went.ENDED for section in chosen):
            return


def _groups() -> dict[str, list[Section]]:
    groups: dict[str, list[Section]] = {}
    for section in sections():
        groups.setdefault(section.path.split(".")[0].removesuffix("[]"), []).append(section)
    return groups


def _ask_section(desk: Desk, draft: Draft, section: Section) -> Went:
    own = [key for key in keys() if key.section == section.path and key.kind not in _SKIPPED_KINDS]
    bare = section.path.removesuffix("[]")
    if not section.many:
        open_keys = [Asked(key, key.path) for key in own if not key.first and not draft.said(key, key.path)]
        return ask_all(desk, draft, open_keys)
    own.sort(key=lambda key: not key.needed)
    while True:
        at = draft.rows(bare)
        another = "another" if at else "one"
        desk.say(["", *wrapped(f"{section.title}. {section.what}")])
        text = desk.hear(f"    Write down {another}? yes or no (Enter: no): ")
        if text is None or text.casefold() == "q":
            return Went.ENDED
        if text.casefold() not in ("yes", "y"):
            return Went.SKIPPED
        if ask_all(desk, draft, [Asked(key, f"{bare}[{at}].{key.name}") for key in own]) is Went.ENDED:
            return Went.ENDED


def standard_desk(*, quiet: bool) -> Desk:
    """Return the desk of this process; ``quiet`` keeps standard output free for the result."""
    return Desk(sys.stdin, sys.stderr if quiet else sys.stdout)
