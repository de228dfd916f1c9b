"""How long a screw must be, and what its thread holds.

Its *grip* is what it passes before its thread bites. A truck's screw passes the truck's bolster, the washers and the
body bolster, and stands back from snug so that the truck turns; a coupler's passes its box and what shims it. What is
left of its length is in the plastic, at most as deep as that is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from carwright.reference import Thread, practice_value
from carwright.working import Working, derive, derived

__all__ = [
    "Lengths",
    "Reach",
    "back_off",
    "best_length",
    "lengths_wanted",
    "out_of_the_top",
    "shared_lengths",
    "thread_in",
]


@dataclass(frozen=True, slots=True)
class Reach:
    """What a screw passes and what it goes into.

    Args:
        name: as one says it ("truck A").
        thread: of the screw.
        grip: from under the head to the plastic, mm.
        back: how far it stands back from snug, mm; None of a screw that is tight.
        depth: of the plastic, mm.
        hidden: whether its tip may not come out of the top: a deck, or a load, is seen or stands there.
    """

    name: str
    thread: Thread
    grip: Working
    back: Working | None
    depth: Working
    hidden: bool


@dataclass(frozen=True, slots=True)
class Lengths:
    """Lengths of a screw, mm.

    Args:
        least: that holds.
        better: from which on more length holds no better.
        whole: that ends where the plastic does; a longer one comes out of it.
        strict: whether none may be longer than that.
    """

    least: Working
    better: Working
    whole: Working
    strict: bool


def back_off(thread: Thread) -> Working:
    """Return how far a truck's screw stands back from snug, mm."""
    return derive("back from snug", "n*P", n=practice_value("truck_screw_back_off"), P=thread.pitch)


def thread_in(reach: Reach, length: Working) -> Working:
    """Return how much of a screw's thread is in the plastic, mm; below nought it does not reach it."""
    inputs, formula = {"l": length, "g": reach.grip}, "l - g"
    if reach.back is not None:
        inputs["r"], formula = reach.back, "l - g - r"
    found = derived(f"thread of {reach.name} in the plastic", formula, inputs)
    if found.value > reach.depth.value:
        return derive(found.name, "t", t=reach.depth, note="the screw is longer than the plastic is deep")
    return found


def out_of_the_top(reach: Reach, length: Working) -> Working:
    """Return how far a screw's tip stands above the plastic when driven home, mm; below nought it stays inside."""
    return derive(
        f"tip of the screw of {reach.name} above the plastic", "l - g - t", l=length, g=reach.grip, t=reach.depth
    )


def lengths_wanted(reach: Reach) -> Lengths:
    """Return the lengths that hold at least 1.5, better 2 diameters of thread (common practice)."""
    inputs, formula = {"g": reach.grip}, "g"
    if reach.back is not None:
        inputs["r"], formula = reach.back, "g + r"
    inputs["D"] = reach.thread.major

    def length(name: str, factor: str) -> Working:
        return derived(name, f"{formula} + k*D", {**inputs, "k": practice_value(factor)})

    least = length(f"least length of the screw of {reach.name}", "block_diameters_min")
    better = length(f"better length of the screw of {reach.name}", "block_diameters_better")
    whole = derive(f"length of the screw of {reach.name} through the plastic", "g + t", g=reach.grip, t=reach.depth)
    if whole.value < better.value:
        better = whole if whole.value > least.value else least
    return Lengths(least, better, whole, reach.hidden)


def shared_lengths(wanted: Sequence[Lengths]) -> Lengths:
    """Return the lengths that do for every one of several screws, coming out of the plastic at none."""
    return Lengths(
        max((each.least for each in wanted), key=lambda size: size.value),
        max((each.better for each in wanted), key=lambda size: size.value),
        min((each.whole for each in wanted), key=lambda size: size.value),
        strict=True,
    )


def best_length(wanted: Lengths, sizes: Sequence[Working]) -> Working | None:
    """Return the size that does: of those that stay in the plastic the shortest that holds best, else the longest.

    Only where none of them holds, one that comes out of it, if it may; None where none does.
    """
    long = [each for each in sizes if each.value >= wanted.least.value - 1e-9]
    fit = [each for each in long if each.value <= wanted.whole.value + 1e-9]
    if not fit and not wanted.strict:
        return min(long, key=lambda each: each.value, default=None)
    enough = [each for each in fit if each.value >= wanted.better.value - 1e-9]
    if enough:
        return min(enough, key=lambda each: each.value)
    return max(fit, key=lambda each: each.value, default=None)
