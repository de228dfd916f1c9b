"""What the file's ``[[piece]]`` tables do to the designed pieces: move, resize, drop or add.

Sizes are those of the piece as its template shows it: length along its own x, width along its own y. Cross members and
the centre sill as a whole are changed where they are designed, so that the rest adapts; everything else here.
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import replace

from carwright.car.model import PieceChange
from carwright.findings import Finding
from carwright.frame.plates import Datum, Station, flat_pose, piece_of, rectangle
from carwright.pieces import Piece, Pose, said_piece
from carwright.working import Working, derive

__all__ = ["changed_pieces"]

_UPRIGHT_DEG = 45.0
"""A piece turned about x by more than this stands on edge."""

_SIZES = ("x", "y", "thickness", "length", "width")


def changed_pieces(
    pieces: Sequence[Piece], changes: Sequence[PieceChange], datum: Datum, done: frozenset[str]
) -> tuple[tuple[Piece, ...], tuple[Finding, ...]]:
    """Return the pieces as the file wants them, and findings on changes that cannot be made.

    Args:
        pieces: as designed.
        changes: of the file.
        datum: the floor's underside, for pieces that are added.
        done: names whose changes were made where the piece was designed.
    """
    wanted = {each.name: (i, each) for i, each in enumerate(changes)}
    findings: list[Finding] = []
    kept: list[Piece] = []
    for piece in pieces:
        _, change = wanted.get(piece.name, (0, None))
        if change is None or piece.name in done:
            kept.append(piece)
        elif not change.drop:
            made, finding = _changed(piece, change, datum)
            kept.append(made)
            if finding is not None:
                findings.append(finding)
    known = {piece.name for piece in pieces} | done
    for name, (i, change) in wanted.items():
        if name in known or change.drop:
            continue
        added = _added(change, datum)
        if added is not None:
            kept.append(added)
            continue
        missing = [size for size in _SIZES if getattr(change, size) is None]
        near = difflib.get_close_matches(name, sorted(known), n=2, cutoff=0.5)
        findings.append(
            Finding(
                f"piece_{name}",
                "unknown",
                f'There is no piece "{name}" to change, and to add one it lacks {", ".join(missing)}.',
                mend=f"Did you mean {' or '.join(near)}?" if near else "Give it all its sizes and its place.",
                needs=tuple(f"piece[{i}].{size}" for size in missing),
            )
        )
    return tuple(kept), tuple(findings)


def _changed(piece: Piece, change: PieceChange, datum: Datum) -> tuple[Piece, Finding | None]:
    pose = piece.pose
    if change.x is not None or change.y is not None:
        pose = _moved(piece.name, pose, datum, change.x, change.y, pose.drop_mm)
    sized = change.thickness is not None or change.length is not None or change.width is not None
    if not sized:
        return replace(piece, pose=pose), None
    if piece.form == "wire" or len(piece.outline_mm) != 4 or not _is_rectangle(piece):
        return replace(piece, pose=pose), Finding(
            f"piece_{piece.name}",
            "watch",
            f"The {said_piece(piece.name)} is not a plain rectangle, so its sizes in the file are not used.",
            mend="Drop it and add a piece of another name with the sizes wanted.",
            source="geometry",
        )
    length, width = change.length or piece.length_mm, change.width or piece.width_mm
    thick = change.thickness or piece.thickness_mm
    return (
        replace(
            piece,
            thickness_mm=thick,
            length_mm=length,
            width_mm=width,
            area_mm2=derive(f"area of {piece.name}", "l*w", "mm2", l=length, w=width),
            outline_mm=rectangle(length, width),
            pose=_hung(piece, pose, thick, datum),
            cut_length_mm=_cut(piece.cut_length_mm, piece.length_mm, length),
            cut_width_mm=_cut(piece.cut_width_mm, piece.width_mm, width),
        ),
        None,
    )


def _is_rectangle(piece: Piece) -> bool:
    half = {(abs(point.x_mm.value), abs(point.y_mm.value)) for point in piece.outline_mm}
    return len({(round(x, 9), round(y, 9)) for x, y in half}) == 1


def _moved(name: str, pose: Pose, datum: Datum, x: Working | None, y: Working | None, drop: Working | None) -> Pose:
    """Return a pose at another place under the floor; what does not hang from it keeps its height."""
    place = x or pose.x_mm
    height = pose.z_mm if drop is None else datum.height(name, Station(place), drop)
    return replace(pose, x_mm=place, y_mm=y or pose.y_mm, z_mm=height, drop_mm=drop)


def _hung(piece: Piece, pose: Pose, thick: Working | None, datum: Datum) -> Pose:
    """Return the pose of a flat piece that keeps its upper face where it was."""
    old, drop = piece.thickness_mm, pose.drop_mm
    if thick is None or old is None or drop is None or thick is old or abs(pose.rx_deg.value) > _UPRIGHT_DEG:
        return pose
    lower = thick
    if drop is not old:
        lower = derive(f"lower face of {piece.name}, as thick as it is wanted", "d - o + t", d=drop, o=old, t=thick)
    return _moved(piece.name, pose, datum, None, None, lower)


def _cut(cut: Working | None, old: Working, new: Working) -> Working | None:
    if cut is None or new is old:
        return cut
    allowance = cut.inputs.get("e")
    return new if allowance is None else derive(cut.name, "s + 2*e", s=new, e=allowance)


def _added(change: PieceChange, datum: Datum) -> Piece | None:
    """Return a piece that the file adds under the floor, or None where it lacks a size."""
    x, y, thick, length, width = change.x, change.y, change.thickness, change.length, change.width
    if x is None or y is None or thick is None or length is None or width is None:
        return None
    pose = flat_pose(change.name, datum, Station(x), y, thick)
    return piece_of(change.name, thickness=thick, length=length, width=width, poses=(pose,))
