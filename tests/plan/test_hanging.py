"""A verdict that hangs on one reading says so: which one, how far it may be off, how well it has to be read."""

from __future__ import annotations

import re

import pytest
from tests.plan.cars import CARS

from carwright.car.read import read_car
from carwright.findings import Finding
from carwright.plan import make_plan
from carwright.working import evaluate, leaves

THIN = """
[car]
name = "Thin floor"
scale = "HO"
measured_with = "{with_}"
[body]
inside_length = "5.000"
inside_width = "1.000"
mount = "drop-in"
lip_depth = "0.188{more}"
end_notch = "0.178{more}"
[[shelf.sheet]]
thickness = "0.010{more}"
width = "6"
length = "12"
"""


def floor_of(with_: str, more: str = "") -> Finding:
    """Return what is found of the thickness of a floor of 0.010 in (invented)."""
    plan = make_plan(read_car(THIN.format(with_=with_, more=more)))
    return next(each for each in plan.findings if each.check == "floor_thickness")


def test_a_thin_floor_read_with_a_rule_is_to_be_measured_better() -> None:
    """Half of 0.010 in is less than what a rule may be off: the finding says so, and what is near enough."""
    rough, fine = floor_of("rule"), floor_of("caliper", " ± 0.0005")
    assert (rough.verdict, set(rough.hangs_on)) == (
        "ok",
        {"body.lip_depth", "body.end_notch", "shelf.sheet[0].thickness"},
    )
    assert "read to ± 0.008 in" in rough.because
    assert "better, with calipers, to ± 0." in rough.mend
    assert (fine.verdict, fine.hangs_on, fine.mend) == ("ok", (), "")


@pytest.mark.parametrize("name", ["boxcar", "n_car", "h0_car", "lug, diagonals"])
def test_within_the_doubt_the_verdict_turns_and_nearer_it_does_not(name: str) -> None:
    """The reading that is named turns the verdict at one end of its ±; read as well as is asked it leaves it alone."""
    plan = make_plan(read_car(CARS[name]))
    told = [each for each in plan.findings if each.hangs_on]
    assert told
    for finding in told:
        margin = finding.margin
        assert margin is not None
        leaf = next(each for each in leaves(margin) if each.key == finding.hangs_on[0])
        near = re.search(r"to ± ([\d.]+) (in|mm) or better", finding.mend)
        asked = 0.0 if near is None else float(near[1]) * (25.4 if near[2] == "in" else 1.0)
        for share, turns in ((leaf.tolerance_value, True), (0.95 * asked, False)):
            ends = [evaluate(margin, {leaf.key: leaf.value + side * share}) >= -1e-9 for side in (1, -1)]
            assert (ends.count(margin.value < -1e-9) > 0) is turns, finding.because
