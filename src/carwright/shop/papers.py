"""Papers in revisions: every save is kept, none is changed, and two saves of one paper stand beside each other.

Each function works within its caller's transaction. What a save costs does not depend on how many there were: it reads
and writes rows by their keys.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, Row, delete, insert, select, update

from carwright.problems import InputError, Problem
from carwright.shop.records import Revision, RevisionHead, RevisionKind
from carwright.shop.tables import document, paper, revision, tip

__all__ = [
    "Paper",
    "add_revision",
    "as_text",
    "check_standing",
    "choose",
    "common_base",
    "fetch_document",
    "head_of",
    "history",
    "keep_document",
    "moment",
    "new_paper",
    "one_revision",
    "paper_named",
    "tips",
]


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper's row: ``head`` is the revision that counts, ``last`` the highest number given; 0 where there is none."""

    id: int
    head: int
    last: int


def as_text(at: datetime) -> str:
    """Return a moment in UTC as the text that is stored, sorting as the moments do."""
    return at.strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def moment(stored: str) -> datetime:
    """Return the moment that was stored."""
    return datetime.fromisoformat(stored)


def keep_document(connection: Connection, data: bytes) -> str:
    """Store bytes under their SHA-256, once, and return it."""
    sha256 = hashlib.sha256(data).hexdigest()
    if connection.scalar(select(document.c.sha256).where(document.c.sha256 == sha256)) is None:
        connection.execute(insert(document).values(sha256=sha256, data=data))
    return sha256


def fetch_document(connection: Connection, sha256: str) -> bytes:
    """Return the bytes stored under a hash.

    Raises:
        LookupError: there are none.
    """
    data = connection.scalar(select(document.c.data).where(document.c.sha256 == sha256))
    if data is None:
        raise LookupError(sha256)
    return bytes(data)


def paper_named(connection: Connection, kind: str, slug: str) -> Paper | None:
    """Return the paper of that kind and name, or None."""
    row = connection.execute(
        select(paper.c.id, paper.c.head, paper.c.last).where(paper.c.kind == kind, paper.c.slug == slug)
    ).first()
    return None if row is None else Paper(*row)


def new_paper(connection: Connection, kind: str, slug: str) -> Paper:
    """Make a paper without revisions."""
    row = connection.execute(insert(paper).values(kind=kind, slug=slug, head=0, last=0).returning(paper.c.id)).one()
    return Paper(row[0], 0, 0)


def tips(connection: Connection, of: Paper) -> tuple[int, ...]:
    """Return the head, then every revision beside it, oldest first."""
    numbers = connection.scalars(select(tip.c.number).where(tip.c.paper_id == of.id).order_by(tip.c.number)).all()
    return (of.head, *(each for each in numbers if each != of.head)) if of.head else ()


def add_revision(
    connection: Connection,
    of: Paper,
    data: bytes,
    *,
    based_on: int,
    at: datetime,
    by: str,
    note: str,
    kind: RevisionKind,
) -> tuple[int, str]:
    """Keep ``data`` as a revision and return its number and hash.

    Based on the head, it becomes the head; based on one that stands beside the head, it takes that one's place; based
    on any other, it stands beside them all.

    Raises:
        InputError: there is no revision ``based_on``.
    """
    if not (0 <= based_on <= of.last):
        raise InputError(
            Problem(
                "there is no such revision to base a save on",
                value=str(based_on),
                accepted=f"0 to {of.last}",
                key="based_on",
                mend="Open the car again and save from there.",
            )
        )
    number = of.last + 1
    sha256 = keep_document(connection, data)
    connection.execute(
        insert(revision).values(
            paper_id=of.id,
            number=number,
            based_on=based_on,
            sha256=sha256,
            saved_at=as_text(at),
            by=by,
            note=note,
            kind=kind,
        )
    )
    connection.execute(delete(tip).where(tip.c.paper_id == of.id, tip.c.number == based_on))
    connection.execute(insert(tip).values(paper_id=of.id, number=number))
    head = number if based_on == of.head else of.head
    connection.execute(update(paper).where(paper.c.id == of.id).values(head=head, last=number))
    return number, sha256


def choose(connection: Connection, of: Paper, number: int, *, over: Sequence[int]) -> str:
    """Make ``number`` the head in place of those it is chosen over, and return its hash; all stay in the history.

    Raises:
        InputError: one of them does not stand there to be chosen from (somebody else has chosen already).
    """
    check_standing(connection, of, number, over)
    connection.execute(delete(tip).where(tip.c.paper_id == of.id, tip.c.number.in_(tuple(over))))
    connection.execute(update(paper).where(paper.c.id == of.id).values(head=number))
    return str(
        connection.scalar(
            select(revision.c.sha256).where(revision.c.paper_id == of.id, revision.c.number == number),
        )
    )


def check_standing(connection: Connection, of: Paper, number: int, others: Sequence[int]) -> None:
    """Refuse revisions that do not stand beside each other.

    Raises:
        InputError: one of them does not stand there (somebody else has chosen already), or is named twice.
    """
    standing = tips(connection, of)
    gone = [each for each in (number, *others) if each not in standing]
    if gone or number in others:
        raise InputError(
            Problem(
                "this revision does not stand there to be chosen from: somebody may have chosen already",
                value=", ".join(map(str, gone or [number])),
                accepted=" or ".join(map(str, standing)),
                key="number" if number in gone or not gone else "over",
                mend="Look at what stands there now. Every revision is in the history.",
            )
        )


def common_base(connection: Connection, of: Paper, numbers: Sequence[int]) -> int:
    """Return the newest revision that all of ``numbers`` go back to, 0 where there is none."""
    shared: list[int] | None = None
    for number in numbers:
        way = []
        at: int | None = number
        while at:
            way.append(at)
            at = connection.scalar(
                select(revision.c.based_on).where(revision.c.paper_id == of.id, revision.c.number == at)
            )
        shared = way if shared is None else [each for each in shared if each in set(way)]
    return shared[0] if shared else 0


def one_revision(connection: Connection, of: Paper, number: int) -> Revision | None:
    """Return a revision with its document, or None."""
    row = connection.execute(
        select(revision, document.c.data)
        .join(document, document.c.sha256 == revision.c.sha256)
        .where(revision.c.paper_id == of.id, revision.c.number == number)
    ).first()
    return None if row is None else _revision(row)


def head_of(connection: Connection, of: Paper) -> tuple[Revision, ...]:
    """Return the head with its document, then every revision beside it."""
    found = (one_revision(connection, of, number) for number in tips(connection, of))
    return tuple(each for each in found if each is not None)


def history(connection: Connection, of: Paper, *, limit: int, before: int | None) -> list[RevisionHead]:
    """Return revisions, newest first, with numbers below ``before``."""
    wanted = select(revision).where(revision.c.paper_id == of.id)
    if before is not None:
        wanted = wanted.where(revision.c.number < before)
    rows = connection.execute(wanted.order_by(revision.c.number.desc()).limit(max(0, limit)))
    return [
        RevisionHead(row.number, row.based_on, row.sha256, moment(row.saved_at), row.by, row.note, row.kind)
        for row in rows
    ]


def _revision(row: Row[tuple[object, ...]]) -> Revision:
    return Revision(
        row.number, row.based_on, row.sha256, moment(row.saved_at), row.by, row.note, row.kind, bytes(row.data)
    )
