"""What changes in the shop is told to every open page, as server-sent events.

One watcher asks the shop for its last change while anybody listens, so that saves of another process (a command,
another server on the same database) are told as well.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import TYPE_CHECKING, Final

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import StreamingResponse

from carwright.web.moments import moment

if TYPE_CHECKING:
    from carwright.shop import Shop

__all__ = ["Watcher", "live_router"]

_EVERY_S: Final = 0.4
"""How often the shop is asked: two people at one car see each other within half a second."""

_BREATH_S: Final = 15.0
"""A line of nothing is sent so often, so that a listener who has gone is noticed."""

live_router = APIRouter(include_in_schema=False)


_WORDS: Final = {
    "car": "{} was added",
    "revision": "{} was saved as revision {}",
    "choice": "{} goes on with revision {}",
    "stage": "{} moved along the line",
    "tick": "the checklist of {} was changed",
    "photo": "{} has a new photograph",
    "shelf": "the shelf was changed",
}
"""What is read aloud when something changed elsewhere; other kinds are shown and not said."""


def _told(shop: Shop, since: int) -> list[dict[str, str | int]]:
    """Return what is sent of every change after ``since``; ``said`` is read aloud, "" for nothing."""
    told: list[dict[str, str | int]] = []
    for change in shop.changes(since):
        words = _WORDS.get(change.kind, "")
        said = words.format(shop.car(change.slug).name if "{}" in words else "", change.revision)
        if words:
            said += f"{f' by {change.by}' if change.by else ''}, {moment(change.at)}."
        told.append(
            {
                "number": change.number,
                "kind": change.kind,
                "slug": change.slug,
                "revision": change.revision,
                "by": change.by,
                "said": said[:1].upper() + said[1:],
            }
        )
    return told


class Watcher:
    """Tells listeners that the shop changed; it asks the shop only while somebody listens."""

    def __init__(self, shop: Shop) -> None:
        """Watch ``shop``; nothing runs until the first listener comes."""
        self.shop = shop
        self.listeners: set[asyncio.Event] = set()
        self.task: asyncio.Task[None] | None = None
        self.findings = 0
        self.closing = False

    def reckoned(self) -> None:
        """Note that a car's findings are known now that were not; pages that show them are no longer true."""
        self.findings += 1

    def close(self) -> None:
        """Let every listener go within a moment: the program is about to end."""
        self.closing = True

    async def _watch(self) -> None:
        last = (-1, -1)  # whatever came between the listener's own look and this one is told as well
        while self.listeners:
            now = await run_in_threadpool(self.shop.last_change), self.findings
            if now != last or self.closing:
                last = now
                for each in self.listeners:
                    each.set()
            await asyncio.sleep(_EVERY_S)

    async def changes(self, request: Request, since: int) -> AsyncIterator[str]:
        """Yield the events of one listener until he goes."""
        findings = self.findings
        rung = asyncio.Event()
        rung.set()
        self.listeners.add(rung)
        if self.task is None or self.task.done():
            self.task = asyncio.create_task(self._watch())
        try:
            yield "retry: 2000\n\n"
            while not self.closing and not await request.is_disconnected():
                try:
                    await asyncio.wait_for(rung.wait(), _BREATH_S)
                except TimeoutError:
                    yield ": still here\n\n"
                    continue
                rung.clear()
                if findings != self.findings:
                    findings = self.findings
                    yield "event: findings\ndata: {}\n\n"
                for told in await run_in_threadpool(_told, self.shop, since):
                    since = int(told["number"])
                    yield f"id: {since}\nevent: change\ndata: {json.dumps(told, ensure_ascii=False)}\n\n"
        finally:
            self.listeners.discard(rung)


@live_router.get("/live")
async def live(request: Request, since: int = Query(0, ge=0)) -> StreamingResponse:
    """Send every change after ``since`` as it happens."""
    watcher: Watcher = request.app.state.watcher
    heard = request.headers.get("last-event-id", "")  # a browser that lost the line says how far it had come
    since = max(since, int(heard)) if heard.isascii() and heard.isdigit() and len(heard) < 19 else since
    return StreamingResponse(watcher.changes(request, since), media_type="text/event-stream")
