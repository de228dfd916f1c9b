"""Old holes beside new ones, by hand.

That a drill must not straddle the rim of a hole or the seam of a plug, that a stripped hole is plugged, set, filed and
drilled again, and 24 hours for a solvent joint are common practice; how near a seam may be is a choice of the program
(0.7 of the diameter cut), and so no check on anything but itself.
"""

from __future__ import annotations

import json
from importlib import resources

import pytest
from jsonschema import Draft202012Validator
from tests.fasten.cars import KEPT, found, kept

from carwright.book.steps import steps_of
from carwright.book.studied import study
from carwright.car.read import read_car
from carwright.plan import document_of
from carwright.problems import InputError

INCH = 25.4
MAJOR = 0.0860
"""Greatest diameter of 2-56, inches: 0.060 + 2 x 0.013, the numbered series' rule."""


def hole(x: str, more: str, *, shelf: str = "") -> str:
    """Return the table of an old hole, and a shelf behind it."""
    return f'[[body.hole]]\nx = "{x}"\n{more}\n{shelf}'


def test_far_enough_needs_nothing() -> None:
    """An old rim 1.5 screw diameters from the new centre is as good as an edge: 0.086/2 + 0.129 = 0.172 in apart."""
    plan = kept(hole("2.173", 'diameter = "0.086"'))
    finding = found(plan, "old_hole_1")
    assert (finding.verdict, plan.repairs) == ("ok", ())
    assert finding.value is not None
    assert finding.value.value / INCH == pytest.approx(0.173 - 0.043)
    assert finding.limit is not None
    assert finding.limit.value / INCH == pytest.approx(1.5 * MAJOR)


def test_a_little_nearer_it_is_plugged_and_drilled_beside() -> None:
    """At 0.150 in apart the rim is 0.107 from the centre, under 0.129; a 0.125 plug's seam is 0.0875, over 0.0602."""
    plan = kept(hole("2.150", 'diameter = "0.086"', shelf='[[shelf.rod]]\ndiameter = "0.125"\n'))
    (repair,) = plan.repairs
    assert repair.plug is not None
    assert (repair.act, repair.holes, repair.plug.form) == ("plug", ("truck_a",), "rod")
    finding = found(plan, "old_hole_1")
    assert finding.value is not None
    assert finding.margin is not None
    assert finding.value.value / INCH == pytest.approx(0.150 - 0.0625)
    assert finding.margin.value / INCH == pytest.approx(0.0875 - 0.7 * MAJOR)


@pytest.mark.parametrize("apart", [0.03, 0.05, 0.07, 0.09])
def test_never_half_in_the_plug(apart: float) -> None:
    """Wherever the old hole lies, the seam stands 0.7 diameters from the new centre, inside or outside the plug."""
    plan = kept(hole(f"{2.0 + apart:.3f}", 'diameter = "#43"', shelf='[[shelf.rod]]\ndiameter = "0.093"\n'))
    for repair in plan.repairs:
        assert repair.plug is not None
        radius = repair.plug.size.value / 2 / INCH
        assert abs(radius - apart) >= 0.7 * MAJOR - 1e-9
        assert radius * 2 >= 0.089 - 0.003


def test_the_larger_plug_takes_both_in() -> None:
    """0.050 in apart no rod will do: a patch of 2 (0.050 + 0.7 x 0.086) = 0.2204 in, and the way out is told."""
    plan = kept(hole("2.050", 'diameter = "#43"'))
    (repair,) = plan.repairs
    assert repair.plug is not None
    assert repair.plug.form == "patch"
    assert repair.plug.size.value / INCH == pytest.approx(0.2204)
    # beside a 0.093 rod, the thinnest that fits #43: 0.0465 + 0.0602 - 0.050 = 0.0567 in further off
    assert "0.057 in toward B" in found(plan, "old_hole_1").mend


def test_a_hole_that_cannot_be_mended_fails() -> None:
    """A quarter-inch hole beside the coupler's, 0.100 in from the edge of the floor, leaves no room for any plug."""
    plan = kept(hole("2.790", 'diameter = "1/4"'))
    assert found(plan, "old_hole_1").verdict == "fail"
    assert plan.repairs == ()


def test_half_in_an_old_plug_is_found() -> None:
    """A plug that somebody made is no better than a hole where the new centre stands near its seam."""
    half = kept(hole("2.060", 'diameter = "0.125"\nplugged = true'))
    within = kept(hole("2.000", 'diameter = "0.125"\nplugged = true'))
    beside = kept(hole("2.130", 'diameter = "0.125"\nplugged = true'))
    assert found(half, "old_hole_1").verdict == "watch"
    assert "half in the plug" in found(half, "old_hole_1").because
    assert [found(each, "old_hole_1").verdict for each in (within, beside)] == ["ok", "ok"]
    assert (within.repairs, beside.repairs) == ((), ())


def test_an_old_hole_that_serves_is_not_drilled() -> None:
    """A #49 hole where the 2-56 goes leaves (0.0860 - 0.0730) x 56/1.29904 = 56.0 percent of thread: it is tapped."""
    plan = kept(hole("2.000", 'diameter = "#49"'))
    (repair,) = plan.repairs
    assert (repair.act, repair.plug) == ("use", None)
    new = next(each for each in plan.holes if each.name == "truck_a")
    assert new.drill == "no drill"
    assert new.thread_percent is not None
    assert new.thread_percent.value == pytest.approx(56.04, abs=0.01)


def test_the_drill_takes_a_small_one_away() -> None:
    """A #55 hole at the very place is gone once #50 has passed."""
    plan = kept(hole("2.000", 'diameter = "#55"'))
    assert (found(plan, "old_hole_1").verdict, plan.repairs) == ("ok", ())


def test_the_shelf_comes_first_and_the_shop_is_asked_for_the_rest() -> None:
    """A rod on the shelf is taken though a thinner one could be bought; without a shelf the rod is on the list."""
    has = kept(hole("2.000", 'stripped = "2-56"', shelf='[[shelf.rod]]\ndiameter = "0.156"\n'))
    lacks = kept(hole("2.000", 'stripped = "2-56"'))
    assert [each.plug.size.value / INCH for each in has.repairs if each.plug] == [pytest.approx(0.156)]
    assert not [line for line in has.buy if "rod" in line.name]
    assert [line.name for line in lacks.buy if "rod" in line.name] == ["0.125 in styrene rod"]


def test_a_tube_only_where_the_drill_takes_its_bore_away() -> None:
    """A tube of 0.156 with a bore of 0.060 serves under a #50 (0.070) drill; with a bore of 0.126 it does not."""
    tube = '[[shelf.tube]]\ndiameter = "0.156"\ninside = "{}"\n'
    fits = kept(hole("2.000", 'stripped = "2-56"', shelf=tube.format("0.060")))
    wide = kept(hole("2.000", 'stripped = "2-56"', shelf=tube.format("0.126")))
    assert [each.plug.form for each in fits.repairs if each.plug] == ["tube"]
    assert [each.plug.form for each in wide.repairs if each.plug] == ["rod"]


def test_brass_rod_is_no_plug() -> None:
    """Solvent cement does not hold metal: only styrene is taken."""
    plan = kept(hole("2.000", 'stripped = "2-56"', shelf='[[shelf.rod]]\ndiameter = "0.125"\nmaterial = "brass"\n'))
    (repair,) = plan.repairs
    assert repair.plug is not None
    assert repair.plug.offer is not None
    assert not repair.plug.offer.on_hand


def test_a_new_floor_has_no_old_holes() -> None:
    """What lies in a floor that is made new is in nobody's way."""
    plan = kept(hole("2.000", 'diameter = "#43"'), ('floor = "kept"', 'floor = "new"'))
    assert (found(plan, "old_hole_1").verdict, plan.repairs) == ("ok", ())


def test_a_hole_in_a_bolster_lies_in_the_bolsters_frame() -> None:
    """A #30 hole 2.000 in from mid-car is in the middle of bolster A, whose clearance hole it serves for."""
    plan = kept(hole("2.000", 'part = "bolster"\ndiameter = "#30"'))
    (repair,) = plan.repairs
    assert (repair.site.piece, repair.act, repair.holes) == ("bolster_a", "use", ("truck_a_bolster",))
    assert repair.site.x.value == pytest.approx(0.0)


def test_what_is_missing_is_named() -> None:
    """A hole without place or width is unknown, and its keys are named."""
    finding = found(kept('[[body.hole]]\nname = "somebody\'s"\n'), "old_hole_1")
    assert (finding.verdict, finding.needs) == ("unknown", ("body.hole[0].x", "body.hole[0].diameter"))


@pytest.mark.parametrize(
    ("more", "key"),
    [
        ('stripped = "9-99"', "body.hole[0].stripped"),
        ('diameter = "3"', "body.hole[0].diameter"),
        ('part = "roof"', "body.hole[0].part"),
        ('plugged = "yes"', "body.hole[0].plugged"),
        ('x = "somewhere"', "body.hole[0].x"),
        ('depth = "0.1"', "body.hole[0].depth"),
    ],
)
def test_nonsense_is_refused(more: str, key: str) -> None:
    """A thread that is not known, a hole three inches wide and the like are refused by key and line."""
    with pytest.raises(InputError) as caught:
        read_car(f"{KEPT}[[body.hole]]\n{more}\n")
    (problem,) = caught.value.problems
    assert problem.key == key
    assert problem.line == len(KEPT.splitlines()) + 2


def test_every_number_of_a_repair_answers_why() -> None:
    """The side of a patch goes down to the old hole's place and the truck centres as they were typed."""
    document = document_of(kept(hole("2.050", 'diameter = "#43"')))
    working = document.find("repairs.old_hole_1.plug_mm")
    typed = set()
    stack = [working]
    while stack:
        node = stack.pop()
        typed |= {node.key} if node.kind == "typed" else set()
        stack.extend(node.inputs.values())
    assert typed == {"trucks.centers", "body.hole[0].x"}


def test_repairs_keep_to_the_published_schema() -> None:
    """A plug, a patch and a hole that is used as it is are valid by the schema of the plan's JSON."""
    schema = json.loads(resources.files("carwright.plan").joinpath("schema/plan.json").read_text(encoding="utf-8"))
    more = "".join(
        hole(x, size)
        for x, size in (("2.000", 'stripped = "2-56"'), ("-2.050", 'diameter = "#43"'), ("2.700", 'diameter = "#49"'))
    )
    plan = json.loads(json.dumps(document_of(kept(more)).as_json()))
    assert [each["act"] for each in plan["repairs"]] == ["plug", "plug", "use"]
    assert [each["plug"] for each in plan["repairs"]] == ["rod", "patch", None]
    assert not list(Draft202012Validator(schema).iter_errors(plan))


def test_the_plug_is_set_and_flush_before_the_drill() -> None:
    """In the order of work: measure, open, glue, wait (hold), file, look (hold), and only then the new hole."""
    plan = kept(hole("2.000", 'stripped = "2-56"'))
    steps = {step.name: step for step in steps_of(study(plan))}
    order = ["old_holes", "open_old_holes", "glue_plugs", "plugs_set", "file_plugs", "plugs_flush", "drill_trucks"]
    assert [steps[name].number for name in order] == sorted(steps[name].number for name in order)
    assert [name for name in order if steps[name].hold] == ["old_holes", "plugs_set", "plugs_flush"]
    assert {steps["plugs_set"].number, steps["plugs_flush"].number} <= set(steps["drill_trucks"].needs)
    assert "24 hours" in steps["plugs_set"].text
    assert all(steps[name].caution for name in ("open_old_holes", "glue_plugs", "file_plugs"))


def test_beside_a_hole_that_waits_nothing_is_judged() -> None:
    """While the bolster's new hole waits for the boss, an old hole in that bolster is unknown, and R14 is named."""
    table = '[[body.hole]]\npart = "bolster"\nx = "-2.05"\ndiameter = "#43"\n'
    plan = kept(table, ("[trucks]\n", '[trucks]\nboss_height = "0.03"\n'))
    finding = next(each for each in plan.findings if each.check.startswith("old_hole"))
    assert finding.verdict == "unknown"
    assert "trucks.boss_diameter" in finding.needs
