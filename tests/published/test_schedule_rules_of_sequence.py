"""Sequencing rules that are proven optimal, against the scheduler.

S. M. Johnson, Naval Research Logistics Quarterly 1 (1954) 61: two-machine flow shop.
J. R. Jackson, Management Science Research Report 43, UCLA 1955: least greatest lateness on one machine.
W. E. Smith, Naval Research Logistics Quarterly 3 (1956) 59: least weighted sum of finishes on one machine.
J. M. Moore, Management Science 15 (1968) 102: fewest late jobs on one machine.
The rules are from memory; each is applied here by its own few lines.
"""

import random

import pytest

from naptuft.planning.problem import Job, Machine, Mode, Operation, Problem
from naptuft.planning.schedule import schedule

SEEDS = range(4)


def one_machine(jobs: list[tuple[int, int | None, float, int]]) -> tuple[Job, ...]:
    return tuple(
        Job(f"J{k}", (Operation((Mode(0, minutes),), min_wait=wait),), due=due, weight=weight)
        for k, (minutes, due, weight, wait) in enumerate(jobs)
    )


def johnson_makespan(jobs: list[tuple[int, int]]) -> int:
    early = sorted((a, b) for a, b in jobs if a < b)
    late = sorted(((a, b) for a, b in jobs if a >= b), key=lambda pair: -pair[1])
    first = second = 0
    for a, b in early + late:
        first += a
        second = max(second, first) + b
    return second


@pytest.mark.parametrize("seed", SEEDS)
def test_two_machine_flow_shop_reaches_johnsons_makespan(seed):
    """Johnson 1954."""
    dice = random.Random(seed)
    times = [(dice.randint(1, 30), dice.randint(1, 30)) for _ in range(12)]
    jobs = tuple(Job(f"J{k}", (Operation((Mode(0, a),)), Operation((Mode(1, b),)))) for k, (a, b) in enumerate(times))
    plan = schedule(Problem((Machine("cut"), Machine("finish")), jobs, objective="makespan"))
    assert plan.objective == (johnson_makespan(times),)
    assert plan.status == "optimal"


@pytest.mark.parametrize("seed", SEEDS)
def test_greatest_lateness_is_jacksons(seed):
    """Jackson 1955: earliest due date first. A wait of (latest due - due) makes the makespan the lateness."""
    dice = random.Random(seed)
    work = [(dice.randint(1, 20), dice.randint(10, 120)) for _ in range(12)]
    latest = max(due for _, due in work)
    clock, lateness = 0, -latest
    for minutes, due in sorted(work, key=lambda pair: pair[1]):
        clock += minutes
        lateness = max(lateness, clock - due)
    jobs = one_machine([(minutes, None, 1.0, latest - due) for minutes, due in work])
    plan = schedule(Problem((Machine("bench"),), jobs, objective="makespan"))
    assert plan.objective == (lateness + latest,)
    assert plan.status == "optimal"


@pytest.mark.parametrize("seed", SEEDS)
def test_weighted_sum_of_finishes_is_smiths(seed):
    """Smith 1956: largest weight over minutes first; every job due at once."""
    dice = random.Random(seed)
    work = [(dice.randint(1, 20), dice.randint(1, 5)) for _ in range(12)]
    clock = total = 0
    for minutes, weight in sorted(work, key=lambda pair: pair[0] / pair[1]):
        clock += minutes
        total += weight * clock
    plan = schedule(Problem((Machine("bench"),), one_machine([(p, 0, float(w), 0) for p, w in work])))
    assert plan.objective == (total, 0)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_has_fewer_late_jobs_than_moore_and_none_is_late_where_none_need_be(seed):
    """Moore 1968 (Hodgson's version): drop the longest job whenever one would be late."""
    dice = random.Random(seed)
    for latest in (60, 400):
        work = [(dice.randint(1, 20), dice.randint(20, latest)) for _ in range(12)]
        kept: list[int] = []
        for minutes, due in sorted(work, key=lambda pair: pair[1]):
            kept.append(minutes)
            if sum(kept) > due:
                kept.remove(max(kept))
        plan = schedule(Problem((Machine("bench"),), one_machine([(p, d, 1.0, 0) for p, d in work])), effort=3000)
        late = sum(placement.end > work[placement.job][1] for placement in plan.placements)
        assert late >= len(work) - len(kept)
        if len(kept) == len(work):
            assert plan.objective[0] == 0
