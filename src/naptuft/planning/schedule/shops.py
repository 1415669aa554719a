"""Plain shops (jobs, machines that never close, nothing else): rounds of tabu search among a few good plans.

Each round starts halfway between two of the plans kept, by the middle of their start times, and walks
until nothing is gained for a while; a plan better than the worst kept takes its place. Source of the
idea: Peng, Lu & Cheng, Computers & Operations Research 53 (2015) 154 (tabu search and path relinking),
from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from naptuft.planning.problem import Problem
from naptuft.planning.schedule.critical import BEST, HEAD_TIME, NOW, ROUND, SINCE, empty_shop
from naptuft.planning.schedule.fold import Table
from naptuft.planning.schedule.rules import is_ruled

# plans kept, and rounds without a gain; where machines are chosen too, more plans met for less long do better
KEPT, KEPT_WITH_CHOICE = 8, 12
PATIENCE, PATIENCE_WITH_CHOICE = 12_000, 3_000
LARGEST_GRAPH = 2_500


def is_plain(problem: Problem) -> bool:
    """Whether only jobs and machines bind, so that the makespan is a longest path."""
    operations = [operation for job in problem.jobs for operation in job.operations]
    return (
        problem.objective == "makespan"
        and len(operations) <= LARGEST_GRAPH
        and all(machine.open is None for machine in problem.machines)
        and not any(any(changes.values()) for changes in problem.changeovers.values())
        and not any(job.after for job in problem.jobs)
        and not is_ruled(problem)
        and all(o.max_wait is None and (o.store is None or o.units == 0) for o in operations)
    )


@dataclass
class Rounds:
    """A search in rounds; the state is kept from call to call."""

    problem: Problem
    table: Table
    seed: int
    kept: list[tuple[int, Table, Table]] = field(default_factory=list)
    walking: bool = False

    def __post_init__(self) -> None:
        self.machines = len(self.problem.machines)
        operations = sum(len(job.operations) for job in self.problem.jobs)
        modes = sum(len(operation.modes) for job in self.problem.jobs for operation in job.operations)
        self.shop = empty_shop(self.table, modes, self.seed)
        self.dice = np.random.default_rng(self.seed)
        self.most_kept = KEPT if modes == operations else KEPT_WITH_CHOICE
        self.patience = PATIENCE if modes == operations else PATIENCE_WITH_CHOICE
        self.tenure = 8 + operations // (self.machines * self.machines)
        self.last_on = np.zeros(self.machines, np.int32)

    def _begin(self, engine: Any, order: Table, modes: Table) -> None:
        shop = self.shop
        shop.figures[NOW] = engine.enter(self.table, shop, order, modes, self.last_on)
        shop.barred[:] = 0
        shop.barred_mode[:] = 0
        shop.figures[ROUND] = 0
        shop.figures[SINCE] = 0
        shop.figures[BEST] = shop.figures[NOW]
        shop.best_heads[:] = shop.graph[:, HEAD_TIME]
        shop.best_modes[:] = shop.modes
        self.walking = True

    def first(self, engine: Any, order: Table, modes: Table) -> None:
        """Start the first round from a list."""
        self._begin(engine, order, modes)

    def warm(self, engine: Any, order: Table, modes: Table) -> None:
        """Have everything compiled that a search calls."""
        self.first(engine, order, modes)
        self.walk(engine, 1, 0)

    def _middle(self) -> tuple[Table, Table]:
        """A list halfway between two kept plans; the modes of either at random."""
        one, two = self.dice.choice(len(self.kept), 2, replace=False)
        _, heads, modes = self.kept[int(one)]
        _, other_heads, other_modes = self.kept[int(two)]
        share = self.dice.uniform(0.35, 0.65)
        keys = heads * share + other_heads * (1.0 - share)
        chosen = np.where(self.dice.random(len(modes)) < share, modes, other_modes).astype(np.int32)
        return self._sorted(keys), chosen

    def _shaken(self) -> tuple[Table, Table]:
        """The best plan with its start times blurred."""
        makespan, heads, modes = self.kept[0]
        return self._sorted(heads + self.dice.uniform(0.0, 0.1 * makespan, len(heads))), modes.copy()

    def _sorted(self, keys: Table) -> Table:
        """Operations by key, each job's in their order."""
        at = 0
        for job in self.problem.jobs:
            count = len(job.operations)
            keys[at : at + count] = np.maximum.accumulate(keys[at : at + count])
            at += count
        return np.argsort(keys, kind="stable").astype(np.int32)

    def walk(self, engine: Any, rounds: int, goal: int) -> int:
        """Walk at most so many rounds. Rounds walked."""
        shop = self.shop
        if not self.walking:
            order, modes = self._middle() if len(self.kept) >= self.most_kept else self._shaken()
            self._begin(engine, order, modes)
        walked = engine.tabu(self.table, shop, rounds, self.tenure, goal, self.patience, self.machines)
        if shop.figures[SINCE] >= self.patience:
            self.walking = False
            self._keep()
        return int(walked)

    def _keep(self) -> None:
        shop = self.shop
        plan = (int(shop.figures[BEST]), shop.best_heads.copy(), shop.best_modes.copy())
        if any(plan[0] == other[0] and np.array_equal(plan[1], other[1]) for other in self.kept):
            return
        self.kept.append(plan)
        self.kept.sort(key=lambda kept: kept[0])
        del self.kept[self.most_kept :]

    def best(self) -> tuple[Table, Table]:
        """List and modes of the best plan of the round."""
        return self._sorted(self.shop.best_heads.astype(np.float64)), self.shop.best_modes.copy()


def improve(search: Any, engine: Any, until: Callable[[], bool], chunk: int) -> None:
    """Run rounds from the best list of a search until told to stop."""
    searches = [Rounds(search.problem, search.folded.table, search.seed + 1000 * k) for k in range(search.threads)]
    for rounds in searches:
        rounds.first(engine, search.best.order, search.best.modes)
    goal = int(search.bound)
    with ThreadPoolExecutor(search.threads) as pool:
        while not until():
            most = chunk
            if search.effort is not None:
                most = min(chunk, max(1, (search.effort - search.tried) // search.threads))
            running = [pool.submit(rounds.walk, engine, most, goal) for rounds in searches]
            search.tried += sum(max(1, future.result()) for future in running)
            for rounds in searches:
                if rounds.shop.figures[BEST] < search.best.figures[0]:
                    search.decoded(engine, *rounds.best())
            search.tell("moves on the critical path")
