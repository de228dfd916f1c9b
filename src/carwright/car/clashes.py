"""Values of a car file that cannot all be right: each alone is possible, together they are not.

Bounds of one key by another stand in the key table (``most``); here are those, and the few with a rule of their own,
as the words for what is missing: the owner's own are as good as ours, but not a slip in one of ours.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

from carwright.car.document import Cell
from carwright.car.keys import Key, near_words, path_of
from carwright.car.model import Car, End
from carwright.car.values import Reader, limit_text, unit_shown
from carwright.lengths import LENGTH_TOL_MM, parse_length
from carwright.problems import InputError
from carwright.working import Working

__all__ = ["report_clashes"]


def report_clashes(car: Car, reader: Reader) -> None:
    """Add to the reader's problems whatever in the car contradicts something else in it."""
    _missing(car, reader)
    _bounded(reader)
    _places_along(car, reader)
    _years(car, reader)
    _order(reader)
    _corner(car, reader)


_PARTS: Final = ("underframe", "trucks", "couplers", "weight", "wheels", "floor")
"""Words of ``car.missing`` that the plan reckons with; other words are the owner's own."""


def _missing(car: Car, reader: Reader) -> None:
    """Refuse a missing part that is spelled nearly as one that the plan reckons with, and would not be taken for it."""
    for at, word in enumerate(car.info.missing):
        plain = word.casefold()
        near = () if any(part in plain for part in _PARTS) else near_words(plain, _PARTS, many=1)
        cell = reader.cells.get(f"car.missing[{at}]") or reader.cells.get("car.missing")
        if near and cell is not None:
            accepted = f"{', '.join(_PARTS)}, or other words of your own"
            reader.refuse(cell, "car.missing", f'no part is called "{word}"', accepted, f'Did you mean "{near[0]}"?')


def _slack(*readings: Working) -> float:
    """Return how far readings may cross before they contradict each other: their tolerances together."""
    return LENGTH_TOL_MM + sum(each.tolerance_value for each in readings)


def _unit(reader: Reader, cell: Cell) -> Literal["in", "mm"]:
    units = reader.taking.units
    try:
        read = parse_length(cell.text, units=units, ratio=reader.taking.ratio, allow_negative=True)
    except InputError:
        return units
    return unit_shown(read.unit_typed, units)


def _bounded(reader: Reader) -> None:
    """Report every value that is greater than the key that bounds it allows."""
    largest: dict[str, Working] = {}
    for place, (leaf, _, _) in reader.readings.items():
        path = path_of(place)
        if place in reader.out_of_range:
            continue
        if path not in largest or leaf.value > largest[path].value:
            largest[path] = leaf
    for place, (leaf, cell, key) in reader.readings.items():
        bound = largest.get(key.most) if key.most else None
        if bound is None or leaf.value <= bound.value * key.most_share + LENGTH_TOL_MM:
            continue
        reader.problems = [each for each in reader.problems if each is not reader.out_of_range.get(place)]
        limit = bound.value * key.most_share
        unit = _unit(reader, cell)
        whose = f"the {key.most}" if key.most_share == 1 else f"half of the {key.most}"
        accepted = f"0 to {limit_text(limit, unit)} {unit}, {whose} on line {bound.line}"
        reader.refuse(cell, place, key.clash, accepted, _hint(reader, leaf, cell, key, limit))


def _hint(reader: Reader, leaf: Working, cell: Cell, key: Key, limit: float) -> str:
    units = reader.taking.units
    given = cell.value if isinstance(cell.value, str) else cell.text
    reading = parse_length(given, units=units, ratio=reader.taking.ratio, allow_negative=key.negative)
    low = key.limits(reader.taking.ratio)[0]
    return reader.unit_hint(given, reading, replace(key, scaled=False), leaf.key, low, limit)


def _places_along(car: Car, reader: Reader) -> None:
    length = car.body.length
    buffers = car.body.over_buffers
    if length is not None and buffers is not None and buffers.value < length.value - LENGTH_TOL_MM:
        _clash(
            reader,
            buffers,
            "the length over buffers is less than the body",
            f"{_shown(reader, length)} or more",
            f"The body.length is on line {length.line}; measure both again.",
        )
    centers = car.trucks.a.centers
    inset_a, inset_b = car.trucks.a.inset, car.trucks.b.inset
    if length is not None and centers is not None and inset_a is not None and inset_b is not None:
        apart = length.value - inset_a.value - inset_b.value
        if abs(apart - centers.value) > _slack(length, centers, inset_a, inset_b):
            where = " and ".join(dict.fromkeys(f"line {each.line}" for each in (inset_a, inset_b)))
            mend = f"Keep one of the two: delete trucks.centers, or the inset on {where}."
            apart_text = f"{limit_text(apart, 'in' if reader.taking.units == 'in' else 'mm')} {reader.taking.units}"
            _clash(reader, centers, "centres and inset disagree", f"{apart_text}, by length and inset", mend)
    for end, truck in (("A", car.trucks.a), ("B", car.trucks.b)):
        base = truck.wheelbase
        if centers is not None and base is not None and base.value >= centers.value:
            mend = f"The trucks would overlap: trucks.centers is on line {centers.line}."
            _clash(reader, base, "the wheelbase is longer than the truck centres", "less than the centres", mend)
        which: End = "a" if end == "A" else "b"
        coupler = car.coupler.at(which)
        play, shank = coupler.side_play, coupler.length
        if play is not None and shank is not None and play.value >= shank.value:
            accepted = f"less than {_shown(reader, shank)}, the coupler.length on line {shank.line}"
            mend = "The side play is how far the head moves to one side of the middle; measure both again."
            how = "greater than" if play.value > shank.value else "as great as"
            _clash(reader, play, f"the side play is {how} the coupler's length", accepted, mend)
        pivot = coupler.pivot_inset
        if pivot is None or length is None or coupler.mount == "truck":
            continue
        inset = truck.inset.value if truck.inset is not None else None
        if inset is None and centers is not None:
            other = car.trucks.at("b" if which == "a" else "a").inset
            inset = (length.value - centers.value) / 2 if other is None else length.value - centers.value - other.value
        if inset is not None and 0 < inset < pivot.value - _slack(pivot, length):
            accepted = f"0 to {limit_text(inset, _unit(reader, reader.readings[pivot.key][1]))} {reader.taking.units}"
            mend = "Both are measured from the end of the car; measure them again."
            _clash(reader, pivot, "the coupler's pivot lies beyond the truck's", accepted, mend)
    for diagonal in car.body.diagonals:
        inside = max(car.body.inside_length, key=lambda each: each.value, default=None)
        if inside is not None and diagonal.value < inside.value - _slack(diagonal, inside):
            mend = f"Measure from corner to corner; inside_length is on line {inside.line}."
            _clash(reader, diagonal, "a diagonal is shorter than the inside is long", _shown(reader, inside), mend)


def _shown(reader: Reader, leaf: Working) -> str:
    unit = reader.taking.units
    return f"{limit_text(leaf.value, unit)} {unit}"


def _clash(reader: Reader, leaf: Working, problem: str, accepted: str, mend: str) -> None:
    _, cell, _ = reader.readings[leaf.key]
    reader.refuse(cell, leaf.key, problem, accepted, mend)


def _years(car: Car, reader: Reader) -> None:
    built = car.info.built
    if built is None:
        return
    for name, year in (("year", car.info.year), ("rebuilt", car.info.rebuilt), ("painted", car.info.painted)):
        if year is not None and year < built:
            cell = reader.cells.get(f"car.{name}")
            if cell is not None:
                first = reader.cells.get("car.built")
                where = f" on line {first.line}" if first is not None else ""
                said = {"year": "the year modelled", "rebuilt": "the rebuilding", "painted": "the painting"}[name]
                mend = "Check both years."
                reader.refuse(
                    cell,
                    f"car.{name}",
                    f"{said} comes before the car was built",
                    f"{built} or later, built{where}",
                    mend,
                )


def _order(reader: Reader) -> None:
    """Report a block that ends below where it begins, and a tube whose bore is wider than the tube."""
    pairs = (
        ("from", "to", "the block ends below where it begins"),
        ("inside", "diameter", "the bore is wider than the tube"),
    )
    for place, (leaf, cell, _) in tuple(reader.readings.items()):
        table, _, name = place.rpartition(".")
        for low, high, problem in pairs:
            if name != low or f"{table}.{high}" not in reader.readings:
                continue
            other = reader.readings[f"{table}.{high}"][0]
            if leaf.value >= other.value:
                accepted = f"less than {_shown(reader, other)}, the {high} on line {other.line}"
                reader.refuse(cell, place, problem, accepted, "Exchange the two, or measure again.")


def _corner(car: Car, reader: Reader) -> None:
    notch = car.body.notch
    if notch is None:
        return
    for cut, sides in ((notch.along, car.body.inside_length), (notch.across, car.body.inside_width)):
        least = min(sides, key=lambda each: each.value, default=None)
        if least is not None and cut.value >= least.value / 2:
            unit = reader.taking.units
            accepted = f"less than {limit_text(least.value / 2, unit)} {unit}, half of the inside on line {least.line}"
            _clash(reader, cut, "the corner notch takes half of the floor", accepted, "Give the size of one corner.")
