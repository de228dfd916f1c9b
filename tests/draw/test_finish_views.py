"""The car unfolded, act by act: its tape is the steps' tape, by what is read back from the file that is drawn."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from dataclasses import replace

import pytest
from tests.book.cars import DEMO, plan_named

from carwright.draw.dxf import reading_dxf
from carwright.draw.finishviews import covering_title, covering_view
from carwright.draw.strokes import Words, bounds, extent, ink
from carwright.draw.svg import svg
from carwright.finish.covering import Covering, coverings
from carwright.finish.steps import BOOTH, Act, Step, Use
from carwright.plan.finishing import finish_plan
from carwright.plan.finishwords import numbers_told
from carwright.plan.paintneeds import named_surfaces

SPACE = "{http://www.w3.org/2000/svg}"


def drawn(data: str) -> tuple[set[str], set[str], set[str]]:
    """Return the parts of an SVG that are titled masked, those titled sprayed, and those that are hatched."""
    masked, sprayed, hatched = set(), set(), set()
    for layer in ET.fromstring(data):  # noqa: S314 - made by these tests
        for group in layer.iter(f"{SPACE}g"):
            part, title = group.get("data-part", ""), group.findtext(f"{SPACE}title", "")
            if title.endswith(": masked"):
                masked.add(part)
            if ": sprayed, " in title:
                sprayed.add(part)
            if layer.get("data-layer") == "hatch" and part and len(group) > 2:
                hatched.add(part)
    return masked, sprayed, hatched


def taped(steps: Sequence[Step]) -> Iterator[set[str]]:
    """Yield what lies under tape while each step is done, the tape that it puts on or pulls off itself among it."""
    under: set[str] = set()
    for step in steps:
        if step.act == "mask":
            under |= set(step.surfaces)
        yield set(under)
        if step.act == "unmask":
            under -= set(step.surfaces or under)


@pytest.mark.parametrize("name", DEMO)
def test_the_tape_that_is_drawn_is_the_tape_of_the_steps(name: str) -> None:
    """At every act that masks, seals, sprays or pulls tape off, the file shows its masked and sprayed surfaces."""
    plan = plan_named(name)
    finish = finish_plan(plan.car)
    named = named_surfaces(finish)
    under = list(taped(finish.steps))
    told = set()
    for covering in coverings(finish.steps, named):
        masked, sprayed, hatched = drawn(svg(covering_view(plan, covering, named)))
        for number in covering.acts:
            step = finish.steps[number - 1]
            assert masked == hatched == under[number - 1], step.id
            if step.act in ("prime", "coat", "gloss", "flat"):
                assert sprayed == (set(step.surfaces) or set(named)) - under[number - 1], step.id
        told |= set(covering.acts)
    for number, step in enumerate(finish.steps, 1):
        assert (number in told) == (step.act in ("mask", "unmask", "seal") or any(
            each.facility == BOOTH for each in step.facilities)), step.id  # fmt: skip


@pytest.mark.parametrize("name", DEMO)
def test_no_words_touch_and_the_drawing_fits(name: str) -> None:
    """On every drawing, by itself or half a page wide, words keep clear of one another and stay in their room."""
    plan = plan_named(name)
    finish = finish_plan(plan.car)
    named = named_surfaces(finish)
    for covering in coverings(finish.steps, named):
        for width, alone in ((170.0, True), (86.0, False)):
            drawing = covering_view(plan, covering, named, width_mm=width, height_mm=62.0, alone=alone)
            pieces = ink(drawing)
            assert bounds(pieces).width_mm <= width
            boxes = [extent(each).grown(-0.35) for each in pieces if isinstance(each, Words)]
            assert not [1 for one, other in itertools.combinations(boxes, 2) if one.meets(other)]
            assert drawing.alt.endswith(".")


def _step(act: Act, surfaces: tuple[str, ...] = (), colour: str = "") -> Step:
    uses = (Use(BOOTH),) if act in ("prime", "coat", "seal") else ()
    return Step(f"{act}_{colour}", "car", act, act, 5, surfaces, uses, colour)


PARTED = (
    _step("prime", (), "primer"),
    _step("coat", ("sides", "details"), "white"),
    _step("mask", ("sides",)),
    _step("mask", ("details",)),
    _step("seal", ("sides", "details"), "white"),
    _step("coat", ("roof", "trucks"), "black"),
    _step("unmask", ("details",)),
    _step("coat", ("trucks",), "rust"),
    _step("unmask"),
)
"""Tape put on in two acts and taken off in two, on surfaces of which some have no place on the unfolded car."""


def test_tape_may_go_on_and_come_off_in_several_acts() -> None:
    """What one act uncovers is open in the next, what it leaves stays under tape, and the colours worn are kept."""
    found = coverings(PARTED, ("sides", "details", "roof", "trucks"))
    assert [(each.acts, each.masked, each.sprayed, each.colour) for each in found] == [
        ((1,), (), ("sides", "details", "roof", "trucks"), "primer"),
        ((2,), (), ("sides", "details"), "white"),
        ((3, 4, 5, 6, 7), ("sides", "details"), ("roof", "trucks"), "black"),
        ((8, 9), ("sides",), ("trucks",), "rust"),
    ]
    assert dict(found[3].worn) == {"sides": "white", "details": "white", "roof": "black", "trucks": "black"}
    assert [each.everywhere for each in found] == [True, False, False, False]


def test_a_barrier_and_weathering_are_sprayed() -> None:
    """A coat between two paints goes where it is said, a mist along tape nowhere else, weathering over everything."""
    steps = (
        _step("seal", (), "shellac"),
        _step("seal", ("roof",), "shellac"),
        replace(_step("weather"), facilities=(Use(BOOTH),)),
        _step("weather"),
    )
    found = coverings(steps, ("sides", "roof"))
    assert [(each.acts, each.sprayed, each.colour) for each in found] == [
        ((1,), ("sides", "roof"), "shellac"),
        ((2,), ("roof",), "shellac"),
        ((3,), ("sides", "roof"), "weathering"),
    ]


def test_surfaces_without_a_place_on_the_car_stand_beneath_it() -> None:
    """Details and trucks have a box of their own, hatched or toned like the rest, and the file says which."""
    named = ("sides", "details", "roof", "trucks")
    covering = coverings(PARTED, named)[2]
    masked, sprayed, hatched = drawn(svg(covering_view(plan_named("boxcar"), covering, named)))
    assert masked == hatched == {"sides", "details"}
    assert sprayed == {"roof", "trucks"}


def test_what_no_scheme_names_is_bare() -> None:
    """A surface without a colour is told as bare; doors go with their sides, and the rest is everything else."""
    plan = plan_named("boxcar")
    covering = Covering((1,), (), ("sides",), ("roof",), "black", {})
    drawing = covering_view(plan, covering, ("sides", "roof"))
    words = {each.text for each in ink(drawing) if isinstance(each, Words)}
    assert {"sides: masked", "roof: black", "underframe: bare"} <= words
    rest = Covering((1,), (), ("sides",), ("rest",), "black", {})
    _, sprayed, _ = drawn(svg(covering_view(plan, rest, ("sides", "doors", "rest"))))
    assert sprayed == {"rest"}
    assert covering_title(rest) == "Act 1: black on the rest"


@pytest.mark.parametrize("colour", ["oxide red", "a very light grey with a hint of blue", "W" * 300, "<b>&\x07"])
def test_any_colour_keeps_its_room(colour: str) -> None:
    """A colour of several words, of far too many, of none that breaks, and of signs that a file may not hold."""
    plan = plan_named("boxcar")
    covering = Covering((1,), (), ("sides",), ("doors", "ends"), colour, {"roof": colour})
    drawing = covering_view(plan, covering, ("sides", "doors", "ends", "roof"), width_mm=86.0, alone=False)
    pieces = ink(drawing)
    assert bounds(pieces).width_mm <= 86.0
    boxes = [extent(each).grown(-0.35) for each in pieces if isinstance(each, Words)]
    assert not [1 for one, other in itertools.combinations(boxes, 2) if one.meets(other)]
    assert drawing.scale >= 0.25
    masked, sprayed, _ = drawn(svg(drawing))
    assert masked == {"sides"}
    assert sprayed == {"doors", "ends"}


def test_numbers_of_acts_as_they_are_told() -> None:
    """One act, several in a row, and some that are not."""
    assert [numbers_told(each) for each in ((2,), (5, 6, 7), (4, 8, 13))] == [
        "act 2",
        "acts 5 to 7",
        "acts 4, 8 and 13",
    ]


def test_the_drawing_is_written_as_dxf_too() -> None:
    """Every part that the drawing has is in the DXF, on a layer of its kind."""
    plan = plan_named("boxcar")
    named = ("sides", "details", "roof", "trucks")
    data = reading_dxf(covering_view(plan, coverings(PARTED, named)[2], named)).decode()
    assert "HATCH" in data.upper()
