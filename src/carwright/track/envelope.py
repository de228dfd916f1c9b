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
        A corner is told at the nearest station, so that it stands up to half a step beside where it really is; how far
        out it reaches is right to the distance between places.
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
    left, right = np.zeros_like(stations), np.zeros_like(stations)
    # Each side of a body is a line from point to point: every station between two of them is reached.
    for side in (slice(0, _ALONG_SIDE), slice(_ALONG_SIDE, 2 * _ALONG_SIDE)):
        for place in np.flatnonzero(np.all(keep[side], axis=0)):
            own, out = at[side, place], off[side, place]
            first, last = np.searchsorted(stations, own[0]), np.searchsorted(stations, own[-1], side="right")
            reach = np.interp(stations[first:last], own, out)
            np.maximum(left[first:last], reach, out=left[first:last])
            np.maximum(right[first:last], -reach, out=right[first:last])
            for end in (0, -1):  # a corner counts at the station next to it
                near = min(max(round(float(own[end]) / step_mm), 0), len(stations) - 1)
                left[near], right[near] = max(left[near], out[end]), max(right[near], -out[end])
    inside = stations <= path.length_mm + 1e-9
    return Envelope(stations[inside], left[inside], right[inside])
