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
    ITEM_AFTER,
    ITEM_BEFORE,
    JOB_ROWS,
    MACHINE,
    MACHINES,
    MIN_WAIT,
    MINUTES,
    MODE_ROWS,
    MODE_WIDTH,
    NEVER,
    OF_JOB,
    OF_OPERATION,
    OPERATIONS,
    PAUSES,
    RELEASE,
    RULED,
    SET_AT_START,
    STORE,
    STRETCH_END,
    UNITS,
    WAIT_BEFORE,
    Table,
    job_row,
    machine_row,
    mode_row,
    operation_row,
)

# row of an operation: the operation it follows (the empty last row of a plan: none) and how long after its
# end; whether another of its job follows; its due time less its last wait; the store it holds (-1: none)
FOLLOWS, FOLLOWS_BY, GOES_ON, DUE_AT, WHOSE, HOLDS, HOLDS_UNITS, HOLDS_OF, HOLDS_LONG = range(9)
# row of a way: machine, minutes, family set (-1: none), address of its changeovers, end of the calendar,
# 1 where it may pause, 1 where it is placed quickly
WAY_ON, WAY_MINUTES, WAY_FAMILY, WAY_CHANGES, WAY_CLOSES, WAY_PAUSES, WAY_QUICK = range(7)


class Quick(NamedTuple):
    """Rows as named above.

    operations (operations, 9), ways (modes, 7); changes: minutes of changeovers, for each family from
    "not set yet" on
    """

    operations: Table
    ways: Table
    changes: Table


def quick_rows(f: Table) -> Quick:
    """The rows of a folded problem. Plain Python."""
    count = int(f[OPERATIONS])
    numbers: Table = np.arange(count)
    o = operation_row(f, numbers)
    j = job_row(f, f[o + OF_JOB])
    first, last = f[o + ITEM_BEFORE] < 0, f[o + ITEM_AFTER] < 0
    linked = (first & (f[j + BEFORE_FROM] < f[j + BEFORE_TO])) | (last & (f[j + AFTER_FROM] < f[j + AFTER_TO]))
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
            ((f[o + COUNT] == 1) & ~linked & (f[BY_MAKESPAN] == 0))[whose] & (f[m + RULED] == 0),
        )
    )
    return Quick(
        np.ascontiguousarray(operations, np.int32),
        np.ascontiguousarray(ways, np.int32),
        np.ascontiguousarray(changes.ravel()),
    )
