"""Where the parts of the brake gear are, in letters and numbers, for a drawing that has no room for their names."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from carwright.draw.glyphs import width_mm
from carwright.draw.labels import number
from carwright.draw.model import LETTER_MM, XY, Mark, Text
from carwright.draw.placed import gear_pieces, words_of
from carwright.lengths import number_in
from carwright.pieces import Piece
from carwright.plan.model import Plan
from carwright.working import Working

__all__ = ["from_centre_line", "from_mid_car", "gear_letters", "gear_table"]

_LETTERS: Final = "prstuvwz"
"""Of parts of the brake gear: none is a hole's as long as a car has no more than a dozen kinds of hole."""

_ROW_MM: Final = 4.6
_APART_MM: Final = 5.0


def gear_letters(plan: Plan) -> Mapping[str, str]:
    """Return a small letter for each part of the brake gear, by its name; with numbers from the ninth part on."""
    return {
        piece.name: _LETTERS[place % 8] + (str(place // 8 + 1) if place >= 8 else "")
        for place, piece in enumerate(gear_pieces(plan))
    }


def gear_table(plan: Plan, at: XY, scale: float) -> list[Mark]:
    """Return a small table of the brake gear: letter, name and place of the middle.

    Args:
        plan: the plan.
        at: left end of the foot of its head, in model mm.
        scale: of the drawing.
    """
    pieces, letters, units = gear_pieces(plan), gear_letters(plan), plan.car.info.units
    if not pieces:
        return []
    rows = [("", "Brake gear, middles", "from mid-car", "centre line (left is up)")]
    rows += [
        (letters[each.name], words_of(each), from_mid_car(each, units), from_centre_line(each, units))
        for each in pieces
    ]
    starts = [0.0, 3.4]
    for column in (1, 2):
        starts.append(starts[-1] + max(width_mm(row[column], LETTER_MM) for row in rows) + _APART_MM)
    marks: list[Mark] = []
    for place, row in enumerate(rows):
        y = at.y_mm - _ROW_MM * place / scale
        for column, words in enumerate(row):
            if words:
                x = at.x_mm + (starts[column] if place else max(0.0, starts[column] - 3.4 * (column == 1))) / scale
                marks.append(Text(XY(x, y), words, bold=column == 0, layer="text"))
    return marks


def from_mid_car(piece: Piece, units: Literal["in", "mm"]) -> str:
    """Return how far a piece's middle is from mid-car, and toward which end: "0.750 to A"."""
    x = piece.pose.x_mm
    told = _unsigned(x, units)
    if abs(x.value) < 0.005:
        return "at mid-car"
    return f"{told} to {'A' if x.value > 0 else 'B'}"


def from_centre_line(piece: Piece, units: Literal["in", "mm"]) -> str:
    """Return how far a piece's middle is from the centre line, and on which side: "0.207 left"."""
    y = piece.pose.y_mm
    if abs(y.value) < 0.005:
        return "on it"
    return f"{_unsigned(y, units)} {'left' if y.value > 0 else 'right'}"


def _unsigned(place: Working, units: Literal["in", "mm"]) -> str:
    """Return a distance; what stands alike on both sides is told alike, whatever its last bit."""
    if place.kind == "typed":
        return number(place, units).lstrip("-")
    return number_in(round(abs(place.value), 6), units)
