"""A list of items and a choice of machines, turned into a correct plan.

Items are placed one after another in the order of the list. Each goes behind what its machine already
has, as early as the job, the machine, its changeover, its calendar and the shared store allow. A store
is given in the order of the list: no holding starts before one that was placed earlier. Every plan
whose operations start as early as they can is reached by the list sorted by its start times.

The functions are plain Python over arrays; `engine.py` runs the same ones compiled. A plan is an array
(operations, 4) of start, end, changeover and what else an operation adds; a list is an array of items, each by its first operation.
"""

from __future__ import annotations

import numpy as np

from naptuft.planning.schedule.fold import (
    BATCH_ROWS,
    BEFORE_FROM,
    BEFORE_TO,
    BY_MAKESPAN,
    CAPACITY,
    CHANGE_ROW,
    COUNT,
    DUE,
    FAMILY,
    FAR,
    FIRST_ITEM,
    HELD_MOST,
    IN_BATCHES,
    INDEX,
    ITEM_BEFORE,
    JOBS,
    LAST_OPERATION,
    LAST_WAIT,
    MACHINE,
    MACHINES,
    MAX_WAIT,
    MIN_WAIT,
    MINUTES,
    OF_JOB,
    OPERATIONS,
    OVERTIME_COUNTS,
    PAUSES,
    PENALTY,
    PIN_ROWS,
    RELEASE,
    RULED,
    SET_AT_START,
    STORE,
    STORES,
    STRETCH_END,
    STRETCH_FROM,
    TAKEN_FROM,
    TAKEN_TO,
    UNITS,
    WAIT_BEFORE,
    WAITING_COUNTS,
    WINDOWS,
    Table,
    job_row,
    machine_row,
    mode_row,
    operation_row,
)
from naptuft.planning.schedule.ruled import first_batch_done, place_ruled
from naptuft.planning.schedule.state import ADDED as ADDED
from naptuft.planning.schedule.state import CHANGEOVER as CHANGEOVER
from naptuft.planning.schedule.state import END as END
from naptuft.planning.schedule.state import ENDS as ENDS
from naptuft.planning.schedule.state import FREE as FREE
from naptuft.planning.schedule.state import HEAD as HEAD
from naptuft.planning.schedule.state import (
    IN_COMMON,
    hold,
    open_minutes,
    overtime_of,
    reserve,
    run_from,
    wait_for_store,
)
from naptuft.planning.schedule.state import LAST_START as LAST_START
from naptuft.planning.schedule.state import SET_FOR as SET_FOR
from naptuft.planning.schedule.state import START as START
from naptuft.planning.schedule.state import STRETCH as STRETCH
from naptuft.planning.schedule.state import TAIL as TAIL
from naptuft.planning.schedule.state import copy_into as copy_into

MOST_ROUNDS = 400


def fresh_machines(f: Table) -> Table:
    """Machines as they stand at minute 0. Shape (machines, 3)."""
    state = np.zeros((f[MACHINES], 3), np.int64)
    for machine in range(f[MACHINES]):
        state[machine, SET_FOR] = f[machine_row(f, machine) + SET_AT_START]
        state[machine, STRETCH] = f[machine_row(f, machine) + STRETCH_FROM]
    return state


def fresh_stores(f: Table) -> Table:
    """Empty stores, windows with what is pinned, no pin passed and no batch open.

    Shape (rows, 4 + 4 * most holdings at a time).
    """
    pins = f[STORES] + f[WINDOWS]
    batches = pins + f[PIN_ROWS]
    state = np.zeros((batches + f[BATCH_ROWS], ENDS + 4 * f[HELD_MOST]), np.int64)
    for row in range(state.shape[0]):
        state[row, HEAD] = ENDS
        state[row, TAIL] = ENDS
        if row >= batches:
            state[row, TAIL] = ENDS + 4
            state[row, ENDS + IN_COMMON] = -1
        elif row >= pins:
            state[row, TAIL] = ENDS + 1
    for taken in range(f[TAKEN_FROM], f[TAKEN_TO], 4):
        reserve(state, f[taken], f[taken + 3], f[taken + 1], f[taken + 2])
    return state


def place(
    f: Table,
    operation: int,
    mode: int,
    ready: int,
    machines: Table,
    stores: Table,
    plan: Table,
) -> None:
    """Put one operation behind what its machine has; where the calendar has no room left it starts FAR."""
    o = operation_row(f, operation)
    m = mode_row(f, mode)
    if f[m + RULED] > 0:
        place_ruled(f, operation, mode, ready, machines, stores, plan)
        return
    machine = f[m + MACHINE] & INDEX
    family = f[m + FAMILY]
    was = machines[machine, SET_FOR]
    changeover = f[(f[m + CHANGE_ROW] + was) & INDEX]
    start = max(machines[machine, FREE] + changeover, ready)
    store = f[o + STORE]
    if store >= 0:
        start = wait_for_store(stores, store, f[o + UNITS], f[o + CAPACITY], start)
    stretch = machines[machine, STRETCH]
    start, end, _, stretch = run_from(f, stretch, f[m + STRETCH_END], f[m + MINUTES], f[o + PAUSES], start)
    machines[machine, SET_FOR] = family if family >= 0 else was
    machines[machine, FREE] = end
    machines[machine, STRETCH] = stretch
    if store >= 0:
        hold(stores, store, f[o + UNITS], start, end + f[o + MIN_WAIT])
    plan[operation, START] = start
    plan[operation, END] = end
    plan[operation, CHANGEOVER] = changeover
    plan[operation, ADDED] = f[m + PENALTY]
    if f[OVERTIME_COUNTS] > 0:
        plan[operation, ADDED] += overtime_of(f, machine, start, end)


def place_tied(
    f: Table,
    first: int,
    count: int,
    modes: Table,
    ready: int,
    machines: Table,
    stores: Table,
    plan: Table,
) -> None:
    """Put operations tied by longest waits, each as late as its follower needs and no later.

    The earlier operation is moved on until the follower starts in time. All rules only ever push to
    later minutes, so the first placing without a breach is the earliest there is. Where the follower moves
    on as fast as the earlier one (a changeover between them longer than the wait), they start FAR.
    """
    not_before = np.zeros(count, np.int64)
    tie(f, first, count, modes, ready, machines, stores, plan, machines.copy(), stores.copy(), not_before)


def tie(
    f: Table,
    first: int,
    count: int,
    modes: Table,
    ready: int,
    machines: Table,
    stores: Table,
    plan: Table,
    machines_before: Table,
    stores_before: Table,
    not_before: Table,
) -> None:
    """The rounds of `place_tied`; each begins with machines and stores as they were before."""
    kept = False
    rounds = 0
    while not kept:
        kept = True
        rounds += 1
        earliest = ready if rounds < MOST_ROUNDS else FAR
        for k in range(count):
            operation = first + k
            place(f, operation, modes[operation], max(earliest, not_before[k]), machines, stores, plan)
            earliest = plan[operation, END] + f[operation_row(f, operation) + MIN_WAIT]
        if plan[first + count - 1, END] >= FAR:
            return
        for k in range(count - 1):
            operation = first + k
            o = operation_row(f, operation)
            end = plan[operation, END]
            needed = plan[operation + 1, START] - f[o + MAX_WAIT]
            if end < needed:
                kept = False
                later = needed - end
                if f[o + PAUSES]:
                    machine = f[mode_row(f, modes[operation]) + MACHINE]
                    later = max(1, open_minutes(f, machine, end, needed))
                not_before[k] = plan[operation, START] + later
        if not kept:
            copy_into(machines, machines_before)
            copy_into(stores, stores_before)


def finish_of(f: Table, job: int, plan: Table) -> int:
    """When a job counts as finished, its last wait included. [minute]"""
    j = job_row(f, job)
    return plan[f[j + LAST_OPERATION], END] + f[j + LAST_WAIT]


def waits(f: Table, operation: int, plan: Table) -> int:
    """Minutes a job waits before an operation beyond the wait asked of it; none with transfer batches. [minute]"""
    o = operation_row(f, operation)
    if operation == f[job_row(f, f[o + OF_JOB]) + FIRST_ITEM] or f[o + IN_BATCHES]:
        return 0
    return plan[operation, START] - plan[operation - 1, END] - f[o + WAIT_BEFORE]


def jobs_done(f: Table, j: int, plan: Table) -> int:
    """When all jobs that go before the one of a row are finished. [minute]"""
    k, last = f[j + BEFORE_FROM], f[j + BEFORE_TO]
    done = 0
    while k < last:
        done = max(done, finish_of(f, f[k], plan))
        k += 1
    return done


def step(f: Table, item: int, modes: Table, machines: Table, stores: Table, plan: Table) -> None:
    """Place one item."""
    o = operation_row(f, item)
    if f[o + ITEM_BEFORE] >= 0:
        ready = plan[(item - 1) & INDEX, END] + f[o + WAIT_BEFORE]
        if f[o + IN_BATCHES]:
            ready = first_batch_done(f, item - 1, modes[item - 1], plan) + f[o + WAIT_BEFORE]
    else:
        j = job_row(f, f[o + OF_JOB])
        ready = f[j + RELEASE]
        if f[j + BEFORE_FROM] < f[j + BEFORE_TO]:
            ready = max(ready, jobs_done(f, j, plan))
    if f[o + COUNT] == 1:
        place(f, item, modes[item] & INDEX, ready, machines, stores, plan)
    else:
        place_tied(f, item, f[o + COUNT], modes, ready, machines, stores, plan)


def place_all(f: Table, order: Table, modes: Table, machines: Table, stores: Table, plan: Table) -> None:
    """Place every item of the list on machines and stores as they stand."""
    for position in range(order.shape[0]):
        step(f, order[position] & INDEX, modes, machines, stores, plan)


def decode(f: Table, order: Table, modes: Table, plan: Table) -> None:
    """Place every item of the list; the plan is written."""
    place_all(f, order, modes, fresh_machines(f), fresh_stores(f), plan)


def measure(f: Table, weight: Table, plan: Table) -> tuple[float, float]:
    """The two figures of a plan: makespan and 0, or weighted late minutes and what else counts.

    Each job that does not end within the calendars adds FAR.
    """
    first = 0.0
    second = 0.0
    beyond = 0
    for job in range(f[JOBS]):
        finish = finish_of(f, job, plan)
        due = f[job_row(f, job) + DUE]
        if finish >= FAR:
            beyond += 1
        if f[BY_MAKESPAN]:
            first = max(first, float(finish))
        elif finish > due:
            first += weight[job] * float(finish - due)
    if not f[BY_MAKESPAN]:
        for operation in range(plan.shape[0]):
            second += float(plan[operation, CHANGEOVER] + plan[operation, ADDED])
        if f[WAITING_COUNTS]:
            for operation in range(f[OPERATIONS]):
                second += weight[f[JOBS]] * float(waits(f, operation, plan))
    return first + float(beyond) * float(FAR), second


def fresh_plan(f: Table) -> Table:
    """A plan with nothing placed. Shape (operations, 4)."""
    return np.zeros((f[OPERATIONS], 4), np.int32)
