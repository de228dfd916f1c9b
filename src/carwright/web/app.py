"""The application: pages, the same as JSON, and what every request passes first."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import JSONResponse, RedirectResponse, Response

from carwright import __version__
from carwright.car.read import read_car
from carwright.problems import InputError, Problem
from carwright.shop import ShopFault
from carwright.web.api import api_router
from carwright.web.apicutting import cutting_router
from carwright.web.apishop import shop_router
from carwright.web.carpage import car_router
from carwright.web.choicepage import choice_router
from carwright.web.cutpage import cut_router
from carwright.web.cutting import CutPlans
from carwright.web.doorpages import door_router
from carwright.web.doors import Doors
from carwright.web.elevations import elevation_router
from carwright.web.filespage import file_router
from carwright.web.finishpage import finish_router
from carwright.web.line import PageStore, line_router
from carwright.web.live import Watcher, live_router
from carwright.web.pages import problem_page, shop_of
from carwright.web.photographs import photo_router
from carwright.web.plainpages import plain_router
from carwright.web.printpage import print_router
from carwright.web.questions import questions_router
from carwright.web.security import Guard
from carwright.web.settings import Settings
from carwright.web.shelflist import list_router
from carwright.web.shelfpage import shelf_router
from carwright.web.stagespage import stages_router

if TYPE_CHECKING:
    from carwright.shop import Shop

__all__ = ["create_app"]

_PAGES = (
    line_router,
    elevation_router,
    questions_router,
    finish_router,  # before a car's page, which takes any word behind a car
    car_router,
    stages_router,
    choice_router,
    file_router,
    print_router,
    door_router,
    plain_router,
    live_router,
    photo_router,
    shelf_router,
    list_router,
    cut_router,
    api_router,
    shop_router,
    cutting_router,
)

_TITLES = {
    401: "A name and a pass phrase first",
    403: "That is not allowed",
    404: "There is no such page",
    405: "That cannot be done here",
    409: "Somebody was quicker",
    422: "This cannot be used",
    503: "The shop cannot be reached",
}


_LEAST, _MOST = ("ge", "gt"), ("le", "lt")
"""How the validator names the bound that a number is beyond."""

_FOUND = frozenset({"car", "revision", "photograph", "plan"})
"""What an address names: where there is none of it, the address leads nowhere."""


def create_app(shop: Shop, settings: Settings | None = None) -> FastAPI:
    """Return the application for one shop.

    Args:
        shop: what is served; it stays open as long as the application runs.
        settings: how it is served; without them, to this machine alone.
    """
    told = settings or Settings()
    app = FastAPI(
        title="Carwright",
        version=__version__,
        summary="A shop of freight cars: what was measured, what is planned, what is on the shelf.",
        docs_url=None,
        redoc_url=None,
        middleware=[
            Middleware(Guard, hosts=told.hosts),
            Middleware(Doors, settings=told),
            Middleware(GZipMiddleware, minimum_size=800, compresslevel=6),
        ],
    )
    app.state.shop = shop
    app.state.settings = told
    app.state.watcher = Watcher(shop)
    app.state.pages = PageStore()
    app.state.cut_plans = CutPlans()
    for router in _PAGES:
        app.include_router(router)
    app.add_exception_handler(InputError, _unusable)
    app.add_exception_handler(RequestValidationError, _not_understood)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(Exception, _fault)
    return app


def answer(request: Request, problems: tuple[Problem, ...], status: int) -> Response:
    """Return problems as the one JSON object of every surface, or as a page."""
    if request.url.path.startswith(("/api/", "/openapi")):
        return JSONResponse({"errors": [each.as_dict() for each in problems]}, status)
    title = _TITLES.get(status, "A fault of the program" if status >= 500 else "This cannot be done")
    car, broken = _car_of(request)
    return problem_page(request, problems, status=status, title=title, car=car, broken=broken)


def _car_of(request: Request) -> tuple[str, bool]:
    """Return whose page was asked for, "" for no car's, and whether that car's file cannot be read."""
    found = re.match(r"/(?:car|new|line|print|choice|files|photographs)/([a-z0-9-]+)", request.url.path)
    if found is None:
        return "", False
    try:
        state = shop_of(request).car(found[1])
    except InputError:
        return "", False
    try:
        read_car(state.head.data)
    except InputError:
        return found[1], True
    return found[1], False


def _unusable(request: Request, trouble: Exception) -> Response:
    assert isinstance(trouble, InputError)
    if isinstance(trouble, ShopFault):
        return answer(request, trouble.problems, 503)
    gone = all(each.problem.startswith("there is no such") and each.key in _FOUND for each in trouble.problems)
    return answer(request, trouble.problems, 404 if gone else 422)


def _not_understood(request: Request, trouble: Exception) -> Response:
    """Turn the validator's list into ours: the place in the request is the key."""
    assert isinstance(trouble, RequestValidationError)
    return answer(request, tuple(_slip(each) for each in trouble.errors()), 422)


def _slip(found: Mapping[str, Any]) -> Problem:
    """Say in words of ours what the validator found."""
    kind, bounds = str(found.get("type", "")), found.get("ctx") or {}
    key = ".".join(str(part) for part in found.get("loc", ()))
    if kind == "missing":
        return Problem("this was not said", str(found.get("loc", ("",))[-1]), key=key)
    value = str(found.get("input", ""))[:120]
    if kind == "literal_error":
        return Problem("there is no such choice", value, str(bounds.get("expected", "")).replace("'", ""), key=key)
    if kind == "string_too_long":
        return Problem("this is too long", value, f"at most {bounds.get('max_length')} signs", key=key)
    if kind.startswith(("int_", "float_", "decimal_")):
        return Problem("this is no number", value, "a whole number" if kind.startswith("int_") else "a number", key=key)
    if kind.startswith(("greater_than", "less_than")):
        least, most = (next((bounds[name] for name in names if name in bounds), None) for names in (_LEAST, _MOST))
        return Problem(
            "this is out of reach", value, f"{least} or more" if most is None else f"at most {most}", key=key
        )
    return Problem(str(found.get("msg", "this is not understood")).removesuffix("."), value, key=key)


def _http(request: Request, trouble: Exception) -> Response:
    assert isinstance(trouble, HTTPException)
    path = request.url.path
    if trouble.status_code == 405 and request.method == "GET" and not path.startswith("/api/"):
        return RedirectResponse(path.rpartition("/")[0] or "/", 303)  # what takes forms lies under the form's own page
    said = {404: "there is nothing under this address", 405: "this way of asking is not known here"}
    problem = Problem(said.get(trouble.status_code, trouble.detail), value=path[:120])
    done = answer(request, (problem,), trouble.status_code)
    for name, value in (trouble.headers or {}).items():
        done.headers[name] = value
    return done


def _fault(request: Request, trouble: Exception) -> Response:
    problem = Problem(
        f"a fault of the program, not yours: {type(trouble).__name__}",
        mend="Nothing was lost: what was saved is in the shop. Please report it, with what you did.",
    )
    return answer(request, (problem,), 500)
