"""The plan of one car: everything that drawings, sheets and pages show, and nothing that they would have to compute."""

from __future__ import annotations

from dataclasses import dataclass

from carwright.car.model import Car, Ends
from carwright.fasten.plugs import Repair
from carwright.findings import Finding
from carwright.frame.floor import Floor
from carwright.pieces import Hole, Piece
from carwright.plan.interference import Interference
from carwright.ride.model import Alternative, Ride, Target
from carwright.track.steady import Steady
from carwright.weight.running import RunningGear
from carwright.weight.target import WeightSums
from carwright.working import Working

__all__ = ["BuyLine", "Plan"]


@dataclass(frozen=True, slots=True)
class BuyLine:
    """Something that is not on the shelf and that the plan needs.

    Args:
        name: what to ask for, in words.
        size: the size wanted, mm, or None.
        low: the least size that would still do, mm, or None.
        high: the greatest one.
        quantity: how many.
        because: what it is for, one sentence.
        cut: it is sheet, rod or wire, out of which pieces are cut.
    """

    name: str
    size: Working | None
    low: Working | None
    high: Working | None
    quantity: Working
    because: str
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole plan. ``kind`` is the kind of car by its type, None where the type is not known."""

    car: Car
    kind: str | None
    floor: Floor
    targets: Ends[Target | None]
    ride: Ride
    sill_heights: Ends[Working | None]
    alternatives: tuple[Alternative, ...]
    pieces: tuple[Piece, ...]
    holes: tuple[Hole, ...]
    interference: Interference
    repairs: tuple[Repair, ...]
    steady: Steady | None
    weight: WeightSums
    running: RunningGear
    buy: tuple[BuyLine, ...]
    findings: tuple[Finding, ...]

    @property
    def ways(self) -> tuple[Alternative, ...]:
        """Return the ways to stand that are worth reading: those better than the car as it is, and that one."""
        place = next((i for i, each in enumerate(self.alternatives) if each.as_it_is), len(self.alternatives))
        return self.alternatives[: place + 1]
