"""Column generation for sheets: the linear bound over every layout of one sheet, and the layouts it is made of.

As ``columns`` for bars; the most valuable layout of a sheet is sought by ``sheetkernels.best_first``, which says how
far from the best it may be where it was cut short, so that the bound holds all the same.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from carwright.stock.columns import SCALE, Master, Vector
from carwright.stock.sheetbounds import SheetProblem
from carwright.stock.work import Work

__all__ = ["STEP", "Kinds", "SheetMaster", "best_of_sheet", "kinds_of"]

STEP = 14.0
"""Steps of work of one step of the search; measured on a busy machine, so on the safe side."""
_QUICK_STEPS = 20_000
_DEEP_STEPS = 5_000_000
_MOST_OVER = 2.0
_ROOM = 60_000
_DEEP_ROOM = 300_000
_AGAIN = 4
_MOST_CELLS = 400_000
_MOST_SIDE = 2_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Kinds:
    """Pieces of the same size and freedom together.

    Args:
        size: (k, 3) width, height, whether it may be turned.
        which: (n) the kind of each single piece.
        demand: (k) how many there are.
    """

    size: Vector
    which: Vector
    demand: Vector


def kinds_of(problem: SheetProblem) -> Kinds:
    """Return the kinds of the pieces of a problem."""
    size, which = np.unique(
        np.stack([problem.w, problem.h, problem.turn.astype(np.int64)], axis=1), axis=0, return_inverse=True
    )
    which = which.reshape(-1)
    return Kinds(size, which, np.bincount(which, minlength=len(size)))


@dataclass(slots=True, kw_only=True)
class SheetMaster(Master):
    """The linear program over layouts of sheets; ``layouts`` has the places (k, 5) of every column."""

    sheets: SheetProblem
    kinds: Kinds
    layouts: dict[tuple[int, bytes], Vector] = field(default_factory=dict)

    def begin(self) -> None:
        """Add the first columns: one piece to a sheet."""
        for k, (w, h, turn) in enumerate(self.kinds.size.tolist()):
            for s, (width, height) in enumerate(zip(self.sheets.sw.tolist(), self.sheets.sh.tolist(), strict=True)):
                for a, b in ((w, h), (h, w)) if turn else ((w, h),):
                    if self._holds(width - a) and self._holds(height - b):
                        self.add_layout(s, np.array([[k, 0, 0, a, b]], np.int64))
                        break

    def _holds(self, gap: int) -> bool:
        return gap == 0 or (gap > 0 and gap >= self.sheets.least)

    def add_layout(self, sheet: int, layout: Vector) -> bool:
        """Add the column of a layout (k, 5): kind, x, y, width, height of each piece."""
        fill = np.bincount(layout[:, 0], minlength=len(self.problem.d)).astype(np.int64)
        self.layouts.setdefault((sheet, fill.tobytes()), layout)
        return self.add(fill, sheet)

    def improve(self) -> tuple[int, int, int]:
        """Seek layouts that improve; return (columns added, numerator and denominator of a proven bound)."""
        p, dear, alive = self.prices()
        if not len(alive):
            return 0, 0, 1
        tops, added = self._seek(p, dear, alive, _QUICK_STEPS)
        if not added and bool((tops > dear[alive] + (SCALE >> 22)).any()):
            # A search of many steps, which need not look at what cannot raise the bound to the next sum of costs.
            tops, added = self._seek(p, self._needed(dear), alive, _DEEP_STEPS)
        # The search reckons in floating point here and there: a millionth more makes up for it.
        return added, *self.bound(p, tops + (tops >> 20) + 1, alive)

    def _needed(self, dear: Vector) -> Vector:
        """Return what layouts may be worth at most if the bound is to come above the last cost below the value."""
        step = int(np.gcd.reduce(self.problem.costs)) or 1
        value = self.value()
        below = (math.ceil(value / step - 1e-6) - 1) * step
        share = value / below if below > 0 else _MOST_OVER
        # A little less, so that the bound ends above that sum and not on it.
        return np.asarray(dear * max(1.0, min(share, _MOST_OVER) * (1 - 1e-5))).astype(np.int64)

    def _seek(self, p: Vector, dear: Vector, alive: Vector, limit: int) -> tuple[Vector, int]:
        """Return what no layout of each sheet is worth more than, and how many columns were added."""
        d = self._d.copy()
        tops = dear[alive].copy()
        added = 0
        for again in range(_AGAIN):
            taken = np.zeros(len(d), np.bool_)
            richest = 0
            for k, s in enumerate(alive.tolist()):
                worthy = np.flatnonzero((p > 0) & (d > 0))
                value, top, layout = best_of_sheet(
                    self.kinds.size[worthy],
                    p[worthy],
                    d[worthy],
                    (int(self.sheets.sw[s]), int(self.sheets.sh[s])),
                    self.sheets.least,
                    limit if again == 0 else _QUICK_STEPS,
                    self.work,
                    floor=int(dear[s]) + (SCALE >> 22),
                    room=_ROOM if limit <= _QUICK_STEPS or again else _DEEP_ROOM,
                )
                if again == 0:
                    tops[k] = max(top, tops[k])
                if len(layout):
                    layout = np.column_stack([worthy[layout[:, 0]], layout[:, 1:]])
                    added += self.add_layout(s, layout)
                    if value - int(dear[s]) > richest:
                        richest = value - int(dear[s])
                        taken[:] = False
                        taken[layout[:, 0]] = True
            if not taken.any() or self.work.over():
                break
            d[taken] = 0
        return tops, added


def best_of_sheet(
    size: Vector,
    worth: Vector,
    most: Vector,
    sheet: tuple[int, int],
    least: int,
    limit: int,
    work: Work,
    *,
    floor: int = 0,
    room: int = _ROOM,
) -> tuple[int, int, Vector]:
    """Return (value, bound, layout (k, 5)): kind, x, y, width and height of each piece of the best filling.

    Args:
        size: (n, 3) width, height, whether it may be turned.
        worth: of one.
        most: how many of each.
        sheet: width and height.
        least: narrowest strip that may be cut off.
        limit: most steps of the search.
        work: counts what was done.
        floor: fillings worth no more are not looked for; where there is none, the value is that.
        room: most blocks that the search may keep.
    """
    from carwright.stock.sheetkernels import best_first, free_bound, outer_bound

    width, height = sheet
    w, h = size[:, 0], size[:, 1]
    turned = np.flatnonzero((size[:, 2] > 0) & (w != h))
    bw, bh = np.concatenate([w, h[turned]]), np.concatenate([h, w[turned]])
    kind = np.concatenate([np.arange(len(w)), turned])
    fine = (bw <= width) & (bh <= height) & (most[kind] > 0)
    bw, bh, kind = bw[fine], bh[fine], kind[fine]
    if not len(bw):
        return floor, floor, np.zeros((0, 5), np.int64)
    scale = max(1, -(-max(width, height) // _MOST_SIDE))
    xs, ys = _places(bw, most[kind], width, scale), _places(bh, most[kind], height, scale)
    while len(xs) * len(ys) > _MOST_CELLS:
        # Whole steps of a coarser scale: pieces and sheet rounded down, so that the bound stays one.
        scale *= 2
        xs, ys = _places(bw, most[kind], width, scale), _places(bh, most[kind], height, scale)
    xat = np.searchsorted(xs, np.arange(width // scale + 1), side="right") - 1
    yat = np.searchsorted(ys, np.arange(height // scale + 1), side="right") - 1
    inner = free_bound(bw // scale, bh // scale, worth[kind], xs, ys, xat, yat)
    outer = outer_bound(inner, xs, ys, xat, yat)
    work.spend(2.5 * inner.size * (len(xs) + len(ys)))
    value, bound, tree, blocks, steps = best_first(
        bw, bh, worth[kind], kind, most, width, height, outer, xat, yat, scale, floor, room, limit, least
    )
    work.spend(STEP * steps + 25.0 * blocks * len(most))
    return int(value), int(bound), _unfolded(tree, bw, bh, kind)


def _places(sizes: Vector, most: Vector, side: int, scale: int) -> Vector:
    """Return the places where a cut can fall: the sums of sizes within the side, 0, and the side, in steps of scale."""
    top = side // scale
    full = (1 << (top + 1)) - 1
    mask = 1
    for size, number in zip((sizes // scale).tolist(), most.tolist(), strict=True):
        left = min(number, top // size) if size else 0
        part = 1
        while left > 0:
            take = min(part, left)
            mask |= (mask << (size * take)) & full
            left -= take
            part *= 2
    mask |= 1 << top
    bits = np.frombuffer(mask.to_bytes(top // 8 + 1, "little"), np.uint8)
    return np.asarray(np.flatnonzero(np.unpackbits(bits, bitorder="little")[: top + 1]).astype(np.int64))


def _unfolded(tree: Vector, w: Vector, h: Vector, kind: Vector) -> Vector:
    """Return kind, x, y, width and height of every piece in a tree of blocks joined beside and above one another."""
    if not len(tree):
        return np.zeros((0, 5), np.int64)
    sizes: list[tuple[int, int]] = []
    for first, second, way in tree.tolist():
        if second < 0:
            sizes.append((int(w[first]), int(h[first])))
        elif way == 0:
            sizes.append((sizes[first][0] + sizes[second][0], max(sizes[first][1], sizes[second][1])))
        else:
            sizes.append((max(sizes[first][0], sizes[second][0]), sizes[first][1] + sizes[second][1]))
    rows = []
    stack = [(len(tree) - 1, 0, 0)]
    while stack:
        node, x, y = stack.pop()
        first, second, way = tree[node].tolist()
        if second < 0:
            rows.append((int(kind[first]), x, y, int(w[first]), int(h[first])))
        else:
            stack.append((first, x, y))
            stack.append((second, x + sizes[first][0], y) if way == 0 else (second, x, y + sizes[first][1]))
    return np.array(rows, np.int64)
