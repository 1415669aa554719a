"""Problems no plan can solve, each refused before solving with what is wrong and by how much."""

from dataclasses import replace

import pytest

from naptuft.errors import Infeasible
from naptuft.planning.problem import Crew, Job, Machine, Mode, Need, Operation, Problem, SharedStore
from naptuft.planning.schedule import read_instance, schedule
from naptuft.planning.schedule.faults import faults_of

DAY = ((0, 480), (1440, 1920))
PRESS = Operation((Mode(0, 60),))


def one(*operations: Operation, **more) -> Problem:
    machines = Machine("press", DAY), Machine("vat"), Machine("oven", DAY, takes=4)
    crews = Crew("setters", 2), Crew("gluers", 1, ((300, 400), (1500, 1600)))
    changes = {0: {("red", "blue"): 40}}
    given = Problem(machines, (Job("A", operations),), (SharedStore("racks", 3),), changes, crews=crews)
    return replace(given, **more)


@pytest.mark.parametrize(
    ("problem", "place", "allowed"),
    [
        (one(Operation(())), "A, step 1", "at least one machine that can do it"),
        (one(Operation((Mode(9, 5),))), "A, step 1", "the number of a machine"),
        (one(), "A", "at least one step"),
        (one(Operation((Mode(0, 500),))), "A, step 1", "at most 480 min without pause on press"),
        (one(Operation((Mode(0, 1000),), pauses=True)), "A, step 1", "at most 960 min of open time in all on press"),
        (
            one(Operation((Mode(0, 120),), needs=(Need(1, 1),))),
            "A, step 1",
            "at most 100 min without pause on press with its crew",
        ),
        (one(replace(PRESS, needs=(Need(0, 3),))), "A, step 1", "0 to 2, all of setters"),
        (one(replace(PRESS, needs=(Need(5, 1),))), "A, step 1", "the number of a crew"),
        (one(replace(PRESS, needs=(Need(0, 1), Need(0, 1)))), "A, step 1", "each crew once"),
        (one(Operation((Mode(2, 5),), load=5)), "A, step 1", "0 to 4, all that oven takes"),
        (one(Operation((Mode(0, 5, setup=6),))), "A, step 1", "a setup of 0 to 5 min"),
        (one(replace(PRESS, transfers=0)), "A, step 1", "at least 1 transfer batch"),
        (one(replace(PRESS, transfers=2, max_wait=60), PRESS), "A, step 1", "1 transfer batch where a longest wait"),
        (one(replace(PRESS, store=0, units=4)), "A, step 1", "at most 3, all that racks holds"),
        (
            one(replace(PRESS, min_wait=50, max_wait=49), PRESS),
            "A, step 1",
            "a longest wait of at least the shortest, 50 min",
        ),
        (
            one(replace(PRESS, family="red", max_wait=30), replace(PRESS, family="blue")),
            "A, step 1",
            "a longest wait of at least the changeover to the next step, 40 min",
        ),
        (
            one(
                replace(PRESS, max_wait=60),
                Operation((Mode(0, 400),)),
                machines=(Machine("press", ((0, 100), (700, 1100))),),
            ),
            "A, step 1",
            "a longest wait within which the machine of the next step is open after it",
        ),
        (
            one(
                PRESS,
                jobs=tuple(Job(n, (PRESS,), after=(a,)) for n, a in (("A", "C"), ("B", "A"), ("C", "B"), ("D", "C"))),
            ),
            "jobs, after",
            "no job that waits for itself",
        ),
        (one(PRESS, jobs=(Job("A", (PRESS,), after=("Z",)),)), "A, after", "the name of a job"),
        (one(PRESS, crews=(Crew("setters", 2, ((5, 3),)),)), "calendar of setters", "stretches in order"),
        (one(PRESS, machines=(Machine("press", takes=0),)), "press", "room for at least 1"),
    ],
)
def test_what_cannot_be_planned_is_named_before_solving(problem: Problem, place: str, allowed: str):
    faults = faults_of(problem)
    assert [fault.place for fault in faults] == [place]
    assert allowed in faults[0].allowed
    with pytest.raises(Infeasible):
        schedule(problem)


def test_a_loop_of_jobs_is_named_whole_without_those_behind_it():
    ring = tuple(Job(n, (PRESS,), after=(a,)) for n, a in (("A", "C"), ("B", "A"), ("C", "B"), ("D", "C")))
    assert faults_of(one(jobs=ring))[0].value in {"A waits for C waits for B waits for A"}
    two = (*ring, Job("X", (PRESS,), after=("Y",)), Job("Y", (PRESS,), after=("X",)))
    assert [fault.value for fault in faults_of(one(jobs=two))] == [
        "A waits for C waits for B waits for A",
        "X waits for Y waits for X",
    ]


def test_a_longest_wait_that_just_fits_is_no_fault():
    pair = replace(PRESS, family="red", max_wait=40), replace(PRESS, family="blue")
    assert faults_of(one(*pair)) == ()
    by_way = replace(PRESS, family="white")  # red to white to blue takes no changeover
    tight = replace(pair[0], max_wait=30), pair[1]
    assert faults_of(one(jobs=(Job("A", tight), Job("B", (by_way,))))) == ()
    over_night = one(replace(PRESS, max_wait=1380), Operation((Mode(0, 480),)))
    assert faults_of(over_night) == ()


def many(count: int, operation: Operation, **more) -> Problem:
    return one(jobs=tuple(Job(f"W{k}", (operation,)) for k in range(count)), **more)


CLOSING = (Machine("press", DAY), Machine("second", DAY), Machine("oven", DAY, takes=4))


@pytest.mark.parametrize(
    ("problem", "place", "value", "allowed"),
    [
        (
            many(17, PRESS),
            "press",
            "1020 min of work",
            "at most 960 min, all that is open until day 2, 08:00; 60 min are",
        ),
        (
            many(33, Operation((Mode(0, 60), Mode(1, 60))), machines=CLOSING),
            "press and second",
            "1980 min of work",
            "1920 min, all that is open until day 2, 08:00; 60 min",
        ),
        (many(33, Operation((Mode(2, 240),), load=2)), "oven", "3960 min of work", "960 min"),
        (
            many(12, Operation((Mode(0, 60), Mode(1, 60)), store=0, units=3, min_wait=120), machines=CLOSING),
            "racks",
            "108 h of places",
            "at most 102 h, all its 3 places until day 2, 10:00; 6 h are too much",
        ),
        (
            many(
                31,
                Operation((Mode(0, 60), Mode(1, 60)), needs=(Need(0, 1.0),)),
                machines=CLOSING,
                crews=(Crew("setters", 1, DAY),),
            ),
            "setters",
            "31.0 h of work",
            "at most 16.0 h of 1 people until day 2, 08:00; 15.0 h are too much",
        ),
    ],
)
def test_capacity_that_is_never_enough_says_which_by_how_much_and_until_when(
    problem: Problem, place: str, value: str, allowed: str
):
    fault = next(fault for fault in faults_of(problem) if fault.place == place)
    assert fault.value == value
    assert allowed in fault.allowed


def test_as_much_as_there_is_is_no_fault():
    assert faults_of(many(16, PRESS)) == ()
    assert faults_of(many(8, Operation((Mode(2, 240),), load=2))) == ()


def test_an_instance_with_crews_batches_and_transfers_reads():
    problem = read_instance(
        {
            "machines": [{"name": "oven", "open": None, "takes": 4}, {"name": "bench"}],
            "crews": [{"name": "bakers", "people": 1.5, "open": [[0, 90]]}],
            "jobs": [
                {
                    "name": "A",
                    "operations": [
                        {
                            "modes": [{"machine": "bench", "duration": 30, "setup": 6}],
                            "transfers": 3,
                            "needs": [{"crew": "bakers", "people": 0.5, "changeover": True}],
                        },
                        {"modes": [{"machine": "oven", "duration": 20}], "load": 2},
                    ],
                }
            ],
            "objective": "makespan",
        }
    )
    first, second = problem.jobs[0].operations
    assert problem.crews == (Crew("bakers", 1.5, ((0, 90),)),)
    assert (first.needs, first.transfers, first.modes) == ((Need(0, 0.5, True),), 3, (Mode(0 + 1, 30, 6),))
    assert (second.load, problem.machines[0].takes) == (2, 4)
    assert schedule(problem, effort=1).objective == (37,)  # the last third comes at 30 and takes 7 of the 20 min
    with pytest.raises(Infeasible, match="declare it under crews"):
        read_instance(
            {
                "machines": [{"name": "bench"}],
                "jobs": [
                    {
                        "name": "A",
                        "operations": [
                            {"modes": [{"machine": "bench", "duration": 3}], "needs": [{"crew": "x", "people": 1}]}
                        ],
                    }
                ],
                "objective": "makespan",
            }
        )
