"""What is typed wrong is refused where it was typed, with what is accepted, and nothing of it is kept in silence."""

from __future__ import annotations

import re
from datetime import date

import pytest
from fastapi.testclient import TestClient

from carwright.shop import Shop
from carwright.shop.records import MEASURED, STANDING


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


def test_a_price_that_is_none_is_refused_at_its_box_and_the_rest_stays_typed(client: TestClient, shop: Shop) -> None:
    """A lot bought for "cheap" is not kept; what else was typed stands in its boxes, and so it is with the API."""
    typed = {"lot_name": "Box of shells", "bought_on": "2026-02-14", "bought_for": "cheap", "note": "no trucks"}
    page = client.post("/line/flat-car/lot", data=typed)
    assert page.status_code == 422
    assert 'id="wrong-bought_for"' in page.text
    assert all(f'value="{text}"' in page.text for text in typed.values())
    assert client.post("/api/v1/lots", json={"name": "Box", "bought_for": "-5"}).status_code == 422
    assert not shop.lots()
    for price in ("24", "24,50", "24.50 EUR", "$35.00", "1 200 kr", "£3"):
        shop.add_lot("Box", bought_for=price)


def test_the_next_step_leaves_no_open_job_behind(client: TestClient, shop: Shop) -> None:
    """A car moved on with open jobs at the survey is told to do those first, with the stage they stand at."""
    for item in ("Look the car over and photograph it as found", "List what is missing or broken"):
        shop.tick("flat-car", "lot", item, date(2026, 2, 14))
    assert shop.car("flat-car").stage == "cut"
    assert shop.car("flat-car").next_step == "Print the measuring sheet (open since survey)"
    assert "Print the measuring sheet (open since survey)" in client.get("/").text
    buttons = re.findall(r"<button[^>]*>([^<]*)<", client.get("/line/flat-car").text)
    assert "Keep" not in buttons


def test_what_is_done_on_the_page_is_ticked_off(client: TestClient, shop: Shop) -> None:
    """Measuring is ticked off with the sheet's last size, choosing when a way is taken; opened again it stays open."""

    def done(job: tuple[str, str]) -> bool:
        return any((each.stage, each.item) == job and each.done_on for each in shop.car("double-door-boxcar").checklist)

    car = "/car/double-door-boxcar"
    client.post(car, data={"base": "1", "do": "keep", "trucks.seat_height": ""})
    assert not done(MEASURED)
    client.post(car, data={"base": "2", "do": "keep", "trucks.seat_height": "0.284"})
    assert done(MEASURED)
    assert not done(STANDING)
    client.post(car, data={"base": "3", "take": "1"})
    assert done(STANDING)
    shop.tick("double-door-boxcar", *STANDING, None)
    client.post(car, data={"base": "4", "take": "1"})
    assert not done(STANDING)


def test_the_letters_say_what_was_kept_and_what_was_not(client: TestClient, shop: Shop) -> None:
    """With one wrong answer the others are kept and named, the wrong one is named and stands in its box."""
    typed = {"trucks.centers": "1/0", "body.width": "1.30", "coupler.mount": "truck"}
    page = client.post("/new/flat-car/letters", data={**typed, "based_on": "1"})
    assert page.status_code == 422
    alert = re.sub(r"<[^>]+>", "", page.text.split('role="alert">')[1].split("</div>")[0])
    assert "Not kept: H truck centres." in alert
    assert "Kept, as revision 2: B body width, S1 how the coupler is mounted." in alert
    assert shop.car("flat-car").head.number == 2
    again = client.post("/new/flat-car/letters", data={"trucks.centers": "-3", "based_on": "2"})
    assert "Nothing else was changed." in again.text
    assert shop.car("flat-car").head.number == 2
    shop.save("flat-car", shop.car("flat-car").head.data + b"# by somebody else\n", based_on=2)
    late = client.post("/new/flat-car/letters", data={"trucks.centers": "1e99", "body.width": "1.31", "based_on": "2"})
    assert (late.status_code, 'value="1e99"' in late.text) == (422, True)


def test_a_day_that_is_none_stands_at_its_job(client: TestClient, shop: Shop) -> None:
    """A job of the stage called lot, ticked off on no day, stays open, and its note stays typed."""
    sent = {"stage": "lot", "item": "List what is missing or broken", "done_on": "yesterday", "note": "one step"}
    page = client.post("/line/flat-car/tick", data=sent)
    assert page.status_code == 422
    assert page.text.count('class="wrong"') == 1
    assert 'value="one step"' in page.text
    assert client.post("/line/flat-car/tick", data={**sent, "done_on": "9999-12-31"}).status_code == 422
    assert shop.car("flat-car").checklist[1].done_on is None


def test_a_name_that_is_too_long_leaves_the_other_answers_typed(client: TestClient) -> None:
    """A new car of 300 letters is asked for its name again, at the name, and its kind stands as it was typed."""
    page = client.post("/new", data={"car.name": "x" * 300, "car.type": "GB"})
    assert page.status_code == 422
    assert 'id="car-name-wrong"' in page.text
    assert 'value="GB"' in page.text


def test_a_size_that_can_be_and_seldom_is_gets_asked_about(client: TestClient) -> None:
    """Truck centres of a quarter of the body, and readings of one size 4 % apart, are taken and asked about."""
    page = client.post(
        "/car/double-door-boxcar", data={"base": "1", "trucks.centers": "37 mm", "body.inside_length[1]": "5.66"}
    ).text
    assert "That is 24% of the body length; 50% to 90% is usual (common practice). Is it right?" in page
    assert page.count("4% away from the other reading of this size. Read it again?") == 2
    assert "Is it right?" not in client.get("/car/double-door-boxcar").text


def test_a_value_for_both_ends_that_counts_for_neither_says_so(client: TestClient, shop: Shop) -> None:
    """Where each truck has its own seat height, the box for both says so, and what is typed there is told as idle."""
    seats = b'[car]\nname = "Seats"\n[trucks.a]\nseat_height = "0.278"\n[trucks.b]\nseat_height = "0.284"\n'
    slug = shop.add_car(seats).slug
    note = "Each end has its own, given below."
    assert f'id="e-trucks.seat_height">{note}<' in client.get(f"/car/{slug}").text
    page = client.post(f"/car/{slug}", data={"base": "1", "do": "plan", "trucks.seat_height": "0.287"}).text
    assert f"{note} This counts for neither." in page
    told = client.post(f"/car/{slug}/follow", data={"base": "1", "trucks.seat_height": "0.287"}).json()
    assert told["summary"] == "It counts for neither end: each has its own value."


def test_a_doubt_is_told_by_what_it_comes_from(client: TestClient) -> None:
    """A size of one decimal is doubtful by that decimal and not by a caliper, and a wish was read with nothing."""
    sent = {"trucks.centers": "3.7", "coupler.length": "0.4", "body.width": "1.251"}
    page = client.post("/car/double-door-boxcar", data={"base": "1", "do": "plan", **sent}).text
    said = {each: re.sub(r"<[^>]+>", "", page.split(f'id="e-{each}">')[1].split("</span>\n<div")[0]) for each in sent}
    assert said["coupler.length"].endswith("as many places as were typed")
    assert said["trucks.centers"].endswith("as many places as were typed")
    assert said["body.width"].endswith("caliper")
    wished = client.post("/car/double-door-boxcar", data={"base": "1", "do": "plan", "trucks.centers": "4.505"}).text
    assert "as you want it" in wished.split('id="e-trucks.centers">')[1].split("</span>\n<div")[0]
