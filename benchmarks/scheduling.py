"""How good and how fast the scheduler is: published shops and plant-like problems, plain CP-SAT beside it.

    python benchmarks/scheduling.py INSTANCE.json [...] --seconds 30 --threads 2

For each instance: the published value, our answer and bound, the same seconds of CP-SAT on the whole
model (unhinted, and for plants started from an earliest-due-date list), the time of our first plan, and
plans decoded a second. Best on a machine with nothing else to do.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

from naptuft.planning.problem import Problem, Schedule
from naptuft.planning.schedule import Progress, exact, read_instance, schedule


def timed(problem: Problem, seconds: float, threads: int, seed: int) -> tuple[Schedule, float]:
    """A plan, and the seconds to the first plan."""
    first: list[float] = []

    def note(progress: Progress) -> None:
        if not first:
            first.append(progress.seconds)

    plan = schedule(problem, seconds=seconds, threads=threads, seed=seed, progress=note)
    return plan, first[0] if first else 0.0


def whole_model(problem: Problem, seconds: float, threads: int, start: Schedule | None) -> str:
    """What CP-SAT alone makes of the whole problem in the same time."""
    if start is None:
        start = schedule(problem, effort=1)
        hinted = False
    else:
        hinted = True
    figures = exact.plain_figures(problem, start, seconds=seconds, threads=threads, hinted=hinted)
    return "no plan" if figures is None else " ".join(f"{figure:.0f}" for figure in figures)


def main() -> None:
    """Print one line an instance."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("instances", nargs="+", type=Path)
    parser.add_argument("--seconds", type=float, default=30.0)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--no-peer", action="store_true", help="leave plain CP-SAT out")
    arguments = parser.parse_args()
    columns = "{:<14}{:>11}{:>20}{:>8}{:>10}{:>9}{:>10}{:>9}  {:<20}{}"
    print(
        columns.format(
            "instance",
            "published",
            "ours",
            "gap %",
            "bound",
            "first s",
            "plans",
            "plans/s",
            "CP-SAT",
            "CP-SAT from list",
        )
    )
    for path in arguments.instances:
        instance = json.loads(path.read_text())
        problem = read_instance(instance)
        began = time.perf_counter()
        plan, first = timed(problem, arguments.seconds, arguments.threads, arguments.seed)
        took = time.perf_counter() - began
        published = instance.get("published")
        gap = f"{100 * (plan.objective[0] / published['best'] - 1):.2f}" if published else "-"
        peer = from_list = "-"
        if not arguments.no_peer:
            peer = whole_model(problem, arguments.seconds, arguments.threads, None)
            if problem.objective != "makespan":
                from_list = whole_model(problem, arguments.seconds, arguments.threads, schedule(problem, effort=1))
        print(
            columns.format(
                path.stem,
                published["best"] if published else "-",
                " ".join(f"{figure:.0f}" for figure in plan.objective),
                gap,
                f"{plan.bound:.0f}" if plan.bound is not None else "-",
                f"{first:.2f}",
                plan.effort,
                f"{plan.effort / took:.0f}",
                peer,
                from_list,
            ),
            flush=True,
        )


if __name__ == "__main__":
    main()
