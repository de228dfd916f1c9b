"""How a piece hangs under the floor: flat, upright along the car, upright across it, or sloped.

Heights are told as a *drop*, down from the floor's underside, so that pieces meet whatever the trucks do; the datum
turns a drop into a height above the rail and tilts the piece with the floor. A floor's slope is some thousandths at
most, so that a place along the floor is taken as the place along the car (the difference is its square).

With t the tilt about y (right-handed, so that a floor rising toward A has t < 0) a plate upright across the car is
turned by Ry(t) Rz(90) Rx(90) = Rz(90) Rx(90 + t), its mirror image by Rz(-90) Rx(90 - t).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from carwright.car.model import End
from carwright.pieces import Hole, Piece, Point, Pose
from carwright.reference import practice_value
from carwright.working import Working, counted, derive, derived

__all__ = [
    "MID_CAR",
    "ZERO",
    "Datum",
    "Station",
    "corner",
    "flat_pose",
    "piece_of",
    "rectangle",
    "snapped_sizes",
    "upright_across_pose",
    "upright_along_pose",
]

ZERO = derive("nothing", "0")
"""A length that is nought for good reason: on the centre line, at mid-car."""

_LEVEL = derive("no turn", "0", "deg")
_UPRIGHT = derive("upright", "90", "deg")
_ACROSS = derive("across the car", "90", "deg")
_ACROSS_RIGHT = derive("across the car, to the right", "-90", "deg")
_ALONG_TURNS = (_UPRIGHT, _LEVEL, _LEVEL)
_ACROSS_TURNS = (_UPRIGHT, _LEVEL, _ACROSS)
_ACROSS_RIGHT_TURNS = (_UPRIGHT, _LEVEL, _ACROSS_RIGHT)


@dataclass(frozen=True, slots=True)
class Station:
    """A place along the car.

    Args:
        x: from mid-car, mm, toward A positive.
        share: the same as a share of the truck centres from the middle between the trucks, where it is one; then the
            floor's height there does not hang on how far apart the trucks are.
        over: the truck that it is over, where it is over a pivot: its height is that of this truck alone.
    """

    x: Working
    share: Working | None = None
    over: End | None = None

    @property
    def value(self) -> float:
        """Return the place in mm."""
        return self.x.value


MID_CAR = Station(derive("mid-car", "0"))


@dataclass(frozen=True, slots=True)
class Datum:
    """The floor's underside.

    Args:
        middle: its height at mid-car above the rail, mm; None while it is not known.
        slope: up toward A, mm a mm; None where it is level or not known.
        over_a: its height over truck A, mm, where the floor slopes.
        over_b: likewise over truck B.
    """

    middle: Working | None
    slope: Working | None = None
    over_a: Working | None = None
    over_b: Working | None = None

    def height(self, name: str, at: Station, drop: Working) -> Working | None:
        """Return the height above the rail, mm, of what hangs ``drop`` below the underside; None while not known."""
        if self.middle is None:
            return None
        if self.slope is None or at.value == 0.0:
            return derive(f"{name} above the rail", "u - d", u=self.middle, d=drop)
        above = self.over_a if at.over == "a" else self.over_b
        if at.over is not None and above is not None:
            return derive(f"{name} above the rail", "u - d", u=above, d=drop)
        if at.share is not None and self.over_a is not None and self.over_b is not None:
            return derive(
                f"{name} above the rail",
                "ub + (ua - ub)*(f + 1/2) - d",
                ua=self.over_a,
                ub=self.over_b,
                f=at.share,
                d=drop,
            )
        return derive(f"{name} above the rail", "u + g*x - d", u=self.middle, g=self.slope, x=at.x, d=drop)

    def turned(self, turn: Working | None, *, sign: Literal["+", "-"] = "+") -> Working:
        """Return a turn in degrees with the floor's tilt added to it, or taken from it where ``sign`` is "-"."""
        if self.slope is None:
            return _LEVEL if turn is None else turn
        if turn is None:
            return derive("tilt with the floor", f"{'-' if sign == '+' else ''}degrees(atan(g))", "deg", g=self.slope)
        return derive(
            f"{turn.name}, and the floor's tilt",
            f"r {'-' if sign == '+' else '+'} degrees(atan(g))",
            "deg",
            r=turn,
            g=self.slope,
        )


def flat_pose(
    name: str,
    datum: Datum,
    at: Station,
    y: Working,
    drop: Working,
    *,
    about_x: Working | None = None,
    about_y: Working | None = None,
    about_z: Working | None = None,
) -> Pose:
    """Return the pose of a piece that lies flat, or sloped by small turns about the car's axes.

    Args:
        name: of the piece.
        datum: the floor's underside.
        at: middle of the piece's lower face along the car.
        y: the same across it, mm.
        drop: the same below the floor, mm.
        about_x: slope across the car, degrees.
        about_y: slope along it, degrees, to which the floor's tilt is added.
        about_z: turn seen from above, degrees.
    """
    return Pose(
        at.x,
        y,
        datum.height(name, at, drop),
        about_x or _LEVEL,
        datum.turned(about_y),
        about_z or _LEVEL,
        drop,
        (about_x or _LEVEL, about_y or _LEVEL, about_z or _LEVEL),
    )


def upright_along_pose(name: str, datum: Datum, at: Station, y: Working, drop: Working) -> Pose:
    """Return the pose of a plate that stands on edge along the car; its lower face looks left.

    Args:
        name: of the piece.
        datum: the floor's underside.
        at: its middle along the car.
        y: its left face, mm.
        drop: half-way down it, below the floor, mm.
    """
    return Pose(at.x, y, datum.height(name, at, drop), _UPRIGHT, datum.turned(None), _LEVEL, drop, _ALONG_TURNS)


def upright_across_pose(
    name: str,
    datum: Datum,
    at: Station,
    y: Working,
    drop: Working,
    thickness: Working,
    *,
    side: Literal["left", "right"],
) -> Pose:
    """Return the pose of a plate that stands on edge across the car, its own x pointing outward on its side.

    Args:
        name: of the piece.
        datum: the floor's underside.
        at: middle of its thickness along the car.
        y: its middle across the car, mm.
        drop: half-way down it, below the floor, mm.
        thickness: of the plate, mm.
        side: of the car.
    """
    left = side == "left"
    x = derive(f"rear face of {name}", f"x {'-' if left else '+'} t/2", x=at.x, t=thickness)
    return Pose(
        x,
        y,
        datum.height(name, at, drop),
        datum.turned(_UPRIGHT, sign="+" if left else "-"),
        _LEVEL,
        _ACROSS if left else _ACROSS_RIGHT,
        drop,
        _ACROSS_TURNS if left else _ACROSS_RIGHT_TURNS,
    )


@lru_cache(maxsize=256)
def _symbols(formula: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(re.findall(r"[A-Za-z]\w*", formula)))


def corner(along: str, across: str, **inputs: Working) -> Point:
    """Return a corner of an outline from two formulas in the symbols of ``inputs``."""

    def at(name: str, formula: str) -> Working:
        return derived(name, formula, {symbol: inputs[symbol] for symbol in _symbols(formula) if symbol in inputs})

    return Point(at("corner, along", along), at("corner, across", across))


def rectangle(length: Working, width: Working) -> tuple[Point, ...]:
    """Return the corners of a rectangle about the origin, anticlockwise."""
    left, right = derive("corner, along", "-L/2", L=length), derive("corner, along", "L/2", L=length)
    low, high = derive("corner, across", "-W/2", W=width), derive("corner, across", "W/2", W=width)
    return (Point(right, low), Point(right, high), Point(left, high), Point(left, low))


def piece_of(
    name: str,
    *,
    thickness: Working,
    length: Working,
    width: Working,
    poses: Sequence[Pose],
    outline: tuple[Point, ...] | None = None,
    area: Working | None = None,
    holes: tuple[Hole, ...] = (),
    material: str = "styrene",
    snapped: bool = True,
) -> Piece:
    """Return a plate cut from sheet or strip; a rectangle unless it is given another outline with its area.

    Args:
        name: stable name.
        thickness: of the sheet, mm.
        length: of its bounding rectangle along its own x, mm.
        width: of the same along its own y, mm.
        poses: where each of them stands, at least one.
        outline: corners, anticlockwise, in its own frame.
        area: seen from above, mm2.
        holes: in it.
        material: by its name in the reference data.
        snapped: whether it is cut from sheet, each edge with an allowance.
    """
    cut_length, cut_width = snapped_sizes(name, length, width) if snapped else (length, width)
    return Piece(
        name=name,
        quantity=counted(len(poses), f"quantity of {name}", note="as many as have a place"),
        material=material,
        thickness_mm=thickness,
        thickness_min_mm=None,
        thickness_max_mm=None,
        length_mm=length,
        width_mm=width,
        area_mm2=area or derive(f"area of {name}", "l*w", "mm2", l=length, w=width),
        outline_mm=outline or rectangle(length, width),
        holes=holes,
        pose=poses[0],
        also=tuple(poses[1:]),
        cut_length_mm=cut_length,
        cut_width_mm=cut_width,
    )


def snapped_sizes(name: str, length: Working, width: Working) -> tuple[Working, Working]:
    """Return the sizes to cut a plate to from sheet, mm: the finished ones with an allowance on each snapped edge."""
    edge = practice_value("snap_edge")
    return (
        derive(f"cut length of {name}", "l + 2*e", l=length, e=edge),
        derive(f"cut width of {name}", "w + 2*e", w=width, e=edge),
    )
