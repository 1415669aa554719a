"""The blend as a mixed-integer programme on HiGHS: at most so many lots, least cost, with proof or bound.

The unknown f of a lot is its share of the blend's counted mass, so that every figure is near 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import product

import highspy
import numpy as np

from naptuft.brush.blend import Blend, BlendLot, FillingTarget, combed
from naptuft.errors import DesignError, Fault, Infeasible
from naptuft.quantity import show

_GAP = 1e-6
_KEEP = 1e-7
_INSIDE = 1e-7
_GRAM_MOVES = (-2, -1, 0, 1, 2)


class _QuietSolver(highspy.Highs):
    """HiGHS without its banner, which the plain class prints before it can be silenced."""

    def enableCallbacks(self) -> None:  # noqa: N802
        self.silent()
        super().enableCallbacks()


@dataclass(frozen=True)
class _Programme:
    """Arrays of one blend, one column a usable lot.

    counted     counted mass per kg taken, shape (n,)
    cost        money per whole blend made of the lot alone, shape (n,)
    most        greatest share f the stock allows, shape (n,)
    targets     rows A with A·f <= 0, shape (rows, n), and their names
    """

    target: FillingTarget
    lots: tuple[BlendLot, ...]
    mass: float
    left: np.ndarray
    dry: np.ndarray
    classes: np.ndarray
    stray: np.ndarray
    counted: np.ndarray
    cost: np.ndarray
    most: np.ndarray
    targets: np.ndarray
    names: tuple[str, ...]


def _programme(target: FillingTarget, lots: Sequence[BlendLot], mass: float) -> _Programme:
    yielded = [combed(target, lot) for lot in lots]
    usable = [i for i, y in enumerate(yielded) if y.share > 0 and lots[i].available >= 0.001]
    kept = tuple(lots[i] for i in usable)
    left = np.array([yielded[i].share for i in usable])
    dry = np.array([yielded[i].dry for i in usable])
    classes = np.array([yielded[i].classes for i in usable]).reshape(len(usable), len(target.profile))
    stray = np.array([yielded[i].stray for i in usable])
    available = np.array([lot.available for lot in kept])
    price = np.array([float(lot.price) for lot in kept])
    diameter = np.array([lot.diameter for lot in kept])
    counted = left if target.moisture is None else dry / (1 - target.moisture)
    weight = dry / counted if len(kept) else np.zeros(0)
    names, rows = [], []
    for k, row in enumerate(target.profile):
        name = f"share at {show(row.length, 'mm')}"
        names += [name, name]
        rows.append(weight * (classes[:, k] - (row.share + row.tolerance)))
        rows.append(weight * ((row.share - row.tolerance) - classes[:, k]))
    names.append("other lengths")
    rows.append(weight * (stray - target.stray))
    if target.most_mean_diameter is not None:
        names.append("greatest mean diameter")
        rows.append(weight * (diameter / target.most_mean_diameter - 1))
    if target.least_mean_diameter is not None:
        names.append("least mean diameter")
        rows.append(weight * (1 - diameter / target.least_mean_diameter))
    return _Programme(
        target,
        kept,
        mass,
        left,
        dry,
        classes,
        stray,
        counted,
        cost=price * mass / counted if len(kept) else np.zeros(0),
        most=np.minimum(1.0, available * counted / mass) if len(kept) else np.zeros(0),
        targets=np.array(rows).reshape(len(rows), len(kept)),
        names=tuple(names),
    )


@dataclass(frozen=True)
class _Solved:
    shares: np.ndarray | None
    bound: float
    status: str


def _solve(
    programme: _Programme,
    columns: np.ndarray,
    seconds: float,
    *,
    elastic: bool = False,
    relaxed: bool = False,
    limit: int | None = None,
) -> tuple[_Solved, np.ndarray, np.ndarray]:
    """Solve over the lots in `columns`. Also gives the reduced costs and the slacks of an elastic solve.

    elastic  targets may be missed; the missed amount is the cost
    relaxed  lots may count by halves (a lower bound)
    """
    n, rows = len(columns), len(programme.names)
    most = programme.most[columns]
    slacks = rows if elastic else 0
    inf = highspy.kHighsInf
    count = 2 * n + slacks
    top = programme.target.max_lots if limit is None else limit

    cost = np.zeros(count)
    if elastic:
        cost[2 * n :] = 1.0
    else:
        cost[:n] = programme.cost[columns]
    matrix = np.zeros((rows + n + 2, count))
    matrix[:rows, :n] = programme.targets[:, columns]
    if elastic:
        matrix[:rows, 2 * n :] = -np.eye(rows)
    matrix[rows : rows + n, :n] = np.eye(n)
    matrix[rows : rows + n, n : 2 * n] = -np.diag(most)
    matrix[rows + n, :n] = 1.0
    matrix[rows + n + 1, n : 2 * n] = 1.0
    lower = np.full(rows + n + 2, -inf)
    upper = np.zeros(rows + n + 2)
    upper[:rows] = 0.0 if elastic else -_INSIDE
    lower[rows + n] = upper[rows + n] = 1.0
    upper[rows + n + 1] = float(top)
    column_upper = np.concatenate([most, np.ones(n), np.full(slacks, inf)])

    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = count, rows + n + 2
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = cost, np.zeros(count), column_upper
    lp.row_lower_, lp.row_upper_ = lower, upper
    by_column = matrix.T
    where = by_column != 0
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = np.concatenate([[0], np.cumsum(where.sum(axis=1))]).astype(np.int32)
    lp.a_matrix_.index_ = np.nonzero(where)[1].astype(np.int32)
    lp.a_matrix_.value_ = by_column[where]
    if not relaxed:
        kinds = [highspy.HighsVarType.kContinuous] * count
        kinds[n : 2 * n] = [highspy.HighsVarType.kInteger] * n
        lp.integrality_ = kinds

    solver = _QuietSolver()
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 1)
    solver.setOptionValue("time_limit", max(0.05, seconds))
    solver.setOptionValue("mip_rel_gap", _GAP)
    solver.setOptionValue("primal_feasibility_tolerance", 1e-9)
    solver.setOptionValue("mip_feasibility_tolerance", 1e-9)
    solver.passModel(lp)
    solver.run()
    status = solver.getModelStatus()
    info = solver.getInfo()
    nothing = np.zeros(0)
    if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
        return _Solved(None, inf, "infeasible"), nothing, nothing
    bound = info.objective_function_value if relaxed else info.mip_dual_bound
    if info.primal_solution_status != 2:
        return _Solved(None, bound, "out of time"), nothing, nothing
    solution = solver.getSolution()
    values = np.array(solution.col_value)
    done = status == highspy.HighsModelStatus.kOptimal
    return (
        _Solved(values[:n], bound, "optimal" if done else "out of time"),
        np.array(solution.col_dual)[:n],
        values[2 * n :],
    )


def least_cost_blend(target: FillingTarget, lots: Sequence[BlendLot], mass: float, seconds: float) -> Blend:
    """The cheapest blend; see `naptuft.brush.blend.blend_lots`."""
    programme = _programme(target, lots, mass)
    _check_stock(programme)
    everything = np.arange(len(programme.lots))
    solved, _, _ = _solve(programme, everything, seconds)
    if solved.status == "infeasible":
        raise _nearest(programme, seconds)
    if solved.shares is None:
        raise DesignError(
            Fault("seconds", seconds, "time enough to find a first blend", "allow more seconds or offer fewer lots")
        )
    return weighed(programme, solved.shares, solved.bound, solved.status == "optimal")


def _check_stock(programme: _Programme) -> None:
    """Raise Infeasible when even the largest lots together hold too little usable hair."""
    best = np.sort(programme.most)[::-1][: programme.target.max_lots]
    if best.sum() < 1 - 1e-9:
        raise Infeasible(
            Fault(
                "stock",
                show(programme.mass, "kg"),
                f"at most {show(float(best.sum()) * programme.mass, 'kg')}, what {len(best)} lots give after combing",
                "ask for a smaller blend, allow more lots in one blend, or bring in stock",
            )
        )


def _nearest(programme: _Programme, seconds: float) -> Infeasible:
    """The error that names each target missed by the nearest blend, and that blend."""
    solved, _, _ = _solve(programme, np.arange(len(programme.lots)), seconds, elastic=True)
    if solved.shares is None:
        return Infeasible(
            Fault("target", str(programme.names), "a target some blend can meet", "widen its tolerances or add lots")
        )
    blend = weighed(programme, solved.shares, 0.0, False)
    mend = f"widen this target or add lots; the nearest blend is {blend}"
    faults = []
    for row, (length, asked, got) in zip(programme.target.profile, blend.profile, strict=True):
        if abs(got - asked) > row.tolerance + 1e-4:
            allowed = f"{asked:.1%} ± {row.tolerance:.1%}"
            faults.append(Fault(f"share at {show(length, 'mm')}", f"{got:.1%} at the nearest", allowed, mend))
    if blend.stray > programme.target.stray + 1e-4:
        faults.append(
            Fault("other lengths", f"{blend.stray:.1%} at the nearest", f"at most {programme.target.stray:.1%}", mend)
        )
    low, high = programme.target.least_mean_diameter, programme.target.most_mean_diameter
    if low is not None and blend.mean_diameter < low * (1 - 1e-4):
        value = f"{show(blend.mean_diameter, 'mm')} at the nearest"
        faults.append(Fault("least mean diameter", value, f"at least {show(low, 'mm')}", mend))
    if high is not None and blend.mean_diameter > high * (1 + 1e-4):
        value = f"{show(blend.mean_diameter, 'mm')} at the nearest"
        faults.append(Fault("greatest mean diameter", value, f"at most {show(high, 'mm')}", mend))
    if not faults:
        faults.append(
            Fault("tolerances", f"missed by less than 0.01 % by {blend}", "wider tolerances", "widen them a little")
        )
    return Infeasible(*faults)


def weighed(programme: _Programme, shares: np.ndarray, bound: float, proven: bool) -> Blend:
    """A solution in shares as a blend in whole grams that still keeps the targets."""
    chosen = np.flatnonzero(shares > _KEEP)
    exact = shares[chosen] * programme.mass / programme.counted[chosen] * 1000
    grams = _whole_grams(programme, chosen, exact)
    chosen, grams = chosen[grams > 0], grams[grams > 0]
    left = _shared_out(grams * programme.left[chosen])
    dry = grams / 1000 * programme.dry[chosen]
    got = dry @ programme.classes[chosen] / dry.sum()
    lots = [programme.lots[i] for i in chosen]
    cost = sum((Decimal(int(g)) / 1000 * lot.price for g, lot in zip(grams, lots, strict=True)), Decimal(0))
    least = Decimal(repr(float(bound))) if np.isfinite(bound) else Decimal(0)
    least = min(max(least, Decimal(0)), cost)
    slack = max(_GRAM_MOVES) * sum((lot.price for lot in lots), Decimal(0)) / 1000 + cost / 10_000
    return Blend(
        lots=tuple((lot.code, int(g) / 1000) for lot, g in zip(lots, grams, strict=True)),
        blended=tuple((lot.code, int(g) / 1000) for lot, g in zip(lots, left, strict=True)),
        combings=int(grams.sum() - left.sum()) / 1000,
        profile=tuple(
            (row.length, row.share, float(share)) for row, share in zip(programme.target.profile, got, strict=True)
        ),
        stray=float(dry @ programme.stray[chosen] / dry.sum()),
        mean_diameter=float(dry @ np.array([lot.diameter for lot in lots]) / dry.sum()),
        dry_mass=float(dry.sum()),
        cost=cost,
        bound=least,
        proven_optimal=bool(proven and cost - least <= slack),
    )


def _shared_out(exact: np.ndarray) -> np.ndarray:
    """Whole numbers that add up to the rounded total: the largest remainders are rounded up."""
    whole = np.floor(exact + 1e-9).astype(int)
    missing = round(float(exact.sum())) - int(whole.sum())
    whole[np.argsort(whole - exact, kind="stable")[:missing]] += 1
    return whole


def _whole_grams(programme: _Programme, chosen: np.ndarray, exact: np.ndarray) -> np.ndarray:
    """Whole grams near the exact ones: the cheapest that keep every target and the mass, else the nearest."""
    stock = np.floor(np.array([programme.lots[i].available for i in chosen]) * 1000 + 1e-6).astype(int)
    base = np.minimum(np.rint(exact).astype(int), stock)
    if len(chosen) > 6:
        return base
    moves = np.array(list(product(_GRAM_MOVES, repeat=len(chosen))))
    tried = base + moves
    counted = programme.counted[chosen]
    shares = tried * counted / (programme.mass * 1000)
    kept = (tried >= 0).all(axis=1) & (tried <= stock).all(axis=1)
    kept &= tried @ counted >= programme.mass * 1000 - 0.5
    kept &= (shares @ programme.targets[:, chosen].T <= 1e-12).all(axis=1)
    if not kept.any():
        return base
    price = np.array([float(programme.lots[i].price) for i in chosen])
    cost = tried @ price + 1e-9 * np.abs(tried - exact).sum(axis=1)
    return tried[np.flatnonzero(kept)[np.argmin(cost[kept])]]
