"""Copies of a shop's file: made while it is in use, checked, and put back."""

from __future__ import annotations

import os
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path

from carwright.problems import Problem
from carwright.shop.engine import APPLICATION_ID, busy, faults_told, looked_at
from carwright.shop.places import Place, ShopDamaged, ShopFault
from carwright.shop.tables import VERSIONS

__all__ = ["backup", "copy_file", "copy_name", "restore"]

_WAIT_S = 15.0


def copy_name(path: Path, word: str, at: datetime) -> Path:
    """Return where a copy goes that the program makes by itself: beside the shop, with a word and the moment."""
    return path.with_name(f"{path.name}.{word}-{at.strftime('%Y%m%dT%H%M%SZ')}.copy")


def backup(place: Place, to: Path) -> None:
    """Copy a shop while it is in use: the copy is one moment's state, is checked, and opens as a shop.

    Raises:
        ShopFault: there is no shop, or it is on a server, or damaged; ``to`` is there already or cannot be written.
    """
    path = _file_of(place, "Let the server's own tool copy it: pg_dump --format=custom --file=shop.dump ADDRESS")
    if not path.is_file():
        raise ShopFault(Problem("there is no shop there", file=str(place), mend="Name it with --shop."))
    if not path.stat().st_size:
        mend = "Nothing was copied. Name the shop's file with --shop."
        raise ShopFault(Problem("this file is empty: there is no shop in it", file=str(place), mend=mend))
    if to.exists():
        raise ShopFault(
            Problem("there is a file of that name already", file=str(to), mend="Nothing was written. Name another.")
        )
    copy_file(place, to)


def copy_file(place: Place, to: Path) -> None:
    """Copy a shop's file as it is at one moment, while others may save; whole or not at all.

    Raises:
        ShopFault: the file cannot be read or is damaged, or the copy cannot be written.
    """
    assert place.path is not None
    part = to.with_name(f"{to.name}.{os.getpid()}-{threading.get_ident()}.part")  # nobody else writes this one
    try:
        os.close(os.open(part, os.O_CREAT | os.O_WRONLY, 0o600))  # nobody but its owner reads it
        with (
            faults_told(place),
            closing(sqlite3.connect(place.path, timeout=_WAIT_S)) as source,
            closing(sqlite3.connect(part)) as target,
        ):
            _fill(source, target, place)
            # A copy is one file: what SQLite would keep beside it goes into it.
            target.execute("PRAGMA journal_mode = DELETE")
            sound = target.execute("PRAGMA integrity_check").fetchone()[0]
        if sound != "ok":
            raise ShopDamaged(
                Problem(
                    f"the file is damaged: {sound}",
                    file=str(place),
                    mend="Leave it as it is, and fetch the last copy back with: carwright shop restore COPY",
                )
            )
        part.replace(to)
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        mend = "Name another place, on a disk with room; nothing was written."
        raise ShopFault(Problem(f"the copy cannot be written: {reason}", file=str(to), mend=mend)) from fault
    finally:
        part.unlink(missing_ok=True)


def restore(place: Place, copy: Path, *, at: datetime) -> Path | None:
    """Put a copy back in the shop's place and return where the state before it was put aside; None where none was.

    Programs that have the shop open go on with what was put back.

    Raises:
        ShopFault: the copy is no sound shop of a known version, or the shop cannot be written; it is then as it was.
    """
    path = _file_of(place, "Let the server's own tool put it back: pg_restore --clean --dbname=ADDRESS shop.dump")
    _see_that_sound(copy)
    aside = copy_name(path, "before-restore", at)
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        _put(copy, path)
        return None
    try:
        copy_file(place, aside)
    except ShopDamaged:
        # What is damaged is moved, not copied; what lies beside it belongs to it.
        for end in ("", "-wal", "-shm", "-journal"):
            part = path.with_name(path.name + end)
            if part.exists():
                part.replace(aside.with_name(aside.name + end))
    _put(copy, path)
    return aside


def _put(copy: Path, path: Path) -> None:
    """Copy into the file itself, as one save, so that programs that have it open see it."""
    place = Place("sqlite", path)
    with (
        faults_told(place),
        looked_at(copy) as source,
        closing(sqlite3.connect(path, timeout=_WAIT_S)) as target,
    ):
        _fill(source, target, place)


def _fill(source: sqlite3.Connection, target: sqlite3.Connection, place: Place) -> None:
    """Copy all pages in one step; where another program holds the file, wait as long as a save would."""
    last = time.monotonic() + _WAIT_S

    def look(status: int, _remaining: int, _total: int) -> None:
        # By itself it would wait for ever.
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and time.monotonic() > last:
            raise ShopFault(busy(place))

    source.backup(target, progress=look, sleep=0.05)


def _file_of(place: Place, mend: str) -> Path:
    if place.path is None:
        raise ShopFault(Problem("this shop is on a server", file=str(place), mend=mend))
    return place.path


@contextmanager
def _of_a_copy(place: Place) -> Iterator[None]:
    """Turn what the database says of a copy's file into what can be done about that."""
    try:
        with faults_told(place):
            yield
    except ShopDamaged as fault:
        mend = "The shop was left as it is. Name another copy; those that the program made stand beside the shop."
        raise ShopFault(Problem("the copy is damaged, or is no copy of a shop", file=str(place), mend=mend)) from fault


def _see_that_sound(copy: Path) -> None:
    """Refuse a copy that is not there, no shop, damaged, or of a newer program."""
    if not copy.is_file():
        raise ShopFault(
            Problem("there is no such copy", file=str(copy), mend="Name a file made by: carwright shop backup")
        )
    place = Place("sqlite", copy)
    if not copy.stat().st_size:
        mend = "Nothing was changed. Name another copy; those that the program made stand beside the shop."
        raise ShopFault(Problem("this file is empty: there is no copy in it", file=str(copy), mend=mend))
    with _of_a_copy(place), looked_at(copy) as opened:
        mark = opened.execute("PRAGMA application_id").fetchone()[0]
        sound = opened.execute("PRAGMA integrity_check").fetchone()[0]
        if mark != APPLICATION_ID or sound != "ok":
            raise ShopFault(
                Problem(
                    "the copy is damaged" if mark == APPLICATION_ID else "this is no copy of a shop",
                    file=str(copy),
                    mend="The shop was left as it is. Name another copy.",
                )
            )
        (version,) = opened.execute("SELECT version_num FROM alembic_version").fetchone()
    if version not in VERSIONS:
        raise ShopFault(
            Problem(
                "the copy was written by a newer version of the program",
                file=str(copy),
                mend="The shop was left as it is. Bring the program up to date: pip install --upgrade carwright",
            )
        )
