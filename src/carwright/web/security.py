"""What every request passes first: the right name, the right origin, an allowed size; and what every answer says.

A page on this machine is reachable from every other page that its browser shows. Three things keep those out: a Host
that is none of ours is refused (a foreign name may be pointed at 127.0.0.1), a change that another site sends is
refused, and no answer may be framed, embedded or read elsewhere.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from contextlib import suppress
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from carwright.problems import Problem

__all__ = ["LARGEST_BODY", "LARGEST_FORM", "Guard", "refusal"]

LARGEST_FORM: Final = 2_000_000
"""Bytes of a form or a JSON document; a car file has at most one million."""

LARGEST_BODY: Final = 64_000_000
"""Bytes of an upload: a photograph, or a whole shop as an archive."""

_UPLOADS: Final = ("/photographs", "/import")
"""What the path of a request that may carry an upload ends with."""

_HARMLESS: Final = frozenset({"GET", "HEAD", "OPTIONS"})

_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)

HEADERS: Final = (
    ("content-security-policy", _POLICY),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(), microphone=(), geolocation=()"),
)
"""Said with every answer: nothing but our own files, no script or style inside a page, no other site around it."""


class TooLargeError(Exception):
    """A body went on beyond what is allowed."""


class Guard:
    """The outermost layer of the application."""

    def __init__(self, app: ASGIApp, *, hosts: Sequence[str]) -> None:
        """Let requests for ``hosts`` through to ``app``."""
        self.app = app
        self.hosts = frozenset(host.casefold() for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                said = MutableHeaders(scope=message)
                for name, value in HEADERS:
                    said.setdefault(name, value)
                if "cache-control" not in said:
                    said["cache-control"] = "no-store"
            elif scope["method"] == "HEAD":
                message = {**message, "body": b""}
            await send(message)

        refused = self._refused(scope, headers)
        if refused is not None:
            status, problem = refused
            await _answer(scope, with_headers, status, problem)
            return
        limit = LARGEST_BODY if scope["path"].endswith(_UPLOADS) else LARGEST_FORM
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length) > limit:
            await _answer(scope, with_headers, 413, _too_large(limit))
            return
        seen = 0
        over = False

        async def counted() -> Message:
            nonlocal seen, over
            message = await receive()
            if message["type"] == "http.request":
                seen += len(message.get("body", b""))
                if seen > limit:
                    over = True
                    raise TooLargeError
            return message

        async def watched(message: Message) -> None:
            if not over:  # whatever the application makes of its broken body, it is not what is answered
                await with_headers(message)

        with suppress(TooLargeError):
            await self.app(_asked(scope), counted, watched)
        if over:
            await _answer(scope, with_headers, 413, _too_large(limit))

    def _refused(self, scope: Scope, headers: Headers) -> tuple[int, Problem] | None:
        """Return status and reason where a request is refused by its headers alone."""
        host = _name_of(headers.get("host", ""))
        if host not in self.hosts:
            return 421, Problem(
                "the shop is not under this address",
                value=headers.get("host", "")[:120],
                accepted=", ".join(sorted(self.hosts)),
                mend="Open the address that was printed where the program was started.",
                key="Host",
            )
        site = headers.get("sec-fetch-site", "")
        origin = headers.get("origin", "")
        own = not origin or _same(origin, headers.get("host", ""), scope)
        if scope["method"] not in _HARMLESS:
            if site not in ("", "same-origin", "none") or not own:
                return 403, Problem(
                    "a change from another site is not accepted",
                    value=(origin or site)[:120],
                    accepted="changes from the shop's own pages",
                    mend="Open the shop's own page and make the change there.",
                    key="Origin",
                )
        elif site in ("cross-site", "same-site") and headers.get("sec-fetch-mode") != "navigate":
            return 403, Problem(
                "another site may not read from this shop",
                accepted="the shop's own pages",
                mend="Open the shop's own page.",
                key="Sec-Fetch-Site",
            )
        return None


def _asked(scope: Scope) -> Scope:
    """Return a request for the head of a page as one for the page; what goes on for ever has none."""
    if scope["method"] == "HEAD" and scope["path"] != "/live":
        return {**scope, "method": "GET"}
    return scope


def _name_of(host: str) -> str:
    """Return a Host's name without its port: "localhost:8765" is localhost, "[::1]:8765" is [::1]."""
    host = host.strip().casefold()
    if host.startswith("["):
        return host[: host.find("]") + 1]
    return host.partition(":")[0]


def _same(origin: str, host: str, scope: Scope) -> bool:
    """Return whether an Origin is the very address that was asked, port and all."""
    found = urlsplit(origin)
    return found.scheme == scope.get("scheme", "http") and found.netloc.casefold() == host.strip().casefold()


def _too_large(limit: int) -> Problem:
    return Problem(
        "what was sent is too large",
        accepted=f"at most {limit // 1_000_000} MB",
        mend="Nothing was changed. Go back and choose a smaller file.",
    )


def refusal(problem: Problem) -> bytes:
    """Return one problem in the one shape that every error has."""
    return json.dumps({"errors": [problem.as_dict()]}, ensure_ascii=False).encode()


async def _answer(scope: Scope, send: Send, status: int, problem: Problem) -> None:
    """Answer before anything of ours has seen the request: JSON to programs, a page to a reader, a line to the rest."""
    if str(scope["path"]).startswith("/api/"):
        kind, body = b"application/json", refusal(problem)
    elif "text/html" in Headers(scope=scope).get("accept", ""):
        from carwright.web.pages import refused_page  # the pages are no part of what stands before them

        kind, body = b"text/html; charset=utf-8", refused_page(str(scope["path"]), status, problem).encode()
    else:
        kind, body = b"text/plain; charset=utf-8", f"{problem}\n".encode()
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode()), (b"connection", b"close")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})
