"""Named accounts of a club's shop: hashed with Argon2id, kept in the shop, rate limited at the door."""

from __future__ import annotations

import json
import secrets
import threading
import unicodedata
from typing import TYPE_CHECKING, Final

from carwright.problems import InputError, Problem
from carwright.web.sessions import Patience, Sessions, Verdict

if TYPE_CHECKING:
    from argon2 import PasswordHasher

    from carwright.shop import Shop

__all__ = ["Accounts"]

_SETTING: Final = "account."
_SHORTEST, _LONGEST = 10, 200
_LONGEST_NAME: Final = 40


class Accounts:
    """The accounts of one shop."""

    def __init__(self, shop: Shop) -> None:
        """Use the accounts kept in ``shop``.

        Raises:
            InputError: the library that hashes is not installed.
        """
        self.shop = shop
        self.sessions = Sessions()
        self.patience = Patience()
        self._hasher = _hasher()
        # One hash at a time: each takes some 60 MB for a moment, and a crowd at the door may not fill the memory.
        self._one = threading.Lock()
        # A name that does not exist costs the same time as one that does, so that names cannot be found out.
        self._nobody = self._hasher.hash(secrets.token_hex(16))

    def add(self, name: str, phrase: str, *, on: str) -> str:
        """Add an account, or give one that exists another pass phrase; return the name as it is kept.

        Args:
            name: 1 to 40 printable signs; case does not count.
            phrase: 10 to 200 signs.
            on: the day, for the record.
        """
        kept = _name(name)
        if not kept:
            raise InputError(
                Problem("this cannot be a name", name[:80], f"1 to {_LONGEST_NAME} printable signs", key="NAME")
            )
        if not _SHORTEST <= len(phrase) <= _LONGEST:
            raise InputError(
                Problem(
                    "this pass phrase cannot be used",
                    accepted=f"{_SHORTEST} to {_LONGEST} signs",
                    mend="Four words that do not belong together are easy to keep and hard to guess.",
                )
            )
        with self._one:
            hashed = self._hasher.hash(_phrase(phrase))
        self.shop.put_setting(_SETTING + kept, json.dumps({"hash": hashed, "since": on}))
        return kept

    def remove(self, name: str) -> str:
        """Take an account away and return its name; a session that began before goes on until the program ends.

        Raises:
            InputError: there is no such account.
        """
        kept = _name(name)
        if not kept or not self.shop.drop_setting(_SETTING + kept):
            known = ", ".join(self.names()) or "nobody has one yet"
            raise InputError(Problem("there is no such account", name[:80], known, key="NAME"))
        return kept

    def names(self) -> list[str]:
        """Return the names of all accounts."""
        return [each.removeprefix(_SETTING) for each in self.shop.settings(_SETTING)]

    def any(self) -> bool:
        """Return whether there is an account at all."""
        return bool(self.shop.settings(_SETTING))

    def come_in(self, name: str, phrase: str, address: str, *, remember: bool = True) -> Verdict:
        """Return a session's secret where name and pass phrase are right, else none, or how long to wait.

        Args:
            name: the name as typed.
            phrase: the pass phrase as typed.
            address: where the try comes from; wrong ones count for the name and for the address.
            remember: whether a session begins; without it the secret only says that they were right.
        """
        from argon2.exceptions import InvalidHashError, VerificationError

        kept = _name(name)
        tried = (f"name {kept}", f"address {address}")
        wait = self.patience.wait_s(*tried)
        if wait:
            return Verdict(wait_s=wait)
        stored = self.shop.setting(_SETTING + kept) if kept else None
        hashed = str(json.loads(stored)["hash"]) if stored else self._nobody
        try:
            with self._one:
                self._hasher.verify(hashed, _phrase(phrase[: _LONGEST + 1]))
            right = stored is not None
        except (VerificationError, InvalidHashError):
            right = False
        if not right:
            self.patience.wrong(*tried)
            return Verdict(wait_s=self.patience.wait_s(*tried))
        self.patience.right(f"name {kept}")
        return Verdict(secret=self.sessions.begin(kept) if remember else "right")


def _name(name: str) -> str:
    """Return a name as it is kept: composed, small, one space between words; "" where it cannot be one."""
    plain = " ".join(unicodedata.normalize("NFKC", name).casefold().split())
    return plain if len(plain) <= _LONGEST_NAME and plain.isprintable() else ""


def _phrase(phrase: str) -> str:
    return unicodedata.normalize("NFKC", phrase)


def _hasher() -> PasswordHasher:
    try:
        from argon2 import PasswordHasher
    except ImportError:
        raise InputError(
            Problem(
                "named accounts need a library that is not installed",
                mend="Install it with: pip install 'carwright[club]'",
            )
        ) from None
    return PasswordHasher()
