"""Writing one way to stand into a car file, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from carwright.car.model import ENDS, Shelf
from carwright.car.read import CarFile
from carwright.car.write import save
from carwright.cli.page import row, wrapped
from carwright.draw.labels import chance_said
from carwright.lengths import number_in
from carwright.plan.taking import Taken, take_way
from carwright.problems import InputError, Problem
from carwright.ride.cures import chance_words
from carwright.working import Working

__all__ = ["save_way", "taken_as_json", "taken_lines"]


def save_way(found: CarFile, number: int, *, shelf: Shelf | None = None) -> Taken:
    """Write way ``number`` of the car's plan into its file and return what was done.

    Args:
        found: the car file as read; its car carries ``shelf`` already.
        number: place of the way in the list, from 1.
        shelf: the shop's shelf, for planning the changed file in the same way.

    Raises:
        InputError: there is no such way, the file was changed since it was read, the file would not stand as promised,
            or it cannot be written. Then the file is as it was.
    """
    taken = take_way(found.car, found.document, number, shelf=shelf, file=str(found.path))
    if taken.changes:
        _same_as_read(found)
        save(found.path, taken.document)
    return taken


def taken_as_json(taken: Taken, *, file: str) -> dict[str, object]:
    """Return what was done as JSON values."""
    ends = taken.plan.ride.ends
    return {
        "file": file,
        "rank": int(taken.way.rank.value),
        "name": taken.way.name,
        "changes": [{"key": each.key, "old": each.old or None, "new": each.new or None} for each in taken.changes],
        "promised_mm": {end: taken.way.coupler_height.at(end).value for end in ENDS},
        "coupler_height_mm": {end: _value(ends.at(end).coupler_height) for end in ENDS},
        "promised_probability": taken.way.pass_probability.value,
        "pass_probability": _value(taken.plan.ride.pass_probability),
        "error_mm": {end: _value(ends.at(end).error) for end in ENDS},
    }


def taken_lines(taken: Taken, *, file: str) -> Iterator[str]:
    """Yield what was written and where the couplers stand now, for a reader."""
    units: Literal["in", "mm"] = taken.plan.car.info.units
    number = f"{taken.way.rank.value:.0f}"
    if not taken.changes:
        yield from wrapped(f"Way {number} is the car as it is: there is nothing to change in {file}.")
    else:
        yield from wrapped(f"Written into {file}: way {number}, {taken.way.name}.")
        for each in taken.changes:
            yield from wrapped(f"{each.key}: {each.old or 'not given'} -> {each.new or 'taken out'}", first="  ")
    yield ""
    gauged = any(each.key.startswith("found.") for each in taken.changes)
    ends = taken.plan.ride.ends
    chance = taken.plan.ride.pass_probability
    heights = (ends.a.coupler_height, ends.b.coupler_height)
    errors = (ends.a.error, ends.b.error)
    if gauged:
        heights, errors = (
            (taken.way.coupler_height.a, taken.way.coupler_height.b),
            (taken.way.error.a, taken.way.error.b),
        )
    yield from row("Couplers, as promised" if gauged else "Couplers now", ["A", "B"])
    for label, values, signed in (("height", heights, False), ("error, high is +", errors, True)):
        yield from row(
            label,
            ["?" if each is None else number_in(each.value, units, signed=signed) for each in values],
            note=units,
        )
    if gauged:
        yield from row("chance of both passing", ["", chance_said(taken.way.pass_probability)])
        yield from wrapped(
            "Reckoned from the height that was found. It was of the stack before this change, so it is taken out "
            "of the file: make the change, gauge both couplers again and enter found.coupler_height."
        )
        yield from wrapped(_from_parts(taken, units))
    elif chance is not None:
        yield from row("chance of both passing", ["", chance_said(chance)])


def _from_parts(taken: Taken, units: Literal["in", "mm"]) -> str:
    """Return what the plan says until the couplers are gauged again."""
    ride = taken.plan.ride
    if ride.ends.a.error is None or ride.ends.b.error is None or ride.pass_probability is None:
        return "Until then the plan knows no height: the parts below the couplers are not all measured."
    errors = [number_in(each.value, units, signed=True) for each in (ride.ends.a.error, ride.ends.b.error)]
    return (
        f"Until then the plan reckons from the parts alone: error {errors[0]} {units} at A, {errors[1]} {units} at B, "
        f"chance of both passing {chance_words(ride.pass_probability.value)}."
    )


def _value(working: Working | None) -> float | None:
    return None if working is None else working.value


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
