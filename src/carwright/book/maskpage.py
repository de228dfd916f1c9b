"""The page on masks: the car unfolded for each time that tape or paint changes, with the acts that belong to it.

The page is used: of the ways to lay the pictures out (one below the other with their acts beneath or beside, or two
abreast) that one is taken which has them largest on one page; all pictures of a car have one scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from carwright.draw.blocks import Block, Columns, Heading, Note, Picture, StepLine, Steps
from carwright.draw.finishviews import covering_view
from carwright.draw.glyphs import in_lines
from carwright.draw.heads import SCALES
from carwright.draw.model import Drawing
from carwright.draw.strokes import bounds, ink
from carwright.findings import listed
from carwright.finish.covering import Covering, coverings
from carwright.finish.steps import Step
from carwright.plan.finishing import FinishPlan
from carwright.plan.finishwords import gaps_told, numbers_told
from carwright.plan.model import Plan
from carwright.plan.paintneeds import named_surfaces

__all__ = ["mask_blocks"]

_SCALES: Final = tuple(sorted({*(each for each in SCALES if each <= 2.0), 3 / 4, 2 / 3, 2 / 5, 3 / 10}, reverse=True))
_HEAD_MM: Final = 10.0
"""A picture's heading, with the room around it and the picture."""
_NOTE_MM: Final = 16.0
"""What stands above and below all pictures."""
_STEP_MM: Final = 5.7
_LINE_MM: Final = 4.5
_BODY_MM: Final = 3.53
"""An act of one line, each further line, and the size of its letters."""
_BESIDE_MM: Final = 24.0
"""What of an act's width its box and number take."""
_GUTTER_MM: Final = 7.0
_SMALLER: Final = 0.75
"""By so much pictures are made smaller at most, so that they stand on one page."""


@dataclass(frozen=True, slots=True)
class _Way:
    """A way to lay the pictures out.

    Args:
        abreast: how many stand side by side.
        share: the picture's part of the width where the acts stand beside it, else 1.
    """

    abreast: int
    share: float

    def picture_mm(self, width_mm: float) -> float:
        """Return the room for a picture."""
        return ((width_mm - (self.abreast - 1) * _GUTTER_MM) / self.abreast - (_GUTTER_MM if self.share < 1 else 0)) * (
            self.share
        )

    def acts_mm(self, width_mm: float) -> float:
        """Return the room for its acts."""
        wide = (width_mm - (self.abreast - 1) * _GUTTER_MM) / self.abreast
        return wide if self.share == 1.0 else (wide - _GUTTER_MM) * (1.0 - self.share)


_WAYS: Final = (_Way(1, 1.0), _Way(1, 0.62), _Way(2, 1.0))
"""Tried in this order; of those with pictures as large the first is taken."""


def mask_blocks(plan: Plan, finish: FinishPlan, *, width_mm: float, height_mm: float) -> tuple[Block, ...]:
    """Return the blocks of the page on masks: the car unfolded for each time that tape or paint changes.

    Args:
        plan: the car's.
        finish: its acts.
        width_mm: room on the page.
        height_mm: likewise.

    Returns:
        Nothing where nothing is ever covered.
    """
    named = named_surfaces(finish)
    every = coverings(finish.steps, named)
    shown = [each for each in every if not each.everywhere]
    rest = [each for each in every if each.everywhere]
    if not shown:
        return ()
    blocks: list[Block] = [
        Note(
            "The car unfolded: one side, both ends, the top above and the underframe beneath. Hatched: under tape. "
            "Toned, with its paint in bold: gets the paint. White: open, and gets nothing; it says what is on it."
            + (" The doors' size is taken, not measured." if "doors" in named else "")
        )
    ]
    gaps = gaps_told(plan.kind)
    blocks += [Note(gaps)] if gaps else []
    acts = [_acts(each, finish.steps) for each in shown]
    above_mm = 2 * _LINE_MM if gaps else 0.0
    way, views = _laid_out(plan, shown, named, acts, width_mm, height_mm - above_mm)
    pictured: list[tuple[Block, ...]] = []
    for view, lines in zip(views, acts, strict=True):
        picture, steps = Picture(view), Steps(lines)
        both: tuple[Block, ...] = (Columns((picture,), (steps,), way.share, whole=True),)
        if way.share == 1.0:
            both = picture, steps
        pictured.append((Heading(view.title), *both))
    if way.abreast == 1:
        blocks += [block for some in pictured for block in some]
    else:
        for at in range(0, len(pictured), 2):
            blocks.append(Columns(pictured[at], pictured[at + 1] if at + 1 < len(pictured) else (), whole=True))
    if rest:
        told = listed(f"{numbers_told(each.acts)} ({each.colour})" for each in rest)
        blocks.append(Note(f"Over everything, without tape: {told}."))
    return tuple(blocks)


def _acts(covering: Covering, steps: Sequence[Step]) -> tuple[StepLine, ...]:
    """Return a line for each act of a picture, numbered as on the page of all acts."""
    return tuple(StepLine(str(number), f"{steps[number - 1].title.rstrip('.')}.") for number in covering.acts)


def _laid_out(
    plan: Plan,
    shown: Sequence[Covering],
    named: Sequence[str],
    acts: Sequence[Sequence[StepLine]],
    width_mm: float,
    height_mm: float,
) -> tuple[_Way, tuple[Drawing, ...]]:
    """Return how the pictures are laid out, and the pictures: as large as one page holds them, else two abreast."""
    two = _WAYS[-1]
    fallback: tuple[Drawing, ...] = ()
    for scale in _SCALES:
        if fallback and scale < _SMALLER * fallback[0].scale:
            break
        views = tuple(covering_view(plan, each, named, alone=False, scale=scale) for each in shown)
        boxes = [bounds(ink(view)) for view in views]
        wide = max(box.width_mm for box in boxes) + 1.0
        for way in (each for each in _WAYS if wide <= each.picture_mm(width_mm)):
            room = way.acts_mm(width_mm) - _BESIDE_MM
            heights = []
            for box, lines in zip(boxes, acts, strict=True):
                told, own = sum(_line_mm(line, room) for line in lines), box.height_mm + 1.0
                heights.append(_HEAD_MM + (own + told if way.share == 1.0 else max(own, told)))
            rows = [max(heights[at : at + way.abreast]) for at in range(0, len(heights), way.abreast)]
            if sum(rows) + _NOTE_MM <= height_mm:
                return way, views
        if not fallback and wide <= two.picture_mm(width_mm):
            fallback = views
    return two, fallback or views


def _line_mm(line: StepLine, room_mm: float) -> float:
    """Return how high an act stands."""
    return _STEP_MM + (len(in_lines(line.text, room_mm, _BODY_MM)) - 1) * _LINE_MM
