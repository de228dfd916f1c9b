"""Counted work: the same input stops at the same place, however fast the machine is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["UNIT", "Work"]

UNIT = 1.0e9
"""Elementary steps in one unit of work, about a second on two cores."""


@dataclass(slots=True)
class Work:
    """How much work may be done, and how much was.

    Args:
        units: most units of work, > 0.
        watch: asked now and then whether to go on; False ends the search with the best found. It may read a clock or
            hear a key, which is why the result may then differ from one run to the next.
        deadline_ms: how long a single step that cannot be interrupted may last, in ms; None for no such limit.
    """

    units: float
    watch: Callable[[], bool] | None = None
    deadline_ms: Callable[[], int] | None = None
    steps: float = 0.0
    stopped: bool = False

    def spend(self, steps: float) -> None:
        """Count steps, and ask whether to go on."""
        self.steps += steps
        if self.watch is not None and not self.stopped and not self.watch():
            self.stopped = True

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
