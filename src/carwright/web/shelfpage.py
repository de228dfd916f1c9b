"""The shelf: what lies there, what comes and goes, cutting plans that were taken, and the list for a spreadsheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form, Request, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from carwright.car.document import MAX_BYTES
from carwright.car.keys import Key, keys, section_named
from carwright.car.listtext import text_of_list
from carwright.car.read import read_shelf
from carwright.car.shelfcsv import (
    SIZES,
    csv_of_shelf,
    new_shelf,
    row_values,
    rows_of_shelf,
    shelf_of_csv,
    sizes_as_typed,
    units_of_shelf,
)
from carwright.car.shelffile import TABLES, ShelfEdit, edited
from carwright.problems import InputError, Problem
from carwright.stock.shelfdocument import without_plan
from carwright.web.choicepage import lines_changed
from carwright.web.pages import attachment, by_of, render, shop_of

if TYPE_CHECKING:
    from carwright.car.model import Shelf
    from carwright.shop import Shop

__all__ = ["shelf_now", "shelf_router"]

shelf_router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the shelf as the page shows it: its place, what it is, its sizes as typed, and how many there are."""

    table: str
    at: int
    name: str
    sizes: str
    count: str
    more: str


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
        typed = {name: text for name, text in given.items() if text}
        try:
            if not typed:
                raise InputError(Problem("nothing was typed", accepted="its sizes, and how many there are"))
            new = edited(document, ShelfEdit(add=[(table, row_values(table, typed))]))
            read_shelf(new)
        except InputError as trouble:
            return _page(request, table=table, typed=given, problems=trouble.problems)
        shop.save_shelf(new, based_on=revision, by=by_of(request), note=f"Put {table} on the shelf")
        return RedirectResponse(f"/shelf?kind={table}", 303)

    return await run_in_threadpool(work)


@shelf_router.post("/shelf/count")
def recount(
    request: Request,
    table: Annotated[str, Form(max_length=40)],
    at: Annotated[int, Form(ge=0, le=10**6)],
    based_on: Annotated[int, Form(ge=0, le=10**9)],
    count: Annotated[str, Form(max_length=40)] = "",
    drop: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Say how many of a row lie there now, or take the row off the shelf."""
    shop = shop_of(request)
    data, revision = shop.shelf()
    try:
        if based_on != revision:
            mend = "Look at it as it is now, and count again."
            raise InputError(Problem("the shelf was changed meanwhile", mend=mend))
        place = (table, at)
        if place not in rows_of_shelf(data):
            raise InputError(Problem("there is no such row on the shelf", f"{table} {at + 1}"))
        edit = ShelfEdit(drop=[place]) if drop else ShelfEdit({place: row_values(table, {"count": count.strip()})})
        new = edited(data, edit)
        read_shelf(new)
    except InputError as trouble:
        return _page(request, problems=trouble.problems)
    if new != data:
        note = f"{table} {at + 1}: {'taken off the shelf' if drop else f'count {count.strip()}'}"
        shop.save_shelf(new, based_on=revision, by=by_of(request), note=note)
    return RedirectResponse("/shelf", 303)


@shelf_router.post("/shelf/undo")
def undo(request: Request, plan: Annotated[str, Form(max_length=40)]) -> Response:
    """Take a cutting plan back: its stock lies there again, its offcuts are gone."""
    shop = shop_of(request)
    data, revision = shop.shelf()
    try:
        done = without_plan(data, plan)
        shop.undo_take(plan, done.document, based_on=revision, by=by_of(request), note=f"Undid plan {plan}")
    except InputError as trouble:
        return _page(request, problems=trouble.problems)
    return RedirectResponse("/shelf", 303)


@shelf_router.post("/shelf/choice")
def choose(request: Request, number: Annotated[int, Form(ge=1, le=10**9)]) -> Response:
    """Go on with one of the saves of the shelf that stand beside each other."""
    shop = shop_of(request)
    over = [each.number for each in shop.shelf_heads() if each.number != number]
    shop.choose_shelf(number, over=over, by=by_of(request))
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


@shelf_router.post("/shelf/import")
async def bring(request: Request, file: UploadFile) -> Response:
    """Put a spreadsheet's list, or another shelf file, on the shelf."""
    data = await file.read(MAX_BYTES + 1)
    name = file.filename or ""

    def work() -> Response:
        shop = shop_of(request)
        there, revision = shop.shelf()
        try:
            if len(data) > MAX_BYTES:
                raise InputError(Problem("the file is larger than a shelf may be", file=name))
            new = data if name.casefold().endswith(".toml") else _listed(data, there, name)
            read_shelf(new, file=name)
        except InputError as trouble:
            return _page(request, problems=trouble.problems)
        shop.save_shelf(new, based_on=revision, by=by_of(request), note=f"From {name or 'a file'}"[:200])
        return RedirectResponse("/shelf", 303)

    return await run_in_threadpool(work)


def _listed(data: bytes, there: bytes, name: str) -> bytes:
    return shelf_of_csv(text_of_list(data, file=name), there or None, file=name).document


def _columns(table: str) -> tuple[Key, ...]:
    """Return what can be said of a kind of stock."""
    own = [key for key in keys() if key.section == f"shelf.{table}[]" and not key.program]
    return tuple(sorted(own, key=lambda key: _ORDER.get(key.name, 50)))


_MAIN = (*SIZES, "count", "name", "material")
"""What is asked first of a piece of stock; the rest is folded away."""

_ORDER = {name: at for at, name in enumerate((*SIZES, "count", "name", "material", "place"))}


def _page(
    request: Request,
    *,
    table: str = "sheet",
    typed: dict[str, str] | None = None,
    problems: tuple[Problem, ...] = (),
) -> Response:
    shop = shop_of(request)
    data, revision, found = shelf_now(shop)
    rows = [_row(kind, at, values) for (kind, at), values in rows_of_shelf(data or new_shelf("in")).items()]
    kinds = {kind: [row for row in rows if row.table == kind] for kind in TABLES}
    chosen = request.query_params.get("kind", table)
    chosen = chosen if chosen in TABLES else "sheet"
    section = section_named(f"shelf.{chosen}[]")
    heads = shop.shelf_heads()
    return render(
        request,
        "shelf.html",
        status=422 if problems else 200,
        here="shelf",
        kinds={kind: rows for kind, rows in kinds.items() if rows},
        tables=TABLES,
        chosen=chosen,
        about=section.what if section is not None else "",
        columns=_columns(chosen),
        main=_MAIN,
        typed=typed or {},
        given=tuple(name for name, text in (typed or {}).items() if text),
        units=units_of_shelf(data) if data else "in",
        empty=not data,
        revision=revision,
        taken=tuple(reversed(found.taken)),
        problems=problems,
        beside=[(each, lines_changed(shop.shelf_revision(each.based_on), each)) for each in heads[1:] if each.based_on],
        head=heads[0] if heads else None,
    )


def _row(table: str, at: int, values: dict[str, str]) -> Row:
    told = [values.get("material", "")]
    told.append("offcut" if values.get("offcut") == "true" else "")
    told.append(f"label {values['nominal']}" if values.get("nominal") else "")
    told.append(f"{values['cost']} each" if values.get("cost") else "")
    if values.get("pack") or values.get("pack_price"):
        price = f" for {values['pack_price']}" if values.get("pack_price") else ""
        told.append(f"pack of {values.get('pack') or '1'}{price}")
    told.append(values.get("place", ""))
    name = values.get("name") or f"{table} {at + 1}"
    return Row(
        table,
        at,
        name,
        sizes_as_typed(table, values),
        values.get("count") or "any",
        ", ".join(each for each in told if each),
    )
