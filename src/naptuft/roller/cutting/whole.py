"""Whole-number covers of a demand by given patterns, decided by branch and cut."""

from __future__ import annotations

import numpy as np

from naptuft.roller.cutting.linear import add_columns, add_rows, quiet_solver


def cover(
    patterns: np.ndarray, demand: np.ndarray, target: int, nodes: int, seconds: float
) -> tuple[list[np.ndarray] | None, bool]:
    """At most `target` of the patterns, repeats allowed, that hold the demand.

    patterns  int64, shape (n, m); demand int64, shape (m,)
    nodes     most branches tried; seconds is the last limit

    Returns the patterns chosen (None when none were found) and whether it is proven that none exist.

    >>> from numpy import array
    >>> cover(array([[2, 0], [1, 1]]), array([3, 1]), 2, 100, 10.0)[0]
    [array([2, 0]), array([1, 1])]
    >>> cover(array([[2, 0], [1, 1]]), array([3, 1]), 1, 100, 10.0)
    (None, True)
    """
    import highspy

    if not len(patterns) or not (patterns.max(axis=0)[demand > 0] > 0).all():
        return None, True
    if seconds <= 0:
        return None, False
    rows = np.flatnonzero(demand)
    block = patterns[:, rows]
    model = quiet_solver(
        mip_max_nodes=nodes, time_limit=seconds, objective_target=target + 0.5, objective_bound=target + 0.5
    )
    add_rows(model, demand[rows].astype(float), np.full(len(rows), np.inf))
    most = np.where(block > 0, -(-demand[rows] // np.maximum(block, 1)), 0).max(axis=1)
    add_columns(model, block, np.ones(len(block)), most.astype(float), whole=True)
    model.run()
    status = model.getModelStatus()
    info = model.getInfo()
    if info.primal_solution_status == 2 and model.getObjectiveValue() <= target + 0.5:
        times = np.rint(np.array(model.getSolution().col_value)).astype(np.int64)
        chosen = [patterns[j].copy() for j in np.flatnonzero(times) for _ in range(times[j])]
        if len(chosen) <= target and (np.sum(chosen, axis=0) >= demand).all():
            return chosen, False
    stopped = highspy.HighsModelStatus
    impossible = status in (stopped.kInfeasible, stopped.kOptimal, stopped.kObjectiveBound)
    return None, impossible
