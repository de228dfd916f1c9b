"""Findings that hang on one reading: within its doubt the verdict would be another, and that is said with the number.

A margin is moved by the ± of each reading below it, one at a time. The heights of the couplers are left out: they have
a chance, which counts the doubts of all readings together.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final, Literal

from carwright.car.keys import key_named
from carwright.findings import Finding, listed
from carwright.lengths import show_in
from carwright.working import Working, evaluate, leaves

__all__ = ["hanging"]

_STILL: Final = 1e-9
_REACH: Final = 2.5
"""No length of a plan moves by more than so many times what a reading below it moves: longer levers are left out."""

_FINEST_MM: Final = 0.0127
"""Half a thousandth of an inch: finer than this nobody reads calipers, own choice."""

_CHANCE: Final = ("coupler_height_", "found_", "no_cure")


def hanging(findings: Iterable[Finding], units: Literal["in", "mm"]) -> list[Finding]:
    """Return the findings; of those that would turn within the doubt of one reading, it is said which, and what helps.

    Args:
        findings: of a car.
        units: in which it speaks.
    """
    return [_told(each, units) for each in findings]


def _told(finding: Finding, units: Literal["in", "mm"]) -> Finding:
    margin = finding.margin
    if margin is None or finding.unit != "mm" or finding.check.startswith(_CHANCE):
        return finding
    least = abs(margin.value) / _REACH
    doubted = [each for each in leaves(margin) if each.kind == "typed" and each.tolerance_value > 0.0]
    doubted = [each for each in doubted if each.tolerance_value >= least]
    if not doubted:
        return finding
    inside = margin.value >= -_STILL
    turned: list[tuple[float, Working]] = []
    for leaf in doubted:
        ends = [evaluate(margin, {leaf.key: leaf.value + side * leaf.tolerance_value}) for side in (1, -1)]
        worst = min(ends) if inside else max(ends)
        if (worst >= -_STILL) != inside:
            turned.append((worst, leaf))
    if not turned:
        return finding
    turned.sort(key=lambda each: (each[0] if inside else -each[0], each[1].key))
    worst, leaf = turned[0]
    alike = [
        each for value, each in turned if abs(value - worst) < 1e-6 and each.tolerance_value == leaf.tolerance_value
    ]
    names = list(dict.fromkeys(_called(each) for each in alike))
    doubt = f"read to ± {show_in(leaf.tolerance_value, units)}"
    which = listed(names).replace(" and ", " or ") + (", each " if len(names) > 1 else ", ") + doubt
    side = "outside" if inside else "inside"
    because = (
        f"{finding.because} It hangs on {which}: within that it may be {show_in(abs(worst), units)} {side} the limit."
    )
    least = _nearest_turn(margin, leaf, inside=inside)
    mend = _measure(names, alike, least, units)
    if finding.mend:
        mend = finding.mend if least < _FINEST_MM else f"{finding.mend} But first: {mend[:1].lower()}{mend[1:]}"
    return replace(finding, because=because, mend=mend, hangs_on=tuple(each.key for each in alike))


def _nearest_turn(margin: Working, leaf: Working, *, inside: bool) -> float:
    """Return how far a reading may be off before the verdict turns, to a thousandth of its doubt."""

    def turns(off: float) -> bool:
        return any((evaluate(margin, {leaf.key: leaf.value + side * off}) >= -_STILL) != inside for side in (1, -1))

    low, high = 0.0, leaf.tolerance_value
    for _ in range(10):
        middle = (low + high) / 2
        low, high = (low, middle) if turns(middle) else (middle, high)
    return low


def _called(leaf: Working) -> str:
    key = key_named(leaf.key)
    if key is None:
        return leaf.name
    return f"{key.letter} {key.called}" if key.letter else key.called


def _measure(names: list[str], readings: list[Working], least_mm: float, units: Literal["in", "mm"]) -> str:
    """Return how a reading becomes sure enough: with what, and how near it has to be."""
    what = listed(names)
    if least_mm < _FINEST_MM:
        return f"No calipers read {what} so fine: try it on scrap, or on the car, before anything is glued or drilled."
    near = f"to ± {show_in(least_mm, units, tolerance_mm=least_mm / 10)} or better"
    if all(each.tolerance is not None and each.tolerance.source == "last place typed" for each in readings):
        return f"Give {what} with every place that was read, or measure better, {near}."
    if any(each.source.startswith("rule") for each in readings):
        return f"Measure {what} better, with calipers, {near}."
    return f"Measure {what} better, several times over, {near}, and give the ± that you trust behind it."
