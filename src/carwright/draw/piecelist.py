"""The list of pieces to cut: like pieces in one row, with how many and what from."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from carwright.draw.labels import number
from carwright.draw.placed import words_of
from carwright.pieces import Hole, Piece, bought_bolster
from carwright.plan.model import Plan

__all__ = ["PieceRow", "how_many", "piece_rows"]

_BLOCK = "screw_block_"
_NUMBERED = re.compile(r"^(?P<kind>[a-z_]+?)_(?P<label>\d+|a|b)(?P<rest>_[a-z_]+)?$")


@dataclass(frozen=True, slots=True)
class PieceRow:
    """One row: what it is, how many, its three sizes as told in the file's units, and the material.

    Args:
        pieces: names of the plan's pieces that the row stands for.
        name: what they are called.
        many: how many to make.
        along: finished length, or a wire's length unbent.
        across: finished width; "" for rod and wire.
        thick: thickness over all, or diameter.
        material: by its name in the data.
        stock: what it is cut from, with the thickness of each layer, underside first.
        cut: size to cut, with the allowance for its edges; "" where it is cut to its finished size.
    """

    pieces: tuple[str, ...]
    name: str
    many: int
    along: str
    across: str
    thick: str
    material: str
    stock: str
    cut: str


def how_many(plan: Plan, holes: Iterable[Hole]) -> int:
    """Return how many holes are drilled: each as often as the piece that it is in is made."""
    quantity = {piece.name: max(1, int(piece.quantity.value)) for piece in plan.pieces}
    return sum(quantity.get(hole.piece, 1) for hole in holes)


def _is_block(piece: Piece) -> bool:
    return piece.name.startswith(_BLOCK)


def _kind(piece: Piece) -> tuple[str, str]:
    """Return what a piece is called without its number or end, and that number or end."""
    if piece.name.startswith(_BLOCK):
        return _BLOCK.rstrip("_"), piece.name.removeprefix(_BLOCK).replace("_", " ")
    found = _NUMBERED.match(piece.name)
    if found is None:
        return piece.name, ""
    return f"{found['kind']}{found['rest'] or ''}", found["label"]


def _labels(labels: list[str]) -> str:
    """Return "1 to 6", "A and B" or "1, 3" for the labels of like pieces."""
    shown = [label[:-1] + label[-1].upper() for label in labels]
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
        words = words_of(members[0][1]) if not labels else f"{_words(kind, len(labels))} {_labels(labels)}"
        if kind == "screw_block" and len(members) > 1 and len(members) == sum(_is_block(p) for p in plan.pieces):
            words = "Screw blocks"
        many = sum(int(piece.quantity.value) for _, piece in members)
        names = tuple(piece.name for _, piece in members)
        first = members[0][1]
        rows.append(
            PieceRow(names, words, many, along, across, thick, material, _stock(first, units), _cut(first, units))
        )
    return tuple(rows)


def _stock(piece: Piece, units: Literal["in", "mm"]) -> str:
    if piece.form == "wire":
        return f"wire {number(piece.thickness_mm, units)}"
    if piece.form == "rod":
        return f"rod {number(piece.thickness_mm, units)}"
    if piece.form == "block":
        return f"block {number(piece.thickness_mm, units)}"
    if piece.layers_mm and not bought_bolster(piece):
        return "sheet " + " + ".join(number(layer, units) for layer in piece.layers_mm)
    if piece.name.startswith("bolster_"):
        return f"bolster {number(piece.thickness_mm, units)} high"
    return f"sheet {number(piece.thickness_mm, units)}"


def _cut(piece: Piece, units: Literal["in", "mm"]) -> str:
    if piece.form in ("wire", "rod"):
        long = piece.cut_length_mm or piece.length_mm
        return number(long, units)
    if piece.cut_length_mm is None or piece.cut_width_mm is None:
        return ""
    return f"{number(piece.cut_length_mm, units)} × {number(piece.cut_width_mm, units)}"


_CALLED: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "bolster": ("Bolster", "Bolsters"),
        "clip": ("Clip", "Clips"),
        "crossbearer": ("Webs of crossbearer", "Webs of crossbearers"),
        "crossbearer_flange": ("Flange of crossbearer", "Flanges of crossbearers"),
        "crosstie": ("Webs of crosstie", "Webs of crossties"),
        "crosstie_flange": ("Flange of crosstie", "Flanges of crossties"),
        "end_sill": ("End sill", "End sills"),
        "retention_block": ("Retention block", "Retention blocks"),
        "train_line": ("Train line", "Train lines"),
        "screw_block": ("Screw block of", "Screw blocks of"),
    }
)
"""What kinds of pieces are called, one and several, in front of their numbers or ends."""


def _words(kind: str, many: int) -> str:
    found = _CALLED.get(kind)
    if found is not None:
        return found[0 if many == 1 else 1]
    words = kind.replace("_", " ").replace("center", "centre")
    return words[:1].upper() + words[1:]
