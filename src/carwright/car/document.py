"""A car file's text as a tree whose every value knows its line, with the slips of TOML found on the way.

Only two things live in the tree: a ``Cell`` (a value with its place in the text) and a ``Table`` (names to cells,
tables or lists of tables). Checks of meaning come later; here it is only about what stands where.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from carwright.car.statements import MAX_PARTS, MAX_SLIPS, Statement, TypedFloat, quoted, statements_of
from carwright.problems import InputError, Problem
from carwright.records import quickly_made

__all__ = ["MAX_BYTES", "Cell", "Node", "Table", "decoded", "document_of", "list_text"]

MAX_BYTES = 1_000_000
"""Size that a car file may have; a full one has ten thousand."""


@quickly_made
@dataclass(frozen=True, slots=True)
class Cell:
    """A value of the file: what TOML made of it, how it was typed, and where it stands (both counted from 1)."""

    value: Any
    text: str
    line: int
    column: int


@dataclass(slots=True)
class Table:
    """A table of the file while it is put together, and afterwards.

    Args:
        line: line of its header, or of the first key that implies it.
        explicit: whether it has a header of its own or was written in braces.
        inside: what stands in it.
    """

    line: int
    explicit: bool = False
    inside: dict[str, Cell | Table | list[Table]] = field(default_factory=dict)


Node = Cell | Table | list[Table]
"""What can stand behind a name."""


def decoded(data: bytes, *, file: str = "") -> str:
    """Return the text of a car file: UTF-8, with or without the mark at its beginning, with any line ends.

    Args:
        data: the file's bytes, at most ``MAX_BYTES``.
        file: its name, for the problem.

    Returns:
        The text with every line end as a single line feed.

    Raises:
        InputError: too big, not text, or not UTF-8; one problem that says which.
    """
    if len(data) > MAX_BYTES:
        raise InputError(
            Problem(
                "the file is too big to be a car file",
                "",
                f"at most {MAX_BYTES // 1_000_000} MB",
                "Check that it is the file you meant.",
                file=file,
            )
        )
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(
            Problem(
                "the file is saved as UTF-16",
                "",
                "UTF-8",
                "Save it again with the encoding UTF-8.",
                file=file,
            )
        )
    zero = data.find(b"\0")
    if zero >= 0:
        raise InputError(
            Problem(
                "the file is not a text",
                f"a zero byte at byte {zero + 1}",
                "a TOML text in UTF-8",
                "Check that it is the file you meant.",
                file=file,
                line=data.count(b"\n", 0, zero) + 1,
            )
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            Problem(
                "the file is not UTF-8",
                f"byte 0x{data[error.start]:02x} at byte {error.start + 1}",
                "UTF-8",
                "Save it again with the encoding UTF-8.",
                file=file,
                line=data.count(b"\n", 0, error.start) + 1,
            )
        ) from None
    return text.replace("\r\n", "\n").replace("\r", "\n")


def document_of(text: str) -> tuple[Table, tuple[Problem, ...]]:
    """Return a car file's tree and every slip of TOML in it; what a slip hides is left out, the rest stands."""
    statements, slips = statements_of(text)
    root = Table(1, explicit=True)
    problems = [_as_torn(slip, text) for slip in slips]
    here: Table | None = root
    under: tuple[str, ...] = ()
    for statement in statements:
        if len(problems) > MAX_SLIPS:
            break
        if statement.header:
            under = statement.path
            here = _open_section(root, statement, problems)
        elif here is not None:
            _put(here, under, statement, problems)
    if not problems:
        refusal = _refusal(text)
        if refusal is not None:
            problems.append(refusal)
    return root, tuple(problems)


def _as_torn(slip: Problem, text: str) -> Problem:
    """Return a slip with what is likeliest where the text ends within it: a file that is there only in part."""
    last = text.count("\n") + 1
    if text.endswith("\n") or slip.line != last or not slip.problem.endswith("is missing"):
        return slip
    torn = "The file ends in this line: it may have been saved or copied only in part."
    return replace(slip, mend=f"{torn} {slip.mend}".strip())


def _refusal(text: str) -> Problem | None:
    """Return what TOML itself says against a text in which no slip was found, or None: the last line of defence."""
    try:
        tomllib.loads(text)
    except RecursionError:
        return Problem("values stand too deep within values", "", "plain values", "Write plain texts and plain lists.")
    except ValueError as error:
        words = str(error)
        place = re.search(r"at line (\d+), column (\d+)", words)
        plain = re.sub(r"\s*\(at [^)]*\)\s*$", "", words).strip() or "this is not TOML"
        return Problem(
            plain[:1].lower() + plain[1:],
            accepted='[section], key = "value", # comment',
            mend='Write one key = "value" on a line.',
            line=int(place.group(1)) if place else None,
            column=int(place.group(2)) if place else None,
        )
    return None


def _open_section(root: Table, statement: Statement, problems: list[Problem]) -> Table | None:
    """Return the table that a header opens, or None where it cannot stand there."""
    name = ".".join(statement.path)
    if len(statement.path) > MAX_PARTS:
        mend = "A car file needs three: [body.notch], [trucks.a]."
        problems.append(_at(statement, "the section's name has too many parts", f"at most {MAX_PARTS}", mend))
        return None
    table = root
    for part in statement.path[:-1]:
        node = table.inside.setdefault(part, Table(statement.line))
        if isinstance(node, list):
            node = node[-1]
        if isinstance(node, Cell):
            mend = f"Line {node.line} gives {part} a value of its own; delete that line or rename the section."
            accepted = "a value or a section"
            problems.append(_at(statement, f"{part} is a value, so [{name}] cannot stand in it", accepted, mend))
            return None
        table = node
    last = statement.path[-1]
    there = table.inside.get(last)
    if isinstance(there, Cell):
        mend = f"Line {there.line} gives it a value; keep one of the two."
        problems.append(_at(statement, f"{name} is both a value and a section", "one of the two", mend))
        return None
    if statement.many:
        if isinstance(there, Table):
            mend = f"Line {there.line} writes [{name}] in single brackets; use the same brackets everywhere."
            problems.append(_at(statement, f"{name} stands in single and in double brackets", f"[{name}]", mend))
            return there
        fresh = Table(statement.line, explicit=True)
        table.inside.setdefault(last, []).append(fresh)  # type: ignore[union-attr]  # it is a list, or new
        return fresh
    if isinstance(there, list):
        mend = f"Write [[{name}]]: line {there[0].line} begins a list of them."
        problems.append(_at(statement, f"{name} stands in single and in double brackets", f"[[{name}]]", mend))
        there.append(Table(statement.line, explicit=True))
        return there[-1]
    if there is not None and there.explicit:
        mend = f"Move its keys under the first one, on line {there.line}."
        problems.append(_at(statement, f"the section [{name}] stands twice", "each section once", mend))
        return there
    if there is None:
        there = Table(statement.line)
        table.inside[last] = there
    there.explicit = True
    there.line = statement.line
    return there


def _at(statement: Statement, problem: str, accepted: str, mend: str) -> Problem:
    return Problem(
        problem,
        statement.text.strip().split("\n")[0][:80],
        accepted,
        mend,
        key=".".join(statement.path),
        line=statement.line,
        column=statement.column,
    )


def _put(table: Table, under: tuple[str, ...], statement: Statement, problems: list[Problem]) -> None:
    """Put a statement's value where it belongs, unless something stands there already."""
    full = ".".join((*under, *statement.path))
    for part in statement.path[:-1]:
        node = table.inside.setdefault(part, Table(statement.line))
        if not isinstance(node, Table):
            first = node.line if isinstance(node, Cell) else node[0].line
            problems.append(_twice(statement, full, f"{part} stands on line {first} as something else"))
            return
        table = node
    last = statement.path[-1]
    there = table.inside.get(last)
    if there is not None:
        first = there[0].line if isinstance(there, list) else there.line
        problems.append(_twice(statement, full, f"The first is on line {first}; delete one of the two"))
        return
    cursor = _Cursor(statement)
    table.inside[last] = _node(statement.value, statement, cursor)


def _twice(statement: Statement, full: str, mend: str) -> Problem:
    return Problem(
        "the key stands twice",
        _typed_text(statement.value),
        "each key once",
        f"{mend}.",
        key=full,
        line=statement.line,
        column=statement.column,
    )


@dataclass(slots=True)
class _Cursor:
    """Walks through a statement's text, finding each value where it was typed."""

    statement: Statement
    at: int = -1

    def place(self, shown: str) -> tuple[int, int]:
        """Return line and column of the next ``shown``; those of the whole value where it was typed otherwise."""
        text, offset = self.statement.text, self.statement.offset
        start = max(self.at, offset)
        found = text.find(shown, start) if shown else -1
        if found < 0:
            return self.statement.line, self.statement.column
        self.at = found + len(shown)
        if found > offset and text[found - 1] in "\"'":
            found -= 1
        lines_down = text.count("\n", 0, found)
        if lines_down == 0:
            return self.statement.line, self.statement.column + found - offset
        return self.statement.line + lines_down, found - text.rfind("\n", 0, found)


def _typed_text(value: Any) -> str:
    if isinstance(value, TypedFloat):
        return value.text
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{ … }"
    if isinstance(value, list):
        return list_text(value)
    return str(value)


def _node(value: Any, statement: Statement, cursor: _Cursor) -> Node:
    """Return a value of TOML as cells and tables."""
    if isinstance(value, dict):
        return Table(statement.line, True, {name: _node(each, statement, cursor) for name, each in value.items()})
    if isinstance(value, list) and value and all(isinstance(each, dict) for each in value):
        made = [_node(each, statement, cursor) for each in value]
        return [each for each in made if isinstance(each, Table)]
    if isinstance(value, list):
        return Cell(tuple(_cells(value, statement, cursor)), list_text(value), statement.line, statement.column)
    text = _typed_text(value)
    line, column = cursor.place(text)
    return Cell(value, text, line, column)


def list_text(values: list[Any]) -> str:
    """Return a list as it is told in a problem, of at most six values."""
    shown = ", ".join(quoted(each) if isinstance(each, str) else _typed_text(each) for each in values[:6])
    return f"[{shown}{', …' if len(values) > 6 else ''}]"


def _cells(values: list[Any], statement: Statement, cursor: _Cursor) -> Iterator[Node]:
    for value in values:
        yield _node(value, statement, cursor)
