"""Problems of input: what is wrong, where, what is accepted, and how to mend it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["InputError", "Problem"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in what the user gave us.

    Args:
        problem: what is wrong, one plain clause without a full stop.
        value: the text as given, or "" where nothing was given.
        accepted: what would have been accepted, in the user's own units.
        mend: what to type or do instead, one sentence.
        key: dotted key of the car file (``body.lip_depth``), option name, or "".
        file: name of the file as the user wrote it, or "".
        line: line in that file, counted from 1, or None.
        column: column in that line, counted from 1, or None.
    """

    problem: str
    value: str = ""
    accepted: str = ""
    mend: str = ""
    key: str = ""
    file: str = ""
    line: int | None = None
    column: int | None = None

    def as_dict(self) -> dict[str, str | int | None]:
        """Return the problem as the JSON object that every surface uses."""
        return {
            "file": self.file or None,
            "line": self.line,
            "column": self.column,
            "key": self.key or None,
            "value": self.value or None,
            "problem": self.problem,
            "accepted": self.accepted or None,
            "mend": self.mend or None,
        }

    def __str__(self) -> str:
        place = ", ".join(
            part for part in (self.file, f"line {self.line}" if self.line is not None else "", self.key) if part
        )
        text = f"{place}: {self.problem}" if place else self.problem
        if self.value:
            text += f': got "{self.value}"'
        if self.accepted:
            text += f"; accepted: {self.accepted}"
        text += "."
        if self.mend:
            text += f" {self.mend}"
        return text


class InputError(ValueError):
    """Input that cannot be used; carries every problem found, never an empty list."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        found = (problems,) if isinstance(problems, Problem) else tuple(problems)
        if not found:
            found = (Problem("the input cannot be used, and the reason was not recorded"),)
        self.problems: tuple[Problem, ...] = found
        super().__init__("\n".join(str(each) for each in found))
