"""Writing one way to stand into a car file's text, and proving that the car then stands as was promised."""

from __future__ import annotations

from dataclasses import dataclass

from carwright.car.model import ENDS, Car, Ends, Shelf
from carwright.car.read import read_car
from carwright.car.write import Written, set_values
from carwright.plan.model import Plan
from carwright.plan.stages import make_plan
from carwright.problems import InputError, Problem
from carwright.ride.model import Alternative
from carwright.working import Working

__all__ = ["Change", "Taken", "changes_for", "take_way"]

_SAME_MM = 1e-3
"""Heights nearer than this are the same: a size is written to a ten-thousandth of a millimetre, and several add up."""


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
    wanted = changes_for(car, way)
    data = set_values(document, wanted)
    after = make_plan(read_car(data, file=file, shelf=shelf))
    if not any(key.startswith("found.") for key in wanted):
        _as_promised(file, way, after)
    changes = tuple(Change(key, _old(car, key), _text(value)) for key, value in wanted.items())
    return Taken(way, changes, after, data)


def changes_for(car: Car, way: Alternative) -> dict[str, Written]:
    """Return what must be written for a way: its own changes, and what else stands between them and their effect.

    A key of one end outranks the pair's, and a key taken out at one end would let the pair's through. A bolster that is
    to be built would be laminated anew for the changed stack: it is written down as the way has it.
    """
    wanted: dict[str, Written] = {}
    for key, value in way.changes:
        section, _, name = key.partition(".")
        end, _, own = name.partition(".")
        if end not in ENDS:
            wanted[key] = value
            wanted |= {leaf: value for leaf in _leaf_keys(car, section, name) if leaf not in (key, "")}
        elif value is None:
            wanted |= _taken_out(car, section, end, own)
        else:
            wanted[key] = value
    for end in ENDS:
        key = f"underframe.{end}.bolster"
        layers = way.bolster_layers.at(end)
        if car.underframe.build_bolster.at(end) and key not in wanted and layers:
            texts = [_as_typed(each) for each in layers]
            wanted[key] = texts[0] if len(texts) == 1 else texts
    for end in ENDS:
        gauged = car.found.ends.at(end).coupler_height
        if gauged is not None:
            wanted[gauged.key] = None
    return wanted


def _as_typed(size: Working) -> str:
    """Return a size as this car file may write it: the shop's own file may have other units for bare numbers."""
    return size.text if size.kind == "typed" and size.key.startswith("shelf.") else f"{size.value:.4f} mm"


def _records(car: Car, section: str) -> Ends[object]:
    return Ends(car.trucks.a, car.trucks.b) if section == "trucks" else Ends(car.coupler.a, car.coupler.b)


def _leaf_keys(car: Car, section: str, name: str) -> tuple[str, str]:
    """Return the keys under which both ends' readings of one name stand in the file; "" where there is none."""
    pair = _records(car, section)
    found = (getattr(pair.a, name, None), getattr(pair.b, name, None))
    a, b = (each.key if isinstance(each, Working) else "" for each in found)
    return a, b


def _taken_out(car: Car, section: str, end: str, name: str) -> dict[str, Written]:
    """Return what takes a reading out at one end and leaves it at the other."""
    a, b = _leaf_keys(car, section, name)
    here, there = (a, b) if end == "a" else (b, a)
    if here != f"{section}.{name}":
        return {here: None}
    other = "b" if end == "a" else "a"
    reading = getattr(_records(car, section).a, name)
    kept: dict[str, Written] = {f"{section}.{other}.{name}": reading.text} if there == here else {}
    return {here: None, **kept}


def _as_promised(name: str, way: Alternative, after: Plan) -> None:
    for end in ENDS:
        height, promised = after.ride.ends.at(end).coupler_height, way.coupler_height.at(end).value
        if height is None or abs(height.value - promised) > _SAME_MM:
            raise InputError(
                Problem(
                    f"way {way.rank.value:.0f} cannot be written so that coupler {end.upper()} stands as promised",
                    value=way.name,
                    file=name,
                    key="--take",
                    mend="Make the change in the file by hand; nothing was written.",
                )
            )


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
