"""Cutting plans and the shelf's file on the disk: written whole or not at all, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carwright.cli.page import wrapped
from carwright.draw.cutwords import count_words, stock_words
from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.car.model import TakenPlan
    from carwright.stock.batch import Batch
    from carwright.stock.taking import Taking

__all__ = [
    "already_json",
    "already_lines",
    "not_taken_lines",
    "put_back_unless_told",
    "save_unchanged",
    "taking_json",
    "taking_lines",
]


def already_json(record: TakenPlan, path: Path) -> dict[str, Any]:
    """Return that a plan was taken before, as plain JSON values."""
    return {"plan": record.plan, "shelf": str(path), "on": record.on, "already": True, "pieces": record.pieces}


def already_lines(record: TakenPlan, path: Path) -> Iterator[str]:
    """Yield that a plan was taken before, and what to do where it is wanted once more."""
    pieces = count_words(record.pieces, "piece")
    yield f"Taken already, on {record.on}: plan {record.plan}, {pieces}, from {path}. Nothing was changed."
    yield "For the same pieces once more give --again; to take it back: carwright shelf undo"


def not_taken_lines(batch: Batch) -> Iterator[str]:
    """Yield why a plan was not taken, and the ways on."""
    if any(group.plan.buy for group in batch.groups):
        yield from wrapped("Not taken, because something must be bought. With it in your hand give --bought.")
    if batch.lacking:
        told = (
            "Not taken, because the shelf has nothing for some pieces. Put what you bought on it (carwright shelf "
            "add), or leave them out (--leave-out NAME)."
        )
        yield from wrapped(told)


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


def taking_lines(taking: Taking, path: Path) -> Iterator[str]:
    """Yield what a plan took and what it left."""
    yield f"Taken from {path}, plan {taking.plan}:"
    for each in taking.drawn:
        bought = f" ({each.bought} bought for it)" if each.bought else ""
        left = "any number" if each.after is None else f"{each.after}"
        yield f"  {each.taken} x {stock_words(each.name)}{bought}, {left} left"
    for piece in taking.offcuts:
        yield f"  kept: {piece.count} x {piece.name}"
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


@contextmanager
def put_back_unless_told(path: Path, before: bytes | None) -> Iterator[None]:
    """Put a file back as it was where what was done with it cannot be written down as was asked.

    Args:
        path: the file, changed already.
        before: its bytes before the change, None where it was not there.
    """
    from carwright.car.write import save

    now = _content(path)
    try:
        yield
    except InputError:
        if now != before and _content(path) == now:
            if before is None:
                path.unlink()
            else:
                save(path, before)
        raise


def _content(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None
