"""The aims behind the cost: among plans that cost the same, less waste, then a longer offcut.

Both are improved by greedy plans of the same cost and by exchanges between bars, and are compared with bounds that
follow from the lengths alone; where value and bound meet, that is a proof.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from carwright.stock.columns import BarProblem, Bars
from carwright.stock.work import Work

__all__ = ["Tidied", "tidy"]

_SEEDS = 12
_STEPS = 2000
_TARGETS = 3
_TRIALS = 3
_TRIAL_UNITS = 0.015
_TRIAL_PIECES = 150


@dataclass(frozen=True, slots=True, eq=False)
class Tidied:
    """The plan with its waste and longest kept offcut, both in the problem's unit, and the bounds of both."""

    bars: Bars
    waste: int
    least_waste: int
    offcut: int
    longest_offcut: int


def tidy(problem: BarProblem, bars: Bars, *, kerf: int, keep: int, work: Work) -> Tidied:
    """Return the plan of the same cost that wastes least, and among those has the longest offcut, of those tried.

    Where an exchange empties a bar, its cost is less.
    """

    def figures(plan: Bars) -> tuple[int, int]:
        gaps = problem.caps[plan.stocks] - plan.fills @ problem.w
        offcuts = np.maximum(gaps - kerf, 0)
        kept = np.where(offcuts >= max(keep, 1), offcuts, 0)
        pieces = int(problem.d @ (problem.w - kerf))
        return int((problem.caps[plan.stocks] - kerf).sum()) - pieces - int(kept.sum()), int(kept.max(initial=0))

    least, longest = _bounds(problem, bars.cost, kerf)
    best, (waste, offcut) = bars, figures(bars)
    for plan in _candidates(problem, bars, work):
        found = figures(plan)
        if (plan.cost, found[0], -found[1]) < (best.cost, waste, -offcut):
            best, (waste, offcut) = plan, found
        if waste <= least and offcut >= longest:
            break
    low, high = offcut, max(offcut, min(longest, longest - (waste - least)))
    for attempt in range(_TRIALS if waste == least and problem.d.sum() <= _TRIAL_PIECES else 0):
        # The greatest first: where the bars have room to spare it can often be had.
        wish = high if attempt == 0 else (low + high + 1) // 2
        if wish <= low or wish < keep or work.over():
            break
        other = _with_offcut(problem, best, wish + kerf, work)
        if other is None:
            high = wish
            continue
        found = figures(other)
        if (found[0], -found[1]) < (waste, -offcut):
            best, (waste, offcut) = other, found
            low = offcut
    # What is wasted beyond the least cannot be in an offcut.
    return Tidied(best, waste, least, offcut, max(offcut, min(longest, longest - (waste - least))))


def _candidates(problem: BarProblem, bars: Bars, work: Work) -> Iterator[Bars]:
    from carwright.stock.barkernels import emptied, minimum_slack

    def squeezed(plan: Bars) -> Iterator[Bars]:
        gaps = problem.caps[plan.stocks] - plan.fills @ problem.w
        for target in np.argsort(-gaps, kind="stable")[:_TARGETS].tolist():
            fills = emptied(problem.w, plan.fills, problem.caps[plan.stocks], target, _STEPS)
            work.spend(500.0 * plan.fills.size)
            full = fills.any(axis=1)
            yield Bars(fills[full], plan.stocks[full], int(problem.costs[plan.stocks[full]].sum()))

    yield from squeezed(bars)
    for seed in range(_SEEDS):
        if work.stopped:
            return
        fills, stocks, cost, short = minimum_slack(
            problem.w, problem.d, problem.caps, problem.costs, problem.counts, seed, _STEPS
        )
        work.spend(50.0 * len(fills) * (len(problem.w) + 100))
        if not short and cost == bars.cost:
            plan = Bars(fills, stocks, cost)
            yield plan
            yield from squeezed(plan)


def _with_offcut(problem: BarProblem, bars: Bars, over: int, work: Work) -> Bars | None:
    """Return a plan out of the same bars with ``over`` left at the end of a longest one, None if none is found."""
    from carwright.stock.bars import solve_bars

    target = int(np.argmax(problem.caps[bars.stocks]))
    target_stock = int(bars.stocks[target])
    if problem.caps[target_stock] - over < problem.w.min():
        return None
    taken = np.bincount(bars.stocks, minlength=len(problem.caps))
    taken[target_stock] -= 1
    kinds = np.flatnonzero(taken)
    short = BarProblem(
        problem.w,
        problem.d,
        np.append(problem.caps[kinds], problem.caps[target_stock] - over),
        np.ones(len(kinds) + 1, np.int64),
        np.append(taken[kinds], 1),
    )
    # The method alone: what a trial finds is no news for whoever listens.
    watch = None if work.watch is None else partial(work.watch)
    trial = Work(min(_TRIAL_UNITS, work.left) or _TRIAL_UNITS, watch, work.deadline_ms)
    answer = solve_bars(short, trial)
    work.spend(trial.steps)
    if answer.bars is None:
        return None
    stocks = np.append(kinds, target_stock)[answer.bars.stocks]
    return Bars(answer.bars.fills, stocks, int(problem.costs[stocks].sum()))


def _bounds(problem: BarProblem, cost: int, kerf: int) -> tuple[int, int]:
    """Return the least waste and the longest offcut that lengths alone allow to a plan of this cost."""
    n = int(problem.d.sum())
    pieces = int(problem.d @ (problem.w - kerf))
    usable = problem.caps - kerf
    limits = [n if count < 0 else min(n, count) for count in problem.counts.tolist()]
    each = [
        min(most, cost // price) if price else most for most, price in zip(limits, problem.costs.tolist(), strict=True)
    ]
    most_bars = min(n, sum(each))
    # Length that the money can hold: the best rate, or all there is.
    priced = [length / price for length, price in zip(usable.tolist(), problem.costs.tolist(), strict=True) if price]
    by_rate = sum(
        length * most
        for length, price, most in zip(usable.tolist(), problem.costs.tolist(), each, strict=True)
        if not price
    ) + (int(cost * max(priced) + 1e-6) if priced else 0)
    by_count = sum(length * most for length, most in zip(usable.tolist(), each, strict=True))
    least = kerf * max(0, n - most_bars)
    # The offcut's bar holds a piece and the cut behind it.
    longest = min(int(usable.max()) - int(problem.w.min()), min(by_rate, by_count) - pieces - least)
    return least, max(0, longest)
