"""Side elevations of the cars, drawn from their own numbers, under the hash of the car file that they show."""

from __future__ import annotations

import re
from collections.abc import Iterable
from contextlib import suppress
from functools import lru_cache
from threading import BoundedSemaphore, Lock
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Query, Request
from markupsafe import Markup
from starlette.responses import Response

from carwright import __version__
from carwright.car.keys import key_named
from carwright.shop import ShopFault
from carwright.web.pages import shop_of
from carwright.web.planning import shelf_of
from carwright.web.words import on_page, problem_on_page

if TYPE_CHECKING:
    from starlette.datastructures import State

    from carwright.car.model import Shelf
    from carwright.problems import Problem
    from carwright.shop import Digest, Shop

__all__ = ["SHELF_SIGNS", "digest_of", "elevation_router", "picture_of", "reckon_behind", "reckoned"]

elevation_router = APIRouter(include_in_schema=False)

SHELF_SIGNS: Final = 12
"""So much of a shelf's hash stands in the address of a drawing."""

_HASH: Final = re.compile(r"[0-9a-f]{64}")
_PLANS = BoundedSemaphore(2)
"""Plans made at once for drawings: more would only keep each other, and the pages, from the processor."""

_BATCH: Final = 8
"""Plans made behind one page: whoever looks at the line sees them come, and no page waits for them."""

_BEHIND: Final = Lock()

_NOTHING: Final = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 40" width="160" height="40" fill="none" stroke="#000">'
    '<path stroke-dasharray="4 2.5" stroke-width="0.6" d="M4 8H156V32H4Z"/></svg>\n'
)
"""Shown for a car file that cannot be planned: dashed means not there."""


def reckoned(shop: Shop, sha256: str, document: bytes) -> Digest:
    """Return the short of a document's plan with its elevation, from the shop or made now and kept there."""
    with _PLANS:
        found = shop.get_digest(sha256)
        if found is None or not found.data:
            heads = shop.shelf_heads()
            shelf, mark = (heads[0].data, heads[0].sha256) if heads else (b"", "")
            found = digest_of(document, shelf)
            shop.put_digest(sha256, found, shelf=mark)
    return found


def reckon_behind(state: State, wanting: Iterable[tuple[str, int, str]]) -> None:
    """Plan cars whose worst finding is not known, after a page was sent that shows them; open pages are told of it.

    One at a time in the whole program; what is left waits for the page's next look, which the telling brings about.

    Args:
        state: the application's.
        wanting: slug, number of the revision and hash of its document.
    """
    if not _BEHIND.acquire(blocking=False):
        return
    try:
        with suppress(ShopFault):  # a disk that is full is told where something was to be saved
            for slug, number, sha256 in list(wanting)[:_BATCH]:
                if state.shop.get_digest(sha256) is None:
                    reckoned(state.shop, sha256, state.shop.revision(slug, number).data)
                    state.watcher.reckoned()
    finally:
        _BEHIND.release()


def digest_of(document: bytes, shelf: bytes) -> Digest:
    """Return verdict and sentence of a document's worst finding with a shelf, and the car's elevation as SVG."""
    from carwright.car.read import read_car
    from carwright.draw.elevation import elevation_svg
    from carwright.findings import VERDICT_ORDER
    from carwright.plan import make_plan
    from carwright.problems import InputError
    from carwright.shop import Digest

    try:
        plan = make_plan(read_car(document, shelf=_shelf_read(shelf)))
    except InputError as trouble:
        return Digest("", _sentence(trouble.problems[0]), _NOTHING.encode())
    worst = min(plan.findings, key=lambda each: VERDICT_ORDER.index(each.verdict), default=None)
    drawn = elevation_svg(plan).encode()
    return Digest("ok", "", drawn) if worst is None else Digest(worst.verdict, on_page(worst.because), drawn)


@lru_cache(maxsize=2)
def _shelf_read(data: bytes) -> Shelf | None:
    """Return a shelf; a thousand cars may be planned with the same."""
    return shelf_of(data)


def _sentence(problem: Problem) -> str:
    """Return what is wrong with a car that cannot be planned, as one sentence of the page."""
    said = problem_on_page(problem)
    lead = f"{said.key}: " if said.key else ""
    return f"{lead}{said.problem}{f' ({said.value})' if said.value else ''}. {said.mend}".strip()


@elevation_router.get("/measure/{path}.svg")
def measure(path: str) -> Response:
    """Answer with the small picture of a measurement, for a page's script to put beside the field in hand."""
    drawn = picture_of(path)
    if not drawn:
        return Response("There is no such picture.\n", 404, media_type="text/plain")
    return Response(drawn, media_type="image/svg+xml", headers={"cache-control": "private, max-age=3600"})


@lru_cache(maxsize=256)
def picture_of(path: str) -> Markup:
    """Return the small picture of a key as a page's own SVG, "" where it has none."""
    from carwright.draw.fieldpictures import measurement_picture
    from carwright.draw.svg import page_svg

    key = key_named(path)
    drawing = None if key is None or key.path != path else measurement_picture(key)
    if drawing is None:
        return Markup()
    return Markup(page_svg(drawing, classes="dwg small", sized=True))  # noqa: S704 -- the writer escapes every text itself


@elevation_router.get("/elevation/{name}")
def elevation(
    request: Request,
    name: str,
    car: str = "",
    revision: Annotated[int, Query(ge=0, le=10**9)] = 0,
    shelf: Annotated[str, Query(pattern="^[0-9a-f]{0,64}$")] = "",
) -> Response:
    """Answer with a drawing that never changes: its address has the hashes of the car and of the shelf that it shows.

    Asked for with another shelf than lies there now, it is that of now, and no browser keeps it.
    """
    shop = shop_of(request)
    sha256 = name.removesuffix(".svg")
    mark = f'"{sha256}-{shelf}-{__version__}"'
    if not _HASH.fullmatch(sha256):
        return Response("There is no such drawing.\n", 404, media_type="text/plain")
    headers = {"cache-control": "private, max-age=86400", "etag": mark}
    if request.headers.get("if-none-match") == mark:
        return Response(status_code=304, headers=headers)
    found = shop.get_digest(sha256)
    if found is None or not found.data:
        document = shop.revision(car, revision)
        if document.sha256 != sha256:
            return Response("There is no such drawing.\n", 404, media_type="text/plain")
        found = reckoned(shop, sha256, document.data)
        request.app.state.watcher.reckoned()
    if shelf != shop.shelf_mark()[:SHELF_SIGNS]:
        headers = {"cache-control": "no-store"}
    return Response(found.data, media_type="image/svg+xml", headers=headers)
