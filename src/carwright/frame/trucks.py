"""A truck as solids in the frame of the floor: two side frames outside of its wheels, four wheels, two axles.

Nothing else of a truck is measured. It is rocked about its own long axis at the bearing face, then swung about its
pivot; the floor's tilt, some thousandths, is left out, since the rock is far more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Literal

from carwright.car.model import Car, End, Ends
from carwright.frame.layout import usual
from carwright.frame.solids import Prism, Turn, Vector, cylinder, turn_of
from carwright.reference import practice_value
from carwright.reference.clearances import wheel_section
from carwright.working import Working, derive

__all__ = ["Position", "TruckKind", "TruckSolids", "bolster_room", "rooms_cut_alike", "truck_rock", "truck_solids"]

TruckKind = Literal["side_frame", "wheel", "axle"]

_STEP_DEG = 4.0
"""Greatest turn between two positions that are looked at: a side frame's corner moves 0.04 in (HO) between them."""

_FRAME, _WHEEL, _AXLE = ("F", "W", "o", "top", "J"), ("b", "D", "i", "o", "J"), ("b", "D", "i", "J", "axle")


@dataclass(frozen=True, slots=True)
class Position:
    """How a truck stands: shares, from -1 to 1, of its greatest swing and rock."""

    swing: float
    rock: float


@dataclass(frozen=True, slots=True)
class TruckSolids:
    """One truck.

    Args:
        end: whose.
        numbers: what it is made of, by symbol: "px" its pivot along the car, "seat" its bearing face below the floor,
            "J" the same above the rail, "swing", "rock", and of "F", "W", "o", "top" (frame), "b", "D", "i", "flange"
            (wheels) and "axle" (its diameter) those known.
        needs: keys of the car file that are missing, by kind of part.
        positions: those in which it is looked at.
    """

    end: End
    numbers: Mapping[str, Working]
    needs: Mapping[TruckKind, tuple[str, ...]]
    positions: tuple[Position, ...]

    def kinds(self) -> tuple[TruckKind, ...]:
        """Return the kinds of parts whose sizes are all known."""
        kinds: tuple[TruckKind, ...] = ("side_frame", "wheel", "axle")
        return tuple(kind for kind in kinds if not self.needs.get(kind))

    def values(self) -> dict[str, float]:
        """Return the numbers' values by symbol."""
        return {symbol: each.value for symbol, each in self.numbers.items()}

    def count(self, kind: TruckKind) -> int:
        """Return how many solids a kind of part is, over all positions."""
        return len(self.positions) * _MANY[kind]

    def position(self, kind: TruckKind, number: int) -> Position:
        """Return the position in which a solid stands."""
        return self.positions[number // _MANY[kind]]

    def prism(self, kind: TruckKind, number: int, values: Mapping[str, float]) -> Prism:
        """Return one solid from the values of the numbers.

        Args:
            kind: of part.
            number: of the solid, from 0, position by position.
            values: of the symbols of ``numbers``.
        """
        at = self.position(kind, number)
        turn = turn_of(at.rock * values["rock"], 0.0, at.swing * values["swing"])
        return _BUILD[kind](values, turn, number % _MANY[kind])

    def boxes(self, kind: TruckKind) -> Iterator[tuple[int, Vector, Vector]]:
        """Yield each solid's number with the corners of the box around it, in the floor's frame."""
        at = self.values()
        for place, position in enumerate(self.positions):
            turn = turn_of(position.rock * at["rock"], 0.0, position.swing * at["swing"])
            for number in range(_MANY[kind]):
                yield (place * _MANY[kind] + number, *_BOXES[kind](at, turn, number))

    def box(self, kind: TruckKind) -> tuple[Vector, Vector]:
        """Return the corners of a box that holds a kind of part in every position, in the floor's frame."""
        at = self.values()
        lean, half = math.radians(at["rock"]), max(at.get("W", 0.0) / 2.0, at.get("o", 0.0))
        if kind == "side_frame":
            along, low, high = at["F"] / 2.0, -at["J"] / 2.0, at["top"]
        else:
            radius = (at["D"] / 2.0 + at.get("flange", 0.0)) if kind == "wheel" else at["axle"] / 2.0
            along = at["b"] / 2.0 + radius
            low, high = at["D"] / 2.0 - at["J"] - radius, at["D"] / 2.0 - at["J"] + radius
        far = math.hypot(along, half)
        rise = half * math.sin(lean)
        aside = far + max(abs(low), abs(high)) * math.sin(lean)
        return (
            (at["px"] - far, -aside, low - at["seat"] - rise),
            (at["px"] + far, aside, max(high, high * math.cos(lean)) - at["seat"] + rise),
        )


def _placed(at: Mapping[str, float], turn: Turn, x: float, y: float, z: float) -> Vector:
    """Return a point of the truck, told from its pivot on the bearing face, in the floor's frame."""
    dx, dy, dz = (row[0] * x + row[1] * y + row[2] * z for row in turn)
    return (at["px"] + dx, dy, dz - at["seat"])


def _frame(at: Mapping[str, float], turn: Turn, number: int) -> Prism:
    """Return a side frame, from half-way down to the rail up to its top."""
    half, outer = at["F"] / 2.0, at["W"] / 2.0
    inner = min(at["o"], outer - 0.5)
    near, far = (inner, outer) if number == 0 else (-outer, -inner)
    outline = ((half, near), (half, far), (-half, far), (-half, near))
    return Prism.made(outline, -at["J"] / 2.0, at["top"], turn, _placed(at, turn, 0.0, 0.0, 0.0))


def _wheel(at: Mapping[str, float], turn: Turn, number: int) -> Prism:
    x = at["b"] / 2.0 * (1.0 if number < 2 else -1.0)
    y = at["i"] if number % 2 == 0 else -at["o"]
    radius = at["D"] / 2.0 + at.get("flange", 0.0)
    start = _placed(at, turn, x, y, at["D"] / 2.0 - at["J"])
    return cylinder(start, (turn[0][1], turn[1][1], turn[2][1]), at["o"] - at["i"], radius)


def _axle(at: Mapping[str, float], turn: Turn, number: int) -> Prism:
    x = at["b"] / 2.0 * (1.0 if number == 0 else -1.0)
    start = _placed(at, turn, x, -at["i"], at["D"] / 2.0 - at["J"])
    return cylinder(start, (turn[0][1], turn[1][1], turn[2][1]), 2.0 * at["i"], at["axle"] / 2.0)


def _frame_box(at: Mapping[str, float], turn: Turn, number: int) -> tuple[Vector, Vector]:
    solid = _frame(at, turn, number)
    return solid.lows, solid.highs


def _wheel_box(at: Mapping[str, float], turn: Turn, number: int) -> tuple[Vector, Vector]:
    x = at["b"] / 2.0 * (1.0 if number < 2 else -1.0)
    y = (at["i"] + at["o"]) / 2.0 * (1.0 if number % 2 == 0 else -1.0)
    middle = _placed(at, turn, x, y, at["D"] / 2.0 - at["J"])
    return _round_box(middle, turn, (at["o"] - at["i"]) / 2.0, at["D"] / 2.0 + at.get("flange", 0.0))


def _axle_box(at: Mapping[str, float], turn: Turn, number: int) -> tuple[Vector, Vector]:
    x = at["b"] / 2.0 * (1.0 if number == 0 else -1.0)
    return _round_box(_placed(at, turn, x, 0.0, at["D"] / 2.0 - at["J"]), turn, at["i"], at["axle"] / 2.0)


def _round_box(middle: Vector, turn: Turn, half: float, radius: float) -> tuple[Vector, Vector]:
    """Return the box around a round solid whose axis lies across the truck."""
    far = [half * abs(row[1]) + radius * math.sqrt(max(0.0, 1.0 - row[1] * row[1])) for row in turn]
    return (
        (middle[0] - far[0], middle[1] - far[1], middle[2] - far[2]),
        (middle[0] + far[0], middle[1] + far[1], middle[2] + far[2]),
    )


_BOXES = {"side_frame": _frame_box, "wheel": _wheel_box, "axle": _axle_box}
_MANY: Mapping[TruckKind, int] = {"side_frame": 2, "wheel": 4, "axle": 2}
_BUILD = {"side_frame": _frame, "wheel": _wheel, "axle": _axle}


def truck_rock(car: Car, end: End) -> Working:
    """Return how far a truck rocks to each side, degrees: as measured, by the play at its side frame, or as usual."""
    truck = car.trucks.at(end)
    if truck.rock is not None:
        return truck.rock
    if truck.play is not None and truck.width is not None and truck.play.value < truck.width.value / 2:
        return derive("rock of the truck", "degrees(asin(2*p/W))", "deg", p=truck.play, W=truck.width)
    return practice_value("truck_rock")


def rooms_cut_alike(rooms: Ends[Working | None]) -> Ends[Working | None]:
    """Return the rooms of both bolsters, the smaller for both where they differ by less than is read off a caliper."""
    if rooms.a is None or rooms.b is None:
        return rooms
    if not 0.0 < abs(rooms.a.value - rooms.b.value) < practice_value("cut_step").value:
        return rooms
    small, large = (rooms.a, rooms.b) if rooms.a.value < rooms.b.value else (rooms.b, rooms.a)
    note = f"both bolsters are cut alike: {large.name} is larger by less than a caliper shows"
    alike = derive(f"{small.name}, for both", "r", r=small, note=note)
    return Ends(alike, alike)


def bolster_room(
    car: Car, end: End, *, along: Working, seat: Working | None, swing: Working, washers: Sequence[Working]
) -> Working | None:
    """Return the length across the car that a truck leaves a body bolster, mm; None where it sets no limit.

    With a side frame's inner face at ``o`` and its top at ``t`` above the bearing face, rocked by ``r`` its innermost
    point is at ``o cos r - t sin r``; swung by ``s`` it must clear the bolster's corner, ``b/2`` along the car. A wheel
    that the corner can reach limits it to the room between the wheels' backs. What stays below the bolster, or was not
    measured, sets no limit.

    Args:
        car: the car.
        end: whose truck.
        along: length of the bolster along the car, mm.
        seat: the truck's bearing face above the rail, mm; None while not known.
        swing: of the truck each way, degrees.
        washers: between truck and bolster.
    """
    truck, section = car.trucks.at(end), wheel_section(car.info.scale, car.info.standard)
    if section is None:
        return None
    rock = truck_rock(car, end)
    gap = usual("frame_gap", "gap beside the bolster", car)
    below = sum(each.value for each in washers)
    lean = math.radians(rock.value)
    found: list[Working] = []
    top, width = truck.frame_top, truck.width
    if top is not None and width is not None:
        highest = width.value / 2.0 * math.sin(lean) + top.value * math.cos(lean)
        if highest > below:
            found.append(
                derive(
                    f"room for bolster {end.upper()} between the side frames",
                    "2*(o*cos(radians(r)) - t*sin(radians(r)) - g - b/2*sin(radians(s)))/cos(radians(s))",
                    o=section.outer,
                    r=rock,
                    t=top,
                    g=gap,
                    b=along,
                    s=swing,
                )
            )
    wheel, base = truck.wheels or truck.wheel_diameter, truck.wheelbase
    if wheel is not None and base is not None and seat is not None:
        radius = wheel.value / 2.0 + section.flange.value
        over = below - (wheel.value / 2.0 - seat.value + section.outer.value * math.sin(lean))
        if over < radius:
            near = base.value / 2.0 - math.sqrt(radius**2 - max(over, 0.0) ** 2)
            reach = _corner(along.value / 2.0, found[0].value / 2.0 if found else section.outer.value, swing.value)
            if reach > near - gap.value:
                found.append(
                    derive(
                        f"room for bolster {end.upper()} between the wheels' backs",
                        "2*(i*cos(radians(r)) - (D + f - J)*sin(radians(r)) - g)",
                        i=section.inner,
                        r=rock,
                        D=wheel,
                        f=section.flange,
                        J=seat,
                        g=gap,
                    )
                )
    return min(found, key=lambda each: each.value, default=None)


def _corner(along: float, across: float, swing_deg: float) -> float:
    """Return how far along the truck a bolster's corner comes as the truck swings, mm."""
    turn = min(math.radians(swing_deg), math.atan2(across, along))
    return along * math.cos(turn) + across * math.sin(turn)


def _positions(swing: Working, rock: Working) -> tuple[Position, ...]:
    """Return straight ahead and level first, then every turn with both rocks."""
    steps = math.ceil(swing.value / _STEP_DEG - 1e-9)
    swings: Sequence[float] = (0.0, *(way * n / steps for n in range(1, steps + 1) for way in (1.0, -1.0)))
    rocks: Sequence[float] = (0.0, 1.0, -1.0) if rock.value > 0.0 else (0.0,)
    return tuple(Position(turned, leaned) for leaned, turned in product(rocks, swings))


def truck_solids(
    car: Car, end: End, *, pivot: Working, seat: Working, over_rail: Working | None, swing: Working
) -> TruckSolids:
    """Return one truck, as far as it was measured.

    Args:
        car: the car.
        end: whose truck.
        pivot: from mid-car, mm.
        seat: its bearing face below the floor's underside, mm.
        over_rail: its bearing face above the rail, mm; None while not known.
        swing: how far it turns each way, degrees.
    """
    truck = car.trucks.at(end)
    rock = truck_rock(car, end)
    section = wheel_section(car.info.scale, car.info.standard)
    numbers: dict[str, Working] = {"px": pivot, "seat": seat, "swing": swing, "rock": rock}
    numbers["axle"] = usual("axle_diameter", "diameter of an axle", car)
    missing: dict[str, str] = {}
    for symbol, key, size in (
        ("J", "trucks.seat_height", over_rail),
        ("F", "trucks.frame_length", truck.frame_length),
        ("W", "trucks.width", truck.width),
        ("top", "trucks.frame_top", truck.frame_top),
        ("b", "trucks.wheelbase", truck.wheelbase),
        ("D", "trucks.wheel_diameter", truck.wheels or truck.wheel_diameter),
        ("i", "car.scale", None if section is None else section.inner),
        ("o", "car.scale", None if section is None else section.outer),
        ("flange", "car.scale", None if section is None else section.flange),
    ):
        if size is None:
            missing[symbol] = key
        else:
            numbers[symbol] = size
    wanted: Mapping[TruckKind, tuple[str, ...]] = {"side_frame": _FRAME, "wheel": _WHEEL, "axle": _AXLE}
    needs = {
        kind: tuple(dict.fromkeys(missing[symbol] for symbol in symbols if symbol in missing))
        for kind, symbols in wanted.items()
    }
    return TruckSolids(end, numbers, needs, _positions(swing, rock))
