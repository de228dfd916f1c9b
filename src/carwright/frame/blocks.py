"""Bolsters and screw blocks, and the holes of floor, trucks and couplers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from carwright.car.model import Car, End, Lug
from carwright.fasten.tapped import TappedHole, edge_finding, said, tapped, thread_held
from carwright.findings import Finding
from carwright.frame.floor import Floor, SheetOffer
from carwright.frame.plates import ZERO, Datum, Station, flat_pose, rectangle, snapped_sizes
from carwright.laminate import laminations
from carwright.lengths import show_in
from carwright.pieces import Hole, Piece, Pose
from carwright.reference import DrillKind, Thread, practice_text, practice_value, smallest_drill_at_least
from carwright.reference import thread as thread_named
from carwright.working import Working, counted, derive, derived

__all__ = [
    "Block",
    "FloorHoles",
    "blocks_and_holes",
    "bolster_along",
    "bolster_pieces",
    "box_screw",
    "floor_piece",
    "truck_screw",
]

_OPEN_TOPPED = frozenset({"flat", "gondola"})


@dataclass(frozen=True, slots=True)
class Block:
    """A screw block on top of the floor: it holds a screw's thread and moves nothing."""

    name: str
    layers: tuple[Working, ...]
    on_hand: bool
    thickness: Working


@dataclass(frozen=True, slots=True)
class FloorHoles:
    """Holes in the floor, the blocks over them, and what was found."""

    holes: tuple[Hole, ...]
    blocks: tuple[Piece, ...]
    findings: tuple[Finding, ...]


def _level(slope: Working | None) -> tuple[Working, Working, Working]:
    zero = derive("no turn", "0", "deg")
    tilt = zero if slope is None else derive("tilt about the cross axis", "-degrees(atan(g))", "deg", g=slope)
    return zero, tilt, zero


def _one(what: str) -> Working:
    return counted(1, f"quantity of {what}", note="one for the car")


def floor_piece(floor: Floor, *, z: Working | None, slope: Working | None) -> Piece | None:
    """Return the floor as a piece, without its holes, or None while its size is unknown.

    Args:
        floor: the floor.
        z: its underside at mid-car above the rail, mm, if known.
        slope: of the underside, up toward A, if known and not level.
    """
    if floor.length is None or floor.width is None or floor.area is None:
        return None
    zero = derive("mid-car", "0")
    window = practice_value("laminate_window")
    low = high = None
    if floor.wanted_thickness is not None:
        low = derive("least thickness of the floor", "w - m", w=floor.wanted_thickness, m=window)
        high = derive("greatest thickness of the floor", "w + m", w=floor.wanted_thickness, m=window)
    quantity = counted(0, "quantity of floor", note="the floor is there and stays") if floor.stays else _one("floor")
    return Piece(
        name="floor",
        quantity=quantity,
        material=floor.material,
        thickness_mm=floor.thickness,
        thickness_min_mm=low,
        thickness_max_mm=high,
        length_mm=floor.length,
        width_mm=floor.width,
        area_mm2=floor.area,
        outline_mm=floor.outline,
        holes=(),
        pose=Pose(zero, zero, z, *_level(slope), ZERO, _level(None)),
        needs=floor.needs,
        layers_mm=floor.layers,
        cut_length_mm=floor.cut_length,
        cut_width_mm=floor.cut_width,
    )


def bolster_along(car: Car) -> Working:
    """Return the length of a body bolster along the car, mm: the file's, else the usual one in proportion."""
    usual, ratio = practice_value("bolster_along"), car.info.ratio
    if car.underframe.bolster_width is not None:
        return car.underframe.bolster_width
    return usual if ratio is None else derive("size of a bolster along the car", "b*87.1/n", b=usual, n=ratio)


def bolster_pieces(
    car: Car,
    floor: Floor,
    *,
    end: End,
    thickness: Working | None,
    thickness_range: tuple[Working, Working] | None,
    x: Working | None,
    z: Working | None,
    hole: TappedHole | None,
    datum: Datum,
    layers: tuple[Working, ...] = (),
    room: Working | None = None,
) -> tuple[Piece, ...]:
    """Return the body bolster of one end, with its clearance for the truck's screw, as far as it is known.

    Args:
        car: the car.
        floor: the floor that it lies under.
        end: "a" or "b".
        thickness: its height, mm.
        thickness_range: what the ride allows.
        x: truck pivot from mid-car, mm.
        z: its underside above the rail, mm, if known.
        hole: the truck's screw.
        datum: the floor's underside, with which it is tilted.
        layers: of which it is laminated, the lowest first.
        room: across the car between the truck's side frames, mm, where they rise beside it.
    """
    if thickness is None or x is None or floor.width is None:
        return ()
    wanted = car.underframe
    across = wanted.bolster_length
    if across is None and room is not None and 0.0 < room.value < floor.width.value:
        across = derive(
            "size of a bolster across the car", "r", r=room, note="as wide as the truck's side frames leave"
        )
    if across is None:
        across = derive("size of a bolster across the car", "W", W=floor.width, note="as wide as the floor")
    along = bolster_along(car)
    zero = derive("on the centre line", "0")
    holes: tuple[Hole, ...] = ()
    if hole is not None:
        holes = (_pivot_hole(car, end, hole.thread, thickness, along),)
    low, high = thickness_range if thickness_range is not None else (None, None)
    cut = snapped_sizes(f"bolster_{end}", along, across) if len(layers) > 1 else (None, None)
    return (
        Piece(
            name=f"bolster_{end}",
            quantity=_one(f"bolster_{end}"),
            material="styrene",
            thickness_mm=thickness,
            thickness_min_mm=low,
            thickness_max_mm=high,
            length_mm=along,
            width_mm=across,
            area_mm2=derive(f"area of bolster_{end}", "l*w", "mm2", l=along, w=across),
            outline_mm=rectangle(along, across),
            holes=holes,
            pose=Pose(x, zero, z, *_level(datum.slope), thickness, _level(None)),
            layers_mm=layers if len(layers) > 1 else (),
            cut_length_mm=cut[0],
            cut_width_mm=cut[1],
        ),
    )


def _pivot_hole(car: Car, end: End, screw: Thread, thickness: Working, along: Working) -> Hole:
    """Return a bolster's hole: clearance for the truck's screw, or for the boss where that rises into the bolster."""
    truck = car.trucks.at(end)
    purpose, drill, diameter = "clearance for the truck screw", screw.clearance, screw.clearance.diameter
    needs: tuple[str, ...] = ()
    rises = truck.boss_height is not None and truck.boss_height.value > sum(each.value for each in truck.washers)
    if rises and truck.boss_diameter is None:
        needs = ("trucks.boss_diameter",)
    elif rises and truck.boss_diameter is not None:
        wanted = derive("hole for the boss", "d + c", d=truck.boss_diameter, c=practice_value("wire_clearance"))
        series: tuple[DrillKind, ...] = ("metric",) if car.info.units == "mm" else ("number", "letter", "fraction")
        found = smallest_drill_at_least(wanted.value, series)
        if found is not None:
            purpose, drill, diameter = "room for the truck's boss", found, found.diameter
    return Hole(
        f"truck_{end}_bolster",
        f"bolster_{end}",
        purpose,
        diameter,
        drill.name,
        x_mm=derive("middle of the bolster", "0"),
        y_mm=derive("on the centre line", "0"),
        depth_mm=thickness,
        edge_mm=derive("hole to the edge of the bolster", "b/2", b=along),
        needs=needs,
    )


def _screw_of(car: Car, what: Literal["truck", "coupler"], end: End) -> TappedHole | None:
    given = car.trucks.at(end).screw if what == "truck" else car.coupler.at(end).screw
    if not given:
        if what == "coupler" and car.coupler.at(end).mount != "body":
            return None
        prefix = "metric_screw" if car.info.units == "mm" else "truck_screw"
        given = practice_text(f"{prefix}_{_scale_word(car.info.scale)}")
    thread = thread_named(given)
    return None if thread is None else tapped(thread)


def truck_screw(car: Car, end: End) -> TappedHole | None:
    """Return the screw of this end's truck: the file's, else the usual one of the scale."""
    return _screw_of(car, "truck", end)


def box_screw(car: Car, end: End) -> TappedHole | None:
    """Return the screw of this end's coupler box: the file's, else the usual one; None where it has none."""
    return _screw_of(car, "coupler", end)


def _scale_word(scale: str) -> str:
    return {"h0": "ho", "0": "o", "00": "oo"}.get(scale.lower(), scale.lower())


def _edge(x: Working, floor: Floor, lugs: Sequence[Lug]) -> Working | None:
    """Return the distance from a hole on the centre line to the nearest finished edge; negative outside the floor."""
    if floor.length is None or floor.width is None:
        return None
    sign = "" if x.value >= 0 else "-"
    choices = [
        derive("hole to the end of the floor", f"L/2 - ({sign}x)", L=floor.length, x=x),
        derive("hole to the side of the floor", "W/2", W=floor.width),
    ]
    if floor.corner is not None:
        along, across = floor.corner
        inputs = {"W": floor.width, "n": across}
        formula = "W/2 - n"
        if abs(x.value) < floor.length.value / 2 - along.value:
            inputs |= {"L": floor.length, "m": along, "x": x}
            formula = f"hypot(L/2 - m - ({sign}x), W/2 - n)"
        choices.append(derived("hole to the corner notch", formula, inputs))
    for lug in lugs:
        if lug.x is None or lug.length is None or lug.depth is None:
            continue
        inputs = {"W": floor.width, "d": lug.depth}
        formula = "W/2 - d"
        if abs(x.value - lug.x.value) > lug.length.value / 2:
            inputs |= {"x": x, "g": lug.x, "s": lug.length}
            formula = f"hypot({'x - g' if x.value > lug.x.value else 'g - x'} - s/2, W/2 - d)"
        choices.append(derived(f"hole to the notch for {lug.name}", formula, inputs))
    return min(choices, key=lambda each: each.value)


def _block(
    name: str, screw: TappedHole, floor: Floor, offers: Sequence[SheetOffer], given: Working | None
) -> Block | None:
    """Return the thinnest block of sheet that gives the screw its hold, or None where the floor alone is enough."""
    if floor.thickness is None:
        return None
    if floor.made_of == "metal" and given is None:
        return None
    least = derive("least depth of thread", "k*D", k=practice_value("block_diameters_min"), D=screw.thread.major)
    better = derive("better depth of thread", "k*D", k=practice_value("block_diameters_better"), D=screw.thread.major)
    if given is not None:
        return Block(name, (given,), True, given) if given.value > 0 else None
    if floor.thickness.value >= better.value:
        return None
    sizes = [offer.thickness.value for offer in offers]
    lack = better.value - floor.thickness.value
    best: tuple[tuple[float, ...], tuple[int, ...]] | None = None
    for layers, height in laminations(sizes, most=4, up_to_mm=lack):
        depth = floor.thickness.value + height
        short = depth < least.value - 1e-9
        rank = (
            (float(short), float(depth < better.value - 1e-9), len(layers), height)
            if not short
            else (1.0, -depth, 0.0, 0.0)
        )
        if best is None or (rank, layers) < best:
            best = (rank, layers)
    if best is None:
        return None
    chosen = tuple(offers[i].thickness for i in best[1])
    terms = {f"t{i + 1}": layer for i, layer in enumerate(chosen)}
    total = derived(f"thickness of {name}", " + ".join(terms), terms)
    return Block(name, chosen, all(offers[i].on_hand for i in best[1]), total)


def blocks_and_holes(
    car: Car,
    floor: Floor,
    places: dict[str, tuple[Working | None, tuple[str, ...]]],
    offers: Sequence[SheetOffer],
    *,
    kind: str | None,
    datum: Datum,
) -> FloorHoles:
    """Return the tapped holes of trucks and couplers in the floor, with their screw blocks and findings.

    Args:
        car: the car.
        floor: the floor.
        places: for "truck_a", "truck_b", "coupler_a", "coupler_b" the place along the car and what it still needs; a
            coupler that is not screwed to the floor is left out.
        offers: sheet for the blocks.
        kind: kind of car by its type, for blocks that would be seen from above.
        datum: the floor's underside, on whose upper side the blocks lie.
    """
    units = car.info.units
    holes: list[Hole] = []
    blocks: list[Piece] = []
    findings: list[Finding] = []
    zero = derive("on the centre line", "0")
    for name, (x, needs) in places.items():
        what: Literal["truck", "coupler"] = "truck" if name.startswith("truck") else "coupler"
        end: End = "a" if name.endswith("_a") else "b"
        screw = _screw_of(car, what, end)
        if screw is None:
            continue
        block = _block(f"screw_block_{name}", screw, floor, offers, car.underframe.screw_block)
        depth = floor.thickness
        if depth is not None and block is not None:
            depth = derive(f"depth of {floor.made_of} at {name}", "t + b", t=depth, b=block.thickness)
        turns = thread_held(name=name, depth=depth, thread=screw.thread) if depth is not None else None
        edge = _edge(x, floor, () if floor.stays else car.body.lugs) if x is not None else None
        holes.append(
            Hole(
                name,
                "floor",
                f"{what} screw, {screw.thread.name}",
                screw.diameter,
                screw.drill,
                x_mm=x,
                y_mm=zero,
                depth_mm=depth,
                tap=screw.thread.name,
                thread_percent=screw.percent,
                turns=turns,
                edge_mm=edge,
                needs=needs,
            )
        )
        if edge is not None:
            findings.append(edge_finding(name=name, edge=edge, thread=screw.thread, units=units))
        if depth is not None:
            findings.append(_held_finding(name, depth, screw, units, floor, block))
        if block is not None and x is not None:
            blocks.append(_block_piece(car, block, floor, x, datum, end if what == "truck" else None))
    if blocks and kind in _OPEN_TOPPED:
        findings.append(
            Finding(
                "blocks_seen",
                "watch",
                "Screw blocks on top of the floor will be seen from above, or foul the lading.",
                counted(len(blocks), "blocks", note="screw blocks on top of the floor"),
                unit="count",
                mend="Hide them under the load, or let them into the bolster from below.",
                source="common practice",
            )
        )
    return FloorHoles(tuple(holes), tuple(blocks), tuple(findings))


def _held_finding(
    name: str, depth: Working, screw: TappedHole, units: Literal["in", "mm"], floor: Floor, block: Block | None
) -> Finding:
    """Return whether a screw's thread finds enough to hold in: by depth, or in a metal floor by its turns."""
    if floor.made_of != "metal" or block is not None:
        return _depth_finding(name, depth, screw, units, "plastic" if floor.made_of == "metal" else floor.made_of)
    turns = thread_held(name=name, depth=depth, thread=screw.thread)
    least = practice_value("metal_turns_min")
    margin = derive(f"thread at {said(name)} to spare", "n - m", "turns", n=turns, m=least)
    enough = margin.value >= -1e-9
    because = (
        f"The screw of {said(name)} finds {show_in(depth.value, units)} of metal, {turns.value:.1f} turns; "
        f"{least.value:.0f} are the least."
    )
    mend = f"Hold it with a {screw.thread.name} nut on top of the floor, fixed so that it does not turn."
    return Finding(
        f"thread_depth_{name}",
        "ok" if enough else "watch",
        because,
        turns,
        least,
        margin,
        "turns",
        "" if enough else mend,
        "common practice",
    )


def _depth_finding(name: str, depth: Working, screw: TappedHole, units: Literal["in", "mm"], made_of: str) -> Finding:
    least = derive("least depth of thread", "k*D", k=practice_value("block_diameters_min"), D=screw.thread.major)
    better = derive("better depth of thread", "k*D", k=practice_value("block_diameters_better"), D=screw.thread.major)
    margin = derive(f"depth of thread at {said(name)} to spare", "d - m", d=depth, m=least)
    if depth.value >= least.value - 1e-9:
        verdict: Literal["ok", "watch", "fail"] = "ok"
        ending = "." if depth.value >= better.value - 1e-9 else f", {show_in(better.value, units)} is better."
        because = (
            f"The screw of {said(name)} finds {show_in(depth.value, units)} of {made_of}; "
            f"{show_in(least.value, units)} is the least{ending}"
        )
        mend = ""
    else:
        verdict = "fail"
        because = (
            f"The screw of {said(name)} finds only {show_in(depth.value, units)} of {made_of}; "
            f"it wants {show_in(least.value, units)}."
        )
        mend = f"Laminate a screw block {show_in(least.value - depth.value, units)} thicker on top of the floor."
    return Finding(f"thread_depth_{name}", verdict, because, depth, least, margin, "mm", mend, "common practice")


def _block_piece(car: Car, block: Block, floor: Floor, x: Working, datum: Datum, over: End | None) -> Piece:
    ratio = car.info.ratio
    sizes = []
    for name in ("block_along", "block_across"):
        usual = practice_value(name)
        sizes.append(
            usual
            if ratio is None
            else derive(f"size of a screw {name.replace('_', ' ')} the car", "b*87.1/n", b=usual, n=ratio)
        )
    along, across = sizes
    cut_length, cut_width = snapped_sizes(block.name, along, across)
    zero = derive("on the centre line", "0")
    place = x
    if floor.length is not None and abs(x.value) + along.value / 2 > floor.length.value / 2:
        sign = "" if x.value >= 0 else "-"
        place = derive(
            f"middle of {block.name}",
            f"{sign}(L/2 - b/2)",
            L=floor.length,
            b=along,
            note="moved in, so that the block ends with the floor",
        )
    top = ZERO if floor.thickness is None else derive("top of the floor, below its underside", "-t", t=floor.thickness)
    return Piece(
        name=block.name,
        quantity=_one(block.name),
        material="styrene",
        thickness_mm=block.thickness,
        thickness_min_mm=None,
        thickness_max_mm=None,
        length_mm=along,
        width_mm=across,
        area_mm2=derive(f"area of {block.name}", "l*w", "mm2", l=along, w=across),
        outline_mm=rectangle(along, across),
        holes=(),
        pose=flat_pose(block.name, datum, Station(place, over=over if place is x else None), zero, top),
        layers_mm=block.layers,
        cut_length_mm=cut_length,
        cut_width_mm=cut_width,
    )
