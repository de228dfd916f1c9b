"""Distance to the nearest edge against a geometry library."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point as ShapelyPoint
from shapely import Polygon

from carwright.fasten.edges import apart, nearest_edge
from carwright.pieces import Point
from carwright.working import evaluate, typed

SHAPES = {
    "notched": [(-50, -14), (-48, -14), (-48, -15), (48, -15), (48, -14), (50, -14), (50, 15), (-50, 15)],
    "tapered": [(-40, -10), (40, -12), (40, 12), (-40, 10)],
}


def outline(name: str) -> tuple[Point, ...]:
    """Return a shape's corners as typed numbers."""
    return tuple(
        Point(typed(float(x), "x", key=f"x{i}"), typed(float(y), "y", key=f"y{i}"))
        for i, (x, y) in enumerate(SHAPES[name])
    )


@pytest.mark.parametrize("name", SHAPES)
@settings(max_examples=60)
@given(x=st.floats(-60, 60), y=st.floats(-20, 20))
def test_edges_against_a_geometry_library(name: str, x: float, y: float) -> None:
    """Shapely's distance to the ring, negative outside, is the same to 1e-9."""
    place = ShapelyPoint(x, y)
    polygon = Polygon(SHAPES[name])
    expected = polygon.exterior.distance(place)
    found = nearest_edge("edge", outline(name), typed(x, "x", key="x"), typed(y, "y", key="y"))
    assert found is not None
    assert abs(found.value) == pytest.approx(expected, abs=1e-9)
    assert evaluate(found) == pytest.approx(found.value, abs=1e-12)
    if expected > 1e-9:
        assert (found.value > 0) == polygon.contains(place)


def test_no_outline_no_edge() -> None:
    """A piece whose outline is not known has no edge."""
    nought = typed(0.0, "x", key="x")
    assert nearest_edge("edge", (), nought, nought) is None


def test_places_apart() -> None:
    """Three along and four across are five apart."""
    found = apart("apart", *(typed(value, f"v{i}", key=f"v{i}") for i, value in enumerate((1.0, 2.0, 4.0, 6.0))))
    assert math.isclose(found.value, 5.0)
