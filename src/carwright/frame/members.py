"""Crossbearers and crossties as halves of web and flange on both sides of the centre sill, and end sills.

A crossbearer's web is as deep as the sill beside it and tapers to the side; a crosstie's is of one depth. Both halves
are alike, so that one template serves: the right-hand one is the left-hand one turned end for end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from carwright.car.model import ENDS, Car, End, PieceChange
from carwright.frame.layout import Member, to_scale, usual
from carwright.frame.plates import (
    ZERO,
    Datum,
    Station,
    corner,
    flat_pose,
    piece_of,
    upright_across_pose,
)
from carwright.frame.sill import Sill
from carwright.frame.slopes import sloped
from carwright.pieces import Hole, Piece
from carwright.reference.anatomy import anatomy
from carwright.working import Working, derive

__all__ = ["Web", "bearer_along", "cross_pieces", "drilled", "end_sills", "tie_along", "webs_of"]


def bearer_along(car: Car) -> Working:
    """Return the length along the car of a crossbearer's flange, mm."""
    return to_scale("size of a crossbearer's flange along the car", anatomy("cross_member", "bearer-flange"), car)


def tie_along(car: Car) -> Working:
    """Return the length along the car of a crosstie's flange, mm."""
    return to_scale("size of a crosstie's flange along the car", anatomy("cross_member", "tie-flange"), car)


@dataclass(frozen=True, slots=True)
class Web:
    """The web of a cross member, one half.

    Args:
        member: whose.
        inner: its inner end from the centre line, mm.
        outer: its outer end, mm.
        deep: depth at the inner end, mm.
        shallow: depth at the outer end; the same working as ``deep`` where it does not taper.
        plate: its thickness, mm.
        flange: length of its flange along the car, mm.
        foot: lower face of a level flange, where it is that of the sill; None where it is ``deep`` and a plate more.
        hole: the train line's, or None.
    """

    member: Member
    inner: Working
    outer: Working
    deep: Working
    shallow: Working
    plate: Working
    flange: Working
    foot: Working | None = None
    hole: Hole | None = None

    @property
    def lowest_mm(self) -> float:
        """Return how far it hangs below the floor with its flange, mm, at the most."""
        return self.deep.value + self.plate.value

    def depth_at(self, y_mm: float) -> float:
        """Return how deep web and flange hang at a distance from the centre line, mm; 0 where they are not."""
        inner, outer = self.inner.value, self.outer.value
        if not inner - self.plate.value <= y_mm <= outer:
            return 0.0
        share = min(1.0, max(0.0, (y_mm - inner) / (outer - inner)))
        return self.deep.value + (self.shallow.value - self.deep.value) * share + 1.1 * self.plate.value


def webs_of(
    car: Car, members: tuple[Member, ...], sill: Sill, outer: Working, plate: Working, changes: dict[str, PieceChange]
) -> tuple[Web, ...]:
    """Return the webs of all cross members, from end A.

    Args:
        car: for its scale.
        members: where they stand.
        sill: they begin beside it.
        outer: where they end, from the centre line, mm.
        plate: thickness of web and flange, mm.
        changes: of pieces by name: a web's ``length`` is that of one half across the car, its ``width`` its depth.
    """
    at_sill = to_scale("depth of a crossbearer at the sill", anatomy("cross_member", "bearer-depth-center"), car)
    above: Working | None = None
    if sill.depth is not None:
        above = derive("depth of a crossbearer above the sill's lower plate", "D - t", D=sill.depth, t=plate)
        at_sill = min(at_sill, above, key=lambda each: each.value)
    at_side = to_scale("depth of a crossbearer at the side", anatomy("cross_member", "bearer-depth-side"), car)
    at_side = min(at_side, at_sill, key=lambda each: each.value)
    tie = to_scale("depth of a crosstie", anatomy("cross_member", "tie-depth"), car)
    if sill.depth is not None:
        tie = min(tie, at_sill, key=lambda each: each.value)
    found = []
    for member in members:
        change = changes.get(member.name)
        thick = change.thickness if change is not None and change.thickness is not None else plate
        deep, shallow = (at_sill, at_side) if member.heavy else (tie, tie)
        reach = outer
        if change is not None and change.width is not None:
            deep = change.width
            shallow = deep if not member.heavy else min(shallow, deep, key=lambda each: each.value)
        if change is not None and change.length is not None:
            reach = derive(f"outer end of {member.name}", "s + l", s=sill.half_width, l=change.length)
        flange = changes.get(f"{member.name}_flange")
        along = flange.length if flange is not None and flange.length is not None else member.along
        foot = sill.depth if deep is above and thick is plate else None
        found.append(Web(member, sill.half_width, reach, deep, shallow, thick, along, foot))
    return tuple(found)


def _halves(left: Working, right: Working) -> tuple[tuple[Literal["left", "right"], Working], ...]:
    return (("left", left), ("right", right))


def _tapers(web: Web) -> bool:
    return web.deep.value - web.shallow.value > 1e-6


def _web_piece(web: Web, datum: Datum) -> Piece:
    name = web.member.name
    length = derive(f"length of {name}", "b - a", b=web.outer, a=web.inner)
    y = derive(f"middle of {name}, left half", "(a + b)/2", a=web.inner, b=web.outer)
    other = derive(f"middle of {name}, right half", "-y", y=y)
    middle = derive(f"half the depth of {name}", "d/2", d=web.deep)
    poses = tuple(
        upright_across_pose(name, datum, web.member.at, at, middle, web.plate, side=side)
        for side, at in _halves(y, other)
    )
    outline = area = None
    if _tapers(web):
        given = {"L": length, "d": web.deep, "e": web.shallow}
        outline = (
            corner("L/2", "d/2 - e", **given),
            corner("L/2", "d/2", **given),
            corner("-L/2", "d/2", **given),
            corner("-L/2", "-d/2", **given),
        )
        area = derive(f"area of {name}", "L*(d + e)/2", "mm2", L=length, d=web.deep, e=web.shallow)
    return piece_of(
        name,
        thickness=web.plate,
        length=length,
        width=web.deep,
        outline=outline,
        area=area,
        poses=poses,
        holes=() if web.hole is None else (web.hole,),
    )


def _flange_piece(web: Web, datum: Datum) -> Piece:
    name = f"{web.member.name}_flange"
    at = web.member.at
    if _tapers(web):
        rise = derive(f"rise of {name}", "d - e", d=web.deep, e=web.shallow)
        slope = sloped(name, near=web.inner, far=web.outer, deep=web.deep, rise=rise, plate=web.plate)
        across, y, drop, turn = slope.length, slope.middle, slope.drop, slope.turn
        poses = (
            flat_pose(name, datum, at, y, drop, about_x=turn),
            flat_pose(
                name,
                datum,
                at,
                derive(f"middle of {name}, right half", "-y", y=y),
                drop,
                about_x=derive(f"slope of {name}, right half", "-r", "deg", r=turn),
            ),
        )
    else:
        across = derive(f"width of {name}", "b - a", b=web.outer, a=web.inner)
        y = derive(f"middle of {name}, left half", "(a + b)/2", a=web.inner, b=web.outer)
        drop = web.foot or derive(f"lower face of {name}", "d + t", d=web.deep, t=web.plate)
        poses = (
            flat_pose(name, datum, at, y, drop),
            flat_pose(name, datum, at, derive(f"middle of {name}, right half", "-y", y=y), drop),
        )
    return piece_of(name, thickness=web.plate, length=web.flange, width=across, poses=poses)


def cross_pieces(webs: tuple[Web, ...], datum: Datum, changes: dict[str, PieceChange]) -> tuple[Piece, ...]:
    """Return web and flange of each cross member.

    Args:
        webs: from ``webs_of``, with their holes.
        datum: the floor's underside.
        changes: by name; a flange may be dropped.
    """
    pieces: list[Piece] = []
    for web in webs:
        pieces.append(_web_piece(web, datum))
        flange = changes.get(f"{web.member.name}_flange")
        if flange is None or not flange.drop:
            pieces.append(_flange_piece(web, datum))
    return tuple(pieces)


def end_sills(car: Car, datum: Datum, length: Working, outer: Working, plate: Working) -> tuple[Piece, ...]:
    """Return an end sill at each end, open in the middle for the coupler; for a floor whose ends are not walled in.

    Args:
        car: for its scale and couplers.
        datum: the floor's underside.
        length: of the floor, mm; the end sills stand under its ends.
        outer: half of their width across the car, mm.
        plate: thickness, mm.

    Notes:
        As deep as the channel of a heavy flat car (read); the opening is as wide as the coupler's box and a gap on each
        side, and as high as the box below the floor.
    """
    deep = to_scale("depth of the end sill", anatomy("cross_member", "end-sill-flat"), car)
    width = derive("width of the end sill", "2*o", o=outer)
    middle = derive("half the depth of the end sill", "d/2", d=deep)
    pieces = []
    for end in ENDS:
        name = f"end_sill_{end}"
        sign = "" if end == "a" else "-"
        at = Station(derive(f"middle of {name}", f"{sign}(L/2 - t/2)", L=length, t=plate))
        pose = upright_across_pose(name, datum, at, ZERO, middle, plate, side="left")
        opening = _opening(car, end)
        if opening is None:
            pieces.append(piece_of(name, thickness=plate, length=width, width=deep, poses=(pose,)))
            continue
        half, high = opening
        if high.value >= deep.value - plate.value:
            pieces += _split_end_sill(name, datum, at, half, outer, deep, plate)
            continue
        given = {"L": width, "d": deep, "o": half, "h": high}
        outline = (
            corner("L/2", "-d/2", **given),
            corner("L/2", "d/2", **given),
            corner("o", "d/2", **given),
            corner("o", "d/2 - h", **given),
            corner("-o", "d/2 - h", **given),
            corner("-o", "d/2", **given),
            corner("-L/2", "d/2", **given),
            corner("-L/2", "-d/2", **given),
        )
        area = derive(f"area of {name}", "L*d - 2*o*h", "mm2", L=width, d=deep, o=half, h=high)
        pieces.append(
            piece_of(name, thickness=plate, length=width, width=deep, outline=outline, area=area, poses=(pose,))
        )
    return tuple(pieces)


def _opening(car: Car, end: End) -> tuple[Working, Working] | None:
    coupler = car.coupler.at(end)
    if coupler.mount == "truck" or coupler.box_width is None or coupler.box_height is None:
        return None
    gap = usual("frame_gap", "gap beside the coupler box", car)
    half = derive("half of the opening for the coupler", "b/2 + g", b=coupler.box_width, g=gap)
    if coupler.shim is not None:
        high = derive("height of the opening for the coupler", "i + b + g", i=coupler.shim, b=coupler.box_height, g=gap)
    else:
        high = derive("height of the opening for the coupler", "b + g", b=coupler.box_height, g=gap)
    return half, high


def _split_end_sill(
    name: str, datum: Datum, at: Station, half: Working, outer: Working, deep: Working, plate: Working
) -> list[Piece]:
    """Return the end sill in two like halves beside a coupler that needs its whole depth."""
    length = derive(f"length of {name}, one half", "b - a", b=outer, a=half)
    y = derive(f"middle of {name}, left half", "(a + b)/2", a=half, b=outer)
    middle = derive("half the depth of the end sill", "d/2", d=deep)
    poses = (
        upright_across_pose(name, datum, at, y, middle, plate, side="left"),
        upright_across_pose(
            name, datum, at, derive(f"middle of {name}, right half", "-y", y=y), middle, plate, side="right"
        ),
    )
    return [piece_of(name, thickness=plate, length=length, width=deep, poses=poses)]


def drilled(webs: tuple[Web, ...], holes: dict[str, Hole]) -> tuple[Web, ...]:
    """Return the webs with the holes that are named after them."""
    return tuple(replace(web, hole=holes.get(web.member.name)) for web in webs)
