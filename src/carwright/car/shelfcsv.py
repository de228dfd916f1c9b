"""A shelf as comma-separated text, for spreadsheets: out of a file and into one, exact both ways."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from carwright.car.document import Cell, Table, decoded, document_of
from carwright.car.keys import key_named, keys, near_words
from carwright.car.listtext import money, separator_of
from carwright.car.read import read_shelf
from carwright.car.shelffile import TABLES, Row, ShelfEdit, Value, edited
from carwright.lengths import Units
from carwright.problems import InputError, Problem

__all__ = [
    "SIZES",
    "Imported",
    "csv_of_shelf",
    "guarded",
    "new_shelf",
    "row_values",
    "rows_of_shelf",
    "shelf_of_csv",
    "sizes_as_typed",
    "unguarded",
    "units_of_shelf",
]

SIZES = ("thickness", "diameter", "inside", "width", "height", "length", "size", "thread", "head", "form", "mass")
"""Keys of a row that say how large it is, in the order in which they are told and asked for."""

_FORMULA = "=+-@'\t\r"
"""A cell that begins so would be reckoned, or lose its apostrophe, in a spreadsheet: it gets an apostrophe more."""

_PRICES = ("cost", "pack_price")

_WHOLE = ("units", "keep_length", "keep_width", "squaring")
"""Keys of [shelf] itself, which stand in a row whose table is "shelf"."""


@dataclass(frozen=True, slots=True)
class Imported:
    """A shelf file with the rows of a list in it, and how many were new, changed, and there already."""

    document: bytes
    added: int
    changed: int
    alike: int


@lru_cache(maxsize=1)
def columns() -> tuple[str, ...]:
    """Return the columns: the table, then every key that stock can have, then those of the shelf itself."""
    names = [key.name for key in keys() if any(key.section == f"shelf.{table}[]" for table in TABLES)]
    first = ["table", "name", "material"]
    return (*dict.fromkeys([*first, *names]), *_WHOLE)


def new_shelf(units: str) -> bytes:
    """Return an empty shelf file."""
    return (
        f'# What lies on the shelf. Measured sizes; notes like this one stay.\n\n[shelf]\nunits = "{units}"\n'.encode()
    )


def csv_of_shelf(document: bytes, *, file: str = "") -> str:
    """Return a shelf file's stock as comma-separated text, each value as it was typed.

    Args:
        document: the bytes of a shelf file that ``read_shelf`` accepts.
        file: its name, for problems.

    Raises:
        InputError: it is no shelf file.
    """
    read_shelf(document, file=file)
    root, _ = document_of(decoded(document, file=file))
    table = root.inside.get("shelf")
    inside = table.inside if isinstance(table, Table) else {}
    whole = {name: cell.text for name in _WHOLE if isinstance(cell := inside.get(name), Cell)}
    rows = [{"table": "shelf", "units": units_of_shelf(document), **whole}]
    for (name, _), values in rows_of_shelf(document, file).items():
        rows.append({"table": name, **values})
    used = [name for name in columns() if any(row.get(name) for row in rows)]
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(used)
    for row in rows:
        writer.writerow([guarded(row.get(name, "")) for name in used])
    return text.getvalue()


def _says_mm(root: Table) -> bool:
    car = root.inside.get("car")
    units = car.inside.get("units") if isinstance(car, Table) else None
    return isinstance(units, Cell) and units.value == "mm"


def _texts(table: Table) -> dict[str, str]:
    return {name: cell.text for name, cell in table.inside.items() if isinstance(cell, Cell)}


def guarded(text: str) -> str:
    """Return a cell with an apostrophe before it where a spreadsheet would reckon it."""
    return f"'{text}" if text.lstrip(" ")[:1] in tuple(_FORMULA) else text


def unguarded(text: str) -> str:
    """Return a cell without the apostrophe that guarded it."""
    return text[1:] if text[:1] == "'" and text[1:].lstrip(" ")[:1] in tuple(_FORMULA) else text


def row_values(table: str, values: Mapping[str, str]) -> dict[str, Value]:
    """Return a row's values as they stand in a shelf file: whole numbers and yes or no without quotes.

    Raises:
        InputError: there is no such table, it has no such key, or a price is none.
    """
    known = [key.name for key in keys() if key.section == f"shelf.{table}[]" and not key.program] + ["of"]
    if table not in TABLES:
        near = near_words(table, TABLES, many=1)
        mend = f"Did you mean {near[0]}?" if near else "Name the kind of stock."
        raise InputError(Problem("there is no such stock", table, ", ".join(TABLES), mend, key="table"))
    problems = []
    made: dict[str, Value] = {}
    for name, text in values.items():
        key = key_named(f"shelf.{table}[].{name}")
        if key is None:
            near = near_words(name, known, many=1)
            mend = f"Did you mean {near[0]}?" if near else "Leave it out."
            problems.append(Problem(f"{table} has no {name}", text, ", ".join(known[:-1]), mend, key=name))
        elif key.kind == "count" and text.strip().isascii() and text.strip().isdigit():
            made[name] = int(text)
        elif key.kind == "flag" and text.strip().casefold() in ("true", "yes", "false", "no"):
            made[name] = text.strip().casefold() in ("true", "yes")
        else:
            made[name] = text
            if name in _PRICES:
                try:
                    money(text, name)
                except InputError as trouble:
                    problems += trouble.problems
    if problems:
        raise InputError(problems)
    return made


def shelf_of_csv(text: str, document: bytes | None, *, units: str = "in", file: str = "", into: str = "") -> Imported:
    """Return a shelf file with the rows of a list in it.

    A row whose kind, name and sizes are on the shelf already, or whose name is there once, changes what it says; an
    empty cell says nothing. Any other row is new. No row is taken out, and the same list again changes nothing.

    Args:
        text: the list, with commas, semicolons or tabs.
        document: the shelf file; None for a new one.
        units: unit of bare numbers of a new one, where the list does not say it.
        file: the list's name, for problems.
        into: the shelf file's name.

    Raises:
        InputError: with every problem of the list, each with its line; then nothing was changed.
    """
    whole, rows = _read(text, file)
    said = whole.get("units", "")
    if said not in ("", "in", "mm"):
        raise InputError(Problem("this is no unit", said, "in, mm", "Write in or mm.", key="units", file=file))
    if document is None:
        document = new_shelf(said or units)
        lead = "".join(f'{name} = "{whole[name]}"\n' for name in _WHOLE[1:] if whole.get(name))
        document += lead.encode()
    elif said and said != units_of_shelf(document):
        raise InputError(
            Problem(
                "the list and the shelf have not the same unit for bare numbers",
                said,
                units_of_shelf(document),
                "Import it into a new file, or write the unit behind each number and leave out the column units.",
                key="units",
                file=file,
            )
        )
    read_shelf(document, file=into)
    there = rows_of_shelf(document, into)
    matched = _matched([(table, values) for _, table, values in rows], there)
    change: dict[Row, dict[str, Value]] = {}
    add: list[tuple[str, dict[str, Value]]] = []
    lines: dict[str, int] = {}
    count = {table: sum(1 for name, _ in there if name == table) for table in TABLES}
    for (number, table, values), row in zip(rows, matched, strict=True):
        made = row_values(table, values)
        if row is None:
            row = (table, count[table])
            count[table] += 1
            add.append((table, made))
        else:
            news = {name: value for name, value in made.items() if values[name] != there[row].get(name, "")}
            if news:
                change[row] = news
        lines[f"shelf.{row[0]}[{row[1]}]"] = number
    new = edited(document, ShelfEdit(change, add), file=into)
    try:
        read_shelf(new)
    except InputError as trouble:
        raise InputError(_placed(each, lines, file) for each in trouble.problems) from None
    return Imported(new, len(add), len(change), len(rows) - len(add) - len(change))


def _placed(problem: Problem, lines: Mapping[str, int], file: str) -> Problem:
    place, _, name = problem.key.rpartition(".")
    return replace(problem, key=name or problem.key, file=file, line=lines.get(place), column=None)


def units_of_shelf(document: bytes) -> Units:
    """Return the unit of bare numbers, in or mm."""
    root, _ = document_of(decoded(document))
    shelf = root.inside.get("shelf")
    units = shelf.inside.get("units") if isinstance(shelf, Table) else None
    said = units.value if isinstance(units, Cell) else None
    return "mm" if said == "mm" or (said != "in" and _says_mm(root)) else "in"


def rows_of_shelf(document: bytes, file: str = "") -> dict[Row, dict[str, str]]:
    """Return each row of stock with its values as they were typed."""
    root, _ = document_of(decoded(document, file=file))
    shelf = root.inside.get("shelf")
    inside = shelf.inside if isinstance(shelf, Table) else {}
    found: dict[Row, dict[str, str]] = {}
    for table in TABLES:
        listed = inside.get(table)
        for at, row in enumerate(listed if isinstance(listed, list) else ()):
            found[table, at] = _texts(row)
    return found


def sizes_as_typed(table: str, row: Mapping[str, str]) -> str:
    """Return the sizes of a row as they were typed: of sheet its thickness, then length by width, as plans tell it."""
    if table == "sheet" and row.get("width") and row.get("length"):
        thick = f"{row['thickness']} thick, " if row.get("thickness") else ""
        return f"{thick}{row['length']} × {row['width']}"
    return " × ".join(row[name] for name in SIZES if row.get(name))


def _identity(table: str, values: Mapping[str, str]) -> tuple[str, ...]:
    """Return what makes a row the same stock: its kind, name, material and sizes as typed."""
    sizes = [key.name for key in keys() if key.section == f"shelf.{table}[]" and key.kind in ("length", "mass")]
    names = ["name", "material", "form", "thread", "head", *(each for each in sizes if each != "tolerance")]
    return (table, *(values.get(name, "") for name in names))


def _matched(rows: Sequence[tuple[str, Mapping[str, str]]], there: Mapping[Row, Mapping[str, str]]) -> list[Row | None]:
    """Return for each row of a list the row of the shelf that it speaks of, None for a new one."""
    free: dict[tuple[str, ...], list[Row]] = {}
    for row, values in there.items():
        free.setdefault(_identity(row[0], values), []).append(row)
    found: list[Row | None] = []
    for table, values in rows:
        same = free.get(_identity(table, values), [])
        found.append(same.pop(0) if same else None)
    left = [row for alike in free.values() for row in alike]
    for at, (table, values) in enumerate(rows):
        if found[at] is not None or not values.get("name"):
            continue
        named = [row for row in left if row[0] == table and there[row].get("name") == values["name"]]
        twins = [k for k, (kind, other) in enumerate(rows) if kind == table and other.get("name") == values["name"]]
        if len(named) == 1 and len([k for k in twins if found[k] is None]) == 1:
            found[at] = named[0]
            left.remove(named[0])
    return found


def _read(text: str, file: str) -> tuple[dict[str, str], list[tuple[int, str, dict[str, str]]]]:
    """Return the values of the shelf itself, and each row with its line and table; empty cells left out."""
    plain = text.removeprefix("\ufeff")
    reader = csv.reader(io.StringIO(plain, newline=""), delimiter=separator_of(plain), strict=True)
    lines: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                lines.append((reader.line_num, cells))
    except csv.Error as slip:
        words = f"the list cannot be read: {slip}"
        mend = 'Put a cell with a comma into double quotes, and write "" for a quote in it.'
        raise InputError(Problem(words, mend=mend, file=file, line=reader.line_num)) from None
    if not lines:
        raise InputError(Problem("the list is empty", accepted="a line with the columns", file=file))
    number, header = lines[0]
    names = [cell.strip().casefold().replace(" ", "_") for cell in header]
    problems = _header(names, number, file)
    if problems:
        raise InputError(problems)
    whole: dict[str, str] = {}
    rows: list[tuple[int, str, dict[str, str]]] = []
    for number, cells in lines[1:]:
        try:
            if len(cells) > len(names):
                extra = ",".join(cells[len(names) :])
                mend = "Put a cell that holds a comma into double quotes."
                raise InputError(Problem("there are more cells than columns", extra, f"{len(names)} cells", mend))
            given = {name: unguarded(cell) for name, cell in zip(names, cells, strict=False) if cell.strip()}
            table = given.pop("table", "").strip().casefold()
            if table == "shelf":
                whole |= given
                continue
            row_values(table, given)
            rows.append((number, table, given))
        except InputError as trouble:
            problems += [replace(each, file=file, line=number) for each in trouble.problems]
    if problems:
        raise InputError(problems)
    return whole, rows


def _header(names: Sequence[str], line: int, file: str) -> list[Problem]:
    known = columns()
    problems = []
    for name in dict.fromkeys(names):
        near = near_words(name, known, many=1)
        if name not in known:
            mend = f"Did you mean {near[0]}?" if near else "Leave it out."
            problems.append(Problem("this column is not known", name, ", ".join(known), mend, file=file, line=line))
        elif names.count(name) > 1:
            problems.append(Problem("this column is there twice", name, mend="Leave one out.", file=file, line=line))
    if "table" not in names:
        accepted = f"a column table: {', '.join(TABLES)}"
        problems.append(Problem("the list does not say what each row is", accepted=accepted, file=file, line=line))
    return problems[:3]
