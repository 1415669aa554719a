"""What a trial decodes in part is what the whole list gives."""

import random

import numpy as np
import pytest

from naptuft.planning.problem import Job, Machine, Mode, Operation, Problem, SharedStore
from naptuft.planning.schedule.anneal import start_walk
from naptuft.planning.schedule.critical import ON, ON_AFTER, ON_BEFORE
from naptuft.planning.schedule.decode import fresh_plan
from naptuft.planning.schedule.dispatch import EARLIEST_DUE, even_scales
from naptuft.planning.schedule.engine import compiled
from naptuft.planning.schedule.fold import ITEMS, OPERATIONS, fold
from naptuft.planning.schedule.quick import is_timed
from naptuft.planning.schedule.retime import start_timed
from naptuft.planning.schedule.shops import Rounds

DAYS = tuple((day * 200, day * 200 + 120) for day in range(80))
COLOURS = ("light", "dark", None)


def plant(seed: int, jobs: int = 40) -> Problem:
    """Open and closing machines set for anything, waits of both kinds, racks, jobs that wait for jobs."""
    dice = random.Random(seed)
    machines = tuple(
        Machine(f"M{k}", dice.choice((None, DAYS)), dice.choice((None, "light", "brown"))) for k in range(4)
    )
    work = []
    for number in range(jobs):
        steps = []
        for _ in range(dice.randint(1, 5)):
            wait, held = dice.choice((0, 0, 9, 70)), dice.random() < 0.3
            steps.append(
                Operation(
                    modes=tuple(Mode(m, dice.randint(1, 30)) for m in dice.sample(range(4), dice.randint(1, 2))),
                    family=dice.choice(COLOURS),
                    min_wait=wait,
                    max_wait=wait + dice.randint(20, 80) if dice.random() < 0.1 else None,
                    store=0 if held else None,
                    units=dice.randint(1, 2) if held else 0,
                    pauses=dice.random() < 0.4,
                )
            )
        after = (f"W{dice.randrange(number)}",) if number and dice.random() < 0.1 else ()
        due = dice.choice((None, dice.randint(50, 3000)))
        work.append(Job(f"W{number}", tuple(steps), dice.choice((0, 0, 90)), due, dice.choice((1.0, 2.5)), after))
    # of the families the table tells apart, red is done by nobody, and brown is none of them
    changes = {("light", "dark"): 5, ("dark", "light"): 20, ("red", "dark"): 9}
    return Problem(machines, tuple(work), (SharedStore("racks", 4),), dict.fromkeys(range(3), changes))


@pytest.mark.parametrize("seed", range(25))
def test_a_walk_stands_where_its_list_decoded_whole_stands(seed):
    problem = plant(seed)
    (table, weight), engine = fold(problem), compiled()
    order, modes = np.zeros(table[ITEMS], np.int32), np.zeros(table[OPERATIONS], np.int32)
    engine.dispatch(table, weight, EARLIEST_DUE, even_scales(len(problem.machines), 1.0, 1.0), order, modes)
    draft, walk = start_walk(table, order, modes, seed + 1, 1.0, False)
    engine.settle(table, weight, draft, walk)
    plan = fresh_plan(table)
    for temperature in (0.0, 30.0, 1000.0, 1.0):
        engine.decode(table, draft.order, draft.modes, plan)
        assert engine.measure(table, weight, plan) == pytest.approx(tuple(walk.figures[:2]), rel=1e-12)
        assert (plan == walk.kept[: len(plan)]).all()
        engine.anneal(table, weight, draft, walk, 400, temperature + 1e-9)
    engine.sort_by_start(table, weight, draft, walk)
    engine.decode(table, draft.order, draft.modes, plan)
    assert engine.measure(table, weight, plan) == pytest.approx(tuple(walk.figures[:2]), rel=1e-12)


@pytest.mark.parametrize("seed", range(25))
def test_a_walk_that_times_only_what_moves_stands_where_its_list_decoded_whole_stands(seed):
    problem = plant(seed)
    (table, weight), engine = fold(problem), compiled()
    assert is_timed(table)
    order, modes = np.zeros(table[ITEMS], np.int32), np.zeros(table[OPERATIONS], np.int32)
    engine.dispatch(table, weight, EARLIEST_DUE, even_scales(len(problem.machines), 1.0, 1.0), order, modes)
    draft, timed = start_timed(table, order, modes, seed + 1, 1.0, False)
    engine.settle_timed(table, weight, draft, timed)
    plan = fresh_plan(table)
    for temperature in (0.0, 30.0, 1000.0, 1.0):
        for trials in (1, 1, 1, 20, 400):
            engine.decode(table, draft.order, draft.modes, plan)
            assert engine.measure(table, weight, plan) == pytest.approx(tuple(timed.figures[:2]), rel=1e-12)
            assert (plan[:, :3] == draft.rows[: len(plan), :3]).all()
            engine.anneal_timed(table, weight, draft, timed, trials, temperature + 1e-9)
    engine.sort_timed(table, weight, draft, timed)
    engine.decode(table, draft.order, draft.modes, plan)
    assert engine.measure(table, weight, plan) == pytest.approx(tuple(timed.figures[:2]), rel=1e-12)


@pytest.mark.parametrize("seed", range(12))
def test_a_shop_with_idle_machines_keeps_the_sequence_of_each_to_itself(seed):
    dice = random.Random(seed)
    jobs = tuple(
        Job(f"W{j}", tuple(Operation(tuple(Mode(m, dice.randint(1, 9)) for m in range(8))) for _ in range(2)))
        for j in range(3)
    )
    problem = Problem(tuple(Machine(f"M{k}") for k in range(8)), jobs, objective="makespan")
    table, _ = fold(problem)
    engine, order = compiled(), np.arange(table[OPERATIONS], dtype=np.int32)
    modes = np.arange(table[OPERATIONS], dtype=np.int32) * 8 + 1
    rounds = Rounds(problem, table, seed)
    rounds.first(engine, order, modes)
    for _ in range(100):
        rounds.walk(engine, 1, 0)
        graph = rounds.shop.graph
        for operation, after in enumerate(graph[:, ON_AFTER]):
            assert after < 0 or (graph[after, ON] == graph[operation, ON] and graph[after, ON_BEFORE] == operation)
