"""Cutting: choose cars, see every sheet and strip with its cuts in order, what to buy, and take it from the shelf."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Form, Query, Request
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from carwright.lengths import Units
from carwright.problems import InputError, Problem
from carwright.stock.records import SheetLayout
from carwright.web.cutting import MOST_CARS, CutPlan, CutPlans, Wish, take_plan
from carwright.web.line import found_cars
from carwright.web.pages import by_of, render, settings_of, shop_of

if TYPE_CHECKING:
    from carwright.draw.cutwords import Missing
    from carwright.draw.model import Drawing
    from carwright.stock.batch import Group

__all__ = ["cut_router"]

cut_router = APIRouter(include_in_schema=False)

_MOST_LEFT_OUT: Final = 2000
"""Names of pieces that are left out of one cutting."""

_SCALE: Final = 0.75
_WIDE_MM: Final = 245.0
_HIGH_MM: Final = 160.0
"""Of the diagrams, and of details: a usual sheet is then as wide as the column that it stands in."""

_PROOF: Final = {
    "optimal": "no cheaper plan exists",
    "feasible": "the best found; none cheaper is proven",
    "infeasible": "something must be bought",
    "unknown": "not proven",
}


@dataclass(frozen=True, slots=True)
class Plate:
    """One diagram: what it shows, the drawing, and the cuts in their order, or the pieces of each bar."""

    title: str
    drawing: Markup
    cuts: tuple[tuple[str, str], ...]
    bars: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """A section of the plan as the page shows it: its heading, a note, its diagrams."""

    title: str
    note: str
    plates: tuple[Plate, ...]


@cut_router.get("/cutting")
def cutting(
    request: Request,
    car: Annotated[list[str] | None, Query(max_length=MOST_CARS)] = None,
    kerf: Annotated[str, Query(max_length=40)] = "",
    turn: Annotated[str, Query(max_length=10)] = "yes",
    out: Annotated[list[str] | None, Query(max_length=_MOST_LEFT_OUT)] = None,
    find: Annotated[str, Query(max_length=80)] = "",
) -> Response:
    """Show the choice of cars and, where some are chosen, their plan."""
    return _page(request, Wish(tuple(car or ()), kerf, turn != "no", tuple(out or ())), find=find)


@cut_router.post("/cutting/take")
def take(
    request: Request,
    car: Annotated[list[str], Form(max_length=MOST_CARS)],
    revision: Annotated[int, Form(ge=0, le=10**9)],
    kerf: Annotated[str, Form(max_length=40)] = "",
    turn: Annotated[str, Form(max_length=10)] = "yes",
    out: Annotated[list[str] | None, Form(max_length=_MOST_LEFT_OUT)] = None,
    bought: Annotated[str, Form(max_length=10)] = "",
    again: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Take the plan from the shelf, once."""
    shop = shop_of(request)
    wish = Wish(tuple(car), kerf, turn != "no", tuple(out or ()))
    plans: CutPlans = request.app.state.cut_plans
    try:
        plan = plans.make(shop, wish)
        on = settings_of(request).today().isoformat()
        take_plan(shop, plan, on=on, by=by_of(request), seen=revision, bought=bool(bought), again=bool(again))
    except InputError as trouble:
        return _page(request, wish, problems=trouble.problems)
    return RedirectResponse("/shelf", 303)


def _page(request: Request, wish: Wish, *, find: str = "", problems: tuple[Problem, ...] = ()) -> Response:
    shop = shop_of(request)
    plans: CutPlans = request.app.state.cut_plans
    plan: CutPlan | None = None
    if wish.cars:
        try:
            plan = plans.make(shop, wish)
        except InputError as trouble:
            problems = (*problems, *trouble.problems)
    shown = (
        () if plan is None else tuple(_shown(plan, number, group) for number, group in enumerate(plan.batch.groups, 1))
    )
    from carwright.draw.cutwords import called, cost_words, stock_words

    return render(
        request,
        "cutting.html",
        status=422 if problems else 200,
        here="cutting",
        cars=found_cars(shop, find) if find.strip() else shop.cars(limit=MOST_CARS),
        find=find,
        wish=wish,
        plan=plan,
        shown=shown,
        called=stock_words,
        choices=()
        if plan is None
        else [(each, called(each), each in plan.batch.left_out) for each in dict.fromkeys(plan.pieces)],
        lacking=() if plan is None else _lacking(plan),
        proof="" if plan is None else _PROOF[plan.batch.status],
        cost="" if plan is None else cost_words(plan.batch),
        pieces=0 if plan is None else sum(len(each.pieces) for g in plan.batch.groups for each in g.plan.layouts),
        sheets=0 if plan is None else sum(len(g.plan.layouts) for g in plan.batch.groups if g.section.form == "sheet"),
        bars=0 if plan is None else sum(len(g.plan.layouts) for g in plan.batch.groups if g.section.form != "sheet"),
        problems=problems,
    )


def _shown(plan: CutPlan, number: int, group: Group) -> Shown:
    """Return one section as the page shows it."""
    from carwright.draw.cutdetails import sheet_pictures
    from carwright.draw.cutdiagrams import bars_diagram
    from carwright.draw.cutwords import (
        PAIRS,
        bar_words,
        count_words,
        fitting_words,
        proof_words,
        section_words,
        stages_words,
        stock_words,
        tool_words,
    )

    units, name = plan.units, f"cut-{number}"
    title = section_words(group.section, units)
    plates: list[Plate] = []
    for at, (sheet, times) in enumerate(group.sheets, 1):
        pictures = sheet_pictures(
            sheet, group, units, name=f"{name}-{at}", times=times, scale=_SCALE, wide_mm=_WIDE_MM, high_mm=_HIGH_MM
        )
        drawn = Markup("").join(_titled(each) + _drawn(each) for each in pictures)
        many = f", {times} alike" if times > 1 else ""
        told = f"{count_words(len(sheet.pieces), 'piece')}, {count_words(len(sheet.cuts), 'cut')}"
        heading = f"{stock_words(sheet.stock)}{many}: {told}"
        plates.append(Plate(heading, drawn, tuple(_acts(sheet, group, units)), ()))
    if group.bars:
        rows = tuple(f"{many} of {stock_words(each.stock)}: {bar_words(each, units)}" for each, many in group.bars)
        drawing = bars_diagram(group, units, name=name, scale=_SCALE)
        plates.append(Plate(f"{len(group.plan.layouts)} to cut", _drawn(drawing), (), rows))
    proof = "; ".join(each for each in (proof_words(group), stages_words(group, units)) if each)
    notes = (
        f"{proof[:1].upper()}{proof[1:]}.",
        tool_words(group, units),
        PAIRS if group.outlines else "",
        fitting_words(group, units),
    )
    return Shown(f"{title[:1].upper()}{title[1:]} {units}", " ".join(each for each in notes if each), tuple(plates))


def _lacking(plan: CutPlan) -> list[Missing]:
    from carwright.draw.cutwords import lacking_words

    return lacking_words(plan.batch.lacking, plan.units)


def _titled(drawing: Drawing) -> Markup:
    """Return what stands above a detail; the heading above it serves for the whole."""
    from carwright.draw.heads import said_scale

    if drawing.scale == _SCALE:
        return Markup("")
    return Markup('<p class="note">{}, {}</p>').format(drawing.title, said_scale(drawing.scale))


def _drawn(drawing: Drawing) -> Markup:
    from carwright.draw.svg import page_svg

    return Markup(page_svg(drawing, classes="dwg cutd", sized=True))  # noqa: S704 -- the writer escapes every text itself


def _acts(sheet: SheetLayout, group: Group, units: Units) -> Iterator[tuple[str, str]]:
    """Yield each step of cutting a sheet: its number on the diagram, and how it is made."""
    from carwright.draw.cutwords import act_number, act_words
    from carwright.stock.acts import acts_of

    for act in acts_of(sheet, kerf_mm=group.kerf_mm):
        yield act_number(act), act_words(act, units)
