"""Any problem: what is named as the cause of a late job is one, a new search without it has the job in time."""

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
    """When a job is finished in a new plan that puts it first."""
    changed = without(problem, causes)
    jobs = tuple(replace(each, weight=1000.0) if k == job else each for k, each in enumerate(changed.jobs))
    return finish(changed, schedule(replace(changed, jobs=jobs), effort=300, seed=2), job)


def with_some_work(problem: Problem) -> Problem:
    """The same with no step of no minutes."""
    jobs = tuple(
        replace(
            job,
            operations=tuple(
                replace(o, modes=tuple(replace(mode, duration=max(1, mode.duration)) for mode in o.modes))
                for o in job.operations
            ),
        )
        for job in problem.jobs
    )
    return replace(problem, jobs=jobs, objective="weighted_tardiness_then_changeover")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(problems())
def test_without_its_causes_a_late_job_can_be_in_time(problem):
    problem = with_some_work(problem)
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
        if not found[0].removable:
            assert len(found) == 1
            assert finish_without(problem, found, number) > due
        elif finish_without(problem, found, number) > due:
            more = causes.with_more([job.name], due)
            assert set(found) < set(more)
            assert finish_without(problem, more, number) <= due, more


def test_a_job_in_time_has_no_cause():
    problem = Problem((Machine("press"),), (Job("A", (Operation((Mode(0, 5),)),), due=5),))
    assert LateWork(problem, schedule(problem, effort=1).placements).of(["A"], 5) == ()
