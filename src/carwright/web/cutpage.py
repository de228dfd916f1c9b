"""Cutting: choose cars, see every sheet and strip with its cuts in order, what to buy, and take it from the shelf."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form, Query, Request
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from carwright.lengths import number_in
from carwright.problems import InputError, Problem
from carwright.stock.batch import total_cost
from carwright.stock.records import SheetLayout
from carwright.web.cutting import MOST_CARS, CutPlan, CutPlans, Wish, take_plan
from carwright.web.line import found_cars
from carwright.web.pages import by_of, render, settings_of, shop_of

if TYPE_CHECKING:
    from carwright.stock.batch import Group

__all__ = ["cut_router"]

cut_router = APIRouter(include_in_schema=False)

_PROOF = {
    "optimal": "no cheaper plan exists",
    "feasible": "the best found; none cheaper is proven",
    "infeasible": "something must be bought",
    "unknown": "not proven",
}


@dataclass(frozen=True, slots=True)
class Shown:
    """A section of the plan as the page shows it: its heading, a note, its diagrams, its cuts, what it buys."""

    title: str
    note: str
    drawings: tuple[tuple[str, Markup], ...]
    cuts: tuple[str, ...]


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
        if plan.revision != revision:
            mend = "This is the plan from the shelf as it is now: look at it, then take it."
            raise InputError(Problem("the shelf was changed since the plan was made", mend=mend))
        on = f"{settings_of(request).today().isoformat()}"
        take_plan(shop, plan, on=on, by=by_of(request), bought=bool(bought), again=bool(again))
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
    title = f"{section.material.capitalize()} {section.form}, {size}{across} {units}"
    named = f"cut-{number}"
    drawings = tuple(
        (each.title, Markup(page_svg(each, classes="dwg cutd")))  # noqa: S704 -- the writer escapes every text itself
        for each in cut_drawings(plan.batch)
        if each.name == named or each.name.startswith(f"{named}-")
    )
    cuts: list[str] = []
    for layout in group.plan.layouts:
        if isinstance(layout, SheetLayout):
            cuts += [f"{len(layout.pieces)} pieces from {layout.stock}, {len(layout.cuts)} cuts"]
        else:
            pieces = " + ".join(number_in(each.length_mm, units) for each in layout.pieces)
            left = number_in(layout.offcut_mm, units) if layout.offcut_mm else "nothing"
            cuts.append(f"{layout.stock}: {pieces}; {left} left{', kept' if layout.kept else ''}")
    note = _PROOF.get(group.plan.status, "")
    return Shown(title, note, drawings, tuple(cuts))
