"""The chance that both couplers stand within their limits, by sampling all doubts together.

Method: a rank-1 lattice of ``SAMPLES`` points, shifted at random ``SHIFTS`` times from a fixed seed (Cranley-Patterson
rotation), so that the same car always gets the same chance and the spread between shifts is an honest standard error.
Each rectangular doubt takes one coordinate; a triangular one takes two, since the sum of two like rectangular ones is
triangular; all normal ones together take two, since sums of normals are normal. The widest rectangular doubt that
moves one end alone (as a rule the coupler's drop) is not sampled: at each point its part of the chance is a length
divided by a length, and the two ends' parts multiply, since nothing is left that they share. Both ends are read from
the same points.

Only integer and elementwise float arithmetic is used, in a fixed order: the answer does not depend on the number of
cores.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING

from carwright.records import quickly_made
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

_Span = tuple[int, int]
"""From, up to and without."""

_TABLE_BITS = 12


@quickly_made
@dataclass(frozen=True, slots=True)
class Doubt:
    """One independent variable: its sensitivity at each end, its half-width ± in mm, and its shape.

    ``shared`` says that it moves both couplers, also where its part at one of them was not asked for.
    """

    at_a: float
    at_b: float
    tolerance_mm: float
    distribution: Distribution
    shared: bool = False


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


@lru_cache(maxsize=96)
def _flat(coordinate: int, samples: int, seed: int, shifts: _Span, points: _Span) -> NDArray[np.float32]:
    """Return a coordinate of some shifts and points of the shifted lattice, centred on zero, in -2**31 .. 2**31."""
    import numpy as np

    column = _bits(coordinate, samples, seed, shifts, points).view(np.int32).astype(np.float32)
    column.setflags(write=False)
    return column


@lru_cache(maxsize=16)
def _normal(coordinate: int, samples: int, seed: int, shifts: _Span, points: _Span) -> NDArray[np.float32]:
    """Return a coordinate of some shifts and points of the shifted lattice as deviations of sigma 1."""
    import numpy as np

    bits = _bits(coordinate, samples, seed, shifts, points)
    column: NDArray[np.float32] = _normal_table().take(bits >> np.uint32(32 - _TABLE_BITS))
    column.setflags(write=False)
    return column


def _bits(coordinate: int, samples: int, seed: int, shifts: _Span, points: _Span) -> NDArray[np.uint32]:
    """Return a coordinate of some shifts and points of the shifted lattice, an integer modulo 2**32."""
    import numpy as np

    turn, which = divmod(coordinate, len(_GENERATOR))
    step = (1 << 32) // (samples // SHIFTS)
    z = np.uint32(((_GENERATOR[which] + 2 * turn) * step) & 0xFFFFFFFF)
    words = _shift_words(seed)[which, slice(*shifts)]
    if turn:
        words = words + np.uint32(turn * 0x9E3779B9 & 0xFFFFFFFF)
    made: NDArray[np.uint32] = np.arange(*points, dtype=np.uint32) * z + words
    return made


_BLOCK = 1 << 14
"""Points sampled at a time: three arrays of them stay in the processor's own memory."""


def _blocks(samples: int) -> Iterator[tuple[_Span, _Span]]:
    """Yield shifts and points of about ``_BLOCK`` coordinates that together make the whole lattice."""
    per_shift = samples // SHIFTS
    if per_shift >= _BLOCK:
        for shift in range(SHIFTS):
            for start in range(0, per_shift, _BLOCK):
                yield (shift, shift + 1), (start, start + _BLOCK)
    else:
        rows = min(SHIFTS, _BLOCK // per_shift)
        for shift in range(0, SHIFTS, rows):
            yield (shift, shift + rows), (0, per_shift)


@dataclass(frozen=True, slots=True)
class _Recipe:
    """What is sampled, and what is done exactly.

    Args:
        flat: coordinate, and what it adds at A and at B as half-widths, of each rectangular part.
        normal: likewise of the two normal parts, as factors of sigma 1.
        own_a: half-width of the rectangular doubt of A alone that is not sampled but integrated; 0 for none.
        own_b: likewise of B.
    """

    flat: tuple[tuple[int, float, float], ...]
    normal: tuple[tuple[int, float, float], ...]
    own_a: float
    own_b: float


def _recipe(doubts: Sequence[Doubt]) -> _Recipe:
    widths = [(each.at_a * each.tolerance_mm, each.at_b * each.tolerance_mm) for each in doubts]
    flats = [i for i, each in enumerate(doubts) if each.distribution == "rect" and not each.shared]
    only_a = max((i for i in flats if widths[i][1] == 0.0), key=lambda i: abs(widths[i][0]), default=None)
    only_b = max((i for i in flats if widths[i][0] == 0.0), key=lambda i: abs(widths[i][1]), default=None)
    flat: list[tuple[int, float, float]] = []
    coordinate = 2  # the first two are kept for what is normal
    v_aa = v_ab = v_bb = 0.0
    for i, doubt in enumerate(doubts):
        a, b = widths[i]
        if doubt.distribution == "rect":
            if (a or b) and i not in (only_a, only_b):
                flat.append((coordinate, a, b))
            coordinate += 1
        elif doubt.distribution == "tri":
            if a or b:
                flat += [(coordinate, a / 2.0, b / 2.0), (coordinate + 1, a / 2.0, b / 2.0)]
            coordinate += 2
        elif doubt.distribution == "normal":
            a, b = a / 2.0, b / 2.0
            v_aa, v_ab, v_bb = v_aa + a * a, v_ab + a * b, v_bb + b * b
    normal: tuple[tuple[int, float, float], ...] = ()
    if v_aa or v_bb:
        s_a = math.sqrt(v_aa)
        cross = v_ab / s_a if s_a else 0.0
        normal = ((0, s_a, cross), (1, 0.0, math.sqrt(max(0.0, v_bb - cross * cross))))
    own_a = abs(widths[only_a][0]) if only_a is not None else 0.0
    own_b = abs(widths[only_b][1]) if only_b is not None else 0.0
    return _Recipe(tuple(flat), normal, own_a, own_b)


def _sampled(recipe: _Recipe, samples: int, seed: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return the sampled part of each end's deviation in mm, each an array of SHIFTS x samples/SHIFTS."""
    import numpy as np

    shape = (SHIFTS, samples // SHIFTS)
    at_a, at_b = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    for shifts, points in _blocks(samples):
        block_a, block_b = at_a[slice(*shifts), slice(*points)], at_b[slice(*shifts), slice(*points)]
        scaled = np.empty(block_a.shape, np.float32)

        def add(
            values: NDArray[np.float32],
            a: float,
            b: float,
            totals: tuple[NDArray[np.float32], NDArray[np.float32]] = (block_a, block_b),
            work: NDArray[np.float32] = scaled,
        ) -> None:
            for coefficient, total in zip((a, b), totals, strict=True):
                if coefficient:
                    np.multiply(values, np.float32(coefficient), out=work)
                    np.add(total, work, out=total)

        for coordinate, a, b in recipe.flat:
            add(_flat(coordinate, samples, seed, shifts, points), a / _FULL, b / _FULL)
        for coordinate, a, b in recipe.normal:
            add(_normal(coordinate, samples, seed, shifts, points), a, b)
    return at_a, at_b


def _covered(deviation: NDArray[np.float32], error: float, limit: float, own: float) -> NDArray[np.float32]:
    """Return the chance of each point that the end is inside its limit, over the doubt that was not sampled.

    The share of -own..own that lies between -limit - x and limit - x, with x the error and the sampled deviation.
    """
    import numpy as np

    x = deviation + np.float32(error)
    if not own:
        inside: NDArray[np.float32] = (np.abs(x) <= np.float32(limit)).astype(np.float32)
        return inside
    if math.isinf(limit):
        return np.ones_like(x)
    high = np.clip((np.float32(limit) - x) / np.float32(own), -1.0, 1.0)
    low = np.clip((np.float32(-limit) - x) / np.float32(own), -1.0, 1.0)
    covered: NDArray[np.float32] = (high - low) * np.float32(0.5)
    return covered


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
        self._recipe = _recipe(doubts)
        self._at_a, self._at_b = _sampled(self._recipe, samples, seed)

    def chance(self, *, error_a_mm: float, error_b_mm: float, limit_a_mm: float, limit_b_mm: float) -> Chance:
        """Return the chances that |error + deviation| is within the limit; see ``joint_chance``."""
        import numpy as np

        sums = np.zeros((3, SHIFTS))
        for some, points in _blocks(self._samples):
            shifts, here = slice(*some), (slice(*some), slice(*points))
            covered_a = _covered(self._at_a[here], error_a_mm, limit_a_mm, self._recipe.own_a)
            covered_b = _covered(self._at_b[here], error_b_mm, limit_b_mm, self._recipe.own_b)
            sums[1, shifts] += covered_a.sum(axis=1, dtype=np.float64)
            sums[2, shifts] += covered_b.sum(axis=1, dtype=np.float64)
            np.multiply(covered_a, covered_b, out=covered_a)
            sums[0, shifts] += covered_a.sum(axis=1, dtype=np.float64)
        by_shift, at_a, at_b = sums * (SHIFTS / self._samples)
        return Chance(
            both=float(by_shift.mean()),
            a=float(at_a.mean()),
            b=float(at_b.mean()),
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


def both_chance(shapes: tuple[Distribution, ...], shared: tuple[bool, ...]) -> Callable[..., float]:
    """Return the function of (error A, error B, limit A, limit B, then at A, at B, ± of each doubt) for both ends.

    Args:
        shapes: distribution of each doubt; errors, limits and ± are in mm.
        shared: whether each moves both couplers.
    """

    def compute(*values: float) -> float:
        error_a, error_b, limit_a, limit_b, *rest = values
        doubts = tuple(
            Doubt(rest[3 * i], rest[3 * i + 1], rest[3 * i + 2], shape, both)
            for i, (shape, both) in enumerate(zip(shapes, shared, strict=True))
        )
        return _remembered(doubts, (error_a, error_b), (limit_a, limit_b)).both

    return compute


def end_chance(
    shapes: tuple[Distribution, ...], enters: tuple[bool, ...], shared: tuple[bool, ...]
) -> Callable[..., float]:
    """Return the function of (error, limit, then sensitivity and ± of each doubt that enters) for one end alone.

    A doubt that does not enter keeps its coordinate, so that the others stand at the same points as for both ends.

    Args:
        shapes: distribution of each doubt, whether it enters or not; error, limit and ± are in mm.
        enters: whether each doubt moves this end's coupler.
        shared: whether it moves both couplers.
    """

    def compute(*values: float) -> float:
        error, limit, *rest = values
        pairs = iter(zip(rest[::2], rest[1::2], strict=True))
        doubts = []
        for shape, present, both in zip(shapes, enters, shared, strict=True):
            sensitivity, tolerance = next(pairs) if present else (0.0, 0.0)
            doubts.append(Doubt(sensitivity, 0.0, tolerance, shape, both))
        return _remembered(tuple(doubts), (error, 0.0), (limit, math.inf)).a

    return compute
