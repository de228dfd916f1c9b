"""Bringing a shop's tables to the present version; only a shop that is behind loads this module."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

if TYPE_CHECKING:
    from sqlalchemy import Connection

__all__ = ["known_versions", "migrate", "present_version"]


def known_versions() -> tuple[str, ...]:
    """Return every version that has a script, oldest first."""
    return tuple(each.revision for each in reversed(tuple(_scripts().walk_revisions())))


def present_version(connection: Connection) -> str | None:
    """Return the version of the tables; None where there are none."""
    return MigrationContext.configure(connection).get_current_revision()


def migrate(connection: Connection, *, to: str = "head") -> tuple[str, ...]:
    """Bring the tables to version ``to`` and return the versions passed, oldest first.

    Runs within the caller's transaction: after a fault nothing has changed.

    Args:
        connection: in a transaction that holds off every other writer, foreign keys not enforced.
        to: a version not older than the present one.
    """
    scripts = _scripts()
    context = MigrationContext.configure(connection)
    steps = tuple(scripts.iterate_revisions(to, context.get_current_revision() or "base"))
    for step in reversed(steps):
        with Operations.context(context):
            step.module.upgrade()
        context.stamp(scripts, step.revision)
    return tuple(step.revision for step in reversed(steps))


def _scripts() -> ScriptDirectory:
    folder = Path(__file__).parent / "migrations"
    return ScriptDirectory(str(folder), version_locations=[str(folder / "versions")])
