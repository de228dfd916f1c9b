"""The car's outline in numbers: what was measured, and a usual size where it was not.

A usual size serves only to draw a dashed line where a measurement is wanting; it is never shown as a number and never
enters the plan. Usual sizes are those of a 40-foot freight car of the middle of the twentieth century, in inches of the
prototype (common practice; the picture's proportions, nothing else).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from carwright.car.model import Car, Ends
from carwright.reference import car_kind, scale_gauge
from carwright.working import Working

__all__ = ["CarShape", "Size", "car_shape"]

_USUAL_IN: Final[Mapping[str, float]] = MappingProxyType(
    {
        "length": 486.0,
        "width": 122.0,
        "wall": 4.0,
        "end_wall": 8.0,
        "lip": 16.0,
        "notch": 12.0,
        "height": 122.0,
        "open_height": 52.0,
        "deck_height": 16.0,
        "inset": 66.0,
        "seat": 25.0,
        "bolster": 14.0,
        "wheel": 33.0,
        "wheelbase": 66.0,
        "truck_width": 86.0,
        "drop": 5.5,
        "pivot_inset": 22.0,
        "coupler_length": 34.0,
        "box_length": 35.0,
        "box_width": 28.0,
        "box_height": 11.0,
    }
)


@dataclass(frozen=True, slots=True)
class Size:
    """A length for the picture, and whether it was measured."""

    mm: float
    known: bool


@dataclass(frozen=True, slots=True)
class CarShape:
    """Every length that the outline needs, at model size.

    ``floor_under_mm`` is from the rail; ``sill`` is from the rail to the bottom of the side sill; ``inset`` is from the
    end of the car to the truck's pivot. ``house`` is true for a car with a roof.
    """

    kind: str
    house: bool
    gauge_mm: float
    length: Size
    width: Size
    inside_length: Size
    inside_width: Size
    lip: Size
    notch: Size
    height: Size
    sill: Size
    inset: Ends[Size]
    seat: Ends[Size]
    floor_under: Ends[Size]
    wheel: Ends[Size]
    wheelbase: Ends[Size]
    truck_width: Ends[Size]
    drop: Ends[Size]
    pivot_inset: Ends[Size]
    coupler_length: Ends[Size]
    box_length: Ends[Size]
    box_width: Ends[Size]
    box_height: Ends[Size]
    coupler_height: Ends[Size]


def car_shape(
    car: Car,
    *,
    floor_underside: Ends[Working | None] | None = None,
    coupler_height: Ends[Working | None] | None = None,
) -> CarShape:
    """Return the car's outline in numbers.

    Args:
        car: the car as its file says it.
        floor_underside: rail to the floor's underside over each truck, where the plan found it.
        coupler_height: rail to coupler centre line, where the plan found it; else it follows from the stack.
    """
    ratio = car.info.ratio.value if car.info.ratio is not None else 87.1
    body = car.body

    def usual(name: str) -> float:
        return _USUAL_IN[name] * 25.4 / ratio

    def size(found: Working | None, name: str) -> Size:
        return Size(usual(name), False) if found is None else Size(found.value, True)

    def both(name: str, a: Working | None, b: Working | None) -> Ends[Size]:
        return Ends(size(a, name), size(b, name))

    kind = car_kind(car.info.type) or "box"
    inside = _mean(body.inside_length)
    across = _mean(body.inside_width)
    if body.length is None and inside is not None:
        length = Size(inside + 2 * usual("end_wall"), False)
    else:
        length = size(body.length, "length")
    wall = usual("wall") if body.wall is None else body.wall.value
    if body.width is None and across is not None:
        width = Size(across + 2 * wall, False)
    else:
        width = size(body.width, "width")
    inside_length = Size(length.mm - 2 * usual("end_wall"), False) if inside is None else Size(inside, True)
    inside_width = Size(width.mm - 2 * wall, False) if across is None else Size(across, True)
    tall = "height" if kind not in ("gondola", "hopper", "flat") else "deck_height" if kind == "flat" else "open_height"
    trucks, couplers = car.trucks, car.coupler
    seat = both("seat", trucks.a.seat_height, trucks.b.seat_height)
    stood = floor_underside or Ends(None, None)
    under = Ends(
        _under(stood.a, seat.a, car.underframe.bolster.a, usual("bolster")),
        _under(stood.b, seat.b, car.underframe.bolster.b, usual("bolster")),
    )
    notch = size(body.end_notch, "notch")
    low = (under.a.mm + under.b.mm) / 2 - notch.mm
    sill = Size(low, False) if body.sill_height is None else Size(body.sill_height.value, True)
    drop = both("drop", couplers.a.drop, couplers.b.drop)
    found = coupler_height or Ends(None, None)
    line = Ends(_line(found.a, under.a, drop.a), _line(found.b, under.b, drop.b))
    gauge = scale_gauge(car.info.scale, car.info.standard)
    inset = Ends(
        _inset(car, trucks.a.inset, length, usual("inset")), _inset(car, trucks.b.inset, length, usual("inset"))
    )
    return CarShape(
        kind=kind,
        house=tall == "height",
        gauge_mm=gauge.value if gauge is not None else 56.5 * 25.4 / ratio,
        length=length,
        width=width,
        inside_length=inside_length,
        inside_width=inside_width,
        lip=size(body.lip_depth, "lip"),
        notch=notch,
        height=size(body.height, tall),
        sill=sill,
        inset=inset,
        seat=seat,
        floor_under=under,
        wheel=both("wheel", trucks.a.wheel_diameter, trucks.b.wheel_diameter),
        wheelbase=both("wheelbase", trucks.a.wheelbase, trucks.b.wheelbase),
        truck_width=both("truck_width", trucks.a.width, trucks.b.width),
        drop=drop,
        pivot_inset=both("pivot_inset", couplers.a.pivot_inset, couplers.b.pivot_inset),
        coupler_length=both("coupler_length", couplers.a.length, couplers.b.length),
        box_length=both("box_length", couplers.a.box_length, couplers.b.box_length),
        box_width=both("box_width", couplers.a.box_width, couplers.b.box_width),
        box_height=both("box_height", couplers.a.box_height, couplers.b.box_height),
        coupler_height=line,
    )


def _mean(found: tuple[Working, ...]) -> float | None:
    return sum(each.value for each in found) / len(found) if found else None


def _under(found: Working | None, seat: Size, bolster: tuple[Working, ...], usual_mm: float) -> Size:
    if found is not None:
        return Size(found.value, True)
    if not bolster:
        return Size(seat.mm + usual_mm, False)
    return Size(seat.mm + sum(layer.value for layer in bolster), seat.known)


def _line(found: Working | None, under: Size, drop: Size) -> Size:
    if found is not None:
        return Size(found.value, True)
    return Size(under.mm - drop.mm, under.known and drop.known)


def _inset(car: Car, inset: Working | None, length: Size, usual_mm: float) -> Size:
    if inset is not None:
        return Size(inset.value, True)
    centers = car.trucks.a.centers or car.trucks.b.centers
    if centers is not None:
        return Size((length.mm - centers.value) / 2, True)
    return Size(usual_mm, False)
