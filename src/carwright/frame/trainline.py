"""The train line: two lengths of wire that read as one pipe, with the holes they pass.

It leaves each end to the right of the coupler as one faces that end, so that it must change sides once: each length
runs along its own side through the cross members, bends near the middle and enters the centre sill at an angle. The
two tails lie on one line, so that they look like one pipe going through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from carwright.car.model import Car, Ends
from carwright.fasten.wires import WireHole, bore_length, wall_finding, wire_hole
from carwright.findings import Finding
from carwright.frame.layout import to_scale, usual
from carwright.frame.members import Web
from carwright.frame.plates import MID_CAR, ZERO, Datum, Station, corner, flat_pose
from carwright.frame.sill import Sill
from carwright.pieces import Hole, Piece, Point, said_piece
from carwright.reference import practice_value
from carwright.reference.anatomy import anatomy
from carwright.working import Working, counted, derive, derived

__all__ = ["TrainLine", "train_line", "with_holes"]


@dataclass(frozen=True, slots=True)
class TrainLine:
    """The two lengths, the holes by the piece that they are in, and what was found."""

    pieces: tuple[Piece, ...]
    holes: dict[str, Hole]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Course:
    """Where the line runs: ``side`` from the centre line, ``drop`` of its centre, crossing at ``cross``; mm."""

    wire: Working
    side: Working
    drop: Working
    cross: Station
    bend: Working
    tail: Working
    """Where the tails end, from the centre line, mm."""
    clear: Working | None = None
    """How far the line stays below the sill's upper plate, mm, where that decided its height."""
    beside: Working | None = None
    """How far it stays beside the sill, mm, where that decided its side."""


def _crossing(
    webs: Sequence[Web], side_mm: float, sill_mm: float, half_wire_mm: float, pivots: Ends[Working]
) -> Station:
    """Return where the line crosses the sill: the middle of the bay nearest to mid-car with room for both tails."""
    places = sorted((web.member.at for web in webs), key=lambda each: -each.value)
    candidates: list[tuple[float, Station]] = [(0.0, MID_CAR)]
    for first, last in pairwise(places):
        x = derive("middle of the bay where the train line crosses", "(x1 + x2)/2", x1=first.x, x2=last.x)
        if abs(x.value) > 1e-9:
            candidates.append((abs(x.value), Station(x)))
    candidates += [(abs(each.value), each) for each in places if abs(each.value) > 1e-9]
    near, far = sill_mm - half_wire_mm, side_mm + 2 * half_wire_mm

    def free(at: Station) -> bool:
        for web in webs:
            away = abs(web.member.at.value - at.value)
            half = web.flange.value / 2
            if away + half > near and away - half < far:
                return False
        return pivots.b.value + far < at.value < pivots.a.value - far

    ordered = sorted(candidates, key=lambda each: each[0])
    return next((at for _, at in ordered if free(at)), MID_CAR)


def _course(
    car: Car, hole: WireHole, webs: Sequence[Web], sill: Sill, plate: Working, pivots: Ends[Working]
) -> _Course:
    bend = practice_value("train_line_bend")
    wire = hole.wire
    wall = practice_value("wire_edge_diameters")
    usual_side = to_scale("train line from the centre line", anatomy("air_brake", "end-lateral"), car)
    beside = derive("train line beside the centre sill", "s + k*D", s=sill.half_width, k=wall, D=hole.wanted)
    side = max(usual_side, beside, key=lambda each: each.value)
    off = None if side is usual_side else derive("train line off the sill's side", "k*D", k=wall, D=hole.wanted)
    clear: Working | None = None
    shallow = min((web.deep for web in webs), key=lambda each: each.value, default=None)
    if shallow is None:
        drop = derive("centre of the train line below the floor", "d/2", d=wire)
    else:
        drop = derive("centre of the train line below the floor", "e/2", e=shallow)
        below_plate = derive("centre of the train line below the floor", "t + k*D", t=plate, k=wall, D=hole.wanted)
        lowest = shallow.value - wall.value * hole.wanted.value
        if sill.form in ("box", "z", "fishbelly") and drop.value < below_plate.value <= lowest:
            drop = below_plate
            clear = derive("train line below the sill's upper plate", "k*D", k=wall, D=hole.wanted)
        elif sill.form in ("box", "z", "fishbelly") and drop.value < below_plate.value:
            drop = derive("centre of the train line below the floor", "(t + e)/2", t=plate, e=shallow)
    tail = sill.tail
    if tail is None:
        tail = derive("end of the train line's tail from the centre line", "d/4", d=wire)
    cross = _crossing(webs, side.value, sill.half_width.value, wire.value / 2, pivots)
    return _Course(wire, side, drop, cross, bend, tail, clear, off)


def _length(course: _Course, datum: Datum, name: str, start: Working, sign: str) -> Piece:
    """Return one length: from ``start`` along its side, bent toward the sill; ``sign`` is "" at A and "-" at B."""
    at_a = sign == ""
    x0, bend, wire = course.cross, course.bend, course.wire
    reach = derive("tail's end from the crossing", "e/tan(radians(b))", e=course.tail, b=bend)
    inputs = {"s": start, "e": reach}
    if x0 is not MID_CAR:
        inputs["c"] = x0.x
    middle_of = " + c" if "c" in inputs else ""
    from_middle = " - c" if "c" in inputs else ""
    tail_sign, away = ("+", "") if at_a else ("-", "-")
    x = derived(f"middle of {name}", f"(s{middle_of} {tail_sign} e)/2", inputs)
    length = derived(f"length of {name} along the car", f"{away}(s{from_middle}) - e", inputs)
    width = derive(f"width of {name}", "o - e", o=course.side, e=course.tail)
    y = derive(f"middle of {name} across", f"{sign}(o + e)/2", o=course.side, e=course.tail)
    lower = derive(f"lower side of {name}", "c + d/2", c=course.drop, d=wire)
    given = {"L": length, "W": width, "b": bend, "d": wire}
    turned = "" if at_a else "-"

    def place(along: str, across: str) -> Point:
        return corner(f"{turned}({along})", f"{turned}({across})", **given)

    path = (
        place("L/2", "W/2"),
        place("-L/2 + W/tan(radians(b))", "W/2"),
        place("-L/2", "-W/2"),
    )
    outline = (
        place("L/2", "W/2 - d/2"),
        place("L/2", "W/2 + d/2"),
        place("-L/2 + W/tan(radians(b)) - d/2*tan(radians(b)/2)", "W/2 + d/2"),
        place("-L/2 - d/2*sin(radians(b))", "-W/2 + d/2*cos(radians(b))"),
        place("-L/2 + d/2*sin(radians(b))", "-W/2 - d/2*cos(radians(b))"),
        place("-L/2 + W/tan(radians(b)) + d/2*tan(radians(b)/2)", "W/2 - d/2"),
    )
    straight = derive(f"{name}, cut straight", "L - W/tan(radians(b)) + W/sin(radians(b))", L=length, W=width, b=bend)
    return Piece(
        name=name,
        quantity=counted(1, f"quantity of {name}", note="one for the car"),
        material="phosphor bronze",
        thickness_mm=wire,
        thickness_min_mm=None,
        thickness_max_mm=None,
        length_mm=length,
        width_mm=width,
        area_mm2=derive(f"area of {name}, seen from above", "l*d", "mm2", l=straight, d=wire),
        outline_mm=outline,
        holes=(),
        pose=flat_pose(name, datum, Station(x), y, lower),
        form="wire",
        diameter_mm=wire,
        path_mm=path,
        cut_length_mm=straight,
        volume_mm3=derive(f"volume of {name}", "pi/4*d*d*l", "mm3", d=wire, l=straight),
    )


def train_line(
    car: Car,
    datum: Datum,
    webs: Sequence[Web],
    sill: Sill,
    starts: Ends[Working],
    pivots: Ends[Working],
    plate: Working,
) -> TrainLine:
    """Return the train line of a car that names its wire; nothing where it does not.

    Args:
        car: with ``underframe.train_line``.
        datum: the floor's underside.
        webs: of the cross members, which it passes.
        sill: which it enters.
        starts: where each length begins, at the bolster's inner face, mm from mid-car.
        pivots: of the trucks, mm from mid-car.
        plate: thickness of the sill's plates, mm.
    """
    wire = car.underframe.train_line
    if wire is None:
        return TrainLine((), {}, ())
    hole = wire_hole(wire, car.info.units)
    if hole is None:
        return TrainLine((), {}, ())
    course = _course(car, hole, webs, sill, plate, pivots)
    holes: dict[str, Hole] = {}
    findings: list[Finding] = []
    worst: tuple[Working, str] | None = None
    for web in webs:
        wall = min(_walls(web, course), key=lambda each: each.value)
        holes[web.member.name] = _web_hole(web, course, hole, wall)
        if worst is None or wall.value < worst[0].value:
            worst = (wall, web.member.name)
    if worst is not None:
        findings.append(
            wall_finding(
                check="train_line_wall",
                what=said_piece(worst[1]),
                edge=worst[0],
                hole=hole,
                units=car.info.units,
                at_most="fail",
            )
        )
    if sill.face is not None:
        holes |= _sill_holes(course, hole, sill)
    pieces = (
        _length(course, datum, "train_line_a", starts.a, ""),
        _length(course, datum, "train_line_b", starts.b, "-"),
    )
    gap = usual("frame_gap", "gap beside the train line", car)
    kept = tuple(each for each in pieces if each.length_mm.value > each.width_mm.value + gap.value)
    return TrainLine(kept, holes, tuple(findings))


def _walls(web: Web, course: _Course) -> tuple[Working, Working]:
    """Return the distances from the line's centre to a web's upper and lower edge, mm."""
    name = web.member.name
    below = derive(f"train line to the lower edge of {name}", "e - c", e=web.deep, c=course.drop)
    if web.deep.value - web.shallow.value > 1e-6:
        below = derive(
            f"train line to the lower edge of {name}",
            "(e - (e - f)*(o - a)/(b - a) - c)*(b - a)/hypot(b - a, e - f)",
            e=web.deep,
            f=web.shallow,
            o=course.side,
            a=web.inner,
            b=web.outer,
            c=course.drop,
        )
    return course.drop, below


def _web_hole(web: Web, course: _Course, hole: WireHole, wall: Working) -> Hole:
    name = web.member.name
    x = derive(f"train line in {name}, from its middle", "o - (a + b)/2", o=course.side, a=web.inner, b=web.outer)
    y = derive(f"train line in {name}, up from half its depth", "e/2 - c", e=web.deep, c=course.drop)
    if abs(y.value) < 1e-9:
        y = ZERO
    beside = course.beside or derive(f"train line to the inner end of {name}", "o - a", o=course.side, a=web.inner)
    return Hole(
        f"train_line_{name}",
        name,
        "train line, the same in both halves",
        hole.drill.diameter,
        hole.drill.name,
        x_mm=x,
        y_mm=y,
        depth_mm=web.plate,
        edge_mm=min(wall, beside, key=lambda each: each.value),
    )


def _sill_holes(course: _Course, hole: WireHole, sill: Sill) -> dict[str, Hole]:
    """Return the bores where the tails enter the sill; their angle is from the normal of its side."""
    assert sill.face is not None
    assert sill.depth is not None
    angle = derive("train line's bore from the normal of the sill's side", "90 - b", "deg", b=course.bend)
    assert sill.wall is not None
    holes = {}
    for side, sign in (("left", "+"), ("right", "-")):
        piece = "center_sill_core" if sill.form == "core" else f"center_sill_side_{side}"
        name = f"train_line_sill_{side}"
        lead = "" if sign == "+" else "-"
        x = derive(f"{name} from the sill's middle", f"{lead}f/tan(radians(b))", f=sill.face, b=course.bend)
        if course.cross is not MID_CAR:
            x = derive(
                f"{name} from the sill's middle",
                f"c {sign} f/tan(radians(b))",
                c=course.cross.x,
                f=sill.face,
                b=course.bend,
            )
        height, edge = _sill_height(name, course, sill)
        holes[f"{piece}.{side}"] = Hole(
            name,
            piece,
            "train line, drilled at an angle from outside",
            hole.drill.diameter,
            hole.drill.name,
            x_mm=x,
            y_mm=height,
            depth_mm=bore_length(name, sill.wall, angle),
            edge_mm=edge,
            angle_deg=angle,
        )
    return holes


def _sill_height(name: str, course: _Course, sill: Sill) -> tuple[Working, Working]:
    """Return the bore's height in the piece's own frame and its distance to the web's upper edge."""
    assert sill.depth is not None
    covered = sill.form in ("box", "z", "fishbelly")
    words = f"{name}, up from half the depth"
    if sill.form == "core" or not sill.pieces:
        return derive(words, "d/2 - c", d=sill.depth, c=course.drop), course.drop
    plate = sill.pieces[0].thickness_mm
    assert plate is not None
    if sill.form == "z":
        height = derive(words, "(d + t)/2 - c", d=sill.depth, t=plate, c=course.drop)
    else:
        height = derive(words, "d/2 - c", d=sill.depth, c=course.drop)
    if course.clear is not None:
        return height, course.clear
    edge = derive(f"{name} to the upper edge", "c - t", c=course.drop, t=plate) if covered else course.drop
    return height, edge


def with_holes(pieces: Sequence[Piece], holes: dict[str, Hole]) -> tuple[Piece, ...]:
    """Return the pieces of the sill with the bores that are in them."""
    return tuple(
        replace(piece, holes=(*piece.holes, *(hole for hole in holes.values() if hole.piece == piece.name)))
        for piece in pieces
    )
