"""Placing an operation that more than its job, machine, calendar and store bind.

Pins: what is pinned on a machine stands where it stands. An operation that does not fit before the next
pin of its machine goes behind it, so every list keeps the machine of a pin free; a pin whose job is not
ready in time makes the list one that runs FAR. Crews, and stores that pins take from, are windows
(`state.py`).
"""

from __future__ import annotations

from naptuft.planning.schedule.fold import (
    CAPACITY,
    CHANGE_ROW,
    FAMILY,
    FAR,
    LEAD,
    MACHINE,
    MIN_WAIT,
    MINUTES,
    NEED_CAPACITY,
    NEED_ROW,
    NEED_UNITS,
    NEED_WIDTH,
    NEEDS_FROM,
    NEEDS_TO,
    PAUSES,
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
    RUNS,
    STAYS,
    STORE,
    STRETCH_END,
    UNITS,
    WHOLE,
    Table,
    mode_row,
    operation_row,
)
from naptuft.planning.schedule.state import (
    CHANGEOVER,
    END,
    ENDS,
    FREE,
    SET_FOR,
    START,
    STRETCH,
    TAIL,
    full_until,
    hold,
    reserve,
    room_from,
    run_from,
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
    if f[x + PINNED_AT] >= 0:
        place_pinned(f, operation, mode, ready, machines, stores, plan)
        return
    machine = f[m + MACHINE]
    family = f[m + FAMILY]
    last = f[m + STRETCH_END]
    store = f[o + STORE]
    pins = f[x + PINS_ROW]
    earliest = ready
    while True:
        was = machines[machine, SET_FOR]
        becomes = was
        changeover = 0
        if family >= 0:
            becomes = family
            if was >= 0:
                changeover = f[f[m + CHANGE_ROW] + was]
        start = max(machines[machine, FREE] + changeover, earliest)
        if store >= 0:
            start = room_from(stores, store, f[o + UNITS], f[o + CAPACITY], start)
        start, end, begins, stretch = run_from(
            f, machines[machine, STRETCH], last, f[m + MINUTES], f[o + PAUSES], start
        )
        if stretch >= last:
            break
        if pins >= 0 and not before_pins(f, x, stores[pins, ENDS], becomes, end):
            pass_pin(f, x, pins, machine, machines, stores)
            continue
        again = crowded(f, x, start, end, changeover, begins, last, stores)
        if again > 0:
            earliest = again
            continue
        break
    machines[machine, FREE] = end
    machines[machine, SET_FOR] = becomes
    machines[machine, STRETCH] = stretch
    if store >= 0:
        wait_for_store(stores, store, f[o + UNITS], f[o + CAPACITY], start)
        hold(stores, store, f[o + UNITS], start, end + f[o + MIN_WAIT])
    if start < FAR:
        take_needs(f, x, start, end, changeover, begins, last, stores)
    plan[operation, START] = start
    plan[operation, END] = end
    plan[operation, CHANGEOVER] = changeover


def place_pinned(
    f: Table,
    operation: int,
    mode: int,
    ready: int,
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
    changeover = stores[pins, ENDS + 1 + number]
    kept = ready <= start
    for need in range(f[x + NEEDS_FROM], f[x + NEEDS_TO], NEED_WIDTH):
        if f[need + LEAD] and kept:
            row, units = f[need + NEED_ROW], f[need + NEED_UNITS]
            kept = full_until(stores, row, units, f[need + NEED_CAPACITY], start - changeover, start) == 0
            reserve(stores, row, units, start - changeover, start)
    plan[operation, START] = start if kept else FAR
    plan[operation, END] = f[x + PINNED_END] if kept else FAR + f[m + MINUTES]
    plan[operation, CHANGEOVER] = changeover


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


def crowded(f: Table, x: int, start: int, end: int, changeover: int, begins: int, last: int, stores: Table) -> int:
    """The next start to try where something it needs is taken; 0: all is there. [minute]"""
    for need in range(f[x + NEEDS_FROM], f[x + NEEDS_TO], NEED_WIDTH):
        row, units, capacity = f[need + NEED_ROW], f[need + NEED_UNITS], f[need + NEED_CAPACITY]
        lead = changeover if f[need + LEAD] else 0
        since = start - lead
        stretch = begins
        while True:
            until = reach(f, need, start, end, stretch, last)
            again = full_until(stores, row, units, capacity, since, until)
            if again > 0:
                return again + lead
            stretch += 2
            if until >= end or stretch >= last or f[need + RUNS] == 0:
                break
            since = f[stretch]
    return 0


def take_needs(f: Table, x: int, start: int, end: int, changeover: int, begins: int, last: int, stores: Table) -> None:
    """Take what an operation needs out of the windows."""
    for need in range(f[x + NEEDS_FROM], f[x + NEEDS_TO], NEED_WIDTH):
        since = start - (changeover if f[need + LEAD] else 0)
        stretch = begins
        while True:
            until = reach(f, need, start, end, stretch, last)
            reserve(stores, f[need + NEED_ROW], f[need + NEED_UNITS], since, until)
            stretch += 2
            if until >= end or stretch >= last or f[need + RUNS] == 0:
                break
            since = f[stretch]


def reach(f: Table, need: int, start: int, end: int, stretch: int, last: int) -> int:
    """Until when a need is held at one go: the end of the open stretch, or of the whole run and what stays after."""
    if f[need + RUNS] == 0:
        return start
    if f[need + WHOLE] or stretch >= last:
        return end + f[need + STAYS]
    return min(end, f[stretch + 1])
