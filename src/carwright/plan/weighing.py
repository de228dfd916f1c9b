"""The study of a car's weight: what is there and to fit, the ballast and its places, how it stands and what tips it.

The car is the plan's; nothing here changes it. Masses, centres and cavities are those of the plan's pieces where they
are placed. The choice of ballast is made anew each time, in hundredths of a second.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from carwright.car.model import Car, Ends
from carwright.findings import VERDICT_ORDER
from carwright.frame.layout import usual
from carwright.plan.cavities import cavities_of, heights_of
from carwright.plan.model import Plan
from carwright.plan.pulling import on_radius, on_track, solid_load, trailing
from carwright.plan.stages import make_plan
from carwright.plan.weighchecks import weigh_findings
from carwright.plan.weighmodel import Centre, Curved, WeighAnswer
from carwright.plan.weighparts import parts_of
from carwright.reference import practice_value, scale_gauge
from carwright.track.trackfile import Track
from carwright.weight.ballast import Placed, place, stocks_of, total_of
from carwright.weight.cavities import Cavity, Stock, ways
from carwright.weight.centre import Axis, Part, centre, centre_doubt
from carwright.weight.choice import Task, choose
from carwright.weight.limits import check_masses
from carwright.weight.standing import WheelLoads, lean, setting_of, truck_loads, wheel_loads
from carwright.working import Working, derive, derived

__all__ = ["weigh", "weigh_plan"]


def weigh(
    car: Car,
    *,
    track: Track | None = None,
    radius: Working | None = None,
    trailing_mass: Working | None = None,
    rolling: Working | None = None,
    grade: Working | None = None,
    file: str = "",
    track_file: str = "",
) -> WeighAnswer:
    """Return what a car weighs and should weigh, where its ballast goes, how it stands and what tips it.

    Args:
        car: the car with its shelf.
        track: on which its couplers draw it aside; or ``radius``, mm: a steady curve. Without either the pulls are not
            known.
        radius: see there.
        trailing_mass: of each car that hangs on it, g; without it this car's own.
        rolling: their resistance as a grade, percent.
        grade: upward, percent.
        file: the car file's name, for problems.
        track_file: the track file's name, for problems.

    Raises:
        InputError: masses, densities or cavities that cannot be, or a track that this car does not go round.
    """
    plan = make_plan(replace(car, info=replace(car.info, radius=radius)) if radius is not None else car)
    check_masses(car, plan.weight.target, file=file)
    return weigh_plan(
        plan,
        track=track,
        curved=radius is not None,
        trailing_mass=trailing_mass,
        rolling=rolling,
        grade=grade,
        track_file=track_file,
    )


def weigh_plan(
    plan: Plan,
    *,
    track: Track | None = None,
    curved: bool = False,
    trailing_mass: Working | None = None,
    rolling: Working | None = None,
    grade: Working | None = None,
    track_file: str = "",
) -> WeighAnswer:
    """Return the study of a car that was planned already.

    Args:
        plan: the plan.
        track: see ``weigh``.
        curved: whether the plan's own radius is the curve on which it is pulled.
        trailing_mass: see ``weigh``.
        rolling: see there.
        grade: see there.
        track_file: see there.
    """
    car = plan.car
    heights = heights_of(plan)
    cavities, room_needs = cavities_of(plan, heights)
    own = parts_of(plan, heights)
    stocks, stock_needs = stocks_of(car)
    gauge = scale_gauge(car.info.scale, car.info.standard)
    pivots = _pivots(plan)
    placed, proven = _ballast(plan, own.known, cavities, stocks, pivots, gauge)
    sums = plan.weight
    ballast = short = whole = None
    if sums.to_add is not None and sums.present is not None and sums.to_fit is not None and sums.target is not None:
        ballast = total_of(placed)
        short = derive("weight still missing", "a - b", "g", a=sums.to_add, b=ballast)
    if sums.present is not None and sums.to_fit is not None:
        inputs = {"p": sums.present, "f": sums.to_fit}
        if ballast is not None and placed:
            inputs["b"] = ballast
        whole = derived("weight of the finished car", " + ".join(inputs), inputs, "g")
    parts = (*own.known, *(Part(f"ballast {e.cavity.where}", e.mass, e.x, e.y, e.z) for e in placed))
    middle = _centre(parts, whole) if not own.needs and whole is not None else Centre(None, None, None)
    loads = None
    if whole is not None and middle.x is not None and pivots is not None:
        loads = truck_loads(whole, middle.x, pivots)
    load = None if whole is None or loads is None else solid_load(car, whole, loads)
    if track is not None:
        pulled = on_track(plan, track, whole, load, file=track_file)
    elif curved and car.info.radius is not None:
        pulled = on_radius(plan, whole, load)
    else:
        pulled = Curved("")
    solid = rocking = leaning = None
    if whole is not None and loads is not None and middle.y is not None and gauge is not None:
        solid = wheel_loads(loads, whole, middle.y, gauge, Ends(True, True))
        rocking = _as_set(car, loads, whole, middle.y, gauge)
        leaning = lean(car, load, whole, middle.y, gauge)
    hanging = None
    if whole is not None:
        hanging = trailing(plan, pulled, whole, load, mass=trailing_mass, rolling=rolling, grade=grade)
    answer = WeighAnswer(
        plan, cavities, placed, proven, ballast, short, whole, parts, middle, loads, solid, rocking, leaning, gauge,
        pulled, hanging, (),
    )  # fmt: skip
    needs = tuple(dict.fromkeys((*own.needs, *room_needs, *stock_needs)))
    findings = sorted(weigh_findings(answer, needs), key=lambda each: (VERDICT_ORDER.index(each.verdict), each.check))
    return replace(answer, findings=tuple(findings))


def _pivots(plan: Plan) -> Ends[Working] | None:
    a, b = plan.ride.ends.a.x_pivot, plan.ride.ends.b.x_pivot
    return None if a is None or b is None else Ends(a, b)


def _as_set(car: Car, loads: Ends[Working], whole: Working, y: Working, gauge: Working) -> WheelLoads:
    """Return the load of each wheel with the trucks set as the file says: what does not rock takes the lean."""
    carries = Ends(setting_of(car, "a") == "turns", setting_of(car, "b") == "turns")
    return wheel_loads(loads, whole, y, gauge, carries)


def _centre(parts: Sequence[Part], whole: Working) -> Centre:
    def along(axis: Axis) -> tuple[Working, Working | None]:
        found = centre(parts, axis, "centre of gravity")
        return found, centre_doubt(parts, axis, found, whole)

    (x, x_doubt), (y, y_doubt), (z, z_doubt) = along("x"), along("y"), along("z")
    return Centre(x, y, z, x_doubt, y_doubt, z_doubt)


def _ballast(
    plan: Plan,
    parts: Sequence[Part],
    cavities: Sequence[Cavity],
    stocks: Sequence[Stock],
    pivots: Ends[Working] | None,
    gauge: Working | None,
) -> tuple[tuple[Placed, ...], bool]:
    """Return the ballast chosen, and whether the choice was proven best."""
    need = plan.weight.to_add
    if need is None or need.value <= 0.0 or not cavities or not stocks:
        return (), True
    most = int(practice_value("ballast_layers").value)
    found = ways(cavities, stocks, need_g=need.value, most_layers=most)
    a, b = (1.0, -1.0) if pivots is None else (pivots.a.value, pivots.b.value)
    half = 1.0 if gauge is None else gauge.value / 2.0

    def along(x_mm: float) -> float:
        return 0.0 if pivots is None else (2.0 * x_mm - a - b) / (a - b)

    def across(y_mm: float) -> float:
        return 0.0 if gauge is None else y_mm / half

    target = plan.weight.target
    assert target is not None
    task = Task(
        need.value,
        tuple(along(each.x.value) for each in cavities),
        tuple(0.0 if each.pair else across(each.y.value) for each in cavities),
        sum(each.mass.value * along(each.x.value) for each in parts),
        sum(each.mass.value * across(each.y.value) for each in parts),
        target.value * practice_value("balance_band").value / 100.0,
        usual("ballast_height_band_ho", "band of the ballast's height", plan.car).value,
        tuple(each.supply_g for each in stocks),
    )
    choice = choose(task, [each.filling for each in found])
    way_of = {each.filling: each for each in found}
    return tuple(place(way_of[each.filling], each.mass_g) for each in choice.used), choice.proven
