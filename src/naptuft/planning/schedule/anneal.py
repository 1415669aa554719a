"""Annealing on the list and the machine choices.

Only what follows a change is decoded again: the machines and stores are kept at every `GAP`-th
position of the list, and decoding stops early where they stand as before. These functions only run
compiled (see `engine.py`).
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from naptuft.planning.schedule.decode import (
    ADDED,
    CHANGEOVER,
    END,
    ENDS,
    FREE,
    HEAD,
    LAST_START,
    SET_FOR,
    START,
    STRETCH,
    TAIL,
    copy_into,
    fresh_machines,
    fresh_plan,
    fresh_stores,
    step,
    waits,
)
from naptuft.planning.schedule.draft import Draft, change_places, link_all, relink, start_draft, undo, uniform
from naptuft.planning.schedule.fold import (
    AFTER_FROM,
    AFTER_TO,
    BY_MAKESPAN,
    COUNT,
    DUE,
    FAR,
    IN_BATCHES,
    ITEM_AFTER,
    ITEM_BEFORE,
    JOBS,
    MIN_WAIT,
    OF_JOB,
    OVERTIME_COUNTS,
    WAITING_COUNTS,
    Table,
    job_row,
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
    WAY_CHANGES,
    WAY_CLOSES,
    WAY_FAMILY,
    WAY_MINUTES,
    WAY_ON,
    WAY_PAUSES,
    WAY_PENALTY,
    WAY_QUICK,
    WHOSE,
    quick_rows,
)
from naptuft.planning.schedule.state import added_by, hold, run_from, wait_for_store

GAP = 32
MARGIN = 3.0
BEYOND_REACH = 1 << 40
FIRST_NOW, SECOND_NOW, FIRST_BEST, SECOND_BEST, SCALE, STANDS_ON_BEST, BY_WEIGHT = range(7)


class Walk(NamedTuple):
    """Where an annealing walk stands; all arrays are changed in place.

    plan, kept                  the working plan, and the plan the walk stands on
    machines, stores, sums      kept at every GAP-th position; sums: first and second figure so far
    new_machines, new_stores, new_sums      the same of the trial
    best_order, best_modes      the best list
    figures                     first and second now, first and second of the best, scale of the second; whether
                                the walk stands on the best and has not written it down; whether plans
                                are compared by first + scale * second
    operations, ways, changes   rows of `quick.py`
    """

    plan: Table
    kept: Table
    machines: Table
    stores: Table
    sums: Table
    new_machines: Table
    new_stores: Table
    new_sums: Table
    best_order: Table
    best_modes: Table
    figures: Table
    operations: Table
    ways: Table
    changes: Table


def start_walk(f: Table, order: Table, modes: Table, seed: int, scale: float, by_weight: bool) -> tuple[Draft, Walk]:
    """A walk that starts from a list; `scale` is what the second figure counts, and whether by weight. Plain Python."""
    blocks = order.shape[0] // GAP + 1
    machines, stores = fresh_machines(f), fresh_stores(f)
    quick = quick_rows(f)
    walk = Walk(
        plan=np.vstack((fresh_plan(f), np.zeros((1, 4), np.int32))),
        kept=np.vstack((fresh_plan(f), np.zeros((1, 4), np.int32))),
        machines=np.zeros((blocks, *machines.shape), np.int64),
        stores=np.zeros((blocks, *stores.shape), np.int64),
        sums=np.zeros((blocks, 2), np.float64),
        new_machines=np.zeros((blocks, *machines.shape), np.int64),
        new_stores=np.zeros((blocks, *stores.shape), np.int64),
        new_sums=np.zeros((blocks, 2), np.float64),
        best_order=order.copy(),
        best_modes=modes.copy(),
        figures=np.array([math.inf, math.inf, math.inf, math.inf, scale, 0.0, by_weight]),
        operations=quick.operations,
        ways=quick.ways,
        changes=quick.changes,
    )
    walk.machines[0] = machines
    walk.stores[0] = stores
    return start_draft(f, order, modes, seed), walk


def add_cost(f: Table, weight: Table, item: int, plan: Table, sums: Table) -> None:
    """Add what one placed item brings to the two figures."""
    o = operation_row(f, item)
    last = item + f[o + COUNT] - 1
    for operation in range(item, last + 1):
        sums[1] += float(plan[operation, CHANGEOVER] + plan[operation, ADDED])
        if f[WAITING_COUNTS]:
            sums[1] += weight[f[JOBS]] * float(waits(f, operation, plan))
    if f[o + ITEM_AFTER] < 0:
        job = f[o + OF_JOB]
        finish = plan[last, END] + f[operation_row(f, last) + MIN_WAIT]
        if finish >= FAR:
            sums[0] += float(FAR)
        if f[BY_MAKESPAN]:
            sums[0] = max(sums[0], float(finish))
        else:
            due = f[job_row(f, job) + DUE]
            if finish > due:
                sums[0] += weight[job] * float(finish - due)


def keep_state(
    machines: Table, stores: Table, sums: Table, kept_machines: Table, kept_stores: Table, kept_sums: Table, block: int
) -> None:
    """Keep machines, stores and figures as they stand before a block."""
    for k in range(machines.shape[0]):
        for n in range(machines.shape[1]):
            kept_machines[block, k, n] = machines[k, n]
    for k in range(stores.shape[0]):
        for n in range(ENDS):
            kept_stores[block, k, n] = stores[k, n]
        for n in range(stores[k, HEAD], stores[k, TAIL]):
            kept_stores[block, k, n] = stores[k, n]
    kept_sums[block, 0] = sums[0]
    kept_sums[block, 1] = sums[1]


def same_state(machines: Table, stores: Table, kept_machines: Table, kept_stores: Table, block: int) -> bool:
    """Whether machines and stores stand as kept before a block."""
    for machine in range(machines.shape[0]):
        if (
            machines[machine, FREE] != kept_machines[block, machine, FREE]
            or machines[machine, SET_FOR] != kept_machines[block, machine, SET_FOR]
        ):
            return False
    for store in range(stores.shape[0]):
        head = stores[store, HEAD]
        count = stores[store, TAIL] - head
        kept_head = kept_stores[block, store, HEAD]
        if stores[store, LAST_START] != kept_stores[block, store, LAST_START]:
            return False
        if count != kept_stores[block, store, TAIL] - kept_head:
            return False
        for k in range(count):
            if stores[store, head + k] != kept_stores[block, store, kept_head + k]:
                return False
    return True


def try_from(
    f: Table,
    weight: Table,
    order: Table,
    modes: Table,
    w: Walk,
    low: int,
    high: int,
    machines: Table,
    stores: Table,
    sums: Table,
    most: float,
) -> tuple[int, bool]:
    """Decode the trial from the first position touched; `sums` becomes its two figures.

    (position decoding stopped at, whether anything differs). Stops where the rest is as before, and where
    what is placed is worse than before by more than `most`.
    """
    plan, kept, operations, ways, changes = w.plan, w.kept, w.operations, w.ways, w.changes
    block = low // GAP
    for k in range(machines.shape[0]):
        for n in range(machines.shape[1]):
            machines[k, n] = w.machines[block, k, n]
    for k in range(stores.shape[0]):
        for n in range(ENDS):
            stores[k, n] = w.stores[block, k, n]
        for n in range(w.stores[block, k, HEAD], w.stores[block, k, TAIL]):
            stores[k, n] = w.stores[block, k, n]
    sums[0] = w.sums[block, 0]
    sums[1] = w.sums[block, 1]
    pending = 0
    differs = False
    for position in range(block * GAP, order.shape[0]):
        if position % GAP == 0:
            b = position // GAP
            if position > high and f[BY_MAKESPAN] == 0:
                if pending == 0 and same_state(machines, stores, w.machines, w.stores, b):
                    sums[0] += w.figures[FIRST_NOW] - w.sums[b, 0]
                    sums[1] += w.figures[SECOND_NOW] - w.sums[b, 1]
                    return position, differs
                if sums[0] - w.sums[b, 0] + w.figures[SCALE] * (sums[1] - w.sums[b, 1]) > most:
                    sums[0] = math.inf
                    return position, True
            keep_state(machines, stores, sums, w.new_machines, w.new_stores, w.new_sums, b)
        item = order[position]
        way = modes[item]
        if ways[way, WAY_QUICK]:
            machine = ways[way, WAY_ON]
            was = machines[machine, SET_FOR]
            changeover = changes[ways[way, WAY_CHANGES] + was]
            before = operations[item, FOLLOWS]
            ready = plan[before, END]
            pending -= ready != kept[before, END]
            ready += operations[item, FOLLOWS_BY]
            start = max(machines[machine, FREE] + changeover, ready)
            store = operations[item, HOLDS]
            if store >= 0:
                start = wait_for_store(stores, store, operations[item, HOLDS_UNITS], operations[item, HOLDS_OF], start)
            end = start + ways[way, WAY_MINUTES]
            stretch = machines[machine, STRETCH]
            closes = ways[way, WAY_CLOSES]
            if ways[way, WAY_PAUSES] == 0:
                while stretch < closes and (start < f[stretch] or end > f[stretch + 1]):
                    start = max(start, f[stretch])
                    end = start + ways[way, WAY_MINUTES]
                    if end > f[stretch + 1]:
                        stretch += 2
            elif stretch >= closes or start < f[stretch] or start >= f[stretch + 1] or end > f[stretch + 1]:
                start, end, _, stretch = run_from(f, stretch, closes, ways[way, WAY_MINUTES], 1, start)
            if stretch >= closes:
                start = max(start, FAR)
                end = start + ways[way, WAY_MINUTES]
                sums[0] += float(FAR)
            family = ways[way, WAY_FAMILY]
            machines[machine, FREE] = end
            machines[machine, SET_FOR] = family if family >= 0 else was
            machines[machine, STRETCH] = stretch
            if store >= 0:
                hold(stores, store, operations[item, HOLDS_UNITS], start, end + operations[item, HOLDS_LONG])
            late = end - operations[item, DUE_AT]
            if late > 0:
                sums[0] += weight[operations[item, WHOSE]] * float(late)
            added = ways[way, WAY_PENALTY]
            if f[OVERTIME_COUNTS] > 0:
                added = added_by(f, way, start, end)
            sums[1] += float(changeover + added)
            if f[WAITING_COUNTS] and before < operations.shape[0]:
                sums[1] += weight[f[JOBS]] * float(start - ready)
            moved = end != kept[item, END]
            pending += moved & (operations[item, GOES_ON] != 0)
            differs |= moved | (changeover != kept[item, CHANGEOVER]) | (start != kept[item, START])
            differs |= added != kept[item, ADDED]
            plan[item, START] = start
            plan[item, END] = end
            plan[item, CHANGEOVER] = changeover
            plan[item, ADDED] = added
            continue
        o = operation_row(f, item)
        last = item + f[o + COUNT] - 1
        if f[o + ITEM_BEFORE] >= 0 and (
            plan[item - 1, END] != kept[item - 1, END]
            or (f[o + IN_BATCHES] and plan[item - 1, START] != kept[item - 1, START])
        ):
            pending -= 1
        step(f, item, modes, machines, stores, plan)
        add_cost(f, weight, item, plan, sums)
        after = f[o + ITEM_AFTER]
        if plan[last, END] != kept[last, END] or (
            after >= 0 and f[operation_row(f, after) + IN_BATCHES] and plan[last, START] != kept[last, START]
        ):
            differs = True
            if after >= 0:
                pending += 1
            else:
                j = job_row(f, f[o + OF_JOB])
                if f[j + AFTER_TO] > f[j + AFTER_FROM]:
                    pending += BEYOND_REACH
        elif plan[item, START] != kept[item, START]:
            differs = True
        for operation in range(item, last + 1):
            differs |= plan[operation, CHANGEOVER] != kept[operation, CHANGEOVER]
            differs |= plan[operation, ADDED] != kept[operation, ADDED]
    return order.shape[0], differs


def take(f: Table, order: Table, w: Walk, low: int, stopped: int, sums: Table) -> None:
    """Stand on the trial's plan."""
    first_change = sums[0] - w.figures[FIRST_NOW]
    second_change = sums[1] - w.figures[SECOND_NOW]
    for position in range(low // GAP * GAP, stopped):
        if position % GAP == 0:
            b = position // GAP
            copy_into(w.machines[b], w.new_machines[b])
            copy_into(w.stores[b], w.new_stores[b])
            w.sums[b, 0] = w.new_sums[b, 0]
            w.sums[b, 1] = w.new_sums[b, 1]
        item = order[position]
        for operation in range(item, item + f[operation_row(f, item) + COUNT]):
            for n in range(4):
                w.kept[operation, n] = w.plan[operation, n]
    if stopped < order.shape[0]:
        for b in range(stopped // GAP, w.sums.shape[0]):
            w.sums[b, 0] += first_change
            w.sums[b, 1] += second_change
    w.figures[FIRST_NOW] = sums[0]
    w.figures[SECOND_NOW] = sums[1]


def drop(f: Table, order: Table, w: Walk, low: int, stopped: int) -> None:
    """Bring the working plan back to the plan the walk stands on."""
    for position in range(low // GAP * GAP, stopped):
        item = order[position]
        for operation in range(item, item + f[operation_row(f, item) + COUNT]):
            for n in range(4):
                w.plan[operation, n] = w.kept[operation, n]


def settle(f: Table, weight: Table, d: Draft, w: Walk) -> None:
    """Decode the whole list: the walk stands on its plan."""
    link_all(f, d)
    machines = fresh_machines(f)
    stores = fresh_stores(f)
    sums = np.zeros(2, np.float64)
    w.figures[FIRST_NOW] = 0.0
    w.figures[SECOND_NOW] = 0.0
    try_from(f, weight, d.order, d.modes, w, 0, d.order.shape[0], machines, stores, sums, math.inf)
    take(f, d.order, w, 0, d.order.shape[0], sums)


def is_better(figures: Table, first: float, second: float, than_first: float, than_second: float) -> bool:
    """Whether two figures are better than two others: in order, or by weight where both end within the calendars."""
    if figures[BY_WEIGHT] and first < FAR and than_first < FAR:
        return first + figures[SCALE] * second < than_first + figures[SCALE] * than_second
    return first < than_first or (first == than_first and second < than_second)


def write_best(d: Draft, w: Any, moves: int, changes: int) -> None:
    """Write down the list as it was before so many moves and changes."""
    order, modes = w.best_order, w.best_modes
    for k in range(d.order.shape[0]):
        order[k] = d.order[k]
    for k in range(d.modes.shape[0]):
        modes[k] = d.modes[k]
    for move in range(moves - 1, -1, -1):
        source, target = d.moved[move, 1], d.moved[move, 0]
        if d.moved[move, 3] >= 0:
            change_places(order, source, target)
            continue
        item = order[source]
        step = 1 if source < target else -1
        for k in range(source, target, step):
            order[k] = order[k + step]
        order[target] = item
    for k in range(changes - 1, -1, -1):
        modes[d.changed[k, 0]] = d.changed[k, 1]
    w.figures[STANDS_ON_BEST] = 0.0


def keep_best(d: Draft, w: Any, moves: int, changes: int) -> None:
    """Remember the plan the walk stands on where it is the best; it is written down when a trial leaves it."""
    first, second = w.figures[FIRST_NOW], w.figures[SECOND_NOW]
    if is_better(w.figures, first, second, w.figures[FIRST_BEST], w.figures[SECOND_BEST]):
        w.figures[FIRST_BEST] = w.figures[FIRST_NOW]
        w.figures[SECOND_BEST] = w.figures[SECOND_NOW]
        w.figures[STANDS_ON_BEST] = 1.0
    elif w.figures[STANDS_ON_BEST] > 0:
        write_best(d, w, moves, changes)


def order_by_start(d: Draft, plan: Table) -> Table:
    """Bring a list into the order of the start times of its plan. The list before."""
    items = d.order.shape[0]
    keys = np.empty(items, np.float64)
    for position in range(items):
        keys[position] = float(plan[d.order[position], START]) + position / items
    before = d.order.copy()
    sequence = np.argsort(keys)
    for k in range(items):
        d.order[k] = before[sequence[k]]
    return before


def sort_by_start(f: Table, weight: Table, d: Draft, w: Walk) -> None:
    """Bring the list into the order of its start times; the walk must be settled. Kept if no worse."""
    items = d.order.shape[0]
    before = order_by_start(d, w.kept)
    first, second = w.figures[FIRST_NOW], w.figures[SECOND_NOW]
    settle(f, weight, d, w)
    if is_better(w.figures, first, second, w.figures[FIRST_NOW], w.figures[SECOND_NOW]):
        for k in range(items):
            d.order[k] = before[k]
        settle(f, weight, d, w)


def anneal(f: Table, weight: Table, d: Draft, w: Walk, trials: int, temperature: float) -> tuple[int, int]:
    """Walk a number of trials at one temperature. (trials decoded, trials taken)

    The walk must be settled. A trial is taken when its figure, first + scale * second, is no worse, or
    worse by less than an exponential draw of mean `temperature`.
    """
    machines = fresh_machines(f)
    stores = fresh_stores(f)
    sums = np.zeros(2, np.float64)
    done = taken = drawn = 0
    while done < trials and drawn < 20 * trials:
        drawn += 1
        moves, changes, low, high = propose(f, d, w.kept)
        if moves == 0 and changes == 0:
            continue
        done += 1
        relink(f, d, moves, changes)
        most = -temperature * math.log(uniform(d.random))
        stopped, differs = try_from(
            f, weight, d.order, d.modes, w, low, high, machines, stores, sums, MARGIN * temperature + most
        )
        worse = sums[0] - w.figures[FIRST_NOW] + w.figures[SCALE] * (sums[1] - w.figures[SECOND_NOW])
        if differs and (worse <= 0 or worse < most):
            taken += 1
            take(f, d.order, w, low, stopped, sums)
            keep_best(d, w, moves, changes)
        else:
            undo(d, moves, changes)
            drop(f, d.order, w, low, stopped)
    if w.figures[STANDS_ON_BEST] > 0:
        write_best(d, w, 0, 0)
    return done, taken
