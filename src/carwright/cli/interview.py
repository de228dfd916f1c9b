"""The questions of the guided start, one after the other, as plain lines in and plain lines out.

Enter skips, ``?`` says how to measure, ``b`` goes back, ``b K`` asks K again whatever stands in between, ``-`` takes an
answer out, ``q`` ends. Nothing moves the cursor, so that it works through a pipe and reads aloud.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import TextIO

from carwright.car.answers import NO, YES, answers_in, example_at_ends, example_of, no_answer
from carwright.car.keys import Key, Section, keys, sections
from carwright.cli.draft import Draft
from carwright.cli.page import plain, wrapped
from carwright.findings import listed
from carwright.problems import InputError

__all__ = ["Asked", "Desk", "Went", "ask_all", "ask_groups", "ask_letter"]

_BACK_TO = re.compile(r"b\s+([a-z]\d{0,3})", re.IGNORECASE)
_LETTER = re.compile(r"([a-z]\d{0,3})", re.IGNORECASE)

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
    """A key to be asked for, at one place of the file; ``hint`` makes of the draft what is said beneath it."""

    key: Key
    place: str
    hint: Callable[[Draft], str] | None = None


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


def ask_all(
    desk: Desk,
    draft: Draft,
    asked: Sequence[Asked],
    *,
    at: int = 0,
    reached: int = -1,
    first_of_all: bool = False,
    before: Mapping[int, Callable[[], None]] | None = None,
) -> Went:
    """Ask for every key in order and save each answer at once.

    What is answered already is passed over, until the user goes back to it: then it is asked again, and so is whatever
    stands between it and the place where he was.

    Args:
        desk: where it is asked.
        draft: the file that grows.
        asked: the keys.
        at: place in ``asked`` to begin at.
        reached: place up to which it is also asked for what is answered already.
        first_of_all: there is nothing before the first of them, and the user who wants to go back is told so.
        before: what to do first each time when the questions come to a place, going forward; a place may be the end.

    Returns:
        ``BACK`` where the user went back before the first of them, ``ENDED`` where he ended, else ``ANSWERED`` if
        there was an answer and ``SKIPPED`` if there was none.
    """
    any_answer = False
    while at < len(asked):
        here = asked[at]
        if at <= reached or not draft.said(here.key, here.place):
            went = _ask(desk, draft, here)
            reached = max(reached, at)
            if went is Went.ENDED:
                return went
            if went is Went.BACK:
                if at == 0 and not first_of_all:
                    return went
                if at == 0:
                    desk.say(wrapped("This is the first question.", first="    "))
                at = max(0, at - 1)
                continue
            any_answer |= went is Went.ANSWERED
        at += 1
        if before is not None and at in before:
            before[at]()
    return Went.ANSWERED if any_answer else Went.SKIPPED


def _ask(desk: Desk, draft: Draft, asked: Asked) -> Went:
    key = asked.key
    while True:
        present = draft.said(key, asked.place)
        desk.say(["", *wrapped(key.question, first=f"{key.letter:<4}")])
        if key.choices:
            desk.say(wrapped(f"One of: {', '.join(key.choices)}.", first="    "))
        hint = asked.hint(draft) if asked.hint is not None else ""
        if hint:
            desk.say(wrapped(hint, first="    "))
        text = _heard(desk, draft, asked, present)
        if text is None or text.casefold() == "q":
            return Went.ENDED
        if not text:
            return Went.ANSWERED if present else Went.SKIPPED
        if text.casefold() == "b":
            return Went.BACK
        letter = _BACK_TO.fullmatch(text)
        if letter is None:
            return Went.ANSWERED
        if ask_letter(desk, draft, letter[1]) is Went.ENDED:
            return Went.ENDED


def _heard(desk: Desk, draft: Draft, asked: Asked, present: str) -> str | None:
    """Return what was typed at one question: a command, or an answer that stands in the file by now."""
    key = asked.key
    enter = f"Enter keeps {plain(present)}" if present else "Enter skips"
    while True:
        text = desk.hear(f"    {_what(draft, key)} ({enter}): ")
        if not text or text.casefold() in ("q", "b") or _BACK_TO.fullmatch(text):
            return text
        if text == "?":
            desk.say(_help(draft, key))
            continue
        try:
            draft.put(no_answer(key, asked.place) if text == "-" else answers_in(key, asked.place, text))
        except InputError as error:
            for each in error.problems:
                bare = replace(each, file="", line=None, column=None)
                desk.say(wrapped(str(bare), first="    "))
            continue
        return text


def ask_letter(desk: Desk, draft: Draft, letter: str) -> Went:
    """Ask one question by its letter, answered or not; say so where there is none of that letter."""
    key = next((each for each in keys() if each.letter.casefold() == letter.casefold()), None)
    if key is None or key.kind in _SKIPPED_KINDS:
        told = f'No question has the letter "{letter}". Letters stand before the questions, as K or T5.'
        desk.say(wrapped(told, first="    "))
        return Went.SKIPPED
    if "[]" in key.path:
        group = key.path.split(".")[0].removesuffix("[]")
        desk.say(wrapped(f"{key.letter} may stand several times: choose its group, {group}, at the end.", first="    "))
        return Went.SKIPPED
    return _ask(desk, draft, Asked(key, key.path))


def _what(draft: Draft, key: Key) -> str:
    """Return what is to be typed, with the unit of a bare number."""
    unit = {"length": draft.car.info.units, "lengths": draft.car.info.units, "mass": "g", "angle": "degrees"}
    found = unit.get(key.kind, "yes or no" if key.kind == "flag" else "")
    return f"{key.called}, {found}" if found else key.called


def _help(draft: Draft, key: Key) -> list[str]:
    """Return how a key is measured and what may be typed."""
    lines = wrapped(key.how, first="    ")
    info = draft.car.info
    lines += wrapped(f"For example: {example_of(key, info)}", first="    ")
    if key.kind == "lengths" and key.upto > 1:
        names = f": {', '.join(key.places)}" if key.places else ""
        lines += wrapped(
            f"One value, or {key.least or 1} to {key.upto} with a comma and a space between{names}.", first="    "
        )
    if key.ends:
        lines += wrapped(f"Where the ends differ: {example_at_ends(key, info)}", first="    ")
    lines += wrapped(f"Not given: {key.default}.", first="    ")
    lines += wrapped("Enter skips, b goes back, b K asks K again, - takes an answer out, q ends.", first="    ")
    return [*lines, "    Every answer is kept."]


def ask_groups(desk: Desk, draft: Draft) -> Went:
    """Offer the rest of the keys by group, and any by its letter, until the user has had enough.

    Returns:
        ``BACK`` where he wants to go back to the questions before, else ``ENDED``.
    """
    groups = _groups()
    desk.say(["", *wrapped("More can be measured, and none of it must be. A letter alone asks that question again.")])
    for name, members in groups.items():
        desk.say(wrapped(members[0].what, first=f"    {name:<12}"))
    while True:
        text = desk.hear("Which group, or which letter? (Enter ends): ")
        if not text or text.casefold() == "q":
            return Went.ENDED
        if text == "b":  # a capital is the letter B
            return Went.BACK
        letter = _BACK_TO.fullmatch(text) or _LETTER.fullmatch(text)
        chosen = groups.get(text.casefold())
        if chosen is not None:
            if _ask_group(desk, draft, chosen) is Went.ENDED:
                return Went.ENDED
        elif letter is not None:
            if ask_letter(desk, draft, letter[1]) is Went.ENDED:
                return Went.ENDED
        else:
            desk.say(wrapped(f'There is no group "{text}". Groups: {listed(groups)}.', first="    "))


def _groups() -> dict[str, list[Section]]:
    groups: dict[str, list[Section]] = {}
    for section in sections():
        if all(key.program for key in keys() if key.section == section.path):
            continue
        groups.setdefault(section.path.split(".")[0].removesuffix("[]"), []).append(section)
    return groups


def _ask_group(desk: Desk, draft: Draft, members: Sequence[Section]) -> Went:
    for section in members:
        went = _ask_section(desk, draft, section)
        if went in (Went.ENDED, Went.BACK):
            return went
    return Went.SKIPPED


def _ask_section(desk: Desk, draft: Draft, section: Section) -> Went:
    own = [key for key in keys() if key.section == section.path and key.kind not in _SKIPPED_KINDS and not key.program]
    bare = section.path.removesuffix("[]")
    if not section.many:
        return ask_all(desk, draft, [Asked(key, key.path) for key in own], reached=len(own))
    own.sort(key=lambda key: not key.needed)
    while True:
        many = draft.rows(bare)
        desk.say(["", *wrapped(f"{section.title}. {section.what}")])
        for at in range(many):
            told = [each for key in own if (each := draft.said(key, f"{bare}[{at}].{key.name}"))]
            desk.say(wrapped(", ".join(told), first=f"    {at + 1:>2}  "))
        chosen = _which_row(desk, many)
        if isinstance(chosen, Went):
            return chosen
        row = [Asked(key, f"{bare}[{chosen}].{key.name}") for key in own]
        if ask_all(desk, draft, row, reached=len(row)) is Went.ENDED:
            return Went.ENDED


def _which_row(desk: Desk, many: int) -> int | Went:
    """Return which table of a list is to be asked for, from 0; a new one is ``many``. Else how the list ended."""
    prompt = "Write down one? yes or no (Enter: no)"
    accepted = "Type yes or no"
    if many:
        which = "1" if many == 1 else f"1 to {many}"
        prompt = f"Write down another? yes, no, or {which} to change that one (Enter: no)"
        accepted += f", or {which}"
    while True:
        text = desk.hear(f"    {prompt}: ")
        if text is None or text.casefold() == "q":
            return Went.ENDED
        word = text.casefold()
        if word == "b":
            return Went.BACK
        if not word or word in NO:
            return Went.SKIPPED
        if word in YES:
            return many
        if word.isdecimal() and 1 <= int(word) <= many:
            return int(word) - 1
        got = "" if text == "?" else f'"{text}" is none of these. '
        desk.say(wrapped(f"{got}{accepted}; b goes back to the groups, q ends.", first="    "))


def standard_desk(*, quiet: bool) -> Desk:
    """Return the desk of this process; ``quiet`` keeps standard output free for the result."""
    return Desk(sys.stdin, sys.stderr if quiet else sys.stdout)
