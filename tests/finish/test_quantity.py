"""Wet paint: the paint trade's formula by its own worked values, losses, bottles, and volumes as people write them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carwright.finish.quantity import bottles, needed, spreading_rate, volume_of
from carwright.problems import InputError
from carwright.reference.coverage import Range, coat_film, solids, spray_loss
from carwright.working import Working, chosen, evaluate


def given_(value: float, name: str, unit: str) -> Working:
    """Return a number to reckon with."""
    return chosen(value, name, unit, note="of the test")


@pytest.mark.parametrize(
    ("share_percent", "film_um", "litre_m2", "to"),
    [
        # a trade blog on theoretical coverage rates (promain.co.uk): 28 % solids, 18 microns, 15.55 m2 a litre
        (28.0, 18.0, 15.55, 0.01),
        # a note on spreading rates (scribd 343849341): 65 % by volume at 125 microns, 5.2 m2 a litre
        (65.0, 125.0, 5.2, 1e-9),
        # a question-and-answer page on coil coating (paintcenter.org, July 2010): 30 % at 10 microns, 30 m2 a litre
        (30.0, 10.0, 30.0, 1e-9),
        # the definition that all of them give: a litre of solids covers 1000 m2 with one micron
        (100.0, 1.0, 1000.0, 1e-9),
    ],
)
def test_a_litre_covers_what_the_trade_says(share_percent: float, film_um: float, litre_m2: float, to: float) -> None:
    """The spreading rate is that of the published worked values."""
    rate = spreading_rate(given_(share_percent, "solids", "percent"), given_(film_um, "film", "um"))
    assert rate.value == pytest.approx(litre_m2, abs=to)
    assert rate.unit == "m2_per_l"


def test_the_formula_agrees_with_the_american_one() -> None:
    """65 % solids at 5 mils cover 208.52 square feet a gallon (the same note), which is the metric rate converted."""
    rate = spreading_rate(given_(65.0, "solids", "percent"), given_(5 * 25.4, "film", "um"))
    square_feet = rate.value * 3.785411784 / 0.09290304
    assert square_feet == pytest.approx(208.52, abs=0.05)


def test_what_goes_past_is_paint_too() -> None:
    """9.310489 litres that arrive are 13.3 to be sprayed where 30 % go past (a page on conventional spraying)."""
    one = given_(100.0, "solids", "percent")
    area = given_(9.310489 * 1e9, "area", "mm2")
    film, loss = given_(1000.0, "film", "um"), given_(30.0, "loss", "percent")
    amount = needed(area, Range(film, film), one, Range(loss, loss), name="paint")
    assert amount.likely.value / 1e6 == pytest.approx(13.3, abs=0.01)
    assert amount.likely.value == pytest.approx(amount.most.value)


@settings(max_examples=60, deadline=None)
@given(st.floats(1.0, 1e6), st.sampled_from(("lacquer", "enamel", "acrylic", "two_part")))
def test_the_most_is_never_less_than_the_likely(area_mm2: float, family: str) -> None:
    """The worst of film, solids and loss takes more; both are found again from their leaves; all grows with area."""
    area = given_(area_mm2, "area", "mm2")
    amount = needed(area, coat_film(family), solids(family), spray_loss("airbrush"), name="paint")
    assert 0.0 < amount.likely.value < amount.most.value
    assert evaluate(amount.most) == pytest.approx(amount.most.value)
    assert evaluate(amount.likely, {"area": 2 * area_mm2}) == pytest.approx(2 * amount.likely.value)


def test_a_can_loses_more_than_an_airbrush() -> None:
    """What is customary for cans is above what is customary for an airbrush, at both its ends."""
    can, brush = spray_loss("can"), spray_loss("airbrush")
    assert can.low.value >= brush.high.value
    assert can.high.value > brush.high.value
    assert {can.low.basis, brush.low.basis} == {"practice"}


@pytest.mark.parametrize(
    ("most", "contents", "left", "wanted"),
    [(13.8, 15.0, None, 1), (15.0, 15.0, None, 1), (15.1, 15.0, None, 2), (13.8, 10.0, 5.0, 1), (4.0, 10.0, 5.0, 0)],
)
def test_bottles_are_whole(most: float, contents: float, left: float | None, wanted: int) -> None:
    """As many as hold what is wanting, none where what is left is enough."""
    own = None if left is None else given_(left, "left", "ml")
    count = bottles(given_(most, "most", "ml"), given_(contents, "contents", "ml"), own, name="grey")
    assert count.value == wanted
    assert not math.copysign(1.0, count.value) < 0


@pytest.mark.parametrize(
    ("text", "ml"), [("17 ml", 17.0), ("0,4 l", 400.0), ("1 fl oz", 29.5735), (".5 FL. OZ", 14.7868), ("40cl", 400.0)]
)
def test_volumes_as_people_write_them(text: str, ml: float) -> None:
    """Millilitres, litres and fluid ounces (231 cubic inches to the gallon of 128), with comma or point."""
    assert volume_of(text, "contents", key="paint[0].contents").value == pytest.approx(ml, abs=1e-3)


@pytest.mark.parametrize("text", ["17", "a bottle", "-3 ml", "0 ml", "20 l", "", "1e3 ml"])
def test_what_is_no_volume_is_refused(text: str) -> None:
    """A number without a unit, nothing, and more than a bottle can hold are problems with their key."""
    with pytest.raises(InputError) as caught:
        volume_of(text, "contents", key="paint[0].contents", file="car.toml")
    (problem,) = caught.value.problems
    assert problem.key == "paint[0].contents"
    assert problem.accepted


def test_nothing_may_be_left() -> None:
    """An owner may say that a bottle is empty."""
    assert volume_of("0 ml", "left", key="paint[0].left", empty=True).value == 0.0
