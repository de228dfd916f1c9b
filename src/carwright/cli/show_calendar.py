"""Calendars as lines on a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from carwright.calendar.shop import Shop, ShopAnswer

__all__ = ["shop_lines"]


def shop_lines(shop: Shop, answer: ShopAnswer) -> Iterator[str]:
    """Yield the page of a bare problem: how long it takes, then each job's steps with start, end and facility."""
    if answer.status == "optimal":
        yield f"{answer.makespan} minutes, proven the shortest"
    else:
        yield f"{answer.makespan} minutes, the best found; none is shorter than {answer.bound}"
    for n, (job, starts) in enumerate(zip(shop.jobs, answer.starts, strict=True), 1):
        yield ""
        yield f"job {n}"
        for k, (step, start) in enumerate(zip(job, starts, strict=True), 1):
            facility = "" if step.facility is None else f"  {shop.facilities[step.facility]}"
            yield f"  step {k:>3}  {start:>7} to {start + step.minutes:>7}{facility}"
