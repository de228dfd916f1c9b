"""Every way to change a small car, reckoned with plain floats: the oracle for the ranked cures.

Why it is to be trusted: it is the design's list of candidates written out as loops, with nothing left out for speed,
and the ranking as one tuple. Chances come from 200,000 plain pseudo-random cars (standard error below 0.0012). All in
inches. Candidates and the order of cures are common practice; the ranking is our own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations_with_replacement, product

import numpy as np

__all__ = ["Act", "SmallCar", "Way", "ways"]

CARS = 200_000
MOST_WASHERS, MOST_LAYERS = 3, 4
BODY_WINDOW = 0.005  # a sill within this of what is wanted is not set
SIGMA = {"rect": 3**0.5, "normal": 2.0, "tri": 6**0.5}


@dataclass(frozen=True)
class SmallCar:
    """A car with lever l at its own end and 1 - l at the other, and a shelf with one size of washer."""

    seat: tuple[float, float]
    bolster: float
    drop: float
    lever: float
    target: float
    limit: float
    washer: float
    washer_count: int
    sheets: tuple[float, ...]
    bolsters: tuple[tuple[float, int], ...] = ()
    shanks: tuple[tuple[float, int], ...] = ()
    fitted: tuple[float, float] = (0.0, 0.0)  # one washer already there, or 0
    shim: tuple[float, float] = (0.0, 0.0)  # already there, or 0
    sill_offset: float | None = None  # mean height of the sills over what is wanted, as it stands
    seat_t: float = 0.002  # rect
    drop_t: float = 0.002  # rect
    bolster_t: float = 0.001  # rect
    stock_t: float = 0.001  # normal: washers, bolsters and shanks of the shelf
    sheet_t: float = 0.0005  # normal, one for each sheet
    sanded_t: float = 0.002  # rect: a part cut down by hand


@dataclass(frozen=True)
class Act:
    """What is done at one end."""

    added: int = 0
    out: bool = False
    layers: tuple[float, ...] = ()  # a laminate
    bought: float = 0.0
    cut: float = 0.0
    shim: float = 0.0
    shim_out: bool = False
    shank: float = 0.0

    def parts(self) -> int:
        return (
            self.added
            + self.out
            + len(self.layers)
            + sum(bool(x) for x in (self.bought, self.cut, self.shim, self.shim_out, self.shank))
        )

    def order(self) -> int:
        washers, bolster = bool(self.added or self.out), bool(self.layers or self.bought or self.cut)
        floor, coupler = bool(self.shim or self.shim_out), bool(self.shank)
        return max(2 * washers, 3 * bolster, 4 * floor, 5 * coupler)

    def over_truck(self, car: SmallCar, end: int) -> float:
        rise = self.added * car.washer - self.out * car.fitted[end]
        new = sum(self.layers) + self.bought + self.cut
        return rise + (new - car.bolster if new else 0.0)

    def at_coupler(self, car: SmallCar, end: int) -> float:
        return -self.shim + self.shim_out * car.shim[end] + self.shank


@dataclass(frozen=True)
class Way:
    """Both acts, with errors, chance and what they are ranked by."""

    acts: tuple[Act, Act]
    error: tuple[float, float]
    chance: float
    on_hand: bool
    parts: int
    order: int
    offset: float


def _acts(car: SmallCar, end: int, ideal: float, step: float) -> Iterator[Act]:
    washers = [Act()]
    washers += [Act(added=n) for n in range(1, MOST_WASHERS + 1)]
    if car.fitted[end]:
        washers += [
            Act(added=n, out=True) for n in range(MOST_WASHERS) if n == 0 or abs(car.washer - car.fitted[end]) > 1e-9
        ]
    bolsters = [Act(bought=height) for height, _ in car.bolsters if abs(height - car.bolster) > 1e-9]
    heights: dict[float, tuple[float, ...]] = {}
    for many in range(1, MOST_LAYERS + 1):
        for layers in combinations_with_replacement(car.sheets, many):
            heights.setdefault(round(sum(layers), 6), layers)  # fewest first
    bolsters += [Act(layers=layers) for height, layers in heights.items() if abs(height - car.bolster) > 1e-6]
    if ideal < -2 * step:
        bolsters.append(Act(cut=round((car.bolster + ideal) / step) * step))
    on_truck = washers + bolsters
    lift = 0.0 if car.sill_offset is None or abs(car.sill_offset) <= BODY_WINDOW else -car.sill_offset
    for bolster in bolsters:
        both = [replace(bolster, added=w.added) for w in washers if w.added and not w.out]
        on_truck += [act for act in both if bolster.over_truck(car, end) > 0 or act.over_truck(car, end) * lift > 0]
    on_coupler = [Act()]
    on_coupler += [Act(shim_out=True)] if car.shim[end] else [Act(shim=sheet) for sheet in car.sheets]
    on_coupler += [Act(shank=offset) for offset, _ in car.shanks]
    for truck, coupler in product(on_truck, on_coupler):
        rise = truck.over_truck(car, end)
        if rise * lift > 0 or rise * coupler.at_coupler(car, end) >= 0:
            yield replace(truck, shim=coupler.shim, shim_out=coupler.shim_out, shank=coupler.shank)


def _on_hand(car: SmallCar, acts: Sequence[Act]) -> bool:
    bought = Counter(act.bought for act in acts if act.bought)
    shanks = Counter(act.shank for act in acts if act.shank)
    return (
        sum(act.added for act in acts) <= car.washer_count
        and all(bought[height] <= count for height, count in car.bolsters)
        and all(shanks[offset] <= count for offset, count in car.shanks)
    )


def _chance(car: SmallCar, acts: Sequence[Act], error: tuple[float, float], draw: dict[str, np.ndarray]) -> float:
    """Return the share of random cars whose ends are both within the limit."""
    own, other = car.lever, 1 - car.lever
    deviation = [np.full(CARS, e, dtype=np.float32) for e in error]

    def add(name: str, t: float, at_a: float, at_b: float) -> None:
        unit = draw[name]
        for total, s in zip(deviation, (at_a, at_b), strict=True):
            if s:
                total += np.float32(s * t) * unit

    sheets: Counter[tuple[float, int]] = Counter()
    for end, act in enumerate(acts):
        beam = (own, other) if end == 0 else (other, own)
        alone = (1.0, 0.0) if end == 0 else (0.0, 1.0)
        add(f"rect seat {end}", car.seat_t, *beam)
        add(f"rect drop {end}", car.drop_t, *alone)
        if act.cut:
            add(f"rect bolster {end}", car.sanded_t, *beam)
        elif act.bought:
            add(f"normal bolster {end}", car.stock_t, *beam)
        elif not act.layers:
            add(f"rect bolster {end}", car.bolster_t, *beam)
        for i in range(act.added):
            add(f"normal washer {end} {i}", car.stock_t, *beam)
        if car.fitted[end] and not act.out:
            add(f"normal fitted {end}", car.stock_t, *beam)
        if act.shank:
            add(f"normal shank {end}", car.stock_t, *alone)
        if car.shim[end] and not act.shim_out:
            add(f"normal shim {end}", car.stock_t, *alone)
        for layer in act.layers:
            for coupler in (0, 1):
                sheets[layer, coupler] += beam[coupler]  # type: ignore[assignment]
        if act.shim:
            sheets[act.shim, end] -= 1
    for k, sheet in enumerate(car.sheets):
        add(f"normal sheet {k}", car.sheet_t, sheets[sheet, 0], sheets[sheet, 1])
    good = (np.abs(deviation[0]) <= car.limit) & (np.abs(deviation[1]) <= car.limit)
    return float(good.mean())


def _draws(seed: int) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(seed)
    rect = [f"rect {what} {end}" for what in ("seat", "drop", "bolster") for end in (0, 1)]
    normal = [f"normal {what} {end}" for what in ("bolster", "fitted", "shank", "shim", "sheet") for end in (0, 1)]
    normal += [f"normal washer {end} {i}" for end in (0, 1) for i in range(MOST_WASHERS)]
    drawn = {name: rng.uniform(-1, 1, CARS).astype(np.float32) for name in rect}
    return drawn | {name: (rng.standard_normal(CARS) / 2).astype(np.float32) for name in normal}


def ways(car: SmallCar, *, step: float = 0.001) -> list[Way]:
    """Return every way whose nominal heights are both within the limit, in no order."""
    own, other = car.lever, 1 - car.lever
    under = [car.seat[end] + car.fitted[end] + car.bolster for end in (0, 1)]
    base = [own * under[end] + other * under[1 - end] - car.shim[end] - car.drop - car.target for end in (0, 1)]
    # own a + other b = -base_a;  other a + own b = -base_b
    determinant = own * own - other * other
    ideal = [(-base[end] * own + base[1 - end] * other) / determinant for end in (0, 1)]
    acts = [list(_acts(car, end, ideal[end], step)) for end in (0, 1)]
    draw = _draws(1948)
    found = []
    for pair in product(*acts):
        rise = [pair[end].over_truck(car, end) for end in (0, 1)]
        error = tuple(
            base[end] + own * rise[end] + other * rise[1 - end] + pair[end].at_coupler(car, end) for end in (0, 1)
        )
        if max(abs(e) for e in error) > car.limit + 1e-10:
            continue
        found.append(
            Way(
                pair,
                (error[0], error[1]),
                _chance(car, pair, (error[0], error[1]), draw),
                _on_hand(car, pair),
                sum(act.parts() for act in pair),
                max(act.order() for act in pair),
                car.sill_offset + sum(rise) / 2 if car.sill_offset is not None else 0.0,
            )
        )
    return found
