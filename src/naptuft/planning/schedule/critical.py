"""Tabu search on the critical path, for shops where only jobs and machines bind (makespan).

A move takes an operation of a critical block to the block's other operations' places, or a critical
operation to another machine; its effect is estimated from the heads and tails around it. Sources: Balas
& Vazacopoulos, Management Science 44 (1998) 262 (moves and estimate); Dell'Amico & Trubian, Annals of
Operations Research 41 (1993) 231 (when a move makes no cycle); both from memory. These functions only
run compiled (see `engine.py`).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from naptuft.planning.schedule.draft import draw
from naptuft.planning.schedule.fold import (
    ITEM_AFTER,
    ITEM_BEFORE,
    MACHINE,
    MIN_WAIT,
    MINUTES,
    MODE_FROM,
    MODE_TO,
    OF_JOB,
    OPERATIONS,
    RELEASE,
    WAIT_BEFORE,
    Table,
    job_row,
    mode_row,
    operation_row,
)

# columns of the graph, a row an operation
JOB_BEFORE, JOB_AFTER, ON_BEFORE, ON_AFTER, LENGTH, HEAD_TIME, TAIL_TIME, ON, READY, WAIT = range(10)
GRAPH_WIDTH = 12
NOW, BEST, ROUND, SINCE = range(4)
LARGE = 1 << 30
MOST_PATH = 4000


class Shop(NamedTuple):
    """A plan as a graph and the search on it; changed in place.

    graph        a row an operation: neighbours in its job and on its machine, length, head, tail (operations, 12)
    modes        the mode of each operation
    sequence     the operations in an order no arc runs against
    rank         where each operation is in that order
    open_arcs    working space, twice as long
    barred       [a, b]: round until which a may not be put before b on a machine
    barred_mode  round until which a mode may not be taken
    figures      makespan now, of the best, round, rounds since the last gain
    best_heads, best_modes      the best plan
    random       state of the random generator
    """

    graph: Table
    modes: Table
    sequence: Table
    rank: Table
    open_arcs: Table
    barred: Table
    barred_mode: Table
    figures: Table
    best_heads: Table
    best_modes: Table
    random: Table


def empty_shop(f: Table, modes_in_all: int, seed: int) -> Shop:
    """A shop with nothing sequenced. Plain Python."""
    n = int(f[OPERATIONS])
    graph = np.full((n, GRAPH_WIDTH), -1, np.int32)
    for operation in range(n):
        o = operation_row(f, operation)
        if f[o + ITEM_BEFORE] >= 0:
            graph[operation, JOB_BEFORE] = operation - 1
            graph[operation, READY] = f[o + WAIT_BEFORE]
        else:
            graph[operation, READY] = f[job_row(f, f[o + OF_JOB]) + RELEASE]
        if f[o + ITEM_AFTER] >= 0:
            graph[operation, JOB_AFTER] = operation + 1
        graph[operation, WAIT] = f[o + MIN_WAIT]
    return Shop(
        graph=graph,
        modes=np.zeros(n, np.int32),
        sequence=np.zeros(n, np.int32),
        rank=np.zeros(n, np.int32),
        open_arcs=np.zeros(2 * n, np.int32),
        barred=np.zeros((n, n), np.int32),
        barred_mode=np.zeros(modes_in_all, np.int32),
        figures=np.array([LARGE, LARGE, 0, 0], np.int64),
        best_heads=np.zeros(n, np.int32),
        best_modes=np.zeros(n, np.int32),
        random=np.array([(seed * 2654435761 + 88172645463325252) % (1 << 63) | 1], np.uint64),
    )


def enter(f: Table, s: Shop, order: Table, modes: Table, last_on: Table) -> int:
    """Sequence the machines by a list of operations. The makespan."""
    g = s.graph
    last_on[:] = -1
    for k in range(order.shape[0]):
        operation = order[k]
        m = mode_row(f, modes[operation])
        machine = f[m + MACHINE]
        s.modes[operation] = modes[operation]
        g[operation, LENGTH] = f[m + MINUTES]
        g[operation, ON] = machine
        g[operation, ON_BEFORE] = last_on[machine]
        g[operation, ON_AFTER] = -1
        if last_on[machine] >= 0:
            g[last_on[machine], ON_AFTER] = operation
        last_on[machine] = operation
    return evaluate(g, s.sequence, s.rank, s.open_arcs)


def evaluate(g: Table, sequence: Table, rank: Table, open_arcs: Table) -> int:
    """Put the operations into an order no arc runs against; heads and tails of all. The makespan; -1: a cycle."""
    n = g.shape[0]
    filled = 0
    for v in range(n):
        count = 0
        if g[v, JOB_BEFORE] >= 0:
            count += 1
        if g[v, ON_BEFORE] >= 0:
            count += 1
        open_arcs[v] = count
        if count == 0:
            sequence[filled] = v
            filled += 1
    k = 0
    while k < filled:
        v = sequence[k]
        rank[v] = k
        k += 1
        u = g[v, JOB_AFTER]
        if u >= 0:
            open_arcs[u] -= 1
            if open_arcs[u] == 0:
                sequence[filled] = u
                filled += 1
        u = g[v, ON_AFTER]
        if u >= 0:
            open_arcs[u] -= 1
            if open_arcs[u] == 0:
                sequence[filled] = u
                filled += 1
    if filled < n:
        return -1
    return renew(g, sequence, 0, n - 1)


def renew(g: Table, sequence: Table, low: int, high: int) -> int:
    """Heads from one place of the order on, tails from another back. The makespan."""
    n = g.shape[0]
    for k in range(low, n):
        v = sequence[k]
        head = g[v, READY]
        u = g[v, JOB_BEFORE]
        if u >= 0:
            head += g[u, HEAD_TIME] + g[u, LENGTH]
        u = g[v, ON_BEFORE]
        if u >= 0:
            head = max(head, g[u, HEAD_TIME] + g[u, LENGTH])
        g[v, HEAD_TIME] = head
    for k in range(high, -1, -1):
        v = sequence[k]
        tail = g[v, WAIT]
        u = g[v, JOB_AFTER]
        if u >= 0:
            tail += g[u, LENGTH] + g[u, TAIL_TIME]
        u = g[v, ON_AFTER]
        if u >= 0:
            tail = max(tail, g[u, LENGTH] + g[u, TAIL_TIME])
        g[v, TAIL_TIME] = tail
    makespan = 0
    for v in range(n):
        if g[v, JOB_BEFORE] < 0:
            makespan = max(makespan, g[v, HEAD_TIME] + g[v, LENGTH] + g[v, TAIL_TIME])
        if g[v, JOB_AFTER] < 0:
            makespan = max(makespan, g[v, HEAD_TIME] + g[v, LENGTH] + g[v, TAIL_TIME])
    return makespan


def set_behind(g: Table, sequence: Table, rank: Table, marked: Table, low: int, high: int) -> bool:
    """Take what stands at the first place, and all that must follow it, behind the last place. False: a cycle.

    The order is changed only where there is none.
    """
    for k in range(low, high + 1):
        v = sequence[k]
        marked[v] = 0
    marked[sequence[low]] = 1
    for k in range(low + 1, high + 1):
        v = sequence[k]
        u = g[v, JOB_BEFORE]
        w = g[v, ON_BEFORE]
        if (u >= 0 and low <= rank[u] < k and marked[u]) or (w >= 0 and low <= rank[w] < k and marked[w]):
            marked[v] = 1
    if marked[sequence[high]]:
        return False
    count = 0
    at = low
    for k in range(low, high + 1):
        v = sequence[k]
        if marked[v]:
            marked[count + g.shape[0]] = v
            count += 1
        else:
            sequence[at] = v
            rank[v] = at
            at += 1
    for k in range(count):
        v = marked[k + g.shape[0]]
        sequence[at] = v
        rank[v] = at
        at += 1
    return True


def set_ahead(g: Table, sequence: Table, rank: Table, marked: Table, low: int, high: int) -> bool:
    """Take what stands at the last place, and all that must precede it, ahead of the first place. False: a cycle."""
    for k in range(low, high + 1):
        v = sequence[k]
        marked[v] = 0
    marked[sequence[high]] = 1
    for k in range(high - 1, low - 1, -1):
        v = sequence[k]
        u = g[v, JOB_AFTER]
        w = g[v, ON_AFTER]
        if (u >= 0 and k < rank[u] <= high and marked[u]) or (w >= 0 and k < rank[w] <= high and marked[w]):
            marked[v] = 1
    if marked[sequence[low]]:
        return False
    count = 0
    at = high
    for k in range(high, low - 1, -1):
        v = sequence[k]
        if marked[v]:
            marked[count + g.shape[0]] = v
            count += 1
        else:
            sequence[at] = v
            rank[v] = at
            at -= 1
    for k in range(count):
        v = marked[k + g.shape[0]]
        sequence[at] = v
        rank[v] = at
        at -= 1
    return True


def job_head(g: Table, v: int) -> int:
    """Earliest start by its job alone."""
    u = g[v, JOB_BEFORE]
    return g[v, READY] if u < 0 else g[u, HEAD_TIME] + g[u, LENGTH] + g[v, READY]


def job_tail(g: Table, v: int) -> int:
    """What must follow by its job alone."""
    u = g[v, JOB_AFTER]
    return g[v, WAIT] if u < 0 else g[v, WAIT] + g[u, LENGTH] + g[u, TAIL_TIME]


def unlink(g: Table, v: int) -> None:
    """Take an operation out of its machine's sequence."""
    before, after = g[v, ON_BEFORE], g[v, ON_AFTER]
    if before >= 0:
        g[before, ON_AFTER] = after
    if after >= 0:
        g[after, ON_BEFORE] = before


def link(g: Table, v: int, before: int, after: int) -> None:
    """Put an operation between two others of a machine (-1: none)."""
    g[v, ON_BEFORE] = before
    g[v, ON_AFTER] = after
    if before >= 0:
        g[before, ON_AFTER] = v
    if after >= 0:
        g[after, ON_BEFORE] = v


def estimate_later(g: Table, u: int, v: int) -> int:
    """Length of the longest path through the stretch u … v when u is put right behind v."""
    before = g[u, ON_BEFORE]
    free = 0 if before < 0 else g[before, HEAD_TIME] + g[before, LENGTH]
    w = g[u, ON_AFTER]
    while True:
        free = max(free, job_head(g, w))
        g[w, GRAPH_WIDTH - 1] = free
        free += g[w, LENGTH]
        if w == v:
            break
        w = g[w, ON_AFTER]
    head = max(free, job_head(g, u))
    after = g[v, ON_AFTER]
    behind = 0 if after < 0 else g[after, LENGTH] + g[after, TAIL_TIME]
    behind = max(behind, job_tail(g, u))
    longest = head + g[u, LENGTH] + behind
    behind += g[u, LENGTH]
    w = v
    while w != u:
        behind = max(behind, job_tail(g, w))
        longest = max(longest, g[w, GRAPH_WIDTH - 1] + g[w, LENGTH] + behind)
        behind += g[w, LENGTH]
        w = g[w, ON_BEFORE]
    return longest


def estimate_sooner(g: Table, u: int, v: int) -> int:
    """Length of the longest path through the stretch u … v when v is put right before u."""
    before = g[u, ON_BEFORE]
    free = 0 if before < 0 else g[before, HEAD_TIME] + g[before, LENGTH]
    head = max(free, job_head(g, v))
    free = head + g[v, LENGTH]
    w = u
    while w != v:
        free = max(free, job_head(g, w))
        g[w, GRAPH_WIDTH - 1] = free
        free += g[w, LENGTH]
        w = g[w, ON_AFTER]
    after = g[v, ON_AFTER]
    behind = 0 if after < 0 else g[after, LENGTH] + g[after, TAIL_TIME]
    longest = 0
    w = g[v, ON_BEFORE]
    while True:
        behind = max(behind, job_tail(g, w))
        longest = max(longest, g[w, GRAPH_WIDTH - 1] + g[w, LENGTH] + behind)
        behind += g[w, LENGTH]
        if w == u:
            break
        w = g[w, ON_BEFORE]
    behind = max(behind, job_tail(g, v))
    return max(longest, head + g[v, LENGTH] + behind)


def barred_later(g: Table, barred: Table, now: int, u: int, v: int) -> bool:
    """Whether putting u behind v would only put operations before u that may not be."""
    w = v
    while w != u:
        if barred[w, u] <= now:
            return False
        w = g[w, ON_BEFORE]
    return True


def barred_sooner(g: Table, barred: Table, now: int, u: int, v: int) -> bool:
    """Whether putting v before u would only put it before operations it may not precede."""
    w = u
    while w != v:
        if barred[v, w] <= now:
            return False
        w = g[w, ON_AFTER]
    return True


def critical_path(g: Table, makespan: int, random: Table, path: Table) -> int:
    """One longest path, drawn at random where several meet. Its number of operations."""
    count = 0
    seen = 0
    v = -1
    for k in range(g.shape[0]):
        if g[k, HEAD_TIME] + g[k, LENGTH] + g[k, TAIL_TIME] == makespan:
            first = g[k, ON_BEFORE] < 0 or g[g[k, ON_BEFORE], HEAD_TIME] + g[g[k, ON_BEFORE], LENGTH] < g[k, HEAD_TIME]
            if first and (g[k, JOB_BEFORE] < 0 or job_head(g, k) < g[k, HEAD_TIME] or g[k, HEAD_TIME] == 0):
                seen += 1
                if draw(random, seen) == 0:
                    v = k
    while v >= 0:
        path[count] = v
        count += 1
        end = g[v, HEAD_TIME] + g[v, LENGTH]
        job_next, on_next = g[v, JOB_AFTER], g[v, ON_AFTER]
        by_job = (
            job_next >= 0
            and end + g[job_next, READY] == g[job_next, HEAD_TIME]
            and g[job_next, HEAD_TIME] + g[job_next, LENGTH] + g[job_next, TAIL_TIME] == makespan
        )
        by_machine = (
            on_next >= 0
            and end == g[on_next, HEAD_TIME]
            and end + g[on_next, LENGTH] + g[on_next, TAIL_TIME] == makespan
        )
        if by_job and by_machine:
            v = job_next if draw(random, 2) == 0 else on_next
        elif by_job:
            v = job_next
        elif by_machine:
            v = on_next
        else:
            v = -1
    return count


def consider(best: Table, value: int, kind: int, a: int, b: int, c: int, random: Table) -> None:
    """Keep the move of least estimate; among equals each with the same chance."""
    if value < best[0]:
        best[0] = value
        best[5] = 1
    elif value == best[0]:
        best[5] += 1
        if draw(random, best[5]) != 0:
            return
    else:
        return
    best[1] = kind
    best[2] = a
    best[3] = b
    best[4] = c


LATER, SOONER, ELSEWHERE = 1, 2, 3


def look_at_blocks(
    g: Table, barred: Table, figures: Table, path: Table, count: int, free: Table, other: Table, random: Table
) -> None:
    """Moves inside the critical blocks: to their ends, and of their ends inward."""
    now = figures[ROUND]
    start = 0
    while start < count:
        stop = start
        while (
            stop + 1 < count
            and g[path[stop + 1], ON_BEFORE] == path[stop]
            and g[path[stop + 1], ON] == g[path[stop], ON]
        ):
            stop += 1
        for i in range(start, stop):
            for j in range(i + 1, stop + 1):
                if i != start and j != stop:
                    continue
                u, v = path[i], path[j]
                follows = g[u, JOB_AFTER]
                if follows < 0 or (
                    follows != v and g[v, LENGTH] + g[v, TAIL_TIME] >= g[follows, LENGTH] + g[follows, TAIL_TIME]
                ):
                    value = estimate_later(g, u, v)
                    if value < figures[BEST] or not barred_later(g, barred, now, u, v):
                        consider(free, value, LATER, u, v, 0, random)
                    else:
                        consider(other, value, LATER, u, v, 0, random)
                leads = g[v, JOB_BEFORE]
                if j > i + 1 and (
                    leads < 0
                    or (leads != u and g[u, HEAD_TIME] + g[u, LENGTH] >= g[leads, HEAD_TIME] + g[leads, LENGTH])
                ):
                    value = estimate_sooner(g, u, v)
                    if value < figures[BEST] or not barred_sooner(g, barred, now, u, v):
                        consider(free, value, SOONER, u, v, 0, random)
                    else:
                        consider(other, value, SOONER, u, v, 0, random)
        start = stop + 1


def look_elsewhere(f: Table, s: Shop, path: Table, count: int, first_on: Table, free: Table, other: Table) -> None:
    """Moves of critical operations to other machines, at every place that makes no cycle."""
    g = s.graph
    now = s.figures[ROUND]
    for k in range(count):
        v = path[k]
        o = operation_row(f, v)
        if f[o + MODE_TO] - f[o + MODE_FROM] < 2:
            continue
        leads, follows = g[v, JOB_BEFORE], g[v, JOB_AFTER]
        latest = LARGE if follows < 0 else g[follows, HEAD_TIME] + g[follows, LENGTH]
        reached = -1 if leads < 0 else g[leads, HEAD_TIME]
        head, tail = job_head(g, v), job_tail(g, v)
        for mode in range(f[o + MODE_FROM], f[o + MODE_TO]):
            m = mode_row(f, mode)
            machine = f[m + MACHINE]
            if mode == s.modes[v] or machine == g[v, ON]:
                continue
            before = -1
            after = first_on[machine]
            while True:
                if before >= 0 and (before == follows or g[before, HEAD_TIME] >= latest):
                    break
                if after < 0 or (after != leads and g[after, HEAD_TIME] + g[after, LENGTH] > reached):
                    begins, behind = head, tail
                    if before >= 0:
                        begins = max(begins, g[before, HEAD_TIME] + g[before, LENGTH])
                    if after >= 0:
                        behind = max(behind, g[after, LENGTH] + g[after, TAIL_TIME])
                    value = begins + f[m + MINUTES] + behind
                    if value < s.figures[BEST] or s.barred_mode[mode] <= now:
                        consider(free, value, ELSEWHERE, v, mode, before, s.random)
                    else:
                        consider(other, value, ELSEWHERE, v, mode, before, s.random)
                if after < 0:
                    break
                before = after
                after = g[after, ON_AFTER]


def carry_out(f: Table, s: Shop, move: Table, tenure: int, first_on: Table) -> None:
    """Make a move and bar the way back."""
    g = s.graph
    until = s.figures[ROUND] + tenure
    kind, a, b = move[1], move[2], move[3]
    if kind == LATER:
        w = b
        while w != a:
            s.barred[a, w] = until
            w = g[w, ON_BEFORE]
        unlink(g, a)
        link(g, a, b, g[b, ON_AFTER])
    elif kind == SOONER:
        w = a
        while w != b:
            s.barred[w, b] = until
            w = g[w, ON_AFTER]
        unlink(g, b)
        link(g, b, g[a, ON_BEFORE], a)
    else:
        m = mode_row(f, b)
        s.barred_mode[s.modes[a]] = until
        unlink(g, a)
        before = move[4]
        after = first_on[f[m + MACHINE]] if before < 0 else g[before, ON_AFTER]
        set_mode(f, g, s.modes, a, b)
        link(g, a, before, after)


def set_mode(f: Table, g: Table, modes: Table, v: int, mode: int) -> None:
    """Give an operation a mode; its place on the machine is set by `link`."""
    m = mode_row(f, mode)
    modes[v] = mode
    g[v, ON] = f[m + MACHINE]
    g[v, LENGTH] = f[m + MINUTES]


def tabu(f: Table, s: Shop, rounds: int, tenure: int, goal: int, patience: int, machines: int) -> int:
    """Walk a number of rounds, or until the goal is reached or patience rounds brought no gain. Rounds walked."""
    g = s.graph
    path = np.zeros(min(g.shape[0], MOST_PATH), np.int32)
    first_on = np.zeros(machines, np.int32)
    free = np.zeros(6, np.int64)
    other = np.zeros(6, np.int64)
    walked = 0
    while walked < rounds and s.figures[BEST] > goal and s.figures[SINCE] < patience:
        walked += 1
        s.figures[ROUND] += 1
        s.figures[SINCE] += 1
        count = critical_path(g, s.figures[NOW], s.random, path)
        free[0] = LARGE
        other[0] = LARGE
        look_at_blocks(g, s.barred, s.figures, path, count, free, other, s.random)
        first_on[:] = -1
        for v in range(g.shape[0]):
            if g[v, ON_BEFORE] < 0:
                first_on[g[v, ON]] = v
        look_elsewhere(f, s, path, count, first_on, free, other)
        if free[0] == LARGE and other[0] == LARGE:
            s.figures[SINCE] = patience
            break
        length = tenure + draw(s.random, tenure // 2 + 1)
        move = free if free[0] < LARGE else other
        v = move[3] if move[1] == SOONER else move[2]
        before, after, mode = g[v, ON_BEFORE], g[v, ON_AFTER], s.modes[v]
        low = high = s.rank[v]
        if after >= 0:
            low = min(low, s.rank[after])
        if before >= 0:
            high = max(high, s.rank[before])
        carry_out(f, s, move, length, first_on)
        # the order is mended between the operation and its new neighbours; what stands between may follow it too
        leads, follows = g[v, ON_BEFORE], g[v, ON_AFTER]
        kept = True
        if leads >= 0 and s.rank[leads] > s.rank[v]:
            low = min(low, s.rank[v])
            high = max(high, s.rank[leads])
            kept = set_behind(g, s.sequence, s.rank, s.open_arcs, s.rank[v], s.rank[leads])
        elif follows >= 0 and s.rank[follows] < s.rank[v]:
            low = min(low, s.rank[follows])
            high = max(high, s.rank[v])
            kept = set_ahead(g, s.sequence, s.rank, s.open_arcs, s.rank[follows], s.rank[v])
        if not kept:
            # the estimate does not see every cycle: put it back and start anew
            unlink(g, v)
            set_mode(f, g, s.modes, v, mode)
            link(g, v, before, after)
            evaluate(g, s.sequence, s.rank, s.open_arcs)
            s.figures[SINCE] = patience
            break
        if follows >= 0:
            high = max(high, s.rank[follows])
        if leads >= 0:
            low = min(low, s.rank[leads])
        makespan = renew(g, s.sequence, low, high)
        s.figures[NOW] = makespan
        if s.figures[NOW] < s.figures[BEST]:
            s.figures[BEST] = s.figures[NOW]
            s.figures[SINCE] = 0
            for v in range(g.shape[0]):
                s.best_heads[v] = g[v, HEAD_TIME]
                s.best_modes[v] = s.modes[v]
    return walked
