"""Masses, densities and cavities that cannot be: refused with the range that is accepted and why."""

from __future__ import annotations

import math
from collections.abc import Iterator

from carwright.car.model import ENDS, Block, Car
from carwright.lengths import LENGTH_TOL_MM, show_in
from carwright.problems import InputError, Problem
from carwright.reference import practice_value
from carwright.working import Working

__all__ = ["check_masses"]


def check_masses(car: Car, target: Working | None, *, file: str = "") -> None:
    """Refuse masses heavier than any can be, densities of no known material, and cavities larger than the body.

    Args:
        car: the car.
        target: weight of the finished car by its rule, g; without it masses are not judged.
        file: the car file's name, for problems.

    Raises:
        InputError: every problem found.
    """
    problems = [*_masses(car, target, file), *_densities(car, file)]
    problems += [each for block in car.body.blocks for each in _block(car, block, file)]
    if problems:
        raise InputError(problems)


def _masses(car: Car, target: Working | None, file: str) -> Iterator[Problem]:
    if target is None or car.weight.target is not None:
        return
    times = practice_value("shell_heaviest")
    most = times.value * target.value
    given: dict[str, tuple[str, Working]] = {}
    for word, mass in (
        ("shell", car.body.mass),
        ("car", car.found.weight),
        *(("truck", car.trucks.at(end).mass) for end in ENDS),
        *(("coupler", car.coupler.at(end).mass) for end in ENDS),
        *((f'block "{block.name}"', block.mass) for block in car.body.blocks),
    ):
        if mass is not None and mass.value > most:
            given[mass.key] = (word, mass)
    for word, mass in given.values():
        yield Problem(
            f"no {word} of this size is so heavy",
            mass.text,
            f"0 to {most:.0f} g, {times.value:g} times the {target.value:.0f} g that the rule asks of the finished car "
            "(our own limit: a cast shell with all its lead weighs less)",
            "Weigh it again; if the scale shows ounces, write oz behind the number.",
            key=mass.key,
            file=file,
            line=mass.line,
        )


def _densities(car: Car, file: str) -> Iterator[Problem]:
    """Yield a problem for each weighed thing of known size that would be denser than any material."""
    for block in car.body.blocks:
        if block.mass is not None and None not in (block.length, block.width, block.bottom, block.top):
            assert block.length is not None
            assert block.width is not None
            assert block.top is not None
            assert block.bottom is not None
            volume = block.length.value * block.width.value * (block.top.value - block.bottom.value)
            yield from _density(f'the block "{block.name}"', block.mass, volume, file)
    for row in car.shelf.ballast:
        sizes = [row.thickness, row.width, row.length if row.form != "nut" else row.width]
        if row.mass is not None and row.form in ("sheet", "bar", "nut") and all(sizes):
            volume = math.prod(each.value for each in sizes if each is not None)
            yield from _density(f"this {row.form}", row.mass, volume, file)


def _density(what: str, mass: Working, volume_mm3: float, file: str) -> Iterator[Problem]:
    most = practice_value("density_heaviest")
    if volume_mm3 <= 0.0:
        return
    found = 1000.0 * mass.value / volume_mm3
    if found > most.value:
        yield Problem(
            f"{what} would be denser than any material, {found:.1f} g/cm3",
            mass.text,
            f"0 to {most.value * volume_mm3 / 1000.0:.3g} g for its size: nothing is denser than {most.value:g} g/cm3",
            "Weigh it again, and check its sizes.",
            key=mass.key,
            file=file,
            line=mass.line,
        )


def _block(car: Car, block: Block, file: str) -> Iterator[Problem]:
    if block.kind != "cavity":
        return
    body = car.body
    tall = body.height
    deep = None
    if block.top is not None and block.bottom is not None:
        deep = block.top.value - block.bottom.value
    given: tuple[tuple[str, float | None, Working | None, Working | None, str], ...] = (
        ("longer", block.length.value if block.length else None, block.length, body.length, "body.length"),
        ("wider", block.width.value if block.width else None, block.width, body.width, "body.width"),
        ("higher", deep, block.top, tall, "body.height"),
    )
    for word, size, leaf, bound, name in given:
        if size is None or leaf is None or bound is None or size <= bound.value + LENGTH_TOL_MM:
            continue
        where = f" on line {bound.line}" if bound.line is not None else ""
        yield Problem(
            f'the cavity "{block.name}" is {word} than the body',
            leaf.text,
            f"0 to {show_in(bound.value, car.info.units)}, the {name}{where}: a cavity lies inside the body",
            "Measure the room inside, between its walls.",
            key=leaf.key,
            file=file,
            line=leaf.line,
        )
