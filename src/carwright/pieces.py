"""Pieces with holes, placed in space: plain records, no geometry library.

Axes of a piece: its own frame, origin at the middle of its bounding rectangle, x along the car, seen from above; a
piece that stands upright is turned into its place by its pose. Its lower face is at z = 0.
Axes of the car: origin mid-car on the rail top, x to the A end, y to the left as one stands facing A, z up.
Turns are about the car's fixed axes, first x, then y, then z.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from carwright.records import quickly_made
from carwright.working import Working

__all__ = ["Form", "Hole", "Piece", "Point", "Pose", "bought_bolster", "said_piece", "wire_bores"]

Form = Literal["plate", "block", "rod", "wire"]
"""How a piece is made: cut from sheet or strip; a rectangular block; round rod along its own x; wire, bent or not."""


@quickly_made
@dataclass(frozen=True, slots=True)
class Point:
    """A corner of an outline, in mm, in the piece's own frame."""

    x_mm: Working
    y_mm: Working


@quickly_made
@dataclass(frozen=True, slots=True)
class Pose:
    """Where a piece stands in the car: the middle of its lower face (mm), and its turns (degrees) about x, y, z.

    Args:
        drop_mm: the same below the floor's underside, whatever the trucks do; None of what hangs from nothing.
        level_deg: its turns on a floor that stands level; empty where they are its turns.
    """

    x_mm: Working
    y_mm: Working
    z_mm: Working | None
    rx_deg: Working
    ry_deg: Working
    rz_deg: Working
    drop_mm: Working | None = None
    level_deg: tuple[Working, ...] = ()


@quickly_made
@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole in a piece.

    Args:
        name: stable name ("truck_a").
        piece: name of the piece that it is in.
        purpose: what goes through it, in words.
        diameter_mm: drill diameter.
        drill: the drill by name ("#50", "1.60 mm").
        x_mm: along the car, in the piece's frame; None while its measurement is missing.
        y_mm: to the left, in the piece's frame.
        depth_mm: depth drilled (the piece with its screw block); None while unknown.
        tap: thread cut in it ("2-56"), or "" for a plain hole.
        thread_percent: percent of full thread, by the 1.299 definition, or None.
        turns: full turns of thread held, or None.
        edge_mm: hole centre to the nearest finished edge, or None while unknown.
        needs: dotted keys of the measurements that its place waits for.
        angle_deg: between the drill and the straight-down direction, where it is drilled at an angle; ``depth_mm`` is
            then the length of the bore.
    """

    name: str
    piece: str
    purpose: str
    diameter_mm: Working
    drill: str
    x_mm: Working | None
    y_mm: Working
    depth_mm: Working | None = None
    tap: str = ""
    thread_percent: Working | None = None
    turns: Working | None = None
    edge_mm: Working | None = None
    needs: tuple[str, ...] = ()
    angle_deg: Working | None = None


@quickly_made
@dataclass(frozen=True, slots=True)
class Piece:
    """A piece to be made, as many times as ``quantity`` says, or (``made`` False) a bought one shown for its place.

    ``thickness_min_mm`` and ``thickness_max_mm`` are what the ride allows; ``outline_mm`` is closed (the first corner
    is not repeated) and runs anticlockwise seen from above. ``needs`` names measurements without which it is only
    dashed.

    Args:
        form: how it is made; a rod or wire has ``diameter_mm``, a rod lies along its own x.
        made: cut from stock; False for a bought or present part, whose quantity is 0.
        diameter_mm: of rod or wire.
        path_mm: centre line of a wire, in its own frame, at half its diameter above the lower face; the origin is the
            middle of the rectangle around that line.
        layers_mm: thickness of each sheet it is laminated of, the lowest first; empty where it is of one sheet.
        cut_length_mm: size to cut along its own x: with the allowance for snapped edges, or a wire's length unbent.
        cut_width_mm: size to cut along its own y.
        volume_mm3: where it is not area times thickness.
        also: the places of the further ones where ``quantity`` is more than one; ``pose`` is the first.
    """

    name: str
    quantity: Working
    material: str
    thickness_mm: Working | None
    thickness_min_mm: Working | None
    thickness_max_mm: Working | None
    length_mm: Working
    width_mm: Working
    area_mm2: Working
    outline_mm: tuple[Point, ...]
    holes: tuple[Hole, ...]
    pose: Pose
    needs: tuple[str, ...] = ()
    form: Form = "plate"
    made: bool = True
    diameter_mm: Working | None = None
    path_mm: tuple[Point, ...] = ()
    layers_mm: tuple[Working, ...] = ()
    cut_length_mm: Working | None = None
    cut_width_mm: Working | None = None
    volume_mm3: Working | None = None
    also: tuple[Pose, ...] = ()


_OF_THE_SILL = {
    "top": "upper plate",
    "bottom": "lower plate",
    "bottom_a": "lower plate toward A",
    "bottom_b": "lower plate toward B",
    "core": "core",
    "flange": "flange",
    "flange_left": "left flange",
    "flange_right": "right flange",
    "side_left": "left side",
    "side_right": "right side",
}


def bought_bolster(piece: Piece) -> bool:
    """Return whether a piece is a body bolster of one height: it is bought so, where others are built of layers."""
    return piece.name.startswith("bolster_") and len(piece.layers_mm) < 2


def wire_bores(piece: Piece, holes: Iterable[Hole]) -> tuple[Working, ...]:
    """Return the diameters of the holes that are drilled for a wire, by their names: ``train_line_...`` for both."""
    start = f"{re.sub(r'_[ab]$', '', piece.name)}_"
    return tuple(hole.diameter_mm for hole in holes if hole.name.startswith(start))


def said_piece(name: str) -> str:
    """Return what a piece is called in a sentence.

    Example:
        >>> said_piece("crosstie_4_flange"), said_piece("center_sill_side_left"), said_piece("bolster_a")
        ('flange of crosstie 4', 'left side of the centre sill', 'bolster A')
    """
    part = _OF_THE_SILL.get(name.removeprefix("center_sill_"))
    if part is not None and name.startswith("center_sill_"):
        return f"{part} of the centre sill"
    if name.endswith("_flange"):
        return f"flange of {said_piece(name.removesuffix('_flange'))}"
    words = name.replace("_", " ").replace("center", "centre")
    return words[:-1] + words[-1].upper() if words.endswith((" a", " b")) else words
