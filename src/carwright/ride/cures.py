"""The search for cures: every pair of moves at the two ends, ranked.

Ranked by: both nominal heights within the limit; then the chance of both ends in bands of 0.02 from the best; then
all on hand; then fewest parts added or exchanged; then ends alike (in what is done there, and in where the couplers
end) before unlike; then earliest in the order of cures; then the body's error of height; then the nearer to
target; then name. Of those that leave couplers and body at the same heights only the simplest is kept, and of two that
are each other's mirror image on a car whose ends are alike only one, which says so. Acts at one end that undo each
other (washers in and a shim under the coupler) are left out, unless they bring the side sill nearer to where the owner
wants it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from carwright.car.model import ENDS, Ends
from carwright.lengths import exact_in, show_in
from carwright.records import quickly_made
from carwright.ride.chance import Cloud, Doubt
from carwright.ride.found import solve_from_found, standing
from carwright.ride.model import Alternative, EndSpec, Ride, Target
from carwright.ride.moves import Lift, Move, Stock, StockPart, moves_at, with_move
from carwright.ride.stack import solve_ride
from carwright.working import Working, counted, derive, derived

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["MOST_ALTERNATIVES", "chance_words", "ideal_rises", "search"]

MOST_ALTERNATIVES = 12

_BAND = 0.02
_WHEELSETS = 4
_SHORTLIST = 56
_SAME_MM = 0.0025  # a ten-thousandth of an inch: nobody gauges the difference
_MIRRORED_MM = 0.01
"""Heights that differ by no more when A and B are changed over are each other's mirror image."""
_EVEN_MM = 0.0127  # half a thousandth of an inch: told as no difference
_ALIKE_LOOKED_AT = 12
"""So many of the pairs in which both ends get the same are looked at however many others are nearer."""
_SCREEN_SAMPLES = 2048
_SCREEN_SLACK = 0.012
"""Chances of the screening may be off by this much; whatever is that near a band's edge is sampled in full."""


@quickly_made
@dataclass(frozen=True, slots=True)
class _Pair:
    a: Move
    b: Move
    wheels: StockPart | None
    error_a: float
    error_b: float
    offset: float
    out: int
    on_hand: bool
    parts: int
    order: int
    mirrored: tuple[float, float, float] | None = None
    """Errors and offset with A and B changed over, where that is this pair's mirror image."""

    def unlike(self, error_a: float, error_b: float) -> int:
        """Return in how much the ends differ: in what is done there, and in where the coupler ends."""
        return (self.a.label != self.b.label) + (abs(error_a - error_b) >= _EVEN_MM)

    @property
    def name(self) -> str:
        labels = []
        if self.wheels is not None:
            labels.append(f"{self.wheels.label} wheels")
        if self.a.label and self.a.label == self.b.label:
            labels.append(f"{self.a.label} at each end")
        else:
            labels += [f"{move.label} at {letter}" for move, letter in ((self.a, "A"), (self.b, "B")) if move.label]
        return "; ".join(labels) or "the car as it is"

    @property
    def cost(self) -> tuple[bool, int, int, int, float, float, str]:
        unlike = self.unlike(self.error_a, self.error_b)
        nearness = round(max(abs(self.error_a), abs(self.error_b)), 6)
        return (not self.on_hand, self.parts, unlike, self.order, round(abs(self.offset), 4), nearness, self.name)


def ideal_rises(ride: Ride, specs: Ends[EndSpec]) -> Ends[float] | None:
    """Return the rise over truck A and over truck B, in mm, that brings both body-mounted couplers on target.

    The line through both targets at the pulling faces is followed to the truck pivots:
    with weights l of truck A at the faces,  l_A a + (1 - l_A) b = -e_A,  l_B a + (1 - l_B) b = -e_B.

    Args:
        ride: both ends solved, with their errors and levers.
        specs: the stack at each end.

    Returns:
        Nothing to rise where no coupler is on the body; None where a lever or an error that is needed is unknown.
    """
    on_body = Ends(specs.a.mount != "truck", specs.b.mount != "truck")
    error = Ends(ride.ends.a.error, ride.ends.b.error)
    lever = ride.lever
    if on_body.a and on_body.b:
        if error.a is None or error.b is None or lever.a is None or lever.b is None:
            return None
        ea, eb, la, lb = error.a.value, error.b.value, lever.a.value, lever.b.value
        determinant = la - lb
        return Ends((-ea * (1 - lb) + eb * (1 - la)) / determinant, (-eb * la + ea * lb) / determinant)
    for end in ENDS:
        wanted = error.at(end)
        if on_body.at(end) and wanted is not None:
            return Ends(-wanted.value, -wanted.value)
    return Ends(0.0, 0.0) if not (on_body.a or on_body.b) else None


@dataclass(frozen=True, slots=True)
class _Ground:
    """What every pair is reckoned from."""

    specs: Ends[EndSpec]
    targets: Ends[Target | None]
    base: Ride
    levers: tuple[float, float]
    limits: tuple[float, float]
    offset: float
    sill_rise: Working | None
    sill_height: Working | None
    units: Literal["in", "mm"]


def _levers(ground_ride: Ride, specs: Ends[EndSpec]) -> tuple[float, float]:
    at = []
    for end in ENDS:
        default = 1.0 if end == "a" else 0.0
        lever = ground_ride.lever.at(end)
        at.append(lever.value if lever is not None and specs.at(end).mount != "truck" else default)
    return at[0], at[1]


def _columns(moves: Sequence[Move]) -> tuple[NDArray[np.float64], ...]:
    import numpy as np

    return (
        np.array([move.over_truck for move in moves]),
        np.array([move.at_coupler for move in moves]),
        np.array([move.parts for move in moves]),
        np.array([move.order for move in moves]),
        np.array([not move.on_hand for move in moves]),
    )


def _both_on_hand(a: Move, b: Move, counts: dict[str, int | None]) -> bool:
    if not (a.on_hand and b.on_hand):
        return False
    total: Counter[str] = Counter()
    for key, number in (*a.uses, *b.uses):
        total[key] += number
    for key, number in total.items():
        limit = counts.get(key)
        if limit is not None and number > limit:
            return False
    return True


def _pairs(
    ground: _Ground, moves: Ends[tuple[Move, ...]], wheels: StockPart | None, counts: dict[str, int | None]
) -> list[_Pair]:
    """Return the most promising pairs: some by least cost, some by least error, all within the limits where any are."""
    import numpy as np

    on_truck = (ground.specs.a.mount == "truck", ground.specs.b.mount == "truck")
    rise = 0.0
    if wheels is not None:
        for spec in (ground.specs.a, ground.specs.b):
            old = spec.wheels_run or spec.wheels_measured
            rise = (wheels.size.value - old.value) / 2 if old is not None else rise
    t_a, k_a, parts_a, order_a, away_a = _columns(moves.a)
    t_b, k_b, parts_b, order_b, away_b = _columns(moves.b)
    errors = [ground.base.ends.a.error, ground.base.ends.b.error]
    e_a = errors[0].value if errors[0] is not None else 0.0
    e_b = errors[1].value if errors[1] is not None else 0.0
    l_a, l_b = ground.levers
    l_at, l_bt = (0.0 if on_truck[0] else l_a), (0.0 if on_truck[1] else l_b)
    m_at, m_bt = (0.0 if on_truck[0] else 1 - l_a), (0.0 if on_truck[1] else 1 - l_b)
    error_a = (e_a + rise + l_at * t_a + k_a)[:, None] + (m_at * t_b)[None, :]
    error_b = (e_b + rise + l_bt * t_a)[:, None] + (m_bt * t_b + k_b)[None, :]
    lim_a, lim_b = ground.limits
    out = (np.abs(error_a) > lim_a + 1e-9).astype(int) + (np.abs(error_b) > lim_b + 1e-9).astype(int)
    parts = parts_a[:, None] + parts_b[None, :] + (_WHEELSETS if wheels is not None else 0)
    order = np.maximum(np.maximum(order_a[:, None], order_b[None, :]), 1 if wheels is not None else 0)
    away = np.logical_or(away_a[:, None], away_b[None, :]) | bool(wheels is not None and not wheels.on_hand)
    worst = np.maximum(np.abs(error_a) / lim_a, np.abs(error_b) / lim_b)
    flat_out, flat_worst = out.ravel(), worst.ravel()
    pick = {0, *np.lexsort((flat_worst, flat_out))[:_SHORTLIST].tolist()}  # 0: nothing done at either end
    costs = (flat_worst, order.ravel(), parts.ravel(), away.ravel(), flat_out)
    pick |= set(np.lexsort(costs)[: 2 * _SHORTLIST].tolist())
    safe = flat_out * 2 + (flat_worst > 0.75)
    pick |= set(np.lexsort((flat_worst, order.ravel(), parts.ravel(), away.ravel(), safe))[:_SHORTLIST].tolist())
    at_a = {move.label: i for i, move in enumerate(moves.a)}
    at_b = {move.label: j for j, move in enumerate(moves.b)}
    columns = len(moves.b)
    same = np.array([at_a[label] * columns + j for label, j in at_b.items() if label in at_a])
    pick |= set(same[np.lexsort((flat_worst[same], flat_out[same]))[:_ALIKE_LOOKED_AT]].tolist())
    even = abs(e_a - e_b) <= _MIRRORED_MM and abs(l_a + l_b - 1) < 0.01
    found = []
    for index in sorted(pick):
        i, j = divmod(index, columns)
        a, b = moves.a[i], moves.b[j]
        offset = ground.offset + rise + (a.over_truck + b.over_truck) / 2
        mirrored = None
        k, m = (at_a.get(b.label), at_b.get(a.label)) if even and a.label != b.label else (None, None)
        if k is not None and m is not None:
            swapped = float(error_a[k, m]), float(error_b[k, m])
            if abs(swapped[0] - error_b[i, j]) <= _MIRRORED_MM and abs(swapped[1] - error_a[i, j]) <= _MIRRORED_MM:
                lifted = (moves.a[k].over_truck + moves.b[m].over_truck) / 2
                mirrored = (*swapped, ground.offset + rise + lifted)
        found.append(
            _Pair(
                a,
                b,
                wheels,
                error_a=float(error_a[i, j]),
                error_b=float(error_b[i, j]),
                offset=offset,
                out=int(out[i, j]),
                on_hand=_both_on_hand(a, b, counts) and (wheels is None or wheels.on_hand),
                parts=int(parts[i, j]),
                order=int(order[i, j]),
                mirrored=mirrored,
            )
        )
    return found


def _mark(error_a: float, error_b: float, offset: float) -> tuple[int, int, int]:
    return round(error_a / _SAME_MM), round(error_b / _SAME_MM), round(offset / _SAME_MM)


def _unlike(pairs: list[_Pair]) -> list[_Pair]:
    """Return the simplest of all pairs that leave both couplers and the body at the same heights, by least cost.

    A pair that only repeats another with A and B changed over is left out as well.
    """
    kept: list[_Pair] = []
    seen: set[tuple[int, int, int]] = set()
    for pair in sorted(pairs, key=lambda p: p.cost):
        mark = _mark(pair.error_a, pair.error_b, pair.offset)
        if mark in seen:
            continue
        kept.append(pair)
        seen.add(mark)
        if pair.mirrored is not None:
            seen.add(_mark(*pair.mirrored))
    return kept


def _screened(ground: _Ground, pairs: list[_Pair]) -> list[_Pair]:
    """Return the pairs that may stand among the first, by a coarse chance.

    The doubts of the car as it is stand for those of every pair.
    """
    base = [
        Doubt(
            each.at_a.value if each.at_a is not None else 0.0,
            each.at_b.value if each.at_b is not None else 0.0,
            each.tolerance.value,
            each.reading.distribution,
        )
        for each in ground.base.contributors
    ]
    lim_a, lim_b = ground.limits
    cloud = Cloud(base, samples=_SCREEN_SAMPLES)

    def coarse(pair: _Pair) -> float:
        return cloud.chance(error_a_mm=pair.error_a, error_b_mm=pair.error_b, limit_a_mm=lim_a, limit_b_mm=lim_b).both

    pairs = _unlike(pairs)
    least_out = min(pair.out for pair in pairs)
    by_cost = [pair for pair in pairs if pair.out == least_out]
    by_error = sorted(  # then by cost
        pairs, key=lambda p: (p.out, round(max(abs(p.error_a) / lim_a, abs(p.error_b) / lim_b), 6))
    )
    chances = {id(pair): coarse(pair) for pair in by_error[:6]}
    best = max(chances.values(), default=0.0)
    chosen = {pair.name: pair for pair in by_error[:3]}
    for pair in by_cost[:_SHORTLIST]:
        chance = chances.get(id(pair))
        if chance is None:
            chance = coarse(pair)
        best = max(best, chance)
        if chance >= best - _BAND - _SCREEN_SLACK:
            chosen.setdefault(pair.name, pair)
        if len(chosen) >= MOST_ALTERNATIVES + 4:
            break
    as_it_is = next(pair for pair in pairs if pair.parts == 0)
    for pair in by_error:
        if len(chosen) >= MOST_ALTERNATIVES + 4 or (pair.out and pair is as_it_is):
            break  # what is worse than the car as it is cures nothing
        chosen.setdefault(pair.name, pair)
    return list(chosen.values())


def _to_buy(pair: _Pair) -> tuple[tuple[str, int], ...]:
    """Return what a pair takes that is not on the shelf, or not so often: its name, and how many are short."""
    wanted: Counter[tuple[str, int | None]] = Counter()
    for move in (pair.a, pair.b):
        takes = [(each, "washer") for each in move.washers_added]
        takes += [
            (each, "bolster" if each.label.endswith("bought") else "bolster layer") for each in move.bolster or ()
        ]
        takes += [(each, word) for each, word in ((move.shim, "shim"), (move.shank, "coupler")) if each is not None]
        for each, word in takes:
            wanted[f"{each.label} {word}", each.count if each.on_hand else 0] += 1
    short = [(name, number - there) for (name, there), number in wanted.items() if there is not None and number > there]
    if pair.wheels is not None and not pair.wheels.on_hand:
        short.append((f"{pair.wheels.label} wheelset", _WHEELSETS))
    return tuple(short)


def _after(ground: _Ground, pair: _Pair) -> tuple[Ends[EndSpec], Ride, Working | None]:
    specs = Ends(with_move(ground.specs.a, pair.a, pair.wheels), with_move(ground.specs.b, pair.b, pair.wheels))
    ride = solve_ride(replace(specs.a, found=None), replace(specs.b, found=None), ground.targets, brief=True)
    under = Ends(ride.ends.a.floor_underside, ride.ends.b.floor_underside)
    if ground.specs.a.found is not None or ground.specs.b.found is not None:
        ride = solve_from_found(ground.specs, specs, ride, ground.targets, brief=True)
    offset = None
    if under.a is not None and under.b is not None and ground.sill_rise is not None and ground.sill_height is not None:
        offset = derive(
            "mean height of the side sills over what is wanted",
            "(ua + ub)/2 + s - w",
            ua=under.a,
            ub=under.b,
            s=ground.sill_rise,
            w=ground.sill_height,
        )
    return specs, ride, offset


def chance_words(chance: float) -> str:
    """Return a chance as it stands in a sentence: two places, and never a certainty, because it was only sampled.

    Example:
        >>> chance_words(0.9973), chance_words(0.2708), chance_words(1.0)
        ('over 0.99', '0.27', 'over 0.99')
    """
    if chance >= 0.995:
        return "over 0.99"
    return "under 0.01" if chance < 0.005 else f"{chance:.2f}"


def _sentence(error: Ends[Working], chance: Working, units: Literal["in", "mm"]) -> str:
    words = []
    for letter, each in (("A", error.a), ("B", error.b)):
        if abs(each.value) < 0.0127:
            words.append(f"{letter} on target")
        else:
            words.append(f"{letter} {show_in(abs(each.value), units)} {'high' if each.value > 0 else 'low'}")
    return f"{words[0]}, {words[1]}; chance of both passing {chance_words(chance.value)}"


def _changes(
    before: Ends[EndSpec], pair: _Pair, units: Literal["in", "mm"]
) -> tuple[tuple[str, str | tuple[str, ...] | None], ...]:
    """Return what taking the pair writes into the car file."""
    changes: list[tuple[str, str | tuple[str, ...] | None]] = []
    if pair.wheels is not None:
        changes.append(("trucks.wheels", pair.wheels.text))
    for end in ENDS:
        move = pair.a if end == "a" else pair.b
        spec = before.at(end)
        if move.washers_added or move.washers_left is not None:
            left = spec.washers if move.washers_left is None else move.washers_left
            texts = (*(part.size.text for part in left), *(part.text for part in move.washers_added))
            changes.append((f"trucks.{end}.washers", texts))
        if move.bolster is not None:
            texts = tuple(part.text for part in move.bolster)
            changes.append((f"underframe.{end}.bolster", texts[0] if len(texts) == 1 else texts))
        if move.cut_to is not None:
            doubt = f"{exact_in(move.cut_to.tolerance_value, units)} {move.cut_to.distribution}"
            changes.append((f"underframe.{end}.bolster", f"{exact_in(move.cut_to.value, units)} ± {doubt}"))
        if move.shim is not None:
            changes.append((f"coupler.{end}.shim", move.shim.text))
        if move.no_shim:
            changes.append((f"coupler.{end}.shim", None))
        if move.recess is not None:
            changes.append((f"coupler.{end}.recess", move.recess.text))
        if move.shank is not None:
            changes.append((f"coupler.{end}.shank_offset", move.shank.text))
            for key, text in (("drop", move.shank.drop_text), ("length", move.shank.length_text)):
                if text:
                    changes.append((f"coupler.{end}.{key}", text))
    return tuple(changes)


def _sum_of(name: str, parts: Sequence[Working]) -> Working | None:
    if not parts:
        return None
    terms = {f"p{i + 1}": part for i, part in enumerate(parts)}
    return derived(name, " + ".join(terms), terms)


def _alternative(ground: _Ground, pair: _Pair, rank: int) -> Alternative | None:
    specs, ride, offset = _after(ground, pair)
    a, b = ride.ends.a, ride.ends.b
    if a.coupler_height is None or b.coupler_height is None or a.error is None or b.error is None:
        return None
    if ride.pass_probability is None:
        return None
    error = Ends(a.error, b.error)
    return Alternative(
        rank=counted(rank, "rank", note="place in the order of ranking"),
        name=pair.name,
        washers=Ends(tuple(p.size for p in specs.a.washers), tuple(p.size for p in specs.b.washers)),
        bolster_layers=Ends(tuple(p.size for p in specs.a.bolster), tuple(p.size for p in specs.b.bolster)),
        shim=Ends(*(_sum_of(f"shim {s.end.upper()}", [p.size for p in s.shim]) for s in (specs.a, specs.b))),
        recess=Ends(specs.a.recess, specs.b.recess),
        shank_offset=Ends(specs.a.shank_offset, specs.b.shank_offset),
        coupler_height=Ends(a.coupler_height, b.coupler_height),
        error=error,
        pass_probability=ride.pass_probability,
        parts=counted(pair.parts, "parts", note="washers, layers, shims, couplers and wheelsets added or exchanged"),
        on_hand=pair.on_hand,
        body_offset=offset,
        because=f"{pair.name}: {_sentence(error, ride.pass_probability, ground.units)}."
        + (" Or the same with A and B changed over." if pair.mirrored is not None else ""),
        mirrored=pair.mirrored is not None,
        as_it_is=pair.parts == 0,
        to_buy=_to_buy(pair),
        changes=_changes(ground.specs, pair, ground.units),
    )


def _full_rank(alternative: Alternative, pair: _Pair, best: float, limits: tuple[float, float]) -> tuple[object, ...]:
    out = sum(
        abs(error.value) > limit + 1e-9
        for error, limit in ((alternative.error.a, limits[0]), (alternative.error.b, limits[1]))
    )
    band = int((best - alternative.pass_probability.value) / _BAND + 1e-9)
    offset = abs(alternative.body_offset.value) if alternative.body_offset is not None else 0.0
    errors = alternative.error.a.value, alternative.error.b.value
    nearness = round(max(abs(each) for each in errors), 6)
    unlike = pair.unlike(*errors)
    return (out, band, not pair.on_hand, pair.parts, unlike, pair.order, round(offset, 6), nearness, pair.name)


def _inside(alternative: Alternative, limits: tuple[float, float]) -> bool:
    return abs(alternative.error.a.value) <= limits[0] + 1e-9 and abs(alternative.error.b.value) <= limits[1] + 1e-9


def search(
    specs: Ends[EndSpec],
    ride: Ride,
    targets: Ends[Target | None],
    stock: Stock,
    *,
    sill_rise: Working | None,
    sill_height: Working | None,
    sanded: Working | None,
    reach_mm: float,
    step_mm: float,
    body_window_mm: float,
    units: Literal["in", "mm"],
) -> tuple[Alternative, ...]:
    """Return at most twelve ways for the car to stand, best first, the car as it is among them.

    Args:
        specs: the car as it is.
        ride: it solved from its parts.
        targets: where the couplers should stand.
        stock: what may be used.
        sill_rise: the bottom of the side sill above the floor's underside (negative: below), if known.
        sill_height: where the owner wants the sill.
        sanded: tolerance of a part cut down by hand.
        reach_mm: how far from ideal a move may be and still be looked at.
        step_mm: rounding of a bolster that is cut down.
        body_window_mm: how far the side sills may stand from where the owner wants them without being set.
        units: for the sentences.

    Returns:
        Nothing where a height is unknown. What leaves a coupler outside its limit is told only where nothing on hand
        brings both within, and where it ranks before the car as it is. Of more than 420 moves at one end, those that
        raise alike to 0.0001 in are thinned to the simplest, so that the search stays short on a long shelf.
    """
    if targets.a is None or targets.b is None:
        return ()
    base = standing(specs, ride, targets)
    if base.ends.a.error is None or base.ends.b.error is None or base.pass_probability is None:
        return ()
    offset = 0.0
    under = Ends(ride.ends.a.floor_underside, ride.ends.b.floor_underside)
    if under.a is not None and under.b is not None and sill_rise is not None and sill_height is not None:
        offset = (under.a.value + under.b.value) / 2 + sill_rise.value - sill_height.value
    lift: Lift = 0
    if abs(offset) > body_window_mm:
        lift = -1 if offset > 0 else 1
    ground = _Ground(
        specs,
        targets,
        base,
        levers=_levers(base, specs),
        limits=(targets.a.limit.value, targets.b.limit.value),
        offset=offset,
        sill_rise=sill_rise,
        sill_height=sill_height,
        units=units,
    )
    counts = {part.size.key: part.count for part in (*stock.washers, *stock.bolsters, *stock.shanks)}
    pairs: list[_Pair] = []
    for wheels in (None, *stock.wheels):
        moved, rising = base, 0.0
        if wheels is not None:
            old = specs.a.wheels_run or specs.a.wheels_measured
            if old is None or specs.b.wheels_measured is None or abs(old.value - wheels.size.value) < 1e-6:
                continue
            rising = (wheels.size.value - old.value) / 2
            moved = _after(ground, _Pair(Move(), Move(), wheels, 0, 0, 0, 0, True, _WHEELSETS, 1))[1]
        rises = ideal_rises(moved, specs)
        if rises is None:
            rises = Ends(0.0, 0.0)
        moves = {}
        simple = wheels is not None
        for end in ENDS:
            error = moved.ends.at(end).error
            moves[end] = moves_at(
                specs.at(end),
                Stock(washers=stock.washers) if simple else stock,
                over_truck_mm=rises.at(end),
                at_coupler_mm=-error.value if error is not None else 0.0,
                reach_mm=reach_mm,
                sanded=sanded,
                lift=lift,
                rising=rising,
                step_mm=step_mm,
                units=units,
            )
        pairs += _pairs(ground, Ends(moves["a"], moves["b"]), wheels, counts)
    as_it_is = next(pair for pair in pairs if pair.parts == 0)
    shortlist = _screened(ground, pairs)
    if as_it_is.name not in {pair.name for pair in shortlist}:
        shortlist.append(as_it_is)
    made = [(pair, alternative) for pair in shortlist if (alternative := _alternative(ground, pair, 0)) is not None]
    best = max((each.pass_probability.value for _, each in made), default=0.0)
    made.sort(key=lambda item: _full_rank(item[1], item[0], best, ground.limits))
    place = next((i for i, (_, each) in enumerate(made) if each.as_it_is), len(made))
    cured = any(each.on_hand and _inside(each, ground.limits) for _, each in made)
    made = [
        item
        for i, item in enumerate(made)
        if i == place or (i < place and not cured) or _inside(item[1], ground.limits)
    ]
    place = next((i for i, (_, each) in enumerate(made) if each.as_it_is), len(made))
    kept = made[:MOST_ALTERNATIVES]
    if place >= MOST_ALTERNATIVES:
        kept = [*kept[:-1], *made[place : place + 1]]
    return tuple(
        replace(each, rank=counted(i + 1, "rank", note="place in the order of ranking"))
        for i, (_, each) in enumerate(kept)
    )
