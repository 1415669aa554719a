"""Placing an operation that more than its job, machine, calendar and store bind.

Pins: what is pinned on a machine stands where it stands. An operation that does not fit before the next
pin of its machine goes behind it, so every list keeps the machine of a pin free; a pin whose job is not
ready in time makes the list one that runs FAR. Crews, and stores that pins take from, are windows
(`state.py`). A machine that takes several operations at one time lets one join its last batch where it
is ready in time and alike; the list that has the last to be ready first makes the batch wait for it.
"""

from __future__ import annotations

from naptuft.planning.schedule.fold import (
    BATCH_ROW,
    CAPACITY,
    CHANGE_ROW,
    COMMON,
    FAMILY,
    FAR,
    FIRST_MINUTES,
    FIRST_OF_PIN,
    LAST_MINUTES,
    LEAD,
    LOAD,
    MACHINE,
    MIN_WAIT,
    MINUTES,
    NEED_CAPACITY,
    NEED_ROW,
    NEED_UNITS,
    NEED_WIDTH,
    NEEDS_FROM,
    NEEDS_TO,
    OVERTIME_FROM,
    OVERTIME_TO,
    OWN_FROM,
    PAUSES,
    PENALTY,
    PIN_CHANGE,
    PIN_END,
    PIN_FAMILY,
    PIN_NUMBER,
    PIN_START,
    PIN_WIDTH,
    PINNED_AT,
    PINNED_END,
    PINS_FROM,
    PINS_ROW,
    PINS_TO,
    RULED,
    STAYS,
    STORE,
    STRETCH_END,
    STRETCH_FROM,
    TAKES,
    TOGETHER,
    UNITS,
    USUAL,
    WAIT_BEFORE,
    WHOLE,
    Table,
    machine_row,
    mode_row,
    operation_row,
)
from naptuft.planning.schedule.state import (
    ADDED,
    BATCH_END,
    BATCH_START,
    CHANGEOVER,
    END,
    ENDS,
    FREE,
    IN_COMMON,
    ROOM_LEFT,
    SET_FOR,
    START,
    STRETCH,
    TAIL,
    added_by,
    full_until,
    hold,
    open_within,
    reserve,
    room_from,
    run_from,
    seek,
    wait_for_store,
)


def place_ruled(
    f: Table,
    operation: int,
    mode: int,
    ready: int,
    machines: Table,
    stores: Table,
    plan: Table,
) -> None:
    """Put one operation behind what its machine has, by every rule; where it has no room it starts FAR."""
    o = operation_row(f, operation)
    m = mode_row(f, mode)
    x = f[m + RULED]
    machine = f[m + MACHINE]
    no_sooner = least_end(f, operation, x, plan)
    if f[x + PINNED_AT] >= 0:
        place_pinned(f, operation, mode, ready, no_sooner, machines, stores, plan)
        return
    if f[x + BATCH_ROW] >= 0 and join(f, operation, mode, ready, no_sooner, stores, plan):
        return
    family = f[m + FAMILY]
    last = f[m + STRETCH_END]
    store = f[o + STORE]
    pins = f[x + PINS_ROW]
    earliest = ready
    while True:
        was = machines[machine, SET_FOR]
        becomes = family if family >= 0 else was
        changeover = f[f[m + CHANGE_ROW] + was]
        start = max(machines[machine, FREE] + changeover, earliest)
        if store >= 0:
            start, _, _ = room_from(stores, store, f[o + UNITS], f[o + CAPACITY], start)
        stretch = machines[machine, STRETCH]
        if f[x + OWN_FROM] > 0:
            stretch = seek(f, f[x + OWN_FROM], last, start)
        start, end, begins, stretch = run_from(f, stretch, last, f[m + MINUTES], f[o + PAUSES], start)
        if stretch >= last:
            break
        if f[x + USUAL]:
            again = overtime_until(f, machine, start, end)
            if again > 0:
                earliest = again
                continue
        if pins >= 0 and not before_pins(f, x, stores[pins, ENDS], becomes, end):
            pass_pin(f, x, pins, machine, machines, stores)
            continue
        again = crowded(f, x, start, end, changeover, begins, last, stores)
        if again > 0:
            earliest = again
            continue
        if end < no_sooner:
            earliest = start + no_sooner - end
            if f[o + PAUSES]:
                earliest = start + max(1, open_within(f, begins, last, end, no_sooner))
            continue
        break
    machines[machine, FREE] = end
    machines[machine, SET_FOR] = becomes
    if f[x + OWN_FROM] == 0:
        machines[machine, STRETCH] = stretch
    if store >= 0:
        wait_for_store(stores, store, f[o + UNITS], f[o + CAPACITY], start)
        hold(stores, store, f[o + UNITS], start, end + f[o + MIN_WAIT])
    if start < FAR:
        take_needs(f, x, start, end, changeover, begins, last, False, stores)
    batch = f[x + BATCH_ROW]
    if batch >= 0:
        stores[batch, ENDS + BATCH_START] = start
        stores[batch, ENDS + BATCH_END] = end
        stores[batch, ENDS + ROOM_LEFT] = f[x + TAKES] - f[x + LOAD]
        stores[batch, ENDS + IN_COMMON] = f[x + TOGETHER]
    plan[operation, START] = start
    plan[operation, END] = end
    plan[operation, CHANGEOVER] = changeover
    plan[operation, ADDED] = added_by(f, mode, start, end)


def overtime_until(f: Table, machine: int, start: int, end: int) -> int:
    """When the first overtime of a machine between two minutes ends; 0: there is none. [minute]"""
    on = machine_row(f, machine)
    for stretch in range(f[on + OVERTIME_FROM], f[on + OVERTIME_TO], 2):
        if f[stretch] < end and f[stretch + 1] > start:
            return f[stretch + 1]
    return 0


def least_end(f: Table, operation: int, x: int, plan: Table) -> int:
    """No sooner may an operation end that gets its work in transfer batches; 0: it does not. [minute]"""
    if f[x + LAST_MINUTES] < 0:
        return 0
    return plan[operation - 1, END] + f[operation_row(f, operation) + WAIT_BEFORE] + f[x + LAST_MINUTES]


def first_batch_done(f: Table, operation: int, mode: int, plan: Table) -> int:
    """When the first transfer batch of a placed operation is done. [minute]"""
    start = plan[operation, START]
    if start >= FAR:
        return start
    m = mode_row(f, mode)
    x = f[m + RULED]
    if x == 0:
        return plan[operation, END]
    first = f[x + OWN_FROM]
    if first == 0:
        first = f[machine_row(f, f[m + MACHINE]) + STRETCH_FROM]
    last = f[m + STRETCH_END]
    pauses = f[operation_row(f, operation) + PAUSES]
    _, end, _, _ = run_from(f, seek(f, first, last, start), last, f[x + FIRST_MINUTES], pauses, start)
    return min(end, plan[operation, END])


def join(f: Table, operation: int, mode: int, ready: int, no_sooner: int, stores: Table, plan: Table) -> bool:
    """Put an operation into the last batch of its machine, where that has room for it and it is alike and ready."""
    o = operation_row(f, operation)
    x = f[mode_row(f, mode) + RULED]
    batch = f[x + BATCH_ROW]
    start = stores[batch, ENDS + BATCH_START]
    end = stores[batch, ENDS + BATCH_END]
    if (
        stores[batch, ENDS + IN_COMMON] != f[x + TOGETHER]
        or stores[batch, ENDS + ROOM_LEFT] < f[x + LOAD]
        or ready > start
        or no_sooner > end
        or start >= FAR
    ):
        return False
    store = f[o + STORE]
    if store >= 0 and room_from(stores, store, f[o + UNITS], f[o + CAPACITY], start)[0] != start:
        return False
    for need in range(f[x + NEEDS_FROM], f[x + NEEDS_TO], NEED_WIDTH):
        if f[need + COMMON] == 0:
            row, units, capacity = f[need + NEED_ROW], f[need + NEED_UNITS], f[need + NEED_CAPACITY]
            if full_until(stores, row, units, capacity, start, end + f[need + STAYS]) > 0:
                return False
    if store >= 0:
        wait_for_store(stores, store, f[o + UNITS], f[o + CAPACITY], start)
        hold(stores, store, f[o + UNITS], start, end + f[o + MIN_WAIT])
    take_needs(f, x, start, end, 0, 0, 0, True, stores)
    stores[batch, ENDS + ROOM_LEFT] -= f[x + LOAD]
    plan[operation, START] = start
    plan[operation, END] = end
    plan[operation, CHANGEOVER] = 0
    plan[operation, ADDED] = f[mode_row(f, mode) + PENALTY]
    return True


def could_join(f: Table, mode: int, ready: int, stores: Table) -> bool:
    """Whether the last batch of the machine has room for a mode, and it is alike and ready."""
    x = f[mode_row(f, mode) + RULED]
    if x == 0 or f[x + BATCH_ROW] < 0:
        return False
    batch = f[x + BATCH_ROW]
    return (
        stores[batch, ENDS + IN_COMMON] == f[x + TOGETHER]
        and stores[batch, ENDS + ROOM_LEFT] >= f[x + LOAD]
        and ready <= stores[batch, ENDS + BATCH_START]
    )


def place_pinned(
    f: Table,
    operation: int,
    mode: int,
    ready: int,
    no_sooner: int,
    machines: Table,
    stores: Table,
    plan: Table,
) -> None:
    """Put a pinned operation where it is pinned, or FAR where its job is not ready. Its windows know it already."""
    m = mode_row(f, mode)
    x = f[m + RULED]
    pins = f[x + PINS_ROW]
    number = f[x + PIN_NUMBER]
    while stores[pins, ENDS] <= number:
        pass_pin(f, x, pins, f[m + MACHINE], machines, stores)
    start = f[x + PINNED_AT]
    changeover = stores[pins, ENDS + 1 + number] if f[x + FIRST_OF_PIN] else 0
    kept = ready <= start and no_sooner <= f[x + PINNED_END]
    for need in range(f[x + NEEDS_FROM], f[x + NEEDS_TO], NEED_WIDTH):
        if f[need + LEAD] and kept:
            row, units = f[need + NEED_ROW], f[need + NEED_UNITS]
            kept = full_until(stores, row, units, f[need + NEED_CAPACITY], start - changeover, start) == 0
            reserve(stores, row, units, start - changeover, start)
    plan[operation, START] = start if kept else FAR
    plan[operation, END] = f[x + PINNED_END] if kept else FAR + f[m + MINUTES]
    plan[operation, CHANGEOVER] = changeover
    plan[operation, ADDED] = f[m + PENALTY]
    if f[x + FIRST_OF_PIN]:
        plan[operation, ADDED] = added_by(f, mode, start, f[x + PINNED_END])


def before_pins(f: Table, x: int, passed: int, family: int, end: int) -> bool:
    """Whether an operation that leaves its machine set for a family at a minute keeps the pins to come."""
    for pin in range(f[x + PINS_FROM] + PIN_WIDTH * passed, f[x + PINS_TO], PIN_WIDTH):
        becomes = f[pin + PIN_FAMILY]
        if end > f[pin + PIN_START]:
            return False
        if becomes >= 0:
            return family < 0 or end + f[f[pin + PIN_CHANGE] + family] <= f[pin + PIN_START]
        end = f[pin + PIN_END]
    return True


def pass_pin(f: Table, x: int, pins: int, machine: int, machines: Table, stores: Table) -> None:
    """Take a machine behind its next pin; the changeover for the pin is kept for its own turn."""
    passed = stores[pins, ENDS]
    pin = f[x + PINS_FROM] + PIN_WIDTH * passed
    changeover = 0
    if f[pin + PIN_FAMILY] >= 0:
        if machines[machine, SET_FOR] >= 0:
            changeover = f[f[pin + PIN_CHANGE] + machines[machine, SET_FOR]]
        machines[machine, SET_FOR] = f[pin + PIN_FAMILY]
    machines[machine, FREE] = f[pin + PIN_END]
    stores[pins, ENDS] = passed + 1
    stores[pins, ENDS + 1 + passed] = changeover
    stores[pins, TAIL] = ENDS + 2 + passed
    if f[x + BATCH_ROW] >= 0:
        stores[f[x + BATCH_ROW], ENDS + IN_COMMON] = -1


def crowded(f: Table, x: int, start: int, end: int, changeover: int, begins: int, last: int, stores: Table) -> int:
    """The next start to try where something it needs is taken; 0: all is there. [minute]"""
    for need in range(f[x + NEEDS_FROM], f[x + NEEDS_TO], NEED_WIDTH):
        row, units, capacity = f[need + NEED_ROW], f[need + NEED_UNITS], f[need + NEED_CAPACITY]
        lead = changeover if f[need + LEAD] else 0
        since = start - lead
        stretch = begins
        while True:
            until = held_until(f, need, end, stretch, last)
            again = full_until(stores, row, units, capacity, since, until)
            if again > 0:
                return again + lead
            stretch += 2
            if until >= end or stretch >= last:
                break
            since = f[stretch]
    return 0


def take_needs(
    f: Table,
    x: int,
    start: int,
    end: int,
    changeover: int,
    begins: int,
    last: int,
    joins: bool,
    stores: Table,
) -> None:
    """Take what an operation needs out of the windows; one that joins a batch, only what each has by itself."""
    for need in range(f[x + NEEDS_FROM], f[x + NEEDS_TO], NEED_WIDTH):
        if joins and f[need + COMMON]:
            continue
        since = start - (changeover if f[need + LEAD] else 0)
        stretch = begins
        while True:
            until = held_until(f, need, end, stretch, last)
            reserve(stores, f[need + NEED_ROW], f[need + NEED_UNITS], since, until)
            stretch += 2
            if until >= end or stretch >= last:
                break
            since = f[stretch]


def held_until(f: Table, need: int, end: int, stretch: int, last: int) -> int:
    """Until when a need is held at one go: the end of the open stretch, or of the whole run and what stays after."""
    if f[need + WHOLE] or stretch >= last:
        return end + f[need + STAYS]
    return min(end, f[stretch + 1])
