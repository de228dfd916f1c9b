"""Angles of touching against outlines turned in small steps, with a geometry library's own test of overlap."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon

from carwright.track.touch import Obstacle, TruckPart, first_touch, turning_room

Outline = tuple[tuple[float, float], ...]


def stepped(turning: Outline, fixed: Outline, way: float) -> float:
    """Return the angle at which two outlines first overlap, turning by halves of 0.5 degrees; infinity beyond 90."""
    own, other = Polygon(turning), Polygon(fixed)

    def meets(angle: float) -> bool:
        turned = affinity.rotate(own, way * angle, origin=(0, 0))
        return turned.intersection(other).area > 1e-9

    low = 0.0
    while low < 90.0 and not meets(low + 0.5):
        low += 0.5
    if low >= 90.0:
        return math.inf
    high = low + 0.5
    for _ in range(30):
        middle = (low + high) / 2.0
        low, high = (low, middle) if meets(middle) else (middle, high)
    return high


def box(x: float, y: float, length: float, width: float) -> Outline:
    """Return a rectangle about a place."""
    return (
        (x - length / 2, y - width / 2),
        (x + length / 2, y - width / 2),
        (x + length / 2, y + width / 2),
        (x - length / 2, y + width / 2),
    )


@settings(max_examples=40, deadline=None)
@given(
    length=st.floats(10, 40),
    width=st.floats(5, 30),
    x=st.floats(-40, 40),
    y=st.floats(-40, 40),
    long=st.floats(1, 30),
    wide=st.floats(1, 30),
    lean=st.floats(-40, 40),
)
def test_boxes_against_turning_in_small_steps(
    length: float, width: float, x: float, y: float, long: float, wide: float, lean: float
) -> None:
    """The angle found ring by ring is that found by turning the outline until the library says they overlap."""
    own = box(0.0, 0.0, length, width)
    fixed: Outline = tuple(affinity.rotate(Polygon(box(x, y, long, wide)), lean).exterior.coords[:-1])
    assume(Polygon(own).distance(Polygon(fixed)) > 0.01)
    for angle, way in zip(turning_room(own, fixed), (1.0, -1.0), strict=True):
        seen = stepped(own, fixed, way)
        if math.isinf(seen) or math.isinf(angle):
            # A graze of a hair's depth may be seen by one and not by the other.
            assert math.isinf(seen) == math.isinf(angle) or min(angle, seen) > 89.0 or _grazes(own, fixed)
        else:
            # 0.02 degrees: a corner that comes in at a flat angle overlaps by 1e-9 mm2 only a little later.
            assert angle == pytest.approx(seen, abs=0.02) or _grazes(own, fixed)


def _grazes(own: Outline, fixed: Outline) -> bool:
    """Return whether the outer reach of one and the inner reach of the other are a hair apart."""
    far = max(math.hypot(x, y) for x, y in own)
    near = Polygon(fixed).distance(Polygon([(0, 0), (1e-9, 0), (0, 1e-9)]))
    return abs(far - near) < 0.02


def test_a_side_frame_and_a_sill_by_hand() -> None:
    """A frame 26 by 24 mm, corner 17.692 mm off at 42.709 degrees: it meets a sill 14 mm off at 9.60 degrees.

    asin(14/17.692) = 52.309; 52.309 - atan(12/13) = 52.309 - 42.709 = 9.600.
    """
    corner = math.hypot(13.0, 12.0)
    wanted = math.degrees(math.asin(14.0 / corner) - math.atan2(12.0, 13.0))
    left, right = turning_room(box(0, 0, 26, 24), box(0, 15, 200, 2))
    assert (left, right) == pytest.approx((wanted, wanted), abs=1e-6)
    assert wanted == pytest.approx(9.60, abs=0.01)


FRAME = TruckPart("side frame", box(0, 11, 26, 2), top_mm=8.0, rise_mm=0.6)
WHEEL = TruckPart("wheel", box(8, 8.5, 11, 2.8), top_mm=10.4, wheel_mm=11.0)
SILL = box(0, 15, 200, 2)


def test_what_is_higher_than_the_rocked_truck_is_never_touched() -> None:
    """Above its top, raised by its rock, a truck meets nothing; a hair below it does."""
    assert math.isinf(first_touch([FRAME], Obstacle("sill", SILL, 8.6), pivot_mm=0.0).angle_deg)
    assert first_touch([FRAME], Obstacle("sill", SILL, 8.59), pivot_mm=0.0).angle_deg < 15.0


def test_a_wheel_is_as_long_as_it_is_at_that_height() -> None:
    """At half a millimetre below its top an 11 mm wheel is a chord of 2 sqrt(5.5^2 - 5.0^2) = 4.583 mm."""
    outline = WHEEL.above(9.9)
    assert outline is not None
    assert outline[1][0] - outline[0][0] == pytest.approx(2.0 * math.sqrt(5.5**2 - 5.0**2))
    assert WHEEL.above(10.4) is None


def test_an_obstacle_of_unknown_height_is_not_guessed() -> None:
    """Without its height an obstacle gives no angle, and passes on what is missing."""
    touch = first_touch([FRAME], Obstacle("step", SILL, None, ("body.block[0].from",)), pivot_mm=0.0)
    assert touch.needs == ("body.block[0].from",)
    assert math.isinf(touch.angle_deg)


def test_what_overlaps_already_touches_at_nothing() -> None:
    """Two outlines that overlap as they stand touch at 0 degrees, to both sides."""
    assert turning_room(box(0, 0, 26, 24), box(12, 0, 4, 4)) == (0.0, 0.0)
