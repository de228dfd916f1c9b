"""Sections: what the plane cuts, against sums by hand and solids cut by a geometry library."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from shapely.geometry import Polygon
from tests.book.cars import AWKWARD, DEMO, plan_named

from carwright.draw.cuts import Cut, cuts_at
from carwright.draw.heads import plan_shape
from carwright.draw.model import Dimension, Hatch, Line, Ordinate, Polyline, walk
from carwright.draw.section import section, section_places, sections
from carwright.draw.strokes import bounds, ink

INCH = 25.4


def _cuts(name: str, where: str) -> tuple[Cut, ...]:
    plan = plan_named(name)
    plane = section_places(plan)[where]  # type: ignore[index]  # one of the two literals
    return cuts_at(plan.pieces, plan.holes, plane.x_mm)


def _area(cut: Cut) -> float:
    return float(Polygon([tuple(at) for at in cut.outline], [[tuple(at) for at in hole] for hole in cut.holes]).area)


def test_floor_cut_at_the_truck_is_its_layers_less_the_hole() -> None:
    """The boxcar's floor of 0.030 + 0.015 in, 1.139 wide, is cut into two halves beside a #50 hole of 0.070 in.

    By hand: width 1.149 - 2 x 0.005 = 1.139; plastic 1.139 - 0.070 = 1.069; areas 1.069 x 0.030 and x 0.015 in2.
    The floor leans by 0.006 in 4.5 in, whose cosine is one to a millionth.
    """
    floor = [cut for cut in _cuts("boxcar", "bolster") if cut.piece.name == "floor"]
    assert [cut.layer for cut in floor] == [0, 0, 1, 1]
    by_layer = [sum(_area(cut) for cut in floor if cut.layer == layer) for layer in (0, 1)]
    assert by_layer == pytest.approx([1.069 * 0.030 * INCH**2, 1.069 * 0.015 * INCH**2], rel=1e-5)


def test_heights_at_the_bolster_are_those_of_the_stack() -> None:
    """At truck B of the boxcar: bolster from 0.284 to 0.449 in, floor to 0.494, three blocks of 0.030 to 0.584."""
    cuts = _cuts("boxcar", "bolster")

    def span(start: str) -> tuple[float, float]:
        mine = [cut for cut in cuts if cut.piece.name.startswith(start)]
        return min(cut.low_mm for cut in mine) / INCH, max(cut.high_mm for cut in mine) / INCH

    # the middle of the bolster is at the pivot; the lean moves a face by less than a ten-thousandth
    assert span("bolster_b") == pytest.approx((0.284, 0.449), abs=2e-4)
    assert span("floor") == pytest.approx((0.449, 0.494), abs=2e-4)
    assert span("screw_block") == pytest.approx((0.494, 0.584), abs=2e-4)


def test_web_is_cut_along_its_face_with_its_hole() -> None:
    """A crossbearer's web, cut half-way through its thickness, shows its whole trapezium less the train line's hole."""
    webs = [cut for cut in _cuts("boxcar", "crossbearer") if cut.piece.name == "crossbearer_2"]
    assert len(webs) == 2
    piece = webs[0].piece
    (hole,) = piece.holes
    solid = piece.area_mm2.value - math.pi * (hole.diameter_mm.value / 2) ** 2
    for web in webs:
        assert len(web.holes) == 1
        # a circle of 48 corners is 0.3 % smaller than a true one
        assert _area(web) == pytest.approx(solid, rel=1e-3)


def test_sloped_flange_is_as_thick_upright_as_its_slope_says() -> None:
    """A flange of thickness t at slope s is t / cos s high where an upright plane cuts it (right triangle)."""
    flanges = [cut for cut in _cuts("boxcar", "crossbearer") if cut.piece.name == "crossbearer_2_flange"]
    assert len(flanges) == 2
    piece = flanges[0].piece
    assert piece.thickness_mm is not None
    slope = math.radians(piece.pose.rx_deg.value)
    across = piece.width_mm.value
    for flange in flanges:
        assert _area(flange) == pytest.approx(piece.thickness_mm.value * across, rel=1e-5)
        high = flange.high_mm - flange.low_mm
        assert high == pytest.approx(piece.thickness_mm.value * math.cos(slope) + across * math.sin(slope), abs=1e-3)


def test_rod_is_cut_in_a_circle_and_wire_in_a_dot() -> None:
    """The reservoir of the boxcar is cut in a circle of its diameter, the centre rod in a dot of its own."""
    plan = plan_named("boxcar")
    reservoir = next(piece for piece in plan.pieces if piece.name == "brake_reservoir")
    cuts = cuts_at(plan.pieces, plan.holes, reservoir.pose.x_mm.value)
    (circle,) = [cut for cut in cuts if cut.piece is reservoir]
    assert circle.high_mm - circle.low_mm == pytest.approx(reservoir.width_mm.value, abs=1e-4)
    wires = [cut for cut in cuts if cut.wire]
    assert wires
    for wire in wires:
        assert wire.piece.diameter_mm is not None
        assert wire.high_mm - wire.low_mm == pytest.approx(wire.piece.diameter_mm.value, abs=1e-6)


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_section_tells_heights_that_none_touch(name: str) -> None:
    """Every section hatches what it cuts, and its heights rise with their labels, 4 mm apart on paper."""
    plan = plan_named(name)
    for where in section_places(plan):
        drawing = section(plan, plan_shape(plan), where)
        assert drawing is not None
        marks = list(walk(drawing.marks))
        assert any(isinstance(mark, Hatch) for mark in marks)
        heights = sorted((mark for mark in marks if isinstance(mark, Ordinate)), key=lambda mark: mark.point.y_mm)
        labels = [mark.label.y_mm * drawing.scale for mark in heights]
        assert all(high - low > 4.0 for low, high in pairwise(labels))


def test_without_heights_there_is_nothing_to_cut() -> None:
    """A car whose trucks are not known has no section, and says so."""
    plan = plan_named("shell")
    assert section(plan, plan_shape(plan), "bolster") is None
    assert bounds(ink(sections(plan, plan_shape(plan)))).width_mm > 0


@pytest.mark.parametrize("name", ["boxcar", "n_car", "h0_car"])
def test_section_shows_the_ledge_on_the_floor_and_e_down_to_the_sill(name: str) -> None:
    """The ledge's face is where it bears on the floor, and reading E spans from it to the bottom of the side."""
    plan = plan_named(name)
    body = plan.car.body
    drawing = section(plan, plan_shape(plan), "bolster")
    assert drawing is not None
    assert body.lip_depth is not None
    floor = [cut for cut in _cuts(name, "bolster") if cut.piece.name == "floor"]
    bears = max(cut.high_mm for cut in floor) if body.ledge == "over" else min(cut.low_mm for cut in floor)
    faces = [mark for mark in walk(drawing.marks) if isinstance(mark, Line) and mark.part == "ledge"]
    assert [mark.start.y_mm for mark in faces] == pytest.approx([bears, bears])
    (reading,) = [mark for mark in walk(drawing.marks) if isinstance(mark, Dimension) and mark.letter == "E"]
    assert reading.end.y_mm - reading.start.y_mm == pytest.approx(body.lip_depth.value)


def test_side_frame_stands_as_high_as_measured() -> None:
    """The boxcar's side frame stands 0.050 in (R9) above the bearing face of truck B at 0.284: its top is at 0.334."""
    plan = plan_named("boxcar")
    drawing = section(plan, plan_shape(plan), "bolster")
    assert drawing is not None
    frames = [mark for mark in walk(drawing.marks) if isinstance(mark, Polyline) and mark.title == "Side frame"]
    tops = [max(at.y_mm for at in mark.points) / INCH for mark in frames]
    assert tops == pytest.approx([0.334, 0.334], abs=1e-6)
    assert {mark.layer for mark in frames} == {"phantom"}
