"""Job shops with published optima.

FT06: J. F. Muth, G. L. Thompson, Industrial Scheduling, Prentice-Hall 1963 (H. Fisher, G. L. Thompson): 55.
LA02: S. Lawrence, Resource constrained project scheduling, Carnegie-Mellon University 1984: 655.
Data and optima as collected in public benchmark libraries.
"""

import json
from pathlib import Path

import pytest

from naptuft.planning.problem import Job, Machine, Mode, Operation, Problem
from naptuft.planning.schedule import read_instance, schedule, solution_json

# a row a job: machine and minutes of each step
FT06 = """
2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1
"""
LA02 = """
0 20 3 87 1 31 4 76 2 17
4 25 2 32 0 24 1 18 3 81
1 72 2 23 4 28 0 58 3 99
2 86 1 76 4 97 0 45 3 90
4 27 0 42 3 48 2 17 1 46
1 67 0 98 4 48 3 27 2 62
4 28 1 12 3 19 0 80 2 50
1 63 0 94 2 98 3 50 4 80
4 14 0 75 2 50 1 41 3 55
4 72 2 18 1 37 3 79 0 61
"""
BENCHMARKS = Path("/work/shared/benchmarks/scheduling")


def shop(rows: str) -> Problem:
    jobs = []
    for number, line in enumerate(rows.strip().splitlines()):
        numbers = [int(word) for word in line.split()]
        steps = tuple(
            Operation((Mode(machine, minutes),)) for machine, minutes in zip(numbers[::2], numbers[1::2], strict=True)
        )
        jobs.append(Job(f"J{number}", steps))
    return Problem(tuple(Machine(f"M{k}") for k in range(len(jobs[0].operations))), tuple(jobs), objective="makespan")


def test_fisher_and_thompson_six_by_six_is_proven_at_55():
    """Muth & Thompson 1963: optimum 55."""
    plan = schedule(shop(FT06))
    assert plan.objective == (55,)
    assert plan.bound == 55
    assert plan.status == "optimal"


def test_lawrence_la02_is_found_at_655():
    """Lawrence 1984: optimum 655."""
    plan = schedule(shop(LA02))
    assert plan.objective == (655,)
    assert plan.bound is not None
    assert plan.bound <= 655


@pytest.mark.parametrize("path", sorted(BENCHMARKS.glob("*.json")), ids=lambda path: path.stem)
def test_no_first_plan_or_bound_contradicts_a_published_value(path):
    """Plans are never below a published lower bound, bounds never above a published makespan."""
    instance = json.loads(path.read_text())
    problem = read_instance(instance)
    plan = schedule(problem, effort=1)
    assert len(solution_json(problem, plan)["operations"]) == sum(len(job.operations) for job in problem.jobs)
    assert plan.bound is not None
    assert plan.bound <= plan.objective[0]
    if instance["published"]:
        assert plan.objective[0] >= instance["published"]["lower_bound"]
        assert plan.bound <= instance["published"]["best"]
