"""Cutting plans beside what else could be used for them, on tasks of the published families, and the cold cost.

Times are of a warm process: solvers imported, loops compiled. The first line is what that takes.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from decimal import Decimal
from pathlib import Path

from benchmarks.contest import Contest, Entry, Limit, Outcome, hold
from benchmarks.cut_families import BarTask, SheetTask, bar_tasks, read_tasks, sheet_tasks
from benchmarks.cut_rivals import SECONDS, arc_flow, best_fit, constraint_model, first_fit, packer
from benchmarks.harness import Measured, measure

__all__ = ["benches", "published"]

OURS = "carwright"
_ONE_PLAN = """
from decimal import Decimal
from carwright.stock import *
cut_lengths([LengthPiece("a", 1380, 22), LengthPiece("b", 1520, 25)], [LengthStock("s", 5600)])
cut_sheets([SheetPiece("a", 5, 4, 30)], [SheetStock("s", 15, 10)])
fill_sheet([SheetPiece("a", 5, 4, 3, value=Decimal(3))], SheetStock("s", 15, 10))
"""


def plan_bars(task: BarTask) -> Outcome:
    """Return the cost and bound of our plan."""
    from carwright.stock import LengthPiece, LengthStock, cut_lengths

    plan = cut_lengths(
        [LengthPiece(f"piece {i}", float(length), number) for i, (length, number) in enumerate(task.items)],
        [
            LengthStock(f"stock {i}", float(length), count, Decimal(cost))
            for i, (length, cost, count) in enumerate(task.stocks)
        ],
        kerf_mm=float(task.kerf),
    )
    return Outcome(float(plan.cost), float(plan.bound)) if plan.cost is not None else Outcome(None)


def plan_sheets(task: SheetTask) -> Outcome:
    """Return the number of sheets, or the value, and the bound of our plan."""
    from carwright.stock import SheetPiece, SheetStock, cut_sheets, fill_sheet

    pieces = [
        SheetPiece(f"piece {i}", float(w), float(h), number, task.turn, Decimal(value) if task.valued else None)
        for i, (w, h, number, value) in enumerate(task.items)
    ]
    sheet = SheetStock("sheet", float(task.sheet[0]), float(task.sheet[1]), None, Decimal(1))
    if task.valued:
        filling = fill_sheet(pieces, sheet)
        return Outcome(float(filling.value), float(filling.value_bound))
    plan = cut_sheets(pieces, [sheet])
    return Outcome(float(plan.cost), float(plan.bound)) if plan.cost is not None else Outcome(None)


def _bars(name: str, tasks: Iterable[BarTask]) -> Contest:
    return hold(
        name,
        [Entry(task.name, task, best=task.best) for task in tasks],
        {
            "first-fit decreasing": first_fit,
            "best-fit decreasing": best_fit,
            f"CP-SAT model, {SECONDS:g} s": constraint_model,
            f"arc-flow program, {SECONDS:g} s": arc_flow,
            OURS: plan_bars,
        },
        promises=[Limit(OURS, "first-fit decreasing", 0.1)],
        never_worse=[(OURS, "first-fit decreasing"), (OURS, "best-fit decreasing")],
    )


def _sheets(name: str, tasks: Iterable[SheetTask]) -> Contest:
    return hold(
        name,
        [Entry(task.name, task, task.valued, task.best) for task in tasks],
        {"rectangle packer": packer, OURS: plan_sheets},
        promises=[Limit(OURS, "rectangle packer", 0.3)],
    )


def _cold() -> Measured:
    """Return a process that makes its first plans; cold, with nothing compiled yet."""
    folder = tempfile.mkdtemp()
    try:
        return measure(
            "first plans of a process: solvers imported, loops loaded; cold: compiled",
            lambda: subprocess.run(
                [sys.executable, "-c", _ONE_PLAN], check=True, env={**os.environ, "NUMBA_CACHE_DIR": folder}
            ),
            runs=3,
            warm_up=0,
            cold=lambda: None,
        )
    finally:
        shutil.rmtree(folder)


def _warm() -> None:
    plan_bars(BarTask("", ((5600, 1, None),), 0, ((1520, 25), (1380, 22))))
    plan_sheets(SheetTask("", (15, 10), False, ((5, 4, 30, 0),), False))
    plan_sheets(SheetTask("", (15, 10), False, ((5, 4, 3, 3),), True))


def benches() -> Iterator[Measured | Contest]:
    """Yield the cold cost, bars, and sheets."""
    yield _cold()
    _warm()
    yield _bars("bars", bar_tasks())
    yield _sheets("sheets", sheet_tasks())


def published(folder: Path) -> Iterator[Contest]:
    """Yield the same with the tasks in a folder of files; its form is that of ``cut_families.read_tasks``."""
    _warm()
    tasks = list(read_tasks(folder))
    bars = [task for task in tasks if isinstance(task, BarTask)]
    sheets = [task for task in tasks if isinstance(task, SheetTask)]
    if bars:
        yield _bars("bars of the files", bars)
    if sheets:
        yield _sheets("sheets of the files", sheets)
