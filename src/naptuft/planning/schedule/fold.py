"""The problem as one flat table of whole minutes, the form the decoder reads.

Operations of a job that a longest wait ties together form one *item*: they are placed in one go, so
that the wait is kept whatever stands around them. Every other operation is an item of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import accumulate
from math import isqrt
from typing import Any, NamedTuple, TypeAlias

import numpy as np

from naptuft.planning.problem import Problem

Table: TypeAlias = Any  # an array whose entries are taken for plain numbers

FAR = 1 << 40
NEVER = 1 << 50


# The table begins with counts and the address of each kind of row; every row is WIDTH long.
ITEMS, OPERATIONS, JOBS, MACHINES, STORES, HELD_MOST, BY_MAKESPAN = range(7)
ITEM_ROWS, OPERATION_ROWS, MODE_ROWS, JOB_ROWS, MACHINE_ROWS = range(8, 13)
WIDTH = 8
# item row
FIRST, COUNT, OF_JOB = range(3)
# operation row; -1: no longest wait, no store
MODE_FROM, MODE_TO, MIN_WAIT, MAX_WAIT, STORE, UNITS, PAUSES, CAPACITY = range(8)
# mode row; family -1: changes nothing on this machine
MACHINE, MINUTES, FAMILY = range(3)
# job row; due NEVER where none; BEFORE and AFTER are addresses of job numbers
ITEM_FROM, ITEM_TO, RELEASE, DUE, BEFORE_FROM, BEFORE_TO, AFTER_FROM, AFTER_TO = range(8)
# machine row: addresses of its open stretches (two numbers each) and of its square of changeovers
STRETCH_FROM, STRETCH_TO, CHANGE_FROM, FAMILIES = range(4)


class Folded(NamedTuple):
    """A `Problem` in arrays; operations are numbered job by job, modes operation by operation.

    table    every whole number of the problem, laid out as named in this module
    weight   what a late minute of each job counts (jobs,)
    """

    table: Table
    weight: Table


def row(f: Table, rows: int, number: int) -> int:
    """Address of a row of the table."""
    return f[rows] + WIDTH * number


def _families(problem: Problem, machine: int) -> dict[str, int]:
    """Families the changeovers of one machine tell apart; all others share the index after the last."""
    names: dict[str, int] = {}
    for pair, minutes in problem.changeovers.get(machine, {}).items():
        if minutes:
            for name in pair:
                names.setdefault(name, len(names))
    return names


def fold(problem: Problem) -> Folded:
    """The problem in arrays. It must have passed `faults.faults_of` first.

    >>> from naptuft.planning.problem import Job, Machine, Mode, Operation
    >>> job = Job("a", (Operation((Mode(0, 5),), max_wait=3), Operation((Mode(0, 2),))))
    >>> folded = fold(Problem((Machine("press"),), (job,)))
    >>> folded.table[ITEMS].item(), folded.table[OPERATIONS].item()
    (1, 2)
    """
    operations = [operation for job in problem.jobs for operation in job.operations]
    families = [_families(problem, machine) for machine in range(len(problem.machines))]

    item_first, item_count, item_job, items_of_job = [], [], [], []
    number = 0
    for index, job in enumerate(problem.jobs):
        before = len(item_first)
        tied = False
        for operation in job.operations:
            if tied:
                item_count[-1] += 1
            else:
                item_first.append(number)
                item_count.append(1)
                item_job.append(index)
            tied = operation.max_wait is not None
            number += 1
        items_of_job.append(len(item_first) - before)

    mode_family = []
    for operation in operations:
        for mode in operation.modes:
            known = families[mode.machine]
            if operation.family is None or not known:
                mode_family.append(-1)
            else:
                mode_family.append(known.get(operation.family, len(known)))

    squares: list[list[int]] = []
    for machine, known in enumerate(families):
        size = len(known) + 1 if known else 0
        square = [0] * (size * size)
        for (was, becomes), minutes in problem.changeovers.get(machine, {}).items():
            if minutes:
                square[known[was] * size + known[becomes]] = minutes
        squares.append(square)

    number_of = {job.name: index for index, job in enumerate(problem.jobs)}
    before = [[number_of[name] for name in dict.fromkeys(job.after)] for job in problem.jobs]
    after: list[list[int]] = [[] for _ in problem.jobs]
    for index, names in enumerate(before):
        for other in names:
            after[other].append(index)
    held = [1]
    for index, store in enumerate(problem.stores):
        units = [operation.units for operation in operations if operation.store == index and operation.units > 0]
        if units:
            held.append(min(len(units), store.capacity // min(units)) + 1)

    table = [0] * 16
    table[ITEMS], table[OPERATIONS], table[JOBS] = len(item_first), len(operations), len(problem.jobs)
    table[MACHINES], table[STORES], table[HELD_MOST] = len(problem.machines), len(problem.stores), max(held)
    table[BY_MAKESPAN] = int(problem.objective == "makespan")

    def append(numbers: Iterable[int]) -> tuple[int, int]:
        address = len(table)
        table.extend(numbers)
        return address, len(table)

    def append_rows(rows: Iterable[Sequence[int]]) -> int:
        return append(number for values in rows for number in (*values, *[0] * (WIDTH - len(values))))[0]

    stretches = [
        append(minute for stretch in (((0, FAR),) if machine.open is None else machine.open) for minute in stretch)
        for machine in problem.machines
    ]
    changes = [append(square)[0] for square in squares]
    links = [append(names) + append(others) for names, others in zip(before, after, strict=True)]

    table[ITEM_ROWS] = append_rows(zip(item_first, item_count, item_job, strict=True))
    table[MODE_ROWS] = append_rows(
        (mode.machine, mode.duration, family)
        for mode, family in zip((mode for o in operations for mode in o.modes), mode_family, strict=True)
    )
    mode_to = list(accumulate(len(operation.modes) for operation in operations))
    table[OPERATION_ROWS] = append_rows(
        (
            to - len(operation.modes),
            to,
            operation.min_wait,
            -1 if operation.max_wait is None else operation.max_wait,
            -1 if operation.store is None or operation.units <= 0 else operation.store,
            operation.units,
            int(operation.pauses),
            0 if operation.store is None else problem.stores[operation.store].capacity,
        )
        for operation, to in zip(operations, mode_to, strict=True)
    )
    item_to = list(accumulate(items_of_job))
    table[JOB_ROWS] = append_rows(
        (to - count, to, job.release, NEVER if job.due is None else job.due, *link)
        for job, to, count, link in zip(problem.jobs, item_to, items_of_job, links, strict=True)
    )
    table[MACHINE_ROWS] = append_rows(
        (*stretch, address, isqrt(len(square)))
        for stretch, address, square in zip(stretches, changes, squares, strict=True)
    )
    return Folded(
        table=np.array(table, dtype=np.int64),
        weight=np.array([job.weight for job in problem.jobs], dtype=np.float64),
    )
