"""Who has come in, and how long a stranger must wait before he may try again."""

from __future__ import annotations

import math
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

__all__ = ["Patience", "Sessions", "Verdict"]

_TRIES: Final = 5
_WINDOW_S: Final = 300.0
_MOST: Final = 10_000
_LONGEST_S: Final = 14 * 86_400.0


class Patience:
    """Counts wrong tries, so that nobody guesses: after five in five minutes the next must wait."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        """Count by ``clock``, in seconds."""
        self.clock = clock
        self._wrong: OrderedDict[str, list[float]] = OrderedDict()

    def wait_s(self, *names: str) -> int:
        """Return how many seconds must pass before the next try in any of these names, 0 for none."""
        now = self.clock()
        waits = [0.0]
        for name in names:
            recent = [at for at in self._wrong.get(name, ()) if now - at < _WINDOW_S]
            if len(recent) >= _TRIES:
                waits.append(_WINDOW_S - (now - recent[-_TRIES]))
        return math.ceil(max(waits))

    def wrong(self, *names: str) -> None:
        """Note a wrong try."""
        now = self.clock()
        for name in names:
            tries = [at for at in self._wrong.pop(name, []) if now - at < _WINDOW_S]
            self._wrong[name] = [*tries, now]
        while len(self._wrong) > _MOST:
            self._wrong.popitem(last=False)

    def right(self, *names: str) -> None:
        """Forget the wrong tries of a name that was right."""
        for name in names:
            self._wrong.pop(name, None)


class Sessions:
    """Who has come in, by the secret in his browser; all end with the program."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        """Count days by ``clock``, in seconds."""
        self.clock = clock
        self._names: OrderedDict[str, tuple[str, float]] = OrderedDict()

    def begin(self, name: str) -> str:
        """Return a new secret for ``name``."""
        secret = secrets.token_urlsafe(32)
        self._names[secret] = (name, self.clock() + _LONGEST_S)
        while len(self._names) > _MOST:
            self._names.popitem(last=False)
        return secret

    def name_of(self, secret: str) -> str | None:
        """Return whose secret this is, None for nobody's."""
        name, until = self._names.get(secret, ("", 0.0))
        return name if name and until > self.clock() else None

    def end(self, secret: str) -> None:
        """Forget a secret."""
        self._names.pop(secret, None)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What came of a try to come in: the secret for the browser, or how long to wait."""

    secret: str = ""
    wait_s: int = 0
