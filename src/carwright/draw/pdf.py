"""Sheets of paper: drawings, words and tables as a PDF, true to size.

The typesetter runs with an empty root, no packages and only the shipped face; users' words reach it as data. Any
warning of it is a fault. No date, no identifiers: the same sheets give the same file, byte for byte. The file is tagged
(PDF/UA-1) and every picture has its words.

Every page carries bars of 100 mm and 4 in both ways. Pictures drawn true to size, and the bars, are laid on the page
with the printer's correction; nothing else is.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from carwright.draw.bars import BARS_MM, Correction, bar
from carwright.draw.glyphs import BOLD_FAMILY, FAMILY, FONT_FOLDER, runs, shortened, shown, width_mm
from carwright.draw.model import Drawing
from carwright.draw.strokes import Box, bounds, ink
from carwright.draw.svg import svg_of

if TYPE_CHECKING:
    from typst import Fonts

__all__ = [
    "MARGIN_MM",
    "Block",
    "Card",
    "Cards",
    "Caution",
    "Heading",
    "Hold",
    "Note",
    "Page",
    "Paper",
    "Picture",
    "Prose",
    "Table",
    "field_mm",
    "pdf",
]

Paper = Literal["letter", "a4"]
"""Sizes of paper."""

MARGIN_MM: Final = 14.0
"""White on every side."""

_PAPER_MM: Final = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}
_HEAD_MM: Final = 14.5
_LANE_MM: Final = 15.0
_FOOT_MM: Final = 7.0
_SILL_MM: Final = 24.0
_TITLE_MM: Final = 17 * 25.4 / 72.0
_NOTE_MM: Final = 8.5 * 25.4 / 72.0


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a page."""

    text: str


@dataclass(frozen=True, slots=True)
class Prose:
    """A paragraph in the body's size."""

    text: str


@dataclass(frozen=True, slots=True)
class Note:
    """A paragraph in the notes' size."""

    text: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A framed warning; ``word`` stands in front of it."""

    text: str
    word: str = "Caution"


@dataclass(frozen=True, slots=True)
class Hold:
    """A framed hold point with a box to tick."""

    text: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing; with ``true_size`` the printer's correction is applied to it.

    ``window_mm`` shows only what lies between two places along x, in paper millimetres of the drawing.
    """

    drawing: Drawing
    true_size: bool = False
    centred: bool = True
    window_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A table; a width of 0 shares what is left over. ``right`` says which columns are set to the right."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths_mm: tuple[float, ...]
    right: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """One measurement to be taken: its letter, question, how it is measured, and the unit behind the box."""

    letter: str
    question: str
    how: str
    unit: str


@dataclass(frozen=True, slots=True)
class Cards:
    """Measurements to be taken, one under the other, each with a box for the pencil."""

    cards: tuple[Card, ...]


Block = Heading | Prose | Note | Caution | Hold | Picture | Table | Cards


@dataclass(frozen=True, slots=True)
class Page:
    """One sheet: its title at the left, ``who`` and ``what`` at the right, and what stands on it."""

    title: str
    who: str
    what: str
    blocks: tuple[Block, ...]
    landscape: bool = False


def field_mm(paper: Paper, *, landscape: bool = False) -> tuple[float, float]:
    """Return how wide and high the room between head, bars and foot is, in mm on paper."""
    width, height = _size(paper, landscape)
    return width - 2 * MARGIN_MM - _LANE_MM, height - 2 * MARGIN_MM - _HEAD_MM - _FOOT_MM - _SILL_MM


def pdf(pages: Sequence[Page], *, title: str, paper: Paper = "letter", correction: Correction | None = None) -> bytes:
    """Return the sheets as one PDF file.

    Args:
        pages: at least one.
        title: the document's title, for readers' software.
        paper: "letter" or "a4".
        correction: what the printer needs; None prints as drawn.
    """
    import typst

    right = correction or Correction()
    data = {
        "title": shown(title) or "Carwright",
        "family": FAMILY,
        "bold_family": BOLD_FAMILY,
        "margin": MARGIN_MM,
        "foot": {"left": "Carwright", "middle": shown(right.said())},
        "panel": _panel_words(right),
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
    left = MARGIN_MM + _LANE_MM
    floor = height - MARGIN_MM - _FOOT_MM
    room = width - 2 * MARGIN_MM
    end = left + BARS_MM[1] * correction.x + 6.0
    title = shortened(page.title, 0.7 * room, _TITLE_MM, bold=True)
    beside = room - width_mm(title, _TITLE_MM, bold=True) - 7.0
    return {
        "width": width,
        "height": height,
        "left": left,
        "bottom": height - floor + _SILL_MM,
        "title": title,
        "who": shortened(page.who, beside, _NOTE_MM),
        "what": shortened(page.what, beside, _NOTE_MM),
        "bars": _bars(left, floor, correction),
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


def _words(text: str) -> list[str | list[str]]:
    return [run.text if not run.below else [run.text, run.below] for run in runs(shown(text))]


def _block(block: Block, correction: Correction) -> dict[str, object]:
    if isinstance(block, Heading):
        return {"kind": "heading", "words": _words(block.text)}
    if isinstance(block, Prose):
        return {"kind": "text", "words": _words(block.text)}
    if isinstance(block, Note):
        return {"kind": "note", "words": _words(block.text)}
    if isinstance(block, Caution):
        return {"kind": "caution", "word": block.word, "words": _words(block.text)}
    if isinstance(block, Hold):
        return {"kind": "hold", "words": _words(block.text)}
    if isinstance(block, Table):
        return {
            "kind": "table",
            "columns": list(block.widths_mm),
            "right": list(block.right),
            "heads": [shown(head) for head in block.heads],
            "cells": [_words(cell) for row in block.rows for cell in row],
        }
    if isinstance(block, Cards):
        cards = [
            {"letter": shown(c.letter), "question": _words(c.question), "how": _words(c.how), "unit": shown(c.unit)}
            for c in block.cards
        ]
        return {"kind": "cards", "cards": cards}
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


def _panel_words(correction: Correction) -> dict[str, str]:
    again = "" if correction.is_none else f' Behind it put "at {correction.x:.4f}" or "at {correction.y:.4f}".'
    return {
        "head": "Is this print true?",
        "body": shown(
            "Print at 100 %, not fitted to the page. Give what a 100 mm bar measures, middle to middle of its end "
            f"lines, as --printed-x (across) or --printed-y (up).{again}"
        ),
    }
