"""The checker of schedules: one schedule spoiled on purpose for each rule."""

from dataclasses import replace

import pytest

from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Crew, Job, Machine, Mode, Need, Operation, Placement, Problem, SharedStore

DAY = ((0, 480), (1440, 1920))

PROBLEM = Problem(
    machines=(Machine("line", DAY), Machine("press")),
    stores=(SharedStore("racks", 3),),
    jobs=(
        Job(
            "A",
            (
                Operation((Mode(0, 100), Mode(1, 90)), family="red", min_wait=30, max_wait=60, store=0, units=2),
                Operation((Mode(0, 50),)),
            ),
            release=10,
        ),
        Job("B", (Operation((Mode(0, 200),), family="blue", pauses=True, min_wait=20, store=0, units=2),)),
        Job("C", (Operation((Mode(1, 40),)),), after=("B",)),
    ),
    changeovers={0: {("red", "blue"): 15}},
)

CLEAN = (
    Placement(0, 0, 0, start=10, end=110),
    Placement(0, 1, 0, start=140, end=190),
    Placement(1, 0, 0, start=400, end=1560, changeover=15),
    Placement(2, 0, 1, start=1580, end=1620),
)


def rules(*placements: Placement, problem: Problem = PROBLEM) -> set[str]:
    return {finding.rule for finding in check_schedule(problem, placements)}


def moved(place: int, **changes: int) -> tuple[Placement, ...]:
    return tuple(replace(placed, **changes) if i == place else placed for i, placed in enumerate(CLEAN))


def test_a_clean_schedule_passes():
    assert check_schedule(PROBLEM, CLEAN) == ()
    assert check_schedule(PROBLEM, CLEAN[::-1]) == ()


@pytest.mark.parametrize(
    ("rule", "placements"),
    [
        ("every operation once", CLEAN[:-1]),
        ("every operation once", (*CLEAN, CLEAN[-1])),
        ("every operation once", (*CLEAN, Placement(7, 0, 0, start=0, end=0))),
        ("right machine", moved(2, machine=1, end=600, changeover=0)),
        ("right duration", moved(1, end=189)),
        ("right duration", moved(2, end=1561)),
        ("open time", moved(1, start=470, end=1480)),
        ("open time", moved(2, start=500, end=1640)),
        ("open time", moved(2, start=240, end=500)),
        ("one at a time", moved(2, start=180, end=380)),
        ("one at a time", moved(2, start=200, end=400)),
        ("right changeover", moved(2, changeover=0)),
        ("right changeover", moved(0, changeover=5)),
        ("order of the steps", moved(1, start=100, end=150)),
        ("least wait", moved(1, start=139, end=189)),
        ("most wait", moved(1, start=171, end=221)),
        ("store capacity", moved(2, start=125, end=325)),
        ("release", moved(0, start=9, end=109)),
        ("after another job", moved(3, start=1579, end=1619)),
        ("not before the start", moved(3, start=-40, end=0)),
    ],
)
def test_a_schedule_spoiled_on_purpose_is_found_out(rule: str, placements: tuple[Placement, ...]):
    assert rule in rules(*placements)


def test_an_operation_off_its_pin_is_found_out():
    pinned = replace(PROBLEM.jobs[2].operations[0], pinned=(1, 1580))
    problem = replace(PROBLEM, jobs=(*PROBLEM.jobs[:2], replace(PROBLEM.jobs[2], operations=(pinned,))))
    assert rules(*CLEAN, problem=problem) == set()
    assert rules(*moved(3, start=1581, end=1621), problem=problem) == {"pinned"}


def test_the_first_changeover_counts_from_what_the_machine_is_set_for():
    problem = replace(PROBLEM, machines=(replace(PROBLEM.machines[0], set_for="white"), PROBLEM.machines[1]))
    problem = replace(problem, changeovers={0: {("red", "blue"): 15, ("white", "red"): 8}})
    assert rules(*CLEAN, problem=problem) == {"right changeover"}
    assert rules(*moved(0, changeover=8), problem=problem) == set()
    early = replace(problem, changeovers={0: {("red", "blue"): 15, ("white", "red"): 12}})
    assert rules(*moved(0, changeover=12), problem=early) == {"not before the start"}


def test_only_the_rule_that_is_broken_is_named():
    assert rules(*moved(1, start=139, end=189)) == {"least wait"}
    assert rules(*moved(3, start=1579, end=1619)) == {"after another job"}
    assert rules(*moved(2, changeover=0)) == {"right changeover"}


def test_an_operation_without_family_leaves_the_machine_set_as_it_was():
    assert rules(*moved(2, changeover=0)) == {"right changeover"}
    unset = replace(PROBLEM.jobs[0].operations[0], family=None)
    job = replace(PROBLEM.jobs[0], operations=(unset, PROBLEM.jobs[0].operations[1]))
    problem = replace(PROBLEM, jobs=(job, *PROBLEM.jobs[1:]))
    assert rules(*moved(2, changeover=0), problem=problem) == set()


def test_a_store_is_free_again_the_minute_its_wait_is_over():
    job = Job("A", (Operation((Mode(0, 10),), min_wait=20, store=0, units=3),))
    problem = Problem((Machine("line"),), (job, replace(job, name="B")), (SharedStore("racks", 3),))
    first = Placement(0, 0, 0, start=0, end=10)
    assert rules(first, Placement(1, 0, 0, start=30, end=40), problem=problem) == set()
    assert rules(first, Placement(1, 0, 0, start=29, end=39), problem=problem) == {"store capacity"}


def test_findings_speak_of_the_job_and_the_machine():
    finding = check_schedule(PROBLEM, moved(2, start=180, end=380))[0]
    assert finding.place == "job B, operation 1"
    assert "line" in " ".join(found.message for found in check_schedule(PROBLEM, moved(2, start=180, end=380)))


OVEN = Machine("oven", None, "blue", takes=5)
BAKE = Operation((Mode(0, 60),), family="blue", load=2, needs=(Need(0, 1.0, changeover=True),))
TWO = Job("A", (BAKE,)), Job("B", (BAKE,))
BAKED = Problem((OVEN, Machine("bench")), TWO, changeovers={0: {("red", "blue"): 9}}, crews=(Crew("bakers", 1),))
TOGETHER = (Placement(0, 0, 0, start=10, end=70), Placement(1, 0, 0, start=10, end=70))


def test_what_goes_into_a_machine_together_is_clean_and_needs_its_people_once():
    assert rules(*TOGETHER, problem=BAKED) == set()


@pytest.mark.parametrize(
    ("rule", "problem", "placements"),
    [
        ("one at a time", replace(BAKED, machines=(Machine("oven"), Machine("bench"))), TOGETHER),
        ("one at a time", BAKED, (TOGETHER[0], Placement(1, 0, 0, start=11, end=71))),
        (
            "one at a time",
            replace(BAKED, jobs=(TWO[0], Job("B", (replace(BAKE, family="red"),)))),
            TOGETHER,
        ),
        ("batch capacity", replace(BAKED, jobs=(TWO[0], Job("B", (replace(BAKE, load=4),)))), TOGETHER),
        ("right changeover", replace(BAKED, machines=(replace(OVEN, set_for="red"), Machine("bench"))), TOGETHER),
    ],
)
def test_a_batch_spoiled_on_purpose_is_found_out(rule: str, problem: Problem, placements: tuple[Placement, ...]):
    assert rule in rules(*placements, problem=problem)


def minding(people: float, start: int, **more) -> tuple[Job, Placement]:
    """A second operation, on the bench, that needs bakers."""
    job = Job("C", (Operation((Mode(1, 30),), needs=(Need(0, people),), pauses=True, **more),))
    return job, Placement(2, 0, 1, start=start, end=start + 30)


@pytest.mark.parametrize(
    ("people", "start", "found"),
    [(1, 70, set()), (1, 69, {"crew"}), (0.5, 69, {"crew"}), (0, 20, set()), (1, 0, {"crew"})],
)
def test_more_of_a_crew_than_there_is_is_found_out(people: float, start: int, found: set[str]):
    job, placed = minding(people, start)
    assert rules(*TOGETHER, placed, problem=replace(BAKED, jobs=(*TWO, job))) == found


def test_a_crew_is_needed_for_a_changeover_where_the_operation_says_so():
    job, placed = minding(1, 62)
    late = tuple(replace(p, start=p.start + 100, end=p.end + 100) for p in TOGETHER)
    late = (replace(late[0], changeover=9), late[1])
    problem = replace(BAKED, machines=(replace(OVEN, set_for="red"), Machine("bench")), jobs=(*TWO, job))
    assert rules(*late, placed, problem=problem) == set()  # free until 101, the changeover begins at 101
    spoiled = replace(placed, start=72, end=102)
    assert rules(*late, spoiled, problem=problem) == {"crew"}
    without = tuple(
        replace(job, operations=tuple(replace(o, needs=(Need(0, 1.0),)) for o in job.operations))
        for job in problem.jobs
    )
    assert rules(*late, spoiled, problem=replace(problem, jobs=without)) == set()


def test_people_are_free_where_the_operation_pauses_and_it_runs_only_while_they_are_there():
    crew = Crew("bakers", 1, ((0, 20), (50, 200)))
    job = Job("C", (Operation((Mode(1, 30),), needs=(Need(0, 1),), pauses=True),))
    problem = Problem((OVEN, Machine("bench")), (job,), crews=(crew,))
    assert rules(Placement(0, 0, 1, start=0, end=60), problem=problem) == set()
    assert rules(Placement(0, 0, 1, start=0, end=30), problem=problem) == {"open time", "right duration"}
    other = Job("D", (Operation((Mode(0, 10),), load=1, needs=(Need(0, 1),)),))
    both = replace(problem, jobs=(job, other), crews=(replace(crew, open=None),))
    paused = replace(both, machines=(OVEN, Machine("bench", ((0, 20), (50, 200)))))
    assert rules(Placement(0, 0, 1, start=0, end=60), Placement(1, 0, 0, start=30, end=40), problem=paused) == set()
    found = rules(Placement(0, 0, 1, start=0, end=60), Placement(1, 0, 0, start=45, end=55), problem=paused)
    assert found == {"crew"}


def handed_on(transfers: int) -> Problem:
    """60 min of work after 10 min of setup, then 30 min, in so many transfer batches, 5 min of wait between."""
    steps = Operation((Mode(0, 70, 10),), min_wait=5, transfers=transfers), Operation((Mode(1, 30),))
    return Problem(
        (Machine("a", ((0, 40), (100, 200))), Machine("b")),
        (Job("A", tuple(replace(step, pauses=True) for step in steps)),),
    )


@pytest.mark.parametrize(
    ("start", "found"),
    [(110, set()), (104, {"transfer batches"}), (109, {"transfer batches"})],
)
def test_transfer_batches_that_come_too_late_are_found_out(start: int, found: set[str]):
    """First batch after 10 + 20 min (35 with the wait), last at 130 + 5, 10 min more of work: 145 at the soonest."""
    first = Placement(0, 0, 0, start=0, end=130)
    starts = start + 5
    assert rules(first, Placement(0, 1, 1, start=starts, end=starts + 30), problem=handed_on(3)) == found


def test_a_step_may_not_start_before_the_first_transfer_batch_is_there():
    first = Placement(0, 0, 0, start=0, end=130)
    long = replace(
        handed_on(3),
        jobs=(
            replace(
                handed_on(3).jobs[0],
                operations=(handed_on(3).jobs[0].operations[0], Operation((Mode(1, 300),), pauses=True)),
            ),
        ),
    )
    assert rules(first, Placement(0, 1, 1, start=35, end=335), problem=long) == set()
    assert rules(first, Placement(0, 1, 1, start=34, end=334), problem=long) == {"transfer batches"}
    whole = replace(
        long,
        jobs=(
            replace(
                long.jobs[0], operations=(replace(long.jobs[0].operations[0], transfers=1), long.jobs[0].operations[1])
            ),
        ),
    )
    assert rules(first, Placement(0, 1, 1, start=35, end=335), problem=whole) == {"order of the steps"}
