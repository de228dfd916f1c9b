"""Opening a shop: making it where there is none, bringing it to the present version, refusing what is no shop."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from carwright.problems import Problem
from carwright.shop.places import Place, ShopFault, place_of

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from carwright.shop.store import Shop

__all__ = ["open_shop", "shop_version"]


_HEAD = 100
_MARK = slice(68, 72)
"""Of SQLite's files, the length of the head and the place in it of the number that marks a program's own."""


def open_shop(
    where: str | Path | None = None,
    *,
    create: bool = True,
    migrate_server: bool = False,
    clock: Callable[[], datetime] | None = None,
) -> Shop:
    """Open a shop, a context manager that several threads may use at once.

    A shop of an older version is brought to the present one, after a copy of it was made beside it.

    Args:
        where: a file, or an address such as ``postgresql://user@host/database``; without it, the user's own shop.
        create: whether to make the shop where there is none.
        migrate_server: whether a shop on a server may be brought to the present version, of which nobody makes a copy.
        clock: gives the present moment in UTC; for tests.

    Raises:
        InputError: ``where`` is nothing that a shop can be kept in.
        ShopFault: there is no shop, it is damaged, locked, of a newer program, or cannot be reached.
    """
    from carwright.shop.engine import engine_of, faults_told
    from carwright.shop.store import Shop
    from carwright.shop.tables import CURRENT

    place = place_of(where)
    if place.path is not None:
        _see_to_file(place, place.path, create=create)
    engine = engine_of(place)
    tell_time = clock or _now
    try:
        with faults_told(place):
            version = shop_version(engine, place)
        if version != CURRENT:
            if version is None and not create:
                raise ShopFault(_no_shop(place))
            if version is not None and place.path is None and not migrate_server:
                raise ShopFault(_old_server(place))
            _bring_up(place, tell_time())
    except BaseException:
        engine.dispose()
        raise
    return Shop(place, engine, tell_time)


def _now() -> datetime:
    return datetime.now(UTC)


def _old_server(place: Place) -> Problem:
    return Problem(
        "this shop is of an older version of the program",
        file=str(place),
        mend="Have it copied first (pg_dump), then bring it up with: carwright shop migrate --yes --shop ADDRESS",
    )


def _no_shop(place: Place) -> Problem:
    return Problem(
        "there is no shop there",
        file=str(place),
        mend="See to the name, or make a new one with: carwright shop migrate --shop NAME",
    )


def _empty(place: Place) -> Problem:
    return Problem(
        "this file is empty: there is no shop in it",
        file=str(place),
        mend="Nothing was changed. If a shop was in it, fetch its last copy back with: carwright shop restore COPY "
        f"--shop {place}; to begin a new one in it: carwright shop migrate --shop {place}",
    )


def _no_shops(place: Place) -> Problem:
    return Problem(
        "this is a database, but not a shop's",
        file=str(place),
        key="--shop",
        mend="Nothing was changed in it. Name the shop's own file or database.",
    )


def _see_to_file(place: Place, path: Path, *, create: bool) -> None:
    """Refuse a folder and what is no shop, untouched; make an empty file where a shop is to be made."""
    if path.is_dir():
        raise ShopFault(Problem("this is a folder", accepted="a file for the shop", file=str(path), key="--shop"))
    if path.exists():
        _see_that_a_shop(place, path, create=create)
        return
    if not create:
        raise ShopFault(_no_shop(place))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))  # nobody but its owner reads it
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise ShopFault(
            Problem(f"the shop cannot be made there: {reason}", file=str(path), mend="Name another place with --shop.")
        ) from fault


def _see_that_a_shop(place: Place, path: Path, *, create: bool) -> None:
    """Refuse a file without a shop before it is opened for writing, which would change it."""
    from carwright.shop.engine import APPLICATION_ID, faults_told, looked_at

    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
    except OSError:
        return  # why it cannot be read is told where it is opened
    if not head and not create:
        raise ShopFault(_empty(place))
    if not head or head[_MARK] == APPLICATION_ID.to_bytes(4, "big"):
        return
    with faults_told(place), looked_at(path) as opened:
        (mark,) = opened.execute("PRAGMA application_id").fetchone()
        (tables,) = opened.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if mark != APPLICATION_ID and tables:
        raise ShopFault(_no_shops(place))
    if not tables and not create:
        raise ShopFault(_no_shop(place))


def shop_version(engine: Engine, place: Place) -> str | None:
    """Return the version of the tables; None where there are no tables at all.

    Raises:
        ShopFault: it is a database, but not a shop's, or a newer program's.
    """
    from sqlalchemy import inspect, text

    from carwright.shop.engine import APPLICATION_ID
    from carwright.shop.tables import VERSIONS

    with engine.connect() as connection:
        names = set(inspect(connection).get_table_names())
        if "alembic_version" in names and "paper" in names:
            version = str(connection.scalar(text("SELECT version_num FROM alembic_version")))
        elif names:
            version = ""
        else:
            return None
        mark = connection.scalar(text("PRAGMA application_id")) if place.path is not None else APPLICATION_ID
        if not version or mark != APPLICATION_ID:
            raise ShopFault(_no_shops(place))
        if version not in VERSIONS:
            program = connection.scalar(text("SELECT value FROM setting WHERE name = 'program'")) or "a newer one"
            raise ShopFault(
                Problem(
                    f"this shop was written by a newer version of the program ({program})",
                    file=str(place),
                    mend="Nothing was changed in it. Bring the program up to date: pip install --upgrade carwright",
                )
            )
    return version


def _bring_up(place: Place, at: datetime) -> None:
    """Make the tables, or bring them to the present version, whole or not at all."""
    from sqlalchemy import text

    from carwright import __version__
    from carwright.shop.copies import copy_file, copy_name
    from carwright.shop.engine import APPLICATION_ID, engine_of, writing
    from carwright.shop.migrating import migrate, present_version
    from carwright.shop.tables import CURRENT

    mover = engine_of(place, foreign_keys=False)
    try:
        with writing(mover, place) as connection:
            # Looked at again: another program may have done it while this one waited for the lock.
            if place.path is not None and (before := present_version(connection)) not in (None, CURRENT):
                copy_file(place, copy_name(place.path, str(before), at))
            migrate(connection)
            if place.path is not None:
                connection.execute(text(f"PRAGMA application_id = {APPLICATION_ID}"))
                broken = connection.execute(text("PRAGMA foreign_key_check")).first()
                assert broken is None, f"a migration left a row without its owner: {broken}"
            connection.execute(text("DELETE FROM setting WHERE name = 'program'"))
            connection.execute(
                text("INSERT INTO setting (name, value) VALUES ('program', :value)"), {"value": __version__}
            )
    finally:
        mover.dispose()
