"""Car files in and out: every revision of a car as it was received, and new cars from files."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form, Query, Request, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from carwright.car.document import MAX_BYTES
from carwright.car.read import read_car
from carwright.problems import InputError, Problem
from carwright.shop.incoming import add_new_car, car_file
from carwright.web.done import done_at
from carwright.web.pages import attachment, by_of, render, shop_of

if TYPE_CHECKING:
    from carwright.shop import Saved

__all__ = ["file_router"]

file_router = APIRouter(include_in_schema=False)

_TOML = "application/toml"


@file_router.get("/import")
def bring(request: Request) -> Response:
    """Ask for a car file."""
    return render(request, "import.html", here="line", problems=(), text="")


@file_router.post("/import")
async def brought(request: Request, file: UploadFile | None = None, text: Annotated[str, Form()] = "") -> Response:
    """Add a car from a file or from text, byte for byte; what of it cannot be used is said, to be mended here."""
    data = b"" if file is None else await file.read(MAX_BYTES + 1)
    data = data or text.encode()

    def work() -> Response:
        if not data.strip():
            problem = Problem(
                "no car was given", accepted="a copy of a car, or what stands in it", mend="Choose it, or paste it."
            )
            return render(request, "import.html", status=422, here="line", problems=(problem,), text="")
        try:
            found = car_file(data, file=(file.filename or "") if file is not None else "")
            if found.problems:
                raise InputError(found.problems)
            saved = add_new_car(shop_of(request), found, by=by_of(request), note="Brought in")
        except InputError as trouble:
            shown = "" if b"\0" in data or len(data) > MAX_BYTES else data.decode("utf-8", "replace")
            problems = trouble.problems[:20]
            return render(request, "import.html", status=422, here="line", problems=problems, text=shown)
        return done_at(f"/car/{saved.slug}", saved.change)

    return await run_in_threadpool(work)


@file_router.get("/files/{slug}")
def history(request: Request, slug: str, before: Annotated[int | None, Query(ge=1, le=10**9)] = None) -> Response:
    """Show the revisions of a car."""
    shop = shop_of(request)
    state = shop.car(slug)
    revisions = shop.history(slug, limit=51, before=before)
    more = revisions[49].number if len(revisions) > 50 else 0
    return render(request, "files.html", here="line", car=state, revisions=revisions[:50], more=more, problems=())


@file_router.get("/files/{slug}/{number}.toml")
def document(request: Request, slug: str, number: int) -> Response:
    """Answer with one revision's file, byte for byte."""
    found = shop_of(request).revision(slug, number)
    return attachment(found.data, f"{slug}-{number}.toml", _TOML)


@file_router.post("/files/{slug}/restore")
def restore(
    request: Request,
    slug: str,
    number: Annotated[int, Form(ge=1, le=10**9)],
    based_on: Annotated[int, Form(ge=0, le=10**9)] = 0,
) -> Response:
    """Save an earlier revision again as the newest; nothing is taken away.

    Where ``based_on`` is not the newest any more, what was saved since stands beside it until somebody chooses.
    """
    shop = shop_of(request)
    old, based_on = shop.revision(slug, number), based_on or shop.car(slug).head.number
    saved = shop.save(slug, old.data, based_on=based_on, by=by_of(request), note=f"Back to revision {number}.")
    return _led_on(saved)


def _led_on(saved: Saved) -> Response:
    """Lead to the car that was saved, or to the choice where somebody else had saved it meanwhile."""
    if saved.beside:
        return RedirectResponse(f"/choice/{saved.slug}?saved={saved.revision}", 303)
    return done_at(f"/car/{saved.slug}", saved.change)


@file_router.post("/files/{slug}/import")
async def save_file(
    request: Request, slug: str, based_on: Annotated[int, Form(ge=1, le=10**9)], file: UploadFile
) -> Response:
    """Save a car file that was changed elsewhere as a new revision."""
    data = await file.read(MAX_BYTES + 1)

    def work() -> Response:
        shop = shop_of(request)
        try:
            read_car(data, file=file.filename or "")
        except InputError as trouble:
            found = shop.history(slug, limit=50)
            problems = trouble.problems[:20]
            told = {"car": shop.car(slug), "revisions": found, "more": 0, "problems": problems}
            return render(request, "files.html", status=422, here="line", **told)
        saved = shop.save(slug, data, based_on=based_on, by=by_of(request), note="Brought in")
        return _led_on(saved)

    return await run_in_threadpool(work)
