"""Reading the data files, and refusing what is not fit to be relied on.

A *file* is a TOML document of nested tables. A table may carry **pedigree** (basis, reading, document, edition,
confidence, address, sources), which everything inside it inherits unless it says otherwise, and **remarks** (note,
disagreement, tolerance, unit, scale), of which the nearest counts. ``<name>_basis`` beside a value gives that one
value's basis; ``derived = true`` says that a value was worked out from what the document prints. A table ``values``
holds the data of a standard's entry and does not appear in the key. Members of a list of tables are named by their
``id``, drill number, thread or the like. Everything else is a value and becomes an ``Entry``.

Nothing is read until it is asked for, and each file is read once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Any

from carwright.reference.citation import Citation, Entry, Value

__all__ = ["FILES", "ReferenceFault", "entries_of", "entry", "find", "parse", "row_names", "titles", "under"]

FILES: tuple[str, ...] = ("standards", "workshop", "choices", "practice", "anatomy", "finishing")
"""The data files, in the order in which their topics are listed."""

_BASES = ("seen", "memory", "practice", "derived")
_READINGS = ("direct", "second_hand")
_PEDIGREE = ("basis", "reading", "document", "edition", "confidence", "address", "sources")
_REMARKS = ("note", "disagreement", "tolerance", "unit", "scale")
_BESIDE = frozenset((*_PEDIGREE, *_REMARKS, "values", "derived", "bears_on", "working"))
_NAMES = ("id", "no", "letter", "name", "thread", "screw", "material", "grade", "awg", "code", "what", "part")
_PAIRS = (("low", "high"), ("low", "typical"), ("typical", "high"), ("from", "until"), ("from", "to"), ("min", "max"))
_NONE = Citation()


class ReferenceFault(Exception):  # noqa: N818 - a fault in our own data, not an error of the user's
    """A data file holds something that may not be relied on.

    Args:
        file: name of the data file, without its ending.
        entry: dotted name of the entry inside it.
        problem: what is wrong with it.
    """

    def __init__(self, file: str, entry: str, problem: str) -> None:
        self.file = file
        self.entry = entry
        self.problem = problem
        super().__init__(f"{file}.toml, {entry}: {problem}")


@dataclass(frozen=True, slots=True)
class _Beside:
    """What a value inherits from the tables around it."""

    citation: Citation = _NONE
    note: str = ""
    disagreement: str = ""
    tolerance: str = ""
    unit: str = ""
    scale: str = ""


class _Walk:
    """One pass over a parsed file: checks it, and yields its entries."""

    def __init__(self, file: str, allowed: Mapping[str, frozenset[str]] | None, sources: Mapping[str, str]) -> None:
        self.file = file
        self.allowed = allowed
        self.sources = sources

    def fault(self, path: tuple[str, ...], problem: str) -> ReferenceFault:
        return ReferenceFault(self.file, ".".join(path[1:]), problem)

    def table(self, table: Mapping[str, Any], above: _Beside, path: tuple[str, ...], free: bool) -> Iterator[Entry]:
        """Yield the entries of one table and of those inside it; ``free`` where any name may stand."""
        here = self.beside(table, above, path)
        self.ranges(table, path)
        for key, value in table.items():
            if key == "values":
                yield from self.table(value, here, path, True)
            elif key.endswith("_basis") and isinstance(value, str):
                if key.removesuffix("_basis") not in table:
                    raise self.fault((*path, key), "gives the basis of a value that is not there")
            elif key not in _BESIDE:
                self.known(key, (*path, key), free or isinstance(value, dict))
                yield from self.value(value, self.own_basis(table, key, here, path), (*path, key), free)

    def beside(self, table: Mapping[str, Any], above: _Beside, path: tuple[str, ...]) -> _Beside:
        """Return what holds inside ``table``: its own pedigree and remarks over those from above."""
        changes: dict[str, Any] = {
            name: table[name] for name in ("basis", "reading", "document", "edition", "confidence") if name in table
        }
        if "address" in table:
            given = table["address"]
            changes["address"] = (given,) if isinstance(given, str) else tuple(given)
        if "sources" in table:
            unknown = [each for each in table["sources"] if each not in self.sources]
            if unknown:
                raise self.fault(path, f"names a source that is not listed: {', '.join(unknown)}")
            changes["sources"] = tuple(self.sources[each] for each in table["sources"])
        if changes.get("basis", "seen") not in _BASES:
            raise self.fault(path, f'basis "{changes["basis"]}" is none of {", ".join(_BASES)}')
        if changes.get("reading", "direct") not in _READINGS:
            raise self.fault(path, f'reading "{changes["reading"]}" is none of {", ".join(_READINGS)}')
        if table.get("derived") is True:
            changes["basis"] = "derived"
        remarks = {name: str(table[name]) for name in _REMARKS if name in table}
        return replace(above, citation=replace(above.citation, **changes), **remarks)

    def own_basis(self, table: Mapping[str, Any], key: str, here: _Beside, path: tuple[str, ...]) -> _Beside:
        """Return ``here`` with the basis that ``<key>_basis`` gives, where it is given."""
        given = table.get(f"{key}_basis")
        if given is None:
            return here
        if given not in _BASES:
            raise self.fault((*path, key), f'basis "{given}" is none of {", ".join(_BASES)}')
        return replace(here, citation=replace(here.citation, basis=given))

    def ranges(self, table: Mapping[str, Any], path: tuple[str, ...]) -> None:
        """Refuse a least above its greatest, and lists of ranges that overlap or leave a gap."""
        for low, high in _PAIRS:
            for key, value in table.items():
                other = table.get(key[: -len(low)] + high) if key.endswith(low) else None
                if _comparable(value, other) and value > other:
                    raise self.fault((*path, key), f"{value} is above {key[: -len(low)]}{high}, {other}")
        years = table.get("years")
        if isinstance(years, list) and years and list(years) != sorted(years):
            raise self.fault((*path, "years"), f"the first year {years[0]} is after the last, {years[-1]}")
        for key, value in table.items():
            if _is_rows(value):
                ranged = [each for each in value if "from" in each and "to" in each]
                for before, after in pairwise(ranged):
                    if after["from"] < before["to"]:
                        raise self.fault((*path, key), f"the range from {after['from']} overlaps the one before it")
                    if after["from"] > before["to"]:
                        raise self.fault((*path, key), f"there is a gap between {before['to']} and {after['from']}")

    def known(self, key: str, path: tuple[str, ...], free: bool) -> None:
        """Refuse a key that the schema does not list for this topic."""
        if self.allowed is not None and not free and len(path) > 2 and key not in self.allowed.get(path[1], ()):
            raise self.fault(path, "is a key that the schema does not list for this topic")

    def value(self, value: Any, here: _Beside, path: tuple[str, ...], free: bool) -> Iterator[Entry]:
        """Yield the entry of one value, or those of the tables in it."""
        if isinstance(value, dict):
            yield from self.table(value, here, path, free)
        elif _is_rows(value):
            for name, row in zip(row_names(value), value, strict=True):
                naming = next((each for each in _NAMES if each in row), "")
                rest = {key: each for key, each in row.items() if key != naming}
                only_a_name = not any(key not in _BESIDE for key in rest)
                yield from self.table(row if only_a_name else rest, here, (*path, name), free)
        else:
            yield self.leaf(value, here, path)

    def leaf(self, value: Any, here: _Beside, path: tuple[str, ...]) -> Entry:
        """Return one entry, refusing it where its pedigree is not enough."""
        citation = here.citation
        if not citation.basis:
            raise self.fault(path, "has no basis")
        if citation.basis == "seen" and not (citation.document or citation.sources):
            raise self.fault(path, "is said to have been read, but names no document")
        return Entry(
            key=".".join(path),
            path=path,
            value=_plain(value),
            unit=here.unit,
            citation=citation,
            note=here.note,
            disagreement=here.disagreement,
            tolerance=here.tolerance,
            scale=here.scale,
        )


def _comparable(one: object, other: object) -> bool:
    if isinstance(one, int | float) and isinstance(other, int | float):
        return True
    return one is not None and type(one) is type(other) and not isinstance(one, dict | list)


def _is_rows(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(each, dict) for each in value)


def _plain(value: Any) -> Value:
    if isinstance(value, list):
        return tuple(_plain(each) for each in value)
    return value if isinstance(value, str | int | float | bool) else value.isoformat()


def row_names(rows: list[dict[str, Any]]) -> tuple[str, ...]:
    """Return a name for each table of a list: its own where it has one, its place where not; never one name twice."""
    names: list[str] = []
    for place, row in enumerate(rows, 1):
        name = next((str(row[key]) for key in _NAMES if key in row), str(place)).replace(" ", "_")
        names.append(name if name not in names else f"{name}_{place}")
    return tuple(names)


def parse(file: str, text: str, schema: Mapping[str, frozenset[str]] | None = None) -> tuple[Entry, ...]:
    """Return the entries of a data file's text.

    Args:
        file: its name, which heads every key.
        text: TOML.
        schema: topic to the keys allowed anywhere inside it, or None to allow all.

    Raises:
        ReferenceFault: the text is not TOML, or something in it may not be relied on; see the module's head.
    """
    import tomllib

    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ReferenceFault(file, "(file)", f"is not TOML: {error}") from error
    sources = {each["id"]: each["title"] for each in document.get("source", [])}
    walk = _Walk(file, schema, sources)
    found: list[Entry] = []
    for topic, value in document.items():
        if topic in ("meta", "source"):
            continue
        if schema is not None and topic not in schema:
            raise ReferenceFault(file, topic, "is a topic that the schema does not list")
        found.extend(walk.value(value, _Beside(), (file, topic), False))
    return tuple(found)


@lru_cache(maxsize=1)
def _schema() -> Mapping[str, Mapping[str, frozenset[str]]]:
    import tomllib

    raw = tomllib.loads(_read("schema"))
    return {file: {topic: frozenset(keys) for topic, keys in topics.items()} for file, topics in raw.items()}


@lru_cache(maxsize=1)
def titles() -> Mapping[str, str]:
    """Return one line of words for each topic."""
    import tomllib

    return {topic: line for lines in tomllib.loads(_read("topics")).values() for topic, line in lines.items()}


def _read(file: str) -> str:
    from importlib.resources import files

    return (files("carwright.reference") / "data" / f"{file}.toml").read_text(encoding="utf-8")


@lru_cache(maxsize=len(FILES))
def entries_of(file: str) -> Mapping[tuple[str, ...], Entry]:
    """Return the entries of one of ``FILES`` by path, in the order of the file.

    Raises:
        ReferenceFault: the file holds something that may not be relied on.
    """
    return {each.path: each for each in parse(file, _read(file), _schema()[file])}


def find(*path: str) -> Entry | None:
    """Return the entry at a path ("standards", "scale_ratio", "NEM_N", "ratio"), or None."""
    return entries_of(path[0]).get(path)


def entry(*path: str) -> Entry:
    """Return the entry at a path that must be there.

    Raises:
        ReferenceFault: it is not there.
    """
    found = find(*path)
    if found is None:
        raise ReferenceFault(path[0], ".".join(path[1:]), "is asked for, but is not there")
    return found


@lru_cache(maxsize=256)
def under(*path: str) -> Mapping[str, Mapping[str, Entry]]:
    """Return the members of a table by name, each as its own values by name, in the order of the file."""
    depth = len(path)
    members: dict[str, dict[str, Entry]] = {}
    for each in entries_of(path[0]).values():
        if each.path[:depth] == path and len(each.path) > depth + 1:
            members.setdefault(each.path[depth], {})[".".join(each.path[depth + 1 :])] = each
    return members
