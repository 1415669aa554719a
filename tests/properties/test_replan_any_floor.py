"""Any plan changed at any time: what is repaired keeps every rule the independent checker knows."""

from __future__ import annotations

import random
from dataclasses import replace

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from naptuft.planning.check import check_schedule
from naptuft.planning.problem import (
    Crew,
    Job,
    Machine,
    Mode,
    Need,
    Operation,
    Placement,
    Problem,
    Schedule,
    SharedStore,
)
from naptuft.planning.replan.charge import Charge, has_moved
from naptuft.planning.replan.few import FewMoves
from naptuft.planning.replan.improve import Aims, as_planned, improve, improve_both, starts
from naptuft.planning.replan.keep import in_order, keep_in_place
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import FAR, Choice, Floor, Shifter
from naptuft.planning.replan.standing import standing_at
from naptuft.planning.replan.told import must_move, to_be_told
from naptuft.planning.schedule import schedule
from naptuft.planning.schedule.faults import faults_of

CALENDAR = tuple((1440 * day, 1440 * day + 480) for day in range(90))
LATE_SHIFT = tuple((1440 * day + 120, 1440 * day + 700) for day in range(90))


@st.composite
def problems(draw: st.DrawFn, batches: bool = False) -> Problem:
    """Machines with calendars, a store, a crew, transfer batches; with `batches` a machine that takes several."""
    machines = [
        Machine(f"M{k}", draw(st.sampled_from([None, CALENDAR])), draw(st.sampled_from([None, "red"])))
        for k in range(3)
    ]
    if batches:
        machines[2] = replace(machines[2], takes=5)
    jobs: list[Job] = []
    for number in range(draw(st.integers(1, 6))):
        steps = []
        for _ in range(draw(st.integers(1, 3))):
            oven = batches and draw(st.booleans())
            minutes = 60 if oven else draw(st.integers(1, 150))
            able = [2] if oven else draw(st.lists(st.integers(0, 1), min_size=1, max_size=2, unique=True))
            steps.append(
                Operation(
                    tuple(Mode(k, minutes) for k in able),
                    family=draw(st.sampled_from(["red", "blue"])),
                    min_wait=draw(st.sampled_from([0, 0, 30])),
                    store=None if oven else draw(st.sampled_from([None, 0])),
                    units=draw(st.integers(1, 3)),
                    pauses=not oven and draw(st.booleans()),
                    needs=() if oven else draw(st.sampled_from([(), (Need(0, 1.0),), (Need(0, 1.0, True),)])),
                    load=draw(st.integers(1, 3)) if oven else 0,
                    transfers=1 if batches else draw(st.sampled_from([1, 1, 3])),
                )
            )
        steps[-1] = replace(steps[-1], transfers=1)
        before = (jobs[-1].name,) if jobs and draw(st.booleans()) else ()
        jobs.append(
            Job(f"J{number}", tuple(steps), draw(st.integers(0, 300)), draw(st.integers(100, 2000)), 1.0, before)
        )
    changes = {0: {("red", "blue"): 20, ("blue", "red"): 45}}
    crews = (Crew("hands", 1.0, draw(st.sampled_from([None, LATE_SHIFT]))),)
    return Problem(tuple(machines), tuple(jobs), (SharedStore("racks", 4),), changes, crews=crews)


def stood(problem: Problem, plan: Schedule, at: int) -> tuple[Shifter, dict[Key, Placement], Choice]:
    """A floor at a minute, what is planned ahead, and the choice that leaves all of it where it is."""
    standing = standing_at(problem, plan.placements, at, {}, {})
    planned = {(p.job, p.index): p for p in plan.placements if (p.job, p.index) not in standing.fixed}
    under_way = frozenset(k for k, p in planned.items() if p.start - p.changeover < at <= p.start)
    shifter = Shifter(Floor(problem, at, standing.fixed, under_way))
    machine = {}
    for key, placed in planned.items():
        modes = [m.duration for m in shifter.operation[key].modes if m.machine == placed.machine]
        machine[key] = placed.machine, min(modes)
    order = in_order(shifter, {key: float(p.start) for key, p in planned.items()}, sorted(planned))
    pushed = Choice(order, machine, {key: max(at, p.start) for key, p in planned.items()})
    same = shifter.shift(pushed)
    assert {key: (p.machine, p.start, p.end) for key, p in same.items()} == {
        (p.job, p.index): (p.machine, p.start, p.end) for p in plan.placements
    }
    return shifter, planned, pushed


def repaired(problem: Problem, at: int, effort: int, most: int) -> None:
    """Plan, stand at a minute, repair every way, search a little, and have each answer checked."""
    assume(not faults_of(problem))
    shifter, planned, pushed = stood(problem, schedule(problem, effort=1), at)
    late = dict(pushed.earliest)
    if pushed.order:
        late[pushed.order[0]] += 200
    choices = [replace(pushed, earliest=late)]
    choices.append(keep_in_place(shifter, choices[0], planned))
    few = FewMoves(shifter, planned, choices[0], Charge(), as_planned(shifter, planned), most)
    choices.append(few.choice(few.search(effort, random.Random(1), lambda: False)))
    found = improve(shifter, starts(shifter, choices), planned, 0.0, effort, 1, Charge(), most)
    for trial in improve_both(shifter, choices, Aims(planned, Charge(), most), 0.0, effort, 1):
        assert trial is None or check_schedule(problem, list(trial.placed.values())) == ()
    stuck = must_move(shifter, planned)
    for placed in (*(shifter.shift(choice) for choice in choices), found.placed):
        assert stuck <= {key for key, before in planned.items() if has_moved(before, placed[key])}
        assert to_be_told(planned, placed, 0.0) <= {k for k, before in planned.items() if has_moved(before, placed[k])}
        assert all(p.end < FAR for p in placed.values())
        assert check_schedule(problem, list(placed.values())) == ()


@given(problems(), st.integers(0, 600), st.integers(0, 4))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
def test_a_floor_with_crews_and_transfer_batches_is_repaired_by_every_rule(problem: Problem, at: int, most: int):
    repaired(problem, at, effort=12, most=most)


@given(problems(batches=True), st.integers(0, 600), st.integers(0, 4))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
def test_a_floor_with_a_machine_that_takes_several_is_repaired_by_every_rule(problem: Problem, at: int, most: int):
    repaired(problem, at, effort=12, most=most)


@given(problems(), st.integers(0, 600), st.data())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
def test_what_is_pinned_ahead_stays_or_is_told_of(problem: Problem, at: int, data: st.DataObject):
    assume(not faults_of(problem))
    plan = schedule(problem, effort=1)
    _, planned, _ = stood(problem, plan, at)
    assume(len(planned) > 1)
    pins = set(data.draw(st.lists(st.sampled_from(sorted(planned)), min_size=1, max_size=4)))
    jobs = [
        replace(
            job,
            operations=tuple(
                replace(o, pinned=(planned[n, k].machine, planned[n, k].start)) if (n, k) in pins else o
                for k, o in enumerate(job.operations)
            ),
        )
        for n, job in enumerate(problem.jobs)
    ]
    held = replace(problem, jobs=tuple(jobs))
    shifter, planned, pushed = stood(held, plan, at)
    free = [key for key in pushed.order if key not in pins]
    assume(free)
    late = {**pushed.earliest, free[0]: pushed.earliest[free[0]] + data.draw(st.integers(1, 400))}
    placed = shifter.shift(replace(pushed, earliest=late))
    if all(shifter.keeps(placed, key) for key in pins):
        assert check_schedule(held, list(placed.values())) == ()
        assert all((placed[key].machine, placed[key].start) == shifter.operation[key].pinned for key in pins)
    else:
        assert shifter.figures(placed).late >= FAR
