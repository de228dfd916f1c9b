"""The paint that a finish takes, as lines on a screen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from carwright.cli.page import plain, wrapped

if TYPE_CHECKING:
    from carwright.plan.finishing import FinishPlan
    from carwright.plan.paintneeds import PaintAnswer

__all__ = ["paint_lines"]


def paint_lines(answer: PaintAnswer, made: FinishPlan) -> Iterator[str]:
    """Yield what each paint takes, no line longer than 80 columns."""
    from carwright.plan.finishwords import bought_told, misted_told
    from carwright.plan.paintneeds import needs_told

    yield "Paint, in millilitres (at most):"
    for need in answer.needs:
        where = answer.where(need)
        coats = f"{need.coats.value:.0f} coat{'' if need.coats.value == 1 else 's'}"
        amount = "?" if need.amount is None else f"{need.amount.likely.value:.1f} ({need.amount.most.value:.1f})"
        bought = f"; to buy: {bought_told(need)}" if bought_told(need) else ""
        known = "" if need.said else f", {need.reckoned_as}" if need.usual else ", family not said"
        yield from wrapped(f"{plain(need.paint)} {amount}: {coats} on {plain(where)}{known}{bought}", first="  ")
    for told in filter(None, (misted_told(made), needs_told(answer))):
        yield from wrapped(told, first="  ")
