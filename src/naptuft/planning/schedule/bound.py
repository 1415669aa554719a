"""Figures no plan can beat, from the problem alone.

Each job by itself on an empty plant; each machine's unavoidable work between the earliest it can begin
and the least that must follow. What is left out only ever makes a plan better, so the bounds hold.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from naptuft.planning.problem import Machine, Mode, Operation, Problem
from naptuft.planning.schedule.rules import first_minutes, last_minutes


def earliest_end(machine: Machine, operation: Operation, mode: Mode, ready: int) -> int | None:
    """When an operation ends on an empty machine. None: its calendar has no room. [minute]

    >>> press = Machine("press", ((0, 480), (1440, 1920)))
    >>> step = Operation((Mode(0, 90),))
    >>> earliest_end(press, step, step.modes[0], 420)
    1530
    """
    if machine.open is None:
        return ready + mode.duration
    left = mode.duration
    begun = False
    for stretch in range(bisect_right(machine.open, ready, key=lambda times: times[1]), len(machine.open)):
        opens, closes = machine.open[stretch]
        start = max(ready, opens)
        if not operation.pauses:
            if start + left <= closes:
                return start + left
        elif start < closes or begun:
            begun = True
            if start + left <= closes:
                return start + left
            left -= closes - start
    return None


def alone(problem: Problem) -> list[list[tuple[int, int]]]:
    """For each operation: earliest ready and earliest end of the job on an empty plant. [minute]

    Where no calendar has room, the operation is taken to end when it is ready.
    """
    finish: dict[str, int] = {}
    windows: dict[str, list[tuple[int, int]]] = {}
    waiting = {job.name: job for job in problem.jobs}
    while waiting:
        for name, job in list(waiting.items()):
            if any(other in waiting for other in job.after):
                continue
            ready = max([job.release, *(finish[other] for other in job.after)])
            rows = []
            no_sooner = 0
            for operation in job.operations:
                ends = [
                    end
                    for mode in operation.modes
                    if (end := earliest_end(problem.machines[mode.machine], operation, mode, ready)) is not None
                ]
                end = max(min(ends, default=ready), no_sooner)
                rows.append((ready, end))
                no_sooner = 0
                if operation.transfers > 1:
                    no_sooner = end + operation.min_wait
                    ready += min(first_minutes(operation, mode) for mode in operation.modes) + operation.min_wait
                else:
                    ready = end + operation.min_wait
            finish[name] = ready
            windows[name] = rows
            del waiting[name]
    return [windows[job.name] for job in problem.jobs]


def tails_after(operations: Sequence[Operation]) -> list[int]:
    """Least minutes from the end of each operation to the finish of its job."""
    tails: list[int] = []
    follows: Operation | None = None
    for operation in reversed(operations):
        after = operation.min_wait
        if follows is not None and operation.transfers > 1:
            after += tails[-1] + min(last_minutes(operation, mode) for mode in follows.modes)
        elif follows is not None:
            after += tails[-1] + min(mode.duration for mode in follows.modes)
        tails.append(after)
        follows = operation
    return tails[::-1]


def makespan_bound(problem: Problem) -> int:
    """No plan finishes before this minute.

    The longest job alone; for each machine the best, over the operations only it can do, of the work of
    those that are ready no sooner and followed by no less, between that head and that tail. Source:
    Carlier & Pinson, Management Science 35 (1989) 164 (the bound of a set of operations), from memory.
    """
    windows = alone(problem)
    bound = 0
    work: list[list[tuple[int, int, int]]] = [[] for _ in problem.machines]
    for job, rows in zip(problem.jobs, windows, strict=True):
        bound = max(bound, rows[-1][1] + job.operations[-1].min_wait)
        tails = tails_after(job.operations)
        for operation, (ready, _), tail in zip(job.operations, rows, tails, strict=True):
            machines = {mode.machine for mode in operation.modes}
            if len(machines) == 1 and problem.machines[min(machines)].takes is None:
                work[machines.pop()].append((ready, min(mode.duration for mode in operation.modes), tail))
    for todo in work:
        for least_tail in {tail for _, _, tail in todo}:
            total = 0
            for ready, minutes, tail in sorted(todo, reverse=True):
                if tail >= least_tail:
                    total += minutes
                    bound = max(bound, ready + total + least_tail)
    return bound


def lateness_bound(problem: Problem) -> float:
    """Weighted late minutes no plan can avoid: every job alone on an empty plant."""
    total = 0.0
    for job, rows in zip(problem.jobs, alone(problem), strict=True):
        if job.due is not None:
            total += job.weight * max(0, rows[-1][1] + job.operations[-1].min_wait - job.due)
    return total


def lower_bound(problem: Problem) -> float:
    """A figure the first objective of no plan is below."""
    if problem.objective == "makespan":
        return float(makespan_bound(problem))
    return lateness_bound(problem)
