"""Findings speak of pieces as people do: no name of a file or of the JSON stands in their sentences."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.frame.goodcar import GOOD, piece
from tests.plan.cars import CARS

from carwright.car.read import read_car
from carwright.plan import make_plan

AWKWARD = {
    path.stem: path.read_text(encoding="utf-8")
    for path in sorted((Path(__file__).parents[1] / "acceptance" / "cars").glob("*.toml"))
}
SPOILED = {
    "resized brake lever": GOOD + piece("train_line_a", length="1.0") + piece("crosstie_2", x="0.75"),
    "thick train line": GOOD.replace('train_line = "0.019"', 'train_line = "0.060"'),
}
TEXTS = CARS | AWKWARD | SPOILED


@pytest.mark.parametrize("name", TEXTS)
def test_sentences_have_no_names_of_pieces(name: str) -> None:
    """What was found is said without underscores; a mend has them only in a key or between quotes."""
    for finding in make_plan(read_car(TEXTS[name], file="car.toml")).findings:
        assert "_" not in finding.because, finding.because
        words = re.sub(r'"[^"]*"|\[?\[?\b[a-z]+(\[\d*\])?\]?\.[a-z_.\[\]\d]+|\b[a-z_]+ = ', "", finding.mend)
        assert "_" not in words, finding.mend
