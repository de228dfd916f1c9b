"""Two tapering pieces out of one rectangle, by hand and against a geometry library."""

from __future__ import annotations

import math
import random
from importlib import resources

import pytest
from shapely import Polygon

from carwright.car.read import read_car
from carwright.plan import make_plan
from carwright.stock.demand import wanted_of_plan
from carwright.stock.pairs import best_pair

TRIANGLE = ((0.0, 0.0), (40.0, 0.0), (40.0, 20.0))


def test_two_right_triangles_make_their_rectangle() -> None:
    """Right triangles of 40 by 20 lie head to tail in a rectangle of 40 by 20: half of what two rectangles take."""
    pair = best_pair(TRIANGLE, gap_mm=0.0)
    assert pair is not None
    assert (pair.length_mm, pair.width_mm) == pytest.approx((40.0, 20.0), abs=1e-6)


def test_a_gap_widens_the_rectangle_by_its_length_along_the_side() -> None:
    """A gap of 0.25 between the long sides moves the second triangle across by 0.25 / cos(atan(20/40)) = 0.2795."""
    pair = best_pair(TRIANGLE, gap_mm=0.25)
    assert pair is not None
    assert pair.width_mm == pytest.approx(20.0 + 0.25 / math.cos(math.atan2(20.0, 40.0)), abs=1e-6)


def test_a_rectangle_is_no_pair() -> None:
    """Two rectangles gain nothing by being laid head to tail."""
    assert best_pair(((0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)), gap_mm=0.1) is None


@pytest.mark.parametrize("seed", range(20))
def test_a_pair_lies_apart_in_its_rectangle(seed: int) -> None:
    """Both pieces are the given shape, lie in the rectangle, stand the gap apart, and save a tenth at least."""
    draw = random.Random(seed)  # noqa: S311 - seeded on purpose, nothing is secret
    high, low = draw.uniform(8, 20), draw.uniform(1, 7)
    length, gap = draw.uniform(10, 80), draw.uniform(0.0, 0.4)
    outline = ((0.0, 0.0), (length, 0.0), (length, high), (draw.uniform(0, length / 2), low))
    pair = best_pair(outline, gap_mm=gap)
    whole = Polygon(outline)
    if pair is None:
        return
    first, second = Polygon(pair.first), Polygon(pair.second)
    box = Polygon([(0, 0), (pair.length_mm, 0), (pair.length_mm, pair.width_mm), (0, pair.width_mm)])
    assert first.area == pytest.approx(whole.area)
    assert second.area == pytest.approx(whole.area)
    assert first.distance(second) >= gap - 1e-6
    assert first.intersection(second).area == pytest.approx(0.0, abs=1e-6)
    assert box.buffer(1e-6).contains(first.union(second))
    left, bottom, right, top = whole.bounds
    assert pair.length_mm * pair.width_mm < 0.9 * 2 * (right - left) * (top - bottom)


def test_the_webs_of_a_car_are_laid_in_pairs() -> None:
    """The boxcar's two crossbearers of two webs each become two pairs, in less room than four times one."""
    text = resources.files("carwright.demo").joinpath("boxcar.toml").read_text(encoding="utf-8")
    pieces = [each for each in make_plan(read_car(text)).pieces if each.name.startswith("crossbearer_")]
    webs = [each for each in pieces if not each.name.endswith("_flange")]
    lines, _ = wanted_of_plan(webs)
    assert sum(len(line.outlines) * line.quantity for line in lines) == 4
    alone = sum(
        each.quantity.value * (each.cut_length_mm or each.length_mm).value * (each.cut_width_mm or each.width_mm).value
        for each in webs
    )
    assert sum(line.length_mm * (line.width_mm or 0.0) * line.quantity for line in lines) < 0.85 * alone
