"""``carwright reference``: the values that are used, each with its source."""

from __future__ import annotations

import json as json_format
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from carwright.reference import Entry, entries, practice_value, topic_title, topics

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["command"]

_WIDTH = 80
"""Columns of a page that goes to a file or a pipe."""

_GRID_CELL = 26
"""The widest cell that still reads well side by side with others."""


def command(
    topic: Annotated[str, Parameter(help="A topic of the list, or a table of it: drills, threads.unified.")] = "",
    /,
    *,
    json: Annotated[bool, Parameter(help="Print JSON for other programs.")] = False,
) -> int:
    """Show the values that are used, each with its source.

    Without TOPIC: the list of topics. How each value is known stands behind it: read, read in a quotation, worked out,
    from memory, common practice. Values from memory are never a standard's.
    """
    if json:
        print(json_format.dumps(_as_json(topic), ensure_ascii=False, indent=2))
        return 0
    console = _console()
    with console.capture() as page:
        if not topic:
            _print_topics(console)
        else:
            for block in _blocks(entries(topic)):
                _print_block(console, block)
    for line in page.get().rstrip().splitlines():
        print(line.rstrip())
    return 0


def _as_json(topic: str) -> dict[str, object]:
    if not topic:
        return {
            "topics": [{"topic": each, "about": topic_title(each), "values": len(entries(each))} for each in topics()]
        }
    return {"topic": topic, "entries": [_entry_json(each) for each in entries(topic)]}


def _entry_json(each: Entry) -> dict[str, object]:
    cited = each.citation
    return {
        "key": each.key,
        "name": each.name,
        "value": each.value,
        "unit": each.unit or None,
        "scale": each.scale or None,
        "tolerance": each.tolerance or None,
        "basis": cited.basis,
        "basis_words": cited.basis_words,
        "confidence": cited.confidence or None,
        "document": cited.document or None,
        "edition": cited.edition or None,
        "sources": list(cited.sources),
        "address": list(cited.address),
        "note": each.note or None,
        "disagreement": each.disagreement or None,
    }


def _console() -> Console:
    from rich.console import Console

    if sys.stdout.isatty():
        return Console(highlight=False, emoji=False, markup=False)
    return Console(highlight=False, emoji=False, markup=False, width=_WIDTH, color_system=None)


def _print_topics(console: Console) -> None:
    from rich.table import Table

    table = Table("topic", "about", box=None, pad_edge=False, header_style="bold")
    for each in topics():
        table.add_row(each, topic_title(each))
    console.print(table)
    console.print("\n`carwright reference TOPIC` shows one of them.")


@dataclass(frozen=True, slots=True)
class _Block:
    """A heading, a table, and the remarks under it."""

    heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    remarks: tuple[str, ...]


_ENDINGS = {
    "in": "in",
    "ft": "ft",
    "mm": "mm",
    "um": "µm",
    "g": "g",
    "gram": "g",
    "oz": "oz",
    "lb": "lb",
    "deg": "deg",
    "degC": "°C",
    "percent": "percent",
    "seconds": "s",
    "minutes": "min",
    "hours": "h",
    "days": "days",
    "months": "months",
    "gpa": "GPa",
    "mpa": "MPa",
    "psi": "psi",
}
"""Units that stand at the end of a name, and how they are shown behind the value."""

_BARE = frozenset(
    {"ratio", "rule", "form", "order", "formula", "relation", "reference", "method", "definition", "list"}
)
"""What stands in place of a unit where a value has none."""


def _name_and_unit(each: Entry) -> tuple[str, str]:
    """Return a value's name without the unit at its end, and that unit; the table's where it has none of its own."""
    words = each.path[-1].split("_")
    if len(words) > 1 and words[-1] in _ENDINGS and not isinstance(each.value, str):
        if words[-2:-1] == ["per"]:
            return " ".join(words[:-2]), f"per {_ENDINGS[words[-1]]}"
        return " ".join(words[:-1]), _ENDINGS[words[-1]]
    number = isinstance(each.value, int | float | tuple) and not isinstance(each.value, bool)
    if isinstance(each.value, tuple) and not all(isinstance(one, int | float) for one in each.value):
        number = False
    shared = not each.unit or set(";,") & set(each.unit) or each.unit in _BARE or len(each.unit) > 14
    return each.name, each.unit if number and not shared else ""


def _shown(each: Entry) -> str:
    """Return a value with its unit."""
    if each.path[:2] == ("choices", "choice") and each.path[-1] == "value_of":
        return f"{practice_value(each.path[2]).text} (that of {each.words})"
    return f"{each.words} {_name_and_unit(each)[1]}".strip()


def _shown_beside(each: Entry, others: Sequence[Entry]) -> str:
    """Return a value with its unit, saying so where it is known in another way than the first beside it."""
    words = each.citation.basis_words
    return _shown(each) + (f" ({words})" if words != others[0].citation.basis_words else "")


def _blocks(found: Sequence[Entry]) -> Iterable[_Block]:
    """Yield a topic's values table by table; members of a list that are alike stand in one grid."""
    parents: dict[tuple[str, ...], list[Entry]] = {}
    for each in found:
        parents.setdefault(each.path[:-1], []).append(each)
    families: dict[tuple[str, ...], list[tuple[str, ...]]] = {}
    for parent in parents:
        families.setdefault(parent[:-1], []).append(parent)
    for family, members in families.items():
        grid = _grid(family, [parents[member] for member in members]) if len(members) > 1 else None
        if grid is not None:
            yield grid
        else:
            for member in members:
                yield _record(member, parents[member])


def _heading(path: Sequence[str]) -> str:
    return ".".join(part for part in path[1:] if part != "rows")


def _grid(family: tuple[str, ...], members: Sequence[Sequence[Entry]]) -> _Block | None:
    """Return the members of a list side by side, or None where they are too unlike or too wide for it."""
    names = list(dict.fromkeys(_name_and_unit(each)[0] for member in members for each in member))
    cells = [{_name_and_unit(each)[0]: _shown_beside(each, member) for each in member} for member in members]
    labels = [member[0].path[-2].replace("_", " ") for member in members]
    widths = [max(*map(len, name.split()), *(len(row.get(name, "")) for row in cells), 1) for name in names]
    label = max(map(len, labels))
    if max([label, *widths]) > _GRID_CELL or label + sum(widths) + 2 * len(names) + 6 > _WIDTH:
        return None
    sources = [_source_lines(member) for member in members]
    numbered = list(dict.fromkeys(sources))
    alone = len(numbered) == 1
    columns = ["", *names, *([] if alone else ["source"])]
    rows = [
        (name, *(row.get(each, "") for each in names), *([] if alone else [f"[{numbered.index(source) + 1}]"]))
        for name, row, source in zip(labels, cells, sources, strict=True)
    ]
    remarks = [
        line if alone or place else f"[{number}] {line}"
        for number, lines in enumerate(numbered, 1)
        for place, line in enumerate(lines)
    ]
    return _Block(_heading(family), tuple(columns), tuple(rows), tuple(remarks))


def _record(path: tuple[str, ...], members: Sequence[Entry]) -> _Block:
    """Return one table's values under each other."""
    bases = {each.citation.basis_words for each in members}
    rows = tuple(
        (_name_and_unit(each)[0], _shown(each), *([each.citation.basis_words] if len(bases) > 1 else []))
        for each in members
    )
    columns = ("", "", *([""] if len(bases) > 1 else []))
    return _Block(_heading(path), columns, rows, _source_lines(members))


def _source_lines(members: Sequence[Entry]) -> tuple[str, ...]:
    """Return the remarks on one table: unit, tolerance, source, note, disagreement, each once."""
    first = members[0]
    lines: list[str] = []
    if first.unit and set(";,") & set(first.unit):
        lines.append(f"Unit: {first.unit}.")
    if first.scale and first.scale not in ("any", "prototype"):
        lines.append(f"Scale: {first.scale}.")
    if first.tolerance and first.tolerance != "not stated":
        lines.append(f"Tolerance: {first.tolerance}.")
    lines.extend(f"Source: {each}." for each in dict.fromkeys(str(member.citation) for member in members))
    lines.extend(f"Note: {each.rstrip('.')}." for each in dict.fromkeys(member.note for member in members) if each)
    lines.extend(
        f"Sources disagree: {each.rstrip('.')}." for each in dict.fromkeys(one.disagreement for one in members) if each
    )
    return tuple(lines)


def _print_block(console: Console, block: _Block) -> None:
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    console.print(Text(block.heading, style="bold"))
    table = Table(box=None, pad_edge=False, show_header=any(block.columns), header_style="bold")
    for place, column in enumerate(block.columns):
        longest = max((len(row[place]) for row in block.rows), default=0)
        least = max([0, *map(len, column.split())])
        table.add_column(column, overflow="fold", min_width=max(least, longest) if longest <= _GRID_CELL else least)
    for row in block.rows:
        table.add_row(*row)
    console.print(Padding(table, (0, 0, 0, 2)))
    for line in block.remarks:
        console.print(Padding(Text(line, style="dim"), (0, 0, 0, 2)))
    console.print()
