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
from carwright.plan.finishwords import (
    STRIP_TOLD,
    amounts_told,
    area_told,
    bought_told,
    fit_rungs,
    ladder_told,
    masked_told,
    paint_notes,
    time_told,
    waits_told,
)
from carwright.plan.model import Plan
from carwright.plan.paintneeds import PaintAnswer, paint_needs
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
    scheme = plan.car.finish.scheme.strip().rstrip(".")
    blocks: list[Block] = [
        Prose(f"The scheme: {scheme}. Colours in this order: {colours}; {masked_told(finish)}."),
        Caution(LABELS_FIRST, "Labels first"),
        Caution(CAUTIONS["spray"]),
        Heading("The old paint"),
        *_strip(finish.strip),
        Heading("Paint to have"),
        _paint_table(plan, paint),
    ]
    blocks += [Note(each) for each in paint_notes(paint, finish)]
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
    fit = fit_rungs(strip)
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
    yield from (Note(each) for each in ladder_told(strip))


def _paint_table(plan: Plan, paint: PaintAnswer) -> Table:
    inches = plan.car.info.units == "in"
    rows = []
    for each in paint.needs:
        coats, area = f"{each.coats.value:.0f}", area_told(each, inches=inches)
        bought = bought_told(each) or "?"
        rows.append((each.paint, paint.where(each), coats, area, *amounts_told(each), "", each.reckoned_as, bought))
    heads = ("Paint", "Where", "Coats", "Area, in²" if inches else "Area, cm²", "ml", "at most", "", "As", "Buy")
    return Table(
        heads,
        tuple(rows),
        (30.0, 0.0, 13.0, 18.0, 12.0, 16.0, 4.0, 29.0, 26.0),
        (False, False, True, True, True, True, False, False, False),
    )


def _lines(steps: Sequence[Step]) -> Iterator[StepLine]:
    """Yield a line for each act, and a frame for what has to be checked after it."""
    numbers = {step.id: number for number, step in enumerate(steps, 1)}
    for number, step in enumerate(steps, 1):
        text = f"{step.title.rstrip('.')}. About {step.hands_min} min."
        yield StepLine(str(number), text, after=" ".join(waits_told(step.waits, numbers)))
        if step.hold_point:
            held = step.hold_point.strip().rstrip(".")
            yield StepLine("", f"After act {number}: {held}.", hold=True)
