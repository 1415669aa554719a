"""What a plan is judged by besides lateness is asked for, and got."""

import itertools
from collections import defaultdict
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Aims, Crew, Job, Machine, Mode, Need, Operation, Problem, Schedule, SharedStore
from naptuft.planning.schedule import schedule

HOURS = tuple((day * 1440, day * 1440 + 600) for day in range(12))
OVERTIME = tuple((day * 1440 + 480, day * 1440 + 600) for day in range(12))


def figures(problem: Problem, plan: Schedule) -> tuple[float, float]:
    """Weighted late minutes and what else counts, worked out from the times alone."""
    aims, at = problem.aims, {(p.job, p.index): p for p in plan.placements}
    late, second = 0.0, float(sum(p.changeover for p in plan.placements))
    for number, job in enumerate(problem.jobs):
        last = at[number, len(job.operations) - 1]
        if job.due is not None:
            late += job.weight * max(0, last.end + job.operations[-1].min_wait - job.due)
        for index, operation in enumerate(job.operations):
            placed = at[number, index]
            second += min(m.penalty for m in operation.modes if m.machine == placed.machine)
            if index:
                before = job.operations[index - 1]
                second += aims.waiting * (placed.start - at[number, index - 1].end - before.min_wait)
    return late, second + aims.overtime * overtime(problem, plan)


def overtime(problem: Problem, plan: Schedule) -> int:
    """Minutes worked in overtime."""
    return sum(
        max(0, min(p.end, until) - max(p.start, since))
        for p in plan.placements
        for since, until in problem.machines[p.machine].overtime
    )


def waiting(problem: Problem, plan: Schedule) -> int:
    """Minutes jobs wait between their steps."""
    at = {(p.job, p.index): p for p in plan.placements}
    return sum(
        at[j, k].start - at[j, k - 1].end - job.operations[k - 1].min_wait
        for j, job in enumerate(problem.jobs)
        for k in range(1, len(job.operations))
    )


def planned(problem: Problem, effort: int = 4000) -> Schedule:
    """A plan, held against the independent checker and the figures it tells."""
    plan = schedule(problem, effort=effort)
    assert not check_schedule(problem, plan.placements)
    assert figures(problem, plan) == pytest.approx(plan.objective)
    return plan


def two_benches(due: int | None) -> Problem:
    jobs = tuple(Job(f"W{k}", (Operation((Mode(0, 60), Mode(1, 60, penalty=25))),), due=due) for k in range(6))
    return Problem((Machine("own"), Machine("lent")), jobs)


def test_a_penalty_keeps_work_on_the_preferred_machine_until_lateness_asks_otherwise():
    roomy, tight = planned(two_benches(360)), planned(two_benches(180))
    assert {p.machine for p in roomy.placements} == {0}
    assert roomy.objective == (0.0, 0.0)
    assert sorted(p.machine for p in tight.placements) == [0, 0, 0, 1, 1, 1]
    assert tight.objective == (0.0, 75.0)


@pytest.mark.parametrize("pauses", [False, True])
def test_where_overtime_is_dear_less_of_it_is_worked_and_nothing_is_later_for_it(pauses):
    jobs = tuple(Job(f"W{k}", (Operation((Mode(0, 110),), pauses=pauses),), due=4 * 1440) for k in range(12))
    free = Problem((Machine("press", HOURS, overtime=OVERTIME),), jobs)
    dear = replace(free, aims=Aims(overtime=3))
    worked, spared = planned(free), planned(dear)
    assert worked.objective[0] == spared.objective[0] == 0
    assert overtime(free, worked) > 0
    assert overtime(dear, spared) == 0


def test_overtime_is_worked_all_the_same_where_orders_would_be_late_without_it():
    jobs = tuple(Job(f"W{k}", (Operation((Mode(0, 120),)),), due=600) for k in range(5))
    plan = planned(Problem((Machine("press", HOURS, overtime=OVERTIME),), jobs, aims=Aims(overtime=3)))
    assert plan.objective == (0.0, 360.0)


def test_where_waiting_is_dear_jobs_wait_less_and_none_is_later():
    jobs = tuple(
        Job(
            f"W{k}",
            (Operation((Mode(0, 10),)), Operation((Mode(1, 50),), min_wait=5), Operation((Mode(2, 20),))),
            due=400,
        )
        for k in range(6)
    )
    free = Problem((Machine("mix"), Machine("dip"), Machine("box")), jobs)
    asked = replace(free, aims=Aims(waiting=0.5))
    early, patient = planned(free), planned(asked)
    assert patient.objective[0] == early.objective[0]
    assert waiting(asked, patient) == 0 < waiting(free, early)
    put_off = [p for p in patient.placements if p.index == 0 and p.start > 10 * p.job]
    assert put_off
    assert all("put off" in p.reason for p in put_off)


def test_a_step_is_put_off_no_further_than_its_rack_has_room():
    held = Operation((Mode(0, 10),), store=0, units=1)
    jobs = tuple(Job(f"W{k}", (held, Operation((Mode(1, 100),)))) for k in range(3))
    plan = planned(Problem((Machine("hang"), Machine("dip")), jobs, (SharedStore("rack", 1),), aims=Aims(waiting=1)))
    assert waiting(Problem((), jobs), plan) == 0


def test_by_weight_a_late_minute_is_worth_no_more_than_it_counts():
    families = ("dark", "light")
    jobs = tuple(Job(f"W{k}", (Operation((Mode(0, 10),), family=families[k % 2]),), due=10 * k + 40) for k in range(8))
    changes = {0: {("dark", "light"): 30, ("light", "dark"): 30}}
    problem = Problem((Machine("dip"),), jobs, changeovers=changes)
    in_order = planned(problem)
    cheap = planned(replace(problem, aims=Aims(late=0.01)))
    assert cheap.objective[1] == 30
    assert in_order.objective[0] <= cheap.objective[0]
    assert cheap.objective[0] * 0.01 + cheap.objective[1] <= in_order.objective[0] * 0.01 + in_order.objective[1]


def test_dear_overtime_and_crews_go_together():
    crew = Crew("setters", 1, tuple((day * 1440, day * 1440 + 540) for day in range(12)))
    step = Operation((Mode(0, 100), Mode(1, 100)), needs=(Need(0, 1.0),))
    problem = Problem(
        tuple(Machine(name, HOURS, overtime=OVERTIME) for name in ("A", "B")),
        tuple(Job(f"W{k}", (step,), due=5000) for k in range(8)),
        crews=(crew,),
        aims=Aims(overtime=2),
    )
    assert overtime(problem, planned(problem)) == 0


# ---- against all lists of tiny problems


@st.composite
def tiny(draw: st.DrawFn) -> Problem:
    """Up to five operations on two machines with overtime, families and penalties, and every aim."""
    shape = draw(st.sampled_from([(1, 1, 1), (2, 1), (2, 2), (1, 1, 1, 1), (3, 1), (2, 1, 1), (2, 3)]))
    jobs = []
    for number, steps in enumerate(shape):
        work = tuple(
            Operation(
                tuple(
                    Mode(machine, draw(st.integers(5, 40)), penalty=draw(st.sampled_from([0, 0, 15])))
                    for machine in draw(st.sampled_from([(0,), (1,), (0, 1)]))
                ),
                family=draw(st.sampled_from(["dark", "light", None])),
                min_wait=draw(st.sampled_from([0, 20])),
                pauses=draw(st.booleans()),
            )
            for _ in range(steps)
        )
        jobs.append(Job(f"W{number}", work, 0, draw(st.integers(20, 250)), draw(st.sampled_from([1.0, 3.0]))))
    hours = tuple((day * 150, day * 150 + 100) for day in range(20))
    late = tuple((day * 150 + 60, day * 150 + 100) for day in range(20))
    return Problem(
        (Machine("A", hours, overtime=late), Machine("B", None)),
        tuple(jobs),
        changeovers={0: {("dark", "light"): 12, ("light", "dark"): 4}},
        aims=Aims(
            draw(st.sampled_from([0, 2])),
            draw(st.sampled_from([0.0, 0.5])),
            draw(st.sampled_from([None, 0.1, 1.0])),
        ),
    )


def every_plan(problem: Problem):
    """The figures of every list and choice of machines, each step as early as it can be, in overtime or kept out."""
    aims = problem.aims
    steps = [(j, k) for j, job in enumerate(problem.jobs) for k in range(len(job.operations))]
    ways = [
        [
            (mode, kept_out)
            for mode in problem.jobs[j].operations[k].modes
            for kept_out in ((False, True) if problem.machines[mode.machine].overtime and aims.overtime else (False,))
        ]
        for j, k in steps
    ]
    orders = {tuple(order) for order in itertools.permutations([j for j, _ in steps])}
    for order in orders:
        for choice in itertools.product(*ways):
            yield _placed(problem, order, dict(zip(steps, choice, strict=True)))


def _placed(problem: Problem, order, chosen) -> tuple[float, float]:
    free, set_for, done = defaultdict(int), {}, defaultdict(int)
    ends: dict[int, int] = {}
    late = second = 0.0
    for j in order:
        job = problem.jobs[j]
        k = done[j]
        operation = job.operations[k]
        mode, kept_out = chosen[j, k]
        machine = problem.machines[mode.machine]
        changeover = 0
        if operation.family is not None and mode.machine in problem.changeovers:
            was = set_for.get(mode.machine)
            changeover = problem.changeovers[mode.machine].get((was, operation.family), 0) if was else 0
            set_for[mode.machine] = operation.family
        ready = ends[j] + job.operations[k - 1].min_wait if k else job.release
        start = max(free[mode.machine] + changeover, ready)
        while (run := _run(machine, mode.duration, operation.pauses, start)) is None or (
            kept_out and any(since < run and until > start for since, until in machine.overtime)
        ):
            start += 1
        if k:
            second += problem.aims.waiting * (start - ready)
        extra = sum(max(0, min(run, until) - max(start, since)) for since, until in machine.overtime)
        second += changeover + mode.penalty + problem.aims.overtime * extra
        free[mode.machine], ends[j], done[j] = run, run, k + 1
        if k + 1 == len(job.operations) and job.due is not None:
            late += job.weight * max(0, run + operation.min_wait - job.due)
    return late, second


def _run(machine: Machine, minutes: int, pauses: bool, start: int) -> int | None:
    if machine.open is None:
        return start + minutes
    left = minutes
    for opens, closes in machine.open:
        if closes <= start:
            continue
        if left == minutes and start < opens:
            return None
        if max(start, opens) + left <= closes:
            return max(start, opens) + left
        if not pauses:
            return None
        left -= closes - max(start, opens)
    return None


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(problem=tiny())
def test_no_list_gives_a_better_plan_of_a_tiny_problem_by_any_aims(problem):
    plan = planned(problem, effort=6000)

    def worth(pair: tuple[float, ...]) -> tuple[float, ...]:
        return pair if problem.aims.late is None else (pair[0] * problem.aims.late + pair[1],)

    least = min(map(worth, every_plan(problem)))
    assert worth(plan.objective) <= tuple(figure + 1e-6 for figure in least)
