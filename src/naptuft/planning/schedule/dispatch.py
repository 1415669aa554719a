"""First lists by dispatch rules: the plant is run forward and each machine that falls free takes the
waiting job of highest index. What a pinned operation waits for goes before all else.

EARLIEST_DUE  operation due date: the due time less the work and waits still to come
TARDINESS     apparent tardiness cost with setups: weight / minutes, falling off with the slack and
              with the changeover. Source: Lee, Bhaskaran & Pinedo, IIE Transactions 29 (1997) 45,
              from memory.
LONGEST_TAIL  most work still to come first (for the makespan)
"""

from __future__ import annotations

import math

import numpy as np

from naptuft.planning.schedule.decode import (
    END,
    FREE,
    SET_FOR,
    STRETCH,
    finish_of,
    fresh_machines,
    fresh_plan,
    fresh_stores,
    step,
)
from naptuft.planning.schedule.fold import (
    AFTER_FROM,
    AFTER_TO,
    BEFORE_FROM,
    BEFORE_TO,
    CHANGE_ROW,
    COUNT,
    DUE,
    FAMILY,
    FAR,
    FIRST_ITEM,
    IN_BATCHES,
    ITEM_AFTER,
    JOBS,
    LAST_OPERATION,
    MACHINE,
    MACHINES,
    MIN_WAIT,
    MINUTES,
    MODE_FROM,
    MODE_TO,
    NEVER,
    NOT_BEFORE,
    OF_JOB,
    OPERATIONS,
    RELEASE,
    STRETCH_TO,
    URGENT,
    Table,
    job_row,
    machine_row,
    mode_row,
    operation_row,
)
from naptuft.planning.schedule.ruled import could_join, first_batch_done

EARLIEST_DUE, TARDINESS, LONGEST_TAIL = 0, 1, 2
# scales of TARDINESS for each machine: minutes of slack, and of changeover or waiting, over which the index falls
# by one; minutes ahead for which it looks at work on its way
BY_DUE, BY_CHANGE, LOOK = range(3)
AT_ONCE = 1e12
FIRST_TO_JOIN = 1e10


def tails(f: Table) -> Table:
    """Minutes from the start of each operation to the finish of its job if nothing hinders it."""
    tail = np.zeros(f[OPERATIONS], np.int64)
    for operation in range(f[OPERATIONS] - 1, -1, -1):
        o = operation_row(f, operation)
        least = NEVER
        for mode in range(f[o + MODE_FROM], f[o + MODE_TO]):
            least = min(least, f[mode_row(f, mode) + MINUTES])
        final = operation == f[job_row(f, f[o + OF_JOB]) + LAST_OPERATION]
        tail[operation] = least + f[o + MIN_WAIT] + (0 if final else tail[operation + 1])
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


def even_scales(machines: int, by_due: float, by_change: float) -> Table:
    """The same scales for every machine, none looking ahead. Shape (machines, 3)."""
    scales = np.zeros((machines, 3), np.float64)
    scales[:, BY_DUE] = by_due
    scales[:, BY_CHANGE] = by_change
    return scales


def dispatch(
    f: Table,
    weight: Table,
    rule: int,
    scales: Table,
    order: Table,
    modes: Table,
) -> None:
    """Run the plant forward under a rule; the list and the modes (operations,) are written."""
    jobs = f[JOBS]
    machine_count = f[MACHINES]
    tail = tails(f)
    machines = fresh_machines(f)
    stores = fresh_stores(f)
    plan = fresh_plan(f)

    blocked: Table = np.zeros(jobs, np.int64)
    next_item: Table = np.zeros(jobs, np.int64)
    arrives: Table = np.zeros(jobs, np.int64)
    for job in range(jobs):
        j = job_row(f, job)
        blocked[job] = f[j + BEFORE_TO] - f[j + BEFORE_FROM]
        next_item[job] = f[j + FIRST_ITEM]
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
            operation = next_item[job]
            best = -1
            best_end = NEVER
            o = operation_row(f, operation)
            arrives[job] = max(arrives[job], f[o + NOT_BEFORE])
            for mode in range(f[o + MODE_FROM], f[o + MODE_TO]):
                m = mode_row(f, mode)
                machine = f[m + MACHINE]
                ends = max(arrives[job], machines[machine, FREE] + queued[machine]) + f[m + MINUTES]
                if ends < best_end or best < 0:
                    best = mode
                    best_end = ends
            modes[operation] = best
            machine = f[mode_row(f, best) + MACHINE]
            queued[machine] += f[mode_row(f, best) + MINUTES]
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
                last = f[machine_row(f, machine) + STRETCH_TO]
                while stretch < last and f[stretch + 1] <= at:
                    stretch += 2
                at = max(at, f[stretch] if stretch < last else FAR)
                if at < now or chosen < 0:
                    now = at
                    chosen = machine

        best_job = -1
        best_index = 0.0
        job = queue_first[chosen]
        while job >= 0:
            if arrives[job] <= now + scales[chosen, LOOK]:
                operation = next_item[job]
                m = mode_row(f, modes[operation])
                changeover = 0
                family = f[m + FAMILY]
                if family >= 0 and machines[chosen, SET_FOR] >= 0:
                    changeover = f[f[m + CHANGE_ROW] + machines[chosen, SET_FOR]]
                lost = max(changeover, arrives[job] - now)
                index = index_of(
                    weight[job],
                    f[job_row(f, job) + DUE],
                    f[m + MINUTES],
                    now,
                    lost,
                    tail[operation],
                    rule,
                    scales[chosen, BY_DUE],
                    scales[chosen, BY_CHANGE],
                )
                urgent = f[operation_row(f, operation) + URGENT]
                if urgent > 0:
                    index = AT_ONCE - urgent
                elif could_join(f, modes[operation], arrives[job], stores):
                    index += FIRST_TO_JOIN
                if best_job < 0 or index > best_index or (index == best_index and job < best_job):
                    best_job = job
                    best_index = index
            job = follows[job]

        item = next_item[best_job]
        i = operation_row(f, item)
        for operation in range(item + 1, item + f[i + COUNT]):
            o = operation_row(f, operation)
            best_end = NEVER
            for mode in range(f[o + MODE_FROM], f[o + MODE_TO]):
                m = mode_row(f, mode)
                ends = machines[f[m + MACHINE], FREE] + f[m + MINUTES]
                if ends < best_end:
                    best_end = ends
                    modes[operation] = mode
        step(f, item, modes, machines, stores, plan)
        order[position] = item
        position += 1

        queued[chosen] -= f[mode_row(f, modes[item]) + MINUTES]
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

        next_item[best_job] = f[i + ITEM_AFTER]
        j = job_row(f, best_job)
        if next_item[best_job] >= 0:
            done = item + f[i + COUNT] - 1
            arrives[best_job] = plan[done, END] + f[operation_row(f, done) + MIN_WAIT]
            if f[operation_row(f, next_item[best_job]) + IN_BATCHES]:
                arrives[best_job] = first_batch_done(f, done, modes[done], plan) + f[operation_row(f, done) + MIN_WAIT]
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
