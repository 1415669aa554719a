"""An order put in among the rest of a plan, which stays as it is: where its operations find room, and what is in the way."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from naptuft.planning.problem import Operation, Placement, Problem
from naptuft.planning.replan.room import Calendars, Holding, Key, Room
from naptuft.planning.replan.shift import FAR, run_of

Slot = tuple[int, int, str | None, Key]
"""Start and end on a machine, what it is set for, and the operation."""
Loser: TypeAlias = tuple[Literal["machine busy", "crew too few", "racks full"], int]


@dataclass(frozen=True)
class InTheWay:
    """What is left out of account: machines, crews and stores by number."""

    machines: frozenset[int] = frozenset()
    crews: frozenset[int] = frozenset()
    stores: frozenset[int] = frozenset()


class Others:
    """All of a plan but some of its jobs."""

    def __init__(self, problem: Problem, placements: Collection[Placement], without_jobs: Collection[int]) -> None:
        self.problem = problem
        self.calendars = Calendars(problem)
        self.slots: list[list[Slot]] = [[] for _ in problem.machines]
        room = Room(problem, self.calendars)
        for placed in placements:
            if placed.job in without_jobs:
                continue
            operation = problem.jobs[placed.job].operations[placed.index]
            self.slots[placed.machine].append((placed.start, placed.end, operation.family, (placed.job, placed.index)))
            room.take(operation, placed)
        for slots in self.slots:
            slots.sort(key=lambda slot: slot[:2])
        self.held: Sequence[Sequence[Holding]] = room.held


class Visitor:
    """One order on its way through the others, an operation at a time."""

    def __init__(self, others: Others, left_out: InTheWay) -> None:
        self.others, self.left_out = others, left_out
        self.problem = others.problem
        self.slots = [list(slots) for slots in others.slots]
        self.room = Room(self.problem, others.calendars, others.held)

    def find(
        self, key: Key, operation: Operation, machine: int, minutes: int, ready: int, always_open: bool
    ) -> tuple[Placement, Mapping[Loser, int]]:
        """The first place for an operation from a minute on, and the minutes lost to each machine, crew or store."""
        stretches, closes = (None, None) if always_open else self.others.calendars.of(operation, machine)
        needs = tuple(need for need in operation.needs if need.crew not in self.left_out.crews)
        stored = operation.store is not None and operation.store not in self.left_out.stores
        lost: dict[Loser, int] = {}
        start, end = run_of(stretches, closes, ready, minutes, operation.pauses)
        while start < FAR:
            changeover, later = 0, None
            what: Loser = "machine busy", machine
            if machine not in self.left_out.machines:
                changeover, later = self._machine_free(machine, operation.family, start, end)
            placed = Placement(*key, machine, start, end, changeover)
            for need in needs if later is None else ():
                later = self.room.until(replace(operation, needs=(need,), store=None), placed, key)
                if later is not None:
                    what = "crew too few", need.crew
                    break
            if later is None and stored:
                later = self.room.until(replace(operation, needs=()), placed, key)
                what = "racks full", operation.store or 0
            if later is None:
                return placed, lost
            earlier = start
            start, end = run_of(stretches, closes, max(later, start + 1), minutes, operation.pauses)
            lost[what] = lost.get(what, 0) + start - earlier
        return Placement(*key, machine, start, end), lost

    def put(self, operation: Operation, placed: Placement) -> None:
        """Take the place up."""
        if placed.machine not in self.left_out.machines:
            slot = placed.start, placed.end, operation.family, (placed.job, placed.index)
            slots = self.slots[placed.machine]
            slots.insert(bisect_left(slots, slot[:2], key=lambda other: other[:2]), slot)
        self.room.take(operation, placed)

    def _machine_free(self, machine: int, family: str | None, start: int, end: int) -> tuple[int, int | None]:
        """Minutes of changeover before a run, and from when to try again where something is in its way."""
        slots = self.slots[machine]
        place = bisect_left(slots, (start, start), key=lambda slot: slot[:2])
        ends = max((slot[1] for slot in slots[max(0, place - 64) : place]), default=0)
        changeover = self._change(machine, self._set_for(machine, place), family)
        if ends + changeover > start:
            return changeover, ends + changeover
        if place < len(slots):
            follows = slots[place]
            after = 0
            if follows[2] is not None:
                after = self._change(machine, family or self._set_for(machine, place), follows[2])
            if end + after > follows[0]:
                return changeover, max(follows[1], start + 1)
        return changeover, None

    def _set_for(self, machine: int, place: int) -> str | None:
        families = (slot[2] for slot in reversed(self.slots[machine][:place]) if slot[2] is not None)
        return next(families, self.problem.machines[machine].set_for)

    def _change(self, machine: int, was: str | None, becomes: str | None) -> int:
        if was is None or becomes is None:
            return 0
        return self.problem.changeovers.get(machine, {}).get((was, becomes), 0)
