"""The small pages: style sheet and script, light and dark, the list of keys."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import RedirectResponse, Response

from carwright.web.pages import asset_answer, render

__all__ = ["back_to", "plain_router"]

plain_router = APIRouter(include_in_schema=False)

_YEAR_S = 31_536_000


@plain_router.get("/static/{name}")
def static(request: Request, name: str) -> Response:
    """Answer with a file of the package."""
    return asset_answer(request, name)


@plain_router.post("/theme")
def theme(theme: Annotated[str, Form()], back: Annotated[str, Form()] = "/") -> Response:
    """Keep light or dark, and go back to where the reader was."""
    done = RedirectResponse(back_to(back), 303)
    if theme in ("light", "dark"):
        done.set_cookie("theme", theme, max_age=_YEAR_S, samesite="strict")
    return done


@plain_router.get("/keys")
def keys_page(request: Request) -> Response:
    """Show the list of keys."""
    return render(request, "keys.html", here="", on=request.cookies.get("keys") != "off")


@plain_router.post("/keys")
def switch_keys(keys: Annotated[str, Form()]) -> Response:
    """Switch single keys on or off."""
    done = RedirectResponse("/keys", 303)
    done.set_cookie("keys", "off" if keys == "off" else "on", max_age=_YEAR_S, samesite="strict")
    return done


def back_to(path: str) -> str:
    """Return a path of our own to go back to; anything that could lead elsewhere becomes the line."""
    own = path.startswith("/") and not path.startswith(("//", "/\\")) and path.isprintable() and "\\" not in path
    return path if own else "/"
