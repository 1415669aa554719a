"""What operations hold while they run: places in stores, and people of crews."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import TypeAlias

from naptuft.planning.problem import Operation, Placement, Problem
from naptuft.planning.schedule.open_time import shared

Key: TypeAlias = tuple[int, int]
Holding: TypeAlias = tuple[int, int, float, Key]
Use: TypeAlias = tuple[int, float, int, int, int]
SLACK = 1e-6


class Calendars:
    """When each operation may run on each machine: the machine is open and all it needs are there."""

    def __init__(self, problem: Problem):
        self.problem = problem
        self.known: dict[tuple[int, frozenset[int]], tuple[tuple[tuple[int, int], ...] | None, list[int] | None]] = {}

    def of(self, operation: Operation, machine: int) -> tuple[tuple[tuple[int, int], ...] | None, list[int] | None]:
        """Open stretches and their ends; None: always."""
        crews = frozenset(need.crew for need in operation.needs if need.people > 0)
        if (machine, crews) not in self.known:
            stretches = self.problem.machines[machine].open
            for crew in sorted(crews):
                stretches = shared(stretches, self.problem.crews[crew].open)
            ends = None if stretches is None else [closes for _, closes in stretches]
            self.known[machine, crews] = stretches, ends
        return self.known[machine, crews]


class Room:
    """Stores and crews, and who holds what of them until when."""

    def __init__(self, problem: Problem, calendars: Calendars, held: Sequence[Sequence[Holding]] | None = None):
        self.problem = problem
        self.calendars = calendars
        self.held = (
            [[] for _ in (*problem.stores, *problem.crews)] if held is None else [list(holdings) for holdings in held]
        )

    def copy(self) -> Room:
        """The same, to be filled further."""
        return Room(self.problem, self.calendars, self.held)

    @cached_property
    def capacity(self) -> list[float]:
        """What there is of each: units of stores, then people of crews."""
        return [
            *(float(s.capacity) for s in self.problem.stores),
            *(crew.people + SLACK for crew in self.problem.crews),
        ]

    def uses(self, operation: Operation, placed: Placement) -> Iterator[Use]:
        """What an operation holds where it is placed: of what, how much, from, until, and minutes before its start."""
        if operation.store is not None and operation.units:
            yield operation.store, float(operation.units), placed.start, placed.end + operation.min_wait, 0
        for need in operation.needs:
            crew = len(self.problem.stores) + need.crew
            if need.changeover and placed.changeover:
                yield crew, need.people, placed.start - placed.changeover, placed.start, placed.changeover
            stretches, ends = self.calendars.of(operation, placed.machine)
            if stretches is None or ends is None:
                yield crew, need.people, placed.start, placed.end, 0
                continue
            for k in range(bisect_right(ends, placed.start), len(stretches)):
                opens, closes = stretches[k]
                if opens >= placed.end:
                    break
                yield crew, need.people, max(opens, placed.start), min(closes, placed.end), 0

    def until(self, operation: Operation, placed: Placement, own: Key) -> int | None:
        """The next start to try where something is taken; None: there is room for the whole of the stay. [minute]"""
        for number, units, since, until, lead in self.uses(operation, placed):
            others = [one for one in self.held[number] if one[1] > since and one[0] < until and one[3] != own]
            later = full_until(others, self.capacity[number], units, since, until)
            if later is not None:
                return max(placed.start + 1, later + lead)
        return None

    def take(self, operation: Operation, placed: Placement) -> None:
        """Hold it."""
        key = placed.job, placed.index
        for number, units, since, until, _ in self.uses(operation, placed):
            self.held[number].append((since, until, units, key))

    def give_back(self, operation: Operation, key: Key) -> None:
        """Hold it no longer."""
        if operation.store is not None:
            self._forget(operation.store, key)
        for need in operation.needs:
            self._forget(len(self.problem.stores) + need.crew, key)

    def _forget(self, number: int, key: Key) -> None:
        self.held[number] = [holding for holding in self.held[number] if holding[3] != key]


def full_until(holdings: Sequence[Holding], capacity: float, units: float, start: int, end: int) -> int | None:
    """When to try again where there is no room for so much from start to end; None: there is.

    >>> full_until([(0, 50, 3.0, (0, 0))], 4.0, 2.0, 10, 20), full_until([(0, 50, 3.0, (0, 0))], 4.0, 1.0, 10, 20)
    (50, None)
    """
    over = [holding for holding in holdings if holding[0] < end and holding[1] > start]
    if sum(holding[2] for holding in over) + units <= capacity:
        return None
    for moment in (start, *(holding[0] for holding in over if holding[0] > start)):
        if sum(holding[2] for holding in over if holding[0] <= moment < holding[1]) + units > capacity:
            return min(holding[1] for holding in over)
    return None
