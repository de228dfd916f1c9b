"""The worst figures along a path and where they occur: placed every few millimetres, then refined at each peak.

A figure is smooth but where an axle passes a change of curvature; its peaks are mostly there. Those places are added to
the even ones, and each of the highest peaks is closed in on until its place is known to 0.00001 mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from carwright.track.figures import body_gap, pushed_together, throws, truck_swing
from carwright.track.path import Floats, Path
from carwright.track.placing import Joint, Standing, Vehicle, coupled, stand

__all__ = ["Peak", "Sweep", "Trace", "along", "car_figures", "pair_figures", "peaks_of_rows", "with_joints"]

STEP_MM: Final = 5.0
_NARROW_MM: Final = 1e-5
_BRACKETS: Final = 3
_LEVEL: Final = 1e-6
"""Degrees or mm: a thousandth of what is asked; as near to its worst a figure counts as there."""
_ZOOM: Final = np.linspace(0.0, 1.0, 33)

Figures = Mapping[str, Floats]
"""Figures by name, in degrees or mm; greater is worse (a gap is negated)."""


@dataclass(frozen=True, slots=True)
class Peak:
    """The worst value of a figure; where: length along the path to mid-car of the first car, and to its first axle."""

    value: float
    at_mm: float
    s_first_mm: float


@dataclass(frozen=True, slots=True)
class Trace:
    """A figure along the path, for a chart: mm to mid-car of the first car, and values in degrees."""

    at_mm: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Sweep:
    """The answer of ``along``.

    Args:
        peaks: figure to its worst: throw_in, throw_out and their _bare (mm), truck_a, truck_b, coupler_front,
            coupler_rear, push_front, push_rear (deg), gap, gap_pushed (mm, least).
        traces: figure to its course, for coupler_front and coupler_rear.
        placed: whether the cars could be placed everywhere.
    """

    peaks: Mapping[str, Peak]
    traces: Mapping[str, Trace]
    placed: bool


def with_joints(s: Floats, axles: Sequence[Floats], joints: Floats) -> Floats:
    """Return places (rows of them, rising) with those added at which an axle passes a joint.

    Args:
        s: shape (rows, n).
        axles: where each axle is while the first is at ``s``; the same shape, rising.
        joints: shape (rows, m).
    """
    rows = []
    for row in range(s.shape[0]):
        added = [np.interp(joints[row], axle[row], s[row]) for axle in axles if np.all(np.isfinite(axle[row]))]
        rows.append(np.sort(np.concatenate([s[row], *added])))
    width = max(len(row) for row in rows)
    return np.stack([np.concatenate([row, np.full(width - len(row), row[-1])]) for row in rows])


def peaks_of_rows(
    evaluate: Callable[[Floats], Figures],
    s: Floats,
    figures: Figures,
    names: Sequence[str],
    *,
    brackets: int = _BRACKETS,
    narrow_mm: float = _NARROW_MM,
) -> dict[str, tuple[Floats, Floats]]:
    """Return for each figure and row the greatest value and the place of the first axle there.

    Args:
        evaluate: figures at places of any number of columns.
        s: places already evaluated, shape (rows, n), rising along a row.
        figures: what was found there.
        names: which figures.
        brackets: how many of the highest peaks of a row are closed in on.
        narrow_mm: how closely.
    """
    lows, highs, owners = [], [], []
    for name in names:
        values = np.where(np.isfinite(figures[name]), figures[name], -np.inf)
        padded = np.pad(values, ((0, 0), (1, 1)), constant_values=-np.inf)
        top = (padded[:, 1:-1] >= padded[:, :-2]) & (padded[:, 1:-1] >= padded[:, 2:])
        order = np.argsort(np.where(top, -values, np.inf), axis=1, kind="stable")[:, :brackets]
        lows.append(np.take_along_axis(s, np.maximum(order - 1, 0), axis=1))
        highs.append(np.take_along_axis(s, np.minimum(order + 1, s.shape[1] - 1), axis=1))
        owners.append(name)
    low, high = np.stack(lows, axis=1), np.stack(highs, axis=1)  # (rows, names, brackets)
    best = np.full(low.shape, -np.inf)
    where = low.copy()
    for _ in range(40):
        grid = low[..., None] + (high - low)[..., None] * _ZOOM
        flat = grid.reshape(s.shape[0], -1)
        found = evaluate(flat)
        for place, name in enumerate(owners):
            values = found[name].reshape(grid.shape)[:, place]
            values = np.where(np.isfinite(values), values, -np.inf)
            at = np.argmax(values, axis=-1)
            own = grid[:, place]
            top_value = np.take_along_axis(values, at[..., None], -1)[..., 0]
            better = top_value > best[:, place]
            where[:, place] = np.where(better, np.take_along_axis(own, at[..., None], -1)[..., 0], where[:, place])
            best[:, place] = np.maximum(best[:, place], top_value)
            low[:, place] = np.take_along_axis(own, np.maximum(at - 1, 0)[..., None], -1)[..., 0]
            high[:, place] = np.take_along_axis(own, np.minimum(at + 1, _ZOOM.size - 1)[..., None], -1)[..., 0]
        if float(np.max(high - low)) < narrow_mm:
            break
    answer: dict[str, tuple[Floats, Floats]] = {}
    for place, name in enumerate(owners):
        at = np.argmax(best[:, place], axis=-1)
        answer[name] = (
            np.take_along_axis(best[:, place], at[:, None], -1)[:, 0],
            np.take_along_axis(where[:, place], at[:, None], -1)[:, 0],
        )
    return answer


def car_figures(path: Path, standing: Standing, car: Vehicle) -> dict[str, Floats]:
    """Return the figures of one car by itself."""
    thrown = throws(path, standing, car)
    turned_a, turned_b = truck_swing(standing)
    found = {
        "throw_in_bare": thrown.in_bare,
        "throw_in": thrown.into,
        "throw_out_bare": thrown.out_bare,
        "throw_out": thrown.out,
        "truck_a": np.degrees(np.abs(turned_a)),
        "truck_b": np.degrees(np.abs(turned_b)),
    }
    return {
        name: np.where(np.isfinite(standing.middle), each, np.nan) for name, each in found.items() if each is not None
    }


def pair_figures(
    path: Path, joint: Joint, car: Vehicle, other: Vehicle, *, slack_mm: float, push: bool = True
) -> dict[str, Floats]:
    """Return the figures of two coupled cars."""
    found = {
        "coupler_front": np.degrees(np.abs(joint.angle_front)),
        "coupler_rear": np.degrees(np.abs(joint.angle_rear)),
    }
    gap = body_gap(joint, car, other)
    if gap is not None:
        found["gap"] = -gap
    pushed = pushed_together(path, joint, car, other, slack_mm=slack_mm) if push else None
    if pushed is not None:
        found["push_front"] = np.degrees(pushed[1].angle_front)
        found["push_rear"] = np.degrees(pushed[1].angle_rear)
        gap = body_gap(pushed[0], car, other)
        if gap is not None:
            found["gap_pushed"] = -gap
    return found


def along(
    path: Path, car: Vehicle, other: Vehicle | None = None, *, slack_mm: float = 0.0, step_mm: float = STEP_MM
) -> Sweep:
    """Return the worst figures of a car along a path, and those of its joint with another one behind it.

    Args:
        path: the track; longer than the train.
        car: the front car, A end leading.
        other: the rear car; None for the car alone. Both couplers' pivots and lengths must then be known.
        slack_mm: by which the heads run together in a push.
        step_mm: how far apart the first places are.

    Returns:
        All axles stay on the path. ``gap`` is the least, everything else the greatest.
    """
    with np.errstate(all="ignore"):  # a car that cannot stand somewhere comes out as not a number
        return _along(path, car, other, slack_mm=slack_mm, step_mm=step_mm)


def _along(path: Path, car: Vehicle, other: Vehicle | None, *, slack_mm: float, step_mm: float) -> Sweep:
    count = max(math.ceil(path.length_mm / step_mm), 8) + 1
    first = np.linspace(0.0, path.length_mm, count)
    peaks: dict[str, Peak] = {}
    traces: dict[str, Trace] = {}
    joints = np.array([path.joints_mm])

    alone = stand(path, first, car)
    keep = first[alone.s_last >= 0.0]
    s = np.unique(np.concatenate([[_start_of(first, alone.s_last)], keep]))[None, :]
    near = stand(path, s, car)
    s = with_joints(s, (s, near.s_second, near.s_third, near.s_last), joints)
    s = s[:, (s[0] >= s[0, 0]) & (s[0] <= path.length_mm)]

    def of_car(at: Floats) -> Figures:
        return car_figures(path, stand(path, at, car), car)

    standing = stand(path, s, car)
    figures = car_figures(path, standing, car)
    placed = bool(np.all(np.isfinite(standing.middle)))
    _add_peaks(peaks, path, car, s, figures, peaks_of_rows(of_car, s, figures, tuple(figures)))

    if other is not None:
        joint = coupled(path, standing, car, other)
        on_path = joint.rear.s_last[0] >= 0.0
        begin = _start_of(s[0], joint.rear.s_last[0])
        s = np.unique(np.concatenate([[begin], s[0][on_path]]))[None, :]
        joint = coupled(path, stand(path, s, car), car, other)
        rear = joint.rear
        s = with_joints(s, (rear.s_first, rear.s_second, rear.s_third, rear.s_last), joints)
        s = s[:, (s[0] >= begin) & (s[0] <= path.length_mm)]

        def of_pair(at: Floats) -> Figures:
            return pair_figures(path, coupled(path, stand(path, at, car), car, other), car, other, slack_mm=slack_mm)

        standing = stand(path, s, car)
        joint = coupled(path, standing, car, other)
        figures = pair_figures(path, joint, car, other, slack_mm=slack_mm)
        placed = placed and bool(np.all(np.isfinite(joint.angle_front)))
        _add_peaks(peaks, path, car, s, figures, peaks_of_rows(of_pair, s, figures, tuple(figures)))
        at = tuple(float(each) for each in standing.s_middle[0])
        for name, signed in (("coupler_front", joint.angle_front), ("coupler_rear", joint.angle_rear)):
            traces[name] = Trace(at, tuple(float(each) for each in np.degrees(signed[0])))
    return Sweep(peaks, traces, placed)


def _start_of(s: Floats, last: Floats) -> float:
    """Return where the first axle is when the last one stands at the path's beginning."""
    good = np.isfinite(last)
    return float(np.interp(0.0, last[good], s[good])) if np.any(good) else float(s[-1])


def _add_peaks(
    peaks: dict[str, Peak],
    path: Path,
    car: Vehicle,
    s: Floats,
    figures: Figures,
    found: Mapping[str, tuple[Floats, Floats]],
) -> None:
    """Add the peaks; of a figure that stays at its worst for a while, the first place where it is."""
    for name, (values, places) in found.items():
        value, place = float(values[0]), places[:1]
        level = np.flatnonzero(figures[name][0] >= value - _LEVEL)
        if level.size:
            place = s[0, level[:1]]
        middle = stand(path, place, car).s_middle
        peaks[name] = Peak(-value if name.startswith("gap") else value, float(middle[0]), float(place[0]))
