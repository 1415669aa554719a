"""Pins that no plan can keep, each with what it clashes with. Found before anything is solved."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from naptuft.errors import Fault
from naptuft.planning.problem import Job, Mode, Operation, Problem
from naptuft.planning.schedule.open_time import end_of_run, run_of
from naptuft.planning.schedule.reasons import clock
from naptuft.planning.schedule.rules import calendar_of, first_minutes, last_minutes, pinned_end, pinned_mode

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
        faults += _crew_clashes(problem)
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
        mode = operation.modes[pinned_mode(operation) or 0]
        run = run_of(calendar_of(problem, operation, mode), mode.duration, operation.pauses, start)
        with_crew = " and its crew there" if calendar_of(problem, operation, mode) != machine.open else ""
        when = "" if run is None else f", the next at {clock(run[0], problem.origin)}"
        return Fault(
            f"{place}, pinned",
            clock(start, problem.origin),
            f"a time when {machine.name} is open{with_crew} for its {mode.duration} min{when}",
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
            faults += _steps_in_turn(problem, job, ready, cause, finish)
    return faults


def _steps_in_turn(
    problem: Problem, job: Job, ready: int, cause: str, finish: dict[str, tuple[int, str]]
) -> list[Fault]:
    """The pins of one job that its own steps do not let be; when it is over is entered in `finish`."""
    faults = []
    latest = None
    no_sooner, before = 0, None
    for index, operation in enumerate(job.operations):
        start, end, first = _earliest(problem, operation, before, ready, no_sooner)
        pinned, number = operation.pinned is not None, pinned_mode(operation)
        least_end = no_sooner
        if before is not None and before.transfers > 1 and number is not None:
            least_end += last_minutes(before, operation.modes[number])
        limit = ""
        if pinned and start < ready:
            limit = f"no sooner than {clock(ready, problem.origin)}, when {cause}"
        elif pinned and end < least_end:
            limit = f"what ends no sooner than {clock(least_end, problem.origin)}, with the last transfer batch"
        elif pinned and latest is not None and start > latest:
            limit = f"no later than {clock(latest, problem.origin)}, when a longest wait is over"
        if limit:
            faults.append(Fault(f"{step_name(job, index)}, pinned", clock(start, problem.origin), limit, ELSEWHERE))
        elif latest is not None and start > latest:
            faults.append(
                Fault(
                    f"{step_name(job, index - 1)}, pinned",
                    clock(latest, problem.origin),
                    f"what lets step {index + 1} start by {clock(latest, problem.origin)}, within its longest "
                    f"wait; it cannot before {clock(start, problem.origin)}",
                    ELSEWHERE,
                )
            )
        over = " as pinned" if pinned else " at the earliest"
        cause = f"step {index + 1} of {job.name} is over{over}"
        ready, no_sooner = end + operation.min_wait, 0
        if operation.transfers > 1:
            ready, no_sooner = first + operation.min_wait, end + operation.min_wait
            cause = f"the first transfer batch of step {index + 1} of {job.name} is there{over}"
        latest = end + operation.max_wait if pinned and operation.max_wait is not None else None
        before = operation
    finish[job.name] = max(ready, no_sooner), f"step {len(job.operations)} of {job.name} is over"
    return faults


def _earliest(
    problem: Problem, operation: Operation, before: Operation | None, ready: int, no_sooner: int
) -> tuple[int, int, int]:
    """Earliest start, end and end of the first transfer batch, over all machines, or of the pin. [minute]

    no_sooner  when the last transfer batch of the step before has waited
    """
    found = []
    for number, mode in enumerate(operation.modes):
        if operation.pinned is None:
            last = no_sooner + last_minutes(before, mode) if before is not None and before.transfers > 1 else 0
            run = run_of(calendar_of(problem, operation, mode), mode.duration, operation.pauses, ready)
            if run is not None:
                found.append((run[0], max(run[1], last), _first(problem, operation, mode, run[0])))
        elif number == pinned_mode(operation):
            start = operation.pinned[1]
            return start, pinned_end(problem, operation) or 0, _first(problem, operation, mode, start)
    if not found:
        return ready, max(ready, no_sooner), ready
    return min(f[0] for f in found), min(f[1] for f in found), min(f[2] for f in found)


def _first(problem: Problem, operation: Operation, mode: Mode, start: int) -> int:
    if operation.transfers == 1:
        return 0
    calendar = calendar_of(problem, operation, mode)
    return end_of_run(calendar, first_minutes(operation, mode), operation.pauses, start) or start


def _machine_clashes(problem: Problem) -> list[Fault]:
    """Pins of one machine that overlap, or leave no time to change over between them."""
    on: dict[int, list[tuple[int, int, str | None, str, int]]] = defaultdict(list)
    for job, index, operation in _pinned(problem):
        assert operation.pinned is not None
        end = pinned_end(problem, operation) or 0
        on[operation.pinned[0]].append(
            (operation.pinned[1], end, operation.family, step_name(job, index), operation.load)
        )
    faults = []
    for number, entries in on.items():
        machine = problem.machines[number]
        family, free, before, filled, idle = machine.set_for, 0, "the start of the plan", 0, 0
        batch: tuple[int, int, str | None] | None = None
        for start, end, becomes, place, load in sorted(entries, key=lambda entry: (*entry[:2], entry[2] or "")):
            if machine.takes is not None and batch == (start, end, becomes):
                filled += load
                if filled > machine.takes:
                    faults.append(
                        Fault(
                            f"{place}, pinned",
                            clock(start, problem.origin),
                            f"a time when {machine.name} has room for its {load}: what else is pinned there fills "
                            f"{filled - load} of {machine.takes}",
                            ELSEWHERE,
                        )
                    )
                continue
            batch, filled = (start, end, becomes), load
            needed = (
                _least_change(problem, number, family, becomes) if family is not None and becomes is not None else 0
            )
            # what stands between pins that change nothing may have changed the machine over before
            idle += start - free
            if start < free or idle < needed:
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
            if becomes is not None:
                family, idle = becomes, 0
            if end >= free:
                free, before = end, f"{place}, pinned"
    return faults


def _least_change(problem: Problem, machine: int, was: str, becomes: str) -> int:
    """Least minutes from one family to another on a machine; work between them can make the changeovers shorter."""
    changes = problem.changeovers.get(machine, {})
    between: dict[str, int] = {}
    for job in problem.jobs:
        for operation in job.operations:
            for mode in operation.modes:
                if mode.machine == machine and operation.family is not None:
                    least = between.get(operation.family, mode.duration)
                    between[operation.family] = min(least, mode.duration)
    reached = {was: 0}
    todo = [was]
    while todo:
        family = todo.pop()
        for other, minutes in between.items():
            at = reached[family] + changes.get((family, other), 0) + minutes
            if at < reached.get(other, at + 1):
                reached[other] = at
                todo.append(other)
    return min(minutes + changes.get((family, becomes), 0) for family, minutes in reached.items())


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


def _crew_clashes(problem: Problem) -> list[Fault]:
    """Pins that together need more people of a crew than there are."""
    changes: dict[int, list[tuple[int, float, str]]] = defaultdict(list)
    seen = set()
    for job, index, operation in _pinned(problem):
        assert operation.pinned is not None
        number, start = operation.pinned
        together = (number, start, operation.family) if problem.machines[number].takes is not None else (job, index)
        if together in seen:
            continue
        seen.add(together)
        end, place = pinned_end(problem, operation) or 0, step_name(job, index)
        calendar = calendar_of(problem, operation, operation.modes[pinned_mode(operation) or 0])
        pieces = [(start, end)] if calendar is None else [(max(start, a), min(end, b)) for a, b in calendar]
        for need in operation.needs:
            for since, until in pieces:
                if since < until and need.people > 0:
                    changes[need.crew] += [(since, need.people, place), (until, -need.people, place)]
    faults = []
    for number, moves in changes.items():
        crew, busy, told = problem.crews[number], 0.0, set()
        for minute, people, place in sorted(moves, key=lambda move: move[:2]):
            busy += people
            if people > 0 and busy > crew.people + 1e-6 and place not in told:
                told.add(place)
                faults.append(
                    Fault(
                        f"{place}, pinned",
                        clock(minute, problem.origin),
                        f"a time when {people:g} of {crew.name} are free: others pinned then need "
                        f"{busy - people:g} of {crew.people:g}",
                        ELSEWHERE,
                    )
                )
    return faults
