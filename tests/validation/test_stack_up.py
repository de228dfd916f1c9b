"""Published tolerance stack-ups, worked again by the doubts of the ride.

Sources, as read in their pages' text:

- "Mechanical Engineering Design", 9th edition (page proof of 2009), page 20, example 1-3: three sleeves on a shouldered
  screw, a = 1.750 ± 0.003, b = 0.750 ± 0.001, c = 0.120 ± 0.005, d = 0.875 ± 0.001 in. Printed answers: gap 0.005 ±
  0.010 in, 0.015 at most, -0.005 at least; for a gap of at least 0.003 in, d = 0.867 in. Nothing is rounded there.
- "Tolerance stack-up calculator: RSS method, worst-case and statistical analysis" (web page, mech.toolfusion.net): five
  parts of ± 0.1 mm in series make ± 0.5 worst case and ± 0.224 RSS, ten make ± 1.0 and ± 0.316. Printed to 0.001.
- "Tolerance stack-up: a worked example using worst-case and RSS" (web page, metricmech.com): bore 40.00 ± 0.10, spacer
  25.00 ± 0.05, ring 2.00 ± 0.03, shoulder 10.00 ± 0.05 mm. Its nominal gap of 3.00 mm was read, its widths were not:
  for those the check is the sum by hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest

from carwright.ride.doubts import Doubts, widths
from carwright.working import Distribution, typed


def stacked(parts: Sequence[tuple[float, float, float]], shape: Distribution = "normal") -> tuple[float, float, float]:
    """Return nominal, worst case and root sum square of (factor, size, ±) parts."""
    doubts = Doubts()
    for i, (factor, size, tolerance) in enumerate(parts):
        part = typed(
            size,
            f"part {i}",
            key=f"part{i}",
            tolerance=typed(tolerance, f"± of part {i}", key=f"part{i}±"),
            distribution=shape,
        )
        doubts.add(f"part {i}", f"part {i}", part, at_a=(factor, None), at_b=None)
    worst, rss, _ = widths("A", doubts.contributors())
    return sum(factor * size for factor, size, _ in parts), worst.value, rss.value


SLEEVES = [(1.0, 1.750, 0.003), (-1.0, 0.750, 0.001), (-1.0, 0.120, 0.005), (-1.0, 0.875, 0.001)]


def test_three_sleeves_on_a_shouldered_screw() -> None:
    """Mechanical Engineering Design, example 1-3 (a): the gap is 0.005 ± 0.010 in, from -0.005 to 0.015."""
    gap, worst, _ = stacked(SLEEVES)
    assert gap == pytest.approx(0.005, abs=1e-12)
    assert worst == pytest.approx(0.010, abs=1e-12)
    assert (gap - worst, gap + worst) == (pytest.approx(-0.005, abs=1e-12), pytest.approx(0.015, abs=1e-12))


def test_the_sleeve_that_keeps_the_gap_open() -> None:
    """Mechanical Engineering Design, example 1-3 (b): with d = 0.867 in the gap is never less than 0.003 in."""
    gap, worst, _ = stacked([*SLEEVES[:3], (-1.0, 0.867, 0.001)])
    assert gap - worst == pytest.approx(0.003, abs=1e-12)


def test_the_sleeves_by_root_sum_square() -> None:
    """No printed answer was found for these sleeves by RSS; by hand sqrt(9 + 1 + 25 + 1) thousandths = 0.006 in."""
    assert stacked(SLEEVES)[2] == pytest.approx(0.006, abs=1e-12)


@pytest.mark.parametrize(("many", "worst_mm", "rss_mm"), [(5, 0.5, 0.224), (10, 1.0, 0.316)])
def test_like_parts_in_series(many: int, worst_mm: float, rss_mm: float) -> None:
    """Web page on stack-ups: n parts of ± 0.1 mm make ± 0.1 n worst case and ± 0.1 √n by RSS, as printed to 0.001."""
    _, worst, rss = stacked([(1.0, 10.0, 0.1)] * many)
    assert worst == pytest.approx(worst_mm, abs=1e-12)
    assert rss == pytest.approx(rss_mm, abs=5e-4)


def test_a_ring_in_a_housing() -> None:
    """Web page on stack-ups: nominal 3.00 mm as printed; by hand ± 0.23 and sqrt(100 + 25 + 9 + 25)/100 = 0.1261."""
    gap, worst, rss = stacked([(1, 40.0, 0.10), (-1, 25.0, 0.05), (-1, 2.0, 0.03), (-1, 10.0, 0.05)])
    assert gap == pytest.approx(3.00, abs=1e-9)
    assert worst == pytest.approx(0.23, abs=1e-12)
    assert rss == pytest.approx(math.sqrt(0.0159), abs=1e-12)


def test_widths_know_nothing_of_shapes() -> None:
    """Worst case and RSS take the ± as it is stated, whatever its shape, as the printed examples do."""
    assert stacked(SLEEVES, "rect") == stacked(SLEEVES, "normal") == stacked(SLEEVES, "tri")
