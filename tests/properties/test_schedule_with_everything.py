"""Any problem with crews, machines for several at one time, transfer batches and pins: the independent checker
finds nothing in the plan, and pinning any of it where it is is never called impossible."""

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from naptuft.errors import Infeasible
from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Crew, Job, Machine, Mode, Need, Operation, Problem, SharedStore
from naptuft.planning.schedule import schedule
from naptuft.planning.schedule.bound import lower_bound
from naptuft.planning.schedule.faults import faults_of

DAYS = tuple((day * 100, day * 100 + 60) for day in range(80))
MORNINGS = tuple((day * 100, day * 100 + 30) for day in range(120))
OVEN = 3
CHANGES = {("light", "dark"): 5, ("dark", "light"): 20, ("red", "dark"): 9, ("light", "red"): 3, ("light", "light"): 2}


@st.composite
def operations(draw, last: bool) -> Operation:
    machines = draw(st.lists(st.integers(0, OVEN), min_size=1, max_size=2, unique=True))
    bakes = OVEN in machines
    minutes = draw(st.sampled_from([12, 20])) if bakes else draw(st.integers(0, 30))
    transfers = 1 if last else draw(st.sampled_from([1, 1, 2, 5]))
    low, held = draw(st.sampled_from([0, 0, 7, 55])), draw(st.booleans())
    tied = transfers == 1 and draw(st.integers(0, 4)) == 0
    needs = tuple(
        Need(crew, draw(st.sampled_from([0.5, 1.0])), draw(st.booleans()))
        for crew in draw(st.lists(st.integers(0, 1), max_size=2, unique=True))
    )
    return Operation(
        tuple(Mode(machine, minutes, min(minutes, draw(st.sampled_from([0, 3])))) for machine in machines),
        draw(st.sampled_from(["light", "dark"] if bakes else [None, "light", "dark", "red"])),
        low,
        low + draw(st.integers(25, 60)) if tied else None,
        0 if held else None,
        draw(st.integers(1, 2)) if held else 0,
        bakes or draw(st.booleans()),
        needs=needs,
        load=draw(st.integers(1, 3)),
        transfers=transfers,
    )


@st.composite
def problems(draw) -> Problem:
    machines = tuple(
        Machine(
            f"M{k}",
            draw(st.sampled_from([None, DAYS])),
            draw(st.sampled_from([None, "light", "dark"])),
            4 if k == OVEN else None,
        )
        for k in range(OVEN + 1)
    )
    crews = tuple(
        Crew(f"C{k}", draw(st.sampled_from([1, 1.5, 2.0])), draw(st.sampled_from([None, DAYS, MORNINGS])))
        for k in range(2)
    )
    jobs = []
    for number in range(draw(st.integers(1, 7))):
        count = draw(st.integers(1, 3))
        jobs.append(
            Job(
                f"W{number}",
                tuple(draw(operations(k + 1 == count)) for k in range(count)),
                draw(st.sampled_from([0, 0, 35])),
                draw(st.one_of(st.none(), st.integers(0, 400))),
                after=(f"W{draw(st.integers(0, number - 1))}",) if number and draw(st.integers(0, 3)) == 0 else (),
            )
        )
    return Problem(
        machines,
        tuple(jobs),
        (SharedStore("racks", draw(st.integers(2, 4))),),
        dict.fromkeys(draw(st.lists(st.integers(0, OVEN), max_size=3, unique=True)), CHANGES),
        draw(st.sampled_from(["makespan", "weighted_tardiness_then_changeover"])),
        crews=crews,
    )


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(problems(), st.data())
def test_every_plan_is_clean_in_the_independent_checker(problem, data):
    try:
        plan = schedule(problem, effort=200)
    except Infeasible:
        return
    assert check_schedule(problem, plan.placements) == ()
    assert lower_bound(problem) <= plan.objective[0]
    assert all(placed.reason for placed in plan.placements)
    changeover = sum(placed.changeover for placed in plan.placements)
    assert problem.objective == "makespan" or plan.objective[1] == changeover

    chosen = data.draw(st.sets(st.integers(0, len(plan.placements) - 1), max_size=6))
    pins = {(p.job, p.index): (p.machine, p.start) for k, p in enumerate(plan.placements) if k in chosen}
    pinned = replace(
        problem,
        jobs=tuple(
            replace(job, operations=tuple(replace(o, pinned=pins.get((j, k))) for k, o in enumerate(job.operations)))
            for j, job in enumerate(problem.jobs)
        ),
    )
    assert faults_of(pinned) == ()
    try:
        again = schedule(pinned, effort=200)
    except Infeasible:
        return
    assert check_schedule(pinned, again.placements) == ()
