"""Sheets of paper: drawings, words and tables as a PDF, true to size.

The typesetter runs with an empty root, no packages and only the shipped face; users' words reach it as data. Any
warning of it is a fault. No date, no identifiers: the same sheets give the same file, byte for byte. The file is tagged
(PDF/UA-1) and every picture has its words.

A page with anything true to size carries bars of 100 mm and 4 in both ways. Pictures drawn true to size, and the bars,
are laid on the page with the printer's correction; nothing else is. What does not fit on a page goes on on the next one
under the same head.
"""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from carwright.draw.bars import BARS_MM, Correction, bar
from carwright.draw.blocks import (
    Blank,
    Block,
    Card,
    Cards,
    Caution,
    Columns,
    Contents,
    Facts,
    Heading,
    Hold,
    Note,
    Page,
    Paper,
    Picture,
    Prose,
    Steps,
    Table,
    Verdicts,
)
from carwright.draw.glyphs import BOLD_FAMILY, FAMILY, FONT_FOLDER, runs, shortened, shown, width_mm
from carwright.draw.model import Drawing
from carwright.draw.strokes import Box, bounds, ink
from carwright.draw.svg import svg_of

if TYPE_CHECKING:
    from typst import Fonts

__all__ = [
    "MARGIN_MM",
    "Blank",
    "Block",
    "Card",
    "Cards",
    "Caution",
    "Columns",
    "Contents",
    "Facts",
    "Heading",
    "Hold",
    "Note",
    "Page",
    "Paper",
    "Picture",
    "Prose",
    "Steps",
    "Table",
    "Verdicts",
    "field_mm",
    "pdf",
]

MARGIN_MM: Final = 14.0
"""White on every side."""

_PAPER_MM: Final = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}
_HEAD_MM: Final = 14.5
_LANE_MM: Final = 15.0
_FOOT_MM: Final = 7.0
_SILL_MM: Final = 24.0
_TITLE_MM: Final = 17 * 25.4 / 72.0
_NOTE_MM: Final = 8.5 * 25.4 / 72.0


def field_mm(paper: Paper, *, landscape: bool = False, bars: bool = True) -> tuple[float, float]:
    """Return how wide and high the room between head, bars and foot is, in mm on paper."""
    width, height = _size(paper, landscape)
    lane, sill = (_LANE_MM, _SILL_MM) if bars else (0.0, 0.0)
    return width - 2 * MARGIN_MM - lane, height - 2 * MARGIN_MM - _HEAD_MM - _FOOT_MM - sill


def pdf(
    pages: Sequence[Page],
    *,
    title: str,
    paper: Paper = "letter",
    correction: Correction | None = None,
    foot: str = "Carwright",
    read_into: str = "as --printed-x (short edge), --printed-y (long)",
) -> bytes:
    """Return the sheets as one PDF file.

    Args:
        pages: at least one.
        title: the document's title, for readers' software.
        paper: "letter" or "a4".
        correction: what the printer needs; None prints as drawn.
        foot: what stands at the left of every foot.
        read_into: where the readings of the bars go, in the words of who prints.
    """
    import typst

    right = correction or Correction()
    data = {
        "title": shown(title) or "Carwright",
        "family": FAMILY,
        "bold_family": BOLD_FAMILY,
        "margin": MARGIN_MM,
        "head": _HEAD_MM,
        "foot": {"left": shown(foot), "middle": shown(right.said())},
        "panel": _panel_words(right, read_into),
        "pages": [_page(page, paper, right) for page in pages],
    }
    source = (Path(__file__).parent / "page.typ").read_bytes()
    with tempfile.TemporaryDirectory(prefix="carwright-") as root:
        compiler = typst.Compiler(
            source,
            root=root,
            font_paths=_fonts(),
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
        )
        made, warnings = compiler.compile_with_warnings(format="pdf", pdf_standards=["ua-1"])
    if warnings or not isinstance(made, bytes):
        raise RuntimeError("the typesetter warned: " + "; ".join(each.message for each in warnings))
    return made


@cache
def _fonts() -> Fonts:
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONT_FOLDER)])


def _size(paper: Paper, landscape: bool) -> tuple[float, float]:
    width, height = _PAPER_MM[paper]
    return (height, width) if landscape else (width, height)


def _page(page: Page, paper: Paper, correction: Correction) -> dict[str, object]:
    width, height = _size(paper, page.landscape)
    correction = correction.on(landscape=page.landscape)
    left = MARGIN_MM + (_LANE_MM if page.bars else 0.0)
    floor = height - MARGIN_MM - _FOOT_MM
    room = width - 2 * MARGIN_MM
    end = left + BARS_MM[1] * correction.x + 6.0
    title = shortened(page.title, 0.7 * room, _TITLE_MM, bold=True)
    beside = room - width_mm(title, _TITLE_MM, bold=True) - 7.0
    return {
        "width": width,
        "height": height,
        "left": left,
        "bottom": height - floor + (_SILL_MM if page.bars else 0.0),
        "title": title,
        "who": shortened(page.who, beside, _NOTE_MM),
        "what": shortened(page.what, beside, _NOTE_MM),
        "foot": shortened(page.foot, 0.68 * room, _NOTE_MM),
        "bars": _bars(left, floor, correction) if page.bars else [],
        "panel": {"x": end, "y": floor - _SILL_MM + 3.0, "width": width - MARGIN_MM - end},
        "blocks": [_block(block, correction) for block in page.blocks],
    }


def _bars(left: float, floor: float, correction: Correction) -> list[dict[str, object]]:
    """Return the four bars: two lying along the foot, two standing in the left lane, from the corner outwards."""
    placed: list[dict[str, object]] = []
    for place, length in enumerate(BARS_MM):
        lying, standing = bar(length, way="across"), bar(length, way="up")
        placed.append(_placed(lying, left + 1.0, floor - 16.3 + place * 8.8, correction))
        placed.append(_placed(standing, MARGIN_MM + 5.2 + place * 7.4, floor - 7.5, correction))
    return placed


def _placed(drawing: Drawing, x: float, y: float, correction: Correction) -> dict[str, object]:
    """Return a picture whose drawing's origin stands at x, y from the page's upper left corner."""
    picture, box = _svg(drawing)
    return {
        "svg": picture,
        "alt": drawing.alt,
        "x": x + box.left_mm * correction.x,
        "y": y - box.top_mm * correction.y,
        "width": box.width_mm * correction.x,
        "height": box.height_mm * correction.y,
    }


def _svg(drawing: Drawing, window_mm: tuple[float, float] | None = None) -> tuple[str, Box]:
    pieces = ink(drawing)
    box = bounds(pieces).grown(0.5)
    if window_mm is not None:
        box = Box(window_mm[0], box.bottom_mm, window_mm[1], box.top_mm)
    return svg_of(pieces, box, title=drawing.title, alt=drawing.alt, name=drawing.name), box


_TIED: Final = re.compile(r"(?<=±) (?=[\d.])|(?<=\d) (?=(?:in|mm|g|%)\b|%)|(?<=\d) (?=×)|(?<=×) (?=\d)")
"""Spaces at which a line is not broken: at a plus-minus or times sign, and between a number and its unit."""


def _words(text: str) -> list[str | list[str]]:
    cut = runs(shown(text))
    return [_TIED.sub("\u00a0", run.text) if not run.below else [run.text, run.below] for run in cut]


def _block(block: Block, correction: Correction) -> dict[str, object]:
    if isinstance(block, Picture):
        return _picture(block, correction)
    if isinstance(block, Columns):
        left, right = ([_block(each, correction) for each in side] for side in (block.left, block.right))
        return {"kind": "columns", "share": block.share, "whole": block.whole, "left": left, "right": right}
    if isinstance(block, Contents):
        return {"kind": "contents"}
    if isinstance(block, Facts):
        return {"kind": "facts", "pairs": [[shown(label), _words(value)] for label, value in block.pairs]}
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Cards):
        cards = [
            {
                "letter": shown(c.letter),
                "question": _words(c.question),
                "how": _words(c.how) if c.how else [],
                "boxes": [{"label": shown(each.label), "value": shown(each.value)} for each in c.boxes],
                "unit": shown(c.unit),
                "wanting": c.wanting,
            }
            for c in block.cards
        ]
        return {"kind": "cards", "cards": cards}
    if isinstance(block, Verdicts):
        rows = [
            {
                "verdict": each.verdict,
                "name": shown(each.name),
                "because": _words(each.because),
                "mend": _words(each.mend) if each.mend else [],
                "margin": _words(each.margin) if each.margin else [],
            }
            for each in block.rows
        ]
        return {"kind": "verdicts", "rows": rows}
    if isinstance(block, Steps):
        lines = [
            {
                "number": shown(each.number),
                "words": _words(each.text),
                "hold": each.hold,
                "places": [shown(place) for place in each.places],
                "after": shown(each.after),
                "caution": _words(each.caution) if each.caution else [],
                "limit": shown(each.limit),
                "checks": [_words(check) for check in each.checks],
            }
            for each in block.lines
        ]
        return {"kind": "steps", "lines": lines}
    return _sentence(block)


def _sentence(block: Heading | Prose | Note | Caution | Hold) -> dict[str, object]:
    if isinstance(block, Heading):
        return {"kind": "heading", "words": _words(block.text)}
    if isinstance(block, Prose):
        return {"kind": "text", "words": _words(block.text)}
    if isinstance(block, Note):
        return {"kind": "note", "words": _words(block.text)}
    if isinstance(block, Caution):
        return {"kind": "caution", "word": shown(block.word), "words": _words(block.text)}
    places = [shown(place) for place in block.places]
    return {"kind": "hold", "word": shown(block.word), "words": _words(block.text), "places": places}


def _table(block: Table) -> dict[str, object]:
    return {
        "kind": "table",
        "columns": list(block.widths_mm),
        "right": list(block.right),
        "heads": [shown(head) for head in block.heads],
        "cells": [_words(cell) for row in block.rows for cell in row],
        "bold": list(block.bold_rows),
        "marks": list(block.marks),
    }


def _picture(block: Picture, correction: Correction) -> dict[str, object]:
    picture, box = _svg(block.drawing, block.window_mm)
    x, y = (correction.x, correction.y) if block.true_size else (1.0, 1.0)
    return {
        "kind": "picture",
        "svg": picture,
        "alt": shown(block.drawing.alt),
        "centred": block.centred,
        "width": box.width_mm * x,
        "height": box.height_mm * y,
    }


def _panel_words(correction: Correction, read_into: str) -> dict[str, str]:
    said = 'of 4 in as "4.01 in of 4 in"'
    if not correction.is_none:  # there is room for one of the two; a reading in inches is asked for its bar anyhow
        said = f'behind it the foot\'s "{correction.drawn[correction.x == 1.0]}"'
    return {
        "head": "Is this print true?",
        "body": shown(
            "Print at 100 %, not fitted. Give what a 100 mm bar measures, middle to middle of its end lines, "
            f"{read_into}; {said}."
        ),
    }
