"""Counts and sizes that cannot be built: each is a finding with the nearest buildable value, and that value builds.

Sizes by hand, in inches, for the good car: plates of 0.015; webs 0.148 apart; bolsters 0.165, gap 0.010.
"""

from __future__ import annotations

import re

import pytest
from tests.frame.goodcar import GOOD, changed, clashes_of, piece, plan_of

from carwright.findings import Finding
from carwright.plan import Plan

BEARERS, TIES, LINE = "crossbearers = 2", "crossties = 6", 'train_line = "0.019"'


def found(plan: Plan, check: str) -> Finding:
    """Return a finding by its name."""
    return next(each for each in plan.findings if each.check == check)


def verdict(plan: Plan, check: str) -> str:
    """Return a finding's verdict; "none" where there is none of that name."""
    return next((each.verdict for each in plan.findings if each.check == check), "none")


@pytest.mark.parametrize(
    ("key", "text", "check"),
    [
        ("crossbearers", changed(GOOD, (BEARERS, "crossbearers = 60"), (LINE, "")), "crossbearers_count"),
        ("crossties", changed(GOOD, (TIES, "crossties = 55"), (LINE, "")), "crossties_count"),
    ],
)
def test_a_count_that_overlaps_is_told_with_the_greatest_that_does_not(key: str, text: str, check: str) -> None:
    """The count named in the mend is accepted, one more is not, and with it no two members take the same room."""
    finding = found(plan_of(text), check)
    assert finding.verdict == "fail"
    most = re.search(rf"underframe\.{key} = (\d+)", finding.mend)
    assert most is not None

    def with_count(count: int) -> Plan:
        return plan_of(re.sub(rf"^{key} = \d+", f"{key} = {count}", text, flags=re.MULTILINE))

    fitting = with_count(int(most[1]))
    assert verdict(fitting, check) == "none"
    assert verdict(with_count(int(most[1]) + 1), check) == "fail"
    assert not [name for name in clashes_of(fitting) if "bearer" in name or "tie" in name]


def test_a_sill_deeper_than_the_trucks_leave_is_told_with_the_deepest() -> None:
    """By hand: the bolster's 0.165 less a gap of 0.010 leaves 0.155, which builds without a clash."""
    finding = found(plan_of(GOOD + piece("center_sill", thickness="0.400")), "sill_depth")
    assert finding.verdict == "fail"
    assert "0.155 in" in finding.mend
    fitting = plan_of(GOOD + piece("center_sill", thickness="0.155"))
    assert verdict(fitting, "sill_depth") == "none"
    assert not clashes_of(fitting)


def test_a_sill_deeper_than_the_rail_leaves_is_told() -> None:
    """On high bolsters the rail is nearer than the trucks: the finding names the clearance over the rail."""
    text = changed(GOOD, ('bolster = "0.165"', 'bolster = "0.500"'))
    finding = found(plan_of(text + piece("center_sill", thickness="0.780")), "sill_depth")
    assert finding.verdict == "fail"
    assert finding.margin is not None
    assert finding.margin.value < 0


@pytest.mark.parametrize(
    ("size", "given", "check", "least"),
    [("thickness", "0.030", "sill_depth_least", "0.045"), ("width", "0.100", "sill_width", "0.208")],
)
def test_a_sill_too_small_for_its_plates_is_told_with_the_least(size: str, given: str, check: str, least: str) -> None:
    """By hand: two plates and a web as high as one, 3 x 0.015; webs 0.148 apart with flanges, 0.148 + 4 x 0.015."""
    finding = found(plan_of(GOOD + piece("center_sill", **{size: given})), check)
    assert finding.verdict == "fail"
    assert f"{least} in" in finding.mend
    assert verdict(plan_of(GOOD + piece("center_sill", **{size: least})), check) == "none"


def test_a_train_line_too_thick_for_its_webs_is_told_with_the_wire_that_does() -> None:
    """A wire of 0.060 in breaks out of a crosstie's web; the wire named in the mend passes without a clash."""
    finding = found(plan_of(changed(GOOD, (LINE, 'train_line = "0.060"'))), "train_line_wall")
    assert finding.verdict == "fail"
    wire = re.search(r"Wire of ([\d.]+) in", finding.mend)
    assert wire is not None
    fitting = plan_of(changed(GOOD, (LINE, f'train_line = "{wire[1]}"')))
    assert verdict(fitting, "train_line_wall") in ("ok", "watch")
    assert not clashes_of(fitting)


def test_crossbearers_given_at_places_that_overlap_are_told_with_the_place_that_does_not() -> None:
    """By hand: flanges 0.092 long at 0.50 and 0.53 share 0.062; one moved by that, to 0.592 or 0.438, is clear."""
    text = changed(GOOD, (BEARERS, 'crossbearers_at = ["0.50", "0.53"]'))
    finding = clashes_of(plan_of(text))["clash_crossbearer_1_flange_crossbearer_2_flange"]
    assert 'name = "crossbearer_1", x = "0.592"' in finding.mend or 'x = "0.438"' in finding.mend


@pytest.mark.parametrize("height", ["0.110", "0.060", "0.030"])
def test_a_fishbelly_never_crosses_itself(height: str) -> None:
    """However low the bolsters, the webs' ends keep a plate's height between their plates, or a finding says so."""
    text = changed(
        GOOD, ('center_sill = "box"', 'center_sill = "fishbelly"'), ('bolster = "0.165"', f'bolster = "{height}"')
    )
    plan = plan_of(text)
    assert not [name for name in clashes_of(plan) if name.count("center_sill") == 2]
