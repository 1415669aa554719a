"""Operations pinned to a machine and a time: kept, or refused with what they clash with."""

import pytest

from naptuft.errors import Infeasible
from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Job, Machine, Mode, Operation, Problem, SharedStore
from naptuft.planning.schedule import read_instance, schedule
from naptuft.planning.schedule.faults import faults_of

DAY = ((0, 480), (1440, 1920))


def problem(*jobs: Job, machines: tuple[Machine, ...] = (Machine("press", DAY), Machine("vat")), **more) -> Problem:
    return Problem(machines, jobs, (SharedStore("racks", 3),), **more)


def job(name: str, *operations: Operation, **more) -> Job:
    return Job(name, operations, **more)


def on_press(minutes: int, start: int | None = None, **more) -> Operation:
    return Operation((Mode(0, minutes),), pinned=None if start is None else (0, start), **more)


def test_others_go_before_and_behind_a_pin():
    pinned = job("A", on_press(100, 200))
    plan = schedule(problem(pinned, job("B", on_press(200)), job("C", on_press(190))), effort=100)
    times = sorted((p.start, p.end) for p in plan.placements)
    assert times == [(0, 200), (200, 300), (1440, 1630)] or times == [(0, 190), (200, 300), (1440, 1640)]
    assert next(p.reason for p in plan.placements if p.job == 0) == "pinned to press at day 1, 03:20"


def test_what_a_pin_waits_for_goes_first():
    first = Operation((Mode(1, 50),))
    late = [job(f"L{k}", Operation((Mode(1, 40),)), due=0, weight=100.0) for k in range(5)]
    plan = schedule(problem(*late, job("A", first, on_press(10, 60)), objective="makespan"), effort=1)
    assert {(p.job, p.index): p.start for p in plan.placements}[5, 0] <= 10


def test_a_changeover_is_kept_free_before_a_pin():
    changes = {0: {("red", "blue"): 30, ("white", "red"): 5}}
    pinned = job("A", on_press(100, 200, family="blue"))
    red = job("B", on_press(170, family="red"), due=0)
    machines = (Machine("press", set_for="white"),)
    plan = schedule(Problem(machines, (pinned, red), changeovers=changes), effort=200)
    assert plan.placements[1].start == 300  # 5 + 170 + 30 is past minute 200
    red = job("B", on_press(165, family="red"), due=0)
    plan = schedule(Problem(machines, (pinned, red), changeovers=changes), effort=200)
    assert [(p.start, p.changeover) for p in plan.placements] == [(200, 30), (5, 5)]


def test_racks_are_kept_free_for_a_pin():
    pinned = job("A", on_press(100, 200, store=0, units=2, min_wait=50))
    vat = Operation((Mode(1, 20),), store=0, units=2, min_wait=200)
    plan = schedule(problem(pinned, job("B", vat, due=0), job("C", vat, due=0)), effort=300)
    assert check_schedule(problem(pinned, job("B", vat), job("C", vat)), plan.placements) == ()
    assert sorted(p.start for p in plan.placements) == [200, 350, 570]


@pytest.mark.parametrize(
    ("jobs", "place", "words"),
    [
        ((job("A", Operation((Mode(1, 5),), pinned=(0, 0))),), "A, step 1", "a machine that can do it: vat"),
        ((job("A", Operation((Mode(1, 5),), pinned=(7, 0))),), "A, step 1", "a machine that can do it: vat"),
        ((job("A", on_press(5, -1)),), "A, step 1", "0 or later"),
        ((job("A", on_press(100, 400)),), "A, step 1", "press is open for its 100 min, the next at day 2, 00:00"),
        ((job("A", on_press(100, 600, pauses=True)),), "A, step 1", "press is open"),
        ((job("A", on_press(10, 5), release=6),), "A, step 1", "when A is released"),
        ((job("A", on_press(10), on_press(10, 9)),), "A, step 2", "when step 1 of A is over at the earliest"),
        (
            (job("A", on_press(10, 0, min_wait=30), on_press(10, 39)),),
            "A, step 2",
            "when step 1 of A is over as pinned",
        ),
        ((job("A", on_press(10, 0, max_wait=30), on_press(10, 41)),), "A, step 2", "when a longest wait is over"),
        (
            (job("A", on_press(10, 400, max_wait=30), on_press(100)),),
            "A, step 1",
            "step 2 start by day 1, 07:20, within its longest wait; it cannot before day 2, 00:00",
        ),
        ((job("A", on_press(10)), job("B", on_press(10, 9), after=("A",))), "B, step 1", "when step 1 of A is over"),
        (
            (job("A", on_press(100, 0)), job("B", on_press(10, 99))),
            "B, step 1",
            "behind A, step 1, pinned, which takes press until day 1, 01:40",
        ),
        (
            (job("A", on_press(10, 0, family="red")), job("B", on_press(10, 19, family="blue"))),
            "B, step 1",
            "a time, 10 min of changeover before it, behind A, step 1, pinned",
        ),
        ((job("A", on_press(10, 3, family="blue")),), "A, step 1", "behind the start of the plan"),
        (
            (
                job("A", on_press(10, 0, store=0, units=2, min_wait=50)),
                job("B", on_press(10, 59, store=0, units=2)),
            ),
            "B, step 1",
            "racks has room for its 2: A, step 1, also pinned, hold 2 of 3",
        ),
    ],
)
def test_a_pin_that_cannot_be_kept_says_with_what_it_clashes(jobs: tuple[Job, ...], place: str, words: str):
    given = problem(
        *jobs,
        machines=(Machine("press", DAY, "white"), Machine("vat")),
        changeovers={0: {("red", "blue"): 10, ("white", "blue"): 4}},
    )
    faults = faults_of(given)
    assert [fault.place for fault in faults] == [f"{place}, pinned"]
    assert words in faults[0].allowed
    with pytest.raises(Infeasible):
        schedule(given)


def test_pins_that_just_fit_are_no_fault():
    first = job("A", on_press(10, 0, family="red", store=0, units=2, min_wait=50, max_wait=60), on_press(5, 70))
    second = job("B", on_press(10, 20, family="blue"), Operation((Mode(1, 5),), store=0, units=2, pinned=(1, 60)))
    given = problem(first, second, changeovers={0: {("red", "blue"): 10}})
    assert faults_of(given) == ()
    plan = schedule(given, effort=10)
    assert [(p.machine, p.start) for p in plan.placements] == [(0, 0), (0, 70), (0, 20), (1, 60)]


def test_an_instance_in_json_may_pin_and_say_what_is_set():
    given = read_instance(
        {
            "machines": [{"name": "press", "open": None, "set_for": "red"}, {"name": "racks", "capacity": 2}],
            "jobs": [
                {
                    "name": "A",
                    "operations": [
                        {"modes": [{"machine": "press", "duration": 6}], "pinned": {"machine": "press", "start": 30}}
                    ],
                }
            ],
            "objective": "makespan",
        }
    )
    assert given.machines[0].set_for == "red"
    assert given.jobs[0].operations[0].pinned == (0, 30)
    assert schedule(given, effort=5).objective == (36,)


def test_a_pin_is_kept_where_work_between_makes_the_changeover_shorter():
    changes = {0: {("dark", "light"): 20, ("dark", "rinse"): 1, ("rinse", "light"): 1}}
    jobs = (
        Job("D", (Operation((Mode(0, 5),), family="dark", pinned=(0, 0)),)),
        Job("R", (Operation((Mode(0, 1),), family="rinse"),)),
        Job("L", (Operation((Mode(0, 5),), family="light", pinned=(0, 8)),)),
    )
    plan = schedule(Problem((Machine("dip"),), jobs, changeovers=changes), effort=50)
    assert [(p.start, p.changeover) for p in plan.placements] == [(0, 0), (6, 1), (8, 1)]
