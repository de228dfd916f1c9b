"""Photographs of a car: added within limits, shown re-encoded and small; the file as it was given stays in the shop."""

from __future__ import annotations

from typing import IO, Annotated

from fastapi import APIRouter, Form, Path, Request, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from carwright.problems import InputError, Problem
from carwright.shop import Photo
from carwright.shop.photographs import MOST_BYTES, pictures_of
from carwright.shop.records import PhotoKind
from carwright.web.done import done_at
from carwright.web.pages import by_of, render, settings_of, shop_of

__all__ = ["add_photograph", "photo_router"]

photo_router = APIRouter(include_in_schema=False)

KINDS: tuple[PhotoKind, ...] = ("as found", "as left")


@photo_router.get("/photographs/{slug}")
def photographs(request: Request, slug: str) -> Response:
    """Show the photographs of a car."""
    return _page(request, slug)


@photo_router.post("/photographs/{slug}/photographs")
async def add(
    request: Request,
    slug: str,
    file: UploadFile | None = None,
    kind: Annotated[str, Form(max_length=40)] = "as found",
    caption: Annotated[str, Form(max_length=300)] = "",
) -> Response:
    """Add a photograph, or say why it cannot be used."""

    def work() -> Response:
        known = next((each for each in KINDS if each == kind), KINDS[0])
        try:
            if file is None or not file.filename:
                raise InputError(Problem("no photograph was chosen", accepted="a JPEG, PNG or WebP file", key="file"))
            add_photograph(request, slug, file.file, known, caption)
        except InputError as trouble:
            return _page(request, slug, problems=trouble.problems, caption=caption)
        return done_at(f"/photographs/{slug}", shop_of(request).last_change())

    return await run_in_threadpool(work)


@photo_router.get("/photographs/{slug}/{size}/{number}.jpg")
def picture(request: Request, slug: str, size: str, number: Annotated[int, Path(ge=1, le=2**31 - 1)]) -> Response:
    """Answer with a photograph as it is shown, or small."""
    data = shop_of(request).photo(slug, number, "thumb" if size == "thumb" else "shown")
    headers = {"cache-control": "private, max-age=31536000, immutable"}
    return Response(data, media_type="image/jpeg", headers=headers)


def add_photograph(request: Request, slug: str, stream: IO[bytes], kind: PhotoKind, caption: str) -> Photo:
    """Keep a photograph with what is shown of it.

    Raises:
        InputError: there is no such car, or it is no picture within the limits.
    """
    shop = shop_of(request)
    shop.car(slug)
    original = stream.read(MOST_BYTES + 1)
    made = pictures_of(original)
    words = " ".join(caption.split())
    return shop.photo_add(
        slug, original, kind=kind, caption=words, shown=made.shown, thumb=made.thumb, by=by_of(request),
        on=settings_of(request).today(),
    )  # fmt: skip


def _page(request: Request, slug: str, *, problems: tuple[Problem, ...] = (), caption: str = "") -> Response:
    shop = shop_of(request)
    state = shop.car(slug)
    photos = shop.photos(slug)
    return render(
        request,
        "photographs.html",
        status=422 if problems else 200,
        here="line",
        car=state,
        kinds=KINDS,
        photos=photos,
        problems=problems,
        caption=caption,
        most=MOST_BYTES // 1_000_000,
    )
