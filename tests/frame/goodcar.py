"""A good car, with everything measured that interference asks for, and the ways to spoil it."""

from __future__ import annotations

from tests.plan.cars import demo

from carwright.car.read import read_car
from carwright.findings import Finding
from carwright.plan import Plan, make_plan

WEIGHT = """
[[body.block]]
name = "weight"
kind = "solid"
x = "0"
length = "5.6"
width = "0.4"
from = "0.350"
to = "0.450"
"""


def changed(text: str, *changes: tuple[str, str]) -> str:
    """Return a text with parts of it changed; each must be there."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


GOOD = (
    changed(
        demo("boxcar.toml"),
        (
            'screw = "2-56"\n\n[trucks.a]',
            'screw = "2-56"\nscrew_length = "7/16"\nbolster_thickness = "0.110"\n\n[trucks.a]',
        ),
        ('box_height = "0.12"\nscrew = "2-56"', 'box_height = "0.12"\nscrew = "2-56"\nscrew_length = "1/4"'),
        ('seat_height = "0.278"        # this truck is lower', 'seat_height = "0.284"'),
    )
    + WEIGHT
)
"""The demonstration's boxcar on two trucks alike, with its screws measured and a weight over its floor."""


def plan_of(text: str) -> Plan:
    """Return the plan of a car file's text."""
    return make_plan(read_car(text, file="car.toml"))


def clashes_of(plan: Plan) -> dict[str, Finding]:
    """Return the findings of parts that take the same room, by name."""
    return {each.check: each for each in plan.findings if each.check.startswith("clash_")}


def piece(name: str, **given: str) -> str:
    """Return a [[piece]] table."""
    lines = [f'name = "{name}"', *(f'{key} = "{value}"' for key, value in given.items())]
    return "\n[[piece]]\n" + "\n".join(lines) + "\n"
