"""What machines, stores and windows hold while a list is placed.

A store is given in the order of the list: it keeps the ends of what it holds. A *window* keeps whole
intervals, for what is taken out of turn: a crew, or a store that a pinned operation takes from. When it
is full the interval that ends first is forgotten, and nothing may start before that end any more.
"""

from __future__ import annotations

from naptuft.planning.schedule.fold import (
    FAR,
    INDEX,
    MACHINE,
    OVERTIME_COUNTS,
    OVERTIME_FROM,
    OVERTIME_TO,
    PENALTY,
    STRETCH_FROM,
    STRETCH_TO,
    Table,
    machine_row,
    mode_row,
)

# plan row; ADDED: what the way chosen and its overtime count
START, END, CHANGEOVER, ADDED = range(4)
# machine state: free from, family set (-1: none yet), address of the open stretch reached
FREE, SET_FOR, STRETCH = range(3)
# store state: units held, last start, first and last of the holdings; a holding is its end and its units.
# A window: no start before LAST_START; an interval is its start, its end and its units
HELD, LAST_START, HEAD, TAIL, ENDS = range(5)
# state of a machine that takes several operations at one time: start and end of its last batch, the room left in it
# and what its operations have in common (-1: none may join); of one with pins: how many are passed, and the
# changeover for each of these
BATCH_START, BATCH_END, ROOM_LEFT, IN_COMMON = range(4)


def room_from(stores: Table, store: int, units: int, capacity: int, earliest: int) -> tuple[int, int, int]:
    """Earliest minute from which the store has room, the first holding still there then, and the units held."""
    earliest = max(earliest, stores[store, LAST_START])
    head = stores[store, HEAD] & INDEX
    tail = stores[store, TAIL]
    held = stores[store, HELD]
    while head < tail and (stores[store, head] <= earliest or held + units > capacity):
        earliest = max(earliest, stores[store, head])
        held -= stores[store, head + 1]
        head = (head + 2) & INDEX
    return earliest, head, held


def wait_for_store(stores: Table, store: int, units: int, capacity: int, earliest: int) -> int:
    """Earliest minute from which the store has room; what is free by then is taken out. [minute]"""
    earliest, head, held = room_from(stores, store, units, capacity, earliest)
    stores[store, HEAD] = head
    stores[store, HELD] = held
    return earliest


def hold(stores: Table, store: int, units: int, start: int, end: int) -> None:
    """Enter a holding from start to end, ends kept in order."""
    head = stores[store, HEAD]
    tail = stores[store, TAIL]
    if tail >= stores.shape[1]:
        for k in range(head, tail):
            stores[store, ENDS + k - head] = stores[store, k]
        tail += ENDS - head
        head = ENDS
        stores[store, HEAD] = head
    k = tail & INDEX
    while k > head and stores[store, (k - 2) & INDEX] > end:
        before = (k - 2) & INDEX
        stores[store, k] = stores[store, before]
        stores[store, k + 1] = stores[store, before + 1]
        k = before
    stores[store, k] = end
    stores[store, k + 1] = units
    stores[store, TAIL] = tail + 2
    stores[store, HELD] += units
    stores[store, LAST_START] = start


def full_until(stores: Table, window: int, units: int, capacity: int, since: int, until: int) -> int:
    """End of a time between two minutes when the window has no room; 0: it has room throughout. [minute]"""
    if since >= until:
        return 0
    if since < stores[window, LAST_START]:
        return stores[window, LAST_START]
    tail = stores[window, TAIL]
    room = capacity - units
    at = ENDS - 3
    moment = since
    while True:
        if since <= moment < until:
            held = 0
            ends = FAR
            for k in range(ENDS, tail, 3):
                if stores[window, k] <= moment < stores[window, k + 1]:
                    held += stores[window, k + 2]
                    ends = min(ends, stores[window, k + 1])
            if held > room:
                return ends
        at += 3
        if at >= tail:
            return 0
        moment = stores[window, at]


def reserve(stores: Table, window: int, units: int, start: int, end: int) -> None:
    """Take units out of a window from start to end."""
    if start >= end:
        return
    tail = stores[window, TAIL]
    at = tail
    if tail + 3 > stores.shape[1]:
        at = ENDS
        for k in range(ENDS, tail, 3):
            if stores[window, k + 1] < stores[window, at + 1]:
                at = k
        if end <= stores[window, at + 1]:
            stores[window, LAST_START] = max(stores[window, LAST_START], end)
            return
        stores[window, LAST_START] = max(stores[window, LAST_START], stores[window, at + 1])
    else:
        stores[window, TAIL] = tail + 3
    stores[window, at] = start
    stores[window, at + 1] = end
    stores[window, at + 2] = units


def run_from(f: Table, stretch: int, last: int, minutes: int, pauses: int, start: int) -> tuple[int, int, int, int]:
    """The first run from a minute on: start, end, and the addresses of the stretches it starts and ends in.

    The last address is `last` where the calendar has no room left.
    """
    piece = 1 if pauses else minutes
    stretch &= INDEX
    start = max(start, f[stretch])
    stretch = (stretch + 2 * (start + piece > f[stretch + 1])) & INDEX  # a jump here would be guessed wrong
    start = max(start, f[stretch])
    while start + piece > f[stretch + 1]:
        stretch = (stretch + 2) & INDEX
        start = max(start, f[stretch])
    begins = stretch
    end = start + minutes
    while end > f[stretch + 1] and stretch < last:
        over = end - f[stretch + 1]
        stretch = (stretch + 2) & INDEX
        end = f[stretch] + over
    if stretch >= last:
        start = max(start, FAR)
        end = start + minutes
    return start, end, begins, stretch


def seek(f: Table, first: int, last: int, minute: int) -> int:
    """Address of the first stretch, of those between two addresses, that closes after a minute."""
    low = 0
    high = (last - first) // 2
    while low < high:
        middle = (low + high) // 2
        if f[first + 2 * middle + 1] <= minute:
            low = middle + 1
        else:
            high = middle
    return first + 2 * low


def open_minutes(f: Table, machine: int, since: int, until: int) -> int:
    """Open time of a machine between two minutes. [min]"""
    on = machine_row(f, machine)
    return open_within(f, f[on + STRETCH_FROM], f[on + STRETCH_TO], since, until)


def open_within(f: Table, first: int, last: int, since: int, until: int) -> int:
    """Open time of the stretches between two addresses, between two minutes. [min]"""
    total = 0
    for stretch in range(first, last, 2):
        if f[stretch] >= until:
            break
        total += max(0, min(until, f[stretch + 1]) - max(since, f[stretch]))
    return total


def added_by(f: Table, mode: int, start: int, end: int) -> int:
    """What the way chosen counts, and its minutes of overtime. [minutes of changeover]"""
    m = mode_row(f, mode)
    if f[OVERTIME_COUNTS] == 0:
        return f[m + PENALTY]
    return f[m + PENALTY] + overtime_of(f, f[m + MACHINE], start, end)


def overtime_of(f: Table, machine: int, start: int, end: int) -> int:
    """What the overtime of a machine between two minutes counts. [minutes of changeover]"""
    on = machine_row(f, machine)
    return f[OVERTIME_COUNTS] * open_within(f, f[on + OVERTIME_FROM], f[on + OVERTIME_TO], start, end)


def copy_into(state: Table, source: Table) -> None:
    """Overwrite one two-way table with another of the same shape."""
    for k in range(state.shape[0]):
        for n in range(state.shape[1]):
            state[k, n] = source[k, n]
