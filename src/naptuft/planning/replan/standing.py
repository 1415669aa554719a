"""Where the floor stands at a time: what is done, what runs, and until when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf
from typing import Literal

from naptuft.planning.problem import Machine, Placement, Problem

State = Literal["done", "running", "ahead"]


@dataclass(frozen=True)
class Told:
    """What is told of one operation: its state, and where and when, as far as told. [minute]"""

    state: State
    machine: int | None = None
    start: int | None = None
    end: int | None = None


@dataclass(frozen=True)
class Standing:
    """Operations done or running, by job and index, with their times; all others are ahead."""

    fixed: Mapping[tuple[int, int], Placement]
    running: frozenset[tuple[int, int]]


def work_end(machine: Machine, start: int, minutes: int, pauses: bool) -> int:
    """When work ends that starts at a minute and goes on whenever the machine is open. [minute]

    Work that may not pause runs through, except over a stop that began while it ran.

    >>> work_end(Machine("press", ((0, 60), (100, 200))), 30, 50, True)
    120
    """
    if machine.open is None or not pauses:
        return start + minutes
    left, clock = minutes, start
    for opens, closes in machine.open:
        if closes <= clock:
            continue
        clock = max(clock, opens)
        if clock + left <= closes:
            return clock + left
        left -= closes - clock
        clock = closes
    return clock + left


def standing_at(
    problem: Problem,
    placements: Sequence[Placement],
    at: int,
    told: Mapping[tuple[int, int], Told],
    down: Mapping[int, tuple[int, int]],
) -> Standing:
    """What is done, running and ahead at a minute.

    told  what is known of single operations; all else went as planned, unless what it waits for did not
    down  machine -> since and until when it is down; what runs there goes on when it is up again
    """
    fixed: dict[tuple[int, int], Placement] = {}
    running: set[tuple[int, int]] = set()
    last = {job.name: (number, len(job.operations) - 1) for number, job in enumerate(problem.jobs)}
    for placed in sorted(placements, key=lambda p: (p.start, p.end, p.index)):
        key = placed.job, placed.index
        job = problem.jobs[placed.job]
        word = told.get(key)
        if word is not None and word.state == "ahead":
            continue
        machine = placed.machine if word is None or word.machine is None else word.machine
        start = placed.start if word is None or word.start is None else word.start
        before = [(placed.job, placed.index - 1)] if placed.index else [last[name] for name in job.after]
        if word is None:
            ready = all(
                other in fixed and _handed_on(problem, fixed[other], other in running, other[0] == placed.job) <= start
                for other in before
            )
            stopped = machine in down and down[machine][0] <= start < down[machine][1]
            if start > at or (start == at and placed.end > at) or not ready or stopped:
                continue
        end = _end(problem, placed, word, machine, min(start, at), at, down)
        fixed[key] = Placement(placed.job, placed.index, machine, min(start, at), end, placed.changeover, "started")
        if end > at:
            running.add(key)
    return Standing(fixed, frozenset(running))


def _handed_on(problem: Problem, before: Placement, is_running: bool, same_job: bool) -> float:
    """When the work that waits for an operation may start: after its first transfer batch, or the whole of it."""
    operation = problem.jobs[before.job].operations[before.index]
    if same_job and operation.transfers > 1:
        mode = min((m for m in operation.modes if m.machine == before.machine), key=lambda m: m.duration)
        first = mode.setup + -(-(mode.duration - mode.setup) // operation.transfers)
        done = work_end(problem.machines[before.machine], before.start, first, operation.pauses)
        return min(done, before.end) + operation.min_wait
    return inf if is_running else before.end + operation.min_wait


def _end(
    problem: Problem,
    placed: Placement,
    word: Told | None,
    machine: int,
    start: int,
    at: int,
    down: Mapping[int, tuple[int, int]],
) -> int:
    operation = problem.jobs[placed.job].operations[placed.index]
    if word is not None and word.state == "done":
        planned = placed.end if placed.end <= at else at
        return max(start, planned if word.end is None else word.end)
    minutes = [mode.duration for mode in operation.modes if mode.machine == machine] or [
        mode.duration for mode in operation.modes
    ]
    end = work_end(problem.machines[machine], start, min(minutes), operation.pauses)
    if word is None:
        end = max(end, placed.end)
    if not operation.pauses and machine in down and start < down[machine][0] < end:
        since, until = down[machine]
        end += until - since
    if word is not None and word.state == "running":
        return max(end, at + 1)
    return end
