"""The forces along a train: what hangs on each car or is pushed by it, and what the locomotive can take."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from carwright.plan.trainmodel import Kind
from carwright.weight.consist import Consist
from carwright.weight.standing import gravity
from carwright.working import Working, derive, derived

__all__ = ["available", "pulls_along", "pushes_along", "steepest", "total"]


def total(kinds: Sequence[Kind], what: Literal["drag", "mass"], name: str, unit: str) -> Working | None:
    """Return the sum over all cars, row by row from the rear; None where one is missing."""
    found: Working | None = None
    for kind in reversed(kinds):
        each: Working | None = getattr(kind, what)
        if each is None:
            return None
        found = _more(each, kind, 0, found, f"{name}, from {kind.name} on", unit)
    assert found is not None
    return found.renamed(name)


def _more(each: Working, kind: Kind, before: int, behind: Working | None, name: str, unit: str) -> Working:
    """Return ``each`` times the cars of a row without the first ``before`` of them, and what is behind the row."""
    inputs: dict[str, Working] = {}
    times = "d"
    if kind.row.count is not None:
        inputs["n"] = kind.row.count
        times = f"(n - {before})*d" if before else "n*d"
    inputs["d"] = each
    if behind is not None:
        inputs["b"] = behind
        times += " + b"
    return derived(name, times, inputs, unit)


def pulls_along(kinds: Sequence[Kind]) -> list[Working | None]:
    """Return the pull at each car's front coupler, N, the front car first."""
    found: list[Working | None] = []
    behind: Working | None = None
    known = True
    for kind in reversed(kinds):
        row: list[Working | None] = []
        known = known and kind.drag is not None
        for before in range(kind.row.many):
            words = f"pull at the front of {kind.name}" + (f", car {before + 1} of them" if kind.row.many > 1 else "")
            row.append(_more(kind.drag, kind, before, behind, words, "n") if known and kind.drag is not None else None)
        found = [*row, *found]
        behind = row[0]
    return found


def pushes_along(kinds: Sequence[Kind]) -> list[Working | None]:
    """Return the push at each car's rear coupler, N, the front car first: the locomotive is behind the last one."""
    found: list[Working | None] = []
    ahead: Working | None = None
    known = True
    for kind in kinds:
        known = known and kind.drag is not None
        for place in range(1, kind.row.many + 1):
            if not known or kind.drag is None:
                found.append(None)
                continue
            inputs = {"d": kind.drag} if ahead is None else {"d": kind.drag, "b": ahead}
            times = ("d" if place == 1 else f"{place}*d") + ("" if ahead is None else " + b")
            words = f"push at the rear of {kind.name}" + (f", car {place} of them" if kind.row.many > 1 else "")
            found.append(derived(words, times, inputs, "n"))
        if known and kind.drag is not None:
            ahead = _more(kind.drag, kind, 0, ahead, f"drag of the train as far as {kind.name}", "n")
    return found


def available(consist: Consist, grade: Working | None) -> Working | None:
    """Return what the locomotive pulls up the grade, N: on level track, less its own weight's share."""
    pull, mass = consist.pull, consist.locomotive
    if pull is None or grade is None or mass is None:
        return pull
    return derive(
        "pull of the locomotive on the grade", "P - m/1000*g*i/100", "n", P=pull, m=mass, g=gravity(), i=grade
    )


def steepest(consist: Consist, kinds: Sequence[Kind], mass: Working | None) -> Working | None:
    """Return the grade, percent, up which the locomotive would just take the train; negative where not even level."""
    if consist.pull is None or mass is None:
        return None
    weighed: Working | None = None
    for kind in reversed(kinds):
        assert kind.mass is not None
        each = derive(f"mass of {kind.name} times its resistance", "m*r", "g percent", m=kind.mass, r=kind.rolling)
        weighed = _more(each, kind, 0, weighed, f"masses times resistances, from {kind.name} on", "g percent")
    assert weighed is not None
    inputs = {"P": consist.pull, "g": gravity(), "R": weighed, "M": mass}
    below = "M"
    if consist.locomotive is not None:
        inputs["L"] = consist.locomotive
        below = "(M + L)"
    return derived("steepest grade for this train", f"(100000*P/g - R)/{below}", inputs, "percent")
