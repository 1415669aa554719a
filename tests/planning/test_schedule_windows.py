"""A part of a plan set free and solved exactly, the rest staying where it is."""

from itertools import pairwise

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from naptuft.errors import Infeasible
from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Crew, Job, Machine, Mode, Need, Operation, Placement, Problem, SharedStore
from naptuft.planning.schedule import schedule
from naptuft.planning.schedule.search import Search
from naptuft.planning.schedule.windows import Surroundings, Windows, solve_window

DAYS = tuple((day * 1440, day * 1440 + 960) for day in range(60))
PAINT = {("white", "red"): 30, ("red", "white"): 90}


def one_step(name: str, family: str, minutes: int = 60, due: int = 10_000) -> Job:
    return Job(name, (Operation((Mode(0, minutes),), family, pauses=True, name="dip"),), due=due)


def in_turn(jobs: tuple[Job, ...], changes: dict[tuple[str, str], int]) -> tuple[Placement, ...]:
    """The jobs one after another as they are given, on a machine that is always open."""
    placed, free, was = [], 0, ""
    for number, job in enumerate(jobs):
        operation = job.operations[0]
        change = changes.get((was, str(operation.family)), 0)
        start = free + change
        free = start + operation.modes[0].duration
        placed.append(Placement(number, 0, 0, start, free, change))
        was = str(operation.family)
    return tuple(placed)


def decoded(problem: Problem, placements: tuple[Placement, ...]) -> tuple[tuple[Placement, ...], tuple[float, float]]:
    """A proposal put on the floor in the order of its starts."""
    search = Search(problem, 1, 10, None, None, None, 1)
    search.take(placements)
    assert search.best is not None
    return search.placements(search.best), search.best.figures


def test_a_vat_that_goes_from_red_to_white_and_back_is_changed_over_once():
    jobs = tuple(one_step(f"W{k}", "red" if k % 2 else "white") for k in range(8))
    problem = Problem((Machine("vat"),), jobs, changeovers={0: PAINT})
    plan = in_turn(jobs, PAINT)
    assert sum(place.changeover for place in plan) == 390

    answer = solve_window(Surroundings(problem, plan), frozenset((k, 0) for k in range(8)), work=5.0)

    assert answer.proven
    assert answer.placements is not None
    better, figures = decoded(problem, answer.placements)
    assert figures == (0.0, 30.0)
    assert check_schedule(problem, better) == ()


def test_what_is_not_set_free_stays_where_it_is():
    jobs = tuple(one_step(f"W{k}", "red" if k % 2 else "white") for k in range(8))
    problem = Problem((Machine("vat"),), jobs, changeovers={0: PAINT})
    plan = in_turn(jobs, PAINT)

    answer = solve_window(Surroundings(problem, plan), frozenset((k, 0) for k in range(2, 6)), work=5.0)

    assert answer.placements is not None
    found = {(place.job, place.index): place for place in answer.placements}
    for number in (0, 1, 6, 7):
        assert found[number, 0] == plan[number]
    assert sorted(found) == [(number, 0) for number in range(8)]


def test_time_saved_in_a_window_counts_for_the_late_orders_behind_it():
    """Nothing in the window is late by itself: only what waits behind it gains by fewer changeovers."""
    jobs = (*(one_step(f"W{k}", "red" if k % 2 else "white") for k in range(4)), one_step("late", "red", due=300))
    problem = Problem((Machine("vat"),), jobs, changeovers={0: PAINT})
    plan = in_turn(jobs, PAINT)

    answer = solve_window(Surroundings(problem, plan), frozenset((k, 0) for k in range(4)), work=5.0)

    assert answer.placements is not None
    assert decoded(problem, answer.placements)[1] == (30.0, 30.0)
    assert decoded(problem, plan)[1][0] == 150.0


def test_one_crew_that_also_changes_over_is_never_asked_for_by_two_at_once():
    both = tuple(
        Job(
            f"W{k}",
            (Operation((Mode(k % 2, 60),), "red" if k // 2 % 2 else "white", needs=(Need(0, 1.0, changeover=True),)),),
            due=0,
        )
        for k in range(6)
    )
    problem = Problem(
        (Machine("vat"), Machine("line")), both, changeovers={0: PAINT, 1: PAINT}, crews=(Crew("painters", 1.0),)
    )
    plan = schedule(problem, effort=1).placements
    answer = solve_window(Surroundings(problem, plan), frozenset((k, 0) for k in range(6)), work=5.0)
    assert answer.possible
    proposed = answer.placements or plan
    busy = sorted((place.start - place.changeover, place.end) for place in proposed)
    assert all(end <= begin for (_, end), (begin, _) in pairwise(busy))


def test_a_plan_without_due_times_has_no_windows():
    jobs = tuple(one_step(f"W{k}", "red" if k % 2 else "white") for k in range(4))
    problem = Problem((Machine("vat"),), jobs, changeovers={0: PAINT}, objective="makespan")
    assert Windows(problem, 1).improve(in_turn(jobs, PAINT), work=1.0) is None


@st.composite
def plants(draw) -> Problem:
    machines = tuple(Machine(f"M{k}", draw(st.sampled_from([None, DAYS]))) for k in range(3))
    jobs = []
    for number in range(draw(st.integers(3, 9))):
        operations = []
        for _ in range(draw(st.integers(1, 3))):
            wait, held = draw(st.sampled_from([0, 0, 45])), draw(st.booleans())
            operations.append(
                Operation(
                    tuple(
                        Mode(machine, draw(st.integers(5, 200)), penalty=draw(st.sampled_from([0, 20])))
                        for machine in draw(st.lists(st.integers(0, 2), min_size=1, max_size=2, unique=True))
                    ),
                    draw(st.sampled_from([None, "white", "red"])),
                    wait,
                    wait + 2000 if draw(st.integers(0, 5)) == 0 else None,
                    0 if held else None,
                    draw(st.integers(1, 2)) if held else 0,
                    draw(st.booleans()),
                    needs=draw(st.sampled_from([(), (), (Need(0, 1.0),), (Need(0, 1.0, changeover=True),)])),
                )
            )
        after = (f"W{draw(st.integers(0, number - 1))}",) if number and draw(st.booleans()) else ()
        due = draw(st.one_of(st.none(), st.integers(0, 1500)))
        weight = draw(st.sampled_from([0.0, 1.0, 2.5]))
        jobs.append(Job(f"W{number}", tuple(operations), draw(st.sampled_from([0, 100])), due, weight, after))
    return Problem(
        machines, tuple(jobs), (SharedStore("racks", 3),), {0: PAINT, 1: PAINT}, crews=(Crew("painters", 1.0),)
    )


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(plants(), st.integers(0, 2), st.integers(1, 50))
def test_any_window_of_any_plan_has_an_answer_and_what_is_made_of_it_is_clean(problem, kind, seed):
    try:
        plan = schedule(problem, effort=1).placements
    except Infeasible:
        assume(False)
        return
    windows = Windows(problem, seed)
    windows.turn = kind
    around = Surroundings(problem, plan)
    free = windows.choose(around)
    assume(free)
    answer = solve_window(around, free, work=0.5)
    assert answer.possible
    if answer.placements is None:
        return
    better, _ = decoded(problem, answer.placements)
    assert check_schedule(problem, better) == ()
    for place in answer.placements:
        if (place.job, place.index) not in free:
            before = around.placed[place.job, place.index]
            assert (place.machine, place.end - place.start) == (before.machine, before.end - before.start)
            assert place.start >= before.start


def test_a_search_that_finds_no_more_solves_parts_of_its_plan_exactly():
    jobs = tuple(one_step(f"W{k}", "red" if k % 2 else "white", due=60 * k + 200) for k in range(40))
    problem = Problem((Machine("vat"), Machine("line")), jobs, changeovers={0: PAINT})
    told = []
    plan = schedule(problem, effort=200_000, progress=lambda state: told.append(state.trying))
    assert "a window solved exactly" in told
    assert check_schedule(problem, plan.placements) == ()
