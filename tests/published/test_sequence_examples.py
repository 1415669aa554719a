"""Worked examples of sequencing and line balance, against the scheduler and the balance.

S. M. Johnson, Naval Research Logistics Quarterly 1 (1954) 61, on five jobs of a worked exercise (L 10/2, M 5/4, N 7/5,
O 3/6, P 1/7, "use Johnson's rule to determine the optimal sequencing", justaaa.com 392320): sequence P O N M L.
The page gives 26 hours: that is the end on the first machine; the second ends at 28.
A cutting and binding exercise (GATE, five jobs 8/8, 6/7, 2/7, 5/6, 7/4): sequence 3 4 2 1 5.
J. M. Moore, Management Science 15 (1968) 102, in M. Pinedo, Scheduling, example 3.3.3 (from memory): jobs of 7, 8, 4, 6, 6
due at 9, 17, 18, 19, 21: two late.
J. R. Jackson 1955: earliest due date first has the least greatest lateness.
W. J. Stevenson, Operations Management, ch. 6, line balancing example 1: tasks a 0.1, b 1.0, c 0.7, d 0.5, e 0.2 min,
cycle 1.0 min: three stations, 83.3 % efficient.
"""

from __future__ import annotations

from itertools import permutations

import pytest

from naptuft.planning.capacity import balance_line, crew_for_rate
from naptuft.planning.problem import Job, Machine, Mode, Operation, Problem
from naptuft.planning.schedule import schedule


def two_machine_ends(times: dict[str, tuple[int, int]], sequence: str) -> tuple[int, int]:
    """End of the last job on the first and the second machine."""
    first = second = 0
    for job in sequence:
        first += times[job][0]
        second = max(first, second) + times[job][1]
    return first, second


EXERCISE = {"L": (10, 2), "M": (5, 4), "N": (7, 5), "O": (3, 6), "P": (1, 7)}
BINDERY = {"1": (8, 8), "2": (6, 7), "3": (2, 7), "4": (5, 6), "5": (7, 4)}


@pytest.mark.parametrize(("times", "sequence"), [(EXERCISE, "PONML"), (BINDERY, "34215")])
def test_the_scheduler_is_as_short_as_the_published_sequence(times, sequence):
    """No order of the five jobs is shorter, and the scheduler proves it."""
    shortest = min(two_machine_ends(times, "".join(order))[1] for order in permutations(times))
    assert two_machine_ends(times, sequence)[1] == shortest
    jobs = tuple(Job(name, (Operation((Mode(0, a),)), Operation((Mode(1, b),)))) for name, (a, b) in times.items())
    plan = schedule(Problem((Machine("cut"), Machine("bind")), jobs, objective="makespan"))
    assert plan.objective == (shortest,)
    assert plan.status == "optimal"


def test_the_exercise_takes_28_hours_not_the_published_26():
    assert two_machine_ends(EXERCISE, "PONML") == (26, 28)


def test_pinedos_five_jobs_have_two_late_and_no_plan_fewer():
    work = [(7, 9), (8, 17), (4, 18), (6, 19), (6, 21)]
    jobs = tuple(Job(f"{k}", (Operation((Mode(0, p),)),), due=d) for k, (p, d) in enumerate(work))
    plan = schedule(Problem((Machine("bench"),), jobs), effort=2000)
    late = sum(placed.end > work[placed.job][1] for placed in plan.placements)

    def late_in(order) -> int:
        clock = count = 0
        for k in order:
            clock += work[k][0]
            count += clock > work[k][1]
        return count

    assert min(late_in(order) for order in permutations(range(5))) == 2
    assert late >= 2


def test_stevensons_line_needs_three_stations_and_is_83_percent_efficient():
    tasks = {"a": 0.1, "b": 1.0, "c": 0.7, "d": 0.5, "e": 0.2}
    seats = balance_line(tasks, {"b": ["a"], "d": ["b", "c"], "e": ["d"]}, 1.0)
    assert len(seats) == crew_for_rate(list(tasks.values()), 1.0) == 3
    assert [round(seat.time, 9) for seat in seats] == [0.8, 1.0, 0.7]
    assert sum(tasks.values()) / len(seats) == pytest.approx(0.833, abs=5e-4)
