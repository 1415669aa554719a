"""What makes a scheduling problem impossible, found before it is solved."""

from __future__ import annotations

from collections import Counter

from naptuft.errors import Fault
from naptuft.planning.problem import Job, Machine, Operation, Problem
from naptuft.planning.schedule.pin_faults import pin_faults
from naptuft.planning.schedule.pin_faults import step_name as step_name


def faults_of(problem: Problem) -> tuple[Fault, ...]:
    """Every fault of the problem, in one pass; empty when it can be planned.

    >>> from naptuft.planning.problem import Mode
    >>> day = Machine("press", ((0, 480),))
    >>> long = Problem((day,), (Job("handles", (Operation((Mode(0, 600),)),)),))
    >>> print(faults_of(long)[0])
    handles, step 1: 600; allowed: at most 480 min without pause on press; split the work, let it pause over closed time or open a longer shift
    """
    faults: list[Fault] = []
    for name, count in Counter(job.name for job in problem.jobs).items():
        if count > 1:
            faults.append(Fault("jobs", name, "each job name once", f"rename {count - 1} of the {count} jobs"))
    for machine in problem.machines:
        faults += _calendar_faults(machine)
    if not faults:
        for job in problem.jobs:
            faults += _job_faults(problem, job)
        faults += _precedence_faults(problem)
    if not faults:
        faults += pin_faults(problem)
    return tuple(faults)


def _calendar_faults(machine: Machine) -> list[Fault]:
    reached = None
    for opens, closes in machine.open or ():
        if closes <= opens or (reached is not None and opens < reached):
            return [
                Fault(
                    f"calendar of {machine.name}",
                    (opens, closes),
                    "stretches in order, apart and longer than nothing",
                    "sort the stretches and join those that overlap",
                )
            ]
        reached = closes
    return []


def _longest_open(machine: Machine) -> int | None:
    """Longest stretch without a closing, touching stretches kept apart; None: without end."""
    return None if machine.open is None else max((closes - opens for opens, closes in machine.open), default=0)


def _open_total(machine: Machine) -> int | None:
    return None if machine.open is None else sum(closes - opens for opens, closes in machine.open)


def _job_faults(problem: Problem, job: Job) -> list[Fault]:
    faults: list[Fault] = []
    if not job.operations:
        faults.append(Fault(job.name, 0, "at least one step", "give the job a route"))
    for index, operation in enumerate(job.operations):
        place = step_name(job, index)
        faults += _mode_faults(problem, place, operation)
        if operation.max_wait is not None and operation.max_wait < operation.min_wait:
            faults.append(
                Fault(
                    place,
                    operation.max_wait,
                    f"a longest wait of at least the shortest, {operation.min_wait} min",
                    "lengthen the longest wait or shorten the shortest",
                )
            )
        if operation.store is not None:
            if not 0 <= operation.store < len(problem.stores):
                faults.append(Fault(place, operation.store, "the number of a shared store", "name a store there is"))
            elif operation.units > problem.stores[operation.store].capacity:
                store = problem.stores[operation.store]
                faults.append(
                    Fault(
                        place,
                        operation.units,
                        f"at most {store.capacity}, all that {store.name} holds",
                        "split the lot or add room",
                    )
                )
    return faults


def _mode_faults(problem: Problem, place: str, operation: Operation) -> list[Fault]:
    if not operation.modes:
        return [Fault(place, 0, "at least one machine that can do it", "name a machine for the step")]
    for mode in operation.modes:
        if not 0 <= mode.machine < len(problem.machines):
            return [Fault(place, mode.machine, "the number of a machine", "name a machine there is")]
        if mode.duration < 0:
            return [Fault(place, mode.duration, "minutes of at least 0", "correct the minutes")]
    limits = []
    for mode in operation.modes:
        machine = problem.machines[mode.machine]
        room = _open_total(machine) if operation.pauses else _longest_open(machine)
        if room is None or (room >= mode.duration and room > 0):
            return []
        limits.append((mode.duration, room, machine.name))
    minutes, room, name = min(limits, key=lambda limit: limit[0] - limit[1])
    how = "of open time in all" if operation.pauses else "without pause"
    mend = (
        "extend the calendar or split the work"
        if operation.pauses
        else "split the work, let it pause over closed time or open a longer shift"
    )
    return [Fault(place, minutes, f"at most {room} min {how} on {name}", mend)]


def _precedence_faults(problem: Problem) -> list[Fault]:
    faults = []
    jobs = {job.name: job for job in problem.jobs}
    for job in problem.jobs:
        faults += [
            Fault(f"{job.name}, after", name, "the name of a job", "name a job there is")
            for name in job.after
            if name not in jobs
        ]
    waiting = {job.name: sum(name in jobs for name in dict.fromkeys(job.after)) for job in problem.jobs}
    followers: dict[str, list[str]] = {}
    for job in problem.jobs:
        for name in dict.fromkeys(job.after):
            followers.setdefault(name, []).append(job.name)
    free = [name for name, count in waiting.items() if count == 0]
    for name in free:
        for other in followers.get(name, ()):
            waiting[other] -= 1
            if waiting[other] == 0:
                free.append(other)
    looped = [name for name, count in waiting.items() if count > 0]
    if looped:
        faults.append(
            Fault(
                "jobs, after",
                ", ".join(looped[:6]) + (" …" if len(looped) > 6 else ""),
                "no job that waits for itself",
                "break the loop of jobs that wait for each other",
            )
        )
    return faults
