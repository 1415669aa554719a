"""Any problem: the plan keeps every rule of the problem, read here from the problem alone."""

from collections import defaultdict
from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from naptuft.errors import Infeasible
from naptuft.planning.problem import Job, Machine, Mode, Operation, Problem, Schedule, SharedStore
from naptuft.planning.schedule import schedule
from naptuft.planning.schedule.bound import lower_bound
from naptuft.planning.schedule.faults import faults_of


def open_time(machine: Machine, since: int, until: int) -> int:
    if machine.open is None:
        return until - since
    return sum(max(0, min(until, closes) - max(since, opens)) for opens, closes in machine.open)


def assert_keeps_every_rule(problem: Problem, plan: Schedule) -> None:
    at = {(p.job, p.index): p for p in plan.placements}
    assert list(at) == [(j, k) for j, job in enumerate(problem.jobs) for k in range(len(job.operations))]
    finish = {
        job.name: at[j, len(job.operations) - 1].end + job.operations[-1].min_wait for j, job in enumerate(problem.jobs)
    }
    on_machine = defaultdict(list)
    holdings = defaultdict(list)
    for j, job in enumerate(problem.jobs):
        assert at[j, 0].start >= max([job.release, *(finish[name] for name in job.after)])
        for k, operation in enumerate(job.operations):
            p = at[j, k]
            assert operation.pinned in (None, (p.machine, p.start))
            machine = problem.machines[p.machine]
            assert any(
                m.machine == p.machine and open_time(machine, p.start, p.end) == m.duration for m in operation.modes
            )
            if machine.open is not None:
                inside = [(o, c) for o, c in machine.open if o <= p.start and p.end <= c]
                begins = [(o, c) for o, c in machine.open if o <= p.start < c]
                ends = [(o, c) for o, c in machine.open if o < p.end <= c]
                assert inside or (operation.pauses and begins and ends)
            if k + 1 < len(job.operations):
                wait = at[j, k + 1].start - p.end
                assert wait >= operation.min_wait
                assert operation.max_wait is None or wait <= operation.max_wait
            if operation.store is not None:
                holdings[operation.store].append((p.start, p.end + operation.min_wait, operation.units))
            on_machine[p.machine].append((p, operation))
            assert p.reason
    for machine, work in on_machine.items():
        changes = problem.changeovers.get(machine, {})
        set_for, free = problem.machines[machine].set_for, 0
        for p, operation in sorted(work, key=lambda pair: (pair[0].start, pair[0].end)):
            needed = 0
            if operation.family is not None:
                needed = changes.get((set_for, operation.family), 0) if set_for is not None else 0
                set_for = operation.family
            assert p.changeover == needed
            assert p.start - needed >= free
            free = p.end
    for store, held in holdings.items():
        for moment, _, _ in held:
            assert sum(u for s, e, u in held if s <= moment < e) <= problem.stores[store].capacity
    late = sum(job.weight * max(0, finish[job.name] - job.due) for job in problem.jobs if job.due is not None)
    if problem.objective == "makespan":
        assert plan.objective == (max(finish.values()),)
    else:
        assert plan.objective == (late, sum(p.changeover for p in plan.placements))
    assert plan.bound is None or plan.bound <= plan.objective[0] + 1e-9


CALENDAR = tuple((day * 100, day * 100 + 60) for day in range(60))


@st.composite
def problems(draw, ties: bool = True) -> Problem:
    machines = tuple(
        Machine(
            f"M{k}",
            draw(st.sampled_from([None, CALENDAR, ((5, 40), (50, 90), (150, 6000))])),
            draw(st.sampled_from([None, "light", "dark", "brown"])),
        )
        for k in range(3)
    )
    stores = (SharedStore("racks", draw(st.integers(2, 4))),)
    jobs = []
    for j in range(draw(st.integers(1, 7))):
        operations = []
        for _ in range(draw(st.integers(1, 4))):
            low = draw(st.sampled_from([0, 0, 7, 55]))
            chosen = draw(st.lists(st.integers(0, 2), min_size=1, max_size=2, unique=True))
            held = draw(st.booleans())
            operations.append(
                Operation(
                    modes=tuple(Mode(m, draw(st.integers(1, 30))) for m in chosen),
                    family=draw(st.sampled_from([None, "light", "dark", "red"])),
                    min_wait=low,
                    max_wait=low + draw(st.integers(10, 60)) if ties and draw(st.integers(0, 3)) == 0 else None,
                    store=0 if held else None,
                    units=draw(st.integers(1, 2)) if held else 0,
                    pauses=draw(st.booleans()),
                )
            )
        after = draw(st.lists(st.sampled_from(range(j)), max_size=2, unique=True)) if j else []
        jobs.append(
            Job(
                f"W{j}",
                tuple(operations),
                release=draw(st.sampled_from([0, 0, 35, 210])),
                due=draw(st.one_of(st.none(), st.integers(0, 400))),
                weight=draw(st.sampled_from([1.0, 2.5])),
                after=tuple(f"W{a}" for a in after),
            )
        )
    changes = {("light", "dark"): 5, ("dark", "light"): 20, ("red", "dark"): 9, ("light", "red"): 3}
    return Problem(
        machines,
        tuple(jobs),
        stores,
        dict.fromkeys(draw(st.lists(st.integers(0, 2), max_size=2, unique=True)), changes),
        draw(st.sampled_from(["makespan", "weighted_tardiness_then_changeover"])),
    )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(problems())
def test_every_plan_keeps_every_rule(problem):
    try:
        plan = schedule(problem, effort=400)
    except Infeasible:
        return
    assert_keeps_every_rule(problem, plan)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(problems(), st.integers(1, 1000))
def test_the_same_seed_and_effort_give_the_same_plan(problem, seed):
    try:
        first = schedule(problem, seed=seed, effort=300)
    except Infeasible:
        return
    assert schedule(problem, seed=seed, effort=300) == first


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(problems())
def test_no_plan_is_below_the_bound(problem):
    try:
        plan = schedule(problem, effort=2000)
    except Infeasible:
        return
    assert lower_bound(problem) <= plan.objective[0]


@st.composite
def plain_shops(draw) -> Problem:
    jobs = []
    for j in range(draw(st.integers(2, 6))):
        steps = []
        for _ in range(draw(st.integers(1, 5))):
            chosen = draw(st.lists(st.integers(0, 2), min_size=1, max_size=3, unique=True))
            steps.append(
                Operation(
                    tuple(Mode(m, draw(st.integers(0, 12))) for m in chosen), min_wait=draw(st.sampled_from([0, 0, 4]))
                )
            )
        jobs.append(Job(f"W{j}", tuple(steps), release=draw(st.sampled_from([0, 0, 9]))))
    return Problem(tuple(Machine(f"M{k}") for k in range(3)), tuple(jobs), objective="makespan")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(plain_shops(), st.integers(1, 2))
def test_shops_where_only_jobs_and_machines_bind_keep_every_rule_and_repeat(problem, threads):
    plan = schedule(problem, effort=3000, threads=threads)
    assert_keeps_every_rule(problem, plan)
    assert schedule(problem, effort=3000, threads=threads) == plan


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(problems(), st.integers(1, 9))
def test_two_threads_repeat_exactly_under_a_limit_of_effort(problem, seed):
    try:
        plan = schedule(problem, seed=seed, effort=9000, threads=2)
    except Infeasible:
        return
    assert schedule(problem, seed=seed, effort=9000, threads=2) == plan
    assert_keeps_every_rule(problem, plan)


def pinned_as_in(problem: Problem, plan: Schedule, chosen: set[int]) -> Problem:
    """The problem with some operations pinned where a plan has them."""
    pins = {(p.job, p.index): (p.machine, p.start) for k, p in enumerate(plan.placements) if k in chosen}
    return replace(
        problem,
        jobs=tuple(
            replace(job, operations=tuple(replace(o, pinned=pins.get((j, k))) for k, o in enumerate(job.operations)))
            for j, job in enumerate(problem.jobs)
        ),
    )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(problems(), st.data())
def test_what_is_pinned_stays_and_the_rest_is_planned_around_it(problem, data):
    try:
        plan = schedule(problem, effort=50)
    except Infeasible:
        return
    numbers = st.integers(0, len(plan.placements) - 1)
    pinned = pinned_as_in(problem, plan, data.draw(st.sets(numbers, max_size=6)))
    try:
        again = schedule(pinned, effort=600)
    except Infeasible:
        assert faults_of(pinned) == ()  # a plan exists: the search may miss it, but no pin may be called impossible
        return
    assert_keeps_every_rule(pinned, again)
    whole = pinned_as_in(problem, plan, set(range(len(plan.placements))))
    assert schedule(whole, effort=50).objective == plan.objective
