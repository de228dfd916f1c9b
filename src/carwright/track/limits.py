"""The radius at which each limit bites: steady, where a curve begins, and in a bare reverse curve.

Many radii are tried at once, each on its own short path; the bracket in which a limit bites is tried again with finer
steps, and the last one is closed by the straight line between its ends. Radii come out to better than 0.1 mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from carwright.track.figures import swing_of
from carwright.track.moving import Spot
from carwright.track.path import Arc, Floats, Path, bundled
from carwright.track.placing import Vehicle, coupled, stand
from carwright.track.sweep import pair_figures, peaks_of_rows, with_joints

__all__ = ["Bite", "Place", "least_radii", "limit_spots", "radius_of_truck_swing", "smallest_radius"]

Place = Literal["steady", "entry", "reverse"]
"""On the steady curve, where a straight runs into it, where a curve one way runs straight into one the other way."""

MOST_BASES: Final = 40.0
"""Radii up to so many times the first axle to the last are tried: more is as good as straight for any car."""

_COARSE: Final = 22
_FINE: Final = (9, 6, 5)
_STATIONS: Final = 72
_ALIKE: Final = 3
_SINGLE: Final = ("coupler_front", "coupler_rear", "gap", "gap_pushed")


@dataclass(frozen=True, slots=True)
class Bite:
    """Where a limit bites.

    Args:
        what: "coupler_front", "coupler_rear", "gap" or "gap_pushed".
        place: see ``Place``.
        radius_mm: the least radius that is still good; infinity where none is, 0 where every one is on which the cars
            can stand at all.
    """

    what: str
    place: Place
    radius_mm: float


def smallest_radius(car: Vehicle) -> float:
    """Return the radius below which a car's trucks cannot stand on the curve at all, mm.

    The pivots' circle, R^2 - b^2/4, must hold the truck centres between them.
    """
    half = (car.a.truck_mm + car.b.truck_mm) / 2.0
    base = max(car.a.wheelbase_mm, car.b.wheelbase_mm)
    return math.sqrt(half * half + base * base / 4.0)


def radius_of_truck_swing(angle_deg: float, car: Vehicle) -> float:
    """Return the steady radius on which the trucks turn by ``angle_deg`` against the body, mm; infinity for 0.

    R^2 = (a / sin angle)^2 + b^2/4.
    """
    if angle_deg <= 0.0:
        return math.inf
    half = (car.a.truck_mm + car.b.truck_mm) / 2.0
    base = max(car.a.wheelbase_mm, car.b.wheelbase_mm)
    return math.hypot(half / math.sin(math.radians(min(angle_deg, 90.0))), base / 2.0)


def _legs(place: Place, radius_mm: float, train_mm: float) -> tuple[Arc, ...]:
    curve = Arc(train_mm, 1.0 / radius_mm)
    if place == "entry":
        return (Arc(train_mm), curve, Arc(train_mm))
    if place == "steady":
        return (curve, curve, curve)
    return (replace(curve, curvature_per_mm=-1.0 / radius_mm), curve, curve)


def _placed(cases: Sequence[tuple[Place, float]], car: Vehicle, other: Vehicle) -> tuple[Path, Floats]:
    """Return the cases' tracks in a bundle, and where the first axle is tried on each: one row for each case."""
    train = 1.15 * (car.base_mm + other.base_mm + (car.coupled_mm(other) or 0.0))
    apart = 8.0 * train
    path: Path = bundled([Path(_legs(place, radius, train)) for place, radius in cases], apart)
    begin = np.arange(len(cases))[:, None] * apart + train
    # On a steady curve every place is like every other.
    count = _ALIKE if all(place == "steady" for place, _ in cases) else _STATIONS
    s = begin + np.linspace(0.0, 2.0 * train, count)[None, :]
    joint = coupled(path, stand(path, s, car), car, other)
    front, rear = joint.front, joint.rear
    axles = (s, front.s_second, front.s_third, front.s_last, rear.s_first, rear.s_second, rear.s_third, rear.s_last)
    return path, with_joints(s, axles, np.concatenate([begin, begin + train], axis=1))


def _limit(name: str, car: Vehicle, other: Vehicle) -> float | None:
    """Return what a figure may be at most, degrees or mm; None where that is not known."""
    if name.startswith("gap"):
        return 0.0
    swing = swing_of(car.b if name == "coupler_front" else other.a)
    return None if swing is None else math.degrees(swing)


def _coarse_margins(
    cases: Sequence[tuple[Place, float]], car: Vehicle, other: Vehicle, *, slack_mm: float, push: bool
) -> dict[str, Floats]:
    """Return by how much each figure is inside its limit (deg or mm; negative outside), one value for each case.

    Peaks are looked for at the places tried, and not closed in on.
    """
    path, s = _placed(cases, car, other)
    joint = coupled(path, stand(path, s, car), car, other)
    figures = pair_figures(path, joint, car, other, slack_mm=slack_mm, push=push and _buckles(car, other))
    stood = np.all(np.isfinite(figures["coupler_front"]), axis=1)
    margins: dict[str, Floats] = {}
    for name in _SINGLE:
        limit = _limit(name, car, other)
        if name in figures and limit is not None:
            worst = np.max(np.where(np.isfinite(figures[name]), figures[name], -np.inf), axis=1)
            margins[name] = np.where(stood, limit - worst, -np.inf)
    return margins


def _buckles(car: Vehicle, other: Vehicle) -> bool:
    return car.b.swing_deg is not None and other.a.swing_deg is not None


def _own_margins(
    names: Sequence[str], cases: Sequence[tuple[Place, float]], car: Vehicle, other: Vehicle, *, slack_mm: float
) -> Floats:
    """Return by how much the figure that each case is about is inside its limit, its peak closed in on."""
    worst, _, _, stood = _own_worst(names, cases, car, other, slack_mm=slack_mm)
    limits = np.array([_limit(name, car, other) for name in names], dtype=np.float64)
    return np.where(stood, limits - worst, -np.inf)


def _own_worst(
    names: Sequence[str], cases: Sequence[tuple[Place, float]], car: Vehicle, other: Vehicle, *, slack_mm: float
) -> tuple[Floats, Floats, Path, NDArray[np.bool_]]:
    """Return the worst of the figure that each case is about, where, on which path, and whether the cars stood."""
    path, s = _placed(cases, car, other)
    push = "gap_pushed" in names
    rows = {name: np.array([each == name for each in names]) for name in dict.fromkeys(names)}

    def evaluate(at: Floats) -> Mapping[str, Floats]:
        joint = coupled(path, stand(path, at, car), car, other)
        figures = pair_figures(path, joint, car, other, slack_mm=slack_mm, push=push)
        own = np.full(at.shape, np.nan)
        for name, mine in rows.items():
            own[mine] = figures[name][mine]
        return {"own": own}

    figures = evaluate(s)
    stood = np.all(np.isfinite(figures["own"]), axis=1)
    if all(place == "steady" for place, _ in cases):
        return figures["own"][:, 0], s[:, 0], path, stood
    worst, places = peaks_of_rows(evaluate, s, figures, ("own",), brackets=2, narrow_mm=1e-3)["own"]
    return worst, places, path, stood


def limit_spots(bites: Sequence[Bite], car: Vehicle, other: Vehicle, *, slack_mm: float) -> tuple[Path, list[Spot]]:
    """Return where each limit is met on its least radius: a path that has all of them, and the places on it.

    Args:
        bites: with radii that are more than 0 and finite, at least one.
        car: the front car.
        other: the rear one.
        slack_mm: by which the heads run together in a push.
    """
    names = [bite.what for bite in bites]
    with np.errstate(all="ignore"):
        cases = [(bite.place, bite.radius_mm) for bite in bites]
        _, places, path, _ = _own_worst(names, cases, car, other, slack_mm=slack_mm)
    return path, [Spot(name, float(place)) for name, place in zip(names, places, strict=True)]


def least_radii(
    car: Vehicle,
    other: Vehicle,
    *,
    slack_mm: float = 0.0,
    places: Sequence[Place] = ("steady", "entry", "reverse"),
    push: bool = True,
) -> tuple[Bite, ...]:
    """Return where each limit of two coupled cars bites, as far as their sizes are known.

    Args:
        car: the front car.
        other: the one behind it.
        slack_mm: by which the heads run together in a push.
        places: where on the track.
        push: whether the gap in a push is asked for.

    Returns:
        For each place the couplers' swing against their stops (where it is known), the gap between the bodies, and
        that gap in a push; each with its least radius.
    """
    low = max(smallest_radius(car), smallest_radius(other)) * 1.02
    tried = np.geomspace(low, MOST_BASES * max(car.base_mm, other.base_mm), _COARSE)
    margins: dict[tuple[str, Place], Floats] = {}
    for group in ([each for each in places if each == "steady"], [each for each in places if each != "steady"]):
        cases: list[tuple[Place, float]] = [(place, float(radius)) for place in group for radius in tried]
        with np.errstate(all="ignore"):  # a car that cannot stand somewhere comes out as not a number
            given = _coarse_margins(cases, car, other, slack_mm=slack_mm, push=push) if cases else {}
        for name, each in given.items():
            margins |= {(name, place): each[at * _COARSE : (at + 1) * _COARSE] for at, place in enumerate(group)}
    found: list[Bite] = []
    open_brackets: list[tuple[str, Place, float, float]] = []
    for (name, place), own in margins.items():
        bad = np.flatnonzero(own < 0.0)
        if not bad.size:
            found.append(Bite(name, place, 0.0))
        elif bad[-1] == _COARSE - 1:
            found.append(Bite(name, place, math.inf))
        else:
            open_brackets.append((name, place, float(tried[bad[-1]]), float(tried[bad[-1] + 1])))
    # Apart: a push is placed three times over, and a steady curve needs few places.
    groups = [
        [each for each in open_brackets if (each[0] == "gap_pushed", each[1] == "steady") == kind]
        for kind in ((False, False), (False, True), (True, False), (True, True))
    ]
    for turn, count in enumerate(_FINE):
        last = turn == len(_FINE) - 1
        groups = [_narrowed(group, count, car, other, slack_mm=slack_mm, last=last) for group in groups]
    open_brackets = [each for group in groups for each in group]
    found += [Bite(name, place, high) for name, place, _, high in open_brackets]
    order = {(name, place): n for n, (name, place) in enumerate((n, p) for p in places for n in _SINGLE)}
    return tuple(sorted(found, key=lambda each: order[each.what, each.place]))


def _narrowed(
    brackets: Sequence[tuple[str, Place, float, float]],
    count: int,
    car: Vehicle,
    other: Vehicle,
    *,
    slack_mm: float,
    last: bool,
) -> list[tuple[str, Place, float, float]]:
    """Return each bracket at a finer step; the upper end of the ``last`` is the answer itself."""
    if not brackets:
        return []
    cases: list[tuple[Place, float]] = []
    # A coarse look misses a peak by a little: the bracket is widened by that much on both sides.
    wide = [(name, place, low - (high - low) / 6.0, high + (high - low) / 6.0) for name, place, low, high in brackets]
    for _, place, low, high in wide:
        cases += [(place, float(radius)) for radius in np.linspace(low, high, count)]
    with np.errstate(all="ignore"):
        names = [name for name, *_ in wide for _ in range(count)]
        margins = _own_margins(names, cases, car, other, slack_mm=slack_mm)
    found = []
    for at, (name, place, low, high) in enumerate(wide):
        own = margins[at * count : (at + 1) * count]
        radii = np.linspace(low, high, count)
        bad = np.flatnonzero(own < 0.0)
        place_of = int(bad[-1]) if bad.size else 0
        place_of = min(place_of, count - 2)
        one, two = float(own[place_of]), float(own[place_of + 1])
        start, stop = float(radii[place_of]), float(radii[place_of + 1])
        if last and math.isfinite(one) and two > one:
            # The bracket may lie a little beside: the line through both ends goes on for its width.
            stop = start + (stop - start) * min(max(-one / (two - one), -1.0), 2.0)
        elif not bad.size:
            start -= high - low
        elif bad[-1] == count - 1:
            stop += high - low
        found.append((name, place, start, stop))
    return found
