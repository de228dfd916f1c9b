"""The page of ``carwright weigh``: the sum, the ballast to cut, how the car stands, and what pull tips it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from carwright.car.model import ENDS
from carwright.cli.page import heading, row, wrapped
from carwright.cli.show_plan import finding_lines
from carwright.lengths import number_in, show_in
from carwright.plan.weighmodel import WeighAnswer
from carwright.weight.ballast import Placed
from carwright.weight.standing import WheelLoads
from carwright.working import Working

__all__ = ["weigh_lines"]

Units = Literal["in", "mm"]


def _grams(mass: Working | None) -> str:
    return "?" if mass is None else f"{mass.value:.1f}"


def weigh_lines(answer: WeighAnswer) -> Iterator[str]:
    """Yield the page, no line longer than 80 columns, in the car file's units.

    Args:
        answer: the study.
    """
    info, sums = answer.plan.car.info, answer.plan.weight
    units = info.units
    yield from wrapped(info.name or "A car")
    yield from heading("The sum", "g")
    yield from row("there already", [_grams(sums.present)])
    yield from row("still to be fitted", [_grams(sums.to_fit)])
    yield from row("ballast placed", [_grams(answer.ballast)])
    yield from row("finished car", [_grams(answer.whole)], note=_band(answer))
    over = {"body": "by its length over the ends", "over buffers": "by its length over buffers"}.get(
        sums.length_used, ""
    )
    yield from row("should weigh", [_grams(sums.target)], note=", ".join(each for each in (sums.rule, over) if each))
    if answer.short is not None and abs(answer.short.value) >= 0.05:
        words = "missing" if answer.short.value > 0 else "too much"
        yield from row(words, [f"{abs(answer.short.value):.1f}"])
    yield from _ballast(answer, units)
    yield from _standing(answer, units)
    yield from _pulling(answer)
    yield from finding_lines(answer.findings, units)


def _band(answer: WeighAnswer) -> str:
    sums = answer.plan.weight
    if sums.low is None or sums.high is None:
        return ""
    return f"accepted {sums.low.value:.1f} to {sums.high.value:.1f}"


def _ballast(answer: WeighAnswer, units: Units) -> Iterator[str]:
    if not answer.placed:
        return
    yield from heading("Ballast to cut", f"{units}, g")
    yield from row("", ["pieces", "long", "wide", "thick", "weight"], label_width=24)
    for each in answer.placed:
        sizes = [each.length, each.width, each.thickness]
        cells = ["" if size is None else number_in(size.value, units) for size in sizes]
        yield from row(each.cavity.where, [f"{each.count.value:.0f}", *cells, _grams(each.mass)], label_width=24)
        yield from wrapped(_stock_words(each, units), first=" " * 4)


def _stock_words(placed: Placed, units: Units) -> str:
    layers = f", {placed.layers} on each other" if placed.layers > 1 else ""
    sides = ", half of them on each side" if placed.cavity.pair else ""
    hand = "" if placed.stock.on_hand else ", to be bought"
    return f"of {placed.stock.name}{layers}{sides}{hand}; middle {show_in(placed.z.value, units)} above the rail"


def _standing(answer: WeighAnswer, units: Units) -> Iterator[str]:
    middle = answer.centre
    if middle.x is None or middle.y is None or middle.z is None:
        return
    yield from heading("How it stands", units)
    for words, place, doubt in (
        ("centre of gravity, toward A", middle.x, middle.x_doubt),
        ("to the left", middle.y, middle.y_doubt),
        ("above the rail", middle.z, middle.z_doubt),
    ):
        note = "" if doubt is None else f"± {number_in(doubt.value, units)}"
        yield from row(words, [number_in(place.value, units)], note=note)
    if answer.loads is None:
        return
    yield from row("", ["A", "B"], note="g")
    yield from row("load on the truck", [_grams(answer.loads.at(end)) for end in ENDS])
    yield from _wheels("on a wheel, trucks solid", answer.solid)
    yield from _wheels("on a wheel, as they are set", answer.rocking)
    if answer.lean is not None:
        yield from row("lean at rest", [f"{answer.lean.value:.1f}°"])


def _wheels(words: str, loads: WheelLoads | None) -> Iterator[str]:
    if loads is None:
        return
    sides = ((loads.a_left, loads.a_right), (loads.b_left, loads.b_right))
    if all(abs(left.value - right.value) < 0.1 for left, right in sides):
        yield from row(words, [_grams(left) for left, _ in sides])
    else:
        yield from row(f"{words}, left", [_grams(left) for left, _ in sides], label_width=36)
        yield from row(f"{words}, right", [_grams(right) for _, right in sides], label_width=36)


def _pulling(answer: WeighAnswer) -> Iterator[str]:
    curved, hanging = answer.curved, answer.trailing
    if curved.pulls is None:
        return
    yield from heading(f"Pull {curved.where}", "N")
    yield from row("lifts an outer wheel", [f"{curved.pulls.lift.value:.2f}"], note="of the truck that does not rock")
    yield from row("tips the car", [f"{curved.pulls.tip.value:.2f}"])
    if hanging is None:
        return
    up = "on level track" if hanging.grade is None else f"up {hanging.grade.value:g} %"
    each = f"of {hanging.mass.value:.0f} g, rolling on {hanging.rolling.value:g} %, {up}"
    if hanging.pulled is not None:
        yield from row("cars that may trail it", [f"{hanging.pulled.value:.0f}"], note=each)
    if hanging.pushed is not None:
        yield from row(
            "cars that it may push", [f"{hanging.pushed.value:.0f}"], note=f"{each}; couplers at their stops"
        )
