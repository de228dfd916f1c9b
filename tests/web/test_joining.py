"""Two saves of one car put into one: what each changed is kept, what both changed is chosen, nothing is lost."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient

from carwright.car.write import Written, set_values
from carwright.shop import Shop
from carwright.web.done import done_told
from carwright.web.readings import texts_of

SLUG = "double-door-boxcar"


def _twice(shop: Shop, first: dict[str, Written], second: dict[str, Written]) -> bytes:
    base = shop.car(SLUG).head.data
    for changes in (first, second):
        shop.save(SLUG, set_values(base, changes), based_on=1)
    return base


def _values(data: bytes) -> dict[str, str]:
    return texts_of(data)


def test_changes_of_different_things_are_both_kept(client: TestClient, shop: Shop) -> None:
    """The file made of both differs from the first one's in what both changed and nothing else; both saves stay."""
    base = _twice(shop, {"car.year": "1950", "weight.target": "100 g"}, {"trucks.a.seat_height": "0.279"})
    page = client.get(f"/choice/{SLUG}?saved=3").text
    assert "saved twice from the same revision, 1" in page
    assert "kept as revision 3" in page
    kept = client.post(f"/choice/{SLUG}/both", data={"saves": "2 3"})
    assert kept.headers["location"].startswith(f"/car/{SLUG}?done=")
    state = shop.car(SLUG)
    assert [each.number for each in state.heads] == [4]
    before, now = _values(base), _values(state.head.data)
    assert {slot: now.get(slot) for slot in {**before, **now} if before.get(slot) != now.get(slot)} == {
        "car.year": "1950",
        "weight.target": "100 g",
        "trucks.a.seat_height": "0.279",
    }
    assert [each.number for each in shop.history(SLUG, limit=9)] == [4, 3, 2, 1]
    again = client.post(f"/choice/{SLUG}/both", data={"saves": "2 3"})
    assert again.status_code == 422


@pytest.mark.parametrize("right", [2, 3])
def test_what_both_changed_is_chosen_field_by_field(client: TestClient, shop: Shop, right: int) -> None:
    """Nothing is put together until it is said which is right; then that stands, with what only one of them changed."""
    _twice(shop, {"car.year": "1950", "car.built": "1940"}, {"car.year": "1951", "body.width": "1.301"})
    assert 'name="choose:car.year"' in client.get(f"/choice/{SLUG}").text
    unsaid = client.post(f"/choice/{SLUG}/both", data={"saves": "2 3"})
    assert unsaid.status_code == 422
    assert "year modelled" in unsaid.text
    sent = {"number": 2, "others": [3], "choose": {"car.year": right}}
    assert client.post(f"/api/v1/cars/{SLUG}/join", json=sent).status_code == 201
    now = _values(shop.car(SLUG).head.data)
    assert (now["car.year"], now["car.built"], now["body.width"]) == (str(1948 + right), "1940", "1.301")


def test_what_does_not_go_together_is_not_offered(client: TestClient, shop: Shop) -> None:
    """A narrower body in one and a wider inside in the other cannot both be right: each is offered alone."""
    _twice(shop, {"body.width": "1.18"}, {"body.inside_width": ["1.2", "1.2", "1.2"]})
    page = client.get(f"/choice/{SLUG}").text
    assert "cannot be put into one" in page
    assert f"/choice/{SLUG}/both" not in page
    assert client.post(f"/choice/{SLUG}/both", data={"saves": "2 3"}).status_code == 422
    assert [each.number for each in shop.car(SLUG).heads] == [2, 3]


def test_a_reading_of_one_side_is_stale_where_the_other_moved_what_it_hangs_on(shop: Shop, client: TestClient) -> None:
    """A coupler height read on the car as it was counts as taken before the other's new washers."""
    _twice(shop, {"trucks.washers": "0.020"}, {"found.a.coupler_height": "0.380"})
    assert client.post(f"/choice/{SLUG}/both", data={"saves": "2 3"}).status_code == 303
    (found,) = (each for each in shop.stale(SLUG) if each.reading.key == "found.a.coupler_height")
    assert found.because.startswith("trucks")


def test_every_act_that_saves_is_confirmed_in_a_sentence(client: TestClient, shop: Shop) -> None:
    """Keeping, choosing, joining, going back to a revision, moving along and ticking off say what was saved and when.

    A revision made of two is listed with both, each with what moved from there; nothing is told of long ago, or of an
    act that there was not.
    """
    when = r"\d{1,2} [A-Z][a-z]{2} \d{4}, \d\d:\d\d"

    def told(address: str, **data: str) -> str:
        answer = client.post(address, data=data)
        assert answer.status_code == 303
        page = client.get(answer.headers["location"]).text
        found = re.search(r'<p id="news"[^>]* role="status"[^>]*>([^<]*)</p>', page)
        assert found is not None
        return found[1]

    car = f"/car/{SLUG}"
    kept = told(car, base="1", do="keep", **{"coupler.drop": "0.061"})
    assert re.fullmatch(rf"Saved as revision 2, {when}\. Coupler drop: 0.061, was 0.062\.", kept)
    assert told(car, base="2", do="back") == "Gone back to what was saved; nothing was changed."
    shop.save(SLUG, set_values(shop.car(SLUG).head.data, {"car.year": "1950"}), based_on=2)
    shop.save(SLUG, set_values(shop.revision(SLUG, 2).data, {"car.built": "1941"}), based_on=2)
    joined = told(f"/choice/{SLUG}/both", saves="3 4")
    assert re.fullmatch(rf"Revisions 3 and 4 are put into one, saved as revision 5, {when}\.", joined)
    listed = client.get(f"/files/{SLUG}").text
    assert '<span class="note">from 3 and 4</span>' in listed
    assert all(f"{car}/compare?older={older}&amp;newer=5" in listed for older in (3, 4))
    again = told(f"/files/{SLUG}/restore", number="2")
    assert re.fullmatch(rf"Saved as revision 6, {when}\. Back to revision 2\.", again)
    assert re.fullmatch(rf"Double-door boxcar stands at survey, {when}\.", told(f"/line/{SLUG}/stage", stage="survey"))
    ticked = told(f"/line/{SLUG}/tick", stage="survey", item="Print the measuring sheet", done_on="2026-11-25")
    assert re.fullmatch(rf"The checklist of Double-door boxcar is kept, {when}\.", ticked)
    last = str(shop.last_change())
    assert done_told(shop, last).said
    assert not done_told(shop, last, now=datetime.now(UTC) + timedelta(hours=1)).said
    for other in ("999999", "-1", "x", "9" * 30):
        assert 'aria-live="polite"></p>' in client.get(f"{car}?done={other}").text


def test_a_save_is_taken_back_by_the_sentence_that_tells_it(client: TestClient, shop: Shop) -> None:
    """The confirmation of a save leads back to the revision before it, and never over what was saved meanwhile."""
    address = client.post(f"/car/{SLUG}", data={"base": "1", "do": "keep", "coupler.drop": "0.061"}).headers["location"]
    page = client.get(address).text
    assert '<input type="hidden" name="based_on" value="2"><button name="number" value="1">Back to revision 1<' in page
    back = client.post(f"/files/{SLUG}/restore", data={"based_on": "2", "number": "1"}).headers["location"]
    assert shop.car(SLUG).head.data == shop.revision(SLUG, 1).data
    assert 'name="number" value="2">Back to revision 2<' in client.get(back).text
    assert "Back to revision" not in client.get(address).text  # revision 3 counts now
    beside = client.post(f"/files/{SLUG}/restore", data={"based_on": "2", "number": "1"})
    assert beside.headers["location"] == f"/choice/{SLUG}?saved=4"
