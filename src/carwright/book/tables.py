"""What to cut and what to drill, as tables to work from, and what to buy for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from carwright.book.oldholes import old_hole_blocks
from carwright.draw.blocks import Block, Heading, Note, Prose, Table
from carwright.draw.cutwords import form_words
from carwright.draw.floorplan import hole_letters
from carwright.draw.labels import needs_words, number
from carwright.draw.piecelist import PieceRow, how_many, piece_rows
from carwright.draw.placed import words_of
from carwright.lengths import Units, number_in, show_in
from carwright.pieces import Hole
from carwright.plan.model import Plan
from carwright.reference import basis_words
from carwright.stock.batch import Batch
from carwright.stock.demand import Section
from carwright.working import Working, leaves

__all__ = ["cut_blocks", "drill_blocks"]


def cut_blocks(plan: Plan, *, cutting: Batch | None = None) -> tuple[Block, ...]:
    """Return the cut table, how to read it, and the list of what to buy.

    Args:
        plan: the car's, with the layers of the cutting where there is one.
        cutting: how they are cut, where the book has pages on that, which say what stock to buy.
    """
    rows = piece_rows(plan)
    taken = {} if cutting is None else cutting.taken
    units = plan.car.info.units
    table = Table(
        ("Piece", "How many", "From", "Cut", "Finished", "Material"),
        tuple((row.name, str(row.many), *_from(row, taken, units), _finished(row), row.material) for row in rows),
        (0.0, 18.0, 38.0, 31.0, 31.0, 27.0),
        (False, True, False, True, True, False),
    )
    blocks: list[Block] = []
    if rows:
        blocks += [
            table,
            Note(
                f"Lengths in {'inches' if units == 'in' else 'millimetres'}, along the piece by across it. Layers "
                "stand underside first. What is cut from sheet has an allowance on each snapped edge, taken off in "
                "fitting; what is alike cut and finished is sawn to the line. A wire is told by its length before it "
                "is bent, a rod by its length."
            ),
        ]
    else:
        blocks.append(Prose("Nothing is cut yet: what is missing stands under What stands and what fails."))
    waiting = [(piece, piece.needs) for piece in plan.pieces if piece.needs]
    for piece, needs in waiting:
        blocks.append(Note(f"{words_of(piece)} is not to be cut yet: it needs {needs_words(needs)}."))
    if rows:
        blocks.append(
            Note(_FROM_CUTTING if cutting is not None else _FROM_OWN if plan.car.shelf.sheets else _FROM_USUAL)
        )
    blocks += _buy(plan)
    return tuple(blocks)


_FROM_CUTTING = (
    "From: what the cutting takes from the shelf. Where that is another thickness than planned, it lies within what "
    "the piece may have. Stock to be bought stands under Cutting."
)
_FROM_OWN = (
    "From: sheet of the car file's own list of stock (or of a named shelf that could not be cut), as planned; nothing "
    "was laid out on it. What carwright cut takes from a shelf stands here where the book is made with that shelf: "
    "carwright book CAR --shelf FILE."
)
_FROM_USUAL = (
    "From: usual sizes, because the car file lists no sheet; they stand as to buy, also what you may own. What your "
    "shelf has stands here where the book is made with it: carwright book CAR --shelf FILE."
)


def _from(row: PieceRow, taken: Mapping[str, Sequence[tuple[Section, float]]], units: Units) -> tuple[str, str]:
    """Return what a row is cut from and its size there: as planned, or of strip, rod and wire as the cutting has it."""
    bars = dict.fromkeys(each for name in row.pieces for each in taken.get(name, ()) if each[0].form != "sheet")
    whole = {each[0].form for name in row.pieces for each in taken.get(name, ())}
    words = dict.fromkeys(form_words(each, units) for each, _ in bars)
    if not bars:
        return row.stock, row.cut or _finished(row)
    sizes = dict.fromkeys(number_in(long, units) for _, long in bars)
    if "sheet" in whole:
        return " or ".join((row.stock, *words)), row.cut or _finished(row)
    return " or ".join(words), " or ".join(sizes)


def _finished(row: PieceRow) -> str:
    return f"{row.along} × {row.across}" if row.across else row.along


def _buy(plan: Plan) -> list[Block]:
    if not plan.buy:
        return []
    units = plan.car.info.units
    rows = []
    for line in plan.buy:
        size = "" if line.size is None else show_in(line.size.value, units)
        span = ""
        if line.low is not None and line.high is not None:
            span = f"{number_in(line.low.value, units)} to {number_in(line.high.value, units)}"
        rows.append((f"{line.quantity.value:.0f}", line.name, size, span, line.because))
    table = Table(
        ("", "To buy", "Size", "Would do", "What for"),
        tuple(rows),
        (9.0, 42.0, 20.0, 30.0, 0.0),
        (True, False, True, True, False),
    )
    told = "By the stock that the car file lists, and the shop's shelf where one was named."
    return [Heading("Not on the shelf"), table, Note(told)]


def drill_blocks(plan: Plan) -> tuple[Block, ...]:
    """Return the drill table: every kind of hole once, with where it is and how many."""
    letters = hole_letters(plan.holes)
    kinds: dict[tuple[str, ...], list[Hole]] = {}
    for hole in plan.holes:
        kinds.setdefault((letters[hole.name], _where(hole), _told(hole.depth_mm, plan)), []).append(hole)
    rows = [_row(plan, letters[alike[0].name], alike) for alike in kinds.values()]
    if not rows:
        return (Prose("No hole can be told yet."),)
    table = Table(
        ("Hole", "For", "In", "Drill", "in", "mm", "Deep", "Thread", "Turns", "Edge", "Many"),
        tuple(rows),
        (10.0, 0.0, 26.0, 15.0, 13.0, 12.0, 13.0, 14.0, 12.0, 13.0, 11.0),
        (False, False, False, False, True, True, True, True, True, True, True),
    )
    blocks: list[Block] = [table, Note(_explained(plan))]
    for hole in plan.holes:
        if hole.needs or hole.x_mm is None:
            blocks.append(Note(f"Do not drill {_called(hole)} yet: it needs {needs_words(hole.needs)}."))
    blocks += _floor_places(plan)
    blocks += old_hole_blocks(plan)
    return tuple(blocks)


def _called(hole: Hole) -> str:
    name = hole.name.replace("_", " ")
    return name[:-1] + name[-1].upper() if name.endswith((" a", " b")) else name


def _where(hole: Hole) -> str:
    name = hole.piece
    for start, words in (
        ("floor", "floor"),
        ("bolster", "bolsters"),
        ("center_sill", "centre sill"),
        ("crossbearer", "crossbearer webs"),
        ("crosstie", "crosstie webs"),
        ("retention_block", "retention blocks"),
    ):
        if name.startswith(start):
            return words
    return name.replace("_", " ")


def _told(working: Working | None, plan: Plan) -> str:
    return "?" if working is None else number_in(working.value, plan.car.info.units)


def _row(plan: Plan, letter: str, alike: Sequence[Hole]) -> tuple[str, ...]:
    hole = alike[0]
    slant = f" {hole.angle_deg.value:.0f}°" if hole.angle_deg is not None else ""
    edges = [each.edge_mm.value for each in alike if each.edge_mm is not None]
    return (
        letter,
        hole.purpose,
        _where(hole),
        f"{hole.drill}{slant}",
        number_in(hole.diameter_mm.value, "in"),
        number_in(hole.diameter_mm.value, "mm"),
        _told(hole.depth_mm, plan),
        f"{hole.thread_percent.value:.0f} %" if hole.thread_percent is not None else "",
        f"{hole.turns.value:.1f}" if hole.turns is not None else "",
        number_in(min(edges), plan.car.info.units) if edges else "",
        str(how_many(plan, alike)),
    )


def _explained(plan: Plan) -> str:
    words = [
        (
            "in and mm: the drill's diameter. Deep: what the drill passes, along the drill where it stands at an "
            "angle. Edge: from the hole's centre to the nearest finished edge."
        )
    ]
    if any(hole.thread_percent is not None for hole in plan.holes):
        words.append(
            "Thread: percent of full thread, 100 (major diameter − hole) / (1.299038 pitch), the definition of tap "
            "charts (full depth is 3/4 H a side). Turns: of full thread that the depth holds."
        )
    if any(hole.piece.startswith(("crossbearer", "crosstie")) for hole in plan.holes):
        words.append("A crossbearer or crosstie has two webs, its left and its right half, each with its own hole.")
    bases = {leaf.basis for hole in plan.holes for leaf in leaves(hole.diameter_mm) if leaf.basis}
    if bases:
        told = ", ".join(sorted(basis_words(each) for each in bases))
        words.append(f"Drill sizes: {told}.")
    return " ".join(words)


def _floor_places(plan: Plan) -> list[Block]:
    """Return where each hole of the floor is, from mid-car and from its nearer end, for setting out without a print."""
    units = plan.car.info.units
    half = plan.floor.length.value / 2 if plan.floor.length is not None else None
    rows = []
    for hole in plan.holes:
        if hole.piece != "floor" or hole.x_mm is None or hole.needs:
            continue
        end = "A" if hole.x_mm.value > 0 else "B"
        from_end = "?" if half is None else number_in(half - abs(hole.x_mm.value), units)
        y = hole.y_mm.value
        side = "on it" if abs(y) < 1e-6 else f"{number_in(abs(y), units)} {'left' if y > 0 else 'right'}"
        rows.append((_called(hole), f"{number(hole.x_mm, units).lstrip('-')} to {end}", from_end, side))
    if not rows:
        return []
    table = Table(
        ("Hole in the floor", "From mid-car", "From the floor's end", "From the centre line"),
        tuple(rows),
        (0.0, 40.0, 40.0, 40.0),
        (False, True, True, True),
    )
    return [
        Heading("Where they are in the floor"),
        table,
        Note("Left and right as one stands in the car facing end A."),
    ]
