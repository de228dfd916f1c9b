"""``carwright shelf``: what lies there, what comes and goes, and lists for spreadsheets."""

from __future__ import annotations

import json as json_format
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.car.shelfcsv import Imported
    from carwright.stock.shelfdocument import Undone

__all__ = ["command"]

Act = Literal["list", "add", "take", "undo", "import", "export"]

_WORDS: dict[Act, str] = {
    "list": "SHELF.toml",
    "add": "SHELF.toml sheet thickness=0.030 width=6 length=12 count=2",
    "take": "SHELF.toml NAME HOW-MANY",
    "undo": "SHELF.toml",
    "import": "SHELF.toml LIST.csv",
    "export": "SHELF.toml",
}
"""What stands behind each word."""


def command(
    act: Act,
    file: Path,
    /,
    *words: str,
    units: Literal["in", "mm"] = "in",
    json: bool = False,
    out: Annotated[Path | None, Parameter(name="--out")] = None,
) -> int:
    """List a shelf, add to it, take from it, undo a cutting plan, or exchange it with a spreadsheet.

    list SHELF; add SHELF KIND KEY=VALUE ...; take SHELF NAME HOW-MANY; undo SHELF
    [PLAN] takes the last cutting plan back; import SHELF LIST.csv; export SHELF.
    Every change is written whole or not at all, and keeps your notes.

    Args:
        act: list, add, take, undo, import or export.
        file: The shelf file, or a car file with a shelf of its own.
        words: What the word before asks for: a kind of stock and its keys, a name and a number, a plan, a list.
        units: Unit of bare numbers of a shelf that is not there yet.
        json: Print JSON for other programs.
        out: Write what is printed into this file.
    """
    from carwright.cli.plan import give
    from carwright.cli.shelfplans import put_back_unless_told

    many = {"list": (0, 0), "add": (2, 999), "take": (1, 2), "undo": (0, 1), "import": (1, 1), "export": (0, 0)}[act]
    if not many[0] <= len(words) <= many[1]:
        problem = f"`carwright shelf {act}` takes {'more' if len(words) < many[0] else 'fewer'} words"
        raise InputError(Problem(problem, " ".join(words), f"carwright shelf {act} {_WORDS[act]}"))
    if act == "export":
        from carwright.car.shelfcsv import csv_of_shelf

        give(csv_of_shelf(_bytes(file), file=str(file)).removesuffix("\n"), out)
        return 0
    before = file.read_bytes() if file.is_file() else None
    said, lines = _done(act, file, words, units)
    with put_back_unless_told(file, before):
        give(json_format.dumps(said, ensure_ascii=False, indent=2) if json else lines, out)
    return 0


def _done(act: Act, file: Path, words: tuple[str, ...], units: str) -> tuple[dict[str, Any], Iterator[str]]:
    if act == "list":
        from carwright.cli.show_shelf import shelf_json, shelf_lines

        rows, taken, said_units = _listed(file)
        return shelf_json(rows, taken, said_units), shelf_lines(rows, taken, said_units)
    if act == "add":
        return _add(file, words, units)
    if act == "take":
        return _take(file, words)
    if act == "undo":
        from carwright.cli.shelfplans import save_unchanged
        from carwright.stock.shelfdocument import without_plan

        document = _bytes(file)
        done = without_plan(document, words[0] if words else "", file=str(file))
        save_unchanged(file, document, done.document)
        return _undone(done, file)
    return _imported(_import(file, Path(words[0]), units), file)


def _bytes(file: Path) -> bytes:
    from carwright.car.read import bytes_of

    return bytes_of(file, what="a shelf file")


def _listed(file: Path) -> tuple[list[tuple[str, dict[str, str]]], list[Any], str]:
    from carwright.car.read import read_shelf
    from carwright.car.shelfcsv import rows_of_shelf, units_of_shelf

    document = _bytes(file)
    shelf = read_shelf(document, file=str(file))
    return (
        [(table, row) for (table, _), row in rows_of_shelf(document).items()],
        list(shelf.taken),
        units_of_shelf(document),
    )


def _add(file: Path, words: tuple[str, ...], units: str) -> tuple[dict[str, Any], Iterator[str]]:
    from carwright.car.keys import key_named
    from carwright.car.read import read_shelf
    from carwright.car.shelfcsv import new_shelf, row_values
    from carwright.car.shelffile import ShelfEdit, edited
    from carwright.car.write import save
    from carwright.cli.shelfplans import save_unchanged

    table, *given = words
    values: dict[str, str] = {}
    for word in given:
        name, sign, value = word.partition("=")
        if not sign or name in values:
            accepted = f"carwright shelf add {_WORDS['add']}"
            raise InputError(Problem("this is no key with its value, or one given twice", word, accepted))
        if not value.strip():
            mend = "Leave the key out, or write what it is."
            if name.strip() == "count":
                mend = "Write how many there are, or count=any for as many as wanted."
            raise InputError(Problem("nothing stands behind the =", word, mend=mend, key=name.strip()))
        values[name.strip()] = value.strip()
    made = row_values(table, values)
    there = file.exists()
    document = _bytes(file) if there else new_shelf(units)
    if there:
        read_shelf(document, file=str(file))
    new = edited(document, ShelfEdit(add=[(table, made)]), file=str(file))
    try:
        read_shelf(new)
    except InputError as trouble:
        problems = [Problem(p.problem, p.value, p.accepted, p.mend, key=p.key.rpartition(".")[2])
                    for p in trouble.problems]  # fmt: skip
        raise InputError(problems) from None
    if there:
        save_unchanged(file, document, new)
    else:
        save(file, new)
    told = ", ".join(f"{name} {value}" for name, value in values.items())
    if "count" not in values and key_named(f"shelf.{table}[].count") is not None:
        told += "; no count was given: as many as wanted (count=NUMBER says how many)"
    return {"file": str(file), "added": {"table": table, **values}}, iter([f"Added to {file}: {table}, {told}."])


def _take(file: Path, words: tuple[str, ...]) -> tuple[dict[str, Any], Iterator[str]]:
    """Take pieces of one row by hand."""
    from carwright.car.read import read_shelf
    from carwright.car.shelfcsv import rows_of_shelf
    from carwright.car.shelffile import ShelfEdit, edited
    from carwright.cli.shelfplans import save_unchanged

    name = words[0]
    number = int(words[1]) if len(words) > 1 and words[1].isascii() and words[1].isdigit() and len(words[1]) < 12 else 0
    if len(words) == 1:
        number = 1
    if number < 1:
        raise InputError(Problem("this is no number to take", words[1], "a whole number, 1 or more"))
    document = _bytes(file)
    read_shelf(document, file=str(file))
    rows = rows_of_shelf(document)
    found = [row for row, values in rows.items() if name in (f"{row[0]}[{row[1]}]", values.get("name"))]
    if len(found) != 1:
        from carwright.car.keys import near_words

        known = [values.get("name") or f"{table}[{at}]" for (table, at), values in rows.items()]
        places = ", ".join(f"{table}[{at}]" for table, at in found)
        near = near_words(name, known, many=1)
        mend = f"Did you mean {near[0]}?" if near else "`carwright shelf list` names them."
        problem = "several rows have this name" if found else "nothing on the shelf has this name"
        raise InputError(Problem(problem, name, places, "Name it by its place." if found else mend, file=str(file)))
    count = rows[found[0]].get("count", "any")
    if count.isdigit():
        left = int(count) - number
        if left < 0:
            mend = "Count what lies there, and take no more."
            raise InputError(Problem(f"there are not so many of {name}", str(number), f"1 to {count}", mend))
        new = edited(document, ShelfEdit({found[0]: {"count": left}}), file=str(file))
        save_unchanged(file, document, new)
    said: dict[str, Any] = {"file": str(file), "name": name, "taken": number}
    said["left"] = left if count.isdigit() else None
    words_left = f"{said['left']} left" if count.isdigit() else "as many as wanted are left"
    return said, iter([f"Taken from {file}: {number} x {name}; {words_left}."])


def _import(file: Path, source: Path, units: str) -> Imported:
    from carwright.car.listtext import text_of_list
    from carwright.car.read import bytes_of
    from carwright.car.shelfcsv import shelf_of_csv
    from carwright.car.write import save
    from carwright.cli.shelfplans import save_unchanged

    text = text_of_list(bytes_of(source, what="a list"), file=str(source))
    document = _bytes(file) if file.exists() else None
    done = shelf_of_csv(text, document, units=units, file=str(source), into=str(file))
    if document is None:
        save(file, done.document)
    elif done.document != document:
        save_unchanged(file, document, done.document)
    return done


def _imported(done: Imported, file: Path) -> tuple[dict[str, Any], Iterator[str]]:
    said = {"file": str(file), "added": done.added, "changed": done.changed, "alike": done.alike}
    return said, iter([f"Into {file}: {done.added} new, {done.changed} changed, {done.alike} there already."])


def _undone(done: Undone, file: Path) -> tuple[dict[str, Any], Iterator[str]]:
    from carwright.draw.cutwords import count_words

    record = done.record
    said = {"file": str(file), "plan": record.plan, "on": record.on, "exact": done.exact}

    def lines() -> Iterator[str]:
        yield f"Undone in {file}: plan {record.plan} of {record.on}, {count_words(record.pieces, 'piece')}."
        for each in done.taking.drawn:
            bought = f"; {each.bought} bought for it are off the shelf again" if each.bought else ""
            yield f"  {each.taken} x {each.name} back{bought}"
        yield (
            "The file is again what it was before."
            if done.exact
            else "What else was changed since the plan was taken is kept."
        )

    return said, lines()
