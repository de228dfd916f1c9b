"""The doors themselves: name and pass phrase for a club's members, the pairing code for a tablet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import RedirectResponse, Response

from carwright.problems import Problem
from carwright.web.doors import COOKIE, address_of
from carwright.web.pages import render, settings_of
from carwright.web.plainpages import back_to
from carwright.web.tablet import WARNING, qr_svg

if TYPE_CHECKING:
    from carwright.web.sessions import Verdict

__all__ = ["door_router"]

door_router = APIRouter(include_in_schema=False)


@door_router.get("/enter")
def enter_page(request: Request, back: str = "/", sent: str = "") -> Response:
    """Ask for name and pass phrase."""
    if settings_of(request).accounts is None:
        return RedirectResponse("/", 303)
    return render(request, "enter.html", here="", back=back_to(back), problems=(), sent=bool(sent))


@door_router.post("/enter")
def enter(
    request: Request,
    name: Annotated[str, Form(max_length=200)] = "",
    phrase: Annotated[str, Form(max_length=1000)] = "",
    back: Annotated[str, Form(max_length=500)] = "/",
) -> Response:
    """Let a member in, or say that name or pass phrase is wrong; which of them is not said."""
    accounts = settings_of(request).accounts
    if accounts is None:
        return RedirectResponse("/", 303)
    verdict = accounts.come_in(name, phrase, address_of(request))
    if verdict.secret:
        return _inside(verdict, back)
    problem = Problem("name or pass phrase is wrong", mend="Whoever keeps the shop can give you a new pass phrase.")
    return _outside(request, "enter.html", verdict, problem, back=back_to(back))


@door_router.post("/leave")
def leave(request: Request) -> Response:
    """End the session."""
    secret = request.cookies.get(COOKIE, "")
    settings = settings_of(request)
    for door in (settings.accounts, settings.pairing):
        if door is not None:
            door.sessions.end(secret)
    done = RedirectResponse("/", 303)
    done.delete_cookie(COOKIE, samesite="strict", httponly=True)
    return done


@door_router.get("/pair")
def pair_page(request: Request, code: str = "", back: str = "/", sent: str = "") -> Response:
    """Ask for the pairing code; a QR code brings it along."""
    if settings_of(request).pairing is None:
        return RedirectResponse("/", 303)
    figures = "".join(sign for sign in code if sign.isascii() and sign.isdigit())[:8]
    return render(
        request,
        "pair.html",
        here="",
        back=back_to(back),
        code=figures,
        problems=(),
        warning=WARNING,
        sent=bool(sent),
    )


@door_router.post("/pair")
def pair(
    request: Request,
    code: Annotated[str, Form(max_length=40)] = "",
    back: Annotated[str, Form(max_length=500)] = "/",
) -> Response:
    """Pair a device that gives the right code."""
    pairing = settings_of(request).pairing
    if pairing is None:
        return RedirectResponse("/", 303)
    verdict = pairing.pair(code, address_of(request))
    if verdict.secret:
        return _inside(verdict, back)
    problem = Problem("this is not the code", mend="It stands where the program was started, in two groups of four.")
    return _outside(request, "pair.html", verdict, problem, back=back_to(back), code="", warning=WARNING)


@door_router.get("/tablet")
def tablet(request: Request) -> Response:
    """Show, to whoever sits at this machine or is paired, how a tablet is let in."""
    pairing = settings_of(request).pairing
    if pairing is None:
        return render(request, "tablet.html", here="", pairing=None, codes=(), warning=WARNING)
    codes = tuple((each, qr_svg(f"{each}/pair?code={pairing.code}")) for each in pairing.addresses)
    return render(request, "tablet.html", here="", pairing=pairing, codes=codes, warning=WARNING)


def _inside(verdict: Verdict, back: str) -> Response:
    done = RedirectResponse(back_to(back), 303)
    done.set_cookie(COOKIE, verdict.secret, httponly=True, samesite="strict")
    return done


def _outside(request: Request, template: str, verdict: Verdict, problem: Problem, **context: object) -> Response:
    problems = [problem]
    if verdict.wait_s:
        minutes = -(-verdict.wait_s // 60)
        wait = f"{minutes} minute{'s' if minutes > 1 else ''}"
        problems = [Problem("too many wrong tries", accepted=f"the next one in {wait}")]
    done = render(
        request, template, status=429 if verdict.wait_s else 401, here="", problems=problems, sent=False, **context
    )
    if verdict.wait_s:
        done.headers["retry-after"] = str(verdict.wait_s)
    return done
