"""``carwright finish``: the steps in which a car is painted, with masks and waits."""

from __future__ import annotations

import json as json_format
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

if TYPE_CHECKING:
    from carwright.finish.steps import Step, Window
    from carwright.plan.finishing import FinishPlan

__all__ = ["command"]


def command(
    car: Path,
    /,
    *,
    plain: bool = False,
    weather: bool = False,
    steps: Path | None = None,
    draw: Path | None = None,
    why: str | None = None,
    json: bool = False,
    out: Annotated[Path | None, Parameter(name="--out")] = None,
) -> int:
    """Plan a car's paint: colours in the order that masks least, every act, every wait.

    The order is proven: no other covers fewer surfaces. Paint to buy follows from the
    plan's surfaces. Status 1 when a paint spoils the one beneath.

    Args:
        car: The car file, with its colour scheme.
        plain: The car gets no lettering, and no gloss coat for it.
        weather: The car is weathered at the end.
        steps: Write the steps into this file (.toml), for `carwright calendar`.
        draw: Draw the car unfolded for each time that tape or paint changes, into this folder: SVG, DXF, and a PDF.
        why: Show how one number of the paint comes about: paint_needed.grey.needed_ml. "list" names every path.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.car.read import read_car_file
    from carwright.cli.finishdrawings import write_masks
    from carwright.cli.plan import give
    from carwright.cli.show_paint import paint_lines
    from carwright.cli.show_why import document_page
    from carwright.draw.files import write_file
    from carwright.findings import worst_verdict
    from carwright.plan import make_plan
    from carwright.plan.finishing import finish_plan
    from carwright.plan.paintneeds import paint_document, paint_needs

    found = read_car_file(car).car
    made = finish_plan(found, lettering=not plain, weather=weather, file=str(car))
    plan = make_plan(found)
    paint = paint_needs(plan, made, file=str(car))
    made = replace(made, findings=(*made.findings, *paint.findings))
    document = paint_document(paint)
    if steps is not None:
        write_file(steps, ("\n".join(_toml(made)) + "\n").encode())
    if draw is not None:
        write_masks(plan, made, draw, source=car)
    if why is not None:
        give(document_page(document, why, found.info.units, json=json, lines=tuple), out)
        return 0
    told = {**_json(made), **document.as_json()}
    shown = json_format.dumps(told, ensure_ascii=False, indent=2) if json else _lines(made, paint_lines(paint))
    give(shown, out)
    return 1 if worst_verdict(made.findings) == "fail" else 0


def _json(made: FinishPlan) -> dict[str, Any]:
    return {
        "steps": [
            {
                "car": step.car,
                "id": step.id,
                "act": step.act,
                "title": step.title,
                "hands_min": step.hands_min,
                "surfaces": list(step.surfaces),
                "facilities": [each.facility for each in step.facilities],
                "colour": step.colour or None,
                "waits": [
                    {
                        "after": wait.after,
                        "windows_min": [[each.opens_min, each.closes_min] for each in wait.windows],
                        "because": wait.because or None,
                        "basis": wait.basis or None,
                        "source": wait.source or None,
                    }
                    for wait in step.waits
                ],
                "rack_min": step.rack_min,
                "hold_point": step.hold_point or None,
            }
            for step in made.steps
        ],
        "maskings": made.maskings,
        "paint": [
            {"colour": each.colour, "name": paint.name if paint else None, "family": each.family.id if paint else None}
            for each, paint in zip(made.coatings, made.paints, strict=True)
        ],
        "findings": [
            {"check": each.check, "verdict": each.verdict, "because": each.because, "mend": each.mend or None}
            for each in made.findings
        ],
    }


def _lines(made: FinishPlan, paint: Iterable[str]) -> Iterator[str]:
    yield f"Colours: {', '.join(each.colour for each in made.coatings)}; surfaces masked in all: {made.maskings}"
    for number, step in enumerate(made.steps, 1):
        yield ""
        yield f"{number:2}. {step.title} ({step.hands_min} min)"
        for wait in step.waits:
            if wait.because:
                known = (
                    "common practice"
                    if wait.basis == "practice"
                    else "published"
                    if wait.basis == "seen"
                    else wait.source
                )
                yield f"    {_windows(wait.windows)} after {wait.after}: {wait.because} ({known or wait.basis})"
        if step.hold_point:
            yield f"    check: {step.hold_point}"
    yield ""
    yield from paint
    yield ""
    for each in made.findings:
        yield f"{each.verdict}: {each.because} {each.mend}"
    yield "Labels and safety sheets come before this page. Spray in fresh air, with a respirator, no flame or spark;"
    yield "two-part paint needs air-fed breathing gear. Old paint may hold lead: do not sand it dry."


def _windows(windows: tuple[Window, ...]) -> str:
    words = [
        f"from {_time(each.opens_min)}"
        if each.closes_min is None
        else f"within {_time(each.closes_min)}"
        if not each.opens_min
        else f"{_time(each.opens_min)} to {_time(each.closes_min)}"
        for each in windows
    ]
    return " or ".join(words)


def _time(minutes: int) -> str:
    return f"{minutes} min" if minutes % 60 or not minutes else f"{minutes // 60} h"


def _toml(made: FinishPlan) -> Iterator[str]:
    """Yield the steps as a list that ``carwright calendar`` reads."""
    for step in made.steps:
        yield "[[step]]"
        for key, value in (("car", step.car), ("id", step.id), ("act", step.act), ("title", step.title)):
            yield f"{key} = {_text(value)}"
        yield f"minutes = {step.hands_min}"
        yield from _filled(step)
        for wait in step.waits:
            pairs = ", ".join(_pair(each) for each in wait.windows)
            yield "[[step.wait]]"
            yield f"after = {_text(wait.after)}"
            yield f"windows = [{pairs}]"
            yield f"because = {_text(wait.because)}"
            yield f"source = {_text(wait.source)}"
        yield ""


def _filled(step: Step) -> Iterator[str]:
    if step.surfaces:
        yield f"surfaces = [{', '.join(map(_text, step.surfaces))}]"
    if step.facilities:
        yield f"facilities = [{', '.join(_text(each.facility) for each in step.facilities)}]"
    if step.colour:
        yield f"colour = {_text(step.colour)}"
    if step.rack_min:
        yield f"rack = {step.rack_min}"
    if step.hold_point:
        yield f"hold = {_text(step.hold_point)}"


def _pair(window: Window) -> str:
    closes = '"none"' if window.closes_min is None else str(window.closes_min)
    return f"[{window.opens_min}, {closes}]"


def _text(value: str) -> str:
    """Return a text as TOML: its basic strings are JSON's, but for one sign that neither may hold bare."""
    return json_format.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
