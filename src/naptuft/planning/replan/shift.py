"""A list of operations put on the floor as it stands: nothing before its earliest, everything as soon as it can be.

What is done or running stays. The rest follows in the order of the list; each goes behind what its machine has,
as early as its job, changeover, calendar and racks allow, and never before the earliest start given for it.
Racks are taken where there is room for the whole of the stay, so that a late batch holds up no other.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from naptuft.planning.problem import Machine, Placement, Problem

Key = tuple[int, int]
FAR = 1 << 28
TRIES = 25


@dataclass(frozen=True)
class Floor:
    """A problem as it stands at a minute: `fixed` is done or running, the rest may not start before `at`.

    under_way  operations ahead whose machine is being changed over for them already
    """

    problem: Problem
    at: int
    fixed: Mapping[Key, Placement]
    under_way: frozenset[Key] = frozenset()


@dataclass(frozen=True)
class Choice:
    """What is chosen of the operations ahead: their order, machine and minutes of each, and earliest starts."""

    order: tuple[Key, ...]
    machine: Mapping[Key, tuple[int, int]]
    earliest: Mapping[Key, int]


@dataclass(frozen=True)
class Figures:
    """Weighted late minutes and changeover minutes of a plan."""

    late: float
    changeover: float


class Shifter:
    """Shifts lists on one floor; what does not change between them is worked out once."""

    def __init__(self, floor: Floor):
        problem = floor.problem
        self.floor = floor
        self.problem = problem
        self.last = {job.name: (number, len(job.operations) - 1) for number, job in enumerate(problem.jobs)}
        self.before = {
            (number, index): ((number, index - 1),) if index else tuple(self.last[name] for name in job.after)
            for number, job in enumerate(problem.jobs)
            for index in range(len(job.operations))
        }
        self.operation = {
            (number, index): operation
            for number, job in enumerate(problem.jobs)
            for index, operation in enumerate(job.operations)
        }
        self.tied = [
            key
            for key, operation in self.operation.items()
            if operation.max_wait is not None
            and key not in floor.fixed
            and key[1] + 1 < len(problem.jobs[key[0]].operations)
        ]
        self.closes = [None if machine.open is None else [c for _, c in machine.open] for machine in problem.machines]
        self.free = [0] * len(problem.machines)
        self.family = [machine.set_for for machine in problem.machines]
        self.held: list[list[tuple[int, int, int]]] = [[] for _ in problem.stores]
        for key, placed in sorted(floor.fixed.items(), key=lambda item: item[1].start):
            self.free[placed.machine] = max(self.free[placed.machine], placed.end)
            operation = self.operation[key]
            if operation.family is not None:
                self.family[placed.machine] = operation.family
            if operation.store is not None and operation.units and placed.end + operation.min_wait > floor.at:
                self.held[operation.store].append((placed.start, placed.end + operation.min_wait, operation.units))
        self.free = [max(free, floor.at) if free > floor.at else free for free in self.free]

    def shift(self, choice: Choice) -> dict[Key, Placement]:
        """Where everything comes to stand; what a calendar has no room for starts FAR.

        Work before a longest wait starts later where its follower could not come in time otherwise; where it
        is done already, the wait is broken.
        """
        earliest = dict(choice.earliest)
        placed = self._once(choice, earliest)
        for _ in range(TRIES):
            late = False
            for key in self.tied:
                follower = placed[key[0], key[1] + 1]
                over = follower.start - placed[key].end - (self.operation[key].max_wait or 0)
                if over > 0 and follower.start < FAR:
                    earliest[key] = placed[key].start + over
                    late = True
            if not late:
                break
            placed = self._once(choice, earliest)
        return placed

    def _once(self, choice: Choice, earliest: Mapping[Key, int]) -> dict[Key, Placement]:
        placed: dict[Key, Placement] = dict(self.floor.fixed)
        free, family = list(self.free), list(self.family)
        held = [list(holdings) for holdings in self.held]
        at, changes = self.floor.at, self.problem.changeovers
        untouched = [True] * len(free)
        for key in choice.order:
            operation, job = self.operation[key], self.problem.jobs[key[0]]
            machine, minutes = choice.machine[key]
            start = max(at, earliest.get(key, at))
            if key[1] == 0:
                start = max(start, job.release)
            for other in self.before[key]:
                start = max(start, placed[other].end + self.operation[other].min_wait)
            changeover = 0
            was = family[machine]
            if operation.family is not None:
                if was is not None and was != operation.family:
                    changeover = changes.get(machine, {}).get((was, operation.family), 0)
                elif was is not None:
                    changeover = changes.get(machine, {}).get((was, was), 0)
                family[machine] = operation.family
            start = max(start, free[machine] + changeover)
            if key not in self.floor.under_way or not untouched[machine]:
                start = max(start, at + changeover)
            untouched[machine] = False
            start, end = self._run(machine, start, minutes, operation.pauses)
            if operation.store is not None and operation.units:
                capacity = self.problem.stores[operation.store].capacity
                while True:
                    later = full_until(
                        held[operation.store], capacity, operation.units, start, end + operation.min_wait
                    )
                    if later is None:
                        break
                    start, end = self._run(machine, later, minutes, operation.pauses)
                held[operation.store].append((start, end + operation.min_wait, operation.units))
            free[machine] = end
            placed[key] = Placement(*key, machine, start, end, changeover)
        return placed

    def _run(self, machine: int, start: int, minutes: int, pauses: bool) -> tuple[int, int]:
        return run_of(self.problem.machines[machine], self.closes[machine], start, minutes, pauses)

    def figures(self, placed: Mapping[Key, Placement]) -> Figures:
        """Weighted late minutes and changeover of a plan; what does not end adds FAR."""
        late = 0.0
        for number, job in enumerate(self.problem.jobs):
            key = number, len(job.operations) - 1
            finish = placed[key].end + job.operations[-1].min_wait
            if job.due is not None and finish > job.due:
                late += job.weight * (finish - job.due)
            if finish >= FAR:
                late += FAR
        return Figures(late, float(sum(p.changeover for p in placed.values())))


def run_of(machine: Machine, closes: Sequence[int] | None, start: int, minutes: int, pauses: bool) -> tuple[int, int]:
    """Start and end of work that begins as soon as its machine's calendar lets it. [minute]

    >>> day = Machine("bench", ((0, 480), (1440, 1920)))
    >>> run_of(day, [480, 1920], 470, 30, False), run_of(day, [480, 1920], 470, 30, True)
    ((1440, 1470), (470, 1460))
    """
    if machine.open is None or closes is None:
        return start, start + minutes
    stretches = machine.open
    k = bisect_right(closes, start) if pauses or minutes else bisect_right(closes, start - 1)
    if not pauses:
        while k < len(stretches):
            begin = max(start, stretches[k][0])
            if begin + minutes <= stretches[k][1]:
                return begin, begin + minutes
            k += 1
        return max(start, FAR), max(start, FAR) + minutes
    if k >= len(stretches):
        return max(start, FAR), max(start, FAR) + minutes
    begin = max(start, stretches[k][0])
    end = begin + minutes
    while end > stretches[k][1]:
        over = end - stretches[k][1]
        k += 1
        if k >= len(stretches):
            return max(start, FAR), max(start, FAR) + minutes
        end = stretches[k][0] + over
    return begin, end


def full_until(holdings: Sequence[tuple[int, int, int]], capacity: int, units: int, start: int, end: int) -> int | None:
    """When to try again where a store has no room for so much from start to end; None: it has."""
    over = [holding for holding in holdings if holding[0] < end and holding[1] > start]
    if sum(holding[2] for holding in over) + units <= capacity:
        return None
    for moment in (start, *(holding[0] for holding in over if holding[0] > start)):
        if sum(holding[2] for holding in over if holding[0] <= moment < holding[1]) + units > capacity:
            return min(holding[1] for holding in over)
    return None
