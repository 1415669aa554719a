"""Least-cost blends over hundreds and thousands of lots: ours and its peers on the same instances, in the same run.

Peers: the whole programme by HiGHS; lots kept by their reduced cost in the linear relaxation, then HiGHS; CP-SAT.

Run: python benchmarks/bristle_blend.py [seconds a peer may take] [peers, parted by commas]
"""

from __future__ import annotations

import random
import sys
import time
from decimal import Decimal

import numpy as np
from scipy.optimize import linprog

from naptuft.brush.blend import BlendLot, FillingTarget, LengthAsked, blend_lots
from naptuft.brush.least_cost import mixture, programme
from naptuft.errors import NaptuftError

LENGTHS = (0.089, 0.083, 0.076, 0.070, 0.064)
SHARES = (0.15, 0.25, 0.30, 0.20, 0.10)
KEPT = 60


def instance(seed: int, count: int) -> tuple[FillingTarget, list[BlendLot], float]:
    """A target of five lengths and so many lots, each around one length, dearer when longer."""
    draw = random.Random(seed)
    rows = tuple(
        LengthAsked(length=length, share=share, tolerance=0.03) for length, share in zip(LENGTHS, SHARES, strict=True)
    )
    lots = []
    for number in range(count):
        middle = draw.randrange(5)
        weights = [draw.random() * 5 ** -abs(k - middle) for k in range(5)]
        short = draw.uniform(0, 0.06)
        total = sum(weights) / (1 - short)
        profile = [(length, weight / total) for length, weight in zip(LENGTHS, weights, strict=True)]
        price = 30 + 12 * (4 - middle) + draw.uniform(-8, 8)
        lots.append(
            BlendLot(
                f"B-{number}",
                round(draw.uniform(3, 40), 3),
                Decimal(str(round(price, 2))),
                (*profile, (0.045, short)),
                draw.uniform(0.15e-3, 0.21e-3),
                draw.uniform(0.10, 0.15),
                draw.uniform(0.0, 0.15),
            )
        )
    return FillingTarget(profile=rows), lots, 25.0


def plain_highs(target: FillingTarget, lots: list[BlendLot], mass: float, seconds: float) -> tuple[float, bool]:
    """The same programme handed to HiGHS whole."""
    mix = mixture(target, lots, mass)
    answer = programme(mix, np.zeros((0, len(mix.lots))), elastic=False).solve(seconds)
    return answer.objective, answer.status == "optimal"


def relaxed_then_highs(target: FillingTarget, lots: list[BlendLot], mass: float, seconds: float) -> tuple[float, bool]:
    """Keep the lots of least reduced cost in the linear relaxation and solve those whole; no proof for the others."""
    begun = time.perf_counter()
    mix = mixture(target, lots, mass)
    rows = np.vstack([mix.targets, mix.targets[:0]])
    relaxed = linprog(
        mix.cost,
        A_ub=rows,
        b_ub=np.zeros(len(rows)),
        A_eq=np.ones((1, len(mix.cost))),
        b_eq=[1.0],
        bounds=list(zip(np.zeros(len(mix.cost)), mix.most, strict=True)),
        method="highs",
    )
    if relaxed.status != 0:
        return float("nan"), False
    reduced = mix.cost - relaxed.ineqlin.marginals @ rows - relaxed.eqlin.marginals[0]
    kept = sorted(np.argsort(reduced, kind="stable")[:KEPT])
    few = mixture(target, [mix.lots[i] for i in kept], mass)
    left = max(0.1, seconds - (time.perf_counter() - begun))
    answer = programme(few, np.zeros((0, len(few.lots))), elastic=False).solve(left)
    if answer.values is None:
        return float("nan"), False
    return answer.objective, answer.status == "optimal" and len(kept) == len(reduced)


def cp_sat(target: FillingTarget, lots: list[BlendLot], mass: float, seconds: float) -> tuple[float, bool]:
    """The same in whole grams by CP-SAT, shares to one part in a hundred thousand."""
    from ortools.sat.python import cp_model

    mix, scale = mixture(target, lots, mass), 100_000
    model = cp_model.CpModel()
    most = np.floor(mix.most * scale).astype(int)
    shares = [model.new_int_var(0, int(top), "") for top in most]
    used = [model.new_bool_var("") for _ in most]
    for share, flag, top in zip(shares, used, most, strict=True):
        model.add(share <= int(top) * flag)
    model.add(sum(shares) == scale)
    model.add(sum(used) <= target.max_lots)
    for row in mix.targets:
        model.add(cp_model.LinearExpr.weighted_sum(shares, [round(value * 1e5) for value in row]) <= 0)
    model.minimize(cp_model.LinearExpr.weighted_sum(shares, [round(value * 100) for value in mix.cost]))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = seconds, 2
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return float("nan"), False
    return solver.objective_value / 100 / scale, status == cp_model.OPTIMAL


PEERS = {"HiGHS": plain_highs, "filtered": relaxed_then_highs, "CP-SAT": cp_sat}


def main(seconds: float, names: list[str]) -> None:
    """Print cost, gap, proof and seconds of each instance, ours by the clock and by the processor."""
    heads = "".join(f" | {name + ' cost':>14} {'proven':>6} {'s':>6}" for name in names)
    print(f"{'lots':>5} {'seed':>4} | {'ours':>9} {'gap':>8} {'proven':>6} {'s':>6} {'cpu s':>6}{heads}")
    target, lots, mass = instance(99, 50)
    blend_lots(target, lots, mass)
    for count in (200, 2000):
        slowest = 0.0
        for seed in range(5):
            target, lots, mass = instance(seed, count)
            begun, busy = time.perf_counter(), time.process_time()
            try:
                blend = blend_lots(target, lots, mass, seconds=20)
            except NaptuftError as error:
                print(f"{count:>5} {seed:>4} | {str(error)[:90]} {time.perf_counter() - begun:6.2f}")
                continue
            ours, busy = time.perf_counter() - begun, time.process_time() - busy
            slowest = max(slowest, ours)
            gap = float(blend.cost - blend.bound) / float(blend.cost)
            line = f"{count:>5} {seed:>4} | {blend.cost:9.2f} {gap:8.3%} {blend.proven_optimal!s:>6} {ours:6.2f} {busy:6.2f}"
            for name in names:
                begun = time.perf_counter()
                cost, proven = PEERS[name](target, lots, mass, seconds)
                line += f" | {cost:14.2f} {proven!s:>6} {time.perf_counter() - begun:6.2f}"
            print(line, flush=True)
        print(f"{count:>5} lots: slowest of ours {slowest:.2f} s")


if __name__ == "__main__":
    main(
        float(sys.argv[1]) if len(sys.argv) > 1 else 20.0,
        sys.argv[2].split(",") if len(sys.argv) > 2 else list(PEERS),
    )
