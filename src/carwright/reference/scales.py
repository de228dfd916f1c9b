"""Scales, the heights couplers should stand at, wheels and weight rules."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from carwright.problems import InputError, Problem
from carwright.reference.choices import practice_value
from carwright.reference.citation import Entry
from carwright.reference.leaves import INCH_MM, exact_mm, leaf
from carwright.reference.store import entry, find, under
from carwright.working import Working, derive, of

__all__ = [
    "Target",
    "WeightRule",
    "coupler_target",
    "coupler_tolerance",
    "other_weight_rules",
    "scale_gauge",
    "scale_ratio",
    "scale_word",
    "scales",
    "weight_rule",
    "wheel_diameters",
]

MeasuredAt = Literal["centre line", "pocket top"]

_SCALES: tuple[str, ...] = ("Z", "N", "TT", "HO", "OO", "S", "O", "I")
_STANDARDS: tuple[str, ...] = ("NMRA", "NEM")
# The entries that speak for a scale, the standard's own first: NMRA's sheet as read has no Z, N and TT.
_ORDER: dict[str, tuple[str, ...]] = {"NMRA": ("NMRA", "NEM", "British"), "NEM": ("NEM", "British", "NMRA")}


def scales() -> tuple[str, ...]:
    """Return the scales that are known, the smallest first, in the spelling used here."""
    return _SCALES


def scale_word(scale: str) -> str:
    """Return the spelling used here for a scale as typed: "H0", "ho" and "1:87" are all "HO".

    Raises:
        InputError: it is not a scale known here; the nearest names are listed.
    """
    typed = scale.strip().upper().replace("0", "O").removesuffix(" SCALE").removesuffix("-SCALE").strip()
    if typed in _SCALES:
        return typed
    digits = scale.strip().removeprefix("1:").removeprefix("1/").strip()
    for known in _SCALES:
        for standard in _STANDARDS:
            if digits and digits == f"{_ratio_entry(known, standard).number:g}":
                return known
    import difflib

    near = difflib.get_close_matches(typed, _SCALES, n=3, cutoff=0.3)
    raise InputError(
        Problem(
            "there is no such scale",
            value=scale,
            accepted=", ".join(_SCALES) + "; H0 and HO are one word",
            mend=f"Did you mean {' or '.join(near)}?" if near else f"Write one of {', '.join(_SCALES)}.",
            key="car.scale",
        )
    )


def _standard_word(standard: str) -> str:
    word = standard.strip().upper()
    if word in _STANDARDS:
        return word
    raise InputError(
        Problem(
            "there is no such standard here",
            value=standard,
            accepted='"NMRA" or "NEM"',
            mend='Write standard = "NMRA" for North American practice, "NEM" for European.',
            key="car.standard",
        )
    )


def _member(table: str, prefix: str, scale: str) -> Entry | None:
    """Return the ratio entry of one body's table for a scale, whichever of O and 0 its own spelling has."""
    for spelling in (scale, scale.replace("O", "0")):
        found = find("standards", table, f"{prefix}_{spelling}", "ratio")
        if found is not None:
            return found
    return None


def _ratio_entry(scale: str, standard: str) -> Entry:
    for body in _ORDER[standard]:
        found = _member("scale_ratio", body, scale)
        if found is not None:
            return found
    return entry("standards", "scale_ratio", f"{standard}_{scale}", "ratio")


@lru_cache(maxsize=64)
def scale_ratio(scale: str, standard: str = "NMRA") -> Working:
    """Return how many times the prototype is bigger: 87.1 for HO under NMRA, 87 under NEM.

    Args:
        scale: "HO", "H0", "N", ...; see ``scales``.
        standard: "NMRA" or "NEM".

    Raises:
        InputError: an unknown scale or standard; near misses are listed.

    Example:
        >>> scale_ratio("H0", "NEM").value
        87.0
    """
    word = scale_word(scale)
    return leaf(_ratio_entry(word, _standard_word(standard)), f"ratio of {word}", "", stored="ratio")


@lru_cache(maxsize=64)
def scale_gauge(scale: str, standard: str = "NMRA") -> Working | None:
    """Return the nominal gauge of standard-gauge track in mm, or None where none is stored.

    Raises:
        InputError: an unknown scale or standard.
    """
    word = scale_word(scale)
    ratio = _ratio_entry(word, _standard_word(standard))
    for name in ("gauge_nominal_mm", "gauge_mm"):
        found = find(*ratio.path[:-1], name)
        if found is not None:
            return leaf(found, f"track gauge of {word}", stored="mm")
    return None


@dataclass(frozen=True, slots=True)
class Target:
    """The height a coupler should stand at.

    Args:
        height: above the rail top, mm.
        measured_at: where on the coupler: the head's centre line, or the top of a pocket's opening.
        also: other positions on the same height, to be shown beside it; never computed with.
    """

    height: Working
    measured_at: MeasuredAt
    also: tuple[Working, ...]


@lru_cache(maxsize=64)
def coupler_target(scale: str, standard: str = "NMRA") -> Target | None:
    """Return the height at which a coupler should stand, or None where no position is known.

    Under NMRA only the HO height was read (in a quotation); other scales are from memory, and ``height.basis`` says so.
    Under NEM the height is that of the pocket (H0) or of the coupler (N).

    Raises:
        InputError: an unknown scale or standard.

    Example:
        >>> target = coupler_target("HO")
        >>> target.height.text, round(target.height.value, 4)
        ('0.391 in', 9.9314)
    """
    word = scale_word(scale)
    if _standard_word(standard) == "NEM":
        return _pocket_target(word)
    found = find("standards", "coupler_height", f"NMRA_S2_{word}", "center_above_railhead") or find(
        "standards", "coupler_height", f"S2_{word}_unconfirmed", "center_above_railhead"
    )
    if found is None:
        return None
    height = leaf(found, f"coupler height of {word}")
    return Target(height, "centre line", _prototype_band(word, "NMRA"))


def _pocket_target(word: str) -> Target | None:
    if word == "HO":
        path = ("standards", "coupler_pocket_nem", "NEM362_H0", "height_above_railhead")
        others = (
            _pocket(
                "NEM362_as_adopted_00", "rail_to_top_of_pocket_void", "top of the pocket's void, as adopted for 00"
            ),
            _pocket("NEM363_H0", "height_c_min", "least height of the pocket for confined spaces"),
        )
        return Target(leaf(entry(*path), "top of the coupler pocket's opening"), "pocket top", others)
    if word == "N":
        path = ("standards", "coupler_pocket_nem", "NEM356_N", "height_above_railhead")
        height = leaf(entry(*path), "coupler height of N")
        return Target(height, "centre line", ())
    return None


def _pocket(table: str, name: str, words: str) -> Working:
    return leaf(entry("standards", "coupler_pocket_nem", table, name), words)


def _prototype_band(word: str, standard: str) -> tuple[Working, ...]:
    """Return the prototype's greatest and least height at this scale, mm."""
    ratio = scale_ratio(word, standard)
    band = []
    for name, words in (("min", "least"), ("max", "greatest")):
        stored = entry("standards", "coupler_height", "prototype_standard_gauge", name)
        height = leaf(stored, f"{words} height of a drawbar, prototype")
        band.append(derive(f"{words} prototype height at this scale", "h / n", h=height, n=ratio))
    return tuple(band)


_POCKET_TOLERANCE: dict[str, tuple[str, str]] = {
    # The document prints these as text beside the height; the entry's own ``tolerance`` is what is shown.
    "HO": ("NEM362_H0", "height +/-"),
    "N": ("NEM356_N", "4.5 +/-"),
}


@lru_cache(maxsize=64)
def coupler_tolerance(scale: str, standard: str = "NMRA") -> Working:
    """Return the half-width by which a coupler's height may miss, mm.

    No published tolerance on NMRA heights was found: 0.010 in at HO is common practice, other scales in proportion,
    none under 0.005 in. NEM prints its own for the H0 pocket and for N.

    Raises:
        InputError: an unknown scale or standard.
    """
    word, body = scale_word(scale), _standard_word(standard)
    if body == "NEM" and word in _POCKET_TOLERANCE:
        table, before = _POCKET_TOLERANCE[word]
        stored = entry("standards", "coupler_pocket_nem", table, "height_above_railhead")
        number = stored.tolerance.split(before, 1)[1].split(",")[0].strip()
        return of(
            float(number),
            "tolerance of the coupler height",
            key=f"{stored.key}.tolerance",
            source=str(stored.citation),
            basis=stored.citation.basis,
            note=stored.note,
            text=f"±{number} mm",
        )
    at_ho = practice_value("coupler_tolerance_ho")
    if word == "HO" and body == "NMRA":
        return replace(at_ho, name="tolerance of the coupler height")
    ratio, ho = scale_ratio(word, body), scale_ratio("HO", "NMRA")
    least = practice_value("min_coupler_tolerance")
    scaled = derive("tolerance of the coupler height", "t * h / n", t=at_ho, h=ho, n=ratio)
    return scaled if scaled.value > least.value else least


@lru_cache(maxsize=64)
def wheel_diameters(scale: str, standard: str = "NMRA") -> tuple[Working, ...]:
    """Return the tread diameters in use, at model size, mm, the smallest first.

    Raises:
        InputError: an unknown scale or standard.
    """
    stored = entry("standards", "wheel_diameter", "prototype", "tread_diameters")
    ratio = scale_ratio(scale, standard)
    found = []
    for place, inches in enumerate(stored.value if isinstance(stored.value, tuple) else ()):
        if isinstance(inches, int | float):
            prototype = of(
                exact_mm(inches, "in"),
                f"{inches:g} in wheel, prototype",
                key=f"{stored.key}.{place}",
                source=str(stored.citation),
                basis=stored.citation.basis,
                note=stored.note,
                text=f"{inches:g} in",
            )
            found.append(derive(f"{inches:g} in wheel", "d / n", d=prototype, n=ratio))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class WeightRule:
    """What a finished car should weigh.

    Args:
        name: "RP-20.1" or "NEM 302".
        initial: part that does not depend on the length, g; None where the rule has none.
        per_mm: g for each mm of ``length_used``.
        length_used: which length counts.
        note: what the rule is: a target, or a least weight.
    """

    name: str
    initial: Working | None
    per_mm: Working
    length_used: Literal["body", "over buffers"]
    note: str

    def target(self, length: Working) -> Working:
        """Return the weight in g for a length in mm."""
        name = f"weight by {self.name}"
        if self.initial is None:
            return derive(name, "w * L", "g", w=self.per_mm, L=length)
        return derive(name, "i + w * L", "g", i=self.initial, w=self.per_mm, L=length)


_OUNCE_G = Fraction("28.349523125")  # exact by definition: 16 oz = 453.59237 g


def weight_rule(rule: str, scale: str) -> WeightRule | None:
    """Return a weight rule for a scale, or None where the rule has nothing for that scale.

    Args:
        rule: "RP-20.1" or "NEM 302".
        scale: see ``scales``.

    Raises:
        InputError: an unknown scale or rule.
    """
    word = scale_word(scale)
    plain = rule.upper().replace(" ", "").replace("-", "").replace(".", "")
    if plain == "RP201":
        ounces = under("standards", "weight_nmra_rp20_1").get(word)
        if ounces is None:
            return None
        initial = _ounces(ounces["initial_oz"], "initial weight", "g", Fraction(1))
        per_mm = _ounces(ounces["per_inch_oz"], "weight for each mm of body length", "g/mm", 1 / INCH_MM)
        return WeightRule("RP-20.1", initial, per_mm, "body", "The finished car's weight to aim for.")
    if plain == "NEM302":
        table = under("standards", "weight_nem302")
        found = table.get(word) or table.get(word.replace("O", "0"))
        if found is None:
            return None
        per_mm = leaf(found["min_g_per_mm"], "weight for each mm over buffers", "g/mm", stored="g/mm")
        return WeightRule("NEM 302", None, per_mm, "over buffers", "The least weight of the finished car.")
    raise InputError(
        Problem(
            "there is no such weight rule here",
            value=rule,
            accepted='"RP-20.1" or "NEM 302"',
            mend='Use rule = "own" with target = "..." for a weight of your own.',
            key="weight.rule",
        )
    )


def other_weight_rules(rule: str, scale: str) -> tuple[WeightRule, ...]:
    """Return what other published sources print for a rule and scale, where they disagree with what is used.

    Args:
        rule: "RP-20.1" or "NEM 302".
        scale: see ``scales``.
    """
    used = weight_rule(rule, scale)
    if used is None or used.initial is None:
        return ()
    found = under("standards", "weight_nmra_rp20_1").get(f"{scale_word(scale)}_disagreement")
    if found is None:
        return ()
    initial, per_mm = used.initial, used.per_mm
    if "initial_oz" in found:
        initial = _ounces(found["initial_oz"], "initial weight, another source", "g", Fraction(1))
    if "per_inch_oz" in found:
        per_mm = _ounces(found["per_inch_oz"], "weight for each mm, another source", "g/mm", 1 / INCH_MM)
    stored = next(iter(found.values()))
    return (WeightRule(stored.citation.document or "another source", initial, per_mm, "body", stored.note),)


def _ounces(stored: Entry, name: str, unit: str, per: Fraction) -> Working:
    grams = Fraction(str(stored.number)) * _OUNCE_G * per
    return of(
        float(grams),
        name,
        unit,
        key=stored.key,
        source=str(stored.citation),
        basis=stored.citation.basis,
        note=stored.note,
        text=f"{stored.number:g} oz" + ("" if unit == "g" else " per in"),
    )
