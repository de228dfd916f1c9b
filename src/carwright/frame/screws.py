"""The screws of trucks and couplers as solids: shank and head, as long as they are.

A screw goes up from below: a truck's from the underside of the truck's own bolster, a coupler's from under its box.
Geometry alone: what its thread holds is told elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from carwright.car.model import Car, End
from carwright.frame.clash import Part
from carwright.frame.solids import Prism, cylinder
from carwright.reference import head
from carwright.reference.threads import HeadKind, Thread
from carwright.working import Working

__all__ = ["Screw", "coupler_screw", "truck_screw_part"]

_UP = (0.0, 0.0, 1.0)
_HEADS: Mapping[str, HeadKind] = {"pan": "pan", "round": "round", "fillister": "fillister"}


@dataclass(frozen=True, slots=True)
class Screw:
    """A screw as a part, or None and the keys of the measurements without which it has no place or length."""

    part: Part | None
    needs: tuple[str, ...] = ()


def _build(values: Mapping[str, float], number: int) -> Prism:
    """Return the shank (0), from under the head, or the head (1).

    Symbols: "px" along the car; "seat" less "T" (or "shim" and "b" less "recess") down to the head's bearing; "l" its
    length, "D" its diameter, "h" and "w" height and diameter of the head.
    """
    under = -values.get("seat", 0.0) - values.get("T", 0.0) - values.get("shim", 0.0) - values.get("b", 0.0)
    under += values.get("recess", 0.0)
    if number == 0:
        return cylinder((values["px"], 0.0, under), _UP, values["l"], values["D"] / 2.0)
    return cylinder((values["px"], 0.0, under - values["h"]), _UP, values["h"], values["w"] / 2.0)


def _screw(name: str, said: str, given: Mapping[str, tuple[str, Working | None]], holds: frozenset[str]) -> Screw:
    needs = tuple(key for key, value in given.values() if value is None)
    if needs:
        return Screw(None, needs)
    numbers = {symbol: value for symbol, (_, value) in given.items() if value is not None}
    values = {symbol: each.value for symbol, each in numbers.items()}
    solids = tuple(_build(values, number) for number in range(2 if "h" in numbers else 1))
    return Screw(Part(name, said, "screw", numbers, _build, solids, holds))


def _with_head(given: dict[str, tuple[str, Working | None]], kind: str, thread: Thread) -> None:
    form = _HEADS.get(kind.strip().lower() or "pan")
    listed = None if form is None else head(form, thread)
    if listed is not None:
        given |= {"h": ("", listed.height), "w": ("", listed.diameter)}


def truck_screw_part(car: Car, end: End, thread: Thread, *, pivot: Working, seat: Working) -> Screw:
    """Return one truck's screw.

    Args:
        car: with ``trucks.screw_length`` and ``trucks.bolster_thickness``.
        end: whose truck.
        thread: of the screw.
        pivot: from mid-car, mm.
        seat: the truck's bearing face below the floor's underside, mm.
    """
    truck = car.trucks.at(end)
    given: dict[str, tuple[str, Working | None]] = {
        "px": ("", pivot),
        "seat": ("", seat),
        "T": ("trucks.bolster_thickness", truck.bolster_thickness),
        "l": ("trucks.screw_length", truck.screw_length),
        "D": ("", thread.major),
    }
    _with_head(given, truck.screw_head, thread)
    holds = frozenset({"floor", f"bolster_{end}", f"screw_block_truck_{end}"})
    return _screw(f"truck_screw_{end}", f"the screw of truck {end.upper()}", given, holds)


def coupler_screw(car: Car, end: End, thread: Thread, *, x: Working | None) -> Screw:
    """Return the screw of a body-mounted coupler.

    Args:
        car: with ``coupler.screw_length`` and ``coupler.box_height``.
        end: whose coupler.
        thread: of the screw.
        x: its place from mid-car, mm; None while not known.
    """
    coupler = car.coupler.at(end)
    given: dict[str, tuple[str, Working | None]] = {
        "px": ("coupler.pivot_inset", x),
        "b": ("coupler.box_height", coupler.box_height),
        "l": ("coupler.screw_length", coupler.screw_length),
        "D": ("", thread.major),
    }
    for symbol, size in (("shim", coupler.shim), ("recess", coupler.recess)):
        if size is not None:
            given[symbol] = ("", size)
    _with_head(given, "pan", thread)
    holds = frozenset({"floor", f"coupler_box_{end}", f"screw_block_coupler_{end}"})
    return _screw(f"coupler_screw_{end}", f"the screw of coupler {end.upper()}", given, holds)
