"""The way to the database: one engine for a shop, its transactions, and its faults in plain words."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DataError, DBAPIError
from sqlalchemy.exc import TimeoutError as NoConnectionFree

from carwright.problems import InputError, Problem
from carwright.shop.places import Place, ShopDamaged, ShopFault

__all__ = ["APPLICATION_ID", "busy", "engine_of", "faults_told", "looked_at", "reading", "writing"]

APPLICATION_ID = 0x43617257
"""What marks a SQLite file as a shop ("CarW"), in the place that SQLite's file format keeps for it."""

_WAIT_S = 15.0
"""How long a save waits while another program saves."""

_LOCK = 0x43617257
"""The one lock on a server that every save holds: so the journal's numbers become visible in their order."""


def engine_of(place: Place, *, foreign_keys: bool = True) -> Engine:
    """Return an engine for the shop at ``place``; it connects at first use.

    Args:
        place: where the shop is.
        foreign_keys: whether SQLite enforces them; a migration that rebuilds a table may not.

    Raises:
        ShopFault: the driver of the server's database is not installed.
    """
    if place.path is None:
        return _server(place)
    engine = create_engine(
        URL.create("sqlite", database=str(place.path)), connect_args={"timeout": _WAIT_S}, pool_size=8, max_overflow=24
    )

    @event.listens_for(engine, "connect")
    def _opened(connection: sqlite3.Connection, _: object) -> None:
        connection.isolation_level = None  # transactions begin where _begun says, not where the driver guesses
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA journal_mode = {'WAL' if place.journal_beside else 'DELETE'}")
        cursor.execute("PRAGMA synchronous = FULL")  # an acknowledged save outlives a power cut
        cursor.execute("PRAGMA fullfsync = ON")  # and on macOS only so; nothing elsewhere
        cursor.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begun(connection: Connection) -> None:
        # A save takes its lock at the beginning: one that has read first and then finds the file locked would fail.
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


@contextmanager
def looked_at(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a file to be looked at only: neither it nor anything beside it is written.

    A file in WAL mode cannot even be read without files beside it, unless it is said that nobody changes it; so this is
    said where there are none.
    """
    still = "" if path.with_name(f"{path.name}-wal").exists() else "&immutable=1"
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro{still}", uri=True)) as opened:
        yield opened


def _server(place: Place) -> Engine:
    try:
        return create_engine(make_url(place.url), pool_size=8, max_overflow=24, pool_pre_ping=True)
    except ModuleNotFoundError as fault:
        raise ShopFault(
            Problem(
                "a shop on a server needs the driver of its database, which is not installed",
                str(place),
                key="--shop",
                mend="Install it with: pip install 'carwright[club]'",
            )
        ) from fault


_DAMAGED = ("SQLITE_CORRUPT", "SQLITE_NOTADB")


@contextmanager
def reading(engine: Engine, place: Place) -> Iterator[Connection]:
    """Give a connection that sees the shop as it is at one moment.

    Raises:
        ShopFault: the shop cannot be read.
    """
    with faults_told(place), engine.connect() as connection:
        if place.path is None:
            connection = connection.execution_options(isolation_level="REPEATABLE READ")
        with connection.begin():
            yield connection


@contextmanager
def writing(engine: Engine, place: Place) -> Iterator[Connection]:
    """Give a connection that alone may write; all of it is kept at the end, or nothing.

    Raises:
        ShopFault: the shop cannot be written; it is as it was.
    """
    with faults_told(place), engine.connect() as connection:
        connection = connection.execution_options(writes=True)
        with connection.begin():
            if place.path is None:
                connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
            yield connection


@contextmanager
def faults_told(place: Place) -> Iterator[None]:
    """Turn what the database says of a fault into what its owner can do about it; other faults pass.

    Raises:
        ShopFault: the file or server cannot do what was asked.
        InputError: a text or number was given that no database can keep.
    """
    try:
        yield
    except (DataError, UnicodeEncodeError, OverflowError) as fault:
        raise InputError(
            Problem(
                "a text or number of this kind cannot be kept",
                accepted="printable text, and numbers that a count can reach",
                mend="Nothing was changed.",
            )
        ) from fault
    except NoConnectionFree as fault:
        raise ShopFault(busy(place)) from fault
    except DBAPIError as fault:
        told = _told(place, fault.orig)
        if told is None:
            raise
        raise told from fault
    except sqlite3.Error as fault:
        told = _told(place, fault)
        if told is None:
            raise
        raise told from fault


def busy(place: Place) -> Problem:
    """Return what to say where another program holds the shop."""
    return Problem(
        "the shop is in use by another program, which has not let go of it",
        file=str(place),
        mend="Nothing was changed. Wait until the other program is done, or close it, and try again.",
    )


def _told(place: Place, fault: Any) -> ShopFault | None:
    """Return a fault of the database as one of the shop's, or None where it is a fault of the program."""
    problem = _problem(place, fault)
    if problem is None:
        return None
    damaged = str(getattr(fault, "sqlite_errorname", "")).startswith(_DAMAGED)
    return ShopDamaged(problem) if damaged else ShopFault(problem)


def _problem(place: Place, fault: Any) -> Problem | None:
    """Return what to say of a fault of the database, or None where it is a fault of the program."""
    if place.path is None:
        return _server_problem(place, fault)
    name = str(getattr(fault, "sqlite_errorname", ""))
    file = str(place)
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return busy(place)
    if name.startswith("SQLITE_FULL"):
        return Problem(
            "the disk is full: this was not saved",
            file=file,
            mend="What was saved before is safe. Make room on the disk and save again.",
        )
    if name.startswith("SQLITE_READONLY"):
        return Problem(
            "the shop may only be read, not written",
            file=file,
            mend="Nothing was changed. See to the rights of the file and of its folder.",
        )
    if name.startswith(_DAMAGED):
        return Problem(
            "the file is damaged, or is no shop",
            file=file,
            mend="Leave the file as it is, and fetch the last copy back with: carwright shop restore COPY",
        )
    if name.startswith("SQLITE_CANTOPEN"):
        return Problem(
            "the shop cannot be opened",
            file=file,
            mend="See whether its folder is there and may be written, or name another file with --shop.",
        )
    if name.startswith("SQLITE_IOERR"):
        return Problem(
            "the disk did not do what was asked: this was not saved",
            file=file,
            mend="What was saved before is safe. See whether the disk is full, failing or gone, and save again.",
        )
    return None


def _server_problem(place: Place, fault: Any) -> Problem | None:
    state = str(getattr(fault, "sqlstate", None) or "")
    file = str(place)
    if state == "53100":
        return Problem("the server's disk is full: this was not saved", file=file, mend="Ask whoever keeps the server.")
    if state in ("25006", "42501"):
        return Problem(
            "the shop may only be read, not written", file=file, mend="Ask whoever keeps the server for the right."
        )
    if type(fault).__name__ == "OperationalError":
        reason = " ".join(str(fault).split())
        return Problem(
            f"the server does not answer or does not let you in ({reason})",
            file=file,
            key="--shop",
            mend="Nothing was changed. See to the address, the name, the password and the network.",
        )
    return None
