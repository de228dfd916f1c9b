"""The centre sill between the body bolsters: box, channels, two Z, fishbelly, or a flat strip on a square core.

It ends at the inner faces of the bolsters, because beyond them are the trucks' bearings and the coupler boxes. Depths
are from the floor's underside down. What the data says of the real car is kept above the bolster's lower face less a
gap, where trucks swing, and above the least clearance over the rail.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import Literal

from carwright.car.model import Car, PieceChange
from carwright.findings import Finding
from carwright.frame.layout import to_scale
from carwright.frame.plates import (
    MID_CAR,
    ZERO,
    Datum,
    Station,
    corner,
    flat_pose,
    piece_of,
    upright_along_pose,
)
from carwright.frame.slopes import sloped
from carwright.lengths import show_in
from carwright.pieces import Piece
from carwright.reference import FrameDefault, practice_value
from carwright.reference.anatomy import anatomy
from carwright.working import Working, chosen, derive

__all__ = ["Sill", "SillForm", "SillLimits", "Span", "center_sill", "form_wanted"]

SillForm = Literal["box", "channels", "z", "fishbelly", "core", "stub", "none"]
"""``z`` is two Z sections welded at the top; ``stub`` ends behind the bolsters, with nothing between them."""

_WORDS: tuple[tuple[str, SillForm], ...] = (
    ("fishbelly", "fishbelly"),
    ("deep box", "fishbelly"),
    ("box", "box"),
    ("built-up", "box"),
    ("cover plates above and below", "box"),
    ("z", "z"),
    ("channel", "channels"),
    ("core", "core"),
    ("strip", "core"),
    ("wood", "core"),
    ("truss", "core"),
    ("stub", "stub"),
    ("none", "none"),
)
"""Words that name a form, in the order in which they are looked for."""


@dataclass(frozen=True, slots=True)
class Span:
    """The sill's place along the car: between the bolsters.

    Args:
        length: mm.
        middle: of it.
        centers: truck pivot to truck pivot, mm.
    """

    length: Working
    middle: Station
    centers: Working


@dataclass(frozen=True, slots=True)
class SillLimits:
    """Greatest depth below the floor, mm: at the bolsters, and over the rail at mid-car; None where not known."""

    at_bolster: Working | None
    over_rail: Working | None


@dataclass(frozen=True, slots=True)
class Sill:
    """The sill as designed.

    Args:
        form: its form.
        depth: at mid-car, mm; None where there is no sill between the bolsters.
        half_width: over all, from the centre line, mm; zero without a sill.
        face: outer face of its side from the centre line, mm, where a pipe enters it.
        tail: how near to the centre line a pipe comes inside, mm: through a web, or half-way into a core.
        wall: thickness that a pipe passes there, mm.
        pieces: as made.
        findings: on its form and depth.
    """

    form: SillForm
    depth: Working | None
    half_width: Working
    face: Working | None
    tail: Working | None
    wall: Working | None
    pieces: tuple[Piece, ...]
    findings: tuple[Finding, ...]


def form_wanted(car: Car, default: FrameDefault | None) -> tuple[SillForm, Finding | None]:
    """Return the form of the sill: the file's, else that of the type; a finding where the file's word is not known."""
    usual: SillForm = "none" if default is None else (_form_of(default.center_sill) or "channels")
    word = car.underframe.center_sill.strip().lower()
    if not word:
        return usual, None
    found = _form_of(word)
    if found is not None:
        return found, None
    return usual, Finding(
        "center_sill_form",
        "watch",
        f'"{car.underframe.center_sill}" is no form of centre sill that can be drawn; {usual}, as the type has, is.',
        mend="Give underframe.center_sill as box, channels, Z, fishbelly, core, stub or none.",
        source="geometry",
    )


def _form_of(words: str) -> SillForm | None:
    lowered = words.lower()
    return next((form for word, form in _WORDS if (word in lowered if word != "z" else " z" in f" {lowered}")), None)


def _capped(
    name: str, depth: Working, caps: tuple[tuple[str, Working | None], ...], typed: bool, units: Literal["in", "mm"]
) -> tuple[Working, Finding | None]:
    """Return a depth held to the least of its limits, and a finding where that bites.

    What the file gives is kept as it is and the finding says so.
    """
    known = [(why, cap) for why, cap in caps if cap is not None]
    if not known:
        return depth, None
    why, cap = min(known, key=lambda each: each[1].value)
    if depth.value <= cap.value + 1e-9:
        return depth, None
    margin = derive(f"{name} to spare", "m - d", m=cap, d=depth)
    shown, limit = show_in(depth.value, units), show_in(cap.value, units)
    if typed:
        because = f"The {name} of {shown} reaches below {why}, which is {limit} under the floor."
        return depth, Finding(
            "sill_depth",
            "fail",
            because,
            depth,
            cap,
            margin,
            mend=f"The deepest that can be built is {limit}.",
            source="geometry",
        )
    step = practice_value("cut_step").value
    built = chosen(
        max(step, floor((cap.value + 1e-9) / step) * step),
        name,
        note=f"held above {why}, to a whole thousandth of an inch",
    )
    because = f"The type's {name}, {shown}, would reach below {why}; it is built {show_in(built.value, units)} deep."
    return built, Finding(
        "sill_depth",
        "ok",
        because,
        built,
        cap,
        derive(f"{name} to spare", "m - d", m=cap, d=built),
        mend="A higher bolster would let it be deeper.",
        source="geometry",
    )


def _at_least(
    name: str, check: str, size: Working, least: Working, units: Literal["in", "mm"]
) -> tuple[Working, Finding | None]:
    """Return a size, or the least that its plates can be built to and a finding that says so."""
    if size.value >= least.value - 1e-9:
        return size, None
    shown, limit = show_in(size.value, units), show_in(least.value, units)
    return least, Finding(
        check,
        "fail",
        f"The {name} of {shown} leaves its plates no room; {limit} is drawn.",
        size,
        least,
        derive(f"{name} to spare", "d - m", d=size, m=least),
        mend=f"The least that can be built is {limit}; thinner plate would allow less.",
        source="geometry",
    )


def center_sill(
    car: Car,
    default: FrameDefault | None,
    datum: Datum,
    span: Span,
    plate: Working,
    limits: SillLimits,
    wish: PieceChange | None,
) -> Sill:
    """Return the centre sill with its pieces.

    Args:
        car: for its scale, units and wished form.
        default: the frame of its kind and year.
        datum: the floor's underside.
        span: its place along the car.
        plate: thickness of its plates, mm.
        limits: how deep it may be.
        wish: the file's ``[[piece]]`` "center_sill": thickness is its depth, width over all (its place and length
            are in ``span``); or None.
    """
    form, finding = form_wanted(car, default)
    findings = [] if finding is None else [finding]
    if form in ("none", "stub") or (wish is not None and wish.drop):
        return Sill(form, None, ZERO, None, None, None, (), tuple(findings))
    mid = default.center_sill_mid if default is not None else None
    ends = default.center_sill_bolster if default is not None else None
    over_all = default.center_sill_width if default is not None else None
    webs = default.web_gap if default is not None else None
    belly = form == "fishbelly"
    depth = to_scale(
        "depth of the centre sill",
        mid or (anatomy("center_sill", "fishbelly-mid") if belly else anatomy("center_sill", "z26-depth")),
        car,
    )
    at_end = depth
    if belly:
        at_end = to_scale(
            "depth of the centre sill at the bolsters", ends or anatomy("center_sill", "fishbelly-bolster"), car
        )
    width = to_scale("width of the centre sill", over_all or anatomy("center_sill", "cover-width"), car)
    gap = to_scale("between the sill's webs", webs or anatomy("center_sill", "web-gap"), car)
    typed = wish is not None and wish.thickness is not None
    if wish is not None:
        depth = wish.thickness or depth
        at_end = at_end if belly or wish.thickness is None else depth
        width = wish.width or width
    rail = ("the least clearance over the rail", limits.over_rail)
    bolster = ("the bolster's lower face, where the trucks swing", limits.at_bolster)
    if belly:
        depth, first = _capped("depth of the centre sill", depth, (rail,), typed, car.info.units)
        at_end, second = _capped("depth of the centre sill at the bolsters", at_end, (bolster,), False, car.info.units)
        findings += [each for each in (first, second) if each is not None]
    else:
        depth, first = _capped("depth of the centre sill", depth, (rail, bolster), typed, car.info.units)
        at_end = depth
        findings += [] if first is None else [first]
    least = derive("least depth of the centre sill", "3*t", t=plate, note="both plates, and a web as high as one")
    depth, shallow = _at_least("depth of the centre sill", "sill_depth_least", depth, least, car.info.units)
    at_end, thin = (
        _at_least("depth of the centre sill at the bolsters", "sill_end_depth", at_end, least, car.info.units)
        if belly
        else (depth, None)
    )
    narrowest = derive("least width of the centre sill", "g + 4*t", g=gap, t=plate, note="webs, and flanges as wide")
    width, narrow = _at_least("width of the centre sill", "sill_width", width, narrowest, car.info.units)
    findings += [each for each in (shallow, thin, narrow) if each is not None]
    half = derive("half the width of the centre sill", "W/2", W=width)
    if form == "core":
        return _on_core(datum, span, plate, depth, width, gap, half, tuple(findings))
    build = _Build(datum, span, plate, depth, at_end, width, gap)
    parts = {"box": build.box, "channels": build.channels, "z": build.z, "fishbelly": build.fishbelly}
    face = derive("outer face of the sill's side", "g/2 + t", g=gap, t=plate)
    half = max(half, face, key=lambda each: each.value)
    tail = derive("inner face of the sill's side", "g/2", g=gap)
    return Sill(form, depth, half, face, tail, plate, tuple(parts[form]()), tuple(findings))


def _on_core(
    datum: Datum,
    span: Span,
    plate: Working,
    depth: Working,
    width: Working,
    gap: Working,
    half: Working,
    findings: tuple[Finding, ...],
) -> Sill:
    name, length = "center_sill_core", span.length
    thick = derive("depth of the core", "D - t", D=depth, t=plate)
    core = piece_of(
        name,
        thickness=thick,
        length=length,
        width=gap,
        poses=(flat_pose(name, datum, span.middle, ZERO, thick),),
        snapped=False,
    )
    strip = piece_of(
        "center_sill_flange",
        thickness=plate,
        length=length,
        width=width,
        poses=(flat_pose("center_sill_flange", datum, span.middle, ZERO, depth),),
    )
    face = derive("side of the core", "g/2", g=gap)
    tail = derive("half-way into the core", "g/4", g=gap)
    return Sill("core", depth, half, face, tail, tail, (core, strip), findings)


@dataclass(frozen=True, slots=True)
class _Build:
    """What all built-up sills share: plates of one thickness, two webs a gap apart, a width over all."""

    datum: Datum
    span: Span
    plate: Working
    depth: Working
    at_end: Working
    width: Working
    gap: Working

    def flat(self, name: str, width: Working, y: Working, drop: Working) -> Piece:
        """Return a strip along the sill, its lower face at ``drop``."""
        pose = flat_pose(name, self.datum, self.span.middle, y, drop)
        return piece_of(name, thickness=self.plate, length=self.span.length, width=width, poses=(pose,))

    def webs(self, height: Working, middle: Working) -> list[Piece]:
        """Return both webs, ``height`` high, ``middle`` below the floor at half height."""
        left = derive("left face of the left web", "g/2 + t", g=self.gap, t=self.plate)
        right = derive("left face of the right web", "-g/2", g=self.gap)
        return [
            piece_of(
                name,
                thickness=self.plate,
                length=self.span.length,
                width=height,
                poses=(upright_along_pose(name, self.datum, self.span.middle, y, middle),),
            )
            for name, y in (("center_sill_side_left", left), ("center_sill_side_right", right))
        ]

    def flanges(self) -> list[Piece]:
        """Return the lower flanges, turned outward from the webs."""
        width = derive("flange of the centre sill", "(W - g)/2 - t", W=self.width, g=self.gap, t=self.plate)
        y = derive("middle of the flange", "W/4 + g/4 + t/2", W=self.width, g=self.gap, t=self.plate)
        other = derive("middle of the right flange", "-y", y=y)
        return [
            self.flat("center_sill_flange_left", width, y, self.depth),
            self.flat("center_sill_flange_right", width, other, self.depth),
        ]

    def box(self) -> list[Piece]:
        """Return cover plates above and below two webs."""
        height = derive("height of the webs", "D - 2*t", D=self.depth, t=self.plate)
        middle = derive("middle of the webs", "D/2", D=self.depth)
        return [
            self.flat("center_sill_top", self.width, ZERO, self.plate),
            self.flat("center_sill_bottom", self.width, ZERO, self.depth),
            *self.webs(height, middle),
        ]

    def channels(self) -> list[Piece]:
        """Return two webs with their lower flanges; the upper ones lie against the floor and are left out."""
        return [*self.webs(self.depth, derive("middle of the webs", "D/2", D=self.depth)), *self.flanges()]

    def z(self) -> list[Piece]:
        """Return two Z sections joined at the top: closed above, open below, lower flanges outward."""
        height = derive("height of the webs", "D - t", D=self.depth, t=self.plate)
        middle = derive("middle of the webs", "(D + t)/2", D=self.depth, t=self.plate)
        top = derive("width over the webs", "g + 2*t", g=self.gap, t=self.plate)
        return [self.flat("center_sill_top", top, ZERO, self.plate), *self.webs(height, middle), *self.flanges()]

    def fishbelly(self) -> list[Piece]:
        """Return webs that are deep in the middle and taper to the bolsters, between cover plates."""
        t, length = self.plate, self.span.length
        full = derive("half of the deep part", "c/k/2", c=self.span.centers, k=practice_value("fishbelly_flat"))
        deep = derive("height of the webs", "D - 2*t", D=self.depth, t=t)
        shallow = derive("height of the webs at the bolsters", "d - 2*t", d=self.at_end, t=t)
        given = {"L": length, "H": deep, "h": shallow, "f": full}
        outline = (
            corner("L/2", "H/2 - h", **given),
            corner("L/2", "H/2", **given),
            corner("-L/2", "H/2", **given),
            corner("-L/2", "H/2 - h", **given),
            corner("-f", "-H/2", **given),
            corner("f", "-H/2", **given),
        )
        area = derive("area of a web", "L*h + (L/2 + f)*(H - h)", "mm2", L=length, H=deep, h=shallow, f=full)
        middle = derive("middle of the webs", "D/2", D=self.depth)
        left = derive("left face of the left web", "g/2 + t", g=self.gap, t=t)
        right = derive("left face of the right web", "-g/2", g=self.gap)
        webs = [
            piece_of(
                name,
                thickness=t,
                length=length,
                width=deep,
                outline=outline,
                area=area,
                poses=(upright_along_pose(name, self.datum, self.span.middle, y, middle),),
            )
            for name, y in (("center_sill_side_left", left), ("center_sill_side_right", right))
        ]
        bottom_length = derive("length of the deep part", "2*f", f=full)
        bottom = piece_of(
            "center_sill_bottom",
            thickness=t,
            length=bottom_length,
            width=self.width,
            poses=(flat_pose("center_sill_bottom", self.datum, self.span.middle, ZERO, self.depth),),
        )
        outer = derive("half of the sill's length", "L/2", L=length)
        above = derive("top of the lower plate at mid-car", "D - t", D=self.depth, t=t)
        rise = derive("rise of the centre sill's taper", "D - d", D=self.depth, d=self.at_end)
        taper = sloped("the centre sill's taper", near=full, far=outer, deep=above, rise=rise, plate=t)
        slopes = []
        for name, sign in (("center_sill_bottom_a", ""), ("center_sill_bottom_b", "-")):
            x = derive(f"middle of {name}", f"{sign}s", s=taper.middle)
            if self.span.middle is not MID_CAR:
                x = derive(f"middle of {name}", f"m {sign or '+'} s", m=self.span.middle.x, s=taper.middle)
            turn = derive(f"slope of {name}", "-r" if sign == "" else "r", "deg", r=taper.turn)
            pose = flat_pose(name, self.datum, Station(x), ZERO, taper.drop, about_y=turn)
            slopes.append(piece_of(name, thickness=t, length=taper.length, width=self.width, poses=(pose,)))
        return [self.flat("center_sill_top", self.width, ZERO, t), bottom, *slopes, *webs]
