"""Interference: every pair of parts in space, with the trucks swung and rocked, and the screws as long as they are.

The boxes around the parts are swept along the car, and only parts whose boxes share room are compared exactly. Parts
that only touch do not interfere; nor do a wire and the piece whose hole it passes, a screw and what it holds together,
or two things that the body has already.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from carwright.frame.solids import TOUCH_MM, Overlap, Prism, Vector, apart, numbers_of, overlap, prisms_of
from carwright.frame.trucks import Position, TruckKind, TruckSolids
from carwright.pieces import Piece, said_piece
from carwright.records import quickly_made
from carwright.working import Working, chosen, derived

__all__ = [
    "TRUCK_KINDS",
    "Clash",
    "Part",
    "PartKind",
    "clashes",
    "may_share",
    "parts_of",
    "share_room",
    "truck_parts",
]

PartKind = Literal["made", "there", "screw", "side_frame", "wheel", "axle"]
"""``there`` is what the body has already and what is bought; the last three are parts of a truck."""

Build = Callable[[Mapping[str, float], int], Prism | None]

TRUCK_KINDS: frozenset[PartKind] = frozenset({"side_frame", "wheel", "axle"})


@quickly_made
@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A part in space, in the floor's frame.

    Args:
        name: of the piece, or a name made like one: "wheel_a", "truck_screw_b".
        said: what it is called in a sentence.
        kind: see ``PartKind``.
        numbers: that it is made of, by symbol.
        build: one of its solids from the values of these numbers.
        prisms: its solids as they are now.
        holds: names of what it passes through and may share room with.
        piece: the piece, where it is one.
        truck: the truck, where it is part of one.
        kept: of a truck's part, which of its solids ``prisms`` are.
    """

    name: str
    said: str
    kind: PartKind
    numbers: Mapping[str, Working]
    build: Build
    prisms: tuple[Prism, ...]
    holds: frozenset[str] = frozenset()
    piece: Piece | None = None
    truck: TruckSolids | None = None
    kept: tuple[int, ...] = ()

    def position(self, number: int) -> Position | None:
        """Return how the truck stands whose part a solid is."""
        if self.truck is None or self.kind not in ("side_frame", "wheel", "axle"):
            return None
        return self.truck.position(self.kind, self.kept[number])


@dataclass(frozen=True, slots=True)
class Clash:
    """Two parts that share room.

    Args:
        first: one part; by name it comes before the other.
        second: the other.
        depth: least extent of the room that they share where they share most, mm.
        volume: of that room, mm3.
        position: how the truck stands there, where one of them is part of a truck.
        sure: whether they meet in a position that follows from what was measured, not from a customary swing or rock.
    """

    first: Part
    second: Part
    depth: Working
    volume: Working
    position: Position | None
    sure: bool


def _piece_build(form: str) -> Build:
    def build(values: Mapping[str, float], number: int) -> Prism | None:
        made = prisms_of(values, form=form)
        return made[number] if number < len(made) else None

    return build


def parts_of(pieces: Sequence[Piece], names: Mapping[str, str]) -> tuple[Part, ...]:
    """Return each piece at each of its places; what does not hang anywhere yet is left out.

    Args:
        pieces: of the plan.
        names: what some of them are called in a sentence, by name.
    """
    found = []
    for piece in pieces:
        for pose in (piece.pose, *piece.also):
            numbers = numbers_of(piece, pose)
            if not numbers:
                continue
            prisms = prisms_of({symbol: each.value for symbol, each in numbers.items()}, form=piece.form)
            said = names.get(piece.name) or _with_article(said_piece(piece.name))
            kind: PartKind = "made" if piece.made and piece.quantity.value > 0 else "there"
            found.append(Part(piece.name, said, kind, numbers, _piece_build(piece.form), prisms, piece=piece))
    return tuple(found)


def _with_article(words: str) -> str:
    last = words.rsplit(" ", 1)[-1]
    own_name = " of " not in words and (last.isdigit() or (len(last) == 1 and last.isupper()))
    return words if own_name else f"the {words}"


_SAID_KINDS: Mapping[TruckKind, str] = {"side_frame": "a side frame", "wheel": "a wheel", "axle": "an axle"}


def truck_parts(truck: TruckSolids, around: Sequence[Part] | None) -> tuple[Part, ...]:
    """Return a truck's parts, of each the solids, in any position of swing and rock, that may meet something.

    Args:
        truck: one truck.
        around: what stands still; None for all solids in every position.
    """
    found = []
    values = truck.values()
    for kind in truck.kinds():
        kept = tuple(range(truck.count(kind))) if around is None else _near(truck, kind, around)
        if kept:
            prisms = tuple(truck.prism(kind, number, values) for number in kept)
            said = f"{_SAID_KINDS[kind]} of truck {truck.end.upper()}"
            name, build = f"{kind}_{truck.end}", _truck_build(truck, kind, kept)
            found.append(Part(name, said, kind, truck.numbers, build, prisms, truck=truck, kept=kept))
    return tuple(found)


def _near(truck: TruckSolids, kind: TruckKind, around: Sequence[Part]) -> tuple[int, ...]:
    """Return which of a kind's solids have a box that meets that of something that stands still."""
    lows, highs = truck.box(kind)
    near = [prism for each in around for prism in each.prisms if _meets(prism, lows, highs)]
    if not near:
        return ()
    return tuple(n for n, low, high in truck.boxes(kind) if any(_meets(prism, low, high) for prism in near))


def _truck_build(truck: TruckSolids, kind: TruckKind, kept: tuple[int, ...]) -> Build:
    return lambda values, number: truck.prism(kind, kept[number], values)


def _meets(prism: Prism, lows: Vector, highs: Vector) -> bool:
    near, far = prism.lows, prism.highs
    return (
        lows[0] < far[0]
        and near[0] < highs[0]
        and lows[1] < far[1]
        and near[1] < highs[1]
        and lows[2] < far[2]
        and near[2] < highs[2]
    )


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
        part = parts[solid[2]]
        mine = part.prisms[solid[3]]
        for _, _, i, k in open_ones:
            other = parts[i]
            if other.truck is part.truck and part.truck is not None:
                continue
            if i != solid[2] and not apart(other.prisms[k], mine):
                yield i, k, solid[2], solid[3]
        open_ones.append(solid)


def may_share(first: Part, second: Part) -> bool:
    """Return whether two parts may share room, or need not be compared."""
    if first.name == second.name or (first.kind == "there" and second.kind == "there"):
        return True
    if first.truck is not None and second.truck is not None:
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


def share_room(first: Part, k: int, second: Part, m: int) -> Overlap | None:
    """Return what a solid of one part and a solid of another share, or None where they may or do not."""
    if may_share(first, second) or _passes(first, k, second) or _passes(second, m, first):
        return None
    return overlap(first.prisms[k], second.prisms[m])


@dataclass(slots=True)
class _Worst:
    """Where a pair shares most room, and whether it does so in a position that was measured."""

    shared: Overlap
    first: int
    k: int
    second: int
    m: int
    sure: bool = False


def clashes(parts: Sequence[Part]) -> tuple[Clash, ...]:
    """Return each two parts that share room, by name, with the place where they share most of it.

    Args:
        parts: pieces, trucks and screws, in the floor's frame.
    """
    worst: dict[tuple[str, str], _Worst] = {}
    for i, k, j, m in _pairs(parts):
        shared = share_room(parts[i], k, parts[j], m)
        if shared is None:
            continue
        if (parts[i].name, parts[j].name) > (parts[j].name, parts[i].name):
            i, k, j, m = j, m, i, k
        pair = (parts[i].name, parts[j].name)
        known = worst.get(pair)
        sure = _is_sure(parts[i], k) and _is_sure(parts[j], m)
        if known is None or shared.volume_mm3 > known.shared.volume_mm3:
            worst[pair] = _Worst(shared, i, k, j, m, sure or (known is not None and known.sure))
        else:
            known.sure = known.sure or sure
    return tuple(_clash(parts[each.first], parts[each.second], each) for _, each in sorted(worst.items()))


def _is_sure(part: Part, number: int) -> bool:
    """Return whether a solid stands where measurements put it: no customary swing, no customary rock."""
    at = part.position(number)
    if at is None:
        return True
    return (at.swing == 0.0 or part.numbers["swing"].kind != "reference") and (
        at.rock == 0.0 or part.numbers["rock"].kind != "reference"
    )


def _clash(first: Part, second: Part, at: _Worst) -> Clash:
    """Return a clash with its two numbers, each found again from those sizes and places that it hangs on."""
    inputs = {f"a_{symbol}": each for symbol, each in first.numbers.items()}
    inputs |= {f"b_{symbol}": each for symbol, each in second.numbers.items()}
    now = {symbol: each.value for symbol, each in inputs.items()}
    first_now, second_now = _own(now, "a_"), _own(now, "b_")
    nothing = Overlap(0.0, 0.0)

    def between(one: Prism | None, other: Prism | None) -> Overlap:
        return nothing if one is None or other is None else overlap(one, other) or nothing

    def shared(values: Mapping[str, float]) -> Overlap:
        return between(first.build(_own(values, "a_"), at.k), second.build(_own(values, "b_"), at.m))

    def nudged(symbol: str) -> Overlap:
        if symbol.startswith("a_"):
            moved = {**first_now, symbol[2:]: now[symbol] + _NUDGE}
            return between(first.build(moved, at.k), second.prisms[at.m])
        moved = {**second_now, symbol[2:]: now[symbol] + _NUDGE}
        return between(first.prisms[at.k], second.build(moved, at.m))

    here = at.shared
    moved = {symbol: nudged(symbol) for symbol in now}
    words = f"{first.said} and {second.said}"

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
        first,
        second,
        number(f"depth of the room that {words} share", "mm", lambda each: each.depth_mm),
        number(f"room that {words} share", "mm3", lambda each: each.volume_mm3),
        first.position(at.k) or second.position(at.m),
        at.sure,
    )


def _own(values: Mapping[str, float], lead: str) -> dict[str, float]:
    return {symbol[2:]: value for symbol, value in values.items() if symbol.startswith(lead)}


_NUDGE = 1e-4
"""How far a size is moved, mm or degrees, to see whether what is shared hangs on it."""
