"""What the finished car should weigh, what is there, and what is still to be fitted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from carwright.car.model import Car
from carwright.pieces import Piece
from carwright.reference import density, weight_rule
from carwright.working import Working, derive, derived

__all__ = ["WeightSums", "mass_of", "weight_sums"]


@dataclass(frozen=True, slots=True)
class WeightSums:
    """Sums in g: as weighed + still to be fitted + still to add = target; None where a measurement is missing."""

    rule: str
    length_used: str
    target: Working | None
    present: Working | None
    to_fit: Working | None
    to_add: Working | None
    source: str
    needs: tuple[str, ...]


def mass_of(piece: Piece) -> Working | None:
    """Return the mass of a piece, as many times as it is made, in g; None where it cannot be told.

    Args:
        piece: its volume is its own, or area times thickness.
    """
    found = density(piece.material)
    if found is None:
        return None
    inputs: dict[str, Working] = {} if piece.quantity.value == 1 else {"n": piece.quantity}
    times = "n*" if inputs else ""
    if piece.volume_mm3 is not None:
        inputs["V"] = piece.volume_mm3
        formula = "V*d/1000"
    elif piece.thickness_mm is not None:
        inputs |= {"a": piece.area_mm2, "t": piece.thickness_mm}
        formula = "a*t*d/1000"
    else:
        return None
    return derived(f"mass of {piece.name}", f"{times}{formula}", {**inputs, "d": found}, "g")


def _sum(name: str, masses: Sequence[Working]) -> Working:
    inputs = {f"m{i + 1}": mass for i, mass in enumerate(masses)}
    return derived(name, " + ".join(inputs) or "0", inputs, "g")


def _target(car: Car) -> tuple[str, str, Working | None, str, tuple[str, ...]]:
    wish = car.weight
    if wish.target is not None:
        return "own", "none", wish.target, "the owner's own", ()
    rule = wish.rule or ("NEM 302" if car.info.standard == "NEM" else "RP-20.1")
    if rule == "own":
        return rule, "none", None, "", ("weight.target",)
    found = weight_rule(rule, car.info.scale)
    if found is None:
        return rule, "", None, f"{rule} has no value for this scale", ("weight.target",)
    length = car.body.length if found.length_used == "body" else (car.body.over_buffers or None)
    if length is None:
        key = "body.length" if found.length_used == "body" else "body.over_buffers"
        return found.name, found.length_used, None, found.per_mm.source, (key,)
    return found.name, found.length_used, found.target(length), found.per_mm.source, ()


def weight_sums(car: Car, pieces: Sequence[Working]) -> WeightSums:
    """Return the weights as far as they are known.

    Args:
        car: the car.
        pieces: masses of the designed pieces that are still to be made, g.

    Notes:
        A finished car's weight is meant, not weight to add. What is listed in ``missing`` counts as still to be fitted;
        trucks and couplers that are not listed count as present. A weight found on the scale outranks the sum of parts.
    """
    rule, used, target, source, needs = _target(car)
    missing = " ".join(car.info.missing)
    present: list[Working] = []
    to_fit: list[Working] = list(pieces)
    unknown = list(needs)
    if car.found.weight is not None:
        present = [car.found.weight]
    elif car.body.mass is not None:
        present = [car.body.mass]
    else:
        unknown.append("body.mass")
    for word, ends in (("trucks", car.trucks), ("couplers", car.coupler)):
        masses = [end.mass for end in (ends.a, ends.b) if end.mass is not None]
        if len(masses) < 2:
            unknown.append("trucks.mass" if word == "trucks" else "coupler.mass")
        if word in missing:
            to_fit += masses
        elif car.found.weight is None:
            present += masses
    present_sum = _sum("weight present", present) if car.found.weight is not None or car.body.mass is not None else None
    fit_sum = _sum("weight still to be fitted", to_fit)
    to_add = None
    if target is not None and present_sum is not None:
        to_add = derive("weight still to add", "T - p - f", "g", T=target, p=present_sum, f=fit_sum)
    return WeightSums(rule, used, target, present_sum, fit_sum, to_add, source, tuple(dict.fromkeys(unknown)))
