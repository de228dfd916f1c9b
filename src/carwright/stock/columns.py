"""Column generation for one-dimensional cutting: the linear bound, proven in whole numbers, and dives from it.

A *column* is a fill of one stock. The linear program over the columns found so far is solved in floating point; its
prices are then rounded to whole numbers and every bound is reckoned from those exactly, so that no rounding error can
make a bound too high.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from carwright.stock.work import Work

__all__ = ["SCALE", "BarProblem", "Bars", "Column", "Master", "Reach"]

Vector = npt.NDArray[np.int64]

SCALE = 1 << 30
"""Whole-number price of one unit of the cheapest cost: fine enough that rounding loses less than a millionth of it."""
_DENSE_CELLS = 2_000_000
"""Kinds times length up to which the knapsack is filled by dynamic programming; above, depth first is tried first."""
_GREAT_CELLS = 100_000_000
_QUICK_NODES = 4_000
_DEEP_NODES = 2_000_000


@dataclass(frozen=True, slots=True, eq=False)
class BarProblem:
    """One-dimensional cutting in whole numbers, the kerf added to every piece and once to every stock.

    Args:
        w: lengths of the kinds of piece, longest first, all different.
        d: how many of each.
        caps: lengths of the stocks.
        costs: cost of one of each.
        counts: how many there are of each; -1 for any number.
    """

    w: Vector
    d: Vector
    caps: Vector
    costs: Vector
    counts: Vector


@dataclass(frozen=True, slots=True, eq=False)
class Bars:
    """A plan: one fill (row) per bar, the stock of each, and the cost of all."""

    fills: Vector
    stocks: Vector
    cost: int


class Reach:
    """Sums of costs that some choice of stocks has: a bound is raised to the next of them."""

    def __init__(self, problem: BarProblem, top: int) -> None:
        self._gcd = max(1, int(np.gcd.reduce(problem.costs)))
        self._mask = 0
        size = top // self._gcd + 1
        if size > 4_000_000:
            return
        full = (1 << (size + 1)) - 1
        mask = 1
        most = int(problem.d.sum())
        for cost, count in zip(problem.costs.tolist(), problem.counts.tolist(), strict=True):
            step = cost // self._gcd
            left = min(most, count if count >= 0 else most, size // step if step else 0)
            part = 1
            while left > 0:
                take = min(part, left)
                mask |= (mask << (step * take)) & full
                left -= take
                part *= 2
        self._mask = mask

    def up(self, numerator: int, denominator: int = 1) -> int:
        """Return the least reachable cost that is not below the fraction."""
        least = max(0, -(-numerator // (denominator * self._gcd)))
        above = self._mask >> least
        if above:
            least += (above & -above).bit_length() - 1
        return least * self._gcd


@dataclass(slots=True)
class Column:
    """A fill of one stock in the linear program, and whether it may be used at present."""

    variable: Any
    fill: Vector
    stock: int
    open: bool = True


@dataclass(slots=True)
class Master:
    """The linear program over the columns known so far, for any remaining demand.

    ``price`` adds columns until none can improve, or until the bound says that it need not go on.
    """

    problem: BarProblem
    work: Work
    columns: list[Column] = field(default_factory=list)
    _solver: Any = None
    _rows: list[Any] = field(default_factory=list)
    _limits: list[Any] = field(default_factory=list)
    _known: dict[tuple[int, bytes], int] = field(default_factory=dict)
    _d: Vector = field(default_factory=lambda: np.zeros(0, np.int64))
    _counts: Vector = field(default_factory=lambda: np.zeros(0, np.int64))
    _barred: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        from ortools.linear_solver import pywraplp

        problem = self.problem
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        infinity = self._solver.infinity()
        self._rows = [self._solver.Constraint(float(d), infinity) for d in problem.d.tolist()]
        self._limits = [
            self._solver.Constraint(-infinity, float(count)) if count >= 0 else None
            for count in problem.counts.tolist()
        ]
        objective = self._solver.Objective()
        objective.SetMinimization()
        # Nothing need be feasible at first: pieces may be left out at more than any stock costs.
        dear = 2.0 * float(problem.costs.max()) + 1.0
        for row in self._rows:
            spare = self._solver.NumVar(0.0, infinity, "")
            objective.SetCoefficient(spare, dear)
            row.SetCoefficient(spare, 1.0)
        self._d, self._counts = problem.d.copy(), problem.counts.copy()
        self.begin()

    def begin(self) -> None:
        """Add the first columns: bars of one kind of piece each."""
        problem = self.problem
        for i, (w, d) in enumerate(zip(problem.w.tolist(), problem.d.tolist(), strict=True)):
            for s, cap in enumerate(problem.caps.tolist()):
                if cap >= w:
                    fill = np.zeros(len(problem.w), np.int64)
                    fill[i] = min(d, cap // w)
                    self.add(fill, s)

    def add(self, fill: Vector, stock: int) -> bool:
        """Add a column; return False if it was there."""
        key = (stock, fill.tobytes())
        if key in self._known:
            return False
        variable = self._solver.NumVar(0.0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(variable, float(self.problem.costs[stock]))
        for i in np.flatnonzero(fill).tolist():
            self._rows[i].SetCoefficient(variable, float(fill[i]))
        if self._limits[stock] is not None:
            self._limits[stock].SetCoefficient(variable, 1.0)
        self._known[key] = len(self.columns)
        self.columns.append(Column(variable, fill.copy(), stock))
        return True

    def add_bars(self, bars: Bars) -> None:
        """Add the columns of a plan."""
        for fill, stock in zip(bars.fills, bars.stocks.tolist(), strict=True):
            self.add(fill, stock)

    def restrict(self, d: Vector, counts: Vector, barred: frozenset[int] = frozenset()) -> None:
        """Set what is still wanted and what stock is left; columns that hold more than that are closed."""
        infinity = self._solver.infinity()
        for i in np.flatnonzero(d != self._d).tolist():
            self._rows[i].SetLb(float(d[i]))
        for s in np.flatnonzero(counts != self._counts).tolist():
            self._limits[s].SetUb(float(counts[s]))
        self._d, self._counts = d.copy(), counts.copy()
        self._barred = set(barred)
        for k, column in enumerate(self.columns):
            usable = k not in self._barred and counts[column.stock] != 0 and bool((column.fill <= d).all())
            if usable != column.open:
                column.variable.SetUb(infinity if usable else 0.0)
                column.open = usable

    def solve(self) -> float:
        """Solve the linear program over the columns; return its value."""
        self._solver.Solve()
        steps = min(max(0, self._solver.iterations()), 20 * len(self._rows))
        size = len(self._rows) + len(self.columns)
        self.work.spend(2e5 + 40.0 * size * (5 + steps))
        return self.value()

    def value(self) -> float:
        """Return the value of the linear program as it was solved last."""
        return float(self._solver.Objective().Value())

    def cheapest(self, most: int) -> list[Column]:
        """Return the open columns of least reduced cost, as the linear program was solved last; at most ``most``."""
        found = [column for column in self.columns if column.open and column.fill.any()]
        reduced = [column.variable.reduced_cost() for column in found]
        order = sorted(range(len(found)), key=lambda k: (round(reduced[k], 9), k))
        return [found[k] for k in sorted(order[:most])]

    def used(self) -> Iterator[tuple[int, float]]:
        """Yield each column in use with how often."""
        for k, column in enumerate(self.columns):
            if column.open:
                value = column.variable.solution_value()
                if value > 1e-9:
                    yield k, value

    def price(
        self, *, enough: int | None = None, reach: Reach | None = None, fixed: int = 0, rounds: int = 1_000_000
    ) -> tuple[float, int]:
        """Generate columns until none improves; return (value of the linear program, proven bound).

        The bound is a cost that no plan for the present demand can be below. With ``enough`` it stops as soon as
        ``fixed`` plus that bound reaches it; after ``rounds`` in any case.
        """
        proven = 0
        for _ in range(rounds):
            value = self.solve()
            if self.work.over():
                return value, proven
            added, numerator, denominator = self.improve()
            bound = -(-numerator // denominator) if numerator > 0 else 0
            proven = max(proven, bound)
            if not added:
                return value, proven
            if enough is not None:
                whole = reach.up(fixed + proven) if reach else fixed + proven
                if whole >= enough:
                    return value, proven
        return self.solve(), proven

    def improve(self) -> tuple[int, int, int]:
        """Price once; return (columns added, numerator and denominator of a proven bound)."""
        p, dear, alive = self.prices()
        if not len(alive):
            return 0, 0, 1
        d = self._d.copy()
        added = 0
        values: Vector | None = None
        for again in range(5):
            found, fills, exact = self._fills(p, d, alive, dear, quick=again > 0 or added > 0)
            if again == 0 and not exact:
                values = None
            elif again == 0:
                values = found
            gain = found - dear[alive]
            for k in np.flatnonzero(gain > SCALE >> 22).tolist():
                if (self._known.get((int(alive[k]), fills[k].tobytes()), -1)) not in self._barred:
                    added += self.add(fills[k], int(alive[k]))
            best = fills[int(np.argmax(gain))]
            if not best.any():
                break
            d[best > 0] = 0
        if values is None:
            if added:
                return added, 0, 1
            values, fills, exact = self._fills(p, self._d, alive, dear, quick=False)
            for k in np.flatnonzero(values > dear[alive] + (SCALE >> 22)).tolist():
                if (self._known.get((int(alive[k]), fills[k].tobytes()), -1)) not in self._barred:
                    added += self.add(fills[k], int(alive[k]))
            if not exact:
                return added, 0, 1
        return added, *self.bound(p, values, alive)

    def prices(self) -> tuple[Vector, Vector, Vector]:
        """Return what each piece is worth (n), what a fill of each stock must be worth to improve, and the stocks left.

        In whole numbers of 1 / ``SCALE`` of the greatest cost.
        """
        unit = SCALE / float(self.problem.costs.max())
        p = np.array([int(max(0.0, row.dual_value()) * unit) for row in self._rows], np.int64)
        dear = [
            int(cost * unit) + (int(-limit.dual_value() * unit) if limit is not None and limit.dual_value() < 0 else 0)
            for cost, limit in zip(self.problem.costs.tolist(), self._limits, strict=True)
        ]
        return p, np.array(dear, np.int64), np.flatnonzero(self._counts != 0)

    def worthy(self, below: int, most: int, limit: int) -> tuple[Vector, Vector] | None:
        """Return every column (fills, stocks) that a plan cheaper than ``below`` may use, or None if they are too many.

        A column whose reduced cost is above what lies between the bound and ``below`` is in no such plan. Call it when
        ``price`` has come to its end; all is reckoned in whole numbers.
        """
        from carwright.stock.barkernels import worthy_fills

        problem = self.problem
        unit = SCALE / float(problem.costs.max())
        p = np.array([int(max(0.0, row.dual_value()) * unit) for row in self._rows], np.int64)
        alive = np.flatnonzero(self._counts != 0)
        values, _, exact = self._fills(p, self._d, alive, np.zeros(len(problem.caps), np.int64), quick=False)
        if not exact:
            return None
        top = int(problem.costs.max())
        costs = [int(c) * SCALE // top for c in problem.costs.tolist()]
        worth = [int(each) for each in values.tolist()]
        for k, s in enumerate(alive.tolist()):
            if self._counts[s] < 0 and worth[k] > costs[s]:
                num, den = costs[s], worth[k]
                p = np.array([int(each) * num // den for each in p.tolist()], np.int64)
                worth = [each * num // den + 1 for each in worth]
                worth[k] = num
        over = [max(0, worth[k] - costs[s]) if self._counts[s] >= 0 else 0 for k, s in enumerate(alive.tolist())]
        bound = int(p @ self._d) - sum(o * int(self._counts[s]) for o, s in zip(over, alive.tolist(), strict=True))
        gap = -(-(below - 1) * SCALE // top) - bound
        fills, stocks = [], []
        total = 0
        for k, s in enumerate(alive.tolist()):
            least = costs[s] + over[k] - gap
            found, whole, nodes = worthy_fills(problem.w, p, self._d, int(problem.caps[s]), least, most - total, limit)
            self.work.spend(12.0 * nodes)
            if not whole:
                return None
            total += len(found)
            fills.append(found)
            stocks.append(np.full(len(found), s, np.int64))
        return np.concatenate(fills), np.concatenate(stocks)

    def bound(self, p: Vector, values: Vector, alive: Vector) -> tuple[int, int]:
        """Return a bound on the cost as a fraction, exactly, from whole prices and the best fill of every stock.

        Prices are scaled down until no fill of an unlimited stock is worth more than it costs (A. A. Farley, Operations
        Research 38, 1990, as described in surveys); a limited stock pays what its fill is worth more, as often as it
        can be used.
        """
        # Costs in the scale of the prices, as fractions: c * SCALE / c_max. Work with c_max as the common divisor.
        top = int(self.problem.costs.max())
        num, den = 1, 1
        for k, s in enumerate(alive.tolist()):
            if self._counts[s] < 0:
                v, c = int(values[k]) * top, int(self.problem.costs[s]) * SCALE
                if v * den > c * num:
                    num, den = v, max(c, 1)
        # Scaled prices are p * den / num.
        total = sum(int(a) * int(b) for a, b in zip(p.tolist(), self._d.tolist(), strict=True)) * den * top
        for k, s in enumerate(alive.tolist()):
            if self._counts[s] >= 0:
                over = int(values[k]) * top * den - int(self.problem.costs[s]) * SCALE * num
                if over > 0:
                    total -= over * int(self._counts[s])
        return total, SCALE * num

    def _fills(self, p: Vector, d: Vector, alive: Vector, dear: Vector, *, quick: bool) -> tuple[Vector, Vector, bool]:
        """Return (values, fills, exact) of the best fill of each stock that is left.

        With long stocks a search of few steps comes first; only where that finds nothing, the whole one.
        """
        from carwright.stock.barkernels import deep_fill, dense_fill

        caps = self.problem.caps[alive]
        cells = int(np.count_nonzero((p > 0) & (d > 0))) * int(caps.max())
        if cells <= _DENSE_CELLS:
            values, fills, steps = dense_fill(self.problem.w, p, d, caps)
            self.work.spend(1.5 * steps)
            return values, fills, True
        values = np.zeros(len(caps), np.int64)
        fills = np.zeros((len(caps), len(p)), np.int64)
        for limit in (_QUICK_NODES, _DEEP_NODES):
            exact = True
            for k in range(len(caps)):
                values[k], fills[k], nodes = deep_fill(self.problem.w, p, d, int(caps[k]), 0, limit)
                self.work.spend(12.0 * nodes)
                exact = exact and nodes <= limit
            if exact or quick or bool((values > dear[alive] + (SCALE >> 22)).any()):
                break
            if cells <= _GREAT_CELLS:
                values, fills, steps = dense_fill(self.problem.w, p, d, caps)
                self.work.spend(1.5 * steps)
                return values, fills, True
        return values, fills, exact
