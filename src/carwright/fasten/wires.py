"""Holes for wire: which drill, how long a bore is at an angle, and whether enough wall is left beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from carwright.findings import Finding
from carwright.lengths import show_in
from carwright.reference import Drill, DrillKind, practice_value, smallest_drill_at_least
from carwright.working import Working, derive

__all__ = ["WireHole", "bore_length", "wall_finding", "wire_hole"]


@dataclass(frozen=True, slots=True)
class WireHole:
    """A hole that a wire slides through.

    Args:
        wire: diameter of the wire, mm.
        wanted: least diameter of the hole, mm.
        drill: the smallest drill that is no smaller.
    """

    wire: Working
    wanted: Working
    drill: Drill


def wire_hole(wire: Working, units: Literal["in", "mm"]) -> WireHole | None:
    """Return the hole for a wire: its diameter and the clearance, by the next drill; None above the largest drill.

    Args:
        wire: its diameter, mm, as measured.
        units: number drills for "in", millimetre drills for "mm"; below the smallest number drill millimetre ones too.
    """
    wanted = derive("hole for the wire", "d + c", d=wire, c=practice_value("wire_clearance"))
    kinds: tuple[DrillKind, ...] = ("metric",) if units == "mm" else ("number",)
    drill = smallest_drill_at_least(wanted.value, kinds)
    return None if drill is None else WireHole(wire, wanted, drill)


def bore_length(name: str, wall: Working, angle: Working) -> Working:
    """Return the length of a bore through a flat wall, along the drill: l = t / cos a.

    Args:
        name: of the hole.
        wall: thickness t of the wall, mm.
        angle: a between the drill and the wall's normal, degrees, 0 <= a < 90.

    Source:
        The drill's path is the hypotenuse of a right triangle whose leg is the wall.
    """
    return derive(f"length of the bore at {name}", "t/cos(radians(a))", t=wall, a=angle)


def wall_finding(
    *,
    check: str,
    what: str,
    edge: Working,
    hole: WireHole,
    units: Literal["in", "mm"],
    at_most: Literal["fail", "watch"],
) -> Finding:
    """Return whether a wire's hole leaves wall beside it: its centre one drill diameter from the edge, or more.

    Args:
        check: name of the finding.
        what: the piece it is in, in words.
        edge: hole centre to the nearest edge, mm.
        hole: the wire's hole.
        units: for the sentence.
        at_most: the verdict where the hole breaks out of the edge.
    """
    factor = practice_value("wire_edge_diameters")
    limit = derive("least distance of a wire's hole from an edge", "k*D", k=factor, D=hole.wanted)
    margin = derive("wall beside the wire's hole to spare", "e - m", e=edge, m=limit)
    shown, least = show_in(edge.value, units), show_in(limit.value, units)
    if margin.value >= -1e-9:
        because = f"The wire's hole stands {shown} from the edge of {what}; {least} leaves a wall."
        return Finding(check, "ok", because, edge, limit, margin, source="common practice")
    out = edge.value < hole.drill.diameter_mm / 2
    words = "breaks out of the edge" if out else "leaves little wall"
    because = f"The wire's hole stands only {shown} from the edge of {what} and {words}; it wants {least}."
    greatest = edge.value / factor.value - practice_value("wire_clearance").value
    mend = (
        f"Wire of {show_in(greatest, units)} or less would do, or a deeper web."
        if greatest > 0.1
        else "Let the line pass below, or make the web deeper."
    )
    return Finding(
        check, at_most if out else "watch", because, edge, limit, margin, mend=mend, source="common practice"
    )
