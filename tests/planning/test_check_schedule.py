"""The checker of schedules: one schedule spoiled on purpose for each rule."""

from dataclasses import replace

import pytest

from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Job, Machine, Mode, Operation, Placement, Problem, SharedStore

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
