"""What was measured, as a page asks for it: every key of the car file as a field with its slots.

A *slot* is one place to type in: a place of the car file ("trucks.a.seat_height"), or one reading of several that have
names ("body.inside_width[1]"). A list without names stands in one slot, its values with semicolons between, those of a
stack with a plus.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import lru_cache
from typing import Final

from carwright.car.document import Cell, Table, decoded, document_of
from carwright.car.keys import HO_RATIO, Key, key_named, keys, path_of, sections
from carwright.car.model import Car
from carwright.car.write import Written
from carwright.lengths import nearest_fraction, number_in
from carwright.problems import InputError, Problem
from carwright.web.choicewords import choice_how, choice_said
from carwright.web.figures import Units, unit_word, value_text
from carwright.working import Working

__all__ = [
    "Entry",
    "Field",
    "Group",
    "changes_of",
    "counts_for_neither",
    "fields_at",
    "groups_of",
    "leaves_of",
    "texts_of",
]

_BETWEEN: Final = "; "
_STACKED: Final = frozenset({"trucks.washers", "underframe.bolster", "underframe.layers"})
"""Lists of what lies one on another, written as a sum, as in every sentence."""

_NONE: Final = "none"
"""What is typed for a list that is known to have nothing in it."""

_SLOT: Final = re.compile(r"(.+)\[(\d+)\]")
_ROW: Final = re.compile(r"^([a-z_.]+)\[(\d+)\]\.")
_LONGEST: Final = 500
_APART: Final = 0.03
"""Readings of one size that differ by more than this part of it are asked about: our own choice."""

_NEAR_MM: Final = 0.13
"""Within five thousandths of an inch a rule's fraction is worth naming."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One slot: what stands in it and how it was read.

    Args:
        slot: name of the slot.
        label: what it is beside the field's own name: "at B", "end A", or "".
        text: as it was typed, "" where nothing was.
        unit: unit of a bare number, or "".
        tolerance: ± of the reading without unit, or "".
        echo: how it was read, one line, or "".
        known: whether the plan has a value from it.
        ask: a question about a value that can be, and seldom is; "" for none.
    """

    slot: str
    label: str
    text: str
    unit: str = ""
    tolerance: str = ""
    echo: str = ""
    known: bool = False
    ask: str = ""


@dataclass(frozen=True, slots=True)
class Field:
    """One key with its slots; ``apart`` are those of the two ends, where the key may be given for each."""

    key: Key
    name: str
    entries: tuple[Entry, ...]
    apart: tuple[Entry, ...] = ()
    wanted: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    """Each value that can be chosen, and what it is called on the page."""

    @property
    def given(self) -> bool:
        """Return whether anything stands in one of its slots."""
        return any(each.text for each in (*self.entries, *self.apart))

    @property
    def measured(self) -> bool:
        """Return whether it is read off the car, and not said of it."""
        return self.key.kind in ("length", "lengths", "mass", "angle", "count")

    @property
    def how(self) -> str:
        """Return how it is measured, with what is typed on a page for a list without names and for yes and no."""
        told = choice_how(self.key.path, self.key.how)
        told = told.replace("an empty list for none", "the word none where there are none")
        return _yes_or_no(told) if self.key.kind == "flag" else told

    @property
    def default(self) -> str:
        """Return what is taken without it."""
        said = choice_said(self.key.path, self.key.default)
        return _yes_or_no(said) if self.key.kind == "flag" else said

    @property
    def several(self) -> bool:
        """Return whether more stands in one of its boxes than one number."""
        return self.key.kind == "lengths" and not self.key.places

    @property
    def shown(self) -> bool:
        """Return whether it stands on the page without being asked for: what has a letter of the measuring sheet."""
        return self.wanted or self.key.first or (self.given and len(self.key.letter) == 1)


@dataclass(frozen=True, slots=True)
class Group:
    """One section of the car file, or one row of a section that stands several times.

    ``fields`` stand open, ``more`` are those given beside them, ``rest`` what was not asked for yet.
    """

    name: str
    title: str
    what: str
    fields: tuple[Field, ...]
    more: tuple[Field, ...]
    rest: tuple[Field, ...]

    @property
    def last(self) -> bool:
        """Return whether it stands behind the others: what the head of the page tells already."""
        return self.name == "car"

    @property
    def every(self) -> tuple[Field, ...]:
        """Return all of its fields."""
        return (*self.fields, *self.more, *self.rest)


def _yes_or_no(text: str) -> str:
    said = {"true": "yes", "false": "no", "True": "Yes", "False": "No"}
    return re.sub(r"\b[Tt]rue\b|\b[Ff]alse\b", lambda found: said[found.group()], text)


def texts_of(document: bytes, *, changes: Mapping[str, str] | None = None) -> dict[str, str]:
    """Return every slot of a car file that something stands in, with what was typed.

    Args:
        document: the car file.
        changes: slots in which something else was typed since.
    """
    return {**_texts_in(document), **(changes or {})}


@lru_cache(maxsize=16)
def _texts_in(document: bytes) -> Mapping[str, str]:
    root, _ = document_of(decoded(document))
    return dict(_texts(root, ""))


def _texts(table: Table, lead: str) -> Iterator[tuple[str, str]]:
    for name, node in table.inside.items():
        place = f"{lead}.{name}" if lead else name
        if isinstance(node, Table):
            yield from _texts(node, place)
        elif isinstance(node, list):
            for at, row in enumerate(node):
                yield from _texts(row, f"{place}[{at}]")
        else:
            key = key_named(place)
            values = node.value if isinstance(node.value, tuple) else None
            if key is not None and key.places:
                for at, each in enumerate((node,) if values is None else values):
                    yield f"{place}[{at}]", _text(each)
            else:
                between = " + " if key is not None and key.path in _STACKED else _BETWEEN
                several = "" if values is None else between.join(_text(each) for each in values)
                empty = values == () and key is not None and key.kind == "texts"
                yield place, _text(node) if values is None else _NONE if empty else several


def _text(cell: object) -> str:
    if not isinstance(cell, Cell):
        return ""
    if isinstance(cell.value, bool):
        return "yes" if cell.value else "no"
    if isinstance(cell.value, tuple):
        return " to ".join(_text(each) for each in cell.value)
    return cell.text


def changes_of(texts: Mapping[str, str], typed: Mapping[str, str]) -> dict[str, Written]:
    """Return what must be written for the slots in which something else was typed.

    Args:
        texts: what stands in the file, by slot.
        typed: what was typed, by slot; an empty text takes the value out.

    Raises:
        InputError: a slot is none of the car file's.
    """
    changes: dict[str, Written] = {}
    for slot, typed_text in typed.items():
        text = typed_text.strip()
        if text == texts.get(slot, "").strip():
            continue
        key = key_named(slot)
        if key is None or len(text) > _LONGEST * 4:
            raise InputError(Problem("there is no such measurement", slot[:80], key=slot[:80]))
        listed = _SLOT.fullmatch(slot)
        if key.places and listed is not None:
            changes[listed[1]] = _listed(listed[1], key, texts, typed)
        else:
            changes[slot] = None if not text else _written(key, text)
    return changes


def _listed(place: str, key: Key, texts: Mapping[str, str], typed: Mapping[str, str]) -> Written:
    slots = [f"{place}[{at}]" for at in range(max(key.upto, len(key.places)))]
    values = [typed.get(slot, texts.get(slot, "")).strip() for slot in slots]
    while values and not values[-1]:
        values.pop()
    if not values:
        return None
    return values[0] if len(values) == 1 and key.least <= 1 else values


def _written(key: Key, text: str) -> Written:
    """Return what a typed text stands for in the file, by the kind of its key."""
    if key.kind == "flag":
        return {"yes": True, "no": False}.get(text.casefold(), text)
    if key.kind in ("count", "year"):
        return int(text) if text.isascii() and text.isdigit() and len(text) < 7 else text
    if key.kind == "texts":
        return [] if text.casefold() == _NONE else [each.strip() for each in re.split(r"[;,]", text) if each.strip()]
    if key.kind == "lengths":
        parts = [each.strip() for each in re.split(r";|\s\+\s", text) if each.strip()]
        return parts[0] if len(parts) == 1 and key.least <= 1 and key.words else parts
    if key.kind == "windows":
        return [[part.strip() for part in each.split(" to ")] for each in text.split(";") if each.strip()]
    return text


def leaves_of(record: object) -> Iterator[Working]:
    """Yield every reading below a record of the car, each place once."""
    seen: set[str] = set()
    stack: list[object] = [record]
    while stack:
        node = stack.pop()
        if isinstance(node, Working):
            if node.kind == "typed" and node.key not in seen:
                seen.add(node.key)
                yield node
        elif isinstance(node, tuple):
            stack.extend(node)
        elif is_dataclass(node):
            stack.extend(getattr(node, each.name) for each in fields(node))


def fields_at(
    slots: Sequence[str], texts: Mapping[str, str], car: Car, wanted: Sequence[str] = ()
) -> Iterator[tuple[Entry, Field]]:
    """Yield each slot that there is, as it stands on the page, and its field; other arguments as for ``groups_of``."""
    read = {leaf.key: leaf for leaf in leaves_of(car)}
    asked = {path_of(each) for each in wanted}
    for slot in slots:
        key = key_named(slot)
        if key is None:
            continue
        row = _ROW.match(slot)
        section = f"{row[1]}[{row[2]}]" if row is not None else key.section
        field = _field(key, section, texts, read, car, wanted=key.path in asked)
        for each in (*field.entries, *field.apart):
            if each.slot == slot:
                yield each, field


def groups_of(texts: Mapping[str, str], car: Car, wanted: Sequence[str] = ()) -> tuple[Group, ...]:
    """Return every section with its fields.

    Args:
        texts: what stands in each slot.
        car: the car as read from them, for how they were read.
        wanted: places or paths of measurements that a finding waits for.
    """
    read = {leaf.key: leaf for leaf in leaves_of(car)}
    asked = {key.path for each in wanted if (key := key_named(each)) is not None}
    made: list[Group] = []
    for section in sections():
        own = [key for key in keys() if key.section == section.path]
        if not section.many:
            made.append(_group(section.path, section.title, section.what, own, section.path, texts, read, asked, car))
            continue
        bare = section.path.removesuffix("[]")
        rows = sorted({int(at[2]) for slot in texts if (at := _ROW.match(slot)) is not None and at[1] == bare})
        for row in rows:
            place = f"{bare}[{row}]"
            told = next((text for key in own if (text := texts.get(f"{place}.{key.name}", ""))), "")
            name = f"{section.title} {row + 1}{': ' + told if told else ''}"
            made.append(_group(place, name, section.what, own, place, texts, read, set(), car))
        if not section.path.startswith("shelf."):
            place = f"{bare}[{len(rows)}]"
            name = f"{section.title}: one more"
            made.append(_group(place, name, section.what, own, place, texts, read, set(), car, fresh=True))
    return tuple(made)


def _group(
    name: str,
    title: str,
    what: str,
    own: Sequence[Key],
    place: str,
    texts: Mapping[str, str],
    read: Mapping[str, Working],
    wanted: set[str],
    car: Car,
    *,
    fresh: bool = False,
) -> Group:
    made = [_field(key, place, texts, read, car, wanted=key.path in wanted) for key in own]
    shown = tuple(each for each in made if each.shown and not fresh)
    given = tuple(each for each in made if each.given and not each.shown)
    rest = tuple(each for each in made if not each.given and (fresh or not each.shown))
    return Group(name, title, what, shown, given, rest)


def _field(
    key: Key, section: str, texts: Mapping[str, str], read: Mapping[str, Working], car: Car, *, wanted: bool
) -> Field:
    place = f"{section}.{key.name}"
    units = car.info.units
    slots = [(f"{place}[{at}]", label) for at, label in enumerate(key.places)] if key.places else [(place, "")]
    entries = tuple(_entry(slot, label, key, texts, read, units) for slot, label in slots)
    apart: tuple[Entry, ...] = ()
    if key.ends:
        pairs = []
        for end in ("a", "b"):
            inline = f"{place}.{end}"
            slot = inline if inline in texts or f"{inline}[0]" in texts else f"{section}.{end}.{key.name}"
            pairs.append((slot, f"end {end.upper()}"))
        apart = tuple(_entry(slot, label, key, texts, read, units) for slot, label in pairs)
        if counts_for_neither(place, texts):
            note = "Each end has its own, given below." + (
                " This counts for neither." if texts.get(place, "").strip() else ""
            )
            entries = tuple(replace(each, echo=note, tolerance="") for each in entries)
    entries = tuple(_with_question(each, entries, key, read, car) for each in entries)
    apart = tuple(_with_question(each, (), key, read, car) for each in apart)
    values = ("yes", "no") if key.kind == "flag" else key.choices
    choices = tuple((each, choice_said(key.path, each)) for each in values)
    name = key.called[:1].upper() + key.called[1:]
    return Field(key, name, entries, apart, wanted, choices)


def counts_for_neither(slot: str, texts: Mapping[str, str]) -> bool:
    """Return whether a slot is that of both ends, and each end has its own value."""
    section, _, name = slot.rpartition(".")
    return all(
        any(texts.get(each, "").strip() for each in (f"{slot}.{end}", f"{section}.{end}.{name}")) for end in ("a", "b")
    )


def _entry(
    slot: str, label: str, key: Key, texts: Mapping[str, str], read: Mapping[str, Working], units: Units
) -> Entry:
    leaf = _leaf_at(slot, read)
    unit = {"length": units, "lengths": units, "mass": "g", "angle": "°"}.get(key.kind, key.unit)
    text = texts.get(slot, "")
    if leaf is None:
        return Entry(slot, label, text, unit if not key.choices else "")
    tolerance = ""
    if leaf.tolerance is not None and leaf.tolerance_value > 0:
        tolerance = _tolerance(leaf, units)
    echo = f"{leaf.value:.3g} {key.unit}" if key.unit and not text.isdigit() else echo_of(leaf, units)
    return Entry(slot, label, text, unit, tolerance, echo, True)


def _with_question(entry: Entry, others: Sequence[Entry], key: Key, read: Mapping[str, Working], car: Car) -> Entry:
    """Return a slot with what is asked about its reading: one unlike the other readings of its size, or unusual."""
    leaf = _leaf_at(entry.slot, read)
    if leaf is None or leaf.unit != "mm":
        return entry
    beside = [other.value for each in others if each.slot != entry.slot and (other := _leaf_at(each.slot, read))]
    if key.places and beside:
        middle = sum(beside) / len(beside)
        off = abs(leaf.value - middle) / max(middle, 1e-9)
        if off > _APART:
            whose = "the other reading" if len(beside) == 1 else "the other readings"
            return replace(entry, ask=f"{off:.0%} away from {whose} of this size. Read it again?")
    bound = next((each for each in read.values() if key.most and path_of(each.key) == key.most), None)
    if key.usual_share and bound is not None and (named := key_named(key.most)) is not None:
        low, high = key.usual_share
        share = leaf.value / bound.value
        if not low <= share <= high:
            usual = f"{low:.0%} to {high:.0%} is usual (common practice)"
            return replace(entry, ask=f"That is {share:.0%} of the {named.called}; {usual}. Is it right?")
    elif key.usual and car.info.ratio is not None:
        low, high = (each * HO_RATIO / car.info.ratio.value for each in key.usual)
        if not low <= leaf.value <= high:
            units = car.info.units
            usual = f"{number_in(low, units)} to {number_in(high, units)} {units}"
            return replace(entry, ask=f"Usual is {usual} in this scale (common practice). Is it right?")
    return entry


def _leaf_at(slot: str, read: Mapping[str, Working]) -> Working | None:
    """Return the reading of a slot; the first of a list may stand in the file by itself."""
    return read.get(slot) or (read.get(slot.removesuffix("[0]")) if slot.endswith("[0]") else None)


def _tolerance(leaf: Working, units: Units) -> str:
    size = leaf.tolerance_value
    if leaf.unit == "mm":
        return "±" + number_in(size, units, tolerance_mm=size)
    return f"±{size:g} {unit_word(leaf.unit, units)}".rstrip()


def echo_of(leaf: Working, units: Units) -> str:
    """Return how a reading was read: in the other unit, by the nearest fraction, and with what it was taken."""
    if leaf.unit != "mm":
        return f"{value_text(leaf, units)} {unit_word(leaf.unit, units)}".strip() if leaf.unit == "g" else ""
    other: Units = "mm" if units == "in" else "in"
    parts = [f"{number_in(leaf.value, other)} {other}"]
    if units == "in":
        near = nearest_fraction(leaf.value)
        if "/" in leaf.text:
            parts.insert(0, near.text if abs(near.error_mm) < 1e-6 else f"{number_in(leaf.value, 'in')} in")
        elif abs(near.error_mm) < _NEAR_MM and near.text != "0 in" and not leaf.text.strip().isdigit():
            off = number_in(abs(near.error_mm), "in")
            more = "more" if near.error_mm > 0 else "less"
            parts.append(f"nearly {near.text}" if float(off) == 0.0 else f"{near.text} is {off} {more}")
    if leaf.source:
        parts.append(leaf.source.partition(",")[0])
    return ", ".join(parts)
