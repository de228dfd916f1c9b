"""The room that a car sweeps along a path: how far its outline reaches to both sides of the centre line."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from carwright.track.figures import offsets
from carwright.track.path import Floats, Path
from carwright.track.placing import Vehicle, stand

__all__ = ["Envelope", "swept"]

_ALONG_SIDE: Final = 17
"""Points along each side of a body: a side is straight, so that what lies between them is nearly as far out."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """The swept room: at ``at_mm`` along the path ``left_mm`` and ``right_mm`` from its centre line, both positive."""

    at_mm: Floats
    left_mm: Floats
    right_mm: Floats


def swept(path: Path, car: Vehicle, *, step_mm: float = 10.0) -> Envelope | None:
    """Return what a car's outline sweeps from end to end of a path, or None where its length or width is not known.

    Args:
        path: the track.
        car: the car, both of whose trucks stay on it.
        step_mm: how far apart the places are, along the path.

    Notes:
        A corner is told at the nearest station, so that it stands up to half a step beside where it really is. On a
        steady curve the reach is right to 0.01 mm; where the curvature changes, to what a place more would show.
    """
    if car.length_mm is None or car.width_mm is None:
        return None
    with np.errstate(all="ignore"):
        s = np.linspace(0.0, path.length_mm, max(math.ceil(path.length_mm / step_mm), 8) + 1)
        standing = stand(path, s, car)
        x = np.linspace(-car.length_mm / 2.0, car.length_mm / 2.0, _ALONG_SIDE)
        points = [(float(each), side * car.width_mm) for side in (0.5, -0.5) for each in x]
        at, off = offsets(path, standing, points)
    keep = np.isfinite(off) & (standing.s_last >= 0.0)[None, :]
    stations = np.arange(0.0, path.length_mm + step_mm, step_mm)
    bend = path.bend(stations)
    sides = []
    for side, way in ((slice(0, _ALONG_SIDE), 1.0), (slice(_ALONG_SIDE, 2 * _ALONG_SIDE), -1.0)):
        left = np.zeros((len(s), len(stations)))
        right = left.copy()
        for place in np.flatnonzero(np.all(keep[side], axis=0)):
            own, out = at[side, place], off[side, place]
            first, last = np.searchsorted(stations, own[0]), np.searchsorted(stations, own[-1], side="right")
            there = stations[first:last]
            # A straight side bulges toward the middle of the curve between two of its points.
            n = np.clip(np.searchsorted(own, there, side="right") - 1, 0, _ALONG_SIDE - 2)
            bulge = bend[first:last] * (there - own[n]) * (own[n + 1] - there) / 2.0
            reach = np.interp(there, own, out) + bulge
            left[place, first:last], right[place, first:last] = np.maximum(reach, 0.0), np.maximum(-reach, 0.0)
            for end in (0, -1):  # a corner counts at the station next to it
                near = min(max(round(float(own[end]) / step_mm), 0), len(stations) - 1)
                left[place, near] = max(left[place, near], out[end])
                right[place, near] = max(right[place, near], -out[end])
        # The side's own side has the peak of a smooth swing, to be closed in on; the other is never reached by it.
        own_left = _crest(left) if way > 0 else np.max(left, axis=0)
        own_right = _crest(right) if way < 0 else np.max(right, axis=0)
        sides.append((own_left, own_right))
    left, right = np.maximum(sides[0][0], sides[1][0]), np.maximum(sides[0][1], sides[1][1])
    inside = stations <= path.length_mm + 1e-9
    return Envelope(stations[inside], left[inside], right[inside])


def _crest(reach: Floats) -> Floats:
    """Return the greatest reach at each station, between the places too: a parabola through the three highest there.

    Args:
        reach: for each place of the car (evenly apart) and station.
    """
    place = np.argmax(reach, axis=0)
    most = np.max(reach, axis=0)
    inner = np.clip(place, 1, reach.shape[0] - 2)
    column = np.arange(reach.shape[1])
    before, here, after = reach[inner - 1, column], reach[inner, column], reach[inner + 1, column]
    curve = before - 2.0 * here + after
    smooth = (place == inner) & (before > 0.0) & (after > 0.0) & (curve < -1e-12)
    smooth &= here - np.minimum(before, after) < 0.5
    lift = np.where(smooth, (after - before) ** 2 / np.where(smooth, -8.0 * curve, 1.0), 0.0)
    crest: Floats = most + lift
    return crest
