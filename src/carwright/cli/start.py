"""``carwright start``: from a shell in the hand to a car file, a measuring sheet and a first drawing."""

from __future__ import annotations

import json as json_format
import re
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from carwright.problems import InputError

if TYPE_CHECKING:
    from carwright.car.keys import Key
    from carwright.cli.draft import Draft
    from carwright.cli.interview import Asked, Desk
    from carwright.draw.pdf import Page, Paper
    from carwright.plan import Plan

__all__ = ["command"]


def command(file: Path | None = None, /, *, paper: Literal["letter", "a4"] | None = None, json: bool = False) -> int:
    """Answer a few questions about a shell; get its car file and first drawing.

    Asks what it is and what is missing, makes the measuring sheet, then asks for
    the sheet's letters A to N in order. Enter skips a question, ? says how to
    measure, b goes back, "b K" asks K again, - takes an answer out, q ends. Every
    answer is kept at once: give the same file again to go on, or to change one.

    Args:
        file: The car file to make or to go on with. Without it, the car's name names it.
        paper: Paper of the sheet and the template. Without it, a4 for millimetres, letter for inches.
        json: Print the plan as JSON at the end; questions go to standard error.
    """
    from carwright.cli.interview import standard_desk
    from carwright.cli.page import command_line, wrapped
    from carwright.findings import worst_verdict
    from carwright.plan import document_of, make_plan

    desk = standard_desk(quiet=json)
    desk.say(wrapped("Enter skips, ? says how to measure, b goes back (b K: to letter K), q ends."))
    draft = _opened(desk, file)
    if draft is None:
        desk.say(wrapped("Nothing was begun, and nothing written."))
        return 0
    try:
        _ask_everything(desk, draft, paper)
    except KeyboardInterrupt:
        if draft.begun:
            desk.say(["", "Every answer so far is kept. To go on:", command_line("start", str(draft.path))])
        raise
    plan = make_plan(draft.car)
    _write_template(desk, draft, plan, paper)
    _end(desk, draft, plan)
    if json:
        print(json_format.dumps(document_of(plan).as_json(), ensure_ascii=False, indent=2))
    return 1 if worst_verdict(plan.findings) == "fail" else 0


def _ask_everything(desk: Desk, draft: Draft, paper: Paper | None) -> None:
    """Ask what the car is, write the sheet, ask its letters and then for more; ``b`` goes back through it all."""
    from carwright.cli.interview import Went, ask_all, ask_groups
    from carwright.cli.page import wrapped

    opening, letters = _questions()
    written = False

    def sheet() -> None:
        nonlocal written
        written = True
        _write_sheet(desk, draft, paper)
        if not all(draft.said(each.key, each.place) for each in letters):
            desk.say(["", *wrapped("Now the letters of the sheet, in order.")])

    asked = (*opening, *letters)
    at, reached = 1, -1  # the name is asked for before there is a file
    while (
        ask_all(desk, draft, asked, at=at, reached=reached, first_of_all=True, before={len(opening): sheet})
        is not Went.ENDED
        and ask_groups(desk, draft) is Went.BACK
    ):
        at = reached = len(asked) - 1
    if not written:
        _write_sheet(desk, draft, paper)


def _asked(keys: Iterable[Key]) -> list[Asked]:
    from carwright.cli.interview import Asked

    return [Asked(key, key.path, partial(_hint, key)) for key in keys]


def _hint(key: Key, draft: Draft) -> str:
    from carwright.car.answers import hint_for

    return hint_for(key, draft.car)


def _questions() -> tuple[list[Asked], list[Asked]]:
    """Return what is asked before the sheet, and the letters of the sheet."""
    from carwright.car.answers import opening_keys
    from carwright.car.keys import sheet_letters

    return _asked(opening_keys()), _asked(sheet_letters())


def _opened(desk: Desk, file: Path | None) -> Draft | None:
    """Return the draft in ``file``, or in a new file named after the car; None where the user ended at once."""
    from carwright.car.keys import key_named
    from carwright.cli.draft import Draft
    from carwright.cli.interview import Asked, ask_all
    from carwright.cli.page import plain, wrapped

    name: str | None = None
    if file is None or not file.exists():
        desk.say(["", *wrapped("What do you call this car?")])
        name = desk.hear("    name (Enter skips): ")
        while name in ("?", "b"):
            desk.say(wrapped("Any words; they head every drawing.", first="    "))
            name = desk.hear("    name (Enter skips): ")
        if name is not None and name.casefold() == "q":
            return None
    draft = Draft(file if file is not None else _free(name or ""))
    if not draft.begun:
        try:
            draft.put({"car.name": name} if name else {})
        except InputError:
            desk.say(wrapped("That name cannot be kept in a file: it goes on without one.", first="    "))
            draft.put({})
    else:
        desk.say(wrapped("Going on where it was left."))
        called = key_named("car.name")
        if called is not None and not draft.said(called, called.path):
            ask_all(desk, draft, [Asked(called, called.path)])
    desk.say([f"    Every answer is kept in {plain(str(draft.path))}"])
    return draft


def _free(name: str) -> Path:
    """Return the name of a file that is not there yet, after the car's name."""
    stem = re.sub(r"\W+", "-", name.casefold()).strip("-_")[:40] or "car"
    at = 1
    while (path := Path(f"{stem}.toml" if at == 1 else f"{stem}-{at}.toml")).exists():
        at += 1
    return path


def _beside(draft: Draft, what: str) -> Path:
    return draft.path.with_name(f"{draft.path.stem}-{what}.pdf")


def _write(path: Path, pages: Iterable[Page], draft: Draft, paper: Paper | None) -> None:
    from carwright.draw.files import write_file
    from carwright.draw.pdf import pdf

    info = draft.car.info
    write_file(path, pdf(tuple(pages), title=info.name or "Car", paper=_paper(draft, paper)))


def _paper(draft: Draft, paper: Paper | None) -> Paper:
    return paper or ("a4" if draft.car.info.units == "mm" else "letter")


def _write_sheet(desk: Desk, draft: Draft, paper: Paper | None) -> None:
    from carwright.cli.page import plain, wrapped
    from carwright.draw.sheet import measuring_pages

    path = _beside(draft, "sheet")
    _write(path, measuring_pages(draft.car, paper=_paper(draft, paper)), draft, paper)
    desk.say(["", f"Measuring sheet: {plain(str(path))}"])
    desk.say(wrapped("Print it for the bench: each letter stands at what it measures, with a box for the figure."))
    desk.say(wrapped("Its second page is for curves; it can wait."))


def _write_template(desk: Desk, draft: Draft, plan: Plan, paper: Paper | None) -> None:
    from carwright.cli.page import plain, wrapped
    from carwright.draw.views import pages_of

    desk.say([""])
    if not plan.floor.outline:
        desk.say(wrapped("No floor template yet: it needs C inside length and D inside width."))
        return
    path = _beside(draft, "template")
    _write(path, pages_of(plan, ["template"], paper=_paper(draft, paper)), draft, paper)
    desk.say([f"Floor template, true size: {plain(str(path))}"])
    desk.say(wrapped("Print it at 100 % and measure its bars before you cut."))


def _end(desk: Desk, draft: Draft, plan: Plan) -> None:
    from carwright.cli.page import command_line
    from carwright.cli.show_plan import summary_lines

    desk.say(["", *summary_lines(plan), "", "Everything, and why:", command_line("plan", str(draft.path))])
