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
MOST_MODELLED = 300


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
    place = {pattern.tobytes(): index for index, pattern in enumerate(candidates)}
    gain = np.array([leftover.useful(pattern) for pattern in candidates], dtype=float)
    ones = np.ones((len(candidates), 1))
    chosen, proven = branch_on_patterns(
        candidates,
        demand,
        (ones, np.array([target]), np.array([target])),
        [place[p.tobytes()] for p in best],
        gain,
        effort,
    )
    return [candidates[index].copy() for index in chosen], proven


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


def fewer_than(
    most: int, answer: list[np.ndarray], weights: np.ndarray, capacity: int, demand: np.ndarray, effort: Effort
) -> list[np.ndarray] | None:
    """An answer with at most so many different patterns, at the price of as few more stock pieces as are found.

    None where none was found; that does not prove that there is none.
    """
    every = patterns_within(weights, weights, demand, capacity, 0, MOST_MODELLED, only_full=False)
    if every is not None:
        chosen = cheapest_of_few(
            every, demand, np.ones(len(every)), np.zeros((len(every), 0)), np.zeros(0), most, effort
        )
        return None if chosen is None else [every[index].copy() for index in chosen]
    for extra in (0, 1, 2, 3, 5, 8, 13, 21, 34, 55):
        target = len(answer) + extra
        if extra > 3 + len(answer) // 2 or effort.spent():
            return None
        loss = target * capacity - int(demand @ weights)
        candidates = patterns_within(weights, weights, demand, capacity, capacity - loss, limit=20_000, only_full=False)
        if candidates is None:
            return None
        runs = _longest_runs(weights, capacity, demand, target, candidates)
        if runs is not None and _kinds(runs) <= most:
            return runs
    return None


def cheapest_of_few(
    candidates: np.ndarray,
    demand: np.ndarray,
    costs: np.ndarray,
    shares: np.ndarray,
    greatest: np.ndarray,
    most: int,
    effort: Effort,
) -> list[int] | None:
    """Cheapest use of at most `most` different candidates that hold the demand exactly, one entry a use.

    costs   of one use of each candidate, shape (n,)
    shares  what a use takes of what is limited, shape (n, r); greatest, shape (r,)
    """
    count = len(candidates)
    if not count:
        return None
    top = int(demand.sum())
    times = np.where(candidates > 0, demand // np.maximum(candidates, 1), top).min(axis=1)
    model = quiet_solver(mip_max_nodes=2000, time_limit=max(0.01, min(effort.deadline - monotonic(), 5.0)))
    unbounded = np.full(len(greatest), -np.inf)
    add_rows(
        model,
        np.concatenate((demand, unbounded, np.full(count, -np.inf), [0.0])),
        np.concatenate((demand, greatest, np.zeros(count), [float(most)])),
    )
    used, one = np.eye(count), np.ones((count, 1))
    add_columns(model, np.hstack((candidates, shares, used, 0 * one)), costs, times.astype(float), whole=True)
    add_columns(
        model,
        np.hstack((0 * candidates, 0 * shares, -used * times, one)),
        np.zeros(count),
        np.ones(count),
        whole=True,
    )
    model.run()
    if model.getInfo().primal_solution_status != 2:
        return None
    uses = np.rint(np.array(model.getSolution().col_value)[:count]).astype(np.int64)
    if (uses @ candidates != demand).any() or (uses @ shares > greatest + 1e-6).any():
        return None
    return [int(index) for index in np.flatnonzero(uses) for _ in range(uses[index])]


def branch_on_patterns(
    candidates: np.ndarray,
    demand: np.ndarray,
    limits: tuple[np.ndarray, np.ndarray, np.ndarray],
    start: list[int],
    gain: np.ndarray,
    effort: Effort,
    branches: int = MOST_BRANCHES,
) -> tuple[list[int], bool]:
    """Fewest different candidates that hold the demand exactly, then the greatest gain; and whether that is proven.

    candidates  int64, shape (n, m); demand int64, shape (m,)
    limits      further rows over the candidates' uses: coefficients shape (n, r), least and greatest shape (r,)
    start       an answer to begin from: index of a candidate, one entry a use
    gain        worth of one use of each candidate, shape (n,)

    Returns the candidates used, one entry a use.
    """
    import highspy

    count, rows = candidates.shape
    extra, least, greatest = limits
    top = int(demand.sum())
    times = np.where(candidates > 0, demand // np.maximum(candidates, 1), top).min(axis=1)
    kinds = len(set(start))
    model = quiet_solver(mip_max_nodes=branches, time_limit=max(0.01, effort.deadline - monotonic()))
    add_rows(
        model,
        np.concatenate((demand, least, np.full(count, -np.inf), [0.0])),
        np.concatenate((demand, greatest, np.zeros(count), [float(kinds)])),
    )
    used, one = np.eye(count), np.ones((count, 1))
    add_columns(model, np.hstack((candidates, extra, used, 0 * one)), np.zeros(count), times.astype(float), whole=True)
    add_columns(
        model, np.hstack((0 * candidates, 0 * extra, -used * times, one)), np.ones(count), np.ones(count), whole=True
    )
    last_row = rows + extra.shape[1] + count
    every = np.arange(2 * count, dtype=np.int32)

    def start_from(chosen: list[int]) -> None:
        uses = np.zeros(2 * count)
        for index in chosen:
            uses[index] += 1
        uses[count:] = uses[:count] > 0
        solution = highspy.HighsSolution()
        solution.col_value = uses.tolist()
        model.setSolution(solution)

    def read() -> list[int] | None:
        if model.getInfo().primal_solution_status != 2:
            return None
        uses = np.rint(np.array(model.getSolution().col_value)[:count]).astype(np.int64)
        sums = uses @ extra
        if (uses @ candidates != demand).any() or (sums < least - 1e-6).any() or (sums > greatest + 1e-6).any():
            return None
        return [int(index) for index in np.flatnonzero(uses) for _ in range(uses[index])]

    def rank(chosen: list[int]) -> tuple[int, float]:
        return len(set(chosen)), -float(gain[chosen].sum())

    start_from(start)
    model.run()
    proven = model.getModelStatus() == highspy.HighsModelStatus.kOptimal
    best = min(read() or start, start, key=rank)
    if gain.any():
        model.changeRowBounds(last_row, 0.0, float(len(set(best))))
        model.changeColsCost(2 * count, every, np.concatenate((-gain / gain.max(), np.zeros(count))))
        start_from(best)
        model.run()
        best = min(read() or best, best, key=rank)
    return best, proven
