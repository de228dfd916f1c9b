"""The chance that both couplers stand within their limits, by sampling all doubts together.

Method: a rank-1 lattice of ``SAMPLES`` points, shifted at random ``SHIFTS`` times from a fixed seed (Cranley-Patterson
rotation), so that the same car always gets the same chance and the spread between shifts is an honest standard error.
Each rectangular doubt takes one coordinate; a triangular one takes two, since the sum of two like rectangular ones is
triangular; all normal ones together take two, since sums of normals are normal. Both ends are read from the *same*
points.

Only integer and elementwise float arithmetic is used, in a fixed order: the answer does not depend on the number of
cores.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING

from carwright.working import Distribution

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["SAMPLES", "SHIFTS", "Chance", "Cloud", "Doubt", "both_chance", "end_chance", "joint_chance", "sigma"]

SHIFTS = 16
"""Independent random shifts; their means give the standard error with 15 degrees of freedom."""

SAMPLES = 1 << 14
"""Points in all: 16 shifts of 1024."""

_SEED = 0x43415257

_GENERATOR = (
    1, 182667, 469891, 498753, 110745, 446247, 250185, 118627, 245333, 283199, 408519, 391023, 246327, 126539, 399185,
    461527, 300343, 69681, 516695, 436179, 106383, 238523, 413283, 70841, 47719, 300129, 113029, 123925, 410745, 211325,
    17489, 511893, 40767, 186077, 519471, 255369, 101819, 243573, 66189, 152143, 503455, 113217, 132603, 463967, 297717,
    157383, 224015, 502917, 36237, 94049, 170665, 79397, 123963, 223451, 323871, 303633, 98567, 318855, 494245, 477137,
    177975, 64483, 26695, 88779,
)  # fmt: skip
"""Generating vector of an extensible base-2 lattice (component by component, order-2 weights), from memory.

Its quality here does not rest on that memory: the tests hold the sampled chances against a two-dimensional convolution.
"""

_FULL = float(1 << 31)

_TABLE_BITS = 12


@dataclass(frozen=True, slots=True)
class Doubt:
    """One independent variable: its sensitivity at each end, its half-width ± in mm, and its shape."""

    at_a: float
    at_b: float
    tolerance_mm: float
    distribution: Distribution


@dataclass(frozen=True, slots=True)
class Chance:
    """Chances in 0..1, and the standard error of ``both`` estimated from the shifts."""

    both: float
    a: float
    b: float
    standard_error: float


def sigma(tolerance: float, distribution: Distribution) -> float:
    """Return the standard deviation of a reading of half-width ± ``tolerance``.

    t/√3 for rectangular, t/2 for normal (± is two sigma), t/√6 for triangular, 0 for nominal sizes.

    Args:
        tolerance: half-width t, >= 0, in any unit.
        distribution: its shape.

    Returns:
        The standard deviation, in the same unit.

    Source:
        JCGM 100:2008 (GUM) 4.3.7 and 4.3.9 for rectangular and triangular (from memory); ± = 2 sigma is our own reading
        of a supplier's tolerance.
    """
    if distribution == "rect":
        return tolerance / math.sqrt(3.0)
    if distribution == "normal":
        return tolerance / 2.0
    if distribution == "tri":
        return tolerance / math.sqrt(6.0)
    return 0.0


@lru_cache(maxsize=4)
def _shift_words(seed: int) -> NDArray[np.uint32]:
    """Return SHIFTS 32-bit words for each coordinate, of the SplitMix64 sequence.

    Source:
        G. Steele, D. Lea, C. Flood, 2014 (from memory).
    """
    import numpy as np

    words, state, mask = [], seed, (1 << 64) - 1
    for _ in range(SHIFTS * len(_GENERATOR)):
        state = (state + 0x9E3779B97F4A7C15) & mask
        z = state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & mask
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & mask
        words.append((z ^ (z >> 31)) >> 32)
    return np.array(words, dtype=np.uint32).reshape(len(_GENERATOR), SHIFTS, 1)


@lru_cache(maxsize=1)
def _normal_table() -> NDArray[np.float32]:
    """Return the normal quantile at the middles of 2**12 equal cells, the outermost by their conditional means."""
    import numpy as np

    cells = 1 << _TABLE_BITS
    normal = NormalDist()
    middle = np.array([normal.inv_cdf((i + 0.5) / cells) for i in range(cells // 2)])
    edges = [normal.inv_cdf(i / cells) if i else -math.inf for i in range(3)]
    for i in (0, 1):  # where the quantile bends too fast for its middle to stand for the cell
        lower = 0.0 if i == 0 else normal.pdf(edges[i])
        middle[i] = -cells * (normal.pdf(edges[i + 1]) - lower)
    return np.concatenate([middle, -middle[::-1]]).astype(np.float32)


class _Lattice:
    """Hands out the coordinates of the shifted lattice, one column at a time, centred on zero in -2**31 .. 2**31."""

    def __init__(self, samples: int, seed: int) -> None:
        import numpy as np

        self._np = np
        self._per_shift = samples // SHIFTS
        self._index = np.arange(self._per_shift, dtype=np.uint32)
        self._words = _shift_words(seed)
        self._step = (1 << 32) // self._per_shift
        self._next = 0
        self._bits = np.empty((SHIFTS, self._per_shift), dtype=np.uint32)

    def column(self) -> NDArray[np.uint32]:
        """Return the next coordinate of every point; the array is used again by the next call."""
        which = self._next % len(_GENERATOR)
        turn = self._next // len(_GENERATOR)
        self._next += 1
        z = self._np.uint32(((_GENERATOR[which] + 2 * turn) * self._step) & 0xFFFFFFFF)
        self._np.add(
            self._index * z, self._words[which] + self._np.uint32(turn * 0x9E3779B9 & 0xFFFFFFFF), out=self._bits
        )
        return self._bits


def _sampled(doubts: Sequence[Doubt], samples: int, seed: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return the deviation of each end in mm, each an array of SHIFTS x samples/SHIFTS."""
    import numpy as np

    lattice = _Lattice(samples, seed)
    shape = (SHIFTS, samples // SHIFTS)
    at_a, at_b = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    unit, scaled = np.empty(shape, np.float32), np.empty(shape, np.float32)

    def spread(bits: NDArray[np.uint32], coefficient_a: float, coefficient_b: float) -> None:
        unit[...] = bits.view(np.int32)
        for coefficient, total in ((coefficient_a, at_a), (coefficient_b, at_b)):
            if coefficient:
                np.multiply(unit, np.float32(coefficient / _FULL), out=scaled)
                np.add(total, scaled, out=total)

    v_aa = v_ab = v_bb = 0.0
    for doubt in doubts:
        a, b = doubt.at_a * doubt.tolerance_mm, doubt.at_b * doubt.tolerance_mm
        if doubt.distribution == "rect":
            spread(lattice.column(), a, b)
        elif doubt.distribution == "tri":
            spread(lattice.column(), a / 2.0, b / 2.0)
            spread(lattice.column(), a / 2.0, b / 2.0)
        elif doubt.distribution == "normal":
            a, b = a / 2.0, b / 2.0
            v_aa, v_ab, v_bb = v_aa + a * a, v_ab + a * b, v_bb + b * b
    if v_aa or v_bb:
        table = _normal_table()
        s_a = math.sqrt(v_aa)
        cross = v_ab / s_a if s_a else 0.0
        rest = math.sqrt(max(0.0, v_bb - cross * cross))
        for coefficient_a, coefficient_b in ((s_a, cross), (0.0, rest)):
            normal = table.take(lattice.column() >> np.uint32(32 - _TABLE_BITS))
            at_a += np.float32(coefficient_a) * normal
            at_b += np.float32(coefficient_b) * normal
    return at_a, at_b


class Cloud:
    """The deviations of both couplers sampled once, to be held against any pair of errors."""

    def __init__(self, doubts: Sequence[Doubt], *, samples: int = SAMPLES, seed: int = _SEED) -> None:
        """Sample ``doubts``.

        Args:
            doubts: the independent variables.
            samples: number of points, a power of two of at least ``SHIFTS``.
            seed: of the random shifts; the same seed gives the same answer.

        Raises:
            ValueError: ``samples`` is not such a number.
        """
        if samples < SHIFTS or samples & (samples - 1):
            raise ValueError(f"samples is a power of two of at least {SHIFTS}: got {samples}")
        self._samples = samples
        self._at_a, self._at_b = _sampled(doubts, samples, seed)

    def chance(self, *, error_a_mm: float, error_b_mm: float, limit_a_mm: float, limit_b_mm: float) -> Chance:
        """Return the chances that |error + deviation| is within the limit; see ``joint_chance``."""
        import numpy as np

        good_a = np.abs(self._at_a + np.float32(error_a_mm)) <= np.float32(limit_a_mm)
        good_b = np.abs(self._at_b + np.float32(error_b_mm)) <= np.float32(limit_b_mm)
        by_shift = np.count_nonzero(good_a & good_b, axis=1) * (SHIFTS / self._samples)
        return Chance(
            both=float(by_shift.mean()),
            a=int(np.count_nonzero(good_a)) / self._samples,
            b=int(np.count_nonzero(good_b)) / self._samples,
            standard_error=float(by_shift.std(ddof=1) / math.sqrt(SHIFTS)),
        )


def joint_chance(
    doubts: Sequence[Doubt],
    *,
    error_a_mm: float,
    error_b_mm: float,
    limit_a_mm: float,
    limit_b_mm: float,
    samples: int = SAMPLES,
    seed: int = _SEED,
) -> Chance:
    """Return the chance that |error + deviation| is within the limit at A, at B, and at both ends at once.

    Args:
        doubts: the independent variables.
        error_a_mm: nominal error at A, actual less target.
        error_b_mm: likewise at B.
        limit_a_mm: half-width of what is accepted at A, > 0; ``inf`` for an end that is not judged.
        limit_b_mm: likewise at B.
        samples: number of points, a power of two of at least ``SHIFTS``.
        seed: of the random shifts; the same seed gives the same answer.

    Raises:
        ValueError: ``samples`` is not such a number.

    Example:
        >>> doubt = Doubt(at_a=1, at_b=0, tolerance_mm=2.0, distribution="rect")
        >>> round(joint_chance([doubt], error_a_mm=0, error_b_mm=0, limit_a_mm=1, limit_b_mm=1).both, 2)
        0.5

    Source:
        R. Cranley, T. N. L. Patterson, SIAM J. Numer. Anal. 13 (1976) for the shifted lattice (from memory).
    """
    cloud = Cloud(doubts, samples=samples, seed=seed)
    return cloud.chance(error_a_mm=error_a_mm, error_b_mm=error_b_mm, limit_a_mm=limit_a_mm, limit_b_mm=limit_b_mm)


@lru_cache(maxsize=256)
def _remembered(doubts: tuple[Doubt, ...], errors: tuple[float, float], limits: tuple[float, float]) -> Chance:
    return joint_chance(doubts, error_a_mm=errors[0], error_b_mm=errors[1], limit_a_mm=limits[0], limit_b_mm=limits[1])


def both_chance(shapes: tuple[Distribution, ...]) -> Callable[..., float]:
    """Return the function of (error A, error B, limit A, limit B, then at A, at B, ± of each doubt) for both ends.

    Args:
        shapes: distribution of each doubt; errors, limits and ± are in mm.
    """

    def compute(*values: float) -> float:
        error_a, error_b, limit_a, limit_b, *rest = values
        doubts = tuple(Doubt(rest[3 * i], rest[3 * i + 1], rest[3 * i + 2], shape) for i, shape in enumerate(shapes))
        return _remembered(doubts, (error_a, error_b), (limit_a, limit_b)).both

    return compute


def end_chance(shapes: tuple[Distribution, ...], enters: tuple[bool, ...]) -> Callable[..., float]:
    """Return the function of (error, limit, then sensitivity and ± of each doubt that enters) for one end alone.

    A doubt that does not enter keeps its coordinate, so that the others stand at the same points as for both ends.

    Args:
        shapes: distribution of each doubt, whether it enters or not; error, limit and ± are in mm.
        enters: whether each doubt moves this end's coupler.
    """

    def compute(*values: float) -> float:
        error, limit, *rest = values
        pairs = iter(zip(rest[::2], rest[1::2], strict=True))
        doubts = []
        for shape, present in zip(shapes, enters, strict=True):
            sensitivity, tolerance = next(pairs) if present else (0.0, 0.0)
            doubts.append(Doubt(sensitivity, 0.0, tolerance, shape))
        return _remembered(tuple(doubts), (error, 0.0), (limit, math.inf)).a

    return compute
