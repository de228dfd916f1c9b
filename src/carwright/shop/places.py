"""Where a shop is kept: a file of the user's own, or a server's database."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from carwright.draw.printers import data_folder
from carwright.problems import InputError, Problem

__all__ = ["Place", "ShopFault", "place_of"]

_FILE = "shop.carwright"
"""Name of the shop's file in the user's data folder."""


class ShopFault(InputError):  # noqa: N818 -- a fault of the file or server, not a slip in what was typed
    """The shop cannot be reached or written; nothing that was acknowledged is lost."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a shop is.

    Args:
        kind: a file, or a server.
        path: of the file; None for a server.
        url: of the server's database, as given; "" for a file.
        journal_beside: whether the file's journal may lie beside it in memory that programs share; not on a network.
    """

    kind: Literal["sqlite", "postgresql"]
    path: Path | None = None
    url: str = ""
    journal_beside: bool = True

    def __str__(self) -> str:
        """Return the place as a person may read it: without the password."""
        if self.path is not None:
            return str(self.path)
        before, at, after = self.url.rpartition("@")
        scheme, slashes, user = before.partition("://")
        return f"{scheme}{slashes}{user.split(':')[0]}{at}{after}" if at else self.url


def place_of(where: str | Path | None) -> Place:
    """Return the place that ``where`` means; without it, the shop in the user's data folder.

    Raises:
        InputError: an address of a kind that no shop can be kept in.
    """
    if where is None or where == "":
        return Place("sqlite", data_folder() / _FILE)
    text = str(where)
    if isinstance(where, str) and "://" in text:
        scheme = text.partition("://")[0].casefold()
        if scheme in ("postgresql", "postgres", "postgresql+psycopg"):
            return Place("postgresql", url="postgresql+psycopg://" + text.partition("://")[2])
        raise InputError(
            Problem(
                "a shop cannot be kept there",
                value=scheme + "://",
                accepted="a file's name, or postgresql://user@host/database",
                key="--shop",
            )
        )
    return Place("sqlite", Path(text).expanduser().absolute())
