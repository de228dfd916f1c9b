"""The cars of a consist as they run: from a car's file, or from the few sizes that the consist gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from carwright.car.model import ENDS, Car, End, Ends
from carwright.plan.curvecar import CurveCar, curve_car, under_another_name
from carwright.plan.model import Plan
from carwright.plan.stages import make_plan
from carwright.plan.trainmodel import Kind
from carwright.plan.weighing import weigh_plan
from carwright.problems import InputError, Problem
from carwright.reference import coupler_target, practice_value, scale_ratio, scale_word
from carwright.weight.consist import CarRow, Consist
from carwright.weight.running import roll_grade
from carwright.weight.standing import drag, setting_of
from carwright.working import Working, derive

__all__ = ["kinds_of"]

_MASS, _HEIGHTS, _ROLLS, _REACHED = "mass", ("height_a", "height_b"), "rolling", "reached"

_NOTHING_G = 0.05
"""A tenth of a gram is the last place of a letter balance; half of it is nothing."""


@dataclass(frozen=True, slots=True)
class _Sizes:
    """A car's sizes before they are put in order: those of a curve, mass, heights and rolling in one mapping.

    ``stiff`` counts the trucks that turn and do not rock.
    """

    shape: CurveCar
    stiff: int


def kinds_of(consist: Consist, cars: Mapping[str, Car], grade: Working | None, *, file: str = "") -> tuple[Kind, ...]:
    """Return the cars of each row.

    Args:
        consist: the train.
        cars: the cars that have a file, by the name that the consist gives it.
        grade: upward, percent, or None.
        file: name of the consist, for problems.

    Raises:
        InputError: a car is of another scale than the train.
    """
    problems: list[Problem] = []
    known: dict[str, _Sizes] = {}
    for row in consist.rows:
        car = cars.get(row.file) if row.file else None
        if car is None or row.file in known:
            continue
        if scale_word(car.info.scale) != consist.scale:
            problems.append(
                Problem(
                    f"car {row.number} is in {car.info.scale} and the train in {consist.scale}",
                    row.file,
                    consist.scale,
                    "Take a car of the train's own scale, or write its scale under [train].",
                    key=f"train.car[{row.number}].file",
                    file=file,
                    line=row.line,
                )
            )
            continue
        known[row.file] = _of_file(car, row.file)
    if problems:
        raise InputError(problems)
    return tuple(
        _kind(row, known[row.file] if row.file else _of_row(row, consist), consist, grade) for row in consist.rows
    )


def _kind(row: CarRow, sizes: _Sizes, consist: Consist, grade: Working | None) -> Kind:
    shape = _turned(sizes.shape) if row.turned else sizes.shape
    found = dict(shape.sizes)
    needs = dict(shape.needs)
    name = row.name or (shape.name if row.file else f"a car of row {row.number}")
    mass = row.mass or found.get(_MASS)
    if mass is None:
        needs.setdefault(_MASS, (f"train.car[{row.number}].mass",))
    elif row.load is not None:
        mass = derive(f"mass of {name} with its load", "m + l", "g", m=mass, l=row.load)
    heights: Ends[Working | None] = Ends(found.get("height_a"), found.get("height_b"))
    bearing = None
    if mass is not None and sizes.stiff == 2:
        bearing = mass.renamed("load on both trucks", note="neither rocks")
    elif mass is not None and sizes.stiff == 1:
        note = "taken: the load lies in the middle"
        bearing = derive("load on the truck that does not rock", "W/2", "g", note=note, W=mass)
    rolling = row.rolling or found.get(_ROLLS) or consist.rolling or practice_value("rolling_resistance")
    own = tuple(key for size in (_MASS, *_HEIGHTS) for key in needs.get(size, ()))
    return Kind(
        row,
        name,
        replace(shape, name=name),
        mass,
        heights,
        bearing,
        rolling,
        None if mass is None else drag(mass, rolling, grade, None, name),
        tuple(dict.fromkeys(own)),
        found.get(_REACHED) if row.mass is None else None,
    )


def _of_file(car: Car, file: str) -> _Sizes:
    """Return the sizes of a car that has a file; its readings go by the file's name."""
    plan = make_plan(car)
    shape = curve_car(car)
    sizes, needs = dict(shape.sizes), dict(shape.needs)
    mass = _finished(car, plan.weight.target, plan.weight.present, plan.weight.to_fit)
    if mass is not None:
        sizes[_MASS] = mass
        reached = _reached(plan, mass)
        if reached is not None:
            sizes[_REACHED] = reached
    else:
        needs[_MASS] = tuple(f"{file}: {key}" for key in plan.weight.needs)
    target = coupler_target(car.info.scale, car.info.standard)
    for end in ENDS:
        height = plan.ride.ends.at(end).coupler_height or (None if target is None else target.height)
        if height is not None:
            sizes[f"height_{end}"] = height
        else:
            needs[f"height_{end}"] = plan.ride.ends.at(end).needs
    rolls = roll_grade(car)
    if rolls is not None:
        sizes[_ROLLS] = rolls
    stiff = sum(setting_of(car, end) == "turns" for end in ENDS)
    return _Sizes(under_another_name(replace(shape, sizes=sizes, needs=needs), f"{file}: "), stiff)


def _finished(car: Car, target: Working | None, present: Working | None, to_fit: Working | None) -> Working | None:
    """Return what a car weighs as it runs, g: as weighed where it was weighed finished, else what it should weigh.

    A car that is heavier than it should be stays so.
    """
    as_it_is = None
    if present is not None and to_fit is not None:
        as_it_is = derive("weight there and still to be fitted", "p + f", "g", p=present, f=to_fit)
    if car.found.weight is not None and "weight" not in car.info.missing and as_it_is is not None:
        return as_it_is
    if target is None or (as_it_is is not None and as_it_is.value > target.value):
        return as_it_is
    return target.renamed("weight of the finished car", note="taken: it is brought to what it should weigh")


def _reached(plan: Plan, mass: Working) -> Working | None:
    """Return what a car weighs with all the ballast that goes in, where that is less than it is taken to weigh."""
    low = plan.weight.low
    if low is None or plan.weight.to_add is None or plan.weight.to_add.value <= _NOTHING_G:
        return None
    whole = weigh_plan(plan).whole
    if whole is None or whole.value >= min(low.value, mass.value) - _NOTHING_G:
        return None
    return whole


def _of_row(row: CarRow, consist: Consist) -> _Sizes:
    """Return the sizes of a car that the consist itself describes; both its ends are alike."""
    place, ratio = f"train.car[{row.number}]", scale_ratio(consist.scale, consist.standard)
    sizes: dict[str, Working] = {}
    needs: dict[str, tuple[str, ...]] = {}
    given: dict[str, Working | None] = {
        "truck": None if row.centers is None else derive("half the truck centres", "H/2", H=row.centers),
        "wheelbase": row.wheelbase
        or derive("wheelbase of a truck", "w*25.4/n", w=practice_value("wheelbase_prototype"), n=ratio),
        "coupler": None
        if row.length is None or row.pivot_inset is None
        else derive("mid-car to coupler pivot", "A/2 - M", A=row.length, M=row.pivot_inset),
        "link": row.coupler_length or _coupler_length(consist, ratio),
        "height": row.height or _usual_height(consist),
    }
    given["swing"] = row.swing or _swing(row, given["link"])
    keys = {
        "truck": ("centers",),
        "coupler": ("length", "pivot_inset"),
        "height": ("height",),
        "swing": ("side_play",),
    }
    missing = {
        name: tuple(f"{place}.{key}" for key in names if getattr(row, key) is None) for name, names in keys.items()
    }
    for name, size in given.items():
        for end in ENDS:
            if size is not None:
                sizes[f"{name}_{end}"] = size
            else:
                needs[f"{name}_{end}"] = missing[name]
    if row.length is not None:
        sizes["length"] = row.length
    else:
        needs["length"] = (f"{place}.length",)
    return _Sizes(CurveCar(row.name, sizes, Ends(False, False), needs), 1)


def _swing(row: CarRow, link: Working | None) -> Working | None:
    if row.side_play is None or link is None or row.side_play.value >= link.value:
        return None
    return derive("swing that the pocket allows", "degrees(asin(s/l))", "deg", s=row.side_play, l=link)


def _coupler_length(consist: Consist, ratio: Working) -> Working:
    length = practice_value("coupler_length_ho")
    if consist.scale == "HO":
        return length
    return derive("coupler length", "l*h/n", l=length, h=scale_ratio("HO"), n=ratio)


def _usual_height(consist: Consist) -> Working | None:
    target = coupler_target(consist.scale, consist.standard)
    return None if target is None else target.height


def _turned(shape: CurveCar) -> CurveCar:
    """Return the car with its B end leading; what was at A is at B."""
    other: Mapping[str, End] = {"a": "b", "b": "a"}

    def name(size: str) -> str:
        stem, _, end = size.rpartition("_")
        return f"{stem}_{other[end]}" if stem and end in other else size

    return CurveCar(
        shape.name,
        {name(size): value for size, value in shape.sizes.items()},
        Ends(shape.on_truck.b, shape.on_truck.a),
        {name(size): keys for size, keys in shape.needs.items()},
    )
