"""Least cost with at most so many lots, proven by branching on which lots are used.

A node is a linear programme over the lots still allowed. When it uses no more lots than allowed it is a
blend; otherwise at least one of the lots it uses must go, and the children drop each in turn, keeping the
ones before it. Children cost no less than their parent, so the cheapest open node bounds all blends.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import highspy
import numpy as np

from naptuft.programme import UNBOUNDED, Answer, QuietSolver

_USED = 1e-7
_GUESS_EVERY = 16
_DECIDED = (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kInfeasible)


@dataclass(frozen=True, order=True)
class _Node:
    bound: float
    number: int
    kept: tuple[int, ...]
    dropped: tuple[int, ...]


class _Relaxation:
    """One linear programme whose column limits change from node to node; HiGHS starts from the last basis."""

    def __init__(self, cost: np.ndarray, most: np.ndarray, rows: np.ndarray):
        count, limits = len(cost), len(rows)
        self.most = most
        self.solver = QuietSolver()
        for option, value in (("presolve", "off"), ("threads", 1), ("primal_feasibility_tolerance", 1e-9)):
            self.solver.setOptionValue(option, value)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = count, limits + 1
        lp.col_cost_, lp.col_lower_, lp.col_upper_ = cost, np.zeros(count), most
        lp.row_lower_ = np.append(np.full(limits, -UNBOUNDED), 1.0)
        lp.row_upper_ = np.append(np.zeros(limits), 1.0)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_ = np.arange(0, (limits + 1) * count + 1, limits + 1).astype(np.int32)
        lp.a_matrix_.index_ = np.tile(np.arange(limits + 1), count).astype(np.int32)
        lp.a_matrix_.value_ = np.vstack([rows, np.ones(count)]).T.reshape(-1)
        self.solver.passModel(lp)
        self._closed: frozenset[int] = frozenset()

    def least(self, closed: frozenset[int]) -> tuple[float, np.ndarray] | None:
        """Least cost with some columns at nil, or None when there is no solution."""
        changed = np.array(sorted(closed ^ self._closed), dtype=np.int32)
        if len(changed):
            high = np.array([0.0 if column in closed else self.most[column] for column in changed])
            self.solver.changeColsBounds(len(changed), changed, np.zeros(len(changed)), high)
        self._closed = closed
        self.solver.run()
        if self.solver.getModelStatus() not in _DECIDED:
            self.solver.clearSolver()
            self.solver.run()
        if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        return self.solver.getInfo().objective_function_value, np.array(self.solver.getSolution().col_value)

    @property
    def seconds(self) -> float:
        """Time spent solving so far. [s]"""
        return self.solver.getRunTime()


def least_cost_of_few(cost: np.ndarray, most: np.ndarray, rows: np.ndarray, few: int, seconds: float) -> Answer:
    """Least cost·f with Σf = 1, 0 <= f <= most, rows·f <= 0 and at most `few` of f above nil.

    cost, most: shape (n,); rows: shape (m, n). seconds of solving; then the best so far with its bound.

    >>> answer = least_cost_of_few(np.array([1.0, 2.0, 9.0]), np.array([0.5, 0.5, 1.0]), np.zeros((0, 3)), 1, 5.0)
    >>> answer.values, answer.objective, answer.status
    (array([0., 0., 1.]), 9.0, 'optimal')
    """
    relaxation, everything = _Relaxation(cost, most, rows), frozenset(range(len(cost)))
    best, limit = None, UNBOUNDED
    open_nodes, number = [_Node(-UNBOUNDED, 0, (), ())], 0
    while open_nodes:
        node = heapq.heappop(open_nodes)
        if node.bound >= limit * (1 - 1e-9):
            break
        if relaxation.seconds > seconds:
            return Answer(best, limit, max(node.bound, 0.0), "out of time")
        closed = everything - set(node.kept) if len(node.kept) == few else frozenset(node.dropped)
        found = relaxation.least(closed)
        if found is None or found[0] >= limit * (1 - 1e-9):
            continue
        least, shares = found
        used = np.flatnonzero(shares > _USED)
        if len(set(used) | set(node.kept)) <= few:
            best, limit = shares, least
            continue
        if number % _GUESS_EVERY == 0:
            largest = frozenset(int(column) for column in np.argsort(-shares, kind="stable")[:few])
            guess = relaxation.least(everything - largest)
            if guess is not None and guess[0] < limit:
                limit, best = guess
        kept = node.kept
        for column in sorted((int(c) for c in used if c not in kept), key=lambda c: -shares[c]):
            number += 1
            heapq.heappush(open_nodes, _Node(least, number, kept, (*node.dropped, column)))
            kept = (*kept, column)
            if len(kept) == few:
                number += 1
                heapq.heappush(open_nodes, _Node(least, number, kept, node.dropped))
                break
    if best is None:
        return Answer(None, UNBOUNDED, UNBOUNDED, "infeasible")
    return Answer(best, limit, limit, "optimal")
