"""Old holes of a car: where they lie beside the new ones, what is done with each, and what is found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from carwright.car.model import ENDS, Car, Ends, OldHole
from carwright.fasten.edges import nearest_edge
from carwright.fasten.plugs import (
    Near,
    Plug,
    PlugOffer,
    Repair,
    Site,
    choose_plug,
    judge,
    near,
    rim_wanted,
    safe_shift,
    seam_wanted,
)
from carwright.fasten.stripped import next_size
from carwright.fasten.tapped import said
from carwright.findings import Finding
from carwright.frame.floor import Floor
from carwright.frame.plates import ZERO
from carwright.lengths import show_in
from carwright.pieces import Hole, Piece
from carwright.plan.model import BuyLine
from carwright.reference import practice_value, thread, thread_percent
from carwright.reference.usual import usual_rods
from carwright.working import Working, counted, derive

__all__ = ["OldHoles", "old_holes", "plug_lines"]

_SOURCE = "common practice"


@dataclass(frozen=True, slots=True)
class OldHoles:
    """What the old holes change: the pieces with their holes as they are then drilled, the repairs, the findings."""

    pieces: tuple[Piece, ...]
    repairs: tuple[Repair, ...]
    findings: tuple[Finding, ...]


def old_holes(car: Car, floor: Floor, pieces: tuple[Piece, ...], pivots: Ends[Working | None]) -> OldHoles:
    """Return what is done with each old hole of the car file.

    Args:
        car: with its old holes and its shelf.
        floor: new or kept.
        pieces: with the new holes.
        pivots: of the trucks from mid-car, mm.
    """
    repairs: list[Repair] = []
    findings: list[Finding] = []
    offers = tuple(_offers(car))
    for at, old in enumerate(car.body.holes):
        name = f"old_hole_{at + 1}"
        gone = _gone(car, floor, old)
        if gone:
            findings.append(Finding(name, "ok", f"{_capital(_called(old.name))} goes with the old {gone}."))
            continue
        site = _site(car, floor, pieces, pivots, at, old)
        if isinstance(site, Finding):
            findings.append(site)
            continue
        found, repair = _looked_at(car, site, pieces, offers)
        findings.append(found)
        if repair is not None:
            repairs.append(repair)
    return OldHoles(_with_used(pieces, repairs), tuple(repairs), tuple(findings))


def plug_lines(repairs: Sequence[Repair], units: Literal["in", "mm"]) -> Iterator[BuyLine]:
    """Yield a line for each rod that a plug wants and the shelf does not have."""
    wanted: dict[str, list[Repair]] = {}
    for each in repairs:
        if each.plug is not None and each.plug.offer is not None and not each.plug.offer.on_hand:
            wanted.setdefault(each.plug.offer.label, []).append(each)
    for label, mine in wanted.items():
        plug = mine[0].plug
        assert plug is not None
        name = f"{label} styrene {plug.form}"
        yield BuyLine(
            name,
            plug.size,
            None,
            None,
            counted(1, f"quantity of {name}", note="one length serves for every plug of its size"),
            f"To plug {' and '.join(each.site.what for each in mine)} before the new "
            f"{'hole is' if sum(len(each.holes) for each in mine) == 1 else 'holes are'} drilled.",
        )


# ----------------------------------------------------------------------------------------------------- where they lie


def _called(name: str) -> str:
    return name if name.startswith("old hole ") else f'the old hole "{name}"'


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _gone(car: Car, floor: Floor, old: OldHole) -> str:
    """Return the part that goes with its old hole since it is made new, or ""."""
    if old.part == "floor":
        return "" if floor.stays else "floor"
    wanted = car.underframe
    new = all(wanted.build_bolster.at(end) or len(wanted.bolster.at(end)) > 1 for end in ENDS)
    return "bolsters" if new else ""


def _site(
    car: Car, floor: Floor, pieces: Sequence[Piece], pivots: Ends[Working | None], at: int, old: OldHole
) -> Site | Finding:
    stripped = thread(old.stripped) if old.stripped else None
    diameter = old.diameter if old.diameter is not None or stripped is None else stripped.major
    key = f"body.hole[{at}]"
    needs = [f"{key}.{name}" for name, value in (("x", old.x), ("diameter", diameter)) if value is None]
    pivot: Working | None = None
    where = "floor"
    if old.part == "bolster":
        if pivots.a is None or pivots.b is None:
            needs.append("trucks.centers")
        elif old.x is not None:
            nearer = abs(pivots.a.value - old.x.value) <= abs(pivots.b.value - old.x.value)
            pivot, where = (pivots.a, "bolster_a") if nearer else (pivots.b, "bolster_b")
    if needs or old.x is None or diameter is None:
        return Finding(
            f"old_hole_{at + 1}",
            "unknown",
            f"Whether {_called(old.name)} is in the way is not known yet: measure where it is and how wide.",
            needs=tuple(needs),
        )
    x = old.x if pivot is None else derive(f"{old.name} from the middle of the bolster", "o - p", o=old.x, p=pivot)
    y = ZERO if old.y is None else old.y
    piece = next((each for each in pieces if each.name == where), None)
    edge = None
    if piece is not None:
        edge = nearest_edge(f"{old.name} to the nearest edge", piece.outline_mm, x, y)
    play = practice_value("same_place").value + old.x.tolerance_value
    depth = piece.thickness_mm if piece is not None else floor.thickness if where == "floor" else None
    return Site(f"old_hole_{at + 1}", old.name, where, x, y, diameter, old.plugged, stripped, edge, depth, play)


def _offers(car: Car) -> Iterator[PlugOffer]:
    """Yield rod and tube of styrene: what is on the shelf, and the usual rods to be bought."""
    units = car.info.units
    for each in car.shelf.rods:
        if each.diameter is None or each.form == "wire" or each.material.casefold() != "styrene" or each.count == 0:
            continue
        if each.form == "tube" and each.inside is None:
            continue
        form: Literal["rod", "tube"] = "tube" if each.form == "tube" else "rod"
        yield PlugOffer(form, each.diameter, each.inside, True, show_in(each.diameter.value, units))
    for size in usual_rods():
        yield PlugOffer("rod", size, None, False, show_in(size.value, units))


# ------------------------------------------------------------------------------------------------------ what is found


def _looked_at(
    car: Car, site: Site, pieces: Sequence[Piece], offers: Sequence[PlugOffer]
) -> tuple[Finding, Repair | None]:
    units, called = car.info.units, _called(site.what)
    others = [found for piece in pieces for hole in piece.holes if (found := near(site, hole)) is not None]
    waiting = tuple(
        dict.fromkeys(key for piece in pieces for hole in piece.holes if hole.piece == site.piece for key in hole.needs)
    )
    if not others and waiting:
        because = f"Whether a new hole comes beside {called} is not known yet: a hole waits for its measurement."
        mend = "Measure it before you judge the old hole."
        return Finding(site.name, "unknown", because, mend=mend, source=_SOURCE, needs=waiting), None
    if not others:
        because = f"{_capital(called)} has no new hole beside it."
        return Finding(site.name, "ok", because, source=_SOURCE), None
    states = {each.hole.name: judge(site, each) for each in others}
    fouled = [each for each in others if states[each.hole.name] == "foul"]
    if fouled:
        return _fouled(car, site, others, fouled, offers)
    worst = min(others, key=lambda each: each.distance.value - each.cut.value)
    state = states[worst.hole.name]
    new = f"the new hole for {said(worst.hole.name)}"
    apart = show_in(worst.distance.value, units)
    if state == "serves":
        percent = _percent_in(site, worst.hole)
        left = "" if percent is None else f", with {percent.value:.0f} % of thread"
        because = f"{_capital(called)} is where {new} goes and serves as it stands{left}: nothing is drilled there."
        return Finding(site.name, "ok", because, percent, unit="percent", source=_SOURCE), Repair(
            site, "use", (worst.hole.name,)
        )
    if state == "taken":
        because = f"{_capital(called)} lies wholly in {new}: the drill takes it away."
        return Finding(site.name, "ok", because, worst.distance, source=_SOURCE), None
    if site.plugged:
        value, limit = _seam(site.diameter, worst), seam_wanted(worst.cut)
        side = "in its plug" if state == "inside" else "beside its plug"
        because = f"{_capital(new)} stands wholly {side} of {called}, {apart} from its middle."
    else:
        value, limit = (
            derive("hole to the rim of the old hole", "d - o/2", d=worst.distance, o=site.diameter),
            (rim_wanted(worst)),
        )
        because = (
            f"{_capital(called)} is clear of {new}: {show_in(value.value, units)} of material stand between its rim "
        )
        because += f"and the new centre, {show_in(limit.value, units)} is wanted."
    margin = derive(f"{site.what} to spare", "v - m", v=value, m=limit)
    return Finding(site.name, "ok", because, value, limit, margin, source=_SOURCE), None


def _seam(plug: Working, of: Near) -> Working:
    """Return the distance from a new hole's centre to the seam of a plug, mm."""
    inside = plug.value / 2 > of.distance.value
    formula = "p/2 - d" if inside else "d - p/2"
    return derive(f"{said(of.hole.name)} to the seam", formula, p=plug, d=of.distance)


def _fouled(
    car: Car, site: Site, others: Sequence[Near], fouled: Sequence[Near], offers: Sequence[PlugOffer]
) -> tuple[Finding, Repair | None]:
    units, called = car.info.units, _called(site.what)
    plug = choose_plug(site, others, offers, units)
    worst = min(fouled, key=lambda each: each.distance.value)
    limit = seam_wanted(worst.cut)
    names = " and ".join(said(each.hole.name) for each in fouled)
    holes = f"the new hole{'s' if len(fouled) > 1 else ''} for {names}"
    if site.stripped is not None and worst.distance.value <= site.play:
        trouble = (
            f"{_capital(called)} is where {holes} {'go' if len(fouled) > 1 else 'goes'}, and its thread is stripped"
        )
    elif site.plugged:
        trouble = f"{_capital(holes)} would lie half in the plug of {called}"
    else:
        trouble = f"{_capital(called)} is {show_in(worst.distance.value, units)} from the middle of {holes}, too near"
    mend = " ".join(each for each in (_larger(car, site, worst, units), _moved(site, worst, offers, units)) if each)
    if plug is None:
        value = derive("middle of the old hole to the new one", "d", d=worst.distance)
        why = "no plug that takes it in has room beside the edge and the other holes"
        return Finding(site.name, "fail", f"{trouble}, and {why}.", value, limit, None, mend=mend, source=_SOURCE), None
    value, margin = limit.renamed("seam of the patch", note="the patch is cut just so large"), None
    if plug.form != "patch":
        value = _seam(plug.size, worst)
        margin = derive(f"{site.what} to spare", "v - m", v=value, m=limit)
    because = f"{trouble}: plug it with {_plug_words(plug, units)}, let it set, file flush and drill again."
    stub = practice_value("plug_stub")
    length = None
    if site.depth is not None and plug.form != "patch":
        length = derive("length of the plug", "t + 2*s", t=site.depth, s=stub)
    repair = Repair(
        site, "plug", tuple(each.hole.name for each in fouled), plug, length, practice_value("laminate_set_hours")
    )
    return Finding(site.name, "watch", because, value, limit, margin, mend=mend, source=_SOURCE), repair


def _plug_words(plug: Plug, units: Literal["in", "mm"]) -> str:
    size = show_in(plug.size.value, units)
    if plug.form == "patch":
        return f"a patch let in, {size} square"
    where = "from the shelf" if plug.offer is not None and plug.offer.on_hand else "to be bought"
    opened = "" if plug.drill is None else f", the hole opened to {plug.drill.name}"
    return f"{size} {plug.form} {where}{opened}"


def _moved(site: Site, of: Near, offers: Sequence[PlugOffer], units: Literal["in", "mm"]) -> str:
    """Return the nearest place that is safe with the thinnest plug that fits, in words; "" for the same place."""
    if of.distance.value <= site.play or of.hole.x_mm is None:
        return ""
    fits = [each.diameter.value for each in offers if each.form == "rod" and each.diameter.value >= site.diameter.value]
    shift = safe_shift(site, of, site.diameter.value if site.plugged or not fits else min(fits))
    toward = "A" if of.hole.x_mm.value > site.x.value else "B"
    if shift <= 0:
        return ""
    return f"The nearest place beside it is {show_in(shift, units)} toward {toward}."


def _larger(car: Car, site: Site, of: Near, units: Literal["in", "mm"]) -> str:
    """Return what a stripped hole takes without a plug, in words; "" where it is not the same place or not stripped."""
    if site.stripped is None or of.distance.value > site.play or not of.hole.tap:
        return ""
    found = next_size(site.stripped, site.diameter, edge=of.hole.edge_mm, depth=of.hole.depth_mm, units=units)
    why = f"{'; '.join(found.refused)}. " if found.refused else ""
    if found.thread is None or found.percent is None:
        if not why:
            return f"No larger thread in common use follows {site.stripped.name}."
        return f"No larger thread will do without a plug: {why}".strip()
    key = "trucks.screw" if of.hole.name.startswith("truck") else "coupler.screw"
    drill = "tap it as it is" if found.drill is None else f"drill {found.drill.name}"
    words = (
        f'{_capital(why)}Or without a plug: {key} = "{found.thread.name}", {drill}, '
        f"{found.percent.value:.0f} % of thread"
    )
    passes = found.thread.clearance
    gauge = car.trucks.at("a" if of.hole.name.endswith("_a") else "b").hole
    if key == "trucks.screw" and (gauge is None or gauge.value < found.thread.major.value):
        words += f"; the truck and its bolster then want {passes.name}"
    return f"{words}."


# ------------------------------------------------------------------------------------------------- holes that are used


def _percent_in(site: Site, hole: Hole) -> Working | None:
    found = thread(hole.tap) if hole.tap else None
    return None if found is None else thread_percent(found.major, found.pitch, site.diameter)


def _with_used(pieces: tuple[Piece, ...], repairs: Sequence[Repair]) -> tuple[Piece, ...]:
    """Return the pieces with each hole that an old one serves for as wide as that one, and not to be drilled."""
    used = {name: each.site for each in repairs if each.act == "use" for name in each.holes}
    if not used:
        return pieces

    def as_found(hole: Hole) -> Hole:
        site = used.get(hole.name)
        if site is None:
            return hole
        percent = _percent_in(site, hole)
        return replace(hole, diameter_mm=site.diameter, drill="no drill", thread_percent=percent)

    return tuple(replace(piece, holes=tuple(as_found(hole) for hole in piece.holes)) for piece in pieces)
