"""How a page is made: one environment of templates, one way to answer with a page, with a problem, with a file."""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from carwright.problems import Problem
from carwright.web.choicewords import choice_how, choice_said
from carwright.web.done import Told, done_told
from carwright.web.moments import day, moment
from carwright.web.words import problem_on_page

if TYPE_CHECKING:
    from carwright.shop import Shop
    from carwright.web.settings import Settings

__all__ = [
    "Asset",
    "asset",
    "attachment",
    "problem_page",
    "refused_page",
    "render",
    "settings_of",
    "shop_of",
    "text_of",
    "theme_of",
]

_LONG: Final = "public, max-age=31536000, immutable"


@dataclass(frozen=True, slots=True)
class Asset:
    """A file of the package that pages load, with the address that changes when it does."""

    name: str
    kind: str
    data: bytes
    packed: bytes | None
    mark: str


@cache
def asset(name: str) -> Asset | None:
    """Return one file of ``static`` by its bare name, None where there is none; names come from requests."""
    folder = files("carwright.web") / "static"
    if name not in {each.name for each in folder.iterdir() if each.is_file()}:
        return None
    data = (folder / name).read_bytes()
    kind = {"woff2": "font/woff2", "js": "text/javascript", "css": "text/css"}.get(
        name.rpartition(".")[2], mimetypes.guess_type(name)[0] or "text/plain"
    )
    packed = None if kind == "font/woff2" else gzip.compress(data, mtime=0)
    return Asset(name, kind, data, packed, hashlib.sha256(data).hexdigest()[:12])


def asset_answer(request: Request, name: str) -> Response:
    """Return a file of ``static``, packed where the browser takes it; kept for a year under its mark."""
    found = asset(name)
    if found is None:
        return Response("There is no such file.\n", 404, media_type="text/plain")
    headers = {"vary": "accept-encoding"}
    headers["cache-control"] = _LONG if request.query_params.get("v") == found.mark else "no-cache"
    data = found.data
    if found.packed is not None and "gzip" in request.headers.get("accept-encoding", ""):
        data, headers["content-encoding"] = found.packed, "gzip"
    return Response(data, media_type=found.kind, headers=headers)


def _static(name: str) -> str:
    found = asset(name)
    assert found is not None, name
    return f"/static/{name}?v={found.mark}"


@cache
def templates() -> Environment:
    """Return the environment of all templates; every value is escaped unless a template says otherwise."""
    environment = Environment(
        loader=PackageLoader("carwright.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["static"] = _static
    environment.globals["choice_said"] = choice_said
    environment.globals["choice_how"] = choice_how
    environment.filters["day"] = day
    environment.filters["moment"] = moment
    environment.filters["on_page"] = problem_on_page
    return environment


def shop_of(request: Request) -> Shop:
    """Return the shop that is served."""
    shop: Shop = request.app.state.shop
    return shop


def settings_of(request: Request) -> Settings:
    """Return what the server was told at its start."""
    settings: Settings = request.app.state.settings
    return settings


def theme_of(request: Request) -> str:
    """Return ``light`` or ``dark`` as the reader chose, "" where the system decides."""
    chosen = request.cookies.get("theme", "")
    return chosen if chosen in ("light", "dark") else ""


def by_of(request: Request) -> str:
    """Return whose hand a change is: the account's name, "tablet", or "" for whoever sits at this machine."""
    return str(request.scope.get("carwright_by", ""))


def text_of(request: Request, template: str, **context: Any) -> str:
    """Return a page as text."""
    return (
        templates()
        .get_template(template)
        .render(
            theme=theme_of(request),
            path=request.url.path,
            by=by_of(request),
            news=done_told(shop_of(request), done) if (done := request.query_params.get("done", "")) else Told(),
            club=settings_of(request).accounts is not None,
            **context,
        )
    )


def render(request: Request, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """Return a page.

    Args:
        request: whom it is for: the theme is his.
        template: name of the template.
        status: status of the answer.
        context: what the template needs; ``here`` names the page in the bar ("line", "shelf", "cutting", "print", "").
    """
    return HTMLResponse(text_of(request, template, **context), status)


def problem_page(
    request: Request, problems: Sequence[Problem], *, status: int, title: str, car: str = "", broken: bool = False
) -> HTMLResponse:
    """Return a page that says what cannot be used, what would be accepted and how to mend it, and the way to a car.

    Args:
        request: what was asked.
        problems: what is wrong with it.
        status: status of the answer.
        title: what stands above.
        car: the car whose page it was, "" for none.
        broken: whether that car's own file cannot be read.
    """
    return render(
        request, "problem.html", status=status, here="", title=title, problems=problems, car=car, broken=broken
    )


def refused_page(path: str, status: int, problem: Problem) -> str:
    """Return the page of what was refused before it was looked at, with the way back to where it came from.

    Args:
        path: what was asked; a form's own path lies one step under its page.
        status: 421 where the shop itself is not under that address: nothing else is, either.
        problem: why.
    """
    back = "" if status == 421 else path.rpartition("/")[0] or path
    return templates().get_template("refused.html").render(problem=problem, back=back)


def attachment(data: bytes, name: str, kind: str, *, inline: bool = False) -> Response:
    """Return a file under a name of ours."""
    plain = "".join(sign if sign.isascii() and (sign.isalnum() or sign in "-_.") else "-" for sign in name)
    way = "inline" if inline else "attachment"
    headers: Mapping[str, str] = {
        "content-disposition": f"{way}; filename=\"{plain}\"; filename*=UTF-8''{quote(name)}",
    }
    return Response(data, media_type=kind, headers=headers)
