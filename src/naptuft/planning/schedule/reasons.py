"""Why each operation does not start earlier, in words.

Read from the finished plan: what had to be over before the operation could start, and which of those
was over last.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import replace

from naptuft.planning.problem import Operation, Placement, Problem
from naptuft.planning.schedule.held_back import (
    Minding,
    batch_key,
    batches_of,
    calendar_at,
    crew_in_the_way,
    mindings_of,
    operation_of,
)
from naptuft.planning.schedule.open_time import end_of_run, open_between, run_of, shared
from naptuft.planning.schedule.rules import calendar_of, first_minutes, last_minutes, spares_overtime


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
    """From when the calendar of its machine, with the crews it needs there, lets an operation start. [minute]"""
    mode = next(mode for mode in operation.modes if mode.machine == placement.machine)
    run = run_of(calendar_of(problem, operation, mode), mode.duration, operation.pauses, ready)
    return ready if run is None else run[0]


def _step(operation: Operation, index: int) -> str:
    return operation.name or f"step {index + 1}"


def _named(problem: Problem, placement: Placement) -> str:
    return f"{problem.jobs[placement.job].name} ({_step(operation_of(problem, placement), placement.index)})"


def _job_cause(problem: Problem, placement: Placement, by_job: Sequence[Sequence[Placement]]) -> tuple[int, str]:
    """From when its job lets an operation start, and why not sooner."""
    job, origin = problem.jobs[placement.job], problem.origin
    if placement.index:
        before = job.operations[placement.index - 1]
        placed = by_job[placement.job][placement.index - 1]
        step = _step(before, placement.index - 1)
        end, what = placed.end, f"{step}, which ends {clock(placed.end, origin)}"
        if before.transfers > 1:
            end = first_batch_end(problem, placed)
            what = f"the first transfer batch of {step}, done {clock(end, origin)}"
        if before.min_wait:
            return end + before.min_wait, f"waits {before.min_wait} min for drying or curing after {what}"
        return end, f"{step} ends {clock(end, origin)}" if before.transfers == 1 else f"waits for {what}"
    cause = (
        job.release,
        f"not released before {clock(job.release, origin)}" if job.release else "starts with the plan",
    )
    numbers = {other.name: number for number, other in enumerate(problem.jobs)} if job.after else {}
    for name in job.after:
        other = numbers[name]
        finish = by_job[other][-1].end + problem.jobs[other].operations[-1].min_wait
        if finish > cause[0]:
            cause = (finish, f"{name} is not ready before {clock(finish, origin)}")
    return cause


def first_batch_end(problem: Problem, placement: Placement) -> int:
    """When the first transfer batch of a placed operation is done. [minute]"""
    operation = operation_of(problem, placement)
    mode = next(mode for mode in operation.modes if mode.machine == placement.machine)
    calendar = calendar_of(problem, operation, mode)
    end = end_of_run(calendar, first_minutes(operation, mode), operation.pauses, placement.start)
    return placement.end if end is None else end


def explain(problem: Problem, placements: Sequence[Placement]) -> tuple[Placement, ...]:
    """The placements, by job and index, each with its reason."""
    by_job: list[list[Placement]] = [[] for _ in problem.jobs]
    for placement in placements:
        by_job[placement.job].append(placement)
    batches = batches_of(problem, placements)
    mindings = mindings_of(problem, placements)
    before: dict[tuple[int, int], Placement] = {}
    last_on: dict[int, Placement] = {}
    for placement in sorted(placements, key=lambda p: (p.start, p.end, p.job, p.index)):
        previous = last_on.get(placement.machine)
        if previous is not None:
            together = placement.start == previous.start and problem.machines[placement.machine].takes is not None
            if together and (previous.job, previous.index) in before:
                before[placement.job, placement.index] = before[previous.job, previous.index]
            elif not together:
                before[placement.job, placement.index] = previous
        last_on[placement.machine] = placement

    explained = []
    for placement in placements:
        operation = operation_of(problem, placement)
        machine = problem.machines[placement.machine].name
        ready, reason = _job_cause(problem, placement, by_job)
        previous = before.get((placement.job, placement.index))
        changeover = placement.changeover
        if problem.machines[placement.machine].takes is not None:
            changeover = sum(mate.changeover for mate in batches[batch_key(problem, placement)])
        if previous is not None and previous.end + changeover > ready:
            ready = previous.end + changeover
            busy = f"{machine} is busy with {_named(problem, previous)} until {clock(previous.end, problem.origin)}"
            reason = f"{busy}, then changed over for {changeover} min" if changeover else busy
        elif previous is None and changeover > ready:
            ready = changeover
            reason = (
                f"{machine} is set for {problem.machines[placement.machine].set_for} at the start of the plan "
                f"and changed over for {changeover} min"
            )
        opened = earliest_start(problem, operation, placement, ready)
        if opened > ready:
            ready = opened
            closed = f"{machine} is closed, or open too briefly,"
            if calendar_at(problem, placement) != problem.machines[placement.machine].open:
                closed = f"{machine} is closed or its crew is not there, or too briefly,"
            reason = f"{closed} until {clock(opened, problem.origin)}; before that, {reason}"
        if placement.start > ready:
            reason = (
                _out_of_overtime(problem, placement, ready)
                or _held_back(problem, placement, by_job, batches, mindings)
                or reason
            )
        if operation.pinned is not None:
            reason = f"pinned to {machine} at {clock(placement.start, problem.origin)}"
        explained.append(replace(placement, reason=reason))
    return tuple(explained)


def _out_of_overtime(problem: Problem, placement: Placement, ready: int) -> str | None:
    """What is saved by not starting an operation when it could: overtime, which counts. None: no overtime is."""
    machine, operation = problem.machines[placement.machine], operation_of(problem, placement)
    if not machine.overtime or not spares_overtime(problem):
        return None
    mode = next(mode for mode in operation.modes if mode.machine == placement.machine)
    calendar = calendar_of(problem, operation, mode)
    soonest = run = run_of(calendar, mode.duration, operation.pauses, ready)
    while run is not None and (
        over := [until for since, until in machine.overtime if since < run[1] and until > run[0]]
    ):
        run = run_of(calendar, mode.duration, operation.pauses, over[0])
    if soonest is None or run is None or run == soonest or run[0] != placement.start:
        return None
    minutes = open_between(shared(calendar, machine.overtime), *soonest)
    return (
        f"kept out of overtime: begun {clock(ready, problem.origin)}, {minutes} min of it would be overtime, "
        f"each counted as {problem.aims.overtime} min of changeover"
    )


def _held_back(
    problem: Problem,
    placement: Placement,
    by_job: Sequence[Sequence[Placement]],
    batches: Mapping[tuple[int, int, str | None], Sequence[Placement]],
    mindings: dict[int, list[Minding]],
) -> str | None:
    """What keeps an operation whose job and machine are ready."""
    origin, job, operation = problem.origin, problem.jobs[placement.job], operation_of(problem, placement)
    machine = problem.machines[placement.machine]
    if operation.max_wait is not None and placement.index + 1 < len(job.operations):
        follows = by_job[placement.job][placement.index + 1].start
        if placement.end + operation.max_wait == follows or operation.store is None:
            return (
                f"held back so that {_step(job.operations[placement.index + 1], placement.index + 1)}, "
                f"which cannot start before {clock(follows, origin)}, "
                f"follows within {operation.max_wait} min"
            )
    if placement.index and job.operations[placement.index - 1].transfers > 1:
        before = job.operations[placement.index - 1]
        mode = next(mode for mode in operation.modes if mode.machine == placement.machine)
        arrives = by_job[placement.job][placement.index - 1].end + before.min_wait
        if placement.end == arrives + last_minutes(before, mode):
            return (
                f"held back so that the last transfer batch of {_step(before, placement.index - 1)}, "
                f"there {clock(arrives, origin)}, is worked on without a stop"
            )
    for mate in batches.get(batch_key(problem, placement), ()):
        if mate != placement:
            arrives, why = _job_cause(problem, mate, by_job)
            if arrives == placement.start:
                return f"goes into {machine.name} with {_named(problem, mate)}: {why}"
    short = crew_in_the_way(problem, placement, mindings)
    if short is not None:
        crew, holders = short
        others = " and ".join(dict.fromkeys(_named(problem, other) for other in holders))
        return f"crew {problem.crews[crew].name}: too few free, they are at {others}"
    if operation.store is not None and operation.units:
        store = problem.stores[operation.store]
        return f"{store.name}: no room for {operation.units} more before {clock(placement.start, origin)}"
    later = [other for other in batches.get(batch_key(problem, placement), ()) if other != placement]
    if later:
        return f"goes into {machine.name} with {' and '.join(_named(problem, other) for other in later)}"
    return None
