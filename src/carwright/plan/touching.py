"""At which angle, and so on which radius, each truck touches what hangs round it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from carwright.car.model import ENDS, End
from carwright.plan.curvecar import CurveCar
from carwright.plan.model import Plan
from carwright.plan.undercar import Made, TruckSizes, obstacles, truck_sizes
from carwright.track.touch import Obstacle, Outline, Touch, first_touch
from carwright.working import Working, derive, derived

__all__ = ["TouchAnswer", "touches", "touching_now"]

_LEAD = "truck_"


@dataclass(frozen=True, slots=True)
class TouchAnswer:
    """One truck and one part.

    Args:
        end: the truck's.
        part: what it touches.
        by: what of the truck touches it.
        angle: least swing to either side at which they touch, degrees; None where they never do.
        radius: the steady radius on which the truck turns by that angle; None where they meet straight ahead.
        only_rocked: whether they meet straight ahead, but only with the truck rocked to its stop.
        needs: keys of what is missing; then nothing is said.
    """

    end: End
    part: str
    by: str = ""
    angle: Working | None = None
    radius: Working | None = None
    only_rocked: bool = False
    needs: tuple[str, ...] = ()


def touches(plan: Plan, car: CurveCar) -> tuple[TouchAnswer, ...]:
    """Return what each truck touches, one answer for each part under the car, the tightest first.

    A part that a truck cannot reach is free, also where its height is not known.
    """
    found: list[TouchAnswer] = []
    if not car.stands:
        return ()
    under = tuple(obstacles(plan))
    for end in ENDS:
        sizes = truck_sizes(plan, end, car.sizes[f"truck_{end}"])
        best: dict[str, TouchAnswer] = {}
        for made in under:
            answer = _one(end, car, sizes, made)
            known = best.get(answer.part)
            if known is None or _rank(answer) < _rank(known):
                best[answer.part] = answer
        found += sorted(best.values(), key=_rank)
    return tuple(found)


def _rank(answer: TouchAnswer) -> tuple[int, float]:
    if answer.angle is not None:
        return (0, answer.angle.value)
    return (1, 0.0) if answer.needs else (2, 0.0)


def _one(end: End, car: CurveCar, sizes: TruckSizes, made: Made) -> TouchAnswer:
    if made.needs:
        return TouchAnswer(end, made.name, needs=made.needs)
    frame = sizes.wanting("frame_length", "frame_width")
    if frame:
        return TouchAnswer(end, made.name, needs=frame)
    if not _meets(sizes, made, {}, tall=True, end=end)[0] < math.inf:
        return TouchAnswer(end, made.name)
    angle, by = _meets(sizes, made, {}, end=end)
    height = sizes.wanting("frame_top", "wheel", "rise")
    if height and angle > 0.0 and not math.isfinite(angle):
        return TouchAnswer(end, made.name, needs=height)
    if not math.isfinite(angle):
        return TouchAnswer(end, made.name)
    level = _meets(sizes, made, {_LEAD + "rise": 0.0}, end=end)[0] if angle == 0.0 else angle
    number = _angle(sizes, made, end)
    radius = None
    if angle > 0.0:
        half = car.sizes["truck_a"]
        if car.sizes["truck_b"].value != half.value:
            half = derive("half the truck centres", "(a + b)/2", a=half, b=car.sizes["truck_b"])
        radius = derive(
            f"radius on which truck {end.upper()} turns so far",
            "hypot(a/sin(radians(t)), b/2)",
            a=half,
            t=number,
            b=car.sizes[f"wheelbase_{end}"],
        )
    return TouchAnswer(end, made.name, by, number, radius, angle == 0.0 and level > 0.0)


def _meets(
    sizes: TruckSizes, made: Made, values: Mapping[str, float], *, end: End, tall: bool = False
) -> tuple[float, str]:
    """Return the least angle at which any piece of an obstacle is touched, and by what."""
    own = {name.removeprefix(_LEAD): value for name, value in values.items() if name.startswith(_LEAD)}
    parts = sizes.parts(own, tall=tall)
    moved = {symbol: each.value for symbol, each in made.inputs.items()} | {
        name: value for name, value in values.items() if not name.startswith(_LEAD)
    }
    pivot = own.get("pivot", sizes.pivot.value) * (1.0 if end == "a" else -1.0)
    least = Touch(made.name, "", math.inf)
    for obstacle in made.build(moved):
        touch = first_touch(parts, obstacle, pivot_mm=pivot)
        if touch.angle_deg < least.angle_deg:
            least = touch
    return least.angle_deg, least.part


def _angle(sizes: TruckSizes, made: Made, end: End) -> Working:
    """Return the angle of touching as a number that is found again from the truck's and the part's own numbers."""
    inputs: dict[str, Working] = {f"{_LEAD}{name}": each for name, each in sizes.inputs.items()}
    inputs[f"{_LEAD}pivot"] = sizes.pivot
    inputs |= made.inputs
    names = tuple(inputs)

    def again(*values: float) -> float:
        return _meets(sizes, made, dict(zip(names, values, strict=True)), end=end)[0]

    return derived(
        f"angle at which truck {end.upper()} touches {made.name}",
        f"least turn of truck {end.upper()}, rocked to its stop, until its outline meets that of {made.name}",
        inputs,
        "deg",
        note="outlines from above; a part counts where the truck stands higher than its lower side",
        function=again,
    )


def touching_now(
    plan: Plan, car: CurveCar, answer: TouchAnswer
) -> tuple[float, tuple[Outline, ...], tuple[Outline, ...], bool] | None:
    """Return what is needed to draw a truck as it touches a part.

    Args:
        plan: the plan.
        car: its sizes.
        answer: a truck and a part that do touch.

    Returns:
        The truck's pivot along the car; the outlines of its parts that stand high enough, in its own frame; those of
        the part, in the car's frame; and whether it is turned to the left. None where the part is not there any more.
    """
    sizes = truck_sizes(plan, answer.end, car.sizes[f"truck_{answer.end}"])
    pivot = sizes.pivot.value * (1.0 if answer.end == "a" else -1.0)
    parts = sizes.parts()
    found: list[tuple[float, Touch, Obstacle]] = []
    for made in obstacles(plan):
        if made.name == answer.part and not made.needs:
            for obstacle in made.now():
                touch = first_touch(parts, obstacle, pivot_mm=pivot)
                if math.isfinite(touch.angle_deg):
                    found.append((touch.angle_deg, touch, obstacle))
    if not found:
        return None
    _, touch, nearest = min(found, key=lambda each: each[0])
    bottom = nearest.bottom_mm if nearest.bottom_mm is not None else 0.0
    shown = tuple(outline for part in parts if (outline := part.above(min(bottom, part.top_mm - 0.5))) is not None)
    others = tuple(obstacle.outline for _, _, obstacle in found if obstacle.outline is not None)
    return pivot, shown, others, touch.left_deg <= touch.right_deg
