"""A cutting plan in the shelf's file: written into it as it is taken, and out of it as it is undone.

Documents in, documents out: whoever keeps the shelf, a file or a shop, saves what comes back.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from carwright.car.model import RodStock, Shelf, Strip, TakenPlan
from carwright.car.read import read_shelf
from carwright.car.shelfcsv import units_of_shelf
from carwright.car.shelffile import Row, ShelfEdit, Value, digest, edited
from carwright.lengths import Units
from carwright.problems import InputError, Problem
from carwright.stock.demand import Stock
from carwright.stock.taking import Drawn, Offcut, Taking, undone

__all__ = ["Undone", "plan_again", "taken_before", "with_plan", "without_plan"]

_DRAWN = re.compile(r"([a-z]+)\[(\d+)\]: (\d+)(?: of (\d+))?(?:, (\d+) bought)?(?:; (.*))?")


@dataclass(frozen=True, slots=True)
class Undone:
    """A plan that was undone; ``exact`` says whether the file is again, byte for byte, what it was before."""

    record: TakenPlan
    taking: Taking
    exact: bool
    document: bytes = field(repr=False)


def taken_before(shelf: Shelf, plan: str) -> TakenPlan | None:
    """Return the record of a plan that was taken from the shelf, None where it was not."""
    return next((each for each in shelf.taken if each.plan == plan), None)


def plan_again(shelf: Shelf, plan: str) -> str:
    """Return the identity of the same wish taken once more."""
    number = 2
    while taken_before(shelf, f"{plan}-{number}") is not None:
        number += 1
    return f"{plan}-{number}"


def with_plan(document: bytes, taking: Taking, *, on: str, file: str = "") -> bytes:
    """Return the shelf's file with a plan taken: stock down, offcuts and the plan's record added.

    Args:
        document: the shelf file, or the car file whose own shelf was cut, as it was when the plan was made.
        taking: what changes.
        on: day and time, for the record.
        file: its name, for problems.

    Raises:
        InputError: the plan was taken already, or the file cannot be changed safely.
    """
    shelf, units = read_shelf(document, file=file), units_of_shelf(document)
    if taken_before(shelf, taking.plan) is not None:
        raise InputError(Problem("this plan was taken already", taking.plan, file=file))
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
    new = edited(document, ShelfEdit(change, add), file=file)
    read_shelf(new, file=file)
    return new


def without_plan(document: bytes, plan: str = "", *, file: str = "") -> Undone:
    """Return the shelf's file with a plan taken back: stock up, its offcuts and its record gone.

    Args:
        document: the shelf file.
        plan: the plan's identity; without it, the one taken last. Only that one can be undone.
        file: its name, for problems.

    Raises:
        InputError: there is no such plan, a later one was taken, its offcuts were used, or rows of it were changed.
    """
    shelf = read_shelf(document, file=file)
    if not shelf.taken:
        mend = "Every plan that was taken has been undone, or none was taken yet."
        raise InputError(Problem("there is no cutting plan left to undo", plan, mend=mend, file=file))
    if plan and taken_before(shelf, plan) is None:
        known = ", ".join(each.plan for each in shelf.taken)
        mend = "It was undone already, or never taken."
        raise InputError(Problem("this plan does not stand on the shelf", plan, known, mend, file=file))
    record = shelf.taken[-1]
    if plan and record.plan != plan:
        mend = f"Undo {record.plan} first; it was taken after it."
        raise InputError(Problem("only the plan taken last can be undone", plan, record.plan, mend, file=file))
    taking = _taking(shelf, record, file)
    before = undone(shelf, taking)
    counts = {row.key: row.count for row in before.cuttable}
    change = {_row(each.key): {"count": count} for each in taking.drawn if (count := counts[each.key]) is not None}
    drop = [_row(record.key), *(_row(row.key) for row in shelf.cuttable if row.of == record.plan)]
    new = edited(document, ShelfEdit(change, (), drop), file=file)
    if digest(new) != record.before and digest(new.rstrip(b"\r\n")) == record.before:
        new = new.rstrip(b"\r\n")
    return Undone(record, taking, digest(new) == record.before, new)


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


def _taking(shelf: Shelf, record: TakenPlan, file: str) -> Taking:
    """Return what a record says was taken, its rows found again by place and name."""
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
