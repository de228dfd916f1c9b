"""Screw threads: diameters, drills for tapping and clearance, heads.

Percent of full thread is by the definition of tap charts: full depth on both sides is 3/4 H each, 1.299038 pitches
together, so ``percent = 100 (major - hole) / (1.299038 pitch)``. A second definition in print, on 5/8 H, reads 20
percent higher for the same hole; it is not used.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from carwright.reference.citation import Entry
from carwright.reference.drills import Drill, drill_named
from carwright.reference.leaves import INCH_MM, leaf
from carwright.reference.store import ReferenceFault, entry, under
from carwright.working import Working, derive, of

__all__ = ["ClearanceDrill", "Head", "HeadKind", "TapDrill", "Thread", "head", "thread", "thread_percent", "threads"]

HeadKind = Literal["pan", "fillister", "flat", "round"]

_BETWEEN = re.compile("[-\u2010\u2013/X×]")
"""What people write, or leave out, between a screw's number and its threads to the inch."""


@dataclass(frozen=True, slots=True)
class TapDrill:
    """One position on the drill for tapping a thread.

    Args:
        drill: the drill.
        pick: "common", "loose" or "alternative", as the chart calls it.
        percent: percent of full thread that it leaves, 1.299 definition.
        source: where the pick stands, in words.
        disagreement: what other charts say, or "".
    """

    drill: Drill
    pick: Literal["common", "loose", "alternative"]
    percent: Working
    source: str
    disagreement: str


@dataclass(frozen=True, slots=True)
class ClearanceDrill:
    """One position on the hole that a screw passes through.

    Args:
        drill: the drill.
        fit: "close", "free", "normal", "loose", "fine", "medium" or "coarse", as the list calls it.
        source: where it stands, in words; it says so where it is from memory.
    """

    drill: Drill
    fit: str
    source: str


@dataclass(frozen=True, slots=True)
class Thread:
    """A screw thread; lengths in mm.

    Args:
        name: "2-56", "M2".
        screw: screw number of a unified thread, None of a metric one.
        major: greatest diameter.
        pitch: from thread to thread.
        pitch_diameter: by the 60 degree profile.
        minor_external: root diameter of the screw.
        minor_internal: least diameter of the nut's thread.
        tap_drill: the usual drill for tapping.
        tap_drills: every position, with its percent of thread.
        clearance: the close clearance drill.
        clearance_drills: every position.
    """

    name: str
    screw: int | None
    major: Working
    pitch: Working
    pitch_diameter: Working
    minor_external: Working
    minor_internal: Working
    tap_drill: Drill
    tap_drills: tuple[TapDrill, ...]
    clearance: Drill
    clearance_drills: tuple[ClearanceDrill, ...]


def thread_percent(major: Working, pitch: Working, hole: Working) -> Working:
    """Return the percent of full thread that tapping a hole leaves, by the 1.299 definition.

    Args:
        major: major diameter, mm.
        pitch: pitch, mm.
        hole: diameter of the hole before tapping, mm.
    """
    depth = leaf(
        entry("workshop", "threads", "formula", "double_depth_of_three_quarters_H"), "full depth, in pitches", ""
    )
    return derive("percent of full thread", "100 * (D - d) / (c * p)", "percent", D=major, d=hole, c=depth, p=pitch)


def _profile(name: str, major: Working, pitch: Working, words: str) -> Working:
    """Return a diameter from the profile formulas, which the stored constants of ``workshop.threads.profile`` give."""
    stored = entry("workshop", "threads", "profile", name)
    constant = float(stored.words.split("-")[1].split("/")[0])
    pitches = of(
        constant,
        f"{words}, pitches under the major diameter",
        "",
        key=stored.key,
        source=str(stored.citation),
        basis=stored.citation.basis,
        note=stored.note,
        text=f"{constant}",
    )
    return derive(words, "D - k * p", D=major, k=pitches, p=pitch)


def _drill(name: str, by: Entry) -> Drill:
    found = drill_named(name)
    if found is None:
        raise ReferenceFault("workshop", by.key, f'names a drill "{name}" that is in no list')
    return found


def _drill_of(stored: Entry) -> Drill:
    return _drill(stored.words if isinstance(stored.value, str) else f"{stored.number:.2f} mm", stored)


def _tap_drills(row: dict[str, Entry], major: Working, pitch: Working) -> tuple[TapDrill, ...]:
    found = []

    def add(drill: Drill, pick: Literal["common", "loose", "alternative"], stored: Entry) -> None:
        percent = thread_percent(major, pitch, drill.diameter)
        found.append(TapDrill(drill, pick, percent, str(stored.citation), stored.disagreement))

    add(_drill_of(row["common"]), "common", row["common"])
    add(_drill_of(row["loose"]), "loose", row["loose"])
    others = row.get("alternatives")
    if others is not None and isinstance(others.value, tuple):
        for name in others.value:
            add(_drill(str(name), others), "alternative", others)
    return tuple(found)


def _unified_clearances(screw: int) -> tuple[ClearanceDrill, ...]:
    found = []
    for table, rows in (
        ("unified_clearance", "rows"),
        ("unified_clearance_standard", "rows"),
        ("unified_clearance_standard", "rows_memory"),
    ):
        row = under("workshop", "threads", table, rows).get(str(screw), {})
        for fit in ("close", "free", "normal", "loose"):
            if fit in row:
                found.append(ClearanceDrill(_drill_of(row[fit]), fit, str(row[fit].citation)))
    return tuple(found)


def _metric_clearances(name: str) -> tuple[ClearanceDrill, ...]:
    row = under("workshop", "threads", "metric_clearance", "rows").get(name, {})
    return tuple(ClearanceDrill(_drill_of(stored), fit, str(stored.citation)) for fit, stored in row.items())


def _unified(name: str, row: dict[str, Entry]) -> Thread:
    screw = int(name.split("-")[0])
    major = leaf(row["major"], f"major diameter of {name}")
    tpi = row["threads_per_in"]
    pitch = of(
        float(INCH_MM / Fraction(round(tpi.number))),
        f"pitch of {name}",
        key=tpi.key,
        source=str(tpi.citation),
        basis=tpi.citation.basis,
        text=f"1/{tpi.number:g} in",
    )
    taps = _tap_drills(dict(under("workshop", "threads", "unified_tap_drills", "rows")[name]), major, pitch)
    holes = _unified_clearances(screw)
    return Thread(
        name,
        screw,
        major,
        pitch,
        _profile("pitch_diameter", major, pitch, f"pitch diameter of {name}"),
        _profile("minor_external_unr", major, pitch, f"root diameter of a {name} screw"),
        _profile("minor_internal_basic", major, pitch, f"least inside diameter of a {name} thread"),
        taps[0].drill,
        taps,
        holes[0].drill,
        holes,
    )


def _metric(name: str, row: dict[str, Entry]) -> Thread:
    major = leaf(row["major"], f"major diameter of {name}")
    pitch = leaf(row["pitch"], f"pitch of {name}")
    taps = _tap_drills(dict(under("workshop", "threads", "metric_tap_drills", "rows")[name]), major, pitch)
    holes = _metric_clearances(name)
    return Thread(
        name,
        None,
        major,
        pitch,
        _profile("pitch_diameter", major, pitch, f"pitch diameter of {name}"),
        _profile("minor_external_old", major, pitch, f"root diameter of an {name} screw"),
        _profile("minor_internal_basic", major, pitch, f"least inside diameter of an {name} thread"),
        taps[0].drill,
        taps,
        holes[0].drill,
        holes,
    )


@lru_cache(maxsize=1)
def threads() -> tuple[Thread, ...]:
    """Return every thread that is known, unified before metric, the smallest first."""
    unified = [_unified(name, dict(row)) for name, row in under("workshop", "threads", "unified", "rows").items()]
    metric = [_metric(name, dict(row)) for name, row in under("workshop", "threads", "metric", "rows").items()]
    return (*unified, *metric)


def thread(name: str) -> Thread | None:
    """Return the thread of a name ("2-56", "#2-56", "2/56", "256", "M2", "m2x0.4"), or None where it is not known."""
    word = name.strip().upper().replace(" ", "").removeprefix("NO.").removeprefix("#")
    if word.startswith("M"):
        word = word.replace("×", "X").split("X")[0]
    word = _BETWEEN.sub("", word)
    return next((each for each in threads() if _BETWEEN.sub("", each.name) == word), None)


@dataclass(frozen=True, slots=True)
class Head:
    """A screw head at its greatest, mm.

    Args:
        kind: its form.
        diameter: greatest diameter.
        height: greatest height; of a flat head, the depth it sinks.
    """

    kind: HeadKind
    diameter: Working
    height: Working


_HEADS: dict[HeadKind, tuple[str, str]] = {
    "pan": ("pan_slotted", "height_max"),
    "fillister": ("fillister_slotted", "total_max"),
    "flat": ("flat_82_slotted", "height_ref"),
    "round": ("round_slotted", "height_max"),
}


def head(kind: HeadKind, of_thread: Thread) -> Head | None:
    """Return the head of a unified machine screw, or None where it is not listed (metric screws are not).

    Args:
        kind: "pan", "fillister", "flat" (82 degrees) or "round".
        of_thread: the screw's thread.
    """
    table, height = _HEADS[kind]
    row = under("workshop", "heads", table, "rows").get(str(of_thread.screw))
    if row is None:
        return None
    return Head(
        kind,
        leaf(row["diameter_max"], f"{kind} head diameter of {of_thread.name}"),
        leaf(row[height], f"{kind} head height of {of_thread.name}"),
    )
