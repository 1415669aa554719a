"""Annealing on the list and the machine choices.

A move takes an item to another place in the list, mostly next to another item of the same machine, or
gives it another machine. Only what follows the change is decoded again: the machines and stores are
kept at every `GAP`-th position of the list, and decoding stops early where they stand as before.

These functions only run compiled (see `engine.py`).
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from naptuft.planning.schedule.decode import (
    CHANGEOVER,
    END,
    FREE,
    HEAD,
    LAST_START,
    SET_FOR,
    START,
    TAIL,
    copy_into,
    finish_of,
    fresh_machines,
    fresh_stores,
    step,
)
from naptuft.planning.schedule.fold import (
    AFTER_FROM,
    AFTER_TO,
    BEFORE_FROM,
    BEFORE_TO,
    BY_MAKESPAN,
    COUNT,
    DUE,
    FAMILY,
    FAR,
    FIRST,
    ITEM_FROM,
    ITEM_ROWS,
    ITEM_TO,
    JOB_ROWS,
    JOBS,
    MACHINE,
    MIN_WAIT,
    MODE_FROM,
    MODE_ROWS,
    MODE_TO,
    OF_JOB,
    OPERATION_ROWS,
    Table,
    row,
)

GAP = 32
MOVES_MOST = 64
BEYOND_REACH = 1 << 40


class Walk(NamedTuple):
    """Where an annealing walk stands; all arrays are changed in place.

    order, position    the list, and where each item is in it
    modes              the mode of each operation
    plan, kept         the working plan, and the plan the walk stands on
    machines, stores, sums      kept at every GAP-th position; sums: first and second figure so far
    best_order, best_modes      the best list
    figures            [first, second] now, [first, second] of the best, scale of the second figure
    moved              elementary moves of the trial: from, to
    changed            mode changes of the trial: operation, mode before
    random             state of the random generator
    late               jobs late in the plan the walk stands on; late[-1] counts them
    """

    order: Table
    position: Table
    modes: Table
    plan: Table
    kept: Table
    machines: Table
    stores: Table
    sums: Table
    best_order: Table
    best_modes: Table
    figures: Table
    moved: Table
    changed: Table
    random: Table
    late: Table


def start_walk(f: Table, order: Table, modes: Table, seed: int, second_scale: float) -> Walk:
    """A walk that starts from a list. Plain Python."""
    items, operations = order.shape[0], modes.shape[0]
    blocks = items // GAP + 1
    machines, stores = fresh_machines(f), fresh_stores(f)
    position = np.empty(items, np.int64)
    position[order] = np.arange(items)
    return Walk(
        order=order.copy(),
        position=position,
        modes=modes.copy(),
        plan=np.zeros((operations, 3), np.int64),
        kept=np.zeros((operations, 3), np.int64),
        machines=np.zeros((blocks, *machines.shape), np.int64),
        stores=np.zeros((blocks, *stores.shape), np.int64),
        sums=np.zeros((blocks, 2), np.float64),
        best_order=order.copy(),
        best_modes=modes.copy(),
        figures=np.array([math.inf, math.inf, math.inf, math.inf, second_scale]),
        moved=np.zeros((MOVES_MOST, 2), np.int64),
        changed=np.zeros((MOVES_MOST, 2), np.int64),
        random=np.array([(seed * 2654435761 + 88172645463325252) % (1 << 63) | 1], np.uint64),
        late=np.zeros(f[JOBS] + 1, np.int64),
    )


def draw(random: Table, below: int) -> int:
    """A whole number from 0 to below - 1. Marsaglia's xorshift, J. Statistical Software 8 (2003) 14."""
    x = random[0]
    x ^= x << np.uint64(13)
    x ^= x >> np.uint64(7)
    x ^= x << np.uint64(17)
    random[0] = x
    whole: Any = np.int64((x >> np.uint64(11)) % np.uint64(below))
    return whole


def uniform(random: Table) -> float:
    """A number above 0, at most 1."""
    return (draw(random, 1 << 53) + 1.0) / 9007199254740992.0


def add_cost(f: Table, weight: Table, item: int, plan: Table, sums: Table) -> None:
    """Add what one placed item brings to the two figures."""
    i = row(f, ITEM_ROWS, item)
    first = f[i + FIRST]
    last = first + f[i + COUNT] - 1
    for operation in range(first, last + 1):
        sums[1] += plan[operation, CHANGEOVER]
    job = f[i + OF_JOB]
    j = row(f, JOB_ROWS, job)
    if item == f[j + ITEM_TO] - 1:
        finish = plan[last, END] + f[row(f, OPERATION_ROWS, last) + MIN_WAIT]
        if finish >= FAR:
            sums[0] += float(FAR)
        if f[BY_MAKESPAN]:
            sums[0] = max(sums[0], float(finish))
        elif finish > f[j + DUE]:
            sums[0] += weight[job] * float(finish - f[j + DUE])


def decode_on(
    f: Table,
    weight: Table,
    block: int,
    order: Table,
    modes: Table,
    plan: Table,
    kept_machines: Table,
    kept_stores: Table,
    kept_sums: Table,
) -> tuple[float, float]:
    """Decode from a kept block to the end and keep every block passed. The two figures."""
    machines = kept_machines[block].copy()
    stores = kept_stores[block].copy()
    sums = kept_sums[block].copy()
    for position in range(block * GAP, order.shape[0]):
        if position % GAP == 0:
            copy_into(kept_machines[position // GAP], machines)
            copy_into(kept_stores[position // GAP], stores)
            kept_sums[position // GAP, 0] = sums[0]
            kept_sums[position // GAP, 1] = sums[1]
        step(f, order[position], modes, machines, stores, plan)
        add_cost(f, weight, order[position], plan, sums)
    return sums[0], sums[1]


def settle(f: Table, weight: Table, w: Walk, block: int) -> None:
    """Decode from a kept block on: the walk stands on this plan."""
    if block == 0:
        copy_into(w.machines[0], fresh_machines(f))
        copy_into(w.stores[0], fresh_stores(f))
        w.sums[0, 0] = 0.0
        w.sums[0, 1] = 0.0
    w.figures[0], w.figures[1] = decode_on(f, weight, block, w.order, w.modes, w.plan, w.machines, w.stores, w.sums)
    copy_into(w.kept, w.plan)
    count = 0
    for job in range(f[JOBS]):
        if finish_of(f, job, w.plan) > f[row(f, JOB_ROWS, job) + DUE]:
            w.late[count] = job
            count += 1
    w.late[f[JOBS]] = count


def keep_best(w: Walk) -> bool:
    """Remember the plan the walk stands on where it is better than the best."""
    if w.figures[0] < w.figures[2] or (w.figures[0] == w.figures[2] and w.figures[1] < w.figures[3]):
        w.figures[2] = w.figures[0]
        w.figures[3] = w.figures[1]
        for k in range(w.order.shape[0]):
            w.best_order[k] = w.order[k]
        for k in range(w.modes.shape[0]):
            w.best_modes[k] = w.modes[k]
        return True
    return False


def sort_by_start(f: Table, weight: Table, w: Walk) -> None:
    """Bring the list into the order of its start times; the walk must be settled. Kept if no worse."""
    items = w.order.shape[0]
    keys = np.empty(items, np.float64)
    for position in range(items):
        item = w.order[position]
        keys[position] = float(w.plan[f[row(f, ITEM_ROWS, item) + FIRST], START]) + position / items
    before = w.order.copy()
    first, second = w.figures[0], w.figures[1]
    sequence = np.argsort(keys)
    for k in range(items):
        w.order[k] = before[sequence[k]]
    settle(f, weight, w, 0)
    if w.figures[0] > first or (w.figures[0] == first and w.figures[1] > second):
        for k in range(items):
            w.order[k] = before[k]
        settle(f, weight, w, 0)
    for position in range(items):
        w.position[w.order[position]] = position


def lowest_position(f: Table, position: Table, item: int) -> int:
    """The first position an item may take: behind the item of its job before it, and jobs it waits for."""
    j = row(f, JOB_ROWS, f[row(f, ITEM_ROWS, item) + OF_JOB])
    if item > f[j + ITEM_FROM]:
        return position[item - 1] + 1
    low = 0
    for k in range(f[j + BEFORE_FROM], f[j + BEFORE_TO]):
        low = max(low, position[f[row(f, JOB_ROWS, f[k]) + ITEM_TO] - 1] + 1)
    return low


def highest_position(f: Table, position: Table, item: int) -> int:
    """The last position an item may take."""
    j = row(f, JOB_ROWS, f[row(f, ITEM_ROWS, item) + OF_JOB])
    if item + 1 < f[j + ITEM_TO]:
        return position[item + 1] - 1
    high = position.shape[0] - 1
    for k in range(f[j + AFTER_FROM], f[j + AFTER_TO]):
        high = min(high, position[f[row(f, JOB_ROWS, f[k]) + ITEM_FROM]] - 1)
    return high


def shift(order: Table, position: Table, source: int, target: int) -> None:
    """Take the item at one position to another; those between close up."""
    item = order[source]
    if source < target:
        for k in range(source, target):
            order[k] = order[k + 1]
            position[order[k]] = k
    else:
        for k in range(source, target, -1):
            order[k] = order[k - 1]
            position[order[k]] = k
    order[target] = item
    position[item] = target


def uses(f: Table, modes: Table, item: int, machine: int) -> bool:
    """Whether an item is on a machine."""
    i = row(f, ITEM_ROWS, item)
    first = f[i + FIRST]
    for operation in range(first, first + f[i + COUNT]):
        if f[row(f, MODE_ROWS, modes[operation]) + MACHINE] == machine:
            return True
    return False


def family_of(f: Table, modes: Table, item: int) -> int:
    """What the first operation of an item sets its machine for."""
    return f[row(f, MODE_ROWS, modes[f[row(f, ITEM_ROWS, item) + FIRST]]) + FAMILY]


def spot(
    f: Table,
    order: Table,
    modes: Table,
    at: int,
    limit: int,
    machine: int,
    passes: int,
    family: int,
) -> int:
    """The position beside the passes-th item of a machine on the way from a position to a limit.

    With a family of at least 0 the way ends at the first item of that family.
    -1: there is none.
    """
    back = limit < at
    found = -1
    seen = 0
    position = at
    while position != limit and seen < passes:
        position += -1 if back else 1
        other = order[position]
        if uses(f, modes, other, machine):
            seen += 1
            if family < 0:
                found = position
            elif family_of(f, modes, other) == family:
                if seen == 1:
                    return position
                return position + 1 if back else position - 1
    return found


def next_of_family(f: Table, order: Table, modes: Table, at: int, machine: int, family: int) -> int:
    """The next item of a machine behind a position, if it is of the family; else -1."""
    for position in range(at + 1, min(order.shape[0], at + 400)):
        if uses(f, modes, order[position], machine):
            return order[position] if family_of(f, modes, order[position]) == family else -1
    return -1


def propose(f: Table, w: Walk) -> tuple[int, int, int, int]:
    """Draw a move and carry it out on the list.

    (elementary moves, mode changes, first position touched, last position touched)
    """
    moves = changes = 0
    low, high = w.order.shape[0], -1
    late = w.late[f[JOBS]]
    back = draw(w.random, 2) == 0
    if late > 0 and draw(w.random, 3) == 0:
        j = row(f, JOB_ROWS, w.late[draw(w.random, late)])
        item = f[j + ITEM_FROM] + draw(w.random, f[j + ITEM_TO] - f[j + ITEM_FROM])
        back = draw(w.random, 8) != 0
    else:
        item = draw(w.random, w.order.shape[0])
    i = row(f, ITEM_ROWS, item)
    operation = f[i + FIRST]
    if f[i + COUNT] > 1:
        operation += draw(w.random, f[i + COUNT])
    o = row(f, OPERATION_ROWS, operation)
    mode_count = f[o + MODE_TO] - f[o + MODE_FROM]
    if mode_count > 1 and draw(w.random, 3) == 0:
        other = f[o + MODE_FROM] + draw(w.random, mode_count - 1)
        if other >= w.modes[operation]:
            other += 1
        w.changed[0, 0] = operation
        w.changed[0, 1] = w.modes[operation]
        changes = 1
        w.modes[operation] = other
        low = high = w.position[item]
        if draw(w.random, 2) == 0:
            return moves, changes, low, high
    machine = f[row(f, MODE_ROWS, w.modes[operation]) + MACHINE]
    family = f[row(f, MODE_ROWS, w.modes[operation]) + FAMILY]
    passes = 1
    while passes < 40 and draw(w.random, 4) != 0:
        passes += 1
    kind = draw(w.random, 4)
    beside = -1
    if kind == 0 and family >= 0:
        passes = 60
        beside = family
    source = w.position[item]
    limit = lowest_position(f, w.position, item) if back else highest_position(f, w.position, item)
    target = spot(f, w.order, w.modes, source, limit, machine, passes, beside)
    if target < 0 or target == source:
        return moves, changes, low, high
    run = 1
    if kind == 1 and family >= 0:
        run = 2 + draw(w.random, 6)
    # a run of one family moves on together: each follower is set right behind the one before
    while True:
        follower = -1
        if run > 1:
            follower = next_of_family(f, w.order, w.modes, source, machine, family)
        if (
            target == source
            or target < lowest_position(f, w.position, item)
            or target > highest_position(f, w.position, item)
        ):
            break
        w.moved[moves, 0] = source
        w.moved[moves, 1] = target
        moves += 1
        shift(w.order, w.position, source, target)
        low = min(low, min(source, target))
        high = max(high, max(source, target))
        run -= 1
        if follower < 0:
            break
        target = w.position[item] + (1 if back else 0)
        item = follower
        source = w.position[item]
    return moves, changes, low, high


def undo(w: Walk, moves: int, changes: int) -> None:
    """Take the trial back."""
    for k in range(moves - 1, -1, -1):
        shift(w.order, w.position, w.moved[k, 1], w.moved[k, 0])
    for k in range(changes - 1, -1, -1):
        w.modes[w.changed[k, 0]] = w.changed[k, 1]


def same_state(machines: Table, stores: Table, kept_machines: Table, kept_stores: Table) -> bool:
    """Whether machines and stores stand alike."""
    for machine in range(machines.shape[0]):
        if (
            machines[machine, FREE] != kept_machines[machine, FREE]
            or machines[machine, SET_FOR] != kept_machines[machine, SET_FOR]
        ):
            return False
    for store in range(stores.shape[0]):
        head = stores[store, HEAD]
        count = stores[store, TAIL] - head
        kept_head = kept_stores[store, HEAD]
        if stores[store, LAST_START] != kept_stores[store, LAST_START]:
            return False
        if count != kept_stores[store, TAIL] - kept_head:
            return False
        for k in range(count):
            if stores[store, head + k] != kept_stores[store, kept_head + k]:
                return False
    return True


def try_from(
    f: Table,
    weight: Table,
    w: Walk,
    low: int,
    high: int,
    machines: Table,
    stores: Table,
    sums: Table,
) -> int:
    """Decode the trial from the first position touched; `sums` becomes its two figures.

    Returns the position decoding stopped at. Stops where the rest is as before.
    """
    order, modes, plan, kept = w.order, w.modes, w.plan, w.kept
    block = low // GAP
    copy_into(machines, w.machines[block])
    copy_into(stores, w.stores[block])
    sums[0] = w.sums[block, 0]
    sums[1] = w.sums[block, 1]
    pending = 0
    for position in range(block * GAP, order.shape[0]):
        if position > high and position % GAP == 0 and pending == 0 and f[BY_MAKESPAN] == 0:
            b = position // GAP
            if same_state(machines, stores, w.machines[b], w.stores[b]):
                sums[0] += w.figures[0] - w.sums[b, 0]
                sums[1] += w.figures[1] - w.sums[b, 1]
                return position
        item = order[position]
        i = row(f, ITEM_ROWS, item)
        j = row(f, JOB_ROWS, f[i + OF_JOB])
        first = f[i + FIRST]
        last = first + f[i + COUNT] - 1
        if item > f[j + ITEM_FROM] and plan[first - 1, END] != kept[first - 1, END]:
            pending -= 1
        step(f, item, modes, machines, stores, plan)
        add_cost(f, weight, item, plan, sums)
        if plan[last, END] != kept[last, END]:
            if item + 1 < f[j + ITEM_TO]:
                pending += 1
            elif f[j + AFTER_TO] > f[j + AFTER_FROM]:
                pending += BEYOND_REACH
    return order.shape[0]


def anneal(f: Table, weight: Table, w: Walk, trials: int, temperature: float) -> tuple[int, int]:
    """Walk a number of trials at one temperature. (trials decoded, trials taken)

    The walk must be settled. A trial is taken when its figure, first + scale * second, is no worse, or
    worse by less than an exponential draw of mean `temperature`.
    """
    machines = fresh_machines(f)
    stores = fresh_stores(f)
    sums = np.zeros(2, np.float64)
    scale = w.figures[4]
    done = 0
    taken = 0
    drawn = 0
    while done < trials and drawn < 20 * trials:
        drawn += 1
        moves, changes, low, high = propose(f, w)
        if moves == 0 and changes == 0:
            continue
        done += 1
        stopped = try_from(f, weight, w, low, high, machines, stores, sums)
        worse = sums[0] - w.figures[0] + scale * (sums[1] - w.figures[1])
        if worse <= 0 or worse < -temperature * math.log(uniform(w.random)):
            taken += 1
            settle(f, weight, w, low // GAP)
            keep_best(w)
        else:
            undo(w, moves, changes)
            for position in range(low // GAP * GAP, stopped):
                i = row(f, ITEM_ROWS, w.order[position])
                for operation in range(f[i + FIRST], f[i + FIRST] + f[i + COUNT]):
                    w.plan[operation, END] = w.kept[operation, END]
    return done, taken
