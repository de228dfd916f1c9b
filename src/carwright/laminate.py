"""Layers of sheet that together make a wanted thickness."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

__all__ = ["Lamination", "laminate", "laminations"]

_TIE_MM = 1e-7
"""Errors closer than this are the same: thicknesses are read to 0.001 in at best, sums of floats differ by 1e-15."""


@dataclass(frozen=True, slots=True)
class Lamination:
    """A choice of layers.

    Args:
        layers: index into the thicknesses offered, one for each layer, thickest first; the thickest lies undermost.
        thickness_mm: sum of the layers and of the glue lines between them.
        error_mm: thickness less what was wanted.
        within: whether the error is inside the window.
    """

    layers: tuple[int, ...]
    thickness_mm: float
    error_mm: float
    within: bool


def laminations(
    thicknesses_mm: Sequence[float], *, most: int, up_to_mm: float, glue_mm: float = 0.0
) -> Iterator[tuple[tuple[int, ...], float]]:
    """Yield every set of 1 to ``most`` layers whose thickness without the last layer is below ``up_to_mm``.

    Each comes once, as indices with the thickest first, and its thickness in mm. A set is carried past ``up_to_mm`` by
    its last layer at the most, so that the nearest one above is among them.

    Args:
        thicknesses_mm: thickness of each kind of sheet, each > 0; a kind may be used several times.
        most: greatest number of layers; nothing comes where it is below 1.
        up_to_mm: thickness that is not built upon further.
        glue_mm: thickness of one glue line, >= 0; nothing for a solvent joint.
    """
    order = sorted(range(len(thicknesses_mm)), key=lambda i: (-thicknesses_mm[i], i))

    def extend(chosen: tuple[int, ...], total: float, start: int) -> Iterator[tuple[tuple[int, ...], float]]:
        for place in range(start, len(order)):
            index = order[place]
            height = total + thicknesses_mm[index] + (glue_mm if chosen else 0.0)
            grown = (*chosen, index)
            yield grown, height
            if len(grown) < most and height < up_to_mm:
                yield from extend(grown, height, place)

    if most >= 1:
        yield from extend((), 0.0, 0)


def laminate(
    thicknesses_mm: Sequence[float], *, wanted_mm: float, window_mm: float, most: int = 4, glue_mm: float = 0.0
) -> Lamination | None:
    """Return the layers that make ``wanted_mm``: the fewest within the window, else the nearest.

    Args:
        thicknesses_mm: thickness of each kind of sheet, each > 0; a kind may be used several times.
        wanted_mm: thickness wanted, > 0.
        window_mm: half-width of the window round it, >= 0.
        most: greatest number of layers, >= 1.
        glue_mm: thickness of one glue line, >= 0; nothing for a solvent joint.

    Returns:
        Within the window: fewest layers, then least error. If none is within: least error, then fewest layers. Ties go
        to the kinds offered first. None if no thickness is offered.

    Example:
        >>> laminate([0.762, 0.381], wanted_mm=1.1684, window_mm=0.127).layers
        (0, 1)

    Source:
        The rule of the bench: a joint costs a day between weights, so a layer less is worth an error that sanding and
        paint hide (common practice).
    """
    best: tuple[tuple[float, ...], tuple[int, ...], float] | None = None
    for layers, height in laminations(thicknesses_mm, most=most, up_to_mm=wanted_mm, glue_mm=glue_mm):
        error = abs(height - wanted_mm)
        rounded = round(error / _TIE_MM)
        within = error <= window_mm + _TIE_MM
        rank: tuple[float, ...] = (0, len(layers), rounded) if within else (1, rounded, len(layers))
        if best is None or (rank, layers) < (best[0], best[1]):
            best = (rank, layers, height)
    if best is None:
        return None
    rank, layers, height = best
    return Lamination(layers, height, height - wanted_mm, rank[0] == 0)
