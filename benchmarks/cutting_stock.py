"""Cutting stock on published instances: ours beside first-fit decreasing, CP-SAT and an arc-flow model.

    python benchmarks/cutting_stock.py FILE.jsonl … [--seconds S] [--only NAME …] [--sample N] [--each]

Each line of a file is one instance: name, stock_length, lengths, demands, published_rolls (null where not known).
All instances are solved by us, and by first-fit decreasing; N of each class, evenly spread, also by the peers, with as
many seconds as we have. Peers: the assignment model in CP-SAT, started from first-fit decreasing; and the plain
arc-flow model (Valério de Carvalho, Annals of Operations Research 86 (1999) 629-659) in HiGHS. Every peer has one
core, as we do. Seconds are processor seconds: on a busy machine the clock's limit is stretched by what the processor is
shared just then, and both times are printed. The table says plainly where a proof is missing.
"""

from __future__ import annotations

import argparse
import json
import statistics
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter, process_time

import numpy as np

from naptuft.roller.cutting.instance import solve_instance
from naptuft.roller.cutting.linear import quiet_solver
from naptuft.roller.cutting.search import first_fit_decreasing

MOST_ARCS = 500_000


def clock_seconds(processor_seconds: float) -> float:
    """Seconds by the clock that give so many of the processor, as it is shared just now."""
    started, work = perf_counter(), process_time()
    while process_time() - work < 0.05:
        pass
    return processor_seconds * max(1.0, (perf_counter() - started) / (process_time() - work))


@dataclass(frozen=True)
class Outcome:
    """What one solver made of one instance; rolls 0: no answer in time."""

    rolls: int
    bound: int
    seconds: float
    work: float


def ours(instance: dict, seconds: float) -> Outcome:
    """Our answer."""
    limit = clock_seconds(seconds)
    started, work = perf_counter(), process_time()
    answer = solve_instance(instance, limit)
    return Outcome(answer["rolls"], answer["lower_bound"], perf_counter() - started, process_time() - work)


def first_fit(instance: dict) -> list[np.ndarray]:
    """Patterns of first-fit decreasing."""
    weights, demand = np.array(instance["lengths"]), np.array(instance["demands"])
    return first_fit_decreasing(weights, instance["stock_length"], demand)


def cp_sat(instance: dict, seconds: float) -> Outcome:
    """The assignment model in CP-SAT, started from first-fit decreasing."""
    from ortools.sat.python import cp_model

    started, work = perf_counter(), process_time()
    weights, demand = np.array(instance["lengths"]), np.array(instance["demands"])
    start = first_fit(instance)
    model = cp_model.CpModel()
    used = [model.new_bool_var("") for _ in start]
    cut = [
        [
            model.new_int_var(0, min(int(d), instance["stock_length"] // int(w)), "")
            for w, d in zip(weights, demand, strict=True)
        ]
        for _ in start
    ]
    for roll, pieces in enumerate(cut):
        model.add(
            sum(int(w) * x for w, x in zip(weights, pieces, strict=True)) <= instance["stock_length"] * used[roll]
        )
        if roll:
            model.add_implication(used[roll], used[roll - 1])
        for x, held in zip(pieces, start[roll].tolist(), strict=True):
            model.add_hint(x, held)
    for row, wanted in enumerate(demand.tolist()):
        model.add(sum(pieces[row] for pieces in cut) == wanted)
    model.minimize(sum(used))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = clock_seconds(max(0.01, seconds - (process_time() - work)))
    solver.parameters.num_workers = 1
    found = solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    rolls = round(solver.objective_value) if found else len(start)
    bound = int(np.ceil(solver.best_objective_bound - 1e-6)) if found else 0
    return Outcome(rolls, bound, perf_counter() - started, process_time() - work)


def arc_flow(instance: dict, seconds: float) -> Outcome:
    """The plain arc-flow model in HiGHS: pieces of a pattern longest first, a unit of flow a stock piece."""
    started, work = perf_counter(), process_time()
    arcs = _arcs(instance)
    if arcs is None:
        return Outcome(0, 0, perf_counter() - started, process_time() - work)
    tails, heads, items = arcs
    capacity = instance["stock_length"]
    places = {node: row for row, node in enumerate(sorted({*tails.tolist(), *heads.tolist(), capacity}))}
    ends = sorted(set(heads.tolist()) - {0, capacity})
    tails, heads = np.append(tails, ends), np.append(heads, [capacity] * len(ends))
    items = np.append(items, [-1] * len(ends))
    demand = np.array(instance["demands"], dtype=float)
    nodes, total = len(places), float(demand.sum())
    limit = clock_seconds(max(0.01, seconds - (process_time() - work)))
    model = quiet_solver(time_limit=limit, mip_rel_gap=0.0, mip_abs_gap=0.9)
    lower = np.concatenate((np.zeros(nodes), demand))
    upper = np.concatenate((np.zeros(nodes), np.full(len(demand), np.inf)))
    empty = np.zeros(0, dtype=np.int32)
    model.addRows(len(lower), lower, upper, 0, np.zeros(len(lower), dtype=np.int32), empty, np.zeros(0))
    starts, index, value = [], [], []
    for tail, head, item in zip(tails.tolist(), heads.tolist(), items.tolist(), strict=True):
        starts.append(len(index))
        index += [places[tail], places[head]]
        value += [-1.0, 1.0]
        if item >= 0:
            index.append(nodes + item)
            value.append(1.0)
    starts.append(len(index))
    index += [places[0], places[capacity]]
    value += [1.0, -1.0]
    count = len(tails) + 1
    cost = np.zeros(count)
    cost[-1] = 1.0
    model.addCols(
        count,
        cost,
        np.zeros(count),
        np.full(count, total),
        len(index),
        np.array(starts, dtype=np.int32),
        np.array(index, dtype=np.int32),
        np.array(value),
    )
    import highspy

    every = np.arange(count, dtype=np.int32)
    model.changeColsIntegrality(count, every, np.array([highspy.HighsVarType.kInteger] * count))
    model.run()
    info = model.getInfo()
    rolls = round(model.getObjectiveValue()) if info.primal_solution_status == 2 else 0
    bound = int(np.ceil(info.mip_dual_bound - 1e-6)) if np.isfinite(info.mip_dual_bound) else 0
    return Outcome(rolls, bound, perf_counter() - started, process_time() - work)


def _arcs(instance: dict) -> tuple[np.ndarray, np.ndarray, np.ndarray] | None:
    """Arcs (from, to, length index) of every pattern, longest pieces first; None when there are too many."""
    capacity = instance["stock_length"]
    order = sorted(range(len(instance["lengths"])), key=lambda i: -instance["lengths"][i])
    reached = {0}
    arcs: set[tuple[int, int, int]] = set()
    for item in order:
        length, times = instance["lengths"][item], instance["demands"][item]
        for start in sorted(reached):
            at = start
            for _ in range(times):
                if at + length > capacity or (at, at + length, item) in arcs:
                    break
                arcs.add((at, at + length, item))
                at += length
                reached.add(at)
            if len(arcs) > MOST_ARCS:
                return None
    table = np.array(sorted(arcs), dtype=np.int64)
    return table[:, 0], table[:, 1], table[:, 2]


def family(name: str) -> str:
    """The class an instance belongs to."""
    if name.startswith(("u", "t")):
        return name.split("_")[0]
    return "HARD" if name.startswith("HARD") else name[:2]


def spread(rows: list, number: int) -> list:
    """So many of the rows, evenly spread."""
    number = min(number, len(rows))
    return [rows[place * len(rows) // number] for place in range(number)]


def summary(name: str, instances: list[dict], found: list[Outcome]) -> str:
    """One row of the table: ours, and first-fit decreasing."""
    best = [min(i.get("published_rolls") or o.rolls, o.rolls) for i, o in zip(instances, found, strict=True)]
    proven = sum(o.rolls == o.bound for o in found)
    equal = sum(o.rolls == b for o, b in zip(found, best, strict=True))
    worse = sum(len(first_fit(i)) - b for i, b in zip(instances, best, strict=True))
    fits = sum(len(first_fit(i)) == b for i, b in zip(instances, best, strict=True))
    times, works = [o.seconds for o in found], [o.work for o in found]
    return (
        f"{name:>6} {len(found):>9} {proven:>6} {equal:>10} {statistics.median(times):>8.3f} {max(times):>7.3f} "
        f"{statistics.median(works):>10.3f} {max(works):>9.3f} {fits:>13} {worse:>11}"
    )


def peer_row(name: str, solver: str, best: list[int], found: list[Outcome]) -> str:
    """One row of the peers' table."""
    answered = [(o, b) for o, b in zip(found, best, strict=True) if o.rolls]
    equal = sum(o.rolls == b for o, b in answered)
    proven = sum(o.rolls == o.bound for o, _ in answered)
    worse = sum(o.rolls - b for o, b in answered)
    times, works = [o.seconds for o in found], [o.work for o in found]
    none = len(found) - len(answered)
    return (
        f"{name:>6} {solver:<18} {len(found):>6} {proven:>6} {equal:>10} {worse:>11} {none:>9} "
        f"{statistics.median(times):>8.3f} {max(times):>7.3f} {statistics.median(works):>10.3f} {max(works):>9.3f}"
    )


def main() -> None:
    """Run, and print ours by class, then the peers on the sample."""
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("files", nargs="+", type=Path)
    reader.add_argument(
        "--seconds", type=float, default=10.0, help="processor seconds for an instance, for us and the peers"
    )
    reader.add_argument("--sample", type=int, default=0, help="instances of each class the peers solve too")
    reader.add_argument("--only", nargs="*", default=[], help="names must start with one of these")
    reader.add_argument("--each", action="store_true", help="print a line for each instance")
    asked = reader.parse_args()
    instances = [json.loads(line) for path in asked.files for line in path.read_text().splitlines() if line.strip()]
    instances = [i for i in instances if not asked.only or i["name"].startswith(tuple(asked.only))]
    started = perf_counter()
    solve_instance(max(instances, key=lambda i: len(i["lengths"])), asked.seconds)
    print(f"first solve with its compiling: {perf_counter() - started:.2f} s, not counted below", flush=True)
    by_family: dict[str, list[tuple[dict, Outcome]]] = {}
    for instance in instances:
        outcome = ours(instance, asked.seconds)
        by_family.setdefault(family(instance["name"]), []).append((instance, outcome))
        if asked.each:
            proof = "proven" if outcome.rolls == outcome.bound else f"at least {outcome.bound}"
            print(
                f"{instance['name']:>14} published {instance.get('published_rolls') or '-':>5} rolls {outcome.rolls:>5} "
                f"{proof:<14} {outcome.seconds:>7.3f} s  first-fit {len(first_fit(instance)):>5}",
                flush=True,
            )
    print(
        f"\n{'class':>6} {'instances':>9} {'proven':>6} {'equal best':>10} {'median s':>8} {'worst s':>7} "
        f"{'median cpu':>10} {'worst cpu':>9} {'FFD equal':>13} {'FFD rolls +':>11}"
    )
    rows = [*by_family.items(), ("all", [row for rows in by_family.values() for row in rows])]
    for name, found in rows:
        print(summary(name, [i for i, _ in found], [o for _, o in found]), flush=True)
    if not asked.sample:
        return
    print(
        f"\n{'class':>6} {'solver':<18} {'sample':>6} {'proven':>6} {'equal best':>10} {'rolls +':>11} {'no answer':>9} "
        f"{'median s':>8} {'worst s':>7} {'median cpu':>10} {'worst cpu':>9}"
    )
    for name, found in by_family.items():
        sample = spread(found, asked.sample)
        best = [min(i.get("published_rolls") or o.rolls, o.rolls) for i, o in sample]
        print(peer_row(name, "naptuft", best, [o for _, o in sample]), flush=True)
        for solver, solve in (("CP-SAT", cp_sat), ("arc-flow in HiGHS", arc_flow)):
            print(peer_row(name, solver, best, [solve(i, asked.seconds) for i, _ in sample]), flush=True)


if __name__ == "__main__":
    main()
