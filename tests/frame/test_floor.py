"""The floor by hand, and its outline against a geometry library.

Allowances (0.002 in for a sanded fit and 0.003 for paint a side, 0.005 in for each snapped edge) are common practice
and our own choice. Areas are checked with ``shapely``; taper and lean are worked in the tests.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon, box
from tests.ride.planned import INCH, inches, known, plan_of

from carwright.pieces import Piece
from carwright.plan import Plan

SHEETS = '[[shelf.sheet]]\nthickness = "0.030"\n[[shelf.sheet]]\nthickness = "0.015"\n'

SECTION_5 = {
    "car.scale": "HO",
    "body.length": "6 1/8",
    "body.inside_length": ["5.906", "5.904"],
    "body.inside_width": ["1.156", "1.153", "1.149"],
    "body.lip_depth": "0.188",
    "body.end_notch": "0.142",
    "trucks.centers": "4 1/2",
    "coupler.pivot_inset": "0.25",
}


def floor_of(plan: Plan) -> Piece:
    """Return the floor as a piece."""
    return next(piece for piece in plan.pieces if piece.name == "floor")


def polygon_of(piece: Piece) -> Polygon:
    """Return a piece's outline, in inches."""
    return Polygon([(point.x_mm.value / INCH, point.y_mm.value / INCH) for point in piece.outline_mm])


def finding_of(plan: Plan, check: str) -> tuple[str, float, float]:
    """Return a finding's verdict, value and limit in inches."""
    found = next(each for each in plan.findings if each.check == check)
    return found.verdict, inches(found.value), inches(found.limit)


def test_the_worked_cars_floor_by_hand() -> None:
    """Own figures: wanted 0.188 - 0.142 = 0.046, made of 0.030 + 0.015; 5.904 - 0.010 = 5.894 by 1.149 - 0.010 = 1.139.

    Cut size: two snapped edges of 0.005 in each way, 5.904 by 1.149.
    """
    floor = plan_of(SECTION_5, SHEETS).floor
    assert inches(floor.wanted_thickness) == pytest.approx(0.046, abs=1e-9)
    assert [inches(layer) for layer in floor.layers] == [pytest.approx(0.030), pytest.approx(0.015)]
    assert inches(floor.thickness) == pytest.approx(0.045, abs=1e-9)
    assert inches(floor.error) == pytest.approx(-0.001, abs=1e-9)
    assert (inches(floor.length), inches(floor.width)) == (pytest.approx(5.894), pytest.approx(1.139))
    assert (inches(floor.cut_length), inches(floor.cut_width)) == (pytest.approx(5.904), pytest.approx(1.149))


def test_a_fit_of_ones_own_outranks_the_custom() -> None:
    """With ``fit`` 0.008 a side the floor is 5.904 - 0.016 by 1.149 - 0.016."""
    floor = plan_of(SECTION_5 | {"underframe.fit": "0.008"}, SHEETS).floor
    assert (inches(floor.length), inches(floor.width)) == (pytest.approx(5.888), pytest.approx(1.133))


def test_the_fit_is_the_same_in_every_scale() -> None:
    """In N as in HO the floor is 0.005 in a side smaller than the opening: a hand is as coarse in every scale."""
    floor = plan_of({"car.scale": "N", "body.inside_length": "3.100", "body.inside_width": "0.600"}, SHEETS).floor
    assert (inches(floor.length), inches(floor.width)) == (pytest.approx(3.090), pytest.approx(0.590))


def test_an_opening_known_from_outside_only() -> None:
    """Without inside sizes they are the outside less the walls: 6.000 - 2 x 0.100, 1.250 - 2 x 0.050, less the fit."""
    values = {"body.length": "6.000", "body.end_wall": "0.100", "body.width": "1.250", "body.wall": "0.050"}
    floor = plan_of(values, SHEETS).floor
    assert (inches(floor.length), inches(floor.width)) == (pytest.approx(5.790), pytest.approx(1.140))


def test_a_floor_without_an_opening_is_named() -> None:
    """Without inside sizes or walls there is no outline, and the measurements are named."""
    plan = plan_of({"body.lip_depth": "0.188"})
    assert plan.pieces == ()
    assert {"body.inside_length", "body.inside_width", "body.end_notch"} <= set(plan.floor.needs)


def test_layers_that_miss_the_window_are_a_finding() -> None:
    """Wanted 0.046, sheet of 0.052 in only: it is 0.006 off, 0.001 beyond the customary 0.005."""
    verdict, value, limit = finding_of(plan_of(SECTION_5, '[[shelf.sheet]]\nthickness = "0.052"\n'), "floor_thickness")
    assert (verdict, value, limit) == ("watch", pytest.approx(0.006, abs=1e-9), pytest.approx(0.005))


def test_a_floor_thinner_than_wanted_is_said_with_what_would_mend_it() -> None:
    """Wanted 0.050, 0.030 + 0.015 on hand make 0.045: within the window, but thinner by more than half of it."""
    plan = plan_of(SECTION_5 | {"body.lip_depth": "0.192"}, SHEETS)
    verdict, value, limit = finding_of(plan, "floor_thickness")
    assert (verdict, value, limit) == ("watch", pytest.approx(-0.005, abs=1e-9), pytest.approx(0.005))
    told = next(each for each in plan.findings if each.check == "floor_thickness")
    assert "0.005 in under the 0.050 in wanted" in told.because
    assert "buy sheet of 0.020 in: 0.030 in + 0.020 in make 0.050 in" in told.mend


def test_webs_of_sheet_that_is_too_thin_are_said() -> None:
    """Where the nearest sheet on hand is less than half of the usual plate, the webs are told, with what to buy."""
    thin = '[[shelf.sheet]]\nthickness = "0.005"\n'
    told = next(each for each in plan_of(SECTION_5, thin).findings if each.check == "frame_plate")
    assert told.verdict == "watch"
    assert "0.005 in, thinner than the 0.010 in" in told.because
    assert "0.020 in" in told.mend


def test_gap_filling_glue_thickens_the_floor() -> None:
    """Two joints of gap-filling glue add 0.004 in to 0.030 + 0.015 + 0.015 (common practice); solvent adds nothing."""
    values = SECTION_5 | {"underframe.layers": ["0.030", "0.015", "0.015"]}
    assert inches(plan_of(values, SHEETS).floor.thickness) == pytest.approx(0.060)
    glued = plan_of(values | {"underframe.glue": "gap-filling"}, SHEETS)
    assert inches(glued.floor.thickness) == pytest.approx(0.064)


def test_taper_by_hand() -> None:
    """Widths 1.156 to 1.149 differ by 0.007, within twice the fit, 0.010; 1.160 to 1.149 by 0.011, beyond it."""
    assert finding_of(plan_of(SECTION_5, SHEETS), "taper_width") == (
        "ok",
        pytest.approx(0.007, abs=1e-9),
        pytest.approx(0.010),
    )
    wide = SECTION_5 | {"body.inside_width": ["1.160", "1.153", "1.149"]}
    assert finding_of(plan_of(wide, SHEETS), "taper_width")[:2] == ("watch", pytest.approx(0.011, abs=1e-9))
    assert finding_of(plan_of(SECTION_5, SHEETS), "taper_length")[:2] == ("ok", pytest.approx(0.002, abs=1e-9))


def test_out_of_square_by_the_gap_at_a_blade() -> None:
    """A gap of 0.009 in at the end of a 1 in blade is 0.009 x 1.149 = 0.010341 in across the floor's opening."""
    verdict, value, _ = finding_of(
        plan_of(SECTION_5 | {"body.out_of_square": "0.009", "body.square": "1"}, SHEETS), "out_of_square"
    )
    assert (verdict, value) == ("watch", pytest.approx(0.009 * 1.149, abs=1e-9))


@given(skew=st.integers(0, 60), width=st.integers(700, 1300), length=st.integers(3000, 7000))
@settings(max_examples=15)
def test_out_of_square_by_the_diagonals(skew: int, width: int, length: int) -> None:
    """A parallelogram of sides L and W whose ends lean by s has diagonals of (L ± s)² + W²: the lean comes back."""
    s, w, along = skew / 1000, width / 1000, length / 1000
    long, short = math.hypot(along + s, w), math.hypot(along - s, w)
    values = {
        "body.inside_length": f"{along:.3f}",
        "body.inside_width": f"{w:.3f}",
        "body.diagonals": [f"{short:.9f}", f"{long:.9f}"],
    }
    verdict, value, limit = finding_of(plan_of(values, SHEETS), "out_of_square")
    assert value == pytest.approx(s, abs=1e-6)
    assert limit == pytest.approx(0.010)
    assert verdict == ("ok" if s <= 0.010 else "watch") or s == 0.010  # on the limit to the last digit either is right


def test_corner_notches_are_taken_off_all_four_corners() -> None:
    """Notches 0.080 along by 0.060 across: area 5.894 x 1.139 - 4 x 0.080 x 0.060, twelve corners."""
    piece = floor_of(plan_of(SECTION_5 | {"body.notch.corner": ["0.080", "0.060"]}, SHEETS))
    shape = polygon_of(piece)
    assert len(piece.outline_mm) == 12
    assert piece.area_mm2.value / INCH**2 == pytest.approx(5.894 * 1.139 - 4 * 0.080 * 0.060, abs=1e-9)
    expected = box(-2.947, -0.5695, 2.947, 0.5695)
    for x in (-1, 1):
        for y in (-1, 1):
            x0, x1 = sorted((x * 2.947, x * 2.867))
            y0, y1 = sorted((y * 0.5695, y * 0.5095))
            expected = expected.difference(box(x0, y0, x1, y1))
    assert shape.symmetric_difference(expected).area == pytest.approx(0.0, abs=1e-9)


def test_a_lug_is_cut_round_on_its_own_side() -> None:
    """A lug 0.250 long, 0.040 deep at x = +1.2 on the left takes just that rectangle off the left edge."""
    lug = '[[body.lug]]\nx = "1.200"\nside = "left"\nlength = "0.250"\ndepth = "0.040"\n'
    shape = polygon_of(floor_of(plan_of(SECTION_5, lug + SHEETS)))
    expected = box(-2.947, -0.5695, 2.947, 0.5695).difference(box(1.075, 0.5295, 1.325, 0.6))
    assert shape.symmetric_difference(expected).area == pytest.approx(0.0, abs=1e-9)


_LUGS = st.lists(
    st.tuples(st.integers(-9, 9), st.sampled_from(["left", "right"]), st.integers(50, 200), st.integers(10, 80)),
    max_size=4,
    unique_by=lambda lug: (lug[0], lug[1]),
)


def tables_of(lugs: list[tuple[int, str, int, int]], reach: int = 1) -> str:
    """Return lugs (place in quarter inches, side, length and depth in thousandths) as tables of the car file."""
    return "".join(
        f'[[body.lug]]\nx = "{place * 0.25:.3f}"\nside = "{side}"\nlength = "{span / 1000:.3f}"\n'
        f'depth = "{depth * reach / 1000:.3f}"\n'
        for place, side, span, depth in lugs
    )


@settings(max_examples=20)
@given(notch=st.none() | st.tuples(st.integers(20, 120), st.integers(20, 120)), lugs=_LUGS)
def test_the_outline_is_a_simple_polygon_of_the_stated_area(
    notch: tuple[int, int] | None, lugs: list[tuple[int, str, int, int]]
) -> None:
    """Whatever notches and lugs it has, the outline runs once round anticlockwise and has the area that is stated."""
    values = dict(SECTION_5)
    if notch is not None:
        values["body.notch.corner"] = [f"{each / 1000:.3f}" for each in notch]
    piece = floor_of(plan_of(values, tables_of(lugs) + SHEETS))
    shape = polygon_of(piece)
    assert shape.is_valid
    assert shape.exterior.is_ccw
    assert shape.area == pytest.approx(piece.area_mm2.value / INCH**2, rel=1e-9)
    lost = sum(span * depth for _, _, span, depth in lugs) / 1e6
    lost += 4 * notch[0] * notch[1] / 1e6 if notch is not None else 0.0
    assert shape.area == pytest.approx(5.894 * 1.139 - lost, rel=1e-9)


@settings(max_examples=25)
@given(
    notch=st.none() | st.tuples(st.integers(20, 500), st.integers(20, 200)),
    inset=st.integers(120, 800),
    screw=st.integers(80, 700),
    lugs=_LUGS,
    reach=st.sampled_from([1, 6]),
)
def test_edge_distances_are_those_of_the_outline(
    notch: tuple[int, int] | None, inset: int, screw: int, lugs: list[tuple[int, str, int, int]], reach: int
) -> None:
    """From each hole's centre to the nearest finished edge, as a geometry library measures it on the outline."""
    values = {k: v for k, v in SECTION_5.items() if k != "trucks.centers"}
    values |= {"trucks.inset": f"{inset / 1000 + 0.2:.3f}", "coupler.screw_inset": f"{screw / 1000:.3f}"}
    values["coupler.pivot_inset"] = "0.120"
    if notch is not None:
        values["body.notch.corner"] = [f"{each / 1000:.3f}" for each in notch]
    piece = floor_of(plan_of(values, tables_of(lugs, reach) + SHEETS))
    shape = polygon_of(piece)
    for hole in piece.holes:
        centre = Point(inches(hole.x_mm), inches(hole.y_mm))
        distance = shape.exterior.distance(centre) * (1 if shape.contains(centre) else -1)
        assert inches(hole.edge_mm) == pytest.approx(distance, abs=1e-9), hole.name


def test_a_hole_between_two_wide_corner_notches() -> None:
    """Between notches 0.500 by 0.200 a hole 0.4345 from the end is 0.5695 - 0.200 = 0.3695 from the edge."""
    values = SECTION_5 | {"body.notch.corner": ["0.500", "0.200"], "coupler.screw_inset": "0.550"}
    hole = next(each for each in plan_of(values, SHEETS).holes if each.name == "coupler_a")
    assert inches(hole.x_mm) == pytest.approx(2.5125, abs=1e-9)
    assert inches(hole.edge_mm) == pytest.approx(0.3695, abs=1e-9)


def test_a_lug_near_a_hole_is_an_edge_too() -> None:
    """A lug 0.500 deep beside the truck's screw leaves 0.5695 - 0.500 = 0.0695 in, less than 1.5 screw diameters."""
    lug = '[[body.lug]]\nx = "2.250"\nside = "left"\nlength = "0.250"\ndepth = "0.500"\n'
    plan = plan_of(SECTION_5, lug + SHEETS)
    hole = next(each for each in plan.holes if each.name == "truck_a")
    assert inches(hole.edge_mm) == pytest.approx(0.0695, abs=1e-9)
    assert finding_of(plan, "edge_truck_a")[0] == "watch"


def test_a_floor_on_top_of_its_ledge() -> None:
    """With the ledge under the floor the sill hangs lip_depth below the floor's underside, however thick it is."""
    values = SECTION_5 | {"body.ledge": "under", "trucks.seat_height": "0.300", "underframe.bolster": "0.150"}
    plan = plan_of(values, SHEETS)
    assert inches(plan.sill_heights.a) == pytest.approx(0.450 - 0.188, abs=1e-9)
    over = plan_of(values | {"body.ledge": "over"}, SHEETS)
    assert inches(over.sill_heights.a) == pytest.approx(0.450 + 0.045 - 0.188, abs=1e-9)


def test_no_room_for_a_floor_is_said() -> None:
    """An end notch deeper than the ledge leaves no floor, and that fails."""
    plan = plan_of(SECTION_5 | {"body.lip_depth": "0.140"}, SHEETS)
    assert known(plan.floor.wanted_thickness) < 0
    assert next(each for each in plan.findings if each.check == "floor_thickness").verdict == "fail"
