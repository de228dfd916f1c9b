"""How large the painted surfaces are, against hand sums and a solid library, and what paint they take."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from tests.book.cars import DEMO, plan_named

from carwright.car.model import Paint
from carwright.frame.solids import numbers_of, prisms_of
from carwright.plan.finishing import finish_plan
from carwright.plan.model import Plan
from carwright.plan.paintarea import paint_areas
from carwright.plan.paintneeds import paint_document, paint_needs
from carwright.working import evaluate, leaves, typed


def areas(name: str, *named: str) -> dict[str, float | None]:
    """Return the areas of some surfaces of a car, mm2."""
    return {
        each.surface: None if each.area is None else each.area.value for each in paint_areas(plan_named(name), named)
    }


def test_the_body_of_the_boxcar_by_hand() -> None:
    """6.125 by 1.250 by 1.45 in: sides, ends and roof as on paper, a tenth more for their relief."""
    found = areas("boxcar", "sides", "ends", "roof")
    square = 25.4**2 * 1.1
    assert found["sides"] == pytest.approx(2 * 6.125 * 1.45 * square)
    assert found["ends"] == pytest.approx(2 * 1.250 * 1.45 * square)
    assert found["roof"] == pytest.approx(6.125 * 1.250 * square)


def test_doors_are_taken_off_the_sides() -> None:
    """With doors of their own colour, sides and doors together are what the sides were alone."""
    alone, parted = areas("boxcar", "sides"), areas("boxcar", "sides", "doors")
    assert alone["sides"] == pytest.approx((parted["sides"] or 0.0) + (parted["doors"] or 0.0))
    assert (parted["doors"] or 0.0) == pytest.approx(0.25 * 0.9 * (alone["sides"] or 0.0))


def test_the_inside_of_a_gondola_by_hand() -> None:
    """The floor as made, 147.4724 by 29.3624 mm, and walls from it (4.4704 above the sill) up to 19.304 mm."""
    found = areas("gondola", "inside")
    assert found["inside"] == pytest.approx(147.4724 * 29.3624 + 2 * (147.4724 + 29.3624) * (19.304 - 4.4704))


def test_the_rest_is_what_is_not_named() -> None:
    """On the flat car the rest is sides, ends and underframe, as they are by name, and no trucks."""
    rest, named = areas("flat_car", "deck", "rest"), areas("flat_car", "deck", "sides", "ends", "underframe")
    assert rest["rest"] == pytest.approx(sum(named[each] or 0.0 for each in ("sides", "ends", "underframe")))


@pytest.mark.parametrize("name", DEMO)
def test_the_underframe_is_that_of_its_solids(name: str) -> None:
    """Within 7 percent, the underframe is the skin of all its solids joined, less the floor's top and edges.

    The solids are joined by a geometry library; what it does not know is that spray does not get into a closed sill.
    """
    plan = plan_named(name)
    skin, hidden = _joined(plan)
    found = areas(name, "underframe")["underframe"]
    assert found == pytest.approx(skin - hidden, rel=0.07)


def _joined(plan: Plan) -> tuple[float, float]:
    """Return the skin of floor and underframe as one solid, and how much of it no spray from below reaches, mm2."""
    from carwright.frame.solids import _solid

    floor = next(each for each in plan.pieces if each.name == "floor")
    hung = [
        each
        for each in plan.pieces
        if each.made
        and each.quantity.value
        and not each.name.startswith(("screw_block", "retention_block", "floor", "grab_iron", "sill_step"))
    ]
    whole: Any = None
    for piece in (floor, *hung):
        for pose in (piece.pose, *piece.also):
            values = {symbol: each.value for symbol, each in numbers_of(piece, pose).items()}
            for prism in prisms_of(values, form=piece.form):
                solid = _solid(prism)
                whole = solid if whole is None else whole + solid
    assert floor.thickness_mm is not None
    around = sum(
        ((a.x_mm.value - b.x_mm.value) ** 2 + (a.y_mm.value - b.y_mm.value) ** 2) ** 0.5
        for a, b in zip(floor.outline_mm, (*floor.outline_mm[1:], floor.outline_mm[0]), strict=True)
    )
    hidden = floor.area_mm2.value + around * floor.thickness_mm.value
    if any(each.name.startswith("center_sill_bottom") for each in hung):
        top = next(each for each in hung if each.name == "center_sill_top")
        side = next(each for each in hung if each.name == "center_sill_side_left")
        hidden += 2 * side.area_mm2.value + 2 * top.area_mm2.value
    return whole.surface_area(), hidden


@pytest.mark.parametrize("name", DEMO)
def test_every_number_of_the_paint_walks_down_to_what_was_given(name: str) -> None:
    """Each area, film and amount is found again from its leaves, and each leaf is typed, sourced or says why."""
    plan = plan_named(name)
    document = paint_document(paint_needs(plan, finish_plan(plan.car)))
    numbers = dict(document.numbers())
    assert len(numbers) > 40
    for path, working in numbers.items():
        assert evaluate(working) == pytest.approx(working.value, rel=1e-9), path
        for leaf in leaves(working):
            assert leaf.key if leaf.kind == "typed" else (leaf.source if leaf.kind == "reference" else leaf.note), path


def test_paint_for_one_coat_by_hand() -> None:
    """Primer on the flat car: 15 µm dry, 17.5 % solids, half of it lost, over deck and rest."""
    plan = plan_named("flat_car")
    answer = paint_needs(plan, finish_plan(plan.car))
    primer = answer.needs[0]
    whole = sum(each.area.value for each in answer.areas if each.area is not None)
    assert primer.amount is not None
    assert primer.amount.likely.value == pytest.approx(whole * 0.015 / 0.175 / 0.5 / 1000)
    assert primer.coats.value == 1


def test_the_owners_bottle_says_how_many_to_buy() -> None:
    """With contents, solids and what is left typed, the amount uses them and whole bottles are told."""
    plan = plan_named("boxcar")
    share = typed(40.0, "solids", "percent", key="paint[0].solids", text="40")
    own = Paint("g", "acrylic", "grey", contents="5 ml", solids=share, left="1 ml")
    car = replace(plan.car, paints=(own,))
    answer = paint_needs(replace(plan, car=car), finish_plan(car))
    grey = next(each for each in answer.needs if each.paint == "grey")
    assert grey.said
    assert grey.area is not None
    assert grey.amount is not None
    assert grey.buy is not None
    assert grey.amount.most.value == pytest.approx(grey.area.value / (40 * 10 / 23) / 0.4 / 1000)
    assert grey.buy.value == 1
    assert {"paint[0].solids", "paint[0].contents", "paint[0].left"} <= {each.key for each in leaves(grey.buy)}


def test_what_is_not_measured_is_named() -> None:
    """A car without a height has no amounts, and the height is what is asked for."""
    plan = plan_named("boxcar")
    car = replace(plan.car, body=replace(plan.car.body, height=None))
    answer = paint_needs(replace(plan, car=car), finish_plan(car))
    grey = next(each for each in answer.needs if each.paint == "grey")
    assert grey.amount is None
    assert grey.needs == ("body.height",)


def test_details_that_were_not_told_hold_nothing_up() -> None:
    """Paint for details alone is unknown while no grab iron was told; paint for all of the car is not."""
    plan = plan_named("boxcar")
    car = replace(plan.car, finish=replace(plan.car.finish, scheme="sides grey, details black"))
    answer = paint_needs(replace(plan, car=car), finish_plan(car))
    told = {each.paint: each for each in answer.needs}
    assert told["black"].amount is None
    assert told["black"].needs == ("body.grab[]",)
    assert told["primer"].amount is not None
    assert not told["primer"].needs


def test_too_many_layers_are_told() -> None:
    """Where even the thinnest of all coats together passes the customary limit for detail, it is a watch."""
    plan = plan_named("boxcar")
    finish = finish_plan(plan.car)
    coats = tuple(each for each in finish.steps if each.act == "coat")
    thick = replace(finish, steps=(*finish.steps, *coats, *coats))
    assert not paint_needs(plan, finish).findings
    (finding,) = paint_needs(plan, thick).findings
    assert (finding.check, finding.verdict) == ("paint_thickness", "watch")
    assert "common practice" in finding.source


def test_a_paint_of_no_said_family_is_said_so_once_and_named_as_none() -> None:
    """No family stands in the table for it: waits and amounts are the largest of any family's, and that is told."""
    plan = plan_named("boxcar")
    plan = replace(plan, car=replace(plan.car, paints=()))
    made = finish_plan(plan.car)
    assert {each.paint: each.reckoned_as for each in paint_needs(plan, made).needs} == {
        "primer": "lacquer, taken", **dict.fromkeys(["grey", "red", "brown", "black", "gloss", "flat"], "not said"),
    }  # fmt: skip
    told = next(each.because for each in made.findings if each.check == "paint_families")
    assert "waits are those of enamel, which waits longest, and amounts those of the family that takes most" in told
