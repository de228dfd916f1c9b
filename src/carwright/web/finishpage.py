"""How a car is painted: what is wanted of it, as fields; act by act what waits for what and why; what to have.

What is typed here and cannot be used stays in its field, with what is wrong beside it; nothing of it is saved.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.responses import RedirectResponse, Response

from carwright.car.keys import path_of
from carwright.car.write import set_values
from carwright.web.desk import Desk, desk_of, note_of, workbench_of
from carwright.web.done import done_at
from carwright.web.figures import stacked
from carwright.web.pages import by_of, render, shop_of
from carwright.web.readings import Field, Group, groups_of, texts_of

if TYPE_CHECKING:
    from carwright.book.finishpage import Finished
    from carwright.findings import Finding
    from carwright.plan import Plan
    from carwright.problems import Problem
    from carwright.shop import CarState

__all__ = ["finish_router"]

finish_router = APIRouter(include_in_schema=False)

_WIDE_MM, _HIGH_MM = 92.0, 90.0
"""Room for an unfolded car: as wide as a telephone; a wider screen has it larger."""


@dataclass(frozen=True, slots=True)
class Act:
    """One act: its number, what is done, how long hands are on it, what it waits for, and what is checked after it."""

    number: int
    title: str
    minutes: int
    waits: tuple[str, ...]
    hold: str


@dataclass(frozen=True, slots=True)
class PaintRow:
    """One paint: where it goes, in how many coats, area and ml as written ("?" unknown), its family, what to buy."""

    paint: str
    where: str
    coats: int
    area: str
    amount: str
    most: str
    family: str
    buy: str


@dataclass(frozen=True, slots=True)
class RungRow:
    """One stripper of the ladder: why it stands there, when it is looked after, by when the part is out."""

    name: str
    status: str
    because: str
    look: str
    out: str


@dataclass(frozen=True, slots=True)
class Asked:
    """Fields of the finish that belong together; ``open`` where something of them is wanted or wrong."""

    title: str
    fields: tuple[Field, ...]
    open: bool


_NOW: Final = ("plastic", "old_coat", "old_colour", "old_family", "glue_to", "glued", "fitted")
_WISHES: Final = (
    "lettering", "lettered", "gloss", "weathering", "last_flat", "order", "light_first", "apart", "seal", "barrier",
    "spray", "temperature", "humidity", "glue_dry",
)  # fmt: skip
_ROW: Final = re.compile(r"paint\[(\d{1,3})\]\.")
_OF: Final = "family of "
"""Before a colour of the scheme: the field that says of which family its paint is, where no paint of it is there."""


@finish_router.get("/car/{slug}/finish")
def finish(request: Request, slug: str) -> Response:
    """Show the finish of a car as it was last saved."""
    state = shop_of(request).car(slug)
    return _shown(request, state, desk_of(request, slug, state=state))


@finish_router.post("/car/{slug}/finish")
async def changed(request: Request, slug: str) -> Response:
    """Keep what was typed of the finish; what cannot be used stays in its field, and nothing is saved."""
    form = await request.form()
    return await run_in_threadpool(_kept, request, slug, form)


def _kept(request: Request, slug: str, form: FormData) -> Response:
    shop = shop_of(request)
    state = shop.car(slug)
    given = {name: value for name, value in form.multi_items() if isinstance(value, str)}
    number = given.get("base", "")
    base = int(number) if number.isascii() and number.isdigit() and len(number) < 10 else 0
    document = workbench_of(request).document(slug, base, lambda: shop.revision(slug, base).data)
    desk = desk_of(request, slug, typed=_typed(given, texts_of(document)), base=base, state=state)
    made = _finished(desk)
    if desk.draft.problems or (made is not None and made.troubles):
        return _shown(request, state, desk)
    if desk.draft.changes:
        data = set_values(document, desk.draft.changes)
        saved = shop.save(slug, data, based_on=base, by=by_of(request), note=note_of(desk))
        if saved.beside:
            return RedirectResponse(f"/choice/{slug}?saved={saved.revision}", 303)
        return done_at(f"/car/{slug}/finish", saved.change)
    return RedirectResponse(f"/car/{slug}/finish", 303)


def _typed(given: Mapping[str, str], texts: Mapping[str, str]) -> dict[str, str]:
    """Return what was typed by its slot; a family that was chosen for a colour becomes a paint of its own."""
    typed = {
        name: " ".join(value.split())
        for name, value in given.items()
        if name.startswith("finish.") or _ROW.match(name) is not None
    }
    rows = {
        int(found[1]) for name in (*texts, *typed) if (found := _ROW.match(name)) and (name in texts or typed[name])
    }
    at = max(rows, default=-1) + 1
    for name, value in given.items():
        if name.startswith(_OF) and value:
            typed |= {f"paint[{at}].colour": name.removeprefix(_OF), f"paint[{at}].family": value}
            at += 1
    return typed


def _finished(desk: Desk) -> Finished | None:
    from carwright.book.finishpage import finished

    return finished(desk.plan)


def _shown(request: Request, state: CarState, desk: Desk) -> Response:
    from carwright.book.cautions import CAUTIONS, LABELS_FIRST
    from carwright.book.finishpage import finished
    from carwright.plan import finishwords
    from carwright.plan.paintneeds import named_surfaces

    made, plan = _finished(desk), desk.plan
    if made is not None and made.troubles:
        problems = {**desk.draft.problems, **_at_fields(made.troubles, desk)}
        desk = replace(desk, draft=replace(desk.draft, problems=problems))
        if desk.draft.typed:
            made, plan = finished(desk.draft.before), desk.draft.before
    findings = _findings(made)
    groups = groups_of(desk.draft.texts, plan.car, [need for each in findings for need in each.needs])
    return render(
        request,
        "finish.html",
        status=422 if desk.draft.problems else 200,
        here="line",
        car=state,
        desk=desk,
        scheme=plan.car.finish.scheme.strip(),
        made=None if made is not None and made.troubles else made,
        fields={each.key.path: each for group in groups for each in group.every},
        asked=tuple(_asked(groups, desk)),
        paint_rows=tuple(_paint_rows(groups, desk)),
        unsaid=tuple(_unsaid(made)),
        acts=tuple(_acts(made)),
        paints=tuple(_paints(plan, made)),
        rungs=tuple(_rungs(made)),
        findings=findings,
        masks=tuple(_masks(plan, made)),
        cautions=(LABELS_FIRST, CAUTIONS["spray"], CAUTIONS["dust"]),
        stacked=stacked,
        told=finishwords,
        own=bool(plan.car.finish.order),
        gaps=finishwords.gaps_told(plan.kind),
        doors=made is not None and made.finish is not None and "doors" in named_surfaces(made.finish),
        area="in²" if plan.car.info.units == "in" else "cm²",
    )


def _at_fields(troubles: Iterable[Problem], desk: Desk) -> dict[str, tuple[Problem, ...]]:
    """Return what the finish cannot use by the slot in which it was typed."""
    found: dict[str, tuple[Problem, ...]] = {}
    slots = desk.draft.texts
    for each in troubles:
        near = (each.key, each.key.rpartition("[")[0], "finish.scheme")
        slot = next(one for one in near if one in slots)
        found[slot] = (*found.get(slot, ()), each)
    return found


def _asked(groups: Iterable[Group], desk: Desk) -> Iterator[Asked]:
    """Yield the fields of the finish: the car as it is, what is wished for it."""
    own = next(each for each in groups if each.name == "finish")
    for title, names in (("The car as it is now", _NOW), ("How you want it done", _WISHES)):
        fields = tuple(each for name in names for each in own.every if each.key.name == name)
        yield Asked(title, fields, _opened(fields, desk.open_at))


def _paint_rows(groups: Iterable[Group], desk: Desk) -> Iterator[Asked]:
    """Yield each paint that is there, and room for one more."""
    for group in groups:
        found = re.fullmatch(r"paint\[(\d+)\]", group.name)
        if found is None:
            continue
        told = [desk.draft.texts.get(f"{group.name}.{name}", "") for name in ("colour", "name")]
        title = next(filter(None, told), "") or "One more paint"
        slots = {path_of(slot) for slot in desk.draft.problems if slot.startswith(f"{group.name}.")}
        yield Asked(title, group.every, _opened(group.every, slots))


def _opened(fields: Iterable[Field], paths: Collection[str]) -> bool:
    return any((each.wanted and not each.given) or each.key.path in paths for each in fields)


def _unsaid(made: Finished | None) -> Iterator[tuple[str, str]]:
    """Yield each coat of which no paint is there: the field that says its family, and the coat in words."""
    if made is None or made.finish is None:
        return
    for coat in made.finish.coats:
        if coat.paint is None:
            yield _OF + coat.colour, f"{coat.colour} coat" if coat.role in ("gloss", "flat") else coat.colour


def _acts(made: Finished | None) -> Iterator[Act]:
    from carwright.plan.finishwords import waits_told

    if made is None or made.finish is None:
        return
    numbers = {step.id: number for number, step in enumerate(made.finish.steps, 1)}
    for number, step in enumerate(made.finish.steps, 1):
        yield Act(number, step.title, step.hands_min, waits_told(step.waits, numbers), step.hold_point)


def _findings(made: Finished | None) -> tuple[Finding, ...]:
    if made is None or made.finish is None or made.paint is None:
        return ()
    return (*made.finish.findings, *made.paint.findings)


def _paints(plan: Plan, made: Finished | None) -> Iterator[PaintRow]:
    from carwright.plan.finishwords import amounts_told, area_told, bought_told

    if made is None or made.paint is None:
        return
    for each in made.paint.needs:
        where, coats = made.paint.where(each), int(each.coats.value)
        area = area_told(each, inches=plan.car.info.units == "in")
        buy = bought_told(each) or "not known"
        yield PaintRow(each.paint, where, coats, area, *amounts_told(each), each.reckoned_as, buy)


_RUNGS = {"worked": "it worked", "next": "begin with it", "later": "if the one before fails"}


def _rungs(made: Finished | None) -> Iterator[RungRow]:
    from carwright.plan.finishwords import fit_rungs, time_told

    if made is None or made.finish is None:
        return
    for each in fit_rungs(made.finish.strip):
        look, out = time_told(each.first_check.value), time_told(each.limit.value)
        yield RungRow(each.name, _RUNGS[each.status], each.because, look, out)


def _masks(plan: Plan, made: Finished | None) -> Iterator[tuple[str, Markup]]:
    """Yield the unfolded car for each time that tape or paint changes, with its title."""
    from carwright.draw.finishviews import covering_title, covering_view
    from carwright.draw.svg import page_svg
    from carwright.finish.covering import coverings
    from carwright.plan.paintneeds import named_surfaces

    if made is None or made.finish is None:
        return
    named = named_surfaces(made.finish)
    for at, each in enumerate(coverings(made.finish.steps, named)):
        if each.everywhere:
            continue
        drawing = covering_view(plan, each, named, width_mm=_WIDE_MM, height_mm=_HIGH_MM, alone=False)
        told = page_svg(drawing, classes="dwg mask").replace(f'"{drawing.name}-', f'"{drawing.name}-{at}-')
        yield covering_title(each), Markup(told)  # noqa: S704 -- the writer escapes every text itself
