"""From the relaxation to whole stock pieces: rounding dives, and an exact finish that proves.

The relaxation gives a bound. A dive fixes the patterns it favours, one after another, asking the
relaxation again each time and turning back as soon as the target is proven out of reach. What is left
small is finished exactly over every pattern that any answer within the target could use.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from time import monotonic

import numpy as np

from naptuft.roller.cutting.master import SCALE, Master
from naptuft.roller.cutting.pricing import patterns_within

SMALL_ENOUGH = 55
FEW_PATTERNS = 200


@dataclass
class Effort:
    """What a search may still spend: nodes, and seconds as the last limit."""

    nodes: int
    deadline: float
    out_of_time: bool = field(default=False)

    def spent(self) -> bool:
        """True when nothing is left."""
        if monotonic() > self.deadline:
            self.out_of_time = True
        return self.out_of_time or self.nodes <= 0


def first_fit_decreasing(weights: np.ndarray, capacity: int, demand: np.ndarray) -> list[np.ndarray]:
    """Longest first, each into the first piece it fits; patterns, one a stock piece.

    >>> from numpy import array
    >>> [p.tolist() for p in first_fit_decreasing(array([6, 4]), 10, array([1, 3]))]
    [[1, 1], [0, 2]]
    """
    rooms: list[int] = []
    patterns: list[np.ndarray] = []
    for index in np.argsort(-weights, kind="stable").tolist():
        weight, left = int(weights[index]), int(demand[index])
        for at, room in enumerate(rooms):
            if left and room >= weight:
                take = min(left, room // weight)
                patterns[at][index] += take
                rooms[at] -= take * weight
                left -= take
        while left:
            take = min(left, capacity // weight)
            pattern = np.zeros(len(weights), dtype=np.int64)
            pattern[index] = take
            patterns.append(pattern)
            rooms.append(capacity - take * weight)
            left -= take
    return patterns


def fullest_first(weights: np.ndarray, capacity: int, demand: np.ndarray) -> list[np.ndarray]:
    """Fill one stock piece after another as full as the lengths left allow; patterns, one a stock piece."""
    from naptuft.roller.cutting.pricing import best_patterns

    left, patterns = demand.copy(), []
    while left.any():
        longest = int(np.flatnonzero(left)[np.argmax(weights[left > 0])])
        rest = left.copy()
        rest[longest] -= 1
        room = capacity - int(weights[longest])
        filled = best_patterns(weights, weights, rest, room, 0)
        pattern = filled[0] if filled else np.zeros(len(weights), dtype=np.int64)
        pattern[longest] += 1
        times = int((left[pattern > 0] // pattern[pattern > 0]).min())
        patterns += [pattern.copy() for _ in range(times)]
        left = left - times * pattern
    return patterns


def trimmed(patterns: list[np.ndarray], demand: np.ndarray) -> list[np.ndarray]:
    """The same patterns without the pieces nobody asked for; empty ones left out."""
    surplus = np.sum(patterns, axis=0) - demand
    kept = []
    for pattern in patterns:
        drop = np.minimum(pattern, np.maximum(surplus, 0))
        surplus = surplus - drop
        if (pattern - drop).any():
            kept.append(pattern - drop)
    return kept


class Search:
    """Whole-piece answers for one set of lengths; the master's patterns are shared by all dives."""

    def __init__(self, weights: np.ndarray, capacity: int, demand: np.ndarray, effort: Effort):
        self.weights, self.capacity, self.demand, self.effort = weights, capacity, demand, effort
        self.master = Master(weights, capacity, demand)

    def reach(self, target: int) -> tuple[list[np.ndarray] | None, bool]:
        """Patterns for at most `target` stock pieces, or None; and whether that is proven impossible."""
        found = self._dive(self.demand, target, width=3)
        if found is not None:
            return found, False
        self.master.ask(self.demand)
        relaxed = self.master.relax(target, self.effort.deadline)
        if relaxed.bound > target:
            return None, True
        if self.effort.spent():
            return None, False
        return self._finish(self.demand, target, relaxed.prices, limit=40_000, nodes=100_000)

    def _dive(self, demand: np.ndarray, target: int, width: int) -> list[np.ndarray] | None:
        if not demand.any():
            return []
        if target <= 0 or int(demand @ self.weights) > target * self.capacity:
            return None
        guess = first_fit_decreasing(self.weights, self.capacity, demand)
        if len(guess) <= target:
            return guess
        if self.effort.spent():
            return None
        self.effort.nodes -= 1
        self.master.ask(demand)
        small = int(demand.sum()) <= SMALL_ENOUGH
        relaxed = self.master.relax(target, self.effort.deadline, settled=small)
        if relaxed.bound > target or self.effort.spent():
            return None
        if small:
            found, settled = self._finish(demand, target, relaxed.prices, limit=FEW_PATTERNS, nodes=200)
            if found is not None or settled:
                return found
        whole = np.floor(relaxed.usage + 1e-6).astype(np.int64)
        fixed = [self.master.columns[j] for j in np.flatnonzero(whole) for _ in range(whole[j])]
        if fixed:
            left = demand - np.sum(fixed, axis=0)
            if (left >= 0).all():
                rest = self._dive(left, target - len(fixed), width)
                return None if rest is None else fixed + rest
        ranked = np.argsort(-relaxed.usage, kind="stable")[:width]
        columns = self.master.columns[ranked].copy()
        shares = relaxed.usage[ranked]
        for pattern, share in zip(columns, shares, strict=True):
            if share < 1e-6:
                break
            rest = self._dive(demand - pattern, target - 1, width)
            if rest is not None:
                return [pattern, *rest]
            if self.effort.spent():
                return None
        return None

    def _finish(
        self, demand: np.ndarray, target: int, prices: np.ndarray, limit: int, nodes: int
    ) -> tuple[list[np.ndarray] | None, bool]:
        """Decide `target` exactly over every pattern an answer could use; (answer, proven impossible)."""
        worth = int(demand @ prices)
        slack = target * (SCALE + 100) - worth
        full = patterns_within(prices, self.weights, demand, self.capacity, SCALE - slack, limit)
        if full is None:
            return None, False
        from naptuft.roller.cutting.whole import cover

        return cover(full, demand, target, nodes, self.effort.deadline - monotonic())
