"""``carwright shop``: what each word does, its status and JSON, and what is refused."""

from __future__ import annotations

import io
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from carwright.cli.main import main
from carwright.shop import open_shop
from carwright.web.accounts import Accounts

CAR = '[car]\nname = "Shed car"\n'
SHELF = '[shelf]\nunits = "in"\n\n[[shelf.strip]]\nname = "strip"\nthickness = "0.040"\nwidth = "0.060"\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder with a car file and a shelf file, in which the command runs and where its shop is."""
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "rack.toml").write_text(SHELF, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CARWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Run ``carwright shop`` and return its status and what it printed."""
    status = main(["shop", *words])
    printed = capsys.readouterr()
    return status, printed.out, printed.err


def test_files_go_in_and_come_out_again(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A car file is added, a shelf file becomes the shelf, a shelf's list goes into it; the car comes out as it was."""
    assert said(capsys, "list")[0] == 2
    status, out, _ = said(capsys, "import", "car.toml", "rack.toml")
    assert (status, out) == (0, "car.toml: added as shed-car\nrack.toml: the shelf, revision 1\n")
    (folder / "more.csv").write_text("table,name,thickness,width,length,count\nstrip,strip,,,14,3\n", encoding="utf-8")
    assert said(capsys, "import", "more.csv")[:2] == (0, "more.csv: the shelf, revision 2\n")
    with open_shop(folder / "data/shop.carwright") as shop:
        assert shop.shelf()[0].decode().startswith(SHELF)
        assert b"count = 3" in shop.shelf()[0]
    assert said(capsys, "export", "out.toml", "--car", "shed-car")[0] == 0
    assert (folder / "out.toml").read_text(encoding="utf-8") == CAR
    _, out, _ = said(capsys, "list", "--json")
    assert [each["car"] for each in json.loads(out)["cars"]] == ["shed-car"]


def test_copy_check_and_restore_go_together(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A copy brings back what was there, the check counts it and ends with 0, or with 1 where a document changed."""
    said(capsys, "import", "car.toml")
    assert said(capsys, "backup", "copy")[0] == 0
    said(capsys, "import", "car.toml")
    assert said(capsys, "restore", "copy")[0] == 0
    status, out, _ = said(capsys, "check", "--json")
    assert (status, json.loads(out)["cars"], json.loads(out)["faults"]) == (0, 1, [])
    with closing(sqlite3.connect(folder / "data/shop.carwright")) as raw:
        raw.execute("UPDATE document SET data = x'00'")
        raw.commit()
    status, out, _ = said(capsys, "check")
    assert status == 1
    assert "not as it was saved" in out
    assert "carwright shop restore" in out
    assert said(capsys, "migrate")[0] == 0


def test_a_clubs_accounts_are_made_listed_and_taken_away(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A name is added with a pass phrase from a pipe, opens the door, is listed, and after its removal does not."""
    monkeypatch.setattr("sys.stdin", io.StringIO("four words without sense\n"))
    assert said(capsys, "account", "add", "Ruth")[:2] == (0, "ruth may come in with this pass phrase.\n")
    with open_shop(folder / "data/shop.carwright") as shop:
        assert Accounts(shop).come_in("ruth", "four words without sense", "127.0.0.1").secret
    assert said(capsys, "account", "list")[1] == "ruth\n"
    monkeypatch.setattr("sys.stdin", io.StringIO("short\n"))
    assert said(capsys, "account", "add", "ada")[0] == 2
    assert said(capsys, "account", "remove", "Ruth")[0] == 0
    assert said(capsys, "account", "remove", "Ruth")[0] == 2
    assert said(capsys, "account", "list")[1] == "Nobody has a name here yet.\n"
    with open_shop(folder / "data/shop.carwright") as shop:
        assert not Accounts(shop).come_in("ruth", "four words without sense", "127.0.0.1").secret


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("backup",), "`carwright shop backup` takes more words"),
        (("check", "x"), "`carwright shop check` takes fewer words"),
        (("backup", "copy", "--shop", "nowhere"), "there is no shop there"),
        (("restore", "nowhere"), "there is no such copy"),
        (("import", "nowhere.toml"), "there is no such file"),
        (("export", "out", "--shop", "car.toml"), "damaged, or is no shop"),
        (("list", "--shop", "http://host/shop"), "a shop cannot be kept there"),
        (("bake",), "bake"),
        (("account", "add"), "cannot be done with an account"),
        (("account", "open", "ruth"), "cannot be done with an account"),
    ],
)
@pytest.mark.usefixtures("folder")
def test_slips_end_with_2_and_say_what_to_do(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str
) -> None:
    """A missing word, file or shop is one line on standard error, and nothing is made."""
    status, out, err = said(capsys, *words)
    assert (status, out) == (2, "")
    assert told in err
    assert not Path("nowhere").exists()


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"# Carwright\n\nThe bench of a car.\n", "this is no car file"),
        (bytes(range(256)) * 9, "the file is not a text"),
        (b"\xff\xd8\xff\xe0 picture \x80\x81", "the file is not UTF-8"),
        (b'[car]\nname = "Torn\n[bo', "this is no car file"),
        (b'[project]\nname = "other"\n', "it has no section of a car"),
        (b"car = 3\n", "it has no section of a car"),
        (b"", "this file is empty"),
        (b"x" * 3_000_000, "too big to be a car file"),
    ],
)
def test_what_is_no_car_file_is_refused_and_nothing_kept(
    folder: Path, capsys: pytest.CaptureFixture[str], data: bytes, told: str
) -> None:
    """A text, a picture, a torn or an empty file is refused with 2 and its name, and the good one beside it waits."""
    (folder / "other.toml").write_bytes(data)
    status, out, err = said(capsys, "import", "car.toml", "other.toml")
    assert (status, out) == (2, "")
    assert told in err
    assert "other.toml" in err
    assert said(capsys, "list")[1] == "There are no cars in the shop yet.\n"


def test_a_car_file_with_slips_comes_in_with_its_problems_told(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is a car file comes in byte for byte whatever its readings say; they are told, and the status is 1."""
    data = b'[car]\nname = "Half done"\n[body]\nlength = "far"\n'
    (folder / "half.toml").write_bytes(data)
    status, out, _ = said(capsys, "import", "half.toml")
    assert status == 1
    assert "half.toml: added as half-done; one thing in it cannot be used until it is mended:" in out
    assert "line 4, body.length" in out
    with open_shop(folder / "data/shop.carwright") as shop:
        assert shop.car("half-done").head.data == data


def test_a_car_that_is_there_is_not_added_again(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same bytes are named with the car that has them; other bytes of its name wait until it is said which car."""
    said(capsys, "import", "car.toml")
    (folder / "again.toml").write_text(CAR, encoding="utf-8")
    told = "again.toml: is in the shop already, as revision 1 of shed-car; nothing added\n"
    assert said(capsys, "import", "again.toml")[:2] == (0, told)
    (folder / "car.toml").write_text(CAR + "year = 1948\n", encoding="utf-8")
    status, out, err = said(capsys, "import", "car.toml")
    assert (status, out) == (2, "")
    assert "carwright shop import car.toml --car shed-car" in err
    assert said(capsys, "import", "car.toml", "--car", "shed-car")[:2] == (0, "car.toml: revision 2 of shed-car\n")
    assert "nothing added" in said(capsys, "import", "car.toml", "--car", "shed-car")[1]
    assert said(capsys, "import", "car.toml", "--car", "no-such")[0] == 2
    (folder / "twin.toml").write_text('[car]\nname = "Twin"\n', encoding="utf-8")
    (folder / "copy.toml").write_text('[car]\nname = "Twin"\n', encoding="utf-8")
    assert "copy.toml: is the same file as twin.toml" in said(capsys, "import", "twin.toml", "copy.toml")[1]
    _, out, _ = said(capsys, "list", "--json")
    assert [(each["car"], each["revision"]) for each in json.loads(out)["cars"]] == [("shed-car", 2), ("twin", 1)]


def test_a_shelf_with_slips_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A shelf's file that cannot be read does not become the shop's shelf."""
    (folder / "rack.toml").write_text('[[shelf.sheet]]\nthickness = "thick"\n', encoding="utf-8")
    status, _, err = said(capsys, "import", "rack.toml")
    assert status == 2
    assert "rack.toml, line 2, shelf.sheet[0].thickness" in err
    with open_shop(folder / "data/shop.carwright") as shop:
        assert shop.shelf() == (b"", 0)


def test_a_damaged_shop_is_a_fault_that_check_finds(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A shop whose file is broken through and through fails its check with 1, and the line says what to fetch."""
    (folder / "bad.carwright").write_bytes(b"SQLite format 3\x00" + bytes(range(256)) * 40)
    status, out, _ = said(capsys, "check", "--shop", "bad.carwright")
    assert status == 1
    assert "carwright shop restore COPY" in out
    assert said(capsys, "check", "--shop", "none.carwright")[0] == 2


@pytest.mark.parametrize("data", [b"no copy at all " * 99, b"SQLite format 3\x00" + bytes(range(256)) * 40, b""])
def test_a_bad_copy_is_not_mended_by_itself(folder: Path, capsys: pytest.CaptureFixture[str], data: bytes) -> None:
    """A copy that is damaged is refused with the advice to name another, not with the command just given."""
    said(capsys, "import", "car.toml")
    (folder / "bad.copy").write_bytes(data)
    status, _, err = said(capsys, "restore", "bad.copy")
    assert status == 2
    assert "Name another copy" in err
    assert "carwright shop restore" not in err
    assert said(capsys, "check")[0] == 0
