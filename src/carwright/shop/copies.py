"""Copies of a shop's file, made while it is in use, checked, and put back."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from carwright.problems import Problem
from carwright.shop.engine import faults_told
from carwright.shop.places import Place, ShopFault

__all__ = ["copy_file"]


def copy_file(place: Place, to: Path) -> None:
    """Copy a shop's file as it is at one moment, while others may save; whole or not at all.

    Raises:
        ShopFault: the file cannot be read, or the copy cannot be written or is not sound.
    """
    assert place.path is not None
    part = to.with_name(to.name + ".part")
    try:
        with (
            faults_told(place),
            closing(sqlite3.connect(place.path, timeout=15)) as source,
            closing(sqlite3.connect(part)) as target,
        ):
            source.backup(target)
            target.execute("PRAGMA journal_mode = DELETE")
            sound = target.execute("PRAGMA integrity_check").fetchone()
        if sound != ("ok",):
            raise ShopFault(
                Problem(
                    f"the file is damaged: {sound[0]}",
                    file=str(place),
                    mend="Leave it as it is, and fetch the last copy back with: carwright shop restore COPY",
                )
            )
        part.replace(to)
    except OSError as fault:
        raise ShopFault(Problem(f"the copy cannot be written: {fault.strerror}", file=str(to))) from fault
    finally:
        part.unlink(missing_ok=True)
