"""A check's verdict, with its numbers, its limit and its source."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from carwright.records import quickly_made
from carwright.working import Working

__all__ = ["VERDICT_ORDER", "Finding", "Verdict", "listed", "worst_verdict"]

Verdict = Literal["ok", "watch", "fail", "unknown", "stale"]
"""``unknown`` names the measurement that is missing; ``stale`` was measured before a change upstream."""

VERDICT_ORDER: tuple[Verdict, ...] = ("fail", "watch", "unknown", "stale", "ok")
"""The order in which findings are shown: the worst first."""


@quickly_made
@dataclass(frozen=True, slots=True)
class Finding:
    """What one check found.

    Args:
        check: stable snake_case name, with the end where it has one ("coupler_height_a").
        verdict: see ``Verdict``.
        because: one sentence with the numbers in the reader's units; it ends with a full stop.
        value: what was found, or None where it is unknown.
        limit: what it was held against, or None.
        margin: how far it is inside (+) or outside (-) the limit, in the same unit, or None.
        unit: unit of the three.
        mend: what to do, computed where possible, or "".
        source: document and basis of the limit.
        needs: dotted keys of the measurements that are missing.
        hangs_on: dotted keys of the readings of which one's doubt alone would turn the verdict.
    """

    check: str
    verdict: Verdict
    because: str
    value: Working | None = None
    limit: Working | None = None
    margin: Working | None = None
    unit: str = "mm"
    mend: str = ""
    source: str = ""
    needs: tuple[str, ...] = ()
    hangs_on: tuple[str, ...] = ()


def listed(names: Iterable[str]) -> str:
    """Return names as they stand in a sentence: "a, b and c"; "" for none."""
    every = list(names)
    return ", ".join(every[:-1]) + (" and " if len(every) > 1 else "") + every[-1] if every else ""


def worst_verdict(findings: tuple[Finding, ...]) -> Verdict:
    """Return the verdict that stands first in ``VERDICT_ORDER``; ``ok`` where nothing was found."""
    present = {each.verdict for each in findings}
    return next((verdict for verdict in VERDICT_ORDER if verdict in present), "ok")
