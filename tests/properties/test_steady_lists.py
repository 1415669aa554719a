"""Any list changed by any moves: replayed without spreads it is what the scheduler plans of the same list."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Crew, Job, Machine, Mode, Need, Operation, Problem, SharedStore
from naptuft.planning.risk.bench import Bench
from naptuft.planning.risk.model import Scatter, targets_of
from naptuft.planning.risk.replays import traced
from naptuft.planning.risk.steady import planned, steady
from naptuft.planning.schedule import schedule
from naptuft.planning.schedule.faults import faults_of
from naptuft.plant.spread import triangular

CALENDAR = tuple((1440 * day, 1440 * day + 480) for day in range(60))
MOST = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


@st.composite
def problems(draw: st.DrawFn, ruled: bool = False) -> Problem:
    """Three machines, steps with a choice of two; `ruled`: racks, people, longest waits and transfer batches too."""
    machines = tuple(
        Machine(f"M{k}", draw(st.sampled_from([None, CALENDAR])), draw(st.sampled_from([None, "red"])))
        for k in range(3)
    )
    jobs: list[Job] = []
    for number in range(draw(st.integers(2, 7))):
        steps = tuple(
            Operation(
                tuple(Mode(k, draw(st.integers(5, 200))) for k in draw(st.permutations(range(3)))[: draw(st.integers(1, 2))]),
                family=draw(st.sampled_from([None, "red", "blue"])),
                min_wait=draw(st.sampled_from([0, 0, 30])),
                max_wait=draw(st.sampled_from([None, None, 900])) if ruled else None,
                store=draw(st.sampled_from([None, 0])) if ruled else None,
                units=draw(st.integers(1, 3)) if ruled else 0,
                needs=draw(st.sampled_from([(), (Need(0, 1.0),), (Need(0, 1.0, True),)])) if ruled else (),
                pauses=draw(st.booleans()),
            )
            for _ in range(draw(st.integers(1, 3)))
        )  # fmt: skip
        before = (jobs[-1].name,) if jobs and draw(st.booleans()) else ()
        due = draw(st.integers(100, 1500))
        jobs.append(Job(f"J{number}", steps, draw(st.integers(0, 300)), due, draw(st.sampled_from([1.0, 3.0])), before))
    changes = {0: {("red", "blue"): 20, ("blue", "red"): 45}, 1: {("red", "blue"): 15}}
    crews = (Crew("hands", 1.0),) if ruled else ()
    return Problem(machines, tuple(jobs), (SharedStore("racks", 4),) if ruled else (), changes, crews=crews)


def strong(problem: Problem) -> Scatter:
    """Every step may take up to three times as long."""
    return Scatter({(j, k): triangular(0.8, 1.0, 3.0) for j, job in enumerate(problem.jobs) for k in range(len(job.operations))})  # fmt: skip


@given(problems(), st.integers(0, 2**31))
@MOST
def test_a_list_changed_by_any_moves_is_replayed_as_it_is_planned(problem: Problem, seed: int):
    assume(not faults_of(problem))
    dice = random.Random(seed)
    bench = Bench(problem, schedule(problem, effort=1).placements, strong(problem), targets_of(problem), seed, 16)
    assume(bench.late.sum() > 0)
    for _ in range(12):
        move = bench.propose(dice)
        if move is not None:
            bench.put(move)
    plan = planned(problem, bench.sequence())
    assert plan is not None
    still = Bench(problem, plan.placements, Scatter(), targets_of(problem), seed, 16)
    quiet = bench.model.arrays or bench.arrays
    quiet[0][:, 8:10] = -1
    trace = traced(replace(bench.model, arrays=quiet), seed, 1)
    start = {(p.job, p.index): p.start for p in plan.placements}
    assert [start[p.job, p.index] for p in bench.model.sequence] == trace.starts[0].tolist()
    assert still.late[0] == plan.objective[0]


@given(problems(ruled=True), st.integers(0, 2**31))
@MOST
def test_a_move_put_back_leaves_nothing_changed(problem: Problem, seed: int):
    assume(not faults_of(problem))
    dice = random.Random(seed)
    bench = Bench(problem, schedule(problem, effort=1).placements, strong(problem), targets_of(problem), seed, 16)
    before = [np.array(array) for array in bench.arrays]
    for _ in range(6):
        move = bench.propose(dice)
        if move is not None:
            bench.put(bench.put(move))
    assert all(np.array_equal(array, now) for array, now in zip(before, bench.arrays, strict=True))
    assert np.array_equal(bench.replayed(0, 16), bench.late)


@given(problems(ruled=True), st.integers(0, 2**31))
@settings(MOST, max_examples=20)
def test_any_steady_plan_keeps_every_rule_and_is_expected_no_later_than_the_one_on_paper(problem: Problem, seed: int):
    assume(not faults_of(problem))
    answer = steady(problem, strong(problem), seed=seed, effort=400, confirmed=200)
    assert check_schedule(problem, answer.schedule.placements) == ()
    assert answer.of_schedule.expected <= answer.of_paper.expected
    assert answer.saved >= 0
