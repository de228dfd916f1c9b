"""``carwright finish``: the steps in which a car is painted, with masks and waits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

if TYPE_CHECKING:
    from carwright.finish.steps import Step

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
    """Plan a car's paint: strip or not, colours in the order that masks best, every wait.

    What the car file says of the old paint decides whether it comes off, and with
    what. No other order of colours masks less without spoiling paint or putting
    light over dark. Paint to buy follows from the plan's surfaces. Status 1 when a
    paint spoils the one beneath.

    Args:
        car: The car file, with its colour scheme.
        plain: The car gets no lettering, and no gloss coat for it.
        weather: The car is weathered at the end, also where its file does not say how.
        steps: Write the steps into this file (.toml), for `carwright calendar`.
        draw: Draw the car unfolded for each time that tape or paint changes, into this folder: SVG, DXF, and a PDF.
        why: Show how one number comes about, by its path: steps.colour_1_again.hands_min. "list" names every path.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.car.places import naming_lines
    from carwright.car.read import read_car_file
    from carwright.cli.finishdrawings import write_masks
    from carwright.cli.plan import give
    from carwright.cli.show_finish import finish_lines
    from carwright.cli.show_paint import paint_lines
    from carwright.cli.show_why import document_page
    from carwright.draw.files import write_file
    from carwright.findings import VERDICT_ORDER, worst_verdict
    from carwright.plan import Document, make_plan
    from carwright.plan.finishdocument import finish_document
    from carwright.plan.finishing import finish_plan
    from carwright.plan.paintneeds import paint_document, paint_needs

    read = read_car_file(car)
    found = read.car
    with naming_lines(read.document):
        made = finish_plan(found, lettering=not plain, weather=weather, file=str(car))
        plan = make_plan(found)
        paint = paint_needs(plan, made, file=str(car))
    made = replace(
        made,
        findings=tuple(sorted((*made.findings, *paint.findings), key=lambda each: VERDICT_ORDER.index(each.verdict))),
    )
    if steps is not None:
        write_file(steps, _steps_text(made.steps).encode(), option="--steps")
    if draw is not None:
        write_masks(plan, made, draw, source=car)
    document = Document({**finish_document(made).root, **paint_document(paint).root})
    page = document_page(
        document, why, found.info.units, json=json, lines=lambda: finish_lines(made, found, paint_lines(paint, made))
    )
    give(page, out)
    return 1 if why is None and worst_verdict(made.findings) == "fail" else 0


def _steps_text(steps: Sequence[Step]) -> str:
    """Return the steps as a list that ``carwright calendar`` reads."""
    import tomlkit

    return tomlkit.dumps({"step": [dict(_step_keys(each)) for each in steps]})


def _step_keys(step: Step) -> Iterator[tuple[str, object]]:
    """Yield a step's keys, without those that would say nothing."""
    every: dict[str, object] = {
        "car": step.car,
        "id": step.id,
        "act": step.act,
        "title": step.title,
        "minutes": step.hands_min,
        "surfaces": list(step.surfaces),
        "facilities": [each.facility for each in step.facilities],
        "colour": step.colour,
        "rack": step.rack_min,
        "hold": step.hold_point,
        "wait": [
            {
                "after": wait.after,
                "windows": [
                    [each.opens_min, "none" if each.closes_min is None else each.closes_min] for each in wait.windows
                ],
                "because": wait.because,
                "source": wait.source,
            }
            for wait in step.waits
        ],
    }
    yield from ((key, value) for key, value in every.items() if value)
