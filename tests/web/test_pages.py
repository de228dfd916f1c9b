"""What a person can do on the pages, by plain links and forms, with no script at all."""

from __future__ import annotations

import io
import re
import threading
import time
import tomllib
from datetime import UTC, datetime
from html import unescape
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from PIL import Image
from tests.draw.pixels import opened
from tests.draw.pixels import text_of as words_on
from tests.web.conftest import PLANK

from carwright import __version__
from carwright.car.read import read_car
from carwright.draw.bars import Correction
from carwright.reference.edition import edition
from carwright.shop import STAGES, Shop
from carwright.web import cutting
from carwright.web.app import create_app
from carwright.web.pages import moment
from carwright.web.printpage import printed
from carwright.web.settings import Settings

SHELF = """
[[shelf.sheet]]
name = "sheet 0.030"
thickness = "0.030"
width = "6"
length = "12"
count = 2
"""


def text_of(page: str) -> str:
    """Return a page's words without its tags."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_the_line_shows_every_car_at_its_stage(client: TestClient) -> None:
    """Each car stands under its stage, with a drawing by its file's hash, its next step and what it waits for."""
    page = client.get("/").text
    sections = dict(re.findall(r'<h2 class="stage-head" id="(\w+)">(.*?)</section>', page, re.DOTALL))
    assert list(sections) == ["lot", "cut"]
    assert "Flat car" in sections["cut"]
    assert "Double-door boxcar" in sections["lot"]
    assert len(re.findall(r'src="/elevation/[0-9a-f]{64}\.svg\?car=[\w-]+&amp;revision=1"', page)) == 3
    assert "kept here as a checklist" in text_of(sections["lot"])
    assert text_of(sections["cut"]).count("nothing: can be done now") == 1


def test_the_line_is_made_anew_when_something_changes(client: TestClient, shop: Shop) -> None:
    """A page that is kept is never shown for another state of the shop, nor for another reader's theme."""
    client.get("/")  # behind it the cars are planned
    first = client.get("/").text
    assert client.get("/").text == first
    shop.set_waits_for("flat-car", "screws 2-56")
    assert "screws 2-56" in client.get("/").text
    assert 'data-theme="dark"' in client.get("/", headers={"cookie": "theme=dark"}).text
    assert 'data-theme="' not in client.get("/").text


def test_the_worst_finding_appears_by_itself(client: TestClient, shop: Shop) -> None:
    """A car that the line, or its own page, was asked for is planned behind it: the next look names its worst finding.

    A car of which too little is known names what it waits for.
    """
    shop.add_car(b"[body]\nlength = '5 in'\n", name="Hardly measured")
    assert client.get("/?stage=cut").text.count("its plan is being made") == 1
    assert "its plan is being made" not in client.get("/?stage=cut").text
    client.get("/car/double-door-boxcar")
    assert client.get("/").text.count("its plan is being made") == 2
    line = client.get("/").text
    assert "its plan is being made" not in line
    assert "it needs J truck seat height" in line


def test_the_worst_finding_follows_the_shelf(client: TestClient, shop: Shop) -> None:
    """Stock put on the shelf, or taken off again, makes the line's findings and drawings anew; the car is the same."""
    client.get("/?stage=cut")
    before = client.get("/?stage=cut").text
    assert "too thick for webs and flanges" not in before
    shop.save_shelf(SHELF.replace("0.030", "0.125").encode(), based_on=0)
    client.get("/?stage=cut")
    after = client.get("/?stage=cut").text
    assert "The thinnest sheet on hand, 0.125 in, is too thick for webs and flanges" in after
    drawn = re.search(r'src="(/elevation/[^"]*&amp;shelf=[0-9a-f]+)"', after)
    assert drawn is not None
    assert "max-age" in client.get(unescape(drawn[1])).headers["cache-control"]
    shop.save_shelf(b"", based_on=1)
    assert client.get(unescape(drawn[1])).headers["cache-control"] == "no-store"
    assert "too thick for webs and flanges" not in client.get("/?stage=cut").text


def test_a_drawing_is_made_once(client: TestClient, shop: Shop) -> None:
    """Asking for a car's drawing plans it, and the line then names its worst finding."""
    card = next(each for each in shop.cars() if each.slug == "flat-car")
    drawn = client.get(f"/elevation/{card.sha256}.svg?car=flat-car&revision=1")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert "<style" not in drawn.text
    assert "its plan is being made" not in client.get("/?stage=cut").text
    again = client.get(f"/elevation/{card.sha256}.svg", headers={"if-none-match": drawn.headers["etag"]})
    assert again.status_code == 304


@pytest.mark.parametrize("name", ["0" * 64, "x", "../../etc/passwd", "A" * 64])
def test_a_drawing_that_there_is_not_is_not_found(client: TestClient, name: str) -> None:
    """Only a hash that a revision has leads to a drawing."""
    assert client.get(f"/elevation/{name}.svg?car=flat-car&revision=1").status_code == 404


def test_a_stage_with_many_cars_is_shown_forty_at_a_time(client: TestClient, shop: Shop) -> None:
    """The first forty of a stage are shown, and a link leads on to the rest, each car once."""
    for number in range(45):
        shop.add_car(b'[car]\nname = "Car"\n', name=f"Car {number}")
    page = client.get("/").text
    lot = page[page.index('id="lot"') : page.index('id="cut"')]
    first = re.findall(r'<h3><a href="/car/([\w-]+)">', lot)
    assert len(first) == 40
    link = re.search(r'href="(/\?stage=lot&amp;after=[\w-]+)"', page)
    assert link is not None
    rest = re.findall(r'<h3><a href="/car/([\w-]+)">', client.get(unescape(link[1])).text)
    assert len(rest) == 7
    assert not set(first) & set(rest)
    found = client.get("/?find=car+44").text
    assert re.findall(r'<h3><a href="/car/([\w-]+)">', found) == ["car-44"]


@pytest.mark.parametrize(
    ("asked", "status", "said"),
    [
        ("/car/flat-car/compare", 200, "Revisions side by side of Flat car"),
        ("/car/flat-car/compare?older=77", 404, "There is no such revision : 77. Accepted: 1 to 1."),
        ("/car/flat-car/compare?older=one", 422, "This is no number : one. Accepted: a whole number."),
        ("/car/flat-car/compare?older=-1", 422, "This is out of reach : -1. Accepted: 0 or more."),
        ("/print/flat-car/sheet.pdf?paper=a5", 422, "There is no such choice : a5. Accepted: letter or a4."),
        ("/photographs/flat-car/shown/9.jpg", 404, "There is no such photograph of this car : 9."),
    ],
)
def test_an_address_typed_wrong_leads_back_to_the_car(client: TestClient, asked: str, status: int, said: str) -> None:
    """What is wrong in an address is said in plain words, and the page leads to the car that was meant."""
    answer = client.get(asked)
    assert answer.status_code == status
    assert said in text_of(answer.text)
    assert 'href="/car/flat-car"' in answer.text
    assert "car’s file cannot be read" not in text_of(answer.text)


def test_moments_are_told_by_the_clock_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    """A save at 23:30 UTC stands under the next day in a house two hours east of Greenwich (1 August, UTC+2)."""
    monkeypatch.setenv("TZ", "HOUSE-2")
    time.tzset()
    try:
        assert moment(datetime(2026, 7, 31, 23, 30, tzinfo=UTC)) == "1 Aug 2026, 01:30"
    finally:
        monkeypatch.undo()
        time.tzset()


def test_a_new_car_goes_from_questions_to_a_book(client: TestClient, shop: Shop) -> None:
    """Questions, print check, letters, book: nothing but forms and links, and the check stands before the template."""
    made = client.post(
        "/new",
        data={
            "car.name": "Test gondola",
            "car.scale": "HO",
            "car.units": "in",
            "car.missing": ["underframe", "trucks"],
        },
    )
    assert made.headers["location"].startswith("/new/test-gondola/check?done=")
    check = client.get("/new/test-gondola/check").text
    assert "Print check" in check
    assert client.get("/print/check.pdf?paper=letter").content.startswith(b"%PDF")
    assert client.get("/print/test-gondola/sheet.pdf").content.startswith(b"%PDF")
    early = client.get("/print/test-gondola/template.pdf?printer=workshop")
    assert early.headers["location"] == "/print/test-gondola?check=first#check"
    kept = client.post(
        "/print",
        data={"printer": "workshop", "across": "99.7", "up": "100.1", "car": "test-gondola", "then": "new"},
    )
    assert kept.headers["location"] == "/new/test-gondola/check"
    letters = {"body.length": "6 1/8", "body.inside_length": "5.906, 5.904", "body.inside_width": "1.156"}
    saved = client.post("/new/test-gondola/letters", data={**letters, "based_on": "1"})
    assert saved.headers["location"].startswith("/car/test-gondola?done=")
    car = read_car(shop.car("test-gondola").head.data)
    assert car.info.missing == ("underframe", "trucks")
    assert [each.text for each in car.body.inside_length] == ["5.906", "5.904"]
    template = client.get("/print/test-gondola/template.pdf?printer=workshop&paper=a4")
    assert template.content.startswith(b"%PDF")
    assert client.get("/print/test-gondola/book.pdf?printer=workshop").content.startswith(b"%PDF")


def test_what_is_printed_is_planned_and_cut_out_of_the_shops_shelf(shop: Shop) -> None:
    """The book from the page has the layers of the shop's shelf, and does not ask to buy what lies there."""
    state = shop.add_car((files("carwright.demo") / "gondola.toml").read_bytes())
    text = "".join(
        f'[[shelf.sheet]]\nthickness = "{thick}"\nwidth = "6 in"\nlength = "12 in"\ncount = 5\n'
        for thick in ("0.015 in", "0.030 in")
    )
    kept = shop.shelf()
    shop.save_shelf(text.encode(), based_on=kept[1])
    told = {}
    for name, shelf in (("own", b""), ("shop", shop.shelf()[0])):
        data = printed(shop.car(state.slug), "book", paper="letter", correction=Correction(), shelf=shelf)
        with opened(data) as document:
            pages = [words_on(data, page) for page in range(len(document))]
        told[name] = next(page for page in pages if "Cut table" in page.splitlines()[0] or "Cut table" in page[:200])
    assert "sheet 0.020" in told["own"]
    assert "sheet 0.020" not in told["shop"]
    assert "sheet 0.030 + 0.015" in told["shop"].replace("\n", " ")


def test_what_cannot_be_used_stands_at_its_question(client: TestClient, shop: Shop) -> None:
    """A wrong answer comes back in its box with what is accepted; the others are saved all the same."""
    answer = client.post(
        "/new/flat-car/letters", data={"body.length": "25 miles", "body.width": "1.30", "based_on": "1"}
    )
    assert answer.status_code == 422
    field = answer.text[answer.text.index('id="body-length"') - 300 : answer.text.index('id="body-width"')]
    assert 'value="25 miles"' in field
    assert 'aria-invalid="true"' in field
    assert "Accepted" in field
    state = shop.car("flat-car")
    assert state.head.number == 2
    assert read_car(state.head.data).body.width.text == "1.30"


def test_readings_typed_side_by_side_are_told_to_take_a_comma(client: TestClient) -> None:
    """Two lengths with a space between them are refused with the very text that would do, and one typo is not."""
    answer = client.post("/new/flat-car/letters", data={"body.inside_length": "5.906 5.904", "based_on": "1"})
    assert 'Put a comma between readings: "5.906, 5.904".' in text_of(answer.text)
    answer = client.post("/new/flat-car/letters", data={"body.inside_length": "5.906 5.9o4", "based_on": "1"})
    assert "Put a comma" not in text_of(answer.text)


def test_two_hands_at_one_car_choose(client: TestClient, shop: Shop) -> None:
    """A save that was based on an older revision stands beside the newer, and the reader chooses; none is lost."""
    shop.save("flat-car", shop.car("flat-car").head.data + b"# by somebody else\n", based_on=1, by="other")
    late = client.post("/new/flat-car/letters", data={"body.width": "1.31", "based_on": "1"})
    assert late.headers["location"] == "/choice/flat-car?saved=3"
    assert "2 saves to choose from" in client.get("/").text
    page = text_of(client.get("/choice/flat-car").text)
    assert "by somebody else" in page
    assert "Body width 1.240 1.31" in page
    assert client.post("/choice/flat-car", data={"number": "3"}).headers["location"].startswith("/car/flat-car?done=")
    assert shop.car("flat-car").head.number == 3
    assert [each.number for each in shop.history("flat-car")] == [3, 2, 1]


def test_a_checklist_keeps_day_and_note(client: TestClient, shop: Shop) -> None:
    """A line is ticked off with its day and a note, and can be opened again; a day that is none is sent back."""
    item = shop.car("flat-car").checklist[-1].item
    fields = {"stage": STAGES[-1], "item": item, "note": "quiet on the 18 in curve"}
    assert client.post("/line/flat-car/tick", data={**fields, "done_on": "2026-11-24"}).status_code == 303
    assert str(shop.car("flat-car").checklist[-1].done_on) == "2026-11-24"
    page = text_of(client.get("/line/flat-car").text)
    assert f"{item} done on 24 Nov 2026: quiet on the 18 in curve" in page
    assert f"{shop.car('flat-car').checklist[0].item} next" in page
    wrong = client.post("/line/flat-car/tick", data={**fields, "done_on": "yesterday"})
    assert wrong.status_code == 422
    assert "This is not a day" in wrong.text
    client.post("/line/flat-car/tick", data={**fields, "reopen": "yes"})
    assert shop.car("flat-car").checklist[-1].done_on is None


def test_a_stage_or_a_word_with_no_car_says_so(client: TestClient) -> None:
    """Where nothing is found the line says that it is so and leads back to the whole; an unknown stage is the whole."""
    for asked, said in (("?stage=service", "No car at service"), ("?find=zeppelin", "No car with “zeppelin”")):
        page = client.get(f"/{asked}").text
        assert said in text_of(page)
        assert "The whole line" in text_of(page)
    assert client.get("/?stage=roundhouse").text.count('class="stage-head"') == 2


def test_a_car_file_comes_in_and_goes_out_byte_for_byte(client: TestClient, shop: Shop) -> None:
    """What was brought is what is handed out, comments and line ends too, and an earlier revision can be had back."""
    data = b'# mine\r\n[car]\r\nname = "Brought"\r\nscale = "HO"\r\n'
    brought = client.post("/import", files={"file": ("brought.toml", data)})
    assert brought.headers["location"].startswith("/car/brought?done=")
    assert client.get("/files/brought/1.toml").content == data
    client.post("/files/brought/import", data={"based_on": "1"}, files={"file": ("b.toml", data + b"# more\r\n")})
    client.post("/files/brought/restore", data={"number": "1"})
    assert shop.car("brought").head.number == 3
    assert shop.car("brought").head.data == data
    broken = client.post("/import", files={"file": ("broken.toml", b"[body]\nlength = 'far'\n")})
    assert broken.status_code == 422
    assert "Line 2, body.length" in broken.text


@pytest.mark.parametrize("path", ["/", "/new", "/import", "/files/flat-car", "/line/flat-car", "/tablet", "/keys"])
def test_pages_speak_of_cars_and_copies(client: TestClient, path: str) -> None:
    """A page is for somebody at a bench: it names a car and its copy, and the kind of a file only in a remark."""
    text = client.get(path).text.casefold()
    assert not re.search("car file|file changed|byte for byte|other programs|<code>", text)
    spoken = re.sub(r'(?s)<p class="note">.*?</p>|<[^>]*>', " ", text)
    assert ".toml" not in spoken


def test_the_shelf_is_filled_counted_and_listed(client: TestClient, shop: Shop) -> None:
    """Stock comes on, is counted, goes off, and leaves as a list; a stale count is refused."""
    first = {"table": "sheet", "units": "in", "thickness": "0.030", "width": "6", "length": "12", "count": "2"}
    assert client.post("/shelf/add", data=first).status_code == 303
    wrong = client.post("/shelf/add", data={**first, "thickness": "thick"})
    assert wrong.status_code == 422
    assert 'value="thick"' in wrong.text
    assert 'aria-describedby="stock-thickness-wrong"' in wrong.text
    beside = wrong.text[wrong.text.index('id="stock-thickness-wrong"') :]
    assert text_of(beside[beside.index(">") + 1 :]).startswith("This is not a length : thick.")
    washer = client.post("/shelf/add", data={"table": "washer", "thickness": "0.010", "count": "5"})
    assert washer.status_code == 422
    assert "Hole of the washer is missing" in text_of(washer.text)
    count = {"table": "sheet", "at": "0", "based_on": "1", "count": "5"}
    assert client.post("/shelf/count", data=count).status_code == 303
    assert client.post("/shelf/count", data=count).status_code == 422
    assert "0.030,6,12" in re.sub(r",+", ",", client.get("/shelf/shelf.csv").text)
    assert client.post("/shelf/count", data={**count, "based_on": "2", "drop": "yes"}).status_code == 303
    assert "Nothing on the shelf yet" in client.get("/shelf").text
    brought = client.post("/shelf/import", files={"file": ("s.csv", b"table,thickness,count\nwasher,0.010,12\n")})
    assert brought.status_code == 303
    assert b"washer" in shop.shelf()[0]


def test_the_shelf_asks_and_gives_back(client: TestClient, shop: Shop) -> None:
    """A letter among figures is refused, a size that stock hardly has is asked about, and the last change is undone."""
    first = {"table": "sheet", "units": "in", "thickness": "0.030", "width": "6", "length": "12", "count": "2"}
    letter = client.post("/shelf/add", data={**first, "thickness": "8O"})
    assert "A letter stands among the figures : 8O. Accepted:" in text_of(letter.text)
    assert 'Did you mean "80"?' in text_of(letter.text)
    thick = {**first, "thickness": "1", "material": "styrene"}
    asked = client.post("/shelf/add", data=thick)
    assert (asked.status_code, shop.shelf()) == (422, (b"", 0))
    assert "Is this right? The thickness of the sheet is usually less : 1. It was read as 1 in, 25.4 mm." in text_of(
        asked.text
    )
    assert 'name="sure"' in asked.text
    assert client.post("/shelf/add", data={**thick, "sure": "yes"}).status_code == 303
    client.post("/shelf/add", data=first)
    two = shop.shelf()[0]
    row = {"table": "sheet", "at": "0", "based_on": "2"}
    assert client.post("/shelf/count", data={**row, "drop": "yes"}).status_code == 303
    page = client.get("/shelf").text
    assert "Last change: styrene sheet 1 (sheet 1), 1 thick, 12 × 6 was taken off the shelf." in text_of(page)
    assert client.post("/shelf/back", data={"revision": "2"}).status_code == 422
    # The other window still shows both rows: its count goes to the row that it was typed at.
    assert client.post("/shelf/count", data={**row, "at": "1", "count": "7"}).status_code == 303
    assert b"count = 7" in shop.shelf()[0]
    gone = client.post("/shelf/count", data={**row, "count": "9"})
    assert "This row is not on the shelf any more : styrene sheet 1 (sheet 1)." in text_of(gone.text)
    stale = client.post("/shelf/count", data={**row, "at": "1", "count": "8"})
    assert "This row was changed meanwhile : 7. Nothing was changed." in text_of(stale.text)
    assert 'name="count" value="8" aria-invalid="true"' in stale.text
    for revision in ("4", "5"):
        assert client.post("/shelf/back", data={"revision": revision}).status_code == 303
    assert shop.shelf_history()[0].note.startswith("Once more: of sheet 0.030")
    assert client.post("/shelf/back", data={"revision": "6"}).status_code == 303
    assert shop.shelf()[0].count(b"[[shelf.sheet]]") == 1
    assert two.count(b"[[shelf.sheet]]") == 2


def test_forms_that_are_empty_broken_or_late_come_back_whole(client: TestClient, shop: Shop) -> None:
    """Shelf, cutting and print answer an empty, broken or late form with their own page, each slip at its box."""
    shop.save_shelf(SHELF.encode(), based_on=0)
    row = {"table": "sheet", "thickness": "0.040", "width": "wide", "length": "12", "count": "-3", "cost": "much"}
    told = client.post("/shelf/add", data=row).text
    assert re.findall(r'id="stock-(\w+)-wrong"', told) == ["width", "count", "cost"]
    assert all(f'value="{text}"' in told for text in row.values() if text not in ("sheet",))
    for path, data, words in (
        ("/shelf/count", {}, "This row is not on the shelf any more"),
        ("/shelf/undo", {}, "This cutting was undone already"),
        ("/shelf/back", {}, "The shelf was changed meanwhile"),
        ("/shelf/choice", {"number": "9"}, "somebody may have chosen already : 9"),
        ("/cutting/take", {}, "No car is ticked"),
        ("/cutting/take", {"car": "flat-car", "kerf": "25 mm", "revision": "1"}, "No saw cuts so wide"),
        ("/cutting/take", {"car": "flat-car", "revision": "0"}, "The shelf was changed since the plan was made"),
        ("/print", {}, "This cannot be a printer's name"),
        ("/print", {"printer": "x" * 300, "across": "99", "up": "9" * 300}, "A printed bar cannot be so far out"),
    ):
        answer = client.post(path, data=data)
        assert answer.status_code == 422, path
        assert words in text_of(answer.text), (path, data)
        assert f'aria-current="page">{path.split("/")[1].capitalize()}' in answer.text
    many = client.get("/cutting", params={"turn": "yes", "car": [f"car-{number}" for number in range(61)]})
    assert "These are too many cars for one plan : 61 cars" in text_of(many.text)
    assert shop.shelf()[1] == 1


def test_a_list_with_slips_is_shown_and_mended(client: TestClient, shop: Shop) -> None:
    """A list with slips comes in nowhere: its good lines are shown, its text is kept, and either can then be put on."""
    text = "table,name,thickness,width,length\nsheet,good,0.030,6,12\nshet,odd,0.030,6,12\nsheet,bad,thick,6,12\n"
    shown = client.post("/shelf/import", files={"file": ("s.csv", text.encode())})
    assert shown.status_code == 422
    assert shop.shelf()[0] == b""
    words = text_of(shown.text)
    assert "2 lines to mend Line 3 shet,odd,0.030,6,12 There is no such stock : shet." in words
    assert "1 line: 1 new" in words
    assert text in shown.text
    only = {"name": "s.csv", "text": text, "only": "good"}
    assert client.post("/shelf/import", data=only).status_code == 303
    assert b'"good"' in shop.shelf()[0]
    mended = text.replace("shet", "sheet").replace("thick,6", "0.040,6")
    assert client.post("/shelf/import", data={"name": "s.csv", "text": mended}).status_code == 303
    assert b'"bad"' in shop.shelf()[0]
    assert b'"odd"' in shop.shelf()[0]


def test_a_plan_is_taken_once_and_undone(client: TestClient, shop: Shop) -> None:
    """Taking a plan lowers the shelf once, however often the button is pressed, and undo restores it byte for byte."""
    shop.add_car(PLANK, name="Plank")
    shelf = SHELF.encode()
    shop.save_shelf(shelf, based_on=0)
    page = client.get("/cutting?car=plank")
    assert page.status_code == 200, text_of(page.text)
    assert "Take it from the shelf" in page.text
    form = {"car": "plank", "revision": "1"}
    assert client.post("/cutting/take", data=form).headers["location"] == "/shelf#taken"
    assert b"count = 1" in shop.shelf()[0]
    assert client.post("/cutting/take", data=form).headers["location"] == "/shelf#taken"
    assert shop.shelf()[1] == 2
    assert "These pieces were taken on" in text_of(client.get("/cutting?car=plank").text)
    plan = shop.takings()[0].plan
    page = text_of(client.get("/shelf").text)
    assert "Plank, " in page
    assert re.search(r"offcut [\d.]+ x [\d.]+ of sheet 0\.030 .* left from cutting Plank", page)
    assert "Last change" not in page
    assert plan not in text_of(client.get("/shelf").text)
    assert client.post("/shelf/undo", data={"plan": plan}).status_code == 303
    again = client.post("/shelf/undo", data={"plan": plan})
    assert "This cutting was undone already" in text_of(again.text)
    assert shop.shelf()[0] == shelf
    assert shop.shelf_history()[0].note == "Undid the cutting for Plank"


def test_a_plan_that_takes_long_is_told_of_at_once(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """While a cut is planned the page says so and looks again, with scripts and without; no car ticked is told too."""
    shop.add_car(PLANK, name="Plank")
    shop.save_shelf(SHELF.encode(), based_on=0)
    go_on, make = threading.Event(), cutting._made

    def slowly(*args: Any) -> Any:
        assert go_on.wait(60)
        return make(*args)

    monkeypatch.setattr(cutting, "_made", slowly)
    with TestClient(create_app(shop, Settings(patience_s=0.0)), base_url="http://127.0.0.1:8765") as client:
        asked = "/cutting?find=&sought=&car=plank&kerf=&turn=yes"
        first = client.get(asked)
        assert (first.status_code, "The cut is being planned" in first.text) == (200, True)
        assert "data-wait" in first.text
        assert '<noscript><meta http-equiv="refresh"' in first.text
        go_on.set()
        for _ in range(600):
            page = client.get(asked).text
            if "data-wait" not in page:
                break
            time.sleep(0.05)
        assert "Take it from the shelf" in page
        assert "refresh" not in page
        nothing = client.get("/cutting?find=&sought=&kerf=0.3+mm&turn=no")
        assert nothing.status_code == 422
        assert "No car is ticked" in text_of(nothing.text)
        assert 'value="0.3 mm"' in nothing.text
        far = client.get(asked.replace("kerf=", "kerf=far"))
        assert re.search(r'id="kerf"[^>]*aria-invalid="true"', far.text)
        assert re.search(r'value="plank" checked', far.text)
        found = client.get("/cutting?find=box&sought=&car=plank&kerf=&turn=yes").text
        assert re.search(r'value="plank" checked', found)
        assert "data-wait" not in found


def test_a_piece_that_nothing_serves_is_left_out(client: TestClient, shop: Shop) -> None:
    """Where nothing on the shelf serves a piece, the page lets it be left out; the rest is taken, and then said so."""
    shop.save_shelf(SHELF.encode(), based_on=0)
    car = "double-door-boxcar"
    page = client.get("/cutting", params={"car": car}).text
    assert "Not to be taken yet" in page
    assert "Take it from the shelf" not in page
    names = re.findall(r'name="out" value="([^"]+)"', page[page.index("<h2>Not on the shelf") :])
    assert names
    page = client.get("/cutting", params={"car": car, "out": names}).text
    assert "Not cut this time: " in text_of(page)
    assert "Take it from the shelf" in page
    assert client.post("/cutting/take", data={"car": car, "revision": "1", "out": names}).status_code == 303
    assert "were taken on" in client.get("/cutting", params={"car": car, "out": names}).text
    assert "were taken on" not in client.get("/cutting", params={"car": car}).text
    assert client.get("/cutting", params={"car": car, "out": "nothing"}).status_code == 422


def test_pieces_of_a_plan_are_counted_by_what_becomes_of_them(client: TestClient, shop: Shop) -> None:
    """Cut, left out, unserved, unplanned pieces are all there are; ticks of a car that left the plan do no harm."""
    shop.add_car(PLANK, name="Plank")
    shop.save_shelf(SHELF.encode(), based_on=0)

    def told(cars: list[str], out: list[str]) -> str:
        answer = client.get("/cutting", params={"car": cars, "out": out})
        assert answer.status_code == 200, text_of(answer.text)
        return text_of(answer.text)

    box = told(["double-door-boxcar"], [])
    told_of = (
        r"(\d+) pieces?, cut as .* Of all (\d+) pieces (\d+) have nothing on the shelf, (\d+) are not planned here"
    )
    found = re.search(told_of, box)
    assert found, box
    cut, every, lacking, apart = map(int, found.groups())
    assert cut + lacking + apart == every
    assert "bolster a and bolster b: bolster 0.165 high" in box
    assert f"there is no better way to cut these; nothing on the shelf for {lacking} others" in box
    both = told(["double-door-boxcar", "plank"], ["plank/floor", "double-door-boxcar/screw_block_truck_a"])
    assert f"Of all {every + 1} pieces 2 are left out, {lacking} have nothing on the shelf" in both
    assert "Plank: 1 piece from 1 sheet." in told(["plank"], ["double-door-boxcar/floor", "plank/no such piece"])


def test_two_hands_at_the_shelf_choose(client: TestClient, shop: Shop) -> None:
    """Two saves of one state of the shelf are both kept, and the page asks which shall count."""
    shop.save_shelf(SHELF.encode(), based_on=0)
    shop.save_shelf(SHELF.replace("count = 2", "count = 1").encode(), based_on=1)
    shop.save_shelf(SHELF.replace("count = 2", "count = 7").encode(), based_on=1, by="ruth")
    assert "Go on with revision 3" in client.get("/shelf").text
    assert client.post("/shelf/choice", data={"number": "3"}).status_code == 303
    assert b"count = 7" in shop.shelf()[0]
    assert "at once" not in client.get("/shelf").text


def test_a_photograph_is_shown_without_what_it_tells(client: TestClient, shop: Shop, tmp_path: Path) -> None:
    """What is shown of a photograph has no place and no camera; what is no picture is sent back."""
    picture = Image.new("RGB", (400, 300), "gray")
    notes = Image.Exif()
    notes[0x010F] = "A camera"
    file = io.BytesIO()
    picture.save(file, "JPEG", exif=notes)
    done = client.post(
        "/photographs/flat-car/photographs",
        data={"kind": "as found", "caption": "from the left"},
        files={"file": ("a.jpg", file.getvalue())},
    )
    assert done.headers["location"].startswith("/photographs/flat-car?done=")
    assert "The photograph of Flat car is added" in text_of(client.get(done.headers["location"]).text)
    number = shop.photos("flat-car")[0].id
    assert f"/photographs/flat-car/thumb/{number}.jpg" in client.get("/photographs/flat-car").text
    shown = client.get(f"/photographs/flat-car/shown/{number}.jpg").content
    assert not Image.open(io.BytesIO(shown)).getexif()
    assert b"A camera" not in shown
    broken = client.post("/photographs/flat-car/photographs", files={"file": ("a.jpg", b"not a picture")})
    assert broken.status_code == 422


def test_what_is_typed_is_never_markup(client: TestClient, shop: Shop) -> None:
    """A name with tags in it is shown as it was typed, everywhere."""
    nasty = '<b onmouseover="x()">Car</b>'
    slug = shop.add_car(b'[car]\nname = "x"\n', name=nasty).slug
    shop.set_waits_for(slug, "<i>glue</i>")
    for path in ("/", f"/line/{slug}", f"/print/{slug}", f"/files/{slug}", f"/choice/{slug}", "/cutting", "/print"):
        page = client.get(path).text
        assert nasty not in page, path
        assert "<i>glue" not in page, path


def test_a_reading_that_may_no_longer_hold_is_told_and_taken_again(client: TestClient, shop: Shop) -> None:
    """A height gauged before washers went in stands on the stages' page, and in the JSON, until it is taken again."""
    gauged = b'[car]\nname = "Gauged"\n[trucks]\nwashers = []\n[found.a]\ncoupler_height = "0.380"\n'
    shop.add_car(gauged)
    assert "To be measured again" not in client.get("/line/gauged").text
    shop.save("gauged", gauged.replace(b"[]", b'["0.010"]'), based_on=1)
    page = text_of(client.get("/line/gauged").text)
    assert "Coupler height found at A, 0.380, was taken before washer fitted changed from nothing to 0.010" in page
    (told,) = client.get("/api/v1/cars/gauged/stale").json()
    assert (told["key"], told["because"], told["revision"]) == ("found.a.coupler_height", "trucks.washers", 2)
    assert client.post("/line/gauged/measured", data={"key": told["key"]}).status_code == 303
    assert client.get("/api/v1/cars/gauged/stale").json() == []
    assert client.post("/line/gauged/measured", data={"key": "found.weight"}).status_code == 422


def test_what_was_printed_is_kept_with_what_it_was_made_from(client: TestClient, shop: Shop) -> None:
    """A print is kept once with revision, version and edition, comes back as it was, and says what changed since."""
    client.post("/print", data={"printer": "workshop", "across": "100", "up": "100"})
    address = "/print/flat-car/template.pdf?printer=workshop"
    first = client.get(address).content
    assert client.get(address).content == first
    (made,) = shop.plans("flat-car")
    assert (made.kind, made.revision, made.version, made.edition) == ("template", 1, __version__, edition())
    assert client.get(f"/print/flat-car/kept/{made.id}.pdf").content == first
    assert client.get("/print/flat-car/kept/99.pdf").status_code in (404, 422)
    assert "of the car and the shelf as they are now" in text_of(client.get("/print/flat-car").text)
    shop.save_shelf(SHELF.encode(), based_on=0)
    said = text_of(client.get("/print/flat-car").text)
    old = r"stale Templates of revision 1 \d+ \w+ \d{4}: the shelf was changed since\. Print it again before you cut\."
    assert re.search(old, said)
    shop.save("flat-car", shop.car("flat-car").head.data + b"# measured again\n", based_on=1)
    assert "the car was saved and the shelf was changed since" in client.get("/print/flat-car").text


def test_a_car_is_put_into_the_lot_it_came_in(client: TestClient, shop: Shop) -> None:
    """A lot is begun on one car's page and chosen on another's; a car is in one lot, and a day that is none is told."""
    fields = {"lot_name": "Box of shells", "bought_on": "2026-02-14", "bought_for": "35.00"}
    assert client.post("/line/flat-car/lot", data=fields).status_code == 303
    (lot,) = shop.lots()
    assert client.post("/line/covered-bogie-wagon/lot", data={"number": lot.id}).status_code == 303
    page = text_of(client.get("/line/flat-car").text)
    assert "Box of shells, bought on 14 Feb 2026, for 35.00, with 1 more" in page
    client.post("/line/flat-car/lot", data={"lot_name": "Another"})
    assert [(each.name, each.cars) for each in shop.lots()] == [
        ("Another", ("flat-car",)),
        ("Box of shells", ("covered-bogie-wagon",)),
    ]
    wrong = client.post("/line/flat-car/lot", data={**fields, "bought_on": "in spring"})
    assert (wrong.status_code, "This is not a day" in wrong.text) == (422, True)


def test_a_measurement_has_its_small_picture(client: TestClient) -> None:
    """The letters each stand beside a picture, a page's script fetches others by the key, and a name has none."""
    assert client.get("/new/flat-car/letters").text.count('class="dwg small"') == 13
    drawn = client.get("/measure/body.lug%5B%5D.depth.svg")
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert "T18" in drawn.text
    for nothing in ("car.name", "nobody", "body.length.x"):
        assert client.get(f"/measure/{nothing}.svg").status_code == 404


def test_a_finish_tells_its_acts_and_why_they_wait(client: TestClient, shop: Shop) -> None:
    """A scheme gives acts, waits with their reasons, masks and paint; a car without one asks for it and then has it."""
    page = text_of(client.get("/car/double-door-boxcar/finish").text)
    assert "Labels first" in page
    assert "common practice" in page
    assert "Hatched is under tape" in page
    for words in (
        "Stripper, mildest first",
        "Tried and left out: alkaline household cleaner (it failed, by the log).",
        "under tape: sides and doors",
    ):
        assert words in page
    assert "one loading of the gun for edges of several colours" in page
    shop.add_car(b"[body]\nlength = '5 in'\nwidth = '1.2 in'\nheight = '1 in'\n", name="Unpainted")
    assert "No colour scheme yet" in client.get("/car/unpainted/finish").text
    kept = client.post("/car/unpainted/finish", data={"base": "1", "finish.scheme": "sides grey, roof black"})
    assert (kept.status_code, kept.headers["location"].partition("?")[0]) == (303, "/car/unpainted/finish")
    assert "<strong>grey</strong>, <strong>black</strong>" in client.get("/car/unpainted/finish").text
    shop.save("unpainted", shop.car("unpainted").head.data.replace(b"roof black", b"wings black"), based_on=2)
    wrong = client.get("/car/unpainted/finish")
    assert (wrong.status_code, "No such part of a car : wings" in text_of(wrong.text)) == (422, True)
    assert "acts and waits" not in client.get("/").text
    shop.set_stage("double-door-boxcar", "finish")
    assert "/car/double-door-boxcar/finish" in client.get("/").text


@pytest.mark.parametrize(
    ("slot", "typed", "told"),
    [
        ("finish.scheme", "sides grey, roff black", ("No such part of a car : roff.", "Did you mean roof?")),
        ("finish.temperature", "64", ("This is no temperature of a room : 64.", "64 F, or 64 C.")),
        ("paint[0].family", "chalk", ("There is no such family of paints : chalk.", "acrylic")),
    ],
)
def test_what_cannot_be_used_of_a_finish_stays_in_its_field(
    client: TestClient, shop: Shop, slot: str, typed: str, told: tuple[str, ...]
) -> None:
    """A slip on the finish page saves nothing, keeps what was typed, and says at the field what would be accepted."""
    wrong = client.post("/car/double-door-boxcar/finish", data={"base": "1", slot: typed, "finish.humidity": "44 %"})
    at_field = wrong.text.partition(f'data-slot="{slot}"')[2].partition('class="field')[0]
    assert wrong.status_code == 422
    assert [each for each in (typed, "Accepted: ", *told) if each not in text_of(at_field)] == []
    assert "44 %" in wrong.text
    assert "Nothing was saved." in wrong.text
    assert "First coat: grey on sides" in text_of(wrong.text)
    assert shop.car("double-door-boxcar").head.number == 1


def test_a_family_chosen_on_the_finish_page_is_a_paint_of_its_own(client: TestClient, shop: Shop) -> None:
    """Families chosen for coats whose paint nobody named become paints behind those there are, and the finding goes.

    The word none is a list that is known to be empty.
    """
    before = shop.car("double-door-boxcar").head.data
    page = client.get("/car/double-door-boxcar/finish").text
    assert ('name="family of primer"' in page, "The family of the primer was not said" in page) == (True, True)
    typed = {"base": "1", "family of primer": "lacquer", "finish.glue_to": "none"}
    assert client.post("/car/double-door-boxcar/finish", data=typed).status_code == 303
    paints = [tomllib.loads(each.decode())["paint"] for each in (before, shop.car("double-door-boxcar").head.data)]
    assert paints[1] == [*paints[0], {"colour": "primer", "family": "lacquer"}]
    assert b"glue_to = []" in shop.car("double-door-boxcar").head.data
    after = client.get("/car/double-door-boxcar/finish").text
    assert "The family of the primer was not said" not in after
    assert "none" in after.partition('name="finish.glue_to"')[2].partition("</textarea>")[0]
