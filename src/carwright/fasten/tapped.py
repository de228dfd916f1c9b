"""A tapped hole in plastic: its drill, percent of thread, turns held, and distance to the nearest edge.

Percent of thread is by the 1.299 definition of the tap charts: full depth is that of the sharp profile's 3/4 H on both
sides, 1.299038 times the pitch. The other definition in print (5/8 H, 1.0825) reads 20 percent higher for the same
hole.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from carwright.findings import Finding
from carwright.lengths import show_in
from carwright.reference import Thread, practice_value, thread_percent
from carwright.working import Working, derive

__all__ = ["TappedHole", "edge_finding", "said", "tapped", "thread_held"]


@dataclass(frozen=True, slots=True)
class TappedHole:
    """What a thread asks of its hole."""

    thread: Thread
    drill: str
    diameter: Working
    percent: Working


def tapped(thread: Thread) -> TappedHole:
    """Return the usual tap drill of ``thread`` and the percent of thread that it leaves."""
    drill = thread.tap_drill
    return TappedHole(thread, drill.name, drill.diameter, thread_percent(thread.major, thread.pitch, drill.diameter))


def thread_held(*, name: str, depth: Working, thread: Thread) -> Working:
    """Return the full turns of thread that a depth of plastic holds.

    Args:
        name: the hole's name.
        depth: of the plastic, mm.
        thread: the screw.
    """
    return derive(f"turns of thread held by {name}", "t/P", "turns", t=depth, P=thread.pitch)


def said(name: str) -> str:
    """Return a hole's name as one says it: "coupler A" for ``coupler_a``."""
    return " ".join(word.upper() if word in ("a", "b") else word for word in name.split("_"))


def edge_finding(*, name: str, edge: Working, thread: Thread, units: Literal["in", "mm"]) -> Finding:
    """Return whether a hole is far enough from the finished edge: its centre at 1.5 screw diameters or more.

    Args:
        name: the hole's name.
        edge: hole centre to the nearest finished edge, mm; negative outside the piece.
        thread: the screw.
        units: for the sentence.
    """
    factor = practice_value("edge_diameters_min")
    limit = derive("least edge distance", "k*D", k=factor, D=thread.major)
    margin = derive(f"edge distance at the hole for {said(name)} to spare", "e - m", e=edge, m=limit)
    ok = margin.value >= -1e-9
    if ok:
        because = (
            f"The hole for {said(name)} stands {show_in(edge.value, units)} from the edge; "
            f"{thread.name} wants {show_in(limit.value, units)}."
        )
        mend = ""
    elif edge.value <= 0:
        because = f"The hole for {said(name)} lies {show_in(-edge.value, units)} outside the piece."
        mend = "Measure the inset again; if it is right, carry the screw in a block behind the end wall."
    else:
        because = (
            f"The hole for {said(name)} stands only {show_in(edge.value, units)} from the edge; "
            f"{thread.name} wants {show_in(limit.value, units)} or the edge breaks out."
        )
        mend = f"Move it {show_in(-margin.value, units)} inward, or use a thinner screw."
    return Finding(
        f"edge_{name}",
        "ok" if ok else "watch",
        because,
        edge,
        limit,
        margin,
        "mm",
        mend,
        factor.source or "common practice",
    )
