"""The car unfolded, act by act: what lies under tape, what gets the paint, and what is bare.

One side in the middle, the top above it and the underframe beneath, an end at each hand, end B to the right; the other
side is like the one shown. Sizes are the plan's. Surfaces that such a picture has no place for (details, trucks) stand
beneath it as a small box each. Everything is told in words as well: tape and tone only repeat them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from carwright.draw.glyphs import CAP_HEIGHT, shortened, width_mm
from carwright.draw.heads import SCALES, fits, plan_shape
from carwright.draw.model import LETTER_MM, XY, Drawing, Group, Hatch, Mark, Polyline, Text
from carwright.draw.outline import rectangle
from carwright.draw.placed import from_below, on_top, shadows
from carwright.draw.strokes import bounds, ink
from carwright.finish.covering import Covering
from carwright.finish.surfaces import outside_of, spoken_of, surfaces_told
from carwright.plan.finishwords import numbers_told
from carwright.plan.model import Plan
from carwright.reference import practice_value

__all__ = [
    "MASKED",
    "SPRAYED",
    "covering_title",
    "covering_view",
]

MASKED: Final = "masked"
SPRAYED: Final = "sprayed"
"""Words behind a surface's name in the title of its marks; one that is neither has what it wears, or "bare"."""

_MOST: Final = 2.0
"""The largest scale that is chosen."""

_GAP_MM: Final = 5.0
_MOST_BENEATH: Final = 3
"""Lines under an end."""
_LINE_MM: Final = 3.7
_SWATCH_MM: Final = (6.0, 4.0)
_ROW_MM: Final = 6.0


@dataclass(frozen=True, slots=True)
class _Region:
    """A rectangle of the unfolded car, model mm, and the surface that it is part of."""

    surface: str
    left: float
    low: float
    right: float
    high: float
    label: bool = True
    beneath: bool = False  # the label stands beneath it, in lines


def _corners(region: _Region) -> tuple[XY, ...]:
    return rectangle(region.left, region.low, region.right, region.high)


def covering_title(covering: Covering) -> str:
    """Return what a drawing is called: the acts, the paint and where it goes."""
    told = numbers_told(covering.acts)
    where = "everything" if covering.everywhere else surfaces_told(covering.sprayed)
    what = f"{covering.colour} on {where}" if covering.sprayed else f"tape on {surfaces_told(covering.masked)}"
    return f"{told[:1].upper()}{told[1:]}: {what}"


def covering_view(
    plan: Plan,
    covering: Covering,
    named: Sequence[str],
    *,
    width_mm: float = 170.0,
    height_mm: float = 120.0,
    alone: bool = True,
    scale: float | None = None,
) -> Drawing:
    """Return the unfolded car during some acts, at the largest whole-number scale that fits, or at one that is given.

    Args:
        plan: the car's.
        covering: what is masked and sprayed.
        named: every surface that the scheme names.
        width_mm: room on paper.
        height_mm: likewise.
        alone: it stands by itself, so that title and legend are drawn with it.
        scale: the scale that it has, whatever room there is.
    """
    if scale is not None:
        return _drawn(plan, covering, named, scale, alone=alone)
    for step in (each for each in SCALES if each <= _MOST):
        made = _drawn(plan, covering, named, step, alone=alone)
        if fits(made, width_mm, height_mm):
            return made
    return _drawn(plan, covering, named, SCALES[-1], alone=alone)


def _drawn(plan: Plan, covering: Covering, named: Sequence[str], scale: float, *, alone: bool) -> Drawing:
    regions, extra = _unfolded(plan, named, scale)
    marks: list[Mark] = []
    door = next((region for region in regions if region.surface == "doors"), None)
    for region in regions:
        marks.append(_toned(region, covering, named, around=door if region.surface == "sides" else None))
    marks += _underneath(plan, regions, covering, named)
    for region in regions:
        if region.label:
            bold = spoken_of(region.surface, named) in covering.sprayed
            marks += _label(region, _state(region.surface, covering, named), scale, split=door is not None, bold=bold)
    low = bounds(ink(Drawing("", "", "", tuple(marks), scale))).bottom_mm / scale
    left = min(region.left for region in regions)
    for surface in extra:
        low -= _ROW_MM / scale
        box = _Region(surface, left, low, left + _SWATCH_MM[0] / scale, low + _SWATCH_MM[1] / scale)
        marks.append(_toned(box, covering, named))
        words = f"{surface}: {_state(surface, covering, named)}"
        marks.append(_beside(box, words, scale))
    title = covering_title(covering)
    if alone:
        marks += _legend(left, low - 2.0 / scale, scale)
        top = bounds(ink(Drawing("", "", "", tuple(marks), scale))).top_mm
        marks.append(Text(XY(left, (top + 3.0) / scale), title, size_mm=3.8, bold=True, layer="text"))
    masked = f"Under tape: {surfaces_told(covering.masked)}." if covering.masked else "Nothing is under tape."
    where = surfaces_told(covering.sprayed) if covering.sprayed else "nothing"
    alt = f"The car unfolded, {title[:1].lower()}{title[1:]}. {masked} Sprayed: {where}."
    return Drawing(f"finish-{covering.acts[0]:02}", title, alt, tuple(marks), scale)


def _unfolded(plan: Plan, named: Sequence[str], scale: float) -> tuple[list[_Region], list[str]]:
    """Return the rectangles of the unfolded car, and what is named and has none."""
    shape = plan_shape(plan)
    half, wide, tall = shape.length.mm / 2, shape.width.mm, shape.height.mm
    gap = _GAP_MM / scale
    flat = tall * scale < LETTER_MM + 1.5
    rise = gap if flat else gap / 2
    surfaces = outside_of(plan.kind)
    top = next(each for each in surfaces if each in ("roof", "deck", "inside"))
    regions = [
        _Region("sides", -half, 0.0, half, tall, label=not flat, beneath=False),
        _Region("ends", -half - gap - wide, 0.0, -half - gap, tall, beneath=True),
        _Region("ends", half + gap, 0.0, half + gap + wide, tall, beneath=True),
        _Region("underframe", -half, -rise - wide, half, -rise),
    ]
    over = tall + rise
    if top == "inside":
        edge_x = (shape.length.mm - shape.inside_length.mm) / 2
        edge_y = (wide - shape.inside_width.mm) / 2
        regions.append(_Region("inside", -half + edge_x, over + edge_y, half - edge_x, over + wide - edge_y))
    else:
        regions.append(_Region(top, -half, over, half, over + wide))
    if flat:
        regions[0] = _Region("sides", -half, 0.0, half, tall, beneath=True)
    if "doors" in named:
        door = shape.length.mm * practice_value("door_width").value / 200.0
        regions.append(_Region("doors", -door, 0.0, door, tall * practice_value("door_height").value / 100.0))
    there = {spoken_of(region.surface, named) for region in regions}
    return regions, [each for each in named if each not in there]


def _state(surface: str, covering: Covering, named: Sequence[str]) -> str:
    """Return what is told of a surface: masked, the paint that it gets, what it wears, or bare."""
    word = spoken_of(surface, named)
    if word in covering.masked:
        return MASKED
    if word in covering.sprayed:
        return covering.colour
    return covering.worn.get(word, "bare")


def _toned(region: _Region, covering: Covering, named: Sequence[str], *, around: _Region | None = None) -> Mark:
    """Return a rectangle under tape, toned, or plain; its part is the scheme's word for it.

    ``around`` is left open in it: what is drawn there is no part of it.
    """
    corners = _corners(region)
    word = spoken_of(region.surface, named)
    state = _state(region.surface, covering, named)
    told = f"{SPRAYED}, {state}" if word in covering.sprayed else state
    marks: list[Mark] = []
    if state == MASKED:
        holes = () if around is None else (_corners(around),)
        marks.append(Hatch(corners, "single_back", holes, layer="hatch"))
    marks.append(Polyline(corners, fill="band" if word in covering.sprayed else "paper", layer="band"))
    marks.append(Polyline(corners, layer="outline"))
    name = word or region.surface
    return Group(tuple(marks), part=name, title=f"{name[:1].upper()}{name[1:]}: {told}")


def _underneath(plan: Plan, regions: Sequence[_Region], covering: Covering, named: Sequence[str]) -> Iterator[Mark]:
    """Yield what hangs beneath the floor, in thin lines, where the underframe is not under tape."""
    frame = next(each for each in regions if each.surface == "underframe")
    if _state("underframe", covering, named) == MASKED:
        return
    middle = (frame.low + frame.high) / 2
    webs = tuple(
        piece
        for piece in plan.pieces
        if piece.name.startswith(_SHOWN_BENEATH) and piece.pose.z_mm is not None and not on_top(piece)
    )
    for shadow in shadows(webs, from_below, lambda at: -at.z_mm):
        moved = tuple(XY(at.x_mm, at.y_mm + middle) for at in shadow.outline)
        yield Polyline(moved, shadow.closed, layer="thin", part=shadow.piece.name)


_SHOWN_BENEATH: Final = ("center_sill", "crossbearer", "bolster", "end_sill")


def _label(region: _Region, state: str, scale: float, *, split: bool, bold: bool) -> list[Mark]:
    """Return a surface's name and what is told of it: on one line where that fits, else in lines, inside or beneath.

    Where doors ``split`` the side, its words stand in the part toward A.
    """
    room = (region.right - region.left) * scale - 1.0
    middle = (region.left + region.right) / 2
    if split and region.surface == "sides" and not region.beneath:
        share = (100.0 - practice_value("door_width").value) / 200.0
        middle, room = region.left + (region.right - region.left) * share / 2, room * share
    lines = _lines(region, state, room, (region.high - region.low) * scale, bold=bold)
    drop = CAP_HEIGHT * LETTER_MM / 2
    if region.beneath:
        start = region.low * scale - 1.2 - 2 * drop
    else:
        start = (region.low + region.high) * scale / 2 - drop + _LINE_MM * (len(lines) - 1) / 2
    return [
        Text(
            XY(middle, (start - place * _LINE_MM) / scale),
            words,
            anchor="middle",
            bold=bold,
            layer="text",
            ground=not region.beneath,
            toned=bold,
        )
        for place, words in enumerate(lines)
    ]


def _lines(region: _Region, state: str, room: float, tall: float, *, bold: bool) -> list[str]:
    """Return the words of a label: on one line, in as many as there are words, or without the surface's own name."""
    line = f"{region.surface}: {state}"
    if width_mm(line, LETTER_MM, bold=bold) <= room:
        return [line]
    most = _MOST_BENEATH if region.beneath else max(1, int(tall / _LINE_MM))
    room += _GAP_MM if region.beneath else 0.0
    words = state.split()
    for lines in ([region.surface, *words], words, [state]):
        if len(lines) <= most:
            break
    return [shortened(each, room, LETTER_MM, bold=bold) for each in lines]


def _beside(box: _Region, words: str, scale: float) -> Text:
    middle = (box.low + box.high) / 2 - CAP_HEIGHT * LETTER_MM / 2 / scale
    return Text(XY(box.right + 2.0 / scale, middle), words, layer="text")


def _legend(left: float, low: float, scale: float) -> Iterator[Mark]:
    """Yield the three tones with their words, on one line."""
    wide, high = _SWATCH_MM[0] / scale, _SWATCH_MM[1] / scale
    foot = low - _ROW_MM / scale
    at = left
    for words in ("under tape", "gets the paint", "open, gets nothing"):
        box = _Region("", at, foot, at + wide, foot + high)
        corners = _corners(box)
        if words == "under tape":
            yield Hatch(corners, "single_back", layer="hatch")
        yield Polyline(corners, fill="band" if words == "gets the paint" else "paper", layer="band")
        yield Polyline(corners, layer="outline")
        yield _beside(box, words, scale)
        at = box.right + (width_mm(words, LETTER_MM) + 7.0) / scale
