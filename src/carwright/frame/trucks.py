"""A truck as solids in the frame of the floor: two side frames outside of its wheels, four wheels, two axles.

Nothing else of a truck is measured. It is rocked about its own long axis at the bearing face, then swung about its
pivot; the floor's tilt, some thousandths, is left out, since the rock is far more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from carwright.car.model import Car, End
from carwright.frame.layout import usual
from carwright.frame.solids import Prism, Turn, cylinder, turn_of
from carwright.reference import practice_value
from carwright.reference.clearances import wheel_section
from carwright.working import Working, derive

__all__ = ["TruckSolids", "truck_rock", "truck_solids"]


@dataclass(frozen=True, slots=True)
class TruckSolids:
    """One truck.

    Args:
        end: whose.
        numbers: what it is made of, by symbol: "px" and "seat" (its pivot along the car and its bearing face below the
            floor), "swing", "rock", and of "F", "W", "o", "top" (frame), "b", "D", "i" (wheels), "axle" those known;
            "rail" is the rail's top below the floor.
    """

    end: End
    numbers: Mapping[str, Working]

    def parts(self, values: Mapping[str, float] | None = None) -> Iterator[tuple[str, tuple[Prism, ...]]]:
        """Yield each part by its name, with its solids in every position of swing and rock.

        Args:
            values: other values of some numbers.
        """
        at = {symbol: each.value for symbol, each in self.numbers.items()} | dict(values or {})
        letter = self.end.upper()
        positions = tuple(_positions(at))
        if all(each in at for each in ("F", "W", "o", "top", "rail")):
            yield f"side frame of truck {letter}", tuple(p for turn in positions for p in _frames(at, turn))
        if all(each in at for each in ("b", "D", "i", "o", "rail")):
            yield f"wheel of truck {letter}", tuple(p for turn in positions for p in _wheels(at, turn))
            yield f"axle of truck {letter}", tuple(p for turn in positions for p in _axles(at, turn))


def _positions(at: Mapping[str, float]) -> Iterator[Turn]:
    swing, rock = at["swing"], at["rock"]
    swings: Sequence[float] = (0.0, swing, -swing) if swing > 0 else (0.0,)
    rocks: Sequence[float] = (rock, -rock) if rock > 0 else (0.0,)
    for turned, rocked in product(swings, rocks):
        yield turn_of(rocked, 0.0, turned)


def _placed(at: Mapping[str, float], turn: Turn, x: float, y: float, z: float) -> tuple[float, float, float]:
    """Return a point of the truck, told from its pivot on the bearing face, in the floor's frame."""
    dx, dy, dz = (row[0] * x + row[1] * y + row[2] * z for row in turn)
    return (at["px"] + dx, dy, dz - at["seat"])


def _frames(at: Mapping[str, float], turn: Turn) -> Iterator[Prism]:
    """Yield both side frames, from half-way down to the rail up to their tops."""
    half, outer = at["F"] / 2.0, at["W"] / 2.0
    inner = at["o"] if at["o"] < outer else outer - 0.5
    low = -(at["rail"] - at["seat"]) / 2.0
    for near, far in ((inner, outer), (-outer, -inner)):
        outline = ((half, near), (half, far), (-half, far), (-half, near))
        yield Prism.made(outline, low, at["top"], turn, _placed(at, turn, 0.0, 0.0, 0.0))


def _wheels(at: Mapping[str, float], turn: Turn) -> Iterator[Prism]:
    height = at["D"] / 2.0 - (at["rail"] - at["seat"])
    radius = at["D"] / 2.0 + at.get("flange", 0.0)
    across = (turn[0][1], turn[1][1], turn[2][1])
    for x, y in product((at["b"] / 2.0, -at["b"] / 2.0), (at["i"], -at["o"])):
        yield cylinder(_placed(at, turn, x, y, height), across, at["o"] - at["i"], radius)


def _axles(at: Mapping[str, float], turn: Turn) -> Iterator[Prism]:
    height = at["D"] / 2.0 - (at["rail"] - at["seat"])
    across = (turn[0][1], turn[1][1], turn[2][1])
    for x in (at["b"] / 2.0, -at["b"] / 2.0):
        yield cylinder(_placed(at, turn, x, -at["i"], height), across, 2.0 * at["i"], at["axle"] / 2.0)


def truck_rock(car: Car, end: End) -> Working:
    """Return how far a truck rocks to each side, degrees: as measured, by the play at its side frame, or as usual."""
    truck = car.trucks.at(end)
    if truck.rock is not None:
        return truck.rock
    if truck.play is not None and truck.width is not None and truck.play.value < truck.width.value / 2:
        return derive("rock of the truck", "degrees(asin(2*p/W))", "deg", p=truck.play, W=truck.width)
    return practice_value("truck_rock")


def truck_solids(
    car: Car, end: End, *, pivot: Working, seat: Working, over_rail: Working | None, swing: Working
) -> TruckSolids:
    """Return one truck, as far as it was measured.

    Args:
        car: the car.
        end: whose truck.
        pivot: from mid-car, mm.
        seat: its bearing face below the floor's underside, mm.
        over_rail: the floor's underside above the rail over this truck, mm; None while not known.
        swing: how far it turns each way, degrees.
    """
    truck = car.trucks.at(end)
    numbers: dict[str, Working] = {"px": pivot, "seat": seat, "swing": swing, "rock": truck_rock(car, end)}
    if over_rail is not None:
        numbers["rail"] = over_rail
    section = wheel_section(car.info.scale, car.info.standard)
    for symbol, size in (
        ("F", truck.frame_length),
        ("W", truck.width),
        ("top", truck.frame_top),
        ("b", truck.wheelbase),
        ("D", truck.wheels or truck.wheel_diameter),
        ("i", None if section is None else section.inner),
        ("o", None if section is None else section.outer),
        ("flange", None if section is None else section.flange),
    ):
        if size is not None:
            numbers[symbol] = size
    return TruckSolids(end, numbers | {"axle": usual("axle_diameter", "diameter of an axle", car)})


def reach_mm(truck: TruckSolids) -> float:
    """Return how far from its pivot any part of a truck can be, seen from above, mm."""
    at = {symbol: each.value for symbol, each in truck.numbers.items()}
    along = max(at.get("F", 0.0) / 2.0, (at.get("b", 0.0) + at.get("D", 0.0)) / 2.0 + at.get("flange", 0.0))
    return math.hypot(along, max(at.get("W", 0.0) / 2.0, at.get("o", 0.0)))
