"""Cars for the tests, written as the user writes them: dotted keys and their texts, then the shelf."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from carwright.car.model import End
from carwright.car.read import read_car
from carwright.plan import Plan, make_plan
from carwright.ride.model import EndRide
from carwright.working import Working

INCH = 25.4
"""Millimetres in an inch, exactly."""

LEVEL = {
    "car.scale": "HO",
    "car.units": "in",
    "body.length": "6.000",
    "body.inside_length": "5.800",
    "body.inside_width": "1.100",
    "body.lip_depth": "0.180",
    "body.end_notch": "0.120",
    "trucks.centers": "4.000",
    "trucks.seat_height": "0.300",
    "coupler.drop": "0.060",
    "coupler.pivot_inset": "0.300",
    "coupler.length": "0.400",
    "underframe.bolster": "0.150",
}
"""An invented car, alike at both ends: a = 2.000 in, c = 3.000 - 0.300 + 0.400 = 3.100 in; couplers at 0.390 in."""


def text_of(values: Mapping[str, str | Sequence[str]], shelf: str = "") -> str:
    """Return the text of a car file with these keys in their sections, the shelf's tables behind them."""

    def written(value: str | Sequence[str]) -> str:
        if isinstance(value, str):
            return f'"{value}"'
        return "[" + ", ".join(f'"{each}"' for each in value) + "]"

    sections: dict[str, list[str]] = {}
    for key, value in values.items():
        section, _, name = key.rpartition(".")
        sections.setdefault(section, []).append(f"{name} = {written(value)}")
    tables = (f"[{section}]\n" + "\n".join(lines) + "\n" for section, lines in sorted(sections.items()))
    return "\n".join(tables) + "\n" + shelf


def plan_of(values: Mapping[str, str | Sequence[str]], shelf: str = "") -> Plan:
    """Return the plan of a car with these keys."""
    return make_plan(read_car(text_of(values, shelf)))


def known(working: Working | None) -> float:
    """Return the value of a number that must be there, in its own unit."""
    assert working is not None
    return working.value


def inches(working: Working | None) -> float:
    """Return a length that must be there, in inches."""
    return known(working) / INCH


def end_of(plan: Plan, end: End) -> EndRide:
    """Return the ride of one end."""
    return plan.ride.ends.at(end)


def height(plan: Plan, end: End) -> float:
    """Return one coupler's height in inches."""
    return inches(end_of(plan, end).coupler_height)


def error(plan: Plan, end: End) -> float:
    """Return one coupler's error in inches, high positive."""
    return inches(end_of(plan, end).error)


def mirrored(values: Mapping[str, str | Sequence[str]]) -> dict[str, str | Sequence[str]]:
    """Return the same car with its ends exchanged."""
    swap = {"a": "b", "b": "a"}
    return {".".join(swap.get(word, word) for word in key.split(".")): value for key, value in values.items()}
