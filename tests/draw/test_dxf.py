"""DXF: read by a small group-code reader of these tests' own, and audited by the library."""

from __future__ import annotations

import io

import ezdxf
import numpy as np
import pytest
from shapely.geometry import Polygon
from tests.draw.cars import BOXCAR, HOSTILE, SHELL, plan_of
from tests.draw.dxf_reader import entities, header, layers

from carwright.draw.dxf import plain_dxf, reading_dxf
from carwright.draw.model import XY, Circle, Dimension, Drawing, Hatch, Ordinate, Polyline, Text
from carwright.draw.outline import rectangle
from carwright.draw.views import VIEWS, drawing_of


def _corners(entity_x: list[float], entity_y: list[float]) -> list[tuple[float, float]]:
    return list(zip(entity_x, entity_y, strict=True))


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("car", [BOXCAR, SHELL, HOSTILE])
def test_library_finds_nothing_to_mend(view: str, car: str) -> None:
    """The library's own audit of every view finds no error and mends nothing."""
    data = reading_dxf(drawing_of(plan_of(car), view))  # type: ignore[arg-type]  # parametrized over the literals
    audit = ezdxf.read(io.StringIO(data.decode("utf-8"))).audit()
    assert not audit.errors
    assert not audit.fixes


def test_units_are_millimetres() -> None:
    """Both profiles say that their unit is the millimetre ($INSUNITS 4, metric)."""
    drawing = drawing_of(plan_of(BOXCAR), "template")
    for data in (reading_dxf(drawing), plain_dxf(drawing)):
        assert header(data, "$INSUNITS").strip() == "4"
        assert header(data, "$MEASUREMENT").strip() == "1"


def test_floor_in_the_file_is_the_plans() -> None:
    """The cut line has the plan's corners, and its area by a geometry library is the plan's to 1e-6 mm2."""
    plan = plan_of(BOXCAR)
    cut = [e for e in entities(plain_dxf(drawing_of(plan, "template"))) if e.kind == "LWPOLYLINE"]
    assert len(cut) == 1
    corners = _corners(cut[0].all(10), cut[0].all(20))
    assert plan.floor.area is not None
    assert Polygon(corners).area == pytest.approx(plan.floor.area.value, abs=1e-6)
    expected = [(-at.x_mm.value, at.y_mm.value) for at in plan.floor.outline]
    assert np.array(corners) == pytest.approx(np.array(expected))


def test_cutters_file_holds_closed_lines_and_circles_only() -> None:
    """The plain profile is R2000, with closed polylines and circles on CUT and DRILL and nothing else."""
    plan = plan_of(BOXCAR)
    data = plain_dxf(drawing_of(plan, "template"))
    assert header(data, "$ACADVER") == "AC1015"
    found = entities(data)
    assert {each.kind for each in found} == {"LWPOLYLINE", "CIRCLE"}
    assert {(each.kind, each.layer) for each in found} == {("LWPOLYLINE", "CUT"), ("CIRCLE", "DRILL")}
    assert all(int(each.text(70)) & 1 for each in found if each.kind == "LWPOLYLINE")
    assert {"CUT", "SCORE", "DRILL"} <= layers(data)


def test_holes_in_the_file_are_the_plans() -> None:
    """Each hole stands where the plan has it, seen from below, with the plan's diameter."""
    plan = plan_of(BOXCAR)
    found = [e for e in entities(plain_dxf(drawing_of(plan, "template"))) if e.kind == "CIRCLE"]
    circles = sorted((e.all(10)[0], e.all(20)[0], 2 * e.all(40)[0]) for e in found)
    holes = sorted(
        (-hole.x_mm.value, hole.y_mm.value, hole.diameter_mm.value)
        for hole in plan.holes
        if hole.piece == "floor" and hole.x_mm is not None
    )
    assert np.array(circles) == pytest.approx(np.array(holes))


def test_what_waits_never_reaches_a_cutter() -> None:
    """A hole whose place is not known is in the reading profile, dashed, and not in the cutter's."""
    drawing = drawing_of(plan_of(SHELL), "template")
    assert [e for e in entities(reading_dxf(drawing)) if e.kind == "CIRCLE" and e.layer == "WANTING"]
    assert not [e for e in entities(plain_dxf(drawing)) if e.kind == "CIRCLE"]


def test_dimensions_and_hatches_are_real() -> None:
    """Dimensions are DIMENSION entities whose own measurement is the distance, and hatches are HATCH entities."""
    marks = (
        Dimension(XY(0.0, 0.0), XY(141.735, 0.0), "x", 8.0, "5.580", layer="dimension"),
        Dimension(XY(0.0, 0.0), XY(0.0, 28.9306), "y", -8.0, "1 5/32", layer="dimension"),
        Ordinate(XY(5.0, 3.0), XY(20.0, 3.0), "y", "0.118"),
        Hatch(rectangle(0.0, 0.0, 10.0, 5.0), "single", layer="hatch"),
    )
    data = reading_dxf(Drawing("d", "t", "a", marks))
    found = entities(data)
    assert sum(each.kind == "HATCH" for each in found) == 1
    measured = [
        each.get_measurement() for each in ezdxf.read(io.StringIO(data.decode())).modelspace().query("DIMENSION")
    ]
    assert measured[0] == pytest.approx(141.735)
    assert measured[1] == pytest.approx(28.9306)
    texts = [each.text(1) for each in found if each.kind == "DIMENSION"]
    assert texts[0] == "5.580"
    assert r"\S5/32;" in texts[1]


def test_lengths_do_not_scale_with_the_letters() -> None:
    """A view at 3 : 1 has its lengths at model size; only the letters are smaller in the file."""
    marks = (Polyline(rectangle(0.0, 0.0, 30.0, 10.0)), Text(XY(0.0, 0.0), "x"))
    small, large = (reading_dxf(Drawing("d", "t", "a", marks, scale)) for scale in (1.0, 3.0))
    for data in (small, large):
        line = next(each for each in entities(data) if each.kind == "LWPOLYLINE")
        assert max(line.all(10)) - min(line.all(10)) == 30.0
    heights = [next(e for e in entities(d) if e.kind == "TEXT").all(40)[0] for d in (small, large)]
    assert heights[0] == pytest.approx(3.0 * heights[1])


def test_circles_stay_circles() -> None:
    """A hole is a CIRCLE with its radius in both profiles, never a polygon."""
    hole = Circle(XY(3.0, 4.0), 0.889, role="drill")
    for data in (reading_dxf(Drawing("d", "t", "a", (hole,))), plain_dxf(Drawing("d", "t", "a", (hole,)))):
        circle = next(each for each in entities(data) if each.kind == "CIRCLE")
        assert (circle.all(10)[0], circle.all(20)[0], circle.all(40)[0]) == (3.0, 4.0, 0.889)


def test_same_model_same_bytes() -> None:
    """Two runs give the same file in both profiles: no time and no identifier of the run is in it."""
    drawing = drawing_of(plan_of(BOXCAR), "plan")
    assert reading_dxf(drawing) == reading_dxf(drawing)
    assert plain_dxf(drawing) == plain_dxf(drawing)


def test_control_signs_do_not_break_the_file() -> None:
    """Line ends, percent codes and braces in a text stay inside its one group."""
    nasty = "a\nb\r0\nSECTION %%c {\\H99x;} ^J \\P"
    marks = (Text(XY(0.0, 0.0), nasty), Dimension(XY(0.0, 0.0), XY(50.0, 0.0), "x", 5.0, nasty))
    data = reading_dxf(Drawing("d", "t", "a", marks))
    assert not ezdxf.read(io.StringIO(data.decode())).audit().errors
    assert "%%c" not in next(each for each in entities(data) if each.kind == "TEXT").text(1)
