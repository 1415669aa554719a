"""Lists by apparent tardiness cost, its scales tuned to the plant machine by machine.

One rule fits every machine badly: what is worth a changeover on one is waste on another. So the scales of
each machine are walked at random, by the figures of the plans they give. Source of the idea: Storer, Wu &
Vaccari, Management Science 38 (1992) 1495 (search in the space of heuristics), from memory.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeAlias

import numpy as np

from naptuft.planning.schedule.anneal import FIRST_BEST, SECOND_BEST
from naptuft.planning.schedule.decode import fresh_plan
from naptuft.planning.schedule.dispatch import BY_CHANGE, BY_DUE, LOOK, TARDINESS, even_scales
from naptuft.planning.schedule.fold import ITEMS, OPERATIONS, Folded, Table
from naptuft.planning.schedule.listed import Listed

CHAIN = 1_000
TUNING = 0.3
FRESH_CHAINS = 4
ROUNDS = 6
CHUNK = 2_000
QUENCHED = 0.03
WARMEST = 0.01
FARTHEST_LOOK = 200.0


Worth: TypeAlias = Callable[[tuple[float, float]], tuple[float, float]]


class Chain:
    """A walk over the scales of the rule; the best list it met is kept. `worth` tells what figures are compared by.

    figures, order, modes, best_scales  of the best list
    """

    def __init__(self, folded: Folded, scales: Table, seed: int, worth: Worth):
        table = folded.table
        self.folded = folded
        self.worth = worth
        self.dice = np.random.default_rng(seed)
        self.scales: Table = scales
        self.best_scales: Table = scales
        self.now = (math.inf, math.inf)
        self.figures = (math.inf, math.inf)
        self.order: Table = np.zeros(table[ITEMS], np.int32)
        self.modes: Table = np.zeros(table[OPERATIONS], np.int32)
        self.trial = (self.order.copy(), self.modes.copy(), fresh_plan(table))
        self.walked = 0

    def neighbour(self) -> Table:
        """The scales with a few of them changed."""
        scales, dice = self.scales.copy(), self.dice
        machines = len(scales)
        if dice.random() < 0.3:
            scales[:, BY_DUE] *= math.exp(dice.normal(0.0, 0.3))
        for column, share, spread in ((BY_DUE, 1.5, 0.5), (BY_CHANGE, 2.0, 0.6)):
            chosen = dice.random(machines) < share / machines
            scales[chosen, column] *= np.exp(dice.normal(0.0, spread, chosen.sum()))
        chosen = dice.random(machines) < 0.5 / machines
        scales[chosen, LOOK] = np.maximum(0.0, dice.uniform(-60.0, FARTHEST_LOOK, chosen.sum()))
        return scales

    def walk(self, engine: Any, steps: int, over: Callable[[], bool]) -> int:
        """Try so many scales, or until told to stop. Lists tried."""
        table, weight = self.folded
        order, modes, plan = self.trial
        tried = 0
        while tried < steps and not over():
            scales = self.neighbour() if self.walked else self.scales
            engine.dispatch(table, weight, TARDINESS, scales, order, modes)
            engine.decode(table, order, modes, plan)
            figures = engine.measure(table, weight, plan)
            tried += 1
            found = self.worth(figures)
            warm = WARMEST * max(0.0, 1.0 - self.walked / CHAIN) * self.now[0] if self.walked else math.inf
            self.walked += 1
            worse = found[0] - self.now[0]
            if found <= self.now or (worse > 0 and worse < -warm * math.log(1.0 - self.dice.random())):
                self.now, self.scales = found, scales
            if found < self.worth(self.figures):
                self.figures = (float(figures[0]), float(figures[1]))
                self.order, self.modes = order.copy(), modes.copy()
                self.best_scales = scales
        return tried


def tune(search: Any, engine: Any) -> None:
    """Lists by rules tuned to the plant, each tried with a short walk; the walks' lists are kept to start from.

    What a short walk makes of a list tells what a long one would. Once a few chains have begun from the rule
    that is best for the plant as a whole, the others begin from the scales of the best walk.
    """
    began = search.share_done()
    goal = began + TUNING * (1.0 - began)
    left = None if search.effort is None else int(search.effort * TUNING / 10)
    even = even_scales(len(search.problem.machines), *search.grid[1])
    longest = math.inf if search.effort is not None else (goal - began) * (search.seconds or 0.0) / (2 * ROUNDS)
    tuned: list[tuple[tuple[float, float], Table]] = []
    number = 0

    def going() -> bool:
        return not search.over() and (search.share_done() < goal if left is None else left > 0)

    with ThreadPoolExecutor(search.threads) as pool:
        while going():
            scales = even if number < FRESH_CHAINS or not tuned else min(tuned, key=lambda entry: entry[0])[1]
            seeds = [search.seed + 1000 * (number + k + 1) for k in range(search.threads)]
            number += search.threads
            chains = [Chain(search.folded, scales, seed, search.worth) for seed in seeds]
            since = time.monotonic()
            while chains[0].walked < CHAIN and going() and time.monotonic() - since < longest:
                steps = 50 if left is None else min(50, max(1, left // search.threads))
                running = [pool.submit(chain.walk, engine, steps, search.over) for chain in chains]
                tried = sum(future.result() for future in running)
                search.tried += tried
                if left is not None:
                    left -= tried
                for chain in chains:
                    search.offer(chain.order, chain.modes, chain.figures)
                search.tell("lists by rules tuned to each machine")
            lasting = time.monotonic() - since if search.effort is None else None
            trials = 10 * chains[0].walked
            running = [
                pool.submit(try_out, search, engine, chain, seed, trials, lasting)
                for chain, seed in zip(chains, seeds, strict=True)
                if chain.walked  # where a limit came first, a chain has no list yet
            ]
            # all are waited for first: what one proves must not cut another short
            walked = [future.result() for future in running]
            for chain, (start, tried) in zip([chain for chain in chains if chain.walked], walked, strict=True):
                search.tried += tried
                search.starts.append(start)
                tuned.append((search.worth(start.figures), chain.best_scales))
                if search.best is None or search.worth(start.figures) < search.worth(search.best.figures):
                    search.decoded(engine, start.order, start.modes)
            search.tell("moves on the lists")
    search.starts.sort(key=lambda start: search.worth(start.figures))


def try_out(
    search: Any, engine: Any, chain: Chain, seed: int, trials: int, lasting: float | None
) -> tuple[Listed, int]:
    """The best list of a short walk from the list of a chain, and the trials made.

    trials   how many, where it does not last so many seconds
    lasting  None: so many trials
    """
    hot, scale = search.temperatures()
    start = Listed(chain.order, chain.modes, chain.figures)
    draft, walk = search.walk(engine, seed, scale, start)
    began, tried, done = time.monotonic(), 0, 0.0
    while done < 1 and not search.over():
        chunk = CHUNK if lasting is not None else min(CHUNK, trials - tried)
        tried += search.chunk(engine, draft, walk, chunk, hot * QUENCHED**done)
        done = tried / trials if lasting is None else (time.monotonic() - began) / max(1e-9, lasting)
    figures = float(walk.figures[FIRST_BEST]), float(walk.figures[SECOND_BEST])
    return Listed(walk.best_order, walk.best_modes, figures), tried
