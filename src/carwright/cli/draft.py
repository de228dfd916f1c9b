"""A car file on the disk that grows answer by answer: each is checked with all that went before, and saved at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from carwright.car.answers import Answers
from carwright.car.read import bytes_of
from carwright.car.write import Written, save

__all__ = ["Draft"]


class Draft(Answers):
    """A car file on the disk, and the answers in it."""

    def __init__(self, path: Path) -> None:
        """Open the file at ``path``, or begin a new one in its place; nothing is written yet.

        Raises:
            InputError: the file is there and cannot be used.
        """
        self.path = path
        self.begun = path.exists()
        super().__init__(bytes_of(path) if self.begun else None, file=str(path))

    def put(self, changes: Mapping[str, Written]) -> None:
        """Write some values into the file, None taking one out.

        Raises:
            InputError: a value cannot be used, or contradicts another. Then the file is as it was.
        """
        super().put(changes)
        save(self.path, self.data)
        self.begun = True
