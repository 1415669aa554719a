"""Annealing where jobs, machines, calendars, stores and longest waits are all that binds.

Every operation knows the one before it on its machine and in its store, so that a trial places again only
what its move touches, and what that moves in turn, in the order of the list. What else binds (crews, pins,
machines that take several operations at one time, transfer batches) hangs on all that was placed before:
`anneal.py` has the walk for that. These functions only run compiled (see `engine.py`).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from naptuft.planning.schedule.anneal import (
    FIRST_NOW,
    MARGIN,
    SCALE,
    SECOND_NOW,
    STANDS_ON_BEST,
    is_better,
    keep_best,
    order_by_start,
    write_best,
)
from naptuft.planning.schedule.decode import ADDED, CHANGEOVER, END, MOST_ROUNDS, START, measure
from naptuft.planning.schedule.draft import (
    ENDS_IN,
    FOLLOWED_IN,
    FOLLOWED_ON,
    FOLLOWS_IN,
    FOLLOWS_ON,
    LEADS_IN,
    LEADS_ON,
    LIFTED,
    LINKED_IN,
    OF,
    OLDEST,
    SET_FOR_THEN,
    WAITED,
    Draft,
    link_all,
    relink,
    start_draft,
    undo,
    uniform,
)
from naptuft.planning.schedule.fold import (
    AFTER_FROM,
    AFTER_TO,
    BEFORE_FROM,
    BEFORE_TO,
    FAR,
    FIRST_ITEM,
    JOBS,
    LAST_OPERATION,
    LAST_WAIT,
    MACHINES,
    MAX_WAIT,
    MIN_WAIT,
    OPERATIONS,
    SET_AT_START,
    STORES,
    STRETCH_FROM,
    WAITING_COUNTS,
    Table,
    job_row,
    machine_row,
    operation_row,
)
from naptuft.planning.schedule.moves import propose
from naptuft.planning.schedule.quick import (
    DUE_AT,
    FOLLOWS,
    FOLLOWS_BY,
    GOES_ON,
    HOLDS,
    HOLDS_LONG,
    HOLDS_OF,
    HOLDS_UNITS,
    IN_ITEM,
    ITEM_COUNT,
    WAITED_FOR,
    WAITS_FOR,
    WAY_CHANGES,
    WAY_CLOSES,
    WAY_FAMILY,
    WAY_MINUTES,
    WAY_ON,
    WAY_PAUSES,
    WAY_PENALTY,
    WHOSE,
    quick_rows,
)
from naptuft.planning.schedule.state import open_minutes, run_from

ROW = 8
LOGGED, LOW_WORD, TOP_WORD, TRIAL = range(4)
WORD = 32
# index of the one bit of a word. Leiserson, Prokop & Randall, Using de Bruijn sequences to index a 1 (1998), from memory
DE_BRUIJN = 0x077CB531
BIT_INDEX = np.argsort([(DE_BRUIJN << bit & 0xFFFFFFFF) >> 27 for bit in range(WORD)])


class Timed(NamedTuple):
    """Where a walk stands; all arrays are changed in place.

    marks                  bits of the positions of the list to be placed again
    logged, log            operations placed again, and their rows before
    touched                the last trial that moved an operation or what stands before it in its store
    touched_at             last position where a store differs from before; -1: it does not
    held                   until when a store holds how many units
    not_before             of an operation tied by a longest wait: no sooner does it start
    counts                 numbers as named above
    sums                   change of the two figures
    best_order, best_modes, figures, operations, ways, changes      as in a `Walk`
    """

    marks: Table
    logged: Table
    log: Table
    touched: Table
    touched_at: Table
    held: Table
    not_before: Table
    counts: Table
    sums: Table
    best_order: Table
    best_modes: Table
    figures: Table
    operations: Table
    ways: Table
    changes: Table


def start_timed(f: Table, order: Table, modes: Table, seed: int, scale: float, by_weight: bool) -> tuple[Draft, Timed]:
    """A walk that starts from a list; `scale` is what the second figure counts, and whether by weight. Plain Python."""
    count, machines, stores = int(f[OPERATIONS]), int(f[MACHINES]), int(f[STORES])
    quick = quick_rows(f)
    draft = start_draft(f, order, modes, seed)
    for machine in range(machines):
        draft.rows[count + machine, SET_FOR_THEN] = f[machine_row(f, machine) + SET_AT_START]
        draft.rows[count + machine, ENDS_IN] = f[machine_row(f, machine) + STRETCH_FROM]
    timed = Timed(
        marks=np.zeros(count // WORD + 1, np.int64),
        logged=np.zeros(count, np.int32),
        log=np.zeros((count, 8), np.int32),
        touched=np.zeros(count, np.int64),
        touched_at=np.full(stores + 1, -1, np.int64),
        held=np.zeros((count, 2), np.int64),
        not_before=np.zeros(count, np.int64),
        counts=np.array([0, 0, -1, 0], np.int64),
        sums=np.zeros(2, np.float64),
        best_order=order.copy(),
        best_modes=modes.copy(),
        figures=np.array([math.inf, math.inf, math.inf, math.inf, scale, 0.0, by_weight]),
        operations=quick.operations,
        ways=quick.ways,
        changes=quick.changes,
    )
    return draft, timed


def mark(marks: Table, counts: Table, position: int) -> None:
    """Have a position of the list placed again."""
    word = position // WORD
    marks[word] |= 1 << (position % WORD)
    counts[TOP_WORD] = max(counts[TOP_WORD], word)


def room_behind(rows: Table, operations: Table, held: Table, leads: int, operation: int, earliest: int) -> int:
    """Earliest minute from which a store has room for an operation behind another. [minute]"""
    earliest = max(earliest, rows[leads, START])
    room = operations[operation, HOLDS_OF] - operations[operation, HOLDS_UNITS]
    count = 0
    k = rows[leads, OLDEST]
    while True:
        until = rows[k, END] + operations[k, HOLDS_LONG]
        if until > earliest:
            held[count, 0] = until
            held[count, 1] = operations[k, HOLDS_UNITS]
            room -= operations[k, HOLDS_UNITS]
            count += 1
        if k == leads:
            break
        k = rows[k, FOLLOWS_IN]
    while count > 0 and room < 0:
        first = 0
        for n in range(1, count):
            if held[n, 0] < held[first, 0]:
                first = n
        earliest = held[first, 0]
        room += held[first, 1]
        count -= 1
        held[first, 0] = held[count, 0]
        held[first, 1] = held[count, 1]
    return earliest


def fit(
    f: Table,
    rows: Table,
    operations: Table,
    ways: Table,
    changes: Table,
    held: Table,
    operation: int,
    way: int,
    ready: int,
) -> None:
    """Put an operation behind what stands before it on its machine and in its store."""
    before = rows[operation, LEADS_ON]
    led_by = operations[operation, FOLLOWS]
    follows_at = rows[led_by, END] + operations[operation, FOLLOWS_BY]
    was = rows[before, SET_FOR_THEN]
    changeover = changes[ways[way, WAY_CHANGES] + was]
    start = max(rows[before, END] + changeover, ready)
    store = operations[operation, HOLDS]
    oldest = operation
    leads = operations.shape[0]
    if store >= 0:
        leads = rows[operation, LEADS_IN]
        if leads < operations.shape[0]:
            start = room_behind(rows, operations, held, leads, operation, start)
            oldest = rows[leads, OLDEST]
    minutes = ways[way, WAY_MINUTES]
    end = start + minutes
    stretch = rows[before, ENDS_IN]
    closes = ways[way, WAY_CLOSES]
    if ways[way, WAY_PAUSES] == 0:
        while stretch < closes and (start < f[stretch] or end > f[stretch + 1]):
            start = max(start, f[stretch])
            end = start + minutes
            if end > f[stretch + 1]:
                stretch += 2
    elif stretch >= closes or start < f[stretch] or start >= f[stretch + 1] or end > f[stretch + 1]:
        start, end, _, stretch = run_from(f, stretch, closes, minutes, 1, start)
    if stretch >= closes:
        start = max(start, FAR)
        end = start + minutes
    while oldest != operation and rows[oldest, END] + operations[oldest, HOLDS_LONG] <= start:
        oldest = rows[oldest, FOLLOWS_IN]
    family = ways[way, WAY_FAMILY]
    rows[operation, START] = start
    rows[operation, END] = end
    rows[operation, CHANGEOVER] = changeover
    rows[operation, ADDED] = ways[way, WAY_PENALTY]
    rows[operation, WAITED] = start - follows_at
    rows[operation, SET_FOR_THEN] = family if family >= 0 else was
    rows[operation, ENDS_IN] = stretch
    rows[operation, OLDEST] = oldest


def place_item(f: Table, d: Draft, t: Timed, item: int) -> None:
    """Place the operations of one item; those tied by longest waits as `decode.place_tied` does."""
    rows, operations, modes = d.rows, t.operations, d.modes
    ready = rows[operations[item, FOLLOWS], END] + operations[item, FOLLOWS_BY]
    if operations[item, WAITS_FOR]:
        j = job_row(f, operations[item, WHOSE])
        for k in range(f[j + BEFORE_FROM], f[j + BEFORE_TO]):
            other = job_row(f, f[k])
            ready = max(ready, rows[f[other + LAST_OPERATION], END] + f[other + LAST_WAIT])
    count = operations[item, ITEM_COUNT]
    if count == 1:
        fit(
            f,
            rows,
            operations,
            t.ways,
            t.changes,
            t.held,
            item,
            modes[item],
            ready,
        )
        return
    for operation in range(item, item + count):
        t.not_before[operation] = 0
    rounds = 0
    kept = False
    while not kept:
        kept = True
        rounds += 1
        earliest = ready if rounds < MOST_ROUNDS else FAR
        for operation in range(item, item + count):
            earliest = max(earliest, t.not_before[operation])
            fit(
                f,
                rows,
                operations,
                t.ways,
                t.changes,
                t.held,
                operation,
                modes[operation],
                earliest,
            )
            earliest = rows[operation, END] + f[operation_row(f, operation) + MIN_WAIT]
        if rows[item + count - 1, END] >= FAR:
            return
        for operation in range(item, item + count - 1):
            end = rows[operation, END]
            needed = rows[operation + 1, START] - f[operation_row(f, operation) + MAX_WAIT]
            if end < needed:
                kept = False
                later = needed - end
                if t.ways[modes[operation], WAY_PAUSES]:
                    later = max(1, open_minutes(f, t.ways[modes[operation], WAY_ON], end, needed))
                t.not_before[operation] = rows[operation, START] + later


def mark_moved(d: Draft, t: Timed) -> None:
    """Mark what a move took out, what followed it, and what follows it now."""
    rows, count = d.rows, d.modes.shape[0]
    t.counts[TRIAL] += 1
    for n in range(d.counts[LIFTED]):
        operation = d.lifted[n, OF]
        mark(t.marks, t.counts, d.position[d.items[operation]])
        t.touched[operation] = t.counts[TRIAL]
        for after in (d.lifted[n, FOLLOWED_ON], rows[operation, FOLLOWS_ON]):
            if after < count:
                mark(t.marks, t.counts, d.position[d.items[after]])
        if rows[operation, LINKED_IN] >= 0:
            for after in (d.lifted[n, FOLLOWED_IN], rows[operation, FOLLOWS_IN]):
                if after < count:
                    mark(t.marks, t.counts, d.position[d.items[after]])
                    t.touched[after] = t.counts[TRIAL]


def put_back(d: Draft, t: Timed) -> None:
    """Bring the rows back to where they were before a trial."""
    for n in range(t.counts[LOGGED]):
        operation = t.logged[n]
        for k in range(ROW):
            d.rows[operation, k] = t.log[n, k]


def first_of(weight: Table, operations: Table, operation: int, end: int) -> float:
    """What an operation that ends at a minute brings to the first figure."""
    if operations[operation, GOES_ON]:
        return 0.0
    late = end - operations[operation, DUE_AT]
    cost = weight[operations[operation, WHOSE]] * float(late) if late > 0 else 0.0
    return cost + float(FAR) if end >= FAR else cost


def retime(f: Table, weight: Table, d: Draft, t: Timed, most: float) -> bool:
    """Place what is marked again, and what that moves; `sums` becomes the change of the two figures.

    Whether anything differs. Stops where what is placed is worse than before by more than `most`: the first
    figure is infinite then.
    """
    rows, operations, marks, counts, log = d.rows, t.operations, t.marks, t.counts, t.log
    order, position = d.order, d.position
    count = operations.shape[0]
    for store in range(t.touched_at.shape[0]):
        t.touched_at[store] = -1
    waiting = weight[f[JOBS]] if f[WAITING_COUNTS] else 0.0
    first = 0.0
    second = 0.0
    logged = 0
    word = counts[LOW_WORD]
    while word <= counts[TOP_WORD]:
        bits = marks[word]
        if bits == 0:
            word += 1
            continue
        bit = bits & -bits
        marks[word] = bits ^ bit
        at = word * WORD + BIT_INDEX[((bit * DE_BRUIJN) & 0xFFFFFFFF) >> 27]
        item = order[at]
        tail = item + operations[item, ITEM_COUNT]
        for operation in range(item, tail):
            t.logged[logged + operation - item] = operation
            for k in range(ROW):
                log[logged + operation - item, k] = rows[operation, k]
        place_item(f, d, t, item)
        differs = False
        for operation in range(item, tail):
            old = logged + operation - item
            start, end = rows[operation, START], rows[operation, END]
            moved = end != log[old, END]
            if moved:
                differs = True
                first += first_of(weight, operations, operation, end)
                first -= first_of(weight, operations, operation, log[old, END])
            if moved or rows[operation, SET_FOR_THEN] != log[old, SET_FOR_THEN]:
                differs = True
                after = d.rows[operation, FOLLOWS_ON]
                if after < count and operations[after, IN_ITEM] != item:
                    mark(marks, counts, position[operations[after, IN_ITEM]])
            adds = rows[operation, CHANGEOVER] + rows[operation, ADDED] - log[old, CHANGEOVER] - log[old, ADDED]
            if adds != 0:
                second += float(adds)
            differs |= rows[operation, CHANGEOVER] != log[old, CHANGEOVER] or rows[operation, ADDED] != log[old, ADDED]
            if waiting > 0 and operations[operation, FOLLOWS] < count:
                differs |= rows[operation, WAITED] != log[old, WAITED]
                second += waiting * float(rows[operation, WAITED] - log[old, WAITED])
            differs |= start != log[old, START]
            store = operations[operation, HOLDS]
            if store >= 0:
                if moved or start != log[old, START] or t.touched[operation] == counts[TRIAL]:
                    t.touched_at[store] = at
                if t.touched_at[store] >= 0:
                    was, now = log[old, OLDEST], rows[operation, OLDEST]
                    differs |= was != now
                    if (
                        t.touched[was] == counts[TRIAL]
                        or position[operations[was, IN_ITEM]] <= t.touched_at[store]
                        or position[operations[now, IN_ITEM]] <= t.touched_at[store]
                    ):
                        after = d.rows[operation, FOLLOWS_IN]
                        if after < count and operations[after, IN_ITEM] != item:
                            mark(marks, counts, position[operations[after, IN_ITEM]])
                    else:
                        t.touched_at[store] = -1
        final = tail - 1
        if rows[final, END] != log[logged + final - item, END]:
            if operations[final, GOES_ON]:
                mark(marks, counts, position[tail])
            elif operations[final, WAITED_FOR]:
                j = job_row(f, operations[final, WHOSE])
                for k in range(f[j + AFTER_FROM], f[j + AFTER_TO]):
                    mark(marks, counts, position[f[job_row(f, f[k]) + FIRST_ITEM]])
        if differs:
            logged = logged + tail - item
            if first + t.figures[SCALE] * second > most:
                first = math.inf
                break
    for k in range(word, counts[TOP_WORD] + 1):
        marks[k] = 0
    counts[TOP_WORD] = -1
    counts[LOGGED] = logged
    t.sums[0] = first
    t.sums[1] = second
    return logged > 0


def settle_timed(f: Table, weight: Table, d: Draft, t: Timed) -> None:
    """Place the whole list: the walk stands on its plan."""
    link_all(f, d)
    for position in range(d.order.shape[0]):
        place_item(f, d, t, d.order[position])
    t.figures[FIRST_NOW], t.figures[SECOND_NOW] = measure(f, weight, d.rows)


def sort_timed(f: Table, weight: Table, d: Draft, t: Timed) -> None:
    """Bring the list into the order of its start times; the walk must be settled. Kept if no worse."""
    before = order_by_start(d, d.rows)
    first, second = t.figures[FIRST_NOW], t.figures[SECOND_NOW]
    settle_timed(f, weight, d, t)
    if is_better(t.figures, first, second, t.figures[FIRST_NOW], t.figures[SECOND_NOW]):
        for k in range(before.shape[0]):
            d.order[k] = before[k]
        settle_timed(f, weight, d, t)


def anneal_timed(f: Table, weight: Table, d: Draft, t: Timed, trials: int, temperature: float) -> tuple[int, int]:
    """Walk a number of trials at one temperature, as `anneal.anneal` does. (trials placed, trials taken)"""
    done = taken = drawn = 0
    while done < trials and drawn < 20 * trials:
        drawn += 1
        moves, changes, low, _ = propose(f, d, d.rows)
        if moves == 0 and changes == 0:
            continue
        done += 1
        t.counts[LOW_WORD] = low // WORD
        relink(f, d, moves, changes)
        mark_moved(d, t)
        most = -temperature * math.log(uniform(d.random))
        differs = retime(f, weight, d, t, MARGIN * temperature + most)
        worse = t.sums[0] + t.figures[SCALE] * t.sums[1]
        if differs and (worse <= 0 or worse < most):
            taken += 1
            t.figures[FIRST_NOW] += t.sums[0]
            t.figures[SECOND_NOW] += t.sums[1]
            keep_best(d, t, moves, changes)
        else:
            undo(d, moves, changes)
            put_back(d, t)
    if t.figures[STANDS_ON_BEST] > 0:
        write_best(d, t, 0, 0)
    return done, taken
