"""Any problem: what is named as the cause of a late job is one, and nothing its own route asks for is left out."""

from dataclasses import replace

from hypothesis import HealthCheck, assume, given, settings

from naptuft.errors import Infeasible
from naptuft.planning.causes import Cause, without
from naptuft.planning.problem import Job, Machine, Mode, Operation, Problem, Schedule
from naptuft.planning.schedule import schedule
from naptuft.planning.why_late import LateWork
from properties.test_schedule_with_everything import problems


def finish(problem: Problem, plan: Schedule, job: int) -> int:
    last = len(problem.jobs[job].operations) - 1
    placed = next(p for p in plan.placements if (p.job, p.index) == (job, last))
    return placed.end + problem.jobs[job].operations[-1].min_wait


def finish_without(problem: Problem, causes: tuple[Cause, ...], job: int) -> int:
    """When a job is finished in a new plan of it and of what it needs alone, with its causes taken away."""
    changed = without(problem, causes)
    needed, todo = set(), [problem.jobs[job].name]
    while todo:
        needed.add(todo.pop())
        todo += [name for each in changed.jobs if each.name in needed for name in each.after if name not in needed]
    jobs = tuple(each for each in changed.jobs if each.name in needed)
    alone = replace(changed, jobs=jobs)
    try:
        plan = schedule(alone, effort=300, seed=2)
    except Infeasible:
        # on machines of their own two steps tied by a longest wait may need a changeover longer than the wait
        assume(False)
        raise
    return finish(alone, plan, [each.name for each in jobs].index(problem.jobs[job].name))


def comparable(problem: Problem) -> Problem:
    """The same, each step handed on whole: one that follows on the same machine does not wait for it then.

    No machine is set for anything at first: other work would change it over, where a job alone does so itself.
    """
    jobs = tuple(
        replace(job, operations=tuple(replace(operation, transfers=1) for operation in job.operations))
        for job in problem.jobs
    )
    machines = tuple(replace(machine, set_for=None) for machine in problem.machines)
    return replace(problem, machines=machines, jobs=jobs, objective="weighted_tardiness_then_changeover")


@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
@given(problems())
def test_a_late_job_has_causes_without_which_it_alone_is_in_time(problem):
    problem = comparable(problem)
    try:
        plan = schedule(problem, effort=300)
    except Infeasible:
        return
    late = [
        (number, job, job.due)
        for number, job in enumerate(problem.jobs)
        if job.due is not None and finish(problem, plan, number) > job.due
    ]
    assume(late)
    causes = LateWork(problem, plan.placements)
    for number, job, due in late:
        found = causes.of([job.name], due)
        assert found
        assert all(cause.words and cause.minutes > 0 for cause in found)
        more = causes.with_more([job.name], due)
        assert set(found) <= set(more)
        in_time = finish_without(problem, found, number) <= due or finish_without(problem, more, number) <= due
        assert in_time == found[0].removable
        if finish_without(problem, (), number) > due:
            assert {cause.kind for cause in found} & {
                "crew too few",  # its own step before may still need them
                "material comes late",
                "closed hours",
                "drying or curing",
                "route too long",
            }


def test_a_job_in_time_has_no_cause():
    problem = Problem((Machine("press"),), (Job("A", (Operation((Mode(0, 5),)),), due=5),))
    assert LateWork(problem, schedule(problem, effort=1).placements).of(["A"], 5) == ()
