"""What is typed wrong is refused where it was typed, with what is accepted, and nothing of it is kept in silence."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from carwright.shop import Shop


@pytest.mark.parametrize(
    ("slot", "text", "said"),
    [("finish.scheme", "banana purple", "sides grey, roof and ends black"), ("car.type", "banana", "gondola")],
)
def test_words_that_nobody_can_read_are_refused_beside_their_box(
    client: TestClient, shop: Shop, slot: str, text: str, said: str
) -> None:
    """On a car's page and over the API an unreadable scheme or kind is not saved, and what is accepted is told."""
    page = client.post("/car/double-door-boxcar", data={"base": "1", "do": "keep", slot: text})
    assert page.status_code == 422
    beside = re.search(rf'<p class="err" id="x-{re.escape(slot)}">.*', page.text)
    assert beside is not None
    assert said in beside[0]
    refused = client.post("/api/v1/cars/double-door-boxcar/values", json={"values": {slot: text}, "based_on": 1})
    assert refused.status_code == 422
    (problem,) = refused.json()["errors"]
    assert problem["key"] == slot
    assert said in problem["accepted"] + problem["mend"]
    assert shop.car("double-door-boxcar").head.number == 1


def test_a_car_saved_with_such_words_opens_and_is_mended_on_its_page(client: TestClient, shop: Shop) -> None:
    """A file brought with an unreadable scheme opens; the box says what is wrong, and the rest waits for it."""
    before = shop.car("double-door-boxcar").head.data
    shop.save("double-door-boxcar", before.replace(b'scheme = "sides grey', b'scheme = "banana grey'), based_on=1)
    page = client.get("/car/double-door-boxcar")
    assert 'id="x-finish.scheme"' in page.text
    other = client.post("/car/double-door-boxcar", data={"base": "2", "do": "keep", "body.width": "1.3"})
    assert other.status_code == 422
    mended = client.post(
        "/car/double-door-boxcar", data={"base": "2", "do": "keep", "body.width": "1.3", "finish.scheme": "rest grey"}
    )
    assert mended.status_code == 303
    assert b'scheme = "rest grey"' in shop.car("double-door-boxcar").head.data
