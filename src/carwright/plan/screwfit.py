"""Whether each screw is long enough and not too long, the boss under it, and the length to buy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from carwright.car.model import ENDS, Car, End, Ends
from carwright.fasten.screwlength import (
    Lengths,
    Reach,
    back_off,
    best_length,
    lengths_wanted,
    out_of_the_top,
    shared_lengths,
    thread_in,
)
from carwright.fasten.tapped import said
from carwright.findings import Finding, listed
from carwright.lengths import nearest_fraction, show_in
from carwright.pieces import Hole
from carwright.plan.checks import bolster_needs, called
from carwright.plan.model import BuyLine
from carwright.reference import practice_value, thread
from carwright.reference.usual import usual_screw_lengths
from carwright.ride.model import EndSpec, Ride
from carwright.working import Working, counted, derive, derived

__all__ = ["ScrewFits", "screw_fits"]

_SOURCE = "common practice"
_OPEN_TOPPED = frozenset({"flat", "gondola"})

_SUNK = frozenset({"flat", "oval"})
"""Heads that sink into what they hold: no other head stands in for them, nor they for another."""


@dataclass(frozen=True, slots=True)
class ScrewFits:
    """What was found on the screws, and those to buy."""

    findings: tuple[Finding, ...]
    buy: tuple[BuyLine, ...]


@dataclass(frozen=True, slots=True)
class _Given:
    """A screw as the file has it: its grip and length where known, and the keys that are missing."""

    name: str
    hole: Hole
    grip: Working | None
    back: Working | None
    depth: Working | None
    length: Working | None
    head: str
    key: str
    needs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Choice:
    """The length that does for a screw, whether one lies on the shelf, and the key under which it is written."""

    size: Working | None
    on_hand: bool
    key: str


def screw_fits(
    car: Car,
    specs: Ends[EndSpec],
    holes: Sequence[Hole],
    bolsters: Ends[Working | None],
    kind: str | None,
    ride: Ride,
) -> ScrewFits:
    """Return what is found on the screws of trucks and couplers.

    Args:
        car: with its screws and shelf.
        specs: the stack of each end, for washers and shims.
        holes: of the plan.
        bolsters: height of each body bolster, mm, with its glue.
        kind: of car, for what is seen from above.
        ride: both ends solved, for what a bolster that is to be built waits for.
    """
    findings: list[Finding] = []
    wanted: dict[tuple[str, float, str], tuple[Working, list[str]]] = {}
    waiting: dict[str, list[str]] = {}
    unmeasured: dict[str, list[Reach]] = {}
    cases: list[tuple[_Given, Reach]] = []
    for given in _given(car, specs, holes, bolsters, ride):
        found = thread(given.hole.tap)
        if found is None:
            continue
        if given.grip is None or given.depth is None:
            for key in given.needs:
                waiting.setdefault(key, []).append(said(given.name))
            continue
        hidden = kind in _OPEN_TOPPED or car.body.floor == "deck"
        cases.append((given, Reach(said(given.name), found, given.grip, given.back, given.depth, hidden)))
    choices = _choices(car, cases)
    for given, reach in cases:
        choice = choices[given.name]
        if given.length is None:
            unmeasured.setdefault(f"{given.key}: {_advice(car, reach, choice)}", []).append(reach)
            size = None if choice.on_hand else choice.size
        else:
            finding, size = _judged(car, given, given.length, reach, choice)
            findings.append(finding)
        if size is not None:
            mark = (reach.thread.name, round(size.value, 6), given.head or "pan")
            wanted.setdefault(mark, (size, []))[1].append(reach.name)
    findings += [_unmeasured(words, mine) for words, mine in unmeasured.items()]
    if waiting:
        findings.append(_waits(waiting))
    bosses = (_boss(car, end, specs.at(end), bolsters.at(end)) for end in ENDS)
    findings += [each for each in bosses if each is not None]
    return ScrewFits(tuple(findings), tuple(_lines(car, wanted)))


def _given(
    car: Car, specs: Ends[EndSpec], holes: Sequence[Hole], bolsters: Ends[Working | None], ride: Ride
) -> Iterator[_Given]:
    named = {hole.name: hole for hole in holes}
    for end in ENDS:
        truck, hole = car.trucks.at(end), named.get(f"truck_{end}")
        if hole is not None and hole.tap:
            passes = [("trucks.bolster_thickness", truck.bolster_thickness), ("underframe.bolster", bolsters.at(end))]
            passes += [("", part.size) for part in specs.at(end).washers]
            found = thread(hole.tap)
            back = None if found is None else back_off(found)
            given = _screw(hole, passes, back, truck.screw_length, truck.screw_head, "trucks.screw_length")
            if "underframe.bolster" in given.needs:
                others = (key for key in given.needs if key != "underframe.bolster")
                given = replace(given, needs=tuple(dict.fromkeys((*others, *bolster_needs(car, ride, end)))))
            yield given
        coupler, hole = car.coupler.at(end), named.get(f"coupler_{end}")
        if hole is not None and hole.tap and coupler.mount == "body":
            passes = [("coupler.box_height", coupler.box_height)]
            passes += [("", part.size) for part in specs.at(end).shim]
            yield _screw(hole, passes, None, coupler.screw_length, "", "coupler.screw_length", coupler.recess)


def _screw(
    hole: Hole,
    passes: Sequence[tuple[str, Working | None]],
    back: Working | None,
    length: Working | None,
    head: str,
    key: str,
    recess: Working | None = None,
) -> _Given:
    needs = [name for name, size in passes if size is None]
    grip = None
    if not needs:
        terms = {f"g{i + 1}": size for i, (_, size) in enumerate(passes) if size is not None}
        grip = derived(f"what the screw of {said(hole.name)} passes", " + ".join(terms), terms)
    depth = hole.depth_mm
    if depth is None:
        needs += list(hole.needs) or ["body.lip_depth"]
    elif recess is not None:
        depth = derive(f"plastic left above the recess at {said(hole.name)}", "t - r", t=depth, r=recess)
    return _Given(hole.name, hole, grip, back, depth, length, head, key, tuple(needs))


def _advice(car: Car, reach: Reach, choice: _Choice) -> str:
    """Return which length would do, in words."""
    units, wanted = car.info.units, lengths_wanted(reach)
    least, better = show_in(wanted.least.value, units), show_in(wanted.better.value, units)
    span = f"{least} holds" if least == better else f"{least} holds and {better} holds better"
    if choice.size is None:
        return f"{span}; no usual length does"
    within = ", which stays in the plastic" * (not choice.on_hand and choice.size.value < wanted.better.value - 1e-9)
    where = "on the shelf" if choice.on_hand else "to be bought"
    return f"{span}, so {_length_words(choice.size, units)}{within}, {where}{_comes_out(car, reach, choice.size)}"


def _comes_out(car: Car, reach: Reach, size: Working) -> str:
    """Return, in words, how far a screw that is told comes out of the plastic; nothing where it stays within."""
    tip = out_of_the_top(reach, size)
    return f"; its tip then stands {show_in(tip.value, car.info.units)} above the plastic" * _shows(tip)


def _shows(tip: Working) -> bool:
    return tip.value > practice_value("cut_step").value


def _unmeasured(words: str, mine: Sequence[Reach]) -> Finding:
    key, _, advice = words.partition(": ")
    names = listed(each.name for each in mine)
    screws = f"the screw of {names} is" if len(mine) == 1 else f"the screws of {names} are"
    because = f"Whether {screws} long enough is not known: {advice}."
    check = "screws_truck" if key.startswith("trucks") else "screws_coupler"
    return Finding(check, "unknown", because, source=_SOURCE, needs=(key,))


def _judged(car: Car, given: _Given, length: Working, reach: Reach, choice: _Choice) -> tuple[Finding, Working | None]:
    """Return the finding on one screw, and the length to buy where it does not do and the shelf has none that does."""
    units, check, size = car.info.units, f"screw_{given.name}", choice.size
    buy = None if choice.on_hand else size
    take = ""
    if size is not None:
        where = f"{'on the shelf' if choice.on_hand else 'to be bought'}{_comes_out(car, reach, size)}"
        take = f'Take a {_length_words(size, units)} screw, {where}: {choice.key} = "{_typed_words(size, units)}".'
    held, limit = thread_in(reach, length), _least_thread(reach)
    margin = derive(f"thread of {reach.name} to spare", "h - m", h=held, m=limit)
    tip = out_of_the_top(reach, length)
    diameters = max(held.value, 0.0) / reach.thread.major.value
    turns = f"{max(held.value, 0.0) / reach.thread.pitch.value:.1f} turns, {diameters:.1f} diameters,"
    long = f"The {_length_words(length, units)} screw of {reach.name}"
    if margin.value < -1e-9:
        what = f"holds only {turns} of thread" if held.value > 0 else "does not reach the plastic"
        because = f"{long} {what}; {show_in(limit.value, units)}, 1.5 diameters, is the least."
        if reach.depth.value < limit.value:
            take = "The plastic is too thin for any length: a thicker screw block."
            buy = None
        return Finding(check, "fail", because, held, limit, margin, mend=take, source=_SOURCE), buy
    file = f"File it {show_in(tip.value, units)} shorter, the cut end deburred"
    if reach.hidden and tip.value > 1e-9:
        over = derive(f"room for the screw of {reach.name}", "-t", t=tip)
        because = (
            f"{long} comes {show_in(tip.value, units)} out of the top, where it is seen and meets the load; in a blind "
            "hole it would bottom before it clamps."
        )
        return Finding(check, "fail", because, tip, None, over, mend=take or f"{file}.", source="geometry"), buy
    better = "; 2 are better" * (round(diameters, 1) < 2.0)
    because = f"{long} holds {turns} of thread{better}"
    if not _shows(tip):
        return Finding(check, "ok", f"{because}.", held, limit, margin, source=_SOURCE), None
    because = f"{because}, and its tip stands {show_in(tip.value, units)} above the plastic, inside the car."
    shorter = choice.on_hand and size is not None and not _shows(out_of_the_top(reach, size))
    mend = f"{take} Or: {file[0].lower()}{file[1:]}." if shorter else f"{file}, or leave it room: weight clear of it."
    return Finding(check, "watch", because, held, limit, margin, mend=mend, source=_SOURCE), None


def _least_thread(reach: Reach) -> Working:
    return derive("least thread held", "k*D", k=practice_value("block_diameters_min"), D=reach.thread.major)


def _does(given: _Given, reach: Reach) -> bool:
    """Return whether the screw that is in hand holds, and comes out where it may."""
    if given.length is None or thread_in(reach, given.length).value < _least_thread(reach).value - 1e-9:
        return False
    return not reach.hidden or out_of_the_top(reach, given.length).value <= 1e-9


def _choices(car: Car, cases: Sequence[tuple[_Given, Reach]]) -> dict[str, _Choice]:
    """Return the length that does for each screw: what is on the shelf before what is bought, one for both ends first.

    Two ends get one length where one passes at both. What they do not share is written for each end by itself.
    """
    groups: dict[tuple[str, str, str], list[tuple[_Given, Reach]]] = {}
    for given, reach in cases:
        groups.setdefault((given.key, reach.thread.name, given.head.casefold()), []).append((given, reach))
    found: dict[str, _Choice] = {}
    for (key, _, head), mine in groups.items():
        wanted = [lengths_wanted(reach) for _, reach in mine]
        stock = _on_shelf(car, mine[0][1], head)
        series: Literal["in", "mm"] = "mm" if mine[0][1].thread.screw is None else "in"
        usual, shared = usual_screw_lengths(series), shared_lengths(wanted)
        both = best_length(shared, [size for size, count in stock if count is None or count >= len(mine)])
        sizes: list[tuple[Working | None, bool]] = [(both, True)] * len(mine)
        if both is None:
            own = _own(wanted, stock)
            bought = best_length(shared, usual) if own.count(None) == len(own) else None
            sizes = [
                (each, True) if each is not None else (bought or best_length(asked, usual), False)
                for each, asked in zip(own, wanted, strict=True)
            ]
        marks = {None if size is None else size.value for size, _ in sizes}
        together = len(marks) == 1 and len(mine) == len(ENDS) and not any(_does(*each) for each in mine)
        section, _, name = key.partition(".")
        for (given, _), (size, on_hand) in zip(mine, sizes, strict=True):
            found[given.name] = _Choice(size, on_hand, key if together else f"{section}.{given.name[-1]}.{name}")
    return found


def _own(wanted: Sequence[Lengths], stock: Sequence[tuple[Working, int | None]]) -> list[Working | None]:
    """Return the best of the shelf for each screw, each row no oftener than it lies there."""
    left, found = [size for size, _ in stock], []
    counts = {id(size): count for size, count in stock}
    for asked in wanted:
        size = best_length(asked, left)
        found.append(size)
        if size is not None and counts[id(size)] is not None:
            counts[id(size)] = (counts[id(size)] or 0) - 1
            left = [each for each in left if counts[id(each)] != 0]
    return found


def _on_shelf(car: Car, reach: Reach, head: str) -> list[tuple[Working, int | None]]:
    """Return length and number of the screws on the shelf that would do by thread and head.

    Args:
        car: with its shelf.
        reach: of the screw, for its thread.
        head: that the owner asks for; "" for any that bears flat on what it holds.
    """

    def will_do(given: str) -> bool:
        has = given.casefold().removesuffix("head").strip(" -")
        wanted = head.removesuffix("head").strip(" -")
        return not has or has == wanted or (not wanted and has not in _SUNK)

    return [
        (each.length, each.count)
        for each in car.shelf.screws
        if each.length is not None and each.count != 0 and thread(each.thread) == reach.thread and will_do(each.head)
    ]


def _length_words(size: Working, units: Literal["in", "mm"]) -> str:
    text = nearest_fraction(size.value, 16)
    return text.text if units == "in" and abs(text.error_mm) < 1e-6 else show_in(size.value, units)


def _typed_words(size: Working, units: Literal["in", "mm"]) -> str:
    return _length_words(size, units).removesuffix(" in").removesuffix(" mm")


def _waits(waiting: dict[str, list[str]]) -> Finding:
    names = list(dict.fromkeys(name for each in waiting.values() for name in each))
    return Finding(
        "screws",
        "unknown",
        f"How long the screws of {listed(names)} must be is not known yet: it needs "
        f"{listed(called(key) for key in waiting)}.",
        mend="Measure what they pass, or try them on scrap as thick.",
        needs=tuple(waiting),
    )


def _lines(car: Car, wanted: dict[tuple[str, float, str], tuple[Working, list[str]]]) -> Iterator[BuyLine]:
    for (name, _, head), (size, places) in wanted.items():
        what = f"{name} {head} head screw, {_length_words(size, car.info.units)}"
        yield BuyLine(
            what,
            size,
            None,
            None,
            counted(len(places), f"quantity of {what}", note="one for each hole"),
            f"For {' and '.join(places)}: the usual length that holds.",
        )


def _boss(car: Car, end: End, spec: EndSpec, bolster: Working | None) -> Finding | None:
    """Return whether the truck's boss stays clear of the floor, so that the truck bears on its face and turns."""
    boss = car.trucks.at(end).boss_height
    if boss is None or boss.value <= 0 or bolster is None:
        return None
    units, letter = car.info.units, end.upper()
    terms = {"K": bolster} | {f"v{i + 1}": part.size for i, part in enumerate(spec.washers)}
    room = derived(f"room for the boss of truck {letter}", " + ".join(terms), terms)
    margin = derive(f"boss of truck {letter} to spare", "r - b", r=room, b=boss)
    if margin.value > 0:
        because = (
            f"The boss of truck {letter}, {show_in(boss.value, units)} high, ends {show_in(margin.value, units)} below "
            "the floor: the truck bears on its face."
        )
        return Finding(f"boss_{end}", "ok", because, boss, room, margin, source="geometry")
    because = (
        f"The boss of truck {letter} is {show_in(boss.value, units)} high and meets the floor before the truck bears "
        f"on its face: the end stands {show_in(-margin.value, units)} high, and the truck binds."
    )
    mend = f"Take {show_in(-margin.value, units)} and a little more off the boss, or add a washer round it."
    return Finding(f"boss_{end}", "fail", because, boss, room, margin, mend=mend, source="geometry")
