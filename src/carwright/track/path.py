"""The centre line of a track: straights, arcs, easements and turnouts in a row, evaluated anywhere at once.

A path begins at the origin and heads along x; y is to the left. Places are complex numbers x + iy, directions complex
numbers of size 1. Straights, arcs and clothoids are exact; before its beginning and beyond its end a path goes on
straight, so that what overhangs a wheel there still has a centre line beside it.

    arc        z = z0 + u sinc(k u/2) exp(i (h0 + k u/2))          u length along it, k curvature, left positive
    clothoid   x + iy = integral of exp(i t^2/(2 R L)) from 0 to u   by its power series (Fresnel)
    cubic      y = x^3/(6 R L), x along the tangent                  its own length by Gauss-Legendre quadrature

NumPy is imported at the top: this module is loaded only where a path is really to be followed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

__all__ = ["Arc", "Complexes", "Easement", "Floats", "Leg", "Path", "bundled", "path_of", "turnout_legs"]

Floats = NDArray[np.float64]
"""Numbers, one for each place asked about."""

Complexes = NDArray[np.complex128]
"""Places or directions in the plane."""

BEYOND_MM: Final = 1.0e4
"""How far a path goes on straight before its beginning and beyond its end: longer than any car."""

_TERMS: Final = 18
"""Terms of the clothoid's series: at half a turn the first one left out is below 1e-20."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(20)


@dataclass(frozen=True, slots=True)
class Arc:
    """A straight (``curvature_per_mm`` 0) or a circular arc; curving to the left is positive."""

    length_mm: float
    curvature_per_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Easement:
    """A leg whose curvature grows from nothing, or, on the way ``out``, falls to nothing.

    Args:
        radius_mm: at its sharp end, > 0.
        length_mm: of a clothoid along it; of a cubic along the tangent.
        left: which way it curves.
        out: whether it is met with its sharp end first.
        form: "clothoid", or "cubic" for the parabola y = x^3/(6 R L).
    """

    radius_mm: float
    length_mm: float
    left: bool
    out: bool = False
    form: Literal["clothoid", "cubic"] = "clothoid"


Leg = Arc | Easement
"""One piece of a path."""


def _clothoid(u: Floats, radius_mm: Floats, length_mm: Floats) -> tuple[Complexes, Floats]:
    """Return place and heading (radians) after ``u`` mm of a clothoid from straight, curving left."""
    heading = u * u / (2.0 * radius_mm * length_mm)
    x = np.zeros_like(u)
    y = np.zeros_like(u)
    term = u.copy()
    for n in range(_TERMS):
        x += term / (4 * n + 1)
        term = term * heading / (2 * n + 1)
        y += term / (4 * n + 3)
        term = -term * heading / (2 * n + 2)
    return x + 1j * y, heading


def _cubic_length(x: Floats, twice_rl: Floats) -> Floats:
    """Return the length along the cubic y = x^3/(6 R L) from 0 to ``x``; ``twice_rl`` is 2 R L."""
    half = x[..., None] / 2.0
    at = half * (_NODES + 1.0)
    slope = at * at / twice_rl[..., None]
    found: Floats = np.sum(_WEIGHTS * np.sqrt(1.0 + slope * slope), axis=-1) * half[..., 0]
    return found


def _cubic(u: Floats, radius_mm: Floats, length_mm: Floats) -> tuple[Complexes, Floats]:
    """Return place and heading (radians) after ``u`` mm of a cubic from straight, curving left."""
    twice_rl = 2.0 * radius_mm * length_mm
    x = u.copy()
    for _ in range(20):
        slope = x * x / twice_rl
        step = (_cubic_length(x, twice_rl) - u) / np.sqrt(1.0 + slope * slope)
        x = x - step
        if not step.size or float(np.max(np.abs(step))) < 1e-11:
            break
    slope = x * x / twice_rl
    return x + 1j * x * slope / 3.0, np.arctan(slope)


_ARC, _CLOTHOID, _CUBIC = 0, 1, 2

_Row = tuple[float, complex, float, float, int, float, float, float, bool]
"""Where a leg is counted from, its place and heading there, curvature, kind, sharp radius, easing, hand, out."""


class Path:
    """A path made of legs; see the module's head.

    Args:
        legs: in the order in which a train meets them, at least one.

    Attributes:
        length_mm: of all legs together.
        joints_mm: length from the beginning to where each leg begins, and to the end.
        sharpest_mm: least radius anywhere on it, or infinity.
    """

    def __init__(self, legs: Sequence[Leg]) -> None:
        self.legs = tuple(legs)
        rows: list[_Row] = []
        at, place, heading = 0.0, 0j, 0.0
        joints = [0.0]
        rows.append((-BEYOND_MM, complex(-BEYOND_MM, 0.0), 0.0, 0.0, _ARC, 1.0, 1.0, 1.0, False))
        for leg in self.legs:
            length, step, turn = _whole(leg)
            end = place + step * complex(math.cos(heading), math.sin(heading))
            if isinstance(leg, Arc):
                rows.append((at, place, heading, leg.curvature_per_mm, _ARC, 1.0, 1.0, 1.0, False))
            else:
                hand = 1.0 if leg.left else -1.0
                kind = _CLOTHOID if leg.form == "clothoid" else _CUBIC
                if leg.out:
                    rows.append((at + length, end, heading + turn, 0.0, kind, leg.radius_mm, leg.length_mm, hand, True))
                else:
                    rows.append((at, place, heading, 0.0, kind, leg.radius_mm, leg.length_mm, hand, False))
            at, place, heading = at + length, end, heading + turn
            joints.append(at)
        rows.append((at, place, heading, 0.0, _ARC, 1.0, 1.0, 1.0, False))
        self._set(rows, [-BEYOND_MM, *joints])
        self.length_mm = at
        self.joints_mm = tuple(joints)
        self.sharpest_mm = min((_sharpest(leg) for leg in self.legs), default=math.inf)

    def _set(
        self,
        rows: Sequence[_Row],
        starts: Sequence[float],
    ) -> None:
        self._rows = tuple(rows)
        self._starts = np.array(starts, dtype=np.float64)
        origin, place, heading, curvature, kind, radius, length, hand, out = zip(*rows, strict=True)
        self._origin = np.array(origin, dtype=np.float64)
        self._place = np.array(place, dtype=np.complex128)
        self._direction = np.exp(1j * np.array(heading, dtype=np.float64))
        self._curvature = np.array(curvature, dtype=np.float64)
        self._kind = np.array(kind, dtype=np.int64)
        self._radius = np.array(radius, dtype=np.float64)
        self._easing = np.array(length, dtype=np.float64)
        self._hand = np.array(hand, dtype=np.float64)
        self._out = np.array(out, dtype=np.bool_)
        self._eases = bool(np.any(self._kind != _ARC))

    def at(self, s: Floats) -> tuple[Complexes, Complexes]:
        """Return place and direction at the lengths ``s`` from the beginning, mm; any shape."""
        leg = np.maximum(np.searchsorted(self._starts, s, side="right") - 1, 0)
        u = s - self._origin[leg]
        half = self._curvature[leg] * u / 2.0
        sine = np.sin(half)
        swing = np.cos(half) + 1j * sine
        start = self._direction[leg]
        flat = np.abs(half) < 1e-9
        chord = np.where(flat, u, u * sine / np.where(flat, 1.0, half))
        place = self._place[leg] + chord * start * swing
        direction = start * swing * swing
        if self._eases:
            for kind, curve in ((_CLOTHOID, _clothoid), (_CUBIC, _cubic)):
                here = self._kind[leg] == kind
                if np.any(here):
                    place[here], direction[here] = self._eased(leg[here], np.abs(u[here]), curve)
        return place, direction

    def _eased(self, leg: NDArray[np.int64], u: Floats, curve: object) -> tuple[Complexes, Complexes]:
        assert callable(curve)
        local, turn = curve(u, self._radius[leg], self._easing[leg])
        hand, start, out = self._hand[leg], self._direction[leg], self._out[leg]
        bent = local.real + 1j * hand * local.imag
        # Met from its straight end backwards, an easement is its own mirror picture.
        place = self._place[leg] + start * np.where(out, -np.conj(bent), bent)
        return place, start * np.exp(1j * hand * np.where(out, -turn, turn))

    def nearest(self, place: Complexes, guess_mm: Floats) -> Floats:
        """Return the length from the beginning at which the centre line is abreast of each place.

        Args:
            place: where, not farther from the line than a third of its radius there.
            guess_mm: about how far along; a car's length off is near enough.
        """
        s = np.array(guess_mm, dtype=np.float64)
        for _ in range(40):
            there, direction = self.at(s)
            away = (place - there) * np.conj(direction)
            step = away.real / (1.0 - np.clip(self.bend(s) * away.imag, -0.5, 0.5))
            s = s + step
            if not s.size or float(np.max(np.abs(step))) < 1e-9:
                break
        return s

    def bend(self, s: Floats) -> Floats:
        """Return the curvature at ``s``, left positive; of a cubic nearly, which is enough to find a place by."""
        leg = np.maximum(np.searchsorted(self._starts, s, side="right") - 1, 0)
        eased = self._hand[leg] * np.abs(s - self._origin[leg]) / (self._radius[leg] * self._easing[leg])
        return np.where(self._kind[leg] == _ARC, self._curvature[leg], eased)

    def moved_by(self, offset_mm: float) -> Path:
        """Return the same path with its lengths counted from ``offset_mm`` on."""
        other = Path.__new__(Path)
        other.legs = self.legs
        other._set([(row[0] + offset_mm, *row[1:]) for row in self._rows], [float(s) + offset_mm for s in self._starts])
        other.length_mm = self.length_mm
        other.joints_mm = tuple(each + offset_mm for each in self.joints_mm)
        other.sharpest_mm = self.sharpest_mm
        return other


def _whole(leg: Leg) -> tuple[float, complex, float]:
    """Return a leg's length, where it ends as seen from its beginning, and how far it turns (radians)."""
    if isinstance(leg, Arc):
        half = leg.curvature_per_mm * leg.length_mm / 2.0
        chord = leg.length_mm * (math.sin(half) / half if half else 1.0)
        return leg.length_mm, chord * complex(math.cos(half), math.sin(half)), 2.0 * half
    radius, easing = np.array([float(leg.radius_mm)]), np.array([float(leg.length_mm)])
    if leg.form == "clothoid":
        length = leg.length_mm
        local, turn = _clothoid(easing, radius, easing)
    else:
        length = float(_cubic_length(easing, 2.0 * radius * easing)[0])
        local, turn = _cubic(np.array([length]), radius, easing)
    end, angle = complex(local[0]), float(turn[0])
    if leg.out:  # seen from the sharp end, looking the other way
        end = complex(end.real, -end.imag) * complex(math.cos(angle), math.sin(angle))
    return length, end if leg.left else end.conjugate(), angle if leg.left else -angle


def _sharpest(leg: Leg) -> float:
    if isinstance(leg, Easement):
        return leg.radius_mm
    return 1.0 / abs(leg.curvature_per_mm) if leg.curvature_per_mm else math.inf


def path_of(legs: Sequence[Leg]) -> Path:
    """Return the path of some legs."""
    return Path(legs)


def bundled(paths: Sequence[Path], apart_mm: float) -> Path:
    """Return several paths as one, the n-th with its lengths counted from n ``apart_mm`` on.

    What stands on one of them never meets another, so that many cases are reckoned in one go.

    Args:
        paths: each shorter than ``apart_mm`` by the length of a train at both ends.
        apart_mm: from one beginning to the next.
    """
    bundle = Path.__new__(Path)
    rows: list[_Row] = []
    starts: list[float] = []
    joints: list[float] = []
    for place, path in enumerate(paths):
        moved = path.moved_by(place * apart_mm)
        rows.extend(moved._rows)
        near = [max(float(s), place * apart_mm - apart_mm / 2.0) for s in moved._starts]
        starts.extend(near)
        joints.extend(moved.joints_mm)
    bundle.legs = tuple(leg for path in paths for leg in path.legs)
    bundle._set(rows, starts)
    bundle.length_mm = len(paths) * apart_mm
    bundle.joints_mm = tuple(joints)
    bundle.sharpest_mm = min(path.sharpest_mm for path in paths)
    return bundle


def turnout_legs(
    *,
    frog: float,
    gauge_mm: float,
    left: bool,
    out: bool = False,
    radius_mm: float | None = None,
    points_mm: float = 0.0,
) -> tuple[Arc, ...]:
    """Return the diverging way of a turnout from its points to its frog, or back.

    The frog's angle is p with N = (1/2) cot(p/2). With one arc from the points to the frog the outer rail runs G to
    the side while it turns by p, so that (R + G/2)(1 - cos p) = G and the centre line's radius is R = 2 G N^2. A
    sharper ``radius_mm`` leaves a straight before the frog of (G - (R + G/2)(1 - cos p))/sin p.

    Args:
        frog: its number N, > 0.
        gauge_mm: G, between the rails.
        left: to which side it diverges, seen from the points.
        out: met from the frog; it then curves the other way.
        radius_mm: of the closure, centre line, at most 2 G N^2; None for one arc.
        points_mm: straight from the points to where the arc begins.

    Source:
        Plane geometry, derived here; the definition of N is the usual one (bisector).
    """
    angle = 2.0 * math.atan(1.0 / (2.0 * frog))
    radius = 2.0 * gauge_mm * frog * frog if radius_mm is None else radius_mm
    straight = (gauge_mm - (radius + gauge_mm / 2.0) * (1.0 - math.cos(angle))) / math.sin(angle)
    hand = 1.0 if left != out else -1.0
    legs = [Arc(points_mm), Arc(radius * angle, hand / radius), Arc(straight)]
    kept = [leg for leg in legs if leg.length_mm > 1e-9]
    return tuple(reversed(kept) if out else kept)
