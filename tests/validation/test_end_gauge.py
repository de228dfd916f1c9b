"""Standard deviations of rectangular doubts, and their sum, against the end gauge of the uncertainty guide.

Source: JCGM 100:2008 (GUM), annex H.1, calibration of a 50 mm end gauge, read second hand in the documentation of an
open metrology library (the file GUM_H1.rst of the repository MSLNZ/GTC), which lists inputs and results:

    standard 50 000 623 nm, u = 25 nm;  difference 215 nm, u = 5.8, 3.9 and 6.7 nm (repeated, random, systematic);
    expansion of the standard 11.5e-6 /°C;  difference of expansions rectangular ± 1e-6 /°C;
    temperature of the bed -0.1 °C off;  difference of temperatures rectangular ± 0.05 °C.

Results there: length 50 000 838 nm, u = 32 nm; components 25, 16.599, 6.7, 5.8, 3.9 and 2.88679 nm. The guide itself
rounds some of them (from memory: 25, 16.6, 9.7 for the three of the difference together, 2.9).

Rectangular t/√3 and triangular t/√6 are JCGM 100 4.3.7 and 4.3.9 (from memory).
"""

from __future__ import annotations

import math

import pytest

from carwright.ride.chance import sigma
from carwright.ride.doubts import Doubts, widths
from carwright.working import Distribution, typed

STANDARD_NM, EXPANSION, OFF = 50_000_623.0, 11.5e-6, -0.1
PRINTED_NM = {
    "standard": 25.0,
    "temperatures": 16.599,
    "systematic": 6.7,
    "repeated": 5.8,
    "random": 3.9,
    "expansions": 2.88679,
}


def budget() -> Doubts:
    """Return the six contributors: what is known as u stands as a normal ± of two sigma."""
    doubts = Doubts()

    def add(name: str, factor: float, tolerance: float, shape: Distribution) -> None:
        reading = typed(
            0.0, name, key=name, tolerance=typed(tolerance, f"± {name}", key=f"{name}±"), distribution=shape
        )
        doubts.add(name, name, reading, at_a=(factor, None), at_b=None)

    add("standard", 1.0, 2 * 25.0, "normal")
    add("repeated", 1.0, 2 * 5.8, "normal")
    add("random", 1.0, 2 * 3.9, "normal")
    add("systematic", 1.0, 2 * 6.7, "normal")
    add("temperatures", -STANDARD_NM * EXPANSION, 0.05, "rect")
    add("expansions", -STANDARD_NM * OFF, 1e-6, "rect")
    return doubts


def test_rectangular_components_of_the_end_gauge() -> None:
    """JCGM 100 H.1: ± 0.05 °C rectangular is 16.599 nm of length, ± 1e-6 /°C at -0.1 °C is 2.88679 nm."""
    assert STANDARD_NM * EXPANSION * sigma(0.05, "rect") == pytest.approx(16.599, abs=5e-3)
    assert STANDARD_NM * abs(OFF) * sigma(1e-6, "rect") == pytest.approx(2.88679, abs=5e-5)


def test_the_combined_uncertainty_of_the_end_gauge() -> None:
    """JCGM 100 H.1: the six components together are 32 nm, printed to the nanometre."""
    variance = sum(
        (each.at_a.value * sigma(each.tolerance.value, each.reading.distribution)) ** 2
        for each in budget().contributors()
        if each.at_a is not None
    )
    assert math.sqrt(variance) == pytest.approx(32.0, abs=0.5)
    assert math.sqrt(variance) == pytest.approx(math.hypot(*PRINTED_NM.values()), abs=5e-3)


def test_the_shares_of_the_end_gauge() -> None:
    """JCGM 100 H.1: each contributor's share is its printed component squared over the sum, the greatest first."""
    shares = widths("A", budget().contributors())[2]
    total = sum(each**2 for each in PRINTED_NM.values())
    assert [share.name for share in shares] == list(PRINTED_NM)
    for share in shares:
        assert share.share.value == pytest.approx(PRINTED_NM[share.name] ** 2 / total, abs=2e-5)
