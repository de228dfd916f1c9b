"""Photographs of a car: the file as it was given, and what is shown of it."""

from __future__ import annotations

from datetime import date, datetime
from typing import get_args

from sqlalchemy import Connection, insert, select

from carwright.problems import InputError, Problem
from carwright.shop import journal
from carwright.shop.cars import paper_of, state, tick_off, touch
from carwright.shop.papers import as_text, fetch_document, keep_document, moment
from carwright.shop.records import PHOTOGRAPHED, Photo, PhotoKind, PhotoSize
from carwright.shop.tables import photo

__all__ = ["add", "data", "of_car"]


def add(
    connection: Connection,
    slug: str,
    original: bytes,
    *,
    kind: PhotoKind,
    caption: str,
    shown: bytes,
    thumb: bytes,
    by: str,
    at: datetime,
    on: date,
) -> Photo:
    """Add a photograph to a car, and tick off the job that it shows to be done on that day."""
    if kind not in get_args(PhotoKind):
        raise InputError(Problem("there is no such kind of photograph", kind, "as found, as left", key="kind"))
    of = paper_of(connection, slug)
    sha256 = keep_document(connection, original)
    number = connection.execute(
        insert(photo)
        .values(
            paper_id=of.id,
            kind=kind,
            caption=caption.strip(),
            added_at=as_text(at),
            original=sha256,
            shown=keep_document(connection, shown),
            thumb=keep_document(connection, thumb),
        )
        .returning(photo.c.id)
    ).scalar_one()
    touch(connection, of, at)
    stage, item = PHOTOGRAPHED[kind]
    job = next(each for each in state(connection, slug).checklist if (each.stage, each.item) == (stage, item))
    if job.done_on is None:
        tick_off(connection, slug, stage, item, on, job.note or "photograph added", by=by, at=at)
    journal.write(connection, "photo", at=at, slug=slug, by=by)
    return Photo(number, slug, kind, caption.strip(), at, sha256)


def of_car(connection: Connection, slug: str) -> list[Photo]:
    """Return a car's photographs, oldest first."""
    of = paper_of(connection, slug)
    rows = connection.execute(select(photo).where(photo.c.paper_id == of.id).order_by(photo.c.id)).all()
    return [Photo(row.id, slug, row.kind, row.caption, moment(row.added_at), row.original) for row in rows]


def data(connection: Connection, slug: str, number: int, size: PhotoSize) -> bytes:
    """Return a photograph's bytes in one size."""
    if size not in get_args(PhotoSize):
        raise InputError(Problem("there is no such size", size, ", ".join(get_args(PhotoSize)), key="size"))
    of = paper_of(connection, slug)
    sha256 = connection.scalar(select(photo.c[size]).where(photo.c.id == number, photo.c.paper_id == of.id))
    if sha256 is None:
        raise InputError(Problem("there is no such photograph of this car", str(number), key="photograph"))
    return fetch_document(connection, sha256)
