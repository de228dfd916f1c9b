"""A progress bar on standard error while something takes its time; silence where nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

__all__ = ["at_work", "steps"]


def steps(what: str, names: Sequence[str]) -> Iterator[str]:
    """Yield each name in turn, with a bar that shows how far it is; without a terminal only the names.

    Args:
        what: what is being done, in words.
        names: the steps.
    """
    if not sys.stderr.isatty():
        yield from names
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    shown = Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TextColumn("{task.completed} of {task.total}"),
        console=Console(stderr=True),
        transient=True,
    )
    with shown as bar:
        task = bar.add_task(what, total=len(names))
        for name in names:
            bar.update(task, description=f"{what}: {name}")
            yield name
            bar.advance(task)


@contextmanager
def at_work(what: str) -> Iterator[Callable[[str], None]]:
    """Show a bar that only moves while something of unknown length is done; nothing without a terminal.

    What it gives takes a text to be shown beside the bar.

    Args:
        what: what is being done, in words.
    """
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)
        yield lambda text: bar.update(task, description=f"{what}: {text}")
