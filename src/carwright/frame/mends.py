"""What would mend a clash: the least move, cut or shorter screw after which the part shares room with nothing.

A move is tried on the parts as they stand: the part, with what belongs to it, slides along the car or across it until
it is clear of everything, and then back as far as it stays so. Places are whole thousandths of an inch or hundredths of
a millimetre.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from carwright.car.model import Car
from carwright.frame.clash import TRUCK_KINDS, Clash, Part, share_room
from carwright.frame.solids import TOUCH_MM, Prism, apart
from carwright.lengths import number_in, show_in

__all__ = ["Mends"]

_MEMBER = re.compile(r"^(crosstie|crossbearer)_\d+(_flange)?$")
_FIXED = ("floor", "bolster_", "screw_block_", "center_sill", "end_sill_", "brake_rod_", "hand_brake_rod", "train_line")
"""Pieces whose place follows from others: they are not moved to mend a clash."""

_TRIES = 12
"""Parts that a slide may have to pass before it is given up."""

_FARTHEST = 0.25
"""Greatest move as a share of the car's length; further it would be another car."""

_THINNEST = 0.5
"""Share of a wire's thickness below which another wire would no longer read as the same pipe."""

Axis = Literal["x", "y"]


@dataclass(frozen=True, slots=True)
class _Move:
    """A move in mm along an axis, and the place that the file would then give."""

    name: str
    said: str
    axis: Axis
    by_mm: float
    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class _Solid:
    """One solid of a part."""

    part: Part
    number: int
    prism: Prism


class Mends:
    """Finds mends for the clashes of one car; what was found for a part is kept for its other clashes.

    Args:
        parts: all that was compared.
        car: for its units, its length and the pieces that its file moves.
    """

    def __init__(self, parts: Sequence[Part], car: Car) -> None:
        self._parts = parts
        self._car = car
        self._units = car.info.units
        self._grid = 0.0254 if car.info.units == "in" else 0.01
        length = car.body.length.value if car.body.length is not None else 150.0
        self._far = _FARTHEST * length
        self._moves: dict[str, _Move | None] = {}

    def mend(self, clash: Clash) -> str:
        """Return what to do about a clash, in one or two sentences; with the line for the file where there is one."""
        for one in (clash.first, clash.second):
            if one.name.startswith("train_line") and not self._axes(one):
                return self._thinner_wire(one, clash)
        by_moving = [move for each in (clash.first, clash.second) if (move := self._move_of(each)) is not None]
        if by_moving:
            typed = {each.name for each in self._car.pieces}
            return self._said_move(
                min(by_moving, key=lambda each: (each.name not in typed, abs(each.by_mm), each.name))
            )
        for one, other in ((clash.first, clash.second), (clash.second, clash.first)):
            if one.kind == "screw":
                return self._shorter_screw(one, other, clash)
        for one, other in ((clash.first, clash.second), (clash.second, clash.first)):
            words = self._by_kind(one, other, clash)
            if words:
                return words
        return f"One of them must give way by {self._shown(clash.depth.value)}; {self._typed_places(clash)}"

    def _shown(self, mm: float) -> str:
        return show_in(math.ceil(mm / self._grid - 1e-6) * self._grid, self._units)

    def _number(self, mm: float) -> str:
        return number_in(mm, self._units)

    def _typed_places(self, clash: Clash) -> str:
        moved = {each.name for each in self._car.pieces}
        typed = [each.said for each in (clash.first, clash.second) if _root(each.name) in moved]
        if typed:
            return f"the file's own [[piece]] table puts {' and '.join(typed)} there."
        return "give it another place or size as a [[piece]]."

    # ------------------------------------------------------------------------------------------------------- moving

    def _axes(self, part: Part) -> tuple[Axis, ...]:
        if part.kind != "made" or part.piece is None:
            return ()
        if _MEMBER.match(part.name):
            return ("x",)
        if part.name.startswith(_FIXED):
            typed = {each.name: each for each in self._car.pieces}.get(part.name)
            if typed is None or part.name.startswith(("floor", "center_sill")):
                return ()
            return ("x",) if typed.x is not None and typed.y is None else ("x", "y")
        return () if part.piece.also else ("x", "y")

    def _move_of(self, part: Part) -> _Move | None:
        """Return the least move of a part, with what belongs to it, that frees it of everything; None without one."""
        root = _root(part.name)
        if root not in self._moves:
            found = [
                move
                for axis in self._axes(part)
                for way in (1.0, -1.0)
                if (move := self._slide(root, axis, way)) is not None
            ]
            self._moves[root] = min(found, key=lambda each: (abs(each.by_mm), each.axis, -each.by_mm), default=None)
        return self._moves[root]

    def _slide(self, root: str, axis: Axis, way: float) -> _Move | None:
        group = [each for each in self._parts if _root(each.name) == root]
        others = self._in_the_way(group, root, axis)
        place = _place(group, root, axis)

        def rounded(by: float) -> float:
            """Return the move that brings the place to the next whole step, no shorter than ``by``."""
            to = (place + way * by) / self._grid
            return (math.ceil(to - 1e-6) if way > 0 else math.floor(to + 1e-6)) * self._grid - place

        def shifted(by: float) -> list[Part]:
            return [_shifted(each, axis, by) for each in group]

        low, by = 0.0, 0.0
        for _ in range(_TRIES):
            needed = _clearance(shifted(way * by), others, axis, way)
            if needed is None:
                break
            low, by = by, abs(rounded(by + needed))
            if by > self._far or self._passes_a_truck(place, place + way * by, axis):
                return None
        else:
            return None
        if by == 0.0:
            return None
        while by - low > self._grid * 1.01:
            middle = abs(rounded((low + by) / 2.0))
            if middle >= by - 1e-9 or middle <= low + 1e-9:
                break
            if _clearance(shifted(way * middle), others, axis, way) is not None:
                low = middle
            else:
                by = middle
        return _Move(root, group[0].said, axis, way * by, place, place + way * by)

    def _passes_a_truck(self, start: float, stop: float, axis: Axis) -> bool:
        """Return whether a part that hangs between the trucks would be moved over one of them."""
        pivots = [each.numbers["px"].value for each in self._parts if each.name.startswith("bolster_")]
        return axis == "x" and any((start - pivot) * (stop - pivot) <= 0.0 for pivot in pivots)

    def _in_the_way(self, group: Sequence[Part], root: str, axis: Axis) -> list[_Solid]:
        """Return the solids that a group may meet as it slides: those beside its course are left out."""
        at = 0 if axis == "x" else 1
        course = [each for each in range(3) if each != at]
        lows = [min(prism.lows[i] for part in group for prism in part.prisms) for i in range(3)]
        highs = [max(prism.highs[i] for part in group for prism in part.prisms) for i in range(3)]
        lows[at] -= self._far
        highs[at] += self._far
        return [
            _Solid(part, number, prism)
            for part in self._parts
            if _root(part.name) != root
            for number, prism in enumerate(part.prisms)
            if prism.lows[at] < highs[at]
            and prism.highs[at] > lows[at]
            and all(prism.lows[i] < highs[i] and prism.highs[i] > lows[i] for i in course)
        ]

    def _said_move(self, move: _Move) -> str:
        ahead = abs(move.to_mm) < abs(move.from_mm)
        if move.axis == "x":
            where = "toward mid-car" if ahead else f"toward the {'A' if move.by_mm > 0 else 'B'} end"
        else:
            where = "toward the centre line" if ahead else f"to the {'left' if move.by_mm > 0 else 'right'}"
        name = next((each.said for each in self._parts if each.name == move.name), move.said)
        line = f'[[piece]] name = "{move.name}", {move.axis} = "{self._number(move.to_mm)}"'
        return f"Move {name} by {self._shown(abs(move.by_mm))} {where}: {line}."

    # ---------------------------------------------------------------------------------------------- all other mends

    def _thinner_wire(self, wire: Part, clash: Clash) -> str:
        """Return the wire that would clear what the train line stands in: it gives way on both sides alike."""
        left = wire.numbers["t"].value - 2.0 * clash.depth.value
        thin = math.floor(left / self._grid + 1e-6) * self._grid
        if thin < _THINNEST * wire.numbers["t"].value:
            return "Move what stands in the train line's way, or leave the train line out."
        return f'Take thinner wire: underframe.train_line = "{self._number(thin)}".'

    def _shorter_screw(self, screw: Part, other: Part, clash: Clash) -> str:
        shank = screw.prisms[0]
        above = [each.lows[2] for each in other.prisms if not apart(shank, each)]
        key = "trucks.screw_length" if screw.name.startswith("truck") else "coupler.screw_length"
        length = screw.numbers["l"].value
        if above and min(above) > shank.lows[2] + TOUCH_MM:
            over = math.ceil((shank.highs[2] - min(above)) / self._grid - 1e-6) * self._grid
            left = math.floor((length - over) / self._grid + 1e-6) * self._grid
            if left > 0:
                return f'Take a screw {self._shown(over)} shorter: {key} = "{self._number(left)}".'
        return f"Move {other.said} or the screw by {self._shown(clash.depth.value)}: they stand in each other's way."

    def _by_kind(self, one: Part, other: Part, clash: Clash) -> str:
        by_truck = other.kind in TRUCK_KINDS
        trucks = (each for each in self._parts if each.kind in TRUCK_KINDS)
        near = [
            solid for truck in trucks for solid in truck.prisms if any(not apart(mine, solid) for mine in one.prisms)
        ]
        if one.name == "floor" and by_truck:
            rise = max((each.highs[2] for each in near), default=clash.depth.value)
            return f"Raise the floor by {self._shown(rise)}: a thicker bolster, or washers."
        if one.name.startswith("bolster_") and by_truck:
            inner = min((_nearest(each) for each in near), default=0.0)
            wide = math.floor(2.0 * inner / self._grid + 1e-6) * self._grid
            if wide > one.numbers["t"].value:
                return f'Make the bolster shorter across the car: underframe.bolster_length = "{self._number(wide)}".'
            return "Raise the car on its trucks: a washer lifts the bolster off them."
        if one.name.startswith("center_sill") and by_truck:
            free = -max((each.highs[2] for each in near), default=0.0)
            deep = math.floor(free / self._grid + 1e-6) * self._grid
            if deep > 0.0:
                line = f'[[piece]] name = "center_sill", thickness = "{self._number(deep)}"'
                return f"Make the centre sill shallower: {line}."
        if one.kind == "there" and by_truck:
            return (
                f"Measure {one.said} again; if it is right, the truck may turn less, or the car must stand "
                f"{self._shown(clash.depth.value)} higher."
            )
        return ""


def _root(name: str) -> str:
    """Return the name of the piece that the file moves: a flange goes with its web."""
    return name.removesuffix("_flange") if _MEMBER.match(name) else name


def _place(group: Sequence[Part], root: str, axis: Axis) -> float:
    """Return the place that the file would give for a part: of a cross member, the middle of its web."""
    own = [each for each in group if each.name == root] or list(group)
    places = [each.numbers["px" if axis == "x" else "py"].value for each in own]
    return sum(places) / len(places)


def _shifted(part: Part, axis: Axis, by: float) -> Part:
    at = 0 if axis == "x" else 1

    def moved(prism: Prism) -> Prism:
        place, lows, highs = list(prism.place), list(prism.lows), list(prism.highs)
        for each in (place, lows, highs):
            each[at] += by
        return replace(
            prism,
            place=(place[0], place[1], place[2]),
            lows=(lows[0], lows[1], lows[2]),
            highs=(highs[0], highs[1], highs[2]),
        )

    return replace(part, prisms=tuple(moved(each) for each in part.prisms))


def _clearance(group: Sequence[Part], others: Sequence[_Solid], axis: Axis, way: float) -> float | None:
    """Return how far a group must still go to be past the boxes of what it shares room with; None where it is free."""
    at = 0 if axis == "x" else 1
    needed = [
        (each.prism.highs[at] - mine.lows[at]) if way > 0 else (mine.highs[at] - each.prism.lows[at])
        for part in group
        for k, mine in enumerate(part.prisms)
        for each in others
        if not apart(mine, each.prism) and share_room(part, k, each.part, each.number) is not None
    ]
    return max(needed, default=None)


def _nearest(prism: Prism) -> float:
    """Return how near to the centre line a prism comes, mm; nothing where it lies over it."""
    if prism.lows[1] < 0.0 < prism.highs[1]:
        return 0.0
    return min(abs(prism.lows[1]), abs(prism.highs[1]))
