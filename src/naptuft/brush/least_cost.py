"""The least-cost blend: at most so many lots, with proof or bound, or the targets that bind.

The unknown f of a lot is its share of the blend's counted mass, so that every figure is near 1. Broken
bundles are solved by branching on lots, whole bundles and the nearest blend as a mixed-integer programme.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from math import sqrt

import numpy as np

from naptuft.brush.blend import Blend, BlendLot, FillingTarget, combed
from naptuft.brush.branching import least_cost_of_few
from naptuft.errors import DesignError, Fault, Infeasible
from naptuft.programme import UNBOUNDED, Answer, Programme
from naptuft.quantity import show

_KEEP = 1e-7
_GRAM_MOVES = (-2, -1, 0, 1, 2)
_CUTS = 25


@dataclass(frozen=True)
class Mixture:
    """Arrays of one blend, one column a usable lot.

    left, dry   mass and dry mass left of a kg taken, shape (n,)
    classes     share at each length of the profile, shape (n, lengths)
    counted     counted mass per kg taken, shape (n,)
    unit        counted share one unit of the unknown stands for: 1, or that of a bundle, shape (n,)
    cost        money per unit, shape (n,)
    most        most units the stock allows, shape (n,)
    targets     rows A with A·f <= 0, shape (rows, n); names: what each row asks
    errors      standard error of a row's figure per share f, shape (rows, n)
    """

    target: FillingTarget
    lots: tuple[BlendLot, ...]
    mass: float
    left: np.ndarray
    dry: np.ndarray
    classes: np.ndarray
    stray: np.ndarray
    counted: np.ndarray
    unit: np.ndarray
    cost: np.ndarray
    most: np.ndarray
    targets: np.ndarray
    errors: np.ndarray
    names: tuple[str, ...]

    @property
    def whole(self) -> bool:
        """True when bundles may not be broken."""
        return self.target.bundles == "whole"

    @property
    def reach(self) -> np.ndarray:
        """Greatest share f the stock allows."""
        return self.most * self.unit


def mixture(target: FillingTarget, lots: Sequence[BlendLot], mass: float) -> Mixture:
    """The arrays of a blend; lots that can give nothing are left out."""
    yielded = [combed(target, lot) for lot in lots]
    whole = target.bundles == "whole"
    usable = [
        i
        for i, y in enumerate(yielded)
        if y.share > 0
        and lots[i].available >= max(0.001, lots[i].bundle * whole)
        and lots[i].moisture <= target.most_moisture
    ]
    kept = tuple(lots[i] for i in usable)
    count = len(kept)
    left = np.array([yielded[i].share for i in usable])
    dry = np.array([yielded[i].dry for i in usable])
    classes = np.array([yielded[i].classes for i in usable]).reshape(count, len(target.profile))
    stray = np.array([yielded[i].stray for i in usable])
    diameter = np.array([lot.diameter for lot in kept])
    available = np.array([lot.available for lot in kept])
    bundle = np.array([lot.bundle if whole else 0.0 for lot in kept])
    counted = left if target.moisture is None else dry / (1 - target.moisture)
    weight = dry / counted if count else left
    unit = np.where(bundle > 0, bundle * counted / mass, 1.0)
    units = np.where(bundle > 0, np.floor(available / np.where(bundle > 0, bundle, 1.0) + 1e-9), 0.0)
    share = np.minimum(1.0 + target.surplus * whole, available * counted / mass)
    most = np.where(bundle > 0, units, share)
    price = np.array([float(lot.price) for lot in kept])
    names, rows, errors = [], [], []
    error = weight * np.array([lot.length_error for lot in kept])

    def ask(name: str, row: np.ndarray, uncertain: bool = False) -> None:
        names.append(name)
        rows.append(row)
        errors.append(error if uncertain else np.zeros(count))

    for k, row in enumerate(target.profile):
        name = f"share at {show(row.length, 'mm')}"
        ask(name, weight * (classes[:, k] - (row.share + row.tolerance)), True)
        ask(name, weight * ((row.share - row.tolerance) - classes[:, k]), True)
    ask("other lengths", weight * (stray - target.stray))
    if target.most_mean_diameter is not None:
        ask("greatest mean diameter", weight * (diameter / target.most_mean_diameter - 1))
    if target.least_mean_diameter is not None:
        ask("least mean diameter", weight * (1 - diameter / target.least_mean_diameter))
    if target.least_flag is not None:
        ask("flagged hair", weight * (target.least_flag - np.array([lot.flag for lot in kept])))
    if target.stiff_as is not None:
        ask("stiffness", weight * (1 - (diameter / target.stiff_as) ** 2))
    return Mixture(
        target,
        kept,
        mass,
        left,
        dry,
        classes,
        stray,
        counted,
        unit,
        cost=price * mass / counted * unit if count else price,
        most=most,
        targets=np.array(rows).reshape(len(rows), count),
        errors=np.array(errors).reshape(len(rows), count),
        names=tuple(names),
    )


def programme(mix: Mixture, cuts: np.ndarray, *, elastic: bool) -> Programme:
    """The whole programme: units of each lot, then used or not, then (elastic) how far each target is missed.

    cuts  further rows with cuts·f <= 0, shape (m, n)
    """
    n = len(mix.lots)
    targets = np.vstack([mix.targets, cuts]) * mix.unit
    slack = len(targets) if elastic else 0
    bundled = np.array([mix.whole and lot.bundle > 0 for lot in mix.lots], dtype=bool)
    made = Programme(
        np.concatenate([np.zeros(n) if elastic else mix.cost, np.zeros(n), np.ones(slack)]),
        np.zeros(2 * n + slack),
        np.concatenate([mix.most, np.ones(n), np.full(slack, UNBOUNDED)]),
        np.concatenate([bundled, np.ones(n, bool), np.zeros(slack, bool)]),
    )
    f, used = np.arange(n), np.arange(n, 2 * n)
    for number, row in enumerate(targets):
        if elastic:
            made.row([*f, 2 * n + number], [*row, -1.0], -UNBOUNDED, 0.0)
        else:
            made.row(f, row, -UNBOUNDED, 0.0)
    made.rows(np.stack([f, used], axis=1), np.stack([np.ones(n), -mix.most], axis=1), -UNBOUNDED, 0.0)
    made.row(f, mix.unit, 1.0, 1.0 + mix.target.surplus if mix.whole else 1.0)
    made.row(used, np.ones(n), 0.0, float(mix.target.max_lots))
    return made


def cheapest(mix: Mixture, cuts: np.ndarray, seconds: float) -> Answer:
    """The least-cost answer over all lots, its values the units of each lot, shape (n,)."""
    if mix.whole:
        return _spread(mix, programme(mix, cuts, elastic=False).solve(seconds))
    rows = np.vstack([mix.targets, cuts])
    return least_cost_of_few(mix.cost, mix.most, rows, mix.target.max_lots, seconds)


def _spread(mix: Mixture, answer: Answer) -> Answer:
    """The answer of a whole programme, its units alone."""
    if answer.values is None:
        return answer
    return Answer(answer.values[: len(mix.lots)], answer.objective, answer.bound, answer.status)


def least_cost_blend(target: FillingTarget, lots: Sequence[BlendLot], mass: float, seconds: float) -> Blend:
    """The cheapest blend; see `naptuft.brush.blend.blend_lots`."""
    mix = mixture(target, lots, mass)
    check_stock(mix)
    cuts = np.zeros((0, len(mix.lots)))
    answer = cheapest(mix, cuts, seconds)
    for _ in range(_CUTS if target.standard_errors > 0 else 0):
        if answer.values is None:
            break
        more = _error_cuts(mix, answer.values * mix.unit)
        if not len(more):
            break
        cuts = np.vstack([cuts, more])
        answer = cheapest(mix, cuts, seconds)
    if answer.status == "infeasible":
        raise nearest_blend(mix, cuts, seconds)
    if answer.values is None:
        raise DesignError(
            Fault("seconds", seconds, "time enough to find a first blend", "allow more seconds or offer fewer lots")
        )
    return weighed(mix, answer.values, answer.bound, answer.status == "optimal")


def _error_cuts(mix: Mixture, shares: np.ndarray) -> np.ndarray:
    """Tangents to A·f + z·√Σ(error·f)² <= 0 where a blend breaks it: never cut off a blend that keeps it."""
    cuts = []
    for row, error in zip(mix.targets, mix.errors, strict=True):
        spread = sqrt(float(((error * shares) ** 2).sum()))
        if spread > 0 and float(row @ shares) + mix.target.standard_errors * spread > 1e-6:
            cuts.append(row + mix.target.standard_errors * error**2 * shares / spread)
    return np.array(cuts).reshape(len(cuts), len(shares))


def check_stock(mix: Mixture) -> None:
    """Raise Infeasible when even the largest lots together hold too little usable hair."""
    best = np.sort(mix.reach)[::-1][: mix.target.max_lots]
    if best.sum() < 1 - 1e-9:
        raise Infeasible(
            Fault(
                "stock",
                show(mix.mass, "kg"),
                f"at most {show(float(best.sum()) * mix.mass, 'kg')}, what {len(best)} lots give after combing",
                "ask for a smaller blend, allow more lots in one blend, or bring in stock",
            )
        )


def nearest_blend(mix: Mixture, cuts: np.ndarray, seconds: float) -> Infeasible:
    """The error that names each target missed by the nearest blend, and that blend."""
    answer = _spread(mix, programme(mix, cuts, elastic=True).solve(seconds))
    if answer.values is None:
        what = "bundles" if mix.whole else "target"
        return Infeasible(
            Fault(what, str(mix.target.max_lots), "lots that make the mass and keep the targets", "allow more lots")
        )
    blend = weighed(mix, answer.values, 0.0, False)
    mend = f"widen this target or add lots; the nearest blend is {blend}"
    target, z = mix.target, mix.target.standard_errors
    errors = blend.profile_error or (0.0,) * len(blend.profile)
    faults = []
    for row, (length, asked, got), error in zip(target.profile, blend.profile, errors, strict=True):
        if abs(got - asked) + z * error > row.tolerance + 1e-4:
            allowed = f"{asked:.1%} ± {row.tolerance:.1%}" + (f" within {z:g} standard errors" if z else "")
            value = f"{got:.1%} at the nearest" + (f", ± {error:.1%}" if z else "")
            faults.append(Fault(f"share at {show(length, 'mm')}", value, allowed, mend))
    if blend.stray > target.stray + 1e-4:
        faults.append(Fault("other lengths", f"{blend.stray:.1%} at the nearest", f"at most {target.stray:.1%}", mend))
    if target.least_flag is not None and blend.flag < target.least_flag - 1e-4:
        faults.append(
            Fault("flagged hair", f"{blend.flag:.1%} at the nearest", f"at least {target.least_flag:.1%}", mend)
        )
    for name, got, low, high in (
        ("least mean diameter", blend.mean_diameter, target.least_mean_diameter, None),
        ("greatest mean diameter", blend.mean_diameter, None, target.most_mean_diameter),
        ("stiffness", blend.stiff_as, target.stiff_as, None),
    ):
        value = f"{show(got, 'mm')} at the nearest"
        if low is not None and got < low * (1 - 1e-4):
            faults.append(Fault(name, value, f"at least {show(low, 'mm')}", mend))
        if high is not None and got > high * (1 + 1e-4):
            faults.append(Fault(name, value, f"at most {show(high, 'mm')}", mend))
    if not faults:
        faults.append(
            Fault("tolerances", f"missed by less than 0.01 % by {blend}", "wider tolerances", "widen them a little")
        )
    return Infeasible(*faults)


def weighed(mix: Mixture, units: np.ndarray, bound: float, proven: bool) -> Blend:
    """A solution as a blend in whole grams (or whole bundles) that still keeps the targets."""
    shares = units * mix.unit
    chosen = np.flatnonzero(shares > _KEEP)
    exact = shares[chosen] * mix.mass / mix.counted[chosen] * 1000
    grams = np.rint(exact).astype(int) if mix.whole else _whole_grams(mix, chosen, exact)
    chosen, grams = chosen[grams > 0], grams[grams > 0]
    left = _shared_out(grams * mix.left[chosen])
    dry = grams / 1000 * mix.dry[chosen]
    by_dry = dry / dry.sum()
    lots = [mix.lots[i] for i in chosen]
    diameter = np.array([lot.diameter for lot in lots])
    cost = sum((Decimal(int(g)) / 1000 * lot.price for g, lot in zip(grams, lots, strict=True)), Decimal(0))
    least = Decimal(repr(float(bound))) if np.isfinite(bound) else Decimal(0)
    least = min(max(least, Decimal(0)), cost)
    slack = max(_GRAM_MOVES) * sum((lot.price for lot in lots), Decimal(0)) / 1000 + cost / 10_000
    error = sqrt(float(((by_dry * np.array([lot.length_error for lot in lots])) ** 2).sum()))
    return Blend(
        lots=tuple((lot.code, int(g) / 1000) for lot, g in zip(lots, grams, strict=True)),
        blended=tuple((lot.code, int(g) / 1000) for lot, g in zip(lots, left, strict=True)),
        combings=int(grams.sum() - left.sum()) / 1000,
        profile=tuple(
            (row.length, row.share, float(share))
            for row, share in zip(mix.target.profile, by_dry @ mix.classes[chosen], strict=True)
        ),
        stray=float(by_dry @ mix.stray[chosen]),
        mean_diameter=float(by_dry @ diameter),
        dry_mass=float(dry.sum()),
        cost=cost,
        bound=least,
        proven_optimal=bool(proven and cost - least <= slack),
        profile_error=(error,) * len(mix.target.profile),
        flag=float(by_dry @ np.array([lot.flag for lot in lots])),
        stiff_as=sqrt(float(by_dry @ diameter**2)),
    )


def _shared_out(exact: np.ndarray) -> np.ndarray:
    """Whole numbers that add up to the rounded total: the largest remainders are rounded up."""
    whole = np.floor(exact + 1e-9).astype(int)
    missing = round(float(exact.sum())) - int(whole.sum())
    whole[np.argsort(whole - exact, kind="stable")[:missing]] += 1
    return whole


def _whole_grams(mix: Mixture, chosen: np.ndarray, exact: np.ndarray) -> np.ndarray:
    """Whole grams near the exact ones: the cheapest that keep every target and the mass, else the nearest."""
    stock = np.floor(np.array([mix.lots[i].available for i in chosen]) * 1000 + 1e-6).astype(int)
    base = np.minimum(np.rint(exact).astype(int), stock)
    if len(chosen) > 6:
        return base
    tried = base + np.array(list(product(_GRAM_MOVES, repeat=len(chosen))))
    counted = mix.counted[chosen]
    shares = tried * counted / (mix.mass * 1000)
    spread = np.sqrt(shares**2 @ (mix.errors[:, chosen] ** 2).T) * mix.target.standard_errors
    kept = (tried >= 0).all(axis=1) & (tried <= stock).all(axis=1)
    kept &= tried @ counted >= mix.mass * 1000 - 0.5
    kept &= (shares @ mix.targets[:, chosen].T + spread <= 1e-12).all(axis=1)
    if not kept.any():
        return base
    price = np.array([float(mix.lots[i].price) for i in chosen])
    cost = tried @ price + 1e-9 * np.abs(tried - exact).sum(axis=1)
    return tried[np.flatnonzero(kept)[np.argmin(cost[kept])]]
