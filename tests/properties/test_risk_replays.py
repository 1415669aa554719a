"""Any plan: replayed without spreads it is itself; with them it keeps every order and rule."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from naptuft.planning.problem import Crew, Job, Machine, Mode, Need, Operation, Problem, SharedStore
from naptuft.planning.risk.model import Breakdown, Scatter, model_of
from naptuft.planning.risk.replays import traced
from naptuft.planning.schedule import schedule
from naptuft.planning.schedule.faults import faults_of
from naptuft.plant.spread import lognormal, triangular, weibull

LATE = tuple((1440 * day + 100, 1440 * day + 700) for day in range(60))
CALENDAR = tuple((1440 * day, 1440 * day + 480) for day in range(60))


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    """Two or three machines, a store, jobs of up to three steps, some waiting for another job."""
    machines = tuple(Machine(f"M{k}", draw(st.sampled_from([None, CALENDAR]))) for k in range(draw(st.integers(2, 3))))
    jobs: list[Job] = []
    for number in range(draw(st.integers(1, 6))):
        steps = tuple(
            Operation(
                (Mode(draw(st.integers(0, len(machines) - 1)), draw(st.integers(1, 200))),),
                family=draw(st.sampled_from([None, "red", "blue"])),
                min_wait=draw(st.sampled_from([0, 0, 30])),
                store=draw(st.sampled_from([None, 0])),
                units=draw(st.integers(1, 3)),
                pauses=draw(st.booleans()),
            )
            for _ in range(draw(st.integers(1, 3)))
        )
        before = (jobs[-1].name,) if jobs and draw(st.booleans()) else ()
        jobs.append(Job(f"J{number}", steps, draw(st.integers(0, 300)), draw(st.integers(100, 2000)), 1.0, before))
    changes = {0: {("red", "blue"): 20, ("blue", "red"): 45}}
    return Problem(machines, tuple(jobs), (SharedStore("racks", 4),), changes)


@st.composite
def crowded(draw: st.DrawFn) -> Problem:
    """As `problems`, with crews that are there by a calendar of their own, transfer batches and an oven."""
    loose = draw(problems())
    oven = len(loose.machines)
    jobs = []
    for job in loose.jobs:
        steps = [
            replace(
                step,
                needs=draw(st.sampled_from([(), (Need(0, 1.0),), (Need(0, 0.5, True),)])),
                transfers=draw(st.sampled_from([1, 1, 3])) if k + 1 < len(job.operations) else 1,
            )
            for k, step in enumerate(job.operations)
        ]
        if draw(st.booleans()):
            load = draw(st.integers(1, 3))
            bake = Operation((Mode(oven, 60),), family=draw(st.sampled_from(["red", "blue"])), load=load)
            steps.append(bake)
        jobs.append(replace(job, operations=tuple(steps)))
    crew = Crew("hands", 1.0, draw(st.sampled_from([None, LATE])))
    return replace(loose, machines=(*loose.machines, Machine("oven", None, None, 4)), jobs=tuple(jobs), crews=(crew,))


@given(crowded(), st.integers(0, 2**31))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
def test_a_plan_with_crews_transfers_and_an_oven_replayed_without_spreads_is_itself(problem: Problem, seed: int):
    assume(not faults_of(problem))
    plan = schedule(problem, effort=1)
    model = model_of(problem, plan.placements)
    trace = traced(model, seed, 1)
    assert trace.starts[0].tolist() == [placed.start for placed in model.sequence]
    assert trace.ends[0].tolist() == [placed.end for placed in model.sequence]


@given(crowded(), st.integers(0, 2**31))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
def test_a_replay_never_needs_more_people_than_there_are_and_keeps_an_oven_together(problem: Problem, seed: int):
    assume(not faults_of(problem))
    problem = replace(problem, machines=tuple(replace(machine, open=None) for machine in problem.machines))
    problem = replace(problem, crews=(replace(problem.crews[0], open=None),))
    plan = schedule(problem, effort=1)
    keys = [(j, k) for j, job in enumerate(problem.jobs) for k in range(len(job.operations))]
    model = model_of(problem, plan.placements, Scatter(times={key: triangular(0.5, 1.0, 2.5) for key in keys}))
    trace = traced(model, seed, 2)
    for row in range(2):
        busy = []
        together = defaultdict(set)
        for k, placed in enumerate(model.sequence):
            start, end = float(trace.starts[row][k]), float(trace.ends[row][k])
            operation = problem.jobs[placed.job].operations[placed.index]
            busy += [(start - n.changeover * placed.changeover, end, n.people) for n in operation.needs]
            if problem.machines[placed.machine].takes is not None:
                together[placed.start, placed.end, operation.family].add((start, end))
        assert all(len(times) == 1 for times in together.values())
        for moment, _, _ in busy:
            assert sum(people for begin, end, people in busy if begin <= moment < end) <= 1 + 1e-5


@given(problems(), st.integers(0, 2**31))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_plan_replayed_without_spreads_is_itself(problem: Problem, seed: int):
    plan = schedule(problem, effort=1)
    model = model_of(problem, plan.placements)
    trace = traced(model, seed, 2)
    for row in range(2):
        assert trace.starts[row].tolist() == [placed.start for placed in model.sequence]
        assert trace.ends[row].tolist() == [placed.end for placed in model.sequence]


@given(problems(), st.integers(0, 2**31))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_replay_keeps_the_order_on_machines_the_steps_the_hours_and_the_racks(problem: Problem, seed: int):
    plan = schedule(problem, effort=1)
    keys = [(j, k) for j, job in enumerate(problem.jobs) for k in range(len(job.operations))]
    scatter = Scatter(
        times={key: triangular(0.5, 1.0, 2.5) for key in keys},
        breakdowns={0: Breakdown(weibull(200.0, 1.2), lognormal(40.0, 0.8))},
    )
    model = model_of(problem, plan.placements, scatter)
    trace = traced(model, seed, 3)
    for row in range(3):
        at = {(p.job, p.index): k for k, p in enumerate(model.sequence)}
        starts, ends = trace.starts[row], trace.ends[row]
        on_machine = defaultdict(list)
        holdings = []
        for k, placed in enumerate(model.sequence):
            job = problem.jobs[placed.job]
            operation = job.operations[placed.index]
            if placed.index:
                before = at[placed.job, placed.index - 1]
                assert starts[k] >= ends[before] + job.operations[placed.index - 1].min_wait
            else:
                assert starts[k] >= job.release
            on_machine[placed.machine].append((starts[k] - placed.changeover, ends[k]))
            opened = problem.machines[placed.machine].open
            if opened is not None:
                assert any(opens <= starts[k] <= closes for opens, closes in opened)
            if operation.store is not None:
                holdings.append((starts[k], ends[k] + operation.min_wait, operation.units))
        for slots in on_machine.values():
            assert all(end <= begin + 1e-9 for (_, end), (begin, _) in pairwise(slots))
        for moment, _, _ in holdings:
            assert sum(units for begin, end, units in holdings if begin <= moment < end) <= 4


@given(problems(), st.integers(0, 2**31))
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_work_that_takes_longer_never_finishes_sooner_where_racks_do_not_bind(problem: Problem, seed: int):
    loose = Problem(problem.machines, problem.jobs, (SharedStore("racks", 10_000),), problem.changeovers)
    plan = schedule(loose, effort=1)
    keys = [(j, k) for j, job in enumerate(loose.jobs) for k in range(len(job.operations))]
    finishes = [
        traced(
            model_of(loose, plan.placements, Scatter(times={key: triangular(a, b, c) for key in keys})), seed, 3
        ).finish
        for a, b, c in ((0.8, 1.0, 1.4), (1.0, 1.2, 1.6))
    ]
    assert (finishes[1] >= finishes[0] - 1e-9).all()
