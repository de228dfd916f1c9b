"""The running gear of a car: how it rolls, wheelsets against the standards, axles, wheels for the load, insulation.

A wheelset's **check gauge** is the distance from the back of one wheel to the tread side of the other's flange; **back
to back** is that between the two backs. A length of axle is never right by itself: a truck takes a range of them, and
whether this one suits is shown by how the car rolls.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from carwright.car.keys import key_named
from carwright.car.model import ENDS, Car, End, Ends
from carwright.findings import Finding, Verdict, listed
from carwright.lengths import show_in
from carwright.reference import practice_value
from carwright.reference.store import entry
from carwright.reference.wheels import CapacityWheels, WheelGauge, axle_range, wheel_gauges, wheels_for_capacity
from carwright.weight.standing import setting_of
from carwright.working import Working, derive

__all__ = ["RunningGear", "WheelChange", "roll_grade", "running_gear", "wheels_wanted"]


@dataclass(frozen=True, slots=True)
class WheelChange:
    """What other wheels would do to the ride height, mm; None where it is not known.

    Args:
        wheels: the tread diameter that the car's capacity asks for.
        rise: by which each truck's bearing face would rise (+) or sink (-): half the change of diameter.
        coupler_height: at which each coupler would then stand.
        error: of those heights, high positive.
        limit: of the errors.
    """

    wheels: Working
    rise: Ends[Working | None]
    coupler_height: Ends[Working | None]
    error: Ends[Working | None]
    limit: Ends[Working | None]


@dataclass(frozen=True, slots=True)
class RunningGear:
    """How a car runs.

    Args:
        setting: what each truck does under the body.
        roll_grade: on which the car just rolls by itself, percent; None where it was not tried.
        change: to the wheels that the car's capacity asks for; None where it has them, or nothing is known.
        findings: in the order in which they are looked at.
    """

    setting: Ends[Literal["turns", "rocks"]]
    roll_grade: Working | None
    change: WheelChange | None
    findings: tuple[Finding, ...]


def roll_grade(car: Car) -> Working | None:
    """Return the grade on which a car just rolls, percent: its rolling resistance; None where it was not tried.

    On a slope of length L along the track whose end is raised by H the car's weight draws it down with m g H/L, and
    presses on the rails with m g sqrt(1 - (H/L)^2): it rolls where the first reaches r times the second.
    """
    rise, length = car.gauge.roll_rise, car.gauge.roll_length
    if rise is None or length is None:
        return None
    return derive("grade on which it rolls", "100*H/sqrt(L*L - H*H)", "percent", H=rise, L=length)


def wheels_on(car: Car, end: End) -> Working | None:
    """Return the diameter of the wheels that an end runs on, mm, or None."""
    truck = car.trucks.at(end)
    return truck.wheels or truck.wheel_diameter


def wheels_wanted(car: Car) -> Working | None:
    """Return the tread diameter, mm, to which a car's wheels would be changed for its capacity.

    None where the capacity is not known, the car has such wheels, its wheels are not known, or its standard is
    European: the custom is North American.
    """
    fitting = _fitting(car)
    if fitting is None or not fitting.sizes:
        return None
    on = [wheels_on(car, end) for end in ENDS]
    known = [each for each in on if each is not None]
    if len(known) < 2 or all(_fits(each, fitting) for each in known):
        return None
    return min(fitting.sizes, key=lambda size: abs(size.value - known[0].value))


def _fitting(car: Car) -> CapacityWheels | None:
    info = car.info
    if info.capacity is None or info.standard != "NMRA":
        return None
    return wheels_for_capacity(info.capacity.value, info.year, info.scale, info.standard)


def _fits(wheel: Working, fitting: CapacityWheels) -> bool:
    slack = practice_value("wheel_tolerance").value
    return any(abs(wheel.value - size.value) <= slack + 1e-9 for size in fitting.sizes)


def running_gear(car: Car, change: WheelChange | None) -> RunningGear:
    """Return how a car runs.

    Args:
        car: the car.
        change: what the wheels of ``wheels_wanted`` would do to the ride height, or None where there are none.
    """
    setting = Ends(setting_of(car, "a"), setting_of(car, "b"))
    grade = roll_grade(car)
    findings = [
        *_rolling(car, grade),
        *_wheelsets(car),
        *_axles(car, grade),
        *_wheels(car, change),
        *_insulation(car),
        _summary(car, setting),
    ]
    return RunningGear(setting, grade, change, tuple(findings))


# ------------------------------------------------------------------------------------------------------------- rolling


def _rolling(car: Car, grade: Working | None) -> Iterator[Finding]:
    if grade is None:
        return
    free, stiff, older = (practice_value(f"roll_{name}") for name in ("free", "stiff", "older"))
    found = f"The car rolls by itself on a grade of {grade.value:.2f} %"
    sources = f"pass band: {stiff.source}"
    if grade.value < free.value:
        margin = derive("grade above the least", "g - l", "percent", g=grade, l=free)
        yield Finding(
            "rolling",
            "watch",
            f"{found}; below {free.value:g} % it does not stay where it is set down.",
            grade,
            free,
            margin,
            "percent",
            "Nothing, in a train; on a siding that is not level, a scotch or a wisp of bristle against one axle.",
            sources,
        )
        return
    verdict: Verdict = "ok" if grade.value <= stiff.value else "watch" if grade.value <= older.value else "fail"
    limit = stiff if verdict != "fail" else older
    margin = derive("grade below the greatest", "l - g", "percent", l=limit, g=grade)
    because = f"{found}; {free.value:g} to {stiff.value:g} % is good"
    because += "." if verdict == "ok" else f", and {older.value:g} % the older pass mark."
    mend = (
        ""
        if verdict == "ok"
        else "Clean the axle points and their bearings, then try an axle 0.005 in longer or shorter, and roll it again."
    )
    yield Finding("rolling", verdict, because, grade, limit, margin, "percent", mend, sources)


# ----------------------------------------------------------------------------------------------------------- wheelsets


def _wheelsets(car: Car) -> Iterator[Finding]:
    bodies = wheel_gauges(car.info.scale, car.info.standard)
    for check, reading, words in (
        ("check_gauge", car.gauge.check_gauge, "The check gauge"),
        ("back_to_back", car.gauge.span, "Back to back"),
    ):
        if reading is None:
            continue
        if not bodies:
            yield Finding(
                check,
                "unknown",
                f"{words} is {_shown(car, reading)}; the data holds no wheelset of this scale.",
                mend="Hold it against the gauge that your track was laid by.",
            )
            continue
        yield _held(car, check, reading, words, bodies)


def _range(body: WheelGauge, check: str) -> tuple[Working | None, Working | None]:
    return (body.check_least, body.check_most) if check == "check_gauge" else (body.back_least, body.back_most)


def _shown(car: Car, length: Working) -> str:
    return show_in(length.value, car.info.units)


def _bounds(car: Car, least: Working | None, most: Working | None) -> str:
    if least is not None and most is not None:
        return f"{_shown(car, least)} to {_shown(car, most)}"
    if most is not None:
        return f"at most {_shown(car, most)}"
    assert least is not None
    return f"at least {_shown(car, least)}"


def _tightest(reading: Working, least: Working | None, most: Working | None, words: str) -> tuple[Working, Working]:
    """Return the limit that is nearer, and how far the reading is inside (+) or outside (-) of it."""
    found = []
    if least is not None:
        found.append((least, derive(f"{words} over the least", "v - l", v=reading, l=least)))
    if most is not None:
        found.append((most, derive(f"{words} under the greatest", "l - v", l=most, v=reading)))
    return min(found, key=lambda each: each[1].value)


def _held(car: Car, check: str, reading: Working, words: str, bodies: Sequence[WheelGauge]) -> Finding:
    """Return a wheelset's reading against the standard's own limits; the other body's are told beside it."""
    own, *others = bodies
    least, most = _range(own, check)
    limit, margin = _tightest(reading, least, most, words.lower())
    doubt = reading.tolerance_value
    verdict: Verdict = "ok" if margin.value >= -1e-9 else "watch" if margin.value >= -doubt - 1e-9 else "fail"
    if verdict == "fail" and limit.basis == "memory":
        verdict = "watch"
    because = f"{words} is {_shown(car, reading)}; {own.body} asks {_bounds(car, least, most)}."
    if verdict == "watch":
        because += f" It is outside by less than the reading's own ± {show_in(doubt, car.info.units)}."
    for other in others:
        low, high = _range(other, check)
        _, apart = _tightest(reading, low, high, words.lower())
        because += f" {other.body} asks {_bounds(car, low, high)}: {'met' if apart.value >= -1e-9 else 'not met'}."
    mend = ""
    if verdict != "ok":
        wide = reading.value > limit.value
        mend = (
            f"Turn one wheel on its axle as you {'press it in' if wide else 'draw it out'} by "
            f"{show_in(abs(margin.value), car.info.units)}, keep both wheels the same from the middle, and gauge again."
        )
    return Finding(check, verdict, because, reading, limit, margin, "mm", mend, f"{limit.source}")


# ----------------------------------------------------------------------------------------------------------- the axles


def _alike(one: Working | None, other: Working | None) -> bool:
    return one is not None and other is not None and one.key == other.key


def _per_end(car: Car, readings: Ends[Working | None]) -> Iterator[tuple[str, str, Working]]:
    """Yield the end's ending for a check, its words, and the reading; once where one reading is for both ends."""
    if _alike(readings.a, readings.b):
        assert readings.a is not None
        yield "", "", readings.a
        return
    for end in ENDS:
        reading = readings.at(end)
        if reading is not None:
            yield f"_{end}", f" {end.upper()}", reading


def _axles(car: Car, grade: Working | None) -> Iterator[Finding]:
    bounds = axle_range(car.info.scale)
    for ending, whose, axle in _per_end(car, Ends(car.trucks.a.axle_length, car.trucks.b.axle_length)):
        check, found = (
            f"axle_length{ending}",
            f"An axle{whose and f' of truck{whose}'} is {_shown(car, axle)} over its points",
        )
        rolls = (
            f"On this one the car rolls on {grade.value:.2f} %."
            if grade is not None
            else "The roll test tells whether this one suits."
        )
        if bounds is None:
            yield Finding(
                check,
                "unknown",
                f"{found}; the data holds no range for this scale. {rolls}",
                mend="" if grade is not None else "Roll the car down a raised track.",
                needs=() if grade is not None else ("gauge.roll_rise", "gauge.roll_length"),
            )
            continue
        limit, margin = _tightest(axle, *bounds, "axle length")
        verdict: Verdict = "ok" if margin.value >= -1e-9 else "watch"
        because = f"{found}; {_bounds(car, *bounds)} are in use, and no length is right for every truck. {rolls}"
        mend = ""
        if verdict != "ok":
            mend = "Measure again, lightly; then measure the truck from bearing to bearing, and try the nearest in use."
        yield Finding(check, verdict, because, axle, limit, margin, "mm", mend, f"{bounds[1].source}")


# ---------------------------------------------------------------------------------------------------------- the wheels


def _wheels(car: Car, change: WheelChange | None) -> Iterator[Finding]:
    fitting, capacity = _fitting(car), car.info.capacity
    if fitting is None or capacity is None:
        return
    sizes = " or ".join(str(each) for each in fitting.inches)
    asks = f"Cars of {capacity.value:.0f} tons ran on {sizes} in wheels."
    if fitting.disagree:
        asks += f" {fitting.disagree}"
    on = Ends(wheels_on(car, "a"), wheels_on(car, "b"))
    if on.a is None or on.b is None:
        yield Finding("wheel_size", "unknown", f"{asks} What this one runs on is not known.", needs=("trucks.wheels",))
        return
    slack = practice_value("wheel_tolerance")
    for ending, whose, wheel in _per_end(car, on):
        nearest = min(fitting.sizes, key=lambda size: abs(size.value - wheel.value))
        off = derive(f"wheels{whose} off the size by capacity", "abs(d - w)", d=wheel, w=nearest)
        margin = derive(f"wheels{whose} within the size by capacity", "t - o", t=slack, o=off)
        good = margin.value >= -1e-9
        because = f"{asks} Its own{whose} are {_shown(car, wheel)}, that size {_shown(car, nearest)} in the scale."
        mend = ""
        if not good and change is not None:
            because += f" {_effect(car, change)}"
            mend = "Settle the ride height first: change all four wheelsets together, or leave them, then shim."
        elif not good:
            mend = "Half the change of diameter raises or lowers the car: measure the seat's wheels first."
        yield Finding(
            f"wheel_size{ending}", "ok" if good else "watch", because, off, slack, margin, "mm", mend, fitting.source
        )


def _effect(car: Car, change: WheelChange) -> str:
    """Return what other wheels would do to the heights, in a sentence or two."""
    units = car.info.units
    told = []
    for end in ENDS:
        rise, height, error, limit = (
            each.at(end) for each in (change.rise, change.coupler_height, change.error, change.limit)
        )
        if rise is None:
            continue
        way = "raises" if rise.value > 0 else "lowers"
        words = f"{way} truck {end.upper()} by {show_in(abs(rise.value), units)}"
        if height is not None:
            words += f" and leaves coupler {end.upper()} at {show_in(height.value, units)}"
            if error is not None and limit is not None:
                inside = abs(error.value) <= limit.value + 1e-9
                side = "high" if error.value > 0 else "low"
                words += f", {show_in(abs(error.value), units)} {side}: {'within' if inside else 'outside'} its limit"
        told.append(words)
    return f"Ride height first: changing to it {'; it '.join(told)}." if told else ""


# ------------------------------------------------------------------------------------------- insulation and how it sits


def _insulation(car: Car) -> Iterator[Finding]:
    sides = Ends(car.trucks.a.insulated, car.trucks.b.insulated)
    source = "two-rail track: a metal path from rail to rail is a short circuit"
    for end in ENDS:
        side, letter = sides.at(end), end.upper()
        if side == "mixed":
            yield Finding(
                f"insulation_{end}",
                "watch",
                f"Truck {letter} has insulated wheels on both sides of it: a metal frame joins the two rails.",
                mend="Turn the odd wheelset round, all insulated wheels to one side; a plastic frame forgives it.",
                source=source,
            )
        elif side == "none":
            yield Finding(
                f"insulation_{end}",
                "fail",
                f"Truck {letter} has a wheelset without an insulated wheel: it joins the two rails.",
                mend="Put in insulated wheelsets before the car goes on powered track.",
                source=source,
            )
        elif side:
            where = "on both sides" if side == "both" else f"all on the {side}"
            yield Finding(
                f"insulation_{end}", "ok", f"The insulated wheels of truck {letter} are {where}.", source=source
            )
    if {sides.a, sides.b} == {"left", "right"}:
        yield Finding(
            "insulation_between",
            "watch",
            "The trucks are insulated on opposite sides: metal from one truck's screw to the other's joins the rails.",
            mend="Turn one truck's wheelsets round, or keep steel weight and metal sill clear of one screw.",
            source=source,
        )


def _summary(car: Car, setting: Ends[Literal["turns", "rocks"]]) -> Finding:
    """Return which truck only turns and which rocks, and what of the running gear was not gauged yet."""
    missing = _missing(car)
    back = entry("standards", "practice", "screw_back_off", "turns_back_from_snug").number
    advised = f"Neither is screwed tight (back off {back:g} turn from snug); which end rocks is the owner's choice"
    said = any(car.trucks.at(end).setting for end in ENDS)
    if setting.a == setting.b:
        verdict: Verdict = "watch"
        both = "rock" if setting.a == "rocks" else "only turn"
        what = "nothing holds the body upright" if setting.a == "rocks" else "on uneven track one wheel hangs free"
        because = f"Both trucks {both}: {what}."
        mend = "Back one truck's screw off until it also rocks, and set the other so that it turns and does not rock."
        if setting.a == "rocks":
            mend = "Turn in one truck's screw until it turns and does not rock; leave the other loose."
    else:
        verdict = "unknown" if missing else "ok"
        turns, rocks = ("A", "B") if setting.a == "turns" else ("B", "A")
        because = f"Truck {turns} turns and does not rock, truck {rocks} turns and rocks. {advised}"
        because += "." if said else ", and the file does not say: A turns is taken."
        mend = ""
    if missing:
        because += f" Not gauged yet; it needs {listed(_called(key) for key in missing)}."
        mend = mend or "Measure it when the trucks are in hand."
    source = str(entry("standards", "practice", "three_point_suspension", "never").citation)
    return Finding("running_gear", verdict, because, mend=mend, source=source, needs=missing)


def _called(key: str) -> str:
    found = key_named(key)
    return key if found is None else f"{found.letter} {found.called}"


def _missing(car: Car) -> tuple[str, ...]:
    gauge, trucks = car.gauge, car.trucks
    wanted: list[tuple[str, bool]] = [
        ("gauge.roll_rise", gauge.roll_rise is None),
        ("gauge.roll_length", gauge.roll_length is None),
        ("gauge.check_gauge", gauge.check_gauge is None),
        ("gauge.span", gauge.span is None),
        ("trucks.axle_length", any(trucks.at(end).axle_length is None for end in ENDS)),
        ("trucks.insulated", any(not trucks.at(end).insulated for end in ENDS)),
    ]
    if car.info.standard == "NMRA":
        wanted.append(("car.capacity", car.info.capacity is None))
    return tuple(key for key, absent in wanted if absent)
