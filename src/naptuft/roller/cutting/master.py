"""The linear programme over patterns: its value, its prices, and a bound that holds in whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from time import monotonic

import numpy as np

from naptuft.roller.cutting.linear import add_columns, add_rows, quiet_solver
from naptuft.roller.cutting.pricing import best_patterns

SCALE = 10**9
THRESHOLD = SCALE + 100


@dataclass(frozen=True)
class Relaxation:
    """The relaxed answer for one demand.

    bound     proven least number of stock pieces, or one more than `enough` asked when that is already proven
    usage     pieces of stock cut to each column's pattern, shape (columns,)
    prices    worth of each length in billionths of a stock piece, int64, shape (m,)
    """

    bound: int
    usage: np.ndarray
    prices: np.ndarray


class Master:
    """Patterns found so far and the linear programme over them: least stock that covers the demand."""

    def __init__(self, weights: np.ndarray, capacity: int, demand: np.ndarray):
        self.weights, self.capacity = weights, capacity
        self.columns = np.zeros((0, len(weights)), dtype=np.int64)
        self._known: set[bytes] = set()
        self._model = quiet_solver(presolve="off", solver="simplex")
        add_rows(self._model, demand.astype(float), np.full(len(weights), np.inf))
        self.demand = demand.copy()
        self.add(np.diag(np.minimum(demand, capacity // weights)))

    def add(self, patterns: Sequence[np.ndarray] | np.ndarray) -> int:
        """Add patterns not yet known; returns how many were new."""
        new = []
        for pattern in patterns:
            key = np.ascontiguousarray(pattern).tobytes()
            if key not in self._known and pattern.any():
                self._known.add(key)
                new.append(pattern)
        if not new:
            return 0
        block = np.array(new, dtype=np.int64)
        upper = np.where((block <= self.demand).all(axis=1), np.inf, 0.0)
        add_columns(self._model, block, np.ones(len(block)), upper)
        self.columns = np.concatenate((self.columns, block))
        return len(new)

    def ask(self, demand: np.ndarray) -> None:
        """Change the demand; patterns that hold more than is still wanted are shut out."""
        changed = np.flatnonzero(demand != self.demand)
        self.demand = demand.copy()
        if not len(changed):
            return
        for row in changed.tolist():
            self._model.changeRowBounds(row, float(demand[row]), np.inf)
        count = len(self.columns)
        upper = np.where((self.columns <= demand).all(axis=1), np.inf, 0.0)
        self._model.changeColsBounds(count, np.arange(count, dtype=np.int32), np.zeros(count), upper)
        wanted = np.flatnonzero(demand)
        unit = np.zeros((len(wanted), len(demand)), dtype=np.int64)
        unit[np.arange(len(wanted)), wanted] = 1
        self.add(unit)

    def relax(self, enough: int, deadline: float, *, settled: bool = True, most: int = 3) -> Relaxation:
        """Solve the relaxation for the demand asked, pricing new patterns in.

        enough   stop as soon as more than this many stock pieces are proven to be needed
        deadline  reading of the steady clock at which to stop with the bound found so far
        settled  price on until the bound is as good as the relaxation can give; otherwise stop as soon as
                 `enough` stock pieces cover the demand in fractions
        most     patterns taken from one pricing

        The bound is computed in whole numbers from rounded prices, so no rounding can raise it.
        Source: A. A. Farley, Operations Research 38 (1990) 922-923 (from memory).
        """
        bound = 0
        while True:
            self._model.run()
            solution = self._model.getSolution()
            value = self._model.getObjectiveValue()
            if not settled and value <= enough + 1e-9:
                return Relaxation(bound, np.array(solution.col_value), np.zeros(0, dtype=np.int64))
            prices = np.floor(np.maximum(np.array(solution.row_dual), 0.0) * SCALE).astype(np.int64)
            found = best_patterns(prices, self.weights, self.demand, self.capacity, THRESHOLD, most)
            worth = int(self.demand @ prices)
            dearest = int(found[0] @ prices) if found else THRESHOLD
            bound = max(bound, -(-worth // dearest))
            done = not found or bound > enough or bound >= value - 1e-6 or monotonic() > deadline
            if done or not self.add(found):
                return Relaxation(bound, np.array(solution.col_value), prices)
