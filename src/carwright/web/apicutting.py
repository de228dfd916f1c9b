"""The shop for other programs: cutting plans out of the shelf, taken once and undone, and the shelf's revisions."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request

from carwright.stock.published import batch_json
from carwright.stock.shelfdocument import without_plan
from carwright.web.api import REFUSALS
from carwright.web.apimodels import Choice, NewVersion, TakenPlan, ToCut, ToTake, ToUndo, Version
from carwright.web.cutting import CutPlans, Wish, take_plan
from carwright.web.pages import by_of, settings_of, shop_of
from carwright.web.shelfrows import undid_words

__all__ = ["cutting_router"]

cutting_router = APIRouter(prefix="/api/v1", responses=REFUSALS)


@cutting_router.post("/cutting", tags=["cutting"])
def plan_cut(request: Request, sent: ToCut) -> dict[str, Any]:
    """Return the cutting plan of some cars out of the shelf: what `carwright cut --json` prints, and how to take it."""
    plans: CutPlans = request.app.state.cut_plans
    plan = plans.make(shop_of(request), Wish(tuple(sent.cars), sent.kerf, sent.rotate, tuple(sent.leave_out)))
    return {
        "plan": plan.identity,
        "shelf_revision": plan.revision,
        "must_buy": plan.batch.must_buy,
        "taken_on": plan.taken_on or None,
        **batch_json(plan.batch, list(plan.waiting)),
    }


@cutting_router.post("/cutting/take", tags=["cutting"])
def take_cut(request: Request, sent: ToTake) -> TakenPlan:
    """Take a cutting plan from the shelf; asked again, it is not taken again, and the answer says so."""
    shop = shop_of(request)
    plans: CutPlans = request.app.state.cut_plans
    plan = plans.make(shop, Wish(tuple(sent.cars), sent.kerf, sent.rotate, tuple(sent.leave_out)))
    on = settings_of(request).today().isoformat()
    taken = take_plan(shop, plan, on=on, by=by_of(request), seen=sent.shelf_revision, bought=sent.bought)
    return TakenPlan.of(taken)


@cutting_router.get("/cutting/taken", tags=["cutting"])
def list_taken(request: Request) -> list[TakenPlan]:
    """Return the cutting plans that were taken and not put back, the last first."""
    return [TakenPlan.of(each) for each in shop_of(request).takings()]


@cutting_router.post("/cutting/undo", tags=["cutting"])
def undo_cut(request: Request, sent: ToUndo) -> NewVersion:
    """Put the cutting plan back that was taken last: its stock lies there again, its offcuts are gone."""
    shop = shop_of(request)
    data, revision = shop.shelf()
    done = without_plan(data, sent.plan)
    note = undid_words(shop, sent.plan)
    return NewVersion.of(shop.undo_take(sent.plan, done.document, based_on=revision, by=by_of(request), note=note))


@cutting_router.get("/shelf/revisions", tags=["shelf"])
def list_shelf_revisions(
    request: Request,
    limit: Annotated[int, Query(ge=1, le=500)] = 50,
    before: Annotated[int | None, Query(ge=1, le=10**9)] = None,
) -> list[Version]:
    """Return revisions of the shelf, newest first."""
    return [Version.of(each) for each in shop_of(request).shelf_history(limit=limit, before=before)]


@cutting_router.post("/shelf/choice", tags=["shelf"])
def choose_shelf(request: Request, sent: Choice) -> NewVersion:
    """Go on with one of the saves of the shelf that stand beside each other; all stay in the history."""
    return NewVersion.of(shop_of(request).choose_shelf(sent.number, over=sent.over, by=by_of(request)))
