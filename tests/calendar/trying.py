"""Every schedule of a small problem, tried out minute by minute: slow, and too simple to be wrong."""

from __future__ import annotations

from carwright.calendar.shop import Shop

__all__ = ["least_by_trying"]


def least_by_trying(shop: Shop, horizon: int) -> int:
    """Return the least makespan of a problem whose best schedule ends within ``horizon`` minutes."""
    steps = [(n, k) for n, job in enumerate(shop.jobs) for k in range(len(job))]
    best = horizon + 1
    taken = [[0] * (horizon + 1) for _ in shop.places]

    def go(at: int, before_end: int, end: int) -> None:
        nonlocal best
        if end >= best:
            return
        if at == len(steps):
            best = end
            return
        n, k = steps[at]
        step = shop.jobs[n][k]
        last = k == len(shop.jobs[n]) - 1
        earliest, latest = 0, horizon
        if k:
            before = shop.jobs[n][k - 1]
            earliest = before_end + before.wait_min
            latest = horizon if before.wait_max is None else before_end + before.wait_max
        for start in range(earliest, min(latest, horizon - step.minutes) + 1):
            row = None if step.facility is None else taken[step.facility]
            span = range(start, start + step.minutes)
            if row is not None and step.facility is not None:
                if any(row[t] >= shop.places[step.facility] for t in span):
                    continue
                for t in span:
                    row[t] += 1
            done = start + step.minutes
            go(at + 1, done, max(end, done + (step.wait_min if last else 0)))
            if row is not None:
                for t in span:
                    row[t] -= 1

    go(0, 0, 0)
    return best
