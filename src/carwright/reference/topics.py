"""The data by topic, for whoever wants to read it."""

from __future__ import annotations

import difflib
from functools import lru_cache

from carwright.problems import InputError, Problem
from carwright.reference.citation import Entry
from carwright.reference.store import FILES, entries_of, titles

__all__ = ["entries", "near_topics", "topic_title", "topics"]


@lru_cache(maxsize=1)
def topics() -> tuple[str, ...]:
    """Return the names of the topics, in the order of the data; one topic may have tables in several files."""
    found: dict[str, None] = {}
    for file in FILES:
        for path in entries_of(file):
            found.setdefault(path[1])
    return tuple(found)


def topic_title(topic: str) -> str:
    """Return what a topic is about, in one line."""
    return titles()[topic]


def near_topics(topic: str) -> tuple[str, ...]:
    """Return the topics that a word may have meant: those that hold it first, then those spelled like it."""
    word = topic.strip().lower().replace("-", "_").replace(" ", "_").split(".")[0]
    holding = [each for each in topics() if word and (word in each or word in titles()[each].lower().split())]
    alike = difflib.get_close_matches(word, topics(), n=3, cutoff=0.5)
    return tuple(dict.fromkeys([*holding, *alike]))[:6]


def _named(path: tuple[str, ...]) -> tuple[str, ...]:
    """Return a path as a reader writes it: without the file, and without the word for a list's members."""
    return tuple(part for part in path[1:] if part != "rows")


def entries(topic: str) -> tuple[Entry, ...]:
    """Return everything stored under a topic ("coupler_height"), or under one table of it ("threads.unified").

    Raises:
        InputError: there is no such topic; near misses are listed.
    """
    parts = tuple(topic.strip().replace(" ", "_").split("."))
    wanted = (parts[0].replace("-", "_").lower(), *parts[1:])
    found = tuple(
        each
        for file in FILES
        for each in entries_of(file).values()
        if _named(each.path)[: len(wanted)] == wanted or each.key == topic
    )
    if found:
        return found
    near = near_topics(topic)
    raise InputError(
        Problem(
            "there is no such topic in the reference data",
            value=topic,
            accepted="a topic that `carwright reference` lists",
            mend=f"Did you mean {', '.join(near)}?" if near else "Run `carwright reference` for the list.",
        )
    )
