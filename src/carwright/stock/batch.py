"""A whole batch out of the shelf: lines by section, layers where a thickness is missing, a plan for each section."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from carwright.car.model import Sheet, Shelf
from carwright.problems import InputError, Problem
from carwright.reference.choices import practice_value
from carwright.stock.demand import (
    SAME_MM,
    Lamination,
    Section,
    Stock,
    Wanted,
    laminated,
    money,
    named_stock,
    piece_cost,
    section_of,
    stock_sections,
)
from carwright.stock.lines import cut_lengths
from carwright.stock.pairs import Outline
from carwright.stock.records import (
    LengthPiece,
    LengthPlan,
    LengthStock,
    SheetFilling,
    SheetPiece,
    SheetPlan,
    SheetStock,
    Status,
)
from carwright.stock.sheets import cut_sheets, fill_sheet
from carwright.stock.whole import both_units

__all__ = ["Batch", "Group", "Lacking", "cut_batch", "fill_first", "total_cost"]


@dataclass(frozen=True, slots=True)
class Group:
    """The plan of one section.

    Args:
        section: of its stock.
        plan: the plan.
        narrowest_mm: strip that its cuts may leave; 0 where nothing is snapped.
        kerf_mm: width of its cuts.
        rows: name of each stock in the layouts, and the key of its row of the shelf ("shelf.sheet[0]").
        outlines: of the two pieces in a rectangle that holds a pair, by its name; see ``Wanted``.
    """

    section: Section
    plan: LengthPlan | SheetPlan
    narrowest_mm: float = 0.0
    kerf_mm: float = 0.0
    rows: tuple[tuple[str, str], ...] = ()
    outlines: tuple[tuple[str, tuple[Outline, ...]], ...] = ()


@dataclass(frozen=True, slots=True)
class Lacking:
    """A line that nothing on the shelf serves: the piece, and the least stock that would, in words."""

    line: Wanted
    least: str


@dataclass(frozen=True, slots=True)
class Batch:
    """The plans of all sections, what is laminated, and what the shelf has nothing for."""

    groups: tuple[Group, ...]
    laminations: tuple[Lamination, ...]
    lacking: tuple[Lacking, ...]

    @property
    def status(self) -> Status:
        """The worst status of all: "infeasible" where anything must be bought."""
        if self.lacking:
            return "infeasible"
        found = {group.plan.status for group in self.groups}
        order: tuple[Status, ...] = ("infeasible", "unknown", "feasible")
        return next((status for status in order if status in found), "optimal")


def cut_batch(
    lines: Sequence[Wanted],
    shelf: Shelf,
    *,
    kerf_mm: float = 0.0,
    rotate: bool = True,
    snapped: bool = False,
    time: float = 10.0,
    watch: Callable[[], bool] | None = None,
    deadline_ms: Callable[[], int] | None = None,
) -> Batch:
    """Return the cutting plans of a batch.

    Args:
        lines: what is wanted; its sizes are those to cut.
        shelf: what there is, with its own squaring cut and least offcut.
        kerf_mm: width of the cut.
        rotate: whether rectangles may be turned.
        snapped: whether sheet that cannot be cut through is scored and snapped: no strip narrower than snaps is then
            left by any cut. Only without a kerf.
        time: most units of counted work for all sections together.
        watch: asked now and then whether to go on.
        deadline_ms: ms that a step which cannot be interrupted may last.

    Raises:
        InputError: a size, count, cost or kerf is out of range, a piece fits no stock of its section, or sheet is too
            thick to snap.
    """
    sections = stock_sections(shelf)
    by_section: dict[Section, list[Wanted]] = {}
    laminations: list[Lamination] = []
    lacking: list[Lacking] = []
    for line in lines:
        found = section_of(line, tuple(sections))
        if found is not None:
            by_section.setdefault(found, []).append(line)
            continue
        layers = laminated(line, tuple(sections))
        if layers is None:
            lacking.append(Lacking(line, _least(line)))
            continue
        laminations.append(layers[0])
        for layer in layers[1]:
            section = section_of(layer, tuple(sections))
            assert section is not None, "a layer is of a sheet that is there"
            by_section.setdefault(section, []).append(layer)
    groups: list[Group] = []
    problems: list[Problem] = []
    left = time
    ordered = sorted(by_section, key=lambda s: (s.form, s.material, s.thickness_mm, s.width_mm))
    for section in ordered:
        try:
            narrowest_mm = _narrowest(section, kerf_mm) if snapped else 0.0
            wide, narrow = _by_width(by_section[section], narrowest_mm)
            lacking += [Lacking(line, _least_strip(line, section)) for line in narrow]
            if not wide:
                continue
            group = _cut(
                section,
                wide,
                sections[section],
                shelf,
                kerf_mm=kerf_mm,
                rotate=rotate,
                narrowest_mm=narrowest_mm,
                time=max(left, 0.05 * time),
                watch=watch,
                deadline_ms=deadline_ms,
            )
        except InputError as trouble:
            problems += trouble.problems
            continue
        left -= group.plan.work_used
        groups.append(group)
    if problems:
        raise InputError(dict.fromkeys(problems))
    return Batch(tuple(groups), tuple(laminations), tuple(lacking))


def fill_first(
    lines: Sequence[Wanted],
    shelf: Shelf,
    *,
    kerf_mm: float = 0.0,
    rotate: bool = True,
    time: float = 10.0,
    watch: Callable[[], bool] | None = None,
) -> SheetFilling:
    """Return the most valuable filling of the shelf's first sheet; lines of another thickness or material stay out.

    Raises:
        InputError: the shelf has no sheet, or a line has no width or no value.
    """
    sheets = [each for each in shelf.sheets if each.thickness and each.width and each.length]
    if not sheets:
        raise InputError(Problem("the shelf has no sheet to fill", accepted="a [[shelf.sheet]] with its three sizes"))
    first = sheets[0]
    section = Section("sheet", first.material, first.thickness.value if first.thickness else 0.0)
    fitting = [line for line in lines if line.width_mm is not None and section_of(line, (section,)) is not None]
    if not fitting:
        raise InputError(Problem("no piece is of the first sheet's material and thickness", key="thickness"))
    keep_width_mm, keep_length_mm = _keep(shelf)
    return fill_sheet(
        [_rectangle(line, rotate=rotate) for line in fitting],
        _sheets([first])[0],
        kerf_mm=kerf_mm,
        keep_width_mm=keep_width_mm,
        keep_length_mm=keep_length_mm,
        time=time,
        watch=watch,
    )


def _cut(
    section: Section,
    lines: Sequence[Wanted],
    stock: Sequence[Stock],
    shelf: Shelf,
    *,
    kerf_mm: float,
    rotate: bool,
    narrowest_mm: float,
    time: float,
    watch: Callable[[], bool] | None,
    deadline_ms: Callable[[], int] | None,
) -> Group:
    keep_width_mm, keep_length_mm = _keep(shelf)
    rows = tuple((name, each.key) for each, name in named_stock(stock))
    if section.form == "sheet":
        plan: LengthPlan | SheetPlan = cut_sheets(
            [_rectangle(line, rotate=rotate) for line in lines],
            _sheets([each for each in stock if isinstance(each, Sheet)]),
            kerf_mm=kerf_mm,
            keep_width_mm=keep_width_mm,
            keep_length_mm=keep_length_mm,
            narrowest_mm=narrowest_mm,
            time=time,
            watch=watch,
            deadline_ms=deadline_ms,
        )
        outlines = {line.name: line.outlines for line in lines if line.outlines}
        return Group(section, plan, narrowest_mm, kerf_mm, rows, tuple(outlines.items()))
    plan = cut_lengths(
        [LengthPiece(line.name, line.length_mm, line.quantity) for line in lines],
        [
            LengthStock(
                name,
                each.length.value if each.length else 0.0,
                each.count,
                piece_cost(each),
                each.left_over,
                each.pack,
                money(each.pack_price, each.key),
            )
            for each, name in named_stock(stock)
        ],
        kerf_mm=kerf_mm,
        squaring_mm=shelf.squaring.value if shelf.squaring is not None else 0.0,
        keep_mm=keep_length_mm,
        time=time,
        watch=watch,
        deadline_ms=deadline_ms,
    )
    return Group(section, plan, kerf_mm=kerf_mm, rows=rows)


def _keep(shelf: Shelf) -> tuple[float, float]:
    """Return the least smaller and larger side of an offcut worth keeping."""
    length = shelf.keep_length or practice_value("offcut_length")
    width = shelf.keep_width or practice_value("offcut_width")
    return width.value, length.value


def _narrowest(section: Section, kerf_mm: float) -> float:
    """Return the narrowest strip that comes off a sheet by hand: what snaps, or where a knife goes through, what holds.

    Raises:
        InputError: the sheet is too thick for a knife.
    """
    if kerf_mm > 0 or section.form != "sheet":
        return 0.0
    if section.thickness_mm <= practice_value("cut_through").value + SAME_MM:
        return practice_value("narrowest_trim").value
    limit = practice_value("saw_from").value
    if section.thickness_mm >= limit - 1e-6:
        raise InputError(
            Problem(
                f"{section.material} sheet of this thickness does not snap",
                value=f"{section.thickness_mm:g} mm",
                accepted=f"less than {limit:g} mm",
                mend="Cut it with a saw, and give its kerf.",
                key="--kerf",
            )
        )
    return section.thickness_mm * practice_value("narrowest_snap").value


def _by_width(lines: Sequence[Wanted], narrowest_mm: float) -> tuple[list[Wanted], list[Wanted]]:
    """Return the lines that are wide enough both ways to be snapped off, and those that are not."""

    def snaps(line: Wanted) -> bool:
        return min(line.width_mm or line.length_mm, line.length_mm) >= narrowest_mm - 1e-6

    return [line for line in lines if snaps(line)], [line for line in lines if not snaps(line)]


def _least_strip(line: Wanted, section: Section) -> str:
    """Return the strip that serves where a piece is too narrow to be cut off a sheet, in words."""
    narrow, long = sorted((line.width_mm or line.length_mm, line.length_mm))
    size = f"strip {both_units(section.thickness_mm, narrow)}, {both_units(long)} or longer"
    return f"{line.material} {size}: it is too narrow to be cut off a sheet by hand"


def _rectangle(line: Wanted, *, rotate: bool) -> SheetPiece:
    width = line.width_mm if line.width_mm is not None else 0.0
    return SheetPiece(line.name, width, line.length_mm, line.quantity, rotate and line.turn, line.value)


def _sheets(stock: Sequence[Sheet]) -> list[SheetStock]:
    return [
        SheetStock(
            name,
            each.width.value if isinstance(each, Sheet) and each.width else 0.0,
            each.length.value if each.length else 0.0,
            each.count,
            piece_cost(each),
            each.left_over,
            each.pack,
            money(each.pack_price, each.key),
        )
        for each, name in named_stock(stock)
    ]


def _least(line: Wanted) -> str:
    """Return the least stock that a line can be cut from, in words."""
    if line.width_mm is not None:
        size = f"sheet {both_units(line.thickness_mm)} thick, {both_units(line.width_mm, line.length_mm)} or larger"
    elif line.strip_mm is not None:
        size = f"strip {both_units(line.thickness_mm, line.strip_mm)}, {both_units(line.length_mm)} or longer"
    else:
        size = f"strip, rod or wire of {both_units(line.thickness_mm)}, {both_units(line.length_mm)} or longer"
    return f"{line.material} {size}"


def total_cost(batch: Batch) -> tuple[Decimal, Decimal] | None:
    """Return cost and bound of all sections together; None where any of them has no costs or no plan."""
    plans = [group.plan for group in batch.groups]
    costs = [plan.cost for plan in plans if plan.measure == "cost" and plan.cost is not None]
    if len(costs) < len(plans):
        return None
    return sum(costs, Decimal(0)), sum((plan.bound for plan in plans), Decimal(0))
