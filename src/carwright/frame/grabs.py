"""Grab irons, treads of ladders and sill steps: bent of wire, their legs in holes in the wall or under the side sill.

On a wall a hole's place is told from its own middle and from the bottom of the sill: along a side toward A, along an
end toward the left. A step's legs go up into the bottom of the side sill, in the middle of its thickness.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from carwright.car.model import Car, Grab
from carwright.fasten.wires import WireHole, wire_hole
from carwright.findings import Finding
from carwright.frame.layout import to_scale, usual
from carwright.frame.plates import ZERO, Datum, Station, corner, flat_pose
from carwright.lengths import show_in
from carwright.pieces import Hole, Piece, Point, Pose
from carwright.reference import practice_value
from carwright.reference.anatomy import anatomy
from carwright.working import Working, chosen, counted, derive, derived

__all__ = ["Irons", "grab_irons"]

_TURNS: Final = {
    "left": chosen(0.0, "outward to the left", "deg", note="the legs point into the car"),
    "right": chosen(180.0, "outward to the right", "deg", note="the legs point into the car"),
    "A end": chosen(-90.0, "outward at the A end", "deg", note="the legs point into the car"),
    "B end": chosen(90.0, "outward at the B end", "deg", note="the legs point into the car"),
}
_ACROSS: Final = {"left": "right", "right": "left", "A end": "B end", "B end": "A end"}
_UPRIGHT: Final = chosen(90.0, "upright", "deg", note="a step hangs")
_LEVEL: Final = chosen(0.0, "no turn", "deg", note="it lies level")


@dataclass(frozen=True, slots=True)
class Irons:
    """Wire to bend, holes for it in the walls, and what was found."""

    pieces: tuple[Piece, ...] = ()
    holes: tuple[Hole, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class _Iron:
    """One entry of the file with every size that it is made by."""

    number: int
    grab: Grab
    wire: Working
    hole: WireHole
    apart: Working
    reach: Working
    leg: Working
    places: tuple[tuple[str, Working, Working | None], ...]
    """Side, place along it, and height of the wire above the bottom of the sill (None of a step)."""

    @property
    def name(self) -> str:
        """Return its stable name."""
        return f"{'sill_step' if self.grab.kind == 'step' else 'grab_iron'}_{self.number}"


def grab_irons(car: Car, datum: Datum, sill_rise: Working | None) -> Irons:
    """Return what ``[[body.grab]]`` asks for.

    Args:
        car: with its walls and outside sizes.
        datum: the floor's underside.
        sill_rise: bottom of the side sill above the floor's underside, mm; None while not known.
    """
    pieces: list[Piece] = []
    holes: list[Hole] = []
    findings: list[Finding] = []
    for i, grab in enumerate(car.body.grabs, 1):
        missing = [
            key for key, size in (("x", grab.x), ("up", grab.up)) if size is None and (key, grab.kind) != ("up", "step")
        ]
        if missing:
            findings.append(_waits(i, grab, missing))
            continue
        iron = _iron(car, i, grab)
        if iron is None:
            continue
        made = tuple(_holes(car, iron))
        holes += made
        findings += _walls(car, iron, made)
        if car.body.width is not None and car.body.length is not None:
            pieces.append(_piece(car, iron, datum, sill_rise))
    return Irons(tuple(pieces), tuple(holes), tuple(findings))


def _waits(number: int, grab: Grab, missing: list[str]) -> Finding:
    keys = tuple(f"body.grab[{number - 1}].{key}" for key in missing)
    return Finding(
        f"{'sill_step' if grab.kind == 'step' else 'grab_iron'}_{number}",
        "unknown",
        f'Where "{grab.name}" goes is not known yet: it needs {" and ".join(missing)}.',
        mend="Measure it on a photograph or the car, or leave it: no hole is drilled for it.",
        needs=keys,
    )


def _iron(car: Car, number: int, grab: Grab) -> _Iron | None:
    step = grab.kind == "step"
    wire = grab.wire or to_scale(f"wire of {grab.name}", anatomy("appliance", "handhold-diameter"), car)
    hole = wire_hole(wire, car.info.units)
    if hole is None:
        return None
    apart = grab.length
    if apart is None:
        clear = to_scale(f"clear length of {grab.name}", anatomy("appliance", _CLEAR[grab.kind]), car)
        apart = derive(f"distance between the legs of the {grab.name}", "c + d", c=clear, d=wire)
    out = to_scale(f"{grab.name} clear of the car", anatomy("appliance", _REACH[grab.kind]), car)
    reach = derive(f"middle of {grab.name}'s wire from the car", "c + d/2", c=out, d=wire)
    into = usual("grab_into", "leg of an iron in the car", car)
    if not step:
        wall = _wall(car, grab.side)
        leg = derive(f"leg of {grab.name}", "r + w", r=reach, w=wall) if wall is not None else None
        leg = leg or derive(f"leg of {grab.name}", "r + i", r=reach, i=into)
    else:
        leg = derive(f"leg of {grab.name}", "r + i", r=reach, i=into)
    assert grab.x is not None
    sides = (grab.side, _ACROSS[grab.side]) if grab.turned else (grab.side,)
    places: list[tuple[str, Working, Working | None]] = []
    for side in sides:
        x = grab.x if side == grab.side else derive(f"{grab.name}, turned end for end", "-x", x=grab.x)
        places += [(side, x, up) for up in _heights(car, grab)]
    return _Iron(number, grab, wire, hole, apart, reach, leg, tuple(places))


_CLEAR: Final = {"grab": "handhold-length", "step": "sill-step-tread"}
_REACH: Final = {"grab": "handhold-clearance", "step": "sill-step-depth"}


def _wall(car: Car, side: str) -> Working | None:
    return car.body.end_wall if side.endswith("end") else car.body.wall


def _heights(car: Car, grab: Grab) -> Iterator[Working | None]:
    if grab.kind == "step" or grab.up is None:
        yield None
        return
    yield grab.up
    many = 1 if grab.count is None else int(grab.count.value)
    if many < 2:
        return
    spacing = grab.spacing or to_scale(f"spacing of {grab.name}", anatomy("appliance", "ladder-spacing"), car)
    for level in range(1, many):
        number = counted(level, f"irons below in {grab.name}", note="counted from below")
        yield derive(f"{grab.name}, iron {level + 1}, above the sill", "u + n*s", u=grab.up, n=number, s=spacing)


def _holes(car: Car, iron: _Iron) -> Iterator[Hole]:
    """Yield two holes for each place: leg on the A side or the left first."""
    grab = iron.grab
    purpose = "sill step" if grab.kind == "step" else "grab iron"
    for n, (side, x, up) in enumerate(iron.places, 1):
        face = side.replace(" ", "_").lower() if side.endswith("end") else f"{side}_side"
        wall = _wall(car, side)
        for leg, sign in ((1, "+"), (2, "-")):
            along = derive(f"leg {leg} of {grab.name}", f"x {sign} l/2", x=x, l=iron.apart)
            yield Hole(
                name=f"{iron.name}_{n}_{leg}",
                piece=f"{face}_sill" if up is None else face,
                purpose=purpose,
                diameter_mm=iron.hole.drill.diameter,
                drill=iron.hole.drill.name,
                x_mm=along,
                y_mm=ZERO if up is None else up,
                depth_mm=usual("grab_into", "leg of an iron in the car", car) if up is None else wall,
                edge_mm=_edge(car, side, along, up),
            )


def _edge(car: Car, side: str, along: Working, up: Working | None) -> Working | None:
    """Return the least distance of a hole from an edge of its wall, mm; negative outside of it."""
    over = car.body.width if side.endswith("end") else car.body.length
    found: list[Working] = []
    if up is None:
        wall = _wall(car, side)
        found += [] if wall is None else [derive("half the wall", "w/2", w=wall)]
    else:
        found.append(derive("hole above the bottom of the sill", "u", u=up))
        if car.body.height is not None:
            found.append(derive("hole below the top of the side", "h - u", h=car.body.height, u=up))
    if over is not None:
        sign = "-" if along.value > 0 else "+"
        found.append(derive("hole from the corner", f"o/2 {sign} x", o=over, x=along))
    return min(found, key=lambda each: each.value, default=None)


def _walls(car: Car, iron: _Iron, holes: tuple[Hole, ...]) -> Iterator[Finding]:
    """Yield one finding on the wall that is left beside the holes of an iron."""
    edges = [each.edge_mm for each in holes if each.edge_mm is not None]
    if not edges:
        return
    units: Literal["in", "mm"] = car.info.units
    edge = min(edges, key=lambda each: each.value)
    limit = derive(
        f"least distance of {iron.grab.name} from an edge",
        "k*D",
        k=practice_value("wire_edge_diameters"),
        D=iron.hole.wanted,
    )
    margin = derive(f"wall beside the holes of the {iron.grab.name} to spare", "e - m", e=edge, m=limit)
    ok = margin.value >= -1e-9
    where = f"{show_in(edge.value, units)} from an edge" if edge.value >= 0 else "outside its wall"
    yield Finding(
        iron.name,
        "ok" if ok else "fail" if edge.value < 0 else "watch",
        f'The nearest hole of "{iron.grab.name}" stands {where}; {show_in(limit.value, units)} leaves a wall.',
        edge,
        limit,
        margin,
        mend="" if ok else f"Move it by {show_in(-margin.value, units)} or more, or take thinner wire.",
        source="common practice",
    )


def _piece(car: Car, iron: _Iron, datum: Datum, sill_rise: Working | None) -> Piece:
    """Return the wire of one iron, bent to a U whose middle is the tread."""
    given = {"l": iron.apart, "g": iron.leg}
    step = iron.grab.kind == "step"
    inner, outer = ("g/2", "-g/2") if step else ("-g/2", "g/2")
    path = tuple(corner(x, y, **given) for x, y in (("-l/2", inner), ("-l/2", outer), ("l/2", outer), ("l/2", inner)))
    straight = derive(f"{iron.grab.name}, cut straight", "l + 2*g", l=iron.apart, g=iron.leg)
    name = iron.name
    poses = [_pose(car, iron, datum, sill_rise, *place) for place in iron.places]
    return Piece(
        name=name,
        quantity=counted(len(iron.places), f"quantity of {name}", note="as many as the file asks for"),
        material="phosphor bronze",
        thickness_mm=iron.wire,
        thickness_min_mm=None,
        thickness_max_mm=None,
        length_mm=iron.apart,
        width_mm=iron.leg,
        area_mm2=derive(f"area of {name}, seen from above", "s*d", "mm2", s=straight, d=iron.wire),
        outline_mm=_outline(iron),
        holes=(),
        pose=poses[0],
        also=tuple(poses[1:]),
        form="wire",
        diameter_mm=iron.wire,
        path_mm=path,
        cut_length_mm=straight,
        volume_mm3=derive(f"volume of {name}", "pi/4*d*d*s", "mm3", d=iron.wire, s=straight),
    )


def _outline(iron: _Iron) -> tuple[Point, ...]:
    """Return the band that the bent wire covers, anticlockwise."""
    given = {"l": iron.apart, "g": iron.leg, "d": iron.wire}
    sign = "-" if iron.grab.kind == "step" else ""
    corners = (
        ("-l/2 - d/2", "-g/2"), ("-l/2 + d/2", "-g/2"), ("-l/2 + d/2", "g/2 - d/2"), ("l/2 - d/2", "g/2 - d/2"),
        ("l/2 - d/2", "-g/2"), ("l/2 + d/2", "-g/2"), ("l/2 + d/2", "g/2 + d/2"), ("-l/2 - d/2", "g/2 + d/2"),
    )  # fmt: skip
    found = tuple(corner(x, f"{sign}({y})", **given) for x, y in corners)
    return found[::-1] if sign else found


def _pose(
    car: Car, iron: _Iron, datum: Datum, sill_rise: Working | None, side: str, x: Working, up: Working | None
) -> Pose:
    """Return where a bent wire stands: its tread outside the wall, its legs in it; a step under the sill."""
    grab, (width, length) = iron.grab, (car.body.width, car.body.length)
    assert width is not None
    assert length is not None
    drop = None
    if up is None:
        wall = _wall(car, side)
        inputs = {"B": width, "d": iron.wire} | ({} if wall is None else {"w": wall})
        middle = "B/2" if wall is None else "B/2 - w/2"
        y = derived(f"left face of {grab.name}", f"{'' if side == 'left' else '-'}({middle}) + d/2", inputs)
        if sill_rise is not None:
            drop = derive(
                f"middle of {grab.name} below the floor", "r - g/2 - s", r=iron.reach, g=iron.leg, s=sill_rise
            )
        height = None if drop is None else datum.height(grab.name, Station(x), drop)
        return Pose(x, y, height, _UPRIGHT, _LEVEL, _LEVEL, drop, (_UPRIGHT, _LEVEL, _LEVEL))
    along = f"{'' if side in ('left', 'A end') else '-'}(o/2 + r - g/2)"
    over = length if side.endswith("end") else width
    out = derive(f"middle of {grab.name} outside the car", along, o=over, r=iron.reach, g=iron.leg)
    at, across = (out, x) if side.endswith("end") else (x, out)
    if sill_rise is None:
        return Pose(at, across, None, _LEVEL, _LEVEL, _TURNS[side])
    drop = derive(f"lower side of {grab.name} below the floor", "d/2 - s - u", d=iron.wire, s=sill_rise, u=up)
    return flat_pose(iron.name, datum, Station(at), across, drop, about_z=_TURNS[side])
