"""How a car is painted, act by act: what is masked, what waits for what and why, what the paints do, what to have."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.responses import Response

from carwright.web.desk import workbench_of
from carwright.web.figures import stacked
from carwright.web.pages import render, shop_of

if TYPE_CHECKING:
    from carwright.book.finishpage import Finished
    from carwright.findings import Finding
    from carwright.plan import Plan

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


@finish_router.get("/car/{slug}/finish")
def finish(request: Request, slug: str) -> Response:
    """Show the finish of a car as it was last saved."""
    from carwright.book.cautions import CAUTIONS, LABELS_FIRST
    from carwright.book.finishpage import finished
    from carwright.plan import finishwords
    from carwright.plan.paintneeds import named_surfaces

    shop = shop_of(request)
    state = shop.car(slug)
    _, plan = workbench_of(request).planner.plan(state.head.data, {}, shop.shelf()[0])
    made = finished(plan)
    return render(
        request,
        "finish.html",
        status=422 if made is not None and made.troubles else 200,
        here="line",
        car=state,
        scheme=plan.car.finish.scheme.strip(),
        made=made,
        acts=tuple(_acts(made)),
        paints=tuple(_paints(plan, made)),
        rungs=tuple(_rungs(made)),
        findings=_findings(made),
        masks=tuple(_masks(plan, made)),
        cautions=(LABELS_FIRST, CAUTIONS["spray"], CAUTIONS["dust"]),
        stacked=stacked,
        told=finishwords,
        own=bool(plan.car.finish.order),
        doors=made is not None and made.finish is not None and "doors" in named_surfaces(made.finish),
        area="in²" if plan.car.info.units == "in" else "cm²",
    )


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
