"""Two saves of one car beside each other: both are kept, and one is chosen to go on with."""

from __future__ import annotations

from difflib import unified_diff
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import RedirectResponse, Response

from carwright.problems import InputError
from carwright.web.compare import KeyChange, key_changes
from carwright.web.figures import stacked
from carwright.web.pages import by_of, render, shop_of

if TYPE_CHECKING:
    from carwright.shop import Revision

__all__ = ["choice_router", "lines_changed"]

choice_router = APIRouter(include_in_schema=False)


@choice_router.get("/choice/{slug}")
def choice(request: Request, slug: str) -> Response:
    """Show every save that waits for a choice, with what it changed."""
    shop = shop_of(request)
    state = shop.car(slug)
    shown = []
    for each in state.heads:
        base = shop.revision(slug, each.based_on) if each.based_on else None
        keys = _measured(base, each) if base is not None else ()
        shown.append((each, keys, lines_changed(base, each) if base is not None and not keys else ()))
    return render(request, "choice.html", here="line", car=state, shown=shown, stacked=stacked)


@choice_router.post("/choice/{slug}")
def choose(request: Request, slug: str, number: Annotated[int, Form(ge=1, le=10**9)]) -> Response:
    """Go on with one save; the others stay in the history."""
    shop = shop_of(request)
    over = [each.number for each in shop.car(slug).heads if each.number != number]
    shop.choose(slug, number, over=over, by=by_of(request))
    return RedirectResponse(f"/car/{slug}", 303)


def _measured(base: Revision, now: Revision) -> tuple[KeyChange, ...]:
    """Return the measurements that a revision changed; none where one of the files cannot be read."""
    try:
        return key_changes(base.data, now.data)
    except InputError:
        return ()


def lines_changed(base: Revision, now: Revision) -> tuple[tuple[str, str], ...]:
    """Return the lines that a revision changed against the one that it was based on: sign and line."""
    before = base.data.decode("utf-8", "replace").splitlines()
    after = now.data.decode("utf-8", "replace").splitlines()
    changed = unified_diff(before, after, n=0, lineterm="")
    return tuple((line[0], line[1:]) for line in list(changed)[2:] if line[:1] in "+-")[:200]
