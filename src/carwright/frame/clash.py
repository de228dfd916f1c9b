"""Interference: every pair of parts in space, with the trucks swung and rocked, and the screws as long as they are.

The boxes around the parts are swept along the car, and only parts whose boxes share room are compared exactly. Parts
that only touch do not interfere; nor do a wire and the piece whose hole it passes, a screw and what it holds together,
or two things that were there already.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from carwright.findings import Finding
from carwright.frame.solids import TOUCH_MM, Overlap, Prism, apart, numbers_of, overlap, prisms_of
from carwright.frame.trucks import TruckSolids
from carwright.lengths import show_in
from carwright.pieces import Piece
from carwright.working import Working, chosen, derive, derived

__all__ = ["Clash", "Part", "clash_finding", "clashes", "part", "parts_of", "said_part", "truck_parts"]

Build = Callable[[Mapping[str, float]], tuple[Prism, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A part in space.

    Args:
        name: of the piece, or what it is in words.
        numbers: that it is made of, by symbol.
        build: its solids from the values of these numbers, in the floor's frame.
        present: whether it was there already, or is bought: two such parts are not compared.
        holds: names of what it passes through and may share room with.
        piece: the piece, where it is one.
        prisms: its solids as they are now.
    """

    name: str
    numbers: Mapping[str, Working]
    build: Build
    present: bool = False
    holds: frozenset[str] = frozenset()
    piece: Piece | None = None
    prisms: tuple[Prism, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Clash:
    """Two parts that share room: the least extent of what they share, mm, and its volume, mm3."""

    first: str
    second: str
    depth: Working
    volume: Working


def part(
    name: str,
    numbers: Mapping[str, Working],
    build: Build,
    *,
    present: bool = False,
    holds: frozenset[str] = frozenset(),
    piece: Piece | None = None,
) -> Part:
    """Return a part with its solids as its numbers are now; the arguments are the fields of ``Part``."""
    now = build({symbol: each.value for symbol, each in numbers.items()})
    return Part(name, numbers, build, present, holds, piece, now)


def _builder(form: str) -> Build:
    return lambda values: prisms_of(values, form=form)


def parts_of(pieces: Sequence[Piece]) -> tuple[Part, ...]:
    """Return each piece at each of its places; what does not hang anywhere yet is left out."""
    found = []
    for piece in pieces:
        for pose in (piece.pose, *piece.also):
            numbers = numbers_of(piece, pose)
            if numbers:
                found.append(part(piece.name, numbers, _builder(piece.form), present=not piece.made, piece=piece))
    return tuple(found)


def truck_parts(trucks: Sequence[TruckSolids]) -> tuple[Part, ...]:
    """Return side frames, wheels and axles of the trucks, each in every position of swing and rock."""
    found = []
    for truck in trucks:
        for name, _ in truck.parts():
            found.append(part(name, truck.numbers, _truck_builder(truck, name), present=True))
    return tuple(found)


def _truck_builder(truck: TruckSolids, name: str) -> Build:
    return lambda values: next((prisms for each, prisms in truck.parts(values) if each == name), ())


def _pairs(parts: Sequence[Part]) -> Iterator[tuple[int, int, int, int]]:
    """Yield part, solid, part, solid whose boxes share room, by a sweep along the car."""
    solids = [
        (prism.lows[0], prism.highs[0], i, k) for i, each in enumerate(parts) for k, prism in enumerate(each.prisms)
    ]
    solids.sort()
    open_ones: list[tuple[float, float, int, int]] = []
    for solid in solids:
        low = solid[0]
        open_ones = [each for each in open_ones if each[1] > low + TOUCH_MM]
        mine = parts[solid[2]].prisms[solid[3]]
        for _, _, i, k in open_ones:
            if i != solid[2] and not apart(parts[i].prisms[k], mine):
                yield i, k, solid[2], solid[3]
        open_ones.append(solid)


def _may_share(first: Part, second: Part) -> bool:
    """Return whether two parts may share room, or need not be compared."""
    if first.name == second.name or (first.present and second.present):
        return True
    return second.name in first.holds or first.name in second.holds


def _passes(wire: Part, k: int, plate: Part) -> bool:
    """Return whether a wire's stretch goes through a hole of a plate, with all of its thickness inside it."""
    if wire.piece is None or plate.piece is None or wire.piece.form != "wire":
        return False
    if plate.name == "center_sill_core":
        return any(hole.angle_deg is not None for hole in plate.piece.holes)
    stretch, prism = wire.prisms[k], plate.prisms[0]
    turn = prism.turn
    start = tuple(a - b for a, b in zip(stretch.place, prism.place, strict=True))
    axis = (stretch.turn[0][2], stretch.turn[1][2], stretch.turn[2][2])
    own = [sum(turn[r][c] * start[r] for r in range(3)) for c in range(3)]
    way = [sum(turn[r][c] * axis[r] for r in range(3)) for c in range(3)]
    if abs(way[2]) < 1e-6:
        return False
    radius = wire.numbers["t"].value / 2.0
    for hole in plate.piece.holes:
        if hole.x_mm is None:
            continue
        room = hole.diameter_mm.value / 2.0 - radius + TOUCH_MM
        for face in (prism.low, prism.high):
            step = (face - own[2]) / way[2]
            off = math.hypot(own[0] + way[0] * step - hole.x_mm.value, own[1] + way[1] * step - hole.y_mm.value)
            if off <= room:
                return True
    return False


def clashes(parts: Sequence[Part]) -> tuple[Clash, ...]:
    """Return each two parts that share room, by name, with the place where they share most of it.

    Args:
        parts: pieces, trucks and screws, in the floor's frame.
    """
    worst: dict[tuple[str, str], tuple[Overlap, int, int, int, int]] = {}
    for i, k, j, m in _pairs(parts):
        first, second = parts[i], parts[j]
        if _may_share(first, second) or _passes(first, k, second) or _passes(second, m, first):
            continue
        shared = overlap(first.prisms[k], second.prisms[m])
        if shared is None:
            continue
        if (first.name, second.name) > (second.name, first.name):
            i, k, j, m = j, m, i, k
        pair = (parts[i].name, parts[j].name)
        if pair not in worst or shared.volume_mm3 > worst[pair][0].volume_mm3:
            worst[pair] = (shared, i, k, j, m)
    return tuple(_clash(parts[i], k, parts[j], m) for _, (_, i, k, j, m) in sorted(worst.items()))


def _clash(first: Part, k: int, second: Part, m: int) -> Clash:
    """Return a clash with its two numbers, each found again from those sizes and places that it hangs on."""
    inputs = {f"a_{symbol}": each for symbol, each in first.numbers.items()}
    inputs |= {f"b_{symbol}": each for symbol, each in second.numbers.items()}
    now = {symbol: each.value for symbol, each in inputs.items()}

    def shared(values: Mapping[str, float]) -> Overlap:
        one = first.build({symbol[2:]: value for symbol, value in values.items() if symbol.startswith("a_")})
        other = second.build({symbol[2:]: value for symbol, value in values.items() if symbol.startswith("b_")})
        if k >= len(one) or m >= len(other):
            return Overlap(0.0, 0.0)
        return overlap(one[k], other[m]) or Overlap(0.0, 0.0)

    here = shared(now)
    moved = {symbol: shared({**now, symbol: value + _NUDGE}) for symbol, value in now.items()}
    words = f"{first.name} and {second.name}"

    def number(name: str, unit: str, read: Callable[[Overlap], float]) -> Working:
        felt = {symbol: inputs[symbol] for symbol in inputs if abs(read(moved[symbol]) - read(here)) > 1e-12}
        if not felt:
            return chosen(read(here), name, unit, note="one part lies wholly within the other")
        return derived(
            name,
            "room that both solids take",
            felt,
            unit,
            note="both parts built from their sizes, places and turns in the floor's frame, and intersected",
            function=lambda *values: read(shared({**now, **dict(zip(felt, values, strict=True))})),
        )

    return Clash(
        first.name,
        second.name,
        number(f"depth that {words} share", "mm", lambda each: each.depth_mm),
        number(f"volume that {words} share", "mm3", lambda each: each.volume_mm3),
    )


_NUDGE = 1e-4
"""How far a size is moved, mm or degrees, to see whether what is shared hangs on it."""


def said_part(name: str) -> str:
    """Return how a part is called in a sentence: "crosstie_4_flange" is "crosstie 4 flange", "bolster_a" bolster A."""
    words = name.split("_")
    return " ".join(word.upper() if len(word) == 1 and word.isalpha() else word for word in words)


def clash_finding(clash: Clash, units: Literal["in", "mm"]) -> Finding:
    """Return the finding of a clash: both parts, what they share, and what would mend it.

    Args:
        clash: the clash.
        units: for the sentence.
    """
    one, other = said_part(clash.first), said_part(clash.second)
    depth = show_in(clash.depth.value, units)
    limit = chosen(0.0, "room that two parts may share", note="none: parts may touch, and no more")
    margin = derive("room to spare between both parts", "l - d", l=limit, d=clash.depth)
    because = f"{one[0].upper()}{one[1:]} and {other} share {clash.volume.value:.2f} mm³, {depth} deep."
    return Finding(
        f"clash_{_slug(clash.first)}_{_slug(clash.second)}",
        "fail",
        because,
        clash.depth,
        limit,
        margin,
        mend=_mend(clash, depth),
        source="geometry",
    )


def _slug(name: str) -> str:
    return name.lower().replace(" ", "_")


def _mend(clash: Clash, depth: str) -> str:
    pair = (clash.first, clash.second)
    truck = next((each for each in pair if " of truck " in each), None)
    screw = next((each for each in pair if " screw " in f" {each} "), None)
    piece = next((each for each in pair if each not in (truck, screw)), clash.first)
    if truck is not None and piece == "floor":
        return f"Raise the floor by {depth} or more: a washer, or a thicker bolster."
    if truck is not None:
        return f"Move {said_part(piece)} by {depth} or more toward mid-car, or make it shallower, with [[piece]]."
    if screw is not None:
        return f"Take a screw {depth} shorter, or move {said_part(piece)}."
    return f"Move or shorten one of them by {depth} or more, with [[piece]]."
