"""Views of the plan: what they show is the plan's, nothing touches, and what is missing is dashed and named."""

from __future__ import annotations

import itertools

import pytest
from shapely.geometry import Polygon
from tests.draw.cars import BOXCAR, HOSTILE, LONG_CAR, SHELL, WIDE_CAR, plan_of

from carwright.draw.floorplan import floor_plan, floor_template, hole_letters
from carwright.draw.labels import number, spread
from carwright.draw.model import Circle, Dimension, Drawing, Mark, Ordinate, Polyline, walk
from carwright.draw.strokes import Box, Words, extent, ink
from carwright.draw.views import VIEWS, View, drawing_of, pages_of, plan_shape

CARS = (BOXCAR, SHELL, LONG_CAR, WIDE_CAR, HOSTILE)


def _marks(drawing: Drawing) -> list[Mark]:
    return list(walk(drawing.marks))


def _floor(drawing: Drawing) -> Polyline:
    return next(mark for mark in _marks(drawing) if isinstance(mark, Polyline) and mark.part == "floor")


def test_floors_area_is_the_plans() -> None:
    """The template's outline has the plan's area by a geometry library, corner notches and lug taken off."""
    plan = plan_of(BOXCAR)
    outline = _floor(floor_template(plan, plan_shape(plan), holes=False))
    assert plan.floor.area is not None
    assert Polygon(outline.points).area == pytest.approx(plan.floor.area.value, abs=1e-9)
    assert Polygon(outline.points).is_valid


def test_seen_from_below_end_b_is_right_and_left_is_up() -> None:
    """A lug 1.2 in toward end A on the left side is a notch left of the middle in the upper edge."""
    plan = plan_of(BOXCAR)
    outline = _floor(drawing_of(plan, "template"))
    bottom_of_notch = max(at.y_mm for at in outline.points) - 0.05 * 25.4
    inner = [at.x_mm for at in outline.points if at.y_mm == pytest.approx(bottom_of_notch)]
    assert sorted(inner) == pytest.approx([-(1.2 + 0.1) * 25.4, -(1.2 - 0.1) * 25.4])


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("car", CARS)
def test_no_words_touch(view: View, car: str) -> None:
    """On no drawing do two pieces of writing lie over one another."""
    boxes = [(piece.text, extent(piece)) for piece in ink(drawing_of(plan_of(car), view)) if isinstance(piece, Words)]
    for (one, first), (other, second) in itertools.combinations(boxes, 2):
        assert not _shrunk(first).meets(_shrunk(second)), (one, other)


def _shrunk(box: Box) -> Box:
    """Return the box without the room that letters have above and below them."""
    return box.grown(-0.35)


def test_ride_scale_is_whole() -> None:
    """The ride-height diagram stands at a whole-number scale."""
    for car in CARS:
        scale = drawing_of(plan_of(car), "ride").scale
        assert scale == pytest.approx(round(scale)) or 1 / scale == pytest.approx(round(1 / scale))


def test_ride_heights_are_told_from_the_rail() -> None:
    """Every height of the plan's stack stands as an ordinate at its place above the rail, at both ends."""
    plan = plan_of(BOXCAR)
    ordinates = [mark for mark in _marks(drawing_of(plan, "ride")) if isinstance(mark, Ordinate)]
    rails = [mark.point.y_mm for mark in ordinates if mark.text == "0"]
    for ride, rail in ((plan.ride.ends.a, max(rails)), (plan.ride.ends.b, min(rails))):
        for layer in ride.stack[:-1]:
            told = number(layer.top, "in")
            found = [mark for mark in ordinates if mark.text == told]
            assert any(mark.point.y_mm - rail == pytest.approx(layer.top.value, abs=0.06) for mark in found), layer.name


def test_target_and_band_are_drawn_to_scale() -> None:
    """The band before each coupler reaches from target less limit to target and limit, above its rail."""
    plan = plan_of(BOXCAR)
    bands = [mark for mark in _marks(drawing_of(plan, "ride")) if isinstance(mark, Polyline) and mark.layer == "band"]
    target, limit = plan.ride.ends.b.target, plan.ride.ends.b.limit
    assert target is not None
    assert limit is not None
    low = min(bands, key=lambda band: band.points[0].y_mm)
    ys = [at.y_mm for at in low.points]
    assert (min(ys), max(ys)) == pytest.approx((target.value - limit.value, target.value + limit.value))
    assert len(bands) == 2


def test_missing_measurements_are_dashed_and_named() -> None:
    """With a shell alone the holes are dashed, the sizes have a question mark, and the letters wanting are named."""
    plan = plan_of(SHELL)
    drawing = floor_plan(plan, plan_shape(plan))
    holes = [mark for mark in _marks(drawing) if isinstance(mark, Circle)]
    assert holes
    assert all(hole.layer == "wanting" and hole.role == "show" for hole in holes)
    dimensions = {mark.letter: mark for mark in _marks(drawing) if isinstance(mark, Dimension) and mark.letter}
    assert dimensions["A"].text == "?"
    assert dimensions["A"].layer == "wanting"
    assert any("H truck centres" in note for note in drawing.notes)


def test_floor_itself_is_not_dashed_with_the_body_alone() -> None:
    """The floor's outline hangs on the inside sizes only, so a shell alone gives it in full lines to be cut."""
    outline = _floor(drawing_of(plan_of(SHELL), "template"))
    assert outline.layer == "template"
    assert outline.role == "cut"


def test_holes_of_one_kind_share_a_letter() -> None:
    """Both truck holes have one letter, both coupler holes another."""
    letters = hole_letters(plan_of(BOXCAR).holes)
    assert letters["truck_a"] == letters["truck_b"] != letters["coupler_a"] == letters["coupler_b"]


def test_labels_spread_in_order() -> None:
    """Labels keep their order and distance, and stay about the middle of what they belong to (hand: 5 about 1)."""
    assert spread((1.0, 1.0, 1.0), 5.0) == pytest.approx((-4.0, 1.0, 6.0))
    places = spread((0.0, 0.1, 9.0, 9.2, 30.0), 4.2)
    assert all(b - a >= 4.2 - 1e-9 for a, b in itertools.pairwise(places))


def test_a_template_too_long_for_the_paper_overlaps_at_its_match_line() -> None:
    """The parts of a split template share a strip about the match line, so that nothing between them is lost."""
    pages = pages_of(plan_of(LONG_CAR), ("template",))
    windows = [block.window_mm for page in pages for block in page.blocks if hasattr(block, "window_mm")]
    first, second = windows[0], windows[1]
    assert first is not None
    assert second is not None
    assert first[1] - second[0] == pytest.approx(16.0)


def test_a_kept_floor_is_not_cut_again() -> None:
    """A floor that is there and stays is told so on its template page."""
    text = SHELL.replace("[body]", '[body]\nlength = "6.0"\nwidth = "1.25"\nfloor = "deck"\nfloor_thickness = "0.05"')
    pages = pages_of(plan_of(text), ("template",))
    words = " ".join(getattr(block, "text", "") for page in pages for block in page.blocks)
    assert "stays" in words
