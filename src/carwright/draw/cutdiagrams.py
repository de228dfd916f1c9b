"""Cutting diagrams: each sheet, and all bars of a section, with pieces, numbered cuts and what remains."""

from __future__ import annotations

from collections.abc import Iterator

from carwright.draw.model import XY, Drawing, Line, Mark, Polyline, Text
from carwright.stock.batch import Batch, Group
from carwright.stock.records import Area, BarLayout, SheetLayout

__all__ = ["cut_drawings"]

_BAR_MM = 8.0
"""A bar is drawn so high, whatever its section; its length is to scale."""


def cut_drawings(batch: Batch) -> Iterator[Drawing]:
    """Yield a drawing for each sheet, and one for all bars of each other section, true to size."""
    for number, group in enumerate(batch.groups, 1):
        section = group.section
        title = f"{section.material} {section.form} {section.thickness_mm:g} mm"
        if section.width_mm:
            title += f" x {section.width_mm:g} mm"
        if section.form == "sheet":
            for place, layout in enumerate(group.plan.layouts, 1):
                if isinstance(layout, SheetLayout):
                    yield _sheet(layout, f"cut-{number}-{place}", f"{title}, {layout.stock}, {place}")
        else:
            yield _bars(group, f"cut-{number}", title)


def _box(area: Area) -> tuple[XY, ...]:
    x0, y0, x1, y1 = area.x_mm, area.y_mm, area.x_mm + area.width_mm, area.y_mm + area.length_mm
    return XY(x0, y0), XY(x1, y0), XY(x1, y1), XY(x0, y1)


def _middle(area: Area) -> XY:
    return XY(area.x_mm + area.width_mm / 2, area.y_mm + area.length_mm / 2)


def _words(area: Area, text: str) -> Text | None:
    """Return a name that fits into a rectangle, along its longer side, or None where it has no room."""
    long, short = max(area.width_mm, area.length_mm), min(area.width_mm, area.length_mm)
    size = min(3.0, short * 0.7, long / max(1, len(text)) / 0.62)
    if size < 0.8:
        return None
    upright = area.length_mm > area.width_mm
    at = _middle(area)
    at = XY(at.x_mm + size * 0.35, at.y_mm) if upright else XY(at.x_mm, at.y_mm - size * 0.35)
    return Text(layer="text", at=at, text=text, size_mm=round(size, 2), anchor="middle", turn_deg=90 if upright else 0)


def _sheet(layout: SheetLayout, name: str, title: str) -> Drawing:
    whole = Area(0.0, 0.0, layout.width_mm, layout.length_mm)
    marks: list[Mark] = [Polyline(layer="outline", points=_box(whole))]
    for piece in layout.pieces:
        marks.append(Polyline(layer="thin", points=_box(piece.area), part=piece.name, fill="band"))
        words = _words(piece.area, piece.name)
        if words is not None:
            marks.append(words)
    for area in layout.remainders[: layout.kept]:
        marks.append(Polyline(layer="phantom", points=_box(area)))
        words = _words(area, f"keep {area.width_mm:.1f} x {area.length_mm:.1f}")
        if words is not None:
            marks.append(words)
    for cut in layout.cuts:
        start, end = XY(cut.x0_mm, cut.y0_mm), XY(cut.x1_mm, cut.y1_mm)
        marks.append(Line(layer="template", start=start, end=end, role="score"))
        marks.append(
            Text(layer="text", at=end, text=str(cut.number), size_mm=1.8, bold=True, ground=True, anchor="end")
        )
    alt = f"{len(layout.pieces)} pieces in one sheet, with {len(layout.cuts)} numbered cuts."
    return Drawing(name, title, alt, tuple(marks))


def _bars(group: Group, name: str, title: str) -> Drawing:
    marks: list[Mark] = []
    bars = [layout for layout in group.plan.layouts if isinstance(layout, BarLayout)]
    for row, bar in enumerate(bars):
        low = -row * (_BAR_MM + 6.0)
        marks.append(Polyline(layer="outline", points=_box(Area(0.0, low, bar.length_mm, _BAR_MM))))
        marks.append(Text(layer="text", at=XY(0.0, low + _BAR_MM + 1.0), text=f"{row + 1}. {bar.stock}", size_mm=2.5))
        end = 0.0
        for piece in bar.pieces:
            area = Area(piece.start_mm, low, piece.length_mm, _BAR_MM)
            marks.append(Polyline(layer="thin", points=_box(area), part=piece.name, fill="band"))
            words = _words(area, f"{piece.name} {piece.length_mm:.1f}")
            if words is not None:
                marks.append(words)
            end = piece.start_mm + piece.length_mm
        if bar.kept:
            words = _words(Area(end, low, bar.length_mm - end, _BAR_MM), f"keep {bar.offcut_mm:.1f}")
            if words is not None:
                marks.append(words)
    return Drawing(name, title, f"{len(bars)} bars with the pieces cut from each, in cutting order.", tuple(marks))
