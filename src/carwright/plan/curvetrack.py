"""The track under a study: of the car's scale, wide and long enough, reversing or not; and what a radius stands for."""

from __future__ import annotations

from collections.abc import Sequence

from carwright.car.model import Car
from carwright.plan.curvecar import CurveCar, vehicle_of
from carwright.plan.curvestudy import Study
from carwright.problems import InputError, Problem
from carwright.reference import scale_word
from carwright.track.layout import curve_between_straights
from carwright.track.placing import Vehicle
from carwright.track.trackfile import Segment, Track
from carwright.working import Working

__all__ = ["long_enough", "reverses", "same_scale", "segments_of", "train_mm", "wide_enough"]


def same_scale(track: Track, car: Car, file: str) -> None:
    """Refuse a track of another scale than the car's."""
    if track.scale and track.scale != scale_word(car.info.scale):
        raise InputError(
            Problem(
                f"the track is in {track.scale} and the car in {car.info.scale}",
                track.scale,
                car.info.scale,
                "Take a track of the car's own scale.",
                key="track.scale",
                file=file,
            )
        )


def wide_enough(
    car: CurveCar, track: Track | None, least: Working | None, file: str, *, gauge: Working | None = None
) -> None:
    """Refuse a radius smaller than half the truck centres, naming the segment."""
    if not car.stands or least is None:
        return
    half = (car.sizes["truck_a"].value + car.sizes["truck_b"].value) / 2.0
    problem, where = "the radius is smaller than half the truck centres", least if least.value < half else None
    for segment in track.segments if track is not None else ():
        if segment.radius is not None and segment.radius.value < half:
            problem, where = f"segment {segment.number}: {problem}", segment.radius
            break
        if segment.kind == "turnout" and segment.radius is None and segment.frog is not None and gauge is not None:
            radius = 2.0 * gauge.value * segment.frog.value**2
            if radius < half:
                problem = f"segment {segment.number}: one arc to that frog has {radius:.1f} mm: {problem}"
                where = segment.frog
                break
    if where is None:
        return
    raise InputError(
        Problem(
            problem,
            where.text,
            f"more than {half:.1f} mm ({half / 25.4:.2f} in)",
            "Take a larger radius.",
            key=where.key,
            file=file,
            line=where.line,
        )
    )


def train_mm(first: Vehicle, second: Vehicle | None) -> float:
    """Return the length from the first axle to the last of one car or of two on straight track."""
    if second is None:
        return first.base_mm
    apart = first.coupled_mm(second)
    assert apart is not None
    return first.a.truck_mm + first.a.wheelbase_mm / 2.0 + apart + second.b.truck_mm + second.b.wheelbase_mm / 2.0


def segments_of(track: Track | None, least: Working | None, car: CurveCar, other: CurveCar) -> tuple[Segment, ...]:
    """Return the track's segments; without a track those that a bare radius stands for, long enough for both cars."""
    if track is not None:
        return track.segments
    assert least is not None
    if not car.stands:
        return ()
    first = vehicle_of(car)
    trains = [first.base_mm]
    if car.couples and other.couples:
        second = vehicle_of(other)
        trains = [train_mm(first, second), train_mm(second, first)]
    return curve_between_straights(least, train_mm=max(trains))


def long_enough(study: Study, track: Track | None, file: str) -> None:
    """Refuse a track on which the car, or the two, do not fit; without a track there is nothing to refuse."""
    first, second = study.vehicles()
    train, length = train_mm(first, second), study.path().length_mm
    if track is not None and length < train + 1.0:
        last = track.segments[-1]
        raise InputError(
            Problem(
                f"the track ends with segment {last.number} after {length:.0f} mm: it is shorter than the train",
                f"{length:.1f} mm",
                f"more than {train:.0f} mm, from the first axle to the last",
                "Write a longer straight before and behind the curves.",
                key=f"track.segment[{last.number}]",
                file=file,
                line=last.line or None,
            )
        )


def reverses(segments: Sequence[Segment], car: CurveCar) -> bool:
    """Return whether curves of opposite hand follow each other with less than a car's length of straight between."""
    if not car.stands:
        return False
    room = vehicle_of(car).base_mm
    hand: bool | None = None
    straight = 0.0
    for segment in segments:
        if segment.kind == "straight":
            straight += segment.length.value if segment.length is not None else 0.0
            continue
        left = segment.left != (segment.kind == "turnout" and segment.out)
        if segment.kind == "easement":
            straight, hand = room, left
            continue
        if hand is not None and hand != left and straight < room:
            return True
        hand, straight = left, 0.0
    return False
