"""Why each operation does not start earlier: every rule that can hold it back says so."""

from dataclasses import replace

from naptuft.planning.problem import Aims, Crew, Job, Machine, Mode, Need, Operation, Placement, Problem, SharedStore
from naptuft.planning.schedule import schedule
from naptuft.planning.schedule.reasons import explain


def reasons(problem: Problem, *placements: Placement) -> list[str]:
    return [placed.reason for placed in explain(problem, placements)]


def job(name: str, *operations: Operation, **more) -> Job:
    return Job(name, operations, **more)


def test_a_crew_that_is_elsewhere_is_named_with_where_it_is():
    bench = Operation((Mode(1, 30),), needs=(Need(0, 1),), name="glue")
    press = Operation((Mode(0, 50),), needs=(Need(0, 1),), name="press")
    problem = Problem((Machine("P"), Machine("B")), (job("A", press), job("C", bench)), crews=(Crew("setters", 1),))
    plan = schedule(problem, effort=1)
    found = {p.reason for p in plan.placements}
    assert "starts with the plan" in found
    assert found & {
        "crew setters: too few free, they are at A (press)",
        "crew setters: too few free, they are at C (glue)",
    }


def test_a_crew_that_comes_later_is_the_reason():
    problem = Problem(
        (Machine("P"),),
        (job("A", Operation((Mode(0, 50),), needs=(Need(0, 1),))),),
        crews=(Crew("late", 1, ((90, 900),)),),
    )
    assert schedule(problem, effort=1).placements[0].reason.startswith("P is closed or its crew is not there")


def test_the_one_a_batch_waits_for_is_named():
    bake = Operation((Mode(0, 60),), family="x", load=1, name="bake")
    problem = Problem((Machine("oven", takes=2),), (job("A", bake), job("B", bake, release=40)))
    found = reasons(problem, Placement(0, 0, 0, 40, 100), Placement(1, 0, 0, 40, 100))
    assert found == [
        "goes into oven with B (bake): not released before day 1, 00:40",
        "not released before day 1, 00:40",
    ]
    behind = Problem((Machine("oven", takes=2),), (job("A", bake), job("B", bake), job("C", bake), job("D", bake)))
    found = reasons(behind, *(Placement(k, 0, 0, 60 * (k // 2), 60 * (k // 2) + 60) for k in range(4)))
    assert found[0] == found[1] == "starts with the plan"
    assert found[2] == found[3] == "oven is busy with B (bake) until day 1, 01:00"


def test_the_first_and_the_last_transfer_batch_are_reasons():
    steps = Operation((Mode(0, 60),), transfers=3, name="cut", min_wait=4), Operation((Mode(1, 90),), name="sew")
    machines = Machine("a"), Machine("b")
    slow = Problem(machines, (job("A", *steps),))
    plan = schedule(slow, effort=1).placements
    assert (plan[1].start, plan[1].reason) == (
        24,
        "waits 4 min for drying or curing after the first transfer batch of cut, done day 1, 00:20",
    )
    quick = Problem(machines, (job("A", steps[0], Operation((Mode(1, 30),), name="sew")),))
    plan = schedule(quick, effort=1).placements
    assert plan[1].end == 60 + 4 + 10
    assert plan[1].reason.startswith("held back so that the last transfer batch of cut, there day 1, 01:04,")


def test_what_a_machine_is_set_for_and_a_pin_are_reasons():
    changes = {0: {("red", "blue"): 15}}
    blue = job("A", Operation((Mode(0, 5),), family="blue"))
    plan = schedule(Problem((Machine("P", set_for="red"),), (blue,), changeovers=changes), effort=1)
    assert plan.placements[0].reason == "P is set for red at the start of the plan and changed over for 15 min"
    pinned = job("B", Operation((Mode(0, 5),), pinned=(0, 77)))
    assert schedule(Problem((Machine("P"),), (pinned,)), effort=1).placements[0].reason == "pinned to P at day 1, 01:17"


def test_a_full_store_is_the_reason():
    hang = Operation((Mode(0, 10),), store=0, units=2, min_wait=50)
    problem = Problem((Machine("vat"),), (job("A", hang), job("B", hang)), (SharedStore("racks", 3),))
    assert "racks: no room for 2 more before day 1, 01:00" in {p.reason for p in schedule(problem, effort=1).placements}


def test_work_kept_out_of_overtime_says_what_the_overtime_would_count():
    opens = (0, 600), (1440, 1920)
    machines = (Machine("press", opens, overtime=((480, 600),)),)
    jobs = job("A", Operation((Mode(0, 400),), name="press"), due=5000), job("B", Operation((Mode(0, 150),)), due=9000)
    dear = Problem(machines, jobs, aims=Aims(overtime=3))
    spared = Placement(0, 0, 0, 0, 400), Placement(1, 0, 0, 1440, 1590)
    assert reasons(dear, *spared)[1] == (
        "kept out of overtime: begun day 1, 06:40, 70 min of it would be overtime, each counted as 3 min of changeover"
    )
    worked = Placement(0, 0, 0, 0, 400), Placement(1, 0, 0, 400, 550)
    assert reasons(dear, *worked)[1] == "press is busy with A (press) until day 1, 06:40"
    later = Placement(0, 0, 0, 0, 400), Placement(1, 0, 0, 1500, 1650)
    free = replace(dear, aims=Aims())
    assert not any("overtime" in told for told in (*reasons(free, *spared), *reasons(dear, *later)))


def test_a_plan_that_spares_overtime_tells_so():
    machines = (Machine("press", ((0, 600), (1440, 1920)), overtime=((480, 600),)),)
    jobs = tuple(job(name, Operation((Mode(0, 300),), name="press"), due=9000) for name in "AB")
    plan = schedule(Problem(machines, jobs, aims=Aims(overtime=2)), effort=4000)
    assert sorted(p.reason.split(":")[0] for p in plan.placements) == ["kept out of overtime", "starts with the plan"]
