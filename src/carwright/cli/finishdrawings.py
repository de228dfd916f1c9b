"""Writing the drawings of a finish: the car unfolded, act by act, as SVG and DXF, and all of them on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carwright.plan.finishing import FinishPlan
    from carwright.plan.model import Plan

__all__ = ["write_masks"]


def write_masks(plan: Plan, finish: FinishPlan, folder: Path, *, source: Path) -> tuple[Path, ...]:
    """Write a drawing for each time that tape or paint changes, and a sheet with all that have tape.

    Args:
        plan: the car's.
        finish: its acts.
        folder: where the files go; it is made where it is wanting.
        source: the car file, whose name begins theirs.

    Returns:
        What was written, in order.

    Raises:
        InputError: the folder is a file, or cannot be written.
    """
    from carwright.book.maskpage import mask_blocks
    from carwright.cli.draw import stem_of
    from carwright.draw.blocks import Paper
    from carwright.draw.dxf import reading_dxf
    from carwright.draw.files import checked_place, write_file
    from carwright.draw.finishviews import covering_view
    from carwright.draw.heads import page
    from carwright.draw.pdf import field_mm, pdf
    from carwright.draw.svg import svg
    from carwright.finish.covering import coverings
    from carwright.plan.paintneeds import named_surfaces

    named = named_surfaces(finish)
    made: dict[Path, bytes] = {}
    for covering in coverings(finish.steps, named):
        drawing = covering_view(plan, covering, named)
        place = folder / f"{stem_of(source)}-{drawing.name}"
        made[place.with_suffix(".svg")] = svg(drawing).encode()
        made[place.with_suffix(".dxf")] = reading_dxf(drawing)
    paper: Paper = "letter" if plan.car.info.units == "in" else "a4"
    wide, high = field_mm(paper, bars=False)
    blocks = mask_blocks(plan, finish, width_mm=wide, height_mm=high)
    if blocks:
        sheet = page(plan, "Masks", blocks, bars=False, foot="for each act: what is under tape, what gets the paint")
        title = f"Masks: {plan.car.info.name or stem_of(source)}"
        made[folder / f"{stem_of(source)}-masks.pdf"] = pdf((sheet,), title=title, paper=paper)
    for place in made:
        checked_place(place, place.suffix, source=source, option="--draw")
    for place, data in made.items():
        write_file(place, data, option="--draw")
    return tuple(made)
