"""Plain pages of 80 columns: words wrapped, figures in columns, nothing that could move a terminal's cursor."""

from __future__ import annotations

import shlex
import textwrap
from collections.abc import Sequence
from typing import Final

__all__ = ["WIDTH", "command_line", "heading", "plain", "row", "wrapped"]

WIDTH: Final = 80
"""Columns of a page; it reads the same on a terminal, in a file, through a pipe and aloud."""


def plain(text: str) -> str:
    r"""Return text with every character escaped that would move a cursor, colour it or turn its direction.

    Example:
        >>> plain("Gondola\x1b[2J")
        'Gondola\\x1b[2J'
    """
    return "".join(each if each.isprintable() else each.encode("unicode_escape").decode("ascii") for each in text)


def wrapped(text: str, *, first: str = "", rest: str | None = None, width: int = WIDTH) -> list[str]:
    """Return text as lines of at most ``width`` columns.

    Args:
        text: words; runs of white space count as one space.
        first: what the first line begins with.
        rest: what every other line begins with; without it, as many spaces as ``first`` is long.
        width: columns.
    """
    behind = " " * len(first) if rest is None else rest
    return textwrap.wrap(
        plain(" ".join(text.split())),
        width,
        initial_indent=first,
        subsequent_indent=behind,
        break_on_hyphens=False,
    ) or [first.rstrip()]


def heading(text: str, unit: str = "") -> list[str]:
    """Return an empty line and a heading; ``unit`` stands at the right edge."""
    return ["", f"{text:<{WIDTH - len(unit)}}{unit}".rstrip()]


def row(label: str, cells: Sequence[str], *, note: str = "", label_width: int = 28, cell_width: int = 9) -> list[str]:
    """Return one row of figures, each right-aligned in its column, with a note wrapped behind them."""
    figures = "  " + f"{label:<{label_width}}" + "".join(f"{each:>{cell_width}}" for each in cells)
    if not note:
        return [figures.rstrip()]
    lead = f"{figures}  "
    if len(lead) > WIDTH - 16:
        return [figures.rstrip(), *wrapped(note, first=" " * 4)]
    return wrapped(note, first=lead)


def command_line(*words: str) -> str:
    """Return a command to type, indented, quoted as a shell wants it; it is never broken over two lines."""
    return f"    carwright {shlex.join(plain(each) for each in words)}"
