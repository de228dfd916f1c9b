"""Bounds of the bare problem: each facility by itself, its steps with their heads and tails, interrupted at will."""

from __future__ import annotations

import heapq
from collections.abc import Iterable

from carwright.calendar.shop import Shop

__all__ = ["heads_and_tails", "least_makespan", "preemptive"]


def heads_and_tails(shop: Shop) -> tuple[list[list[int]], list[list[int]]]:
    """Return for each job and step the earliest start and the least time from its end to the end of all."""
    heads, tails = [], []
    for job in shop.jobs:
        head, row = 0, []
        for step in job:
            row.append(head)
            head += step.minutes + step.wait_min
        heads.append(row)
        tail, row = 0, []
        for step in reversed(job):
            tail += step.wait_min
            row.append(tail)
            tail += step.minutes
        tails.append(row[::-1])
    return heads, tails


def preemptive(steps: Iterable[tuple[int, int, int]]) -> int:
    """Return the least makespan of one machine that may interrupt its steps, each (head, minutes, tail).

    Of the steps that are ready always the one with the longest tail is worked on: no order of whole steps is shorter.

    Source:
        J. R. Jackson's rule, Research Report 43, UCLA (1955), as it is used in branch and bound; from memory.

    Example:
        >>> preemptive([(0, 3, 4), (1, 2, 9), (5, 1, 0)])
        12
    """
    coming = sorted(steps)
    ready: list[tuple[int, int]] = []
    now = most = at = 0
    while at < len(coming) or ready:
        if not ready:
            now = max(now, coming[at][0])
        while at < len(coming) and coming[at][0] <= now:
            heapq.heappush(ready, (-coming[at][2], coming[at][1]))
            at += 1
        tail, minutes = heapq.heappop(ready)
        until = min(now + minutes, coming[at][0]) if at < len(coming) else now + minutes
        if until - now < minutes:
            heapq.heappush(ready, (tail, minutes - (until - now)))
        else:
            most = max(most, until - tail)
        now = until
    return most


def least_makespan(shop: Shop) -> int:
    """Return a makespan that no schedule can go below: the longest job, and each facility by itself."""
    heads, tails = heads_and_tails(shop)
    bound = 0
    used: dict[int, list[tuple[int, int, int]]] = {}
    for job, head, tail in zip(shop.jobs, heads, tails, strict=True):
        if job:
            bound = max(bound, head[-1] + job[-1].minutes + job[-1].wait_min)
        for step, start, rest in zip(job, head, tail, strict=True):
            if step.facility is not None and step.minutes:
                used.setdefault(step.facility, []).append((start, step.minutes, rest))
    for facility, steps in used.items():
        places = shop.places[facility]
        if places == 1:
            bound = max(bound, preemptive(steps))
        elif len(steps) >= places:
            # Each place has its own first head and last tail, at the least the smallest ones.
            ends = sum(sorted(each[0] for each in steps)[:places]) + sum(sorted(each[2] for each in steps)[:places])
            bound = max(bound, -(-(ends + sum(each[1] for each in steps)) // places))
    return bound
