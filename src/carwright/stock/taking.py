"""Taking a cutting plan: the shelf goes down, offcuts worth keeping appear, and both can be undone.

Pure: a shelf and a batch in, a ``Taking`` out, which says what changes; ``taken`` and ``undone`` make the shelf after
and before it. Whoever keeps shelves (a file, a data base) writes the ``Taking`` down by its ``plan``, so that none is
taken twice.
"""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from carwright.car.document import decoded
from carwright.car.model import RodStock, Sheet, Shelf, Strip
from carwright.lengths import Units, number_in
from carwright.problems import InputError, Problem
from carwright.stock.batch import Batch, Group
from carwright.stock.demand import Stock, named_stock, stock_sections
from carwright.stock.records import BarLayout
from carwright.working import Working

__all__ = ["Drawn", "Offcut", "Taking", "plan_identity", "take", "taken", "undone", "wish_of_car"]

_OFFCUT_OF = re.compile(r"offcut (?:[^ ]+ (?:x [^ ]+ )?)?of ")
"""How the name of an offcut begins, before that of what it comes from; with an x, which any keyboard has."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a plan takes from one row of the shelf.

    Args:
        key: of the row ("shelf.sheet[0]").
        name: of it, as layouts call it.
        before: how many lay there; None for any number.
        bought: how many are bought for the plan and lie there too before the first cut.
        taken: how many are cut up.
    """

    key: str
    name: str
    before: int | None
    bought: int
    taken: int

    @property
    def after(self) -> int | None:
        """How many lie there afterwards; None for any number."""
        return None if self.before is None else self.before + self.bought - self.taken


@dataclass(frozen=True, slots=True)
class Offcut:
    """What is left over of one row and worth keeping; material, thickness and place are those of the row.

    Args:
        key: of the row that it comes from.
        name: "offcut 3.500 x 2.000 of ...", with its size and what it was once cut off.
        width_mm: of a sheet, as it lay in the sheet; None for strip, rod, tube and wire.
        length_mm: as it lay there.
        count: how many of that size.
    """

    key: str
    name: str
    width_mm: float | None
    length_mm: float
    count: int


@dataclass(frozen=True, slots=True)
class Taking:
    """A plan taken from a shelf.

    Args:
        plan: its identity, see ``plan_identity``.
        pieces: how many pieces it cuts.
        drawn: one for each row that it takes from.
        offcuts: one for each row and size.
    """

    plan: str
    pieces: int
    drawn: tuple[Drawn, ...]
    offcuts: tuple[Offcut, ...]


def wish_of_car(document: bytes) -> str:
    """Return a car file's content without its notes and without its shelf, as ``plan_identity`` wants it."""
    said = tomllib.loads(decoded(document)) | {"shelf": None}
    return json.dumps(said, sort_keys=True, default=str)


def plan_identity(
    wishes: Sequence[tuple[str, str]],
    *,
    kerf_mm: float,
    rotate: bool,
    snapped: bool,
    left_out: Sequence[str] = (),
) -> str:
    """Return twelve hexadecimal digits that are the same for the same wish, in whatever order it is told.

    Neither the shelf enters nor what a car's plan makes of it: it is another one after the plan was taken, and the
    wish must be known again.

    Args:
        wishes: name and content of each car (``wish_of_car``) and list; two cars alike are two wishes.
        kerf_mm: width of the cut.
        rotate: whether pieces may be turned.
        snapped: whether sheet is snapped.
        left_out: names of pieces that are left out.
    """
    without = [sorted(left_out)] if left_out else []
    wish = json.dumps([sorted(wishes), round(kerf_mm, 6), rotate, snapped, *without])
    return hashlib.sha256(wish.encode()).hexdigest()[:12]


def take(shelf: Shelf, batch: Batch, *, plan: str, bought: bool = False, units: Units = "mm") -> Taking:
    """Return what changes when a batch is cut from the shelf that it was planned for.

    Args:
        shelf: the shelf that ``cut_batch`` was given.
        batch: its answer.
        plan: identity of the plan, see ``plan_identity``.
        bought: whether what the batch has to buy has been bought.
        units: those that stand first where a problem tells a size.

    Raises:
        InputError: something must be bought that was not, nothing on the shelf serves a piece, a section has no plan,
            or the shelf is not the one of the plan.
    """
    problems = [
        Problem(
            f"nothing on the shelf serves piece {each.line.name}",
            accepted=each.least(units),
            mend="Put such stock on the shelf, or leave the piece out, and plan again.",
        )
        for each in batch.lacking
    ]
    rows = stock_sections(shelf)
    drawn: list[Drawn] = []
    offcuts: list[Offcut] = []
    pieces = 0
    for group in batch.groups:
        stock = {name: each for each, name in named_stock(rows.get(group.section, []))}
        if group.plan.cost is None:
            problems.append(Problem(f"no plan was found for {group.section.material} {group.section.form}"))
            continue
        wanting = [f"{row.quantity} x {row.stock}" for row in group.plan.buy]
        if wanting and not bought:
            mend = "Buy it first; then take the plan as bought."
            problems.append(Problem("the plan needs stock that must be bought", ", ".join(wanting), mend=mend))
            continue
        unknown = {layout.stock for layout in group.plan.layouts} - stock.keys()
        if unknown:
            mend = "Plan again."
            problems.append(Problem("the shelf is not the one of the plan", ", ".join(sorted(unknown)), mend=mend))
            continue
        drawn += _drawn(group, stock)
        offcuts += _offcuts(group, stock, units)
        pieces += sum(len(layout.pieces) for layout in group.plan.layouts)
    short = [each for each in drawn if each.after is not None and each.after < 0]
    problems += [Problem("the shelf is not the one of the plan", each.name, mend="Plan again.") for each in short]
    if problems:
        raise InputError(problems)
    return Taking(plan, pieces, tuple(drawn), tuple(offcuts))


def _drawn(group: Group, stock: dict[str, Stock]) -> Iterator[Drawn]:
    bought = {row.stock: row.quantity for row in group.plan.buy}
    used = Counter(layout.stock for layout in group.plan.layouts)
    for name, row in stock.items():
        if used[name]:
            yield Drawn(row.key, name, row.count, bought.get(name, 0), used[name])


def _offcuts(group: Group, stock: dict[str, Stock], units: Units) -> Iterator[Offcut]:
    """Yield what is kept, equal ones of a row together, the longest first."""
    found: Counter[tuple[str, float | None, float]] = Counter()
    for layout in group.plan.layouts:
        if isinstance(layout, BarLayout):
            if layout.kept:
                found[layout.stock, None, layout.offcut_mm] += 1
        else:
            for area in layout.remainders[: layout.kept]:
                found[layout.stock, area.width_mm, area.length_mm] += 1
    for (name, width_mm, length_mm), count in sorted(
        found.items(), key=lambda each: (each[0][0], -each[0][2], -(each[0][1] or 0.0))
    ):
        row = stock[name]
        size = " x ".join(number_in(each, units) for each in (length_mm, width_mm) if each is not None)
        yield Offcut(row.key, f"offcut {size} of {_whole_name(row, group, units)}"[:100], width_mm, length_mm, count)


def _whole_name(row: Stock, group: Group, units: Units) -> str:
    """Return what an offcut comes from: the row's name, or material and section; of an offcut what that came from."""
    name = _OFFCUT_OF.sub("", row.name)
    if name and name.casefold() != "offcut":
        return name
    section = group.section
    sizes = [section.thickness_mm, *([section.width_mm] if section.width_mm else [])]
    return f"{section.material} {section.form} {' × '.join(number_in(each, units) for each in sizes)}"


def taken(shelf: Shelf, taking: Taking) -> Shelf:
    """Return the shelf after the plan was taken; the new rows carry its identity and come last.

    Raises:
        InputError: the shelf is not the one of the plan.
    """
    down = {each.key: each for each in taking.drawn}
    left: dict[str, list[Offcut]] = {}
    for each in taking.offcuts:
        left.setdefault(each.key, []).append(each)

    def after(row: Stock) -> Stock:
        there = down.get(row.key)
        if there is not None and row.count != there.before:
            raise InputError(Problem("the shelf is not the one of the plan", there.name, mend="Plan again."))
        return row if there is None else replace(row, count=there.after)

    def new(row: Stock, offcut: Offcut, at: int) -> Stock:
        made = replace(
            row,
            key=f"{row.key.partition('.')[0]}.{taking.plan}[{at}]",
            name=offcut.name,
            count=offcut.count,
            cost="",
            pack=1,
            pack_price="",
            offcut=True,
            of=taking.plan,
            length=_resized(row.length, offcut.length_mm),
        )
        if isinstance(made, Sheet) and offcut.width_mm is not None:
            made = replace(made, width=_resized(made.width, offcut.width_mm))
        return made

    numbers = {id(each): at for at, each in enumerate(taking.offcuts)}

    def rows(given: Sequence[Stock]) -> Iterator[Stock]:
        yield from (after(row) for row in given)
        for row in given:
            yield from (new(row, each, numbers[id(each)]) for each in left.get(row.key, ()))

    return replace(
        shelf,
        sheets=tuple(row for row in rows(shelf.sheets) if isinstance(row, Sheet)),
        strips=tuple(row for row in rows(shelf.strips) if isinstance(row, Strip)),
        rods=tuple(row for row in rows(shelf.rods) if isinstance(row, RodStock)),
    )


def _resized(size: Working | None, value_mm: float) -> Working | None:
    return None if size is None else replace(size, value=value_mm, text=f"{value_mm:g} mm")


def undone(shelf: Shelf, taking: Taking) -> Shelf:
    """Return the shelf as it was before the plan was taken: its offcuts gone, its stock and no purchase there.

    Raises:
        InputError: offcuts of the plan were used since, or a row is gone or holds less than was bought for the plan.
    """
    there = {row.key: row for row in shelf.cuttable}
    kept = sum(row.count or 0 for row in shelf.cuttable if row.of == taking.plan)
    problems: list[Problem] = []
    if kept != sum(each.count for each in taking.offcuts):
        mend = "Undo first what was taken from them."
        problems.append(Problem(f"offcuts of plan {taking.plan} were used since", mend=mend))
    back: dict[str, int | None] = {}
    for each in taking.drawn:
        row = there.get(each.key)
        count = None if row is None else row.count
        if row is None or (count is None) != (each.before is None) or (count or 0) + each.taken < each.bought:
            problems.append(Problem("this row of the shelf was changed since", each.name, mend="Count it by hand."))
        else:
            back[each.key] = None if count is None else count + each.taken - each.bought
    if problems:
        raise InputError(problems)

    def before(given: Sequence[Stock]) -> Iterator[Stock]:
        for row in given:
            if row.of != taking.plan:
                yield replace(row, count=back[row.key]) if row.key in back else row

    return replace(
        shelf,
        sheets=tuple(row for row in before(shelf.sheets) if isinstance(row, Sheet)),
        strips=tuple(row for row in before(shelf.strips) if isinstance(row, Strip)),
        rods=tuple(row for row in before(shelf.rods) if isinstance(row, RodStock)),
    )
