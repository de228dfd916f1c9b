"""The working behind a number: formula, inputs and source, down to what was typed or published.

A ``Working`` is both the number and its derivation. Leaves are readings from the car file (*typed*), published or
customary values (*reference*) and things the program counted or chose (*chosen*). Everything else is *derived*: its
formula is a string of arithmetic in short symbols, and that very string is what was evaluated, so what is shown cannot
differ from what was computed. A few results that no line of arithmetic can give (a sampled chance) carry a function
instead.

Words: a *leaf* has no inputs; its *tolerance* is a working of its own, whose key, where it was typed, is the reading's
key with ``±`` behind it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import CodeType, MappingProxyType
from typing import Final, Literal

from carwright.records import quickly_made

__all__ = [
    "Basis",
    "Distribution",
    "Kind",
    "Working",
    "chosen",
    "counted",
    "derive",
    "derived",
    "evaluate",
    "leaves",
    "of",
    "settled",
    "typed",
]

Kind = Literal["typed", "reference", "chosen", "derived"]
"""Where a number comes from."""

Basis = Literal["", "seen", "memory", "practice", "derived"]
"""How a reference value is known; "" for what the user measured."""

Distribution = Literal["nominal", "rect", "normal", "tri"]
"""Shape of a reading's doubt: none, rectangular, normal with ± = 2 sigma, or triangular."""

_NO_INPUTS: Mapping[str, Working] = MappingProxyType({})

_VOCABULARY: dict[str, object] = {
    "abs": abs,
    "acos": math.acos,
    "asin": math.asin,
    "atan": math.atan,
    "cos": math.cos,
    "degrees": math.degrees,
    "floor": math.floor,
    "hypot": math.hypot,
    "max": max,
    "min": min,
    "pi": math.pi,
    "radians": math.radians,
    "sin": math.sin,
    "sqrt": math.sqrt,
    "tan": math.tan,
}
"""What a formula may use beside its own symbols."""


@quickly_made
@dataclass(frozen=True, slots=True, eq=False)
class Working:
    """A number with everything that is needed to find it again.

    Args:
        value: the number, in ``unit``.
        name: what it is, in words ("coupler height at A").
        unit: "mm", "deg", "g", "n", "mm2", "year", "count", or "" for a ratio.
        kind: see ``Kind``.
        formula: for a derived number, the arithmetic in the symbols of ``inputs``; it is executable.
        inputs: symbol to working, in the order of the formula.
        note: one sentence of explanation, assumption or limit.
        function: computes the value from the inputs' values, in order, where ``formula`` only describes it.
        key: a leaf's own key: dotted car-file key, or the id of the reference entry.
        text: a leaf as it was typed or printed.
        line: the car file's line, counted from 1.
        source: document and place, or the instrument.
        basis: how a reference value is known.
        tolerance: half-width ± of a reading, a working of its own, or None where it has none.
        distribution: shape of that tolerance.
    """

    value: float
    name: str
    unit: str = "mm"
    kind: Kind = "derived"
    formula: str = ""
    inputs: Mapping[str, Working] = field(default_factory=lambda: _NO_INPUTS)
    note: str = ""
    function: Callable[..., float] | None = None
    key: str = ""
    text: str = ""
    line: int | None = None
    source: str = ""
    basis: Basis = ""
    tolerance: Working | None = None
    distribution: Distribution = "nominal"

    @property
    def is_leaf(self) -> bool:
        """Return whether the number is taken as given."""
        return self.kind != "derived"

    @property
    def tolerance_value(self) -> float:
        """Return the half-width ± of the reading, 0 where it has none."""
        return 0.0 if self.tolerance is None else self.tolerance.value

    def renamed(self, name: str, *, note: str = "") -> Working:
        """Return the same number under another name, as a derived number with this one as its only input."""
        return derive(name, "x", self.unit, note=note, x=self)


def typed(
    value: float,
    name: str,
    unit: str = "mm",
    *,
    key: str,
    text: str = "",
    line: int | None = None,
    source: str = "",
    tolerance: Working | None = None,
    distribution: Distribution = "nominal",
) -> Working:
    """Return a leaf that was typed in the car file; the arguments are the fields of ``Working``."""
    return Working(
        value,
        name,
        unit,
        "typed",
        key=key,
        text=text,
        line=line,
        source=source,
        tolerance=tolerance,
        distribution=distribution,
    )


def of(
    value: float,
    name: str,
    unit: str = "mm",
    *,
    key: str,
    source: str,
    basis: Basis,
    note: str = "",
    text: str = "",
    tolerance: Working | None = None,
    distribution: Distribution = "nominal",
) -> Working:
    """Return a leaf of reference data; the arguments are the fields of ``Working``, ``key`` the entry's id."""
    return Working(
        value,
        name,
        unit,
        "reference",
        note=note,
        key=key,
        text=text,
        source=source,
        basis=basis,
        tolerance=tolerance,
        distribution=distribution,
    )


def counted(value: int, name: str, *, note: str) -> Working:
    """Return a leaf for something the program counted or ranked; ``note`` says what was counted.

    Its key is its name, so that two of one name within one working are one leaf.
    """
    return Working(float(value), name, "count", "chosen", note=note, key=name)


def chosen(
    value: float,
    name: str,
    unit: str = "mm",
    *,
    note: str,
    tolerance: Working | None = None,
    distribution: Distribution = "nominal",
) -> Working:
    """Return a leaf for a size that the program chose among others; ``note`` says why this one."""
    return Working(value, name, unit, "chosen", note=note, key=name, tolerance=tolerance, distribution=distribution)


@lru_cache(maxsize=4096)
def _compiled(formula: str, symbols: tuple[str, ...]) -> Callable[..., float]:
    code: CodeType = compile(f"lambda {', '.join(symbols)}: {formula}", f"<formula {formula}>", "eval")
    made: Callable[..., float] = eval(code, {"__builtins__": {}, **_VOCABULARY})  # noqa: S307 - formulas are ours
    return made


def derive(
    name: str,
    formula: str,
    unit: str = "mm",
    *,
    note: str = "",
    source: str = "",
    function: Callable[..., float] | None = None,
    **inputs: Working,
) -> Working:
    """Return the number that ``formula`` gives from ``inputs``, together with that derivation.

    Args:
        name: what it is, in words.
        formula: Python arithmetic in the names of ``inputs`` and the usual functions; evaluated as it stands, unless
            ``function`` is given, when it is only the description.
        unit: unit of the result.
        note: one sentence: assumption, limit or reason.
        source: where the formula comes from.
        function: takes the inputs' values in the order given.
        inputs: one working for each symbol.

    Example:
        >>> seat = typed(7.2136, "seat height", key="trucks.seat_height")
        >>> bolster = typed(4.191, "bolster", key="underframe.bolster")
        >>> round(derive("floor underside", "J + K", J=seat, K=bolster).value, 4)
        11.4046
    """
    return derived(name, formula, inputs, unit, note=note, source=source, function=function)


def derived(
    name: str,
    formula: str,
    inputs: Mapping[str, Working],
    unit: str = "mm",
    *,
    note: str = "",
    source: str = "",
    function: Callable[..., float] | None = None,
) -> Working:
    """Return what ``derive`` returns, with the symbols and their workings in one mapping."""
    compute = function if function is not None else _compiled(formula, tuple(inputs))
    value = float(compute(*[each.value for each in inputs.values()]))
    return Working(
        value, name, unit, "derived", formula=formula, inputs=inputs, note=note, function=function, source=source
    )


def evaluate(working: Working, moved: Mapping[str, float] = MappingProxyType({})) -> float:
    """Return the number found again from its leaves alone, with any leaf replaced by ``moved[leaf.key]``.

    No stored value of a derived number is used on the way.

    Args:
        working: the number.
        moved: other values for some leaves, by key, each in its leaf's own unit.
    """
    known: dict[int, float] = {}

    def value_of(node: Working) -> float:
        if node.is_leaf:
            return moved.get(node.key, node.value)
        found = known.get(id(node))
        if found is None:
            compute = node.function if node.function is not None else _compiled(node.formula, tuple(node.inputs))
            found = float(compute(*[value_of(each) for each in node.inputs.values()]))
            known[id(node)] = found
        return found

    return value_of(working)


def settled(working: Working) -> Working:
    """Return the same number from those of its leaves alone that move it, where others cancel on the way.

    Args:
        working: a number below which a leaf may be met twice with opposite signs.

    Returns:
        The working itself where every leaf moves it.
    """
    every = tuple(leaves(working))
    felt = [leaf for leaf in every if _moves(working, leaf)]
    if len(felt) == len(every):
        return working
    if not felt:
        return chosen(working.value, working.name, working.unit, note="its readings cancel")
    keys = [leaf.key for leaf in felt]
    return derived(
        working.name,
        working.formula,
        {f"r{i}": leaf for i, leaf in enumerate(felt, 1)},
        working.unit,
        note="worked from the readings that move it; the others cancel",
        source=working.source,
        function=lambda *values: evaluate(working, dict(zip(keys, values, strict=True))),
    )


def _moves(working: Working, leaf: Working) -> bool:
    here = evaluate(working)
    size = abs(evaluate(working, {leaf.key: leaf.value + _NUDGE}) - here)
    return max(size, abs(evaluate(working, {leaf.key: leaf.value - _NUDGE}) - here)) > _STILL


_NUDGE: Final = 1e-3
_STILL: Final = 1e-9


def leaves(working: Working) -> Iterator[Working]:
    """Yield each leaf once, by key, in the order in which the formula meets it."""
    seen: set[str] = set()
    visited: set[int] = set()
    stack = [working]
    while stack:
        node = stack.pop()
        if id(node) in visited:
            continue
        visited.add(id(node))
        if node.is_leaf:
            if node.key not in seen:
                seen.add(node.key)
                yield node
        else:
            stack.extend(reversed(tuple(node.inputs.values())))
