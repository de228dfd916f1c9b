"""Cutting plans and the shelf's file: taken once, whole or not at all, and undone again."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.car.model import Shelf, TakenPlan
    from carwright.car.shelffile import Row, Value
    from carwright.lengths import Units
    from carwright.stock.demand import Stock
    from carwright.stock.taking import Drawn, Offcut, Taking

__all__ = [
    "Undone",
    "already_json",
    "already_lines",
    "plan_again",
    "save_unchanged",
    "take_plan",
    "taken_before",
    "taking_json",
    "taking_lines",
    "undo_plan",
]

_DRAWN = re.compile(r"([a-z]+)\[(\d+)\]: (\d+)(?: of (\d+))?(?:, (\d+) bought)?(?:; (.*))?")


def taken_before(shelf: Shelf, plan: str) -> TakenPlan | None:
    """Return the record of a plan that was taken from the shelf, None where it was not."""
    return next((each for each in shelf.taken if each.plan == plan), None)


def plan_again(shelf: Shelf, plan: str) -> str:
    """Return the identity of the same wish taken once more."""
    number = 2
    while taken_before(shelf, f"{plan}-{number}") is not None:
        number += 1
    return f"{plan}-{number}"


def already_json(record: TakenPlan, path: Path) -> dict[str, Any]:
    """Return that a plan was taken before, as plain JSON values."""
    return {"plan": record.plan, "shelf": str(path), "on": record.on, "already": True, "pieces": record.pieces}


def already_lines(record: TakenPlan, path: Path) -> Iterator[str]:
    """Yield that a plan was taken before, and what to do where it is wanted once more."""
    yield f"Plan {record.plan}, {record.pieces} pieces, was taken from {path} on {record.on}: nothing was changed."
    yield "For the same pieces once more give --again; to take it back: carwright shelf undo"


def taking_json(taking: Taking, path: Path) -> dict[str, Any]:
    """Return what a plan took, as plain JSON values, lengths in mm."""
    return {
        "shelf": str(path),
        "already": False,
        "pieces": taking.pieces,
        "drawn": [
            {"name": each.name, "taken": each.taken, "bought": each.bought, "left": each.after} for each in taking.drawn
        ],
        "offcuts": [
            {"name": each.name, "width_mm": each.width_mm, "length_mm": each.length_mm, "count": each.count}
            for each in taking.offcuts
        ],
    }


def taking_lines(taking: Taking, path: Path, units: Units) -> Iterator[str]:
    """Yield what a plan took and what it left."""
    from carwright.lengths import number_in

    yield f"Taken from {path}, plan {taking.plan}:"
    for each in taking.drawn:
        bought = f" ({each.bought} bought for it)" if each.bought else ""
        left = "any number" if each.after is None else f"{each.after}"
        yield f"  {each.taken} x {each.name}{bought}, {left} left"
    for piece in taking.offcuts:
        width = "" if piece.width_mm is None else f"{number_in(piece.width_mm, units)} x "
        yield f"  kept: {piece.count} x {piece.name}, {width}{number_in(piece.length_mm, units)}"
    yield f"To take it back: carwright shelf undo {path}"


def take_plan(path: Path, document: bytes, taking: Taking, *, on: str) -> bytes:
    """Write a plan into its shelf file and return the new file: stock down, offcuts and the plan's record added.

    Args:
        path: the shelf file, or the car file whose own shelf was cut.
        document: its bytes, as they were when the plan was made.
        taking: what changes.
        on: day and time, for the record.

    Raises:
        InputError: the plan was taken already, or the file was changed since, cannot be changed safely or cannot be
            written. Then it is as it was.
    """
    from carwright.car.read import read_shelf
    from carwright.car.shelfcsv import units_of_shelf
    from carwright.car.shelffile import ShelfEdit, digest, edited

    shelf, units = read_shelf(document, file=str(path)), units_of_shelf(document)
    if taken_before(shelf, taking.plan) is not None:
        raise InputError(Problem("this plan was taken already", taking.plan, file=str(path)))
    rows: dict[Row, Stock] = {_row(row.key): row for row in shelf.cuttable}
    record: dict[str, Value] = {
        "plan": taking.plan,
        "on": on,
        "pieces": taking.pieces,
        "offcuts": sum(each.count for each in taking.offcuts),
        "drawn": [_drawn_words(each) for each in taking.drawn],
        "before": digest(document),
    }
    add: list[tuple[str, Mapping[str, Value]]] = [("taken", record)]
    for each in taking.offcuts:
        place = _row(each.key)
        add.append((place[0], _offcut_row(each, rows[place], taking.plan, units)))
    change = {_row(each.key): {"count": each.after} for each in taking.drawn if each.after is not None}
    new = edited(document, ShelfEdit(change, add), file=str(path))
    read_shelf(new, file=str(path))
    save_unchanged(path, document, new)
    return new


def save_unchanged(path: Path, document: bytes, new: bytes) -> None:
    """Write a file that nobody changed since ``document`` was read from it.

    Raises:
        InputError: somebody did, or it cannot be written.
    """
    from carwright.car.write import save

    try:
        now = path.read_bytes()
    except OSError:
        now = b""
    if now != document:
        raise InputError(Problem("the shelf was changed meanwhile", file=str(path), mend="Give the command again."))
    save(path, new)


def _row(key: str) -> Row:
    """Return table and place of a row by its key ("shop.sheet[0]")."""
    table, _, at = key.rpartition(".")[2].removesuffix("]").partition("[")
    return table, int(at)


def _drawn_words(each: Drawn) -> str:
    table, at = _row(each.key)
    of = "" if each.before is None else f" of {each.before}"
    bought = f", {each.bought} bought" if each.bought else ""
    return f"{table}[{at}]: {each.taken}{of}{bought}; {each.name}"[:400]


def _offcut_row(offcut: Offcut, row: Stock, plan: str, units: Units) -> dict[str, Value]:
    """Return an offcut as a row of its table: what it shares with its stock as typed there, its own size measured."""
    from carwright.car.model import RodStock, Strip

    if isinstance(row, RodStock):
        shared = {"diameter": row.diameter, "inside": row.inside}
    else:
        shared = {"thickness": row.thickness}
    values: dict[str, Value] = {"name": offcut.name, "material": row.material}
    values |= {name: size.text for name, size in shared.items() if size is not None}
    if isinstance(row, Strip) and row.width is not None:
        values["width"] = row.width.text
    if offcut.width_mm is not None:
        values["width"] = _measured(offcut.width_mm, units)
    values["length"] = _measured(offcut.length_mm, units)
    values["count"] = offcut.count
    if row.nominal is not None:
        values["nominal"] = row.nominal.text
    if row.place:
        values["place"] = row.place
    return values | {"offcut": True, "of": plan}


def _measured(value_mm: float, units: Units) -> str:
    """Return a size as the shelf writes bare numbers, to a hundredth of a millimetre or better."""
    text = f"{value_mm / 25.4:.4f}" if units == "in" else f"{value_mm:.3f}"
    return text.rstrip("0").rstrip(".")


@dataclass(frozen=True, slots=True)
class Undone:
    """A plan that was undone; ``exact`` says whether the file is again, byte for byte, what it was before."""

    record: TakenPlan
    taking: Taking
    exact: bool


def undo_plan(path: Path, document: bytes, plan: str = "") -> Undone:
    """Take a plan back out of its shelf file: stock up, its offcuts and its record gone.

    Args:
        path: the shelf file.
        document: its bytes.
        plan: the plan's identity; without it, the one taken last. Only that one can be undone.

    Raises:
        InputError: there is no such plan, a later one was taken, its offcuts were used, rows of it were changed, or the
            file cannot be written. Then it is as it was.
    """
    from carwright.car.read import read_shelf
    from carwright.car.shelffile import ShelfEdit, digest, edited
    from carwright.stock.taking import undone

    shelf = read_shelf(document, file=str(path))
    known = ", ".join(each.plan for each in shelf.taken) or "none was taken"
    if not shelf.taken or (plan and taken_before(shelf, plan) is None):
        raise InputError(Problem("no such plan was taken from this shelf", plan, known, file=str(path)))
    record = shelf.taken[-1]
    if plan and record.plan != plan:
        mend = f"Undo {record.plan} first; it was taken after it."
        raise InputError(Problem("only the plan taken last can be undone", plan, record.plan, mend, file=str(path)))
    taking = _taking(shelf, record, str(path))
    before = undone(shelf, taking)
    counts = {row.key: row.count for row in before.cuttable}
    change = {_row(each.key): {"count": count} for each in taking.drawn if (count := counts[each.key]) is not None}
    drop = [_row(record.key), *(_row(row.key) for row in shelf.cuttable if row.of == record.plan)]
    new = edited(document, ShelfEdit(change, (), drop), file=str(path))
    if digest(new) != record.before and digest(new.rstrip(b"\r\n")) == record.before:
        new = new.rstrip(b"\r\n")
    save_unchanged(path, document, new)
    return Undone(record, taking, digest(new) == record.before)


def _taking(shelf: Shelf, record: TakenPlan, file: str) -> Taking:
    """Return what a record says was taken, its rows found again by place and name."""
    from carwright.stock.taking import Drawn, Offcut, Taking

    rows = {_row(row.key): row for row in shelf.cuttable}
    drawn: list[Drawn] = []
    for words in record.drawn:
        said = _DRAWN.fullmatch(words)
        if said is None:
            raise InputError(Problem("the record of the plan was changed", words, file=file, mend="Count by hand."))
        table, at, taken, of, bought, name = said.groups()
        place = (table, int(at))
        named = [key for key, row in rows.items() if key[0] == table and name and row.name == name]
        if place not in rows or (rows[place].name and rows[place].name != name and len(named) == 1):
            place = named[0] if len(named) == 1 else place
        if place not in rows:
            raise InputError(Problem("a row that the plan took from is gone", words, file=file, mend="Put it back."))
        drawn.append(Drawn(rows[place].key, name or "", None if of is None else int(of), int(bought or 0), int(taken)))
    left = (Offcut("", "", None, 0.0, record.offcuts),) if record.offcuts else ()
    return Taking(record.plan, record.pieces, tuple(drawn), left)
