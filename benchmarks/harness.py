"""Timing: a thing is done n times, beside something that it is compared with, and held against its promise.

The median is what is promised, because a shared machine has slow moments that say nothing about the program. What
is compared is done in turn with the thing itself, so that both meet the same moments.
"""

from __future__ import annotations

import json
import os
import platform
import statistics
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from benchmarks.contest import Contest

__all__ = ["Measured", "Promise", "forget_on_disk", "measure", "p95_of", "table", "taken", "write_json"]

Figure = Literal["median_ms", "p95_ms", "ratio"]


@dataclass(frozen=True, slots=True)
class Promise:
    """What must be reached: a figure of ``Measured``, and the most (or, for a ratio, the least) that it may be."""

    figure: Figure
    limit: float

    def is_kept(self, value: float | None) -> bool:
        """Return whether a value keeps the promise; a value that was not measured does not."""
        if value is None:
            return False
        return value >= self.limit if self.figure == "ratio" else value <= self.limit


@dataclass(frozen=True, slots=True)
class Measured:
    """What n runs gave.

    Args:
        name: what was done.
        runs: how many times, the cold run apart.
        median_ms: half of the runs were faster.
        p95_ms: 95th percentile, by the nearest rank; with fewer than 20 runs that is the slowest.
        cold_ms: one run before the others, with the files forgotten by the disk cache, or None.
        beside: what it was compared with, or "".
        beside_ms: median of that, or None.
        ratio: how many times as fast as that it is, or None.
        promises: what must be reached.
        missed: in words, what was not.
    """

    name: str
    runs: int
    median_ms: float
    p95_ms: float
    cold_ms: float | None
    beside: str
    beside_ms: float | None
    ratio: float | None
    promises: tuple[Promise, ...]
    missed: tuple[str, ...]


def _took_ms(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return (time.perf_counter() - start) * 1000


def measure(
    name: str,
    act: Callable[[], object],
    *,
    runs: int = 5,
    warm_up: int = 1,
    cold: Callable[[], object] | None = None,
    beside: tuple[str, Callable[[], object]] | None = None,
    promises: Iterable[Promise] = (),
) -> Measured:
    """Return how long ``act`` takes.

    Args:
        name: what is done, for the table.
        act: does it once.
        runs: how many times it is timed, at least 1.
        warm_up: how many times it is done before, untimed.
        cold: makes the next run a cold one; without it no cold run is timed.
        beside: name and act of what it is compared with, done in turn with it.
        promises: what must be reached.
    """
    cold_ms: float | None = None
    if cold is not None:
        cold()
        cold_ms = _took_ms(act)
    for _ in range(warm_up):
        act()
        if beside is not None:
            beside[1]()
    own: list[float] = []
    others: list[float] = []
    for _ in range(runs):
        own.append(_took_ms(act))
        if beside is not None:
            others.append(_took_ms(beside[1]))
    return taken(name, own, cold_ms=cold_ms, beside=None if beside is None else (beside[0], others), promises=promises)


def p95_of(times_ms: Sequence[float]) -> float:
    """Return the 95th percentile of some times, by the nearest rank."""
    return sorted(times_ms)[-(-95 * len(times_ms) // 100) - 1]


def taken(
    name: str,
    times_ms: Sequence[float],
    *,
    cold_ms: float | None = None,
    beside: tuple[str, Sequence[float]] | None = None,
    promises: Iterable[Promise] = (),
) -> Measured:
    """Return what times come to, also such as were taken elsewhere: in a browser, by another process."""
    median_ms, p95_ms = statistics.median(times_ms), p95_of(times_ms)
    beside_ms = statistics.median(beside[1]) if beside is not None else None
    ratio = beside_ms / median_ms if beside_ms is not None else None
    figures: dict[Figure, float | None] = {"median_ms": median_ms, "p95_ms": p95_ms, "ratio": ratio}
    held = tuple(promises)
    return Measured(
        name=name,
        runs=len(times_ms),
        median_ms=median_ms,
        p95_ms=p95_ms,
        cold_ms=cold_ms,
        beside=beside[0] if beside is not None else "",
        beside_ms=beside_ms,
        ratio=ratio,
        promises=held,
        missed=tuple(
            f"{name}: {each.figure} {figures[each.figure]:.3g}, promised {each.limit:g}"
            for each in held
            if not each.is_kept(figures[each.figure])
        ),
    )


def forget_on_disk(folders: Iterable[Path]) -> None:
    """Ask the system to drop the files under ``folders`` from its disk cache, where it takes such a wish.

    Pages that another process has mapped stay, so a "cold" run on a busy machine is colder than a warm one, not icy.
    """
    if not hasattr(os, "posix_fadvise"):
        return
    for folder in folders:
        for path in folder.rglob("*"):
            if path.is_file():
                with path.open("rb") as stream:
                    os.posix_fadvise(stream.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def table(results: Iterable[Measured]) -> str:
    """Return the results as lines of text, times in milliseconds."""
    rows = [("", "runs", "median", "p95", "cold", "beside it", "times as fast", "promise")]
    for each in results:
        promise = ", ".join(
            f"{one.figure.removesuffix('_ms')} {'>=' if one.figure == 'ratio' else '<='} {one.limit:g}"
            for one in each.promises
        )
        if promise:
            promise += ": missed" if each.missed else ": kept"
        rows.append(
            (
                each.name,
                str(each.runs),
                f"{each.median_ms:.1f}",
                f"{each.p95_ms:.1f}",
                "" if each.cold_ms is None else f"{each.cold_ms:.0f}",
                "" if each.beside_ms is None else f"{each.beside}: {each.beside_ms:.1f}",
                "" if each.ratio is None else f"{each.ratio:.2f}",
                promise,
            )
        )
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return "\n".join("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) for row in rows)


def write_json(results: Iterable[Measured | Contest], path: Path) -> None:
    """Write the results, and what machine they come from, as JSON."""
    machine = {"python": platform.python_version(), "machine": platform.machine(), "processors": os.cpu_count()}
    path.parent.mkdir(parents=True, exist_ok=True)
    content = {"machine": machine, "results": [asdict(each) for each in results]}
    path.write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
