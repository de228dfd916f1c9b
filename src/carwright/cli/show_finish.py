"""The page of ``carwright finish``: strip or not, the colours with their masks, every act with its waits, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from carwright.car.model import Car
from carwright.cli.page import heading, wrapped
from carwright.cli.show_plan import finding_lines
from carwright.finish.steps import Step
from carwright.plan.finishdocument import LABELS_FIRST, is_estimate
from carwright.plan.finishing import FinishPlan
from carwright.plan.finishwords import (
    STRIP_TOLD,
    fit_rungs,
    ladder_told,
    masked_told,
    pass_told,
    seal_told,
    time_told,
    waits_told,
)

__all__ = ["finish_lines"]


def finish_lines(made: FinishPlan, car: Car, paint: Iterable[str]) -> Iterator[str]:
    """Yield the page, no line longer than 80 columns; ``paint`` are the lines on what there has to be of it."""
    yield from wrapped(car.info.name or "A car")
    yield from _strip(made)
    yield from _passes(made, own=bool(car.finish.order))
    yield from heading("Acts", "min")
    numbers = {step.id: number for number, step in enumerate(made.steps, 1)}
    for step in made.steps:
        yield from _step(step, numbers)
    if any(is_estimate(each) for each in made.steps):
        yield ""
        yield from wrapped("Minutes of work are estimates where they have a ~; yours go in [finish.minutes].")
    yield ""
    yield from paint
    if made.findings:
        yield from finding_lines(made.findings, car.info.units)
    yield from heading("Cautions")
    for caution in made.cautions:
        yield from wrapped(f"{caution.hazard} {'; '.join(caution.controls).capitalize()}.", first="  ")
    yield from wrapped(LABELS_FIRST, first="  ")


def _strip(made: FinishPlan) -> Iterator[str]:
    strip = made.strip
    yield from heading("The old paint")
    yield from wrapped(STRIP_TOLD[strip.verdict], first="  ")
    for reason in strip.reasons:
        source = f" ({reason.source})" if reason.source else ""
        yield from wrapped(f"{reason.because}{source}", first=f"  {'for' if reason.strips else 'against':<9}")
    for rung in fit_rungs(strip):
        times = f"look after {time_told(rung.first_check.value)}, out by {time_told(rung.limit.value)}"
        yield from wrapped(f"{rung.name}: {rung.because}; {times}", first=f"  {rung.status:<9}")
    for told in ladder_told(strip):
        yield from wrapped(told, first="  ")


def _passes(made: FinishPlan, *, own: bool) -> Iterator[str]:
    yield from heading("Colours, in your order" if own else "Colours, in the order that masks best")
    yield from wrapped(masked_told(made), first="  ")
    for number, each in enumerate(made.passes, 1):
        yield from wrapped(pass_told(each), first=f"  {number}. ")
        if each.seals:
            yield from wrapped(seal_told(each), first="     ")


def _step(step: Step, numbers: Mapping[str, int]) -> Iterator[str]:
    mark = "~" if is_estimate(step) else ""
    lines = wrapped(step.title, first=f"  {numbers[step.id]:2}. ", width=72)
    yield f"{lines[0]:<74}{mark + str(step.hands_min):>6}"
    yield from lines[1:]
    for told in waits_told(step.waits, numbers, sources=True):
        yield from wrapped(told, first=" " * 8)
    if step.hold_point:
        yield from wrapped(f"check: {step.hold_point}", first=" " * 8)
