"""Who may come in: a paired tablet, a member of the club, or whoever sits at this machine."""

from __future__ import annotations

import base64
import binascii
from typing import TYPE_CHECKING, Final
from urllib.parse import quote, urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from carwright.problems import Problem

if TYPE_CHECKING:
    from carwright.web.settings import Settings

__all__ = ["COOKIE", "Doors", "address_of"]

COOKIE: Final = "carwright"

_OPEN: Final = ("/static/", "/enter", "/pair", "/theme")
"""What is answered before anybody has come in."""


def address_of(request: Request) -> str:
    """Return where a request comes from."""
    return request.client.host if request.client is not None else ""


def _at_this_machine(address: str) -> bool:
    return address in ("127.0.0.1", "::1") or address.startswith("127.")


class Doors:
    """Stands between the guard and the pages: it lets in, sends to the door, or says no."""

    def __init__(self, app: ASGIApp, *, settings: Settings) -> None:
        """Guard ``app`` by what the server was told."""
        self.app = app
        self.settings = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http" or (self.settings.accounts is None and self.settings.pairing is None):
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        by = await self._by(request)
        if by is not None:
            scope["carwright_by"] = by
        elif not request.url.path.startswith(_OPEN):
            await self._to_the_door(request)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    async def _by(self, request: Request) -> str | None:
        """Return whose hand this is, None for a stranger's."""
        secret = request.cookies.get(COOKIE, "")
        accounts = self.settings.accounts
        if accounts is not None:
            name = accounts.sessions.name_of(secret)
            kind, _, given = request.headers.get("authorization", "").partition(" ")
            if name is None and kind.casefold() == "basic":
                who, phrase = _named(given)
                done = await run_in_threadpool(accounts.come_in, who, phrase, address_of(request), remember=False)
                return who if done.secret else None
            return name
        assert self.settings.pairing is not None
        if _at_this_machine(address_of(request)):
            return ""
        return self.settings.pairing.sessions.name_of(secret)

    def _to_the_door(self, request: Request) -> Response:
        club = self.settings.accounts is not None
        if request.url.path.startswith(("/api/", "/openapi", "/live")):
            problem = Problem(
                "a name and a pass phrase are needed" if club else "this device is not paired",
                mend="Send them as Basic credentials." if club else "Open the shop's address in it and type the code.",
            )
            asked = {"www-authenticate": 'Basic realm="Carwright", charset="UTF-8"'} if club else {}
            return JSONResponse({"errors": [problem.as_dict()]}, 401, headers=asked)
        looked = request.method in ("GET", "HEAD")
        came = request.url.path if looked else urlsplit(request.headers.get("referer", "")).path or "/"
        back = quote(came, safe="/")
        return RedirectResponse(f"{'/enter' if club else '/pair'}?back={back}{'' if looked else '&sent=yes'}", 303)


def _named(given: str) -> tuple[str, str]:
    """Return name and pass phrase of Basic credentials, both "" where they cannot be read."""
    try:
        name, _, phrase = base64.b64decode(given, validate=True).decode("utf-8").partition(":")
    except (binascii.Error, UnicodeDecodeError, ValueError):
        return "", ""
    return name, phrase
