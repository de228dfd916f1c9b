"""A tablet at the bench: who may look over the local network, and how it is let in."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Final

from carwright.web.sessions import Patience, Sessions, Verdict

__all__ = ["WARNING", "Pairing", "local_addresses", "qr_svg", "qr_text"]

_DIGITS: Final = 8

WARNING: Final = (
    "The link is not encrypted: whoever is on the same network can read along, and nobody who is not. Use it at home, "
    "not on a network shared with strangers. Pairing ends when the program ends."
)
"""Said in the terminal and on the page."""


def _code() -> str:
    return "".join(secrets.choice("0123456789") for _ in range(_DIGITS))


@dataclass(frozen=True, slots=True)
class Pairing:
    """The pairing code of this run of the program, and the devices that gave it."""

    addresses: tuple[str, ...]
    code: str = field(default_factory=_code)
    sessions: Sessions = field(default_factory=Sessions)
    patience: Patience = field(default_factory=Patience)

    @property
    def said(self) -> str:
        """Return the code as it is read aloud: in two halves."""
        return f"{self.code[: _DIGITS // 2]} {self.code[_DIGITS // 2 :]}"

    def pair(self, code: str, address: str) -> Verdict:
        """Return a session's secret for the right code, else none, or how long to wait.

        All wrong tries count together, whatever address they name: eight figures, five tries in five minutes.
        """
        wait = self.patience.wait_s("all")
        if wait:
            return Verdict(wait_s=wait)
        figures = "".join(sign for sign in code if sign.isdigit())
        if secrets.compare_digest(figures.encode(), self.code.encode()):
            return Verdict(secret=self.sessions.begin(f"tablet {address}"))
        self.patience.wrong("all")
        return Verdict(wait_s=self.patience.wait_s("all"))


def local_addresses(look: Callable[[], str] | None = None) -> tuple[str, ...]:
    """Return this machine's addresses on the local network, the one it speaks from first; nothing is sent."""
    found: list[str] = []
    with suppress(OSError):
        found.append((look or _spoken_from)())
    with suppress(OSError):
        found += [str(each[4][0]) for each in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return tuple(dict.fromkeys(each for each in found if not each.startswith("127.")))


def _spoken_from() -> str:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        # Choosing a way sends nothing; 192.0.2.0/24 is kept for documentation (RFC 5737).
        probe.connect(("192.0.2.1", 9))
        return str(probe.getsockname()[0])


def qr_text(address: str) -> str:
    """Return the address as a QR code of block characters, for a terminal."""
    import io

    import segno

    said = io.StringIO()
    segno.make(address, error="m").terminal(said, compact=True)
    return said.getvalue()


def qr_svg(address: str) -> str:
    """Return the address as a QR code to stand in a page, without any style of its own."""
    import segno

    return segno.make(address, error="m").svg_inline(scale=4, border=4, svgclass="qr", lineclass=None, omitsize=True)
