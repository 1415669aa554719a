"""Moves on a list: what an annealing trial may change.

An item goes to another place, mostly beside another item of its machine, or gets another machine; a
run of one family goes together; two jobs change places. A move never takes an item past the items of its job
before and after it, nor past jobs it waits for. These functions only run compiled (see `engine.py`).
"""

from __future__ import annotations

from naptuft.planning.schedule.decode import finish_of
from naptuft.planning.schedule.draft import (
    FOLLOWS_ON,
    LINKED_ON,
    LONGEST_RUN,
    Draft,
    change_places,
    draw,
    highest_position,
    last_linked,
    lowest_position,
    neighbour,
    shift,
    take_back,
)
from naptuft.planning.schedule.fold import (
    COUNT,
    DUE,
    FAMILY,
    FIRST_ITEM,
    ITEM_AFTER,
    ITEM_BEFORE,
    JOBS,
    LAST_ITEM,
    MACHINE,
    MODE_FROM,
    MODE_TO,
    OF_JOB,
    Table,
    job_row,
    mode_row,
    operation_row,
)

FARTHEST_PASS = 40
FARTHEST_FAMILY = 60
EXCHANGES = 6


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
        if its - f[job_row(f, f[operation_row(f, its) + OF_JOB]) + FIRST_ITEM] == index and can_exchange(
            f, d, item, its
        ):
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
