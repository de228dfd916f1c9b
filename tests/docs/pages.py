"""A page of the documentation as a list of steps that can be done: files to write, commands to give with what they say.

A page marks its files and what is typed at a prompt by comments that a reader does not see:

    <!-- file: car.toml -->      the next block is written as that file
    <!-- append: car.toml -->    the next block is written at its end
    <!-- typed: HO | | q -->     answers of the next command, one between two bars
    <!-- copy: a/b.toml -> c.toml -->   a file of the repository is put there

In a ``console`` block a line that begins with ``$ carwright`` is a command; the lines behind it are what it prints,
with ``...`` for any that are left out.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

__all__ = ["DOCS", "Command", "File", "pages", "said_in_order", "steps"]

DOCS = Path(__file__).resolve().parents[2] / "docs"

_MARK = re.compile(r"<!-- (file|append|typed|copy): (.*?) -->")
_PROMPT = "$ carwright "


@dataclass(frozen=True, slots=True)
class File:
    """A file of the page, and whether its text goes behind what stands there."""

    name: str
    text: str
    append: bool


@dataclass(frozen=True, slots=True)
class Command:
    """A command's words, what is typed into it, and the lines it should print; ``line`` counts from 1."""

    words: tuple[str, ...]
    typed: str
    said: tuple[str, ...]
    line: int


def pages() -> list[Path]:
    """Return every page of the documentation."""
    return sorted(DOCS.rglob("*.md"))


def _blocks(text: str) -> Iterator[tuple[Literal["mark", "block"], str, list[str], int]]:
    """Yield marks (kind, value) and fenced blocks (language, lines), each with its line."""
    language, lines, begun = None, [], 0
    for number, line in enumerate(text.splitlines(), 1):
        if line.startswith("```"):
            if language is None:
                language, lines, begun = line[3:].strip(), [], number
            else:
                yield "block", language, lines, begun
                language = None
        elif language is not None:
            lines.append(line)
        elif found := _MARK.fullmatch(line.strip()):
            yield "mark", found[1], [found[2]], number


def steps(page: Path) -> list[File | Command]:
    """Return what a page does, in its order."""
    found: list[File | Command] = []
    name = typed = ""
    append = False
    for what, kind, lines, number in _blocks(page.read_text(encoding="utf-8")):
        if what == "mark" and kind == "copy":
            source, _, there = lines[0].partition(" -> ")
            found.append(File(there, (DOCS.parent / source).read_text(encoding="utf-8"), append=False))
        elif what == "mark" and kind == "typed":
            typed = "".join(f"{answer.strip()}\n" for answer in lines[0].split("|"))
        elif what == "mark":
            name, append = lines[0], kind == "append"
        elif kind in ("toml", "csv", "json") and name:
            found.append(File(name, "\n".join(lines) + "\n", append))
            name = ""
        elif kind == "console":
            for command in _commands(lines, number):
                found.append(Command(command.words, typed, command.said, command.line))
                typed = ""
    return found


def _commands(lines: list[str], begun: int) -> Iterator[Command]:
    starts = [i for i, line in enumerate(lines) if line.startswith(_PROMPT)]
    for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        words = tuple(shlex.split(lines[start][len(_PROMPT) :]))
        yield Command(words, "", tuple(lines[start + 1 : end]), begun + start + 1)


def said_in_order(said: tuple[str, ...], printed: list[str]) -> str:
    """Return the first line of ``said`` that was not printed where it should have been, or "" where all were."""
    at, loose = 0, False
    for line in said:
        if line.strip() == "...":
            loose = True
            continue
        wanted = line.rstrip()
        if loose:
            while at < len(printed) and printed[at].rstrip() != wanted:
                at += 1
        if at >= len(printed) or printed[at].rstrip() != wanted:
            return line
        at, loose = at + 1, False
    return "" if loose or not any(line.strip() for line in printed[at:]) else "(the end of what it says)"
