"""Where cross members stand: the room that the trucks leave, and the spacing of crossbearers and crossties in it.

Crossbearers are few and heavy, crossties more and light. Stations are numbered from end A. Where the file gives
places, they are those; where it gives a count that is not the type's own, crossbearers divide the truck centres evenly,
and crossties stand evenly in the bays that crossbearers and trucks leave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from carwright.car.model import Car, End, Ends, PieceChange
from carwright.findings import Finding
from carwright.frame.plates import MID_CAR, Station
from carwright.reference import FrameDefault, practice_value
from carwright.reference.anatomy import anatomy
from carwright.working import Working, counted, derive

__all__ = ["Layout", "Member", "Room", "lay_out", "room_between", "to_scale", "truck_reach", "usual"]

_NOTHING_MM = 1e-9
"""Two places nearer than this are one: far below what a hand can set, far above the rounding of a double."""


def to_scale(name: str, prototype: Working, car: Car) -> Working:
    """Return a length of the real car, given in prototype inches, at the car's scale in mm; HO's where it has none."""
    if car.info.ratio is None:
        return derive(name, "p*25.4/87.1", p=prototype)
    return derive(name, "p*25.4/n", p=prototype, n=car.info.ratio)


def usual(choice: str, name: str, car: Car) -> Working:
    """Return a customary length that is given for HO, in mm, in proportion to the car's scale."""
    found = practice_value(choice)
    return found if car.info.ratio is None else derive(name, "s*87.1/n", s=found, n=car.info.ratio)


_ALIKE_MM = 1e-6
"""Bays are alike when they differ by less: what is left of a symmetric car after a few sums."""


@dataclass(frozen=True, slots=True)
class Member:
    """A cross member: its number from end A, where it stands, and its length along the car over the flange, mm."""

    name: str
    heavy: bool
    at: Station
    along: Working


@dataclass(frozen=True, slots=True)
class Room:
    """What is left between the trucks: from ``b`` to ``a`` along the car, mm, and the trucks' pivots beyond."""

    a: Station
    b: Station
    pivots: Ends[Working]


@dataclass(frozen=True, slots=True)
class Layout:
    """Cross members in their order from end A, and what was found about their number."""

    members: tuple[Member, ...]
    findings: tuple[Finding, ...] = ()


def truck_reach(car: Car, end: End, swing: Working) -> Working:
    """Return how far a truck reaches along the car from its pivot, swung, with a gap to what does not move, mm.

    The frame's corner is at F/2 cos s + W/2 sin s; the wheels' outermost at (b + d)/2 cos s + W/2 sin s, taken to the
    frame's side. Whichever reaches further counts. Where neither is measured, the general distance of the data does.

    Args:
        car: the car.
        end: whose truck.
        swing: each way, degrees.
    """
    truck = car.trucks.at(end)
    gap = usual("frame_gap", "gap to the truck", car)
    letter = end.upper()
    wheel = truck.wheels or truck.wheel_diameter
    choices = []
    if truck.width is not None:
        if truck.frame_length is not None:
            choices.append(
                derive(
                    f"reach of truck {letter}'s frame",
                    "F/2*cos(radians(s)) + W/2*sin(radians(s)) + g",
                    F=truck.frame_length,
                    W=truck.width,
                    s=swing,
                    g=gap,
                )
            )
        if truck.wheelbase is not None and wheel is not None:
            choices.append(
                derive(
                    f"reach of truck {letter}'s wheels",
                    "(b + d)/2*cos(radians(s)) + W/2*sin(radians(s)) + g",
                    b=truck.wheelbase,
                    d=wheel,
                    W=truck.width,
                    s=swing,
                    g=gap,
                )
            )
    if choices:
        return max(choices, key=lambda each: each.value)
    general = to_scale("truck to the nearest member", anatomy("ride", "swing-keepout"), car)
    return derive(f"reach of truck {letter}, not measured", "k + g", k=general, g=gap)


def room_between(pivots: Ends[Working], reach: Ends[Working]) -> Room:
    """Return the room along the car that two trucks leave between them.

    Args:
        pivots: of the trucks from mid-car, mm.
        reach: of each truck toward the middle, mm.
    """
    return Room(
        Station(derive("room for cross members, A side", "p - r", p=pivots.a, r=reach.a)),
        Station(derive("room for cross members, B side", "p + r", p=pivots.b, r=reach.b)),
        pivots,
    )


def _share(name: str, share: Working, pivots: Ends[Working]) -> Station:
    """Return the station at a share of the truck centres from the middle between the trucks, toward A positive."""
    if abs(share.value) < _NOTHING_MM and abs(pivots.a.value + pivots.b.value) < _NOTHING_MM:
        return MID_CAR
    if pivots.a.value == -pivots.b.value:
        return Station(derive(f"middle of {name}", "2*f*p", f=share, p=pivots.a), share)
    return Station(derive(f"middle of {name}", "(pa + pb)/2 + f*(pa - pb)", pa=pivots.a, pb=pivots.b, f=share), share)


def _between(name: str, first: Station, last: Station, k: Working, n: Working, pivots: Ends[Working]) -> Station:
    """Return the k-th of n stations that divide the bay from ``first`` to ``last`` evenly."""
    if first.share is not None and last.share is not None:
        share = derive(f"share of {name}", "f1 + (f2 - f1)*k/(n + 1)", "", f1=first.share, f2=last.share, k=k, n=n)
        return _share(name, share, pivots)
    x = derive(f"middle of {name}", "x1 + (x2 - x1)*k/(n + 1)", x1=first.x, x2=last.x, k=k, n=n)
    return MID_CAR if abs(x.value) < _NOTHING_MM else Station(x)


def _changed(name: str, changes: dict[str, PieceChange]) -> Station | None:
    change = changes.get(name)
    return None if change is None or change.x is None else Station(change.x)


def _fits(name: str, wanted: Working, along: Working, room: Room, gap: Working) -> tuple[int, Finding | None]:
    """Return how many members of one kind can stand in the room, and a finding where that is fewer than wanted."""
    span = derive("room between the trucks", "a - b", a=room.a.x, b=room.b.x)
    most = max(0, int((span.value + gap.value) // (along.value + gap.value)))
    if wanted.value <= most + _NOTHING_MM:
        return round(wanted.value), None
    limit = derive(
        f"most {name} that can stand between the trucks",
        "floor((s + g)/(f + g))",
        "count",
        s=span,
        g=gap,
        f=along,
    )
    margin = derive(f"{name} to spare", "m - n", "count", m=limit, n=wanted)
    return most, Finding(
        f"{name}_count",
        "fail",
        f"{wanted.value:.0f} {name} would overlap: between the trucks there is room for {most}.",
        wanted,
        limit,
        margin,
        "count",
        mend=f"Give underframe.{name} = {most} or fewer; {most} are drawn.",
        source="geometry",
    )


def _bearers(
    car: Car, default: FrameDefault | None, room: Room, along: Working, gap: Working, changes: dict[str, PieceChange]
) -> tuple[list[Station], list[Finding]]:
    wish = car.underframe
    if wish.crossbearers_at:
        stations = [Station(x) for x in sorted(wish.crossbearers_at, key=lambda each: -each.value)]
        return _renamed("crossbearer", stations, changes), []
    usual_places = default.crossbearers if default is not None else ()
    count = wish.crossbearers
    if count is None or round(count.value) == len(usual_places):
        # the data counts toward the A end negative
        shares = sorted(usual_places, key=lambda each: each.value)
        stations = [
            _share(f"crossbearer_{i}", derive(f"share of crossbearer_{i}", "-f", "", f=share), room.pivots)
            for i, share in enumerate(shares, 1)
        ]
        return _renamed("crossbearer", stations, changes), []
    number, finding = _fits("crossbearers", count, along, room, gap)
    drawn = count if finding is None else counted(number, "crossbearers drawn", note="as many as can stand")
    stations = [
        _share(
            f"crossbearer_{i}",
            derive(
                f"share of crossbearer_{i}",
                "1/2 - i/(n + 1)",
                "",
                i=counted(i, f"place of crossbearer_{i}", note="counted from end A"),
                n=drawn,
            ),
            room.pivots,
        )
        for i in range(1, number + 1)
    ]
    half = along.value / 2
    if any(not room.b.value + half <= each.value <= room.a.value - half for each in stations):
        stations = [_filling(i, drawn, room, along) for i in range(1, number + 1)]
    return _renamed("crossbearer", stations, changes), [] if finding is None else [finding]


def _filling(i: int, count: Working, room: Room, along: Working) -> Station:
    """Return the i-th of several crossbearers that fill the room between the trucks, the outer ones at its ends."""
    name = f"middle of crossbearer_{i}"
    if count.value < 2:
        x = derive(name, "(a + b)/2", a=room.a.x, b=room.b.x)
    else:
        place = counted(i, f"place of crossbearer_{i}", note="counted from end A")
        formula = "a - f/2 - (i - 1)*(a - b - f)/(n - 1)"
        x = derive(name, formula, a=room.a.x, b=room.b.x, f=along, i=place, n=count)
    return MID_CAR if abs(x.value) < _NOTHING_MM else Station(x)


def _renamed(kind: str, stations: Sequence[Station], changes: dict[str, PieceChange]) -> list[Station]:
    """Return the stations with those that the file moves where it puts them."""
    return [_changed(f"{kind}_{i}", changes) or each for i, each in enumerate(stations, 1)]


def _shared_out(lengths: Sequence[float], number: int, most: Sequence[int]) -> list[int]:
    """Return how many of ``number`` go into each bay, so that the widest spacing is small and both ends are alike.

    ``most`` is how many a bay takes; their sum is no less than ``number``.

    Where the bays mirror each other about mid-car they are filled two at a time, a pair of bays or the middle one; an
    odd one goes to the middle bay first, or where there is none to the widest.
    """
    counts = [0] * len(lengths)
    last = len(lengths) - 1
    alike = all(abs(lengths[i] - lengths[last - i]) < _ALIKE_MM for i in range(len(lengths)))
    left = number
    if alike and last % 2 == 0 and left % 2 == 1 and most[last // 2] > 0:
        counts[last // 2] += 1
        left -= 1
    while left > 0:
        spacing = [length / (count + 1) for length, count in zip(lengths, counts, strict=True)]
        open_ones = [i for i in range(len(lengths)) if counts[i] < most[i]]
        best = max(open_ones, key=lambda i: (round(spacing[i], 6), -i))
        for each in (best, last - best) if alike and left > 1 else (best,):
            if counts[each] < most[each]:
                counts[each] += 1
                left -= 1
    return counts


def _ties(
    car: Car,
    default: FrameDefault | None,
    room: Room,
    bearers: Sequence[Station],
    along: Ends[Working],
    gap: Working,
    changes: dict[str, PieceChange],
) -> tuple[list[Station], list[Finding]]:
    """Return the crossties' stations; ``along`` is the heavy flange's length (a) and the light one's (b), mm."""
    wish = car.underframe
    if wish.crossties_at:
        stations = [Station(x) for x in sorted(wish.crossties_at, key=lambda each: -each.value)]
        return _renamed("crosstie", stations, changes), []
    places = default.crossties if default is not None else ()
    count = wish.crossties
    own_bearers = wish.crossbearers is None and not wish.crossbearers_at
    if count is None and not own_bearers:
        count = None if not places else counted(len(places), "crossties of the type", note="by type and year")
    if count is None or (
        default is not None and round(count.value) == len(places) and _as_usual(default, bearers, room)
    ):
        shares = sorted(places, key=lambda each: each.value)
        stations = [
            _share(f"crosstie_{i}", derive(f"share of crosstie_{i}", "-f", "", f=share), room.pivots)
            for i, share in enumerate(shares, 1)
        ]
        if all(room.b.value <= each.value <= room.a.value for each in stations):
            return _renamed("crosstie", stations, changes), []
        count = counted(len(places), "crossties of the type", note="by type and year; their usual places are not free")
    walls = [room.a, *sorted(bearers, key=lambda each: -each.value), room.b]
    lengths = [max(0.0, first.value - last.value) for first, last in pairwise(walls)]
    most = _bays_take(lengths, along, gap)
    number, finding = _enough(count, sum(most))
    stations = []
    place = 0
    for bay, inside in enumerate(_shared_out(lengths, number, most)):
        n = counted(inside, f"crossties in bay {bay + 1}", note="shared out so that the widest spacing is least")
        for k in range(1, inside + 1):
            place += 1
            in_bay = counted(k, f"place of crosstie_{place} in its bay", note="counted from end A")
            stations.append(_between(f"crosstie_{place}", walls[bay], walls[bay + 1], in_bay, n, room.pivots))
    return _renamed("crosstie", stations, changes), [] if finding is None else [finding]


def _bays_take(lengths: Sequence[float], along: Ends[Working], gap: Working) -> list[int]:
    """Return how many crossties each bay takes, evenly spaced in it; the outer bays end at a truck's room."""
    light = along.b.value + gap.value
    beside = (along.a.value + along.b.value) / 2 + gap.value
    found = []
    for i, length in enumerate(lengths):
        walls = (i > 0) + (i < len(lengths) - 1)
        spacing = max(light, beside) if walls else light
        found.append(max(0, int((length + 1e-9) // spacing) - 1))
    return found


def _enough(wanted: Working, most: int) -> tuple[int, Finding | None]:
    """Return how many crossties can stand beside the crossbearers, and a finding where that is fewer than wanted."""
    if wanted.value <= most + _NOTHING_MM:
        return round(wanted.value), None
    limit = counted(most, "most crossties beside the crossbearers", note="evenly spaced in each bay, a gap between")
    return most, Finding(
        "crossties_count",
        "fail",
        f"{wanted.value:.0f} crossties would overlap: beside the crossbearers there is room for {most}.",
        wanted,
        limit,
        derive("crossties to spare", "m - n", "count", m=limit, n=wanted),
        "count",
        mend=f"Give underframe.crossties = {most}{' or fewer' if most else ''}; {most or 'none'} are drawn.",
        source="geometry",
    )


def _as_usual(default: FrameDefault, bearers: Sequence[Station], room: Room) -> bool:
    """Return whether the crossbearers stand where the type has them, so that its crossties stand between them."""
    span = room.pivots.a.value - room.pivots.b.value
    wanted = sorted((-each.value * span for each in default.crossbearers), reverse=True)
    middle = (room.pivots.a.value + room.pivots.b.value) / 2
    return len(wanted) == len(bearers) and all(
        abs(middle + place - each.value) < 1e-6 for place, each in zip(wanted, bearers, strict=True)
    )


def lay_out(car: Car, default: FrameDefault | None, room: Room, *, heavy: Working, light: Working) -> Layout:
    """Return the cross members of a car.

    Args:
        car: with its wishes: counts, places, and pieces moved by name.
        default: the frame of its kind and year, or None where the data has none.
        room: what the trucks leave.
        heavy: length along the car of a crossbearer over its flange, mm.
        light: likewise of a crosstie.
    """
    changes = {each.name: each for each in car.pieces}
    gap = usual("frame_gap", "gap between members", car)
    bearers, found = _bearers(car, default, room, heavy, gap, changes)
    ties, more = _ties(car, default, room, bearers, Ends(heavy, light), gap, changes)

    def named(kind: Literal["crossbearer", "crosstie"], stations: Sequence[Station]) -> list[Member]:
        return [
            Member(f"{kind}_{i}", kind == "crossbearer", at, heavy if kind == "crossbearer" else light)
            for i, at in enumerate(stations, 1)
            if not (f"{kind}_{i}" in changes and changes[f"{kind}_{i}"].drop)
        ]

    members = sorted((*named("crossbearer", bearers), *named("crosstie", ties)), key=lambda each: -each.at.value)
    return Layout(tuple(members), (*found, *more))
