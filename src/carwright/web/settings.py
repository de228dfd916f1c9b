"""What a page server is told when it starts: under which names it may be called, and who may come in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carwright.web.accounts import Accounts
    from carwright.web.tablet import Pairing

__all__ = ["LOOPBACK", "Settings"]

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
"""Names under which only this machine reaches itself."""


@dataclass(frozen=True, slots=True)
class Settings:
    """How the pages are served.

    Args:
        hosts: names and addresses that a request's Host may carry, without the port; anything else is refused, so that
            a foreign name that was pointed at this machine opens nothing.
        pairing: the code that a tablet must give, None where nobody but this machine is listened to.
        accounts: the named accounts of a club, None where there are none.
        today: tells the day; a test gives its own.
        patience_s: how long a page waits for a plan that takes long, before it says that it is being made.
    """

    hosts: tuple[str, ...] = LOOPBACK
    pairing: Pairing | None = None
    accounts: Accounts | None = None
    today: Callable[[], date] = field(default=date.today)
    patience_s: float = 0.5
