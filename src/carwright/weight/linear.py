"""A small linear program, solved exactly: the simplex method on a dense table, in two phases.

    least c x   with   A x <= b (or = b in the rows named),   x >= 0

Made for some 30 rows and a few hundred columns; nothing here is about weight.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Floats", "Solved", "least"]

Floats: TypeAlias = NDArray[np.float64]

_SMALL: Final = 1e-10
_ZERO: Final = 1e-9
_CAREFUL_FROM: Final = 400
"""Steps after which the first improving column is taken instead of the best one, so that no circle can be run."""
_MOST_STEPS: Final = 4000


@dataclass(frozen=True, slots=True)
class Solved:
    """The least value and where it is."""

    value: float
    x: Floats


def least(c: Floats, a: Floats, b: Floats, equal: Collection[int] = ()) -> Solved | None:
    """Return the least of ``c x``, or None where no x satisfies the rows.

    Args:
        c: cost of each column, shape (n,).
        a: rows, shape (m, n).
        b: right-hand sides, shape (m,), of any sign.
        equal: rows in which the two sides are equal; in the others the left may be less.

    Raises:
        ArithmeticError: the value has no lower end.
    """
    rows, columns = a.shape
    slack = np.zeros((rows, rows))
    for row in range(rows):
        if row not in equal:
            slack[row, row] = 1.0
    flip = np.where(b < 0.0, -1.0, 1.0)
    body = np.hstack([a, slack]) * flip[:, None]
    right = b * flip
    basis = np.full(rows, -1)
    for row in range(rows):
        if row not in equal and flip[row] > 0.0:
            basis[row] = columns + row
    wanting = np.flatnonzero(basis < 0)
    extra = np.zeros((rows, wanting.size))
    extra[wanting, np.arange(wanting.size)] = 1.0
    basis[wanting] = columns + rows + np.arange(wanting.size)
    table = np.hstack([body, extra, right[:, None]])
    real = columns + rows
    if wanting.size:
        first = np.zeros(table.shape[1])
        first[real:-1] = 1.0
        first -= table[wanting].sum(axis=0)
        _run(table, first, basis, table.shape[1] - 1)
        if -first[-1] > 1e-7 * max(1.0, float(np.max(np.abs(right)))):
            return None
        for row in np.flatnonzero(basis >= real):
            choice = np.flatnonzero(np.abs(table[row, :real]) > 1e-7)
            if choice.size:
                _pivot(table, first, basis, int(row), int(choice[0]))
    costs = np.zeros(table.shape[1])
    costs[:columns] = c
    for row in range(rows):
        if costs[basis[row]] != 0.0:
            costs -= costs[basis[row]] * table[row]
    _run(table, costs, basis, real)
    x = np.zeros(table.shape[1])
    x[basis] = table[:, -1]
    found = np.maximum(x[:columns], 0.0)
    return Solved(float(c @ found), found)


def _pivot(table: Floats, costs: Floats, basis: NDArray[np.int64], row: int, column: int) -> None:
    table[row] /= table[row, column]
    factors = table[:, column].copy()
    factors[row] = 0.0
    table -= factors[:, None] * table[row]
    costs -= costs[column] * table[row]
    basis[row] = column


def _run(table: Floats, costs: Floats, basis: NDArray[np.int64], usable: int) -> None:
    """Improve until no column of the first ``usable`` helps."""
    for step in range(_MOST_STEPS):
        open_costs = costs[:usable]
        if step < _CAREFUL_FROM:
            column = int(np.argmin(open_costs))
            if open_costs[column] >= -_ZERO:
                return
        else:
            improving = np.flatnonzero(open_costs < -_ZERO)
            if not improving.size:
                return
            column = int(improving[0])
        entering = table[:, column]
        rising = entering > _SMALL
        if not rising.any():
            raise ArithmeticError("the value has no lower end")
        ratios = np.where(rising, table[:, -1] / np.where(rising, entering, 1.0), np.inf)
        low = float(ratios.min())
        ties = np.flatnonzero(ratios <= low + 1e-12)
        row = int(ties[np.argmin(basis[ties])]) if step >= _CAREFUL_FROM else int(ties[np.argmax(entering[ties])])
        _pivot(table, costs, basis, row, column)
    raise ArithmeticError("too many steps")
