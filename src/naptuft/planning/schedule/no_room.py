"""Why no plan was found that ends within the calendars."""

from __future__ import annotations

from naptuft.errors import Fault
from naptuft.planning.problem import Placement, Problem
from naptuft.planning.schedule import reasons
from naptuft.planning.schedule.faults import step_name


def no_room(problem: Problem, beyond: list[Placement]) -> tuple[Fault, ...]:
    """A fault for the first operation on each machine that runs past its calendar."""
    return tuple(_no_room(problem, placement) for placement in _first_on_each(beyond))


def _no_room(problem: Problem, placement: Placement) -> Fault:
    if problem.jobs[placement.job].operations[placement.index].pinned is not None:
        return _missed_pin(problem, placement)
    machine = problem.machines[placement.machine]
    stretches = machine.open or ()
    needed = sum(
        min(mode.duration for mode in operation.modes)
        for job in problem.jobs
        for operation in job.operations
        if all(mode.machine == placement.machine for mode in operation.modes)
    )
    room = sum(closes - opens for opens, closes in stretches)
    return Fault(
        f"calendar of {machine.name}",
        f"{step_name(problem.jobs[placement.job], placement.index)} and work after it",
        f"what fits before it ends at {reasons.clock(stretches[-1][1] if stretches else 0)}: "
        f"{room} min are open, at least {needed} min are asked of this machine alone",
        "open more time, move work to another machine or plan fewer orders",
    )


def _missed_pin(problem: Problem, placement: Placement) -> Fault:
    job, index = problem.jobs[placement.job], placement.index
    before = f"step {index} of it" if index else " and ".join(job.after) or "others"
    return Fault(
        f"{step_name(job, index)}, pinned",
        "not kept",
        f"a pin that {before} can be ready for; the search found no plan that is",
        "pin it later, unpin it, or search longer",
    )


def _first_on_each(placements: list[Placement]) -> list[Placement]:
    firsts: dict[int, Placement] = {}
    for placement in placements:
        firsts.setdefault(placement.machine, placement)
    return list(firsts.values())
