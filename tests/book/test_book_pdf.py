"""The book as a file: pages, margins, bars, tags, the same bytes again."""

from __future__ import annotations

import re

import pytest
from tests.book.cars import CARS, DEMO, plan_named
from tests.draw.pixels import PER_MM, TOLERANCE_MM, dark, lying, opened, runs, standing, text_of

from carwright.book.contents import book_pages, book_pdf
from carwright.book.studied import study
from carwright.draw.bars import Correction
from carwright.draw.pdf import MARGIN_MM, Paper

_LISTED = re.compile(r"^(\S.*?)\s*(?:\. ?){2,}\s*(\d+)\s*$", re.MULTILINE)
"""A line of the list of contents: title, dots, page."""


def _titles(data: bytes) -> list[tuple[str, int]]:
    """Return the titles of the outline's first level, each with the page that it leads to, counted from 0."""
    with opened(data) as document:
        return [
            (entry.get_title(), int(dest.get_index()))
            for entry in document.get_toc()
            if entry.level == 0 and (dest := entry.get_dest()) is not None
        ]


@pytest.mark.parametrize("name", CARS)
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_nothing_reaches_into_the_margins(name: str, paper: Paper) -> None:
    """Every page of every car keeps its white margins of 14 mm (0.4 mm for pens), on Letter and A4."""
    data = book_pdf(plan_named(name), paper=paper)
    edge = int((MARGIN_MM - 0.4) * 60 / 25.4)
    with opened(data) as document:
        count = len(document)
    assert count >= 10
    for page in range(count):
        ink = dark(data, page, 60)
        assert not ink[:edge].any(), page
        assert not ink[-edge:].any(), page
        assert not ink[:, :edge].any(), page
        assert not ink[:, -edge:].any(), page


@pytest.mark.parametrize("name", DEMO)
def test_every_true_size_page_has_true_bars(name: str) -> None:
    """Each page that says true size carries bars of 100.0 and 101.6 mm both ways, to 0.1 mm; no cover needs them."""
    data = book_pdf(plan_named(name))
    true_size = [page for title, page in _titles(data) if "true size" in title]
    assert len(true_size) >= 4
    for page in true_size:
        ink = dark(data, page)
        assert lying(ink) == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM), page
        assert standing(ink) == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM), page


def test_pieces_are_true_to_size_on_paper() -> None:
    """The centre sill's sides of the boxcar are as long on paper as in the plan, to 0.1 mm, by counting pixels."""
    plan = plan_named("boxcar")
    data = book_pdf(plan)
    with opened(data) as document:
        page = next(n for n in range(len(document)) if "Centre sill side left" in text_of(data, n) and "Pieces" in
                    text_of(data, n))  # fmt: skip
    ink = dark(data, page)
    upper = ink[int(30 * PER_MM) : int(150 * PER_MM), int(30 * PER_MM) :]
    lengths = {round((stop - start) / PER_MM, 2) for line in upper for start, stop in runs(line)}
    sill = next(piece for piece in plan.pieces if piece.name == "center_sill_side_left")
    # a line of 0.25 mm is as much longer than the distance between its corners
    assert any(abs(length - 0.25 - sill.length_mm.value) < TOLERANCE_MM for length in lengths)


def test_correction_reaches_true_size_only() -> None:
    """With a correction the bars grow by it, and the ride-height page stays the same."""
    plan = plan_named("boxcar")
    plain, corrected = book_pdf(plan), book_pdf(plan, correction=Correction(1.01, 0.99))
    page = next(page for title, page in _titles(corrected) if title.startswith("Floor templates"))
    ink = dark(corrected, page)
    assert lying(ink) == pytest.approx([101.0, 102.616], abs=TOLERANCE_MM)
    assert standing(ink) == pytest.approx([99.0, 100.584], abs=TOLERANCE_MM)
    assert (dark(plain, 2, 100) == dark(corrected, 2, 100)).all()


@pytest.mark.parametrize("name", ["boxcar", "flat_car", "nothing"])
def test_same_car_same_bytes(name: str) -> None:
    """Two runs give the same file, byte for byte."""
    assert book_pdf(plan_named(name)) == book_pdf(plan_named(name))


def test_book_is_tagged_titled_and_without_a_date() -> None:
    """The file claims PDF/UA-1, is tagged, has title, language and outline, carries its fonts, and no date."""
    data = book_pdf(plan_named("boxcar"))
    with opened(data) as document:
        about = document.get_metadata_dict()
        outline = [entry.get_title() for entry in document.get_toc()]
    assert about["Title"] == "Build book: Double-door boxcar"
    assert not about["CreationDate"]
    assert "Order of work" in outline
    assert b"/StructTreeRoot" in data
    assert b"pdfuaid" in data
    assert b"/Lang" in data


@pytest.mark.parametrize("name", ["boxcar", "new_wheels", "shell"])
def test_contents_lead_to_their_pages(name: str) -> None:
    """Each line of the list of contents names the page whose head has that title."""
    data = book_pdf(plan_named(name))
    listed = [(title, int(number) - 1) for title, number in _LISTED.findall(text_of(data, 0))]
    assert listed == _titles(data)
    assert len(listed) >= 10


@pytest.mark.parametrize("name", CARS)
def test_the_first_pages_say_what_fails_and_what_to_measure(name: str) -> None:
    """What mends each finding of the plan and of its studies stands on the pages on what stands and fails."""
    plan = plan_named(name)
    data = book_pdf(plan)
    with opened(data) as document:
        words = " ".join(text_of(data, page) for page in range(min(4, len(document))))
    told = " ".join(words.split())
    for finding in study(plan).findings:
        if finding.verdict in ("fail", "watch") and finding.mend:
            assert " ".join(finding.mend.split())[:40] in told, finding.check


def test_hostile_name_is_only_text() -> None:
    """The typesetter's markup in a name is shown as it stands, and opens nothing."""
    data = book_pdf(plan_named("hostile"))
    words = text_of(data, 1)
    assert "<script>alert(1)</script>" in words
    assert "root:" not in words


@pytest.mark.parametrize("name", CARS)
def test_every_page_is_made_of_known_blocks(name: str) -> None:
    """Every page of the book has a title of its own and something on it."""
    pages = book_pages(plan_named(name))
    titles = [page.title for page in pages]
    assert len(titles) == len(set(titles))
    assert all(page.blocks for page in pages)
