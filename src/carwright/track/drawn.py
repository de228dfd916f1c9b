"""A car in the middle of a train under pull: the angles at both its couplers, wherever it stands on a path."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from carwright.track.path import Floats, Path
from carwright.track.placing import Vehicle, coupled, stand
from carwright.track.sweep import with_joints

__all__ = ["Drawn", "drawn"]

_STEP_MM: Final = 2.0
"""How far apart the places are; those at which an axle of the car passes a change of curvature are added."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """Angles of the links to the body's axis, degrees, to the left positive at both ends; where, mm to mid-car."""

    at_mm: Floats
    angle_a_deg: Floats
    angle_b_deg: Floats


def drawn(path: Path, ahead: Vehicle, car: Vehicle, behind: Vehicle) -> Drawn | None:
    """Return the angles at which a car's couplers draw it, along a path; None where the three cars do not fit on it.

    Args:
        path: the track; longer than the three cars.
        ahead: the car before it, A end leading; its B coupler's pivot and length must be known.
        car: the car; both couplers' pivots and lengths must be known.
        behind: the car after it; likewise at A.

    Notes:
        A positive angle draws the body to the left, whichever end it is at: on a steady curve to the left both are
        positive and, for like cars, alike.
    """
    with np.errstate(all="ignore"):  # what cannot stand somewhere comes out as not a number
        count = max(math.ceil(path.length_mm / _STEP_MM), 8) + 1
        s = np.linspace(0.0, path.length_mm, count)[None, :]
        first = coupled(path, stand(path, s, ahead), ahead, car)
        own = first.rear
        s = with_joints(s, (own.s_first, own.s_second, own.s_third, own.s_last), np.array([path.joints_mm]))
        first = coupled(path, stand(path, s, ahead), ahead, car)
        second = coupled(path, first.rear, car, behind)
        on_path = np.isfinite(second.rear.s_last) & (second.rear.s_last >= 0.0) & (s <= path.length_mm)
        a, b = np.degrees(first.angle_rear)[on_path], -np.degrees(second.angle_front)[on_path]
        if a.size == 0 or not bool(np.all(np.isfinite(a) & np.isfinite(b))):
            return None
        return Drawn(first.rear.s_middle[on_path], a, b)
