"""Compiled loops of the job shop: tabu search over the orders on the machines, with path relinking between good ones.

Imported only where a bare problem is solved: the compiler takes about half a second to import, and some seconds to
compile these functions the first time; what it compiled is kept beside this file.

Shapes: operations 0..n-1, those of a job one after the other. ``p`` (n) minutes, ``lag`` (n) least wait behind each,
``jp`` and ``js`` (n) the operation before and behind in the job or -1, ``mach`` (n) the machine or -1. ``mp`` and
``ms`` (n) are the operation before and behind on the machine or -1: these two are a *selection*. A *head* is the
earliest start, a *tail* the longest way from the start of an operation to the end of all.

Source: moves after E. Balas, A. Vazacopoulos, Management Science 44 (1998); path relinking after B. Peng, Z. Lu,
T. C. E. Cheng, Computers & OR 53 (2015), both from memory.
"""

from __future__ import annotations

import numpy as np
from numba import njit

__all__ = ["improved"]


@njit(cache=True)
def _next(state):
    """Return the next number of a small linear generator, 0 <= number < 2**31, and move its state (1)."""
    state[0] = (state[0] * 1103515245 + 12345) & 0x7FFFFFFF
    return state[0] >> 8


@njit(cache=True)
def _evaluate(p, lag, jp, js, mp, ms, r, q, order, degree):
    """Fill heads ``r`` and tails ``q``; return the makespan, or -1 where the selection runs in a circle."""
    n = p.shape[0]
    count = 0
    for i in range(n):
        degree[i] = (jp[i] >= 0) + (mp[i] >= 0)
        if degree[i] == 0:
            order[count] = i
            count += 1
    at = 0
    while at < count:
        i = order[at]
        at += 1
        head = 0
        if jp[i] >= 0:
            head = r[jp[i]] + p[jp[i]] + lag[jp[i]]
        if mp[i] >= 0:
            head = max(head, r[mp[i]] + p[mp[i]])
        r[i] = head
        if js[i] >= 0:
            degree[js[i]] -= 1
            if degree[js[i]] == 0:
                order[count] = js[i]
                count += 1
        if ms[i] >= 0:
            degree[ms[i]] -= 1
            if degree[ms[i]] == 0:
                order[count] = ms[i]
                count += 1
    if count < n:
        return -1
    most = 0
    for k in range(n - 1, -1, -1):
        i = order[k]
        tail = lag[i]
        if js[i] >= 0:
            tail += q[js[i]]
        if ms[i] >= 0:
            tail = max(tail, q[ms[i]])
        q[i] = tail + p[i]
        most = max(most, r[i] + q[i])
    return most


@njit(cache=True)
def _after_job(p, lag, jp, r, i):
    return r[jp[i]] + p[jp[i]] + lag[jp[i]] if jp[i] >= 0 else 0


@njit(cache=True)
def _before_job(lag, js, q, i):
    return lag[i] + (q[js[i]] if js[i] >= 0 else 0)


@njit(cache=True)
def _forward(p, lag, jp, js, mp, ms, r, q, u, v, heads):
    """Return about how long the whole takes once ``u`` stands right behind ``v`` on its machine."""
    ready = r[mp[u]] + p[mp[u]] if mp[u] >= 0 else 0
    count = 0
    i = ms[u]
    while True:
        heads[count] = max(_after_job(p, lag, jp, r, i), ready)
        ready = heads[count] + p[i]
        count += 1
        if i == v:
            break
        i = ms[i]
    head = max(_after_job(p, lag, jp, r, u), ready)
    tail = p[u] + max(_before_job(lag, js, q, u), q[ms[v]] if ms[v] >= 0 else 0)
    most = head + tail
    i = v
    for k in range(count - 1, -1, -1):
        tail = p[i] + max(_before_job(lag, js, q, i), tail)
        most = max(most, heads[k] + tail)
        i = mp[i]
    return most


@njit(cache=True)
def _backward(p, lag, jp, js, mp, ms, r, q, u, v, heads):
    """Return about how long the whole takes once ``v`` stands right before ``u`` on its machine."""
    ready = r[mp[u]] + p[mp[u]] if mp[u] >= 0 else 0
    head_v = max(_after_job(p, lag, jp, r, v), ready)
    ready = head_v + p[v]
    count = 0
    i = u
    while i != v:
        heads[count] = max(_after_job(p, lag, jp, r, i), ready)
        ready = heads[count] + p[i]
        count += 1
        i = ms[i]
    tail = q[ms[v]] if ms[v] >= 0 else 0
    most = 0
    i = mp[v]
    for k in range(count - 1, -1, -1):
        tail = p[i] + max(_before_job(lag, js, q, i), tail)
        most = max(most, heads[k] + tail)
        i = mp[i]
    tail = p[v] + max(_before_job(lag, js, q, v), tail)
    return max(most, head_v + tail)


@njit(cache=True)
def _place_behind(mp, ms, u, v):
    """Take ``u`` out of its machine's order and put it right behind ``v``."""
    if mp[u] >= 0:
        ms[mp[u]] = ms[u]
    if ms[u] >= 0:
        mp[ms[u]] = mp[u]
    ms[u] = ms[v]
    mp[u] = v
    if ms[v] >= 0:
        mp[ms[v]] = u
    ms[v] = u


@njit(cache=True)
def _place_before(mp, ms, v, u):
    """Take ``v`` out of its machine's order and put it right before ``u``."""
    if mp[v] >= 0:
        ms[mp[v]] = ms[v]
    if ms[v] >= 0:
        mp[ms[v]] = mp[v]
    mp[v] = mp[u]
    ms[v] = u
    if mp[u] >= 0:
        ms[mp[u]] = v
    mp[u] = v


@njit(cache=True)
def _tabu(p, lag, jp, js, mach, mp, ms, least, tenure, patience, budget, state, best_mp, best_ms):
    """Search from the selection (``mp``, ``ms``), which is moved; the best goes to ``best_mp``, ``best_ms``.

    Returns (best makespan, moves made).
    """
    n = p.shape[0]
    r = np.zeros(n, np.int64)
    q = np.zeros(n, np.int64)
    order = np.zeros(n, np.int64)
    degree = np.zeros(n, np.int64)
    heads = np.zeros(n, np.int64)
    path = np.zeros(n, np.int64)
    until = np.zeros((n, n), np.int64)
    now = _evaluate(p, lag, jp, js, mp, ms, r, q, order, degree)
    best = now
    best_mp[:] = mp
    best_ms[:] = ms
    quiet = 0
    step = 0
    while step < budget and quiet < patience and best > least:
        step += 1
        quiet += 1
        # One critical path, drawn by lot where it branches.
        starts = 0
        i = -1
        for k in range(n):
            if r[k] == 0 and q[k] == now:
                starts += 1
                if _next(state) % starts == 0:
                    i = k
        length = 0
        while i >= 0:
            path[length] = i
            length += 1
            end = r[i] + p[i]
            by_job = js[i] >= 0 and r[js[i]] == end + lag[i] and r[js[i]] + q[js[i]] == now
            by_machine = ms[i] >= 0 and r[ms[i]] == end and end + q[ms[i]] == now
            if by_job and by_machine:
                i = js[i] if _next(state) % 2 == 0 else ms[i]
            elif by_job:
                i = js[i]
            elif by_machine:
                i = ms[i]
            else:
                i = -1
        chosen = -1
        chosen_u = -1
        chosen_v = -1
        chosen_behind = True
        ties = 0
        wild = 0
        wild_u = -1
        wild_v = -1
        wild_behind = True
        first = 0
        while first < length:
            last = first
            while last + 1 < length and mach[path[first]] >= 0 and ms[path[last]] == path[last + 1]:
                last += 1
            for a in range(first, last):
                for b in range(a + 1, last + 1):
                    if a != first and b != last:
                        continue
                    u = path[a]
                    v = path[b]
                    for behind in (True, False):
                        if b == a + 1 and not behind:
                            continue
                        if behind:
                            if js[u] >= 0 and q[v] < q[js[u]]:
                                continue
                            value = _forward(p, lag, jp, js, mp, ms, r, q, u, v, heads)
                        else:
                            if jp[v] >= 0 and r[u] + p[u] < r[jp[v]] + p[jp[v]]:
                                continue
                            value = _backward(p, lag, jp, js, mp, ms, r, q, u, v, heads)
                        forbidden = False
                        for k in range(a, b + 1):
                            x = path[k]
                            if behind and x != u and until[x, u] > step:
                                forbidden = True
                            if not behind and x != v and until[v, x] > step:
                                forbidden = True
                        wild += 1
                        if _next(state) % wild == 0:
                            wild_u = u
                            wild_v = v
                            wild_behind = behind
                        if forbidden and value >= best:
                            continue
                        if chosen < 0 or value < chosen:
                            ties = 0
                        if chosen < 0 or value <= chosen:
                            ties += 1
                            if _next(state) % ties == 0:
                                chosen = value
                                chosen_u = u
                                chosen_v = v
                                chosen_behind = behind
            first = last + 1
        if chosen < 0:
            if wild == 0:
                break  # the critical path is one job, or one machine without choice: nothing can be shorter
            chosen_u = wild_u
            chosen_v = wild_v
            chosen_behind = wild_behind
        hold = step + tenure + _next(state) % (tenure // 2 + 1)
        if chosen_behind:
            x = chosen_u
            while x != chosen_v:
                x = ms[x]
                until[chosen_u, x] = hold
            _place_behind(mp, ms, chosen_u, chosen_v)
        else:
            x = chosen_v
            while x != chosen_u:
                x = mp[x]
                until[x, chosen_v] = hold
            _place_before(mp, ms, chosen_v, chosen_u)
        now = _evaluate(p, lag, jp, js, mp, ms, r, q, order, degree)
        if now < 0:
            break  # operations of no length can close a circle: what was found stands
        if now < best:
            best = now
            best_mp[:] = mp
            best_ms[:] = ms
            quiet = 0
    return best, step


@njit(cache=True)
def _places(mp, ms, place):
    """Fill ``place`` (n) with each operation's rank on its machine."""
    for i in range(mp.shape[0]):
        if mp[i] < 0:
            rank = 0
            k = i
            while k >= 0:
                place[k] = rank
                rank += 1
                k = ms[k]


@njit(cache=True)
def _towards(p, lag, jp, js, mp, ms, goal, share, state, scratch):
    """Swap neighbours on machines that stand the other way in ``goal`` (ranks) until ``share`` of them are turned."""
    n = p.shape[0]
    r, q, order, degree = scratch
    unlike = 0
    for i in range(n):
        k = ms[i]
        while k >= 0:
            if goal[i] > goal[k]:
                unlike += 1
            k = ms[k]
    wanted = int(unlike * share)
    for _ in range(wanted):
        seen = 0
        chosen = -1
        for i in range(n):
            if ms[i] >= 0 and goal[i] > goal[ms[i]]:
                seen += 1
                if _next(state) % seen == 0:
                    chosen = i
        if chosen < 0:
            return
        other = ms[chosen]
        _place_behind(mp, ms, chosen, other)
        if _evaluate(p, lag, jp, js, mp, ms, r, q, order, degree) < 0:
            _place_behind(mp, ms, other, chosen)


@njit(cache=True)
def _shaken(p, lag, jp, js, mp, ms, swaps, state, scratch):
    """Swap neighbours on machines, drawn by lot, ``swaps`` times; those that would close a circle are left."""
    n = p.shape[0]
    r, q, order, degree = scratch
    for _ in range(swaps):
        one = _next(state) % n
        two = ms[one]
        if two < 0:
            continue
        _place_behind(mp, ms, one, two)
        if _evaluate(p, lag, jp, js, mp, ms, r, q, order, degree) < 0:
            _place_behind(mp, ms, two, one)


@njit(cache=True)
def improved(p, lag, jp, js, mach, first_mp, first_ms, many, least, budget, patience, seed):
    """Return (makespan, starts (n)) of the best schedule found.

    Args:
        p: minutes, and with the next four the problem, as above.
        lag: least wait behind each operation.
        jp: operation before it in the job.
        js: operation behind it in the job.
        mach: its machine.
        first_mp: selections to begin with (k, n), all without circles.
        first_ms: the same, operations behind.
        many: how many good schedules are kept to be combined, >= 2; those that are wanting are shaken out of the first.
        least: a makespan that cannot be beaten; the search ends there.
        budget: most moves in all.
        patience: moves without gain after which one search ends.
        seed: of the lots that are drawn.
    """
    given, n = first_mp.shape
    state = np.array([seed], np.int64)
    machines = 1
    jobs = 0
    for i in range(n):
        machines = max(machines, mach[i] + 1)
        jobs += jp[i] < 0
    tenure = 10 + jobs // machines
    elite_mp = np.empty((many, n), np.int64)
    elite_ms = np.empty((many, n), np.int64)
    value = np.zeros(many, np.int64)
    scratch = (np.zeros(n, np.int64), np.zeros(n, np.int64), np.zeros(n, np.int64), np.zeros(n, np.int64))
    mp = np.zeros(n, np.int64)
    ms = np.zeros(n, np.int64)
    goal = np.zeros(n, np.int64)
    found_mp = np.zeros(n, np.int64)
    found_ms = np.zeros(n, np.int64)
    kept = 0
    best = 0
    made = 0
    rounds = 0
    while made < budget and (kept == 0 or value[best] > least):
        rounds += 1
        if kept < many:
            mp[:] = first_mp[rounds % given]
            ms[:] = first_ms[rounds % given]
            if rounds > given:
                _shaken(p, lag, jp, js, mp, ms, n, state, scratch)
        else:
            one = _next(state) % many
            two = _next(state) % (many - 1)
            two += two >= one
            mp[:] = elite_mp[one]
            ms[:] = elite_ms[one]
            _places(elite_mp[two], elite_ms[two], goal)
            share = 0.3 + 0.4 * (_next(state) % 1000) / 1000.0
            _towards(p, lag, jp, js, mp, ms, goal, share, state, scratch)
        found, steps = _tabu(
            p, lag, jp, js, mach, mp, ms, least, tenure, patience, budget - made, state, found_mp, found_ms
        )
        made += steps + 1
        place = kept
        for k in range(kept):
            if value[k] == found and np.array_equal(found_mp, elite_mp[k]):
                place = -1
        if place == many:
            place = 0
            for k in range(many):
                if value[k] > value[place]:
                    place = k
            if found > value[place]:
                place = -1
        if place >= 0:
            value[place] = found
            elite_mp[place] = found_mp
            elite_ms[place] = found_ms
            kept = max(kept, place + 1)
            if found < value[best] or kept == 1:
                best = place
        elif kept < many and rounds > 4 * many:
            many = max(2, kept)  # so few schedules exist that are worth keeping
            if kept < 2:
                break
    _evaluate(p, lag, jp, js, elite_mp[best], elite_ms[best], scratch[0], scratch[1], scratch[2], scratch[3])
    return value[best], scratch[0]
