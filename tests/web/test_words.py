"""On a page, and in print made from one, there are letters, labels and buttons: no options, keys or lines of files."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator

import pypdfium2
import pytest
from fastapi.testclient import TestClient

from carwright.car.keys import keys
from carwright.problems import Problem
from carwright.shop import Shop
from carwright.web import printers
from carwright.web.words import on_page, problem_on_page

PROGRAM = re.compile(
    r"(?<!\w)--[a-z]|\bTOML\b|\bon line \d|\bLine \d|carwright [a-z]+|\[\[?[a-z]+(?:\.[a-z]+)?\]"
    r"|\b(?:car|body|trucks|coupler|underframe|found|finish|shelf|weight|gauge)(?:\[\d+\])?\.[a-z_]{3,}"
)
"""What belongs to the command line and to the car file."""

PLACES = (
    "/",
    "/new",
    "/shelf",
    "/print",
    "/keys",
    "/cutting",
    "/car/{slug}",
    "/new/{slug}/check",
    "/new/{slug}/letters",
    "/line/{slug}",
    "/print/{slug}",
    "/photographs/{slug}",
    "/choice/{slug}",
    "/car/{slug}/finish",
    "/car/{slug}?why=ride.a.coupler_height_mm",
)
WRONG = (
    {"trucks.seat_height": "28 ft"},
    {"coupler.pivot_inset": "25"},
    {"body.inside_width[1]": "x"},
    {"car.year": "lots"},
    {"trucks.washers": "a;b"},
    {"trucks.a.washers": "9"},
    {"body.lip_depth": "99"},
)


def talk(text: str) -> Iterator[str]:
    """Yield the lines of a page's text that speak of the program; what only the browser sees does not count."""
    shown = html.unescape(re.sub(r"<[^>]+>", "\n", text))
    for line in shown.splitlines():
        if PROGRAM.search(line) and not line.strip().endswith((".toml", ".toml)")):
            yield line.strip()


def test_pages_speak_of_letters_and_buttons(client: TestClient, shop: Shop) -> None:
    """No page of a car names an option, a key or a line of a file, neither with its findings nor with its errors."""
    shop.add_car(b'[car]\nname = "Bare"\n')
    for slug in [each.slug for each in shop.cars()]:
        for place in PLACES:
            where = place.format(slug=slug)
            assert [where, *talk(client.get(where).text)] == [where]
    for typed in WRONG:
        told = client.post("/car/double-door-boxcar", data={"base": "1", "do": "plan", **typed})
        assert told.status_code == 422, typed
        assert [typed, *talk(told.text)] == [typed]
    letters = {"body.length": "25 miles", "coupler.pivot_inset": "25", "body.inside_width": "1, x"}
    for where, data in (
        ("/new", {"car.scale": "QQ", "car.year": "x"}),
        ("/new/bare/letters", letters),
        ("/shelf/add", {"table": "sheet", "thickness": "x"}),
        ("/print", {"printer": "", "across": "50", "up": "zz"}),
    ):
        told = client.post(where, data=data)
        assert told.status_code == 422, where
        assert [where, *talk(told.text)] == [where]


def test_prints_speak_of_letters_and_buttons(client: TestClient, shop: Shop) -> None:
    """The sheet, the templates and the build book from a page send nobody to the command line."""
    printers.remember(shop, printers.measured("bench", "100", "100"))
    for what in ("sheet", "template", "book"):
        with pypdfium2.PdfDocument(client.get(f"/print/double-door-boxcar/{what}.pdf?printer=bench").content) as made:
            text = "\n".join(each.get_textpage().get_text_bounded() for each in made)
        assert [what, *talk(text)] == [what]
        assert len(text) > 500


def test_the_name_of_every_reading_fits_a_sentence() -> None:
    """A sentence that names a reading reads as one: no key is left in it, and no article stands before another."""
    for key in keys():
        told = on_page(f"Give {key.path}.")
        assert not re.search(r"\bthe (?:the|to|how|on|where|what)\b", told), told
        assert key.path not in told or key.section.startswith("shelf"), told
    said = problem_on_page(Problem("x", mend="Write year = 1948", key="car.year"))
    assert said.mend == "For example: 1948."


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("Take it with --take 3.", "It is way 3 of the ways to stand."),
        ("The body.length is on line 16; measure both again.", "Look at A body length too; measure both again."),
        ("Without it: needed with out_of_square.", "Without it: needed with gap at the square."),
        ('Give underframe.brake = "K".', 'Give the brake gear "K".'),
        ("0.142 in ± 0.002 in rect; 0.010 ± 0.001 normal", "0.142 in ± 0.002 in; 0.010 ± 0.001"),
        ("Give finish.old_family.", "Give the family of the old coat."),
        ("Say it (finish.glued), or wait.", "Say it (field “glues of its joints”), or wait."),
        ("Gloss it (finish.gloss = true), or wait.", "Gloss it (“gloss coat”: yes), or wait."),
        ("The truck stands 0.02 low.", "The truck stands 0.02 low."),
    ],
)
def test_a_sentence_is_said_otherwise(said: str, shown: str) -> None:
    """Options, keys and lines become ways, labels and letters; a sentence without them stays as it is."""
    assert on_page(said) == shown
