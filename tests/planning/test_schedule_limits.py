"""Whenever a search is stopped, what it has is a whole plan."""

import itertools

import pytest

from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Job, Machine, Mode, Operation, Problem
from naptuft.planning.schedule import schedule

FAMILIES = ("red", "white", "blue")
CHANGES: dict[tuple[str, str], int] = dict.fromkeys(itertools.permutations(FAMILIES, 2), 10)


def plant(jobs: int) -> Problem:
    """Two vats and a bench; more than they can do in time."""
    return Problem(
        (Machine("vat 1"), Machine("vat 2"), Machine("bench")),
        tuple(
            Job(
                f"W{k}",
                (
                    Operation((Mode(0, 20 + k % 7), Mode(1, 25)), family=FAMILIES[k % 3], min_wait=30),
                    Operation((Mode(2, 12),)),
                ),
                due=10 * k,
            )
            for k in range(jobs)
        ),
        changeovers={0: CHANGES, 1: CHANGES},
    )


@pytest.mark.parametrize("threads", [1, 2])
def test_a_search_stopped_at_any_moment_has_a_whole_plan(threads):
    """Each run is stopped one poll later than the one before: between lists, chains, short walks and heated walks too."""
    problem = plant(12)
    whole = schedule(problem, effort=4000, threads=threads)
    for polls in [*range(140), *range(140, 400, 7)]:
        asked = itertools.count()
        plan = schedule(problem, effort=4000, threads=threads, stop=lambda asked=asked, most=polls: next(asked) >= most)
        assert check_schedule(problem, plan.placements) == ()
        assert plan.objective >= (whole.bound or 0.0,)
        assert len(plan.placements) == 24


def test_two_jobs_change_places_where_that_is_all_there_is_to_gain():
    """Every vat is full to the minute: any other move makes something else late."""
    jobs = tuple(
        Job(f"W{k}", (Operation((Mode(0, 30),)), Operation((Mode(1, 30),))), due=30 * (k + 2)) for k in range(40)
    )
    plan = schedule(Problem((Machine("vat"), Machine("bench")), jobs[::-1]), effort=20_000)
    assert plan.objective == (0.0, 0.0)
