"""Where a car stands on its way through the shop: its stages, what is ticked off at each, and what it waits for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from types import MappingProxyType
from typing import Annotated, Final

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from carwright.problems import InputError, Problem
from carwright.shop import STAGES, Stage
from carwright.shop.measuring import alike, in_words
from carwright.web.done import done_at
from carwright.web.line import WITHOUT_ROOM
from carwright.web.pages import by_of, render, settings_of, shop_of

__all__ = ["day_in", "known_stage", "stages_router"]

stages_router = APIRouter(include_in_schema=False)


_YEARS: Final = (1900, 2199)
"""Years in which something can have been bought or done."""


@stages_router.get("/line/{slug}")
def stages(request: Request, slug: str) -> Response:
    """Show a car's stages."""
    return _page(request, slug)


@stages_router.post("/line/{slug}/stage")
def move(request: Request, slug: str, stage: Annotated[str, Form(max_length=40)]) -> Response:
    """Move a car to a stage."""
    return done_at(f"/line/{slug}", shop_of(request).set_stage(slug, known_stage(stage), by=by_of(request)).number)


@stages_router.post("/line/{slug}/waits")
def waits(request: Request, slug: str, waits_for: Annotated[str, Form(max_length=200)] = "") -> Response:
    """Note what a car waits for."""
    change = shop_of(request).set_waits_for(slug, " ".join(waits_for.split()), by=by_of(request))
    return done_at(f"/line/{slug}", change.number)


@stages_router.post("/line/{slug}/lot")
def lot(
    request: Request,
    slug: str,
    number: Annotated[int, Form(ge=0, le=2**31 - 1)] = 0,
    lot_name: Annotated[str, Form(max_length=200)] = "",
    bought_on: Annotated[str, Form(max_length=40)] = "",
    bought_for: Annotated[str, Form(max_length=100)] = "",
    note: Annotated[str, Form(max_length=500)] = "",
) -> Response:
    """Note with which lot a car came: one that there is, or a new one."""
    shop, by = shop_of(request), by_of(request)
    sent = {"lot_name": lot_name, "bought_on": bought_on, "bought_for": bought_for, "note": note}
    there = next((each for each in shop.lots() if each.id == number), None)
    try:
        if there is not None:
            shop.change_lot(replace(there, cars=(*there.cars, slug)), by=by)
        else:
            day = day_in(bought_on, key="bought_on")
            shop.add_lot(lot_name, bought_on=day, bought_for=bought_for, note=note, cars=(slug,), by=by)
    except InputError as trouble:
        return _page(request, slug, wrong=("lot", ""), problems=trouble.problems, sent=sent)
    return done_at(f"/line/{slug}", shop.last_change())


@stages_router.post("/line/{slug}/measured")
def measured(
    request: Request,
    slug: str,
    key: Annotated[list[str], Form(min_length=1, max_length=2)],
    then: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Note that a reading, or that of each end, was taken again and came out as it stands; go back to where it was."""
    shop = shop_of(request)
    for each in key:
        shop.measure(slug, each[:200], by=by_of(request))
    return done_at(f"/car/{slug}" if then == "car" else f"/line/{slug}", shop.last_change())


@stages_router.post("/line/{slug}/name")
def rename(request: Request, slug: str, name: Annotated[str, Form(max_length=200)] = "") -> Response:
    """Call a car by another name."""
    try:
        change = shop_of(request).rename(slug, " ".join(name.split()), by=by_of(request))
    except InputError as trouble:
        return _page(request, slug, wrong=("name", ""), problems=trouble.problems, sent={"name": name})
    return done_at(f"/line/{slug}", change.number)


@stages_router.post("/line/{slug}/tick")
def tick(
    request: Request,
    slug: str,
    stage: Annotated[str, Form(max_length=40)],
    item: Annotated[str, Form(max_length=200)],
    done_on: Annotated[str, Form(max_length=40)] = "",
    note: Annotated[str, Form(max_length=500)] = "",
    reopen: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Tick a line of a checklist off with its day and a note; without a day it is open again."""
    try:
        day = None if reopen else day_in(done_on)
    except InputError as trouble:
        sent = {"done_on": done_on, "note": note}
        return _page(request, slug, wrong=(stage, item), problems=trouble.problems, sent=sent)
    note = " ".join(note.split())
    change = shop_of(request).tick(slug, known_stage(stage), item, day, note, by=by_of(request))
    return done_at(f"/line/{slug}#{stage}", change.number)


def day_in(text: str, *, key: str = "done_on") -> date | None:
    """Return a day as a form sends it, None for an empty box.

    Raises:
        InputError: it is no day.
    """
    plain = text.strip()
    if not plain:
        return None
    try:
        day = date.fromisoformat(plain)
        if not _YEARS[0] <= day.year <= _YEARS[1]:
            raise ValueError(plain)
    except ValueError:
        problem = Problem(
            "this is not a day",
            plain,
            f"a day of {_YEARS[0]} to {_YEARS[1]}, as 2026-11-25",
            "Type year, month and day.",
            key=key,
        )
        raise InputError(problem) from None
    return day


def known_stage(stage: str) -> Stage:
    """Return a stage's name as one that is known.

    Raises:
        InputError: there is no such stage.
    """
    for each in STAGES:
        if each == stage:
            return each
    raise InputError(Problem("there is no such stage", stage, ", ".join(STAGES), key="stage"))


def _page(
    request: Request,
    slug: str,
    *,
    wrong: tuple[str, str] = ("", ""),
    problems: tuple[Problem, ...] = (),
    sent: Mapping[str, str] = MappingProxyType({}),
) -> Response:
    shop = shop_of(request)
    state = shop.car(slug)
    return render(
        request,
        "stages.html",
        status=422 if problems else 200,
        here="line",
        car=state,
        lots=shop.lots(),
        again=[([one.reading.key for one in each], in_words(*each)) for each in alike(shop.stale(slug))],
        stages=STAGES,
        without_room=WITHOUT_ROOM,
        today=settings_of(request).today().isoformat(),
        wrong=wrong,
        problems=problems,
        sent=sent,
    )
