"""The line: every car of the shop at the stage that it has reached, with its next step and its worst finding."""

from __future__ import annotations

import gzip
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Query, Request
from starlette.background import BackgroundTask
from starlette.responses import Response

from carwright.shop import STAGES
from carwright.web.elevations import SHELF_SIGNS, reckon_behind
from carwright.web.pages import by_of, shop_of, text_of, theme_of

if TYPE_CHECKING:
    from carwright.shop import CarCard, Shop

__all__ = ["FIRST", "WITHOUT_ROOM", "PageStore", "found_cars", "line_router"]

line_router = APIRouter(include_in_schema=False)

FIRST: Final = 40
"""Cars of one stage on a page."""

WITHOUT_ROOM: Final = frozenset({"lot", "gauge", "service"})
"""Stages that the program cannot work out yet: they are kept as a checklist with date and note."""

_AT_ONCE: Final = 500

_KEPT: Final = 64
_COUNTED = (
    "No car",
    "One car",
    "Two cars",
    "Three cars",
    "Four cars",
    "Five cars",
    "Six cars",
    "Seven cars",
    "Eight cars",
)


@dataclass(frozen=True, slots=True)
class Standing:
    """One stage on the page: how many cars stand there, those shown, and the last one's slug if there are more."""

    stage: str
    number: int
    count: int
    cars: tuple[CarCard, ...]
    more_after: str


class PageStore:
    """Pages already made and packed, by everything that they depend on; the oldest unused ones go."""

    def __init__(self) -> None:
        self._pages: OrderedDict[tuple[object, ...], tuple[bytes, bytes]] = OrderedDict()
        self._lock = threading.Lock()
        self._making = threading.Lock()

    def page(self, key: tuple[object, ...], make: Callable[[], str]) -> tuple[bytes, bytes]:
        """Return a page, plain and packed; whoever asks while it is being made waits for it and makes none himself."""
        found = self._find(key)
        if found is not None:
            return found
        with self._making:
            found = self._find(key)
            if found is None:
                plain = make().encode()
                found = plain, gzip.compress(plain, 5, mtime=0)
                with self._lock:
                    self._pages[key] = found
                    while len(self._pages) > _KEPT:
                        self._pages.popitem(last=False)
        return found

    def _find(self, key: tuple[object, ...]) -> tuple[bytes, bytes] | None:
        with self._lock:
            found = self._pages.get(key)
            if found is not None:
                self._pages.move_to_end(key)
            return found


@line_router.get("/")
def line(
    request: Request,
    stage: str = "",
    after: str = "",
    find: Annotated[str, Query(max_length=80)] = "",
) -> Response:
    """Show the line, or one stage of it, or the cars whose name has a word in it.

    A page is made once for each state of the shop and kept; the shop's last change is part of its name.
    """
    shop = shop_of(request)
    pages: PageStore = request.app.state.pages
    since = shop.last_change()
    words = " ".join(find.split())
    stage = stage if stage in STAGES else ""
    key = (since, request.app.state.watcher.findings, theme_of(request), by_of(request), stage, after, words)
    shown: list[CarCard] = []

    def make() -> str:
        return _page(request, shop, shown, since=since, stage=stage, after=after, find=words)

    found = pages.page(key, make)
    wanting = [(each.slug, each.revision, each.sha256) for each in shown if each.worst is None]
    packed = "gzip" in request.headers.get("accept-encoding", "")
    headers = {"vary": "accept-encoding, cookie", "content-type": "text/html; charset=utf-8"}
    if packed:
        headers["content-encoding"] = "gzip"
    then = BackgroundTask(reckon_behind, request.app.state, wanting) if wanting else None
    return Response(found[packed], headers=headers, background=then)


def found_cars(shop: Shop, words: str) -> tuple[CarCard, ...]:
    """Return the cars whose name has every word in it, last changed first, no more than a page holds."""
    wanted = words.casefold().split()
    found: list[CarCard] = []
    after: str | None = None
    while len(found) < FIRST and (cars := shop.cars(limit=_AT_ONCE, after=after)):
        found += [each for each in cars if all(word in each.name.casefold() for word in wanted)]
        after = cars[-1].slug
    return tuple(found[:FIRST])


def _page(request: Request, shop: Shop, shown: list[CarCard], *, since: int, stage: str, after: str, find: str) -> str:
    """Return the page as text; the cars that stand on it are put into ``shown``."""
    counts = shop.counts()
    standings: list[Standing] = []
    found: tuple[CarCard, ...] = ()
    if find:
        found = found_cars(shop, find)
        shown.extend(found)
    else:
        for number, name in enumerate(STAGES, start=1):
            if stage in ("", name) and counts[name]:
                cars = tuple(shop.cars(stage=name, limit=FIRST + 1, after=(after or None) if stage else None))
                more = cars[FIRST - 1].slug if len(cars) > FIRST else ""
                shown.extend(cars[:FIRST])
                standings.append(Standing(name, number, counts[name], cars[:FIRST], more))
    total = sum(counts.values())
    return text_of(
        request,
        "line.html",
        here="line",
        since=since,
        stages=STAGES,
        counts=counts,
        total=total,
        counted=_COUNTED[total] if total < len(_COUNTED) else f"{total} cars",
        standings=standings,
        stage=stage,
        after=after,
        find=find,
        found=found,
        without_room=WITHOUT_ROOM,
        shelf=shop.shelf_mark()[:SHELF_SIGNS],
    )
