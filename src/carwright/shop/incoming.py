"""What may come into the shop as a car's file, and what is there already."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from carwright.car.document import decoded
from carwright.car.keys import sections
from carwright.car.read import read_car
from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.shop.records import Saved
    from carwright.shop.store import Shop

__all__ = ["Incoming", "add_new_car", "car_file"]


@dataclass(frozen=True, slots=True)
class Incoming:
    """A car file that may come in.

    Args:
        data: its bytes, which are kept as they are.
        name: the car's, "" where the file gives none.
        file: its own name, for problems.
        problems: what in it cannot be used; it comes in all the same, to be mended there.
    """

    data: bytes
    name: str
    file: str
    problems: tuple[Problem, ...]


def car_file(data: bytes, *, file: str = "") -> Incoming:
    """Return a car file as it may come in: TOML with [car] or another section of a car, whatever else is wrong in it.

    Raises:
        InputError: it is something else.
    """
    text = decoded(data, file=file)
    accepted = "a car file: a text in TOML with sections such as [car], [body], [trucks]"
    mend = "Nothing was kept. Check that it is the file you meant; a new one is written by: carwright new"
    try:
        tree = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        problem = f"this is no car file: {_lowered(str(error))}"
        raise InputError(Problem(problem, accepted=accepted, mend=mend, file=file)) from None
    if not any(isinstance(tree.get(name), dict) for name in _own_sections()):
        problem = "this is no car file: it has no section of a car" if text.strip() else "this file is empty"
        raise InputError(Problem(problem, accepted=accepted, mend=mend, file=file))
    problems: tuple[Problem, ...] = ()
    try:
        read_car(data, file=file)
    except InputError as error:
        problems = error.problems
    info = tree.get("car")
    name = info.get("name") if isinstance(info, dict) else None
    return Incoming(data, " ".join(name.split()) if isinstance(name, str) else "", file, problems)


def _own_sections() -> frozenset[str]:
    """Return the first parts of the sections that only a car has: a shelf and paints may have a file of their own."""
    return frozenset(each.path.partition(".")[0] for each in sections() if not each.many) - {"shelf", "paint"}


def _lowered(text: str) -> str:
    return text[:1].lower() + text[1:160].rstrip(".")


def add_new_car(
    shop: Shop, found: Incoming, *, name: str | None = None, fallback: str = "", by: str = "", note: str = ""
) -> Saved:
    """Add a car that the shop has not.

    Args:
        shop: where to.
        found: its file.
        name: what to call it in place of what the file says; a file that is there already may then come in again.
        fallback: what to call it where nothing else says.
        by: who adds it.
        note: for the history.

    Raises:
        InputError: the shop has this very file, or another car of its name; nothing is added.
    """
    called = name or found.name or fallback
    holder = None if name else shop.holder(found.data)
    if holder is not None:
        problem = f'this file is in the shop already, as revision {holder[1]} of "{holder[0]}"'
        raise InputError(Problem(problem, mend="Nothing was added.", file=found.file, key="document"))
    same = shop.named(called) if called else ()
    if same:
        raise InputError(
            Problem(
                "the shop has another car of this name",
                called,
                file=found.file,
                key="name",
                mend=f'Nothing was added. If it is that car, keep the file as the next revision of "{same[0]}"; '
                "if it is another, give it a name of its own in car.name.",
            )
        )
    return shop.add_car(found.data, name=called or None, by=by, note=note)
