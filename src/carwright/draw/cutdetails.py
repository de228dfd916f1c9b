"""All pictures of one sheet: the whole, and details where its pieces lie close together, each at its largest scale."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from carwright.draw.cutdiagrams import PAPER, Lettering, Region, crowded_regions, sheet_diagram, whole_sheet
from carwright.draw.cutnumbers import room_mm
from carwright.draw.heads import SCALES
from carwright.draw.model import Drawing
from carwright.lengths import Units
from carwright.stock.batch import Group
from carwright.stock.records import SheetLayout

__all__ = ["sheet_pictures"]

_MANY_ACTS: Final = 12
"""A sheet on which more are left, beside those of its details, is itself drawn as large as there is room."""


def sheet_pictures(
    layout: SheetLayout,
    group: Group,
    units: Units,
    *,
    name: str,
    times: int = 1,
    scale: float,
    wide_mm: float,
    high_mm: float,
    letters: Lettering = PAPER,
) -> Iterator[Drawing]:
    """Yield the diagram of a sheet, then those of its crowded parts; each act is numbered on one of them.

    Args:
        layout: the sheet.
        group: of whose plan it is.
        units: of the sizes on it.
        name: of the drawings, each with its place behind it.
        times: how many sheets are cut alike.
        scale: of the whole, where it is not crowded.
        wide_mm: room for a detail.
        high_mm: room for a detail.
        letters: how small they may be.
    """

    def larger(part: Region, than: float) -> float:
        """Return the largest scale at which a part fits, 0 where that is not larger."""
        for each in (each for each in SCALES if each > than):
            wide, high = room_mm(part.part, each)
            if wide <= wide_mm and high <= high_mm:
                return each
        return 0.0

    whole = whole_sheet(layout, kerf_mm=group.kerf_mm)
    apart = crowded_regions(whole, lambda part: larger(part, scale) > 0)
    if len(whole.acts) - sum(len(each.acts) for each in apart) > _MANY_ACTS:
        scale = larger(whole, scale) or scale
    waiting: list[tuple[Region, float]] = [(whole, scale)]
    place = 0
    while waiting:
        region, drawn = waiting.pop(0)
        apart = crowded_regions(region, lambda part, than=drawn: larger(part, than) > 0)  # type: ignore[misc]
        waiting += [(each, larger(each, drawn)) for each in apart]
        place += 1
        yield sheet_diagram(
            layout,
            group,
            units,
            name=f"{name}-{place}",
            times=times,
            scale=drawn,
            region=None if region is whole else region,
            apart=apart,
            letters=letters,
        )
