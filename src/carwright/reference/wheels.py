"""What standards and customs say of wheelsets: gauge, back to back, length of the axle, diameter for a load."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from carwright.reference.choices import practice_value
from carwright.reference.leaves import leaf
from carwright.reference.scales import scale_gauge, scale_word, wheel_diameters
from carwright.reference.store import entry, under
from carwright.working import Working

__all__ = ["CapacityWheels", "WheelGauge", "axle_range", "wheel_gauges", "wheels_for_capacity"]

_SAME_GAUGE_MM = 0.3
"""Two gauges nearer than this are one: 22.42 and 22.5, 31.75 and 32 are, 16.5 and 19 are not."""

_LIMITS = ("check_gauge_K_min", "check_gauge_K_max", "back_to_back_B_min", "back_to_back_B_max")


@dataclass(frozen=True, slots=True)
class WheelGauge:
    """One body's limits for a wheelset, mm; None where it sets none.

    Args:
        body: "NMRA S-4.2" or "NEM 310".
        check_least: of the check gauge: back of one wheel to the tread side of the other's flange.
        check_most: of the same.
        back_least: of the distance between the backs.
        back_most: of the same.
    """

    body: str
    check_least: Working | None
    check_most: Working | None
    back_least: Working | None
    back_most: Working | None


@lru_cache(maxsize=32)
def wheel_gauges(scale: str, standard: str = "NMRA") -> tuple[WheelGauge, ...]:
    """Return the limits for a wheelset on this scale's track, the standard's own first; () where the data has none.

    Another body's row counts only where its track has the same gauge: 00 runs on 16.5 mm, NMRA's OO on 19.

    Args:
        scale: see ``scales``.
        standard: "NMRA" or "NEM".

    Raises:
        InputError: an unknown scale or standard.
    """
    word, gauge = scale_word(scale), scale_gauge(scale, standard)
    found: list[WheelGauge] = []
    row = under("standards", "wheels_nmra").get(f"S4_2_{word}")
    own = scale_gauge(scale, "NMRA")
    if row is not None and gauge is not None and own is not None and abs(own.value - gauge.value) < _SAME_GAUGE_MM:
        found.append(_gauge("NMRA S-4.2", row))
    for name, each in under("standards", "wheels_nem").items():
        if not name.startswith("NEM310_") or "gauge_G" not in each or gauge is None:
            continue
        if abs(each["gauge_G"].number - gauge.value) < _SAME_GAUGE_MM:
            found.append(_gauge("NEM 310", each))
    return tuple(found if standard == "NMRA" else reversed(found))


def _gauge(body: str, row: object) -> WheelGauge:
    assert isinstance(row, dict)
    words = ("least check gauge", "greatest check gauge", "least back to back", "greatest back to back")
    limits = [
        leaf(row[key], f"{name}, {body}") if key in row else None for key, name in zip(_LIMITS, words, strict=True)
    ]
    return WheelGauge(body, *limits)


@lru_cache(maxsize=16)
def axle_range(scale: str) -> tuple[Working, Working] | None:
    """Return the least and the greatest length of an axle over its points that are in use, mm; None where unknown.

    Raises:
        InputError: an unknown scale.
    """
    if scale_word(scale) != "HO":
        return None
    most = entry("standards", "trucks_nmra", "RP24_3_HO_axle", "axle_length_max")
    return practice_value("axle_least_ho"), leaf(most, "greatest axle length")


@dataclass(frozen=True, slots=True)
class CapacityWheels:
    """Wheels that cars of a capacity ran on.

    Args:
        sizes: tread diameters at model size, mm, the smallest first.
        inches: the same at full size, in.
        source: where that stands.
        disagree: what sources say against each other, one sentence, or "".
    """

    sizes: tuple[Working, ...]
    inches: tuple[int, ...]
    source: str
    disagree: str


def wheels_for_capacity(tons: float, year: int | None, scale: str, standard: str = "NMRA") -> CapacityWheels:
    """Return the wheels under cars of a nominal capacity, by North American practice.

    Where sources draw the line at different loads, both sizes are given between the two lines.

    Args:
        tons: nominal capacity, short tons.
        year: modelled; before larger wheels were asked for, 33 in wheels carried everything that ran on them.
        scale: see ``scales``.
        standard: "NMRA" or "NEM", for the ratio.

    Raises:
        InputError: an unknown scale or standard.
    """
    low, high = practice_value("wheel_33_capacity"), practice_value("wheel_33_capacity_most")
    heavy, heaviest = practice_value("wheel_36_capacity"), practice_value("wheel_36_capacity_most")
    since = practice_value("wheel_36_year")
    inches: list[int] = []
    disagree = ""
    if tons <= high.value or (year is not None and year < since.value):
        inches.append(33)
    if low.value < tons <= heaviest.value:
        inches.append(36)
    if tons > heavy.value:
        inches.append(38)
    if low.value < tons <= high.value:
        disagree = f"Sources end 33 in wheels at {low.value:.0f} and at {high.value:.0f} tons."
    elif heavy.value < tons <= heaviest.value:
        disagree = f"Sources end 36 in wheels at {heavy.value:.0f} and at {heaviest.value:.0f} tons."
    of_inches = {round(each.inputs["d"].value / 25.4): each for each in wheel_diameters(scale, standard)}
    source = low.source if tons <= low.value else f"{low.source}; {high.source}"
    return CapacityWheels(tuple(of_inches[each] for each in inches), tuple(inches), source, disagree)
