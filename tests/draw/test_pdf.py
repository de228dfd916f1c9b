"""PDF: rasterised by an engine that is not the typesetter's, and measured in pixels."""

from __future__ import annotations

import numpy as np
import pytest
from tests.draw.cars import BOXCAR, HOSTILE, LONG_CAR, SHELL, WIDE_CAR, plan_of
from tests.draw.pixels import PER_MM, TOLERANCE_MM, dark, lying, opened, standing, text_of

from carwright.car.keys import sheet_letters
from carwright.car.read import read_car
from carwright.draw.bars import Correction, factor_from
from carwright.draw.blocks import Picture
from carwright.draw.pdf import MARGIN_MM, Note, Page, Paper, field_mm, pdf
from carwright.draw.sheet import curve_page_keys, measuring_pages, wanted_keys
from carwright.draw.views import VIEWS, pages_of
from carwright.plan.curves import curve_study
from carwright.working import typed


def _one_page(correction: Correction | None, paper: Paper = "letter", *, landscape: bool = False) -> bytes:
    page = Page("Bars", "nobody", "nothing", (Note("Nothing else."),), landscape)
    return pdf((page,), title="Bars", paper=paper, correction=correction)


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("landscape", [False, True])
def test_bars_measure_true(paper: Paper, landscape: bool) -> None:
    """Without correction the bars are 100 and 101.6 mm long (4 in of 25.4 mm) both ways, to 0.1 mm."""
    ink = dark(_one_page(None, paper, landscape=landscape))
    assert lying(ink) == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM)
    assert standing(ink) == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM)


@pytest.mark.parametrize(
    ("x", "y", "landscape"),
    [
        ("99.7", "100.13", False),
        ("95", "105", False),
        ("105", "95", False),
        ("99.7", "100.13", True),
        ("95", "105", True),
    ],
)
def test_correction_is_applied_once_to_each_axis(x: str, y: str, landscape: bool) -> None:
    """A printer that shrinks as its reading says prints the corrected bars true: length x reading / 100 = length.

    Paper runs through it one way, so on a page that lies along the paper the first reading is of what stands there.
    """
    correction = Correction(*(factor_from(f"{each} of 100 mm", option="x") for each in (x, y)), "Shed")
    ink = dark(_one_page(correction, landscape=landscape))
    across, up = (standing(ink), lying(ink)) if landscape else (lying(ink), standing(ink))
    assert [each * float(x) / 100 for each in across] == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM)
    assert [each * float(y) / 100 for each in up] == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM)


@pytest.mark.parametrize(
    "correction", [Correction(), Correction(1.0526, 0.9524, "the laser in the workshop, A4 paper")]
)
def test_what_is_said_of_the_bars_stands_clear_of_the_foot(correction: Correction) -> None:
    """On the narrowest page, with the greatest correction and the longest name, no words stand over others."""
    with opened(_one_page(correction, "a4")) as document:
        words = document[0].get_textpage()
        boxes = [words.get_rect(at) for at in range(words.count_rects())]
        assert "the foot's" in " ".join(words.get_text_range().split()) or correction.is_none
    over = [
        (one, other)
        for at, one in enumerate(boxes)
        for other in boxes[at + 1 :]
        if min(one[2], other[2]) - max(one[0], other[0]) > 0.5 and min(one[3], other[3]) - max(one[1], other[1]) > 0.5
    ]
    assert over == []


def _floor_on_paper(data: bytes, page: int) -> tuple[float, float]:
    """Return length and width of the greatest rectangle of thin lines in the upper half of a page, in mm."""
    ink = dark(data, page)
    upper = ink[int(30 * PER_MM) : int(78 * PER_MM), int(30 * PER_MM) : -int(14 * PER_MM)]
    columns = np.flatnonzero(upper.sum(axis=0) > 20 * PER_MM)
    rows = np.flatnonzero(upper.sum(axis=1) > 120 * PER_MM)
    middle = [group.mean() for group in np.split(columns, np.flatnonzero(np.diff(columns) > 3) + 1)]
    level = [group.mean() for group in np.split(rows, np.flatnonzero(np.diff(rows) > 3) + 1)]
    return (max(middle) - min(middle)) / PER_MM, (level[1] - level[0]) / PER_MM


def test_template_is_true_to_size() -> None:
    """The floor's outline on paper is the plan's floor, to 0.1 mm both ways."""
    plan = plan_of(BOXCAR)
    data = pdf(pages_of(plan, ("template",)), title="t")
    assert plan.floor.length is not None
    assert plan.floor.width is not None
    length, _ = _floor_on_paper(data, 0)
    assert length == pytest.approx(plan.floor.length.value, abs=TOLERANCE_MM)


def test_template_is_corrected_with_the_bars() -> None:
    """With a correction the floor's outline grows by the same factor as the bars."""
    plan = plan_of(BOXCAR)
    correction = Correction(1.01, 0.99)
    data = pdf(pages_of(plan, ("template",), correction=correction), title="t", correction=correction)
    assert plan.floor.length is not None
    length, _ = _floor_on_paper(data, 0)
    assert length == pytest.approx(plan.floor.length.value * 1.01, abs=TOLERANCE_MM)


def test_body_alone_prints_a_true_floor() -> None:
    """A shell without trucks and couplers gives its floor's outline true to size, and no hole to drill."""
    plan = plan_of(SHELL)
    data = pdf(pages_of(plan, ("template",)), title="t")
    assert plan.floor.length is not None
    length, _ = _floor_on_paper(data, 0)
    assert length == pytest.approx(plan.floor.length.value, abs=TOLERANCE_MM)
    with opened(data) as document:
        words = " ".join(text_of(data, page) for page in range(len(document)))
    assert "Do not drill yet" in words
    assert "H truck centres" in words


def test_long_floor_is_split_with_match_lines() -> None:
    """A floor of 13 in does not fit any sheet: it comes in parts, each of which names the match line it shares."""
    data = pdf(pages_of(plan_of(LONG_CAR), ("template",)), title="t")
    with opened(data) as document:
        words = [text_of(data, page) for page in range(len(document))]
    assert "Floor template, true size, part 1 of 2" in words[0]
    assert "Floor template, true size, part 2 of 2" in words[1]
    assert all("match 1" in each for each in words)


@pytest.mark.parametrize("car", [BOXCAR, SHELL, LONG_CAR, WIDE_CAR, HOSTILE])
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_nothing_reaches_into_the_margins(car: str, paper: Paper) -> None:
    """Every page of every view keeps its white margins of 14 mm (0.3 mm for pens), and no page runs over to another."""
    pages = pages_of(plan_of(car), VIEWS, paper=paper)
    data = pdf(pages, title="t", paper=paper)
    with opened(data) as document:
        assert len(document) == len(pages)
    edge = int((MARGIN_MM - 0.4) * 100 / 25.4)
    for page in range(len(pages)):
        ink = dark(data, page, 100)
        assert not ink[:edge].any()
        assert not ink[-edge:].any()
        assert not ink[:, :edge].any()
        assert not ink[:, -edge:].any()


@pytest.mark.parametrize("car", [BOXCAR, SHELL, LONG_CAR, WIDE_CAR, HOSTILE])
@pytest.mark.parametrize("view", VIEWS)
def test_drawings_stay_clear_of_the_bars(car: str, view: str) -> None:
    """Between the foot's bars and what stands above them there is a white strip: nothing runs into the bars."""
    pages = pages_of(plan_of(car), (view,))  # type: ignore[arg-type]  # parametrized over the literals
    data = pdf(pages, title="t")
    for page in range(len(pages)):
        ink = dark(data, page, 100)
        per_mm = 100 / 25.4
        foot = ink.shape[0] - int((14 + 7 + 24) * per_mm)
        strip = ink[foot - 2 : foot + 2, int(30 * per_mm) :]
        assert not strip.any()


def test_hostile_name_is_onlytext() -> None:
    """The typesetter's markup in a name is shown as it stands; a sign without a glyph is shown as one that lacks."""
    data = pdf(pages_of(plan_of(HOSTILE), ("plan",)), title=plan_of(HOSTILE).car.info.name)
    words = text_of(data, 0)
    assert '<script>alert(1)</script> & ]]> #{read("/etc/passwd")}' in words
    assert "root:" not in words


def test_same_sheets_same_bytes() -> None:
    """Two runs give the same file."""
    pages = pages_of(plan_of(BOXCAR), VIEWS)
    assert pdf(pages, title="t") == pdf(pages, title="t")


def test_pages_are_tagged_and_titled() -> None:
    """The file is tagged, has its title and language, and no date."""
    data = pdf(pages_of(plan_of(BOXCAR), ("plan",)), title="A car")
    with opened(data) as document:
        about = document.get_metadata_dict()
        assert document.get_formtype() == 0
    assert about["Title"] == "A car"
    assert not about["CreationDate"]
    assert b"/MarkInfo" in data
    assert b"/StructTreeRoot" in data


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("car", ["[car]\nname = 'Nothing yet'\n", SHELL, BOXCAR, HOSTILE, LONG_CAR, WIDE_CAR])
def test_measuring_sheet_is_two_pages(car: str, paper: Paper) -> None:
    """Whatever is wanting, the sheet is one page for the letters A to N and one for curves, each with its bars."""
    data = pdf(measuring_pages(read_car(car), paper=paper), title="s", paper=paper)
    with opened(data) as document:
        assert len(document) == 2
    for page in (0, 1):
        assert lying(dark(data, page)) == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM)


def _sheet(car: str, page: int = 0) -> str:
    """Return the words of a page of a car's measuring sheet, in one line."""
    return " ".join(text_of(pdf(measuring_pages(read_car(car)), title="s"), page).split())


def test_measuring_sheet_shows_what_is_known() -> None:
    """A shell measured inside is asked for A, B, G and the trucks and couplers; C to F show what was typed."""
    words = _sheet(SHELL)
    assert "Outside jaws over both end sheets" in words
    assert "Inside jaws from end to end" not in words
    for reading in read_car(SHELL).body.inside_width:
        assert reading.text in words


def test_measuring_sheet_names_the_ends_and_has_a_box_for_each() -> None:
    """The pictures say which end is A and which B, large enough to be read; J to N have a box for each end."""
    words = _sheet("[car]\nname = 'Nothing yet'\n")
    assert "hand brake" in words
    assert words.count("end A") == 1 + len("JKLMN")
    assert words.count("end B") == 1 + len("JKLMN")
    drawn = measuring_pages(read_car("[car]\nname = 'Nothing yet'\n"))[0].blocks[0]
    assert isinstance(drawn, Picture)
    assert drawn.drawing.scale > 0.2
    assert all(word in words for word in ("left", "right", "at B", "middle", "at A"))


def test_measuring_sheet_with_one_end_measured_waits_for_the_other() -> None:
    """A seat height that is known at A alone stands in its box, and B's is still asked for."""
    car = read_car('[trucks.a]\nseat_height = "0.277"\n')
    assert "J" in [key.letter for key in wanted_keys(car)]
    assert "end A 0.277 end B" in _sheet('[trucks.a]\nseat_height = "0.277"\n')


def test_measuring_sheet_that_is_all_answered_shows_every_answer() -> None:
    """With everything typed, and the bolster to be built, each letter stands there with what was typed."""
    car = BOXCAR.replace('bolster = "0.165"', 'bolster = "build"')
    assert 'bolster = "build"' in car
    assert wanted_keys(read_car(car)) == ()
    words = _sheet(car)
    assert "Letters A to N are all answered" in words
    for answer in ("6 1/8", "1.156, 1.153, 1.149", "0.284", "build", "0.062"):
        assert answer in words


def test_measuring_sheet_asks_what_a_curve_needs() -> None:
    """What a curve misses of truck, coupler and box is asked on the second page, or among the letters A to N."""
    words = _sheet("[car]\nname = 'Nothing yet'\n", 1)
    assert all(key.question in words for key in curve_page_keys(read_car("")))
    asked = {key.path for key in (*curve_page_keys(read_car("")), *sheet_letters())}
    for car in (read_car(BOXCAR), read_car(BOXCAR.replace("box_", "# box_"))):
        limits = curve_study(car, radius=typed(457.2, "radius", key="--radius", text="18 in")).limits
        missed = {need for limit in limits for need in limit.needs if need.startswith(("trucks.", "coupler."))}
        assert missed
        assert missed <= asked


def test_field_is_what_a_page_leaves() -> None:
    """On Letter upright drawings have 172.9 mm: 215.9 less two margins of 14 and the bars' lane of 15."""
    assert field_mm("letter")[0] == pytest.approx(172.9)
