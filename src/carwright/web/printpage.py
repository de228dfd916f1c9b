"""Printing: the check of a printer's scale, then the measuring sheet, the templates and the build book of a car."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from fastapi import APIRouter, Form, Path, Query, Request
from starlette.responses import RedirectResponse, Response

from carwright import __version__
from carwright.findings import listed
from carwright.problems import InputError, Problem
from carwright.reference.edition import edition
from carwright.shop import ShopFault
from carwright.web import printers
from carwright.web.line import found_cars
from carwright.web.pages import attachment, by_of, render, shop_of
from carwright.web.planning import shelf_of
from carwright.web.words import READ_INTO, printed_words

if TYPE_CHECKING:
    from carwright.book.cutpages import Cutting
    from carwright.car.model import Shelf
    from carwright.draw.bars import Correction
    from carwright.draw.blocks import Page, Paper
    from carwright.plan import Plan
    from carwright.shop import CarState, Shop

__all__ = ["Printed", "print_router", "printed"]

print_router = APIRouter(include_in_schema=False)

Printed = Literal["book", "sheet", "template", "drawings"]
"""What of a car is printed."""

_TRUE_SIZE: Final = frozenset({"book", "template", "drawings"})
"""Of these, what carries something to be cut by: the printer's bars are measured first."""

_PDF: Final = "application/pdf"

_NAMES: Final = {"book": "Build book", "template": "Templates", "drawings": "All drawings"}


@dataclass(frozen=True, slots=True)
class Kept:
    """A print as it was made: its number, what it is, of which revision, when; why it may be true no more, or ""."""

    id: int
    name: str
    revision: int
    made_at: datetime
    old: str


@print_router.get("/print")
def every(request: Request, find: Annotated[str, Query(max_length=80)] = "") -> Response:
    """Show the printers of the shop, the check page, and the cars to print from."""
    shop = shop_of(request)
    cars = found_cars(shop, find) if find.strip() else shop.cars()
    return render(request, "print.html", here="print", car=None, cars=cars, find=find, **_check(request))


@print_router.get("/print/check.pdf")
def check_page(paper: Literal["letter", "a4"] = "a4") -> Response:
    """Answer with a page that has the bars and nothing to cut by."""
    from carwright.draw.blocks import Note, Page, Prose

    words = (
        Prose("Print this page at 100 %, actual size, not fitted to the paper."),
        Prose("Measure the bars of 100 mm with calipers or a good rule, between the middles of their end lines."),
        Note("Type both readings into the shop's page, under the name of this printer and paper."),
    )
    page = Page("Print check", "Carwright", f"for {'A4' if paper == 'a4' else 'Letter'} paper", words, False, True, "")
    return attachment(_pdf((page,), "Print check", paper), f"print-check-{paper}.pdf", _PDF, inline=True)


@print_router.post("/print")
def checked(
    request: Request,
    printer: Annotated[str, Form(max_length=2000)] = "",
    across: Annotated[str, Form(max_length=2000)] = "",
    up: Annotated[str, Form(max_length=2000)] = "",
    car: Annotated[str, Form(max_length=200)] = "",
    then: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """Keep what the bars measured; ask again where that cannot be."""
    shop = shop_of(request)
    state = shop.car(car) if car else None
    try:
        correction = printers.measured(printer, across, up)
    except InputError as trouble:
        typed = {"printer": printer, "across": across, "up": up}
        told = _check(request, state, typed=typed, problems=trouble.problems)
        if then == "new" and state is not None:
            return render(request, "check.html", status=422, here="line", car=state, **told)
        cars = [] if state is not None else shop.cars()
        return render(request, "print.html", status=422, here="print", car=state, cars=cars, find="", **told)
    printers.remember(shop, correction)
    if then == "new" and state is not None:
        return RedirectResponse(f"/new/{state.slug}/check", 303)
    return RedirectResponse(f"/print/{state.slug}" if state is not None else "/print", 303)


@print_router.get("/new/{slug}/check")
def new_check(request: Request, slug: str) -> Response:
    """Show the second step of a new car: the print check and the measuring sheet."""
    return render(request, "check.html", here="line", car=shop_of(request).car(slug), **_check(request))


@print_router.get("/print/{slug}")
def one(request: Request, slug: str) -> Response:
    """Show what of a car can be printed."""
    state = shop_of(request).car(slug)
    return render(request, "print.html", here="print", car=state, cars=(), find="", **_check(request, state))


@print_router.get("/print/{slug}/{what}.pdf")
def download(
    request: Request,
    slug: str,
    what: Printed,
    paper: Literal["letter", "a4"] | None = None,
    printer: Annotated[str, Query(max_length=200)] = "",
) -> Response:
    """Answer with one of the PDFs of a car; what is cut by waits for the printer's check."""
    shop = shop_of(request)
    state = shop.car(slug)
    correction = printers.remembered(shop, printer)
    if what in _TRUE_SIZE and correction is None:
        return RedirectResponse(f"/print/{slug}?check=first#check", 303)
    heads = shop.shelf_heads()
    shelf, mark = (heads[0].data, heads[0].sha256) if heads else (b"", "")
    data = printed(state, what, paper=paper, correction=correction, shelf=shelf)
    if what != "sheet":
        head = state.head
        with suppress(ShopFault):  # a disk that is full is no reason not to print
            shop.plan_record(
                slug, head.number, head.sha256, __version__, edition(), data, kind=what, shelf=mark, by=by_of(request)
            )
    return attachment(data, f"{slug}-{what}.pdf", _PDF, inline=True)


@print_router.get("/print/{slug}/kept/{number}.pdf")
def kept(request: Request, slug: str, number: Annotated[int, Path(ge=1, le=2**31 - 1)]) -> Response:
    """Answer with a PDF as it was printed then."""
    return attachment(shop_of(request).plan_data(slug, number), f"{slug}-{number}.pdf", _PDF, inline=True)


def printed(
    state: CarState, what: Printed, *, paper: Paper | None, correction: Correction | None, shelf: bytes
) -> bytes:
    """Return a PDF of a car as it stands, planned and cut out of the shop's shelf as on its other pages.

    Args:
        state: the car.
        what: which PDF.
        paper: None takes letter for cars in inches, a4 for those in millimetres.
        correction: the printer's; the measuring sheet does without.
        shelf: the shop's, as its file; empty where there is none.
    """
    from carwright.car.read import read_car

    stock = shelf_of(shelf)
    car = read_car(state.head.data, shelf=stock)
    chosen: Paper = paper or ("letter" if car.info.units == "in" else "a4")
    title = car.info.name or state.name
    if what == "sheet":
        from carwright.draw.sheet import measuring_pages

        return _pdf(measuring_pages(car, paper=chosen), f"Measuring sheet: {title}", chosen)
    from carwright.plan import make_plan

    plan = make_plan(car)
    if what == "book":
        from carwright.book.contents import book_pages

        pages = book_pages(plan, paper=chosen, correction=correction, cutting=_cut(plan, stock))
        return _pdf(pages, f"Build book: {title}", chosen, correction, foot="Carwright, build book")
    from carwright.draw.views import VIEWS, pages_of

    if what == "template":
        _need_floor(plan)
        pages = pages_of(plan, ("template", "setting-out", "pieces"), paper=chosen, correction=correction)
    else:
        pages = pages_of(plan, VIEWS, paper=chosen, correction=correction)
    return _pdf(pages, title, chosen, correction)


def _cut(plan: Plan, shelf: Shelf | None) -> Cutting | None:
    """Return how a car is cut out of the shop's shelf, None where there is none or nothing can be cut from it."""
    from carwright.book.cutpages import cutting_of

    if shelf is None or not (shelf.sheets or shelf.strips or shelf.rods):
        return None
    with suppress(InputError):
        return cutting_of(plan, shelf, drawn=False)
    return None


def _pdf(
    pages: Sequence[Page], title: str, paper: Paper, correction: Correction | None = None, *, foot: str = "Carwright"
) -> bytes:
    """Return sheets as a PDF, in the words of the page that they were asked for on."""
    from carwright.draw.pdf import pdf

    said = printed_words(pages)
    return pdf(said, title=title, paper=paper, correction=correction, foot=foot, read_into=READ_INTO)


def _need_floor(plan: Plan) -> None:
    if not plan.floor.outline:
        raise InputError(
            Problem(
                "there is no template yet",
                accepted="a car with C inside length and D inside width",
                mend="Measure C and D first; the measuring sheet shows where.",
            )
        )


def _paper_of(state: CarState | None) -> Paper:
    """Return the paper offered first: A4 for cars in millimetres."""
    from carwright.car.read import read_car

    try:
        return "a4" if state is not None and read_car(state.head.data).info.units == "mm" else "letter"
    except InputError:
        return "letter"


def _kept(shop: Shop, state: CarState) -> list[Kept]:
    """Return what was printed of a car, the last first, each with what was changed since."""
    mark, now = shop.shelf_mark(), (__version__, edition())
    found = []
    for each in shop.plans(state.slug, limit=10):
        since = ["the car was saved"] if each.sha256 != state.head.sha256 else []
        since += ["the shelf was changed"] if each.shelf is not None and each.shelf != mark else []
        since += ["the program was renewed"] if (each.version, each.edition) != now else []
        said = f"{listed(since)} since" if since else ""
        if not since and each.shelf is None:
            said = "whether the shelf was the same is not known"
        found.append(Kept(each.id, _NAMES.get(each.kind, each.kind), each.revision, each.made_at, said))
    return found


def _check(
    request: Request,
    state: CarState | None = None,
    *,
    typed: dict[str, str] | None = None,
    problems: tuple[Problem, ...] = (),
) -> dict[str, Any]:
    """Return what every page with the print check on it needs."""
    known = printers.known(shop_of(request))
    return {
        "kept": [] if state is None else _kept(shop_of(request), state),
        "paper": _paper_of(state),
        "printers": known,
        "typed": typed or {"printer": "", "across": "", "up": ""},
        "wrong": {key: tuple(each for each in problems if each.key == key) for key in ("printer", "across", "up")},
        "first": request.query_params.get("check") == "first",
    }
