"""What binds besides jobs, machines, calendars and stores, gathered from a problem before it is folded."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import NamedTuple

from naptuft.planning.problem import Operation, Problem
from naptuft.planning.schedule.open_time import end_of_run

WINDOW_MOST = 32


class Pin(NamedTuple):
    """A stretch of a machine that an operation is pinned to."""

    start: int
    end: int
    family: str | None


class Need(NamedTuple):
    """What a mode takes out of a window: its row and capacity, the units, and when (see `fold.py`)."""

    row: int
    units: int
    capacity: int
    lead: int
    runs: int
    whole: int
    stays: int


@dataclass(frozen=True)
class ModeRule:
    """What else binds one mode.

    pin    number among the pins of its machine; None: it is not pinned
    needs  what it takes out of windows
    """

    machine: int
    pin: int | None = None
    needs: tuple[Need, ...] = ()


@dataclass(frozen=True)
class Rules:
    """All that binds besides, by number of operation and of mode.

    windows        how many windows there are; their rows follow the stores
    pins           by machine, in order of time; each such machine has a row behind the windows
    taken          what pins take out of windows: row, start, end, units
    modes          by number of the mode
    windowed       operations whose store is a window
    only_mode      of pinned operations: the mode and the one after
    urgent         one more than the latest start of an operation that keeps a pin further on
    held_most      entries of four numbers a row must have room for
    """

    windows: int = 0
    first_pin_row: int = 0
    pins: dict[int, tuple[Pin, ...]] = field(default_factory=dict)
    taken: tuple[tuple[int, int, int, int], ...] = ()
    modes: dict[int, ModeRule] = field(default_factory=dict)
    windowed: frozenset[int] = frozenset()
    only_mode: dict[int, tuple[int, int]] = field(default_factory=dict)
    urgent: dict[int, int] = field(default_factory=dict)
    held_most: int = 1


def pinned_mode(operation: Operation) -> int | None:
    """Index of the mode a pinned operation takes: the quickest on its machine. None: it is free."""
    if operation.pinned is None:
        return None
    able = [k for k, mode in enumerate(operation.modes) if mode.machine == operation.pinned[0]]
    return min(able, key=lambda k: operation.modes[k].duration)


def pinned_end(problem: Problem, operation: Operation) -> int | None:
    """When a pinned operation ends; None: its calendar does not let it start there. [minute]"""
    mode, pinned = pinned_mode(operation), operation.pinned
    assert mode is not None
    assert pinned is not None
    stretches = problem.machines[pinned[0]].open
    return end_of_run(stretches, operation.modes[mode].duration, operation.pauses, pinned[1])


def is_ruled(problem: Problem) -> bool:
    """Whether anything binds besides."""
    return any(operation.pinned for job in problem.jobs for operation in job.operations)


def rules_of(problem: Problem) -> Rules:
    """Gather the rules. The problem must have passed `faults.faults_of`."""
    if not is_ruled(problem):
        return Rules()
    operations = [operation for job in problem.jobs for operation in job.operations]
    first_mode = [0]
    for operation in operations:
        first_mode.append(first_mode[-1] + len(operation.modes))

    pinned: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
    for number, operation in enumerate(operations):
        if operation.pinned is not None:
            end = pinned_end(problem, operation)
            assert end is not None
            pinned[operation.pinned[0]].append((operation.pinned[1], end, number))
    pins: dict[int, tuple[Pin, ...]] = {}
    place: dict[int, int] = {}
    for machine, entries in pinned.items():
        entries.sort()
        pins[machine] = tuple(Pin(start, end, operations[number].family) for start, end, number in entries)
        place |= {number: k for k, (_, _, number) in enumerate(entries)}

    stores = sorted({o.store for o in operations if o.pinned and o.store is not None and o.units > 0})
    row_of = {store: len(problem.stores) + k for k, store in enumerate(stores)}
    windowed = frozenset(k for k, o in enumerate(operations) if o.store in row_of and o.units > 0)
    modes: dict[int, ModeRule] = {}
    taken: list[tuple[int, int, int, int]] = []
    for number, operation in enumerate(operations):
        needs: tuple[Need, ...] = ()
        if number in windowed:
            assert operation.store is not None
            row, capacity = row_of[operation.store], problem.stores[operation.store].capacity
            needs = (Need(row, operation.units, capacity, 0, 1, 1, operation.min_wait),)
        if number in place and operation.pinned is not None:
            pin = pins[operation.pinned[0]][place[number]]
            taken += [(need.row, pin.start, pin.end + need.stays, need.units) for need in needs]
        for k, mode in enumerate(operation.modes):
            own = place.get(number) if k == pinned_mode(operation) else None
            if needs or own is not None or mode.machine in pins:
                modes[first_mode[number] + k] = ModeRule(mode.machine, own, needs)
    longest = max([WINDOW_MOST, *(_held_at_once(problem, store) for store in stores)]) + len(taken)
    return Rules(
        windows=len(stores),
        first_pin_row=len(problem.stores) + len(stores),
        pins=pins,
        taken=tuple(taken),
        modes=modes,
        windowed=windowed,
        only_mode={
            number: (first_mode[number] + mode, first_mode[number] + mode + 1)
            for number, operation in enumerate(operations)
            if (mode := pinned_mode(operation)) is not None
        },
        urgent=_urgent(problem),
        held_most=max([-(-3 * longest // 4) if stores else 1, *(1 + len(own) // 4 for own in pins.values())]),
    )


def _held_at_once(problem: Problem, store: int) -> int:
    units = [o.units for job in problem.jobs for o in job.operations if o.store == store and o.units > 0]
    return min(len(units), problem.stores[store].capacity // min(units))


def _urgent(problem: Problem) -> dict[int, int]:
    """For operations that a pinned one waits for: one more than the latest start that keeps it, at least 1."""
    number_of = {job.name: index for index, job in enumerate(problem.jobs)}
    first = [0]
    for job in problem.jobs:
        first.append(first[-1] + len(job.operations))
    latest: dict[int, int] = {}  # of a job: the latest it may finish
    todo = [index for index, job in enumerate(problem.jobs) if any(o.pinned for o in job.operations)]
    urgent: dict[int, int] = {}
    while todo:
        index = todo.pop()
        job = problem.jobs[index]
        end = latest.get(index)
        for k in range(len(job.operations) - 1, -1, -1):
            operation = job.operations[k]
            start = None if end is None else end - operation.min_wait - min(m.duration for m in operation.modes)
            if operation.pinned is not None:
                start = operation.pinned[1]
            if start is not None:
                urgent[first[index] + k] = max(1, start + 1)
            end = start
        if end is not None:
            for name in job.after:
                other = number_of[name]
                if other not in latest or latest[other] > end:
                    latest[other] = end
                    todo.append(other)
    return urgent
