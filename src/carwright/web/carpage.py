"""The page of one car: look, change a number, see what moves, keep it or go back."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Annotated, Final, Literal

from fastapi import APIRouter, Query, Request
from markupsafe import Markup
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.responses import JSONResponse, RedirectResponse, Response

from carwright.car.read import read_car
from carwright.car.write import set_values
from carwright.plan import document_of
from carwright.plan.taking import changes_for, take_way
from carwright.problems import InputError, Problem
from carwright.shop import STAGES
from carwright.shop.measuring import alike, in_words, subject
from carwright.web.compare import comparison_of
from carwright.web.desk import Desk, desk_of, echoes, note_of, part, typed_for, way_note, workbench_of
from carwright.web.done import BACK, done_at, shown_done
from carwright.web.elevations import reckon_behind
from carwright.web.figures import stacked
from carwright.web.pages import by_of, render, settings_of, shop_of
from carwright.web.planning import shelf_of
from carwright.web.why import Doubt, Step, asked, chain_of, doubt_of
from carwright.web.words import problem_on_page

if TYPE_CHECKING:
    from carwright.shop import CarState
    from carwright.web.studywork import Job

__all__ = ["car_router"]

car_router = APIRouter(include_in_schema=False)

_OURS = frozenset({"base", "at", "do", "view", "why", "try", "take", "undo", "page", "key", "last"})
"""Names in a car's form that are no measurement."""


@car_router.get("/car/{slug}")
def car(
    request: Request,
    slug: str,
    view: Annotated[str, Query(max_length=20)] = "",
    why: Annotated[str, Query(max_length=200)] = "",
) -> Response:
    """Show a car as it was last saved."""
    state = shop_of(request).car(slug)
    shown = _page(request, state, desk_of(request, slug, view=view, state=state), why=why)
    wanting = [(slug, state.head.number, state.head.sha256)]
    shown.background = BackgroundTask(reckon_behind, request.app.state, wanting)
    return shown


@car_router.post("/car/{slug}")
async def changed(request: Request, slug: str) -> Response:
    """Do what the form's button says with what was typed: plan, keep, go back, draw another view, try or take a way."""
    form = await request.form()
    return await run_in_threadpool(_done, request, slug, form)


@car_router.post("/car/{slug}/{asked}")
async def answered(request: Request, slug: str, asked: Literal["plan", "follow", "studies", "why"]) -> Response:
    """Answer the page's script: drawing and findings at once, what else moves, the studies, the chain of a number."""
    form = await request.form()
    return await run_in_threadpool(_ANSWERS[asked], request, slug, form)


@car_router.get("/car/{slug}/compare")
def compare(
    request: Request,
    slug: str,
    older: Annotated[int, Query(ge=0, le=10**9)] = 0,
    newer: Annotated[int, Query(ge=0, le=10**9)] = 0,
) -> Response:
    """Show what changed and what moved from one revision to another; without numbers, to the last."""
    shop = shop_of(request)
    newer = newer or shop.car(slug).head.number
    older = older or shop.revision(slug, newer).based_on or newer
    revisions = tuple(shop.revision(slug, number) for number in (older, newer))
    shelf, shelf_revision = shop.shelf()
    told = comparison_of(workbench_of(request).planner, revisions[0].data, revisions[1].data, shelf)
    names = tuple(f"Revision {each.number}" for each in revisions)
    marks = tuple(each.sha256 for each in revisions)
    history = shop.history(slug, limit=50)
    return render(
        request,
        "compare.html",
        here="line",
        car=shop.car(slug),
        told=told,
        names=names,
        marks=marks,
        history=history,
        numbers=(older, newer),
        shelf_revision=shelf_revision,
        stacked=stacked,
        desk=None,
    )


def _typed(form: FormData) -> dict[str, str]:
    return {
        name: value.replace("\r", " ").replace("\n", " ")
        for name, value in form.multi_items()
        if isinstance(value, str) and name not in _OURS and not name.startswith("good:")
    }


def _good(form: FormData) -> dict[str, str]:
    return {
        name.removeprefix("good:"): value
        for name, value in form.multi_items()
        if isinstance(value, str) and name.startswith("good:")
    }


def _text(form: FormData, name: str) -> str:
    value = form.get(name)
    return value[:200] if isinstance(value, str) else ""


def _number(form: FormData, name: str) -> int:
    text = _text(form, name)
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0


def _desk(request: Request, slug: str, form: FormData, *, state: CarState | None = None, **more: str) -> Desk:
    return desk_of(
        request,
        slug,
        typed=_typed(form),
        good=_good(form),
        base=_number(form, "base"),
        view=more.get("view", _text(form, "at")),
        state=state,
    )


def _page(request: Request, state: CarState, desk: Desk, *, why: str = "", study: bool = False) -> Response:
    chain = _chain(desk, why) if why else ()
    bench = workbench_of(request)
    parts = bench.studies.found(desk.draft.key)
    if study and parts is None:
        shelf, _ = shop_of(request).shelf()
        parts = bench.studies.make(f"plain {desk.draft.key}", desk.draft.key, _job(desk, shelf))
    return render(
        request,
        "car.html",
        status=422 if desk.draft.problems else 200,
        here="line",
        desk=desk,
        state=state,
        stages=STAGES,
        since=shop_of(request).last_change(),
        chain=chain,
        study_parts=parts,
        studied=study,
        again=[
            (subject(each), in_words(*each), [one.reading.key for one in each])
            for each in alike(shop_of(request).stale(desk.slug))
        ],
        photos=shop_of(request).photos(desk.slug),
    )


def _chain(desk: Desk, path: str) -> tuple[Markup, tuple[Step, ...], Doubt]:
    working = document_of(desk.plan).find(path)
    doubt = doubt_of(desk.plan, path, working)
    units = desk.plan.car.info.units
    return asked(working, units), chain_of(working, units, doubt), doubt


def _done(request: Request, slug: str, form: FormData) -> Response:
    shop = shop_of(request)
    do, view = _text(form, "do"), _text(form, "view") or _text(form, "at")
    if do == "back":
        return done_at(f"/car/{slug}" + (f"?view={view}" if view else ""), BACK)
    state = shop.car(slug)
    desk = _desk(request, slug, form, state=state, view=view)
    if desk.tried and (_text(form, "take") or _text(form, "try")):
        desk = desk_of(request, slug, base=desk.revision, view=view, state=state)
    if undo := _text(form, "undo"):
        typed = {slot: text for slot, text in desk.draft.typed.items() if slot != undo}
        return _page(request, state, desk_of(request, slug, typed=typed, base=desk.revision, view=view, state=state))
    if _text(form, "take") and not desk.draft.problems:
        return _taken(request, desk, _number(form, "take"))
    if _text(form, "try"):
        return _page(request, state, _tried(request, desk, _number(form, "try"), state))
    if do == "keep" and desk.draft.changes and not desk.draft.problems:
        data = set_values(desk.draft.document, desk.draft.changes)
        return _saved(request, desk, data, note_of(desk), way=bool(desk.tried))
    if do == "compare":
        data = set_values(desk.draft.document, desk.draft.changes) if desk.draft.changes else desk.draft.document
        shelf, shelf_revision = shop.shelf()
        told = comparison_of(workbench_of(request).planner, desk.draft.document, data, shelf)
        return render(
            request,
            "compare.html",
            here="line",
            car=state,
            told=told,
            names=(f"Revision {desk.revision}", "Not kept yet"),
            marks=None,
            history=(),
            numbers=None,
            shelf_revision=shelf_revision,
            stacked=stacked,
            desk=desk,
        )
    return _page(request, state, desk, why=_text(form, "why"), study=do == "study")


def _saved(request: Request, desk: Desk, data: bytes, note: str, *, way: bool = False) -> Response:
    jobs = shown_done(read_car(data), settings_of(request).today(), way=way)
    saved = shop_of(request).save(desk.slug, data, based_on=desk.revision, by=by_of(request), note=note, jobs=jobs)
    if saved.beside:
        return RedirectResponse(f"/choice/{desk.slug}?saved={saved.revision}", 303)
    return done_at(f"/car/{desk.slug}?view={desk.view}", saved.change)


def _drafted(desk: Desk) -> bytes:
    """Return the file with what was typed, for what goes on from it."""
    return set_values(desk.draft.document, desk.draft.changes) if desk.draft.changes else desk.draft.document


def _taken(request: Request, desk: Desk, number: int) -> Response:
    shelf = shelf_of(shop_of(request).shelf()[0])
    data = _drafted(desk)
    taken = take_way(read_car(data, shelf=shelf), data, number, shelf=shelf)
    return _saved(request, desk, taken.document, way_note(taken.way.name), way=True)


def _tried(request: Request, desk: Desk, number: int, state: CarState) -> Desk:
    """Return the page with a way to stand typed in, to look at before it is taken."""
    ways = desk.plan.alternatives
    if not 1 <= number <= len(ways):
        raise InputError(Problem("there is no such way to stand", value=str(number), accepted=f"1 to {len(ways)}"))
    wanted = changes_for(desk.plan.car, ways[number - 1])
    typed = {**desk.draft.typed, **typed_for(_drafted(desk), wanted)}
    return desk_of(request, desk.slug, typed=typed, base=desk.revision, view="ride", state=state)


def _planned(request: Request, slug: str, form: FormData) -> Response:
    """Answer at once with drawing, findings and how what was typed was read."""
    bench, page = workbench_of(request), _text(form, "page")
    bench.turns.take(page)
    bench.studies.give_up(page)
    desk = _desk(request, slug, form)
    last = _text(form, "last").split()
    asked = list(dict.fromkeys((*last, *desk.draft.problems))) if last else list(_typed(form))
    return JSONResponse(
        {
            "key": desk.draft.key,
            "moved": desk.draft.moved,
            "changed": part("changed", desk),
            "drawing": desk.svg,
            "findings": part("findings", desk, bench.studies.found(desk.draft.key)),
            "slots": echoes(desk, asked),
        }
    )


def _followed(request: Request, slug: str, form: FormData) -> Response:
    """Answer with what else of the page moves: heights, pieces, ways to stand, how much moved.

    With nothing where a newer change of the page came meanwhile: this one is not shown any more, and that one waits.
    """
    turns, page = workbench_of(request).turns, _text(form, "page")
    turn = turns.now(page)
    desk = _desk(request, slug, form)
    made: dict[str, str] = {}
    for name in ("heights", "pieces", "ways"):
        made[name] = part(name, desk)
        if turns.now(page) != turn:
            return Response(status_code=204)
    return JSONResponse({"key": desk.draft.key, **made, "summary": desk.short_summary, "said": _said(desk)})


def _why(request: Request, slug: str, form: FormData) -> Response:
    """Answer with the chain of one number of what was typed."""
    desk, path = _desk(request, slug, form), _text(form, "why")
    return JSONResponse({"key": desk.draft.key, "why": part("chain", desk, *_chain(desk, path))})


def _said(desk: Desk) -> str:
    """Return what a screen reader hears of a change."""
    bad = [problem_on_page(each) for found in desk.draft.problems.values() for each in found]
    if bad:
        return f"{bad[0].problem}. {bad[0].mend}".strip()
    return desk.summary


def _job(desk: Desk, shelf: bytes) -> Job:
    from carwright.web.studywork import Job

    return Job(desk.draft.document, dict(desk.draft.changes), shelf)


def _studied(request: Request, slug: str, form: FormData) -> Response:
    """Answer with the studies of what was typed, when they are made; with nothing where another change came first."""
    bench = workbench_of(request)
    desk = _desk(request, slug, form)
    shelf, _ = shop_of(request).shelf()
    made = bench.studies.make(_text(form, "page"), desk.draft.key, _job(desk, shelf))
    if made is None:
        return Response(status_code=204)
    shown = {"studies": part("studies", made, stacked), "findings": part("findings", desk, made)}
    return JSONResponse({"key": desk.draft.key, **shown})


_ANSWERS: Final[Mapping[str, Callable[[Request, str, FormData], Response]]] = {
    "plan": _planned,
    "follow": _followed,
    "studies": _studied,
    "why": _why,
}
