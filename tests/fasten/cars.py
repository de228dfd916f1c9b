"""A car whose floor stays, for tests of old holes and screws; every number is invented."""

from __future__ import annotations

from carwright.car.read import read_car
from carwright.findings import Finding
from carwright.plan import Plan, make_plan

KEPT = """
[car]
scale = "HO"
[body]
length = "6.000"
width = "1.200"
inside_length = "5.800"
inside_width = "1.100"
floor = "kept"
floor_thickness = "0.180"
lip_depth = "0.200"
end_notch = "0.120"
[trucks]
centers = "4.000"
seat_height = "0.300"
[coupler]
drop = "0.060"
pivot_inset = "0.300"
length = "0.400"
[underframe]
bolster = "0.150"
"""
"""Trucks at ± 2.000, couplers at ± 2.700, floor 5.800 by 1.100 and 0.180 thick: no screw block is needed for 2-56."""


def kept(more: str = "", *changes: tuple[str, str]) -> Plan:
    """Return the plan of that car with more behind it and some of its words changed."""
    text = KEPT
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return make_plan(read_car(text + more))


def found(plan: Plan, check: str) -> Finding:
    """Return a finding by its name."""
    return next(each for each in plan.findings if each.check == check)
