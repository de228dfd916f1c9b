"""Flat pieces with holes, placed in space: plain records, no geometry library.

Axes of a piece: its own frame, origin at the middle of its bounding rectangle, x along the car, seen from above.
Axes of the car: origin mid-car on the rail top, x to the A end, y to the left as one stands facing A, z up.
"""

from __future__ import annotations

from dataclasses import dataclass

from carwright.working import Working

__all__ = ["Hole", "Piece", "Point", "Pose"]


@dataclass(frozen=True, slots=True)
class Point:
    """A corner of an outline, in mm, in the piece's own frame."""

    x_mm: Working
    y_mm: Working


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a piece stands in the car: the middle of its lower face (mm), and its turns (degrees) about x, y, z."""

    x_mm: Working
    y_mm: Working
    z_mm: Working | None
    rx_deg: Working
    ry_deg: Working
    rz_deg: Working


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


@dataclass(frozen=True, slots=True)
class Piece:
    """A flat piece to be cut, as many times as ``quantity`` says.

    ``thickness_min_mm`` and ``thickness_max_mm`` are what the ride allows; ``outline_mm`` is closed (the first corner
    is not repeated) and runs anticlockwise seen from above. ``needs`` names measurements without which it is only
    dashed.
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
