"""Plans made for what is expected on the floor: what a planner gets for asking."""

from __future__ import annotations

from dataclasses import replace

import pytest

from naptuft.errors import DesignError
from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Job, Machine, Mode, Operation, Problem
from naptuft.planning.risk.model import Breakdown, Goods, Scatter, Yield, model_of
from naptuft.planning.risk.of_plan import model_of_plan
from naptuft.planning.risk.replays import replays
from naptuft.planning.risk.steady import SteadyAnswer, planned, steady
from naptuft.planning.risk.stretch import stretched
from naptuft.planning.weeks import plan_weeks
from naptuft.plant.spread import WorkSpread, lognormal, triangular, weibull
from small_plants import scraper_plant


def one_step(name: str, machines: tuple[int, ...], minutes: int, due: int, weight: float = 1.0) -> Job:
    """A job of one step."""
    return Job(name, (Operation(tuple(Mode(machine, minutes) for machine in machines)),), due=due, weight=weight)


def risky_and_sure() -> tuple[Problem, Scatter]:
    """Two jobs on one machine, in time in either order on paper; the one that is due first may take three times as long."""
    jobs = (one_step("risky", (0,), 100, 200), one_step("sure", (0,), 100, 210, 5.0))
    return Problem((Machine("press"),), jobs), Scatter({(0, 0): triangular(1.0, 1.0, 3.0)})


def expected_of(problem: Problem, spreads: Scatter, answer: SteadyAnswer, seed: int) -> tuple[float, float]:
    """Weighted late minutes expected of the plan and of the one on paper, in replays of another seed."""
    due = [job.due or 0 for job in problem.jobs]
    weight = [job.weight for job in problem.jobs]
    means = []
    for plan in (answer.schedule, answer.paper):
        finish = replays(model_of(problem, plan.placements, spreads), 3000, seed).finish
        means.append(
            sum(w * (finish[:, k] - d).clip(min=0).mean() for k, (d, w) in enumerate(zip(due, weight, strict=True)))
        )
    return means[0], means[1]


def a_shop(jobs: int = 14) -> tuple[Problem, Scatter]:
    """Jobs of three steps over four machines, closely due, with spreads as strong as a bad week's."""
    day = tuple((1440 * d, 1440 * d + 960) for d in range(20))
    made = []
    for number in range(jobs):
        steps = tuple(
            Operation((Mode((number + k) % 4, 60 + 17 * ((number * 7 + k * 5) % 6)),), family=("red", "blue")[number % 2], pauses=k == 1)
            for k in range(3)
        )  # fmt: skip
        made.append(Job(f"J{number}", steps, due=500 + 150 * number, weight=1.0 + number % 3))
    changes = {machine: {("red", "blue"): 30, ("blue", "red"): 45} for machine in range(4)}
    problem = Problem(tuple(Machine(f"M{k}", day) for k in range(4)), tuple(made), (), changes)
    times = {(j, k): triangular(0.9, 1.0, 2.5) if (j + k) % 3 == 0 else triangular(0.95, 1.0, 1.1) for j in range(jobs) for k in range(3)}  # fmt: skip
    return problem, Scatter(times, breakdowns={1: Breakdown(weibull(400.0, 1.2), lognormal(60.0, 0.8))})


def test_work_that_may_take_long_goes_behind_work_that_must_not_be_late():
    problem, spreads = risky_and_sure()
    answer = steady(problem, spreads, effort=2000)
    assert [p.job for p in sorted(answer.paper.placements, key=lambda p: p.start)] == [0, 1]
    assert [p.job for p in sorted(answer.schedule.placements, key=lambda p: p.start)] == [1, 0]
    assert answer.of_paper.planned == answer.of_schedule.planned == 0
    assert answer.saved > 10 * answer.error > 0
    assert answer.of_paper.expected - answer.of_schedule.expected == pytest.approx(answer.saved)


def test_less_is_expected_late_than_of_the_plan_on_paper_also_with_other_random_numbers():
    problem, spreads = a_shop()
    answer = steady(problem, spreads, effort=6000)
    assert check_schedule(problem, answer.schedule.placements) == ()
    assert answer.by != "paper"
    now, before = expected_of(problem, spreads, answer, seed=99)
    assert now < before
    assert answer.of_schedule.expected == pytest.approx(now, rel=0.1)
    assert answer.of_paper.expected == pytest.approx(before, rel=0.1)


def test_the_same_seed_and_effort_give_the_same_plan_and_figures():
    problem, spreads = a_shop(8)
    answers = [steady(problem, spreads, seed=5, effort=3000, threads=1) for _ in range(2)]
    assert answers[0] == answers[1]


def test_where_nothing_scatters_the_plan_on_paper_is_the_answer():
    problem, _ = a_shop(6)
    answer = steady(problem, Scatter(), effort=2000, confirmed=10)
    assert answer.of_schedule.expected == answer.of_schedule.planned <= answer.of_paper.planned
    assert answer.of_schedule.error == 0


def test_a_stop_ends_the_search_with_a_plan():
    problem, spreads = a_shop()
    answer = steady(problem, spreads, seconds=600, stop=lambda: True, confirmed=50)
    assert check_schedule(problem, answer.schedule.placements) == ()


def test_nothing_due_is_refused():
    problem = Problem((Machine("press"),), (Job("A", (Operation((Mode(0, 5),)),)),))
    with pytest.raises(DesignError, match="due time"):
        steady(problem, Scatter())


def test_a_stretched_problem_has_longer_work_later_goods_and_the_same_steps():
    problem, spreads = a_shop()
    goods = (Goods("steel", 100.0, (2,), triangular(0.0, 60.0, 600.0)),)
    spreads = replace(spreads, goods=goods, yields={(3, 1): Yield(0.95, triangular(0.7, 0.9, 1.0))})
    longer = stretched(problem, spreads, 0.9)
    assert longer.jobs[2].release > 400
    for number, (before, after) in enumerate(zip(problem.jobs, longer.jobs, strict=True)):
        for index, (old, new) in enumerate(zip(before.operations, after.operations, strict=True)):
            key = number, index
            assert new.modes[0].duration >= old.modes[0].duration * spreads.times[key].quantile(0.9) * 0.99
            assert old.family == new.family
    assert longer.jobs[3].operations[1].modes[0].duration > problem.jobs[3].operations[1].modes[0].duration * 1.1


def test_work_that_may_not_pause_is_stretched_no_further_than_it_fits_anywhere():
    problem = Problem((Machine("oven", ((0, 200), (300, 400))),), (one_step("A", (0,), 150, 500),))
    longer = stretched(problem, Scatter({(0, 0): triangular(1.0, 2.0, 3.0)}), 0.9)
    assert longer.jobs[0].operations[0].modes[0].duration == 200


def test_a_list_whose_work_does_not_fit_into_the_calendar_gives_no_plan():
    problem = Problem((Machine("press", ((0, 150),)),), (one_step("A", (0,), 100, 100), one_step("B", (0,), 100, 100)))
    assert planned(problem, [(0, 0, 0), (1, 0, 0)]) is None


def test_a_book_planned_for_the_floor_is_expected_no_later_than_on_paper():
    spread = WorkSpread(work_centre="BENCH", of="time", form="triangular", least=0.9, likely=1.0, most=1.6)
    book = scraper_plant(work_spreads=(spread,))
    plans = [plan_weeks(book, effort=300, expected=expected) for expected in (True, True, False)]
    assert plans[0] == plans[1]
    late = []
    for plan in plans[1:]:
        model = model_of_plan(book, plan)
        late.append(float((replays(model, 2000, 31).finish - model.targets[0].due).clip(min=0).mean()))
    assert late[0] <= late[1] + 1e-9
