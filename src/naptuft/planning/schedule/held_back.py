"""What keeps an operation whose job and machine are ready: crews, what it shares its machine with, stores."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple

from naptuft.planning.problem import Operation, Placement, Problem
from naptuft.planning.schedule.open_time import Stretches
from naptuft.planning.schedule.rules import calendar_of


class Minding(NamedTuple):
    """People of a crew at an operation, for a time."""

    since: int
    until: int
    people: float
    placement: Placement


def operation_of(problem: Problem, placement: Placement) -> Operation:
    """The operation a placement is of."""
    return problem.jobs[placement.job].operations[placement.index]


def calendar_at(problem: Problem, placement: Placement) -> Stretches:
    """When the operation may run on the machine it is on."""
    operation = operation_of(problem, placement)
    mode = next(mode for mode in operation.modes if mode.machine == placement.machine)
    return calendar_of(problem, operation, mode)


def batches_of(problem: Problem, placements: Sequence[Placement]) -> dict[tuple[int, int, str | None], list[Placement]]:
    """Operations that are in a machine together, by machine, start and family."""
    batches: dict[tuple[int, int, str | None], list[Placement]] = defaultdict(list)
    for placement in placements:
        if problem.machines[placement.machine].takes is not None:
            batches[batch_key(problem, placement)].append(placement)
    return batches


def batch_key(problem: Problem, placement: Placement) -> tuple[int, int, str | None]:
    """What the operations of one batch have in common."""
    return placement.machine, placement.start, operation_of(problem, placement).family


def mindings_of(problem: Problem, placements: Sequence[Placement]) -> dict[int, list[Minding]]:
    """Who is where, by crew; operations in a machine together need their people once."""
    mindings: dict[int, list[Minding]] = defaultdict(list)
    counted = set()
    for placement in placements:
        operation = operation_of(problem, placement)
        if not operation.needs:
            continue
        if problem.machines[placement.machine].takes is not None:
            if batch_key(problem, placement) in counted:
                continue
            counted.add(batch_key(problem, placement))
        stretches = calendar_at(problem, placement) or ((placement.start, placement.end),)
        pieces = [(max(a, placement.start), min(b, placement.end)) for a, b in stretches]
        for need in operation.needs:
            lead = [(placement.start - placement.changeover, placement.start)] if need.changeover else []
            mindings[need.crew] += [
                Minding(since, until, need.people, placement) for since, until in lead + pieces if since < until
            ]
    return mindings


def crew_in_the_way(
    problem: Problem, placement: Placement, mindings: dict[int, list[Minding]]
) -> tuple[int, list[Placement]] | None:
    """The crew that is short were the operation a minute sooner, and who keeps it. None: none is."""
    mates = batch_key(problem, placement)
    for need in operation_of(problem, placement).needs:
        since = placement.start - 1 - (placement.changeover if need.changeover else 0)
        others = [
            other
            for other in mindings.get(need.crew, ())
            if other.since < placement.end
            and other.until > since
            and (other.placement.job, other.placement.index) != (placement.job, placement.index)
            and (problem.machines[placement.machine].takes is None or batch_key(problem, other.placement) != mates)
        ]
        for moment in [since, *(other.since for other in others if other.since > since)]:
            there = [other for other in others if other.since <= moment < other.until]
            if sum(other.people for other in there) + need.people > problem.crews[need.crew].people + 1e-6:
                return need.crew, [other.placement for other in there]
    return None
