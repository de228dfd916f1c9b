"""``carwright calendar``: on which evening each step of a batch happens, or in which order jobs share facilities."""

from __future__ import annotations

import json as json_format
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.finish.steps import Step

__all__ = ["command"]


def command(
    steps: Path | None = None,
    /,
    *more: Path,
    evenings: Path | None = None,
    today: str | None = None,
    before: Path | None = None,
    ics: Path | None = None,
    draw: Path | None = None,
    problem: Path | None = None,
    time: float = 10.0,
    json: bool = False,
    out: Annotated[Path | None, Parameter(name="--out")] = None,
) -> int:
    """Put the steps of a batch on free evenings: last day, colour changes, evenings, each proven or with its bound.

    Waits, booth, rack, jigs and hands are kept. Status 1 when no calendar is.

    Args:
        steps: A list of steps (.toml): car, id, minutes, waits with their windows.
        more: Further lists, one for each car if you like.
        evenings: Free evenings: a rule in TOML, or an iCalendar file (.ics).
        today: Day to plan from, as 2026-11-24; evenings before it are gone.
        before: The calendar made before, its JSON: as little as possible of it is moved.
        ics: Write an iCalendar file with alarms for the windows.
        draw: Write the picture of the batch, an SVG, into this file.
        problem: Instead of steps a bare problem (.json): facilities with their places, jobs with steps and waits.
        time: Units of counted work, about a second each; the same input gives the same calendar.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.cli.plan import give

    if not 0 < time <= 3600:
        raise InputError(
            Problem("so much work cannot be asked for", value=f"{time:g}", accepted="above 0, to 3600", key="--time")
        )
    if problem is not None:
        if steps is not None:
            raise InputError(Problem("steps and a bare problem are two things", str(steps), key="--problem"))
        give(_bare(problem, time, json=json), out)
        return 0
    if steps is None or evenings is None:
        accepted = "STEPS.toml --evenings FILE, or --problem FILE.json"
        raise InputError(Problem("steps and evenings are wanting", accepted=accepted, key="--evenings"))
    from carwright.calendar.batch import Batch
    from carwright.calendar.evenings import read_evenings
    from carwright.calendar.feed import icalendar_of
    from carwright.calendar.solve import make_calendar
    from carwright.calendar.steplist import in_zone
    from carwright.car.read import bytes_of
    from carwright.cli.progress import at_work
    from carwright.cli.show_calendar import calendar_json, calendar_lines, days_before
    from carwright.draw.files import write_file

    free = read_evenings(bytes_of(evenings, what="evenings"), file=str(evenings), today=_day(today))
    batch = Batch(in_zone(_steps((steps, *more)), free.zone), free.evenings, free.rules)
    was = None if before is None else days_before(bytes_of(before, what="a calendar"), file=str(before))
    with at_work("finding evenings"):
        made = make_calendar(batch, work=time, before=was)
    if ics is not None:
        write_file(ics, icalendar_of(made))
    if draw is not None:
        from carwright.draw.calendarchart import calendar_chart
        from carwright.draw.svg import svg

        write_file(draw, svg(calendar_chart(made)).encode("utf-8"))
    if json:
        give(json_format.dumps(calendar_json(made), ensure_ascii=False, indent=2), out)
    else:
        give(calendar_lines(made), out)
    return 1 if made.status == "infeasible" else 0


def _bare(problem: Path, time: float, *, json: bool) -> str:
    from carwright.calendar.shop import read_shop
    from carwright.calendar.shopsolve import solve_shop
    from carwright.car.read import bytes_of
    from carwright.cli.progress import at_work
    from carwright.cli.show_calendar import shop_lines

    shop = read_shop(bytes_of(problem, what="a problem"), file=str(problem))
    with at_work("ordering the steps"):
        answer = solve_shop(shop, work=time)
    if json:
        return json_format.dumps(answer.as_dict(), ensure_ascii=False)
    return "\n".join(shop_lines(shop, answer))


def _steps(files: tuple[Path, ...]) -> tuple[Step, ...]:
    from carwright.calendar.steplist import read_steps
    from carwright.car.read import bytes_of

    found: list[Step] = []
    problems: list[Problem] = []
    for path in files:
        try:
            found += read_steps(bytes_of(path, what="a list of steps"), file=str(path))
        except InputError as trouble:
            problems += trouble.problems
    if problems:
        raise InputError(problems)
    return tuple(found)


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(Problem("this is no day", text, "2026-11-24", key="--today")) from None
