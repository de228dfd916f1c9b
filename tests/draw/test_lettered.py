"""The views for a page: which measurements stand on them, and that what is written can be lit and stepped through."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from itertools import combinations, pairwise

import pytest
from tests.draw import cars as awkward
from tests.plan.cars import CARS
from tests.web.conftest import DEMO

from carwright.car.keys import path_of, sheet_letters
from carwright.car.read import read_car
from carwright.draw.lettered import SCREEN_VIEWS, screen_drawing
from carwright.draw.model import XY, Dimension, Text
from carwright.draw.strokes import Box, Path, Words, extent, ink
from carwright.draw.svg import page_svg
from carwright.plan import Plan, make_plan


def _plan(text: str) -> Plan:
    return make_plan(read_car(text))


@pytest.mark.parametrize("name", ["boxcar", "n_car", "h0_car"])
def test_letters(name: str) -> None:
    """Every measurement of the sheet that has a letter stands on one of the views, under its place in the file."""
    plan = _plan(CARS[name])
    told = set()
    for view in SCREEN_VIEWS:
        tree = ET.fromstring(page_svg(screen_drawing(plan, view)))  # noqa: S314 - our own output
        told |= {path_of(each.get("data-key", "")) for each in tree.iter() if each.get("data-key")}
    paths = {key.path for key in sheet_letters()} - {"coupler.drop"}
    if CARS[name].count('mount = "body"'):
        paths.add("coupler.drop")
    assert paths <= told, paths - told


def test_nothing_measured() -> None:
    """Of a car of which nothing is measured every view can be drawn, and its letters are dashed rings."""
    plan = _plan("")
    drawn = {view: page_svg(screen_drawing(plan, view)) for view in SCREEN_VIEWS}
    tree = ET.fromstring(drawn["side"])  # noqa: S314 - our own output
    rings = [each for each in tree.iter() if "dash" in each.get("class", "").split()]
    assert len(rings) >= 6
    assert 'data-key="trucks.seat_height"' in drawn["side"]


def test_own_names() -> None:
    """Two views in one page share no id, and no style or script stands in either."""
    plan = _plan(CARS["boxcar"])
    seen: set[str] = set()
    for view in SCREEN_VIEWS:
        tree = ET.fromstring(page_svg(screen_drawing(plan, view)))  # noqa: S314 - our own output
        ids = [each.get("id", "") for each in tree.iter() if each.get("id")]
        assert len(ids) == len(set(ids))
        assert not seen & set(ids)
        seen |= set(ids)
        assert not [each for each in tree.iter() if each.tag.endswith(("style", "script")) or each.get("style")]


def test_a_reading_of_one_end() -> None:
    """Where one end has a reading of its own its dimension carries that reading's place, the other end's the pair's."""
    drawn = page_svg(screen_drawing(_plan(CARS["boxcar"]), "side"))
    assert 'data-key="trucks.a.seat_height"' in drawn
    assert 'data-key="trucks.seat_height"' in drawn


AWKWARD = {name: getattr(awkward, name) for name in ("BOXCAR", "HOSTILE", "LONG_CAR", "SHELL", "WIDE_CAR")}
MADE = {
    each.stem: each.read_text(encoding="utf-8") for each in DEMO.glob("*.toml") if "[car]" in each.read_text("utf-8")
}


@pytest.mark.parametrize("name", [*MADE, *AWKWARD, *CARS])
def test_no_letter_touches_another_or_is_struck_through(name: str) -> None:
    """On every view of every car, the awkward ones too, words stand clear of words, and no line crosses any of them."""
    plan = _plan({**CARS, **AWKWARD, **MADE}[name])
    for view in SCREEN_VIEWS:
        pieces = ink(screen_drawing(plan, view))
        words = [(at, each) for at, each in enumerate(pieces) if isinstance(each, Words) and each.text.strip()]
        for (_, one), (_, two) in combinations(words, 2):
            assert not _letters(one).meets(_letters(two)), (view, one.text, two.text)
        cleared = [at for at, each in enumerate(pieces) if isinstance(each, Path) and _is_ground(each)]
        for at, word in words:
            box = _letters(word)
            broken = [place for place in cleared if place < at and _holds(extent(pieces[place]), box)]
            for place, each in enumerate(pieces):
                if isinstance(each, Path) and not _is_ground(each) and not (broken and place < broken[0]):
                    points = (*each.points, *each.points[:1]) if each.closed else each.points
                    struck = [start for start, end in pairwise(points) if _crosses(start, end, box)]
                    assert not struck, (view, word.text, each.layer, each.part)


def _is_ground(path: Path) -> bool:
    return path.fill == "paper" and path.layer == "text"


def _holds(outer: Box, inner: Box) -> bool:
    return (
        outer.left_mm <= inner.left_mm
        and inner.right_mm <= outer.right_mm
        and outer.bottom_mm <= inner.bottom_mm
        and inner.top_mm <= outer.top_mm
    )


def _letters(word: Words) -> Box:
    """Return what the letters of a word fill, without the room that hanging letters would take."""
    box = extent(word)
    if word.turn_deg:
        return Box(box.left_mm + 0.1, box.bottom_mm + 0.1, box.right_mm - 0.6, box.top_mm - 0.1)
    return Box(box.left_mm + 0.1, box.bottom_mm + 0.22 * word.size_mm, box.right_mm - 0.1, box.top_mm - 0.1)


def _crosses(start: XY, end: XY, box: Box) -> bool:
    """Return whether any of sixteen points of a line, or of a finer row of a long one, lies in a box."""
    steps = max(16, int(math.dist(start, end) / 0.4))
    return (
        any(
            box.left_mm < start.x_mm + (end.x_mm - start.x_mm) * step / steps < box.right_mm
            and box.bottom_mm < start.y_mm + (end.y_mm - start.y_mm) * step / steps < box.top_mm
            for step in range(steps + 1)
        )
        if _near(start, end, box)
        else False
    )


def _near(start: XY, end: XY, box: Box) -> bool:
    return (
        min(start.x_mm, end.x_mm) < box.right_mm
        and max(start.x_mm, end.x_mm) > box.left_mm
        and min(start.y_mm, end.y_mm) < box.top_mm
        and max(start.y_mm, end.y_mm) > box.bottom_mm
    )


def test_both_couplers_stand_in_the_first_view() -> None:
    """The side view has the height of either coupler, and says of the one that fails, and of no other, that it does."""
    plan = _plan(CARS["boxcar"].replace('bolster = "0.165"', 'a.bolster = "0.187"\nb.bolster = "0.165"'))
    verdicts = {each.check: each.verdict for each in plan.findings}
    fails = [f"coupler_{end}" for end in "ab" if verdicts[f"coupler_height_{end}"] == "fail"]
    assert len(fails) == 1
    drawing = screen_drawing(plan, "side")
    heights = [each.part for each in drawing.marks if isinstance(each, Dimension) and each.part.startswith("coupler_")]
    assert heights == ["coupler_a", "coupler_b"]
    assert [each.part for each in drawing.marks if isinstance(each, Text) and each.text == "fails"] == fails
