"""What the shop keeps beside the documents: when readings were taken, plans made, lots, plans taken from the shelf."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date

import pytest

from carwright.car.keys import keys
from carwright.problems import InputError
from carwright.shop import Shop
from carwright.shop.measuring import HANGS_ON, alike, in_words


def car(washers_a: str = "[]", *, gauged_a: str = "0.380", drop_b: str = "0.062", more: str = "") -> bytes:
    """Return a car file that was gauged at both ends."""
    return f"""[car]
name = "Gauged"
[trucks]
wheel_diameter = "0.38"
[trucks.a]
washers = {washers_a}
[coupler.b]
drop = "{drop_b}"
[found.a]
coupler_height = "{gauged_a}"
[found.b]
coupler_height = "0.388"
{more}""".encode()


def test_a_reading_hangs_on_keys_that_there_are() -> None:
    """Every key that can grow stale, and every key that it hangs on, is a key or table of the car file."""
    known = {key.path.replace("[]", "") for key in keys()} | {key.path.split("[")[0] for key in keys()}
    assert {*HANGS_ON, *(each for names in HANGS_ON.values() for each in names)} <= known


def test_a_gauged_height_is_stale_once_a_washer_went_in(shop: Shop) -> None:
    """A height gauged before washers went in at one end is stale at both, because the body tilts as one."""
    slug = shop.add_car(car()).slug
    assert shop.stale(slug) == []
    shop.save(slug, car('["0.010"]'), based_on=1)
    found = shop.stale(slug)
    assert [each.reading.key for each in found] == ["found.a.coupler_height", "found.b.coupler_height"]
    assert {(each.because, each.old, each.new, each.revision) for each in found} == {
        ("trucks.a.washers", "", "0.010", 2)
    }
    assert found[0].reading.taken_at == shop.revision(slug, 1).saved_at
    assert found[0].changed_at == shop.revision(slug, 2).saved_at


def test_a_size_given_for_the_first_time_makes_nothing_stale(shop: Shop) -> None:
    """A wheel's diameter typed where none stood changes nothing on the car; another one tells of both ends in one."""
    seats = b'[car]\nname = "Seats"\n[trucks]\n%b[trucks.a]\nseat_height = "0.284"\n[trucks.b]\nseat_height = "0.284"\n'
    slug = shop.add_car(seats % b"").slug
    shop.save(slug, seats % b'wheel_diameter = "33 in scale"\n', based_on=1)
    assert shop.stale(slug) == []
    for key in ("trucks.a.seat_height", "trucks.b.seat_height"):
        shop.measure(slug, key)
    shop.save(slug, seats % b'wheel_diameter = "36 in scale"\n', based_on=2)
    (both,) = alike(shop.stale(slug))
    assert in_words(*both) == (
        "Truck seat height at A and B, 0.284, was taken before wheel diameter changed from 33 in scale to "
        "36 in scale (revision 3)."
    )
    shop.save(slug, seats % b"", based_on=3)
    assert shop.stale(slug) == []


def test_a_coupler_changed_at_one_end_leaves_the_other_reading_fresh(shop: Shop) -> None:
    """What hangs under one end only makes only that end's reading stale."""
    slug = shop.add_car(car()).slug
    shop.save(slug, car(drop_b="0.070"), based_on=1)
    assert [(each.reading.key, each.because) for each in shop.stale(slug)] == [
        ("found.b.coupler_height", "coupler.b.drop")
    ]


def test_gauging_again_makes_it_fresh(shop: Shop) -> None:
    """A new height in the file is a reading taken then; the same height found again is noted by itself."""
    slug = shop.add_car(car()).slug
    shop.save(slug, car('["0.010"]'), based_on=1)
    shop.save(slug, car('["0.010"]', gauged_a="0.391"), based_on=2)
    assert [each.reading.key for each in shop.stale(slug)] == ["found.b.coupler_height"]
    shop.measure(slug, "found.b.coupler_height", by="Ada", note="with the height gauge")
    assert shop.stale(slug) == []
    newest = shop.measured(slug)[0]
    assert (newest.key, newest.value, newest.by, newest.revision) == ("found.b.coupler_height", "0.388", "Ada", 3)
    with pytest.raises(InputError, match="no reading of that key"):
        shop.measure(slug, "found.weight")


def test_a_change_taken_back_leaves_nothing_stale(shop: Shop) -> None:
    """Where the washers came out again, the car stands as it was gauged."""
    slug = shop.add_car(car()).slug
    shop.save(slug, car('["0.010"]'), based_on=1)
    shop.save(slug, car(), based_on=2)
    assert shop.stale(slug) == []


def test_the_change_that_counts_is_the_last_one(shop: Shop) -> None:
    """Of many saves since, the one is named with which the present value came."""
    slug = shop.add_car(car()).slug
    for number, text in enumerate(['["0.010"]', '["0.015"]', '["0.015"]'], start=1):
        shop.save(slug, car(text, more=f"# save {number}"), based_on=number)
    found = shop.stale(slug)[0]
    assert (found.revision, found.old, found.new) == (3, "", "0.015")


def test_what_was_decided_against_makes_nothing_stale(shop: Shop) -> None:
    """Washers in a save that was not chosen never went in."""
    slug = shop.add_car(car()).slug
    shop.save(slug, car(more="# hers"), based_on=1)
    shop.save(slug, car('["0.010"]'), based_on=1)
    shop.choose(slug, 2, over=(3,))
    assert shop.stale(slug) == []


def test_a_file_that_cannot_be_read_has_no_readings(shop: Shop) -> None:
    """A slip of typing makes nothing stale and loses no reading: mended, the file has its old ones."""
    slug = shop.add_car(car()).slug
    shop.save(slug, b"[car\n", based_on=1)
    assert shop.stale(slug) == []
    shop.save(slug, car('["0.010"]'), based_on=2)
    assert [each.revision for each in shop.measured(slug)] == [3, 3, 1, 1]


def test_a_plan_is_kept_with_what_it_was_made_from(shop: Shop) -> None:
    """A plan comes back with its document's hash, the program's version and the references' edition."""
    saved = shop.add_car(car())
    made = shop.plan_record(saved.slug, 1, saved.sha256, "0.1.0", "abcdef012345", b"%PDF", kind="book", by="Ada")
    assert shop.plans(saved.slug) == [made]
    assert (made.version, made.edition, made.sha256) == ("0.1.0", "abcdef012345", saved.sha256)
    assert shop.plan_data(saved.slug, made.id) == b"%PDF"
    with pytest.raises(InputError, match="not of that revision"):
        shop.plan_record(saved.slug, 1, "0" * 64, "0.1.0", "abcdef012345", b"")


def test_a_lot_names_its_cars_and_can_be_written_anew(shop: Shop) -> None:
    """A lot keeps day, price as typed and cars; changed, it is changed as a whole."""
    slugs = tuple(shop.add_car(b"", name=f"Car {n}").slug for n in range(2))
    lot = shop.add_lot("Box of shells", bought_on=date(2026, 2, 14), bought_for="35.00", note="no trucks", cars=slugs)
    assert shop.lots() == [lot]
    shop.change_lot(replace(lot, cars=slugs[:1], note=""))
    assert (shop.lots()[0].cars, shop.lots()[0].note) == (slugs[:1], "")
    other = shop.add_lot("Another", cars=slugs)
    assert [each.cars for each in shop.lots()] == [other.cars, ()]  # a car came in one lot
    with pytest.raises(InputError, match="no such lot"):
        shop.change_lot(replace(lot, id=99))
    with pytest.raises(InputError, match="no such car"):
        shop.add_lot("A third", cars=("nobody",))
    assert len(shop.lots()) == 2


def test_a_cutting_plan_is_taken_once(shop: Shop) -> None:
    """Eight threads that ask for the same plan at once take it once, and all hear which revision it made."""
    shop.save_shelf(b"full", based_on=0)
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda _: shop.take("a1b2", b"less", based_on=1, by="Ada"), range(8)))
    assert sorted(each.again for each in answers) == [False] + [True] * 7
    assert {each.revision for each in answers} == {2}
    assert shop.shelf() == (b"less", 2)
    assert [each.plan for each in shop.takings()] == ["a1b2"]


def test_a_plan_put_back_can_be_taken_again(shop: Shop) -> None:
    """Undoing gives the shelf without the plan as a revision of its own, once; then the plan may be taken anew."""
    shop.save_shelf(b"full", based_on=0)
    shop.take("a1b2", b"less", based_on=1)
    shop.undo_take("a1b2", b"full", based_on=2)
    assert shop.shelf() == (b"full", 3)
    with pytest.raises(InputError, match="put back already"):
        shop.undo_take("a1b2", b"full", based_on=3)
    assert not shop.take("a1b2", b"less", based_on=3).again


def test_a_plan_for_another_shelf_is_not_taken(shop: Shop) -> None:
    """A plan made before the shelf changed is refused, and neither shelf nor record moves."""
    shop.save_shelf(b"full", based_on=0)
    shop.save_shelf(b"fuller", based_on=1)
    with pytest.raises(InputError, match="shelf was changed since"):
        shop.take("a1b2", b"less", based_on=1)
    assert (shop.shelf(), shop.takings()) == ((b"fuller", 2), [])


def test_savers_in_many_threads_lose_nothing(shop: Shop) -> None:
    """Eight threads that save the same car at once get a number each, and every document is there."""
    slug = shop.add_car(car()).slug
    with ThreadPoolExecutor(8) as pool:
        saved = list(pool.map(lambda n: shop.save(slug, b"%d" % n, based_on=1), range(40)))
    assert sorted(each.revision for each in saved) == list(range(2, 42))
    assert {shop.revision(slug, each.revision).data for each in saved} == {b"%d" % n for n in range(40)}
    assert len(shop.car(slug).heads) == 40
