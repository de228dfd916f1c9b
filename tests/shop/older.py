"""Shops as earlier programs left them: the tables of each version, made by its scripts, and rows written then."""

from __future__ import annotations

import hashlib
from pathlib import Path

from sqlalchemy import Connection, text

from carwright.shop.engine import APPLICATION_ID, engine_of, writing
from carwright.shop.migrating import migrate
from carwright.shop.places import Place, place_of

CAR = b'[car]\nname = "Kept"\n\n[found]\ncoupler_height = "0.380"\n'
LATER = CAR + b"# looked at again\n"
ODD = bytes(range(256))
THEN = "2026-02-01T10:00:00.000000Z"


def make_older(where: str | Path, version: str) -> Place:
    """Make a shop of an earlier version with one car in two revisions and a third beside, a shelf and a photograph."""
    place = place_of(where)
    engine = engine_of(place, foreign_keys=False)
    with writing(engine, place) as connection:
        migrate(connection, to=version)
        if place.path is not None:
            connection.execute(text(f"PRAGMA application_id = {APPLICATION_ID}"))
        _rows_of_0001(connection)
        if version >= "0002":
            _rows_of_0002(connection)
    engine.dispose()
    return place


def _put(connection: Connection, table: str, **values: object) -> None:
    names = ", ".join(f'"{name}"' for name in values)
    marks = ", ".join(f":{name}" for name in values)
    connection.execute(text(f'INSERT INTO "{table}" ({names}) VALUES ({marks})'), values)  # noqa: S608 -- own names


def _document(connection: Connection, data: bytes) -> str:
    sha256 = hashlib.sha256(data).hexdigest()
    _put(connection, "document", sha256=sha256, data=data)
    return sha256


def _rows_of_0001(connection: Connection) -> None:
    car, later, odd = (_document(connection, each) for each in (CAR, LATER, ODD))
    _put(connection, "paper", kind="car", slug="kept", head=2, last=3)
    _put(connection, "paper", kind="shelf", slug="shelf", head=1, last=1)
    common = {"saved_at": THEN, "by": "Ada", "note": "", "kind": "saved"}
    _put(connection, "revision", paper_id=1, number=1, based_on=0, sha256=car, **common)
    _put(connection, "revision", paper_id=1, number=2, based_on=1, sha256=later, **common)
    _put(connection, "revision", paper_id=1, number=3, based_on=1, sha256=odd, **common)
    _put(connection, "revision", paper_id=2, number=1, based_on=0, sha256=odd, **common)
    for paper_id, number in ((1, 2), (1, 3), (2, 1)):
        _put(connection, "tip", paper_id=paper_id, number=number)
    _put(
        connection, "car", paper_id=1, slug="kept", name="Kept", stage="build", waits_for="wheels", created_at=THEN,
        updated_at=THEN,
    )  # fmt: skip
    _put(connection, "tick", paper_id=1, stage="cut", item="Cut the pieces", done_on="2026-02-01", note="slowly")
    _put(
        connection, "photo", paper_id=1, kind="as found", caption="A end", added_at=THEN, original=odd, shown=car,
        thumb=later,
    )  # fmt: skip
    _put(connection, "setting", name="program", value="0.0.9")
    _put(connection, "setting", name="printer/attic", value="kept")
    _put(connection, "change", at=THEN, kind="car", slug="kept", revision=1, by="Ada")


def _rows_of_0002(connection: Connection) -> None:
    odd = hashlib.sha256(ODD).hexdigest()
    _put(
        connection, "measured", paper_id=1, key="found.coupler_height", value="0.380", revision=1, taken_at=THEN,
        by="Ada", note="",
    )  # fmt: skip
    _put(
        connection, "plan_made", paper_id=1, revision=2, kind="book", version="0.0.9", edition="abc", made_at=THEN,
        by="Ada", data=odd,
    )  # fmt: skip
    _put(connection, "lot", name="Box", bought_on="2026-01-31", bought_for="35.00", note="")
    _put(connection, "lot_car", lot_id=1, paper_id=1)
    _put(connection, "taking", plan="a1b2", revision=1, taken_at=THEN, by="Ada")
