"""Sections across the car, seen from end B: at the bolster of end B, and at the crossbearer nearest to it.

What the plane cuts is hatched, one layer one way and the next the other; what stands behind it is drawn thin, the truck
in phantom lines. Heights are ordinates from the rail top, each with the face that it belongs to.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from carwright.draw.carshape import CarShape
from carwright.draw.cuts import Cut, cuts_at
from carwright.draw.labels import number, spread
from carwright.draw.model import (
    XY,
    Dimension,
    Drawing,
    Group,
    Hatch,
    Layer,
    Line,
    Mark,
    Ordinate,
    Pattern,
    Polyline,
    Text,
)
from carwright.draw.outline import rectangle
from carwright.draw.placed import corners_of, from_end, shadows, underframe_of, words_of
from carwright.draw.shift import shifted
from carwright.lengths import number_in
from carwright.pieces import Piece
from carwright.plan.model import Plan

__all__ = ["SECTION_LETTERS", "Where", "section", "section_places", "sections"]

Where = Literal["bolster", "crossbearer"]
"""What a section goes through."""

SECTION_LETTERS: Final[dict[Where, str]] = {"bolster": "X", "crossbearer": "Y"}
"""Letters of the cutting planes; no measurement has them."""

_GAP_MM: Final = 4.2
_NOT_BEHIND: Final = ("coupler_box", "floor", "block_", "screw_block")


@dataclass(frozen=True, slots=True)
class _Plane:
    where: Where
    x_mm: float
    piece: Piece


def section_places(plan: Plan) -> dict[Where, _Plane]:
    """Return the planes, as far as there is something to cut: bolster B, and the crossbearer nearest to it."""
    found: dict[Where, _Plane] = {}
    standing = [piece for piece in plan.pieces if piece.pose.z_mm is not None]
    bolster = next((each for each in standing if each.name == "bolster_b"), None)
    if bolster is not None:
        found["bolster"] = _Plane("bolster", bolster.pose.x_mm.value, bolster)
    bearers = [each for each in standing if each.name.startswith("crossbearer_") and not each.name.endswith("_flange")]
    if not bearers:
        bearers = [each for each in standing if each.name.startswith("crosstie_") and not each.name.endswith("_flange")]
    if bearers:
        last = min(bearers, key=lambda each: each.pose.x_mm.value)
        thick = last.thickness_mm.value if last.thickness_mm is not None else 0.0
        found["crossbearer"] = _Plane("crossbearer", last.pose.x_mm.value + thick / 2, last)
    return found


def sections(plan: Plan, shape: CarShape, *, scale: float = 3.0) -> Drawing:
    """Return both sections, one above the other; a sentence where there is nothing to cut."""
    places = section_places(plan)
    marks: list[Mark] = []
    top = 0.0
    for where in ("crossbearer", "bolster"):
        plane = places.get(where)
        if plane is None:
            continue
        drawn, low, high = _section(plan, shape, plane, scale)
        marks += [shifted(mark, 0.0, top - low) for mark in drawn]
        top += high - low + 10.0 / scale
    if not marks:
        marks.append(Text(XY(0.0, 0.0), "Nothing to cut yet: no piece has its height.", layer="text"))
    alt = "The car cut across at bolster B and at a crossbearer, seen from end B, with heights above the rail top."
    return Drawing("section", "Sections", alt, tuple(marks), scale)


def section(plan: Plan, shape: CarShape, where: Where, *, scale: float = 3.0) -> Drawing | None:
    """Return one section, or None where there is nothing to cut."""
    plane = section_places(plan).get(where)
    if plane is None:
        return None
    marks, _, _ = _section(plan, shape, plane, scale)
    alt = f"The car cut across at {words_of(plane.piece)}, seen from end B, with heights above the rail top."
    return Drawing(f"section-{where}", f"Section at {words_of(plane.piece)}", alt, tuple(marks), scale)


def _section(plan: Plan, shape: CarShape, plane: _Plane, scale: float) -> tuple[list[Mark], float, float]:
    """Return the marks of one section about the rail's middle, and its lowest and highest place, in mm."""
    cuts = cuts_at(underframe_of(plan), plan.holes, plane.x_mm)
    standing = [cut.high_mm for cut in cuts] + [_top(piece) for piece in _pieces_behind(plan, plane.x_mm)]
    top = max(standing) + 5.0 / scale
    half = shape.width.mm / 2
    marks: list[Mark] = [*_rails(shape), *_body(plan, shape, cuts, top, scale)]
    if plane.where == "bolster":
        marks += _truck(plan, shape)
    marks += _behind(plan, plane.x_mm)
    marks += [_cut_mark(cut) for cut in cuts]
    marks.append(Line(XY(0.0, -1.0 / scale), XY(0.0, top + 2.0 / scale), layer="centre", title="Centre line"))
    marks += _heights(plan, shape, cuts, half + 16.0 / scale, scale)
    marks += _widths(plan, plane, half, scale)
    letter = SECTION_LETTERS[plane.where]
    name = f"Section {letter} to {letter}, at {words_of(plane.piece).lower().replace(' b', ' B')}"
    title = Text(XY(-half - 5.5 / scale, top + 5.0 / scale), name, size_mm=3.6, bold=True, layer="text")
    marks.append(title)
    return marks, -14.0 / scale, top + 9.0 / scale


def _rails(shape: CarShape) -> list[Mark]:
    gauge, rail = shape.gauge_mm / 2, 0.07 * shape.gauge_mm
    reach = shape.width.mm / 2 + 1.0
    marks: list[Mark] = [Line(XY(-reach, 0.0), XY(reach, 0.0), layer="thin", title="Rail top")]
    for side in (-1.0, 1.0):
        near, far = sorted((side * gauge, side * (gauge + rail)))
        marks.append(Polyline(rectangle(near, -0.9 * rail, far, 0.0), True, "ink", layer="thin", title="Rail"))
    return marks


def _body(plan: Plan, shape: CarShape, cuts: tuple[Cut, ...], top: float, scale: float) -> list[Mark]:
    """Return the body's sides, cut, up to a break, with the ledge where it bears on the floor.

    The ledge's face is drawn full, how far it reaches in and how thick it is dashed: these are not measured.
    """
    body = plan.car.body
    if body.floor == "deck" or body.mount in ("underside", "saddles"):
        return []
    sill, outer, inner = shape.sill.mm, shape.width.mm / 2, shape.inside_width.mm / 2
    floor = [cut for cut in cuts if cut.piece.name == "floor"]
    over = body.ledge == "over"
    face = sill + shape.lip.mm
    if floor and shape.lip.known:
        face = max(cut.high_mm for cut in floor) if over else min(cut.low_mm for cut in floor)
        sill = face - shape.lip.mm
    known = shape.width.known and shape.inside_width.known
    marks: list[Mark] = []
    for side in (-1.0, 1.0):
        near, far = sorted((side * inner, side * outer))
        wall = rectangle(near, sill, far, top)
        if known:
            marks.append(Hatch(wall, "single_back", layer="hatch", part="body", title="Body side, cut"))
        ends = (XY(side * inner, top), XY(side * inner, sill), XY(side * outer, sill), XY(side * outer, top))
        marks.append(Polyline(ends, False, layer="outline" if known else "wanting", part="body", title="Body side"))
        past = 1.2 / scale
        marks.append(Line(XY(near - past, top), XY(far + past, top), layer="thin", title="Cut off here"))
        if shape.lip.known:
            wall_mm = outer - inner
            reach, deep = side * (inner - 0.8 * wall_mm), face + (0.8 * wall_mm if over else -0.8 * wall_mm)
            edge = (XY(reach, face), XY(reach, deep), XY(side * inner, deep))
            marks.append(Polyline(edge, False, layer="wanting", part="ledge", title="Ledge, reach not measured"))
            marks.append(Line(XY(side * inner, face), XY(reach, face), layer="outline", part="ledge", title="Ledge"))
    if shape.lip.known:
        text = number(body.lip_depth, plan.car.info.units)
        low, high = XY(-outer, sill), XY(-inner, face)
        line = -outer - 9.0 / scale
        marks.append(
            Dimension(low, high, "y", line, text, letter="E", layer="dimension", part="ledge", key="body.lip_depth")
        )
    return marks


def _truck(plan: Plan, shape: CarShape) -> list[Mark]:
    """Return truck B for its place: side frames up to their measured height, dashed at a usual one."""
    gauge, wheel = shape.gauge_mm / 2, shape.wheel.b.mm
    measured = plan.car.trucks.b.frame_top
    known = measured is not None and shape.seat.b.known and shape.truck_width.b.known
    seat, wide = shape.seat.b.mm, shape.truck_width.b.mm / 2
    wheels: list[Mark] = []
    for side in (-1.0, 1.0):
        near, far = sorted((side * (gauge - 0.03 * shape.gauge_mm), side * (gauge + 0.12 * shape.gauge_mm)))
        wheels.append(Polyline(rectangle(near, 0.0, far, wheel), layer="phantom", title="Wheel"))
        near, far = sorted((side * wide, side * (wide - 0.09 * shape.truck_width.b.mm)))
        frame_top = shape.seat.b.mm + measured.value if measured is not None else 0.72 * wheel
        frame = rectangle(near, 0.28 * wheel, far, max(frame_top, 0.4 * wheel))
        wheels.append(Polyline(frame, layer="phantom" if known else "wanting", title="Side frame"))
    half = gauge - 0.08 * shape.gauge_mm
    wheels.append(Polyline(rectangle(-half, 0.4 * seat, half, seat), layer="phantom", title="Truck bolster"))
    return [Group(tuple(wheels), part="truck_b", title="Truck B")]


def _pieces_behind(plan: Plan, x_mm: float) -> tuple[Piece, ...]:
    return tuple(
        piece
        for piece in underframe_of(plan)
        if piece.pose.x_mm.value > x_mm and piece.pose.z_mm is not None and not piece.name.startswith(_NOT_BEHIND)
    )


def _top(piece: Piece) -> float:
    return max(at.z_mm for at in corners_of(piece, piece.pose))


def _behind(plan: Plan, x_mm: float) -> list[Mark]:
    """Return what stands behind the plane, toward A, farther things first."""
    marks: list[Mark] = []
    for shadow in shadows(_pieces_behind(plan, x_mm), from_end, lambda at: -at.x_mm):
        if shadow.closed:
            line = Polyline(shadow.outline, True, "paper", layer="thin")
            marks.append(Group((line,), part=shadow.piece.name, title=words_of(shadow.piece)))
    return marks


def _cut_mark(cut: Cut) -> Group:
    piece = cut.piece
    waits = bool(piece.needs)
    layer: Layer = "wanting" if waits else "outline" if piece.made or piece.name == "floor" else "thin"
    title = words_of(piece) + (f", layer {cut.layer + 1}" if len(piece.layers_mm) > 1 else "")
    marks: list[Mark] = []
    if cut.wire:
        return Group((Polyline(cut.outline, True, "ink", layer="thin"),), part=piece.name, title=title)
    if not waits:
        marks.append(Polyline(cut.outline, True, "paper", layer="hatch"))
        marks.append(Hatch(cut.outline, _pattern(cut), cut.holes, layer="hatch"))
    marks.append(Polyline(cut.outline, layer=layer))
    marks += [Polyline(hole, layer=layer) for hole in cut.holes]
    return Group(tuple(marks), part=piece.name, title=title)


def _pattern(cut: Cut) -> Pattern:
    if not cut.piece.made and cut.piece.name != "floor":
        return "dots"
    if "metal" in cut.piece.material or "brass" in cut.piece.material:
        return "paired"
    turn = cut.layer + (1 if cut.piece.name.startswith(("bolster", "center_sill", "crosstie", "crossbearer")) else 0)
    return "single" if turn % 2 == 0 else "single_back"


_FACES: Final = (
    ("screw_block", "", "top of the screw block"),
    ("floor", "floor underside", "floor top"),
    ("bolster", "bolster underside", ""),
    ("center_sill", "under the sill", ""),
    ("crossbearer", "under the crossbearer", ""),
    ("crosstie", "under the crosstie", ""),
    ("brake_lever", "under the brake lever", ""),
)
"""Beginning of a piece's name, and what its lowest and its highest face are called where they are told."""


def _heights(plan: Plan, shape: CarShape, cuts: tuple[Cut, ...], line: float, scale: float) -> list[Mark]:
    """Return the heights of the faces that matter, one ordinate for each level, none touching."""
    units = plan.car.info.units
    told: dict[str, tuple[float, str]] = {"rail top": (0.0, "0")}

    def tell(height: float, words: str) -> None:
        told[words] = (height, number_in(height, units))

    for start, low, high in _FACES:
        mine = [cut for cut in cuts if cut.piece.name.startswith(start) and not cut.wire]
        if mine and low:
            tell(min(cut.low_mm for cut in mine), low)
        if mine and high:
            tell(max(cut.high_mm for cut in mine), high)
    floor = [cut for cut in cuts if cut.piece.name == "floor"]
    for layer in range(max((cut.layer for cut in floor), default=0)):
        tell(max(cut.high_mm for cut in floor if cut.layer == layer), f"floor layer {layer + 1}")
    if shape.sill.known and plan.car.body.mount == "drop-in":
        told["bottom of the side sill"] = (shape.sill.mm, number(plan.car.body.sill_height, units))
    alike: dict[str, tuple[float, list[str]]] = {}
    for words, (height, text) in told.items():
        alike.setdefault(text, (height, []))[1].append(words)
    rows = sorted(
        (height, " and ".join(words).replace(" and under", " and"), text) for text, (height, words) in alike.items()
    )
    spots = spread([height * scale for height, _, _ in rows], _GAP_MM)
    foot = shape.width.mm / 2 + 1.5 / scale
    return [
        Ordinate(XY(foot, height), XY(line, spot / scale), "y", text, words, layer="dimension")
        for (height, words, text), spot in zip(rows, spots, strict=True)
    ]


def _widths(plan: Plan, plane: _Plane, half: float, scale: float) -> list[Mark]:
    units = plan.car.info.units
    low = -5.0 / scale
    marks: list[Mark] = []
    floor = plan.floor.width
    if floor is not None:
        ends = XY(-floor.value / 2, 0.0), XY(floor.value / 2, 0.0)
        marks.append(Dimension(*ends, "x", low - 3.0 / scale, number(floor, units), layer="dimension", part="floor"))
    sill = next((each for each in plan.pieces if each.name in ("center_sill_bottom", "center_sill_top")), None)
    if plane.where == "crossbearer" and sill is not None:
        ends = XY(-sill.width_mm.value / 2, 0.0), XY(sill.width_mm.value / 2, 0.0)
        text = number(sill.width_mm, units)
        marks.append(Dimension(*ends, "x", low + 1.0 / scale, text, layer="dimension", part=sill.name))
    return marks
