"""The page on weight: the sum, the ballast to cut and where it goes, how the car stands, and what tips it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from carwright.car.model import ENDS
from carwright.draw.blocks import Block, Caution, Heading, Hold, Judged, Note, Picture, Prose, Table, Verdicts
from carwright.draw.heads import plan_shape
from carwright.draw.labels import short_name
from carwright.draw.weightviews import forces_blocks, room_below, room_side
from carwright.lengths import number_in
from carwright.plan.model import Plan
from carwright.plan.weighmodel import WeighAnswer
from carwright.weight.ballast import Placed
from carwright.working import Working

__all__ = ["told_ballast", "weight_blocks"]

_CAUTIONS: Final = ("lead_handling", "lead_glue", "iron_near_magnets")
_HOLD: Final = "hold_before_closing"
_LEGEND: Final = (
    "Dashed: room that nothing reaches into. Hatched: ballast, by its number in the table. The quartered ring is the "
    "centre of gravity."
)


def told_ballast(plan: Plan, placed: Sequence[Placed]) -> str:
    """Return ballast as a sentence: how many pieces of which size of what, where, and what they weigh."""
    units = plan.car.info.units
    found = []
    for each in placed:
        sizes = [number_in(size.value, units) for size in (each.length, each.width) if size is not None]
        size = f", {' × '.join(sizes)}" if sizes else ""
        found.append(
            f"{each.count.value:.0f} of {each.stock.name}{size}, {each.cavity.where} ({each.mass.value:.1f} g)"
        )
    return "; ".join(found)


def weight_blocks(answer: WeighAnswer, *, width_mm: float) -> tuple[Block, ...]:
    """Return the blocks of the page on weight; what is missing is named where nothing can be said.

    Args:
        answer: the study, with the car on its own curve.
        width_mm: room on the page.
    """
    shape = plan_shape(answer.plan)
    blocks: list[Block] = [_sum(answer)]
    if answer.placed:
        blocks += [Heading("Ballast to cut"), _cut_table(answer)]
    for word, text in _cautions(answer):
        blocks.append(Caution(text, word))
    for each in answer.findings:
        if each.check == _HOLD:
            blocks.append(Hold(f"{each.because} {each.mend}", places=("weighs, g",)))
    if answer.cavities:
        side, below = (
            room_side(answer, shape, width_mm=width_mm, height_mm=70.0),
            room_below(answer, shape, width_mm=width_mm),
        )
        blocks += [Heading(side.title), Picture(side), Heading(below.title), Picture(below)]
        blocks.append(Note(_LEGEND))
    blocks += forces_blocks(answer, shape, width_mm)
    standing = _standing(answer)
    if standing is not None:
        blocks += [Heading("How it stands and pulls"), standing]
    rest = [each for each in answer.findings if each.check not in (*_CAUTIONS, _HOLD)]
    blocks.append(Verdicts(tuple(Judged(e.verdict, short_name(e.check), e.because, e.mend) for e in rest)))
    return tuple(blocks)


def _grams(mass: Working | None) -> str:
    return "?" if mass is None else f"{mass.value:.1f}".replace("-", "\u2212")


def _sum(answer: WeighAnswer) -> Block:
    sums = answer.plan.weight
    if sums.target is None:
        return Prose("What the car should weigh is not known yet.")
    over = {"body": ", by its length over the ends", "over buffers": ", by its length over buffers"}
    rows = [
        ("There already", _grams(sums.present), ""),
        ("Still to be fitted", _grams(sums.to_fit), "designed pieces, and what is missing from the car"),
        ("Ballast placed", _grams(answer.ballast), ""),
        ("Finished car", _grams(answer.whole), _band(answer)),
        ("Should weigh", _grams(sums.target), f"{sums.rule}{over.get(sums.length_used, '')}"),
    ]
    if answer.short is not None and abs(answer.short.value) >= 0.05:
        rows.append(("Missing" if answer.short.value > 0 else "Too much", f"{abs(answer.short.value):.1f}", ""))
    return Table(("The sum", "g", ""), tuple(rows), (38.0, 16.0, 0.0), (False, True, False), bold_rows=(3,))


def _band(answer: WeighAnswer) -> str:
    sums = answer.plan.weight
    return "" if sums.low is None or sums.high is None else f"accepted {_grams(sums.low)} to {_grams(sums.high)}"


def _cut_table(answer: WeighAnswer) -> Table:
    units = answer.plan.car.info.units
    rows = []
    for number, each in enumerate(answer.placed, start=1):
        sizes = [
            "" if size is None else number_in(size.value, units) for size in (each.length, each.width, each.thickness)
        ]
        stock = each.stock.name + ("" if each.stock.on_hand else ", to buy")
        layers = f", {each.layers} on each other" if each.layers > 1 else ""
        sides = ", half on each side" if each.cavity.pair else ""
        where = f"{each.cavity.where}{layers}{sides}"
        rows.append((f"{number}", where, stock, f"{each.count.value:.0f}", *sizes, _grams(each.mass)))
    return Table(
        ("", "Where", "From", "How many", "Long", "Wide", "Thick", "g"),
        tuple(rows),
        (6.0, 0.0, 36.0, 18.0, 15.0, 15.0, 15.0, 13.0),
        (True, False, False, True, True, True, True, True),
    )


def _cautions(answer: WeighAnswer) -> list[tuple[str, str]]:
    words = {"lead_handling": "Lead", "lead_glue": "White glue", "iron_near_magnets": "Magnets"}
    return [(words[each.check], f"{each.because} {each.mend}") for each in answer.findings if each.check in _CAUTIONS]


def _standing(answer: WeighAnswer) -> Table | None:
    units, middle, loads = answer.plan.car.info.units, answer.centre, answer.loads
    if middle.x is None or middle.y is None or middle.z is None or loads is None:
        return None

    def place(value: Working, doubt: Working | None) -> str:
        told = number_in(value.value, units).replace("-", "\u2212")
        return told if doubt is None else f"{told} ± {number_in(doubt.value, units)}"

    rows = [
        ("Centre of gravity, from mid-car to A", place(middle.x, middle.x_doubt), units),
        ("to the left", place(middle.y, middle.y_doubt), units),
        ("above the rail", place(middle.z, middle.z_doubt), units),
        ("Load on truck A, truck B", " and ".join(_grams(loads.at(end)) for end in ENDS), "g"),
    ]
    wheels = answer.rocking
    if wheels is not None:
        each = (wheels.a_left, wheels.a_right, wheels.b_left, wheels.b_right)
        rows.append(("On a wheel: A left, A right, B left, B right", ", ".join(_grams(one) for one in each), "g"))
    pulls = answer.curved.pulls
    if pulls is not None:
        rows.append((f"Pull {answer.curved.where} that lifts an outer wheel", f"{pulls.lift.value:.2f}", "N"))
        rows.append((f"Pull {answer.curved.where} that tips the car", f"{pulls.tip.value:.2f}", "N"))
    return Table(("", "", ""), tuple(rows), (0.0, 52.0, 10.0), (False, True, False))
