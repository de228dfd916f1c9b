"""The calendar of the demonstration: six cars painted in one booth, and again after an evening was missed."""

from __future__ import annotations

import json as json_format
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from carwright.calendar.batch import Batch, Calendar, Placed
    from carwright.cli.show_calendar import Before, Look

__all__ = ["Painted", "paint", "painted_as_json", "painted_lines"]

TODAY: Final = date(2026, 11, 25)
"""The day on which the demonstration plans, so that it is the same whenever it is run."""

_WORK: Final = 10.0
"""Units of work for each of the two calendars, as the command has it by itself."""

_MISSED: Final = 5
"""Which evening is missed, counted from 0."""


@dataclass(frozen=True, slots=True)
class Painted:
    """The calendar of the demonstration.

    Args:
        folder: where its files lie.
        files: their names.
        made: the calendar.
        again: the calendar after an evening was missed.
        missed: the day of that evening; the plan is made again on the next one.
    """

    folder: Path
    files: tuple[str, ...]
    made: Calendar
    again: Calendar
    missed: date


def paint(out: Path, cars: Sequence[str]) -> Painted:
    """Put the paint of the cars, whose files are written, on evenings; plan again after a missed one.

    Args:
        out: folder of the demonstration.
        cars: names of the cars' folders.
    """
    from carwright.calendar.agenda import by_evening
    from carwright.calendar.solve import make_calendar
    from carwright.cli.calendar import batch_of, gathered
    from carwright.cli.progress import at_work
    from carwright.draw.files import write_file

    folder = out / "calendar"
    evenings = resources.files("carwright.demo").joinpath("evenings.toml").read_bytes()
    files: dict[str, bytes] = {"evenings.toml": evenings}
    found = gathered([out / name / "car.toml" for name in cars])
    looks = [replace(each, file=Path(each.file).relative_to(out).as_posix()) for each in found.looks]
    rule = ("evenings.toml", evenings)
    with at_work("finding evenings"):
        batch, _ = batch_of(found.steps, [rule], TODAY)
        made = make_calendar(batch, work=_WORK)
    files |= _files(made, batch, TODAY, "", looks)
    days = [acts[0].start.date() for acts in by_evening(made)]
    missed = days[min(_MISSED, len(days) - 1)]
    done = _done([each for each in made.placed if each.start.date() < missed])
    files["done.toml"] = done
    next_day = missed + timedelta(days=1)
    with at_work("finding evenings again"):
        later, _ = batch_of(found.steps, [rule, ("done.toml", done)], next_day)
        before = {(each.step.car, each.step.id): each.start.date() for each in made.placed}
        again = make_calendar(later, work=_WORK, before=before)
    files |= _files(again, later, next_day, "again-", looks, before)
    for name, content in files.items():
        write_file(folder / name, content)
    return Painted(folder, tuple(files), made, again, missed)


def _files(
    made: Calendar, batch: Batch, today: date, lead: str, looks: Sequence[Look], before: Before | None = None
) -> dict[str, bytes]:
    from carwright.book.routesheets import evening_pages, route_pages
    from carwright.calendar.feed import icalendar_of
    from carwright.cli.show_calendar import calendar_json, calendar_lines
    from carwright.draw.calendarviews import batch_chart
    from carwright.draw.pdf import pdf
    from carwright.draw.svg import svg

    text = json_format.dumps(calendar_json(made, looks, before), ensure_ascii=False, indent=2)
    return {
        f"{lead}calendar.txt": ("\n".join(calendar_lines(made, batch, looks, before)) + "\n").encode(),
        f"{lead}calendar.json": f"{text}\n".encode(),
        f"{lead}calendar.svg": svg(batch_chart(made, batch)).encode(),
        f"{lead}evenings.pdf": pdf(evening_pages(made, batch), title="Evening sheets"),
        f"{lead}routes.pdf": pdf(route_pages(made), title="Route sheets"),
        f"{lead}paint.ics": icalendar_of(made, batch, today=today, gone=tuple((before or {}).values())),
    }


def _done(placed: Sequence[Placed]) -> bytes:
    """Return what was done before the missed evening, as its owner would write it down."""
    lines = ["# What was done before an evening was missed."]
    for each in placed:
        car, step = (json_format.dumps(text, ensure_ascii=False) for text in (each.step.car, each.step.id))
        lines += ["", "[[done]]", f"car = {car}", f"step = {step}", f'when = "{each.end:%Y-%m-%d %H:%M}"']
    return ("\n".join(lines) + "\n").encode()


def painted_as_json(painted: Painted) -> dict[str, object]:
    """Return what came of it for other programs."""
    return {
        "folder": str(painted.folder),
        "files": list(painted.files),
        "last_day": None if painted.made.last_day is None else painted.made.last_day.isoformat(),
        "missed": painted.missed.isoformat(),
        "last_day_again": None if painted.again.last_day is None else painted.again.last_day.isoformat(),
    }


def painted_lines(painted: Painted, cars: Sequence[str]) -> Iterator[str]:
    """Yield what came of it, in a few lines, with the command that makes it again."""
    from carwright.calendar.agenda import by_evening
    from carwright.cli.page import command_line, plain, wrapped

    made, again = painted.made, painted.again
    how = "proven the earliest" if made.status == "optimal" else f"none ends before {made.bound}"
    moved = 0 if again.moved is None else again.moved.value
    yield from wrapped(
        f"All of them painted on free evenings: {len(made.placed)} acts on {len(by_evening(made))} evenings, a colour "
        f"loaded {made.colour_changes.value} times, finished on {_day(made.last_day)}, {how}. "
        f"Where {_day(painted.missed)} is missed, {moved} minutes of work move to another evening, and the last car is "
        f"finished on {_day(again.last_day)}."
    )
    yield from wrapped(f"In {plain(str(painted.folder))}: {', '.join(painted.files)}")
    yield "Plan it so, with a sheet for each evening:"
    yield command_line(
        "calendar",
        *(str(painted.folder.parent / name / "car.toml") for name in cars),
        "--evenings",
        str(painted.folder / "evenings.toml"),
        "--today",
        TODAY.isoformat(),
    )


def _day(day: date | None) -> str:
    return "never" if day is None else f"{day.day} {day:%B %Y}"
