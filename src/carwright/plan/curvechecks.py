"""Findings on a car that goes round a curve: one for each verdict, one for each part that a truck touches."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal

from carwright.findings import Finding
from carwright.plan.checks import called, doubted_radius
from carwright.plan.curvemodel import CurveAnswer, CurveLimit, CurveVerdict, VerdictName
from carwright.plan.curvestandards import standard_findings
from carwright.working import Working, derive

__all__ = ["curve_findings"]

_WORDS: Final[dict[VerdictName, str]] = {
    "alone": "Alone",
    "pulled": "Pulled, coupled to its like",
    "pushed": "Pushed, coupled to its like",
    "coupled": "Coupled to others",
}
_MENDS: Final[dict[VerdictName, str]] = {
    "alone": "Move or thin the part that is touched, or set the trucks further in.",
    "pulled": "A longer shank, a wider pocket, an easement where the curve begins, or couplers left on the trucks.",
    "pushed": "A straight of a car's length between curves of opposite hand, or couplers left on the trucks.",
    "coupled": "Keep the two apart in a train, or ease the curve.",
}


def _shown(length: Working, units: Literal["in", "mm"]) -> str:
    """Return a radius to a tenth of an inch or a millimetre: nobody lays track closer."""
    return f"{length.value / 25.4:.1f} in" if units == "in" else f"{length.value:.0f} mm"


def _of_verdict(answer: CurveAnswer, each: CurveVerdict) -> Finding:
    units, radius = answer.plan.car.info.units, answer.radius
    what = _WORDS[each.name]
    if each.name != "alone" and answer.neighbour:
        what = what.replace("its like", answer.neighbour).replace("others", answer.neighbour)
    about = f" ({each.part})" if each.part else ""
    check = f"curve_{each.name}"
    if each.verdict == "unknown":
        known = about
        if each.part and each.least_radius is not None:
            known = f"; of what is known {each.part} decides, at {_shown(each.least_radius, units)}"
        return Finding(
            check,
            "unknown",
            f"{what}: not known yet{known}.",
            each.least_radius,
            radius,
            mend="The limits name the measurement that is missing.",
            source="geometry",
            needs=tuple(dict.fromkeys(key for limit in answer.limits for key in limit.needs)),
        )
    margin = None
    if each.least_radius is not None and radius is not None:
        margin = derive(f"radius to spare, {each.name}", "r - l", r=radius, l=each.least_radius)
    goes = {"ok": "goes round", "watch": "goes round, but look at it", "fail": "does not go round"}.get(
        each.verdict, ""
    )
    if each.verdict == "watch" and margin is not None and margin.value < 0:
        goes = "not with all of them on this curve" if each.name == "coupled" else "not everywhere on this curve"
    least = f"; the least radius is {_shown(each.least_radius, units)}" if each.least_radius is not None else ""
    mend = _MENDS[each.name] if each.verdict != "ok" else ""
    if mend and each.part.endswith("body corners"):
        mend = "Longer shanks, couplers pivoted nearer the ends, or a larger radius."
    because = f"{what}: {goes}{about}{least}."
    return Finding(check, each.verdict, because, each.least_radius, radius, margin, "mm", mend, "geometry")


def _of_touch(answer: CurveAnswer, limit: CurveLimit) -> Finding | None:
    """Return what is missing of a part that a truck might touch; what is known of it stands in the verdict alone."""
    if limit.bites != "unknown" or not limit.needs:
        return None
    names = ", ".join(called(key) for key in limit.needs)
    check = "_".join(f"curve {limit.what.partition(' against ')[0]} against {limit.part}".replace(",", "").split())
    return Finding(
        check,
        "unknown",
        f"{limit.what[:1].upper()}{limit.what[1:]}: needs {names}.",
        needs=limit.needs,
        source="geometry",
    )


def _sanity(answer: CurveAnswer) -> Finding | None:
    """Return the popular ratio of radius to length, as a line beside the geometry and never a verdict of its own."""
    car, radius = answer.plan.car, answer.radius
    length, pivot, link = car.body.length, car.coupler.a.pivot_inset, car.coupler.a.length
    if length is None or pivot is None or link is None or radius is None:
        return None
    ratio = derive("radius over the length over couplers", "r/(A + 2*(N - M))", "", r=radius, A=length, N=link, M=pivot)
    because = (
        f"The radius is {ratio.value:.1f} times the car's length over its couplers. The popular rule asks 3 to stay on "
        "and 5 to couple and look right; it is a habit and no geometry."
    )
    return Finding("curve_ratio", "ok", because, ratio, unit="", source="common practice")


def _mount(answer: CurveAnswer) -> Finding | None:
    """Return whether the couplers are better left on the trucks, and from which radius the body is right for them."""
    mounting, units = answer.mounting, answer.plan.car.info.units
    if mounting is None or mounting.now is None or mounting.other is None:
        return None
    radius = mounting.body_radius
    body = f"Body-mounted couplers reach round curves from {_shown(radius, units)}" if radius is not None else ""
    margin = None
    if radius is not None and answer.radius is not None:
        margin = derive("radius to spare for couplers on the body", "r - l", r=answer.radius, l=radius)
    if not mounting.on_truck and not mounting.now and mounting.other:
        because = f"{body or 'Body-mounted couplers reach round no curve'}: on this track leave them on the trucks."
        mend = "Leave the couplers on the trucks, or ease the track to that radius and mount them on the body."
        return Finding("curve_mount", "watch", because, answer.radius, radius, margin, "mm", mend, "geometry")
    if mounting.on_truck and mounting.now:
        right = mounting.other
        because = (
            f"{body or 'Body-mounted couplers would reach round every curve'}: here they "
            f"{'could go on the body' if right else 'belong on the trucks, where they are'}."
        )
        return Finding("curve_mount", "ok", because, answer.radius, radius, margin, source="geometry")
    return None


def curve_findings(answer: CurveAnswer) -> Iterator[Finding]:
    """Yield the findings of a study, in no order.

    Args:
        answer: the study, without its findings.
    """
    for verdict in answer.verdicts:
        yield _of_verdict(answer, verdict)
    for limit in answer.limits:
        found = _of_touch(answer, limit)
        if found is not None:
            yield found
    mount = _mount(answer)
    if mount is not None:
        yield mount
    yield from standard_findings(answer)
    doubt = doubted_radius(answer.plan.car)
    if doubt is not None:
        yield doubt
    ratio = _sanity(answer)
    if ratio is not None:
        yield ratio
