"""Lists by apparent tardiness cost, its scales tuned to the plant machine by machine.

One rule fits every machine badly: what is worth a changeover on one is waste on another. So the scales of
each machine are walked at random, by the figures of the plans they give. Source of the idea: Storer, Wu &
Vaccari, Management Science 38 (1992) 1495 (search in the space of heuristics), from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np

from naptuft.planning.schedule.decode import fresh_plan
from naptuft.planning.schedule.dispatch import BY_CHANGE, BY_DUE, LOOK, TARDINESS
from naptuft.planning.schedule.fold import ITEMS, OPERATIONS, Folded, Table

CHAIN = 1_000
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
