"""The sampled chance against exact formulas, a two-dimensional convolution, and a general uncertainty library.

Exact formulas: areas under rectangles and triangles, the Irwin-Hall distribution, the normal integral: elementary
probability, worked in the tests. Convolution: ``tests/ride/convolution.py``. Library: ``mcerp``, Latin hypercube
sampling.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist, fmean, pstdev

import numpy as np
import pytest
from tests.ride.convolution import convolved

from carwright.ride.chance import SAMPLES, Chance, Doubt, joint_chance, sigma

AGREED = 0.003
"""How near the sampled chance has to come to the convolution: promised to the user."""

NEVER = 1e9
"""A limit that nothing reaches, for an end that is not judged."""


def one_end(doubts: Sequence[Doubt], error: float, limit: float) -> Chance:
    """Return the chance of end A alone."""
    return joint_chance(doubts, error_a_mm=error, error_b_mm=0.0, limit_a_mm=limit, limit_b_mm=NEVER)


def irwin_hall(n: int, x: float) -> float:
    """Return the chance that the sum of n uniform variables on 0..1 is at most x."""
    total = sum((-1) ** k * math.comb(n, k) * (x - k) ** n for k in range(math.floor(x) + 1))
    return min(1.0, max(0.0, total / math.factorial(n)))


@pytest.mark.parametrize(
    ("error", "limit", "exact"),
    [
        (0.0, 0.5, 0.5),  # half of -1..1
        (0.25, 0.5, 0.5),  # -0.75..0.25 is still inside -1..1: 1.0 of 2.0
        (0.75, 0.5, 0.375),  # -1..-0.25: 0.75 of 2.0
        (1.2, 0.5, 0.15),  # -1..-0.7: 0.3 of 2.0
        (2.0, 0.5, 0.0),
        (0.0, 1.0, 1.0),
    ],
)
def test_one_rectangular_doubt(error: float, limit: float, exact: float) -> None:
    """One rectangular doubt of ± 1 passes with the covered part of its width."""
    assert one_end([Doubt(1.0, 0.0, 1.0, "rect")], error, limit).both == pytest.approx(exact, abs=0.001)


@pytest.mark.parametrize(("error", "limit"), [(0.0, 0.2), (0.3, 0.5), (0.9, 0.4), (-1.1, 0.6)])
def test_two_like_rectangles_make_a_triangle(error: float, limit: float) -> None:
    """Two rectangular doubts of ± 0.5 add up to a triangle of ± 1, and a triangular doubt of ± 1 gives the same."""

    def below(x: float) -> float:
        x = min(1.0, max(-1.0, x))
        return (1 + x) ** 2 / 2 if x <= 0 else 1 - (1 - x) ** 2 / 2

    exact = below(limit - error) - below(-limit - error)
    assert one_end([Doubt(1, 0, 0.5, "rect"), Doubt(-1, 0, 0.5, "rect")], error, limit).both == pytest.approx(
        exact, abs=0.002
    )
    assert one_end([Doubt(1, 0, 1.0, "tri")], error, limit).both == pytest.approx(exact, abs=0.002)


@pytest.mark.parametrize("n", [3, 5, 8])
@pytest.mark.parametrize("limit", [0.2, 0.7, 1.3])
def test_many_like_rectangles_are_irwin_hall(n: int, limit: float) -> None:
    """The sum of n rectangular doubts of ± 0.5 is within ± limit by the Irwin-Hall formula."""
    exact = irwin_hall(n, n / 2 + limit) - irwin_hall(n, n / 2 - limit)
    found = one_end([Doubt((-1) ** i, 0, 0.5, "rect") for i in range(n)], 0.0, limit)
    assert found.both == pytest.approx(exact, abs=AGREED)


@pytest.mark.parametrize(("error", "limit"), [(0.0, 0.5), (0.0, 1.0), (0.4, 1.0), (-1.5, 1.0), (0.0, 1.5)])
def test_a_normal_doubt_is_two_sigma_wide(error: float, limit: float) -> None:
    """A normal doubt of ± 1 has sigma 0.5, so that ± 1 holds 95.45 percent of it."""
    normal = NormalDist(0.0, 0.5)
    exact = normal.cdf(limit - error) - normal.cdf(-limit - error)
    assert one_end([Doubt(1, 0, 1.0, "normal")], error, limit).both == pytest.approx(exact, abs=0.001)


def test_ends_without_a_common_doubt_are_independent() -> None:
    """Where no doubt is shared, the chance of both is the product of the chances of each."""
    doubts = [Doubt(1, 0, 1.0, "rect"), Doubt(0, 1, 1.0, "rect"), Doubt(1, 0, 0.6, "normal"), Doubt(0, 1, 0.8, "tri")]
    found = joint_chance(doubts, error_a_mm=0.2, error_b_mm=-0.3, limit_a_mm=0.7, limit_b_mm=0.6)
    assert found.both == pytest.approx(found.a * found.b, abs=AGREED)


def test_one_shared_doubt_moves_both_ends_together() -> None:
    """One sheet under both ends passes or fails at both at once: with ± 1 and limits 0.5 that is 0.5 and not 0.25."""
    found = joint_chance([Doubt(1, 1, 1.0, "rect")], error_a_mm=0, error_b_mm=0, limit_a_mm=0.5, limit_b_mm=0.5)
    assert (found.a, found.b, found.both) == (
        pytest.approx(0.5, abs=0.001),
        pytest.approx(0.5, abs=0.001),
        pytest.approx(0.5, abs=0.001),
    )


def test_a_shared_doubt_of_opposite_sign_narrows_both_ways() -> None:
    """A ± 1 doubt raises A and lowers B; errors 0.3, limits 0.5: -0.8..0.2 and -0.2..0.8 leave 0.4 of 2."""
    found = joint_chance([Doubt(1, -1, 1.0, "rect")], error_a_mm=0.3, error_b_mm=0.3, limit_a_mm=0.5, limit_b_mm=0.5)
    assert found.both == pytest.approx(0.4 / 2, abs=0.001)


TEN = [
    Doubt(1.21, -0.21, 0.0508, "rect"),  # truck seats, through the beam
    Doubt(-0.21, 1.21, 0.0508, "rect"),
    Doubt(1.21, -0.21, 0.0254, "rect"),  # bolsters
    Doubt(-0.21, 1.21, 0.0254, "rect"),
    Doubt(1.21, -0.21, 0.0254, "normal"),  # washers
    Doubt(-0.21, 1.21, 0.0254, "normal"),
    Doubt(-1.0, 0.0, 0.0508, "rect"),  # drops
    Doubt(0.0, -1.0, 0.0508, "rect"),
    Doubt(1.0, 0.0, 0.0381, "tri"),  # shank offsets
    Doubt(0.0, 1.0, 0.0381, "tri"),
]
"""Ten contributors of all three shapes; sensitivities of a body with c/a = 1.42."""

ALL_RECT = [Doubt(d.at_a, d.at_b, d.tolerance_mm, "rect") for d in TEN]
ALL_NORMAL = [Doubt(d.at_a, d.at_b, d.tolerance_mm, "normal") for d in TEN]
ALL_TRI = [Doubt(d.at_a, d.at_b, d.tolerance_mm, "tri") for d in TEN]
FEW = [Doubt(1.2, -0.2, 0.06, "rect"), Doubt(-0.2, 1.2, 0.06, "rect"), Doubt(0.9, 0.9, 0.05, "normal")]
TWO = [Doubt(1.2, -0.2, 0.10, "rect"), Doubt(-0.2, 1.2, 0.10, "rect")]
SHARED = [Doubt(1.0, 1.0, 0.08, "normal"), Doubt(1.2, -0.2, 0.04, "rect"), Doubt(-0.2, 1.2, 0.04, "tri")]


@pytest.mark.parametrize(
    ("doubts", "error_a", "error_b", "limit_a", "limit_b", "near"),
    [
        (TEN, 0.28, 0.05, 0.254, 0.254, 0.3),
        (TEN, 0.20, -0.12, 0.254, 0.254, 0.8),
        (TEN, -0.12, -0.12, 0.254, 0.254, 0.99),
        (ALL_RECT, 0.28, 0.05, 0.254, 0.254, 0.3),
        (ALL_RECT, -0.20, 0.13, 0.254, 0.254, 0.8),
        (ALL_RECT, 0.10, 0.12, 0.254, 0.254, 0.99),
        (ALL_NORMAL, 0.28, 0.05, 0.254, 0.254, 0.3),
        (ALL_NORMAL, 0.20, -0.14, 0.254, 0.254, 0.8),
        (ALL_NORMAL, -0.14, -0.12, 0.254, 0.254, 0.99),
        (ALL_TRI, 0.275, 0.05, 0.254, 0.254, 0.3),
        (ALL_TRI, 0.21, -0.17, 0.254, 0.254, 0.8),
        (ALL_TRI, -0.16, -0.14, 0.254, 0.254, 0.99),
        (FEW, 0.11, -0.11, 0.10, 0.10, 0.3),
        (FEW, 0.03, -0.02, 0.08, 0.08, 0.8),
        (FEW, 0.00, 0.01, 0.11, 0.11, 0.99),
        (TWO, 0.05, 0.02, 0.06, 0.06, 0.3),
        (TWO, 0.02, 0.01, 0.11, 0.11, 0.8),
        (SHARED, 0.02, 0.02, 0.04, 0.04, 0.3),
        (SHARED, 0.03, -0.03, 0.10, 0.10, 0.8),
        (SHARED, 0.00, 0.01, 0.12, 0.13, 0.99),
    ],
)
def test_the_chance_of_both_ends_is_that_of_a_convolution(
    doubts: list[Doubt], error_a: float, error_b: float, limit_a: float, limit_b: float, near: float
) -> None:
    """The sampled chance of both ends is within 0.003 of the two-dimensional convolution, for all shapes and sizes."""
    case = {"error_a_mm": error_a, "error_b_mm": error_b, "limit_a_mm": limit_a, "limit_b_mm": limit_b}
    exact = convolved(doubts, **case)
    assert exact == pytest.approx(near, abs={0.3: 0.13, 0.8: 0.1, 0.99: 0.01}[near])  # the case is what it is meant for
    assert joint_chance(doubts, **case).both == pytest.approx(exact, abs=AGREED)


@pytest.mark.parametrize(("n", "limit"), [(2, 0.3), (3, 0.7), (5, 0.9)])
def test_the_convolution_itself_is_right(n: int, limit: float) -> None:
    """The oracle gives the Irwin-Hall chances at A, and their product where A and B share no doubt, to 0.0005."""
    exact = irwin_hall(n, n / 2 + limit) - irwin_hall(n, n / 2 - limit)
    at_a = [Doubt(1, 0, 0.5, "rect") for _ in range(n)]
    at_b = [Doubt(0, 1, 0.5, "rect") for _ in range(n)]
    alone = convolved(
        [*at_a, Doubt(0, 1, 1e-3, "rect")], error_a_mm=0, error_b_mm=0, limit_a_mm=limit, limit_b_mm=NEVER
    )
    both = convolved([*at_a, *at_b], error_a_mm=0, error_b_mm=0, limit_a_mm=limit, limit_b_mm=limit)
    assert alone == pytest.approx(exact, abs=5e-4)
    assert both == pytest.approx(exact**2, abs=5e-4)


def test_the_convolution_of_normals_is_the_normal_integral() -> None:
    """Normal doubts of ± 0.6 and ± 0.8 make sigma 0.5: the oracle gives its integral over ± 0.5 to 0.0005."""
    exact = 2 * NormalDist().cdf(1.0) - 1
    found = convolved(
        [Doubt(1, 0, 0.6, "normal"), Doubt(1, 0, 0.8, "normal"), Doubt(0, 1, 1e-3, "rect")],
        error_a_mm=0, error_b_mm=0, limit_a_mm=0.5, limit_b_mm=NEVER,
    )  # fmt: skip
    assert found == pytest.approx(exact, abs=5e-4)


@pytest.mark.parametrize(("error_a", "error_b"), [(0.28, 0.05), (0.20, -0.12), (-0.12, -0.12)])
def test_a_general_uncertainty_library_agrees(error_a: float, error_b: float) -> None:
    """A Latin-hypercube library gives the same chance of both ends, within four of its own standard errors."""
    import mcerp

    np.random.seed(20261125)  # the library draws from the old global generator
    at_a = at_b = mcerp.N(0.0, 1e-12)
    for doubt in TEN:
        t = doubt.tolerance_mm
        u = {
            "rect": lambda t=t: mcerp.U(-t, t),
            "tri": lambda t=t: mcerp.Tri(-t, 0.0, t),
            "normal": lambda t=t: mcerp.N(0.0, t / 2),
        }[doubt.distribution]()
        at_a, at_b = at_a + doubt.at_a * u, at_b + doubt.at_b * u
    good = (np.abs(at_a._mcpts + error_a) <= 0.254) & (np.abs(at_b._mcpts + error_b) <= 0.254)
    theirs, many = float(good.mean()), len(good)
    ours = joint_chance(TEN, error_a_mm=error_a, error_b_mm=error_b, limit_a_mm=0.254, limit_b_mm=0.254).both
    assert many >= 10_000
    assert ours == pytest.approx(theirs, abs=4 * math.sqrt(theirs * (1 - theirs) / many) + 0.001)


@pytest.mark.parametrize("doubts", [TEN, ALL_RECT, ALL_TRI, FEW, TWO, SHARED])
def test_the_chance_of_each_end_is_that_of_a_convolution(doubts: list[Doubt]) -> None:
    """Each end's own chance, whatever the other does, is within 0.003 of the convolution with the other left free."""
    found = joint_chance(doubts, error_a_mm=0.06, error_b_mm=-0.03, limit_a_mm=0.10, limit_b_mm=0.07)
    at_a = convolved(doubts, error_a_mm=0.06, error_b_mm=0.0, limit_a_mm=0.10, limit_b_mm=NEVER)
    at_b = convolved(doubts, error_a_mm=0.0, error_b_mm=-0.03, limit_a_mm=NEVER, limit_b_mm=0.07)
    assert (found.a, found.b) == (pytest.approx(at_a, abs=AGREED), pytest.approx(at_b, abs=AGREED))
    assert found.both <= min(found.a, found.b) + 1e-12


def test_the_standard_deviations_of_the_three_shapes() -> None:
    """± t is t/√3 rectangular, t/2 normal, t/√6 triangular, 0 nominal: second moments worked by integration.

    rect: ∫ x²/(2t) dx = t²/3;  tri: 2 ∫ x²(t - x)/t² dx from 0 to t = 2(t²/3 - t²/4) = t²/6;  normal: ± is two sigma.
    """
    assert sigma(0.6, "rect") == pytest.approx(math.sqrt(0.36 / 3))
    assert sigma(0.6, "tri") == pytest.approx(math.sqrt(2 * (0.36 / 3 - 0.36 / 4)))
    assert sigma(0.6, "normal") == 0.3
    assert sigma(0.6, "nominal") == 0.0


def test_the_standard_error_is_honest() -> None:
    """Over 40 seeds the chances scatter round the convolution as the stated errors say, and those are below 0.001."""
    case = {"error_a_mm": 0.20, "error_b_mm": -0.12, "limit_a_mm": 0.254, "limit_b_mm": 0.254}
    exact = convolved(TEN, **case)
    found = [joint_chance(TEN, **case, seed=seed) for seed in range(40)]
    stated = fmean(each.standard_error for each in found)
    scatter = pstdev([each.both for each in found])
    assert stated < 0.001  # promised for ten contributors
    assert 0.6 < scatter / stated < 1.6  # a scatter of 40 is itself known to 11 percent, the stated one to 18/√40
    assert abs(fmean(each.both for each in found) - exact) < 4 * stated / math.sqrt(40) + 5e-4  # 5e-4: the grid's own
    assert sum(abs(each.both - exact) <= 3 * each.standard_error + 5e-4 for each in found) >= 37


def test_the_same_car_has_always_the_same_chance() -> None:
    """The sampling is seeded: twice the same gives the same to the last digit, another seed something else close by."""
    case = {"error_a_mm": 0.20, "error_b_mm": -0.12, "limit_a_mm": 0.254, "limit_b_mm": 0.254}
    first, again, other = joint_chance(TEN, **case), joint_chance(TEN, **case), joint_chance(TEN, **case, seed=7)
    assert first == again
    assert first != other
    assert other.both == pytest.approx(first.both, abs=4 * math.hypot(first.standard_error, other.standard_error))


def test_more_samples_come_nearer() -> None:
    """Sixteen times the points leave a standard error of at most half."""
    case = {"error_a_mm": 0.20, "error_b_mm": -0.12, "limit_a_mm": 0.254, "limit_b_mm": 0.254}
    few, many = joint_chance(TEN, **case, samples=SAMPLES // 4), joint_chance(TEN, **case, samples=SAMPLES * 4)
    assert many.standard_error < few.standard_error / 2


@pytest.mark.parametrize("doubts", [TEN, FEW, SHARED, ALL_NORMAL])
def test_it_does_not_matter_which_end_is_a(doubts: list[Doubt]) -> None:
    """Exchanging the ends exchanges their chances and leaves that of both, within the standard error."""
    here = joint_chance(doubts, error_a_mm=0.07, error_b_mm=-0.04, limit_a_mm=0.12, limit_b_mm=0.10)
    turned = [Doubt(d.at_b, d.at_a, d.tolerance_mm, d.distribution) for d in doubts]
    there = joint_chance(turned, error_a_mm=-0.04, error_b_mm=0.07, limit_a_mm=0.10, limit_b_mm=0.12)
    assert (there.a, there.b) == (pytest.approx(here.b, abs=AGREED), pytest.approx(here.a, abs=AGREED))
    assert there.both == pytest.approx(here.both, abs=AGREED)
    if all(doubt.distribution != "normal" for doubt in doubts):
        assert there.both == here.both


@pytest.mark.parametrize("doubts", [TEN, ALL_RECT, SHARED])
def test_the_order_of_the_doubts_does_not_matter(doubts: list[Doubt]) -> None:
    """Written in another order the same doubts give the same chance, within what is promised."""
    case = {"error_a_mm": 0.07, "error_b_mm": -0.04, "limit_a_mm": 0.14, "limit_b_mm": 0.13}
    assert joint_chance(doubts[::-1], **case).both == pytest.approx(joint_chance(doubts, **case).both, abs=AGREED)


def test_nothing_in_doubt_is_certain() -> None:
    """Without any doubt the chance is 1 inside the limit, the limit itself included, and 0 outside."""
    assert one_end([], 0.25, 0.5).both == 1.0
    assert one_end([], 0.5, 0.5).both == 1.0
    assert one_end([], 0.75, 0.5).both == 0.0


@pytest.mark.parametrize("samples", [0, 8, 100, 16385])
def test_a_number_of_samples_that_is_no_lattice_is_refused(samples: int) -> None:
    """The number of points is a power of two of at least sixteen."""
    with pytest.raises(ValueError, match="power of two"):
        joint_chance(TEN, error_a_mm=0, error_b_mm=0, limit_a_mm=1, limit_b_mm=1, samples=samples)


def test_more_doubts_than_the_generating_vector_has_places() -> None:
    """With ninety rectangular doubts the chance is still that of their sum, normal by the central limit theorem."""
    t = 0.1
    spread = math.sqrt(90 * t * t / 3)
    exact = 2 * NormalDist(0, spread).cdf(spread) - 1
    found = one_end([Doubt(1, 0, t, "rect") for _ in range(90)], 0.0, spread)
    assert found.both == pytest.approx(exact, abs=4 * found.standard_error)
