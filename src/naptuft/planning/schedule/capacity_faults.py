"""Work that the calendars can never hold: of which machines, store or crew, by how much and until when."""

from __future__ import annotations

from collections import defaultdict

from naptuft.errors import Fault
from naptuft.planning.problem import Operation, Problem
from naptuft.planning.schedule.reasons import clock

MEND = "open more time, move work to another machine or plan fewer orders"


def capacity_faults(problem: Problem) -> list[Fault]:
    """Machines, stores and crews that are asked for more than there is until their calendars end.

    >>> from naptuft.planning.problem import Job, Machine, Mode
    >>> press = Machine("press", ((0, 480), (1440, 1920)))
    >>> jobs = tuple(Job(f"H{k}", (Operation((Mode(0, 240),)),)) for k in range(5))
    >>> print(capacity_faults(Problem((press,), jobs))[0])
    press: '1200 min of work'; allowed: at most 960 min, all that is open until day 2, 08:00; 240 min are too much; open more time, move work to another machine or plan fewer orders
    """
    operations = [operation for job in problem.jobs for operation in job.operations]
    return [
        *_machine_faults(problem, operations),
        *_store_faults(problem, operations),
        *_crew_faults(problem, operations),
    ]


def _end(problem: Problem) -> int | None:
    """When the last machine closes; None: never."""
    ends = [machine.open[-1][1] if machine.open else 0 for machine in problem.machines if machine.open is not None]
    return max(ends) if len(ends) == len(problem.machines) and ends else None


def _machine_faults(problem: Problem, operations: list[Operation]) -> list[Fault]:
    """For the machines of each kind of operation: the work that only they can do."""
    work: dict[frozenset[int], float] = defaultdict(float)
    for operation in operations:
        able = frozenset(mode.machine for mode in operation.modes)
        work[able] += min(_share_of(problem, operation, mode.machine) * mode.duration for mode in operation.modes)
    faults = []
    for able in sorted(work, key=lambda machines: (len(machines), sorted(machines))):
        calendars = [problem.machines[machine].open for machine in sorted(able)]
        if any(calendar is None for calendar in calendars):
            continue
        room = sum(closes - opens for calendar in calendars for opens, closes in calendar or ())
        asked = sum(minutes for others, minutes in work.items() if others <= able)
        if asked > room + 1e-6:
            until = max((calendar[-1][1] for calendar in calendars if calendar), default=0)
            names = " and ".join(problem.machines[machine].name for machine in sorted(able))
            faults.append(
                Fault(
                    names,
                    f"{asked:.0f} min of work",
                    f"at most {room} min, all that is open until {clock(until, problem.origin)}; "
                    f"{asked - room:.0f} min are too much",
                    MEND,
                )
            )
    return faults


def _share_of(problem: Problem, operation: Operation, machine: int) -> float:
    """How much of a machine an operation fills."""
    takes = problem.machines[machine].takes
    return 1.0 if takes is None else operation.load / takes


def _store_faults(problem: Problem, operations: list[Operation]) -> list[Fault]:
    """Minutes that units stand in a store, against its places until the last wait after the last closing."""
    end = _end(problem)
    if end is None:
        return []
    faults = []
    for number, store in enumerate(problem.stores):
        held = [operation for operation in operations if operation.store == number and operation.units > 0]
        asked = sum(o.units * (min(mode.duration for mode in o.modes) + o.min_wait) for o in held)
        until = end + max((o.min_wait for o in held), default=0)
        if asked > store.capacity * until:
            faults.append(
                Fault(
                    store.name,
                    f"{asked / 60:.0f} h of places",
                    f"at most {store.capacity * until / 60:.0f} h, all its {store.capacity} places until "
                    f"{clock(until, problem.origin)}; {(asked - store.capacity * until) / 60:.0f} h are too much",
                    "add places, wait less or plan fewer orders",
                )
            )
    return faults


def _crew_faults(problem: Problem, operations: list[Operation]) -> list[Fault]:
    end = _end(problem)
    faults = []
    for number, crew in enumerate(problem.crews):
        if crew.open is None and end is None:
            continue
        there = end or 0 if crew.open is None else sum(closes - opens for opens, closes in crew.open)
        until = end or 0 if crew.open is None else max((closes for _, closes in crew.open), default=0)
        asked = sum(
            need.people * min(mode.duration * _share_of(problem, operation, mode.machine) for mode in operation.modes)
            for operation in operations
            for need in operation.needs
            if need.crew == number
        )
        room = crew.people * there
        if asked > room + 1e-6:
            faults.append(
                Fault(
                    crew.name,
                    f"{asked / 60:.1f} h of work",
                    f"at most {room / 60:.1f} h of {crew.people:g} people until {clock(until, problem.origin)}; "
                    f"{(asked - room) / 60:.1f} h are too much",
                    "add people, let them come longer or plan fewer orders",
                )
            )
    return faults
