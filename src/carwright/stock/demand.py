"""What a batch wants cut: pieces of plans or lines of a list, and the stock of the shelf that each can come from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from carwright.car.listtext import money
from carwright.car.model import RodStock, Sheet, Shelf, Strip
from carwright.laminate import laminate
from carwright.pieces import Hole, Piece, bought_bolster, wire_bores
from carwright.problems import InputError, Problem
from carwright.reference.choices import practice_value
from carwright.reference.wires import wire_limits
from carwright.stock.pairs import Outline, best_pair

__all__ = [
    "ROUNDING_MM",
    "SAME_MM",
    "SAME_ROUND_MM",
    "Apart",
    "Lamination",
    "Section",
    "Stock",
    "Wanted",
    "asked_for",
    "bar_of",
    "laminated",
    "named_stock",
    "names_in",
    "piece_cost",
    "set_apart",
    "sheet_of",
    "stock_sections",
    "wanted_of_plan",
]

Stock = Sheet | Strip | RodStock
"""Rows of the shelf from which pieces are cut."""

_FILLED = 0.92
"""A piece that fills more of its rectangle is laid as that rectangle."""

_TWICE, _BOTH = "2 ", " and "
"""What stands before, or between, the names of two pieces that are laid head to tail."""

ROUNDING_MM = 1e-6
"""Lengths nearer than this are the same: what is left of them is the rounding of inches."""

SAME_MM = 0.03
"""Two thicknesses closer than that (a little over a thousandth of an inch) are one stock."""

SAME_ROUND_MM = 0.0127
"""The same of two diameters: wire is drawn by the thousandth of an inch, and a hole is drilled for each."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One line of the batch.

    Args:
        name: of the piece, with its car before it where there are several.
        material: as on the shelf.
        thickness_mm: of sheet or strip; diameter of rod, tube or wire.
        width_mm: to be cut; None for strip, rod or wire of that section.
        length_mm: to be cut.
        quantity: how many, >= 1.
        least_mm: least thickness that will do; None where only the usual window is allowed.
        most_mm: greatest.
        strip_mm: width of a strip's section, where it was given.
        turn: whether it may be turned in a sheet.
        value: what one is worth, where one sheet is to be filled.
        outlines: of the two pieces that a rectangle holds, from its lower left corner, mm; empty for a plain one.
        finished_mm: length and width without the allowance for snapped edges, where the sizes to cut hold one.
        layers_mm: of the whole piece, the lowest first, where the line is a layer of it.
    """

    name: str
    material: str
    thickness_mm: float
    width_mm: float | None
    length_mm: float
    quantity: int
    least_mm: float | None = None
    most_mm: float | None = None
    strip_mm: float | None = None
    turn: bool = True
    value: Decimal | None = None
    outlines: tuple[Outline, ...] = ()
    finished_mm: tuple[float, float] | None = None
    layers_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Apart:
    """A piece that is made and not planned from the shelf.

    Args:
        name: of the piece, with its car before it where there are several.
        kind: "block", of the scrap box; "bolster", of one height, which is bought or there already.
        sizes_mm: height, length, width.
        quantity: how many, >= 1.
    """

    name: str
    kind: Literal["block", "bolster"]
    sizes_mm: tuple[float, float, float]
    quantity: int


@dataclass(frozen=True, slots=True)
class Section:
    """One kind of stock: pieces of the same section are cut from it together.

    Args:
        form: "sheet", "strip", "rod", "tube" or "wire".
        material: of it.
        thickness_mm: measured thickness, or diameter.
        width_mm: of a strip; 0 for anything else.
    """

    form: Literal["sheet", "strip", "rod", "tube", "wire"]
    material: str
    thickness_mm: float
    width_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Lamination:
    """A piece that becomes layers: its name, the layers' thicknesses, what they make, and what was wanted, in mm."""

    name: str
    layers_mm: tuple[float, ...]
    thickness_mm: float
    wanted_mm: float


def wanted_of_plan(
    pieces: Iterable[Piece], *, car: str = "", holes: Sequence[Hole] = ()
) -> tuple[list[Wanted], list[str]]:
    """Return what a plan's pieces want cut, and the names of those whose measurements are still missing.

    Sizes are those to cut, with the allowance for snapped edges. A piece of layers becomes one line for each thickness;
    blocks that are no plates are left to the scrap box and not asked for, nor are bolsters that are bought. Rod and
    wire may be a little off; wire no thicker than what slides through the ``holes`` that the plan drills for it.
    """
    lines: list[Wanted] = []
    open_: list[str] = []
    alike: dict[tuple[float, ...], list[Piece]] = {}
    for piece in pieces:
        if not asked_for(piece):
            continue
        name = f"{car} {piece.name}".strip()
        size = piece.diameter_mm or piece.thickness_mm
        if piece.needs or size is None:
            open_.append(name)
            continue
        number = int(piece.quantity.value)
        length = (piece.cut_length_mm or piece.length_mm).value
        if piece.form in ("rod", "wire"):
            line = Wanted(name, piece.material, size.value, None, length, number)
            if piece.form == "wire":
                low, high = (each.value for each in wire_limits(size, wire_bores(piece, holes)))
            else:
                near = size.value * practice_value("rod_near").value
                low, high = size.value - near, size.value + near
            lines.append(replace(line, least_mm=low, most_mm=high))
            continue
        if _tapers(piece):
            alike.setdefault(_shape(piece), []).append(piece)
            continue
        lines += _lines(piece, name, number)
    for same in alike.values():
        lines += _paired(same, car)
    return lines, open_


def names_in(name: str) -> list[str]:
    """Return the pieces that a line's name stands for: of a pair both, which are one where they are alike."""
    return name.removeprefix(_TWICE).split(_BOTH)


def asked_for(piece: Piece) -> bool:
    """Return whether a piece is cut from the shelf: it is made, and no block of scrap or bought bolster."""
    return piece.made and piece.quantity.value >= 1 and piece.form != "block" and not bought_bolster(piece)


def set_apart(pieces: Iterable[Piece], *, car: str = "") -> tuple[Apart, ...]:
    """Return the pieces that are made and not asked for, as far as their sizes are known."""
    return tuple(
        Apart(
            f"{car} {piece.name}".strip(),
            "bolster" if bought_bolster(piece) else "block",
            (piece.thickness_mm.value, piece.length_mm.value, piece.width_mm.value),
            int(piece.quantity.value),
        )
        for piece in pieces
        if piece.made and piece.quantity.value >= 1 and not asked_for(piece) and piece.thickness_mm is not None
    )


def _lines(piece: Piece, name: str, number: int) -> list[Wanted]:
    """Return the lines of a piece of sheet, one for each thickness of its layers."""
    assert piece.thickness_mm is not None
    length = (piece.cut_length_mm or piece.length_mm).value
    width = (piece.cut_width_mm or piece.width_mm).value
    finished = None
    if piece.cut_length_mm is not None or piece.cut_width_mm is not None:
        finished = (piece.length_mm.value, piece.width_mm.value)
    layers = [layer.value for layer in piece.layers_mm] or [piece.thickness_mm.value]
    low, high = piece.thickness_min_mm, piece.thickness_max_mm
    lines: list[Wanted] = []
    for thickness in dict.fromkeys(layers):
        # A layer among others is part of a height: only its own thickness will do, whatever the whole may have.
        least = low.value if low is not None else None
        most = high.value if high is not None else None
        if len(layers) > 1:
            least, most = thickness - SAME_MM, thickness + SAME_MM
        many = number * layers.count(thickness)
        line = Wanted(name, piece.material, thickness, width, length, many, least, most, finished_mm=finished)
        lines.append(replace(line, layers_mm=tuple(layers) if len(layers) > 1 else ()))
    return lines


def _corners(piece: Piece) -> Outline:
    return tuple((corner.x_mm.value, corner.y_mm.value) for corner in piece.outline_mm)


def _tapers(piece: Piece) -> bool:
    """Return whether a piece of one layer fills so little of its rectangle that two may share one."""
    return len(piece.layers_mm) < 2 and piece.area_mm2.value < _FILLED * piece.length_mm.value * piece.width_mm.value


def _shape(piece: Piece) -> tuple[float, ...]:
    """Return what makes two pieces alike: thickness, allowances and every corner, to a hundredth of a millimetre."""
    assert piece.thickness_mm is not None
    sizes = (piece.cut_length_mm or piece.length_mm, piece.cut_width_mm or piece.width_mm, piece.thickness_mm)
    return tuple(round(n, 2) for n in (*(size.value for size in sizes), *(n for at in _corners(piece) for n in at)))


def _paired(same: Sequence[Piece], car: str) -> list[Wanted]:
    """Return the lines of pieces of one shape: in pairs, head to tail, where that saves material."""
    names = [f"{car} {piece.name}".strip() for piece in same for _ in range(int(piece.quantity.value))]
    first = same[0]
    allowance = max(0.0, (first.cut_width_mm or first.width_mm).value - first.width_mm.value)
    pair = best_pair(_corners(first), gap_mm=allowance) if len(names) > 1 else None
    single = Counter(names)
    lines: list[Wanted] = []
    if pair is not None:
        for one, other in zip(names[0::2], names[1::2], strict=False):
            single[one] -= 1
            single[other] -= 1
            name = f"{_TWICE}{one}" if one == other else f"{one}{_BOTH}{other}"
            for line in _lines(first, name, 1):
                longer = line.length_mm - first.length_mm.value
                outlines = tuple(_moved(each, longer / 2, allowance / 2) for each in (pair.first, pair.second))
                lines.append(
                    replace(
                        line,
                        length_mm=pair.length_mm + longer,
                        width_mm=pair.width_mm + allowance,
                        outlines=outlines,
                        finished_mm=None,
                    )
                )
    by_name = {f"{car} {piece.name}".strip(): piece for piece in same}
    for name, number in single.items():
        if number:
            lines += _lines(by_name[name], name, number)
    return lines


def _moved(outline: Outline, dx: float, dy: float) -> Outline:
    return tuple((x + dx, y + dy) for x, y in outline)


def stock_sections(shelf: Shelf) -> dict[Section, list[Stock]]:
    """Return the stock of a shelf that can be cut, by section; what lacks a size is left out."""
    found: dict[Section, list[Stock]] = {}

    def put(section: Section, stock: Stock) -> None:
        for known in found:
            if _same(known, section):
                found[known].append(stock)
                return
        found[section] = [stock]

    for sheet in shelf.sheets:
        if sheet.thickness is not None and sheet.width is not None and sheet.length is not None:
            put(Section("sheet", sheet.material, sheet.thickness.value), sheet)
    for strip in shelf.strips:
        if strip.thickness is not None and strip.width is not None and strip.length is not None:
            thin, wide = sorted((strip.thickness.value, strip.width.value))
            put(Section("strip", strip.material, thin, wide), strip)
    for rod in shelf.rods:
        if rod.diameter is not None and rod.length is not None:
            put(Section(rod.form, rod.material, rod.diameter.value), rod)
    return found


def _same(one: Section, other: Section) -> bool:
    near = SAME_MM if one.form in ("sheet", "strip") else SAME_ROUND_MM
    return (
        (one.form, one.material) == (other.form, other.material)
        and abs(one.thickness_mm - other.thickness_mm) <= near
        and abs(one.width_mm - other.width_mm) <= SAME_MM
    )


def bar_of(line: Wanted, sections: Sequence[Section]) -> Section | None:
    """Return the strip, rod or wire that a line without a width is cut from, None where there is none.

    Where none has the line's own size, the nearest rod or wire within the line's limits.

    Raises:
        InputError: strips of several widths would do, and the line does not say which.
    """
    near = [
        each
        for each in sections
        if each.form != "sheet"
        and each.material == line.material
        and abs(each.thickness_mm - line.thickness_mm) <= SAME_MM
        and (line.most_mm is None or each.thickness_mm <= line.most_mm + SAME_ROUND_MM)
    ]
    near.sort(key=lambda each: (abs(each.thickness_mm - line.thickness_mm), each.form, each.width_mm))
    if len({(each.form, each.width_mm) for each in near}) > 1:
        square = [each for each in near if each.form == "strip" and abs(each.width_mm - each.thickness_mm) <= SAME_MM]
        if len(square) == 1 and all(each.form == "strip" for each in near):
            return square[0]
        listed = ", ".join(_words(each) for each in near)
        raise InputError(
            Problem(
                f"piece {line.name} could be cut from stock of several sections",
                value=f"{line.thickness_mm:g} mm",
                accepted=listed,
                mend="Write a strip's section as thickness x width in the column thickness.",
                key="thickness",
            )
        )
    if near or line.least_mm is None or line.most_mm is None:
        return near[0] if near else None
    rods = [
        each
        for each in sections
        if each.form in ("rod", "wire")
        and each.material == line.material
        and line.least_mm - ROUNDING_MM <= each.thickness_mm <= line.most_mm + ROUNDING_MM
    ]
    return min(rods, key=lambda each: abs(each.thickness_mm - line.thickness_mm), default=None)


def sheet_of(line: Wanted, sections: Sequence[Section]) -> Section | None:
    """Return the sheet of a line's own thickness, the nearest first; None where there is none."""
    near = [
        each
        for each in sections
        if each.form == "sheet"
        and each.material == line.material
        and abs(each.thickness_mm - line.thickness_mm) <= SAME_MM
    ]
    return min(near, key=lambda each: abs(each.thickness_mm - line.thickness_mm), default=None)


def _words(section: Section) -> str:
    size = f"{section.thickness_mm:g} x {section.width_mm:g} mm" if section.width_mm else f"{section.thickness_mm:g} mm"
    return f"{section.form} {size}"


def laminated(line: Wanted, sections: Sequence[Section]) -> tuple[Lamination, list[Wanted]] | None:
    """Return a piece of sheet as layers of what is there, or None where none makes a thickness that will do.

    Within the piece's own limits, where it has them; else within the usual window for what only has to look right. The
    glue line of a solvent joint is counted.
    """
    if line.width_mm is None:
        return None
    sheets = [each for each in sections if each.form == "sheet" and each.material == line.material]
    if not sheets:
        return None
    window = practice_value("laminate_window").value
    low = line.thickness_mm - window if line.least_mm is None else line.least_mm
    high = line.thickness_mm + window if line.most_mm is None else line.most_mm
    # Round the thickness itself first; where its limits reach further on one side, round their middle.
    near = max(0.0, min(high - line.thickness_mm, line.thickness_mm - low))
    for middle, half in ((line.thickness_mm, near), ((low + high) / 2, (high - low) / 2)):
        chosen = None
        if half >= 0:
            chosen = laminate(
                [each.thickness_mm for each in sheets],
                wanted_mm=middle,
                window_mm=half,
                most=6,
                glue_mm=practice_value("glue_solvent").value,
            )
        if chosen is not None and low - ROUNDING_MM <= chosen.thickness_mm <= high + ROUNDING_MM:
            break
    else:
        return None
    layers = tuple(sheets[k].thickness_mm for k in chosen.layers)
    lines = [
        replace(line, thickness_mm=thickness, quantity=line.quantity * layers.count(thickness))
        for thickness in dict.fromkeys(layers)
    ]
    return Lamination(line.name, layers, chosen.thickness_mm, line.thickness_mm), lines


def named_stock(stock: Sequence[Stock]) -> list[tuple[Stock, str]]:
    """Return each stock of a section with a name of its own, by which layouts call it."""
    rows: dict[str, Stock] = {}
    for each in stock:
        plain = each.name or each.key
        rows[plain if plain not in rows else f"{plain} ({each.key})"] = each
    return [(each, name) for name, each in rows.items()]


def piece_cost(stock: Stock) -> Decimal | None:
    """Return what one piece of stock costs: as typed, else its share of a pack; None where neither is known.

    Raises:
        InputError: the cost or the price is no number.
    """
    cost, price = money(stock.cost, stock.key), money(stock.pack_price, stock.key)
    if cost is not None or price is None:
        return cost
    return (price / stock.pack).quantize(Decimal("0.0001")).normalize() + Decimal("0.00")
