"""Verdicts on two coupled cars: pulled and pushed, from one study of each order in which they may run."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

from carwright.findings import VERDICT_ORDER, Verdict
from carwright.plan.curvemodel import CurveVerdict, VerdictName
from carwright.plan.curvestudy import Study
from carwright.track.limits import Place

__all__ = [
    "PART_WORDS",
    "PLACES",
    "pair_verdict",
    "part_of",
    "radius_of",
    "reaches",
    "room_left",
    "swing_limit",
    "worse",
]

PLACES: Final[tuple[Place, ...]] = ("steady", "entry", "reverse")
PART_WORDS: Final = {"coupler_front": "coupler B", "coupler_rear": "coupler A", "gap": "body corners"}
"""Figure to the part that is at its limit; the front car is coupled at B, the rear one at A."""


def part_of(study: Study, figure: str) -> str:
    """Return the part that a figure of a sweep speaks of: "coupler B", and whose it is where it is another car's."""
    part = PART_WORDS.get(figure, "body corners")
    car = study.car if figure == "coupler_front" else study.other
    return f"other's {part}" if figure.startswith("coupler") and car is not None and car.guest else part


def swing_limit(study: Study, figure: str) -> float | None:
    """Return how far the coupler of a figure may swing, degrees; None where it is not known."""
    car, size = (study.car, "swing_b") if figure == "coupler_front" else (study.other, "swing_a")
    swing = None if car is None else car.sizes.get(size)
    return None if swing is None else swing.value


def room_left(study: Study) -> float:
    """Return how much swing the tighter coupler has left on the track, degrees; negative beyond its stop."""
    sweep = study.sweep()
    if not sweep.placed:
        return -math.inf
    found = []
    for figure in ("coupler_front", "coupler_rear"):
        if figure in sweep.peaks:
            found.append((swing_limit(study, figure) or 0.0) - sweep.peaks[figure].value)
    return min(found, default=math.inf)


def radius_of(verdict: CurveVerdict) -> float:
    """Return a verdict's least radius, 0 where it has none."""
    return verdict.least_radius.value if verdict.least_radius is not None else 0.0


def worse(verdicts: Sequence[CurveVerdict], name: VerdictName, neighbour: str = "") -> CurveVerdict:
    """Return the worst of some verdicts with the greatest of their least radii, as that of ``name``.

    Args:
        verdicts: at least one.
        name: which of the four.
        neighbour: named in the part, where there is one.
    """
    worst = min(verdicts, key=lambda each: (VERDICT_ORDER.index(each.verdict), -radius_of(each)))
    least = max(verdicts, key=radius_of)
    decides = worst if worst.verdict == "fail" and least.verdict != "fail" else least
    part = decides.part
    if neighbour:
        part = f"{neighbour}: {part}" if part else neighbour
    return CurveVerdict(name, worst.verdict, least.least_radius, part)


def pair_verdict(
    pair: Study,
    name: Literal["pulled", "pushed"],
    place: Place,
    places: Sequence[Place] = PLACES,
    *,
    push: bool = True,
) -> CurveVerdict:
    """Return how two cars go round, pulled or pushed, and from which radius.

    Args:
        pair: the two cars.
        name: which of the two.
        place: where a least radius is looked for.
        places: all those that are looked at together with it.
        push: whether they are pushed, too.
    """
    assert pair.other is not None
    sweep = pair.sweep()
    if not sweep.placed:
        return CurveVerdict(name, "fail", None, "cars cannot be placed")
    own_gap = "gap" if name == "pulled" else "gap_pushed"
    wanted = ("coupler_front", "coupler_rear", own_gap)
    failing = False
    unknown = False
    for figure in wanted:
        peak = sweep.peaks.get(figure)
        if figure.startswith("coupler"):
            swing = swing_limit(pair, figure)
            unknown = unknown or swing is None or peak is None
            failing = failing or (swing is not None and peak is not None and peak.value > swing)
        else:
            unknown = unknown or peak is None
            failing = failing or (peak is not None and peak.value < 0.0)
    bites = [each for each in pair.radii(places, push=push) if each.place == place and each.what in wanted]
    tightest = max(bites, key=lambda each: each.radius_mm, default=None)
    part, least = "", None
    if tightest is not None and tightest.radius_mm > 0.0:
        part = part_of(pair, tightest.what)
        if math.isfinite(tightest.radius_mm):
            least = pair.radius(tightest.what, place, places, f"least radius, {name}", push=push)
    on_truck = pair.car.on_truck.b or pair.other.on_truck.a
    verdict: Verdict = "fail" if failing else "unknown" if unknown else "ok"
    if verdict == "ok" and name == "pushed" and on_truck:
        verdict, part = "watch", part or "couplers on the trucks"
    return CurveVerdict(name, verdict, least, part)


def reaches(pair: Study) -> bool | None:
    """Return whether both couplers stay within their swing on the track; None where a swing is not known."""
    sweep = pair.sweep()
    swings = {figure: swing_limit(pair, figure) for figure in ("coupler_front", "coupler_rear")}
    if any(swing is None for swing in swings.values()):
        return None
    return sweep.placed and all(
        figure in sweep.peaks and sweep.peaks[figure].value <= swing
        for figure, swing in swings.items()
        if swing is not None
    )
