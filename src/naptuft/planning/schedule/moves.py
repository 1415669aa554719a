"""Moves on a list: what an annealing trial may change.

An item goes to another place, mostly beside another item of its machine, or gets another machine; a
run of one family goes together. A move never takes an item past the items of its job before and after
it, nor past jobs it waits for. These functions only run compiled (see `engine.py`).
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
LONGEST_RUN = 40
NEXT_WITHIN = 400


class Draft(NamedTuple):
    """The list a walk works on and the trial on it; changed in place.

    order, position    the list, and where each item is in it (operations,)
    modes              the mode of each operation
    moved              elementary moves of the trial: from, to
    changed            the operation that changed its mode, and its mode before
    random             state of the random generator
    """

    order: Table
    position: Table
    modes: Table
    moved: Table
    changed: Table
    random: Table


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


def uses(f: Table, modes: Table, item: int, machine: int) -> bool:
    """Whether an item is on a machine."""
    if f[mode_row(f, modes[item]) + MACHINE] == machine:
        return True
    for operation in range(item + 1, item + f[operation_row(f, item) + COUNT]):
        if f[mode_row(f, modes[operation]) + MACHINE] == machine:
            return True
    return False


def spot(f: Table, order: Table, modes: Table, at: int, limit: int, machine: int, passes: int) -> int:
    """The position beside the passes-th item of a machine on the way from a position to a limit. -1: there is none."""
    step = -1 if limit < at else 1
    found = -1
    seen = 0
    position = at
    while position != limit and seen < passes:
        position += step
        if uses(f, modes, order[position], machine):
            seen += 1
            found = position
    return found


def run_spot(f: Table, order: Table, modes: Table, at: int, limit: int, machine: int, family: int, join: bool) -> int:
    """A position at the edge of another run of a machine on the way from a position to a limit; -1: there is none.

    To join: at the near edge of the next run of the family, behind its own run. Else: past the neighbouring run.
    """
    step = -1 if limit < at else 1
    found = -1
    seen = 0
    passing = -2
    position = at
    while position != limit and seen < FARTHEST_FAMILY:
        position += step
        other = order[position]
        if not uses(f, modes, other, machine):
            continue
        seen += 1
        its = f[mode_row(f, modes[other]) + FAMILY]
        if join:
            if its == family and passing != -2:
                return position - step
            if its != family:
                passing = its
        else:
            if its == family and passing == -2:
                continue
            if passing == -2:
                passing = its
            elif its != passing:
                return found
            found = position
    return -1 if join else found


def first_of_run(f: Table, d: Draft, item: int, machine: int, family: int) -> int:
    """The first item of the run of a family an item is in."""
    position = d.position[item]
    limit = max(0, position - NEXT_WITHIN)
    while position > limit:
        position -= 1
        other = d.order[position]
        if uses(f, d.modes, other, machine):
            if f[mode_row(f, d.modes[other]) + FAMILY] != family:
                break
            item = other
    return item


def next_of_family(f: Table, order: Table, modes: Table, at: int, machine: int, family: int) -> int:
    """The next item of a machine behind a position, if it is of the family; else -1."""
    for position in range(at + 1, min(order.shape[0], at + NEXT_WITHIN)):
        other = order[position]
        if uses(f, modes, other, machine):
            return other if f[mode_row(f, modes[other]) + FAMILY] == family else -1
    return -1


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
        d.changed[0] = operation
        d.changed[1] = d.modes[operation]
        changes = 1
        d.modes[operation] = other
        low = high = d.position[item]
        if draw(d.random, 2) == 0:
            return moves, changes, low, high
    kind = draw(d.random, 10)
    passes = 1
    while passes < FARTHEST_PASS and draw(d.random, 4) != 0:
        passes += 1
    if kind < 2:
        return push_job(f, d, item, back, passes, kind == 0, changes, low, high)
    m = mode_row(f, d.modes[operation])
    machine = f[m + MACHINE]
    family = f[m + FAMILY]
    run = 1
    if family < 0:
        kind = 9
    if kind == 5 and o == operation_row(f, item):
        item = first_of_run(f, d, item, machine, family)
        run = LONGEST_RUN
    elif kind == 3 or kind == 4 or kind == 6:
        run = 2 + draw(d.random, LONGEST_RUN - 2)
    source = d.position[item]
    limit = lowest_position(f, d.position, item) if back else highest_position(f, d.position, item, items)
    if 2 <= kind <= 5:
        target = run_spot(f, d.order, d.modes, source, limit, machine, family, kind < 5)
    else:
        target = spot(f, d.order, d.modes, source, limit, machine, passes)
    if target < 0 or target == source:
        return moves, changes, low, high
    # a run of one family moves on together: each follower is set right behind the one before
    while True:
        follower = -1
        if run > 1:
            follower = next_of_family(f, d.order, d.modes, source, machine, family)
        if (
            target == source
            or target < lowest_position(f, d.position, item)
            or target > highest_position(f, d.position, item, items)
        ):
            break
        d.moved[moves, 0] = source
        d.moved[moves, 1] = target
        moves += 1
        shift(d.order, d.position, source, target)
        low = min(low, min(source, target))
        high = max(high, max(source, target))
        run -= 1
        if follower < 0:
            break
        target = d.position[item] + (1 if back else 0)
        item = follower
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
        m = mode_row(f, d.modes[item])
        target = -1
        if join and f[m + FAMILY] >= 0:
            target = run_spot(f, d.order, d.modes, source, limit, f[m + MACHINE], f[m + FAMILY], True)
        if target < 0:
            target = spot(f, d.order, d.modes, source, limit, f[m + MACHINE], passes)
        if target >= 0 and target != source:
            d.moved[moves, 0] = source
            d.moved[moves, 1] = target
            moves += 1
            shift(d.order, d.position, source, target)
            low = min(low, min(source, target))
            high = max(high, max(source, target))
        item = f[operation_row(f, item) + (ITEM_AFTER if back else ITEM_BEFORE)]
    return moves, changes, low, high


def undo(d: Draft, moves: int, changes: int) -> None:
    """Take the trial back."""
    for k in range(moves - 1, -1, -1):
        shift(d.order, d.position, d.moved[k, 1], d.moved[k, 0])
    if changes:
        d.modes[d.changed[0]] = d.changed[1]
