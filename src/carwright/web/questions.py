"""The guided start: what it is, print check and measuring sheet, then the letters of the sheet; all may wait."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from carwright.car.answers import Answers, answers_in, example_at_ends, example_of, hint_for, no_answer, opening_keys
from carwright.car.keys import Key, key_named, sheet_letters
from carwright.problems import InputError, Problem
from carwright.web.done import done_at, shown_done
from carwright.web.elevations import picture_of
from carwright.web.pages import by_of, render, settings_of, shop_of

if TYPE_CHECKING:
    from carwright.car.write import Written
    from carwright.draw.lettered import ScreenView

__all__ = ["Question", "asked", "put_all", "questions_router"]

questions_router = APIRouter(include_in_schema=False)

_SKIP: Final = "an empty box"
_UNITS: Final = {"mass": "g", "angle": "degrees", "flag": "yes or no"}
_MISSING: Final = ("underframe", "trucks", "couplers", "weight", "brake gear", "grab irons")
"""What is usually missing: offered to be ticked; anything else can be typed."""


_BEFORE: Final = {"body.lip_depth": "body.mount", "coupler.drop": "coupler.mount"}
"""A letter of the sheet, and what must be known of the car for it to mean anything: asked just before."""


def _letter_keys() -> tuple[Key, ...]:
    """Return what the page of letters asks: the letters, and how floor and couplers are held where it matters."""
    found: list[Key] = []
    for key in sheet_letters():
        before = key_named(_BEFORE.get(key.path, ""))
        found += [key] if before is None else [before, key]
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Question:
    """One question as a form shows it: what stands in its box, and what was wrong with it.

    ``example`` is an answer as it may be typed, ``at_ends`` one where the ends differ.
    """

    key: Key
    text: str
    hint: str
    unit: str
    example: str
    at_ends: str
    problems: tuple[Problem, ...] = ()

    @property
    def picture(self) -> Markup:
        """Return the small picture of what is measured, "" for what is no size."""
        return picture_of(self.key.path)


def asked(
    keys: Sequence[Key],
    answers: Answers,
    *,
    typed: Mapping[str, str] | None = None,
    wrong: Mapping[str, tuple[Problem, ...]] | None = None,
) -> tuple[Question, ...]:
    """Return questions with what is answered, or with what was just typed where that was wrong."""
    made = []
    for key in keys:
        length = key.kind in ("length", "lengths")
        unit = answers.car.info.units if length else _UNITS.get(key.kind, key.unit)
        bad = (wrong or {}).get(key.path, ())
        text = (typed or {}).get(key.path, "") if bad else answers.said(key, key.path)
        info = answers.car.info
        examples = example_of(key, info), example_at_ends(key, info)
        made.append(Question(key, text, hint_for(key, answers.car, skip=_SKIP), unit, *examples, bad))
    return tuple(made)


def put_all(
    answers: Answers, keys: Sequence[Key], typed: Mapping[str, str]
) -> tuple[dict[str, str], dict[str, tuple[Problem, ...]]]:
    """Put what was typed into the file, all that can be; return what went in, and the problems of what could not.

    Args:
        answers: the file; it is changed.
        keys: the questions that were asked.
        typed: key's path to what stood in its box; an empty one takes the answer out, one that is not there leaves it.
    """
    changes: dict[str, dict[str, Written]] = {}
    for key in keys:
        if key.path not in typed:
            continue
        text = " ".join(typed[key.path].split())
        if text != answers.said(key, key.path):
            changes[key.path] = answers_in(key, key.path, text) if text else no_answer(key, key.path)
    wrong: dict[str, tuple[Problem, ...]] = {}
    while changes:
        try:
            answers.put({place: value for each in changes.values() for place, value in each.items()})
        except InputError as trouble:
            blamed = _blamed(trouble.problems, changes)
            wrong.update(blamed)
            for path in blamed:
                del changes[path]
        else:
            break
    for key in keys:
        if key.path in wrong and (several := _with_commas(typed[key.path], key.upto)):
            mend = f'Put a comma between readings: "{several}".'
            wrong[key.path] = tuple(replace(each, mend=mend) for each in wrong[key.path])
    return {path: typed.get(path, "") for path in changes}, wrong


def _with_commas(text: str, most: int) -> str:
    """Return readings that were typed one after the other with a comma between them, "" where they are none.

    Example:
        >>> _with_commas("94.2 94.1", 2), _with_commas("25 miles", 2)
        ('94.2, 94.1', '')
    """
    parts = text.split()
    plain = all(re.fullmatch(r"\d*\.?\d+", each) for each in parts)
    return ", ".join(parts) if plain and 1 < len(parts) <= most else ""


def _blamed(
    problems: Sequence[Problem], changes: Mapping[str, Mapping[str, Written]]
) -> dict[str, tuple[Problem, ...]]:
    """Return which of the changes the problems speak of; where none is named, the last one is sent back."""
    found: dict[str, list[Problem]] = {}
    for problem in problems:
        key = problem.key.partition("[")[0]
        path = next((path for path, places in changes.items() if key == path or key in places), "")
        if path:
            found.setdefault(path, []).append(problem)
    if not found:
        found[list(changes)[-1]] = list(problems)
    return {path: tuple(each) for path, each in found.items()}


async def _typed(request: Request, keys: Sequence[Key]) -> dict[str, str]:
    """Return what was typed into the boxes that a form has: several boxes of one name are one answer."""
    form = await request.form(max_files=0, max_fields=400)
    return {
        key.path: ", ".join(text for each in form.getlist(key.path) if isinstance(each, str) and (text := each.strip()))
        for key in keys
        if key.path in form
    }


@questions_router.get("/new")
def begin(request: Request) -> Response:
    """Ask what the car is."""
    return render(request, "new.html", here="line", questions=asked(opening_keys(), Answers()), usual=_MISSING)


@questions_router.post("/new")
async def begun(request: Request) -> Response:
    """Make a car of the answers, or ask again where one cannot be used."""
    keys = opening_keys()
    typed = await _typed(request, keys)

    def work() -> Response:
        answers = Answers()
        _, wrong = put_all(answers, keys, typed)
        name = answers.car.info.name or "Car without a name"
        try:
            saved = None if wrong else shop_of(request).add_car(answers.data, name=name, by=by_of(request))
        except InputError as trouble:
            saved, wrong = None, {"car.name": trouble.problems}
        if saved is None:
            questions = asked(keys, answers, typed=typed, wrong=wrong)
            return render(request, "new.html", status=422, here="line", questions=questions, usual=_MISSING)
        return done_at(f"/new/{saved.slug}/check", saved.change)

    return await run_in_threadpool(work)


@questions_router.get("/new/{slug}/letters")
def letters(request: Request, slug: str) -> Response:
    """Ask for the letters of the measuring sheet."""
    state = shop_of(request).car(slug)
    return _letters(request, slug, state.head.number, Answers(state.head.data))


@questions_router.post("/new/{slug}/letters")
async def lettered(request: Request, slug: str) -> Response:
    """Save what can be used as one revision; ask again for what cannot."""
    keys = _letter_keys()
    typed = await _typed(request, keys)
    given = str((await request.form()).get("based_on", ""))

    def work() -> Response:
        shop = shop_of(request)
        state = shop.car(slug)
        based_on = int(given) if given.isascii() and given.isdigit() and len(given) < 10 else state.head.number
        base = state.head if based_on == state.head.number else shop.revision(slug, based_on)
        answers = Answers(base.data)
        put, wrong = put_all(answers, keys, typed)
        if put:
            jobs, note = shown_done(answers.car, settings_of(request).today()), "Letters of the sheet."
            saved = shop.save(slug, answers.data, based_on=base.number, by=by_of(request), note=note, jobs=jobs)
            if saved.beside and not wrong:
                return RedirectResponse(f"/choice/{slug}?saved={saved.revision}", 303)
            based_on = saved.revision
            if not wrong:
                return done_at(f"/car/{slug}", saved.change)
        if wrong:
            kept = tuple(key for key in keys if key.path in put)
            return _letters(request, slug, based_on, answers, typed=typed, wrong=wrong, kept=kept)
        return RedirectResponse(f"/car/{slug}", 303)

    return await run_in_threadpool(work)


def _letters(
    request: Request,
    slug: str,
    based_on: int,
    answers: Answers,
    *,
    typed: Mapping[str, str] | None = None,
    wrong: Mapping[str, tuple[Problem, ...]] | None = None,
    kept: Sequence[Key] = (),
) -> Response:
    from carwright.draw.lettered import screen_drawing
    from carwright.draw.svg import page_svg
    from carwright.plan import make_plan

    plan = make_plan(answers.car)
    views: tuple[ScreenView, ...] = ("side", "end", "ride")
    return render(
        request,
        "letters.html",
        status=422 if wrong else 200,
        here="line",
        slug=slug,
        name=shop_of(request).car(slug).name,
        units=answers.car.info.units,
        based_on=based_on,
        questions=asked(_letter_keys(), answers, typed=typed, wrong=wrong),
        wrong=[key for key in _letter_keys() if key.path in (wrong or ())],
        kept=kept,
        drawings=tuple(
            Markup(page_svg(screen_drawing(plan, each)))  # noqa: S704 -- the writer escapes every text itself
            for each in views
        ),
    )
