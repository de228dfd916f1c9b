"""The chance of both ends by a two-dimensional convolution on a grid: the oracle for the sampled chance.

Why it is to be trusted: it shares no line with the program and draws no sample. Each doubt moves both ends along one
straight line; its density is laid on that line as point masses, each split between the four nodes around it so that its
mean stays where it is, and the doubts are added up by multiplying the grids' Fourier transforms. At the end a node's
mass counts as spread evenly over its cell, so that the edges of what is accepted may fall anywhere. With cells of h
the error is of order h²; ``test_chance`` holds it against exact formulas first.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from carwright.ride.chance import Doubt

__all__ = ["convolved", "joint_density"]

SIGMAS = 6.0
"""How far normal doubts are followed: beyond it lies 2e-9 of them."""


def _masses(doubt: Doubt, points: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return places along the doubt (in units of its ±) and the mass at each."""
    reach = SIGMAS / 2 if doubt.distribution == "normal" else 1.0
    places = ((np.arange(points) + 0.5) / points * 2 - 1) * reach
    if doubt.distribution == "rect":
        density = np.ones(points)
    elif doubt.distribution == "tri":
        density = 1 - np.abs(places)
    elif doubt.distribution == "normal":
        density = np.exp(-((2 * places) ** 2) / 2)  # ± is two sigma
    else:
        places, density = np.zeros(1), np.ones(1)
    return places, density / density.sum()


def joint_density(doubts: Sequence[Doubt], *, cells: int = 512) -> tuple[NDArray[np.float64], float, float]:
    """Return the mass at each node (first index: A), and the cell's sizes at A and B in mm; zero is in the middle."""
    reach = []
    for at in ("at_a", "at_b"):
        flat = sum(abs(getattr(d, at)) * d.tolerance_mm for d in doubts if d.distribution in ("rect", "tri"))
        square = sum((getattr(d, at) * d.tolerance_mm / 2) ** 2 for d in doubts if d.distribution == "normal")
        reach.append(1.02 * (flat + SIGMAS * square**0.5) + 1e-9)
    steps = [2 * each / cells for each in reach]
    spectrum = None
    for doubt in doubts:
        places, mass = _masses(doubt, 6 * cells)
        grid = np.zeros((cells, cells))
        columns = [
            places * at * doubt.tolerance_mm / step + cells / 2
            for at, step in zip((doubt.at_a, doubt.at_b), steps, strict=True)
        ]
        low = [np.floor(each).astype(int) for each in columns]
        part = [each - under for each, under in zip(columns, low, strict=True)]
        for i, share_a in ((0, 1 - part[0]), (1, part[0])):
            for j, share_b in ((0, 1 - part[1]), (1, part[1])):
                np.add.at(grid, ((low[0] + i) % cells, (low[1] + j) % cells), mass * share_a * share_b)
        transform = np.fft.rfft2(np.fft.ifftshift(grid))
        spectrum = transform if spectrum is None else spectrum * transform
    assert spectrum is not None
    return np.fft.fftshift(np.fft.irfft2(spectrum, (cells, cells))), steps[0], steps[1]


def _weights(cells: int, step: float, error: float, limit: float) -> NDArray[np.float64]:
    """Return how much of each node's cell lies within the limit."""
    middle = (np.arange(cells) - cells / 2) * step + error
    low, high = np.maximum(middle - step / 2, -limit), np.minimum(middle + step / 2, limit)
    return np.clip((high - low) / step, 0.0, 1.0)


def convolved(
    doubts: Sequence[Doubt],
    *,
    error_a_mm: float,
    error_b_mm: float,
    limit_a_mm: float,
    limit_b_mm: float,
    cells: int = 512,
) -> float:
    """Return the chance that both ends are within their limits at once."""
    density, step_a, step_b = joint_density(doubts, cells=cells)
    at_a = _weights(cells, step_a, error_a_mm, limit_a_mm)
    at_b = _weights(cells, step_b, error_b_mm, limit_b_mm)
    return float(at_a @ density @ at_b)
