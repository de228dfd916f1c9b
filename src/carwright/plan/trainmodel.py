"""What a study of a train says: what each car drags and what pull it stands, and what the whole train asks for."""

from __future__ import annotations

from dataclasses import dataclass

from carwright.car.model import Ends
from carwright.findings import Finding
from carwright.plan.curvecar import CurveCar
from carwright.weight.consist import CarRow, Consist
from carwright.working import Working

__all__ = ["CarInTrain", "Kind", "TrainAnswer"]


@dataclass(frozen=True, slots=True)
class Kind:
    """The cars of one row of a consist, as they run: the end at the front is called A here, whichever it is.

    Args:
        row: of the consist.
        name: of the cars, in words.
        shape: their sizes for a curve.
        mass: of one car as it runs, g; None where it is not known.
        heights: of its couplers above the rail, mm.
        bearing: load on the truck that does not rock, g; None also where both rock, and the body leans first.
        rolling: resistance as a grade, percent.
        drag: of one car, N.
        needs: keys of what is missing for mass and heights.
        reached: what one weighs with all the ballast that there is room and stock for, g, where that is less than
            ``mass``; None where it comes up to it, or nothing says so.
    """

    row: CarRow
    name: str
    shape: CurveCar
    mass: Working | None
    heights: Ends[Working | None]
    bearing: Working | None
    rolling: Working
    drag: Working | None
    needs: tuple[str, ...]
    reached: Working | None = None


@dataclass(frozen=True, slots=True)
class CarInTrain:
    """One car at its place; None where a measurement, the track, or a side pull is missing.

    Args:
        name: its own in this train.
        place: behind the locomotive, counted from 1.
        kind: what it is.
        pull: at its front coupler, N; in a push, the push at its rear one.
        angles: of its couplers where they draw it hardest to one side, toward that side positive, degrees.
        lift: pull that lifts an outer wheel of the truck that does not rock, N.
        tip: pull that tips the car, N.
        margin: by how much the pull may still grow before the car tips, N.
        lift_margin: before a wheel lifts, N.
        ounces: of mass for each inch of length.
        needs: keys of what is missing for its tipping pull.
        stands: whether it and its neighbours can be placed on the track.
    """

    name: str
    place: int
    kind: Kind
    pull: Working | None
    angles: Ends[Working | None]
    lift: Working | None
    tip: Working | None
    margin: Working | None
    lift_margin: Working | None
    ounces: Working | None
    needs: tuple[str, ...]
    stands: bool


@dataclass(frozen=True, slots=True)
class TrainAnswer:
    """The whole answer.

    Args:
        consist: the train.
        grade: upward, percent; None for level track.
        pushed: whether the locomotive pushes from behind the last car.
        track: its name, or what a radius stands for; "" where none was given.
        radius: the sharpest, mm; None where there is none.
        kinds: one for each row.
        cars: the front one first.
        drag: of all cars, N.
        mass: of all cars, g.
        available: what the locomotive pulls on the grade, N.
        steepest: grade up which it would just take the train, percent.
        findings: the worst first.
    """

    consist: Consist
    grade: Working | None
    pushed: bool
    track: str
    radius: Working | None
    kinds: tuple[Kind, ...]
    cars: tuple[CarInTrain, ...]
    drag: Working | None
    mass: Working | None
    available: Working | None
    steepest: Working | None
    findings: tuple[Finding, ...]
