"""A stripped hole: which larger thread it can take as it stands, and why not where it cannot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from carwright.lengths import show_in
from carwright.reference import Drill, Thread, practice_text, practice_value, thread, thread_percent
from carwright.working import Working, derive

__all__ = ["NextSize", "next_size"]


@dataclass(frozen=True, slots=True)
class NextSize:
    """The next larger thread that holds in a stripped hole.

    Args:
        thread: the thread.
        drill: to open the hole to; None where the worn hole is as wide as the drill, and is tapped as it is.
        percent: of full thread that it then has.
        refused: for each smaller thread that does not, its name and why, one clause.
    """

    thread: Thread | None
    drill: Drill | None
    percent: Working | None
    refused: tuple[str, ...]


def next_size(
    stripped: Thread, hole: Working, *, edge: Working | None, depth: Working | None, units: Literal["in", "mm"]
) -> NextSize:
    """Return the smallest larger thread that a stripped hole takes where the wall allows it.

    A thread is taken where at least the floor of thread percent is left of it in the worn hole, where its hole stands
    1.5 of its diameters from the edge, and where the plastic is 1.5 of its diameters deep (all common practice).

    Args:
        stripped: the thread that no longer holds.
        hole: diameter of the worn hole, mm.
        edge: hole centre to the nearest finished edge, mm; not looked at where it is not known.
        depth: of the plastic, mm; likewise.
        units: for the clauses.
    """
    series = practice_text("thread_series_mm" if stripped.screw is None else "thread_series_in").split()
    least_percent = practice_value("thread_percent_floor").value
    refused: list[str] = []
    for name in series:
        larger = thread(name)
        if larger is None or larger.major.value <= stripped.major.value:
            continue
        drill = larger.tap_drill if larger.tap_drill.diameter_mm > hole.value + 1e-9 else None
        percent = thread_percent(larger.major, larger.pitch, hole if drill is None else drill.diameter)
        want_edge = derive("edge wanted", "k*D", k=practice_value("edge_diameters_min"), D=larger.major).value
        want_depth = derive("depth wanted", "k*D", k=practice_value("block_diameters_min"), D=larger.major).value
        if percent.value < least_percent:
            refused.append(f"{name} would have only {percent.value:.0f} % of thread in it")
        elif edge is not None and edge.value < want_edge - 1e-9:
            refused.append(f"{name} wants {show_in(want_edge, units)} to the edge and has {show_in(edge.value, units)}")
        elif depth is not None and depth.value < want_depth - 1e-9:
            refused.append(
                f"{name} wants {show_in(want_depth, units)} of plastic and has {show_in(depth.value, units)}"
            )
        else:
            return NextSize(larger, drill, percent, tuple(refused))
    return NextSize(None, None, None, tuple(refused))
