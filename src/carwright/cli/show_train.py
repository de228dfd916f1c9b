"""The page of ``carwright train``: the train as a whole, its cars one by one, and what was found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from carwright.cli.page import heading, plain, row, wrapped
from carwright.cli.show_plan import finding_lines
from carwright.lengths import show_in
from carwright.plan.trainmodel import CarInTrain, TrainAnswer
from carwright.working import Working

__all__ = ["train_lines"]

_ALIKE = 4
"""From so many cars of one row on, only its first and its last are shown."""


def _figure(value: Working | None, digits: int = 2) -> str:
    return "?" if value is None else f"{value.value:.{digits}f}"


def train_lines(answer: TrainAnswer) -> Iterator[str]:
    """Yield the page, no line longer than 80 columns.

    Args:
        answer: the study.
    """
    consist = answer.consist
    many = len(answer.cars)
    yield from wrapped(consist.name or "A train")
    grade = "level track" if answer.grade is None else f"a grade of {answer.grade.value:g} %"
    where = ""
    if answer.track:
        where = f", on {answer.track}"
        if answer.radius is not None:
            text = answer.radius.text
            shown = text if any(sign.isalpha() for sign in text) else show_in(answer.radius.value, consist.units)
            where += f" of {shown}" if answer.track == "one steady curve" else f", sharpest {shown}"
    pushed = ", pushed" if answer.pushed else ""
    yield from wrapped(f"{many} car{'s' if many > 1 else ''}{pushed} on {grade}{where}")
    yield from heading("The train")
    yield from row("mass", [f"{_figure(answer.mass, 0)} g"])
    yield from row("drags", [f"{_figure(answer.drag)} N"])
    yield from row("locomotive pulls", [f"{_figure(answer.available)} N"])
    if answer.steepest is not None and answer.steepest.value >= 0.0:
        yield from row("steepest grade for it", [f"{answer.steepest.value:.1f} %"])
    force, end = ("push", "rear") if answer.pushed else ("pull", "front")
    yield from heading(
        "Its cars, the front one first" if answer.pushed else "Its cars, behind the locomotive first", "N"
    )
    yield from row("", ["drag", force, "lifts", "tips", "oz/in"], label_width=20, cell_width=8)
    yield from _cars(answer.cars)
    yield f"  {force}: at its {end} coupler. lifts: an outer wheel; tips: the whole car."
    yield from finding_lines(answer.findings, consist.units)


def _cars(cars: Sequence[CarInTrain]) -> Iterator[str]:
    at = 0
    while at < len(cars):
        alike = [car for car in cars[at:] if car.kind is cars[at].kind]
        if len(alike) < _ALIKE:
            yield from _car(cars[at])
            at += 1
            continue
        yield from _car(cars[at])
        between = alike[1:-1]
        tight = min(between, key=_margin)
        if _margin(tight) < min(_margin(alike[0]), _margin(alike[-1])):
            yield from _car(tight)
        yield f"    {len(between)} like it between"
        yield from _car(alike[-1])
        at += len(alike)


def _margin(car: CarInTrain) -> float:
    return float("inf") if car.margin is None else car.margin.value


def _car(car: CarInTrain) -> Iterator[str]:
    over = car.margin is not None and car.margin.value < 0.0
    lifts = car.lift_margin is not None and car.lift_margin.value < 0.0
    cells = [_figure(value) for value in (car.kind.drag, car.pull, car.lift, car.tip, car.ounces)]
    if car.margin is None and not car.needs:
        cells[2] = cells[3] = "-"
    note = "TIPS" if over else "lifts" if lifts else ""
    label = f"{car.place} {plain(car.name)}"
    yield from row(label if len(label) < 20 else f"{label[:18]}…", cells, note=note, label_width=20, cell_width=8)
