"""The edition of the reference data: changes with any byte of any table, so that a result can say what it rests on."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files

__all__ = ["edition"]


@cache
def edition() -> str:
    """Return twelve hexadecimal digits that stand for all tables as this program carries them.

    >>> len(edition())
    12
    """
    whole = hashlib.sha256()
    folder = files("carwright.reference") / "data"
    for table in sorted((each for each in folder.iterdir() if each.name.endswith(".toml")), key=lambda each: each.name):
        data = table.read_bytes()
        whole.update(f"{table.name} {len(data)}\n".encode())
        whole.update(data)
    return whole.hexdigest()[:12]
