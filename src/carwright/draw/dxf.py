"""Drawings as DXF: a reading profile for people and a plain profile for cutters. Model millimetres, nothing else.

*Reading* (AC1024): named layers with pens and lines of the drawing's own, real DIMENSION and HATCH entities, circles
that are circles. Letters keep their size on paper at the drawing's scale, so in a view at 4 : 1 they are a quarter as
large in the file; lengths are never scaled. *Plain* (AC1015): closed polylines and circles only, on CUT, SCORE and
DRILL; nothing that waits for a measurement is in it. Units are millimetres (``$INSUNITS`` 4) in both. Print correction
never enters.

The library stamps times and identifiers into a file; its fixed-metadata option is process-wide, so it is set and put
back under a lock. The same model then gives the same file, byte for byte.
"""

from __future__ import annotations

import io
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from carwright.draw.glyphs import CAP_HEIGHT, FRACTION_SIZE, runs
from carwright.draw.model import (
    ARROW_MM,
    LAYERS,
    LETTER_MM,
    XY,
    Arc,
    Balloon,
    CentreMark,
    Circle,
    Dimension,
    Drawing,
    Hatch,
    Leader,
    Line,
    Mark,
    Ordinate,
    Polyline,
    Ring,
    Text,
    walk,
)
from carwright.draw.strokes import BALLOON_MM, GAP_MM, OVERRUN_MM, RING_MM

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.layouts.layout import Modelspace

__all__ = ["CUTTER_LAYERS", "plain_dxf", "reading_dxf"]

CUTTER_LAYERS: Final = {"cut": "CUT", "score": "SCORE", "drill": "DRILL"}
"""The plain profile's layers, by role."""

_STYLE: Final = "CARWRIGHT"
_PATTERN_STEP_MM: Final = 1.4
_FIXED: Final = threading.Lock()


def reading_dxf(drawing: Drawing) -> bytes:
    """Return the drawing for people: layers, line types, real dimensions and hatches."""
    with _fixed_metadata():
        return _reading(drawing)


def plain_dxf(drawing: Drawing) -> bytes:
    """Return the drawing for a cutter: every mark with a role but ``show``, on that role's layer.

    Only closed polylines and circles can have such a role; others are left out, as is the layer ``wanting``.
    """
    with _fixed_metadata():
        return _plain(drawing)


@contextmanager
def _fixed_metadata() -> Iterator[None]:
    from ezdxf._options import options

    with _FIXED:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before


def _reading(drawing: Drawing) -> bytes:
    from ezdxf.filemanagement import new

    doc = new("R2010", setup=False, units=4)
    k = drawing.scale
    doc.header["$MEASUREMENT"] = 1
    doc.header["$LTSCALE"] = 1.0 / k
    doc.styles.new("LETTERS", dxfattribs={"font": "txt"})
    for layer, pen in LAYERS.items():
        linetype = "CONTINUOUS"
        if pen.dashes_mm:
            linetype = layer.upper()
            signed = [d if place % 2 == 0 else -d for place, d in enumerate(pen.dashes_mm)]
            doc.linetypes.add(linetype, [sum(pen.dashes_mm), *signed], description=f"{layer} line")
        weight = round(pen.width_mm * 100)
        doc.layers.add(layer.upper(), color=7, linetype=linetype, lineweight=weight)
    _dimension_style(doc, k)
    space = doc.modelspace()
    for mark in walk(drawing.marks):
        _write(space, mark, k)
    return _saved(doc)


def _plain(drawing: Drawing) -> bytes:
    from ezdxf.filemanagement import new

    doc = new("R2000", setup=False, units=4)
    doc.header["$MEASUREMENT"] = 1
    for name in CUTTER_LAYERS.values():
        doc.layers.add(name, color=7)
    space = doc.modelspace()
    for mark in walk(drawing.marks):
        if mark.role == "show" or mark.layer == "wanting":
            continue
        on = {"layer": CUTTER_LAYERS[mark.role]}
        if isinstance(mark, Circle):
            space.add_circle(mark.centre, mark.radius_mm, dxfattribs=on)
        elif isinstance(mark, Polyline) and mark.closed:
            space.add_lwpolyline(mark.points, close=True, dxfattribs=on)
    return _saved(doc)


def _dimension_style(doc: Document, k: float) -> None:
    style = doc.dimstyles.new(_STYLE)
    attributes: dict[str, float | int | str] = {
        "dimtxsty": "LETTERS",
        "dimtxt": CAP_HEIGHT * LETTER_MM / k,
        "dimasz": ARROW_MM / k,
        "dimexo": GAP_MM / k,
        "dimexe": OVERRUN_MM / k,
        "dimgap": 0.9 / k,
        "dimlfac": 1.0,
        "dimscale": 1.0,
        "dimtih": 1,
        "dimtoh": 1,
        "dimtad": 0,
        "dimlwd": 25,
        "dimlwe": 25,
    }
    for name, value in attributes.items():
        style.set_dxf_attrib(name, value)


def _saved(doc: Document) -> bytes:
    stream = io.StringIO()
    doc.write(stream)
    return doc.encode(stream.getvalue())


def _plain_text(text: str) -> str:
    """Return words for TEXT: no control signs, and the format's own percent codes broken up."""
    kept = "".join(sign if sign.isprintable() else "\ufffd" for sign in " ".join(text.split()))
    return kept.replace("%%", "%\u200b%").replace("^", "^ ").replace("\\U+", "\\ U+").replace("\\M+", "\\ M+")


def _rich_text(text: str) -> str:
    """Return words for MTEXT and dimensions: its own signs escaped, fractions stacked."""
    done: list[str] = []
    for run in runs(" ".join(text.split())):
        if run.below:
            done.append(f"{{\\H{FRACTION_SIZE}x;\\S{run.text}/{run.below};}}")
        else:
            kept = "".join(sign if sign.isprintable() else "\ufffd" for sign in run.text)
            for sign in "\\{}":
                kept = kept.replace(sign, f"\\{sign}")
            done.append(kept.replace("^", "^ ").replace("%%", "%\u200b%"))
    return ("\\A1;" if any(each.startswith("{\\H") for each in done) else "") + "".join(done)


def _write(space: Modelspace, mark: Mark, k: float) -> None:
    on = {"layer": mark.layer.upper()}
    notes = {"layer": "TEXT"}
    if isinstance(mark, Line):
        space.add_line(mark.start, mark.end, dxfattribs=on)
    elif isinstance(mark, Polyline):
        if mark.layer == "hatch":
            return  # clears the paper behind; there is nothing to clear in a file of lines
        space.add_lwpolyline(mark.points, close=mark.closed, dxfattribs=on)
    elif isinstance(mark, Circle):
        space.add_circle(mark.centre, mark.radius_mm, dxfattribs=on)
    elif isinstance(mark, Arc):
        space.add_arc(mark.centre, mark.radius_mm, mark.start_deg, mark.end_deg, dxfattribs=on)
    elif isinstance(mark, Hatch):
        _hatch(space, mark, k)
    elif isinstance(mark, Text):
        _words(space, mark.at, mark.text, mark.size_mm / k, mark.anchor, turn_deg=mark.turn_deg, layer="TEXT")
    elif isinstance(mark, CentreMark):
        x, y = mark.centre
        reach = mark.radius_mm + mark.reach_mm / k
        space.add_line((x - reach, y), (x + reach, y), dxfattribs=on)
        space.add_line((x, y - reach), (x, y + reach), dxfattribs=on)
    elif isinstance(mark, Leader):
        away = 1.0 if mark.elbow.x_mm >= mark.tip.x_mm else -1.0
        shelf = XY(mark.elbow.x_mm + 3.0 * away / k, mark.elbow.y_mm)
        space.add_leader([mark.tip, mark.elbow, shelf], dimstyle=_STYLE, dxfattribs={"layer": "DIMENSION"})
        at = XY(shelf.x_mm + away / k, shelf.y_mm - 0.35 * LETTER_MM / k)
        _words(space, at, mark.text, LETTER_MM / k, "start" if away > 0 else "end", turn_deg=0, layer="TEXT")
    elif isinstance(mark, Balloon):
        space.add_circle(mark.at, BALLOON_MM / k, dxfattribs=notes)
        at = XY(mark.at.x_mm, mark.at.y_mm - 0.35 * LETTER_MM / k)
        _words(space, at, mark.text, LETTER_MM / k, "middle", turn_deg=0, layer="TEXT")
    elif isinstance(mark, Ring):
        space.add_circle(mark.at, RING_MM / k, dxfattribs=notes)
        at = XY(mark.at.x_mm, mark.at.y_mm - 0.35 * LETTER_MM / k)
        _words(space, at, mark.letter, LETTER_MM / k, "middle", turn_deg=0, layer="TEXT")
    elif isinstance(mark, Dimension):
        _dimension(space, mark)
    elif isinstance(mark, Ordinate):
        _ordinate(space, mark, k)


def _words(space: Modelspace, at: XY, text: str, size_mm: float, anchor: str, *, turn_deg: float, layer: str) -> None:
    from ezdxf.enums import TextEntityAlignment

    align = {"start": TextEntityAlignment.LEFT, "middle": TextEntityAlignment.CENTER, "end": TextEntityAlignment.RIGHT}
    attributes = {"layer": layer, "style": "LETTERS", "rotation": turn_deg}
    words = space.add_text(_plain_text(text), height=size_mm * CAP_HEIGHT, dxfattribs=attributes)
    words.set_placement(at, align=align[anchor])


def _hatch(space: Modelspace, mark: Hatch, k: float) -> None:
    hatch = space.add_hatch(dxfattribs={"layer": "HATCH"})
    step = _PATTERN_STEP_MM / k
    lines = {
        "single": [[45.0, (0.0, 0.0), (-step * 0.5**0.5, step * 0.5**0.5), []]],
        "single_back": [[135.0, (0.0, 0.0), (-step * 0.5**0.5, -step * 0.5**0.5), []]],
        "paired": [
            [45.0, (0.0, 0.0), (-step * 0.5**0.5, step * 0.5**0.5), []],
            [45.0, (-0.25 * step * 0.5**0.5, 0.25 * step * 0.5**0.5), (-step * 0.5**0.5, step * 0.5**0.5), []],
        ],
        "dots": [[0.0, (0.0, 0.0), (step / 2, step), [0.0, -step]]],
    }
    hatch.set_pattern_fill(mark.pattern.upper(), scale=1.0, definition=lines[mark.pattern])
    hatch.paths.add_polyline_path(mark.outline, is_closed=True)
    for hole in mark.holes:
        hatch.paths.add_polyline_path(hole, is_closed=True, flags=16)


def _dimension(space: Modelspace, mark: Dimension) -> None:
    text = _rich_text(f"({mark.letter}) {mark.text}".strip() if mark.letter else mark.text)
    base = (0.0, mark.line_at_mm) if mark.axis == "x" else (mark.line_at_mm, 0.0)
    dimension = space.add_linear_dim(
        base=base,
        p1=mark.start,
        p2=mark.end,
        angle=0 if mark.axis == "x" else 90,
        dimstyle=_STYLE,
        text=text or " ",
        dxfattribs={"layer": "DIMENSION"},
    )
    dimension.render()


def _ordinate(space: Modelspace, mark: Ordinate, k: float) -> None:
    text = _rich_text(f"{mark.text}  {mark.words}" if mark.words else mark.text)
    offset = (mark.label.x_mm - mark.point.x_mm, mark.label.y_mm - mark.point.y_mm)
    add = space.add_ordinate_y_dim if mark.axis == "y" else space.add_ordinate_x_dim
    dimension = add(
        feature_location=mark.point,
        offset=offset,
        dimstyle=_STYLE,
        text=text,
        dxfattribs={"layer": "DIMENSION"},
    )
    dimension.render()
