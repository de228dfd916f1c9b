"""What holds the floor in, and bought parts shown for their places: clips or screws, coupler boxes, steps.

Clips are strips glued to the inside of the sides under the floor, so that it springs past them and stays; screws go up
through the floor into blocks glued to the inside of the sides. Both stand between crossbearers, in the bays nearest to
the quarter points.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from carwright.car.model import ENDS, Block, Car
from carwright.fasten.tapped import tapped
from carwright.findings import Finding
from carwright.frame.floor import SheetOffer
from carwright.frame.layout import Room, usual
from carwright.frame.members import Web
from carwright.frame.plates import MID_CAR, ZERO, Datum, Station, flat_pose, piece_of, rectangle
from carwright.laminate import laminations
from carwright.pieces import Hole, Piece
from carwright.reference import Thread, practice_text, practice_value
from carwright.reference import thread as thread_named
from carwright.working import Working, counted, derive, derived

__all__ = ["Retention", "coupler_boxes", "present_blocks", "retention"]


@dataclass(frozen=True, slots=True)
class Retention:
    """Clips, or blocks with the screws' holes: ``floor_holes`` are those in the floor."""

    pieces: tuple[Piece, ...] = ()
    floor_holes: tuple[Hole, ...] = ()
    findings: tuple[Finding, ...] = ()


def _bay(first: Station, last: Station, room: Room) -> Station:
    """Return the middle of the bay between two stations."""
    if first.share is not None and last.share is not None:
        share = derive("share of the middle of the bay", "(f1 + f2)/2", "", f1=first.share, f2=last.share)
        if room.pivots.a.value == -room.pivots.b.value:
            x = derive("middle of the bay", "2*f*p", f=share, p=room.pivots.a)
        else:
            x = derive("middle of the bay", "(pa + pb)/2 + f*(pa - pb)", pa=room.pivots.a, pb=room.pivots.b, f=share)
        return Station(x, share)
    x = derive("middle of the bay", "(x1 + x2)/2", x1=first.x, x2=last.x)
    return MID_CAR if abs(x.value) < 1e-9 else Station(x)


def _stations(webs: Sequence[Web], room: Room, along: Working, gap: Working) -> list[Station]:
    """Return a bay's middle at each end that is long enough, the nearest to the quarter point, A before B."""
    walls = [(room.a, 0.0), *((web.member.at, web.flange.value) for web in webs), (room.b, 0.0)]
    free = []
    for (first, f1), (last, f2) in pairwise(walls):
        clear = first.value - last.value - (f1 + f2) / 2
        if clear >= along.value + 2 * gap.value:
            free.append(_bay(first, last, room))
    span = room.pivots.a.value - room.pivots.b.value
    middle = (room.pivots.a.value + room.pivots.b.value) / 2
    chosen: list[Station] = []
    for sign in (1, -1):
        wanted = middle + sign * practice_value("clip_bays").value * span
        best = min(free, key=lambda each: (round(abs(each.value - wanted), 6), -each.value), default=None)
        if best is not None and all(abs(best.value - each.value) > along.value for each in chosen):
            chosen.append(best)
    return chosen


def retention(
    car: Car,
    datum: Datum,
    webs: Sequence[Web],
    room: Room,
    inside: Working,
    fit: Working,
    floor: Working,
    plate: Working,
    offers: Sequence[SheetOffer],
) -> Retention:
    """Return what keeps a drop-in floor in.

    Args:
        car: with its wish: clips (also where nothing is said), screws or none.
        datum: the floor's underside.
        webs: of the cross members.
        room: between the trucks.
        inside: width between the sides, mm.
        fit: of the floor on each side, mm.
        floor: its thickness, mm.
        plate: thickness of a clip, mm.
        offers: sheet of which a screw's block is laminated.
    """
    word = car.underframe.retention.strip().lower() or "clips"
    if word == "none":
        return Retention()
    gap = usual("frame_gap", "gap beside a clip", car)
    along = usual("clip_along", "size of a clip along the car", car) if word == "clips" else _block_side(car)
    stations = _stations(webs, room, along, gap)
    if len(stations) < 2:
        return Retention(
            findings=(
                Finding(
                    "retention_room",
                    "watch",
                    f"Between the crossbearers there is room for {word} in {len(stations)} bay only.",
                    mend="Leave out a crosstie, or hold the floor with glue at two points.",
                    source="geometry",
                ),
            )
        )
    if word == "clips":
        return Retention(_clips(car, datum, stations, along, inside, fit, plate))
    return _screws(car, datum, stations, along, inside, floor, offers)


def _clips(
    car: Car,
    datum: Datum,
    stations: Sequence[Station],
    along: Working,
    inside: Working,
    fit: Working,
    plate: Working,
) -> tuple[Piece, ...]:
    under = usual("clip_under", "clip's reach under the floor", car)
    across = derive("width of a clip", "u + f", u=under, f=fit)
    left = derive("middle of a left clip", "D/2 - w/2", D=inside, w=across)
    right = derive("middle of a right clip", "-y", y=left)
    pieces = []
    for i, (at, y) in enumerate(((at, y) for at in stations for y in (left, right)), 1):
        pose = flat_pose(f"clip_{i}", datum, at, y, plate)
        pieces.append(piece_of(f"clip_{i}", thickness=plate, length=along, width=across, poses=(pose,)))
    return tuple(pieces)


def _retention_thread(car: Car) -> Thread | None:
    return thread_named(practice_text("metric_screw_z" if car.info.units == "mm" else "truck_screw_z"))


def _block_side(car: Car) -> Working:
    """Return how large a square block is: the usual size, or what its screw wants on both sides where that is more."""
    block = usual("retention_block", "side of a retention block", car)
    thread = _retention_thread(car)
    if thread is None:
        return block
    least = derive(
        "side of a retention block, for its screw",
        "2*k*D",
        k=practice_value("edge_diameters_min"),
        D=thread.major,
    )
    return max(block, least, key=lambda each: each.value)


def _screws(
    car: Car,
    datum: Datum,
    stations: Sequence[Station],
    along: Working,
    inside: Working,
    floor: Working,
    offers: Sequence[SheetOffer],
) -> Retention:
    thread = _retention_thread(car)
    if thread is None:
        return Retention()
    screw = tapped(thread)
    wanted = derive("thread for a retention screw", "k*D", k=practice_value("block_diameters_better"), D=thread.major)
    layers = _layers(wanted, offers)
    terms = {f"t{i}": layer for i, layer in enumerate(layers, 1)}
    high = derived("height of a retention block", " + ".join(terms), terms) if layers else wanted
    left = derive("middle of a left retention block", "D/2 - b/2", D=inside, b=along)
    right = derive("middle of a right retention block", "-y", y=left)
    top = derive("top of the floor, below its underside", "-t", t=floor)
    edge = derive("retention screw to the edge of its block", "b/2", b=along)
    pieces, holes = [], []
    for i, (at, y) in enumerate(((at, y) for at in stations for y in (left, right)), 1):
        name = f"retention_block_{i}"
        tap = Hole(
            f"retention_{i}_block",
            name,
            f"retention screw, {thread.name}",
            screw.diameter,
            screw.drill,
            x_mm=ZERO,
            y_mm=ZERO,
            depth_mm=high,
            tap=thread.name,
            thread_percent=screw.percent,
            turns=derive(f"turns of thread held by {name}", "t/P", "turns", t=high, P=thread.pitch),
            edge_mm=edge,
        )
        pose = flat_pose(name, datum, at, y, top)
        block = piece_of(
            name, thickness=high, length=along, width=along, poses=(pose,), holes=(tap,), snapped=bool(layers)
        )
        pieces.append(replace(block, layers_mm=layers if len(layers) > 1 else ()))
        holes.append(
            Hole(
                f"retention_{i}",
                "floor",
                f"clearance for the retention screw, {thread.name}",
                thread.clearance.diameter,
                thread.clearance.name,
                x_mm=at.x,
                y_mm=y,
                depth_mm=floor,
            )
        )
    return Retention(tuple(pieces), tuple(holes))


def _layers(wanted: Working, offers: Sequence[SheetOffer]) -> tuple[Working, ...]:
    """Return the fewest sheets that together are at least as thick as wanted, the thickest first."""
    sizes = [offer.thickness for offer in offers]
    if not sizes:
        return ()
    most = math.ceil(wanted.value / max(each.value for each in sizes) - 1e-9)
    enough = [
        (height, layers)
        for layers, height in laminations([each.value for each in sizes], most=most, up_to_mm=wanted.value)
        if height >= wanted.value - 1e-9
    ]
    return tuple(sizes[i] for i in min(enough)[1])


def _bought(
    name: str, datum: Datum, at: Station, y: Working, lower: Working, *, length: Working, width: Working, high: Working
) -> Piece:
    return Piece(
        name=name,
        quantity=counted(0, f"quantity of {name}", note="bought or there already; shown for its place"),
        material="as bought",
        thickness_mm=high,
        thickness_min_mm=None,
        thickness_max_mm=None,
        length_mm=length,
        width_mm=width,
        area_mm2=derive(f"area of {name}, seen from above", "l*w", "mm2", l=length, w=width),
        outline_mm=rectangle(length, width),
        holes=(),
        pose=flat_pose(name, datum, at, y, lower),
        form="block",
        made=False,
    )


def coupler_boxes(car: Car, datum: Datum) -> tuple[Piece, ...]:
    """Return the box of each coupler that is fixed to the body, its front at the end of the car.

    Args:
        car: with length of the body and the boxes' sizes; what is not measured is left out.
        datum: the floor's underside; a shim lowers the box, a recess raises it.
    """
    pieces = []
    for end in ENDS:
        coupler = car.coupler.at(end)
        length, width, high = coupler.box_length, coupler.box_width, coupler.box_height
        if coupler.mount == "truck" or car.body.length is None or length is None or width is None or high is None:
            continue
        name = f"coupler_box_{end}"
        sign = "" if end == "a" else "-"
        at = Station(derive(f"middle of {name}", f"{sign}(A/2 - l/2)", A=car.body.length, l=length))
        terms = {"b": high}
        formula = "b"
        if coupler.shim is not None:
            terms["i"], formula = coupler.shim, f"{formula} + i"
        if coupler.recess is not None:
            terms["r"], formula = coupler.recess, f"{formula} - r"
        lower = high if formula == "b" else derived(f"lower side of {name}", formula, terms)
        pieces.append(_bought(name, datum, at, ZERO, lower, length=length, width=width, high=high))
    return tuple(pieces)


def present_blocks(car: Car, datum: Datum, sill_rise: Working) -> tuple[Piece, ...]:
    """Return what the body already has in the way: steps, solids and rods of ``[[body.block]]``, for their places.

    Args:
        car: with its blocks, measured from the bottom of the side sill.
        datum: the floor's underside.
        sill_rise: bottom of the side sill above the floor's underside, mm; negative below it.
    """
    pieces, steps = [], 0
    for i, block in enumerate(car.body.blocks, 1):
        if block.kind == "cavity":
            continue
        steps += block.kind == "step"
        name = f"step_{steps}" if block.kind == "step" else f"block_{i}"
        made = _present(name, block, datum, sill_rise)
        if made is not None:
            pieces.append(made)
    return tuple(pieces)


def _present(name: str, block: Block, datum: Datum, sill_rise: Working) -> Piece | None:
    if block.x is None or block.length is None or block.width is None or block.bottom is None or block.top is None:
        return None
    high = derive(f"height of {name}", "t - b", t=block.top, b=block.bottom)
    lower = derive(f"lower side of {name} below the floor", "-s - b", s=sill_rise, b=block.bottom)
    return _bought(
        name, datum, Station(block.x), block.y or ZERO, lower, length=block.length, width=block.width, high=high
    )
