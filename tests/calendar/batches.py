"""Invented batches from a seed: cars in two colours, recoat windows with a forbidden middle, one booth and one rack."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from carwright.calendar.batch import Batch, Evening, Rules
from carwright.finish.steps import AT_ONCE_OR_LATER, BOOTH, Act, Step, Use, Wait, Window

__all__ = ["Lots", "batch", "evenings"]

HOUR = 60


class Lots:
    """Whole numbers drawn by a small generator, the same everywhere (D. H. Lehmer's, modulus 2**31 - 1)."""

    def __init__(self, seed: int) -> None:
        self.state = seed * 7919 % 2147483647 or 1
        for _ in range(8):
            self.between(0, 1)

    def between(self, low: int, high: int) -> int:
        """Return a number from ``low`` to ``high``, both included."""
        self.state = self.state * 16807 % 2147483647
        return low + self.state * (high - low + 1) // 2147483647


def evenings(lots: Lots, many: int) -> tuple[Evening, ...]:
    """Return free evenings, four or so a week, of 150 to 210 minutes."""
    found, day = [], datetime(2026, 1, 5, tzinfo=UTC)
    while len(found) < many:
        day += timedelta(days=lots.between(1, 3))
        start = day + timedelta(hours=19, minutes=15 * lots.between(0, 3))
        found.append(Evening(start, start + timedelta(minutes=10 * lots.between(15, 21))))
    return tuple(found)


def batch(seed: int, *, cars: int = 6, nights: int = 30, rack: int = 4) -> Batch:
    """Return a batch of ``cars`` cars of about 15 steps each."""
    lots = Lots(seed)
    free = evenings(lots, nights)
    colours = ("black", "brown", "red", "green")
    steps: list[Step] = []
    for n in range(cars):
        steps += _car(f"car {n + 1}", lots, colours)
    rules = Rules(rack=rack, setup_min=8, cleaning_min=10, slack=0.15)
    return Batch(tuple(steps), free, rules)


def _car(name: str, lots: Lots, colours: tuple[str, ...]) -> list[Step]:
    steps: list[Step] = []
    recoat = (Window(0, lots.between(1, 2) * HOUR), Window(lots.between(48, 96) * HOUR))
    dry = lots.between(12, 24) * HOUR

    def add(
        name_: str, act: Act, minutes: int, windows: tuple[Window, ...] = AT_ONCE_OR_LATER, colour: str = ""
    ) -> None:
        waits = (Wait(steps[-1].id, windows),) if steps else ()
        booth = (Use(BOOTH),) if colour else ()
        rack = dry if colour else 0
        title = name_.replace("_", " ").capitalize()
        steps.append(Step(name_, name, act, title, minutes, (), booth, colour, waits, rack))

    first = colours[lots.between(0, 3)]
    second = colours[lots.between(0, 3)]
    if lots.between(0, 1):
        add("strip", "strip", lots.between(20, 40))
    add("wash", "wash", lots.between(10, 15))
    add("prime", "prime", lots.between(8, 15), (Window(12 * HOUR),), "primer")
    add("first", "coat", lots.between(8, 15), (Window(24 * HOUR),), first)
    add("first_again", "coat", lots.between(8, 12), recoat, first)
    if second != first:
        add("mask", "mask", lots.between(20, 40), (Window(lots.between(48, 120) * HOUR),))
        add("seal", "seal", lots.between(4, 8), AT_ONCE_OR_LATER, first)
        add("second", "coat", lots.between(8, 15), (Window(10, HOUR), Window(24 * HOUR)), second)
        add("unmask", "unmask", lots.between(8, 15), (Window(30, 24 * HOUR), Window(96 * HOUR)))
    add("gloss", "gloss", lots.between(6, 12), (Window(48 * HOUR),), "gloss")
    add("letter_left", "letter", lots.between(20, 45), (Window(48 * HOUR),))
    add("letter_right", "letter", lots.between(20, 45))
    add("set", "set", lots.between(5, 10), (Window(0, 2 * HOUR), Window(12 * HOUR)))
    add("flat", "flat", lots.between(6, 12), (Window(24 * HOUR),), "flat")
    if lots.between(0, 1):
        add("weather", "weather", lots.between(15, 35), (Window(24 * HOUR),))
    add("fit", "fit", lots.between(15, 30), (Window(12 * HOUR),))
    return steps
