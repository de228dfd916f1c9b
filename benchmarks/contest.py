"""Several solvers on the same tasks: what each solved and proved, how far from the best it stayed, and its times."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

__all__ = ["Contest", "Entry", "Limit", "Outcome", "Standing", "contest_table", "hold"]

Task = TypeVar("Task")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a solver says of a task: its value, None without a plan, and the bound it proves, None without one."""

    value: float | None
    bound: float | None = None


@dataclass(frozen=True, slots=True)
class Entry(Generic[Task]):
    """A task of a contest: its name, whether more is better, and the best value known, where it is known."""

    name: str
    task: Task
    more: bool = False
    best: float | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """A promise: the mean gap of ``solver`` is at most ``share`` of that of ``other``."""

    solver: str
    other: str
    share: float


@dataclass(frozen=True, slots=True)
class Standing:
    """What one solver did.

    Args:
        solver: its name.
        solved: tasks for which it had a plan.
        best: tasks on which none had a better one, and none better is known.
        proven: tasks on which it proved that.
        gap: mean distance from the best bound proven by any of them, as a share of that bound, of what it solved.
        median_ms: of its times.
        longest_ms: of its times.
    """

    solver: str
    solved: int
    best: int
    proven: int
    gap: float
    median_ms: float
    longest_ms: float


@dataclass(frozen=True, slots=True)
class Contest:
    """Tasks, what every solver did, the promises, and in words which were not kept."""

    name: str
    tasks: int
    standings: tuple[Standing, ...]
    promises: tuple[Limit, ...]
    missed: tuple[str, ...]


def hold(
    name: str,
    entries: Sequence[Entry[Task]],
    solvers: Mapping[str, Callable[[Task], Outcome]],
    *,
    promises: Iterable[Limit] = (),
    never_worse: Iterable[tuple[str, str]] = (),
) -> Contest:
    """Return how the solvers did, each given the tasks in turn.

    Args:
        name: for the table.
        entries: the tasks.
        solvers: name and solver; none may raise.
        promises: what the gaps must keep to.
        never_worse: pairs (one, other): ``one`` may be worse than ``other`` on no task.
    """
    rows: list[tuple[dict[str, Outcome], float, float]] = []
    times: dict[str, list[float]] = {solver: [] for solver in solvers}
    missed: list[str] = []
    for entry in entries:
        sign = -1.0 if entry.more else 1.0
        found: dict[str, Outcome] = {}
        for solver, solve in solvers.items():
            start = time.perf_counter()
            said = solve(entry.task)
            times[solver].append((time.perf_counter() - start) * 1000)
            # More of a value is less of its negative, so that one rule serves both.
            found[solver] = Outcome(
                None if said.value is None else sign * said.value, None if said.bound is None else sign * said.bound
            )
        values = [each.value for each in found.values() if each.value is not None]
        bounds = [each.bound for each in found.values() if each.bound is not None]
        best, bound = min(values), max(bounds, default=min(values))
        if entry.best is not None:
            best = min(best, sign * entry.best)
        missed += [
            f"{entry.name}: {solver} claims {sign * each.bound:g} as bound, {sign * best:g} was reached"
            for solver, each in found.items()
            if each.bound is not None and each.bound > best + 1e-6
        ]
        for one, other in never_worse:
            mine, theirs = found[one].value, found[other].value
            if theirs is not None and (mine is None or mine > theirs + 1e-6):
                missed.append(f"{entry.name}: {one} is worse than {other}")
        rows.append((found, best, bound))
    standings = {solver: _standing(solver, rows, times[solver]) for solver in solvers}
    kept = tuple(promises)
    for each in kept:
        mine, theirs = standings[each.solver].gap, standings[each.other].gap
        if mine > each.share * theirs:
            missed.append(f"{name}: mean gap {mine:.4f}, promised {each.share:g} of {each.other}'s {theirs:.4f}")
    return Contest(name, len(entries), tuple(standings.values()), kept, tuple(missed))


def _standing(solver: str, rows: Sequence[tuple[dict[str, Outcome], float, float]], times: Sequence[float]) -> Standing:
    gaps: list[float] = []
    reached = proven = 0
    for found, best, bound in rows:
        said = found[solver]
        if said.value is None:
            continue
        reached += said.value <= best + 1e-6
        proven += said.bound is not None and said.value <= said.bound + 1e-6
        gaps.append((said.value - bound) / abs(bound) if bound else 0.0)
    return Standing(
        solver,
        len(gaps),
        reached,
        proven,
        statistics.mean(gaps) if gaps else 0.0,
        statistics.median(times),
        max(times),
    )


def contest_table(contest: Contest) -> str:
    """Return the contest as lines of text; the last two columns are ratios to the solver that holds the promises."""
    own = contest.promises[0].solver if contest.promises else contest.standings[-1].solver
    mine = next(each for each in contest.standings if each.solver == own)
    rows = [
        (
            f"{contest.name} ({contest.tasks})",
            "solved",
            "best",
            "proven",
            "mean gap",
            "median",
            "longest",
            "our gap / its",
            "its time / ours",
            "promise",
        )
    ]
    for each in contest.standings:
        limit = next((one for one in contest.promises if one.other == each.solver), None)
        said = "" if limit is None else f"our gap <= {limit.share:g} of this"
        if limit is not None:
            said += ": kept" if mine.gap <= limit.share * each.gap else ": missed"
        rows.append(
            (
                each.solver,
                str(each.solved),
                str(each.best),
                str(each.proven),
                f"{100 * each.gap:.2f} %",
                f"{each.median_ms:.1f} ms",
                f"{each.longest_ms / 1000:.2f} s",
                "" if each is mine or not each.gap else f"{mine.gap / each.gap:.3f}",
                "" if each is mine else f"{each.median_ms / mine.median_ms:.3g}",
                said,
            )
        )
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )
