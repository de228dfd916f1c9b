"""Two revisions side by side: each result in words, and from which shelf both were planned."""

from __future__ import annotations

import re

from fastapi.testclient import TestClient
from tests.plan.cars import CARS

from carwright.car.read import read_car
from carwright.plan import make_plan
from carwright.shop import Shop
from carwright.web.moved import moves_of


def test_every_result_that_moved_has_words() -> None:
    """Whatever moved between two states of a car is named as the trade does, not as a program would."""
    before = make_plan(read_car(CARS["boxcar"]))
    for old, new in (('"4 1/2"', '"4 3/8"'), ('"0.278"', '"0.300"'), ("crossbearers = 2", "crossbearers = 3")):
        text = CARS["boxcar"].replace(old, new)
        moved = moves_of(before, make_plan(read_car(text)))
        assert all(re.fullmatch(r"[^_\[\]]+", each.name) for each in moved), [each.name for each in moved]
        assert not any(".also." in each.path for each in moved)


def test_what_matters_comes_first_and_the_rest_can_be_opened(client: TestClient, shop: Shop) -> None:
    """Heights and weight stand before the findings that turned, everything else folded, each once and in inches."""
    slug = shop.add_car(CARS["boxcar"].encode(), name="Beside itself").slug
    changed = CARS["boxcar"].replace('"0.278"', '"0.300"').replace('["5.906", "5.904"]', '["5.806", "5.804"]')
    shop.save(slug, changed.encode(), based_on=1)
    page = client.get(f"/car/{slug}/compare?older=1&newer=2").text
    first, rest = page.split("<details>")
    headings = re.findall(r"<h2[^>]*>([^<]+)</h2>", first)
    assert headings == ["What was measured", "Results that matter", "Findings that turned"]
    assert "Coupler height at A" in first
    assert "Hole to the end of the floor<br><small>coupler A</small>" in rest
    assert "in²" in rest
    assert "mm²" not in page
    rows = re.findall(r'<th scope="row">(.*?)</th>', page.split("Results that matter</h2>")[1])
    assert len(rows) == len(set(rows))


def test_the_shelf_behind_a_comparison_is_named(client: TestClient, shop: Shop) -> None:
    """Both revisions are planned with the shelf as it is now, and the page says which that is."""
    slug = shop.add_car(CARS["boxcar"].encode(), name="Beside itself").slug
    shop.save(slug, CARS["boxcar"].replace('"0.278"', '"0.300"').encode(), based_on=1)
    shop.save_shelf(b'[[shelf.washer]]\nthickness = "0.010"\ncount = 4\n', based_on=shop.shelf()[1])
    page = " ".join(client.get(f"/car/{slug}/compare?older=1&newer=2").text.split())
    assert f"from the shop’s shelf as it is now, revision {shop.shelf()[1]}" in page
