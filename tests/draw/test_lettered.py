"""The views for a page: which measurements stand on them, and that what is written can be lit and stepped through."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest
from tests.plan.cars import CARS

from carwright.car.keys import path_of, sheet_letters
from carwright.car.read import read_car
from carwright.draw.lettered import SCREEN_VIEWS, screen_drawing
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
