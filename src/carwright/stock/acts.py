"""The cuts of a sheet as somebody makes them: each measured from the edge of the part that it is made in.

The sheet lies with its length from left to right. A cut *across* runs over the part's width and is measured from its
left end; a cut *along* runs over its length and is measured from its lower edge. Cuts made alike are told together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from carwright.stock.records import Area, PlacedSheet, SheetCut, SheetLayout

__all__ = ["Act", "acts_of"]

_SAME_MM = 2e-3
"""Lengths closer than that are one: sizes were rounded to whole numbers of a small unit for the search."""


@dataclass(frozen=True, slots=True)
class Act:
    """One cut, or several alike that take one strip after the other off the same part, or off parts that are alike.

    Args:
        across: whether it runs over the part's width.
        parts: that are cut, before the first cut in each; all of one size.
        step_mm: from the part's edge to the cut, and from each cut's far side to the next.
        times: cuts in each part.
        cuts: all of them.
        frees: names of the pieces that lie there alone after it.
    """

    across: bool
    parts: tuple[Area, ...]
    step_mm: float
    times: int
    cuts: tuple[SheetCut, ...]
    frees: tuple[str, ...] = ()

    @property
    def first(self) -> int:
        """Number of the first cut."""
        return self.cuts[0].number

    @property
    def last(self) -> int:
        """Number of the last cut."""
        return self.cuts[-1].number


def acts_of(layout: SheetLayout, *, kerf_mm: float = 0.0) -> tuple[Act, ...]:
    """Return the acts that take a sheet apart, in order.

    Args:
        layout: the sheet with its numbered cuts.
        kerf_mm: width of each cut, which lies beyond its line.

    Raises:
        ValueError: a cut goes through no part from edge to edge.
    """
    runs: list[Act] = []
    beyond: Area | None = None
    alone = {_corner(piece.area): piece for piece in layout.pieces}
    for cut, part, near, far in _in_parts(layout, kerf_mm):
        across = _across(cut)
        done = [found.name for half in (near, far) if (found := _piece_at(half, alone)) is not None]
        step = cut.y0_mm - part.y_mm if across else cut.x0_mm - part.x_mm
        if runs and part == beyond and runs[-1].across == across and _near(step, runs[-1].step_mm):
            last = runs[-1]
            runs[-1] = replace(last, times=last.times + 1, cuts=(*last.cuts, cut), frees=(*last.frees, *done))
        else:
            runs.append(Act(across, (part,), step, 1, (cut,), tuple(done)))
        beyond = far
    acts: list[Act] = []
    for run in runs:
        if acts and _alike(acts[-1], run):
            acts[-1] = replace(
                acts[-1],
                parts=(*acts[-1].parts, *run.parts),
                cuts=(*acts[-1].cuts, *run.cuts),
                frees=(*acts[-1].frees, *run.frees),
            )
        else:
            acts.append(run)
    return tuple(acts)


def _corner(area: Area) -> tuple[int, int]:
    """Return where a part begins, in hundredths of a millimetre."""
    return round(area.x_mm * 100), round(area.y_mm * 100)


def _piece_at(part: Area, alone: Mapping[tuple[int, int], PlacedSheet]) -> PlacedSheet | None:
    """Return the piece that a part is, None where more must be cut off it."""
    x, y = _corner(part)
    for corner in ((x + dx, y + dy) for dx in (0, -1, 1) for dy in (0, -1, 1)):
        piece = alone.get(corner)
        if (
            piece is not None
            and _near(piece.area.width_mm, part.width_mm)
            and _near(piece.area.length_mm, part.length_mm)
        ):
            return piece
    return None


def _alike(one: Act, other: Act) -> bool:
    """Return whether two acts set the fence alike on parts of one size."""
    this, that = one.parts[0], other.parts[0]
    return (
        (one.across, one.times) == (other.across, other.times)
        and _near(one.step_mm, other.step_mm)
        and _near(this.width_mm, that.width_mm)
        and _near(this.length_mm, that.length_mm)
    )


def _across(cut: SheetCut) -> bool:
    return _near(cut.y0_mm, cut.y1_mm)


def _near(one: float, other: float) -> bool:
    return abs(one - other) <= _SAME_MM


def _in_parts(layout: SheetLayout, kerf_mm: float) -> Iterator[tuple[SheetCut, Area, Area, Area]]:
    """Yield each cut with the part that it is made in, and what lies before and beyond it."""
    parts = [Area(0.0, 0.0, layout.width_mm, layout.length_mm)]
    for cut in layout.cuts:
        at, part = _part_of(cut, parts, kerf_mm)
        near, far = _halves(cut, part, kerf_mm)
        parts[at : at + 1] = [near, far]
        yield cut, part, near, far


def _part_of(cut: SheetCut, parts: Sequence[Area], kerf_mm: float) -> tuple[int, Area]:
    """Return the part that a cut goes through from edge to edge, and where it stands among them.

    A cut that trims less than the saw takes begins in the kerf of the cut before it.
    """
    for at, part in enumerate(parts):
        if _across(cut):
            edges = (part.x_mm, part.x_mm + part.width_mm)
            ends, place = sorted((cut.x0_mm, cut.x1_mm)), cut.y0_mm
            low, high = part.y_mm, part.y_mm + part.length_mm
        else:
            edges = (part.y_mm, part.y_mm + part.length_mm)
            ends, place = sorted((cut.y0_mm, cut.y1_mm)), cut.x0_mm
            low, high = part.x_mm, part.x_mm + part.width_mm
        if low - kerf_mm < place < high and _near(edges[0], ends[0]) and _near(edges[1], ends[1]):
            return at, part
    raise ValueError(f"cut {cut.number} goes through no part from edge to edge")


def _halves(cut: SheetCut, part: Area, kerf_mm: float) -> tuple[Area, Area]:
    if _across(cut):
        near = replace(part, length_mm=max(0.0, cut.y0_mm - part.y_mm))
        beyond = cut.y0_mm + kerf_mm
        return near, replace(part, y_mm=beyond, length_mm=max(0.0, part.y_mm + part.length_mm - beyond))
    near = replace(part, width_mm=max(0.0, cut.x0_mm - part.x_mm))
    beyond = cut.x0_mm + kerf_mm
    return near, replace(part, x_mm=beyond, width_mm=max(0.0, part.x_mm + part.width_mm - beyond))
