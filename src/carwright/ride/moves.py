"""What can be changed at one end of a car to bring its coupler to height: the moves, each with what it costs.

Order of cures: wheels, trucks, floor, then coupler (common practice). A move is described by how much it raises the
floor over the truck (``over_truck``) and the coupler alone (``at_coupler``), in mm.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations_with_replacement
from typing import Literal

from carwright.laminate import laminations
from carwright.lengths import show_in
from carwright.records import quickly_made
from carwright.ride.model import EndSpec, Part
from carwright.ride.stack import bolster_of
from carwright.working import Working, chosen

__all__ = ["MOST_LAYERS", "MOST_WASHERS", "Lift", "Move", "Stock", "StockPart", "moves_at", "with_move"]

MOST_WASHERS = 3
MOST_LAYERS = 4

_MOST_MOVES = 420
"""More moves than this at one end are thinned: of those that raise alike to 0.0001 in the simplest stays."""

Lift = Literal[-1, 0, 1]
"""Up, down, or (0) not at all."""

Order = Literal[0, 1, 2, 3, 4, 5]
"""Place in the order of cures: nothing, wheels, washers, bolster, shim or recess, shank."""


@dataclass(frozen=True, slots=True)
class StockPart:
    """Something on the shelf, or (``on_hand`` False) a usual size that can be bought.

    Args:
        size: its thickness, height or offset.
        count: how many there are; None for as many as wanted.
        on_hand: whether it is on the shelf.
        text: how the car file would write it, with its tolerance.
        label: what it is called in sentences.
        drop: of a coupler, where it differs from the one in use.
        drop_text: how the car file would write it.
        length: of a coupler, likewise.
        length_text: likewise.
    """

    size: Working
    count: int | None
    on_hand: bool
    text: str
    label: str = ""
    drop: Working | None = None
    drop_text: str = ""
    length: Working | None = None
    length_text: str = ""


@dataclass(frozen=True, slots=True)
class Stock:
    """Everything that may serve as a cure: ``wheels`` are tabled diameters, ``recesses`` depths the floor allows."""

    washers: tuple[StockPart, ...] = ()
    bolsters: tuple[StockPart, ...] = ()
    sheets: tuple[StockPart, ...] = ()
    shanks: tuple[StockPart, ...] = ()
    wheels: tuple[StockPart, ...] = ()
    recesses: tuple[StockPart, ...] = ()


@quickly_made
@dataclass(frozen=True, slots=True)
class Move:
    """A whole change at one end. ``uses`` counts what it takes from the shelf, by the stock's key."""

    over_truck: float = 0.0
    at_coupler: float = 0.0
    parts: int = 0
    order: Order = 0
    on_hand: bool = True
    uses: tuple[tuple[str, int], ...] = ()
    label: str = ""
    washers_added: tuple[StockPart, ...] = ()
    washers_left: tuple[Part, ...] | None = None  # of those fitted; None: all
    bolster: tuple[StockPart, ...] | None = None  # None: the one in place
    cut_to: Working | None = None
    shim: StockPart | None = None
    no_shim: bool = False
    recess: StockPart | None = None
    shank: StockPart | None = None


def _uses(parts: Sequence[StockPart]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(Counter(part.size.key for part in parts).items()))


def _enough(parts: Sequence[StockPart]) -> bool:
    counts = Counter(part.size.key for part in parts)
    return all(part.on_hand and (part.count is None or counts[part.size.key] <= part.count) for part in parts)


def _listed(parts: Sequence[StockPart]) -> str:
    return " + ".join(part.label for part in parts)


def _washer_moves(spec: EndSpec, stock: Stock) -> Iterator[Move]:
    fitted = spec.washers
    lefts: list[tuple[Part, ...] | None] = [None]
    if fitted:
        seen = set()
        for mask in range((1 << len(fitted)) - 1):
            stay = tuple(part for i, part in enumerate(fitted) if mask >> i & 1)
            mark = tuple(sorted(round(part.size.value, 6) for part in stay))
            if mark not in seen:
                seen.add(mark)
                lefts.append(stay)
    for left in lefts:
        removed = 0 if left is None else len(fitted) - len(left)
        out = [] if left is None else [part.size.value for part in fitted if part not in left]
        gone = sum(out)
        for many in range(MOST_WASHERS + 1 - removed):
            for added in combinations_with_replacement(stock.washers, many):
                if not many and not removed:
                    continue
                if any(abs(part.size.value - size) < 1e-6 for part in added for size in out):
                    continue  # the same washer out and in again
                labels = []
                if removed:
                    labels.append("take out " + ("the washer" if removed == 1 else f"{removed} washers"))
                for (_, label), number in sorted(Counter((part.size.value, part.label) for part in added).items()):
                    labels.append(f"{_NUMBER[number]} {label} washer{'s' if number > 1 else ''}")
                yield Move(
                    over_truck=sum(part.size.value for part in added) - gone,
                    parts=many + removed,
                    order=2,
                    on_hand=_enough(added),
                    uses=_uses(added),
                    label=", ".join(labels),
                    washers_added=added,
                    washers_left=left,
                )


_NUMBER = {1: "one", 2: "two", 3: "three"}


def _bolster_moves(spec: EndSpec, stock: Stock, wanted_mm: float, reach_mm: float) -> Iterator[Move]:
    if not spec.bolster:
        return  # what is not known cannot be exchanged
    glue = spec.glue_line.value if spec.glue_line is not None else 0.0
    present = sum(part.size.value for part in spec.bolster) + glue * (len(spec.bolster) - 1)
    for bought in stock.bolsters:
        if abs(bought.size.value - present) > 1e-9:
            yield Move(
                over_truck=bought.size.value - present,
                parts=1,
                order=3,
                on_hand=_enough((bought,)),
                uses=_uses((bought,)),
                label=f"{bought.label} bolster",
                bolster=(bought,),
            )
    sizes = [sheet.size.value for sheet in stock.sheets]
    best: dict[float, tuple[int, ...]] = {}
    for layers, height in laminations(sizes, most=MOST_LAYERS, up_to_mm=wanted_mm + 0.2 * reach_mm, glue_mm=glue):
        mark = round(height, 4)
        if wanted_mm - reach_mm <= height <= wanted_mm + 0.2 * reach_mm and (
            mark not in best or (len(layers), layers) < (len(best[mark]), best[mark])
        ):
            best[mark] = layers
    for height, layers in sorted(best.items()):
        if abs(height - present) < 1e-4:
            continue
        parts = tuple(stock.sheets[i] for i in layers)
        yield Move(
            over_truck=sum(p.size.value for p in parts) + glue * (len(parts) - 1) - present,
            parts=len(parts),
            order=3,
            on_hand=all(part.on_hand for part in parts),
            label=f"bolster of {_listed(parts)}",
            bolster=parts,
        )


def _coupler_moves(spec: EndSpec, stock: Stock) -> Iterator[Move]:
    if spec.mount != "truck":
        if spec.shim:
            yield Move(
                at_coupler=sum(p.size.value for p in spec.shim),
                parts=1,
                order=4,
                label="take out the shim",
                no_shim=True,
            )
        else:
            for sheet in stock.sheets:
                yield Move(
                    at_coupler=-sheet.size.value,
                    parts=1,
                    order=4,
                    on_hand=sheet.on_hand,
                    label=f"{sheet.label} shim between coupler box and floor",
                    shim=sheet,
                )
        if spec.recess is None and not spec.shim:
            for depth in stock.recesses:
                yield Move(
                    at_coupler=depth.size.value,
                    parts=1,
                    order=4,
                    label=f"coupler box let {depth.label} into the floor",
                    recess=depth,
                )
    present = spec.shank_offset.value if spec.shank_offset is not None else 0.0
    for shank in stock.shanks:
        drop = spec.drop.value - shank.drop.value if shank.drop is not None and spec.drop is not None else 0.0
        change = shank.size.value - present + drop
        if abs(change) > 1e-9:
            yield Move(
                at_coupler=change,
                parts=1,
                order=5,
                on_hand=_enough((shank,)),
                uses=_uses((shank,)),
                label=f"{shank.label} coupler",
                shank=shank,
            )


def _joined(first: Move, second: Move) -> Move:
    return replace(
        first,
        over_truck=first.over_truck + second.over_truck,
        at_coupler=first.at_coupler + second.at_coupler,
        parts=first.parts + second.parts,
        order=max(first.order, second.order),
        on_hand=first.on_hand and second.on_hand,
        uses=tuple(sorted((*first.uses, *second.uses))),
        label=", ".join(label for label in (first.label, second.label) if label),
        bolster=first.bolster if first.bolster is not None else second.bolster,
        cut_to=first.cut_to or second.cut_to,
        shim=first.shim or second.shim,
        no_shim=first.no_shim or second.no_shim,
        recess=first.recess or second.recess,
        shank=first.shank or second.shank,
    )


def moves_at(
    spec: EndSpec,
    stock: Stock,
    *,
    over_truck_mm: float,
    at_coupler_mm: float,
    reach_mm: float,
    sanded: Working | None,
    step_mm: float,
    lift: Lift,
    rising: float,
    units: Literal["in", "mm"],
) -> tuple[Move, ...]:
    """Return every move at one end, nothing done among them, first in the order of cures.

    Args:
        spec: the end as it is.
        stock: what may be used.
        over_truck_mm: rise over this truck that, with its like at the other end, brings both couplers on target.
        at_coupler_mm: rise of this coupler alone that does the same.
        reach_mm: how far a bolster may be from what is wanted and still be worth combining with washers.
        sanded: tolerance of a part cut down by hand.
        step_mm: to what the size of a cut bolster is rounded.
        rising: what other wheels already raise this truck by, mm.
        lift: which way the body itself should go: a move may raise the floor and lower the coupler again (or the other
            way about) only where that sets the body nearer to where the owner wants it.
        units: for the labels.
    """
    nothing = Move()
    on_truck: list[Move] = [nothing]
    if spec.mount != "truck":
        present = sum(part.size.value for part in spec.bolster)
        washers = list(_washer_moves(spec, stock))
        bolsters = list(_bolster_moves(spec, stock, present + over_truck_mm, reach_mm))
        if over_truck_mm < -2 * step_mm and 0 < -over_truck_mm < present / 2:
            size = round((present + over_truck_mm) / step_mm) * step_mm
            cut = chosen(
                size,
                f"bolster {spec.end.upper()} cut down",
                tolerance=sanded,
                distribution="rect",
                note="the height that brings both couplers on target, to the nearest thousandth",
            )
            label = f"bolster cut down to {show_in(size, units)}"
            bolsters.append(Move(over_truck=size - present, parts=1, order=3, label=label, cut_to=cut))
        on_truck += washers + bolsters
        on_truck += [
            _joined(washer, bolster)
            for bolster in bolsters
            for washer in washers
            if washer.washers_left is None
            and (bolster.over_truck > 0 or (washer.over_truck + bolster.over_truck) * lift > 0)
        ]
    on_coupler = [nothing, *_coupler_moves(spec, stock)]
    found = [
        _joined(first, second)
        for first in on_truck
        for second in on_coupler
        if first.over_truck * lift > 0
        or (
            first.over_truck * second.at_coupler >= 0
            and rising * first.over_truck >= 0
            and rising * second.at_coupler >= 0
        )
    ]
    found = [move for move in found if _useful(move, over_truck_mm, at_coupler_mm, reach_mm)]
    found.sort(key=lambda move: (move.parts, not move.on_hand, move.order, move.label))
    if len(found) > _MOST_MOVES:
        kept: dict[tuple[int, int], Move] = {}
        for move in found:
            kept.setdefault((round(move.over_truck / 0.00254), round(move.at_coupler / 0.00254)), move)
        found = sorted(kept.values(), key=lambda move: (move.parts, not move.on_hand, move.order, move.label))[
            :_MOST_MOVES
        ]
    return tuple(found)


def _useful(move: Move, over_truck_mm: float, at_coupler_mm: float, reach_mm: float) -> bool:
    """Keep what is nothing, or what does not overshoot both ways by more than the reach."""
    total = move.over_truck + move.at_coupler
    return move.parts == 0 or min(abs(total - over_truck_mm), abs(total - at_coupler_mm)) <= reach_mm


def with_move(spec: EndSpec, move: Move, wheels: StockPart | None) -> EndSpec:
    """Return the stack after the move and after a change of wheels, as the car file would then give it.

    Args:
        spec: the stack before.
        move: what is changed at this end.
        wheels: those that the whole car would run on, or None for its own.
    """
    letter = spec.end.upper()
    changed = spec
    if move.washers_added or move.washers_left is not None:
        left = spec.washers if move.washers_left is None else move.washers_left
        added = tuple(
            Part(f"added washer {letter}{i + 1}", part.size, f"added washer {letter}{i + 1}")
            for i, part in enumerate(move.washers_added)
        )
        changed = replace(changed, washers=(*left, *added))
    if move.bolster is not None:
        changed = replace(changed, bolster=bolster_of([(part.size, part.text) for part in move.bolster], letter))
    if move.cut_to is not None:
        changed = replace(changed, bolster=(Part(f"bolster {letter}", move.cut_to, f"cut bolster {letter}"),))
    if move.no_shim:
        changed = replace(changed, shim=())
    if move.shim is not None:
        changed = replace(changed, shim=(Part(f"shim {letter}", move.shim.size, f"shim {letter}"),))
    if move.recess is not None:
        changed = replace(changed, recess=move.recess.size)
    if move.shank is not None:
        changed = replace(
            changed,
            shank_offset=move.shank.size,
            drop=move.shank.drop or changed.drop,
            coupler_length=move.shank.length or changed.coupler_length,
        )
    if wheels is not None:
        changed = replace(changed, wheels_run=wheels.size)
    return changed
