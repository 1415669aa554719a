"""A problem whose work takes longer and whose goods come later than planned, as its spreads have it."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from naptuft.planning.problem import Mode, Operation, Problem
from naptuft.planning.risk.model import Scatter


def stretched(problem: Problem, scatter: Scatter, share: float) -> Problem:
    """The problem in which everything takes what it keeps within in a share of all replays, 0 < share < 1.

    A machine that breaks down takes longer by its mean repair for its mean running time. Work that may not pause
    is stretched no further than fits into one open stretch, work in machines that take several operations at one
    time not at all; pins are taken out.

    >>> from naptuft.planning.problem import Job, Machine
    >>> from naptuft.plant.spread import triangular
    >>> problem = Problem((Machine("press"),), (Job("a", (Operation((Mode(0, 100),)),), due=100),))
    >>> longer = stretched(problem, Scatter({(0, 0): triangular(1.0, 1.0, 2.0)}), 0.75)
    >>> longer.jobs[0].operations[0].modes[0].duration
    150
    """
    longest = [
        None if machine.open is None else max((closes - opens for opens, closes in machine.open), default=0)
        for machine in problem.machines
    ]
    arrival: dict[int, float] = {}
    for goods in scatter.goods:
        late = 0.0 if goods.late is None else goods.late.quantile(share)
        for job in goods.jobs:
            arrival[job] = max(arrival.get(job, 0.0), goods.arrives + late)

    def mode(key: tuple[int, int], operation: Operation, planned: Mode) -> Mode:
        if problem.machines[planned.machine].takes is not None:
            return planned
        factor = 1.0
        if key in scatter.times:
            factor *= scatter.times[key].quantile(share)
        if key in scatter.yields:
            wanted = scatter.yields[key]
            factor *= max(1.0, wanted.planned / wanted.got.quantile(1.0 - share))
        if planned.machine in scatter.breakdowns:
            stops = scatter.breakdowns[planned.machine]
            factor *= 1.0 + stops.repair.mean / stops.between.mean
        minutes = max(planned.setup, ceil(planned.duration * factor - 1e-9))
        room = longest[planned.machine]
        if room is not None and not operation.pauses:
            minutes = min(minutes, max(planned.duration, room))
        return replace(planned, duration=minutes)

    jobs = []
    for number, job in enumerate(problem.jobs):
        operations = tuple(
            replace(
                operation,
                modes=tuple(mode((number, index), operation, planned) for planned in operation.modes),
                pinned=None,
            )
            for index, operation in enumerate(job.operations)
        )
        release = ceil(arrival[number]) if number in arrival else job.release
        jobs.append(replace(job, operations=operations, release=max(0, release)))
    return replace(problem, jobs=tuple(jobs))
