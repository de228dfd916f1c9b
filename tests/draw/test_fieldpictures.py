"""The small pictures of measurements: every one can be drawn, with its letter and both of its points."""

from __future__ import annotations

import pytest

from carwright.car.keys import Key, keys, picture_points
from carwright.draw.fieldpictures import SKETCHES, measurement_picture
from carwright.draw.model import Dimension, Line, Ring

PICTURED = [key for key in keys() if key.picture is not None]


def test_every_point_of_the_table_is_drawn() -> None:
    """Each point that the table of keys may name is a place on the sketch of its view, and no sketch has others."""
    for view, points in picture_points().items():
        sketch = SKETCHES[view]()
        named = {each.picture.view: set[str]() for each in PICTURED if each.picture is not None}
        for each in PICTURED:
            assert each.picture is not None
            named[each.picture.view] |= {each.picture.start, each.picture.end}
        assert named[view] <= {*sketch.along, *sketch.up}, view
        assert {*sketch.along, *sketch.up} <= set(points), view


@pytest.mark.parametrize("key", PICTURED, ids=[key.path for key in PICTURED])
def test_a_picture_tells_one_measurement(key: Key) -> None:
    """A picture has the key's letter once, on a dimension between two different places or on a slanting line."""
    drawing = measurement_picture(key)
    assert drawing is not None
    told = [mark for mark in drawing.marks if mark.key]
    assert {mark.key for mark in told} == {key.path}
    assert [mark.letter for mark in told if isinstance(mark, Dimension | Ring)] == [key.letter]
    (span,) = [mark for mark in told if isinstance(mark, Dimension | Line)]
    assert span.start != span.end
    if isinstance(span, Dimension):
        apart = span.start.x_mm - span.end.x_mm if span.axis == "x" else span.start.y_mm - span.end.y_mm
        assert abs(apart) >= 0.5


def test_what_is_no_size_has_no_picture() -> None:
    """A name, a year or a weight has no picture."""
    assert measurement_picture(next(key for key in keys() if key.path == "car.year")) is None
