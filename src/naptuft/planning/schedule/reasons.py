"""Why each operation does not start earlier, in words.

Read from the finished plan: what had to be over before the operation could start, and which of those
was over last.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace

from naptuft.planning.problem import Operation, Placement, Problem


def clock(minute: int, origin: datetime.datetime | None = None) -> str:
    """A minute of the plan as date and time, or as day and time, the first day being 1, where no date is known.

    >>> clock(1830), clock(90, datetime.datetime(2026, 11, 30, 6))
    ('day 2, 06:30', 'Mon 30 Nov 07:30')
    """
    if origin is not None:
        when = origin.astimezone(datetime.UTC) + datetime.timedelta(minutes=minute)
        return f"{when.astimezone(origin.tzinfo):%a %d %b %H:%M}"
    day, rest = divmod(minute, 1440)
    return f"day {day + 1}, {rest // 60:02d}:{rest % 60:02d}"


def earliest_start(problem: Problem, operation: Operation, placement: Placement, ready: int) -> int:
    """From when the calendar of its machine lets an operation start. [minute]"""
    stretches = problem.machines[placement.machine].open
    if stretches is None:
        return ready
    minutes = next(mode.duration for mode in operation.modes if mode.machine == placement.machine)
    for opens, closes in stretches:
        start = max(ready, opens)
        if start < closes and (operation.pauses or start + minutes <= closes):
            return start
    return ready


def _step(operation: Operation, index: int) -> str:
    return operation.name or f"step {index + 1}"


def _job_cause(problem: Problem, placement: Placement, ends: Sequence[Sequence[int]]) -> tuple[int, str]:
    job, origin = problem.jobs[placement.job], problem.origin
    if placement.index:
        before = job.operations[placement.index - 1]
        end = ends[placement.job][placement.index - 1]
        step = _step(before, placement.index - 1)
        if before.min_wait:
            return end + before.min_wait, (
                f"waits {before.min_wait} min for drying or curing after {step}, which ends {clock(end, origin)}"
            )
        return end, f"{step} ends {clock(end, origin)}"
    cause = (
        job.release,
        f"not released before {clock(job.release, origin)}" if job.release else "starts with the plan",
    )
    numbers = {other.name: number for number, other in enumerate(problem.jobs)} if job.after else {}
    for name in job.after:
        other = numbers[name]
        finish = ends[other][-1] + problem.jobs[other].operations[-1].min_wait
        if finish > cause[0]:
            cause = (finish, f"{name} is not ready before {clock(finish, origin)}")
    return cause


def explain(problem: Problem, placements: Sequence[Placement]) -> tuple[Placement, ...]:
    """The placements, by job and index, each with its reason."""
    ends = [[0] * len(job.operations) for job in problem.jobs]
    starts = [[0] * len(job.operations) for job in problem.jobs]
    for placement in placements:
        ends[placement.job][placement.index] = placement.end
        starts[placement.job][placement.index] = placement.start
    before: dict[tuple[int, int], Placement] = {}
    last_on: dict[int, Placement] = {}
    for placement in sorted(placements, key=lambda p: (p.start, p.end, p.job, p.index)):
        if placement.machine in last_on:
            before[placement.job, placement.index] = last_on[placement.machine]
        last_on[placement.machine] = placement

    explained = []
    for placement in placements:
        operation = problem.jobs[placement.job].operations[placement.index]
        machine = problem.machines[placement.machine].name
        ready, reason = _job_cause(problem, placement, ends)
        previous = before.get((placement.job, placement.index))
        if previous is not None and previous.end + placement.changeover > ready:
            ready = previous.end + placement.changeover
            other = problem.jobs[previous.job]
            step = _step(other.operations[previous.index], previous.index)
            busy = f"{machine} is busy with {other.name} ({step}) until {clock(previous.end, problem.origin)}"
            reason = f"{busy}, then changed over for {placement.changeover} min" if placement.changeover else busy
        elif previous is None and placement.changeover > ready:
            ready = placement.changeover
            reason = (
                f"{machine} is set for {problem.machines[placement.machine].set_for} at the start of the plan "
                f"and changed over for {placement.changeover} min"
            )
        opened = earliest_start(problem, operation, placement, ready)
        if opened > ready:
            ready = opened
            reason = f"{machine} is closed, or open too briefly, until {clock(opened, problem.origin)}; before that, {reason}"
        if placement.start > ready:
            reason = _held_back(problem, placement, operation, starts) or reason
        if operation.pinned is not None:
            reason = f"pinned to {machine} at {clock(placement.start, problem.origin)}"
        explained.append(replace(placement, reason=reason))
    return tuple(explained)


def _held_back(
    problem: Problem, placement: Placement, operation: Operation, starts: Sequence[Sequence[int]]
) -> str | None:
    """What keeps an operation whose job and machine are ready."""
    origin, job = problem.origin, problem.jobs[placement.job]
    if operation.max_wait is not None and placement.index + 1 < len(starts[placement.job]):
        follows = starts[placement.job][placement.index + 1]
        if placement.end + operation.max_wait == follows or operation.store is None:
            return (
                f"held back so that {_step(job.operations[placement.index + 1], placement.index + 1)}, "
                f"which cannot start before {clock(follows, origin)}, "
                f"follows within {operation.max_wait} min"
            )
    if operation.store is not None and operation.units:
        store = problem.stores[operation.store]
        return f"{store.name}: no room for {operation.units} more before {clock(placement.start, origin)}"
    return None
