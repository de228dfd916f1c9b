"""Cars in the shop: their papers, stages, checklists and the short of their plans."""

from __future__ import annotations

import hashlib
import re
import tomllib
import unicodedata
from collections.abc import Collection
from datetime import date, datetime
from typing import cast, get_args

from sqlalchemy import ColumnElement, Connection, and_, delete, func, insert, or_, select, update

from carwright import __version__
from carwright.problems import InputError, Problem
from carwright.reference.edition import edition
from carwright.shop import journal, papers, shelving
from carwright.shop.papers import Paper, as_text, moment
from carwright.shop.records import (
    CHECKLISTS,
    STAGES,
    CarCard,
    CarState,
    Change,
    Digest,
    Job,
    RevisionKind,
    Saved,
    Stage,
    Tick,
    next_open,
)
from carwright.shop.tables import car, digest, paper, revision, tick, tip

__all__ = [
    "add",
    "beside",
    "cards",
    "checked_stage",
    "counts",
    "get_digest",
    "holder",
    "named",
    "paper_of",
    "put_digest",
    "rename",
    "set_stage",
    "set_waits_for",
    "state",
    "tick_first",
    "tick_off",
    "touch",
]

_LONGEST_NAME = 200
_LONGEST_SLUG = 60
_DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))})
"""Names that a file may not have on some systems; a car's short name names its folder in an export."""


def paper_of(connection: Connection, slug: str) -> Paper:
    """Return a car's paper.

    Raises:
        InputError: there is no such car.
    """
    found = papers.paper_named(connection, "car", slug)
    if found is None:
        raise InputError(
            Problem("there is no such car in the shop", slug, key="car", mend="Its short name may be mistyped.")
        )
    return found


def add(
    connection: Connection, data: bytes, *, name: str | None, by: str, note: str, kind: RevisionKind, at: datetime
) -> Saved:
    """Add a car with its first revision, under a short name of its own."""
    called = _checked_name(name if name is not None else _name_in(data) or "Car")
    slug = _free_slug(connection, called)
    made = papers.new_paper(connection, "car", slug)
    number, sha256 = papers.add_revision(connection, made, data, based_on=0, at=at, by=by, note=note, kind=kind)
    stamp = as_text(at)
    connection.execute(
        insert(car).values(
            paper_id=made.id, slug=slug, name=called, stage=STAGES[0], waits_for="", created_at=stamp, updated_at=stamp
        )
    )
    entry = journal.write(connection, "car", at=at, slug=slug, revision=number, by=by)
    return Saved(slug, number, sha256, (), entry.number)


def holder(connection: Connection, data: bytes) -> tuple[str, int] | None:
    """Return the car and its latest revision that has these bytes, or None."""
    row = connection.execute(
        select(car.c.slug, revision.c.number)
        .join(revision, revision.c.paper_id == car.c.paper_id)
        .where(revision.c.sha256 == hashlib.sha256(data).hexdigest())
        .order_by(revision.c.number.desc(), car.c.slug)
    ).first()
    return None if row is None else (row.slug, row.number)


def named(connection: Connection, name: str) -> tuple[str, ...]:
    """Return the cars of a name, oldest first."""
    wanted = " ".join(name.split()).casefold()
    rows = connection.execute(select(car.c.slug, car.c.name).order_by(car.c.paper_id))
    return tuple(row.slug for row in rows if row.name.casefold() == wanted)


def cards(connection: Connection, *, stage: Stage | None, limit: int, after: str | None) -> list[CarCard]:
    """Return cars as the line shows them, last changed first."""
    wanted = (
        select(
            car.c.paper_id,
            car.c.slug,
            car.c.name,
            car.c.stage,
            car.c.waits_for,
            car.c.updated_at,
            paper.c.head,
            revision.c.sha256,
            digest.c.verdict,
            digest.c.sentence,
        )
        .join(paper, paper.c.id == car.c.paper_id)
        .join(revision, and_(revision.c.paper_id == paper.c.id, revision.c.number == paper.c.head))
        .outerjoin(digest, and_(digest.c.sha256 == revision.c.sha256, *_this_plan(connection)))
    )
    if stage is not None:
        wanted = wanted.where(car.c.stage == checked_stage(stage))
    if after is not None:
        paper_of(connection, after)
        last = connection.scalar(select(car.c.updated_at).where(car.c.slug == after))
        wanted = wanted.where(
            or_(car.c.updated_at < last, and_(car.c.updated_at == last, car.c.slug < after)),
        )
    rows = connection.execute(wanted.order_by(car.c.updated_at.desc(), car.c.slug.desc()).limit(max(0, limit))).all()
    ids = [row.paper_id for row in rows]
    done: dict[int, set[tuple[str, str]]] = {}
    for paper_id, at_stage, item in connection.execute(
        select(tick.c.paper_id, tick.c.stage, tick.c.item).where(tick.c.paper_id.in_(ids), tick.c.done_on.is_not(None))
    ):
        done.setdefault(paper_id, set()).add((at_stage, item))
    standing: dict[int, int] = dict(
        connection.execute(
            select(tip.c.paper_id, func.count()).where(tip.c.paper_id.in_(ids)).group_by(tip.c.paper_id)
        ).all()
    )
    return [
        CarCard(
            row.slug,
            row.name,
            row.stage,
            row.head,
            row.sha256,
            moment(row.updated_at),
            next_open(row.stage, done.get(row.paper_id, ())),
            row.waits_for,
            None if row.verdict is None else Digest(row.verdict, row.sentence),
            standing[row.paper_id] - 1,
        )
        for row in rows
    ]


def counts(connection: Connection) -> dict[Stage, int]:
    """Return how many cars stand at each stage."""
    found: dict[str, int] = dict(connection.execute(select(car.c.stage, func.count()).group_by(car.c.stage)).all())
    return {stage: found.get(stage, 0) for stage in STAGES}


def state(connection: Connection, slug: str) -> CarState:
    """Return everything that is now so of a car."""
    of = paper_of(connection, slug)
    row = connection.execute(select(car).where(car.c.paper_id == of.id)).one()
    heads = papers.head_of(connection, of)
    ticks = {
        (each.stage, each.item): each for each in connection.execute(select(tick).where(tick.c.paper_id == of.id)).all()
    }
    checklist = tuple(
        Tick(stage, item, _day(found.done_on), found.note)
        if (found := ticks.get((stage, item))) is not None
        else Tick(stage, item, None, "")
        for stage in STAGES
        for item in CHECKLISTS[stage]
    )
    return CarState(
        row.slug,
        row.name,
        row.stage,
        row.waits_for,
        moment(row.created_at),
        moment(row.updated_at),
        heads[0],
        heads,
        checklist,
    )


def beside(connection: Connection, slug: str, number: int) -> tuple[int, ...]:
    """Return every revision that stands beside ``number``."""
    return tuple(each for each in papers.tips(connection, paper_of(connection, slug)) if each != number)


def touch(connection: Connection, of: Paper, at: datetime) -> None:
    """Note that a car was changed."""
    connection.execute(update(car).where(car.c.paper_id == of.id).values(updated_at=as_text(at)))


def rename(connection: Connection, slug: str, name: str, *, by: str, at: datetime) -> Change:
    """Call a car by another name."""
    return _set(connection, slug, {"name": _checked_name(name)}, by=by, at=at)


def set_stage(connection: Connection, slug: str, stage: Stage, *, by: str, at: datetime) -> Change:
    """Move a car to a stage."""
    return _set(connection, slug, {"stage": checked_stage(stage)}, by=by, at=at)


def set_waits_for(connection: Connection, slug: str, text: str, *, by: str, at: datetime) -> Change:
    """Note what a car waits for."""
    return _set(connection, slug, {"waits_for": text.strip()}, by=by, at=at)


def _set(connection: Connection, slug: str, values: dict[str, str], *, by: str, at: datetime) -> Change:
    of = paper_of(connection, slug)
    connection.execute(update(car).where(car.c.paper_id == of.id).values(updated_at=as_text(at), **values))
    return journal.write(connection, "stage" if "stage" in values else "car", at=at, slug=slug, by=by)


def tick_first(connection: Connection, slug: str, jobs: Collection[Job], *, by: str, at: datetime) -> None:
    """Tick off what a save shows to be done; what was ticked off or opened again by hand stays as it is."""
    of = paper_of(connection, slug)
    told = {(row.stage, row.item) for row in connection.execute(select(tick).where(tick.c.paper_id == of.id))}
    for stage, item, on in jobs:
        if (stage, item) not in told:
            tick_off(connection, slug, stage, item, on, "", by=by, at=at)


def tick_off(
    connection: Connection,
    slug: str,
    stage: Stage,
    item: str,
    done_on: date | None,
    note: str,
    *,
    by: str,
    at: datetime,
) -> Change:
    """Tick a line of a checklist off, or open it again."""
    of = paper_of(connection, slug)
    if item not in CHECKLISTS[checked_stage(stage)]:
        raise InputError(
            Problem("there is no such line on this stage's list", item, "; ".join(CHECKLISTS[stage]), key="item")
        )
    connection.execute(
        delete(tick).where(tick.c.paper_id == of.id, tick.c.stage == stage, tick.c.item == item),
    )
    connection.execute(
        insert(tick).values(
            paper_id=of.id,
            stage=stage,
            item=item,
            done_on=None if done_on is None else done_on.isoformat(),
            note=note.strip(),
        )
    )
    touch(connection, of, at)
    return journal.write(connection, "tick", at=at, slug=slug, by=by)


def put_digest(connection: Connection, sha256: str, found: Digest, *, shelf: str) -> None:
    """Keep the short of a document's plan, in place of what was kept before, with another shelf too."""
    connection.execute(delete(digest).where(digest.c.sha256 == sha256, *_this_program()))
    connection.execute(
        insert(digest).values(
            sha256=sha256,
            shelf=shelf,
            version=__version__,
            edition=edition(),
            verdict=found.verdict,
            sentence=found.sentence,
            data=found.data,
        )
    )


def get_digest(connection: Connection, sha256: str) -> Digest | None:
    """Return the short of a document's plan, with the shelf as it now lies, of this version and edition, or None."""
    row = connection.execute(
        select(digest.c.verdict, digest.c.sentence, digest.c.data).where(
            digest.c.sha256 == sha256, *_this_plan(connection)
        )
    ).first()
    return None if row is None else Digest(row.verdict, row.sentence, bytes(row.data))


def checked_stage(stage: str) -> Stage:
    """Return ``stage`` where it is one.

    Raises:
        InputError: it is none.
    """
    if stage not in get_args(Stage):
        raise InputError(Problem("there is no such stage", stage, ", ".join(STAGES), key="stage"))
    return cast("Stage", stage)


def _this_program() -> tuple[ColumnElement[bool], ...]:
    return (digest.c.version == __version__, digest.c.edition == edition())


def _this_plan(connection: Connection) -> tuple[ColumnElement[bool], ...]:
    return (digest.c.shelf == shelving.mark(connection), *_this_program())


def _day(stored: str | None) -> date | None:
    return None if stored is None else date.fromisoformat(stored)


def _checked_name(name: str) -> str:
    words = " ".join(name.split())
    if not words or len(words) > _LONGEST_NAME or not words.isprintable():
        raise InputError(
            Problem(
                "this cannot be the name of a car", name[:80], f"1 to {_LONGEST_NAME} printable characters", key="name"
            )
        )
    return words


def _name_in(data: bytes) -> str:
    """Return ``car.name`` of a car file, or "" where it cannot be told."""
    try:
        table = tomllib.loads(data.decode("utf-8")).get("car")
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError):
        return ""
    name = table.get("name") if isinstance(table, dict) else None
    words = " ".join(name.split()) if isinstance(name, str) else ""
    return words[:_LONGEST_NAME] if words.isprintable() else ""


def _free_slug(connection: Connection, name: str) -> str:
    """Return a short name that no car has: letters, digits and hyphens, after ``name``."""
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode("ascii")
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST_SLUG].strip("-") or "car"
    if stem in _DEVICES:
        stem += "-car"
    if connection.scalar(select(car.c.slug).where(car.c.slug == stem)) is None:
        return stem
    taken = set(connection.scalars(select(car.c.slug).where(car.c.slug.startswith(f"{stem}-", autoescape=True))))
    return next(each for each in (f"{stem}-{n}" for n in range(2, len(taken) + 3)) if each not in taken)
