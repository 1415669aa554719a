"""How time and memory grow with the size of the problem.

    python benchmarks/growth.py INSTANCE.json [...] [--longer K] [--seconds S] [--threads K] [--markdown FILE]

Each instance, and the last of them K times over, its jobs that many times one after another in time on the same
machines, is solved in a process of its own: seconds to read and fold it, to the first plan, trials and whole plans
a second of processor time, the best of the lists and the answer after S seconds, and the most memory the process
held. Best on a machine with nothing else to do.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Problem
from naptuft.planning.schedule import read_instance
from naptuft.planning.schedule.dispatch import EARLIEST_DUE
from naptuft.planning.schedule.engine import compiled
from naptuft.planning.schedule.fold import fold
from scheduling import best_list, figures_of, speeds, timed, words

COLUMNS = (
    "problem", "operations", "read s", "fold s", "first plan s", "due-date list", "ours", "trials a core-s",
    "whole plans a core-s", "peak memory MB", "checker",
)  # fmt: skip
DAY = 1440


def longer(problem: Problem, times: int) -> Problem:
    """A problem so many times over, one after another in time, on machines whose calendars go on beyond it."""
    dues = [job.due for job in problem.jobs if job.due is not None]
    span = -(-max(dues) // (7 * DAY)) * 7 * DAY
    machines = tuple(
        machine
        if machine.open is None
        else replace(
            machine,
            open=tuple(
                (opens + part * span, closes + part * span)
                for part in range(2 * times)
                for opens, closes in machine.open
                if part == 2 * times - 1 or opens < span
            ),
        )
        for machine in problem.machines
    )
    jobs = tuple(
        replace(
            job,
            name=f"{job.name}.{part}",
            release=job.release + part * span,
            due=None if job.due is None else job.due + part * span,
            after=tuple(f"{name}.{part}" for name in job.after),
        )
        for part in range(times)
        for job in problem.jobs
    )
    return replace(problem, machines=machines, jobs=jobs)


def one(path: Path, times: int, seconds: float, threads: int) -> list[str]:
    """The row of one problem, measured in this process."""
    compiled()
    began = time.perf_counter()
    problem = read_instance(json.loads(path.read_text()))
    read = time.perf_counter() - began
    if times > 1:
        problem = longer(problem, times)
    began = time.perf_counter()
    fold(problem)
    folded = time.perf_counter() - began
    plan, first, _ = timed(problem, seconds, threads, 1)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    trials, whole = speeds(problem, plan)
    findings = check_schedule(problem, plan.placements)
    return [
        path.stem + (f", {times} times over" if times > 1 else ""),
        f"{sum(len(job.operations) for job in problem.jobs):,}",
        f"{read:.2f}",
        f"{folded:.2f}",
        f"{first:.2f}",
        words(figures_of(problem, best_list(problem, EARLIEST_DUE, [(1.0, 1.0)]))),
        words(plan.objective),
        f"{trials:,.0f}",
        f"{whole:,.0f}",
        f"{peak:,.0f}",
        f"{len(findings)} findings" if findings else "clean",
    ]


def main() -> None:
    """Print one row a problem, each measured in a process of its own."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("instances", nargs="+", type=Path)
    parser.add_argument("--longer", type=int, default=3, help="the last instance so many times over")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--markdown", type=Path)
    parser.add_argument("--times", type=int, default=0, help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.times:
        print(json.dumps(one(arguments.instances[0], arguments.times, arguments.seconds, arguments.threads)))
        return
    lines = ["| " + " | ".join(COLUMNS) + " |", "|" + "---|" * len(COLUMNS)]
    print("\n".join(lines), flush=True)
    for path, times in [*((path, 1) for path in arguments.instances), (arguments.instances[-1], arguments.longer)]:
        asked = [path, "--times", times, "--seconds", arguments.seconds, "--threads", arguments.threads]
        made = subprocess.run([sys.executable, __file__, *map(str, asked)], check=True, capture_output=True, text=True)
        lines.append("| " + " | ".join(json.loads(made.stdout.splitlines()[-1])) + " |")
        print(lines[-1], flush=True)
        if arguments.markdown:
            arguments.markdown.write_text("\n".join([*lines, ""]))


if __name__ == "__main__":
    main()
