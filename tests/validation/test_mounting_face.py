"""The height of a coupler's mounting face that the trade knows by heart.

Common practice, no document: with a centred coupler whose centre line is 1/16 in below its mounting face, the face
stands 29/64 in above the rail. 29/64 = 0.453125, less 0.0625 is 0.390625 in: the nearest 1/64 to the 0.391 in that
NMRA S-2 is quoted with (checked in tests/reference), 0.000375 in below it, 0.0004 rounded.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from carwright.car.read import read_car
from carwright.plan import make_plan

FILE = """
[car]
scale = "HO"
[body]
length = "5 7/8"
[trucks]
centers = "4 1/4"
seat_height = "9/32"
[coupler]
drop = "1/16"
pivot_inset = "1/4"
length = "3/8"
[underframe]
bolster = "11/64"
"""


def test_29_64_for_a_coupler_a_sixteenth_below_it() -> None:
    """9/32 + 11/64 = 29/64 in of mounting face puts the centre line at 25/64 = 0.390625 in, 0.0004 in low."""
    assert Fraction(9, 32) + Fraction(11, 64) == Fraction(29, 64)
    assert float(Fraction(29, 64) - Fraction(1, 16)) == 0.390625
    ride = make_plan(read_car(FILE)).ride
    for each in (ride.ends.a, ride.ends.b):
        assert each.mounting_face is not None
        assert each.coupler_height is not None
        assert each.error is not None
        assert each.mounting_face.value / 25.4 == pytest.approx(29 / 64, abs=1e-9)
        assert each.coupler_height.value / 25.4 == pytest.approx(0.390625, abs=1e-9)
        assert round(each.error.value / 25.4, 4) == -0.0004
