"""Lots as they were bought, and plans as they were made."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Final

from sqlalchemy import Connection, delete, insert, select, update

from carwright.problems import InputError, Problem
from carwright.shop import journal
from carwright.shop.cars import paper_of
from carwright.shop.papers import as_text, fetch_document, keep_document, moment, one_revision
from carwright.shop.records import Change, Lot, PlanMade
from carwright.shop.tables import car, lot, lot_car, plan_made, revision

__all__ = ["add_lot", "change_lot", "lots", "plan_data", "plan_record", "plans"]


def add_lot(
    connection: Connection,
    name: str,
    *,
    bought_on: date | None,
    bought_for: str,
    note: str,
    cars: Sequence[str],
    by: str,
    at: datetime,
) -> Lot:
    """Add a lot with the cars that came in it."""
    words, paid = _checked_name(name), _checked_price(bought_for)
    number = connection.execute(
        insert(lot).values(name=words, **_row(bought_on, paid, note)).returning(lot.c.id)
    ).scalar_one()
    _put_cars(connection, number, cars)
    journal.write(connection, "lot", at=at, by=by)
    return Lot(number, words, bought_on, paid, note.strip(), tuple(cars))


def change_lot(connection: Connection, now: Lot, *, by: str, at: datetime) -> Change:
    """Write a lot anew in place of the one with its id."""
    changed = connection.execute(
        update(lot)
        .where(lot.c.id == now.id)
        .values(name=_checked_name(now.name), **_row(now.bought_on, now.bought_for, now.note))
    )
    if not changed.rowcount:
        raise InputError(Problem("there is no such lot in the shop", str(now.id), key="lot"))
    connection.execute(delete(lot_car).where(lot_car.c.lot_id == now.id))
    _put_cars(connection, now.id, now.cars)
    return journal.write(connection, "lot", at=at, by=by)


def lots(connection: Connection) -> list[Lot]:
    """Return every lot, the last one first."""
    cars: dict[int, list[str]] = {}
    for number, slug in connection.execute(
        select(lot_car.c.lot_id, car.c.slug).join(car, car.c.paper_id == lot_car.c.paper_id).order_by(car.c.slug)
    ):
        cars.setdefault(number, []).append(slug)
    rows = connection.execute(select(lot).order_by(lot.c.id.desc())).all()
    return [
        Lot(
            row.id,
            row.name,
            None if row.bought_on is None else date.fromisoformat(row.bought_on),
            row.bought_for,
            row.note,
            tuple(cars.get(row.id, ())),
        )
        for row in rows
    ]


def _checked_name(name: str) -> str:
    words = " ".join(name.split())
    if not words or len(words) > 200 or not words.isprintable():
        raise InputError(
            Problem("this cannot be the name of a lot", name[:80], "1 to 200 printable characters", key="name")
        )
    return words


_PRICE: Final = re.compile(
    r"[^\W\d_]{0,4}[^\w\s.,+-]?\s*\d{1,3}(?:[ ']?\d{3}){0,2}(?:[.,]\d{1,2})?\s*(?:[^\W\d_]{0,12}|[^\w\s])"
)
"""A sum with its currency before or behind, or without one."""


def _checked_price(text: str) -> str:
    words = " ".join(text.split())
    if words and _PRICE.fullmatch(words) is None:
        raise InputError(
            Problem(
                "this is not a price",
                words[:80],
                "a number with its currency or without, as 24 or 24.50 EUR",
                "Leave it empty where nobody remembers; words belong into the note.",
                key="bought_for",
            )
        )
    return words


def _row(bought_on: date | None, bought_for: str, note: str) -> dict[str, str | None]:
    return {
        "bought_on": None if bought_on is None else bought_on.isoformat(),
        "bought_for": bought_for.strip(),
        "note": note.strip(),
    }


def _put_cars(connection: Connection, number: int, cars: Sequence[str]) -> None:
    """Put cars into a lot, out of any other: a car came in one."""
    rows = [{"lot_id": number, "paper_id": paper_of(connection, each).id} for each in dict.fromkeys(cars)]
    if rows:
        connection.execute(delete(lot_car).where(lot_car.c.paper_id.in_([row["paper_id"] for row in rows])))
        connection.execute(insert(lot_car), rows)


def plan_record(
    connection: Connection,
    slug: str,
    number: int,
    *,
    kind: str,
    sha256: str,
    version: str,
    edition: str,
    shelf: str,
    data: bytes,
    by: str,
    at: datetime,
) -> PlanMade:
    """Keep what was made of a revision, and with which shelf, program and references; come out the same, once only."""
    of = paper_of(connection, slug)
    found = one_revision(connection, of, number)
    if found is None or found.sha256 != sha256:
        raise InputError(
            Problem(
                "the plan is not of that revision",
                value=str(number),
                key="revision",
                mend="Make the plan from the revision as it stands in the shop.",
            )
        )
    data_sha256 = keep_document(connection, data)
    for before in plans(connection, slug, limit=20):
        if (before.revision, before.kind, before.data_sha256) == (number, kind, data_sha256):
            connection.execute(
                update(plan_made)
                .where(plan_made.c.id == before.id)
                .values(version=version, edition=edition, shelf=shelf)
            )
            return replace(before, version=version, edition=edition, shelf=shelf)
    made = connection.execute(
        insert(plan_made)
        .values(
            paper_id=of.id,
            revision=number,
            kind=kind,
            version=version,
            edition=edition,
            made_at=as_text(at),
            by=by,
            data=data_sha256,
            shelf=shelf,
        )
        .returning(plan_made.c.id)
    ).scalar_one()
    journal.write(connection, "plan", at=at, slug=slug, revision=number, by=by)
    return PlanMade(made, slug, number, kind, sha256, version, edition, at, by, data_sha256, shelf)


def plans(connection: Connection, slug: str, limit: int) -> list[PlanMade]:
    """Return plans made of a car, the last first."""
    of = paper_of(connection, slug)
    rows = connection.execute(
        select(plan_made, revision.c.sha256)
        .join(
            revision,
            (revision.c.paper_id == plan_made.c.paper_id) & (revision.c.number == plan_made.c.revision),
        )
        .where(plan_made.c.paper_id == of.id)
        .order_by(plan_made.c.id.desc())
        .limit(limit)
    ).all()
    return [
        PlanMade(
            row.id,
            slug,
            row.revision,
            row.kind,
            row.sha256,
            row.version,
            row.edition,
            moment(row.made_at),
            row.by,
            row.data,
            row.shelf,
        )
        for row in rows
    ]


def plan_data(connection: Connection, slug: str, number: int) -> bytes:
    """Return what was kept of a plan."""
    of = paper_of(connection, slug)
    sha256 = connection.scalar(select(plan_made.c.data).where(plan_made.c.id == number, plan_made.c.paper_id == of.id))
    if sha256 is None:
        raise InputError(Problem("there is no such plan of this car", str(number), key="plan"))
    return fetch_document(connection, sha256)
