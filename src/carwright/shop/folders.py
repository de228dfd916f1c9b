"""A whole shop as a folder of plain files, and back, byte for byte.

    shop.json                               everything that is no document: who saved what when, stages, lists, lots
    cars.csv, shelf.csv                     for a spreadsheet
    cars/NAME/car.toml                      the car file that counts
    cars/NAME/revisions/0001.toml           every revision
    cars/NAME/photographs/0001-shown.jpg    also -thumb.jpg and, where asked for, -original
    cars/NAME/plans/0001.pdf                what was made and kept
    shelf/shelf.toml, shelf/revisions/      likewise

Only ``shop.json`` and the numbered files are read back. No path is taken from ``shop.json``: a car's short name is
checked before it names a folder, and each file must have the hash that its row says. Accounts, the journal of changes
and verdicts that can be reckoned again stay in the shop.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any, get_args

from sqlalchemy import Column, Connection, Integer, String, Table, func, insert, select, text
from sqlalchemy.exc import IntegrityError, StatementError

from carwright import __version__
from carwright.car.document import MAX_BYTES
from carwright.car.shelfcsv import csv_of_shelf
from carwright.draw.files import write_file
from carwright.problems import InputError, Problem
from carwright.shop import cars
from carwright.shop.checking import row_faults
from carwright.shop.papers import as_text, fetch_document, head_of, keep_document, moment, paper_named
from carwright.shop.records import STAGES, CarCard, PhotoKind, RevisionKind
from carwright.shop.shelving import SHELF
from carwright.shop.tables import (
    car,
    lot,
    lot_car,
    measured,
    metadata,
    paper,
    photo,
    plan_made,
    revision,
    setting,
    taking,
    tick,
    tip,
)

__all__ = ["export_folder", "import_folder", "is_shop_folder"]

_FORMAT = 1
_INDEX = "shop.json"
_LARGEST_INDEX = 200_000_000
_LARGEST_FILE = 100_000_000
_TABLES: tuple[Table, ...] = (
    paper, revision, tip, car, tick, photo, measured, plan_made, lot, lot_car, taking, setting
)  # fmt: skip
"""In the order in which rows can be written back: what is named by others comes before them."""

_NUMBERED = (paper, photo, measured, plan_made, lot)
_OWN = ("account.", "program")
"""Settings that belong to the shop's own place: passwords' hashes, and which program wrote it."""

_WORDS: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("car", "stage"): STAGES,
    ("revision", "kind"): get_args(RevisionKind),
    ("photo", "kind"): get_args(PhotoKind),
}
"""What may stand in a column of words."""

_SLUG = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*$")
_ENDINGS = {b"%PDF": ".pdf", b"{": ".json"}


def is_shop_folder(folder: Path) -> bool:
    """Return whether a folder was written by ``export_folder``."""
    return (folder / _INDEX).is_file()


def export_folder(connection: Connection, folder: Path, *, originals: bool) -> int:
    """Write a whole shop into a new or empty folder and return how many files it has.

    Args:
        connection: sees the shop at one moment.
        folder: where to.
        originals: whether photographs as the camera made them go along, with the place that they may name.

    Raises:
        InputError: the folder has something in it, or cannot be written.
    """
    try:
        taken = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
    except OSError as fault:
        raise InputError(Problem(f"the folder cannot be read: {fault.strerror}", file=str(folder))) from fault
    if taken:
        raise InputError(
            Problem("there is something of that name already", file=str(folder), mend="Name a new or an empty folder.")
        )
    index = _index(connection)
    count = 0
    for name, data in _files(connection, index, originals=originals):
        write_file(folder / name, data, option="export")
        count += 1
    if not originals:
        for row in index["photo"]:
            row["original"] = row["shown"]
    # Written last: a folder without it is one that was not finished, and is not read back.
    whole = {"format": _FORMAT, "program": __version__, "tables": index}
    write_file(folder / _INDEX, (json.dumps(whole, ensure_ascii=False, indent=1) + "\n").encode(), option="export")
    return count + 1


def _index(connection: Connection) -> dict[str, list[dict[str, Any]]]:
    index = {
        table.name: [dict(row) for row in connection.execute(select(table).order_by(*table.primary_key)).mappings()]
        for table in _TABLES
    }
    index["setting"] = [row for row in index["setting"] if not row["name"].startswith(_OWN)]
    return index


def _files(
    connection: Connection, index: Mapping[str, list[dict[str, Any]]], *, originals: bool
) -> Iterator[tuple[str, bytes]]:
    folders = _folders(index)
    for row in index["revision"]:
        yield f"{folders[row['paper_id']]}/revisions/{row['number']:04}.toml", fetch_document(connection, row["sha256"])
    for row in index["photo"]:
        for size in ("shown", "thumb", *(("original",) if originals else ())):
            ending = "" if size == "original" else ".jpg"
            name = f"{folders[row['paper_id']]}/photographs/{row['id']:04}-{size}{ending}"
            yield name, fetch_document(connection, row[size])
    for row in index["plan_made"]:
        data = fetch_document(connection, row["data"])
        yield f"{folders[row['paper_id']]}/plans/{row['id']:04}{_ending(data)}", data
    for row in index["paper"]:
        if row["kind"] == "car":
            of = cars.paper_of(connection, row["slug"])
            yield f"{folders[row['id']]}/car.toml", head_of(connection, of)[0].data
    yield "cars.csv", _cars_csv(connection)
    of_shelf = paper_named(connection, SHELF, SHELF)
    if of_shelf is not None:
        data = head_of(connection, of_shelf)[0].data
        yield "shelf/shelf.toml", data
        try:
            listed = csv_of_shelf(data, file="shelf.toml")
        except InputError:
            return  # a shelf with a slip in it has no list; its file is there
        yield "shelf.csv", listed.encode("utf-8")


def _folders(index: Mapping[str, list[dict[str, Any]]]) -> dict[int, str]:
    return {row["id"]: "shelf" if row["kind"] == SHELF else f"cars/{row['slug']}" for row in index["paper"]}


def _ending(data: bytes) -> str:
    return next((ending for start, ending in _ENDINGS.items() if data.startswith(start)), "")


def _cars_csv(connection: Connection) -> bytes:
    page = io.StringIO(newline="")
    table = csv.writer(page)
    table.writerow(["car", "name", "stage", "revision", "next step", "waits for", "last changed"])
    cards: list[CarCard] = []
    while page_of := cars.cards(connection, stage=None, limit=500, after=cards[-1].slug if cards else None):
        cards += page_of
    for each in sorted(cards, key=lambda card: card.slug):
        words = [each.slug, each.name, each.stage, str(each.revision), each.next_step, each.waits_for]
        table.writerow([*map(_no_formula, words), each.updated_at.date().isoformat()])
    return page.getvalue().encode("utf-8")


def _no_formula(text: str) -> str:
    """Return a cell that a spreadsheet shows and does not reckon."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t")) else text


def import_folder(connection: Connection, folder: Path) -> int:
    """Read a whole shop out of a folder into one that is still empty, and return how many cars came.

    Raises:
        InputError: the shop is not empty, or the folder is not as ``export_folder`` wrote it; nothing is taken in then.
    """
    if connection.scalar(select(func.count()).select_from(paper)):
        raise InputError(
            Problem(
                "a whole shop can only be read into an empty one",
                file=str(folder),
                mend="Name a new file with --shop. A single car is added by naming its car.toml.",
            )
        )
    tables = _read_index(folder)
    try:
        for table in _TABLES:
            for row in tables[table.name]:
                _see_that_fits(folder, table, row)
        for row in tables["paper"]:
            if row["kind"] not in ("car", SHELF) or not _SLUG.match(row["slug"]) or len(row["slug"]) > 80:
                raise _unlike(folder, f"no car can be called {row['slug']!r}")
        _read_documents(connection, folder, tables)
        for table in _TABLES:
            rows = [{column.name: _cell(row, column) for column in table.columns} for row in tables[table.name]]
            if table is setting:
                rows = [row for row in rows if not row["name"].startswith(_OWN)]
            if rows:
                connection.execute(insert(table), rows)
    except (KeyError, TypeError, AttributeError, ValueError, IntegrityError, StatementError) as fault:
        if isinstance(fault, InputError):
            raise
        raise _unlike(folder, "its rows do not fit together") from fault
    for wrong in row_faults(connection):
        raise _unlike(folder, wrong)
    if connection.dialect.name == "postgresql":
        for table in _NUMBERED:
            connection.execute(
                text(
                    f"SELECT setval(pg_get_serial_sequence('{table.name}', 'id'), "  # noqa: S608 -- our own tables' names
                    f"coalesce((SELECT max(id) FROM {table.name}), 0) + 1, false)"
                )
            )
    return len(tables["car"])


def _read_index(folder: Path) -> dict[str, list[dict[str, Any]]]:
    data = _bytes(folder, _INDEX, _LARGEST_INDEX)
    try:
        whole = json.loads(data)
        number, tables = whole["format"], whole["tables"]
        known = {table.name for table in metadata.tables.values()}
        fits = tables.keys() <= known and all(isinstance(tables.get(table.name), list) for table in _TABLES)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        raise _unlike(folder, "shop.json cannot be read") from fault
    if isinstance(number, int) and number > _FORMAT:
        raise InputError(
            Problem(
                "this folder was written by a newer version of the program",
                file=str(folder),
                mend="Bring the program up to date: pip install --upgrade carwright",
            )
        )
    if number != _FORMAT or not fits:
        raise _unlike(folder, "shop.json is not of this kind")
    return {name: rows for name, rows in tables.items() if isinstance(rows, list)}


def _see_that_fits(folder: Path, table: Table, row: Mapping[str, Any]) -> None:
    """Refuse a row with a value that its column cannot have: one database would take it in, and another fail later."""
    for column in table.columns:
        value = _cell(row, column)
        if value is None and column.nullable:
            continue
        words = _WORDS.get((table.name, column.name))
        if isinstance(column.type, Integer):
            fits = type(value) is int and 0 <= value < 2**31
        elif not isinstance(value, str) or "\0" in value or len(value) > _longest(column.type):
            fits = False
        elif column.name.endswith("_at"):
            fits = as_text(moment(value)) == value
        elif column.name.endswith("_on"):
            fits = date.fromisoformat(value).isoformat() == value
        else:
            fits = words is None or value in words
        if not fits:
            raise _unlike(folder, f"{column.name} of {table.name} cannot be {str(value)[:80]!r}")


def _cell(row: Mapping[str, Any], column: Column[Any]) -> Any:
    """Return a row's value; what an earlier version did not write yet is not known."""
    return row.get(column.name) if column.nullable else row[column.name]


def _longest(kind: object) -> int:
    return (kind.length if isinstance(kind, String) else None) or _LARGEST_INDEX


def _read_documents(connection: Connection, folder: Path, tables: Mapping[str, list[dict[str, Any]]]) -> None:
    folders = _folders(tables)
    for row in tables["revision"]:
        name = f"{folders[row['paper_id']]}/revisions/{int(row['number']):04}.toml"
        _keep(connection, folder, name, row["sha256"], MAX_BYTES)
    for row in tables["photo"]:
        start = f"{folders[row['paper_id']]}/photographs/{int(row['id']):04}"
        _keep(connection, folder, f"{start}-shown.jpg", row["shown"], _LARGEST_FILE)
        _keep(connection, folder, f"{start}-thumb.jpg", row["thumb"], _LARGEST_FILE)
        if row["original"] != row["shown"]:
            _keep(connection, folder, f"{start}-original", row["original"], _LARGEST_FILE)
    for row in tables["plan_made"]:
        start = f"{folders[row['paper_id']]}/plans/{int(row['id']):04}"
        there = [start + ending for ending in ("", *_ENDINGS.values()) if (folder / (start + ending)).is_file()]
        _keep(connection, folder, there[0] if there else start, row["data"], _LARGEST_FILE)


def _keep(connection: Connection, folder: Path, name: str, sha256: str, largest: int) -> None:
    data = _bytes(folder, name, largest)
    if hashlib.sha256(data).hexdigest() != sha256:
        raise InputError(
            Problem(
                "this file is not as it was exported",
                file=str(folder / name),
                mend="Nothing was taken in. Put the file back as it was; a changed car can be added by itself.",
            )
        )
    keep_document(connection, data)


def _bytes(folder: Path, name: str, largest: int) -> bytes:
    path = folder / name
    try:
        if path.is_symlink() or not path.resolve().is_relative_to(folder.resolve()):
            raise _unlike(folder, f"{name} leads out of the folder")
        with path.open("rb") as stream:
            data = stream.read(largest + 1)
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise InputError(Problem(f"the file cannot be read: {reason}", file=str(path))) from fault
    if len(data) > largest:
        raise _unlike(folder, f"{name} is larger than any such file may be")
    return data


def _unlike(folder: Path, why: str) -> InputError:
    return InputError(
        Problem(
            f"the folder is not as it was exported: {why}",
            file=str(folder),
            mend="Nothing was taken in. Export the shop again, or add its car files one by one.",
        )
    )
