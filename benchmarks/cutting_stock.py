"""Cutting stock on published instances: ours beside first-fit decreasing and CP-SAT.

    python benchmarks/cutting_stock.py FILE.jsonl … [--seconds S] [--only NAME …] [--peer-seconds P]

Each line of a file is one instance: name, stock_length, lengths, demands, published_rolls (may be null).
The table says plainly where a proof is missing. One core does the work, whatever the machine has.
"""

from __future__ import annotations

import argparse
import json
import statistics
from pathlib import Path
from time import perf_counter, process_time

import numpy as np

from naptuft.roller.cutting.instance import solve_instance
from naptuft.roller.cutting.search import first_fit_decreasing


def first_fit_rolls(instance: dict) -> int:
    """Rolls of first-fit decreasing."""
    weights, demand = np.array(instance["lengths"]), np.array(instance["demands"])
    return len(first_fit_decreasing(weights, instance["stock_length"], demand))


def cp_sat_rolls(instance: dict, seconds: float) -> tuple[int, int]:
    """Rolls and bound of the assignment model in CP-SAT, started from first-fit decreasing."""
    from ortools.sat.python import cp_model

    weights, demand = np.array(instance["lengths"]), np.array(instance["demands"])
    start = first_fit_decreasing(weights, instance["stock_length"], demand)
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
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return len(start), 0
    return round(solver.objective_value), round(solver.best_objective_bound)


def family(name: str) -> str:
    """The class an instance belongs to."""
    if name.startswith(("u", "t")):
        return name.split("_")[0]
    return "HARD" if name.startswith("HARD") else name[:2]


def main() -> None:
    """Run and print the table, then a summary by class."""
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("files", nargs="+", type=Path)
    reader.add_argument("--seconds", type=float, default=10.0)
    reader.add_argument(
        "--peer-seconds", type=float, default=0.0, help="let CP-SAT run so long beside us; 0 leaves it out"
    )
    reader.add_argument("--only", nargs="*", default=[], help="names must start with one of these")
    asked = reader.parse_args()
    instances = [json.loads(line) for path in asked.files for line in path.read_text().splitlines() if line.strip()]
    instances = [i for i in instances if not asked.only or i["name"].startswith(tuple(asked.only))]
    started = perf_counter()
    warm = next((i for i in instances if len(i["lengths"]) > 40), instances[0])
    solve_instance(warm, asked.seconds)
    print(f"first solve with its compiling: {perf_counter() - started:.2f} s, not counted below\n")
    print(
        f"{'instance':>14} {'published':>9} {'rolls':>6} {'bound':>6} {'proven':>6} {'seconds':>8} {'cpu s':>7} {'first-fit':>9} {'CP-SAT':>10}"
    )
    by_family: dict[str, list[tuple[bool, bool, float, float]]] = {}
    for instance in instances:
        started, work = perf_counter(), process_time()
        answer = solve_instance(instance, asked.seconds)
        took, work = perf_counter() - started, process_time() - work
        published = instance.get("published_rolls")
        peer = ""
        if asked.peer_seconds:
            rolls, bound = cp_sat_rolls(instance, asked.peer_seconds)
            peer = f"{rolls}{'' if rolls == bound else f' (≥{bound})'}"
        print(
            f"{instance['name']:>14} {published or '-':>9} {answer['rolls']:>6} {answer['lower_bound']:>6} "
            f"{'yes' if answer['proven_optimal'] else 'NO':>6} {took:>8.3f} {work:>7.3f} {first_fit_rolls(instance):>9} {peer:>10}",
            flush=True,
        )
        matches = published is None or answer["rolls"] <= published
        by_family.setdefault(family(instance["name"]), []).append((answer["proven_optimal"], matches, took, work))
    print(
        f"\n{'class':>8} {'instances':>9} {'proven':>6} {'as published or better':>23} {'median s':>9} {'worst s':>8} {'median cpu':>10} {'worst cpu':>9}"
    )
    rows = [*by_family.items(), ("all", [row for rows in by_family.values() for row in rows])]
    for name, found in rows:
        times, works = [row[2] for row in found], [row[3] for row in found]
        print(
            f"{name:>8} {len(found):>9} {sum(row[0] for row in found):>6} {sum(row[1] for row in found):>23} "
            f"{statistics.median(times):>9.3f} {max(times):>8.3f} {statistics.median(works):>10.3f} {max(works):>9.3f}"
        )


if __name__ == "__main__":
    main()
