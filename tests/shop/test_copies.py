"""Copies are made while the shop is in use, and put back without losing what stood there."""

from __future__ import annotations

import re
import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from carwright.shop import ShopFault, open_shop
from carwright.shop.copies import backup, restore
from carwright.shop.places import place_of

NOW = datetime(2026, 3, 1, 9, tzinfo=UTC)


def test_a_copy_made_while_others_save_is_of_one_moment(tmp_path: Path) -> None:
    """A copy taken during a thousand small saves opens, is sound, and has every revision up to some number."""
    path = tmp_path / "shop.carwright"
    with open_shop(path) as shop:
        slug = shop.add_car(b"0").slug
        done = threading.Event()

        def save() -> None:
            number = 1
            while not done.is_set():
                number = shop.save(slug, b"%d" % number, based_on=number).revision

        saver = threading.Thread(target=save)
        saver.start()
        try:
            while shop.car(slug).head.number < 5:
                pass
            backup(shop.place, tmp_path / "copy")
        finally:
            done.set()
            saver.join()
        last = shop.car(slug).head.number
    with open_shop(tmp_path / "copy") as copied:
        head = copied.car(slug).head
        assert 5 <= head.number <= last
        assert head.data == b"%d" % (head.number - 1)
        assert len(copied.history(slug, limit=10_000)) == head.number
        assert copied.check().faults == ()


def test_a_copy_does_not_go_over_another_file(tmp_path: Path) -> None:
    """A file that is there already is refused and stays as it is."""
    open_shop(tmp_path / "shop").close()
    (tmp_path / "copy").write_bytes(b"mine")
    with pytest.raises(ShopFault, match="a file of that name already"):
        backup(place_of(tmp_path / "shop"), tmp_path / "copy")
    assert (tmp_path / "copy").read_bytes() == b"mine"


def test_a_copy_put_back_keeps_what_stood_there(tmp_path: Path) -> None:
    """After restoring, the shop is as in the copy, also for a program that has it open, and the later state is kept."""
    path, copy = tmp_path / "shop.carwright", tmp_path / "copy"
    with open_shop(path) as shop:
        slug = shop.add_car(b"first").slug
        backup(shop.place, copy)
        shop.save(slug, b"second", based_on=1)
        aside = restore(shop.place, copy, at=NOW)
        assert shop.car(slug).head.data == b"first"
        assert shop.save(slug, b"goes on", based_on=1).revision == 2
        assert shop.check().faults == ()
    assert aside is not None
    with open_shop(aside) as before:
        assert before.car(slug).head.data == b"second"


@pytest.mark.parametrize("damage", [b"", b"not a database at all" * 400])
def test_a_damaged_shop_is_put_aside_whole(tmp_path: Path, damage: bytes) -> None:
    """Where the file is beyond reading, restoring moves it aside byte for byte and puts the copy in its place."""
    path, copy = tmp_path / "shop.carwright", tmp_path / "copy"
    with open_shop(path) as shop:
        slug = shop.add_car(b"first").slug
        backup(shop.place, copy)
    path.write_bytes(damage)
    aside = restore(place_of(path), copy, at=NOW)
    assert aside is not None
    if damage:  # an empty file is a sound database without tables, and its copy may have a page
        assert aside.read_bytes() == damage
    with open_shop(path) as shop:
        assert shop.car(slug).head.data == b"first"


def test_a_shop_that_is_only_locked_stays_where_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the shop cannot be written just now, restoring says so and neither moves nor changes it."""
    monkeypatch.setattr("carwright.shop.copies._WAIT_S", 0.1)
    path, copy = tmp_path / "shop.carwright", tmp_path / "copy"
    with open_shop(path) as shop:
        slug = shop.add_car(b"first").slug
        backup(shop.place, copy)
        shop.save(slug, b"second", based_on=1)
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(ShopFault, match="in use by another program"):
                restore(shop.place, copy, at=NOW)
            other.execute("ROLLBACK")
        assert shop.car(slug).head.data == b"second"


def test_what_is_no_copy_is_not_put_back(tmp_path: Path) -> None:
    """No file, some other file, another database and a damaged copy are refused; the shop stays as it is."""
    path, copy = tmp_path / "shop.carwright", tmp_path / "copy"
    with open_shop(path) as shop:
        for number in range(40):
            shop.add_car(b"%d" % number * 500, name=f"Car {number}")
        backup(shop.place, copy)
        damaged = bytearray(copy.read_bytes())
        damaged[8192:20_000] = bytes(20_000 - 8192)

        def refused(data: bytes | None, words: str) -> None:
            bad = tmp_path / "bad"
            bad.unlink(missing_ok=True)
            if data is not None:
                bad.write_bytes(data)
            with pytest.raises(ShopFault, match=words):
                restore(shop.place, bad, at=NOW)

        refused(None, "no such copy")
        refused(b"hello" * 1000, "damaged, or is no copy of a shop")
        refused(b"", "this file is empty")
        refused(bytes(damaged), "damaged")
        assert shop.counts()["lot"] == 40
    assert not list(tmp_path.glob("*before-restore*"))


def test_a_whole_shop_goes_to_plain_files_and_back(where: str, tmp_path: Path, clock: Callable[[], datetime]) -> None:
    """Exported, read into an empty shop of any kind and exported again, a folder is the same byte for byte."""
    with open_shop(tmp_path / "first", clock=clock) as shop:
        slug = shop.add_car(b'[car]\nname = "=SUM(1)"\n', by="Ada").slug
        shop.save(slug, bytes(range(256)), based_on=1, note="odd bytes \u2032")
        shop.save(slug, b"[found]\ncoupler_height = 9\r\n", based_on=1)
        shop.choose(slug, 3, over=())
        shop.set_stage(slug, "build")
        shop.tick(slug, "cut", "Cut the pieces", NOW.date(), "slowly")
        shop.photo_add(slug, b"camera", kind="as found", caption="A end", shown=b"shown", thumb=b"small")
        shop.plan_record(slug, 3, shop.car(slug).head.sha256, "0.1.0", "abc", b"%PDF-1.7", kind="book")
        shop.add_lot("Box", bought_on=NOW.date(), bought_for="35.00", cars=(slug,))
        shop.save_shelf(b'[shelf]\nunits = "in"\n', based_on=0)
        shop.take("a1b2", b'[shelf]\nunits = "in"\n# less\n', based_on=1)
        shop.put_setting("printer.attic", "{}")
        shop.put_setting("account.ada", "a hash")
        count = shop.export_folder(tmp_path / "one", originals=True)
        files = [each for each in (tmp_path / "one").rglob("*") if each.is_file()]
        assert len(files) == count
        assert (tmp_path / "one/cars/sum-1/revisions/0002.toml").read_bytes() == bytes(range(256))
        assert "'=SUM(1)" in (tmp_path / "one/cars.csv").read_text(encoding="utf-8")
        assert "a hash" not in (tmp_path / "one/shop.json").read_text(encoding="utf-8")
    with open_shop(where) as second:
        assert second.import_folder(tmp_path / "one") == 1
        assert [each.number for each in second.car(slug).heads] == [3, 2]
        assert second.photo(slug, second.photos(slug)[0].id, "original") == b"camera"
        assert second.takings()[0].plan == "a1b2"
        assert second.check().faults == ()
        second.export_folder(tmp_path / "two", originals=True)
        assert second.plans(slug)[0].shelf == ""
        # New rows get numbers of their own after those that came.
        assert second.save(slug, b"goes on", based_on=3).revision == 4
        assert second.add_car(b"another").slug == "car"
        second.export_folder(tmp_path / "three")
    for path in files:
        name = path.relative_to(tmp_path / "one")
        assert (tmp_path / "two" / name).read_bytes() == path.read_bytes(), name
    assert len(list((tmp_path / "two").rglob("*"))) == len(list((tmp_path / "one").rglob("*")))
    # Unless they are asked for, the camera's own files do not leave the shop.
    assert b"camera" not in {each.read_bytes() for each in (tmp_path / "three").rglob("*") if each.is_file()}


def test_a_file_without_a_shop_is_not_touched(tmp_path: Path, clock: Callable[[], datetime]) -> None:
    """An empty file and another program's database stay as they are, with nothing put beside them.

    Where a shop may be made, it is made in the empty one.
    """
    empty, other = tmp_path / "empty.shop", tmp_path / "other.db"
    empty.touch()
    with closing(sqlite3.connect(other)) as made:
        made.execute("CREATE TABLE recipes (name)")
        made.commit()
    before = other.read_bytes()
    for path, words in ((empty, "empty"), (other, "not a shop's")):
        for create in (False, True):
            if create and path is empty:
                continue
            with pytest.raises(ShopFault, match=words):
                open_shop(path, create=create)
    with pytest.raises(ShopFault, match="empty"):
        backup(place_of(empty), tmp_path / "copy.shop")
    for path, words in ((empty, "empty"), (other, "no copy")):
        with pytest.raises(ShopFault, match=words):
            restore(place_of(tmp_path / "new.shop"), path, at=clock())
    assert sorted(each.name for each in tmp_path.iterdir()) == ["empty.shop", "other.db"]
    assert (empty.read_bytes(), other.read_bytes()) == (b"", before)
    with open_shop(empty) as shop:
        assert shop.counts()["lot"] == 0


def test_a_folder_of_an_earlier_version_comes_in(tmp_path: Path) -> None:
    """What an earlier version did not write yet is not known afterwards, and nothing else is missing."""
    with open_shop(tmp_path / "first") as shop:
        head = shop.car(shop.add_car(b"car").slug).head
        shop.plan_record("car", 1, head.sha256, "0.1.0", "abc", b"%PDF-1.7", kind="book")
        shop.export_folder(tmp_path / "out")
    index = tmp_path / "out" / "shop.json"
    index.write_text(re.sub(r',\s*"shelf": ""', "", index.read_text(encoding="utf-8")), encoding="utf-8")
    assert '"shelf"' not in index.read_text(encoding="utf-8")
    with open_shop(tmp_path / "second") as second:
        second.import_folder(tmp_path / "out")
        assert second.plans("car")[0].shelf is None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"slug": "car"', '"slug": "../../car"', "no car can be called"),
        ('"stage": "lot"', '"stage": "attic"', "stage of car cannot be"),
        ('"number": 1', '"number": "1"', "number of revision cannot be"),
        ('"head": 1', '"head": 7', "no revision 7"),
        ('"saved_at": "', '"saved_at": "yesterday', "saved_at of revision cannot be"),
        ('"paper_id": 1', '"paper_id": 5', "do not fit together"),
        ('"format": 1', '"format": 2', "newer version"),
        ('"tables"', '"chairs"', "cannot be read"),
    ],
)
def test_a_folder_that_was_tampered_with_is_refused_whole(tmp_path: Path, old: str, new: str, words: str) -> None:
    """A name that leads elsewhere, a stage or number that is none, rows without owners: nothing of it is taken in."""
    with open_shop(tmp_path / "first") as shop:
        shop.add_car(b"first")
        shop.export_folder(tmp_path / "out")
    index = tmp_path / "out/shop.json"
    text = index.read_text(encoding="utf-8")
    assert old in text
    index.write_text(text.replace(old, new), encoding="utf-8")
    with open_shop(tmp_path / "second") as shop:
        with pytest.raises(ValueError, match=words):
            shop.import_folder(tmp_path / "out")
        assert (shop.cars(), shop.last_change()) == ([], 0)


def test_a_changed_or_linked_file_of_a_folder_is_refused(tmp_path: Path) -> None:
    """A revision that is not as it was exported, or leads out of the folder, is named, and nothing is taken in."""
    with open_shop(tmp_path / "first") as shop:
        shop.add_car(b"first")
        shop.export_folder(tmp_path / "out")
        with pytest.raises(ValueError, match="something of that name"):
            shop.export_folder(tmp_path / "out")
        with pytest.raises(ValueError, match="only be read into an empty one"):
            shop.import_folder(tmp_path / "out")
    file = tmp_path / "out/cars/car/revisions/0001.toml"
    with open_shop(tmp_path / "second") as shop:
        file.write_bytes(b"second")
        with pytest.raises(ValueError, match="not as it was exported"):
            shop.import_folder(tmp_path / "out")
        file.unlink()
        file.symlink_to(tmp_path / "first")
        with pytest.raises(ValueError, match="leads out of the folder"):
            shop.import_folder(tmp_path / "out")
        assert shop.cars() == []
