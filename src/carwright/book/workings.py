"""The appendix: how the main numbers come about, every reading, every published value, every choice, each once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Final, Literal

from carwright.book.cautions import caution_entries
from carwright.car.keys import key_named
from carwright.car.model import ENDS, Shelf
from carwright.draw.arithmetic import UNIT_WORDS, digits, inches, on_paper
from carwright.draw.blocks import Block, Heading, Note, Prose, Table
from carwright.draw.labels import chance_said, is_chance, name_said
from carwright.lengths import show_in
from carwright.plan import document_of
from carwright.plan.model import Plan
from carwright.reference import basis_words
from carwright.working import Working, leaves

__all__ = ["main_numbers", "source_blocks", "working_blocks"]

_SHOWN_INPUTS: Final = 12
"""Inputs that are named one by one; a sampled chance has dozens, and they are those of its worst case."""


def main_numbers(plan: Plan) -> tuple[Working, ...]:
    """Return the numbers whose working is printed: floor, heights, doubts, holes of the floor, sill, weight wanted."""
    floor, ride = plan.floor, plan.ride
    found: list[Working | None] = [floor.thickness, floor.length, floor.width, floor.cut_length, floor.cut_width]
    for end in ENDS:
        each = ride.ends.at(end)
        found += [each.floor_underside, each.mounting_face, each.coupler_height, each.error]
        found += [each.worst_case, each.rss, each.pass_probability]
    found.append(ride.pass_probability)
    for hole in plan.holes:
        if hole.piece == "floor":
            found += [hole.x_mm, hole.depth_mm, hole.thread_percent, hole.turns, hole.edge_mm]
    for piece in plan.pieces:
        if piece.name in ("center_sill_bottom", "center_sill_side_left", "bolster_a"):
            found += [piece.length_mm, piece.width_mm]
    found += [plan.weight.target, plan.weight.present]
    return tuple(each for each in found if each is not None)


class _Lines:
    """Numbers every derived working once, what goes into it before it."""

    def __init__(self) -> None:
        self.numbers: dict[object, int] = {}
        self.marks: dict[int, object] = {}
        self.kept: list[Working] = []

    def mark(self, node: Working) -> object:
        """Return what makes two workings one: a leaf's key; a derivation's name, formula and inputs."""
        if node.is_leaf:
            return node.kind, node.key
        found = self.marks.get(id(node))
        if found is None:
            inputs = tuple((symbol, self.mark(each)) for symbol, each in node.inputs.items())
            found = (node.name, node.formula, inputs)
            self.marks[id(node)] = found
            self.kept.append(node)  # so that the identity is not given to another
        return found

    def add(self, node: Working) -> Iterator[Working]:
        """Yield what has no number yet, inputs first, and give it one."""
        node = plain(node)
        if _told_by_itself(node) or self.mark(node) in self.numbers:
            return
        for each in node.inputs.values():
            yield from self.add(each)
        self.numbers[self.mark(node)] = len(self.numbers) + 1
        yield node

    def number(self, node: Working) -> int:
        """Return the number of a derived working that was added."""
        return self.numbers[self.mark(plain(node))]


def plain(node: Working) -> Working:
    """Return the working that a mere renaming stands for, without the renaming where that says nothing of its own."""
    while not node.is_leaf and len(node.inputs) == 1 and node.formula in node.inputs and not node.note:
        node = next(iter(node.inputs.values()))
    return node


def _told_by_itself(node: Working) -> bool:
    """Return whether a number has no line of its own: a leaf, or a nought made of nothing ("on the centre line")."""
    return node.is_leaf or (not node.inputs and not node.note and node.value == 0.0)


def working_blocks(plan: Plan) -> tuple[Block, ...]:
    """Return the working of the main numbers, each line once, referring to earlier lines by number."""
    units = plan.car.info.units
    lines = _Lines()
    rows: list[tuple[str, ...]] = []
    for each in main_numbers(plan):
        for node in lines.add(each):
            rows.append((str(lines.number(node)), _name(node), _how(node, lines, units), value_said(node, units)))
    if not rows:
        return (Prose("Nothing has been worked out yet."),)
    table = Table(
        ("", "What", "How", "Gives"),
        tuple(rows),
        (9.0, 46.0, 0.0, 42.0),
        (True, False, False, True),
    )
    return (
        Note(
            "Lengths are computed in millimetres and told in both units. A number in brackets is a line above; a word "
            "with dots is a reading of the car file, listed after this; other names are published values, customs or "
            "choices of the program, listed with their sources after that. Any other number of the plan tells its "
            "working to carwright plan CAR --why PATH."
        ),
        table,
    )


def _name(node: Working) -> str:
    words = name_said(node.name)
    return words[:1].upper() + words[1:]


_LIKE_TERMS: Final = 4
"""From so many terms of one shape on, a sum is told by its shape and a list of what enters each term."""
_ROOT: Final = re.compile(r"^sqrt\((?P<inside>.*)\)$")


def _like_terms(node: Working, lines: _Lines) -> str:
    """Return a long sum of like terms as its shape and what enters each, or "" where it is none."""
    root = _ROOT.match(node.formula)
    terms = (root["inside"] if root else node.formula).split(" + ")
    shapes = {re.sub(r"(?<=[a-z])\d+\b", "", term) for term in terms}
    if len(terms) < _LIKE_TERMS or len(shapes) != 1:
        return ""
    shape = on_paper(shapes.pop()).replace("-", "−")
    symbols = [re.findall(r"\b[a-z]+\d+\b", term) for term in terms]
    if sorted(symbol for each in symbols for symbol in each) != sorted(node.inputs):
        return ""
    letters = " and ".join(re.sub(r"\d+$", "", symbol) for symbol in symbols[0])
    each_told = "; ".join(" and ".join(_entering(node.inputs[symbol], lines) for symbol in each) for each in symbols)
    return f"{'square root of the ' if root else ''}sum of {shape}, with {letters} in turn: {each_told}"


def _entering(each: Working, lines: _Lines) -> str:
    inner = plain(each)
    if inner.is_leaf:
        return f"{_leaf_name(inner)} {_signed(inner.value)}"
    if _told_by_itself(inner):
        return f"{_signed(inner.value)}, {name_said(inner.name)}"
    return f"({lines.number(inner)}) {_signed(inner.value)}"


def _how(node: Working, lines: _Lines, units: Literal["in", "mm"]) -> str:
    formula = _like_terms(node, lines)
    if formula:
        return formula
    formula = on_paper(node.formula).replace("-", "−")
    told = []
    for symbol, each in node.inputs.items():
        told.append(f"{symbol} = {_entering(each, lines)}")
    if node.function is not None and len(told) > _SHOWN_INPUTS:
        told = [*told[:2], f"and the {len(told) - 2} sensitivities and doubts of the worst case"]
    given = f", with {'; '.join(told)}" if told else ""
    note = f". {node.note[:1].upper()}{node.note[1:]}" if node.note else ""
    source = f". By {node.source}" if node.source else ""
    return f"{formula}{given}{note}{source}"


def _signed(value: float) -> str:
    return digits(value).replace("-", "−", 1) if value < 0 else digits(value)


def _leaf_name(node: Working) -> str:
    return node.key if node.kind == "typed" else node.name


def value_said(node: Working, units: Literal["in", "mm"]) -> str:
    """Return a value with its unit; a length in millimetres and, for a reader of inches, in inches too."""
    if node.unit == "mm":
        return f"{_signed(node.value)} mm" + (f" = {inches(node.value).replace('-', '−')}" if units == "in" else "")
    if is_chance(node):
        return chance_said(node)
    unit = UNIT_WORDS.get(node.unit, node.unit)
    return f"{_signed(node.value)}{'' if unit == '°' else ' '}{unit}".strip()


def _all_leaves(plan: Plan) -> tuple[Working, ...]:
    found: dict[tuple[str, str], Working] = {}
    numbers: Iterable[Working] = (working for _, working in document_of(plan).numbers())
    for working in numbers:
        for leaf in leaves(working):
            found.setdefault((leaf.kind, leaf.key), leaf)
            if leaf.tolerance is not None:
                for inner in leaves(leaf.tolerance):
                    found.setdefault((inner.kind, inner.key), inner)
    return tuple(found.values())


def source_blocks(plan: Plan) -> tuple[Block, ...]:
    """Return where everything is from: readings, published values and customs, choices, and the cautions' sources."""
    every = _all_leaves(plan)
    units = plan.car.info.units
    blocks: list[Block] = []
    readings = [each for each in every if each.kind == "typed" and "±" not in each.key]
    if readings:
        blocks += [Heading("Readings that enter this book's numbers"), _readings(readings, units)]
    idle = _idle(plan, {each.key for each in readings})
    if idle:
        blocks += [Heading("Other readings: drawn, counted or compared, or not used yet"), _readings(idle, units)]
    values = [each for each in every if each.kind == "reference"]
    if values:
        blocks += [
            Heading("Published values and customs"),
            Note(
                "Read: the document was read. Read in a quotation: another's words on it were. From memory: not read, "
                "so it never fails a car. Common practice: custom, or this program's own choice, with its reason. "
                "Seen, in a note: read."
            ),
            *_values(values),
        ]
    choices = [each for each in every if each.kind == "chosen" and not each.name.startswith(_SAID_ELSEWHERE)]
    if choices:
        blocks += [Heading("Chosen or counted by the program"), _choices(choices, units)]
    rows = tuple(
        (name, f"{hazard} {controls[:1].upper()}{controls[1:]}.", source)
        for name, hazard, controls, source in caution_entries()
    )
    table = Table(("What hurts", "How, and what helps", "Source"), rows, (32.0, 0.0, 52.0), (False, False, False))
    return (*blocks, Heading("What the cautions rest on"), table)


_SAID_ELSEWHERE: Final = ("quantity of", "rank", "parts")
"""Beginnings of names of what the cut table and the ways to stand say."""


def _idle(plan: Plan, used: set[str]) -> list[Working]:
    """Return what was typed of the car but enters no number of the book; the shelf is left out."""
    found: dict[str, Working] = {}
    for each in _typed_in(replace(plan.car, shelf=Shelf())):
        if each.key not in used:
            found.setdefault(each.key, each)
    return list(found.values())


def _typed_in(record: object) -> Iterator[Working]:
    """Yield every reading of a record, whatever it is made of."""
    if isinstance(record, Working):
        if record.kind == "typed":
            yield record
    elif isinstance(record, tuple | list):
        for each in record:
            yield from _typed_in(each)
    elif is_dataclass(record):
        for field in fields(record):
            yield from _typed_in(getattr(record, field.name))


def _readings(readings: list[Working], units: Literal["in", "mm"]) -> Table:
    rows = []
    for each in sorted(readings, key=lambda leaf: (leaf.line or 0, leaf.key)):
        key = key_named(each.key)
        doubt = ""
        if each.tolerance is not None:
            size = each.tolerance.value
            doubt = show_in(size, units, tolerance_mm=size) if each.unit == "mm" else digits(size)
        rows.append(
            (
                key.letter if key is not None else "",
                each.key,
                "" if each.line is None else str(each.line),
                each.text,
                doubt,
                each.source,
            )
        )
    return Table(
        ("", "Key", "Line", "As typed", "±", "Taken with"),
        tuple(rows),
        (9.0, 0.0, 11.0, 34.0, 22.0, 46.0),
        (False, False, True, False, True, False),
    )


_MANY: Final = 6
"""From so many values of one source and one note on, they have a table of their own."""


def _values(values: list[Working]) -> list[Block]:
    """Return the values, those of one source and one note in one row; many of them in a table under their source."""
    alike: dict[tuple[str, str], dict[str, str]] = {}
    for each in sorted(values, key=lambda leaf: (leaf.source, leaf.name)):
        known = basis_words(each.basis)
        source = each.source
        if not known or known not in source:
            source = ", ".join(part for part in (source, known) if part)
        alike.setdefault((source, each.note), {})[each.name] = each.text or value_said(each, "mm")
    few = {kind: named for kind, named in alike.items() if len(named) < _MANY}
    rows = tuple(
        ("; ".join(f"{name}: {size}" for name, size in named.items()), source, note)
        for (source, note), named in few.items()
    )
    heads = ("Values", "Source and how it is known", "Note")
    blocks: list[Block] = [Table(heads, rows, (66.0, 58.0, 0.0), (False, False, False))] if rows else []
    for (source, note), named in alike.items():
        if len(named) >= _MANY:
            blocks += [Note(f"{len(named)} values of one source: {source}. {note}".strip()), _many(named)]
    return blocks


def _many(named: Mapping[str, str]) -> Table:
    """Return values as a small table, two and two beside one another, down the left column first."""
    pairs = list(named.items())
    half = (len(pairs) + 1) // 2
    right = [*pairs[half:], ("", "")][:half]
    rows = tuple((*one, "", *other) for one, other in zip(pairs[:half], right, strict=True))
    return Table(("Value", "", "", "Value", ""), rows, (0.0, 28.0, 6.0, 0.0, 28.0), (False, True, False, False, True))


def _choices(choices: list[Working], units: Literal["in", "mm"]) -> Table:
    """Return the choices, those of one reason in one row."""
    alike: dict[str, list[str]] = {}
    for each in choices:
        alike.setdefault(each.note or "no reason recorded", []).append(
            f"{name_said(each.name)}: {value_said(each, units)}"
        )
    rows = tuple((note[:1].upper() + note[1:], "; ".join(named)) for note, named in alike.items())
    return Table(("Reason", "What"), rows, (58.0, 0.0), (False, False))
