"""Which ballast in which cavity: target, balance, height and number of pieces in this order, each proven best.

A *cavity* takes one *filling* (a stock of the shelf in so many layers) or none. How much of a filling is used is free
between its least and its most, because pieces are cut shorter, except where it is counted (nuts). The order:

1. as near to what is wanted as can be;
2. both trucks, and both rails, loaded alike: what the loads differ by beyond the band as small as can be;
3. the ballast as low as can be;
4. no higher than a band above that, the fewest pieces; and these cut so that the loads are as alike as they can be.

The first two steps are linear programs where no filling is counted, and only where their answer cannot be built a mixed
integer program; the next two are mixed integer programs; each keeps what the one before it reached. All are solved by a
solver from outside (GLOP, SCIP and HiGHS, through OR-Tools), which proves them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Choice", "Filling", "Task", "Used", "choose"]

_HOLD: Final = 1e-4
"""By how much a step may undo what the last one reached: below the 0.1 g that is told, above the solver's own doubt."""
_HOLD_LAST: Final = 1e-7
"""The same in the last step, which is a linear program."""
_NONE_G: Final = 1e-4
"""Less ballast than this is none."""
_MOMENT_GAP: Final = 1e-4
"""How near to the lowest, as a share, is called the lowest: a thousandth of a millimetre in ten, inside the band."""
_ALMOST_ONE: Final = 0.99
_TIME_LIMIT_MS: Final = 20_000
"""Only so that no task can run for ever; what is then found is said not to be proven."""


@dataclass(frozen=True, slots=True)
class Filling:
    """One way to fill one cavity.

    Args:
        cavity: index of the cavity.
        stock: index of the stock.
        mass_g: the most it holds.
        z_mm: height of its middle above the rail.
        pieces: how many are cut and placed.
        counted: whether it is used whole or not at all (nuts), instead of cut shorter.
        least_g: what fewer layers of the same stock would hold as well.
    """

    cavity: int
    stock: int
    mass_g: float
    z_mm: float
    pieces: int
    counted: bool = False
    least_g: float = 0.0


@dataclass(frozen=True, slots=True)
class Task:
    """What is wanted.

    Args:
        need_g: mass to add.
        along: for each cavity, by how much 1 g in it loads truck A more than truck B, in g.
        across: for each cavity, by how much 1 g in it loads the left rail more than the right one, in g.
        lean_along_g: by how much truck A is loaded more than truck B without ballast.
        lean_across_g: by how much the left rail is loaded more than the right one without ballast.
        balance_g: what either may differ by.
        height_mm: how far above the lowest that can be the ballast's middle may lie to save pieces.
        supply_g: for each stock, how much there is; infinite where there is no end of it.
    """

    need_g: float
    along: tuple[float, ...]
    across: tuple[float, ...]
    lean_along_g: float
    lean_across_g: float
    balance_g: float
    height_mm: float
    supply_g: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Used:
    """A filling and how much of it is used."""

    filling: Filling
    mass_g: float


@dataclass(frozen=True, slots=True)
class Choice:
    """The answer.

    Args:
        used: by cavity.
        short_g: what is missing from the need; negative where it is exceeded (counted pieces only).
        beyond_g: what the loads differ by beyond the band, along and across together.
        moment_gmm: mass times height of all ballast.
        least_moment_gmm: the least that it could be.
        pieces: how many.
        proven: whether every step was proven best.
    """

    used: tuple[Used, ...]
    short_g: float
    beyond_g: float
    moment_gmm: float
    least_moment_gmm: float
    pieces: int
    proven: bool


def choose(task: Task, fillings: Sequence[Filling]) -> Choice:
    """Return what to put where.

    Args:
        task: what is wanted.
        fillings: every way to fill a cavity; each of more than no mass.

    Notes:
        Fillings that another one of the same cavity betters in every respect are left out first: it holds as much and
        as little, lies no higher, is of no more pieces and there is no end of it.
        ``proven`` is False only where a step ran out of time; what it then gives keeps to the limits.

    Source:
        Our own formulation; held against brute force in ``tests/weight/test_choice.py``.
    """
    first, second = "SCIP", "HIGHS"
    if any(math.isfinite(each) for each in task.supply_g):
        # What is best with no end of any stock, and is on the shelf, is best with the shelf.
        endless = choose(replace(task, supply_g=(math.inf,) * len(task.supply_g)), fillings)
        if _on_shelf(task, endless):
            return endless
        # Where stocks run out it proves the same in half the time, and without an end in twice.
        first, second = second, first
    try:
        return _choose(task, fillings, first)
    except _NoAnswerError:
        # Not seen yet; another solver has another tolerance.
        return _choose(task, fillings, second)


class _NoAnswerError(ArithmeticError):
    """The solver ended without an answer, though there is one."""


def _choose(task: Task, fillings: Sequence[Filling], solver: str) -> Choice:
    kept = _undominated(task, [each for each in fillings if each.mass_g > _NONE_G])
    if task.need_g <= _NONE_G or not kept:
        return _told(task, (), 0.0, proven=True)
    short, beyond, proven = _mass_and_balance(task, kept, solver)
    search = _Search(task, kept, solver)
    search.hold(search.under, short + _HOLD)
    search.hold(search.beyond, beyond + _HOLD)
    lowest = search.solve(search.moment, gap=_MOMENT_GAP)
    total = max(task.need_g - short, 0.0)
    search.hold(search.moment, lowest.value + task.height_mm * total + _HOLD * max(1.0, lowest.value))
    most = sum(each.pieces for each, amount in zip(kept, lowest.amounts, strict=True) if amount > _NONE_G)
    # Pieces are counted: an answer less than one above the bound is the best.
    fewest = search.solve(search.pieces, gap=_ALMOST_ONE / max(most, 1), whole_numbers=True)
    chosen = [each for each, weight in zip(kept, fewest.amounts, strict=True) if weight > _NONE_G]
    used = _levelled(task, chosen)
    return _told(task, used, lowest.value, proven=proven and lowest.proven and fewest.proven)


def _on_shelf(task: Task, choice: Choice) -> bool:
    """Return whether there is enough of every stock for a choice."""
    taken = [0.0] * len(task.supply_g)
    for each in choice.used:
        taken[each.filling.stock] += each.mass_g
    return all(most <= supply for most, supply in zip(taken, task.supply_g, strict=True))


def _undominated(task: Task, fillings: Sequence[Filling]) -> list[Filling]:
    """Return the fillings that no other one of the same cavity betters in every respect."""

    def betters(one: Filling, other: Filling) -> bool:
        free = one.stock == other.stock or math.isinf(task.supply_g[one.stock])
        wide = one.least_g <= other.least_g and one.mass_g >= other.mass_g
        whole = not one.counted or (other.counted and one.mass_g == other.mass_g)
        return free and wide and whole and one.z_mm <= other.z_mm and one.pieces <= other.pieces

    found: list[Filling] = []
    for place, each in enumerate(fillings):
        rivals = (other for i, other in enumerate(fillings) if i != place and other.cavity == each.cavity)
        # Of two that are alike the first stays.
        if not any(betters(other, each) and (not betters(each, other) or other in found) for other in rivals):
            found.append(each)
    return found


def _mass_and_balance(task: Task, fillings: Sequence[Filling], solver: str) -> tuple[float, float, bool]:
    """Return by how much the need is missed at least, then by how much the loads differ beyond the band at least."""
    if not any(each.counted for each in fillings):
        search = _Search(task, fillings)
        short = search.solve(search.under).value
        search.hold(search.under, short + _HOLD)
        even = search.solve(search.beyond)
        stocks: dict[int, set[int]] = {}
        for each, amount in zip(fillings, even.amounts, strict=True):
            if amount > _NONE_G:
                stocks.setdefault(each.cavity, set()).add(each.stock)
        unlimited = all(math.isinf(task.supply_g[each.stock]) for each in fillings)
        # With no end of any stock every amount up to the most fits each cavity: the relaxed answer can be built.
        if unlimited or all(len(each) == 1 for each in stocks.values()):
            return short, even.value, True
    search = _Search(task, fillings, solver)
    near = search.solve(search.under)
    search.hold(search.under, near.value + _HOLD)
    even = search.solve(search.beyond)
    return near.value, even.value, near.proven and even.proven


def _levelled(task: Task, chosen: Sequence[Filling]) -> tuple[Used, ...]:
    """Return how much of each filling: the loads as alike as they can be, then as low as that leaves."""
    search = _Search(task, chosen, all_used=True)
    search.hold(search.under, search.solve(search.under).value + _HOLD_LAST)
    search.hold(search.beyond, search.solve(search.beyond).value + _HOLD_LAST)
    search.hold(search.uneven, search.solve(search.uneven).value + _HOLD_LAST)
    lowest = search.solve(search.moment)
    pairs = zip(chosen, lowest.amounts, strict=True)
    return tuple(sorted((Used(each, amount) for each, amount in pairs), key=lambda each: each.filling.cavity))


def _told(task: Task, used: tuple[Used, ...], lowest: float, *, proven: bool) -> Choice:
    along = task.lean_along_g + sum(each.mass_g * task.along[each.filling.cavity] for each in used)
    across = task.lean_across_g + sum(each.mass_g * task.across[each.filling.cavity] for each in used)
    beyond = sum(max(abs(each) - task.balance_g, 0.0) for each in (along, across))
    moment = sum(each.mass_g * each.filling.z_mm for each in used)
    short = task.need_g - sum(each.mass_g for each in used)
    return Choice(used, short, beyond, moment, lowest, sum(each.filling.pieces for each in used), proven)


@dataclass(frozen=True, slots=True)
class _Solved:
    value: float
    amounts: tuple[float, ...]
    proven: bool


class _Search:
    """One task as a program for the solver.

    Args:
        task: what is wanted.
        fillings: what may be used.
        solver: for whole numbers: each cavity takes one filling or none; "" for none: it is shared by its fillings.
        all_used: whether every filling is used, between its least and its most.
    """

    def __init__(self, task: Task, fillings: Sequence[Filling], solver: str = "", *, all_used: bool = False) -> None:
        from ortools.linear_solver import pywraplp  # the solver is loaded only where something must be chosen

        whole = bool(solver)
        # Programs of this size and shape are solved before they would be prepared: 1 ms against 15, 0.6 s against 1.3.
        self.unprepared = solver == "SCIP"
        self.solver: Any = pywraplp.Solver.CreateSolver(solver or "GLOP")
        self.solver.SuppressOutput()
        if solver == "HIGHS":
            self.solver.SetSolverSpecificParametersAsString("output_flag=false")  # else it greets on standard output
        self.optimal: Any = pywraplp.Solver.OPTIMAL
        self.feasible: Any = pywraplp.Solver.FEASIBLE
        self.parameters: Any = pywraplp.MPSolverParameters
        self.task, self.fillings = task, fillings
        endless = self.solver.infinity()
        fixed = {i for i, each in enumerate(fillings) if all_used and each.counted}
        self.amounts = [
            self.solver.NumVar(each.mass_g if i in fixed else each.least_g if all_used else 0.0, each.mass_g, "")
            for i, each in enumerate(fillings)
        ]
        self.chosen = [self.solver.BoolVar("") for _ in fillings] if whole else []
        for switch, amount, each in zip(self.chosen, self.amounts, fillings, strict=False):
            self._row({amount: 1.0, switch: -each.mass_g}, most=0.0)
            self._row({amount: 1.0, switch: -(each.mass_g if each.counted else each.least_g)}, least=0.0)
        for cavity in sorted({each.cavity for each in fillings}):
            own = [i for i, each in enumerate(fillings) if each.cavity == cavity]
            share = (
                {self.chosen[i]: 1.0 for i in own}
                if whole
                else {self.amounts[i]: 1.0 / fillings[i].mass_g for i in own}
            )
            self._row(share, most=1.0)
        for stock, supply in enumerate(task.supply_g):
            own = [i for i, each in enumerate(fillings) if each.stock == stock]
            if own and math.isfinite(supply):
                self._row({self.amounts[i]: 1.0 for i in own}, most=supply)
        less, more = (self.solver.NumVar(0.0, endless, "") for _ in range(2))
        every = dict.fromkeys(self.amounts, 1.0)
        self._row({**every, less: 1.0, more: -1.0}, least=task.need_g, most=task.need_g)
        self.under: Mapping[Any, float] = {less: 1.0, more: 1.0}
        self.beyond: Mapping[Any, float] = self._unlike(task.balance_g)
        self.uneven: Mapping[Any, float] = self._unlike(0.0) if all_used else {}
        self.moment: Mapping[Any, float] = {
            amount: each.z_mm for amount, each in zip(self.amounts, fillings, strict=True)
        }
        self.pieces: Mapping[Any, float] = {
            switch: float(each.pieces) for switch, each in zip(self.chosen, fillings, strict=False)
        }

    def _unlike(self, band_g: float) -> dict[Any, float]:
        """Return the sum of what the loads of both trucks, and of both rails, differ by beyond a band."""
        found: dict[Any, float] = {}
        for lever, lean in ((self.task.along, self.task.lean_along_g), (self.task.across, self.task.lean_across_g)):
            above, below = (self.solver.NumVar(0.0, self.solver.infinity(), "") for _ in range(2))
            moved = {amount: lever[each.cavity] for amount, each in zip(self.amounts, self.fillings, strict=True)}
            self._row({**moved, above: -1.0}, most=band_g - lean)
            self._row({**moved, below: 1.0}, least=-band_g - lean)
            found |= {above: 1.0, below: 1.0}
        return found

    def _row(self, terms: Mapping[Any, float], *, least: float = -math.inf, most: float = math.inf) -> None:
        endless = self.solver.infinity()
        row = self.solver.Constraint(max(least, -endless), min(most, endless))
        for variable, factor in terms.items():
            row.SetCoefficient(variable, factor)

    def hold(self, terms: Mapping[Any, float], most: float) -> None:
        """Keep a sum at or below what was reached."""
        self._row(terms, most=most)

    def solve(self, terms: Mapping[Any, float], *, gap: float = 1e-7, whole_numbers: bool = False) -> _Solved:
        """Return the least of a sum, and the amounts in g that give it."""
        aim = self.solver.Objective()
        aim.Clear()
        for variable, factor in terms.items():
            aim.SetCoefficient(variable, factor)
        aim.SetMinimization()
        parameters = self.parameters()
        parameters.SetDoubleParam(parameters.RELATIVE_MIP_GAP, gap)
        if self.unprepared:
            parameters.SetIntegerParam(parameters.PRESOLVE, parameters.PRESOLVE_OFF)
        self.solver.SetTimeLimit(_TIME_LIMIT_MS)
        status = self.solver.Solve(parameters)
        if status not in (self.optimal, self.feasible):
            raise _NoAnswerError
        value = max(float(aim.Value()), 0.0)
        return _Solved(
            float(round(value)) if whole_numbers else value,
            tuple(float(each.solution_value()) for each in self.amounts),
            bool(status == self.optimal),
        )
