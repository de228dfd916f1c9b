"""A whole batch out of the shelf: lines by section, layers where a thickness is missing, a plan for each section."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from carwright.car.listtext import money
from carwright.car.model import Sheet, Shelf
from carwright.lengths import Units
from carwright.problems import InputError, Problem
from carwright.reference.choices import practice_value
from carwright.stock.demand import (
    SAME_MM,
    SAME_ROUND_MM,
    Apart,
    Lamination,
    Section,
    Stock,
    Wanted,
    named_stock,
    names_in,
    piece_cost,
    sheet_of,
    stock_sections,
)
from carwright.stock.lines import cut_lengths
from carwright.stock.pairs import Outline
from carwright.stock.records import (
    BarLayout,
    LengthPiece,
    LengthPlan,
    LengthStock,
    PlacedLength,
    SheetFilling,
    SheetLayout,
    SheetPiece,
    SheetPlan,
    SheetStock,
    Status,
)
from carwright.stock.shares import Lacking, Share, Sources, shares_of
from carwright.stock.sheets import cut_sheets, fill_sheet
from carwright.stock.whole import bad_kerf

__all__ = ["Batch", "Group", "cut_batch", "fill_first", "total_cost"]


@dataclass(frozen=True, slots=True)
class Group:
    """The plan of one section.

    Args:
        section: of its stock.
        plan: the plan.
        narrowest_mm: strip that its cuts may leave; 0 where nothing is snapped.
        kerf_mm: width of its cuts; 0 of a knife, and of nippers.
        rows: name of each stock in the layouts, and the key of its row of the shelf ("shelf.sheet[0]").
        outlines: of the two pieces in a rectangle that holds a pair, by its name; see ``Wanted``.
        sanded: name of each piece whose strip is sanded to width, and that width, mm.
        near: name of each piece that is cut from a rod of another size, and the diameter that was wanted, mm.
        unpriced: names of stock that is no offcut and whose price is not known.
        offcuts: names of stock that is one: what is bought is then stock of its size.
        oversize: whether sizes to cut hold an allowance for snapped edges.
    """

    section: Section
    plan: LengthPlan | SheetPlan
    narrowest_mm: float = 0.0
    kerf_mm: float = 0.0
    rows: tuple[tuple[str, str], ...] = ()
    outlines: tuple[tuple[str, tuple[Outline, ...]], ...] = ()
    sanded: tuple[tuple[str, float], ...] = ()
    near: tuple[tuple[str, float], ...] = ()
    unpriced: tuple[str, ...] = ()
    offcuts: tuple[str, ...] = ()
    oversize: bool = False

    @property
    def snaps(self) -> bool:
        """Whether it is sheet too thick for a knife to go through, and no saw is used: scored and snapped."""
        through_mm = practice_value("cut_through").value + SAME_MM
        return self.section.form == "sheet" and not self.kerf_mm and self.section.thickness_mm > through_mm

    @property
    def sheets(self) -> tuple[tuple[SheetLayout, int], ...]:
        """The layouts of sheets in their order, alike ones once with how many there are."""
        return tuple(Counter(each for each in self.plan.layouts if isinstance(each, SheetLayout)).items())

    @property
    def bars(self) -> tuple[tuple[BarLayout, int], ...]:
        """The layouts of bars in their order, alike ones once with how many there are."""
        return tuple(Counter(each for each in self.plan.layouts if isinstance(each, BarLayout)).items())

    @property
    def layouts(self) -> tuple[tuple[SheetLayout | BarLayout, int], ...]:
        """All layouts in their order, alike ones once with how many there are."""
        return (*self.sheets, *self.bars)


@dataclass(frozen=True, slots=True)
class Batch:
    """The plans of all sections, what is laminated, and what the shelf has nothing for.

    Args:
        groups: by form, material and size of the stock.
        laminations: pieces whose own thickness is not there.
        lacking: lines that nothing serves.
        left_out: names of pieces that were left out of this cutting.
        apart: pieces that are wanted too, and that no plan is made for.
    """

    groups: tuple[Group, ...]
    laminations: tuple[Lamination, ...]
    lacking: tuple[Lacking, ...]
    left_out: tuple[str, ...] = ()
    apart: tuple[Apart, ...] = ()

    @property
    def status(self) -> Status:
        """The worst status of all: "infeasible" where anything must be bought."""
        if self.lacking:
            return "infeasible"
        found = {group.plan.status for group in self.groups}
        order: tuple[Status, ...] = ("infeasible", "unknown", "feasible")
        return next((status for status in order if status in found), "optimal")

    @property
    def taken(self) -> dict[str, tuple[tuple[Section, float], ...]]:
        """For each piece by its name the sections of stock that it comes from, with the length cut there, mm.

        A pair in one rectangle counts for both of its pieces.
        """
        found: dict[str, dict[tuple[Section, float], None]] = {}
        for group in self.groups:
            for layout, _ in group.layouts:
                for piece in layout.pieces:
                    long = piece.length_mm if isinstance(piece, PlacedLength) else 0.0
                    for name in names_in(piece.name):
                        found.setdefault(name, {})[group.section, round(long, 4)] = None
        return {name: tuple(each) for name, each in found.items()}

    @property
    def layered(self) -> tuple[Lamination, ...]:
        """What is made of several layers."""
        return tuple(each for each in self.laminations if len(each.layers_mm) > 1)

    @property
    def substituted(self) -> tuple[Lamination, ...]:
        """What is made of one sheet of another thickness, near enough for what only has to look right."""
        return tuple(each for each in self.laminations if len(each.layers_mm) == 1)

    @property
    def must_buy(self) -> bool:
        """Whether something is needed that does not lie on the shelf."""
        return bool(self.lacking) or any(group.plan.buy for group in self.groups)


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
    units: Units = "mm",
) -> Batch:
    """Return the cutting plans of a batch.

    Args:
        lines: what is wanted; its sizes are those to cut.
        shelf: what there is, with its own squaring cut and least offcut.
        kerf_mm: width of the cut; wire is nipped, and loses nothing.
        rotate: whether rectangles may be turned.
        snapped: whether sheet that cannot be cut through is scored and snapped: no strip narrower than snaps is then
            left by any cut. Only without a kerf.
        time: most units of counted work for all sections together.
        watch: asked now and then whether to go on.
        deadline_ms: ms that a step which cannot be interrupted may last.
        units: those that stand first where a problem tells a size.

    Raises:
        InputError: a size, count, cost or kerf is out of range, a piece fits no stock of its section, or sheet is too
            thick to snap.
    """
    sections = stock_sections(shelf)
    sources = Sources(tuple(sections), snapped=snapped and kerf_mm == 0)
    shares: list[Share] = []
    laminations: list[Lamination] = []
    lacking: list[Lacking] = []
    problems: list[Problem] = []
    for line in lines:
        try:
            found = shares_of(line, sources)
        except InputError as trouble:
            problems += trouble.problems
            continue
        if isinstance(found, Lacking):
            lacking.append(found)
            continue
        shares += found[0]
        if line.layers_mm:
            laminations.append(_layered(line))
        if found[1] is not None:
            laminations.append(found[1])
    job = _Job(sections, shelf, sources, kerf_mm, rotate, time, watch, deadline_ms, units)
    problems += job.bad_kerf({share.section for share in shares})
    if problems:
        raise InputError(dict.fromkeys(problems))
    return Batch(job.groups(shares), tuple(dict.fromkeys(laminations)), tuple(lacking))


def _layered(line: Wanted) -> Lamination:
    """Return the layers of the piece that a line is a layer of, as its plan asks for them."""
    thick = sum(line.layers_mm) + (len(line.layers_mm) - 1) * practice_value("glue_solvent").value
    return Lamination(line.name, line.layers_mm, thick, thick)


@dataclass(slots=True)
class _Job:
    """Stock and wishes of a batch, and how much work is left; see ``cut_batch``."""

    sections: dict[Section, list[Stock]]
    shelf: Shelf
    sources: Sources
    kerf_mm: float
    rotate: bool
    time: float
    watch: Callable[[], bool] | None
    deadline_ms: Callable[[], int] | None
    units: Units
    used: float = 0.0

    def bad_kerf(self, wanted: set[Section]) -> list[Problem]:
        """Return the problem of a kerf that leaves nothing of one of the stocks, once for all of them."""
        longest = [
            max(_narrow_side(each) for each in rows)
            for section, rows in self.sections.items()
            if section in wanted and section.form != "wire"
        ]
        return bad_kerf(self.kerf_mm, [min(longest)], units=self.units) if longest else []

    def groups(self, shares: Sequence[Share]) -> tuple[Group, ...]:
        """Return the plan of each section; what a strip has not enough for comes from sheet where it can.

        Raises:
            InputError: see ``cut_batch``.
        """
        by_section: dict[Section, list[Share]] = {}
        for share in shares:
            by_section.setdefault(share.section, []).append(share)
        done: dict[Section, Group] = {}
        problems: list[Problem] = []
        for section in [each for each in sorted(by_section, key=_order) if each.form == "strip"]:
            mine = by_section[section]
            instead = [each.sheet for each in mine if each.sheet is not None]
            if not instead or _serves(self._tried(section, mine)):
                continue
            by_section[section] = [each for each in mine if each.sheet is None]
            for each in instead:
                by_section.setdefault(each.section, []).append(each)
        for section in sorted(by_section, key=_order):
            if by_section[section]:
                found = self._tried(section, by_section[section])
                if isinstance(found, InputError):
                    problems += found.problems
                else:
                    done[section] = found
        if problems:
            raise InputError(dict.fromkeys(problems))
        return tuple(done[section] for section in sorted(done, key=_order))

    def _tried(self, section: Section, shares: Sequence[Share]) -> Group | InputError:
        try:
            group = self._sheets(section, shares) if section.form == "sheet" else self._bars(section, shares)
        except InputError as trouble:
            return trouble
        self.used += group.plan.work_used
        return group

    @property
    def _left(self) -> float:
        return max(self.time - self.used, 0.05 * self.time)

    def _sheets(self, section: Section, shares: Sequence[Share]) -> Group:
        lines = [share.line for share in shares]
        stock = self.sections[section]
        keep_width_mm, keep_length_mm = _keep(self.shelf)
        narrowest_mm = self.sources.narrowest_mm(section)
        plan = cut_sheets(
            [_rectangle(line, rotate=self.rotate) for line in lines],
            _sheets([each for each in stock if isinstance(each, Sheet)]),
            kerf_mm=self.kerf_mm,
            keep_width_mm=keep_width_mm,
            keep_length_mm=keep_length_mm,
            narrowest_mm=narrowest_mm,
            time=self._left,
            watch=self.watch,
            deadline_ms=self.deadline_ms,
            units=self.units,
        )
        return Group(
            section,
            plan,
            narrowest_mm,
            self.kerf_mm,
            _rows(stock),
            tuple({line.name: line.outlines for line in lines if line.outlines}.items()),
            unpriced=_unpriced(stock),
            offcuts=_offcuts(stock),
            oversize=any(line.finished_mm is not None or line.outlines for line in lines),
        )

    def _bars(self, section: Section, shares: Sequence[Share]) -> Group:
        stock = self.sections[section]
        kerf_mm = 0.0 if section.form == "wire" else self.kerf_mm
        squaring = self.shelf.squaring
        plan = cut_lengths(
            [LengthPiece(share.line.name, share.line.length_mm, share.line.quantity) for share in shares],
            [
                LengthStock(name, each.length.value if each.length else 0.0, *_on_offer(each))
                for each, name in named_stock(stock)
            ],
            kerf_mm=kerf_mm,
            squaring_mm=squaring.value if squaring is not None else 0.0,
            keep_mm=_keep(self.shelf)[1],
            time=self._left,
            watch=self.watch,
            deadline_ms=self.deadline_ms,
            units=self.units,
        )
        sanded = {share.line.name: share.sand_mm for share in shares if share.sand_mm}
        same_mm = SAME_MM if section.form == "rod" else SAME_ROUND_MM
        near = {
            share.line.name: share.line.thickness_mm
            for share in shares
            if section.form in ("rod", "wire")
            and share.line.least_mm is not None
            and abs(share.line.thickness_mm - section.thickness_mm) > same_mm
        }
        return Group(
            section,
            plan,
            kerf_mm=kerf_mm,
            rows=_rows(stock),
            sanded=tuple(sanded.items()),
            near=tuple(near.items()),
            unpriced=_unpriced(stock),
            offcuts=_offcuts(stock),
        )


def _serves(found: Group | InputError) -> bool:
    return not isinstance(found, InputError) and not found.plan.buy


def _order(section: Section) -> tuple[str, str, float, float]:
    return section.form, section.material, section.thickness_mm, section.width_mm


def _narrow_side(stock: Stock) -> float:
    """Return the side of a stock that a kerf must be smaller than."""
    length = stock.length.value if stock.length else 0.0
    return min(stock.width.value, length) if isinstance(stock, Sheet) and stock.width else length


def _rows(stock: Sequence[Stock]) -> tuple[tuple[str, str], ...]:
    return tuple((name, each.key) for each, name in named_stock(stock))


def _unpriced(stock: Sequence[Stock]) -> tuple[str, ...]:
    """Return the names of stock without a price; an offcut was paid for with what it is of."""
    return tuple(name for each, name in named_stock(stock) if piece_cost(each) is None and not each.left_over)


def _offcuts(stock: Sequence[Stock]) -> tuple[str, ...]:
    return tuple(name for each, name in named_stock(stock) if each.left_over)


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
    fitting = [line for line in lines if line.width_mm is not None and sheet_of(line, (section,)) is not None]
    if not fitting:
        named = f"{first.name or first.key}: {section.material} {section.thickness_mm:g} mm thick"
        mend = "Only the first sheet of the shelf is filled: put the one that is meant first."
        raise InputError(Problem("no piece is of the first sheet's material and thickness", named, mend=mend))
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


def _keep(shelf: Shelf) -> tuple[float, float]:
    """Return the least smaller and larger side of an offcut worth keeping."""
    length = shelf.keep_length or practice_value("offcut_length")
    width = shelf.keep_width or practice_value("offcut_width")
    return width.value, length.value


def _rectangle(line: Wanted, *, rotate: bool) -> SheetPiece:
    width = line.width_mm if line.width_mm is not None else 0.0
    return SheetPiece(line.name, width, line.length_mm, line.quantity, rotate and line.turn, line.value)


def _sheets(stock: Sequence[Sheet]) -> list[SheetStock]:
    return [
        SheetStock(
            name,
            each.width.value if isinstance(each, Sheet) and each.width else 0.0,
            each.length.value if each.length else 0.0,
            *_on_offer(each),
        )
        for each, name in named_stock(stock)
    ]


def _on_offer(stock: Stock) -> tuple[int | None, Decimal | None, bool, int, Decimal | None]:
    """Return how many there are, what one costs, whether it is an offcut, pieces in a pack and the pack's price."""
    return stock.count, piece_cost(stock), stock.left_over, stock.pack, money(stock.pack_price, stock.key)


def total_cost(batch: Batch) -> tuple[Decimal, Decimal] | None:
    """Return cost and bound of all sections together; None where any of them has no costs or no plan."""
    plans = [group.plan for group in batch.groups]
    costs = [plan.cost for plan in plans if plan.measure == "cost" and plan.cost is not None]
    if len(costs) < len(plans):
        return None
    return sum(costs, Decimal(0)), sum((plan.bound for plan in plans), Decimal(0))
