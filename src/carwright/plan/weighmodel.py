"""What a study of a car's weight says: what it should weigh and why, where ballast goes, how it stands and pulls."""

from __future__ import annotations

from dataclasses import dataclass

from carwright.car.model import Ends
from carwright.findings import Finding
from carwright.plan.model import Plan
from carwright.weight.ballast import Placed
from carwright.weight.cavities import Cavity
from carwright.weight.centre import Part
from carwright.weight.standing import Pulls, WheelLoads
from carwright.working import Working

__all__ = ["Centre", "Curved", "Trailing", "WeighAnswer"]


@dataclass(frozen=True, slots=True)
class Centre:
    """A centre of gravity and its half-width ±, mm; None where that is not known."""

    x: Working | None
    y: Working | None
    z: Working | None
    x_doubt: Working | None = None
    y_doubt: Working | None = None
    z_doubt: Working | None = None


@dataclass(frozen=True, slots=True)
class Curved:
    """The car under pull on a curve.

    Args:
        where: on which curve, in words; "" where none was given.
        radius: its radius, or the least of the track, mm; None where it is straight.
        angles: of the couplers, degrees, toward the inside positive; None where they are not known.
        pulls: the two pulls; None where they are not known, or nothing draws the car aside.
        needs: keys of the measurements that are missing.
    """

    where: str
    radius: Working | None = None
    angles: Ends[Working] | None = None
    pulls: Pulls | None = None
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Trailing:
    """How many cars may hang on this one.

    Args:
        mass: of each, g.
        rolling: their resistance as a grade, percent.
        grade: upward, percent, or None for level track.
        drag: what each holds back, N.
        pulled: how many may trail it before an outer wheel lifts; None where that is not known, or any number may.
        pushed: how many may be pushed by it; likewise.
        push_lift: the push that lifts a wheel, N.
        needs: keys of the measurements that are missing.
    """

    mass: Working
    rolling: Working
    grade: Working | None
    drag: Working
    pulled: Working | None
    pushed: Working | None
    push_lift: Working | None
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WeighAnswer:
    """Everything that a study of a car's weight says.

    Args:
        plan: the car's plan.
        cavities: where there is room.
        placed: the ballast chosen, by cavity.
        proven: whether the choice was proven best.
        ballast: what of it there is, g; None where what is wanted is not known.
        short: what is still missing from the target with it, g; negative where the car is too heavy.
        whole: the finished car, g.
        parts: what it is made of, ballast included.
        centre: its centre of gravity.
        loads: what each truck carries, g.
        solid: load of each wheel with both trucks solid, g.
        rocking: load of each wheel as the trucks are set, g.
        lean: at rest, degrees.
        gauge: of the track, mm.
        curved: the car under pull on a curve.
        trailing: how many cars may hang on it; None where its own weight is not known.
        findings: sorted, the worst first.
    """

    plan: Plan
    cavities: tuple[Cavity, ...]
    placed: tuple[Placed, ...]
    proven: bool
    ballast: Working | None
    short: Working | None
    whole: Working | None
    parts: tuple[Part, ...]
    centre: Centre
    loads: Ends[Working] | None
    solid: WheelLoads | None
    rocking: WheelLoads | None
    lean: Working | None
    gauge: Working | None
    curved: Curved
    trailing: Trailing | None
    findings: tuple[Finding, ...]
