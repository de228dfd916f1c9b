"""The chain of working behind one number, as a page shows it: step by step down to what was measured or read."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import isclose, isfinite, sqrt
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from markupsafe import Markup

from carwright.car.keys import key_named
from carwright.draw.arithmetic import BASIS_WORDS, digits, inches, on_paper, put_in, value_said
from carwright.draw.labels import is_chance, name_said
from carwright.lengths import show_in
from carwright.web.figures import NOTHING_LEFT, Units, unit_word
from carwright.working import Working, derived, evaluate, leaves

if TYPE_CHECKING:
    from carwright.plan import Plan

__all__ = ["Doubt", "Step", "asked", "chain_of", "doubt_of"]

_LEAST_SHARE: Final = 0.01
_VARIANCE: Final = {"rect": 3, "normal": 4, "tri": 6}
"""Variance of a doubt of half-width t is t squared over this."""

_INCH_MM: Final = 25.4
"""International inch, exactly."""

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
        share: part of the variance of the number asked for that this reading carries, 0..1; None where it has no doubt.
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
    share: float | None = None

    @property
    def percent(self) -> str:
        """Return the share of doubt as it is written, "" where there is none."""
        if self.share is None:
            return ""
        return "under 1 %" if self.share < _LEAST_SHARE else f"{100 * self.share:.0f} %"


@dataclass(frozen=True, slots=True)
class Doubt:
    """How far a number is in doubt: half-width by root sum square, as written, and each reading's share by its key."""

    width: str
    shares: Mapping[str, float]


NO_DOUBT: Final = Doubt("", MappingProxyType({}))


def doubt_of(plan: Plan, path: str, working: Working) -> Doubt:
    """Return the doubt of a number of a plan and who carries it.

    The height of a coupler has the doubt that the plan gives it, in which each fitted part is a variable of its own.
    A chance has none: the doubts are what it is made of. For every other number each reading is moved by its ± both
    ways; half of what that moves the number is its part of the root sum square, and the variances (t^2/3, /4 or /6 by
    the shape of the doubt) give the shares.
    """
    if is_chance(working):
        return NO_DOUBT
    height = re.fullmatch(r"ride\.([ab])\.(?:coupler_height|error)_mm", path)
    if height is not None:
        end = plan.ride.ends.at("a" if height[1] == "a" else "b")
        keys = {each.name: each.reading.key for each in plan.ride.contributors}
        shares: dict[str, float] = {}
        for each in end.shares:
            key = keys.get(each.name, "")
            shares[key] = shares.get(key, 0.0) + each.share.value
        return NO_DOUBT if end.rss is None or not shares else Doubt(_width(end.rss.value, working, plan), shares)
    moved: dict[str, float] = {}
    weight: dict[str, float] = {}
    for leaf in leaves(working):
        if leaf.tolerance is None or leaf.tolerance_value <= 0:
            continue
        here = [evaluate(working, {leaf.key: leaf.value + side * leaf.tolerance_value}) for side in (1, -1)]
        moved[leaf.key] = ((here[0] - here[1]) / 2) ** 2
        weight[leaf.key] = moved[leaf.key] / _VARIANCE.get(leaf.distribution, 3)
    total = sum(weight.values())
    if not isfinite(total) or total <= 0 or working.is_leaf:
        return NO_DOUBT
    width = _width(sqrt(sum(moved.values())), working, plan)
    return Doubt(width, {key: each / total for key, each in weight.items()})


def _width(size: float, working: Working, plan: Plan) -> str:
    units = plan.car.info.units
    if working.unit == "mm":
        return show_in(size, units, tolerance_mm=size / 10)
    return f"{size:.2g} {unit_word(working.unit, units)}".strip()


def chain_of(working: Working, units: Units, doubt: Doubt = NO_DOUBT) -> tuple[Step, ...]:
    """Return the chain of a number: itself first, below each number what went into it, each reading with its share."""
    met: dict[object, int] = {}
    return tuple(_steps(working, "", 0, units, met, doubt))


def asked(working: Working, units: Units) -> Markup:
    """Return the question that a chain answers, as one would ask it.

    What has nothing left is asked for by how much it misses its limit; what is counted, for its number.
    """
    name = name_said(working.name)
    spare = name.removesuffix(" to spare").removesuffix(",")
    size = _value(working, units)
    if working.unit == "count":
        before, after = f"Why is the number of {name}", "?"
    elif spare == name:
        before, after = f"Why is {_the(name)}", "?"
    elif abs(working.value) <= NOTHING_LEFT:
        before, size, after = f"Why has {_the(spare)}", "nothing", " to spare?"
    elif working.value < 0:
        size = _value(replace(working, value=-working.value), units)
        before, after = f"Why does {_the(spare)} miss its limit by", "?"
    else:
        before, after = f"Why has {_the(spare)}", " to spare?"
    return Markup('{} <span class="n">{}</span>{}').format(before, _minus(size), after)


def _the(name: str) -> str:
    return name if re.match(r"(?:the|a|an|half|what)\b", name) else f"the {name}"


def _steps(
    node: Working, symbol: str, depth: int, units: Units, met: dict[object, int], doubt: Doubt
) -> Iterator[Step]:
    if len(met) >= _MOST:
        return
    mark: object = (node.kind, node.key) if node.is_leaf else id(node)
    again = met.get(mark, 0)
    number = again or len(met) + 1
    met.setdefault(mark, number)
    trivial = not node.inputs or node.formula in node.inputs
    formula = "" if node.is_leaf or trivial else on_paper(node.formula)
    numbers = (
        put_in(_in_inches(node) if units == "in" else node) if formula and node.function is None and not again else ""
    )
    key = key_named(node.key) if node.kind == "typed" else None
    yield Step(
        depth,
        symbol,
        name_said(node.name),
        _minus(_value(node, units)),
        "" if again else _minus(formula),
        _minus(numbers),
        _source(node, units),
        node.note,
        node.kind,
        key.letter if key is not None else "",
        node.key if node.kind == "typed" else "",
        again,
        number,
        doubt.shares.get(node.key) if node.is_leaf and not again else None,
    )
    if again:
        return
    for name, each in node.inputs.items():
        yield from _steps(each, name, depth + 1, units, met, doubt)


def _value(node: Working, units: Units) -> str:
    """Return a value in the car's own unit first; a length of an inch car with the millimetres that the sums are in."""
    if node.unit == "mm" and units == "in":
        return f"{inches(node.value)} ({digits(node.value)} mm)"
    return value_said(node, units)


def _in_inches(node: Working) -> Working:
    """Return a number with the lengths that go into it in inches, where its arithmetic comes to the same in them.

    A sum or a ratio of lengths does; what has a length of its own among its figures is left as it is worked, in mm.
    """
    if node.unit in ("mm2", "mm3") or all(each.unit != "mm" for each in node.inputs.values()):
        return node
    inputs = {
        name: replace(each, value=each.value / _INCH_MM) if each.unit == "mm" else each
        for name, each in node.inputs.items()
    }
    wanted = node.value / _INCH_MM if node.unit == "mm" else node.value
    made = derived(node.name, node.formula, inputs, node.unit, function=node.function)
    return made if isclose(made.value, wanted, rel_tol=1e-9, abs_tol=1e-9) else node


def _minus(text: str) -> str:
    return text.replace("-", "\u2212")


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
