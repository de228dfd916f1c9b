"""Going through a whole shop: that the file is sound, and that what was acknowledged is there, byte for byte."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import Connection, Engine, func, select, text

from carwright.shop.engine import reading
from carwright.shop.places import Place
from carwright.shop.tables import car, document, paper, photo, revision, tip

__all__ = ["Checked", "check", "row_faults"]


@dataclass(frozen=True, slots=True)
class Checked:
    """What was gone through and found.

    Args:
        cars: how many there are.
        revisions: of cars and shelf.
        photographs: how many there are.
        bytes: of all documents.
        faults: what is wrong, a sentence each; () where all is well.
    """

    cars: int
    revisions: int
    photographs: int
    bytes: int
    faults: tuple[str, ...]


def check(engine: Engine, place: Place) -> Checked:
    """Go through a shop at one moment and say what is wrong.

    Raises:
        ShopFault: it cannot even be read.
    """
    with reading(engine, place) as connection:
        faults = [*_file(connection, place), *row_faults(connection)]
        total = 0
        for row in connection.execution_options(yield_per=50).execute(select(document.c.sha256, document.c.data)):
            total += len(row.data)
            if hashlib.sha256(row.data).hexdigest() != row.sha256:
                faults.append(f"the document {row.sha256[:12]} is not as it was saved")
        cars, revisions, photographs = (
            connection.scalar(select(func.count()).select_from(table)) or 0 for table in (car, revision, photo)
        )
    return Checked(cars, revisions, photographs, total, tuple(faults))


def _file(connection: Connection, place: Place) -> Iterator[str]:
    if place.path is None:
        return
    for (said,) in connection.execute(text("PRAGMA integrity_check")):
        if said != "ok":
            yield f"the file is damaged: {said}"
    for table, *_ in connection.execute(text("PRAGMA foreign_key_check")):
        yield f"a row of {table} has lost what it belongs to"


def row_faults(connection: Connection) -> Iterator[str]:
    """Yield what is wrong with the papers: a revision that is missing, a head that is none."""
    kept: dict[int, int] = dict(
        connection.execute(select(revision.c.paper_id, func.count()).group_by(revision.c.paper_id)).all()
    )
    heads = {tuple(row) for row in connection.execute(select(tip.c.paper_id, tip.c.number))}
    for row in connection.execute(select(paper)):
        if kept.get(row.id, 0) != row.last:
            yield f"{row.slug} has {kept.get(row.id, 0)} revisions where {row.last} were saved"
        if (row.id, row.head) not in heads:
            yield f"{row.slug} has no revision {row.head}, which should be the one that counts"
