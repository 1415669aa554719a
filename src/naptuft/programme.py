"""A mixed-integer programme, handed to HiGHS row by row."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import highspy
import numpy as np

UNBOUNDED = highspy.kHighsInf


class QuietSolver(highspy.Highs):
    """HiGHS without its banner, which the plain class prints before it can be silenced."""

    def enableCallbacks(self) -> None:  # noqa: N802
        self.silent()
        super().enableCallbacks()


@dataclass(frozen=True)
class Answer:
    """What the solver found.

    values   of every column; None when there is no solution
    bound    proven least objective
    status   optimal (proven), infeasible (proven), or out of time
    """

    values: np.ndarray | None
    objective: float
    bound: float
    status: Literal["optimal", "infeasible", "out of time"]


class Programme:
    """Least cost·x with low <= x <= high, some x whole, and rows of limits on weighted sums.

    >>> least = Programme(cost=[1.0, 2.0], low=[0, 0], high=[5, 5], whole=[True, False])
    >>> least.row([0, 1], [1.0, 1.0], 2.5, UNBOUNDED)
    >>> answer = least.solve(5.0)
    >>> answer.objective, answer.status
    (3.0, 'optimal')
    """

    def __init__(self, cost: Any, low: Any, high: Any, whole: Any):
        self.cost, self.low, self.high = (np.asarray(given, dtype=float) for given in (cost, low, high))
        self.whole = np.asarray(whole, dtype=bool)
        self._indices: list[np.ndarray] = []
        self._values: list[np.ndarray] = []
        self._lengths: list[np.ndarray] = []
        self._low: list[np.ndarray] = []
        self._high: list[np.ndarray] = []

    def row(self, indices: Any, values: Any, low: float, high: float) -> None:
        """One limit: low <= Σ values·x[indices] <= high."""
        self.rows(np.asarray(indices)[None, :], np.asarray(values, dtype=float)[None, :], low, high)

    def rows(self, indices: np.ndarray, values: np.ndarray, low: float, high: float) -> None:
        """Several limits of equal length, shape (rows, entries)."""
        count = len(indices)
        self._indices.append(indices.reshape(-1))
        self._values.append(values.reshape(-1))
        self._lengths.append(np.full(count, indices.shape[1]))
        self._low.append(np.full(count, low))
        self._high.append(np.full(count, high))

    def solve(self, seconds: float, nodes: int = 2**31 - 1, within: float = 1e-6) -> Answer:
        """Solve within a time; then the best so far with its bound.

        nodes   of the search tree: a limit that, unlike time, gives the same answer on every machine
        within  of the bound, as a share: near enough to be called optimal
        """
        lp = highspy.HighsLp()
        lengths = np.concatenate(self._lengths)
        lp.num_col_, lp.num_row_ = len(self.cost), len(lengths)
        lp.col_cost_, lp.col_lower_, lp.col_upper_ = self.cost, self.low, self.high
        lp.row_lower_, lp.row_upper_ = np.concatenate(self._low), np.concatenate(self._high)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.concatenate([[0], np.cumsum(lengths)]).astype(np.int32)
        lp.a_matrix_.index_ = np.concatenate(self._indices).astype(np.int32)
        lp.a_matrix_.value_ = np.concatenate(self._values)
        if self.whole.any():
            kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
            lp.integrality_ = [kinds[int(whole)] for whole in self.whole]
        solver = QuietSolver()
        for option, value in (
            ("threads", 1),
            ("random_seed", 1),
            ("time_limit", max(0.05, seconds)),
            ("mip_rel_gap", within),
            ("mip_max_nodes", nodes),
            ("primal_feasibility_tolerance", 1e-9),
            ("mip_feasibility_tolerance", 1e-9),
        ):
            solver.setOptionValue(option, value)
        solver.passModel(lp)
        solver.run()
        status, info = solver.getModelStatus(), solver.getInfo()
        if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
            return Answer(None, UNBOUNDED, UNBOUNDED, "infeasible")
        bound = info.mip_dual_bound if self.whole.any() else info.objective_function_value
        if info.primal_solution_status != 2:
            return Answer(None, UNBOUNDED, bound, "out of time")
        word: Literal["optimal", "out of time"] = (
            "optimal" if status == highspy.HighsModelStatus.kOptimal else "out of time"
        )
        return Answer(np.array(solver.getSolution().col_value), info.objective_function_value, bound, word)
