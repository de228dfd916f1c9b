"""What is said of cuts and stock, alike on the screen, on the diagrams and in the book."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from carwright.findings import listed
from carwright.lengths import Units, number_in
from carwright.stock.acts import Act
from carwright.stock.batch import Group, Lacking
from carwright.stock.demand import Section
from carwright.stock.records import Area, BarLayout, Purchase, SheetLayout, Stage, Status

__all__ = [
    "PAIRS",
    "STATUS_WORDS",
    "act_number",
    "act_words",
    "area_words",
    "bar_words",
    "called",
    "lacking_words",
    "piece_words",
    "purchase_words",
    "section_words",
    "stages_words",
]

PAIRS: Final = "A rectangle that holds two pieces is parted along its slanting line once it is off."

STATUS_WORDS: Final[Mapping[Status, str]] = {
    "optimal": "proven the cheapest",
    "feasible": "the best found",
    "infeasible": "the shelf cannot serve: buy",
    "unknown": "not proven; buy",
}


def section_words(section: Section, units: Units) -> str:
    """Return a section of stock: ``styrene sheet 0.030``, ``styrene strip 0.040 × 0.060``."""
    size = number_in(section.thickness_mm, units)
    if section.width_mm:
        size += f" × {number_in(section.width_mm, units)}"
    return f"{section.material} {section.form} {size}"


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
    """Return how a cut is made: over which part, and how far from which of its edges."""
    way, edge = ("Across", "left end") if act.across else ("Along", "lower edge")
    step = number_in(act.step_mm, units)
    whole = act.first == 1
    size = area_words(act.parts[0], units)
    part = "the whole sheet" if whole else f"the part {size}"
    if len(act.parts) > 1:
        part = f"each of the {len(act.parts)} parts {size}"
    if act.times == 1:
        return f"{way} {part}, {step} from its {edge}."
    return f"{way} {part}, {act.times} times {step} from its {edge}, one strip after the other."


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


def lacking_words(lacking: Sequence[Lacking]) -> list[tuple[str, str]]:
    """Return what the shelf has nothing for: the least stock that would serve, and the pieces that wait for it."""
    names: dict[str, list[str]] = {}
    for each in lacking:
        names.setdefault(each.least, []).append(called(each.line.name))
    return [(least, listed(dict.fromkeys(mine))) for least, mine in names.items()]


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
