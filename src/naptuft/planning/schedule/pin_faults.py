"""Pins that no plan can keep, each with what it clashes with. Found before anything is solved."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from naptuft.errors import Fault
from naptuft.planning.problem import Job, Operation, Problem
from naptuft.planning.schedule.open_time import run_of
from naptuft.planning.schedule.reasons import clock
from naptuft.planning.schedule.rules import pinned_end

ELSEWHERE = "unpin it, or pin it elsewhere"


def step_name(job: Job, index: int) -> str:
    """How a step of a job is named to people."""
    return f"{job.name}, step {index + 1}"


def pin_faults(problem: Problem) -> list[Fault]:
    """Every pin that cannot be kept. The problem must have no other fault."""
    pinned = list(_pinned(problem))
    if not pinned:
        return []
    faults = [fault for job, index, operation in pinned if (fault := _own_fault(problem, job, index, operation))]
    if not faults:
        faults += _job_clashes(problem)
        faults += _machine_clashes(problem)
        faults += _store_clashes(problem)
    return faults


def _pinned(problem: Problem) -> Iterator[tuple[Job, int, Operation]]:
    for job in problem.jobs:
        for index, operation in enumerate(job.operations):
            if operation.pinned is not None:
                yield job, index, operation


def _own_fault(problem: Problem, job: Job, index: int, operation: Operation) -> Fault | None:
    """A machine that cannot do it, a minute before the plan, or one its calendar does not allow."""
    assert operation.pinned is not None
    number, start = operation.pinned
    place, able = step_name(job, index), sorted({mode.machine for mode in operation.modes})
    if number not in able:
        names = ", ".join(problem.machines[machine].name for machine in able)
        found = problem.machines[number].name if 0 <= number < len(problem.machines) else number
        return Fault(f"{place}, pinned", found, f"a machine that can do it: {names}", "pin it to one of these")
    if start < 0:
        return Fault(f"{place}, pinned", start, "a minute of the plan, 0 or later", ELSEWHERE)
    if pinned_end(problem, operation) is None:
        machine = problem.machines[number]
        minutes = min(mode.duration for mode in operation.modes if mode.machine == number)
        run = run_of(machine.open, minutes, operation.pauses, start)
        when = "" if run is None else f", the next at {clock(run[0], problem.origin)}"
        return Fault(
            f"{place}, pinned",
            clock(start, problem.origin),
            f"a time when {machine.name} is open for its {minutes} min{when}",
            "pin it there or open the machine",
        )
    return None


def _job_clashes(problem: Problem) -> list[Fault]:
    """Pins before their job can be there, or after a longest wait is over, with all machines to themselves."""
    finish: dict[str, tuple[int, str]] = {}
    faults = []
    waiting = {job.name: job for job in problem.jobs}
    while waiting:
        for job in [job for job in waiting.values() if not any(name in waiting for name in job.after)]:
            del waiting[job.name]
            causes = [(job.release, f"{job.name} is released"), *(finish[name] for name in job.after)]
            ready, cause = max(causes, key=lambda pair: pair[0])
            latest = None
            for index, operation in enumerate(job.operations):
                start, end = _earliest(problem, operation, ready)
                if operation.pinned is not None and (start < ready or (latest is not None and start > latest)):
                    limit = (
                        f"no sooner than {clock(ready, problem.origin)}, when {cause}"
                        if start < ready
                        else f"no later than {clock(latest or 0, problem.origin)}, when a longest wait is over"
                    )
                    faults.append(
                        Fault(f"{step_name(job, index)}, pinned", clock(start, problem.origin), limit, ELSEWHERE)
                    )
                elif latest is not None and start > latest:
                    faults.append(
                        Fault(
                            f"{step_name(job, index - 1)}, pinned",
                            clock(end, problem.origin),
                            f"what lets step {index + 1} start by {clock(latest, problem.origin)}, within its longest "
                            f"wait; it cannot before {clock(start, problem.origin)}",
                            ELSEWHERE,
                        )
                    )
                ready = max(ready, end + operation.min_wait)
                pin = " as pinned" if operation.pinned is not None else " at the earliest"
                cause = f"step {index + 1} of {job.name} is over{pin}"
                latest = None
                if operation.pinned is not None and operation.max_wait is not None:
                    latest = end + operation.max_wait
            finish[job.name] = ready, cause
    return faults


def _earliest(problem: Problem, operation: Operation, ready: int) -> tuple[int, int]:
    """Start and end of the run that ends first, or of the pin. [minute]"""
    if operation.pinned is not None:
        return operation.pinned[1], pinned_end(problem, operation) or 0
    runs = [
        run
        for mode in operation.modes
        if (run := run_of(problem.machines[mode.machine].open, mode.duration, operation.pauses, ready)) is not None
    ]
    return (min(start for start, _ in runs), min(end for _, end in runs)) if runs else (ready, ready)


def _machine_clashes(problem: Problem) -> list[Fault]:
    """Pins of one machine that overlap, or leave no time to change over between them."""
    on: dict[int, list[tuple[int, int, str | None, str]]] = defaultdict(list)
    for job, index, operation in _pinned(problem):
        assert operation.pinned is not None
        end = pinned_end(problem, operation) or 0
        on[operation.pinned[0]].append((operation.pinned[1], end, operation.family, step_name(job, index)))
    faults = []
    for number, entries in on.items():
        machine, changes = problem.machines[number], problem.changeovers.get(number, {})
        family, free, before = machine.set_for, 0, "the start of the plan"
        for start, end, becomes, place in sorted(entries):
            needed = changes.get((family, becomes), 0) if family is not None and becomes is not None else 0
            if start - needed < free:
                change = f", {needed} min of changeover before it," if needed else ""
                faults.append(
                    Fault(
                        f"{place}, pinned",
                        clock(start, problem.origin),
                        f"a time{change} behind {before}, which takes {machine.name} "
                        f"until {clock(free, problem.origin)}",
                        ELSEWHERE,
                    )
                )
            family = family if becomes is None else becomes
            if end >= free:
                free, before = end, f"{place}, pinned"
    return faults


def _store_clashes(problem: Problem) -> list[Fault]:
    """Pins that together hold more of a store than there is."""
    changes: dict[int, list[tuple[int, int, str]]] = defaultdict(list)
    for job, index, operation in _pinned(problem):
        if operation.store is not None and operation.units > 0:
            assert operation.pinned is not None
            end = (pinned_end(problem, operation) or 0) + operation.min_wait
            place, start = step_name(job, index), operation.pinned[1]
            if end > start:
                changes[operation.store] += [(start, operation.units, place), (end, -operation.units, place)]
    faults = []
    for number, moves in changes.items():
        store, held, holders = problem.stores[number], 0, []
        for minute, units, place in sorted(moves, key=lambda move: move[:2]):
            held += units
            if units < 0:
                holders.remove(place)
                continue
            if held > store.capacity:
                faults.append(
                    Fault(
                        f"{place}, pinned",
                        clock(minute, problem.origin),
                        f"a time when {store.name} has room for its {units}: {', '.join(holders)}, also pinned, "
                        f"hold {held - units} of {store.capacity}",
                        ELSEWHERE,
                    )
                )
            holders.append(place)
    return faults
