"""Readings that do not go together, and words that the data does not know: a slip is told before it is built."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from typing import Final

from carwright.car.model import ENDS, Car, End, Ends
from carwright.findings import Finding
from carwright.frame.layout import usual
from carwright.lengths import show_in
from carwright.plan.checks import called
from carwright.reference import practice_value, thread, threads
from carwright.ride.model import Ride, Target
from carwright.working import Working, derive, evaluate, leaves

__all__ = ["slip_findings"]

_POINT: Final = (0.1, 10.0)
"""A decimal point one place to the left or to the right."""


def slip_findings(car: Car, ride: Ride, targets: Ends[Target | None], target: Working | None) -> Iterator[Finding]:
    """Yield a finding for each reading that is most likely a slip of the pen or of the instrument.

    Args:
        car: the car.
        ride: both ends solved.
        targets: where each coupler should stand; None where no target is known.
        target: what the finished car should weigh, g, or None.
    """
    yield from _screws_not_known(car)
    for end in ENDS:
        far = _far_from_target(car, end, ride, targets.at(end))
        if far is not None:
            yield far
    yield from _seats_differ(car)
    yield from _shell_too_heavy(car, target)
    yield from _insides(car)


def _screws_not_known(car: Car) -> Iterator[Finding]:
    said: dict[tuple[str, str], list[End]] = {}
    for end in ENDS:
        for part, text in (("trucks", car.trucks.at(end).screw), ("coupler", car.coupler.at(end).screw)):
            if text and thread(text) is None:
                said.setdefault((part, text), []).append(end)
    for (part, text), ends in said.items():
        names = [each.name for each in threads()]
        near = difflib.get_close_matches(text, names, n=3, cutoff=0.5)
        where = f"_{ends[0]}" if len(ends) == 1 else ""
        yield Finding(
            f"{part.removesuffix('s')}_screw{where}",
            "unknown",
            f'The data has no thread "{text}": no hole is drilled for the {part.removesuffix("s")} screw.',
            mend=f"Write one of {', '.join(near or names)}; for another screw drill by its maker's own table.",
            needs=(f"{part}.screw",),
        )


def _far_from_target(car: Car, end: End, ride: Ride, target: Target | None) -> Finding | None:
    """Return the finding of a coupler further from its height than any cure reaches: something was read wrongly."""
    result, letter, units = ride.ends.at(end), end.upper(), car.info.units
    if target is None or result.error is None or result.found is not None:
        return None
    reach = usual("alternative_reach", "furthest that cures reach", car)
    error = result.error
    if abs(error.value) <= reach.value:
        return None
    size = derive(f"distance of coupler {letter} from its height", "abs(e)", e=error)
    margin = derive("within reach of cures", "r - d", r=reach, d=size)
    words = f"Coupler {letter} comes out {show_in(size.value, units)} {'high' if error.value > 0 else 'low'}, "
    words += "further than any cure reaches: one of its readings is most likely a slip."
    suspects = [each for each in leaves(error) if each.kind == "typed" and each.unit == "mm" and each.value]
    told = [
        f"{called(each.key)}, typed {each.text}, perhaps meant as {show_in(each.value * shift, units)}"
        for each in suspects
        for shift in _POINT
        if abs(evaluate(error, {each.key: each.value * shift})) <= target.limit.value
    ]
    heights = [each for each in suspects if _moves(error, each)]
    again = ", ".join(f"{called(each.key)} {each.text}" for each in heights)
    mend = f"Measure again: {'; '.join(told) if told else again}."
    return Finding(f"reading_{end}", "watch", words, size, reach, margin, mend=mend, source="common practice")


def _moves(error: Working, leaf: Working) -> bool:
    """Return whether a reading is a height: it moves the coupler by half as much as it moves itself, or more."""
    return abs(evaluate(error, {leaf.key: leaf.value + 1.0}) - error.value) >= 0.5


def _seats_differ(car: Car) -> Iterator[Finding]:
    a, b, units = car.trucks.a.seat_height, car.trucks.b.seat_height, car.info.units
    if a is None or b is None or a.key == b.key:
        return
    limit = usual("seats_differ", "most that two trucks' seats differ", car)
    size = derive("difference of the truck seats", "abs(a - b)", a=a, b=b)
    if size.value <= limit.value:
        return
    yield Finding(
        "seats_differ",
        "watch",
        f"The truck seats differ by {show_in(size.value, units)}, more than {show_in(limit.value, units)}: two "
        "trucks of one kind are seldom so unlike.",
        size,
        limit,
        derive("alike enough by", "l - d", l=limit, d=size),
        mend=f"Measure J seat height again at both ends; typed: A {a.text}, B {b.text}.",
        source="common practice",
    )


def _shell_too_heavy(car: Car, target: Working | None) -> Iterator[Finding]:
    """Yield where the shell alone weighs more than any finished car: the wrong unit, or the wrong thing weighed."""
    mass = car.body.mass
    if mass is None or target is None or car.weight.target is not None:
        return
    most = derive("heaviest shell", "k*T", "g", k=practice_value("shell_heaviest"), T=target)
    if mass.value <= most.value:
        return
    yield Finding(
        "shell_mass",
        "watch",
        f"The shell was typed {mass.text}, {mass.value:.0f} g, and the finished car should weigh {target.value:.0f} g: "
        "no shell weighs that.",
        mass,
        most,
        derive("weight of the shell to spare", "m - w", "g", m=most, w=mass),
        unit="g",
        mend=f"Weigh it again: {called('body.mass')} takes grams where no unit is typed, and 1 oz is 28.35 g.",
        source="common practice",
    )


def _insides(car: Car) -> Iterator[Finding]:
    """Yield where inside sizes differ as in no shell, or leave walls that no shell has."""
    body = car.body
    if body.mount != "drop-in":
        return
    for name, outside, insides, key in (
        ("ends", body.length, body.inside_length, "body.inside_length"),
        ("sides", body.width, body.inside_width, "body.inside_width"),
    ):
        if not insides:
            continue
        units = car.info.units
        least = min(insides, key=lambda each: each.value)
        most = max(insides, key=lambda each: each.value)
        apart = usual("insides_differ", "most that inside sizes of one shell differ", car)
        if most.value - least.value > apart.value:
            size = derive(f"difference inside between the {name}", "m - l", m=most, l=least)
            yield Finding(
                f"inside_{name}",
                "watch",
                f"Between the {name} {most.text} and {least.text} were typed: {show_in(size.value, units)} apart, and "
                f"no shell leans by more than {show_in(apart.value, units)}.",
                size,
                apart,
                derive("alike enough by", "l - d", l=apart, d=size),
                mend=f"Measure {called(key)} again at each place.",
                source="common practice",
            )
        if outside is None:
            continue
        limit = usual("wall_most", "thickest wall of a shell", car)
        wall = derive(f"wall left at the {name}", "(o - i)/2", o=outside, i=least)
        if wall.value <= limit.value:
            continue
        yield Finding(
            f"walls_{name}",
            "fail",
            f"{called(key)}, typed {least.text}, leaves walls of {show_in(wall.value, units)} at the {name}; no "
            f"shell has more than {show_in(limit.value, units)}.",
            wall,
            limit,
            derive("wall to spare", "l - w", l=limit, w=wall),
            mend=f"Measure {called(key)} again; outside was typed {outside.text}.",
            source="common practice",
        )
