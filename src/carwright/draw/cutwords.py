"""What is said of cuts and stock, alike on the screen, on the diagrams and in the book."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Final, NamedTuple

from carwright.findings import listed
from carwright.lengths import Units, number_in, show_in
from carwright.reference import practice_value
from carwright.stock.acts import Act
from carwright.stock.batch import Batch, Group
from carwright.stock.demand import Apart, Lamination, Section
from carwright.stock.records import Area, BarLayout, Purchase, SheetLayout, Stage, Status
from carwright.stock.shares import Lacking

__all__ = [
    "PAIRS",
    "Missing",
    "act_number",
    "act_words",
    "area_words",
    "bar_words",
    "bought_words",
    "called",
    "cost_words",
    "count_words",
    "fitting_words",
    "form_words",
    "freed_words",
    "lacking_words",
    "lamination_words",
    "money_words",
    "piece_words",
    "proof_words",
    "purchase_words",
    "saw_words",
    "section_words",
    "stages_words",
    "stock_words",
    "tool_words",
]

PAIRS: Final = "A rectangle that holds two pieces is parted along its slanting line once it is off."

_STATUS: Final[Mapping[Status, str]] = {
    "optimal": "proven the cheapest",
    "feasible": "the best found",
    "infeasible": "proven not enough: buy",
    "unknown": "not proven enough: buy",
}


_UNNAMED: Final = re.compile(r"\w+\.(\w+)\[(\d+)\]")


def count_words(many: int, thing: str) -> str:
    """Return how many of a thing: ``1 piece``, ``3 pieces``."""
    return f"{many} {thing}" if many == 1 else f"{many} {thing}s"


def stock_words(name: str) -> str:
    """Return what a row of the shelf is called: by its name, or kind and place where it has none (``sheet 2``)."""
    return _UNNAMED.sub(lambda found: f"{found[1]} {int(found[2]) + 1}", name)


def proof_words(group: Group) -> str:
    """Return what is proven of a plan's cost, or of the stock that it takes where nothing has a price."""
    plan = group.plan
    if plan.measure == "cost":
        if plan.status == "feasible" and plan.cost is not None:
            return f"{_STATUS['feasible']}, at most {money_words(plan.cost - plan.bound)} above the cheapest"
        return _STATUS[plan.status]
    return {"optimal": "proven the least stock"}.get(plan.status, _STATUS[plan.status])


def saw_words(kerf_mm: float, units: Units) -> str:
    """Return on which side of the line a saw cuts, and what it takes away."""
    return (
        f"Sawn, kerf {number_in(kerf_mm, units)}: saw beyond the line, on the side away from the edge that is measured "
        "from, and leave the line."
    )


def tool_words(group: Group, units: Units) -> str:
    """Return what its stock is cut with, on which side of the line, and what that takes away."""
    square = max((bar.pieces[0].start_mm for bar, _ in group.bars if bar.pieces), default=0.0)
    ends = f" {number_in(square, units)} is squared off each end of a new length." if square > 0 else ""
    return f"{_tool(group, units)}{ends}"


def _tool(group: Group, units: Units) -> str:
    if group.section.form == "wire":
        return "Nipped on the line: nippers take no kerf."
    if group.kerf_mm:
        return saw_words(group.kerf_mm, units)
    if group.section.form == "sheet" and group.section.thickness_mm >= practice_value("saw_from").value:
        return "Too thick to snap: it must be sawn, and no kerf was given (--kerf)."
    if group.snaps and not group.narrowest_mm:
        return "Scored with a knife on the line; strips too narrow to snap are not left out (--snap leaves them out)."
    if group.snaps:
        return "Scored with a knife on the line and snapped: nothing is lost."
    return "Cut with a knife on the line: nothing is lost."


def fitting_words(group: Group, units: Units) -> str:
    """Return which pieces of strip are sanded to width, or of rod are not of the size asked for; "" for none."""
    said = []
    for pieces, words, before in (
        (group.sanded, "The strip is wider than the piece; once it is cut to length, sand its width", "to "),
        (
            group.near,
            f"The {group.section.form} is the nearest to what the plan asks, and near enough for what only has to look "
            "right"
            + (", and slides through the holes that are drilled for it" if group.section.form == "wire" else ""),
            "",
        ),
    ):
        sizes: dict[str, list[str]] = {}
        for name, size_mm in pieces:
            sizes.setdefault(number_in(size_mm, units), []).append(called(name))
        told = "; ".join(f"{before}{size} {listed(dict.fromkeys(names))}" for size, names in sizes.items())
        said += [f"{words}: {told}."] if told else []
    return " ".join(said)


def money_words(amount: Decimal) -> str:
    """Return an amount with at least two decimals: ``2.00``, ``0.125``."""
    return f"{amount:.2f}" if amount == round(amount, 2) else f"{amount.normalize():f}"


def cost_words(batch: Batch) -> str:
    """Return what the plan costs, its bound, and what of it has no price; "" where nothing is cut."""
    plans = [group.plan for group in batch.groups if group.plan.cost is not None]
    if not plans:
        return ""
    taken = [(group, {layout.stock for layout in group.plan.layouts}) for group in batch.groups]
    names = list(dict.fromkeys(stock_words(name) for group, mine in taken for name in group.unpriced if name in mine))
    unknown = f"{listed(names)} {'has' if len(names) == 1 else 'have'} no price on the shelf"
    priced = [plan for plan in plans if plan.measure == "cost"]
    cost = sum((plan.cost for plan in priced if plan.cost is not None), Decimal(0))
    bound = sum((plan.bound for plan in priced), Decimal(0))
    rest = " What the shelf has nothing for is not in it." if batch.lacking else ""
    if names and not cost:
        return f"Cost: not known, because {unknown}."
    if names:
        return (
            f"Cost {money_words(cost)} of what has a price, and no plan costs less than {money_words(bound)} of that; "
            f"{unknown}.{rest}"
        )
    if not priced:
        return f"Cost: nothing, because all of it is cut from offcuts.{rest}"
    return f"Cost {money_words(cost)}; no plan costs less than {money_words(bound)}.{rest}"


def lamination_words(each: Lamination, units: Units) -> tuple[str, str, str, str]:
    """Return a piece, the layers that it is made of, what they make, and what was wanted."""
    layers = " + ".join(number_in(layer, units) for layer in each.layers_mm)
    return called(each.name), layers, number_in(each.thickness_mm, units), number_in(each.wanted_mm, units)


def section_words(section: Section, units: Units) -> str:
    """Return a section of stock: ``styrene sheet 0.030``, ``styrene strip 0.040 × 0.060``."""
    return f"{section.material} {form_words(section, units)}"


def form_words(section: Section, units: Units) -> str:
    """Return a section of stock without its material: ``sheet 0.030``, ``strip 0.040 × 0.060``."""
    size = number_in(section.thickness_mm, units)
    if section.width_mm:
        size += f" × {number_in(section.width_mm, units)}"
    return f"{section.form} {size}"


def called(name: str) -> str:
    """Return a piece's name in words: ``crosstie 4 flange``."""
    return name.replace("_", " ").replace("center", "centre")


def area_words(area: Area, units: Units) -> str:
    """Return the size of a part of a sheet: along the sheet first, then across it."""
    return f"{number_in(area.length_mm, units)} × {number_in(area.width_mm, units)}"


def act_number(act: Act) -> str:
    """Return the number of a cut, or the first and last of several alike: ``4``, ``6–29``."""
    return str(act.first) if act.first == act.last else f"{act.first}\u2013{act.last}"


def act_words(act: Act, units: Units) -> str:
    """Return how a cut is made, over which part, how far from which of its edges, and which pieces are then done."""
    way, edge = ("Across", "left end") if act.across else ("Along", "lower edge")
    step = number_in(act.step_mm, units)
    whole = act.first == 1
    size = area_words(act.parts[0], units)
    part = "the whole sheet" if whole else f"the part {size}"
    if len(act.parts) > 1:
        part = f"each of the {len(act.parts)} parts {size}"
    off = f": {freed_words(act)}" if act.frees else ""
    if act.step_mm < 0:
        return f"{way} {part}, to trim its {edge} by less than the saw takes, close beside the cut before{off}."
    if act.times == 1:
        return f"{way} {part}, {step} from its {edge}{off}."
    return f"{way} {part}, {act.times} times {step} from its {edge}, one strip after the other{off}."


def freed_words(act: Act) -> str:
    """Return the pieces that lie there alone after an act, alike ones once: ``2 x rib and end``."""
    return listed([_times(many, called(name)) for name, many in Counter(act.frees).items()])


def bar_words(bar: BarLayout, units: Units) -> str:
    """Return what is cut from a bar, in order: ``2 x sill 2.362, rib 0.500; left 1.600 (keep)``."""
    same: list[tuple[str, float, int]] = []
    for piece in bar.pieces:
        name, length, many = same[-1] if same else ("", 0.0, 0)
        if (name, length) == (piece.name, piece.length_mm):
            same[-1] = (name, length, many + 1)
        else:
            same.append((piece.name, piece.length_mm, 1))
    told = ", ".join(_times(many, f"{called(name)} {number_in(length, units)}") for name, length, many in same)
    if not bar.offcut_mm:
        return told
    return f"{told}; left {number_in(bar.offcut_mm, units)} ({'keep' if bar.kept else 'waste'})"


def _times(many: int, words: str) -> str:
    return f"{many} x {words}" if many > 1 else words


def piece_words(sheet: SheetLayout, units: Units) -> Iterator[str]:
    """Yield the pieces of a sheet, alike ones once: ``3 x rib 1.250 × 0.060, turned``."""
    alike = Counter((p.name, p.area.length_mm, p.area.width_mm, p.turned) for p in sheet.pieces)
    for (name, length, width, turned), many in alike.items():
        size = f"{number_in(length, units)} × {number_in(width, units)}"
        yield _times(many, f"{called(name)} {size}{', turned' if turned else ''}")


def purchase_words(purchase: Purchase) -> str:
    """Return how many are bought: pieces, or packs and the pieces in each."""
    if purchase.packs == purchase.quantity:
        return f"{purchase.quantity} x"
    packs = "a pack" if purchase.packs == 1 else f"{purchase.packs} packs"
    return f"{packs} of {purchase.quantity // purchase.packs}:"


def bought_words(purchase: Purchase, group: Group) -> str:
    """Return what is bought by its name; of an offcut there is no more, so stock of its size."""
    name = stock_words(purchase.stock)
    return f"stock as large as {name}" if purchase.stock in group.offcuts else name


class Missing(NamedTuple):
    """What the shelf has nothing for.

    Args:
        least: the least stock that would serve, in words.
        waiting: the pieces that wait for it, in words.
        names: the same pieces by their names.
    """

    least: str
    waiting: str
    names: tuple[str, ...]


def lacking_words(lacking: Sequence[Lacking], units: Units) -> list[Missing]:
    """Return what the shelf has nothing for, pieces that wait for the same stock together."""
    kinds: dict[str, list[Lacking]] = {}
    for each in lacking:
        kinds.setdefault(_kind_words(each, units), []).append(each)
    return [Missing(_least_words(mine, units), _for_words(mine), tuple(_names(mine))) for mine in kinds.values()]


class NotPlanned(NamedTuple):
    """What is wanted and not planned: what it is, the pieces' names in words, and why no plan is made of it."""

    what: str
    names: str
    why: str


def apart_words(apart: Sequence[Apart], units: Units) -> list[NotPlanned]:
    """Return what is wanted too and not cut by plan, pieces of one size together."""
    alike: dict[tuple[str, str], list[Apart]] = {}
    for each in apart:
        high, long, wide = (number_in(size, units) for size in each.sizes_mm)
        sizes = f"{high} high, {long} × {wide}" if each.kind == "bolster" else f"{high} × {long} × {wide}"
        alike.setdefault((each.kind, sizes), []).append(each)
    return [
        NotPlanned(
            f"{kind} {sizes}",
            listed(_times(each.quantity, called(each.name)) for each in mine),
            _APART_WHY[kind],
        )
        for (kind, sizes), mine in alike.items()
    ]


_APART_WHY: Final[Mapping[str, str]] = {
    "block": "no sheet, strip or rod gives a block: from the scrap box, or bought",
    "bolster": "of one height, so bought or there already; given as layers, or to be built, it is planned from sheet",
}


def _names(mine: Sequence[Lacking]) -> Iterator[str]:
    """Yield the names of single pieces, of a pair both."""
    for each in mine:
        yield from each.line.name.split(" and ") if each.line.outlines else (each.line.name,)


def _kind_words(each: Lacking, units: Units) -> str:
    """Return what makes two lacking pieces wait for the same stock."""
    sizes = (each.thickness_mm, *(() if each.width_mm is None or each.form == "sheet" else (each.width_mm,)))
    return " ".join((each.line.material, each.form, *(number_in(size, units) for size in sizes)))


def _least_words(mine: Sequence[Lacking], units: Units) -> str:
    """Return the least stock that serves all of some pieces of one kind; of a strip its length in all."""
    largest = max(mine, key=lambda each: (each.length_mm, each.width_mm or 0.0))
    if len(mine) > 1 and largest.form == "sheet":
        widest = max(each.width_mm or 0.0 for each in mine)
        largest = replace(largest, width_mm=widest)
    told = largest.least(units)
    pieces = sum(each.line.quantity for each in mine)
    if largest.form != "sheet" and pieces > 1:
        told += f"; {show_in(sum(each.length_mm * each.line.quantity for each in mine), units)} of it in all"
    return told


def _for_words(mine: Sequence[Lacking]) -> str:
    """Return the names of pieces that wait, each with its number."""
    many: dict[str, int] = {}
    for each in mine:
        many[called(each.line.name)] = many.get(called(each.line.name), 0) + each.line.quantity
    return listed([_times(number, name) for name, number in many.items()])


def stages_words(group: Group, units: Units) -> str:
    """Return what is wasted and what stays, each with what is proven of it among plans of the same cost."""
    plan, sheet = group.plan, group.section.form == "sheet"
    told = []
    if plan.waste is not None:
        taken = sum(each.length_mm * (each.width_mm if isinstance(each, SheetLayout) else 1.0) for each in plan.layouts)
        least = "" if plan.waste.status == "optimal" else f" (no less than {_share(plan.waste.bound, taken)} can be)"
        told.append(f"waste {_share(plan.waste.value, taken)} of it{least or ', proven the least'}")
    if plan.offcut is not None and plan.offcut.value > 0:
        proof = (
            "proven" if plan.offcut.status == "optimal" else f"no more than {_most(plan.offcut, units, sheet=sheet)}"
        )
        told.append(f"largest piece kept {_kept(group, units)} ({proof})")
    return "; ".join(told)


def _share(value: float, whole: float) -> str:
    return f"{100 * max(0.0, value) / whole:.1f} %" if whole else "0 %"


def _most(stage: Stage, units: Units, *, sheet: bool) -> str:
    if not sheet:
        return number_in(stage.bound, units)
    square = 25.4 * 25.4 if units == "in" else 100.0
    return f"{stage.bound / square:.1f} {'sq in' if units == 'in' else 'cm²'}"


def _kept(group: Group, units: Units) -> str:
    """Return the size of the largest piece kept."""
    areas = [a for each in group.plan.layouts if isinstance(each, SheetLayout) for a in each.remainders[: each.kept]]
    if areas:
        return area_words(max(areas, key=lambda each: each.width_mm * each.length_mm), units)
    bars = [each.offcut_mm for each in group.plan.layouts if isinstance(each, BarLayout) and each.kept]
    return number_in(max(bars, default=0.0), units)
