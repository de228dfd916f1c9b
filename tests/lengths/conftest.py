"""What the tests of lengths share: the instruments of the design, in mm, and a reader that uses them."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import pytest

from carwright.lengths import Reading, parse_length

INSTRUMENTS_MM = {
    "outside": 0.001 * 25.4,
    "depth": 0.002 * 25.4,
    "inside": 0.002 * 25.4,
    "height": 0.002 * 25.4,
    "rule": 25.4 / 128,
}
"""Half-widths ± of the bench's instruments; our own choice, common practice."""


@pytest.fixture(scope="session")
def read() -> Callable[..., Reading]:
    """Return ``parse_length`` in HO with the instruments above."""
    return partial(parse_length, ratio=87.1, instruments=INSTRUMENTS_MM)
