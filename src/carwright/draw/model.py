"""The drawing model: what is drawn, in millimetres, before anybody decides how it is written.

Words. A *drawing* is one named view at one scale. Its *marks* (lines, circles, dimensions, words) have their places in
**model millimetres**, x to the right and y up; what explains the part (letters, arrows, rings) has its size in **paper
millimetres**, so that a view at 4 : 1 has the same letters as one at 1 : 1. A *layer* is a pen and a kind of
line; a *role* says what a cutter does with the line; a *part* is the name of the piece or hole it belongs to, and stays
with it into every file.

Third-angle arrangement, end B to the right. A drawing holds no text of its own making: numbers come in as text.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from carwright.records import quickly_made

__all__ = [
    "ARROW_MM",
    "LAYERS",
    "LETTER_MM",
    "XY",
    "Arc",
    "Balloon",
    "CentreMark",
    "Circle",
    "Dimension",
    "Drawing",
    "Fill",
    "Group",
    "Hatch",
    "Layer",
    "Leader",
    "Line",
    "Mark",
    "Ordinate",
    "Pattern",
    "Pen",
    "Placed",
    "Polyline",
    "Ring",
    "Role",
    "Sheet",
    "Text",
    "walk",
]

Layer = Literal[
    "outline",
    "thin",
    "hidden",
    "centre",
    "phantom",
    "wire",
    "dimension",
    "text",
    "hatch",
    "band",
    "template",
    "template_inner",
    "wanting",
]
"""A pen with a kind of line; ``LAYERS`` says which. ``wanting`` is what hangs on a missing measurement."""

Role = Literal["show", "cut", "score", "drill"]
"""What a cutter does with it; ``show`` is for the reader only and never reaches a cutter's file."""

Fill = Literal["none", "paper", "ink", "band"]
"""Inside of a closed line: nothing, the paper's white (hides what is behind), solid, or a tint of at most 10 %."""

Pattern = Literal["single", "single_back", "paired", "dots"]
"""Hatching: styrene, the next layer of it, metal, a bought part."""

LETTER_MM: Final = 3.0
"""Size of the letters (8.5 points), on paper."""

ARROW_MM: Final = 2.6
"""Length of a dimension's arrow, on paper; its width is 0.4 of that."""


class XY(NamedTuple):
    """A place in a view: to the right and up, in model millimetres."""

    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class Pen:
    """A layer's pen: width on paper, and dashes (mark, gap, ...) on paper, empty for an unbroken line."""

    width_mm: float
    dashes_mm: tuple[float, ...] = ()


LAYERS: Final[Mapping[Layer, Pen]] = MappingProxyType(
    {
        "band": Pen(0.13),
        "template_inner": Pen(0.13),
        "thin": Pen(0.25),
        "hidden": Pen(0.25, (4.0, 2.5)),
        "phantom": Pen(0.25, (10.0, 2.0, 2.0, 2.0, 2.0, 2.0)),
        "wanting": Pen(0.25, (4.0, 2.5)),
        "template": Pen(0.25),
        "hatch": Pen(0.13),
        "centre": Pen(0.25, (11.0, 2.5, 2.0, 2.5)),
        "wire": Pen(0.8),
        "outline": Pen(0.5),
        "dimension": Pen(0.25),
        "text": Pen(0.25),
    }
)
"""Every layer, in the order in which they are laid on the paper: what comes later hides what came before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """What every mark carries: its layer, what a cutter does with it, its part and the words that name it.

    ``key`` is the place in the car file of the measurement that it tells ("trucks.a.seat_height"), or "".
    """

    layer: Layer = "outline"
    role: Role = "show"
    part: str = ""
    title: str = ""
    key: str = ""


@quickly_made
@dataclass(frozen=True, slots=True)
class Line(Mark):
    """A straight line."""

    start: XY
    end: XY


@quickly_made
@dataclass(frozen=True, slots=True)
class Polyline(Mark):
    """Straight lines through ``points``; closed unless said otherwise (the first point is not repeated).

    ``colour`` ("#7a3b2e") is what a closed one is filled with in place of ``fill`` where there are colours: in SVG.
    """

    points: tuple[XY, ...]
    closed: bool = True
    fill: Fill = "none"
    colour: str = ""


@quickly_made
@dataclass(frozen=True, slots=True)
class Circle(Mark):
    """A true circle: it stays one in every file."""

    centre: XY
    radius_mm: float
    fill: Fill = "none"


@dataclass(frozen=True, slots=True)
class Arc(Mark):
    """Part of a circle, anticlockwise from ``start_deg`` to ``end_deg``, measured from the right."""

    centre: XY
    radius_mm: float
    start_deg: float
    end_deg: float


@dataclass(frozen=True, slots=True)
class Hatch(Mark):
    """A hatched area, which hides what lies behind it: its closed outline, and the outlines of what is left out."""

    outline: tuple[XY, ...]
    pattern: Pattern
    holes: tuple[tuple[XY, ...], ...] = ()


@quickly_made
@dataclass(frozen=True, slots=True)
class Dimension(Mark):
    """A distance between two places, along x or y; ``line_at_mm`` is where its line stands on the other axis.

    ``text`` is the number as it is to be read; ``letter`` is the ringed letter of its measurement, or "".
    """

    start: XY
    end: XY
    axis: Literal["x", "y"]
    line_at_mm: float
    text: str
    letter: str = ""


@quickly_made
@dataclass(frozen=True, slots=True)
class Ordinate(Mark):
    """A place told by one coordinate from a datum: a line from ``point`` by way of a jog to the number at ``label``.

    ``axis`` is the coordinate that is told. For "y" (a height) the line runs sideways and the number reads upright; for
    "x" it runs up or down and the number is turned. ``words`` follow the number in a quieter hand.
    """

    point: XY
    label: XY
    axis: Literal["x", "y"]
    text: str
    words: str = ""


@quickly_made
@dataclass(frozen=True, slots=True)
class Text(Mark):
    """Words. ``size_mm`` is on paper; ``turn_deg`` is 0, or 90 to read upwards.

    ``ground`` clears the paper behind, which is ``toned`` where the words stand in a band.
    """

    at: XY
    text: str
    size_mm: float = LETTER_MM
    anchor: Literal["start", "middle", "end"] = "start"
    bold: bool = False
    turn_deg: Literal[0, 90] = 0
    ground: bool = False
    toned: bool = False


@dataclass(frozen=True, slots=True)
class CentreMark(Mark):
    """Crossed centre lines, each ``reach_mm`` long (on paper) beyond the circle's radius."""

    centre: XY
    radius_mm: float
    reach_mm: float = 2.0


@dataclass(frozen=True, slots=True)
class Leader(Mark):
    """A note with an arrow: from ``tip`` to ``elbow``, then level to the words."""

    tip: XY
    elbow: XY
    text: str


@dataclass(frozen=True, slots=True)
class Ring(Mark):
    """A ringed letter, the name of a measurement; dashed while it is still to be measured."""

    at: XY
    letter: str
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Balloon(Mark):
    """The number of a step, white in black: a disc, or a lozenge with round ends for what is longer ("6–29")."""

    at: XY
    text: str


@quickly_made
@dataclass(frozen=True, slots=True)
class Group(Mark):
    """Marks that belong together; where one of them has no part or title of its own it has the group's."""

    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """One view.

    Args:
        name: stable name ("plan"); it begins the file's name.
        title: what stands above it.
        alt: what it shows, one sentence, for those who do not see it.
        marks: everything drawn.
        scale: millimetres on paper for one of the model; 1.0 is true size.
        notes: sentences that belong under it.
    """

    name: str
    title: str
    alt: str
    marks: tuple[Mark, ...]
    scale: float = 1.0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Placed:
    """A drawing on a sheet: its lower left corner in paper millimetres from the sheet's lower left corner."""

    drawing: Drawing
    at: XY


@dataclass(frozen=True, slots=True)
class Sheet:
    """Several views on one ground, ``width_mm`` by ``height_mm`` of paper, sharing one scale."""

    name: str
    width_mm: float
    height_mm: float
    views: tuple[Placed, ...]


def walk(marks: tuple[Mark, ...], *, part: str = "", title: str = "", key: str = "") -> Iterator[Mark]:
    """Yield every mark that is not a group, each with the part, title and key that its groups give it."""
    for mark in marks:
        own = mark
        if (part and not mark.part) or (title and not mark.title) or (key and not mark.key):
            own = replace(mark, part=mark.part or part, title=mark.title or title, key=mark.key or key)
        if isinstance(own, Group):
            yield from walk(own.marks, part=own.part, title=own.title, key=own.key)
        else:
            yield own
