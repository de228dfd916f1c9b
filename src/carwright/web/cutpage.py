"""Cutting: choose cars, see every sheet and strip with its cuts in order, what to buy, and take it from the shelf."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Form, Query, Request
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from carwright.lengths import Units, number_in
from carwright.problems import InputError, Problem
from carwright.stock.batch import total_cost
from carwright.stock.lying import lying_batch
from carwright.stock.records import BarLayout, SheetCut, SheetLayout
from carwright.web.cutting import MOST_CARS, CutPlan, CutPlans, Wish, take_plan
from carwright.web.line import found_cars
from carwright.web.pages import by_of, render, settings_of, shop_of

if TYPE_CHECKING:
    from carwright.stock.batch import Group

__all__ = ["cut_router"]

cut_router = APIRouter(include_in_schema=False)

_STRAIGHT_MM: Final = 1e-6

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
    cuts: tuple[str, ...]
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
    find: Annotated[str, Query(max_length=80)] = "",
) -> Response:
    """Show the choice of cars and, where some are chosen, their plan."""
    return _page(request, Wish(tuple(car or ()), kerf, turn != "no"), find=find)


@cut_router.post("/cutting/take")
def take(
    request: Request,
    car: Annotated[list[str], Form(max_length=MOST_CARS)],
    revision: Annotated[int, Form(ge=0, le=10**9)],
    kerf: Annotated[str, Form(max_length=40)] = "",
    turn: Annotated[str, Form(max_length=10)] = "yes",
    bought: Annotated[str, Form(max_length=10)] = "",
    again: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Take the plan from the shelf, once."""
    shop = shop_of(request)
    wish = Wish(tuple(car), kerf, turn != "no")
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
    cost = None if plan is None else total_cost(plan.batch)
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
        called=_stock,
        proof="" if plan is None else _PROOF[plan.batch.status],
        cost=None if cost is None or not cost[0] else f"{cost[0]:.2f}",
        pieces=0 if plan is None else sum(len(each.pieces) for g in plan.batch.groups for each in g.plan.layouts),
        sheets=0 if plan is None else sum(len(g.plan.layouts) for g in plan.batch.groups if g.section.form == "sheet"),
        bars=0 if plan is None else sum(len(g.plan.layouts) for g in plan.batch.groups if g.section.form != "sheet"),
        problems=problems,
    )


def _shown(plan: CutPlan, number: int, group: Group) -> Shown:
    """Return one section as the page shows it."""
    from carwright.draw.cutdiagrams import cut_drawings
    from carwright.draw.svg import page_svg

    section, units = group.section, plan.units
    size = number_in(section.thickness_mm, units)
    across = f" × {number_in(section.width_mm, units)}" if section.width_mm else ""
    title_of = f"{section.material.capitalize()} {section.form}, {size}{across} {units}"
    own = [each for each in cut_drawings(lying_batch(plan.batch)) if re.fullmatch(rf"cut-{number}(-\d+)?", each.name)]
    plates: list[Plate] = []
    sheets = [each for each in group.plan.layouts if isinstance(each, SheetLayout)]
    for at, drawing in enumerate(own):
        drawn = Markup(page_svg(drawing, classes="dwg cutd"))  # noqa: S704 -- the writer escapes every text itself
        if sheets:
            sheet = sheets[at]
            title = f"{_stock(sheet.stock)}: {len(sheet.pieces)} pieces, {len(sheet.cuts)} cuts"
            plates.append(
                Plate(
                    title,
                    drawn,
                    tuple(_cut(each, units, turned=sheet.length_mm > sheet.width_mm) for each in sheet.cuts),
                    (),
                )
            )
        else:
            bars = [each for each in group.plan.layouts if isinstance(each, BarLayout)]
            plates.append(Plate(f"{len(bars)} to cut", drawn, (), tuple(_bar(each, units) for each in bars)))
    return Shown(title_of, _PROOF.get(group.plan.status, ""), tuple(plates))


def _stock(name: str) -> str:
    """Return what a row of the shelf is called on the shelf's page: by its name, or kind and place."""
    found = re.fullmatch(r"\w+\.(\w+)\[(\d+)\]", name)
    return name if found is None else f"{found[1]} {int(found[2]) + 1}"


def _cut(cut: SheetCut, units: Units, *, turned: bool) -> str:
    """Return one cut as somebody sets it out on the sheet as it is drawn: which way, and how far from which edge.

    A kerf lies beyond the cut, seen from that edge. A sheet that was turned for its drawing has the corner that all is
    measured from at its upper left, any other at its lower left.
    """
    upright = abs(cut.x0_mm - cut.x1_mm) < _STRAIGHT_MM
    at = cut.x0_mm if upright else cut.y0_mm
    ends = sorted((cut.y0_mm, cut.y1_mm) if upright else (cut.x0_mm, cut.x1_mm))
    edges = ("upper", "left") if turned else ("lower", "left")
    across = upright == turned
    word, edge = ("Across", edges[0]) if across else ("Upright", edges[1])
    run = " to ".join(number_in(each, units) for each in ends)
    return f"{word}, {number_in(at, units)} from the {edge} edge, {run}"


def _bar(bar: BarLayout, units: Units) -> str:
    pieces = " + ".join(number_in(each.length_mm, units) for each in bar.pieces)
    left = f"{number_in(bar.offcut_mm, units)} left" if bar.offcut_mm else "nothing left"
    return f"{_stock(bar.stock)}: {pieces}; {left}{', keep it' if bar.kept else ''}"
