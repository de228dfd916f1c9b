"""Where in a car file stands what a problem is about that was found after the file was read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Final

from carwright.car.document import Cell, Node, Table, decoded, document_of
from carwright.problems import InputError, Problem

__all__ = ["naming_lines"]

_PART: Final = re.compile(r"([^.\[\]]+)|\[(\d+)\]")
"""A name or a place in a list, of a dotted key such as ``finish.log[0].agent``."""


@contextmanager
def naming_lines(data: bytes) -> Iterator[None]:
    """Let problems of a car file that name a key and no line name its line too.

    Args:
        data: the file, which could be read.

    Raises:
        InputError: as it was raised inside, with lines.
    """
    try:
        yield
    except InputError as error:
        root, _ = document_of(decoded(data))
        raise InputError(_placed(each, root) for each in error.problems) from error


def _placed(problem: Problem, root: Table) -> Problem:
    if problem.line is not None or not problem.key:
        return problem
    line: int | None = None
    node: Node = root
    for name, place in _PART.findall(problem.key):
        found = _inside(node, name, place)
        if found is None:
            break
        node = found
        line = node[0].line if isinstance(node, list) else node.line
    return replace(problem, line=line)


def _inside(node: Node, name: str, place: str) -> Node | None:
    """Return what stands under a name of a table or at a place of a list, or None."""
    if name:
        return node.inside.get(name) if isinstance(node, Table) else None
    rows = node if isinstance(node, list) else node.value if isinstance(node, Cell) else ()
    if not isinstance(rows, list | tuple) or int(place) >= len(rows):
        return None
    found = rows[int(place)]
    return found if isinstance(found, Cell | Table | list) else None
