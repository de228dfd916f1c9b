"""The setting-out template: every mark stands where the plan puts its piece; nothing glued on is left out."""

from __future__ import annotations

import math

import pytest
from tests.book.cars import AWKWARD, CARS, DEMO, plan_named
from tests.draw.dxf_reader import entities

from carwright.book.steps import steps_of
from carwright.book.studied import study
from carwright.draw.bars import Correction
from carwright.draw.dxf import reading_dxf
from carwright.draw.floorplan import hole_letters
from carwright.draw.geartable import gear_letters
from carwright.draw.heads import plan_shape
from carwright.draw.model import Drawing, Polyline, Text, walk
from carwright.draw.placed import gear_pieces
from carwright.draw.settingout import member_of, set_out_on_top, set_out_under, setting_out
from carwright.draw.settingpages import setting_pages
from carwright.draw.views import drawing_of
from carwright.lengths import number_in
from carwright.pieces import Piece, Pose
from carwright.plan import Plan

TILT_MM = 0.05
"""What a floor's lean (here 0.1 degree and less) moves a corner that hangs up to 8 mm below it, and then some."""


def _outlines(drawing: Drawing) -> dict[str, list[Polyline]]:
    found: dict[str, list[Polyline]] = {}
    for mark in walk(drawing.marks):
        if isinstance(mark, Polyline) and mark.closed and mark.part:
            found.setdefault(mark.part, []).append(mark)
    return found


def _footprint(piece: Piece, pose: Pose) -> tuple[float, float, float, float]:
    """Return how far a piece reaches along and across the car, from its own record: left, low, right, high from below.

    A piece that stands upright has its thickness on the floor; its middle is half of that beside its pose.
    """
    assert piece.thickness_mm is not None
    upright = abs(abs(pose.rx_deg.value) - 90.0) < 5.0
    long, wide, thick = piece.length_mm.value, piece.width_mm.value, piece.thickness_mm.value
    turn = math.radians(pose.rz_deg.value)
    x, y = pose.x_mm.value, pose.y_mm.value
    if upright:
        wide = thick
        side = -math.copysign(thick / 2, pose.rx_deg.value)
        x, y = x - side * math.sin(turn), y + side * math.cos(turn)
    if abs(math.sin(turn)) > 0.5:
        long, wide = wide, long
    return -x - long / 2, y - wide / 2, -x + long / 2, y + wide / 2


def _lower(box: tuple[float, float, float, float]) -> float:
    return box[1]


def _holds(plan: Plan, drawing: Drawing, pieces: tuple[Piece, ...], *, top: bool = False) -> None:
    drawn = _outlines(drawing)
    for piece in pieces:
        wanted = sorted((_footprint(piece, pose) for pose in (piece.pose, *piece.also)), key=_lower)
        shown = []
        for mark in drawn[piece.name]:
            xs, ys = [at.x_mm for at in mark.points], [(-at.y_mm if top else at.y_mm) for at in mark.points]
            shown.append((min(xs), min(ys), max(xs), max(ys)))
        assert len(shown) == len(wanted), piece.name
        for a, b in zip(sorted(shown, key=_lower), wanted, strict=True):
            assert a == pytest.approx(b, abs=TILT_MM), (plan.car.info.name, piece.name)


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_every_mark_is_at_its_pieces_pose(name: str) -> None:
    """Each outline covers the place that the plan's pose and sizes give it, to the floor's lean; both faces."""
    plan = plan_named(name)
    shape = plan_shape(plan)
    _holds(plan, setting_out(plan, shape), set_out_under(plan))
    _holds(plan, setting_out(plan, shape, top=True), set_out_on_top(plan), top=True)


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_nothing_that_is_glued_to_the_floor_is_left_out(name: str) -> None:
    """Bolsters, sill, every crossbearer and crosstie by number, and each part of the brake gear by name are on it."""
    plan = plan_named(name)
    drawing = setting_out(plan, plan_shape(plan))
    parts = set(_outlines(drawing))
    words = [mark.text for mark in walk(drawing.marks) if isinstance(mark, Text)]
    kinds = ("bolster_", "crossbearer_", "crosstie_", "brake_cylinder", "brake_reservoir", "brake_valve", "brake_lever")
    for piece in plan.pieces:
        if piece.made and piece.name.startswith(kinds) and not piece.name.endswith("_flange"):
            assert piece.name in parts
            _, label = member_of(piece)
            said = label or piece.name.replace("_", " ")
            assert said in [each.lower() for each in words], piece.name
    assert any(piece.name.startswith("center_sill") for piece in plan.pieces) == ("centre sill" in words)


@pytest.mark.parametrize("name", DEMO)
def test_dxf_has_the_same_outlines(name: str) -> None:
    """Read again, the DXF of the view has a closed line with each outline's corners, both faces, to a micrometre."""
    plan = plan_named(name)
    drawing = drawing_of(plan, "setting-out")
    lines = [each for each in entities(reading_dxf(drawing)) if each.kind == "LWPOLYLINE"]
    corners = {(round(x, 3), round(y, 3)) for each in lines for x, y in zip(each.all(10), each.all(20), strict=True)}
    for marks in _outlines(drawing).values():
        for mark in marks:
            for at in mark.points:
                assert any(math.dist(at, each) < 2e-3 for each in corners), mark.part


@pytest.mark.parametrize("name", CARS)
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_step_that_points_to_the_template_has_it(name: str, paper: str) -> None:
    """A book has the template's sheets exactly where its order of work sets something out from them."""
    plan = plan_named(name)
    pages = setting_pages(plan, "a4" if paper == "a4" else "letter", Correction())
    assert bool(pages) == any("setting-out template" in step.text for step in steps_of(study(plan)))
    assert all(each.bars for each in pages)


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_floor_from_below_tells_each_brake_parts_place(name: str) -> None:
    """Beside each part of the brake gear stands a letter, and the letter's row has the part's name and its pose."""
    plan = plan_named(name)
    units = plan.car.info.units
    words = [mark for mark in walk(drawing_of(plan, "plan").marks) if isinstance(mark, Text)]
    letters = gear_letters(plan)
    assert not set(letters.values()) & set(hole_letters(plan.holes).values())
    for piece in gear_pieces(plan):
        letter = letters[piece.name]
        assert [mark.part for mark in words if mark.text == letter] == [piece.name, ""]
        (head,) = [mark for mark in words if mark.text == letter and not mark.part]
        row = [mark.text for mark in words if mark.at.y_mm == head.at.y_mm and mark.at.x_mm >= head.at.x_mm]
        x, y = piece.pose.x_mm.value, piece.pose.y_mm.value
        side = "on it" if y == 0 else f"{number_in(abs(y), units)} {'left' if y > 0 else 'right'}"
        assert row[2:] == [f"{number_in(abs(x), units)} to {'A' if x > 0 else 'B'}", side]
