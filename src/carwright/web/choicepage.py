"""Saves of one car beside each other: all are kept, and one of them or all of them together are gone on with."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import unified_diff
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from carwright.problems import InputError, Problem
from carwright.web.compare import KeyChange, key_changes
from carwright.web.done import done_at
from carwright.web.figures import stacked
from carwright.web.joining import Joining, joined, joining_of
from carwright.web.pages import by_of, render, shop_of

if TYPE_CHECKING:
    from carwright.shop import CarState, Revision, Saved, Shop

__all__ = ["choice_router", "join", "lines_changed"]

choice_router = APIRouter(include_in_schema=False)


@choice_router.get("/choice/{slug}")
def choice(request: Request, slug: str, saved: Annotated[str, Query(max_length=10)] = "") -> Response:
    """Show every save that waits for a choice, with what it changed; ``saved`` is the one that led here."""
    return _page(request, shop_of(request).car(slug), saved=saved)


@choice_router.post("/choice/{slug}")
def choose(request: Request, slug: str, number: Annotated[int, Form(ge=1, le=10**9)]) -> Response:
    """Go on with one save; the others stay in the history."""
    shop = shop_of(request)
    over = [each.number for each in shop.car(slug).heads if each.number != number]
    return done_at(f"/car/{slug}", shop.choose(slug, number, over=over, by=by_of(request)).change)


@choice_router.post("/choice/{slug}/both")
async def keep_both(request: Request, slug: str) -> Response:
    """Go on with all saves put into one; where they differ, with what was chosen."""
    form = await request.form(max_files=0, max_fields=2000)
    chosen = {
        name.removeprefix("choose:"): int(value)
        for name, value in form.multi_items()
        if name.startswith("choose:") and isinstance(value, str) and value.isascii() and value.isdigit()
    }
    seen = [int(each) for each in str(form.get("saves", "")).split() if each.isascii() and each.isdigit()]

    def work() -> Response:
        shop = shop_of(request)
        try:
            saved = join(shop, slug, seen[0] if seen else 0, seen[1:], chosen, by=by_of(request))
        except InputError as trouble:
            return _page(request, shop.car(slug), problems=trouble.problems, chosen=chosen)
        return done_at(f"/car/{slug}", saved.change)

    return await run_in_threadpool(work)


def join(shop: Shop, slug: str, number: int, others: list[int], chosen: Mapping[str, int], *, by: str) -> Saved:
    """Keep saves that stand beside each other as one revision in the place of all.

    Args:
        shop: where the car is.
        slug: of the car.
        number: the save whose comments are kept.
        others: those whose changes are put into it.
        chosen: path of what they changed differently to the number of the save that is right.
        by: who does it.

    Raises:
        InputError: one does not stand there any more, a choice is open, or the file with all of it is no car.
    """
    saves = {each.number: each for each in shop.car(slug).heads}
    gone = [each for each in (number, *others) if each not in saves]
    base = shop.common_base(slug, (number, *others)) if not gone and others else None
    if base is None:
        raise InputError(
            Problem(
                "these are not saves that wait for a choice",
                ", ".join(map(str, gone or (number, *others))),
                " and ".join(map(str, saves)) if len(saves) > 1 else "none waits",
                "Look at the car as it stands now. Every revision is in its history.",
                key="number",
            )
        )
    data = joined(base, [saves[number], *(saves[each] for each in others)], chosen)
    return shop.join(slug, data, number=number, others=others, by=by)


def _page(
    request: Request,
    state: CarState,
    *,
    saved: str = "",
    problems: tuple[Problem, ...] = (),
    chosen: Mapping[str, int] | None = None,
) -> Response:
    shop = shop_of(request)
    shown = []
    for each in state.heads:
        base = shop.revision(state.slug, each.based_on) if each.based_on else None
        keys = _measured(base, each) if base is not None else ()
        shown.append((each, keys, lines_changed(base, each) if base is not None and not keys else ()))
    together, refused = _together(shop, state)
    return render(
        request,
        "choice.html",
        status=422 if problems else 200,
        here="line",
        car=state,
        shown=shown,
        stacked=stacked,
        together=together,
        refused=refused,
        saved=saved if any(saved == str(each.number) for each in state.heads) else "",
        problems=problems,
        chosen=chosen or {},
        numbers=[each.number for each in state.heads],
        bases={each.based_on for each in state.heads},
    )


def _together(shop: Shop, state: CarState) -> tuple[Joining | None, tuple[Problem, ...]]:
    """Return what keeping all saves would mean, None where it cannot be offered, and then why not."""
    if len(state.heads) < 2:
        return None, ()
    base = shop.common_base(state.slug, [each.number for each in state.heads])
    if base is None:
        return None, ()
    try:
        found = joining_of(base, state.heads)
        joined(base, state.heads, {each.path: each.choices[0][0] for each in found.disputed})
    except InputError as trouble:
        return None, trouble.problems
    return found, ()


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
