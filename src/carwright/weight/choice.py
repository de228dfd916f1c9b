"""Which ballast in which cavity: target, balance, height and number of pieces in this order, each proven best.

A *cavity* takes one *filling* (a stock of the shelf in so many layers) or none; how much of the filling is used is
free between nothing and all of it, because pieces are cut shorter, except where it is counted (nuts). The order:

1. as near to what is wanted as can be;
2. both trucks loaded alike: what their loads differ by beyond the band as small as can be;
3. the ballast as low as can be;
4. no higher than a band above that, the fewest pieces; and of those pieces the lowest lie.

Each step is a branch and bound over linear programs, and the next one keeps what the last one reached.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import count
from typing import Final

import numpy as np
from numpy.typing import NDArray

from carwright.weight.linear import Floats, Solved, least

__all__ = ["Choice", "Filling", "Task", "Used", "choose"]

_USED: Final = 1e-7
_MASS_TOL_G: Final = 1e-6
"""By how much a step may undo what the last one reached: far below the 0.1 g that is told."""
_NEAR_G: Final = 1e-3
_NEAR_MM: Final = 2e-3
"""How near to the best a step is called the best: a hundredth of what is told in g, and of the band in mm."""
_MOST_NODES: Final = 3000


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
    """

    cavity: int
    stock: int
    mass_g: float
    z_mm: float
    pieces: int
    counted: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """What is wanted.

    Args:
        need_g: mass to add.
        levers: for each cavity, by how much 1 g in it loads truck A more than truck B, in g.
        lean_g: by how much truck A is loaded more than truck B without ballast.
        balance_g: what the loads may differ by.
        height_mm: how far above the lowest that can be the ballast's middle may lie to save pieces.
        supply_g: for each stock, how much there is; infinite where there is no end of it.
    """

    need_g: float
    levers: tuple[float, ...]
    lean_g: float
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
        beyond_g: what the loads differ by beyond the band.
        moment_gmm: mass times height of all ballast, and ``least_moment_gmm`` the least that could be.
        least_moment_gmm: see there.
        pieces: how many.
        proven: whether all four steps were searched to the end.
        nodes: linear programs solved.
    """

    used: tuple[Used, ...]
    short_g: float
    beyond_g: float
    moment_gmm: float
    least_moment_gmm: float
    pieces: int
    proven: bool
    nodes: int


class _Search:
    """The linear programs of one task; columns are the fillings, then under, over, and excess of A and of B."""

    def __init__(self, task: Task, fillings: tuple[Filling, ...]) -> None:
        self.fillings = fillings
        self.nodes, self.proven = 0, True
        self.n = len(fillings)
        mass = np.array([each.mass_g for each in fillings])
        lever = np.array([task.levers[each.cavity] for each in fillings])
        self.mass, self.lever = mass, lever
        self.height = np.array([each.z_mm for each in fillings])
        self.cavity = np.array([each.cavity for each in fillings], dtype=np.int64)
        self.pieces = np.array([float(each.pieces) for each in fillings])
        self.counted = np.array([each.counted for each in fillings], dtype=bool)
        rows: list[Floats] = []
        right: list[float] = []
        for cavity in sorted({each.cavity for each in fillings}):
            rows.append(self._row(np.where(self.cavity == cavity, 1.0, 0.0)))
            right.append(1.0)
        stock = self.stock = np.array([each.stock for each in fillings], dtype=np.int64)
        self.none = np.zeros(int(self.cavity.max()) + 1)
        for index, supply in enumerate(task.supply_g):
            if math.isfinite(supply) and (stock == index).any():
                rows.append(self._row(np.where(stock == index, mass, 0.0)))
                right.append(supply)
        rows.append(self._row(mass * lever, aside=(0.0, 0.0, -1.0, 0.0)))
        right.append(task.balance_g - task.lean_g)
        rows.append(self._row(-mass * lever, aside=(0.0, 0.0, 0.0, -1.0)))
        right.append(task.balance_g + task.lean_g)
        rows.append(self._row(mass, aside=(1.0, -1.0, 0.0, 0.0)))
        right.append(task.need_g)
        self.rows, self.right, self.total = rows, right, len(rows) - 1

    @staticmethod
    def _row(of_fillings: Floats, aside: Sequence[float] = (0.0, 0.0, 0.0, 0.0)) -> Floats:
        return np.concatenate([of_fillings, np.array(aside)])

    def hold(self, row: Floats, most: float) -> None:
        """Keep what a step has reached."""
        self.rows.append(row)
        self.right.append(most)

    def solve(self, costs: Floats, allowed: NDArray[np.bool_], forced: frozenset[int]) -> Solved | None:
        """Return the relaxed answer with some fillings shut out, and the counted ones of ``forced`` used whole."""
        self.nodes += 1
        columns = np.flatnonzero(np.concatenate([allowed, np.ones(4, dtype=bool)]))
        a, b = np.stack(self.rows), np.array(self.right)
        if forced:
            more = np.zeros((len(forced), a.shape[1]))
            more[np.arange(len(forced)), sorted(forced)] = -1.0
            a, b = np.vstack([a, more]), np.concatenate([b, np.full(len(forced), -1.0)])
        size = np.maximum(np.max(np.abs(a[:, columns]), axis=1), 1e-12)
        found = least(costs[columns], a[:, columns] / size[:, None], b / size, (self.total,))
        if found is None:
            return None
        x = np.zeros(self.n + 4)
        x[columns] = found.x
        return Solved(found.value, x)

    def split(self, node: _Node, x: Floats) -> tuple[_Node, _Node] | None:
        """Return the two halves of a node whose answer cannot be built; None where it can.

        A cavity shared by two stocks is left to one of them, or to the others; one shared by different numbers of
        layers has at most as many as hold the same mass, or more; of counted pieces all are used, or none.
        """
        used = np.flatnonzero(x[: self.n] > _USED)
        for k in used:
            if self.counted[k] and x[k] < 1.0 - _USED:
                without = node.allowed.copy()
                without[k] = False
                alone = node.allowed & ((self.cavity != self.cavity[k]) | (np.arange(self.n) == k))
                return replace(node, allowed=alone, forced=node.forced | {int(k)}), replace(node, allowed=without)
        amount = x[: self.n] * self.mass
        for cavity in sorted({int(self.cavity[k]) for k in used}):
            shared = [int(k) for k in used if self.cavity[k] == cavity]
            if len(shared) == 1:
                continue
            own = self.cavity == cavity
            of_stock = {int(self.stock[k]): 0.0 for k in shared}
            for k in shared:
                of_stock[int(self.stock[k])] += float(amount[k])
            if len(of_stock) > 1:
                one = own & (self.stock == max(of_stock, key=lambda each: (of_stock[each], -each)))
                return replace(node, allowed=node.allowed & (~own | one)), replace(node, allowed=node.allowed & ~one)
            least = float(self.mass[shared].min())
            most = max(least, min(float(amount[shared].sum()), float(self.mass[shared].max()) - _MASS_TOL_G))
            few = ~own | (self.mass <= most + _MASS_TOL_G / 2.0)
            return replace(node, allowed=node.allowed & few), replace(node, allowed=node.allowed & (~own | ~few))
        return None

    def best(self, costs: Floats, gap: float) -> tuple[float, Floats] | None:
        """Return the least cost, to ``gap``, in which each cavity has one filling at most, and the answer."""
        order = count()
        begun, best_value, best_x = self.nodes, math.inf, None
        everything = np.ones(self.n, dtype=bool)
        heap: list[tuple[float, int, _Node]] = [(-math.inf, next(order), _Node(everything, frozenset(), self.none))]
        while heap:
            bound, _, node = heapq.heappop(heap)
            if bound >= best_value - gap or not self._may_go_on(begun):
                break
            solved = self.solve(costs, node.allowed, node.forced)
            if solved is None or solved.value >= best_value - gap:
                continue
            children = self.split(node, solved.x)
            if children is None:
                best_value, best_x = solved.value, solved.x
                continue
            for child in children:
                heapq.heappush(heap, (solved.value, next(order), child))
        return None if best_x is None else (best_value, best_x)

    def fewest(self) -> Floats | None:
        """Return an answer with the fewest pieces.

        A node bounds the pieces of each cavity from both sides; between them a filling used in part is paid for in
        part, which is less than it will cost, so that a node's value is a bound.
        """
        order = count()
        begun, best_value, best_x = self.nodes, math.inf, None
        everything = np.ones(self.n, dtype=bool)
        heap: list[tuple[float, int, _Node]] = [(-math.inf, next(order), _Node(everything, frozenset(), self.none))]
        while heap:
            bound, _, node = heapq.heappop(heap)
            if bound >= best_value - 0.5 or not self._may_go_on(begun):
                break
            costs = np.concatenate([self.pieces - node.least[self.cavity], np.zeros(4)])
            solved = self.solve(costs, node.allowed, node.forced)
            if solved is None:
                continue
            value = math.ceil(float(node.least.sum()) + solved.value - 1e-6)
            if value >= best_value - 0.5:
                continue
            children: tuple[_Node, ...] = self.split(node, solved.x) or ()
            if not children:
                x = self._trimmed(solved.x)
                used = np.flatnonzero(x[: self.n] > _USED)
                whole = float(self.pieces[used].sum())
                if whole < best_value:
                    best_value, best_x = whole, x
                children = self._counted_apart(node, solved.x, x)
            for child in children:
                heapq.heappush(heap, (value, next(order), child))
        return best_x

    def _may_go_on(self, begun: int) -> bool:
        if self.nodes - begun > _MOST_NODES:
            self.proven = False
        return self.proven

    def _trimmed(self, x: Floats) -> Floats:
        """Return the same amounts in as few pieces of the same stock as hold them; none lies higher for it."""
        found = x.copy()
        for k in np.flatnonzero(x[: self.n] > _USED):
            if self.counted[k]:
                continue
            amount = x[k] * self.mass[k]
            fits = (self.cavity == self.cavity[k]) & (self.stock == self.stock[k]) & ~self.counted
            fits &= (self.mass >= amount - _MASS_TOL_G) & (self.height <= self.height[k] + 1e-9)
            best = min(np.flatnonzero(fits), key=lambda i: (self.pieces[i], self.mass[i]))
            found[k] = 0.0
            found[best] = amount / self.mass[best]
        return found

    def _counted_apart(self, node: _Node, relaxed: Floats, whole: Floats) -> tuple[_Node, ...]:
        """Return the node with fewer and with more pieces in the cavity that is paid for least, or nothing."""
        paid = np.zeros(node.least.size)
        np.add.at(paid, self.cavity, relaxed[: self.n] * (self.pieces - node.least[self.cavity]))
        paid += node.least
        due = np.zeros(node.least.size)
        used = whole[: self.n] > _USED
        np.add.at(due, self.cavity[used], self.pieces[used])
        cavity = int(np.argmax(due - paid))
        if due[cavity] - paid[cavity] < 1e-6:
            return ()
        most = math.floor(paid[cavity] + 1e-9)
        own = self.cavity == cavity
        more = node.least.copy()
        more[cavity] = most + 1
        return (
            replace(node, allowed=node.allowed & (~own | (self.pieces <= most))),
            replace(node, allowed=node.allowed & (~own | (self.pieces > most)), least=more),
        )


@dataclass(frozen=True, slots=True)
class _Node:
    """Which fillings are left, which counted ones are used, and the least number of pieces in each cavity."""

    allowed: NDArray[np.bool_]
    forced: frozenset[int]
    least: Floats


def choose(task: Task, fillings: Sequence[Filling]) -> Choice:
    """Return what to put where.

    Args:
        task: what is wanted.
        fillings: every way to fill a cavity; none of no mass.

    Notes:
        ``proven`` is False only where a step needed more linear programs than it may have; what it then gives keeps to
        the limits, but something better may exist.

    Source:
        Our own formulation. Branch and bound: A. H. Land and A. G. Doig, 1960 (from memory).
    """
    if task.need_g <= 0.0 or not fillings:
        beyond = max(abs(task.lean_g) - task.balance_g, 0.0)
        return Choice((), max(task.need_g, 0.0), beyond, 0.0, 0.0, 0, True, 0)
    search = _Search(task, tuple(fillings))
    n = search.n
    near = search._row(np.zeros(n), (1.0, 1.0, 0.0, 0.0))
    even = search._row(np.zeros(n), (0.0, 0.0, 1.0, 1.0))
    moment = search._row(search.mass * search.height)
    found = search.best(near, _NEAR_G)
    assert found is not None
    search.hold(near, found[0] + _MASS_TOL_G)
    found = search.best(even, _NEAR_G) or found
    search.hold(even, float(even @ found[1]) + _MASS_TOL_G)
    found = search.best(moment, _NEAR_MM * float(search.mass @ found[1][:n])) or found
    lowest = float(moment @ found[1])
    total = float(search.mass @ found[1][:n])
    search.hold(moment, lowest + task.height_mm * total + _MASS_TOL_G)
    x = search.fewest()
    x = found[1] if x is None else x
    kept = x[:n] > _USED
    solved = search.solve(moment, kept, frozenset(np.flatnonzero(kept & search.counted).tolist()))
    x = x if solved is None else solved.x
    amounts = x[:n] * search.mass
    used = tuple(
        Used(filling, float(amount))
        for filling, amount in zip(search.fillings, amounts, strict=True)
        if amount > 10.0 * _MASS_TOL_G
    )
    placed = sum(each.mass_g for each in used)
    lean = task.lean_g + sum(each.mass_g * task.levers[each.filling.cavity] for each in used)
    return Choice(
        tuple(sorted(used, key=lambda each: each.filling.cavity)),
        task.need_g - placed,
        max(abs(lean) - task.balance_g, 0.0),
        sum(each.mass_g * each.filling.z_mm for each in used),
        lowest,
        sum(each.filling.pieces for each in used),
        search.proven,
        search.nodes,
    )
