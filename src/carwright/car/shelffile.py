"""Changing a shelf in its file: rows added, dropped and recounted as text, so that every other byte stays as it was.

A shelf has hundreds of rows and a plan changes a few. Only their lines are touched; then the old and the new text are
both read, and unless they differ in exactly what was asked, nothing is given back.
"""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from carwright.car.document import decoded
from carwright.car.statements import quoted
from carwright.problems import InputError, Problem

__all__ = ["TABLES", "Row", "ShelfEdit", "digest", "edited"]

TABLES = ("sheet", "strip", "rod", "tube", "wire", "washer", "bolster", "coupler", "screw", "drill", "ballast")
"""Tables of stock, in the order in which they are told."""

_MARK = b"\xef\xbb\xbf"
_HEADER = re.compile(r"\s*\[\[\s*shelf\s*\.\s*([a-z]+)\s*\]\]\s*(?:#.*)?$")
_ANY_HEADER = re.compile(r"\s*\[{1,2}\s*[A-Za-z_]")
_VALUE = r"\"(?:[^\"\\]|\\.)*\"|'[^']*'|[^\s#\"']+"

Value = str | int | bool | Sequence[str]
Row = tuple[str, int]
"""A row by its table and its place in it, counted from 0."""


@dataclass(frozen=True, slots=True)
class ShelfEdit:
    """What is to change in a shelf file.

    Args:
        change: row to what shall stand behind some of its keys.
        add: tables and the keys of new rows, which come last.
        drop: rows to be taken out.
    """

    change: Mapping[Row, Mapping[str, Value]] = field(default_factory=dict)
    add: Sequence[tuple[str, Mapping[str, Value]]] = ()
    drop: Sequence[Row] = ()


def digest(document: bytes) -> str:
    """Return a digest of a file's bytes, by which it is known again."""
    return hashlib.sha256(document).hexdigest()[:16]


def edited(document: bytes, edit: ShelfEdit, *, file: str = "") -> bytes:
    """Return the shelf file with the changes made; comments, order, byte-order mark and line ends stay as they are.

    Args:
        document: the bytes of a shelf file, or of a car file with a shelf.
        edit: what is to change.
        file: its name, for problems.

    Raises:
        InputError: the file is no TOML, or its rows are not written as ``[[shelf.sheet]]`` with a key on each line.
    """
    decoded(document, file=file)
    text = document.removeprefix(_MARK).decode("utf-8")
    end = "\r\n" if text.count("\r\n") * 2 > text.count("\n") else "\n"
    try:
        tree = tomllib.loads(text)
        lines = text.split("\n")
        rows = _rows(lines)
        for place, values in edit.change.items():
            _change(lines, rows[place], values, end)
        kept = _dropped(lines, [rows[place] for place in edit.drop])
        new = _appended("\n".join(kept), edit.add, end)
        if _said(tomllib.loads(new)) != _said(_expected(tree, edit)):
            raise _unsafe(file)
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError) as slip:
        if isinstance(slip, InputError):
            raise
        raise _unsafe(file) from None
    return (_MARK if document.startswith(_MARK) else b"") + new.encode("utf-8")


def _unsafe(file: str) -> InputError:
    return InputError(
        Problem(
            "the shelf is written in a way that cannot be changed safely",
            accepted="[[shelf.sheet]] on a line of its own, and a line for each key below it",
            mend="Write it so, or change it with a text editor; nothing was written.",
            file=file,
        )
    )


def _rows(lines: Sequence[str]) -> dict[Row, tuple[int, int]]:
    """Return each row's first line and the line behind its last key."""
    found: dict[Row, tuple[int, int]] = {}
    count: dict[str, int] = {}
    open_: Row | None = None
    for at, line in enumerate(lines):
        if _ANY_HEADER.match(line):
            header = _HEADER.match(line)
            open_ = None
            if header is not None:
                table = header.group(1)
                open_ = (table, count.get(table, 0))
                count[table] = open_[1] + 1
                found[open_] = (at, at + 1)
        elif open_ is not None and line.strip() and not line.lstrip().startswith("#"):
            found[open_] = (found[open_][0], at + 1)
    return found


def _change(lines: list[str], span: tuple[int, int], values: Mapping[str, Value], end: str) -> None:
    first, behind = span
    more: list[str] = []
    for name, value in values.items():
        line = re.compile(rf"(\s*{re.escape(name)}\s*=\s*)({_VALUE})(\s*(?:#.*)?)$", re.DOTALL)
        for at in range(first + 1, behind):
            there = line.match(lines[at])
            if there is not None:
                in_quotes = there.group(2)[0] in "\"'"
                shown = quoted(str(value)) if in_quotes and not isinstance(value, bool) else _toml(value, end)
                lines[at] = f"{there.group(1)}{shown}{there.group(3)}"
                break
        else:
            more.append(f"{name} = {_toml(value, end)}")
    if more:
        # Written into the row's last line, so that the places of all other rows stay true.
        last = lines[behind - 1]
        lines[behind - 1] = end.join([last.rstrip("\r"), *more]) + ("\r" if last.endswith("\r") else "")


def _dropped(lines: Sequence[str], spans: Sequence[tuple[int, int]]) -> list[str]:
    """Return the lines without some rows, and without the empty line before each."""
    gone: set[int] = set()
    for first, behind in spans:
        gone.update(range(first, behind))
        if first and not lines[first - 1].strip():
            gone.add(first - 1)
    return [line for at, line in enumerate(lines) if at not in gone]


def _appended(text: str, rows: Sequence[tuple[str, Mapping[str, Value]]], end: str) -> str:
    parts = [text]
    if rows and text and not text.endswith("\n"):
        parts.append(end)
    for table, values in rows:
        lines = [f"[[shelf.{table}]]", *(f"{name} = {_toml(value, end)}" for name, value in values.items())]
        parts.append((end if text else "") + end.join(lines) + end)
        text = "more"
    return "".join(parts)


def _toml(value: Value, end: str) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, int):
        return str(value)
    return end.join(["[", *(f"    {quoted(each)}," for each in value), "]"]) if value else "[]"


def _expected(tree: dict[str, Any], edit: ShelfEdit) -> dict[str, Any]:
    """Return what the new text must say."""
    shelf: dict[str, Any] = tree.setdefault("shelf", {}) if edit.add else tree.get("shelf", {})
    for (table, at), values in edit.change.items():
        row = shelf[table][at]
        for name, value in values.items():
            there = row.get(name)
            row[name] = str(value) if isinstance(there, str) and not isinstance(value, bool) else _plain(value)
    for table in {each[0] for each in edit.drop}:
        gone = {at for name, at in edit.drop if name == table}
        shelf[table] = [row for at, row in enumerate(shelf[table]) if at not in gone]
        if not shelf[table]:
            del shelf[table]
    for table, values in edit.add:
        shelf.setdefault(table, []).append({name: _plain(value) for name, value in values.items()})
    return tree


def _said(tree: dict[str, Any]) -> dict[str, Any]:
    """Return what a text says: a shelf without a row says nothing."""
    return {name: value for name, value in tree.items() if name != "shelf" or value}


def _plain(value: Value) -> Any:
    return list(value) if not isinstance(value, (str, int)) else value
