"""First lists by dispatch rules: the plant is run forward and each machine that falls free takes the
waiting job of highest index.

EARLIEST_DUE  operation due date: the due time less the work and waits still to come
TARDINESS     apparent tardiness cost with setups: weight / minutes, falling off with the slack and
              with the changeover. Source: Lee, Bhaskaran & Pinedo, IIE Transactions 29 (1997) 45,
              from memory.
LONGEST_TAIL  most work still to come first (for the makespan)
"""

from __future__ import annotations

import math

import numpy as np

from naptuft.planning.schedule.decode import END, FREE, SET_FOR, STRETCH, finish_of, fresh_machines, fresh_stores, step
from naptuft.planning.schedule.fold import (
    AFTER_FROM,
    AFTER_TO,
    BEFORE_FROM,
    BEFORE_TO,
    CHANGE_FROM,
    COUNT,
    DUE,
    FAMILIES,
    FAMILY,
    FAR,
    FIRST,
    ITEM_FROM,
    ITEM_ROWS,
    ITEM_TO,
    ITEMS,
    JOB_ROWS,
    JOBS,
    MACHINE,
    MACHINE_ROWS,
    MACHINES,
    MIN_WAIT,
    MINUTES,
    MODE_FROM,
    MODE_ROWS,
    MODE_TO,
    NEVER,
    OF_JOB,
    OPERATION_ROWS,
    OPERATIONS,
    RELEASE,
    STRETCH_TO,
    Table,
    row,
)

EARLIEST_DUE, TARDINESS, LONGEST_TAIL = 0, 1, 2


def tails(f: Table) -> Table:
    """Minutes from the start of each operation to the finish of its job if nothing hinders it."""
    tail = np.zeros(f[OPERATIONS], np.int64)
    for item in range(f[ITEMS] - 1, -1, -1):
        i = row(f, ITEM_ROWS, item)
        final = item == f[row(f, JOB_ROWS, f[i + OF_JOB]) + ITEM_TO] - 1
        for operation in range(f[i + FIRST] + f[i + COUNT] - 1, f[i + FIRST] - 1, -1):
            o = row(f, OPERATION_ROWS, operation)
            least = NEVER
            for mode in range(f[o + MODE_FROM], f[o + MODE_TO]):
                least = min(least, f[row(f, MODE_ROWS, mode) + MINUTES])
            tail[operation] = least + f[o + MIN_WAIT] + (0 if final else tail[operation + 1])
            final = False
    return tail


def index_of(
    weight: float,
    due: int,
    minutes: int,
    now: int,
    changeover: int,
    tail: int,
    rule: int,
    due_scale: float,
    change_scale: float,
) -> float:
    """The urgency of a waiting operation; the highest goes first."""
    if rule == LONGEST_TAIL:
        return float(tail)
    if rule == EARLIEST_DUE:
        if due >= NEVER:
            return -float(NEVER)
        return float(tail - due)
    index = math.log((weight + 1e-9) / max(1, minutes)) - changeover / change_scale
    if due >= NEVER:
        return index - 1e6
    slack = due - tail - now
    if slack > 0:
        index -= slack / due_scale
    return index


def dispatch(
    f: Table,
    weight: Table,
    rule: int,
    due_scale: float,
    change_scale: float,
    order: Table,
    modes: Table,
) -> None:
    """Run the plant forward under a rule; the list and the modes (operations,) are written."""
    jobs = f[JOBS]
    machine_count = f[MACHINES]
    tail = tails(f)
    machines = fresh_machines(f)
    stores = fresh_stores(f)
    plan = np.zeros((f[OPERATIONS], 3), np.int64)

    blocked: Table = np.zeros(jobs, np.int64)
    next_item: Table = np.zeros(jobs, np.int64)
    arrives = np.zeros(jobs, np.int64)
    for job in range(jobs):
        j = row(f, JOB_ROWS, job)
        blocked[job] = f[j + BEFORE_TO] - f[j + BEFORE_FROM]
        next_item[job] = f[j + ITEM_FROM]
        arrives[job] = f[j + RELEASE]
    queued = np.zeros(machine_count, np.int64)
    queue_first: Table = np.full(machine_count, -1, np.int64)
    follows: Table = np.full(jobs, -1, np.int64)
    earliest = np.full(machine_count, NEVER, np.int64)

    joining: Table = np.zeros(jobs, np.int64)
    joins = 0
    for job in range(jobs):
        if blocked[job] == 0:
            joining[joins] = job
            joins += 1
    position = 0
    while position < order.shape[0]:
        for k in range(joins):
            job = joining[k]
            operation = f[row(f, ITEM_ROWS, next_item[job]) + FIRST]
            best = -1
            best_end = NEVER
            o = row(f, OPERATION_ROWS, operation)
            for mode in range(f[o + MODE_FROM], f[o + MODE_TO]):
                m = row(f, MODE_ROWS, mode)
                machine = f[m + MACHINE]
                ends = max(arrives[job], machines[machine, FREE] + queued[machine]) + f[m + MINUTES]
                if ends < best_end or best < 0:
                    best = mode
                    best_end = ends
            modes[operation] = best
            machine = f[row(f, MODE_ROWS, best) + MACHINE]
            queued[machine] += f[row(f, MODE_ROWS, best) + MINUTES]
            follows[job] = queue_first[machine]
            queue_first[machine] = job
            earliest[machine] = min(earliest[machine], arrives[job])
        joins = 0

        chosen = -1
        now = NEVER
        for machine in range(machine_count):
            if queue_first[machine] >= 0:
                at = max(machines[machine, FREE], earliest[machine])
                stretch = machines[machine, STRETCH]
                last = f[row(f, MACHINE_ROWS, machine) + STRETCH_TO]
                while stretch < last and f[stretch + 1] <= at:
                    stretch += 2
                at = max(at, f[stretch] if stretch < last else FAR)
                if at < now or chosen < 0:
                    now = at
                    chosen = machine

        on = row(f, MACHINE_ROWS, chosen)
        best_job = -1
        best_index = 0.0
        job = queue_first[chosen]
        while job >= 0:
            if arrives[job] <= now:
                operation = f[row(f, ITEM_ROWS, next_item[job]) + FIRST]
                m = row(f, MODE_ROWS, modes[operation])
                changeover = 0
                family = f[m + FAMILY]
                if family >= 0 and machines[chosen, SET_FOR] >= 0:
                    changeover = f[f[on + CHANGE_FROM] + machines[chosen, SET_FOR] * f[on + FAMILIES] + family]
                index = index_of(
                    weight[job],
                    f[row(f, JOB_ROWS, job) + DUE],
                    f[m + MINUTES],
                    now,
                    changeover,
                    tail[operation],
                    rule,
                    due_scale,
                    change_scale,
                )
                if best_job < 0 or index > best_index or (index == best_index and job < best_job):
                    best_job = job
                    best_index = index
            job = follows[job]

        item = next_item[best_job]
        i = row(f, ITEM_ROWS, item)
        for operation in range(f[i + FIRST] + 1, f[i + FIRST] + f[i + COUNT]):
            o = row(f, OPERATION_ROWS, operation)
            best_end = NEVER
            for mode in range(f[o + MODE_FROM], f[o + MODE_TO]):
                m = row(f, MODE_ROWS, mode)
                ends = machines[f[m + MACHINE], FREE] + f[m + MINUTES]
                if ends < best_end:
                    best_end = ends
                    modes[operation] = mode
        step(f, item, modes, machines, stores, plan)
        order[position] = item
        position += 1

        queued[chosen] -= f[row(f, MODE_ROWS, modes[f[i + FIRST]]) + MINUTES]
        before = -1
        job = queue_first[chosen]
        soonest = NEVER
        while job >= 0:
            if job == best_job:
                if before < 0:
                    queue_first[chosen] = follows[job]
                else:
                    follows[before] = follows[job]
            else:
                before = job
                soonest = min(soonest, arrives[job])
            job = follows[job]
        earliest[chosen] = soonest

        next_item[best_job] += 1
        j = row(f, JOB_ROWS, best_job)
        if next_item[best_job] < f[j + ITEM_TO]:
            done = f[i + FIRST] + f[i + COUNT] - 1
            arrives[best_job] = plan[done, END] + f[row(f, OPERATION_ROWS, done) + MIN_WAIT]
            joining[joins] = best_job
            joins += 1
        else:
            finish = finish_of(f, best_job, plan)
            for k in range(f[j + AFTER_FROM], f[j + AFTER_TO]):
                other = f[k]
                blocked[other] -= 1
                arrives[other] = max(arrives[other], finish)
                if blocked[other] == 0:
                    joining[joins] = other
                    joins += 1
