"""The order of work: nothing that cannot be taken back comes before what was to be checked (common practice)."""

from __future__ import annotations

from importlib import resources

import pytest
from tests.book.cars import AWKWARD, CARS, DEMO, plan_named

from carwright.book.cautions import CAUTIONS
from carwright.book.order import Step
from carwright.book.steps import steps_of
from carwright.book.studied import study
from carwright.book.tables import drill_blocks
from carwright.car.read import read_car
from carwright.cli.show_plan import plan_lines
from carwright.draw.blocks import Table
from carwright.draw.jigs import jig_sheets
from carwright.draw.model import Text, walk
from carwright.draw.pieceviews import many_words
from carwright.plan import make_plan

CHECKED_FIRST = {
    "drill_irons": {"iron_tried", "irons_marked"},
    "bend_irons": {"bars", "iron_tried"},
    "glue_irons": {"irons_fit"},
    "cut_floor": {"bars", "sheet"},
    "laminate_floor": {"dry_layers"},
    "trim_floor": {"bars", "blank"},
    "cut_bolsters": {"bars"},
    "build_bolsters": {"bars", "sheet"},
    "cut_blocks": {"bars", "sheet"},
    "glue_blocks": {"blank", "blocks_clear"},
    "drill_trucks": {"bars", "blank", "height", "marks", "tap_tried"},
    "drill_bolsters": {"bolster_height", "marks"},
    "drill_couplers": {"bars", "blank", "height", "marks", "tap_tried"},
    "drill_floor": {"bars", "blank", "marks"},
    "cut_frame": {"bars", "sheet"},
    "drill_frame": {"bars", "wire_tried"},
    "glue_bolsters": {"height", "bolster_height", "dry_frame"},
    "glue_sill": {"height", "dry_frame"},
    "glue_cross": {"height", "dry_frame"},
    "glue_rest": {"height", "dry_frame"},
    "bend_line": {"bars", "wire_tried"},
    "glue_line": {"line_bent", "dry_frame"},
    "make_gear": {"bars"},
    "glue_gear": {"gear_clear", "height"},
    "retain_floor": {"fit", "floor_seated"},
    "add_weight": {"weighed"},
    "close_weight": {"balanced", "weighed"},
    "paint": {"gauged"},
}
"""For each act that cannot be taken back, what has to be known first, where the car has it."""


def _by_name(steps: tuple[Step, ...]) -> dict[str, Step]:
    return {step.name: step for step in steps}


@pytest.mark.parametrize("name", CARS)
def test_nothing_irreversible_precedes_its_check(name: str) -> None:
    """Every act that cannot be taken back names holds, each is a hold, and each stands before it."""
    steps = steps_of(study(plan_named(name)))
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    for step in steps:
        for number in step.needs:
            assert number < step.number, step.name
            assert steps[number - 1].hold, step.name
        assert step.needs or not step.irreversible, step.name
        assert not (step.hold and step.irreversible), step.name


@pytest.mark.parametrize("name", CARS)
def test_each_act_waits_for_its_own_checks(name: str) -> None:
    """Each act waits for the checks that its kind asks for, as far as the car has them; no kind is unlisted."""
    steps = steps_of(study(plan_named(name)))
    by_name = _by_name(steps)
    for step in steps:
        if not step.irreversible:
            continue
        waits = {steps[number - 1].name for number in step.needs}
        wanted = {each for each in CHECKED_FIRST[step.name] if each in by_name}
        assert wanted <= waits, (step.name, wanted - waits)


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_blank_is_calipered_before_any_hole_in_it(name: str) -> None:
    """The floor is calipered before the first hole, and gauged on its trucks before a coupler's hole (practice)."""
    by_name = _by_name(steps_of(study(plan_named(name))))
    for act in ("drill_trucks", "drill_couplers", "drill_floor"):
        if act in by_name:
            assert by_name["blank"].number < by_name[act].number
            assert by_name["height"].number < by_name[act].number
    if "drill_couplers" in by_name and "drill_trucks" in by_name:
        assert by_name["height_on_screws"].number in by_name["drill_couplers"].needs


@pytest.mark.parametrize("name", CARS)
def test_what_fails_is_settled_before_anything_is_cut(name: str) -> None:
    """What fails, in plan, curve or weight, is a hold to settle before every cut, hole and joint of the floor."""
    plan = plan_named(name)
    studied = study(plan)
    by_name = _by_name(steps_of(studied))
    found = (*plan.findings, *studied.weight.findings, *(studied.curve.findings if studied.curve else ()))
    fails = any(finding.verdict == "fail" for finding in found)
    assert ("settled" in by_name) == fails
    if fails:
        first = min(step.number for step in by_name.values() if step.irreversible)
        assert by_name["settled"].number < first


@pytest.mark.parametrize("name", CARS)
def test_every_hold_holds_something(name: str) -> None:
    """Each hold is waited for by a later step, so that none is there for show; the whole couplers' check apart."""
    steps = steps_of(study(plan_named(name)))
    waited = {number for step in steps for number in step.needs}
    idle = {step.name for step in steps if step.hold and step.number not in waited}
    # of a car of which too little is known, what would wait is not planned yet
    assert idle <= {"couplers_work", "measured", "bars", "height", "weighed", "floor_seated", "wire_tried"}
    if name in DEMO:
        assert idle == set()


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_every_piece_is_made_in_some_step(name: str) -> None:
    """Each piece that is made stands in a step that cuts, builds or makes it."""
    plan = plan_named(name)
    made = {piece for step in steps_of(study(plan)) if step.irreversible for piece in step.pieces}
    for piece in plan.pieces:
        if piece.made and piece.quantity.value > 0 and piece.thickness_mm is not None and piece.thickness_mm.value > 0:
            assert piece.name in made, piece.name


@pytest.mark.parametrize("name", CARS)
def test_no_hole_that_waits_is_drilled(name: str) -> None:
    """A hole whose place is not known has no step that drills it."""
    plan = plan_named(name)
    text = " ".join(step.text for step in steps_of(study(plan)))
    for what in ("truck", "coupler"):
        mine = [hole for hole in plan.holes if hole.piece == "floor" and hole.name.startswith(what)]
        ready = [hole for hole in mine if hole.x_mm is not None and not hole.needs]
        assert (f"({what} screw" in text) == bool(ready)


@pytest.mark.parametrize("name", CARS)
def test_every_act_that_can_hurt_says_so(name: str) -> None:
    """Each cut, hole, joint, weight and coat has a caution beside it."""
    for step in steps_of(study(plan_named(name))):
        if step.irreversible:
            assert CAUTIONS[step.caution], step.name


@pytest.mark.parametrize("name", DEMO)
def test_the_train_lines_holes_count_alike_everywhere(name: str) -> None:
    """Step, drill table, plan and spotting plate tell one number of holes in the webs: two webs a member."""
    plan = plan_named(name)
    webs = [piece for piece in plan.pieces if piece.name.startswith(("crossbearer_", "crosstie_")) and piece.holes]
    wanted = sum(len(piece.holes) * (1 + len(piece.also)) for piece in webs)
    assert wanted == 2 * sum(len(piece.holes) for piece in webs)
    step = _by_name(steps_of(study(plan)))["drill_frame"].text
    assert f"{wanted} of {webs[0].holes[0].drill}, in the webs, left and right half of each" in step
    table = next(block for block in drill_blocks(plan) if isinstance(block, Table))
    assert sum(int(row[-1]) for row in table.rows if row[2].endswith("webs")) == wanted
    text = "\n".join(plan_lines(plan))
    assert f"{wanted} x {webs[0].holes[0].drill}, train line" in text
    jigs = [mark.text for sheet in jig_sheets(plan, width_mm=250.0, height_mm=1e6) for mark in walk(sheet.marks)
            if isinstance(mark, Text) and mark.text.startswith("for webs of")]  # fmt: skip
    assert [line.rpartition(": ")[2] for line in jigs] == [many_words(wanted)]


def test_what_a_car_has_not_is_not_spoken_of() -> None:
    """A car whose file names no wire has no train line: no step, heading or check of its book speaks of one."""
    text = resources.files("carwright.demo").joinpath("boxcar.toml").read_text(encoding="utf-8")
    assert 'train_line = "0.019"\n' in text
    steps = steps_of(study(make_plan(read_car(text.replace('train_line = "0.019"\n', "")))))
    assert {"dry_frame", "glue_sill", "glue_cross"} <= _by_name(steps).keys()
    assert not [
        step.name for step in steps if "train line" in f"{step.part} {step.text}".lower() or "wire_" in step.name
    ]
