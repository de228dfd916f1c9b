"""The shelf's paper, and cutting plans taken from it: each once, however often it is asked for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, and_, delete, insert, select

from carwright.problems import InputError, Problem
from carwright.shop import journal, papers
from carwright.shop.papers import Paper, as_text, moment
from carwright.shop.records import RevisionKind, Saved, Taken
from carwright.shop.tables import paper, revision, taking

__all__ = ["SHELF", "choose", "mark", "save", "shelf", "take", "taken", "undo"]

SHELF = "shelf"


def shelf(connection: Connection) -> Paper | None:
    """Return the shelf's paper; None while nothing was put on it."""
    return papers.paper_named(connection, SHELF, SHELF)


def mark(connection: Connection) -> str:
    """Return the hash of the shelf's file as it now lies, "" while nothing was put on it."""
    return (
        connection.scalar(
            select(revision.c.sha256)
            .join(paper, and_(paper.c.id == revision.c.paper_id, paper.c.head == revision.c.number))
            .where(paper.c.kind == SHELF, paper.c.slug == SHELF)
        )
        or ""
    )


def save(
    connection: Connection,
    data: bytes,
    *,
    based_on: int,
    by: str,
    note: str,
    at: datetime,
    kind: RevisionKind = "saved",
) -> Saved:
    """Keep the shelf's file as a new revision."""
    of = shelf(connection) or papers.new_paper(connection, SHELF, SHELF)
    number, sha256 = papers.add_revision(connection, of, data, based_on=based_on, at=at, by=by, note=note, kind=kind)
    return _saved(connection, number, sha256, by=by, at=at)


def choose(connection: Connection, number: int, *, over: Sequence[int], by: str, at: datetime) -> Saved:
    """Make one of the saves that stand beside each other the head."""
    of = shelf(connection) or papers.new_paper(connection, SHELF, SHELF)
    sha256 = papers.choose(connection, of, number, over=over)
    return _saved(connection, number, sha256, by=by, at=at)


def _saved(connection: Connection, number: int, sha256: str, *, by: str, at: datetime) -> Saved:
    entry = journal.write(connection, "shelf", at=at, revision=number, by=by)
    now = shelf(connection)
    assert now is not None
    beside = tuple(each for each in papers.tips(connection, now) if each != number)
    return Saved(SHELF, number, sha256, beside, entry.number)


def take(connection: Connection, plan: str, data: bytes, *, based_on: int, by: str, note: str, at: datetime) -> Taken:
    """Put the shelf as it is after a plan in place of the one it was planned for, unless it was taken before."""
    before = connection.execute(select(taking).where(taking.c.plan == plan)).first()
    if before is not None:
        return Taken(plan, before.revision, moment(before.taken_at), before.by, again=True)
    _unmoved(connection, based_on)
    saved = save(connection, data, based_on=based_on, by=by, note=note, at=at)
    connection.execute(insert(taking).values(plan=plan, revision=saved.revision, taken_at=as_text(at), by=by))
    return Taken(plan, saved.revision, at, by)


def undo(connection: Connection, plan: str, data: bytes, *, based_on: int, by: str, note: str, at: datetime) -> Saved:
    """Put the shelf as it is without a plan in place of the shelf that it was taken from."""
    if not connection.execute(delete(taking).where(taking.c.plan == plan)).rowcount:
        raise InputError(Problem("this plan was not taken, or was put back already", plan, key="plan"))
    _unmoved(connection, based_on)
    return save(connection, data, based_on=based_on, by=by, note=note, at=at)


def taken(connection: Connection) -> list[Taken]:
    """Return the plans that were taken and not put back, the last first."""
    rows = connection.execute(select(taking).order_by(taking.c.taken_at.desc(), taking.c.plan)).all()
    return [Taken(row.plan, row.revision, moment(row.taken_at), row.by) for row in rows]


def _unmoved(connection: Connection, based_on: int) -> None:
    """Refuse where the shelf is no longer the one that was looked at: the same sheet cannot be cut twice."""
    of = shelf(connection)
    head = 0 if of is None else of.head
    if based_on != head:
        raise InputError(
            Problem(
                "the shelf was changed since the plan was made",
                value=str(based_on),
                accepted=str(head),
                key="based_on",
                mend="Make the plan again, from the shelf as it is now.",
            )
        )
