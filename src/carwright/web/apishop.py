"""The shop for other programs: shelf, printers, prints and photographs."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Form, Path, Query, Request, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from carwright.car.read import read_shelf
from carwright.problems import InputError, Problem
from carwright.shop.records import PhotoKind
from carwright.web import printers
from carwright.web.api import REFUSALS, Slug
from carwright.web.apimodels import Checked, LotNow, NewLot, NewShelf, NewVersion, Picture, Printer, ShelfNow
from carwright.web.pages import by_of, shop_of
from carwright.web.photographs import add_photograph
from carwright.web.printpage import Printed, printed

__all__ = ["shop_router"]

shop_router = APIRouter(prefix="/api/v1", responses=REFUSALS)


@shop_router.get("/shelf", tags=["shelf"])
def get_shelf(request: Request) -> ShelfNow:
    """Return the shelf's file."""
    data, revision = shop_of(request).shelf()
    return ShelfNow(document=data.decode("utf-8", "replace"), revision=revision)


@shop_router.put("/shelf", tags=["shelf"])
def save_shelf(request: Request, sent: NewShelf) -> NewVersion:
    """Keep the shelf's file as a new revision; it must be a shelf."""
    data = sent.document.encode()
    read_shelf(data)
    return NewVersion.of(shop_of(request).save_shelf(data, based_on=sent.based_on, by=by_of(request), note=sent.note))


@shop_router.get("/lots", tags=["lots"])
def list_lots(request: Request) -> list[LotNow]:
    """Return the lots that cars were bought in, the last first."""
    return [LotNow.of(each) for each in shop_of(request).lots()]


@shop_router.post("/lots", tags=["lots"], status_code=201)
def add_lot(request: Request, sent: NewLot) -> LotNow:
    """Keep a lot; its cars come out of any other."""
    kept = shop_of(request).add_lot(
        sent.name,
        bought_on=sent.bought_on,
        bought_for=sent.bought_for,
        note=sent.note,
        cars=sent.cars,
        by=by_of(request),
    )
    return LotNow.of(kept)


@shop_router.get("/printers", tags=["print"])
def list_printers(request: Request) -> list[Printer]:
    """Return the printers whose bars were measured."""
    return [
        Printer(printer=each.printer, x=each.x, y=each.y, note=each.note()) for each in printers.known(shop_of(request))
    ]


@shop_router.put("/printers/{name}", tags=["print"])
def check_printer(
    request: Request, name: Annotated[str, Path(max_length=100, examples=["workshop, A4"])], sent: Checked
) -> Printer:
    """Keep what the bars of a printer's page measured."""
    correction = printers.measured(name, sent.across, sent.up)
    printers.remember(shop_of(request), correction)
    return Printer(printer=correction.printer, x=correction.x, y=correction.y, note=correction.note())


@shop_router.get(
    "/cars/{slug}/print/{what}.pdf",
    tags=["print"],
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}, "description": "The pages, true to size."}},
)
def print_car(
    request: Request,
    slug: Slug,
    what: Printed,
    paper: Literal["letter", "a4"] | None = None,
    printer: Annotated[str, Query(max_length=100, description="A printer whose bars were measured.")] = "",
) -> Response:
    """Return pages of a car for one printer; without one they are drawn for a true printer, and say so."""
    shop = shop_of(request)
    state = shop.car(slug)
    correction = printers.remembered(shop, printer)
    if printer and correction is None:
        known = ", ".join(each.printer for each in printers.known(shop)) or "none yet"
        mend = "Print the check page for it first, and put what its bars measured."
        raise InputError(Problem("nothing is remembered of this printer", printer, known, mend, key="printer"))
    return Response(
        printed(state, what, paper=paper, correction=correction, shelf=shop.shelf()[0]), media_type="application/pdf"
    )


@shop_router.get("/cars/{slug}/photographs", tags=["photographs"])
def list_photographs(request: Request, slug: Slug) -> list[Picture]:
    """Return the photographs of a car, oldest first."""
    shop = shop_of(request)
    shop.car(slug)
    return [Picture.of(each) for each in shop.photos(slug)]


@shop_router.post("/cars/{slug}/photographs", tags=["photographs"], status_code=201)
async def add_picture(
    request: Request,
    slug: Slug,
    file: UploadFile,
    kind: Annotated[PhotoKind, Form()] = "as found",
    caption: Annotated[str, Form(max_length=300)] = "",
) -> Picture:
    """Add a photograph: JPEG, PNG or WebP; what is shown of it carries no place and no camera."""
    return Picture.of(await run_in_threadpool(add_photograph, request, slug, file.file, kind, caption))


@shop_router.get(
    "/cars/{slug}/photographs/{number}/{size}",
    tags=["photographs"],
    response_class=Response,
    responses={200: {"content": {"image/jpeg": {}}, "description": "The photograph."}},
)
def get_picture(
    request: Request,
    slug: Slug,
    number: Annotated[int, Path(ge=1, le=2**31 - 1)],
    size: Literal["shown", "thumb"],
) -> Response:
    """Return a photograph as it is shown, or small; the file as it was given stays in the shop."""
    return Response(shop_of(request).photo(slug, number, size), media_type="image/jpeg")
