"""What a planned car is made of, each with mass and place: shell, trucks, couplers, blocks and designed pieces."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from carwright.car.model import ENDS
from carwright.plan.cavities import Heights, block_box
from carwright.plan.model import Plan
from carwright.reference import practice_value
from carwright.weight.centre import Part, middle_of
from carwright.weight.target import block_mass, mass_of
from carwright.working import Working, chosen, derive, derived

__all__ = ["Parts", "parts_of"]

_MIDDLE: Final = chosen(0.0, "middle of the car", note="taken: alike at both ends and on both sides")


@dataclass(frozen=True, slots=True)
class Parts:
    """The parts that have a place, and the keys that others wait for."""

    known: tuple[Part, ...]
    needs: tuple[str, ...]


def parts_of(plan: Plan, heights: Heights) -> Parts:
    """Return everything of the finished car but its ballast.

    Args:
        plan: the plan.
        heights: of floor and sill at mid-car.

    Notes:
        The shell's middle is taken half-way up it, a truck's at its axles; both heights have a doubt. Holes are left
        out. Couplers that were not weighed are not there.
    """
    known: list[Part] = []
    needs: dict[str, None] = {}
    for each in (*_shell(plan, heights), *_ends(plan), *_blocks(plan, heights), *_pieces(plan)):
        if isinstance(each, Part):
            known.append(each)
        else:
            needs[each] = None
    return Parts(tuple(known), tuple(needs))


def _shell(plan: Plan, heights: Heights) -> Iterator[Part | str]:
    car, body = plan.car, plan.car.body
    mass = _weighed_rest(plan) if car.found.weight is not None else body.mass
    if mass is None:
        yield "body.mass"
        return
    if heights.sill is None:
        yield from heights.needs or ("body.lip_depth",)
        return
    if body.height is None:
        yield "body.height"
        return
    z = derive("middle of the shell, above the rail", "s + G/2", s=heights.sill, G=body.height)
    share = practice_value("shell_height_doubt")
    doubt = derive("doubt of the shell's middle", "G*p/100", G=body.height, p=share)
    yield Part("shell", mass, _MIDDLE, _MIDDLE, z, doubt)


def _weighed_rest(plan: Plan) -> Working | None:
    """Return what of the weight found is neither truck nor coupler, g."""
    car = plan.car
    assert car.found.weight is not None
    missing = " ".join(car.info.missing)
    inputs = {"W": car.found.weight}
    for word, ends in (("trucks", car.trucks), ("couplers", car.coupler)):
        for end in ENDS:
            mass = ends.at(end).mass
            if mass is not None and word not in missing:
                inputs[f"{word[0]}{end}"] = mass
    formula = " - ".join(inputs)
    return (
        car.found.weight
        if len(inputs) == 1
        else derived("weight found without trucks and couplers", formula, inputs, "g")
    )


def _ends(plan: Plan) -> Iterator[Part | str]:
    car = plan.car
    for end in ENDS:
        truck, coupler, ride, letter = car.trucks.at(end), car.coupler.at(end), plan.ride.ends.at(end), end.upper()
        if truck.mass is None:
            yield "trucks.mass"
        elif ride.x_pivot is None:
            yield "trucks.centers"
        else:
            wheel, seat = truck.wheels or truck.wheel_diameter, truck.seat_height
            if wheel is not None:
                z = derive(f"middle of truck {letter}, above the rail", "d/2", note="at its axles", d=wheel)
            elif seat is not None:
                z = derive(f"middle of truck {letter}, above the rail", "J/2", note="half its seat height", J=seat)
            else:
                yield "trucks.wheel_diameter"
                continue
            share = practice_value("shell_height_doubt")
            doubt = derive(f"doubt of the middle of truck {letter}", "z*p/100", z=z, p=share)
            yield Part(f"truck {letter}", truck.mass, ride.x_pivot, _MIDDLE, z, doubt)
        if coupler.mass is None:
            continue  # named among what was not weighed
        if car.body.length is None or coupler.pivot_inset is None:
            yield "body.length" if car.body.length is None else "coupler.pivot_inset"
        elif ride.coupler_height is None:
            yield from ride.needs
        else:
            sign = "" if end == "a" else "-"
            formula = f"{sign}(A/2 - M)"
            x = derive(f"coupler {letter} from mid-car", formula, A=car.body.length, M=coupler.pivot_inset)
            yield Part(f"coupler {letter}", coupler.mass, x, _MIDDLE, ride.coupler_height)


def _blocks(plan: Plan, heights: Heights) -> Iterator[Part | str]:
    if plan.car.found.weight is not None:
        return
    for block in plan.car.body.blocks:
        mass = block_mass(block)
        if mass is None:
            continue
        box = block_box(block, heights.sill)
        if box is None:
            names = {"length": block.length, "width": block.width, "from": block.bottom, "to": block.top}
            yield from (f"body.block.{name}" for name, size in names.items() if size is None)
            continue
        low, high = box.working("z0"), box.working("z1")
        z = derive(f"middle of {block.name}, above the rail", "(l + h)/2", l=low, h=high)
        yield Part(block.name, mass, block.x or _MIDDLE, block.y or _MIDDLE, z)


def _pieces(plan: Plan) -> Iterator[Part | str]:
    for piece in plan.pieces:
        if piece.quantity.value <= 0:
            continue
        mass = mass_of(piece)
        if mass is None:
            continue
        middle = middle_of(piece)
        if middle is None:
            yield from piece.needs
        else:
            yield Part(piece.name.replace("_", " "), mass, *middle)
