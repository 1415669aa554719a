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
    BATCH_ROWS,
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
    PENALTY,
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
# a waiting job: when it arrives, the latest start that keeps its due time, the address of its changeovers (-1: it
# changes nothing), how urgent it is for a pin, and the way chosen
ARRIVES, LATEST, CHANGES_AT, URGENT_AT, IN_MODE = range(5)
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


def urgency(weight: float, due: int, minutes: int, tail: int, rule: int) -> float:
    """The index of a waiting operation without slack and changeover; the highest goes first."""
    if rule == LONGEST_TAIL:
        return float(tail)
    if rule == EARLIEST_DUE:
        return float(tail - due) if due < NEVER else -float(NEVER)
    return math.log((weight + 1e-9) / max(1, minutes)) - (1e6 if due >= NEVER else 0.0)


def even_scales(machines: int, by_due: float, by_change: float) -> Table:
    """The same scales for every machine, none looking ahead. Shape (machines, 3)."""
    scales = np.zeros((machines, 3), np.float64)
    scales[:, BY_DUE] = by_due
    scales[:, BY_CHANGE] = by_change
    return scales


def place_chosen(f: Table, item: int, modes: Table, machines: Table, stores: Table, plan: Table) -> None:
    """`step`, called: written out in a function that makes arrays, it would count references."""
    step(f, item, modes, machines, stores, plan)


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
    queue: Table = np.zeros((machine_count, jobs), np.int32)
    waiting: Table = np.zeros(machine_count, np.int64)
    waiter: Table = np.zeros((jobs, 5), np.int64)
    base: Table = np.zeros(jobs, np.float64)
    earliest = np.full(machine_count, NEVER, np.int64)
    by_tardiness = 1.0 if rule == TARDINESS else 0.0

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
                ends = max(arrives[job], machines[machine, FREE] + queued[machine]) + f[m + MINUTES] + f[m + PENALTY]
                if ends < best_end or best < 0:
                    best = mode
                    best_end = ends
            modes[operation] = best
            machine = f[mode_row(f, best) + MACHINE]
            queued[machine] += f[mode_row(f, best) + MINUTES]
            queue[machine, waiting[machine]] = job
            waiting[machine] += 1
            m = mode_row(f, best)
            due = f[job_row(f, job) + DUE]
            waiter[job, ARRIVES] = arrives[job]
            waiter[job, LATEST] = due - tail[operation] if due < NEVER else -NEVER
            waiter[job, CHANGES_AT] = f[m + CHANGE_ROW] if f[m + FAMILY] >= 0 else -1
            waiter[job, URGENT_AT] = f[o + URGENT]
            waiter[job, IN_MODE] = best
            base[job] = urgency(weight[job], due, f[m + MINUTES], tail[operation], rule)
            earliest[machine] = min(earliest[machine], arrives[job])
        joins = 0

        chosen = -1
        now = NEVER
        for machine in range(machine_count):
            if waiting[machine] > 0:
                at = max(machines[machine, FREE], earliest[machine])
                stretch = machines[machine, STRETCH]
                last = f[machine_row(f, machine) + STRETCH_TO]
                while stretch < last and f[stretch + 1] <= at:
                    stretch += 2
                at = max(at, f[stretch] if stretch < last else FAR)
                if at < now or chosen < 0:
                    now = at
                    chosen = machine

        best_job = best_place = -1
        best_index = 0.0
        by_due = by_tardiness / scales[chosen, BY_DUE]
        by_change = by_tardiness / scales[chosen, BY_CHANGE]
        until = now + scales[chosen, LOOK]
        was = machines[chosen, SET_FOR]
        for place in range(waiting[chosen]):
            job = queue[chosen, place]
            if waiter[job, ARRIVES] > until:
                continue
            lost = waiter[job, ARRIVES] - now
            if was >= 0 and waiter[job, CHANGES_AT] >= 0:
                lost = max(lost, f[waiter[job, CHANGES_AT] + was])
            index = base[job] - max(0, lost) * by_change - max(0, waiter[job, LATEST] - now) * by_due
            if waiter[job, URGENT_AT] > 0:
                index = AT_ONCE - waiter[job, URGENT_AT]
            elif f[BATCH_ROWS] > 0 and could_join(f, waiter[job, IN_MODE], arrives[job], stores):
                index += FIRST_TO_JOIN
            if best_job < 0 or index > best_index or (index == best_index and job < best_job):
                best_job, best_place = job, place
                best_index = index

        item = next_item[best_job]
        i = operation_row(f, item)
        for operation in range(item + 1, item + f[i + COUNT]):
            o = operation_row(f, operation)
            best_end = NEVER
            for mode in range(f[o + MODE_FROM], f[o + MODE_TO]):
                m = mode_row(f, mode)
                ends = machines[f[m + MACHINE], FREE] + f[m + MINUTES] + f[m + PENALTY]
                if ends < best_end:
                    best_end = ends
                    modes[operation] = mode
        place_chosen(f, item, modes, machines, stores, plan)
        order[position] = item
        position += 1

        queued[chosen] -= f[mode_row(f, modes[item]) + MINUTES]
        waiting[chosen] -= 1
        queue[chosen, best_place] = queue[chosen, waiting[chosen]]
        soonest = NEVER
        for place in range(waiting[chosen]):
            soonest = min(soonest, waiter[queue[chosen, place], ARRIVES])
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
