"""A car's side elevation, small and bare: its ink alone, for a list of cars or a photograph's place.

The file carries no style sheet: pens are attributes, so that it can stand under a content policy that forbids styles.
"""

from __future__ import annotations

from typing import Final
from xml.sax.saxutils import quoteattr

from carwright.draw.heads import plan_shape
from carwright.draw.model import LAYERS, Layer
from carwright.draw.outline import side_view
from carwright.draw.strokes import FINE, Curve, Disc, Path, Words, bounds, ink
from carwright.draw.svg import number, outline_of, safe_attribute
from carwright.plan.model import Plan

__all__ = ["PIXELS_PER_MM", "elevation_svg"]

PIXELS_PER_MM: Final = 1.2
"""One common scale on the screen, so that a longer car looks longer."""

_EDGE_MM: Final = 0.4
_HEAVIER: Final = {"outline": 0.8, "thin": 0.4, "hidden": 0.4, "phantom": 0.4}
"""Pens in mm, wider than on paper: the drawing is seen at a third of its size or less."""

_USUAL_MM: Final = 165.0
"""Width of a car for which these pens are; a shorter one is stretched more, and has finer pens and dashes."""

_WHOLE: Final = frozenset({"phantom", "centre"})
"""Drawn whole: so small, a dashed wheel looks like a broken one."""

_PAPER: Final = {"none": "none", "paper": "#fff", "ink": "#000", "band": "#e6e6e6"}


def elevation_svg(plan: Plan) -> str:
    """Return the car from its left side as SVG in black on nothing, end B to the right."""
    pieces = [
        piece
        for piece in ink(side_view(plan.car, plan_shape(plan), plan.pieces))
        if not isinstance(piece, Words) and piece.title != "Rail top"
    ]
    box = bounds(pieces)
    left, top = box.left_mm - _EDGE_MM, -box.top_mm - _EDGE_MM
    width, height = box.width_mm + 2 * _EDGE_MM, box.height_mm + 2 * _EDGE_MM
    fine = min(1.0, (width / _USUAL_MM) ** 0.5)
    name = plan.car.info.name or "Car without a name"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{number(left)} {number(top)} {number(width)} '
        f'{number(height)}" width="{number(width * PIXELS_PER_MM)}" height="{number(height * PIXELS_PER_MM)}" '
        f'role="img" aria-label={quoteattr(safe_attribute(name))} fill="none" stroke="#000">'
    )
    lines = [head]
    for layer in LAYERS:
        here = [piece for piece in pieces if piece.layer == layer]
        if here:
            lines.append(f"<g{_pen(layer, fine)}>")
            lines.extend(_element(piece, fine) for piece in here)
            lines.append("</g>")
    lines.append("</svg>\n")
    return "\n".join(lines)


def _pen(layer: Layer, fine: float) -> str:
    return f' stroke-width="{number(fine * _HEAVIER.get(layer, 0.4))}"{_dashes(layer, fine)}'


def _dashes(layer: Layer, share: float) -> str:
    dashes = () if layer in _WHOLE else LAYERS[layer].dashes_mm
    return f' stroke-dasharray="{" ".join(number(share * each) for each in dashes)}"' if dashes else ""


def _element(piece: Path | Curve | Disc, fine: float) -> str:
    if isinstance(piece, Curve):
        return outline_of(piece)
    fill = "" if piece.fill == "none" else f' fill="{_PAPER[piece.fill]}"'
    return outline_of(piece, fill + (_dashes(piece.layer, fine * FINE[piece.fineness]) if piece.fineness else ""))
