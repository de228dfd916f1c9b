"""Writing one way to stand into a car file, and proving that the file then stands as was promised."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from carwright.car.model import ENDS, Car, End, Ends, Shelf
from carwright.car.read import CarFile, read_car
from carwright.car.write import Written, save, set_values
from carwright.cli.page import row, wrapped
from carwright.lengths import number_in
from carwright.plan import Plan, make_plan
from carwright.problems import InputError, Problem
from carwright.ride.model import Alternative
from carwright.working import Working

__all__ = ["Change", "Taken", "take_way"]

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
    """A way to stand that was written into the file, and the plan of the file as it is now."""

    file: str
    way: Alternative
    changes: tuple[Change, ...]
    plan: Plan

    def as_json(self) -> dict[str, object]:
        """Return what was done as JSON values."""
        return {
            "file": self.file,
            "rank": int(self.way.rank.value),
            "name": self.way.name,
            "changes": [{"key": each.key, "old": each.old or None, "new": each.new or None} for each in self.changes],
            "promised_mm": {end: self.way.coupler_height.at(end).value for end in ENDS},
            "coupler_height_mm": {end: _value(height) for end, height in _heights(self.plan)},
            "error_mm": {end: _value(self.plan.ride.ends.at(end).error) for end in ENDS},
        }

    def lines(self) -> Iterator[str]:
        """Yield what was written and where the couplers stand now, for a reader."""
        units: Literal["in", "mm"] = self.plan.car.info.units
        number = f"{self.way.rank.value:.0f}"
        if not self.changes:
            yield from wrapped(f"Way {number} is the car as it is: there is nothing to change in {self.file}.")
        else:
            yield from wrapped(f"Written into {self.file}: way {number}, {self.way.name}.")
            for each in self.changes:
                yield from wrapped(f"{each.key}: {each.old or 'not given'} -> {each.new or 'taken out'}", first="  ")
        yield ""
        gauged = any(each.key.startswith("found.") for each in self.changes)
        ends = self.plan.ride.ends
        heights = (ends.a.coupler_height, ends.b.coupler_height)
        errors = (ends.a.error, ends.b.error)
        if gauged:
            heights, errors = (
                (self.way.coupler_height.a, self.way.coupler_height.b),
                (self.way.error.a, self.way.error.b),
            )
        yield from row("Couplers, as promised" if gauged else "Couplers now", ["A", "B"])
        for label, values, signed in (("height", heights, False), ("error, high is +", errors, True)):
            yield from row(
                label,
                ["?" if each is None else number_in(each.value, units, signed=signed) for each in values],
                note=units,
            )
        if gauged:
            yield from wrapped(
                "Reckoned from the height that was found. It was of the stack before this change, so it is taken out "
                "of the file: make the change, gauge both couplers again and enter found.coupler_height."
            )


def take_way(found: CarFile, number: int, *, shelf: Shelf | None = None) -> Taken:
    """Write way ``number`` of the car's plan into its file and return what was done.

    Args:
        found: the car file as read; its car carries ``shelf`` already.
        number: place of the way in the list, from 1.
        shelf: the shop's shelf, for planning the changed file in the same way.

    Raises:
        InputError: there is no such way, the file was changed since it was read, the file would not stand as promised,
            or it cannot be written. Then the file is as it was.
    """
    name = str(found.path)
    plan = make_plan(found.car)
    ways = plan.alternatives
    if not ways:
        raise InputError(
            Problem(
                "there are no ways to stand to choose from",
                value=str(number),
                key="--take",
                file=name,
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
                file=name,
                mend="`carwright plan` lists them.",
            )
        )
    way = ways[number - 1]
    if not way.changes:
        return Taken(name, way, (), plan)
    wanted = _wanted(found.car, way)
    _same_as_read(found)
    data = set_values(found.document, wanted)
    after = make_plan(read_car(data, file=name, shelf=shelf))
    if not any(key.startswith("found.") for key in wanted):
        _as_promised(name, way, after)
    changes = tuple(Change(key, _old(found.car, key), _text(value)) for key, value in wanted.items())
    save(found.path, data)
    return Taken(name, way, changes, after)


def _heights(plan: Plan) -> tuple[tuple[End, Working | None], ...]:
    return tuple((end, plan.ride.ends.at(end).coupler_height) for end in ENDS)


def _value(working: Working | None) -> float | None:
    return None if working is None else working.value


def _wanted(car: Car, way: Alternative) -> dict[str, Written]:
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


def _same_as_read(found: CarFile) -> None:
    """Refuse to write over a file that somebody saved since it was read."""
    try:
        now = found.path.read_bytes()
    except OSError:
        now = b""
    if now != found.document:
        raise InputError(
            Problem("the file was changed while it was planned", file=str(found.path), mend="Give the command again.")
        )


def _as_promised(name: str, way: Alternative, after: Plan) -> None:
    for end, height in _heights(after):
        promised = way.coupler_height.at(end).value
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
