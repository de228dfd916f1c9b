"""Compiled loops of guillotine cutting, on whole numbers: bounds by dynamic programming, best-first search, insertion.

Imported only where a plan is made. The kerf is added to every piece and once to every sheet, so that parts touch.

Shapes: ``w``, ``h`` (n) the blocks, one for each orientation of each kind of piece; ``kind`` (n) which kind a block is;
``v`` (n) worth of one; ``most`` (kinds) how many of a kind there may be. ``xs``, ``ys`` are the places where a cut can
fall, 0 and the whole side among them, and ``xat``, ``yat`` the number of the last place not beyond a length.
"""

from __future__ import annotations

import numpy as np
from numba import njit

__all__ = ["best_first", "free_bound", "insertion", "outer_bound"]


@njit(cache=True)
def free_bound(w, h, v, xs, ys, xat, yat):
    """Return (len(xs), len(ys)): greatest value of a rectangle where every kind may be had as often as wanted.

    P. C. Gilmore, R. E. Gomory, Operations Research 14 (1966), cuts at the places of the pieces only.
    """
    nx, ny = xs.shape[0], ys.shape[0]
    best = np.zeros((nx, ny), np.int64)
    for i in range(w.shape[0]):
        if w[i] <= xs[nx - 1] and h[i] <= ys[ny - 1]:
            a, b = xat[w[i]], yat[h[i]]
            best[a, b] = max(best[a, b], v[i])
    for a in range(nx):
        for b in range(ny):
            top = best[a, b]
            if a > 0:
                top = max(top, best[a - 1, b])
            if b > 0:
                top = max(top, best[a, b - 1])
            x = xs[a]
            k = 1
            while k < a and 2 * xs[k] <= x:
                other = best[k, b] + best[xat[x - xs[k]], b]
                if other > top:
                    top = other
                k += 1
            y = ys[b]
            k = 1
            while k < b and 2 * ys[k] <= y:
                other = best[a, k] + best[a, yat[y - ys[k]]]
                if other > top:
                    top = other
                k += 1
            best[a, b] = top
    return best


@njit(cache=True)
def outer_bound(inner, xs, ys, xat, yat):
    """Return (len(xs), len(ys)): greatest value outside a block of that size in the sheet's corner.

    K. V. Viswanathan, A. Bagchi, Operations Research 41 (1993): what is laid beside or above it, and so on.
    """
    nx, ny = xs.shape[0], ys.shape[0]
    outer = np.zeros((nx, ny), np.int64)
    width, height = xs[nx - 1], ys[ny - 1]
    for a in range(nx - 1, -1, -1):
        for b in range(ny - 1, -1, -1):
            top = 0
            k = 1
            while k < nx and xs[a] + xs[k] <= width:
                other = outer[xat[xs[a] + xs[k]], b] + inner[k, b]
                if xat[xs[a] + xs[k]] == a:
                    other = inner[k, b]
                if other > top:
                    top = other
                k += 1
            # What is left over beside may be waste.
            if a + 1 < nx and outer[a + 1, b] > top:
                top = outer[a + 1, b]
            k = 1
            while k < ny and ys[b] + ys[k] <= height:
                other = outer[a, yat[ys[b] + ys[k]]] + inner[a, k]
                if other > top:
                    top = other
                k += 1
            if b + 1 < ny and outer[a, b + 1] > top:
                top = outer[a, b + 1]
            outer[a, b] = top
    return outer


@njit(cache=True)
def best_first(w, h, v, kind, most, width, height, outer, xat, yat, scale, floor, room, limit, least):
    """Return (value, bound, tree (k, 3), blocks, steps): the best of one sheet by building up from pieces.

    Blocks are joined beside or above one another, the most promising first, while value plus bound can beat the best.
    ``tree`` rows are (first, second, way): a leaf is (block of ``w``, -1, -1), way 0 is beside, 1 above; the last row
    is the answer, and there is none where nothing beats ``floor``. ``bound`` is proven; it equals the value where the
    search came to its end within ``room`` blocks and ``limit`` steps. ``scale`` is one step of ``xat`` and ``yat``.
    ``least`` is the narrowest strip that may be cut off, 0 for any.
    """
    n = w.shape[0]
    m = most.shape[0]
    bw = np.empty(room, np.int64)
    bh = np.empty(room, np.int64)
    bv = np.empty(room, np.int64)
    bf = np.empty(room, np.int64)
    tree = np.empty((room, 3), np.int64)
    counts = np.zeros((room, m), np.int16)
    heap = np.empty(room, np.int64)
    closed = np.empty(room, np.int64)
    slots = 1
    while slots < 2 * room:
        slots *= 2
    head = np.full(slots, -1, np.int64)
    link = np.full(room, -1, np.int64)
    area = width * height
    worth = np.zeros(m, np.int64)
    size = np.zeros(m, np.int64)
    for i in range(n):
        worth[kind[i]] = v[i]
        size[kind[i]] = w[i] * h[i]
    rank = np.argsort(-(worth / size))
    lots = np.empty(m, np.uint64)
    state = np.uint64(88172645463325252)
    for i in range(m):
        state ^= state << np.uint64(13)
        state ^= state >> np.uint64(7)
        state ^= state << np.uint64(17)
        lots[i] = state
    number = 0
    waiting = 0
    done = 0
    best = floor
    answer = -1
    steps = 0
    top = np.int64(0)
    whole = True
    source = 0
    now = np.zeros(m, np.int16)
    current = -1
    stage = -1  # -1: the single pieces; else index of the closed block that the current one is joined with.
    turn = 0
    while True:
        # Make the next candidate: size, value, counts.
        if stage < 0:
            if source == n:
                stage = 0
                continue
            nw, nh, nv = w[source], h[source], v[source]
            for i in range(m):
                now[i] = 0
            now[kind[source]] = 1
            first, second, way = source, -1, -1
            source += 1
            if nw > width or nh > height or most[kind[first]] < 1:
                continue
            if (nw < width and width - nw < least) or (nh < height and height - nh < least):
                continue
        else:
            if current >= 0 and turn == 2:
                turn = 0
                stage += 1
            if current < 0 or stage >= done:
                # Take the most promising block next.
                if waiting == 0:
                    break
                current = heap[0]
                top = bf[current]
                if top <= best:
                    break
                waiting -= 1
                last = heap[waiting]
                k = 0
                while True:
                    c = 2 * k + 1
                    if c >= waiting:
                        break
                    if c + 1 < waiting and (
                        bf[heap[c + 1]] > bf[heap[c]]
                        or (bf[heap[c + 1]] == bf[heap[c]] and bv[heap[c + 1]] > bv[heap[c]])
                    ):
                        c += 1
                    if bf[heap[c]] > bf[last] or (bf[heap[c]] == bf[last] and bv[heap[c]] > bv[last]):
                        heap[k] = heap[c]
                        k = c
                    else:
                        break
                heap[k] = last
                closed[done] = current
                done += 1
                stage = 0
                turn = 0
            other = closed[stage]
            way = turn
            turn += 1
            steps += 1
            if steps > limit:
                whole = False
                break
            if way == 0:
                nw = bw[current] + bw[other]
                if nw > width:
                    continue
                nh = max(bh[current], bh[other])
                over = abs(bh[current] - bh[other])
            else:
                nh = bh[current] + bh[other]
                if nh > height:
                    continue
                nw = max(bw[current], bw[other])
                over = abs(bw[current] - bw[other])
            if least > 0 and (
                (over > 0 and over < least)
                or (nw < width and width - nw < least)
                or (nh < height and height - nh < least)
            ):
                continue
            nv = bv[current] + bv[other]
            if nv + outer[xat[nw // scale], yat[nh // scale]] <= best:
                continue
            fits = True
            for i in range(m):
                now[i] = counts[current, i] + counts[other, i]
                if now[i] > most[i]:
                    fits = False
                    break
            if not fits:
                continue
            first, second = current, other
        bound = nv + outer[xat[nw // scale], yat[nh // scale]]
        if bound <= best:
            continue
        # What is left of every kind, by worth for its area, in the area that is left.
        rest = area - nw * nh
        more = float(nv)
        for k in range(m):
            i = rank[k]
            left = most[i] - now[i]
            if left > 0:
                if left * size[i] <= rest:
                    rest -= left * size[i]
                    more += left * worth[i]
                else:
                    more += rest * (worth[i] / size[i])
                    break
        if more < bound:
            bound = np.int64(more + 1e-6)
        if bound <= best and nv <= best:
            continue
        # The same pieces in no more room are known already?
        key = np.uint64(0)
        for i in range(m):
            key += lots[i] * np.uint64(now[i])
        slot = np.int64(key >> np.uint64(1)) & (slots - 1)
        seen = False
        k = head[slot]
        while k >= 0:
            if bw[k] <= nw and bh[k] <= nh:
                same = True
                for i in range(m):
                    if counts[k, i] != now[i]:
                        same = False
                        break
                if same and (least == 0 or (bw[k] == nw and bh[k] == nh)):
                    seen = True
                    break
            k = link[k]
        if seen:
            continue
        if number == room:
            whole = False
            break
        bw[number], bh[number], bv[number], bf[number] = nw, nh, nv, bound
        tree[number, 0], tree[number, 1], tree[number, 2] = first, second, way
        for i in range(m):
            counts[number, i] = now[i]
        link[number] = head[slot]
        head[slot] = number
        if nv > best:
            best = nv
            answer = number
        if bound > best:
            k = waiting
            waiting += 1
            while k > 0:
                p = (k - 1) // 2
                if bf[heap[p]] < bound or (bf[heap[p]] == bound and bv[heap[p]] < nv):
                    heap[k] = heap[p]
                    k = p
                else:
                    break
            heap[k] = number
        number += 1
    proven = best
    if not whole:
        proven = max(best, top)
        if waiting > 0:
            proven = max(proven, bf[heap[0]])
    # The rows that the answer is made of, each after what it is made of.
    if answer < 0:
        return best, proven, tree[:0].copy(), number, steps
    used = np.zeros(number, np.bool_)
    used[answer] = True
    for k in range(answer, -1, -1):
        if used[k] and tree[k, 1] >= 0:
            used[tree[k, 0]] = True
            used[tree[k, 1]] = True
    place = np.cumsum(used) - 1
    rows = np.empty((place[answer] + 1, 3), np.int64)
    for k in range(answer + 1):
        if used[k]:
            rows[place[k], 0] = tree[k, 0] if tree[k, 1] < 0 else place[tree[k, 0]]
            rows[place[k], 1] = -1 if tree[k, 1] < 0 else place[tree[k, 1]]
            rows[place[k], 2] = tree[k, 2]
    return best, proven, rows, number, steps


@njit(cache=True)
def _place_all(seq, w, h, turn, sw, sh, cost, rate, counts, fit, split, opening, least, out, bins, free, state):
    """Insert pieces one after the other; return (bins used, cost, short, worth of what is placed by area squared).

    ``out`` (n, 5) receives bin, x, y, width, height; ``bins`` the sheet of each; ``free`` (f, 5) what is free.
    """
    number = 0
    frees = 0
    total = 0
    short = 0
    left = counts.copy()
    used = np.zeros(seq.shape[0] + 1, np.float64)
    for s in range(seq.shape[0]):
        i = seq[s]
        pick = -1
        flip = False
        score = 0.0
        for attempt in range(2):
            for k in range(frees):
                for r in range(2):
                    if r == 1 and not turn[i]:
                        break
                    pw = h[i] if r else w[i]
                    ph = w[i] if r else h[i]
                    dw = free[k, 3] - pw
                    dh = free[k, 4] - ph
                    if dw < 0 or dh < 0:
                        continue
                    if (dw > 0 and dw < least) or (dh > 0 and dh < least):
                        continue
                    if fit == 0:
                        rank = float(free[k, 3] * free[k, 4])
                    elif fit == 1:
                        rank = float(min(dw, dh))
                    elif fit == 2:
                        rank = float(max(dw, dh))
                    else:
                        rank = free[k, 0] * 1e12 + float(min(dw, dh))
                    if dw == 0 or dh == 0:
                        rank *= 0.5
                    if pick < 0 or rank < score:
                        pick, score, flip = k, rank, r == 1
            if pick >= 0 or attempt == 1:
                break
            # A new sheet: the cheapest for its area, the smallest, or the cheapest, of those that hold the piece.
            sheet = -1
            value = 0.0
            for t in range(sw.shape[0]):
                if left[t] == 0:
                    continue
                holds = False
                for r in range(2):
                    if r == 1 and not turn[i]:
                        break
                    dw = sw[t] - (h[i] if r else w[i])
                    dh = sh[t] - (w[i] if r else h[i])
                    if dw < 0 or dh < 0 or (dw > 0 and dw < least) or (dh > 0 and dh < least):
                        continue
                    holds = True
                if not holds:
                    continue
                if opening == 0:
                    rank = rate[t]
                elif opening == 1:
                    rank = float(sw[t] * sh[t])
                elif opening == 2:
                    rank = float(cost[t])
                else:
                    rank = -float(sw[t] * sh[t])
                if sheet < 0 or rank < value:
                    sheet, value = t, rank
            if sheet < 0:
                break
            if left[sheet] > 0:
                left[sheet] -= 1
            bins[number] = sheet
            total += cost[sheet]
            free[frees, 0] = number
            free[frees, 1] = 0
            free[frees, 2] = 0
            free[frees, 3] = sw[sheet]
            free[frees, 4] = sh[sheet]
            frees += 1
            number += 1
        if pick < 0:
            short += 1
            out[i, 0] = -1
            continue
        pw = h[i] if flip else w[i]
        ph = w[i] if flip else h[i]
        b, x, y = free[pick, 0], free[pick, 1], free[pick, 2]
        fw, fh = free[pick, 3], free[pick, 4]
        out[i, 0], out[i, 1], out[i, 2], out[i, 3], out[i, 4] = b, x, y, pw, ph
        used[b] += float(pw) * float(ph)
        dw, dh = fw - pw, fh - ph
        # Which cut goes right through: the strip above (across) or the one beside.
        if split == 0:
            across = dw < dh
        elif split == 1:
            across = dw >= dh
        elif split == 2:
            across = pw * dh > ph * dw
        elif split == 3:
            across = pw * dh <= ph * dw
        else:
            state[0] ^= state[0] << np.uint64(13)
            state[0] ^= state[0] >> np.uint64(7)
            state[0] ^= state[0] << np.uint64(17)
            across = (state[0] >> np.uint64(30)) & np.uint64(1) == np.uint64(0)
        frees -= 1
        for c in range(5):
            free[pick, c] = free[frees, c]
        if dw > 0:
            free[frees, 0], free[frees, 1], free[frees, 2] = b, x + pw, y
            free[frees, 3] = dw
            free[frees, 4] = ph if across else fh
            frees += 1
        if dh > 0:
            free[frees, 0], free[frees, 1], free[frees, 2] = b, x, y + ph
            free[frees, 3] = fw if across else pw
            free[frees, 4] = dh
            frees += 1
    fill = 0.0
    for b in range(number):
        share = used[b] / (float(sw[bins[b]]) * float(sh[bins[b]]))
        fill += share * share
    big = 0.0
    for k in range(frees):
        big = max(big, float(free[k, 3]) * float(free[k, 4]))
    return number, total, short, fill, big, frees


@njit(cache=True)
def insertion(w, h, turn, sw, sh, cost, rate, counts, least, enough, rounds, seed, worth, only):
    """Return (out (n, 5), sheet of each bin, cost, short, rounds done): the best of many insertions.

    Each round swaps some pieces of the order, or takes one that came into the emptiest bin to the front, and draws the
    rules of fit, split and opening anew; a plan that is no worse is kept. With ``only`` 1 a single sheet is filled for
    the greatest ``worth`` instead, and cost is minus that. Stops at ``enough``.
    """
    n = w.shape[0]
    state = np.empty(1, np.uint64)
    state[0] = np.uint64(seed * 2654435761 + 88172645463325252)
    size = np.empty(n, np.float64)
    for i in range(n):
        size[i] = float(w[i]) * float(h[i])
        if only == 1:
            size[i] = worth[i] / size[i]
    order = np.argsort(-size)
    trial = order.copy()
    out = np.full((n, 5), -1, np.int64)
    bins = np.zeros(n + 1, np.int64)
    free = np.zeros((3 * n + 3, 5), np.int64)
    best_out = out.copy()
    best_bins = bins[:0].copy()
    best_cost = np.int64(0)
    best_short = n + 1
    best_big = 0.0
    kept_cost = np.int64(0)
    kept_short = n + 1
    kept_fill = 0.0
    done = 0
    for round_ in range(rounds):
        done += 1
        fit, split, opening = round_ % 4, (round_ // 4) % 5, (round_ // 20) % 4
        if round_ >= 80:
            state[0] ^= state[0] << np.uint64(13)
            state[0] ^= state[0] >> np.uint64(7)
            state[0] ^= state[0] << np.uint64(17)
            draw = state[0] >> np.uint64(11)
            fit = np.int64(draw % np.uint64(4))
            split = np.int64((draw >> np.uint64(4)) % np.uint64(5))
            opening = np.int64((draw >> np.uint64(8)) % np.uint64(4))
            times = 1 + np.int64((draw >> np.uint64(12)) % np.uint64(3))
            for i in range(n):
                trial[i] = order[i]
            for _ in range(times):
                state[0] ^= state[0] << np.uint64(13)
                state[0] ^= state[0] >> np.uint64(7)
                state[0] ^= state[0] << np.uint64(17)
                draw = state[0] >> np.uint64(11)
                a = np.int64(draw % np.uint64(n))
                b = np.int64((draw >> np.uint64(20)) % np.uint64(n))
                if (draw >> np.uint64(41)) & np.uint64(1) == np.uint64(0):
                    trial[a], trial[b] = trial[b], trial[a]
                else:
                    item = trial[max(a, b)]
                    for k in range(max(a, b), min(a, b), -1):
                        trial[k] = trial[k - 1]
                    trial[min(a, b)] = item
        number, total, short, fill, big, _ = _place_all(
            trial, w, h, turn, sw, sh, cost, rate, counts, fit, split, opening, least, out, bins, free, state
        )
        if only == 1:
            total = 0
            short = 0
            for i in range(n):
                if out[i, 0] >= 0:
                    total -= worth[i]
            fill = big
        better = short < best_short or (
            short == best_short and (total < best_cost or (total == best_cost and big > best_big))
        )
        if better:
            best_short, best_cost, best_big = short, total, big
            best_out = out.copy()
            best_bins = bins[:number].copy()
            if short == 0 and total <= enough:
                break
        if (
            short < kept_short
            or (short == kept_short and total < kept_cost)
            or (short == kept_short and total == kept_cost and fill >= kept_fill)
        ):
            kept_short, kept_cost, kept_fill = short, total, fill
            for i in range(n):
                order[i] = trial[i]
    return best_out, best_bins, best_cost, best_short, done
