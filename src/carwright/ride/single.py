"""The single change that would bring both couplers within their limits, where no cure on hand does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from carwright.car.model import ENDS, End, Ends
from carwright.ride.model import EndSpec, Ride

__all__ = ["SingleChange", "single_change"]


@dataclass(frozen=True, slots=True)
class SingleChange:
    """One thing to change: everything over a truck, or a coupler alone, by ``best_mm`` (``low_mm`` to ``high_mm``)."""

    where: Literal["over truck", "at coupler"]
    end: End
    low_mm: float
    high_mm: float
    best_mm: float


def _interval(
    weights: tuple[float, float], errors: tuple[float, float], limits: tuple[float, float]
) -> tuple[float, float]:
    low, high = -1e9, 1e9
    for weight, error, limit in zip(weights, errors, limits, strict=True):
        if abs(weight) < 1e-9:
            if abs(error) > limit + 1e-9:
                return 1.0, -1.0
            continue
        ends = sorted(((-limit - error) / weight, (limit - error) / weight))
        low, high = max(low, ends[0]), min(high, ends[1])
    return low, high


def single_change(ride: Ride, specs: Ends[EndSpec]) -> SingleChange | None:
    """Return the first single change, in the order of cures, that brings both ends within their limits, or None.

    Trucks come before couplers, and of two the end with the larger error. The best size in the interval that serves is
    the one that makes the larger of the two errors least, and of those alike the one with the least sum.

    Args:
        ride: both ends solved, with errors, limits and levers.
        specs: the stack at each end.
    """
    errors, limits, levers = [], [], []
    for end in ENDS:
        result, lever = ride.ends.at(end), ride.lever.at(end)
        if result.error is None or result.limit is None:
            return None
        errors.append(result.error.value)
        limits.append(result.limit.value)
        levers.append(lever.value if lever is not None and specs.at(end).mount != "truck" else None)
    order: tuple[End, End] = ("a", "b") if abs(errors[0]) >= abs(errors[1]) else ("b", "a")
    pair_e, pair_l = (errors[0], errors[1]), (limits[0], limits[1])
    for end in order:
        weights = tuple(0.0 if lever is None else (lever if end == "a" else 1 - lever) for lever in levers)
        found = _best("over truck", end, (weights[0], weights[1]), pair_e, pair_l)
        if found is not None:
            return found
    for end in order:
        found = _best("at coupler", end, (1.0, 0.0) if end == "a" else (0.0, 1.0), pair_e, pair_l)
        if found is not None:
            return found
    return None


def _best(
    where: Literal["over truck", "at coupler"],
    end: End,
    weights: tuple[float, float],
    errors: tuple[float, float],
    limits: tuple[float, float],
) -> SingleChange | None:
    low, high = _interval(weights, errors, limits)
    if low > high or high >= 1e9:
        return None
    steps = [low + (high - low) * i / 200 for i in range(201)]
    after = [[abs(e + w * d) for w, e in zip(weights, errors, strict=True)] for d in steps]
    best = min(zip(steps, after, strict=True), key=lambda item: (max(item[1]), sum(item[1])))[0]
    return SingleChange(where, end, low, high, best)
