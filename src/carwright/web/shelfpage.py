"""The shelf: what lies there, what comes and goes, cutting plans that were taken, and the list for a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Form, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from carwright.car.keys import Key, keys, section_named
from carwright.car.read import read_shelf
from carwright.car.shelfcsv import (
    SIZES,
    csv_of_shelf,
    new_shelf,
    row_values,
    rows_of_shelf,
    sizes_as_typed,
    units_of_shelf,
)
from carwright.car.shelffile import TABLES, ShelfEdit, edited
from carwright.car.shelffile import Row as Place
from carwright.problems import InputError, Problem
from carwright.stock.shelfdocument import without_plan
from carwright.web.choicepage import lines_changed
from carwright.web.pages import attachment, by_of, render, shop_of
from carwright.web.shelfrows import cars_of, last_change, row_name, row_of, undid_words, undone_words, unlikely

if TYPE_CHECKING:
    from carwright.car.model import Shelf
    from carwright.shop import Shop

__all__ = ["shelf_now", "shelf_router"]

shelf_router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Miscounted:
    """A count that cannot be: the row, what was typed, and what is wrong with it."""

    table: str
    at: int
    typed: str
    problems: Sequence[Problem]


def shelf_now(shop: Shop) -> tuple[bytes, int, Shelf]:
    """Return the shelf's file, its revision, and what it says; an empty shelf is one without rows."""
    data, revision = shop.shelf()
    return data, revision, read_shelf(data or new_shelf("in"))


@shelf_router.get("/shelf")
def shelf(request: Request) -> Response:
    """Show the shelf."""
    return _page(request)


@shelf_router.post("/shelf/add")
async def add(request: Request) -> Response:
    """Put a row of stock on the shelf."""
    form = await request.form(max_files=0, max_fields=60)
    given = {name: " ".join(str(value).split()) for name, value in form.items()}

    def work() -> Response:
        shop = shop_of(request)
        data, revision = shop.shelf()
        table = given.pop("table", "")
        units = "mm" if given.pop("units", "in") == "mm" else "in"
        document = data or new_shelf(units)
        sure = bool(given.pop("sure", ""))
        typed = {name: text for name, text in given.items() if text}
        new, slips = _with_row(document, table, typed)
        slips += _needed(table, typed)
        if not typed and not slips:
            slips.append(Problem("nothing was typed", accepted="its sizes, and how many there are"))
        doubts = unlikely(table, read_shelf(new), typed) if not slips and not sure else []
        if slips or doubts:
            wrong = _at_fields(table, [*slips, *doubts])
            return _page(request, table=table, typed=given | {"units": units}, wrong=wrong, doubted=bool(doubts))
        at = max(each for kind, each in rows_of_shelf(new) if kind == table)
        note = f"{_called(new, (table, at))} was put on the shelf"
        shop.save_shelf(new, based_on=revision, by=by_of(request), note=note)
        return RedirectResponse(f"/shelf?kind={table}#kind-{table}", 303)

    return await run_in_threadpool(work)


@shelf_router.post("/shelf/count")
def recount(
    request: Request,
    table: Annotated[str, Form(max_length=40)] = "",
    at: Annotated[int, Form(ge=0, le=10**6)] = 0,
    based_on: Annotated[int, Form(ge=0, le=10**9)] = 0,
    count: Annotated[str, Form(max_length=400)] = "",
    drop: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Say how many of a row lie there now, or take the row off the shelf."""
    shop = shop_of(request)
    data, revision = shop.shelf()
    count = count.strip()
    try:
        place = _place_now(shop, data, revision, (table, at), based_on)
        edit = ShelfEdit(drop=[place]) if drop else ShelfEdit({place: row_values(table, {"count": count})})
        new = edited(data, edit)
        read_shelf(new)
    except _MovedError as moved:
        mend = "Nothing was changed. How many there are now stands at your row."
        problem = Problem("this row was changed meanwhile", moved.count or "any", mend=mend)
        return _page(request, miscounted=Miscounted(*moved.place, "" if drop else count, (problem,)))
    except InputError as trouble:
        if (table, at) not in rows_of_shelf(data):
            return _page(request, problems=trouble.problems)
        return _page(request, miscounted=Miscounted(table, at, count, trouble.problems))
    if new == data:
        return RedirectResponse("/shelf", 303)
    called = _called(data, place)
    was = rows_of_shelf(data)[place].get("count") or "any"
    note = f"{called} was taken off the shelf" if drop else f"of {called} there are now {count}, not {was}"
    shop.save_shelf(new, based_on=revision, by=by_of(request), note=note)
    return RedirectResponse("/shelf#last", 303)


@shelf_router.post("/shelf/back")
def back(request: Request, revision: Annotated[int, Form(ge=0, le=10**9)] = 0) -> Response:
    """Undo the last change of the shelf: it is again as it was before; both stay in its history."""
    shop = shop_of(request)
    heads = shop.shelf_heads()
    last = last_change(shop, heads)
    if last is None or last.number != revision:
        mend = "Nothing was undone. The shelf stands below as it is now."
        return _page(request, problems=(Problem("the shelf was changed meanwhile", mend=mend),))
    shop.save_shelf(last.before, based_on=revision, by=by_of(request), note=undone_words(last.words))
    return RedirectResponse("/shelf#last", 303)


class _MovedError(Exception):
    """A row that somebody changed since it was looked at: where it stands now, and how many there are."""

    def __init__(self, place: Place, count: str) -> None:
        self.place, self.count = place, count


def _place_now(shop: Shop, data: bytes, revision: int, place: Place, seen: int) -> Place:
    """Return where a row stands now that was looked at in an earlier revision; what else was changed is no matter.

    Raises:
        InputError: it does not lie there any more.
        _MovedError: it was changed itself.
    """
    rows = rows_of_shelf(data)
    was = rows_of_shelf(shop.shelf_revision(seen).data).get(place) if seen and seen != revision else rows.get(place)
    if was is not None:
        same = [each for each, values in rows.items() if each[0] == place[0] and values == was]
        if same:
            return place if place in same else same[0]
        alike = [each for each, values in rows.items() if each[0] == place[0] and _but_count(values) == _but_count(was)]
        if alike:
            raise _MovedError(alike[0], rows[alike[0]].get("count", ""))
    called = place[0] if was is None else row_name(*place, was)
    mend = "It was taken off meanwhile, or changed. Nothing was changed; the shelf stands below as it is now."
    raise InputError(Problem("this row is not on the shelf any more", called, mend=mend))


def _but_count(values: Mapping[str, str]) -> dict[str, str]:
    return {name: text for name, text in values.items() if name != "count"}


def _called(data: bytes, place: Place) -> str:
    """Return a row by name and sizes, for the shelf's history."""
    values = rows_of_shelf(data)[place]
    return ", ".join(each for each in (row_name(*place, values), sizes_as_typed(place[0], values)) if each)


@shelf_router.post("/shelf/undo")
def undo(request: Request, plan: Annotated[str, Form(max_length=40)] = "") -> Response:
    """Take a cutting plan back: its stock lies there again, its offcuts are gone."""
    shop = shop_of(request)
    data, revision, found = shelf_now(shop)
    names = cars_of(shop)
    try:
        if plan not in {each.plan for each in found.taken}:
            raise InputError(Problem("this cutting was undone already", names.get(plan, "")))
        if found.taken[-1].plan != plan:
            later = names.get(found.taken[-1].plan, "another")
            mend = f"Undo the cutting for {later} first: it came after."
            raise InputError(
                Problem("only the cutting that was taken last can be undone", names.get(plan, ""), mend=mend)
            )
        done = without_plan(data, plan)
        note = undid_words(shop, plan)
        shop.undo_take(plan, done.document, based_on=revision, by=by_of(request), note=note)
    except InputError as trouble:
        return _page(request, problems=trouble.problems)
    return RedirectResponse("/shelf", 303)


@shelf_router.post("/shelf/choice")
def choose(request: Request, number: Annotated[int, Form(ge=0, le=10**9)] = 0) -> Response:
    """Go on with one of the saves of the shelf that stand beside each other."""
    shop = shop_of(request)
    over = [each.number for each in shop.shelf_heads() if each.number != number]
    try:
        shop.choose_shelf(number, over=over, by=by_of(request))
    except InputError as trouble:
        return _page(request, problems=trouble.problems)
    return RedirectResponse("/shelf", 303)


@shelf_router.get("/shelf/shelf.csv")
def as_list(request: Request) -> Response:
    """Answer with the shelf as a list for a spreadsheet."""
    data, _, _ = shelf_now(shop_of(request))
    return attachment(csv_of_shelf(data or new_shelf("in")).encode(), "shelf.csv", "text/csv; charset=utf-8")


@shelf_router.get("/shelf/shelf.toml")
def as_file(request: Request) -> Response:
    """Answer with the shelf's file."""
    data, _ = shop_of(request).shelf()
    return attachment(data, "shelf.toml", "application/toml")


def _with_row(document: bytes, table: str, typed: Mapping[str, str]) -> tuple[bytes, list[Problem]]:
    """Return the shelf's file with a row more, and everything that is wrong with what was typed."""
    slips: list[Problem] = []
    good = dict(typed)
    new = document
    while good:
        try:
            new = edited(document, ShelfEdit(add=[(table, row_values(table, good))]))
            read_shelf(new)
            break
        except InputError as trouble:
            slips += trouble.problems
            bad = {each.key.rpartition(".")[2] for each in trouble.problems} & good.keys()
            if not bad:
                break
            good = {name: text for name, text in good.items() if name not in bad}
    return new, slips


def _needed(table: str, typed: Mapping[str, str]) -> list[Problem]:
    """Return which sizes were not typed without which a piece of stock serves nothing."""
    missing = [key for key in _columns(table) if key.name in _NEEDED.get(table, ()) and not typed.get(key.name)]
    return [
        Problem(f"{key.called} is missing", accepted=f"a size, as {key.example}", mend=key.how, key=key.name)
        for key in missing
    ]


def _at_fields(table: str, problems: Sequence[Problem]) -> dict[str, list[Problem]]:
    """Return what is wrong by the field that it speaks of; "" has what speaks of none."""
    names = {key.name for key in _columns(table)}
    found: dict[str, list[Problem]] = {}
    for each in problems:
        name = each.key.rpartition(".")[2]
        found.setdefault(name if name in names else "", []).append(each)
    return found


def _columns(table: str) -> tuple[Key, ...]:
    """Return what can be said of a kind of stock."""
    own = [key for key in keys() if key.section == f"shelf.{table}[]" and not key.program]
    return tuple(sorted(own, key=lambda key: _ORDER.get(key.name, 50)))


_NEEDED: Final = {
    "sheet": ("thickness", "width", "length"),
    "strip": ("thickness", "width", "length"),
    "rod": ("diameter", "length"),
    "tube": ("diameter", "inside", "length"),
    "wire": ("diameter", "length"),
    "washer": ("thickness", "inside"),
    "bolster": ("height",),
    "screw": ("thread", "length"),
    "drill": ("size",),
}
"""Sizes without which a piece of stock serves nothing."""

_MAIN = (*SIZES, "count", "name", "material")
"""What is asked first of a piece of stock; the rest is folded away."""

_ORDER = {name: at for at, name in enumerate((*SIZES, "count", "name", "material", "place"))}


def _page(
    request: Request,
    *,
    table: str = "sheet",
    typed: dict[str, str] | None = None,
    wrong: Mapping[str, Sequence[Problem]] | None = None,
    miscounted: Miscounted | None = None,
    doubted: bool = False,
    problems: tuple[Problem, ...] = (),
) -> Response:
    shop = shop_of(request)
    data, revision, found = shelf_now(shop)
    cars = cars_of(shop) if found.taken else {}
    rows = [row_of(kind, at, values, cars) for (kind, at), values in rows_of_shelf(data or new_shelf("in")).items()]
    kinds = {kind: [row for row in rows if row.table == kind] for kind in TABLES}
    chosen = request.query_params.get("kind", table)
    chosen = chosen if chosen in TABLES else "sheet"
    section = section_named(f"shelf.{chosen}[]")
    heads = shop.shelf_heads()
    return render(
        request,
        "shelf.html",
        status=422 if problems or wrong or miscounted else 200,
        here="shelf",
        kinds={kind: rows for kind, rows in kinds.items() if rows},
        tables=TABLES,
        chosen=chosen,
        about=section.what if section is not None else "",
        columns=_columns(chosen),
        main=_MAIN,
        typed=typed or {},
        wrong=wrong or {},
        miscounted=miscounted,
        given=(*(name for name, text in (typed or {}).items() if text), *(wrong or {})),
        first=next((key.name for key in _columns(chosen) if key.name in (wrong or {})), ""),
        picture=_picture(chosen),
        cars_of=cars,
        doubted=doubted,
        last=last_change(shop, heads),
        units=units_of_shelf(data) if data else "in",
        empty=not data,
        revision=revision,
        taken=tuple(reversed(found.taken)),
        problems=problems,
        beside=[(each, lines_changed(shop.shelf_revision(each.based_on), each)) for each in heads[1:] if each.based_on],
        head=heads[0] if heads else None,
    )


@lru_cache(maxsize=len(TABLES))
def _picture(table: str) -> Markup:
    """Return the sketch of what is measured of a kind of stock, "" where its fields say it."""
    from carwright.draw.fieldpictures import stock_picture
    from carwright.draw.svg import page_svg

    drawing = stock_picture(table)
    if drawing is None:
        return Markup()
    return Markup(page_svg(drawing, classes="dwg small stocksketch", sized=True))  # noqa: S704 -- it escapes every text
