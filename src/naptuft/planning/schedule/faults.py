"""What makes a scheduling problem impossible, found before it is solved."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from naptuft.errors import Fault
from naptuft.planning.problem import Job, Mode, Operation, Problem
from naptuft.planning.schedule.capacity_faults import capacity_faults
from naptuft.planning.schedule.open_time import Stretches
from naptuft.planning.schedule.pin_faults import pin_faults
from naptuft.planning.schedule.pin_faults import step_name as step_name
from naptuft.planning.schedule.rules import calendar_of


def faults_of(problem: Problem) -> tuple[Fault, ...]:
    """Every fault of the problem, in one pass; empty when it can be planned.

    >>> from naptuft.planning.problem import Machine
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
        faults += _calendar_faults(machine.name, machine.open)
        if machine.takes is not None and machine.takes < 1:
            faults.append(Fault(machine.name, machine.takes, "room for at least 1", "say what it takes, or nothing"))
    for crew in problem.crews:
        faults += _calendar_faults(crew.name, crew.open)
    if not faults:
        for job in problem.jobs:
            faults += _job_faults(problem, job)
        faults += _precedence_faults(problem)
    if not faults:
        faults += capacity_faults(problem)
        faults += pin_faults(problem)
    return tuple(faults)


def _calendar_faults(name: str, stretches: Stretches) -> list[Fault]:
    reached = None
    for opens, closes in stretches or ():
        if closes <= opens or (reached is not None and opens < reached):
            return [
                Fault(
                    f"calendar of {name}",
                    (opens, closes),
                    "stretches in order, apart and longer than nothing",
                    "sort the stretches and join those that overlap",
                )
            ]
        reached = closes
    return []


def _longest_open(stretches: Stretches) -> int | None:
    """Longest stretch without a closing, touching stretches kept apart; None: without end."""
    return None if stretches is None else max((closes - opens for opens, closes in stretches), default=0)


def _open_total(stretches: Stretches) -> int | None:
    return None if stretches is None else sum(closes - opens for opens, closes in stretches)


def _job_faults(problem: Problem, job: Job) -> list[Fault]:
    faults: list[Fault] = []
    if not job.operations:
        faults.append(Fault(job.name, 0, "at least one step", "give the job a route"))
    for index, operation in enumerate(job.operations):
        place = step_name(job, index)
        own = [*_need_faults(problem, place, operation), *_mode_faults(problem, place, operation)]
        follows = job.operations[index + 1] if index + 1 < len(job.operations) else None
        if not own:
            own = _calendar_room_faults(problem, place, operation)
        if not own and follows is not None and operation.max_wait is not None and _is_whole(problem, follows):
            own = _tie_faults(problem, place, operation, follows)
        faults += own
        faults += _transfer_faults(place, operation)
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


def _need_faults(problem: Problem, place: str, operation: Operation) -> list[Fault]:
    faults = []
    for need in operation.needs:
        if not 0 <= need.crew < len(problem.crews):
            faults.append(Fault(place, need.crew, "the number of a crew", "name a crew there is"))
        elif not 0 <= need.people <= problem.crews[need.crew].people:
            crew = problem.crews[need.crew]
            mend = "ask for fewer people or add some to the crew"
            faults.append(Fault(place, need.people, f"0 to {crew.people:g}, all of {crew.name}", mend))
    if len({need.crew for need in operation.needs}) < len(operation.needs):
        faults.append(Fault(place, "a crew twice", "each crew once", "add up what it needs of one crew"))
    return faults


def _mode_faults(problem: Problem, place: str, operation: Operation) -> list[Fault]:
    if not operation.modes:
        return [Fault(place, 0, "at least one machine that can do it", "name a machine for the step")]
    faults = []
    for mode in operation.modes:
        if not 0 <= mode.machine < len(problem.machines):
            faults.append(Fault(place, mode.machine, "the number of a machine", "name a machine there is"))
            continue
        machine = problem.machines[mode.machine]
        if mode.duration < 0:
            faults.append(Fault(place, mode.duration, "minutes of at least 0", "correct the minutes"))
        elif not 0 <= mode.setup <= mode.duration:
            mend = "correct the setup, which the minutes include"
            faults.append(Fault(place, mode.setup, f"a setup of 0 to {mode.duration} min", mend))
        if machine.takes is not None and not 0 <= operation.load <= machine.takes:
            mend = "split the lot or leave the machine out"
            faults.append(Fault(place, operation.load, f"0 to {machine.takes}, all that {machine.name} takes", mend))
    return faults


def _calendar_room_faults(problem: Problem, place: str, operation: Operation) -> list[Fault]:
    """An operation that fits into no open stretch of any machine, with those there that it needs."""
    limits = []
    for mode in operation.modes:
        machine, calendar = problem.machines[mode.machine], calendar_of(problem, operation, mode)
        room = _open_total(calendar) if operation.pauses else _longest_open(calendar)
        if room is None or (room >= mode.duration and room > 0):
            return []
        name = machine.name if calendar == machine.open else f"{machine.name} with its crew"
        limits.append((mode.duration, room, name))
    minutes, room, name = min(limits, key=lambda limit: limit[0] - limit[1])
    how = "of open time in all" if operation.pauses else "without pause"
    mend = (
        "extend the calendar or split the work"
        if operation.pauses
        else "split the work, let it pause over closed time or open a longer shift"
    )
    return [Fault(place, minutes, f"at most {room} min {how} on {name}", mend)]


def _transfer_faults(place: str, operation: Operation) -> list[Fault]:
    if operation.transfers < 1:
        return [Fault(place, operation.transfers, "at least 1 transfer batch", "1 hands everything on at once")]
    if operation.transfers > 1 and operation.max_wait is not None:
        return [
            Fault(
                place,
                operation.transfers,
                f"1 transfer batch where a longest wait ({operation.max_wait} min) counts from the end",
                "hand everything on at once or leave the longest wait out",
            )
        ]
    return []


def _is_whole(problem: Problem, operation: Operation) -> bool:
    """Whether an operation has machines and crews to speak of."""
    return (
        not _need_faults(problem, "", operation) and not _mode_faults(problem, "", operation) and bool(operation.modes)
    )


def _tie_faults(problem: Problem, place: str, operation: Operation, follows: Operation) -> list[Fault]:
    """A longest wait that no pair of machines can keep: by the changeover between the two, or by their calendars."""
    assert operation.max_wait is not None
    shortest = []
    for mode in operation.modes:
        for after in follows.modes:
            changeover = 0
            if mode.machine == after.machine and operation.family is not None and follows.family is not None:
                changeover = _least_change(problem, mode.machine, operation.family, follows.family)
            if changeover > operation.max_wait:
                shortest.append(changeover)
            elif _meet(problem, operation, mode, follows, after, max(operation.min_wait, changeover)):
                return []
    if len(shortest) == len(operation.modes) * len(follows.modes):
        found = f"a longest wait of at least the changeover to the next step, {min(shortest)} min"
    else:
        found = "a longest wait within which the machine of the next step is open after it"
    return [Fault(place, operation.max_wait, found, "lengthen the longest wait or open the machines together")]


def _least_change(problem: Problem, machine: int, was: str, becomes: str) -> int:
    """Least changeover between two families on a machine, by way of another made there where that is less."""
    changes = problem.changeovers.get(machine, {})
    direct = changes.get((was, becomes), 0)
    if direct == 0:
        return 0
    others = {
        operation.family
        for job in problem.jobs
        for operation in job.operations
        if operation.family is not None and any(mode.machine == machine for mode in operation.modes)
    }
    return min(
        [
            direct,
            *(changes.get((was, other), 0) + changes.get((other, becomes), 0) for other in others - {was, becomes}),
        ]
    )


def _meet(problem: Problem, operation: Operation, mode: Mode, follows: Operation, after: Mode, least: int) -> bool:
    """Whether the calendars let an operation end so that the next can start within the longest wait."""
    ends, starts = calendar_of(problem, operation, mode), calendar_of(problem, follows, after)
    if ends is None or starts is None:
        return True
    most = operation.max_wait or 0
    own, next_own = 0, 0
    while own < len(ends) and next_own < len(starts):
        opens, closes = ends[own]
        first_end = opens + (0 if operation.pauses else mode.duration)
        begins, latest = starts[next_own][0], starts[next_own][1] - (1 if follows.pauses else after.duration)
        if first_end > closes:
            own += 1
        elif latest < begins:
            next_own += 1
        elif closes < begins - most:
            own += 1
        elif first_end > latest - least:
            next_own += 1
        else:
            return True
    return False


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
    looped = {name for name, count in waiting.items() if count > 0}
    while looped:
        loop = _loop_through(jobs, looped, min(looped))
        looped -= _reached_from(followers, loop)
        faults.append(
            Fault(
                "jobs, after",
                " waits for ".join([*loop[:6], "…"] if len(loop) > 6 else [*loop, loop[0]]),
                "no job that waits for itself",
                "break the loop of jobs that wait for each other",
            )
        )
    return faults


def _loop_through(jobs: Mapping[str, Job], looped: set[str], name: str) -> list[str]:
    """Jobs that wait for each other in a ring, found by going back from one that cannot start."""
    way = [name]
    while True:
        name = next(other for other in jobs[name].after if other in looped)
        if name in way:
            return way[way.index(name) :]
        way.append(name)


def _reached_from(followers: Mapping[str, list[str]], names: list[str]) -> set[str]:
    """The jobs, and all that wait for them."""
    reached, todo = set(names), list(names)
    while todo:
        for other in followers.get(todo.pop(), ()):
            if other not in reached:
                reached.add(other)
                todo.append(other)
    return reached
