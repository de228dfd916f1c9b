"""The book's page on curves: what touches first and at which radius, the reverse curve, and what a straight does."""

from __future__ import annotations

import math

import pytest
from tests.book.cars import DEMO, plan_named

from carwright.book.curvepage import curve_blocks
from carwright.book.studied import study
from carwright.draw.blocks import Block, Columns, Note, Picture, Prose, Table
from carwright.plan.curves import curve_study
from carwright.plan.curvescene import bent_in_reverse, tangents


def _flat(blocks: tuple[Block, ...]) -> list[Block]:
    """Return the blocks with those of columns among them."""
    found: list[Block] = []
    for block in blocks:
        found += _flat((*block.left, *block.right)) if isinstance(block, Columns) else [block]
    return found


def _words(blocks: list[Block]) -> str:
    return " ".join(block.text for block in blocks if isinstance(block, Prose | Note))


@pytest.mark.parametrize("name", DEMO)
def test_each_car_is_told_at_which_radius_what_touches_first(name: str) -> None:
    """The page opens with the part that a truck touches first and its radius, which is that of the study."""
    plan = plan_named(name)
    blocks = _flat(curve_blocks(study(plan), width_mm=186.0))
    answer = curve_study(plan.car, brief=True)
    known = [each for each in answer.touching if each.radius is not None]
    first = max(known, key=lambda each: each.radius.value if each.radius is not None else 0.0)
    assert first.radius is not None
    inches = plan.car.info.units == "in"
    radius = f"{first.radius.value / 25.4:.1f} in" if inches else f"{first.radius.value:.0f} mm"
    assert f"at {radius}" in _words(blocks)
    table = next(block for block in blocks if isinstance(block, Table) and "radius" in block.heads[0])
    words = first.part.replace("_", " ").removesuffix(" A").removesuffix(" B")
    assert any(words in row[0] for row in table.rows)


@pytest.mark.parametrize("name", DEMO)
def test_the_page_has_room_worst_place_reverse_and_straight(name: str) -> None:
    """Five kinds of picture stand on the page, each with words for those who do not see it."""
    drawings = [
        block.drawing
        for block in _flat(curve_blocks(study(plan_named(name)), width_mm=186.0))
        if isinstance(block, Picture)
    ]
    names = [each.name for each in drawings]
    assert names[0] == "curve_offsets"
    assert sum(each.startswith("curve_touch_") for each in names) == 2
    assert names[-3:] == ["curve_pair", "curve_reverse", "curve_tangent"]
    assert all(each.alt.endswith(".") for each in drawings)


@pytest.mark.parametrize("name", DEMO)
def test_a_reverse_curve_is_worse_than_the_steady_one_and_a_straight_mends_it(name: str) -> None:
    """The overhung couplers of each car swing further in a bare reverse than on the steady curve; a straight helps."""
    answer = curve_study(plan_named(name).car, brief=True)
    reverse, straight = bent_in_reverse(answer), tangents(answer)
    assert reverse is not None
    assert straight is not None
    assert answer.steady is not None
    assert answer.steady.coupler_angle is not None
    assert abs(reverse.peak_deg) > answer.steady.coupler_angle.value + 3.0
    assert straight.angles_deg[0] == pytest.approx(abs(reverse.peak_deg), abs=0.01)
    assert straight.angles_deg[-1] < straight.angles_deg[0] - 2.0
    assert math.isclose(straight.lengths_mm[0], 0.0)


def test_without_a_curve_the_page_says_what_to_write() -> None:
    """A car of a name alone gets one note that names the key."""
    (note,) = curve_blocks(study(plan_named("nothing")), width_mm=186.0)
    assert isinstance(note, Note)
    assert "car.radius" in note.text
