"""The list of pieces to cut: like pieces in one row, with how many and what from."""

from __future__ import annotations

import re
from dataclasses import dataclass

from carwright.draw.labels import number
from carwright.draw.placed import words_of
from carwright.pieces import Piece
from carwright.plan.model import Plan

__all__ = ["PieceRow", "piece_rows"]

_NUMBERED = re.compile(r"^(?P<kind>[a-z_]+?)_(?P<label>\d+|a|b)(?P<rest>_[a-z_]+)?$")


@dataclass(frozen=True, slots=True)
class PieceRow:
    """One row: what it is, how many, its three sizes as told in the file's units, and the material.

    ``pieces`` are the names of the plan's pieces that the row stands for.
    """

    pieces: tuple[str, ...]
    name: str
    many: int
    along: str
    across: str
    thick: str
    material: str


def _kind(piece: Piece) -> tuple[str, str]:
    """Return what a piece is called without its number or end, and that number or end."""
    found = _NUMBERED.match(piece.name)
    if found is None:
        return piece.name, ""
    return f"{found['kind']}{found['rest'] or ''}", found["label"]


def _labels(labels: list[str]) -> str:
    """Return "1 to 6", "A and B" or "1, 3" for the labels of like pieces."""
    shown = [label.upper() for label in labels]
    if len(shown) > 2 and all(label.isdigit() for label in shown):
        numbers = sorted(int(label) for label in shown)
        if numbers == list(range(numbers[0], numbers[-1] + 1)):
            return f"{numbers[0]} to {numbers[-1]}"
    return " and ".join(shown) if len(shown) == 2 else ", ".join(shown)


def piece_rows(plan: Plan) -> tuple[PieceRow, ...]:
    """Return the pieces that are made, like ones together, in the order of the plan."""
    units = plan.car.info.units
    found: dict[tuple[str, ...], list[tuple[str, Piece]]] = {}
    for piece in plan.pieces:
        if not piece.made or piece.quantity.value < 1:
            continue
        kind, label = _kind(piece)
        long = piece.cut_length_mm if piece.path_mm and piece.cut_length_mm is not None else piece.length_mm
        across = "" if piece.form in ("wire", "rod") else number(piece.width_mm, units)
        key = (kind, number(long, units), across, number(piece.thickness_mm, units), piece.material)
        found.setdefault(key, []).append((label, piece))
    rows = []
    for (kind, along, across, thick, material), members in found.items():
        labels = [label for label, _ in members if label]
        words = words_of(members[0][1]) if not labels else f"{_words(kind)} {_labels(labels)}"
        many = sum(int(piece.quantity.value) for _, piece in members)
        names = tuple(piece.name for _, piece in members)
        rows.append(PieceRow(names, words, many, along, across, thick, material))
    return tuple(rows)


def _words(kind: str) -> str:
    words = kind.replace("_", " ").replace("center", "centre")
    return words[:1].upper() + words[1:]
