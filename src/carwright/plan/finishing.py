"""The finish of a car: colours in the order that masks least, steps with waits, what paints do to each other."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from carwright.car.model import Car, Paint
from carwright.findings import Finding
from carwright.finish.making import Coating, finish_steps, label_windows
from carwright.finish.order import best_order, masked_surfaces
from carwright.finish.scheme import read_scheme
from carwright.finish.steps import Step
from carwright.problems import InputError, Problem
from carwright.reference.finishing import PaintFamily, compatibility, customary, families

__all__ = ["FinishPlan", "finish_plan"]

_LONGEST_WAIT: Final = "enamel"
"""The family whose rules an unknown paint is held to: it waits longest, and has a forbidden middle."""


@dataclass(frozen=True, slots=True)
class FinishPlan:
    """The finish of one car.

    Args:
        steps: each after those that it waits for.
        maskings: how many surfaces are covered in all, each time counted anew; no order has fewer.
        coatings: the colours in the order in which they are sprayed.
        paints: the owner's paint of each of them, or None.
        findings: what paints do to each other, and what is unknown of them.
    """

    steps: tuple[Step, ...]
    maskings: int
    coatings: tuple[Coating, ...]
    paints: tuple[Paint | None, ...]
    findings: tuple[Finding, ...]


def finish_plan(car: Car, *, lettering: bool = True, weather: bool = False, file: str = "") -> FinishPlan:
    """Return the finish that a car's colour scheme asks for.

    Args:
        car: with ``finish.scheme`` and, if the owner has typed them, paints.
        lettering: the car gets lettering.
        weather: the car is weathered.
        file: the car file's name, for problems.

    Raises:
        InputError: no scheme, or one that cannot be read; a family or window of a paint that cannot be used.
    """
    scheme = read_scheme(car.finish.scheme, file=file)
    order = best_order(scheme)
    paints = {colour: _paint_of(colour, car) for colour in order}
    coatings = tuple(_coating(colour, scheme[colour], paints[colour], file) for colour in order)
    steps = finish_steps(car.info.name or "car", coatings, lettering=lettering, weather=weather)
    owned = {colour: None if found is None else found[1] for colour, found in paints.items()}
    return FinishPlan(
        steps, masked_surfaces(order, scheme), coatings, tuple(owned.values()), tuple(_findings(coatings, owned))
    )


def _paint_of(colour: str, car: Car) -> tuple[int, Paint] | None:
    """Return the owner's paint of a colour with its place among the paints: by its colour, else by its name."""
    for at, paint in enumerate(car.paints):
        if colour in (paint.colour.strip().lower(), paint.name.strip().lower()):
            return at, paint
    return None


def _coating(colour: str, surfaces: tuple[str, ...], found: tuple[int, Paint] | None, file: str) -> Coating:
    if found is None:
        return Coating(colour, surfaces, families()[_LONGEST_WAIT])
    at, paint = found
    key = f"paint[{at}].windows"
    windows = label_windows(paint.windows)
    return Coating(colour, surfaces, _family(paint, f"paint[{at}].family", file), windows, f"label, {key}")


def _family(paint: Paint, key: str, file: str) -> PaintFamily:
    """Return a paint's family; the one that waits longest where the owner did not say."""
    word = paint.family.strip().lower().replace("-", "_").replace(" ", "_")
    if word in ("", "unknown"):
        return families()[_LONGEST_WAIT]
    if word not in families():
        near = difflib.get_close_matches(word, families(), n=1)
        accepted = ", ".join(families())
        mend = f"Did you mean {near[0]}?" if near else ""
        raise InputError(Problem("there is no such family of paints", paint.family, accepted, mend, key, file))
    return families()[word]


def _findings(coatings: tuple[Coating, ...], owned: Mapping[str, Paint | None]) -> Iterator[Finding]:
    known = []
    for each in coatings:
        paint = owned[each.colour]
        if paint is None or paint.family.strip().lower() in ("", "unknown"):
            yield Finding(
                f"paint_{each.colour.replace(' ', '_')}",
                "unknown",
                f"Which family of paint {each.colour} is was not said, so it waits as long as enamel.",
                mend="Add it to the car file's paints, with colour and family; test on scrap first.",
                needs=("paint[].family",),
            )
        else:
            known.append(each.family.id)
    primer = str(customary("schedule_defaults", "primer_family").value)
    pairs = dict.fromkeys((over, below) for below, over in combinations((primer, *known), 2))
    for over, below in pairs:
        found = compatibility(over, below)
        if found is None or found.verdict.value not in ("ok", "ok_after_cure"):
            no = found is not None and found.verdict.value == "no"
            words = (
                "nothing is known of it" if found is None else "it lifts or wrinkles it" if no else "it may craze it"
            )
            yield Finding(
                f"{over}_over_{below}",
                "unknown" if found is None else "fail" if no else "watch",
                f"{_words(over)} goes over {_words(below).lower()}: {words}.",
                mend=f"Use {_words(below).lower()} for both, or seal between and test on scrap first.",
                source="" if found is None else str(found.verdict.citation),
            )


def _words(family: str) -> str:
    return family.replace("_", "-").capitalize()
