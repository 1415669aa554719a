"""The list a walk works on, and the trial on it.

The operations of each machine and of each store stand in a ring, in the order of the list: a trial lifts what it
moves out of its rings and sets it down where the list has it then. These functions only run compiled (see
`engine.py`).
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from naptuft.planning.schedule.fold import (
    AFTER_FROM,
    AFTER_TO,
    BEFORE_FROM,
    BEFORE_TO,
    COUNT,
    FIRST_ITEM,
    ITEM_AFTER,
    ITEM_BEFORE,
    LAST_ITEM,
    MACHINE,
    MACHINES,
    OF_JOB,
    OPERATIONS,
    STORE,
    STORES,
    Table,
    job_row,
    mode_row,
    operation_row,
)
from naptuft.planning.schedule.quick import lines

LONGEST_RUN = 40
# row of an operation, behind start, end, changeover and what else it adds: minutes it waits for its turn, what its
# machine is set for then, the address of the stretch it ends in and the first operation its store still holds when
# it starts (these eight are kept by `retime.py` alone);
# what stands before and after it on its machine, and in its store; the machine and store it is linked to (-1: none).
# Behind the operations, a row closes the ring of each machine and of each store
WAITED, SET_FOR_THEN, ENDS_IN, OLDEST = range(4, 8)
LEADS_ON, FOLLOWS_ON, LEADS_IN, FOLLOWS_IN, LINKED_ON, LINKED_IN = range(8, 14)
# an operation taken out of its rings by a move: its machine, and what stood before and after it there and in its store
OF, WAS_ON, LED_ON, FOLLOWED_ON, LED_IN, FOLLOWED_IN = range(6)
LIFTED, ANY_TIED = range(2)


class Draft(NamedTuple):
    """The list a walk works on and the trial on it; changed in place.

    order, position    the list, and where each item is in it (operations,)
    modes              the mode of each operation
    moved              elementary moves of the trial: from, to, the item; the item it changes places with (-1: those
                       between close up)
    changed            operations that changed their modes, and the modes before
    rows               of each operation, as named above
    lifted             operations the trial took out of their rings
    counts             how many these are; whether any item has several operations
    items              of each operation: the item it is in
    random             state of the random generator
    """

    order: Table
    position: Table
    modes: Table
    moved: Table
    changed: Table
    rows: Table
    lifted: Table
    counts: Table
    items: Table
    random: Table


def start_draft(f: Table, order: Table, modes: Table, seed: int) -> Draft:
    """The draft of a list, not linked yet. Plain Python."""
    count = int(f[OPERATIONS])
    position = np.zeros(count, np.int32)
    position[order] = np.arange(order.shape[0], dtype=np.int32)
    items = np.zeros(count, np.int32)
    items[order] = order
    items = np.maximum.accumulate(items)
    return Draft(
        order=order.copy(),
        position=position,
        modes=modes.copy(),
        moved=np.zeros((LONGEST_RUN, 4), np.int64),
        changed=np.zeros((2 * LONGEST_RUN, 2), np.int64),
        rows=lines(count + int(f[MACHINES]) + int(f[STORES]), 16),
        lifted=np.zeros((count, 6), np.int32),
        counts=np.array([0, int(order.shape[0] < count)], np.int64),
        items=items,
        random=np.array([(seed * 2654435761 + 88172645463325252) % (1 << 63) | 1], np.uint64),
    )


def link_behind(rows: Table, column: int, operation: int, before: int) -> None:
    """Put an operation into a ring, behind another; `column` is that of what leads."""
    after = rows[before, column + 1]
    rows[operation, column] = before
    rows[operation, column + 1] = after
    rows[before, column + 1] = operation
    rows[after, column] = operation


def take_out(rows: Table, column: int, operation: int) -> None:
    """Take an operation out of a ring."""
    before, after = rows[operation, column], rows[operation, column + 1]
    rows[before, column + 1] = after
    rows[after, column] = before


def link_all(f: Table, d: Draft) -> None:
    """Link every operation in the order of the list."""
    rows, count = d.rows, d.modes.shape[0]
    for ring in range(count, rows.shape[0]):
        for column in range(LEADS_ON, FOLLOWS_IN + 1):
            rows[ring, column] = ring
    for position in range(d.order.shape[0]):
        item = d.order[position]
        d.position[item] = position
        for operation in range(item, item + f[operation_row(f, item) + COUNT]):
            machine = f[mode_row(f, d.modes[operation]) + MACHINE]
            rows[operation, LINKED_ON] = machine
            link_behind(rows, LEADS_ON, operation, rows[count + machine, LEADS_ON])
            store = f[operation_row(f, operation) + STORE]
            rows[operation, LINKED_IN] = store
            if store >= 0:
                link_behind(rows, LEADS_IN, operation, rows[count + f[MACHINES] + store, LEADS_IN])


def last_linked(f: Table, d: Draft, column: int, to: int, position: int) -> int:
    """The last operation of the list up to a position that is linked to a machine or store; -1: there is none."""
    rows, order = d.rows, d.order
    if d.counts[ANY_TIED] == 0:
        while position >= 0 and rows[order[position], column] != to:
            position -= 1
        return order[position] if position >= 0 else -1
    while position >= 0:
        item = order[position]
        for operation in range(item + f[operation_row(f, item) + COUNT] - 1, item - 1, -1):
            if rows[operation, column] == to:
                return operation
        position -= 1
    return -1


def lift(f: Table, d: Draft, item: int) -> None:
    """Take the operations of an item out of their rings."""
    rows = d.rows
    if rows[item, LINKED_ON] < 0:
        return
    for operation in range(item, item + f[operation_row(f, item) + COUNT]):
        n = d.counts[LIFTED]
        d.counts[LIFTED] = n + 1
        d.lifted[n, OF] = operation
        d.lifted[n, WAS_ON] = rows[operation, LINKED_ON]
        d.lifted[n, LED_ON] = rows[operation, LEADS_ON]
        d.lifted[n, FOLLOWED_ON] = rows[operation, FOLLOWS_ON]
        take_out(rows, LEADS_ON, operation)
        rows[operation, LINKED_ON] = -1
        if rows[operation, LINKED_IN] >= 0:
            d.lifted[n, LED_IN] = rows[operation, LEADS_IN]
            d.lifted[n, FOLLOWED_IN] = rows[operation, FOLLOWS_IN]
            take_out(rows, LEADS_IN, operation)
            rows[operation, LINKED_IN] = -1


def set_down(f: Table, d: Draft, item: int) -> None:
    """Link the operations of an item where the list has it."""
    rows, count = d.rows, d.modes.shape[0]
    for operation in range(item, item + f[operation_row(f, item) + COUNT]):
        machine = f[mode_row(f, d.modes[operation]) + MACHINE]
        before = last_linked(f, d, LINKED_ON, machine, d.position[item])
        link_behind(rows, LEADS_ON, operation, before if before >= 0 else count + machine)
        rows[operation, LINKED_ON] = machine
        store = f[operation_row(f, operation) + STORE]
        if store >= 0:
            before = last_linked(f, d, LINKED_IN, store, d.position[item])
            link_behind(rows, LEADS_IN, operation, before if before >= 0 else count + f[MACHINES] + store)
            rows[operation, LINKED_IN] = store


def relink(f: Table, d: Draft, moves: int, changes: int) -> None:
    """Bring the rings into line with a move on the list."""
    d.counts[LIFTED] = 0
    for k in range(moves):
        lift(f, d, d.moved[k, 2])
        if d.moved[k, 3] >= 0:
            lift(f, d, d.moved[k, 3])
    for k in range(changes):
        lift(f, d, d.items[d.changed[k, 0]])
    # set down in the order of the list: whatever stands before is in its ring then
    if d.counts[LIFTED] == 1:
        set_down(f, d, d.lifted[0, OF])
        return
    done = -1
    while True:
        least = d.order.shape[0]
        for n in range(d.counts[LIFTED]):
            position = d.position[d.items[d.lifted[n, OF]]]
            if done < position < least:
                least = position
        if least == d.order.shape[0]:
            return
        set_down(f, d, d.order[least])
        done = least


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


def lowest_position(f: Table, position: Table, item: int) -> int:
    """The first position an item may take: behind the item of its job before it, and jobs it waits for."""
    o = operation_row(f, item)
    if f[o + ITEM_BEFORE] >= 0:
        return position[f[o + ITEM_BEFORE]] + 1
    j = job_row(f, f[o + OF_JOB])
    low = 0
    for k in range(f[j + BEFORE_FROM], f[j + BEFORE_TO]):
        low = max(low, position[f[job_row(f, f[k]) + LAST_ITEM]] + 1)
    return low


def highest_position(f: Table, position: Table, item: int, items: int) -> int:
    """The last position an item may take."""
    o = operation_row(f, item)
    if f[o + ITEM_AFTER] >= 0:
        return position[f[o + ITEM_AFTER]] - 1
    j = job_row(f, f[o + OF_JOB])
    high = items - 1
    for k in range(f[j + AFTER_FROM], f[j + AFTER_TO]):
        high = min(high, position[f[job_row(f, f[k]) + FIRST_ITEM]] - 1)
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


def neighbour(d: Draft, operation: int, back: bool) -> int:
    """The operation of another item next to one on its machine; -1: there is none."""
    other = operation
    while True:
        other = d.rows[other, LEADS_ON if back else FOLLOWS_ON]
        if other >= d.modes.shape[0]:
            return -1
        if d.items[other] != d.items[operation]:
            return other


def change_places(order: Table, source: int, target: int) -> None:
    """Let the items at two positions change places."""
    item = order[source]
    order[source] = order[target]
    order[target] = item


def take_back(d: Draft, moves: int, changes: int) -> None:
    """Bring list and modes back to where they were before the trial."""
    for k in range(moves - 1, -1, -1):
        source, target = d.moved[k, 1], d.moved[k, 0]
        if d.moved[k, 3] >= 0:
            change_places(d.order, source, target)
            d.position[d.order[source]] = source
            d.position[d.order[target]] = target
        else:
            shift(d.order, d.position, source, target)
    for k in range(changes - 1, -1, -1):
        d.modes[d.changed[k, 0]] = d.changed[k, 1]


def undo(d: Draft, moves: int, changes: int) -> None:
    """Take the trial back, once the rings are in line with it."""
    take_back(d, moves, changes)
    rows, lifted = d.rows, d.counts[LIFTED]
    for n in range(lifted):
        operation = d.lifted[n, OF]
        take_out(rows, LEADS_ON, operation)
        if rows[operation, LINKED_IN] >= 0:
            take_out(rows, LEADS_IN, operation)
    for n in range(lifted - 1, -1, -1):
        operation = d.lifted[n, OF]
        rows[operation, LINKED_ON] = d.lifted[n, WAS_ON]
        link_behind(rows, LEADS_ON, operation, d.lifted[n, LED_ON])
        if rows[operation, LINKED_IN] >= 0:
            link_behind(rows, LEADS_IN, operation, d.lifted[n, LED_IN])
