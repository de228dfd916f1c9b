"""What standards say of wheels, curves, clearances and tracks beside each other; None where the data has nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from carwright.reference.citation import Entry
from carwright.reference.leaves import exact_mm, leaf, number_text
from carwright.reference.scales import scale_ratio, scale_word
from carwright.reference.store import find, under
from carwright.working import Working, derive, of

__all__ = [
    "Extreme",
    "RadiusClass",
    "StructureGauge",
    "TrackCenters",
    "WheelSection",
    "attack_limit",
    "car_group",
    "extremes",
    "radius_classes",
    "straight_centers",
    "straight_room",
    "structure_gauge",
    "track_centers",
    "wheel_section",
]

Group = Literal["A", "B", "C"]
"""NEM 103's groups of cars by body length: the longer, the later the letter."""


def _nem_word(scale: str) -> str:
    """Return a scale as the NEM tables spell it: H0 and 0 with a nought."""
    return scale_word(scale).replace("O", "0")


def _row(topic: str, name: str) -> Mapping[str, Entry]:
    return under("standards", topic).get(name, {})


def _listed(stored: Entry, place: int, name: str, unit: str) -> Working:
    """Return one number of a stored list as a leaf."""
    values = stored.value if isinstance(stored.value, tuple) else ()
    number = values[place]
    assert isinstance(number, int | float)
    return of(
        exact_mm(number, unit) if unit in ("mm", "in") else float(number),
        name,
        "mm" if unit in ("mm", "in") else unit,
        key=f"{stored.key}.{place}",
        source=str(stored.citation),
        basis=stored.citation.basis,
        note=stored.note,
        text=f"{number_text(number)} {unit}",
    )


@dataclass(frozen=True, slots=True)
class WheelSection:
    """How far a wheel reaches sideways and above its tread, mm.

    Args:
        inner: track's middle to the back of the flange.
        outer: to the outer face.
        flange: depth of the flange beyond the tread.
    """

    inner: Working
    outer: Working
    flange: Working


@lru_cache(maxsize=64)
def wheel_section(scale: str, standard: str = "NMRA") -> WheelSection | None:
    """Return the wheel of a standard, or None where the data has none for the scale.

    Raises:
        InputError: an unknown scale.
    """
    word = scale_word(scale)
    row = _row("wheels_nem", f"NEM310_{_nem_word(word)}") if standard == "NEM" else {}
    row = row or _row("wheels_nmra", f"S4_2_{word}") or _row("wheels_nem", f"NEM310_{_nem_word(word)}")
    depth = row.get("flange_depth_D_max") or row.get("flange_depth_D_min")
    if "back_to_back_B_min" not in row or "tire_width_N_min" not in row or depth is None:
        return None
    back = leaf(row["back_to_back_B_min"], "wheels, back to back")
    tire = leaf(row["tire_width_N_min"], "width of a wheel")
    return WheelSection(
        derive("track's middle to the back of a wheel", "B/2", B=back),
        derive("track's middle to the outer face of a wheel", "B/2 + N", B=back, N=tire),
        leaf(depth, "depth of a flange"),
    )


@lru_cache(maxsize=1)
def attack_limit() -> Working:
    """Return the greatest angle, degrees, at which a rigid truck may meet the rail, by NEM 111."""
    stored = find("standards", "minimum_radius_nem111", "rigid_wheelbase", "angle_of_attack_max_deg")
    assert stored is not None
    return leaf(stored, "greatest angle between wheel and rail", "deg", stored="deg")


def car_group(scale: str, length: Working) -> tuple[Group, Working] | None:
    """Return NEM 103's group of a car and the greatest body length of that group, mm; None where it has none."""
    row = _row("car_groups_nem103", _nem_word(scale))
    groups: tuple[Group, ...] = ("A", "B", "C")
    for group in groups:
        stored = row.get(f"{group}_max_body_length")
        if stored is not None and length.value <= exact_mm(stored.number, "mm") + 1e-6:
            return group, leaf(stored, f"greatest body length of group {group}")
    return None


@dataclass(frozen=True, slots=True)
class StructureGauge:
    """The room beside the track on a curve, mm from its middle.

    Args:
        half_width: half the room on straight track.
        widening: more on each side, interpolated between the tabled radii.
        group: of cars that it is for.
    """

    half_width: Working
    widening: Working
    group: Group


def structure_gauge(scale: str, length: Working, radius: Working) -> StructureGauge | None:
    """Return NEM's room beside the track for a car on a curve, or None where the table does not reach.

    Args:
        scale: see ``scales``.
        length: of the car's body, mm.
        radius: of the curve, mm.
    """
    found = car_group(scale, length)
    stored = _row("clearance_nem102", _nem_word(scale)).get("BL1")
    if found is None or stored is None:
        return None
    half = derive("half the room on straight track", "B/2", B=leaf(stored, "width of the room on straight track"))
    table = _row("clearance_curve_nem103", _nem_word(scale)).get(found[0])
    if table is None or not isinstance(table.value, tuple):
        return None
    rows = [each for each in table.value if isinstance(each, tuple) and len(each) == 2]
    if rows and radius.value >= float(str(rows[-1][0])):
        return StructureGauge(half, _pair(table, len(rows) - 1)[1], found[0])
    for place in range(len(rows) - 1):
        low, high = float(str(rows[place][0])), float(str(rows[place + 1][0]))
        if low - 1e-6 <= radius.value <= high + 1e-6:
            below = _pair(table, place)
            above = _pair(table, place + 1)
            widening = derive(
                "widening on the curve",
                "e1 + (e2 - e1)*(R - r1)/(r2 - r1)",
                note="between the two radii of the table next to it",
                e1=below[1],
                e2=above[1],
                R=radius,
                r1=below[0],
                r2=above[0],
            )
            return StructureGauge(half, widening, found[0])
    return None


@lru_cache(maxsize=32)
def straight_room(scale: str, standard: str = "NMRA") -> Working | None:
    """Return half the width that a standard keeps free on straight track, mm, or None where the data has none.

    NMRA: the outline of the gauge in HO, in prototype feet, as a magazine tells it.
    """
    word = scale_word(scale)
    if standard == "NEM":
        stored = _row("clearance_nem102", _nem_word(scale)).get("BL1")
        if stored is None:
            return None
        return derive("half the room on straight track", "B/2", B=leaf(stored, "width of the room on straight track"))
    stored = _row("clearance_nmra", f"gauge_profile_{word}").get("width_prototype_ft")
    if stored is None:
        return None
    feet = leaf(stored, "width of the gauge, prototype", "ft (prototype)", stored="ft (prototype)")
    return derive("half the room on straight track", "304.8*W/(2*n)", W=feet, n=scale_ratio(scale, standard))


@lru_cache(maxsize=32)
def straight_centers(scale: str) -> Working | None:
    """Return how far apart two tracks lie on the straight by NEM 112 (open line), mm; None where the data has none."""
    stored = _row("track_centers_nem112", _nem_word(scale)).get("open_line_straight")
    return None if stored is None else leaf(stored, "between tracks on the straight, open line")


def _pair(table: Entry, place: int) -> tuple[Working, Working]:
    rows = table.value if isinstance(table.value, tuple) else ()
    pair = rows[place]
    assert isinstance(pair, tuple)

    def one(at: int, name: str) -> Working:
        number = pair[at]
        assert isinstance(number, int | float)
        return of(
            float(number),
            name,
            key=f"{table.key}.{place}.{at}",
            source=str(table.citation),
            basis=table.citation.basis,
            note=table.note,
            text=f"{number_text(number)} mm",
        )

    return one(0, "radius in the table"), one(1, "widening in the table")


@dataclass(frozen=True, slots=True)
class TrackCenters:
    """Distance between the middles of two tracks, mm.

    Args:
        distance: on the curve.
        what: whose figure it is, in words.
    """

    distance: Working
    what: str


def track_centers(scale: str, standard: str, radius: Working) -> TrackCenters | None:
    """Return how far apart two tracks lie on a curve, or None where the data has nothing for curves of the scale.

    Under NMRA: the table of S-8 where it was read (O, S), class I; in other scales the straight distance and a rule of
    practice for curves. NEM's table for curves is not in the data.
    """
    word = scale_word(scale)
    if standard == "NEM":
        return None
    row = _row("track_centers_nmra_s8", word)
    if "degrees" in row:
        return _from_table(row, radius)
    tangent = _row("track_centers_nmra_s8", f"{word}_tangent").get("tangent")
    if tangent is None:
        tangent = _row("track_centers_nmra_s8", f"{word}_14_scale_ft").get("tangent")
    rule = _row("track_centers_nmra_s8", "empirical_rule")
    factor = rule.get(f"k_in_sq.{word}")
    if tangent is None or factor is None:
        return None
    straight = leaf(tangent, "between tracks on the straight")
    k = of(
        factor.number * 25.4 * 25.4,
        "factor for curves",
        "mm2",
        key=factor.key,
        source=str(factor.citation),
        basis=factor.citation.basis,
        note=factor.note,
        text=f"{number_text(factor.number)} sq in",
    )
    distance = derive("between tracks on the curve", "c + k/R", c=straight, k=k, R=radius)
    return TrackCenters(distance, "straight distance of S-8 and a rule of practice for curves")


def _from_table(row: Mapping[str, Entry], radius: Working) -> TrackCenters | None:
    radii, spans = row["radius_in"], row["class_I"]
    count = len(radii.value) if isinstance(radii.value, tuple) else 0
    flattest = _listed(radii, 1, "flattest radius in the table", "in")
    if radius.value >= flattest.value:
        distance = derive(
            "between tracks on the curve",
            "c0 + (c1 - c0)*r1/R",
            note="between the straight and the flattest curve of the table, by curvature",
            c0=_listed(spans, 0, "between tracks on the straight", "in"),
            c1=_listed(spans, 1, "between tracks at that radius", "in"),
            r1=flattest,
            R=radius,
        )
        return TrackCenters(distance, "S-8, class I")
    for place in range(1, count - 1):
        high, low = _listed(radii, place, "radius in the table", "in"), _listed(radii, place + 1, "radius", "in")
        if low.value - 1e-6 <= radius.value <= high.value + 1e-6:
            distance = derive(
                "between tracks on the curve",
                "c1 + (c2 - c1)*(R - r1)/(r2 - r1)",
                note="between the two radii of the table next to it",
                c1=_listed(spans, place, "between tracks at that radius", "in"),
                c2=_listed(spans, place + 1, "between tracks at the next radius", "in"),
                R=radius,
                r1=high,
                r2=low,
            )
            return TrackCenters(distance, "S-8, class I")
    return None


@dataclass(frozen=True, slots=True)
class RadiusClass:
    """A class of radius, mm, and what it is for."""

    radius: Working
    what: str


def radius_classes(scale: str, standard: str, length: Working | None, gauge: Working | None) -> tuple[RadiusClass, ...]:
    """Return the least radii that a standard names for a scale, the smallest first.

    Args:
        scale: see ``scales``.
        standard: "NMRA" or "NEM".
        length: of the car's body, mm; NEM's radii go by it.
        gauge: of the track, mm; NEM's are multiples of it.
    """
    word = scale_word(scale)
    found: list[RadiusClass] = []
    if standard == "NEM":
        group = car_group(scale, length) if length is not None else None
        row = _row("minimum_radius_nem111", "standard_gauge_factors")
        if group is None or gauge is None:
            return ()
        for name, what in (
            ("permitted_minimum", "least permitted"),
            ("station_side_track", "side track of a station"),
            ("main_track_branch", "main track of a branch"),
            ("main_track_main", "main track of a main line"),
        ):
            factor = row.get(f"{name}.{group[0]}")
            if factor is not None:
                times = leaf(factor, f"{what}, group {group[0]}", "", stored="times gauge")
                radius = derive(f"radius, {what}", "k*G", k=times, G=gauge)
                found.append(RadiusClass(radius, f"NEM 111, {what}, cars of group {group[0]}"))
        return tuple(found)
    note = _row("minimum_radius_nmra", "RP11_2018_note") if word == "HO" else {}
    for name, what in (("class_G_radius", "class G"), ("class_I_radius", "class I")):
        if name in note:
            found.append(RadiusClass(leaf(note[name], f"radius of {what}"), f"TN-11, {what}"))
    for row_name, what in (
        ("RP11_old_branch", "the older RP-11, branch, cars to 50 ft"),
        ("RP11_old_80ft", "the older RP-11, cars to 80 ft"),
        ("RP11_old_80ft_O", "the older RP-11, cars to 80 ft"),
        ("RP11_old_all_equipment", "the older RP-11, all equipment"),
        ("MRP1_industrial", "MRP-1.0, industrial track of modules"),
        ("MRP1_mainline", "MRP-1.0, main line of modules"),
    ):
        stored = _row("minimum_radius_nmra", row_name).get(word)
        if stored is not None:
            found.append(RadiusClass(leaf(stored, f"radius of {what}"), what))
    return tuple(sorted(found, key=lambda each: each.radius.value))


@dataclass(frozen=True, slots=True)
class Extreme:
    """The shortest or longest car that a standard speaks of, mm at model size."""

    name: str
    length: Working
    centers: Working
    from_memory: bool


@lru_cache(maxsize=32)
def extremes(scale: str, standard: str = "NMRA") -> tuple[Extreme, ...]:
    """Return the shortest and the longest car that a standard speaks of; empty where the data has none.

    NEM 103: the prototypes of its groups A and C. NMRA: the cars "to 50 ft" and "to 80 ft" of the older RP-11; their
    truck centres are not in it, and are what is usual for such cars, from memory.
    """
    ratio = scale_ratio(scale, standard)
    if standard == "NEM":
        row = _row("car_groups_nem103", "prototype")
        found = []
        for group, word in (("A", "shortest"), ("C", "longest")):
            body, pivots = row.get(f"{group}.body"), row.get(f"{group}.pivot_centres")
            if body is None or pivots is None:
                return ()
            long = leaf(body, f"length of a car of group {group}", "m", stored="m")
            wide = leaf(pivots, f"truck centres of a car of group {group}", "m", stored="m")
            found.append(
                Extreme(
                    f"{word} of NEM 103 (group {group})",
                    derive(f"length of the {word} neighbour", "1000*L/n", L=long, n=ratio),
                    derive(f"truck centres of the {word} neighbour", "1000*c/n", c=wide, n=ratio),
                    False,
                )
            )
        return tuple(found)
    made = []
    rp11 = under("standards", "minimum_radius_nmra")
    short = rp11.get("RP11_old_branch", {}).get("freight_cars_to_ft")
    long_entry = rp11.get("RP11_old_80ft", {}).get("cars_to_ft")
    usual = under("anatomy", "length").get("tc-box-50", {}).get("typical")
    share = find("choices", "choice", "truck_centers_long_share", "value")
    if short is None or long_entry is None or usual is None or share is None:
        return ()
    feet = leaf(short, "length of a 50 ft car", "ft", stored="ft")
    inches = leaf(usual, "truck centres of 50 ft cars, prototype", "in (prototype)", stored="in (prototype)")
    made.append(
        Extreme(
            "RP-11's cars to 50 ft",
            derive("length of the shortest neighbour", "304.8*L/n", L=feet, n=ratio),
            derive("truck centres of the shortest neighbour", "25.4*c/n", c=inches, n=ratio),
            True,
        )
    )
    feet = leaf(long_entry, "length of an 80 ft car", "ft", stored="ft")
    part = leaf(share, "truck centres of long cars over their length", "", stored="")
    length = derive("length of the longest neighbour", "304.8*L/n", L=feet, n=ratio)
    made.append(
        Extreme(
            "RP-11's cars to 80 ft",
            length,
            derive("truck centres of the longest neighbour", "s*L", s=part, L=length),
            True,
        )
    )
    return tuple(made)
