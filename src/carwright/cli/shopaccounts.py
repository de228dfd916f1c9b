"""The names of a club, at the place where the shop is kept: added, given another pass phrase, taken away."""

from __future__ import annotations

import sys
from datetime import date
from getpass import getpass
from typing import TYPE_CHECKING, Any

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.shop import Shop

__all__ = ["account"]


def account(shop: Shop, words: tuple[str, ...]) -> tuple[dict[str, Any], list[str]]:
    """Do what the words behind ``carwright shop account`` say; return it as JSON values and as lines.

    Args:
        shop: the shop.
        words: ``add NAME``, ``drop NAME`` or ``list``.

    Raises:
        InputError: the words say something else, or the pass phrase cannot be used.
    """
    from carwright.web.accounts import Accounts

    accounts = Accounts(shop)
    match words:
        case ("list",):
            names = list(accounts.names())
            return {"accounts": names}, names or ["Nobody has a name here yet."]
        case ("add", name):
            kept = accounts.add(name, _phrase(), on=date.today().isoformat())
            return {"added": kept}, [f"{kept} can come in now, with name and pass phrase."]
        case ("drop", name):
            kept = accounts.drop(name)
            return {"dropped": kept}, [f"{kept} cannot come in any more; what {kept} saved stays."]
        case _:
            accepted = "account add NAME, account drop NAME, account list"
            raise InputError(Problem("these words say nothing about an account", " ".join(words), accepted))


def _phrase() -> str:
    """Return a pass phrase: asked for twice at a terminal, unseen; else one line of standard input."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    phrase = getpass("Pass phrase, 10 signs or more: ")
    if getpass("The same again: ") != phrase:
        raise InputError(Problem("the two are not alike", mend="Give the command again."))
    return phrase
