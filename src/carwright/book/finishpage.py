"""The page on a car's finish: the scheme, its acts with their waits and holds, the paint to buy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from carwright.book.cautions import CAUTIONS, LABELS_FIRST
from carwright.draw.blocks import (
    Block,
    Caution,
    Heading,
    Judged,
    Note,
    Prose,
    StepLine,
    Steps,
    Table,
    Verdicts,
)
from carwright.draw.labels import short_name
from carwright.findings import listed
from carwright.finish.model import StripDecision
from carwright.finish.steps import Step
from carwright.plan.finishing import FinishPlan, finish_plan
from carwright.plan.finishwords import STRIP_TOLD, time_told, waits_told
from carwright.plan.model import Plan
from carwright.plan.paintneeds import PaintAnswer, PaintNeed, needs_told, paint_needs
from carwright.problems import InputError, Problem

__all__ = ["Finished", "finish_blocks", "finished"]


@dataclass(frozen=True, slots=True)
class Finished:
    """A car's finish as the book shows it.

    Args:
        finish: its acts; None where the scheme or a paint cannot be read.
        paint: what it takes.
        troubles: why it cannot be told.
    """

    finish: FinishPlan | None
    paint: PaintAnswer | None
    troubles: tuple[Problem, ...] = ()


def finished(plan: Plan) -> Finished | None:
    """Return the finish of a plan's car, or None where it has no colour scheme."""
    if not plan.car.finish.scheme.strip():
        return None
    try:
        finish = finish_plan(plan.car)
        return Finished(finish, paint_needs(plan, finish))
    except InputError as error:
        return Finished(None, None, error.problems)


def finish_blocks(plan: Plan, made: Finished) -> tuple[Block, ...]:
    """Return the blocks of the page on the acts; what cannot be read is named where nothing can be said."""
    finish, paint = made.finish, made.paint
    if finish is None or paint is None:
        told = [f"{each.problem.capitalize()}: {each.value}. {each.mend}".strip() for each in made.troubles]
        return (Prose("The finish cannot be planned."), *(Note(each) for each in told))
    colours = listed(coating.colour for coating in finish.coatings)
    times, covered = int(finish.times.value), int(finish.covered.value)
    masked = f"masked {_times(times)}, {covered} part{'' if covered == 1 else 's'} in all" if times else "no tape"
    blocks: list[Block] = [
        Prose(f"The scheme: {plan.car.finish.scheme.strip().rstrip('.')}. Colours in this order: {colours}; {masked}."),
        Caution(LABELS_FIRST, "Labels first"),
        Caution(CAUTIONS["spray"]),
        Heading("The old paint"),
        *_strip(finish.strip),
        Heading("Paint to have"),
        _paint_table(plan, paint),
    ]
    blocks += [Note(each) for each in _paint_notes(paint)]
    findings = (*finish.findings, *paint.findings)
    if findings:
        blocks += [
            Heading("What to know before"),
            Verdicts(tuple(Judged(e.verdict, short_name(e.check), e.because, e.mend) for e in findings)),
        ]
    blocks += [
        Heading("What can hurt in this finish"),
        Table(
            ("What can happen", "What keeps it from happening"),
            tuple((each.hazard, f"{'; '.join(each.controls).capitalize()}.") for each in finish.cautions),
            (66.0, 0.0),
            (False, False),
        ),
        Heading("Acts"),
        Note(
            "Waits count from the end of an act. Behind each stands how it is known: published, common practice, your "
            "label, or an estimate of ours. They hold for thin sprayed coats in a warm, dry room."
        ),
        Steps(tuple(_lines(finish.steps))),
    ]
    return tuple(blocks)


def _strip(strip: StripDecision) -> Iterator[Block]:
    """Yield what is decided about old paint, why, and the strippers from the mildest on, with room for notes."""
    yield Prose(STRIP_TOLD[strip.verdict])
    for reason in strip.reasons:
        yield Note(f"{'For' if reason.strips else 'Against'} it: {reason.because}.")
    if strip.verdict not in ("strip", "unknown"):
        return
    fit = [each for each in strip.ladder if each.status in ("worked", "next", "later")]
    if fit:
        rows = tuple(
            (each.name, each.because, time_told(each.first_check.value), time_told(each.limit.value), "")
            for each in fit
        )
        yield Table(
            ("Stripper, mildest first", "Why here", "Look after", "Out by", "What came of it"),
            rows,
            (40.0, 0.0, 18.0, 18.0, 36.0),
            (False, False, True, True, False),
        )
    unfit = [each.name for each in strip.ladder if each.status == "unfit"]
    gone = f" Not for this plastic or paint: {listed(unfit)}." if unfit else ""
    yield Note(f"On a hidden spot first; no bath above {strip.warmest.value:.0f} °C.{gone}")


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _paint_table(plan: Plan, paint: PaintAnswer) -> Table:
    inches = plan.car.info.units == "in"
    rows = []
    for each in paint.needs:
        area = "?" if each.area is None else _area(each.area.value, inches=inches)
        amounts = ("?", "?") if each.amount is None else (_ml(each.amount.likely.value), _ml(each.amount.most.value))
        coats = f"{each.coats.value:.0f}"
        rows.append((each.paint, paint.where(each), coats, area, *amounts, "", each.reckoned_as, _buy(each)))
    heads = ("Paint", "Where", "Coats", "Area, in²" if inches else "Area, cm²", "ml", "at most", "", "As", "Buy")
    return Table(
        heads,
        tuple(rows),
        (30.0, 0.0, 13.0, 18.0, 12.0, 16.0, 4.0, 29.0, 26.0),
        (False, False, True, True, True, True, False, False, False),
    )


def _area(value_mm2: float, *, inches: bool) -> str:
    return f"{value_mm2 / (645.16 if inches else 100.0):.1f}"


def _ml(value: float) -> str:
    return f"{value:.1f}"


def _buy(need: PaintNeed) -> str:
    if need.buy is None or need.contents is None:
        return "?"
    count = int(need.buy.value)
    return "none, it lasts" if not count else f"{count} of {need.contents.value:g} ml"


def _paint_notes(paint: PaintAnswer) -> Iterator[str]:
    yield (
        "Wet paint for all coats with the middle of what is usual for film, solids and what goes past small parts; at "
        "most: with the thickest film, the least solids and the greatest loss. What stays in the gun and the mist "
        "along tape come on top."
    )
    if any(not each.said for each in paint.needs):
        yield "Taken: its family was not said. It is reckoned as the one that takes most, the primer as a lacquer."
    if any(each.contents is None for each in paint.needs):
        yield "How many to buy is told where the car file says what a bottle holds (paint, contents)."
    if any(each.family == "lacquer" for each in paint.needs):
        yield "A lacquer's amount is that of paint as it is sprayed, thinned; that of the others is as it comes."
    told = needs_told(paint)
    if told:
        yield told


def _lines(steps: Sequence[Step]) -> Iterator[StepLine]:
    """Yield a line for each act, and a frame for what has to be checked after it."""
    numbers = {step.id: number for number, step in enumerate(steps, 1)}
    for number, step in enumerate(steps, 1):
        text = f"{step.title.rstrip('.')}. About {step.hands_min} min."
        yield StepLine(str(number), text, after=" ".join(waits_told(step.waits, numbers)))
        if step.hold_point:
            held = step.hold_point.strip().rstrip(".")
            yield StepLine("", f"After act {number}: {held}.", hold=True)
