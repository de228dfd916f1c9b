"""Counted work: the same input stops at the same place, however fast the machine is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

__all__ = ["UNIT", "Listener", "Work"]

UNIT = 1.0e9
"""Elementary steps in one unit of work, about a second on two cores."""


@runtime_checkable
class Listener(Protocol):
    """A watch that also hears how far a search is."""

    def __call__(self) -> bool:
        """Return whether to go on."""

    def tell(self, best: float, bound: float) -> None:
        """Hear the cost of the best plan so far, and the cost that no plan is below."""


@dataclass(slots=True)
class Work:
    """How much work may be done, and how much was.

    Args:
        units: most units of work, > 0.
        watch: asked now and then whether to go on; False ends the search with the best found. It may read a clock or
            hear a key, which is why the result may then differ from one run to the next. A ``Listener`` is told how far
            the search is.
        deadline_ms: how long a single step that cannot be interrupted may last, in ms; None for no such limit.
    """

    units: float
    watch: Callable[[], bool] | None = None
    deadline_ms: Callable[[], int] | None = None
    steps: float = 0.0
    stopped: bool = False
    cost_unit: float = 1.0

    def spend(self, steps: float) -> None:
        """Count steps, and ask whether to go on."""
        self.steps += steps
        if self.watch is not None and not self.stopped and not self.watch():
            self.stopped = True

    def tell(self, best: int, bound: int) -> None:
        """Tell a listener the best cost and its bound, both in the problem's unit of ``cost_unit``."""
        if isinstance(self.watch, Listener):
            self.watch.tell(best * self.cost_unit, bound * self.cost_unit)

    def over(self) -> bool:
        """Whether the search must end."""
        return self.stopped or self.steps >= self.units * UNIT

    @property
    def left(self) -> float:
        """Units of work that are left, >= 0."""
        return max(0.0, self.units - self.steps / UNIT)

    @property
    def used(self) -> float:
        """Units of work done."""
        return self.steps / UNIT
