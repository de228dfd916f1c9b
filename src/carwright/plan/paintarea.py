"""How large each painted surface of a car is, from the body's measurements and the plan's pieces.

Sides, ends, roof and deck are rectangles with something for their relief. The underframe is the floor's underside and
what hangs from it: a plate that lies adds its edges, one that stands both its faces, a rod or a wire its round.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from carwright.car.model import ENDS
from carwright.car.scheme import REST
from carwright.finish.surfaces import outside_of, spoken_of
from carwright.pieces import Piece, said_piece
from carwright.plan.model import Plan
from carwright.reference import practice_value
from carwright.working import Working, derived

__all__ = ["SurfaceArea", "paint_areas"]

_STANDING_DEG: Final = 45.0
"""A plate turned further than this about the car's length stands."""
_ABOVE: Final = ("screw_block", "retention_block", "floor")
_IRONS: Final = ("grab_iron", "sill_step")


@dataclass(frozen=True, slots=True)
class SurfaceArea:
    """How large a surface is.

    Args:
        surface: the scheme's word for it.
        area: all of it on the car, mm2; None where it cannot be told.
        needs: keys of the measurements that are missing.
    """

    surface: str
    area: Working | None
    needs: tuple[str, ...] = ()


def paint_areas(plan: Plan, named: Sequence[str]) -> tuple[SurfaceArea, ...]:
    """Return the area of each surface that a scheme names.

    Args:
        plan: the car's.
        named: the scheme's words, "rest" among them. Doors that are not named are part of the sides; trucks are no part
            of the rest.
    """
    return tuple(_rest(plan, named) if each == REST else _area(plan, each, named) for each in named)


def _rest(plan: Plan, named: Sequence[str]) -> SurfaceArea:
    """Return what of the car is the rest; details that the plan does not have are left out."""
    parts = [
        _area(plan, each, named)
        for each in outside_of(plan.kind)
        if spoken_of(each, named) == REST and (each != "details" or tuple(_rounds(plan.pieces, _IRONS)))
    ]
    known = {f"s{place}": each.area for place, each in enumerate(parts, 1) if each.area is not None}
    needs = tuple(dict.fromkeys(key for each in parts for key in each.needs))
    if needs or not known:
        return SurfaceArea(REST, None, needs)
    return SurfaceArea(REST, derived("the rest of the car", " + ".join(known), known, "mm2"))


def _area(plan: Plan, surface: str, named: Sequence[str]) -> SurfaceArea:
    if surface == "underframe":
        return _underframe(plan)
    if surface == "details":
        irons = tuple(_rounds(plan.pieces, _IRONS))
        if not irons:
            return SurfaceArea(surface, None, ("body.grab[]",))
        inputs = {f"g{place}": each for place, each in enumerate(irons, 1)}
        return SurfaceArea(surface, derived("grab irons and steps", " + ".join(inputs), inputs, "mm2"))
    if surface == "trucks":
        return _trucks(plan)
    if surface == "inside" or (surface == "deck" and plan.kind != "flat"):
        return _inside(plan, surface)
    return _outside(plan, surface, named)


def _told(
    surface: str,
    name: str,
    formula: str,
    inputs: Mapping[str, Working | None],
    keys: Mapping[str, str],
    note: str = "",
) -> SurfaceArea:
    """Return an area from readings, or the keys of those that are missing."""
    known = {symbol: each for symbol, each in inputs.items() if each is not None}
    if len(known) < len(inputs):
        return SurfaceArea(surface, None, tuple(dict.fromkeys(keys[each] for each in inputs if each not in known)))
    return SurfaceArea(surface, derived(name, formula, known, "mm2", note=note))


_KEYS: Final = {"A": "body.length", "B": "body.width", "G": "body.height"}


def _outside(plan: Plan, surface: str, named: Sequence[str]) -> SurfaceArea:
    body = plan.car.body
    relief, wide, high = (practice_value(each) for each in ("relief", "door_width", "door_height"))
    more = "*(1 + r/100)"
    if surface == "doors":
        inputs = {"A": body.length, "p": wide, "G": body.height, "q": high, "r": relief}
        return _told(surface, "doors", f"2*A*p/100*G*q/100{more}", inputs, _KEYS, "of both sides")
    if surface == "sides":
        inputs = {"A": body.length, "G": body.height, "r": relief}
        if "doors" in named:
            inputs |= {"p": wide, "q": high}
            formula = f"2*A*G*(1 - p/100*q/100){more}"
            return _told(surface, "both sides without their doors", formula, inputs, _KEYS)
        return _told(surface, "both sides", f"2*A*G{more}", inputs, _KEYS)
    if surface == "ends":
        inputs = {"B": body.width, "G": body.height, "r": relief}
        return _told(surface, "both ends", f"2*B*G{more}", inputs, _KEYS)
    inputs = {"A": body.length, "B": body.width, "r": relief}
    return _told(surface, surface, f"A*B{more}", inputs, _KEYS)


def _inside(plan: Plan, surface: str) -> SurfaceArea:
    """Return the floor from above and, for the inside, the walls above it."""
    body, floor = plan.car.body, plan.floor
    size = {"l": floor.length, "w": floor.width}
    keys = {"l": "body.inside_length", "w": "body.inside_width", "G": "body.height", "I": "body.lip_depth"}
    if surface == "deck":
        return _told(surface, "deck", "l*w", size, keys)
    inputs = {**size, "G": body.height, "I": body.lip_depth}
    depth = "(G - I)"
    if body.ledge == "under":
        inputs["t"] = floor.thickness
        depth = "(G - I - t)"
    keys["t"] = "body.floor_thickness"
    note = "floor and the four walls above it"
    return _told(surface, "inside", f"l*w + 2*(l + w)*{depth}", inputs, keys, note)


def _trucks(plan: Plan) -> SurfaceArea:
    """Return both trucks, as plates as long as their wheels reach and as high: four faces on each."""
    inputs: dict[str, Working | None] = {}
    keys: dict[str, str] = {}
    terms = []
    for end in ENDS:
        truck = plan.car.trucks.at(end)
        base, wheel = f"b{end}", f"d{end}"
        inputs |= {base: truck.wheelbase, wheel: truck.wheel_diameter or truck.wheels}
        keys |= {base: "trucks.wheelbase", wheel: "trucks.wheel_diameter"}
        terms.append(f"4*({base} + {wheel})*{wheel}")
    note = "two side frames on each, both faces, as large as a plate round the wheels; wheels stay bare"
    return _told("trucks", "both trucks", " + ".join(terms), inputs, keys, note)


def _underframe(plan: Plan) -> SurfaceArea:
    floor, body = plan.floor, plan.car.body
    length, width = (floor.length or body.length), (floor.width or body.width)
    keys = {"l": "body.inside_length", "w": "body.inside_width"}
    hung = tuple(
        each
        for each in plan.pieces
        if each.made and each.quantity.value > 0 and not each.name.startswith((*_ABOVE, *_IRONS))
    )
    parts = {f"p{place}": each for place, each in enumerate((*_plates(hung), *_rounds(hung, ("",))), 1)}
    formula = " + ".join(("l*w", *parts))
    note = "the floor's underside and what hangs from it; faces that lie on one another are left out"
    return _told("underframe", "underframe", formula, {"l": length, "w": width, **parts}, keys, note)


def _plates(pieces: Sequence[Piece]) -> Iterator[Working]:
    """Yield what each plate or block adds to what it is glued to; no spray gets into a closed centre sill."""
    closed = any(piece.name.startswith("center_sill_bottom") for piece in pieces)
    for piece in pieces:
        if piece.form not in ("plate", "block") or piece.thickness_mm is None:
            continue
        times, inputs = _times(piece)
        inputs |= {"l": piece.length_mm, "w": piece.width_mm, "t": piece.thickness_mm}
        if abs(piece.pose.rx_deg.value) > _STANDING_DEG:
            # one long edge is glued and covers as much as the other shows: its two ends are left
            faces = "S" if closed and piece.name.startswith("center_sill_side") else "2*S"
            inputs = {"S": piece.area_mm2, **inputs}
            del inputs["l"]
            yield derived(f"faces of {said_piece(piece.name)}", f"{times}({faces} + 2*w*t)", inputs, "mm2")
        else:
            yield derived(f"edges of {said_piece(piece.name)}", f"{times}2*(l + w)*t", inputs, "mm2")


def _rounds(pieces: Sequence[Piece], starts: tuple[str, ...]) -> Iterator[Working]:
    """Yield the round of each rod and wire whose name begins so."""
    for piece in pieces:
        if piece.form not in ("rod", "wire") or not piece.name.startswith(starts):
            continue
        thick = piece.diameter_mm or piece.width_mm
        times, inputs = _times(piece)
        inputs |= {"d": thick, "l": piece.cut_length_mm or piece.length_mm}
        yield derived(f"round of {said_piece(piece.name)}", f"{times}pi*d*l", inputs, "mm2")


def _times(piece: Piece) -> tuple[str, dict[str, Working]]:
    return ("", {}) if piece.quantity.value == 1 else ("n*", {"n": piece.quantity})
