"""What a straight between two curves of opposite hand does for the couplers' angle."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from carwright.track.path import Arc, Floats, Path, bundled
from carwright.track.placing import Vehicle, coupled, stand
from carwright.track.sweep import Figures, pair_figures, peaks_of_rows, with_joints

__all__ = ["reverse_peaks"]

_STATIONS = 90


def reverse_peaks(car: Vehicle, other: Vehicle, *, radius_mm: float, tangents_mm: Sequence[float]) -> tuple[float, ...]:
    """Return the greatest coupler angle, degrees, in a reverse curve for each length of straight between its halves.

    Args:
        car: the front car; both cars' couplers must be known.
        other: the rear car.
        radius_mm: of both curves.
        tangents_mm: lengths of the straight, 0 for a bare reverse.
    """
    train = 1.15 * (car.base_mm + other.base_mm + (car.coupled_mm(other) or 0.0))
    longest = max(tangents_mm, default=0.0)
    apart = 6.0 * train + 2.0 * longest
    bend = 1.0 / radius_mm
    path = bundled(
        [Path([Arc(train, -bend), Arc(max(each, 1e-6)), Arc(train + longest - each, bend)]) for each in tangents_mm],
        apart,
    )
    begin = np.arange(len(tangents_mm))[:, None] * apart + train
    gaps = np.array(tangents_mm, dtype=np.float64)[:, None]
    s = begin + np.linspace(0.0, 1.0, _STATIONS)[None, :] * (train + gaps)

    def evaluate(at: Floats) -> Figures:
        joint = coupled(path, stand(path, at, car), car, other)
        return pair_figures(path, joint, car, other, slack_mm=0.0, push=False)

    with np.errstate(all="ignore"):
        joint = coupled(path, stand(path, s, car), car, other)
        front, rear = joint.front, joint.rear
        axles = (s, front.s_second, front.s_third, front.s_last, rear.s_first, rear.s_second, rear.s_third, rear.s_last)
        s = with_joints(s, axles, np.concatenate([begin, begin + gaps], axis=1))
        found = peaks_of_rows(evaluate, s, evaluate(s), ("coupler_front", "coupler_rear"), brackets=2, narrow_mm=1e-3)
    worst = np.maximum(found["coupler_front"][0], found["coupler_rear"][0])
    return tuple(float(each) for each in worst)
