"""A planned car under pull on a curve, and how many cars may hang on it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from carwright.car.model import ENDS, Car, End, Ends
from carwright.lengths import as_written
from carwright.plan.curvecar import CurveCar, curve_car
from carwright.plan.curvestudy import Study
from carwright.plan.curvetrack import same_scale, wide_enough
from carwright.plan.model import Plan
from carwright.plan.weighmodel import Curved, Trailing
from carwright.reference import practice_value, scale_gauge
from carwright.track.layout import sharpest
from carwright.track.trackfile import Segment, Track
from carwright.weight.standing import Pulls, drag, lever_of, many, pulls, setting_of
from carwright.working import Working, derived

__all__ = ["on_radius", "on_track", "solid_load", "trailing"]

_SIZES: Final = tuple(f"{what}_{end}" for what in ("truck", "wheelbase", "coupler", "link") for end in ENDS)


def solid_load(car: Car, whole: Working, loads: Ends[Working]) -> Working | None:
    """Return what rests on the trucks that do not rock, g; None where both rock."""
    turning = [end for end in ENDS if setting_of(car, end) == "turns"]
    if len(turning) == len(ENDS):
        return whole
    return loads.at(turning[0]) if turning else None


def _pulls(plan: Plan, whole: Working | None, load: Working | None, lever: Working | None, where: str) -> Pulls | None:
    gauge = scale_gauge(plan.car.info.scale, plan.car.info.standard)
    if whole is None or load is None or lever is None or gauge is None:
        return None
    return pulls(whole, load, gauge, lever, where)


def _heights(plan: Plan) -> tuple[Ends[Working] | None, tuple[str, ...]]:
    ends = plan.ride.ends
    if ends.a.coupler_height is None or ends.b.coupler_height is None:
        return None, tuple(dict.fromkeys((*ends.a.needs, *ends.b.needs)))
    return Ends(ends.a.coupler_height, ends.b.coupler_height), ()


def on_radius(plan: Plan, whole: Working | None, load: Working | None) -> Curved:
    """Return the car on the steady curve of its plan's radius, coupled to its likes.

    Args:
        plan: of the car with that radius.
        whole: mass of the finished car, g.
        load: on the trucks that do not rock, g.
    """
    radius, turning = plan.car.info.radius, plan.steady
    assert radius is not None
    where = f"on a curve of {as_written(radius.text, radius.value, plan.car.info.units)}"
    heights, needs = _heights(plan)
    angle = None if turning is None else turning.coupler_angle
    if angle is None:
        wanting = turning.needs if turning is not None else ("trucks.centers",)
        return Curved(where, radius, needs=tuple(dict.fromkeys((*needs, *wanting))))
    angles = Ends(angle, angle)
    lever = None if heights is None else lever_of(heights, angles, where)
    found = _pulls(plan, whole, load, lever, where)
    return Curved(where, radius, angles, found, needs)


def on_track(plan: Plan, track: Track, whole: Working | None, load: Working | None, *, file: str) -> Curved:
    """Return the car in the middle of a train of its likes, where on a track its couplers draw it aside most.

    Raises:
        InputError: a track of another scale, or with a radius smaller than half the truck centres.
    """
    car = plan.car
    own = curve_car(car)
    gauge = scale_gauge(car.info.scale, car.info.standard)
    same_scale(track, car, file)
    least = sharpest(track.segments, gauge=gauge)
    wide_enough(own, track, least, file)
    where = f"on {track.name or file or 'the track'}"
    heights, needs = _heights(plan)
    if heights is None or not own.couples:
        return Curved(
            where, least, needs=tuple(dict.fromkeys((*needs, *own.wanting("truck", "wheelbase", "coupler", "link"))))
        )
    study = Study(own, None, track.segments, gauge, file=file)
    if _drawn(study, {}, Ends(heights.a.value, heights.b.value)) is None:
        return Curved(where, least, needs=("track.segment",))
    angles = Ends(
        _angle(study, own, track.segments, gauge, heights, "a", f"angle of coupler A {where}"),
        _angle(study, own, track.segments, gauge, heights, "b", f"angle of coupler B {where}"),
    )
    found = _pulls(plan, whole, load, lever_of(heights, angles, where), where)
    return Curved(where, least, angles, found, needs)


def _drawn(study: Study, moved: Mapping[str, float], heights: Ends[float]) -> Ends[float] | None:
    """Return the angles of both couplers where they draw the car hardest to one side; None where it does not fit."""
    from carwright.track.trio import Trio, hardest

    vehicle, _ = study.vehicles(moved)
    trio, path = Trio(vehicle, vehicle, vehicle, heights.a, heights.b), study.path(moved)
    if path.length_mm < trio.base_mm + 1.0:
        return None
    (found,) = hardest(path, [trio])
    angles = Ends(found.angle_a_deg, found.angle_b_deg)
    return angles if math.isfinite(angles.a) and math.isfinite(angles.b) else None


def _angle(
    study: Study,
    own: CurveCar,
    segments: Sequence[Segment],
    gauge: Working | None,
    heights: Ends[Working],
    end: End,
    name: str,
) -> Working:
    """Return the angle of a coupler where both together draw the car hardest to one side, as a number."""
    inputs: dict[str, Working] = {size: own.sizes[size] for size in _SIZES}
    inputs |= {"h_a": heights.a, "h_b": heights.b}
    leaves = {_symbol(leaf): leaf for segment in segments for leaf in segment.leaves}
    if gauge is not None and any(segment.kind == "turnout" for segment in segments):
        leaves["gauge"] = gauge
    inputs |= leaves

    def again(*values: float) -> float:
        given = dict(zip(inputs, values, strict=True))
        moved = {
            leaves[symbol].key if symbol in leaves else symbol: value
            for symbol, value in given.items()
            if value != inputs[symbol].value and symbol not in ("h_a", "h_b")
        }
        found = _drawn(study, moved, Ends(given["h_a"], given["h_b"]))
        return 0.0 if found is None else found.at(end)

    return derived(
        name,
        f"angle at {end.upper()} where h_a sin a + h_b sin b is greatest along the track",
        inputs,
        "deg",
        note="between two like cars, placed along all of it, then closed in on the peaks",
        function=again,
    )


def _symbol(leaf: Working) -> str:
    """Return a symbol for a leaf of the track: letters, digits and underscores only."""
    return "".join(sign if sign.isalnum() else "_" for sign in leaf.key).strip("_") or "track"


def trailing(
    plan: Plan,
    curved: Curved,
    whole: Working,
    load: Working | None,
    *,
    mass: Working | None,
    rolling: Working | None,
    grade: Working | None,
) -> Trailing:
    """Return how many cars may hang on this one.

    Args:
        plan: the car's plan.
        curved: the car under pull.
        whole: mass of the finished car, g.
        load: on the trucks that do not rock, g.
        mass: of each other car, g; without it this one's.
        rolling: resistance of each as a grade, percent; without it that of a car that just passes a roll test.
        grade: upward, percent; None for level track.

    Notes:
        In a push every coupler stands at its stop, whichever way is worse; the pull that lifts a wheel is divided by
        what one car holds back. Resistance of the curve itself, and cars of unlike weight, are left to the train.
    """
    each = mass if mass is not None else whole
    rolls = rolling if rolling is not None else practice_value("rolling_resistance")
    held = drag(each, rolls, grade, None, "one trailing car")
    pulled = None
    if curved.pulls is not None:
        pulled = many(curved.pulls.lift, held, "cars that may trail it")
    own = curve_car(plan.car)
    heights, needs = _heights(plan)
    stops = [own.sizes.get(f"swing_{end}") for end in ENDS]
    if heights is None or stops[0] is None or stops[1] is None:
        wanting = () if stops[0] is not None and stops[1] is not None else ("coupler.side_play",)
        return Trailing(each, rolls, grade, held, pulled, None, None, tuple(dict.fromkeys((*needs, *wanting))))
    lever = lever_of(heights, Ends(stops[0], stops[1]), "in a push, couplers at their stops")
    pushed = _pulls(plan, whole, load, lever, "in a push, couplers at their stops")
    if pushed is None:
        return Trailing(each, rolls, grade, held, pulled, None, None)
    return Trailing(each, rolls, grade, held, pulled, many(pushed.lift, held, "cars that it may push"), pushed.lift)
