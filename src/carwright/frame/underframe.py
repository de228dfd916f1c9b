"""The underframe as a whole: what hangs below the floor, by type and year, and as far as the measurements go."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from carwright.car.model import Car, Ends, PieceChange
from carwright.findings import Finding
from carwright.frame.blocks import bolster_along
from carwright.frame.brake import brake_gear
from carwright.frame.changes import changed_pieces
from carwright.frame.fittings import Retention, coupler_boxes, present_blocks, retention
from carwright.frame.floor import Floor, SheetOffer, fit_of, opening_of
from carwright.frame.layout import Layout, Room, lay_out, room_between, to_scale, truck_reach, usual
from carwright.frame.members import bearer_along, cross_pieces, drilled, end_sills, tie_along, webs_of
from carwright.frame.plates import MID_CAR, Datum, Station
from carwright.frame.sill import SillLimits, Span, center_sill
from carwright.frame.trainline import train_line, with_holes
from carwright.lengths import show_in
from carwright.pieces import Hole, Piece
from carwright.reference import FrameDefault, frame_defaults, practice_value
from carwright.reference.anatomy import anatomy
from carwright.reference.usual import usual_sheets
from carwright.working import Working, derive

__all__ = ["Underframe", "design_underframe", "frame_of_type", "frame_plate", "rail_clearance", "usual_swing"]


@dataclass(frozen=True, slots=True)
class Underframe:
    """What hangs below the floor, bolsters and screw blocks apart.

    Args:
        pieces: in the order in which they are told: sill, cross members from end A, end sills, train line, brake gear,
            clips or blocks, bought parts and what the body has in the way.
        floor_holes: holes that they want in the floor.
        findings: on counts, depths, room, and what is not known yet.
        room: what the trucks leave, or None while the trucks' places are not known.
    """

    pieces: tuple[Piece, ...]
    floor_holes: tuple[Hole, ...]
    findings: tuple[Finding, ...]
    room: Room | None


def usual_swing() -> Working:
    """Return the angle that a truck is given to turn, each way, where no radius is known, degrees."""
    return practice_value("truck_swing")


def rail_clearance(car: Car) -> Working:
    """Return the least height above the rail of anything but wheels, mm."""
    return to_scale("least clearance over the rail", anatomy("ride", "min-clear"), car)


def frame_of_type(car: Car, kind: str | None) -> FrameDefault | None:
    """Return the frame that a car of this kind most likely had, by the year built or rebuilt, else the one modelled."""
    if kind is None:
        return None
    built = max((year for year in (car.info.built, car.info.rebuilt) if year is not None), default=car.info.year)
    length = None
    if car.body.length is not None and car.info.ratio is not None:
        length = car.body.length.value * car.info.ratio.value / 25.4
    return frame_defaults(kind, built, length)


def frame_plate(car: Car, offers: Sequence[SheetOffer]) -> tuple[Working, Finding | None]:
    """Return the sheet for webs, flanges and cover plates, and a finding where none on hand is thin enough.

    It is the one on hand that is nearest to the usual thickness, or, where all are too thick, the usual size to buy.
    """
    wanted = usual("frame_plate", "usual plate of an underframe", car)
    most = derive("thickest plate for the frame", "k*w", k=practice_value("frame_plate_most"), w=wanted)

    def nearest(sizes: Iterable[Working]) -> Working:
        return min(sizes, key=lambda each: (abs(each.value - wanted.value), each.value), default=wanted)

    known = nearest(offer.thickness for offer in offers)
    units = car.info.units
    least = derive("thinnest plate for the frame", "w/k", k=practice_value("frame_plate_most"), w=wanted)
    if known.value < least.value - 1e-9:
        return known, Finding(
            "frame_plate",
            "watch",
            f"The nearest sheet on hand for webs and flanges is {show_in(known.value, units)}, thinner than the "
            f"{show_in(least.value, units)} that stands on edge while it is glued.",
            known,
            least,
            derive("sheet for the frame, to spare", "t - m", t=known, m=least),
            mend=f"Buy styrene sheet of {show_in(nearest(usual_sheets(units)).value, units)}.",
            source="common practice",
        )
    if known.value <= most.value + 1e-9:
        return known, None
    bought = nearest(usual_sheets(units))
    return bought, Finding(
        "frame_plate",
        "watch",
        f"The thinnest sheet on hand, {show_in(known.value, units)}, is too thick for webs and flanges: they are drawn "
        f"of {show_in(bought.value, units)}.",
        known,
        most,
        derive("sheet for the frame, to spare", "m - t", m=most, t=known),
        mend=f"Buy styrene sheet of {show_in(bought.value, units)}; up to {show_in(most.value, units)} would do.",
        source="common practice",
    )


def _span(pivots: Ends[Working], along: Working) -> Span:
    if pivots.a.value == -pivots.b.value:
        centers = derive("truck centres", "2*p", p=pivots.a)
        length = derive("length of the centre sill", "2*p - b", p=pivots.a, b=along, note="between the bolsters")
        return Span(length, MID_CAR, centers)
    centers = derive("truck centres", "pa - pb", pa=pivots.a, pb=pivots.b)
    length = derive("length of the centre sill", "c - b", c=centers, b=along, note="between the bolsters")
    middle = Station(derive("middle of the centre sill", "(pa + pb)/2", pa=pivots.a, pb=pivots.b))
    return Span(length, middle, centers)


def _wished(span: Span, wish: PieceChange | None) -> tuple[Span, list[Finding]]:
    """Return the sill's place as the file wants it, and a finding on what cannot be had."""
    if wish is None:
        return span, []
    middle = span.middle if wish.x is None else Station(wish.x)
    aside = Finding(
        "piece_center_sill",
        "watch",
        "The centre sill lies on the car's centre line, so the place to the side in the file is not used.",
        mend='Take y out of the [[piece]] "center_sill".',
        source="geometry",
    )
    return replace(span, length=wish.length or span.length, middle=middle), [] if wish.y is None else [aside]


def _limits(car: Car, datum: Datum, bolsters: Ends[Working | None]) -> SillLimits:
    known = [each for each in (bolsters.a, bolsters.b) if each is not None]
    at_bolster = None
    if known:
        least = min(known, key=lambda each: each.value)
        gap = usual("frame_gap", "gap over the trucks", car)
        at_bolster = derive("deepest that the trucks leave free", "K - g", K=least, g=gap)
    over_rail = None
    if datum.middle is not None:
        over_rail = derive("deepest over the rail", "u - c", u=datum.middle, c=rail_clearance(car))
    return SillLimits(at_bolster, over_rail)


def design_underframe(
    car: Car,
    floor: Floor,
    *,
    kind: str | None,
    offers: Sequence[SheetOffer],
    datum: Datum,
    pivots: Ends[Working | None],
    bolsters: Ends[Working | None],
    swing: Working,
    beneath: Sequence[Piece],
) -> Underframe:
    """Return the underframe.

    Args:
        car: the car with its wishes.
        floor: from which it hangs.
        kind: kind of car by its type, or None.
        offers: sheet for its plates.
        datum: the floor's underside.
        pivots: of the trucks from mid-car, mm.
        bolsters: height of each body bolster, mm.
        swing: how far a truck turns each way, degrees.
        beneath: floor, bolsters and screw blocks, which the file may change by name too.

    Returns:
        All pieces, those of ``beneath`` first, and what was found. Without the trucks' places or the floor's width the
        pieces between the trucks are left out and a finding names what is missing.
    """
    changes = {each.name: each for each in car.pieces}
    findings: list[Finding] = []
    pieces: list[Piece] = []
    held = Retention()
    room: Room | None = None
    default = frame_of_type(car, kind)
    plate, thick = frame_plate(car, offers)
    done: frozenset[str] = frozenset()
    pivot_a, pivot_b = pivots.a, pivots.b
    limits = _limits(car, datum, bolsters)
    if pivot_a is None or pivot_b is None or floor.width is None:
        findings.append(_waits(car, floor, pivot_a is None or pivot_b is None))
    else:
        known = Ends(pivot_a, pivot_b)
        findings += [] if thick is None else [thick]
        room = room_between(known, Ends(truck_reach(car, "a", swing), truck_reach(car, "b", swing)))
        outer = derive("outer end of the cross members", "W/2", W=floor.width)
        layout = lay_out(car, default, room, heavy=bearer_along(car), light=tie_along(car))
        along = bolster_along(car)
        wish = changes.get("center_sill")
        span, aside = _wished(_span(known, along), wish)
        findings += aside
        sill = center_sill(car, default, datum, span, plate, limits, wish)
        webs = webs_of(car, layout.members, sill, outer, plate, changes)
        starts = Ends(
            derive("train line's start at bolster A", "p - b/2", p=pivot_a, b=along),
            derive("train line's start at bolster B", "p + b/2", p=pivot_b, b=along),
        )
        line = train_line(car, datum, webs, sill, starts, known, plate)
        webs = drilled(webs, line.holes)
        gear = brake_gear(car, kind, default, datum, webs, sill, room, plate)
        pieces += with_holes(sill.pieces, line.holes)
        pieces += cross_pieces(webs, datum, changes)
        if floor.length is not None and (car.body.mount in ("underside", "saddles") or car.body.floor == "deck"):
            pieces += end_sills(car, datum, floor.length, outer, plate)
        pieces += line.pieces
        pieces += gear.pieces
        _, across, _ = opening_of(car)
        if car.body.mount == "drop-in" and not floor.stays and across is not None and floor.thickness is not None:
            held = retention(car, datum, webs, room, across, fit_of(car), floor.thickness, plate, offers)
            pieces += held.pieces
        findings += [*layout.findings, *sill.findings, *line.findings, *gear.findings, *held.findings]
        done = _done(layout)
    pieces += coupler_boxes(car, datum)
    if floor.sill_rise is not None:
        pieces += present_blocks(car, datum, floor.sill_rise)
    every, found = changed_pieces((*beneath, *pieces), car.pieces, datum, done)
    return Underframe(every, held.floor_holes, (*findings, *found), room)


def _done(layout: Layout) -> frozenset[str]:
    """Return the names whose changes were made where the piece was designed."""
    members = {member.name for member in layout.members}
    return frozenset({"center_sill", *members, *(f"{name}_flange" for name in members)})


def _waits(car: Car, floor: Floor, trucks: bool) -> Finding:
    needs = []
    if trucks:
        needs.append("trucks.centers")
    if floor.width is None:
        needs += [key for key in floor.needs if key in ("body.inside_width", "body.width")]
    return Finding(
        "underframe",
        "unknown",
        "What hangs between the trucks is not planned yet: it needs "
        + " and ".join("the truck centres" if key == "trucks.centers" else "the width inside" for key in needs)
        + ".",
        mend="Measure it, or leave it: everything that does not hang on it is planned.",
        needs=tuple(needs),
    )
