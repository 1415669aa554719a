"""What binds besides jobs, machines, calendars and stores, gathered from a problem before it is folded."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from math import ceil
from typing import NamedTuple

from naptuft.planning.problem import Mode, Operation, Problem
from naptuft.planning.schedule.open_time import Stretches, end_of_run, joined, shared

WINDOW_MOST = 32


class Pin(NamedTuple):
    """A stretch of a machine that an operation is pinned to."""

    start: int
    end: int
    family: str | None


class Way(NamedTuple):
    """A mode, and whether it keeps out of overtime."""

    mode: Mode
    usual: bool


class Hold(NamedTuple):
    """What a mode takes out of a window: its row and capacity, the units, and when (see `fold.py`)."""

    row: int
    units: int
    capacity: int
    lead: int
    whole: int
    stays: int
    common: int


@dataclass(frozen=True)
class ModeRule:
    """What else binds one mode.

    pin        number among the pins of its machine; None: it is not pinned
    first_pin  whether it is the first operation of that pin
    holds      what it takes out of windows
    calendar   when it may run, where that is not when its machine is open
    together   number of what operations in a machine at one time must have in common; None: it runs alone
    first      minutes until its first transfer batch is done
    last       minutes its last transfer batch takes; None: it gets all at once
    usual      whether it keeps out of overtime
    """

    machine: int
    pin: int | None = None
    first_pin: bool = False
    holds: tuple[Hold, ...] = ()
    calendar: tuple[tuple[int, int], ...] | None = None
    together: int | None = None
    load: int = 0
    first: int = 0
    last: int | None = None
    usual: bool = False

    def binds(self) -> bool:
        """Whether anything does."""
        return self != ModeRule(self.machine, load=self.load)


@dataclass(frozen=True)
class Rules:
    """All that binds besides, by number of operation and of mode.

    windows        how many windows there are; their rows follow the stores
    pins           by machine, in order of time; each such machine has a row behind the windows
    batch_rows     by machine that takes several operations at one time: its row, behind those of the pins
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
    batch_rows: dict[int, int] = field(default_factory=dict)
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
    number, pinned = pinned_mode(operation), operation.pinned
    assert number is not None
    assert pinned is not None
    mode = operation.modes[number]
    return end_of_run(calendar_of(problem, operation, mode), mode.duration, operation.pauses, pinned[1])


def calendar_of(problem: Problem, operation: Operation, mode: Mode) -> Stretches:
    """When a mode may run: its machine is open and the crews it needs are there."""
    stretches = problem.machines[mode.machine].open
    for need in operation.needs:
        there = problem.crews[need.crew].open
        if there is not None and need.people > 0:
            stretches = shared(stretches, joined(there))
    return stretches


def first_minutes(operation: Operation, mode: Mode) -> int:
    """Minutes until the first transfer batch of an operation is done."""
    return mode.setup + -(-(mode.duration - mode.setup) // operation.transfers)


def last_minutes(before: Operation, mode: Mode) -> int:
    """Minutes the last transfer batch from the operation before takes."""
    return -(-(mode.duration - mode.setup) // before.transfers)


def binding_crews(problem: Problem) -> set[int]:
    """Crews that their machines together could ask too much of."""
    most: dict[tuple[int, int], int] = defaultdict(int)
    for job in problem.jobs:
        for operation in job.operations:
            for need in operation.needs:
                for mode in operation.modes:
                    at = need.crew, mode.machine
                    most[at] = max(most[at], thousandths(need.people))
    asked: dict[int, int] = defaultdict(int)
    for (crew, _), people in most.items():
        asked[crew] += people
    return {crew for crew, people in asked.items() if people > 1000 * problem.crews[crew].people + 1e-6}


def thousandths(people: float) -> int:
    """People in thousandths of one, rounded up."""
    return ceil(people * 1000 - 1e-6)


def is_ruled(problem: Problem) -> bool:
    """Whether anything binds besides."""
    return (
        beyond_exact(problem)
        or spares_overtime(problem)
        or any(o.pinned for job in problem.jobs for o in job.operations)
    )


def spares_overtime(problem: Problem) -> bool:
    """Whether a minute worked in overtime counts, and there is overtime."""
    return (
        problem.aims.overtime > 0
        and problem.objective != "makespan"
        and any(machine.overtime for machine in problem.machines)
    )


def counts_more(problem: Problem) -> bool:
    """Whether a plan is judged by more than its late minutes and then its changeovers."""
    aims = problem.aims
    penalties = (mode.penalty for job in problem.jobs for o in job.operations for mode in o.modes)
    return problem.objective != "makespan" and (
        aims.waiting > 0 or aims.late is not None or spares_overtime(problem) or any(penalties)
    )


def ways_of(problem: Problem, operation: Operation) -> list[Way]:
    """The modes of an operation; where overtime is spared, those of machines with overtime again, kept out of it."""
    ways = [Way(mode, False) for mode in operation.modes]
    if not spares_overtime(problem) or operation.pinned is not None:
        return ways
    return ways + [Way(mode, True) for mode in operation.modes if problem.machines[mode.machine].overtime]


def beyond_exact(problem: Problem) -> bool:
    """Whether crews, machines for several operations at one time or transfer batches bind."""
    operations = [operation for job in problem.jobs for operation in job.operations]
    return (
        any(machine.takes is not None for machine in problem.machines)
        or any(operation.transfers > 1 for operation in operations)
        or any(problem.crews[need.crew].open is not None for operation in operations for need in operation.needs)
        or bool(binding_crews(problem))
    )


def rules_of(problem: Problem) -> Rules:
    """Gather the rules. The problem must have passed `faults.faults_of`."""
    return _Gathering(problem).rules() if is_ruled(problem) else Rules()


class _Gathering:
    def __init__(self, problem: Problem):
        self.problem = problem
        self.operations = [operation for job in problem.jobs for operation in job.operations]
        self.before = [
            job.operations[index - 1] if index else None for job in problem.jobs for index in range(len(job.operations))
        ]
        self.first_mode = [0]
        for operation in self.operations:
            self.first_mode.append(self.first_mode[-1] + len(ways_of(problem, operation)))
        stores = sorted({o.store for o in self.operations if o.pinned and o.store is not None and o.units > 0})
        crews = sorted(binding_crews(problem))
        self.store_row = {store: len(problem.stores) + k for k, store in enumerate(stores)}
        self.crew_row = {crew: len(problem.stores) + len(stores) + k for k, crew in enumerate(crews)}
        self.calendars: dict[tuple[int, tuple[int, ...]], Stretches] = {}
        self.together: dict[tuple[object, ...], int] = {}
        self.pins, self.pin_of, self.leads = self._pins()
        self.alike = {crew: self._alike(crew) for crew in crews}

    def _pins(self) -> tuple[dict[int, tuple[Pin, ...]], dict[int, int], set[int]]:
        """Pins by machine, the number of the pin of each operation, and the first operation of each pin."""
        pinned: dict[int, dict[Pin, list[int]]] = defaultdict(lambda: defaultdict(list))
        for number, operation in enumerate(self.operations):
            if operation.pinned is not None:
                end = pinned_end(self.problem, operation)
                assert end is not None
                pinned[operation.pinned[0]][Pin(operation.pinned[1], end, operation.family)].append(number)
        pins, pin_of, leads = {}, {}, set()
        for machine, groups in pinned.items():
            pins[machine] = tuple(sorted(groups, key=lambda pin: (pin.start, pin.end)))
            for place, pin in enumerate(pins[machine]):
                pin_of |= dict.fromkeys(groups[pin], place)
                leads.add(groups[pin][0])
        return pins, pin_of, leads

    def _calendar(self, operation: Operation, mode: Mode) -> Stretches:
        key = mode.machine, tuple(sorted({need.crew for need in operation.needs if need.people > 0}))
        if key not in self.calendars:
            self.calendars[key] = calendar_of(self.problem, operation, mode)
        return self.calendars[key]

    def _alike(self, crew: int) -> bool:
        """Whether all that need a crew may run at the same times: then it may be held over closed time."""
        calendars = {
            self._calendar(operation, mode)
            for operation in self.operations
            if any(need.crew == crew for need in operation.needs)
            for mode in operation.modes
        }
        return len(calendars) == 1

    def _holds(self, number: int) -> tuple[Hold, ...]:
        operation, holds = self.operations[number], []
        if operation.store in self.store_row and operation.units > 0:
            assert operation.store is not None
            capacity = self.problem.stores[operation.store].capacity
            row = self.store_row[operation.store]
            holds.append(Hold(row, operation.units, capacity, 0, 1, operation.min_wait, 0))
        for need in operation.needs:
            if need.crew in self.crew_row and need.people > 0:
                capacity = int(1000 * self.problem.crews[need.crew].people + 1e-6)
                whole = int(self.alike[need.crew])
                people = thousandths(need.people)
                holds.append(Hold(self.crew_row[need.crew], people, capacity, int(need.changeover), whole, 0, 1))
        return tuple(holds)

    def _mode_rule(self, number: int, k: int, way: Way, holds: tuple[Hold, ...]) -> ModeRule:
        operation, before = self.operations[number], self.before[number]
        mode = way.mode
        calendar = self._calendar(operation, mode)
        together = None
        if self.problem.machines[mode.machine].takes is not None:
            key = (operation.family, mode.duration, operation.pauses, operation.needs, way.usual)
            together = self.together.setdefault(key, len(self.together))
        return ModeRule(
            mode.machine,
            self.pin_of.get(number) if k == pinned_mode(operation) else None,
            number in self.leads,
            holds,
            None if calendar == self.problem.machines[mode.machine].open or calendar is None else tuple(calendar),
            together,
            operation.load,
            first_minutes(operation, mode) if operation.transfers > 1 else 0,
            last_minutes(before, mode) if before is not None and before.transfers > 1 else None,
            way.usual,
        )

    def rules(self) -> Rules:
        problem = self.problem
        modes: dict[int, ModeRule] = {}
        taken: list[tuple[int, int, int, int]] = []
        held: set[tuple[int, int, int]] = set()
        for number, operation in enumerate(self.operations):
            holds = self._holds(number)
            for k, way in enumerate(ways_of(problem, operation)):
                mode = way.mode
                rule = self._mode_rule(number, k, way, holds)
                if rule.binds() or mode.machine in self.pins:
                    modes[self.first_mode[number] + k] = rule
                if rule.pin is not None:
                    pin = self.pins[mode.machine][rule.pin]
                    for hold in holds:
                        once = (hold.row, mode.machine, pin.start)
                        if not hold.common or once not in held:
                            taken += self._taken(hold, operation, mode, pin)
                            held.add(once)
        rows = [*self.store_row, *self.crew_row]
        longest = max([WINDOW_MOST, *(_held_at_once(problem, store) for store in self.store_row)]) + len(taken)
        first_pin_row = len(problem.stores) + len(rows)
        first_batch_row = first_pin_row + len(self.pins)
        several = [number for number, machine in enumerate(problem.machines) if machine.takes is not None]
        return Rules(
            windows=len(rows),
            first_pin_row=first_pin_row,
            pins=self.pins,
            batch_rows={machine: first_batch_row + place for place, machine in enumerate(several)},
            taken=tuple(taken),
            modes=modes,
            windowed=frozenset(k for k, o in enumerate(self.operations) if o.store in self.store_row and o.units > 0),
            only_mode={
                number: (self.first_mode[number] + mode, self.first_mode[number] + mode + 1)
                for number, operation in enumerate(self.operations)
                if (mode := pinned_mode(operation)) is not None
            },
            urgent=_urgent(problem),
            held_most=max([-(-3 * longest // 4) if rows else 1, *(1 + len(own) // 4 for own in self.pins.values())]),
        )

    def _taken(self, hold: Hold, operation: Operation, mode: Mode, pin: Pin) -> list[tuple[int, int, int, int]]:
        """A hold of a pinned operation, in one piece or in those in which its machine runs."""
        stretches = self._calendar(operation, mode)
        if hold.whole or stretches is None:
            return [(hold.row, pin.start, pin.end + hold.stays, hold.units)]
        pieces = ((max(opens, pin.start), min(closes, pin.end)) for opens, closes in stretches)
        return [(hold.row, since, until, hold.units) for since, until in pieces if since < until]


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
