"""What the finished car should weigh, what is there, and what is still to be fitted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from carwright.car.model import Block, Car
from carwright.pieces import Piece
from carwright.reference import density, practice_value, weight_rule
from carwright.working import Working, derive, derived

__all__ = ["WeightSums", "block_mass", "mass_of", "weight_sums"]


@dataclass(frozen=True, slots=True)
class WeightSums:
    """Sums in g: as weighed + still to be fitted + still to add = target; None where a measurement is missing.

    ``low`` and ``high`` bound what the finished car may weigh; by NEM 302 the target is the least.
    """

    rule: str
    length_used: str
    target: Working | None
    present: Working | None
    to_fit: Working | None
    to_add: Working | None
    source: str
    needs: tuple[str, ...]
    low: Working | None = None
    high: Working | None = None


def block_mass(block: Block) -> Working | None:
    """Return the mass of a solid block that is not part of the shell, g; None where it is, or cannot be told.

    A block that has neither mass nor material is part of the shell and was weighed with it.
    """
    if block.kind == "cavity":
        return None
    if block.mass is not None:
        return block.mass
    found = density(block.material) if block.material else None
    if found is None or block.length is None or block.width is None or block.bottom is None or block.top is None:
        return None
    sizes = {"l": block.length, "w": block.width, "f": block.bottom, "t": block.top}
    return derived(f"mass of {block.name}", "l*w*(t - f)*d/1000", {**sizes, "d": found}, "g")


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


def _band(car: Car, rule: str, target: Working | None) -> tuple[Working | None, Working | None]:
    """Return the least and the most that the finished car may weigh, g."""
    if target is None:
        return None, None
    own = car.weight.tolerance
    if own is not None:
        return derive("least weight", "T - u", "g", T=target, u=own), derive(
            "most weight", "T + u", "g", T=target, u=own
        )
    if rule == "NEM 302":
        more = practice_value("weight_nem_more")
        return target, derive("most weight", "T*(1 + f)", "g", T=target, f=more)
    band = practice_value("weight_band")
    low = derive("least weight", "T*(1 - b/100)", "g", T=target, b=band)
    return low, derive("most weight", "T*(1 + b/100)", "g", T=target, b=band)


def weight_sums(car: Car, pieces: Sequence[Working]) -> WeightSums:
    """Return the weights as far as they are known.

    Args:
        car: the car.
        pieces: masses of the designed pieces that are still to be made, g.

    Notes:
        A finished car's weight is meant, not weight to add. What is listed in ``missing`` counts as still to be fitted;
        trucks and couplers that are not listed count as present. A weight found on the scale outranks the sum of parts.
        Blocks with a mass or a material of their own count as present beside the shell. Without the trucks' mass
        nothing that hangs on it is known; couplers that were not weighed are named and not counted.
    """
    rule, used, target, source, needs = _target(car)
    missing = " ".join(car.info.missing)
    weighed = car.found.weight
    present: list[Working] = []
    to_fit: list[Working] = list(pieces)
    unknown = list(needs)
    present_known = fit_known = True
    if weighed is not None:
        present = [weighed]
    elif car.body.mass is not None:
        present = [car.body.mass]
    else:
        unknown.append("body.mass")
        present_known = False
    if weighed is None:
        present += [mass for block in car.body.blocks if (mass := block_mass(block)) is not None]
    for word, ends in (("trucks", car.trucks), ("couplers", car.coupler)):
        masses = [end.mass for end in (ends.a, ends.b) if end.mass is not None]
        if len(masses) < 2 and (word in missing or weighed is None):
            unknown.append("trucks.mass" if word == "trucks" else "coupler.mass")
            # Couplers weigh about a gram each: they are named as not counted. Trucks are a sixth of the car.
            fit_known = fit_known and not (word == "trucks" and word in missing)
            present_known = present_known and not (word == "trucks" and word not in missing)
        if word in missing:
            to_fit += masses
        elif weighed is None:
            present += masses
    present_sum = _sum("weight present", present) if present_known else None
    fit_sum = _sum("weight still to be fitted", to_fit) if fit_known else None
    to_add = None
    if target is not None and present_sum is not None and fit_sum is not None:
        to_add = derive("weight still to add", "T - p - f", "g", T=target, p=present_sum, f=fit_sum)
    low, high = _band(car, rule, target)
    return WeightSums(
        rule, used, target, present_sum, fit_sum, to_add, source, tuple(dict.fromkeys(unknown)), low, high
    )
