"""Writing one way to stand into a car file's text, and proving that the car then stands as was promised."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from carwright.car.model import ENDS, Car, End, Ends, Shelf
from carwright.car.read import read_car
from carwright.car.write import Written, set_values
from carwright.car.written import text_for
from carwright.plan.model import Plan
from carwright.plan.stages import make_plan
from carwright.problems import InputError, Problem
from carwright.ride.model import Alternative
from carwright.working import Working

__all__ = ["Change", "Taken", "changes_for", "take_way"]

_SAME_MM = 1e-5
"""Heights nearer than this are the same: sizes are written exactly, and read to a millionth of a millimetre."""

_SAME_CHANCE = 1e-4
"""Chances nearer than this are the same: one car of the 16384 more or less, where a limit is met to the last digit."""


@dataclass(frozen=True, slots=True)
class Change:
    """One key of the file: what stood there and what stands there now; "" where there was or is nothing."""

    key: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Taken:
    """A way to stand, the file's bytes with it written in, and the plan of the car as it then is."""

    way: Alternative
    changes: tuple[Change, ...]
    plan: Plan
    document: bytes


def take_way(car: Car, document: bytes, number: int, *, shelf: Shelf | None = None, file: str = "") -> Taken:
    """Return the car file with way ``number`` of the car's plan written into it; nothing is saved.

    Args:
        car: the car as read from ``document``, with ``shelf`` behind its own.
        document: the car file's bytes.
        number: place of the way in the list, from 1.
        shelf: the shop's shelf, for planning the changed file in the same way.
        file: the file's name, for the problems.

    Raises:
        InputError: there is no such way, or the file would not stand as promised.
    """
    plan = make_plan(car)
    ways = plan.alternatives
    if not ways:
        raise InputError(
            Problem(
                "there are no ways to stand to choose from",
                value=str(number),
                key="--take",
                file=file,
                mend="The heights are not known yet: `carwright plan` names the measurements that are missing.",
            )
        )
    if not 1 <= number <= len(ways):
        raise InputError(
            Problem(
                "there is no such way to stand",
                value=str(number),
                accepted=f"1 to {len(ways)}",
                key="--take",
                file=file,
                mend="`carwright plan` lists them.",
            )
        )
    way = ways[number - 1]
    if not way.changes:
        return Taken(way, (), plan, document)
    choices: tuple[tuple[End, ...], ...] = ((), ("a",), ("b",), ENDS)
    for fixed in choices:
        if not all(_laminated(car, way, end) for end in fixed):
            continue
        wanted = _wanted(car, way, fixed)
        data = set_values(document, wanted)
        after = make_plan(read_car(data, file=file, shelf=shelf))
        if _as_promised(plan, way, after):
            changes = tuple(Change(key, _old(car, key), _text(value)) for key, value in wanted.items())
            return Taken(way, changes, after, data)
    raise InputError(
        Problem(
            f"way {number} cannot be written so that the car stands as promised",
            value=way.name,
            file=file,
            key="--take",
            mend="Make the change in the file by hand; nothing was written.",
        )
    )


def changes_for(car: Car, way: Alternative) -> dict[str, Written]:
    """Return what must be written for a way, with each bolster that is to be built written down as the way has it.

    ``take_way`` leaves such a bolster to be built where it comes out the same.
    """
    return _wanted(car, way, tuple(end for end in ENDS if _laminated(car, way, end)))


def _laminated(car: Car, way: Alternative, end: End) -> bool:
    """Return whether the bolster of an end is to be built and the way leaves it as the plan makes it."""
    return (
        car.underframe.build_bolster.at(end)
        and bool(way.bolster_layers.at(end))
        and all(key != f"underframe.{end}.bolster" for key, _ in way.changes)
    )


def _wanted(car: Car, way: Alternative, fixed: Sequence[End]) -> dict[str, Written]:
    """Return what must be written for a way: its own changes, and what else stands between them and their effect.

    A key of one end outranks the pair's, and a key taken out at one end would let the pair's through. A bolster that is
    to be built may be laminated anew for the changed stack: at the ends ``fixed`` it is written down as the way has it.
    """
    wanted: dict[str, Written] = {}
    gone: dict[tuple[str, str], list[End]] = {}
    for key, value in way.changes:
        section, _, name = key.partition(".")
        end, _, own = name.partition(".")
        if end not in ENDS:
            wanted[key] = value
            wanted |= {leaf: value for leaf in _leaf_keys(car, section, name) if leaf not in (key, "")}
        elif value is None:
            gone.setdefault((section, own), []).append(end)
        else:
            wanted[key] = value
    for (section, own), ends in gone.items():
        wanted |= _taken_out(car, section, own, ends)
    for end in fixed:
        texts = [text_for(each, "underframe.bolster", car.info) for each in way.bolster_layers.at(end)]
        wanted[f"underframe.{end}.bolster"] = texts[0] if len(texts) == 1 else texts
    for end in ENDS:
        gauged = car.found.ends.at(end).coupler_height
        if gauged is not None:
            wanted[gauged.key] = None
    return wanted


def _records(car: Car, section: str) -> Ends[object]:
    return Ends(car.trucks.a, car.trucks.b) if section == "trucks" else Ends(car.coupler.a, car.coupler.b)


def _leaf_keys(car: Car, section: str, name: str) -> tuple[str, str]:
    """Return the keys under which both ends' readings of one name stand in the file; "" where there is none."""
    pair = _records(car, section)
    found = (getattr(pair.a, name, None), getattr(pair.b, name, None))
    a, b = (each.key if isinstance(each, Working) else "" for each in found)
    return a, b


def _taken_out(car: Car, section: str, name: str, ends: Sequence[End]) -> dict[str, Written]:
    """Return what takes a reading out at some ends and leaves it at the other."""
    kept: dict[str, Written] = {}
    keys = dict(zip(ENDS, _leaf_keys(car, section, name), strict=True))
    for end in ENDS:
        if end not in ends and keys[end] == f"{section}.{name}":
            kept[f"{section}.{end}.{name}"] = getattr(_records(car, section).at(end), name).text
    return {keys[end]: None for end in ends} | kept


def _as_promised(before: Plan, way: Alternative, after: Plan) -> bool:
    """Return whether the changed car stands as the way said.

    Where a height was gauged the way was reckoned from it. The reading is of the old stack and goes out of the file, so
    that the plan then stands on the parts alone: their height has to change by what the way adds to the gauge's.
    """
    gauged = {end: before.car.found.ends.at(end).coupler_height for end in ENDS}
    for end in ENDS:
        old, new = before.ride.ends.at(end).coupler_height, after.ride.ends.at(end).coupler_height
        reading, promised = gauged[end], way.coupler_height.at(end).value
        if reading is not None and before.ride.ends.at(end).predicted_minus_found is None:
            continue  # the parts alone gave no height
        if old is None or new is None:
            return False
        if abs(new.value - old.value - (promised - (old if reading is None else reading).value)) > _SAME_MM:
            return False
    chance = after.ride.pass_probability
    if any(reading is not None for reading in gauged.values()):
        return True
    return chance is not None and abs(chance.value - way.pass_probability.value) < _SAME_CHANCE


def _old(car: Car, key: str) -> str:
    """Return what stood behind a key, as it was typed; at an end that had no key of its own, what held there."""
    section, _, rest = key.partition(".")
    end, _, name = rest.partition(".")
    if end not in ENDS:
        end, name = "a", rest
    if section == "underframe":
        built = car.underframe.build_bolster.at("a" if end == "a" else "b")
        return "build" if built else _texts(car.underframe.bolster.at("a" if end == "a" else "b"))
    if section == "found":
        gauged = next((each for each in (car.found.ends.a.coupler_height, car.found.ends.b.coupler_height)
                       if each is not None and each.key == key), None)  # fmt: skip
        return gauged.text if gauged is not None else ""
    held = getattr(_records(car, section).at("a" if end == "a" else "b"), name, None)
    return _texts(held) if isinstance(held, tuple) else held.text if isinstance(held, Working) else ""


def _texts(sizes: tuple[Working, ...]) -> str:
    return " + ".join(each.text for each in sizes)


def _text(value: Written) -> str:
    if value is None:
        return ""
    if isinstance(value, (list, tuple)):
        return " + ".join(str(each) for each in value) or "none"
    return str(value)
