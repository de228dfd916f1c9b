"""Cutting plans and the shelf's file on the disk: written whole or not at all, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.car.model import TakenPlan
    from carwright.lengths import Units
    from carwright.stock.taking import Taking

__all__ = ["already_json", "already_lines", "save_unchanged", "taking_json", "taking_lines"]


def already_json(record: TakenPlan, path: Path) -> dict[str, Any]:
    """Return that a plan was taken before, as plain JSON values."""
    return {"plan": record.plan, "shelf": str(path), "on": record.on, "already": True, "pieces": record.pieces}


def already_lines(record: TakenPlan, path: Path) -> Iterator[str]:
    """Yield that a plan was taken before, and what to do where it is wanted once more."""
    yield f"Plan {record.plan}, {record.pieces} pieces, was taken from {path} on {record.on}: nothing was changed."
    yield "For the same pieces once more give --again; to take it back: carwright shelf undo"


def taking_json(taking: Taking, path: Path) -> dict[str, Any]:
    """Return what a plan took, as plain JSON values, lengths in mm."""
    return {
        "shelf": str(path),
        "already": False,
        "pieces": taking.pieces,
        "drawn": [
            {"name": each.name, "taken": each.taken, "bought": each.bought, "left": each.after} for each in taking.drawn
        ],
        "offcuts": [
            {"name": each.name, "width_mm": each.width_mm, "length_mm": each.length_mm, "count": each.count}
            for each in taking.offcuts
        ],
    }


def taking_lines(taking: Taking, path: Path, units: Units) -> Iterator[str]:
    """Yield what a plan took and what it left."""
    from carwright.lengths import number_in

    yield f"Taken from {path}, plan {taking.plan}:"
    for each in taking.drawn:
        bought = f" ({each.bought} bought for it)" if each.bought else ""
        left = "any number" if each.after is None else f"{each.after}"
        yield f"  {each.taken} x {each.name}{bought}, {left} left"
    for piece in taking.offcuts:
        width = "" if piece.width_mm is None else f"{number_in(piece.width_mm, units)} x "
        yield f"  kept: {piece.count} x {piece.name}, {width}{number_in(piece.length_mm, units)}"
    yield f"To take it back: carwright shelf undo {path}"


def save_unchanged(path: Path, document: bytes, new: bytes) -> None:
    """Write a file that nobody changed since ``document`` was read from it.

    Raises:
        InputError: somebody did, or it cannot be written.
    """
    from carwright.car.write import save

    try:
        now = path.read_bytes()
    except OSError:
        now = b""
    if now != document:
        raise InputError(Problem("the shelf was changed meanwhile", file=str(path), mend="Give the command again."))
    save(path, new)
