"""The book as a whole: which pages there are, and in which order."""

from __future__ import annotations

from dataclasses import replace

from carwright.book.cautions import CAUTIONS
from carwright.book.curvepage import curve_blocks
from carwright.book.cutpages import Cutting, as_cut, cutting_pages, stock_taken
from carwright.book.finishpage import finish_blocks, finished
from carwright.book.maskpage import mask_blocks
from carwright.book.order import Step, by_part
from carwright.book.ridepage import ride_blocks, ride_foot
from carwright.book.standing import cover_blocks, standing_blocks
from carwright.book.steps import steps_of
from carwright.book.studied import Studied, study
from carwright.book.tables import cut_blocks, drill_blocks
from carwright.book.weightpage import weight_blocks
from carwright.book.workings import source_blocks, working_blocks
from carwright.draw.bars import Correction
from carwright.draw.blocks import Block, Heading, Note, Page, Paper, StepLine, Steps
from carwright.draw.heads import page
from carwright.draw.pdf import field_mm, pdf
from carwright.draw.views import View, pages_of
from carwright.findings import listed
from carwright.plan.model import Plan

__all__ = ["book_pages", "book_pdf"]


def book_pdf(
    plan: Plan,
    *,
    paper: Paper = "letter",
    correction: Correction | None = None,
    studied: Studied | None = None,
    cutting: Cutting | None = None,
) -> bytes:
    """Return the build book as one PDF file, the same bytes for the same plan, paper and correction."""
    pages = book_pages(plan, paper=paper, correction=correction, studied=studied, cutting=cutting)
    title = plan.car.info.name or "Car without a name"
    return pdf(pages, title=f"Build book: {title}", paper=paper, correction=correction, foot="Carwright, build book")


def book_pages(
    plan: Plan,
    *,
    paper: Paper = "letter",
    correction: Correction | None = None,
    studied: Studied | None = None,
    cutting: Cutting | None = None,
) -> tuple[Page, ...]:
    """Return the sheets of the build book.

    Args:
        plan: the plan, whatever of it is known.
        paper: "letter" or "a4".
        correction: what the printer needs, for what is true to size.
        studied: the plan's studies where they were made already.
        cutting: how its pieces are cut from its shelf, for pages on that.
    """
    studied = studied or study(plan)
    wide, high = field_mm(paper, bars=False)
    worked = studied if cutting is None else replace(studied, plan=as_cut(plan, cutting.batch))
    steps = steps_of(worked)
    gauge = next((str(step.number) for step in steps if step.name == "height"), "")
    units = "inches" if plan.car.info.units == "in" else "millimetres"
    told = f"lengths in {units} unless marked"

    def plain(title: str, *blocks: Block, foot: str = told) -> Page:
        return page(plan, title, blocks, bars=False, foot=foot)

    views: list[View] = ["plan", "side", "end"]
    if any(piece.pose.z_mm is not None for piece in plan.pieces):
        views += ["section", "exploded"]
    drawn = pages_of(plan, views, paper=paper, correction=correction, bars=False)
    templates = pages_of(plan, ("template", "setting-out", "pieces"), paper=paper, correction=correction, bars=False)
    name = plan.car.info.name or "Car without a name"
    painted: list[Page] = []
    paint = finished(plan)
    if paint is not None:
        painted.append(plain("Finish", *finish_blocks(plan, paint)))
        masks = () if paint.finish is None else mask_blocks(plan, paint.finish, width_mm=wide, height_mm=high)
        painted += [plain("Masks", *masks)] if masks else []
    pages = [
        plain(
            f"Build book: {name}",
            *cover_blocks(
                worked, width_mm=wide, stock=() if cutting is None else stock_taken(cutting.batch, plan.car.info.units)
            ),
        ),
        plain("What stands and what fails", *standing_blocks(studied)),
        plain("Ride height", *ride_blocks(plan, width_mm=wide, hold=gauge), foot=ride_foot(plan) or told),
        plain("Round the curve", *curve_blocks(studied, width_mm=wide)),
        plain("Weight and balance", *weight_blocks(studied.weight, width_mm=wide), foot=f"{told}; weights in grams"),
        *(each if each.bars else replace(each, foot=told) for each in drawn),
        plain("Cut table", *cut_blocks(worked.plan, cutting=None if cutting is None else cutting.batch)),
        *(() if cutting is None else _cutting(plan, cutting, paper)),
        plain("Drill table", *drill_blocks(plan)),
        *templates,
        plain("Order of work", *_work(steps)),
        *painted,
        plain("Working of the main numbers", *working_blocks(plan)),
        plain("Readings, sources and choices", *source_blocks(plan)),
    ]
    return tuple(pages)


def _cutting(plan: Plan, cutting: Cutting, paper: Paper) -> tuple[Page, ...]:
    """Return the pages on cutting under the book's own head."""
    head = page(plan, "", ())
    pages = cutting_pages(cutting.batch, plan.car.info.units, waiting=cutting.waiting, paper=paper)
    return tuple(replace(each, who=head.who, what=head.what) for each in (pages if cutting.drawn else pages[:1]))


def _work(steps: tuple[Step, ...]) -> tuple[Block, ...]:
    blocks: list[Block] = [
        Note(
            "A wide frame is a hold: work stops there until the box is ticked and the reading written. A step that "
            "cannot be taken back names the holds that come before it."
        )
    ]
    for part, mine in by_part(steps):
        blocks.append(Heading(part))
        blocks.append(Steps(tuple(_line(step) for step in mine)))
    return tuple(blocks)


def _line(step: Step) -> StepLine:
    after = ""
    if step.needs:
        after = f"Only after hold{'s' if len(step.needs) > 1 else ''} {listed(str(each) for each in step.needs)}."
        if step.irreversible:
            after = f"Cannot be taken back. {after}"
    return StepLine(str(step.number), step.text, step.hold, step.places, after, CAUTIONS[step.caution])
