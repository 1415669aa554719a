"""Among answers with as few stock pieces: few different patterns first, then the most useful leftover.

Every change of pattern is a change of the stops, so two patterns cut five times each beat five patterns
cut twice. Both steps keep the number of stock pieces.
"""

from __future__ import annotations

from time import monotonic
from typing import Protocol

import numpy as np

from naptuft.roller.cutting.linear import add_columns, add_rows, quiet_solver
from naptuft.roller.cutting.pricing import patterns_within
from naptuft.roller.cutting.search import Effort, first_fit_decreasing, fullest_first

MOST_CANDIDATES = 40
MOST_BRANCHES = 40


class Useful(Protocol):
    """Tells how much of a pattern's leftover is worth keeping."""

    def useful(self, pattern: np.ndarray) -> int:
        """Length worth keeping, in grid steps."""
        ...


def fewest_patterns(
    answer: list[np.ndarray],
    weights: np.ndarray,
    capacity: int,
    demand: np.ndarray,
    leftover: Useful,
    effort: Effort,
) -> tuple[list[np.ndarray], bool]:
    """The answer with fewer different patterns where that is found, and whether it is proven the fewest."""
    target = len(answer)
    loss = target * capacity - int(demand @ weights)
    candidates = patterns_within(weights, weights, demand, capacity, capacity - loss, limit=20_000, only_full=False)
    best = answer
    runs = _longest_runs(weights, capacity, demand, target, candidates)
    if runs is not None and _rank(runs, leftover) < _rank(best, leftover):
        best = runs
    if _kinds(best) == 1:
        return best, True
    if candidates is None or len(candidates) > MOST_CANDIDATES:
        return best, False
    return _by_branching(best, demand, candidates, leftover, effort)


def _kinds(answer: list[np.ndarray]) -> int:
    return len({pattern.tobytes() for pattern in answer})


def _rank(answer: list[np.ndarray], leftover: Useful) -> tuple[int, int]:
    return _kinds(answer), -sum(leftover.useful(pattern) for pattern in answer)


def _longest_runs(
    weights: np.ndarray, capacity: int, demand: np.ndarray, target: int, candidates: np.ndarray | None
) -> list[np.ndarray] | None:
    """Take the pattern that can be cut most often, again and again, as long as the rest stays within the target."""
    if candidates is None or not len(candidates):
        return None
    chosen: list[np.ndarray] = []
    left = demand.copy()
    while left.any():
        room = target - len(chosen)
        times = np.where(candidates > 0, left // np.maximum(candidates, 1), target).min(axis=1)
        worth = times * (candidates @ weights)
        fitted = False
        for index in np.argsort(-worth, kind="stable")[:25]:
            pattern, run = candidates[index], min(int(times[index]), room)
            if run < 1:
                break
            rest = left - run * pattern
            if _fits(weights, capacity, rest, room - run):
                chosen += [pattern.copy() for _ in range(run)]
                left = rest
                fitted = True
                break
        if not fitted:
            return None
    return chosen


def _fits(weights: np.ndarray, capacity: int, demand: np.ndarray, target: int) -> bool:
    if not demand.any():
        return True
    if int(demand @ weights) > target * capacity:
        return False
    return any(len(fill(weights, capacity, demand)) <= target for fill in (first_fit_decreasing, fullest_first))


def _by_branching(
    answer: list[np.ndarray], demand: np.ndarray, candidates: np.ndarray, leftover: Useful, effort: Effort
) -> tuple[list[np.ndarray], bool]:
    import highspy

    count, rows = candidates.shape
    target = len(answer)
    times = np.where(candidates > 0, demand // np.maximum(candidates, 1), target).min(axis=1)
    times = np.minimum(times, target)
    model = quiet_solver(mip_max_nodes=MOST_BRANCHES, time_limit=max(0.01, effort.deadline - monotonic()))
    wanted = [*demand.tolist(), target]
    add_rows(
        model,
        np.array([*wanted, *[-np.inf] * count, 0.0]),
        np.array([*wanted, *[0.0] * count, _kinds(answer)]),
    )
    used, one = np.eye(count), np.ones((count, 1))
    add_columns(model, np.hstack((candidates, one, used, 0 * one)), np.zeros(count), times.astype(float), whole=True)
    add_columns(
        model,
        np.hstack((0 * candidates, 0 * one, -used * times, one)),
        np.ones(count),
        np.ones(count),
        whole=True,
    )
    last_row = rows + 1 + count
    every = np.arange(2 * count, dtype=np.int32)
    place = {candidates[j].tobytes(): j for j in range(count)}

    def start_from(patterns: list[np.ndarray]) -> None:
        uses = np.zeros(2 * count)
        for pattern in patterns:
            uses[place[pattern.tobytes()]] += 1
        uses[count:] = uses[:count] > 0
        solution = highspy.HighsSolution()
        solution.col_value = uses.tolist()
        model.setSolution(solution)

    def read() -> list[np.ndarray] | None:
        if model.getInfo().primal_solution_status != 2:
            return None
        uses = np.rint(np.array(model.getSolution().col_value)[:count]).astype(np.int64)
        patterns = [candidates[j].copy() for j in np.flatnonzero(uses) for _ in range(uses[j])]
        return patterns if len(patterns) == target and (np.sum(patterns, axis=0) == demand).all() else None

    start_from(answer)
    model.run()
    proven = model.getModelStatus() == highspy.HighsModelStatus.kOptimal
    best = read() or answer
    gain = np.array([leftover.useful(pattern) for pattern in candidates], dtype=float)
    if gain.any():
        model.changeRowBounds(last_row, 0.0, float(_kinds(best)))
        model.changeColsCost(2 * count, every, np.concatenate((-gain / gain.max(), np.zeros(count))))
        start_from(best)
        model.run()
        richer = read()
        if richer is not None and _rank(richer, leftover) < _rank(best, leftover):
            best = richer
    return best, proven
