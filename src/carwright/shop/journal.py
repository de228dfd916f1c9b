"""The journal of changes, by which open pages learn what others did, and the shop's settings."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, delete, func, insert, select

from carwright.shop.papers import as_text, moment
from carwright.shop.records import Change, ChangeKind
from carwright.shop.tables import change, setting

__all__ = ["drop_setting", "get_setting", "last", "put_setting", "settings", "since", "write"]


def write(
    connection: Connection, kind: ChangeKind, *, at: datetime, slug: str = "", revision: int = 0, by: str = ""
) -> Change:
    """Write an entry and return it; numbers grow in the order in which changes become visible."""
    number = connection.execute(
        insert(change).values(at=as_text(at), kind=kind, slug=slug, revision=revision, by=by).returning(change.c.number)
    ).scalar_one()
    return Change(number, at, kind, slug, revision, by)


def since(connection: Connection, number: int, limit: int) -> list[Change]:
    """Return the entries after ``number``, oldest first."""
    rows = connection.execute(
        select(change).where(change.c.number > number).order_by(change.c.number).limit(limit)
    ).all()
    return [Change(row.number, moment(row.at), row.kind, row.slug, row.revision, row.by) for row in rows]


def last(connection: Connection) -> int:
    """Return the number of the last entry, or 0."""
    return connection.scalar(select(func.max(change.c.number))) or 0


def get_setting(connection: Connection, name: str) -> str | None:
    """Return a setting, or None."""
    return connection.scalar(select(setting.c.value).where(setting.c.name == name))


def settings(connection: Connection, prefix: str) -> dict[str, str]:
    """Return the settings whose names begin so."""
    rows = connection.execute(
        select(setting.c.name, setting.c.value)
        .where(setting.c.name.startswith(prefix, autoescape=True))
        .order_by(setting.c.name)
    ).all()
    return {row.name: row.value for row in rows}


def drop_setting(connection: Connection, name: str, *, by: str, at: datetime) -> Change | None:
    """Take a setting away and return the journal's entry, or None where there was none."""
    gone = connection.execute(delete(setting).where(setting.c.name == name)).rowcount
    return write(connection, "setting", at=at, by=by) if gone else None


def put_setting(connection: Connection, name: str, value: str, *, by: str, at: datetime) -> Change:
    """Make a setting and return the journal's entry."""
    connection.execute(delete(setting).where(setting.c.name == name))
    connection.execute(insert(setting).values(name=name, value=value))
    return write(connection, "setting", at=at, by=by)
