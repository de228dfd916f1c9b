"""A car file's tree with some values changed, before anything is written.

``write.set_values`` changes the text and keeps every comment; a page that plans anew at each keystroke needs only what
the changed text would say, and sooner. Both come to the same car, which a test holds.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from carwright.car.document import Cell, Node, Table, decoded, document_of, list_text
from carwright.car.write import Written, parts_of
from carwright.problems import InputError, Problem

__all__ = ["drafted", "put_values"]


def drafted(document: bytes, changes: Mapping[str, Written], *, file: str = "") -> tuple[Table, tuple[Problem, ...]]:
    """Return what ``document_of`` gives for a car file, with values put into its tree.

    The last few files are kept as they were parsed: whoever changes one number after another reads each text once.

    Raises:
        InputError: it is no text, or what ``put_values`` finds.
    """
    root, slips = _parsed(document, file)
    own = _copied(root)
    put_values(own, changes)
    return own, slips


@lru_cache(maxsize=8)
def _parsed(document: bytes, file: str) -> tuple[Table, tuple[Problem, ...]]:
    return document_of(decoded(document, file=file))


def _copied(table: Table) -> Table:
    def copied(node: Node) -> Node:
        if isinstance(node, Cell):
            return node
        return _copied(node) if isinstance(node, Table) else [_copied(each) for each in node]

    return Table(table.line, table.explicit, {name: copied(each) for name, each in table.inside.items()})


def put_values(root: Table, changes: Mapping[str, Written]) -> None:
    """Put values into the tree of a car file, in place.

    Args:
        root: the tree, as ``document_of`` gives it.
        changes: place to what shall stand there, as for ``set_values``; None takes the key out.

    Raises:
        InputError: a value stands where a section would have to, or a row is past the end of its list.
    """
    for place, value in changes.items():
        _put(root, place, value)


def _put(root: Table, place: str, value: Written) -> None:
    parts = parts_of(place)
    table = root
    at = 0
    while at < len(parts) - 1:
        name = str(parts[at])
        row = parts[at + 1]
        node = table.inside.get(name)
        if isinstance(row, int) and at + 1 < len(parts) - 1:
            rows = table.inside.setdefault(name, []) if value is not None else node
            if not isinstance(rows, list) or row > len(rows) or (row == len(rows) and value is None):
                raise _nowhere(place)
            if row == len(rows):
                rows.append(Table(table.line, explicit=True))
            table, at = rows[row], at + 2
            continue
        if node is None:
            if value is None:
                return
            node = table.inside.setdefault(name, Table(table.line))
        if not isinstance(node, Table):
            raise _nowhere(place)
        table, at = node, at + 1
    name = str(parts[at])
    if value is None:
        table.inside.pop(name, None)
        return
    old = table.inside.get(name)
    line, column = (old.line, old.column) if isinstance(old, Cell) else (table.line, 1)
    table.inside[name] = _cell(value, line, column)


def _nowhere(place: str) -> InputError:
    return InputError(Problem("there is nothing at this place", place, mend="Count the rows from 0.", key=place))


def _cell(value: Written, line: int, column: int) -> Cell:
    if isinstance(value, (list, tuple)):
        return Cell(tuple(_cell(each, line, column) for each in value), list_text(list(value)), line, column)
    text = str(value).lower() if isinstance(value, bool) else str(value)
    return Cell(value, text, line, column)
