"""A shelf as lines on a terminal, and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from carwright.car.shelfcsv import sizes_as_typed
from carwright.cli.page import plain
from carwright.draw.cutwords import count_words

if TYPE_CHECKING:
    from carwright.car.model import TakenPlan

__all__ = ["shelf_json", "shelf_lines"]


def shelf_json(rows: Sequence[tuple[str, Mapping[str, str]]], taken: Sequence[TakenPlan], units: str) -> dict[str, Any]:
    """Return a shelf as plain JSON values, each value as it was typed."""
    return {
        "units": units,
        "rows": [{"table": table, **row} for table, row in rows],
        "taken": [
            {"plan": each.plan, "on": each.on, "pieces": each.pieces, "drawn": list(each.drawn)} for each in taken
        ],
    }


def shelf_lines(rows: Sequence[tuple[str, Mapping[str, str]]], taken: Sequence[TakenPlan], units: str) -> Iterator[str]:
    """Yield a line for each row: how many, what, its sizes as typed, and what is known of price and place."""
    yield f"Bare numbers are {'inches' if units == 'in' else 'millimetres'}."
    for kind in dict.fromkeys(table for table, _ in rows):
        yield ""
        yield kind.capitalize()
        for table, row in rows:
            if table == kind:
                yield f"  {_count(row):>4}  {plain(_words(table, row))}"
    if taken:
        yield ""
        yield "Cutting plans taken"
        for each in taken:
            yield f"  {each.plan}  {each.on}  {count_words(each.pieces, 'piece')}"


def _count(row: Mapping[str, str]) -> str:
    return row.get("count") or "any"


def _words(table: str, row: Mapping[str, str]) -> str:
    said = [row.get("name", ""), row.get("material", ""), sizes_as_typed(table, row)]
    said.append(f"label {row['nominal']}" if row.get("nominal") else "")
    said.append("offcut" if row.get("offcut") == "true" else "")
    said.append(f"{row['cost']} each" if row.get("cost") else "")
    if row.get("pack") or row.get("pack_price"):
        price = f" for {row['pack_price']}" if row.get("pack_price") else ""
        said.append(f"pack of {row.get('pack') or '1'}{price}")
    said.append(f"in {row['place']}" if row.get("place") else "")
    return ", ".join(each for each in said if each)
