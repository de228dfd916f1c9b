"""Masses and cavities that cannot be, and grades: refused with the range that is accepted and why."""

from __future__ import annotations

import re
from collections.abc import Iterator

from carwright.car.model import Block, Car
from carwright.lengths import LENGTH_TOL_MM, show_in
from carwright.problems import InputError, Problem
from carwright.reference import practice_value
from carwright.working import Working, typed

__all__ = ["check_masses", "grade_of", "percent_of"]


def check_masses(car: Car, target: Working | None, *, file: str = "") -> None:
    """Refuse a shell heavier than any can be, and cavities larger than the body.

    Args:
        car: the car.
        target: weight of the finished car, g; without it the shell's weight is not judged.
        file: the car file's name, for problems.

    Raises:
        InputError: every problem found.
    """
    problems = [*_shell(car, target, file), *(each for block in car.body.blocks for each in _block(car, block, file))]
    if problems:
        raise InputError(problems)


def _shell(car: Car, target: Working | None, file: str) -> Iterator[Problem]:
    mass = car.body.mass
    if mass is None or target is None or car.weight.target is not None:
        return
    times = practice_value("shell_heaviest")
    most = times.value * target.value
    if mass.value > most:
        yield Problem(
            "no shell of this size is so heavy",
            mass.text,
            f"0 to {most:.0f} g, {times.value:g} times the {target.value:.0f} g that the rule asks of the finished car "
            "(our own limit: a cast shell with all its lead weighs less)",
            "Weigh the shell again; if the scale shows ounces, write oz behind the number.",
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


_NUMBER = r"([0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"


def percent_of(text: str, *, name: str, key: str, most: float, why: str) -> Working:
    """Return a grade or a resistance in percent.

    Args:
        text: "2.5%", "2.5 percent", "1 in 40", "1:40"; a bare number is refused, because 2.5 and 0.025 are both
            written so.
        name: what it is, in words.
        key: option or key that gave it.
        most: the most that is accepted, percent.
        why: the reason for that limit, in words.

    Raises:
        InputError: it cannot be read, or lies outside its range.

    Example:
        >>> percent_of("1 in 40", name="grade", key="--grade", most=10, why="").value
        2.5
    """
    plain = text.strip().lower()
    accepted = f"0 % to {most:g} %" + (f", {why}" if why else "")
    found = re.fullmatch(rf"{_NUMBER}\s*(?:%|percent|pct)", plain)
    if found is not None:
        value = float(found[1].replace(",", "."))
    else:
        found = re.fullmatch(rf"1\s*(?:in|:|/)\s*{_NUMBER}", plain)
        if found is None or float(found[1].replace(",", ".")) <= 0.0:
            mend = f'Write "{plain}%" if you mean percent.' if re.fullmatch(_NUMBER, plain) else 'Write "2.5%".'
            raise InputError(
                Problem(
                    f"this is not a {name}", text, f'a percentage such as "2.5%", or "1 in 40"; {accepted}', mend, key
                )
            )
        value = 100.0 / float(found[1].replace(",", "."))
    if value > most + 1e-9:
        mend = f'Did you mean "{value / 100.0:g}%"?' if value / 100.0 <= most else ""
        raise InputError(Problem(f"the {name} is too steep", text, accepted, mend, key))
    return typed(value, name, "percent", key=key, text=text.strip())


def grade_of(text: str, *, key: str = "--grade") -> Working:
    """Return a grade in percent, upward; see ``percent_of``.

    Raises:
        InputError: it cannot be read, or is steeper than wheels climb.
    """
    steepest = practice_value("grade_steepest").value
    return percent_of(text, name="grade", key=key, most=steepest, why="the steepest that wheels on rails climb")
