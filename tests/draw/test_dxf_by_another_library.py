"""Every DXF is opened by a library that shares nothing with the one that wrote it (trimesh's own DXF reader)."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
import trimesh
from tests.book.cars import AWKWARD, DEMO, plan_named

from carwright.draw.dxf import plain_dxf, reading_dxf
from carwright.draw.views import VIEWS, drawing_of


def _opened(data: bytes) -> trimesh.path.Path2D:
    return trimesh.load_path(io.StringIO(data.decode("utf-8")), file_type="dxf")


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_every_view_opens_with_its_unit(name: str) -> None:
    """Each view of each car opens, in millimetres, with lines in it and no place that is not a number."""
    plan = plan_named(name)
    for view in VIEWS:
        found = _opened(reading_dxf(drawing_of(plan, view)))
        assert found.units == "millimeters", view
        assert len(found.entities) > 0, view
        assert np.isfinite(found.vertices).all(), view


@pytest.mark.parametrize("name", [*DEMO, *AWKWARD])
def test_the_cutters_floor_is_as_large_as_the_plans(name: str) -> None:
    """The cut line spans the floor's finished length and width, and every circle has the radius of its drill."""
    plan = plan_named(name)
    assert plan.floor.length is not None
    assert plan.floor.width is not None
    found = _opened(plain_dxf(drawing_of(plan, "template")))
    size = found.bounds[1] - found.bounds[0]
    assert tuple(size) == pytest.approx((plan.floor.length.value, plan.floor.width.value), abs=1e-6)
    radii = sorted(
        each.center(found.vertices).radius for each in found.entities if isinstance(each, trimesh.path.entities.Arc)
    )
    holes = sorted(
        h.diameter_mm.value / 2 for h in plan.holes if h.piece == "floor" and h.x_mm is not None and not h.needs
    )
    assert radii == pytest.approx(holes, rel=1e-6)
    assert all(math.isfinite(each) for each in radii)
