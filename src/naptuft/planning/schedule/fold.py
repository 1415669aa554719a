"""The problem as one flat table of whole minutes, the form the decoder reads.

Operations of a job that a longest wait ties together form one *item*: they are placed in one go, so
that the wait is kept whatever stands around them. Every other operation is an item of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import accumulate
from typing import Any, NamedTuple, TypeAlias

import numpy as np

from naptuft.planning.problem import Problem
from naptuft.planning.schedule.rules import Hold, Rules, rules_of, ways_of

Table: TypeAlias = Any  # an array whose entries are taken for plain numbers

FAR = 1 << 28
NEVER = 1 << 29
ENDLESS = (1 << 31) - 1
# `n & INDEX` is n, told to be no less than 0: the compiler leaves out its care for what counts from the end
INDEX = ENDLESS

# The table begins with counts and the addresses of the rows.
OPERATIONS, ITEMS, JOBS, MACHINES, STORES, HELD_MOST, BY_MAKESPAN, WINDOWS = range(8)
OPERATION_ROWS, MODE_ROWS, JOB_ROWS, MACHINE_ROWS, TAKEN_FROM, TAKEN_TO, PIN_ROWS, BATCH_ROWS = range(8, 16)
# what a minute of overtime counts, and whether a minute of waiting counts anything
OVERTIME_COUNTS, WAITING_COUNTS = range(16, 18)
HEADER = 32
# operation row; -1: no longest wait, no store; NOT_BEFORE: where it is pinned; URGENT: one more than the latest
# start that still keeps a pin further on, 0: none; IN_BATCHES: whether it gets its work in transfer batches. An
# item goes by the number of its first operation; its COUNT, and the items of its job before and after it (-1:
# none), stand in that operation's row
OPERATION_WIDTH = 16
MODE_FROM, MODE_TO, MIN_WAIT, MAX_WAIT, STORE, UNITS, PAUSES, CAPACITY = range(8)
COUNT, OF_JOB, WAIT_BEFORE, ITEM_BEFORE, ITEM_AFTER, NOT_BEFORE, URGENT, IN_BATCHES = range(8, 16)
# mode row; family -1: changes nothing on this machine; CHANGE_ROW: address of the minutes from each family, those
# of a machine not set yet (0) just before it;
# RULED: address of what else binds, 0: nothing; PENALTY: what choosing it counts
MODE_WIDTH = 8
MACHINE, MINUTES, FAMILY, CHANGE_ROW, STRETCH_END, RULED, OF_OPERATION, PENALTY = range(8)
# job row; due NEVER where none; BEFORE and AFTER are addresses of job numbers
JOB_WIDTH = 16
FIRST_ITEM, LAST_ITEM, LAST_OPERATION, RELEASE, DUE, BEFORE_FROM, BEFORE_TO, AFTER_FROM, AFTER_TO, LAST_WAIT = range(10)
# machine row: address of its first open stretch (two numbers each), and of the end of the last, where one from FAR
# on stands for no room; the same of its overtime
MACHINE_WIDTH = 8
STRETCH_FROM, STRETCH_TO, SET_AT_START, OVERTIME_FROM, OVERTIME_TO = range(5)


# what else binds a mode: where it is pinned (-1: nowhere), its number among the pins of its machine, the state row
# of those pins (-1: none) and their addresses; the addresses of what it needs; that of its own calendar (0: its
# machine's); the state row of its machine's batch (-1: it runs alone), what those in it have in common, what it
# fills and what the machine takes; minutes to its first transfer batch, and of its last (-1: it gets all at once);
# whether the changeover for its pin is its own; whether it keeps out of overtime
PINNED_AT, PINNED_END, PIN_NUMBER, PINS_ROW, PINS_FROM, PINS_TO, NEEDS_FROM, NEEDS_TO = range(8)
OWN_FROM, BATCH_ROW, TOGETHER, LOAD, TAKES, FIRST_MINUTES, LAST_MINUTES, FIRST_OF_PIN = range(8, 16)
USUAL = 16
PIN_WIDTH = 4
PIN_START, PIN_END, PIN_FAMILY, PIN_CHANGE = range(4)
# a need: row and capacity of its window and the units taken; whether from the changeover on, whether over closed
# time as well, for how long after the end, and whether those together in a machine need it once
NEED_WIDTH = 8
NEED_ROW, NEED_UNITS, NEED_CAPACITY, LEAD, WHOLE, STAYS, COMMON = range(7)


class Folded(NamedTuple):
    """A `Problem` in arrays; operations are numbered job by job, modes operation by operation.

    table    every whole number of the problem, laid out as named in this module
    weight   what a late minute of each job counts, and last what a minute of waiting counts (jobs + 1,)
    """

    table: Table
    weight: Table


def operation_row(f: Table, operation: int) -> int:
    """Address of an operation's row."""
    return (f[OPERATION_ROWS] + OPERATION_WIDTH * operation) & INDEX


def mode_row(f: Table, mode: int) -> int:
    """Address of a mode's row."""
    return (f[MODE_ROWS] + MODE_WIDTH * mode) & INDEX


def job_row(f: Table, job: int) -> int:
    """Address of a job's row."""
    return (f[JOB_ROWS] + JOB_WIDTH * job) & INDEX


def machine_row(f: Table, machine: int) -> int:
    """Address of a machine's row."""
    return (f[MACHINE_ROWS] + MACHINE_WIDTH * machine) & INDEX


def families_of(problem: Problem, machine: int) -> dict[str, int]:
    """Families the changeovers of one machine tell apart; all others share the index after the last."""
    names: dict[str, int] = {}
    for pair, minutes in problem.changeovers.get(machine, {}).items():
        if minutes:
            for name in pair:
                names.setdefault(name, len(names))
    return names


def family_index(known: dict[str, int], family: str | None) -> int:
    """The index of a family on a machine; -1: it changes nothing there."""
    return -1 if family is None or not known else known.get(family, len(known))


def fold(problem: Problem) -> Folded:
    """The problem in arrays. It must have passed `faults.faults_of` first.

    >>> from naptuft.planning.problem import Job, Machine, Mode, Operation
    >>> job = Job("a", (Operation((Mode(0, 5),), max_wait=3), Operation((Mode(0, 2),))))
    >>> folded = fold(Problem((Machine("press"),), (job,)))
    >>> folded.table[ITEMS].item(), folded.table[OPERATIONS].item()
    (1, 2)
    """
    operations = [operation for job in problem.jobs for operation in job.operations]
    families = [families_of(problem, machine) for machine in range(len(problem.machines))]

    items: list[list[int]] = []
    number = 0
    for job in problem.jobs:
        items.append([])
        tied = False
        for operation in job.operations:
            if not tied:
                items[-1].append(number)
            tied = operation.max_wait is not None
            number += 1

    ways = [ways_of(problem, operation) for operation in operations]
    mode_family = [
        family_index(families[mode.machine], operation.family)
        for operation, choice in zip(operations, ways, strict=True)
        for mode, _ in choice
    ]
    # a row for each family a machine may be set to, with the minutes from each it may be set for
    squares: list[list[list[int]]] = []
    for machine, known in enumerate(families):
        size = len(known) + 1 if known else 0
        square = [[0] * size for _ in range(size)]
        for (was, becomes), minutes in problem.changeovers.get(machine, {}).items():
            if minutes:
                square[known[becomes]][known[was]] = minutes
        squares.append(square)

    number_of = {job.name: index for index, job in enumerate(problem.jobs)}
    before = [[number_of[name] for name in dict.fromkeys(job.after)] for job in problem.jobs]
    after: list[list[int]] = [[] for _ in problem.jobs]
    for index, names in enumerate(before):
        for other in names:
            after[other].append(index)
    rules = rules_of(problem)
    held = [rules.held_most]
    for index, store in enumerate(problem.stores):
        units = [operation.units for operation in operations if operation.store == index and operation.units > 0]
        if units:
            held.append(min(len(units), store.capacity // min(units)) + 1)

    table = [0] * HEADER
    table[OPERATIONS], table[ITEMS], table[JOBS] = len(operations), sum(map(len, items)), len(problem.jobs)
    table[MACHINES], table[STORES], table[HELD_MOST] = len(problem.machines), len(problem.stores), max(held)
    table[BY_MAKESPAN] = int(problem.objective == "makespan")
    if problem.objective != "makespan":
        table[OVERTIME_COUNTS], table[WAITING_COUNTS] = problem.aims.overtime, int(problem.aims.waiting > 0)
    table[WINDOWS], table[PIN_ROWS], table[BATCH_ROWS] = rules.windows, len(rules.pins), len(rules.batch_rows)

    def append(numbers: Iterable[int]) -> tuple[int, int]:
        address = len(table)
        table.extend(numbers)
        return address, len(table)

    def append_rows(width: int, rows: Iterable[Sequence[int]]) -> int:
        table.extend([0] * (-len(table) % 16))
        return append(number for values in rows for number in (*values, *[0] * (width - len(values))))[0]

    stretches = [
        _append_calendar(append, ((0, FAR),) if machine.open is None else machine.open) for machine in problem.machines
    ]
    overtimes = [append(minute for stretch in machine.overtime for minute in stretch) for machine in problem.machines]
    changes = [[append((0, *minutes))[0] + 1 for minutes in square] for square in squares]
    no_change = append([0] * (1 + max(map(len, squares), default=0)))[0] + 1
    table[TAKEN_FROM], table[TAKEN_TO] = append(number for row in rules.taken for number in row)
    ruled = _append_ruled(problem, rules, append, changes, families, stretches)
    links = [append(names) + append(others) for names, others in zip(before, after, strict=True)]

    mode_to = list(accumulate(map(len, ways)))
    rows = [
        [
            *(rules.only_mode.get(number) or (to - len(ways[number]), to)),
            operation.min_wait,
            -1 if operation.max_wait is None else operation.max_wait,
            -1 if operation.store is None or operation.units <= 0 or number in rules.windowed else operation.store,
            operation.units,
            int(operation.pauses),
            0 if operation.store is None else problem.stores[operation.store].capacity,
        ]
        for number, (operation, to) in enumerate(zip(operations, mode_to, strict=True))
    ]
    job_rows = []
    number = 0
    for index, job in enumerate(problem.jobs):
        own = items[index]
        ends = [*own[1:], number + len(job.operations)]
        number = ends[-1]
        for k, (item, end) in enumerate(zip(own, ends, strict=True)):
            for operation in range(item, end):
                rows[operation] += [
                    end - item,
                    index,
                    0 if operation == own[0] else operations[operation - 1].min_wait,
                    own[k - 1] if k else -1,
                    end if k + 1 < len(own) else -1,
                    pinned[1] if (pinned := operations[operation].pinned) else 0,
                    rules.urgent.get(operation, 0),
                    int(operation != own[0] and operations[operation - 1].transfers > 1),
                ]
        due = NEVER if job.due is None else job.due
        last = number - 1
        job_rows.append((own[0], own[-1], last, job.release, due, *links[index], operations[last].min_wait))
    table[OPERATION_ROWS] = append_rows(OPERATION_WIDTH, rows)
    table[MODE_ROWS] = append_rows(
        MODE_WIDTH,
        (
            (
                mode.machine,
                mode.duration,
                family,
                changes[mode.machine][family] if family >= 0 else no_change,
                ruled[number][1] if number in ruled else stretches[mode.machine][1],
                ruled[number][0] if number in ruled else 0,
                whose,
                mode.penalty,
            )
            for number, ((whose, mode), family) in enumerate(
                zip(((k, mode) for k, choice in enumerate(ways) for mode, _ in choice), mode_family, strict=True)
            )
        ),
    )
    table[JOB_ROWS] = append_rows(JOB_WIDTH, job_rows)
    table[MACHINE_ROWS] = append_rows(
        MACHINE_WIDTH,
        (
            (*stretch, family_index(families[index], problem.machines[index].set_for), *overtimes[index])
            for index, stretch in enumerate(stretches)
        ),
    )
    return Folded(
        table=np.array(table, dtype=np.int32),
        weight=np.array([*(job.weight for job in problem.jobs), problem.aims.waiting], dtype=np.float64),
    )


def _append_calendar(
    append: Callable[[Iterable[int]], tuple[int, int]], stretches: Sequence[tuple[int, int]]
) -> tuple[int, int]:
    """Open stretches, and behind them the one that stands for no room. Address of the first and of the last."""
    first, end = append(minute for stretch in (*stretches, (FAR, ENDLESS)) for minute in stretch)
    return first, end - 2


def _append_ruled(
    problem: Problem,
    rules: Rules,
    append: Callable[[Iterable[int]], tuple[int, int]],
    changes: Sequence[Sequence[int]],
    families: Sequence[dict[str, int]],
    stretches: Sequence[tuple[int, int]],
) -> dict[int, tuple[int, int]]:
    """For each mode that more binds: the address of its row, and the end of its calendar."""
    rows = {}
    pins_at: dict[int, tuple[int, int, int]] = {}
    for place, (machine, pins) in enumerate(rules.pins.items()):
        numbers: list[int] = []
        for pin in pins:
            family = family_index(families[machine], pin.family)
            numbers += [pin.start, pin.end, family, changes[machine][family] if family >= 0 else 0]
        pins_at[machine] = (rules.first_pin_row + place, *append(numbers))
    needs_at: dict[tuple[Hold, ...], tuple[int, int]] = {(): (0, 0)}
    own_at: dict[tuple[tuple[int, int], ...] | None, tuple[int, int]] = {}
    for mode, rule in rules.modes.items():
        if rule.holds not in needs_at:
            needs_at[rule.holds] = append(number for hold in rule.holds for number in (*hold, 0))
        if rule.calendar not in own_at:
            own_at[rule.calendar] = _append_calendar(append, rule.calendar or ())
        own, last = (0, stretches[rule.machine][1]) if rule.calendar is None else own_at[rule.calendar]
        pinned = rules.pins[rule.machine][rule.pin] if rule.pin is not None else None
        row = append(
            (
                -1 if pinned is None else pinned.start,
                -1 if pinned is None else pinned.end,
                -1 if rule.pin is None else rule.pin,
                *pins_at.get(rule.machine, (-1, 0, 0)),
                *needs_at[rule.holds],
                own,
                rules.batch_rows.get(rule.machine, -1),
                -1 if rule.together is None else rule.together,
                rule.load,
                problem.machines[rule.machine].takes or 0,
                rule.first,
                -1 if rule.last is None else rule.last,
                int(rule.first_pin),
                int(rule.usual),
            )
        )[0]
        rows[mode] = (row, last)
    return rows
