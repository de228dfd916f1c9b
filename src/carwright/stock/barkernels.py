"""Compiled loops of one-dimensional cutting, on whole numbers: knapsacks, greedy filling.

Imported only where a plan is made: the compiler for numeric Python takes about half a second to import, and a second or
two to compile these functions the first time; what it compiled is kept beside this file.

Shapes: ``w`` (n) lengths of the kinds of piece with the kerf added, longest first; ``d`` (n) how many are still wanted;
``p`` (n) what one is worth; ``caps`` (m) lengths of the stocks with one kerf added. A *fill* is a vector (n) of counts.
"""

from __future__ import annotations

import numpy as np
from numba import njit

__all__ = ["best_fit", "deep_fill", "dense_fill", "emptied", "minimum_slack", "worthy_fills"]


@njit(cache=True)
def dense_fill(w, p, d, caps):
    """Return (values (m), fills (m, n), work): the most valuable fill of each stock, by dynamic programming.

    ``p`` are whole numbers, so that the values are exact. Copies are split into powers of two.
    """
    n = w.shape[0]
    m = caps.shape[0]
    top = 0
    for s in range(m):
        top = max(top, caps[s])
    parts = 0
    for i in range(n):
        if p[i] > 0 and w[i] <= top:
            left = min(d[i], top // w[i])
            size = 1
            while left > 0:
                take = min(size, left)
                parts += 1
                left -= take
                size *= 2
    kind = np.empty(parts, np.int64)
    count = np.empty(parts, np.int64)
    k = 0
    for i in range(n):
        if p[i] > 0 and w[i] <= top:
            left = min(d[i], top // w[i])
            size = 1
            while left > 0:
                take = min(size, left)
                kind[k] = i
                count[k] = take
                k += 1
                left -= take
                size *= 2
    best = np.zeros(top + 1, np.int64)
    taken = np.zeros((parts, top + 1), np.bool_)
    for k in range(parts):
        weight = w[kind[k]] * count[k]
        worth = p[kind[k]] * count[k]
        for c in range(top, weight - 1, -1):
            other = best[c - weight] + worth
            if other > best[c]:
                best[c] = other
                taken[k, c] = True
    values = np.empty(m, np.int64)
    fills = np.zeros((m, n), np.int64)
    for s in range(m):
        c = caps[s]
        values[s] = best[c]
        for k in range(parts - 1, -1, -1):
            if taken[k, c]:
                fills[s, kind[k]] += count[k]
                c -= w[kind[k]] * count[k]
    return values, fills, parts * (top + 1)


@njit(cache=True)
def deep_fill(w, p, d, cap, floor, limit):
    """Return (value, fill (n), nodes): the most valuable fill of one stock, by depth first with a fractional bound.

    Independent of the size of ``cap``; right for few pieces to a stock. ``nodes`` above ``limit`` says that it gave up
    and the value is not the best. Fills worth no more than ``floor`` are not looked for.
    """
    n = w.shape[0]
    ratio = np.empty(n, np.float64)
    for i in range(n):
        ratio[i] = p[i] / w[i] if d[i] > 0 and w[i] <= cap else -1.0
    order = np.argsort(-ratio)
    m = 0
    for k in range(n):
        if ratio[order[k]] > 0:
            m += 1
    ww = np.empty(m + 1, np.int64)
    pp = np.empty(m + 1, np.int64)
    dd = np.empty(m + 1, np.int64)
    rr = np.zeros(m + 1, np.float64)
    least = np.empty(m + 1, np.int64)
    for k in range(m):
        i = order[k]
        ww[k] = w[i]
        pp[k] = p[i]
        dd[k] = d[i]
        rr[k] = p[i] / w[i]
    least[m] = cap + 1
    for k in range(m - 1, -1, -1):
        least[k] = min(least[k + 1], ww[k])
    x = np.zeros(m + 1, np.int64)
    bestx = np.zeros(m + 1, np.int64)
    best = floor
    room = cap
    value = 0
    nodes = 0
    k = 0
    while True:
        # Go down: take as many as fit of each kind, while the bound says that it may pay.
        while k < m and nodes <= limit:
            nodes += 1
            if room < least[k]:
                k = m
                break
            # Bound: fill what is left by worth per length, the last one in part.
            rest = room
            bound = float(value)
            j = k
            while j < m:
                part = ww[j] * dd[j]
                if part <= rest:
                    rest -= part
                    bound += pp[j] * dd[j]
                else:
                    bound += rest * rr[j]
                    break
                j += 1
            if bound < best + 1 - 1e-6:
                break
            take = min(dd[k], room // ww[k])
            x[k] = take
            room -= take * ww[k]
            value += take * pp[k]
            k += 1
        if k >= m and value > best:
            best = value
            for j in range(m):
                bestx[j] = x[j]
        if nodes > limit:
            break
        # Go back: one less of the last kind taken.
        k = min(k, m) - 1
        while k >= 0 and x[k] == 0:
            k -= 1
        if k < 0:
            break
        x[k] -= 1
        room += ww[k]
        value -= pp[k]
        k += 1
        for j in range(k, m):
            if x[j] > 0:
                room += x[j] * ww[j]
                value -= x[j] * pp[j]
                x[j] = 0
    fill = np.zeros(n, np.int64)
    for j in range(m):
        fill[order[j]] = bestx[j]
    return best, fill, nodes


@njit(cache=True)
def _fullest(w, d, room, x, limit):
    """Fill ``room`` as full as can be from kinds ``d``, larger ones first, into ``x``; return what is left over.

    Depth first; stops at the first exact fill or after ``limit`` steps.
    """
    n = w.shape[0]
    last = n - 1
    while last >= 0 and d[last] == 0:
        last -= 1
    for i in range(n):
        x[i] = 0
    if last < 0 or w[last] > room:
        return room
    tail = np.zeros(n + 2, np.int64)
    for i in range(last, -1, -1):
        tail[i] = tail[i + 1] + w[i] * d[i]
    now = np.zeros(n, np.int64)
    best = room
    left = room
    steps = 0
    k = 0
    while True:
        while k <= last:
            steps += 1
            if left < w[last] or left - tail[k] >= best:
                break
            take = min(d[k], left // w[k])
            now[k] = take
            left -= take * w[k]
            k += 1
        if left < best:
            best = left
            for i in range(n):
                x[i] = now[i]
            if best == 0:
                return best
        if steps > limit:
            return best
        k = min(k, last + 1) - 1
        while k >= 0 and now[k] == 0:
            k -= 1
        if k < 0:
            return best
        now[k] -= 1
        left += w[k]
        k += 1
        for j in range(k, last + 1):
            if now[j] > 0:
                left += now[j] * w[j]
                now[j] = 0


@njit(cache=True)
def minimum_slack(w, demand, caps, costs, counts, seed, limit):
    """Return (fills (b, n), stock of each (b), cost, short): bars filled one after the other as full as can be.

    Each bar holds the longest piece still wanted (``seed`` 0) or one of the longest by lot, then whatever fills it
    best; among the stocks the one with least cost for what it holds. Stops short where the stocks run out: ``short``
    pieces are then left over.
    """
    n = w.shape[0]
    m = caps.shape[0]
    d = demand.copy()
    c = counts.copy()
    total = 0
    for i in range(n):
        total += d[i]
    fills = np.zeros((total, n), np.int64)
    used = np.empty(total, np.int64)
    b = 0
    cost = 0
    state = np.uint64(seed * 2654435761 + 88172645463325252)
    x = np.zeros(n, np.int64)
    bestx = np.zeros(n, np.int64)
    while total > 0:
        first = -1
        for i in range(n):
            if d[i] > 0:
                if first < 0:
                    first = i
                if seed == 0:
                    break
                state ^= state << np.uint64(13)
                state ^= state >> np.uint64(7)
                state ^= state << np.uint64(17)
                if (state >> np.uint64(20)) % np.uint64(4) != 0:
                    first = i
                    break
        length = 0
        for i in range(n):
            length += d[i] * w[i]
        pick = -1
        rate = 0.0
        for s in range(m):
            if c[s] == 0 or caps[s] < w[first]:
                continue
            d[first] -= 1
            over = _fullest(w, d, caps[s] - w[first], x, limit)
            d[first] += 1
            held = caps[s] - over
            # All that is left fits: nothing more is to be paid after this one.
            r = costs[s] / held if held < length else costs[s] / (4.0 * held)
            if pick < 0 or r < rate - 1e-12 or (r <= rate + 1e-12 and caps[s] < caps[pick]):
                pick = s
                rate = r
                for i in range(n):
                    bestx[i] = x[i]
        if pick < 0:
            break
        bestx[first] += 1
        for i in range(n):
            fills[b, i] = bestx[i]
            d[i] -= bestx[i]
            total -= bestx[i]
        used[b] = pick
        cost += costs[pick]
        if c[pick] > 0:
            c[pick] -= 1
        b += 1
    return fills[:b], used[:b], cost, total


@njit(cache=True)
def best_fit(w, demand, caps, order, counts, first_fit):
    """Return (fills (b, n), stock of each (b), short): best-fit (or first-fit) decreasing.

    A piece that fits no bar in use opens the first stock in ``order`` that holds it and is not used up.
    """
    n = w.shape[0]
    total = 0
    for i in range(n):
        total += demand[i]
    c = counts.copy()
    fills = np.zeros((total, n), np.int64)
    used = np.empty(total, np.int64)
    room = np.empty(total, np.int64)
    b = 0
    short = 0
    for i in range(n):
        for _ in range(demand[i]):
            pick = -1
            for k in range(b):
                if room[k] >= w[i] and (pick < 0 or room[k] < room[pick]):
                    pick = k
                    if first_fit:
                        break
            if pick < 0:
                for s in order:
                    if c[s] != 0 and caps[s] >= w[i]:
                        if c[s] > 0:
                            c[s] -= 1
                        pick = b
                        used[b] = s
                        room[b] = caps[s]
                        b += 1
                        break
            if pick < 0:
                short += 1
            else:
                fills[pick, i] += 1
                room[pick] -= w[i]
    return fills[:b], used[:b], short


@njit(cache=True)
def worthy_fills(w, p, d, cap, least, most, limit):
    """Return (fills (b, n), whole, nodes): the full fills of one stock that are worth ``least`` or more.

    A full one has room for no other piece. ``whole`` is False where there are more than ``most`` of them, or where more
    than ``limit`` steps were needed.
    """
    n = w.shape[0]
    ratio = np.empty(n, np.float64)
    for i in range(n):
        ratio[i] = p[i] / w[i]
    order = np.argsort(-ratio)
    ww = np.empty(n, np.int64)
    pp = np.empty(n, np.int64)
    dd = np.empty(n, np.int64)
    for k in range(n):
        ww[k] = w[order[k]]
        pp[k] = p[order[k]]
        dd[k] = d[order[k]]
    found = np.zeros((most, n), np.int64)
    b = 0
    x = np.zeros(n, np.int64)
    room = cap
    value = 0
    nodes = 0
    k = 0
    while True:
        alive = True
        while k < n:
            nodes += 1
            rest = room
            bound = float(value)
            j = k
            while j < n:
                part = ww[j] * dd[j]
                if part <= rest:
                    rest -= part
                    bound += pp[j] * dd[j]
                else:
                    bound += rest * (pp[j] / ww[j])
                    break
                j += 1
            if bound < least - 1e-3 * (1.0 + abs(least) * 1e-9):
                alive = False
                break
            take = min(dd[k], room // ww[k])
            x[k] = take
            room -= take * ww[k]
            value += take * pp[k]
            k += 1
        if alive and value >= least:
            full = True
            for j in range(n):
                if x[j] < dd[j] and ww[j] <= room:
                    full = False
                    break
            if full:
                if b == most:
                    return found[:0], False, nodes
                for j in range(n):
                    found[b, order[j]] = x[j]
                b += 1
        if nodes > limit:
            return found[:0], False, nodes
        k = min(k, n) - 1
        while k >= 0 and x[k] == 0:
            k -= 1
        if k < 0:
            return found[:b], True, nodes
        x[k] -= 1
        room += ww[k]
        value -= pp[k]
        k += 1
        for j in range(k, n):
            if x[j] > 0:
                room += x[j] * ww[j]
                value -= x[j] * pp[j]
                x[j] = 0


@njit(cache=True)
def emptied(w, given, room, target, limit):
    """Return fills (b, n) with bar ``target`` as empty as exchanges with one other bar at a time can make it.

    Each other bar is filled anew, as full as can be, from what it and the target hold; ``room`` (b) are the lengths.
    """
    fills = given.copy()
    b, n = fills.shape
    x = np.zeros(n, np.int64)
    both = np.zeros(n, np.int64)
    again = True
    rounds = 0
    while again and rounds < 20:
        again = False
        rounds += 1
        for j in range(b):
            if j == target:
                continue
            held = 0
            for i in range(n):
                both[i] = fills[j, i] + fills[target, i]
                held += fills[j, i] * w[i]
            if held == room[j]:
                continue
            over = _fullest(w, both, room[j], x, limit)
            if room[j] - over > held:
                again = True
                for i in range(n):
                    fills[target, i] = both[i] - x[i]
                    fills[j, i] = x[i]
    return fills
