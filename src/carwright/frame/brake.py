"""The brake gear as placed parts: cylinder, reservoir, valve, levers and rods, of the K or the AB kind, or none.

Places are those of the data, at scale; what would stand in a crossbearer, in the centre sill or below another part is
moved to the nearest place that is free. Heights of the data are told from the underside of a box car's floor. Which
side of the car carries the cylinder was not found: it is drawn on the left; look at a photograph.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from carwright.car.model import Car
from carwright.findings import Finding
from carwright.frame.layout import Room, to_scale, usual
from carwright.frame.members import Web
from carwright.frame.plates import MID_CAR, ZERO, Datum, Station, corner, flat_pose, piece_of, rectangle
from carwright.frame.sill import Sill
from carwright.pieces import Form, Piece
from carwright.reference import FrameDefault, practice_value
from carwright.reference.anatomy import BrakePart, anatomy, brake_set
from carwright.reference.store import entry
from carwright.working import Working, counted, derive

__all__ = ["BrakeGear", "brake_gear", "brake_kind"]

BrakeKind = Literal["K", "AB", "none"]


@dataclass(frozen=True, slots=True)
class BrakeGear:
    """The parts as placed, and what was found."""

    kind: BrakeKind
    pieces: tuple[Piece, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Box:
    """Room that a placed part takes, seen from below, mm."""

    low: float
    high: float
    left: float
    right: float

    def meets(self, other: _Box, gap: float) -> bool:
        """Return whether two lie nearer than ``gap``."""
        return (
            self.low < other.high + gap
            and other.low < self.high + gap
            and self.left < other.right + gap
            and other.left < self.right + gap
        )


def brake_kind(car: Car, default: FrameDefault | None) -> BrakeKind:
    """Return the kind of brake: the file's, else by the years built and rebuilt, else by the frame of the type.

    Source:
        First and last years of both kinds stand in the data (``anatomy.default_brake``): a car built or rebuilt once
        the later kind was out has it, and from the year after the older one ended every car has.
    """
    word = car.underframe.brake.strip().upper()
    if word == "NONE":
        return "none"
    if word in ("K", "AB"):
        return "AB" if word == "AB" else "K"
    new_from = _year("ab-house", 0)
    old_until = _year("k-combined", 1)
    fitted = max((year for year in (car.info.built, car.info.rebuilt) if year is not None), default=None)
    if fitted is not None:
        if fitted >= new_from:
            return "AB"
        return "AB" if car.info.year is not None and car.info.year > old_until else "K"
    if default is None:
        return "none"
    return "K" if default.brake.upper().startswith("K") and "AB" not in default.brake.upper() else "AB"


def _brake_finding(car: Car, brake: BrakeKind) -> Finding:
    """Return which brake is drawn and why; to watch where the car may as well have had the other."""
    source = str(entry("anatomy", "default_brake", "ab-house", "years").citation)
    new_from, old_until = _year("ab-house", 0), _year("k-combined", 1)
    built, rebuilt, year = car.info.built, car.info.rebuilt, car.info.year
    if car.underframe.brake.strip().upper() in ("K", "AB"):
        return Finding("brake", "ok", f"The brake is {brake}, as the file says.", source="the owner's own")
    if built is not None or rebuilt is not None:
        last = max(each for each in (built, rebuilt) if each is not None)
        word = "rebuilt" if last == rebuilt else "built"
        because = f"The brake is {brake}: the car was {word} in {last}, and AB came in {new_from}."
        if brake == "AB" and last < new_from:
            because = f"The brake is AB: the car was {word} in {last}, and K ended in {old_until}."
        return Finding("brake", "ok", because, source=source)
    if year is None:
        when, sure = "the usual frame of its kind; no year is given", False
    else:
        when, sure = f"the year modelled, {year}", year < new_from or year > old_until
    other = "K" if brake == "AB" else "AB"
    mend = (
        ""
        if sure
        else f'Give car.built (AB came in {new_from}, K ended in {old_until}), or underframe.brake = "{other}".'
    )
    return Finding("brake", "ok" if sure else "watch", f"The brake is {brake}, by {when}.", mend=mend, source=source)


def _year(name: str, place: int) -> int:
    years = entry("anatomy", "default_brake", name, "years").value
    assert isinstance(years, tuple)
    return int(str(years[place]))


@dataclass(frozen=True, slots=True)
class _Yard:
    """Where brake parts may stand."""

    car: Car
    datum: Datum
    webs: Sequence[Web]
    sill: Sill
    room: Room
    gap: Working
    plate: Working

    def under_ties(self, low: float, high: float, near: float, far: float) -> Web | None:
        """Return the light web that hangs lowest over a stretch, or None."""
        over = [
            web
            for web in self.webs
            if not web.member.heavy
            and web.member.at.value + web.flange.value / 2 > low
            and web.member.at.value - web.flange.value / 2 < high
            and max(web.depth_at(near), web.depth_at(far)) > 0
        ]
        return max(over, key=lambda web: web.lowest_mm, default=None)

    def place(self, name: str, wanted: Working, length: Working, box: _Box, taken: Sequence[_Box]) -> Station | None:
        """Return the free place nearest to the one wanted: clear of crossbearers, trucks and other parts."""
        half = length.value / 2
        heavy = [web for web in self.webs if web.member.heavy]
        gap = self.gap.value

        def free(x: float) -> bool:
            if x + half > self.room.a.value or x - half < self.room.b.value:
                return False
            if any(abs(x - web.member.at.value) < half + web.flange.value / 2 + gap - 1e-9 for web in heavy):
                return False
            here = _Box(x - half, x + half, box.left, box.right)
            return not any(here.meets(other, gap - 1e-9) for other in taken)

        if free(wanted.value):
            return MID_CAR if abs(wanted.value) < 1e-9 else Station(wanted)
        choices = []
        for web in heavy:
            for sign in ("+", "-"):
                choices.append(
                    derive(
                        f"middle of {name}, beside {web.member.name}",
                        f"x {sign} (f + l)/2 {sign} g",
                        x=web.member.at.x,
                        f=web.flange,
                        l=length,
                        g=self.gap,
                    )
                )
        choices.append(derive(f"middle of {name}, at truck A", "a - l/2", a=self.room.a.x, l=length))
        choices.append(derive(f"middle of {name}, at truck B", "b + l/2", b=self.room.b.x, l=length))
        open_ones = [each for each in choices if free(each.value)]
        if not open_ones:
            return None
        return Station(min(open_ones, key=lambda each: abs(each.value - wanted.value)))


_NAMES = {
    "cylinder": "brake_cylinder",
    "auxiliary reservoir with valve": "brake_reservoir",
    "double reservoir": "brake_reservoir",
    "control valve": "brake_valve",
    "cylinder lever": "brake_lever_cylinder",
    "floating lever": "brake_lever_floating",
}


def brake_gear(
    car: Car,
    kind: str | None,
    default: FrameDefault | None,
    datum: Datum,
    webs: Sequence[Web],
    sill: Sill,
    room: Room,
    plate: Working,
) -> BrakeGear:
    """Return the brake gear of a car.

    Args:
        car: with its years and wishes.
        kind: kind of car.
        default: the frame of its kind and year.
        datum: the floor's underside.
        webs: of the cross members.
        sill: the centre sill.
        room: between the trucks.
        plate: thickness of levers, mm.
    """
    brake = brake_kind(car, default)
    if brake == "none" or kind is None:
        return BrakeGear("none", (), ())
    parts = brake_set(kind, brake)
    said = _brake_finding(car, brake)
    if parts is None:
        return BrakeGear(
            brake,
            (),
            (
                said,
                Finding(
                    "brake_gear",
                    "watch",
                    f"Where the {brake} brake's parts hang under a car of this kind was not found, so none are drawn.",
                    mend='Add them from a photograph as [[piece]], or give underframe.brake = "none".',
                    source="geometry",
                ),
            ),
        )
    yard = _Yard(car, datum, webs, sill, room, usual("frame_gap", "gap between brake parts", car), plate)
    pieces: list[Piece] = []
    findings: list[Finding] = [said]
    taken: list[_Box] = []
    for part in parts.parts:
        if part.diameter is None:
            continue
        made = _vessel(yard, part, part.diameter, taken)
        if made is None:
            findings.append(_no_room(part.name))
        else:
            pieces.append(made)
    levers: dict[str, Piece] = {}
    for part in parts.parts:
        if part.diameter is None:
            lever = _lever(yard, part, taken)
            if lever is None:
                findings.append(_no_room(part.name))
            else:
                levers[part.name] = lever
                pieces.append(lever)
    lever_part = next((part for part in parts.parts if part.name in levers), None)
    if lever_part is not None:
        pieces += _rods(yard, levers, _rod_top(yard, lever_part))
    return BrakeGear(brake, tuple(pieces), tuple(findings))


def _no_room(part: str) -> Finding:
    return Finding(
        f"brake_room_{part.replace(' ', '_')}",
        "watch",
        f"There is no room for the {part} between crossbearers and trucks, so it is left out.",
        mend="Move or drop a crossbearer, or add the part where a photograph shows it.",
        source="geometry",
    )


def _along(part: BrakePart, car: Car) -> tuple[Working, Working]:
    """Return where the middle of a part stands along the car, and its length, mm."""
    middle = derive(f"{part.name} from the middle, toward A", "-(s + e)/2", part.start.unit, s=part.start, e=part.stop)
    length = derive(f"length of the {part.name}", "e - s", part.start.unit, s=part.start, e=part.stop)
    return to_scale(f"middle of the {part.name}", middle, car), to_scale(f"length of the {part.name}", length, car)


def _drop(part: BrakePart, car: Car) -> Working:
    """Return how far below the floor a part's middle hangs on the real car, at scale, mm."""
    under = derive(
        f"{part.name} below a box car's floor",
        "u - h",
        part.height.unit,
        u=anatomy("ride", "floor-underside"),
        h=part.height,
    )
    return to_scale(f"middle of the {part.name} below the floor", under, car)


def _vessel(yard: _Yard, part: BrakePart, across: Working, taken: list[_Box]) -> Piece | None:
    """Return a cylinder, reservoir or valve where there is room for it, and note the room it takes."""
    name = _NAMES[part.name]
    car = yard.car
    wanted, length = _along(part, car)
    thick = to_scale(f"diameter of the {part.name}", across, car)
    offset = to_scale(f"{part.name} from the centre line", part.offset, car)
    beside = derive(f"{part.name} beside the centre sill", "s + g + d/2", s=yard.sill.half_width, g=yard.gap, d=thick)
    side = max(offset, beside, key=lambda each: each.value)
    y = side if part.side == "one" else derive(f"{part.name}, on the right", "-y", y=side)
    half = thick.value / 2
    at = yard.place(name, wanted, length, _Box(0, 0, y.value - half, y.value + half), taken)
    if at is None:
        return None
    box = _Box(at.value - length.value / 2, at.value + length.value / 2, y.value - half, y.value + half)
    taken.append(box)
    lower = derive(f"lower side of the {part.name}", "m + d/2", m=_drop(part, car), d=thick)
    tie = yard.under_ties(box.low, box.high, side.value - half, side.value + half)
    if tie is not None:
        under_tie = derive(
            f"lower side of the {part.name}, below {tie.member.name}",
            "e + t + g + d",
            e=tie.deep,
            t=tie.plate,
            g=yard.gap,
            d=thick,
        )
        lower = max(lower, under_tie, key=lambda each: each.value)
    form: Form = "block" if name == "brake_valve" else "rod"
    return _solid(name, form, yard.datum, at, y, lower, length=length, across=thick)


def _solid(
    name: str, form: Form, datum: Datum, at: Station, y: Working, lower: Working, *, length: Working, across: Working
) -> Piece:
    """Return a rod along the car, or a block as wide as it is high."""
    volume = None
    if form == "rod":
        volume = derive(f"volume of {name}", "pi/4*d*d*l", "mm3", d=across, l=length)
    return Piece(
        name=name,
        quantity=counted(1, f"quantity of {name}", note="one for the car"),
        material="styrene",
        thickness_mm=across,
        thickness_min_mm=None,
        thickness_max_mm=None,
        length_mm=length,
        width_mm=across,
        area_mm2=derive(f"area of {name}, seen from above", "l*d", "mm2", l=length, d=across),
        outline_mm=rectangle(length, across),
        holes=(),
        pose=flat_pose(name, datum, at, y, lower),
        form=form,
        diameter_mm=across if form == "rod" else None,
        cut_length_mm=length,
        cut_width_mm=None if form == "rod" else across,
        volume_mm3=volume,
    )


def _lever(yard: _Yard, part: BrakePart, taken: list[_Box]) -> Piece | None:
    """Return a lever across the car below the centre sill, its middle on the centre line."""
    name = _NAMES[part.name]
    car = yard.car
    wanted, _ = _along(part, car)
    along = to_scale("depth of a brake lever", practice_value("brake_lever_depth"), car)
    across = to_scale("length of a brake lever", practice_value("brake_lever_length"), car)
    half = across.value / 2
    at = yard.place(name, wanted, along, _Box(0, 0, -half, half), taken)
    if at is None:
        return None
    taken.append(_Box(at.value - along.value / 2, at.value + along.value / 2, -half, half))
    lower = _rod_top(yard, part)
    pose = flat_pose(name, yard.datum, at, ZERO, lower)
    return piece_of(name, thickness=yard.plate, length=along, width=across, poses=(pose,))


def _rod_top(yard: _Yard, part: BrakePart) -> Working:
    """Return the lever's lower face below the floor: in the cylinder's plane, or below the sill where that is lower."""
    drop = derive("lower face of the brake levers", "m + t/2", m=_drop(part, yard.car), t=yard.plate)
    if yard.sill.depth is None:
        return drop
    below = derive(
        "lower face of the brake levers, below the sill", "D + g + t", D=yard.sill.depth, g=yard.gap, t=yard.plate
    )
    return max(drop, below, key=lambda each: each.value)


def _rods(yard: _Yard, levers: dict[str, Piece], lever: Working) -> list[Piece]:
    """Return the centre rod, the top rods to both trucks and the hand-brake rod, each as far as the trucks' room."""
    cylinder, floating = levers.get("cylinder lever"), levers.get("floating lever")
    if cylinder is None or floating is None:
        return []
    car = yard.car
    top = to_scale("diameter of a brake rod", anatomy("air_brake", "top-rod"), car)
    hand = to_scale("diameter of the hand-brake rod", anatomy("air_brake", "hand-rod"), car)
    aside = derive("top rod from the centre line", "w/6", w=cylinder.width_mm)
    other = derive("top rod to truck B from the centre line", "-w/6", w=cylinder.width_mm)
    outer = derive("hand-brake rod from the centre line", "w/2 - d", w=cylinder.width_mm, d=hand)
    x_cylinder, x_floating = cylinder.pose.x_mm, floating.pose.x_mm
    rods = (
        ("brake_rod_center", x_floating, x_cylinder, ZERO, top),
        ("brake_rod_a", yard.room.a.x, x_floating, aside, top),
        ("brake_rod_b", x_cylinder, yard.room.b.x, other, top),
        ("hand_brake_rod", x_cylinder, yard.room.b.x, outer, hand),
    )
    pieces = []
    for name, front, rear, y, wire in rods:
        if front.value - rear.value < 4 * wire.value:
            continue
        pieces.append(_rod(yard, name, front, rear, y, wire, lever))
    return pieces


def _rod(yard: _Yard, name: str, front: Working, rear: Working, y: Working, wire: Working, lever: Working) -> Piece:
    """Return a straight rod from ``rear`` to ``front``, lying against the levers from below."""
    length = derive(f"length of {name}", "a - b", a=front, b=rear)
    x = derive(f"middle of {name}", "(a + b)/2", a=front, b=rear)
    lower = derive(f"lower side of {name}", "l + d", l=lever, d=wire)
    given = {"L": length, "d": wire}
    return Piece(
        name=name,
        quantity=counted(1, f"quantity of {name}", note="one for the car"),
        material="phosphor bronze",
        thickness_mm=wire,
        thickness_min_mm=None,
        thickness_max_mm=None,
        length_mm=length,
        width_mm=wire,
        area_mm2=derive(f"area of {name}, seen from above", "l*d", "mm2", l=length, d=wire),
        outline_mm=rectangle(length, wire),
        holes=(),
        pose=flat_pose(name, yard.datum, Station(x), y, lower),
        form="wire",
        diameter_mm=wire,
        path_mm=(corner("L/2", "0", **given), corner("-L/2", "0", **given)),
        cut_length_mm=length,
        volume_mm3=derive(f"volume of {name}", "pi/4*d*d*l", "mm3", d=wire, l=length),
    )
