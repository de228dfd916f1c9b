"""A car on a curve beside what the standards ask: room beside the track, tracks side by side, radii, wheels, pushes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal

from carwright.findings import Finding, Verdict
from carwright.lengths import show_in
from carwright.plan.curvemodel import CurveAnswer
from carwright.reference import scale_gauge
from carwright.reference.citation import basis_words
from carwright.reference.clearances import (
    attack_limit,
    radius_classes,
    straight_centers,
    straight_room,
    structure_gauge,
    track_centers,
)
from carwright.working import Working, derive

__all__ = ["standard_findings"]

Units = Literal["in", "mm"]

_LENGTH_NEEDED: Final = ("body.length", "body.width")


def standard_findings(answer: CurveAnswer) -> Iterator[Finding]:
    """Yield what the standards say of a study, each held against its own table; ``unknown`` where there is none.

    Args:
        answer: the study, without its findings.
    """
    if answer.radius is None or answer.alone is None:
        return
    yield _structure(answer, answer.radius)
    yield _tracks(answer, answer.radius)
    yield from _classes(answer, answer.radius)
    attack = _attack(answer, answer.radius)
    if attack is not None:
        yield attack
    push = _push(answer)
    if push is not None:
        yield push


def _unknown(check: str, because: str, mend: str = "", needs: tuple[str, ...] = ()) -> Finding:
    return Finding(check, "unknown", because, mend=mend, needs=needs)


def _throws(answer: CurveAnswer) -> tuple[Working, Working] | None:
    into, out = answer.worst.get("throw_in"), answer.worst.get("throw_out")
    return None if into is None or out is None else (into, out)


def _basis(working: Working) -> str:
    """Return document and basis of the reference value behind a number."""
    stack = [working]
    while stack:
        node = stack.pop()
        if node.kind == "reference":
            return node.source or basis_words(node.basis)
        stack.extend(node.inputs.values())
    return "geometry"


def _structure(answer: CurveAnswer, radius: Working) -> Finding:
    """Return whether the car stays within the room that a standard keeps free beside a curve."""
    check, info = "clearance_structure", answer.plan.car.info
    units = info.units
    thrown, length = _throws(answer), answer.plan.car.body.length
    if thrown is None or length is None:
        return _unknown(check, "How much room the car takes beside the track is not known.", needs=_LENGTH_NEEDED)
    into, out = thrown
    takes = (
        f"It reaches {show_in(into.value, units)} from the track's middle to the inside and "
        f"{show_in(out.value, units)} to the outside."
    )
    room = structure_gauge(info.scale, length, radius) if info.standard == "NEM" else None
    most = into if into.value >= out.value else out
    if room is None:
        nem = info.standard == "NEM"
        straight = straight_room(info.scale, info.standard)
        if straight is not None and most.value <= straight.value:
            margin = derive("room to spare beside the track", "l - t", l=straight, t=most)
            free = show_in(straight.value, units)
            because = f"{takes} {info.standard} keeps {free} free on each side of a straight already."
            return Finding(check, "ok", because, most, straight, margin, source=_basis(straight))
        whose = "NEM's table has no such radius" if nem else "the data holds no NMRA table for curves"
        return _unknown(
            check,
            f"{takes} Whether that is free is not known: {whose}.",
            "Measure from the track's middle to the nearest thing beside the curve.",
        )
    limit = derive("room beside the track on the curve", "b + e", b=room.half_width, e=room.widening)
    margin = derive("room to spare beside the track", "l - t", l=limit, t=most)
    ok = margin.value >= 0.0
    because = f"{takes} NEM keeps {show_in(limit.value, units)} free on each side there (cars of group {room.group})."
    mend = "" if ok else "Take a larger radius, or clear the trackside."
    return Finding(check, "ok" if ok else "fail", because, most, limit, margin, "mm", mend, _basis(limit))


def _tracks(answer: CurveAnswer, radius: Working) -> Finding:
    """Return whether two such cars pass each other on tracks as far apart as a standard asks."""
    check, info = "track_centers", answer.plan.car.info
    units, thrown = info.units, _throws(answer)
    if thrown is None:
        return _unknown(check, "How far apart two tracks must lie is not known.", needs=_LENGTH_NEEDED)
    need = derive("between two tracks for two such cars", "i + o", i=thrown[0], o=thrown[1])
    takes = f"Two such cars pass on curves whose middles are more than {show_in(need.value, units)} apart."
    given = track_centers(info.scale, info.standard, radius)
    straight = straight_centers(info.scale) if info.standard == "NEM" else None
    if given is None and straight is not None and need.value <= straight.value:
        margin = derive("to spare between two tracks", "d - n", d=straight, n=need)
        because = f"{takes} By NEM 112 they lie {show_in(straight.value, units)} apart on a straight already."
        return Finding(check, "ok", because, need, straight, margin, source=_basis(straight))
    if given is None:
        whose = "NEM 112's table for curves" if info.standard == "NEM" else "a table for this scale and radius"
        return _unknown(check, f"{takes} The data does not hold {whose}.", "Measure between your own tracks.")
    margin = derive("to spare between two tracks", "d - n", d=given.distance, n=need)
    # The distance on curves stands on a rule of practice: it can make a car worth a look, never fail it.
    verdict: Verdict = "ok" if margin.value >= 0.0 else "watch"
    because = f"{takes} There they lie {show_in(given.distance.value, units)} apart by the {given.what}."
    mend = "" if margin.value >= 0.0 else "Lay the tracks farther apart on this curve."
    return Finding(check, verdict, because, need, given.distance, margin, "mm", mend, _basis(given.distance))


def _classes(answer: CurveAnswer, radius: Working) -> Iterator[Finding]:
    """Yield where the radius stands among those that a standard names: a place to stand by, no verdict on the car."""
    info = answer.plan.car.info
    gauge = scale_gauge(info.scale, info.standard)
    classes = radius_classes(info.scale, info.standard, answer.plan.car.body.length, gauge)
    if not classes:
        return
    met = [each for each in classes if radius.value >= each.radius.value - 1e-6]
    shown = ", ".join(f"{_round(each.radius.value, info.units)} ({each.what})" for each in classes)
    nearest = met[-1] if met else classes[0]
    margin = derive("radius above the standard's", "r - c", r=radius, c=nearest.radius)
    where = f"at or above that of {nearest.what}" if met else "below all of them"
    verdict: Verdict = "ok" if met else "watch"
    yield Finding(
        "radius_class",
        verdict,
        f"The standards name {shown}; this radius is {where}.",
        radius,
        nearest.radius,
        margin,
        source=_basis(nearest.radius),
    )


def _round(length_mm: float, units: Units) -> str:
    """Return a standard's radius without needless zeros."""
    return f"{round(length_mm / 25.4, 3):g} in" if units == "in" else f"{round(length_mm, 1):g} mm"


def _attack(answer: CurveAnswer, radius: Working) -> Finding | None:
    """Return whether a truck's wheels meet the rail at too blunt an angle for its wheelbase."""
    base = answer.plan.car.trucks.a.wheelbase
    if base is None:
        return None
    angle = derive("angle between wheel and rail", "degrees(asin(min(b/(2*R), 1)))", "deg", b=base, R=radius)
    limit = attack_limit()
    margin = derive("to spare between wheel and rail", "l - a", "deg", l=limit, a=angle)
    ok = margin.value >= 0.0
    because = f"The wheels meet the rail at {angle.value:.1f}°; a rigid truck may up to {limit.value:g}°."
    mend = "" if ok else "Take a larger radius, or trucks of a shorter wheelbase."
    return Finding("wheel_angle", "ok" if ok else "watch", because, angle, limit, margin, "deg", mend, limit.source)


def _push(answer: CurveAnswer) -> Finding | None:
    """Return what part of a push goes sideways at the worst place, and what it does to a truck with a coupler on it."""
    angles = [answer.worst[name] for name in ("push_front", "push_rear") if name in answer.worst]
    if not angles:
        return None
    angle = max(angles, key=lambda each: each.value)
    side = _side(angle)
    because = (
        f"In a push the link buckles until a coupler meets its stop; at worst the push then stands at "
        f"{angle.value:.0f}° to the car, and {100 * side.value:.0f} % of it goes sideways."
    )
    arms = list(_turned_trucks(answer))
    if not arms:
        return Finding("push_side", "ok", because, side, unit="", source="geometry")
    arm = max(arms, key=lambda each: each.value)
    because += f" It sits on the truck and turns it with {arm.value:.1f} N mm for each newton."
    mend = "Push such cars gently through reverse curves, or mount the couplers on the body where the radius allows it."
    return Finding("push_side", "watch", because, arm, unit="mm", mend=mend, source="geometry")


def _side(angle: Working) -> Working:
    return derive("part of a push that goes sideways", "sin(radians(p))", "", p=angle)


def _turned_trucks(answer: CurveAnswer) -> Iterator[Working]:
    """Yield the moment by which each coupler on a truck turns it, for each newton of push, in either order."""
    for study in answer.orders:
        for figure, car, end in (("push_front", study.car, "b"), ("push_rear", study.other, "a")):
            peak = study.sweep().peaks.get(figure)
            if car is None or peak is None or not car.on_truck.at("b" if end == "b" else "a"):
                continue
            yield derive(
                "turning moment on the truck for each newton of push, N mm",
                "abs(x - c)*q",
                "mm",
                note="coupler pivot to truck pivot, times the part that goes sideways",
                x=car.sizes[f"coupler_{end}"],
                c=car.sizes[f"truck_{end}"],
                q=_side(study.worst(figure, "angle of the push to the car", "deg")),
            )
