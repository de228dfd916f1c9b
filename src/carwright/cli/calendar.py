"""``carwright calendar``: on which evening each step of a batch happens, or in which order jobs share facilities."""

from __future__ import annotations

import json as json_format
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.calendar.batch import Batch, Calendar
    from carwright.cli.show_calendar import Look
    from carwright.findings import Finding
    from carwright.finish.steps import Step

__all__ = ["Gathered", "batch_of", "command", "gathered"]


@dataclass(frozen=True, slots=True)
class Gathered:
    """What the files say that are to be put on evenings.

    Args:
        steps: of every car and list.
        findings: of the cars' paints, those that spoil the work.
        metric: whether every car is measured in millimetres.
        looks: of each car whose finish has something to watch or unknown.
    """

    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]
    metric: bool
    looks: tuple[Look, ...]


def command(
    cars: Path | None = None,
    /,
    *more: Path,
    evenings: Annotated[tuple[Path, ...], Parameter(negative=())] = (),
    today: str | None = None,
    before: Path | None = None,
    sheets: Path | None = None,
    routes: Path | None = None,
    paper: Literal["letter", "a4"] | None = None,
    ics: Path | None = None,
    draw: Path | None = None,
    why: str | None = None,
    problem: Path | None = None,
    time: float = 10.0,
    json: bool = False,
    out: Annotated[Path | None, Parameter(name="--out")] = None,
) -> int:
    """Put the paint of a batch on free evenings: last day, colour changes, evenings, each proven or with its bound.

    Waits, booth, rack, jigs and hands are kept. Status 1 when no calendar is, or when a paint spoils the one beneath.

    Args:
        cars: A car file with its colour scheme, or a list of steps (.toml): car, id, minutes, waits with their windows.
        more: Further cars and lists.
        evenings: Free evenings, a rule in TOML or an iCalendar file (.ics); again for a file that says what there is
            to work with, what is done, and appointments.
        today: Day to plan from, as 2026-11-24, or moment, as 2026-11-24T20:15; evenings before it are gone.
        before: The calendar made before, its JSON: as little as possible of it is moved.
        sheets: Write a sheet for each evening, a PDF, into this file.
        routes: Write a route sheet for each car, a PDF, into this file.
        paper: letter or a4. Without it, a4 where all cars are in millimetres.
        ics: Write an iCalendar file with alarms for the windows. Its stamp is --today, or else the clock's.
        draw: Write the picture of the batch, an SVG, into this file.
        why: Say why a step starts when it does: its car and its name, as "Boxcar: mask_2", or the name alone; list
            names every step.
        problem: Instead of cars a bare problem (.json): facilities with their places, jobs with steps and waits.
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
        if cars is not None:
            raise InputError(Problem("cars and a bare problem are two things", str(cars), key="--problem"))
        give(_bare(problem, time, json=json), out)
        return 0
    if cars is None or not evenings:
        accepted = "CAR.toml ... --evenings FILE, or --problem FILE.json"
        raise InputError(Problem("cars and evenings are wanting", accepted=accepted, key="--evenings"))
    from carwright.calendar.because import because_of
    from carwright.calendar.done import step_named
    from carwright.calendar.evenings import day_or_moment
    from carwright.calendar.feed import icalendar_of
    from carwright.calendar.solve import make_calendar
    from carwright.car.read import bytes_of
    from carwright.cli.page import plain
    from carwright.cli.progress import at_work
    from carwright.cli.show_calendar import because_json, because_lines, calendar_json, calendar_lines, days_before
    from carwright.draw.files import write_file

    day = None if today is None else day_or_moment(today, key="--today")
    found = gathered((cars, *more))
    batch, said = batch_of(found.steps, [(str(each), bytes_of(each, what="evenings")) for each in evenings], day)
    if why == "list":
        names = [f"{each.car}: {each.id}" for each in batch.steps]
        give(json_format.dumps(names, ensure_ascii=False, indent=2) if json else map(plain, names), out)
        return 0
    asked = None if why is None else step_named(why, batch.steps, key="--why")
    was = None if before is None else days_before(bytes_of(before, what="a calendar"), file=str(before))
    with at_work("finding evenings"):
        made = make_calendar(batch, work=time, before=was)
    made = replace(made, findings=(*found.findings, *said, *made.findings))
    if ics is not None:
        feed = icalendar_of(made, batch, today=day or datetime.now(UTC), gone=() if was is None else was.values())
        write_file(ics, feed, option="--ics")
    if draw is not None:
        from carwright.draw.calendarviews import batch_chart
        from carwright.draw.svg import svg

        write_file(draw, svg(batch_chart(made, batch)).encode("utf-8"), option="--draw")
    for place, pdf, option in ((sheets, "evenings", "--sheets"), (routes, "routes", "--routes")):
        if place is not None:
            pages = _pdf(pdf, made, batch, paper=paper or ("a4" if found.metric else "letter"))
            write_file(place, pages, option=option)
    if asked is not None and made.last_day is not None:
        told = because_of(made, batch, next(each for each in made.placed if (each.step.car, each.step.id) == asked))
        if json:
            give(json_format.dumps(because_json(told), ensure_ascii=False, indent=2), out)
        else:
            give(because_lines(told), out)
    elif json:
        give(json_format.dumps(calendar_json(made, found.looks, was), ensure_ascii=False, indent=2), out)
    else:
        give(calendar_lines(made, batch, found.looks, was), out)
    return 1 if made.status == "infeasible" or any(each.verdict == "fail" for each in made.findings) else 0


def _pdf(kind: str, made: Calendar, batch: Batch, *, paper: Literal["letter", "a4"]) -> bytes:
    from carwright.book.routesheets import evening_pages, route_pages
    from carwright.draw.pdf import pdf

    pages, title = (
        (evening_pages(made, batch), "Evening sheets") if kind == "evenings" else (route_pages(made), "Route sheets")
    )
    return pdf(pages, title=title, paper=paper)


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


def batch_of(
    steps: Sequence[Step], evenings: Sequence[tuple[str, bytes]], today: date | None = None
) -> tuple[Batch, tuple[Finding, ...]]:
    """Return steps and the files of their evenings as one batch, what is done and its appointments marked.

    Raises:
        InputError: evenings that cannot be used; a step that is done or appointed and is not there.
    """
    from carwright.calendar.batch import Batch
    from carwright.calendar.done import marked
    from carwright.calendar.evenings import read_evenings
    from carwright.calendar.steplist import in_zone

    free = read_evenings(evenings, today=today)
    told, findings = marked(in_zone(tuple(steps), free.zone), free.said, free.zone, free.now)
    first = free.evenings[0].start
    # A day without a time is planned from its evening.
    now = first if not isinstance(today, datetime) and first.date() == today else free.now
    return Batch(told, free.evenings, free.rules, now), findings


def gathered(files: Sequence[Path]) -> Gathered:
    """Return the steps of car files and lists of steps; two cars of one name are told apart by their files.

    Raises:
        InputError: every slip of every file; one file given twice.
    """
    from carwright.calendar.steplist import read_steps
    from carwright.car.places import naming_lines
    from carwright.car.read import bytes_of, read_car
    from carwright.cli.show_calendar import Look
    from carwright.plan.finishing import finish_plan

    problems: list[Problem] = []
    steps: list[Step] = []
    found: list[Finding] = []
    cars: list[tuple[Path, tuple[Step, ...]]] = []
    looks: list[Look] = []
    seen: set[Path] = set()
    metric = True
    for path in files:
        place = path.resolve()
        if place in seen:
            problems.append(Problem("one file is given twice", str(path), mend="Name it once.", file=str(path)))
            continue
        seen.add(place)
        try:
            data = bytes_of(path, what="a car file or a list of steps")
            if _is_list(data):
                steps += read_steps(data, file=str(path))
                metric = False
                continue
            car = read_car(data, file=str(path))
            with naming_lines(data):
                made = finish_plan(car, file=str(path))
        except InputError as trouble:
            problems += trouble.problems
            continue
        metric = metric and car.info.units == "mm"
        cars.append((path, made.steps))
        name = made.steps[0].car
        verdicts = [each.verdict for each in made.findings]
        looks.append(Look(name, str(path), verdicts.count("watch"), verdicts.count("unknown")))
        found += [replace(each, because=f"{name}: {each.because}") for each in made.findings if each.verdict == "fail"]
    if problems:
        raise InputError(problems)
    told_looks: list[Look] = []
    for (path, own), look in zip(cars, looks, strict=True):
        name = own[0].car
        stems = [other.stem for other, same in cars if same[0].car == name]
        told = name if len(stems) == 1 else f"{name} ({path.stem if stems.count(path.stem) == 1 else path})"
        steps += [replace(each, car=told) for each in own]
        told_looks.append(replace(look, car=told))
    return Gathered(
        tuple(steps), tuple(found), metric, tuple(each for each in told_looks if each.watch or each.unknown)
    )


def _is_list(data: bytes) -> bool:
    """Return whether a file is a list of steps; what is no TOML is left to whoever reads a car file."""
    try:
        return "step" in tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return False
