"""Interference on whole cars: a good one has none, ten spoilings are each caught, and mends mend.

The cars are invented; what is asserted is which parts take the same room, worked out by hand from their places in the
plan, in inches: truck pivots at ±2.25, bolsters 0.30 long, axles 0.379 off the pivots, crossbearers at ±0.75.
"""

from __future__ import annotations

import re

import pytest
from tests.frame.goodcar import GOOD, changed, clashes_of, piece, plan_of

from carwright.findings import worst_verdict

SPOILED = {
    "a sill moved into a bolster": (
        GOOD + piece("center_sill_bottom", x="0.2"),
        "clash_bolster_a_center_sill_bottom",
    ),
    "a longer truck screw, into the weight": (
        changed(GOOD, ('screw_length = "7/16"', 'screw_length = "1/2"')),
        "clash_block_1_truck_screw_a",
    ),
    "a longer coupler screw, into the weight": (
        changed(GOOD, ('screw_length = "1/4"', 'screw_length = "3/8"')),
        "clash_block_1_coupler_screw_b",
    ),
    "a hole half a diameter from the edge": (
        changed(GOOD, ('pivot_inset = "0.25" ', 'pivot_inset = "0.25"\nscrew_inset = "0.158" ')),
        "edge_coupler_a",
    ),
    "a crosstie in a wheel's way": (GOOD + piece("crosstie_1", x="1.70"), "clash_crosstie_1_flange_wheel_a"),
    "the train line through a bolster": (GOOD + piece("train_line_a", x="1.4"), "clash_bolster_a_train_line_a"),
    "the brake cylinder into a crossbearer": (
        GOOD + piece("brake_cylinder", x="0.70"),
        "clash_brake_cylinder_crossbearer_1",
    ),
    "a bolster as wide as the floor": (
        changed(GOOD, ('center_sill = "box"', 'center_sill = "box"\nbolster_length = "1.139"')),
        "clash_bolster_b_side_frame_b",
    ),
    "a step of the body where a crossbearer ends": (
        GOOD
        + '\n[[body.block]]\nname = "step"\nkind = "step"\nx = "0.75"\ny = "0.5"\nlength = "0.2"\nwidth = "0.1"\n'
        + 'from = "0"\nto = "0.143"\n',
        "clash_crossbearer_1_step_1",
    ),
    "a coupler box that reaches the truck": (
        changed(GOOD, ('box_length = "0.40"', 'box_length = "0.75"')),
        "clash_bolster_a_coupler_box_a",
    ),
    "a floor let down onto the wheels": (
        changed(GOOD, ('bolster = "0.165"', 'bolster = "0.090"')),
        "clash_floor_wheel_a",
    ),
    "a piece added where the brake valve is": (
        GOOD + piece("tool_box", x="-0.31", y="0.436", thickness="0.15", length="0.2", width="0.2"),
        "clash_brake_valve_tool_box",
    ),
}
"""The text of each spoiled car, and the finding that must name what is wrong."""


def test_the_good_car_has_no_clash_and_says_so() -> None:
    """Nothing is missing, nothing shares room: the whole is ok, and no edge is too near."""
    plan = plan_of(GOOD)
    found = {each.check: each for each in plan.findings}
    assert found["interference"].verdict == "ok"
    assert not clashes_of(plan)
    assert plan.interference.meetings == ()
    assert worst_verdict(plan.findings) in ("ok", "watch", "unknown")
    assert found["edge_coupler_a"].verdict == "ok"


@pytest.mark.parametrize("name", SPOILED)
def test_each_spoiling_is_caught_by_its_finding(name: str) -> None:
    """The spoiled car has the named finding, not ok, with a number beyond its limit, a sentence and a mend."""
    text, check = SPOILED[name]
    finding = {each.check: each for each in plan_of(text).findings}[check]
    assert finding.verdict in ("fail", "watch")
    assert check.startswith("edge_") or finding.verdict == "fail"
    assert finding.margin is not None
    assert finding.margin.value < 0
    assert finding.mend
    assert "_" not in finding.because


@pytest.mark.parametrize("name", SPOILED)
def test_no_spoiled_car_is_said_to_be_free(name: str) -> None:
    """Where two parts take the same room there is no finding that none do."""
    text, check = SPOILED[name]
    plan = plan_of(text)
    if check.startswith("clash_"):
        assert "interference" not in {each.check for each in plan.findings}
        assert check in {f"clash_{each.first}_{each.second}" for each in plan.interference.meetings}


LINE = re.compile(r'\[\[piece\]\] name = "(\w+)", (x|y|thickness) = "([-\d.]+)"')
KEY = re.compile(r'(trucks|coupler|underframe)\.(\w+) = "([\d.]+)"')


def mended(text: str, mend: str) -> str | None:
    """Return the car file as a mend's line would have it, or None where the mend has none."""
    line, key = LINE.search(mend), KEY.search(mend)
    if line:
        name, axis, value = line.groups()
        own = re.search(rf'\n\[\[piece\]\]\nname = "{name}"\n(\w+ = .*\n)*', text)
        if own:
            table = re.sub(rf"^{axis} = .*\n", "", own[0], flags=re.MULTILINE)
            return text.replace(own[0], f'{table}{axis} = "{value}"\n')
        return text + piece(name, **{axis: value})
    if key:
        section, name, value = key.groups()
        text = re.sub(rf"^{name} = .*\n", "", text, flags=re.MULTILINE) if name != "screw_length" else text
        if name == "screw_length":
            old = '"1/2"\nbolster_thickness' if section == "trucks" else '"3/8"\n\n[underframe]'
            return changed(
                text, (f"screw_length = {old}", f"screw_length = {old.replace(old.split(chr(34))[1], value)}")
            )
        return changed(text, (f"[{section}]\n", f'[{section}]\n{name} = "{value}"\n'))
    return None


def test_mends_that_are_lines_of_the_file_mend() -> None:
    """With its mend's line in the file, the spoiled car is free; at least six spoilings have such a mend."""
    tried = 0
    for name, (text, check) in SPOILED.items():
        if not check.startswith("clash_"):
            continue
        now = mended(text, clashes_of(plan_of(text))[check].mend)
        if now is None:
            continue
        tried += 1
        assert not clashes_of(plan_of(now)), name
    assert tried >= 6


def test_a_move_is_told_in_words_and_as_a_line() -> None:
    """By hand: the cylinder, 0.253 long, is clear of the flange, 0.092 long at 0.75, from 0.75 + 0.046 + 0.1265 on.

    On the other side of it, from 0.577 down, it would meet the floating lever at 0.528.
    """
    text, check = SPOILED["the brake cylinder into a crossbearer"]
    finding = clashes_of(plan_of(text))[check]
    found = LINE.search(finding.mend)
    assert found is not None
    assert found[1] == "brake_cylinder"
    assert "brake cylinder" in finding.mend
    assert found[2] == "x"
    assert float(found[3]) == pytest.approx(0.9225, abs=0.0012)


def test_mirrored_cars_clash_alike() -> None:
    """The last crosstie moved to truck B's wheels meets them as the first meets those of truck A: the car is alike."""
    ahead = clashes_of(plan_of(GOOD + piece("crosstie_1", x="1.70")))
    astern = clashes_of(plan_of(GOOD + piece("crosstie_6", x="-1.70")))
    one, other = ahead["clash_crosstie_1_flange_wheel_a"].value, astern["clash_crosstie_6_flange_wheel_b"].value
    assert one is not None
    assert other is not None
    assert one.value == pytest.approx(other.value, abs=1e-6)


def test_what_was_not_measured_is_not_passed_over() -> None:
    """Without the screws' lengths and the truck bolster the whole is unknown, and names what to measure."""
    text = changed(GOOD, ('screw_length = "7/16"\nbolster_thickness = "0.110"\n', ""), ('screw_length = "1/4"', ""))
    finding = next(each for each in plan_of(text).findings if each.check == "interference")
    assert finding.verdict == "unknown"
    assert set(finding.needs) == {"trucks.bolster_thickness", "trucks.screw_length", "coupler.screw_length"}
    assert "the trucks' screws, the couplers' screws" in finding.because


def test_a_usual_swing_or_rock_never_fails_a_car() -> None:
    """With no radius and no rock given, a bolster that only a swung and rocked truck meets is to watch."""
    text = changed(
        GOOD,
        ("rock = 3\n", ""),
        ('radius = "18 in" ', "#"),
        ('center_sill = "box"', 'center_sill = "box"\nbolster_length = "0.700"'),
        ('frame_top = "0.05"', 'frame_top = "0.00"'),
    )
    found = clashes_of(plan_of(text))
    assert found
    assert {each.verdict for each in found.values()} == {"watch"}
    assert all("usual" in each.because for each in found.values())


@pytest.mark.parametrize(("seat", "alike"), [("0.278", True), ("0.262", False)])
def test_bolsters_that_no_caliper_tells_apart_are_cut_alike(seat: str, alike: bool) -> None:
    """Seats 0.006 in apart leave 2 x 0.006 sin 3° = 0.0006 in more room at one end: both bolsters are the shorter."""
    plan = plan_of(changed(GOOD, ('[trucks.a]\nseat_height = "0.284"', f'[trucks.a]\nseat_height = "{seat}"')))
    first, second = (next(each for each in plan.pieces if each.name == f"bolster_{end}").width_mm for end in "ab")
    assert (first.value == second.value) is alike
