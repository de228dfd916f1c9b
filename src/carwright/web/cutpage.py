"""Cutting: choose cars, see every sheet and strip with its cuts in order, what to buy, and take it from the shelf."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Form, Query, Request
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from carwright.findings import listed
from carwright.lengths import Units
from carwright.problems import InputError, Problem
from carwright.stock.records import SheetLayout
from carwright.web.cutting import MOST_CARS, Asked, CutPlan, CutPlans, Wish, take_plan
from carwright.web.line import found_cars
from carwright.web.pages import by_of, render, settings_of, shop_of

if TYPE_CHECKING:
    from carwright.draw.cutwords import Missing
    from carwright.draw.model import Drawing
    from carwright.shop import CarCard, CarState, Shop
    from carwright.stock.batch import Group

__all__ = ["cut_router"]

cut_router = APIRouter(include_in_schema=False)

_MOST_LEFT_OUT: Final = 2000
"""Names of pieces that are left out of one cutting."""

_TIMES: Final = 1.1
_LEAST_MM: Final = 2.7
"""Diagrams are shown so many times as large as they would be on paper, and no letter in them is smaller than 11 px."""

_SCALE: Final = 0.7
_WIDE_MM: Final = 168.0
_HIGH_MM: Final = 150.0
"""The greatest scale of a whole sheet, and what a diagram may measure: it then fits the column that it stands in."""

_ENDS_MM: Final = 12.0
"""Of that, for what sticks out at both ends of a bar."""

_NARROW_MM: Final = 80.0
"""A drawing up to so wide fits a narrow window; a wider one slides in its frame."""

_MOST_SENT: Final = 1000
_LONGEST: Final = 400
"""What a form may hold at all; what is too much of it is told at its box."""

_NO_CAR: Final = Problem(
    "no car is ticked, so there is nothing to plan",
    mend="Tick the cars whose pieces are to be cut together, then plan again.",
    key="cars",
)

_AT_FIELDS: Final = ("cars", "kerf")
"""What is wrong with these stands at their boxes."""

_MANY: Final = re.compile(r"^\d+ ")

_PROOF: Final = {
    "optimal": "there is no better way to cut these",
    "feasible": "not complete: this is the best way found, and a better one may exist",
    "infeasible": "the shelf alone cannot give all of these, however they are cut",
    "unknown": "none: whether the shelf alone could give these was not found out",
}
"""What is proven of a whole plan; its sections say it each of itself."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing of a plate, what stands above it, whether it is wider than a narrow window, and its letters' words."""

    caption: str
    drawing: Markup
    wide: bool
    letters: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Counts:
    """How many pieces of the cars are cut, and how many are not, by what keeps them; a piece of layers is one.

    Args:
        cut: cut by this plan.
        left_out: left out of it.
        waiting: wait for a measurement.
        lacking: have nothing on the shelf.
        apart: are wanted too, and not planned here.
        parts: what the cut pieces come off the stock as: each layer is one, and two that taper are one together.
    """

    cut: int
    left_out: int
    waiting: int
    lacking: int
    apart: int
    parts: int

    @property
    def all(self) -> int:
        """All pieces of the cars."""
        return self.cut + self.left_out + self.waiting + self.lacking + self.apart


@dataclass(frozen=True, slots=True)
class Ticks:
    """The pieces of one car to tick: its name, and of each piece its value, its words, whether it is left out."""

    car: str
    pieces: tuple[tuple[str, str, bool], ...]


@dataclass(frozen=True, slots=True)
class Plate:
    """One sheet, or the bars of a section: diagram and details, and the cuts in order, or the pieces of each bar."""

    title: str
    pictures: tuple[Picture, ...]
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
    car: Annotated[list[str] | None, Query(max_length=_MOST_SENT)] = None,
    kerf: Annotated[str, Query(max_length=_LONGEST)] = "",
    turn: Annotated[str, Query(max_length=10)] = "yes",
    out: Annotated[list[str] | None, Query(max_length=_MOST_LEFT_OUT)] = None,
    find: Annotated[str, Query(max_length=80)] = "",
    seek: Annotated[str, Query(max_length=10)] = "",
    sought: Annotated[str, Query(max_length=80)] = "",
) -> Response:
    """Show the choice of cars and, where some are chosen, their plan, or that it is being made."""
    wish = _wish(car or (), kerf, turn, out or ())
    slips: tuple[Problem, ...] = ()
    seeking = seek == "cars" or find != sought
    if not wish.cars and "turn" in request.query_params and not seeking:
        slips = (_NO_CAR,)
    return _page(request, wish, find=find, seeking=seeking, problems=slips)


@cut_router.post("/cutting/take")
def take(
    request: Request,
    car: Annotated[list[str] | None, Form(max_length=_MOST_SENT)] = None,
    revision: Annotated[int, Form(ge=0, le=10**9)] = 0,
    kerf: Annotated[str, Form(max_length=_LONGEST)] = "",
    turn: Annotated[str, Form(max_length=10)] = "yes",
    out: Annotated[list[str] | None, Form(max_length=_MOST_LEFT_OUT)] = None,
    bought: Annotated[str, Form(max_length=10)] = "",
    again: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Take the plan from the shelf, once."""
    shop = shop_of(request)
    wish = _wish(car or (), kerf, turn, out or ())
    plans: CutPlans = request.app.state.cut_plans
    try:
        plan = plans.make(shop, wish)
        on = settings_of(request).today().isoformat()
        take_plan(shop, plan, on=on, by=by_of(request), seen=revision, bought=bool(bought), again=bool(again))
    except InputError as trouble:
        return _page(request, wish, problems=trouble.problems)
    return RedirectResponse("/shelf#taken", 303)


def _wish(cars: Sequence[str], kerf: str, turn: str, out: Sequence[str]) -> Wish:
    """Return what a form asks; a piece is told as its car, a stroke, its name, and goes with its car."""
    ticked = tuple((slug, name) for slug, stroke, name in (each.partition("/") for each in out) if stroke)
    return Wish(tuple(cars), kerf, turn != "no", tuple(each for each in out if "/" not in each), ticked)


def _page(
    request: Request, wish: Wish, *, find: str = "", seeking: bool = False, problems: tuple[Problem, ...] = ()
) -> Response:
    shop = shop_of(request)
    plans: CutPlans = request.app.state.cut_plans
    plan: CutPlan | None = None
    working = False
    if wish.cars and not seeking:
        try:
            plan = plans.begin(shop, wish).result(timeout=settings_of(request).patience_s)
        except TimeoutError:
            working = True
        except InputError as trouble:
            problems = (*problems, *trouble.problems)
    from carwright.draw.cutwords import apart_words, cost_words, stock_words

    lacking = () if plan is None else _lacking(plan)
    counts = Counts(0, 0, 0, 0, 0, 0) if plan is None else _counts(plan, lacking)
    ticks = () if plan is None else _ticks(plan)
    lacks = _lacks(lacking)
    return render(
        request,
        "cutting.html",
        status=422 if problems else 200,
        here="cutting",
        cars=_offered(shop, wish, find),
        find=find,
        working=working,
        wish=wish,
        plan=plan,
        named="" if plan is None else listed(plan.names),
        day=settings_of(request).today(),
        shown=() if plan is None else tuple(_shown(plan, at, group) for at, group in enumerate(plan.batch.groups, 1)),
        called=stock_words,
        ticks=ticks,
        left_out=[value for each in ticks for value, _, out in each.pieces if out],
        rest=[] if plan is None else _values(plan, lambda each: each.told not in plan.batch.left_out),
        without=[] if plan is None else _values(plan, lambda each: lacks(each) or each.told in plan.batch.left_out),
        lacking=[] if plan is None else [(each, _values(plan, _among(each.names))) for each in lacking],
        apart=[] if plan is None else apart_words(plan.batch.apart, plan.units),
        counts=counts,
        why_not=_why_not(counts),
        most_ticks=_MOST_LEFT_OUT // 5,
        proof="" if plan is None else _proof(plan, counts),
        cost="" if plan is None else cost_words(plan.batch),
        stock="" if plan is None else _stock(plan),
        problems=[each for each in dict.fromkeys(problems) if each.key not in _AT_FIELDS],
        wrong={key: [each for each in dict.fromkeys(problems) if each.key == key] for key in _AT_FIELDS},
    )


def _offered(shop: Shop, wish: Wish, find: str) -> list[CarCard | CarState]:
    """Return the cars to tick: those that are ticked, then those found or changed last."""
    ticked: list[CarCard | CarState] = []
    for slug in dict.fromkeys(wish.cars):
        with suppress(InputError):  # one that is not there is told of above
            ticked.append(shop.car(slug))
    others = found_cars(shop, find) if find.strip() else shop.cars(limit=MOST_CARS)
    return [*ticked, *(each for each in others if each.slug not in wish.cars)]


def _values(plan: CutPlan, which: Callable[[Asked], bool]) -> list[str]:
    """Return the values by which a form names some pieces, each once."""
    return list(dict.fromkeys(f"{each.car}/{each.name}" for each in plan.pieces if which(each)))


def _among(names: Iterable[str]) -> Callable[[Asked], bool]:
    """Return whether a piece is among some names; two alike in one rectangle are named "2 web"."""
    every = {form for name in names for form in (name, _MANY.sub("", name))}
    return lambda each: each.told in every


def _lacks(lacking: Iterable[Missing]) -> Callable[[Asked], bool]:
    return _among(name for each in lacking for name in each.names)


def _ticks(plan: CutPlan) -> tuple[Ticks, ...]:
    """Return the pieces of each car as they are ticked to be left out."""
    from carwright.draw.cutwords import called

    found = []
    for slug, car in zip(dict.fromkeys(plan.wish.cars), plan.names, strict=True):
        many: dict[str, int] = {}
        for each in plan.pieces:
            if each.car == slug:
                many[each.name] = many.get(each.name, 0) + each.quantity
        out = {each.name for each in plan.pieces if each.car == slug and each.told in plan.batch.left_out}
        words = {name: f"{number} × {called(name)}" if number > 1 else called(name) for name, number in many.items()}
        found.append(Ticks(car, tuple((f"{slug}/{name}", words[name], name in out) for name in many)))
    return tuple(found)


def _counts(plan: CutPlan, lacking: Sequence[Missing]) -> Counts:
    """Return what becomes of all the pieces of the cars."""
    lacks = _lacks(lacking)
    out, waiting = set(plan.batch.left_out), set(plan.waiting)
    many = {"cut": 0, "out": 0, "waiting": 0, "lacking": 0}
    for each in plan.pieces:
        why = (
            "out" if each.told in out
            else "waiting" if each.told in waiting
            else "lacking" if lacks(each)
            else "cut"
        )  # fmt: skip
        many[why] += each.quantity
    parts = sum(len(each.pieces) for group in plan.batch.groups for each in group.plan.layouts)
    apart = sum(each.quantity for each in plan.batch.apart)
    return Counts(many["cut"], many["out"], many["waiting"], many["lacking"], apart, parts)


def _proof(plan: CutPlan, counts: Counts) -> str:
    """Return what is proven of the pieces that can be cut, and of those that the shelf has nothing for."""
    batch, many = plan.batch, counts.lacking
    served = _PROOF[replace(batch, lacking=()).status]
    if not batch.lacking:
        return served
    if not batch.groups:
        return "none needed: the shelf has nothing that any of these could be cut from"
    return f"{served}; nothing on the shelf for {many} other{'s' * (many > 1)}"


def _why_not(counts: Counts) -> list[str]:
    """Return how many pieces are not cut, by what keeps them."""
    out, waiting, lacking = counts.left_out, counts.waiting, counts.lacking
    said = [f"{out} {'is' if out == 1 else 'are'} left out"] if out else []
    said += [f"{waiting} wait{'s' if waiting == 1 else ''} for a measurement"] if waiting else []
    said += [f"{lacking} {'has' if lacking == 1 else 'have'} nothing on the shelf"] if lacking else []
    return [*said, f"{counts.apart} {'is' if counts.apart == 1 else 'are'} not planned here"] if counts.apart else said


def _stock(plan: CutPlan) -> str:
    """Return what the plan cuts up: 3 sheets, 2 rods and 5 wires."""
    from carwright.draw.cutwords import count_words

    many: dict[str, int] = {}
    for group in plan.batch.groups:
        if group.plan.layouts:
            many[group.section.form] = many.get(group.section.form, 0) + len(group.plan.layouts)
    return listed(count_words(number, form) for form, number in many.items())


def _shown(plan: CutPlan, number: int, group: Group) -> Shown:
    """Return one section as the page shows it."""
    from carwright.draw.cutdetails import sheet_pictures
    from carwright.draw.cutdiagrams import Lettering, bars_diagram
    from carwright.draw.cutnumbers import BESIDE_MM
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
    letters = Lettering(_LEAST_MM, _LEAST_MM, _LEAST_MM)
    title = section_words(group.section, units)
    plates: list[Plate] = []
    for at, (sheet, times) in enumerate(group.sheets, 1):
        wide = min(_SCALE, (_WIDE_MM - BESIDE_MM[0]) / sheet.length_mm)
        pictures = sheet_pictures(
            sheet,
            group,
            units,
            name=f"{name}-{at}",
            times=times,
            scale=wide,
            wide_mm=_WIDE_MM,
            high_mm=_HIGH_MM,
            letters=letters,
        )
        many = f", {times} alike" if times > 1 else ""
        told = f"{count_words(len(sheet.pieces), 'part')}, {count_words(len(sheet.cuts), 'cut')}"
        heading = f"{stock_words(sheet.stock)}{many}: {told}"
        plates.append(
            Plate(
                heading,
                tuple(_picture(each, at) for at, each in enumerate(pictures)),
                tuple(_acts(sheet, group, units)),
                (),
            )
        )
    if group.bars:
        rows = tuple(f"{many} of {stock_words(each.stock)}: {bar_words(each, units)}" for each, many in group.bars)
        longest = max(bar.length_mm for bar, _ in group.bars)
        scale = min(1.0, (_WIDE_MM - _ENDS_MM) / longest)
        drawing = bars_diagram(group, units, name=name, scale=scale, letters=letters)
        plates.append(
            Plate(
                f"{count_words(len(group.plan.layouts), group.section.form)} to cut", (_picture(drawing, 0),), (), rows
            )
        )
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


def _picture(drawing: Drawing, at: int) -> Picture:
    """Return a drawing to stand in a page, of a detail with what it shows; the heading serves for the whole."""
    from carwright.draw.svg import drawn_width, page_svg

    text = Markup(page_svg(drawing, classes="dwg cutd", sized=True, times=_TIMES))  # noqa: S704 -- it escapes every text
    letters = tuple((key, words) for key, _, words in (each.partition(": ") for each in drawing.notes))
    return Picture(drawing.title if at else "", text, drawn_width(drawing) > _NARROW_MM, letters)


def _acts(sheet: SheetLayout, group: Group, units: Units) -> Iterator[tuple[str, str]]:
    """Yield each step of cutting a sheet: its number on the diagram, and how it is made."""
    from carwright.draw.cutwords import act_number, act_words
    from carwright.stock.acts import acts_of

    for act in acts_of(sheet, kerf_mm=group.kerf_mm):
        yield act_number(act), act_words(act, units)
