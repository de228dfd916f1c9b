"""The book's pages on the finish: every act with its wait and hold, every mask, the paint, and what cannot be read."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from tests.book.cars import DEMO, plan_named
from tests.draw.pixels import opened, text_of

from carwright.book.contents import book_pages, book_pdf
from carwright.book.finishpage import finish_blocks, finished, waits_told
from carwright.book.maskpage import mask_blocks
from carwright.book.studied import Studied, study
from carwright.car.model import Finish
from carwright.draw.blocks import Block, Caution, Columns, Note, Page, Paper, Picture, Prose, StepLine, Steps, Table
from carwright.draw.finishviews import covering_title
from carwright.draw.heads import page
from carwright.draw.pdf import field_mm, pdf
from carwright.finish.covering import coverings
from carwright.finish.steps import Wait, Window
from carwright.plan.finishing import FinishPlan, finish_plan
from carwright.plan.model import Plan
from carwright.plan.paintneeds import named_surfaces


def _pages(plan: Plan) -> dict[str, Page]:
    return {each.title: each for each in book_pages(plan, studied=_studied(plan.car.info.name))}


@cache
def _studied(name: str) -> Studied:
    """Return the studies of a car, whatever its finish: they do not hang on it."""
    return study(next(plan for plan in map(plan_named, (*DEMO, "nothing")) if plan.car.info.name == name))


def _acts(name: str) -> tuple[StepLine, ...]:
    made = finished(plan_named(name))
    assert made is not None
    return next(each for each in finish_blocks(plan_named(name), made) if isinstance(each, Steps)).lines


def _finish(name: str) -> FinishPlan:
    return finish_plan(plan_named(name).car)


def _pictures(blocks: tuple[Block, ...]) -> list[Picture]:
    found: list[Picture] = []
    for each in blocks:
        if isinstance(each, Picture):
            found.append(each)
        elif isinstance(each, Columns):
            found += _pictures((*each.left, *each.right))
    return found


@pytest.mark.parametrize("name", DEMO)
def test_the_book_has_each_act_with_a_box(name: str) -> None:
    """Acts are numbered as in the list of steps, each with a box; what is to be checked stands in a frame behind."""
    steps = _finish(name).steps
    lines = _acts(name)
    acts = [each for each in lines if each.number]
    assert [each.number for each in acts] == [str(number) for number in range(1, len(steps) + 1)]
    for line, step in zip(acts, steps, strict=True):
        assert line.text.startswith(step.title.rstrip("."))
        assert not line.hold
        assert all(f": {wait.because} (" in line.after for wait in step.waits if wait.because)
    holds = [each.text for each in lines if each.hold]
    assert len(holds) == sum(bool(each.hold_point) for each in steps)
    assert all(each.startswith("After act ") for each in holds)


@pytest.mark.parametrize("name", DEMO)
def test_each_act_with_tape_is_pictured_once(name: str) -> None:
    """Every act that covers, sprays a part or pulls tape off is among those that a picture names, and only once."""
    finish = _finish(name)
    blocks = mask_blocks(plan_named(name), finish, width_mm=182.0, height_mm=245.0)
    told = [covering for covering in coverings(finish.steps, named_surfaces(finish)) if not covering.everywhere]
    pictures = _pictures(blocks)
    assert [int(each.drawing.name.split("-")[1]) for each in pictures] == [covering.acts[0] for covering in told]
    partly = {number for number, step in enumerate(finish.steps, 1) if step.act in ("coat", "mask", "seal", "unmask")}
    pictured = [number for covering in told for number in covering.acts]
    assert partly <= set(pictured)
    assert len(pictured) == len(set(pictured))


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_pages_say_in_print_what_the_plan_says(paper: Paper) -> None:
    """On both papers the printed pages have scheme, order, every paint with its amount, each title and the cautions."""
    plan = plan_named("boxcar")
    data = book_pdf(plan, paper=paper, studied=_studied(plan.car.info.name))
    with opened(data) as document:
        pages = [" ".join(text_of(data, number).split()) for number in range(len(document))]
    printed = " ".join(each for each in pages if "Finish" in each[:200] or "Masks" in each[:200] or "Acts" in each)
    finish = finish_plan(plan.car)
    for words in (
        plan.car.finish.scheme,
        "grey, red, brown and black",
        "Paint to have",
        "common practice",
        "mist harms",
    ):
        assert words in printed
    for step in finish.steps:
        assert step.title in printed
    for covering in coverings(finish.steps, named_surfaces(finish)):
        assert covering.everywhere or covering_title(covering) in printed
    assert all(" ".join(each.hazard.split()) in printed for each in finish.cautions)
    made = finished(plan)
    assert made is not None
    assert made.paint is not None
    for need in made.paint.needs:
        assert need.amount is not None
        assert f"{need.amount.likely.value:.1f}" in printed


def test_no_scheme_no_pages() -> None:
    """A car without a scheme has neither page, and its order of work sends nobody to them."""
    plan = plan_named("nothing")
    assert finished(plan) is None
    assert not {"Finish", "Masks"} & set(_pages(plan))


def test_a_scheme_that_cannot_be_read_is_told() -> None:
    """The book is made all the same, and its page says what is wrong and what would do."""
    plan = plan_named("boxcar")
    pages = _pages(replace(plan, car=replace(plan.car, finish=Finish("rooof black"))))
    words = " ".join(each.text for each in pages["Finish"].blocks if isinstance(each, Prose | Note))
    assert "rooof" in words
    assert "Did you mean roof?" in words
    assert "Masks" not in pages


def test_one_colour_needs_no_masks() -> None:
    """A car of one colour has the acts and the paint, and no page on tape."""
    plan = plan_named("boxcar")
    pages = _pages(replace(plan, car=replace(plan.car, finish=Finish("the rest black"))))
    assert "Finish" in pages
    assert "Masks" not in pages


def test_labels_and_lungs_come_first() -> None:
    """Both cautions stand before the first act, and the table of paint has a row for each paint."""
    plan = plan_named("h0_car")
    made = finished(plan)
    assert made is not None
    assert made.paint is not None
    blocks = finish_blocks(plan, made)
    acts = next(place for place, each in enumerate(blocks) if isinstance(each, Steps))
    cautions = [place for place, each in enumerate(blocks) if isinstance(each, Caution)]
    assert len(cautions) == 2
    assert max(cautions) < acts
    table = next(each for each in blocks if isinstance(each, Table) and each.heads[0] == "Paint")
    assert made.finish is not None
    colours = [each.colour for each in made.finish.coatings]
    assert [row[0] for row in table.rows] == ["primer", *colours, "gloss", "flat"]


def test_waits_in_words() -> None:
    """A forbidden middle is told as both its sides; waits alike for several acts are one; each says how it is known."""
    lift = (Window(0, 60), Window(2880))
    told = waits_told(
        (
            Wait("a", lift, "it lifts", "seen", "sheet"),
            Wait("b", (Window(5760),), "tape marks it", "practice", "bench"),
            Wait("a", (Window(5760),), "tape marks it", "practice", "bench"),
            Wait("c", (Window(90, 150),), "flash", "practice", "common practice (own estimate)"),
            Wait("c", (Window(0),), "", "", ""),
            Wait("c", (Window(1440),), "the label", "", "label, paint[0].windows"),
        ),
        {"a": 1, "b": 2, "c": 3},
    )
    assert told == (
        "Within 1 h, or not before 48 h, after act 1: it lifts (published).",
        "Not before 4 days after acts 1 and 2: tape marks it (common practice).",
        "90 min to 2 h 30 min after act 3: flash (an estimate).",
        "Not before 24 h after act 3: the label (your label).",
    )


@pytest.mark.parametrize("name", DEMO)
def test_the_page_of_masks_is_one_and_used(name: str) -> None:
    """Pictures of one scale with their acts stand on one page and reach into its last quarter; nothing is cut short."""
    plan = plan_named(name)
    finish = finish_plan(plan.car)
    wide, high = field_mm("letter", bars=False)
    blocks = mask_blocks(plan, finish, width_mm=wide, height_mm=high)
    assert len({each.drawing.scale for each in _pictures(blocks)}) == 1
    data = pdf((page(plan, "Masks", blocks, bars=False, foot="foot"),), title="Masks", paper="letter")
    with opened(data) as document:
        assert len(document) == 1
        text = document[0].get_textpage()
        lows = [text.get_rect(n)[1] for n in range(text.count_rects())]
        assert "…" not in text.get_text_range()
    assert min(low for low in lows if low > 72.0) < 792.0 / 4
