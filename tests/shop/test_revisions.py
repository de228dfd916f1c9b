"""The shop keeps every save: none is refused for another's, none is changed, and choosing loses nothing."""

from __future__ import annotations

import sqlite3
from contextlib import suppress
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from carwright.problems import InputError
from carwright.shop import STAGES, Digest, Shop, open_shop, papers
from carwright.shop.engine import engine_of, writing

CAR = b'[car]\nname = "Caf\xc3\xa9 car No. 7"\n'


def test_a_document_comes_back_byte_for_byte(shop: Shop) -> None:
    """What was saved is given back unchanged, also bytes that are no car file and no text."""
    saved = shop.add_car(CAR)
    odd = bytes(range(256)) + b"\r\n\x00"
    shop.save(saved.slug, odd, based_on=1, by="Ada", note="as received")
    head = shop.car(saved.slug).head
    assert (head.data, head.number, head.by, head.note) == (odd, 2, "Ada", "as received")
    assert shop.revision(saved.slug, 1).data == CAR


def test_a_car_is_called_what_its_file_says(shop: Shop) -> None:
    """A car's name is its file's; its short name is plain letters, and the next of the same name gets a number."""
    slugs = [shop.add_car(CAR).slug for _ in range(3)]
    assert slugs == ["cafe-car-no-7", "cafe-car-no-7-2", "cafe-car-no-7-3"]
    assert shop.car("cafe-car-no-7").name == "Caf\u00e9 car No. 7"
    assert shop.add_car(b"\xff not a car file").slug == "car"
    assert shop.add_car(b"", name="Con").slug == "con-car"


def test_two_saves_of_one_revision_stand_beside_each_other(shop: Shop) -> None:
    """A save based on what is no longer the head is kept beside it, and both authors' bytes are there."""
    slug = shop.add_car(CAR).slug
    first = shop.save(slug, b"hers", based_on=1, by="Ada")
    second = shop.save(slug, b"his", based_on=1, by="Bob")
    assert (first.revision, first.beside) == (2, ())
    assert (second.revision, second.beside) == (3, (2,))
    state = shop.car(slug)
    assert [each.data for each in state.heads] == [b"hers", b"his"]
    assert state.head.number == 2
    assert shop.cars()[0].beside == 1


def test_going_on_from_a_save_that_stands_beside_replaces_that_one_only(shop: Shop) -> None:
    """Each of two people may save on without becoming a third, and without moving the other's."""
    slug = shop.add_car(CAR).slug
    shop.save(slug, b"hers", based_on=1)
    shop.save(slug, b"his", based_on=1)
    again = shop.save(slug, b"his, again", based_on=3)
    assert again.beside == (2,)
    assert [each.number for each in shop.car(slug).heads] == [2, 4]


def test_choosing_settles_it_and_keeps_all(shop: Shop) -> None:
    """The chosen one becomes the head, what it was chosen over is no longer offered and stays in the history."""
    slug = shop.add_car(CAR).slug
    shop.save(slug, b"hers", based_on=1)
    shop.save(slug, b"his", based_on=1)
    chosen = shop.choose(slug, 3, over=(2,), by="Bob")
    assert (chosen.revision, chosen.beside) == (3, ())
    assert [each.number for each in shop.car(slug).heads] == [3]
    assert [each.number for each in shop.history(slug)] == [3, 2, 1]
    assert shop.revision(slug, 2).data == b"hers"
    assert shop.save(slug, b"late", based_on=2).beside == (3,)


def test_a_choice_that_somebody_made_already_is_not_made_again(shop: Shop) -> None:
    """Who chooses from what no longer stands there is told so, and nothing moves."""
    slug = shop.add_car(CAR).slug
    shop.save(slug, b"hers", based_on=1)
    shop.save(slug, b"his", based_on=1)
    shop.choose(slug, 3, over=(2,))
    with pytest.raises(InputError, match="somebody may have chosen already"):
        shop.choose(slug, 2, over=(3,))
    with pytest.raises(InputError, match="somebody may have chosen already"):
        shop.choose(slug, 3, over=(3,))
    assert shop.car(slug).head.number == 3


def test_a_save_that_arrives_during_a_choice_is_not_lost_by_it(shop: Shop) -> None:
    """A save that the chooser had not seen still stands beside the chosen one."""
    slug = shop.add_car(CAR).slug
    shop.save(slug, b"hers", based_on=1)
    shop.save(slug, b"his", based_on=1)
    shop.save(slug, b"a third", based_on=1)
    assert shop.choose(slug, 3, over=(2,)).beside == (4,)


@pytest.mark.parametrize("based_on", [-1, 2, 10**9])
def test_a_save_needs_a_revision_that_there_is(shop: Shop, based_on: int) -> None:
    """A save based on a revision that was never made is a slip of the caller's and is not kept."""
    slug = shop.add_car(CAR).slug
    with pytest.raises(InputError, match="no such revision"):
        shop.save(slug, b"x", based_on=based_on)
    assert [each.number for each in shop.history(slug)] == [1]


def test_a_document_larger_than_a_car_file_may_be_is_refused(shop: Shop) -> None:
    """More than a million bytes are no car file and are not taken in."""
    with pytest.raises(InputError, match="larger than a car file"):
        shop.add_car(b"#" * 1_000_001)
    assert shop.cars() == []


def test_the_line_goes_through_all_cars_once(shop: Shop) -> None:
    """Page after page of cars names each one once, last changed first, and the counts agree."""
    for number in range(25):
        shop.add_car(CAR, name=f"Car {number}")
    shop.set_stage("car-7", "gauge")
    seen: list[str] = []
    while page := shop.cars(limit=10, after=seen[-1] if seen else None):
        seen += [each.slug for each in page]
    assert seen == ["car-7", *(f"car-{n}" for n in reversed(range(25)) if n != 7)]
    assert shop.counts() == {stage: {"lot": 24, "gauge": 1}.get(stage, 0) for stage in STAGES}
    assert [each.slug for each in shop.cars(stage="gauge")] == ["car-7"]


def test_ticking_off_moves_the_next_step(shop: Shop) -> None:
    """The next step is the first open line of the car's stage, and a line can be opened again."""
    slug = shop.add_car(CAR).slug
    first, second = (each.item for each in shop.car(slug).checklist if each.stage == "lot")
    shop.tick(slug, "lot", first, date(2026, 3, 2), "in daylight")
    assert shop.cars()[0].next_step == second == shop.car(slug).next_step
    assert shop.car(slug).checklist[0].done_on == date(2026, 3, 2)
    shop.tick(slug, "lot", first, None)
    assert shop.cars()[0].next_step == first
    with pytest.raises(InputError, match="no such line"):
        shop.tick(slug, "lot", "Sing", date(2026, 3, 2))


def test_the_short_of_a_plan_belongs_to_its_document(shop: Shop) -> None:
    """A kept verdict shows on the card of the document and shelf that it was reckoned for, and of no later ones."""
    saved = shop.add_car(CAR)
    shop.put_digest(saved.sha256, Digest("fail", "Coupler A stands low."))
    shop.put_digest(saved.sha256, Digest("watch", "Coupler A stands a little low.", b"{}"))
    assert shop.cars()[0].worst == Digest("watch", "Coupler A stands a little low.")
    assert shop.get_digest(saved.sha256) == Digest("watch", "Coupler A stands a little low.", b"{}")
    shop.save_shelf(b"# empty", based_on=0)
    assert (shop.cars()[0].worst, shop.get_digest(saved.sha256)) == (None, None)
    shop.put_digest(saved.sha256, Digest("ok", ""), shelf=shop.shelf_mark())
    assert shop.cars()[0].worst == Digest("ok", "")
    shop.save(saved.slug, b"other", based_on=1)
    assert shop.cars()[0].worst is None


def test_the_journal_tells_what_came_after(shop: Shop) -> None:
    """Every operation writes one entry, and asking for what came after a number gives the rest in order."""
    slug = shop.add_car(CAR).slug
    at = shop.last_change()
    shop.save(slug, b"x", based_on=1, by="Ada")
    shop.set_stage(slug, "survey")
    shop.set_waits_for(slug, "wheels from the post")
    shop.save_shelf(b"", based_on=0)
    shop.put_setting("printer/attic", "1.0 1.0")
    after = shop.changes(at)
    assert [(each.kind, each.slug, each.revision, each.by) for each in after] == [
        ("revision", slug, 2, "Ada"),
        ("stage", slug, 0, ""),
        ("car", slug, 0, ""),
        ("shelf", "", 1, ""),
        ("setting", "", 0, ""),
    ]
    assert [each.number for each in after] == list(range(at + 1, at + 6))
    assert shop.changes(shop.last_change()) == []
    assert shop.settings("printer/") == {"printer/attic": "1.0 1.0"}


def test_the_shelf_is_kept_like_a_car(shop: Shop) -> None:
    """An empty shelf has revision 0; later saves stand beside each other and are chosen from as a car's."""
    assert shop.shelf() == (b"", 0)
    assert shop.save_shelf(b"one", based_on=0).revision == 1
    shop.save_shelf(b"two", based_on=1)
    assert shop.save_shelf(b"three", based_on=1).beside == (2,)
    assert shop.shelf() == (b"two", 2)
    shop.choose_shelf(3, over=(2,))
    assert shop.shelf() == (b"three", 3)
    assert [each.number for each in shop.shelf_history()] == [3, 2, 1]


def test_what_is_not_there_is_said_to_be_not_there(shop: Shop) -> None:
    """An unknown car, revision, stage or photograph is a slip of the caller's, told as one."""
    slug = shop.add_car(CAR).slug
    for ask, words in (
        (lambda: shop.car("nobody"), "no such car"),
        (lambda: shop.cars(after="nobody"), "no such car"),
        (lambda: shop.revision(slug, 9), "no such revision"),
        (lambda: shop.set_stage(slug, "attic"), "no such stage"),  # type: ignore[arg-type]
        (lambda: shop.photo(slug, 1), "no such photograph"),
    ):
        with pytest.raises(InputError, match=words):
            ask()


def test_another_program_sees_it_at_once(shop: Shop) -> None:
    """A second opening of the same file reads what the first has saved, and the first what the second has."""
    slug = shop.add_car(CAR).slug
    with open_shop(shop.place.path or shop.place.url) as other:
        assert other.save(slug, b"by the other", based_on=1).revision == 2
    assert shop.car(slug).head.data == b"by the other"


def test_a_save_costs_the_same_however_many_there_were(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted in steps of the database's machine, a save after 1,500 others costs what one after ten does."""
    steps = 0

    def count() -> int:
        nonlocal steps
        steps += 1
        return 0

    opened = sqlite3.connect

    def connect(*words: object, **more: object) -> sqlite3.Connection:
        made = opened(*words, **more)  # type: ignore[call-overload]
        made.set_progress_handler(count, 1)
        return made  # type: ignore[no-any-return]

    monkeypatch.setattr(sqlite3.dbapi2, "connect", connect)
    costs = []
    with open_shop(tmp_path / "shop.carwright") as shop:
        slug = shop.add_car(CAR).slug
        place, number = shop.place, 1
        for many in (10, 1_500):
            engine = engine_of(place)
            with writing(engine, place) as connection:
                while number < many:
                    of = papers.paper_named(connection, "car", slug)
                    assert of is not None
                    data, at = b"save %d" % number, datetime(2026, 3, 1, tzinfo=UTC)
                    number, _ = papers.add_revision(
                        connection, of, data, based_on=number, at=at, by="", note="", kind="saved"
                    )
            engine.dispose()
            shop.save(slug, b"warm %d" % number, based_on=number)
            steps = 0
            number = shop.save(slug, b"counted %d" % number, based_on=number + 1).revision
            costs.append(steps)
    assert costs[1] <= costs[0] * 1.05


@pytest.mark.parametrize("text", ["\ud800", "a\x00b", "\u2032 \U0001f682", "x" * 100_000])
def test_any_text_is_kept_or_refused_and_nothing_between(shop: Shop, text: str) -> None:
    """Half characters and zeros, which a database may not have, are refused as a slip or kept as they are."""
    slug = shop.add_car(CAR).slug
    for act in (
        lambda: shop.save(slug, b"x", based_on=1, by=text, note=text),
        lambda: shop.set_waits_for(slug, text),
        lambda: shop.put_setting(text, text),
        lambda: shop.rename(slug, text),
        lambda: shop.add_lot("Box", note=text),
    ):
        with suppress(InputError):
            act()
    with pytest.raises(InputError):
        shop.car(text)
    for number in (-1, 10**12, 10**30):
        with pytest.raises(InputError):
            shop.revision(slug, number)
    state = shop.car(slug)
    assert state.head.note in ("", text)
    assert state.waits_for in ("", text.strip())
    assert shop.check().faults == ()
