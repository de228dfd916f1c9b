"""The setting-out template on paper: the underside, the top for the screw blocks, and every place in numbers."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final, Literal

from carwright.draw.bars import Correction
from carwright.draw.blocks import Block, Columns, Hold, Note, Page, Paper, Picture, Table
from carwright.draw.geartable import from_centre_line, from_mid_car
from carwright.draw.heads import page, plan_shape
from carwright.draw.pdf import field_mm
from carwright.draw.placed import gear_pieces, words_of
from carwright.draw.settingout import member_of, set_out_on_top, set_out_under, setting_out
from carwright.draw.strokes import bounds, ink
from carwright.draw.templatepages import laid, match_note
from carwright.pieces import Piece
from carwright.plan.model import Plan

__all__ = ["setting_pages"]

_WORDS_MM: Final = 46.0
"""Room for the words around the drawings: how to use them, the table's head, the hold."""

_ROW_MM: Final = 4.7
"""Of a table."""


def setting_pages(plan: Plan, paper: Paper, correction: Correction) -> list[Page]:
    """Return the sheets on which everything that is glued to the floor is set out; none where nothing is."""
    under, top = set_out_under(plan), set_out_on_top(plan)
    if not under and not top:
        return []
    shape = plan_shape(plan)
    blocks: list[Block] = [*_tables(plan), _LEFT, _HOLD]
    faces = [face for face, pieces in ((False, under), (True, top)) if pieces]
    drawings = [setting_out(plan, shape, top=face) for face in faces]
    boxes = [bounds(ink(each)) for each in drawings]
    wide, high = field_mm(paper)
    tall = sum(box.height_mm + 5.0 for box in boxes) * correction.y + _WORDS_MM + _ROW_MM * _longest(blocks)
    if max(box.width_mm for box in boxes) * correction.x + 1.0 <= wide and tall <= high:
        inside: list[Block] = []
        for face, drawing in zip(faces, drawings, strict=True):
            inside += [_how(face), Picture(drawing, True)]
        return [page(plan, "Setting-out template, true size", [*inside, *blocks])]
    pages: list[Page] = []
    for face in faces:
        make = partial(setting_out, plan, shape, top=face)
        after = blocks if face == faces[0] else [_HOLD]
        landscape, pictures = laid(make, paper, correction, 30.0)
        for count, picture in enumerate(pictures):
            part = f", part {count + 1} of {len(pictures)}" if len(pictures) > 1 else ""
            extra: list[Block] = [match_note(plan)] if len(pictures) > 1 else []
            last = count == len(pictures) - 1
            title = "Setting-out template of the floor's top" if face else "Setting-out template"
            mine = [_how(face), picture, *extra, *(after if last else [_HOLD])]
            pages.append(page(plan, f"{title}, true size{part}", mine, landscape=landscape))
    return pages


_LEFT = Note(
    "Places of their middles. Left and right as one stands in the car facing end A: up from below, down from above."
)
_HOLD = Hold("Set nothing out from this page until all four bars measure true.")


def _how(top: bool) -> Note:
    if top:
        return Note(
            "From above, to be stuck on top of the floor, end B to end B: the screw blocks, dashed on the drawing from "
            "below."
        )
    return Note(
        "From below, to be stuck on the underside, end B to end B. Prick the corners lightly, take the paper off, join "
        "them with a sharp pencil. Bold numbers: webs of crossbearers; light: of crossties. Brake gear: where it hangs."
    )


def _longest(blocks: Sequence[Block]) -> int:
    rows = [0]
    for block in blocks:
        if isinstance(block, Columns):
            rows += [len(each.rows) for side in (block.left, block.right) for each in side if isinstance(each, Table)]
        elif isinstance(block, Table):
            rows.append(len(block.rows))
    return max(rows)


def _tables(plan: Plan) -> list[Block]:
    """Return the places along the car, and beside them those that need a place across it too."""
    units = plan.car.info.units
    flanges = {piece.name: piece for piece in plan.pieces}
    across, beside = [], []
    gear = {piece.name for piece in gear_pieces(plan)}
    for piece in set_out_under(plan):
        if member_of(piece)[0]:
            stands = flanges.get(f"{piece.name}_flange", piece)  # a member's flange stands about its middle
            across.append((words_of(piece), from_mid_car(stands, units)))
        elif piece.name.startswith("bolster"):
            across.append((words_of(piece), from_mid_car(piece, units)))
        elif piece.name in gear or not piece.name.startswith("center_sill"):
            beside.append(_row(piece, units))
    beside += [_row(piece, units) for piece in set_out_on_top(plan)]
    first = Table(("Across the floor", "From mid-car"), tuple(across), (0.0, 26.0), (False, True))
    heads = ("At one place", "From mid-car", "Centre line")
    second = Table(heads, tuple(beside), (0.0, 24.0, 22.0), (False, True, True))
    if across and beside:
        return [Columns((first,), (second,), 0.42)]
    return [first] if across else [second] if beside else []


def _row(piece: Piece, units: Literal["in", "mm"]) -> tuple[str, str, str]:
    return words_of(piece), from_mid_car(piece, units), from_centre_line(piece, units)
