"""The stage that compares every pair of parts in space and says what was found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from carwright.car.model import ENDS, Car, End, Ends
from carwright.findings import Finding, Verdict
from carwright.frame.blocks import box_screw, truck_screw
from carwright.frame.clash import TRUCK_KINDS, Clash, clashes, parts_of, truck_parts
from carwright.frame.mends import Mends
from carwright.frame.screws import coupler_screw, truck_screw_part
from carwright.frame.trucks import TruckSolids, truck_solids
from carwright.lengths import show_in
from carwright.pieces import Hole, Piece, said_piece
from carwright.plan.checks import bolster_needs, called
from carwright.ride.model import EndSpec, Ride
from carwright.working import Working, chosen, counted, derive, derived

__all__ = ["Interference", "Meeting", "interference"]


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two parts that take the same room, by name.

    Args:
        first: name of one part.
        second: of the other.
        depth: least extent of the room that they share, mm.
        volume: of that room, mm3.
    """

    first: str
    second: str
    depth: Working
    volume: Working


@dataclass(frozen=True, slots=True)
class Interference:
    """What was compared and what was found.

    Args:
        parts: how many parts were compared, each with every other.
        meetings: those that share room.
        findings: one for each of them, and one on the whole.
    """

    parts: Working
    meetings: tuple[Meeting, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Missing:
    """What was not compared: its name with its like at the other end, its own name, and what it waits for."""

    together: str
    alone: str
    needs: tuple[str, ...]


def _said_missing(missing: Sequence[_Missing]) -> str:
    """Return what could not be compared, in words: both ends in one where both are missing."""
    alone: dict[str, list[str]] = {}
    for each in missing:
        alone.setdefault(each.together, []).append(each.alone)
    return ", ".join(names[0] if len(set(names)) == 1 else together for together, names in alone.items())


def interference(
    car: Car, pieces: Sequence[Piece], holes: Sequence[Hole], specs: Ends[EndSpec], ride: Ride, swing: Working
) -> Interference:
    """Return which parts of a car take the same room.

    Args:
        car: for what the pieces do not say: trucks, screws, blocks without a size.
        pieces: of the plan.
        holes: of the plan, for the places of the couplers' screws.
        specs: the stack of each end, which sets the trucks below the floor.
        ride: heights and pivots.
        swing: how far a truck turns each way, degrees.
    """
    names = _block_names(car)
    fixed = list(parts_of(pieces, names))
    missing = _without_place(car, pieces)
    trucks: list[TruckSolids] = []
    for end in ENDS:
        truck, needs = _truck(car, end, specs.at(end), ride, swing)
        if truck is None:
            missing.append(_Missing("the trucks", f"truck {end.upper()}", needs))
        else:
            trucks.append(truck)
            missing += _unmeasured(truck)
            thread = truck_screw(car, end)
            if thread is not None:
                made = truck_screw_part(car, end, thread.thread, pivot=truck.numbers["px"], seat=truck.numbers["seat"])
                fixed += [made.part] if made.part is not None else []
                if made.needs:
                    missing.append(_Missing("the trucks' screws", f"the screw of truck {end.upper()}", made.needs))
        screw = box_screw(car, end)
        if screw is not None and car.coupler.at(end).mount == "body":
            place = next((hole.x_mm for hole in holes if hole.name == f"coupler_{end}"), None)
            made = coupler_screw(car, end, screw.thread, x=place)
            fixed += [made.part] if made.part is not None else []
            if made.needs:
                missing.append(_Missing("the couplers' screws", f"the screw of coupler {end.upper()}", made.needs))
    parts = [*fixed, *(part for truck in trucks for part in truck_parts(truck, fixed))]
    found = clashes(parts)
    findings: list[Finding] = []
    if found:
        everywhere = [*fixed, *(part for truck in trucks for part in truck_parts(truck, None))]
        mends = Mends(everywhere, car)
        findings += [_finding(each, mends, car) for each in found]
    many = len(fixed) + sum(len(truck.kinds()) for truck in trucks)
    number = counted(many, "parts compared", note="pieces at each of their places, screws, and parts of the trucks")
    if not any(each.verdict == "fail" for each in findings) and (many or missing):
        findings.append(_overall(number, tuple(findings), missing, trucks, swing))
    return Interference(
        number,
        tuple(Meeting(each.first.name, each.second.name, each.depth, each.volume) for each in found),
        tuple(findings),
    )


_OF_TRUCK: Mapping[str, str] = {"side_frame": "side frames", "wheel": "wheels", "axle": "axles"}


def _unmeasured(truck: TruckSolids) -> list[_Missing]:
    """Return the kinds of a truck's parts that lack a measurement; the truck as a whole where all do."""
    lacking = {kind: keys for kind, keys in truck.needs.items() if keys}
    whose = f"truck {truck.end.upper()}"
    if len(lacking) == len(truck.needs):
        return [_Missing("the trucks", whose, tuple(dict.fromkeys(key for keys in lacking.values() for key in keys)))]
    return [
        _Missing(f"the {_OF_TRUCK[kind]} of the trucks", f"the {_OF_TRUCK[kind]} of {whose}", keys)
        for kind, keys in lacking.items()
    ]


def _truck(car: Car, end: End, spec: EndSpec, ride: Ride, swing: Working) -> tuple[TruckSolids | None, tuple[str, ...]]:
    """Return a truck as solids, or None and what its place waits for."""
    result = ride.ends.at(end)
    seat = _below_floor(spec, end)
    if result.x_pivot is None or seat is None:
        place = () if result.x_pivot is not None else ("trucks.centers",)
        height = () if seat is not None else bolster_needs(car, ride, end)
        return None, tuple(dict.fromkeys((*place, *height)))
    over_rail = result.stack[0].top if result.stack and result.stack[0].name == "truck seat" else None
    return truck_solids(car, end, pivot=result.x_pivot, seat=seat, over_rail=over_rail, swing=swing), ()


def _below_floor(spec: EndSpec, end: End) -> Working | None:
    """Return how far the truck's bearing face is below the floor: bolster and washers; None without a bolster."""
    if not spec.bolster:
        return None
    inputs = {f"v{i}": part.size for i, part in enumerate(spec.washers, 1)}
    inputs |= {f"K{i}": part.size for i, part in enumerate(spec.bolster, 1)}
    formula = " + ".join(inputs)
    if spec.glue_line is not None and len(spec.bolster) > 1:
        inputs["g"] = spec.glue_line
        formula += f" + {len(spec.bolster) - 1}*g"
    return derived(f"seat of truck {end.upper()} below the floor", formula, inputs)


def _block_names(car: Car) -> dict[str, str]:
    """Return what the owner calls the body's blocks, by the names of their pieces."""
    names, steps = {}, 0
    for i, block in enumerate(car.body.blocks, 1):
        steps += block.kind == "step"
        if block.name:
            names[f"step_{steps}" if block.kind == "step" else f"block_{i}"] = f"the {block.name}"
    return names


def _without_place(car: Car, pieces: Sequence[Piece]) -> list[_Missing]:
    """Return what has no place or size yet, and the keys that it waits for."""
    found: list[_Missing] = []
    for i, block in enumerate(car.body.blocks):
        sizes = (("x", block.x), ("length", block.length), ("width", block.width), ("from", block.bottom))
        given = (*sizes, ("to", block.top))
        keys = [f"body.block[{i}].{key}" for key, size in given if size is None]
        keys += ["body.lip_depth"] if not keys and car.body.lip_depth is None else []
        if keys and block.kind != "cavity":
            said = f"the {block.name or block.kind}"
            found.append(_Missing(said, said, tuple(keys)))
    for end in ENDS:
        coupler = car.coupler.at(end)
        if coupler.mount == "truck":
            continue
        boxes = (("length", coupler.box_length), ("width", coupler.box_width), ("height", coupler.box_height))
        keys = [f"coupler.box_{key}" for key, size in boxes if size is None]
        keys += ["body.length"] if car.body.length is None else []
        if keys:
            found.append(_Missing("the couplers' boxes", f"the box of coupler {end.upper()}", tuple(keys)))
    for piece in pieces:
        if piece.needs and (piece.thickness_mm is None or piece.pose.drop_mm is None):
            found.append(_Missing(f"the {said_piece(piece.name)}", f"the {said_piece(piece.name)}", piece.needs))
    return found


def _standing(clash: Clash) -> str:
    """Return how the truck stands in a clash, in words, or nothing where none is in it."""
    truck = clash.first if clash.first.kind in TRUCK_KINDS else clash.second
    if clash.position is None:
        return ""
    swing = abs(clash.position.swing) * truck.numbers["swing"].value
    rock = abs(clash.position.rock) * truck.numbers["rock"].value
    words = [f"swung {swing:.1f}°"] * (swing > 0) + [f"rocked {rock:.1f}°"] * (rock > 0)
    return f" with the truck {' and '.join(words)}" if words else " with the truck straight"


def _finding(clash: Clash, mends: Mends, car: Car) -> Finding:
    """Return the finding of two parts that share room: ``watch`` where only a customary swing or rock does it."""
    one, other = clash.first.said, clash.second.said
    depth = show_in(clash.depth.value, car.info.units)
    limit = chosen(0.0, "room that two parts may share", note="none: parts may touch, and no more")
    verdict: Verdict = "fail" if clash.sure else "watch"
    because = (
        f"{one[0].upper()}{one[1:]} and {other} take the same room{_standing(clash)}: {depth} deep, "
        f"{clash.volume.value:.2f} mm³."
    )
    if not clash.sure:
        because += " How far this truck swings or rocks was not measured: a usual value is taken."
    return Finding(
        f"clash_{clash.first.name}_{clash.second.name}",
        verdict,
        because,
        clash.depth,
        limit,
        derive(f"room to spare between {one} and {other}", "l - d", l=limit, d=clash.depth),
        mend=mends.mend(clash),
        source="geometry",
    )


def _overall(
    number: Working,
    watched: Sequence[Finding],
    missing: Sequence[_Missing],
    trucks: Sequence[TruckSolids],
    swing: Working,
) -> Finding:
    """Return the finding on the whole: that nothing shares room, and what could not be compared."""
    turned = ""
    if trucks:
        rock = max((truck.numbers["rock"] for truck in trucks), key=lambda each: each.value)
        turned = f", the trucks swung {swing.value:.1f}° and rocked {rock.value:.1f}° each way"
    but = " but what is named above" if watched else ""
    because = f"{number.value:.0f} parts were compared, each with every other{turned}: none take the same room{but}."
    because += (
        " The car's own body is not among them: what a truck meets of it on the curve, the study of the curve tells."
    )
    if number.value < 2:
        because = "Nothing under the floor can be compared yet."
    if not missing:
        return Finding("interference", "ok", because, number, unit="count", source="geometry")
    keys = tuple(dict.fromkeys(key for each in missing for key in each.needs))
    because += f" Not compared, for want of measurements: {_said_missing(missing)}."
    return Finding(
        "interference",
        "unknown",
        because,
        number,
        unit="count",
        mend=f"Measure {', '.join(called(key) for key in keys)}; or leave it, and look there at the bench.",
        source="geometry",
        needs=keys,
    )
