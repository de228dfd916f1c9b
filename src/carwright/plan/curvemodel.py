"""What a study of cars on a curve says: limits with their radii, four verdicts, worst figures and their places."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from carwright.findings import Finding, Verdict
from carwright.plan.curvestudy import Study
from carwright.plan.model import Plan
from carwright.plan.touching import TouchAnswer
from carwright.track.steady import Steady
from carwright.track.trackfile import Segment
from carwright.working import Working

__all__ = ["VERDICTS", "CurveAnswer", "CurveLimit", "CurveVerdict", "Mounting", "VerdictName"]

VerdictName = Literal["alone", "pulled", "pushed", "coupled"]
VERDICTS: Final[tuple[VerdictName, ...]] = ("alone", "pulled", "pushed", "coupled")


@dataclass(frozen=True, slots=True)
class CurveLimit:
    """Something that bites at a radius.

    Args:
        what: in words: "coupler swing, where the curve begins", "truck A against side sill".
        part: what touches or is at its stop.
        radius: least radius on which it does not bite, mm; None where it bites on all, or is not known.
        at: the angle at which it bites, degrees, or None.
        bites: "below" the radius, "never", "always", or "unknown".
        needs: keys of the measurements that are missing.
    """

    what: str
    part: str
    radius: Working | None
    at: Working | None
    bites: Literal["below", "never", "always", "unknown"]
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CurveVerdict:
    """One of the four verdicts: on the track at hand, and the least radius of a curve that begins without easement.

    Args:
        name: "alone", "pulled", "pushed" or "coupled".
        verdict: see ``Verdict``.
        least_radius: mm; None where no radius is enough, or where it is not known.
        part: what decides.
    """

    name: VerdictName
    verdict: Verdict
    least_radius: Working | None
    part: str


@dataclass(frozen=True, slots=True)
class Mounting:
    """Body or truck: how the couplers go round mounted the other way.

    Args:
        on_truck: whether they are on the trucks now.
        now: whether both cars go round in a pull as they are; None where that is not known.
        other: the same with the couplers mounted the other way.
        body_radius: least radius, of a curve that begins without easement, on which body-mounted couplers reach; None
            where every one does, or none.
    """

    on_truck: bool
    now: bool | None
    other: bool | None
    body_radius: Working | None


@dataclass(frozen=True, slots=True)
class CurveAnswer:
    """Everything that a study of one car on one track says.

    Args:
        plan: the car's plan, with the sharpest radius of the track.
        neighbour: name of the second car; "" where it is the car's like.
        track: the track's name, or what its radius stands for.
        segments: of the track.
        radius: its least radius; None where it is straight.
        steady: on that radius.
        worst: figure of ``Sweep`` to its worst; what is not known is not there.
        places: figure to where that is.
        limits: each limit with its radius.
        verdicts: the four.
        touching: what each truck touches.
        findings: sorted, the worst first.
        mounting: couplers on body or trucks; None where the car cannot be coupled for want of sizes.
        study: of both cars in the order in which a coupler has least swing left; None where they cannot be coupled.
        alone: of the car by itself; None where it cannot be placed for want of sizes.
        orders: of both cars in each order that was looked at: this car leading, and behind the named neighbour.
    """

    plan: Plan
    neighbour: str
    track: str
    segments: tuple[Segment, ...]
    radius: Working | None
    steady: Steady | None
    worst: Mapping[str, Working]
    places: Mapping[str, Working]
    limits: tuple[CurveLimit, ...]
    verdicts: tuple[CurveVerdict, ...]
    touching: tuple[TouchAnswer, ...]
    findings: tuple[Finding, ...]
    mounting: Mounting | None
    study: Study | None
    alone: Study | None
    orders: tuple[Study, ...]

    def verdict(self, name: VerdictName) -> CurveVerdict:
        """Return one of the four verdicts."""
        return next(each for each in self.verdicts if each.name == name)
