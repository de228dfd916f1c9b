"""The rule of the layers against every possible set of layers, written out.

The oracle lists all sets of 1 to ``most`` layers and ranks them as the rule says: it is a dozen lines, leaves nothing
out for speed, and knows nothing of the program's search. The rule itself is common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations_with_replacement

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carwright.laminate import laminate

THOU = 0.0254
"""A thousandth of an inch in mm."""


def best_by_force(sizes: Sequence[float], wanted: float, window: float, most: int, glue: float) -> tuple[float, ...]:
    """Return what the best set is ranked by: within or not, then layers and error, or error and layers."""
    ranks = []
    for many in range(1, most + 1):
        for layers in combinations_with_replacement(sizes, many):
            error = abs(sum(layers) + glue * (many - 1) - wanted)
            within = error <= window + 1e-7
            ranks.append((0, many, round(error, 6)) if within else (1, round(error, 6), many))
    return min(ranks)


@given(
    sizes=st.lists(st.integers(5, 125), min_size=1, max_size=5, unique=True),
    wanted=st.integers(10, 300),
    window=st.sampled_from([0, 3, 5]),
    most=st.integers(1, 5),
    glue=st.sampled_from([0, 2]),
)
def test_the_layers_are_the_best_of_all_sets(sizes: list[int], wanted: int, window: int, most: int, glue: int) -> None:
    """Within the window the fewest layers, then the least error; outside it the least error, then the fewest layers."""
    offered = [size * THOU for size in sizes]
    made = laminate(offered, wanted_mm=wanted * THOU, window_mm=window * THOU, most=most, glue_mm=glue * THOU)
    assert made is not None
    many = len(made.layers)
    thickness = sum(offered[i] for i in made.layers) + glue * THOU * (many - 1)
    assert made.thickness_mm == pytest.approx(thickness, abs=1e-9)
    assert made.error_mm == pytest.approx(thickness - wanted * THOU, abs=1e-9)
    error = round(abs(made.error_mm), 6)
    rank = (0, many, error) if made.within else (1, error, many)
    assert rank == pytest.approx(best_by_force(offered, wanted * THOU, window * THOU, most, glue * THOU), abs=2e-6)
    assert [offered[i] for i in made.layers] == sorted((offered[i] for i in made.layers), reverse=True)


def test_a_layer_less_is_worth_an_error_within_the_window() -> None:
    """Wanted 0.046 ± 0.005: one layer of 0.050 in (0.004 off) goes before two that fit to 0.001."""
    made = laminate([0.050 * 25.4, 0.030 * 25.4, 0.015 * 25.4], wanted_mm=0.046 * 25.4, window_mm=0.005 * 25.4)
    assert made is not None
    assert made.layers == (0,)


def test_outside_the_window_the_nearest_goes_first() -> None:
    """Wanted 0.046 ± 0.001 from 0.050 and 0.020 in: 0.050 is 0.004 off, 0.040 in two layers 0.006."""
    made = laminate([0.050 * 25.4, 0.020 * 25.4], wanted_mm=0.046 * 25.4, window_mm=0.001 * 25.4)
    assert made is not None
    assert (made.layers, made.within) == ((0,), False)


def test_nothing_offered_makes_nothing() -> None:
    """Without sheet there is no laminate."""
    assert laminate([], wanted_mm=1.0, window_mm=0.1) is None
