"""Whose turn it is: what belongs to an older change of a page is not made any more when a newer one has come."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from typing import Final

__all__ = ["Turns"]

_KEPT: Final = 64
"""Open pages that are remembered; one that is forgotten makes everything to its end."""


class Turns:
    """Counts the changes of each open page."""

    def __init__(self) -> None:
        self._counted: OrderedDict[str, int] = OrderedDict()
        self._lock = Lock()

    def take(self, page: str) -> None:
        """Begin a newer change of a page."""
        with self._lock:
            self._counted[page] = self._counted.pop(page, 0) + 1
            while len(self._counted) > _KEPT:
                self._counted.popitem(last=False)

    def now(self, page: str) -> int:
        """Return which change of a page is the newest."""
        with self._lock:
            return self._counted.get(page, 0)
