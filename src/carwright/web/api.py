"""The shop for other programs: cars, their revisions, stages and plans, as JSON under ``/api/v1``.

A save names the revision that it was based on, in its body; it is never refused for another's save, and never written
over it. ``ETag`` is the hash of the document that counts, so that a program can ask whether anything changed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, TypeAlias

from fastapi import APIRouter, Path, Query, Request
from starlette.responses import Response

from carwright.shop import CarState
from carwright.shop.incoming import add_new_car, car_file
from carwright.shop.records import Stage
from carwright.web.apimodels import (
    Card,
    Changed,
    Choice,
    Errors,
    Join,
    Line,
    Moved,
    NewCar,
    NewValues,
    NewVersion,
    Save,
    State,
    Ticked,
    ToMeasure,
    Version,
)
from carwright.web.choicepage import join
from carwright.web.line import FIRST, found_cars
from carwright.web.pages import by_of, shop_of

if TYPE_CHECKING:
    from carwright.plan import Plan

__all__ = ["REFUSALS", "Slug", "api_router", "plan_of"]

REFUSALS: dict[int | str, dict[str, Any]] = {
    400: {"model": Errors, "description": "What was sent cannot be read at all."},
    404: {"model": Errors, "description": "There is no such car, revision or photograph."},
    413: {"model": Errors, "description": "What was sent is too large."},
    422: {"model": Errors, "description": "What was sent cannot be used: everything that is wrong with it."},
    503: {"model": Errors, "description": "The shop's file or server cannot be reached; nothing is lost."},
}

api_router = APIRouter(prefix="/api/v1", tags=["cars"], responses=REFUSALS)

Slug: TypeAlias = Annotated[str, Path(max_length=100, description="The car's short name in addresses.")]
Number: TypeAlias = Annotated[int, Path(ge=1, le=10**9, description="A revision's number.")]


@api_router.get("/cars")
def list_cars(
    request: Request,
    stage: Stage | None = None,
    limit: Annotated[int, Query(ge=1, le=500)] = FIRST,
    after: Annotated[str | None, Query(max_length=100, description="Go on behind this car.")] = None,
    find: Annotated[str, Query(max_length=80, description="Words of the name.")] = "",
) -> Line:
    """Return cars, last changed first."""
    shop = shop_of(request)
    words = " ".join(find.split())
    cars = found_cars(shop, words) if words else shop.cars(stage=stage, limit=limit, after=after)
    return Line(cars=[Card.of(each) for each in cars], counts=shop.counts(), last_change=shop.last_change())


@api_router.post("/cars", status_code=201)
def add_car(request: Request, sent: NewCar) -> NewVersion:
    """Add a car by its car file, which need not be finished; one that is there comes in again by another name only."""
    found = car_file(sent.document.encode())
    return NewVersion.of(add_new_car(shop_of(request), found, name=sent.name, by=by_of(request), note=sent.note))


@api_router.get("/cars/{slug}")
def get_car(request: Request, slug: Slug, response: Response) -> State:
    """Return everything that is now so of a car."""
    state = shop_of(request).car(slug)
    response.headers["etag"] = f'"{state.head.sha256}"'
    return State.of(state)


@api_router.patch("/cars/{slug}")
def change_car(request: Request, slug: Slug, sent: Moved) -> State:
    """Rename a car, move it to a stage, or note what it waits for."""
    shop, by = shop_of(request), by_of(request)
    shop.car(slug)
    if sent.name is not None:
        shop.rename(slug, sent.name, by=by)
    if sent.stage is not None:
        shop.set_stage(slug, sent.stage, by=by)
    if sent.waits_for is not None:
        shop.set_waits_for(slug, sent.waits_for, by=by)
    return State.of(shop.car(slug))


@api_router.put("/cars/{slug}/checklist")
def tick(request: Request, slug: Slug, sent: Ticked) -> State:
    """Tick a line of a checklist off, or open it again."""
    shop = shop_of(request)
    shop.tick(slug, sent.stage, sent.item, sent.done_on, sent.note, by=by_of(request))
    return State.of(shop.car(slug))


@api_router.get("/cars/{slug}/stale")
def list_stale(request: Request, slug: Slug) -> list[ToMeasure]:
    """Return the readings that were taken before something changed that they hang on."""
    return [ToMeasure.of(each) for each in shop_of(request).stale(slug)]


@api_router.get("/cars/{slug}/revisions")
def list_revisions(
    request: Request,
    slug: Slug,
    limit: Annotated[int, Query(ge=1, le=500)] = 50,
    before: Annotated[int | None, Query(ge=1, le=10**9)] = None,
) -> list[Version]:
    """Return revisions of a car, newest first."""
    return [Version.of(each) for each in shop_of(request).history(slug, limit=limit, before=before)]


@api_router.post("/cars/{slug}/revisions", status_code=201)
def save_car(request: Request, slug: Slug, sent: Save) -> NewVersion:
    """Keep a car file as a new revision; beside another where somebody was quicker."""
    shop = shop_of(request)
    return NewVersion.of(
        shop.save(slug, sent.document.encode(), based_on=sent.based_on, by=by_of(request), note=sent.note)
    )


@api_router.post("/cars/{slug}/values", status_code=201)
def put_values(request: Request, slug: Slug, sent: NewValues) -> NewVersion:
    """Put values into a car file, its comments kept, and keep it as a new revision; it must be a car afterwards."""
    from carwright.car.read import read_car
    from carwright.car.write import set_values

    shop = shop_of(request)
    document = set_values(shop.revision(slug, sent.based_on).data, sent.values)
    read_car(document)
    return NewVersion.of(shop.save(slug, document, based_on=sent.based_on, by=by_of(request), note=sent.note))


@api_router.get("/cars/{slug}/revisions/{number}")
def get_revision(request: Request, slug: Slug, number: Number) -> Version:
    """Return one revision, without its document."""
    return Version.of(shop_of(request).revision(slug, number))


@api_router.get(
    "/cars/{slug}/revisions/{number}/document",
    response_class=Response,
    responses={200: {"content": {"application/toml": {}}, "description": "The document, byte for byte."}},
)
def get_document(request: Request, slug: Slug, number: Number) -> Response:
    """Return a revision's document as it was received."""
    found = shop_of(request).revision(slug, number)
    return Response(found.data, media_type="application/toml", headers={"etag": f'"{found.sha256}"'})


@api_router.post("/cars/{slug}/choice")
def choose(request: Request, slug: Slug, sent: Choice) -> NewVersion:
    """Go on with one of the saves that stand beside each other; all stay in the history."""
    return NewVersion.of(shop_of(request).choose(slug, sent.number, over=sent.over, by=by_of(request)))


@api_router.post("/cars/{slug}/join", status_code=201)
def join_saves(request: Request, slug: Slug, sent: Join) -> NewVersion:
    """Put saves that stand beside each other into one new revision in the place of all; they stay in the history."""
    return NewVersion.of(
        join(shop_of(request), slug, sent.number, list(dict.fromkeys(sent.others)), sent.choose, by=by_of(request))
    )


@api_router.get("/cars/{slug}/plan")
def get_plan(request: Request, slug: Slug, response: Response) -> dict[str, Any]:
    """Return the plan of a car as it stands: what `carwright plan --json` prints."""
    from carwright.plan import document_of

    state = shop_of(request).car(slug)
    response.headers["etag"] = f'"{state.head.sha256}"'
    return document_of(plan_of(state)).as_json()


@api_router.get("/changes")
def list_changes(
    request: Request,
    since: Annotated[int, Query(ge=0, le=10**15)] = 0,
    limit: Annotated[int, Query(ge=1, le=500)] = 500,
) -> list[Changed]:
    """Return what was changed after one entry of the journal, oldest first."""
    return [Changed.of(each) for each in shop_of(request).changes(since, limit=limit)]


def plan_of(state: CarState) -> Plan:
    """Return the plan of a car as its head says it.

    Raises:
        InputError: its file cannot be planned.
    """
    from carwright.car.read import read_car
    from carwright.plan import make_plan

    return make_plan(read_car(state.head.data))
