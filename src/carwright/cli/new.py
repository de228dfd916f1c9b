"""``carwright new``: a car file with every key explained, ready to fill in."""

from __future__ import annotations

import dataclasses
import json as json_format
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from carwright.problems import InputError, Problem

__all__ = ["command"]

_OPTIONS = {
    "car.name": "--name",
    "car.scale": "--scale",
    "car.units": "--units",
    "car.standard": "--standard",
    "car.type": "--type",
}
"""The option behind each answer: a scale that does not exist was typed there, not in a file."""


def command(
    file: Path = Path("car.toml"),
    /,
    *,
    name: str | None = None,
    scale: str | None = None,
    units: Literal["in", "mm"] | None = None,
    standard: Literal["NMRA", "NEM"] | None = None,
    kind: Annotated[str | None, Parameter(name="--type")] = None,
    replace: bool = False,
    json: bool = False,
) -> int:
    """Write a car file with every key explained, ready to fill in.

    Each key stands with its question, its letter on the measuring sheet and how
    to measure it. A file that is there is left alone unless --replace is given.

    Args:
        file: The file to write.
        name: What you call the car.
        scale: Its scale: HO, N, O. Without it, HO.
        units: Unit of a bare number in the file. Without it, inches.
        standard: Whose standards it should meet. Without it, NMRA.
        kind: What kind of car it is: its reporting class (XM), or a plain word (box).
        replace: Write over a file that is there.
        json: Print what was written as JSON for other programs.
    """
    from carwright.car.read import read_car
    from carwright.car.write import Written, new_car_text, save

    if file.is_dir():
        mend = "Name a file, in it or elsewhere: carwright new boxcar.toml"
        raise InputError(Problem("this is a folder", str(file), "the path of a new car file", mend, key="FILE"))
    if file.exists() and not replace:
        raise InputError(
            Problem(
                "there is such a file already",
                value=str(file),
                key="FILE",
                mend="Name another, or give --replace to write over it.",
            )
        )
    answers: dict[str, Written] = {
        "car.name": name,
        "car.scale": scale,
        "car.units": units,
        "car.standard": standard,
        "car.type": kind,
    }
    text = new_car_text(answers)
    try:
        read_car(text)
    except InputError as error:
        raise InputError(
            dataclasses.replace(each, key=_OPTIONS.get(each.key, each.key), line=None, column=None)
            for each in error.problems
        ) from None
    save(file, text.encode())
    if json:
        given = {key: value for key, value in answers.items() if value}
        print(json_format.dumps({"file": str(file), "answers": given}, ensure_ascii=False, indent=2))
        return 0
    from carwright.cli.page import command_line, plain

    print(f"Written: {plain(str(file))}")
    print("Every key stands there with its question; nothing is required. Fill in what you\nmeasured, then:")
    print(command_line("plan", str(file)))
    return 0
