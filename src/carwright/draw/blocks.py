"""What can stand on a sheet of paper: words, tables, pictures, frames to tick; and the sheet itself.

Words are text; a fraction among them is stacked when it is set. Nothing here knows the typesetter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from carwright.draw.model import Drawing
from carwright.findings import Verdict

__all__ = [
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
    "Judged",
    "Note",
    "Page",
    "Paper",
    "Picture",
    "Prose",
    "StepLine",
    "Steps",
    "Table",
    "Verdicts",
]

Paper = Literal["letter", "a4"]
"""Sizes of paper."""


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
    """A framed hold point with a box to tick; ``places`` name what is to be written beside a line."""

    text: str
    word: str = "Hold"
    places: tuple[str, ...] = ()


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
    """A table.

    Args:
        heads: of its columns.
        rows: as many cells each as there are columns.
        widths_mm: of the columns; 0 shares what is left over.
        right: which columns are set to the right.
        bold_rows: which rows are set bold, counted from 0.
        marks: a verdict for each row, shown as its mark in front of the last cell; empty for none.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths_mm: tuple[float, ...]
    right: tuple[bool, ...]
    bold_rows: tuple[int, ...] = ()
    marks: tuple[Verdict, ...] = ()


@dataclass(frozen=True, slots=True)
class Blank:
    """A box for the pencil: ``label`` stands above it, ``value`` in it where the reading was taken."""

    label: str = ""
    value: str = ""


@dataclass(frozen=True, slots=True)
class Card:
    """One measurement: its letter, question, how it is measured, its boxes, and the unit behind them."""

    letter: str
    question: str
    how: str
    boxes: tuple[Blank, ...]
    unit: str
    wanting: bool = True


@dataclass(frozen=True, slots=True)
class Cards:
    """Measurements to be taken, one under the other, each with a box for the pencil."""

    cards: tuple[Card, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Short facts in pairs of label and value."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Judged:
    """One check: its verdict, name, sentence, what mends it, and its margin at the right."""

    verdict: Verdict
    name: str
    because: str
    mend: str = ""
    margin: str = ""


@dataclass(frozen=True, slots=True)
class Verdicts:
    """Checks, one under the other."""

    rows: tuple[Judged, ...]


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step of the work.

    Args:
        number: as it is called in the book.
        text: what to do.
        hold: whether it is a hold point, in a wide frame with a box to tick.
        places: what is to be written at a hold point.
        after: what must have been done before, in words, or "".
        caution: what can hurt, or "".
        limit: by when, or when not, in bold behind ``after``; or "".
        checks: what is looked at before the next step, each with a box to tick.
    """

    number: str
    text: str
    hold: bool = False
    places: tuple[str, ...] = ()
    after: str = ""
    caution: str = ""
    limit: str = ""
    checks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Steps:
    """Steps, one under the other."""

    lines: tuple[StepLine, ...]


@dataclass(frozen=True, slots=True)
class Contents:
    """The list of the pages' titles with their numbers."""


@dataclass(frozen=True, slots=True)
class Columns:
    """Two columns side by side; ``share`` is the left one's part of the width, ``whole`` keeps them on one page."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    share: float = 0.5
    whole: bool = False


Block = (
    Heading | Prose | Note | Caution | Hold | Picture | Table | Cards | Facts | Verdicts | Steps | Contents | Columns
)


@dataclass(frozen=True, slots=True)
class Page:
    """One sheet, or as many as its blocks need: what stands on it and around it.

    Args:
        title: at the left of the head.
        who: at the right of it, above.
        what: below that.
        blocks: in order.
        landscape: lying along.
        bars: whether the bars for checking the print stand on it.
        foot: middle of the foot; "" for the printer's correction.
    """

    title: str
    who: str
    what: str
    blocks: tuple[Block, ...]
    landscape: bool = False
    bars: bool = True
    foot: str = ""
