"""The order of the stages: floor, heights, cures, curve, pieces and holes, weight, interference, findings, shopping.

Each stage is a pure function of records made before it; nothing here computes a number of its own that a room could.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from carwright.car.model import ENDS, Car, End, Ends
from carwright.car.written import text_for
from carwright.findings import VERDICT_ORDER, Finding
from carwright.frame.blocks import blocks_and_holes, bolster_along, bolster_pieces, floor_piece, truck_screw
from carwright.frame.floor import Floor, SheetOffer, design_floor
from carwright.frame.grabs import grab_irons
from carwright.frame.plates import Datum
from carwright.frame.trucks import bolster_room, rooms_cut_alike
from carwright.frame.underframe import design_underframe, usual_swing
from carwright.laminate import laminate
from carwright.pieces import Hole, Piece
from carwright.plan.checks import all_findings, built_bolsters
from carwright.plan.hanging import hanging
from carwright.plan.holechecks import hole_findings, with_edges
from carwright.plan.interference import interference
from carwright.plan.model import Plan
from carwright.plan.offers import scaled, sheet_offers, stock_of
from carwright.plan.oldholes import old_holes, plug_lines
from carwright.plan.screwfit import screw_fits
from carwright.plan.shopping import shopping
from carwright.plan.slips import slip_findings
from carwright.reference import car_kind, coupler_target, coupler_tolerance, practice_value
from carwright.ride.cures import ideal_rises, search
from carwright.ride.model import Alternative, EndRide, EndSpec, Part, Ride, Target
from carwright.ride.stack import bolster_of, solve_ride, spec_of
from carwright.track.steady import Steady, steady
from carwright.weight.running import WheelChange, running_gear, wheels_wanted
from carwright.weight.target import mass_of, weight_sums
from carwright.working import Working, derive, derived

__all__ = ["make_plan"]


def _target(car: Car, end: End) -> Target | None:
    """Return where this end's coupler should stand: the owner's gauge outranks the data."""
    coupler = car.coupler.at(end)
    limit = coupler.tolerance or coupler_tolerance(car.info.scale, car.info.standard)
    is_pocket = coupler.mount == "pocket"
    if coupler.target_height is not None:
        measured_at = coupler.measured_at or ("pocket top" if is_pocket else "centre line")
        return Target(coupler.target_height, limit, measured_at)
    published = coupler_target(car.info.scale, car.info.standard)
    if published is None or (published.measured_at == "pocket top") != is_pocket:
        return None  # a pocket is not compared with a centre line
    return Target(published.height, limit, published.measured_at)


def _glue_line(car: Car) -> Working | None:
    return practice_value("glue_gap_filling") if car.underframe.glue == "gap-filling" else None


def _built_bolsters(
    car: Car, targets: Ends[Target | None], offers: Sequence[SheetOffer]
) -> Ends[tuple[Part, ...] | None]:
    """Return the best laminate at each end whose bolster is to be built; None at an end that is not, or not yet."""
    wanted = car.underframe.build_bolster
    if not (wanted.a or wanted.b):
        return Ends(None, None)
    nothing = derive("no bolster yet", "0")

    def bare(end: End) -> tuple[Part, ...] | None:
        return (Part("bolster", nothing, f"none {end}"),) if wanted.at(end) else None

    glue = _glue_line(car)
    specs = Ends(
        spec_of(car, "a", bolster=bare("a"), glue_line=glue), spec_of(car, "b", bolster=bare("b"), glue_line=glue)
    )
    rises = ideal_rises(solve_ride(specs.a, specs.b, targets), specs)
    if rises is None:
        return Ends(() if wanted.a else None, () if wanted.b else None)
    window = practice_value("laminate_window_ride").value

    def built(end: End) -> tuple[Part, ...] | None:
        if not wanted.at(end):
            return None
        made = laminate(
            [offer.thickness.value for offer in offers],
            wanted_mm=rises.at(end),
            window_mm=window,
            glue_mm=glue.value if glue is not None else 0.0,
        )
        if made is None or rises.at(end) <= 0:
            return ()
        layers = [offers[k].thickness for k in made.layers]
        return bolster_of([(each, text_for(each, "underframe.bolster", car.info)) for each in layers], end.upper())

    return Ends(built("a"), built("b"))


def _waiting(car: Car, ride: Ride, specs: Ends[EndSpec], targets: Ends[Target | None]) -> Ride:
    """Return the ride with, in place of a bolster that is to be built, what its height waits for."""
    wanted = car.underframe.build_bolster
    if not any(wanted.at(end) and "underframe.bolster" in ride.ends.at(end).needs for end in ENDS):
        return ride
    nothing = (Part("bolster", derive("no bolster yet", "0"), "none"),)
    bare = Ends(*(replace(specs.at(end), bolster=nothing) if wanted.at(end) else specs.at(end) for end in ENDS))
    without = solve_ride(bare.a, bare.b, targets, brief=True)
    first = tuple(dict.fromkeys((*without.ends.a.needs, *without.ends.b.needs)))
    if not first:
        return ride  # everything is measured, and still no height fits: then the owner's own bolster is wanted

    def at(end: End) -> EndRide:
        result = ride.ends.at(end)
        if "underframe.bolster" not in result.needs:
            return result
        kept = [key for key in result.needs if key != "underframe.bolster"]
        return replace(result, needs=tuple(dict.fromkeys((*kept, *first))))

    return replace(ride, ends=Ends(at("a"), at("b")))


def _sill_heights(ride: Ride, floor: Floor) -> Ends[Working | None]:
    def at(end: End) -> Working | None:
        under = ride.ends.at(end).floor_underside
        if under is None or floor.sill_rise is None:
            return None
        return derive(f"bottom of the side sill over truck {end.upper()}", "u + s", u=under, s=floor.sill_rise)

    return Ends(at("a"), at("b"))


def _slope_and_middle(ride: Ride) -> tuple[Working | None, Working | None]:
    """Return the floor's slope (None where it is level) and its underside at mid-car, as far as they are known."""
    a, b = ride.ends.a, ride.ends.b
    if a.floor_underside is None or b.floor_underside is None:
        return None, None
    if ride.slope is None:
        same = a.floor_underside.value == b.floor_underside.value
        return None, derive(
            "floor underside at mid-car", "u", note="the car stands level", u=a.floor_underside
        ) if same else None
    if a.x_pivot is None or b.x_pivot is None:
        return None, None
    if a.x_pivot.value == -b.x_pivot.value:
        middle = derive("floor underside at mid-car", "(ua + ub)/2", ua=a.floor_underside, ub=b.floor_underside)
    else:
        middle = derive("floor underside at mid-car", "ub - g*xb", ub=b.floor_underside, g=ride.slope, xb=b.x_pivot)
    return ride.slope, middle


def _bolster_range(specs: Ends[EndSpec], targets: Ends[Target | None], end: End) -> tuple[Working, Working] | None:
    """Return the least and greatest height of this bolster that keeps both couplers within their limits.

    It is reckoned from the car without this bolster: what is wanted there does not hang on what was measured.
    """
    bare = replace(specs.at(end), bolster=(Part("no bolster", derive("no bolster", "0"), "none"),), found=None)
    other = replace(specs.b if end == "a" else specs.a, found=None)
    ride = solve_ride(*((bare, other) if end == "a" else (other, bare)), targets, brief=True)
    lows, highs = [], []
    for coupler in ENDS:
        result, lever = ride.ends.at(coupler), ride.lever.at(coupler)
        if result.error is None or result.limit is None or lever is None or result.mounting_face is None:
            continue
        letter = coupler.upper()
        weight = derive(
            f"weight of truck {end.upper()} at pulling face {letter}", "l" if end == "a" else "1 - l", "", l=lever
        )
        if abs(weight.value) < 1e-6:
            continue
        inputs = {"m": result.limit, "e": result.error, "w": weight}
        down, up = ("-m - e", "m - e") if weight.value > 0 else ("m - e", "-m - e")
        lows.append(derived(f"least bolster {end.upper()} for coupler {letter}", f"({down})/w", inputs))
        highs.append(derived(f"greatest bolster {end.upper()} for coupler {letter}", f"({up})/w", inputs))
    if not lows:
        return None
    return max(lows, key=lambda each: each.value), min(highs, key=lambda each: each.value)


def _bolster_thickness(parts: Sequence[Part], end: End, glue: Working | None) -> Working | None:
    if not parts:
        return None
    inputs = {f"K{i + 1}": part.size for i, part in enumerate(parts)}
    formula = " + ".join(inputs)
    if glue is not None and len(parts) > 1:
        inputs["g"] = glue
        formula += f" + {len(parts) - 1}*g"
    return derived(f"height of bolster {end.upper()}", formula, inputs)


def _places(car: Car, ride: Ride) -> dict[str, tuple[Working | None, tuple[str, ...]]]:
    """Return where the screws of trucks and body-mounted couplers go along the car, and what each place still needs."""
    places: dict[str, tuple[Working | None, tuple[str, ...]]] = {}
    for end in ENDS:
        sign = "" if end == "a" else "-"
        pivot = ride.ends.at(end).x_pivot
        places[f"truck_{end}"] = (pivot, () if pivot is not None else ("trucks.centers",))
        coupler = car.coupler.at(end)
        if coupler.mount == "truck":
            continue
        inset = coupler.screw_inset or coupler.pivot_inset
        needs = tuple(
            key for key, value in (("body.length", car.body.length), ("coupler.pivot_inset", inset)) if value is None
        )
        place = None
        if inset is not None and car.body.length is not None:
            place = derive(
                f"screw of coupler {end.upper()} from mid-car", f"{sign}(A/2 - i)", A=car.body.length, i=inset
            )
        places[f"coupler_{end}"] = (place, needs)
    return places


def _pieces(
    car: Car,
    floor: Floor,
    ride: Ride,
    specs: Ends[EndSpec],
    targets: Ends[Target | None],
    offers: Sequence[SheetOffer],
    kind: str | None,
    swing: Working,
) -> tuple[tuple[Piece, ...], tuple[Hole, ...], list[Finding]]:
    """Return every piece with its holes, the holes in the shell, and what was found on them."""
    slope, z = _slope_and_middle(ride)
    over = Ends(ride.ends.a.floor_underside, ride.ends.b.floor_underside)
    datum = Datum(z, slope, over.a, over.b)
    found = blocks_and_holes(car, floor, _places(car, ride), offers, kind=kind, datum=datum)
    pieces: list[Piece] = []
    base = floor_piece(floor, z=z, slope=slope)
    if base is not None:
        pieces.append(replace(base, holes=found.holes))
    heights: dict[End, Working | None] = {}
    rooms = rooms_cut_alike(Ends(*(_bolster_room(car, end, ride, specs, swing) for end in ENDS)))
    for end in ENDS:
        result = ride.ends.at(end)
        thickness = heights[end] = _bolster_thickness(specs.at(end).bolster, end, _glue_line(car))
        pieces += bolster_pieces(
            car,
            floor,
            end=end,
            thickness=thickness,
            thickness_range=_bolster_range(specs, targets, end) if thickness is not None else None,
            x=result.x_pivot,
            z=result.bolster_underside,
            hole=truck_screw(car, end),
            datum=datum,
            layers=tuple(part.size for part in specs.at(end).bolster),
            room=rooms.at(end),
        )
    frame = design_underframe(
        car,
        floor,
        kind=kind,
        offers=offers,
        datum=datum,
        pivots=Ends(ride.ends.a.x_pivot, ride.ends.b.x_pivot),
        bolsters=Ends(heights["a"], heights["b"]),
        swing=swing,
        beneath=(*pieces, *found.blocks),
    )
    every = tuple(
        replace(piece, holes=(*piece.holes, *frame.floor_holes)) if piece.name == "floor" else piece
        for piece in frame.pieces
    )
    irons = grab_irons(car, datum, floor.sill_rise)
    return (*every, *irons.pieces), irons.holes, [*found.findings, *frame.findings, *irons.findings]


def _bolster_room(car: Car, end: End, ride: Ride, specs: Ends[EndSpec], swing: Working) -> Working | None:
    stack = ride.ends.at(end).stack
    return bolster_room(
        car,
        end,
        along=bolster_along(car),
        seat=stack[0].top if stack and stack[0].name == "truck seat" else None,
        swing=swing,
        washers=[part.size for part in specs.at(end).washers],
    )


def _steady(car: Car) -> Steady | None:
    radius = car.info.radius
    if radius is None:
        return None
    truck, coupler, body = car.trucks.a, car.coupler.a, car.body
    half: Working | None = None
    aside: Working | None = None  # of mid-car from the middle between the trucks
    other = car.trucks.b.inset
    if truck.centers is not None:
        half = derive("half the truck centres", "H/2", H=truck.centers)
    elif truck.inset is not None and body.length is not None and other is not None:
        if truck.inset.key == other.key:
            half = derive("half the truck centres", "A/2 - i", A=body.length, i=truck.inset)
        else:
            half = derive("half the truck centres", "(A - ia - ib)/2", A=body.length, ia=truck.inset, ib=other)
            aside = derive("mid-car from the middle between the trucks", "abs(ia - ib)/2", ia=truck.inset, ib=other)
    pivot, length = None, body.length
    if body.length is not None and coupler.pivot_inset is not None:
        pivot = derive("mid-car to coupler pivot", "A/2 - M", A=body.length, M=coupler.pivot_inset)
        if aside is not None:
            pivot = derive("middle between the trucks to the farther coupler pivot", "x + o", x=pivot, o=aside)
    if length is not None and aside is not None:
        length = derive("twice the middle between the trucks to the farther end", "A + 2*o", A=length, o=aside)
    width = body.width
    if width is None and body.inside_width and body.wall is not None:
        least = min(body.inside_width, key=lambda each: each.value)
        width = derive(
            "width over the sides, from inside",
            "D + 2*w",
            D=least,
            w=body.wall,
            note="not measured: inside width and two walls",
        )
    return steady(
        radius=radius,
        half_centers=half,
        wheelbase=truck.wheelbase,
        length=length,
        width=width,
        pivot=pivot,
        link=coupler.length,
    )


def _wheel_change(car: Car, specs: Ends[EndSpec], targets: Ends[Target | None]) -> WheelChange | None:
    """Return what the wheels that the car's capacity asks for would do to both heights; None where there are none."""
    wheels = wheels_wanted(car)
    if wheels is None:
        return None
    rise: dict[End, Working | None] = {}
    for end in ENDS:
        on = specs.at(end).wheels_run or specs.at(end).wheels_measured
        if on is not None:
            rise[end] = derive(f"rise of truck {end.upper()} by other wheels", "(W - w)/2", W=wheels, w=on)
        else:
            rise[end] = None
    then = solve_ride(replace(specs.a, wheels_run=wheels), replace(specs.b, wheels_run=wheels), targets)
    known = all(specs.at(end).wheels_measured is not None for end in ENDS)
    return WheelChange(
        wheels,
        Ends(rise["a"], rise["b"]),
        Ends(*(then.ends.at(end).coupler_height if known else None for end in ENDS)),
        Ends(*(then.ends.at(end).error if known else None for end in ENDS)),
        Ends(*(then.ends.at(end).limit if known else None for end in ENDS)),
    )


def make_plan(car: Car) -> Plan:
    """Return the plan of a car: always the car as its file says it; cures stand beside it as alternatives.

    Args:
        car: the car with its shelf; nothing in it is required.

    Returns:
        A plan that is complete as far as the measurements go. Findings are sorted, the worst first.
    """
    kind = car_kind(car.info.type) if car.info.type else None
    offers = sheet_offers(car)
    floor = design_floor(car, offers)
    targets = Ends(_target(car, "a"), _target(car, "b"))
    built = _built_bolsters(car, targets, offers)
    glue = _glue_line(car)
    specs = Ends(spec_of(car, "a", bolster=built.a, glue_line=glue), spec_of(car, "b", bolster=built.b, glue_line=glue))
    ride = _waiting(car, solve_ride(specs.a, specs.b, targets), specs, targets)
    alternatives: tuple[Alternative, ...] = search(
        specs,
        ride,
        targets,
        stock_of(car, floor, offers),
        sill_rise=floor.sill_rise,
        sill_height=car.body.sill_height,
        sanded=practice_value("fit_sanded"),
        reach_mm=scaled("alternative_reach", car),
        step_mm=practice_value("cut_step").value,
        body_window_mm=practice_value("laminate_window").value,
        units=car.info.units,
    )
    turning = _steady(car)
    swing = turning.truck_angle if turning is not None and turning.truck_angle is not None else usual_swing()
    pieces, in_walls, on_pieces = _pieces(car, floor, ride, specs, targets, offers, kind, swing)
    old = old_holes(car, floor, pieces, Ends(ride.ends.a.x_pivot, ride.ends.b.x_pivot))
    pieces = with_edges(old.pieces)
    masses = [mass for piece in pieces if piece.quantity.value > 0 and (mass := mass_of(piece)) is not None]
    weight = weight_sums(car, masses)
    sills = _sill_heights(ride, floor)
    running = running_gear(car, _wheel_change(car, specs, targets))
    holes: tuple[Hole, ...] = (*(hole for piece in pieces for hole in piece.holes), *in_walls)
    compared = interference(car, pieces, holes, specs, ride, swing)
    heights = Ends(*(_bolster_thickness(specs.at(end).bolster, end, glue) for end in ENDS))
    screws = screw_fits(car, specs, holes, heights, kind, ride)
    findings: list[Finding] = [
        *floor.findings,
        *on_pieces,
        *compared.findings,
        *screws.findings,
        *hole_findings(pieces, car.info.units),
        *old.findings,
        *all_findings(car, floor, specs, ride, targets, alternatives, sills, turning, weight),
        *built_bolsters(car, specs, heights),
        *running.findings,
        *slip_findings(car, ride, targets, weight.target),
    ]
    findings = hanging(findings, car.info.units)
    findings.sort(key=lambda finding: (VERDICT_ORDER.index(finding.verdict), _tightness(finding), finding.check))
    buy = (
        *shopping(car, floor, specs, targets, alternatives, pieces, holes),
        *plug_lines(old.repairs, car.info.units),
        *screws.buy,
    )
    return Plan(
        car,
        kind,
        floor,
        targets,
        ride,
        sills,
        alternatives,
        pieces,
        holes,
        compared,
        old.repairs,
        turning,
        weight,
        running,
        buy,
        tuple(findings),
    )


def _tightness(finding: Finding) -> float:
    return finding.margin.value if finding.margin is not None else float("inf")
