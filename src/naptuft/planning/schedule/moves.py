"""Moves on a list: what an annealing trial may change.

An item goes to another place, mostly beside another item of its machine, or gets another machine; a
run of one family goes together. A move never takes an item past the items of its job before and after
it, nor past jobs it waits for. The operations of each machine and of each store stand in a ring, in the
order of the list. These functions only run compiled (see `engine.py`).
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from naptuft.planning.schedule.decode import finish_of
from naptuft.planning.schedule.fold import (
    AFTER_FROM,
    AFTER_TO,
    BEFORE_FROM,
    BEFORE_TO,
    COUNT,
    DUE,
    FAMILY,
    FIRST_ITEM,
    ITEM_AFTER,
    ITEM_BEFORE,
    JOBS,
    LAST_ITEM,
    MACHINE,
    MACHINES,
    MODE_FROM,
    MODE_TO,
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

FARTHEST_PASS = 40
FARTHEST_FAMILY = 60
LONGEST_RUN = 40
EXCHANGES = 6
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


def beyond(at: int, limit: int, back: bool) -> bool:
    """Whether a position lies past a limit on the way back or forth."""
    return at < limit if back else at > limit


def stepping_stone(f: Table, d: Draft, operation: int, back: bool) -> int:
    """The next operation on the way back or forth on the machine of an operation that may have just changed its mode."""
    machine = f[mode_row(f, d.modes[operation]) + MACHINE]
    if d.rows[operation, LINKED_ON] == machine:
        return neighbour(d, operation, back)
    other = last_linked(f, d, LINKED_ON, machine, d.position[d.items[operation]] - 1)
    if not back:
        other = d.rows[other if other >= 0 else d.modes.shape[0] + machine, FOLLOWS_ON]
    return other if other < d.modes.shape[0] else -1


def spot(f: Table, d: Draft, operation: int, limit: int, back: bool, passes: int) -> int:
    """The position beside the passes-th item of its machine on the way from an operation to a limit. -1: there is none."""
    found = -1
    other = stepping_stone(f, d, operation, back)
    while other >= 0 and passes > 0:
        position = d.position[d.items[other]]
        if beyond(position, limit, back):
            break
        found = position
        passes -= 1
        other = neighbour(d, other, back)
    return found


def run_spot(f: Table, d: Draft, operation: int, limit: int, back: bool, join: bool) -> int:
    """A position at the edge of another run of a machine on the way from an operation to a limit; -1: there is none.

    To join: at the near edge of the next run of the family, behind its own run. Else: past the neighbouring run.
    """
    family = f[mode_row(f, d.modes[operation]) + FAMILY]
    found = -1
    passing = -2
    other = stepping_stone(f, d, operation, back)
    for _ in range(FARTHEST_FAMILY):
        if other < 0:
            break
        position = d.position[d.items[other]]
        if beyond(position, limit, back):
            break
        its = f[mode_row(f, d.modes[other]) + FAMILY]
        if join:
            if its == family and passing != -2:
                return position + 1 if back else position - 1
            if its != family:
                passing = its
        elif its != family or passing != -2:
            if passing == -2:
                passing = its
            elif its != passing:
                return found
            found = position
        other = neighbour(d, other, back)
    return -1 if join else found


def first_of_run(f: Table, d: Draft, operation: int) -> int:
    """The first item of the run of a family an operation is in."""
    family = f[mode_row(f, d.modes[operation]) + FAMILY]
    first = operation
    for _ in range(LONGEST_RUN):
        other = neighbour(d, first, True)
        if other < 0 or f[mode_row(f, d.modes[other]) + FAMILY] != family:
            break
        first = other
    return d.items[first]


def late_item(f: Table, plan: Table, random: Table) -> int:
    """An item of a late job; -1 where a few draws meet none."""
    for _ in range(12):
        job = draw(random, f[JOBS])
        j = job_row(f, job)
        if finish_of(f, job, plan) > f[j + DUE]:
            item = f[j + FIRST_ITEM]
            steps = draw(random, 1 + f[j + LAST_ITEM] - f[j + FIRST_ITEM])
            while steps > 0 and f[operation_row(f, item) + ITEM_AFTER] >= 0:
                item = f[operation_row(f, item) + ITEM_AFTER]
                steps -= 1
            return item
    return -1


def propose(f: Table, d: Draft, plan: Table) -> tuple[int, int, int, int]:
    """Draw a move and carry it out on the list.

    (elementary moves, mode changes, first position touched, last position touched)
    """
    items = d.order.shape[0]
    moves = changes = 0
    low, high = items, -1
    back = draw(d.random, 2) == 0
    item = -1
    if draw(d.random, 3) == 0:
        item = late_item(f, plan, d.random)
        if item >= 0:
            back = draw(d.random, 8) != 0
    if item < 0:
        item = d.order[draw(d.random, items)]
    operation = item
    o = operation_row(f, item)
    if f[o + COUNT] > 1:
        operation += draw(d.random, f[o + COUNT])
        o = operation_row(f, operation)
    mode_count = f[o + MODE_TO] - f[o + MODE_FROM]
    if mode_count > 1 and draw(d.random, 3) == 0:
        other = f[o + MODE_FROM] + draw(d.random, mode_count - 1)
        if other >= d.modes[operation]:
            other += 1
        d.changed[0, 0] = operation
        d.changed[0, 1] = d.modes[operation]
        changes = 1
        d.modes[operation] = other
        low = high = d.position[item]
        if draw(d.random, 2) == 0:
            return moves, changes, low, high
    kind = draw(d.random, 10)
    passes = 1
    while passes < FARTHEST_PASS and draw(d.random, 4) != 0:
        passes += 1
    if changes == 0 and draw(d.random, EXCHANGES) == 0:
        other = partner(f, d, operation, back, passes, draw(d.random, 2) == 0)
        if other >= 0:
            if draw(d.random, 2) == 0:
                item = f[job_row(f, f[operation_row(f, item) + OF_JOB]) + FIRST_ITEM]
                other = f[job_row(f, f[operation_row(f, other) + OF_JOB]) + FIRST_ITEM]
            return exchange(f, d, item, other)
    if kind < 2:
        return push_job(f, d, item, back, passes, kind == 0, changes, low, high)
    family = f[mode_row(f, d.modes[operation]) + FAMILY]
    run = 1
    if family < 0:
        kind = 9
    if kind == 5 and changes == 0:
        operation = first_of_run(f, d, operation)
        item = d.items[operation]
        run = LONGEST_RUN
    elif kind == 3 or kind == 4 or kind == 6:
        run = 2 + draw(d.random, LONGEST_RUN - 2)
    source = d.position[item]
    limit = lowest_position(f, d.position, item) if back else highest_position(f, d.position, item, items)
    if 2 <= kind <= 5:
        target = run_spot(f, d, operation, limit, back, kind < 5)
    else:
        target = spot(f, d, operation, limit, back, passes)
    if target < 0 or target == source:
        return moves, changes, low, high
    # a run of one family moves on together: each follower is set right behind the one before
    while True:
        follower = -1
        if run > 1 and (changes == 0 or operation != d.changed[0, 0]):
            follower = neighbour(d, operation, False)
            if follower >= 0 and f[mode_row(f, d.modes[follower]) + FAMILY] != family:
                follower = -1
        if (
            target == source
            or target < lowest_position(f, d.position, item)
            or target > highest_position(f, d.position, item, items)
        ):
            break
        d.moved[moves, 0] = source
        d.moved[moves, 1] = target
        d.moved[moves, 2] = item
        d.moved[moves, 3] = -1
        moves += 1
        shift(d.order, d.position, source, target)
        low = min(low, min(source, target))
        high = max(high, max(source, target))
        run -= 1
        if follower < 0:
            break
        target = d.position[item] + (1 if back else 0)
        operation = follower
        item = d.items[operation]
        source = d.position[item]
    return moves, changes, low, high


def push_job(
    f: Table, d: Draft, item: int, back: bool, passes: int, join: bool, changes: int, low: int, high: int
) -> tuple[int, int, int, int]:
    """Take an item and those of its job behind it (going later: before it) past some others of their machines.

    To join: each goes to the next run of its family where there is one.
    """
    items = d.order.shape[0]
    moves = 0
    while item >= 0 and moves < LONGEST_RUN:
        source = d.position[item]
        limit = lowest_position(f, d.position, item) if back else highest_position(f, d.position, item, items)
        target = -1
        if join and f[mode_row(f, d.modes[item]) + FAMILY] >= 0:
            target = run_spot(f, d, item, limit, back, True)
        if target < 0:
            target = spot(f, d, item, limit, back, passes)
        if target >= 0 and target != source:
            d.moved[moves, 0] = source
            d.moved[moves, 1] = target
            d.moved[moves, 2] = item
            d.moved[moves, 3] = -1
            moves += 1
            shift(d.order, d.position, source, target)
            low = min(low, min(source, target))
            high = max(high, max(source, target))
        item = f[operation_row(f, item) + (ITEM_AFTER if back else ITEM_BEFORE)]
    return moves, changes, low, high


def mode_on(f: Table, operation: int, machine: int) -> int:
    """The first mode of an operation on a machine; -1: it has none."""
    o = operation_row(f, operation)
    for mode in range(f[o + MODE_FROM], f[o + MODE_TO]):
        if f[mode_row(f, mode) + MACHINE] == machine:
            return mode
    return -1


def can_exchange(f: Table, d: Draft, item: int, other: int) -> bool:
    """Whether each operation of two items can run where its like in the other item does."""
    count = f[operation_row(f, item) + COUNT]
    if count != f[operation_row(f, other) + COUNT]:
        return False
    for k in range(count):
        here, there = f[mode_row(f, d.modes[item + k]) + MACHINE], f[mode_row(f, d.modes[other + k]) + MACHINE]
        if here != there and (mode_on(f, item + k, there) < 0 or mode_on(f, other + k, here) < 0):
            return False
    return True


def partner(f: Table, d: Draft, operation: int, back: bool, passes: int, alike: bool) -> int:
    """An item of another job at the same step some places on, on the machine of an operation; -1: there is none."""
    item = d.items[operation]
    index = item - f[job_row(f, f[operation_row(f, item) + OF_JOB]) + FIRST_ITEM]
    family = f[mode_row(f, d.modes[operation]) + FAMILY]
    found = -1
    other = operation
    for _ in range(FARTHEST_FAMILY):
        other = neighbour(d, other, back)
        if other < 0:
            break
        if alike and f[mode_row(f, d.modes[other]) + FAMILY] != family:
            continue
        its = d.items[other]
        if its - f[job_row(f, f[operation_row(f, its) + OF_JOB]) + FIRST_ITEM] == index and can_exchange(f, d, item, its):
            found = its
            passes -= 1
            if passes == 0:
                break
    return found


def exchange(f: Table, d: Draft, item: int, other: int) -> tuple[int, int, int, int]:
    """Let two jobs change places and machines, from an item of each on."""
    items = d.order.shape[0]
    low, high = items, -1
    moves = changes = 0
    while item >= 0 and other >= 0 and moves < LONGEST_RUN and can_exchange(f, d, item, other):
        count = f[operation_row(f, item) + COUNT]
        if changes + 2 * count > d.changed.shape[0]:
            break
        for k in range(count):
            a, b = item + k, other + k
            here, there = f[mode_row(f, d.modes[a]) + MACHINE], f[mode_row(f, d.modes[b]) + MACHINE]
            if here != there:
                d.changed[changes, 0], d.changed[changes, 1] = a, d.modes[a]
                d.changed[changes + 1, 0], d.changed[changes + 1, 1] = b, d.modes[b]
                d.modes[a], d.modes[b] = mode_on(f, a, there), mode_on(f, b, here)
                changes += 2
        source, target = d.position[item], d.position[other]
        d.moved[moves, 0], d.moved[moves, 1] = source, target
        d.moved[moves, 2], d.moved[moves, 3] = item, other
        moves += 1
        change_places(d.order, source, target)
        d.position[item], d.position[other] = target, source
        low, high = min(low, min(source, target)), max(high, max(source, target))
        item, other = f[operation_row(f, item) + ITEM_AFTER], f[operation_row(f, other) + ITEM_AFTER]
    for k in range(moves):
        for which in range(2, 4):
            moved = d.moved[k, which]
            at = d.position[moved]
            if at < lowest_position(f, d.position, moved) or at > highest_position(f, d.position, moved, items):
                take_back(d, moves, changes)
                return 0, 0, items, -1
    return moves, changes, low, high


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
