"""Rows of the shelf in words: what each is called, which sizes are asked about, what the last change was."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from carwright.car.keys import key_named
from carwright.car.read import read_shelf
from carwright.car.shelfcsv import sizes_as_typed
from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.car.model import Shelf
    from carwright.shop import Revision, Shop

__all__ = [
    "LastChange",
    "Row",
    "cars_of",
    "last_change",
    "row_name",
    "row_of",
    "undid_words",
    "undone_words",
    "unlikely",
]

_CUT_FOR: Final = re.compile(r"Cut (?:\d+ pieces )?for (.+)")
_UNDID: Final = "Undid: "
_AGAIN: Final = "Once more: "

_USUAL_MM: Final[Mapping[str, Mapping[str, tuple[float, float]]]] = {
    "sheet": {"thickness": (0.1, 6.5), "width": (6.0, 1300.0), "length": (6.0, 1300.0)},
    "strip": {"thickness": (0.1, 13.0), "width": (0.1, 30.0), "length": (12.0, 2000.0)},
    "rod": {"diameter": (0.1, 13.0), "length": (12.0, 2000.0)},
    "tube": {"diameter": (0.2, 26.0), "length": (12.0, 2000.0)},
    "wire": {"diameter": (0.05, 3.3), "length": (12.0, 10000.0)},
}
"""Sizes that stock for cars usually has; our own, and wide: what is outside is asked about, not refused."""

_MANY: Final = 999
"""So many of a row are asked about: a size may have slipped into the wrong box."""

_SECTIONS: Final[Mapping[str, tuple[str, ...]]] = {
    "sheet": ("thickness",),
    "strip": ("thickness", "width"),
    "rod": ("diameter",),
    "tube": ("diameter", "inside"),
    "wire": ("diameter",),
    "washer": ("thickness",),
    "bolster": ("height",),
    "screw": ("thread", "length"),
    "drill": ("size",),
}
"""By which sizes a row without a name is called."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the shelf as the page shows it: its place, what it is, its sizes as typed, and how many there are."""

    table: str
    at: int
    name: str
    sizes: str
    count: str
    more: str


@dataclass(frozen=True, slots=True)
class LastChange:
    """The last change of the shelf, where it can be undone: the revision that it made, its words, the shelf before."""

    number: int
    words: str
    before: bytes


def row_name(table: str, at: int, values: Mapping[str, str]) -> str:
    """Return what a row is called: by its name, or what it is made of and its section, with its place in the list.

    Example:
        >>> row_name("sheet", 1, {"material": "styrene", "thickness": "0.030"})
        'styrene sheet 0.030 (sheet 2)'
    """
    own = values.get("name", "")
    if own and own.casefold() != "offcut":
        return own
    section = " × ".join(values[name] for name in _SECTIONS.get(table, ()) if values.get(name))
    what = " ".join(each for each in (values.get("material", ""), table, section) if each)
    left = "offcut of " if values.get("offcut") == "true" else ""
    return f"{left}{what} ({table} {at + 1})"


def row_of(table: str, at: int, values: Mapping[str, str], cars: Mapping[str, str]) -> Row:
    """Return a row for the page; ``cars`` names the cutting that an offcut is left from by its cars."""
    told = [values.get("material", "")]
    if values.get("offcut") == "true":
        left = cars.get(values.get("of", ""))
        told.append(f"left from cutting {left}" if left else "offcut")
    told.append(f"label {values['nominal']}" if values.get("nominal") else "")
    told.append(f"{values['cost']} each" if values.get("cost") else "")
    if values.get("pack") or values.get("pack_price"):
        price = f" for {values['pack_price']}" if values.get("pack_price") else ""
        told.append(f"pack of {values.get('pack') or '1'}{price}")
    told.append(values.get("place", ""))
    return Row(
        table,
        at,
        row_name(table, at, values),
        sizes_as_typed(table, values).replace(" × ", "\u00a0×\u00a0"),
        values.get("count") or "any",
        ", ".join(each for each in told if each),
    )


def unlikely(table: str, shelf: Shelf, typed: Mapping[str, str]) -> list[Problem]:
    """Return what to ask about the row that was put on the shelf last: sizes and counts that stock hardly has.

    Args:
        table: its kind.
        shelf: with it.
        typed: as it was typed.
    """
    rows: Sequence[object] = {
        "sheet": shelf.sheets,
        "strip": shelf.strips,
    }.get(table, tuple(each for each in shelf.rods if each.form == table))
    found = []
    for name, (low, high) in _USUAL_MM.get(table, {}).items():
        size = getattr(rows[-1], name) if rows else None
        key = key_named(f"shelf.{table}[].{name}")
        if size is None or key is None or low <= size.value <= high:
            continue
        read = f"{size.value / 25.4:.4g} in, {size.value:.4g} mm"
        usual = "less" if size.value > high else "more"
        mend = f"It was read as {read}. Mend it, or tick below that it is right."
        found.append(
            Problem(f"is this right? The {key.called} is usually {usual}", typed.get(name, ""), "", mend, name)
        )
    count = typed.get("count", "")
    if count.isdigit() and int(count) > _MANY:
        mend = "Mend it, or tick below that it is right."
        found.append(Problem("are there really so many?", count, "", mend, "count"))
    return found


def cars_of(shop: Shop) -> dict[str, str]:
    """Return the cars of each cutting that was taken, by its plan, as the shelf's history names them."""
    notes = {each.number: each.note for each in shop.shelf_history(limit=500)}
    said = {each.plan: _CUT_FOR.match(notes.get(each.revision, "")) for each in shop.takings()}
    return {plan: found[1] for plan, found in said.items() if found}


def undid_words(shop: Shop, plan: str) -> str:
    """Return what the shelf's history says of a cutting that is taken back."""
    cars = cars_of(shop).get(plan, "")
    return f"Undid the cutting for {cars}"[:300] if cars else "Undid a cutting"


def last_change(shop: Shop, heads: Sequence[Revision]) -> LastChange | None:
    """Return the last change of the shelf, None where nothing was changed, or a cutting, which is undone as such.

    Args:
        shop: the shop.
        heads: of its shelf.
    """
    if len(heads) != 1 or not heads[0].based_on:
        return None
    now = heads[0]
    before = shop.shelf_revision(now.based_on).data
    try:
        same = [each.plan for each in read_shelf(before).taken] == [each.plan for each in read_shelf(now.data).taken]
    except InputError:
        return None
    return LastChange(now.number, now.note or "the shelf was saved", before) if same else None


def undone_words(words: str) -> str:
    """Return what the shelf's history says of a change that is undone; undone again, it is made once more."""
    if words.startswith(_UNDID):
        return _AGAIN + words.removeprefix(_UNDID)
    return (_UNDID + words.removeprefix(_AGAIN))[:300]
