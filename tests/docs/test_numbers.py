"""The page on numbers leaves none out, and its worked figures are the program's and the hand's."""

from __future__ import annotations

import re
from importlib import resources

import pytest
from tests.docs.pages import DOCS

from carwright.car.read import read_car
from carwright.findings import VERDICT_ORDER
from carwright.plan import document_of, make_plan

NUMBERS = (DOCS / "numbers.md").read_text(encoding="utf-8")
GLOSSARY = (DOCS / "glossary.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("car", ["boxcar.toml", "n_car.toml", "h0_car.toml"])
def test_every_number_of_a_plan_is_on_the_page(car: str) -> None:
    """The last name of every number's path, places in a list apart, stands on the page."""
    text = resources.files("carwright.demo").joinpath(car).read_text(encoding="utf-8")
    names = set()
    for path, _ in document_of(make_plan(read_car(text))).numbers():
        names.add(next(part for part in reversed(path.split(".")) if not part.isdigit() and part not in ("a", "b")))
    assert sorted(name for name in names if not re.search(rf"\b{name}\b", NUMBERS)) == []


def test_the_washers_lever_on_the_page_is_right() -> None:
    """By hand: 0.010 x 5.4525/4.5 = 0.012117 raises A, 0.010 x 0.9525/4.5 = 0.002117 lowers B; the page rounds them."""
    a, c, t = 4.5 / 2, 6.125 / 2 - 0.25 + 0.39, 0.010
    assert f"raises A by 0.010 × {c + a:.4f}/4.5 = {t * (c + a) / (2 * a):.4f} in" in NUMBERS
    assert f"lowers B by 0.010 × {c - a:.4f}/4.5 = {t * (c - a) / (2 * a):.4f} in" in NUMBERS


def test_verdicts_and_bases_are_in_the_glossary() -> None:
    """Each verdict that a check may end with, and each way a value may be known, has its line in the glossary."""
    for verdict in VERDICT_ORDER:
        assert f"| **{verdict}** |" in GLOSSARY
    for basis in ("seen", "derived", "practice", "memory"):
        assert f"| `{basis}`" in GLOSSARY
