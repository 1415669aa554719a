"""Operations that only their job, one machine, its calendar and at most a store bind.

What a trial reads of such an operation, and of each way to do it, stands side by side in short rows, so
that most of a plan is placed in a few nanoseconds an operation. Everything else goes by `decode.py`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from naptuft.planning.schedule.fold import (
    AFTER_FROM,
    AFTER_TO,
    BEFORE_FROM,
    BEFORE_TO,
    BY_MAKESPAN,
    CAPACITY,
    CHANGE_ROW,
    COUNT,
    DUE,
    FAMILY,
    FIRST_ITEM,
    JOB_ROWS,
    LAST_OPERATION,
    MACHINE,
    MACHINES,
    MAX_WAIT,
    MIN_WAIT,
    MINUTES,
    MODE_ROWS,
    MODE_WIDTH,
    NEVER,
    OF_JOB,
    OF_OPERATION,
    OPERATIONS,
    PAUSES,
    PENALTY,
    RELEASE,
    RULED,
    SET_AT_START,
    STORE,
    STRETCH_END,
    UNITS,
    WAIT_BEFORE,
    WINDOWS,
    Table,
    job_row,
    machine_row,
    mode_row,
    operation_row,
)

# row of an operation: the operation it follows (the empty row behind those of a plan: none) and how long after its
# end; whether another of its job follows; its due time less its last wait; the store it holds (-1: none); the
# item it is in, and of how many operations; whether it waits for other jobs, and others for it
FOLLOWS, FOLLOWS_BY, GOES_ON, DUE_AT, WHOSE, HOLDS, HOLDS_UNITS, HOLDS_OF, HOLDS_LONG = range(9)
IN_ITEM, ITEM_COUNT, WAITS_FOR, WAITED_FOR = range(9, 13)
# row of a way: machine, minutes, family set (-1: none), address of its changeovers, end of the calendar,
# 1 where it may pause, 1 where it is placed quickly, what choosing it counts
WAY_ON, WAY_MINUTES, WAY_FAMILY, WAY_CHANGES, WAY_CLOSES, WAY_PAUSES, WAY_QUICK, WAY_PENALTY = range(8)


def lines(count: int, width: int) -> Table:
    """Empty rows of whole numbers, the first at the beginning of a line of the processor's memory. Plain Python."""
    room = np.zeros(width * count + 16, np.int32)
    skip = -room.ctypes.data % 64 // 4
    return room[skip : skip + width * count].reshape(count, width)


class Quick(NamedTuple):
    """Rows as named above.

    operations (operations, 16), ways (modes, 8); changes: minutes of changeovers, for each family from
    "not set yet" on
    """

    operations: Table
    ways: Table
    changes: Table


def quick_rows(f: Table) -> Quick:
    """The rows of a folded problem. Plain Python."""
    count = int(f[OPERATIONS])
    numbers: Table = np.arange(count)
    o: Table = operation_row(f, numbers)
    j = job_row(f, f[o + OF_JOB])
    first, last = f[j + FIRST_ITEM] == numbers, f[j + LAST_OPERATION] == numbers
    waits_for = first & (f[j + BEFORE_FROM] < f[j + BEFORE_TO])
    waited_for = last & (f[j + AFTER_FROM] < f[j + AFTER_TO])
    tied = np.append(False, f[o[:-1] + MAX_WAIT] >= 0) & ~first
    in_item = np.maximum.accumulate(np.where(tied, 0, numbers))
    operations = np.column_stack(
        (
            np.where(first, count, numbers - 1),
            np.where(first, f[j + RELEASE], f[o + WAIT_BEFORE]),
            ~last,
            np.where(last & (f[j + DUE] < NEVER), f[j + DUE] - f[o + MIN_WAIT], NEVER),
            f[o + OF_JOB],
            f[o + STORE],
            f[o + UNITS],
            f[o + CAPACITY],
            f[o + MIN_WAIT],
            in_item,
            f[o + COUNT],
            waits_for,
            waited_for,
        )
    )
    ways_in_all: Table = np.arange((f[JOB_ROWS] - f[MODE_ROWS]) // MODE_WIDTH)
    m: Table = mode_row(f, ways_in_all)
    whose = f[m + OF_OPERATION]
    family = f[m + FAMILY]
    machines: Table = np.arange(f[MACHINES])
    set_at_start = f[machine_row(f, machines) + SET_AT_START]
    width = int(max(family.max(), set_at_start.max())) + 2
    rows, row_of = np.unique(np.where(family < 0, -1, f[m + CHANGE_ROW]), return_inverse=True)
    changes = np.zeros((rows.shape[0], width), np.int32)
    for number, row in enumerate(rows):
        if row >= 0:
            minutes = f[row : row + width - 1]
            changes[number, 1 : 1 + minutes.shape[0]] = minutes
    ways = np.column_stack(
        (
            f[m + MACHINE],
            f[m + MINUTES],
            family,
            row_of * width + 1,
            f[m + STRETCH_END],
            f[o + PAUSES][whose],
            ((f[o + COUNT] == 1) & ~(waits_for | waited_for) & (f[BY_MAKESPAN] == 0))[whose] & (f[m + RULED] == 0),
            f[m + PENALTY],
        )
    )
    quick = Quick(lines(count, 16), lines(ways.shape[0], 8), np.ascontiguousarray(changes.ravel()))
    quick.operations[:, : operations.shape[1]] = operations
    quick.ways[:, : ways.shape[1]] = ways
    return quick


def is_timed(f: Table) -> bool:
    """Whether each operation hangs on its job and on those just before it on its machine and in its store alone."""
    modes = np.arange((f[JOB_ROWS] - f[MODE_ROWS]) // MODE_WIDTH)
    return bool(f[BY_MAKESPAN] == 0 and (f[mode_row(f, modes) + RULED] == 0).all() and f[WINDOWS] == 0)
