"""The chain of working behind one number, as a page shows it: step by step down to what was measured or read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from carwright.car.keys import key_named
from carwright.draw.arithmetic import BASIS_WORDS, on_paper, put_in, value_said
from carwright.lengths import show_in
from carwright.web.figures import Units, unit_word
from carwright.working import Working

__all__ = ["Step", "chain_of"]

_MOST: Final = 400
"""Steps that one page shows; the JSON of ``carwright plan --why`` has them all."""


@dataclass(frozen=True, slots=True)
class Step:
    """One number of the chain.

    Args:
        depth: how far below the number asked for.
        symbol: its sign in the formula above it, "" at the top.
        name: what it is.
        value: with its unit.
        formula: how it comes about, in the signs of its inputs; "" for what was measured, read or chosen.
        numbers: the same with the numbers put in, or "".
        source: where a leaf comes from, in words.
        note: assumption or limit.
        kind: "derived", "typed", "reference" or "chosen".
        letter: of a measurement.
        slot: its place in the car file.
        again: number of the step above that this is, 0 for none.
        number: number of this step.
    """

    depth: int
    symbol: str
    name: str
    value: str
    formula: str
    numbers: str
    source: str
    note: str
    kind: str
    letter: str
    slot: str
    again: int
    number: int


def chain_of(working: Working, units: Units) -> tuple[Step, ...]:
    """Return the chain of a number: itself first, below each number what went into it."""
    met: dict[object, int] = {}
    return tuple(_steps(working, "", 0, units, met))


def _steps(node: Working, symbol: str, depth: int, units: Units, met: dict[object, int]) -> Iterator[Step]:
    if len(met) >= _MOST:
        return
    mark: object = (node.kind, node.key) if node.is_leaf else id(node)
    again = met.get(mark, 0)
    number = again or len(met) + 1
    met.setdefault(mark, number)
    trivial = not node.inputs or node.formula in node.inputs
    formula = "" if node.is_leaf or trivial else on_paper(node.formula)
    numbers = put_in(node) if formula and node.function is None and not again else ""
    key = key_named(node.key) if node.kind == "typed" else None
    yield Step(
        depth,
        symbol,
        node.name,
        value_said(node, units),
        "" if again else formula,
        numbers,
        _source(node, units),
        node.note,
        node.kind,
        key.letter if key is not None else "",
        node.key if node.kind == "typed" else "",
        again,
        number,
    )
    if again:
        return
    for name, each in node.inputs.items():
        yield from _steps(each, name, depth + 1, units, met)


def _source(node: Working, units: Units) -> str:
    if node.kind == "typed":
        parts = [f"typed “{node.text}”" if node.text else "typed"]
        if node.tolerance is not None:
            size = node.tolerance.value
            told = (
                show_in(size, units, tolerance_mm=size)
                if node.unit == "mm"
                else f"{size:g} {unit_word(node.unit, units)}"
            )
            parts.append(f"± {told.strip()}")
        if node.source:
            parts.append(node.source)
        return ", ".join(parts)
    if node.kind == "reference":
        known = BASIS_WORDS.get(node.basis, "")
        return node.source if known and known in node.source else ", ".join(p for p in (node.source, known) if p)
    if node.kind == "chosen":
        return "chosen by the program"
    return node.source
