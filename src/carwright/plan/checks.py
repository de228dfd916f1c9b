"""Findings on the car as a whole; each room's own findings come from the room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from carwright.car.keys import key_named
from carwright.car.model import ENDS, Car, End, Ends
from carwright.findings import Finding, Verdict, listed
from carwright.frame.floor import Floor
from carwright.lengths import as_written, show_in, show_mass
from carwright.reference import coupler_target, practice_value
from carwright.ride.cures import chance_words
from carwright.ride.found import standing
from carwright.ride.model import Alternative, EndSpec, Ride, Target
from carwright.ride.single import single_change
from carwright.track.steady import Steady
from carwright.weight.target import WeightSums
from carwright.working import Working, derive, derived

__all__ = ["all_findings", "bolster_needs", "built_bolsters", "called", "doubted_radius"]

_SURE = 0.99
"""A coupler inside its limit is ``ok`` from this chance on and ``watch`` below: one car in a hundred may miss."""


_HOPELESS = 0.01
"""A cure that passes less than once in a hundred is not proposed as a mend."""


_NOTHING_G = 1e-6
"""Light by less is not light: sums of doubles."""


def called(key: str) -> str:
    """Return a measurement by its letter and plain name ("J seat height"), or its key where it has none."""
    found = key_named(key)
    if found is None:
        return key
    return f"{found.letter} {found.called}" if found.letter else found.called


def bolster_needs(car: Car, ride: Ride, end: End) -> tuple[str, ...]:
    """Return what a bolster's unknown height waits for: itself, or where it is to be built what its height hangs on."""
    built = ride.ends.at(end).needs if car.underframe.build_bolster.at(end) else ()
    return built or ("underframe.bolster",)


def _wanting(keys: Sequence[str]) -> str:
    return listed(called(key) for key in dict.fromkeys(keys))


def _unknown(check: str, what: str, needs: Sequence[str]) -> Finding:
    return Finding(
        check,
        "unknown",
        f"{what} is not known yet: it needs {_wanting(needs)}.",
        mend="Measure it, or leave it: everything that does not hang on it is planned.",
        needs=tuple(dict.fromkeys(needs)),
    )


def _capped(verdict: Verdict, target: Target) -> Verdict:
    """Return the verdict, at most "watch" where height or limit is known only from memory: that never fails a car."""
    from_memory = "memory" in (target.height.basis, target.limit.basis)
    return "watch" if verdict == "fail" and from_memory else verdict


def _height_source(target: Target) -> str:
    """Return the document of the target and that of its limit, in words."""
    height = "the owner's gauge" if target.height.kind == "typed" else target.height.source
    limit = {"typed": "the owner's", "reference": target.limit.source}.get(target.limit.kind, "common practice")
    return f"height: {height}; limit: {limit}"


def _cure(alternatives: Sequence[Alternative]) -> str:
    """Return the best cure that ranks before the car as it is: one on hand, else one to be bought, else nothing."""
    place = next((i for i, each in enumerate(alternatives) if each.as_it_is), 0)
    better = alternatives[:place]
    best = next((each for each in better if each.on_hand), better[0] if better else None)
    if best is None or best.pass_probability.value < _HOPELESS:
        return ""
    said = f"{best.because[0].upper()}{best.because[1:]} Take it with --take {best.rank.value:.0f}"
    return f"{said}." if best.on_hand else f"{said}; it is not all on the shelf."


def _coupler_height(
    car: Car, end: End, ride: Ride, target: Target | None, alternatives: Sequence[Alternative]
) -> Finding:
    result, letter, units = ride.ends.at(end), end.upper(), car.info.units
    check = f"coupler_height_{end}"
    if target is None:
        published = coupler_target(car.info.scale, car.info.standard)
        if published is not None:
            return Finding(
                check,
                "unknown",
                f"The data has a height for a {published.measured_at}, which coupler {letter} is not measured to.",
                mend='Give your own gauge: coupler.target_height, and measured_at = "centre line" or "pocket top".',
                needs=("coupler.target_height",),
            )
        return Finding(
            check,
            "unknown",
            "No height is known for this scale.",
            mend="Gauge a car that runs well and give coupler.target_height.",
            needs=("coupler.target_height",),
        )
    if result.coupler_height is None or result.error is None:
        return _unknown(check, f"The height of coupler {letter}", result.needs)
    error, limit = result.error, target.limit
    margin = derive(f"height of coupler {letter} to spare", "m - abs(e)", m=limit, e=error)
    chance = result.pass_probability
    if abs(error.value) > limit.value + 1e-9:
        verdict: Verdict = "fail"
    elif (chance is not None and chance.value < _SURE) or chance is None:
        verdict = "watch"
    else:
        verdict = "ok"
    where = "on target"
    if abs(error.value) >= 0.0127:
        side = "above" if error.value > 0 else "below"
        where = f"{show_in(abs(error.value), units)} {side} {show_in(target.height.value, units)}"
    stands = "was gauged" if result.found is not None else "stands"
    because = (
        f"Coupler {letter} {stands} at {show_in(result.coupler_height.value, units)}, {where}; "
        f"accepted is ± {show_in(limit.value, units)}"
    )
    if abs(error.value) > limit.value + 1e-9 and show_in(abs(error.value), units) == show_in(limit.value, units):
        because += ", which is just exceeded"
    if chance is not None:
        because += f", and the chance of passing is {chance_words(chance.value)}"
    because += "."
    mend = _cure(alternatives) if verdict in ("fail", "watch") else ""
    return Finding(check, _capped(verdict, target), because, error, limit, margin, "mm", mend, _height_source(target))


def _found_against_stack(car: Car, end: End, ride: Ride, specs: Ends[EndSpec]) -> Finding | None:
    result, letter, units = ride.ends.at(end), end.upper(), car.info.units
    difference = result.predicted_minus_found
    found = specs.at(end).found
    if difference is None or found is None or result.worst_case is None:
        return None
    inputs = {"k": practice_value("found_disagreement"), "w": result.worst_case}
    formula = "k*w"
    if found.tolerance is not None:
        inputs["t"] = found.tolerance
        formula = "k*(w + t)"
    limit = derived(f"tolerances of both heights at {letter} together", formula, inputs)
    size = derive(f"difference at {letter}", "abs(d)", d=difference)
    margin = derive(f"agreement at {letter} to spare", "m - d", m=limit, d=size)
    ok = margin.value >= -1e-9
    because = (
        f"The parts add up to {show_in(abs(difference.value), units)} {'more' if difference.value > 0 else 'less'} "
        f"than was gauged at {letter}; the readings allow {show_in(limit.value, units)}."
    )
    mend = (
        ""
        if ok
        else "Something in the stack is not as written: gauge again, then measure seat, bolster and drop again."
    )
    return Finding(f"found_{end}", "ok" if ok else "watch", because, size, limit, margin, "mm", mend, "common practice")


def _no_cure(
    car: Car, ride: Ride, specs: Ends[EndSpec], targets: Ends[Target | None], alternatives: Sequence[Alternative]
) -> Finding | None:
    if not alternatives or targets.a is None or targets.b is None:
        return None
    limits = Ends(targets.a.limit, targets.b.limit)
    units = car.info.units

    def passes(each: Alternative) -> bool:
        return abs(each.error.a.value) <= limits.a.value + 1e-9 and abs(each.error.b.value) <= limits.b.value + 1e-9

    if any(passes(each) for each in alternatives):
        return None
    best = alternatives[0]
    end: End = "a" if abs(best.error.a.value) / limits.a.value >= abs(best.error.b.value) / limits.b.value else "b"
    error, letter = best.error.at(end), end.upper()
    because = (
        f"Nothing on hand brings both couplers within their limits: the nearest, {best.name}, leaves {letter} "
        f"{show_in(abs(error.value), units)} {'high' if error.value > 0 else 'low'}, and the limit that binds is "
        f"± {show_in(limits.at(end).value, units)} at {letter}."
    )
    change = single_change(ride, specs)
    mend = "No single change frees it: both ends must be altered."
    if change is not None:
        up = change.best_mm > 0
        letter = change.end.upper()
        size = show_in(abs(change.best_mm), units)
        low, high = sorted((abs(change.low_mm), abs(change.high_mm)))
        span = f"({show_in(low, units)} to {show_in(high, units)} would do)"
        if change.where == "over truck":
            mend = f"{'Raise' if up else 'Lower'} the floor over truck {letter} by {size} {span}: " + (
                "a thicker bolster or more washers." if up else "cut the bolster or the boss down."
            )
        else:
            mend = f"{'Raise' if up else 'Lower'} coupler {letter} alone by {size} {span}: " + (
                "an offset shank or a recess." if up else "a shim between coupler box and floor, or an offset shank."
            )
    margin = derive(f"to spare at {end.upper()} at best", "m - abs(e)", m=limits.at(end), e=error)
    verdict: Verdict = (
        "watch"
        if targets.at(end) is not None and "memory" in ((targets.a.height.basis, targets.b.height.basis))
        else "fail"
    )
    return Finding("no_cure", verdict, because, error, limits.at(end), margin, "mm", mend, "geometry")


def built_bolsters(car: Car, specs: Ends[EndSpec], heights: Ends[Working | None]) -> Iterator[Finding]:
    """Say of which layers a bolster is built that the file leaves to the plan, and what makes it another one."""
    units = car.info.units
    for end in ENDS:
        layers, height, seat = specs.at(end).bolster, heights.at(end), specs.at(end).seat
        if not (car.underframe.build_bolster.at(end) and layers and height is not None and seat is not None):
            continue
        stacked = " + ".join(show_in(each.size.value, units) for each in layers)
        made = f" make {show_in(height.value, units)}" if len(layers) > 1 else ""
        yield Finding(
            f"bolster_built_{end}",
            "ok",
            f"Bolster {end.upper()} is to be built: {stacked}{made}, for a truck seat of {show_in(seat.value, units)}. "
            "Another seat, wheel, washer or coupler makes it another bolster.",
            height,
            source="common practice",
        )


def _sill(car: Car, sills: Ends[Working | None]) -> Iterator[Finding]:
    wanted, units = car.body.sill_height, car.info.units
    if wanted is None:
        return
    if sills.a is None or sills.b is None:
        yield _unknown("sill_height", "The height of the side sill", ("trucks.seat_height", "body.lip_depth"))
        return
    mean = derive("mean height of the side sills over what is wanted", "(a + b)/2 - w", a=sills.a, b=sills.b, w=wanted)
    limit = practice_value("laminate_window")
    margin = derive("height of the side sill to spare", "m - abs(e)", m=limit, e=mean)
    ok = margin.value >= -1e-9
    side = "high" if mean.value > 0 else "low"
    yield Finding(
        "sill_height",
        "ok" if ok else "watch",
        f"The side sills stand {show_in(abs(mean.value), units)} {side}.",
        mean,
        limit,
        margin,
        mend="" if ok else "The cures are ranked so that those that mend it come first.",
        source="common practice",
    )


def _floor_unknowns(floor: Floor) -> Iterator[Finding]:
    size = [key for key in floor.needs if key.startswith(("body.inside", "body.length", "body.width"))]
    if size:
        yield _unknown("floor_size", "The size of the floor", size)
    thick = [key for key in floor.needs if key not in size]
    if thick:
        yield _unknown("floor_thickness", "The thickness of the floor", thick)


def _curve(car: Car, turning: Steady | None) -> Finding:
    if car.info.radius is None:
        return _unknown("steady_curve", "How the car goes round a curve", ("car.radius",))
    written = as_written(car.info.radius.text, car.info.radius.value, car.info.units)
    if turning is None:
        return Finding(
            "steady_curve",
            "fail",
            f"The car is too long for its trucks to stand on a radius of {written}.",
            mend="Measure the curve, or type car.radius again, with its unit.",
            source="geometry",
        )
    if turning.truck_angle is None or turning.coupler_angle is None:
        return _unknown("steady_curve", "How the car stands on a curve", turning.needs or ("coupler.length",))
    because = (
        f"On a steady curve of {written} the trucks turn {turning.truck_angle.value:.1f}° "
        f"and the couplers swing {turning.coupler_angle.value:.1f}°."
    )
    coupler = car.coupler.a
    if coupler.side_play is not None and coupler.length is not None and coupler.side_play.value < coupler.length.value:
        limit = derive(
            "swing that the pocket allows", "degrees(asin(s/l))", "deg", s=coupler.side_play, l=coupler.length
        )
    elif coupler.swing is not None:
        limit = coupler.swing
    else:
        return Finding(
            "steady_curve",
            "unknown",
            f"{because} Whether the coupler's pocket lets it swing so far is not known: it needs "
            f"{_wanting(('coupler.side_play',))}.",
            turning.coupler_angle,
            unit="deg",
            mend="Measure it, or leave it: everything that does not hang on it is planned.",
            source="geometry",
            needs=("coupler.side_play",),
        )
    margin = derive("swing to spare", "m - c", "deg", m=limit, c=turning.coupler_angle)
    ok = margin.value >= 0
    because += f" The pocket allows {limit.value:.1f}°. Where the curve begins they swing further."
    return Finding(
        "steady_curve",
        "ok" if ok else "fail",
        because,
        turning.coupler_angle,
        limit,
        margin,
        "deg",
        mend="" if ok else "A longer shank, a wider pocket, or couplers left on the trucks.",
        source="geometry",
    )


def doubted_radius(car: Car) -> Finding | None:
    """Return a doubt of the radius where it is sharper than such a car is ever asked to go round, else nothing."""
    radius, length, units = car.info.radius, car.body.length, car.info.units
    if radius is None or length is None:
        return None
    least = derive("radius that is doubted below", "k*A", k=practice_value("doubted_radius"), A=length)
    margin = derive("radius above what is doubted", "r - m", r=radius, m=least)
    if margin.value >= 0:
        return None
    written = as_written(radius.text, radius.value, units)
    return Finding(
        "radius_doubted",
        "watch",
        f"A radius of {written} is less than twice the length of the car, {show_in(length.value, units)}: no track for "
        "such a car is as sharp.",
        radius,
        least,
        margin,
        mend="Measure the curve to the middle of the track, or type the radius again, with its unit.",
        source="common practice",
    )


def _weight(car: Car, weight: WeightSums) -> Finding:
    if weight.target is None or weight.present is None or weight.to_add is None:
        return _unknown("weight", "What the car should weigh and still lacks", weight.needs or ("weight.target",))
    assert weight.to_fit is not None
    add, units = weight.to_add.value, car.info.units
    heavy, light = add < 0, weight.low is not None and weight.target.value - add < weight.low.value - _NOTHING_G
    because = (
        f"By {weight.rule} the finished car should weigh {show_mass(weight.target.value, units)}; "
        f"{weight.present.value:.1f} g are there and {weight.to_fit.value:.1f} g will be fitted"
    )
    because = (
        f"{because}." if heavy else f"Add {show_mass(add, units)}. {because}." if light else f"{because}: near enough."
    )
    if weight.needs:
        because += f" Not counted, since it was not weighed: {_wanting(weight.needs)}."
    mend = ""
    if heavy:
        mend = "The car will be heavier than the rule asks; that seldom matters."
    elif light:
        mend = "Put it in as ballast, low and on both trucks alike, before what it lies behind is closed."
    return Finding(
        "weight",
        "watch" if heavy or light else "ok",
        because,
        weight.to_add,
        unit="g",
        mend=mend,
        source=weight.source,
    )


def all_findings(
    car: Car,
    floor: Floor,
    specs: Ends[EndSpec],
    ride: Ride,
    targets: Ends[Target | None],
    alternatives: Sequence[Alternative],
    sills: Ends[Working | None],
    turning: Steady | None,
    weight: WeightSums,
) -> Iterator[Finding]:
    """Yield the findings that need more than one room's answer.

    Args:
        car: the car.
        floor: its floor, for the sizes that are not known.
        specs: the stack at each end.
        ride: both ends solved.
        targets: where each coupler should stand; None where no target is known.
        alternatives: the cures, best first.
        sills: bottom of the side sill over each truck, mm above the rail.
        turning: the car on its steady radius; None without a radius, or where it cannot stand on it.
        weight: the sums of its weight.
    """
    yield from _floor_unknowns(floor)
    for end in ENDS:
        yield _coupler_height(car, end, standing(specs, ride, targets), targets.at(end), alternatives)
        found = _found_against_stack(car, end, ride, specs)
        if found is not None:
            yield found
    no_cure = _no_cure(car, standing(specs, ride, targets), specs, targets, alternatives)
    if no_cure is not None:
        yield no_cure
    yield from _sill(car, sills)
    sharp = doubted_radius(car)
    if sharp is not None:
        yield sharp
    yield _curve(car, turning)
    yield _weight(car, weight)
