"""Starts put off where a job would only wait.

A list places everything as early as it can. Where waiting counts, each step of a job but the last is put as
late as what follows it lets: what is done first then waits less, and nothing ends later.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from naptuft.planning.problem import Mode, Operation, Placement, Problem
from naptuft.planning.schedule.open_time import end_of_run, last_run_of, open_between
from naptuft.planning.schedule.reasons import clock
from naptuft.planning.schedule.rules import binding_crews, calendar_of


class _Plan:
    def __init__(self, problem: Problem, placements: Sequence[Placement]):
        self.problem = problem
        self.at = {(p.job, p.index): p for p in placements}
        self.follows: dict[tuple[int, int], tuple[int, int]] = {}
        self.holders: dict[int, list[tuple[int, int]]] = defaultdict(list)
        self.crews = binding_crews(problem)
        last_on: dict[int, tuple[int, int]] = {}
        for p in sorted(placements, key=lambda p: (p.start, p.end, p.job, p.index)):
            if p.machine in last_on:
                self.follows[last_on[p.machine]] = p.job, p.index
            last_on[p.machine] = p.job, p.index
            store = self.operation(p).store
            if store is not None and self.operation(p).units:
                self.holders[store].append((p.job, p.index))

    def operation(self, placed: Placement) -> Operation:
        """The operation of a placement."""
        return self.problem.jobs[placed.job].operations[placed.index]

    def is_free(self, placed: Placement) -> bool:
        """Whether a step may be put off by itself."""
        operation = self.operation(placed)
        before = self.problem.jobs[placed.job].operations[placed.index - 1] if placed.index else None
        return (
            operation.pinned is None
            and operation.max_wait is None
            and operation.transfers == 1
            and (before is None or (before.max_wait is None and before.transfers == 1))
            and self.problem.machines[placed.machine].takes is None
            and not any(need.crew in self.crews for need in operation.needs)
        )

    def put_off(self, placed: Placement) -> Placement:
        """The step as late as its machine, its job and its store let."""
        operation = self.operation(placed)
        until = self.at[placed.job, placed.index + 1].start - operation.min_wait
        follows = self.follows.get((placed.job, placed.index))
        if follows is not None:
            until = min(until, self.at[follows].start - self.at[follows].changeover)
        mode = next((m for m in operation.modes if m.machine == placed.machine and self.fits(placed, m)), None)
        if mode is None:
            return placed
        calendar = calendar_of(self.problem, operation, mode)
        start = last_run_of(calendar, mode.duration, operation.pauses, until)
        if start is None or start <= placed.start:
            return placed
        end = end_of_run(calendar, mode.duration, operation.pauses, start)
        assert end is not None
        later = replace(placed, start=start, end=end)
        return later if self.has_room(later) else placed

    def fits(self, placed: Placement, mode: Mode) -> bool:
        """Whether a step is done in a way."""
        calendar = calendar_of(self.problem, self.operation(placed), mode)
        return open_between(calendar, placed.start, placed.end) == mode.duration

    def has_room(self, placed: Placement) -> bool:
        """Whether the store of a step has room for it there."""
        operation = self.operation(placed)
        if operation.store is None or not operation.units:
            return True
        since, until = placed.start, placed.end + operation.min_wait
        held = []
        for key in self.holders[operation.store]:
            other = self.at[key]
            released = other.end + self.operation(other).min_wait
            if key != (placed.job, placed.index) and other.start < until and released > since:
                held.append((max(other.start, since), released, self.operation(other).units))
        room = self.problem.stores[operation.store].capacity - operation.units
        return all(sum(units for a, b, units in held if a <= moment < b) <= room for moment, _, _ in held)

    def overtime(self, placed: Placement) -> int:
        """Minutes of it in overtime."""
        return open_between(self.problem.machines[placed.machine].overtime, placed.start, placed.end)


def put_off(problem: Problem, placements: Sequence[Placement]) -> tuple[tuple[Placement, ...], float]:
    """A plan in which jobs wait less and none ends later, and by how much its second figure is less.

    >>> from naptuft.planning.problem import Aims, Job, Machine, Mode, Operation
    >>> job = Job("a", (Operation((Mode(0, 10),)), Operation((Mode(1, 5),))))
    >>> problem = Problem((Machine("press"), Machine("oven", ((60, 90),))), (job,), aims=Aims(waiting=2.0))
    >>> plan, saved = put_off(problem, (Placement(0, 0, 0, 0, 10), Placement(0, 1, 1, 60, 65)))
    >>> plan[0].start, plan[0].end, saved
    (50, 60, 100.0)
    """
    plan, aims, saved = _Plan(problem, placements), problem.aims, 0.0
    last_start = [plan.at[number, len(job.operations) - 1].start for number, job in enumerate(problem.jobs)]
    for number in sorted(range(len(problem.jobs)), key=lambda number: -last_start[number]):
        before = {}
        for index in range(len(problem.jobs[number].operations) - 2, -1, -1):
            placed = plan.at[number, index]
            if plan.is_free(placed):
                before[number, index] = placed
                plan.at[number, index] = plan.put_off(placed)
        gain = 0.0
        for (_, index), placed in before.items():
            now = plan.at[number, index]
            gain += aims.overtime * (plan.overtime(placed) - plan.overtime(now))
            if problem.jobs[number].operations[index].transfers == 1:
                gain += aims.waiting * (now.end - placed.end)
            if index:
                gain -= aims.waiting * (now.start - placed.start)
        if gain > 0:
            saved += gain
        else:
            plan.at.update(before)
    return tuple(plan.at[p.job, p.index] for p in placements), saved


def say_why(problem: Problem, early: Sequence[Placement], explained: Sequence[Placement]) -> tuple[Placement, ...]:
    """The placements, those put off with that as their reason; `early` is the plan before."""
    follows = {(p.job, p.index - 1): p for p in explained}
    said = []
    for before, placed in zip(early, explained, strict=True):
        reason = placed.reason
        if placed.start > before.start:
            after = follows[placed.job, placed.index]
            step = problem.jobs[after.job].operations[after.index].name or f"step {after.index + 1}"
            reason = f"put off so that it waits less for {step}, which starts {clock(after.start, problem.origin)}"
        said.append(replace(placed, reason=reason))
    return tuple(said)
