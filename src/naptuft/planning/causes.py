"""A cause that makes an order late, as data, and the problem as it would be without it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from naptuft.planning.problem import Machine, Mode, Operation, Problem

CauseKind: TypeAlias = Literal[
    "machine busy",
    "crew too few",
    "racks full",
    "pinned",
    "material comes late",
    "closed hours",
    "drying or curing",
    "route too long",
]
Step: TypeAlias = tuple[str, int, int]


@dataclass(frozen=True)
class Cause:
    """One thing that makes an order late.

    name     of the machine, crew, store, or of the work order that waits, dries or is pinned
    minutes  lost to it along the chain that ends in the order
    steps    what it holds up: job, number of the operation from 0, number of its machine
    """

    kind: CauseKind
    name: str
    minutes: int
    words: str
    steps: tuple[Step, ...] = ()

    @property
    def removable(self) -> bool:
        """Whether anything but a later due time helps."""
        return self.kind != "route too long"


def without(problem: Problem, causes: Iterable[Cause]) -> Problem:
    """The problem as it would be were the causes not there; all else, and all other work, as it is.

    A busy machine: each step held up has one like it of its own. Closed hours: it is always open to them. A crew or
    a store: as large as all work at once could ask. Material: there from the start. A wait: none. A pin: none.
    A route that is too long stays as it is.

    >>> from naptuft.planning.problem import Job, Machine, Mode
    >>> press = Problem((Machine("press"),), (Job("A", (Operation((Mode(0, 5),)),)),))
    >>> without(press, [Cause("machine busy", "press", 9, "", (("A", 0, 0),))]).machines[1].name
    'press, for A step 1 alone'
    """
    machines, crews, stores = list(problem.machines), list(problem.crews), list(problem.stores)
    jobs = {job.name: job for job in problem.jobs}
    steps: dict[tuple[str, int], dict[CauseKind, int]] = defaultdict(dict)
    for cause in causes:
        for number, crew in enumerate(crews):
            if cause.kind == "crew too few" and crew.name == cause.name:
                crews[number] = replace(crew, people=_most_people(problem, number))
        for number, store in enumerate(stores):
            if cause.kind == "racks full" and store.name == cause.name:
                units = sum(o.units for job in problem.jobs for o in job.operations if o.store == number)
                stores[number] = replace(store, capacity=max(store.capacity, units))
        for name, index, machine in cause.steps:
            if cause.kind == "material comes late":
                jobs[name] = replace(jobs[name], release=0)
            steps[name, index][cause.kind] = machine
    for (name, index), kinds in steps.items():
        job = jobs[name]
        operation = job.operations[index]
        if "drying or curing" in kinds:
            operation = replace(operation, min_wait=0)
        if "pinned" in kinds:
            operation = replace(operation, pinned=None)
        for kind in ("machine busy", "closed hours"):
            if kind in kinds:
                operation = _on_its_own(problem, operation, kinds, kinds[kind], f"{name} step {index + 1}", machines)
                break
        jobs[name] = replace(job, operations=(*job.operations[:index], operation, *job.operations[index + 1 :]))
    return replace(
        problem,
        machines=tuple(machines),
        crews=tuple(crews),
        stores=tuple(stores),
        jobs=tuple(jobs[job.name] for job in problem.jobs),
    )


def _on_its_own(
    problem: Problem,
    operation: Operation,
    kinds: Mapping[CauseKind, int],
    machine: int,
    what: str,
    machines: list[Machine],
) -> Operation:
    """An operation on a machine like the planned one that nothing else uses; always open where hours are the cause."""
    like = problem.machines[machine]
    modes = tuple(mode for mode in operation.modes if mode.machine == machine)
    if "closed hours" in kinds:
        there = {number for number, crew in enumerate(problem.crews) if crew.open is None}
        operation = replace(operation, needs=tuple(need for need in operation.needs if need.crew in there))
        like = replace(like, open=None, overtime=())
    if "machine busy" in kinds:
        like = replace(like, name=f"{like.name}, for {what} alone", set_for=None, takes=None)
    else:
        like = replace(like, name=f"{like.name}, always open for {what}", set_for=None, takes=None)
    machines.append(like)
    return replace(operation, modes=tuple(Mode(len(machines) - 1, m.duration, m.setup, m.penalty) for m in modes))


def _most_people(problem: Problem, crew: int) -> float:
    """People a crew could be asked for at one time, every machine running."""
    most: dict[int, float] = defaultdict(float)
    for job in problem.jobs:
        for operation in job.operations:
            for need in operation.needs:
                for mode in operation.modes if need.crew == crew else ():
                    most[mode.machine] = max(most[mode.machine], need.people)
    return max(problem.crews[crew].people, sum(most.values()))
